"""Fits with two sizes of tooth, clusters, a fixed gear and bores, against loops and discs that use no code of the fit.

Which arrangements there are, where they can stand and whether anything touches is worked out in by_force.py again.
"""

from __future__ import annotations

import math
import random
import re
from collections import Counter
from functools import cache
from html import unescape
from itertools import pairwise
from typing import Any

import pytest
from attrs import evolve

from gearcalc.basics.writing import decimal
from gearcalc.fits import Fit, fit
from gearcalc.fits.arrangements import Question, Ways, idlers_may_stand, train_of
from gearcalc.fits.gaps import idle_name, snugness
from gearcalc.fits.geometry import layout_of
from gearcalc.fits.growing import Growth
from gearcalc.lathes import GearSet, Lathe, Slot
from gearcalc.lathes.pieces import kind_of, mate_of, other_half, piece, some_set_apart
from gearcalc.lathes.sizes import Fixed
from gearcalc.lathes.trains import Train
from tests.benches import bench
from tests.fits.by_force import (
    a_cramped_lathe,
    a_roomy_lathe,
    a_train,
    all_apart,
    an_odd_lathe,
    arrangements,
    beside,
    best_rank,
    bracket_of,
    discs,
    may_go_on,
    may_stand,
    most_room,
    numbers_of_idlers,
    owned,
    places_changed,
    rooms,
    stands,
    with_idlers,
)
from tests.how_much import THOROUGH, in_one

QUESTIONS = range(2000 if THOROUGH else 60)


@cache
def a_case(seed: int) -> tuple[Lathe, Train, list[int]]:
    """A lathe, a train whose gears can stand in some order, and the numbers of idlers to try."""
    rng = random.Random(seed)
    while True:
        lathe = an_odd_lathe(rng)
        meshes = rng.choice([1, 2])
        if len(lathe.gear_set.pieces) >= 2 * meshes + 1:
            train = a_train(rng, lathe, meshes)
            if meshes == 2 and rng.random() < 0.5 and all(mate_of(gear) is None for gear in train.gears):
                continue  # so that clusters come often enough
            if lathe.gear_set.orders(train.drivers, train.driven) and owned(lathe, train):
                numbers = [1, 2] if meshes == 1 else [0, 1]
                return lathe, train, [n for n in numbers if meshes - 1 + n <= bracket_of(lathe).studs]


def measured(lathe: Lathe, found: Fit) -> None:
    """What an answer says of itself holds when it is measured again."""
    train = found.train
    assert may_stand(lathe, train)
    assert owned(lathe, train)
    assert [math.dist(one, other) for one, other in pairwise(found.axes_mm)] == pytest.approx(all_apart(lathe, train))
    idle = [mesh for mesh, gears in enumerate(train.idlers) for gear in gears if mate_of(gear) is not None]
    for (_, _, plane), mesh in zip(found.idle_gears, idle, strict=True):
        assert abs(plane - found.planes[mesh]) == 1
    for n, (driven, one, other) in enumerate(zip(train.driven, found.planes, found.planes[1:], strict=False)):
        assert one != other
        assert mate_of(driven) is None or abs(one - other) == 1, n
    there = discs(lathe, train, found.planes, tuple(plane for _, _, plane in found.idle_gears))
    gaps = sorted(rooms(lathe, train, there, tuple(complex(*axis) for axis in found.axes_mm)))
    assert gaps[0].mm >= bracket_of(lathe).running_clearance_mm - 1e-6
    assert found.clearances_mm[0][2] == pytest.approx(gaps[0].mm, abs=1e-6)
    assert sorted(gap[:2] for gap in found.clearances_mm) == sorted((gap.one, gap.other) for gap in gaps)


