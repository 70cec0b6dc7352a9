"""Every kind of picture in the house, several of each: what the pictures' tests draw, by kind and name."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import cache

import gearcalc as gc
from gearcalc.cutting.catching import dial
from gearcalc.cutting.turning import finish, time_to_shoulder
from gearcalc.lathes import Dial, DialGear, GearSet, Lathe, Leadscrew
from gearcalc.lathes.trains import Train
from gearcalc.papers.change_cards import change_card
from gearcalc.papers.change_pictures import change_picture
from gearcalc.pictures.bracket_marks import mesh_closeups
from gearcalc.pictures.bracket_plans import bracket_plan
from gearcalc.pictures.class_pictures import ExerciseBar, class_picture
from gearcalc.pictures.depth_pictures import sharp_triangle
from gearcalc.pictures.dial_pictures import caught_or_split, dial_face, over_one_another
from gearcalc.pictures.dial_returns import there_and_back
from gearcalc.pictures.dial_turns import dial_turns
from gearcalc.pictures.errors_over_length import error_against_length
from gearcalc.pictures.feed_pictures import turned_profile
from gearcalc.pictures.flank_pictures import flanks_that_press
from gearcalc.pictures.fraction_charts import closing_in, stern_brocot_walk
from gearcalc.pictures.gear_set_charts import coverage_chart, what_opens
from gearcalc.pictures.helix_pictures import tool_in_groove
from gearcalc.pictures.measurement_charts import leads_of_slips, measured_band, two_leads_apart
from gearcalc.pictures.near_miss_charts import error_map, tolerance_shares
from gearcalc.pictures.picture import Picture
from gearcalc.pictures.shoulder_pictures import shoulder_picture
from gearcalc.pictures.threads_that_part import side_by_side
from gearcalc.pictures.wire_pictures import over_three_wires
from gearcalc.pictures.worm_pictures import worm_and_wheel
from gearcalc.threads.deviations import judge

Draw = Callable[[], Picture]

INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
HOSTILE = '"><script>alert(1)</script>&'

BOLT = Fraction(3, 2) * (1 + Fraction(125, 10**6))  # M10x1.5 cut 125 ppm too long
SHORT = Fraction(3, 2) * (1 - Fraction(2143, 10**6))

NEAR_MISSES: dict[str, Draw] = {
    "bolt, 10 mm": lambda: side_by_side("M10x1.5", BOLT, 10, 500),
    "bolt, 100 mm": lambda: side_by_side("M10x1.5", BOLT, 100),
    "too short": lambda: side_by_side("M10x1.5", SHORT, 100),
    "first millimetres of 100": lambda: side_by_side("M10x1.5", SHORT, 3, window_mm=100),
    "fine thread, long": lambda: side_by_side("M3x0.5", Fraction(499, 1000), 300),
    "no gap": lambda: side_by_side("1.27 mm", Fraction(127, 100)),
    "half as long again": lambda: side_by_side("M10x1.5", Fraction(9, 4), 10),
    "worm": lambda: side_by_side("module 1.5 2 starts", "9.42", 25),
    "very short": lambda: side_by_side("M10x1.5", BOLT, "0.001"),
    "two errors": lambda: error_against_length("M10x1.5-6g", {"stand-in": 125, "one pair": -2142.9}),
    "six errors": lambda: error_against_length("M10", {f"train {n}": 200.0 * n for n in range(6)}, 300),
    "six alike": lambda: error_against_length("M10", dict.fromkeys("abcdef", 1.0), 300),
    "far too long": lambda: error_against_length("M10", {HOSTILE * 3: 499_999, "b": -499_999}, 1000),
    "no tolerance": lambda: error_against_length("1/2 BSW", {"a": 125}, 25),
    "next to nothing": lambda: error_against_length("M10", {"a": 1e-9}, Fraction(1, 1000)),
    "flanks at 30°": lambda: flanks_that_press("M10"),
    "flanks at 14.5°": lambda: flanks_that_press("1/2-10 ACME"),
    "1.27 to 100": lambda: closing_in("127/100", 100),
    "1.27 to 8": lambda: closing_in("127/100", 8, height_px=480),
    "π to 120": lambda: closing_in("pi", 120),
    "π to 100000": lambda: closing_in("pi", 100_000),
    "a five-hundredth": lambda: closing_in("1/500", 1000, height_px=480),
    "π over an inch": lambda: closing_in("pi/25.4", 200),
    "a whole number": lambda: closing_in(3, 10),
    "many digits": lambda: closing_in("123456789/1000003", 10**9),
    "walk to 1.27": lambda: stern_brocot_walk("127/100", 12),
    "walk to π": lambda: stern_brocot_walk("pi", 16),
    "walk far to π": lambda: stern_brocot_walk("pi", 40),
    "walk to one": lambda: stern_brocot_walk(1),
    "walk to a golden ratio": lambda: stern_brocot_walk("165580141/102334155", 40),
    "walk to little": lambda: stern_brocot_walk("1/1000", 40),
    "map for 1.27": lambda: error_map("127/100"),
    "map for π": lambda: error_map("pi"),
    "map for 50/127": lambda: error_map("50/127", range(20, 128)),
    "map of a box": lambda: error_map("3/4", [20, 24, 30, 32, 36, 40, 40, 48, 50, 56, 60, 64, 66, 72, 80, 100, 127]),
    "map of two gears": lambda: error_map("166", [6, 1000]),
    "map far off": lambda: error_map("1/1000", range(20, 60)),
    "large map": lambda: error_map(1, range(6, 306)),
    "shares": lambda: tolerance_shares([judge("M10", 125), judge("M8", 0), judge("M12", 9e5), judge("1/2 BSW", 5)]),
    "many shares": lambda: tolerance_shares([judge("1/4-20 UNC-2A", 10.0**n, share=0.03) for n in range(-8, 8)]),
}

BARE = Lathe.from_toml('name = "Bare"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40, 80]')


def with_dial(*gears: tuple[int, int]) -> Lathe:
    return Lathe("A", Leadscrew(3), GearSet([40, 80]), dial=Dial([DialGear(*gear) for gear in gears]))


DIALS: dict[str, Draw] = {
    "there and back": lambda: there_and_back(dial(INCH, "1.5 mm"), 20, 40),
    "there and back, three times round": lambda: there_and_back(dial(METRIC, "16 tpi"), "33.3", 100),
    "there and back, never round": lambda: there_and_back(dial(INCH, "module 1"), "0.1"),
    "two lines": lambda: dial_face(dial(INCH, "11 tpi")),
    "every other": lambda: dial_face(dial(INCH, "10 tpi")),
    "any line": lambda: dial_face(dial(INCH, "20 tpi")),
    "anywhere": lambda: dial_face(dial(METRIC, "1.5 mm"), 15),
    "one line": lambda: dial_face(dial(METRIC, "1.25 mm")),
    "the wrong gear": lambda: dial_face(dial(METRIC, "1.25 mm"), 16),
    "translated": lambda: dial_face(dial(INCH, "1.5 mm")),
    "worm": lambda: dial_face(dial(METRIC, "module 1.5 2 starts")),
    "two starts": lambda: dial_face(dial(METRIC, "lead 4 mm 2 starts")),
    "four starts": lambda: dial_face(dial(METRIC, "lead 12 mm 4 starts")),
    "between teeth": lambda: dial_face(dial(with_dial((15, 6)), "1.25 mm")),
    "this time only": lambda: dial_face(dial(with_dial((18, 9)), "4 mm")),
    "many lines": lambda: dial_face(dial(with_dial((60, 20)), "1.25 mm")),
    "very many lines": lambda: dial_face(dial(with_dial((300, 100)), "1.25 mm")),
    "very fine": lambda: dial_face(dial(with_dial((60, 20)), "0.1 mm")),
    "long name": lambda: dial_face(dial(INCH, "1-1/8-12 UNF-2A LH")),
    "no line": lambda: dial_face(dial(with_dial((20, 1)), "1.25 mm")),
    "caught, split": lambda: caught_or_split(dial(INCH, "11 tpi"), [8, 18]),
    "split twice": lambda: caught_or_split(dial(INCH, "1.5 mm"), [16, 32]),
    "caught twice": lambda: caught_or_split(dial(INCH, "16 tpi"), [3, 5]),
    "passes alone": lambda: over_one_another(dial(BARE, "11 tpi"), [18, 20]),
    "two passes alone": lambda: over_one_another(dial(METRIC, "lead 4 mm 2 starts"), [2]),
    "one further pass": lambda: caught_or_split(dial(INCH, "16 tpi"), [3]),
    "another start": lambda: caught_or_split(dial(METRIC, "lead 4 mm 2 starts"), [2, 6], at_mark=4),
    "six starts": lambda: caught_or_split(dial(METRIC, "lead 12 mm 6 starts"), [1, 3]),
    "π": lambda: caught_or_split(dial(METRIC, "module 1"), [14, 1]),
    "three turns": lambda: dial_turns(dial(INCH, "11 tpi")),
    "three turns, this time only": lambda: dial_turns(dial(METRIC, "1.25 mm"), 16),
    "three turns, two starts": lambda: dial_turns(dial(METRIC, "lead 4 mm 2 starts"), 16),
    "four turns, hardly ever": lambda: dial_turns(dial(INCH, "1.5 mm"), turns=4),
    "one turn, very many lines": lambda: dial_turns(dial(with_dial((300, 100)), "1.25 mm"), turns=1),
    "four turns, very fine": lambda: dial_turns(dial(with_dial((60, 20)), "0.1 mm"), turns=4),
    "three turns, between teeth": lambda: dial_turns(dial(with_dial((15, 6)), "1.25 mm")),
    "two turns, π": lambda: dial_turns(dial(METRIC, "module 1"), turns=2),
}

FEEDS: dict[str, Draw] = {
    "tool in a steep groove": lambda: tool_in_groove(gc.helix_angle("Tr 40x14(P7)")),
    "tool in a left-hand groove": lambda: tool_in_groove(gc.helix_angle("Tr 20x8(P4) LH")),
    "tool in a fine groove": lambda: tool_in_groove(gc.helix_angle("M30x2")),
    "screw over three wires": lambda: over_three_wires("M10", 0.87, 8.93),
    "fine screw over thick wires": lambda: over_three_wires("M30x1", 1, 29.2),
    "sharp triangle": lambda: sharp_triangle(gc.thread_depth("M10")),
    "sharp triangle, in inches": lambda: sharp_triangle(gc.thread_depth("1/4-20 UNC", radius_mm="0.05", units="inch")),
    "sharp triangle, sharp point": lambda: sharp_triangle(gc.thread_depth("M64x6", radius_mm=0)),
    "tool in the steepest groove": lambda: tool_in_groove(gc.helix_angle("lead 40 mm", 10, clearance_deg=20)),
    "usual": lambda: turned_profile(finish(0.2, 0.8)),
    "two": lambda: turned_profile(finish(0.2, 0.8), finish(0.1, 0.8), window_mm=4),
    "two the other way": lambda: turned_profile(finish(0.1, 0.8), finish(0.2, 0.8), window_mm=4),
    "coarse": lambda: turned_profile(finish(0.6, 0.4), finish(0.3, 0.4), window_mm=4),
    "fine": lambda: turned_profile(finish(0.02, 3.2), finish(0.01, 3.2), window_mm=4),
    "hardly any": lambda: turned_profile(finish("0.001", 10), finish("0.0005", 10), window_mm=4),
    "small nose": lambda: turned_profile(finish(0.02, 0.1), window_mm=4),
    "half circles": lambda: turned_profile(finish(0.2, 0.1)),
    "wide window": lambda: turned_profile(finish(0.2, 0.8), window_mm=1000),
    "narrow window": lambda: turned_profile(finish(0.2, 0.8), window_mm=0.01),
    "half circles, two": lambda: turned_profile(finish(0.2, 0.1), finish(0.1, 0.1)),
    "huge": lambda: turned_profile(finish(100, 1000)),
    "fraction": lambda: turned_profile(finish("1/7", "5/7"), finish("1/14", "5/7")),
    "shoulder": lambda: shoulder_picture(time_to_shoulder("1.5 mm", 100, 4.5)),
    "two starts": lambda: shoulder_picture(time_to_shoulder("M16xPh3P1.5", 30, 4.5), 2),
    "in inches": lambda: shoulder_picture(time_to_shoulder("M10", 60, 4.572, "inch"), 2),
    "a feed in inches": lambda: shoulder_picture(time_to_shoulder("0.1 mm/rev", 60, 48, "inch"), 2),
    "a feed": lambda: shoulder_picture(time_to_shoulder("0.1 mm/rev", 300, 40)),
    "a feed with a long name": lambda: shoulder_picture(time_to_shoulder("1/7 mm/rev cross", 300, 20), 6),
    "no time": lambda: shoulder_picture(time_to_shoulder("M10", 3000, 0.1), 60),
    "all the time": lambda: shoulder_picture(time_to_shoulder("0.1 mm/rev", 1, 500), 0.1),
    "nearly": lambda: shoulder_picture(time_to_shoulder("M10", 60, 4.5), 3.1),
    "worm": lambda: shoulder_picture(time_to_shoulder("module 1", 40, 6)),
    "long name": lambda: shoulder_picture(time_to_shoulder("1 1/2-12 UNF-2A 12 starts LH", 10, 19.9), 5.5),
    "fine thread": lambda: shoulder_picture(time_to_shoulder("0.01 mm", 600, 20)),
}

MEANT = gc.setup(INCH, (40, 50), (80, 63), "middle", ((55,), ()), wanted="20 tpi")


def slips(measured, limit, meant=MEANT, most=6):
    found = gc.explain_wrong_lead(meant, measured, limit)
    return leads_of_slips(found, meant, Fraction(str(measured)), Fraction(str(limit)), most)


def band(*measurement):
    return measured_band(gc.judge_measurement(*measurement))


MEASUREMENTS: dict[str, Draw] = {
    "weak": lambda: band("1.25 mm", 10, 12.6, 0.25),
    "sharp": lambda: band("1.25 mm", 26, 32.6, 0.02),
    "to the last digit": lambda: band("1.25 mm", 7, "8.7501", "0.0001"),
    "nothing doubted": lambda: band("1.25 mm", 10, 12.5, 0),
    "worm": lambda: band("module 1.125", 10, 35, 0.5),
    "one turn": lambda: band("16 tpi", 1, 1.6, 0.5),
    "fine": lambda: band("0.2 mm", 100, 20, 0.1),
    "coarse": lambda: band("1 tpi", 1, 25, 1),
    "far from wanted": lambda: band("1.25 mm", 1, 24, 1),
    "two starts": lambda: band("M16xPh3P1.5", 5, 15, 0.25),
    "a long name": lambda: band("1/4-20 UNC-2A LH", 13, 16.6, 0.1),
    "slips": lambda: slips(1.58, 0.08),
    "all slips": lambda: slips(2, 1.9, most=6),
    "one slip": lambda: slips(2.52, 0.01),
    "no slip": lambda: slips(9.9, 0.02),
    "nothing wrong": lambda: slips(1.26, 0.001),
    "by the rule": lambda: two_leads_apart("1.25 mm", "20 tpi", 0.25),
    "the other way": lambda: two_leads_apart("16 tpi", "1.5 mm", 0.02),
    "at once": lambda: two_leads_apart("1 mm", "2 mm", 0.01),
    "hardly ever": lambda: two_leads_apart("module 1", "3.14 mm", 1),
    "a fine limit": lambda: two_leads_apart("1/4-20 UNC-2A LH", "M16xPh3P1.5", "0.0001"),
}

FEW = INCH.with_gears(remove=INCH.gears[4:])
METRIC_PITCHES = ["0.5 mm", "0.7 mm", "0.8 mm", "1 mm", "1.25 mm", "1.5 mm", "1.75 mm", "2 mm", "16 tpi", "module 1"]
TPI = [f"{n} tpi" for n in (4, 6, 7, 8, 9, 11, 13, 14, 18, 19, 20, 26, 27, 28, 32, 40)]
TWO_GEARS = Lathe.from_toml('name = "<b>&\\"x"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 40]')

GEAR_SETS: dict[str, Draw] = {
    "inch, usual leads": lambda: coverage_chart(gc.coverage(INCH, "0.25", 6)),
    "inch, far beyond": lambda: coverage_chart(gc.coverage(INCH, 1, 100)),
    "inch, narrow": lambda: coverage_chart(gc.coverage(INCH, "1.4", "1.6")),
    "few gears": lambda: coverage_chart(gc.coverage(FEW, 1, 4)),
    "metric, one mesh": lambda: coverage_chart(gc.coverage(METRIC, 1, 2, meshes=1)),
    "two gears, a hostile name": lambda: coverage_chart(gc.coverage(TWO_GEARS, 1, 10)),
    "three meshes": lambda: coverage_chart(gc.coverage(METRIC, "0.2", 8, meshes=(1, 2, 3))),
    "exact at one end": lambda: coverage_chart(gc.coverage(TWO_GEARS, "1.5", "1.5001")),
    "metric threads": lambda: what_opens(gc.gears_to_add(INCH, METRIC_PITCHES, 50)),
    "sixteen rows": lambda: what_opens(gc.gears_to_add(METRIC, TPI, 20)),
    "one out of reach": lambda: what_opens(gc.gears_to_add(INCH, ["lead 500 mm", "M6"], 0)),
    "nothing to add": lambda: what_opens(gc.gears_to_add(INCH, "16 tpi", 100)),
    "nothing helps": lambda: what_opens(gc.gears_to_add(METRIC, ["module 1", "Tr 40x14(P7)"], 0, most=1)),
    "wide tolerance, few allowed": lambda: what_opens(gc.gears_to_add(TWO_GEARS, METRIC_PITCHES, 10_000, most=2)),
    "six to add": lambda: what_opens(gc.gears_to_add(TWO_GEARS, ["1.25 mm", "19 tpi", "module 1", "27 tpi"], 5)),
}

TRAINS: dict[str, Draw] = {
    "simple": lambda: gc.train_picture(Train((40,), (80,))),
    "compound": lambda: gc.train_picture(Train((40, 30), (80, 60)), clockwise=False, module_mm=1.25),
    "with idlers": lambda: gc.train_picture(Train((40, 45), (80, 63), ((50, 33), ())), spindle_angle_deg=33),
    "long": lambda: gc.train_picture(Train((30, 24, 20), (127, 60, 80)), last_shaft="gearbox input"),
    "large and small": lambda: gc.train_picture(Train((20,), (127,)), pressure_angle_deg=14.5),
    "twelve and twelve": lambda: gc.train_picture(Train((12,), (12,))),
    "one hidden": lambda: gc.train_picture(Train((30, 80), (40, 60))),
    "small sheet": lambda: gc.train_picture(Train((30, 24, 20), (127, 60, 80)), size_px=(600, 400)),
    "where it stands": lambda: gc.train_picture(Train((40, 30), (80, 60)), axes_mm=[(50, 94), (10, 60), (0, 0)]),
}

BRACKETS: dict[str, Draw] = {
    "one mesh, idler": lambda: gc.bracket_picture(INCH, "40/80"),
    "two meshes": lambda: gc.bracket_picture(INCH, "(40 · 30)/(80 · 60)"),
    "steep": lambda: gc.bracket_picture(INCH, "(20 · 20)/(80 · 80)"),
    "three meshes": lambda: gc.bracket_picture(INCH, "(20 · 30 · 40)/(60 · 80 · 50)"),
    "a 127": lambda: gc.bracket_picture(METRIC, "(50 · 40)/(127 · 80)"),
    "a 127 above": lambda: gc.bracket_picture(METRIC, "(40 · 127)/(60 · 80)"),
    "a 127 with an idler": lambda: gc.bracket_picture(METRIC, "80/127"),
    "three meshes, a 127": lambda: gc.bracket_picture(METRIC, "(30 · 80 · 40)/(127 · 60 · 50)"),
    "no idler is enough": lambda: gc.bracket_picture(METRIC, "127/100"),
    "too short": lambda: gc.bracket_picture(INCH, Train((20,), (80,), (30,))),
    "too many studs": lambda: gc.bracket_picture(INCH, Train((20,) * 4, (40,) * 4)),
    "plan": lambda: bracket_plan(INCH),
    "plan of two slots": lambda: bracket_plan(METRIC),
    "plan, spindle side to the right": lambda: bracket_plan(gc.demo_lathe("odd")),
    "close up": lambda: mesh_closeups(INCH),
    "close up, few teeth": lambda: mesh_closeups(METRIC, 20, 127, (None, 2)),
}

FROM, TO = (gc.setup(INCH, 40, teeth, "middle", 35) for teeth in (80, 60))

CHANGES: dict[str, Draw] = {
    "from one to another": lambda: change_picture(change_card(INCH, to=TO, mounted=FROM).change, 4),
    "from what is mounted": lambda: change_picture(change_card(INCH, to=TO).change),
    "compound": lambda: change_picture(
        change_card(INCH, to=gc.setup(INCH, (40, 30), (80, 60), "middle"), mounted=FROM).change
    ),
}

WORMS: dict[str, Draw] = {f"{teeth} teeth": lambda teeth=teeth: worm_and_wheel(teeth) for teeth in (18, 20, 25, 36)}

CLASSES: dict[str, Draw] = {
    "one exercise": lambda: class_picture(
        [ExerciseBar("Hit the thread", "Lesson 01", 17, 3, 1, 2, 1, "upside down (3)")], "24"
    ),
    "nobody has any right": lambda: class_picture([ExerciseBar("Hit it", "Lesson 01", 0, 0, 0, 0, 3)], "A class of 3"),
    "a course": lambda: class_picture(
        [
            ExerciseBar(f"Title number {n}", f"Lesson {n // 5}", n, 24, 71 - n, 1, 4, "long words " * 9)
            for n in range(70)
        ],
        "100",
    ),
    "hostile": lambda: class_picture([ExerciseBar(HOSTILE * 3, HOSTILE, 1, 1, 1, 1, 496, HOSTILE * 3)], HOSTILE),
}

KINDS = {
    "near misses": NEAR_MISSES,
    "dials": DIALS,
    "feeds": FEEDS,
    "measurements": MEASUREMENTS,
    "gear sets": GEAR_SETS,
    "trains": TRAINS,
    "brackets": BRACKETS,
    "changes": CHANGES,
    "worms": WORMS,
    "classes": CLASSES,
}


@cache
def drawn(kind: str, name: str) -> Picture:
    """A picture by kind and name, drawn once."""
    return KINDS[kind][name]()


def all_of(kind: str) -> dict[str, Picture]:
    """Every picture of a kind by name."""
    return {name: drawn(kind, name) for name in KINDS[kind]}
