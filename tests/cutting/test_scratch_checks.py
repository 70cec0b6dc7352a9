"""What to measure on the scratch pass: the numbers by hand, and that near pitches are told apart."""

from __future__ import annotations

from fractions import Fraction
from math import pi

import pytest

import gearcalc as gc
from gearcalc.basics.exact import PiMultiple
from gearcalc.cutting.measurements import READING_MM, scratch_check
from gearcalc.threads import standard_threads

INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")


def check(lathe, wanted):
    return scratch_check(gc.find_setups(lathe, wanted, count=1)[0])


class TestByHand:
    def test_twenty_tpi_against_a_quarter_millimetre_more(self):
        """20 threads in an inch, 25.4 mm; twenty pitches of 1.25 mm are 25 mm."""
        found = check(INCH, "20 tpi")
        assert (found.turns, found.inches, found.travel_mm) == (20, 1, Fraction(254, 10))
        assert {pitch.name: round(pitch.reads_mm, 6) for pitch in found.near}["1.25 mm"] == 25

    def test_one_and_a_quarter_millimetres(self):
        """20 tpi is 0.02 mm more a turn: ten turns make 0.2 mm of it, just twice what a reading may be off.

        Then 12.6 mm would be read of either, so it takes an eleventh; the next round number is 20, which is 25 mm.
        """
        found = check(METRIC, "1.25 mm")
        assert (found.turns, found.inches, found.travel_mm) == (20, None, Fraction(25))
        assert {pitch.name: round(pitch.reads_mm, 6) for pitch in found.near}["20 tpi"] == 25.4

    def test_just_twice_the_reading_is_not_enough(self):
        """20 tpi, 0.02 mm from 1.25 mm: one inch is 20 turns, 0.4 mm; two readings off are 0.2 mm."""
        assert check(INCH, "20 tpi").turns >= 11

    def test_halves_of_threads_take_two_inches(self):
        found = check(INCH, "11 1/2 tpi")
        assert (found.turns, found.inches, found.travel_mm) == (23, 2, Fraction(508, 10))

    def test_a_stand_in_is_measured_as_it_is_cut(self):
        """63·60/(50·80) on 8 tpi, low, cuts 125 ppm too long: 30.00375 mm in twenty turns, 15.001875 in ten."""
        setup = gc.setup(INCH, (63, 60), (50, 80), "low", wanted="1.5 mm")
        assert setup.lead_mm == Fraction(127, 40) * Fraction(63 * 60, 50 * 80) / 2
        found = scratch_check(setup)
        assert found.travel_mm == found.turns * setup.lead_mm
        assert "15 mm" in found.words

    def test_six_ba_stands_too_near_to_48_tpi(self):
        """0.53 mm is 0.16 per cent from 25.4/48."""
        found = check(INCH, "48 tpi")
        assert found.too_near == ("0.53 mm",)
        assert "Too near" in found.told_apart

    def test_a_feed(self):
        """0.24 mm a turn: 42 turns make 10 mm, so fifty, 12 mm; half as fine, and fifty are still enough to count."""
        found = check(METRIC, "0.24 mm/rev")
        assert (found.turns, found.travel_mm, found.near) == (50, 12, ())
        assert found.words == "50 turns of the spindle move the carriage 12 mm."
        fine = check(METRIC, "0.12 mm/rev")
        assert (fine.turns, fine.travel_mm) == (50, 6)
        assert fine.words.endswith("6 mm: read it on the slide's own dial, or with an indicator against it.")

    def test_a_cross_feed_moves_the_cross_slide(self):
        assert "cross slide" in check(INCH, "5 thou cross").words

    def test_a_multi_start_lead_is_said_in_turns(self):
        found = check(METRIC, "lead 1/2 in 2 starts")
        assert found.inches is None

    def test_nothing_wanted(self):
        found = scratch_check(gc.setup(INCH, 40, 80, "middle"))
        assert (found.turns, found.inches) == (16, 1)


@pytest.mark.parametrize("lathe", [INCH, METRIC], ids=["inch", "metric"])
@pytest.mark.parametrize(
    "wanted", ["0.5 mm", "0.8 mm", "1 mm", "1.5 mm", "1.75 mm", "3 mm", "6 mm", "32 tpi", "28 tpi", "16 tpi", "8 tpi",
               "4 tpi", "19 tpi", "module 1", "M10", "1/2 BSW", "2 BA"],
)  # fmt: skip
def test_every_standard_pitch_reads_differently(lathe, wanted):
    """All that the tables list, by plain floats: over so many turns at least two readings away, or named too near."""
    found = check(lathe, wanted)
    travel, cut = float(found.travel_mm), float(found.travel_mm) / found.turns
    assert found.near
    for thread in standard_threads():
        lead = float(thread.lead.coefficient) * pi if isinstance(thread.lead, PiMultiple) else float(thread.lead)
        if abs(lead / cut - 1) > 0.005:
            assert abs(found.turns * lead - travel) > 2 * float(READING_MM) + 1e-9, thread
        elif abs(lead / cut - 1) > 0.0006:
            assert found.too_near, thread
    assert 10 <= travel <= 60


@pytest.mark.parametrize("lathe", [INCH, METRIC], ids=["inch", "metric"])
@pytest.mark.parametrize("wanted", ["M3", "M8", "M10", "1.25 mm", "20 tpi", "13 tpi", "26 tpi", "2 BA", "module 1"])
def test_card_and_proof_have_one_rule(lathe, wanted):
    """Cut as meant and read off by as much as a reading may be, either way: no neighbour on the card fits as well."""
    setup = gc.find_setups(lathe, wanted, count=1)[0]
    found = scratch_check(setup)
    for off in (-READING_MM, 0, READING_MM):
        judged = gc.judge_measurement(f"{setup.lead_mm} mm", found.turns, found.turns * setup.lead_mm + off, READING_MM)
        for pitch in found.near:
            assert not float(judged.lead_from_mm) - 1e-12 <= pitch.lead_mm <= float(judged.lead_to_mm) + 1e-12, pitch
