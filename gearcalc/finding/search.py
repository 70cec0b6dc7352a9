"""Which gears cut what is wanted? The trains and lever positions of a lathe, best first, or why there are none."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import cached_property
from itertools import islice
from math import gcd
from typing import SupportsIndex, overload

from attrs import evolve

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_number, as_teeth, as_whole, as_wholes, as_yes_or_no, is_several
from gearcalc.basics.errors import NoSetupError, NotPossibleError
from gearcalc.basics.exact import INCH_MM, MILLION, NumberLike
from gearcalc.finding.choosing import First, choose_within, why_the_first
from gearcalc.finding.rankings import NothingGoesOnError, Patience, Query, goals_of, ranked
from gearcalc.finding.setups import Mounted, Setup, train_mounted
from gearcalc.finding.tables import why_none_stands
from gearcalc.fits.arrangements import fewest_studs
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.directions import REVERSE_OVER, REVERSE_OVER_NOTE
from gearcalc.threads import WantedLike
from gearcalc.threads.wanted import Wanted, as_wanted

MOST_MESHES = 4
_MOST_SETUPS = 10_000
_MOST_NAMED = 1000


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
    `mounted`: what is on the lathe now, a Setup, a Train or its text; among equals the setups that move fewest gears
    come first, their meshes arranged so. `avoid`: tooth counts not to use, not even as idlers.
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
    avoided = islice(avoid, _MOST_NAMED) if is_several(avoid) else [avoid]
    lathe, wanted = as_lathe(lathe), as_wanted(wanted)
    query = Query(
        lathe=lathe,
        wanted=wanted,
        meshes=as_wholes(meshes, what="meshes", most=MOST_MESHES),
        within=None if within_ppm is None else as_number(within_ppm, what="within_ppm") / MILLION,
        mounted=train_mounted(lathe, mounted),
        avoid=frozenset(as_teeth(teeth, what="avoid", fewest=1) for teeth in avoided),
        one_per_lead=as_yes_or_no(one_per_ratio, what="one_per_ratio"),
        must_fit=as_yes_or_no(must_fit, what="must_fit"),
        choose_within=choose_within(first, wanted),
    )
    return listed(query, as_whole(count, what="count", most=_MOST_SETUPS))


def listed(query: Query, count: int) -> SetupList:
    """The first setups of a query; where there are none, the list says why."""
    found, why = [], ""
    try:
        for setup in islice(ranked(query), count):
            found.append(setup)
    except NothingGoesOnError as gave_up:
        why = str(gave_up)
    return SetupList(found, wanted=query.wanted, why=why or ("" if found else why_nothing(query)), query=query)


class SetupList(list[Setup]):
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

    @overload
    def __getitem__(self, place: SupportsIndex) -> Setup: ...
    @overload
    def __getitem__(self, place: slice) -> SetupList: ...
    def __getitem__(self, place: SupportsIndex | slice) -> Setup | SetupList:
        if not self and not isinstance(place, slice):
            raise NoSetupError(f"there is no setup to take. {self.why or 'The list is empty.'}".removesuffix("."))
        found = super().__getitem__(place)
        if not isinstance(found, list):
            return found
        return SetupList(
            found, wanted=self.wanted, why=self.why, query=self.query if found[:1] == list(self)[:1] else None
        )

    @property
    def shortfall(self) -> str:
        """Why not even the best of them is good enough for what is wanted; nothing where it is, or nothing is there.

        >>> from gearcalc.lathes import demo_lathe
        >>> from gearcalc.finding.setups import setup
        >>> far = setup(demo_lathe("inch"), drivers=(40,), driven=(80,), lever="low", wanted="31 tpi")
        >>> print(SetupList([far]).shortfall)
        Not good enough for 31 tpi: −31250 ppm is more than the 1000 ppm that we let pass where no tolerance is known.
        """
        return super().__getitem__(0).shortfall if self else ""

    @cached_property
    def reason(self) -> str:
        """Why the first comes first, in a sentence, where the simplest was asked for; else nothing, nor where even the
        best is not good enough.

        >>> from gearcalc.lathes import demo_lathe
        >>> print(find_setups(demo_lathe("inch"), "M6", first="simplest").reason)
        Two pairs, +125 ppm: 1.2 % of the tolerance of 6g over 6 mm; none that was looked at comes nearer.
        """
        if not self or self.shortfall or self.query is None or self.query.choose_within is None:
            return ""
        return why_the_first(self.query, super().__getitem__(0))

    @property
    def notes(self) -> tuple[str, ...]:
        """What to mind with these setups: each warning once, and whether the fit was looked at."""
        said = dict.fromkeys(warning for setup in self for warning in setup.warnings)
        if any(setup.reverse_over for setup in self):
            said[REVERSE_OVER_NOTE] = None
        if any(setup.fit is None for setup in self):
            said["Fit not checked."] = None
        if self and self.why:
            said[self.why] = None
        return tuple(said)

    def __str__(self) -> str:
        width = len(str(len(self)))
        lines = [f"{number:{width}}. {setup}" for number, setup in enumerate(self, 1)]
        first = [self.shortfall or self._shown_reason]
        return "\n".join(filter(None, (*first, *lines, *self.notes))) or self.why or "No setups."

    __repr__ = __str__

    @property
    def _shown_reason(self) -> str:
        """Why the first comes first, unless that goes without saying, since it is exact."""
        return "" if not self or super().__getitem__(0).is_exact else self.reason

    def _repr_html_(self) -> str:
        if not self:
            return f"<p>{markup.in_html(str(self))}</p>"
        caption = "Setups" if self.wanted is None else f"Setups for {self.wanted}"
        levers = any(setup.lever is not None for setup in self)
        names = ("place", *["lever"] * levers, "train", *(name for name, _ in _travel(self[0])), "error", "remarks")
        rows = ([str(number), *_cells(setup, levers)] for number, setup in enumerate(self, 1))
        above = f"<p><strong>{markup.in_html(self.shortfall)}</strong></p>" if self.shortfall else ""
        above += f"<p>{markup.in_html(self._shown_reason)}</p>" if not above and self._shown_reason else ""
        return above + markup.html_columns(caption, names, rows, notes=self.notes)


def _cells(setup: Setup, levers: bool) -> list[str | markup.Written]:
    return [
        *([setup.lever or "none"] if levers else []),
        setup.train.written,
        *(cell for _, cell in _travel(setup)),
        writing.error(setup.error) if setup.error is not None else "",
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


_FEWEST_TEETH, _MOST_TEETH = 16, 140
_USUAL_MESHES = (1, 2, 3)
_EXACTLY = Fraction(0)
_STEPS_FOR_WHY = 100_000  # for each search of those that say why another finds nothing


def why_nothing(query: Query) -> str:
    """Why a query finds nothing, the closest that there is, and one gear that would help, in plain words.

    >>> from gearcalc.lathes import Lathe, as_lathe
    >>> from gearcalc.threads import Thread
    >>> lathe = Lathe.from_toml('name = "Bench lathe"\\nleadscrew.lead = "8 tpi"\\ngears.teeth = [40, 60, 63]')
    >>> print(why_nothing(Query(lathe, Thread.parse("1.5 mm"), (1,), within=Fraction(0))))
    No train of 1 mesh of these gears cuts 1.5 mm exactly. The closest is 40/63, reverse over: lead 12.6 tpi \
