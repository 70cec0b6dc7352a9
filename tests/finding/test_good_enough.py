"""What is not good enough says so on its first line, whoever is asked."""

from __future__ import annotations

import json
from fractions import Fraction
from random import Random

import pytest

import gearcalc as gc
from gearcalc.basics.exact import RelativeError
from gearcalc.commands import main
from gearcalc.threads.deviations import shortfall
from tests.how_much import in_one

NO_FEEDS = 'name = "Feeds by the half-nuts"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 30, 40, 60, 80, 100]\n'

# Pitch-diameter tolerances of class 6g, µm, of ISO 965-1 as reprints have it (tests/validation/data): with cot 30° and
# an engagement of one diameter they say how many ppm use up the half that we allow.
TOLERANCE_UM = {"M6": (6, 112), "M8": (8, 118), "M10": (10, 132), "M12": (12, 150)}


def half_of_the_tolerance_ppm(thread):
    diameter, um = TOLERANCE_UM[thread]
    return um / (diameter / 1000) / 2 / 3**0.5


def first_line(text):
    return str(text).splitlines()[0].lower()


class TestTheLimit:
    """Half of the tolerance where one is known, 1000 ppm where none is, a tenth for a feed: worked out by hand."""

    @in_one("thread", TOLERANCE_UM)
    @in_one("share", [0.99, 1.01, -0.99, -1.01])
    def test_a_thread_whose_tolerance_is_known(self, thread, share):
        wanted = gc.Thread.parse(thread)
        off = Fraction(share * half_of_the_tolerance_ppm(thread) / 1e6)
        error = RelativeError(wanted.lead_mm * (1 + off), wanted.lead_mm)
        assert bool(shortfall(wanted, error)) is (abs(share) > 1)

    @in_one(("ppm", "fails"), [(999, False), (1000, False), (1001, True), (-1000, False), (-1001, True)])
    def test_a_pitch_alone(self, ppm, fails):
        wanted = gc.Thread.parse("1.25 mm")
        error = RelativeError(wanted.lead_mm * (1 + Fraction(ppm, 10**6)), wanted.lead_mm)
        assert bool(shortfall(wanted, error)) is fails
        assert gc.judge("1.25 mm", ppm).fails is fails
        assert ("not good enough" in str(gc.judge("1.25 mm", ppm))) is fails

    @pytest.mark.parametrize(("percent", "fails"), [(10, False), (-10, False), (11, True), (-11, True)])
    def test_a_feed(self, percent, fails):
        wanted = gc.Feed.parse("0.1 mm/rev")
        error = RelativeError(wanted.travel_mm * (1 + Fraction(percent, 100)), wanted.travel_mm)
        assert bool(shortfall(wanted, error)) is fails


class TestTheFirstLine:
    def random_setups(self, count):
        choose = Random(965)
        for _ in range(count):
            lathe = gc.demo_lathe(choose.choice(["inch", "metric"]))
            meshes = choose.choice([1, 1, 2])
            gears = choose.sample(sorted(set(lathe.gears)), 2 * meshes)
            thread = choose.choice(list(TOLERANCE_UM))
            lead = lathe.leadscrew_lead_mm * Fraction(gears[0], gears[meshes])
            lead *= Fraction(gears[1], gears[3]) if meshes == 2 else 1
            near = [lever for lever, ratio in lathe.levers.items() if abs(float(lead * ratio) - 1.25) < 0.6]
            lever = choose.choice(near or list(lathe.levers))
            off = lead * lathe.levers[lever] / gc.Thread.parse(thread).lead_mm - 1
            yield lathe, gc.setup(lathe, gears[:meshes], gears[meshes:], lever, wanted=thread), thread, float(off) * 1e6

    def test_a_setup_on_its_line_its_table_and_its_card(self):
        seen = set()
        for number, (lathe, setup, thread, ppm) in enumerate(self.random_setups(400)):
            fails = abs(ppm) > half_of_the_tolerance_ppm(thread)
            seen.add(fails)
            assert ("not good enough" in first_line(setup)) is fails
            rows = setup._repr_html_()
            assert ("good enough" in rows) is fails
            assert not fails or rows.index("good enough") < rows.index("driver")
            if number % 10 == 0:
                assert ("not good enough" in first_line(gc.change_card(lathe, to=setup))) is fails
        assert seen == {True, False}

    @pytest.mark.parametrize(("wanted", "fails"), [("0.8 mm", True), ("10 tpi", False), ("M6", True)])
    def test_found_with_one_pair_alone(self, wanted, fails):
        found = gc.find_setups(gc.demo_lathe("inch").with_gears(remove=(63,)), wanted, meshes=1, count=3)
        # M6 by one pair of these: 25.4/8 · a/b · lever is never within half of 112 µm over 6 mm.
        assert ("not good enough" in first_line(found)) is fails
        assert found._repr_html_().startswith("<p><strong>Not good enough") is fails

    def test_a_plan(self):
        lathe = gc.Lathe.from_toml(NO_FEEDS)
        fine = gc.plan_changeover(lathe, ["1.5 mm", "2 mm"])
        far = gc.plan_changeover(lathe, ["1.5 mm", "1.27 mm"], within_ppm=60_000)
        assert [any(abs(setup.error_ppm) > 1000 for setup in plan.setups) for plan in (fine, far)] == [False, True]
        assert ["not good enough" in first_line(plan) for plan in (fine, far)] == [False, True]
        assert [plan._repr_html_().startswith("<p><strong>Not good enough") for plan in (fine, far)] == [False, True]

    def test_a_chart(self):
        lathe = gc.Lathe.from_toml(NO_FEEDS)
        row = gc.chart(lathe, ["1.27 mm"]).iloc[0]
        assert abs(row["error_ppm"]) > 1000
        assert not row["ok"]


