"""The two rulers over several turns of the dial: which lines bring the groove back each time, and which only once."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_whole
from gearcalc.cutting.dial_gears import DialGearChoice, lines_in_words, ordinal
from gearcalc.cutting.dial_rules import SERVES, DialLine, DialRule, dial_gear, dial_line
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import LEFT_PX, chart, key, spread
from gearcalc.pictures.dial_marks import TONES, key_entries, line_mark
from gearcalc.pictures.dial_pictures import pass_in_words
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, bold, drawn_line, element, note, over_lines, rect, shape

_SIZE_PX = (800, 272)
_FROM, _TO, _RULER_Y = 156.0, 776.0, 150.0
_MOST_TURNS, _MOST_TICKS = 4, 260
_BETWEEN_NUMBERS_PX = 6.0


def dial_turns(rule: DialRule, teeth: int | None = None, turns: int = 3) -> Picture:
    """Leadscrew threads over leads for some turns of the dial, and each line where it comes to the mark.

    >>> import gearcalc as gc
    >>> picture = dial_turns(gc.dial(gc.demo_lathe("inch"), "11 tpi"))
    >>> [str(row["leadscrew threads gone by"]) for row in picture.table if row["line"] == 5]
    ['8', '24', '40']

    `rule`: from dial(); `teeth`: which dial gear, None for the one chosen (the first where none serves); `turns`: of
    the dial, 1 to 4. Raises ValueOutOfRangeError where the lathe has no dial, or not that gear, or for another number.
    """
    gear = dial_gear(rule, teeth)
    lines = list(_lines(rule, gear, as_whole(turns, what="the turns of the dial", least=1, most=_MOST_TURNS)))
    screw = writing.lead(rule.leadscrew_mm, first=rule.units)
    caption = f"{rule.thread}, leadscrew {screw}: {writing.counted(turns, 'turn')} of a dial gear of {gear.teeth} teeth"
    after = [f"after {n * gear.teeth} leadscrew threads, {_line_1(rule, gear, n)}" for n in range(1, turns + 1)]
    description = f"{caption}, {lines_in_words(gear)}. Line 1 comes round {'; '.join(after)}."
    return chart(_SIZE_PX, caption, description, _rows(lines, gear), *_marks(rule, gear, lines, turns), title=caption)


def _lines(rule: DialRule, gear: DialGearChoice, turns: int) -> Iterator[DialLine]:
    """Every line in the order in which they come to the mark, from the first closing on."""
    for place in range(turns * gear.lines + 1):
        line = dial_line(rule, gear, place)
        yield line if place else evolve(line, kind=SERVES)


def _rows(lines: list[DialLine], gear: DialGearChoice) -> list[Row]:
    return [
        {
            "turn of the dial": place // gear.lines + 1,
            "line": line.called if line.printed is None else line.printed,
            "leadscrew threads gone by": writing.number(line.threads),
            "closed there": line.in_words if place else "the first closing",
        }
        for place, line in enumerate(lines)
    ]


def _line_1(rule: DialRule, gear: DialGearChoice, turn: int) -> str:
    return pass_in_words(rule, turn * gear.teeth)


def _marks(rule: DialRule, gear: DialGearChoice, lines: list[DialLine], turns: int) -> list[Svg]:
    shown = turns * gear.teeth
    step = (_TO - _FROM) / shown
    each_numbered = _numbered_every(rule, shown, step) == 1
    return [
        *(note(words, LEFT_PX, y) for words, y in _NAMES),
        note("in the groove after" if each_numbered else "some are after", LEFT_PX, _RULER_Y + 54),
        *(_turn(n, _FROM + n * gear.teeth * step, gear.teeth * step) for n in range(turns)),
        rect(_FROM, _RULER_Y - 24, _TO, _RULER_Y, style.tint(style.ORANGE, 0.16)),
        rect(_FROM, _RULER_Y, _TO, _RULER_Y + 24, style.tint(style.SKY, 0.28)),
        _ticks(step, shown, -22),
        _ticks(
            step * float(rule.lead) / float(rule.leadscrew_mm), shown * float(rule.leadscrew_mm) / float(rule.lead), 22
        ),
        drawn_line(f"M{_FROM} {_RULER_Y}H{_TO}", width=1.2),
        *_together(rule, shown, step),
        *_flags(gear, lines, step),
        *_verdicts([_line_1(rule, gear, n) for n in range(1, turns + 1)]),
        key(36, _SIZE_PX[1] - 16, *key_entries({line.kind: line for line in lines})),
    ]


_NAMES = (
    ("line at the mark", 107.0),
    ("leadscrew threads", _RULER_Y - 8),
    ("leads of the thread", _RULER_Y + 17),
    ("line 1 again", _RULER_Y + 78),
)


def _turn(place: int, x: float, wide: float) -> Svg:
    words = f"{ordinal(place + 1)} turn of the dial" if wide > 130 else f"{ordinal(place + 1)} turn"
    bracket = drawn_line(f"M{x + 3:.2f} 82v-8H{x + wide - 3:.2f}v8", style.SOFT)
    return element("g", bracket, over_lines(words, x + wide / 2, 68))


def _ticks(apart: float, count: float, long: float) -> Svg:
    if count > _MOST_TICKS:
        return drawn_line("M0 0")
    return drawn_line("".join(f"M{_FROM + n * apart:.2f} {_RULER_Y}v{long}" for n in range(int(count + 1e-9) + 1)))


def _together(rule: DialRule, shown: int, step: float) -> Iterator[Svg]:
    """A bar and a triangle wherever a groove is back; how many leadscrew threads have gone by, where there is room."""
    caught = [n for n in range(shown + 1) if rule.catches(n)]
    apart = step * (rule.threads or shown)
    bars = "".join(f"M{_FROM + n * step:.2f} {_RULER_Y - 24}v48" for n in caught)
    yield drawn_line(bars, style.BLUE, min(5.0, apart / 2))
    half = min(4.5, apart / 2 - 0.5)
    every = _numbered_every(rule, shown, step)
    for place, n in enumerate(caught):
        x = _FROM + n * step
        yield shape(f"M{x:.2f} {_RULER_Y + 27}l{-half:.2f} 9h{2 * half:.2f}Z", style.BLUE)
        if not place % every:
            yield bold(str(n), x, _RULER_Y + 54, size=style.WORD_PX, anchor="middle")


def _numbered_every(rule: DialRule, shown: int, step: float) -> int:
    """Of the places where a groove is back: 1 where each has room for its number, 2 where every other one has."""
    wide = style.text_width_px(str(shown), style.WORD_PX) + _BETWEEN_NUMBERS_PX
    return ceil(wide / (step * (rule.threads or shown)))


def _flags(gear: DialGearChoice, lines: list[DialLine], step: float) -> Iterator[Svg]:
    every = ceil(23 / (step * gear.teeth / gear.lines))
    for place, line in enumerate(lines):
        x = _FROM + float(line.threads) * step
        yield drawn_line(f"M{x:.2f} {_RULER_Y - 24}V{_RULER_Y - 34}", TONES[line.kind], 1.4)
        if not place % gear.lines % every and gear.lines - place % gear.lines >= every:
            yield line_mark(line, x, _RULER_Y - 46)


def _verdicts(words: list[str]) -> Iterator[Svg]:
    """Where line 1 leaves the tool each time it comes round."""
    places = [_FROM + n * (_TO - _FROM) / len(words) for n in range(1, len(words) + 1)]
    widths = [style.text_width_px(each, style.WORD_PX) + 8 for each in words]
    for each, x in zip(words, spread(places, widths, _FROM, _TO), strict=True):
        yield bold(each, x, _RULER_Y + 78, size=style.WORD_PX, anchor="middle")
