"""The workbench on whatever lathe stands in my_lathe.toml beside it: each cell runs, and says what stands in."""

from __future__ import annotations

import ast
import json
from contextlib import chdir
from functools import cache
from itertools import pairwise
from tempfile import TemporaryDirectory

from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import GearNotOwnedError
from gearcalc.basics.files import notebooks_folder
from gearcalc.learning.own_lathe import FILE_NAME
from tests.how_much import examples
from tests.odd_lathes import odd_lathes
from tests.strategies import bench_lathes, lathes, plain_lathes


@cache
def cells():
    page = json.loads((notebooks_folder() / "workbench.ipynb").read_text(encoding="utf-8"))
    return ["".join(cell["source"]) for cell in page["cells"] if cell["cell_type"] == "code"]


def run(lathe):
    """Every cell in turn; the titles of the explorers that are about this lathe."""
    names = {}
    with TemporaryDirectory() as folder, chdir(folder):
        lathe.save(FILE_NAME)
        for cell in cells():
            *before, last = ast.parse(cell).body
            exec(compile(ast.Module(before, []), "workbench", "exec"), names)
            if not isinstance(last, ast.Expr):
                exec(compile(ast.Module([last], []), "workbench", "exec"), names)
                continue
            try:
                shown = eval(compile(ast.Expression(last.value), "workbench", "eval"), names)
            except GearNotOwnedError:
                assert not lathe.gear_set.pieces
                continue
            assert getattr(shown, "failure", None) is None, shown.message
    assert names["lathe"].gears == lathe.gears


def test_it_runs_on_each_demo_lathe():
    for name in ("metric", "odd"):
        run(gc.demo_lathe(name))


@examples(2)
@given(
    st.one_of(
        lathes(), bench_lathes(), plain_lathes(), odd_lathes(most=6).map(lambda odd: gc.Lathe.from_toml(odd.text))
    )
)
def test_it_runs_on_any_lathe(lathe):
    run(lathe)


def test_there_is_something_to_try_beside_each_explorer():
    page = json.loads((notebooks_folder() / "workbench.ipynb").read_text(encoding="utf-8"))["cells"]
    for above, cell in pairwise(page):
        if cell["cell_type"] == "code" and "explorers." in "".join(cell["source"]):
            assert "**Try:**" in "".join(above["source"]), cell["source"]
