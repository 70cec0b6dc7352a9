"""Do the tests notice when the core is wrong? One small fault at a time is planted in a copy, and its tests are run.

    python -m tests.mutants                                 # 60 mutants of the core
    python -m tests.mutants --room fits --sample 20 --seed 3
    python -m tests.mutants --file gearcalc/lathes/trains.py --list

A mutant that no test notices has survived: a test is missing, or the change makes no difference. Those that were judged
to make none stand in `tests/equivalent_mutants.csv` with why, and are not counted. The sample is taken evenly from all
mutants, file after file, as the seed says. The checkout itself is never touched.

Which tests are asked is read from the imports: the file's own examples, then the test files that come nearest to it,
those named for the file or its room before those that only lean on it; more of them where it survives the first. Each
of these files is run once to see which of its tests call which function; a mutant is shown to those that call its own,
the quickest first. A test that fails without the mutant, too, is no kill. A mutant with which its tests need many times
the processor's time is killed, it runs on for ever; and one with which they wait longer than any of them does.
"""

from __future__ import annotations

import argparse
import ast
import compileall
import csv
import hashlib
import json
import os
import py_compile
import shutil
import subprocess
import sys
import tempfile
from collections import Counter, deque
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue
from random import Random
from typing import Any

CORE = ["basics", "threads", "lathes", "fits", "finding", "deriving", "cutting", "planning"]
NO_FIGURES_THERE = {"browser", "lessons", "serving", "fuzzing", "benchmarks"}  # slow, or they measure time
NOT_COPIED = shutil.ignore_patterns(".git", ".venv", "venv", "__pycache__", ".hypothesis", ".*_cache", "dist")
EQUIVALENT = "tests/equivalent_mutants.csv"
SECONDS_TO_WATCH, SECONDS_AT_LEAST, TIMES_SLOWER = 900, 8, 4
SECONDS_ASLEEP = 60
FURTHER = 4
KILLED, SURVIVED, CHANGES_NOTHING = "killed", "survived", "changes nothing"

# Making mutants: a place is a node of a file's tree, with what holds it, the line and words around it, the function.

Place = tuple[Any, Any, ast.AST, ast.AST, str]
OTHER: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.And: ast.Or,
    ast.Or: ast.And,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
}
OTHER_NAME = {"min": "max", "max": "min", "any": "all", "all": "any", "floor": "ceil", "ceil": "floor"}
SAYS_NOTHING = {"annotation", "returns", "decorator_list", "bases"}


def _places(node: ast.AST, around: ast.AST | None = None, where: str = "", within: str = "") -> Iterator[Place]:
    """Every node under this one, but for types, decorators, `__all__`, what an error says, how much a cache keeps.

    Nor what `strict=` asserts of lists that are as long in any case.
    """
    if isinstance(node, ast.keyword) and node.arg == "strict":
        return
    if isinstance(node, ast.Raise) or (isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"):
        return
    if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) in {"__all__", "_KEPT"}:
        return
    around = node if hasattr(node, "lineno") else around
    if isinstance(node, ast.ClassDef):
        within += f"{node.name}."
    elif isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
        where = where or within + node.name
    for name, value in ast.iter_fields(node):
        each = enumerate(value) if isinstance(value, list) else [(name, value)]
        for key, inner in each if name not in SAYS_NOTHING else ():
            if isinstance(inner, ast.AST):
                yield value if isinstance(value, list) else vars(node), key, inner, around or inner, where
                yield from _places(inner, around, where, within)


def _changes(node: ast.AST, around: ast.AST) -> list[ast.AST]:
    """What may stand there instead."""
    match node:
        case ast.operator() | ast.cmpop() | ast.boolop() if type(node) in OTHER:
            return [] if isinstance(around, ast.AugAssign) else [OTHER[type(node)]()]
        case ast.UnaryOp(op=ast.Not(), operand=operand):
            return [operand]
        case ast.Constant(value=bool(value)):
            return [ast.Constant(not value)]
        case ast.Constant(value=int(value) | float(value)):
            return [ast.Constant(value + 1), ast.Constant(value - 1)]
        case ast.Call(func=ast.Name(id=name)) if name in OTHER_NAME:
            return [ast.Call(ast.Name(OTHER_NAME[name]), node.args, node.keywords)]
        case ast.Return(value=ast.expr() as value) if ast.unparse(value) != "None":
            return [ast.Return(ast.Constant(None))]
        case ast.Expr(value=ast.Call()) | ast.AugAssign() | ast.Raise() | ast.Continue():
            return [ast.Pass()]
    return []


