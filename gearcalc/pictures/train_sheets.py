"""The sheet that a train is drawn on: where the views go, its frame and strip, and gears from their end."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from gearcalc.basics import both_units, writing
from gearcalc.lathes.trains import Train
from gearcalc.pictures.gears_in_mesh import DEDENDUM, PlacedGear, Point, row_mm, tooth_outline
from gearcalc.pictures.room_for_words import Box, Circle, box_middle
from gearcalc.pictures.style import (
    FRAME_PX,
    INK,
    LOOKS,
    NUMBER_PX,
    PAPER,
    SMALL_PX,
    SOFT,
    WORD_PX,
    YELLOW,
    text_width_px,
)
from gearcalc.pictures.svg import Svg, bold, disc, drawn_line, element, note, number, path_of, shape, text_line

_UNITS = 200  # path units in a module: whole numbers keep the path short
_CHAIN_LINE = "10 3 2 3"


def face(
    kind: str,
    teeth: int,
    at_px: tuple[float, float],
    module_px: float,
    *,
    bore_px: float,
    turned_deg: float,
    turns: float,
    pressure_angle_deg: float = 20.0,
    marked: bool = False,
) -> Svg:
    """A gear drawn at a place on the sheet.

    >>> face("driver", 40, (100, 100), 2.5, bore_px=8, turned_deg=0, turns=1)[:15]
    '<g class="gear"'

    `turned_deg`: clockwise on the sheet. `turns`: for one turn of the first driver; a live picture reads it, and
    the angle, from the data attributes of the group that turns. `marked`: the tooth at the key is painted, so that
    an eye can follow it round.
    """
    x, y = at_px
    turning = element(
        "g",
        _body(kind, teeth, module_px, pressure_angle_deg),
        _bore(bore_px, keyed=kind not in ("idler", "idle")),
        _painted_tooth(kind, teeth, module_px, pressure_angle_deg) if marked else _dot(teeth, module_px),
        class_="turning",
        transform=f"rotate({turned_deg:.3f})",
        data_rest=f"{turned_deg:.3f}",
        data_turns=f"{turns:.9g}",
    )
    marks = _marks(kind, teeth, round(module_px, 3), round(bore_px, 2))
    return element("g", turning, marks, class_="gear", transform=f"translate({number(x)} {number(y)})")


def ring_radius_px(teeth: int, module_px: float) -> float:
    """The radius of a driver's ring, or of the edge of a driven gear's hatching: inside the rim."""
    root = module_px * (teeth / 2 - DEDENDUM)
    return root - max(1.3 * module_px, min(0.12 * root, 12.0))


def hatching(radius: float, hole: float, gap: float) -> Svg:
    """Lines at 45° across a ring centred on the origin, as path data.

    >>> hatching(10, 0, 30)
    'M-7.1 7.1L7.1 -7.1'
    """
    lines = []
    count = int(radius / gap)
    for k in range(-count, count + 1):
        offset = k * gap
        half = math.sqrt(radius * radius - offset * offset)
        inner = math.sqrt(max(0.0, hole * hole - offset * offset))
        for start, end in ((-half, -inner), (inner, half)) if inner else ((-half, half),):
            points = ((offset + s * along) * math.sqrt(0.5) for along in (start, end) for s in (1, -1))
            lines.append("M{:.1f} {:.1f}L{:.1f} {:.1f}".format(*points))
    return Svg("".join(lines))


def swatch(kind: str, x: float, y: float, radius: float = 9.0) -> Svg:
    """A small sample for the key."""
    look = LOOKS[kind]
    parts = [disc(0, 0, radius, look.fill, width=1)]
    if look.ring:
        parts.append(disc(0, 0, radius - 3.5, "none", look.accent, 2))
    if look.broken_ring:
        parts.append(disc(0, 0, radius - 3.5, "none", look.accent, 1.2, stroke_dasharray="3 2"))
    if look.hatched:
        parts.append(drawn_line(hatching(radius - 0.5, 0, 4.0), look.accent))
    return element("g", *parts, transform=f"translate({number(x)} {number(y)})")


def _body(kind: str, teeth: int, module_px: float, pressure_angle_deg: float) -> Svg:
    points = 3 if module_px < 2.2 else 4 if module_px < 4.5 else 7
    scale = module_px / _UNITS
    edge_px, outline = min(1.1, 0.35 + 0.28 * module_px), _outline_path(teeth, pressure_angle_deg, points)
    return shape(outline, LOOKS[kind].fill, INK, edge_px / scale, transform=f"scale({scale:.6g})")


@lru_cache(maxsize=512)
def _outline_path(teeth: int, pressure_angle_deg: float, points: int) -> Svg:
    """Path data of a whole gear of module 1, in whole steps of 1/200 module from point to point."""
    one = tooth_outline(teeth, pressure_angle_deg, 0.04, points)
    places = []
    for tooth in range(teeth):
        angle = 2 * math.pi * tooth / teeth
        along, across = _UNITS * math.cos(angle), _UNITS * math.sin(angle)
        places += [(round(along * x - across * y), round(across * x + along * y)) for x, y in one]
    steps = [f"{b[0] - a[0]} {b[1] - a[1]}" for a, b in pairwise(places)]
    return Svg(f"M{places[0][0]} {places[0][1]}l{' '.join(steps)}z".replace(" -", "-"))


def _bore(radius: float, *, keyed: bool) -> Svg:
    """The bore with its keyway, the key in line with the first tooth; plain in an idler, which runs free."""
    if not keyed:
        return disc(0, 0, radius, width=1)
    half, deep = 0.26 * radius, 1.38 * radius
    start = math.sqrt(radius * radius - half * half)
    path = (
        f"M{start:.2f} {half:.2f}A{radius:.2f} {radius:.2f} 0 1 1 {start:.2f} {-half:.2f}"
        f"L{deep:.2f} {-half:.2f}V{half:.2f}Z"
    )
    return shape(path, PAPER, INK, 1)


def _dot(teeth: int, module_px: float) -> Svg:
    """A small dot under the tooth at the key."""
    return disc(module_px * (teeth / 2 - DEDENDUM - 0.7), 0, min(0.3 * module_px + 0.4, 2.2), INK, None)


def _painted_tooth(kind: str, teeth: int, module_px: float, pressure_angle_deg: float) -> Svg:
    """The tooth at the key in the strong tone of its kind, and a spot under it large enough to follow as it turns."""
    scale, radius = module_px / _UNITS, max(3.8, min(1.1 * module_px, 6.0))
    tooth = path_of(
        [(_UNITS * x, _UNITS * y) for x, y in tooth_outline(teeth, pressure_angle_deg, 0.04, 4)], closed=True
    )
    spot = disc(module_px * (teeth / 2 - DEDENDUM) - 0.8 * radius, 0, radius, YELLOW, width=1.3)
    return element("g", shape(tooth, LOOKS[kind].accent, transform=f"scale({scale:.6g})"), spot, class_="painted-tooth")


@lru_cache(maxsize=512)
def _marks(kind: str, teeth: int, module_px: float, bore_px: float) -> Svg:
    """What does not turn: the pitch circle as a chain line, and the mark of the kind."""
    look, ring, hub = LOOKS[kind], ring_radius_px(teeth, module_px), 1.75 * bore_px
    parts = [disc(0, 0, module_px * teeth / 2, "none", SOFT, 0.6, stroke_dasharray=_CHAIN_LINE)]
    if ring > hub + 3:
        if look.ring:
            parts.append(disc(0, 0, ring, "none", look.accent, 3.2 if ring > 30 else 2.2, class_="ring"))
        if look.broken_ring:
            parts.append(disc(0, 0, ring, "none", look.accent, 1.6, stroke_dasharray="7 5", class_="broken-ring"))
        if look.hatched:
            lines = hatching(ring, hub, 7.0 if ring > 45 else 5.0)
            parts.append(drawn_line(lines, look.accent, 1.1, class_="hatching"))
            parts += [disc(0, 0, edge, "none", look.accent, 1.1) for edge in (ring, hub)]
        elif ring > hub + 8:
            parts.append(disc(0, 0, hub, "none", width=0.7))
    return element("g", *parts)


# The sheet that a train is drawn on: where the views go, and how millimetres become pixels.


STRIP_PX = 36.0
EDGE_GEAR_PX, EDGE_GAP_PX = 19.0, 6.0
EDGE_WORDS_PX, _EDGE_FOOT_PX = 22.0, 12.0
_MARGIN_PX = 30.0  # around the gears, for arrows and words
_SIDE_PX = 14.0
_LARGEST_MODULE_PX = 12.0  # so that two small gears do not fill the sheet


@dataclass(frozen=True, slots=True)
class Sheet:
    """A train laid out on a sheet: gears in mm, and the views' boxes and scales in pixels."""

    train: Train
    gears: tuple[PlacedGear, ...]
    module_mm: float
    size_px: tuple[int, int]
    front: Box
    edge: Box
    scale: float  # pixels to a millimetre in the front view
    origin_px: Point  # where (0, 0) mm comes to lie
    edge_scale: float
    shafts_px: tuple[float, ...]  # where the shafts stand in the edge view
    is_row: bool  # the edge view lies right under the front view

    @classmethod
    def lay_out(
        cls,
        train: Train,
        gears: tuple[PlacedGear, ...],
        module_mm: float,
        size_px: tuple[int, int],
        *,
        with_edge_view: bool = True,
    ) -> Sheet:
        """Fit the gears into the front view; the unfolded row into the edge view."""
        planes = 1 + max(gear.plane for gear in gears) if with_edge_view else 0
        reach = [(*gear.centre_mm, gear.outside_mm) for gear in gears]
        return cls.fitted(train, gears, module_mm, size_px, *view_boxes(size_px, planes), reach, _MARGIN_PX)

    @classmethod
    def fitted(
        cls,
        train: Train,
        gears: tuple[PlacedGear, ...],
        module_mm: float,
        size_px: tuple[int, int],
        front: Box,
        edge: Box,
        reach: Sequence[tuple[float, float, float]],
        margin_px: float,
    ) -> Sheet:
        """All discs of `reach` (x, y, radius, mm) as large as they go into the front view, with a margin left."""
        left, right = min(x - r for x, _, r in reach), max(x + r for x, _, r in reach)
        bottom, top = min(y - r for _, y, r in reach), max(y + r for _, y, r in reach)
        wide, high = front[2] - front[0] - 2 * margin_px, front[3] - front[1] - 2 * margin_px
        scale = min(wide / (right - left), high / (top - bottom), _LARGEST_MODULE_PX / module_mm)
        middle = box_middle(front)
        origin = middle[0] - scale * (left + right) / 2, middle[1] + scale * (top + bottom) / 2
        sizes = {gear.teeth: gear.size for gear in gears}
        row, axes = row_mm(train, size_of=sizes.__getitem__), [gear.centre_mm for gear in gears]
        is_row = all(y == axes[0][1] for _, y in axes) and all(
            abs(axis[0] - axes[0][0] - row[gear.shaft]) < 1e-6 for axis, gear in zip(axes, gears, strict=True)
        )
        edge_scale, start = scale, origin[0] + scale * axes[0][0]
        if not is_row:
            ends = [(row[gear.shaft], gear.outside_mm) for gear in gears]
            low, high = min(x - r for x, r in ends), max(x + r for x, r in ends)
            edge_scale = min(scale, (edge[2] - edge[0]) / (high - low))
            start = (edge[0] + edge[2]) / 2 - edge_scale * (low + high) / 2
        shafts = tuple(start + edge_scale * x for x in row)
        return cls(train, gears, module_mm, size_px, front, edge, scale, origin, edge_scale, shafts, is_row)

    def module_px(self, gear: PlacedGear) -> float:
        """A gear's module on the sheet."""
        return self.scale * gear.size.module_mm

    def at_px(self, point_mm: Point) -> Point:
        """Where a point in mm lies on the sheet (y down)."""
        return self.origin_px[0] + self.scale * point_mm[0], self.origin_px[1] - self.scale * point_mm[1]

    def disc(self, gear: PlacedGear, extra_modules: float = 1.0) -> Circle:
        """A gear as a circle on the sheet: its outside circle, or another that much off its pitch circle."""
        return *self.at_px(gear.centre_mm), self.module_px(gear) * (gear.teeth / 2 + extra_modules)

    def in_front_of(self, gear: PlacedGear) -> list[PlacedGear]:
        """The gears drawn over this one where they overlap."""
        return [other for other in self.gears if other.plane > gear.plane]

    def is_hidden(self, gear: PlacedGear) -> bool:
        """Whether a gear lies behind one as large on its own stud, so that it can't be seen."""
        others = (other for other in self.in_front_of(gear) if other.shaft == gear.shaft)
        return any(other.outside_mm >= gear.outside_mm for other in others)

    @property
    def bore_px(self) -> float:
        """One bore for all, such as leaves the smallest gear a rim."""
        return min(self.module_px(gear) * min(3.0, 0.32 * (gear.teeth / 2 - DEDENDUM)) for gear in self.gears)

    def largest_on(self, shaft: int) -> PlacedGear:
        """The largest gear on a shaft."""
        return max((gear for gear in self.gears if gear.shaft == shaft), key=lambda gear: gear.outside_mm)


