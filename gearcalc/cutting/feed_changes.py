"""From threading to feeding and back: the setup for a feed that moves the fewest gears from what is mounted.

A feed need not be exact, so the search goes the other way round than for a thread: not the nearest feed first, but the
least work first. Every train that differs from what is mounted in no place, in one, in two ... is looked at, until one
gives a feed that is near enough and goes on.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import combinations, permutations
from math import prod
from typing import NamedTuple, TypeAlias

from attrs import evolve, frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_number
from gearcalc.basics.cautions import FOOT
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import NumberLike
from gearcalc.finding.mounted import Mounted, train_mounted
from gearcalc.finding.rankings import Query, goals_of
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import Setup, assemble, fit_if_any
from gearcalc.fits import fit
from gearcalc.fits.geometry import layout_if_any
from gearcalc.lathes import GearSet, Lathe, Lever, as_lathe
from gearcalc.lathes.levers import moved_levers
from gearcalc.lathes.orders import gears_moved, plus_idler
from gearcalc.lathes.parts import LeverAt
from gearcalc.lathes.standing import without
from gearcalc.lathes.trains import Gears, Train
from gearcalc.threads import Feed, FeedLike
from gearcalc.threads.wanted import NEAR_ENOUGH_PERCENT, wanted_hand

_MOST_MOVED = 3  # places changed in the search by least work; beyond it find_setups is asked
_MOST_IDLERS = 4  # of which any are left out
_MOST_TRIED_ON = 300  # trains held against the bracket for each number of places
_NEAREST_ASKED = 20

_Work: TypeAlias = Callable[[Setup], tuple[int, bool, int, float]]


@frozen
class FeedChange:
    """The way from what is mounted to a feed. Made by change_to_feed().

    `mounted`: the Train on the lathe; `lever_now`: the name of its lever, `reverse_over_now`: whether the reverse is
    put over, each None where that was not said; `to`: the Setup for the feed; `moved`: places that get a different
    gear, idlers counted; `within_percent`: how far off the feed might be, exact; `proven`: of trains of one to three
    meshes from these gears none for a feed so near moves fewer. Of a train with more than one idler on it, or more
    than three meshes, that is not said.
    """

    mounted: Train
    lever_now: str | None
    to: Setup
    moved: int
    within_percent: Fraction
    proven: bool
    reverse_over_now: bool | None = None

    @property
    def feed(self) -> Feed:
        """What was asked for."""
        assert isinstance(self.to.wanted, Feed)
        return self.to.wanted

    @property
    def off_percent(self) -> float:
        """How far the feed is off the one asked for, in per cent; positive when it is coarser."""
        return _off_ppm(self.to) / 10_000

    @property
    def lever_moves(self) -> bool:
        """Whether a lever goes to another position."""
        return bool(self.levers_to_move)

    @property
    def levers_to_move(self) -> tuple[LeverAt, ...]:
        """The levers that go to another position, each with where it goes; all of them where it is not known."""
        lathe = self.to.lathe
        return moved_levers(None if self.lever_now is None else lathe.lever(self.lever_now), self.to.position)

    @property
    def reverse_moves(self) -> str:
        """'over' or 'back' where the reverse is to be put so, else empty; not known counts as in the lathe file.

        By a feed drive nothing is said: which way that turns the lathe file doesn't know.
        """
        if not self.to.way_known or self.to.reverse_over == bool(self.reverse_over_now):
            return ""
        return "over" if self.to.reverse_over else "back"

    @property
    def steps(self) -> tuple[tuple[str, int | None, int | None], ...]:
        """(place, gear that stands there now, gear that it gets) for each place that changes; None where none is."""
        now, then = dict(self.mounted.places()), dict(self.to.train.places())
        places = dict.fromkeys((*now, *then))
        return tuple((place, now.get(place), then.get(place)) for place in places if now.get(place) != then.get(place))

    @property
    def in_words(self) -> str:
        """What to do, in one sentence a step."""
        swaps = [(place, _swap_in_words(now, then)) for place, now, then in self.steps]
        said = [f"{markup.sentence(place)}: {swap}." for place, swap in swaps] or ["No gear moves."]
        if self.lever_moves:
            said += [f"{markup.sentence(each)}." for each in self._levers_in_words]
        if self.reverse_moves:
            said.append(f"Put the reverse {self.reverse_moves}.")
        said.append(f"That gives {self._gives}{self._off_in_words}.")
        return " ".join(said)

    @property
    def _gives(self) -> markup.Written:
        assert self.to.feed_mm is not None
        return both_units.feed(self.to.feed_mm, self.to.lathe.units)

    @property
    def _levers_in_words(self) -> list[str]:
        """Each lever that moves, and from where to where, as far as that is known."""
        now = None if self.lever_now is None else self.to.lathe.lever(self.lever_now)
        was = {stand.lever: f"from {stand.at} " for stand in (now.stands if now else ())}
        return [f"{stand.called} {was.get(stand.lever, '')}to {stand.at}" for stand in self.levers_to_move]

    @property
    def _off_in_words(self) -> str:
        if self.to.is_exact:
            return ", exactly what was asked for"
        coarser = "coarser" if self.off_percent > 0 else "finer"
        return f", {writing.decimal(abs(self.off_percent), 1)} per cent {coarser} than asked for"

    def __str__(self) -> str:
        return f"{self.mounted} to {self.to}. {self.in_words}"

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str | markup.Written]] = [("mounted", self.mounted.written)]
        rows += [(place, _swap_in_words(now, then)) for place, now, then in self.steps]
        rows.append(("gears to move", str(self.moved)))
        if self.to.position is not None:
            stays = f"stays at {self.to.position.name}"
            one = f"lever{'s' * (len(self.to.position.stands) > 1)}"
            rows.append((one, ", ".join(self._levers_in_words) or stays))
        if self.to.reverse_fitted:
            rows.append(("reverse", self.to.reverse_stands))
        rows.append(("then", self.to.train.written))
        rows.append(("feed", self._gives + f" {self.feed.along}" + self._off_in_words))
        notes = [] if self.proven else ["Perhaps fewer gears would do: not every train could be looked at."]
        notes += [*self.to.warnings, *([FOOT] if self.moved else [])]
        return markup.html_table(f"From what is mounted to a feed of {self.feed}", rows, note=" ".join(notes))


def change_to_feed(
    lathe: Lathe, mounted: Mounted, feed: FeedLike, within_percent: NumberLike = NEAR_ENOUGH_PERCENT
) -> FeedChange:
    """Find how to get from what is mounted to a feed, moving the fewest gears.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> lathe = demo_lathe("inch")
    >>> thread = setup(lathe, drivers=40, driven=80, idlers=25, lever="middle", wanted="16 tpi")
    >>> change = change_to_feed(lathe, thread, "0.1 mm/rev")
    >>> change.moved, change.to.lever
    (0, 'low')
    >>> print(change.in_words)
    No gear moves. Lever from middle to low. That gives ≈ 0.00391 in/rev (≈ 0.0992 mm/rev), 0.8 per \
