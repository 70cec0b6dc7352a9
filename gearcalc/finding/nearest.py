"""The nearest setup, looked for once: it stays the nearest whatever tolerance is asked for next."""

from __future__ import annotations

from functools import lru_cache

from gearcalc.basics.exact import MILLION, RelativeError
from gearcalc.finding.rankings import Query, ranked
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import Gears
from gearcalc.threads.wanted import Wanted

_MOST_KNOWN = 5000


def nearest(query: Query) -> Setup | None:
    """The setup that comes nearest; None where that is not near enough.

    >>> from fractions import Fraction
    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.threads import Thread
    >>> print(nearest(Query(demo_lathe("inch"), Thread.parse("16 tpi"), (1, 2), Fraction(0))))
    40/80, idler 25, lever middle: lead 16 tpi (1.5875 mm), exact

    `query`: of lathe, wanted, meshes, within, borrowed and must_fit alone. Raises as ranked() does.
    """
    known = _known(query.lathe, query.meshes, query.must_fit)
    found = known.get((query.wanted, query.borrowed))
    if found is None:
        found = next(ranked(query), None)
        if found is not None and len(known) < _MOST_KNOWN:
            known[query.wanted, query.borrowed] = found
    if found is None or found.error is None or query.within is None:
        return found
    return found if found.error <= RelativeError.of_ppm(query.within * MILLION) else None


@lru_cache(maxsize=2)
def _known(lathe: Lathe, meshes: tuple[int, ...], must_fit: bool) -> dict[tuple[Wanted, Gears], Setup]:
    """What was found so far, by what is wanted and which gears are borrowed."""
    return {}
