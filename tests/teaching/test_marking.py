"""Marks are worked out in processes beside this one, and an answer that takes too long is named."""

from __future__ import annotations

import sys
import time

import pytest

from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import _RECIPES, Task, poses
from gearcalc.teaching import marking, own_exercises
from gearcalc.teaching.handed_in import Answered
from gearcalc.teaching.marking import NOT_MARKED, ToMark, all_marked, mark
from gearcalc.teaching.own_exercises import read_own_exercises
from tests.teaching.invented_class import RIGHT, planted

NAME = "lead-of-a-leadscrew"
OWN = """
import sys, time
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import Task, poses

@poses("a-quick-one", lesson=99, title="Quick")
def quick(draw):
    return Task(question="?", answer=Number(7, ""), hints="a\\nb", solution="7", right="So it is.")
"""
HANGS = """
@poses("a-hanging-one", lesson=99, title="Hangs")
def hangs(draw):
    time.sleep(60)
"""
PRINTS_AND_BREAKS = """
print("read")
@poses("a-broken-one", lesson=99, title="Breaks")
def breaks(draw):
    print("posed", file=sys.__stdout__, flush=True)
    1 / 0
"""


def to_mark(number, answer=None, go=1):
    return ToMark(number, Answered(NAME, go, planted(NAME, number, RIGHT)[0] if answer is None else answer))


def own(number, name="a-quick-one"):
    return ToMark(number, Answered(name, 1, "7"))


class TestManyAreMarked:
    def test_each_in_its_place(self):
        given = [[to_mark(number), to_mark(number, "1 mm"), to_mark(number)][: number % 4] for number in range(1, 30)]
        wanted = [["right", "not right", "right"][: number % 4] for number in range(1, 30)]
        assert [[got.state for got in each] for each in all_marked(given)] == wanted

    def test_one_that_hangs_is_stopped_and_the_others_marked(self, monkeypatch, tmp_path):
        hangs = "import gearcalc.teaching.marking as m, time; real = m.mark\n"
        hangs += "def slow(one):\n    time.sleep(60 * (one.answered.answer == 'hang')); return real(one)\n"
        begun = marking.subprocess.Popen

        def begin(command, **more):
            return begun([*command[:-1], f"{hangs}m.mark = slow\nm.work(2.0, [])"], **more)

        monkeypatch.setattr(marking.subprocess, "Popen", begin)
        began = time.monotonic()
        given = [[to_mark(1), to_mark(1, "hang"), to_mark(1)], [to_mark(2)]]
        got = list(all_marked(given))
        assert [[one.state for one in each] for each in got] == [["right", NOT_MARKED, "right"], ["right"]]
        assert "too long" in got[0][1].says
        assert time.monotonic() - began < 50

    def test_who_has_had_enough_leaves_no_process_behind(self, monkeypatch):
        begun, made = marking.subprocess.Popen, []

        def begin(*command, **more):
            made.append(begun(*command, **more))
            return made[-1]

        monkeypatch.setattr(marking.subprocess, "Popen", begin)
        marks = all_marked([[to_mark(number)] for number in range(1, 30)])
        assert next(marks)[0].state == "right"
        marks.close()
        assert made
        assert all(process.poll() is not None for process in made)

    def test_nothing_is_imported_from_the_folder_that_one_works_in(self, monkeypatch, tmp_path):
        for name in ("gearcalc", "pickle", "faulthandler", "attrs"):
            (tmp_path / f"{name}.py").write_text("open('was run', 'w')\n")
        monkeypatch.chdir(tmp_path)
        assert [got.state for got in next(all_marked([[to_mark(1)]]))] == ["right"]
        assert not (tmp_path / "was run").exists()

    @pytest.fixture
    def read(self, tmp_path):
        """What reads a file of exercises of one's own, and forgets them at the end."""
        before = dict(_RECIPES)

        def read(source):
            path = tmp_path / "our_hanging_exercises.py"
            path.write_text(OWN + source, encoding="utf-8")
            read_own_exercises(path)

        yield read
        own_exercises._READ.clear()
        sys.modules.pop("our_hanging_exercises", None)
        for name in set(_RECIPES) - set(before):
            del _RECIPES[name]

    def test_one_of_a_school_s_own_that_hangs_is_stopped_too(self, read):
        read(HANGS)
        began = time.monotonic()
        given = [[own(number, "a-hanging-one"), own(number), to_mark(number)] for number in range(1, 5)]
        got = list(all_marked(given, seconds=1.0))
        assert [[one.state for one in each] for each in got] == [[NOT_MARKED, "right", "right"]] * 4
        assert all("too long" in each[0].says for each in got)
        assert time.monotonic() - began < 25

    def test_what_a_file_of_one_s_own_prints_and_where_it_breaks_stops_nothing(self, read):
        read(PRINTS_AND_BREAKS)
        ((breaks, right, last),) = all_marked([[own(1, "a-broken-one"), own(1), to_mark(1)]])
        assert [breaks.state, right.state, last.state] == [NOT_MARKED, "right", "right"]
        assert breaks.says == "the exercise stops (ZeroDivisionError: division by zero)"

    def test_one_that_only_a_notebook_has_is_marked_here(self):
        @poses("a-school-s-own", lesson=99, title="Own")
        def posed(draw):
            return Task(question="?", answer=Number(7, ""), hints="a\nb", solution="7", right="So it is.")

        try:
            one = ToMark(1, Answered("a-school-s-own", 1, "7"))
            ((got,),) = all_marked([[one]])
            assert got.state == "right"
            assert got == mark(one)
        finally:
            del _RECIPES["a-school-s-own"]
