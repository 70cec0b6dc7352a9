"""Will it go on? Every arrangement of a train on the lathe's bracket is tried; the best one, or why there is none.

Best: fewest idlers; then no higher ratio in one mesh than the usual limit, if that can be had; then fewest gears moved,
where something is mounted; then fewest planes; then the largest smallest gap. Gears and their order alone set a limit
to how good a chain can get, so the most promising are placed first, and the rest are left alone once none of them can
do better. Nothing that arrangements.py lists is left untried, and geometry.py finds every place that it can have; so
"does not go on" means that none of them does.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property, lru_cache
from itertools import islice, pairwise
from math import isfinite, nan
from operator import index
from typing import NamedTuple

from attrs import evolve, field, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_yes_or_no, shown
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.fits.arrangements import Arrangement, Chain, Question, Ways, axes_of, idle_gears, plane_choices, train_of
from gearcalc.fits.gaps import Loaded, Part, every_gap, idle_name, part_name
from gearcalc.fits.geometry import Layout, Point, Stance, layout_of
from gearcalc.fits.growing import Grown, Growth, Rank
from gearcalc.fits.misfits import nearest_misfit, nothing_to_try
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.directions import check_hand, way_to_turn
from gearcalc.lathes.gear_words import had_in_words
from gearcalc.lathes.readings import as_if_had
from gearcalc.lathes.train_lines import train_and_lever
from gearcalc.lathes.trains import Gears, Train, TrainLike


class Placed(NamedTuple):
    """A chain that goes on, and where."""

    rank: Rank
    chain: Chain
    planes: tuple[int, ...]
    stance: Stance


def best_placing(layout: Layout, growth: Growth) -> Arrangement | None:
    """The best arrangement among the chains of a growth; None when none of them goes on.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.fits.geometry import layout_of
    >>> lathe = demo_lathe("inch")
    >>> question = Question(Train((40, 30), (80, 60)), layout_of(lathe), lathe.gears)
    >>> print(best_placing(question.layout, Growth(Ways(question), idlers=0)).train)
    (30 · 40)/(60 · 80)
    """
    best: Placed | None = None
    for likely in growth.most_promising_first():
        if best is not None and likely.rank > best.rank:
            break  # nothing from here on can be better
        best = min((*_placed(layout, likely), *([best] if best else [])), default=None)
    return Arrangement(train_of(best.chain), best.stance, best.planes) if best is not None else None


def _placed(layout: Layout, likely: Grown) -> Iterator[Placed]:
    """The ways in which a chain goes on."""
    places = likely.places.stances(likely.mm)
    if not places:
        return
    steep, moved, _, snug = likely.rank
    loaded = Loaded(layout, likely.chain, -snug)
    for stance in places:
        suits = loaded.comfort(stance)
        if suits is not None:
            planes, comfort = suits
            yield Placed((steep, moved, max(planes), -comfort), likely.chain, planes, stance)


_KEPT = 20_000
_TIGHT_SHOWN = 3
_IDLERS_TO_SUGGEST = range(20, 128)


@frozen(slots=False, eq=False)
class Fit:
    """Whether a train goes on, and how, or why not. Made by fit().

    `goes_on`; `train`: as arranged, idlers added; `axes_mm`: spindle side first, then each stud along the chain, the
    pivot (0, 0) last, seen from the gear side with the bracket swung; `planes`: one a mesh, neighbours differ;
    `idle_gears`: gears of clusters that mesh with nothing, and their planes;
    `swing_deg`: anticlockwise; `clearances_mm`: (part, part, mm between them), the tightest first, below zero
    where they overlap; `reasons`: sentences, none when it goes on; `not_owned`: gears in it that the lathe has not, or
    has damaged, ascending; looked at only where some gears are damaged, fixed, in clusters or of other sizes.

    When it doesn't go on, all but `reasons` shows the arrangement that comes nearest; `axes_mm` and `clearances_mm`
    are empty and `swing_deg` is None where that one can't even be placed.
    """

    goes_on: bool
    question: Question = field(repr=False)
    arrangement: Arrangement | None = field(repr=False)
    steps: int = field(default=1, repr=False)
    not_owned: Gears = field(default=(), repr=False)

    @cached_property
    def _shown(self) -> tuple[Arrangement, tuple[str, ...]]:
        # The reasons take far longer than the verdict, and a search throws most misfits away: so only when asked for.
        return (self.arrangement, ()) if self.arrangement else _why_not(self.question)

    @property
    def reasons(self) -> tuple[str, ...]:
        """What stops the arrangement that comes nearest, a sentence each; empty when the train goes on."""
        return self._shown[1]

    @property
    def train(self) -> Train:
        """The train in the order in which it goes on, idlers added."""
        return self._shown[0].train

    @property
    def axes_mm(self) -> tuple[Point, ...]:
        """The axes in chain order, spindle side first, pivot last; floats."""
        stance = self._shown[0].stance
        return stance.axes if stance else ()

    @property
    def planes(self) -> tuple[int, ...]:
        """A plane for each mesh, from 0; where an idle gear lies in front of the first mesh, that one has 0."""
        return self._shown[0].planes[: self.train.meshes]

    @property
    def idle_gears(self) -> tuple[tuple[int, int, int], ...]:
        """(gear, axis, plane) of each gear that is in one piece with an idler and meshes with nothing."""
        planes = self._shown[0].planes[self.train.meshes :]
        found = zip(idle_gears(self.train.chain()), planes, strict=True)
        return tuple((idle.teeth, idle.axis, plane) for idle, plane in found)

    @property
    def swing_deg(self) -> float | None:
        """How far the bracket is swung, anticlockwise seen from the gear side."""
        stance = self._shown[0].stance
        return stance.swing_deg if stance else None

    @cached_property
    def clearances_mm(self) -> tuple[tuple[str, str, float], ...]:
        """(part, part, mm as a float) for every two parts that must not touch, the tightest first."""
        if not self.axes_mm:
            return ()
        return _named_gaps(self.question.layout, self.train.chain(), self.axes_mm, self._shown[0].planes)

    @property
    def taken_as_had(self) -> str:
        """What is taken for granted of `not_owned`, in a sentence for each; empty where there is none."""
        return had_in_words(self.question.gears, self.not_owned)

    def __str__(self) -> str:
        had = self.taken_as_had
        if not self.goes_on:
            return f"does not go on; nearest to it as {self.train}: " + " ".join(filter(None, (*self.reasons, had)))
        one, other, mm = self.clearances_mm[0]
        and_had = had and f". {had.removesuffix('.')}"
        return (
            f"goes on as {self.train}, bracket swung to {writing.decimal(self.swing_deg or 0.0, 1)}°; "
            f"tightest: {writing.decimal(mm, 1)} mm between {one} and {other}{and_had}"
        )

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str | markup.Written]] = [("goes on", "yes" if self.goes_on else "no")]
        rows += [("because", reason) for reason in self.reasons]
        if not self.goes_on:
            rows.append(("nearest arrangement", self.train.written))
        else:
            rows.append(("arranged as", self.train.written))
            rows.append(("bracket swung to", f"{writing.decimal(self.swing_deg or 0.0, 1)}°"))
            for axis, (x, y) in enumerate(self.axes_mm[1:-1], 1):
                name = part_name(axis, len(self.axes_mm))
                rows.append((name, f"{writing.decimal(x, 1)} mm across, {writing.decimal(y, 1)} mm up from the pivot"))
            rows.append(("plane of each mesh", ", ".join(str(plane + 1) for plane in self.planes)))
            for gear, _, plane in self.idle_gears:
                rows.append((f"plane of the {idle_name(gear)}", str(plane + 1)))
            for one, other, mm in self.clearances_mm[:_TIGHT_SHOWN]:
                rows.append((f"between {one} and {other}", f"{writing.decimal(mm, 1)} mm"))
        if self.taken_as_had:
            rows.append(("not owned", self.taken_as_had))
        return markup.html_table("Will it go on?", rows)


def fit(
    lathe: Lathe,
    train: TrainLike,
    *,
    hand: str | None = None,
    lever: str | None = None,
    mounted: TrainLike | None = None,
    keep_order: bool = False,
) -> Fit:
    """Say whether a train goes on the lathe's bracket: the best arrangement, or why there is none.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(fit(demo_lathe("inch"), Train((40, 30), (80, 60))))
    goes on as (30 · 40)/(60 · 80), bracket swung to −31.5°; tightest: 10.8 mm between 60 on the stud and \
