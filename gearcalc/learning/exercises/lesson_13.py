"""Exercises for lesson 13, what the old hand knows: the dial in reverse, play, the helix, size over wires."""

from __future__ import annotations

from fractions import Fraction
from math import atan, degrees, pi, sqrt

from gearcalc.basics.exact import as_fraction
from gearcalc.basics.writing import decimal, ends, number
from gearcalc.cutting.helix import helix_angle
from gearcalc.lathes import Lathe
from gearcalc.learning.exercises.answers import Choice, about
from gearcalc.learning.exercises.any_lathe import whose
from gearcalc.learning.exercises.benches import lead_of, leadscrew_with, said
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import Draw, Task, poses

_DIALS = {"8 tpi": (16, 32), "6 tpi": (24, 18), "4 tpi": (16,), "10 tpi": (20,), "3 mm": (14, 20), "4 mm": (18, 16)}
"""Leadscrews, and teeth of dial gears that they might drive."""
_METRIC_LEADS = ("0.75 mm", "0.8 mm", "1 mm", "1.25 mm", "1.5 mm", "1.75 mm", "2 mm", "2.5 mm", "3.5 mm")
_INCH_LEADS = ("28 tpi", "24 tpi", "20 tpi", "18 tpi", "16 tpi", "14 tpi", "12 tpi", "11 tpi", "9 tpi")


@poses("once-round-the-dial", lesson=13, goal=1, title="Once round the dial", any_lathe=True)
def once_round_the_dial(draw: Draw, lathe: Lathe | None = None) -> Task:
    if lathe is None:
        screw, where = draw.evenly(tuple(_DIALS)), ""
        leadscrew, teeth = lead_of(screw), draw.choice(_DIALS[screw])
    else:
        draw.needs(lathe.dial is not None, "has no dial in its file")
        leadscrew, screw = lathe.leadscrew_lead_mm, said(lathe.leadscrew_lead_mm)
        draw.needs("≈" not in screw, "has a leadscrew that no short number names")
        where = f", as on {whose(lathe).lower()},"
        teeth = draw.choice(lathe.dial.gears).teeth if lathe.dial else 1
    thread = draw.choice(_METRIC_LEADS if screw.endswith("tpi") else _INCH_LEADS)
    lead = lead_of(thread)
    turns = teeth * leadscrew / lead
    return Task(
        question=f"""{leadscrew_with(screw).capitalize()}{where} drives a dial gear with **{teeth} teeth**. You cut
            **{thread}**. At the end of the pass you open the half-nuts, and the spindle runs on. After how many turns
            of the **spindle** has the dial gone round once?""",
        answer=Number(turns, "turns", places=1),
        slips={
            """upside down: The finer the thread, the less the leadscrew turns. So does a finer thread take more turns
            of the spindle, or fewer?""": about(teeth * lead / leadscrew),
            """one tooth: In that many turns one leadscrew thread goes by. The dial gear has more teeth than
            one.""": about(leadscrew / lead),
            """turns of the leadscrew: So many turns the leadscrew makes, a thread for each tooth of the dial gear. How
            many does the spindle make?""": about(teeth),
            """lead of the thread forgotten: So far the carriage would go while the dial turns once. How far does it go
            in one turn of the spindle?""": about(teeth * leadscrew) if lead != 1 else None,
        },
        hints="""For each tooth of the dial gear one leadscrew thread goes by: one turn of the leadscrew.
            In one turn of the spindle the leadscrew turns lead over leadscrew lead times.
            Divide the teeth by that.""",
        solution=f"""One turn of the spindle: the leadscrew turns {decimal(lead)} / {decimal(leadscrew)} times.
            One turn of the dial: {teeth} threads, so {teeth} turns of the leadscrew.
            {teeth} × {decimal(leadscrew)} / {decimal(lead)} = **{decimal(turns, 1)} turns**.""",
        right="If the spindle stands before that, the line comes by only once on the way back.",
        apart=True,
    )


_WOUND = ("M20", "M22", "M24", "M27", "M30", "M24x2", "M27x2", "M30x2", "M33x2", "M36x3", "M39x3", "M42x3", "M45x3")
_ENDS = {"right-hand": "towards the chuck", "left-hand": "towards the tailstock"}
"""Where the carriage goes for a thread of each hand, the spindle running forward."""
_WAYS = {
    "inside a bore": ("out", "away from the axis", "at you"),
    "outside": ("in", "towards the axis", "away from you"),
}
"""Where a thread is -> which way the top slide is wound to cut deeper, where the metal lies, where the tool points."""