cent finer than asked for.

    `lathe`: a Lathe. `mounted`: a Setup, a Train or its text, as it stands; the idlers without which it can't stand
    there are put to it, and else that it goes on is taken for granted. What is damaged, or no longer had, comes off.
    `feed`: a Feed or its text. `within_percent`: how far off it may be, 0 (exact only) to 50; 10 by our convention.
    Of those that move equally few gears the one that strains nothing comes first, then the one that leaves the lever,
    then the nearest; where more than three move, of the twenty that find_setups() names first.
    The way back is the same, the other way round.
    Raises NotPossibleError when no setup is near enough, ThreadTextError for no feed, ValueOutOfRangeError otherwise.
    """
    lathe = as_lathe(lathe)
    wanted = feed if isinstance(feed, Feed) else Feed.parse(feed)
    train, lever = train_mounted(lathe, mounted), mounted.lever if isinstance(mounted, Setup) else None
    if train is None:
        raise ValueOutOfRangeError(
            "mounted is what stands on the lathe, a Setup or a Train",
            value="nothing",
            remedy="Take find_setups(lathe, thread)[0], or write the train, like '40/80'.",
        )
    within = as_number(within_percent, what="within_percent", most=50)
    work = _work_from(lathe, train, lever)
    best, complete = _by_least_work(lathe, train, wanted, within / 100, work)
    if best is None or not complete or gears_moved(lathe.gear_set, train, best.train) > _MOST_MOVED + 1:
        ppm = within * 10_000
        others = find_setups(lathe, wanted, count=_NEAREST_ASKED, within_ppm=ppm, mounted=train)
        if not others and best is None:
            raise NotPossibleError(
                f"no setup comes within {writing.number(within)} per cent of {wanted}", remedy=others.why
            )
        best = min(filter(None, (*others, best)), key=work)
    moved = gears_moved(lathe.gear_set, train, best.train)
    usual = train.idler_count <= 1 and train.meshes <= _MOST_MESHES
    proven = complete and usual and moved <= _MOST_MOVED + 1
    over = mounted.reverse_over if isinstance(mounted, Setup) else None
    return FeedChange(train, lever, best, moved, within, proven, over)


def _work_from(lathe: Lathe, train: Train, lever: str | None) -> _Work:
    """What it takes to come to a setup from a train and its lever: the least comes first."""
    there = None if lever is None else lathe.lever(lever)

    def work(setup: Setup) -> tuple[int, bool, int, float]:
        moved = gears_moved(lathe.gear_set, train, setup.train)
        return moved, setup.strained, len(moved_levers(there, setup.position)), abs(_off_ppm(setup))

    return work


def _off_ppm(setup: Setup) -> float:
    return setup.error_ppm or 0.0


def _by_least_work(lathe: Lathe, train: Train, feed: Feed, share: Fraction, work: _Work) -> tuple[Setup | None, bool]:
    """The setup that moves fewest gears, None where none moves so few; and whether every train was looked at."""
    best: Setup | None = None
    complete = True
    for changed in range(_MOST_MOVED + 1):
        if best is not None and changed > work(best)[0]:  # idlers can only add to what changes
            break
        near = sorted(_near_enough(lathe, train, feed, share, changed), key=work)
        for found in near[:_MOST_TRIED_ON]:
            fitted = _fitted(lathe, train, found)
            if fitted is None:
                continue
            best = min(filter(None, (best, fitted)), key=work)
            if work(fitted)[0] == changed:
                break
        else:
            complete = complete and len(near) <= _MOST_TRIED_ON
    return best, complete


def _near_enough(lathe: Lathe, train: Train, feed: Feed, share: Fraction, changed: int) -> Iterator[Setup]:
    """Setups with so many drivers and driven gears changed that come near enough; idlers as mounted if they can be."""
    off = float(share) + _ROUNDING
    each = [(goal.lever, float(goal.target)) for goal in goals_of(Query(lathe, feed, (1,)))]
    aims = [Aim(lever, wanted * (1 - off), wanted * (1 + off)) for lever, wanted in each]
    for drivers, driven, lever in trains_nearby(train, lathe.gear_set, changed, aims):
        # The idlers stay where they are, unless one is needed elsewhere or its mesh is gone.
        kept = Train(drivers, driven, train.idlers[: len(drivers)])
        train_now = kept if lathe.gear_set.allows(kept) else Train(drivers, driven)
        if not lathe.gear_set.allows(train_now):
            continue
        setup = assemble(lathe, train_now, lever, feed)
        if setup.error is not None and setup.error.exact is not None and abs(setup.error.exact) <= share:
            yield setup


def _fitted(lathe: Lathe, mounted: Train, found: Setup) -> Setup | None:
    """The setup as it goes on with its gears where they are; None when it doesn't, or turns the wrong way."""
    hand = wanted_hand(found.wanted)
    turns_right = lathe.spindle_side.reverse or found.natural_hand == hand
    if found.train == mounted and turns_right:  # it stands there, whatever the lathe file says of the bracket
        return evolve(found, fit=fit_if_any(lathe, mounted, found.position, found.wanted, keep_order=True))
    if layout_if_any(lathe) is None:
        return found if turns_right else _turned_round(lathe, mounted, found)
    options = [
        tried
        for train in _with_fewer_idlers(found.train)
        if (tried := fit(lathe, train, hand=hand, lever=found.lever, mounted=mounted, keep_order=True)).goes_on
    ]
    if not options:
        return None
    best = min(options, key=lambda tried: gears_moved(lathe.gear_set, mounted, tried.train))
    return assemble(lathe, best.train, found.position, found.wanted, best)


