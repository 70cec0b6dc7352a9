"""Pairs of gears that nearly cut a thread: all of them, tried one by one here, and in a moment on a large lathe."""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations
from time import process_time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc import exercise, exercise_names
from gearcalc.lathes import Lathe
from gearcalc.learning.exercises import recipe_of
from gearcalc.learning.exercises.any_lathe import INCH, METRIC, near_pairs
from tests.how_much import examples

LEADS = [(one, Fraction(one.removesuffix(" mm"))) for one in METRIC]
LEADS += [(one, Fraction(254, 10) / int(one.removesuffix(" tpi"))) for one in INCH]
LEVERS = {"slow": Fraction(1, 2), "fast": Fraction(3, 1)}


def owned(teeth, first_driver=None, levers=LEVERS):
    fixed = f"fixed.first_driver = {first_driver}\n" if first_driver else ""
    box = "".join(f'[[gearbox]]\nlever = "{name}"\nratio = "{turns}"\n' for name, turns in levers.items())
    return Lathe.from_toml(f'name = "Own"\nleadscrew.lead = "3 mm"\n[gears]\nteeth = {teeth}\n{fixed}{box}')


class TestNearPairs:
    @examples(60)
    @given(st.lists(st.integers(16, 130), min_size=2, max_size=9), st.booleans(), st.sampled_from([20, 1100]))
    def test_they_are_those_that_trying_every_pair_finds(self, teeth, is_fixed, least_ppm):
        first = teeth[0] if is_fixed else None
        tried = []
        for driver, driven in permutations(sorted(set(teeth)), 2):
            for lever, turns in LEVERS.items() if first in (None, driver) else ():
                for name, lead in LEADS:
                    ppm = (3 * turns * Fraction(driver, driven) / lead - 1) * 10**6
                    if least_ppm < abs(ppm) < 20_000:
                        tried.append((driver, driven, lever, name, ppm))
        tried.sort(key=lambda one: abs(one[-1]))
        found = near_pairs(owned(teeth, first), least_ppm, 12)
        edge = [one for one in found if abs(one.ppm) == 20_000]  # floats decide about those that are off by just 2 %
        assert [tuple(one) for one in found if one not in edge] == tried[: 12 - len(edge)]


class TestOneLearnersTime:
    """Two seconds of a processor is as long as a page may stand still: common practice, no source."""

    @pytest.mark.parametrize("first_driver", [None, 40])
    @pytest.mark.parametrize("name", [name for name in exercise_names() if recipe_of(name).any_lathe])
    def test_a_lathe_of_200_gears_is_asked_about_at_once(self, name, first_driver):
        lathe = owned(list(range(20, 220)), first_driver, LEVERS | {"same": Fraction(1)})
        began = process_time()
        exercise(name, 5, lathe)
        assert process_time() - began < 2
