"""Threads per inch as a thread gauge finds them: 25.4 mm over the pitch, however many starts; everywhere."""

from __future__ import annotations

import re
from fractions import Fraction
from math import pi

import pytest

import gearcalc as gc
from gearcalc.learning.explorers.first_lessons import ask_view, cut_view
from gearcalc.papers.change_cards import change_card
from tests.how_much import in_one

# By hand: 25.4/1.5; 25.4/(1.5 π); 25.4/7; 25.4/(1/8 in); 25.4/2.
GAUGED = {
    "M16xPh3P1.5": 16.933,
    "module 1.5 2 starts": 5.39,
    "Tr 40x14(P7)": 3.629,
    "lead 3/8 in 3 starts": 8,
    "lead 6 mm 3 starts": 12.7,
}
LATHES = {"inch": gc.demo_lathe("inch"), "metric": gc.demo_lathe("metric")}
SCREWS = {"inch": 8, "metric": 8.467}
SAID = re.compile(r"(\d+(?:\.\d+)?)(?:\s|\u202f|&#8239;|\\,\\mathrm\{)*(?:tpi|threads per inch)")


def best(lathe, thread):
    return gc.find_setups(LATHES[lathe], thread, count=1, must_fit=False)[0]


def everything_said(lathe_name, thread):
    """Whatever text the package makes of a setup for this thread that speaks of its lead."""
    lathe, setup = LATHES[lathe_name], best(lathe_name, thread)
    wanted = gc.Thread.parse(thread)
    lead = float(setup.lead_mm)
    judged = gc.judge_measurement(wanted, 10, round(10 * lead, 3), "0.01")
    wrong = gc.explain_wrong_lead(setup, lead, "0.001")
    yield from (wanted.written, wanted._repr_html_(), wanted._repr_latex_())
    yield from (setup, setup._repr_html_(), setup._repr_latex_())
    yield from (gc.derive(setup), gc.dial(lathe, setup), gc.dial(lathe, setup)._repr_html_())
    yield gc.dial(lathe, wanted)
    yield from (line for line in str(change_card(lathe, to=setup)).splitlines() if "lead" in line)
    yield cut_view(lathe, setup).picture.description
    yield judged._repr_html_()
    yield from (found for found in wrong if found.kind in ("nothing wrong", "wrong hand"))


@in_one("lathe", LATHES)
@in_one(("thread", "gauged"), GAUGED.items())
class TestOfSeveralStarts:
    def test_nothing_else_is_said_anywhere(self, lathe, thread, gauged):
        near = best(lathe, thread)
        off = abs(near.error_ppm) * 1e-6 * gauged + 0.0011  # both sides rounded
        for shown in map(str, everything_said(lathe, thread)):
            for said in map(float, SAID.findall(shown)):
                assert abs(said - gauged) <= off or said == SCREWS[lathe], shown

    def test_it_is_said(self, lathe, thread, gauged):
        starts = gc.Thread.parse(thread).starts
        assert f"({starts} starts, " in str(gc.Thread.parse(thread).written)
        for shown in (best(lathe, thread), best(lathe, thread)._repr_html_()):
            assert any(abs(float(said) - gauged) < 0.02 for said in SAID.findall(str(shown)))

    def test_in_the_tables(self, lathe, thread, gauged):
        near = best(lathe, thread)
        shown = [row["threads per inch"] for row in ask_view(LATHES[lathe], thread=thread, count=1).facts]
        shown += [cut_view(LATHES[lathe], near).facts[0]["threads per inch"]]
        for cell in shown:
            assert float(cell) == pytest.approx(gauged, abs=0.02)
        row = gc.find_setups(LATHES[lathe], thread, count=1)._repr_html_()
        assert any(abs(float(cell) - gauged) < 0.02 for cell in re.findall(r">(?:≈\s)?(\d+\.?\d*)</td>", row))


def test_one_start_is_as_ever():
    assert str(gc.Thread.parse("16 tpi").written) == "16 tpi: lead 1.5875 mm (16 tpi)"


def test_gears_alone_know_no_starts():
    """Without a thread that is wanted, 40/80 at high on 8 tpi is told by its lead: 25.4 over it."""
    setup = gc.setup(LATHES["inch"], 40, 80, "middle")
    assert "16 tpi" in str(setup)
    assert setup.starts == 1


def test_by_hand():
    assert {
        name: round(25.4 / pitch, 2) for name, pitch in {"module": 1.5 * pi, "metric": 1.5, "trapezoidal": 7}.items()
    } == {"module": 5.39, "metric": 16.93, "trapezoidal": 3.63}
    assert gc.Thread.parse("Tr 40x14(P7)").lead_mm == Fraction(14)
