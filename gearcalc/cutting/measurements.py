"""Did it work? What a measured length proves about the lead that was cut, and how many turns would prove it.

A length over several turns is known to ± a limit; divided by the turns it leaves a band of leads. Whatever lies in
the band is still possible. The limit does not grow with the length, so more turns make the band narrower.
No length says anything of the hand: that is looked at, and where it is the other one nothing agrees.
"""

from __future__ import annotations

from fractions import Fraction

from attrs import evolve, field, frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_number, as_units
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import Exact, NumberLike, PiMultiple, RelativeError, coefficient, pi_bounds
from gearcalc.basics.writing import Units
from gearcalc.finding.setups import Setup, as_setup
from gearcalc.lathes.directions import check_hand
from gearcalc.threads import Thread, ThreadLike, as_thread, standard_threads

_MOST_NAMED = 4


@frozen
class Judgement:
    """What a measurement says about a thread. Made by judge_measurement().

    `thread`: the Thread that was wanted; `turns`, `length_mm`, `uncertainty_mm`: what was measured, exact;
    `lead_from_mm`, `lead_to_mm`: the leads that this leaves possible, mm, exact, both ends included;
    `also_possible`: the standard threads of another lead in that band, the nearest to its middle first, of the hand
    that was seen; before them the thread itself in that hand, where it is the wrong one and the lead fits;
    `hand`: the hand seen, 'right' or 'left', None if nobody looked; `units`: what is read first; `setup`: the gears
    that cut it, None where they are not known.
    """

    thread: Thread
    turns: Fraction
    length_mm: Fraction
    uncertainty_mm: Fraction
    lead_from_mm: Fraction
    lead_to_mm: Fraction
    also_possible: tuple[Thread, ...] = field(repr=False)
    hand: str | None = None
    units: Units = "mm"
    setup: Setup | None = field(default=None, repr=False)

    @property
    def lead_mm(self) -> Fraction:
        """The lead as measured: length over turns, the middle of the band, mm, exact."""
        return self.length_mm / self.turns

    @property
    def lead_uncertainty_mm(self) -> Fraction:
        """How far the lead may be off that, either way: uncertainty over turns, mm, exact."""
        return self.uncertainty_mm / self.turns

    @property
    def agrees(self) -> bool:
        """Whether the thread's own lead is still possible, and no other hand was seen."""
        return self.lead_agrees and not self.wrong_hand

    @property
    def lead_agrees(self) -> bool:
        """Whether the thread's own lead is still possible, whatever the hand."""
        return self.lead_from_mm <= self.thread.lead <= self.lead_to_mm

    @property
    def as_cut(self) -> bool | None:
        """Whether the lead that the setup cuts is still possible, whatever the hand; None where no setup is named."""
        return None if self.setup is None else self.lead_from_mm <= self.setup.lead_mm <= self.lead_to_mm

    @property
    def only_as_cut(self) -> bool:
        """Whether it agrees with what the setup cuts, and not with the thread, whose own lead that is not."""
        return bool(self.as_cut) and not self.lead_agrees and not self.wrong_hand

    @property
    def wrong_hand(self) -> bool:
        """Whether the hand that was seen is not the one that was wanted."""
        return self.hand is not None and self.hand != self.thread.hand

    @property
    def leads_left(self) -> tuple[Exact, ...]:
        """The other standard leads that are still possible, mm, exact, each once, in the order of also_possible."""
        leads = (thread.lead for thread in self.also_possible)
        return tuple(dict.fromkeys(lead for lead in leads if lead != self.thread.lead))

    def turns_to_tell(self, other: ThreadLike) -> int | None:
        """Give the turns over which this uncertainty tells the thread from another for sure; None for equal leads.

        >>> judge_measurement("1.25 mm", turns=4, length_mm=5, uncertainty_mm=0.1).turns_to_tell("20 tpi")
        11

        `other`: a Thread or its text. Raises ThreadTextError for text that is no thread.
        """
        return turns_to_tell(self.thread, other, self.uncertainty_mm)

    @property
    def turns_to_be_sure(self) -> int | None:
        """Over how many turns the thread could be told from each of also_possible.

        None where nothing else is left, and where the other hand is: no number of turns tells the hands apart.
        """
        needed = [self.turns_to_tell(other) for other in self.also_possible]
        return max((turns for turns in needed if turns is not None), default=None) if None not in needed else None

    @property
    def how_sure(self) -> str:
        """How sure it is, in a few words."""
        if self.wrong_hand:
            return f"it is {self.hand}-hand" + ("" if self.lead_agrees else ", and another pitch")
        if self.agrees:
            return f"it agrees, {'but other pitches would too' if self.also_possible else 'and nothing else does'}"
        if self.only_as_cut:
            return "it is what the setup cuts"
        return "it is another pitch" if self.also_possible else "it is not, and no standard pitch fits"

    @property
    def why(self) -> str:
        """What the measurement says and how sure that is, in plain words."""
        said = [_what_it_says(self), _what_is_left(self)]
        if self.agrees and (needed := self.turns_to_be_sure) is not None:
            length = both_units.travel(self.thread.lead * needed, self.units, places=1)
            said.append(f"Over {writing.turns(needed)} ({length}) the same instrument tells them apart for certain.")
        if not self.uncertainty_mm:
            said.append("But no instrument is good to ± 0: give what yours is.")
        return " ".join(said)

    def __str__(self) -> str:
        return self.why

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str | markup.Written]] = [
            ("measured", _measured(self)),
            ("lead as measured", writing.lead(self.lead_mm, self.thread.starts, self.units)),
            ("possible leads", _band_in_words(self)),
            ("wanted", writing.lead(self.thread.lead, self.thread.starts, self.units)),
            ("hand seen", self.hand or "not looked at"),
            ("agrees", "yes" if self.agrees else "no"),
            ("also possible", _named(self) or "no other standard pitch"),
        ]
        if self.agrees and self.turns_to_be_sure is not None:
            rows.append(("turns to be sure", str(self.turns_to_be_sure)))
        return markup.html_table(f"Is it {self.thread}?", rows, note=self.why)


