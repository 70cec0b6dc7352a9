"""The explorers of the first lessons: one turn of the spindle, two pairs, ask for a thread."""

from __future__ import annotations

from functools import partial
from typing import Any

from gearcalc.basics import writing
from gearcalc.lathes import Lathe
from gearcalc.learning.explorers.shell import Explorer, choice, gear_slider, number_slider, text_box
from gearcalc.learning.explorers.views import CUT_VIEW_PX, TALL_VIEW_PX, ask_view, one_turn_view, two_pairs_view

_ASPECT = CUT_VIEW_PX[0] / CUT_VIEW_PX[1]
_TALL = TALL_VIEW_PX[0] / TALL_VIEW_PX[1]


def ask(lathe: Lathe, *, thread: str = "M10") -> Explorer:
    """Type a thread; see the best trains for it, and one of them drawn.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = ask(demo_lathe("metric"), thread="1.5 mm")
    >>> explorer.set(thread="banana")
    >>> explorer.message
    "'banana' is not understood as a thread. Write it like 'M8', '1/4-20', '16 tpi' or '1.25 mm'."

    `lathe`: whose gears and levers are searched; `thread`: what stands in the box at first.
    """
    controls = [text_box("thread", "Thread", thread), number_slider("answer", "Answer", 1, 6, 1)]
    return Explorer("Ask for a thread", controls, partial(ask_view, lathe), aspect=_TALL, facts_px=250)


def one_turn(lathe: Lathe, *, driver: int = 40, driven: int = 80, lever: str | None = None) -> Explorer:
    """Choose a driver, a driven gear, idlers and the lever; see what one turn of the spindle does.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = one_turn(demo_lathe("inch"), lever="middle")
    >>> explorer.set(driven=60)
    >>> explorer.shown.facts[0]["threads per inch"]
    '12'

    `lathe`: whose gears and levers are offered. Raises GearNotOwnedError when it lacks the first gears.
    """
    lathe.check_owned((driver, driven))
    idler = next((teeth for teeth in lathe.gears if teeth not in (driver, driven)), driver)
    controls = [
        gear_slider("driver", "Driver", lathe.gears, driver),
        gear_slider("driven", "Driven", lathe.gears, driven),
        choice("idlers", "Idlers", ("none", "one", "two"), "none"),
        gear_slider("idler", "Idler", lathe.gears, idler),
        *lever_buttons(lathe, lever),
        number_slider("turns", "Spindle", 0, 24, 1, "turns"),
    ]
    return Explorer("One turn of the spindle", controls, partial(one_turn_view, lathe), aspect=_ASPECT, facts_px=76)


def two_pairs(
    lathe: Lathe,
    *,
    drivers: tuple[int, int] = (30, 63),
    driven: tuple[int, int] = (50, 80),
    lever: str | None = None,
    thread: str = "1.5 mm",
) -> Explorer:
    """Choose two pairs of gears and the lever, say what is wanted, and see how far off the thread is.

    >>> from gearcalc.lathes import demo_lathe
    >>> two_pairs(demo_lathe("inch"), lever="middle").shown.facts[0]["error"]
    '+125 ppm'

    Raises GearNotOwnedError when the lathe lacks the first gears.
    """
    lathe.check_owned((*drivers, *driven))
    controls = [
        gear_slider("first_driver", "First driver", lathe.gears, drivers[0]),
        gear_slider("first_driven", "First driven", lathe.gears, driven[0]),
        gear_slider("second_driver", "Second driver", lathe.gears, drivers[1]),
        gear_slider("second_driven", "Second driven", lathe.gears, driven[1]),
        *lever_buttons(lathe, lever),
        text_box("thread", "Wanted", thread),
    ]
    return Explorer("Two pairs of gears", controls, partial(two_pairs_view, lathe), aspect=_ASPECT, facts_px=76)


def lever_buttons(lathe: Lathe, lever: str | None) -> list[dict[str, Any]]:
    """The lever as buttons, where the lathe has one; down is `lever`, or the one in the middle.

    >>> from gearcalc.lathes import demo_lathe
    >>> lever_buttons(demo_lathe("inch"), None)[0]["labels"]
    ['low × 1/2', 'middle × 1', 'high × 2']
    """
    if not lathe.gearbox:
        return []
    names = list(lathe.levers)
    labels = [f"{name} × {writing.ratio(ratio)}" for name, ratio in lathe.levers.items()]
    return [choice("lever", "Lever", names, lever or names[len(names) // 2], labels)]
