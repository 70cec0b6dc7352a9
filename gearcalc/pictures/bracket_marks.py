"""What is marked on a bracket: gaps in millimetres, what fouls, meshes not right; and teeth in mesh, close up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import acos, atan2, cos, degrees, dist, pi, radians, sin

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_teeth
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.fits.by_hand import MeshState
from gearcalc.fits.gaps import Gap, Part
from gearcalc.fits.geometry import ROUNDING, Layout, Line, layout_of
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.trains import Gear
from gearcalc.pictures.bracket_sheets import edges_px, radius_mm, slot_edges_px
from gearcalc.pictures.gears_in_mesh import DEDENDUM, Point, meshing_angle_deg, tooth_outline
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.room_for_words import Box, Room, box_around, box_middle, is_within, nearest_in
from gearcalc.pictures.style import INK, LOOKS, PAPER, SMALL_PX, SOFT, VERMILLION, WORD_PX, text_width_px
from gearcalc.pictures.svg import (
    Svg,
    bold,
    disc,
    document,
    drawn_line,
    element,
    note,
    path_of,
    rect,
    shape,
    text_line,
    window,
)
from gearcalc.pictures.train_sheets import Sheet

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
        return writing.distance(mm)
    return f"only {writing.distance(mm, beside=least)}" if mm >= 0 else f"fouls {writing.distance(-mm)}"


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
            if mesh.state == "apart":
                words = f"tips {writing.distance(mesh.apart_mm - mesh.tips_mm)} apart"
            marks.append(Mark(words.replace(":", ""), sheet.at_px(at), True))
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
    return axes[part], radius_mm(layout, part, axes)


def _nearest_on(outline: Sequence[Point], point: Point) -> Point:
    """The point of a closed outline that is nearest."""
    found = list(outline)  # its corners alone, where all of them are in one place
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
            parts.append(shape(path_of(mark.lens, closed=True), VERMILLION, INK, 1.6, class_="foul"))
        elif mark.ends is not None:
            start, end = mark.ends
            apart = dist(start, end) or 1.0
            across, up = -(end[1] - start[1]) / apart * 5, (end[0] - start[0]) / apart * 5
            strokes = (path_of([(x - across, y - up), (x + across, y + up)]) for x, y in mark.ends)
            path = "".join([path_of(mark.ends), *strokes])
            parts.append(element("g", drawn_line(path, PAPER, 4.5), drawn_line(path, INK, 1.7), class_="gap"))
    return element("g", *parts)


def tags(room: Room, marks: Iterable[Mark]) -> Svg:
    """The words of each mark beside it, with a leader; white on black where it stops the train."""
    placed = []
    for mark in marks:
        width = _BOLD * text_width_px(mark.words, WORD_PX) + 10
        placed.append((mark, room.take(_free_box(room, mark.at, width, WORD_PX + 6))))
    return element("g", *(_leader(*one) for one in placed), *(_tag(*one) for one in placed))


def _leader(mark: Mark, box: Box) -> Svg:
    line = path_of([nearest_in(box, mark.at), mark.at])
    spot = disc(*mark.at, 2.4, INK, PAPER, 0.8)
    return element("g", drawn_line(line, PAPER, 3.5), drawn_line(line, INK, 1.1), spot)


def _tag(mark: Mark, box: Box) -> Svg:
    fill, ink = (INK, PAPER) if mark.wrong else (PAPER, INK)
    words = bold(mark.words, box_middle(box)[0], box[3] - 0.4 * WORD_PX, size=WORD_PX, anchor="middle", fill=ink)
    return element("g", rect(*box, fill, INK, 1, rx=3), words, class_="tag wrong" if mark.wrong else "tag")


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
            if not is_within(box, room.zone) or not room.is_off(box, (), 3.0):
                continue
            crossing = crossing or box
            if not _leader_is_free(words, box, at):
                continue
            if room.is_free(box, 2.0):
                return box
            over_gears = over_gears or box
    return over_gears or crossing or box_around(at[0], at[1] - 24, width, height)


def _leader_is_free(words: Sequence[Box], box: Box, at: Point) -> bool:
    """Whether the leader crosses no words; what is kept free round its own mark is no hindrance."""
    near = nearest_in(box, at)
    apart = dist(near, at)
    if apart <= MARK_PX:
        return True
    share = MARK_PX / apart
    start = at[0] + share * (near[0] - at[0]), at[1] + share * (near[1] - at[1])
    return Room((0, 0, 0, 0), (), list(words)).line_is_free(near, start)


# What words must keep off on the picture of a train on its bracket.


def room_beside(sheet: Sheet, layout: Layout, marks: Iterable[Mark], axes: Sequence[Point], swing_deg: float) -> Room:
    """What words must keep off from the start: gears, marks, shafts and studs, the bracket's edges."""
    left, top, right, bottom = sheet.front
    room = Room((left, top + 4, right, bottom), [sheet.disc(gear) for gear in sheet.gears])
    for mark in marks:
        room.take(box_around(*mark.at, 2 * MARK_PX - 4, 2 * MARK_PX - 4))
    for axis, centre in enumerate(axes):
        size = 1.6 * sheet.scale * radius_mm(layout, axis, axes)
        room.take(box_around(*sheet.at_px(centre), size, size))
    for x, y in edges_px(sheet, layout, swing_deg):
        if all(dist((x, y), disc[:2]) > disc[2] for disc in room.circles):
            room.take(box_around(x, y, 2, 2))
    for x, y in (*slot_edges_px(sheet, layout, swing_deg), *_hidden_rims(sheet)):
        room.take(box_around(x, y, 2, 2))
    return room


