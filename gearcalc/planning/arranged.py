"""A setup with its gears in every order that serves: which driver meets which driven gear, which spare is the idler.

The lead is the same in all of them. Which gears have to be moved for the next thread is not.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import combinations_with_replacement, permutations, product
from math import comb, factorial, perm
from typing import Any

from gearcalc.finding.rankings import Query, positions
from gearcalc.finding.setups import Setup, Wanted, assemble
from gearcalc.fits import arrange, arrange_with
from gearcalc.fits.arrangements import Question
from gearcalc.fits.stances import layout_if_any
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import STEEPEST_MESH, Train, with_idler
from gearcalc.planning.move_bounds import Loose


def every_arrangement(lathe: Lathe, setup: Setup, most: int = 1000) -> Iterator[Setup]:
    """The setup itself, then the same gears in other orders and with other idlers, each as it goes on.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.search import find_setups
    >>> found = find_setups(demo_lathe("inch"), "M6", count=1)[0]
    >>> for each in every_arrangement(demo_lathe("inch"), found):
    ...     print(each.train)
    (63 · 30)/(50 · 60)
    (30 · 63)/(50 · 60)
    (30 · 63)/(60 · 50)
    (63 · 30)/(60 · 50)

    As many idlers as the setup has, from the gears that it leaves over. An order that would strain the train when the
    setup does not is left out. Where the lathe has no bracket every order counts. `most`: a setup with more orders
    than this comes alone.
    """
    yield setup
    idlers = sum(map(len, setup.train.idlers))
    if ways_to_arrange(lathe, setup) > most:
        return
    layout, lever = layout_if_any(lathe), lathe.lever(setup.lever)
    for train in orders(setup.train, lathe.gears):
        if train == setup.train or (train.steepest > STEEPEST_MESH and not setup.strained):
            continue
        fit: Any = None
        if layout is not None:
            fit = arrange_with(Question(train, layout, (), keep_order=True), idlers)
            if not fit.goes_on:
                continue
        yield assemble(lathe, train, lever, setup.wanted, fit)


def ways_to_arrange(lathe: Lathe, setup: Setup) -> int:
    """How many orders there are at most: a measure of the work."""
    train = setup.train
    idlers, spare = sum(map(len, train.idlers)), len(lathe.gears) - 2 * train.meshes
    return factorial(train.meshes) ** 2 * perm(spare, idlers) * comb(train.meshes + idlers - 1, idlers)


def orders(train: Train, owned: Iterable[int]) -> Iterator[Train]:
    """Every order of a train's drivers, of its driven gears, and of as many idlers out of the gears left over.

    >>> [str(each) for each in orders(Train((40,), (80,), (60,)), owned=(40, 50, 60, 80))]
    ['40/80, idler 50', '40/80, idler 60']
    """
    spare = sorted((Counter(owned) - Counter((*train.drivers, *train.driven))).elements())
    idlers, meshes = sum(map(len, train.idlers)), range(train.meshes)
    between = [
        tuple(tuple(teeth for teeth, at in zip(chosen, places, strict=True) if at == mesh) for mesh in meshes)
        for chosen in sorted(set(permutations(spare, idlers)))
        for places in combinations_with_replacement(meshes, idlers)
    ]
    over, under = (sorted(set(permutations(side))) for side in (train.drivers, train.driven))
    for drivers, driven, among in product(over, under, between):
        yield Train(drivers, driven, among)


def arrangements_of(lathe: Lathe, loose: Loose, wanted: Wanted, most: int = 1500) -> Iterator[Setup]:
    """Every arrangement of gears that cut what is wanted, with the fewest idlers; none where they don't go on."""
    train, layout = Train(loose.drivers, loose.driven), layout_if_any(lathe)
    place = next(each for each in positions(Query(lathe, wanted, (train.meshes,))) if each.lever == loose.lever)
    fit: Any = None
    if layout is not None:
        fit = arrange(Question(train, layout, lathe.gears, place.same_way))
        if not fit.goes_on:
            return
        train = fit.train
    elif place.idlers(train.meshes):
        if len(lathe.gears) <= len(train.gears):
            return
        train = with_idler(train, lathe.gears, None)
    yield from every_arrangement(lathe, assemble(lathe, train, loose.lever, wanted, fit), most)