@dataclass(frozen=True)
class Mutant:
    """One change of one place: the how-manieth place of the file, and which of its changes."""

    path: Path
    line: int
    function: str  # with its class; of functions inside functions the outermost; "" for none
    change: str
    place: int
    choice: int

    @property
    def row(self) -> tuple[str, str, str]:
        """What stays when lines move."""
        return self.path.as_posix(), self.function, self.change

    def source(self, root: Path) -> str:
        """The file with the change in it; without its comments, which no test reads."""
        tree = ast.parse((root / self.path).read_text(encoding="utf-8"))
        holder, key, node, around, _ = list(_places(tree))[self.place]
        holder[key] = _changes(node, around)[self.choice]
        return ast.unparse(ast.fix_missing_locations(tree))


def mutants(path: Path, root: Path) -> list[Mutant]:
    """Every mutant of a file."""
    tree, found = ast.parse((root / path).read_text(encoding="utf-8")), []
    for number, (holder, key, node, around, where) in enumerate(_places(tree)):
        shown = node if isinstance(node, ast.stmt) else around
        before = ast.unparse(shown).partition("\n")[0]
        for choice, other in enumerate(_changes(node, around)):
            holder[key] = ast.copy_location(other, node)
            after = ast.unparse(other if shown is node else shown).partition("\n")[0]
            holder[key] = node
            differs = next((at for at, pair in enumerate(zip(before, after, strict=False)) if len({*pair}) > 1), 0)
            same = max(0, differs - 50)  # of a long line, what is around the change
            change = "  →  ".join(f"{'…' * bool(same)}{text[same : same + 100]}" for text in (before, after))
            found.append(Mutant(path, vars(shown)["lineno"], where, change, number, choice))
    return found


def evenly(those: Sequence[Mutant], count: int, seed: int) -> list[Mutant]:
    """So many of them, one of each of so many parts; the seed says which."""
    count, draw = min(count, len(those)), Random(seed)
    return [those[int((number + draw.random()) * len(those) / count)] for number in range(count)]


# Which tests belong to a file.


class Imports:
    """Who imports what, to the file in which a name is made: a room's `__init__` and the public names hand names on."""

    def __init__(self, root: Path, package: str) -> None:
        self.names: dict[str, dict[str, tuple[str, str]]] = {}
        self.used: dict[str, set[tuple[str, str]]] = {}
        self.path: dict[str, Path] = {}
        for path in sorted(file for top in (package, "tests") for file in (root / top).rglob("*.py*")):
            if path.suffix in (".py", ".pyi"):
                inside = path.relative_to(root)
                parts = inside.with_suffix("").parts
                module = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
                self.path.setdefault(module, inside)
                used = self._read(module, parts[:-1], ast.parse(path.read_text(encoding="utf-8")))
                lends = path.suffix == ".pyi" or (parts[0] == "tests" and not path.name.startswith("test_"))
                self.used.setdefault(module, set()).update(() if lends else used)

    def _read(self, module: str, folder: tuple[str, ...], tree: ast.Module) -> set[tuple[str, str]]:
        names, used, called = self.names.setdefault(module, {}), set[tuple[str, str]](), dict[str, str]()
        for node in ast.walk(tree):
            if isinstance(node, ast.Import):
                called |= {name.asname or name.name: name.name for name in node.names}
                used |= {(name.name, "") for name in node.names}
            elif isinstance(node, ast.ImportFrom):
                above = folder[: len(folder) - node.level + 1] if node.level else ()
                source = ".".join([*above, *filter(None, [node.module])])
                names |= {name.asname or name.name: (source, name.name) for name in node.names}
                used |= {(source, name.name) for name in node.names}
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in called:
                used.add((called[node.value.id], node.attr))
        return used

    def made_in(self, module: str, name: str) -> str:
        while f"{module}.{name}" not in self.path and name in self.names.get(module, {}):
            module, name = self.names[module][name]
        return f"{module}.{name}" if f"{module}.{name}" in self.path else module

    def leans_on(self, module: str) -> set[str]:
        return {self.made_in(*each) for each in self.used[module]} & set(self.path) - {module}

    def steps_from(self, module: str) -> dict[str, int]:
        """How many imports away each file is that this one needs."""
        steps, ahead = {module: 0}, deque([module])
        while ahead:
            here = ahead.popleft()
            for there in self.leans_on(here) - set(steps):
                steps[there] = steps[here] + 1
                ahead.append(there)
        return steps