class TestCommands:
    @in_one(
        ("command", "code"),
        [
            (["find", "inch", "0.9 mm", "--meshes", "1"], 1),
            (["card", "inch", "0.9 mm", "--meshes", "1"], 1),
            (["card", "inch", "0.9 mm", "--train", "40/80", "--lever", "low"], 1),
            (["cuts", "inch", "40/80", "--lever", "low", "--wanted", "31 tpi"], 1),
            (["plan", "inch", "29 tpi", "--within-ppm", "40000", "--mounted", "40/80"], 1),
        ],
    )
    def test_the_first_line_the_json_and_the_code(self, capsys, command, code):
        assert main(command) == code
        assert "good enough" in first_line(capsys.readouterr().out)
        assert main([*command, "--json"]) == code
        assert json.loads(capsys.readouterr().out)["good_enough"] is False

    @pytest.mark.parametrize("command", [["find"], ["card"], ["plan", "--within-ppm", "0"]])
    def test_that_there_is_none_is_an_answer_and_no_error(self, capsys, tmp_path, command):
        path = tmp_path / "one.toml"
        path.write_text('name = "One gear"\nleadscrew.lead = "3 mm"\ngears.teeth = [40]\n')
        assert main([command[0], str(path), "1.5 mm", *command[1:]]) == 1
        assert main([command[0], str(path), "no thread", *command[1:]]) == 2

    def test_what_is_good_enough_is_not_blamed(self, capsys):
        assert main(["find", "inch", "16 tpi"]) == 0
        assert "good enough" not in capsys.readouterr().out
        assert main(["find", "inch", "16 tpi", "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["good_enough"] is True


class TestNotJudged:
    """40/80 of 4.0014 mm cuts 2.0007 mm: 350 ppm more than 2 mm, and of a pitch alone no tolerance is known."""

    text = 'name = "A"\nleadscrew.lead = "{} mm"\ngears.teeth = [40, 80]\n'

    @in_one("command", [["find"], ["card"], ["plan", "--within-ppm", "any"], ["chart"], ["cuts", "40/80", "--wanted"]])
    @in_one(("leadscrew", "good", "code"), [("4", True, 0), ("4.0002", None, 0), ("4.0014", None, 0), ("5", False, 1)])
    def test_is_said_alike_at_each_door(self, capsys, tmp_path, command, leadscrew, good, code):
        path = tmp_path / "mine.toml"
        path.write_text(self.text.format(leadscrew))
        first, *rest = command
        assert main([first, str(path), *rest, "2 mm", "--json"]) == code
        told = json.loads(capsys.readouterr().out)
        rows = told.get("setups") or told.get("chart") or [told]
        assert rows[0]["good_enough"] is good
        assert told.get("good_enough", good) is good

    def test_of_a_setup(self):
        for leadscrew, good in (("4", True), ("4.0014", None), ("5", False)):
            made = gc.setup(gc.Lathe.from_toml(self.text.format(leadscrew)), 40, 80, wanted="2 mm")
            assert made.good_enough is good
        assert gc.setup(made.lathe, 40, 80).good_enough is None

    def test_what_is_proved_of_a_plan_is_said_of_the_nearest_too(self):
        for leadscrew, said in (("4", False), ("4.0014", True)):
            lathe = gc.Lathe.from_toml(self.text.format(leadscrew).replace("40, 80", "30, 40, 80"))
            plan = gc.plan_changeover(lathe, ["2 mm", f"lead {Fraction(leadscrew) * 3 / 8} mm"])
            assert (plan.moved, plan.proven) == (1, True)
            assert ("good enough to choose, so the nearest is taken" in str(plan)) is said
            assert (" for a feed), or the nearest where none is, with trains of " in plan.why) is said


class TestAFeedWithoutAFeedDrive:
    """A lathe file without [feeds]: along the bed by the half-nuts, said so; across the bed refused."""

    lathe = gc.Lathe.from_toml(NO_FEEDS)

    def test_says_by_which_drive(self):
        best = gc.find_setups(self.lathe, "0.25 mm/rev", count=1)[0]
        assert best.by_half_nuts
        assert "by the half-nuts" in str(best)
        assert any("[feeds]" in warning for warning in best.warnings)
        assert best.feed_mm == best.lead_mm  # one turn moves the carriage as for a thread

    def test_with_a_drive_nothing_is_said(self):
        best = gc.find_setups(gc.demo_lathe("metric"), "0.1 mm/rev", count=1)[0]
        assert not best.by_half_nuts
        assert "half-nuts" not in str(best)

    def test_a_feed_that_no_train_is_fine_enough_for(self, capsys, tmp_path):
        path = tmp_path / "mine.toml"
        path.write_text(NO_FEEDS)
        # The finest: 3 mm × (20·30)/(100·80) = 0.225 mm; with one pair 3 × 20/100 = 0.6 mm.
        assert main(["find", str(path), "0.05 mm/rev", "--feed", "--meshes", "1"]) == 1
        out = capsys.readouterr().out
        assert "good enough" in first_line(out)
        assert "by the half-nuts" in out
        assert "[feeds]" in out

    def test_across_the_bed_is_refused(self):
        with pytest.raises(gc.GearcalcError, match="no cross feed"):
            gc.find_setups(self.lathe, "0.1 mm/rev cross")


class TestTheOtherHand:
    """A lathe without a reverse: 40/80 touches in one place, so a right-hand leadscrew cuts a left-hand thread."""

    path_text = (
        'name = "No reverse"\nleadscrew.lead = "8 tpi"\nspindle_side.reverse = false\ngears.teeth = [40, 60, 80]\n'
    )
    lathe = gc.Lathe.from_toml(path_text)

    @pytest.mark.parametrize("wanted", ["16 tpi", "16 tpi LH"])
    @pytest.mark.parametrize("idlers", [(), (60,)])
    def test_is_not_good_enough_however_exact(self, wanted, idlers):
        made = gc.setup(self.lathe, 40, 80, idlers=idlers, wanted=wanted)
        other = (len(idlers) % 2 == 0) != wanted.endswith("LH")  # an odd number of places where teeth touch
        assert made.is_exact
        assert bool(made.shortfall) is other
        assert ("-hand, not good enough" in str(made)) is other
        assert ("NOT GOOD ENOUGH" in first_line(gc.change_card(self.lathe, to=made)).upper()) is other

    def test_from_a_shell(self, capsys, tmp_path):
        path = tmp_path / "mine.toml"
        path.write_text(self.path_text)
        assert main(["cuts", str(path), "40/80", "--wanted", "16 tpi"]) == 1
        assert "left-hand, not good enough" in first_line(capsys.readouterr().out)


class TestAChartFromAShell:
    def test_says_on_its_first_line_for_how_many_it_will_not_do(self, capsys):
        assert main(["chart", "inch", "16 tpi", "0.02 mm"]) == 1
        assert first_line(capsys.readouterr().out).endswith("not good enough for 1 of them:")

    @pytest.mark.parametrize("ending", ["csv", "svg"])
    def test_saved_too(self, capsys, tmp_path, ending):
        path = str(tmp_path / f"chart.{ending}")
        assert main(["chart", "inch", "16 tpi", "0.02 mm", "--save", path]) == 1
        assert "not good enough for 1 of them" in first_line(capsys.readouterr().out)
        assert main(["chart", "inch", "16 tpi", "--save", path]) == 0
        out = capsys.readouterr().out
        assert "good enough" not in out
        assert "1 thread" in out
        assert "1 threads" not in out

    def test_a_limit_that_was_asked_for_is_kept(self, capsys, tmp_path):
        """40/80 of 2.505 mm cuts 1.2525 mm: 2000 ppm more than 1.25, less than half of M8's tolerance."""
        path = tmp_path / "mine.toml"
        path.write_text('name = "A"\nleadscrew.lead = "2.505 mm"\ngears.teeth = [40, 80]')
        said = {}
        for limit in ("1999", "2000"):
            code = main(["chart", str(path), "M8", "--within-ppm", limit])
            said[limit] = code, capsys.readouterr().out.splitlines()
        (failed, (first, row, *_)), (code, (first_within, row_within, *_)) = said["1999"], said["2000"]
        assert (failed, code) == (1, 0)
        assert first.endswith("not good enough for 1 of them:")
        assert row.replace("\u202f", " ").endswith("; not good enough: +2000 ppm is more than the 1999 ppm asked for")
        assert "not" not in first_within
        assert row_within.endswith("; good enough")
        for ending in ("csv", "svg"):
            saved = str(tmp_path / f"chart.{ending}")
            assert main(["chart", str(path), "M8", "--within-ppm", "1999", "--save", saved]) == 1
            assert "not good enough for 1 of them" in first_line(capsys.readouterr().out)
        assert ",False," in (tmp_path / "chart.csv").read_text("utf-8-sig").splitlines()[1]
        assert "NOT GOOD ENOUGH" in (tmp_path / "chart.svg").read_text()
        assert main(["chart", str(path), "M8", "--within-ppm", "1999", "--json"]) == 1
        told = json.loads(capsys.readouterr().out)
        (row,) = told["chart"]
        assert (told["not_good_enough"], row["ok"], row["good_enough"]) == (1, False, False)
        assert "1999" in row["why"]

    def test_says_so_once_in_a_row(self, capsys):
        assert main(["chart", "inch", "0.02 mm", "--within-ppm", "5"]) == 1
        row = capsys.readouterr().out.splitlines()[1]
        assert row.count("not good enough") == 1
        assert row.endswith(" is more than the 5 ppm asked for")
        assert main(["chart", "inch", "0.02 mm", "0.02 mm"]) == 1
        rows = capsys.readouterr().out.splitlines()[1:3]
        assert [row.count("not good enough") for row in rows] == [1, 1]
        assert main(["chart", "inch", "16 tpi", "8 tpi"]) == 0
        rows = capsys.readouterr().out.splitlines()[1:3]
        assert [row.count("exact") for row in rows] == [1, 1]

    @pytest.mark.parametrize(
        ("command", "times"),
        [(["chart", "inch", "lead 2 in"], 6), (["feeds", "metric", "5 mm/rev"], 6), (["chart", "inch", "2 tpi"], 3)],
    )
    def test_a_train_that_is_loaded_hard_is_warned_of(self, capsys, command, times):
        # 2 in on 8 tpi: 16 turns of the leadscrew in one of the spindle; 5 mm/rev by 1/6 of 3 mm: 10; 2 tpi: 4.
        assert main(command) == 0
        assert f"The leadscrew turns more than {times} times" in capsys.readouterr().out


class TestTheNamesBehindAWarning:
    """Of several jobs the one that is meant is named: 1 in on 8 tpi is 8 turns of the leadscrew, 16 tpi half a turn."""

    def test_in_a_plan_and_in_gears_to_add(self, capsys):
        assert main(["plan", "inch", "1 tpi", "16 tpi"]) == 0
        assert "\n1 tpi: The leadscrew turns more than 6 times" in capsys.readouterr().out
        assert main(["add", "inch", "lead 100 mm", "16 tpi", "--within-ppm", "10000"]) == 0
        assert "\nlead 100 mm: The leadscrew turns more than 6 times" in capsys.readouterr().out

    @pytest.mark.parametrize(
        ("within", "words"), [("0", "every thread exactly"), ("200", "every thread within 200 ppm")]
    )
    def test_what_is_proved_of_a_purchase_names_its_limit(self, capsys, within, words):
        lathe = gc.Lathe.from_toml('name = "A"\nleadscrew.lead = "8 tpi"\ngears.teeth = [20, 30, 40, 50, 60, 80]')
        found = gc.gears_to_add(lathe, ["1 mm"], float(within))
        assert words in found.verdict
