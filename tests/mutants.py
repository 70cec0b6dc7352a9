"""Do the tests notice when the core is wrong? One small fault at a time is planted in a copy, and its tests are run.

    python -m tests.mutants                                 # 60 mutants of the core
    python -m tests.mutants --room fits --sample 20 --seed 3
    python -m tests.mutants --file gearcalc/lathes/trains.py --list

A mutant that no test notices has survived: a test is missing, or the change makes no difference. The sample is taken
evenly from all mutants, file after file, from where the seed says. The checkout itself is never touched.

Which tests are run is read from the imports: the file's own examples, then the test files that come nearest to it,
those named for the file or its room before those that only lean on it. A test that fails without the mutant, too, is no
kill. What takes too long to say is not counted.
"""

from __future__ import annotations

import argparse
import ast
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections import Counter, deque
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue
from random import Random
from typing import Any

CORE = ["basics/exact", "threads", "lathes", "fits", "finding", "deriving", "cutting", "planning"]
NO_FIGURES_THERE = {"browser", "lessons", "benchmarks"}  # folders of tests that are slow, or that measure time
NOT_COPIED = shutil.ignore_patterns(".git", ".venv", "venv", "__pycache__", ".hypothesis", ".*_cache", "dist")
SECONDS_A_TEST = 30
KILLED, SURVIVED, TOO_SLOW, UNSOUND = "killed", "survived", "out of time", "its test fails anyway"

# Making mutants: a place is a node of a file's tree, with what holds it and the line and words around it.

Place = tuple[Any, Any, ast.AST, ast.AST]
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