spindle-side shaft
    >>> print(fit(demo_lathe("inch"), Train((20,), (80,), idlers=(30,))))
    does not go on; nearest to it as 20/80, idler 30: Wherever the bracket swings, the idler 30 stays 5.9 mm short of \
the 20 on the spindle side; an idler of 35 instead of 30 would clear it.

    `lathe`: a Lathe with a bracket. `train`: a Train or its text, in any order; every order of its drivers and of its
    driven gears is tried. Idlers that it names are used, in any mesh, and no others; one that names none is given as
    few as will do from the gears that the lathe has left over (at most two for one mesh, else one, or two where only
    that gives the hand). Its own gears need not be owned: counts are read as gears of the lathe where they can be,
    those of clusters and other sizes too, the rest as loose gears of the first size. Trains of more than four meshes
    are tried in the order given only.
    `hand`: 'right' or 'left', where that hand must come out and the lathe has no reverse; None for either.
    `lever`: the gearbox position, which matters to the hand alone, where positions differ in the way they turn.
    `mounted`: among arrangements of equally many idlers, prefer those that leave more of these gears where they are.
    `keep_order`: try only the order given, the idlers (if any) in the meshes given.

    Raises NotPossibleError, saying what to add to the lathe file, when the lathe has no bracket or no size of gear;
    UnknownNameError for a lever that there isn't; ValueOutOfRangeError for what is no train, lathe or hand.

    Assumed: gears on the spindle side and on the leadscrew can be spaced to whatever plane their mate stands in.
    """
    lathe, train = as_lathe(lathe), as_train(train)
    layout, same_way = layout_of(lathe), _way_to_turn(lathe, hand, lever)
    kept = as_yes_or_no(keep_order, what="keep_order")
    mounted = None if mounted is None else as_if_had(lathe.gear_set, as_train(mounted), keep_order=True)[0]
    train, not_owned = as_if_had(lathe.gear_set, train, kept)
    found = arrange(Question(train, layout, lathe.gear_set, same_way, mounted, kept))
    return evolve(found, not_owned=not_owned) if not_owned else found


def as_train(given: Train | str) -> Train:
    """A Train, or the one that a text writes, with its lever or without. Raises ValueOutOfRangeError otherwise."""
    return given if isinstance(given, Train) else train_and_lever(given)[0]


def _way_to_turn(lathe: Lathe, hand: str | None, lever: str | None) -> bool | None:
    """Whether the last driven gear must turn as the first driver does; None when it doesn't matter."""
    check_hand(hand, "for either")
    positions = lathe.positions if lever is None else (lathe.lever(lever),)
    ways = {way_to_turn(lathe, hand, position) for position in positions}
    if len(ways) > 1:
        lathe.lever(None)  # refuses: where the lever stands decides
    return ways.pop()


