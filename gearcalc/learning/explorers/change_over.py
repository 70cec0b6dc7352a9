"""The explorer of the change-over: say what is mounted and what is wanted, and go through the card step by step."""

from __future__ import annotations

from functools import partial

from gearcalc.lathes import Lathe
from gearcalc.learning.explorers.change_over_views import MOST_ANSWERS, MOST_STEPS, change_view
from gearcalc.learning.explorers.shell import Explorer, number_slider, text_box
from gearcalc.papers.change_pictures import CHANGE_PX


def change_over(lathe: Lathe, wanted: str = "12 tpi", *, mounted: str = "40/80", step: int = 1) -> Explorer:
    """Type what is mounted and what is wanted, choose a setup, and go through the steps: what moves, and in what state.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = change_over(demo_lathe("inch"))
    >>> explorer.set(wanted="32 tpi", step=2)
    >>> explorer.shown.facts[0]["gears off"]
    '0'

    `wanted`: a thread or a feed that stands in the box at first; `mounted`: a train, drivers over driven; `step`: of
    the card, 1 to 14. On paper, change_view with the same values says the same.
    """
    controls = [
        text_box("mounted", "Mounted", mounted),
        text_box("wanted", "Wanted", wanted),
        number_slider("answer", "Setup", 1, MOST_ANSWERS, 1),
        number_slider("step", "Step", 1, MOST_STEPS, step),
    ]
    aspect = CHANGE_PX[0] / CHANGE_PX[1]
    return Explorer("Change over", controls, partial(change_view, lathe), aspect=aspect, facts_px=210)
