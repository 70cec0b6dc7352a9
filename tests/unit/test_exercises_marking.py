"""What marking owes a learner, in every exercise: right however it is written, told apart from slips, varied.

The numbers come from the second opinions in exercise_cases, which know the questions' words alone.
The full range of class numbers, by hand: MARKING_EVERY=1 pytest tests/unit/test_exercises_marking.py
"""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from importlib import import_module
from math import inf, isclose, nextafter
from pkgutil import iter_modules

import pytest

import gearcalc.exercises
from gearcalc import Lathe, Train, demo_lathe, exercise, exercise_names
from gearcalc.exact import PiMultiple
from gearcalc.exercises import Exercise, benches
from gearcalc.exercises.answers import Number, ThreadCut, about
from gearcalc.exercises.near_answers import NearerFraction
from gearcalc.exercises.tasks import NOT_RIGHT, NOT_YET
from gearcalc.exercises.train_answers import AnyTrain
from tests.unit.exercise_cases import CASES

INCH = Fraction(254, 10)
LARGEST_BOTTOM = 100_000
EVERY = int(os.environ.get("MARKING_EVERY", "37"))
SAMPLE = range(0, 300, EVERY)
A_CLASS, MANY = range(1, 25), range(1, 301 if EVERY == 1 else 97)

UNITS = {
    "mm": ("mm", "millimetres"),
    "tpi": ("tpi", "TPI", "threads per inch"),
    "teeth": ("teeth",),
    "ppm": ("ppm",),
    "µm": ("µm", "\u03bcm"),
    "s": ("s", "seconds"),
    "rpm": ("rpm",),
    "turns": ("turns",),
    "threads": ("threads",),
    "%": ("%", "per cent"),
    "": (),
}
NUMBERS = [name for name in exercise_names() if isinstance(exercise(name).task.answer, Number)]
CUTS = [name for name in exercise_names() if isinstance(exercise(name).task.answer, ThreadCut)]
FRACTIONS = [name for name in exercise_names() if isinstance(exercise(name).task.answer, NearerFraction)]
TRAINS = [name for name in exercise_names() if isinstance(exercise(name).task.answer, AnyTrain)]
MODULES = [
    import_module(f"gearcalc.exercises.{found.name}")
    for found in iter_modules(gearcalc.exercises.__path__)
    if found.name.startswith("lesson_")
]


def each(name: str) -> Iterator[Exercise]:
    return (exercise(name, class_number=number) for number in SAMPLE)


def rounded(x: Fraction, places: int) -> str:
    """A decimal as a table gives it: halves away from zero."""
    exact = Decimal(x.numerator) / Decimal(x.denominator)
    return f"{exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP):f}"


def written(x: Fraction) -> list[object]:
    """A fraction as it is typed: in a cell without quotes, with them, or in a form."""
    top, bottom = x.as_integer_ratio()
    as_float = top / bottom
    return [
        x, as_float, nextafter(as_float, inf), nextafter(as_float, -inf), repr(as_float), 2 * top / (2 * bottom),
        f"{top}/{bottom}", f"{2 * top} / {2 * bottom}", f"{top}:{bottom}", f"{top} ÷ {bottom}",
        f"({top} · 3)/({bottom} · 3)", f"Fraction({top}, {bottom})", f"Fraction({top},{bottom})",
    ]  # fmt: skip


@pytest.mark.parametrize("name", NUMBERS)
class TestARightNumberIsRightHoweverItIsWritten:
    def test_in_code_and_in_a_form(self, name):
        for q in each(name):
            answer = q.task.answer
            if isinstance(answer.value, PiMultiple):
                given = [float(answer.value), f"{answer.value.coefficient} π", f"π · {answer.value.coefficient}"]
            elif answer.value.denominator > LARGEST_BOTTOM:  # a root was in it
                given = [float(answer.value), repr(float(answer.value))]
            else:
                given = written(answer.value)
            assert [wrong for wrong in given if not q.check(wrong).is_right] == [], (q.class_number, answer.value)

    def test_with_and_without_its_unit(self, name):
        for q in each(name):
            answer = q.task.answer
            text = f"{answer.value.coefficient} π" if isinstance(answer.value, PiMultiple) else str(answer.value)
            if len(text) > 15:  # a root was in it
                text = repr(float(answer.value))
            given = [f"{text}{space}{unit}" for unit in UNITS[answer.unit] for space in (" ", "")]
            assert [wrong for wrong in given if not q.check(wrong).is_right] == [], q.class_number

    def test_rounded_as_it_says_with_a_point_or_a_comma(self, name):
        for q in each(name):
            answer = q.task.answer
            exact = Fraction(float(answer.value)) if isinstance(answer.value, PiMultiple) else answer.value
            places = answer.places
            if places is None and 10**6 % exact.denominator:
                continue  # it has no decimal
            text = rounded(exact, 6 if places is None else places)
            given = [text, text.replace(".", ","), float(text), *(f"{text} {unit}" for unit in UNITS[answer.unit])]
            assert [wrong for wrong in given if not q.check(wrong).is_right] == [], (q.class_number, exact)


