"""The house: each room asks one question, and leans only on rooms before it in the list."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import gearcalc

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
    "commands",
)
SIDE_BY_SIDE = {"deriving", "cutting", "planning"}  # none of them leans on another
PURE_UP_TO = "planning"
NOT_PURE = {"numpy", "pandas", "matplotlib", "scipy", "ipywidgets", "anywidget", "traitlets", "IPython"}
MAY_DERIVE = {"deriving", "basics"}  # basics hands sympy on, when asked


def files() -> Iterator[Path]:
    return (path for path in sorted(PACKAGE.rglob("*.py")) if not {"notebooks", "data"} & set(path.parts))


def room_of(path: Path) -> str:
    """The room of a file; the door, with the public names, for one that lies in none."""
    first, *more = path.relative_to(PACKAGE).parts
    return first if more else "door"


def imports(path: Path, *, for_types: bool = True) -> Iterator[str]:
    """Modules that a file imports, wherever in it; those for types alone among them, or not."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
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


def rooms_used(path: Path) -> set[str]:
    used = {module.split(".")[1] for module in imports(path) if module.startswith("gearcalc.")}
    return (used & set(ROOMS)) - {room_of(path)}


IN_ROOMS = [path for path in files() if room_of(path) != "door"]


def test_every_file_lies_in_a_room_or_at_the_door():
    assert {room_of(path) for path in files()} == {*ROOMS, "door"}
    assert {path.name for path in files() if room_of(path) == "door"} == {"__init__.py", "__main__.py"}


@pytest.mark.parametrize("path", IN_ROOMS, ids=lambda path: str(path.relative_to(PACKAGE)))
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
    try:
        list(TopologicalSorter(leans_on).static_order())
    except CycleError as circle:
        pytest.fail(f"a circle of rooms: {' -> '.join(circle.args[1])}")
