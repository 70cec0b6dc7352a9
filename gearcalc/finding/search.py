"""Which gears cut what is wanted? The trains and lever positions of a lathe, best first, or why there are none."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import cached_property
from itertools import islice
from typing import Self

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_meshes, as_number, as_teeth, as_whole, as_yes_or_no, is_several
from gearcalc.basics.errors import NoSetupError, ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, MILLION, NumberLike
from gearcalc.basics.listed import Numbered
from gearcalc.finding.choosing import First, choose_within, why_the_first
from gearcalc.finding.mounted import Mounted, train_mounted
from gearcalc.finding.none_found import why_nothing
from gearcalc.finding.rankings import NothingGoesOnError, Query, ranked
from gearcalc.finding.setups import Setup
from gearcalc.finding.staying import ranked_from
from gearcalc.finding.straight_across import fit_not_checked
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.directions import REVERSE_OVER, REVERSE_OVER_NOTE
from gearcalc.lathes.orders import HOW_MOVED_COUNTS, gears_moved, to_move
from gearcalc.threads import WantedLike
from gearcalc.threads.wanted import Wanted, as_wanted

MOST_MESHES = 4
_MOST_SETUPS = 10_000
_MOST_NAMED = 1000
_MOUNTED_CUTS_IT = "What is mounted cuts it: no gear has to be moved."


def find_setups(
    lathe: Lathe,
    wanted: WantedLike,
    meshes: int | Iterable[int] = (1, 2, 3),
    count: int = 20,
    within_ppm: NumberLike | None = None,
    must_fit: bool = True,
    mounted: Mounted | None = None,
    avoid: int | Iterable[int] = (),
    one_per_ratio: bool = False,
    first: First = "nearest",
) -> SetupList:
    """Find the setups that cut what is wanted, or come closest to it, best first.

    >>> from gearcalc.lathes import demo_lathe
    >>> for found in find_setups(demo_lathe("inch"), "1.75 mm", count=2, one_per_ratio=True):
    ...     print(found)
    (55 · 60 · 38)/(65 · 50 · 35), lever low, reverse over: lead ≈ 14.514 tpi (≈ 1.7501 mm), +50.2 ppm
    (70 · 63)/(50 · 80), lever low: lead ≈ 14.512 tpi (≈ 1.7502 mm), +125 ppm
    >>> print(find_setups(demo_lathe("inch"), "1.75 mm", within_ppm=10).why)
    No train of 1, 2 or 3 meshes of these gears cuts 1.75 mm within 10 ppm. The closest is \
