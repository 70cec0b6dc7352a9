"""Gears worth adding: the fewest to buy, cut or print so that a lathe cuts every thread of a list near enough."""

from __future__ import annotations

import html
from collections import Counter
from collections.abc import Iterable
from fractions import Fraction
from itertools import islice
from typing import Any

from attrs import field, frozen

from gearcalc import writing
from gearcalc.errors import ValueOutOfRangeError
from gearcalc.exact import RelativeError, as_fraction, as_teeth
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.purchase_effects import PurchaseEffects
from gearcalc.purchase_search import PurchaseSearch
from gearcalc.setups import Setup, Wanted, as_wanted

__all__ = ["GearsToAdd", "gears_to_add"]

_MOST_THREADS = 300
_MOST_CANDIDATES = 500
_MOST_ADDED = 12
_MOST_MESHES = 3
_LARGEST_PPM = 100_000
_MILLION = 1_000_000
_LEFT = "text-align:left"


@frozen
class GearsToAdd:
    """Which gears to add, and what they open. Made by gears_to_add().

    `gears`: what to add, ascending, a number twice where two are needed; empty when nothing need, or nothing helps.
    `proven`: no purchase of fewer gears serves every thread that can be served; `lower_bound`: no purchase of fewer
    than this does. `threads`: those asked for, each once; `setups`: one a thread in the same order, with the gears
    added, None where there is none; `before`: the nearest with the gears that are there, however far off. `left_out`:
    what can't be had, and why, in words. `interrupted`: stopped by hand; then `gears` is the best found until then.
    """

    lathe: Lathe = field(repr=False)
    within_ppm: Fraction
    gears: tuple[int, ...]
    proven: bool
    lower_bound: int
    threads: tuple[Wanted, ...]
    setups: tuple[Setup | None, ...]
    before: tuple[Setup | None, ...]
    left_out: tuple[tuple[Wanted, str], ...] = ()
    listed_twice: tuple[Wanted, ...] = ()
    interrupted: bool = False

    @property
    def opened(self) -> tuple[Wanted, ...]:
        """The threads that the gears of today can't cut near enough, and the added ones can."""
        limit = RelativeError(1 + self.within_ppm / _MILLION, Fraction(1))
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
            return "Nothing helps: none of these threads can be had with any of the candidates."
        rest = "every thread"
        if self.left_out:
            rest = f"{reachable} of {len(self.threads)} threads, all that can be had"
        if not self.gears and not self._short:
            return f"Nothing to add: the gears that are there cut {rest}."
        if not self.gears:
            return f"Nothing found that helps. {self._bound()}"
        what = f"{_in_words(self.gears)}: then the lathe cuts "
        if self._short:
            return f"Add {what}{reachable - self._short} of {len(self.threads)} threads. {self._bound()}"
        if self.proven:
            fewer = "without adding any" if len(self.gears) == 1 else "with fewer"
            return f"Add {what}{rest}. It can't be done {fewer}: proved."
        return f"Add {what}{rest}. {self._bound()}"

    @property
    def _short(self) -> int:
        """How many threads are not served though nothing says that they can't be."""
        return len(self.not_served) - len(self.left_out)

    def _bound(self) -> str:
        stopped = "The search was stopped. " if self.interrupted else ""
        least = "1 gear" if self.lower_bound == 1 else f"{self.lower_bound} gears"
        proved = f"Proved is that the whole list takes {least} or more." if self.lower_bound else ""
        return f"{stopped}This is the best found, not proved to be the best there is. {proved}".strip()

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
        if any(setup is not None and setup.fit is None for setup in self.setups):
            said.append("Fit not checked.")
        return tuple(said)

    def __str__(self) -> str:
        lines = [self.verdict]
        for thread, setup in zip(self.threads, self.setups, strict=True):
            mark = " (new)" if thread in self.opened else ""
            lines.append(f"  {thread}: {setup if setup is not None else 'none near enough'}{mark}")
        return "\n".join((*lines, *self.notes))

    def _repr_html_(self) -> str:
        head = "".join(
            f'<th scope="col" style="{_LEFT}">{name}</th>' for name in ("thread", "opened", "train", "lever", "error")
        )
        body = "".join(self._row(thread, setup) for thread, setup in zip(self.threads, self.setups, strict=True))
        below = "".join(f"<p><small>{html.escape(note)}</small></p>" for note in self.notes)
        return (
            f"<p>{html.escape(self.verdict)}</p>"
            f'<table><caption style="{_LEFT};font-weight:bold">Gears worth adding: {html.escape(self.lathe.name)}, '
            f"within {writing.decimal(self.within_ppm)} ppm</caption>"
            f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>{below}"
        )

    def _row(self, thread: Wanted, setup: Setup | None) -> str:
        cells = ["new" if thread in self.opened else "", "none near enough", "", ""]
        if setup is not None:
            error = writing.error(setup.error).html if setup.error is not None else ""
            cells[1:] = [setup.train.written.html, html.escape(setup.lever or ""), error]
        shown = "".join(f'<td style="{_LEFT}">{cell}</td>' for cell in cells)
        return f'<tr><th scope="row" style="{_LEFT}">{html.escape(str(thread))}</th>{shown}</tr>'


