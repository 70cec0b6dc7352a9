"""How the nearest products are found: measured against slower ways, both in the same run."""

from fractions import Fraction
from itertools import combinations
from math import prod

from gearcalc.finding.products import Products, closest
from tests.benchmarks.rivalry import seconds, timed

GEARS = range(20, 44)


def nearest_by_trying_everything(target: Fraction) -> Fraction:
    sides = [(set(side), prod(side)) for side in combinations(GEARS, 2)]
    ratios = (Fraction(p, q) for drivers, p in sides for driven, q in sides if not drivers & driven)
    return min(ratios, key=lambda ratio: abs(ratio - target))


def nearest(target: Fraction, table: Products) -> Fraction:
    best = next(closest([target], [table]))
    found = next(best.trains())
    return Fraction(prod(found.drivers), prod(found.driven))


class TestClosest:
    def test_listing_and_walking_beats_trying_everything_many_times_over(self):
        target = Fraction(127, 101)
        table = Products.of(GEARS, 2)
        assert nearest_by_trying_everything(target) == nearest(target, table)
        slow = timed(lambda: nearest_by_trying_everything(target))
        fast = seconds(lambda: nearest(target, Products.of(GEARS, 2)))
        assert fast * 10 < slow

    def test_time_grows_with_the_products_and_not_with_their_pairs(self):
        # Twice the gears are some 8 times the products, and 64 times the pairs of products.
        few, many = (Products.of(range(20, 20 + n), 3) for n in (24, 48))
        pairs = (len(many.values) / len(few.values)) ** 2
        growth = seconds(lambda: nearest(Fraction(127, 101), many)) / seconds(lambda: nearest(Fraction(127, 101), few))
        assert growth < pairs / 2
