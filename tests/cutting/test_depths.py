"""Depth of thread: which form a thread has, in the screw and in the nut; what is refused."""

from __future__ import annotations

import re
from fractions import Fraction
from math import cos, pi, radians, sqrt, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc import Thread
from gearcalc.basics import markup
from gearcalc.basics.errors import NotPossibleError, ThreadTextError, UnknownNameError, ValueOutOfRangeError
from gearcalc.cutting.depths import compound_infeed, thread_depth
from tests.cutting.shown import second_column
from tests.how_much import in_one

NOT_NUMBERS = (float("nan"), float("inf"), None, "x", True, [1], 10**400)


class TestThreadDepth:
    @in_one(
        ("thread", "form", "share"),
        [
            ("M10", "ISO", 0.6134),
            ("M10-6H", "ISO", 0.5413),
            ("1/4-20 UNC-2B", "ISO", 0.5413),
            ("1/4-20 UNC-2A", "ISO", 0.6134),
            ("1/2 BSW", "Whitworth", 0.6403),
            ("G 1/2 A", "Whitworth", 0.6403),
            ("G 1/2 B", "Whitworth", 0.6403),
            ("R 1/2", "Whitworth", 0.6403),
            ("2 BA", "BA", 0.6),
            ("1/2 NPT", "NPT", 0.8),
            ("module 2", "worm 40", 2.25 / pi),
            ("DP 12", "worm 29", 0.6866),
        ],
    )
    def test_each_family(self, thread, form, share):
        depth = thread_depth(thread)
        assert form == depth.form
        assert share == pytest.approx(depth.share_of_pitch, abs=5.1e-5)

    def test_the_pitch_counts_and_not_the_lead(self):
        one, two = thread_depth("M16x1.5"), thread_depth("M16xPh3P1.5")
        assert one.depth_mm == two.depth_mm
        assert one.share_of_pitch == two.share_of_pitch

    @in_one(
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

    @in_one(
        ("thread", "internal"),
        [
            # metric and trapezoidal: a capital for the nut (ISO 965-1, ISO 2903); Unified: B (ASME B1.1); Acme: 2G is
            # that of the screw and of the nut (ASME B1.5); pipe threads: A and B are of the screw (ISO 228-1); all but
            # ISO 965-1 from memory
            ("M10-6g", False),
            ("M10-6H", True),
            ("M10-5H6H", True),
            ("M10-6G", True),
            ("M10-4g6g", False),
            ("Tr 40x7-7H", True),
            ("Tr 40x7-7e", False),
            ("1/4-20 UNC-2A", False),
            ("1/4-20 UNC-2B", True),
            ("1/2-10 Acme-2G", False),
            ("1/2-10 Acme-3C", False),
            ("G 1/2 A", False),
            ("G 1/2 B", False),
            ("M10", False),
            ("1/2 BSW", False),
        ],
    )
    def test_the_class_says_screw_or_nut_as_its_family_has_it(self, thread, internal):
        assert thread_depth(thread).internal is internal

    def test_internal_can_be_said(self):
        assert thread_depth("M10", internal=True).depth_mm == thread_depth("M10-6H").depth_mm
        assert thread_depth("M10-6H", internal=False).depth_mm == thread_depth("M10").depth_mm

    def test_a_pitch_alone_has_no_form(self):
        with pytest.raises(NotPossibleError, match=r"1\.5 mm says how far from thread to thread, .* form='ISO'"):
            thread_depth("1.5 mm")
        assert thread_depth("1.5 mm", form="iso").depth_mm == thread_depth("M10").depth_mm

    def test_no_such_form(self):
        with pytest.raises(UnknownNameError, match="'ISO', 'National', 'sharp V'"):
            thread_depth("M10", form="buttress")

    def test_no_thread(self):
        with pytest.raises(ThreadTextError):
            thread_depth("banana")

    def test_memory_is_owned_up_to(self):
        assert "second-hand" in str(thread_depth("M10"))
        assert "from memory" in str(thread_depth("2 BA"))
        assert "from memory" not in str(thread_depth("1/2 BSW"))
        assert "from memory" in thread_depth("module 2")._repr_html_()

    def test_both_units_and_the_diameter(self):
        # 10 tpi Acme: half of 0.1 in and 0.010 in are 0.060 in; on the diameter 0.120 in
        depth = thread_depth("1/2-10 Acme")
        assert "1.524 mm (0.06 in)" in str(depth)
        assert depth.on_diameter_mm == pytest.approx(0.120 * 25.4)


# How far the pitch line lies below the blank, in pitches, and half the thread angle: half of d - d2 as the standards
# have it. d2 = d - 0.649519 P (ISO 724), d - 0.640327 P (BS 84), d - 0.6 P (BS 93), d - 0.5 P (ISO 2904, ASME B1.5),
# 0.8 P (ASME B1.20.1, from memory); of a nut half of d2 - D1, D1 = D - 1.082532 P (ISO 724).
PITCH_LINE = {
    "M10": (0.649519 / 2, 30),
    "1/4-20": (0.649519 / 2, 30),
    "M10-6H": ((1.082532 - 0.649519) / 2, 30),
    "1/2 BSW": (0.640327 / 2, 27.5),
    "G 1/2": (0.640327 / 2, 27.5),
    "2 BA": (0.3, 23.75),
    "1/2 NPT": (0.4, 30),
    "Tr 40x7": (0.25, 15),
    "1/2-10 Acme": (0.25, 14.5),
    "module 2": (1 / pi, 20),
}
POINTED = tuple(name for name in PITCH_LINE if name[0] not in "Tm" and "Acme" not in name)


def half_width(height: float, phi_deg: float, radius: float = 0, flat: float = 0) -> float:
    """Half the width of the tool, so far above its lowest point: a circle that runs into straight flanks, or a flat."""
    phi = radians(phi_deg)
    up = radius - radius * cos(pi / 2 - phi)  # where the circle and the flank touch
    if height < up:
        return sqrt(height * (2 * radius - height))
    return flat / 2 + radius * cos(phi) + (height - up) * tan(phi)


class TestTheDrawnProfile:
    """The tool drawn at the depth that is said: at the pitch line its groove is half a pitch wide, as it has to be."""

    @pytest.mark.parametrize("name", POINTED)
    @given(share=st.floats(0, 0.12), kind=st.sampled_from(["radius", "flat"]))
    def test_any_point_has_its_flanks_in_place(self, name, share, kind):
        pitch = float(Thread.parse(name).pitch)
        point = {kind: share * pitch}
        depth = thread_depth(name, **{f"{kind}_mm": share * pitch})
        line, phi = PITCH_LINE[name]
        assert half_width(depth.depth_mm - line * pitch, phi, **point) == pytest.approx(pitch / 4, abs=2e-6 * pitch)

    @in_one("name", PITCH_LINE)
    def test_the_form_has_too_with_the_point_that_is_said(self, name):
        depth = thread_depth(name)
        pitch, (line, phi) = float(depth.thread.pitch), PITCH_LINE[name]
        above = depth.depth_mm - line * pitch
        assert half_width(above, phi, flat=depth.form_flat_mm) == pytest.approx(pitch / 4, abs=2e-6 * pitch)
        if name in POINTED:
            assert half_width(above, phi, radius=depth.form_radius_mm) == pytest.approx(pitch / 4, abs=2e-6 * pitch)

    def test_metric_by_hand(self):
        # 7H/8 - r with H = 1.299038 for P = 1.5: 1.136658 sharp, 1.086658 with 0.05; H/6 = 0.216506 gives 17H/24.
        assert thread_depth("M10", radius_mm=0).depth_mm == pytest.approx(1.136658, abs=1e-6)
        assert thread_depth("M10", radius_mm="0.05").depth_mm == pytest.approx(1.086658, abs=1e-6)
        assert thread_depth("M10").form_radius_mm == pytest.approx(0.216506, abs=1e-6)
        assert thread_depth("M10").sharp_mm == thread_depth("M10", flat_mm=0).depth_mm
        # A flat of P/8, as wide as the crest: H/8 less, 3H/4.
        assert thread_depth("M10", flat_mm=Fraction(3, 16)).depth_mm == pytest.approx(0.974279, abs=1e-6)

    def test_radii_that_are_published(self):
        # Whitworth r = 0.1373 P, BA r = 2 P / 11, National and internal metric flat P/8: from memory
        assert thread_depth("10 tpi", form="Whitworth").form_radius_mm / 2.54 == pytest.approx(0.1373, abs=1e-4)
        assert thread_depth("0 BA").form_radius_mm == pytest.approx(2 / 11, abs=1.1e-3)
        assert thread_depth("10 tpi", form="National").form_flat_mm / 2.54 == pytest.approx(0.125)
        assert thread_depth("M10-6H").form_flat_mm / 1.5 == pytest.approx(0.125)

    def test_ends_of_worm_and_acme_tools(self):
        # Acme point 0.3707 P - 0.0052 in (from memory); 29 degree worm tool 0.31 P wide at its end (Jones, p. 160)
        assert thread_depth("1/2-10 Acme").form_flat_mm / 25.4 == pytest.approx(0.3707 / 10 - 0.0052, abs=5e-5)
        assert thread_depth("DP 12").form_flat_mm / float(Thread.parse("DP 12").pitch) == pytest.approx(0.31, abs=5e-4)


@in_one(
    ("thread", "form", "said"),
    [
        ("16 tpi", "sharp V", "the whole sharp height H"),
        ("M10", None, "17/24 of the sharp height H"),
        ("Tr 40x7", None, "half the pitch and 0.5 mm"),
        ("module 2", None, "2.25 of the module"),
        ("2 BA", None, "0.6 of the pitch"),
    ],
)
def test_the_share_that_each_standard_gives_is_said(thread, form, said):
    assert thread_depth(thread, form=form).formula == said


def test_of_a_thing_it_shows_what_was_asked_and_what_came_of_it():
    meant = gc.setup(gc.demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi")
    for made, further in (
        (thread_depth("M10"), ("sharp_mm", "form_mm")),
        (gc.judge_measurement("1.25 mm", 10, 12.6, 0.25), ("also_possible",)),
        (gc.explain_wrong_lead(meant, "1.5875", 0)[0], ("Setup(",)),
    ):
        assert not any(word in repr(made) for word in further)
    assert repr(thread_depth("M10")).count("thread_angle_deg") == 1  # that of the thread


class TestAPointOfOnesOwn:
    def test_what_is_said(self):
        said = str(thread_depth("M10"))
        assert "for a point rounded to 0.217 mm; a sharp one 1.137 mm" in said
        assert "1.087 mm" in str(thread_depth("M10", radius_mm=0.05))
        assert "less 0.05 mm for the point" in str(thread_depth("M10", radius_mm=0.05))
        assert str(thread_depth("M10", radius_mm=0)).endswith("for a sharp point")
        assert "with a sharp point" in thread_depth("M10")._repr_html_()
        assert "a point 0.094 mm wide" in str(thread_depth("M6-6H", flat_mm=0.09375))

    @in_one(
        ("thread", "form", "point", "said"),
        [
            # what a sharp point cuts, in heights: 1/2 + addendum; less r (1/sin φ − 1) or f / (2 tan φ) for the point
            ("16 tpi", "sharp V", {"radius_mm": "0.1"}, "the whole sharp height H less 0.1 mm for the point"),
            ("M10", None, {"flat_mm": 0}, "7/8 of the sharp height H"),
            ("1/2 BSW", None, {"flat_mm": 0}, "5/6 of the sharp height H"),
            ("10 tpi", "National", {"flat_mm": "0.1"}, "7/8 of the sharp height H less 0.087 mm for the point"),
            ("2 BA", None, {"radius_mm": "0.05"}, "0.764 of the sharp height H less 0.074 mm for the point"),
            ("1/2 NPT", None, {"radius_mm": 0}, "0.9619 of the sharp height H"),
            (
                "M10",
                None,
                {"radius_mm": "0.05", "units": "inch"},
                "7/8 of the sharp height H less 0.002 in for the point",
            ),
        ],
    )
    def test_the_depth_is_said_in_sharp_heights(self, thread, form, point, said):
        assert thread_depth(thread, form=form, **point).formula == said

    @in_one("form", ["ISO", "National", "sharp V", "Whitworth", "BA", "NPT", "Acme", "worm 29", "worm 40"])
    def test_no_form_is_deeper_than_a_sharp_point_is_said_to_go(self, form):
        """Below a pitch of some 0.18 mm the clearance of an Acme thread would reach beyond the tip of its flanks."""
        for pitch in ("0.05 mm", "0.1 mm", "0.2 mm", "1 mm", "30 mm"):
            for internal in (False, True):
                depth = thread_depth(pitch, form=form, internal=internal)
                assert depth.sharp_mm >= depth.form_mm > 0
                assert depth.form_flat_mm >= 0

    def test_a_flat_as_wide_as_the_pitch_leaves_nothing(self):
        with pytest.raises(NotPossibleError, match="a point of 1 mm does not go between the flanks of 1 mm"):
            thread_depth("1 mm", form="sharp V", flat_mm=1)
        assert thread_depth("1 mm", form="sharp V", flat_mm="0.999").depth_mm == pytest.approx(0.000866, abs=1e-6)

    @in_one(
        ("thread", "form", "point", "said"),
        [
            # by hand with H = 1.299038 mm: 17H/24, the same over cos 29.5°, 7H/8
            (
                "M10",
                None,
                {},
                [
                    "M10x1.5",
                    "ISO, external: 17/24 of the sharp height H",
                    "0.92 mm (0.0362 in), for a point rounded to 0.217 mm",
                    "1.137 mm (0.0448 in)",
                    "0.6134",
                    "1.84 mm (0.0725 in)",
                    "1.057 mm (0.0416 in)",
                ],
            ),
            # half of 7 mm and 0.5; 2.294 mm wide at its bottom, see below; over cos 14.5°
            (
                "Tr 40x7",
                None,
                {"flat_mm": 2},
                [
                    "Tr 40x7",
                    "trapezoidal, external: half the pitch and 0.5 mm",
                    "4 mm (0.1575 in), for a point 2 mm wide",
                    "0.294 mm (0.0116 in)",
                    "0.5714",
                    "8 mm (0.315 in)",
                    "4.132 mm (0.1627 in)",
                ],
            ),
            (
                "Tr 40x7-7H",
                None,
                {"units": "inch"},
                [
                    "Tr 40x7-7H",
                    "trapezoidal, internal: half the pitch and 0.5 mm",
                    "0.1575 in (4 mm), for a point 0.0903 in wide",
                    "0.5714",
                    "0.315 in (8 mm)",
                    "0.1627 in (4.132 mm)",
                ],
            ),
        ],
    )
    def test_as_a_table(self, thread, form, point, said):
        depth = thread_depth(thread, form=form, **point)
        shown = depth._repr_html_()
        assert second_column(shown.replace("\u202f", " ")) == [*said, markup.in_html(depth.source)]
        assert ("sideways at full depth" in shown) == bool(point.get("flat_mm"))

    @in_one(
        ("thread", "form", "point", "said"),
        [
            (
                "16 tpi",
                "sharp V",
                {},
                ("16 tpi: 1.375 mm (0.0541 in) deep (the whole sharp height H, sharp V form), for a sharp point"),
            ),
            (
                "1/2 BSW",
                None,
                {},
                (
                    "1/2 BSW: 1.355 mm (0.0534 in) deep (2/3 of the sharp height H, BS 84), for a point "
                    "rounded to 0.291 mm; a sharp one 1.694 mm"
                ),
            ),
            (
                "2 BA",
                None,
                {"radius_mm": 0},
                (
                    "2 BA: 0.703 mm (0.0277 in) deep (0.764 of the sharp height H, BS 93, from "
                    "memory), for a sharp point"
                ),
            ),
            (
                "M10",
                None,
                {"radius_mm": "0.3"},
                (
                    "M10x1.5: 0.837 mm (0.0329 in) deep (7/8 of the sharp height H less 0.3 "
                    "mm for the point, ISO 68-1, second-hand), for a point rounded to 0.3 mm; blunter "
                    "than a point rounded to "
                    "0.217 mm, which the form has: the mating thread may foul at the bottom"
                ),
            ),
            (
                "Tr 40x7",
                None,
                {"flat_mm": 2},
                (
                    "Tr 40x7: 4 mm (0.1575 in) deep (half the pitch and 0.5 mm, ISO 2904, from "
                    "memory), for a point 2 mm wide, and 0.294 mm sideways"
                ),
            ),
            (
                "Tr 40x7",
                None,
                {},
                (
                    "Tr 40x7: 4 mm (0.1575 in) deep (half the pitch and 0.5 mm, ISO 2904, from memory), "
                    "for a point 2.294 mm wide"
                ),
            ),
        ],
    )
    def test_in_one_line(self, thread, form, point, said):
        assert str(thread_depth(thread, form=form, **point)) == said

    @in_one(
        ("thread", "form", "said"),
        [
            ("M6", None, "a point rounded to 0.144 mm"),
            ("M6-6H", None, "a point 0.125 mm wide"),
            ("1/2 BSW", None, "a point rounded to 0.291 mm"),
            ("4 BA", None, "a point rounded to 0.119 mm"),
            ("Tr 40x7", None, "a point 2.294 mm wide"),
            ("16 tpi", "sharp V", "a sharp point"),
        ],
    )
    def test_the_forms_own_is_rounded_flat_or_sharp(self, thread, form, said):
        # H/6 and P/8 of ISO 68-1; 0.1373 P of BS 84; 2/11 P of BS 93 (from memory); the drawing of ISO 2904, by hand
        assert str(thread_depth(thread, form=form)).partition(", for ")[2].partition(";")[0] == said

    def test_blunter_than_the_form_is_warned_of(self):
        assert "may foul" in str(thread_depth("M10", radius_mm=0.3))
        assert "may foul" not in str(thread_depth("M10", radius_mm=0.2))
        assert "may foul" in str(thread_depth("16 tpi", form="sharp V", radius_mm=0.1))
        assert "may foul" not in str(thread_depth("1/2 NPT"))

    def test_a_flat_bottom_is_widened_sideways(self):
        whole, narrow = thread_depth("Tr 40x7"), thread_depth("Tr 40x7", flat_mm=2)
        assert narrow.depth_mm == whole.depth_mm == 4
        # gap at the pitch line 3.5, bottom 2.25 mm below it: 3.5 - 4.5 tan 15 = 2.2942
        assert narrow.sideways_mm == pytest.approx(3.5 - 4.5 * tan(radians(15)) - 2)
        assert "0.294 mm sideways" in str(narrow)
        assert whole.sideways_mm == 0
        assert thread_depth("M10", flat_mm=0.1).sideways_mm == 0

    @pytest.mark.parametrize("form", ["trapezoidal", "Acme", "worm 29", "worm 40"])
    def test_a_sharp_point_goes_sideways_whichever_way_it_is_said(self, form):
        by_radius, by_flat = (thread_depth("2 mm", form=form, **sharp) for sharp in ({"radius_mm": 0}, {"flat_mm": 0}))
        assert by_radius.sideways_mm == by_flat.sideways_mm > 0.4
        assert str(by_radius) == str(by_flat)

    @in_one("name", ["Tr 40x7", *(f"1-{tpi} Acme" for tpi in range(4, 16)), "module 3", "DP 7"])
    def test_a_point_as_wide_as_is_said_goes_in(self, name):
        with pytest.raises(NotPossibleError) as refused:
            thread_depth(name, flat_mm=50)
        said = re.search(r"which is ([\d.]+) mm wide", str(refused.value))[1]
        assert thread_depth(name, flat_mm=said).sideways_mm < 0.001

    def test_an_acme_thread(self):
        with pytest.raises(NotPossibleError, match="the gap of an Acme thread"):
            thread_depth("1/2-10 Acme", radius_mm=1)

    @pytest.mark.parametrize("name", ["Tr 40x7", "1/2-10 Acme", "module 2", "DP 12"])
    def test_a_flat_bottom_wants_a_flat_point_that_goes_in(self, name):
        bottom = thread_depth(name).form_flat_mm
        with pytest.raises(NotPossibleError, match="flat bottom"):
            thread_depth(name, radius_mm=0.1)
        with pytest.raises(NotPossibleError, match="does not go to the bottom"):
            thread_depth(name, flat_mm=bottom + 0.01)
        assert thread_depth(name, flat_mm=bottom).sideways_mm == pytest.approx(0)

    @in_one("wrong", [-0.1, 1001, float("nan"), "x", [1], True])
    @in_one("kind", ["radius_mm", "flat_mm"])
    def test_no_point(self, kind, wrong):
        with pytest.raises(ValueOutOfRangeError):
            thread_depth("M10", **{kind: wrong})

    def test_not_both(self):
        with pytest.raises(ValueOutOfRangeError, match="not both"):
            thread_depth("M10", radius_mm=0.1, flat_mm=0.1)

    def test_a_point_that_does_not_go_between_the_flanks(self):
        # r cos² 30 / sin 30 = 1.5 r above the tip touches the flanks; at 7H/8 = 1.1367 mm that is the surface.
        assert thread_depth("M10", radius_mm=0.75).depth_mm > 0
        for blunt in ({"radius_mm": 0.76}, {"flat_mm": 1.32}):
            with pytest.raises(NotPossibleError, match="between the flanks"):
                thread_depth("M10", **blunt)


class TestTheSettingOfTheSlide:
    """Half the angle of the form or half a degree less (common practice, no source)."""

    @in_one(
        ("name", "degrees"),
        [
            ("M10", 29.5),
            ("1/4-20 UNC", 29.5),
            ("1/2 NPT", 29.5),
            ("1/2 BSW", 27),
            ("G 1/2", 27),
            ("2 BA", 23.25),
            ("1/2-10 Acme", 14),
            ("Tr 40x7", 14.5),
            ("DP 12", 14),
            ("module 2", 19.5),
        ],
    )
    def test_by_form(self, name, degrees):
        depth = thread_depth(name)
        assert depth.compound_deg == degrees
        assert depth.infeed_mm() == compound_infeed(depth.depth_mm, degrees)
        assert f"top slide at {degrees:g}°" in depth._repr_html_()
        assert depth.step_mm(degrees) == 0

    @pytest.mark.parametrize(
        ("name", "degrees"), [("1/2 BSW", 29.5), ("1/2-10 Acme", 29.5), ("M10", 30.5), ("M10", 30)]
    )
    def test_steps_of_a_slide_that_is_too_steep(self, name, degrees):
        """Pass after pass the tool is drawn as it goes in: how far behind the last one's flank the others cut."""
        depth = thread_depth(name)
        phi, passes = depth.thread_angle_deg / 2, 400
        edges = []
        for n in range(1, passes + 1):
            deep = depth.depth_mm * n / passes
            edges.append(deep * tan(radians(degrees)) - half_width(deep, phi))
        assert edges[-1] - min(edges) == pytest.approx(depth.step_mm(degrees), abs=depth.depth_mm / passes)

    def test_by_hand(self):
        # depth (tan 29.5 - tan φ): 1.355 (0.56577 - 0.52057), 1.524 (0.56577 - 0.25862)
        assert thread_depth("1/2 BSW").step_mm(29.5) == pytest.approx(0.0613, abs=1e-4)
        assert thread_depth("1/2-10 Acme").step_mm(29.5) == pytest.approx(0.468, abs=1e-3)


class TestTheFamilyDecides:
    """An invented family of 60° has no form, tolerance or infeed until somebody gives it one."""

    CYCLE = Thread(
        "1/4-26 cycle", Fraction(127, 130), thread_angle_deg=Fraction(60), major_mm=Fraction(127, 20), family="cycle"
    )

    def test_no_form_of_another(self):
        with pytest.raises(NotPossibleError, match="no form is held here for cycle threads"):
            thread_depth(self.CYCLE)
        assert thread_depth(self.CYCLE, form="sharp V").depth_mm > 0


class TestCompoundInfeed:
    def test_straight_in(self):
        assert compound_infeed(0.92, 0) == 0.92

    @pytest.mark.parametrize("angle", [29, "29.5", 30, 60])
    def test_back_again(self, angle):
        assert compound_infeed(1.3, angle) * cos(radians(float(angle))) == pytest.approx(1.3)

    @in_one("wrong", [-1, 60.1, 90, *NOT_NUMBERS])
    def test_no_angle(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="top slide"):
            compound_infeed(1, wrong)

    @in_one("wrong", [0, -1, 1001, *NOT_NUMBERS])
    def test_no_depth(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="depth"):
            compound_infeed(wrong, 29.5)
