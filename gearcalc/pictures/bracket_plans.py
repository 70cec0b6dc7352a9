"""The bracket with its measures: what is measured from where, each by its key in the lathe file."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import atan2, cos, degrees, hypot, radians, sin

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.fits.geometry import PIVOT, Layout, layout_of_bracket
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.parts import Bracket
from gearcalc.pictures.bracket_sheets import plate_outline
from gearcalc.pictures.chart_frame import chart, shortened
from gearcalc.pictures.gears_in_mesh import Point
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.room_for_words import Box, Room, box_around, box_middle
from gearcalc.pictures.style import (
    BLUE,
    DARK_STEEL,
    INK,
    ORANGE,
    PAPER,
    SMALL_PX,
    SOFT,
    STEEL,
    WORD_PX,
    text_width_px,
    tint,
)
from gearcalc.pictures.svg import Svg, bold, disc, drawn_line, element, note, over_lines, path_of, shape, text_line

_SIZE_PX = (800, 560)
_DRAWING: Box = (20.0, 50.0, 478.0, 540.0)
_PANEL_PX, _PANEL_TOP_PX, _LINE_PX = 496.0, 76.0, 56.0
_MARGIN_PX, _BADGE_PX, _BEYOND_PX = 44.0, 10.0, 26.0
_CHAIN_LINE, _HIDDEN = "10 3 2 3", "4 3"
_BEARINGS = tuple(range(-90, 270, 15))
_MOST_SLOTS = 3  # that are numbered; of more the first


def bracket_plan(lathe: Lathe) -> Picture:
    """Draw a lathe's bracket at swing 0, with what its file says of it and the key of each measure.

    >>> from gearcalc.lathes import demo_lathe
    >>> picture = bracket_plan(demo_lathe("inch"))
    >>> [(row["key"], row["value"]) for row in picture.table][1]
    ('spindle_side_at_mm', '[-50, 94]')

    `lathe`: a Lathe with a bracket; the size of its gears need not be known.
    Raises NotPossibleError, saying what to add, where its file describes no bracket.
    """
    lathe = as_lathe(lathe)
    layout = layout_of_bracket(lathe)
    drawn = _Drawn.of(layout)
    rows = list(_rows(layout.bracket))
    caption = f"{shortened(lathe.name, 60)}: its bracket as the file has it"
    said = "; ".join(f"{row['number']}: {row['key']} = {row['value']}, {row['measured']}" for row in rows)
    description = (
        f"The bracket from the gear side, at swing 0, lengths in mm. {said}. From shaft to shaft it is "
        f"{_drawn(layout.shafts_apart)} mm. The edge of the arm stands in no file: it is drawn about so."
    )
    return chart(_SIZE_PX, caption, description, rows, drawn.svg(), _panel(rows), title=caption)


def _rows(bracket: Bracket) -> Iterator[Row]:
    """What is measured, in the order of the numbers on the drawing."""
    first, *others = bracket.slots
    more = f"; {len(others)} more in the file" if others else ""
    told: list[tuple[str, str, str]] = [
        ("the pivot", "[0, 0]", "middle of the last change gear's shaft"),
        ("spindle_side_at_mm", _pair(bracket.spindle_side_at_mm), "to the first change gear: across, up"),
        ("from_mm", _pair(first.from_mm), "a slot: where a stud's middle can begin"),
        ("to_mm", _pair(first.to_mm), f"and where it ends{more}"),
        ("swing_deg", _pair(bracket.swing_deg), "stop to stop; anticlockwise is above 0"),
        ("shaft_radius_mm", _short(bracket.shaft_radius_mm), "half the diameter of these shafts"),
        ("stud_radius_mm", _short(bracket.stud_radius_mm), "half the diameter of a stud's bush"),
    ]
    if bracket.cover_mm is not None:
        told.append(("cover_mm", f"{len(bracket.cover_mm)} corners", "of the room under the cover"))
    for number, (key, value, measured) in enumerate(told, 1):
        yield {"number": number, "key": key, "value": value, "measured": measured}


def _short(value: float) -> str:
    """A measure to 0.01, as a file may have it, a hyphen before what is below zero."""
    return _drawn(value).replace(writing.MINUS, "-")


def _drawn(value: float) -> str:
    """The same as a drawing has it, with a true minus sign."""
    return writing.decimal(value, 2)


def _pair(numbers: Sequence[float]) -> str:
    return f"[{', '.join(map(_short, numbers))}]"


def _panel(rows: Sequence[Row]) -> Svg:
    parts = []
    for place, row in enumerate(rows):
        y = _PANEL_TOP_PX + place * _LINE_PX
        between = " " if row["value"] == "[0, 0]" else " = "
        parts += [
            _badge(str(row["number"]), (_PANEL_PX + _BADGE_PX, y)),
            bold(f"{row['key']}{between}{row['value']}", _PANEL_PX + 30, y + 4, size=WORD_PX),
            note(str(row["measured"]), _PANEL_PX + 30, y + 21, size=SMALL_PX),
        ]
    return element("g", *parts)


def _badge(number: str, at: Point) -> Svg:
    return element("g", disc(*at, _BADGE_PX, INK, None), text_line(number, at[0], at[1] + 4, size=SMALL_PX, fill=PAPER))


@frozen
class _Drawn:
    """The drawing on the left: where millimetres come to lie, and what stands there."""

    layout: Layout
    scale: float
    origin_px: Point
    arc_mm: float

    @classmethod
    def of(cls, layout: Layout) -> _Drawn:
        """As large as bracket, shafts, swing and cover let it be."""
        outline = plate_outline(layout, 0)
        arc = max(hypot(*point) for slot in layout.slots[:1] for point in (slot.start, slot.at(slot.length)))
        arc += layout.bracket.stud_radius_mm + 12
        across, up = layout.bracket.spindle_side_at_mm
        radius = layout.bracket.shaft_radius_mm
        points = [*outline, *_arc(layout, arc), *(layout.bracket.cover_mm or ())]
        points += [point for stop in layout.bracket.swing_deg for point in plate_outline(layout, stop)]
        points += [(across + x, up + y) for x in (-radius, radius) for y in (-radius, radius)]
        (left, right), (low, high) = ((min(axis), max(axis)) for axis in zip(*points, strict=True))
        wide = _DRAWING[2] - _DRAWING[0] - 2 * _MARGIN_PX
        tall = _DRAWING[3] - _DRAWING[1] - 2 * _MARGIN_PX
        scale = min(wide / (right - left), tall / (high - low))
        x, y = box_middle(_DRAWING)
        return cls(layout, scale, (x - scale * (left + right) / 2, y + scale * (low + high) / 2), arc)

    def at(self, point_mm: Point) -> Point:
        return self.origin_px[0] + self.scale * point_mm[0], self.origin_px[1] - self.scale * point_mm[1]

    def svg(self) -> Svg:
        """Plate and slots, shafts and studs, the measures over them, each with the number of its key."""
        bracket = self.layout.bracket
        spindle = self.at(bracket.spindle_side_at_mm)
        shaft = bracket.shaft_radius_mm * self.scale
        room = Room(_DRAWING, [(*spindle, shaft), (*self.at(PIVOT), shaft)])
        measures = [self._across(room), self._up(room), *self._swing(room), self._apart(room), *self._ways(room)]
        return element(
            "g",
            *self._cover(),
            *self._at_the_stops(),
            shape(path_of(map(self.at, plate_outline(self.layout, 0)), closed=True), STEEL, INK),
            *self._slots(),
            *self._axes(),
            disc(*self.at(PIVOT), shaft, tint(ORANGE, 0.4), class_="pivot"),
            disc(*spindle, shaft, tint(BLUE, 0.25), class_="spindle-side"),
            *(disc(*at, 2, INK, None) for at in (self.at(PIVOT), spindle)),
            *measures,
            *self._badges(room),
        )

    def _slots(self) -> Iterator[Svg]:
        stud = self.layout.bracket.stud_radius_mm
        for slot in self.layout.slots:
            ends = slot.start, slot.at(slot.length)
            path = path_of(map(self.at, ends))
            for width, colour in ((1.5 * stud * self.scale + 2, INK), (1.5 * stud * self.scale, PAPER)):
                yield drawn_line(path, colour, width, stroke_linecap="round")
            yield drawn_line(path, SOFT, 0.8, _CHAIN_LINE)
            yield from (disc(*self.at(end), stud * self.scale, "none", stroke_dasharray=_HIDDEN) for end in ends)

    def _axes(self) -> Iterator[Svg]:
        x, y = self.at(PIVOT)
        yield drawn_line(path_of([(_DRAWING[0], y), (_DRAWING[2], y)]), SOFT, 0.8, _CHAIN_LINE)
        yield drawn_line(path_of([(x, _DRAWING[1]), (x, _DRAWING[3])]), SOFT, 0.8, _CHAIN_LINE)

    def _ways(self, room: Room) -> Iterator[Svg]:
        """Which way is counted up, at the ends of the axes, where there is room."""
        x, y = self.at(PIVOT)
        for words, at in (("across", (_DRAWING[2] - 22, y - 9)), ("up", (x + 14, _DRAWING[1] + 8))):
            yield from _where_free(room, words, at, SMALL_PX, note, anchor="middle")
        yield _tip((_DRAWING[2], y), (0, y), SOFT)
        yield _tip((x, _DRAWING[1]), (x, _DRAWING[3]), SOFT)

    def _at_the_stops(self) -> Iterator[Svg]:
        """The plate swung to either stop, in broken lines."""
        for stop in self.layout.bracket.swing_deg:
            outline = map(self.at, plate_outline(self.layout, stop))
            yield drawn_line(path_of(outline, closed=True), DARK_STEEL, 0.9, _HIDDEN, class_="stop")

    def _apart(self, room: Room) -> Svg:
        """From shaft to shaft, straight, which is easier to measure than across."""
        start, end = self.at(PIVOT), self.at(self.layout.bracket.spindle_side_at_mm)
        words = f"D {_drawn(self.layout.shafts_apart)}"
        at = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        line = drawn_line(path_of([start, end]), SOFT, 1, _CHAIN_LINE)
        return element("g", line, *_where_free(room, words, at, SMALL_PX))

    def _cover(self) -> Iterator[Svg]:
        if self.layout.bracket.cover_mm is not None:
            yield drawn_line(path_of(map(self.at, self.layout.bracket.cover_mm), closed=True), DARK_STEEL, 2.4, "12 3")

    def _across(self, room: Room) -> Svg:
        """How far across the first change gear stands, beyond it."""
        (x, up), (start, _) = self.at(self.layout.bracket.spindle_side_at_mm), self.at(PIVOT)
        away = -1 if self.layout.bracket.spindle_side_at_mm[1] >= 0 else 1
        y = up + away * (self.layout.bracket.shaft_radius_mm * self.scale + _BEYOND_PX)
        words = _drawn(self.layout.bracket.spindle_side_at_mm[0])
        return self._dimension(room, words, (start, y), (x, y), ((x, up), (x, y + away * 6)))

    def _up(self, room: Room) -> Svg:
        """How far up it stands, on its outer side."""
        (across, y), (_, start) = self.at(self.layout.bracket.spindle_side_at_mm), self.at(PIVOT)
        away = -1 if self.layout.bracket.spindle_side_at_mm[0] <= 0 else 1
        x = across + away * (self.layout.bracket.shaft_radius_mm * self.scale + _BEYOND_PX)
        words = _drawn(self.layout.bracket.spindle_side_at_mm[1])
        return self._dimension(room, words, (x, start), (x, y), ((across, y), (x + away * 6, y)))

    def _dimension(self, room: Room, words: str, start: Point, end: Point, from_there: Sequence[Point]) -> Svg:
        middle = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        lies = start[1] == end[1]
        at = (middle[0], middle[1] - 11) if lies else (middle[0] - text_width_px(words, WORD_PX) / 2 - 7, middle[1])
        return element(
            "g",
            drawn_line(path_of(from_there), SOFT, 0.8),
            drawn_line(path_of([start, end]), BLUE, 1.4),
            *(_tip(there, back) for there, back in ((start, end), (end, start))),
            *_where_free(room, words, at, WORD_PX, fill=BLUE, font_weight="bold"),
        )

    def _swing(self, room: Room) -> Iterator[Svg]:
        """An arc from stop to stop, as the far end of the first slot goes, and the angles at its ends."""
        yield drawn_line(path_of(map(self.at, _arc(self.layout, self.arc_mm))), BLUE, 1.4)
        for turn in dict.fromkeys(self.layout.bracket.swing_deg):
            inner, outer, beyond = (
                self.at(_on_arc(self.layout, radius, turn))
                for radius in (
                    self.arc_mm - 7 / self.scale,
                    self.arc_mm + 7 / self.scale,
                    self.arc_mm + 24 / self.scale,
                )
            )
            yield drawn_line(path_of([inner, outer]), BLUE, 1.4)
            yield from _where_free(room, f"{_drawn(turn)}°", beyond, WORD_PX, fill=BLUE, font_weight="bold")

    def _badges(self, room: Room) -> Iterator[Svg]:
        """The number of each key, beside what it is of; none where there is no room."""
        bracket = self.layout.bracket
        shaft, stud = bracket.shaft_radius_mm * self.scale, bracket.stud_radius_mm * self.scale
        low, high = bracket.swing_deg
        places = [
            ("1", PIVOT, shaft, 45),
            ("2", bracket.spindle_side_at_mm, shaft, -45),
            *(
                (number, point, stud, bearing)
                for slot in self.layout.slots[:_MOST_SLOTS]
                for number, point, bearing in (("3", slot.start, 90), ("4", slot.at(slot.length), 90))
            ),
            ("5", _on_arc(self.layout, self.arc_mm, low + (high - low) * 0.62), 2.0, 180),
            ("6", PIVOT, shaft, 135),
            ("7", self.layout.slots[0].start, stud, -90),
        ]
        if bracket.cover_mm is not None:
            places.append(("8", bracket.cover_mm[0], 2.0, -45))
        for number, point, radius, bearing in places:
            bearings = _from(bearing)
            box = room.beside((*self.at(point), radius), 2 * _BADGE_PX, 2 * _BADGE_PX, bearings, gap=2.0)
            if box is not None:
                room.take(box)
                yield _badge(number, box_middle(box))


def _where_free(
    room: Room, words: str, middle: Point, size: float, draw: Callable[..., Svg] = over_lines, **look: str
) -> Iterator[Svg]:
    """Words about their middle, where there is room for them."""
    box = box_around(*middle, text_width_px(words, size), size + 2)
    if room.is_free(box):
        room.take(box)
        yield draw(words, middle[0], middle[1] + 4, size=size, **look)


def _from(bearing: float) -> list[int]:
    """All bearings, those nearest to one of them first."""
    return sorted(_BEARINGS, key=lambda one: abs((one - bearing + 180) % 360 - 180))


def _tip(there: Point, back: Point, colour: str = BLUE) -> Svg:
    angle = atan2(back[1] - there[1], back[0] - there[0])
    wings = [(there[0] + 9 * cos(angle + side), there[1] + 9 * sin(angle + side)) for side in (0.28, -0.28)]
    return shape(path_of([there, *wings], closed=True), colour)


def _on_arc(layout: Layout, radius_mm: float, turn_deg: float) -> Point:
    """The place that far from the pivot on the line of the first slot's far end, the bracket so far swung."""
    slot = layout.slots[0]
    far = max((slot.start, slot.at(slot.length)), key=lambda point: hypot(*point))
    angle = radians(turn_deg + degrees(atan2(far[1], far[0])))
    return radius_mm * cos(angle), radius_mm * sin(angle)


def _arc(layout: Layout, radius_mm: float) -> list[Point]:
    low, high = layout.bracket.swing_deg
    return [_on_arc(layout, radius_mm, low + (high - low) * step / 48) for step in range(49)]
