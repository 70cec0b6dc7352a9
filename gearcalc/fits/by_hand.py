"""What a hand at the lathe goes by: the rule of thumb for what goes on, and a train set by hand, mesh by mesh.

fitting.py asks where everything has to stand. Here it stands somewhere, and the question is what is wrong with that.

The rule of thumb is taught beside the geometry as the approximation that it is. On a stud between two neighbours, the
gear that meshes with the one must clear the shaft of the other. So the two gears that mesh must together have enough
more teeth than the gear beside them. The shop says 15 more, for any lathe (common practice, no source). The rule knows
nothing of reach, slots, swing and cover, so a train that passes may still not go on; and on slim shafts a train that
fails it may.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import degrees, dist, hypot, radians, tan
from typing import NamedTuple

from attrs import frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import within
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.fits.arrangements import Chain, apart_along, axes_of, plane_choices
from gearcalc.fits.fitting import Fit, as_train
from gearcalc.fits.gaps import Gap, every_gap
from gearcalc.fits.geometry import PIVOT, Layout, Point, angle_opposite, bearing, layout_of, turned
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.trains import ORDINALS, Gear, Train, TrainLike, gears_of

SHOP_CONSTANT = 15
"""Teeth; common practice, no source."""


@frozen
class Margin:
    """By how many teeth a pair has more than the gear beside it: `pair` and `beside` in words, `teeth` the margin."""

    pair: str
    beside: str
    teeth: int

    def __str__(self) -> str:
        return f"the {self.pair} has {writing.signed(self.teeth)} teeth against the {self.beside}"


@frozen
class ThumbRule:
    """What the rule says of a train in the order given: `margins`, and `k`, which each must exceed."""

    train: Train
    k: float
    margins: tuple[Margin, ...]

    @property
    def passes(self) -> bool:
        """Whether every margin is more than k; the rule has nothing against a single mesh."""
        return all(margin.teeth > self.k for margin in self.margins)

    def __str__(self) -> str:
        verdict = "passes" if self.passes else "fails"
        said = "; ".join(map(str, self.margins)) or "a single mesh, of which the rule says nothing"
        return f"{self.train} {verdict} the rule of thumb with {writing.decimal(self.k, 2)}: {said}"

    def _repr_html_(self) -> str:
        rows = [(f"{margin.pair} over {margin.beside}", writing.signed(margin.teeth)) for margin in self.margins]
        rows.append(("each must be more than", writing.decimal(self.k, 2)))
        rows.append(("verdict", "passes" if self.passes else "fails"))
        return markup.html_table(f"Rule of thumb for {self.train}", rows)


def rule_of_thumb(train: TrainLike, k: float = SHOP_CONSTANT) -> ThumbRule:
    """Say what the rule of thumb makes of a train in the order given; idlers are not looked at.

    >>> print(rule_of_thumb("20/65 60/25"))
    (20 · 60)/(65 · 25) passes the rule of thumb with 15: the first pair has +25 teeth against the second driver; \
the second pair has +20 teeth against the first driven

    The first pair's teeth together must be more than the second driver + k, and the second pair's more than the first
    driven + k; with three meshes likewise the second and the third pair.
    `train`: a Train or its text. `k`: teeth, 0 to 1000; 15 is common practice (no source); rule_constant gives that of
    a lathe.
    Raises ValueOutOfRangeError for a k outside that and for what is no train.
    """
    k = float(within(k, what="k", most=1000, unit="teeth"))
    train = as_train(train)
    margins = []
    for one in range(train.meshes - 1):
        pair, next_pair = (train.drivers[mesh] + train.driven[mesh] for mesh in (one, one + 1))
        this, following = ORDINALS[one], ORDINALS[one + 1]
        margins.append(Margin(f"{this} pair", f"{following} driver", pair - train.drivers[one + 1]))
        margins.append(Margin(f"{following} pair", f"{this} driven", next_pair - train.driven[one]))
    return ThumbRule(train, k, tuple(margins))


def rule_constant(lathe: Lathe) -> float:
    """Give the k that a lathe's own shafts ask for: 2 + 2·(thickest radius + running clearance)/module, in teeth.

    >>> from gearcalc.lathes import demo_lathe
    >>> rule_constant(demo_lathe("inch")), rule_constant(demo_lathe("metric"))
    (14.0, 15.0)

    `lathe`: a Lathe with a bracket. Why: m·(z₁ + z₂)/2 between the axes must be at least m·(z/2 + 1), the gear's
    outside radius, + shaft + clearance. The play between the teeth adds a little to the distance, which this leaves
    out. Where a train may have two studs, a gear on one may stand beside the collar of the other: so the thicker of
    shaft and collar counts.
    Raises NotPossibleError when the lathe has no bracket or no size of gear in its file.
    """
    layout = layout_of(as_lathe(lathe))
    bracket = layout.bracket
    return 2 + 2 * (bracket.thickest_mm + bracket.running_clearance_mm) / layout.module_mm


_LEAST_WINDOW_MM = 0.05  # of backlash either way of what is asked for: nobody sets a mesh finer by hand
_ROUNDING_MM = 1e-6


class StudPlace(NamedTuple):
    """Where a stud stands: its slot, 0 the first, and how far from the start of the slot's centre line, mm."""

    slot: int
    along_mm: float


