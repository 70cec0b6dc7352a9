"""Exercises for lesson 11, feeds and finish: feed from the gears, grooves, time to the shoulder, depth of thread."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from itertools import pairwise
from math import radians, sin

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.exact import INCH_MM, as_fraction
from gearcalc.basics.writing import decimal
from gearcalc.cutting.depths import thread_depth
from gearcalc.cutting.turning import finish, speed_for_shoulder, time_to_shoulder
from gearcalc.finding.setups import setup
from gearcalc.lathes import Feeds, Lathe, demo_lathe
from gearcalc.lathes.lathe import levers_in_words
from gearcalc.lathes.pieces import plain
from gearcalc.learning.exercises.answers import Choice, about
from gearcalc.learning.exercises.any_lathe import described, drawn_setup, slips_beside_the_gears
from gearcalc.learning.exercises.benches import derived, lead_of, leadscrew_of, plain_lathe, said
from gearcalc.learning.exercises.notes import Table
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import Draw, Task, poses
from gearcalc.threads import Feed, Thread

_SCREWS = ("3 mm", "4 mm", "6 mm")
_GEARS = (20, 24, 30, 36, 40, 50, 60, 80)
_NOSES = tuple(Fraction(radius) for radius in ("0.2", "0.4", "0.8", "1.2", "1.6"))
_TO_FIND_A_FEED_AMONG = 40
"""Setups of a lathe that feeds by its half-nuts: most cut threads, and only the finest will do for a feed."""


@poses("feed-from-the-gears", lesson=11, goal=1, title="Which feed is that?", any_lathe=True)
def feed_from_the_gears(draw: Draw, lathe: Lathe | None = None) -> Task:
    if lathe is None:
        screw, share = draw.choice(_SCREWS), Fraction(1, draw.choice((5, 6, 8, 10, 12)))
        small, large = sorted(draw.sample(_GEARS, 2))
        cuts = setup(evolve(plain_lathe(screw, _GEARS), feeds=Feeds(share)), small, large)
        about_it = f"A lathe has {leadscrew_of(cuts.lathe)}."
    else:
        share = lathe.feeds.longitudinal if lathe.feeds else Fraction(1)
        drawn = [drawn_setup(draw, lathe, 1) for _ in range(1 if share < 1 else _TO_FIND_A_FEED_AMONG)]
        cuts = min(drawn, key=lambda one: one.lead_mm)
        about_it = described(lathe, cuts.lever)
    lead, feed = cuts.lead_mm, cuts.lead_mm * share
    driver, driven = plain(cuts.train.drivers[0]), plain(cuts.train.driven[0])
    draw.only_if(driver < driven, "has no small gear that may drive a larger one")
    draw.only_if(feed >= Fraction(1, 50), "has no pair of gears, the small one driving, that feeds 0.02 mm or more")
    drive = f"With the same gears its feed drive moves the carriage **{share}** as far as the half-nuts would."
    last_step, by = f"The feed drive makes {share} of that.", f"By the feed drive, times {share}"
    if share == 1:
        drive, last_step, by = "It feeds by the half-nuts.", "That is the feed, by the half-nuts.", "So it feeds"
    return Task(
        question=f"""{about_it} {drive} The driver has **{driver}** teeth, the driven gear
            **{driven}**. How many mm does the carriage feed in one turn of the spindle?""",
        answer=Number(feed, "mm", places=3),
        slips={
            """feed drive forgotten: So far the half-nuts would carry it. They are open; the feed drive does the
            work.""": about(lead) if share != 1 else None,
            f"feed drive upside down: A feed is far finer than a thread. Multiply by {share}.": (
                about(lead / share) if share < 1 else None
            ),
            """gears upside down: Driver over driven: here the small gear drives the large one. Does the leadscrew turn
            faster or slower than the spindle?""": about(feed / cuts.train.ratio**2),
            """turned over: That is how many turns go to a millimetre. The feed is how many millimetres go to a
            turn.""": about(1 / feed),
            """leadscrew forgotten: How far does one turn of the leadscrew carry the carriage? That belongs in it
            too.""": about(feed / cuts.lathe.leadscrew_lead_mm),
            **slips_beside_the_gears(cuts, share),
            "inches for mm: That looks like inches. An inch is 25.4 mm.": about(feed / INCH_MM),
        },
        hints=f"""First as if you cut a thread: leadscrew times driver over driven, and what else turns the leadscrew.
            {last_step}""",
        solution=lambda: (
            derived(cuts),
            f"By the half-nuts: {writing.length(lead)} a turn.",
            f"{by}: **{decimal(feed, 4)} mm** a turn.",
        ),
        right="The same train, two speeds: the half-nuts for threads, the feed drive for everything else.",
        apart=lathe is None,
    )


@poses("how-deep-are-the-grooves", lesson=11, goal=2, title="How deep are the grooves?")
def how_deep_are_the_grooves(draw: Draw) -> Task:
    made = finish(*draw.choice(_plain_grooves()))
    feed, nose = decimal(made.feed_mm), decimal(made.nose_radius_mm)
    rt = as_fraction(made.usual_rt_um)
    return Task(
        question=f"""You turn with a feed of **{feed} mm** a turn and a tool with a nose radius of **{nose} mm**. How
            many micrometres deep are the grooves, Rt, in theory?""",
        answer=Number(rt, "µm", places=1),
        slips={
            "in millimetres: That is in millimetres. A millimetre has 1000 µm.": about(rt / 1000),
            """Ra for Rt: That is the mean roughness Ra. The depth from ridge to bottom, Rt, is
            asked for.""": about(rt / 4),
            "feed not squared: The feed counts squared.": about(rt / made.feed_mm),
            "diameter for radius: Take the radius of the nose, not its diameter.": about(rt / 2),
            """two for eight: Only half a feed reaches from the bottom to the ridge, and that half is squared: eight
            times the radius below the line.""": about(rt * 4),
            "no eight: Below the line stands eight times the radius, not the radius alone.": about(rt * 8),
        },
        hints=f"""Rt = f² / (8 ρ), with ρ the nose radius and everything in millimetres.
            The feed squared is {decimal(made.feed_mm**2, 6)}. And 1 mm is 1000 µm.""",
        solution=lambda: (
            f"Rt = f² / (8 ρ) = {feed}² / (8 · {nose}) mm = {decimal(rt / 1000, 6)} mm.",
            made,
            f"By the usual formula **{decimal(rt, 3)} µm**.",
        ),
        right="Half the feed would leave a quarter of that.",
    )


_FINEST_UM, _ROUGHEST_UM = 1.6, 16
"""Grooves, Rt, that a drawing may ask of turning (common practice, no source)."""


@cache
def _plain_grooves() -> tuple[tuple[Fraction, Fraction], ...]:
    """Feeds and noses whose grooves are what turning leaves, and the same to a tenth by arc and by formula.

    Without 0.25 mm, since there two slips come to the same.
    """
    feeds = [Fraction(feed, 100) for feed in (8, 10, 12, 14, 15, 16, 18, 20, 22, 24, 28, 30)]
    made = [finish(feed, nose) for feed in feeds for nose in _NOSES]
    plain = (one for one in made if one.usual_rt_um >= _FINEST_UM and one.rt_um - one.usual_rt_um < 0.03)
    return tuple((one.feed_mm, one.nose_radius_mm) for one in plain)


_FEEDS = tuple(Fraction(feed, 1000) for feed in (50, 63, 80, 100, 125, 160, 200, 250, 315, 400))


@poses("coarsest-feed-that-will-do", lesson=11, goal=2, title="The coarsest feed that will do")
def coarsest_feed_that_will_do(draw: Draw) -> Task:
    nth = draw.evenly(range(2, len(_FEEDS) - 1))
    place = draw.choice([place for place in (1, 2, 3) if 0 <= nth - place <= len(_FEEDS) - 5])
    feeds, best = _FEEDS[nth - place : nth - place + 5], _FEEDS[nth]
    most = Fraction(0)
    while not _FINEST_UM <= most <= _ROUGHEST_UM:
        nose, share = draw.choice(_NOSES[1:]), draw.choice((0.25, 0.5, 0.7))
        does, too_deep = finish(best, nose).rt_um, finish(feeds[place + 1], nose).rt_um
        most = Fraction(round(10 * (does + (too_deep - does) * share)), 10)
    by_ra = max(feed for feed in feeds if finish(feed, nose).rt_um / 4 <= most)
    return Task(
        question=f"""The drawing allows grooves of **{decimal(most)} µm** (Rt) on a turned journal. Your tool has a nose
            radius of **{decimal(nose)} mm**, and the gearbox gives the feeds in the table. Which is the coarsest feed
            that will do, in theory?""",
        table=Table("Feeds of this lathe", "Row | mm a turn", enumerate(map(decimal, feeds), 1)),
        answer=Number(best, "mm", places=3),
        slips={
            """Ra for Rt: By the mean roughness, Ra, that would do. The drawing asks for Rt, from ridge to bottom: by
            the usual formulas four times as much.""": by_ra if by_ra != best else None,
            "inches for mm: That looks like inches. An inch is 25.4 mm.": about(best / INCH_MM),
            "too coarse": (
                lambda read: read in feeds[place + 1 :],
                lambda read: f"That leaves grooves of {decimal(finish(read, nose).rt_um, 2)} µm. Too deep.",
            ),
            "too careful: That will do, and so would a coarser one, which saves time.": lambda read: (
                read in feeds[:place]
            ),
            """number of a row: That looks like the number of a row. Answer with the feed that stands in
            it.""": lambda read: read in range(1, len(feeds) + 1),
            "grooves for feed: That is how deep the grooves may be, in µm. A feed in mm is asked for.": most,
            """not in the table: The lathe has no such feed. Choose one from the table: the next finer
            one.""": lambda read: feeds[0] < read < feeds[-1],
        },
        hints="""Rt = f² / (8 ρ), with ρ the nose radius. Try the middle feed first.
            Or turn it round: f = √(8 ρ Rt), everything in millimetres; then the next finer one in the table.""",
        solution=lambda: (
            *(f"{decimal(feed)} mm: {decimal(finish(feed, nose).rt_um, 2)} µm." for feed in feeds),
            f"The coarsest that leaves no more than {decimal(most)} µm: **{decimal(best)} mm**.",
        ),
        right="Finer than it must be costs time. A larger nose would allow a coarser feed.",
    )


_SEVERAL_STARTS = ("M12xPh2.5P1.25", "M16xPh3P1.5", "M20xPh5P2.5", "Tr 16x12(P4)", "Tr 20x8(P4)", "Tr 40x14(P7)")
_TO_A_SHOULDER = ("M6", "M8", "M10", "M12", "M20", "8 tpi", "16 tpi", "20 tpi", *_SEVERAL_STARTS)
_GROOVES = tuple(Fraction(mm, 2) for mm in (6, 7, 8, 9, 10, 12, 14, 16))
_SPEEDS = (20, 30, 45, 60, 80, 110, 150, 200, 280)


def _named(thread: str) -> str:
    """The thread with all that is asked of it, so that nobody has to look up a pitch."""
    starts = Thread.parse(thread).starts
    several = f"{starts} starts, " if starts > 1 else ""
    pitch = f" ({several}pitch {decimal(lead_of(thread) / starts)} mm)"
    return f"**{thread}**{'' if thread.endswith('tpi') else pitch}"


@poses("seconds-to-the-shoulder", lesson=11, goal=3, title="How many seconds to the shoulder?")
def seconds_to_the_shoulder(draw: Draw) -> Task:
    thread, room, rpm = draw.choice(_SEVERAL_STARTS), draw.choice(_GROOVES), draw.choice(_SPEEDS)
    lead, starts = lead_of(thread), Thread.parse(thread).starts
    turns = room / lead
    seconds, no_lead, times = 60 * turns / rpm, 60 * room / rpm, 60 * room * lead / rpm
    slips = (seconds * starts, turns, seconds / 60, no_lead, 1 / seconds, times)
    draw.only_if(0.4 <= seconds <= 12 and min(abs(x - seconds) for x in slips) > 0.1)
    return Task(
        question=f"""You cut {_named(thread)} at **{rpm} rev/min** up to a shoulder. From where
            the thread ends the tool can go **{decimal(room)} mm** before it touches. How many seconds is that?""",
        answer=Number(seconds, "s", places=1),
        slips={
            """pitch for lead: In one turn the tool goes a lead, and this thread has several
            starts.""": about(seconds * starts),
            "turns for seconds: So many turns it is. How long do they take?": about(turns),
            "minutes: That is in minutes. A minute has 60 seconds.": about(seconds / 60),
            "lead forgotten: That would be right if one turn carried the tool just 1 mm.": about(no_lead),
            "upside down: Upside down: faster turning must leave less time.": about(1 / seconds),
            "times the lead: A coarser thread gets there sooner. Divide by the lead.": about(times),
        },
        hints=f"""How many turns are there in that room? Room over lead.
            At {rpm} rev/min one turn takes 60/{rpm} of a second.""",
        solution=lambda: (
            f"The lead is {writing.length(lead)}, so {decimal(room)} mm is {decimal(turns, 3)} turns.",
            time_to_shoulder(thread, rpm, room),
            f"{decimal(turns, 3)} · 60 / {rpm} = **{decimal(seconds, 2)} s**.",
        ),
        right="Say the number aloud before you close the half-nuts. Would you get a lever over in that time?",
        apart=True,
    )


@poses("fast-enough-and-no-faster", lesson=11, goal=3, title="Fast enough, and no faster")
def fast_enough_and_no_faster(draw: Draw) -> Task:
    best, next_faster = draw.evenly(tuple(pairwise(_SPEEDS[1:])))
    thread, room = draw.choice(_TO_A_SHOULDER), draw.choice(_GROOVES)
    wanted = Fraction(draw.choice((3, 4, 5, 6)), 2)
    fastest = speed_for_shoulder(thread, room, wanted)
    draw.only_if(1.06 * best < fastest < next_faster / 1.06)
    lead, starts = lead_of(thread), Thread.parse(thread).starts
    by_pitch = 60 * room * starts / (lead * wanted)

    def seconds_left(rpm: int) -> float:
        return time_to_shoulder(thread, rpm, room).seconds

    more = ", and the lead is starts times pitch" if starts > 1 else ""
    for_lead = Fraction(max(speed for speed in _SPEEDS if speed <= by_pitch)) if starts > 1 else None
    no_lead = Fraction(max(speed for speed in _SPEEDS if speed <= 60 * room / wanted))
    return Task(
        question=f"""{_named(thread)} runs into a groove, where the tool has **{decimal(room)} mm** to
            spare. You want **{decimal(wanted)} seconds** to open the half-nuts. What is the fastest of the speeds in
            the table that leaves them?""",
        table=Table("Speeds of this lathe", "Step | rev/min", enumerate(_SPEEDS, 1)),
        answer=Number(Fraction(best), "rpm"),
        slips={
            """pitch for lead: So it would be by the pitch. In one turn the tool goes a lead: starts times
            pitch.""": for_lead,
            """lead forgotten: So it would be if one turn carried the tool just 1 mm. How far does it carry
            it?""": no_lead if no_lead not in (best, for_lead) else None,
            "too fast": (
                lambda read: read in _SPEEDS and read > best,
                lambda read: f"At {read} rev/min only {decimal(seconds_left(read), 2)} seconds are left.",
            ),
            """slower than it must be: That leaves the time, and more. The fastest that still does is asked
            for.""": lambda read: read in _SPEEDS and read < best,
            """number of a row: That looks like the number of a step. Answer with the speed that stands beside
            it.""": lambda read: read in range(1, len(_SPEEDS) + 1),
            """not in the table: The lathe has no such speed. Choose from the table, on the safe
            side.""": lambda read: _SPEEDS[0] < read < _SPEEDS[-1],
        },
        hints=f"""How many turns may the spindle make in that room? Room over lead{more}.
            So many turns in {decimal(wanted)} seconds: how many in a minute? Then the next slower speed.""",
        solution=lambda: (
            f"{decimal(room)} mm over a lead of {writing.length(lead)} is {decimal(room / lead, 3)} turns.",
            f"In {decimal(wanted)} s: so at most {decimal(fastest, 1, toward='down')} rev/min.",
            time_to_shoulder(thread, best, room),
            f"The next speed below: **{best}**.",
        ),
        right="When in doubt go slower, or make the groove wider.",
    )


_EXTERNAL = ("M6", "M8", "M10", "M12", "M16", "M20", "M24", "M30", "M16xPh3P1.5", "M12xPh2.5P1.25", "M20xPh5P2.5")
_COMPOUND = (Fraction(29), Fraction(59, 2), Fraction(30))


@poses("how-far-in-at-an-angle", lesson=11, goal=3, title="How far in, at an angle?")
def how_far_in_at_an_angle(draw: Draw) -> Task:
    thread, angle = draw.choice(_EXTERNAL), draw.choice(_COMPOUND)
    depth = thread_depth(thread)
    starts = depth.thread.starts
    pitch, infeed, straight = lead_of(thread) / starts, as_fraction(depth.infeed_mm(angle)), as_fraction(depth.depth_mm)
    return Task(
        question=f"""The screw **{thread}** has a pitch of **{decimal(pitch)} mm** and is cut **0.6134** pitches deep,
            measured straight in. You feed with the top slide (compound rest), which is turned
            **{decimal(angle)}°** off the cross slide's line. How many mm does the top slide go in altogether?""",
        answer=Number(infeed, "mm", places=2),
        slips={
            """lead for pitch: The depth goes by the pitch, whatever the number of
            starts.""": about(infeed * starts) if starts > 1 else None,
            """on the diameter: That is twice the way, as on a slide that shows diameters. How far does the slide itself
            go?""": None if starts > 1 else about(2 * infeed),
            "straight in: So deep the thread is, straight in. At an angle the way is longer.": about(straight),
            """times the cosine: At an angle the way is longer, not shorter. Divide by the
            cosine.""": about(straight * straight / infeed),
            """sine for cosine: That is for an angle counted from the axis of the work. Here it counts from the cross
            slide's line.""": about(straight / as_fraction(sin(radians(angle)))),
        },
        hints=f"""First the depth straight in: 0.6134 times the pitch.
            Depth over cos {decimal(angle)}°, and cos {decimal(angle)}° is {decimal(float(straight / infeed), 4)}.""",
        solution=f"""{depth}.
            {decimal(straight, 3)} mm / cos {decimal(angle)}° = **{decimal(infeed, 3)} mm**.""",
        right="Nominal, from the full diameter. The last hundredths belong to the gauge or the nut.",
    )


