"""From threading to feeding: the fewest gears moved, against brute force over every train; and the chart of feeds."""

from __future__ import annotations

import html
import re
from fractions import Fraction
from itertools import combinations, pairwise, permutations, product

import pytest
from attrs import evolve

from gearcalc.basics.cautions import FOOT
from gearcalc.basics.errors import NotPossibleError, ThreadTextError, ValueOutOfRangeError
from gearcalc.cutting.feed_changes import change_to_feed
from gearcalc.cutting.feed_charts import USUAL_FEEDS_MM, USUAL_FEEDS_THOU, feed_rows, other_slide_mm
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import assemble, setup
from gearcalc.fits import fit
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.lathes.levers import moved_levers
from gearcalc.lathes.trains import Train, places_that_differ
from gearcalc.papers.tables import captioned, feed_chart
from gearcalc.threads import Feed
from tests.cutting.shown import second_column
from tests.how_much import in_one

PLAIN = """
name = "Invented lathe"
leadscrew.lead = "3 mm"
gears.teeth = [20, 24, 30, 36, 40, 50, 60, 80]
feeds.longitudinal = "1/6"
[[gearbox]]
lever = "slow"
ratio = "1/2"
[[gearbox]]
lever = "fast"
ratio = "1"
"""


def fewest_by_brute_force(lathe: Lathe, mounted: Train, feed_mm: Fraction, share: Fraction) -> int | None:
    """Over every train of one, two or three meshes on a lathe without a bracket; nothing is left out."""
    fewest = None
    for meshes in (1, 2, 3):
        for chosen in combinations(lathe.gears, 2 * meshes):
            for drivers in combinations(chosen, meshes):
                driven = [teeth for teeth in chosen if teeth not in drivers]
                ratio = Fraction(1)
                for a, b in zip(drivers, driven, strict=True):
                    ratio *= Fraction(a, b)
                feeds = (lathe.leadscrew.lead * ratio * lever / 6 for lever in lathe.levers.values())
                if not any(abs(feed / feed_mm - 1) <= share for feed in feeds):
                    continue
                moved = min(
                    places_that_differ(mounted, Train(over, under))
                    for over, under in product(permutations(drivers), permutations(driven))
                )
                fewest = moved if fewest is None else min(fewest, moved)
    return fewest


class TestAgainstBruteForce:
    @in_one("mounted", ["40/80", "(20 · 30)/(80 · 60)", "80/20", "(24 · 60)/(36 · 50)"])
    @in_one("feed", ["0.05", "0.12", "0.26", "0.9"])
    @in_one("percent", [1, 10])
    def test_the_fewest(self, mounted, feed, percent):
        lathe, train = Lathe.from_toml(PLAIN), Train.parse(mounted)
        expected = fewest_by_brute_force(lathe, train, Fraction(feed), Fraction(percent, 100))
        change = change_to_feed(lathe, train, f"{feed} mm/rev", percent)
        assert change.proven
        assert expected == change.moved == places_that_differ(train, change.to.train)
        assert abs(change.off_percent) <= percent

    @in_one(
        ("mounted", "feed", "percent", "moved"),
        [
            ("40/80", "0.13", "0.3", 3),
            ("(20 · 24 · 30)/(36 · 40 · 50)", "0.9", "0.05", 3),
            ("(80 · 60)/(20 · 24)", "0.05", "0.05", 4),
            ("(80 · 60 · 50)/(20 · 24 · 30)", "0.13", "0.3", 4),
            ("(20 · 30)/(80 · 60)", "1.7", "1", 5),
            ("40/80", "1.7", "1", 6),
        ],
    )
    def test_up_to_four_are_proven_to_be_the_fewest(self, mounted, feed, percent, moved):
        lathe, train = Lathe.from_toml(PLAIN), Train.parse(mounted)
        change = change_to_feed(lathe, train, f"{feed} mm/rev", percent)
        assert (change.moved, change.proven) == (moved, moved <= 4)
        assert fewest_by_brute_force(lathe, train, Fraction(feed), Fraction(percent) / 100) == moved

    def test_of_four_meshes_nothing_is_proven(self):
        lathe = Lathe.from_toml(PLAIN)  # 3 · (20 · 24 · 30 · 36)/(40 · 50 · 60 · 80) / 2 / 6 = 0.0135
        change = change_to_feed(lathe, "(20 · 24 · 30 · 36)/(40 · 50 · 60 · 80)", "0.0135 mm/rev", 0)
        assert (change.moved, change.proven) == (0, False)

    def test_where_many_gears_move_it_is_off_by_as_much_as_it_may_be_and_no_more(self):
        """3 · (36 · 30 · 60)/(24 · 20 · 40) / 6 = 27/16, 25/34 per cent less than 1.7; nothing comes nearer."""
        asked, most = (Lathe.from_toml(PLAIN), "(20 · 30)/(80 · 60)", "1.7 mm/rev"), Fraction(25, 34)
        change = change_to_feed(*asked, most)
        assert (change.to.feed_mm, change.moved) == (Fraction(27, 16), 5)
        with pytest.raises(NotPossibleError):
            change_to_feed(*asked, most - Fraction(1, 10**6))


