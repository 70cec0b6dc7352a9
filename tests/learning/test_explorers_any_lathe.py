"""Every explorer opens on any lathe with nothing else given, those of gears with a picture wherever a train stands."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.learning import explorers
from tests.how_much import examples
from tests.odd_lathes import every_train, odd_lathes
from tests.strategies import bench_lathes, lathes, plain_lathes

ON_A_LATHE = {
    name: it
    for name, it in sorted(vars(explorers).items())
    if callable(it) and not name.endswith("_view") and name not in ("limit_on_teeth", "time_to_the_shoulder")
}
OF_GEARS = {"one_turn": (1,), "two_pairs": (2,), "turning_train": (1, 2)}
"""How many meshes they may begin with."""


def lacks(lathe, name):
    """What the lathe has not and the explorer is about: it then says so, and does not open."""
    size = lathe.module_mm is None or lathe.bracket is None
    no_gears = not lathe.gear_set.pieces and name in {*OF_GEARS, "change_over"}
    return no_gears or {"fit_bench": size, "catch_the_thread": lathe.dial is None}.get(name, False)


def opened(lathe, name):
    """The explorer; None where there is nothing that it could be about, which it has said in our words."""
    more = {}
    if name == "prove_the_cut":
        more = {"meant": next(iter(gc.find_setups(lathe, "1.5 mm", count=1, must_fit=False)), None)}
    try:
        explorer = ON_A_LATHE[name](lathe, **more)
    except GearcalcError:
        assert lacks(lathe, name) or more.get("meant", lathe) is None, name
        return None
    assert explorer.failure is None, explorer.message
    assert explorer.shown is not None or explorer.message
    return explorer


@examples(40)
@given(st.one_of(lathes(), bench_lathes(), plain_lathes()), st.sampled_from(sorted(ON_A_LATHE)))
def test_it_opens_and_where_it_shows_nothing_says_why(lathe, name):
    opened(lathe, name)


@examples(40)
@given(odd_lathes(most=6), st.sampled_from(sorted(OF_GEARS)))
def test_one_of_gears_begins_with_a_train_that_can_stand(lathe, name):
    """Whether any can is found by trying all of them."""
    there = any(every_train(lathe, (0,) * meshes) for meshes in OF_GEARS[name])
    assert (opened(gc.Lathe.from_toml(lathe.text), name).shown is not None) == there


def test_the_odd_demo_lathe_opens_every_one_with_a_picture():
    for name in ON_A_LATHE:
        assert opened(gc.demo_lathe("odd"), name).message == "", name