@poses("which-way-to-wind", lesson=13, goal=1, title="Wind it in, or out?")
def which_way_to_wind(draw: Draw) -> Task:
    where, hand = draw.evenly([(where, hand) for where in _WAYS for hand in _ENDS])
    (way, metal, points), along = _WAYS[where], _ENDS[hand]
    ((other_place, (other_way, *_)),) = ((place, ways) for place, ways in _WAYS.items() if place != where)
    (other_end,) = (end for end in _ENDS.values() if end != along)
    return Task(
        question=f"""You cut **{draw.choice(_WOUND)}**, **{hand}**, **{where}**. The spindle runs forward, the tool
            points {points}, and the top slide stands so that the side of the tool that leads does most of the cutting.
            Which way do you wind the top slide to cut deeper, and which way along the work does that move the tool?""",
        answer=Choice(f"{way}, {along}", tuple(f"{way}, {end}" for way in ("in", "out") for end in _ENDS.values())),
        slips={
            f"as {other_place}: So you would wind it {other_place}. Where does the metal lie here?": (
                f"{other_way}, {along}"
            ),
            """the other hand: You wind it the right way. But which way does the carriage go for this hand? On that
            side the tool leads.""": f"{way}, {other_end}",
            f"""as {other_place} and the other hand: So it would be {other_place}, for the other hand. Where does the
            metal lie here? And which way does the carriage go?""": f"{other_way}, {other_end}",
        },
        hints=f"""The metal lies {metal}, and the tool points {points}. So which way is deeper?
            Which way does the carriage go for this hand? The side of the tool on that side leads.
            The slide slants so that going deeper moves the tool to the side that leads.""",
        solution=f"""Deeper is {metal}: the way the tool points. So you wind {way}.
            For a {hand} thread the carriage goes {along}, and the side of the tool on that side leads.
            The slide slants so that going deeper moves the tool that way: **{way}, {along}**.""",
        right="Before the first pass, spindle stopped and tool clear: wind the handle, and look where the tool goes.",
    )


@poses("play-at-the-carriage", lesson=13, goal=2, title="Play at the carriage")
def play_at_the_carriage(draw: Draw) -> Task:
    teeth, module = draw.choice((30, 35, 40, 45, 50, 60, 65, 70, 80)), Fraction(draw.choice(("1", "1.25", "1.5")))
    screw = draw.evenly(("8 tpi", "6 tpi", "3 mm", "4 mm", "4 tpi", "5 mm"))
    play, lead = Fraction(draw.choice((2, 3, 4, 5)), 10), lead_of(screw)
    draw.only_if(ends(module * teeth, 2))
    round_mm = as_fraction(pi) * module * teeth
    moved_um = play / round_mm * lead * 1000
    return Task(
        question=f"""The last gear has **{teeth} teeth** of module **{decimal(module)} mm** and sits on
            {leadscrew_with(screw)}. Its mesh has **{decimal(play)} mm** of backlash along the pitch circle. By how many
            micrometres does the carriage lag while that is taken up?""",
        answer=Number(moved_um, "µm", places=1),
        slips={
            """the play itself: The teeth move so far, on a large circle. How much of one turn is that, and how far does
            the carriage go in one turn?""": about(play * 1000),
            """π forgotten: Module times teeth is the diameter of the pitch circle. The play lies along the
            circle.""": about(play / (module * teeth) * lead * 1000),
            """lead forgotten: That is a share of one turn, in thousandths. How far does the carriage go in one
            turn?""": about(play / round_mm * 1000),
            """millimetres for micrometres: That looks like millimetres. One of them is 1000
            µm.""": about(moved_um / 1000),
            """half a circle: That is with the radius where the diameter belongs. The way round is π times module times
            teeth.""": about(2 * moved_um),
            """module forgotten: π times the teeth is not the way round yet: the module is how many millimetres of
            diameter there are for each tooth.""": about(moved_um * module) if module != 1 else None,
        },
        hints="""How far is it round the pitch circle? π × module × teeth.
            The play is which part of one turn?
            In one turn the carriage goes one lead of the leadscrew.""",
        solution=f"""Round the pitch circle: π × {decimal(module)} × {teeth} = {decimal(round_mm, 1)} mm.
            The play is {decimal(play)} / {decimal(round_mm, 1)} = {decimal(play / round_mm, 6)} of a turn.
            Times {decimal(lead)} mm = **{decimal(moved_um, 1)} µm**.""",
        right="A few hundredths of a mm at most, and the same in each pass. End float reaches the tool in full.",
        apart=True,
    )


_STEEP = [
    f"Tr {across}x{starts * pitch}(P{pitch})"
    for starts, sizes in (
        (2, ((16, 4), (20, 4), (24, 5), (28, 5), (32, 6), (36, 6), (40, 7), (44, 7))),
        (3, ((26, 5), (30, 6), (52, 8), (60, 9))),
    )
    for across, pitch in sizes
]
"""Trapezoidal threads with several starts, lead and pitch as they are written."""