BARE = Lathe.from_toml('name = "Bare"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 30, 40, 60, 80]')
BRACKET = """
[spindle_side]
reverse = %s
[bracket]
spindle_side_at_mm = [50.0, 94.0]
swing_deg = [-20, 75]
slots = [{ from_mm = [30, 0], to_mm = [150, 0] }]
"""


def fewest_that_go_on(lathe: Lathe, mounted: Train, feed_mm: Fraction, share: Fraction) -> int | None:
    """Every train of one or two meshes in every order, with no idler or any one in either mesh, tried on."""
    fewest = None
    for meshes in (1, 2):
        for row in permutations(lathe.gears, 2 * meshes):
            drivers, driven = row[:meshes], row[meshes:]
            ratio = Fraction(1)
            for a, b in zip(drivers, driven, strict=True):
                ratio *= Fraction(a, b)
            feeds = (lathe.leadscrew.lead * ratio * lever / 6 for lever in lathe.levers.values())
            if not any(abs(feed / feed_mm - 1) <= share for feed in feeds):
                continue
            spare = [teeth for teeth in lathe.gears if teeth not in row]
            idlers = [(), *(((),) * mesh + ((teeth,),) for mesh in range(meshes) for teeth in spare)]
            for train in (Train(drivers, driven, each) for each in idlers):
                moved = places_that_differ(mounted, train)
                if fewest is not None and moved >= fewest:
                    continue
                if not lathe.spindle_side.reverse and not train.turns_the_same_way:
                    continue
                tried = fit(lathe, train, keep_order=True)
                if tried.goes_on and tried.train == train:  # one that names no idler may be given some
                    fewest = moved
    return fewest


class TestAgainstBruteForceOnABracket:
    @in_one("reverse", ["true", "false"])
    @in_one("mounted", ["40/80, 30", "(20 · 30)/(80 · 60)", "(60 · 36)/(40 · 50)", "50/60, 24"])
    @in_one("feed", ["0.07", "0.2", "0.4"])
    def test_the_fewest_that_go_on(self, mounted, feed, reverse):
        lathe = Lathe.from_toml(PLAIN.replace("gears.teeth", "gears.module_mm = 1.25\ngears.teeth") + BRACKET % reverse)
        pairs, _, idler = mounted.partition(", ")
        train = Train.parse(pairs, ((int(idler),),) if idler else ())
        change = change_to_feed(lathe, train, f"{feed} mm/rev", 3)
        feeds = [lathe.leadscrew.lead * train.ratio * lever / 6 for lever in lathe.levers.values()]
        if any(abs(each / Fraction(feed) - 1) <= Fraction(3, 100) for each in feeds):
            assert (change.moved, change.to.train) == (
                0,
                train,
            )  # it stands there, whether it goes on by the file or not
            return
        expected = fewest_that_go_on(lathe, train, Fraction(feed), Fraction(3, 100))
        if change.to.train.meshes == 3:  # which were left out above
            assert expected is None or change.moved < expected
        else:
            assert change.moved == expected
        assert change.proven or change.moved > 4
        assert fit(lathe, change.to.train, keep_order=True).goes_on


