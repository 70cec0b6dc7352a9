"""Exact numbers: reading them, comparing them, and refusing what is none."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from types import SimpleNamespace

import mpmath
import numpy as np
import pytest
import sympy

from gearcalc.basics.arguments import as_teeth
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import (
    INCH_MM,
    PiMultiple,
    RelativeError,
    as_exact,
    as_fraction,
    coefficient,
    half_up,
    is_inch,
    parse_number,
    pi_bounds,
    threads_per_inch,
    to_sympy,
)
from tests.how_much import in_one

PI = PiMultiple(Fraction(1))


class TestInch:
    def test_is_25_4_mm_exactly(self):
        assert Fraction(254, 10) == INCH_MM


class TestParseNumber:
    @in_one(
        ("text", "value"),
        [
            ("0", Fraction(0)),
            ("7", Fraction(7)),
            ("007", Fraction(7)),
            ("1.25", Fraction(5, 4)),
            ("1,25", Fraction(5, 4)),
            (".5", Fraction(1, 2)),
            ("1.", Fraction(1)),
            ("3/8", Fraction(3, 8)),
            ("11 1/2", Fraction(23, 2)),
            ("1-1/8", Fraction(9, 8)),
            ("  2  ", Fraction(2)),
            ("999999999999.999999999999", Fraction(10**24 - 1, 10**12)),
        ],
    )
    def test_reads_what_people_write(self, text, value):
        assert value == parse_number(text)

    @in_one(
        "text",
        ["", " ", ".", ",", "-1", "+1", "1e3", "1/0", "1//2", "1/2/3", "1.2.3", "1,234.5", "1 2", "½", "١٢", "１",
         "0x10", "inf", "nan", "1_000", "1" * 13, "1." + "1" * 13, "1\n2", "\x00", "a", "1/2 1"],
    )  # fmt: skip
    def test_refuses_the_rest(self, text):
        with pytest.raises(ValueOutOfRangeError):
            parse_number(text)

    @in_one("given", [None, 5, 1.5, b"1", ["1"]])
    def test_what_is_no_text_is_refused(self, given):
        with pytest.raises(ValueOutOfRangeError):
            parse_number(given)

    def test_below_zero_is_said_to_be_that(self):
        with pytest.raises(ValueOutOfRangeError, match=r"^the pitch must be zero or more, not '-5'"):
            parse_number("-5", what="the pitch")

    def test_the_message_names_the_thing(self):
        with pytest.raises(ValueOutOfRangeError, match=r"must be a number of at most 12 digits on a side, not '3\.14"):
            parse_number("3.1415926535897")
        with pytest.raises(ValueOutOfRangeError, match=r"^the pitch must be a plain number, not 'x'"):
            parse_number("x", what="the pitch")
        with pytest.raises(
            ValueOutOfRangeError, match=r"^the pitch must have more than zero below the line, not '3/0'"
        ):
            parse_number("3/0", what="the pitch")

    def test_a_ratio_with_a_colon_is_told_how_it_is_written(self):
        with pytest.raises(ValueOutOfRangeError, match=r"Write 2:1 as 2 or 1/2: turns out for one in\.$"):
            parse_number("2:1")


class TestAsFraction:
    @in_one(
        ("given", "value"),
        [
            (3, Fraction(3)),
            (Fraction(3, 8), Fraction(3, 8)),
            (0.1, Fraction(1, 10)),
            (-1e-3, Fraction(-1, 1000)),
            ("3/8", Fraction(3, 8)),
            (np.float64(0.1), Fraction(1, 10)),
            (np.float32(0.5), Fraction(1, 2)),
            (np.int64(7), Fraction(7)),
            (sympy.Rational(3, 8), Fraction(3, 8)),
            (sympy.Integer(4), Fraction(4)),
        ],
    )
    def test_takes_every_kind_of_number(self, given, value):
        assert value == as_fraction(given)
        assert isinstance(as_fraction(given), Fraction)

    @in_one(
        "given",
        [None, True, math.nan, math.inf, -math.inf, Decimal("NaN"), Decimal("1e999999999"), np.float64("nan"), 1j, [1],
         np.array([1, 2]), np.array(["a"]), np.bool_(True), sympy.pi, sympy.oo, sympy.nan, object(), "x", b"1",
         [10**5000], 10**400, Fraction(-(10**400), 3)],
    )  # fmt: skip
    def test_refuses_what_is_no_finite_number(self, given):
        with pytest.raises(ValueOutOfRangeError):
            as_fraction(given)


class TestAsExact:
    @in_one(
        ("given", "value"),
        [
            (sympy.pi, PI),
            (sympy.pi * 3 / 2, PiMultiple(Fraction(3, 2))),
            (-sympy.pi, PiMultiple(Fraction(-1))),
            (sympy.Rational(1, 3), Fraction(1, 3)),
            (sympy.Integer(0), Fraction(0)),
            (PI, PI),
            ("127/100", Fraction(127, 100)),
            (5, Fraction(5)),
            ("pi", PI),
            (" Pi ", PI),
            ("π", PI),
            ("3/2 pi", PiMultiple(Fraction(3, 2))),
            ("1.5·π", PiMultiple(Fraction(3, 2))),
            ("1,5 * pi", PiMultiple(Fraction(3, 2))),
            ("1 1/2 × pi", PiMultiple(Fraction(3, 2))),
            ("2pi/3", PiMultiple(Fraction(2, 3))),
            ("pi / 25.4", PiMultiple(Fraction(5, 127))),
            ("999999999999 999999999999/100000000000 pi", PiMultiple(999999999999 + Fraction(999999999999, 10**11))),
        ],
    )
    def test_keeps_pi(self, given, value):
        assert value == as_exact(given)

    @in_one(
        "given",
        [sympy.pi**2, sympy.sqrt(2), sympy.pi + 1, sympy.Symbol("x"), sympy.Symbol("pi"), 2 * sympy.Symbol("pi"),
         sympy.oo, sympy.zoo, sympy.nan, sympy.Float(0.5) * sympy.sqrt(3), None,
         "pie", "pi pi", "pi*pi", "pi**2", "pi^2", "pi/0", "pi/", "/pi", "3/pi", "-pi", "pi+1", "pi(2)", "p", "π" * 60,
         "٣ pi", "1e3 pi", "__import__('os') pi", "9" * 60 + " pi"],
    )  # fmt: skip
    def test_refuses_other_irrationals_and_impostors(self, given):
        with pytest.raises(ValueOutOfRangeError):
            as_exact(given)

    def test_goes_to_sympy_and_back(self):
        for x in (Fraction(3, 8), PiMultiple(Fraction(-5, 7))):
            assert x == as_exact(to_sympy(x))


class TestInches:
    """Against what the trade says: whole eighths of a thread, and one at least to the inch."""

    @in_one("below", range(1, 17))
    def test_threads_per_inch(self, below):
        for above in range(1, 40):
            per_inch = Fraction(above, below)
            said = per_inch if per_inch >= 1 and per_inch * 8 % 1 == 0 else None
            assert threads_per_inch(INCH_MM / per_inch) == said
            assert is_inch(INCH_MM / per_inch) == (above % 127 != 0)

    def test_a_metric_lead_or_one_with_pi_is_none(self):
        assert threads_per_inch(Fraction(3)) is threads_per_inch(PI) is None
        assert not is_inch(Fraction(3))
        assert not is_inch(127 * PI)


class TestHowMuchIsRead:
    def test_texts_of_48_signs_and_no_longer(self):
        assert parse_number("1".rjust(48)) == 1
        assert as_exact("pi".rjust(48)) == PI
        for ask, text in ((parse_number, "1"), (as_exact, "pi")):
            with pytest.raises(ValueOutOfRangeError, match="must be a plain number"):
                ask(text.rjust(49))

    @in_one("sign", [1, -1])
    def test_what_a_float_can_hold(self, sign):
        for size in (Fraction(1, 10**300), Fraction(10**300)):
            assert as_fraction(sign * size) == sign * size
        with pytest.raises(ValueOutOfRangeError, match=r"^the lead is too small"):
            as_fraction(Fraction(sign, 10**400), what="the lead")
        with pytest.raises(ValueOutOfRangeError, match=r"^the lead is too large"):
            as_fraction(Fraction(sign * 10**400), what="the lead")

    @in_one("p_and_q", [(3, None), (None, 3), (3, 0), (3, 2.0), (3.0, 2)])
    def test_a_fraction_of_another_kind_has_two_whole_numbers(self, p_and_q):
        given = SimpleNamespace(p=p_and_q[0], q=p_and_q[1])
        with pytest.raises(ValueOutOfRangeError, match="must be a number"):
            as_fraction(given)
        assert as_fraction(SimpleNamespace(p=3, q=2)) == Fraction(3, 2)

    @in_one("halves", range(-9, 10))
    def test_a_half_goes_up_and_below_zero_as_far_down(self, halves):
        assert half_up(Fraction(halves, 2)) == (abs(halves) + 1) // 2 * (1 if halves > 0 else -1)
        assert half_up(Fraction(halves, 3)) == round(halves / 3)


class TestAsTeeth:
    @in_one("given", [6, 20, 127, 1000, np.int64(40), sympy.Integer(40)])
    def test_takes_a_gear(self, given):
        teeth = as_teeth(given)
        assert given == teeth
        assert type(teeth) is int

    @in_one(
        "given",
        [0, -5, 5, 1001, 10**400, 20.0, 20.5, math.nan, "40", "", None, True, [40], np.array([40, 50]), np.float64(40),
         np.bool_(True), Fraction(40), sympy.Rational(81, 2)],
    )  # fmt: skip
    def test_refuses_what_is_none(self, given):
        with pytest.raises(ValueOutOfRangeError, match="whole number of teeth from 6 to 1000"):
            as_teeth(given)


class TestPiBounds:
    @in_one("digits", [1, 2, 15, 30, 60, 200])
    def test_pi_lies_between_and_they_are_that_close(self, digits):
        low, high = pi_bounds(digits)
        with mpmath.workdps(digits + 20):
            assert in_mpmath(low) < mpmath.pi < in_mpmath(high)
        assert Fraction(1, 10**digits) == high - low


def in_mpmath(x: Fraction | int) -> mpmath.mpf:
    return mpmath.mpf(x.numerator) / x.denominator


def mpmath_off(x: Fraction, digits: int) -> mpmath.mpf:
    with mpmath.workdps(2 * digits + 20):
        return in_mpmath(x) - mpmath.pi


class TestPiMultiple:
    def test_arithmetic_stays_exact(self):
        assert PiMultiple(Fraction(3)) == 2 * PiMultiple(Fraction(3, 2)) == PiMultiple(Fraction(3, 2)) * 2
        assert PiMultiple(Fraction(1, 3)) == PI / 3
        assert Fraction(2, 3) == PiMultiple(Fraction(2)) / PiMultiple(Fraction(3))

    def test_whole_numbers_are_kept_as_fractions(self):
        ratio = PiMultiple(3) / PiMultiple(2)
        assert (Fraction(3, 2), Fraction) == (ratio, type(ratio))

    @in_one("digits", [1, 3, 20, 35, 70])
    def test_every_pair(self, digits):
        """Below and above zero, whole numbers, fractions and multiples of π, against mpmath with many digits."""
        with mpmath.workdps(digits + 20):
            cut_off = Fraction(int(mpmath.floor(mpmath.pi * 10**digits)), 10**digits)
        plain = [Fraction(side * part) * near for near in (cut_off, cut_off + Fraction(1, 10**digits), 1, 0)
                 for side in (1, -1) for part in (1, Fraction(2, 3))]  # fmt: skip
        those = [*plain, 3, -4, 0, *(PiMultiple(Fraction(n, 3)) for n in range(-4, 5))]
        with mpmath.workdps(digits + 60):
            size = [in_mpmath(coefficient(x)) * (mpmath.pi if isinstance(x, PiMultiple) else 1) for x in those]
            for one, mine in zip(those, size, strict=True):
                for other, theirs in zip(those, size, strict=True):
                    same = abs(mine - theirs) < mpmath.mpf(10) ** -(digits + 40)
                    assert (one == other) is same
                    assert (one < other) is (not same and mine < theirs)
                    assert (one >= other) is (same or mine > theirs)
                    assert not same or hash(one) == hash(other)

    def test_it_says_itself_and_its_float(self):
        for part in (Fraction(1), Fraction(-3, 2), Fraction(10**20, 7)):
            assert str(PiMultiple(part)) == f"{part} π"
            with mpmath.workdps(40):
                assert float(PiMultiple(part)) == float(in_mpmath(part) * mpmath.pi)

    @in_one("other", [0.5, "2", None])
    def test_nothing_else_is_mixed_in(self, other):
        for ask in (
            lambda: PI * other,
            lambda: other * PI,
            lambda: PI / other,
            lambda: other > PI,
            lambda: other <= PI,
        ):
            with pytest.raises(TypeError):
                ask()
        assert (other == PI) is False

    def test_the_classical_bounds(self):
        # Archimedes: 223/71 < π < 22/7.
        assert Fraction(223, 71) < PI < Fraction(22, 7)
        assert Fraction(355, 113) > PI
        assert -PI.coefficient * PI > Fraction(-22, 7)

    @in_one("digits", [12, 29, 30, 31, 40, 61, 130, 250])
    def test_a_neighbour_that_takes_more_digits(self, digits):
        """π cut off after so many places (mpmath) and one more in the last: below it and above it."""
        with mpmath.workdps(digits + 20):
            cut_off = Fraction(int(mpmath.floor(mpmath.pi * mpmath.mpf(10) ** digits)), 10**digits)
        above = cut_off + Fraction(1, 10**digits)
        assert cut_off < PI < above
        assert not cut_off > PI
        assert not above < PI
        near, far = sorted((cut_off, above), key=lambda x: abs(mpmath_off(x, digits)))
        assert RelativeError(near, PI) < RelativeError(far, PI)
        assert not RelativeError(far, PI) < RelativeError(near, PI)

    def test_nothing_times_pi_is_nothing(self):
        nothing = PiMultiple(Fraction(0))
        assert nothing == 0
        assert hash(nothing) == hash(0)
        assert not nothing < 0
        assert not nothing > 0
        assert nothing <= 0 <= nothing
        assert Fraction(-1) < nothing < 1

    def test_float(self):
        assert math.pi == float(PI)


class TestRelativeError:
    def test_sign_is_positive_when_too_long(self):
        assert RelativeError(Fraction(101, 100), Fraction(1)).ppm == 10_000
        assert RelativeError(Fraction(99, 100), Fraction(1)).ppm == -10_000

    @in_one("ppm", [0, 1, 125, -125, 0.5, Fraction(1, 3), 10**6, -(10**6)])
    def test_made_of_ppm_it_is_so_many(self, ppm):
        made = RelativeError.of_ppm(ppm)
        assert made.exact == Fraction(ppm) / 10**6
        assert made == RelativeError(1 + Fraction(ppm) / 10**6, Fraction(1))
        assert made.is_exact == (ppm == 0)

    def test_exact_is_none_only_where_pi_is_in_it(self):
        assert Fraction(-1, 100) == RelativeError(Fraction(99, 100), Fraction(1)).exact
        assert RelativeError(Fraction(22, 7), PI).exact is None

    def test_published_error_of_22_over_7(self):
        # 22/7 is about 402.5 ppm more than π: 22/7 ÷ 3.14159265358979.
        assert RelativeError(Fraction(22, 7), PI).ppm == pytest.approx((22 / 7 / math.pi - 1) * 1e6, rel=1e-9)

    def test_two_sides_of_the_same_size_are_equal(self):
        above, below = RelativeError(Fraction(11, 10), Fraction(1)), RelativeError(Fraction(9, 10), Fraction(1))
        assert above == below
        assert hash(above) == hash(below)
        assert not above < below
        assert not below < above

    @in_one("cut", [Fraction(22, 7), Fraction(355, 113), Fraction(3), Fraction(333, 106)])
    @in_one("digits", [5, 17, 29, 31, 70])
    def test_an_error_with_pi_beside_one_without_however_near(self, cut, digits):
        with mpmath.workdps(digits + 30):
            size = abs(in_mpmath(cut) / mpmath.pi - 1)
            less = Fraction(int(mpmath.floor(size * mpmath.mpf(10) ** digits)), 10**digits)
        more, with_pi = less + Fraction(1, 10**digits), RelativeError(cut, PI)
        for side in (1, -1):
            smaller, larger = (RelativeError(1 + side * each, Fraction(1)) for each in (less, more))
            assert smaller < with_pi < larger
            assert not with_pi < smaller
            assert not larger < with_pi
            assert smaller != with_pi != larger

    @pytest.mark.parametrize("wanted", [Fraction(0), Fraction(-1), PiMultiple(Fraction(0)), PiMultiple(Fraction(-1))])
    def test_wanting_nothing_is_refused(self, wanted):
        with pytest.raises(ValueOutOfRangeError, match="more than zero"):
            RelativeError(Fraction(1), wanted)

    def test_cutting_nothing_is_all_of_it_missed_with_or_without_pi(self):
        with_pi, without = RelativeError(Fraction(0), PI), RelativeError(Fraction(0), Fraction(1))
        assert with_pi == without
        assert hash(with_pi) == hash(without)
        assert not with_pi < without


def _errors() -> list[RelativeError]:
    """Errors that floats tell apart and that they do not, on both sides, with π and without, some of them equal."""
    tiny = Fraction(1, 10**18)
    ratios = [0, Fraction(1, 10**5), Fraction(9, 10), Fraction(11, 10), 1, 2, 10**6, 10**400, Fraction(1001, 1000)]
    found = [RelativeError(Fraction(each) + more, Fraction(1)) for each in ratios for more in (0, tiny)]
    found += [RelativeError(1 - each, Fraction(1)) for each in (tiny, Fraction(1, 1000), Fraction(1, 1000) + tiny)]
    with mpmath.workdps(60):  # where an error with π is as large as the same cut's without it
        same = Fraction(int(2 * mpmath.pi / (1 + mpmath.pi) * 10**25), 10**25)
    cuts = [Fraction(0), Fraction(22, 7), Fraction(355, 113), Fraction(3), same, Fraction(10**9), Fraction(10**400)]
    for cut in (*cuts, Fraction(1, 10**9)):
        found += [RelativeError(cut, PI), RelativeError(5 * cut, 5 * PI), RelativeError(cut + tiny, PI)]
        with mpmath.workdps(500):
            size = int(abs(in_mpmath(cut) / mpmath.pi - 1) * 10**22)
        found += [RelativeError(1 + Fraction(size + more, 10**22), Fraction(1)) for more in (0, 1)]
    low, high = pi_bounds(30)  # π lies between them, and so do cuts that are hardly inside, or hardly off π
    hardly = Fraction(1, 10**45)
    found += [RelativeError(cut, PI) for cut in (low + hardly, high - hardly, *pi_bounds(40))]
    found += [RelativeError(1 + side * Fraction(1, 10**n), Fraction(1)) for n in (35, 40) for side in (1, -1)]
    return [*found, RelativeError(same, Fraction(1))]


class TestOrderOfErrors:
    """Every pair, against mpmath with many digits."""

    def test_every_pair(self):
        errors = _errors()
        with mpmath.workdps(1000):
            sizes = []
            for each in errors:
                ratio = in_mpmath(each.cut / coefficient(each.wanted))
                sizes.append(abs((ratio / mpmath.pi if isinstance(each.wanted, PiMultiple) else ratio) - 1))
            for one, size in zip(errors, sizes, strict=True):
                for other, others in zip(errors, sizes, strict=True):
                    apart = size - others
                    same = abs(apart) < mpmath.mpf(10) ** -500
                    assert (one == other) is same
                    assert (one != other) is not same
                    assert (one < other) is (not same and apart < 0)
                    assert (one <= other) is (same or apart < 0)
                    assert (one > other) is (not same and apart > 0)
                    assert not same or hash(one) == hash(other)

    def test_with_nothing_else(self):
        miss = RelativeError(Fraction(1), Fraction(1))
        assert (miss == 0) is False
        with pytest.raises(TypeError):
            miss < 1  # noqa: B015


class TestCoefficient:
    def test_of_both_kinds(self):
        assert Fraction(2) == coefficient(Fraction(2)) == coefficient(PiMultiple(Fraction(2)))
