"""When no setup answers: how close one could get, and which one gear more would make it exact."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import gcd

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError
from gearcalc.finding.rankings import Query, positions, ranked
from gearcalc.finding.setups import Setup

_FEWEST_TEETH, _MOST_TEETH = 16, 140
_USUAL_MESHES = (1, 2, 3)
_EXACTLY = Fraction(0)


def why_nothing(query: Query) -> str:
    """Why a query finds nothing, the closest that there is, and one gear that would help, in plain words.

    >>> from gearcalc.lathes import Lathe
    >>> from gearcalc.threads import Thread
    >>> lathe = Lathe.from_toml('name = "Bench lathe"\\nleadscrew.lead = "8 tpi"\\ngears.teeth = [40, 60, 63]')
    >>> print(why_nothing(Query(lathe, Thread.parse("1.5 mm"), (1,), within=Fraction(0))))
    No train of 1 mesh of these gears cuts 1.5 mm exactly. The closest is 40/63, reverse over: lead ≈ 2.0159 mm \
(12.6 tpi), +343915 ppm, not good enough. One gear more would make it exact, 127 teeth: 60/127, reverse over: \
lead 1.5 mm (≈ 16.933 tpi), exact.

    `query`: one that ranks no setup at all.
    """
    unbounded = evolve(query, within=None)
    closest = _best(unbounded)
    misfit = _best(evolve(query, must_fit=False)) if query.must_fit and query.layout is not None else None
    if misfit is not None and misfit.fit is not None:
        said = [f"{misfit}, would do, but does not go on the bracket.", *misfit.fit.reasons]
    else:
        any_at_all = closest or _best(evolve(unbounded, must_fit=False))
        said = [_too_few(query) if any_at_all is None else _not_so_close(query)]
    if closest is not None:
        said.append(f"The closest {'that goes on ' if misfit is not None else ''}is {closest}.")
    more = tuple(sorted({*query.meshes, *_USUAL_MESHES}))
    better = _best(evolve(unbounded, meshes=more)) if more != query.meshes else None
    if better is not None and (closest is None or _closer(better, closest)):
        meshes = "1 mesh" if better.train.meshes == 1 else f"{better.train.meshes} meshes"
        said.append(f"With {meshes} it would be {better}.")
    said.append(_with_one_more(query))
    return " ".join(filter(None, said))


def gear_that_would_do(query: Query) -> tuple[int, Setup] | None:
    """One gear more, of 16 to 140 teeth, with which the lathe cuts exactly what is wanted, and how; None if none does.

    In the smallest train; among those the one that strains least and has the mildest steepest mesh, then the
    smallest gear. A second gear of a size that is there counts as one more, and so does one that is only an idler.
    Raises NotPossibleError when none was found and some could not be looked at to the end.
    """
    given_up: NotPossibleError | None = None
    for meshes in query.meshes:
        alone = evolve(query, meshes=(meshes,), within=_EXACTLY, mounted=None)
        found = []
        for teeth in _worth_trying(query):
            try:
                setup = next(ranked(evolve(alone, borrowed=(teeth,))), None)
            except NotPossibleError as gave_up:
                given_up, setup = gave_up, None
            if setup is not None:
                found.append((setup.strained, len(setup.train.gears), setup.train.steepest, teeth, setup))
        if found:
            *_, teeth, setup = min(found, key=lambda option: option[:-1])
            return teeth, setup
    if given_up is not None:
        raise given_up
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
    except NotPossibleError:  # too many gears, or a bracket that lets nearly nothing on; then nothing is said of it
        return None


def _closer(one: Setup, other: Setup) -> bool:
    return one.error is not None and other.error is not None and one.error < other.error


def _not_so_close(query: Query) -> str:
    near = f"within {writing.decimal(query.within * 1_000_000, 6)} ppm" if query.within else "exactly"
    return f"No train of {writing.meshes(query.meshes)} of these gears cuts {query.wanted} {near}."


def _too_few(query: Query) -> str:
    there = len(query.gears)
    if not there:
        return "There are no gears to choose from." if query.avoid else "The set has no gears."
    gears = "1 gear" if there == 1 else f"{there} gears"
    needed = 2 * min(query.meshes)
    if there < needed:
        return f"There are {gears} to choose from, and a train takes at least {needed} here.".replace("are 1", "is 1")
    return (
        f"The lathe has no reverse, and no train of {writing.meshes(query.meshes)} of the {gears} to choose from turns "
        f"the leadscrew the way that {query.wanted} needs, not even with an idler."
    )


def _with_one_more(query: Query) -> str:
    others = tuple(meshes for meshes in _USUAL_MESHES if meshes not in query.meshes)
    if not any(isinstance(position.target, Fraction) for position in positions(query)):
        return "π is in what is wanted, so no gears ever cut it exactly."
    meshes = query.meshes + others
    try:
        found = gear_that_would_do(evolve(query, meshes=meshes))
    except NotPossibleError:  # some gear might do; it could not be looked at to the end
        return ""
    if found is None:
        return (
            f"No one gear more, of {_FEWEST_TEETH} to {_MOST_TEETH} teeth, would make it exact in a train of "
            f"{writing.meshes(meshes)}."
        )
    teeth, setup = found
    return f"One gear more would make it exact, {teeth} teeth: {setup}."
