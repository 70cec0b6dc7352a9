"""A change of gears at a glance: the trains before and after, what is moved, and when the lathe is isolated."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from math import cos, dist, hypot, pi, radians, sin, sqrt

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.finding.setups import turning_of
from gearcalc.fits import Fit
from gearcalc.lathes.directions import Turning, turning
from gearcalc.papers.changes import Change, Step
from gearcalc.papers.marks import MM_PER_PT, Disc, Mark, Shape, Words, box, width_of_words_mm
from gearcalc.papers.steps import SPANS, states_of, steps_of
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import chart
from gearcalc.pictures.gears_in_mesh import PlacedGear, Point
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.room_for_words import Box, Circle, Room, box_around, box_middle
from gearcalc.pictures.svg import Svg, bold, drawn_line, element, note, rect, text_line
from gearcalc.pictures.svg import disc as ring
from gearcalc.pictures.train_pictures import TrainDrawing, other_sizes
from gearcalc.pictures.train_sheets import Sheet
from gearcalc.pictures.train_views import faces
from gearcalc.planning.gear_moves import Arranged

_PICTURE_PX = (800, 440)
CHANGE_PX = (800, 416)
"""Width and height of the picture."""

_TRAIN_PX = (394, 322)  # a sheet for each train, of which the foot is left blank
_TRAINS_TOP, _TRAINS_FOOT = 30.0, 272.0
_LEFT, _RIGHT = 118.0, 786.0
_ROWS = (("isolated", 334.0, style.SKY), ("cover open", 356.0, style.ORANGE), ("gears turn", 378.0, ""))
_BAR_PX = 17.0
_RIM_STEPS, _RIM_OFF_PX = 120, 4.0
_LABEL_PX = 36.0
_ABOVE_MM, _BELOW_MM = 7.0, 3.0
_GAP_MM, _CLEAR_MM, _HATCH_MM = 6.0, 0.3, 1.5
_COUNT_PT = 9.0
_BEARINGS = (210, 330, 150, 30, 180, 0, 240, 300, 120, 60, 90, 270)

Fates = Mapping[PlacedGear, str]
"""What becomes of each gear: a key of _SAID."""
Told = tuple[str, TrainDrawing, Fates]
_BEFORE = "Before"

_SAID = {
    "off": ("off", "comes off"),
    "on": ("on", "goes on"),
    "stays": ("stays", "stays"),
    "aside": ("in the way", "is in the way"),
    "back": ("back on", "goes back on"),
}
"""What becomes of a gear, on its label and in words."""
_MOVED = {"off": (style.VERMILLION, "7 4"), "aside": (style.VERMILLION, "2 4"), "on": (style.GREEN, None)}
_MOVED["back"] = (style.GREEN, "2 4")
"""The rim of a gear that is moved, and the tone of its label: its colour, and its dashes where it leaves its place."""
KEY = "Seen from the gear end. Ring: driver. Hatched: driven. Plain: idler. Dashed: behind another gear."
KEY_IDLE = "Broken ring: in one piece with an idler, in mesh with nothing."
"""What the marks of a train on paper mean."""


def drawings(change: Change) -> tuple[TrainDrawing, ...]:
    """The train before, where it is known, and the train after, as they are drawn."""
    over = change.standing is not None and change.standing.reverse_over
    after = _drawing(change, change.after, change.fit, turning_of(change.setup))
    if change.before is None:
        return (after,)
    # Of a Setup it is known which way it turns, else the reverse is taken as the lathe file describes it.
    turns = turning(change.lathe, change.before.train.turns_the_same_way, None, reverse_over=over)
    return _drawing(change, change.before, change.fit_before, turns), after


def _drawing(change: Change, arranged: Arranged, fit: Fit | None, turns: Turning) -> TrainDrawing:
    return TrainDrawing(
        arranged.train,
        fit.axes_mm if fit is not None else None,
        arranged.planes[: arranged.train.meshes],
        idle=tuple((place.teeth, place.shaft, place.plane) for place in arranged.places if place.role == "idle"),
        module_mm=change.lathe.module_mm or 1.0,
        pressure_angle_deg=change.lathe.gear_set.pressure_angle_deg,
        sizes=other_sizes(change.lathe),
        size_px=_PICTURE_PX,
        last_shaft=arranged.last_shaft,
        clockwise=turns.first_driver,
        provided=turns.provided,
    )


def change_picture(change: Change, step: int | None = None) -> Picture:
    """The trains before and after with what becomes of each gear, over a row of the steps with this one marked.

    >>> from gearcalc.papers.change_cards import change_card
    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> lathe = demo_lathe("inch")
    >>> card = change_card(lathe, to=setup(lathe, 40, 60, "middle", 35), mounted=setup(lathe, 40, 80, "middle", 35))
    >>> print(change_picture(card.change, 4).description)  # doctest: +ELLIPSIS
    Before: 40 driver stays; 35 idler stays; 80 driven comes off. After: 40 driver stays; 35 idler stays; 60 driven \
