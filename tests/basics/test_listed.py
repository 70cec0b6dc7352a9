"""Lists, rows and primes are what Python has for them, and show themselves in words."""

from __future__ import annotations

from fractions import Fraction

import pytest

import gearcalc as gc
from gearcalc.basics.listed import InARow, Numbered, OneALine, Primes
from gearcalc.basics.markup import ShownAsWritten


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

    def test_in_each_way_of_showing_it_is_the_same(self):
        for shown in (InARow((1, 3)), Primes({2: 3, 5: 1})):
            assert str(shown) == shown.written.text
            assert shown._repr_html_() == shown.written.html
            assert shown._repr_latex_() == f"${shown.written.latex}$"
        with pytest.raises(NotImplementedError):
            str(ShownAsWritten())


class TestNumbered:
    class Some(Numbered[str]):
        def __str__(self) -> str:
            return "\n".join(self.lines)

    @pytest.mark.parametrize("count", [1, 9, 10, 100])
    def test_numbers_are_as_wide_as_the_last(self, count):
        some = self.Some(f"n{place}" for place in range(count))
        assert some.lines == [f"{place + 1}. n{place}".rjust(len(f"{count}. n{place}")) for place in range(count)]
        assert repr(some) == str(some)

    def test_a_part_is_of_its_kind_and_one_is_itself(self):
        some = self.Some("abc")
        assert (some[1], some[-1]) == ("b", "c")
        assert (type(some[1:]), some[1:], some[1:].lines) == (self.Some, ["b", "c"], ["1. b", "2. c"])

    def test_of_none_there_is_no_first_and_an_empty_part(self):
        with pytest.raises(IndexError, match="the list is empty"):
            self.Some()[0]
        assert self.Some()[:1] == []
        with pytest.raises(IndexError, match="out of range"):
            self.Some("a")[1]