def nearest_tests(root: Path, package: str) -> dict[Path, list[Path]]:
    """For each file the test files that need it, the nearest first."""
    imports, found = Imports(root, package), dict[Path, list[tuple[Any, ...]]]()
    for test, file in imports.path.items():
        if file.name.startswith("test_") and not NO_FIGURES_THERE & set(file.parts):
            words = {*file.parts[1:-1], *file.stem.split("_")[1:], file.stem.removeprefix("test_")}
            width = len(imports.leans_on(test))
            for module, steps in imports.steps_from(test).items():
                named = len(words & set(module.split(".")[1:]))  # for its room, for the file, or for both
                found.setdefault(imports.path[module], []).append((-named, steps, width, file))
    return {path: [each[-1] for each in sorted(tests)] for path, tests in found.items()}


# Trying them.


class Bench:
    """Copies of the checkout in which mutants are tried, one mutant in one copy at a time."""

    def __init__(
        self, root: Path, package: str, scratch: Path, wish: argparse.Namespace, files: Sequence[Path]
    ) -> None:
        self.root, self.package, self.kept = root, package, wish.calls
        nearest = nearest_tests(root, package)
        self.nearest = wish.tests
        self.tests = {path: [path, *nearest.get(path, [])[: FURTHER * wish.tests]] for path in files}
        self.equivalent = equivalents(root)
        self.sound: dict[str, bool] = {}
        self.free: SimpleQueue[Copy] = SimpleQueue()
        self.copies = [Copy(root, scratch / str(number), package, files) for number in range(wish.jobs)]
        for copy in self.copies:
            self.free.put(copy)
        self.version = hashlib.sha256()
        for path in sorted([*(root / package).rglob("*.py"), *(root / "tests").glob("*.py")]):
            if path.name != Path(__file__).name:
                self.version.update(path.read_bytes())
        self.calls: dict[Path, dict[str, Any]] = {}

    def watch(self, path: Path) -> None:
        """Keep what the tests of this file call; from an earlier run, if nothing has changed since."""
        if path in self.calls:
            return
        digest = self.version.copy()
        digest.update((self.root / path).read_bytes())
        kept = self.kept and self.kept / f"{digest.hexdigest()}.json"
        if kept and kept.exists():
            self.calls[path] = json.loads(kept.read_text(encoding="utf-8"))
            return
        self.calls[path] = self._run(file=str(path), package=self.package, seconds=SECONDS_TO_WATCH)
        if kept and self.calls[path]:
            kept.parent.mkdir(parents=True, exist_ok=True)
            kept.write_text(json.dumps(self.calls[path]), encoding="utf-8")

    def near(self, path: Path) -> list[Path]:
        return self.tests[path][: self.nearest + 1]

    def asked(self, mutant: Mutant) -> Iterator[dict[str, float]]:
        """The tests that call what it changes, and how long each takes; of further files when they are asked for."""
        own = f"{mutant.path}:{mutant.function}"
        paths, near = self.tests[mutant.path], len(self.near(mutant.path))
        for some in (paths[:3], paths[3:near], paths[near:]):
            found = dict[str, float]()
            for path in some:
                self.watch(path)
                seen = self.calls[path] or {"shared": (), "tests": {}}
                everyone = not mutant.function or own in seen["shared"]
                found |= {name: took for name, (took, calls) in seen["tests"].items() if everyone or own in calls}
            yield dict(sorted(found.items(), key=lambda test: test[1]))

    def judge(self, mutant: Mutant) -> tuple[str, str]:
        """Whether a test notices it, and which."""
        if mutant.row in self.equivalent:
            return CHANGES_NOTHING, self.equivalent[mutant.row]
        for tests in self.asked(mutant):
            while tests:
                seconds = SECONDS_AT_LEAST + TIMES_SLOWER * sum(tests.values())
                said = self._run(mutant, tests=list(tests), seconds=seconds)
                if not said:
                    return KILLED, "it runs on for ever"
                if said["passes"]:
                    break
                by = said["by"]
                if by not in tests:
                    return KILLED, by
                if by not in self.sound:
                    self.sound[by] = self._run(tests=[by], seconds=seconds).get("passes", False)
                if self.sound[by]:
                    return KILLED, by
                del tests[by]
        return SURVIVED, ""

    def _run(self, mutant: Mutant | None = None, **wish: object) -> dict[str, Any]:
        """What came of a run in the next copy that is free, with the mutant in it."""
        copy = self.free.get()
        try:
            with copy.holding(mutant) if mutant else nullcontext():
                return copy.run(**wish)
        finally:
            self.free.put(copy)