(≈ 2.0159 mm), +343915 ppm, not good enough. One gear more would make it exact, 127 teeth: 60/127, reverse over: \
lead ≈ 16.933 tpi (1.5 mm), exact.

    `query`: one that ranks no setup at all.
    """
    query = evolve(query, choose_within=None)
    unbounded = evolve(query, within=None)
    there_are_studs = _are_studs_for(min(query.meshes), query)
    closest = None if query.within is None else _best(unbounded)
    look_at_misfits = query.must_fit and query.layout is not None and there_are_studs
    misfit = _best(evolve(query, must_fit=False)) if look_at_misfits else None
    if not there_are_studs:
        said = [_too_few_studs(query)]
    elif misfit is not None and misfit.fit is not None:
        not_on = (
            f"The closest is {misfit}, and it does not" if misfit.shortfall else f"{misfit}, would do, but does not"
        )
        said = [f"{not_on} go on the bracket.", *misfit.fit.reasons]
    else:
        said = [_not_so_close(query) if closest or _best(_on_no_bracket(unbounded)) else _too_few(query)]
    if closest is not None:
        said.append(f"The closest {'that goes on ' if misfit is not None else ''}is {closest}.")
    more = tuple(sorted({*query.meshes, *_USUAL_MESHES}))
    better = _best(evolve(unbounded, meshes=more)) if more != query.meshes else None
    if better is not None and (closest is None or _closer(better, closest)):
        meshes = writing.counted(better.train.meshes, "mesh", "meshes")
        said.append(f"With {meshes} it would be {better}.")
    only_the_fit = misfit is not None and misfit.is_exact
    do = "give an exact setup that goes on" if only_the_fit or not there_are_studs else "make it exact"
    said.append(_with_one_more(query, do))
    return " ".join(filter(None, said))


def gear_that_would_do(query: Query) -> tuple[int, Setup] | None:
    """One gear more, of 16 to 140 teeth, with which the lathe cuts exactly what is wanted, and how; None if none does.

    In the smallest train; among those the one that strains least and has the mildest steepest mesh, then the
    smallest gear. A second gear of a size that is there counts as one more, and so does one that is only an idler.
    Raises NotPossibleError when none was found and some could not be looked at to the end.
    """
    given_up: NotPossibleError | None = None
    patience = Patience(_STEPS_FOR_WHY)
    for meshes in query.meshes:
        alone = evolve(query, meshes=(meshes,), within=_EXACTLY, mounted=None)
        found = []
        for teeth in _worth_trying(query):
            try:
                setup = next(ranked(evolve(alone, borrowed=(teeth,)), patience), None)
            except NotPossibleError as gave_up:
                given_up, setup = gave_up, None
            if setup is not None:
                found.append((setup.strained, len(setup.train.gears), setup.train.steepest, teeth, setup))
        if found:
            *_, teeth, setup = min(found, key=lambda option: option[:-1])
            return teeth, setup
    if given_up is not None:
        raise given_up
    return None


def _worth_trying(query: Query) -> Iterator[int]:
    """Tooth counts that bring in whatever primes the target has and no gear of the set has."""
    shares = [goal.target.as_integer_ratio() for goal in goals_of(query) if isinstance(goal.target, Fraction)]
    missing = [_not_made_of(top * bottom, query.gear_set.counts) for top, bottom in shares]
    for teeth in range(_FEWEST_TEETH, _MOST_TEETH + 1):
        if teeth not in query.avoid and any(teeth % rest == 0 for rest in missing):
            yield teeth


def _not_made_of(number: int, gears: tuple[int, ...]) -> int:
    """What is left of a number without the primes that the gears have."""
    for teeth in gears:
        while (common := gcd(number, teeth)) > 1:
            number //= common
    return number


def _best(query: Query) -> Setup | None:
    try:
        return next(ranked(query, Patience(_STEPS_FOR_WHY)), None)
    except NotPossibleError:  # too many gears, or a bracket that lets nearly nothing on; then nothing is said of it
        return None


def _closer(one: Setup, other: Setup) -> bool:
    return one.error is not None and other.error is not None and one.error < other.error


def _not_so_close(query: Query) -> str:
    trains = f"No train of {writing.meshes(query.meshes)} of these gears"
    if query.within is None:
        return f"{trains} goes on the bracket."
    near = f"within {writing.decimal(query.within * MILLION, 6)} ppm" if query.within else "exactly"
    goes_on = " goes on the bracket and" if _best(_on_no_bracket(query)) else ""
    return f"{trains}{goes_on} cuts {query.wanted} {near}."


def _on_no_bracket(query: Query) -> Query:
    return evolve(query, lathe=evolve(query.lathe, bracket=None))


def _are_studs_for(meshes: int, query: Query) -> bool:
    return not query.must_fit or query.layout is None or fewest_studs(meshes) <= query.layout.bracket.studs


def _too_few_studs(query: Query) -> str:
    assert query.layout is not None
    meshes, studs = min(query.meshes), query.layout.bracket.studs
    needed, there = writing.counted(fewest_studs(meshes), "stud"), writing.counted(studs, "stud")
    return f"A train of {writing.counted(meshes, 'mesh', 'meshes')} takes {needed}, and the bracket has {there}."


def _too_few(query: Query) -> str:
    if none_stands := why_none_stands(query.lathe.gear_set, query.gear_set, query.avoid, query.meshes):
        return none_stands
    there = len(query.gear_set.pieces)
    if not there:
        return "There are no gears to choose from." if query.avoid else "The set has no gears."
    gears, needed = writing.counted(there, "gear"), 2 * min(query.meshes)
    if there < needed:
        return f"There are {gears} to choose from, and a train takes at least {needed} here.".replace("are 1", "is 1")
    return (
        f"The lathe has no reverse, and no train of {writing.meshes(query.meshes)} of the {gears} to choose from turns "
        f"the leadscrew the way that {query.wanted} needs, not even with an idler."
    )


def _with_one_more(query: Query, do: str) -> str:
    others = tuple(meshes for meshes in _USUAL_MESHES if meshes not in query.meshes)
    if not any(isinstance(goal.target, Fraction) for goal in goals_of(query)):
        return "π is in what is wanted, so no gears ever cut it exactly."
    meshes = query.meshes + others
    try:
        found = gear_that_would_do(evolve(query, meshes=meshes))
    except NotPossibleError:  # some gear might do; it could not be looked at to the end
        return ""
    if found is None:
        return (
            f"No one gear more, of {_FEWEST_TEETH} to {_MOST_TEETH} teeth, would {do} in a train of "
            f"{writing.meshes(meshes)}."
        )
    teeth, setup = found
    return f"One gear more would {do}, {teeth} teeth: {setup}."
