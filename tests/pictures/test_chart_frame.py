"""What every chart stands in: round numbers, and labels that keep apart."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from gearcalc.pictures.chart_frame import round_number, shortened, spread, step_for
from tests.how_much import examples


class TestCharts:
    @given(st.floats(1e-9, 1e12))
    @examples(100)
    def test_round_numbers_are_round_and_as_near_as_can_be(self, x):
        down, up = round_number(x), round_number(x, up=True)
        assert down <= x * (1 + 1e-9)
        assert up >= x * (1 - 1e-9)
        assert up / down <= 2.5 * (1 + 1e-9)
        assert {f"{n:e}"[0] for n in (down, up)} <= set("125")

    @given(st.floats(1e-6, 1e6), st.integers(1, 20))
    @examples(100)
    def test_an_axis_has_no_more_steps_than_asked(self, span, most):
        assert span / step_for(span, most) <= most * (1 + 1e-9)

    @given(st.lists(st.floats(0, 300), min_size=1, max_size=12))
    @examples(100)
    def test_labels_keep_apart_in_order_and_inside(self, places):
        middles = spread(sorted(places), [20.0] * len(places), 0, 300)
        assert all(b - a >= 20 - 1e-9 for a, b in pairwise(middles))
        assert middles[0] >= 10 - 1e-9
        assert middles[-1] <= 290 + 1e-9

    def test_long_words_are_cut_and_kept_to_one_line(self):
        assert shortened("a\nb  c", 9) == "a b c"
        assert len(shortened("x" * 50, 9)) == 9
