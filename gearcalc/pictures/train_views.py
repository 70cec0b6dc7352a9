"""A train from the gear end and edge-on, with arrows for the turning and words where there is room for them."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import pairwise

from gearcalc.pictures.gears_in_mesh import DEDENDUM, PlacedGear, Point
from gearcalc.pictures.room_for_words import (
    Box,
    Circle,
    Room,
    box_around,
    box_from_circle,
    box_middle,
    is_within,
    nearest_in,
)
from gearcalc.pictures.style import FAINT, INK, LOOKS, NUMBER_PX, PAPER, SMALL_PX, SOFT, WORD_PX, text_width_px
from gearcalc.pictures.svg import Svg, bold, disc, drawn_line, element, note, rect, text_line
from gearcalc.pictures.train_sheets import EDGE_GAP_PX, EDGE_GEAR_PX, EDGE_WORDS_PX, Sheet, face, ring_radius_px

_FACE_SIZES_PX = ((NUMBER_PX, SMALL_PX), (15.0, SMALL_PX))  # tooth count, and the word under it
_LINE_PX = WORD_PX + 3
_LEADER_PX = 14.0
_DIAGONALS = (-60, -120, 60, 120, -90, 90, -45, -135, 45, 135, *range(0, 360, 15))
_BELOW = (90, 270, *range(0, 360, 15))
_PLAINLY_PX = 8.0  # a name stands nearer to its own gear than to any other by that much
_LEFT_OF_IT, _RIGHT_OF_IT = (90, 180, 150, 210, 120), (90, 0, 30, 330, 60)


def faces(sheet: Sheet, first_driver_deg: float, *, marked: bool = False) -> Svg:
    """The gears, those nearest to the headstock first; angles anticlockwise, as PlacedGear has them.

    `marked`: a tooth of each is painted.
    """
    drawn = [
        face(
            gear.kind,
            gear.teeth,
            sheet.at_px(gear.centre_mm),
            sheet.module_px(gear),
            bore_px=sheet.bore_px,
            turned_deg=-gear.angle_deg(first_driver_deg) % 360,
            turns=float(gear.turns),
            pressure_angle_deg=gear.size.pressure_angle_deg,
            marked=marked,
        )
        for gear in sorted(sheet.gears, key=lambda gear: gear.plane)
    ]
    return element("g", *drawn, class_="front-view")


def projection_lines(sheet: Sheet) -> Svg:
    """Chain lines from each shaft down to the edge view, where that stands right underneath."""
    if not sheet.is_row:
        return Svg("")
    discs = [sheet.disc(gear) for gear in sheet.gears]
    lines = []
    for x in sheet.shafts_px:
        top = max(y + math.sqrt(r * r - (x - cx) ** 2) for cx, y, r in discs if abs(x - cx) < r)
        lines.append(element("line", x1=x, x2=x, y1=top + 4, y2=sheet.edge[3] - 4))
    return element("g", *lines, stroke=SOFT, stroke_width=0.6, stroke_dasharray="12 3 2 3")


def counting_places(sheet: Sheet) -> Svg:
    """A ring round the point where the driver of each mesh meets its mate: there the teeth that pass are counted."""
    rings = []
    for gear, mate in pairwise(sheet.gears):
        if gear.kind == "driver":
            (x, y), (mate_x, mate_y) = sheet.at_px(gear.centre_mm), sheet.at_px(mate.centre_mm)
            share = gear.teeth / (gear.teeth + mate.teeth)
            at = x + share * (mate_x - x), y + share * (mate_y - y), max(14.0, 4.6 * sheet.module_px(gear))
            rings.append(disc(*at, "none", PAPER, 4))
            rings.append(disc(*at, "none", INK, 1.6, class_="counting-place"))
    return element("g", *rings)


def front_words(sheet: Sheet, shafts: Sequence[str], clockwise: bool, seen_from: str, room: Room | None = None) -> Svg:
    """Turning arrows, tooth counts and the names of the two end shafts, each where nothing is in its way.

    `seen_from`: what the arrows hold for, in words. `room`: what is taken before, by a drawing that says more.
    """
    room = room or Room(sheet.front, [sheet.disc(gear) for gear in sheet.gears])
    parts = [_hidden_rims(sheet), _centre_crosses(sheet), _in_the_corner(sheet, room, seen_from)]
    parts += [turning_arrow(sheet, room, shaft, clockwise) for shaft in range(len(shafts))]
    faced = [(gear, _on_face(sheet, room, gear)) for gear in sheet.gears]
    parts += [words for _, words in faced if words is not None]
    parts.append(_shaft_name(sheet, room, 0, shafts[0], _LEFT_OF_IT))
    parts.append(_shaft_name(sheet, room, len(shafts) - 1, shafts[-1], _RIGHT_OF_IT))
    parts += [_with_leader(sheet, room, gear) for gear, words in faced if words is None]
    return element("g", *parts)


def _in_the_corner(sheet: Sheet, room: Room, words: str) -> Svg:
    """Words along the upper edge, above the gears, where only arrows and names would stand."""
    left, top, right, _ = room.zone
    letters = max(1, int((right - left - 4) / text_width_px("m", SMALL_PX)))
    lines = textwrap.wrap(words, letters, break_long_words=False) or [""]
    width, high = max(text_width_px(line, SMALL_PX) for line in lines) + 4, len(lines) * (SMALL_PX + 3)
    boxes = [(x, top + 3, x + width, top + 2 + high) for x in (left, right - width, (left + right - width) / 2)]
    box = room.take(next((box for box in boxes if room.is_free(box)), boxes[0]))
    places = (box[1] + n * (SMALL_PX + 3) + SMALL_PX - 1 for n in range(len(lines)))
    return element("g", *(note(line, box[0] + 2, y, size=SMALL_PX) for line, y in zip(lines, places, strict=True)))


def _hidden_rims(sheet: Sheet) -> Svg:
    """A gear behind one as large on its own stud can't be seen: its outside circle, dashed."""
    hidden = [sheet.disc(gear) for gear in sheet.gears if sheet.is_hidden(gear)]
    return element("g", *(disc(*rim, "none", width=1, stroke_dasharray="5 3") for rim in hidden))


