"""Every thread that one cares about on one lathe, chosen as a whole: the rows of a chart.

Each thread gets the train that comes nearest to it. Often many do equally well; then those are taken that leave gears
where they stand from one row to the next, so that moving the lever, or one gear, serves for the next thread.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Any

from attrs import evolve, frozen

from gearcalc.basics.arguments import as_number
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.trains import places_that_differ
from gearcalc.planning.candidates import every_arrangement, ways_to_arrange
from gearcalc.planning.least_moves import in_this_order
from gearcalc.threads import Thread, ThreadLike
from gearcalc.threads.deviations import Verdict, judge
from gearcalc.threads.series import threads_listed

MOST_ROWS = 300
_EQUALS = 24  # setups of a thread that are looked at
_ONE_GEAR_MORE = 1
_MOST_ORDERS = 100  # of one setup's gears; with more of them it is taken as the search found it
_MOST_TRIED = 500  # orders of a thread's setups together: the last of many equals rarely save a move
_A_LITTLE_MORE = 1 + 1e-9  # a float of a miss of π, rounded up


@frozen
class ChartRow:
    """A thread, how to set it up, and whether that is good enough. Made by chart_rows().

    `setup`: None when no train does; one with `.fit.goes_on` False when trains would do, but none goes on.
    `verdict`: of the pitch error, None without a setup. `moved`: places that hold another gear than in the row above
    (or the last one above that serves), idlers among them; None in the first. `why`: why there is no setup that serves.
    """

    thread: Thread
    setup: Setup | None
    verdict: Verdict | None
    moved: int | None
    why: str = ""

    @property
    def fits(self) -> bool | None:
        """Whether it goes on the bracket; None where that is not checked, or nothing is there to go on."""
        return None if self.setup is None or self.setup.fit is None else bool(self.setup.fit.goes_on)

    @property
    def ok(self) -> bool | None:
        """Whether it is good enough to cut: False without a setup that goes on; None where no tolerance is known.

        Where none is known, what is off by more than deviations.UNJUDGED_PPM is False all the same.
        """
        if self.setup is None or self.fits is False or (self.verdict is not None and self.verdict.fails):
            return False
        return True if self.setup.is_exact or self.verdict is None else self.verdict.ok

    @property
    def in_words(self) -> str:
        """What came of it, in a few words."""
        if self.setup is None:
            return "can't be cut: no train"
        if self.fits is False:
            return "can't be cut: no train goes on"
        if self.setup.is_exact:
            return "exact"
        return {True: "good enough", False: "can't be cut near enough", None: "not judged"}[self.ok]


def chart_rows(
    lathe: Lathe, threads: ThreadLike | Iterable[ThreadLike], within_ppm: float | Fraction | None = None
) -> list[ChartRow]:
    """The rows of a chart, in the order in which the threads are listed.

    >>> from gearcalc.lathes import demo_lathe
    >>> for row in chart_rows(demo_lathe("inch"), ["10 tpi", "13 tpi", "M8"]):
    ...     print(row.thread, row.setup.train, row.setup.lever, row.moved, row.in_words, sep=" | ")
    10 tpi | (35 · 40)/(25 · 70) | middle | None | exact
    13 tpi | (35 · 40)/(65 · 70) | high | 1 | exact
    M8x1.25 | (38 · 60 · 55)/(65 · 70 · 35) | low | 4 | good enough

    `threads`: Threads, texts, or names of series (see threads/series.py), 1 to 300 in all.
    Each row has the setup that is off by least and goes on; among equals (the same exact error, strained no more, at
    most one gear more than it takes) those are chosen with which all rows together move the fewest gears.
    `within_ppm`: setups that are off by no more than this count as equals too, 0 or more.
    Raises ValueOutOfRangeError for no thread, too many, or no lathe; ThreadTextError or UnknownNameError for text that
    is neither a thread nor a series.
    """
    lathe, wanted = as_lathe(lathe), threads_listed(threads, MOST_ROWS)
    within = None if within_ppm is None else as_number(within_ppm, what="within_ppm")
    known: dict[Any, list[Setup]] = {}
    for thread in wanted:
        if _cut_alike(thread) not in known:
            known[_cut_alike(thread)] = _equals(lathe, thread, within)
    equals = [known[_cut_alike(thread)] for thread in wanted]
    served = [place for place, setups in enumerate(equals) if setups and _goes_on(setups[0])]
    chosen: dict[int, Setup] = {}
    if served:
        choice = in_this_order([[setup.train for setup in equals[place]] for place in served])
        chosen = {place: equals[place][n] for place, n in zip(served, choice.trains, strict=True)}
    return _rows(lathe, wanted, equals, chosen)


def _cut_alike(thread: Thread) -> tuple[Any, str]:
    """What threads have in common that the same setups cut."""
    return thread.lead, thread.hand


def _rows(
    lathe: Lathe, wanted: Sequence[Thread], equals: Sequence[Sequence[Setup]], chosen: dict[int, Setup]
) -> list[ChartRow]:
    rows: list[ChartRow] = []
    above: Setup | None = None
    for place, thread in enumerate(wanted):
        setup = chosen.get(place)
        if setup is None:
            rows.append(_not_served(lathe, thread, equals[place]))
            continue
        setup = setup if setup.wanted == thread else evolve(setup, wanted=thread)
        moved = None if above is None else places_that_differ(above.train, setup.train)
        rows.append(ChartRow(thread, setup, _verdict(thread, setup), moved))
        above = setup
    return rows


def _not_served(lathe: Lathe, thread: Thread, misfits: Sequence[Setup]) -> ChartRow:
    if not misfits:
        return ChartRow(thread, None, None, None, find_setups(lathe, thread, count=1, must_fit=False).why)
    setup = misfits[0]
    why = " ".join(setup.fit.reasons) if setup.fit is not None else ""
    return ChartRow(thread, setup, _verdict(thread, setup), None, why)


def _verdict(thread: Thread, setup: Setup) -> Verdict:
    assert setup.error is not None
    return judge(thread, setup.error)


def _goes_on(setup: Setup) -> bool:
    return setup.fit is None or bool(setup.fit.goes_on)


def _equals(lathe: Lathe, thread: Thread, within: Fraction | None) -> list[Setup]:
    """Arrangements that are as good as the best; where nothing goes on, the best that does not."""
    best = next(iter(find_setups(lathe, thread, count=1)), None)
    if best is None:
        return find_setups(lathe, thread, count=1, must_fit=False)
    assert best.error is not None
    as_near = best.error.exact
    bound = abs(best.error.ppm) * _A_LITTLE_MORE if as_near is None else abs(as_near) * 1_000_000
    bound = max(bound, within or 0)
    found = find_setups(lathe, thread, count=_EQUALS, within_ppm=bound)
    alike = [
        setup
        for setup in found
        if setup.strained == best.strained and (within is not None or setup.error == best.error)
    ]
    most = min(len(setup.train.gears) for setup in alike) + _ONE_GEAR_MORE
    return list(_arranged(lathe, [setup for setup in alike if len(setup.train.gears) <= most]))


def _arranged(lathe: Lathe, setups: Iterable[Setup]) -> Iterator[Setup]:
    left = _MOST_TRIED
    for setup in setups:
        most, ways = min(left, _MOST_ORDERS), ways_to_arrange(lathe, setup)
        yield from every_arrangement(lathe, setup, most)
        left -= ways if ways <= most else 0
