"""The explorers of near misses: watch the gap grow, limit the fraction, edit the set."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from gearcalc.basics.exact import PiMultiple, as_exact
from gearcalc.lathes import Lathe
from gearcalc.learning.explorers.near_miss_views import (
    GAP_WINDOW_MM,
    LIMIT_VIEW_PX,
    PAIRS,
    gap_view,
    limit_view,
    set_view,
)
from gearcalc.learning.explorers.shell import Explorer, choice, number_slider, text_box
from gearcalc.pictures.near_misses.parting_threads import PARTING_PX
from gearcalc.pictures.near_misses.share_charts import SHARES_PX


def watch_the_gap(lathe: Lathe, thread: str = "M10x1.5", *, pairs: str = "two", length: int = 10) -> Explorer:
    """Drag the length, choose one of the best setups: the gap grows, and the verdict follows.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = watch_the_gap(demo_lathe("inch"))
    >>> explorer.set(length=100)
    >>> explorer.shown.facts[0]["off by"]
    '12.5 µm too long over 100 mm'

    `thread`: what stands in the box at first; `pairs`: 'one', 'two', 'three' or 'up to three' pairs of gears;
    `length`: of thread engaged at first, 1 to 100 mm.
    """
    controls = [
        text_box("thread", "Thread", thread),
        choice("pairs", "Pairs", list(PAIRS), pairs),
        number_slider("place", "Answer", 1, 8, 1),
        number_slider("length", "Length", 1, GAP_WINDOW_MM, length, "mm"),
    ]
    aspect = PARTING_PX[0] / PARTING_PX[1]
    return Explorer("Watch the gap", controls, partial(gap_view, lathe), aspect=aspect, facts_px=150)


def limit_on_teeth(x: object = "127/100", *, largest: int = 26) -> Explorer:
    """Choose a number and the most that may stand below the line: the best fraction, and how it closes in.

    >>> explorer = limit_on_teeth("127/100")
    >>> explorer.set(largest=63)
    >>> explorer.shown.facts[0]["best fraction"]
    '80/63'

    `x`: an int, a Fraction, 'a/b' text, or a rational times π (sympy.pi, or text like 'pi'), more than zero.
    Raises ValueOutOfRangeError for anything else.
    """
    controls = [
        text_box("number", "Number", _as_typed(x)),
        number_slider("largest", "Below line", 1, 150, largest, "at most"),
    ]
    aspect = LIMIT_VIEW_PX[0] / LIMIT_VIEW_PX[1]
    return Explorer("Limit below the line", controls, limit_view, aspect=aspect, facts_px=76)


def edit_the_set(
    lathe: Lathe, threads: str | Iterable[str] = ("M5", "M6", "M8", "M10"), *, gears: Iterable[int] | None = None
) -> Explorer:
    """Type the gears that you own and the threads that you want: which of them will do?

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = edit_the_set(demo_lathe("inch"), threads=("M10", "1.25 mm"))
    >>> explorer.set(gears="20 25 40 50 60 127")
    >>> [row["error"] for row in explorer.shown.facts]
    ['exact', 'exact']

    `lathe`: whose leadscrew and levers are used; `gears`: what stands in the box at first, the lathe's own if None.
    """
    listed = threads if isinstance(threads, str) else ", ".join(map(str, threads))
    owned = lathe.gears if gears is None else tuple(gears)
    controls = [
        text_box("gears", "Gears", " ".join(map(str, owned)), wide=True),
        text_box("threads", "Threads", listed, wide=True),
        text_box("engagement", "Engaged", "1 diameter"),
        number_slider("share", "Share", 1, 100, 50, "%"),
    ]
    aspect = SHARES_PX[0] / SHARES_PX[1]
    return Explorer("Edit the set", controls, partial(set_view, lathe), aspect=aspect, facts_px=300)


def _as_typed(x: object) -> str:
    """A number as one would type it."""
    if isinstance(x, str):
        return x
    exact = as_exact(x)
    return f"{exact.coefficient} pi" if isinstance(exact, PiMultiple) else str(exact)