class HandSetting(NamedTuple):
    """How far the bracket is swung, anticlockwise seen from the gear side, and each stud from the spindle side."""

    swing_deg: float
    studs: tuple[StudPlace, ...]


@frozen
class MeshState:
    """Two gears that should mesh, and how they do where they stand.

    >>> from gearcalc.lathes import demo_lathe
    >>> state = mesh_states(demo_lathe("inch"), Train((40,), (80,), (30,)), ((-50, 94), (-50.0, 50.0), (0, 0)))[0]
    >>> state.state, state.words
    ('good', 'good: 0.18 mm of backlash')

    `one`, `other`: the gears, the one nearer the spindle side first; `apart_mm`: their centres; `touching_mm`: where
    the teeth have no backlash left; `right_mm`: with the backlash that the lathe's file asks for; `tips_mm`: where
    the tips just pass.
    """

    one: Gear
    other: Gear
    apart_mm: float
    touching_mm: float
    right_mm: float
    tips_mm: float
    pressure_angle_deg: float

    @property
    def off_mm(self) -> float:
        """How far the centres are too far apart, below zero too near."""
        return self.apart_mm - self.right_mm

    @property
    def backlash_mm(self) -> float:
        """Play along the pitch circle, 2·tan α for each mm of centre distance; below zero where teeth are pressed."""
        return 2 * tan(radians(self.pressure_angle_deg)) * (self.apart_mm - self.touching_mm)

    @property
    def state(self) -> str:
        """'pressed', 'tight', 'good', 'open' (too much backlash, but the teeth still reach) or 'apart'."""
        wanted = 2 * tan(radians(self.pressure_angle_deg)) * (self.right_mm - self.touching_mm)
        window = max(wanted / 2, _LEAST_WINDOW_MM) + _ROUNDING_MM
        if self.apart_mm < self.touching_mm - _ROUNDING_MM:
            return "pressed"
        if self.apart_mm >= self.tips_mm:
            return "apart"
        if abs(self.backlash_mm - wanted) <= window:
            return "good"
        return "tight" if self.backlash_mm < wanted else "open"

    @property
    def words(self) -> str:
        """What a hand would say of the mesh, in mm."""
        return {
            "pressed": f"teeth pressed together by {writing.distance(self.touching_mm - self.apart_mm)}",
            "tight": f"tight: {writing.distance(self.backlash_mm)} of backlash",
            "good": f"good: {writing.distance(self.backlash_mm)} of backlash",
            "open": f"mesh open by {writing.distance(self.off_mm)}",
            "apart": f"apart: {writing.distance(self.apart_mm - self.tips_mm)} between the tips",
        }[self.state]


def mesh_states(lathe: Lathe, train: Train | str, axes_mm: Sequence[Point]) -> tuple[MeshState, ...]:
    """How each two neighbours of the chain mesh, from the spindle side, idlers included.

    >>> from gearcalc.lathes import demo_lathe
    >>> axes = ((-50.0, 94.0), (-60.0, 40.0), (0.0, 0.0))
    >>> [state.words for state in mesh_states(demo_lathe("inch"), "(40 · 30)/(80 · 60)", axes)]
    ['teeth pressed together by 20.1 mm', 'apart: 13.4 mm between the tips']

    `axes_mm`: spindle side first, each stud along the chain, pivot last. Raises NotPossibleError as fit() does;
    ValueOutOfRangeError for too few or too many axes, or what is no train.
    """
    layout, chain = layout_of(as_lathe(lathe)), as_train(train).chain()
    if len(axes_mm) != axes_of(chain):
        raise ValueOutOfRangeError(f"this train has {axes_of(chain)} axes", value=len(axes_mm))
    gears = gears_of(chain)
    mates = [(one, other) for one, other in pairwise(gears) if one.axis != other.axis]
    return tuple(
        MeshState(
            one,
            other,
            dist(axes_mm[one.axis], axes_mm[other.axis]),
            layout.apart(one.teeth, other.teeth) - layout.tooth(one.teeth).play_mm,
            layout.apart(one.teeth, other.teeth),
            layout.outside_radius(one.teeth) + layout.outside_radius(other.teeth),
            layout.tooth(one.teeth).pressure_angle_deg,
        )
        for one, other in mates
    )


