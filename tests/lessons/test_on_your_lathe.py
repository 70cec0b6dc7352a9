"""The round *On your lathe* of every lesson runs on whatever lathe its reader has."""

from __future__ import annotations

import ast
import re
from contextlib import chdir
from fractions import Fraction
from functools import cache
from tempfile import TemporaryDirectory
from time import process_time
from typing import Any

import pytest
from attrs import evolve
from hypothesis import given

import gearcalc as gc
from gearcalc.learning.exercises import exercise_names
from gearcalc.learning.exercises.number_answers import ThreadCut
from gearcalc.learning.exercises.tasks import RIGHT, recipes
from gearcalc.learning.own_lathe import FILE_NAME, my_lathe
from tests.how_much import examples
from tests.learning.exercise_cases import CASES
from tests.learning.exercise_cases.any_lathe import ON_ANY_LATHE
from tests.lessons.given_away import told
from tests.notebooks import LESSONS, sources
from tests.strategies import any_lathes

HEADING = "## On your lathe"
ABOUT_ANY_LATHE = [name for name in exercise_names() if recipes()[name].any_lathe]


@cache
def rounds() -> dict[str, tuple[Any, ...]]:
    """The code of that round, cell by cell, of each lesson that has it; first what the lesson imports."""
    return {lesson: cells for lesson, path in LESSONS.items() if (cells := code_of(path))}


def code_of(path: Any) -> tuple[Any, ...]:
    cells = sources(path)
    begins = next((place for place, (_, text) in enumerate(cells) if text.startswith(HEADING)), None)
    if begins is None:
        return ()
    ends = next(place for place, (_, text) in enumerate(cells) if place > begins and text.startswith("## "))
    imports = [
        node for kind, text in cells[:ends] if kind == "code" for node in ast.parse(text).body if is_import(node)
    ]
    own = [ast.parse(text) for kind, text in cells[begins:ends] if kind == "code"]
    return (ast.Module(imports, []), *own)


def is_import(node: ast.stmt) -> bool:
    return isinstance(node, (ast.Import, ast.ImportFrom))


def work_through(cells: tuple[Any, ...], lathe: gc.Lathe) -> dict[str, Any]:
    """Run the cells as a kernel does, beside the file of that lathe, the last value of each shown; the names made.

    Under the name `_` stands what was shown, as the kernel has it: here all of it, in words.
    """
    names: dict[str, Any] = {}
    seen = []
    with TemporaryDirectory() as folder, chdir(folder):
        lathe.save(FILE_NAME)
        assert my_lathe()[1].startswith("This is your lathe")
        for cell in cells:
            shown = cell.body[-1:] if cell.body and isinstance(cell.body[-1], ast.Expr) else []
            exec(compile(ast.Module(cell.body[: len(cell.body) - len(shown)], []), "lesson", "exec"), names)
            for last in shown:
                value = eval(compile(ast.Expression(last.value), "lesson", "eval"), names)
                assert value is None or getattr(value, "_repr_html_", value.__str__)() is not None
                seen.append(getattr(value, "said", str(value)))  # of a guess taken up what it says
    return names | {"_": " ".join(seen)}


@pytest.mark.parametrize("lesson", sorted(rounds()))
class TestOnYourLathe:
    def test_it_runs_on_each_demo_lathe(self, lesson):
        for name in ("inch", "metric", "odd"):
            work_through(rounds()[lesson], gc.demo_lathe(name))

    @examples(10)
    @given(any_lathes)
    def test_it_runs_on_any_lathe(self, lesson, lathe):
        work_through(rounds()[lesson], lathe)


@pytest.mark.parametrize(
    ("file", "asked"),
    [(gc.demo_lathe("odd").to_toml(), True), ('name = "Half a file', False), (None, False)],
    ids=["one's own", "one that can't be read", "none"],
)
def test_whether_the_drawing_is_like_it_is_asked_about_ones_own_lathe_alone(file, asked, tmp_path, capsys):
    with chdir(tmp_path):
        if file is not None:
            (tmp_path / FILE_NAME).write_text(file, encoding="utf-8")
        names: dict[str, Any] = {}
        for cell in rounds()["12"][:3]:
            exec(compile(cell, "lesson", "exec"), names)
    assert ("Does the drawing look like your machine?" in capsys.readouterr().out) is asked
    assert not any("Does the drawing look" in text for kind, text in sources(LESSONS["12"]) if kind == "markdown")


