"""The fuzzer itself: every door there is, is asked; what is planted behind one is told; any input is had again."""

from __future__ import annotations

import inspect
import re
import shlex
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

import gearcalc as gc
from gearcalc.learning import explorers
from tests.commands.test_options import parsers
from tests.fuzzing import faulty_doors
from tests.fuzzing.all_doors import all_doors
from tests.fuzzing.functions import ONE_OF_EACH, RIGHT, TAKE_NOTHING
from tests.fuzzing.mutations import Draw, mutated, mutated_bytes
from tests.fuzzing.runs import Outcome, again, drawn, outcomes, tasks_of
from tests.how_much import in_one


def named(kind: str) -> set[str]:
    return {name.removeprefix(f"{kind} ") for name in all_doors() if name.startswith(f"{kind} ")}


class TestNoDoorIsForgotten:
    """A public name, command, exercise or explorer that is new wants a door, or its test here fails."""

    def test_functions(self):
        there = {name for name in gc.__all__ if not isinstance(getattr(gc, name), type) and not name.startswith("_")}
        assert there - TAKE_NOTHING == named("function")

    def test_classes(self):
        assert {name for name in gc.__all__ if isinstance(getattr(gc, name), type)} == named("class")

    @in_one("name", ONE_OF_EACH)
    def test_one_of_each_class(self, name):
        assert type(ONE_OF_EACH[name]()) is getattr(gc, name)

    def test_arguments(self):
        for name, right in RIGHT.items():
            assert set(right) == set(inspect.signature(getattr(gc, name)).parameters), name

    def test_commands(self):
        assert set(parsers()) == named("command")

    def test_exercises(self):
        assert set(gc.exercise_names()) == named("exercise")

    def test_explorers_and_views(self):
        assert {name for name, it in vars(explorers).items() if callable(it)} == named("explorer") | named("view")


@pytest.fixture(scope="module")
def told() -> dict[str, Outcome]:
    """What came of each planted fault; it takes some seconds, most of them those of what hangs."""
    tasks = [(name, 0) for name in faulty_doors.FAULTS]
    return {each.door: each for each in outcomes(1, tasks, faulty_doors.__name__)}


@pytest.mark.timeout(300)
class TestWhatIsPlantedIsTold:
    @in_one("name", [name for name, (_, fault) in faulty_doors.FAULTS.items() if fault])
    def test_fault(self, told, name):
        assert told[name].came_to == "fault"
        assert faulty_doors.FAULTS[name][1] in told[name].fault

    @in_one("name", [name for name, (_, fault) in faulty_doors.FAULTS.items() if not fault])
    def test_what_is_right_is_no_fault(self, told, name):
        assert told[name].came_to == ("refused" if name == "refuses" else "answered"), told[name].fault

    def test_nothing_was_written_outside(self, told):
        assert not Path(faulty_doors.__file__).with_name("written_outside.txt").exists()


class TestAnInputIsHadAgain:
    @pytest.mark.timeout(300)
    def test_the_line_asks_it_again(self, tmp_path):
        line = again(Outcome("parser Thread.parse", 7, "fault", "it is slow", "Thread.parse('M6')"), 3)
        assert "\n" not in line
        asked = [sys.executable, *shlex.split(line, comments=True)[1:]]
        said = subprocess.run(asked, capture_output=True, text=True, check=False, cwd=Path(__file__).parents[2])
        words = drawn(all_doors()["parser Thread.parse"], 3, 7, tmp_path).words
        assert repr(words) in said.stdout

    @in_one("name", all_doors())
    def test_it_is_drawn_the_same(self, name):
        said = []
        for _ in range(2):
            with TemporaryDirectory() as folder:
                number = all_doors()[name].first + 1
                said.append(drawn(all_doors()[name], 1, number, Path(folder)).words.replace(folder, ""))
        assert _without_places(said[0]) == _without_places(said[1])

    def test_slips_differ_from_number_to_number(self):
        assert len({mutated(Draw(str(n)), "M6 x 1 LH") for n in range(100)}) > 60
        assert len({mutated_bytes(Draw(str(n)), b"[gears]\nteeth = [20, 30]\n") for n in range(100)}) > 60


def _without_places(words: str) -> str:
    """Without where in memory something lies."""
    return re.sub(r"0x[0-9a-f]+", "", words)


def test_every_door_has_its_share():
    tasks = tasks_of(all_doors().values(), 5000)
    assert {door for door, _ in tasks} == set(all_doors())
    assert len(tasks) >= 20_000
