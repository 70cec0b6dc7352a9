"""Lists, rows and primes are what Python has for them, and show themselves in words."""

from __future__ import annotations

from fractions import Fraction

import pytest

import gearcalc as gc
from gearcalc.basics.listed import InARow, OneALine, Primes


class TestListed:
    @pytest.mark.parametrize(
        ("shown", "plain", "said"),
        [
            (gc.factor(5080), {2: 3, 5: 1, 127: 1}, "2³ · 5 · 127"),
            (gc.continued_fraction("127/100"), (1, 3, 1, 2, 2, 1, 2), "1, 3, 1, 2, 2, 1, 2"),
            (gc.convergents("5/4"), (Fraction(1), Fraction(5, 4)), "1, 5/4"),
            (OneALine(["a", "b"]), ["a", "b"], "a\nb"),
        ],
    )
    def test_it_is_the_same_and_says_it_in_words(self, shown, plain, said):
        assert shown == plain
        assert isinstance(shown, type(plain))
        assert said in str(shown)

    @pytest.mark.parametrize(
        "shown",
        [
            gc.nearest_threads(Fraction(3, 2)),
            gc.thread_series("unc"),
            gc.check_plate(gc.demo_lathe("inch")),
            gc.factor(12),
        ],
    )
    def test_nothing_of_python_is_to_be_seen(self, shown):
        assert not set("[]{}'") & set(str(shown))
        assert "Thread(" not in shown._repr_html_()

    @pytest.mark.parametrize("empty", [OneALine(), InARow(), Primes()])
    def test_nothing_is_said_to_be_nothing(self, empty):
        assert str(empty)
        assert empty._repr_html_()

    def test_markup_is_escaped(self):
        for shown in (OneALine(["<b>"]), InARow(["<b>"])):
            assert "<b>" not in shown._repr_html_()
