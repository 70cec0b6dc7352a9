// node doctests.mjs PYODIDE CHECKOUT ROOM,ROOM... WHEEL...: the docstring examples of rooms, run by Pyodide's Python.
import { readFileSync } from "node:fs";
import { basename, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const [core, checkout, rooms, ...wheels] = process.argv.slice(2);
const { loadPyodide } = await import(pathToFileURL(resolve(core, "pyodide.mjs")));
const python = await loadPyodide({ indexURL: resolve(core) + "/" });
python.mountNodeFS("/checkout", resolve(checkout));
for (const wheel of wheels) python.FS.writeFile("/" + basename(wheel), readFileSync(wheel));
python.globals.set("rooms", rooms);
python.globals.set("wheels", wheels.map((wheel) => "/" + basename(wheel)).join(","));
console.log(
  python.runPython(`
import doctest, importlib, json, pkgutil, sys
sys.path[:0] = ["/checkout", *wheels.split(",")]
asked, failed = 0, []
for room in rooms.split(","):
    package = importlib.import_module(f"gearcalc.{room}")
    for found in pkgutil.iter_modules(package.__path__):
        name = f"gearcalc.{room}.{found.name}"
        said = []  # of each that fails
        finder, runner = doctest.DocTestFinder(), doctest.DocTestRunner(verbose=False, optionflags=doctest.ELLIPSIS)
        for test in finder.find(importlib.import_module(name)):
            if test.name != "gearcalc.basics.files.held":  # a lock against others: in a browser there are none
                runner.run(test, out=said.append)
        asked += runner.tries
        failed += said
json.dumps({"python": sys.version.split()[0], "asked": asked, "failed": failed})
`),
);
