"""Finish from feed and nose radius, seconds to the shoulder: what is taken, what is refused, what is said."""

from __future__ import annotations

from fractions import Fraction
from math import degrees, pi, sqrt

import pytest
from attrs import evolve
from hypothesis import assume, given
from hypothesis import strategies as st
from mpmath import mp

from gearcalc.basics import markup
from gearcalc.basics.errors import NotPossibleError, ThreadTextError, ValueOutOfRangeError
from gearcalc.basics.exact import PiMultiple
from gearcalc.cutting.turning import LEAST_SECONDS, feed_for_finish, finish, speed_for_shoulder, time_to_shoulder
from gearcalc.finding.setups import setup
from gearcalc.lathes import demo_lathe
from gearcalc.threads import Feed, Thread
from tests.cutting.shown import second_column
from tests.how_much import in_one


def html_rows(made: object) -> list[str]:
    """What stands in the second column of the table."""
    return second_column(made._repr_html_().replace("\u202f", " "))


NOT_NUMBERS = (float("nan"), float("inf"), None, "x", True, [1], 10**400)


class TestFinish:
    @in_one("feed", [0.2, "0.2", Fraction(1, 5), "0.2 mm/rev", "0.2 mm/rev cross", Feed("0.2")])
    def test_whatever_says_a_fifth_of_a_millimetre(self, feed):
        # by hand: 0.2² / (8 · 0.8) = 0.00625
        assert finish(feed, "0.8").usual_rt_um == 6.25

    def test_a_setup_counts_with_what_its_gears_give(self):
        # 3 mm · 20/60 · 1/4 = 0.25 mm by the half-nuts, by the feed drive a sixth of it
        train = (demo_lathe("metric"), 20, 60, "slow")
        assert finish(setup(*train, wanted="0.05 mm/rev"), 1).feed_mm == Fraction(1, 24)
        assert finish(setup(*train), 1).feed_mm == Fraction(1, 4)

    def test_the_widest_feed_leaves_half_circles(self):
        made = finish(2, 1)
        assert made.rt_um == 1000.0
        assert made.edge_angle_deg == 90.0
        # A half circle of radius 1 lies π/4 of its radius high on average; Ra from |√(1−x²) − π/4| by Simpson's rule.
        steps = 200_000
        heights = [sqrt(1 - ((n + 0.5) / steps) ** 2) for n in range(steps)]
        mean = sum(heights) / steps
        assert 1000 * sum(abs(height - mean) for height in heights) / steps == pytest.approx(made.ra_um, rel=1e-5)

    @in_one("wrong", [0, -0.8, 1001, *NOT_NUMBERS])
    def test_no_nose(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="nose radius"):
            finish(0.1, wrong)

    def test_a_sharp_point_is_told_what_to_do(self):
        with pytest.raises(ValueOutOfRangeError, match="small radius with a stone"):
            finish(0.1, 0)

    @in_one("wrong", [0, -0.1, 101, *NOT_NUMBERS, PiMultiple(Fraction(1))])
    def test_no_feed(self, wrong):
        with pytest.raises((ValueOutOfRangeError, ThreadTextError)):
            finish(wrong, 200)

    def test_wider_than_the_nose(self):
        with pytest.raises(ValueOutOfRangeError, match=r"1\.61 mm is wider than the whole nose, .* 1\.6 mm across"):
            finish(1.61, 0.8)

    @pytest.mark.parametrize(("feed", "remarks"), [(0.4, 1), (0.41, 2)])
    def test_more_than_half_the_radius_is_remarked_on(self, feed, remarks):
        assert len(finish(feed, 0.8).notes) == remarks

    def test_it_shows_both_units(self):
        # 6.2746 µm / 25.4 = 0.24703 thousandths; 247 µin
        shown = finish(0.2, 0.8)._repr_html_()
        assert "6.27 µm (247 µin)" in shown.replace("\u202f", " ")
        assert "7.87" in shown  # thou in 0.2 mm

    def test_a_coarse_one_is_said_to_a_whole_millionth(self):
        made = evolve(finish(0.2, 0.8), units="inch")  # 12.34 and 123.4 over 0.0254
        assert (made.one_way(12.34), made.one_way(123.4)) == ("485.8 µin", "4858 µin")

    @in_one("share", [1e-6, 0.001, 0.0099, 0.0101, 0.05, 0.3, 0.7, 1.0])
    def test_the_mean_of_an_arc_is_as_it_is_drawn(self, share):
        """The distance from the mean line added up strip by strip, to thirty places, on either side of it."""
        with mp.workdps(30):
            s = mp.mpf(share)
            mean = mp.quad(lambda x: 1 - mp.sqrt(1 - x * x), [0, s / 2, s]) / s
            crossing = mp.sqrt(mean * (2 - mean))
            ra = mp.quad(lambda x: abs(1 - mp.sqrt(1 - x * x) - mean), [0, crossing, (crossing + s) / 2, s]) / s
        made = finish(2 * Fraction(share), 1)
        assert made.ra_um == pytest.approx(float(1000 * ra), rel=1e-8)
        assert made.edge_angle_deg == pytest.approx(degrees(float(mp.asin(s))))
        # for a short arc the parabola is all that counts; it is the deeper the longer the arc
        assert made.ra_um == pytest.approx(made.parabola_ra_um, rel=share**2 + 1e-9)
        assert made.parabola_ra_um == pytest.approx(1000 * 4 * share**2 / (18 * sqrt(3)))

    @in_one(
        ("feed", "units", "shown"),
        [
            # Rt = 0.8 - √(0.64 - f²/4), f²/6.4 and f²/25.6 by hand, Ra as it is reckoned above; over 0.0254 in µin
            (
                "0.2",
                "mm",
                [
                    "0.2 mm a turn (≈ 7.87 thou)",
                    "0.8 mm",
                    "6.27 µm (247 µin)",
                    "6.25 µm",
                    "1.61 µm (63.3 µin)",
                    "1.56 µm",
                ],
            ),
            (
                "0.5",
                "inch",
                [
                    "≈ 19.69 thou a turn (0.5 mm)",
                    "≈ 0.0315 in (0.8 mm)",
                    "1577.4 µin (40.1 µm)",
                    "1537.9 µin",
                    "402.6 µin (10.2 µm)",
                    "384.5 µin",
                ],
            ),
        ],
    )
    def test_as_a_table(self, feed, units, shown):
        made = evolve(finish(feed, "0.8"), units=units)
        assert html_rows(made) == shown
        assert all(note in made._repr_html_() for note in made.notes)

    def test_what_is_remarked_on_is_said_with_the_angle(self):
        # asin(0.5 / 1.6) = 18.21°
        assert finish("0.5", "0.8").notes[1] == (
            "The feed is more than 1/2 of the nose radius: for a finish take a finer feed or a larger nose (common "
            "practice, no source). The numbers hold only while the trailing edge stands clear of the work by 18.2° "
            "or "
            "more."
        )

    def test_in_one_line_either_unit_first(self):
        made = finish("0.254", "0.8")
        assert str(made) == "feed 0.254 mm, nose radius 0.8 mm: Rt 10.1 µm, Ra 2.6 µm (102.4 µin)"
        assert str(evolve(made, units="inch")) == (
            "feed 0.01 in (0.254 mm), nose radius ≈ 0.0315 in (0.8 mm): Rt 399.4 µin (10.1 µm), Ra 102.4 µin (2.6 µm)"
        )

    @in_one(
        ("um", "said"), [("99.5", "3917.3 µin"), ("100.5", "3957 µin"), (0, "0 µin"), ("0.001", "less than 0.1 µin")]
    )
    def test_from_a_hundred_micrometres_they_are_whole(self, um, said):
        assert evolve(finish("0.2", "0.8"), units="inch").one_way(um) == said

    @in_one("wrong", [-1, 10**9 + 1, "x"])
    def test_no_roughness_to_say(self, wrong):
        made = finish("0.2", "0.8")
        assert made.one_way(10**9)
        with pytest.raises(ValueOutOfRangeError, match="roughness"):
            made.one_way(wrong)

    def test_nothing_is_called_nothing(self):
        assert "Ra less than 0.001 µm (less than 0.1 µin)" in str(finish(0.001, 10))


