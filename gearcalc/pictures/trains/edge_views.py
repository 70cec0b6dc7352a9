"""The train seen edge-on, unfolded into one row: which gears share a plane, which share a shaft."""

from __future__ import annotations

from functools import lru_cache

from gearcalc.pictures.labels import box_around
from gearcalc.pictures.style import FAINT, INK, LOOKS, PAPER, SMALL_PX, SOFT, text_width_px
from gearcalc.pictures.svg import Svg, element, text_line
from gearcalc.pictures.trains.meshing import PlacedGear
from gearcalc.pictures.trains.sheets import EDGE_GAP_PX, EDGE_GEAR_PX, EDGE_WORDS_PX, Sheet

_HATCH_PX = 6.0
_END_PX = 5.0  # how far a shaft stands out of its front gear


def edge_view(sheet: Sheet) -> Svg:
    """Each gear as a bar as long as its pitch circle is wide, so that bars which touch are gears that mesh."""
    parts = [_title(sheet)]
    parts += [_shaft(sheet, shaft) for shaft in range(len(sheet.shafts_px))]
    parts += [_bar(sheet, gear) for gear in sheet.gears]
    return element("g", *parts, class_="edge-view")


def _title(sheet: Sheet) -> Svg:
    words = "Edge view, headstock side up" if sheet.is_row else "Edge view, unfolded into a row, headstock side up"
    left, top = sheet.edge[:2]
    patch = element(
        "rect", x=left, y=top - 1, width=0.85 * text_width_px(words, SMALL_PX), height=SMALL_PX + 4, fill=PAPER
    )
    line = text_line(words, left, top + 11, size=SMALL_PX, anchor="start", fill=SOFT)
    return element("g", patch, line)


def _plane_top(sheet: Sheet, plane: int) -> float:
    return sheet.edge[1] + EDGE_WORDS_PX + plane * (EDGE_GEAR_PX + EDGE_GAP_PX)


def _shaft(sheet: Sheet, shaft: int) -> Svg:
    """The shaft from the headstock side to just beyond its front gear, and its centre line."""
    x = sheet.shafts_px[shaft]
    front = max(gear.plane for gear in sheet.gears if gear.shaft == shaft)
    top, bottom = sheet.edge[1] + EDGE_WORDS_PX - 5, _plane_top(sheet, front) + EDGE_GEAR_PX + _END_PX
    half = min(sheet.bore_px * sheet.edge_scale / sheet.scale, 7.0)
    return element(
        "g",
        element(
            "rect", x=x - half, y=top, width=2 * half, height=bottom - top, fill=FAINT, stroke=INK, stroke_width=0.9
        ),
        element(
            "line", x1=x, x2=x, y1=top - 4, y2=bottom + 5, stroke=SOFT, stroke_width=0.6, stroke_dasharray="7 2 2 2"
        ),
    )


def _bar(sheet: Sheet, gear: PlacedGear) -> Svg:
    look = LOOKS[gear.kind]
    wide = sheet.edge_scale * sheet.module_mm * gear.teeth
    left, top = sheet.shafts_px[gear.shaft] - wide / 2, _plane_top(sheet, gear.plane)
    parts = [
        element("rect", x=left, y=top, width=wide, height=EDGE_GEAR_PX, fill=look.fill, stroke=INK, stroke_width=1)
    ]
    if look.ring and wide > 12:
        parts += [
            element("rect", x=x, y=top + 0.5, width=3, height=EDGE_GEAR_PX - 1, fill=look.accent)
            for x in (left + 3.5, left + wide - 6.5)
        ]
    if look.hatched:
        hatch = _bar_hatching(round(wide, 1), EDGE_GEAR_PX)
        parts.append(
            element(
                "path",
                d=hatch,
                stroke=look.accent,
                stroke_width=1.1,
                fill="none",
                transform=f"translate({left:.2f} {top:.2f})",
            )
        )
    return element("g", *parts, _words(sheet, gear, wide, top))


def _words(sheet: Sheet, gear: PlacedGear, wide: float, top: float) -> Svg:
    """The tooth count, and what the gear does where the bar is long enough."""
    x, room = sheet.shafts_px[gear.shaft], wide - 14
    which = gear.place if sheet.train.meshes > 1 and gear.kind != "idler" else gear.kind
    for words in (f"{gear.teeth} {which}", f"{gear.teeth} {gear.kind}", str(gear.teeth)):
        width = text_width_px(words, SMALL_PX)
        if width <= (room if " " in words else wide - 3):
            box = box_around(x, top + EDGE_GEAR_PX / 2, width + 6, EDGE_GEAR_PX - 4)
            patch = element(
                "rect",
                x=box[0],
                y=box[1],
                width=box[2] - box[0],
                height=box[3] - box[1],
                rx=2,
                fill=PAPER if gear.kind == "driven" else LOOKS[gear.kind].fill,
            )
            line = text_line(
                words, x, top + EDGE_GEAR_PX / 2 + 0.36 * SMALL_PX, size=SMALL_PX, fill=INK, font_weight="bold"
            )
            return element("g", patch if gear.kind == "driven" and " " in words else Svg(""), line)
    return Svg("")


@lru_cache(maxsize=256)
def _bar_hatching(wide: float, high: float) -> Svg:
    lines, x = [], -high + _HATCH_PX / 2
    while x < wide:
        start, end = max(x, 0.0), min(x + high, wide)
        lines.append(f"M{start:.1f} {high - (start - x):.1f}L{end:.1f} {high - (end - x):.1f}")
        x += _HATCH_PX
    return Svg("".join(lines))
