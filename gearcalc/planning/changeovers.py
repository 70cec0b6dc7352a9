"""The order of a day's jobs, and the setup of each, that move the fewest gears; and how far that is proven."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_whole, as_yes_or_no
from gearcalc.basics.errors import NoSetupError, NotPossibleError
from gearcalc.basics.exact import MILLION, NumberLike, RelativeError, as_fraction
from gearcalc.basics.progress import Shown, how_shown
from gearcalc.finding.rankings import Query
from gearcalc.finding.search import SetupList, listed, warnings_by_name
from gearcalc.finding.setups import Mounted, Setup, train_mounted
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.lathe import lead_to_cut
from gearcalc.lathes.trains import Train
from gearcalc.planning.candidates import (
    Loose,
    arrangements_of,
    bounds_of,
    every_arrangement,
    every_train,
    ways_to_arrange,
)
from gearcalc.planning.least_moves import ANY_NUMBER, Choice, in_any_order, in_this_order
from gearcalc.planning.plans import PLANNED_MESHES, Plan
from gearcalc.threads import WantedLike
from gearcalc.threads.deviations import GOOD_ENOUGH, good_enough_ppm, limit_ppm
from gearcalc.threads.series import wanted_listed
from gearcalc.threads.wanted import Wanted, wanted_hand

_MOST_LISTED, _MOST_LEADS = 200, 14
_MOST_CANDIDATES = 2000
_MOST_ORDERS = 1500  # of one setup's gears; with more of them it is taken as the search found it
_MOST_ROUNDS, _MORE_AT_A_TIME = 4, 60  # of looking at setups beyond the best ones, where a plan might gain by it
_A_LITTLE_MORE = 1 + Fraction(1, MILLION)


class _Group(NamedTuple):
    """Jobs that one setup serves, every arrangement that was found for them, and whether there are no others.

    `limit`: how far off they may be, None where there is no limit.
    """

    jobs: tuple[Wanted, ...]
    choices: tuple[Setup, ...]
    all_of_them: bool
    limit: RelativeError | None

    @property
    def trains(self) -> list[Train]:
        return [choice.train for choice in self.choices]


def plan_changeover(
    lathe: Lathe,
    jobs: WantedLike | Iterable[WantedLike],
    within_ppm: NumberLike | None = GOOD_ENOUGH,
    keep_order: bool = False,
    mounted: Mounted | None = None,
    *,
    candidates: int = 80,
    progress: bool | Shown = False,
) -> Plan:
    """Find the order of a day's jobs, and the setup of each, that move the fewest gears.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(plan_changeover(demo_lathe("inch"), ["1/4-20", "1/2-13", "3/8-16"]))
    1. 1/4-20 UNC: 40/50, idler 40, lever low: lead 20 tpi (1.27 mm), exact
    2. 1/2-13 UNC: 40/65, idler 40, lever middle: lead 13 tpi (≈ 1.9538 mm), exact; 1 gear to move
    3. 3/8-16 UNC: 40/80, idler 40, lever middle: lead 16 tpi (1.5875 mm), exact; 1 gear to move
    To move: 2 gears, the lever once, the bracket twice.
    Proven: no plan in any order moves fewer, of all setups good enough to choose (a tenth of the thread's tolerance, \
1000 ppm at most; 200 ppm where none is known; 1000 ppm for a feed) with trains of 1, 2 or 3 meshes from these gears \
that go on the bracket, with no more idlers than they need and none strained that need not be.

    `lathe`: a Lathe. `jobs`: threads or feeds, their texts, or names of series, 1 to 200 in all; up to 14 different
    leads where the order is open.
    `within_ppm`: how far off a job may be, 0 (exact) or more; 'good enough': as far as is good enough to choose for
    each job, a tenth of its tolerance over one diameter of engagement, at most 1000 ppm, 200 ppm where no tolerance is
    known, 1000 ppm for a feed (our conventions), and where no setup is, the nearest, if that may be cut at all; None:
    no limit. Within that a setup that is nearer is no better than one that saves a move; of plans that move as few the
    simplest setups are taken, as find_setups(..., first="simplest") puts them.
    `keep_order`: the jobs in the order given.
    `mounted`: what is on the lathe now, a Setup, a Train or its text; taking that off counts then.
    `candidates`: how many of the best setups of each lead are looked at, each in every order of its meshes and with
    every idler with which it goes on, 1 to 2000.
    `progress`: show a bar (tqdm), or what shows it otherwise.

    A gear counts as moved where a place holds another gear than before (trains.places_that_differ), idlers included.
    The plan says in `.proven` whether none can move fewer, of all setups within that error: trains of one to three
    meshes from the gears that are owned, equal gears on both sides too, that go on the bracket where there is one; each
    with as few idlers as will do, and not strained where the job can do without. Else `.lower_bound` says what none of
    them can beat.
    Raises NoSetupError for jobs that can't be set up, NotPossibleError for too many leads; ValueOutOfRangeError for no
    job and for arguments outside these; ThreadTextError for text that is neither thread nor feed, UnknownNameError
    where it has no figure in it and is no series.
    Source: Held and Karp 1962, see least_moves.py.
    """
    lathe, wanted = as_lathe(lathe), wanted_listed(jobs, _MOST_LISTED, "jobs")
    keep_order = as_yes_or_no(keep_order, what="keep_order")
    shown = how_shown(progress)
    start = train_mounted(lathe, mounted)
    if not lathe.gear_set.anything_goes:
        raise NotPossibleError(
            f"{lathe.name} has gears that are fixed, in one piece or of several sizes, and such are not planned for",
            remedy="A chart gives each job its train; one after the other, find with what is mounted moves few gears.",
        )
    groups = _in_groups(lathe, wanted, within_ppm, keep_order)
    if len(groups) > _MOST_LEADS and not keep_order:
        raise NotPossibleError(
            f"{len(groups)} different leads are too many to find the best order of",
            remedy=f"Plan up to {_MOST_LEADS} at a time, or keep the order given.",
        )
    found = _choices(lathe, groups, within_ppm, start, candidates, shown)
    choice = _better(found, start, keep_order, shown, ANY_NUMBER)
    assert choice is not None  # every job has a setup
    least = choice.moved
    if not all(group.all_of_them for group in found):
        found, choice, least = _looked_further(lathe, found, choice, start, keep_order, shown)
    choice = _handiest(found, choice.order, start)
    chosen = [(found[place], found[place].choices[n]) for place, n in zip(choice.order, choice.trains, strict=True)]
    return Plan(
        jobs=tuple(job for group, _ in chosen for job in group.jobs),
        setups=tuple(_for_job(setup, job) for group, setup in chosen for job in group.jobs),
        mounted=start,
        lower_bound=least,
        considered=sum(len(group.choices) for group in found),
        within_ppm=_as_said(within_ppm),
        kept_order=keep_order,
        notes=tuple(_notes(wanted, within_ppm, chosen)),
    )


def _as_said(within_ppm: NumberLike | None) -> float | str | None:
    if within_ppm is None or within_ppm == GOOD_ENOUGH:
        return None if within_ppm is None else GOOD_ENOUGH
    return float(as_fraction(within_ppm))


def _in_groups(
    lathe: Lathe, wanted: Sequence[Wanted], within_ppm: NumberLike | None, keep_order: bool
) -> list[list[Wanted]]:
    """Jobs that the same setups serve together, for doing them one after the other is never worse."""

    def served_by(job: Wanted) -> tuple[Any, ...]:
        hand = "either" if lathe.spindle_side.reverse else wanted_hand(job)
        return lead_to_cut(lathe, job), limit_ppm(within_ppm, job), hand

    groups: list[list[Wanted]] = []
    for job in wanted:
        among = groups[-1:] if keep_order else groups
        alike = next((group for group in among if served_by(group[0]) == served_by(job)), None)
        if alike is None:
            groups.append([job])
        else:
            alike.append(job)
    return groups


def _choices(
    lathe: Lathe,
    groups: Sequence[Sequence[Wanted]],
    within_ppm: NumberLike | None,
    start: Train | None,
    candidates: int,
    shown: Shown,
) -> list[_Group]:
    """The arrangements of each group; those of a lead that comes back are listed once."""
    as_whole(candidates, what="candidates", most=_MOST_CANDIDATES)
    known: dict[Any, _Group] = {}
    missing: list[tuple[Wanted, str]] = []
    found = []
    for jobs in shown(groups, "Listing setups"):
        key = lead_to_cut(lathe, jobs[0]), limit_ppm(within_ppm, jobs[0]), wanted_hand(jobs[0])
        if key not in known:
            setups, limit = _near_enough(lathe, jobs[0], within_ppm, start, candidates)
            if not setups:
                missing.append((jobs[0], setups.why))
            known[key] = _Group((), *_arranged(lathe, setups, limit, candidates))
        found.append(known[key]._replace(jobs=tuple(jobs)))
    if missing:
        raise _not_all_of_them(lathe, missing, within_ppm)
    return found


def _near_enough(
    lathe: Lathe, job: Wanted, within_ppm: NumberLike | None, start: Train | None, candidates: int
) -> tuple[SetupList, RelativeError | None]:
    """The best setups of a job, and how far off they may be."""

    def found(ppm: Fraction | None) -> SetupList:
        within = None if ppm is None else ppm / MILLION
        query = Query(lathe, job, PLANNED_MESHES, within=within, mounted=start, choose_within=within)
        return listed(query, candidates)

    ppm = limit_ppm(within_ppm, job)
    setups = found(ppm)
    if setups or within_ppm != GOOD_ENOUGH:
        return setups, None if ppm is None else RelativeError.of_ppm(ppm)
    nearest = found(None)
    if not nearest or nearest.shortfall:
        return SetupList(wanted=job, why=nearest.shortfall or nearest.why), None
    return nearest, nearest[0].error


def _arranged(
    lathe: Lathe, setups: SetupList, limit: RelativeError | None, candidates: int
) -> tuple[tuple[Setup, ...], bool, RelativeError | None]:
    kept = [setup for setup in setups if _is_within(setup, limit)]
    gentle = [setup for setup in kept if not setup.strained] or kept
    every = (
        len(kept) < candidates
        and not setups.why
        and not lathe.gear_set.some_twice  # an equal pair too many may still save a move between jobs
        and all(ways_to_arrange(lathe, each) <= _MOST_ORDERS for each in kept)
    )
    return tuple(each for setup in gentle for each in every_arrangement(lathe, setup, _MOST_ORDERS)), every, limit


def _is_within(setup: Setup, limit: RelativeError | None) -> bool:
    return limit is None or (setup.error is not None and setup.error <= limit)


def _not_all_of_them(
    lathe: Lathe, missing: Sequence[tuple[Wanted, str]], within_ppm: NumberLike | None
) -> NoSetupError:
    names = ", ".join(str(job) for job, _ in missing)
    said = _as_said(within_ppm)
    within = "" if said is None else " well enough" if isinstance(said, str) else f" within {writing.decimal(said)} ppm"
    return NoSetupError(
        f"{lathe.name} can't be set up for {names}{within}",
        remedy=f"{missing[0][1]} Leave {'it' if len(missing) == 1 else 'them'} out, or allow a larger error.",
    )


def _better(groups: Sequence[_Group], start: Train | None, keep_order: bool, shown: Shown, below: int) -> Choice | None:
    """The plan that moves the fewest gears, if that is fewer than `below`."""
    lists = [group.trains for group in groups]
    if not keep_order:
        return in_any_order(lists, start, below, lambda steps: shown(steps, "Ordering the jobs"))
    best = in_this_order(lists, start)
    return best if best.moved < below else None


def _handiest(groups: Sequence[_Group], order: Sequence[int], start: Train | None) -> Choice:
    """In this order of the jobs, among plans that move as few, the one whose setups come first in their lists."""
    best = in_this_order([groups[job].trains for job in order], start)
    return Choice(tuple(order), best.trains, best.moved)


def _looked_further(
    lathe: Lathe, groups: list[_Group], choice: Choice, start: Train | None, keep_order: bool, shown: Shown
) -> tuple[list[_Group], Choice, int]:
    """The groups with more arrangements in them, the best choice, and what no plan can beat.

    Of all the trains that there are only those are looked at that could be part of a plan that moves fewer gears. Once
    none of them is left, the plan is the best that there is.
    """
    trains = []
    for group in groups:
        if group.limit is None:
            return groups, choice, 0
        ppm = Fraction(abs(group.limit.ppm)) * _A_LITTLE_MORE
        listed = every_train(lathe, group.jobs[0], PLANNED_MESHES, ppm / MILLION)
        if listed is None:
            return groups, choice, 0
        trains.append(listed)
    bounds = bounds_of(trains, start, keep_order)
    looked = [{Loose.of(each.train, lathe.lever(each.lever)) for each in group.choices} for group in groups]
    for _ in range(_MOST_ROUNDS):
        if choice.moved <= bounds.least:
            return groups, choice, choice.moved
        open_ones = [
            [trains[job][n] for n in bounds.promising(job, choice.moved - 1) if trains[job][n] not in looked[job]]
            for job in range(len(groups))
        ]
        if not any(open_ones):
            arranged = all(ways_to_arrange(lathe, each) <= _MOST_ORDERS for group in groups for each in group.choices)
            return groups, choice, choice.moved if arranged else bounds.least
        for job in shown(range(len(groups)), "Looking further"):
            some = open_ones[job][:_MORE_AT_A_TIME]
            looked[job] |= set(some)
            more = [each for train in some for each in arrangements_of(lathe, train, groups[job].jobs[0])]
            near = [each for each in more if _is_within(each, groups[job].limit)]
            gentle = [each for each in near if not each.strained or groups[job].choices[0].strained]
            groups[job] = groups[job]._replace(choices=(*groups[job].choices, *gentle))
        better = _better(groups, start, keep_order, shown, choice.moved)
        if better is not None:
            choice = better
        elif any(len(still_open) > _MORE_AT_A_TIME for still_open in open_ones):
            break  # nothing gained, and too many left to look at them all
    return groups, choice, bounds.least


def _for_job(setup: Setup, job: Wanted) -> Setup:
    """The setup made for another job of the same lead."""
    return setup if setup.wanted == job else evolve(setup, wanted=job)


def _notes(
    wanted: Sequence[Wanted], within_ppm: NumberLike | None, chosen: Sequence[tuple[_Group, Setup]]
) -> Iterable[str]:
    for job in dict.fromkeys(wanted):
        if wanted.count(job) > 1:
            yield f"{job} is listed {wanted.count(job)} times; where it comes twice running, nothing is moved between."
    if within_ppm == GOOD_ENOUGH:
        far = ((job, setup) for group, setup in chosen for job in group.jobs)
        for job in dict.fromkeys(
            job for job, each in far if not _is_within(each, RelativeError.of_ppm(good_enough_ppm(job)))
        ):
            yield f"No setup for {job} is good enough to choose, so the nearest is taken."
    if len(wanted) == 1:
        yield "One job alone has no order: this is the setup that moves the fewest gears."
    yield from warnings_by_name(_for_job(setup, job) for group, setup in chosen for job in group.jobs)
