"""The thread came out wrong: which slip explains it? The likeliest first.

Each slip is tried on the setup that was meant; those whose lead lies within what was measured stay. They are ranked by
how common the slip is times how well its lead fits: 1 in the middle of the measurement, down to an eighth at its edge.
Both weights are our own convention.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Self

from attrs import field, frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_number
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import NumberLike, as_fraction
from gearcalc.basics.listed import Numbered
from gearcalc.cutting.setup_slips import HOW_COMMON, Slip, slips, wrong_hand
from gearcalc.finding.mounted import with_the_damaged
from gearcalc.finding.setups import Setup, as_setup
from gearcalc.lathes.directions import OTHER_HAND, check_hand

CAUTION = (
    "Before you look under the cover: isolate the lathe. The machine's manual, local rules and a qualified person "
    "come before this list."
)
_AT_THE_EDGE = Fraction(1, 8)
_NEAR = Fraction(1, 100)  # 1.25 mm and 20 tpi, which are often mistaken for each other, lie further apart
_WITH_WRONG_HAND = Fraction(1, 8)
_OF_ANOTHER_THREAD = ("inch and metric", "another row of the plate")


@frozen
class WrongLead:
    """A slip that would give the measured lead.

    `kind`: a key of setup_slips.HOW_COMMON; `slip`: what happened, a sentence; `setup`: what turned; `hand`: 'right' or
    'left', of the thread that comes out, if the reverse was left as it was meant; `off_mm`: lead_mm less what was
    measured, mm, exact; `weight`: how likely, against the others in the list, exact.
    """

    kind: str
    slip: str
    setup: Setup = field(repr=False)
    hand: str
    off_mm: Fraction
    weight: Fraction

    @property
    def lead_mm(self) -> Fraction:
        """The lead that it cuts, mm, exact."""
        return self.setup.lead_mm

    def __str__(self) -> str:
        return f"{self.slip} Lead {self.setup.written_lead}."

    def _repr_html_(self) -> str:
        return f"<p>{markup.in_html(str(self))}</p>"


class WrongLeads(Numbered[WrongLead]):
    """Slips, likeliest first: a list like any other, to be read and not changed.

    `why`: why it is empty, or what to do about what was found, in plain words; `ruled_out`: the slips that do not fit,
    the nearest first.
    """

    def __init__(
        self, found: Iterable[WrongLead] = (), *, caption: str = "", why: str = "", ruled_out: Iterable[WrongLead] = ()
    ) -> None:
        super().__init__(found)
        self.caption, self.why, self.ruled_out = caption, why, tuple(ruled_out)

    def _part(self, found: list[WrongLead]) -> Self:
        return type(self)(found, caption=self.caption, why=self.why, ruled_out=self.ruled_out)

    def __str__(self) -> str:
        return "\n".join((*self.lines, self.why, CAUTION))

    def _repr_html_(self) -> str:
        if not self:
            return "".join(f"<p><small>{markup.in_html(words)}</small></p>" for words in (self.why, CAUTION))
        names = ("place", "what may have happened", "gears and lever", "lead", "off what was measured")
        rows = ([str(number), *_cells(found)] for number, found in enumerate(self, 1))
        return markup.html_columns(self.caption, names, rows, notes=(self.why, CAUTION))


def _cells(found: WrongLead) -> list[str | markup.Written]:
    lever = f", {found.setup.lever}" if found.setup.lever is not None else ""
    off = both_units.off(float(found.off_mm * 1000), found.setup.lathe.units)
    return [found.slip, found.setup.train.written + lever, found.setup.written_lead, off]


def explain_wrong_lead(
    setup: Setup, measured_lead_mm: NumberLike, uncertainty_mm: NumberLike, hand: str | None = None
) -> WrongLeads:
    """List the slips that would give the lead that was measured, instead of the one meant, likeliest first.

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("inch")
    >>> meant = gc.setup(lathe, drivers=40, driven=50, lever="low", wanted="20 tpi")
    >>> for found in explain_wrong_lead(meant, measured_lead_mm=1.98, uncertainty_mm=0.02):
    ...     print(found)
    The pair is upside down: 50 drives 40. Lead 12.8 tpi (1.984375 mm).
    >>> left = gc.setup(lathe, drivers=40, driven=50, lever="low", wanted="20 tpi LH")
    >>> print(explain_wrong_lead(left, 1.27, 0.01, hand="right")[0].slip)
    Cut right-hand instead of left-hand, the reverse in its other position: the lead is the same.

    `setup`: what was meant; it knows its lathe. `measured_lead_mm`: of the thread that came
    out, over 0 to 1000 mm; `uncertainty_mm`: the limit, ±, 0 to less than that lead (of judge_measurement:
    lead_mm and lead_uncertainty_mm). `hand`: of the thread that came out, 'right' or 'left'; None where nobody
    looked: then the other hand is listed too, since its lead is the same.
    One slip at a time, and a wrong hand besides; 'nothing wrong' is listed where it fits, and not where the setup cuts
    the other hand than the thread wants and the lathe has no reverse: then that is listed. When nothing fits the list
    is empty, and `.why` names what comes nearest, if it is near: within a hundredth of what was measured beyond the
    limit, and nearer to it than the lead that the setup cuts.
    Raises ValueOutOfRangeError for numbers outside these, or what is no setup; GearNotOwnedError for gears that its
    lathe has not; damaged ones it has.
    How common each slip is: common practice, no source, an order of our own (setup_slips.HOW_COMMON).
    """
    with_the_damaged(as_setup(setup).lathe).check_owned(setup.train)  # it turned already
    measured, limit = read_measured(measured_lead_mm, uncertainty_mm)
    check_hand(hand, "where nobody looked")
    allowed = limit + measured * _NEAR  # gears that were worked out for a lead so near might cut what was measured
    made = list(slips(setup, near=lambda lead: measured - allowed <= lead <= measured + allowed))
    if hand is None or hand != setup.as_built.hand:  # as built: what goes on may have an idler more
        made.append(wrong_hand(setup if setup.hand == setup.as_built.hand else setup.as_built))
    weighed = _likeliest_of_each(
        _weighed(setup, slip, measured, limit, hand) for slip in made if _counts(slip, setup, hand)
    )
    nearest = sorted(weighed, key=lambda slip: (abs(slip.off_mm), slip.slip))
    found = sorted((slip for slip in nearest if abs(slip.off_mm) <= limit), key=lambda slip: -slip.weight)
    others = [slip for slip in nearest if abs(slip.off_mm) > limit]
    units = setup.lathe.units
    said = both_units.span(measured, limit, units, link="±", places=both_units.places_for(limit))
    nearer = min(allowed, abs(measured - setup.lead_mm))
    near = [slip for slip in others if abs(slip.off_mm) < nearer and slip.lead_mm != setup.lead_mm]
    why = _what_to_do(found) if found else _none_fits(near, measured, limit, setup, allowed)
    return WrongLeads(found, caption=f"Measured {said}, meant {_meant(setup)}", why=why, ruled_out=others)


def _meant(setup: Setup) -> str:
    """What is wanted with its lead, and the lead that is cut where it is another; alone where nothing is wanted."""
    if setup.wanted is None or setup.error is None:
        return f"a lead of {setup.written_lead}"
    meant = f"{setup.wanted}: a lead of {writing.lead(setup.error.wanted, setup.starts, setup.lathe.units)}"
    return meant if setup.is_exact else f"{meant}, and the setup cuts {setup.written_lead}"


def read_measured(lead: object, uncertainty: object) -> tuple[Fraction, Fraction]:
    """A measured lead and its limit of error, mm, as one has to have them. Raises ValueOutOfRangeError."""
    remedy = "Give the advance in one turn: the length measured, over the turns."
    measured = as_number(lead, what="the measured lead", most=1000, above=True, unit="mm", remedy=remedy)
    limit = as_fraction(uncertainty, what="the limit")
    if limit < 0:
        raise ValueOutOfRangeError("the limit is ± 0 mm or more", value=uncertainty)
    if limit >= measured:
        raise ValueOutOfRangeError(
            f"a limit of ± {writing.decimal(limit)} mm is as large as the lead itself: anything would fit",
            remedy="Measure over several turns, and divide the limit by the turns too.",
        )
    return measured, limit


def _counts(slip: Slip, meant: Setup, hand: str | None) -> bool:
    """A slip that changes nothing is none; and the setup itself is no answer where the other hand was measured."""
    if slip.setup is meant:
        return hand is None or hand == meant.as_built.hand
    return slip.kind == "wrong hand" or slip.setup.lead_mm != meant.lead_mm


def _weighed(meant: Setup, slip: Slip, measured: Fraction, limit: Fraction, hand: str | None) -> WrongLead:
    off = slip.setup.lead_mm - measured
    share = abs(off) / limit if limit else Fraction(1 if off else 0)
    weight = HOW_COMMON[slip.kind] * (1 - (1 - _AT_THE_EDGE) * min(share, Fraction(1)))
    cut, words = _hand_cut(meant, slip), slip.words
    if hand is not None and hand != cut:
        weight *= _WITH_WRONG_HAND
        words += f" That alone would cut a {cut}-hand thread: the reverse, or an idler, is wrong as well."
    elif hand is None and slip.kind != "wrong hand" and cut != meant.as_built.hand:  # nobody looked: so say what to see
        words += f" Then the thread is {cut}-hand too: look at it."
    return WrongLead(slip.kind, words, slip.setup, cut, off, weight)


def _hand_cut(meant: Setup, slip: Slip) -> str:
    """The hand that comes out with the reverse left as it was meant; for another thread's gears, set for those."""
    if slip.kind == "wrong hand":
        return OTHER_HAND[meant.as_built.hand]
    if slip.kind in _OF_ANOTHER_THREAD and meant.reverse_fitted:
        return meant.as_built.hand
    turned_round = slip.setup.natural_hand != meant.natural_hand
    return OTHER_HAND[meant.as_built.hand] if turned_round else meant.as_built.hand


