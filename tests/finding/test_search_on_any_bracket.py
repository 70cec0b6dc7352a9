"""A search is over soon on any bracket: lathes at random, some roomy, some that let little or nothing on.

Soon: measured against a plain search in the same run, since machines differ. Most of these took ten to a thousand times
as long while every order of every train was written out before its bracket was looked at.
"""

from __future__ import annotations

import cmath
import math
import random
from fractions import Fraction
from time import process_time
from typing import Any

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.finding.search import find_setups
from gearcalc.lathes import Lathe, Leadscrew, Lever, Slot, SpindleSide
from tests.benches import bench
from tests.how_much import THOROUGH, in_one

WANTED = (
    "16 tpi",
    "20 tpi LH",
    "8 tpi",
    "lead 6 mm",
    "1.25 mm",
    "0.5 mm",
    "module 0.5",
    "11 tpi LH",
    "M8",
    "0.1 mm/rev",
)
LEVERS = ((), (), (Lever("low", Fraction(1, 2)), Lever("high", Fraction(1), same_way=False)))
AS_LONG = 40
"""Times a search for a thread on a demo lathe, which takes some 0.04 s."""


def some_gears(rng: random.Random) -> tuple[int, ...]:
    number = rng.choice([3, 4, 6, 8, 10, 12, 15, 18, 24, 32, 45, 60])
    kind = rng.choice(["by fives", "by ones", "any", "many twice"])
    if kind == "by fives":
        return tuple(20 + 5 * (n % 21) for n in range(number))
    if kind == "by ones":
        return tuple(range(20, 20 + number))
    some = [rng.randint(16, 127) for _ in range(number)]
    return tuple(some if kind == "any" else (rng.choice(some[: number // 2 + 1]) for _ in range(number)))


def a_lathe(rng: random.Random) -> Lathe:
    """With a bracket like none in particular, from a watchmaker's to one on which nothing reaches."""
    module, angle = rng.choice([0.5, 0.8, 1.0, 1.25, 1.5, 2.0]), rng.uniform(0, 2 * math.pi)
    spindle_side = cmath.rect(rng.choice([20, 40, 60, 80, 100, 120, 160, 240]) * module * rng.uniform(0.7, 1.3), angle)
    slots = []
    for _ in range(rng.choice([1, 1, 1, 2])):
        start = cmath.rect(rng.uniform(0, 60) * module, rng.uniform(-0.8, 0.8))
        end = cmath.rect(rng.uniform(60, 200) * module, rng.uniform(-0.8, 0.8))
        slots.append(Slot((start.real, start.imag), (end.real, end.imag)))
    middle, swing = math.degrees(angle) - rng.uniform(-20, 80), rng.choice([2, 20, 60, 170])
    lathe = bench(
        some_gears(rng),
        module_mm=module,
        spindle_side_at_mm=(spindle_side.real, spindle_side.imag),
        swing_deg=(max(-360.0, middle - swing), min(360.0, middle + swing)),
        slots=tuple(slots),
        studs=rng.choice([1, 1, 2, 2, 2, 3]),
        stud_radius_mm=rng.uniform(2, 7) * module,
        shaft_radius_mm=rng.uniform(2, 9) * module,
        running_clearance_mm=rng.uniform(0, 1.5),
        backlash_mm=rng.choice([0.0, 0.2]),
    )
    return evolve(
        lathe,
        gearbox=rng.choice(LEVERS),
        leadscrew=Leadscrew(rng.choice([Fraction(127, 40), Fraction(3)]), rng.choice(["right", "left"])),
        spindle_side=SpindleSide(Fraction(1), rng.random() < 0.5, rng.random() < 0.5),
        feeds=gc.demo_lathe("inch").feeds,
    )


def a_search(seed: int) -> tuple[Lathe, str, dict[str, Any]]:
    rng = random.Random(seed)
    lathe = a_lathe(rng)
    how: dict[str, Any] = {"meshes": rng.choice([(1, 2, 3), (1, 2, 3), (1,), (2,), (3,), (1, 2), (2, 4)])}
    how["must_fit"] = rng.random() < 0.85
    how["within_ppm"] = rng.choice([None, None, None, 0, 100])
    how["count"] = rng.choice([1, 5, 20])
    if lathe.bracket is not None and lathe.bracket.studs > 2:
        how["meshes"] = tuple(meshes for meshes in how["meshes"] if meshes < 4)
    return lathe, rng.choice(WANTED), how


def seconds(seed: int) -> float:
    lathe, wanted, how = a_search(seed)
    start = process_time()
    find_setups(lathe, wanted, **how)
    return process_time() - start


@pytest.fixture(scope="module")
def usual() -> float:
    """What a search on a demo lathe takes, nothing known from before: gears that no other search has."""
    demo = gc.demo_lathe("metric")
    taken = []
    for one_more in (81, 82, 83, 84, 86):
        start = process_time()
        find_setups(demo.with_gears(add=one_more), "1.1 mm", count=60)
        taken.append(process_time() - start)
    return sorted(taken)[2]


@in_one("seed", range(400) if THOROUGH else range(0, 40, 2))
def test_it_is_over_soon(seed, usual):
    assert seconds(seed) < AS_LONG * usual