def _centre_crosses(sheet: Sheet) -> Svg:
    reach = 0.75 * sheet.bore_px
    middles = [sheet.disc(sheet.largest_on(shaft)) for shaft in range(len(sheet.shafts_px))]
    arms = f"h{2 * reach:.2f}m{-reach:.2f} {-reach:.2f}v{2 * reach:.2f}"
    return drawn_line("".join(f"M{x - reach:.2f} {y:.2f}{arms}" for x, y, _ in middles), SOFT, 0.8)


def _on_face(sheet: Sheet, room: Room, gear: PlacedGear) -> Svg | None:
    """The tooth count and what the gear does, on its face; None where there is no room."""
    if sheet.is_hidden(gear):
        return None
    x, y, _ = sheet.disc(gear)
    edge = ring_radius_px(gear.teeth, sheet.module_px(gear)) - 2.5
    in_front = [sheet.disc(other) for other in sheet.in_front_of(gear)]
    for count_px, word_px in _FACE_SIZES_PX:
        width = max(text_width_px(str(gear.teeth), count_px), text_width_px(gear.kind, word_px)) + 3
        box = room.inside((x, y, edge), 1.75 * sheet.bore_px, in_front, width, count_px + word_px + 2)
        if box is not None:
            return _two_lines(room.take(box), gear, count_px, word_px)
    return None


