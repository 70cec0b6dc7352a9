"""One pair whose fit is not checked: it spans what its teeth span, and the idler that one then adds turns all round."""

from __future__ import annotations

from collections.abc import Iterable

from gearcalc.basics import writing
from gearcalc.finding.setups import Setup
from gearcalc.lathes.pieces import kind_of, plain


def fit_not_checked(setups: Iterable[Setup | None]) -> list[str]:
    """That the fit of some was not checked, in a sentence, and what to mind with one pair then; none where it was.

    >>> from gearcalc.lathes import Lathe
    >>> from gearcalc.finding.setups import setup
    >>> lathe = Lathe.from_toml('name = "A"\\nleadscrew.lead = "3 mm"\\ngears = { teeth = [20, 24], module_mm = 1 }')
    >>> print(*fit_not_checked([setup(lathe, 20, 24)]))
    Fit not checked: 20/24 meshes only if the shafts stand 22 mm apart; with an idler between the gears the reverse \
goes the other way.
    """
    there = [setup for setup in setups if setup is not None and setup.fit is None]
    said = straight_across(there)
    return [f"Fit not checked{f': {said}' if said else '.'}"] if there else []


def straight_across(setups: Iterable[Setup | None]) -> str:
    """How far apart the shafts stand for the first that is one pair without an idler, and what an idler does to it.

    Nothing where there is none, or it is known whether they go on.
    """
    alone = [setup for setup in setups if setup is not None and _is_one_pair(setup)]
    if not alone:
        return ""
    (driver,), (driven,) = alone[0].train.drivers, alone[0].train.driven
    size = alone[0].lathe.gear_set.standing.sizes.get(kind_of(driver))
    apart = "just as far apart as it takes"
    if size is not None and size.module_mm is not None:
        apart = f"{writing.decimal(size.module_mm * (plain(driver) + plain(driven)) / 2, 1)} mm apart"
    sums = {sum(map(plain, setup.train.gears)) for setup in alone}
    others = ", and other pairs at other distances" if len(sums) > 1 else ""
    pair = f"{plain(driver)}/{plain(driven)}"
    return f"{pair} meshes only if the shafts stand {apart}{others}; {with_an_idler(alone[0])}."


def with_an_idler(setup: Setup) -> str:
    """What an idler between the gears of such a pair does; nothing where it is no such pair."""
    if not _is_one_pair(setup):
        return ""
    turned = "the feed" if not setup.way_known else "the reverse" if setup.reverse_fitted else "the carriage"
    return f"with an idler between the gears {turned} goes the other way"


def _is_one_pair(setup: Setup) -> bool:
    return setup.fit is None and len(setup.train.gears) == 2
