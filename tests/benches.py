"""Lathes for tests of the fit: gears of module 2 without backlash, so that z₁ + z₂ teeth stand z₁ + z₂ mm apart."""

from __future__ import annotations

from typing import Any

from gearcalc.basics.exact import INCH_MM
from gearcalc.lathes import Bracket, GearSet, Lathe, Leadscrew, Lever, Slot, SpindleSide

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
