"""The picture of a train: from the gear end, true to scale and in mesh, with an edge view under it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from itertools import combinations, islice, pairwise

from attrs import field, frozen
from attrs.converters import optional

from gearcalc.basics import both_units, writing
from gearcalc.basics.arguments import as_index, as_words, as_yes_or_no, shown
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import as_fraction
from gearcalc.fits.arrangements import idle_gears
from gearcalc.fits.fitting import as_train
from gearcalc.fits.gaps import idle_name
from gearcalc.lathes import Lathe
from gearcalc.lathes.directions import clockwise_in_words
from gearcalc.lathes.pieces import in_one_piece, kind_of, mate_of, other_half, plain
from gearcalc.lathes.trains import Gear, Train, gears_of, shaft_names
from gearcalc.pictures.gears_in_mesh import PlacedGear, Point, Teeth, checked_gear, place_train, row_mm
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.style import SIZE_PX
from gearcalc.pictures.svg import Svg, document, element, paper
from gearcalc.pictures.train_sheets import Sheet, front_room, strip
from gearcalc.pictures.train_views import counting_places, edge_view, faces, front_words, projection_lines

_FOLDS_DEG = (0, 20, 35, 50)
_WORTH_FOLDING = 1.12  # a straight row reads best, so a fold must enlarge the picture by this much


Sizes = tuple[tuple[str, Teeth], ...]
"""What pieces.kind_of calls each size of tooth but the first, and what it is."""


def other_sizes(lathe: Lathe) -> Sizes:
    """The sizes of a lathe's gears but that of its first table."""
    sizes = lathe.gear_set.standing.sizes.items()
    return tuple((kind, Teeth(size.module_mm or 1.0, size.pressure_angle_deg)) for kind, size in sizes if kind)


@lru_cache(maxsize=256)
def arrange(
    train: Train, aspect: float = 2.3, sizes: Sizes = (), module_mm: float = 1.0
) -> tuple[tuple[Point, ...], tuple[int, ...]]:
    """Axes, in modules of the first size, spindle side first; a plane for each mesh, then for each idle gear.

    >>> arrange(Train((40, 30), (80, 60)))
    (((0.0, 0.0), (60.0, 0.0), (105.0, 0.0)), (0, 1))

    `aspect`: width over height of the room for the picture; the row is folded up and down where that makes
    the gears larger and no two gears of one plane touch that do not mesh. `sizes`: the others, `module_mm`: the first.
    """
    kinds = {kind: Teeth(size.module_mm / module_mm) for kind, size in sizes}

    def size_of(gear: int) -> Teeth:
        return kinds.get(kind_of(gear), Teeth())

    row = row_mm(train, size_of=size_of)
    planes = _planes(train, [(x, 0.0) for x in row], size_of)
    best: tuple[Point, ...] = tuple((x, 0.0) for x in row)
    best_size = _size(train, best, aspect, size_of)
    for fold in _FOLDS_DEG[1:]:
        axes = _folded(row, fold)
        size = _size(train, axes, aspect, size_of)
        if size > best_size * _WORTH_FOLDING and not _touching(train, axes, planes, size_of):
            best, best_size = axes, size
    return best, planes


def _folded(row: Sequence[float], fold_deg: float) -> tuple[Point, ...]:
    axes, x, y = [(0.0, 0.0)], 0.0, 0.0
    for k, (start, end) in enumerate(pairwise(row)):
        turn = math.radians(fold_deg if k % 2 else -fold_deg)
        x, y = x + (end - start) * math.cos(turn), y + (end - start) * math.sin(turn)
        axes.append((x, y))
    return tuple(axes)


