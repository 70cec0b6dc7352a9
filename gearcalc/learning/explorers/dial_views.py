"""What the explorer of the dial shows: a pure function from what is chosen to the passes that the tool makes."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.cutting.dial_gears import DialGearChoice
from gearcalc.cutting.dial_lines import dial_gear
from gearcalc.cutting.dial_rules import DialRule, dial
from gearcalc.finding.finding import find_setups
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe
from gearcalc.learning.explorers.typed import read_whole
from gearcalc.learning.explorers.views import View
from gearcalc.pictures.pictures import Row
from gearcalc.pictures.shop.dial_passes import caught_or_split
from gearcalc.threads import Thread, as_thread

GEARS = ("exact", "lathe's best")
"""Which gears cut the thread: some that cut it exactly, whatever they are, or the best that the lathe owns."""
MOST_TURNS = 9
_MOST_LINES = 100


def catch_view(
    lathe: Lathe,
    *,
    thread: str | Thread = "11 tpi",
    gears: str = "exact",
    dial_teeth: object = None,
    second: object = 1,
    third: object = 1,
    turns: object = 1,
) -> View:
    """Three passes of a thread, the half-nuts closed at the lines chosen: does the tool land in its groove?

    >>> from gearcalc.lathes import demo_lathe
    >>> seen = catch_view(demo_lathe("inch"), thread="10 tpi", second=3, third=4)
    >>> [row["the tool is"] for row in seen.facts]
    ['cutting the first groove', 'in the groove', '1.27 mm out']

    The first pass closes at line 1. `gears`: one of GEARS; `dial_teeth`: a dial gear of the lathe, None for the one
    that serves best; `second`, `third`: the line at which that pass closes; `turns`: whole turns of the dial that go
    by before each, 0 to 9.
    Raises ThreadTextError for text that is no thread; NotPossibleError for a line where the half-nuts don't close, or
    when no train is found; ValueOutOfRangeError for what is no line, gear or number, and for a lathe without a dial.
    """
    if gears not in GEARS:
        raise ValueOutOfRangeError(f"gears must be one of {', '.join(map(repr, GEARS))}", value=gears)
    wanted = as_thread(thread)
    setup = _best(lathe, wanted) if gears != GEARS[0] else None
    rule = dial(lathe, setup or wanted)
    gear = dial_gear(rule, None if dial_teeth is None else read_whole(dial_teeth, "the dial gear", 1000))
    lines = [_read_line(second, "the line of pass 2", gear), _read_line(third, "the line of pass 3", gear)]
    rounds = read_whole(turns, "the turns of the dial", MOST_TURNS, fewest=0)
    threads = _threads_gone_by(gear, lines, rounds)
    picture = caught_or_split(rule, threads, teeth=gear.teeth, at_mark=lines[-1])
    return View(picture, _facts(picture.table, lines), _note(rule, gear, setup))


@lru_cache(maxsize=64)
def _best(lathe: Lathe, thread: Thread) -> Setup:
    """The best setup; kept, since a hand on a slider asks again and again."""
    found = find_setups(lathe, thread, count=1)
    if not found:
        raise NotPossibleError("there is no train for this", remedy=found.why)
    return found[0]


def _read_line(given: object, what: str, gear: DialGearChoice) -> int:
    line = read_whole(given, what, _MOST_LINES)
    if line > gear.lines:
        raise ValueOutOfRangeError(f"the dial gear of {gear.teeth} teeth has lines 1 to {gear.lines}", value=line)
    if gear.threads_at(line).denominator != 1:
        raise NotPossibleError(
            f"at line {line} the half-nuts don't close: it stands between two threads of the leadscrew",
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


def _facts(table: object, lines: list[int]) -> tuple[Row, ...]:
    assert isinstance(table, tuple)
    return tuple(
        {"pass": row["pass"], "closed at line": line, **{name: value for name, value in row.items() if name != "pass"}}
        for row, line in zip(table, (1, *lines), strict=True)
    )


def _note(rule: DialRule, gear: DialGearChoice, setup: Setup | None) -> str:
    said = []
    if setup is not None and setup.error is not None:
        said.append(f"Gears {setup.train}, {writing.error(setup.error)}: it is the lead cut that counts.")
    said.append(rule.when)
    if not rule.anywhere:
        said.append(f"Dial gear of {gear.teeth} teeth: {gear.in_words}.")
    return " ".join(said)
