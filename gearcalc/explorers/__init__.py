"""Explorers: controls and a picture that follows them. Each is a thin shell over a pure view."""

from gearcalc.explorers.first_lessons import ask, one_turn, two_pairs

__all__ = ["ask", "one_turn", "two_pairs"]