@pytest.mark.parametrize("name", NUMBERS)
def test_a_number_rounded_too_far_is_told_so(name):
    """5.3 or 5.33 for 16/3, typed as a number or as text: right, or told how to round; or it is a slip's own number."""
    for q in each(name):
        value = q.task.answer.value
        exact = Fraction(float(value)) if isinstance(value, PiMultiple) else value
        for text in (rounded(exact, places) for places in range(4)):
            if isclose(float(text), exact, rel_tol=0.005):
                for given in (text, float(text), f"{text} {q.task.answer.unit}"):
                    outcome = q.check(given)
                    assert outcome.is_right or outcome.slip not in (None, "not readable"), (q.class_number, given)


class TestARightThreadIsRightHoweverItIsWritten:
    @pytest.mark.parametrize("name", CUTS)
    def test_threads_per_inch_and_millimetres(self, name):
        for q in each(name):
            mm = q.task.answer.value
            tpi = INCH / mm
            given = [
                f"{tpi} tpi",
                f"{tpi}TPI",
                f"{tpi} threads per inch",
                f"{mm} mm",
                f"{mm.numerator / mm.denominator} mm",
            ]
            given += [f"{rounded(tpi, 2)} tpi", f"{rounded(tpi, 2)} tpi".replace(".", ","), f"{rounded(mm, 3)} mm"]
            given += [*written(mm), rounded(mm, 3), rounded(mm, 3).replace(".", ",")]
            assert [wrong for wrong in given if not q.check(wrong).is_right] == [], (q.class_number, mm)

    @pytest.mark.parametrize("name", CUTS)
    def test_a_bare_number_is_threads_per_inch(self, name):
        for q in each(name):
            tpi = INCH / q.task.answer.value
            given = [*written(tpi), rounded(tpi, 2), rounded(tpi, 2).replace(".", ",")]
            assert [wrong for wrong in given if not q.check(wrong).is_right] == [], (q.class_number, tpi)

    @pytest.mark.parametrize("name", CUTS)
    def test_rounded_too_far_is_told_so(self, name):
        for q in each(name):
            mm = q.task.answer.value
            for given in (f"{rounded(INCH / mm, 1)} tpi", f"{rounded(mm, 2)} mm"):
                outcome = q.check(given)
                assert outcome.is_right or outcome.slip not in (None, "not readable"), (q.class_number, given)


@pytest.mark.parametrize("name", FRACTIONS)
def test_a_fraction_is_right_without_its_quotes(name):
    for q in each(name):
        for right in CASES[name].right(q):
            assert all(q.check(given).is_right for given in written(Fraction(right))), (q.class_number, right)


@pytest.mark.parametrize("name", TRAINS)
class TestGears:
    def test_other_signs_for_over(self, name):
        for q in each(name):
            train = next(right for right in CASES[name].right(q) if isinstance(right, (tuple, list)))
            text = str(Train(*train))
            given = [text, text.replace("/", ":"), text.replace("/", " ÷ "), text.replace("·", "x")]
            assert [wrong for wrong in given if not q.check(wrong).is_right] == [], q.class_number

    def test_a_ratio_without_quotes_is_told_how_to_write_gears(self, name):
        for q in each(name):
            ratio = q.task.answer.value
            for given in (float(ratio), *([ratio] if isinstance(ratio, Fraction) else [])):
                outcome = q.check(given)
                assert outcome.state == NOT_YET
                assert "in quotes" in outcome.feedback


