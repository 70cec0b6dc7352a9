"""Tolerances of the pitch diameter, from the standards' tables and formulas."""

from gearcalc.tolerances.classes import (
    STATUS_IN_WORDS,
    Limits,
    Tolerance,
    basic_minor_diameter,
    basic_pitch_diameter,
    length_of_engagement_group,
    pitch_diameter_limits,
    pitch_diameter_tolerance,
    tolerance_standard,
)

__all__ = [
    "STATUS_IN_WORDS",
    "Limits",
    "Tolerance",
    "basic_minor_diameter",
    "basic_pitch_diameter",
    "length_of_engagement_group",
    "pitch_diameter_limits",
    "pitch_diameter_tolerance",
    "tolerance_standard",
]
