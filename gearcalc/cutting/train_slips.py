"""Slips of the gears: put on a wrong place, taken wrongly from the rack, counted where they should not be, or left out.

One slip at a time; positions are named by what they do.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations

from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import ORDINALS, Train

_MOST_MESHES = len(ORDINALS)
Made = tuple[str, str, Train]
Place = tuple[str, int]
Places = dict[str, list[object]]


def train_slips(lathe: Lathe, train: Train) -> Iterator[Made]:
    """Each slip of the gears alone: its kind, the words that say it, and the train that it makes up.

    >>> from gearcalc.lathes import demo_lathe
    >>> for kind, words, made in list(train_slips(demo_lathe("inch"), Train((40,), (80,))))[:2]:
    ...     print(f"{kind}: {words} {made}")
    pair upside down: The pair is upside down: 80 drives 40. 80/40
    neighbour gear: A neighbour from the rack: 38 in place of 40 as the first driver. 38/80
    """
    yield from _upside_down(train)
    yield from _neighbours(lathe, train)
    yield from _exchanged(train)
    yield from _idlers_counted(train)
    yield from _pair_as_idlers(train)
    yield from _second_gear(lathe, train)


def _upside_down(train: Train) -> Iterator[Made]:
    for mesh, (driver, driven) in enumerate(zip(train.drivers, train.driven, strict=True)):
        which = f"The {ORDINALS[mesh]} pair" if train.meshes > 1 else "The pair"
        turned = _put(_put(_places(train), ("driver", mesh), driven), ("driven", mesh), driver)
        yield "pair upside down", f"{which} is upside down: {driven} drives {driver}.", _train(turned)
    if train.meshes > 1:
        words = "The whole train is upside down: every driver has changed places with its driven gear."
        yield "train upside down", words, Train(train.driven, train.drivers, train.idlers)


def _neighbours(lathe: Lathe, train: Train) -> Iterator[Made]:
    """The gear next in size, up or down, of those that are left in the rack."""
    left = sorted(Counter(lathe.gears) - Counter(train.gears))
    for place, teeth in _counting(train):
        for other in (max((x for x in left if x < teeth), default=0), min((x for x in left if x > teeth), default=0)):
            if other:
                words = f"A neighbour from the rack: {other} in place of {teeth} as the {_called(place)}."
                yield "neighbour gear", words, _train(_put(_places(train), place, other))


def _exchanged(train: Train) -> Iterator[Made]:
    """A driver and the driven gear of another pair; two drivers, or two driven, would change nothing."""
    for (place, teeth), (other, with_it) in combinations(_counting(train), 2):
        if place[0] != other[0] and place[1] != other[1]:
            swapped = _put(_put(_places(train), place, with_it), other, teeth)
            words = f"Two gears exchanged: {with_it} as the {_called(place)}, {teeth} as the {_called(other)}."
            yield "gears exchanged", words, _train(swapped)


def _idlers_counted(train: Train) -> Iterator[Made]:
    """An idler that took the place of a gear that counts, or two idlers keyed together on one stud."""
    places = _places(train)
    for mesh, idlers in enumerate(train.idlers):
        for number, idler in enumerate(idlers):
            for place, teeth in _counting(train):
                rest = (*idlers[:number], teeth, *idlers[number + 1 :])
                words = f"The idler counts: {idler} sits as the {_called(place)}, and {teeth} is only the idler."
                yield "idler counted in", words, _train(_put(_put(places, place, idler), ("idlers", mesh), rest))
        if len(idlers) == 2 and train.meshes < _MOST_MESHES:
            for one, other in (idlers, idlers[::-1]):
                words = (
                    f"The idlers count: {one} and {other} are keyed on one stud, so {one} is driven and {other} drives."
                )
                yield "idler counted in", words, _split(train, mesh, one, other)


def _pair_as_idlers(train: Train) -> Iterator[Made]:
    """A pair keyed on a stud that does not count, because the gears before and after it mesh in one plane."""
    for mesh in range(train.meshes - 1):
        driven, driver = train.driven[mesh], train.drivers[mesh + 1]
        through = (*train.idlers[mesh], driven, *train.idlers[mesh + 1])
        words = (
            f"The pair {driven} and {driver} does not count: all in one plane, "
            f"{train.drivers[mesh]} drives {train.driven[mesh + 1]} through {driven} as an idler."
        )
        yield (
            "pair runs as idlers",
            words,
            Train(
                train.drivers[: mesh + 1] + train.drivers[mesh + 2 :],
                train.driven[:mesh] + train.driven[mesh + 1 :],
                (*train.idlers[:mesh], through, *train.idlers[mesh + 2 :]),
            ),
        )


def _second_gear(lathe: Lathe, train: Train) -> Iterator[Made]:
    """A gear from the rack keyed beside a lone idler: what was an idler is now a pair."""
    left = sorted(Counter(lathe.gears) - Counter(train.gears))
    for mesh, idlers in enumerate(train.idlers):
        if len(idlers) != 1 or train.meshes == _MOST_MESHES:
            continue
        for teeth in left:
            for one, other in ((idlers[0], teeth), (teeth, idlers[0])):
                words = (
                    f"The idler has become a pair: {teeth} beside {idlers[0]}, so {one} is driven and {other} drives."
                )
                yield "second gear on the idler", words, _split(train, mesh, one, other)


def _split(train: Train, mesh: int, driven: int, driver: int) -> Train:
    """The train with one mesh made two: its driver drives `driven`, keyed to `driver`, which drives its driven gear."""
    return Train(
        (*train.drivers[: mesh + 1], driver, *train.drivers[mesh + 1 :]),
        (*train.driven[:mesh], driven, *train.driven[mesh:]),
        (*train.idlers[:mesh], (), (), *train.idlers[mesh + 1 :]),
    )


# A train as places, so that a gear can be put on one of them.


def _places(train: Train) -> Places:
    return {"driver": list(train.drivers), "driven": list(train.driven), "idlers": list(train.idlers)}


def _put(places: Places, place: Place, what: object) -> Places:
    changed = {name: list(listed) for name, listed in places.items()}
    changed[place[0]][place[1]] = what
    return changed


def _train(places: Places) -> Train:
    return Train(places["driver"], places["driven"], places["idlers"])


def _counting(train: Train) -> list[tuple[Place, int]]:
    """The places that count, in the order of the chain, and the gears on them."""
    both = zip(train.drivers, train.driven, strict=True)
    return [
        (place, teeth)
        for mesh, (driver, driven) in enumerate(both)
        for place, teeth in ((("driver", mesh), driver), (("driven", mesh), driven))
    ]


def _called(place: Place) -> str:
    return f"{ORDINALS[place[1]]} {'driver' if place[0] == 'driver' else 'driven gear'}"