def _places(node: ast.AST, around: ast.AST | None = None) -> Iterator[Place]:
    """Every node under this one, but for types, decorators, `__all__` and what an error says."""
    if isinstance(node, ast.Raise) or (isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"):
        return
    if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
        return
    around = node if hasattr(node, "lineno") else around
    for name, value in ast.iter_fields(node):
        each = enumerate(value) if isinstance(value, list) else [(name, value)]
        for key, inner in each if name not in SAYS_NOTHING else ():
            if isinstance(inner, ast.AST):
                yield value if isinstance(value, list) else vars(node), key, inner, around or inner
                yield from _places(inner, around)


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
    change: str
    place: int
    choice: int

    def source(self, root: Path) -> str:
        """The file with the change in it; without its comments, which no test reads."""
        tree = ast.parse((root / self.path).read_text(encoding="utf-8"))
        holder, key, node, around = list(_places(tree))[self.place]
        holder[key] = _changes(node, around)[self.choice]
        return ast.unparse(ast.fix_missing_locations(tree))


def mutants(path: Path, root: Path) -> list[Mutant]:
    """Every mutant of a file."""
    tree, found = ast.parse((root / path).read_text(encoding="utf-8")), []
    for number, (holder, key, node, around) in enumerate(_places(tree)):
        shown = node if isinstance(node, ast.stmt) else around
        before = ast.unparse(shown).partition("\n")[0]
        for choice, other in enumerate(_changes(node, around)):
            holder[key] = ast.copy_location(other, node)
            after = ast.unparse(other if shown is node else shown).partition("\n")[0]
            holder[key] = node
            differs = next((at for at, pair in enumerate(zip(before, after, strict=False)) if len({*pair}) > 1), 0)
            same = max(0, differs - 50)  # of a long line, what is around the change
            change = "  →  ".join(f"{'…' * bool(same)}{text[same : same + 100]}" for text in (before, after))
            found.append(Mutant(path, vars(shown)["lineno"], change, number, choice))
    return found


def evenly(those: Sequence[Mutant], count: int, seed: int) -> list[Mutant]:
    """So many of them, equally far apart; the seed says where it begins."""
    count = min(count, len(those))
    start = Random(seed).random()
    return [those[int((start + number) * len(those) / count)] for number in range(count)]


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

    def __init__(self, root: Path, package: str, scratch: Path, wish: argparse.Namespace) -> None:
        self.seconds, self.files = wish.seconds, wish.tests
        self.tests = nearest_tests(root, package)
        self.sound: set[str] = set()
        self.free: SimpleQueue[Path] = SimpleQueue()
        for number in range(wish.jobs):
            self.free.put(Path(shutil.copytree(root, scratch / str(number), ignore=NOT_COPIED)))

    def _passes(self, copy: Path, *more: str) -> bool:
        settings = {
            "PYTHONPATH": str(copy),
            "PYTHONDONTWRITEBYTECODE": "1",
            "HYPOTHESIS_PROFILE": "ci",
            "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1",
        }
        how = [
            "-x",
            "-q",
            "-p",
            "pytest_timeout",
            "--tb=no",
            "--doctest-modules",
            "-o",
            "cache_dir=.mutants",
            "--timeout",
            str(SECONDS_A_TEST),
            "-m",
            "not browser and not lesson",
        ]
        ended = subprocess.run(
            [sys.executable, "-m", "pytest", *how, *more],
            cwd=copy,
            env=os.environ | settings,
            timeout=self.seconds,
            capture_output=True,
            check=False,
        )
        return ended.returncode in (0, 5)  # 5: there was nothing to run

    def judge(self, mutant: Mutant) -> str:
        """Whether a test notices it."""
        copy = self.free.get()
        tests = [str(mutant.path), *map(str, self.tests.get(mutant.path, [])[: self.files])]
        shutil.rmtree(copy / ".mutants", ignore_errors=True)
        file = copy / mutant.path
        as_it_was = file.read_text(encoding="utf-8")
        try:
            file.write_text(mutant.source(copy), encoding="utf-8")
            if self._passes(copy, *tests):
                return SURVIVED
            file.write_text(ast.unparse(ast.parse(as_it_was)), encoding="utf-8")  # as the mutant is written, but right
            return KILLED if self._sound(copy) else UNSOUND
        except subprocess.TimeoutExpired:
            return TOO_SLOW
        finally:
            file.write_text(as_it_was, encoding="utf-8")
            self.free.put(copy)

    def _sound(self, copy: Path) -> bool:
        """What failed passes without the mutant."""
        last = copy / ".mutants" / "v" / "cache" / "lastfailed"
        failed = set(json.loads(last.read_text(encoding="utf-8"))) if last.exists() else set()
        if failed - self.sound and not self._passes(copy, *sorted(failed)):
            return False
        self.sound |= failed
        return True


# Saying it.


def report(judged: Sequence[tuple[Mutant, str]]) -> str:
    """A table of files, rooms and all together, and each survivor with its line and its change."""
    counts: dict[str, Counter[str]] = {}
    for mutant, outcome in judged:
        room = "/".join(mutant.path.parts[:2])
        for row in {room, mutant.path.as_posix(), "all"}:
            counts.setdefault(row, Counter())[outcome] += 1
    lines = [f"{'file':48} mutants  killed  score"]
    for row, seen in sorted(counts.items(), key=lambda each: (each[0] == "all", each[0])):
        settled = seen[KILLED] + seen[SURVIVED]
        score = f"{100 * seen[KILLED] / settled:5.0f}%" if settled else "     –"
        row = "  " * (row.count("/") > 1) + row
        lines.append(f"{row:48} {seen.total():7} {seen[KILLED]:7} {score}")
    for outcome in (SURVIVED, TOO_SLOW, UNSOUND):
        those = [mutant for mutant, each in judged if each == outcome]
        lines += [f"\n{outcome}:"] if those else []
        lines += [f"  {mutant.path.as_posix()}:{mutant.line}: {mutant.change}" for mutant in those]
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
    ask.add_argument("--sample", type=int, default=60, help="how many mutants")
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--tests", type=int, default=8, help="how many test files each is shown to at most")
    ask.add_argument("--seconds", type=float, default=300, help="for one mutant at most")
    ask.add_argument("--jobs", type=int, default=2, help="how many at a time")
    ask.add_argument("--list", action="store_true", help="list the sample and the tests, and try nothing")
    wish = ask.parse_args(arguments)
    rooms = wish.room or ([] if wish.file else CORE)
    those = [mutant for path in chosen(root, package, rooms, wish.file) for mutant in mutants(path, root)]
    sample = evenly(those, wish.sample, wish.seed)
    print(f"{len(sample)} of {len(those)} mutants, seed {wish.seed}", flush=True)
    if wish.list:
        tests = nearest_tests(root, package)
        for path in dict.fromkeys(mutant.path for mutant in sample):
            print(f"{path}: {' '.join(map(str, tests.get(path, [])[: wish.tests]))}")
            print(*(f"  {each.line}: {each.change}" for each in sample if each.path == path), sep="\n")
        return []
    judged = []
    with tempfile.TemporaryDirectory(prefix="mutants-") as scratch, ThreadPoolExecutor(wish.jobs) as pool:
        bench = Bench(root, package, Path(scratch), wish)
        for mutant, outcome in zip(sample, pool.map(bench.judge, sample), strict=True):
            judged.append((mutant, outcome))
            print(f"{outcome}: {mutant.path}:{mutant.line}: {mutant.change}", file=sys.stderr, flush=True)
    print(report(judged))
    return [outcome for _, outcome in judged]


if __name__ == "__main__":
    main()
