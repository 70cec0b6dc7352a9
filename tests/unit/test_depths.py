"""Depth of thread: which form a thread has, in the screw and in the nut; what is refused."""

from __future__ import annotations

from math import cos, radians

import pytest

from gearcalc.errors import NotPossibleError, ThreadTextError, UnknownNameError, ValueOutOfRangeError
from gearcalc.turning.depths import compound_infeed, thread_depth

NOT_NUMBERS = (float("nan"), float("inf"), None, "x", True, [1], 10**400)


class TestThreadDepth:
    @pytest.mark.parametrize(
        ("thread", "form", "share"),
        [
            ("M10", "ISO", 0.6134), ("M10-6H", "ISO", 0.5413), ("1/4-20 UNC-2B", "ISO", 0.5413),
            ("1/4-20 UNC-2A", "ISO", 0.6134), ("1/2 BSW", "Whitworth", 0.6403), ("G 1/2 A", "Whitworth", 0.6403),
            ("G 1/2 B", "Whitworth", 0.6403), ("R 1/2", "Whitworth", 0.6403), ("2 BA", "BA", 0.6),
            ("1/2 NPT", "NPT", 0.8), ("module 2", "worm", 0.6866), ("DP 12", "worm", 0.6866),
        ],
    )  # fmt: skip
    def test_each_family(self, thread, form, share):
        depth = thread_depth(thread)
        assert form == depth.form
        assert share == pytest.approx(depth.share_of_pitch, abs=5.1e-5)

    def test_the_pitch_counts_and_not_the_lead(self):
        one, two = thread_depth("M16x1.5"), thread_depth("M16xPh3P1.5")
        assert one.depth_mm == two.depth_mm
        assert one.share_of_pitch == two.share_of_pitch

    @pytest.mark.parametrize(
        ("thread", "mm"), [("Tr 8x1.5", 0.9), ("Tr 10x2", 1.25), ("Tr 28x5", 2.75), ("Tr 40x7", 4.0), ("Tr 80x16", 9.0)]
    )
    def test_trapezoidal_by_hand(self, thread, mm):
        # half the pitch and 0.15 at 1.5, 0.25 from 2, 0.5 from 6, 1 from 14 (ISO 2904, from memory)
        assert mm == pytest.approx(thread_depth(thread).depth_mm)

    @pytest.mark.parametrize(("thread", "inches"), [("1/4 Acme", 0.5 / 16 + 0.005), ("1/2-10 Acme", 0.5 / 10 + 0.010)])
    def test_a_fine_acme_has_less_clearance(self, thread, inches):
        # 0.010 in down to 10 tpi (Jones), 0.005 in for finer ones (ASME B1.5, from memory)
        assert inches * 25.4 == pytest.approx(thread_depth(thread).depth_mm)
        assert ("from memory" in thread_depth(thread).source) == (thread == "1/4 Acme")

    def test_too_fine_for_the_trapezoidal_table(self):
        with pytest.raises(NotPossibleError, match=r"1\.5 mm or more"):
            thread_depth("1 mm", form="trapezoidal")

    def test_internal_can_be_said(self):
        assert thread_depth("M10", internal=True).depth_mm == thread_depth("M10-6H").depth_mm
        assert thread_depth("M10-6H", internal=False).depth_mm == thread_depth("M10").depth_mm

    def test_a_pitch_alone_has_no_form(self):
        with pytest.raises(NotPossibleError, match="form='ISO'"):
            thread_depth("1.5 mm")
        assert thread_depth("1.5 mm", form="iso").depth_mm == thread_depth("M10").depth_mm

    def test_no_such_form(self):
        with pytest.raises(UnknownNameError, match="'ISO', 'National', 'sharp V'"):
            thread_depth("M10", form="buttress")

    def test_no_thread(self):
        with pytest.raises(ThreadTextError):
            thread_depth("banana")

    def test_memory_is_owned_up_to(self):
        assert "from memory" in str(thread_depth("M10"))
        assert "from memory" not in str(thread_depth("1/2 BSW"))
        assert "from memory" in thread_depth("M10")._repr_html_()

    def test_both_units_and_the_diameter(self):
        # 10 tpi Acme: half of 0.1 in and 0.010 in are 0.060 in; on the diameter 0.120 in
        depth = thread_depth("1/2-10 Acme")
        assert "1.524 mm (0.06 in)" in str(depth)
        assert depth.on_diameter_mm == pytest.approx(0.120 * 25.4)


class TestCompoundInfeed:
    def test_straight_in(self):
        assert compound_infeed(0.92, 0) == 0.92

    @pytest.mark.parametrize("angle", [29, "29.5", 30, 60])
    def test_back_again(self, angle):
        assert compound_infeed(1.3, angle) * cos(radians(float(angle))) == pytest.approx(1.3)

    @pytest.mark.parametrize("wrong", [-1, 60.1, 90, *NOT_NUMBERS])
    def test_no_angle(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="compound slide"):
            compound_infeed(1, wrong)

    @pytest.mark.parametrize("wrong", [0, -1, 1001, *NOT_NUMBERS])
    def test_no_depth(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="depth"):
            compound_infeed(wrong, 29.5)
