"""The steps of a change of gears as an exercise asks for them, and what each wrong order of two of them leads to.

The order and its reasons are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

STEPS: Mapping[str, str] = {
    "isolate": "Isolate at the plug or isolator, and wait for standstill.",
    "cover": "Open the cover.",
    "slacken": "Slacken the bracket, and swing the gears out of mesh.",
    "strip": "Take off what has to come off, front first.",
    "build": "Put the new gears on, those next to the headstock first.",
    "mesh": "Set the meshes with a strip of paper.",
    "snug": "Tighten the nuts: snug, not over-tight.",
    "by hand": "Spindle drive in neutral, chuck key out; turn the chuck by hand until the slowest gear has gone round.",
    "close": "Close the cover, so that the interlock makes.",
    "power": "Restore the power.",
    "try": "Lowest speed, tool clear: see which way the carriage goes.",
    "scratch": "Scratch the work, and measure.",
}
"""In the order in which they are done."""

_GEARS = ("slacken", "strip", "build", "mesh", "snug")


class Danger(NamedTuple):
    """What comes of it when one of the steps `done` is done `before` one that should have come first."""

    name: str
    done: tuple[str, ...]
    before: tuple[str, ...]
    words: str


DANGERS = (
    Danger("cover before isolating", ("cover",), ("isolate",),
           "The cover is open while the lathe could still start. What comes first of all?"),
    Danger("gears before isolating", _GEARS, ("isolate",),
           "Hands are in the gears while the lathe could still start. What comes first of all?"),
    Danger("by hand before isolating", ("by hand",), ("isolate",),
           "A hand is on the chuck while the lathe could still start. What comes first of all?"),
    Danger("power before the cover is closed", ("power",), ("cover", "close"),
           "There is power, and the gears lie open."),
    Danger("power before the gears are done", ("power",), _GEARS,
           "There is power, and hands have still to go into the gears."),
    Danger("power before turned by hand", ("power",), ("by hand",),
           "There is power while a hand turns the chuck: the lathe could start."),
    Danger("run before the power is back", ("try", "scratch"), ("power",),
           "The lathe can run there only while it is not isolated: hands are in gears that could start, or else nobody "
           "tries the new train."),
    Danger("closed before it is opened", ("close",), ("cover",),
           "In that order nothing closes the cover after the work: the gears lie open when the lathe runs."),
    Danger("gears after the cover is closed", ("close",), _GEARS,
           "The cover is shut before the work at the gears is done: hands go in once more, past a cover that everybody "
           "takes for closed."),
    Danger("closed before turned by hand", ("close",), ("by hand",),
           "A fault that is felt by hand is put right while the cover is still open."),
    Danger("gears before the cover is open", _GEARS, ("cover",),
           "The cover is still shut: whoever reaches in past it has fingers between gears that can't be seen."),
    Danger("by hand before the nuts are tight", ("by hand",), ("snug",),
           "Turned with its nut loose, a gear walks out of its mesh, or the bracket drops, and a hand is near."),
    Danger("by hand too early", ("by hand",), ("cover", *_GEARS),
           "The train that is turned there is not the one that power will turn: a tight tooth is left for the motor to "
           "find, and it breaks."),
    Danger("stripped in mesh", ("strip",), ("slacken",),
           "Gears that are still clamped in mesh jump as they come off, and the bracket can drop on a hand."),
    Danger("slack at the end", ("build", "mesh", "snug"), ("slacken",),
           "What was set is slack again: the bracket can drop, and the gears come out of mesh, or jam, under power."),
    Danger("on before off", ("build",), ("strip",),
           "New gears are forced past those that still have to come off, with fingers between them."),
    Danger("nuts before gears", ("snug",), ("strip", "build"),
           "A nut that is tight before its gear is on holds nothing: the gear comes off under power."),
    Danger("meshes before gears", ("mesh",), ("strip", "build"),
           "The gears that go on later stand in a mesh that nobody has set: too deep it binds, too open it jumps, and "
           "teeth break under power."),
    Danger("nuts before meshes", ("snug",), ("mesh",),
           "A nut that is tight already bends the stud, or leaves the mesh too deep: it binds, and teeth break under "
           "power."),
    Danger("scratched before tried", ("scratch",), ("try",),
           "Nobody has seen yet which way the carriage goes: the tool can run into the chuck."),
)  # fmt: skip
"""The gravest first; whatever order is wrong, one of them names why."""
