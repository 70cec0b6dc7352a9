"""Near misses: the best fractions, and the gears that stand in for those one hasn't got."""

from gearcalc.approximations.fractions import (
    NearFraction,
    WalkStep,
    best_fractions,
    continued_fraction,
    convergents,
    factor,
    near_fractions,
    stern_brocot,
)

__all__ = [
    "NearFraction",
    "WalkStep",
    "best_fractions",
    "continued_fraction",
    "convergents",
    "factor",
    "near_fractions",
    "stern_brocot",
]
