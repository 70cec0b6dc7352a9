"""Why a search found nothing: each sentence with its numbers, and the one gear more, counted out the slow way."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import combinations
from math import prod

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError
from gearcalc.finding import none_found
from gearcalc.finding.none_found import gear_that_would_do, why_nothing
from gearcalc.finding.rankings import Query
from gearcalc.finding.search import find_setups
from gearcalc.lathes import Lathe, Leadscrew, Lever
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.threads import Feed
from gearcalc.threads.wanted import as_wanted
from tests.benches import a_lathe, bench
from tests.how_much import in_one

NO_REVERSE = "spindle_side.reverse = false"


def ratio_query(ratio: Fraction, *teeth: int, meshes: tuple[int, ...] = (1,), avoid: frozenset[int] = frozenset()):
    """What a leadscrew of 1 mm must be asked for, so that drivers over driven is the ratio."""
    return Query(a_lathe(*teeth, leadscrew="1 mm"), Feed(ratio), meshes, avoid=avoid)


class TestTheWholeAnswer:
    """Word for word; the leads by hand: a leadscrew of 8 tpi and 40/63 cut 12.6 tpi, 60 · 40 over 63 · 80 16.8."""

    CLOSEST = "The closest is (40 · 60)/(63 · 80): lead 16.8 tpi (≈ 1.5119 mm), +7937 ppm, not good enough."
    MORE = "One gear more would make it exact, 127 teeth: 60/127, reverse over: lead ≈ 16.933 tpi (1.5 mm), exact."

    @in_one(
        ("teeth", "more", "wanted", "how", "said"),
        [
            ((), "", "16 tpi", {}, "The set has no gears."),
            ((40, 80), "", "16 tpi", {"avoid": (40, 80)}, "There are no gears to choose from."),
            (
                (40,),
                "",
                "16 tpi",
                {"meshes": 2},
                (
                    "There is 1 gear to choose from, and a train takes at least 4 here. One gear more would make it "
                    "exact, 20 teeth: 20/40, reverse over: lead 16 tpi (1.5875 mm), exact."
                ),
            ),
            (
                (40, 60, 63),
                "",
                "16 tpi",
                {"meshes": (2, 3)},
                (
                    "There are 3 gears to choose from, and a train takes at least 4 here. With 1 mesh it would be "
                    "40/63, reverse over: lead 12.6 tpi (≈ 2.0159 mm), +269\u202f841 ppm, not good enough. One gear "
                    "more would make it exact, 84 teeth: (40 · 63)/(60 · 84): lead 16 tpi (1.5875 mm), exact."
                ),
            ),
            (
                (40, 60, 63, 80),
                "",
                "1.5 mm",
                {"within_ppm": 0},
                f"No train of 1, 2 or 3 meshes of these gears cuts 1.5 mm exactly. {CLOSEST} {MORE}",
            ),
            (
                (40, 60, 63, 80),
                "",
                "1.5 mm",
                {"within_ppm": "5.25"},
                f"No train of 1, 2 or 3 meshes of these gears cuts 1.5 mm within 5.25 ppm. {CLOSEST} {MORE}",
            ),
            (
                (40, 60, 63, 80),
                "",
                "1.5 mm",
                {"within_ppm": "5.12345678"},
                f"No train of 1, 2 or 3 meshes of these gears cuts 1.5 mm within 5.123457 ppm. {CLOSEST} {MORE}",
            ),
            (
                (40, 60, 63, 80),
                "",
                "1.5 mm",
                {"within_ppm": 0, "meshes": (1, 3)},
                (
                    "No train of 1 or 3 meshes of these gears cuts 1.5 mm exactly. The closest is 40/80, reverse over: "
                    "lead 16 tpi (1.5875 mm), +58\u202f333 ppm, not good enough. With 2 meshes it would be "
                    f"{CLOSEST.removeprefix('The closest is ')} {MORE}"
                ),
            ),
            (  # three meshes take six gears, and there are four: nothing that more meshes would do is said
                (40, 60, 63, 80),
                "",
                "1.5 mm",
                {"within_ppm": 0, "meshes": (1, 2)},
                f"No train of 1 or 2 meshes of these gears cuts 1.5 mm exactly. {CLOSEST} {MORE}",
            ),
            (
                (20, 40, 55),
                "",
                "module 1",
                {"within_ppm": 0},
                (
                    "No train of 1, 2 or 3 meshes of these gears cuts module 1 exactly. The closest is 40/55, reverse "
                    "over: lead 11 tpi (≈ 2.3091 mm), −264\u202f994 ppm, not good enough. π is in what is wanted, so "
                    "no gears ever cut it exactly."
                ),
            ),
            (
                (20, 40, 50),
                "",
                "lead 1.39 mm",
                {"within_ppm": 0, "meshes": 1},
                (
                    "No train of 1 mesh of these gears cuts lead 1.39 mm exactly. The closest is 20/50, reverse over: "
                    "lead 20 tpi (1.27 mm), −86\u202f331 ppm, not good enough. No one gear more, of 16 to 140 teeth, "
                    "would make it exact in a train of 1, 2 or 3 meshes."
                ),
            ),
            (
                (40, 80),
                NO_REVERSE,
                "16 tpi",
                {"meshes": 1},
                (
                    "The lathe has no reverse, and no train of 1 mesh of the 2 gears to choose from turns the "
                    "leadscrew the way that 16 tpi needs, not even with an idler. One gear more would make it exact, "
                    "16 teeth: 40/80, idler 16: lead 16 tpi (1.5875 mm), exact."
                ),
            ),
            (
                (30, 45, 60, 80),
                NO_REVERSE,
                "16 tpi LH",
                {"meshes": 2},
                (
                    "The lathe has no reverse, and no train of 2 meshes of the 4 gears to choose from turns the "
                    "leadscrew the way that 16 tpi LH needs, not even with an idler. With 1 mesh it would be 30/60: "
                    "lead 16 tpi (1.5875 mm), exact. One gear more would make it exact, 16 teeth: (30 · 60)/(45 · 80), "
                    "idler 16 in the first mesh: lead 16 tpi (1.5875 mm), exact."
                ),
            ),
        ],
    )
    def test_without_a_bracket(self, teeth, more, wanted, how, said):
        found = find_setups(a_lathe(*teeth, more=more), wanted, **how)
        assert found == []
        assert found.why == said

    @in_one(
        ("meshes", "within", "said"),
        [
            (
                4,
                None,
                (
                    "A train of 4 meshes takes 3 studs, and the bracket has 2 studs. With 3 meshes it would be "
                    "(55 · 60 · 38)/(65 · 50 · 35), lever low, reverse over: lead ≈ 14.514 tpi (≈ 1.7501 mm), +50.2 "
                    "ppm. One gear more would give an exact setup that goes on, 127 teeth: 35/127, idler 20, lever "
                    "high: lead ≈ 14.514 tpi (1.75 mm), exact."
                ),
            ),
            (
                1,
                1,
                (
                    "No train of 1 mesh of these gears cuts 1.75 mm within 1 ppm. The closest is 55/50, idler 35, "
                    "lever low: lead ≈ 14.545 tpi (1.74625 mm), −2143 ppm, not good enough. With 3 meshes it would be "
                    "(55 · 60 · 38)/(65 · 50 · 35), lever low, reverse over: lead ≈ 14.514 tpi (≈ 1.7501 mm), +50.2 "
                    "ppm. One gear more would make it exact, 127 teeth: 35/127, idler 20, lever high: lead ≈ 14.514 "
                    "tpi (1.75 mm), exact."
                ),
            ),
        ],
    )
    def test_on_the_bracket_of_the_inch_lathe(self, meshes, within, said):
        assert find_setups(gc.demo_lathe("inch"), "1.75 mm", meshes=meshes, within_ppm=within).why == said


class TestOnABracket:
    """Shafts 100 mm apart, module 2: what makes the ratio and does not reach is said not to go on, and why."""

    def why(self, lathe: Lathe, wanted: str, **how: object) -> str:
        found = find_setups(lathe, wanted, **how)  # type: ignore[arg-type]
        assert found == []
        return found.why

    def test_what_would_do_but_does_not_reach(self):
        lathe = bench((20, 40), slots=(gc.demo_lathe("inch").bracket.slots[0],), spindle_side_at_mm=(500.0, 500.0))
        said = self.why(lathe, "16 tpi", meshes=1, within_ppm=0)
        misfit = find_setups(lathe, "16 tpi", 1, within_ppm=0, must_fit=False)[0]
        assert said.startswith(f"{misfit}, would do, but does not go on the bracket. {' '.join(misfit.fit.reasons)}")
        assert "The closest" not in said
        assert "No one gear more, of 16 to 140 teeth, would give an exact setup that goes on in a train of" in said

    def test_what_is_closest_and_not_good_enough_either(self):
        lathe = bench((20, 40), spindle_side_at_mm=(500.0, 500.0))
        said = self.why(lathe, "15 tpi", meshes=1)
        misfit = find_setups(lathe, "15 tpi", 1, must_fit=False)[0]
        assert said.startswith(f"The closest is {misfit}, and it does not go on the bracket. ")
        assert "would make it exact" in said

    def test_the_closest_that_goes_on_is_told_from_the_one_that_does_not(self):
        """40 + 80 > 100: the 40 on the spindle side would run into the 80; 16 and 30 leave room for an idler."""
        assert self.why(bench((16, 30, 40, 80)), "16 tpi", meshes=1, within_ppm=0) == (
            "40/80, reverse over: lead 16 tpi (1.5875 mm), exact, would do, but does not go on the bracket. The 40 on "
            "the spindle side fouls the 80 on the leadscrew by 24 mm. The closest that goes on is 16/30, idler 40: "
            "lead 15 tpi (≈ 1.6933 mm), +66\u202f667 ppm, not good enough. One gear more would give an exact setup "
            "that goes on, 20 teeth: 20/40, idler 30: lead 16 tpi (1.5875 mm), exact."
        )

    def test_no_gear_is_asked_for_where_other_meshes_need_none(self):
        assert self.why(bench((20, 30, 40, 60), studs=1), "16 tpi", meshes=3) == (
            "A train of 3 meshes takes 2 studs, and the bracket has 1 stud. With 1 mesh it would be 20/40, idler 30: "
            "lead 16 tpi (1.5875 mm), exact."
        )

    def test_of_nothing_near_enough_all_that_goes_on_is_looked_at(self):
        assert self.why(bench((20, 40), spindle_side_at_mm=(500.0, 500.0)), "15 tpi", meshes=1, within_ppm=0) == (
            "No train of 1 mesh of these gears cuts 15 tpi exactly. No one gear more, of 16 to 140 teeth, would make "
            "it exact in a train of 1, 2 or 3 meshes."
        )
        assert self.why(bench((20, 30, 40, 50, 60, 65, 80, 45), studs=1), "15 tpi", meshes=1, within_ppm=0) == (
            "No train of 1 mesh of these gears cuts 15 tpi exactly. The closest is 20/40, idler 30: lead 16 tpi "
            "(1.5875 mm), −62\u202f500 ppm, not good enough. With 2 meshes it would be (30 · 40)/(45 · 50): lead "
            "15 tpi (≈ 1.6933 mm), exact. One gear more would make it exact, 16 teeth: 16/30, idler 40: lead 15 tpi "
            "(≈ 1.6933 mm), exact."
        )

    def test_the_search_that_gave_up_says_nothing_of_a_gear(self, monkeypatch):
        lathe = bench((20, 30, 40), spindle_side_at_mm=(500.0, 500.0))
        monkeypatch.setattr(none_found, "_STEPS_FOR_WHY", 1)
        with pytest.raises(NotPossibleError, match="go on the bracket"):
            gear_that_would_do(Query(lathe, as_wanted("16 tpi"), (1,)))
        assert "One gear more" not in why_nothing(Query(lathe, as_wanted("16 tpi"), (1,)))
        assert "No one gear" not in why_nothing(Query(lathe, as_wanted("16 tpi"), (1,)))


class TestTheOneGearMore:
    """Counted out: each gear of 16 to 140 teeth put to the set, and every train of it written out."""

    FASTEST, STEEPEST = 3, 4

    def by_hand(self, ratio: Fraction, owned: tuple[int, ...], meshes: tuple[int, ...], avoid: frozenset[int]):
        for m in meshes:
            found = []
            for teeth in (each for each in range(16, 141) if each not in avoid):
                gears = sorted([*(each for each in owned if each not in avoid), teeth])
                for drivers in set(combinations(gears, m)):
                    left = sorted((Counter(gears) - Counter(drivers)).elements())
                    for driven in set(combinations(left, m)):
                        if Fraction(prod(drivers), prod(driven)) == ratio:
                            pairs = zip(drivers, driven, strict=True)
                            steepest = max(Fraction(max(pair), min(pair)) for pair in pairs)
                            strained = steepest > self.STEEPEST or ratio > self.FASTEST
                            found.append((strained, steepest, teeth, drivers, driven))
            if found:
                return min(found)
        return None

    @in_one("owned", [(20,), (20, 30), (30, 40, 60), (24, 36, 36, 55)])
    @in_one(
        "ratio",
        [Fraction(*each) for each in [(7, 1), (1, 7), (3, 2), (1, 1), (13, 3), (9, 20), (127, 40), (1, 50), (28, 3)]],
    )
    @in_one("meshes", [(1,), (1, 2)])
    def test_which_it_is_and_in_which_train(self, owned, ratio, meshes):
        for avoid in (frozenset[int](), frozenset({owned[-1], 60, 127})):
            expected = self.by_hand(ratio, owned, meshes, avoid)
            found = gear_that_would_do(ratio_query(ratio, *owned, meshes=meshes, avoid=avoid))
            assert (found is None) is (expected is None)
            if found is not None and expected is not None:
                strained, steepest, teeth, drivers, driven = expected
                train = found[1].train
                assert (found[1].strained, train.steepest, found[0]) == (strained, steepest, teeth)
                assert (sorted(train.drivers), sorted(train.driven)) == ([*drivers], [*driven])

    def test_a_two_that_a_gear_has_is_not_asked_of_the_new_one(self):
        found = gear_that_would_do(ratio_query(Fraction(5, 2), 42))  # 105/42
        assert found is not None
        assert found[0] == 105

    @in_one("teeth", [14, 15, 16, 17, 139, 140, 141, 142])
    def test_of_16_to_140_teeth(self, teeth):
        found = gear_that_would_do(ratio_query(Fraction(teeth, 97), 97))
        assert (found is not None) is (16 <= teeth <= 140)
        assert found is None or found[0] == teeth
        upside_down = gear_that_would_do(ratio_query(Fraction(97, teeth), 97))
        assert (upside_down is not None) is (16 <= teeth <= 140)

    def test_each_lever_may_be_the_one_that_takes_it(self):
        lathe = evolve(
            ratio_query(Fraction(1), 40).lathe,
            gearbox=(Lever("one", Fraction(1)), Lever("seven", Fraction(7, 139))),
            leadscrew=Leadscrew(Fraction(1)),
        )
        found = gear_that_would_do(Query(lathe, Feed(Fraction(7, 40)), (1,)))
        assert found is not None
        assert (found[0], found[1].lever, found[1].is_exact) == (139, "seven", True)

    def test_more_sides_than_are_looked_through_beforehand_change_nothing(self, monkeypatch):
        asked = [ratio_query(Fraction(*each), 30, 40, 60, meshes=(2,)) for each in [(9, 20), (7, 3), (1, 1), (139, 60)]]
        plainly = [gear_that_would_do(query) for query in asked]
        monkeypatch.setattr(none_found, "_MOST_SIDES", 0)
        assert [gear_that_would_do(query) for query in asked] == plainly

    def test_too_many_gears_to_look_at_are_no_answer(self):
        lathe = evolve(a_lathe(leadscrew="1 mm"), gear_set=GearSet(range(20, 220)))
        with pytest.raises(NotPossibleError, match="too many ways"):
            gear_that_would_do(Query(lathe, Feed(Fraction(3, 2)), (3,)))
