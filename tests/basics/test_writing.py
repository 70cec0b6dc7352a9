"""The same number reads the same everywhere, and what is there is never called nothing."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path

import mpmath
import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.both_units import off_size
from gearcalc.basics.exact import PiMultiple, RelativeError
from tests.how_much import in_one

PI = PiMultiple(Fraction(1))
NASTY = r'<script>alert("x")</script> $\frac{1}{2}$ & \ _ ^ ~ # % { } '


class TestDecimal:
    @in_one(
        ("x", "places", "shown"),
        [
            (Fraction(1, 2), 0, "1"),  # half up, as at school
            (Fraction(3, 2), 0, "2"),
            (Fraction(5, 2), 0, "3"),
            (Fraction(33, 8), 2, "4.13"),
            (Fraction(-33, 8), 2, "−4.13"),
            (0.125, 2, "0.13"),  # which a float is exactly
            (Fraction(-1, 200), 2, "−0.01"),
            (Fraction(1, 3), 4, "0.3333"),
            (Fraction(2, 3), 4, "0.6667"),
            (Fraction(-1, 3), 2, "−0.33"),
            (Fraction(-1, 1000), 2, "0"),
            (Fraction(1, 10**30), 30, "0." + "0" * 29 + "1"),
            (1000.0, 2, "1000"),
            (0.1, 20, "0.10000000000000000555"),
        ],
    )
    def test_rounds_half_up_without_trailing_zeros(self, x, places, shown):
        assert writing.decimal(x, places) == shown

    @given(st.integers(-(10**6), 10**6), st.integers(0, 4))
    def test_the_module_decimal_of_python_rounds_a_half_so(self, halves, places):
        x = Decimal(2 * halves + 1) / 2 / 10**places
        asked = x.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
        assert Decimal(writing.decimal(Fraction(x), places).replace("−", "-")) == asked

    @in_one("places", [0, 1, 5, 15, 20, 30])
    def test_digits_of_pi_are_all_right(self, places):
        with mpmath.workdps(60):
            digits = mpmath.nstr(mpmath.pi, places + 1, strip_zeros=False)
        assert writing.decimal(PI, places) == (digits.rstrip("0") if places else digits).rstrip(".")

    @in_one("x", [Fraction(63, 5), Fraction(-63, 5), Fraction(3), PiMultiple(Fraction(1)), 0.29])
    def test_a_limit_is_rounded_to_its_own_side(self, x):
        assert float(writing.decimal(x, 1, toward="down").replace("−", "-")) <= float(x)
        assert float(writing.decimal(x, 1, toward="up").replace("−", "-")) >= float(x)
        assert writing.decimal(Fraction(-63, 5), 0, toward="down") == "−13"

    def test_what_is_not_finite_still_says_so(self):
        assert [writing.decimal(x) for x in (float("inf"), float("-inf"), float("nan"))] == ["∞", "−∞", "not a number"]


class TestNumber:
    @in_one(
        ("x", "text", "latex"),
        [
            (Fraction(5, 4), "1.25", "1.25"),
            (Fraction(-5, 4), "−1.25", "-1.25"),
            (Fraction(80, 63), "80/63", r"\frac{80}{63}"),
            (Fraction(-1, 3), "−1/3", r"-\frac{1}{3}"),
            (PI, "π", r"\pi"),
            (PiMultiple(Fraction(2, 3)), "2/3 π", r"\frac{2}{3}\,\pi"),
            (PiMultiple(Fraction(0)), "0", "0"),
        ],
    )
    def test_decimal_where_it_ends_else_a_fraction(self, x, text, latex):
        assert (writing.number(x).text, writing.number(x).latex) == (text, latex)


class TestPrimes:
    @in_one("number", [2, 63, 80, 127, 360, 5080, 2**12])
    def test_the_text_multiplies_back_to_the_number(self, number):
        raised = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789")
        product = 1
        for power in writing.primes(sympy.factorint(number)).text.split(" · "):
            prime, times = re.fullmatch("([0-9]+)([⁰¹²³⁴⁵⁶⁷⁸⁹]*)", power).groups()
            product *= int(prime) ** int(times.translate(raised) or 1)
        assert product == number

    def test_each_way_of_writing(self):
        shown = writing.primes({2: 10, 127: 1})
        assert (shown.latex, shown.html) == (r"2^{10} \cdot 127", "2<sup>10</sup> · 127")


class TestLength:
    @in_one("digits", range(1, 10))
    @in_one("places", [2, 4, 7])
    def test_whole_up_to_six_decimals_or_as_many_as_are_asked_for(self, digits, places):
        x = 1 + Fraction(1, 10**digits)
        said = writing.length(x, places=places).text
        whole = digits <= max(6, places)
        assert said == (f"1.{'0' * (digits - 1)}1 mm" if whole else "≈ 1 mm")


class TestLead:
    def test_both_ways(self):
        assert writing.lead(Fraction(127, 80)).text == "1.5875 mm (16 tpi)"
        assert writing.lead(Fraction(127, 5) / Fraction(23, 2)).text == "≈ 2.2087 mm (11.5 tpi)"

    def test_with_pi(self):
        # Threads per inch of a module-1 worm: 25.4/π = 8.0851 (computed).
        assert writing.lead(PI).text == "π mm ≈ 3.1416 mm (≈ 8.085 tpi)"


class TestTpi:
    def test_of_pi(self):
        with mpmath.workdps(40):
            assert writing.tpi(PI, 8) == mpmath.nstr(mpmath.mpf("25.4") / mpmath.pi, 9)


class TestSigned:
    @in_one(("x", "shown"), [(0, "0"), (0.04, "0"), (-0.04, "0"), (1, "+1"), (-1.25, "−1.3")])
    def test_sign_always_shown_but_for_zero(self, x, shown):
        assert writing.signed(x) == shown


class TestError:
    @in_one(
        ("ppm", "text"),
        [
            (0, "exact"),
            (0.0001, "+less than 0.001 ppm"),
            (-0.0001, "−less than 0.001 ppm"),
            (-0.5, "−0.5 ppm"),
            (12.34, "+12.3 ppm"),
            (16000.4, "+16\u202f000 ppm"),
        ],
    )
    def test_never_called_nothing_unless_it_is(self, ppm, text):
        assert writing.error(ppm).text == text

    @pytest.mark.parametrize("size", [9999, 10_000, 10_601, 735_417, 1_234_567])
    def test_figures_stand_in_threes_from_ten_thousand_on(self, size):
        """By thin spaces, four figures left together: from memory, the SI Brochure, 5.4.4."""
        threes = f"{size:_}".split("_") if size >= 10_000 else [str(size)]
        thin, latex = "\u202f".join(threes), r"\,".join(threes)
        shown = writing.error(-size)
        assert shown.text == f"−{thin} ppm"
        assert shown.html == f"−{thin}\u202fppm"
        assert shown.latex == rf"-{latex}\,\mathrm{{ppm}}"
        assert writing.ppm(size) == writing.ppm(size, 4) == f"{thin} ppm"
        assert off_size(size).removesuffix(" µm") == writing.ppm(size).removesuffix(" ppm")

    def test_no_figure_behind_the_point_is_set_apart(self):
        assert writing.ppm(Fraction(1, 3), 8) == "0.33333333 ppm"
        assert writing.ppm(Fraction(40_001, 3), 6) == "13\u202f333.666667 ppm"

    def test_words_are_upright_in_latex(self):
        assert r"\text{less than}" in writing.error(1e-9).latex

    def test_exact_is_said_of_exact_errors_only(self):
        third = Fraction(1, 3)
        assert writing.error(RelativeError(third, third)).text == "exact"
        assert writing.error(RelativeError(third + Fraction(1, 10**30), third)).text == "+less than 0.001 ppm"


class TestSmallLengthsAndErrors:
    """Each is written with as many figures as say something, and what is there is never called nothing."""

    WAYS = (writing.ppm, off_size, writing.distance)

    @pytest.mark.parametrize("way", WAYS)
    @given(size=st.floats(1e-8, 1e6))
    def test_what_is_there_is_never_called_nothing(self, way, size):
        said = way(size)
        assert said.split()[0] != "0"
        assert said.startswith("less than 0.001 ") == (size < 0.0005)

    def test_errors_are_whole_from_a_thousand_ppm_on(self):
        """What 999.4 and 1000.4 are rounded to, by hand: a tenth of a thousandth is seen below, and not above."""
        assert [writing.ppm(size) for size in (999.4, 1000.4)] == ["999.4 ppm", "1000 ppm"]

    def test_what_floats_leave_of_nothing_is_nothing(self):
        assert writing.distance(-1e-14) == writing.distance(0.1 + 0.2 - 0.3) == "0 mm"

    @pytest.mark.parametrize("way", WAYS)
    @given(size=st.floats(0.0006, 1e6))
    def test_what_is_read_is_within_a_twentieth(self, way, size):
        assert abs(float(way(size).rpartition(" ")[0].replace(writing.THIN, "")) - size) <= max(
            0.00051, min(0.0051, size), 0.051 * size
        )

    @pytest.mark.parametrize("way", [writing.ppm, off_size])
    @given(size=st.floats(1e-6, 1e6))
    def test_either_way_it_is_as_large(self, way, size):
        assert way(size) == way(-size)


class TestInTheUnitReadFirst:
    """A length, an error or the size of teeth, as they are said to whoever reads inches, or millimetres."""

    @in_one(
        ("thou", "said"),
        [
            ("0.4994", "+0.499 thou"),
            ("1.2345", "+1.23 thou"),
            ("9.994", "+9.99 thou"),
            ("10.06", "+10.1 thou"),
            ("-999.4", "−999.4 thou"),
            ("1000.4", "+1000 thou"),
            ("0.0001", "+less than 0.001 thou"),
        ],
    )
    def test_an_error_adds_up_to_so_many_thou(self, thou, said):
        um = float(Fraction(thou) * Fraction(254, 10))
        assert str(both_units.off(um, "inch")) == said
        assert both_units.off_size(um, "inch") == said[1:] == both_units.off_size(-um, "inch")

    def test_what_it_stands_beside_is_in_thou_too(self):
        assert both_units.off_size(25.4 * 20.004, "inch", beside=-25.4 * 20) == "20.004 thou"
        assert str(both_units.off(25.4 * 20.004, "inch", beside=25.4 * 20)) == "+20.004 thou"
        assert both_units.off_size(20.004, beside=-20) == "20.004 µm"

    @in_one(("mm", "said"), [("12.3451", "12.35 mm"), ("0.004", "0 mm"), ("7", "7 mm"), ("-1.006", "−1.01 mm")])
    def test_a_rule_shows_hundredths(self, mm, said):
        assert both_units.reading(Fraction(mm)) == both_units.reading(float(mm)) == said

    @in_one(("mm", "said"), [("12.345", "0.486 in"), ("25.4", "1 in"), ("0.0254", "0.001 in")])
    def test_or_thousandths_of_an_inch(self, mm, said):
        assert both_units.reading(Fraction(mm), "inch") == both_units.reading(float(mm), "inch") == said

    @in_one("pitch", range(1, 90))
    def test_teeth_are_called_by_their_pitch_up_to_80(self, pitch):
        said = both_units.size_of_teeth(25.4 / pitch)
        assert (said == f"DP {pitch}") == (pitch <= 80)
        assert both_units.size_of_teeth(25.4 / (pitch + 0.25)).startswith("module ")


class TestWhereMoreOrLessIsSaid:
    """On both sides of each limit from which on a number has other places, or other words."""

    @in_one(
        ("way", "said"),
        [
            (writing.error, {999.4: "+999.4 ppm", 1000.4: "+1000 ppm", -9.96: "−10 ppm", 1.26: "+1.3 ppm"}),
            (writing.error, {0.0006: "+0.001 ppm", 0.0004: "+less than 0.001 ppm", 0.9994: "+0.999 ppm"}),
            (
                writing.micrometres,
                {
                    9999.4: "+9999.4 µm",
                    10000.4: "+10\u202f000 µm",
                    1.2345: "+1.23 µm",
                    10.26: "+10.3 µm",
                    9.994: "+9.99 µm",
                },
            ),
            (
                writing.distance,
                {1.1e-9: "less than 0.001 mm", 1e-9: "less than 0.001 mm", 0.9e-9: "0 mm", 0.0005: "0.001 mm"}
                | {0.0004: "less than 0.001 mm", 0.995: "1 mm", 0.994: "0.99 mm", 1.555: "1.6 mm"}
                | {0.0095: "0.01 mm", 0.0094: "0.009 mm", -0.5: "−0.5 mm", 0.0154: "0.02 mm"},
            ),
            (writing.seconds, {10.56: "10.6 s", 9.56: "9.56 s", 9.994: "9.99 s", 0.126: "0.13 s", 10.96: "11 s"}),
            (
                writing.turns,
                {0.5: "0.5 turns", 0.336: "0.34 turns", 1.001: "1 turn", 7.4999: "7.5 turns", 1.26: "1.26 turns"}
                | {Fraction(3, 2): "1 1/2 turns", Fraction(1, 80): "0.0125 turns", Fraction(1, 160): "1/160 of a turn"}
                | {
                    Fraction(81, 80): "1.0125 turns",
                    Fraction(1, 50): "1/50 of a turn",
                    Fraction(1, 64): "1/64 of a turn",
                }
                | {
                    Fraction(1, 65): "1/65 of a turn",
                    Fraction(1, 625): "0.0016 turns",
                    Fraction(1, 125): "0.008 turns",
                },
            ),
            (
                writing.percent,
                {0.0994: "9.9 %", 0.1: "10 %", 0.1049: "10 %", 0.0005: "0.1 %", 0.0004: "less than 0.1 %", 1: "100 %"}
                | {0.005: "0.5 %", 0: "0 %"},
            ),
            (lambda share: writing.percent(share, beside=0.056), {0.506: "50.6 %", 0.5: "50 %"}),
            (lambda share: writing.percent(share, beside=0.5), {0.056: "5.6 %", 0.506: "51 %"}),
            (lambda count: writing.counted(count, "gear"), {0: "no gear", 1: "1 gear", 2: "2 gears"}),
            (writing.pairs, {1: "one pair", 2: "two pairs", 6: "six pairs", 7: "7 pairs"}),
        ],
    )
    def test_by_hand(self, way, said):
        assert {size: str(way(size)) for size in said} == said

    @in_one(("first", "unit", "places"), [("mm", "mm", 3), ("inch", "in", 4)])
    def test_how_far_out_is_called_less_than_the_last_place_below_half_of_it(self, first, unit, places):
        one = Fraction(127, 5) if first == "inch" else Fraction(1)
        for tenths in range(-30, 31):
            size = Fraction(tenths, 10 ** (places + 1))
            said = writing.out_by(size * one, first)
            if 0 < abs(tenths) < 5:
                assert said == f"less than {writing.decimal(Fraction(1, 10**places), places)} {unit}"
            else:
                about = "≈ " if tenths % 10 else ""
                assert said == f"{about}{writing.decimal(abs(size), places)} {unit}"

    @in_one("places", range(1, 6))
    def test_threads_per_inch_are_about_so_many_where_three_places_do_not_say_them(self, places):
        per_inch = 8 + Fraction(1, 10**places)
        for starts in (1, 2):
            said = writing.lead(starts * Fraction(127, 5) / per_inch, starts).text
            shown = f"{8 + 10**-places} tpi" if places <= 3 else "≈ 8 tpi"
            assert said.endswith(f"({f'{starts} starts, ' * (starts > 1)}{shown})")

    @in_one("apart", range(1, 12))
    def test_a_number_beside_a_limit_has_at_most_eight_places(self, apart):
        assert writing.places_apart(50 + 10**-apart, 50, 0) == (apart if apart <= 8 else 0)
        assert writing.places_apart(50 + 10**-apart, 50, 2) == (max(2, apart) if apart <= 8 else 2)

    def test_nothing_has_no_sign(self):
        assert str(writing.ratio(Fraction(0))) == writing.ratio(Fraction(0)).latex == "0"


class TestTurns:
    @given(st.fractions(0, 500, max_denominator=1000))
    def test_what_is_said_of_a_fraction_is_that_fraction(self, count):
        *whole, last = writing.turns(count).removesuffix(" of a turn").removesuffix("s").removesuffix(" turn").split()
        assert sum(map(Fraction, whole), Fraction(last)) == count

    @in_one(
        ("count", "said"),
        [
            (1, "1 turn"),
            (1.0, "1 turn"),
            (2, "2 turns"),
            (0, "0 turns"),
            (Fraction(2, 5), "2/5 of a turn"),
            (Fraction(1, 1000), "0.001 turns"),
            (Fraction(1, 3), "1/3 of a turn"),
        ],
    )
    def test_one_is_one_turn_and_all_else_is_not(self, count, said):
        assert writing.turns(count) == said


class TestListed:
    def test_as_a_sentence_has_it(self):
        assert writing.listed("abcd", "or") == "a, b, c or d"

    def test_of_nothing_there_is_no_list(self):
        with pytest.raises(ValueError):
            writing.listed([])


class TestSentence:
    def test_begins_large_where_a_word_stands_first_and_leaves_what_is_typed_so(self):
        each = {
            "a class number must be whole": "A class number must be whole",
            "half-nuts stay open": "Half-nuts stay open",
            "gears: no such key": "gears: no such key",
            "second stud": "Second stud",
            "levers, two": "Levers, two",
            "Already": "Already",
            "my_lathe.toml: no such lever": "my_lathe.toml: no such lever",
            "gears.teeth[3]: no": "gears.teeth[3]: no",
            "within_ppm must be": "within_ppm must be",
            "'x' is no thread": "'x' is no thread",
            "40 stands twice": "40 stands twice",
            "m8 is none": "m8 is none",
            "": "",
        }
        assert {words: markup.sentence(words) for words in each} == each


class TestTrain:
    def test_three_ways(self):
        shown = writing.train((40, 30), (80, 60))
        assert (shown.text, shown.latex) == ("(40 · 30)/(80 · 60)", r"\frac{40 \cdot 30}{80 \cdot 60}")


class TestWhereADecimalEnds:
    """Against what a reader does: look whether the decimal that is shown is the number itself."""

    @given(st.fractions(-50, 50, max_denominator=5000), st.integers(0, 6))
    def test_it_ends_where_the_shown_decimal_is_the_number(self, x, places):
        shown = Fraction(writing.decimal(x, places).replace("−", "-"))
        assert writing.ends(x, places) == (shown == x)
        assert str(writing.rounded(x, places)).startswith("≈ ") == (shown != x)

    def test_with_pi_in_it_no_decimal_ends(self):
        assert not writing.ends(PI, 30)
        assert str(writing.rounded(PI, 2)) == "≈ 3.14"

    def test_whoever_says_about_asks_here(self):
        rule = re.compile(r"\* ?(?:10 ?\*\* ?\w+|10[0_]*)\)\.denominator [!=]= 1")
        package = Path(writing.__file__).parents[1]
        asking = {path.name for path in package.rglob("*.py") for _ in rule.findall(path.read_text(encoding="utf-8"))}
        assert asking == {"writing.py"}
        assert len(rule.findall(Path(writing.__file__).read_text(encoding="utf-8"))) == 1

    def test_how_far_out_is_said_whichever_way_and_never_nothing_unless_it_is(self):
        said = {Fraction(-1, 2): "0.5 mm", Fraction(1, 3): "≈ 0.333 mm", Fraction(-1, 10**5): "less than 0.001 mm"}
        assert {out: writing.out_by(out) for out in said} == said
        assert writing.out_by(Fraction(0)) == "0 mm"


class TestEndedAsInPrint:
    @in_one("words", ["20 tpi.", "Which slip?", "Stop!", "and so on …"])
    def test_a_sign_that_ends_a_sentence_gets_no_point_behind_it(self, words):
        assert markup.ended(words) == words

    def test_all_else_gets_one(self):
        assert markup.ended("1.25 mm (exact)") == "1.25 mm (exact)."
