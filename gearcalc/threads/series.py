"""The threads that standards list: by the name of a series, all of them, and those nearest to a lead."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction
from functools import cache
from itertools import islice
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from gearcalc.basics import writing
from gearcalc.basics.arguments import is_several
from gearcalc.basics.errors import UnknownNameError, ValueOutOfRangeError, quoted
from gearcalc.basics.exact import Exact, RelativeError, as_fraction
from gearcalc.threads.size_tables import (
    acme_pitches,
    ba_sizes,
    metric_has_coarse,
    metric_pitches,
    modules,
    npt_pitches,
    pipe_pitches,
    trapezoidal_pitches,
    unified_names,
    unified_pitches,
    whitworth_pitches,
)
from gearcalc.threads.wanted import Thread, as_thread

if TYPE_CHECKING:
    pass

_LONGEST_NAME = 60


def _number(x: Fraction) -> str:
    return writing.number(x).text


def _metric_coarse() -> Iterator[str]:
    for size, pitches in sorted(metric_pitches().items()):
        if size in metric_has_coarse():
            yield f"M{_number(size)}x{_number(pitches[0])}"


def _metric_fine() -> Iterator[str]:
    for size, pitches in sorted(metric_pitches().items()):
        for pitch in sorted(pitches[size in metric_has_coarse() :], reverse=True):
            yield f"M{_number(size)}x{_number(pitch)}"


def _metric_pitches() -> Iterator[str]:
    for pitch in sorted({pitch for pitches in metric_pitches().values() for pitch in pitches}):
        yield f"{_number(pitch)} mm"


def _unified(series: str) -> Iterator[str]:
    names = unified_names()
    sizes = sorted((size, tpi) for (listed, size), tpi in unified_pitches().items() if listed == series)
    return (f"{names[size]}-{_number(tpi)} {series}" for size, tpi in sizes)


def _unified_pitches() -> Iterator[str]:
    return (f"{_number(tpi)} tpi" for tpi in sorted(set(unified_pitches().values())))


def _whitworth(series: str) -> Iterator[str]:
    sizes = sorted(size for listed, size in whitworth_pitches() if listed == series)
    return (f"{_mixed(size)} {series}" for size in sizes)


def _mixed(size: Fraction) -> str:
    whole, part = divmod(size, 1)
    return " ".join(str(each) for each in (whole, part) if each)


_SERIES: Mapping[str, Callable[[], Iterable[str]]] = {
    "metric coarse": _metric_coarse,
    "metric fine": _metric_fine,
    "metric pitches": _metric_pitches,
    "UNC": lambda: _unified("UNC"),
    "UNF": lambda: _unified("UNF"),
    "UNEF": lambda: _unified("UNEF"),
    "unified pitches": _unified_pitches,
    "BSW": lambda: _whitworth("BSW"),
    "BSF": lambda: _whitworth("BSF"),
    "BA": lambda: (f"{size} BA" for size in sorted(ba_sizes())),
    "G": lambda: (f"G {_mixed(size)}" for size in sorted(pipe_pitches())),
    "BSP": lambda: (f"{_mixed(size)} BSP" for size in sorted(pipe_pitches())),
    "NPT": lambda: (f"{_mixed(size)} NPT" for size in sorted(npt_pitches())),
    "trapezoidal": lambda: (
        f"Tr {_number(size)}x{_number(pitch)}"
        for size, pitches in sorted(trapezoidal_pitches().items())
        for pitch in sorted(pitches)
    ),
    "Acme": lambda: (f"{_mixed(size)}-{_number(tpi)} Acme" for size, tpi in sorted(acme_pitches().items())),
    "modules": lambda: (f"module {_number(module)}" for module in sorted(set(modules()))),
}


def series_names() -> tuple[str, ...]:
    """The names that thread_series() knows.

    >>> series_names()[:3]
    ('metric coarse', 'metric fine', 'metric pitches')
    """
    return tuple(_SERIES)


def thread_series(name: str) -> tuple[Thread, ...]:
    """The threads of a standard series, smallest size first.

    >>> [str(thread) for thread in thread_series("unc")[:2]]
    ['#1-64 UNC', '#2-56 UNC']

    `name`: one of series_names(), upper or lower case; 'BSP' is another name of 'G'. 'metric pitches' and 'unified
    pitches' are the pitches that the tables of ISO 261 and of ASME B1.1 have at any size, as bare pitches.
    Raises UnknownNameError for another name.
    Source: the standards in data/SOURCES.md.
    """
    found = _series_called(name)
    if found is None:
        raise UnknownNameError(
            f"there is no thread series called {quoted(name)}", remedy=f"There are {', '.join(_SERIES)}."
        )
    return _threads_of(found)


def _series_called(name: object) -> str | None:
    if not isinstance(name, str) or len(name) > _LONGEST_NAME:
        return None
    plain = " ".join(str.__str__(name).split()).lower()
    return next((known for known in _SERIES if known.lower() == plain), None)


@cache
def _threads_of(name: str) -> tuple[Thread, ...]:
    return tuple(Thread.parse(text) for text in _SERIES[name]())


def threads_listed(given: Any, most: int) -> list[Thread]:
    """Threads from one or several of: a Thread, its text, the name of a series.

    >>> [str(thread) for thread in threads_listed(["M8", "ACME"], 100)][:2]
    ['M8x1.25', '1/4-16 Acme']

    `most`: how many there may be in all. Raises ValueOutOfRangeError for none or more, ThreadTextError for text that is
    neither, UnknownNameError where text without a figure in it is no series.
    """
    single = isinstance(given, Thread) or not is_several(given)
    threads: list[Thread] = []
    for each in [given] if single else islice(given, most + 1):
        threads += _one_or_more(each)
        if len(threads) > most:
            break
    if not 1 <= len(threads) <= most:
        raise ValueOutOfRangeError(
            f"1 to {most} threads are taken here",
            value=f"more than {most}" if threads else "none",
            remedy="List them like 'M8' and '1/4-20', or name a series like 'UNC'.",
        )
    return threads


def _one_or_more(given: object) -> tuple[Thread, ...]:
    if isinstance(given, str):
        if _series_called(given) is not None or not any(map(str.isdigit, given[:_LONGEST_NAME])):
            return thread_series(given)
    elif not isinstance(given, Thread):
        raise ValueOutOfRangeError("a thread is wanted here", value="nothing" if given is None else given)
    return (as_thread(given),)


@cache
def standard_threads() -> tuple[Thread, ...]:
    """Every thread that the tables in data/ list, the preferred modules last.

    >>> len(standard_threads()) > 400
    True
    """
    number = writing.number
    names = [f"M{number(d)}x{number(p)}" for d, pitches in metric_pitches().items() for p in pitches]
    names += [f"{unified_names()[d]}-{number(tpi)}" for (_, d), tpi in unified_pitches().items()]
    names += [f"{number(d)} {series}" for series, d in whitworth_pitches()]
    names += [f"{size} BA" for size in ba_sizes()]
    names += [f"G {number(size)}" for size in pipe_pitches()]
    names += [f"{number(size)} NPT" for size in npt_pitches()]
    names += [f"Tr {number(d)}x{number(p)}" for d, pitches in trapezoidal_pitches().items() for p in pitches]
    names += [f"{number(size)} Acme" for size in acme_pitches()]
    names += [f"module {number(module)}" for module in modules()]
    return tuple(dict.fromkeys(Thread.parse(name) for name in names))


def nearest_threads(lead_mm: Fraction | int | str, within_ppm: float = 1000) -> list[Thread]:
    """Standard threads that a cut lead would pass for, the closest first.

    >>> [str(thread) for thread in nearest_threads(Fraction(127, 100))][:2]
    ['1/4-20 UNC', '7/16-20 UNF']

    `lead_mm`: the lead cut, mm, more than zero. `within_ppm`: how far off still counts, 0 or more.
    Single-start threads only, since those are what the tables list. Ask each for its error: thread.error_ppm(lead).
    Raises ValueOutOfRangeError for a lead that is no positive number, or a bound below zero.
    """
    cut = as_fraction(lead_mm, what="the lead")
    if cut <= 0:
        raise ValueOutOfRangeError("a lead must be more than zero", value=cut, remedy="Give it in millimetres.")
    share = as_fraction(within_ppm, what="within_ppm") / 1_000_000
    if share < 0:
        raise ValueOutOfRangeError("within_ppm must be zero or more", value=within_ppm)
    allowed = RelativeError(1 + share, Fraction(1))
    misses = [(RelativeError(cut, lead), threads) for lead, threads in _threads_by_lead().items()]
    near = sorted(((miss, threads) for miss, threads in misses if miss <= allowed), key=itemgetter(0))
    return [thread for _, threads in near for thread in threads]


@cache
def _threads_by_lead() -> dict[Exact, list[Thread]]:
    by_lead: dict[Exact, list[Thread]] = {}
    for thread in standard_threads():
        by_lead.setdefault(thread.lead, []).append(thread)
    return by_lead
