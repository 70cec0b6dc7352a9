"""A train given by counts is read as gears of the lathe, or refused with the reason."""

from __future__ import annotations

import pytest

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError, GearNotOwnedError, NotPossibleError
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.pieces import piece
from gearcalc.lathes.readings import as_if_had, as_pieces, check_ends, refusals, why_not_together
from gearcalc.lathes.sizes import Cluster, Fixed, GearTable
from gearcalc.lathes.trains import Train
from tests.how_much import in_one

TEXT = """name = "Odd lathe"
leadscrew.lead = "3 mm"
spindle_side.takes_bore_mm = 12
[gears]
teeth = [20, 30, 36, 45, 60, 60]
module_mm = 1.25
bore_mm = 12
damaged = [36, 60]
clusters = [[40, 50], [30, 70]]
[[more_gears]]
teeth = [20, 30, 55]
module_mm = 1
bore_mm = 12
[[more_gears]]
teeth = [35]
module_mm = 1.25
bore_mm = 16
"""
ODD = gc.Lathe.from_toml(TEXT)
FIXED = gc.Lathe.from_toml(TEXT.replace("[gears]", "[gears]\nfixed = { first_driver = 45, last_driven = 60 }"))


class TestWhatIsMeant:
    @in_one(
        ("drivers", "driven", "meant"),
        [
            ((20,), (30,), "20/30"),
            ((55,), (30,), "55/30, first mesh of module 1"),
            ((20, 20), (30, 55), "(20 · 20)/(30 · 55), second mesh of module 1"),
            ((20, 50), (40, 60), "(20 · 50)/(40 · 60), first driven and second driver in one piece"),
            ((20, 40), (50, 60), "(20 · 40)/(50 · 60), first driven and second driver in one piece"),
            ((20, 30), (45, 60), "(20 · 30)/(45 · 60)"),
            ((20, 70, 30), (30, 45, 60), "(20 · 70 · 30)/(30 · 45 · 60), first driven and second driver in one piece"),
        ],
    )
    def test_the_loose_gear_of_the_first_size_before_any_other(self, drivers, driven, meant):
        made = gc.setup(ODD, drivers, driven)
        assert str(made.train) == meant
        assert made.train == gc.setup(ODD, made.train.drivers, made.train.driven).train
        assert gc.find_setups(ODD, "1 mm", mounted=str(made.train)) is not None

    def test_of_several_readings_that_with_the_fewest_gears_of_clusters_and_other_sizes(self):
        """55 is of module 1, and so is its mesh; the other can be of either size, or take the cluster."""
        small = GearTable([20, 30, 30, 55], module_mm=1, clusters=[(30, 40)])
        gear_set = GearSet([20, 30], module_mm=1.25, more=[small])
        read = as_pieces(gear_set, Train((55, 20), (30, 30)))
        assert str(read) == "(55 · 20)/(30 · 30), first mesh of module 1"

    def test_an_idler_of_a_cluster(self):
        assert (
            str(gc.setup(ODD, 20, 60, idlers=50).train)
            == "20/60, idler 50, idler in the first mesh in one piece with 40"
        )


