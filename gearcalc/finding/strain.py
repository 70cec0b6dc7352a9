"""How hard a setup is on the lathe: a mesh of a large ratio, or a fast leadscrew, and what is to be said of that."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gearcalc.basics.cautions import DRIVE_FREE
from gearcalc.lathes.trains import STEEPEST_MESH

FASTEST_LEADSCREW = Fraction(3)
"""Leadscrew turns for one turn of the spindle; more carries a warning (common practice, no source)."""
PULLED_BY_HAND = Fraction(6)
"""Above so many nothing is run under power: the chuck is pulled round by hand. The number is our convention."""


def is_strained(steepest: Fraction, leadscrew_turns: Fraction) -> bool:
    """Whether the ratio in one mesh is higher, or the leadscrew faster, than common practice allows.

    >>> is_strained(Fraction(4), Fraction(3)), is_strained(Fraction(4), Fraction(31, 10))
    (False, True)
    """
    return steepest > STEEPEST_MESH or leadscrew_turns > FASTEST_LEADSCREW


def strain_in_words(steepest: Fraction, leadscrew_turns: Fraction) -> Iterator[str]:
    """What to mind then, a warning each; none where nothing is strained.

    >>> [said[:37] for said in strain_in_words(Fraction(5), Fraction(4))]
    ['One mesh has a ratio of more than 4:1', 'The leadscrew turns more than 3 times']

    `steepest`: the steepest mesh, larger over smaller; `leadscrew_turns`: for one turn of the spindle.
    """
    by_hand = leadscrew_turns > PULLED_BY_HAND
    if steepest > STEEPEST_MESH and not by_hand:
        yield (
            f"One mesh has a ratio of more than {STEEPEST_MESH}:1, so its teeth are loaded hard: lowest speed, "
            "light cuts (common practice, no source)."
        )
    if by_hand:
        yield (
            f"The leadscrew turns more than {PULLED_BY_HAND} times for one turn of the spindle: never under power. "
            f"Isolated, {DRIVE_FREE}, the chuck is pulled round by hand from the first try to the last pass. It "
            "goes hard (common practice, no source; the number is our convention)."
        )
    elif leadscrew_turns > FASTEST_LEADSCREW:
        yield (
            f"The leadscrew turns more than {FASTEST_LEADSCREW} times for one turn of the spindle, and that loads "
            f"the train hard: lowest speed, light cuts. First isolate, {DRIVE_FREE}, and turn the train by "
            f"hand. (Above {PULLED_BY_HAND} times nothing would be run under power; common practice, no source.)"
        )
