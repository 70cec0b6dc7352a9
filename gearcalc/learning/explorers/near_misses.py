"""The explorers of near misses: watch the gap grow, limit the fraction, edit the set."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache, partial

from attrs import evolve

from gearcalc.basics import both_units, writing
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import PiMultiple, RelativeError, as_exact
from gearcalc.basics.writing import Units
from gearcalc.finding.fractions import best_fractions, factor
from gearcalc.finding.search import SetupList, find_setups
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe
from gearcalc.learning.explorers import page, typed
from gearcalc.learning.explorers.handed import as_handed, in_words
from gearcalc.pictures.fraction_charts import closing_in
from gearcalc.pictures.near_miss_charts import tolerance_shares
from gearcalc.pictures.picture import Row
from gearcalc.pictures.threads_that_part import side_by_side
from gearcalc.threads import Thread, as_thread
from gearcalc.threads.deviations import (
    LENGTHS_MM,
    Verdict,
    deviation_in_words,
    deviation_um,
    judge,
    share_used_in_words,
)

GAP_WINDOW_MM = 100
"""How much thread the sheet of gap_view shows, mm."""
PAIRS = {"one": (1,), "two": (2,), "three": (3,), "up to three": (1, 2, 3)}
"""How many pairs of gears a train may have, in words."""

_LENGTHS_MM = Fraction(1, 10), GAP_WINDOW_MM
_MOST_PLACES = 8
_SMALLEST_GEAR, _LARGEST_GEAR = 20, 127
_LARGEST_BELOW = 1000
_NAME_A_THREAD = "This is a pitch alone. Name a thread, like M10x1.5, and it says whether the gap matters."


@as_handed
def gap_view(
    lathe: Lathe, *, thread: str | Thread = "M10x1.5", pairs: str = "two", place: object = 1, length: object = 10
) -> page.View:
    """One of the best setups for a thread: the gap over a length, and whether it matters over that engagement.

    >>> from gearcalc.lathes import demo_lathe
    >>> gap_view(demo_lathe("inch"), length=100).facts[0]["off by"]
    '0.492 thou too long over 3.937 in'

    `pairs`: a key of PAIRS; `place`: which of the best setups, 1 to 8 (the last, where there are fewer); `length`:
    from 0.1 to 100 mm, number or text.
    Raises ThreadTextError for text that is no thread, NotPossibleError when nothing is found.
    """
    meshes = PAIRS[typed.one_of(pairs, "pairs", PAIRS)]
    found = page.best_setups(lathe, as_thread(thread), _MOST_PLACES, meshes=meshes, one_per_ratio=True, first="nearest")
    at = typed.read_place(place, "the answer", len(found), _MOST_PLACES)
    chosen = found[at - 1]
    over = typed.read_number(length, "the length", *_LENGTHS_MM, "mm")
    assert isinstance(chosen.wanted, Thread)
    picture = side_by_side(chosen.wanted, chosen.lead_mm, over, window_mm=GAP_WINDOW_MM, units=lathe.units)
    verdict = judge(chosen.wanted, _miss(chosen), engagement_mm=over, units=lathe.units)
    facts: dict[str, object] = {
        "error": page.error_of(chosen),
        "off by": deviation_in_words(_miss(chosen), over, lathe.units),
        "train": _train_and_lever(chosen),
        "place": f"{at} of {len(found)}",
    }
    if chosen.wanted.family is None:
        return page.View(picture, (facts,), _NAME_A_THREAD, settled={"place": at})
    facts["tolerance used"] = "–" if verdict.share_used is None else share_used_in_words(verdict)
    return page.View(picture, (facts,), verdict.why, settled={"place": at})


@as_handed
def limit_view(*, number: object = "127/100", largest: object = 63, units: Units = "mm") -> page.View:
    """The best fraction for a number with at most so much below the line, on the way to it, and as a pair of gears.

    >>> limit_view(number="pi", largest=10).facts[0]["best fraction"]
    '22/7'

    `number`: as for best_fractions(); `largest`: whole, 1 to 1000; `units`: 'mm' or 'inch', what lengths
    are said in. Raises ValueOutOfRangeError for anything else.
    """
    most = typed.read_whole(largest, "the largest number below the line", _LARGEST_BELOW)
    best = best_fractions(number, max_denominator=most)[-1]
    above, below = best.fraction.numerator, best.fraction.denominator
    facts: dict[str, object] = {
        "best fraction": str(writing.ratio(best.fraction)),
        "error": str(writing.error(best.error)),
        "as a decimal": writing.decimal(best.fraction, 7),
        **_off_over(best.error, LENGTHS_MM[units][:2], units),
        "primes": f"{_primes(above)} over {_primes(below)}",
        "as one pair": _as_a_pair(best.fraction),
    }
    return page.View(closing_in(number, most, height_px=480), (facts,))


def _primes(number: int) -> str:
    return str(writing.primes(factor(number))) if number else "0"


def _as_a_pair(fraction: Fraction) -> str:
    """The smallest gears that give a fraction, of usual size."""
    smaller, larger = sorted((fraction.numerator, fraction.denominator))
    times = -(-_SMALLEST_GEAR // smaller) if smaller else 0
    if not smaller or larger * times > _LARGEST_GEAR or smaller == larger:
        return f"none up to {_LARGEST_GEAR}"
    return f"{fraction.numerator * times}/{fraction.denominator * times}"


@as_handed
def set_view(
    lathe: Lathe,
    *,
    gears: str | Iterable[int],
    threads: str | Iterable[str],
    engagement: str = "1 diameter",
    share: object = 50,
) -> page.View:
    """The best setup of each thread with these gears: how far off, how much of the tolerance it uses, good enough?

    >>> from gearcalc.lathes import demo_lathe
    >>> seen = set_view(demo_lathe("inch"), gears="20 40 50 60 80 127", threads="M6, M10")
    >>> [row["error"] for row in seen.facts]
    ['exact', 'exact']

    `gears`: tooth counts, owned twice listed twice; `threads`: 1 to 14 of them; `engagement`: '1 diameter' or
    '25 mm'; `share`: how much of the tolerance the pitch may use, 1 to 100 per cent.
    Raises ValueOutOfRangeError, ThreadTextError for what can't be read.
    """
    own = evolve(lathe, gear_set=typed.read_gear_set(lathe.gear_set, gears))
    wanted = typed.read_threads(threads)
    allowed = Fraction(typed.read_whole(share, "the share in per cent", 100), 100)
    diameters, length = typed.read_engagement(engagement)
    rows: list[Row] = []
    verdicts, notes, unjudged = [], [], []
    for thread in wanted:
        found = _nearest(own, thread)
        if not found:
            rows.append({"thread": str(thread), "train": "none"})
            notes.append(f"{thread}: {found.why}")
            continue
        over = length if diameters is None else None if thread.major_mm is None else thread.major_mm * diameters
        verdict = judge(thread, _miss(found[0]), engagement_mm=over, share=float(allowed), units=lathe.units)
        verdicts.append(verdict)
        rows.append(_set_row(thread, found[0], verdict))
        if verdict.ok is None and verdict.error_ppm:
            unjudged.append(str(thread))
    if not verdicts:
        raise NotPossibleError("these gears make no train for any of these threads", remedy=notes[0])
    if unjudged:
        notes.append(f"Not judged, since no tolerance is held here: {', '.join(unjudged)}. Look at what it is off.")
    return page.View(tolerance_shares(verdicts), tuple(rows), " ".join(notes))


@lru_cache(maxsize=256)
def _nearest(lathe: Lathe, thread: Thread) -> SetupList:
    """Kept, since a hand moves the share and the engagement, and the setups stay."""
    return find_setups(lathe, thread, count=1)


def _set_row(thread: Thread, setup: Setup, verdict: Verdict) -> Row:
    over = _off_over(_miss(setup), LENGTHS_MM[setup.lathe.units], setup.lathe.units)
    row = {"thread": str(thread), "train": _train_and_lever(setup), "error": page.error_of(setup), **over}
    return row | {"verdict, share used": verdict_in_words(verdict)}


def _train_and_lever(setup: Setup) -> str:
    """Both in one column that is narrow enough for a row to stay one line."""
    return f"{setup.train}{f', {setup.lever}' if setup.lever is not None else ''}"


def _off_over(error: RelativeError, lengths_mm: Iterable[Fraction], units: Units) -> dict[str, str]:
    """What an error comes to over each length, for a table."""
    return {f"over {writing.cut(mm, units)}": str(both_units.off(deviation_um(error, mm), units)) for mm in lengths_mm}


def _miss(setup: Setup) -> RelativeError:
    assert setup.error is not None
    return setup.error


def verdict_in_words(verdict: Verdict | None) -> str:
    """A verdict in a word or two, for a table.

    >>> verdict_in_words(judge("M10", 125)), verdict_in_words(None)
    ('fine: 1.6 %', '–')
    """
    if verdict is None:
        return "–"
    if verdict.error_ppm == 0:
        return "exact"
    if verdict.share_used is None:
        return "too much" if verdict.fails else "not judged"
    said = "fine" if verdict.ok else "too much" if verdict.share_used <= 1 else "spoilt"
    return f"{said}: {share_used_in_words(verdict)}"


@as_handed
def watch_the_gap(
    lathe: Lathe, thread: str = "M10x1.5", *, pairs: str | None = None, length: int = 10
) -> page.Explorer:
    """Drag the length, choose one of the best setups: the gap grows, and the verdict follows.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = watch_the_gap(demo_lathe("inch"))
    >>> explorer.set(length="3.9")
    >>> explorer.shown.facts[0]["off by"]
    '0.488 thou too long over 3.9 in'

    `thread`: what stands in the box at first; `pairs`: 'one', 'two', 'three' or 'up to three' pairs of gears, None for
    two, or up to three where the lathe has no train of two;
    `length`: of thread engaged at first, 1 to 100 mm; an inch lathe's owner is asked for it in inches.
    """
    if pairs is None:
        pairs = "two" if find_setups(lathe, thread, PAIRS["two"], count=1) else "up to three"
    controls = [
        page.text_box("thread", "Thread", thread),
        page.choice("pairs", "Pairs", PAIRS, pairs),
        page.number_slider("place", "Answer", 1, 8, 1),
        page.length_slider(lathe.units, "length", "Length", 1, GAP_WINDOW_MM, length),
    ]
    show = page.in_owners_unit(lathe.units, partial(gap_view, lathe), length=_LENGTHS_MM)
    return page.explorer("Watch the gap", controls, show, facts_px=150, seen_px=90)


@as_handed
def limit_on_teeth(x: object = "127/100", *, largest: int = 26, units: Units = "mm") -> page.Explorer:
    """Choose a number and the most that may stand below the line: the best fraction, and how it closes in.

    >>> explorer = limit_on_teeth("127/100")
    >>> explorer.set(largest=63)
    >>> explorer.shown.facts[0]["best fraction"]
    '80/63'

    `x`: an int, a Fraction, 'a/b' text, or a rational times π (sympy.pi, or text like 'pi'), more than zero;
    `units`: 'mm' or 'inch', what lengths are said in.
    Raises ValueOutOfRangeError for anything else.
    """
    controls = [
        page.text_box("number", "Number", _as_typed(x)),
        page.number_slider("largest", "Below line", 1, 150, largest, "at most"),
    ]
    return page.explorer("Limit below the line", controls, partial(limit_view, units=units), facts_px=76, seen_px=50)


@as_handed
def edit_the_set(
    lathe: Lathe, threads: str | Iterable[str] = ("M5", "M6", "M8", "M10"), *, gears: Iterable[int] | None = None
) -> page.Explorer:
    """Type the gears that you own and the threads that you want: which of them will do?

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = edit_the_set(demo_lathe("inch"), threads=("M10", "1.25 mm"))
    >>> explorer.set(gears="20 25 40 50 60 127")
    >>> [row["error"] for row in explorer.shown.facts]
    ['exact', 'exact']

    `lathe`: whose leadscrew and levers are used; `gears`: what stands in the box at first, the lathe's own if None.
    """
    there = typed.gears_text(lathe.gear_set) if gears is None else in_words(gears, "gears", " ")
    controls = [
        page.text_box("gears", "Gears", there, wide=True),
        page.text_box("threads", "Threads", threads, wide=True),
        page.text_box("engagement", "Engaged", "1 diameter"),
        page.number_slider("share", "Share", 1, 100, 50, "%"),
    ]
    return page.explorer("Edit the set", controls, partial(set_view, lathe), facts_px=300, seen_px=190)


def _as_typed(x: object) -> str:
    """A number as one would type it."""
    if isinstance(x, str):
        return x
    exact = as_exact(x)
    return f"{exact.coefficient} pi" if isinstance(exact, PiMultiple) else str(exact)
