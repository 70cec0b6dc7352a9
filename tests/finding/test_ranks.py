"""What trains sort by, piece by piece: steps of error, how steep, how far off; and what a lathe is strained by."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, product

import pytest

from gearcalc.basics.exact import PiMultiple, RelativeError
from gearcalc.finding import nearest as kept
from gearcalc.finding.nearest import nearest
from gearcalc.finding.products import Candidate
from gearcalc.finding.rankings import Query
from gearcalc.finding.ranks import Miss, bounds_of_steps, of_steepness, step_of
from gearcalc.finding.search import find_setups
from gearcalc.finding.strain import is_strained, strain_in_words
from gearcalc.lathes.trains import steepest_mesh
from gearcalc.threads import Feed
from tests.benches import a_lathe
from tests.how_much import in_one

HAIR = Fraction(1, 10**12)


class TestStepsOfError:
    """Exact; up to 200 ppm, that itself counted in; the rest."""

    @in_one(("ppm", "step"), [(0, 0), (HAIR, 1), (199, 1), (200, 1), (200 + HAIR, 2), (10**6, 2)])
    def test_where_one_ends_and_the_next_begins(self, ppm, step):
        assert step_of(RelativeError.of_ppm(ppm)) == step
        assert ppm == 0 or step_of(RelativeError(1 - Fraction(ppm) / 10**6 / 2, Fraction(1))) <= step

    @in_one(
        ("ppm", "bounds"),
        [
            (0, []),
            (1, [1]),
            (199, [199]),
            (200, [200]),
            (201, [200, 201]),
            (1000, [200, 1000]),
            (10**12, [200, 10**12]),
        ],
    )
    def test_their_bounds(self, ppm, bounds):
        assert bounds_of_steps(Fraction(ppm, 10**6)) == [Fraction(each, 10**6) for each in bounds]


class TestOfSteepness:
    def test_against_each_train_looked_at(self):
        gears = (20, 25, 30, 40, 50, 80)
        sides = list(combinations(gears, 2))
        trains = [Candidate(0, *both) for both in product(sides, sides)]
        steep = sorted({steepest_mesh(each.drivers, each.driven) for each in trains})
        for low, high in [*combinations(steep[::3], 2), (0.0, steep[-1]), (steep[0], float("inf"))]:
            expected = [each for each in trains if low <= steepest_mesh(each.drivers, each.driven) < high]
            assert list(of_steepness(trains, low, high)) == expected


class TestMisses:
    """Two that miss by the same are equal, whichever side and target; the others sort by |error|, π by its bounds."""

    TARGETS = (Fraction(1), Fraction(11, 15), Fraction(2), PiMultiple(Fraction(1, 4)), PiMultiple(Fraction(1, 3)))
    GEARS = (20, 22, 30, 40, 50, 55, 60)

    def test_they_sort_as_their_errors_do(self):
        misses = [
            Miss(target, (over,), (under,)) for target in self.TARGETS for over, under in product(self.GEARS, repeat=2)
        ][::3]
        for one, other in product(misses, repeat=2):
            assert (one < other) is (one.error < other.error)
            assert (one == other) is (one.error == other.error)
            assert (one > other) is (one.error > other.error)

    def test_what_no_float_can_tell_apart(self):
        near = [
            Miss(Fraction(3, 2) + shift * Fraction(1, 10**30), (60,), (20,)) for shift in (Fraction(0), Fraction(1))
        ]
        assert near[0].size == near[1].size
        assert near[1] < near[0]  # a hair more is wanted, so what is cut misses a hair less
        assert near[0] != near[1]
        assert not near[0] < near[1]

    def test_with_pi_the_same_ratio_misses_by_something_else(self):
        plain, pi = Miss(Fraction(1, 2), (40,), (40,)), Miss(PiMultiple(Fraction(1, 2)), (40,), (40,))
        assert plain.share[:2] == pi.share[:2]
        assert (plain.share[2], pi.share[2]) == (False, True)
        assert plain != pi
        assert plain != 1.0


class TestStrain:
    """More than 4:1 in a mesh, more than 3 turns of the leadscrew: warned of; more than 6 turns: never under power."""

    STEEP = (
        "One mesh has a ratio of more than 4:1, so its teeth are loaded hard: lowest speed, light cuts (common "
        "practice, no source)."
    )
    FAST = "The leadscrew turns more than 3 times for one turn of the spindle, and that loads the train hard: lowest"
    BY_HAND = "The leadscrew turns more than 6 times for one turn of the spindle: never under power. Isolated, "

    @in_one(
        ("steepest", "turns", "said"),
        [
            (1, 1, []),
            (4, 3, []),
            (4 + HAIR, 3, [STEEP]),
            (4, 3 + HAIR, [FAST]),
            (5, 4, [STEEP, FAST]),
            (5, 6, [STEEP, FAST]),
            (1, 6, [FAST]),
            (1, 6 + HAIR, [BY_HAND]),
            (9, 6 + HAIR, [BY_HAND]),
        ],
    )
    def test_both_limits_on_both_sides(self, steepest, turns, said):
        words = list(strain_in_words(Fraction(steepest), Fraction(turns)))
        assert [one.startswith(other) for one, other in zip(words, said, strict=True)] == [True] * len(said)
        assert is_strained(Fraction(steepest), Fraction(turns)) is bool(said)


class TestNearest:
    """What is kept from one question to the next answers as a search does, whatever tolerance is asked for."""

    LATHE = a_lathe(20, 30, 40, 63, 80, leadscrew="1 mm")

    @in_one("wanted", ["1/2", "100/127", "11/15", "7/5", "2/7"])
    @in_one("meshes", [(1,), (1, 2)])
    def test_against_the_search(self, wanted, meshes):
        feed = Feed(Fraction(wanted))
        best = find_setups(self.LATHE, feed, meshes, 1)[0]
        off = abs(best.error.exact)
        for within in (None, off, off + HAIR, off - HAIR if off else None, Fraction(0), Fraction(1)):
            found = nearest(Query(self.LATHE, feed, meshes, within))
            assert found == (best if within is None or off <= within else None)

    def test_a_gear_that_is_lent_is_no_gear_of_the_next_question(self):
        feed = Feed(Fraction(20, 127))
        for borrowed in ((), (127,), (), (127, 127)):
            found = nearest(Query(self.LATHE, feed, (1,), Fraction(0), borrowed=borrowed))
            assert (found is not None) is bool(borrowed)

    def test_no_more_is_kept_than_may_be(self, monkeypatch):
        monkeypatch.setattr(kept, "_MOST_KNOWN", 2)
        kept._known.cache_clear()
        for share in (3, 5, 7, 3, 9):
            feed = Feed(Fraction(1, share))
            found = nearest(Query(self.LATHE, feed, (1, 2)))
            assert found == find_setups(self.LATHE, feed, (1, 2), 1)[0]
            assert nearest(Query(self.LATHE, Feed(Fraction(share, 10**4)), (4,))) is None  # eight gears it has not
        assert len(kept._known(self.LATHE, (1, 2), True)) == 2
        assert len(kept._known(self.LATHE, (4,), True)) == 0

    def test_one_hand_is_not_the_other(self):
        no_reverse = a_lathe(20, 30, 40, leadscrew="1 mm", more="spindle_side.reverse = false")
        for wanted, train in [("0.5 mm", "20/40, idler 30"), ("0.5 mm LH", "20/40"), ("0.5 mm", "20/40, idler 30")]:
            found = find_setups(no_reverse, wanted, 1, within_ppm=0)[0]
            assert str(found.train) == train
            assert nearest(Query(no_reverse, found.wanted, (1,), Fraction(0))) == found


@pytest.mark.parametrize("count", [1000, 1001])
def test_a_list_of_gears_to_avoid_is_read_to_its_end_or_refused(count):
    """A tooth count far down the list is not used either."""
    lathe, avoid = TestNearest.LATHE, [999] * (count - 1) + [40]
    if count > 1000:
        with pytest.raises(ValueError, match="avoid must name at most 1000 tooth counts"):
            find_setups(lathe, Feed(Fraction(1, 2)), avoid=iter(avoid))
    else:
        assert all(40 not in each.train.gears for each in find_setups(lathe, Feed(Fraction(1, 2)), avoid=iter(avoid)))
