"""Whatever is handed to a public name, the answer is an answer or one of our errors, never a traceback of Python's."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from functools import cache
from itertools import count, repeat
from pathlib import Path
from time import process_time

import numpy as np
import pandas as pd
import pytest
import sympy

import gearcalc as gc
from tests.how_much import in_one

LATHE = gc.Lathe.from_toml(
    """
    name = "Shed lathe"
    leadscrew = { lead = "12 tpi", hand = "left" }
    spindle_side = { reverse = false }
    gears = { teeth = [18, 24, 24, 30, 36, 42, 48, 60, 127], diametral_pitch = 20, pressure_angle_deg = 14.5 }
    dial.gears = [{ teeth = 24, lines = 12 }]
    feeds = { longitudinal = "1/8", cross = "1/16" }
    [bracket]
    spindle_side_at_mm = [-45.0, 100.0]
    swing_deg = [-80, 30]
    slots = [{ from_mm = [-28, 0], to_mm = [-150, 0] }]
    studs = 2
    stud_radius_mm = 6
    shaft_radius_mm = 6
    """
)
TRAIN = gc.Train((24,), (48,), ((60,),))
SETUP = gc.setup(LATHE, drivers=24, driven=48, idlers=60, wanted="24 tpi LH")
FIT = gc.fit(LATHE, TRAIN)
GEARS = (20, 30, 40, 63, 80)

RIGHT = {
    "best_fractions": {"x": "127/100", "max_denominator": 50, "max_ppm": 10_000},
    "bracket_picture": {"lathe": LATHE, "train_or_setup": TRAIN, "clockwise": True, "caption": "Bracket"},
    "change_card": {"lathe": LATHE, "to": SETUP, "mounted": "24/48"},
    "change_to_feed": {"lathe": LATHE, "mounted": SETUP, "feed": "0.1 mm/rev", "within_percent": 50},
    "chart": {"lathe": LATHE, "threads": ["24 tpi"], "within_ppm": 5},
    "check_plate": {"lathe": LATHE, "within_ppm": 0},
    "clearances": {"lathe": LATHE, "train": FIT.train, "axes_mm": FIT.axes_mm, "planes": FIT.planes},
    "compound_infeed": {"depth_mm": 1, "compound_deg": 29},
    "continued_fraction": {"x": "127/100", "terms": 5},
    "convergents": {"x": "127/100", "count": 5},
    "coverage": {"lathe": LATHE, "lead_from_mm": 1, "lead_to_mm": 2, "meshes": 1},
    "demo_lathe": {"name": "inch"},
    "derive": {"setup": SETUP},
    "deviation_in_words": {"error_ppm": 125, "length_mm": 100},
    "dial": {"lathe": LATHE, "thread_or_setup": "20 tpi"},
    "exercise": {"name": gc.exercise_names()[0], "class_number": 1},
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
    },
    "finish": {"feed_or_setup": "0.1 mm/rev", "nose_radius_mm": 0.4},
    "fit": {"lathe": LATHE, "train": TRAIN, "hand": "left", "lever": None, "mounted": None, "keep_order": True},
    "helix_angle": {"thread": "M10", "pitch_diameter_mm": 9, "clearance_deg": 3, "units": "inch"},
    "gears_to_add": {
        "lathe": LATHE, "threads": ["24 tpi"], "within_ppm": 100, "most": 1, "candidates": (21, 22), "meshes": 1,
        "must_fit": True, "progress": False,
    },
    "index_starts": {"lathe": LATHE, "thread_or_setup": SETUP, "starts": 2},
    "judge": {"thread": "M6", "error_ppm": 100, "engagement_mm": 5, "share": 0.5, "tolerance_class": "6g"},
    "judge_measurement": {"thread": "M6", "turns": 10, "length_mm": 10, "uncertainty_mm": 0.1, "hand": "right"},
    "make_up": {"x": "127/100", "gears": GEARS, "meshes": 2, "count": 2},
    "near_fractions": {"x": "127/100", "max_denominator": 20},
    "nearest_threads": {"lead_mm": 1, "within_ppm": 1000},
    "pitch_diameter_limits": {"thread": "M6", "tolerance_class": "6g"},
    "pitch_error_table": {"setups_or_lathe": [SETUP], "threads": "24 tpi LH", "lengths_mm": 25},
    "plan_changeover": {
        "lathe": LATHE, "jobs": ["24 tpi"], "within_ppm": 200, "keep_order": False, "mounted": TRAIN, "effort": 5,
        "progress": False,
    },
    "rule_constant": {"lathe": LATHE},
    "rule_of_thumb": {"train": "(24 30)/(48 60)", "k": 15},
    "scratch_check": {"setup": SETUP},
    "setup": {"lathe": LATHE, "drivers": 24, "driven": 48, "lever": None, "idlers": 60, "wanted": "24 tpi"},
    "solve_for_gear": {"lathe": LATHE, "wanted": "M6", "drivers": (24, None), "driven": (48, 127), "lever": None},
    "speed_for_shoulder": {"wanted_or_setup": "M6", "room_mm": 5, "seconds": 2},
    "stand_ins": {"x": "127/100", "gears": GEARS, "meshes": 2, "count": 2},
    "stern_brocot": {"x": "127/100", "steps": 5},
    "thread_depth": {"thread": "M6", "internal": None, "form": None, "radius_mm": None, "flat_mm": None},
    "thread_series": {"name": "UNC"},
    "time_to_shoulder": {"wanted_or_setup": "M6", "rpm": 60, "room_mm": 5},
    "train_picture": {
        "train": TRAIN, "axes_mm": None, "planes": None, "spindle_angle_deg": 0, "clockwise": True, "module_mm": 1,
        "pressure_angle_deg": 20, "size_px": (480, 320), "first_shaft": "spindle", "last_shaft": "screw",
        "caption": "Train",
    },
    "turns_to_tell": {"thread": "M6", "other": "20 tpi", "uncertainty_mm": 0.1},
    "wall_plate": {"lathe": LATHE, "threads": ["24 tpi"], "on": "2026-11-25", "within_ppm": None, "size": "A4"},
}  # fmt: skip
NOT_ASKED_HERE = {"exercise_names", "series_names"}  # take nothing
NOT_ASKED_HERE |= {"save_csv"}  # writes where it is told to: tests/planning/test_charts.py


def nonsense() -> list[object]:
    """New ones each time, since an iterator is used up."""
    return [
        None, "", " ", "x", "<b>", "0", "-3", "0/0", "1/0", "9" * 500, "½", "٣", "M6\n", b"x", True, 0, -1, -5, 10**9,
        10**400, Fraction(1, 10**50), Fraction(10**400, 3), 1e308, float("nan"), float("inf"), 1j, [], (), {}, [None],
        [""], ["M6", None], {1, 2}, range(3), iter([1]), object(), object, print, SETUP, LATHE, TRAIN, FIT,
        10**5000, -(10**5000), Fraction(1, 10**5000), sympy.Integer(10) ** 5000, sympy.sqrt(2), sympy.Symbol("x"),
        Decimal("1e999999"), np.array(2), np.array("M6"), np.array([1, 2]), np.array([]), np.float64("nan"),
        np.int64(-1), pd.Series(["M6"]), pd.Series([1, 2], index=["a", "b"]), pd.DataFrame({"a": [1]}),
        pd.NA, pd.NaT,
        count(1), repeat("M6"), range(10**12), nested(), Broken("M6"), Broken(), Path("x"), bytearray(b"M6"),
        {"M6": 1}, (x for x in [None]), lambda: 1, "\ud800", "M6\0", "x" * 3_000,
    ]  # fmt: skip


@cache
def nested() -> list[object]:
    """Deeper than Python may go; made once, since that takes a while."""
    inner: list[object] = []
    for _ in range(20_000):
        inner = [inner]
    return inner


class Broken(str):
    """Text of which each method fails."""

    def strip(self, *_):
        raise RuntimeError("no strip")

    lower = upper = split = replace = casefold = removeprefix = removesuffix = strip

    def __iter__(self):
        raise RuntimeError("no signs")

    def __repr__(self):
        raise RuntimeError("no words")

    __str__ = __format__ = __repr__


def test_every_public_function_is_asked():
    functions = {name for name in gc.__all__ if not isinstance(getattr(gc, name), type) and not name.startswith("_")}
    assert functions - NOT_ASKED_HERE == set(RIGHT)


@in_one("name", RIGHT)
def test_what_is_right_is_answered(name):
    getattr(gc, name)(**RIGHT[name])


@in_one(("name", "argument"), [(name, argument) for name, right in RIGHT.items() for argument in right])
def test_nonsense_is_answered_or_refused_in_our_words(name, argument):
    for given in nonsense():
        try:
            answer = getattr(gc, name)(**{**RIGHT[name], argument: given})
            str(answer)
            getattr(answer, "_repr_html_", str)()
        except gc.GearcalcError as problem:
            said = str(problem)
        else:
            said = ""
        assert len(said) < 900


@in_one("name", [name for name, right in RIGHT.items() if len(right) > 1 and next(iter(right)) == "lathe"])
def test_a_call_in_the_wrong_order_is_told_that_the_lathe_goes_first(name):
    lathe, asked, *_ = RIGHT[name].items()
    rest = dict([*RIGHT[name].items()][2:])
    with pytest.raises(gc.GearcalcError) as refused:
        getattr(gc, name)(asked[1], lathe[1], **rest)
    assert "a lathe is wanted here" in str(refused.value)
    assert "It goes first" in str(refused.value)


DIAL, COVERAGE = gc.dial(LATHE, "20 tpi"), gc.coverage(LATHE, 1, 2, meshes=1)
METHODS = {
    "check_owned": LATHE.check_owned,
    "with_gears": LATHE.with_gears,
    "lever": LATHE.lever,
    "widest": COVERAGE.widest,
    "catches": DIAL.catches,
    "catches_another_start": DIAL.catches_another_start,
    "out_mm": DIAL.out_mm,
    "load": gc.Lathe.load,
    "from_toml": gc.Lathe.from_toml,
    "thread": gc.Thread.parse,
    "feed": gc.Feed,
    "feed text": gc.Feed.parse,
    "train": gc.Train.parse,
    "drivers": lambda given: gc.Train(given, (40,)),
    "idlers": lambda given: gc.Train((20,), (40,), given),
}
PARTS = ["name", "leadscrew", "gear_set", "note", "spindle_side", "gearbox", "bracket", "dial", "feeds", "plate"]


@in_one("name", METHODS)
def test_methods_and_readers_refuse_in_our_words(name):
    for given in nonsense():
        said = ""
        try:
            METHODS[name](given)
        except gc.GearcalcError as problem:
            said = str(problem)
        assert len(said) < 900


@in_one("part", PARTS)
def test_a_lathe_made_by_hand_of_wrong_parts_is_refused(part):
    right = {name: getattr(LATHE, name) for name in PARTS}
    assert gc.Lathe(**right) == LATHE
    for given in nonsense():
        said = ""
        try:
            made = gc.Lathe(**{**right, part: given})
            gc.Lathe.from_toml(made.to_toml())
            made.check_owned(24)
            str(made)
        except gc.GearcalcError as problem:
            said = str(problem)
        assert len(said) < 900


class TestSoon:
    """What would keep a search, a reader or a message busy is refused at once."""

    def test_quotes_without_an_end(self):
        started = process_time()
        with pytest.raises(gc.GearcalcError):
            gc.Lathe.from_toml('"' + '\\"' * 19_000)
        assert process_time() - started < 2

    def test_a_long_list_for_a_file_makes_a_short_message(self):
        for name in ([1] * 100_000, "x" * 100_000):
            for ask in (gc.Lathe.load, LATHE.save):
                with pytest.raises(gc.GearcalcError) as refused:
                    ask(name)
                assert len(str(refused.value)) < 900