class Copy:
    """A copy of the checkout, and the process that runs its tests."""

    def __init__(self, root: Path, folder: Path, package: str, files: Sequence[Path]) -> None:
        self.folder = Path(shutil.copytree(root, folder, ignore=NOT_COPIED))
        shutil.copy2(Path(__file__).with_name("trials.py"), folder / "tests")
        for path in files:  # as a mutant is written, but right
            (folder / path).write_text(
                ast.unparse(ast.parse((root / path).read_text(encoding="utf-8"))), encoding="utf-8"
            )
        by_content = py_compile.PycInvalidationMode.CHECKED_HASH
        compileall.compile_dir(folder / package, quiet=2, invalidation_mode=by_content)
        settings = {
            "PYTHONPATH": str(folder),
            "HYPOTHESIS_PROFILE": "ci",
            "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1",
            "OMP_NUM_THREADS": "1",
        }
        self.runner = subprocess.Popen(
            [sys.executable, "tests/trials.py"],
            cwd=folder,
            env=os.environ | settings,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def run(self, **wish: object) -> dict[str, Any]:
        """What came of this run; nothing where it took too long."""
        assert self.runner.stdin
        assert self.runner.stdout
        print(json.dumps({"asleep": SECONDS_ASLEEP} | wish), file=self.runner.stdin, flush=True)
        return dict(json.loads(self.runner.stdout.readline()))

    @contextmanager
    def holding(self, mutant: Mutant) -> Iterator[None]:
        """The mutant stands in it."""
        file = self.folder / mutant.path
        as_it_was = file.read_text(encoding="utf-8")
        file.write_text(mutant.source(self.folder), encoding="utf-8")
        try:
            yield
        finally:
            file.write_text(as_it_was, encoding="utf-8")

    def end(self) -> None:
        self.runner.communicate()


def equivalents(root: Path) -> dict[tuple[str, str, str], str]:
    """Those that were judged to change nothing that anyone can see, by file, function and change; and why."""
    path = root / EQUIVALENT
    if not path.exists():
        return {}
    with path.open(encoding="utf-8", newline="") as lines:
        return {(row["file"], row["function"], row["change"]): row["why"] for row in csv.DictReader(lines)}


# Saying it.


def report(judged: Sequence[tuple[Mutant, str]]) -> str:
    """A table of files, rooms and all together, and each survivor with its line and its change."""
    counts: dict[str, Counter[str]] = {}
    for mutant, outcome in judged:
        room = "/".join(mutant.path.parts[:2])
        for row in {room, mutant.path.as_posix(), "all"}:
            counts.setdefault(row, Counter())[outcome] += 1
    lines = [f"{'file':48} mutants  killed  survived  score"]
    for row, seen in sorted(counts.items(), key=lambda each: (each[0] == "all", each[0])):
        settled = seen[KILLED] + seen[SURVIVED]
        score = f"{100 * seen[KILLED] / settled:5.0f}%" if settled else "     –"
        row = "  " * (row.count("/") > 1) + row
        lines.append(f"{row:48} {seen.total():7} {seen[KILLED]:7} {seen[SURVIVED]:9} {score}")
    for outcome in (SURVIVED, CHANGES_NOTHING):
        those = [mutant for mutant, each in judged if each == outcome]
        lines += [f"\n{outcome}:"] if those else []
        lines += [f"  {each.path.as_posix()}:{each.line}: {each.function}: {each.change}" for each in those]
    return "\n".join(lines)


def chosen(root: Path, package: str, rooms: Sequence[str], files: Sequence[Path]) -> list[Path]:
    """The files of these rooms, and these files."""
    found = list(files)
    for room in rooms:
        inside = sorted((root / package / room).rglob("*.py")) or [root / package / f"{room}.py"]
        found += [path.relative_to(root) for path in inside]
    missing = [str(path) for path in found if not (root / path).is_file()]
    if missing:
        raise SystemExit(f"not there: {', '.join(missing)}")
    return found


def main(arguments: Sequence[str] | None = None, root: Path | None = None, package: str = "gearcalc") -> list[str]:
    """Take a sample, try it and print what came of it; the outcomes."""
    root = root or Path(__file__).resolve().parent.parent
    ask = argparse.ArgumentParser(prog="python -m tests.mutants", description=(__doc__ or "").partition("\n")[0])
    ask.add_argument(
        "--room", action="append", default=[], help="a file or folder of the package; all of the core else"
    )
    ask.add_argument("--file", action="append", default=[], type=Path, help="a file, from the top of the checkout")
    ask.add_argument("--like", default="", help="only changes in which this stands: what a new test must kill")
    ask.add_argument("--sample", type=int, default=60, help="how many mutants")
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--tests", type=int, default=8, help="how many test files it is shown to, and later four times")
    ask.add_argument("--calls", type=Path, help="a folder that keeps which test calls what, for the next run")
    ask.add_argument("--jobs", type=int, default=2, help="how many at a time")
    ask.add_argument("--list", action="store_true", help="list the sample and the tests, and try nothing")
    wish = ask.parse_args(arguments)
    rooms = wish.room or ([] if wish.file else CORE)
    those = [mutant for path in chosen(root, package, rooms, wish.file) for mutant in mutants(path, root)]
    those = [mutant for mutant in those if wish.like in mutant.change]
    sample = evenly(those, wish.sample, wish.seed)
    print(f"{len(sample)} of {len(those)} mutants, seed {wish.seed}", flush=True)
    if wish.list:
        tests = nearest_tests(root, package)
        for path in dict.fromkeys(mutant.path for mutant in sample):
            print(f"{path}: {' '.join(map(str, tests.get(path, [])[: wish.tests]))}")
            print(*(f"  {each.line}: {each.change}" for each in sample if each.path == path), sep="\n")
        return []
    judged = []
    files = list(dict.fromkeys(mutant.path for mutant in sample))
    with tempfile.TemporaryDirectory(prefix="mutants-") as scratch, ThreadPoolExecutor(wish.jobs) as pool:
        bench = Bench(root, package, Path(scratch), wish, files)
        list(pool.map(bench.watch, dict.fromkeys(test for path in files for test in bench.near(path))))
        for mutant, (outcome, why) in zip(sample, pool.map(bench.judge, sample), strict=True):
            judged.append((mutant, outcome))
            said = f"{outcome}: {mutant.path}:{mutant.line}: {mutant.function}: {mutant.change}"
            print(f"{said}\n        {why}" if why else said, file=sys.stderr, flush=True)
        for copy in bench.copies:
            copy.end()
    print(report(judged))
    return [outcome for _, outcome in judged]


if __name__ == "__main__":
    main()