class TestAgainstEveryArrangement:
    @in_one("seed", range(1200 if THOROUGH else 120))
    def test_the_best_with_the_fewest_idlers(self, seed):
        self.is_the_best(seed, keep_order=False)

    @in_one("seed", range(1500 if THOROUGH else 150))
    def test_the_best_in_the_order_given(self, seed):
        """Of gears that may stand in any order: the one given is not judged by what is fixed or in one piece."""
        if a_case(seed)[0].gear_set.anything_goes:
            self.is_the_best(seed, keep_order=True)

    def is_the_best(self, seed: int, *, keep_order: bool) -> None:
        lathe, train, numbers = a_case(seed)
        found = fit(lathe, train, keep_order=keep_order)
        for idlers in numbers:
            made_of_it = [
                made
                for made in arrangements(lathe, train, idlers)
                if not keep_order or (made.drivers, made.driven) == (train.drivers, train.driven)
            ]
            ranks = {made: best_rank(lathe, made) for made in made_of_it}
            there = {made: rank for made, rank in ranks.items() if rank is not None}
            if there:
                assert found.goes_on
                assert found.train.idler_count == idlers
                measured(lathe, found)
                steep, planes, room = there[found.train]
                best = min(there.values())
                assert (steep, planes) == best[:2]
                assert room == pytest.approx(best[2], abs=1e-6)
                return
        assert not found.goes_on
        assert found.reasons

    def test_the_cases_are_of_every_kind(self):
        """Else the test above would say little."""
        kinds = Counter[str]()
        for seed in range(120):
            lathe, train, _ = a_case(seed)
            found = fit(lathe, train)
            kinds["goes on"] += found.goes_on
            kinds["does not"] += not found.goes_on
            if found.goes_on:
                kinds["idle gear"] += bool(found.idle_gears)
                kinds["cluster in a pair"] += any(mate_of(gear) is not None for gear in found.train.driven)
                kinds["another size"] += any("module" in kind_of(gear) for gear in found.train.gears)
                kinds["fixed"] += lathe.gear_set.fixed != Fixed()
        assert min(kinds[kind] for kind in ("goes on", "does not", "idle gear", "another size", "fixed")) >= 3
        assert kinds["cluster in a pair"] >= 1


@cache
def a_question(seed: int) -> tuple[Lathe, Train, str | None, Train | None]:
    """A lathe, a train of up to three meshes, the hand that is asked for, what is mounted."""
    rng = random.Random(seed)
    last_fixed = rng.random() < 0.25
    while True:
        a_lathe = rng.choice([an_odd_lathe, a_cramped_lathe, a_roomy_lathe, a_roomy_lathe])
        lathe, meshes = a_lathe(rng), rng.choice([1, 2, 3])
        number = len(lathe.gear_set.pieces)
        if last_fixed and lathe.gear_set.fixed.last_driven is None:
            continue
        if 2 * meshes + 1 <= number <= (7 if meshes == 3 else 8):
            train, mounted = a_train(rng, lathe, meshes), None
            if not owned(lathe, train) or not lathe.gear_set.orders(train.drivers, train.driven):
                continue
            asked = with_idlers(rng, lathe, train, rng.choice([0, 0, 0, 1, 2]))
            if last_fixed or rng.random() < 0.5:
                mounted = a_train(rng, lathe, rng.choice([m for m in (1, 2, 3) if 2 * m + 1 <= number]))
                mounted = with_idlers(rng, lathe, mounted, rng.choice([0, 1]))
                if rng.random() < 0.5:  # one that has more in common
                    mounted = Train(train.drivers[::-1], train.driven, mounted.idlers[:1])
            reverse = evolve(lathe.spindle_side, reverse=rng.random() < 0.5)
            return evolve(lathe, spindle_side=reverse), asked, rng.choice([None, "right", "left"]), mounted


def at_best(lathe: Lathe, made: Train, mounted: Train | None) -> tuple[int, int, Any]:
    """Places changed, planes less one, and with its sign turned the room, as far as gears and their order tell."""
    snug = min((each.mm for each in beside(lathe, made) if each.counts), default=math.inf)
    return places_changed(lathe, made, mounted), min(made.meshes - 1, 1), pytest.approx(-snug)