def front_room(size_px: tuple[int, int], planes: int) -> tuple[float, float]:
    """Width and height that the gears may fill in the front view; `planes`: in the edge view, 0 when there is none.

    >>> front_room((800, 480), 1) > front_room((800, 480), 3)
    True
    """
    front, _ = view_boxes(size_px, planes)
    return front[2] - front[0] - 2 * _MARGIN_PX, front[3] - front[1] - 2 * _MARGIN_PX


def view_boxes(size_px: tuple[int, int], planes: int, side_px: float = _SIDE_PX) -> tuple[Box, Box]:
    """The boxes of the front view and of the edge view under it."""
    width, height = size_px
    bottom = height - FRAME_PX - STRIP_PX
    edge_height = EDGE_WORDS_PX + planes * (EDGE_GEAR_PX + EDGE_GAP_PX) + _EDGE_FOOT_PX if planes else 0.0
    left, right = FRAME_PX + side_px, width - FRAME_PX - side_px
    return (left, FRAME_PX, right, bottom - edge_height), (left, bottom - edge_height, right, bottom)


# The frame of a sheet and the strip along its foot: the key, the train in figures, the scale.


_BAR_LENGTHS_MM = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
_BAR_PX = 70.0  # the scale bar is the longest of those that is no longer than this


def strip(sheet: Sheet) -> Svg:
    """Key on the left, train and ratio in the middle, scale on the right."""
    width, height = sheet.size_px
    top = height - FRAME_PX - STRIP_PX
    middle = top + STRIP_PX / 2
    parts, x = [drawn_line(f"M{FRAME_PX} {top}H{width - FRAME_PX}", width=1.2)], FRAME_PX + 12
    for kind in LOOKS:
        if any(gear.kind == kind for gear in sheet.gears):
            parts += [swatch(kind, x + 9, middle), text_line(kind, x + 23, middle + 4.5, anchor="start")]
            x += 23 + text_width_px(kind, WORD_PX) + 10
    scale, scale_start = _scale(sheet, width - FRAME_PX - 12, middle)
    return element("g", *parts, *scale, _figures(sheet, (x + scale_start) / 2, middle, scale_start - x - 12))


