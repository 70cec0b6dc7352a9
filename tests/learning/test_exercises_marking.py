"""What marking owes a learner, in every exercise: right however it is written, told apart from slips, varied.

The numbers come from the second opinions in exercise_cases, which know the questions' words alone.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from importlib import import_module
from math import inf, isclose, nextafter
from pkgutil import iter_modules

import pytest

import gearcalc.learning.exercises
from gearcalc import Lathe, Train, demo_lathe, exercise_names
from gearcalc.basics.exact import PiMultiple
from gearcalc.learning.exercises import Exercise, benches
from gearcalc.learning.exercises.answers import about
from gearcalc.learning.exercises.gear_answers import AnyTrain
from gearcalc.learning.exercises.number_answers import NearerFraction, Number, ThreadCut
from gearcalc.learning.exercises.tasks import NOT_RIGHT, NOT_YET
from tests.how_much import MANY, THOROUGH, exercise, in_one, pose
from tests.learning.exercise_cases import CASES

INCH = Fraction(254, 10)
LARGEST_BOTTOM = 100_000
SAMPLE = MANY if THOROUGH else range(0, 300, 37)
A_CLASS = range(1, 25)

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
    "°": ("°", "degrees"),
    "": (),
}


def answered_by(kind: type) -> Callable[[], list[str]]:
    return lambda: [name for name in exercise_names() if isinstance(exercise(name).task.answer, kind)]


NUMBERS, CUTS = answered_by(Number), answered_by(ThreadCut)
UNIT_IS_ASKED = ["leadscrew-from-its-travel"]
"""Whether it is millimetres or threads per inch is the question."""
FRACTIONS, TRAINS = answered_by(NearerFraction), answered_by(AnyTrain)
MODULES = [
    import_module(f"gearcalc.learning.exercises.{found.name}")
    for found in iter_modules(gearcalc.learning.exercises.__path__)
    if found.name.startswith("lesson_")
]


def bare_cuts() -> list[str]:
    return [name for name in CUTS() if name not in UNIT_IS_ASKED]


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
        x,
        as_float,
        nextafter(as_float, inf),
        nextafter(as_float, -inf),
        repr(as_float),
        2 * top / (2 * bottom),
        f"{top}/{bottom}",
        f"{2 * top} / {2 * bottom}",
        f"{top}:{bottom}",
        f"{top} ÷ {bottom}",
        f"({top} · 3)/({bottom} · 3)",
        f"Fraction({top}, {bottom})",
        f"Fraction({top},{bottom})",
    ]


@in_one("name", NUMBERS)
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


@in_one("name", NUMBERS)
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
    @in_one("name", CUTS)
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
            if name not in UNIT_IS_ASKED:
                given += [*written(mm), rounded(mm, 3), rounded(mm, 3).replace(".", ",")]
            assert [wrong for wrong in given if not q.check(wrong).is_right] == [], (q.class_number, mm)

    @pytest.mark.parametrize("name", UNIT_IS_ASKED)
    def test_a_bare_number_is_asked_for_its_unit_where_the_unit_is_the_question(self, name):
        for q in each(name):
            mm = q.task.answer.value
            for given in (*written(mm), *written(INCH / mm), 5, 4.98, "5", "?"):
                outcome = q.check(given)
                assert outcome.state == NOT_YET, (q.class_number, given)
                assert ("In which unit?" in outcome.feedback) == (given != "?"), (q.class_number, given)

    @in_one("name", bare_cuts)
    def test_a_bare_number_is_threads_per_inch(self, name):
        for q in each(name):
            tpi = INCH / q.task.answer.value
            given = [*written(tpi), rounded(tpi, 2), rounded(tpi, 2).replace(".", ",")]
            assert [wrong for wrong in given if not q.check(wrong).is_right] == [], (q.class_number, tpi)

    @in_one("name", CUTS)
    def test_rounded_too_far_is_told_so(self, name):
        for q in each(name):
            mm = q.task.answer.value
            for given in (f"{rounded(INCH / mm, 1)} tpi", f"{rounded(mm, 2)} mm"):
                outcome = q.check(given)
                assert outcome.is_right or outcome.slip not in (None, "not readable"), (q.class_number, given)


@in_one("name", exercise_names)
def test_an_answer_is_right_in_quotes_as_the_examples_of_answers_stand(name):
    for number in A_CLASS if THOROUGH else (3, 8):
        q = exercise(name, class_number=number)
        for opens, closes in ("''", '""', "“”"):
            assert q.check(f"{opens}{q.key}{closes}").is_right, (number, q.key)
        assert q.check("''").state == NOT_YET


class TestALeverIsNeverRounded:
    def test_what_would_be_wrong_in_the_file_is_wrong_here(self):
        q = next(q for q in (exercise("ratio-of-a-lever", class_number=n) for n in A_CLASS) if q.key == "1/3")
        assert [q.check(given).is_right for given in ("1/3", '"1/3"', 1 / 3, 0.333, "0.3333")] == [True] * 3 + [
            False
        ] * 2
        assert q.check("0.333").slip == "rounding"


@in_one("name", FRACTIONS)
def test_a_fraction_is_right_without_its_quotes(name):
    for q in each(name):
        for right in CASES[name].right(q):
            assert all(q.check(given).is_right for given in written(Fraction(right))), (q.class_number, right)


@in_one("name", TRAINS)
class TestGears:
    def test_other_signs_for_over(self, name):
        for q in each(name):
            train = next(right for right in CASES[name].right(q) if isinstance(right, (tuple, list)))
            text = str(Train(*train))
            given = [text, text.replace("/", ":"), text.replace("/", " ÷ "), text.replace("·", "x")]
            given.append(" then ".join(f"{over}/{under}" for over, under in zip(*train, strict=True)))
            assert [wrong for wrong in given if not q.check(wrong).is_right] == [], q.class_number

    def test_a_ratio_without_quotes_is_told_how_to_write_gears(self, name):
        for q in each(name):
            ratio = q.task.answer.value
            for given in (float(ratio), *([ratio] if isinstance(ratio, Fraction) else [])):
                outcome = q.check(given)
                assert outcome.state == NOT_YET
                assert "in quotes" in outcome.feedback


class TestChoicesAndRows:
    def test_a_ratio_to_choose_may_be_written_with_other_signs(self):
        for q in each("the-better-stand-in"):
            right = q.task.answer.value
            assert all(q.check(right.replace("/", sign)).is_right for sign in (":", " : ", " ÷ "))

    def test_a_train_to_choose_may_be_named_by_its_meshes(self):
        for q in each("fewest-to-move"):
            first, second = q.task.table.rows[int(q.task.answer.value) - 1][1:]
            for given in (f"{first} then {second}", f"{first}, {second}"):
                assert q.check(given).is_right, (q.class_number, given)

    def test_an_order_may_be_written_without_spaces(self):
        for q in each("steps-in-order"):
            digits = "".join(map(str, q.task.answer.value))
            assert q.check(digits).is_right
            assert q.check(int(digits)).is_right
            assert q.check(digits[::-1]).slip is not None

    def test_rows_may_be_written_without_spaces(self):
        for q in each("which-pitches-remain"):
            digits = "".join(map(str, sorted(q.task.answer.value)))
            assert q.check(digits).is_right
            assert q.check("78").state == NOT_YET


class TestALeadscrewAsMeasured:
    """Worked from the words of the question: travel over turns, in millimetres and in threads per inch."""

    def test_is_told_so_in_either_unit(self):
        for number in MANY[::2]:
            q = exercise("leadscrew-from-its-travel", class_number=number)
            turns, travel = re.findall(r"\*\*(\d+) turns\*\*.*\*\*([\d.]+) mm", q.question)[0]
            measured = Fraction(travel) / int(turns)
            for value, unit in ((measured, "mm"), (INCH / measured, "tpi")):
                for places in (2, 3, 4):
                    given = f"{rounded(value, places)} {unit}"
                    lead = Fraction(given.split()[0]) if unit == "mm" else INCH / Fraction(given.split()[0])
                    nearer = abs(lead - measured) < abs(lead - q.task.answer.value)
                    assert not nearer or q.check(given).slip == "as measured", (number, given)


class TestASlipIsNeverRight:
    @in_one("name", exercise_names())
    def test_slips_of_the_second_opinion(self, name):
        for q in each(name):
            for slip, given in CASES[name].slips(q):
                outcome = q.check(given)
                assert outcome.state == NOT_RIGHT, (q.class_number, slip, given)
                assert outcome.slip is not None, (q.class_number, slip, given)

    @in_one("name", exercise_names())
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


A_FOREIGN_UNIT = {
    "mm": "tpi",
    "tpi": "mm",
    "teeth": "mm",
    "ppm": "mm",
    "µm": "ppm",
    "s": "rpm",
    "rpm": "s",
    "turns": "mm",
    "threads": "in",
    "%": "ppm",
    "°": "mm",
    "": "mm",
}


class TestAnotherUnitThanTheOneAskedFor:
    @in_one("name", NUMBERS)
    def test_of_a_number(self, name):
        q = exercise(name)
        unit = A_FOREIGN_UNIT[q.task.answer.unit]
        for given in (f"3 {unit}", f"0.25{unit.upper()}"):
            outcome = q.check(given)
            assert outcome.state == NOT_YET
            assert f"'{unit}' is not the unit asked for" in outcome.feedback

    @in_one("name", CUTS)
    def test_of_a_thread(self, name):
        outcome = exercise(name).check("8 teeth")
        assert outcome.state == NOT_YET
        assert "'teeth' is not the unit asked for" in outcome.feedback

    def test_what_is_no_unit_is_not_called_one(self):
        assert "unit asked for" not in exercise("lead-of-a-leadscrew").check("3 apples").feedback


class TestHowToWriteAFraction:
    @in_one("name", lambda: [*FRACTIONS(), "the-ratio-with-127", "next-convergent"])
    def test_the_question_asks_for_one(self, name):
        assert "fraction, such as '22/7'" in str(exercise(name))


class TestWhatIsGivenInTheQuestion:
    """The fractions of the walk are read from the words."""

    def test_on_the_walk(self):
        for number in range(1, 41):
            q = exercise("next-convergent", class_number=number)
            wanted, before, last = re.findall(r"\*\*(\d+/\d+|\d+)\*\*", q.task.question)
            assert q.check(wanted).feedback.startswith("That is where the last run ends.")
            assert {q.check(given).slip for given in (before, last)} == {"given already"}

    def test_a_length_that_is_a_number_of_grooves_as_well(self):
        """Leadscrew 3 mm: the millimetres are thrice the threads, and after so many threads a groove is there too."""
        both = 0
        for number in range(1, 60):
            q = exercise("when-the-groove-returns", class_number=number)
            screw = re.search(r"leadscrew with a lead of \*\*(\d+) mm", q.question)
            if screw and int(screw[1]) > 1:
                told = q.check(int(screw[1]) * int(q.task.answer.value))
                both += "millimetres" in told.feedback and "one stood there before" in told.feedback
                assert told.slip == "leads counted" or "one stood there before" in told.feedback
        assert both > 5


class TestSlipsAreToldApart:
    @in_one("name", exercise_names())
    def test_no_two_slips_with_other_words_lead_to_one_answer(self, name):
        for number in A_CLASS:
            q = exercise(name, class_number=number)
            said: dict[object, object] = {}
            for slip in q.task.slips:
                wrong = slip.wrong.value if isinstance(slip.wrong, about) else slip.wrong
                if not callable(wrong):
                    assert said.setdefault(wrong, slip.says) == slip.says, (number, slip.name, wrong)

    @in_one("name", NUMBERS)
    def test_by_its_exact_answer_each_is_called_by_its_name(self, name):
        """0.0033 is not called 'per cent' of 3300 ppm, though it is as near to 0.33 as the answer may be rounded."""
        for q in each(name):
            for slip in q.task.slips:
                wrong = slip.wrong.value if isinstance(slip.wrong, about) else slip.wrong
                if not callable(wrong) and "round" not in slip.name:
                    assert q.check(wrong).slip == slip.name, (q.class_number, wrong)

    @in_one("name", NUMBERS)
    def test_rounded_as_the_question_says(self, name):
        """6.5 for a slip that comes to 6.451 %."""
        for q in each(name):
            answer = q.task.answer
            if answer.places is None:
                continue
            leads_to: dict[str, list[Fraction]] = {}
            for slip in q.task.slips:
                wrong = slip.wrong.value if isinstance(slip.wrong, about) else slip.wrong
                if not callable(wrong):
                    leads_to.setdefault(slip.name, []).append(Fraction(float(wrong)))
            for given in {Fraction(rounded(value, answer.places)) for values in leads_to.values() for value in values}:
                names = {
                    name
                    for name, values in leads_to.items()
                    for value in values
                    if Fraction(rounded(value, answer.places)) == given or isclose(value, given, rel_tol=0.005)
                }
                if given:  # else nothing is left of it
                    assert q.check(given).slip in {*names, "rounding"}, (q.class_number, given, names)


def _printed(q: Exercise) -> list[Fraction]:
    """The fractions and the whole numbers that stand in a question."""
    return [Fraction(number) for number in re.findall(r"(?<![\d./])\d+(?:/\d+)?(?![\d./]*\d)", q.task.question)]


@in_one("name", NUMBERS)
def test_what_the_question_gives_is_not_called_a_rounding(name):
    """20 for 21 threads, or the fraction that is walked to; but 8 for 7.94 mm may be one, to half a unit."""
    for number in MANY[::2]:
        q = exercise(name, class_number=number)
        exact = Fraction(float(q.task.answer.value))
        for given in _printed(q):
            if given.denominator > 1 or abs(given - exact) > Fraction(1, 2):
                assert exact > 100 or q.check(given).slip not in ("rounding", "rounded"), (number, given)


class TestAClass:
    @in_one("name", exercise_names())
    def test_sixteen_of_24_questions_are_different(self, name):
        asked = {str(exercise(name, class_number=number)).partition("\n")[2] for number in A_CLASS}
        assert len(asked) >= 16

    @in_one("name", exercise_names())
    @in_one("numbers", [A_CLASS, *([MANY] if THOROUGH else [])])
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
    @in_one("name", exercise_names())
    def test_no_lever_in_a_solution_whose_question_has_none(self, name):
        for number in range(6):
            q = exercise(name, class_number=number)
            solved = str(q.solution()) + re.sub("<[^>]+>", " ", q.solution().html) + " ".join(q.task.hints)
            assert "lever" not in solved.casefold() or "lever" in str(q).casefold(), number

    @in_one("name", exercise_names())
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
            for number in range(4):
                q = pose(name, class_number=number)
                said = f"{q} {q.solution()} {' '.join(q.task.hints)} {q.task.answer.options}"
                assert q.task.answer.how
                assert not re.search(r"\blever (?:at|to) \*{0,2}(?:low|middle|high|slow|medium|fast)\b", said), said
        finally:
            for clear in cached:
                clear.cache_clear()


class TestWhatIsCutIsSaidInTheUnitOfWhatIsWanted:
    @pytest.mark.parametrize("name", ["one-pair-for-a-thread", "two-pairs"])
    def test_in_one_unit(self, name):
        seen = set()
        for number in range(1, 13):
            q = exercise(name, number)
            for answer in ("20/80", "30/40", "30/127", "20/80 30/60", "50/80 20/60"):
                units = re.search(r"cuts [≈ \d./]+ (tpi|mm), and [\d. /]+ (tpi|mm) is wanted", q.check(answer).feedback)
                if units:
                    assert units[1] == units[2]
                    seen.add(units[1])
        assert seen == {"tpi", "mm"}
