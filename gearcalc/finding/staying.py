"""What is mounted comes first where it cuts what is wanted well enough, since then no gear has to be moved.

Well enough is what the order asked for says: as near as the nearest, or good enough to choose. What is strained, or
does not go on by the lathe file, is no better for standing there.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain, islice

from gearcalc.basics.exact import MILLION, RelativeError
from gearcalc.finding.rankings import Query, goals_of, ranked
from gearcalc.finding.ranks import step_of
from gearcalc.finding.setups import Setup, assemble, fit_if_any
from gearcalc.threads.wanted import wanted_hand


def ranked_from(query: Query) -> Iterator[Setup]:
    """The same as ranked(), with what is mounted first where it cuts well enough; of several levers the nearest.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.lathes.trains import Train
    >>> from gearcalc.threads import Thread
    >>> query = Query(demo_lathe("inch"), Thread.parse("M6"), (1, 2), mounted=Train((20, 63), (80, 50)))
    >>> print(next(ranked_from(query)))
    (20 · 63)/(80 · 50), lever middle: lead ≈ 25.397 tpi (1.000125 mm), +125 ppm

    Raises as ranked() does.
    """
    ranking: Iterator[Setup] = ranked(query)
    there = sorted(_as_it_stands(query), key=_nearest if query.choose_within is None else _simplest)
    if there and query.choose_within is None:
        nearest = [] if there[0].is_exact else list(islice(ranking, 1))
        ranking = chain(nearest, ranking)
        least = min(filter(None, (setup.error for setup in (there[0], *nearest))))
        there = [setup for setup in there if setup.error == least]
    if query.one_per_lead:
        there = there[:1]
    yield from there
    given, leads = set(map(_gears, there)), {setup.lead_mm for setup in there if query.one_per_lead}
    yield from (setup for setup in ranking if _gears(setup) not in given and setup.lead_mm not in leads)


def _as_it_stands(query: Query) -> Iterator[Setup]:
    """What is mounted, by each lever with which it cuts what is wanted near enough, turns right and goes on."""
    train, limits = query.mounted, [share for share in (query.within, query.choose_within) if share is not None]
    if train is None or train.meshes not in query.meshes or not query.gear_set.allows(train):
        return
    hand, has_reverse = wanted_hand(query.wanted), query.lathe.spindle_side.reverse
    for goal in goals_of(query):
        fit = fit_if_any(query.lathe, train, goal.lever, query.wanted, keep_order=True)
        setup = assemble(query.lathe, train, goal.lever, query.wanted, fit)
        near = setup.error is not None and all(setup.error <= RelativeError.of_ppm(share * MILLION) for share in limits)
        turns_right = has_reverse or setup.natural_hand == hand
        if near and turns_right and not setup.strained and (fit is None or fit.goes_on):
            yield setup


def _nearest(setup: Setup) -> tuple[RelativeError, bool]:
    assert setup.error is not None
    return setup.error, not setup.on_plate


def _simplest(setup: Setup) -> tuple[int, bool, RelativeError]:
    assert setup.error is not None
    return step_of(setup.error), not setup.on_plate, setup.error


def _gears(setup: Setup) -> tuple[object, ...]:
    """What a list names once: the same drivers and driven gears with the same lever."""
    return tuple(sorted(setup.train.drivers)), tuple(sorted(setup.train.driven)), setup.lever