class TestEveryChainThatGoesOn:
    """Up to three meshes, idlers named and not, either hand, with and without a train mounted."""

    @staticmethod
    @cache
    def ranks(seed: int, idlers: int) -> dict[Train, tuple[bool, int, int, float]]:
        """Of all that go on."""
        lathe, train, _, mounted = a_question(seed)
        found = {}
        for made in arrangements(lathe, train, idlers):
            rank = best_rank(lathe, made)
            if rank is not None:
                found[made] = (rank[0], places_changed(lathe, made, mounted), *rank[1:])
        return found

    @in_one("seed", QUESTIONS)
    def test_none_is_left_out_and_each_is_as_good_as_its_gears_let_it_be(self, seed):
        """What can't be told from gears and their order alone is taken for the best that there is."""
        lathe, train, _, mounted = a_question(seed)
        question = Question(train, layout_of(lathe), lathe.gear_set, mounted=mounted)
        for idlers in numbers_of_idlers(lathe, train):
            likely = list(Growth(Ways(question), idlers).most_promising_first())
            grown = {train_of(each.chain): each.rank for each in likely}
            assert len(grown) == len(likely)
            assert {*grown} == {made for made in arrangements(lathe, train, idlers) if may_go_on(lathe, made)}
            assert sorted(grown.values()) == [each.rank for each in likely]
            for made, rank in grown.items():
                steep = any(not mesh[-1] / 4 <= mesh[0] <= mesh[-1] * 4 for mesh in made.chain())
                assert rank == (steep, *at_best(lathe, made, mounted))
            for made, (*others, room) in self.ranks(seed, idlers).items():
                assert grown[made] <= (*others, room + 1e-6)

    @in_one("seed", QUESTIONS)
    def test_in_the_order_given(self, seed):
        lathe, train, _, mounted = a_question(seed)
        question = Question(train, layout_of(lathe), lathe.gear_set, mounted=mounted, keep_order=True)
        idlers = numbers_of_idlers(lathe, train)[:1]
        if not idlers or not lathe.gear_set.anything_goes or some_set_apart((*train.gears, *lathe.gear_set.pieces)):
            return  # what is fixed or in one piece is not looked at in the order given
        likely = {train_of(each.chain): each.rank for each in Growth(Ways(question), idlers[0]).most_promising_first()}
        given = train.drivers, train.driven
        ways = [made for made in arrangements(lathe, train, idlers[0]) if (made.drivers, made.driven) == given]
        if train.idler_count:
            ways = [made for made in ways if made.idlers == train.idlers]
        for made in ways:
            clear = min(beside(lathe, made)).mm >= bracket_of(lathe).running_clearance_mm - 1e-9
            closes = any(stand.axes for stand in stands(lathe, made, beyond=False))
            assert (made in likely) == (clear and closes)
            if made in likely:
                assert likely[made][1:] == at_best(lathe, made, mounted)
        assert {*likely} <= {*ways}

    @in_one("seed", QUESTIONS)
    def test_the_best_of_them(self, seed):
        lathe, train, hand, mounted = a_question(seed)
        found = fit(lathe, train, hand=hand, mounted=mounted)
        for idlers in numbers_of_idlers(lathe, train, hand):
            there = self.ranks(seed, idlers)
            if there:
                assert found.goes_on
                best = min(there.values())
                assert there[found.train][:3] == best[:3]
                assert there[found.train][3] == pytest.approx(best[3], abs=1e-6)
                measured(lathe, found)
                as_good = (made.chain() for made, rank in there.items() if rank <= (*best[:3], best[3] + 1e-9))
                assert found.train.chain() == min(as_good)
                return
        assert not found.goes_on

    def test_the_questions_are_of_every_kind(self):
        """Else the tests above would say little."""
        kinds = Counter[str]()
        for seed in QUESTIONS:
            lathe, train, hand, mounted = a_question(seed)
            found = fit(lathe, train, hand=hand, mounted=mounted)
            on = "goes on" if found.goes_on else "does not"
            kinds[f"{on} {train.meshes}"] += 1
            if found.goes_on:
                kinds["last fixed"] += mounted is not None and lathe.gear_set.fixed.last_driven is not None
                kinds["mounted"] += mounted is not None
                kinds["named"] += bool(train.idler_count)
                kinds["idler"] += bool(found.train.idler_count)
                kinds["three planes"] += max(found.planes) == 2
                kinds["back in the first plane"] += found.planes == (0, 1, 0)
                kinds["cover"] += bracket_of(lathe).cover_mm is not None
                kinds["slots"] += len(bracket_of(lathe).slots) == 2
        assert len(kinds) == 14
        assert min(kinds.values()) >= 2


class TestJustEnoughRoom:
    """As much running clearance as the roomiest arrangement leaves, whatever is tightest there; and a hair more."""

    @in_one("seed", range(400 if THOROUGH else 60))
    def test_it_goes_on_and_with_more_it_does_not(self, seed):
        lathe, train, hand, _ = a_question(seed)
        if train.meshes > 2:
            return
        ways = [made for n in numbers_of_idlers(lathe, train, hand) for made in arrangements(lathe, train, n)]
        room = max((most_room(lathe, made) for made in ways), default=-1.0)
        if 0 <= room <= 19:
            for clearance, goes_on in ((room, True), (room + 1e-6, False)):
                asked = evolve(lathe, bracket=evolve(lathe.bracket, running_clearance_mm=clearance))
                assert fit(asked, train, hand=hand).goes_on is goes_on


