"""Every thread that one cares about on one lathe, chosen as a whole: the rows of a chart.

Each thread gets a train that is good enough for it. Often many do equally well; then those are taken that leave gears
where they stand from one row to the next, so that moving the lever, or one gear, serves for the next thread.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Any

from attrs import evolve, frozen

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_meshes
from gearcalc.basics.exact import MILLION, NumberLike, RelativeError
from gearcalc.basics.progress import Shown, how_shown
from gearcalc.finding.choosing import as_simple_as_the_first, choose_up_to
from gearcalc.finding.rankings import NothingGoesOnError, Query, ranked
from gearcalc.finding.search import MOST_MESHES, find_setups, listed
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.orders import gears_moved
from gearcalc.planning.candidates import every_arrangement, ways_to_arrange
from gearcalc.planning.path_search import chosen_in_order
from gearcalc.planning.plans import PLANNED_MESHES
from gearcalc.threads import Thread, ThreadLike
from gearcalc.threads.deviations import GOOD_ENOUGH, Verdict, judge, limit_ppm
from gearcalc.threads.series import standard_threads, threads_listed

MOST_ROWS = 300
_EQUALS = 24  # setups of a thread that are looked at
_ONE_GEAR_MORE = 1
_MOST_ORDERS = 100  # of one setup's gears; with more of them it is taken as the search found it
_MOST_TRIED = 500  # orders of a thread's setups together: the last of many equals rarely save a move


@frozen
class ChartRow:
    """A thread, how to set it up, and whether that is good enough. Made by chart_rows().

    `setup`: None when no train does; one with `.fit.goes_on` False when trains would do, but none goes on.
    `verdict`: of the pitch error, None without a setup. `moved`: gears to move from
    the row above (or the last one above that serves), idlers among them, by orders.HOW_MOVED_COUNTS; None in the first.
    `why`: why there is no setup that serves. `limit_ppm`: how far off it may be, where a number was asked for.
    """

    thread: Thread
    setup: Setup | None
    verdict: Verdict | None
    moved: int | None
    why: str = ""
    limit_ppm: Fraction | None = None

    @property
    def fits(self) -> bool | None:
        """Whether it goes on the bracket; None where that is not checked, or nothing is there to go on."""
        return None if self.setup is None or self.setup.fit is None else bool(self.setup.fit.goes_on)

    @property
    def ok(self) -> bool | None:
        """Whether it is good enough to cut: False without a setup that goes on, and where it is off by more than the
        number that was asked for; None where no tolerance is known.

        Where none is known, what is off by more than deviations.UNJUDGED_PPM is False all the same.
        """
        if self.setup is None or self.verdict is None or self.fits is False or self.verdict.fails:
            return False
        if _beyond(self.setup, self.limit_ppm):
            return False
        return True if self.setup.is_exact else self.verdict.ok

    @property
    def in_words(self) -> str:
        """What came of it, in a few words."""
        if self.setup is None:
            return "can't be cut: no train"
        if self.fits is False:
            return "can't be cut: no train goes on"
        if self.setup.is_exact:
            return "exact"
        return {True: "good enough", False: "not good enough", None: "not judged"}[self.ok]


def chart_rows(
    lathe: Lathe,
    threads: ThreadLike | Iterable[ThreadLike],
    within_ppm: NumberLike | None = GOOD_ENOUGH,
    meshes: int | Iterable[int] = PLANNED_MESHES,
) -> list[ChartRow]:
    """The rows of a chart, in the order in which the threads are listed.

    >>> from gearcalc.lathes import demo_lathe
    >>> for row in chart_rows(demo_lathe("inch"), ["10 tpi", "13 tpi", "M8"]):
    ...     print(row.thread, row.setup.train, row.setup.lever, row.moved, row.in_words, sep=" | ")
    10 tpi | 80/50, idler 20 | low | None | exact
    13 tpi | 80/65, idler 20 | low | 1 | exact
    M8x1.25 | 63/80, idler 20 | low | 2 | good enough

    `threads`: Threads, texts, or names of series (see threads/series.py), 1 to 300 in all.
    Each row has the simplest setup that goes on and is off by no more than it may be, else the one that is off by
    least. Of those as simple (strained or not, as many meshes, in the same step: exact, up to 200 ppm, the rest; at
    most one gear more than it takes) those are chosen with which all rows together move the fewest gears, then the
    handier. One thread alone gets what find_setups(..., first="simplest") puts first.
    `within_ppm`: how far off a setup may be, 0 (exact) or more; 'good enough': as far as is good enough to choose for
    each thread, a tenth of its tolerance over one diameter of engagement, at most 1000 ppm, and 200 ppm where no
    tolerance is known (our conventions); a number is kept: a row in which none is within it has the nearest, and is
    not good enough; 0: the nearest in each row, and only what is exact is good enough; None: no limit, as 'good
    enough', with which a row that has nothing near enough takes the nearest too. 24 setups are looked at.
    `meshes`: numbers of driver–driven pairs, 1 to 4.
    Raises ValueOutOfRangeError for no thread, too many, or no lathe; ThreadTextError or UnknownNameError for text that
    is neither a thread nor a series.
    """
    lathe, wanted = as_lathe(lathe), threads_listed(threads, MOST_ROWS)
    pairs = as_meshes(meshes, most=MOST_MESHES)
    known: dict[Any, list[Setup]] = {}
    equals = []
    for thread in wanted:
        choose_within = choose_up_to(limit_ppm(within_ppm, thread), thread)
        cut_alike = thread.lead, thread.hand, choose_within
        if cut_alike not in known:
            known[cut_alike] = _equals(lathe, thread, choose_within, pairs)
        equals.append(known[cut_alike])
    served = [place for place, setups in enumerate(equals) if setups and _goes_on(setups[0])]
    chosen: dict[int, Setup] = {}
    if served:
        trains = [[setup.train for setup in equals[place]] for place in served]
        choice = chosen_in_order(trains, last_stays=lathe.gear_set.last_stays)
        chosen = {place: equals[place][n] for place, n in zip(served, choice, strict=True)}
    its_own = isinstance(within_ppm, str) and within_ppm == GOOD_ENOUGH
    number = None if its_own else limit_ppm(within_ppm, wanted[0])
    return _rows(lathe, wanted, equals, chosen, pairs, number)


def threads_cut(
    lathe: Lathe,
    within_ppm: NumberLike | None = GOOD_ENOUGH,
    meshes: int | Iterable[int] = PLANNED_MESHES,
    *,
    progress: bool | Shown = False,
) -> list[ChartRow]:
    """Look up every thread of the tables: which of them a lathe cuts, and how, each by itself.

    >>> from gearcalc.lathes import demo_lathe
    >>> rows = [row for row in threads_cut(demo_lathe("inch")) if row.setup is not None]
    >>> len(rows), sum(row.setup.is_exact for row in rows)
    (476, 206)

    Where a thread can be cut exactly, the simplest setup that does; else the one that find_setups() puts first with
    first="simplest". A row without a setup is of a thread that none cuts near enough; where the search gave up before
    it could tell, `why` says so. Rows stand in the order of the tables; nothing counts as moved from one to the next.
    `within_ppm`, `meshes`, and errors: as for chart_rows(). `progress`: show a bar (tqdm), or a function that shows it.
    """
    lathe, known = as_lathe(lathe), dict[Any, tuple[Setup | None, str]]()
    pairs = as_meshes(meshes, most=MOST_MESHES)
    rows = []
    for thread in how_shown(progress)(standard_threads(), "Looking at each thread"):
        limit = limit_ppm(within_ppm, thread)
        for within in (Fraction(0), limit):
            choose_within = choose_up_to(within, thread)
            cut_alike = thread.lead, thread.hand, within, choose_within
            if cut_alike not in known:
                known[cut_alike] = _first(Query(lathe, thread, pairs, _share(within), choose_within=choose_within))
            setup, why = known[cut_alike]
            if setup is not None:
                break
        setup = None if setup is None else evolve(setup, wanted=thread)
        rows.append(ChartRow(thread, setup, None if setup is None else _verdict(thread, setup), None, why))
    return rows


def _share(ppm: Fraction | None) -> Fraction | None:
    return None if ppm is None else ppm / MILLION


def _first(query: Query) -> tuple[Setup | None, str]:
    """The setup that comes first, None where there is none, and why the search gave up, if it did."""
    try:
        return next(ranked(query), None), ""
    except NothingGoesOnError as gave_up:
        return None, str(gave_up)


def _rows(
    lathe: Lathe,
    wanted: Sequence[Thread],
    equals: Sequence[Sequence[Setup]],
    chosen: dict[int, Setup],
    meshes: tuple[int, ...],
    limit_ppm: Fraction | None,
) -> list[ChartRow]:
    rows: list[ChartRow] = []
    above: Setup | None = None
    for place, thread in enumerate(wanted):
        setup = chosen.get(place)
        if setup is None:
            rows.append(_not_served(lathe, thread, equals[place], meshes))
            continue
        setup = setup if setup.wanted == thread else evolve(setup, wanted=thread)
        moved = None if above is None else gears_moved(lathe.gear_set, above.train, setup.train)
        why = _beyond(setup, limit_ppm)
        rows.append(ChartRow(thread, setup, _verdict(thread, setup), moved, why, limit_ppm))
        above = setup
    return rows


def _not_served(lathe: Lathe, thread: Thread, misfits: Sequence[Setup], meshes: tuple[int, ...]) -> ChartRow:
    if not misfits:
        return ChartRow(thread, None, None, None, find_setups(lathe, thread, meshes).why)
    setup = misfits[0]
    why = " ".join(setup.fit.reasons) if setup.fit is not None else ""
    return ChartRow(thread, setup, _verdict(thread, setup), None, why)


def _verdict(thread: Thread, setup: Setup) -> Verdict:
    assert setup.error is not None
    return judge(thread, setup.error, units=setup.lathe.units)


def _beyond(setup: Setup, limit_ppm: Fraction | None) -> str:
    """That it is off by more than the number that was asked for, in a sentence; nothing where it is not."""
    if limit_ppm is None or setup.error is None or not setup.error > RelativeError.of_ppm(limit_ppm):
        return ""
    off = writing.error(setup.error, beside=float(limit_ppm))
    return f"{off} is more than the {writing.ppm(limit_ppm, 4)} asked for."


def _goes_on(setup: Setup) -> bool:
    return setup.fit is None or bool(setup.fit.goes_on)


def _equals(lathe: Lathe, thread: Thread, within: Fraction, meshes: tuple[int, ...]) -> list[Setup]:
    """Arrangements as simple as the simplest within a limit, a share, or as near as the nearest; where nothing goes
    on, the best that does not."""
    found = listed(Query(lathe, thread, meshes, choose_within=within), _EQUALS)
    if not found:
        return find_setups(lathe, thread, meshes, count=1, must_fit=False)
    alike = as_simple_as_the_first(found, within)
    most = min(len(setup.train.gears) for setup in alike) + _ONE_GEAR_MORE
    return list(_arranged(lathe, [setup for setup in alike if len(setup.train.gears) <= most]))


def _arranged(lathe: Lathe, setups: Iterable[Setup]) -> Iterator[Setup]:
    left = _MOST_TRIED
    for setup in setups:
        most, ways = min(left, _MOST_ORDERS), ways_to_arrange(lathe, setup)
        yield from every_arrangement(lathe, setup, most)
        left -= ways if ways <= most else 0
