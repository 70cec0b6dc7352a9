"""Which gears of the lathe are meant where a person gives a train by its tooth counts, or why it can't stand there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import islice, permutations
from typing import TypeAlias

from gearcalc.basics import writing
from gearcalc.basics.errors import GearcalcError, NotPossibleError
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.pieces import Piece, how_unusual, mate_of, plain, some_set_apart
from gearcalc.lathes.standing import Standing
from gearcalc.lathes.trains import ORDINALS, Gears, Train

_Place: TypeAlias = tuple[int, str, int]
_MOST_READINGS = 2000
_MOST_TURNED_ROUND = 4  # meshes: more have too many orders to read


def as_pieces(gear_set: GearSet, train: Train) -> Train:
    """The train with each plain count read as a gear of the set: the loose one of the first size where that can stand.

    >>> from gearcalc.lathes.sizes import Fixed
    >>> gear_set = GearSet([20, 30, 60], clusters=[(40, 50)])
    >>> print(as_pieces(gear_set, Train((20, 50), (40, 60))))
    (20 · 50)/(40 · 60), first driven and second driver in one piece
    >>> as_pieces(GearSet([20, 30, 60], fixed=Fixed(first_driver=20)), Train((30,), (60,)))
    Traceback (most recent call last):
    gearcalc.basics.errors.NotPossibleError: the first driver is fixed: 20 teeth, not 30. Give 20 in that place.

    Raises GearNotOwnedError, or NotPossibleError that says why they can't stand so.
    """
    if gear_set.anything_goes:
        gear_set.check(train.gears)
        return train
    if gear_set.allows(train) and not some_set_apart(train.gears):
        return train
    found = _likeliest(gear_set, train)
    if found is None:
        raise next(refusals(gear_set, train))
    return found


def if_owned(gear_set: GearSet, train: Train) -> Train:
    """The same for what is mounted, where gears may be lent: as it is given, if the lathe hasn't all of them."""
    return train if next(gear_set.refusals(train.gears), None) is not None else as_pieces(gear_set, train)


def as_if_had(gear_set: GearSet, train: Train, keep_order: bool = False) -> tuple[Train, Gears]:
    """The same where a gear need not be owned: the train as read, and what is taken in it as had, ascending.

    >>> train, had = as_if_had(GearSet([20, 30, 60], clusters=[(40, 50)]), Train((20, 50), (40, 70)))
    >>> print(train, had)
    (20 · 50)/(40 · 70), first driven and second driver in one piece (70,)

    As few as will do are taken so, as loose gears of the first size. Other orders are read too where the one given
    can't stand, unless `keep_order`. A train that sets its gears apart is left as it is.
    """
    if some_set_apart(train.gears) or not (missing := gear_set.missing(train)):
        return train, ()
    if gear_set.anything_goes:
        return train, tuple(gear for gear in missing if gear in gear_set.out_of_use)
    for had in (_nowhere(gear_set, train), missing):
        more = gear_set.with_gears(add=had)
        for order in [train] if keep_order else _orders(train):
            found = _likeliest(more, order)
            if found is not None:
                return found, gear_set.missing(found)
    return train, missing


def _orders(train: Train) -> Iterator[Train]:
    yield train
    if train.meshes <= _MOST_TURNED_ROUND:
        for driven in dict.fromkeys(permutations(train.driven)):
            for idlers in dict.fromkeys(permutations(train.idlers)):
                yield from (Train(over, driven, idlers) for over in dict.fromkeys(permutations(train.drivers)))


def _likeliest(gear_set: GearSet, train: Train) -> Train | None:
    """The reading with the fewest gears of clusters, then of other sizes; None where there is none."""
    readings = islice(_readings(gear_set, train), _MOST_READINGS)
    return min(readings, key=lambda read: how_unusual(read.gears), default=None)


