"""A feed: how far the tool is to travel in one turn of the spindle when turning or facing."""

from __future__ import annotations

import re
from fractions import Fraction

from attrs import Attribute, field, frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import GearcalcError, ThreadTextError, ValueOutOfRangeError, quoted
from gearcalc.basics.exact import INCH_MM, as_fraction, parse_number
from gearcalc.threads.forms import NUMBER, figure
from gearcalc.threads.text import normalise

NEAR_ENOUGH_PERCENT = 10
"""How far a feed may be off the one that is asked for. Our convention: no dimension of the work hangs on it."""

_LARGEST_MM = 100
_UNITS_MM = {"mm": Fraction(1), "thou": INCH_MM / 1000, "in": INCH_MM, "inch": INCH_MM}
_FEED = re.compile(
    rf"(?:feed )?(?P<value>{NUMBER}) ?(?P<unit>{'|'.join(_UNITS_MM)})"
    r"(?: ?(?:/|per) ?(?:rev(?:olution)?|turn|r))?(?: (?P<along>cross|longitudinal))?",
    re.I | re.A,
)
_REMEDY = "Write it like '0.12 mm/rev', '0.005 in/rev' or '5 thou', with 'cross' behind it for facing."


def _travel(x: object) -> Fraction:
    travel = as_fraction(x, what="a feed")
    if not 0 < travel <= _LARGEST_MM:
        raise ValueOutOfRangeError(f"a feed is more than zero and at most {_LARGEST_MM} mm a turn", value=travel)
    return travel


def _a_way(_: object, __: Attribute[str], value: object) -> None:
    if value not in ("longitudinal", "cross"):
        raise ValueOutOfRangeError("a feed goes along 'longitudinal' or 'cross'", value=value)


@frozen
class Feed:
    """Travel of the tool for one turn of the spindle; make one with Feed.parse.

    >>> feed = Feed.parse("5 thou cross")
    >>> feed.travel_mm, feed.along
    (Fraction(127, 1000), 'cross')

    `travel_mm`: exact, mm per turn of the spindle, more than 0 to 100; `along`: 'longitudinal' or 'cross'.
    Raises ValueOutOfRangeError when made by hand of what can't be.
    """

    travel_mm: Fraction = field(converter=_travel)
    along: str = field(default="longitudinal", validator=_a_way)

    @classmethod
    def parse(cls, text: str) -> Feed:
        """Read a feed: '0.12 mm/rev', '0.005 in/rev', '5 thou', each with 'cross' behind it or not.

        >>> print(Feed.parse("0,12 mm/rev"))
        0.12 mm/rev

        `text`: at most 60 characters. Raises ThreadTextError for anything else.
        """
        shown = normalise(text, what="a feed")
        found = _FEED.fullmatch(shown)
        if found is None:
            raise ThreadTextError(f"{quoted(shown)} is not understood as a feed", remedy=_REMEDY)
        try:
            travel = parse_number(found["value"]) * _UNITS_MM[found["unit"].casefold()]
            return cls(travel, (found["along"] or "longitudinal").casefold())
        except GearcalcError as problem:
            raise ThreadTextError(f"in {quoted(shown)}, {problem.problem}", remedy=_REMEDY) from None

    def __str__(self) -> str:
        # In the first unit that says it exactly in a number short enough to be read again.
        for unit in ("mm", "thou", "in"):
            shown = figure(self.travel_mm / _UNITS_MM[unit])
            if re.fullmatch(NUMBER, shown, re.A):
                break
        return f"{shown} {unit}/rev" + (" cross" if self.along == "cross" else "")

    @property
    def written(self) -> writing.Written:
        """The feed in mm and in thousandths of an inch, for text, LaTeX and HTML."""
        thou = writing.length(self.travel_mm / INCH_MM * 1000, "thou", 2)
        along = writing.plain(f" {self.along}")
        return writing.length(self.travel_mm, "mm/rev") + " (" + thou + ")" + along

    def _repr_html_(self) -> str:
        return self.written.html

    def _repr_latex_(self) -> str:
        return f"${self.written.latex}$"
