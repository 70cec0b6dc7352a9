"""The bracket by itself, with the dimensions that a lathe file has of it: what to measure, and from where."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from gearcalc.basics import writing
from gearcalc.fits.geometry import Layout, Point, layout_of
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.trains import Train
from gearcalc.pictures.bracket_marks import Mark, tags
from gearcalc.pictures.bracket_sheets import edges_px, plate, plate_outline, slot_edges_px
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.room_for_words import Box, Room, box_around
from gearcalc.pictures.style import FRAME_PX, INK, SMALL_PX, SOFT, WORD_PX, text_width_px
from gearcalc.pictures.svg import Svg, bold, disc, document, drawn_line, element, over_lines, paper, path_of, text_line
from gearcalc.pictures.train_sheets import Sheet

_SIZE_PX = (800, 470)
_FRONT: Box = (20.0, 20.0, 540.0, 450.0)
_PANEL_X, _LINE_PX = 566.0, 16.0
_MARGIN_PX, _BESIDE_PX = 34.0, 20.0  # round the drawing; from the drawing to its dimension lines


def bracket_plan(lathe: Lathe) -> Picture:
    """The lathe's bracket without gears, to scale: pivot, spindle side, slots and stops, with their dimensions.

    >>> from gearcalc.lathes import demo_lathe
    >>> [str(row["what"]) for row in bracket_plan(demo_lathe("inch")).table]
    ['pivot (gearbox input)', 'spindle side', 'slot, one end', 'slot, other end']

    `lathe`: a Lathe with a bracket. Raises NotPossibleError, saying what to add, when it has none or no size of gear.
    """
    lathe = as_lathe(lathe)
    layout = layout_of(lathe)
    rows = list(_rows(layout))
    sheet = _sheet(layout)
    spindle = layout.bracket.spindle_side_at_mm
    ends = [end for slot in layout.slots for end in (slot.start, slot.at(slot.length))]
    marks = [Mark("pivot", sheet.at_px((0, 0)), False), Mark("spindle side", sheet.at_px(spindle), False)]
    marks += [Mark(f"slot: {_across_up(end)}", sheet.at_px(end), False) for end in ends[:6]]
    discs = [(*sheet.at_px(at), sheet.scale * layout.bracket.shaft_radius_mm) for at in ((0.0, 0.0), spindle)]
    room = Room(_FRONT, discs)
    for x, y in map(sheet.at_px, ends):
        room.take(box_around(x, y, 16, 16))
    for x, y in (*edges_px(sheet, layout, 0.0), *slot_edges_px(sheet, layout, 0.0)):
        room.take(box_around(x, y, 2, 2))
    dimensions = _dimensions(sheet, layout, room)
    caption = f"The bracket of {lathe.name}, to scale, seen from the gear end, without gears."
    said = "; ".join(f"{row['what']} {row['mm across']} mm across and {row['mm up']} mm up" for row in rows)
    low, high = layout.bracket.swing_deg
    description = (
        f"{caption} Measured from the pivot: {said}. It swings from {_degrees(low)} to {_degrees(high)}. "
        "The edge of the arm is drawn as a lathe file leaves it open: about so."
    )
    svg = document(
        _SIZE_PX,
        "A bracket with its dimensions",
        description,
        paper(_SIZE_PX),
        *_at_the_stops(sheet, layout),
        plate(sheet, layout, 0.0),
        *(disc(*each, "none", width=1.5) for each in discs),
        *(disc(*each[:2], 2, INK) for each in discs),
        dimensions,
        tags(room, marks),
        _panel(layout),
    )
    return Picture(svg, description, rows, caption)


def _rows(layout: Layout) -> Iterator[Row]:
    """Each place that is measured, from the pivot."""
    places: list[tuple[str, Point]] = [(f"pivot ({layout.last_shaft})", (0.0, 0.0))]
    places.append(("spindle side", layout.bracket.spindle_side_at_mm))
    for number, slot in enumerate(layout.slots, 1):
        which = f"slot {number}" if len(layout.slots) > 1 else "slot"
        places += [(f"{which}, one end", slot.start), (f"{which}, other end", slot.at(slot.length))]
    for what, (x, y) in places:
        yield {"what": what, "mm across": writing.decimal(x, 1), "mm up": writing.decimal(y, 1)}


def _sheet(layout: Layout) -> Sheet:
    """To scale, with room for the bracket at each of its stops."""
    points = [layout.bracket.spindle_side_at_mm]
    points += [point for swing in (0.0, *layout.bracket.swing_deg) for point in plate_outline(layout, swing)]
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    low, high = min(y for _, y in points), max(y for _, y in points)
    wide, tall = _FRONT[2] - _FRONT[0] - 2 * _MARGIN_PX, _FRONT[3] - _FRONT[1] - 2 * _MARGIN_PX
    scale = min(wide / (right - left), tall / (high - low))
    origin = (
        (_FRONT[0] + _FRONT[2]) / 2 - scale * (left + right) / 2,
        (_FRONT[1] + _FRONT[3]) / 2 + scale * (low + high) / 2,
    )
    train = Train((40,), (80,))  # a sheet is of some train; this one shows none
    return Sheet(train, (), 1.0, _SIZE_PX, _FRONT, _FRONT, scale, origin, scale, (), False)


def _at_the_stops(sheet: Sheet, layout: Layout) -> Iterator[Svg]:
    """The plate swung to either stop, in broken lines."""
    for swing in layout.bracket.swing_deg:
        outline = path_of(map(sheet.at_px, plate_outline(layout, swing)), closed=True)
        yield drawn_line(outline, SOFT, 0.9, "5 4", class_="stop")


def _dimensions(sheet: Sheet, layout: Layout, room: Room) -> Svg:
    """How far the spindle side is from the pivot: across, up, and straight."""
    x, y = layout.bracket.spindle_side_at_mm
    (x0, y0), (x1, y1) = sheet.at_px((0, 0)), sheet.at_px((x, y))
    beyond = _BESIDE_PX if y1 > y0 else -_BESIDE_PX
    beside = _BESIDE_PX if x0 > x1 else -_BESIDE_PX
    level, upright = y1 + beyond, x0 + beside
    lines = [drawn_line(path_of([(x0, y0), (x1, y1)]), INK, 1.2, "9 3 2 3")]
    words = [(f"D {writing.decimal(layout.shafts_apart, 1)}", (x0 + x1) / 2, (y0 + y1) / 2)]
    if x:
        lines.append(drawn_line(f"M{x0} {y0}V{level - 4}M{x1} {y1}V{level - 4}M{x0} {level}H{x1}", SOFT, 0.9))
        words.append((writing.decimal(abs(x), 1), (x0 + x1) / 2, level))
        room.take((min(x0, x1), level - 1, max(x0, x1), level + 1))
    if y:
        lines.append(drawn_line(f"M{x1} {y1}H{upright + 4}M{x0} {y0}H{upright + 4}M{upright} {y0}V{y1}", SOFT, 0.9))
        words.append((writing.decimal(abs(y), 1), upright, (y0 + y1) / 2))
        room.take((upright - 1, min(y0, y1), upright + 1, max(y0, y1)))
    for text, at_x, at_y in words:
        room.take(box_around(at_x, at_y, text_width_px(text, WORD_PX) + 8, WORD_PX + 4))
    return element("g", *lines, *(over_lines(text, at_x, at_y + 4, size=WORD_PX) for text, at_x, at_y in words))


def _panel(layout: Layout) -> Svg:
    """What is measured, in words."""
    bracket = layout.bracket
    low, high = bracket.swing_deg
    entries = [("Pivot", f"the axis of the {layout.last_shaft}; all is measured from here")]
    entries.append(("Spindle side", f"{_across_up(bracket.spindle_side_at_mm)} mm (across, up)"))
    for number, slot in enumerate(layout.slots[:4], 1):
        which = f"Slot {number}" if len(layout.slots) > 1 else "Slot"
        entries.append((which, f"from {_across_up(slot.start)} to {_across_up(slot.at(slot.length))} mm"))
    entries.append(("Swing", f"from {_degrees(low)} to {_degrees(high)}, broken lines; plus is anticlockwise"))
    studs, shafts = (writing.decimal(2 * r, 1) for r in (bracket.stud_radius_mm, bracket.shaft_radius_mm))
    entries.append(("Studs", f"{bracket.studs}, {studs} mm across; shafts {shafts} mm"))
    entries.append(("Not given", "the edge of the arm: drawn about so"))
    parts, y = [], 52.0
    for name, words in entries:
        parts.append(bold(name, _PANEL_X, y, size=WORD_PX))
        for line in wrap(words, int((_SIZE_PX[0] - FRAME_PX - _PANEL_X) / text_width_px("m", SMALL_PX))):
            y += _LINE_PX
            parts.append(text_line(line, _PANEL_X, y, size=SMALL_PX, anchor="start"))
        y += _LINE_PX + 8
    return element("g", drawn_line(f"M{_PANEL_X - 14} 30V440", SOFT, 0.6), *parts)


def _across_up(point: Point) -> str:
    return ", ".join(writing.decimal(each, 1) for each in point)


def _degrees(angle: float) -> str:
    return f"{writing.decimal(angle, 1)}°"
