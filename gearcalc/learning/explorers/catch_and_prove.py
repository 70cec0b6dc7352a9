"""The explorers at the lathe: catch the thread by the dial, and prove the cut by what was measured."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from functools import partial
from typing import Any

from attrs import evolve

from gearcalc.basics import both_units, writing
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.writing import Units
from gearcalc.cutting.catching import dial
from gearcalc.cutting.dial_gears import DialGearChoice
from gearcalc.cutting.dial_rules import DialRule, dial_gear
from gearcalc.cutting.measurements import Judgement, judge_measurement
from gearcalc.cutting.wrong_leads import CAUTION, WrongLead, WrongLeads, explain_wrong_lead
from gearcalc.finding.mounted import setup_that_turned
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import Train
from gearcalc.learning.explorers import page, typed
from gearcalc.learning.explorers.handed import as_handed
from gearcalc.pictures.dial_pictures import caught_or_split
from gearcalc.pictures.measurement_charts import leads_of_slips, measured_band
from gearcalc.threads import Thread, as_thread

GEARS = ("exact", "lathe's best")
"""Which gears cut the thread: some that cut it exactly, whatever they are, or the best that the lathe owns."""
MOST_TURNS = 9
_MOST_LINES = 100


@as_handed
def catch_view(
    lathe: Lathe,
    *,
    thread: str | Thread = "11 tpi",
    gears: str = "exact",
    dial_teeth: object = None,
    second: object = 1,
    third: object = 1,
    turns: object = 1,
) -> page.View:
    """Three passes of a thread, the half-nuts closed at the lines chosen: does the tool land in its groove?

    >>> from gearcalc.lathes import demo_lathe
    >>> seen = catch_view(demo_lathe("inch"), thread="10 tpi", second=3, third=4)
    >>> [row["the tool is"] for row in seen.facts]
    ['cutting the first groove', 'in the groove', '0.05 in out']

    The first pass closes at line 1. `gears`: one of GEARS; `dial_teeth`: a dial gear of the lathe, None for the one
    that serves best; `second`, `third`: the line at which that pass closes; `turns`: whole turns of the dial that go
    by before each, 0 to 9.
    Raises ThreadTextError for text that is no thread; NotPossibleError for a line where the half-nuts don't close, or
    when no train is found; ValueOutOfRangeError for what is no line, gear or number, and for a lathe without a dial.
    """
    own = typed.one_of(gears, "gears", GEARS) != GEARS[0]
    wanted = as_thread(thread)
    setup = page.best_setups(lathe, wanted, 1)[0] if own else None
    rule = dial(lathe, setup or wanted)
    gear = dial_gear(rule, None if dial_teeth is None else typed.read_whole(dial_teeth, "the dial gear", 1000))
    lines = [_read_line(second, "the line of pass 2", gear), _read_line(third, "the line of pass 3", gear)]
    rounds = typed.read_whole(turns, "the turns of the dial", MOST_TURNS, fewest=0)
    threads = _threads_gone_by(gear, lines, rounds)
    picture = caught_or_split(rule, threads, teeth=gear.teeth, at_mark=lines[-1])
    closed = zip(picture.table, (1, *lines), strict=True)
    rows = tuple({"pass": row["pass"], "closed at line": _called(line, gear), **row} for row, line in closed)
    return page.View(picture, rows, _dial_note(rule, gear, _whose_gears(lathe, wanted, setup)))


def _whose_gears(lathe: Lathe, wanted: Thread, best: Setup | None) -> str:
    """Which gears cut it, where that is not the thread itself by gears that the lathe has."""
    if best is not None and best.error is not None:
        return f"Gears {best.train}, {writing.error(best.error)}: it is the lead cut that counts."
    try:
        cut_exactly = page.best_setups(lathe, wanted, 1, first="nearest")[0].is_exact
    except NotPossibleError:
        cut_exactly = False
    return "" if cut_exactly else "For gears that cut it exactly. This lathe's do not: choose its best."


def _called(line: int, gear: DialGearChoice) -> int | str:
    """A line as its slider says it: the number that stands there, or between which it stands."""
    return gear.short(line) if gear.printed(line) is None else int(gear.short(line))


def _read_line(given: object, what: str, gear: DialGearChoice) -> int:
    called = [gear.short(line) for line in range(1, gear.lines + 1)]
    text = given.replace("-", "–").replace(" ", "") if isinstance(given, str) else ""
    if text in called:
        line = called.index(text) + 1
    else:
        number = typed.read_whole(given, what, _MOST_LINES)
        line = (number - 1) * gear.apart + 1
        if line > gear.lines:
            most = gear.lines // gear.apart
            raise ValueOutOfRangeError(f"the dial gear of {gear.teeth} teeth has lines 1 to {most}", value=number)
    if gear.threads_at(line).denominator != 1:
        raise NotPossibleError(
            f"at line {called[line - 1]} the half-nuts don't close: it stands between two threads of the leadscrew",
            remedy="Choose the next line.",
        )
    return line


def _threads_gone_by(gear: DialGearChoice, lines: list[int], rounds: int) -> list[int]:
    """Leadscrew threads from the first closing, at line 1, to each of the others."""
    found, before = [], (1, Fraction(0))
    for line in lines:
        ahead = Fraction((line - before[0]) % gear.lines * gear.teeth, gear.lines)
        before = (line, before[1] + ahead + rounds * gear.teeth)
        found.append(int(before[1]))
    return found


def _dial_note(rule: DialRule, gear: DialGearChoice, whose_gears: str) -> str:
    said = [*filter(None, [whose_gears]), rule.when]
    if not rule.anywhere:
        said.append(f"Dial gear of {gear.teeth} teeth: {gear.in_words}.")
    return " ".join(said)


@as_handed
def catch_the_thread(lathe: Lathe, thread: str = "11 tpi", *, dial_teeth: int | None = None) -> page.Explorer:
    """Choose thread and dial gear, close the half-nuts at a line: does the tool fall in its groove or split the thread?

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = catch_the_thread(demo_lathe("inch"), "10 tpi")
    >>> explorer.set(second=2)
    >>> explorer.shown.facts[1]["the tool is"]
    '0.05 in out'

    `thread`: what stands in the box at first; `dial_teeth`: the dial gear at first, None for the one that serves best.
    On paper, catch_view with the same values says the same.
    Raises ValueOutOfRangeError for a lathe without a dial, or without that dial gear.
    """
    rule = dial(lathe, thread)
    teeth = list(dict.fromkeys(str(gear.teeth) for gear in rule.gears))
    at_first = str(dial_gear(rule, dial_teeth).teeth)
    lines = [_line_slider(name, label, rule.gears) for name, label in (("second", "Pass 2"), ("third", "Pass 3"))]
    controls = [
        page.text_box("thread", "Thread", thread),
        page.choice("gears", "Gears", GEARS, GEARS[0]),
        page.choice("dial_teeth", "Dial gear", teeth, at_first, [f"{count} teeth" for count in teeth]),
        page.number_slider("turns", "Dial turns", 0, MOST_TURNS, 1, "turns"),
        *lines,
    ]
    return page.explorer("Catch the thread", controls, partial(catch_view, lathe), facts_px=220)


def _line_slider(name: str, label: str, gears: Sequence[DialGearChoice]) -> page.Control:
    """The lines of all the dials round, each as it is called there; plain numbers where every line has one."""
    if all(gear.apart == 1 for gear in gears):
        return page.number_slider(name, label, 1, max(gear.lines for gear in gears), 1, "line")
    called = [_called(line, gear) for gear in gears for line in range(1, gear.lines + 1)]
    between = next((said for said in called if isinstance(said, str)), "1–2")
    options = dict.fromkeys(sorted(called, key=_round_the_dial))
    return page.word_slider(name, f"{label}, {between} too", options, 1, "line")


def _round_the_dial(called: int | str) -> tuple[int, bool, str]:
    number = int(re.split("[–+]", str(called))[0])
    return number, isinstance(called, str), str(called)


SHOWN = ("what is possible", "which slip")
"""The two sides of the explorer."""
HANDS = ("not looked at", "right", "left")
"""What was seen of the hand of the thread."""

_MOST_SLIPS, _LONGEST_MM = 5, 1000


@as_handed
def proof_view(
    lathe: Lathe,
    *,
    show: str = SHOWN[0],
    thread: str | Thread = "1.25 mm",
    turns: object = 10,
    length: object = 12.6,
    limit: object = 0.25,
    gears: str | Train = "",
    lever: str | None = None,
    hand: str = HANDS[0],
) -> page.View:
    """A measurement as a band of leads, or the slips that would explain it.

    >>> from gearcalc.lathes import demo_lathe
    >>> proof_view(demo_lathe("inch"), thread="20 tpi", turns=26, length=33, limit="0.25").facts[0]["agrees"]
    'yes'

    `show`: one of SHOWN; the rest as for measurement_view() and detective_view().
    Raises ThreadTextError, UnknownNameError, ValueOutOfRangeError and their like for what can't be read.
    """
    if typed.one_of(show, "show", SHOWN) == SHOWN[0]:
        return measurement_view(thread, turns, length, limit, hand, lathe.units)
    train, named = typed.read_train(lathe, gears, "gears meant")
    meant = setup_that_turned(lathe, train, named or lever, as_thread(thread))
    view = detective_view(meant, turns, length, limit, hand)
    if named is None or not _has_levers(lathe):
        return view
    return evolve(view, settled={"gears": str(train), **page.lever_values(lathe, named)})  # the buttons say it now


@as_handed
def measurement_view(
    thread: str | Thread, turns: object, length: object, limit: object, hand: str = HANDS[0], units: Units = "mm"
) -> page.View:
    """What a length over several turns leaves possible: the band, the pitches around, and how sure it is.

    >>> measurement_view("1.25 mm", 10, 12.6, 0.25).facts[0]["turns to be sure"]
    '26'

    `hand`: one of HANDS; `units`: what is read first. Numbers as numbers or text, lengths in mm; errors as of
    judge_measurement().
    """
    judged = _judged(thread, turns, length, limit, hand, units)
    facts: dict[str, object] = {
        "lead as measured": str(both_units.travel(judged.lead_mm, units)),
        "agrees": "yes" if judged.agrees else "no",
        "turns to be sure": str(judged.turns_to_be_sure) if judged.agrees and judged.turns_to_be_sure else "–",
        "how sure": judged.how_sure,
    }
    return page.View(measured_band(judged), (facts,), judged.why)


@as_handed
def detective_view(meant: Setup, turns: object, length: object, limit: object, hand: str = HANDS[0]) -> page.View:
    """The slips that would explain a measurement, likeliest first, beside what was meant.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> meant = setup(demo_lathe("inch"), 40, 50, "low", wanted="20 tpi")
    >>> detective_view(meant, 10, 19.8, "0.1").facts[0]["what may have happened"]
    'The pair is upside down: 50 drives 40.'

    `hand`: one of HANDS. Numbers as numbers or text; errors as of judge_measurement() and explain_wrong_lead().
    """
    wanted = meant.wanted if isinstance(meant.wanted, Thread) else f"{meant.lead_mm} mm"
    judged = _judged(wanted, turns, length, limit, hand, meant.lathe.units)
    found = explain_wrong_lead(meant, judged.lead_mm, judged.lead_uncertainty_mm, hand=judged.hand)
    picture = leads_of_slips(found, meant, judged.lead_mm, judged.lead_uncertainty_mm, most=_MOST_SLIPS)
    rows = tuple(_row(place, slip) for place, slip in enumerate(found[:_MOST_SLIPS], 1))
    return page.View(picture, rows or ({"place": "–", "what may have happened": "nothing here"},), _slips_note(found))


def _judged(thread: str | Thread, turns: Any, length: Any, limit: Any, hand: str, units: Units) -> Judgement:
    seen = None if typed.one_of(hand, "hand", HANDS) == HANDS[0] else hand
    judged = judge_measurement(thread, turns, length, limit, seen, units)
    if judged.length_mm > _LONGEST_MM:
        raise ValueOutOfRangeError(f"the length must be at most {_LONGEST_MM} mm", value=length)
    if not judged.uncertainty_mm:
        raise ValueOutOfRangeError("no instrument is good to ± 0", remedy="Give what yours is good to.")
    return judged


def _row(place: int, slip: WrongLead) -> dict[str, object]:
    return {
        "place": str(place),
        "gears and lever": slip.setup.gears_and_lever,
        "lead": str(slip.setup.written_lead if slip.setup.lathe.units == "inch" else writing.length(slip.lead_mm)),
        "what may have happened": slip.slip,
    }


def _slips_note(found: WrongLeads) -> str:
    more = len(found) - _MOST_SLIPS
    said = f"{more} more would fit. Measure over more turns. " if more > 0 else ""
    return f"{said}{found.why} {CAUTION}"


@as_handed
def prove_the_cut(
    lathe: Lathe,
    meant: Setup,
    *,
    turns: int = 10,
    length: float | None = None,
    limit: float = 0.25,
    show: str = SHOWN[0],
) -> page.Explorer:
    """Type what was measured: which pitches are still possible, and which slip would explain a wrong one.

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("inch")
    >>> explorer = prove_the_cut(lathe, gc.setup(lathe, 40, 50, "low", wanted="20 tpi"), length=12.7)
    >>> explorer.set(show="which slip", length="0.78", limit="0.004")
    >>> explorer.shown.facts[0]["what may have happened"]
    'The pair is upside down: 50 drives 40.'

    `meant`: a setup of this lathe with the thread that is wanted; `turns`, `length` in mm, None for what that thread
    comes to, and `limit` (±, mm) are what the sliders show at first, in the unit of the lathe's owner, 1 to 60, 0.5 to
    100 and 0.01 to 1; `show`: one of SHOWN.
    Raises ValueOutOfRangeError for a setup that wants no thread.
    """
    if not isinstance(meant.wanted, Thread):
        raise ValueOutOfRangeError(
            "a setup for a thread is wanted here",
            value=meant,
            remedy="Make it like setup(lathe, drivers=(40,), driven=(80,), lever='middle', wanted='16 tpi').",
        )
    if length is None:
        turns = typed.read_whole(turns, "turns", 60)
        length = min(max(round(float(turns * meant.wanted.lead) / 0.05) * 0.05, 0.5), 100)
    meant_so = [page.text_box("gears", "Gears meant", str(meant.train))]
    if _has_levers(lathe):
        meant_so += page.lever_buttons(lathe, meant.lever)
    controls = [
        page.text_box("thread", "Thread", str(meant.wanted)),
        page.number_slider("turns", "Turns", 1, 60, turns),
        page.length_slider(lathe.units, "length", "Length", 0.5, 100, length, 0.05),
        page.length_slider(lathe.units, "limit", "Limit ±", 0.01, 1, limit, 0.01),
        page.choice("show", "Show", SHOWN, show),
        *page.only_with("show", SHOWN[1], *meant_so),
        page.choice("hand", "Hand seen", HANDS, HANDS[0]),
    ]
    up_to = (0, _LONGEST_MM)
    view = page.in_owners_unit(lathe.units, page.with_levers(lathe, proof_view), length=up_to, limit=up_to)
    return page.explorer("Prove the cut", controls, view, facts_px=230)


def _has_levers(lathe: Lathe) -> bool:
    """Whether there is a lever to move."""
    return len(lathe.levers) > 1 or bool(lathe.box)
