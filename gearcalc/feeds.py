"""A feed: how far the tool is to travel in one turn of the spindle when turning or facing."""

from __future__ import annotations

import re
from fractions import Fraction

from attrs import frozen

from gearcalc import writing
from gearcalc.errors import GearcalcError, ThreadTextError, quoted
from gearcalc.exact import INCH_MM, parse_number
from gearcalc.thread_text import normalise

__all__ = ["Feed"]

_LARGEST_MM = 100
_FEED = re.compile(
    r"(?:feed )?(?P<value>[0-9.,/ -]{1,20}?) ?(?P<unit>mm|in|inch|thou)"
    r"(?: ?(?:/|per) ?(?:rev|turn|r)(?:olution)?)?(?: (?P<along>cross|longitudinal))?",
    re.I | re.A,
)


@frozen
class Feed:
    """Travel of the tool for one turn of the spindle; make one with Feed.parse.

    >>> feed = Feed.parse("5 thou cross")
    >>> feed.travel_mm, feed.along
    (Fraction(127, 1000), 'cross')

    `travel_mm`: exact, mm per turn of the spindle; `along`: 'longitudinal' or 'cross'.
    """

    travel_mm: Fraction
    along: str = "longitudinal"

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
            raise ThreadTextError(
                f"{quoted(shown)} is not understood as a feed",
                remedy="Write it like '0.12 mm/rev', '0.005 in/rev' or '5 thou', with 'cross' behind it for facing.",
            )
        try:
            value = parse_number(found["value"], what="the feed")
        except GearcalcError as problem:
            raise ThreadTextError(f"in {quoted(shown)}, {problem.problem}", remedy=problem.remedy) from None
        unit = {"mm": Fraction(1), "thou": INCH_MM / 1000}.get(found["unit"].casefold(), INCH_MM)
        travel = value * unit
        if not 0 < travel <= _LARGEST_MM:
            raise ThreadTextError(f"a feed is more than zero and at most {_LARGEST_MM} mm a turn", value=shown)
        return cls(travel, (found["along"] or "longitudinal").casefold())

    def __str__(self) -> str:
        return f"{writing.number(self.travel_mm, 9)} mm/rev" + (" cross" if self.along == "cross" else "")

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
