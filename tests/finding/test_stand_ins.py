"""How stand-ins and make-ups show themselves in a notebook, read back by an HTML parser."""

from __future__ import annotations

import pickle
from copy import copy
from fractions import Fraction

import pytest

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.finding.fractions import (
    best_fractions,
    continued_fraction,
    convergents,
    factor,
    near_fractions,
    stern_brocot,
)
from gearcalc.finding.ranks import mild_and_steep
from gearcalc.finding.stand_ins import StandInList, make_up, stand_ins
from tests.how_much import in_one
from tests.pictures.test_picture import Reader


@pytest.fixture(scope="module")
def near() -> StandInList:
    return stand_ins("127/100", [30, 37, 40, 47, 50, 63, 80], count=4)


class TestStandInList:
    def test_it_is_a_list(self, near):
        assert isinstance(near, list)
        assert near == list(near)
        assert near[0] == next(iter(near))
        assert copy(near) == pickle.loads(pickle.dumps(near)) == near

    def test_a_slice_shows_itself_too(self, near):
        assert isinstance(near[:2], StandInList)
        assert str(near[:2]) == "\n".join(str(near).splitlines()[:2])

    def test_a_row_a_stand_in_with_signs_and_units(self, near):
        shown = Reader(near._repr_html_())
        assert shown.open == []
        assert [attributes["scope"] for tag, attributes in shown.tags if tag == "th"] == ["col"] * 6 + ["row"] * 4
        assert shown.cells[:6] == ["place", "train", "ratio", "error", "over 25 mm", "over 100 mm"]
        # 80/63 against 1.27: 8000 / 8001 - 1 = -1/8001, which is -124.98 ppm, over 25 mm -3.12 µm
        assert [cell.replace("\u202f", " ") for cell in shown.cells[6:12]] == [
            "1",
            "80/63",
            "80⁄63",
            "−125 ppm",
            "−3.12 µm",
            "−12.5 µm",
        ]

    def test_printed_it_is_numbered(self, near):
        lines = str(near).splitlines()
        assert [line.split(".")[0] for line in lines] == ["1", "2", "3", "4"]
        assert lines[0].endswith(str(near[0]))
        assert repr(near) == str(near)

    def test_an_empty_one_says_so(self):
        nothing = stand_ins("127/100", [20])
        assert "too few gears" in str(nothing)
        assert "too few gears" in nothing._repr_html_()

    def test_its_table_is_headed_by_the_ratio_of_the_first(self):
        both = [stand_ins(ratio, [20, 30, 40], count=1)[0] for ratio in ("1/2", "3/4")]
        assert ">Stand-ins for 0.5<" in StandInList(both)._repr_html_()
        assert ">Stand-ins for 0.75<" in StandInList(both[::-1])._repr_html_()

    def test_pi_heads_its_table(self):
        assert "π</caption>" in stand_ins("pi", [22, 21, 66], count=1)._repr_html_()


class TestMakeUp:
    def test_what_is_missing_stands_in_the_table(self):
        shown = Reader(make_up("50/127", [20, 30, 40, 50])._repr_html_())
        assert dict(zip(shown.cells[::2], shown.cells[1::2], strict=True)) == {
            "ratio": "50⁄127",
            "primes above the line": "2 · 52",
            "primes below the line": "127",
            "made exactly": "no",
            "missing": "127 among the driven: needed 1 ×, there 0 ×",
        }

    def test_so_do_the_trains_that_make_it(self):
        cells = Reader(make_up(Fraction(3, 4), [20, 30, 40, 60])._repr_html_()).cells
        assert cells[cells.index("made exactly") + 1] == "yes"
        assert cells[cells.index("train") + 1] == "30/40"

    def test_pi_is_no_fraction(self):
        shown = make_up("pi", [20, 30])._repr_html_()
        assert "π is no fraction" in shown


class TestWhatIsLeftOut:
    def test_twenty_stand_ins_of_one_mesh_or_two(self):
        found = stand_ins("127/100", range(20, 81))
        assert len(found) == 20
        assert found == stand_ins("127/100", range(20, 81), meshes=(1, 2), count=20)
        assert found[:19] == stand_ins("127/100", range(20, 81), count=19)


class TestHowSteepItMustBe:
    """Trains of equal meshes are the mildest: no train that comes within is milder than is looked for."""

    @in_one("target", [Fraction(1, 9), Fraction(99, 100), Fraction(1), Fraction(101, 100), Fraction(7)])
    @in_one("within", [Fraction(0), Fraction(1, 1000), Fraction(1, 10)])
    @in_one("meshes", [1, 2, 3])
    def test_against_ratios_within(self, target, within, meshes):
        (mildest, mild), (rest, most) = mild_and_steep(target, meshes, within)
        ratios = [float(target * (1 + within * step / 50)) for step in range(-50, 51)]
        ratios += [1.0] if min(ratios) <= 1 <= max(ratios) else []
        steepness = [max(ratio, 1 / ratio) ** (1 / meshes) for ratio in ratios]
        assert min(steepness) * (1 - 1e-6) < mildest <= min(steepness)
        assert mild == rest == pytest.approx(1.05 * mildest)
        assert most == float("inf")


