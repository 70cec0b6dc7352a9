"""A train that stands in for a ratio, and a list of such trains that shows itself as a table."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import SupportsIndex, overload

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.exact import Exact, RelativeError
from gearcalc.lathes.trains import Train
from gearcalc.threads.deviations import deviation_um

_LEFT = "text-align:left"
_LENGTHS_MM = (25, 100)


@frozen
class StandIn:
    """A train that comes near a ratio, and what the miss costs. Made by stand_ins().

    >>> best = StandIn((80,), (63,), Fraction(127, 100))
    >>> print(best)
    80/63: −125 ppm, −3.12 µm in 25 mm, −12.5 µm in 100 mm
    >>> best.ratio
    Fraction(80, 63)

    `drivers`, `driven`: ascending, which is also the order with the mildest steepest mesh.
    `wanted`: the ratio asked for, exact.
    """

    drivers: tuple[int, ...]
    driven: tuple[int, ...]
    wanted: Exact

    @property
    def train(self) -> Train:
        """The gears as a train, without idlers."""
        return Train(self.drivers, self.driven)

    @property
    def ratio(self) -> Fraction:
        """What the gears give: drivers over driven."""
        return self.train.ratio

    @property
    def error(self) -> RelativeError:
        """(ratio − wanted) / wanted, exact: positive when a thread cut with it comes out too long."""
        return RelativeError(self.ratio, self.wanted)

    @property
    def error_ppm(self) -> float:
        return self.error.ppm

    @property
    def is_exact(self) -> bool:
        return self.error.is_exact

    def off_um(self, length_mm: float) -> float:
        """How far the thread is off at the end of a length, in µm, positive when it is too long.

        `length_mm`: millimetres of thread, more than zero. Raises ValueOutOfRangeError for anything else.
        """
        return deviation_um(self.error, length_mm)

    @property
    def um_in_25_mm(self) -> float:
        return self.off_um(25)

    @property
    def um_in_100_mm(self) -> float:
        return self.off_um(100)

    @property
    def written(self) -> writing.Written:
        """The gears, the error and its cost, for text, LaTeX and HTML."""
        said = self.train.written + ": " + writing.error(self.error)
        if self.is_exact:
            return said
        for length_mm in _LENGTHS_MM:
            said = said + ", " + writing.micrometres(self.off_um(length_mm)) + f" in {length_mm} mm"
        return said

    def __str__(self) -> str:
        return self.written.text

    def _repr_html_(self) -> str:
        return self.written.html

    def _repr_latex_(self) -> str:
        return f"${self.written.latex}$"


class StandInList(list[StandIn]):
    """Stand-ins, nearest first: a list like any other, to be read and not changed.

    >>> print(StandInList([StandIn((80,), (63,), Fraction(127, 100))]))
    1. 80/63: −125 ppm, −3.12 µm in 25 mm, −12.5 µm in 100 mm
    >>> print(StandInList())
    No stand-ins: there are too few gears for any train.
    """

    def __init__(self, stand_ins: Iterable[StandIn] = ()) -> None:
        super().__init__(stand_ins)

    @overload
    def __getitem__(self, place: SupportsIndex) -> StandIn: ...
    @overload
    def __getitem__(self, place: slice) -> StandInList: ...
    def __getitem__(self, place: SupportsIndex | slice) -> StandIn | StandInList:
        found = super().__getitem__(place)
        return StandInList(found) if isinstance(found, list) else found

    def __str__(self) -> str:
        width = len(str(len(self)))
        lines = [f"{number:{width}}. {near}" for number, near in enumerate(self, 1)]
        return "\n".join(lines) or "No stand-ins: there are too few gears for any train."

    __repr__ = __str__

    def _repr_html_(self) -> str:
        if not self:
            return f"<p>{writing.in_html(str(self))}</p>"
        caption = writing.plain("Stand-ins for ") + writing.number(self[0].wanted)
        names = ("place", "train", "ratio", "error", *(f"over {length} mm" for length in _LENGTHS_MM))
        head = "".join(f'<th scope="col" style="{_LEFT}">{name}</th>' for name in names)
        body = "".join(_row(number, near) for number, near in enumerate(self, 1))
        return (
            f'<table><caption style="{_LEFT};font-weight:bold">{caption.html}</caption>'
            f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
        )


def _row(number: int, near: StandIn) -> str:
    cells = [near.train.written, writing.ratio(near.ratio), writing.error(near.error)]
    cells += [writing.micrometres(near.off_um(length)) for length in _LENGTHS_MM]
    shown = "".join(f'<td style="{_LEFT}">{cell.html}</td>' for cell in cells)
    return f'<tr><th scope="row" style="{_LEFT}">{number}</th>{shown}</tr>'