class TestChangeToFeed:
    def test_the_lever_alone(self):
        lathe = demo_lathe("inch")
        thread = setup(lathe, 40, 80, "middle", idlers=25, wanted="16 tpi")
        # 16 tpi is 1.5875 mm, an eighth of it 0.1984; the low lever halves that
        change = change_to_feed(lathe, thread, "0.1 mm/rev")
        assert (change.moved, change.lever_moves, change.to.lever) == (0, True, "low")
        assert change.to.feed_mm == Fraction(127, 80) / 16
        assert change.steps == ()

    def test_from_the_first_answer_for_m10_no_gear_moves(self):
        # what lesson 11 says
        lathe = demo_lathe("inch")
        change = change_to_feed(lathe, find_setups(lathe, "M10")[0], "0.1 mm/rev")
        assert (change.moved, change.to.lever) == (0, "low")

    def test_every_step_is_named(self):
        lathe = demo_lathe("metric")
        thread = setup(lathe, 40, 80, "fast", idlers=48, wanted="1.5 mm")
        change = change_to_feed(lathe, thread, "0.1 mm/rev")
        assert change.steps == (("first driver", 40, 64),)  # 3 mm · 64/80 · 1/4 / 6 = 0.1 mm
        assert "First driver: 40 off, 64 on. Lever from fast to slow." in change.in_words
        assert "exactly" in change.in_words
        rows = dict(re.findall(r"<tr><th[^>]*>([^<]*)</th><td[^>]*>([^<]*)</td></tr>", change._repr_html_()))
        assert (rows["first driver"], rows["gears to move"]) == ("40 off, 64 on", "1")

    @in_one("name", ["inch", "metric", "odd"])
    @in_one("thread", ["M10", "11 1/2 tpi", "module 1"])
    @in_one("feed", ["0.05 mm/rev", "5 thou", "0.1 mm/rev cross", "0.4 mm/rev"])
    def test_it_goes_on_as_it_says_and_search_finds_nothing_easier(self, name, thread, feed):
        lathe = demo_lathe(name)
        mounted = find_setups(lathe, thread, count=1)[0]
        change = change_to_feed(lathe, mounted, feed)
        train = change.to.train
        assert change.moved == places_that_differ(mounted.train, train) == len(change.steps)
        assert change.moved == 0 or fit(lathe, train, keep_order=True).goes_on
        lathe.check_owned(train.gears)
        near = find_setups(lathe, feed, meshes=(1, 2), count=40, within_ppm=100_000, mounted=mounted)
        assert change.moved <= min(places_that_differ(mounted.train, found.train) for found in near)

    def test_where_many_gears_move_the_lever_is_left_all_the_same_if_it_can_be(self):
        # 3 mm · (20 · 56)/(80 · 100) / 6 = 0.07 mm with the lever as it is; (48 · 56)/(60 · 80) takes another, at half
        lathe = demo_lathe("metric")
        mounted = setup(lathe, (100, 80), (36, 127), "fast", wanted="1 mm/rev")
        change = change_to_feed(lathe, mounted, "0.07 mm/rev", 0)
        assert (change.moved, change.lever_moves, change.to.is_exact) == (4, False, True)

    def test_what_stands_there_is_not_called_in_question(self):
        # one pair between fixed axes needs an idler; but it stands there, so one is on it, and nothing has to be put on
        change = change_to_feed(demo_lathe("inch"), "40/80", "0.2 mm/rev")
        assert (change.moved, str(change.mounted), str(change.to.train)) == (0, *2 * ["40/80, idler 25"])
        tight = demo_lathe("inch").with_gears(remove=demo_lathe("inch").gears).with_gears(add=(40, 80))
        stands = change_to_feed(tight, "40/80", "0.2 mm/rev")  # no gear for an idler: by the file it can't stand there
        assert (stands.moved, stands.to.fit.goes_on) == (0, False)

    @in_one("lost", [25, 80])  # of the 40 there are two
    def test_what_is_damaged_or_avoided_comes_off(self, lost):
        lathe = demo_lathe("inch")
        damaged = evolve(lathe, gear_set=evolve(lathe.gear_set, damaged=(lost,)))
        for left in (damaged, lathe.with_gears(remove=[each for each in lathe.gears if each == lost])):
            change = change_to_feed(left, "40/80, idler 25", "0.1 mm/rev")
            assert lost not in change.to.train.gears
            assert change.moved > 0

    def test_an_idler_that_still_serves_stays(self):
        # 40/80 by way of 48 becomes 64/80 or 40/100; both go on with the 48 where it is, and without it neither would
        lathe = demo_lathe("metric")
        change = change_to_feed(lathe, Train((40,), (80,), (48,)), "0.1 mm/rev", 1)
        assert change.to.train.idlers == ((48,),)
        assert change.moved == 1

    def test_a_near_miss_decides_exactly(self):
        lathe = Lathe.from_toml(PLAIN)  # 40/80 slow: 3 · 1/2 · 1/2 / 6 = 0.125 mm
        assert change_to_feed(lathe, "40/80", "0.125 mm/rev", 0).moved == 0
        # 0.125 is 25 per cent more than 0.1, no more
        assert change_to_feed(lathe, "40/80", "0.1 mm/rev", 25).moved == 0
        assert change_to_feed(lathe, "40/80", "0.1 mm/rev", Fraction(2499, 100)).moved > 0

    def test_without_a_reverse_it_still_goes_towards_the_headstock(self):
        lathe = Lathe.from_toml(PLAIN + "\n[spindle_side]\nreverse = false\nsame_way = true\n")
        two_pairs = change_to_feed(lathe, "(20 · 30)/(80 · 60)", "0.031 mm/rev")
        assert two_pairs.moved == 0
        one_pair = change_to_feed(lathe, "40/80", "0.125 mm/rev")
        assert one_pair.to.hand == "right"
        assert one_pair.to.train.turns_the_same_way

    @in_one(
        ("lathe", "mounted", "feed", "said", "rows"),
        [
            # 3 mm · 64/80 · 1/4 / 6 = 0.1 mm; 3 mm · 72/80 / 12 = 0.225 mm, a tenth less than 0.25
            (
                "metric",
                setup(demo_lathe("metric"), 40, 80, "fast", 48),
                "0.1 mm/rev",
                (
                    "First driver: 40 off, 64 on. Lever from fast to slow. That gives 0.1 mm/rev (≈ 0.00394 "
                    "in/rev), exactly "
                    "what was asked for."
                ),
                [
                    "40/80, idler 48",
                    "40 off, 64 on",
                    "1",
                    "lever from fast to slow",
                    "as the feed is to go",
                    "64/80, idler 48",
                    "0.1 mm/rev (≈ 0.00394 in/rev) longitudinal, exactly what was asked for",
                ],
            ),
            (
                "metric",
                "40/80",
                "0.25 mm/rev cross",
                (
                    "First driver: 40 off, 72 on. Lever to fast. That gives 0.225 mm/rev (≈ 0.00886 in/rev), 10 "
                    "per cent "
                    "finer than asked for."
                ),
                [
                    "40/80, idler 48",
                    "40 off, 72 on",
                    "1",
                    "lever to fast",
                    "as the feed is to go",
                    "72/80, idler 48",
                    "0.225 mm/rev (≈ 0.00886 in/rev) cross, 10 per cent finer than asked for",
                ],
            ),
            # 25.4/8 mm · 40/80 / 8 = 0.1984375 mm, and 0.8 per cent on either side of it
            (
                "inch",
                setup(demo_lathe("inch"), 40, 80, "middle", 25),
                "0.2 mm/rev",
                "No gear moves. That gives ≈ 0.00781 in/rev (≈ 0.1984 mm/rev), 0.8 per cent finer than asked for.",
                [
                    "40/80, idler 25",
                    "0",
                    "stays at middle",
                    "as the feed is to go",
                    "40/80, idler 25",
                    "≈ 0.00781 in/rev (≈ 0.1984 mm/rev) longitudinal, 0.8 per cent finer than asked for",
                ],
            ),
            (
                "inch",
                setup(demo_lathe("inch"), 40, 80, "middle", 25),
                "0.197 mm/rev",
                "No gear moves. That gives ≈ 0.00781 in/rev (≈ 0.1984 mm/rev), 0.7 per cent coarser than asked for.",
                [
                    "40/80, idler 25",
                    "0",
                    "stays at middle",
                    "as the feed is to go",
                    "40/80, idler 25",
                    "≈ 0.00781 in/rev (≈ 0.1984 mm/rev) longitudinal, 0.7 per cent coarser than asked for",
                ],
            ),
            # 3 mm · (40 · 45)/(48 · 50) · 1/3 · 4/3 / 10
            (
                "odd",
                setup(demo_lathe("odd"), (40, 45), (48, 50), "range fast, cone A"),
                "0.1 mm/rev",
                (
                    "No gear moves. Lever range from fast to slow. Lever cone from A to C. That gives 0.1 mm/rev "
                    "(≈ 0.00394 "
                    "in/rev), exactly what was asked for."
                ),
                [
                    "(40 · 45)/(48 · 50)",
                    "0",
                    "lever range from fast to slow, lever cone from A to C",
                    "as the feed is to go",
                    "(40 · 45)/(48 · 50)",
                    "0.1 mm/rev (≈ 0.00394 in/rev) longitudinal, exactly what was asked for",
                ],
            ),
            (
                "bare",
                setup(BARE, (40, 30), (80, 60)),
                "0.75 mm/rev",
                "No gear moves. That gives 0.75 mm/rev (≈ 0.02953 in/rev), exactly what was asked for.",
                [
                    "(40 · 30)/(80 · 60)",
                    "0",
                    "as the lathe file describes it",
                    "(40 · 30)/(80 · 60)",
                    "0.75 mm/rev (≈ 0.02953 in/rev) longitudinal, exactly what was asked for",
                ],
            ),
        ],
    )
    def test_every_step_in_words_and_as_a_table(self, lathe, mounted, feed, said, rows):
        change = change_to_feed(BARE if lathe == "bare" else demo_lathe(lathe), mounted, feed)
        assert change.in_words.replace("\u202f", " ") == said
        assert str(change) == f"{change.mounted} to {change.to}. {change.in_words}"
        assert second_column(change._repr_html_().replace("\u202f", " ")) == rows
        assert (">levers</th>" in change._repr_html_()) == (lathe == "odd")
        assert (FOOT in html.unescape(change._repr_html_())) == (change.moved > 0)

    @in_one(
        ("idlers", "wanted", "moves"),
        [
            ((), None, "over"),
            ((), "0.75 mm", ""),
            ((), "0.75 mm LH", "over"),
            (20, "0.75 mm", ""),
            (20, "0.75 mm LH", "back"),
        ],
    )
    def test_by_the_half_nuts_the_reverse_is_put_so_that_it_feeds_to_the_headstock(self, idlers, wanted, moves):
        """A pair alone turns the leadscrew against the spindle, and left-hand is the other way once more."""
        lathe = Lathe.from_toml(PLAIN.replace('feeds.longitudinal = "1/6"', ""))
        mounted = setup(lathe, 40, 80, "slow", idlers, wanted=wanted) if wanted else Train(40, 80, idlers)
        change = change_to_feed(lathe, mounted, "0.75 mm/rev")
        assert (change.moved, change.reverse_moves) == (0, moves)
        assert re.findall(r"Put the reverse [^.]*\.", change.in_words) == [f"Put the reverse {moves}."] * bool(moves)

    def test_how_far_off_in_per_cent(self):
        lathe = demo_lathe("inch")  # 0.1984375 mm, see above
        for feed, off in (("0.2", -0.78125), ("0.1984375", 0), ("0.19", 100 * (0.1984375 / 0.19 - 1))):
            change = change_to_feed(lathe, setup(lathe, 40, 80, "middle", 25), Feed(feed))
            assert change.off_percent == pytest.approx(off, abs=1e-9)
            (row,) = feed_rows(lathe, Feed(feed), mounted=change.to)
            assert row.off_percent == pytest.approx(off, abs=1e-9)

    @in_one("idlers", [(), (20,), (20, 24), (20, 24, 30, 36), (20, 24, 30, 36, 50), (20, 24, 30, 36, 50, 60)])
    def test_an_idler_more_or_less_turns_it_round(self, idlers):
        """An odd number of them turns a pair the right way; however many there are, one comes on or off for it."""
        lathe = Lathe.from_toml(PLAIN + "\n[spindle_side]\nreverse = false\nsame_way = true\n")
        change = change_to_feed(lathe, Train(40, 80, idlers), "0.125 mm/rev")
        assert (change.moved, change.to.hand) == (1 - len(idlers) % 2, "right")
        assert (change.to.train.drivers, change.to.train.driven) == ((40,), (80,))

    @in_one(("mounted", "proven"), [(Train(40, 80, 20), True), (Train(40, 80, (20, 24)), False)])
    @in_one("feed", ["0.125 mm/rev", "0.1 mm/rev"])
    def test_of_more_than_one_idler_nothing_is_proven(self, mounted, proven, feed):
        change = change_to_feed(Lathe.from_toml(PLAIN), mounted, feed)
        assert change.proven == proven
        assert ("Perhaps fewer gears would do" not in change._repr_html_()) == proven

    def test_the_first_that_will_do_is_proof_however_many_more_would(self):
        """Of 51 gears some thousand pairs come near; with either gear of 20/120 left, not one of them would."""
        many = Lathe.from_toml(PLAIN.replace("[20, 24, 30, 36, 40, 50, 60, 80]", str([*range(20, 121, 2)])))
        change = change_to_feed(many, "20/120", "1 mm/rev", 40)
        assert (change.moved, change.proven, change.to.is_exact) == (2, True, True)

    @pytest.mark.parametrize("feed", ["0.1 mm/rev", "50 mm/rev"])
    def test_nothing_comes_near(self, feed):
        lathe = Lathe.from_toml('name = "x"\nleadscrew.lead = "3 mm"\ngears.teeth = [40, 40]')
        with pytest.raises(NotPossibleError, match="within 10 per cent"):
            change_to_feed(lathe, "40/40", feed)

    def test_no_cross_feed(self):
        with pytest.raises(NotPossibleError, match="has no cross feed"):
            change_to_feed(Lathe.from_toml(PLAIN), "40/80", "0.1 mm/rev cross")

    @pytest.mark.parametrize("wrong", [None, 40, ["40/80"]])
    def test_nothing_mounted(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="mounted"):
            change_to_feed(demo_lathe("inch"), wrong, "0.1 mm/rev")

    @in_one("wrong", [-1, 51, None, "x", float("nan")])
    def test_no_bound(self, wrong):
        with pytest.raises(ValueOutOfRangeError, match="within_percent"):
            change_to_feed(demo_lathe("inch"), "40/80", "0.1 mm/rev", wrong)

    def test_no_feed(self):
        with pytest.raises(ThreadTextError):
            change_to_feed(demo_lathe("inch"), "40/80", "M10")