(55 · 60 · 38)/(65 · 50 · 35), lever low, reverse over: lead ≈ 14.514 tpi (≈ 1.7501 mm), +50.2 ppm. One gear more \
would make it exact, 127 teeth: 35/127, idler 20, lever high: lead ≈ 14.514 tpi (1.75 mm), exact.

    `lathe`: a Lathe. `wanted`: a Thread, its text, or a Feed. `meshes`: numbers of driver–driven pairs, 1 to 4.
    `count`: at most so many setups, 1 to 10000. `within_ppm`: drop what is further off, 0 (only exact) or more.
    `must_fit`: leave out what does not go on the bracket; without it those come last among equals. No effect on a
    lathe whose file describes no bracket or no size of gear: there the fit is not checked, and `.fit` is None.
    `mounted`: what is on the lathe now, a Setup, a Train or its text; the idlers without which it can't stand there
    are put to it. It comes first where it is not strained and as near as the nearest, or good enough to choose where
    the simplest is asked for. Among equals the setups that move fewest gears come first, their meshes arranged so;
    the list says how many each moves, `.moves`.
    `avoid`: up to 1000 tooth counts not to use, not even as idlers.
    `one_per_ratio`: of all setups that cut equal leads (train ratio × lever ratio the same) only the best.
    `first`: 'nearest', the least error first; 'simplest', as a person would choose: of what is good enough to choose (a
    tenth of the thread's tolerance, 1000 ppm at most; 200 ppm where none is known; 1000 ppm for a feed; our
    conventions) not strained, fewest meshes, exact before up to 200 ppm before the rest, fewest gears moved, mildest.
    What is not good enough follows, the nearest first.

    >>> print(find_setups(demo_lathe("inch"), "M12", first="simplest")[0])
    (70 · 63)/(50 · 80), lever low: lead ≈ 14.512 tpi (≈ 1.7502 mm), +125 ppm

    A setup is a set of drivers, a set of driven and a lever: the same gears with the meshes in another order are not
    listed again. A tooth count stands on both sides only where it is owned twice and the equal pair is needed: for 1:1,
    to reach where the shorter train does not go on, to move fewer gears, or for meshes that the shorter train has not.
    The order is that of ranks.py, down to tooth counts, so that the list is the same each time. What goes on comes
    as it goes on, idlers added from the gears left over. Where the lathe has no reverse, a train that would cut the
    wrong hand gets an idler too, or is no answer.
    The list says in `.why` why it is empty, how close one could get, and which one gear more would make it exact; or
    that the search gave up, because thousands of trains did not go on.
    Raises ValueOutOfRangeError for arguments outside these, UnknownNameError for another order, ThreadTextError for
    text that is no thread, NotPossibleError for a feed that the lathe has not, or more than half a million ways to
    choose one side.
    """
    avoided = list(islice(avoid, _MOST_NAMED + 1)) if is_several(avoid) else [avoid]
    if len(avoided) > _MOST_NAMED:
        raise ValueOutOfRangeError(f"avoid must name at most {_MOST_NAMED} tooth counts", remedy="Give each once.")
    lathe, wanted = as_lathe(lathe), as_wanted(wanted)
    query = Query(
        lathe=lathe,
        wanted=wanted,
        meshes=as_meshes(meshes, most=MOST_MESHES),
        within=None if within_ppm is None else as_number(within_ppm, what="within_ppm") / MILLION,
        mounted=train_mounted(lathe, mounted),
        avoid=frozenset(as_teeth(teeth, what="avoid", fewest=1) for teeth in avoided),
        one_per_lead=as_yes_or_no(one_per_ratio, what="one_per_ratio"),
        must_fit=as_yes_or_no(must_fit, what="must_fit"),
        choose_within=choose_within(first, wanted),
    )
    return listed(query, as_whole(count, what="count", most=_MOST_SETUPS), ranked_from)


def listed(query: Query, count: int, ranking: Callable[[Query], Iterator[Setup]] = ranked) -> SetupList:
    """The first setups of a query; where there are none, the list says why."""
    found, why = [], ""
    try:
        _ = query.gear_set
    except NoSetupError as none_without:  # a gear to be avoided is fixed
        return SetupList(wanted=query.wanted, why=str(none_without), query=query)
    try:
        for setup in islice(ranking(query), count):
            found.append(setup)
    except NothingGoesOnError as gave_up:
        why = str(gave_up)
    return SetupList(found, wanted=query.wanted, why=why or ("" if found else why_nothing(query)), query=query)


class SetupList(Numbered[Setup]):
    """Setups, best first: a list like any other, to be read and not changed.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> from gearcalc.threads.wanted import as_wanted
    >>> one = setup(demo_lathe("inch"), drivers=(40,), driven=(80,), lever="low", wanted="32 tpi")
    >>> print(SetupList([one], wanted=as_wanted("32 tpi")))
    1. 40/80, lever low, reverse over: lead 32 tpi (0.79375 mm), exact
    Reverse over: turned over from how the lathe file describes it.
    >>> nothing = SetupList(why="The set has no gears.")
    >>> print(nothing)
    The set has no gears.
    >>> nothing[0]
    Traceback (most recent call last):
    gearcalc.basics.errors.NoSetupError: there is no setup to take. The set has no gears.

    `wanted`: what was asked for. `why`: why there is nothing, or no more, and what would help, in plain words; empty
    when the list holds all that was asked for. Taking a setup from an empty list raises NoSetupError, which says it.
    Where not even the best is good enough, that is said ahead of everything else. `query`: what was searched, where
    that is known.
    """

    def __init__(
        self, setups: Iterable[Setup] = (), *, wanted: Wanted | None = None, why: str = "", query: Query | None = None
    ) -> None:
        super().__init__(setups)
        self.wanted, self.why, self.query = wanted, why, query

    def _part(self, found: list[Setup]) -> Self:
        query = self.query if found[:1] == list(self)[:1] else None
        return type(self)(found, wanted=self.wanted, why=self.why, query=query)

    def _nothing_there(self) -> IndexError:
        return NoSetupError(f"there is no setup to take. {self.why or 'The list is empty.'}".removesuffix("."))

    @property
    def shortfall(self) -> str:
        """Why not even the best of them is good enough for what is wanted; nothing where it is, or nothing is there.

        >>> from gearcalc.lathes import demo_lathe
        >>> from gearcalc.finding.setups import setup
        >>> far = setup(demo_lathe("inch"), drivers=(40,), driven=(80,), lever="low", wanted="31.9 tpi")
        >>> print(SetupList([far]).shortfall)
        Not good enough for 31.9 tpi: −3125 ppm is more than the 1000 ppm that we let pass where no tolerance is known.
        """
        return super().__getitem__(0).shortfall if self else ""

    @cached_property
    def reason(self) -> str:
        """Why the first comes first, in a sentence, where it is mounted or the simplest was asked for; else nothing,
        nor where even the best is not good enough.

        >>> from gearcalc.lathes import demo_lathe
        >>> print(find_setups(demo_lathe("inch"), "M6", first="simplest").reason)
        Two pairs, +125 ppm: 1.2 % of the tolerance of 6g over 6 mm; none that was looked at comes nearer.
        """
        if not self or self.shortfall or self.query is None:
            return ""
        first, said = super().__getitem__(0), [_MOUNTED_CUTS_IT] if self._first_stands_there else []
        return " ".join([*said, *([why_the_first(self.query, first)] if self.query.choose_within is not None else [])])

    @cached_property
    def moves(self) -> tuple[int | None, ...]:
        """How many gears each setup moves from what is mounted; None where that is not known."""
        if self.query is None or self.query.mounted is None:
            return (None,) * len(self)
        return tuple(gears_moved(self.query.gear_set, self.query.mounted, setup.train) for setup in self)

    @property
    def lines(self) -> list[str]:
        """Each setup with its number, and how many gears it moves, where it is known what is mounted."""
        return [f"{line}{to_move(moved)}" for line, moved in zip(super().lines, self.moves, strict=True)]

    @property
    def _first_stands_there(self) -> bool:
        return self.moves[0] == 0

    @property
    def notes(self) -> tuple[str, ...]:
        """What to mind with these setups: each warning once, and whether the fit was looked at."""
        said = dict.fromkeys(warning for setup in self for warning in setup.warnings)
        if any(setup.reverse_over for setup in self):
            said[REVERSE_OVER_NOTE] = None
        said |= dict.fromkeys(fit_not_checked(self))
        if any(self.moves):
            said[HOW_MOVED_COUNTS] = None
        if self and self.why:
            said[self.why] = None
        return tuple(said)

    def __str__(self) -> str:
        first = [self.shortfall or self._shown_reason]
        return "\n".join(filter(None, (*first, *self.lines, *self.notes))) or self.why or "No setups."

    @property
    def _shown_reason(self) -> str:
        """Why the first comes first, unless that goes without saying, since it is exact."""
        if self and super().__getitem__(0).is_exact:
            return _MOUNTED_CUTS_IT if self._first_stands_there else ""
        return self.reason

    def _repr_html_(self) -> str:
        if not self:
            return f"<p>{markup.in_html(str(self))}</p>"
        caption = "Setups" if self.wanted is None else f"Setups for {self.wanted}"
        levers = any(setup.lever is not None for setup in self)
        travel, moved = (name for name, _ in _travel(self[0])), ["gears moved"] * (None not in self.moves)
        names = ("place", *["lever"] * levers, "train", *travel, "error", *moved, "remarks")
        setups = zip(self, self.moves, strict=True)
        rows = ([str(number), *_cells(setup, levers, moves)] for number, (setup, moves) in enumerate(setups, 1))
        above = f"<p><strong>{markup.in_html(self.shortfall)}</strong></p>" if self.shortfall else ""
        above += f"<p>{markup.in_html(self._shown_reason)}</p>" if not above and self._shown_reason else ""
        return above + markup.html_columns(caption, names, rows, notes=self.notes)


def _cells(setup: Setup, levers: bool, moves: int | None) -> list[str | markup.Written]:
    return [
        *([setup.lever or "none"] if levers else []),
        setup.train.written,
        *(cell for _, cell in _travel(setup)),
        writing.error(setup.error) if setup.error is not None else "",
        *([] if moves is None else [str(moves)]),
        ", ".join(_remarks(setup)),
    ]


def _travel(setup: Setup) -> list[tuple[str, markup.Written]]:
    """What it moves in one turn, by the heading that it stands under: what the lathe's owner reads stands first."""
    if setup.feed_mm is not None:
        return [("feed", both_units.feed(setup.feed_mm, setup.lathe.units))]
    lead, per_inch = writing.length(setup.lead_mm), writing.rounded(setup.starts * INCH_MM / setup.lead_mm, 3)
    both = [("lead", lead), ("threads per inch", per_inch)]
    return both if setup.lathe.units == "mm" else both[::-1]


def _remarks(setup: Setup) -> list[str]:
    said = ["not good enough"] if setup.shortfall else []
    if setup.reverse_over:
        said.append(REVERSE_OVER)
    if setup.on_plate:
        said.append("on the machine's plate")
    if setup.fit is not None and not setup.fit.goes_on:
        said.append("does not go on")
    if setup.strained:
        said.append("strained: see below")
    return said


def warnings_by_name(setups: Iterable[Setup | None]) -> list[str]:
    """What to mind with these setups, each warning once, behind the names of what it is for.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> coarse = setup(demo_lathe("inch"), 80, 20, "high", wanted="1 tpi")
    >>> [said[:42] for said in warnings_by_name([coarse, None])]
    ['1 tpi: The leadscrew turns more than 6 tim']
    """
    warned: dict[str, list[str]] = {}
    for made in setups:
        for warning in made.warnings if made is not None else ():
            warned.setdefault(warning, []).append(str(made.wanted if made is not None and made.wanted else "gears"))
    return [f"{', '.join(dict.fromkeys(names))}: {warning}" for warning, names in warned.items()]
