"""Which gears cut what is wanted? The trains and lever positions of a lathe, best first."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from itertools import islice

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import as_fraction, as_teeth
from gearcalc.basics.given import as_index, as_yes_or_no, is_several
from gearcalc.finding.empty_answers import why_nothing
from gearcalc.finding.rankings import NothingGoesOnError, Query, ranked
from gearcalc.finding.setup_lists import SetupList
from gearcalc.finding.setups import Setup, Wanted, as_wanted, train_mounted
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import Train

_MOST_MESHES = 4
_MOST_SETUPS = 10_000
_MOST_NAMED = 1000


def find_setups(
    lathe: Lathe,
    wanted: Wanted | str,
    meshes: int | Iterable[int] = (1, 2, 3),
    count: int = 20,
    within_ppm: float | Fraction | None = None,
    must_fit: bool = True,
    mounted: Setup | Train | str | None = None,
    avoid: int | Iterable[int] = (),
    one_per_ratio: bool = False,
) -> SetupList:
    """The setups that cut what is wanted, or come closest to it, best first.

    >>> from gearcalc.lathes import demo_lathe
    >>> for found in find_setups(demo_lathe("inch"), "1.75 mm", count=2, one_per_ratio=True):
    ...     print(found)
    (55 · 60 · 38)/(65 · 50 · 35), lever low, reverse over: lead ≈ 1.7501 mm (≈ 14.514 tpi), +50.2 ppm
    (70 · 63)/(50 · 80), lever low: lead ≈ 1.7502 mm (≈ 14.512 tpi), +125 ppm
    >>> print(find_setups(demo_lathe("inch"), "1.75 mm", within_ppm=10).why)
    No train of 1, 2 or 3 meshes of these gears cuts 1.75 mm within 10 ppm. The closest is \
(55 · 60 · 38)/(65 · 50 · 35), lever low, reverse over: lead ≈ 1.7501 mm (≈ 14.514 tpi), +50.2 ppm. One gear more \
would make it exact, 127 teeth: 35/127, idler 20, lever high: lead 1.75 mm (≈ 14.514 tpi), exact.

    `lathe`: a Lathe. `wanted`: a Thread, its text, or a Feed. `meshes`: numbers of driver–driven pairs, 1 to 4.
    `count`: at most so many setups, 1 to 10000. `within_ppm`: drop what is further off, 0 (only exact) or more.
    `must_fit`: leave out what does not go on the bracket; without it those come last among equals. No effect on a
    lathe whose file describes no bracket or no size of gear: there the fit is not checked, and `.fit` is None.
    `mounted`: what is on the lathe now, a Setup, a Train or its text; among equals the setups that move fewest gears
    come first, their meshes arranged so. `avoid`: tooth counts not to use, not even as idlers.
    `one_per_ratio`: of all setups that cut equal leads (train ratio × lever ratio the same) only the best.

    A setup is a set of drivers, a set of driven and a lever: the same gears with the meshes in another order are not
    listed again. A tooth count stands on both sides only where it is owned twice and the equal pair is needed: for 1:1,
    to reach where the shorter train does not go on, to move fewer gears, or for meshes that the shorter train has not.
    The order is that of rankings.py: |exact error| first, then what helps at the machine, so that the list is the same
    each time. What goes on comes as it goes on, idlers added from the gears left over. Where the lathe has no reverse,
    a train that would cut the wrong hand gets an idler too, or is no answer.
    The list says in `.why` why it is empty, how close one could get, and which one gear more would make it exact; or
    that the search gave up, because thousands of trains in a row did not go on.
    Raises ValueOutOfRangeError for arguments outside these, ThreadTextError for text that is no thread,
    NotPossibleError for a feed that the lathe has not, or more than half a million ways to choose one side.
    """
    query = Query(
        lathe=_a_lathe(lathe),
        wanted=as_wanted(wanted),
        meshes=tuple(sorted({_whole(m, "meshes", _MOST_MESHES) for m in _listed(meshes, "meshes")})),
        within=_share(within_ppm),
        mounted=train_mounted(mounted),
        avoid=frozenset(as_teeth(teeth, what="avoid", fewest=1) for teeth in _listed(avoid, "avoid")),
        one_per_lead=as_yes_or_no(one_per_ratio, what="one_per_ratio"),
        must_fit=as_yes_or_no(must_fit, what="must_fit"),
    )
    most = _whole(count, "count", _MOST_SETUPS)
    if not query.meshes:
        raise ValueOutOfRangeError("meshes must name at least one number of meshes", value=repr(meshes))
    found, why = [], ""
    try:
        for setup in islice(ranked(query), most):
            found.append(setup)
    except NothingGoesOnError as gave_up:
        why = str(gave_up)
    return SetupList(found, wanted=query.wanted, why=why or ("" if found else why_nothing(query)))


def _a_lathe(given: object) -> Lathe:
    if not isinstance(given, Lathe):
        raise ValueOutOfRangeError(
            "lathe must be a Lathe", value=given, remedy="Load one with Lathe.load(path), or take demo_lathe('inch')."
        )
    return given


def _share(within_ppm: object) -> Fraction | None:
    if within_ppm is None:
        return None
    within = as_fraction(within_ppm, what="within_ppm")
    if within < 0:
        raise ValueOutOfRangeError("within_ppm must be zero or more", value=within_ppm)
    return within / 1_000_000


def _listed(given: object, what: str) -> list[object]:
    if is_several(given):
        return list(islice(given, _MOST_NAMED))
    return [given]


def _whole(n: object, what: str, most: int) -> int:
    number = as_index(n)
    if number is None or not 1 <= number <= most:
        raise ValueOutOfRangeError(f"{what} must be a whole number from 1 to {most}", value="None" if n is None else n)
    return number