def _likeliest_of_each(found: Iterable[WrongLead]) -> list[WrongLead]:
    """The same gears and lever may be reached by several slips: the most common of them speaks."""
    best: dict[object, WrongLead] = {}
    for slip in found:
        train = slip.setup.train
        key = *map(tuple, map(sorted, (train.drivers, train.driven))), slip.setup.lever, slip.kind == "wrong hand"
        if key not in best or slip.weight > best[key].weight:
            best[key] = slip
    return list(best.values())


def _what_to_do(found: list[WrongLead]) -> str:
    each = "Each of these alone" if len(found) > 1 else "That alone"
    return (
        f"{each} would give what was measured. The likeliest first, by an order of our own: common practice, no "
        "source. Count teeth before you believe it."
    )


def _none_fits(near: list[WrongLead], measured: Fraction, limit: Fraction, meant: Setup, allowed: Fraction) -> str:
    """What to do next, and which slip comes nearest, of those that are near."""
    units, places = meant.lathe.units, both_units.places_for(limit)
    band = both_units.span(measured - limit, measured + limit, units, places=places)
    said = f"No single slip known here gives {band}"
    if near:
        off = near[0].off_mm
        in_mm, way = f"{writing.decimal(abs(off), places)} mm", "longer" if off > 0 else "shorter"
        size = in_mm if units == "mm" else both_units.off_size(float(off * 1000), units)
        said += f". The one that comes nearest gives a lead {size} {way} than was measured: {near[0]}"
    else:
        said += f", nor comes near{'er than what was meant' if abs(measured - meant.lead_mm) <= allowed else ''}."
    return f"{said} Measure again, over more turns; then count every gear's teeth."