def check_exercise(name: str, number: int, lathe: gc.Lathe) -> None:
    """It is posed at once, its key is right, no slip that it knows is, and what it says can be shown.

    What is right is worked out once more, from the words of the question alone.
    """
    began = process_time()
    q = gc.exercise(name, number, lathe=lathe)
    assert process_time() - began < 1
    assert q.check(q.key).is_right, (q.question, q.key)
    for answer in (ON_ANY_LATHE[name] if name in ON_ANY_LATHE else CASES[name].right)(q):
        assert q.check(answer).is_right, (q.question, answer)
    for slip in q.task.slips:
        lead = f"{slip.value} mm" if isinstance(q.task.answer, ThreadCut) else slip.value
        outcome = q.check(None if "round" in slip.name else lead)  # what is rounded further may still serve
        assert outcome.state != RIGHT, (q.question, slip)
        assert slip.value is None or isinstance(slip.value, Fraction) or outcome.slip, (q.question, slip)
    assert 2 <= len(q.task.hints) <= 3
    assert q.question.count("**") % 2 == 0
    assert "*" not in re.sub(r"<[^>]*>", "", q._repr_html_())
    if ", so this asks about" in q.question:
        assert re.match(r"Your lathe has .+, so this asks about the demo lathe, Bench lathe with an? ", q.question)


@pytest.mark.parametrize("lesson", [lesson for lesson in sorted(rounds()) if lesson >= "01"])
def test_the_round_ends_with_an_exercise_about_the_lathe(lesson):
    last = ast.unparse(rounds()[lesson][-1])
    asked = re.fullmatch(r"gc\.exercise\('([a-z0-9-]+)', lathe=(\w+)\)", last)
    assert asked, last
    assert asked[1] in ABOUT_ANY_LATHE
    assert work_through(rounds()[lesson], gc.demo_lathe("odd"))[asked[2]] == gc.demo_lathe("odd")


@pytest.mark.parametrize("name", ABOUT_ANY_LATHE)
class TestExercisesOnYourLathe:
    def test_each_demo_lathe(self, name):
        for lathe in map(gc.demo_lathe, ("inch", "metric", "odd")):
            for number in range(1, 25):
                check_exercise(name, number, lathe)

    @examples(8)
    @given(any_lathes)
    def test_any_lathe(self, name, lathe):
        for number in (1, 2, 345):
            check_exercise(name, number, lathe)


class TestWhatStandsBesideTheGearsIsMissed:
    """Lever at 1/3, first driver at 3/4, in each exercise whose answer grows with them: each forgotten one is named."""

    LATHE = gc.Lathe.from_toml(
        'name = "Both"\nleadscrew.lead = "8 tpi"\ngears.teeth = [20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 80]\n'
        'spindle_side.ratio = "3/4"\n[[gearbox]]\nlever = "slow"\nratio = "1/3"'
    )
    FORGOTTEN = (
        ("lever overlooked", Fraction(3)),
        ("first driver overlooked", Fraction(4, 3)),
        ("lever and first driver overlooked", Fraction(4)),
    )

    @pytest.mark.parametrize(
        "name", ["threads-from-one-pair", "what-should-it-measure", "lead-upside-down", "feed-from-the-gears"]
    )
    def test_by_how_much_it_is_out(self, name):
        for slip, factor in self.FORGOTTEN:
            told = set()
            for number in range(1, 13):
                q = gc.exercise(name, number, lathe=self.LATHE)
                told.add(q.check(f"{float(q.task.answer.value * factor):.6f} mm").slip)
            assert slip in told, (name, slip, told)

    def test_teeth_and_ppm_of_a_first_driver_forgotten(self):
        for name, wrong in (
            ("on-to-the-next-start", lambda teeth: teeth * Fraction(4, 3)),
            ("ppm-of-a-near-miss", lambda ppm: ((1 + ppm / 10**6) * Fraction(4, 3) - 1) * 10**6),
        ):
            asked = [gc.exercise(name, number, lathe=self.LATHE) for number in range(1, 13)]
            assert "first driver overlooked" in {q.check(wrong(Fraction(q.task.answer.value))).slip for q in asked}

    @pytest.mark.parametrize("name", ABOUT_ANY_LATHE)
    def test_what_turns_once_is_named(self, name):
        """'3/4 times while it turns once' could be said of the first driver itself."""
        question = gc.exercise(name, 1, lathe=self.LATHE).question
        assert ("the spindle turns once" in question) is ("3/4" in question)

    def test_the_ratio_taken_out_once(self):
        told = set()
        for number in range(1, 13):
            q = gc.exercise("lead-upside-down", number, lathe=self.LATHE)
            driver, driven = (
                int(re.search(rf"{gear} \*\*(\d+)", q.question)[1]) for gear in ("driver has", "driven gear")
            )
            told.add(q.check(f"{float(q.task.answer.value * driver / driven):.6f} mm").slip)
        assert told == {"ratio once"}


def given_away(lesson: str, lathe: gc.Lathe) -> list[str]:
    """Trains that the round shows and whose ratio its exercise marks right."""
    asked = re.fullmatch(r"gc\.exercise\('([a-z0-9-]+)', lathe=\w+\)", ast.unparse(rounds()[lesson][-1]))
    assert asked
    trains = [one for one in sorted(told(work_through(rounds()[lesson], lathe)["_"])) if "/" in one]
    posed = [gc.exercise(asked[1], number, lathe=lathe) for number in range(1, 97)]
    return [f"{q.question} {one}" for q in posed for one in trains if q.check(gc.Train.parse(one).ratio).is_right]