def _turned_round(lathe: Lathe, mounted: Train, found: Setup) -> Setup | None:
    """The setup with an idler taken off or put on, so that it turns the other way; None when no gear is left for it."""
    options = list(_with_fewer_idlers(found.train))
    more = plus_idler(lathe.gear_set, options[-1], mounted)
    if more is not None:
        options.append(more)
    turned = [assemble(lathe, train, found.position, found.wanted) for train in options]
    right = [each for each in turned if each.natural_hand == wanted_hand(found.wanted)]
    return min(right, key=lambda each: gears_moved(lathe.gear_set, mounted, each.train), default=None)


def _with_fewer_idlers(train: Train) -> Iterable[Train]:
    """The train with any of its idlers left out; with none of them, fit() finds those that it needs.

    Of more than anybody mounts only one, or all: every choice among them doubles with each.
    """
    at = [(mesh, teeth) for mesh, idlers in enumerate(train.idlers) for teeth in idlers]
    for left in range(len(at), -1, -1) if len(at) <= _MOST_IDLERS else (len(at), len(at) - 1, 0):
        for kept in combinations(at, left):
            idlers = [tuple(teeth for where, teeth in kept if where == mesh) for mesh in range(train.meshes)]
            yield Train(train.drivers, train.driven, idlers)