class TestASlipIsNeverRight:
    @pytest.mark.parametrize("name", exercise_names())
    def test_slips_of_the_second_opinion(self, name):
        for q in each(name):
            for slip, given in CASES[name].slips(q):
                outcome = q.check(given)
                assert outcome.state == NOT_RIGHT, (q.class_number, slip, given)
                assert outcome.slip is not None, (q.class_number, slip, given)

    @pytest.mark.parametrize("name", exercise_names())
    def test_slips_that_the_exercise_names(self, name):
        for q in each(name):
            answer = q.task.answer
            for slip in q.task.slips:
                wrong = slip.wrong.value if isinstance(slip.wrong, about) else slip.wrong
                if callable(wrong) or "round" in slip.name:
                    continue
                if isinstance(answer, AnyTrain) and isinstance(wrong, Fraction):
                    assert not answer.makes(wrong), (q.class_number, slip.name)
                else:
                    assert not answer.is_right(wrong), (q.class_number, slip.name)
                if isinstance(answer, Number) and answer.places is not None:
                    told = rounded(Fraction(float(wrong)), answer.places)
                    assert not q.check(float(told)).is_right, (q.class_number, slip.name, told)


class TestAClass:
    @pytest.mark.parametrize("name", exercise_names())
    def test_sixteen_of_24_questions_are_different(self, name):
        asked = {str(exercise(name, class_number=number)).partition("\n")[2] for number in A_CLASS}
        assert len(asked) >= 16

    @pytest.mark.parametrize("name", exercise_names())
    @pytest.mark.parametrize("numbers", [A_CLASS, MANY], ids=["a class", "many"])
    def test_no_answer_is_too_often_right(self, name, numbers):
        """With n to choose from, at most 1.5 times an even share, by its words and by its place; else a quarter."""
        questions = [exercise(name, class_number=number) for number in numbers]
        options = questions[0].task.answer.options
        allowed = len(questions) * (1.5 / len(options) if options else 0.25)
        met = Counter(_right_answer(q) for q in questions)
        assert met.most_common(1)[0][1] <= allowed, met.most_common(3)
        if options:
            places = Counter(q.task.answer.options.index(q.task.answer.value) for q in questions)
            assert places.most_common(1)[0][1] <= allowed, places


def _right_answer(q: Exercise) -> str:
    """The right answer, or the first of several."""
    answer = q.task.answer
    if isinstance(answer, (AnyTrain, NearerFraction)) or isinstance(getattr(answer, "value", None), dict):
        return str(CASES[q.name].right(q)[0])
    return str(getattr(answer, "value", CASES[q.name].right(q)[0]))


class TestLevers:
    @pytest.mark.parametrize("name", exercise_names())
    def test_no_lever_in_a_solution_whose_question_has_none(self, name):
        for number in range(12):
            q = exercise(name, class_number=number)
            solved = str(q.solution()) + re.sub("<[^>]+>", " ", q.solution().html) + " ".join(q.task.hints)
            assert "lever" not in solved.casefold() or "lever" in str(q).casefold(), number

    @pytest.mark.parametrize("name", exercise_names())
    def test_levers_may_have_any_names(self, name, monkeypatch):
        """The demo lathes with their levers called otherwise: the same questions, but for those names."""
        names = {"low": "I", "middle": "II", "high": "III", "slow": "I", "medium": "II", "fast": "III"}

        def renamed(which: str) -> Lathe:
            text = demo_lathe(which).to_toml()
            return Lathe.from_toml(re.sub(r'(?<=lever = ")\w+(?=")', lambda found: names[found[0]], text))

        for module in (benches, *MODULES):
            if hasattr(module, "demo_lathe"):
                monkeypatch.setattr(module, "demo_lathe", renamed)
        cached = [
            value for module in (benches, *MODULES) for value in vars(module).values() if hasattr(value, "cache_clear")
        ]
        try:
            for clear in cached:
                clear.cache_clear()
            for number in range(6):
                q = exercise(name, class_number=number)
                said = f"{q} {q.solution()} {' '.join(q.task.hints)} {q.task.answer.options}"
                assert q.task.answer.how
                assert not re.search(r"\blever (?:at|to) \*{0,2}(?:low|middle|high|slow|medium|fast)\b", said), said
        finally:
            for clear in cached:
                clear.cache_clear()
