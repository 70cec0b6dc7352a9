"""The lathe and its gears, and the file that describes it."""

from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.lathe import Lathe, as_lathe, demo_lathe, differences
from gearcalc.lathes.levers import BoxLever
from gearcalc.lathes.parts import Bracket, Dial, DialGear, Feeds, Leadscrew, Lever, PlateRow, Show, Slot, SpindleSide

__all__ = [
    "BoxLever",
    "Bracket",
    "Dial",
    "DialGear",
    "Feeds",
    "GearSet",
    "Lathe",
    "Leadscrew",
    "Lever",
    "PlateRow",
    "Show",
    "Slot",
    "SpindleSide",
    "as_lathe",
    "demo_lathe",
    "differences",
]