def _two_lines(box: Box, gear: PlacedGear, count_px: float, word_px: float) -> Svg:
    x, _ = box_middle(box)
    count = bold(str(gear.teeth), x, box[1] + 0.86 * count_px, size=count_px, anchor="middle")
    word = text_line(gear.kind, x, box[3] - 0.25 * word_px, size=word_px)
    return element("g", _patch(box) if LOOKS[gear.kind].hatched else Svg(""), count, word)


def _patch(box: Box) -> Svg:
    """Clear paper under words."""
    return rect(box[0] - 1, box[1], box[2] + 1, box[3] + 1, rx=4)


def _shaft_name(sheet: Sheet, room: Room, shaft: int, words: str, bearings: Sequence[float]) -> Svg:
    disc = sheet.disc(sheet.largest_on(shaft))
    width = text_width_px(words, WORD_PX) + 4
    others = [sheet.disc(gear) for gear in sheet.gears if gear.shaft != shaft]

    def is_plainly_its_own(box: Box) -> bool:
        middle = (*box_middle(box), *box_middle(box))
        return all(box_from_circle(middle, disc) + _PLAINLY_PX < box_from_circle(middle, other) for other in others)

    bearings = (*bearings, *_BELOW)
    box = room.beside(disc, width, _LINE_PX, bearings, accepts=is_plainly_its_own)
    if box is not None:
        room.take(box)
        return element("g", _patch(box), _one_line(box, words, style="italic"))
    box = room.beside(disc, width, _LINE_PX, bearings)
    box = room.take(box or box_around(disc[0], disc[1] + disc[2] + _LINE_PX, width, _LINE_PX))
    spot = _spot_on(sheet, sheet.largest_on(shaft), box)
    return element("g", _leader(nearest_in(box, spot), spot), _patch(box), _one_line(box, words, style="italic"))


def _with_leader(sheet: Sheet, room: Room, gear: PlacedGear) -> Svg:
    """Tooth count and what the gear does beside it, with a leader that ends in a dot on the gear."""
    words = f"{gear.teeth} {gear.kind}"
    width = text_width_px(words, WORD_PX) + 4
    disc = sheet.disc(sheet.largest_on(gear.shaft))

    def leader_is_free(box: Box) -> bool:
        spot = _spot_on(sheet, gear, box)
        return room.line_is_free(nearest_in(box, spot), spot)

    box = room.beside(disc, width, _LINE_PX, _DIAGONALS, _LEADER_PX, leader_is_free)
    box = box or room.beside(disc, width, _LINE_PX, _DIAGONALS, _LEADER_PX)
    box = room.take(box or box_around(disc[0], disc[1] + disc[2] + _LINE_PX, width, _LINE_PX))
    spot = _spot_on(sheet, gear, box)
    return element("g", _leader(nearest_in(box, spot), spot), _one_line(box, words, weight="bold"))


def _leader(start: Point, spot: Point) -> Svg:
    """A line that ends in a dot on what is meant."""
    line = element("line", x1=start[0], y1=start[1], x2=spot[0], y2=spot[1], stroke=INK, stroke_width=0.9)
    return element("g", line, disc(*spot, 2, INK, None))


def _one_line(box: Box, words: str, *, weight: str | None = None, style: str | None = None) -> Svg:
    x, baseline = box_middle(box)[0], box[3] - 0.3 * WORD_PX
    return text_line(words, x, baseline, font_weight=weight, font_style=style)


def _spot_on(sheet: Sheet, gear: PlacedGear, box: Box) -> Point:
    """A point of the gear that can be seen, on the side of the box; on the dashed rim of a hidden gear."""
    x, y, root = sheet.disc(gear, -DEDENDUM)
    words_x, words_y = box_middle(box)
    toward = math.atan2(words_y - y, words_x - x)
    if sheet.is_hidden(gear):
        outside = sheet.disc(gear)[2]
        return x + outside * math.cos(toward), y + outside * math.sin(toward)
    covers = [sheet.disc(other) for other in sheet.in_front_of(gear)]
    for turn in (0.0, 0.4, -0.4, 0.8, -0.8, 1.3, -1.3, 2.0, -2.0, 3.0):
        for share in (0.75, 0.87, 0.96):
            away = share * root
            spot = x + away * math.cos(toward + turn), y + away * math.sin(toward + turn)
            if all(math.dist(spot, cover[:2]) > cover[2] + 2 for cover in covers):
                return spot
    return x + 0.9 * root * math.cos(toward), y + 0.9 * root * math.sin(toward)