def arrange(question: Question) -> Fit:
    """What fit() answers, for whoever has a Question ready."""
    tried = (arrange_with(question, idlers) for idlers in Ways(question).numbers_of_idlers())
    return next((fit for fit in tried if fit.goes_on), Fit(False, question, None))


@lru_cache(maxsize=_KEPT)
def arrange_with(question: Question, idlers: int) -> Fit:
    """The same with just so many idlers, for whoever has many questions and can do without most answers.

    The reasons of one that doesn't go on are those of all numbers of idlers. Answers are kept.
    """
    growth = Growth(Ways(question), idlers)
    best = best_placing(question.layout, growth)
    return Fit(best is not None, question, best, growth.steps)


def _why_not(question: Question) -> tuple[Arrangement, tuple[str, ...]]:
    ways = Ways(question)
    impossible = nothing_to_try(ways)
    if impossible:
        return Arrangement(question.train, None, plane_choices(question.train.chain())[0]), (impossible,)
    nearest, (first, *more) = nearest_misfit(question)
    remedy = _helpful_idler(question, ways)
    return nearest, (f"{first.removesuffix('.')}; {remedy}." if remedy else first, *more)


def _helpful_idler(question: Question, ways: Ways) -> str:
    """Another idler with which the train would go on, in words; empty when there is none."""
    where = " in the first mesh alone" if ways.train.meshes > 1 else ""
    if len(ways.named) == 1:
        for teeth in sorted(set(ways.spare), key=lambda teeth: (abs(teeth - ways.named[0]), teeth)):
            if _goes_on_with(question, teeth):
                return f"an idler of {teeth}{where} instead of {ways.named[0]} would clear it"
    few_orders = ways.train.meshes <= 2  # more take too long to try with each idler that there might be
    if not ways.named and few_orders and 1 in ways.numbers_of_idlers():
        for teeth in _IDLERS_TO_SUGGEST:
            if teeth not in ways.spare and _goes_on_with(question, teeth):
                return f"an idler of {teeth}{where}, which is not in the set, would clear it"
    return ""


