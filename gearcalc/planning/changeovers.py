"""The order of a day's jobs, and the setup of each, that move the fewest gears; and how far that is proven."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_meshes, as_whole, as_yes_or_no
from gearcalc.basics.errors import NoSetupError, NotPossibleError
from gearcalc.basics.exact import MILLION, NumberLike, RelativeError, as_fraction
from gearcalc.basics.progress import Shown, how_shown
from gearcalc.finding.choosing import choose_up_to, may_be_chosen
from gearcalc.finding.mounted import Mounted, train_mounted
from gearcalc.finding.rankings import Query
from gearcalc.finding.search import MOST_MESHES, SetupList, listed, warnings_by_name
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.lathe import lead_to_cut
from gearcalc.lathes.trains import Train
from gearcalc.planning.candidates import Candidates, Exchanges, Window, most_useful, windows
from gearcalc.planning.nearness import Loose, close_by
from gearcalc.planning.path_search import Mount, PathSearch, promising
from gearcalc.planning.plans import INTERRUPTED, PLANNED_MESHES, Plan
from gearcalc.planning.rest import TOLD_EVERY, Effort, OutOfStepsError, Rest, least_between
from gearcalc.threads import WantedLike
from gearcalc.threads.deviations import GOOD_ENOUGH, limit_ppm
from gearcalc.threads.series import wanted_listed
from gearcalc.threads.wanted import Wanted, wanted_hand

_MOST_LISTED, _MOST_LEADS = 200, 14
_MOST_EFFORT = 1000
_TRAINS = 20_000  # of all jobs together, about
_STEPS, _ENOUGH = 9_000_000, 10**12
_SHARE_OF_A_LOOK, _SHARE_OF_FEW = 16, 4  # one part of so many of all steps goes into a first look, into a few trains
_FEWEST_STEPS = 50_000  # for each number of gears, so that a plan which is there for all to see is found


class _Group(NamedTuple):
    """Jobs that one setup serves: the simplest that does; how far off they may be."""

    jobs: tuple[Wanted, ...]
    best: Setup
    limit: RelativeError | None


def plan_changeover(
    lathe: Lathe,
    jobs: WantedLike | Iterable[WantedLike],
    within_ppm: NumberLike | None = GOOD_ENOUGH,
    keep_order: bool = False,
    mounted: Mounted | None = None,
    *,
    meshes: int | Iterable[int] = PLANNED_MESHES,
    effort: int = 1,
    progress: bool | Shown = False,
) -> Plan:
    """Find the order of a day's jobs, and the setup of each, that move the fewest gears.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(plan_changeover(demo_lathe("inch"), ["1/4-20", "1/2-13", "3/8-16"]))
    1. 1/4-20 UNC: 40/50, idler 40, lever low: lead 20 tpi (1.27 mm), exact
    2. 3/8-16 UNC: 40/80, idler 40, lever middle: lead 16 tpi (1.5875 mm), exact; 1 gear to move
    3. 1/2-13 UNC: 40/65, idler 40, lever middle: lead 13 tpi (≈ 1.9538 mm), exact; 1 gear to move
    To move: 2 gears, the lever once, the bracket twice.
    Proven: no plan in any order moves fewer, of all setups good enough to choose (a tenth of the thread's tolerance, \
1000 ppm at most; 200 ppm where none is known; 1000 ppm for a feed) with trains of 1, 2 or 3 meshes from these gears \
that go on the bracket, with no more idlers than they need and none strained that need not be. A gear counts as \
moved when its place in the train (first driver, first driven, second driver ...) holds another than before, is \
filled or is left empty.

    `lathe`: a Lathe. `jobs`: threads or feeds, their texts, or names of series, 1 to 200 in all; up to 14 different
    leads where the order is open.
    `within_ppm`: how far off a job may be, 0 (exact) or more; 'good enough': as far as is good enough to choose for
    each job, a tenth of its tolerance over one diameter of engagement, at most 1000 ppm, 200 ppm where no tolerance is
    known, 1000 ppm for a feed (our conventions), and where no setup is, the nearest, if that may be cut at all; None:
    no limit, which is the same but that the nearest is taken however far off. Within that a setup that is nearer is no
    better than one that saves a move; of plans that move as few the simplest setups are taken, as find_setups(...,
    first="simplest") puts them.
    `keep_order`: the jobs in the order given.
    `mounted`: what is on the lathe now, a Setup, a Train or its text, with the idlers without which it can't stand
    there; taking that off counts then.
    `meshes`: numbers of driver–driven pairs that a train may have, 1 to 4.
    `effort`: how much work may go into it, 1 to 1000 times the usual. It is counted in steps, so the answer is the same
    on every machine.
    `progress`: show a bar (tqdm), or what shows it otherwise. Once there is a plan, Ctrl-C gives the best so far.

    A gear counts as moved where its place in the train (first driver, first driven, second driver ...), whichever
    shaft that is on, holds another gear than before, is filled or is left empty (trains.places_that_differ), idlers
    included; a fixed gear never does.
    The plan says in `.proven` whether none can move fewer, of all setups within that error: trains of so many
    meshes from the gears that are owned, equal gears on both sides too, that go on the bracket where there is one; each
    with as few idlers as will do, and not strained where the job can do without. Else `.lower_bound` says what none of
    them can beat.
    Raises NoSetupError for jobs that can't be set up, NotPossibleError for too many leads; ValueOutOfRangeError for no
    job and for arguments outside these; ThreadTextError for text that is neither thread nor feed, UnknownNameError
    where it has no figure in it and is no series.
    Source: see path_search.py.
    """
    lathe, wanted = as_lathe(lathe), wanted_listed(jobs, _MOST_LISTED, "jobs")
    keep_order = as_yes_or_no(keep_order, what="keep_order")
    shown, pairs = how_shown(progress), as_meshes(meshes, most=MOST_MESHES)
    start, effort = train_mounted(lathe, mounted), as_whole(effort, what="effort", most=_MOST_EFFORT)
    groups = _in_groups(lathe, wanted, within_ppm, keep_order)
    if len(groups) > _MOST_LEADS and not keep_order:
        raise NotPossibleError(
            f"{len(groups)} different leads are too many to find the best order of",
            remedy=f"Plan up to {_MOST_LEADS} at a time, or keep the order given.",
        )
    found = _each_with_best(Query(lathe, wanted[0], pairs, mounted=start), groups, within_ppm, shown)
    chosen, least, interrupted = _fewest_moved(found, pairs, start, keep_order, shown, effort)
    return Plan(
        jobs=tuple(job for group, _ in chosen for job in group.jobs),
        setups=tuple(_for_job(setup, job) for group, setup in chosen for job in group.jobs),
        mounted=start,
        lower_bound=least,
        within_ppm=_as_said(within_ppm),
        kept_order=keep_order,
        notes=(*([INTERRUPTED] if interrupted else []), *_notes(wanted, within_ppm, chosen)),
        meshes=pairs,
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
        return lead_to_cut(lathe, job), choose_up_to(limit_ppm(within_ppm, job), job), hand

    groups: list[list[Wanted]] = []
    for job in wanted:
        among = groups[-1:] if keep_order else groups
        alike = next((group for group in among if served_by(group[0]) == served_by(job)), None)
        if alike is None:
            groups.append([job])
        else:
            alike.append(job)
    return groups


def _each_with_best(
    query: Query, groups: Sequence[Sequence[Wanted]], within_ppm: NumberLike | None, shown: Shown
) -> list[_Group]:
    """The groups, each with the simplest setup and how far off it may be; those of a lead that comes back are alike.

    `query`: as it is asked for each.
    """
    lathe = query.lathe
    known: dict[Any, _Group] = {}
    missing: list[tuple[Wanted, str]] = []
    found = []
    for jobs in shown(groups, "Listing setups"):
        choose_within = choose_up_to(limit_ppm(within_ppm, jobs[0]), jobs[0])
        key = lead_to_cut(lathe, jobs[0]), choose_within, wanted_hand(jobs[0])
        if key not in known:
            setups, limit = _near_enough(evolve(query, wanted=jobs[0]), within_ppm)
            if setups:
                known[key] = _Group((), setups[0], limit)
            else:
                missing.append((jobs[0], setups.why))
                continue
        found.append(known[key]._replace(jobs=tuple(jobs)))
    if missing:
        raise _not_all_of_them(lathe, missing, within_ppm)
    return found


def _near_enough(query: Query, within_ppm: NumberLike | None) -> tuple[SetupList, RelativeError | None]:
    """The simplest setup of a job, and how far off it may be."""
    within = choose_up_to(limit_ppm(within_ppm, query.wanted), query.wanted)
    setups = listed(evolve(query, within=within, choose_within=within), 1)
    if setups or not (within_ppm is None or within_ppm == GOOD_ENOUGH):
        return setups, RelativeError.of_ppm(within * MILLION)
    nearest = listed(query, 1)
    if not nearest or (nearest.shortfall and within_ppm is not None):
        return SetupList(wanted=query.wanted, why=nearest.shortfall or nearest.why), None
    return nearest, nearest[0].error


def _fewest_moved(
    groups: Sequence[_Group], meshes: tuple[int, ...], start: Train | None, keep_order: bool, shown: Shown, effort: int
) -> tuple[list[tuple[_Group, Setup]], int, bool]:
    """The groups in the best order, each with its setup; what no plan can beat; and whether one was interrupted."""
    if len(groups) == 1 and start is None:  # there is nothing to move: the one that all choose
        return [(groups[0], groups[0].best)], 0, False
    lathe = groups[0].best.lathe
    near = [windows(lathe, group.jobs[0], group.limit) for group in groups]
    exchanges = Exchanges((*lathe.gear_set.pieces, *(start.gears if start else ())))
    used = most_useful(lathe.gear_set, near, exchanges, meshes, _TRAINS)
    known = dict[Setup, Candidates]()
    for group in shown(groups, "Listing trains"):
        if group.best not in known:
            most = (4 if keep_order else 2) * _TRAINS // len(groups)  # in order more can be looked at
            known[group.best] = Candidates(group.best, group.jobs[0], group.limit, used, meshes, most)
    jobs = [known[group.best] for group in groups]
    sure = _least_by_exchanges(near, exchanges, start, keep_order)
    found = _looked_for(jobs, start, sure, keep_order, shown, _STEPS * effort)
    if used is lathe.gear_set and all(job.whole for job in jobs):
        sure = max(sure, found.least)
    chosen = [(groups[each.job], jobs[each.job].setup(each.train, each.order)) for each in found.mounts]
    return chosen, min(sure, found.moved), found.interrupted


def _least_by_exchanges(
    near: Sequence[Sequence[Window]], exchanges: Exchanges, start: Train | None, keep_order: bool
) -> int:
    """What no plan can beat, whatever trains there are; from how near the leads come to one another."""
    between = [[exchanges.fewest(one, other) for other in near] for one in near]
    mounted = [Window(float(start.ratio), float(start.ratio))] if start else []
    first = [exchanges.fewest(mounted, job) if start else 0 for job in near]
    return least_between(between, first, keep_order=keep_order)


class _Found(NamedTuple):
    """A plan, the gears that it moves, and how many no plan with these trains can beat."""

    mounts: Sequence[Mount]
    moved: int
    least: int
    interrupted: bool = False


def _looked_for(
    jobs: Sequence[Candidates], start: Train | None, sure: int, keep_order: bool, shown: Shown, steps: int
) -> _Found:
    """The best plan that so many steps find."""
    ticks = iter(shown(range(steps // TOLD_EVERY), "Looking for the fewest moves"))
    found, least = None, sure
    try:
        for search, most in _searches(jobs, start, Effort(lambda: next(ticks, None)), keep_order, steps):
            for better in _better_and_better(search, found, sure, most):
                found = better
            if search.whole:
                least = max(least, search.rest.least)
            if found is not None and found.moved <= least:
                break
    except KeyboardInterrupt:
        if found is None:
            raise
        found = found._replace(least=0, interrupted=True)
    deque(ticks, maxlen=0)  # so that the bar goes away
    assert found is not None
    return found


def _searches(
    jobs: Sequence[Candidates], start: Train | None, effort: Effort, keep_order: bool, steps: int
) -> Iterator[tuple[PathSearch, int]]:
    """Where to look, and after how many steps in all to leave off: among the trains that promise most, then all.

    In the order given one sees so much at once of all of them that a first look often finds the best.
    """
    loose, every, whole = Loose.of(start) if start else None, [job.trains for job in jobs], None
    if keep_order:
        whole = PathSearch(jobs, start, Rest(every, loose, effort, keep_order=True))
        yield whole, steps // _SHARE_OF_A_LOOK
    close = close_by([*every, [loose]] if loose else every)
    few = promising(every, close, keep_order=keep_order)
    if few != every:
        yield (
            PathSearch(jobs, start, Rest(few, loose, effort, keep_order=keep_order), whole=False),
            steps // _SHARE_OF_FEW,
        )
    yield whole or PathSearch(jobs, start, Rest(every, loose, effort, keep_order=keep_order, close=close)), steps


def _better_and_better(search: PathSearch, found: _Found | None, sure: int, most: int) -> Iterator[_Found]:
    """Plans among the trains of a search, each better than `found` and the one before, until none is or steps are out.

    What no plan can beat is known for the last of them.
    """
    effort, refuted = search.rest.effort, True
    effort.left = _ENOUGH
    moved, mounts = search.a_good_one()
    if found is None or moved < found.moved:
        found = _Found(mounts, moved, 0)
    found = found._replace(least=min(found.moved, search.rest.least))
    yield found
    for moved in range(max(sure, search.rest.least), found.moved):
        effort.left = max((most - effort.taken) // 2, _FEWEST_STEPS)
        try:
            plan = search.within(moved)
        except OutOfStepsError:
            plan, refuted = None, False
        if plan is not None:
            yield _Found(plan, moved, moved if refuted else found.least)
            return
        if refuted:
            found = found._replace(least=moved + 1)
            yield found


def _not_all_of_them(
    lathe: Lathe, missing: Sequence[tuple[Wanted, str]], within_ppm: NumberLike | None
) -> NoSetupError:
    names = ", ".join(str(job) for job, _ in missing)
    said = _as_said(within_ppm)
    within = "" if said is None else " well enough" if isinstance(said, str) else f" within {writing.ppm(said, 4)}"
    larger = "" if said is None else ", or allow a larger error"
    return NoSetupError(
        f"{lathe.name} can't be set up for {names}{within}",
        remedy=f"{missing[0][1]} Leave {'it' if len(missing) == 1 else 'them'} out{larger}.",
    )


def _for_job(setup: Setup, job: Wanted) -> Setup:
    """The setup made for another job of the same lead."""
    return setup if setup.wanted == job else evolve(setup, wanted=job)


def _notes(
    wanted: Sequence[Wanted], within_ppm: NumberLike | None, chosen: Sequence[tuple[_Group, Setup]]
) -> Iterable[str]:
    for job in dict.fromkeys(wanted):
        if wanted.count(job) > 1:
            yield f"{job} is listed {wanted.count(job)} times; where it comes twice running, nothing is moved between."
    if within_ppm is None or within_ppm == GOOD_ENOUGH:
        far = (job for group, setup in chosen for job in group.jobs if not may_be_chosen(_for_job(setup, job)))
        for job in dict.fromkeys(far):
            yield f"No setup for {job} is good enough to choose, so the nearest is taken."
    if len(wanted) == 1:
        yield "One job alone has no order: this is the setup that moves the fewest gears."
    yield from warnings_by_name(_for_job(setup, job) for group, setup in chosen for job in group.jobs)