# Arrows that say which way a shaft turns: round its largest gear, or on that gear's face when it is crowded.


_GAP_PX, _LENGTH_PX, _HEAD_PX = 8.0, 46.0, 8.0
_BEARINGS = (-90, 90, -60, -120, 60, 120, -30, -150, 30, 150, 180, 0, -75, -105, 75, 105, -45, -135, 45, 135)


def turning_arrow(sheet: Sheet, room: Room, shaft: int, clockwise: bool) -> Svg:
    """The arrow of a shaft where there is room, and that room taken; `clockwise`: the way the first driver turns."""
    gear = sheet.largest_on(shaft)
    sweep = 1 if (gear.turns > 0) == clockwise else -1
    for circle, covers in _rings(sheet, gear):
        x, y, radius = circle
        half = min(_LENGTH_PX / radius / 2, 0.9)
        for bearing in _BEARINGS:
            middle = math.radians(bearing)
            angles = (middle + share * half for share in (-1, -0.5, 0, 0.5, 1))
            boxes = [box_around(x + radius * math.cos(a), y + radius * math.sin(a), 9, 9) for a in angles]
            if all(room.is_off(box, covers, 1.0) and is_within(box, room.zone) for box in boxes):
                for box in boxes:
                    room.take(box)
                return _arrow(circle, middle - sweep * half, middle + sweep * half)
    return _arrow(circle, middle - sweep * half, middle + sweep * half)


def _rings(sheet: Sheet, gear: PlacedGear) -> Iterator[tuple[Circle, Sequence[Circle]]]:
    """Circles on which an arrow may lie, best first, each with what may cover it."""
    x, y, outside = sheet.disc(gear)
    others = [sheet.disc(other) for other in sheet.gears if other.shaft != gear.shaft]
    yield (x, y, outside + _GAP_PX), others
    in_front = [sheet.disc(other) for other in sheet.in_front_of(gear)]
    for share in (0.8, 0.6):
        yield (x, y, share * ring_radius_px(gear.teeth, sheet.module_px(gear))), in_front


def _arrow(circle: Circle, start: float, end: float) -> Svg:
    """An arc from one angle to another (radians, y down) with a head at its end."""
    x, y, radius = circle
    sweep = 1 if end > start else -1
    neck = end - sweep * _HEAD_PX / radius

    def at(angle: float, off: float = 0.0) -> str:
        return f"{x + (radius + off) * math.cos(angle):.2f} {y + (radius + off) * math.sin(angle):.2f}"

    line = Svg(f"M{at(start)}A{radius:.2f} {radius:.2f} 0 0 {int(sweep > 0)} {at(neck)}")
    head = Svg(f"M{at(end)}L{at(neck, -0.45 * _HEAD_PX)}L{at(neck, 0.45 * _HEAD_PX)}Z")
    return element(
        "g",
        drawn_line(line, PAPER, 5),
        drawn_line(line, INK, 1.6),
        element("path", d=head, fill=INK, stroke=PAPER, stroke_width=1, paint_order="stroke"),
        class_="arrow",
    )


# The train seen edge-on, unfolded into one row: which gears share a plane, which share a shaft.


_HATCH_PX = 6.0
_END_PX = 5.0  # how far a shaft stands out of its front gear


