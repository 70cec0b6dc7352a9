"""What goes into a derivation: how a lead comes about, what levers are called, what turns the motion round."""

from __future__ import annotations

from fractions import Fraction
from itertools import product
from math import prod

from gearcalc.basics.exact import INCH_MM, PiMultiple
from gearcalc.deriving.quantities import (
    inches_in_words,
    inches_spelled,
    lead_of_leadscrew,
    levers_of,
    place_of,
    thread_in_words,
    turned_round,
)
from gearcalc.finding.setups import setup
from gearcalc.lathes import Leadscrew, Lever, SpindleSide
from gearcalc.lathes.levers import BoxLever
from gearcalc.lathes.parts import LeverAt
from gearcalc.threads import Thread
from tests.benches import lathe
from tests.how_much import in_one

INCHES = [Fraction(1), Fraction(2), Fraction(1, 8), Fraction(3, 2), Fraction(2, 3), Fraction(11, 4), Fraction(1, 3)]


def read_back(text: str) -> Fraction:
    """What a sum like (3 · 25.4)/2 comes to."""
    top, _, bottom = text.partition("/")
    return prod(map(Fraction, top.strip("()").split(" · "))) / Fraction(bottom or 1)


@in_one("inches", INCHES)
class TestInches:
    def test_what_is_spelled_comes_to_the_lead(self, inches):
        shown = inches_spelled(inches * INCH_MM)
        assert read_back(shown.text) == inches * INCH_MM
        assert shown.html == shown.text
        as_text = shown.latex.replace(r"\frac{", "").replace("}{", "/").rstrip("}").replace(r"\cdot", "·")
        assert as_text == shown.text.replace("(", "").replace(")", "")

    def test_in_words_it_is_so_many_inches_or_so_much_of_one(self, inches):
        said, of = inches_in_words(inches * INCH_MM).removesuffix(" inch, at 25.4 mm an inch").partition(" of an")[:2]
        assert sum(map(Fraction, said.split())) == inches
        assert bool(of) == (inches < 1)

    def test_a_leadscrew_of_that_lead_is_spelled_so(self, inches):
        screw = lead_of_leadscrew(lathe(leadscrew=Leadscrew(inches * INCH_MM)))
        assert (screw.value, screw.spelled) == (inches * INCH_MM, inches_spelled(inches * INCH_MM))
        assert Fraction(str(screw.number)) == inches * INCH_MM


class TestThreadInWords:
    """Each stage says how the next comes about; the last is the lead, in mm."""

    @in_one(
        ("text", "stages"),
        [
            ("1.5 mm", "1.5 mm"),
            ("16 tpi", "25.4/16 mm = 1.5875 mm"),
            ("M16xPh3P1.5", "2 starts × 1.5 mm = 3 mm"),
            ("8 tpi 2 starts", "2 starts × 3.175 mm = 25.4/4 mm = 6.35 mm"),
            ("lead 1 in", "25.4 mm"),
            ("lead 2 in", "2 · 25.4 mm = 50.8 mm"),
            ("11 1/2 tpi", "(2 · 25.4)/23 mm ≈ 2.2087 mm"),
            ("module 1", "π mm ≈ 3.1416 mm"),
            ("module 1 2 starts", "2 starts × π mm = 2 π mm ≈ 6.2832 mm"),
        ],
    )
    def test_how_its_lead_comes_about(self, text, stages):
        thread = Thread.parse(text)
        assert thread_in_words(thread) == f"{thread}, a lead of {stages}"

    @in_one("text", ["16 tpi", "8 tpi 2 starts", "M16xPh3P1.5", "lead 1-1/2 in", "5 mm 4 starts"])
    def test_each_stage_comes_to_the_lead(self, text):
        thread = Thread.parse(text)
        for stage in thread_in_words(thread).partition("a lead of ")[2].split(" = "):
            assert read_back(stage.replace(" starts ×", " ·").removesuffix(" mm")) == thread.lead

    def test_no_lead_with_pi_is_a_whole_number(self):
        assert isinstance(Thread.parse("module 1").lead, PiMultiple)


def box(*levers: tuple[str, str, bool]) -> Lever:
    """The one position of levers, each with its name, its side, and whether it turns nothing round."""
    kept = tuple(
        BoxLever(name, (Lever("on", Fraction(1, place), same_way),), side)
        for place, (name, side, same_way) in enumerate(levers, 2)
    )
    (position,) = lathe(box=kept).positions
    return position


class TestLevers:
    """A lever is called by its name where that is words; any other name might come to another's symbol."""

    @in_one(
        ("name", "below"),
        [
            ("range", "lever range"),
            ("cone 2", "lever cone 2"),
            ("β", "lever β"),
            ("a-b", "lever no. 3"),
            ("a_b", "lever no. 3"),
            ("A  B", "lever no. 3"),
            ("$x$", "lever no. 3"),
            ("", "lever"),
        ],
    )
    def test_what_its_symbol_has_below(self, name, below):
        assert place_of(LeverAt(name, "on", Fraction(1), True), 3) == below

    @in_one("sides", product(["spindle", "leadscrew"], repeat=3))
    def test_a_number_is_that_of_the_lever_in_the_box(self, sides):
        names = ("a-b", "range", "a_b")
        position = box(*((name, side, True) for name, side in zip(names, sides, strict=True)))
        for side in ("spindle", "leadscrew"):
            expected = [
                (place, f"lever {name}", Fraction(1, number + 1))
                for number, (name, place, at) in enumerate(
                    zip(names, ("lever no. 1", "lever range", "lever no. 3"), sides, strict=True), 1
                )
                if at == side
            ]
            assert [(each.place, each.words, each.value) for each in levers_of(position, side)] == expected

    def test_without_a_lever_there_is_none(self):
        assert levers_of(None, "spindle") == levers_of(None, "leadscrew") == ()


class TestTurnedRound:
    """Against counting: once where two gears meet, and once more for whatever else turns it round."""

    @in_one(
        "case",
        product([(20, 40, ()), (20, 40, (30, 50)), ((20, 30), (40, 50), ((), (60,)))], [True, False], [0, 1, 2, 3]),
    )
    def test_what_does_and_how_often(self, case):
        (drivers, driven, idlers), same_way, turning = case
        levers = [("a-b", "spindle", not turning & 1), ("range", "leadscrew", not turning & 2)]
        position = box(*levers)
        whole = lathe(
            spindle_side=SpindleSide(same_way=same_way),
            box=tuple(BoxLever(name, (Lever("on", 1, way),), side) for name, side, way in levers),
        )
        made = setup(whole, drivers, driven, position.name, idlers)
        chains = [1 + len(each) for each in made.train.idlers]
        expected = [("teeth touch", "teeth touch", sum(chains))]
        expected += [] if same_way else [("spindle side", "spindle side", 1)]
        expected += [("lever no. 1", "lever a-b", 1)] if turning & 1 else []
        expected += [("lever range", "lever range", 1)] if turning & 2 else []
        assert [(each.place, each.words, each.value) for each in turned_round(made, position)] == expected

    def test_a_box_with_one_lever_alone_is_called_the_gearbox(self):
        only = lathe(gearbox=(Lever("on", 1, False),))
        made = setup(only, 20, 40, "on")
        assert [each.words for each in turned_round(made, only.lever("on"))] == ["teeth touch", "gearbox"]
        assert [each.words for each in turned_round(made, None)] == ["teeth touch"]
