"""The turning train: choose gears and lever, and see them turn while the carriage cuts the thread."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import as_gears
from gearcalc.learning.explorers.first_lessons import lever_buttons
from gearcalc.learning.explorers.shell import Explorer, gear_slider, text_box
from gearcalc.learning.explorers.turning_views import NONE, TURNING_VIEW_PX, turning_view

_PLACES = ("first_driver", "first_driven", "second_driver", "second_driven", "first_idler", "second_idler")


def turning_train(
    lathe: Lathe,
    drivers: int | Sequence[int] = (40,),
    driven: int | Sequence[int] = (80,),
    *,
    idlers: int | Sequence[int] = (),
    lever: str | None = None,
    thread: str = "",
) -> Explorer:
    """Choose gears and lever; turn the spindle, by hand or under power, and watch gears, counters and carriage.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = turning_train(demo_lathe("inch"), lever="middle", thread="16 tpi")
    >>> explorer.shown.facts[0]["error"]
    'exact'
    >>> explorer.set(second_driver=50)
    >>> explorer.shown.note
    'The second pair of gears counts once it has both a driver and a driven gear.'

    `lathe`: whose gears and levers are offered. `drivers`, `driven`: one tooth count each, or two for a compound
    train; `idlers`: none to two, in the first mesh; `thread`: what is wanted, or nothing. The page turns it with no
    word to the kernel, and never starts on its own. On paper, turning_view with `turns` says the same.
    Raises GearNotOwnedError when the lathe lacks the first gears, ValueOutOfRangeError for more gears than that.
    """
    pairs = as_gears(drivers, most=2), as_gears(driven, most=2)
    between = as_gears(idlers, most=2)
    if not pairs[0] or len(pairs[0]) != len(pairs[1]):
        raise ValueOutOfRangeError("a train has as many drivers as driven gears, one or two of each", value=pairs)
    lathe.check_owned((*pairs[0], *pairs[1], *between))
    chosen: list[int | str] = [teeth for pair in zip(*pairs, strict=True) for teeth in pair]
    chosen += [NONE] * (4 - len(chosen))
    chosen += [*between, *[NONE] * (2 - len(between))]
    controls = [
        gear_slider(place, place.replace("_", " ").capitalize(), lathe.gears, teeth, or_else=[NONE] if n > 1 else [])
        for n, (place, teeth) in enumerate(zip(_PLACES, chosen, strict=True))
    ]
    controls += [*lever_buttons(lathe, lever), text_box("thread", "Wanted", thread)]
    aspect = TURNING_VIEW_PX[0] / TURNING_VIEW_PX[1]
    return Explorer("Turning train", controls, partial(turning_view, lathe), aspect=aspect, facts_px=106, turning=True)
