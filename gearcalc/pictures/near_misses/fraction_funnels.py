"""Fractions closing in on a number: how near each best one comes, on which side, nearer by factors of ten."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import ceil, floor, log10

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import as_exact, as_fraction
from gearcalc.finding.fractions import NearFraction, best_fractions
from gearcalc.pictures import style
from gearcalc.pictures.charts import RIM, drawn_line, sheet, shortened
from gearcalc.pictures.pictures import Picture, Row
from gearcalc.pictures.svg import Svg, element, text_line

FUNNEL_PX = (800, 480)
"""Width and height of the picture at its highest."""

_LEFT, _RIGHT, _MIDDLE = 24.0, 776.0, 400.0
_AXIS_Y, _FIRST_ROW, _ROW_PX, _FOOT_PX = 108.0, 114.0, 29.0, 54.0
_MOST_ROWS, _LARGEST = 18, 10**9
_TICK_PX = 34.0
_INNER_PX, _OUTER_PX = 26.0, 238.0  # how far from the middle the lines nearest to exact and farthest from it stand


def closing_in(x: object, max_denominator: object = 100, *, height_px: int | None = None) -> Picture:
    """The best fractions for a number, simplest first, each as far from the middle as it is off, on its own side.

    >>> picture = closing_in("127/100", max_denominator=63)
    >>> picture.caption
    'The best fractions for 1.27 with at most 63 below the line: 80/63 is the nearest, −125 ppm.'

    Distance from the middle goes by factors of ten, so that a funnel closes on the number wanted.
    `x`, `max_denominator` (at most 10^9) and what is raised: as for best_fractions(); of more than 18 fractions the
    last 18 are shown. `height_px`: of the picture, 300 to 1000; None: as high as its rows.
    """
    if as_fraction(max_denominator, what="max_denominator") > _LARGEST:
        raise ValueOutOfRangeError(f"this picture goes up to {_LARGEST} below the line", value=max_denominator)
    found = best_fractions(x, max_denominator=max_denominator)
    wanted = shortened(str(writing.number(as_exact(x))), 30)
    shown = found[-_MOST_ROWS:]
    height = _height(height_px, len(shown))
    nearest = shown[-1]
    limit = writing.decimal(as_fraction(max_denominator), 0)
    comes = "is exact" if nearest.is_exact else f"is the nearest, {writing.error(nearest.error)}"
    title = f"The best fractions for {wanted} with at most {limit} below the line"
    caption = f"{title}: {writing.ratio(nearest.fraction)} {comes}."
    left_out = "" if len(shown) == len(found) else f" ({len(found) - len(shown)} simpler ones are left out)"
    description = f"{caption} They close in on it{left_out}: {'; '.join(map(_in_words, shown))}."
    return Picture(_drawing(shown, wanted, height, title, description), description, _rows(shown), caption)


def _height(given: int | None, rows: int) -> int:
    if given is None:
        return floor(_FIRST_ROW + _ROW_PX * min(rows, 10) + max(rows - 10, 0) * 22 + _FOOT_PX)
    if not isinstance(given, int) or not 300 <= given <= 1000:
        raise ValueOutOfRangeError("the height of this picture is from 300 to 1000 pixels", value=given)
    return given


def _in_words(near: NearFraction) -> str:
    if near.is_exact:
        return f"{writing.ratio(near.fraction)}, exact"
    return f"{writing.ratio(near.fraction)}, {_percent_or_ppm(near)} too {_side(near)}"


def _side(near: NearFraction) -> str:
    return "large" if near.error_ppm > 0 else "small"


def _percent_or_ppm(near: NearFraction) -> str:
    return str(writing.error(near.error)).lstrip("+−")


def _rows(shown: Sequence[NearFraction]) -> list[Row]:
    return [
        {
            "fraction": writing.ratio(near.fraction),
            "as a decimal": writing.decimal(near.fraction, 7),
            "error": writing.error(near.error),
            "it is": "exact" if near.is_exact else f"too {_side(near)}",
            "kind": near.kind,
        }
        for near in shown
    ]


@frozen
class _Axis:
    """Where an error stands: from `inner` to `outer`, powers of ten of ppm, on either side of the middle."""

    inner: int
    outer: int

    @classmethod
    def of(cls, shown: Sequence[NearFraction]) -> _Axis:
        sizes = [abs(near.error_ppm) for near in shown if near.error_ppm]
        powers = [log10(size) for size in sizes] or [3.0]
        return cls(min(0, floor(min(powers))), max(4, ceil(max(powers))))

    def off(self, ppm: float) -> float:
        """Pixels from the middle, for an error of that size."""
        if ppm == 0:
            return 0.0
        share = (log10(abs(ppm)) - self.inner) / (self.outer - self.inner)
        return _INNER_PX + share * (_OUTER_PX - _INNER_PX)

    def x(self, ppm: float) -> float:
        return _MIDDLE + (self.off(ppm) if ppm > 0 else -self.off(ppm))


def _drawing(shown: Sequence[NearFraction], wanted: str, height: int, title: str, description: str) -> Svg:
    axis = _Axis.of(shown)
    row_px = min(_ROW_PX, (height - _FIRST_ROW - _FOOT_PX) / len(shown))
    ys = [_FIRST_ROW + (n + 0.5) * row_px for n in range(len(shown))]
    bottom = height - _FOOT_PX
    points = [(axis.x(near.error_ppm), y) for near, y in zip(shown, ys, strict=True)]
    return sheet(
        (FUNNEL_PX[0], height),
        title,
        description,
        text_line(title, _LEFT, 36, size=15, anchor="start", font_weight="bold"),
        _funnel(axis, shown, ys),
        _decades(axis, bottom),
        _middle(wanted, bottom),
        drawn_line("M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points), style.SOFT, 1.0),
        *(_label(near, *point) for near, point in zip(shown, points, strict=True)),
        *(_mark(near.kind, near.is_exact, *point) for near, point in zip(shown, points, strict=True)),
        _key(height),
    )


def _funnel(axis: _Axis, shown: Sequence[NearFraction], ys: Sequence[float]) -> Svg:
    """The tone that no simpler fraction reaches into: as wide, either way, as the best so far is off."""
    right = [(_MIDDLE + axis.off(near.error_ppm), y) for near, y in zip(shown, ys, strict=True)]
    left = [(2 * _MIDDLE - x, y) for x, y in reversed(right)]
    path = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in [*right, *left]) + "Z"
    return element("path", d=Svg(path), fill=style.tint(style.SKY, 0.26))


def _decades(axis: _Axis, bottom: float) -> Svg:
    """A line for each power of ten on either side, and what it stands for."""
    rules, words = [], []
    powers = range(axis.inner, axis.outer + 1)
    longest = max(_TICK_PX, style.text_width_px(_power(axis.inner), style.SMALL_PX))
    every = ceil(longest / (axis.off(10.0) - axis.off(1.0)))
    for power in powers:
        for side in (-1, 1):
            x = _MIDDLE + side * axis.off(10.0**power)
            rules.append(f"M{x:.2f} {_AXIS_Y}V{bottom}")
            if (axis.outer - power) % every == 0 and power > axis.inner:
                words.append(text_line(_power(power), x, _AXIS_Y - 7, size=style.SMALL_PX, fill=style.SOFT))
    return element("g", drawn_line("".join(rules), style.FAINT, 0.8), *words)


def _power(power: int) -> str:
    """A power of ten of ppm as short as can be: per cent from 1 % on."""
    if power >= 4:
        return f"{10 ** (power - 4)} %"
    return writing.decimal(Fraction(10) ** power, 30)


def _middle(wanted: str, bottom: float) -> Svg:
    return element(
        "g",
        drawn_line(f"M{_MIDDLE} {_AXIS_Y - 24}V{bottom}", style.VERMILLION, 1.8),
        text_line(f"exactly {wanted}", _MIDDLE, _AXIS_Y - 32, size=16, font_weight="bold"),
        text_line("← too small, ppm", _MIDDLE - _OUTER_PX, _AXIS_Y - 32, size=14, anchor="start"),
        text_line("too large, ppm →", _MIDDLE + _OUTER_PX, _AXIS_Y - 32, size=14, anchor="end"),
    )


def _label(near: NearFraction, x: float, y: float) -> Svg:
    """The fraction and its error beside its mark: on the outer side, where no line comes, if there is room."""
    fraction, error = shortened(str(writing.ratio(near.fraction)), 21), str(writing.error(near.error))
    room = style.text_width_px(fraction, 15) + style.text_width_px(error, style.SMALL_PX) + 20
    outwards = -1 if near.error_ppm < 0 else 1
    way = outwards if (x - _LEFT if outwards < 0 else _RIGHT - x) > room else -outwards
    name = element("tspan", fraction, font_size=15, font_weight="bold")
    off = element("tspan", error, font_size=style.SMALL_PX, dx=8)
    return element("text", name, off, x=x + 12 * way, y=y + 5, text_anchor="start" if way > 0 else "end", **RIM)


def _mark(kind: str, is_exact: bool, x: float, y: float) -> Svg:
    if is_exact:
        path = f"M{x:.2f} {y - 9:.2f}l9 9l-9 9l-9 -9Z"
        return element("path", d=Svg(path), fill=style.VERMILLION, stroke=style.INK, stroke_width=1.5)
    full = kind == "convergent"
    return element(
        "circle",
        cx=x,
        cy=y,
        r=5.5,
        fill=style.BLUE if full else style.PAPER,
        stroke=style.INK if full else style.BLUE,
        stroke_width=1.5 if full else 2.2,
    )


def _key(height: int) -> Svg:
    y = height - 26
    entries = (
        ("convergent", False, "convergent"),
        ("intermediate", False, "between two convergents"),
        ("convergent", True, "exact"),
    )
    parts, x = [], _LEFT + 8
    for kind, is_exact, words in entries:
        parts.append(_mark(kind, is_exact, x, y - 4.5))
        parts.append(text_line(words, x + 14, y, size=style.WORD_PX, anchor="start"))
        x += style.text_width_px(words, style.WORD_PX) + 48
    tone = element("rect", x=x, y=y - 14, width=26, height=16, fill=style.tint(style.SKY, 0.26), stroke=style.FAINT)
    said = text_line("no simpler fraction reaches into this", x + 34, y, size=style.WORD_PX, anchor="start")
    return element("g", *parts, tone, said)