@poses("lever-for-a-feed", lesson=11, goal=1, title="The lever for a feed")
def lever_for_a_feed(draw: Draw) -> Task:
    lathe = evolve(demo_lathe("metric"), bracket=None)
    driver, driven = draw.choice(tuple((a, b) for a in (20, 24, 30, 32, 36, 40) for b in (50, 60, 72, 80, 100)))
    cuts = {name: setup(lathe, driver, driven, name, wanted=Feed(Fraction(1, 10))) for name in lathe.levers}
    feeds = {name: one.feed_mm or Fraction(0) for name, one in cuts.items()}
    there = {name: f"There the feed is {decimal(feed, 3)} mm" for name, feed in feeds.items()}
    hundredths = draw.choice((95, 100, 105))
    asked = {name: max(Fraction(round(feed * hundredths), 100), Fraction(1, 100)) for name, feed in feeds.items()}
    by_nuts = {name: min(cuts, key=lambda one: abs(cuts[one].lead_mm - feed)) for name, feed in asked.items()}
    lever = draw.evenly([name for name in asked if by_nuts[name] != name])  # where to forget the feed drive shows
    share = lathe.feeds.longitudinal if lathe.feeds else Fraction(1)
    return Task(
        question=f"""{driver} drives {driven} on a lathe with {leadscrew_of(lathe)}; you have just cut threads
            with it, and leave the gears where they are. Turns of the leadscrew for one turn of the last gear, by the
            lever: {levers_in_words(lathe)}. The feed drive moves the carriage **{share}** as far as the half-nuts
            would. You want to turn with a feed of about **{decimal(asked[lever])} mm**. Where does the lever go?""",
        answer=Choice(lever, tuple(lathe.levers)),
        slips={
            f"""feed drive forgotten: By the half-nuts that lever would come nearest. They are open; the feed drive does
            the work, and makes {share} of that.""": by_nuts[lever],
            "too coarse": (lambda read: feeds[read] > feeds[lever], lambda read: f"{there[read]}, too coarse."),
            "too fine": (lambda read: feeds[read] < feeds[lever], lambda read: f"{there[read]}, too fine."),
        },
        hints=f"""Without lever and feed drive: {said(lathe.leadscrew_lead_mm)} · {driver}/{driven} a turn.
            Times the turns that the lever gives: {levers_in_words(lathe)}. The feed drive makes {share} of that.""",
        solution=lambda: (
            *(f"{name}: {decimal(feed, 4)} mm a turn." for name, feed in feeds.items()),
            f"So **{lever}**.",
        ),
        right="No gear moved, no cover opened.",
    )
