"""How a class stands at each exercise: a bar for all of it, parted into right, slips, wrong, unread, none."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import LEFT_PX, Scale, chart, key, shortened, swatch_of
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, bold, note, rect, text_line

WIDTH_PX, MOST_BARS = 940, 200
_TOP, _ROW_PX, _FOOT = 84.0, 24.0, 50.0
_BARS_X, _END_X, _SLIP_X = 300.0, 660.0, 672.0
_LEAST_WITH_NUMBER_PX = 16.0
_TONES = {
    "right": style.tint(style.GREEN, 0.55),
    "a slip that is known": style.tint(style.VERMILLION, 0.6),
    "not right": style.tint(style.ORANGE, 0.35),
    "not readable or not marked": style.tint(style.SKY, 0.4),
    "not answered": style.PAPER,
}


@frozen
class ExerciseBar:
    """How many of a class are right at an exercise, made a slip that is known, are otherwise not right, gave no answer.

    `unread`: answers that are not readable, or could not be marked; `group`: what bars stand together under, such as a
    lesson; `slip`: the slip made most, as it is told.
    """

    title: str
    group: str
    right: int
    slips: int
    others: int
    unread: int
    unanswered: int
    slip: str = ""

    @property
    def counts(self) -> tuple[int, int, int, int, int]:
        """The parts of the bar in their order."""
        return self.right, self.slips, self.others, self.unread, self.unanswered


def class_picture(bars: Sequence[ExerciseBar], caption: str) -> Picture:
    """Draw how a class stands: a bar an exercise, and beside it the slip that is made most.

    >>> bar = ExerciseBar("Lead of a leadscrew", "Lesson 01", 18, 4, 1, 0, 1, "upside down")
    >>> print(class_picture([bar], "A class of 24").description[:62])
    A class of 24. Lead of a leadscrew: 18 right, 4 a slip that is

    `bars`: 1 to 200, each of as many learners. Raises ValueOutOfRangeError for more, or none.
    """
    if not 1 <= len(bars) <= MOST_BARS or not max(sum(bar.counts) for bar in bars):
        raise ValueOutOfRangeError(f"this shows 1 to {MOST_BARS} exercises of a class", value=len(bars))
    groups = list(dict.fromkeys(bar.group for bar in bars))
    height = round(_TOP + (len(bars) + len(groups)) * _ROW_PX + _FOOT)
    said = "; ".join(f"{bar.title}: {', '.join(_parts(bar))}" for bar in bars)
    return chart(
        (WIDTH_PX, height),
        caption,
        f"{caption}. {said}.",
        list(map(_row, bars)),
        note("the slip made most", _SLIP_X, _TOP - 14),
        *_drawn(bars, groups),
        key(LEFT_PX, height - 20, *((swatch_of(tone, style.SOFT), words) for words, tone in _TONES.items())),
        title=caption,
    )


def _parts(bar: ExerciseBar) -> list[str]:
    return [f"{count} {words}" for words, count in zip(_TONES, bar.counts, strict=True) if count]


def _row(bar: ExerciseBar) -> Row:
    return {"exercise": bar.title, **dict(zip(_TONES, bar.counts, strict=True)), "made most": bar.slip}


def _drawn(bars: Sequence[ExerciseBar], groups: Sequence[str]) -> list[Svg]:
    parts, y = [], _TOP
    for group in groups:
        parts.append(bold(shortened(group, 60), LEFT_PX, y + 17, size=14))
        y += _ROW_PX
        for bar in (bar for bar in bars if bar.group == group):
            parts += _bar(bar, y)
            y += _ROW_PX
    return parts


def _bar(bar: ExerciseBar, y: float) -> list[Svg]:
    scale = Scale(0, max(sum(bar.counts), 1), _BARS_X, _END_X)
    ends = [scale.at(sum(bar.counts[:n])) for n in range(len(bar.counts) + 1)]
    parts = [text_line(shortened(bar.title, 38), LEFT_PX + 12, y + 16, anchor="start")]
    for (left, right), count, tone in zip(pairwise(ends), bar.counts, _TONES.values(), strict=True):
        if count:
            parts.append(rect(left, y + 3, right, y + _ROW_PX - 3, tone, style.SOFT, 0.8))
        if right - left >= _LEAST_WITH_NUMBER_PX:
            shown = writing.decimal(count, 0)
            parts.append(text_line(shown, (left + right) / 2, y + 16.5, size=style.SMALL_PX))
    return [*parts, note(shortened(bar.slip, 38), _SLIP_X, y + 16, size=style.SMALL_PX)]