class TestWhatIsShown:
    """Row by row, and in a sentence."""

    @staticmethod
    def table(found: Fit) -> list[tuple[str, str]]:
        cells = re.findall(r"<th[^>]*>(.*?)</th><td[^>]*>(.*?)</td>", found._repr_html_())
        return [(unescape(name), unescape(value)) for name, value in cells]

    @in_one("seed", QUESTIONS)
    def test_of_one_that_goes_on_the_places_the_planes_and_the_three_tightest_gaps(self, seed):
        lathe, train, hand, mounted = a_question(seed)
        found = fit(lathe, train, hand=hand, mounted=mounted)
        if not found.goes_on:
            return
        studs, swing = found.axes_mm[1:-1], decimal(found.swing_deg or 0, 1)
        names = ["stud"] if len(studs) == 1 else ["first stud", "second stud", "third stud"][: len(studs)]
        there = zip(names, studs, strict=True)
        gaps = [(f"between {one} and {other}", f"{decimal(mm, 1)} mm") for one, other, mm in found.clearances_mm]
        assert self.table(found) == [
            ("goes on", "yes"),
            ("arranged as", str(found.train)),
            ("bracket swung to", f"{swing}°"),
            *((at, f"{decimal(x, 1)} mm across, {decimal(y, 1)} mm up from the pivot") for at, (x, y) in there),
            ("plane of each mesh", ", ".join(str(plane + 1) for plane in found.planes)),
            *[(f"plane of the {idle_name(gear)}", str(plane + 1)) for gear, _, plane in found.idle_gears],
            *gaps[:3],
        ]
        one, other, mm = found.clearances_mm[0]
        tightest = f"tightest: {decimal(mm, 1)} mm between {one} and {other}"
        assert str(found) == f"goes on as {found.train}, bracket swung to {swing}°; {tightest}"

    @in_one("seed", QUESTIONS)
    def test_of_one_that_does_not_the_reasons_and_the_nearest(self, seed):
        lathe, train, hand, mounted = a_question(seed)
        found = fit(lathe, train, hand=hand, mounted=mounted)
        if not found.goes_on:
            because = [("because", reason) for reason in found.reasons]
            assert self.table(found) == [("goes on", "no"), *because, ("nearest arrangement", str(found.train))]
            assert str(found) == f"does not go on; nearest to it as {found.train}: {' '.join(found.reasons)}"

    @pytest.mark.parametrize("lathe", [bench((24, 30, 36)), bench((24, 30, 36), swing_deg=(0.0, 1.0))])
    def test_what_is_not_owned_in_the_last_row_and_the_last_sentence(self, lathe):
        found = evolve(fit(lathe, Train((30, 24), (50, 36))), not_owned=(50,))
        assert "50" in found.taken_as_had
        assert self.table(found)[-1] == ("not owned", found.taken_as_had)
        assert str(found).endswith(f". {found.taken_as_had.removesuffix('.')}{'' if found.goes_on else '.'}")


class TestSnugness:
    """The teeth fix how far apart neighbours stand: whatever else is on a stud must clear the shaft beside it."""

    @in_one("seed", range(100))
    def test_of_each_axis_beside_the_next(self, seed):
        draw = random.Random(seed)
        lathe = an_odd_lathe(draw)
        layout, gears = layout_of(lathe), list(lathe.gear_set.pieces)
        chain = tuple(self.of_one_kind(draw, gears) for _ in range(draw.choice((1, 2, 3))))
        axes: list[list[int]] = [[chain[0][0]]]  # what is on each of them
        apart = []
        for place, mesh in enumerate(chain):
            if place:
                axes[-1].append(mesh[0])
            for one, other in pairwise(mesh):
                apart.append((layout.apart(one, other), one, other))
                axes.append([other])
            for on, gear in zip(axes[-len(mesh) + 1 : -1], mesh[1:-1], strict=True):
                on += [other_half(gear)] if mate_of(gear) is not None else []
        bars = [layout.bracket.shaft_radius_mm, *[layout.bracket.stud_radius_mm] * (len(axes) - 2)]
        bars.append(layout.bracket.shaft_radius_mm)
        gaps = [math.inf]
        for left, (mm, one, other) in enumerate(apart):
            for mine, its, on in ((one, bars[left + 1], axes[left]), (other, bars[left], axes[left + 1])):
                others = Counter(on) - Counter([mine])
                gaps += [mm - layout.outside_radius(gear) - its for gear in others]
        assert snugness(layout, chain) == pytest.approx(min(gaps))

    def of_one_kind(self, draw: random.Random, gears: list[int]) -> tuple[int, ...]:
        """Of a mesh, which goes on as far as teeth go."""
        first = draw.choice(gears)
        alike = [gear for gear in gears if kind_of(gear) == kind_of(first)]
        return (first, *(draw.choice(alike) for _ in range(draw.choice((1, 1, 2, 3)))))


