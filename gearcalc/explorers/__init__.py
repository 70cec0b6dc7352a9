"""Explorers: controls and a picture that follows them. Each is a thin shell over a pure view."""

from gearcalc.explorers.dials import catch_the_thread
from gearcalc.explorers.first_lessons import ask, one_turn, two_pairs
from gearcalc.explorers.near_misses import edit_the_set, limit_on_teeth, watch_the_gap
from gearcalc.explorers.turning import turning_train

__all__ = [
    "ask",
    "catch_the_thread",
    "edit_the_set",
    "limit_on_teeth",
    "one_turn",
    "turning_train",
    "two_pairs",
    "watch_the_gap",
]