def _goes_on_with(question: Question, idler: int) -> bool:
    train = Train(question.train.drivers, question.train.driven, ((idler,),))
    return arrange(evolve(question, train=train)).goes_on


def clearances(
    lathe: Lathe, train: TrainLike, axes_mm: tuple[Point, ...], planes: tuple[int, ...]
) -> tuple[tuple[str, str, float], ...]:
    """Measure the gaps of a train wherever its axes stand: (part, part, mm between them), the tightest first.

    >>> from gearcalc.lathes import demo_lathe
    >>> clearances(demo_lathe("inch"), Train((40, 30), (80, 60)), ((-50.0, 94.0), (-60.0, 40.0), (0.0, 0.0)), (0, 1))[0]
    ('80 on the stud', 'spindle-side shaft', -3.3318...)

    `lathe`: a Lathe with a bracket; `train`: a Train or its text; `axes_mm`: spindle side first, then each stud along
    the chain, pivot last; `planes`: a number a mesh, and then one for each idle gear of a cluster. The mm are floats.
    Only parts that must not touch: gears that mesh are left out. Raises NotPossibleError as fit() does, and
    ValueOutOfRangeError when there are too few or too many axes or planes.
    """
    layout, train = layout_of(as_lathe(lathe)), as_train(train)
    axes_mm, planes, chain = _points(axes_mm), _plane_numbers(planes), train.chain()
    axes = axes_of(chain)
    wanted = train.meshes + len(idle_gears(chain))
    if len(axes_mm) != axes or len(planes) != wanted:
        raise ValueOutOfRangeError(
            f"this train has {axes} axes and {wanted} planes", value=f"{len(axes_mm)} and {len(planes)}"
        )
    if any(one == other for one, other in pairwise(planes[: train.meshes])):
        raise ValueOutOfRangeError("meshes that follow one another lie in different planes", value=tuple(planes))
    return _named_gaps(layout, chain, axes_mm, planes)


def _points(given: object) -> tuple[Point, ...]:
    try:
        points = tuple((float(x), float(y)) for x, y in islice(given, 100))  # type: ignore[call-overload]
    except Exception:  # another's object may raise anything while it is gone through
        points = ((nan, nan),)
    if not all(isfinite(place) for point in points for place in point):
        raise ValueOutOfRangeError("axes_mm must be pairs of numbers, x and y in mm", value=shown(given))
    return points


def _plane_numbers(given: object) -> tuple[int, ...]:
    try:
        return tuple(index(plane) for plane in islice(given, 100))  # type: ignore[call-overload]
    except Exception:  # as above
        raise ValueOutOfRangeError("planes must be whole numbers, one a mesh", value=shown(given)) from None


def _named_gaps(
    layout: Layout, chain: Chain, axes_mm: tuple[Point, ...], planes: tuple[int, ...]
) -> tuple[tuple[str, str, float], ...]:
    def name(part: Part) -> str:
        return part_name(part, len(axes_mm), layout.last_shaft)

    gaps = sorted(every_gap(layout, chain, axes_mm, planes), key=lambda gap: gap.mm)
    return tuple((name(gap.one), name(gap.other), gap.mm) for gap in gaps)