class TestFeedForFinish:
    @given(
        nose=st.fractions("0.05", "10", max_denominator=100),
        most=st.fractions("0.05", "50", max_denominator=20),
        which=st.sampled_from(["ra_um", "rt_um"]),
    )
    def test_it_does_and_a_micrometre_more_would_not(self, nose, most, which):
        feed = feed_for_finish(nose, **{which: most}).travel_mm
        assert getattr(finish(feed, nose), which) <= most
        coarser = feed + Fraction(1, 1000)
        assert coarser > 2 * nose or getattr(finish(coarser, nose), which) > most

    def test_rt_by_hand(self):
        # true arcs: (f/2)² = 2 r Rt − Rt²; r = 0.8, Rt = 0.01: f = 2 √(0.016 − 0.0001) = 0.25219...
        assert feed_for_finish(0.8, rt_um=10).travel_mm == Fraction(252, 1000)

    @in_one(
        ("nose", "limit", "feed"),
        [
            # 2 √(2 r Rt − Rt²) is 282 mm with 1000 and 10, and no feed is over 100 mm; no arc is wider than the nose;
            # of half circles Rt is just the radius; 1 µm leaves 1.25 nm with a nose of 0.1 mm
            (1000, 10_000, 100),
            ("0.05", 10_000, "0.1"),
            (1, 1000, 2),
            (1, Fraction(99999, 100), "1.999"),
            ("0.1", "0.0013", "0.001"),
        ],
    )
    def test_at_the_ends(self, nose, limit, feed):
        assert feed_for_finish(nose, rt_um=limit).travel_mm == Fraction(feed)

    def test_no_feed_is_fine_enough(self):
        with pytest.raises(NotPossibleError, match=r"leaves Rt 0\.001 µm with a nose of 0\.1 mm"):
            feed_for_finish("0.1", rt_um="0.0012")
        with pytest.raises(NotPossibleError, match="ground or lapped"):
            feed_for_finish(0.1, rt_um=Fraction(1, 10**6))

    @pytest.mark.parametrize("both", [{}, {"ra_um": 1, "rt_um": 4}])
    def test_one_of_the_two(self, both):
        with pytest.raises(ValueOutOfRangeError, match="one of the two"):
            feed_for_finish(0.8, **both)

    @in_one("wrong", [0, -1, 10_001, *(n for n in NOT_NUMBERS if n is not None)])
    def test_no_roughness(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            feed_for_finish(0.8, ra_um=wrong)


class TestTimeToShoulder:
    def test_all_starts_count(self):
        # two starts of 1.5 mm: 3 mm a turn; 6 mm is two turns, at 120 a minute one second
        assert time_to_shoulder("M16xPh3P1.5", 120, 6).seconds == 1.0

    def test_threads_per_inch(self):
        # 8 tpi: 1/8 in a turn; 1/4 in is two turns, at 60 a minute two seconds
        assert time_to_shoulder("8 tpi", 60, "6.35").seconds == 2.0

    def test_a_worm(self):
        assert time_to_shoulder("module 1", 60, pi).seconds == pytest.approx(1.0)

    def test_a_feed_and_the_setup_for_it(self):
        assert time_to_shoulder("0.1 mm/rev", 300, 10).seconds == 20.0
        half = setup(demo_lathe("metric"), 40, 80, "fast")
        assert time_to_shoulder(half, 60, 3).turns == 2.0
        assert time_to_shoulder(half, 60, 3).what == "lead 1.5 mm (≈ 16.933 tpi)"
        fed = setup(demo_lathe("metric"), 40, 80, "fast", wanted="0.25 mm/rev")  # 1.5 / 6 = 0.25
        assert time_to_shoulder(fed, 60, 3).turns == 12.0

    @in_one(
        ("what", "said", "starts"),
        [
            ("1.5 mm", "1.5 mm", 1),
            ("M16xPh3P1.5", "M16xPh3P1.5", 2),
            ("0.1 mm/rev", "0.1 mm/rev", 0),
            (setup(demo_lathe("metric"), 40, 80, "fast"), "lead 1.5 mm (≈ 16.933 tpi)", 1),
            (setup(demo_lathe("metric"), 80, 40, "fast", wanted="lead 6 mm 3 starts"), "lead 6 mm 3 starts", 3),
            (setup(demo_lathe("metric"), 40, 80, "fast", wanted="0.25 mm/rev"), "0.25 mm/rev", 0),
        ],
    )
    def test_what_is_cut_and_with_how_many_starts(self, what, said, starts):
        run = time_to_shoulder(what, 60, 4)
        assert (run.what, run.starts, run.units) == (said, starts, "mm")

    def test_what_is_read_first_is_that_of_the_lathe_or_as_is_said(self):
        made = setup(demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi")
        asked = {None: "inch", "mm": "mm", "inch": "inch"}
        assert {units: time_to_shoulder(made, 60, 4, units).units for units in asked} == asked
        assert time_to_shoulder("16 tpi", 60, 4, "inch").units == "inch"
        with pytest.raises(ValueOutOfRangeError):
            time_to_shoulder("16 tpi", 60, 4, "thou")

    @in_one(
        ("what", "rpm", "room", "units", "rows", "line"),
        [
            # 1.5 mm × 100 / 60 = 2.5 mm/s; 2.5 / 3.175 = 0.787 turns, 0.79 s at 60 rev/min; 0.1 × 1234.568 / 60 = 2.06
            (
                "1.5 mm",
                100,
                "4.5",
                "mm",
                ["1.5 mm", "100 rev/min", "2.5 mm a second", "4.5 mm", "3", "1.8 s"],
                "1.5 mm at 100 rev/min: 4.5 mm takes 1.8 s, 3 turns",
            ),
            (
                "8 tpi",
                60,
                "2.5",
                "inch",
                ["0.125 in (3.175 mm)", "60 rev/min", "0.125 in a second", "≈ 0.09843 in (2.5 mm)", "0.79", "0.79 s"],
                "8 tpi at 60 rev/min: ≈ 0.09843 in (2.5 mm) takes 0.79 s, 0.79 turns",
            ),
            (
                "0.1 mm/rev",
                "1234.5678",
                "2.0006",
                "mm",
                ["0.1 mm", "1234.568 rev/min", "2.06 mm a second", "2.0006 mm", "20.01", "0.97 s"],
                "0.1 mm/rev at 1234.568 rev/min: 2.001 mm takes 0.97 s, 20.01 turns",
            ),
        ],
    )
    def test_how_it_is_shown(self, what, rpm, room, units, rows, line):
        run = time_to_shoulder(what, rpm, room, units)
        assert html_rows(run) == rows
        assert str(run).replace("\u202f", " ") == line
        assert all(markup.in_html(note) in run._repr_html_() for note in run.notes)

    @pytest.mark.parametrize(("rpm", "good"), [(120, True), (121, False)])
    def test_too_fast_is_said_with_the_speed_that_does(self, rpm, good):
        run = time_to_shoulder("1 mm", rpm, 4)  # 4 turns; two seconds at 120 a minute
        assert good == run.in_good_time
        assert good == (not run.notes)
        assert good or "no faster than 120 rev/min" in run.notes[0]

    @given(lead=st.fractions("0.1", "20", max_denominator=50), room=st.fractions("0.05", "10", max_denominator=50))
    def test_the_speed_that_is_said_leaves_the_time(self, lead, room):
        note = time_to_shoulder(Thread("thread", lead), 10_000, room).notes[0]
        said = Fraction(note.partition("no faster than ")[2].split()[0])
        assert said * lead * LEAST_SECONDS <= 60 * room
        assert said > 0

    @in_one(("what", "groove"), [("1.5 mm", True), ("0.5 mm/rev", False)])
    def test_a_feed_has_no_groove_to_widen(self, what, groove):
        notes = time_to_shoulder(what, 1000, "0.4").notes
        assert notes[0].endswith(", or make the groove wider.") == groove
        assert len(notes) == 1 + groove  # nor is its groove narrower than one turn's travel

    def test_that_speed_is_rounded_down(self):
        assert "no faster than 12 rev/min" in time_to_shoulder("5 mm", 100, "2.1").notes[0]  # 12.6 rev/min
        assert "no faster than 1.2 rev/min" in time_to_shoulder("5 mm", 100, "0.21").notes[0]  # 1.26
        assert "no faster than 0.012 rev/min" in time_to_shoulder("5 mm", 100, "0.0021").notes[0]  # 0.0126

    def test_less_than_a_turn(self):
        assert "by hand" in time_to_shoulder("3 mm", 10, 2.9).notes[-1]
        assert not time_to_shoulder("3 mm", 10, 3).notes

    @in_one("wrong", [0, -1, 10_001, *NOT_NUMBERS])
    def test_no_speed(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="speed"):
            time_to_shoulder("M10", wrong, 4)

    @in_one("wrong", [0, -1, 10_001, *NOT_NUMBERS])
    def test_no_room(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="room"):
            time_to_shoulder("M10", 60, wrong)

    @pytest.mark.parametrize("wrong", ["banana", "", "9" * 100])
    def test_no_thread(self, wrong):
        with pytest.raises(ThreadTextError):
            time_to_shoulder(wrong, 60, 4)


class TestSpeedForShoulder:
    @given(
        lead=st.fractions("0.1", "20", max_denominator=50),
        room=st.fractions("0.1", "50", max_denominator=50),
        seconds=st.fractions("0.1", "60", max_denominator=20),
    )
    def test_there_and_back(self, lead, room, seconds):
        thread = Thread("thread", lead)
        rpm = speed_for_shoulder(thread, room, seconds)
        assume(rpm <= 10_000)
        assert float(seconds) == pytest.approx(time_to_shoulder(thread, rpm, room).seconds)

    def test_a_lead_with_pi_in_it(self):
        # Module 1 moves π mm a turn: 10 mm in 5 s are 60·10/(5π) = 38.2 turns a minute.
        assert speed_for_shoulder("module 1", 10, 5) == pytest.approx(120 / 3.14159265358979)

    def test_the_usual_time(self):
        assert speed_for_shoulder("M10", 4.5) == 60 * 4.5 / (1.5 * LEAST_SECONDS)

    @pytest.mark.parametrize("thread", ["M10", "module 1"])
    def test_next_to_no_time_at_all(self, thread):
        with pytest.raises(ValueOutOfRangeError, match="so short a time"):
            speed_for_shoulder(thread, 10_000, Fraction(1, 10**310))

    @in_one("wrong", [0, -1, 3601, *NOT_NUMBERS])
    def test_no_time(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="time to react"):
            speed_for_shoulder("M10", 4, wrong)
