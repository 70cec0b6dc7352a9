"""What is said to stand on a lathe: which setups are its own, which train is meant, and how that goes on."""

from __future__ import annotations

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.finding.mounted import (
    as_taken,
    idlers_assumed,
    mounted_fit,
    own_setup,
    train_mounted,
    train_said,
    with_the_damaged,
)
from gearcalc.finding.setups import setup
from gearcalc.lathes import GearSet
from gearcalc.lathes.sizes import GearTable
from gearcalc.lathes.trains import Train
from tests.benches import a_lathe, bench
from tests.how_much import in_one

INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
PLAIN = a_lathe(20, 30, 40, 60, 80)
SAYING = [train_said, mounted_fit, train_mounted]


class TestASetupOfThisLathe:
    def test_it_is_itself_where_the_lathe_is_the_same_in_all_that_matters(self):
        made = setup(INCH, 40, 80, "low")
        for lathe in (INCH, INCH.with_gears(add=127), evolve(INCH, name="Another name", plate=())):
            assert own_setup(lathe, made) is made
            assert train_said(lathe, made) == made.train

    def test_it_is_shown_as_the_lathe_is(self):
        made, shown = setup(INCH, 40, 80, "low"), INCH.with_show("mm", "Letter")
        found = own_setup(shown, made)
        assert found == made
        assert (found.lathe.units, found.lathe.paper) == ("mm", "Letter")
        assert (made.lathe.units, made.lathe.paper) == (INCH.units, INCH.paper)

    @in_one("ask", [own_setup, *SAYING])
    def test_that_of_another_is_refused(self, ask):
        with pytest.raises(NotPossibleError) as caught:
            ask(METRIC, setup(INCH, 40, 80, "low"))
        assert str(caught.value) == (
            "this setup was made for another lathe than Bench lathe with a metric leadscrew, unlike it in leadscrew, "
            "gearbox, feed drive, bracket and size of tooth. Ask with its own, setup.lathe, or make it again for this "
            "one."
        )

    @in_one("given", ["40/80", Train(40, 80), None, 40])
    def test_what_is_no_setup_is_refused(self, given):
        with pytest.raises(ValueOutOfRangeError, match="a setup is wanted here"):
            own_setup(INCH, given)


class TestWhatIsSaid:
    @in_one("ask", SAYING)
    def test_nothing_is_nothing(self, ask):
        assert ask(INCH, None) is None

    @in_one("given", ["40/80", "(40)/(80)", Train(40, 80), setup(PLAIN, 40, 80)])
    def test_a_train_its_text_or_a_setup(self, given):
        assert train_said(PLAIN, given) == Train(40, 80)
        assert train_mounted(PLAIN, given) == Train(40, 80)
        assert mounted_fit(PLAIN, given) is None  # the file says nothing of a bracket

    def test_gears_that_are_not_there_may_be_on_all_the_same(self):
        assert train_said(PLAIN, "41/83") == Train(41, 83)

    @in_one("ask", SAYING)
    @in_one("given", [40, (40, 80), ["40/80"], 0.5, True, b"40/80"])
    def test_anything_else_is_refused(self, ask, given):
        with pytest.raises(ValueOutOfRangeError) as caught:
            ask(INCH, given)
        assert str(caught.value).startswith("mounted must be a Setup, a Train or the text of one, not ")
        assert str(caught.value).endswith(". Write it like '40/80, idler 25'.")


