"""What can go wrong between the setup that was meant and the gears that turned: each slip, and what it would cut.

One slip at a time. How common each is, is common practice, no source: an order of our own. Whether the gears of a slip
go on the bracket is not looked at; they did turn, after all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator

from attrs import evolve, frozen

from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.exact import Exact
from gearcalc.cutting.mistaken_leads import mistaken_leads
from gearcalc.cutting.train_slips import train_slips
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import Setup, assemble
from gearcalc.lathes import Lathe
from gearcalc.lathes.directions import OTHER_HAND
from gearcalc.lathes.trains import Train, with_idler
from gearcalc.threads import Thread

HOW_COMMON = {
    "nothing wrong": 10,
    "setup of the other hand": 10,
    "wrong hand": 9,
    "lever": 8,
    "pair upside down": 7,
    "neighbour gear": 6,
    "gears exchanged": 5,
    "inch and metric": 5,
    "pitch for lead": 5,
    "another row of the plate": 4,
    "idler counted in": 4,
    "pair runs as idlers": 4,
    "train upside down": 4,
    "second gear on the idler": 3,
}
"""How often each kind of slip is met, as weights: common practice, no source, an order of our own."""

_CLOSE_ENOUGH_PPM = 5000
Near = Callable[[Exact], bool]


@frozen
class Slip:
    """One thing that can have gone wrong: `kind` (a key of HOW_COMMON), `words` that say it, what it makes up."""

    kind: str
    words: str
    setup: Setup


def slips(lathe: Lathe, meant: Setup, near: Near = lambda lead: True) -> Iterator[Slip]:
    """Every single slip from the setup that was meant, and that setup itself; the same gears may come twice.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> lathe = demo_lathe("inch")
    >>> for slip in slips(lathe, setup(lathe, 40, 80, "middle", wanted="16 tpi"), near=lambda lead: False):
    ...     print(slip.kind, "|", slip.words)  # doctest: +ELLIPSIS
    nothing wrong | Nothing wrong: this is what the setup cuts.
    lever | The lever stands at low instead of middle.
    lever | The lever stands at high instead of middle.
    pair upside down | The pair is upside down: 80 drives 40.
    neighbour gear | A neighbour from the rack: 38 in place of 40 as the first driver.
    ...

    `near`: whether a lead is worth looking for gears that cut it, asked for leads that may have been taken for it.
    """
    yield _as_meant(meant)
    yield from _levers(lathe, meant)
    for kind, words, train in train_slips(lathe, meant.train):
        yield Slip(kind, words, _with_train(lathe, meant, train))
    yield from _other_rows(lathe, meant)
    if isinstance(meant.wanted, Thread) or meant.wanted is None:
        yield from _of_another_lead(lathe, meant, near)


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


def hands(lathe: Lathe, meant: Setup) -> Slip:
    """The same lead with the other hand, and what makes it.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> slip = hands(demo_lathe("inch"), setup(demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi LH"))
    >>> print(slip.words)
    Cut right-hand instead of left-hand, the reverse in its other position: the lead is the same.
    """
    cut = OTHER_HAND[meant.hand]
    words = f"Cut {cut}-hand instead of {meant.hand}-hand, "
    wanted = evolve(meant.wanted, hand=cut) if isinstance(meant.wanted, Thread) else meant.wanted
    if meant.reverse_fitted:
        return Slip(
            "wrong hand",
            f"{words}the reverse in its other position: the lead is the same.",
            evolve(meant, wanted=wanted),
        )
    train, what = _idler_more_or_less(lathe, meant.train)
    made = _with_train(lathe, meant, train)
    return Slip("wrong hand", f"{words}{what}: the lead is the same.", made)


def _idler_more_or_less(lathe: Lathe, train: Train) -> tuple[Train, str]:
    for mesh, idlers in enumerate(train.idlers):
        if idlers:
            left = (*train.idlers[:mesh], idlers[:-1], *train.idlers[mesh + 1 :])
            return Train(train.drivers, train.driven, left), f"the idler {idlers[-1]} left out"
    if not Counter(lathe.gears) - Counter(train.gears):
        return train, "an idler too many"
    more = with_idler(train, lathe.gears, None)
    idler = next(iter(Counter(more.gears) - Counter(train.gears)))
    return more, f"an idler too many, such as {idler}"


def _with_train(lathe: Lathe, meant: Setup, train: Train) -> Setup:
    return assemble(lathe, train, lathe.lever(meant.lever), meant.wanted)


def _levers(lathe: Lathe, meant: Setup) -> Iterator[Slip]:
    for lever in lathe.gearbox:
        if lever.lever != meant.lever:
            words = f"The lever stands at {lever.lever} instead of {meant.lever}."
            yield Slip("lever", words, assemble(lathe, meant.train, lever, meant.wanted))


def _other_rows(lathe: Lathe, meant: Setup) -> Iterator[Slip]:
    """The rows of the machine's own plate, as far as the set has their gears."""
    for row in lathe.plate:
        train = Train(row.drivers, row.driven, row.idlers)
        if not Counter(train.gears) - Counter(lathe.gears):
            made = assemble(lathe, train, lathe.lever(row.lever), meant.wanted)
            yield Slip("another row of the plate", f"Another row of the plate: the gears of {row.thread}.", made)


def _of_another_lead(lathe: Lathe, meant: Setup, near: Near) -> Iterator[Slip]:
    """Gears that were worked out, and rightly, for another lead than the one that was wanted."""
    for mistake in mistaken_leads(lathe, meant.wanted if isinstance(meant.wanted, Thread) else meant.lead_mm):
        if near(mistake.lead):
            for found in _gears_for(lathe, mistake.lead):
                made = assemble(lathe, found.train, lathe.lever(found.lever), meant.wanted)
                yield Slip(mistake.kind, mistake.words, made)


def _gears_for(lathe: Lathe, lead: Exact) -> list[Setup]:
    """The best setup for a lead; none where no gears come near it, or nothing can be found."""
    try:
        thread = Thread("another lead", lead)
        return find_setups(lathe, thread, meshes=(1, 2), count=1, within_ppm=_CLOSE_ENOUGH_PPM, must_fit=False)
    except GearcalcError:
        return []
