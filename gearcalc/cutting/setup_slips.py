"""What can go wrong between the setup that was meant and the gears that turned: each slip, and what it would cut.

One slip at a time. How common each is, is common practice, no source: an order of our own. Whether the gears of a slip
go on the bracket is not looked at; they did turn, after all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from itertools import chain, combinations, islice
from typing import Any

from attrs import evolve, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.errors import GearcalcError, UnknownNameError
from gearcalc.basics.exact import Exact, RelativeError
from gearcalc.cutting.mistaken_leads import mistaken_leads
from gearcalc.finding.mounted import with_the_damaged
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import Setup, assemble
from gearcalc.lathes import Lathe
from gearcalc.lathes.directions import OTHER_HAND
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.levers import moved_levers
from gearcalc.lathes.orders import plus_idler
from gearcalc.lathes.readings import as_pieces, refusals
from gearcalc.lathes.trains import ORDINALS, Train
from gearcalc.threads import Thread

HOW_COMMON = {
    "nothing wrong": 10,
    "setup of the other hand": 10,
    "wrong hand": 9,
    "lever": 8,
    "pair upside down": 7,
    "neighbour from the rack": 6,
    "gears exchanged": 5,
    "inch and metric": 5,
    "pitch for lead": 5,
    "another row of the plate": 4,
    "idler counts": 4,
    "pair runs as idlers": 4,
    "train upside down": 4,
    "idler has become a pair": 3,
    "two levers": 2,
}
"""How often each kind of slip is met, as weights: common practice, no source, an order of our own."""

_CLOSE_ENOUGH = RelativeError.of_ppm(5000)
Near = Callable[[Exact], bool]


@frozen
class Slip:
    """One thing that can have gone wrong: `kind` (a key of HOW_COMMON), `words` that say it, what it makes up."""

    kind: str
    words: str
    setup: Setup


def slips(meant: Setup, near: Near = lambda lead: True) -> Iterator[Slip]:
    """Every single slip from the setup that was meant, and that setup itself; the same gears may come twice.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> for slip in slips(setup(demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi"), near=lambda lead: False):
    ...     print(slip.kind, "|", slip.words)  # doctest: +ELLIPSIS
    nothing wrong | Nothing wrong: this is what the setup cuts.
    lever | The lever stands at low instead of middle.
    lever | The lever stands at high instead of middle.
    pair upside down | The pair is upside down: 80 drives 40.
    neighbour from the rack | A neighbour from the rack: 38 in place of 40 as the first driver.
    ...

    `near`: whether a lead is worth looking for gears that cut it, asked for leads that may have been taken for it.
    """
    yield _as_meant(meant)
    yield from _lever_slips(meant)
    for kind, words, train in train_slips(meant.lathe, meant.train):
        if _may_stand(_in_the_box(meant.lathe), train):
            yield Slip(kind, words + _damaged(meant, train), _with_train(meant, train))
    yield from _other_rows(meant)
    if isinstance(meant.wanted, Thread) or meant.wanted is None:
        yield from _of_another_lead(meant, near)


def _lever_slips(meant: Setup) -> Iterator[Slip]:
    """A lever in another position, then two of them; more at once is no slip."""
    there = meant.position
    if there is None:
        return
    should = {stand.lever: stand.at for stand in there.stands}
    for lever in meant.lathe.positions:
        wrong = moved_levers(there, lever)
        if lever is not None and 1 <= len(wrong) <= 2:
            each = [f"the {stand.called} stands at {stand.at} instead of {should[stand.lever]}" for stand in wrong]
            words = writing.listed(each)
            kind = "lever" if len(wrong) == 1 else "two levers"
            made = assemble(meant.lathe, meant.train, lever, meant.wanted)
            yield Slip(kind, f"{markup.sentence(words)}.", made)


def _as_meant(meant: Setup) -> Slip:
    """What the setup cuts with no slip at all, which need not be the hand that is wanted."""
    wanted, cut = meant.wanted, meant.as_built.hand
    if not isinstance(wanted, Thread) or cut == wanted.hand:
        return Slip("nothing wrong", "Nothing wrong: this is what the setup cuts.", meant)
    words = (
        f"The setup itself cuts a {cut}-hand thread, and {wanted} is {wanted.hand}-hand: it has an idler too few "
        "or too many, and the lathe has no reverse."
    )
    return Slip("setup of the other hand", words, meant)


def wrong_hand(meant: Setup) -> Slip:
    """The same lead with the other hand, and what makes it.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> slip = wrong_hand(setup(demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi LH"))
    >>> print(slip.words)
    Cut right-hand instead of left-hand, the reverse in its other position: the lead is the same.
    """
    cut = OTHER_HAND[meant.hand]
    words = f"Cut {cut}-hand instead of {meant.hand}-hand, "
    wanted = evolve(meant.wanted, hand=cut) if isinstance(meant.wanted, Thread) else meant.wanted
    if meant.reverse_fitted:
        what, made = "the reverse in its other position", evolve(meant, wanted=wanted)
    elif meant.lever_the_other_way is not None:
        what, made = f"the {meant.lever_the_other_way}", evolve(meant, wanted=wanted)
    else:
        train, what = _idler_more_or_less(meant.lathe, meant.train)
        made = _with_train(meant, train)
    return Slip("wrong hand", f"{words}{what}: the lead is the same.", made)


def _idler_more_or_less(lathe: Lathe, train: Train) -> tuple[Train, str]:
    for mesh, idlers in enumerate(train.idlers):
        if idlers:
            left = (*train.idlers[:mesh], idlers[:-1], *train.idlers[mesh + 1 :])
            return Train(train.drivers, train.driven, left), f"the idler {idlers[-1]} left out"
    more = plus_idler(lathe.gear_set, train, None)
    if more is None:
        return train, "an idler too many"
    return more, f"an idler too many, such as {next(chain(*more.idlers))}"


def _in_the_box(lathe: Lathe) -> GearSet:
    """All gears that there are: a damaged one is as easily taken by mistake as any."""
    return with_the_damaged(lathe).gear_set


def _may_stand(gear_set: GearSet, train: Train) -> bool:
    """A fixed gear can't be exchanged, and teeth of two sizes don't mesh."""
    return gear_set.anything_goes or gear_set.allows(train)


def _damaged(meant: Setup, train: Train) -> str:
    """Which gears of a train are damaged, those that were meant aside, in a sentence to go on with; or nothing."""
    lacking = meant.lathe.gear_set.missing
    gears = [str(gear) for gear in (Counter(lacking(train)) - Counter(lacking(meant.train))).elements()]
    return f" The {writing.listed(gears)} {'is' if len(gears) == 1 else 'are'} damaged." if gears else ""


def _with_train(meant: Setup, train: Train) -> Setup:
    return assemble(meant.lathe, train, meant.position, meant.wanted)


def _other_rows(meant: Setup) -> Iterator[Slip]:
    """The rows of the machine's own plate, as far as the set has their gears and they say where its levers stand."""
    lathe, box = meant.lathe, _in_the_box(meant.lathe)
    for row in lathe.plate:
        train = row.train
        try:
            lever = lathe.lever(row.lever)
        except UnknownNameError:  # a faulty row: checking the plate says so
            continue
        if next(refusals(box, train), None) is None:
            made = assemble(lathe, as_pieces(box, train), lever, meant.wanted)
            words = f"Another row of the plate: the gears of {row.thread}.{_damaged(meant, made.train)}"
            yield Slip("another row of the plate", words, made)


def _of_another_lead(meant: Setup, near: Near) -> Iterator[Slip]:
    """Gears that were worked out, and rightly, for another lead than the one that was wanted."""
    lathe = meant.lathe
    for mistake in mistaken_leads(lathe, meant.wanted if isinstance(meant.wanted, Thread) else meant.lead_mm):
        if near(mistake.lead):
            for found in _gears_for(lathe, mistake.lead):
                made = assemble(lathe, found.train, found.position, meant.wanted)
                yield Slip(mistake.kind, mistake.words, made)


def _gears_for(lathe: Lathe, lead: Exact) -> list[Setup]:
    """The best setup for a lead; none where no gears come near it, or nothing can be found."""
    try:
        nearest = find_setups(lathe, Thread("another lead", lead), meshes=(1, 2), count=1, must_fit=False)
    except GearcalcError:
        return []
    return [one for one in nearest if one.error is not None and one.error <= _CLOSE_ENOUGH]


# Slips of the gears: on a wrong place, wrongly taken from the rack, counted where they should not be, or left out.

_MOST_MESHES = len(ORDINALS)
Made = tuple[str, str, Train]
Place = tuple[str, int]
"""'drivers', 'driven' or 'idlers', and the mesh, counted from 0."""


def train_slips(lathe: Lathe, train: Train) -> Iterator[Made]:
    """Each slip of the gears alone: its kind, the words that say it, and the train that it makes up.

    >>> from gearcalc.lathes import demo_lathe
    >>> for kind, words, made in list(train_slips(demo_lathe("inch"), Train((40,), (80,))))[:2]:
    ...     print(f"{kind}: {words} {made}")
    pair upside down: The pair is upside down: 80 drives 40. 80/40
    neighbour from the rack: A neighbour from the rack: 38 in place of 40 as the first driver. 38/80
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
        turned = _with(train, {("drivers", mesh): driven, ("driven", mesh): driver})
        yield "pair upside down", f"{which} is upside down: {driven} drives {driver}.", turned
    if train.meshes > 1:
        words = "The whole train is upside down: every driver has changed places with its driven gear."
        yield "train upside down", words, Train(train.driven, train.drivers, train.idlers)


def _neighbours(lathe: Lathe, train: Train) -> Iterator[Made]:
    """The gear next in size, up or down, of those left in the rack that can stand there: sound, or sound or not."""
    box, sound = _in_the_box(lathe), lathe.gear_set.pieces
    left = sorted(set(box.left_over(train.gears)))
    for place, teeth in _counting(train):
        found: dict[int, Train] = {}
        for side in ([x for x in reversed(left) if x < teeth], [x for x in left if x > teeth]):
            there = {x: made for x in side if _may_stand(box, made := _with(train, {place: x}))}
            found |= islice(there.items(), 1)
            found |= islice(((x, made) for x, made in there.items() if x in sound), 1)
        for other, made in found.items():
            words = f"A neighbour from the rack: {other} in place of {teeth} as the {_called(place)}."
            yield "neighbour from the rack", words, made


def _exchanged(train: Train) -> Iterator[Made]:
    """A driver and the driven gear of another pair; two drivers, or two driven, would change nothing."""
    for (place, teeth), (other, with_it) in combinations(_counting(train), 2):
        if place[0] != other[0] and place[1] != other[1]:
            words = f"Two gears exchanged: {with_it} as the {_called(place)}, {teeth} as the {_called(other)}."
            yield "gears exchanged", words, _with(train, {place: with_it, other: teeth})


def _idlers_counted(train: Train) -> Iterator[Made]:
    """An idler that took the place of a gear that counts, or two idlers keyed together on one stud."""
    for mesh, idlers in enumerate(train.idlers):
        for number, idler in enumerate(idlers):
            for place, teeth in _counting(train):
                rest = (*idlers[:number], teeth, *idlers[number + 1 :])
                words = f"The idler counts: {idler} sits as the {_called(place)}, and {teeth} is only the idler."
                yield "idler counts", words, _with(train, {place: idler, ("idlers", mesh): rest})
        if len(idlers) == 2 and train.meshes < _MOST_MESHES:
            for one, other in (idlers, idlers[::-1]):
                words = (
                    f"The idlers count: {one} and {other} are keyed on one stud, so {one} is driven and {other} drives."
                )
                yield "idler counts", words, _split(train, mesh, one, other)


def _pair_as_idlers(train: Train) -> Iterator[Made]:
    """A pair keyed on a stud that does not count, because the gears before and after it mesh in one plane."""
    for mesh in range(train.meshes - 1):
        driven, driver = train.driven[mesh], train.drivers[mesh + 1]
        through = (*train.idlers[mesh], driven, *train.idlers[mesh + 1])
        words = (
            f"The pair {driven} and {driver} does not count: all in one plane, "
            f"{train.drivers[mesh]} drives {train.driven[mesh + 1]} through {driven} as an idler."
        )
        drivers = train.drivers[: mesh + 1] + train.drivers[mesh + 2 :]
        idlers = (*train.idlers[:mesh], through, *train.idlers[mesh + 2 :])
        yield "pair runs as idlers", words, Train(drivers, train.driven[:mesh] + train.driven[mesh + 1 :], idlers)


def _second_gear(lathe: Lathe, train: Train) -> Iterator[Made]:
    """A gear from the rack keyed beside a lone idler: what was an idler is now a pair."""
    left = sorted(set(_in_the_box(lathe).left_over(train.gears)))
    for mesh, idlers in enumerate(train.idlers):
        if len(idlers) != 1 or train.meshes == _MOST_MESHES:
            continue
        for teeth in left:
            for one, other in ((idlers[0], teeth), (teeth, idlers[0])):
                words = (
                    f"The idler has become a pair: {teeth} beside {idlers[0]}, so {one} is driven and {other} drives."
                )
                yield "idler has become a pair", words, _split(train, mesh, one, other)


def _split(train: Train, mesh: int, driven: int, driver: int) -> Train:
    """The train with one mesh made two: its driver drives `driven`, keyed to `driver`, which drives its driven gear."""
    return Train(
        (*train.drivers[: mesh + 1], driver, *train.drivers[mesh + 1 :]),
        (*train.driven[:mesh], driven, *train.driven[mesh:]),
        (*train.idlers[:mesh], (), (), *train.idlers[mesh + 1 :]),
    )


def _with(train: Train, gears: Mapping[Place, object]) -> Train:
    """The train with other gears on some of its places."""
    sides: dict[str, list[Any]] = {
        "drivers": list(train.drivers),
        "driven": list(train.driven),
        "idlers": list(train.idlers),
    }
    for (side, mesh), what in gears.items():
        sides[side][mesh] = what
    return Train(**sides)


def _counting(train: Train) -> list[tuple[Place, int]]:
    """The places that count, in the order of the chain, and the gears on them."""
    sides = (("drivers", train.drivers), ("driven", train.driven))
    return [((side, mesh), gears[mesh]) for mesh in range(train.meshes) for side, gears in sides]


def _called(place: Place) -> str:
    return f"{ORDINALS[place[1]]} {'driver' if place[0] == 'drivers' else 'driven gear'}"