def sizes_in_words(gears: Iterable[PlacedGear]) -> str:
    """Module or pitch and pressure angle of all these gears, each size once."""
    said = [
        (both_units.size_of_teeth(size.module_mm), f", {writing.decimal(size.pressure_angle_deg)}°")
        for size in dict.fromkeys(gear.size for gear in gears)
    ]
    if len({angle for _, angle in said}) == 1:
        sizes = [size for size, _ in said]
        if len(sizes) > 1 and all(size.startswith("module") for size in sizes):  # one unit serves them all
            sizes = [sizes[0].removesuffix(" mm"), *(size.removeprefix("module ") for size in sizes[1:])]
        return " and ".join(sizes) + said[0][1]
    return " and ".join(size + angle for size, angle in said)


def _figures(sheet: Sheet, x: float, middle: float, room: float) -> Svg:
    train = sheet.train
    gears, ratio = str(writing.train(train.drivers, train.driven)), str(writing.ratio(train.ratio))
    both = gears if gears == ratio else f"{gears} = {ratio}"
    tries = [(words, size) for words in (both, gears) for size in (NUMBER_PX, 16.0, 14.0, SMALL_PX)]
    words, size = next((each for each in tries if _wide(*each) <= room), (gears, SMALL_PX))
    return bold(words, x, middle + 0.35 * size, size=size, anchor="middle")


def _wide(words: str, size: float) -> float:
    """How wide these letters are, which are bold."""
    return 1.1 * text_width_px(words, size)


def _scale(sheet: Sheet, right: float, middle: float) -> tuple[list[Svg], float]:
    """A bar of a round number of mm, and the sizes of the teeth; and where they start."""
    long_mm = max((mm for mm in _BAR_LENGTHS_MM if mm * sheet.scale <= _BAR_PX), default=_BAR_LENGTHS_MM[0])
    left = right - long_mm * sheet.scale
    words = sizes_in_words(sheet.gears)
    words_right = min(left, right - text_width_px(f"{writing.decimal(long_mm)} mm", SMALL_PX)) - 14
    bar = element(
        "g",
        element("line", x1=left, x2=right, y1=middle + 6, y2=middle + 6),
        *(element("line", x1=x, x2=x, y1=middle + 2, y2=middle + 10) for x in (left, right)),
        stroke=INK,
        stroke_width=1.2,
    )
    length = text_line(f"{writing.decimal(long_mm)} mm", (left + right) / 2, middle, size=SMALL_PX)
    gears = note(words, words_right, middle + 4.5, size=SMALL_PX, anchor="end")
    return [bar, length, gears], words_right - text_width_px(words, SMALL_PX)
