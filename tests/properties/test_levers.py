"""A box with several levers against plain multiplication, and against the same box written out position by position.

What the levers come to is multiplied here, from the tables as drawn. The oracle for all else is the same lathe with a
[[gearbox]] of every combination, which the brute force of the other files knows; only what the first driver does can't
be said there, and is reckoned here.
"""

from __future__ import annotations

import random
import re
from fractions import Fraction
from itertools import product
from math import prod

import sympy
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.finding.setups import turning_of
from gearcalc.lathes import BoxLever, GearSet, Lathe, Lever, SpindleSide
from gearcalc.learning.explorers import turning_view
from gearcalc.planning.gear_moves import turns_until_round
from tests.benches import bench, several_levers
from tests.how_much import examples
from tests.strategies import lever_boxes, plain_lathes

Box = tuple[BoxLever, ...]


def combinations(box: Box) -> list[tuple[Lever, ...]]:
    return list(product(*(lever.positions for lever in box)))


def written_out(box: Box) -> tuple[Lever, ...]:
    """A gearbox of one lever with a position for each way in which those of the box can stand."""
    return tuple(
        Lever(
            ", ".join(f"{lever.name} {at.name}" for lever, at in zip(box, each, strict=True)),
            prod((at.ratio for at in each), start=Fraction(1)),
            [at.same_way for at in each].count(False) % 2 == 0,
        )
        for each in combinations(box)
    )


def with_box(lathe: Lathe, box: Box) -> Lathe:
    return evolve(lathe, gearbox=(), box=box, plate=())


def told(made: gc.Setup) -> tuple[object, ...]:
    return made.train, made.lever, made.lead_mm, made.error_ppm, made.hand, made.reverse_over


class TestTheProduct:
    @given(lever_boxes)
    def test_every_position_is_the_product(self, box):
        lathe = with_box(bench((20, 40)), box)
        assert list(lathe.levers.items()) == [(lever.name, lever.ratio) for lever in written_out(box)]
        assert [position.same_way for position in lathe.positions] == [lever.same_way for lever in written_out(box)]

    @given(lever_boxes)
    def test_there_and_back(self, box):
        lathe = with_box(bench((20, 40)), box)
        assert Lathe.from_toml(lathe.to_toml()) == lathe

    @given(lever_boxes, st.randoms(use_true_random=False))
    def test_any_order_and_the_shortest_text_mean_the_same(self, box, draw):
        lathe = with_box(bench((20, 40)), box)
        each = draw.choice(combinations(box))
        full = [f"{lever.name} {at.name}" for lever, at in zip(box, each, strict=True)]
        everywhere = [at.name for lever in box for at in lever.positions]
        both = list(zip(full, (at.name for at in each), strict=True))
        short = [name if everywhere.count(name) == 1 else said for said, name in both]
        draw.shuffle(short)
        assert lathe.lever(" , ".join(short)).name == ", ".join(full)


