"""How a lead by itself is said, and whether it is an inch one: by the tables of the standards, and read back."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from gearcalc.basics.exact import PiMultiple, is_inch, threads_per_inch
from gearcalc.basics.writing import ends
from gearcalc.cutting.mistaken_leads import mistaken_leads
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.learning.exercises.benches import said
from gearcalc.threads import Thread, standard_threads
from gearcalc.threads.designations import lead_name
from tests.how_much import in_one

INCH_MM = Fraction(127, 5)
eighths = st.integers(8, 800).map(lambda count: INCH_MM / Fraction(count, 8))
short_decimals = st.integers(10, 20_000).map(lambda count: Fraction(count, 1000))
worms = st.integers(1, 100).map(lambda count: PiMultiple(Fraction(count, 20)))


class TestTheStandards:
    """The tables of data/ say of each thread which system it belongs to; its pitch alone tells the same."""

    @in_one("thread", standard_threads())
    def test_inch_families_have_inch_pitches(self, thread):
        per_inch = thread.family in ("Unified", "Whitworth", "BSP", "NPT", "Acme")
        assert per_inch == lead_name(thread.pitch).endswith(" tpi") == (threads_per_inch(thread.pitch) is not None)
        assert per_inch == is_inch(thread.pitch)

    # ISO 261: M5 has 0.8 mm, M2 0.4 mm. In an inch that is 31 3/4 and 63 1/2, which nobody says.
    @pytest.mark.parametrize("pitch", ["0.8", "0.4", "0.2", "0.1"])
    def test_a_metric_pitch_that_goes_evenly_into_quarters_of_a_thread_stays_metric(self, pitch):
        lead = Fraction(pitch)
        assert lead_name(lead) == said(lead) == f"{pitch} mm"
        assert (
            Lathe.from_toml(f'name = "A"\nleadscrew.lead = "{pitch} mm"\ngears.teeth = [40]')
            .to_toml()
            .count(f'lead = "{pitch} mm"')
        )

    def test_the_mistakes_for_a_metric_pitch_are_inch_ones(self):
        words = [mistake.words for mistake in mistaken_leads(demo_lathe("metric"), Fraction(4, 5))]
        assert words
        assert all(each.endswith(("instead of those of 0.8 mm.", "this is one with a lead of 3 mm.")) for each in words)
        same_number = "Inch and metric mixed up: the gears of 31.75 mm instead of those of 0.8 mm."  # 0.8 tpi
        assert [each for each in words if each.count(" tpi") != 1] == [same_number]


class TestReadBack:
    @given(eighths | short_decimals | worms)
    def test_the_name_of_a_lead_is_a_thread_of_that_lead(self, lead):
        assert Thread.parse(lead_name(lead)).lead == lead

    # What is neither whole threads in an inch nor a short decimal, an exercise rounds: 8/15 mm is ≈ 0.5333 mm there.
    @given((eighths | short_decimals).filter(lambda lead: threads_per_inch(lead) is not None or ends(lead, 4)))
    @example(INCH_MM / 8)
    def test_every_room_says_the_same(self, lead):
        lathe = Lathe.from_toml(f'name = "A"\nleadscrew.lead = "{lead} mm"\ngears.teeth = [40]')
        assert said(lead) == lead_name(lead) == lead_name(lathe.leadscrew_lead_mm)
        assert f'lead = "{lead_name(lead)}"' in lathe.to_toml()

    @in_one(
        ("lead", "name"),
        [
            (Fraction(508, 85), "4 1/4 tpi"),
            (Fraction(1016, 115), "2 7/8 tpi"),
            (Fraction(127, 40), "8 tpi"),
            (Fraction(254, 5), "50.8 mm"),
            (Fraction(80, 63), "80/63 mm"),
            (PiMultiple(INCH_MM / 8), "DP 8"),
            (PiMultiple(Fraction(3, 2)), "module 1.5"),
        ],
    )
    def test_by_hand(self, lead, name):
        assert lead_name(lead) == name