def axes_by_hand(lathe: Lathe, setting: HandSetting) -> tuple[Point, ...]:
    """Where the axes are then, seen from the gear side: spindle side first, pivot (0, 0) last.

    >>> from gearcalc.lathes import demo_lathe
    >>> axes_by_hand(demo_lathe("inch"), HandSetting(0, (StudPlace(0, 20.0),)))
    ((-50.0, 94.0), (-50.0, 0.0), (0.0, 0.0))

    Raises NotPossibleError as fit() does, ValueOutOfRangeError beyond the swing or the end of a slot.
    """
    layout = layout_of(as_lathe(lathe))
    low, high = layout.bracket.swing_deg
    within(setting.swing_deg, what="the swing of the bracket", least=low, most=high, unit="°")
    studs = tuple(
        turned(_stud_at(layout, place, number), radians(setting.swing_deg))
        for number, place in enumerate(setting.studs)
    )
    return (layout.bracket.spindle_side_at_mm, *studs, PIVOT)


def _stud_at(layout: Layout, place: StudPlace, number: int) -> Point:
    which = f"{ORDINALS[number]} stud"
    if place.slot not in range(len(layout.slots)):
        raise ValueOutOfRangeError(
            f"the {which} stands in one of {len(layout.slots)} slots, counted from 0", value=place.slot
        )
    slot = layout.slots[place.slot]
    within(place.along_mm, what=f"the {which}'s place along its slot", most=slot.length + _ROUNDING_MM, unit="mm")
    return slot.at(place.along_mm)


def planes_by_hand(lathe: Lathe, train: Train | str, axes_mm: Sequence[Point]) -> tuple[int, ...]:
    """A plane for each mesh: the fewest in which no two gears of one plane foul, else those that foul least.

    >>> from gearcalc.lathes import demo_lathe
    >>> planes_by_hand(demo_lathe("inch"), "(40 · 30)/(80 · 60)", ((-50.0, 94.0), (-60.0, 40.0), (0.0, 0.0)))
    (0, 1)
    """
    layout, chain = layout_of(as_lathe(lathe)), as_train(train).chain()
    choices = plane_choices(chain)
    rooms = [min(gap.mm for gap in every_gap(layout, chain, axes_mm, planes)) for planes in choices]
    enough = min(max(rooms), layout.bracket.running_clearance_mm)
    return next(planes for planes, room in zip(choices, rooms, strict=True) if room >= enough)


def short_gaps(lathe: Lathe, train: Train, axes_mm: Sequence[Point], planes: Sequence[int]) -> tuple[Gap, ...]:
    """Every gap between parts that must not touch, the tightest first, as every_gap has them."""
    gaps = every_gap(layout_of(as_lathe(lathe)), train.chain(), axes_mm, planes)
    return tuple(sorted(gaps, key=lambda gap: gap.mm))


def setting_of(lathe: Lathe, fit: Fit) -> HandSetting | None:
    """Bracket and studs as a fit has them; None where it has no place for them, or one outside the slots or the swing.

    >>> from gearcalc.fits import fit
    >>> from gearcalc.lathes import demo_lathe
    >>> setting = setting_of(demo_lathe("inch"), fit(demo_lathe("inch"), "(40 · 30)/(80 · 60)"))
    >>> round(setting.swing_deg, 1), round(setting.studs[0].along_mm, 1)
    (-31.5, 45.3)
    """
    layout = layout_of(as_lathe(lathe))
    low, high = layout.bracket.swing_deg
    if fit.swing_deg is None or not low - _ROUNDING_MM <= fit.swing_deg <= high + _ROUNDING_MM:
        return None
    places = [_place_of(layout, turned(axis, -radians(fit.swing_deg))) for axis in fit.axes_mm[1:-1]]
    if any(place is None for place in places):
        return None
    return HandSetting(min(max(fit.swing_deg, low), high), tuple(place for place in places if place is not None))