@poses("lean-of-the-groove", lesson=13, goal=2, title="How far does the groove lean?")
def lean_of_the_groove(draw: Draw) -> Task:
    made = helix_angle(draw.evenly(_STEEP))
    starts = made.thread.starts
    lead, pitch = as_fraction(float(made.thread.lead)), as_fraction(float(made.thread.pitch))
    across = Fraction(decimal(made.pitch_diameter_mm, 2)) + draw.choice((-1, 0, 0, 1)) * Fraction(1, 4)

    def lean(rise: Fraction, round_mm: float) -> float:
        return degrees(atan(float(rise) / round_mm))

    angle = helix_angle(made.thread, across).angle_deg
    return Task(
        question=f"""A thread has **{starts} starts**, a pitch of **{number(pitch)} mm** and a pitch diameter of
            **{decimal(across)} mm**. By how many degrees does its groove lean, taken on the pitch diameter?""",
        answer=Number(as_fraction(angle), "°", places=1),
        slips={
            """pitch for lead: That is with the pitch. In one turn the groove goes on by the lead, one pitch for each
            start.""": about(lean(pitch, pi * float(across))),
            """π forgotten: One turn goes round the circle, and that is longer than its
            diameter.""": about(lean(lead, float(across))),
            """upside down: That is how far it leans from the axis. Asked is how far it leans from square
            across.""": about(90 - angle),
            """the tangent: That is lead over circumference, the tangent of the angle. Which angle has
            it?""": about(float(lead) / (pi * float(across))),
            """half the circle: That is with the radius for the diameter. Once round is π times the
            diameter.""": about(lean(lead, pi * float(across) / 2)),
        },
        hints="""Unroll one turn: a triangle, as long as once round, as high as the lead.
            The lead is the pitch times the starts. Once round is π × pitch diameter.
            The tangent is lead over once round. Set to degrees, press tan⁻¹ (often shift or 2nd, then tan).""",
        solution=f"""Lead: {starts} × {number(pitch)} = {number(lead)} mm.
            Once round: π × {decimal(across)} = {decimal(pi * float(across), 2)} mm.
            Tangent: {number(lead)} / {decimal(pi * float(across), 2)} = {decimal(float(lead) / pi / float(across), 4)}.
            That is an angle of **{decimal(angle, 1)}°**.""",
        right="The side that leads needs that much clearance, and its usual few degrees on top.",
        apart=True,
    )


_SIZES = (
    ("M6", 6, "1", "5.35"), ("M8", 8, "1.25", "7.188"), ("M10", 10, "1.5", "9.026"), ("M12", 12, "1.75", "10.863"),
    ("M14", 14, "2", "12.701"), ("M16", 16, "2", "14.701"), ("M20", 20, "2.5", "18.376"), ("M24", 24, "3", "22.051"),
    ("M12x1.25", 12, "1.25", "11.188"), ("M20x1.5", 20, "1.5", "19.026"), ("M24x2", 24, "2", "22.701"),
    ("M30x2", 30, "2", "28.701"),
)  # fmt: skip
"""Name, full diameter, pitch and pitch diameter of screws, mm: ISO 724."""


@poses("over-the-wires", lesson=13, goal=3, title="Over the wires")
def over_the_wires(draw: Draw) -> Task:
    name, full, pitch_said, basic = draw.evenly(_SIZES)
    pitch = Fraction(pitch_said)
    across = Fraction(basic) - Fraction(draw.choice((30, 40, 50, 60, 80, 100)), 1000)
    wire = Fraction(round(float(pitch) / sqrt(3) * 100) + draw.choice((0, 1, 2)), 100)
    off = as_fraction(sqrt(3) / 2) * pitch
    over = across + 3 * wire - off
    return Task(
        question=f"""A screw **{name}**, pitch **{pitch_said} mm**, is to have a pitch diameter of
            **{decimal(across)} mm**. Three wires of **{decimal(wire)} mm** lie in its grooves. What must the
            micrometer read over them, in mm, to two decimals?""",
        answer=Number(over, "mm", places=2),
        slips={
            """one wire: Count the wires again: one on the one side, two on the other, and how they sit in the
            groove.""": about(across + wire - off),
            """two wires: Two wires are measured across, and they sit in a groove of 60 degrees: the rule has three in
            it.""": about(across + 2 * wire - off),
            """nothing taken off: The wires lie down in the grooves. What is taken off for
            that?""": about(across + 3 * wire),
            """added on: That is with 0.86603 of the pitch added. The wires lie down in the grooves, so it is taken
            off.""": about(across + 3 * wire + off),
            "the whole pitch: Less than the whole pitch is taken off: 0.86603 of it.": about(across + 3 * wire - pitch),
            """the full diameter: That starts from the full diameter. Start from the pitch
            diameter.""": about(full + 3 * wire - off),
        },
        hints="""Over the wires = pitch diameter + 3 × wire − 0.86603 × pitch.
            Work out each of the three, then add and take off.""",
        solution=f"""3 × {decimal(wire)} = {decimal(3 * wire)} mm.
            0.86603 × {pitch_said} = {decimal(off)} mm.
            {decimal(across)} + {decimal(3 * wire)} − {decimal(off)} = **{decimal(over, 2)} mm**.""",
        right="Read more than that, and the thread is still too thick: another fine cut.",
    )