class TestWhyNoTrainMakesIt:
    @in_one(
        ("ratio", "gears", "meshes", "said"),
        [
            (
                "50/127",
                [20, 30, 40, 50],
                (1, 2, 3),
                (
                    "127 is a prime, so it can't be split between two gears: one of the driven must be a multiple of "
                    "127 (127, 254 …). No gear of the set is one, and compounding only multiplies what is there, "
                    "however many meshes are used."
                ),
            ),
            (
                "49/20",
                [20, 30, 40, 21],
                (1, 2),
                (
                    "7 is a prime, and the drivers must have it as a factor 2 times between them; all the gears of the "
                    "set together have it only once."
                ),
            ),
            (
                "343/40",
                [21, 28, 20, 40],
                2,
                (
                    "7 is a prime, and the drivers must have it as a factor 3 times between them; all the gears of the "
                    "set together have it only 2 times."
                ),
            ),
            (
                "1/4",
                [20, 30, 50],
                (1, 3),
                "every prime that it needs is in the set, but no train of 1 or 3 meshes puts them together.",
            ),
            ("3/2", [20, 30], 1, "30/20 makes it exactly."),
            ("9/4", [30, 40, 60, 20], (1, 2), "(30 · 60)/(20 · 40) makes it exactly."),
        ],
    )
    def test_word_for_word(self, ratio, gears, meshes, said):
        made = make_up(ratio, gears, meshes)
        assert (made.why, str(made)) == (said, f"{ratio}: {said}")
        assert made.can is said.endswith("makes it exactly.")
        assert Reader(made._repr_html_()).cells[:2] == ["ratio", ratio.replace("/", "⁄")]

    def test_trains_of_up_to_three_meshes_and_twenty_of_them(self):
        owned = [20, 21, 22, 23, 24, 25, 40, 42, 44, 46, 48, 50]
        made = make_up("1/2", owned)
        assert made == make_up("1/2", owned, (1, 2, 3), 20)
        assert len(made.trains) == 20
        for ratio, meshes in [("1/2", 1), ("1/4", 2), ("1/8", 3), ("1/16", None)]:
            found = make_up(ratio, [20, 40] * 4).trains
            assert next((train.meshes for train in found), None) == meshes

    def test_two_primes_that_are_missing_are_both_named(self):
        made = make_up("113/127", [20, 30])
        assert [(lack.prime, lack.side, lack.needed, lack.there) for lack in made.missing] == [
            (113, "drivers", 1, 0),
            (127, "driven", 1, 0),
        ]
        assert made.why == " ".join(lack.why for lack in made.missing)
        assert (made.numerator, made.denominator) == ({113: 1}, {127: 1})

    def test_of_many_trains_five_stand_in_the_table(self):
        many = make_up("1/2", [20, 21, 22, 23, 24, 25, 26, 40, 42, 44, 46, 48, 50, 52], 1)
        assert len(many.trains) == 7
        cells = Reader(many._repr_html_()).cells
        assert [cells[at + 1] for at, cell in enumerate(cells) if cell == "train"] == [
            str(train) for train in many.trains[:5]
        ]
        assert make_up("1/2", [20, 21, 22, 40, 42, 44], 1, count=2).trains == many.trains[:2]


class TestEndsOfWhatMayBeAsked:
    """The last that is allowed is answered, and one more is refused."""

    @in_one(
        ("ask", "last", "more"),
        [
            (lambda n: stand_ins("1/3", [20, 60], count=n), 10_000, 10_001),
            (lambda n: make_up("1/3", [20, 60], count=n), 10_000, 10_001),
            (lambda n: stand_ins("1/3", [20, 60], n), 6, 7),
            (lambda n: stand_ins(n, [20, 60]), 10**6, 10**6 + 1),
            (lambda n: stand_ins(Fraction(1, n), [20, 60]), 10**6, 10**6 + 1),
            (lambda n: make_up(Fraction(n, 10**12 - 1), [20, 60]), 10**12, 10**12 + 1),
            (lambda n: continued_fraction("1/3", n), 1000, 1001),
            (lambda n: convergents("1/3", n), 1000, 1001),
            (lambda n: stern_brocot("1/3", n), 1000, 1001),
            (lambda n: best_fractions("1/3", n), 10**100, 10**100 + 1),
            (lambda n: near_fractions("1/3", n), 10**100, 10**100 + 1),
            (lambda n: best_fractions("1/3", max_ppm=n), 10**6, 10**6 + 1),
            (lambda n: continued_fraction(Fraction(n, 3)), 10**100, 10**100 + 3),
            (lambda n: continued_fraction(Fraction(3, n)), 10**100, 10**100 + 3),
            (factor, 10**12, 10**12 + 1),
        ],
    )
    def test_on_both_sides(self, ask, last, more):
        assert ask(last) is not None
        with pytest.raises(ValueOutOfRangeError):
            ask(more)

    @in_one(
        ("ask", "least"), [(factor, 1), (lambda n: stern_brocot("1/3", n), 1), (lambda n: best_fractions("1/3", n), 1)]
    )
    def test_from_one_on(self, ask, least):
        assert ask(least) is not None
        with pytest.raises(ValueOutOfRangeError):
            ask(least - 1)
