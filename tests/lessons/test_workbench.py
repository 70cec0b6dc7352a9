"""The workbench on whatever lathe stands in my_lathe.toml beside it: each cell runs, and says what stands in."""

from __future__ import annotations

import ast
from contextlib import chdir
from functools import cache
from itertools import pairwise
from tempfile import TemporaryDirectory

from hypothesis import given

import gearcalc as gc
from gearcalc.learning import explorers
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
            shown = eval(compile(ast.Expression(last.value), "workbench", "eval"), names)
            assert getattr(shown, "failure", None) is None, shown.message
    assert names["lathe"].gears == lathe.gears


def test_it_runs_on_each_demo_lathe():
    for name in ("metric", "odd"):
        run(gc.demo_lathe(name))


def test_it_runs_before_any_gear_is_written_down(capsys):
    run(gc.Lathe.from_toml('name = "Begun"\nleadscrew.lead = "8 tpi"\ngears.teeth = []'))
    assert "Your lathe file has no gears to use" in capsys.readouterr().out


def test_the_time_to_the_shoulder_is_asked_in_the_unit_of_its_owner(monkeypatch):
    asked = []
    monkeypatch.setattr(explorers, "time_to_the_shoulder", lambda *_, units="mm": asked.append(units))
    for name in ("inch", "metric"):
        run(gc.demo_lathe(name))
    assert asked == ["inch", "mm"]


@examples(2)
@given(any_lathes)
def test_it_runs_on_any_lathe(lathe):
    run(lathe)


def test_there_is_something_to_try_beside_each_explorer():
    for (_, above), (kind, text) in pairwise(sources(WORKBENCH)):
        if kind == "code" and "explorers." in text:
            assert "**Try:**" in above, text