def judge_measurement(
    thread: ThreadLike,
    turns: NumberLike,
    length_mm: NumberLike,
    uncertainty_mm: NumberLike,
    hand: str | None = None,
    units: Units = "mm",
    setup: Setup | None = None,
) -> Judgement:
    """Judge whether it is the thread that was wanted: what a length over several turns leaves possible.

    >>> weak = judge_measurement("1.25 mm", turns=10, length_mm=12.6, uncertainty_mm=0.25)
    >>> weak.agrees, float(weak.lead_from_mm), float(weak.lead_to_mm), weak.turns_to_tell("20 tpi")
    (True, 1.235, 1.285, 26)
    >>> print(weak)
    12.6 ± 0.25 mm over 10 turns leaves leads of 1.235 to 1.285 mm: 1.25 mm agrees. 1.27 mm (20 tpi) would agree too, \
so it is not proven. Over 26 turns (32.5 mm) the same instrument tells them apart for certain.
    >>> sharp = judge_measurement("1.25 mm", turns=26, length_mm=32.6, uncertainty_mm=0.25)
    >>> sharp.agrees, sharp.also_possible
    (True, ())
    >>> judge_measurement("16 tpi LH", turns=16, length_mm=25.4, uncertainty_mm=0.1, hand="right").agrees
    False
    >>> from gearcalc.finding.setups import setup
    >>> from gearcalc.lathes import demo_lathe
    >>> near = setup(demo_lathe("inch"), (70, 63), (50, 80), "low", wanted="1.75 mm")
    >>> print(judge_measurement("1.75 mm", 20, "35.004", "0.001", setup=near))
    35.004 ± 0.001 mm over 20 turns leaves leads of 1.75015 to 1.75025 mm: not that of 1.75 mm, but what the setup \
cuts, ≈ 14.512 tpi (≈ 1.7502 mm), +125 ppm. So there is no slip to look for.

    `thread`: a Thread or its text. `turns`: how many turns the length is of, over 0 to 10 000; counting threads, that
    is threads over starts. `length_mm`: advance along the axis over those turns, over 0 to 100 000 mm.
    `uncertainty_mm`: the limit, ±, that the length is sure to be within, 0 up to the pitch, below the length.
    `hand`: 'right' or 'left', as seen on the work; None where nobody looked. Both hands have the same lead, so a hand
    other than the wanted one never agrees, whatever the length. `units`: what is read first, 'mm' or 'inch', as a
    lathe's `units`; never what is reckoned. `setup`: the gears that cut it: where they cut another lead than the
    thread's, it need be no slip that was measured.
    A float is taken as the decimal that it prints as; all else is exact.
    Raises ThreadTextError for text that is no thread, ValueOutOfRangeError for anything else outside these.
    Formula: lead = (length ± uncertainty) / turns, both limits the worst case.
    """
    wanted = as_thread(thread)
    remedy = "Count the turns of the spindle, or the threads of one start, that the length spans."
    counted = as_number(
        turns, what="the turns that the length spans", most=10_000, above=True, unit="turns", remedy=remedy
    )
    remedy = "Give the advance along the axis in millimetres."
    length = as_number(length_mm, what="the length measured", most=100_000, above=True, unit="mm", remedy=remedy)
    limit = _limit_of(uncertainty_mm)
    check_hand(hand, "where nobody looked")
    if limit > wanted.pitch:
        raise ValueOutOfRangeError(
            f"a limit of ± {writing.length(limit)} is larger than the pitch, {writing.length(wanted.pitch)}: "
            "the edge may have stood at the next thread, so this measurement tells nothing",
            remedy="Take a finer instrument, one that is sure to well within one pitch.",
        )
    if limit >= length:
        raise ValueOutOfRangeError(
            f"a limit of ± {writing.length(limit)} leaves nothing of a length of {writing.length(length)}",
            remedy="Measure over more turns, or with a finer instrument.",
        )
    lowest, highest = (length - limit) / counted, (length + limit) / counted
    others = _others(wanted, (lowest, highest), length / counted, hand)
    made = None if setup is None else as_setup(setup)
    return Judgement(wanted, counted, length, limit, lowest, highest, others, hand, as_units(units), made)


