"""The explorers of feeds: the feed and the finish it leaves, and the time to the shoulder."""

from __future__ import annotations

from fractions import Fraction
from functools import partial

from gearcalc.basics import both_units, writing
from gearcalc.basics.exact import INCH_MM
from gearcalc.basics.writing import Units
from gearcalc.cutting.feed_changes import FeedChange, change_to_feed
from gearcalc.cutting.turning import Finish, ShoulderRun, finish, no_faster_than, speed_for_shoulder, time_to_shoulder
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import Setup, assemble
from gearcalc.lathes import Lathe
from gearcalc.learning.explorers import page, typed
from gearcalc.learning.explorers.handed import as_handed
from gearcalc.pictures.feed_pictures import turned_profile
from gearcalc.pictures.shoulder_pictures import shoulder_picture
from gearcalc.threads import Feed, Thread, as_thread

SLIDES = {"along the bed": "longitudinal", "across": "cross"}
"""Where the tool is fed, in words."""

_FEEDS_MM, _NOSES_MM, _ROOMS_MM = (Fraction(1, 200), 2), (Fraction(1, 20), 10), (Fraction(1, 10), 500)
"""The least and the most that is taken, in mm."""
_SHOWN_MM = 4


@as_handed
def feed_view(
    lathe: Lathe,
    *,
    thread: str | Thread = "M10",
    feed: object = "0.1",
    slide: str = "along the bed",
    nose: object = 0.4,
) -> page.View:
    r"""From the gears of a thread to a feed, and the grooves that the feed leaves, beside those of half the feed.

    >>> from gearcalc.lathes import demo_lathe
    >>> seen = feed_view(demo_lathe("metric"), thread="M10", feed=0.1, nose=0.8)
    >>> seen.facts[1]["feed a turn"], seen.facts[1]["Rt"], seen.note[:30]
    ('0.1 mm (3.94 thou)', '1.56 µm', 'To move: 1 gear and the lever.')

    `thread`: what the gears on the lathe cut now; `feed`: asked for, 0.005 to 2 mm a turn; `slide`: a key of SLIDES;
    `nose`: radius of the tool, 0.05 to 10 mm. Numbers may be text.
    Raises ThreadTextError for text that is no thread, NotPossibleError where the lathe has no such feed,
    ValueOutOfRangeError for numbers outside these, or a feed wider than the nose.
    """
    way = SLIDES[typed.one_of(slide, "slide", SLIDES)]
    wanted = Feed(typed.read_number(feed, "the feed in mm a turn", *_FEEDS_MM), way)
    radius = typed.read_number(nose, "the nose radius in mm", *_NOSES_MM)
    (mounted,) = page.best_setups(lathe, as_thread(thread), 1)
    change = change_to_feed(lathe, mounted, wanted)
    made = finish(change.to, radius)
    half = Finish(made.feed_mm / 2, radius, lathe.units)
    picture = turned_profile(made, half, window_mm=_SHOWN_MM)
    now = assemble(lathe, mounted.train, lathe.lever(mounted.lever), wanted)  # what is mounted, seen as a feed
    facts = (_row("now", now, radius), _row("for the feed", change.to, radius))
    said = [f"To move: {_to_move(change)}.", change.in_words.removeprefix("No gear moves. "), *made.notes]
    return page.View(picture, facts, " ".join(said))


def _row(name: str, setup: Setup, radius: Fraction) -> dict[str, object]:
    """One setup: its gears, and the grooves of its feed; none where that is wider than the nose."""
    feed = setup.feed_mm or Fraction(0)
    grooves: dict[str, object] = {"Rt": None, "Ra": None}
    if feed <= 2 * radius:
        made = Finish(feed, radius, setup.lathe.units)
        grooves = {"Rt": made.one_way(made.rt_um), "Ra": made.one_way(made.ra_um)}
    row: dict[str, object] = {"setup": name, "gears": str(setup.train)}
    if setup.lever is not None or setup.reverse_fitted:
        row["reverse" if setup.lever is None else "lever"] = setup.settings or setup.reverse_stands
    both = [str(writing.length(feed)), _thou(feed)]
    if setup.lathe.units == "inch":
        both.reverse()
    return {**row, "feed a turn": "{} ({})".format(*both), **grooves}


@as_handed
def shoulder_view(
    *, cut: str = "M10", rpm: object = 60, room: object = 4.5, wanted: object = 2, units: Units = "mm"
) -> page.View:
    """How long the tool takes across a groove, or up to a stop, and whether that is enough for hand and eye.

    >>> seen = shoulder_view(cut="M10", rpm=120, room=4.5, wanted=2)
    >>> seen.facts[0]["time"], seen.facts[0]["fastest for 2 s"]
    ('1.5 s', '90 rev/min')

    `cut`: a thread or a feed; `rpm`: 1 to 3000; `room`: 0.1 to 500 mm; `wanted`: 0.1 to 60 s. Numbers may be text.
    `units`: 'mm' or 'inch', what is read first.
    Raises ThreadTextError for text that is neither, ValueOutOfRangeError for numbers outside these.
    """
    needed = typed.read_number(wanted, "the time wanted in seconds", Fraction(1, 10), 60)
    speed = typed.read_number(rpm, "the speed in rev/min", 1, 3000)
    run = time_to_shoulder(cut, speed, typed.read_number(room, "the room in mm", *_ROOMS_MM), units)
    fastest = speed_for_shoulder(cut, run.room_mm, needed)
    facts: dict[str, object] = {
        "travel in a turn": str(both_units.travel(run.travel_mm, units)),
        "carriage": f"{both_units.reading(run.mm_per_second, units)} a second",
        "turns": writing.decimal(run.turns, 2),
        "time": writing.seconds(run.seconds),
        f"fastest for {writing.seconds(float(needed))}": f"{no_faster_than(fastest)} rev/min",
    }
    return page.View(shoulder_picture(run, float(needed)), (facts,), _advice(run, needed, fastest))


