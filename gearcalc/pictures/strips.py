"""The frame of a sheet and the strip along its foot: the key, the train in figures, the scale."""

from __future__ import annotations

from gearcalc.basics import writing
from gearcalc.pictures.style import INK, NUMBER_PX, PAPER, SMALL_PX, SOFT, WORD_PX, text_width_px
from gearcalc.pictures.svg import Svg, element, text_line
from gearcalc.pictures.trains.gear_faces import swatch
from gearcalc.pictures.trains.sheets import FRAME_PX, STRIP_PX, Sheet

_BAR_LENGTHS_MM = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
_BAR_PX = 90.0  # the scale bar is the longest of those that is no longer than this


def frame(sheet: Sheet) -> Svg:
    """White paper with a thin border."""
    width, height = sheet.size_px
    return element(
        "g",
        element("rect", width=width, height=height, fill=PAPER),
        element(
            "rect",
            x=FRAME_PX,
            y=FRAME_PX,
            width=width - 2 * FRAME_PX,
            height=height - 2 * FRAME_PX,
            fill="none",
            stroke=INK,
            stroke_width=1.2,
        ),
    )


def strip(sheet: Sheet, pressure_angle_deg: float) -> Svg:
    """Key on the left, train and ratio in the middle, scale on the right."""
    width, height = sheet.size_px
    top = height - FRAME_PX - STRIP_PX
    middle = top + STRIP_PX / 2
    key, key_end = _key(sheet, FRAME_PX + 12, middle)
    scale, scale_start = _scale(sheet, width - FRAME_PX - 12, middle, pressure_angle_deg)
    parts = [
        element("line", x1=FRAME_PX, x2=width - FRAME_PX, y1=top, y2=top, stroke=INK, stroke_width=1.2),
        key,
        scale,
        _figures(sheet, (key_end + scale_start) / 2, middle, scale_start - key_end - 24),
    ]
    return element("g", *parts)


def _key(sheet: Sheet, x: float, middle: float) -> tuple[Svg, float]:
    parts = []
    for kind in ("driver", "driven", "idler"):
        if any(gear.kind == kind for gear in sheet.gears):
            parts.append(swatch(kind, x + 9, middle))
            parts.append(text_line(kind, x + 23, middle + 4.5, size=WORD_PX, anchor="start", fill=INK))
            x += 23 + text_width_px(kind, WORD_PX) + 16
    return element("g", *parts), x


def _figures(sheet: Sheet, x: float, middle: float, room: float) -> Svg:
    train = sheet.train
    gears, ratio = str(writing.train(train.drivers, train.driven)), str(writing.ratio(train.ratio))
    words = gears if gears == ratio else f"{gears} = {ratio}"
    size = next((size for size in (NUMBER_PX, 16.0, 14.0) if text_width_px(words, size) <= room), SMALL_PX)
    return text_line(words, x, middle + 0.35 * size, size=size, fill=INK, font_weight="bold")


def _scale(sheet: Sheet, right: float, middle: float, pressure_angle_deg: float) -> tuple[Svg, float]:
    """A bar of a round number of mm, and the module and pressure angle."""
    long_mm = max((mm for mm in _BAR_LENGTHS_MM if mm * sheet.scale <= _BAR_PX), default=_BAR_LENGTHS_MM[0])
    left = right - long_mm * sheet.scale
    words = f"module {sheet.module_mm:g} mm, {pressure_angle_deg:g}°"
    words_right = right - _BAR_PX - 14
    bar = element(
        "g",
        element("line", x1=left, x2=right, y1=middle + 6, y2=middle + 6),
        *(element("line", x1=x, x2=x, y1=middle + 2, y2=middle + 10) for x in (left, right)),
        stroke=INK,
        stroke_width=1.2,
    )
    length = text_line(f"{long_mm:g} mm", (left + right) / 2, middle, size=SMALL_PX, fill=INK)
    gears = text_line(words, words_right, middle + 4.5, size=SMALL_PX, anchor="end", fill=SOFT)
    return element("g", bar, length, gears), words_right - text_width_px(words, SMALL_PX)