class TestTheRoundGivesNoAnswerAway:
    """Lesson 03 finds trains for a thread of either system, and then asks for the ratio of one."""

    def test_of_each_demo_lathe(self):
        assert not [found for name in ("inch", "metric", "odd") for found in given_away("03", gc.demo_lathe(name))]

    @examples(8)
    @given(any_lathes)
    def test_of_any_lathe(self, lathe):
        assert not given_away("03", lathe)


def asked_twice() -> list[str]:
    """The exercises that a lesson asks in a round, and once more about the reader's lathe."""
    codes = ["\n".join(text for kind, text in sources(path) if kind == "code") for path in LESSONS.values()]
    return [name for name in ABOUT_ANY_LATHE for code in codes
            if f'gc.exercise("{name}")' in code and f'gc.exercise("{name}", lathe=' in code]  # fmt: skip


class TestAskedTwice:
    """What a lesson asks in a round it asks about the reader's lathe with other numbers."""

    def test_lessons_do_so(self):
        assert {"the-ratio-with-127", "ppm-of-a-near-miss", "fraction-for-pi"} <= set(asked_twice())

    @pytest.mark.parametrize("name", asked_twice())
    def test_the_answer_is_another(self, name):
        plain = gc.Lathe.from_toml('name = "Plain"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 30, 40, 50, 60, 127]')
        for number in range(1, 49):
            in_round = gc.exercise(name, number)
            for lathe in (*map(gc.demo_lathe, ("inch", "metric", "odd")), plain):
                assert not gc.exercise(name, number, lathe=lathe).check(in_round.key).is_right, (number, lathe.name)


def test_an_error_that_is_shown_rounded_may_be_worked_out_from_the_gears():
    """Lesson 05: the micrometres of the rounded ppm are right, and those of the ppm that the gears make."""
    for lathe in map(gc.demo_lathe, ("inch", "metric", "odd")):
        for number in range(1, 25):
            q = gc.exercise("how-far-out", number, lathe=lathe)
            said = re.search(
                r"\*\*(\d+)/(\d+)\*\*(?:, levers? at (.+?),)? cuts \*\*(.+?)\*\*.* over \*\*(\d+) mm", q.question
            )
            assert said, q.question
            thread, beside = gc.Thread.parse(said[4]).lead_mm, lathe.spindle_ratio * lathe.levers[said[3]]
            cut = lathe.leadscrew_lead_mm * beside * Fraction(int(said[1]), int(said[2]))
            um = (cut / thread - 1) * 1000 * int(said[5])
            for answer in (um, f"{float(um):.1f}", *map(str, ON_ANY_LATHE["how-far-out"](q))):
                assert q.check(answer).is_right, (q.question, answer)
            assert q.check(-um).slip == "wrong sign"
            assert not q.check(um + Fraction(3, 10) + abs(um) / 1000).is_right


class TestFewGearsForAFeed:
    """Lesson 11: a feed within ten per cent is near enough, and the fewest gears give it."""

    def test_one_pair_is_enough_where_one_comes_near(self):
        for name in ("inch", "metric", "odd"):
            found = work_through(rounds()["11"], gc.demo_lathe(name))["best"][0]
            assert found.train.meshes == 1
            assert abs(found.feed_mm * 10 - 1) <= Fraction(1, 10)

    def test_two_pairs_where_one_is_too_coarse(self):
        """Leadscrew 1 mm: one pair of these goes down to 20/70 = 0.286 mm, two to (20 · 25)/(70 · 65) = 0.110 mm."""
        lathe = gc.Lathe.from_toml('name = "Two"\nleadscrew.lead = "1 mm"\ngears.teeth = [20, 25, 65, 70]')
        assert work_through(rounds()["11"], lathe)["best"][0].train.meshes == 2

    def test_a_lathe_that_feeds_too_coarsely_is_told_so(self, capsys):
        """8 tpi by the half-nuts: (20 · 30)/(80 · 70) of 3.175 mm is 0.3402 mm, more than three times too much."""
        teeth = "[20, 30, 35, 40, 40, 45, 50, 55, 60, 65, 70, 80]"
        lathe = gc.Lathe.from_toml(f'name = "Coarse"\nleadscrew.lead = "8 tpi"\ngears.teeth = {teeth}')
        assert work_through(rounds()["11"], lathe)["best"] is None
        told = capsys.readouterr().out
        assert "no feed within 10 per cent" in told
        assert "The nearest that one or two pairs give is 0.34 mm: (20 · 30)/(70 · 80)" in told
        assert "not good enough" not in told
        assert "no picture" in told


def test_a_count_of_gears_that_no_bracket_was_asked_about_is_called_the_least():
    """By the bracket 40/80 needs another idler than 40/60; without one nobody can tell."""
    with_bracket = gc.demo_lathe("inch")
    for lathe in (with_bracket, evolve(with_bracket, bracket=None)):
        shown = work_through(rounds()["09"], lathe)["_"]
        assert ("at least" in shown) == ("fit is not checked" in shown) == (lathe.bracket is None)
