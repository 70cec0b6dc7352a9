"""The dial rule against a machine that knows no rule: pass after pass, does the tool land in its groove?"""

from __future__ import annotations

import html
import re
from fractions import Fraction
from random import Random

from hypothesis import assume, given
from hypothesis import strategies as st

from gearcalc.cutting.catching import dial, index_starts
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import setup
from gearcalc.lathes import Dial, DialGear, GearSet, Lathe, Leadscrew, demo_lathe
from gearcalc.threads import Thread, standard_threads
from tests.how_much import in_one
from tests.machines import Machine
from tests.strategies import dial_gears, lathes, leads, usual_screws

INCH = Fraction(127, 5)
ways = st.sampled_from([1, -1])
moves = st.tuples(st.fractions(0, 50, max_denominator=97), st.fractions(-200, 200, max_denominator=53))


@st.composite
def served(draw: st.DrawFn) -> tuple[Fraction, Fraction, DialGear]:
    """A lead, a leadscrew and a dial gear that mostly serves: its teeth are a multiple of the top of lead / screw."""
    gear, screw = draw(dial_gears), draw(usual_screws)
    threads = draw(st.sampled_from([n for n in range(1, gear.teeth + 1) if gear.teeth % n == 0]))
    return screw * threads / draw(st.integers(-(-threads // 3), threads + 24)), screw, gear


cases = served() | st.tuples(leads, usual_screws, dial_gears)  # a dial gear serves one lead in six or so of any


def lathe_with(screw: Fraction, gears: list[DialGear]) -> Lathe:
    return Lathe("Any lathe", Leadscrew(screw), GearSet([40, 80]), dial=Dial(gears))


def thread_of(lead: Fraction, starts: int = 1) -> Thread:
    return Thread("any thread", lead / starts, starts)


def machine(lead: Fraction, screw: Fraction, gear: DialGear, way: int = 1) -> Machine:
    return Machine(lead / screw, screw, lead, gear.teeth, gear.lines, way)


def as_read(verdict: str, gear: DialGear) -> tuple[int, list[int]]:
    """Where somebody at the dial closes first, and at which lines then, counted round from 1: by the words alone.

    Of two ways that the words offer the second is taken, the first pass begun at a line without a number.
    """
    apart = gear.lines // (gear.numbered or gear.lines)
    every = list(range(1, gear.lines + 1))
    numbered = every[::apart]
    words = verdict.split(" close ", 1)[1].rstrip(".")
    if words.startswith("only at the line first used") or words == "at its one line":
        return 1, [1]
    if words == "at any numbered line, or at any unnumbered one if the first pass began there":
        return 2, every[1::2]
    if words == "at any numbered line, for the first pass too":
        return 1, numbered
    if words in ("at any line", "at any line, numbered or not"):
        return 1, every
    how = re.match(r"at every (\d+)\w\w (numbered )?line", words)
    assert how is not None, words
    told = (numbered if how[2] else every)[:: int(how[1])]
    listed = re.search(r": (.*), (if the first was 1|counted from the first used)$", words)
    if listed:
        assert re.split(", | and ", listed[1]) == [name_of(line, gear.lines, apart) for line in told]
    return 1, told


def name_of(line: int, lines: int, apart: int) -> str:
    before = max(n for n in range(1, line + 1) if (n - 1) % apart == 0)
    if before == line:
        return str((line - 1) // apart + 1)
    number, after = (before - 1) // apart + 1, (before - 1 + apart) % lines // apart + 1
    nth = {1: "1st", 2: "2nd", 3: "3rd"}.get(line - before, f"{line - before}th")
    if number == after:
        return "the unnumbered line" if apart == 2 else f"the {nth} line after {number}"
    return f"the {'' if apart == 2 else nth + ' '}line between {number} and {after}"


def pass_and_return(lathe: Machine, cut: Fraction, crank: Fraction) -> None:
    """A pass of so many turns, half-nuts opened, and the carriage taken somewhere else by hand."""
    lathe.closed = True
    lathe.run(cut)
    lathe.open()
    lathe.crank(crank)


class TestAgainstTheMachine:
    @given(cases, ways, st.lists(moves, min_size=1, max_size=4), st.integers(0, 2**32))
    def test_every_line_that_serves_lands_and_every_other_misses(self, case, way, passes, seed):
        lead, screw, gear = case
        rule = dial(lathe_with(screw, [gear]), thread_of(lead))
        assume(not rule.keep_closed)
        run, chance = machine(lead, screw, gear, way), Random(seed)
        for cut, crank in passes:
            pass_and_return(run, cut, crank)
            for line in range(1, gear.lines + 1):
                run.wait_for(line, rounds=chance.randint(0, 3))
                if line in rule.lines:
                    assert run.can_close
                    assert run.in_the_groove
                else:
                    assert not (run.can_close and run.in_the_groove)
            run.wait_for(chance.choice(rule.lines))

    @given(cases, ways, st.lists(moves, min_size=1, max_size=3), st.integers(0, 2**32))
    def test_whoever_goes_by_the_words_lands_each_time(self, case, way, passes, seed):
        lead, screw, gear = case
        rule = dial(lathe_with(screw, [gear]), thread_of(lead))
        assume(not rule.keep_closed and not rule.anywhere and not rule.pulled_by_hand)
        run, chance = machine(lead, screw, gear, way), Random(seed)
        begun, lines = as_read(rule.verdict, gear)
        pass_and_return(run, Fraction(3), Fraction(-7))
        if begun > 1:  # nothing is cut before the first closing: there the machine is set to nought again
            run.wait_for(begun)
            assume(run.can_close)
            at = run.dial
            run = machine(lead, screw, gear, way)
            run.dial = at
        closed = 0
        for cut, crank in passes:
            pass_and_return(run, cut, crank)
            for line in lines:
                run.wait_for(line, rounds=chance.randint(0, 2))
                assert run.in_the_groove or not run.can_close
                closed += run.can_close
            run.wait_for(begun)
        assert closed

    @given(leads, usual_screws, dial_gears, ways)
    def test_kept_closed_only_where_each_line_sometimes_misses(self, lead, screw, gear, way):
        rule = dial(lathe_with(screw, [gear]), thread_of(lead))
        assume(rule.keep_closed)
        run = machine(lead, screw, gear, way)
        pass_and_return(run, Fraction(7), Fraction(-20))
        for line in range(1, gear.lines + 1):
            landed = []
            for _ in range(gear.teeth + 1):  # with no common measure it can't land each time it comes round
                run.wait_for(line, rounds=1)
                landed.append(run.can_close and run.in_the_groove)
            assert not all(landed)

    @given(leads, usual_screws, st.integers(0, 2000), ways, moves)
    def test_wherever_the_half_nuts_close(self, lead, screw, threads, way, move):
        gear = DialGear(16, 8)
        rule = dial(lathe_with(screw, [gear]), thread_of(lead))
        run = machine(lead, screw, gear, way)
        pass_and_return(run, *move)
        run.run(-run.dial * gear.teeth / run.ratio)  # to where it opened: no leadscrew threads gone by
        run.run(threads / run.ratio)
        assert run.can_close
        assert run.in_the_groove == rule.catches(threads)
        assert run.out_mm == rule.out_mm(threads)

    @given(leads, usual_screws)
    def test_the_groove_returns_first_where_it_says(self, lead, screw):
        rule = dial(lathe_with(screw, [DialGear(16, 8)]), thread_of(lead))
        assume(rule.threads <= 3000)
        walked = next(threads for threads in range(1, 3001) if (threads * screw / lead).denominator == 1)
        assert walked == rule.threads
        assert rule.spindle_turns * lead == rule.travel_mm == walked * screw

    @given(leads, usual_screws, st.integers(2, 8), st.integers(1, 500))
    def test_a_groove_of_another_start(self, lead, screw, starts, threads):
        rule = dial(lathe_with(screw, [DialGear(16, 8)]), thread_of(lead, starts))
        places = (threads * screw / (lead / starts)) % starts  # in pitches from its own groove
        assert rule.catches_another_start(threads) == (places.denominator == 1 and places != 0)

    @given(leads, usual_screws, st.lists(dial_gears, min_size=1, max_size=5))
    def test_no_gear_has_a_smaller_step_than_the_one_chosen(self, lead, screw, gears):
        rule = dial(lathe_with(screw, gears), thread_of(lead))
        alone = [dial(lathe_with(screw, [gear]), thread_of(lead)) for gear in gears]
        steps = [one.step for one in alone if not one.keep_closed]
        assert rule.step == min(steps, default=None)
        assert rule.keep_closed == all(one.keep_closed for one in alone)


class TestAnyLathe:
    @given(lathes(), st.sampled_from(standard_threads()))
    def test_it_always_says_what_to_do(self, lathe, thread):
        rule = dial(lathe, thread)
        assert rule.keep_closed == (not rule.anywhere and rule.gear_teeth is None)
        assert rule.when in rule.why
        assert (rule.step is None) == rule.keep_closed
        assert all(1 <= line <= rule.lines_on_dial for line in rule.lines)
        assert str(rule)
        assert html.escape(str(thread)) in rule._repr_html_()


class TestThousandsOfReEntries:
    @in_one(
        ("name", "text"),
        [("inch", "11 1/2 tpi"), ("inch", "10 tpi"), ("metric", "1.25 mm"), ("metric", "4 mm"), ("inch", "16 tpi")],
    )
    def test_it_never_splits_the_thread(self, name, text):
        lathe, chance = demo_lathe(name), Random(text)
        found = find_setups(lathe, text, count=1)[0]
        rule = dial(lathe, found)
        gear = next(gear for gear in lathe.dial.gears if gear.teeth == rule.gear_teeth)
        run = Machine(found.leadscrew_turns, lathe.leadscrew.lead, found.lead_mm, gear.teeth, gear.lines)
        for _ in range(2000):
            pass_and_return(run, Fraction(chance.randint(1, 900), 37), Fraction(-chance.randint(1, 9000), 91))
            run.wait_for(chance.choice(rule.lines), rounds=chance.randint(0, 2))
            assert run.can_close
            assert run.in_the_groove


class TestStandInTrains:
    @in_one(
        ("name", "text"),
        [("inch", "1 mm"), ("inch", "2 mm"), ("inch", "module 1"), ("metric", "13 tpi"), ("metric", "DP 20")],
    )
    def test_it_is_the_lead_that_the_gears_cut(self, name, text):
        lathe = demo_lathe(name)
        for found in find_setups(lathe, text, count=25):
            ratio = lathe.levers[found.lever]
            for driver, driven in zip(found.train.drivers, found.train.driven, strict=True):
                ratio *= Fraction(driver, driven)
            rule = dial(lathe, found)
            run = Machine(ratio, lathe.leadscrew.lead, found.lead_mm, 1, 1)
            run.open()
            for threads in range(1, 501):
                run.run(1 / ratio)
                assert run.in_the_groove == rule.catches(threads)

    def test_a_stand_in_may_serve_where_the_thread_itself_does_not(self):
        lathe = Lathe.from_toml(
            'name = "A"\nleadscrew.lead = "8 tpi"\ngears.teeth = [63, 40, 50]\ndial.gears = [{teeth = 63, lines = 9}]'
        )
        stand_in = setup(lathe, (63,), (50,), wanted="4 mm")
        assert dial(lathe, stand_in.wanted).keep_closed
        assert dial(lathe, stand_in).lines == (1,)


class TestIndexingStarts:
    @given(
        st.integers(2, 6), st.lists(st.integers(20, 80), min_size=4, max_size=4), st.fractions(1, 2, max_denominator=3)
    )
    def test_the_opened_mesh_closes_again_just_where_the_teeth_fit(self, starts, gears, side):
        lathe = Lathe.from_toml(
            f'name = "A"\nleadscrew.lead = "3 mm"\nspindle_side.ratio = "{side}"\ngears.teeth = {gears}'
        )
        mounted = setup(lathe, gears[:2], gears[2:])
        turns = lathe.spindle_ratio / starts  # of the first driver, while the spindle makes 1/n of a turn
        for opening, driver, driven in zip(
            index_starts(lathe, mounted, starts).openings, gears[:2], gears[2:], strict=True
        ):
            assert opening.teeth == driver
            assert opening.teeth_on == turns * driver
            assert opening.serves == ((turns * driver) % 1 == 0)
            turns *= Fraction(driver, driven)

    @given(leads, usual_screws, st.integers(2, 8))
    def test_the_half_nuts_come_to_every_start_in_turn(self, lead, screw, starts):
        on = index_starts(lathe_with(screw, [DialGear(16, 8)]), thread_of(lead, starts)).threads_on
        pitch = lead / starts
        visited = {(k * screw / pitch) % starts for k in range(1, 400) if (k * screw / pitch).denominator == 1}
        if on is None:
            assert visited != set(range(starts))
        else:
            assume(on * starts < 400)
            assert visited == set(range(starts))
            assert {(n * on * screw / pitch) % starts for n in range(starts)} == set(range(starts))