def _readings(gear_set: GearSet, train: Train) -> Iterator[Train]:
    """The ways to read it."""
    places = _places(train)
    for gears in _filled(gear_set, places, train.meshes, ()):
        if len(gears) == len(places):
            read = _train(places, train.meshes, gears)
            if gear_set.allows(read):
                yield read


def _places(train: Train) -> list[_Place]:
    """Mesh, role and tooth count of each place, from the spindle side: driver, driven and idlers of each mesh."""
    return [
        (n, role, teeth)
        for n, (driver, driven, idlers) in enumerate(zip(train.drivers, train.driven, train.idlers, strict=True))
        for role, teeth in (("driver", driver), ("driven", driven), *(("idler", idler) for idler in idlers))
    ]


def _filled(gear_set: GearSet, places: list[_Place], meshes: int, gears: Gears) -> Iterator[Gears]:
    """The ways to fill the places in their order, as far as each goes: every beginning before what goes on from it."""
    yield gears
    if len(gears) == len(places):
        return
    mesh, role, teeth = places[len(gears)]
    for gear in _meant(gear_set, teeth):
        loose = tuple(each for each in (*gears, gear) if mate_of(each) is None)
        if _may_follow(gear_set.standing, places, gears, (mesh, role), gear, meshes) and gear_set.holds(loose):
            yield from _filled(gear_set, places, meshes, (*gears, gear))


def _meant(gear_set: GearSet, teeth: int) -> list[int]:
    """What a count may mean: loose gears first, of the first size before others."""
    if isinstance(teeth, Piece):
        return [teeth]
    same = [gear for gear in dict.fromkeys(gear_set.pieces) if plain(gear) == teeth]
    return sorted(same, key=lambda gear: (mate_of(gear) is not None, gear))


def _may_follow(
    rules: Standing, places: list[_Place], gears: Gears, place: tuple[int, str], gear: int, meshes: int
) -> bool:
    mesh, role = place
    standing = {(n, what): each for (n, what, _), each in zip(places, gears, strict=False)}
    if role == "driver":
        return rules.first(gear) if not mesh else rules.share_a_stud(standing[mesh - 1, "driven"], gear)
    fits = rules.mesh(standing[mesh, "driver"], gear)
    return fits and (role != "driven" or mesh < meshes - 1 or rules.last(gear))


def _train(places: list[_Place], meshes: int, gears: Gears) -> Train:
    sides: dict[str, list[int]] = {"driver": [], "driven": []}
    idlers: list[list[int]] = [[] for _ in range(meshes)]
    for (mesh, role, _), gear in zip(places, gears, strict=True):
        (idlers[mesh] if role == "idler" else sides[role]).append(gear)
    return Train(sides["driver"], sides["driven"], idlers)


def refusals(gear_set: GearSet, train: Train) -> Iterator[GearcalcError]:
    """Why a train can't stand on the lathe as it is, one error for each reason; none where it can."""
    short = list(gear_set.refusals(train.gears))
    yield from short
    if short or gear_set.anything_goes or next(_readings(gear_set, train), None) is not None:
        return
    reasons = list(dict.fromkeys(_reasons(gear_set, train)))
    for reason, remedy in reasons or [_not_at_once(gear_set, train)]:
        yield NotPossibleError(reason, remedy=remedy)


def why_not_together(gear_set: GearSet, train: Train) -> str:
    """What keeps the gears of a train from standing so, were they all had, in words without an end; empty: nothing.

    >>> why_not_together(GearSet([20, 30, 60], clusters=[(40, 50)]), Train((20, 60), (40, 30)))
    "40 is in one piece with 50, so it can't stand on a stud with 60"
    """
    had = gear_set.with_gears(add=_nowhere(gear_set, train))
    return "; ".join(refusal.problem for refusal in refusals(had, train))


def _nowhere(gear_set: GearSet, train: Train) -> Gears:
    """Counts of which the set has too few gears of any size."""
    return tuple((Counter(map(plain, train.gears)) - Counter(map(plain, gear_set.pieces))).elements())


