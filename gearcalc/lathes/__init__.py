"""The lathe and its gears, and the file that describes it."""

from gearcalc.lathes.lathe import (
    Bracket,
    Dial,
    DialGear,
    Feeds,
    GearSet,
    Lathe,
    Leadscrew,
    Lever,
    PlateRow,
    Slot,
    SpindleSide,
    as_lathe,
    demo_lathe,
)

__all__ = [
    "Bracket",
    "Dial",
    "DialGear",
    "Feeds",
    "GearSet",
    "Lathe",
    "Leadscrew",
    "Lever",
    "PlateRow",
    "Slot",
    "SpindleSide",
    "as_lathe",
    "demo_lathe",
]
