"""The best way to put a train on the bracket with so many idlers, of all the ways there are.

Best: no higher ratio in one mesh than setups.py allows, if that can be had; then fewest gears moved, where something
is mounted; then fewest planes; then the largest smallest gap. Gears and their order alone set a limit to how good a
chain can get, so the most promising are placed first, and the rest are left alone once none of them can do better.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple, TypeAlias

from attrs import frozen

from gearcalc.fits.arrangements import Chain, Question, Ways, chain_sums, is_steep
from gearcalc.fits.gaps import Loaded, neighbours_clear, snugness
from gearcalc.fits.stances import ROUNDING, Layout, Stance, stances
from gearcalc.lathes.trains import STEEPEST_MESH, Train, places_that_differ

Rank: TypeAlias = tuple[bool, int, int, float]
"""Too steep, gears moved, highest plane, the smallest gap with its sign turned round: the less the better."""


class Promise(NamedTuple):
    """A chain, and the rank that it could at best come to."""

    rank: Rank
    chain: Chain
    sums: tuple[int, ...]


class Placed(NamedTuple):
    """A chain that goes on, and where."""

    rank: Rank
    chain: Chain
    planes: tuple[int, ...]
    stance: Stance


@frozen
class Arrangement:
    """A train as it stands on the bracket; `stance`: None when its axes can't be placed."""

    train: Train
    stance: Stance | None
    planes: tuple[int, ...]


def best_placing(question: Question, idlers: int) -> Arrangement | None:
    """The best arrangement with just so many idlers; None when none goes on.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.fits.stances import layout_of
    >>> lathe = demo_lathe("inch")
    >>> print(best_placing(Question(Train((40, 30), (80, 60)), layout_of(lathe), lathe.gears), 0).train)
    (30 · 40)/(60 · 80)
    """
    best: Placed | None = None
    for likely in _most_promising_first(question, idlers):
        if best is not None and likely.rank > best.rank:
            break  # nothing from here on can be better
        best = min((*_placed(question.layout, likely), *([best] if best else [])), default=None)
    return Arrangement(train_of(best.chain), best.stance, best.planes) if best is not None else None


def _most_promising_first(question: Question, idlers: int) -> list[Promise]:
    """The chains with so many idlers that clear their neighbours, by the best that each could still come to."""
    layout, mounted, promises = question.layout, question.mounted, []
    ways = Ways(question)
    if ways.reach(idlers) < layout.shafts_apart - ROUNDING:
        return []
    for chain in ways.chains(idlers):
        sums = chain_sums(chain)
        if neighbours_clear(layout, chain, sums):
            moved = places_that_differ(train_of(chain), mounted) if mounted else 0
            planes = min(len(chain) - 1, 1)
            rank = (is_steep(chain, STEEPEST_MESH), moved, planes, -snugness(layout, chain, sums))
            promises.append(Promise(rank, chain, sums))
    return sorted(promises)


def _placed(layout: Layout, likely: Promise) -> Iterator[Placed]:
    """The ways in which a chain goes on."""
    places = stances(layout, likely.sums)
    if not places:
        return
    steep, moved, _, snug = likely.rank
    loaded = Loaded(layout, likely.chain, likely.sums, -snug)
    for stance in places:
        suits = loaded.comfort(stance)
        if suits is not None:
            planes, comfort = suits
            yield Placed((steep, moved, max(planes), -comfort), likely.chain, planes, stance)


def train_of(chain: Chain) -> Train:
    """The train that a chain is."""
    return Train(
        tuple(mesh[0] for mesh in chain), tuple(mesh[-1] for mesh in chain), tuple(mesh[1:-1] for mesh in chain)
    )
