"""A setup: a train on a lathe with the lever in a position. What it cuts, exactly, and which way round."""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property

from attrs import evolve, field, frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import shown
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import RelativeError, coefficient
from gearcalc.basics.markup import ShownAsWritten
from gearcalc.finding.strain import PULLED_BY_HAND, is_strained, strain_in_words
from gearcalc.fits import Fit, fitting
from gearcalc.fits.geometry import layout_if_any
from gearcalc.lathes import Lathe, Lever, as_lathe
from gearcalc.lathes.directions import OTHER_HAND, REVERSE_OVER, Turning, natural_hand, turning
from gearcalc.lathes.frames import is_way
from gearcalc.lathes.lathe import lead_to_cut
from gearcalc.lathes.levers import levers_the_other_way
from gearcalc.lathes.orders import gears_moved
from gearcalc.lathes.readings import as_pieces
from gearcalc.lathes.trains import GearsLike, IdlersLike, Train
from gearcalc.threads import Feed, Thread, WantedLike
from gearcalc.threads.deviations import is_good_enough, shortfall
from gearcalc.threads.wanted import Wanted, as_wanted, wanted_hand

_BY_THE_HALF_NUTS = (
    "The feed goes by the half-nuts: the lathe file names no other drive for it under [feeds]. Where there is none, it "
    "is done so, at the price of wear on half-nuts and leadscrew."
)


def _makes_the_lead_of(lathe: Lathe) -> tuple[object, ...]:
    return lathe.leadscrew, lathe.spindle_side, lathe.gearbox, lathe.box, lathe.feeds


