"""Half-nuts opened at the end of a pass and closed in reverse: leadscrew threads that go by, forward and back."""

from __future__ import annotations

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_number
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import NumberLike
from gearcalc.cutting.dial_gears import DialGearChoice
from gearcalc.cutting.dial_rules import DialRule, dial_gear
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import Scale, chart, cross, rules_across, upright
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, bold, disc, drawn_line, note, over_lines, path_of

RETURN_PX = (800, 400)
"""Width and height of the picture."""

_LEFT, _RIGHT, _APART = 92.0, 776.0, 44.0
_TOP, _FLOOR = 96.0, 334.0
_MOST_TURNS, _MOST_PANELS, _MOST_ROUNDS = 1000, 2, 4


def there_and_back(rule: DialRule, *run_on: NumberLike) -> Picture:
    """Leadscrew threads gone by since the half-nuts opened, while the spindle runs on, stops, and is reversed.

    >>> import gearcalc as gc
    >>> print(there_and_back(gc.dial(gc.demo_lathe("inch"), "1.5 mm"), 20).description)  # doctest: +ELLIPSIS
    Leadscrew threads gone by ... for 20 turns: 9.45 threads go by, less than a turn of the dial. ...

    `rule`: from dial(); `run_on`: turns of the spindle till it stands, more than 0 to 1000; one, or two side by side.
    Where the dial has gone round more than once, its line comes by too early on the way back: marked, with how far the
    tool would be out. Raises ValueOutOfRangeError for other numbers, for more than four turns of the dial, and without
    a dial.
    """
    gear = dial_gear(rule)
    if not 1 <= len(run_on) <= _MOST_PANELS:
        raise ValueOutOfRangeError(f"this shows 1 or {_MOST_PANELS} ways to run on", value=len(run_on))
    turns = [as_number(each, what="turns that the spindle runs on", most=_MOST_TURNS, above=True) for each in run_on]
    threads = [float(each) * float(rule.lead) / float(rule.leadscrew_mm) for each in turns]
    if max(threads) > _MOST_ROUNDS * gear.teeth:
        rounds = writing.decimal(max(threads) / gear.teeth, 1)
        raise ValueOutOfRangeError(
            f"so far the dial would go round more than {_MOST_ROUNDS} times", value=rounds, remedy="Take fewer turns."
        )
    high = max(*threads, gear.teeth) * 1.12
    width = (_RIGHT - _LEFT - _APART * (len(turns) - 1)) / len(turns)
    caption = f"Open at the end of the pass, stop, reverse, close at the same line: {rule.thread}"
    said, parts, rows = [], [], []
    for place, (each, gone) in enumerate(zip(turns, threads, strict=True)):
        left = _LEFT + place * (width + _APART)
        early = _early(rule, gear, gone)
        words = f"runs on {writing.turns(each)}"
        parts += _panel(rule, gear, words, gone, (left, left + width), high, first=place == 0)
        less = (
            "less than a turn of the dial"
            if not early
            else f"{writing.counted(len(early), 'turn')} of the dial or more"
        )
        told = "; ".join(f"at {count} threads, {landed}" for count, landed in early)
        said.append(
            f"The spindle runs on for {writing.turns(each)}: {writing.decimal(gone, 2)} threads go by, {less}. "
            + (f"On the way back the line comes by too early {told}. " if early else "")
            + "At 0 the line is there again, and the tool in its groove."
        )
        rows.append(_row(words, gone, early))
    description = (
        f"Leadscrew threads gone by since the half-nuts opened: up while the spindle runs on, down in reverse. "
        f"The dial gear has {gear.teeth} teeth. {' '.join(said)}"
    )
    return chart(
        RETURN_PX,
        caption,
        description,
        rows,
        *parts,
        upright("leadscrew threads gone by", 36, (_TOP + _FLOOR) / 2),
        note("time →", _RIGHT, 376, anchor="end"),
        title=caption,
    )


def _early(rule: DialRule, gear: DialGearChoice, gone: float) -> list[tuple[int, str]]:
    """Each time that the line comes by on the way back before it should: threads gone by, and where the tool lands."""
    rounds = range(int(gone // gear.teeth), 0, -1)
    return [(n * gear.teeth, _landing(rule, n * gear.teeth)) for n in rounds]


def _landing(rule: DialRule, threads: int) -> str:
    return "in the groove" if rule.catches(threads) else f"{writing.out_by(rule.out_mm(threads), rule.units)} out"


def _row(words: str, gone: float, early: list[tuple[int, str]]) -> Row:
    return {
        "the spindle": words,
        "threads gone by at standstill": writing.decimal(gone, 2),
        "the line comes by too early": "; ".join(f"at {count}: {landed}" for count, landed in early) or "never",
        "closed at 0": "in the groove",
    }


def _panel(
    rule: DialRule,
    gear: DialGearChoice,
    words: str,
    gone: float,
    across: tuple[float, float],
    high: float,
    *,
    first: bool,
) -> list[Svg]:
    """One way to run on: up to where the spindle stands, and down again."""
    left, right = across
    up = Scale(0, high, _FLOOR, _TOP)
    peak, wait = left + (right - left) * 0.38, (right - left) * 0.08
    end = peak + wait + peak - left
    rounds = range(int(high // gear.teeth) + 1)
    marks = {float(n * gear.teeth): str(n * gear.teeth) if first else "" for n in rounds}
    y = up.at(gone)
    parts = [
        bold(f"The spindle {words}", left, _TOP - 22, size=14),
        rules_across(up, left, right, marks),
        drawn_line(path_of([(left, _FLOOR), (peak, y), (peak + wait, y), (end, _FLOOR)]), style.BLUE, 2.6),
        over_lines("stop", peak + wait / 2, y - 8),
        disc(left, _FLOOR, 6, style.PAPER, style.INK, 2),
        disc(end, _FLOOR, 7, style.GREEN, style.INK, 1.4),
        note("open", left, _FLOOR + 22, size=style.SMALL_PX),
        over_lines("close: in the groove", end + 8, _FLOOR + 22, anchor="end"),
    ]
    if first:
        parts += [
            note("the line comes by", right, up.at(n * gear.teeth) - 6, anchor="end")
            for n in rounds
            if n * gear.teeth > gone
        ]
    for count, landed in _early(rule, gear, gone):
        x = end - (end - peak - wait) * count / gone
        parts += [cross(x, up.at(count), 6), over_lines(landed, x + 12, up.at(count) - 8, anchor="start")]
    return parts
