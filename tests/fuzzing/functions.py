"""The doors of the public names: each function with each argument, what is made by hand, what is handed back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import pandas as pd

import gearcalc as gc
from gearcalc.planning.charts import chart_rows
from tests.fuzzing.doors import Asked, Door, call_in_words, in_words, offered, offers, shown, walked
from tests.fuzzing.judging import Said
from tests.fuzzing.mutations import Draw
from tests.fuzzing.values import (
    FIT,
    LATHE,
    SETUP,
    TRAIN,
    a_name,
    a_nonsense,
    a_place,
    how_much_nonsense,
    like,
    nonsense,
)

GEARS = (20, 30, 40, 63, 80)

RIGHT = {
    "best_fractions": {"x": "127/100", "max_denominator": 50, "max_ppm": 10_000},
    "bracket_picture": {"lathe": LATHE, "train_or_setup": TRAIN, "clockwise": True, "caption": "Bracket"},
    "change_card": {"lathe": LATHE, "to": SETUP, "mounted": "24/48"},
    "change_to_feed": {"lathe": LATHE, "mounted": SETUP, "feed": "0.1 mm/rev", "within_percent": 50},
    "chart": {"lathe": LATHE, "threads": ["24 tpi"], "within_ppm": 5, "meshes": (1, 2)},
    "check_plate": {"lathe": LATHE, "within_ppm": 0},
    "clearances": {"lathe": LATHE, "train": FIT.train, "axes_mm": FIT.axes_mm, "planes": FIT.planes},
    "compound_infeed": {"depth_mm": 1, "compound_deg": 29},
    "continued_fraction": {"x": "127/100", "terms": 5},
    "convergents": {"x": "127/100", "count": 5},
    "coverage": {"lathe": LATHE, "lead_from_mm": 1, "lead_to_mm": 2, "meshes": 1},
    "demo_lathe": {"name": "inch"},
    "derive": {"setup": SETUP},
    "deviation_in_words": {"error_ppm": 125, "length_mm": 100, "units": "inch"},
    "dial": {"lathe": LATHE, "thread_or_setup": "20 tpi"},
    "exercise": {"name": gc.exercise_names()[0], "class_number": 1, "lathe": None, "go": None},
    "explain_wrong_lead": {
        "setup": SETUP, "measured_lead_mm": 2, "uncertainty_mm": 0.1, "hand": "right",
    },
    "factor": {"n": 127},
    "fault_finder": {"symptom": "noisy"},
    "feed_chart": {
        "lathe": LATHE, "feeds": "0.1 mm/rev", "mounted": SETUP, "within_percent": 10, "nose_radius_mm": 0.4,
    },
    "feed_for_finish": {"nose_radius_mm": 0.4, "ra_um": 1.6, "rt_um": None},
    "find_setups": {
        "lathe": LATHE, "wanted": "24 tpi", "meshes": 2, "count": 2, "within_ppm": 100, "must_fit": True,
        "mounted": TRAIN, "avoid": 127, "one_per_ratio": True,
        "first": "nearest",
    },
    "finish": {"feed_or_setup": "0.1 mm/rev", "nose_radius_mm": 0.4},
    "fit": {"lathe": LATHE, "train": TRAIN, "hand": "left", "lever": None, "mounted": None, "keep_order": True},
    "helix_angle": {"thread": "M10", "pitch_diameter_mm": 9, "clearance_deg": 3, "units": "inch"},
    "gears_to_add": {
        "lathe": LATHE, "threads": ["24 tpi"], "within_ppm": 100, "most": 1, "candidates": (21, 22), "meshes": 1,
        "must_fit": True, "progress": False,
    },
    "index_starts": {"lathe": LATHE, "thread_or_setup": SETUP, "starts": 2},
    "judge": {"thread": "M6", "error_ppm": 100, "engagement_mm": 5, "share": 0.5, "tolerance_class": "6g",
    "units": "inch"},
    "judge_measurement": {"thread": "M6", "turns": 10, "length_mm": 10, "uncertainty_mm": 0.1, "hand": "right",
    "units": "inch", "setup": SETUP},
    "make_up": {"x": "127/100", "gears": GEARS, "meshes": 2, "count": 2},
    "near_fractions": {"x": "127/100", "max_denominator": 20},
    "nearest_threads": {"lead_mm": 1, "within_ppm": 1000},
    "pitch_diameter_limits": {"thread": "M6", "tolerance_class": "6g"},
    "pitch_error_table": {"setups_or_lathe": [SETUP], "threads": "24 tpi LH", "lengths_mm": 25, "units": "inch"},
    "plan_changeover": {
        "lathe": LATHE, "jobs": ["24 tpi"], "within_ppm": 200, "keep_order": False, "mounted": TRAIN, "effort": 5,
        "progress": False,
        "meshes": (1, 2),
    },
    "rule_constant": {"lathe": LATHE},
    "rule_of_thumb": {"train": "(24 30)/(48 60)", "k": 15},
    "scratch_check": {"setup": SETUP},
    "setup": {"lathe": LATHE, "drivers": 24, "driven": 48, "lever": None, "idlers": 60, "wanted": "24 tpi"},
    "solve_for_gear": {"lathe": LATHE, "wanted": "M6", "drivers": (24, None), "driven": (48, 127), "lever": None},
    "speed_for_shoulder": {"wanted_or_setup": "M6", "room_mm": 5, "seconds": 2},
    "stand_ins": {"x": "127/100", "gears": GEARS, "meshes": 2, "count": 2},
    "stern_brocot": {"x": "127/100", "steps": 5},
    "thread_depth": {"thread": "M6", "internal": None, "form": None, "radius_mm": None, "flat_mm": None,
    "units": "inch"},
    "thread_series": {"name": "UNC"},
    "time_to_shoulder": {"wanted_or_setup": "M6", "rpm": 60, "room_mm": 5, "units": "inch"},
    "train_picture": {
        "train": TRAIN, "axes_mm": None, "planes": None, "spindle_angle_deg": 0, "clockwise": True, "module_mm": 1,
        "pressure_angle_deg": 20, "size_px": (480, 320), "first_shaft": "spindle", "last_shaft": "screw",
        "caption": "Train",
    },
    "turns_to_tell": {"thread": "M6", "other": "20 tpi", "uncertainty_mm": 0.1},
    "wall_plate": {"lathe": LATHE, "threads": ["24 tpi"], "on": "2026-11-25", "within_ppm": None, "size": "A4",
    "meshes": (1, 2)},
}  # fmt: skip
"""A call of each public function that is right, with every argument that it takes."""
TAKE_NOTHING = {"series_names"}
SECONDS = {"plan_changeover": 10, "coverage": 5, "gears_to_add": 10}
"""What a search may take: as in its benchmark."""


def functions() -> Iterator[Door]:
    for name, right in RIGHT.items():
        yield Door(
            f"function {name}",
            _calls(name, right),
            seconds=SECONDS.get(name, 1),
            first=len(right) * how_much_nonsense(),
        )
    yield Door("function exercise_names", _names, share=0.3)
    yield Door("function save_csv", _tables, share=0.5)


def _calls(name: str, right: dict[str, Any]) -> Callable[[Draw, int, Path], Asked]:
    """Every nonsense for every argument first, then some arguments that are nearly right; what comes is walked."""

    def draw(r: Draw, number: int, folder: Path) -> Asked:
        grid, given = len(right) * how_much_nonsense(), dict(right)
        if number < grid:
            argument = list(right)[number // how_much_nonsense()]
            given[argument] = nonsense()[number % how_much_nonsense()]
            wrong = [argument]
        else:
            wrong = r.sample(list(right), min(len(right), r.choice((1, 2, 3, 4))))
            given |= {argument: like(r, right[argument]) for argument in wrong}

        def ask() -> Iterator[Said]:
            answer = getattr(gc, name)(**given)
            yield from shown(answer)
            if number >= grid:
                yield from walked(r, answer, folder)

        return Asked(call_in_words(name, {each: given[each] for each in wrong}), ask)

    return draw


def _names(r: Draw, number: int, folder: Path) -> Asked:
    lesson = like(r, 3)
    return Asked(f"exercise_names({in_words(lesson)})", lambda: shown(gc.exercise_names(lesson)))


def _tables(r: Draw, number: int, folder: Path) -> Asked:
    rows: Any = r.choice((
        lambda: pd.DataFrame([{"thread": like(r, "M6"), a_name(r): like(r, "low")} for _ in range(r.randint(0, 3))]),
        lambda: gc.chart(LATHE, ["24 tpi"]), lambda: [SETUP],
        *[lambda: a_nonsense(r), lambda: [a_nonsense(r)]] * r.goes_wrong,
    ))()  # fmt: skip
    place: Any = a_place(r, folder, ".csv")

    def ask() -> Iterator[Said]:
        written = gc.save_csv(rows, place)
        yield from shown(written)
        yield from what_was_written(folder, ".csv", "csv")

    return Asked(f"save_csv({in_words(rows)}, {in_words(place)})", ask)


def what_was_written(folder: Path, ending: str, kind: str) -> Iterator[Said]:
    """What has come into the folder, of the names that a_place() gives."""
    for path in sorted((*folder.glob("new*"), *folder.glob("NEW*"), *folder.glob("there*"))):
        if path.suffix.lower() == ending and path.is_file() and path.read_bytes() != b"kept":
            yield Said(kind, path.read_bytes().decode("utf-8-sig"))


# Classes: one of each, and everything that it offers; and those that one makes oneself.

ONE_OF_EACH: dict[str, Callable[[], Any]] = {
    "ChangeCard": lambda: gc.change_card(LATHE, SETUP, mounted="24/48"),
    "ChartRow": lambda: chart_rows(LATHE, ["24 tpi LH"])[0],
    "Coverage": lambda: gc.coverage(LATHE, 1, 2, meshes=1),
    "Derivation": lambda: gc.derive(SETUP),
    "DialRule": lambda: gc.dial(LATHE, "20 tpi"),
    "Exercise": lambda: gc.exercise(gc.exercise_names()[0], 7),
    "FaultFinder": lambda: gc.fault_finder(),
    "Feed": lambda: gc.Feed.parse("0.1 mm/rev"),
    "FeedChange": lambda: gc.change_to_feed(LATHE, SETUP, "0.1 mm/rev", within_percent=50),
    "Finish": lambda: gc.finish("0.1 mm/rev", nose_radius_mm=0.4),
    "Fit": lambda: FIT,
    "Gap": lambda: gc.coverage(LATHE, 1, 2, meshes=1).widest(1)[0],
    "GearcalcError": lambda: gc.GearcalcError("wrong", value="x", remedy="Mend it."),
    "GearsToAdd": lambda: gc.gears_to_add(LATHE, ["M6"], within_ppm=100, most=1, candidates=(63, 127), meshes=2),
    "HelixAngle": lambda: gc.helix_angle("M10"),
    "Judgement": lambda: gc.judge_measurement("M6", turns=10, length_mm=10, uncertainty_mm=0.1),
    "Lathe": lambda: LATHE,
    "Lever": lambda: gc.Lever("low", Fraction(1, 2)),
    "LeverAt": lambda: gc.demo_lathe("odd").positions[0].stands[0],
    "Limits": lambda: gc.pitch_diameter_limits("M6", "6g"),
    "MakeUp": lambda: gc.make_up("127/100", GEARS, meshes=2),
    "NearFraction": lambda: gc.near_fractions("127/100", 20)[0],
    "Opening": lambda: gc.index_starts(LATHE, SETUP, 2).openings[0],
    "Paper": lambda: gc.fault_finder().on_paper(),
    "PiMultiple": lambda: gc.PiMultiple(Fraction(3, 2)),
    "Picture": lambda: gc.train_picture(TRAIN),
    "Plan": lambda: gc.plan_changeover(LATHE, ["24 tpi LH", "12 tpi LH"]),
    "PlateCheck": lambda: gc.check_plate(gc.demo_lathe("inch"))[0],
    "RelativeError": lambda: SETUP.error,
    "ScratchCheck": lambda: gc.scratch_check(SETUP),
    "Setup": lambda: SETUP,
    "SetupList": lambda: gc.find_setups(LATHE, "24 tpi LH"),
    "ShoulderRun": lambda: gc.time_to_shoulder("M6", rpm=60, room_mm=5),
    "SolvedGear": lambda: gc.solve_for_gear(LATHE, "M6", (24, None), (48, 127)),
    "StandIn": lambda: gc.stand_ins("127/100", GEARS, meshes=2)[0],
    "StandInList": lambda: gc.stand_ins("127/100", GEARS, meshes=2),
    "StartsRule": lambda: gc.index_starts(LATHE, SETUP, 2),
    "Thread": lambda: gc.Thread.parse("M6-6g"),
    "ThreadDepth": lambda: gc.thread_depth("M6"),
    "ThumbRule": lambda: gc.rule_of_thumb("(24 30)/(48 60)", 15),
    "Train": lambda: TRAIN,
    "Verdict": lambda: gc.judge("M6", 100, engagement_mm=5),
    "WalkStep": lambda: gc.stern_brocot("127/100", steps=5)[0],
    "WallPlate": lambda: gc.wall_plate(LATHE, ["24 tpi LH"], on="2026-11-25"),
    "Written": lambda: SETUP.written,
    "WrongLead": lambda: gc.explain_wrong_lead(SETUP, 4, 0.5)[0],
    "WrongLeads": lambda: gc.explain_wrong_lead(SETUP, 4, 0.5),
}
"""How one of each public class is come by."""

_PARTS = ("name", "leadscrew", "gear_set", "note", "spindle_side", "gearbox", "bracket", "dial", "feeds", "plate")
MADE_BY_HAND: dict[str, tuple[Callable[..., Any], dict[str, Any]]] = {
    "Feed": (gc.Feed, {"travel_mm": Fraction(1, 10), "along": "cross"}),
    "Lathe": (gc.Lathe, {name: getattr(LATHE, name) for name in _PARTS}),
    "Train": (gc.Train, {"drivers": (24,), "driven": (48,), "idlers": ((60,),)}),
}
"""Classes that the documents say how to make, with what is right."""


ON_PAPER = {"ChangeCard", "FaultFinder", "Paper", "WallPlate"}
"""They may be saved as a PDF, which matplotlib writes."""


def classes() -> Iterator[Door]:
    for name in ONE_OF_EACH:
        yield Door(f"class {name}", _offers(name), seconds=3 if name in ON_PAPER else 1, share=0.6)
    for name, (made, right) in MADE_BY_HAND.items():
        yield Door(f"made {name}", _made(name, made, right), first=len(right) * how_much_nonsense())


def _offers(name: str) -> Callable[[Draw, int, Path], Asked]:
    def draw(r: Draw, number: int, folder: Path) -> Asked:
        one = _one(name)
        there = offers(one)
        chosen = there[number % len(there)] if there else ""

        def ask() -> Iterator[Said]:
            yield from shown(one)
            it = getattr(one, chosen) if chosen else None
            if callable(it):
                yield from offered(r, it, chosen, folder)
            else:
                yield from shown(it)

        return Asked(f"{name}.{chosen}", ask)

    return draw


@cache
def _one(name: str) -> Any:
    return ONE_OF_EACH[name]()


def _made(name: str, make: Callable[..., Any], right: dict[str, Any]) -> Callable[[Draw, int, Path], Asked]:
    def draw(r: Draw, number: int, folder: Path) -> Asked:
        grid = len(right) * how_much_nonsense()
        argument = list(right)[number // how_much_nonsense()] if number < grid else r.choice(list(right))
        value = nonsense()[number % how_much_nonsense()] if number < grid else like(r, right[argument])

        def ask() -> Iterator[Said]:
            one = make(**{**right, argument: value})
            yield from shown(one)
            if isinstance(one, gc.Lathe):
                yield from shown(gc.Lathe.from_toml(one.to_toml()))
                one.check_owned(24)
            yield from walked(r, one, folder)

        return Asked(call_in_words(name, {argument: value}), ask)

    return draw