class TestWhatItCuts:
    @given(
        lever_boxes, st.booleans(), st.sampled_from([Fraction(1), Fraction(2, 3)]), st.randoms(use_true_random=False)
    )
    @examples(60)
    def test_lead_direction_and_how_fast_the_first_driver_is(self, box, same_way, ratio, draw):
        lathe = with_box(bench((20, 30, 40, 50)), box)
        lathe = evolve(lathe, spindle_side=SpindleSide(ratio, same_way, reverse=False), bracket=None)
        each = draw.choice(combinations(box))
        said = ", ".join(f"{lever.name} {at.name}" for lever, at in zip(box, each, strict=True))
        made = gc.setup(lathe, (20, 40), (30, 50), said)
        share = Fraction(20 * 40, 30 * 50)
        ahead = [at for lever, at in zip(box, each, strict=True) if lever.side == "spindle"]
        first = ratio * prod((at.ratio for at in ahead), start=Fraction(1))
        assert made.lead_mm == lathe.leadscrew_lead_mm * ratio * share * prod(at.ratio for at in each)
        assert made.first_driver_turns == first
        turned = [same_way, *(at.same_way for at in ahead)].count(False)
        assert turning_of(made).first_driver == (turned % 2 == 0)
        turned = [same_way, *(at.same_way for at in each)].count(False) + 2  # two meshes
        assert (made.natural_hand == "right") == (turned % 2 == 0)
        # The slowest of the four gears on three shafts, once round.
        speeds = {20: first, 30: first * Fraction(20, 30), 50: first * share}
        slowest = min(speeds.values())
        assert turns_until_round(made.train, made.first_driver_turns)[0] == 1 / slowest

    @given(lever_boxes, st.randoms(use_true_random=False))
    @examples(25)
    def test_the_derivation_has_a_factor_for_each_lever(self, box, draw):
        lathe = with_box(bench((20, 30, 40, 50)), box)
        each = draw.choice(combinations(box))
        said = ", ".join(f"{lever.name} {at.name}" for lever, at in zip(box, each, strict=True))
        derivation = gc.derive(gc.setup(lathe, 20, 30, said))
        factors = {}
        for step in derivation.steps:
            for symbol, number in step.numbers.items():
                if str(symbol).startswith("r_lever"):
                    factors[symbol] = number
        assert sorted(map(str, factors.values())) == sorted(str(at.ratio) for at in each)
        by_hand = lathe.leadscrew_lead_mm * Fraction(2, 3) * prod(at.ratio for at in each)
        assert derivation.lead == sympy.Rational(by_hand.numerator, by_hand.denominator)

    @given(lever_boxes, st.booleans(), st.randoms(use_true_random=False))
    @examples(25)
    def test_the_derivation_counts_each_lever_that_turns_round(self, box, same_way, draw):
        lathe = evolve(with_box(bench((20, 30, 40, 50)), box), spindle_side=SpindleSide(1, same_way))
        each = draw.choice(combinations(box))
        said = ", ".join(f"{lever.name} {at.name}" for lever, at in zip(box, each, strict=True))
        way = gc.derive(gc.setup(lathe, 20, 30, said)).steps[-1]
        turned = 1 + (not same_way) + sum(not at.same_way for at in each)
        assert way.result == turned
        for lever, at in zip(box, each, strict=True):
            assert (f"lever {lever.name}" in way.symbols.values()) == (not at.same_way)

    @given(lever_boxes, st.randoms(use_true_random=False))
    @examples(25)
    def test_a_missing_gear_takes_each_lever_into_account(self, box, draw):
        lathe = evolve(with_box(bench((20, 30, 40, 50)), box), spindle_side=SpindleSide(Fraction(2, 3)))
        each = draw.choice(combinations(box))
        said = ", ".join(f"{lever.name} {at.name}" for lever, at in zip(box, each, strict=True))
        solved = gc.solve_for_gear(lathe, "1.5 mm", (40, None), (50, 30), said)
        others = lathe.leadscrew_lead_mm * Fraction(2, 3) * Fraction(40, 50 * 30) * prod(at.ratio for at in each)
        assert solved.exact == Fraction(3, 2) / others

    def test_the_turning_train_turns_as_the_levers_let_it(self):
        lathe = several_levers(3)
        view = turning_view(lathe, first_driver=40, first_driven=80, lever="slow, B, 2", turns=16)
        counted = {row["place"]: row["after 16 turns of the spindle"] for row in view.picture.table if len(row) == 2}
        # The first driver makes 4 turns in 16: 160 teeth pass, the driven gear makes two turns, the leadscrew 3/4.
        assert counted["mesh"] == "160 teeth"
        assert counted["leadscrew"] == "0.75 turns"
        assert re.search(r'data-first-driver="-?0\.25"', view.svg)


