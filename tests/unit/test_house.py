"""The house: data runs one way, from the ground up, and no two rooms lean on each other."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

import gearcalc

PACKAGE = Path(gearcalc.__file__).parent
FLOORS = {
    "ground": "errors given exact resources writing whole_files cautions",
    "nouns": "threads feeds tolerances deviations trains lathes hands fits setups",
    "reasons": "approximations search plates formulas derivations missing_gears dials plans proofs additions turning",
    "looks": "paper drawing tables feed_tables cards",
    "hands": "explorers",
    "teaching": "exercises",
    "door": "commands lesson_copies __main__ __init__",
}
FLOOR_OF = {room: number for number, rooms in enumerate(FLOORS.values()) for room in rooms.split()}
PURE_UP_TO = list(FLOORS).index("reasons")
NOT_PURE = {"numpy", "pandas", "matplotlib", "scipy", "ipywidgets", "anywidget", "traitlets", "IPython"}
MAY_DERIVE = {"derivations", "formulas", "missing_gears", "writing", "exact"}  # those that hand sympy on, when asked


def files() -> Iterator[Path]:
    return (path for path in sorted(PACKAGE.rglob("*.py")) if "notebooks" not in path.parts)


def room_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imports(path: Path) -> Iterator[str]:
    """Modules that a file imports, wherever in it, but not for types alone."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for_types = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if id(node) in for_types:
            continue
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module == "gearcalc":
            yield from (f"gearcalc.{name.name}" for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


def rooms_used(path: Path) -> set[str]:
    used = {module.split(".")[1] for module in imports(path) if module.startswith("gearcalc.")}
    return {room for room in used if room in FLOOR_OF} - {room_of(path)}


@pytest.mark.parametrize("path", list(files()), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_uses_nothing_from_above(path):
    here = FLOOR_OF[room_of(path)]
    assert {room for room in rooms_used(path) if FLOOR_OF[room] > here} == set()
    if here <= PURE_UP_TO:
        outside = {module.split(".")[0] for module in imports(path)}
        assert outside & NOT_PURE == set()
        assert "sympy" not in outside or room_of(path) in MAY_DERIVE


def test_no_two_rooms_lean_on_each_other():
    leans_on: dict[str, set[str]] = {}
    for path in files():
        leans_on.setdefault(room_of(path), set()).update(rooms_used(path))
    try:
        list(TopologicalSorter(leans_on).static_order())
    except CycleError as circle:
        pytest.fail(f"a circle of rooms: {' -> '.join(circle.args[1])}")
