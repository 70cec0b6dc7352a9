"""Why a search found nothing, how close one could get, and one gear more that would help, in plain words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction
from math import comb, gcd, inf

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import MILLION
from gearcalc.finding.products import closest
from gearcalc.finding.rankings import Query, StepsLeft, goals_of, ranked
from gearcalc.finding.setups import Setup
from gearcalc.finding.tables import tables_of, why_none_stands
from gearcalc.fits.arrangements import fewest_studs
from gearcalc.fits.geometry import layout_if_any
from gearcalc.lathes import Lathe
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.gear_words import of_first_size
from gearcalc.lathes.pieces import plain

_FEWEST_TEETH, _MOST_TEETH = 16, 140
_USUAL_MESHES = (1, 2, 3)
_EXACTLY = Fraction(0)
_SIDES_A_STEP = 4  # of a table that is made
_MOST_SIDES = 5_000
_STEPS_FOR_WHY = 40_000  # for each search of those that say why another finds nothing


def why_nothing(query: Query) -> str:
    """Why a query finds nothing, the closest that there is, and one gear that would help, in plain words.

    >>> from gearcalc.lathes import Lathe, as_lathe
    >>> from gearcalc.threads import Thread
    >>> lathe = Lathe.from_toml('name = "Bench lathe"\\nleadscrew.lead = "8 tpi"\\ngears.teeth = [40, 60, 63]')
    >>> print(why_nothing(Query(lathe, Thread.parse("1.5 mm"), (1,), within=Fraction(0))))
    No train of 1 mesh of these gears cuts 1.5 mm exactly. The closest is 40/63, reverse over: lead 12.6 tpi \