class TestFindingOverLevers:
    """The same answers, in the same order, as with every combination written out."""

    @given(plain_lathes(), lever_boxes, st.sampled_from(["1.5 mm", "16 tpi", "8 tpi LH", "module 1", "0.2 mm/rev"]))
    @examples(40)
    def test_find_setups(self, start, box, wanted):
        several, one = with_box(start, box), evolve(start, gearbox=written_out(box), plate=())
        assert [told(made) for made in gc.find_setups(several, wanted, meshes=(1, 2), count=12)] == [
            told(made) for made in gc.find_setups(one, wanted, meshes=(1, 2), count=12)
        ]

    @given(plain_lathes(), lever_boxes)
    @examples(15)
    def test_the_best_of_all_trains_counted_out(self, start, box):
        several = evolve(with_box(start, box), spindle_side=SpindleSide())
        wanted = gc.Thread.parse("1.25 mm")
        pairs = [(z, y) for i, z in enumerate(several.gears) for j, y in enumerate(several.gears) if i != j]
        leads = [
            several.leadscrew_lead_mm * Fraction(z, y) * prod((at.ratio for at in each), start=Fraction(1))
            for z, y in pairs
            for each in combinations(box)
        ]
        found = gc.find_setups(several, wanted, meshes=1, count=1)
        assert bool(found) == bool(leads)
        if found:
            assert abs(found[0].lead_mm - wanted.lead_mm) == min(abs(lead - wanted.lead_mm) for lead in leads)

    def test_everything_else_that_is_found_is_the_same_too(self):
        for number in (2, 3):
            several = evolve(several_levers(number), plate=())
            box = several.box
            assert isinstance(several.gear_set, GearSet)
            one = evolve(several, box=(), gearbox=written_out(box))
            jobs = ["1 mm", "16 tpi", "1.25 mm"]
            found, same = gc.plan_changeover(several, jobs), gc.plan_changeover(one, jobs)
            assert [told(made) for made in found.setups] == [told(made) for made in same.setups]
            assert gc.coverage(several, 1, 2, meshes=1).worst_ppm == gc.coverage(one, 1, 2, meshes=1).worst_ppm
            assert list(gc.chart(several, jobs).lever) == list(gc.chart(one, jobs).lever)


class TestWrongHand:
    def test_a_lathe_without_a_reverse_has_a_lever_that_turns_it_round(self):
        lathe = several_levers(2)
        meant = gc.setup(lathe, 40, 80, "slow, back", wanted="32 tpi")
        meant = meant if meant.as_built.hand == "right" else gc.setup(lathe, 40, 80, "slow, on", wanted="32 tpi")
        where = "on" if "back" in str(meant.lever) else "back"
        found = gc.explain_wrong_lead(meant, meant.lead_mm, Fraction(1, 10**6), hand="left")
        assert (
            found[0].slip == f"Cut left-hand instead of right-hand, the lever tumbler at {where}: the lead is the same."
        )


class TestMoves:
    def test_a_plan_counts_each_lever_that_moves(self):
        lathe = several_levers(3)
        plan = gc.plan_changeover(lathe, ["1 mm", "16 tpi", "1.25 mm", "11 tpi", "0.5 mm"])
        moved = 0
        for before, after in zip(plan.setups, plan.setups[1:], strict=False):
            assert before.lever is not None
            assert after.lever is not None
            moved += sum(x != y for x, y in zip(before.lever.split(", "), after.lever.split(", "), strict=True))
        assert plan.levers_moved == moved

    def test_slips_name_the_lever_that_stands_elsewhere(self):
        lathe, draw = several_levers(3), random.Random(4)
        for _ in range(12):
            meant = gc.setup(lathe, 40, 50, draw.choice(list(lathe.levers)))
            for lever in draw.sample(list(lathe.levers), 4):
                off = [
                    (is_at, should)
                    for is_at, should in zip(lever.split(", "), str(meant.lever).split(", "), strict=True)
                    if is_at != should
                ]
                lead = gc.setup(lathe, 40, 50, lever).lead_mm
                if len(off) != 1 or lead == meant.lead_mm:
                    continue
                said = [found.slip for found in gc.explain_wrong_lead(meant, lead, Fraction(1, 10**6))]
                (name, at), (_, should) = (each.split(" ") for each in off[0])
                words = f"The lever {name} stands at {at} instead of {should}."
                other = [s for s in said if s.startswith("The lever")]
                assert any(each.startswith(words) for each in other), (words, said)
