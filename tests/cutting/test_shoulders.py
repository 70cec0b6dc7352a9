"""Seconds to the shoulder: what is taken, what is refused, what is said."""

from __future__ import annotations

from fractions import Fraction
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import ThreadTextError, ValueOutOfRangeError
from gearcalc.cutting.turning import LEAST_SECONDS, speed_for_shoulder, time_to_shoulder
from gearcalc.finding.setups import setup
from gearcalc.lathes import demo_lathe
from gearcalc.threads import Thread

NOT_NUMBERS = (float("nan"), float("inf"), None, "x", True, [1], 10**400)


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
        assert time_to_shoulder(half, 60, 3).what == "lead 1.5 mm"
        fed = setup(demo_lathe("metric"), 40, 80, "fast", wanted="0.25 mm/rev")  # 1.5 / 6 = 0.25
        assert time_to_shoulder(fed, 60, 3).turns == 12.0

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

    def test_that_speed_is_rounded_down(self):
        assert "no faster than 12 rev/min" in time_to_shoulder("5 mm", 100, "2.1").notes[0]  # 12.6 rev/min
        assert "no faster than 1.2 rev/min" in time_to_shoulder("5 mm", 100, "0.21").notes[0]  # 1.26
        assert "no faster than 0.012 rev/min" in time_to_shoulder("5 mm", 100, "0.0021").notes[0]  # 0.0126

    def test_less_than_a_turn(self):
        assert "by hand" in time_to_shoulder("3 mm", 10, 2.9).notes[-1]
        assert not time_to_shoulder("3 mm", 10, 3).notes

    @pytest.mark.parametrize("wrong", [0, -1, 10_001, *NOT_NUMBERS])
    def test_no_speed(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="speed"):
            time_to_shoulder("M10", wrong, 4)

    @pytest.mark.parametrize("wrong", [0, -1, 10_001, *NOT_NUMBERS])
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
        if rpm <= 10_000:
            assert float(seconds) == pytest.approx(time_to_shoulder(thread, rpm, room).seconds)

    def test_a_lead_with_pi_in_it(self):
        # Module 1 moves π mm a turn: 10 mm in 5 s are 60·10/(5π) = 38.2 turns a minute.
        assert speed_for_shoulder("module 1", 10, 5) == pytest.approx(120 / 3.14159265358979)

    def test_the_usual_time(self):
        assert speed_for_shoulder("M10", 4.5) == 60 * 4.5 / (1.5 * LEAST_SECONDS)

    @pytest.mark.parametrize("wrong", [0, -1, 3601, *NOT_NUMBERS])
    def test_no_time(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="time to react"):
            speed_for_shoulder("M10", 4, wrong)