(≈ 2.0159 mm), +343\u202f915 ppm, not good enough. One gear more would make it exact, 127 teeth: 60/127, reverse over: \
lead ≈ 16.933 tpi (1.5 mm), exact.

    `query`: one that ranks no setup at all.
    """
    query = evolve(query, choose_within=None)
    unbounded = evolve(query, within=None)
    no_studs = too_few_studs(query.lathe, query.meshes) if query.must_fit else ""
    closest = None if query.within is None else _best(unbounded)
    look_at_misfits = query.must_fit and query.layout is not None and not no_studs
    misfit = _best(evolve(query, must_fit=False)) if look_at_misfits else None
    if no_studs:
        said = [no_studs]
    elif misfit is not None and misfit.fit is not None:
        not_on = (
            f"The closest is {misfit}, and it does not" if misfit.shortfall else f"{misfit}, would do, but does not"
        )
        said = [f"{not_on} go on the bracket.", *misfit.fit.reasons]
    else:
        said = [_not_so_close(query) if closest or _best(_on_no_bracket(unbounded)) else _too_few(query)]
    if closest is not None:
        said.append(f"The closest {'that goes on ' if misfit is not None else ''}is {closest}.")
    more = tuple(sorted({*query.meshes, *_USUAL_MESHES}))
    better = _best(evolve(unbounded, meshes=more)) if more != query.meshes else None
    if better is not None and (closest is None or _closer(better, closest)):
        meshes = writing.counted(better.train.meshes, "mesh", "meshes")
        said.append(f"With {meshes} it would be {better}.")
    only_the_fit = misfit is not None and misfit.is_exact
    do = "give an exact setup that goes on" if only_the_fit or no_studs else "make it exact"
    said.append(_with_one_more(query, do, better) if query.gear_set.pieces else "")  # one gear alone is no train
    return " ".join(filter(None, said))


def gear_that_would_do(query: Query) -> tuple[int, Setup] | None:
    """One gear more, of 16 to 140 teeth, with which the lathe cuts exactly what is wanted, and how; None if none does.

    In the smallest train; among those the one that strains least and has the mildest steepest mesh, then the
    smallest gear. A second gear of a size that is there counts as one more, and so does one that is only an idler.
    Where the set has several sizes of tooth, a gear of the first one.
    Raises NotPossibleError when none was found and some could not be looked at to the end.
    """
    given_up: NotPossibleError | None = None
    steps_left = StepsLeft(_STEPS_FOR_WHY)
    for meshes in query.meshes:
        alone = evolve(query, meshes=(meshes,), within=_EXACTLY, mounted=None)
        found = []
        for teeth in filter(_may_be_exact_with(alone), _worth_trying(query)):
            try:
                if query.layout is not None:
                    steps_left.spend(comb(len(query.gear_set.pieces) + 1, meshes) // _SIDES_A_STEP)
                setup = next(ranked(evolve(alone, borrowed=(teeth,)), steps_left), None)
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
    shares = [goal.target.as_integer_ratio() for goal in goals_of(query) if isinstance(goal.target, Fraction)]
    missing = [_not_made_of(top * bottom, query.gear_set.counts) for top, bottom in shares]
    for teeth in range(_FEWEST_TEETH, _MOST_TEETH + 1):
        if teeth not in query.avoid and any(teeth % rest == 0 for rest in missing):
            yield teeth


def _may_be_exact_with(query: Query) -> Callable[[int], bool]:
    """Which one gear more can make it exact with so many meshes, as far as products tell."""
    targets = [goal.target for goal in goals_of(query)]
    gears = GearSet(map(plain, query.gear_set.pieces))  # as if all were loose and alike, which allows every train
    (meshes,) = query.meshes
    others = meshes - 1
    if comb(len(gears.loose), others) > _MOST_SIDES:
        return lambda teeth: True
    tables = tables_of(gears, meshes)
    if next(closest(targets, tables, within=_EXACTLY), None) is not None:
        return lambda teeth: True  # it may be wanted as an idler
    whole = {*tables[0].over.values}
    fewer = tables_of(gears, others)[0].over.values if others else (1,)
    shares = [target.as_integer_ratio() for target in targets if isinstance(target, Fraction)]

    def may(teeth: int) -> bool:
        for top, bottom in (*shares, *(share[::-1] for share in shares)):
            for product in fewer:  # drivers teeth · product over driven `whole`, or the other way round
                if not teeth * product * bottom % top and teeth * product * bottom // top in whole:
                    return True
        return False

    return may


def _not_made_of(number: int, gears: tuple[int, ...]) -> int:
    """What is left of a number without the primes that the gears have."""
    for teeth in gears:
        while (common := gcd(number, teeth)) > 1:
            number //= common
    return number


def _best(query: Query) -> Setup | None:
    try:
        return next(ranked(query, StepsLeft(_STEPS_FOR_WHY)), None)
    except NotPossibleError:  # too many gears, or a bracket that lets nearly nothing on; then nothing is said of it
        return None


def _closer(one: Setup, other: Setup) -> bool:
    return one.error is not None and other.error is not None and one.error < other.error


def _not_so_close(query: Query) -> str:
    trains = f"No train of {writing.meshes(query.meshes)} of these gears"
    if query.within is None:
        return f"{trains} goes on the bracket."
    near = f"within {writing.ppm(query.within * MILLION, 6)}" if query.within else "exactly"
    goes_on = " goes on the bracket and" if _best(_on_no_bracket(query)) else ""
    return f"{trains}{goes_on} cuts {query.wanted} {near}."


def _on_no_bracket(query: Query) -> Query:
    return evolve(query, lathe=evolve(query.lathe, bracket=None))


def too_few_studs(lathe: Lathe, meshes: Iterable[int]) -> str:
    """That the bracket has too few studs for trains of so many meshes; nothing where that can't be said.

    >>> from gearcalc.lathes import demo_lathe
    >>> too_few_studs(demo_lathe("inch"), (4,)), too_few_studs(demo_lathe("inch"), (3, 4))
    ('A train of 4 meshes takes 3 studs, and the bracket has 2 studs.', '')
    """
    layout, fewest = layout_if_any(lathe), min(meshes)
    if layout is None or fewest_studs(fewest) <= layout.bracket.studs:
        return ""
    needed, there = writing.counted(fewest_studs(fewest), "stud"), writing.counted(layout.bracket.studs, "stud")
    return f"A train of {writing.counted(fewest, 'mesh', 'meshes')} takes {needed}, and the bracket has {there}."


def _too_few(query: Query) -> str:
    if none_stands := why_none_stands(query.lathe.gear_set, query.gear_set, query.meshes):
        return none_stands
    there = len(query.gear_set.pieces)
    if not there:
        return "There are no gears to choose from." if query.avoid else "The set has no gears."
    gears, needed = writing.counted(there, "gear"), 2 * min(query.meshes)
    if there < needed:
        return f"There are {gears} to choose from, and a train takes at least {needed} here.".replace("are 1", "is 1")
    return (
        f"The lathe has no reverse, and no train of {writing.meshes(query.meshes)} of the {gears} to choose from turns "
        f"the leadscrew the way that {query.wanted} needs, not even with an idler."
    )


def _with_one_more(query: Query, do: str, better: Setup | None) -> str:
    enough = better.train.meshes if better is not None and better.is_exact else inf  # no gear more is needed
    others = tuple(meshes for meshes in _USUAL_MESHES if meshes not in query.meshes and meshes < enough)
    if not any(isinstance(goal.target, Fraction) for goal in goals_of(query)):
        return "π is in what is wanted, so no gears ever cut it exactly."
    meshes = query.meshes + others
    try:
        found = gear_that_would_do(evolve(query, meshes=meshes))
    except NotPossibleError:  # some gear might do; it could not be looked at to the end
        return ""
    size = of_first_size(query.lathe.gear_set)
    if found is None and enough < inf:
        return ""
    if found is None:
        return (
            f"No one gear more, of {_FEWEST_TEETH} to {_MOST_TEETH} teeth{size}, would {do} in a train of "
            f"{writing.meshes(meshes)}."
        )
    teeth, setup = found
    return f"One gear more would {do}, {teeth} teeth{size}: {setup}."