class TestFeedRows:
    def test_three_trains_serve_nine_feeds(self):
        # Each lever doubles; the feeds go up by the tenth root of ten, three steps of which are nearly 2.
        # In thousandths of an inch the same: 2, 4, 8; 2.5, 5, 10; 3, 6, 12.
        thou = [each * Fraction(254, 10_000) for each in USUAL_FEEDS_THOU]
        for name, feeds in (("inch", thou), ("metric", [*USUAL_FEEDS_MM])):
            rows = feed_rows(demo_lathe(name))
            assert [row.feed.travel_mm for row in rows] == feeds
            assert len({row.setup.train for row in rows}) == 3
            assert all(abs(row.off_percent) <= 10 for row in rows)

    @pytest.mark.parametrize("name", ["inch", "metric", "odd"])
    def test_moved_is_counted_from_the_row_above(self, name):
        rows = feed_rows(demo_lathe(name), mounted="40/80")
        above = fit(demo_lathe(name), "40/80", keep_order=True).train
        for row in rows:
            assert row.moved == places_that_differ(above, row.setup.train)
            above = row.setup.train

    @pytest.mark.parametrize("name", ["inch", "metric", "odd"])
    def test_no_other_levers_would_do_with_fewer_of_them_moved_or_nearer(self, name):
        """With the gears of a row every position of the levers is tried."""
        lathe = demo_lathe(name)
        rows = feed_rows(lathe)
        for above, row in pairwise(rows):
            made = row.setup
            tried = [assemble(lathe, made.train, each, row.feed, made.fit) for each in lathe.positions]
            near = [each for each in tried if abs(each.error.exact) <= Fraction(1, 10) and each.hand == made.hand]
            levers = [len(moved_levers(above.setup.position, each.position)) for each in near]
            work = list(zip(levers, (abs(each.error.exact) for each in near), strict=True))
            own = len(moved_levers(above.setup.position, made.position)), abs(made.error.exact)
            assert own == min(work), row
            assert row.lever_moves == (own[0] > 0)

    def test_a_feed_that_cannot_be_had_leaves_the_rest(self):
        rows = feed_rows(demo_lathe("inch"), ["0.1 mm/rev", "100 mm/rev", "0.2 mm/rev"])
        assert [row.setup is None for row in rows] == [False, True, False]
        assert "100 mm/rev" in rows[1].why
        assert rows[2].moved == 0

    def test_without_feeds_the_half_nuts_feed(self):
        lathe = Lathe.from_toml('name = "x"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 30, 60, 127]')
        (row,) = feed_rows(lathe, "1 mm/rev")
        assert row.setup.feed_mm == row.setup.lead_mm == 1
        assert other_slide_mm(row.setup) is None
        (cross,) = feed_rows(lathe, "1 mm/rev cross")
        assert "no cross feed" in cross.why

    def test_the_other_slide(self):
        # metric: along the bed 1/6, across 1/12, so half, and twice the other way round
        lathe = demo_lathe("metric")
        along, across = feed_rows(lathe, ["0.1 mm/rev", "0.1 mm/rev cross"])
        assert other_slide_mm(along.setup) == along.setup.feed_mm / 2
        assert other_slide_mm(across.setup) == across.setup.feed_mm * 2

    @pytest.mark.parametrize("wrong", [[], 7, ["0.1 mm/rev"] * 201])
    def test_no_feeds(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            feed_rows(demo_lathe("inch"), wrong)


class TestFeedChart:
    def test_columns_and_numbers(self):
        chart = feed_chart(demo_lathe("metric"), ["0.1 mm/rev", "100 mm/rev", "1.9 mm/rev"], nose_radius_mm=0.4)
        assert list(chart["feed"]) == ["0.1 mm/rev", "100 mm/rev", "1.9 mm/rev"]
        first, none, wide = (row for _, row in chart.iterrows())
        assert first["feed_mm"] == 0.1
        assert first["feed_thou"] == pytest.approx(100 / 25.4)
        assert first["rt_um"] == pytest.approx(1000 * 0.1**2 / 3.2, rel=5e-3)
        assert chart["feed_mm"].isna().tolist() == [False, True, False]
        assert "100 mm/rev" in none["why"]
        assert chart["rt_um"].isna().tolist() == [False, True, True]
        assert wide["feed_mm"] > 0.8  # wider than a nose of 0.4 mm radius

    def test_a_row_says_in_which_mesh_its_idlers_stand(self):
        mounted = Train((20, 30), (60, 70), ((), (40,)))  # its feeds: 3.175/8 · 20·30/(60·70) · 1/2, 1 or 2
        chart = feed_chart(demo_lathe("inch"), ["0.057 mm/rev", "0.113 mm/rev"], mounted=mounted)
        for _, row in chart.iterrows():
            assert Train(row["drivers"], row["driven"], row["idlers"]) == mounted
        assert [row["idlers"] for row in captioned(chart, "Feeds").rows] == ["– | 40"] * 2
        simple = feed_chart(demo_lathe("inch"), "0.1 mm/rev", mounted=Train(40, 80, 25))
        assert captioned(simple, "Feeds").rows[0]["idlers"] == "25"

    def test_it_shows_itself_in_words_and_units(self):
        chart = feed_chart(demo_lathe("metric"), ["0.1 mm/rev", "0.2 mm/rev"], nose_radius_mm=0.8)
        row = captioned(chart, "Feeds").rows[1]
        assert (row["drivers"], row["driven"], row["gears moved"]) == ("24", "30", 0)
        assert (row["feed given, mm"], row["feed given, thou"], row["Rt, µm"]) == ("0.2", "7.87", "6.27")
        assert captioned(chart, "Feeds").rows[0]["gears moved"] is None

    def test_no_nose_is_refused_even_without_a_row(self):
        with pytest.raises(ValueOutOfRangeError, match="nose radius"):
            feed_chart(demo_lathe("metric"), "100 mm/rev", nose_radius_mm=0)