def _place_of(layout: Layout, stud: Point) -> StudPlace | None:
    for number, slot in enumerate(layout.slots):
        along, off = slot.beside(stud)
        if abs(off) <= _ROUNDING_MM and slot.beyond(along) <= _ROUNDING_MM:
            return StudPlace(number, min(max(along, 0.0), slot.length))
    return None


def nearest_setting(lathe: Lathe, train: Train | str) -> HandSetting:
    """Bracket and studs with the meshes as right as can be, and of such places the one where the fewest mm are missing.

    >>> from gearcalc.lathes import demo_lathe
    >>> setting = nearest_setting(demo_lathe("inch"), Train((20,), (80,), (30,)))
    >>> axes = axes_by_hand(demo_lathe("inch"), setting)
    >>> [mesh.words for mesh in mesh_states(demo_lathe("inch"), Train((20,), (80,), (30,)), axes)]
    ['apart: 3.7 mm between the tips', 'good: 0.2 mm of backlash']

    Outward from the pivot each stud comes as near as its slot lets it to the right distance from the one before;
    the swing then does what it can for the last mesh. Gears stay in the order given. Raises as fit() does, and
    ValueOutOfRangeError for a train that needs more studs than the bracket has.
    """
    layout, chain = layout_of(as_lathe(lathe)), as_train(train).chain()
    apart = apart_along(layout, chain)
    if len(apart) - 1 > layout.bracket.studs:
        raise ValueOutOfRangeError(
            f"this train needs {len(apart) - 1} studs, and the bracket has {layout.bracket.studs}"
        )
    settings = [
        HandSetting(swing, studs)
        for studs in _studs_outward(layout, apart[1:])
        for swing in _swings(layout, apart[0], studs)
    ]
    return min(settings, key=lambda setting: _missing(layout, apart, chain, setting))


def _studs_outward(layout: Layout, apart: Sequence[float]) -> Iterator[tuple[StudPlace, ...]]:
    """Places for the studs, the one nearest the spindle side first, that set all meshes but the first."""
    if not apart:
        yield ()
        return
    for inner in _studs_outward(layout, apart[1:]):
        centre = layout.slots[inner[0].slot].at(inner[0].along_mm) if inner else PIVOT
        for number, slot in enumerate(layout.slots):
            nearest = slot.at_distance(centre, apart[0]) or (slot.beside(centre)[0],)
            for along in {min(max(along, 0.0), slot.length) for along in nearest}:
                yield (StudPlace(number, along), *inner)


def _swings(layout: Layout, radius: float, studs: tuple[StudPlace, ...]) -> set[float]:
    """Swings that set the first mesh, or bring it as near as the bracket can."""
    low, high = layout.bracket.swing_deg
    if not studs:
        return {min(max(0.0, low), high)}
    first = layout.slots[studs[0].slot].at(studs[0].along_mm)
    ahead = layout.spindle_bearing - bearing(first)
    reach = hypot(*first)
    angle = angle_opposite(radius, reach, layout.shafts_apart)
    if angle is None:  # too short to reach, or so long that the far side is nearest
        angle = 0.0 if radius < abs(layout.shafts_apart - reach) else radians(180)
    within = {layout.swing_within(degrees(ahead + way * angle)) for way in (-1, 1)}
    return {swing for swing in within if swing is not None} or {low, high}


def _missing(layout: Layout, apart: Sequence[float], chain: Chain, setting: HandSetting) -> float:
    """Millimetres that are missing over all that is wrong, meshes and gaps alike, as misfits.py counts them."""
    studs = [turned(layout.slots[p.slot].at(p.along_mm), radians(setting.swing_deg)) for p in setting.studs]
    axes = (layout.bracket.spindle_side_at_mm, *studs, PIVOT)
    off = sum(abs(dist(one, other) - mm) for mm, (one, other) in zip(apart, pairwise(axes), strict=True))
    fouled = min(
        sum(max(0.0, layout.bracket.running_clearance_mm - gap.mm) for gap in every_gap(layout, chain, axes, planes))
        for planes in plane_choices(chain)
    )
    return round(off + fouled, 6)