class TestRefused:
    @in_one(
        ("lathe", "drivers", "driven", "error", "words"),
        [
            (ODD, (20,), (40,), NotPossibleError, "40 is in one piece with 50, so it can't be the last driven gear"),
            (ODD, (40,), (20,), NotPossibleError, "40 is in one piece with 50, so it can't be the first driver"),
            (
                ODD,
                (20, 45),
                (40, 60),
                NotPossibleError,
                "40 is in one piece with 50, so it can't stand on a stud with 45",
            ),
            (ODD, (20,), (36,), GearNotOwnedError, "the gear of 36 teeth is damaged"),
            (
                ODD,
                (60,),
                (60,),
                GearNotOwnedError,
                "the set has 1 gear of 60 teeth that is not damaged, and this takes 2",
            ),
            (ODD, (55,), (60,), NotPossibleError, "55 and 60 can't mesh: their teeth are of two sizes"),
            (ODD, (35,), (60,), NotPossibleError, "35 can't be the first driver: the shaft takes another bore"),
            (ODD, (20, 35), (45, 60), NotPossibleError, "45 and 35 can't stand on one stud: their bores differ"),
            # 30 is a loose gear of two sizes, and in one piece with 70 as well: the loose one is spoken of
            (ODD, (20, 35), (30, 60), NotPossibleError, "30 and 35 can't stand on one stud: their bores differ"),
            (ODD, (20, 30), (35, 60), NotPossibleError, "35 and 30 can't stand on one stud: their bores differ"),
            (ODD, (40, 20), (30, 60), NotPossibleError, "40 is in one piece with 50, so it can't be the first driver"),
            (ODD, (20, 30), (60, 40), NotPossibleError, "40 is in one piece with 50, so it can't be the last driven"),
            (FIXED, (20, 45), (60, 30), NotPossibleError, "the first driver is fixed: 45 teeth, not 20"),
            (FIXED, (45, 20), (60, 30), NotPossibleError, "the last driven gear is fixed: 60 teeth, not 30"),
            (FIXED, (20,), (60,), NotPossibleError, "the first driver is fixed: 45 teeth, not 20"),
            (FIXED, (45,), (20,), NotPossibleError, "the last driven gear is fixed: 60 teeth, not 20"),
            (ODD, (20,), (25,), GearNotOwnedError, "the set has no gear of 25 teeth"),
        ],
    )
    def test_with_the_reason(self, lathe, drivers, driven, error, words):
        with pytest.raises(error, match=words):
            gc.setup(lathe, drivers, driven)
        if error is NotPossibleError:
            with pytest.raises(GearcalcError, match=words):
                gc.find_setups(lathe, "1 mm", mounted=Train(drivers, driven))

    def test_not_all_at_once_says_which(self):
        """The one loose 40 drives first, so the second is of the cluster, of module 1.25, and 80 is of module 1."""
        lathe = gc.Lathe.from_toml("""name = "Both ends"
leadscrew.lead = "3 mm"
[gears]
teeth = [40, 80, 30, 60]
module_mm = 1
clusters = [{ teeth = [60, 40], module_mm = [1, 1.25] }]
[plate]
"1 mm" = { drivers = [40, 40], driven = [60, 80] }
""")
        words = "40 (first driver), 60 (first driven), 40 (second driver) and 80 (second driven) can't all stand so"
        assert gc.check_plate(lathe)[0].problems[0].startswith(words)

    def test_a_loose_gear_is_refused_for_its_bore_though_another_is_in_one_piece(self):
        gear_set = GearSet([20, 40], 1, bore_mm=12, first_bore_mm=14, last_bore_mm=14, clusters=[(40, 50)])
        for train, words in (
            ("40/50", "40 can't be the first driver: the shaft takes another bore"),
            ("50/40", "50 is in one piece with 40, so it can't be the first driver"),
        ):
            (reason,) = refusals(gear_set, Train.parse(train))
            assert reason.problem == words

    @in_one(
        ("first", "last", "words"),
        [
            (30, None, "the first driver is fixed: 20 teeth, not 30. Give 20 in that place."),
            (20, 30, "the last driven gear is fixed: 60 teeth, not 30. Give 60 in that place."),
        ],
    )
    def test_ends_that_are_fixed(self, first, last, words):
        check_ends(GearSet([20, 30, 60]), first, last)
        with pytest.raises(NotPossibleError) as refused:
            check_ends(GearSet([20, 30, 60], fixed=Fixed(20, 60)), first, last)
        assert str(refused.value) == words

    @in_one(("first", "last"), [(20, 60), (None, None), (None, 60)])
    def test_ends_that_are_as_they_are_fixed(self, first, last):
        for fixed in (Fixed(), Fixed(20, 60)):
            check_ends(GearSet([20, 30, 60], fixed=fixed), first, last)


class TestPlateRows:
    def test_a_row_means_what_it_can_mean(self):
        plate = (
            '[plate]\n"1 mm" = { drivers = [20, 50], driven = [40, 60] }\n"2 mm" = { drivers = [20], driven = [40] }\n'
        )
        lathe = gc.Lathe.from_toml(TEXT + plate)
        first, second = gc.check_plate(lathe)
        assert first.setup.train.drivers[1] == piece(50, mate=40)
        assert "40 is in one piece with 50" in second.problems[0]
        found = next(
            each
            for each in gc.find_setups(lathe, "1.25 mm", meshes=2)
            if each.train.drivers[1:] == (piece(50, mate=40),) and each.train.driven == (piece(40, mate=50), 60)
        )
        assert found.on_plate