def _swap_in_words(now: int | None, then: int | None) -> str:
    if now is None:
        return f"put on {then}"
    return f"take off {now}" if then is None else f"{now} off, {then} on"


# Trains that are nearly there.

_EMPTY = 0  # a place with no gear yet
_MOST_MESHES = 3  # of trains that are looked at
_ROUNDING = 1e-9  # what a float may be off


class Aim(NamedTuple):
    """A lever position, and the train ratios that serve it: from, to; floats, which the caller makes a hair too wide.

    >>> Aim(None, 0.24, 0.26).lever is None
    True
    """

    lever: Lever | None
    lowest: float
    highest: float


Near = tuple[Gears, Gears, Lever | None]
"""Drivers and driven that come near enough, and the lever position with which they do."""


def trains_nearby(train: Train, owned: GearSet, changed: int, aims: Sequence[Aim]) -> Iterator[Near]:
    """Drivers and driven that differ from a train in just so many places, as far as their ratio serves an aim.

    >>> aims = [Aim(None, 0.24, 0.26)]
    >>> [near[:2] for near in trains_nearby(Train((40,), (80,)), GearSet((20, 30, 40, 50, 60, 80)), 1, aims)]
    [((20,), (80,))]

    `owned`: all gears, those of the train included; `changed`: places that hold a different gear, 0 or more. A last
    mesh that is taken off or put on counts as two; nothing is put on from three meshes up. Idlers are no matter here.
    All but the last place are tried gear by gear; the gears that can stand in the last one lie between two bounds.
    """
    drivers, driven = train.drivers, train.driven
    yield from _swapped(drivers, driven, owned, changed, aims)
    if changed < 2:
        return
    end = driven[-1:] if owned.last_stays else ()  # it is the last of whatever train there is
    before = driven[:-1] if end else driven
    if train.meshes > 1:
        yield from _swapped(drivers[:-1], (*before[:-1], *end), owned, changed - 2, aims)
    if train.meshes < _MOST_MESHES:
        yield from _swapped((*drivers, _EMPTY), (*before, _EMPTY, *end), owned, changed - 2, aims)


def _swapped(drivers: Gears, driven: Gears, owned: GearSet, changed: int, aims: Sequence[Aim]) -> Iterator[Near]:
    """The same with just so many places changed, and every empty one filled, as far as it comes near."""
    gears = drivers + driven
    filled = [place for place, teeth in enumerate(gears) if teeth != _EMPTY]
    empty = [place for place, teeth in enumerate(gears) if teeth == _EMPTY]
    if not changed and not empty:
        ratio = prod(drivers) / prod(driven)
        yield from ((drivers, driven, aim.lever) for aim in aims if aim.lowest <= ratio <= aim.highest)
        return
    for chosen in combinations(filled, changed):
        places = (*chosen, *empty)
        spare = owned.left_over(teeth for place, teeth in enumerate(gears) if place not in places)
        for new in dict.fromkeys(permutations(spare, len(places) - 1)):
            row = list(gears)
            for place, teeth in zip(places, new, strict=False):
                row[place] = teeth
            if all(row[place] != gears[place] for place in places[:-1]):
                yield from _last_place(row, places[-1], _rest(spare, new), aims)


def _rest(gears: Gears, taken: Gears) -> list[int]:
    """The gears but those that are taken, each once, ascending."""
    for gear in taken:
        gears = without(gears, gear)
    return sorted(set(gears))


def _last_place(row: list[int], place: int, spare: list[int], aims: Sequence[Aim]) -> Iterator[Near]:
    """The gears for the last place that bring the row near, found between two bounds rather than one by one."""
    meshes, before = len(row) // 2, row[place]
    row = [*row]
    row[place] = 1
    rest = prod(row[:meshes]) / prod(row[meshes:])
    for aim in aims:
        low, high = (
            (aim.lowest / rest, aim.highest / rest) if place < meshes else (rest / aim.highest, rest / aim.lowest)
        )
        first, last = bisect_left(spare, low * (1 - _ROUNDING)), bisect_right(spare, high * (1 + _ROUNDING))
        for teeth in spare[first:last]:
            if teeth != before:
                row[place] = teeth
                yield tuple(row[:meshes]), tuple(row[meshes:]), aim.lever