goes on. Step 4 of 13: strip, front first. The lathe is isolated, the cover open...

    `step`: counted from 1; None marks none. Raises ValueOutOfRangeError for a step that there isn't.
    """
    steps, told = steps_of(change), _told(change)
    if step is not None and not 1 <= step <= len(steps):
        raise ValueOutOfRangeError(f"this card has steps 1 to {len(steps)}", value=step)
    caption = f"From {change.before.train if change.before else 'what is mounted'} to {change.setup.train}"
    gears = [f"{heading}: {_each(drawing, fates)}." for heading, drawing, fates in told]
    if change.idlers_assumed:
        gears[0] = gears[0].replace(_BEFORE, f"{_BEFORE}, {_assumed(told[0][1])}", 1)
    description = " ".join([*gears, _over_the_steps(steps, step)])
    at = "" if step is None else f"; step {step} of {len(steps)}"
    rows, parts = tuple(_step_rows(steps)), (*_trains(told, bool(change.idlers_assumed)), _row_of_steps(steps, step))
    return chart(CHANGE_PX, f"{caption}{at}", description, rows, *parts)


# What is said.


def _step_rows(steps: Sequence[Step]) -> Iterator[Row]:
    for number, (step, state) in enumerate(zip(steps, states_of(steps), strict=True), 1):
        yield {
            "step": number,
            "what": step.title,
            "key": step.key,
            "isolated": state.isolated,
            "cover open": state.cover_open,
            "only if": state.only_if,
            "gears turn by": step.turned_by,
        }


def _over_the_steps(steps: Sequence[Step], step: int | None) -> str:
    """How the lathe is in one step; or over how many steps it is isolated and open."""
    if step is None:
        spans = []
        for name in SPANS:
            begun, done = _span(steps, name)
            only_if = f", only if {steps[begun - 1].only_if}" if steps[begun - 1].only_if else ""
            spans.append(f"{name} from step {begun} until step {done}{only_if}")
        return f"Of {len(steps)} steps: {'; '.join(spans)}."
    here, state = steps[step - 1], states_of(steps)[step - 1]
    isolated = "isolated" if state.isolated else "not isolated"
    cover = f"open only if {state.only_if}" if state.only_if else "open" if state.cover_open else "closed"
    turns = f"the gears turn by {here.turned_by}" if here.turned_by else "nothing turns"
    title = here.title[0].lower() + here.title[1:]
    return f"Step {step} of {len(steps)}: {title}. The lathe is {isolated}, the cover {cover}, and {turns}."


def _span(steps: Sequence[Step], name: str) -> tuple[int, int]:
    """The steps in which something begins and ends."""
    keys = [step.key for step in steps]
    start, end = SPANS[name]
    return keys.index(start) + 1, keys.index(end) + 1


def _told(change: Change) -> tuple[Told, ...]:
    """Before, where that is known, and after: heading, drawing, and what becomes of each gear."""
    moves, (*befores, after) = change.moves, drawings(change)
    off, on, aside = ({(p.shaft, p.plane) for p in places} for places in (moves.off, moves.on, moves.in_the_way))
    goes_back = {(place.plane, place.teeth, place.role) for place in moves.in_the_way}
    told: list[Told] = []
    for before in befores:
        at = {gear: (gear.shaft, gear.plane) for gear in before.gears}
        fates = {gear: "aside" if at[gear] in aside else "off" if at[gear] in off else "stays" for gear in at}
        told.append((_BEFORE, before, fates))
    fates = {gear: "back" if (gear.plane, gear.teeth, gear.kind) in goes_back else "on" for gear in after.gears}
    fates |= {gear: "stays" for gear in after.gears if (gear.shaft, gear.plane) not in on}
    return (*told, ("After", after, fates))


def _each(drawing: TrainDrawing, fates: Fates) -> str:
    return "; ".join(f"{gear.teeth} {gear.kind} {_SAID[fates[gear]][1]}" for gear in drawing.gears)


# What is drawn.


def _trains(told: Sequence[Told], idlers_assumed: bool) -> list[Svg]:
    parts = [drawn_line(f"M400 {_TRAINS_TOP - 18}V{_TRAINS_FOOT}", style.FAINT, 1.0)]
    if len(told) == 1:
        parts.append(note("Before: what you find. Draw it first.", 200, 150, anchor="middle"))
    if idlers_assumed:
        parts.append(note(f"{_assumed(told[0][1])}; say what is on", 84, _TRAINS_TOP, size=style.SMALL_PX))
    return parts + [_train(*each, left) for each, left in zip(told, (6.0, 400.0)[-len(told) :], strict=True)]


def _assumed(drawing: TrainDrawing) -> str:
    return "idler assumed" if drawing.train.idler_count == 1 else "idlers assumed"


def _train(heading: str, drawing: TrainDrawing, fates: Fates, left: float) -> Svg:
    laid = Sheet.lay_out(drawing.train, drawing.gears, drawing.module_mm, _TRAIN_PX, with_edge_view=False)
    (x, y), down = laid.origin_px, _TRAINS_TOP - 16
    start, top, end, foot = laid.front
    front = (start + left, top + down, end + left, foot + down)
    laid = replace(laid, origin_px=(x + left, y + down), front=front)
    heading_box = left + 10, down, left + 80, _TRAINS_TOP + 10
    room = Room(laid.front, [laid.disc(gear) for gear in laid.gears], [heading_box])
    return element(
        "g",
        bold(heading, left + 18, _TRAINS_TOP),
        faces(laid, 0.0),
        *(_rim(laid, gear, fates[gear]) for gear in laid.gears if fates[gear] in _MOVED),
        *(_label(laid, room, gear, fates[gear]) for gear in laid.gears),
    )


def _rim(laid: Sheet, gear: PlacedGear, fate: str) -> Svg:
    """A ring round a gear that is moved, where no other gear stands."""
    x, y, radius = laid.disc(gear)
    colour, dashes = _MOVED[fate]
    others = [laid.disc(other) for other in laid.gears if other is not gear]
    path, was_free = "M0 0", False
    for step in range(_RIM_STEPS + 1):
        angle = 2 * pi * step / _RIM_STEPS
        spot = x + (radius + _RIM_OFF_PX) * cos(angle), y + (radius + _RIM_OFF_PX) * sin(angle)
        is_free = all(dist(spot, other[:2]) > other[2] for other in others)
        path += f"{'L' if was_free else 'M'}{spot[0]:.1f} {spot[1]:.1f}" if is_free else ""
        was_free = is_free
    return drawn_line(path, colour, 3.0, dashes, class_="moved")


def _label(laid: Sheet, room: Room, gear: PlacedGear, fate: str) -> Svg:
    """The tooth count and what becomes of the gear, on its face or beside it with a line to its rim."""
    words = _SAID[fate][0]
    disc = laid.disc(gear)
    in_front = [laid.disc(other) for other in laid.in_front_of(gear)]
    width = max(style.text_width_px(str(gear.teeth), 17), style.text_width_px(words, style.WORD_PX)) + 8
    hidden = any(other.shaft == gear.shaft and other.plane > gear.plane for other in laid.gears)
    middle = box_around(disc[0], disc[1], width, _LABEL_PX)
    in_the_middle = room.is_off(middle, in_front) and hypot(width, _LABEL_PX) <= 2 * disc[2]
    spot = None if hidden else middle if in_the_middle else room.inside(disc, 0.0, in_front, width, _LABEL_PX)
    if spot is None:
        return _beside(room, disc, f"{gear.teeth} {words}", hidden)
    room.take(spot)
    x, _ = box_middle(spot)
    return element(
        "g",
        rect(*spot, *_tag(fate), 1.4, rx=5),
        bold(str(gear.teeth), x, spot[1] + 16, size=17, anchor="middle"),
        text_line(words, x, spot[3] - 5),
    )


def _tag(fate: str) -> tuple[str, str]:
    """The ground and the edge of a label."""
    if fate not in _MOVED:
        return style.PAPER, "none"
    return style.tint(_MOVED[fate][0], 0.16), _MOVED[fate][0]


def _beside(room: Room, disc: Circle, said: str, hidden: bool) -> Svg:
    x, y, radius = disc
    width = style.text_width_px(said, style.WORD_PX) + 8
    spot = room.beside(disc, width, 18, _BEARINGS, 8.0) or box_around(x, y + radius + 12, width, 18)
    room.take(spot)
    edge = min(max(x, spot[0]), spot[2]), min(max(y, spot[1]), spot[3])
    away = max(dist(edge, (x, y)), 1.0)
    rim = tuple(c + (radius - 2) * (e - c) / away for c, e in zip((x, y), edge, strict=True))
    return element(
        "g",
        ring(x, y, radius if hidden else 0, "none", width=1, stroke_dasharray="5 3"),
        drawn_line(f"M{edge[0]:.1f} {edge[1]:.1f}L{rim[0]:.1f} {rim[1]:.1f}", style.INK, 0.9),
        ring(rim[0], rim[1], 2, style.INK, None),
        bold(said, box_middle(spot)[0], box_middle(spot)[1] + 4.5, size=style.WORD_PX, anchor="middle"),
    )


def _row_of_steps(steps: Sequence[Step], step: int | None) -> Svg:
    """A column a step, bars for as long as the lathe is isolated and the cover open, and what turns the gears.

    A bar begins and ends in the middle of the step that brings it about, so that one is seen to lie inside the other.
    """
    width, top = (_RIGHT - _LEFT) / len(steps), _TRAINS_FOOT
    parts = [drawn_line(f"M14 {top + 6}H{CHANGE_PX[0] - 14}", style.FAINT, 1.0)]
    if step is not None:
        column = _LEFT + (step - 1) * width + 1, top + 12, _LEFT + step * width - 1, top + 130
        parts.append(rect(*column, style.tint(style.YELLOW, 0.45), style.INK, 1.8, rx=4))
    middles = [_LEFT + (place + 0.5) * width for place in range(len(steps))]
    for number, (each, x) in enumerate(zip(steps, middles, strict=True), 1):
        weight = "bold" if number == step else None
        parts.append(text_line(str(number), x, top + 30, font_weight=weight))
        parts.append(text_line(each.key, x, top + 47, size=11.5))
    for name, y, tone in _ROWS:
        parts.append(text_line(name, _LEFT - 8, y + 12.5, anchor="end"))
        if name in SPANS:
            begun, done = _span(steps, name)
            parts += _bar((middles[begun - 1], y, middles[done - 1], y + _BAR_PX), tone, bool(steps[begun - 1].only_if))
    turned = [(each.turned_by, x) for each, x in zip(steps, middles, strict=True) if each.turned_by]
    parts += [bold(words, x, y + 12.5, size=style.SMALL_PX, anchor="middle") for words, x in turned]
    return element("g", *parts)


def _bar(place: Box, tone: str, perhaps: bool) -> Iterator[Svg]:
    """One bar from the step that begins it to the one that ends it; dashed, and with a word, where it need not come."""
    fill, dash = (style.PAPER, "5 3") if perhaps else (style.tint(tone, 0.6), None)
    yield rect(*place, fill, style.INK, rx=3, stroke_dasharray=dash)
    if perhaps:
        yield text_line("only if reached under it", (place[0] + place[2]) / 2, place[1] + 12.5, size=style.SMALL_PX)


# A train on paper, in millimetres.


def trains_on_paper(change: Change, room: Box) -> Iterator[Mark]:
    """The trains before and after, each in a frame, side by side in this room on a sheet."""
    told = _told(change)
    left, top, right, bottom = room
    width = (right - left - _GAP_MM * (len(told) - 1)) / len(told)
    for place, (words, drawing, _) in enumerate(told):
        start = left + place * (width + _GAP_MM)
        heading = f"{words}: {writing.train(drawing.train.drivers, drawing.train.driven)}"
        if change.idlers_assumed and words == _BEFORE:
            heading += f", {_assumed(drawing)}"
        yield from _train_on_paper(drawing, (start, top, start + width, bottom), heading)


def _train_on_paper(drawing: TrainDrawing, frame: Box, heading: str) -> Iterator[Mark]:
    """The train as seen from the gear end.

    Drivers carry a ring, driven gears are hatched, idlers are plain, so that print without colour tells them apart.
    """
    left, top, right, bottom = frame
    yield box(left, top, right - left, bottom - top, edge=style.SOFT, line_pt=0.6)
    yield Words(heading, left + 2, top + 4.5, 8, bold=True)
    outlines = drawing.outlines(0.0, 4)
    scale, placed = _to_the_sheet([point for outline in outlines for point in outline], frame)
    discs = [(*placed(gear.centre_mm), scale * gear.outside_mm) for gear in drawing.gears]
    gears = list(zip(drawing.gears, discs, outlines, strict=True))
    for gear, disc, outline in sorted(gears, key=lambda each: each[0].plane):
        yield Shape(tuple(map(placed, outline)), style.INK, style.LOOKS[gear.kind].fill, 0.5)
        yield from _marks_of_its_kind(gear.kind, disc, scale * gear.size.module_mm)
    hidden = [any(other.shaft == gear.shaft and other.plane > gear.plane for other, *_ in gears) for gear, *_ in gears]
    for disc in (disc for disc, is_hidden in zip(discs, hidden, strict=True) if is_hidden):
        yield Disc(*disc, style.INK, 0.7, dashed=True)  # over what stands before it, as hidden edges are drawn
    room = Room((left + 1, top + _ABOVE_MM, right - 1, bottom - 1), discs)
    for (gear, disc, _), is_hidden in sorted(zip(gears, hidden, strict=True), key=lambda each: -each[0][0].plane):
        before = [other for one, other, _ in gears if one.plane > gear.plane]
        yield from _count(str(gear.teeth), disc, room, None if is_hidden else before)


def _to_the_sheet(points: Sequence[Point], frame: Box) -> tuple[float, Callable[[Point], Point]]:
    """How much smaller, and where in the frame a point of the train comes to stand: all in its middle."""
    left, top, right, bottom = frame
    xs, ys = zip(*points, strict=True)
    room_x, room_y = right - left - 22, bottom - top - _ABOVE_MM - _BELOW_MM
    scale = min(room_x / (max(xs) - min(xs)), room_y / (max(ys) - min(ys)))
    x = (left + right - scale * (min(xs) + max(xs))) / 2
    y = (top + _ABOVE_MM + bottom - _BELOW_MM + scale * (min(ys) + max(ys))) / 2
    return scale, lambda point: (x + scale * point[0], y - scale * point[1])


def _marks_of_its_kind(kind: str, disc: Circle, module: float) -> Iterator[Mark]:
    x, y, radius = disc
    look = style.LOOKS[kind]
    if look.ring:
        yield Disc(x, y, 0.8 * radius, look.accent, 1.2)
    if look.broken_ring:
        yield Disc(x, y, 0.8 * radius, look.accent, 0.8, dashed=True)
    if look.hatched:
        inside = radius - 2.4 * module  # to the foot of the teeth
        for step in range(-int(inside / _HATCH_MM), int(inside / _HATCH_MM) + 1):
            off, half = step * _HATCH_MM, sqrt(inside**2 - (step * _HATCH_MM) ** 2)
            ends = ((x + (off + along) * sqrt(0.5), y + (off - along) * sqrt(0.5)) for along in (-half, half))
            yield Shape(tuple(ends), style.INK, line_pt=0.6, closed=False)


def _count(words: str, disc: Circle, room: Room, before: Sequence[Circle] | None) -> Iterator[Mark]:
    """A tooth count in the middle of a gear where nothing stands before it, else beside it with a line to its rim.

    `before`: the gears that stand before it; None: it is hidden by one on its own shaft.
    """
    x, y, radius = disc
    width, height = width_of_words_mm(words, _COUNT_PT, bold=True) + 1.4, 1.25 * _COUNT_PT * MM_PER_PT
    label = box_around(x, y, width, height)
    if before is None or hypot(width, height) > 1.5 * radius or not room.is_off(label, before, _CLEAR_MM):
        label = _free_spot(disc, width, height, room)
        spot = box_middle(label)
        away = max(dist(spot, (x, y)), 0.1)
        rim = tuple(c + (radius - 0.8) * (to - c) / away for c, to in zip((x, y), spot, strict=True))
        yield Shape(((rim[0], rim[1]), spot), style.INK, line_pt=0.7, closed=False)
    room.take(label)
    x, y = box_middle(label)
    yield box(label[0], label[1], width, height, edge="", fill=style.PAPER)
    yield Words(words, x, y + 0.365 * _COUNT_PT * MM_PER_PT, _COUNT_PT, bold=True, align="middle")


def _free_spot(disc: Circle, width: float, height: float, room: Room) -> Box:
    """A place near a gear's rim, off every gear and label and within the frame; the nearest that serves."""
    x, y, radius = disc
    for further in range(4, 60, 3):
        for bearing in (180, 0, 210, 330, 150, 30, 120, 60, 240, 300, 270, 90):
            off, angle = radius + further, radians(bearing)
            spot = box_around(x + off * cos(angle), y + off * sin(angle), width, height)
            if room.is_free(spot, _CLEAR_MM):
                return spot
    return box_around(x, y - radius / 2, width, height)
