"""Gears worth adding to a set, and how near a set comes to any lead."""

from gearcalc.additions.purchases import gears_to_add

__all__ = ["gears_to_add"]
