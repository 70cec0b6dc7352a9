"""When no setup answers: how close one could get, and which one gear more would make it exact."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import gcd

from attrs import evolve

from gearcalc import writing
from gearcalc.errors import NotPossibleError
from gearcalc.search.rankings import Query, positions, ranked
from gearcalc.setups import Setup

__all__ = ["gear_that_would_do", "why_nothing"]

_FEWEST_TEETH, _MOST_TEETH = 16, 140
_USUAL_MESHES = (1, 2, 3)
_EXACTLY = Fraction(0)


def why_nothing(query: Query) -> str:
    """Why a query finds nothing, the closest that there is, and one gear that would help, in plain words.

    >>> from gearcalc.lathes import Lathe
    >>> from gearcalc.threads import Thread
    >>> lathe = Lathe.from_toml('name = "Bench lathe"\\nleadscrew.lead = "8 tpi"\\ngears.teeth = [40, 60, 63]')
    >>> print(why_nothing(Query(lathe, Thread.parse("1.5 mm"), (1,), within=Fraction(0))))
    None of these gears cut 1.5 mm exactly. The closest is 40/63, reverse over: lead ≈ 2.0159 mm (12.6 tpi), \
+343915 ppm, not good enough. One gear more would make it exact, 127 teeth: 60/127, reverse over: lead 1.5 mm \
(≈ 16.933 tpi), exact.

    `query`: one that ranks no setup at all.
    """
    unbounded = evolve(query, within=None)
    closest = _best(unbounded)
    misfit = _best(evolve(query, must_fit=False)) if query.must_fit and query.layout is not None else None
    if misfit is not None and misfit.fit is not None:
        said = [f"{misfit}, would do, but does not go on the bracket.", *misfit.fit.reasons]
    else:
        said = [_too_few(query) if closest is None else _not_so_close(query)]
    if closest is not None:
        said.append(f"The closest {'that goes on ' if misfit is not None else ''}is {closest}.")
    more = tuple(sorted({*query.meshes, *_USUAL_MESHES}))
    better = _best(evolve(unbounded, meshes=more)) if more != query.meshes else None
    if better is not None and (closest is None or _closer(better, closest)):
        meshes = "1 mesh" if better.train.meshes == 1 else f"{better.train.meshes} meshes"
        said.append(f"With {meshes} it would be {better}.")
    said.append(_with_one_more(query))
    return " ".join(said)


def gear_that_would_do(query: Query) -> tuple[int, Setup] | None:
    """One gear more, of 16 to 140 teeth, with which the lathe cuts exactly what is wanted, and how; None if none does.

    In the smallest train; among those the one that strains least and has the mildest steepest mesh, then the
    smallest gear. A second gear of a size that is there counts as one more, and so does one that is only an idler.
    """
    for meshes in query.meshes:
        alone = evolve(query, meshes=(meshes,), within=_EXACTLY, mounted=None)
        found = [
            (setup.strained, len(setup.train.gears), setup.train.steepest, teeth, setup)
            for teeth in _worth_trying(query)
            if (setup := _best(evolve(alone, borrowed=(teeth,)))) is not None
        ]
        if found:
            *_, teeth, setup = min(found, key=lambda option: option[:-1])
            return teeth, setup
    return None


def _worth_trying(query: Query) -> Iterator[int]:
    """Tooth counts that bring in whatever primes the target has and no gear of the set has."""
    targets = [position.target for position in positions(query)]
    shares = [target.as_integer_ratio() for target in targets if isinstance(target, Fraction)]
    missing = [_not_made_of(top, query.gears) * _not_made_of(bottom, query.gears) for top, bottom in shares]
    for teeth in range(_FEWEST_TEETH, _MOST_TEETH + 1):
        if teeth not in query.avoid and any(teeth % rest == 0 for rest in missing):
            yield teeth


def _not_made_of(number: int, gears: tuple[int, ...]) -> int:
    """What is left of a number without the primes that the gears have."""
    for teeth in gears:
        while (common := gcd(number, teeth)) > 1:
            number //= common
    return number


def _best(query: Query) -> Setup | None:
    try:
        return next(ranked(query), None)
    except NotPossibleError:  # so many gears that more meshes can't be listed; then nothing is said about them
        return None


def _closer(one: Setup, other: Setup) -> bool:
    return one.error is not None and other.error is not None and one.error < other.error


def _not_so_close(query: Query) -> str:
    if not query.within:
        return f"None of these gears cut {query.wanted} exactly."
    ppm = writing.decimal(query.within * 1_000_000, 6)
    return f"None of these gears cut {query.wanted} within {ppm} ppm."


def _too_few(query: Query) -> str:
    there = len(query.gears)
    if not there:
        return "There are no gears to choose from." if query.avoid else "The set has no gears."
    gears = "1 gear" if there == 1 else f"{there} gears"
    needed = 2 * min(query.meshes)
    if there < needed:
        return f"There are {gears} to choose from, and a train takes at least {needed} here.".replace("are 1", "is 1")
    if query.lathe.spindle_side.reverse:
        return f"The {gears} to choose from differ too little for a train: no tooth count may stand on both sides."
    return (
        f"The lathe has no reverse, and no train of the {gears} to choose from turns the leadscrew the way that "
        f"{query.wanted} needs, not even with an idler."
    )


def _with_one_more(query: Query) -> str:
    others = tuple(meshes for meshes in _USUAL_MESHES if meshes not in query.meshes)
    if not any(isinstance(position.target, Fraction) for position in positions(query)):
        return "π is in what is wanted, so no gears ever cut it exactly."
    found = gear_that_would_do(evolve(query, meshes=query.meshes + others))
    if found is None:
        return f"No one gear more, of {_FEWEST_TEETH} to {_MOST_TEETH} teeth, would make it exact."
    teeth, setup = found
    return f"One gear more would make it exact, {teeth} teeth: {setup}."
