"""The workbench on whatever lathe stands in my_lathe.toml beside it: each cell runs, and says what stands in."""

from __future__ import annotations

import ast
from contextlib import chdir
from functools import cache
from itertools import pairwise
from tempfile import TemporaryDirectory

from hypothesis import given

import gearcalc as gc
from gearcalc.basics.errors import GearNotOwnedError
from gearcalc.learning.own_lathe import FILE_NAME
from tests.how_much import examples
from tests.notebooks import WORKBENCH, sources
from tests.strategies import any_lathes


@cache
def cells():
    return [text for kind, text in sources(WORKBENCH) if kind == "code"]


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
@given(any_lathes)
def test_it_runs_on_any_lathe(lathe):
    run(lathe)


def test_there_is_something_to_try_beside_each_explorer():
    for (_, above), (kind, text) in pairwise(sources(WORKBENCH)):
        if kind == "code" and "explorers." in text:
            assert "**Try:**" in above, text
