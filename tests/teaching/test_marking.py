"""Marks are worked out in processes beside this one, and an answer that takes too long is named."""

from __future__ import annotations

import time

from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import _RECIPES, Task, poses
from gearcalc.teaching import marking
from gearcalc.teaching.handed_in import Answered
from gearcalc.teaching.marking import NOT_MARKED, ToMark, all_marked, mark
from tests.teaching.invented_class import RIGHT, planted

NAME = "lead-of-a-leadscrew"


def to_mark(number, answer=None, go=1):
    return ToMark(number, Answered(NAME, go, planted(NAME, number, RIGHT)[0] if answer is None else answer))


class TestManyAreMarked:
    def test_each_in_its_place(self):
        given = [[to_mark(number), to_mark(number, "1 mm"), to_mark(number)][: number % 4] for number in range(1, 30)]
        wanted = [["right", "not right", "right"][: number % 4] for number in range(1, 30)]
        assert [[got.state for got in each] for each in all_marked(given)] == wanted

    def test_one_that_hangs_is_stopped_and_the_others_marked(self, monkeypatch, tmp_path):
        monkeypatch.setattr(marking, "_comes_with_us", lambda name: True)
        hangs = "import gearcalc.teaching.marking as m, time; real = m.mark\n"
        hangs += "def slow(one):\n    time.sleep(60 * (one.answered.answer == 'hang')); return real(one)\n"
        begun = marking.subprocess.Popen

        def begin(command, **more):
            return begun([*command[:-1], f"{hangs}m.mark = slow\nm.work(2.0)"], **more)

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

    def test_a_school_s_own_exercise_is_marked_here(self):
        @poses("a-school-s-own", lesson=99, title="Own")
        def own(draw):
            return Task(question="?", answer=Number(7, ""), hints="a\nb", solution="7", right="So it is.")

        try:
            one = ToMark(1, Answered("a-school-s-own", 1, "7"))
            ((got,),) = all_marked([[one]])
            assert got.state == "right"
            assert got == mark(one)
        finally:
            del _RECIPES["a-school-s-own"]
