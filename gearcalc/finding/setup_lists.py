"""A list of setups that shows itself as a table, or says why it is empty."""

from __future__ import annotations

from collections.abc import Iterable
from typing import SupportsIndex, overload

from gearcalc.basics import writing
from gearcalc.basics.errors import NoSetupError
from gearcalc.basics.exact import INCH_MM
from gearcalc.finding.setups import Setup, Wanted
from gearcalc.lathes.hands import REVERSE_OVER, REVERSE_OVER_NOTE

_LEFT = "text-align:left"


class SetupList(list[Setup]):
    """Setups, best first: a list like any other, to be read and not changed.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import as_wanted, setup
    >>> one = setup(demo_lathe("inch"), drivers=(40,), driven=(80,), lever="low", wanted="32 tpi")
    >>> print(SetupList([one], wanted=as_wanted("32 tpi")))
    1. 40/80, lever low, reverse over: lead 0.79375 mm (32 tpi), exact
    Reverse over: turned over from how the lathe file describes it.
    >>> nothing = SetupList(why="The set has no gears.")
    >>> print(nothing)
    The set has no gears.
    >>> nothing[0]
    Traceback (most recent call last):
    gearcalc.basics.errors.NoSetupError: there is no setup to take. The set has no gears.

    `wanted`: what was asked for. `why`: why there is nothing, or no more, and what would help, in plain words; empty
    when the list holds all that was asked for. Taking a setup from an empty list raises NoSetupError, which says it.
    Where not even the best is good enough, that is said ahead of everything else.
    """

    def __init__(self, setups: Iterable[Setup] = (), *, wanted: Wanted | None = None, why: str = "") -> None:
        super().__init__(setups)
        self.wanted, self.why = wanted, why

    @overload
    def __getitem__(self, place: SupportsIndex) -> Setup: ...
    @overload
    def __getitem__(self, place: slice) -> SetupList: ...
    def __getitem__(self, place: SupportsIndex | slice) -> Setup | SetupList:
        if not self and not isinstance(place, slice):
            raise NoSetupError(f"there is no setup to take. {self.why or 'The list is empty.'}".removesuffix("."))
        found = super().__getitem__(place)
        return SetupList(found, wanted=self.wanted, why=self.why) if isinstance(found, list) else found

    @property
    def shortfall(self) -> str:
        """Why not even the best of them is good enough for what is wanted; nothing where it is, or nothing is there.

        >>> from gearcalc.lathes import demo_lathe
        >>> from gearcalc.finding.setups import as_wanted, setup
        >>> far = setup(demo_lathe("inch"), drivers=(40,), driven=(80,), lever="low", wanted="31 tpi")
        >>> print(SetupList([far]).shortfall)
        Not good enough for 31 tpi: −31250 ppm is more than the 1000 ppm that we let pass where no tolerance is known.
        """
        return super().__getitem__(0).shortfall if self else ""

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
        first = [self.shortfall] if self.shortfall else []
        return "\n".join((*first, *lines, *self.notes)) or self.why or "No setups."

    __repr__ = __str__

    def _repr_html_(self) -> str:
        if not self:
            return f"<p>{writing.in_html(str(self))}</p>"
        caption = "Setups" if self.wanted is None else f"Setups for {self.wanted}"
        levers = any(setup.lever is not None for setup in self)
        names = ("place", *(("lever",) if levers else ()), "train", "lead", "threads per inch", "error", "remarks")
        head = "".join(f'<th scope="col" style="{_LEFT}">{name}</th>' for name in names)
        body = "".join(_row(number, setup, levers) for number, setup in enumerate(self, 1))
        below = "".join(f"<p><small>{writing.in_html(note)}</small></p>" for note in self.notes)
        above = f"<p><strong>{writing.in_html(self.shortfall)}</strong></p>" if self.shortfall else ""
        return (
            f'{above}<table><caption style="{_LEFT};font-weight:bold">{writing.in_html(caption)}</caption>'
            f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>{below}"
        )


def _row(number: int, setup: Setup, levers: bool) -> str:
    cells = [writing.in_html(setup.lever or "none")] if levers else []
    cells += [
        setup.train.written.html,
        writing.length(setup.lead_mm).html,
        ("" if _ends(setup) else "≈ ") + writing.tpi(setup.lead_mm, starts=setup.starts),
        writing.error(setup.error).html if setup.error is not None else "",
        writing.in_html(", ".join(_remarks(setup))),
    ]
    shown = "".join(f'<td style="{_LEFT}">{cell}</td>' for cell in cells)
    return f'<tr><th scope="row" style="{_LEFT}">{number}</th>{shown}</tr>'


def _ends(setup: Setup) -> bool:
    return (setup.starts * INCH_MM / setup.lead_mm * 1000).denominator == 1


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