@frozen(cache_hash=True)
class Setup(ShownAsWritten):
    """A train on a lathe, lever set: what it cuts. Made by setup() or find_setups().

    `lathe`: the one that it was made for. `fit`: whether it goes on, None where the file has no bracket or no size of
    gear; its train may have idlers added, and `as_built` is the setup with them.
    """

    lathe: Lathe = field(repr=False, eq=_makes_the_lead_of)
    train: Train
    lever: str | None = None
    wanted: Wanted | None = None
    fit: Fit | None = field(default=None, eq=False)

    @property
    def position(self) -> Lever | None:
        """Where the lever stands, None without a gearbox."""
        return self.lathe.lever(self.lever)

    @cached_property
    def leadscrew_turns(self) -> Fraction:
        """Turns of the leadscrew for one turn of the spindle: spindle-side ratio × train ratio × lever ratio."""
        position = self.position
        return self.lathe.spindle_ratio * self.train.ratio * (position.ratio if position else 1)

    @property
    def first_driver_turns(self) -> Fraction:
        """Turns of the first driver for one turn of the spindle, levers ahead of the change gears counted in."""
        position = self.position
        return self.lathe.spindle_ratio * (position.ahead if position else 1)

    @cached_property
    def lead_mm(self) -> Fraction:
        """Travel of the carriage by the half-nuts in one turn of the spindle, mm, exact."""
        return self.lathe.leadscrew.lead * self.leadscrew_turns

    @cached_property
    def error(self) -> RelativeError | None:
        """(cut − wanted) / wanted, exact; None when nothing is wanted."""
        return None if self.wanted is None else RelativeError(self.lead_mm, lead_to_cut(self.lathe, self.wanted))

    @property
    def natural_hand(self) -> str:
        """The hand that it cuts with the reverse (if any) as the lathe file describes it."""
        return natural_hand(self.lathe, self.train.turns_the_same_way, self.position)

    @property
    def reverse_fitted(self) -> bool:
        """Whether the lathe has a reverse."""
        return self.lathe.spindle_side.reverse

    @property
    def on_plate(self) -> bool:
        """Whether the machine's own plate lists these gears with this lever."""
        row = tuple(sorted(self.train.drivers)), tuple(sorted(self.train.driven))
        of_lever = (row for row in self.lathe.plate if row.lever == self.lever)
        return any(is_way(self.lathe.gear_set, row, each.drivers, each.driven) for each in of_lever)

    @property
    def error_ppm(self) -> float | None:
        """(cut − wanted) / wanted in ppm, positive when the cut lead is too long; None when nothing is wanted."""
        return None if self.error is None else self.error.ppm

    @property
    def is_exact(self) -> bool:
        """Whether it cuts just what is wanted; False when nothing is wanted."""
        return self.error is not None and self.error.is_exact

    @property
    def starts(self) -> int:
        """Of the thread that is wanted; 1 where none is, since gears know only the lead."""
        return self.wanted.starts if isinstance(self.wanted, Thread) else 1

    @property
    def written_lead(self) -> markup.Written:
        """The lead both ways, the lathe's unit first; threads per inch as a gauge finds them, of the starts wanted."""
        return writing.lead(self.lead_mm, self.starts, self.lathe.units)

    @property
    def shortfall(self) -> str:
        """Why it is not good enough for what is wanted, in a sentence; nothing where it is, or nothing is wanted.

        >>> from gearcalc.lathes import demo_lathe
        >>> print(setup(demo_lathe("inch"), 40, 80, "low", wanted="0.8 mm").shortfall)
        Not good enough for 0.8 mm: −7813 ppm is more than the 1000 ppm that we let pass where no tolerance is known.
        """
        if self.wanted is None or self.error is None:
            return ""
        if isinstance(self.wanted, Thread) and self._goes_the_wrong_way:
            return f"Not good enough for {self.wanted}: it cuts a {OTHER_HAND[self.wanted.hand]}-hand thread."
        return shortfall(self.wanted, self.error)

    @property
    def good_enough(self) -> bool | None:
        """Whether it is good enough for what is wanted; None where that can't be judged, or nothing is wanted."""
        if self.wanted is None or self.error is None:
            return None
        return False if self.shortfall else is_good_enough(self.wanted, self.error)

    @property
    def by_half_nuts(self) -> bool:
        """Whether a feed is wanted that goes through the half-nuts, as where the lathe file gives no feed drive.

        >>> from gearcalc.lathes import demo_lathe
        >>> setup(demo_lathe("metric"), 20, 60, "slow", wanted="0.05 mm/rev").by_half_nuts
        False
        """
        if not isinstance(self.wanted, Feed) or self.wanted.along == "cross" or self.error is None:
            return False
        return self.error.wanted == self.wanted.travel_mm

    @property
    def way_known(self) -> bool:
        """Whether it can be reckoned which way the carriage goes: the file knows nothing of the gears of a feed drive.

        >>> from gearcalc.lathes import demo_lathe
        >>> lathe = demo_lathe("inch")
        >>> [setup(lathe, 40, 80, "low", wanted=wanted).way_known for wanted in ("32 tpi", "0.1 mm/rev", None)]
        [True, False, True]
        """
        return not isinstance(self.wanted, Feed) or self.by_half_nuts

    @property
    def feed_mm(self) -> Fraction | None:
        """Travel of the tool by the feed drive in one turn of the spindle, mm, exact; None unless a feed is wanted.

        >>> from gearcalc.lathes import demo_lathe
        >>> setup(demo_lathe("metric"), 20, 60, "slow", wanted="0.05 mm/rev").feed_mm
        Fraction(1, 24)
        """
        if not isinstance(self.wanted, Feed) or self.error is None:
            return None
        return self.wanted.travel_mm * self.lead_mm / coefficient(self.error.wanted)

    @property
    def as_built(self) -> Setup:
        """The same as it goes on the bracket: arranged, idlers added. Itself where nothing is known to go on.

        >>> from gearcalc.lathes import demo_lathe
        >>> by_hand = setup(demo_lathe("inch"), 40, 80, "middle")
        >>> print(by_hand.train, "|", by_hand.as_built.train)
        40/80 | 40/80, idler 25
        >>> by_hand.reverse_over, by_hand.as_built.reverse_over
        (True, False)
        """
        if self.fit is None or not self.fit.goes_on or self.fit.train == self.train:
            return self
        return evolve(self, train=self.fit.train)

    @property
    def reverse_over(self) -> bool:
        """Whether the reverse must stand in its other position for the hand that is wanted; never by a feed drive."""
        return self.reverse_fitted and self.way_known and wanted_hand(self.wanted) != self.natural_hand

    @property
    def reverse_stands(self) -> str:
        """How the reverse stands, in words."""
        if not self.way_known:
            return "as the feed is to go"
        return "over" if self.reverse_over else "as the lathe file describes it"

    @property
    def hand(self) -> str:
        """The hand that it cuts: the one wanted where a reverse is fitted, else the natural one."""
        return wanted_hand(self.wanted) if self.reverse_fitted else self.natural_hand

    @property
    def strained(self) -> bool:
        """Whether the ratio in one mesh is higher, or the leadscrew faster, than common practice allows."""
        return is_strained(self.train.steepest, self.leadscrew_turns)

    @property
    def pulled_by_hand(self) -> bool:
        """Whether the leadscrew is so fast that nothing is run under power."""
        return self.leadscrew_turns > PULLED_BY_HAND

    @property
    def warnings(self) -> tuple[str, ...]:
        """What to mind with this setup, in words."""
        said = [*strain_in_words(self.train.steepest, self.leadscrew_turns)]
        if self._goes_the_wrong_way:
            way = f"This cuts a {self.natural_hand}-hand thread"
            if isinstance(self.wanted, Feed):
                way = "By the half-nuts the carriage goes away from the headstock"
            lever = self.lever_the_other_way
            how = "put an idler more (or less) in one mesh" if lever is None else f"put the {lever}"
            said.append(f"{way}, and the lathe has no reverse: {how}.")
        if isinstance(self.wanted, Thread) and self.wanted.note:
            said.append(self.wanted.note)
        if self.by_half_nuts:
            said.append(_BY_THE_HALF_NUTS)
        return tuple(said)

    @property
    def lever_the_other_way(self) -> str | None:
        """Which lever would turn the leadscrew the other way, no faster and no slower, in words; None: none does."""
        to_move = levers_the_other_way(self.position, self.lathe.positions)
        return writing.listed([f"{stand.called} at {stand.at}" for stand in to_move]) if to_move else None

    @property
    def _goes_the_wrong_way(self) -> bool:
        wrong = self.as_built.natural_hand != wanted_hand(self.wanted)
        return wrong and self.way_known and not self.reverse_fitted

    def cost(self, other: Setup) -> int:
        """Count the places (first driver, first driven, ..., idlers) that hold a different gear in the other setup.

        >>> from gearcalc.lathes import demo_lathe
        >>> one = setup(demo_lathe("inch"), drivers=(40,), driven=(80,), lever="low")
        >>> one.cost(setup(demo_lathe("inch"), drivers=(40,), driven=(60,), lever="middle"))
        1
        """
        return gears_moved(self.lathe.gear_set, self.train, as_setup(other).train)

    @property
    def settings(self) -> str:
        """Where the lever stands, and 'reverse over' where this train needs that; empty where neither is to be said.

        >>> from gearcalc.lathes import demo_lathe
        >>> setup(demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi").settings
        'middle, reverse over'

        Where nothing is wanted no hand is, and nothing is said of the reverse.
        """
        over = self.reverse_over and self.wanted is not None
        return ", ".join(filter(None, (self.lever, REVERSE_OVER if over else None)))

    @property
    def settings_said(self) -> str:
        """The same as it is said behind a train: 'lever low, reverse over', or 'levers range slow, tumbler back'."""
        said = self.settings
        return said if self.position is None or self.lever is None else self.position.said + said[len(self.lever) :]

    @property
    def gears_and_lever(self) -> str:
        """The train and where the lever stands, no more.

        >>> from gearcalc.lathes import demo_lathe
        >>> setup(demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi").gears_and_lever
        '40/80, lever middle'
        """
        return f"{self.train}{f', {self.position.said}' if self.position and self.lever is not None else ''}"

    @property
    def written(self) -> markup.Written:
        """Train, lever, lead (or feed) and error; 'reverse over' where the train as it is written needs that."""
        shown = self.train.written
        if self.settings:
            shown += f", {self.settings_said}"
        name, travel = self._travel
        shown += f": {name} "
        shown += travel
        if self.error is not None:
            shown += ", "
            per_cent = isinstance(self.wanted, Feed) and not self.is_exact
            off = writing.with_sign(float(self.error.ppm) / 10_000, "%", coarse_from=1000)
            shown += off if per_cent else writing.error(self.error)
        if self.shortfall:
            other_hand = isinstance(self.wanted, Thread) and self._goes_the_wrong_way
            shown += f", {self.as_built.hand}-hand, not good enough" if other_hand else ", not good enough"
        return shown

    @property
    def _travel(self) -> tuple[str, markup.Written]:
        if isinstance(self.wanted, Feed) and self.feed_mm is not None:
            drive = " by the half-nuts" if self.by_half_nuts else ""
            return "feed", both_units.feed(self.feed_mm, self.lathe.units) + f" {self.wanted.along}{drive}"
        return "lead", self.written_lead

    def _repr_html_(self) -> str:
        rows: list[tuple[str, str | markup.Written]] = [(place, str(teeth)) for place, teeth in self.train.places()]
        if self.position is not None and self.lever is not None:
            rows += [(stand.called, stand.at) for stand in self.position.stands]
        if self.reverse_fitted:
            built = self.as_built
            idlers = ", with the idlers that it goes on with" if built.train != self.train else ""
            rows.append(("reverse", built.reverse_stands + idlers))
        rows.append(self._travel)
        if not isinstance(self.wanted, Feed):
            rows.append(("hand", self.hand))
        if self.error is not None:
            rows.append(("error", writing.error(self.error)))
        rows.append(("fit", "not checked" if self.fit is None else str(self.fit)))
        caption = f"Setup for {self.wanted}" if self.wanted is not None else "Setup"
        if self.shortfall:
            rows.insert(0, ("good enough", f"no. {self.shortfall}"))
        return markup.html_table(caption, rows, note=" ".join(self.warnings))