class TestWorkedByHand:
    """Module 1, no backlash: z₁ + z₂ teeth stand (z₁ + z₂)/2 mm apart. The shafts are 60 mm apart."""

    def lathe(self, clusters: list[tuple[int, int]], **more: object) -> Lathe:
        bracket = {"spindle_side_at_mm": (0.0, 60.0), "swing_deg": (-10.0, 90.0), "studs": 1, "backlash_mm": 0.0}
        bracket |= {"slots": (Slot((5.0, 0.0), (80.0, 0.0)),), "shaft_radius_mm": 4.0, "stud_radius_mm": 4.0, **more}
        return evolve(bench((), **bracket), gear_set=GearSet([30, 40], module_mm=1, clusters=clusters))  # type: ignore[arg-type]

    def test_an_idle_gear_that_would_reach_a_shaft_keeps_the_train_off(self):
        """The 50 as idler stands 45 mm from the 40's shaft, 40 mm from the 30's. An idle 74 reaches 38 mm of these 40:
        2 mm short of its middle, deep in a shaft of radius 4."""
        assert fit(self.lathe([(50, 44)]), "30/40").goes_on
        found = fit(self.lathe([(50, 74)]), Train((30,), (40,), (piece(50, mate=74),)))
        assert not found.goes_on
        assert "The idle 74 of the cluster 50–74 fouls the spindle-side shaft by 2 mm." in found.reasons

    def test_its_gaps_are_named(self):
        """44 teeth reach 23 mm: 17 mm from the middle of the shaft 40 mm away, so 13 mm from the shaft."""
        found = fit(self.lathe([(50, 44)]), "30/40")
        assert found.idle_gears == ((piece(44, mate=50), 1, 1),)
        named = {(one, other): mm for one, other, mm in found.clearances_mm}
        assert named["idle 44 of the cluster 44–50", "spindle-side shaft"] == pytest.approx(13.0)
        table = TestWhatIsShown.table(found)
        planes = table.index(("plane of each mesh", "1"))
        assert table[planes + 1] == ("plane of the idle 44 of the cluster 44–50", "2")

    def test_half_a_cluster_is_an_idler_once_its_loose_like_is_used_or_there_is_none(self):
        gears, half = GearSet([20, 30, 40, 60], module_mm=1, clusters=[(40, 50)]), piece(40, mate=50)
        spare = tuple(gear for gear in gears.pieces if gear not in (20, 30))
        assert idlers_may_stand(gears, ((20, 40, half, 30),), spare)
        assert idlers_may_stand(gears, ((20, half, 40, 30),), spare)
        assert idlers_may_stand(gears, ((20, 40, 30), (20, half, 30)), spare)
        assert idlers_may_stand(gears, ((20, half, 30),), spare) is False
        assert idlers_may_stand(gears, ((20, 60, half, 30),), spare) is False
        assert idlers_may_stand(gears, ((20, half, 40, half, 30),), spare) is False  # there is but one
        assert idlers_may_stand(gears, ((20, half, 30),), (half, 60))

    def test_a_fixed_gear_that_is_not_there_leaves_no_order(self):
        gears = GearSet([20, 30, 40, 50], module_mm=1, fixed=Fixed(first_driver=20))
        found = fit(evolve(self.lathe([]), gear_set=gears), "30/40")
        assert not found.goes_on
        said = (
            "In no order can 30 and 40 stand together on this lathe. As they are given, the first driver is fixed: 20"
        )
        assert found.reasons[0].startswith(said)
