"""The shop's rule of thumb for what goes on, to be taught beside the geometry as the approximation that it is.

On a stud between two neighbours, the gear that meshes with the one must clear the shaft of the other. So the two gears
that mesh must together have enough more teeth than the gear beside them. The shop says 15 more, for any lathe (common
practice, no source). The rule knows nothing of reach, slots, swing and cover, so a train that passes may still not go
on; and on slim shafts a train that fails it may.
"""

from __future__ import annotations

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.fits.stances import layout_of
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.trains import ORDINALS, Train

SHOP_CONSTANT = 15
"""Teeth; common practice, no source."""


@frozen
class Margin:
    """By how many teeth a pair has more than the gear beside it: `pair` and `beside` in words, `teeth` the margin."""

    pair: str
    beside: str
    teeth: int

    def __str__(self) -> str:
        return f"the {self.pair} has {writing.signed(self.teeth)} teeth against the {self.beside}"


@frozen
class ThumbRule:
    """What the rule says of a train in the order given: `margins`, and `k`, which each must exceed."""

    train: Train
    k: float
    margins: tuple[Margin, ...]

    @property
    def passes(self) -> bool:
        """Whether every margin is more than k; the rule has nothing against a single mesh."""
        return all(margin.teeth > self.k for margin in self.margins)

    def __str__(self) -> str:
        verdict = "passes" if self.passes else "fails"
        said = "; ".join(map(str, self.margins)) or "a single mesh, of which the rule says nothing"
        return f"{self.train} {verdict} the rule of thumb with {writing.decimal(self.k, 2)}: {said}"

    def _repr_html_(self) -> str:
        rows = [(f"{margin.pair} over {margin.beside}", writing.signed(margin.teeth)) for margin in self.margins]
        rows.append(("each must be more than", writing.decimal(self.k, 2)))
        rows.append(("verdict", "passes" if self.passes else "fails"))
        return writing.html_table(f"Rule of thumb for {self.train}", rows)


def rule_of_thumb(train: Train | str, k: float = SHOP_CONSTANT) -> ThumbRule:
    """What the rule of thumb says of a train (or its text) in the order given; idlers are not looked at.

    >>> print(rule_of_thumb("20/65 60/25"))
    (20 · 60)/(65 · 25) passes the rule of thumb with 15: the first pair has +25 teeth against the second driver; \
the second pair has +20 teeth against the first driven

    The first pair's teeth together must be more than the second driver + k, and the second pair's more than the first
    driven + k; with three meshes likewise the second and the third pair.
    `k`: teeth, 0 to 1000; 15 is common practice (no source); rule_constant gives that of a lathe.
    Raises ValueOutOfRangeError for a k outside that and for what is no train.
    """
    if isinstance(k, bool) or not isinstance(k, (int, float)) or not 0 <= k <= 1000:
        raise ValueOutOfRangeError("k must be a number of teeth from 0 to 1000", value=k)
    train = train if isinstance(train, Train) else Train.parse(train)
    margins = []
    for one in range(train.meshes - 1):
        pair, next_pair = (train.drivers[mesh] + train.driven[mesh] for mesh in (one, one + 1))
        this, following = ORDINALS[one], ORDINALS[one + 1]
        margins.append(Margin(f"{this} pair", f"{following} driver", pair - train.drivers[one + 1]))
        margins.append(Margin(f"{following} pair", f"{this} driven", next_pair - train.driven[one]))
    return ThumbRule(train, k, tuple(margins))


def rule_constant(lathe: Lathe) -> float:
    """The k that a lathe's own shafts ask for: 2 + 2·(shaft radius + running clearance)/module, in teeth.

    >>> from gearcalc.lathes import demo_lathe
    >>> rule_constant(demo_lathe("inch")), rule_constant(demo_lathe("metric"))
    (14.0, 15.0)

    Why: m·(z₁ + z₂)/2 between the axes must be at least m·(z/2 + 1), the gear's outside radius, + shaft + clearance.
    The play between the teeth adds a little to the distance, which this leaves out.
    Raises NotPossibleError when the lathe has no bracket or no size of gear in its file.
    """
    layout = layout_of(as_lathe(lathe))
    bracket = layout.bracket
    return 2 + 2 * (bracket.shaft_radius_mm + bracket.running_clearance_mm) / layout.module_mm
