"""Which gears and which lever give which feed? One row a feed, each with the fewest gears moved from the row above.

Where as few gears move either way, a train that stands in the chart already is taken again with another lever.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import islice

from attrs import frozen

from gearcalc.basics.arguments import is_several
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, NumberLike, as_fraction
from gearcalc.basics.writing import Units
from gearcalc.cutting.feed_changes import change_to_feed
from gearcalc.finding.mounted import Mounted, train_said
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import Setup, assemble
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.levers import moved_levers
from gearcalc.lathes.orders import gears_moved
from gearcalc.threads import Feed, FeedLike
from gearcalc.threads.wanted import NEAR_ENOUGH_PERCENT

USUAL_FEEDS_MM = tuple(Fraction(f) for f in ("0.05", "0.063", "0.08", "0.1", "0.125", "0.16", "0.2", "0.25", "0.315"))
"""Feeds for a chart when none are named: preferred numbers, each about a quarter more than the one before (ISO 3, R10).
Which of them to take is our choice."""

USUAL_FEEDS_THOU = tuple(Fraction(f) for f in ("2", "2.5", "3", "4", "5", "6", "8", "10", "12"))
"""The same for who reads inches: the same steps, rounded (our choice)."""

_MOST_FEEDS = 200


@frozen
class FeedRow:
    """One feed of a chart: the setup for it and what has to be moved, or why there is none. Made by feed_rows().

    `moved`: gears from the row above, idlers counted; from `mounted` in the first row, None where nothing is.
    `lever_moves`: whether the lever goes to another position for it.
    """

    feed: Feed
    setup: Setup | None = None
    moved: int | None = None
    lever_moves: bool = False
    why: str = ""

    @property
    def off_percent(self) -> float | None:
        """How far off the feed asked for, in per cent; positive when coarser."""
        return None if self.setup is None or self.setup.error_ppm is None else self.setup.error_ppm / 10_000


def feed_rows(
    lathe: Lathe,
    feeds: FeedLike | Iterable[FeedLike] | None = None,
    mounted: Mounted | None = None,
    within_percent: NumberLike = NEAR_ENOUGH_PERCENT,
) -> list[FeedRow]:
    """A setup for each feed, in the order given, each with the fewest gears moved from the one before.

    >>> from gearcalc.lathes import demo_lathe
    >>> for row in feed_rows(demo_lathe("metric"), ["0.05 mm/rev", "0.1 mm/rev", "0.2 mm/rev"]):
    ...     print(row.moved, row.setup)
    None 20/50, idler 72, lever slow: feed 0.05 mm/rev (≈ 0.00197 in/rev) longitudinal, exact
    0 20/50, idler 72, lever medium: feed 0.1 mm/rev (≈ 0.00394 in/rev) longitudinal, exact
    0 20/50, idler 72, lever fast: feed 0.2 mm/rev (≈ 0.00787 in/rev) longitudinal, exact

    `feeds`: one or up to 200, Feeds or their texts; None: USUAL_FEEDS_MM along the bed, or
    USUAL_FEEDS_THOU where inches are read first. `mounted`: what the first row
    starts from. `within_percent`: how far off a feed may be, 0 to 50; 10 by our convention.
    A lathe whose file gives no [feeds] feeds through the half-nuts, and has no cross feed: such a row says so.
    Raises ThreadTextError for text that is no feed, ValueOutOfRangeError for none, or for a bound outside those.
    """
    lathe = as_lathe(lathe)
    train_said(lathe, mounted)  # what is refused is refused for all rows, not in each
    rows: list[FeedRow] = []
    for feed in _listed(feeds, lathe.units):
        row = _with_gears_from_above(lathe, _row(lathe, feed, mounted, within_percent), mounted, rows, within_percent)
        mounted = row.setup or mounted
        rows.append(row)
    return rows


def other_slide_mm(setup: Setup) -> Fraction | None:
    """What the other slide would feed with the same gears and lever, mm a turn; None where the lathe has no such feed.

    >>> from gearcalc.lathes import demo_lathe
    >>> row = feed_rows(demo_lathe("metric"), "0.1 mm/rev")[0]
    >>> other_slide_mm(row.setup)
    Fraction(1, 20)
    """
    if setup.lathe.feeds is None:
        return None
    along = setup.wanted.along if isinstance(setup.wanted, Feed) else "longitudinal"
    other = setup.lathe.feeds.cross if along == "longitudinal" else setup.lathe.feeds.longitudinal
    return None if other is None else setup.lead_mm * other


def _listed(feeds: object, units: Units) -> Sequence[Feed]:
    if feeds is None and units == "inch":
        return [Feed(thou * INCH_MM / 1000) for thou in USUAL_FEEDS_THOU]
    if feeds is None:
        return [Feed(travel) for travel in USUAL_FEEDS_MM]
    if isinstance(feeds, Feed | str):
        feeds = [feeds]
    if not is_several(feeds):
        raise ValueOutOfRangeError("feeds are Feeds or their texts", value=feeds, remedy="Write one like '0.1 mm/rev'.")
    listed = list(islice(feeds, _MOST_FEEDS + 1))
    if not 1 <= len(listed) <= _MOST_FEEDS:
        raise ValueOutOfRangeError(f"a feed chart takes 1 to {_MOST_FEEDS} feeds")
    return [feed if isinstance(feed, Feed) else Feed.parse(feed) for feed in listed]


def _row(lathe: Lathe, feed: Feed, mounted: Mounted | None, within_percent: NumberLike) -> FeedRow:
    """Where nothing is mounted that could stay, the nearest of the simplest trains."""
    try:
        if mounted is None:
            ppm = as_fraction(within_percent, what="within_percent") * 10_000
            simplest = find_setups(lathe, feed, meshes=1, count=1, within_ppm=ppm)
            found = simplest or find_setups(lathe, feed, count=1, within_ppm=ppm)
            return FeedRow(feed, found[0]) if found else FeedRow(feed, why=found.why)
        change = change_to_feed(lathe, mounted, feed, within_percent)
        return FeedRow(feed, change.to, change.moved, change.lever_moves)
    except NotPossibleError as problem:
        return FeedRow(feed, why=str(problem))


def _with_gears_from_above(
    lathe: Lathe, row: FeedRow, mounted: Mounted | None, above: Sequence[FeedRow], within: NumberLike
) -> FeedRow:
    """The row with a train that the chart has already, where that moves no more gears: fewer trains to remember."""
    if row.setup is None or row.moved is None or not isinstance(mounted, Setup):
        return row
    share = as_fraction(within, what="within_percent") / 100
    for earlier in above:
        if earlier.setup is None or gears_moved(lathe.gear_set, earlier.setup.train, mounted.train) > row.moved:
            continue
        setup = _with_its_lever(earlier.setup, row.feed, share, mounted)
        if setup is not None:
            moved = gears_moved(lathe.gear_set, setup.train, mounted.train)
            return FeedRow(row.feed, setup, moved, setup.lever != mounted.lever)
    return row


def _with_its_lever(earlier: Setup, feed: Feed, share: Fraction, mounted: Setup) -> Setup | None:
    """The train with the levers as they serve the feed, the fewest of them moved; None where they don't."""

    def work(setup: Setup) -> tuple[int, Fraction]:
        return len(moved_levers(mounted.position, setup.position)), _miss(setup)

    each = [assemble(earlier.lathe, earlier.train, lever, feed, earlier.fit) for lever in earlier.lathe.positions]
    serve = [setup for setup in each if _miss(setup) <= share and setup.hand == earlier.hand]
    return min(serve, key=work, default=None)


def _miss(setup: Setup) -> Fraction:
    assert setup.error is not None
    assert setup.error.exact is not None  # a feed has no π in it
    return abs(setup.error.exact)