def gears_to_add(
    lathe: Lathe,
    threads: Wanted | str | Iterable[Wanted | str],
    within_ppm: float | Fraction = 100,
    most: int = 6,
    candidates: int | Iterable[int] = range(20, 128),
    *,
    meshes: int | Iterable[int] = (1, 2),
    must_fit: bool = True,
    progress: bool = False,
) -> GearsToAdd:
    """The fewest gears to buy, cut or print so that every listed thread is within the tolerance.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(gears_to_add(demo_lathe("inch"), ["1 mm", "1.25 mm", "16 tpi"], within_ppm=0).verdict)
    Add 127: then the lathe cuts every thread. It can't be done without adding any: proved.

    `lathe`: a Lathe. `threads`: up to 300 Threads, Feeds or their texts. `within_ppm`: the largest |error|, 0 (only
    exact) to 100000. `most`: add no more gears than this, 0 to 12. `candidates`: tooth counts that can be had, 6 to
    1000, each as often as needed. `meshes`: numbers of driver–driven pairs, 1 to 3. `must_fit`: count only what goes
    on the bracket, where the lathe file describes one. `progress`: show a progress bar (tqdm).

    A gear that is added may be a driver, a driven gear or an idler. Up to three added gears (in trains of one or two
    meshes) the least is always looked for until it is proved; beyond that the search stops after so much work and
    says what the best is that it found and how many gears are proved to be needed. Of several purchases equally small
    it takes the one with the smallest largest error of those that it has compared. Where a bracket lets hardly any
    train on, the search may give up on a thread and says so.
    Ctrl-C (in a notebook: interrupt the kernel) stops it; the best found until then comes back.
    Raises ValueOutOfRangeError for arguments outside these, ThreadTextError for text that is no thread,
    NotPossibleError for a feed that the lathe has not, or more than half a million ways to choose one side.
    """
    lathe, within = as_lathe(lathe), _share(within_ppm)
    listed = [as_wanted(thread) for thread in _several(threads)]
    wanted = tuple(dict.fromkeys(listed))
    shown = _with_bar if _yes_or_no(progress, "progress") else _silently
    most = _whole(most, "most", 0, _MOST_ADDED)
    effects = PurchaseEffects(
        lathe, wanted, within, _candidates(candidates), _meshes(meshes), _yes_or_no(must_fit, "must_fit"), shown
    )
    search = PurchaseSearch(effects, most, shown)
    interrupted = False
    try:
        search.run()
    except KeyboardInterrupt:
        interrupted = True
    gears = search.best
    return GearsToAdd(
        lathe=lathe,
        within_ppm=within * _MILLION,
        gears=gears,
        proven=search.proven,
        lower_bound=search.lower_bound,
        threads=wanted,
        setups=tuple(effects.setup_at_last(place, gears) for place in range(len(wanted))),
        before=tuple(effects.nearest_today(place) for place in range(len(wanted))),
        left_out=tuple((wanted[place], why) for place, why in sorted(search.left_out.items())),
        listed_twice=tuple(thread for thread, times in Counter(listed).items() if times > 1),
        interrupted=interrupted,
    )


def _silently(what: Iterable[Any], _: str) -> Iterable[Any]:
    return what


def _with_bar(what: Iterable[Any], doing: str) -> Iterable[Any]:
    from tqdm.auto import tqdm

    bar: Iterable[Any] = tqdm(what, desc=doing, leave=False)
    return bar


def _several(threads: Wanted | str | Iterable[Wanted | str]) -> list[Wanted | str]:
    given = threads
    if isinstance(given, str) or not isinstance(given, Iterable):
        return [given]
    several = list(islice(given, _MOST_THREADS + 1))
    if not 1 <= len(several) <= _MOST_THREADS:
        count = "none" if not several else f"more than {_MOST_THREADS}"
        raise ValueOutOfRangeError(
            f"threads must list 1 to {_MOST_THREADS} threads", value=count, remedy="List them like ['M6', '16 tpi']."
        )
    return several


def _share(within_ppm: object) -> Fraction:
    within = as_fraction(within_ppm, what="within_ppm")
    if not 0 <= within <= _LARGEST_PPM:
        raise ValueOutOfRangeError(f"within_ppm must be from 0 (exact only) to {_LARGEST_PPM}", value=within_ppm)
    return within / _MILLION


def _candidates(given: int | Iterable[int]) -> list[int]:
    several = given if isinstance(given, Iterable) and not isinstance(given, str) else [given]
    listed = list(islice(several, _MOST_CANDIDATES + 1))
    if not 1 <= len(listed) <= _MOST_CANDIDATES:
        raise ValueOutOfRangeError(
            f"candidates must be 1 to {_MOST_CANDIDATES} tooth counts", remedy="Give them like range(20, 128)."
        )
    return [as_teeth(teeth, what="a candidate") for teeth in listed]


def _meshes(given: int | Iterable[int]) -> tuple[int, ...]:
    several = islice(given, 100) if isinstance(given, Iterable) and not isinstance(given, str) else [given]
    numbers = tuple(sorted({_whole(number, "meshes", 1, _MOST_MESHES) for number in several}))
    if not numbers:
        raise ValueOutOfRangeError("meshes must name at least one number of meshes", value=repr(given))
    return numbers


def _whole(n: object, what: str, least: int, most: int) -> int:
    if isinstance(n, bool) or not hasattr(n, "__index__") or not least <= n.__index__() <= most:
        raise ValueOutOfRangeError(
            f"{what} must be a whole number from {least} to {most}", value="nothing" if n is None else n
        )
    return int(n.__index__())


def _yes_or_no(given: object, what: str) -> bool:
    if not isinstance(given, bool):
        raise ValueOutOfRangeError(f"{what} must be True or False", value=repr(given))
    return given


def _in_words(gears: tuple[int, ...]) -> str:
    """Gears in a row, with an 'and' before the last.

    >>> _in_words((47, 63, 127))
    '47, 63 and 127'
    """
    *front, last = map(str, gears)
    return f"{', '.join(front)} and {last}" if front else last
