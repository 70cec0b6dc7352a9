"""The threads that standards list: by the name of a series, all of them, and those nearest to a lead."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from itertools import islice
from operator import itemgetter
from typing import Any, TypeVar

from gearcalc.basics.arguments import as_number, is_several, shown
from gearcalc.basics.errors import UnknownNameError, ValueOutOfRangeError, quoted
from gearcalc.basics.exact import Exact, NumberLike, RelativeError
from gearcalc.basics.listed import InARow, OneALine
from gearcalc.threads.thread_text import FAMILY_FILES
from gearcalc.threads.wanted import Feed, Thread, Wanted, as_thread, as_wanted

_LONGEST_NAME = 60
_OTHER_NAMES = {
    "bsp": "G", "bspp": "G", "whitworth": "BSW", "british standard whitworth": "BSW", "british standard fine": "BSF",
    "unified coarse": "UNC", "unified fine": "UNF", "unified extra fine": "UNEF", "tr": "trapezoidal",
    "module": "modules", "coarse metric": "metric coarse", "fine metric": "metric fine",
}  # fmt: skip
_T = TypeVar("_T", bound=Wanted)


@cache
def _series() -> Mapping[str, Sequence[str]]:
    """Each series and the threads that its table lists, as they are written, smallest size first."""
    return {name: texts for file in FAMILY_FILES for name, texts in file.series().items()}


def series_names() -> InARow[str]:
    """List the names that thread_series() knows.

    >>> series_names()[:3]
    ('metric coarse', 'metric fine', 'metric pitches')
    """
    return InARow(_series())


def thread_series(name: str) -> InARow[Thread]:
    """List the threads of a standard series, smallest size first.

    >>> [str(thread) for thread in thread_series("unc")[:2]]
    ['#1-64 UNC', '#2-56 UNC']

    `name`: one of series_names(), upper or lower case, or another name that the trade has for it: 'BSP' for 'G',
    'Whitworth' for 'BSW'. 'metric pitches' and 'unified pitches' are the pitches that the tables of ISO 261 and of
    ASME B1.1 have at any size, as bare pitches.
    Raises UnknownNameError for another name.
    Source: the standards in data/SOURCES.md.
    """
    found = _series_called(name)
    if found is None:
        raise UnknownNameError(
            f"there is no thread series called {quoted(name)}", remedy=f"There are {', '.join(_series())}."
        )
    return _threads_of(found)


def _series_called(name: object) -> str | None:
    if not isinstance(name, str) or len(name) > _LONGEST_NAME:
        return None
    plain = " ".join(str.__str__(name).split()).lower()
    return next((known for known in _series() if known.lower() == plain), _OTHER_NAMES.get(plain))


@cache
def _threads_of(name: str) -> InARow[Thread]:
    return InARow(Thread.parse(text) for text in _series()[name])


def threads_listed(given: Any, most: int) -> list[Thread]:
    """Threads from one or several of: a Thread, its text, the name of a series.

    >>> [str(thread) for thread in threads_listed(["M8", "ACME"], 100)][:2]
    ['M8x1.25', '1/4-16 Acme']

    `most`: how many there may be in all. Raises ValueOutOfRangeError for none or more, ThreadTextError for text that is
    neither, UnknownNameError where text without a figure in it is no series.
    """
    return _listed(given, most, "threads", as_thread)


def wanted_listed(given: Any, most: int, what: str = "threads") -> list[Wanted]:
    """The same, where a feed or its text may stand too.

    >>> [str(wanted) for wanted in wanted_listed(["M8", "0.1 mm/rev"], 100)]
    ['M8x1.25', '0.1 mm/rev']

    `what`: what the list is of, in a word. Raises what threads_listed() raises.
    """
    return _listed(given, most, what, as_wanted)


def _listed(given: Any, most: int, what: str, read: Callable[[Any], _T]) -> list[_T]:
    listed: list[_T] = []
    for each in islice(given, most + 1) if is_several(given) else [given]:
        listed += [read(one) for one in _one_or_more(each)]
        if len(listed) > most:
            break
    if not 1 <= len(listed) <= most:
        raise ValueOutOfRangeError(
            f"this takes 1 to {most} {what}",
            value=f"more than {most}" if listed else "none",
            remedy="List them like 'M8' and '1/4-20', or name a series like 'UNC'.",
        )
    return listed


def _one_or_more(given: object) -> Sequence[Wanted | str]:
    if isinstance(given, str):
        is_series = _series_called(given) is not None or not any(map(str.isdigit, given[:_LONGEST_NAME]))
        return thread_series(given) if is_series else (given,)
    if not isinstance(given, Thread | Feed):
        raise ValueOutOfRangeError(
            "a thread is wanted here", value=shown(given), remedy="Write it like 'M6', '1/4-20' or '20 tpi'."
        )
    return (given,)


@cache
def standard_threads() -> tuple[Thread, ...]:
    """Every thread that the tables in data/ list.

    >>> len(standard_threads()) > 400
    True
    """
    sizes = (name for name in _series() if not name.endswith(" pitches"))
    return tuple(dict.fromkeys(thread for name in sizes for thread in _threads_of(name)))


def nearest_threads(lead_mm: NumberLike, within_ppm: NumberLike | None = 1000) -> OneALine[Thread]:
    """List the standard threads that a cut lead would pass for, the closest first.

    >>> from fractions import Fraction
    >>> [str(thread) for thread in nearest_threads(Fraction(127, 100))][:2]
    ['1/4-20 UNC', '7/16-20 UNF']

    `lead_mm`: the lead cut, mm, more than zero. `within_ppm`: how far off still counts, 0 (exact) or more; None: no
    limit. Single-start threads only, since those are what the tables list. Ask each for its error:
    thread.error_ppm(lead).
    Raises ValueOutOfRangeError for a lead that is no positive number, or a bound below zero.
    """
    cut = as_number(lead_mm, what="a lead", above=True, remedy="Give it in millimetres.")
    near = [(RelativeError(cut, lead), those) for lead, those in _threads_by_lead().items()]
    if within_ppm is not None:
        allowed = RelativeError.of_ppm(as_number(within_ppm, what="within_ppm"))
        near = [(miss, those) for miss, those in near if miss <= allowed]
    return OneALine(thread for _, those in sorted(near, key=itemgetter(0)) for thread in those)


@cache
def _threads_by_lead() -> dict[Exact, list[Thread]]:
    by_lead: dict[Exact, list[Thread]] = {}
    for thread in standard_threads():
        by_lead.setdefault(thread.lead, []).append(thread)
    return by_lead