class TestGearsTakenAsHad:
    """The cluster 40-50 wants the 40 before the 50, which a plain count does not say: other orders are tried too."""

    GEARS = GearSet([20, 25, 30, 35, 60], clusters=[(40, 50)])

    @in_one(
        ("meshes", "lacking", "turned"),
        [(2, (65,), True), (3, (65, 70), True), (4, (65, 70, 75), True), (5, (65, 70, 75, 80), False)],
    )
    def test_trains_of_up_to_four_meshes_are_turned_round(self, meshes, lacking, turned):
        train = Train((*(20, 25, 30, 35)[: meshes - 1], 50), (*lacking, 40))
        found, had = as_if_had(self.GEARS, train)
        assert had == (lacking if turned else (40, 50, *lacking))
        assert (found == train) != turned
        assert as_if_had(self.GEARS, train, keep_order=True) == (train, (40, 50, *lacking))

    def test_on_a_set_in_which_anything_goes_a_damaged_gear_is_taken_for_a_sound_one(self):
        plain, train = GearSet([20, 30, 40], damaged=[30]), Train((20, 30), (40, 60))
        assert as_if_had(plain, train) == (train, (30,))
        assert as_if_had(plain, Train((20,), (40,))) == (Train((20,), (40,)), ())

    def test_what_can_not_stand_whatever_is_had_is_left_as_it_is(self):
        train = Train((30,), (70,))
        assert as_if_had(GearSet([20, 30], fixed=Fixed(first_driver=20)), train) == (train, (70,))

    def test_a_train_that_tells_its_gears_apart_is_left_as_it_is(self):
        train = Train((piece(20, "module 1"), 50), (65, 40))
        assert as_if_had(self.GEARS, train) == (train, ())


class TestAsFarAsTheyCan:
    """Each two may stand beside one another: the gears are named up to the first that can't, and none behind it."""

    @in_one(
        ("gear_set", "train", "named"),
        [
            (GearSet([40, 30], clusters=[(40, 50)]), "40/40, idler 30", "40 (first driver) and 40 (first driven)"),
            (
                GearSet([40, 80, 30, 60, 20, 25], 1, clusters=[Cluster([60, 40], module_mm=[1, 1.25])]),
                "(40 · 40 · 20)/(60 · 80 · 25)",
                "40 (first driver), 60 (first driven), 40 (second driver) and 80 (second driven)",
            ),
        ],
    )
    def test_are_named(self, gear_set, train, named):
        (refused,) = refusals(gear_set, Train.parse(train))
        assert refused.problem == f"{named} can't all stand so at once"
        assert "a cluster takes one stud and no end shaft" in refused.remedy
        assert why_not_together(gear_set, Train.parse(train)) == refused.problem

    def test_what_is_not_there_so_often_is_said_first(self):
        gear_set, train = GearSet([40, 30], clusters=[(40, 50)]), Train.parse("30/40, idlers 40 and 40")
        assert next(refusals(gear_set, train)).problem.startswith("the set has 2 gears of 40 teeth")


class TestMoved:
    def test_a_fixed_gear_is_never_moved(self):
        two, one = gc.setup(FIXED, (45, 30), (20, 60)), gc.setup(FIXED, 45, 60)
        assert one.cost(two) == two.cost(one) == 2
        assert {each.train.drivers[0] for each in gc.find_setups(FIXED, "1 mm")} == {45}
        assert {each.train.driven[-1] for each in gc.find_setups(FIXED, "1 mm")} == {60}


def test_a_set_made_in_python_is_the_lathes_own():
    lathe = gc.Lathe("Odd", ODD.leadscrew, evolve_set())
    assert lathe.more_gears == evolve_set().more
    assert lathe.with_gears(add=80).gears[-1] == 80


def evolve_set():
    from gearcalc.lathes import GearSet

    return GearSet([20, 30], 1.25, fixed=Fixed(20), more=[GearTable([40, 50], module_mm=1)])
