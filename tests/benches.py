"""Lathes for tests: of bare gears; on a bench for the fit; with several levers.

On the bench gears are of module 2, without backlash, so that z₁ + z₂ teeth stand z₁ + z₂ mm apart.
"""

from __future__ import annotations

from typing import Any

from gearcalc.basics.exact import INCH_MM
from gearcalc.lathes import Bracket, GearSet, Lathe, Leadscrew, Lever, Slot, SpindleSide, demo_lathe

BARE_BRACKET: dict[str, Any] = {
    "spindle_side_at_mm": (0.0, 100.0),
    "swing_deg": (-20.0, 75.0),
    "slots": (Slot((20.0, 0.0), (150.0, 0.0)),),
    "studs": 1,
    "stud_radius_mm": 5.0,
    "shaft_radius_mm": 5.0,
    "running_clearance_mm": 0.5,
    "backlash_mm": 0.0,
}


def a_lathe(*teeth: int, leadscrew: str = "8 tpi", more: str = "") -> Lathe:
    """A lathe without a bracket, invented for the test at hand; `more`: other lines of its file."""
    return Lathe.from_toml(
        f'name = "Lathe for tests"\nleadscrew.lead = "{leadscrew}"\ngears.teeth = {list(teeth)}\n{more}'
    )


def lathe(**changes: Any) -> Lathe:
    """A lathe without a bracket or a gearbox, invented for tests; `changes`: the parts in which it differs."""
    whole = {"name": "A", "leadscrew": Leadscrew(3), "gear_set": GearSet((20, 20, 30, 40, 50, 60, 80, 100, 127))}
    return Lathe(**whole | changes)


def bench(
    gears: tuple[int, ...] = (),
    *,
    module_mm: float | None = 2.0,
    pressure_angle_deg: float = 20.0,
    reverse: bool = True,
    gearbox: tuple[Lever, ...] = (),
    **bracket: Any,
) -> Lathe:
    """A lathe invented for tests; `bracket` says in what its bracket differs from the bare one."""
    return Lathe(
        name="Invented for tests",
        leadscrew=Leadscrew(INCH_MM / 8),
        gear_set=GearSet(gears, module_mm=module_mm, pressure_angle_deg=pressure_angle_deg),
        spindle_side=SpindleSide(reverse=reverse),
        gearbox=gearbox,
        bracket=Bracket(**{**BARE_BRACKET, **bracket}),
    )


def several_levers(number: int) -> Lathe:
    """A lathe invented for tests whose box has two levers, four positions, or three, 27 positions; no reverse else."""
    start = demo_lathe("inch").to_toml()
    head, tail = start[: start.index("[[gearbox]]")], start[start.index("[gears]") : start.index("[plate]")]
    plate = f'[plate]\n"16 tpi" = {{ drivers = [40], driven = [80], lever = "{_PLATE_LEVERS[number]}" }}\n'
    return Lathe.from_toml(head.replace("reverse = true", "reverse = false") + _LEVERS[number] + tail + plate)


_PLATE_LEVERS = {2: "on, range fast", 3: "C, 1, range fast"}
_LEVERS = {
    2: """
[[lever]]
name = "range"
positions = { slow = "1/2", fast = 1 }

[[lever]]
name = "tumbler"
side = "spindle"
[lever.positions]
on = 1
back = { ratio = 1, same_way = false }

""",
    3: """
[[lever]]
name = "range"
side = "spindle"
positions = { slow = "1/4", fast = "1", coarse = "4" }

[[lever]]
name = "cone"
positions = { A = "2/3", B = "3/4", C = "1" }

[[lever]]
name = "gear"
[lever.positions]
1 = "1"
2 = "1/2"
back = { ratio = "1/2", same_way = false }

""",
}