def edge_view(sheet: Sheet) -> Svg:
    """Each gear as a bar as long as its pitch circle is wide, so that bars which touch are gears that mesh."""
    words = "Edge view, headstock side up" if sheet.is_row else "Edge view, unfolded into a row, headstock side up"
    left, top = sheet.edge[:2]
    patch = rect(left, top - 1, left + 0.85 * text_width_px(words, SMALL_PX), top + SMALL_PX + 3)
    shafts = (_shaft(sheet, shaft) for shaft in range(len(sheet.shafts_px)))
    bars = (_bar(sheet, gear) for gear in sheet.gears)
    return element("g", patch, note(words, left, top + 11, size=SMALL_PX), *shafts, *bars, class_="edge-view")


def _plane_top(sheet: Sheet, plane: int) -> float:
    return sheet.edge[1] + EDGE_WORDS_PX + plane * (EDGE_GEAR_PX + EDGE_GAP_PX)


def _shaft(sheet: Sheet, shaft: int) -> Svg:
    """The shaft from the headstock side to just beyond its front gear, and its centre line."""
    x = sheet.shafts_px[shaft]
    front = max(gear.plane for gear in sheet.gears if gear.shaft == shaft)
    top, bottom = sheet.edge[1] + EDGE_WORDS_PX - 5, _plane_top(sheet, front) + EDGE_GEAR_PX + _END_PX
    half = min(sheet.bore_px * sheet.edge_scale / sheet.scale, 7.0)
    centre_line = drawn_line(f"M{x:.2f} {top - 4:.2f}V{bottom + 5:.2f}", SOFT, 0.6, "7 2 2 2")
    return element("g", rect(x - half, top, x + half, bottom, FAINT, INK, 0.9), centre_line)


def _bar(sheet: Sheet, gear: PlacedGear) -> Svg:
    look = LOOKS[gear.kind]
    wide = sheet.edge_scale * gear.size.module_mm * gear.teeth
    left, top = sheet.shafts_px[gear.shaft] - wide / 2, _plane_top(sheet, gear.plane)
    right, foot = left + wide, top + EDGE_GEAR_PX
    parts = [rect(left, top, right, foot, look.fill, INK, 1)]
    if look.ring and wide > 12:
        parts += [rect(x, top + 0.5, x + 3, foot - 0.5, look.accent) for x in (left + 3.5, right - 6.5)]
    if look.hatched:
        hatch, at = _bar_hatching(round(wide, 1), EDGE_GEAR_PX), f"translate({left:.2f} {top:.2f})"
        parts.append(drawn_line(hatch, look.accent, 1.1, transform=at))
    return element("g", *parts, _words(sheet, gear, wide, top))


def _words(sheet: Sheet, gear: PlacedGear, wide: float, top: float) -> Svg:
    """The tooth count, and what the gear does where the bar is long enough."""
    x, room = sheet.shafts_px[gear.shaft], wide - 14
    which = gear.place if sheet.train.meshes > 1 and gear.kind not in ("idler", "idle") else gear.kind
    for words in (f"{gear.teeth} {which}", f"{gear.teeth} {gear.kind}", str(gear.teeth)):
        width = text_width_px(words, SMALL_PX)
        if width <= (room if " " in words else wide - 3):
            middle = top + EDGE_GEAR_PX / 2
            line = bold(words, x, middle + 0.36 * SMALL_PX, size=SMALL_PX, anchor="middle")
            if gear.kind != "driven" or " " not in words:
                return line
            return element("g", rect(*box_around(x, middle, width + 6, EDGE_GEAR_PX - 4), rx=2), line)
    return Svg("")


@lru_cache(maxsize=256)
def _bar_hatching(wide: float, high: float) -> Svg:
    lines, x = [], -high + _HATCH_PX / 2
    while x < wide:
        start, end = max(x, 0.0), min(x + high, wide)
        lines.append(f"M{start:.1f} {high - (start - x):.1f}L{end:.1f} {high - (end - x):.1f}")
        x += _HATCH_PX
    return Svg("".join(lines))