def _hidden_rims(sheet: Sheet) -> Iterator[Point]:
    """Points on the dashed rims of gears behind larger ones of their own stud."""
    for x, y, r in (sheet.disc(gear) for gear in sheet.gears if sheet.is_hidden(gear)):
        yield from ((x + r * cos(k * pi / 16), y + r * sin(k * pi / 16)) for k in range(32))


# Teeth close up, the same two gears at several distances: pressed together, right, and open.


_WIDTH_PX, _PANEL_PX, _GAP_PX, _WORDS_PX = 800, 250.0, 14.0, 66.0
_STEP_PX = _PANEL_PX + _GAP_PX
_MODULES_IN_VIEW = 7.5
_TEETH_EITHER_WAY = 3
_FLANK_POINTS = 14
_MOST_PANELS = 3
_HEADS = {"pressed": "Too near", "tight": "Tight", "good": "Good", "open": "Too slack", "apart": "Apart"}


def mesh_closeups(
    lathe: Lathe, one: int = 40, other: int = 80, beyond_touching_mm: Sequence[float | None] = (-0.15, None, 0.9)
) -> Picture:
    """Two gears of the lathe's size close up, the lower one driving to the left, at one to three distances.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(mesh_closeups(demo_lathe("inch")).table[1]["mesh"])
    good: 0.2 mm of backlash

    `one`, `other`: teeth of driver and driven gear; `beyond_touching_mm`: how much farther apart the centres are than
    where the teeth touch on both flanks, within 2 modules either way; None: where the lathe's file wants them.
    Raises ValueOutOfRangeError for other numbers, NotPossibleError when the lathe has no bracket or no size of gear.
    """
    lathe = as_lathe(lathe)
    one, other = as_teeth(one, what="the driver"), as_teeth(other, what="the driven gear")
    states = [_state(lathe, one, other, beyond) for beyond in beyond_touching_mm]
    if not 1 <= len(states) <= _MOST_PANELS:
        raise ValueOutOfRangeError(f"this shows 1 to {_MOST_PANELS} distances", value=len(states))
    left = (_WIDTH_PX - len(states) * _STEP_PX + _GAP_PX) / 2
    module = layout_of(lathe).module_mm
    panels = [_panel(state, module, left + number * _STEP_PX) for number, state in enumerate(states)]
    height = _PANEL_PX + _WORDS_PX
    words = "; ".join(f"{writing.decimal(state.apart_mm, 2)} mm apart, {_play(state)}" for state in states)
    description = (
        f"Teeth of a driver of {one} and a driven gear of {other} close up, from where they mesh, with their centres "
        f"{words}. The driver pushes to the left; what play there is shows on the right of its tooth."
    )
    size, back = (_WIDTH_PX, height), rect(0, 0, _WIDTH_PX, height)
    svg = document(size, f"{one} and {other} in mesh", description, back, *panels)
    caption = f"{one} on {other}, close up: the same gears, their centres more and more apart."
    return Picture(svg, description, [_row(state) for state in states], caption)


def _state(lathe: Lathe, one: int, other: int, beyond: float | None) -> MeshState:
    layout = layout_of(lathe)
    touching, tips = layout.module_mm * (one + other) / 2, layout.outside_radius(one) + layout.outside_radius(other)
    right = layout.apart(one, other)
    apart = right if beyond is None else touching + beyond
    if not abs(apart - touching) <= 2 * layout.module_mm:
        raise ValueOutOfRangeError("gears close up stand within 2 modules of where they touch", value=beyond)
    gears = Gear(0, 0, one, "driver"), Gear(0, 1, other, "driven")
    return MeshState(*gears, apart, touching, right, tips, lathe.gear_set.pressure_angle_deg)