def as_setup(given: object) -> Setup:
    """The setup itself; anything else is refused with a word on how to get one.

    >>> as_setup("40/80")
    Traceback (most recent call last):
    gearcalc.basics.errors.ValueOutOfRangeError: a setup is wanted here, not '40/80'. Make one with setup(), or take \
one of find_setups().

    Raises ValueOutOfRangeError.
    """
    if isinstance(given, Setup):
        return given
    make = "A setup knows its lathe, so that goes without saying: make" if isinstance(given, Lathe) else "Make"
    remedy = f"{make} one with setup(), or take one of find_setups()."
    raise ValueOutOfRangeError("a setup is wanted here", value=shown(given), remedy=remedy)


def setup(
    lathe: Lathe,
    drivers: GearsLike,
    driven: GearsLike,
    lever: str | None = None,
    idlers: IdlersLike = (),
    wanted: WantedLike | None = None,
) -> Setup:
    """Make a setup of these gears, and work out what it cuts.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(setup(demo_lathe("inch"), drivers=(40,), driven=(80,), lever="low", wanted="32 tpi"))
    40/80, lever low, reverse over: lead 32 tpi (0.79375 mm), exact

    `lathe`: a Lathe; `drivers`, `driven`, `idlers` as for Train; `lever` the name of a gearbox position, None without a
    gearbox; where there are several levers it names each, 'range slow, tumbler back'; `wanted` a Thread or a Feed, or
    the text of one, to have the error worked out.
    The train stays as given; of several gears of one count the loose one of the first size is meant, if it can stand
    there. Whether it goes on the bracket, with idlers where none are named, is in `.fit`.
    Raises GearNotOwnedError, NotPossibleError where the gears can't stand so, UnknownNameError (lever),
    ValueOutOfRangeError (no gear, no lathe), ThreadTextError.
    """
    lathe, train = as_lathe(lathe), Train(drivers, driven, idlers)
    train = as_pieces(lathe.gear_set, train)
    position, wanted = lathe.lever(lever), None if wanted is None else as_wanted(wanted)
    if wanted is not None:
        lead_to_cut(lathe, wanted)  # refuses a feed that the lathe has not
    return assemble(lathe, train, position, wanted, fit_if_any(lathe, train, position, wanted))