def _advice(run: ShoulderRun, needed: Fraction, fastest: float) -> str:
    if run.seconds >= needed:
        return "Enough, if nothing distracts you. Try it first with the tool clear of the work."
    width = run.travel_mm * (run.rpm * needed / 60)
    wider = f"{writing.decimal(width, 1, toward='up')} mm"
    if run.units == "inch":
        wider = f"{writing.decimal(width / INCH_MM, 2, toward='up')} in"
    said = f"Too short: go no faster than {no_faster_than(fastest)} rev/min"
    return said + (f", or make the groove {wider} wide." if run.starts else f", or stop {wider} before.")


def _to_move(change: FeedChange) -> str:
    others = [f"the {stand.called}" for stand in change.levers_to_move] + ["the reverse"] * bool(change.reverse_moves)
    if change.moved:
        return writing.listed([writing.counted(change.moved, "gear"), *others])
    return f"{writing.listed(others)} only" if others else "nothing"


def _thou(feed_mm: Fraction) -> str:
    return f"{writing.decimal(feed_mm / INCH_MM * 1000, 2)} thou"


@as_handed
def feed_and_finish(
    lathe: Lathe, thread: str = "M10", *, feed: float | None = None, nose: float = 0.4
) -> page.Explorer:
    r"""Choose a feed and the nose of the tool: the gears to move from a thread's train, and the grooves left behind.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = feed_and_finish(demo_lathe("metric"))
    >>> explorer.set(feed=0.1, nose=0.8)
    >>> explorer.shown.facts[1]["Rt"]
    '1.56 µm'

    `thread`: what the gears on the lathe cut; `feed`: mm a turn at first, 0.02 to 0.6, None for 0.2 or what the lathe
    has nearest to that; `nose`: radius at first, 0.1 to 3.2 mm. On an inch lathe both are asked in inches. Where the
    lathe has a cross feed it can be chosen.
    """
    has_cross = lathe.feeds is not None and lathe.feeds.cross is not None
    at_first = _usual_feed(lathe) if feed is None else feed
    slides = list(SLIDES) if has_cross else list(SLIDES)[:1]
    controls = [
        page.text_box("thread", "Thread", thread),
        page.choice("slide", "Feed", slides, slides[0]),
        page.length_slider(lathe.units, "feed", "A turn", 0.02, 0.6, at_first, 0.005),
        page.length_slider(lathe.units, "nose", "Nose", 0.1, 3.2, nose, 0.1),
    ]
    show = page.in_owners_unit(lathe.units, partial(feed_view, lathe), feed=_FEEDS_MM, nose=_NOSES_MM)
    return page.explorer("Feed and finish", controls, show, facts_px=200)


def _usual_feed(lathe: Lathe) -> float:
    """0.2 mm a turn, or the nearest that the lathe has."""
    usual = Feed(Fraction(1, 5))
    for found in find_setups(lathe, usual, count=1):
        return min(max(float(found.feed_mm or 0), 0.02), 0.6) if abs(found.error_ppm or 0) > 100_000 else 0.2
    return 0.2


@as_handed
def time_to_the_shoulder(
    cut: str = "M10", *, rpm: int = 60, room: float = 4.5, wanted: float = 2, units: Units = "mm"
) -> page.Explorer:
    """Choose speed and groove: the seconds and turns until the tool is at the shoulder, beside those you want.

    >>> explorer = time_to_the_shoulder("1.5 mm")
    >>> explorer.set(rpm=120)
    >>> explorer.shown.facts[0]["time"]
    '1.5 s'

    `cut`: a thread or a feed, in the box at first; `rpm`: rev/min, 10 to 600; `room`: groove or way, 0.5 to
    20 mm; `wanted`: seconds, 0.5 to 6; `units`: 'mm' or 'inch', what is read first, and what the groove is asked in.
    """
    controls = [
        page.text_box("cut", "Cutting", cut),
        page.number_slider("rpm", "Speed", 10, 600, rpm, "rev/min", step=5),
        page.length_slider(units, "room", "Groove", 0.5, 20, room, 0.5),
        page.number_slider("wanted", "Wanted", 0.5, 6, wanted, "seconds", step=0.5),
    ]
    show = page.in_owners_unit(units, partial(shoulder_view, units=units), room=_ROOMS_MM)
    return page.explorer("Time to the shoulder", controls, show, facts_px=90)