def _play(state: MeshState) -> str:
    """What a hand would say; of an open mesh the backlash too, so that all count from where the teeth touch."""
    return f"open: {writing.distance(state.backlash_mm)} of backlash" if state.state == "open" else state.words


def _row(state: MeshState) -> Row:
    return {
        "centres apart": f"{writing.decimal(state.apart_mm, 2)} mm",
        "touching at": f"{writing.decimal(state.touching_mm, 2)} mm",
        "mesh": _play(state),
        "backlash": f"{writing.decimal(max(state.backlash_mm, 0.0), 2)} mm",
    }


def _panel(state: MeshState, module: float, left: float) -> Svg:
    """One distance: the window on the teeth, and under it the words."""
    size, half = _PANEL_PX - 2, _PANEL_PX / 2 - 1
    right, middle = left + size, left + half
    teeth = _teeth(state, module, size / (_MODULES_IN_VIEW * module))
    return element(
        "g",
        window(left, 1, right, 1 + size, rect(-500, -500, 500, 500), *teeth, at=(-half, -half)),
        rect(left, 1, right, 1 + size, "none", INK),
        bold(f"driven {state.other.teeth}", middle, 22, size=WORD_PX, anchor="middle"),
        bold(f"driver {state.one.teeth}", middle, size - 12, size=WORD_PX, anchor="middle"),
        bold(_HEADS[state.state], middle, _PANEL_PX + 18, anchor="middle"),
        text_line(_play(state), middle, _PANEL_PX + 37),
        note(
            f"centres {writing.decimal(state.apart_mm, 2)} mm apart",
            middle,
            _PANEL_PX + 55,
            size=SMALL_PX,
            anchor="middle",
        ),
        class_=f"closeup {state.state}",
    )


def _teeth(state: MeshState, module: float, scale: float) -> list[Svg]:
    """Driver below, driven above, the pitch point of touching gears in the middle; px, y down."""
    one, other, angle = state.one.teeth, state.other.teeth, state.pressure_angle_deg
    spread = state.apart_mm - state.touching_mm
    down = -module * one / 2 - spread / 2
    up = module * other / 2 + spread / 2
    # As the driver pushes to the left, the driven gear has gone round by half of the play.
    play = max(state.backlash_mm, 0.0) if state.state != "apart" else 0.0
    turned = degrees(play / 2 / (module * other / 2))
    driven_deg = meshing_angle_deg(one, 90.0, other, 90.0) + turned
    driver_path = _rim(one, angle, module, 90.0, (0.0, down), scale, -1)
    driven_path = _rim(other, angle, module, driven_deg, (0.0, up), scale, 1)
    pitch_circles = ((down, module * one / 2), (up, module * other / 2))  # they touch where the teeth have no play
    return [
        shape(driver_path, LOOKS["driver"].fill, INK, 1.6),
        shape(driven_path, PAPER, INK, 1.6, fill_opacity=0.55),
        *(disc(0, -scale * y, scale * r, "none", SOFT, 0.9, stroke_dasharray="9 3 2 3") for y, r in pitch_circles),
    ]


def _rim(teeth: int, angle: float, module: float, turned_deg: float, centre: Point, scale: float, outward: int) -> Svg:
    """The teeth nearest the middle and the metal behind them, as path data; `outward`: where the gear's body lies."""
    one = tooth_outline(teeth, angle, 0.0, _FLANK_POINTS)
    towards = 90.0 if outward < 0 else 270.0
    nearest = round((towards - turned_deg) * teeth / 360)
    points = []
    for tooth in range(nearest - _TEETH_EITHER_WAY, nearest + _TEETH_EITHER_WAY + 1):
        around = radians(turned_deg) + 2 * pi * tooth / teeth
        points += [
            (module * (x * cos(around) - y * sin(around)), module * (x * sin(around) + y * cos(around))) for x, y in one
        ]
    body = 0.5 * module * (teeth / 2 - DEDENDUM)
    for bearing in (1, -1):
        around = radians(towards) + bearing * (_TEETH_EITHER_WAY + 0.5) * 2 * pi / teeth
        points.append((body * cos(around), body * sin(around)))
    return path_of([(scale * (x + centre[0]), -scale * (y + centre[1])) for x, y in points], closed=True)
