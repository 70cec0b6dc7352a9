"""When to close the half-nuts: the rule, its words, lathes without a dial, and what is refused."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import count, product
from math import isclose, pi

import pytest
from attrs import evolve

from gearcalc.basics import markup, writing
from gearcalc.basics.errors import LatheFileError, NotPossibleError, ThreadTextError, ValueOutOfRangeError
from gearcalc.cutting.catching import dial, index_starts
from gearcalc.cutting.dial_gears import weigh_gears
from gearcalc.cutting.dial_rules import MISSES, NO_CLOSING, dial_gear, dial_lines
from gearcalc.finding.setups import setup
from gearcalc.lathes import Dial, DialGear, GearSet, Lathe, Leadscrew, demo_lathe
from gearcalc.papers.change_cards import change_card
from gearcalc.threads import Thread
from tests.benches import a_lathe
from tests.cutting.shown import second_column
from tests.how_much import in_one

INCH, METRIC = demo_lathe("inch"), demo_lathe("metric")
EXACTLY = "That is for gears that cut it exactly; a stand-in train has a rule of its own: ask with the setup."
NO_DIAL = Lathe.from_toml('name = "Bare lathe"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40, 55, 80]')


def with_dial(lead_mm: object, *gears: tuple[int, ...]) -> Lathe:
    return Lathe("A", Leadscrew(lead_mm), GearSet([40, 80]), dial=Dial([DialGear(*gear) for gear in gears]))


class TestPulledByHand:
    """More than 6 times is more, not 6: the dial draws the line where the setup draws it."""

    @in_one("tpi", range(4, 17))
    def test_just_six_to_one_is_not_more(self, tpi):
        leadscrew = Fraction(127, 5) / tpi
        lathe = with_dial(leadscrew, (16, 8))
        beyond = 6 * leadscrew * Fraction(10**20 + 1, 10**20)
        for lead, expected in ((6 * leadscrew, False), (beyond, True)):
            rule = dial(lathe, Thread(f"{lead} mm", lead))
            assert (rule.lead, rule.pulled_by_hand) == (lead, expected)

    def test_dial_and_setup_agree_on_eight_to_the_inch(self):
        lathe = evolve(INCH, gear_set=GearSet([20, 20, 60, 40]), gearbox=())
        made = setup(lathe, (60, 40), (20, 20), wanted="19.05 mm")
        assert made.leadscrew_turns == 6
        assert not made.pulled_by_hand
        assert not dial(lathe, "19.05 mm").pulled_by_hand
        assert "more than 6 times" not in str(dial(lathe, "19.05 mm"))


class TestWhatADialGearIsSaidToDo:
    """Its words say a step of lines; which step serves is looked for line by line."""

    GEARS = tuple(
        (teeth, lines, numbered)
        for teeth in (12, 14, 15, 16, 24, 60)
        for lines in (1, 2, 3, 4, 6, 8, 12)
        for numbered in (1, 2, 3, 4, 6, 12)
        if lines % numbered == 0
    )

    @in_one("gear", GEARS)
    @in_one("lead", [Fraction(lead) for lead in ("3/4", "1", "5/4", "3/2", "2", "5/2", "3", "4", "6", "9")])
    def test_the_least_step_of_which_each_line_lands_in_the_groove(self, gear, lead):
        teeth, lines, numbered = gear
        (made,) = weigh_gears([DialGear(*gear)], lead, Fraction(3))
        gone = [Fraction(step * teeth, lines) for step in range(1, lines + 1)]
        lands = [step for step, threads in enumerate(gone, 1) if threads.denominator == 1 and threads * 3 % lead == 0]
        step = lands[0] if lands and lands[-1] == lines else None
        closing = next(count for count, threads in enumerate(gone, 1) if threads.denominator == 1)
        only = step == lines > 1 and (closing < lines or numbered < lines)
        assert (made.in_words == "only the line first used") == only
        assert (made.in_words == "its one line") == (step == lines == 1)
        assert numbered < lines or "number" not in made.in_words
        said = re.match(r"every (\d+)(?:st|nd|rd|th) (numbered )?line", made.in_words)
        if step is None:
            assert made.in_words.startswith("no: after one turn")
        elif said is not None:
            assert int(said[1]) * (lines // numbered if said[2] else 1) == step
        else:
            steps = {"its one line": 1, "only the line first used": lines, "any numbered line": lines // numbered}
            assert steps.get(made.in_words.replace(", numbered or not", ""), closing) == step

    @in_one("gear", [gear for gear in GEARS if gear[0] == 12])
    def test_a_line_is_called_by_the_numbers_beside_it(self, gear):
        _, lines, numbered = gear
        apart = lines // numbered
        (made,) = weigh_gears([DialGear(*gear)], Fraction(1), Fraction(3))
        for line in range(1, lines + 1):
            number, beyond = (line - 1) // apart % numbered + 1, (line - 1) % apart
            following = number % numbered + 1
            place = {1: "1st ", 2: "2nd ", 3: "3rd "}.get(beyond, f"{beyond}th ") if apart > 2 else ""
            between = f"the {place}line between {number} and {following}"
            alone = f"the {place}line after 1" if apart > 2 else "the unnumbered line"
            assert made.called(line) == (str(number) if not beyond else between if numbered > 1 else alone)
            signs = f"{number}–{following}" if apart == 2 and numbered > 1 else f"{number}+{beyond}"
            assert made.short(line) == (signs if beyond else str(number))


def test_lines_are_said_to_be_numbered_or_not_where_some_are_not():
    for numbered in (1, 2, 4, 8):
        lathe = evolve(INCH, dial=Dial((DialGear(16, 8, numbered),)))
        for wanted in ("20 tpi", "13 tpi", "11 1/2 tpi"):
            assert ("the next, numbered or not," in dial(lathe, wanted).why) == (numbered < 8)


class TestDial:
    # 8 tpi leadscrew, 16 teeth, 8 lines: two leadscrew threads, a quarter of an inch, from line to line. A thread of
    # n to the inch is back after the least whole number of quarter inches that holds whole threads.
    @in_one(
        ("text", "threads", "step", "lines"),
        [
            ("20 tpi", 2, 1, (1, 2, 3, 4, 5, 6, 7, 8)),
            ("12 tpi", 2, 1, (1, 2, 3, 4, 5, 6, 7, 8)),
            ("10 tpi", 4, 2, (1, 3, 5, 7)),
            ("11 tpi", 8, 4, (1, 5)),
            ("13 tpi", 8, 4, (1, 5)),
            ("11 1/2 tpi", 16, 8, (1,)),
        ],
    )
    def test_by_hand_on_eight_to_the_inch(self, text, threads, step, lines):
        rule = dial(INCH, text)
        assert (threads, 16, step, lines) == (rule.threads, rule.gear_teeth, rule.step, rule.lines)
        assert not rule.anywhere
        assert not rule.keep_closed

    def test_why_every_line_serves_or_every_line_that_closes(self):
        # Two leadscrew threads from line to line, and each two make whole leads: every line, with nothing else to say.
        assert "2 leadscrew threads go by, so every line serves." in dial(INCH, "20 tpi").why
        # A thread and a half from line to line: at every other line only do the half-nuts close, three threads on.
        rule = dial(with_dial(1, (15, 10)), "3 mm")
        assert (rule.threads, rule.step) == (3, 2)
        assert "1.5 leadscrew threads go by" in rule.why
        assert "so every line at which the half-nuts close serves." in rule.why

    @pytest.mark.parametrize("text", ["8 tpi", "16 tpi", "24 tpi", "32 tpi"])
    def test_multiples_of_the_leadscrew_go_anywhere(self, text):
        rule = dial(INCH, text)
        assert rule.anywhere
        assert (rule.threads, rule.step, rule.keep_closed) == (1, 1, False)
        assert "anywhere" in str(rule)

    def test_two_leads_of_which_no_whole_number_is_common(self):
        rule = dial(INCH, "module 1")
        assert rule.threads is None
        assert rule.travel_mm is None
        assert rule.spindle_turns is None
        assert rule.keep_closed
        assert (rule.gear_teeth, rule.step, rule.lines) == (None, None, ())
        for threads in (1, 16, 355):
            behind = threads * 3.175 % pi
            assert isclose(rule.out_mm(threads), behind if behind < pi / 2 else behind - pi, abs_tol=1e-9)
            assert not rule.catches(threads)
        assert "π" in rule.why

    def test_a_left_hand_thread_never_comes_back_under_power(self):
        """It runs back towards the chuck, and has to stop in its groove."""
        kept = {thread: dial(INCH, thread).how for thread in ("1.5 mm", "1.5 mm LH")}
        assert "run back at the lowest speed" in kept["1.5 mm"]
        assert "run back at the lowest speed" not in kept["1.5 mm LH"]
        assert "towards the chuck, so never under power" in kept["1.5 mm LH"]
        assert dial(INCH, "16 tpi LH").how == ""

    def test_a_translated_lead_says_how_far_it_would_be_out(self):
        rule = dial(METRIC, "16 tpi")  # 14 threads of 3 mm are 42 mm; 26 leads of 1.5875 mm are 41.275 mm
        assert rule.keep_closed
        assert rule.threads == 127
        assert "14 leadscrew threads, and the tool would be 0.725 mm out of its groove, 46 % of the lead" in rule.why

    def test_where_the_127_comes_from_is_said_and_only_there(self):
        # 25.4/16 mm on 3 mm are 127/240, 1.5 mm on 25.4/8 mm 60/127; inch on inch and millimetres on such have none.
        for lathe, text, said in ((METRIC, "16 tpi", 1), (INCH, "1.5 mm", 1), (INCH, "11 tpi", 0), (METRIC, "4 mm", 0)):
            assert ("127 between inches and millimetres" in dial(lathe, text).why) == said

    def test_a_stand_in_train_counts_with_the_lead_that_it_cuts(self):
        stand_in = setup(INCH, (63, 30), (50, 60), "low", wanted="1 mm")  # leadscrew turns 63/200
        rule = dial(INCH, stand_in)
        assert rule.threads == 63
        assert "1.000125 mm" in rule.why
        assert "63 does not divide the 16 teeth" in rule.why

    def test_which_of_several_dial_gears(self):
        assert dial(METRIC, "1.25 mm").gear_teeth == 15
        assert dial(METRIC, "1.75 mm").gear_teeth == 14
        assert dial(METRIC, "4 mm").gear_teeth == 16
        assert "14 and 16 teeth do not serve" in dial(METRIC, "1.25 mm").why

    def test_the_least_step_then_the_soonest_then_the_first(self):
        assert dial(with_dial(3, (15, 5), (25, 5)), "1.25 mm").gear_teeth == 25  # any of its lines
        assert dial(with_dial(3, (20, 5), (20, 10), (18, 9)), "2 mm").gear_teeth == 20
        assert dial(with_dial(3, (20, 5), (20, 10), (18, 9)), "2 mm").lines_on_dial == 10
        assert dial(with_dial(3, (18, 9), (20, 10)), "2 mm").gear_teeth == 18

    def test_lines_between_two_teeth(self):
        # 15 teeth, 6 lines: two and a half threads from line to line, so the half-nuts close at every other one.
        rule = dial(with_dial(3, (15, 6)), "1.25 mm")
        assert rule.lines == (1, 3, 5)
        assert dial(with_dial(3, (15, 6)), "1.5 mm").lines == (1, 3, 5)

    def test_a_gear_that_shares_only_part_of_the_number(self):
        # Back every 4 threads; 18 teeth bring line 1 round after 18 threads, when the tool is half a lead off.
        rule = dial(with_dial(3, (18, 9)), "4 mm")
        assert rule.keep_closed
        assert abs(rule.out_mm(18)) == 2

    def test_without_a_dial(self):
        rule = dial(NO_DIAL, "11 tpi")
        assert rule.keep_closed
        assert rule.gear_teeth is None
        assert "no [dial]" in rule.why
        assert "8 leadscrew threads" in rule.why
        # One thread is 11/8 of a lead, so 3/8 of 25.4/11 mm too much: 0.0341 in.
        assert (
            "Closed one leadscrew thread further on, the tool would be ≈ 0.0341 in out of its groove, 38 %" in rule.why
        )
        free = dial(NO_DIAL, "16 tpi")
        assert free.anywhere
        assert not free.keep_closed
        assert "No dial is needed." in free.why

    def test_several_starts(self):
        rule = dial(METRIC, "lead 6 mm 2 starts")
        assert rule.catches(2)
        assert not rule.catches(1)
        assert rule.catches_another_start(1)
        assert "another start" in rule.why
        assert not dial(METRIC, "lead 3 mm 2 starts").catches_another_start(1)  # each thread brings its own groove

    def test_how_often_another_start_comes_round_is_counted_out(self):
        """From the groove on, one leadscrew thread at a time, until some groove of the thread is there."""
        for lead, starts in product((1, 2, 3, 4, 5, 6, 7, 9, 10, 12, 15, 18), range(1, 7)):
            if Fraction(lead, starts) > Fraction(1, 2):
                rule = dial(METRIC, f"lead {lead} mm {starts} starts")
                some = next(n for n in count(1) if (n * 3 / Fraction(lead, starts)).denominator == 1)
                said = re.search(r"every (?:(\d+) )?leadscrew threads? the groove of another start", rule.why)
                own = next(n for n in count(1) if n * 3 % lead == 0)
                assert (int(said[1] or 1) if said else own) == some, (lead, starts)

    def test_a_line_that_comes_round_in_another_start_is_warned_of(self):
        # 12 mm on 3 mm: back every 4 threads. 18 teeth: a turn of the dial is 4 × 4 + 2, half a lead, so with two
        # starts just in the other groove; with one start in none. 17 teeth are a quarter out, in no groove.
        words = "It would be in the groove of another start."
        assert words in dial(with_dial(3, (18, 9)), "lead 12 mm 2 starts").why
        assert words not in dial(with_dial(3, (18, 9)), "12 mm").why
        assert words not in dial(with_dial(3, (17, 17)), "lead 12 mm 2 starts").why
        assert words in dial(with_dial(3, (17, 17)), "lead 12 mm 4 starts").why

    def test_lines_between_two_leadscrew_threads_do_not_close(self):
        # 15 teeth, 6 lines: two and a half threads a line. Where they don't close there is nothing to be out of.
        rule = dial(with_dial(3, (15, 6)), "1.75 mm")
        lines = {line.number: line for line in dial_lines(rule, rule.gears[0])}
        for number in (2, 4, 6):
            assert (lines[number].kind, lines[number].out_mm) == (NO_CLOSING, 0)
            assert "don't close" in lines[number].in_words
        assert lines[3].kind == MISSES  # 5 threads, 15 mm, are 8 leads of 1.75 mm and 1 mm: the next is nearer
        assert lines[3].out_mm == Fraction(-3, 4)
        assert lines[5].out_mm == Fraction(1, 4)  # 30 mm are 17 leads, 29.75 mm, and a quarter

    @in_one("gear", [(16, 8), (15, 6), (20, 1), (14, 7)])
    def test_each_line_comes_by_once_and_line_one_last(self, gear):
        rule = dial(with_dial(3, gear), "1.25 mm")
        lines = dial_lines(rule, rule.gears[0])
        assert [line.number for line in lines] == [*range(2, gear[1] + 1), 1]
        assert [line.threads for line in lines] == [Fraction(n * gear[0], gear[1]) for n in range(1, gear[1] + 1)]

    def test_what_to_do_stands_open_and_the_reason_is_folded(self):
        rule = dial(INCH, "1.5 mm")
        stands_open, folded = rule._repr_html_().split("<details>")
        assert "Keep the half-nuts closed until the thread is done." in stands_open
        assert "stop; only then run back at the lowest speed" in stands_open
        assert "60 does not divide the 16 teeth" in folded
        assert "<table" not in stands_open  # the verdict is what is read first
        assert "7.5 in" in folded
        assert rule.how
        assert rule.why.endswith(rule.how)
        assert dial(INCH, "11 tpi").how == ""

    def test_shows_itself(self):
        shown = dial(METRIC, "1.25 mm")._repr_html_()
        assert "dial gear of 15 teeth, 5 lines" in shown
        assert "no: after one turn of the dial" in shown
        worm = dial(INCH, "module 1")._repr_html_()
        assert "never" in worm
        assert "Keep the half-nuts closed" in worm
        assert "dial gear of 20 teeth, 1 line<" in dial(with_dial(3, (20, 1)), "1.25 mm")._repr_html_()
        assert "<script" not in dial(Lathe("<script>", INCH.leadscrew, INCH.gear_set), "11 tpi")._repr_html_()

    @in_one(
        ("lathe", "thread", "cells"),
        [
            # 11 leads of 25.4/11 mm are an inch; 12 of 1.25 mm are 15 mm, 14 or 16 threads half a millimetre off that
            (
                INCH,
                "11 tpi",
                ["11 tpi (≈ 2.3091 mm)", "8 tpi (3.175 mm)", "8 leadscrew threads, 1 in (25.4 mm)", "every 4th line"],
            ),
            (
                METRIC,
                "1.25 mm",
                [
                    "1.25 mm (20.32 tpi)",
                    "3 mm (≈ 8.467 tpi)",
                    "5 leadscrew threads, 15 mm",
                    "no: after one turn of the dial the tool is 0.5 mm out",
                    "only the line first used",
                    "no: after one turn of the dial the tool is 0.5 mm out",
                ],
            ),
            (
                INCH,
                "16 tpi",
                ["16 tpi (1.5875 mm)", "8 tpi (3.175 mm)", "1 leadscrew thread, 0.125 in (3.175 mm)", "any line"],
            ),
            (
                METRIC,
                "lead 6 mm 2 starts",
                ["6 mm (2 starts, ≈ 8.467 tpi)", "3 mm (≈ 8.467 tpi)", "2 leadscrew threads, 6 mm"],
            ),
        ],
    )
    def test_as_a_table(self, lathe, thread, cells):
        shown = dial(lathe, thread)._repr_html_().replace("\u202f", " ").replace("\xa0", " ")
        assert second_column(shown)[: len(cells)] == cells

    @in_one(
        ("gear", "verdict"),
        [
            # 1.25 mm on 3 mm: back every 5 threads, and those go by over so many lines
            ((20, 1), "its one line."),
            ((25, 5), "any line."),
            ((20, 8), "any line."),
            ((15, 5), "only at the line first used, one of 5."),
            ((10, 4), "any line."),
            ((20, 20), "every 5th line of the 20: 1, 6, 11 and 16, counted from the first used."),
            ((10, 10), "every 5th line of the 10: 1 and 6, counted from the first used."),
            ((40, 40), "every 5th line of the 40: 1, 6, 11, 16, 21, 26, 31 and 36, counted from the first used."),
            ((45, 45), "every 5th line of the 45, counted from the first used."),
        ],
    )
    def test_which_lines_of_one_gear(self, gear, verdict):
        rule = dial(with_dial(3, gear), "1.25 mm")
        assert rule.verdict == f"With the {gear[0]}-tooth dial gear close at {verdict}".replace("at only at", "only at")

    def test_what_was_asked_about_is_named(self):
        assert dial(INCH, "11 tpi").thread == "11 tpi"
        assert dial(METRIC, setup(METRIC, 40, 80, "fast")).thread == "1.5 mm (≈ 16.933 tpi)"
        assert "When to close the half-nuts for 11 tpi: <" in dial(INCH, "11 tpi")._repr_html_()

    @in_one(
        ("lathe", "lead", "when", "gears"),
        [
            # over and over: threads gone by, over the leads that they hold; how far behind the nearest groove
            (
                INCH,
                "8 tpi",
                (
                    "once for one turn of the spindle (lead 8 tpi (3.175 mm), leadscrew 8 tpi (3.175 mm)): each "
                    "leadscrew thread holds 1 lead, so every one of them serves."
                ),
                "",
            ),
            (
                INCH,
                "16 tpi",
                (
                    "1/2 of a turn for one turn of the spindle (lead 16 tpi (1.5875 mm), leadscrew 8 tpi (3.175 "
                    "mm)): each leadscrew thread holds 2 leads, so every one of them serves."
                ),
                "",
            ),
            (
                METRIC,
                "9 mm",
                (
                    "3 times for one turn of the spindle (lead 9 mm (≈ 2.822 tpi), leadscrew 3 mm (≈ 8.467 tpi)), "
                    "so a groove returns every 3 leadscrew threads, 9 mm: that is 1 lead, the least common multiple."
                ),
                (
                    "3 divides the 15 teeth of the dial gear, and from one line to the next 3 leadscrew threads go "
                    "by, so every "
                    "line serves. The dial gears of 14 and 16 teeth do not serve."
                ),
            ),
            (
                METRIC,
                "lead 6 mm 2 starts",
                (
                    "2 times for one turn of the spindle (lead 6 mm (2 starts, ≈ 8.467 tpi), "
                    "leadscrew 3 mm (≈ 8.467 tpi)), so a groove returns every 2 leadscrew threads, 6 mm: that is 1 "
                    "lead, the "
                    "least common multiple."
                ),
                (
                    "2 divides the 14 teeth of the dial gear, and from one line to the next 2 leadscrew threads go "
                    "by, so every "
                    "line serves. The dial gear of 15 teeth does not serve. The thread has 2 starts, and every "
                    "leadscrew thread "
                    "the groove of another start comes under the tool: it looks right and is wrong."
                ),
            ),
            (
                with_dial(3, (20, 10)),
                "1.25 mm",
                (
                    "5/12 of a turn for one turn of the spindle (lead 1.25 mm (20.32 tpi), "
                    "leadscrew 3 mm (≈ 8.467 tpi)), so a groove returns every 5 leadscrew threads, 15 mm: that is "
                    "12 leads, the "
                    "least common multiple."
                ),
                (
                    "5 divides the 20 teeth of the dial gear, and from one line to the next 2 leadscrew threads go "
                    "by, so 10 go "
                    "by over 5 lines."
                ),
            ),
            (with_dial(3, (20, 1)), "1.25 mm", "5/12", "5 divides the 20 teeth of the dial gear."),
            (
                with_dial(3, (20, 2)),
                "1.25 mm",
                "5/12",
                (
                    "5 divides the 20 teeth of the dial gear, and from one line to the "
                    "next 10 leadscrew threads go by, so every line serves."
                ),
            ),
            (
                with_dial(3, (24, 24)),
                "6 mm",
                "2 times",
                (
                    "2 divides the 24 teeth of the dial gear, and from one line to the "
                    "next 1 leadscrew thread goes by, so 2 go by over 2 lines."
                ),
            ),
            (
                with_dial("1.2345", (16, 8)),
                "3.7035 mm",
                (
                    "3 times for one turn of the spindle (lead 3.7035 mm (≈ 6.858 tpi), "
                    "leadscrew 1.2345 mm (≈ 20.575 tpi)), so a groove returns every 3 leadscrew threads, 3.7035 "
                    "mm: that"
                ),
                None,
            ),
        ],
    )
    def test_why_with_its_numbers(self, lathe, lead, when, gears):
        rule = dial(lathe, lead)
        assert rule.when.replace("\u202f", " ").startswith(f"The leadscrew turns {when}")
        assert gears is None or rule.why == f"{rule.when} {gears}".strip()

    @in_one(("leadscrew", "lead", "said"), [(8, "1000/129", True), (9, "999/112", False)])
    def test_from_a_metre_on_it_is_said_to_be_so_far(self, leadscrew, lead, said):
        rule = dial(with_dial(leadscrew, (16, 8)), Thread("fine", Fraction(lead)))
        assert ("mm (more than a metre): that is" in rule.when) == said == (rule.travel_mm == 1000)

    @in_one(
        ("asked", "only"),
        [
            ("1.5 mm", EXACTLY),
            (
                "module 1",
                "Gears that stand in for it cut a lead without π, and have a rule of their own: ask with the setup.",
            ),
            (setup(INCH, (63, 30), (50, 60), "low", wanted="1 mm"), ""),
            (setup(INCH, (63, 30), (50, 60), "low"), ""),
            (setup(INCH, 40, 55, "middle", wanted="11 tpi"), ""),
            *((thread, EXACTLY) for thread in ("37 tpi", "11 tpi", "16 tpi")),  # closed at lines, or anywhere
        ],
    )
    def test_a_train_that_stands_in_is_asked_about_by_its_setup(self, asked, only):
        rule = dial(INCH, asked)
        assert (rule.only_for, rule.for_exact_gears) == (only, bool(only))
        assert str(rule) == " ".join(filter(None, (rule.verdict, only, rule.why)))
        shown = rule._repr_html_()
        assert shown.partition("<details>")[0].count("ask with the setup") == shown.count("ask with the setup")
        assert ("ask with the setup" in shown) == bool(only)
        stands_in = (
            "What counts is the lead that is cut, ≈ 25.397 tpi (1.000125 mm), not the 1 mm that it stands in for."
        )
        meant = not isinstance(asked, str) and str(asked.wanted) == "1 mm"
        assert (stands_in in rule.why.replace("\u202f", " ")) == meant
        assert ("What counts" in rule.why) == meant
        assert ("π is in the lead, π mm, so no number of leads" in rule.why) == (asked == "module 1")

    def test_pulled_by_hand_nothing_is_opened(self):
        rule = dial(METRIC, "20 mm")  # more than six times 3 mm
        assert rule.verdict == (
            "Close the half-nuts at standstill, isolated, and keep them closed until the thread is done."
        )
        assert rule.how.startswith(
            "The leadscrew turns more than 6 times for one turn of the spindle, so nothing is run"
        )
        assert rule.why.endswith(rule.how)
        assert f"<p>{markup.in_html(rule.how)}</p>" in rule._repr_html_()

    @in_one(
        ("lathe", "thread", "travel", "turns"),
        [
            (INCH, "11 tpi", "25.4", 11),
            (METRIC, "1.25 mm", "15", 12),
            (INCH, "16 tpi", "3.175", 2),
            (METRIC, "6 mm", "6", 1),
        ],
    )
    def test_how_far_and_how_many_turns_until_it_returns(self, lathe, thread, travel, turns):
        rule = dial(lathe, thread)
        assert (rule.travel_mm, rule.spindle_turns) == (Fraction(travel), turns)

    def test_a_dial_gear_is_asked_for_by_its_teeth(self):
        rule, none = dial(METRIC, "1.25 mm"), dial(METRIC, "16 tpi")
        assert [dial_gear(rule, teeth).teeth for teeth in (None, 14, 15, 16)] == [15, 14, 15, 16]
        assert dial_gear(none).teeth == 14  # the first, where none serves
        with pytest.raises(ValueOutOfRangeError, match=r"the dial gears have 14, 15, 16 teeth, not 17"):
            dial_gear(rule, 17)
        with pytest.raises(ValueOutOfRangeError, match="has no dial"):
            dial_gear(dial(NO_DIAL, "11 tpi"))

    def test_what_is_refused(self):
        with pytest.raises(ThreadTextError):
            dial(INCH, "banana")
        with pytest.raises(ValueOutOfRangeError, match="a lathe is wanted"):
            dial("inch", "16 tpi")
        with pytest.raises(ValueOutOfRangeError, match="a thread"):
            dial(INCH, 16)
        with pytest.raises(NotPossibleError, match="made for another lathe"):
            dial(METRIC, setup(INCH, (40,), (80,), "low"))
        with pytest.raises(NotPossibleError, match="no groove"):
            dial(INCH, setup(INCH, (20,), (80,), "low", wanted="0.1 mm/rev"))

    def test_a_setup_for_nothing_in_particular(self):
        rule = dial(INCH, setup(INCH, (40,), (55,), "middle"))
        assert (rule.threads, rule.lines) == (8, (1, 5))

    def test_what_nobody_said_has_one_start(self):
        # 3 mm · 80/40 = 6 mm: every second leadscrew thread is in the groove, and the others are in none.
        rule = dial(METRIC, setup(METRIC, (80,), (40,), "fast"))
        assert (rule.lead, rule.threads, rule.starts) == (6, 2, 1)
        assert not rule.catches_another_start(1)
        assert "another start" not in rule.why


class TestIndexStarts:
    def test_by_hand(self):
        # 40 teeth: half a turn of the spindle moves 20 past. The second driver turns 40/60 as often: 30·(2/3)/2 = 10.
        rule = index_starts(METRIC, setup(METRIC, (40, 30), (60, 50), "fast", wanted="lead 1.2 mm 2 starts"))
        assert [opening.teeth_on for opening in rule.openings] == [20, 10]
        assert (rule.thread, rule.starts, rule.move_mm) == ("lead 1.2 mm 2 starts", 2, Fraction(3, 5))
        assert "0.6 mm (≈ 0.0236 in)" in rule.why

    def test_it_is_named_by_its_thread_or_by_its_lead(self):
        assert index_starts(METRIC, "lead 6 mm 2 starts").thread == "lead 6 mm 2 starts"
        assert index_starts(METRIC, setup(METRIC, 40, 80, "fast"), 3).thread == "1.5 mm (≈ 16.933 tpi)"

    def test_the_spindle_side_counts(self):
        lathe = Lathe.from_toml(
            'name = "A"\nleadscrew.lead = "3 mm"\nspindle_side.ratio = "1/2"\ngears.teeth = [30, 40, 45, 60]'
        )
        opening = index_starts(lathe, setup(lathe, (30,), (60,)), 2).openings[0]
        assert Fraction(15, 2) == opening.teeth_on
        assert not opening.serves

    def test_a_later_driver_may_serve_where_the_first_does_not(self):
        mounted = setup(METRIC, (40, 66), (80, 50), "fast")
        first, second = index_starts(METRIC, mounted, 3).openings
        assert not first.serves  # 40/3
        assert second.serves  # 66 · (1/2) / 3 = 11
        assert "second driver (66 teeth)" in index_starts(METRIC, mounted, 3).why

    def test_no_mesh_serves(self):
        rule = index_starts(METRIC, setup(METRIC, (40,), (80,), "fast"), 7)
        assert rule.serving == ()
        assert "No mesh" in rule.why
        assert "56 teeth" in rule.why

    @in_one("starts", [2, 3, 4, 5, 7, 11, 59, 60])
    def test_without_a_setup_the_first_drivers_that_would_serve_at_every_lever(self, starts):
        """With the lever at half the first driver turns half as far; the gears that turn a whole number at both."""
        gears = 20, 24, 28, 30, 33, 40, 44, 48, 56, 60, 66, 120
        lever = '[[lever]]\nname = "head"\nside = "spindle"\npositions = { fast = "1", slow = "1/2" }'
        for more, part in (("", 1), (lever, 2)):
            lathe = a_lathe(*gears, leadscrew="3 mm", more=more)
            rule = index_starts(lathe, "lead 6 mm 2 starts", starts)
            expected = tuple(teeth for teeth in sorted(lathe.gears) if teeth % (part * starts) == 0)
            assert rule.first_drivers == expected
            assert "Gears are touched only with the lathe isolated" in rule.why
            if expected:
                named = writing.listed(expected)
                assert rule.why.startswith(
                    f"A mesh can be opened at a first driver of {named} teeth. Or leave the train"
                )
            else:
                assert rule.why.startswith("No gear of the set would serve as first driver. Or leave the train")

    @in_one(
        ("setup_", "starts", "said", "cells"),
        [
            (
                setup(METRIC, (40, 30), (60, 50), "fast", wanted="lead 1.2 mm 2 starts"),
                None,
                (
                    "To go to the next of 2 starts open the mesh at the first driver (40 teeth), turn the spindle "
                    "1/2 of a turn "
                    "so that 20 of its teeth go past, and close it; or open the mesh at the second driver (30 "
                    "teeth), turn the "
                    "spindle 1/2 of a turn so that 10 of its teeth go past, and close it. All that follows that "
                    "mesh stays as "
                    "it is, half-nuts closed."
                ),
                ["2", "20 teeth on", "10 teeth on", "0.6 mm (≈ 0.0236 in)"],
            ),
            (
                setup(METRIC, 40, 80, "fast"),
                7,
                (
                    "No mesh of this train serves: the first driver by 40/7 teeth, no whole number. A first driver "
                    "of 56 teeth "
                    "would."
                ),
                ["7", "does not serve: 40/7 teeth would be no whole number", "≈ 0.2143 mm (≈ 0.0084 in)"],
            ),
            (
                setup(METRIC, 40, 80, "fast"),
                59,
                "No mesh of this train serves: the first driver by 40/59 teeth, no whole number.",
                ["59", "does not serve: 40/59 teeth would be no whole number", "≈ 0.0254 mm (≈ 0.001 in)"],
            ),
        ],
    )
    def test_in_words_and_as_a_table(self, setup_, starts, said, cells):
        rule = index_starts(METRIC, setup_, starts)
        assert rule.why.startswith(f"{said} Or leave the train alone and move the tool one pitch, {cells[-1]}, along")
        assert str(rule) == f"{rule.thread}, {rule.starts} starts: {rule.why}"
        assert second_column(rule._repr_html_()) == cells

    def test_the_half_nuts_by_mistake(self):
        assert index_starts(METRIC, "lead 6 mm 2 starts").threads_on == 1
        assert index_starts(METRIC, "lead 3 mm 2 starts").threads_on is None
        assert index_starts(METRIC, "module 1 2 starts").threads_on is None
        # 12 mm on 3 mm: back every 4 threads, half of which are half a lead, the place of the other of 2 starts.
        said = "With gears that cut it exactly the half-nuts do it too, on purpose or by mistake: closed %s further on"
        assert said % "2 leadscrew threads" in index_starts(METRIC, "lead 12 mm 2 starts").why
        assert said % "one leadscrew thread" in index_starts(METRIC, "lead 12 mm 4 starts").why
        assert "half-nuts do it too" not in index_starts(METRIC, "lead 3 mm 2 starts").why

    @in_one("wrong", [1, 0, -2, 61, 2.0, "2", True])
    def test_no_number_of_starts(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            index_starts(METRIC, "lead 6 mm 2 starts", wrong)

    def test_one_start_has_nothing_to_go_to(self):
        with pytest.raises(ValueOutOfRangeError, match="2 to 60"):
            index_starts(METRIC, "16 tpi")

    def test_shows_itself(self):
        shown = index_starts(METRIC, setup(METRIC, (40,), (80,), "fast"), 3)._repr_html_()
        assert "does not serve" in shown


class TestNumberedLines:
    """Of the lines of many dials only some bear a number; one goes by those that are there to be read."""

    # 8 tpi, 16 teeth, 8 lines, every second numbered: two leadscrew threads from line to line, four between numbers.
    EIGHT = with_dial(Fraction(127, 40), (16, 8, 4))

    @pytest.mark.parametrize(
        ("text", "verdict", "called"),
        [
            ("20 tpi", "close at any line, numbered or not.", None),
            (
                "10 tpi",
                "close at any numbered line, or at any unnumbered one if the first pass began there.",
                ("1", "2", "3", "4"),
            ),
            ("11 tpi", "close at every 2nd numbered line: 1 and 3, if the first was 1.", ("1", "3")),
            (
                "11 1/2 tpi",
                "close only at the line first used, one of 8: take a numbered one, which is known again.",
                ("1",),
            ),
        ],
    )
    def test_which_to_go_by(self, text, verdict, called):
        rule = dial(self.EIGHT, text)
        assert rule.verdict == f"With the 16-tooth dial gear {verdict}"
        assert called in (None, rule.lines_called)
        assert rule.lines == dial(INCH, text).lines  # counted round the dial they are the same as ever

    @in_one(
        ("text", "gear", "many"),
        [
            # 8 tpi: a groove of 10 tpi is back after 4 threads, of 11 tpi after 8; two threads go by from line to line.
            ("10 tpi", (32, 16), 8),
            ("10 tpi", (36, 18), 9),
            ("11 tpi", (64, 32, 16), 8),
            ("11 tpi", (72, 36, 18), 9),
            ("9 tpi", (24, 12, 4), 3),
            ("9 tpi", (32, 16, 2), 4),
        ],
    )
    def test_so_many_lines_are_listed(self, text, gear, many):
        """Eight that are numbers, three that have to be described: our convention. Beyond, they are counted."""
        rule = dial(with_dial(Fraction(127, 40), gear), text)
        assert len(rule.lines) == many
        described = any("between" in line or "after" in line for line in rule.lines_called)
        listed = many <= (3 if described else 8)
        assert (": 1" in rule.verdict) == listed
        assert rule.verdict.endswith(
            "if the first was 1." if listed and len(gear) == 3 else "counted from the first used."
        )

    def test_the_book_says_numbered_lines(self):
        # F. D. Jones, Turning and Boring (Industrial Press 1914), p. 142: on a 6 tpi leadscrew with a dial gear of 24
        # teeth and 8 lines, 4 of them numbered, the half-nuts close at any numbered line for 9 and for 11 threads.
        lathe = with_dial(Fraction(127, 30), (24, 8, 4))
        for tpi in (9, 11):
            assert dial(lathe, f"{tpi} tpi").chosen.in_words == "any numbered line"

    def test_lines_between_two_numbers_are_told_apart(self):
        gear = dial(with_dial(Fraction(127, 40), (24, 12, 4)), "9 tpi").chosen
        assert [gear.called(line) for line in gear.serving] == [
            "1",
            "the 1st line between 2 and 3",
            "the 2nd line between 3 and 4",
        ]

    @in_one("numbered", [0, 3, 5, 16, -4, True, 2.5])
    def test_a_number_that_does_not_divide_is_refused(self, numbered):
        with pytest.raises(ValueOutOfRangeError):
            DialGear(16, 8, numbered)

    def test_the_file_says_it(self):
        text = NO_DIAL.to_toml() + "[dial]\ngears = [{ teeth = 16, lines = 8, %s }]\n"
        assert Lathe.from_toml(text % "numbered = 4").dial == self.EIGHT.dial
        with pytest.raises(LatheFileError, match=r"numbered.*must divide the 8 lines.*not 3\. It can be 1, 2, 4, 8"):
            Lathe.from_toml(text % "numbered = 3")
        assert Lathe.from_toml(self.EIGHT.to_toml()) == self.EIGHT

    def test_all_numbered_says_what_it_always_said(self):
        for text in ("20 tpi", "10 tpi", "11 tpi", "11 1/2 tpi", "1.5 mm"):
            plain, all_of_them = (dial(with_dial(Fraction(127, 40), gear), text) for gear in ((16, 8), (16, 8, 8)))
            assert (plain.verdict, plain.why) == (all_of_them.verdict, all_of_them.why)

    def test_the_card_says_it_too(self):
        lathe = evolve(INCH, dial=self.EIGHT.dial)
        card = change_card(lathe, setup(lathe, 40, 55, "middle", wanted="11 tpi"))
        assert "every 2nd numbered line: 1 and 3" in dict(card.settings)["half-nuts"]