def _not_at_once(gear_set: GearSet, train: Train) -> tuple[str, str]:
    """Each two may stand beside one another, and not all: the gears as far as they can, and the next that can't."""
    places = _places(train)
    farthest = max(map(len, islice(_filled(gear_set, places, train.meshes, ()), _MOST_READINGS)))
    named = [
        f"{plain(teeth)} ({f'idler in the {ORDINALS[mesh]} mesh' if role == 'idler' else f'{ORDINALS[mesh]} {role}'})"
        for mesh, role, teeth in places[: farthest + 1]
    ]
    return (
        f"{writing.listed(named)} can't all stand so at once",
        "A gear stands in one place, a cluster takes one stud and no end shaft, and a mesh is of one size of tooth.",
    )


_ON_A_STUD = (
    "A cluster takes a stud to itself, no end shaft: its gears are a driven and the next driver, or one is an idler."
)


def check_ends(gear_set: GearSet, first_driver: int | None, last_driven: int | None) -> None:
    """Raise NotPossibleError where one of these is given and another gear is fixed there."""
    for reason, remedy in _not_the_fixed(gear_set.standing, first_driver, last_driven):
        raise NotPossibleError(reason, remedy=remedy)


def _not_the_fixed(rules: Standing, first_driver: int | None, last_driven: int | None) -> Iterator[tuple[str, str]]:
    for role, gear, fixed in (
        ("first driver", first_driver, rules.first_driver),
        ("last driven gear", last_driven, rules.last_driven),
    ):
        if fixed is not None and gear is not None and gear != fixed:
            yield f"the {role} is fixed: {fixed} teeth, not {plain(gear)}", f"Give {fixed} in that place."


def _reasons(gear_set: GearSet, train: Train) -> Iterator[tuple[str, str]]:
    rules = gear_set.standing
    not_fixed = list(_not_the_fixed(rules, train.drivers[0], train.driven[-1]))
    if not_fixed:
        yield from not_fixed
        return
    first, last = _meant(gear_set, train.drivers[0]), _meant(gear_set, train.driven[-1])
    for end, meant, may in (("first driver", first, rules.first), ("last driven gear", last, rules.last)):
        if not any(map(may, meant)):
            yield from _not_at_the_end(end, meant)
            return
    for driver, driven, idlers in zip(train.drivers, train.driven, train.idlers, strict=True):
        for other in (driven, *idlers):
            if not any(rules.mesh(a, b) for a in _meant(gear_set, driver) for b in _meant(gear_set, other)):
                yield (
                    f"{plain(driver)} and {plain(other)} can't mesh: their teeth are of two sizes",
                    "A mesh, idlers included, is of one size.",
                )
    for driven, driver in zip(train.driven, train.drivers[1:], strict=False):
        behind, before = _meant(gear_set, driven), _meant(gear_set, driver)
        if not any(rules.share_a_stud(a, b) for a in behind for b in before):
            yield from _not_on_a_stud(behind, before)


def _not_at_the_end(role: str, meant: list[int]) -> Iterator[tuple[str, str]]:
    gear = meant[0]
    if mate_of(gear) is not None:
        mates = writing.listed(sorted({plain(mate_of(each) or 0) for each in meant}), "or")
        yield f"{plain(gear)} is in one piece with {mates}, so it can't be the {role}", _ON_A_STUD
    else:
        yield f"{plain(gear)} can't be the {role}: the shaft takes another bore", "Choose a gear that has it."


def _not_on_a_stud(behind: list[int], before: list[int]) -> Iterator[tuple[str, str]]:
    one, other = behind[0], before[0]
    for gear, beside in ((one, other), (other, one)):
        if mate_of(gear) is not None:
            in_one = f"{plain(gear)} is in one piece with {plain(mate_of(gear) or 0)}"
            yield f"{in_one}, so it can't stand on a stud with {plain(beside)}", _ON_A_STUD
            return
    yield (
        f"{plain(one)} and {plain(other)} can't stand on one stud: their bores differ",
        "Choose two gears of one bore.",
    )