def fit_if_any(
    lathe: Lathe,
    train: Train,
    lever: Lever | None,
    wanted: Wanted | None,
    mounted: Train | None = None,
    *,
    keep_order: bool = False,
) -> Fit | None:
    """Whether a train goes on; None where the lathe file can't tell.

    `mounted`: leave these gears where they are, where that can be; `keep_order`: try only the order given, which is so
    anyway where the train names idlers.
    """
    if layout_if_any(lathe) is None:
        return None
    hand, keep_order = None if wanted is None else wanted_hand(wanted), keep_order or any(train.idlers)
    name = lever.name if lever else None
    return fitting.fit(lathe, train, hand=hand, lever=name, mounted=mounted, keep_order=keep_order)


def refitted(lathe: Lathe, made: Setup, mounted: Train | None = None, *, keep_order: bool = False) -> Setup:
    """The setup as it goes on, fitted again with the gears that the lathe has now; arguments as for fit_if_any()."""
    fit = fit_if_any(lathe, made.train, made.position, made.wanted, mounted, keep_order=keep_order)
    return evolve(made, fit=fit).as_built


def assemble(lathe: Lathe, train: Train, lever: Lever | None, wanted: Wanted | None, fit: Fit | None = None) -> Setup:
    """A setup from parts known to be the lathe's own; the gears are not checked again."""
    return Setup(lathe, train, lever.name if lever else None, wanted, fit)


def turning_of(made: Setup, train: Train | None = None) -> Turning:
    """Which way the shafts of a setup turn, the reverse set for the hand that is wanted.

    >>> from gearcalc.lathes import demo_lathe
    >>> turning_of(setup(demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi")).provided
    'spindle forward: clockwise; reverse over'

    `train`: as it is drawn, where that has other idlers than the setup names.
    """
    drawn = made if train is None else evolve(made, train=train)
    same_way = drawn.train.turns_the_same_way
    return turning(drawn.lathe, same_way, drawn.position, reverse_over=drawn.reverse_over)