def _planes(train: Train, axes: Sequence[Point], size_of: Callable[[int], Teeth]) -> tuple[int, ...]:
    """Mesh by mesh: in front when its driver is the smaller gear of the stud, behind when the larger.

    The two gears of a cluster are in planes next to each other: one way on, gear by gear, is always free. One that
    meshes with nothing is in front where that is free.
    """
    idlers = [gear.mesh for gear in gears_of(train.chain()) if gear.idler and mate_of(gear.teeth) is not None]
    farthest = 2 * (train.meshes + len(idlers))  # by then every mesh and every idle gear has a plane of its own

    def ways(planes: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        mesh = len(planes)
        if mesh == train.meshes + len(idlers):
            yield planes
            return
        if mesh >= train.meshes:
            choices = [planes[idlers[mesh - train.meshes]] + side for side in (1, -1)]
        else:
            driven, driver = train.driven[mesh - 1], train.drivers[mesh]
            step = 1 if driver <= driven else -1
            sides = (step, -step) if in_one_piece(driven, driver) else range(step, step * farthest, step)
            choices = [planes[-1] + away for away in sides]
        for plane in choices:
            more = (*planes, plane)
            if not _touching(train, axes, more, size_of):
                yield from ways(more)

    planes = next(ways((0,)))
    return tuple(plane - min(planes) for plane in planes)


def _listed(train: Train) -> list[Gear]:
    """Every gear, those that mesh with nothing at the end."""
    return [*gears_of(train.chain()), *idle_gears(train.chain())]


def _touching(train: Train, axes: Sequence[Point], planes: Sequence[int], size_of: Callable[[int], Teeth]) -> bool:
    """Whether two gears of one plane meet that do not mesh; only meshes with a plane count."""
    placed = [gear for gear in _listed(train) if gear.mesh < len(planes)]
    for one, other in combinations(placed, 2):
        if planes[one.mesh] != planes[other.mesh] or (one.mesh == other.mesh and abs(one.axis - other.axis) == 1):
            continue
        tips = sum(size_of(gear.teeth).module_mm * (gear.teeth + 3) / 2 for gear in (one, other))
        if math.dist(axes[one.axis], axes[other.axis]) < tips:
            return True
    return False


def _size(train: Train, axes: Sequence[Point], aspect: float, size_of: Callable[[int], Teeth]) -> float:
    """How large a module comes out in a room of height 1."""
    gears = [(axes[gear.axis], size_of(gear.teeth).module_mm * (gear.teeth / 2 + 1)) for gear in _listed(train)]
    width = max(x + r for (x, _), r in gears) - min(x - r for (x, _), r in gears)
    height = max(y + r for (_, y), r in gears) - min(y - r for (_, y), r in gears)
    return min(aspect / width, 1 / height)


# The picture of a train: from the gear end, true to scale and in mesh, with an edge view under it.


_SMALLEST_PX, _LARGEST_PX = (480, 320), (4000, 4000)
_MOST_PLANES = 100


def train_picture(
    train: Train,
    *,
    axes_mm: Sequence[Point] | None = None,
    planes: Sequence[int] | None = None,
    spindle_angle_deg: float = 0.0,
    clockwise: bool = True,
    module_mm: float = 1.0,
    pressure_angle_deg: float = 20.0,
    size_px: tuple[int, int] = SIZE_PX,
    first_shaft: str = "spindle side",
    last_shaft: str = "leadscrew",
    caption: str | None = None,
) -> Picture:
    """Draw a train to scale, with its description and its table, for a page that stands still.

    >>> print(train_picture(Train((40,), (80,))).description)
    A simple train: driver 40 on the spindle side turns driven 80 on the leadscrew. For one turn of the first \
driver the leadscrew turns 1/2 turn, the opposite way. Seen from the gear end the first driver is taken to turn \
clockwise.

    `train`: a Train; `axes_mm` (floats), `planes`: where it stands, None: in a row; `clockwise`: the way the first
    driver turns, seen from the gear end; `spindle_angle_deg`: how far it has turned, in the way it turns; every gear
    follows in mesh. `module_mm`, `pressure_angle_deg`: floats, of the teeth; `size_px`: width and height;
    `first_shaft`, `last_shaft`: what they are called; `caption`: in place of the one made from the train. Raises what
    TrainDrawing raises.
    """
    drawing = TrainDrawing(
        train, axes_mm, planes, clockwise, module_mm, pressure_angle_deg, size_px, first_shaft, last_shaft
    )
    return drawing.picture(spindle_angle_deg, caption)


def _points(given: object) -> tuple[Point, ...]:
    try:
        return tuple((float(x), float(y)) for x, y in given)  # type: ignore[attr-defined]
    except Exception:  # another's object may raise anything while it is gone through
        raise ValueOutOfRangeError("axes are pairs of numbers, x and y in mm", value=shown(given)) from None


def _as_tuple(given: object) -> tuple[int, ...]:
    try:
        numbers = tuple(map(as_index, islice(given, _MOST_PLANES)))  # type: ignore[call-overload]
    except Exception:  # as above
        numbers = (None,)
    if None in numbers:
        raise ValueOutOfRangeError("several whole numbers are asked for", value=shown(given))
    return numbers  # type: ignore[return-value]


def _as_float(given: object) -> float:
    return float(as_fraction(given))


def _clockwise(given: object) -> bool:
    return as_yes_or_no(given, what="clockwise")


def _shaft(given: object) -> str:
    return as_words(given, what="the name of a shaft")


@frozen
class TrainDrawing:
    """A train and how it is to be drawn.

    >>> drawing = TrainDrawing(Train((40, 30), (80, 60)), module_mm=1.25)
    >>> [gear.centre_mm for gear in drawing.gears][-1]
    (131.25, 0.0)

    `axes_mm`: where the shafts stand seen from the gear end, y upwards: spindle side first, each stud along the
    chain, the last driven gear last. None: a schematic arrangement, pairs at their true centre distance.
    `planes`: a number a mesh, 0 next to the headstock. None: the smaller gear of each stud in front.
    `clockwise`: which way the first driver turns seen from the gear end, where a spindle running forward turns
    clockwise; `provided`: what that is known from, as hands.turning() has it, empty where it is only assumed.
    `module_mm`: 0.05 to 100. `pressure_angle_deg`: 10 to 30. `size_px`: width and height of the sheet.
    `first_shaft`, `last_shaft`: what the end shafts are called. `edge_view`: whether there is one; the gears are the
    larger without. `marked`: a tooth of each gear is painted, and the place in each mesh where to count is ringed.
    `sizes`: of gears that Piece.kind sets apart; `idle`: gear, axis and plane of each that is in one piece with an
    idler, to be named with `planes`.
    Raises ValueOutOfRangeError when axes or planes don't match the train, or a size is out of range.
    """

    train: Train = field(converter=as_train)
    axes_mm: tuple[Point, ...] | None = field(default=None, converter=optional(_points))
    planes: tuple[int, ...] | None = field(default=None, converter=optional(_as_tuple))
    clockwise: bool = field(default=True, converter=_clockwise)
    module_mm: float = field(default=1.0, converter=_as_float)
    pressure_angle_deg: float = field(default=20.0, converter=_as_float)
    size_px: tuple[int, int] = field(default=SIZE_PX, converter=_as_tuple)
    first_shaft: str = field(default="spindle side", converter=_shaft)
    last_shaft: str = field(default="leadscrew", converter=_shaft)
    edge_view: bool = field(default=True, kw_only=True)
    marked: bool = field(default=False, kw_only=True)
    provided: str = field(default="", kw_only=True)
    sizes: Sizes = field(default=(), kw_only=True)
    idle: tuple[tuple[int, int, int], ...] = field(default=(), kw_only=True)

    def __attrs_post_init__(self) -> None:
        for size in (Teeth(self.module_mm, self.pressure_angle_deg), *(size for _, size in self.sizes)):
            checked_gear(self.train.drivers[0], *size)
        if not _is_size(self.size_px):
            small, large = ("{} by {}".format(*size) for size in (_SMALLEST_PX, _LARGEST_PX))
            raise ValueOutOfRangeError(f"a sheet is from {small} to {large} pixels", value=self.size_px)
        _ = self.gears  # so that axes and planes that don't match are refused here

    @property
    def gears(self) -> tuple[PlacedGear, ...]:
        """Every gear where it stands, in chain order."""
        return _gears(self)

    @property
    def shafts(self) -> tuple[str, ...]:
        """The shafts in words."""
        return shaft_names(self.train.shafts, self.first_shaft, self.last_shaft)

    def turned_deg(self, spindle_angle_deg: float) -> float:
        """How far the first driver has turned anticlockwise; refuses what is not a finite number."""
        spindle_angle_deg = _as_float(spindle_angle_deg)
        return -spindle_angle_deg if self.clockwise else spindle_angle_deg

    def outlines(self, spindle_angle_deg: float = 0.0, flank_points: int = 8) -> list[list[Point]]:
        """The outline of every gear in mm, in chain order, when the first driver has turned so far."""
        turned = self.turned_deg(spindle_angle_deg)
        return [gear.outline(turned, flank_points=flank_points) for gear in self.gears]

    def svg(self, spindle_angle_deg: float = 0.0, description: str = "") -> Svg:
        """The drawing as SVG text; `description`: in place of its own."""
        sheet, below, above = _layers(self)
        turning = faces(sheet, self.turned_deg(spindle_angle_deg), marked=self.marked)
        counted = [counting_places(sheet)] if self.marked else []
        return document(
            self.size_px, f"Train {self.train}", description or self.description, below, turning, *counted, above
        )

    def picture(self, spindle_angle_deg: float = 0.0, caption: str | None = None) -> Picture:
        """The drawing with its description and its table."""
        where = "schematic arrangement" if self.axes_mm is None else "each shaft where it stands"
        if caption is None or (isinstance(caption, str) and not caption):
            size = both_units.size_of_teeth(self.module_mm)
            caption = f"{self.train}, from the gear end and edge-on; {size}, {where}."
        return Picture(self.svg(spindle_angle_deg), self.description, self.rows, caption)

    @property
    def description(self) -> str:
        """What the drawing shows, in words, made from the train."""
        meshes = ""
        in_mesh = [gear for gear in self.gears if gear.kind != "idle"]
        for gear, before in zip(in_mesh, (None, *in_mesh), strict=False):
            named = f"{gear.kind} {gear.teeth} on the {self.shafts[gear.shaft]}"
            if gear.kind == "driver" or before is None:
                meshes += f"; {named}" if meshes else named
            else:
                meshes += f"{'' if before.kind == 'driver' else ', which'} turns {named}"
        kind = "A simple train" if self.train.meshes == 1 else "A compound train"
        way = "the same" if self.train.turns_the_same_way else "the opposite"
        turns = "turn" if self.train.ratio <= 1 else "turns"
        return (
            f"{kind}: {meshes}. For one turn of the first driver the {self.last_shaft} turns"
            f" {writing.ratio(self.train.ratio).text} {turns}, {way} way. {self.seen_from} the first driver"
            f" {'turns' if self.provided else 'is taken to turn'} {clockwise_in_words(self.clockwise)}."
            f"{self._idle_in_words}"
        )

    @property
    def _idle_in_words(self) -> str:
        """What is in one piece with idlers, in sentences."""
        drawn = {other_half(gear.teeth): gear.plane for gear in self.gears if gear.kind == "idle"}
        idlers = {gear.teeth: gear.plane for gear in self.gears if gear.kind == "idler"}
        said = ""
        for gear in (gear for mesh in self.train.idlers for gear in mesh if mate_of(gear) is not None):
            side = "in front of" if drawn.get(gear, 0) > idlers[gear] else "behind"
            where = f"meshes with nothing, in the plane {side} it" if gear in drawn else "is not drawn"
            said += f" The {idle_name(other_half(gear))} is in one piece with the idler {gear} and {where}."
        return said

    @property
    def seen_from(self) -> str:
        """From where one looks at it, and what the arrows hold for."""
        return f"Seen from the gear end{f' ({self.provided})' if self.provided else ''}"

    @property
    def words_above(self) -> str:
        """The same for the sheet, which says where it is only assumed."""
        return self.seen_from if self.provided else f"{self.seen_from}; which way it turns is assumed"

    @property
    def rows(self) -> tuple[Row, ...]:
        """A row a gear: what it does, its teeth, its shaft and plane, how it turns."""
        return tuple(
            {
                "place": gear.place,
                "teeth": plain(gear.teeth),
                "shaft": self.shafts[gear.shaft],
                "plane, 1 next to the headstock": gear.plane + 1,
                "turns for one turn of the first driver": abs(gear.turns),
                "turning, from the gear end": clockwise_in_words((gear.turns > 0) == self.clockwise),
            }
            for gear in self.gears
        )


def _is_size(size: Sequence[object]) -> bool:
    return len(size) == 2 and all(
        isinstance(length, int) and low <= length <= high
        for low, length, high in zip(_SMALLEST_PX, size, _LARGEST_PX, strict=True)
    )


@lru_cache(maxsize=128)
def _gears(drawing: TrainDrawing) -> tuple[PlacedGear, ...]:
    train = drawing.train
    width, height = front_room(drawing.size_px, min(train.meshes, 3) if drawing.edge_view else 0)
    arranged, planes = arrange(train, width / height, drawing.sizes, drawing.module_mm)
    axes, idle = drawing.axes_mm, drawing.idle
    if drawing.planes is not None:
        planes = drawing.planes
    elif not idle:
        idle = tuple((gear.teeth, gear.axis, planes[gear.mesh]) for gear in idle_gears(train.chain()))
    if axes is None:
        axes = tuple((drawing.module_mm * x, drawing.module_mm * y) for x, y in arranged)
    own, kinds = Teeth(drawing.module_mm, drawing.pressure_angle_deg), dict(drawing.sizes)

    def size_of(gear: int) -> Teeth:
        return kinds.get(kind_of(gear), own)

    return place_train(train, axes, planes if drawing.planes is not None else planes[: train.meshes], size_of, idle)


@lru_cache(maxsize=128)
def _layers(drawing: TrainDrawing) -> tuple[Sheet, Svg, Svg]:
    """The sheet, what lies under the turning gears, and what lies over them: the same at every angle."""
    sheet = Sheet.lay_out(
        drawing.train, drawing.gears, drawing.module_mm, drawing.size_px, with_edge_view=drawing.edge_view
    )
    edge = (projection_lines(sheet), edge_view(sheet)) if drawing.edge_view else ()
    below = element("g", paper(drawing.size_px), *edge, strip(sheet))
    return sheet, below, front_words(sheet, drawing.shafts, drawing.clockwise, drawing.words_above)