def turns_to_tell(thread: ThreadLike, other: ThreadLike, uncertainty_mm: NumberLike) -> int | None:
    """Give over how many turns a length known to ± the uncertainty tells two leads apart for certain.

    >>> turns_to_tell("1.25 mm", "20 tpi", uncertainty_mm=0.05)
    6
    >>> turns_to_tell("1.27 mm", "20 tpi", uncertainty_mm=0.05) is None
    True

    `thread`, `other`: Threads or their texts. The rule is that of turns_between(). `uncertainty_mm`: ±, 0 to 1000 mm.
    None where both have the same lead: no length tells those apart.
    Raises ThreadTextError for text that is no thread, ValueOutOfRangeError for an uncertainty outside that.
    """
    return turns_between(as_thread(thread).lead, as_thread(other).lead, _limit_of(uncertainty_mm))


def turns_between(one: Exact, other: Exact, uncertainty_mm: Fraction) -> int | None:
    """Over how many turns a length known to ± the uncertainty tells one lead, mm, from another for certain.

    >>> turns_between(Fraction(5, 4), Fraction(127, 100), Fraction(1, 10))
    11

    After n turns the two are n × |difference| apart. One of them was cut; its reading may be off by the uncertainty
    towards the other, and the reading leaves possible whatever lies within the uncertainty of it, the very end
    included. So it takes n × |difference| > 2 × uncertainty, and exactly twice is one turn too few: a reading in the
    middle would then fit both. The answer is the least such n, at least 1; None where the leads are equal.
    """
    both_ways = 2 * uncertainty_mm
    if one == other:
        return None
    digits = 30
    while True:  # with π in one of them the quotient is never whole, so that bounds of π decide in the end
        low, high = (at_pi(one, pi) - at_pi(other, pi) for pi in pi_bounds(digits))
        if low * high > 0 and both_ways // abs(low) == both_ways // abs(high):  # else the bounds lie on either side
            return int(both_ways // abs(low)) + 1
        digits *= 2


def at_pi(lead: Exact, pi: Fraction) -> Fraction:
    """A lead with this number for the π that is in it; itself where none is.

    >>> at_pi(PiMultiple(Fraction(1, 2)), Fraction(22, 7)), at_pi(Fraction(3), Fraction(22, 7))
    (Fraction(11, 7), Fraction(3, 1))
    """
    return coefficient(lead) * pi if isinstance(lead, PiMultiple) else lead


def _others(wanted: Thread, band: tuple[Fraction, Fraction], middle: Fraction, hand: str | None) -> tuple[Thread, ...]:
    """Tables list sizes, which are cut in either hand: with a hand seen, theirs is that."""
    possible = [thread for thread in (wanted, *standard_threads()) if band[0] <= thread.lead <= band[1]]
    others = [thread for thread in possible if thread.lead != wanted.lead]
    others.sort(key=lambda thread: RelativeError(middle, thread.lead))
    if hand not in (None, wanted.hand) and wanted in possible:
        others.insert(0, wanted)
    return tuple(evolve(thread, hand=hand or thread.hand) for thread in others)


def _limit_of(given: object) -> Fraction:
    remedy = "Give how far, in mm, the length may be off either way; by a rule 0.25 (common practice)."
    return as_number(given, what="the limit", most=1000, unit="mm", remedy=remedy)


# The words.


def _measured(judgement: Judgement) -> str:
    length, doubt = judgement.length_mm, judgement.uncertainty_mm
    measured = f"{writing.decimal(length, 6)} ± {writing.length(doubt)}"
    if judgement.units == "inch":
        measured = both_units.span(length, doubt, "inch", link="±")
    return f"{measured} over {writing.turns(judgement.turns)}"


def _band_in_words(judgement: Judgement) -> str:
    places = both_units.places_for(judgement.lead_uncertainty_mm)
    return both_units.span(judgement.lead_from_mm, judgement.lead_to_mm, judgement.units, places=places)


def _named(judgement: Judgement, link: str = "and") -> str:
    leads = [writing.lead(lead, first=judgement.units).text for lead in judgement.leads_left]
    more = len(leads) - _MOST_NAMED
    others = [f"{more} {'others' if more > 1 else 'other'}"] if more > 0 else []
    return writing.listed([*leads[:_MOST_NAMED], *others], link) if leads else ""


def _what_it_says(judgement: Judgement) -> str:
    leaves = f"{_measured(judgement)} leaves leads of {_band_in_words(judgement)}:"
    if judgement.only_as_cut and judgement.setup is not None:
        cuts = judgement.setup.written_lead
        off = writing.error(RelativeError(judgement.setup.lead_mm, judgement.thread.lead))
        return f"{leaves} not that of {judgement.thread}, but what the setup cuts, {cuts}, {off}."
    says = "agrees" if judgement.lead_agrees else "does not agree"
    if judgement.wrong_hand:
        says = "has such a lead, and does not agree all the same" if judgement.lead_agrees else says
        says += f": it is {judgement.thread.hand}-hand, and this one came out {judgement.hand}-hand"
    return f"{leaves} {judgement.thread} {says}."


def _what_is_left(judgement: Judgement) -> str:
    if judgement.wrong_hand and judgement.lead_agrees:
        return "No length mends a wrong hand: isolate the lathe, then look at the reverse and count the idlers."
    if judgement.agrees and not judgement.leads_left:
        proven = "it is proven" if judgement.hand is not None else "its lead is proven (look at the hand too)"
        return f"No other standard pitch does, so {proven} as surely as that limit holds."
    if judgement.agrees:
        return f"{_named(judgement)} would agree too, so it is not proven."
    if judgement.only_as_cut and judgement.setup is not None:
        return f"So there is no slip to look for. {judgement.setup.shortfall}".rstrip()
    if len(judgement.leads_left) > 1:
        return f"It may be {_named(judgement, 'or')}."
    if judgement.leads_left:
        return f"Of the standard pitches only {_named(judgement)} fits."
    return "Nor does any standard pitch: count the turns again, then look for a slip in the setup."
