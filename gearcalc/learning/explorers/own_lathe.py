"""The explorer for one's own lathe: which gears are worth adding, and what they open."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache, partial

from attrs import evolve

from gearcalc.basics.arguments import as_teeth
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.finding.additions import GearsToAdd, gears_to_add
from gearcalc.lathes import Lathe
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.learning.explorers import page, typed
from gearcalc.learning.explorers.handed import as_handed
from gearcalc.pictures.gear_set_charts import what_opens
from gearcalc.pictures.picture import Row
from gearcalc.threads import Thread
from gearcalc.threads.wanted import Wanted

MOST_TO_ADD = {"one gear": 1, "two": 2, "three": 3, "four": 4}
"""How many gears may be added, in words."""

_LARGEST_PPM = 5000
_SMALLEST, _LARGEST = 10, 200
_SIZES = re.compile(r"(?P<low>[0-9]{1,4}) *(?:to|-|–|…|\.\.\.?) *(?P<high>[0-9]{1,4})", re.IGNORECASE | re.ASCII)


@as_handed
def adding_view(
    lathe: Lathe,
    *,
    gears: str | Iterable[int],
    threads: str | Iterable[str | Thread],
    within: object = 50,
    most: str = "three",
    sizes: str | Iterable[int] = "20 to 127",
) -> page.View:
    """The fewest gears to add for these threads, what they open, and how far that is proved.

    >>> from gearcalc.lathes import demo_lathe
    >>> seen = adding_view(demo_lathe("inch"), gears="20 30 40 50 60 80", threads="1 mm, 1.25 mm, 16 tpi", within=0)
    >>> print(seen.note)
    Add 127: then the lathe cuts every thread exactly. Without a new gear it can't be done: proved for all \
trains of 1 or 2 meshes that go on the bracket, from the gears that are there and added ones of 20 to 127 teeth. \
Trains of 3 meshes are not counted; with them fewer gears may do.

    `gears`: tooth counts that are there; `threads`: 1 to 14 of them; `within`: 0 to 5000 ppm; `most`: a key of
    MOST_TO_ADD; `sizes`: tooth counts that can be had, '20 to 127', or a list of them.
    Raises UnknownNameError, ValueOutOfRangeError, ThreadTextError for what can't be read.
    """
    number = MOST_TO_ADD[typed.one_of(most, "most", MOST_TO_ADD)]
    wanted = typed.read_threads(threads)
    there = typed.read_gear_set(lathe.gear_set, gears)
    plan = _plan(lathe, there, wanted, read_tolerance(within), number, read_sizes(sizes))
    rows = tuple(_row(plan, place) for place in range(len(plan.threads)))
    return page.View(what_opens(plan), rows, " ".join((plan.verdict, *plan.notes)))


@lru_cache(maxsize=32)
def _plan(
    lathe: Lathe, gears: GearSet, threads: tuple[Wanted, ...], within: Fraction, most: int, sizes: tuple[int, ...]
) -> GearsToAdd:
    """Kept, since what was typed before is often typed again."""
    own = evolve(lathe, gear_set=gears)
    return gears_to_add(own, threads, within, most, sizes)


def read_tolerance(given: object) -> Fraction:
    """A tolerance in ppm, 0 to 5000; 0 is 'exact only'.

    >>> read_tolerance("12,5"), read_tolerance("50 ppm")
    (Fraction(25, 2), Fraction(50, 1))

    Raises ValueOutOfRangeError for anything else.
    """
    bare = given.strip().removesuffix("ppm").strip() if isinstance(given, str) else given
    return typed.read_number(bare, "the tolerance", 0, _LARGEST_PPM, "ppm", "Write it like 50; 0 is 'exact only'.")


def read_sizes(given: str | Iterable[int]) -> tuple[int, ...]:
    """Tooth counts that can be had: from one to another, or a list.

    >>> len(read_sizes("20 to 127")), read_sizes("21, 63 127")
    (108, (21, 63, 127))

    Raises ValueOutOfRangeError for anything else, and for counts below 10 or above 200.
    """
    found = _SIZES.fullmatch(given.strip()) if isinstance(given, str) else None
    counts = typed.read_gears(given) if found is None else map(int, found.group("low", "high"))
    sizes = tuple(as_teeth(teeth, what="a gear", fewest=_SMALLEST, most=_LARGEST) for teeth in counts)
    if found is None:
        return sizes
    low, high = sizes
    if low > high:
        raise ValueOutOfRangeError(
            "the sizes must run from the smaller to the larger", value=given, remedy="Write them like '20 to 127'."
        )
    return tuple(range(low, high + 1))


def _row(plan: GearsToAdd, place: int) -> Row:
    thread, before, after = plan.threads[place], plan.before[place], plan.setups[place]
    return {
        "thread": str(thread),
        "today": "none" if before is None else page.error_of(before),
        "with them": "none near enough" if after is None else page.error_of(after),
        "train": None if after is None else ", ".join(filter(None, (str(after.train), after.settings_said))),
        "new": "new" if thread in plan.opened else "",
    }


@as_handed
def gears_worth_adding(
    lathe: Lathe,
    threads: str | Iterable[str] = ("0.5 mm", "0.7 mm", "0.8 mm", "1 mm", "1.25 mm", "1.5 mm", "1.75 mm", "2 mm"),
    *,
    within: object = 50,
    most: str = "three",
    sizes: str = "20 to 127",
) -> page.Explorer:
    """Type the threads that you want and the tolerance: which few gears open them all, and is that the least?

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = gears_worth_adding(demo_lathe("inch"), threads=("1 mm", "16 tpi"))
    >>> explorer.set(within="0")
    >>> [row["with them"] for row in explorer.shown.facts]
    ['exact', 'exact']

    `lathe`: whose leadscrew, levers and bracket are used, and whose gears stand in the box at first. `within`: ppm;
    `most`: 'one gear', 'two', 'three' or 'four'; `sizes`: tooth counts that can be had.
    """
    controls = [
        page.text_box("gears", "Gears there", typed.gears_text(lathe.gear_set), wide=True),
        page.text_box("threads", "Threads", threads, wide=True),
        page.text_box("within", "Within ppm", within),
        page.text_box("sizes", "To be had", sizes),
        page.choice("most", "Add at most", MOST_TO_ADD, most, wide=True),
    ]
    return page.explorer("Gears worth adding", controls, partial(adding_view, lathe), facts_px=380)
