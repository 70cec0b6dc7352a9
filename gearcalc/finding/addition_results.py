"""What a search for gears worth adding found: what to add, what that opens, and how far it is proved."""

from __future__ import annotations

from fractions import Fraction

from attrs import field, frozen

from gearcalc.basics import writing
from gearcalc.basics.exact import RelativeError
from gearcalc.finding.setups import Setup, Wanted, warnings_by_name
from gearcalc.lathes import Lathe
from gearcalc.lathes.hands import REVERSE_OVER_NOTE

_MILLION = 1_000_000
_USUAL_MESHES = 3  # so many, at most, a search for setups looks at unless it is told otherwise
_FEW_SIZES = 6
_LEFT = "text-align:left"


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
            return f"Nothing that may be added helps: none of these can be had {self._near} with {self._trains}."
        rest = f"every thread {self._near}"
        if self.left_out:
            rest = f"{reachable} of {len(self.threads)} threads, all that can be had {self._near}"
        if not self.gears and not self._short:
            return f"Nothing to add: the gears that are there cut {rest}."
        if not self.gears:
            return f"Nothing found that helps. {self._bound()}"
        what = f"{_in_words(self.gears)}: then the lathe cuts "
        if self._short:
            return f"Add {what}{reachable - self._short} of {len(self.threads)} threads {self._near}. {self._bound()}"
        if self.proven:
            fewer = "without adding any" if len(self.gears) == 1 else "with fewer"
            return f"Add {what}{rest}. It can't be done {fewer}: proved for {self._trains}."
        return f"Add {what}{rest}. {self._bound()}"

    @property
    def _near(self) -> str:
        return f"within {writing.decimal(self.within_ppm)} ppm" if self.within_ppm else "exactly"

    @property
    def _short(self) -> int:
        """How many threads are not served though nothing says that they can't be."""
        return len(self.not_served) - len(self.left_out)

    def _bound(self) -> str:
        stopped = "The search was stopped. " if self.interrupted else ""
        least = "1 gear" if self.lower_bound == 1 else f"{self.lower_bound} gears"
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
            f"{_sizes(self.candidates)} teeth"
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
        if any(setup is not None and setup.fit is None for setup in self.setups):
            said.append("Fit not checked.")
        said += warnings_by_name(self.setups)
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
        below = "".join(f"<p><small>{writing.in_html(note)}</small></p>" for note in self.notes)
        return (
            f"<p>{writing.in_html(self.verdict)}</p>"
            f'<table><caption style="{_LEFT};font-weight:bold">Gears worth adding: {writing.in_html(self.lathe.name)}, '
            f"within {writing.decimal(self.within_ppm)} ppm</caption>"
            f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>{below}"
        )

    def _row(self, thread: Wanted, setup: Setup | None) -> str:
        cells = ["new" if thread in self.opened else "", "none near enough", "", ""]
        if setup is not None:
            error = writing.error(setup.error).html if setup.error is not None else ""
            cells[1:] = [setup.train.written.html, writing.in_html(setup.settings), error]
        shown = "".join(f'<td style="{_LEFT}">{cell}</td>' for cell in cells)
        return f'<tr><th scope="row" style="{_LEFT}">{writing.in_html(str(thread))}</th>{shown}</tr>'


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
    *front, end = map(str, candidates)
    return f"{', '.join(front)} or {end}" if front else end


def _in_words(gears: tuple[int, ...]) -> str:
    """Gears in a row, with an 'and' before the last.

    >>> _in_words((47, 63, 127))
    '47, 63 and 127'
    """
    *front, last = map(str, gears)
    return f"{', '.join(front)} and {last}" if front else last
