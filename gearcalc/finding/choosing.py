"""Which setup would a person choose? The simplest that is good enough, and why that one.

What is good enough to choose uses up at most a tenth of the thread's tolerance (threads/deviations.py says it in full).
Among those a simpler train is worth more than a nearer lead: see the second order in ranks.py. Where none is good
enough, the nearest is shown, and that it falls short. All who choose for a person ask here.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import takewhile
from typing import Any, Literal, TypeAlias, get_args

from attrs import evolve

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_one_of
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.exact import INCH_MM, MILLION, RelativeError
from gearcalc.finding.rankings import Query, ranked
from gearcalc.finding.ranks import step_of
from gearcalc.finding.setups import Setup
from gearcalc.threads.deviations import CHOSEN_SHARE, MOST_CHOSEN_PPM, good_enough_ppm, judge
from gearcalc.threads.wanted import Feed, Wanted

First: TypeAlias = Literal["nearest", "simplest"]
"""Which setups come first: the nearest, or of those that are good enough to choose the simplest."""


def choose_within(first: First, wanted: Wanted) -> Fraction | None:
    """Give the largest error, a share, that is good enough where the simplest comes first; None: the nearest does.

    >>> from gearcalc.threads import Thread
    >>> choose_within("simplest", Thread.parse("16 tpi")), choose_within("nearest", Thread.parse("16 tpi"))
    (Fraction(1, 5000), None)

    Raises ValueOutOfRangeError for another word.
    """
    return good_enough_ppm(wanted) / MILLION if as_one_of(first, get_args(First), where="first") == "simplest" else None


def choose_up_to(limit_ppm: Fraction | None, wanted: Wanted) -> Fraction:
    """Give the error, a share, up to which the simplest comes first, for a largest error in ppm.

    >>> from gearcalc.threads import Thread
    >>> wanted = Thread.parse("M6")
    >>> choose_up_to(Fraction(200), wanted), choose_up_to(None, wanted)
    (Fraction(1, 5000), Fraction(1, 1000))

    None: no limit; then what is good enough comes first all the same, for simplest of all is a train that is far off.
    """
    return (good_enough_ppm(wanted) if limit_ppm is None else limit_ppm) / MILLION


def as_simple_as_the_first(setups: Sequence[Setup], within: Fraction | None) -> list[Setup]:
    """Those at the head of a list that are as simple as its first and come as near, in steps of error.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.search import find_setups
    >>> found = find_setups(demo_lathe("inch"), "M8", count=20, first="simplest")
    >>> [str(each.train) for each in as_simple_as_the_first(found, Fraction(1, 1000))]
    ['63/80, idler 20']

    `within`: what is good enough, a share, as the list was made with; beyond it, and where it is None, none comes as
    near but what is off by just as much.
    """

    def simplicity(setup: Setup) -> tuple[Any, ...]:
        assert setup.error is not None
        far = within is None or setup.error > RelativeError.of_ppm(within * MILLION)
        return setup.strained, setup.train.meshes, setup.error if far else step_of(setup.error)

    simplest = simplicity(setups[0]) if setups else ()
    return list(takewhile(lambda setup: simplicity(setup) == simplest, setups))


def may_be_chosen(setup: Setup) -> bool:
    """Whether a setup is good enough to choose for what is wanted; a lesser one may still be good enough to cut.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> near = setup(demo_lathe("inch"), 40, 80, "middle", wanted="lead 1.588 mm")  # it cuts 1.5875 mm
    >>> near.good_enough, may_be_chosen(near)
    (None, False)
    """
    wanted, error = setup.wanted, setup.error
    return wanted is not None and error is not None and error <= RelativeError.of_ppm(good_enough_ppm(wanted))


def in_brief(setup: Setup) -> str:
    """Say how simple a setup is, how near it comes, and how much that uses of what a thread may be off.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> in_brief(setup(demo_lathe("inch"), (63, 45), (50, 60), "low", wanted="M10"))
    'two pairs, +125 ppm: 1.6 % of the tolerance of 6g over 10 mm'

    Where it is not good enough to choose, that is said too.
    """
    wanted, error, pairs = setup.wanted, setup.error, writing.pairs(setup.train.meshes)
    if wanted is None or error is None or error.is_exact:
        return pairs if error is None else f"{pairs}, exact"
    limit = good_enough_ppm(wanted)
    far = not may_be_chosen(setup)
    off = f"{pairs}, {writing.error(error, beside=float(limit))}: "
    verdict = None if isinstance(wanted, Feed) else judge(wanted, error)
    if verdict is None or verdict.share_used is None or verdict.engagement_mm is None:
        where = "for a feed" if verdict is None else "where no tolerance is known"
        return f"{off}{'more than' if far else 'within'} the {limit} ppm that are good enough to choose {where}"
    used = writing.percent(verdict.share_used, beside=1 if verdict.share_used > 1 else float(CHOSEN_SHARE))
    over = _as_it_is_named(verdict.engagement_mm, setup.lathe.units)
    said = f"{off}{used} of the tolerance of {verdict.tolerance_class} over {over}"
    if not far:
        return said
    most = f"{limit} ppm that are" if limit == MOST_CHOSEN_PPM else f"{writing.percent(float(CHOSEN_SHARE))} that is"
    return f"{said}, more than the {most} good enough to choose"


def _as_it_is_named(mm: Fraction, units: writing.Units) -> str:
    """A diameter in the unit in which it comes out even, that of the thread's name; else in the one read first."""
    even_in_mm, even_in_inches = writing.ends(mm, 2), writing.ends(mm / INCH_MM, 4)
    return writing.cut(mm, units if even_in_mm == even_in_inches else "mm" if even_in_mm else "inch")


def why_the_first(query: Query, first: Setup) -> str:
    """Say why a setup comes first: how simple and how near it is, and what the nearest of all would gain.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.search import find_setups
    >>> print(find_setups(demo_lathe("inch"), "M10", count=1, first="simplest").reason)
    Two pairs, +125 ppm: 1.6 % of the tolerance of 6g over 10 mm; three pairs would come to −51.8 ppm.

    `query`: what was asked, and no more is said than what a search for it tells.
    """
    brief = in_brief(first)
    said = markup.sentence(brief)
    try:
        nearest = None if first.is_exact else next(ranked(evolve(query, choose_within=None)), None)
    except NotPossibleError:  # it gave up before it came to one
        nearest = None
    if nearest is None or nearest.error is None or first.error is None:
        return f"{said}."
    if nearest.error >= first.error:
        return f"{said}; none that was looked at comes nearer."
    pairs = writing.pairs(nearest.train.meshes)
    others = f"other gears in {pairs}" if nearest.train.meshes == first.train.meshes else pairs
    within = "be exact" if nearest.is_exact else f"come to {writing.error(nearest.error)}"
    return f"{said}; {others} would {within}{', strained' if nearest.strained and not first.strained else ''}."