class TestHowItGoesOn:
    """40/80 on the inch lathe reaches only with an idler; what is on the lathe nobody rearranges."""

    def test_with_the_idlers_without_which_it_cannot_stand_there(self):
        assert train_mounted(INCH, "40/80") == Train(40, 80, (25,))
        assert mounted_fit(INCH, "40/80").train == Train(40, 80, (25,))
        assert train_said(INCH, "40/80") == Train(40, 80)

    def test_the_order_stays_as_it_was_said(self):
        asked = mounted_fit(INCH, "(45 · 63)/(60 · 50)").question
        assert (asked.train.drivers, asked.train.driven) == ((45, 63), (60, 50))
        assert gc.fit(INCH, "(45 · 63)/(60 · 50)").train.drivers == (63, 45)  # which is how it would be put on
        found = train_mounted(INCH, "(45 · 63)/(60 · 50)")
        assert (found.drivers, found.driven) == ((45, 63), (60, 50))

    def test_of_a_setup_as_it_was_built_the_fit_is_its_own(self):
        made = gc.find_setups(INCH, "16 tpi", count=1)[0]
        assert mounted_fit(INCH, made) is made.fit
        assert train_mounted(INCH, made) == made.train

    def test_of_a_setup_that_names_no_idlers_it_is_asked_again(self):
        made = setup(INCH, 40, 80, "middle", wanted="16 tpi")
        assert made.as_built.train != made.train
        assert mounted_fit(INCH, made) is not made.fit
        assert train_mounted(INCH, made) == Train(40, 80, (25,))

    def test_of_one_without_a_fit_too(self):
        made = evolve(setup(INCH, 40, 80, "middle", (25,), wanted="16 tpi"), fit=None)
        assert mounted_fit(INCH, made).goes_on
        assert mounted_fit(PLAIN, setup(PLAIN, 40, 80)) is None

    @in_one("wanted", ["16 tpi", "16 tpi LH", None])
    def test_the_hand_that_is_wanted_decides_on_idlers(self, wanted):
        """Without a reverse; where nothing is wanted either hand will do."""
        lathe = bench((20, 25, 30, 40, 60, 65, 80), reverse=False, studs=2)
        made = evolve(setup(lathe, 60, 80, wanted=wanted), fit=None)
        found = mounted_fit(lathe, made)
        fitted = gc.fit(lathe, "60/80", hand=None if wanted is None else made.wanted.hand, keep_order=True)
        assert found.goes_on is fitted.goes_on
        assert found.question.same_way == fitted.question.same_way

    def test_where_it_goes_on_in_no_way_it_stands_there_as_it_is_said(self):
        lathe = bench((20, 40), spindle_side_at_mm=(500.0, 500.0))
        assert not mounted_fit(lathe, "20/40").goes_on
        assert train_mounted(lathe, "20/40") == Train(20, 40)


class TestDamagedGears:
    """One that is damaged may be on the lathe all the same."""

    MORE = GearSet([20, 30, 40], module_mm=2, damaged=[40], more=[GearTable([50, 60], module_mm=1, damaged=[60])])

    def test_they_are_among_the_others(self):
        lathe = evolve(bench(), gear_set=self.MORE)
        whole = with_the_damaged(lathe).gear_set
        assert (lathe.gear_set.damaged, [table.damaged for table in lathe.gear_set.more]) == ((40,), [(60,)])
        assert (whole.damaged, [table.damaged for table in whole.more]) == ((), [()])
        assert whole.teeth == self.MORE.teeth
        assert [table.teeth for table in whole.more] == [(50, 60)]
        assert with_the_damaged(lathe).name == lathe.name

    def test_the_fit_of_one_that_is_on(self):
        lathe = evolve(INCH, gear_set=evolve(INCH.gear_set, damaged=[80]))
        assert mounted_fit(lathe, "40/80").train == mounted_fit(INCH, "40/80").train

    @in_one("given", ["40/80", "20/30", "(40 60)/(80 63)"])
    def test_an_idler_that_nobody_named_is_the_one_that_it_would_go_on_with(self, given):
        """Never a damaged one, where another does: whichever it takes, with that one damaged it takes another."""
        lathe = INCH
        for _ in range(3):
            fitted = gc.fit(lathe, given, keep_order=True)
            assert fitted.goes_on
            found = mounted_fit(lathe, given)
            assert found.train == fitted.train
            idlers = [teeth for mesh in found.train.idlers for teeth in mesh]
            if not idlers:
                break
            lathe = evolve(lathe, gear_set=evolve(lathe.gear_set, damaged=[*lathe.gear_set.damaged, *idlers]))

    def test_of_two_alike_the_damaged_one_is_no_idler(self):
        lathe = evolve(INCH, gear_set=GearSet([40, 40, 50, 80], module_mm=INCH.module_mm, damaged=[40]))
        assert train_mounted(lathe, "40/80") == Train(40, 80, (50,))

    def test_it_is_one_where_no_other_would_do(self):
        lathe = evolve(INCH, gear_set=GearSet([25, 40, 80], module_mm=INCH.module_mm, damaged=[25]))
        assert not gc.fit(lathe, "40/80").goes_on
        assert train_mounted(lathe, "40/80") == Train(40, 80, (25,))


class TestWhatIsAssumed:
    def test_it_is_said_which_idlers_nobody_named(self):
        said = "Of what is mounted idler 25 is assumed: say what is on."
        for given in ("40/80", Train(40, 80), setup(INCH, 40, 80, "low")):
            assert idlers_assumed(INCH, given) == said

    @in_one("given", [None, "40/80, idler 25", "(45 · 63)/(60 · 50)", setup(INCH, 40, 80, "low", 25)])
    def test_nothing_is_said_where_none_is(self, given):
        assert idlers_assumed(INCH, given) == ""

    def test_what_is_mounted_is_taken_with_them_and_keeps_its_lever(self):
        assert as_taken(INCH, None) is None
        assert as_taken(INCH, "40/80") == Train(40, 80, (25,))
        taken = as_taken(INCH, setup(INCH, 40, 80, "low"))
        assert (taken.train, taken.lever, idlers_assumed(INCH, taken)) == (Train(40, 80, (25,)), "low", "")
