"""The explorer for one's own lathe: which gears are worth adding, and what they open."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from gearcalc.lathes import Lathe
from gearcalc.learning.explorers.own_lathe_views import MOST_TO_ADD, adding_view
from gearcalc.learning.explorers.shell import Explorer, choice, text_box
from gearcalc.pictures.shop.purchase_charts import OPENS_PX


def gears_worth_adding(
    lathe: Lathe,
    threads: str | Iterable[str] = ("0.5 mm", "0.7 mm", "0.8 mm", "1 mm", "1.25 mm", "1.5 mm", "1.75 mm", "2 mm"),
    *,
    within: object = 50,
    most: str = "three",
    sizes: str = "20 to 127",
) -> Explorer:
    """Type the threads that you want and the tolerance: which few gears open them all, and is that the least?

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = gears_worth_adding(demo_lathe("inch"), threads=("1 mm", "16 tpi"))
    >>> explorer.set(within="0")
    >>> [row["with them"] for row in explorer.shown.facts]
    ['exact', 'exact']

    `lathe`: whose leadscrew, levers and bracket are used, and whose gears stand in the box at first. `within`: ppm;
    `most`: 'one gear', 'two', 'three' or 'four'; `sizes`: tooth counts that can be had.
    """
    listed = threads if isinstance(threads, str) else ", ".join(map(str, threads))
    controls = [
        text_box("gears", "Gears there", " ".join(map(str, lathe.gears)), wide=True),
        text_box("threads", "Threads", listed, wide=True),
        text_box("within", "Within ppm", str(within)),
        text_box("sizes", "To be had", sizes),
        choice("most", "Add at most", list(MOST_TO_ADD), most, wide=True),
    ]
    aspect = OPENS_PX[0] / OPENS_PX[1]
    return Explorer(
        "Gears worth adding", controls, partial(adding_view, lathe), aspect=aspect, facts_px=380, facts_scroll=True
    )
