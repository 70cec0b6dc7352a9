"""Marks where parts come near one another, where they foul, and where a mesh is not right, each in millimetres."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import acos, atan2, cos, dist, pi, sin

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.fits.gaps import Gap, Gear, Part
from gearcalc.fits.hand_settings import MeshState
from gearcalc.fits.stances import ROUNDING, Layout
from gearcalc.fits.triangles import Line
from gearcalc.pictures.labels import Box, Room, box_around, box_middle
from gearcalc.pictures.style import INK, PAPER, VERMILLION, WORD_PX, text_width_px
from gearcalc.pictures.svg import Svg, element, text_line
from gearcalc.pictures.trains.outlines import Point
from gearcalc.pictures.trains.sheets import Sheet

_TIGHT_MM = 5.0
_MOST_MARKED, _MOST_FOULS = 3, 5
_STEPS = 16
_BOLD = 1.15  # bold letters are wider
_FAR_PX = 100
_HAIR_PX = 3.0  # boxes that are no wider stand for a line
MARK_PX = 12.0
"""Half the size of what is kept free round a mark."""


@frozen
class Mark:
    """Something to be marked: its words, where it is, what to draw there, both in px.

    `wrong`: it stops the train. `ends`: where a measured line starts and ends; `lens`: what overlaps.
    """

    words: str
    at: Point
    wrong: bool
    ends: tuple[Point, Point] | None = None
    lens: tuple[Point, ...] = ()


def gap_words(mm: float, least: float) -> str:
    """A gap in a few words, with what is wrong about it.

    >>> gap_words(10.84, 0.5), gap_words(0.2, 0.5), gap_words(-3.33, 0.5)
    ('10.8 mm', 'only 0.2 mm', 'fouls 3.3 mm')
    """
    if mm >= least - ROUNDING:
        return f"{_mm(mm)} mm"
    return f"only {_mm(mm)} mm" if mm >= 0 else f"fouls {_mm(-mm)} mm"


def _mm(length: float) -> str:
    return writing.decimal(length, 1 if length >= 0.095 else 3)


def gap_marks(sheet: Sheet, layout: Layout, gaps: Sequence[Gap], axes: Sequence[Point]) -> list[Mark]:
    """What fouls, the worst first, and what is tight: below 5 mm, the tightest of all in any case."""
    least = layout.bracket.running_clearance_mm
    fouls = [gap for gap in gaps if gap.mm < least - ROUNDING]
    clear = [gap for gap in gaps if gap.mm >= least - ROUNDING]
    tight = [gap for place, gap in enumerate(clear) if gap.mm < _TIGHT_MM or (place == 0 and not fouls)]
    shown = fouls[:_MOST_FOULS] + tight[: max(0, _MOST_MARKED - len(fouls))]
    return [_gap_mark(sheet, layout, gap, axes) for gap in shown]


def mesh_marks(sheet: Sheet, meshes: Iterable[MeshState], axes: Sequence[Point]) -> list[Mark]:
    """Every mesh that is not as it should be, at the place where the teeth meet."""
    marks = []
    for mesh in meshes:
        if mesh.state != "good":
            one, other = axes[mesh.one.axis], axes[mesh.other.axis]
            share = mesh.one.teeth / (mesh.one.teeth + mesh.other.teeth)
            at = one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1])
            words = mesh.words.removeprefix("teeth ").removeprefix("mesh ").replace(" of backlash", "")
            words = words.replace("pressed together by", "pressed").replace("open by", "open")
            marks.append(Mark(words.replace(":", "").replace(" between the teeth", ""), sheet.at_px(at), True))
    return marks


def _gap_mark(sheet: Sheet, layout: Layout, gap: Gap, axes: Sequence[Point]) -> Mark:
    words = gap_words(gap.mm, layout.bracket.running_clearance_mm)
    one, radius = _disc(layout, gap.one, axes)
    if gap.other is None:
        wall = _nearest_on(layout.bracket.cover_mm or (), one)
        other, other_radius = wall, 0.0
    else:
        other, other_radius = _disc(layout, gap.other, axes)
    apart = dist(one, other) or 1.0
    along = (other[0] - one[0]) / apart, (other[1] - one[1]) / apart
    start = one[0] + radius * along[0], one[1] + radius * along[1]
    end = other[0] - other_radius * along[0], other[1] - other_radius * along[1]
    middle = sheet.at_px(((start[0] + end[0]) / 2, (start[1] + end[1]) / 2))
    wrong = gap.mm < layout.bracket.running_clearance_mm - ROUNDING
    lens: tuple[Point, ...] = ()
    if gap.mm < 0 and gap.other is not None:
        lens = tuple(sheet.at_px(point) for point in _lens(one, radius, other, other_radius))
    return Mark(words, middle, wrong, (sheet.at_px(start), sheet.at_px(end)), lens)


def _disc(layout: Layout, part: Part, axes: Sequence[Point]) -> tuple[Point, float]:
    if isinstance(part, Gear):
        return axes[part.axis], layout.outside_radius(part.teeth)
    assert part is not None
    is_end = part in (0, len(axes) - 1)
    return axes[part], layout.bracket.shaft_radius_mm if is_end else layout.bracket.stud_radius_mm


def _nearest_on(outline: Sequence[Point], point: Point) -> Point:
    """The point of a closed outline that is nearest."""
    found = []
    for start, end in zip(outline, (*outline[1:], outline[0]), strict=True):
        if start != end:
            line = Line.between(start, end)
            found.append(line.at(min(max(line.beside(point)[0], 0.0), line.length)))
    return min(found, key=lambda place: dist(place, point))


def _lens(one: Point, radius: float, other: Point, other_radius: float) -> Iterator[Point]:
    """The outline of what two discs have in common."""
    apart = dist(one, other)
    if apart <= abs(radius - other_radius):
        (x, y), r = (one, radius) if radius < other_radius else (other, other_radius)
        yield from ((x + r * cos(k * pi / _STEPS), y + r * sin(k * pi / _STEPS)) for k in range(2 * _STEPS))
        return
    towards = atan2(other[1] - one[1], other[0] - one[0])
    for (x, y), r, mate, bearing in ((one, radius, other_radius, towards), (other, other_radius, radius, towards + pi)):
        half = acos((apart * apart + r * r - mate * mate) / (2 * apart * r))
        for step in range(_STEPS + 1):
            angle = bearing - half + 2 * half * step / _STEPS
            yield x + r * cos(angle), y + r * sin(angle)


def shapes(marks: Iterable[Mark]) -> Svg:
    """What overlaps, black; and a measured line across every gap."""
    parts = []
    for mark in marks:
        if mark.lens:
            path = Svg("M" + "L".join("{:.1f} {:.1f}".format(*point) for point in mark.lens) + "Z")
            parts.append(element("path", d=path, fill=VERMILLION, stroke=INK, stroke_width=1.6, class_="foul"))
        elif mark.ends is not None:
            parts.append(_measured(*mark.ends))
    return element("g", *parts)


def _measured(start: Point, end: Point) -> Svg:
    """A line from edge to edge with a stroke across each end."""
    apart = dist(start, end) or 1.0
    across = -(end[1] - start[1]) / apart * 5, (end[0] - start[0]) / apart * 5
    lines = [
        element("line", x1=start[0], y1=start[1], x2=end[0], y2=end[1]),
        *(
            element("line", x1=x - across[0], y1=y - across[1], x2=x + across[0], y2=y + across[1])
            for x, y in (start, end)
        ),
    ]
    return element(
        "g",
        element("g", *lines, stroke=PAPER, stroke_width=4.5),
        element("g", *lines, stroke=INK, stroke_width=1.7),
        class_="gap",
    )


def tags(room: Room, marks: Iterable[Mark]) -> Svg:
    """The words of each mark beside it, with a leader; white on black where it stops the train."""
    placed = [(mark, room.take(_box_for(room, mark))) for mark in marks]
    return element("g", *(_leader(*one) for one in placed), *(_tag(*one) for one in placed))


def _box_for(room: Room, mark: Mark) -> Box:
    return _free_box(room, mark.at, _BOLD * text_width_px(mark.words, WORD_PX) + 10, WORD_PX + 6)


def _leader(mark: Mark, box: Box) -> Svg:
    near = nearest_in(box, mark.at)
    line = {"x1": near[0], "y1": near[1], "x2": mark.at[0], "y2": mark.at[1]}
    return element(
        "g",
        element("line", **line, stroke=PAPER, stroke_width=3.5),
        element("line", **line, stroke=INK, stroke_width=1.1),
        element("circle", cx=mark.at[0], cy=mark.at[1], r=2.4, fill=INK, stroke=PAPER, stroke_width=0.8),
    )


def _tag(mark: Mark, box: Box) -> Svg:
    fill, ink = (INK, PAPER) if mark.wrong else (PAPER, INK)
    return element(
        "g",
        element(
            "rect",
            x=box[0],
            y=box[1],
            width=box[2] - box[0],
            height=box[3] - box[1],
            rx=3,
            fill=fill,
            stroke=INK,
            stroke_width=1,
        ),
        text_line(mark.words, box_middle(box)[0], box[3] - 0.4 * WORD_PX, size=WORD_PX, fill=ink, font_weight="bold"),
        class_="tag wrong" if mark.wrong else "tag",
    )


def _free_box(room: Room, at: Point, width: float, height: float) -> Box:
    """A box near a point: off the gears if that can be had nearby, else over them, but off all other words."""
    over_gears: Box | None = None
    crossing: Box | None = None
    words = [box for box in room.boxes if box[2] - box[0] > _HAIR_PX]
    for distance in range(12, 200, 8):
        if distance > _FAR_PX and over_gears is not None:
            break
        for bearing in range(-90, 270, 15):
            across, down = cos(bearing * pi / 180), sin(bearing * pi / 180)
            x, y = at[0] + (distance + width / 2) * across, at[1] + (distance + height / 2) * down
            box = box_around(x, y, width, height)
            if not _in_zone(room, box) or not room.is_off(box, (), 3.0):
                continue
            crossing = crossing or box
            if not _leader_is_free(words, box, at):
                continue
            if room.is_free(box, 2.0):
                return box
            over_gears = over_gears or box
    return over_gears or crossing or box_around(at[0], at[1] - 24, width, height)


def _in_zone(room: Room, box: Box) -> bool:
    left, top, right, bottom = room.zone
    return box[0] >= left and box[1] >= top and box[2] <= right and box[3] <= bottom


def _leader_is_free(words: Sequence[Box], box: Box, at: Point) -> bool:
    """Whether the leader crosses no words; what is kept free round its own mark is no hindrance."""
    near = nearest_in(box, at)
    apart = dist(near, at)
    if apart <= MARK_PX:
        return True
    share = MARK_PX / apart
    start = at[0] + share * (near[0] - at[0]), at[1] + share * (near[1] - at[1])
    return Room((0, 0, 0, 0), (), list(words)).line_is_free(near, start)


def nearest_in(box: Box, point: Point) -> Point:
    """The point of a box that is nearest to another point."""
    return min(max(point[0], box[0]), box[2]), min(max(point[1], box[1]), box[3])
