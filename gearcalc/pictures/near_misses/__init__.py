"""Pictures of near misses: threads that part, errors against length, fractions that close in, walks and maps.

Each returns a Picture: the drawing, the words that say the same, and the table that it was drawn from.

>>> print(closing_in("pi", max_denominator=10).caption)
The best fractions for π with at most 10 below the line: 22/7 is the nearest, +402.5 ppm.
"""

from gearcalc.pictures.near_misses.error_lines import error_against_length
from gearcalc.pictures.near_misses.error_maps import error_map
from gearcalc.pictures.near_misses.fraction_funnels import closing_in
from gearcalc.pictures.near_misses.fraction_walks import stern_brocot_walk
from gearcalc.pictures.near_misses.parting_threads import side_by_side

__all__ = ["closing_in", "error_against_length", "error_map", "side_by_side", "stern_brocot_walk"]
