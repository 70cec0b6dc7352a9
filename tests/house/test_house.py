"""The house: each room asks one question, and leans only on rooms before it in the list; no file leans on itself."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import gearcalc
from tests.how_much import in_one

PACKAGE = Path(gearcalc.__file__).parent
ROOMS = (
    "basics",
    "threads",
    "lathes",
    "fits",
    "finding",
    "deriving",
    "cutting",
    "planning",
    "pictures",
    "papers",
    "learning",
    "teaching",
    "serving",
    "commands",
)
SIDE_BY_SIDE = {"deriving", "cutting", "planning"}  # none of them leans on another
PURE_UP_TO = "pictures"
NOT_PURE = {"numpy", "pandas", "matplotlib", "scipy", "ipywidgets", "anywidget", "traitlets", "IPython"}
MAY_DERIVE = {"deriving", "basics"}  # basics hands sympy on, when asked

MOST_LINES, MOST_SKIPS = 420, 12
AT_THE_EDGE = {  # their classes are widgets; all else imports without the packages of NOT_PURE
    "gearcalc.learning.asking",
    "gearcalc.learning.exercises.form",
    "gearcalc.learning.explorers.shell",
    "gearcalc.learning.lathe_upload",
}
WITHOUT = """
import importlib, importlib.abc, json, sys

class Away(importlib.abc.MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in AWAY:
            raise ImportError(name)

sys.meta_path.insert(0, Away())
failed = []
for name in NAMES:
    try:
        importlib.import_module(name)
    except ImportError:
        failed.append(name)
print(json.dumps(failed))
"""


def files() -> Iterator[Path]:
    return (path for path in sorted(PACKAGE.rglob("*.py")) if not {"notebooks", "data"} & set(path.parts))


def room_of(path: Path) -> str:
    """The room of a file; the door, with the public names, for one that lies in none."""
    first, *more = path.relative_to(PACKAGE).parts
    return first if more else "door"


def module_of(path: Path) -> str:
    """What a file is imported as; a package is its face, __init__.py."""
    return ".".join(("gearcalc", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(".__init__")


@cache
def parsed(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def imports(path: Path, *, for_types: bool = True) -> Iterator[str]:
    """Modules that a file imports, wherever in it; those for types alone among them, or not."""
    tree = parsed(path)
    left_out = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING" and not for_types
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if id(node) in left_out:
            continue
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module == "gearcalc":
            yield from (f"gearcalc.{name.name}" for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


@cache
def rooms_used(path: Path) -> set[str]:
    used = {module.split(".")[1] for module in imports(path) if module.startswith("gearcalc.")}
    return (used & set(ROOMS)) - {room_of(path)}


def files_used(path: Path, known: set[str]) -> set[str]:
    """Files that a file imports, wherever in it, if only for types; of a package the submodule alone, if it is one."""
    used = set()
    for node in ast.walk(parsed(path)):
        if isinstance(node, ast.Import):
            used |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            inside = [f"{node.module}.{name.name}" for name in node.names]
            used |= {module if module in known else node.module for module in inside}
    return used & known


def a_circle(leans_on: dict[str, set[str]]) -> list[str]:
    """One circle among these, or nothing."""
    try:
        list(TopologicalSorter(leans_on).static_order())
    except CycleError as circle:
        return list(circle.args[1])
    return []


IN_ROOMS = [path for path in files() if room_of(path) != "door"]


def test_every_file_lies_in_a_room_or_at_the_door():
    assert {room_of(path) for path in files()} == {*ROOMS, "door"}
    assert {path.name for path in files() if room_of(path) == "door"} == {"__init__.py", "__main__.py"}


@in_one("path", IN_ROOMS)
def test_leans_only_on_rooms_before_it(path):
    here = room_of(path)
    assert {room for room in rooms_used(path) if ROOMS.index(room) > ROOMS.index(here)} == set()
    assert here not in SIDE_BY_SIDE or not rooms_used(path) & SIDE_BY_SIDE
    if ROOMS.index(here) <= ROOMS.index(PURE_UP_TO):
        outside = {module.split(".")[0] for module in imports(path, for_types=False)}
        assert outside & NOT_PURE == set()
        assert "sympy" not in outside or here in MAY_DERIVE


def test_no_two_rooms_lean_on_each_other():
    leans_on: dict[str, set[str]] = {}
    for path in IN_ROOMS:
        leans_on.setdefault(room_of(path), set()).update(rooms_used(path))
    assert a_circle(leans_on) == []


def test_no_file_leans_on_itself_by_way_of_others():
    known = {module_of(path): path for path in files()}
    leans_on = {module: files_used(path, set(known)) for module, path in known.items()}
    assert a_circle(leans_on) == []


def test_a_circle_is_seen():
    assert a_circle({"a": {"b"}, "b": {"c"}, "c": set()}) == []
    assert set(a_circle({"a": {"b"}, "b": {"c"}, "c": {"b"}})) == {"b", "c"}


def test_a_file_can_be_read_in_one_sitting():
    lines = {str(path.relative_to(PACKAGE)): path.read_text(encoding="utf-8").count("\n") for path in files()}
    assert {name: n for name, n in lines.items() if n > MOST_LINES} == {}


def test_the_formatter_lays_out_all_but_tables():
    assert sum(path.read_text(encoding="utf-8").count("fmt: skip") for path in files()) <= MOST_SKIPS


def test_nothing_but_the_edge_needs_a_heavy_package_to_be_imported():
    names = sorted({module_of(path) for path in files()} - {"gearcalc.__main__"})
    code = f"AWAY, NAMES = {sorted(NOT_PURE)}, {names}{WITHOUT}"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert set(json.loads(done.stdout)) <= AT_THE_EDGE
