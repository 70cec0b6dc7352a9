"""The explorers of feeds: the feed and the finish it leaves, and the time to the shoulder."""

from __future__ import annotations

from functools import partial

from gearcalc.lathes import Lathe
from gearcalc.learning.explorers.feed_views import SLIDES, feed_view, shoulder_view
from gearcalc.learning.explorers.shell import Explorer, choice, number_slider, text_box
from gearcalc.pictures.shop.finish_pictures import PROFILE_PX
from gearcalc.pictures.shop.shoulder_pictures import SHOULDER_PX


def feed_and_finish(lathe: Lathe, thread: str = "M10", *, feed: float = 0.2, nose: float = 0.4) -> Explorer:
    r"""Choose a feed and the nose of the tool: the gears to move from a thread's train, and the grooves left behind.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = feed_and_finish(demo_lathe("metric"))
    >>> explorer.set(feed=0.1, nose=0.8)
    >>> explorer.shown.facts[1]["Rt"]
    '1.56\xa0µm'

    `thread`: what the gears on the lathe cut; `feed`: mm a turn at first, 0.02 to 0.6; `nose`: radius at first, 0.1 to
    3.2 mm. Where the lathe has a cross feed it can be chosen.
    """
    has_cross = lathe.feeds is not None and lathe.feeds.cross is not None
    slides = list(SLIDES) if has_cross else list(SLIDES)[:1]
    controls = [
        text_box("thread", "Thread", thread),
        choice("slide", "Feed", slides, slides[0]),
        number_slider("feed", "A turn", 0.02, 0.6, feed, "mm", step=0.005),
        number_slider("nose", "Nose", 0.1, 3.2, nose, "mm", step=0.1),
    ]
    aspect = PROFILE_PX[0] / PROFILE_PX[1]
    return Explorer("Feed and finish", controls, partial(feed_view, lathe), aspect=aspect, facts_px=200)


def time_to_the_shoulder(cut: str = "M10", *, rpm: int = 60, room: float = 4.5, wanted: float = 2) -> Explorer:
    """Choose speed and groove: the seconds and turns until the tool is at the shoulder, beside those you want.

    >>> explorer = time_to_the_shoulder("1.5 mm")
    >>> explorer.set(rpm=120)
    >>> explorer.shown.facts[0]["time"]
    '1.5 s'

    `cut`: a thread or a feed, in the box at first; `rpm`: rev/min, 10 to 600; `room`: groove or way, 0.5 to
    20 mm; `wanted`: seconds, 0.5 to 6.
    """
    controls = [
        text_box("cut", "Cutting", cut),
        number_slider("rpm", "Speed", 10, 600, rpm, "rev/min", step=5),
        number_slider("room", "Groove", 0.5, 20, room, "mm", step=0.5),
        number_slider("wanted", "Wanted", 0.5, 6, wanted, "seconds", step=0.5),
    ]
    aspect = SHOULDER_PX[0] / SHOULDER_PX[1]
    return Explorer("Time to the shoulder", controls, shoulder_view, aspect=aspect, facts_px=90)
