"""Gears worth adding: the fewest to buy, cut or print so that a lathe cuts every thread of a list near enough."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from fractions import Fraction
from itertools import islice
from math import inf

from attrs import evolve, field, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_meshes, as_number, as_teeth, as_whole, as_yes_or_no, is_several
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import MILLION, Exact, NumberLike, RelativeError
from gearcalc.basics.progress import Shown, how_shown
from gearcalc.finding.least_purchase import PurchaseSearch
from gearcalc.finding.purchases import PurchaseEffects
from gearcalc.finding.search import warnings_by_name
from gearcalc.finding.setups import Setup
from gearcalc.finding.straight_across import fit_not_checked
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.directions import REVERSE_OVER_NOTE
from gearcalc.lathes.gear_words import of_first_size
from gearcalc.lathes.lathe import lead_to_cut
from gearcalc.threads import WantedLike
from gearcalc.threads.series import wanted_listed
from gearcalc.threads.wanted import Wanted, wanted_hand

_MOST_THREADS = 300
_MOST_CANDIDATES = 500
_MOST_ADDED = 12
_MOST_MESHES = 3
_LARGEST_PPM = 100_000
_USUAL_MESHES = 3  # so many, at most, a search for setups looks at unless it is told otherwise
_FEW_SIZES = 6


def gears_to_add(
    lathe: Lathe,
    threads: WantedLike | Iterable[WantedLike],
    within_ppm: NumberLike = 100,
    most: int = 6,
    candidates: int | Iterable[int] = range(20, 128),
    *,
    meshes: int | Iterable[int] = (1, 2),
    must_fit: bool = True,
    progress: bool | Shown = False,
) -> GearsToAdd:
    """Find the fewest gears to buy, cut or print so that every listed thread is within the tolerance.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(gears_to_add(demo_lathe("inch"), ["1 mm", "1.25 mm", "16 tpi"], within_ppm=0).verdict)
    Add 127: then the lathe cuts every thread exactly. Without a new gear it can't be done: proved for all trains of \
1 or 2 meshes that go on the bracket, from the gears that are there and added ones of 20 to 127 teeth.

    `lathe`: a Lathe. `threads`: up to 300 Threads, Feeds, their texts, or names of series ('metric coarse', 'UNC' ...,
    see threads/series.py). `within_ppm`: the largest |error|, 0 (only
    exact) to 100000. `most`: add no more gears than this, 0 to 12. `candidates`: tooth counts that can be had, 6 to
    1000, each as often as needed. `meshes`: numbers of driver–driven pairs, 1 to 3; find_setups() looks at three too,
    and with them fewer added gears may do: meshes=(1, 2, 3), which takes longer. `must_fit`: count only what goes
    on the bracket, where the lathe file describes one. `progress`: show a progress bar (tqdm), or what shows it
    otherwise.

    A gear that is added may be a driver, a driven gear or an idler, and two equal gears are 1:1. Where the set has
    several sizes of tooth it is of the first, those under [gears] in the lathe file. Up to three added
    gears (in trains of one or two meshes) the least is always looked for until it is proved, for all trains of those
    meshes from the gears that are there and the candidates, the bracket looked at where there is one; beyond that the
    search stops after so much work and says what the best is that it found and how many gears are proved to be needed.
    Of several purchases equally small it takes the one with the smallest largest error of those that it has compared.
    Where a bracket lets hardly any train on, the search may give up on a thread and says so.
    Ctrl-C (in a notebook: interrupt the kernel) stops it; the best found until then comes back.
    Raises ValueOutOfRangeError for arguments outside these, ThreadTextError for text that is no thread,
    UnknownNameError where it has no figure in it and is no series, NotPossibleError for a feed that the lathe has not,
    or more than half a million ways to choose one side.
    """
    lathe, within = as_lathe(lathe), as_number(within_ppm, what="within_ppm", most=_LARGEST_PPM) / MILLION
    listed = wanted_listed(threads, _MOST_THREADS)
    wanted = tuple(dict.fromkeys(listed))
    kinds = [(lead_to_cut(lathe, each), wanted_hand(each)) for each in wanted]
    different: dict[tuple[Exact, str], Wanted] = {}
    for kind, each in zip(kinds, wanted, strict=True):
        different.setdefault(kind, each)
    shown = how_shown(progress)
    most, sizes = as_whole(most, what="most", least=0, most=_MOST_ADDED), _candidates(candidates)
    meshes = as_meshes(meshes, most=_MOST_MESHES)
    must_fit = as_yes_or_no(must_fit, what="must_fit")
    effects = PurchaseEffects(lathe, tuple(different.values()), within, sizes, meshes, must_fit, shown)
    search = PurchaseSearch(effects, most, shown)
    interrupted = False
    try:
        search.run()
        if effects.unsure:
            search.lower_bound = min(search.lower_bound, _bound_by_ratios(effects, search, shown))
    except KeyboardInterrupt:
        interrupted = True
    effects.checks_left = inf  # from here on whatever it takes
    place_of = {kind: place for place, kind in enumerate(different)}
    places = [place_of[kind] for kind in kinds]

    with_them = lathe.with_gears(add=search.best)

    def as_asked(setup: Setup | None, thread: Wanted, on: Lathe = lathe) -> Setup | None:
        return None if setup is None else evolve(setup, lathe=on, wanted=thread)

    each_place = list(zip(places, wanted, strict=True))
    return GearsToAdd(
        lathe=lathe,
        within_ppm=within * MILLION,
        gears=search.best,
        proven=search.proven,
        lower_bound=search.lower_bound,
        threads=wanted,
        setups=tuple(
            as_asked(effects.setup_with(place, search.best), thread, with_them) for place, thread in each_place
        ),
        before=tuple(as_asked(effects.nearest_today(place), thread) for place, thread in each_place),
        meshes=meshes,
        candidates=effects.shelf.candidates,
        bracket=effects.bracket,
        left_out=tuple((thread, search.left_out[place]) for place, thread in each_place if place in search.left_out),
        listed_twice=tuple(thread for thread, times in Counter(listed).items() if times > 1),
        interrupted=interrupted,
    )


def _bound_by_ratios(effects: PurchaseEffects, search: PurchaseSearch, shown: Shown) -> int:
    """How many gears it takes at least, the bracket left aside: what is proved where the bracket was too much."""
    by_ratios = PurchaseSearch(effects.without_bracket(), search.most, shown)
    by_ratios.run()
    return by_ratios.lower_bound


def _candidates(given: int | Iterable[int]) -> list[int]:
    several = given if is_several(given) else [given]
    listed = list(islice(several, _MOST_CANDIDATES + 1))
    if not 1 <= len(listed) <= _MOST_CANDIDATES:
        raise ValueOutOfRangeError(
            f"candidates must be 1 to {_MOST_CANDIDATES} tooth counts", remedy="Give them like range(20, 128)."
        )
    return [as_teeth(teeth, what="a candidate") for teeth in listed]


@frozen
class GearsToAdd:
    """Which gears to add, and what they open. Made by gears_to_add().

    `gears`: what to add, ascending, a number twice where two are needed; empty when nothing need, or nothing helps.
    `proven`: no purchase of fewer gears serves every thread that can be served; `lower_bound`: no purchase of fewer
    than this does. `threads`: those asked for, each once; `setups`: one a thread in the same order, with the gears
    added, None where there is none; `before`: the nearest with the gears that are there, however far off. `left_out`:
    what can't be had, and why, in words. `interrupted`: stopped by hand; then `gears` is the best found until then.
    What is proved is proved of trains of so many `meshes` from the gears that are there and added ones of `candidates`
    teeth; `bracket`: whether only those that go on it count.
    """

    lathe: Lathe = field(repr=False)
    within_ppm: Fraction
    gears: tuple[int, ...]
    proven: bool
    lower_bound: int
    threads: tuple[Wanted, ...]
    setups: tuple[Setup | None, ...]
    before: tuple[Setup | None, ...]
    meshes: tuple[int, ...]
    candidates: tuple[int, ...]
    bracket: bool
    left_out: tuple[tuple[Wanted, str], ...] = ()
    listed_twice: tuple[Wanted, ...] = ()
    interrupted: bool = False

    @property
    def opened(self) -> tuple[Wanted, ...]:
        """The threads that the gears of today can't cut near enough, and the added ones can."""
        limit = RelativeError.of_ppm(self.within_ppm)
        pairs = zip(self.threads, self.before, self.setups, strict=True)
        return tuple(
            thread
            for thread, before, after in pairs
            if after is not None and (before is None or before.error is None or before.error > limit)
        )

    @property
    def not_served(self) -> tuple[Wanted, ...]:
        """The threads that can't be cut near enough even with the added gears."""
        return tuple(thread for thread, setup in zip(self.threads, self.setups, strict=True) if setup is None)

    @property
    def serves_all(self) -> bool:
        """Whether every thread of the list is served."""
        return not self.not_served

    @property
    def lathe_with_them(self) -> Lathe:
        """The lathe with these gears added to its set."""
        return self.lathe.with_gears(add=self.gears)

    @property
    def verdict(self) -> str:
        """What to add and how far that is proved, in one or two sentences."""
        reachable = len(self.threads) - len(self.left_out)
        if not reachable:
            none = f"With no more gears than may be added none of these can be had {self._near}."
            return f"{none} Looked at were {self._trains}."
        rest = f"every thread {self._near}"
        if self.left_out:
            rest = f"{reachable} of {writing.counted(len(self.threads), 'thread')}, all that can be had {self._near}"
        if not self.gears and not self._short:
            return f"Nothing to add: the gears that are there cut {rest}."
        if not self.gears:
            return f"Nothing found that helps. {self._bound()}"
        what = f"{writing.listed(self.gears)}{self._of_size}: then the lathe cuts "
        if self._short:
            asked = writing.counted(len(self.threads), "thread")
            return f"Add {what}{reachable - self._short} of {asked} {self._near}. {self._bound()}"
        if self.proven:
            return f"Add {what}{rest}. {self.with_fewer}: proved for {self._trains}."
        return f"Add {what}{rest}. {self._bound()}"

    @property
    def with_fewer(self) -> str:
        """That fewer gears than these would not do, in words."""
        return f"{'Without a new gear' if len(self.gears) == 1 else 'With fewer'} it can't be done"

    @property
    def _near(self) -> str:
        return f"within {writing.ppm(self.within_ppm, 4)}" if self.within_ppm else "exactly"

    @property
    def _of_size(self) -> str:
        """The size of what is added, where the set has several."""
        return of_first_size(self.lathe.gear_set)

    @property
    def _short(self) -> int:
        """How many threads are not served though nothing says that they can't be."""
        return len(self.not_served) - len(self.left_out)

    def _bound(self) -> str:
        stopped = "The search was stopped. " if self.interrupted else ""
        least = writing.counted(self.lower_bound, "gear")
        if not self.lower_bound:
            return f"{stopped}This is the best found, not proved to be the best there is."
        proved = f"Proved is that the whole list takes {least} or more, for {self._trains}."
        return f"{stopped}This is the best found, not proved to be the best there is. {proved}"

    @property
    def _trains(self) -> str:
        """Which trains were looked through."""
        fit = " that go on the bracket" if self.bracket else ", the bracket not looked at"
        return (
            f"all trains of {writing.meshes(self.meshes)}{fit}, from the gears that are there and added ones of "
            f"{_sizes(self.candidates)} teeth{self._of_size}"
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """What can't be had and why, what was listed twice, and whether the fit was looked at."""
        reasons: dict[str, list[str]] = {}
        for thread, why in self.left_out:
            reasons.setdefault(why, []).append(str(thread))
        said = [f"{', '.join(names)} can't be had: {why}." for why, names in reasons.items()]
        if self.listed_twice:
            names = ", ".join(map(str, self.listed_twice))
            said.append(f"Listed more than once, counted once: {names}.")
        if self.gears and max(self.meshes) < _USUAL_MESHES:
            said.append(f"Trains of {_USUAL_MESHES} meshes are not counted; with them fewer gears may do.")
        if any(setup is not None and setup.reverse_over for setup in self.setups):
            said.append(REVERSE_OVER_NOTE)
        said += fit_not_checked(self.setups)
        said += warnings_by_name(self.setups)
        return tuple(said)

    def __str__(self) -> str:
        lines = [self.verdict]
        for thread, setup in zip(self.threads, self.setups, strict=True):
            mark = " (new)" if thread in self.opened else ""
            lines.append(f"  {thread}: {setup if setup is not None else 'none near enough'}{mark}")
        return "\n".join((*lines, *self.notes))

    def _repr_html_(self) -> str:
        names = ("thread", "opened", "train", "lever", "error")
        rows = (self._row(thread, setup) for thread, setup in zip(self.threads, self.setups, strict=True))
        caption = f"Gears worth adding: {self.lathe.name}, within {writing.ppm(self.within_ppm, 4)}"
        verdict = f"<p>{markup.in_html(self.verdict)}</p>"
        return verdict + markup.html_columns(caption, names, rows, notes=self.notes)

    def _row(self, thread: Wanted, setup: Setup | None) -> list[str | markup.Written]:
        opened = "new" if thread in self.opened else ""
        if setup is None:
            return [str(thread), opened, "none near enough", "", ""]
        error = writing.error(setup.error) if setup.error is not None else ""
        return [str(thread), opened, setup.train.written, setup.settings, error]


def _sizes(candidates: tuple[int, ...]) -> str:
    """Tooth counts that may be added.

    >>> _sizes(tuple(range(20, 128))), _sizes((21, 63)), _sizes((40,))
    ('20 to 127', '21 or 63', '40')
    """
    first, last = candidates[0], candidates[-1]
    if len(candidates) > 2 and candidates == tuple(range(first, last + 1)):
        return f"{first} to {last}"
    if len(candidates) > _FEW_SIZES:
        return f"{len(candidates)} sizes from {first} to {last}"
    return writing.listed(candidates, "or")
