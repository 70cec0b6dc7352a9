// node slim.mjs PYODIDE OUT WHEEL...: the same wheels, compiled by Pyodide's own Python, without their tests.
// Ours keeps its source, which a traceback and `??` show; of the others a browser needs the compiled files alone.
// Compiled files are of the kind that is never checked against a source.
import { mkdirSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { basename, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const [core, out, ...wheels] = process.argv.slice(2);
const { loadPyodide } = await import(pathToFileURL(resolve(core, "pyodide.mjs")));
const python = await loadPyodide({ indexURL: resolve(core) + "/" });
mkdirSync(out, { recursive: true });
python.runPython(`
import importlib.util, marshal, re, sys, zipfile
from pathlib import PurePosixPath

NOT_NEEDED = re.compile(
    r"(^|/)(tests?|benchmarks|third_party|labextension)/|[.]data/|^sympy/(physics|parsing/(autolev|latex|c|fortran))/"
)
INSTALLED = f"/lib/python{sys.version_info[0]}.{sys.version_info[1]}/site-packages/"

def slim(source, made):
    with zipfile.ZipFile(source) as given, zipfile.ZipFile(made, "w") as slimmed:
        def put(name, data):
            slimmed.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED, 9)
        for name in given.namelist():
            ours = name.startswith("gearcalc/")
            if not ours and ".dist-info/" not in name and NOT_NEEDED.search(name):
                continue
            data = given.read(name)
            if ours or not name.endswith(".py"):
                put(name, data)
            if name.endswith(".py"):
                compiled(name, data, ours, put)

def compiled(name, data, ours, put):
    try:
        code = compile(data, INSTALLED + name, "exec", dont_inherit=True)
    except SyntaxError:  # a template, or for another Python: nothing that is imported
        return
    path = PurePosixPath(name)
    beside = path.parent / "__pycache__" / f"{path.stem}.{sys.implementation.cache_tag}.pyc"
    never_checked = (1).to_bytes(4, "little") + importlib.util.source_hash(data)
    put(str(beside if ours else path.with_suffix(".pyc")), importlib.util.MAGIC_NUMBER + never_checked + marshal.dumps(code))
`);
for (const wheel of wheels) {
  python.FS.writeFile("/given.whl", readFileSync(wheel));
  python.runPython('slim("/given.whl", "/made.whl")');
  const made = join(out, basename(wheel));
  writeFileSync(made + ".unfinished", python.FS.readFile("/made.whl"));
  renameSync(made + ".unfinished", made);
}
