"""The explorer of the proof: measure the scratch, see what it leaves possible, then ask which slip it was."""

from __future__ import annotations

from functools import partial

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe
from gearcalc.learning.explorers.proof_views import HANDS, SHOWN, proof_view
from gearcalc.learning.explorers.shell import Explorer, choice, number_slider, only_with, text_box
from gearcalc.pictures.shop.measurement_charts import BAND_PX
from gearcalc.threads import Thread

_MOST_TURNS, _LONGEST_MM, _COARSEST_MM = 60, 100, 1


def prove_the_cut(
    lathe: Lathe, meant: Setup, *, turns: int = 10, length: float = 12.6, limit: float = 0.25, show: str = SHOWN[0]
) -> Explorer:
    """Type what was measured: which pitches are still possible, and which slip would explain a wrong one.

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("inch")
    >>> explorer = prove_the_cut(lathe, gc.setup(lathe, 40, 50, "low", wanted="20 tpi"), length=12.7)
    >>> explorer.set(show="which slip", length=19.8, limit=0.1)
    >>> explorer.shown.facts[0]["what may have happened"]
    'The pair is upside down: 50 drives 40.'

    `meant`: a setup of this lathe with the thread that is wanted; `turns`, `length` in mm and `limit` (±, mm) are what
    the sliders show at first, 1 to 60, 0.5 to 100 and 0.01 to 1; `show`: one of proof_views.SHOWN.
    Raises ValueOutOfRangeError for a setup that wants no thread.
    """
    if not isinstance(meant, Setup) or not isinstance(meant.wanted, Thread):
        raise ValueOutOfRangeError(
            "a setup for a thread is wanted here",
            value=meant,
            remedy="Make it like setup(lathe, drivers=(40,), driven=(80,), lever='middle', wanted='16 tpi').",
        )
    controls = [
        text_box("thread", "Thread", str(meant.wanted)),
        number_slider("turns", "Turns", 1, _MOST_TURNS, turns),
        number_slider("length", "Length", 0.5, _LONGEST_MM, length, "mm", step=0.05),
        number_slider("limit", "Limit ±", 0.01, _COARSEST_MM, limit, "mm", step=0.01),
        choice("show", "Show", list(SHOWN), show),
        *only_with("show", SHOWN[1], text_box("gears", "Gears meant", str(meant.train)), *_lever(lathe, meant)),
        choice("hand", "Hand seen", list(HANDS), HANDS[0]),
    ]
    aspect = BAND_PX[0] / BAND_PX[1]
    return Explorer(
        "Prove the cut", controls, partial(proof_view, lathe), aspect=aspect, facts_px=230, facts_scroll=True
    )


def _lever(lathe: Lathe, meant: Setup) -> list[dict[str, object]]:
    if len(lathe.levers) < 2 or meant.lever is None:
        return []
    return [choice("lever", "Lever meant", list(lathe.levers), meant.lever)]
