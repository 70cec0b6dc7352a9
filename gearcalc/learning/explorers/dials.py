"""The explorer of the thread-chasing dial: close the half-nuts at a line, and see where the tool lands."""

from __future__ import annotations

from functools import partial

from gearcalc.cutting.dial_lines import dial_gear
from gearcalc.cutting.dial_rules import dial
from gearcalc.lathes import Lathe
from gearcalc.learning.explorers.dial_views import GEARS, MOST_TURNS, catch_view
from gearcalc.learning.explorers.shell import Explorer, choice, number_slider, text_box
from gearcalc.pictures.shop.dial_passes import CATCH_PX


def catch_the_thread(lathe: Lathe, thread: str = "11 tpi", *, dial_teeth: int | None = None) -> Explorer:
    """Choose thread and dial gear, close the half-nuts at a line: does the tool fall in its groove or split the thread?

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = catch_the_thread(demo_lathe("inch"), "10 tpi")
    >>> explorer.set(second=2)
    >>> explorer.shown.facts[1]["the tool is"]
    '1.27 mm out'

    `thread`: what stands in the box at first; `dial_teeth`: the dial gear at first, None for the one that serves best.
    On paper, catch_view with the same values says the same.
    Raises ValueOutOfRangeError for a lathe without a dial, or without that dial gear.
    """
    rule = dial(lathe, thread)
    teeth = list(dict.fromkeys(str(gear.teeth) for gear in rule.gears))
    at_first = str(dial_gear(rule, dial_teeth).teeth)
    most = max(gear.lines for gear in rule.gears)
    controls = [
        text_box("thread", "Thread", thread),
        choice("gears", "Gears", list(GEARS), GEARS[0]),
        choice("dial_teeth", "Dial gear", teeth, at_first, [f"{count} teeth" for count in teeth]),
        number_slider("turns", "Dial turns", 0, MOST_TURNS, 1, "between"),
        number_slider("second", "Pass 2", 1, most, 1, "line"),
        number_slider("third", "Pass 3", 1, most, 1, "line"),
    ]
    aspect = CATCH_PX[0] / CATCH_PX[1]
    return Explorer("Catch the thread", controls, partial(catch_view, lathe), aspect=aspect, facts_px=220)
