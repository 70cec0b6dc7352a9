"""The change-over card: the order of its steps, every number by hand, and nothing that a user typed let loose."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import combinations, pairwise
from math import cos, radians, tan

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.cautions import CAUTIONS
from gearcalc.basics.errors import GearNotOwnedError, NotPossibleError, ValueOutOfRangeError
from gearcalc.lathes import GearSet, Lathe, Leadscrew, Lever, SpindleSide
from gearcalc.papers.marks import Shape, Words
from tests.how_much import in_one
from tests.lessons.reading_time import count_words, open_text

INCH = gc.demo_lathe("inch")
NOW = gc.setup(INCH, 40, 80, "middle", 35, wanted="16 tpi")
THEN = gc.setup(INCH, 40, 60, "middle", 35, wanted="12 tpi")
PAIRS = gc.find_setups(INCH, "1.5 mm", meshes=2, mounted=NOW, count=1)[0]
BARE = Lathe("Bare lathe", Leadscrew(Fraction(127, 40)), GearSet((20, 30, 40, 40, 60, 80)))
EVIL = "<script>alert(1)</script> $x_1$ & \\frac"


def steps(card):
    return {step.key: step for step in card.steps}


def said(card, key):
    step = steps(card)[key]
    return " ".join([str(step), *step.gears])


class TestOrder:
    def test_of_the_steps(self):
        card = gc.change_card(INCH, to=PAIRS, mounted=NOW)
        assert [step.key for step in card.steps] == [
            "isolate",
            "cover",
            "slacken",
            "strip",
            "build",
            "mesh",
            "snug",
            "levers",
            "by hand",
            "close",
            "power",
            "try",
            "scratch",
        ]

    @pytest.mark.parametrize("form", [str, lambda card: card._repr_html_(), lambda card: card.page])
    def test_cautions_then_spanners_then_steps(self, form):
        shown = " ".join(form(gc.change_card(INCH, to=PAIRS, mounted=NOW)).split())
        places = [
            shown.index(words)
            for words in (
                "come first",
                "Spanners or keys",
                "Isolate.",
                "Open the cover.",
                "Turn by hand.",
                "Close the cover.",
                "Restore the power.",
                "Scratch pass.",
            )
        ]
        assert places == sorted(places)

    def test_in_a_notebook_it_is_one_screen_and_on_paper_nothing_is_folded(self):
        card = gc.change_card(INCH, to=PAIRS, mounted=NOW)
        stands_open = open_text(card._repr_html_())
        assert count_words(stands_open) < 340
        for words in (*card.cautions, *(step.title for step in card.steps), *(g for s in card.steps for g in s.gears)):
            assert words in " ".join(stands_open.split())
        own_page = re.sub(r"<figure>.*?</figure>", "", card.page, flags=re.S)
        assert "<details" not in own_page
        assert all(line in own_page.replace("&#x27;", "'") for step in card.steps for line in step.lines)

    def test_no_power_before_the_cover_is_closed_and_the_key_out(self):
        card = gc.change_card(INCH, to=PAIRS)
        keys = [step.key for step in card.steps]
        key_out = next(n for n, step in enumerate(card.steps) if "Chuck key out" in str(step))
        assert keys.index("isolate") == 0
        assert key_out < keys.index("close") < keys.index("power") < keys.index("try") < keys.index("scratch")

    def test_only_the_lever_to_move(self):
        """The same gears: the cover is opened only for a lever or a belt under it, and shut before the power."""
        card = gc.change_card(INCH, to=gc.setup(INCH, 40, 80, "low", 35, wanted="32 tpi"), mounted=NOW)
        assert [step.key for step in card.steps] == [
            "isolate",
            "cover",
            "levers",
            "by hand",
            "close",
            "power",
            "try",
            "scratch",
        ]
        assert said(card, "cover").startswith("Open the cover only if you must. Only if lever, reverse or belt")
        assert said(card, "close").startswith("Cover shut.")
        assert card.before_you_begin == "Before you begin, lay out"
        assert "BEFORE YOU BEGIN, LAY OUT" in str(card)
        assert card.gears_off == card.gears_on == 0
        assert "No gear has to be moved" in str(card)

    def test_every_caution_on_every_form(self):
        card = gc.change_card(INCH, to=THEN)
        for caution in CAUTIONS:
            assert caution in " ".join(str(card).replace("! ", "").split())
            assert caution in card.page
        drawn = " ".join(re.sub("<[^>]*>", " ", card.on_paper().svg(1)).split())
        assert "This sheet does not know your machine." in drawn


class TestGears:
    def test_one_gear_for_another(self):
        """40 and 35 stay; on the gearbox input a 60 for the 80."""
        card = gc.change_card(INCH, to=THEN, mounted=NOW)
        assert steps(card)["strip"].gears == ("80, driven, off the gearbox input",)
        assert steps(card)["build"].gears == ("60 on the gearbox input: driven, in mesh with 35",)
        assert "40 (driver), 35 (idler)" in said(card, "strip")
        assert "From the box: gear 60." in " ".join(card.needed)
        assert "spindle side" not in " ".join(card.needed)

    def test_two_pairs(self):
        train = PAIRS.train
        card = gc.change_card(INCH, to=PAIRS, mounted=NOW)
        build = steps(card)["build"].gears
        first, second = train.chain()
        assert any(line.startswith(f"{first[0]}") and "spindle side, in plane" in line for line in build) or any(
            f"{first[0]} (first driver)" in line for line in steps(card)["strip"].lines
        )
        assert any(f"{second[0]}" in line and f"keyed to the {first[1]}" in line for line in build)
        assert any("next to the headstock" in line for line in build)

    def test_a_gear_that_only_stands_in_the_way(self):
        """On the bare lathe the smaller gear of a pair stands in front: the 30 comes off for the 80 behind it."""
        lathe = evolve(BARE, gear_set=GearSet((20, 30, 40, 40, 60, 70, 80)))
        now = gc.setup(lathe, (40, 30), (80, 60))
        card = gc.change_card(lathe, to=gc.setup(lathe, (40, 30), (70, 60)), mounted=now)
        assert steps(card)["strip"].gears == (
            "30, second driver, off the stud, in plane 2, in front; it is only in the way, and goes back",
            "80, first driven, off the stud, in plane 1, next to the headstock",
        )
        assert [line.split(",")[0] for line in steps(card)["build"].gears] == [
            "70 on the stud",
            "30 (just taken off) on the stud",
        ]
        assert "Gears: 2 off, 2 on, of which 1 only in the way." in " ".join(str(card).split())

    def test_a_train_in_text_is_taken_as_it_would_go_on(self):
        card = gc.change_card(INCH, to=THEN, mounted="40/80")
        assert card.before.train.idlers == ((25,),)

    def test_idlers_still_to_choose_are_chosen_to_move_few(self):
        now = gc.setup(INCH, 40, 80, "middle", 45)
        to = gc.setup(INCH, 40, 60, "middle", wanted="12 tpi")
        assert to.as_built.train.idlers == ((35,),)
        card = gc.change_card(INCH, to=to, mounted=now)
        assert card.setup.train.idlers == ((45,),)
        assert (card.gears_off, card.gears_on) == (1, 1)

    def test_nothing_known_of_what_is_mounted(self):
        card = gc.change_card(INCH, to=THEN)
        assert card.before is None
        assert len(steps(card)["build"].gears) == 3
        assert "Draw or photograph" in said(card, "cover")


class TestNumbers:
    def test_turns_by_hand(self):
        """40 over 60 with a 35 between: the 60 makes 2/3 of a turn for one, so 1.5 turns, two whole ones."""
        card = gc.change_card(INCH, to=THEN)
        assert "2 turns: by then the slowest gear, the 60, has gone round once (after 1.5)" in said(card, "by hand")

    def test_turns_by_hand_with_a_spindle_side_that_halves(self):
        """30/60 behind a half: the 60 makes a quarter turn."""
        lathe = evolve(BARE, spindle_side=SpindleSide(ratio="1/2"))
        card = gc.change_card(lathe, to=gc.setup(lathe, 30, 60))
        assert "4 turns: by then the slowest gear, the 60, has gone round once." in said(card, "by hand")

    def test_centres(self):
        """Module 1.25, 0.2 mm of backlash at 20°: 1.25·(40 + 35)/2 + 0.2/(2·tan 20°), and with 35 + 60."""
        play = 0.2 / (2 * tan(radians(20)))
        near, far = 1.25 * 75 / 2 + play, 1.25 * 95 / 2 + play
        meshes = steps(gc.change_card(INCH, to=THEN))["mesh"].gears
        assert meshes == (
            f"60 with 35: centres {far:.1f} mm apart; slide the stud",
            f"35 with 40: centres {near:.1f} mm apart; swing the bracket in",
        )

    def test_what_came_off_last_goes_on_first(self):
        """On a shaft the spacer that came off last is the innermost, so it can't go back after the others."""
        built = said(gc.change_card(INCH, to=PAIRS, mounted=NOW), "build")
        assert "what came off last goes on first" in built
        assert "in the order in which they came off" not in built

    def test_strip_of_paper(self):
        """0.1 mm pinched on both flanks leaves about 0.21 mm at 20°; so 0.2 mm takes 0.2·cos 20°/2."""
        assert round(2 * 0.1 / cos(radians(20)), 2) == 0.21
        paper = 0.2 * cos(radians(20)) / 2
        inch = said(gc.change_card(INCH, to=THEN), "mesh")
        assert f"about {paper / 25.4:.4f} in ({paper:.2f} mm) thick" in inch
        assert "leaves the 0.0079 in (0.2 mm) of play" in inch
        in_mm = said(gc.change_card(INCH.with_show(units="mm"), to=THEN), "mesh")
        assert f"about {paper:.2f} mm thick" in in_mm

    def test_swing_is_that_of_the_fit(self):
        swing = THEN.fit.swing_deg
        way = "anticlockwise" if swing >= 0 else "clockwise"
        degrees = f"{abs(swing):.1f}".removesuffix(".0")
        assert f"swung {degrees}° {way}" in said(gc.change_card(INCH, to=THEN), "mesh")

    def test_expected_measurement(self):
        assert "12 threads in an inch, over 12 turns of the spindle (25.4 mm)" in said(
            gc.change_card(INCH, to=THEN), "scratch"
        )

    def test_whether_the_error_matters(self):
        """125 ppm are 0.125 thou in an inch, 3.13 µm in 25 mm; M10 has a tolerance to judge by, a bare pitch none."""
        bare, named = (gc.setup(INCH, (63, 30), (50, 80), "middle", wanted=wanted) for wanted in ("1.5 mm", "M10"))
        assert dict(gc.change_card(INCH, to=bare).settings)["does it matter"] == "0.125 thou too long over 1 in"
        metric = INCH.with_show(units="mm")
        settings = dict(gc.change_card(metric, to=bare).settings)
        assert settings["does it matter"] == "3.13 µm too long over 25 mm"
        assert settings["lead"].startswith("≈ 1.5002 mm (")  # as this lathe's owner reads, whoever made the setup
        assert "of the pitch-diameter tolerance" in dict(gc.change_card(INCH, to=named).settings)["does it matter"]

    def test_lever_and_reverse(self):
        """One mesh and an idler: the same way as the spindle, so right-hand as the lathe stands; left-hand turned."""
        right = gc.change_card(INCH, to=THEN, mounted=NOW)
        left = gc.change_card(INCH, to=gc.setup(INCH, 40, 60, "middle", 35, wanted="12 tpi LH"))
        assert "Lever: middle, where it is. Reverse as the lathe file describes it, where it is: " in said(
            right, "levers"
        )
        assert "Reverse over: the first driver turns against the spindle." in said(left, "levers")
        assert "towards the headstock" in said(right, "try")
        assert "away from the headstock" in said(left, "try")

    def test_half_nuts(self):
        """12 tpi on 8 tpi: the leadscrew turns 2/3, a groove returns every 2 of its threads, one line on the dial."""
        assert dict(gc.change_card(INCH, to=THEN).settings)["half-nuts"].endswith("close at any line.")
        stand_in = dict(gc.change_card(INCH, to=PAIRS).settings)
        assert stand_in["half-nuts"].startswith("Keep the half-nuts closed until the thread is done.")
        assert "do not reverse under power" in stand_in["half-nuts"]
        assert "half-nuts" not in dict(gc.change_card(INCH, to=gc.find_setups(INCH, "0.1 mm/rev")[0]).settings)

    def test_oil_goes_on_with_the_gears(self):
        assert "oil on each stud and bush" in said(gc.change_card(INCH, to=THEN, mounted=NOW), "build")

    @pytest.mark.parametrize(("thread", "so"), [("1.5 mm LH", True), ("1.5 mm", False), ("12 tpi LH", False)])
    def test_a_left_hand_thread_with_half_nuts_closed_goes_back_towards_the_chuck(self, thread, so):
        """What went away from the headstock comes back to it, whatever holds the carriage."""
        to = gc.find_setups(INCH, thread, count=1)[0]
        kept = dict(gc.change_card(INCH, to=to).settings)["half-nuts"]
        assert ("back towards the chuck" in kept) == so
        assert ("lowest speed, half-nuts closed" in kept) == (thread == "1.5 mm")

    def test_a_left_hand_thread_starts_from_a_groove_at_the_chuck(self):
        left = gc.change_card(INCH, to=gc.setup(INCH, 40, 60, "middle", 35, wanted="12 tpi LH"))
        assert "start from a groove at the chuck end" in said(left, "scratch")
        assert "groove at the chuck" not in said(gc.change_card(INCH, to=THEN), "scratch")

    def test_which_way_is_out_in_a_bore(self):
        card = gc.change_card(INCH, to=PAIRS)
        assert "in a bore: towards the axis" in said(card, "scratch")
        assert "in a bore: towards the axis" in dict(card.settings)["half-nuts"]

    def test_the_drive_is_freed_before_the_chuck_is_turned_and_put_back_before_the_cover_is_closed(self):
        printed = " ".join(str(gc.change_card(INCH, to=THEN, mounted=NOW)).partition("STEPS")[2].split())
        places = [
            printed.index(words)
            for words in (
                "Spindle drive in neutral",
                "Turn the chuck by hand",
                "spindle drive back in",
                "Close the cover.",
            )
        ]
        assert places == sorted(places)

    def test_a_lathe_with_neither(self):
        lathe = evolve(BARE, spindle_side=SpindleSide(reverse=False))
        card = gc.change_card(lathe, to=gc.setup(lathe, 40, 80, idlers=20, wanted="16 tpi"))
        assert "neither" in said(card, "levers")
        assert not any("hand thread" in warning for warning in card.warnings)

    def test_the_wrong_hand_without_a_reverse_is_warned_of(self):
        lathe = evolve(BARE, spindle_side=SpindleSide(reverse=False))
        card = gc.change_card(lathe, to=gc.setup(lathe, 40, 80, wanted="16 tpi"))
        assert any("left-hand thread" in warning for warning in card.warnings)
        assert "away from the headstock" in said(card, "try")

    def test_a_feed(self):
        found = gc.find_setups(INCH, "0.1 mm/rev", count=1)[0]
        card = gc.change_card(INCH, to=found)
        assert "Engage the feed" in said(card, "try")
        assert "half-nuts: with" not in said(card, "try")


NO_FEEDS = evolve(INCH, feeds=None)


class TestFeeds:
    def test_by_the_half_nuts(self):
        """Without [feeds] in the file the half-nuts are what is closed, and the card says where."""
        card = gc.change_card(NO_FEEDS, to=gc.find_setups(NO_FEEDS, "0.8 mm/rev", count=1)[0])
        assert "Close the half-nuts: with the spindle running forward the carriage must go towards" in said(card, "try")
        assert "Engage the feed" not in str(card)
        assert dict(card.settings)["half-nuts"] == "Close them anywhere: a feed leaves no groove to come back to."

    @pytest.mark.parametrize("feed", ["0.02 mm/rev cross", "0.1 mm/rev", "0.01 mm/rev cross", "0.008 mm/rev"])
    def test_nobody_counts_hundreds_of_turns(self, feed):
        card = gc.change_card(INCH, to=gc.setup(INCH, 20, 80, "low", wanted=feed))
        check = card.change.check
        assert check.turns <= 50 or check.travel_mm < check.turns * Fraction(1, 5)
        assert check.turns <= 50
        assert ("read it on the slide's own dial" in check.words) == (check.travel_mm < 10)
        assert said(card, "scratch").startswith("Measure the feed.")
        assert "Scratch pass" not in str(card)


class TestWhatIsMountedStaysInItsOrder:
    """Nobody rearranges what is on the lathe: a setup given by hand is read as its text would be."""

    def test_two_pairs_given_by_hand(self):
        now = gc.setup(INCH, (40, 20), (80, 50), "middle")
        assert now.as_built.train.driven != (80, 50)  # it would go on in another order
        card = gc.change_card(INCH, to=THEN, mounted=now)
        assert (card.before.train.drivers, card.before.train.driven) == ((40, 20), (80, 50))
        assert str(card.before.train) in card.about

    def test_as_the_same_train_in_text(self):
        gears = [20, 30, 40, 50, 60, 80]
        rearranged = 0
        for first in gears:
            for second in gears:
                for under in ((80, 50), (60, 50), (50, 80)):
                    if len({first, second, *under}) < 4:
                        continue
                    now = gc.setup(INCH, (first, second), under, "middle")
                    rearranged += now.as_built.train.driven != under or now.as_built.train.drivers != (first, second)
                    by_setup = gc.change_card(INCH, to=THEN, mounted=now).before.train
                    assert by_setup == gc.change_card(INCH, to=THEN, mounted=now.train).before.train
                    assert (by_setup.drivers, by_setup.driven) == ((first, second), under)
        assert rearranged > 5

    def test_found_setups_stand_as_found(self):
        assert gc.change_card(INCH, to=THEN, mounted=PAIRS).before.train == PAIRS.train


class TestSmallWords:
    def test_one_and_many(self):
        card = str(gc.change_card(INCH, to=gc.setup(INCH, 40, 40 if INCH.gears.count(40) > 1 else 35, "middle")))
        assert not re.search(r"\b1 (?:turns|idlers|gears|studs)\b", " ".join(card.split()))
        coarse = gc.change_card(gc.demo_lathe("metric"), to=gc.find_setups(gc.demo_lathe("metric"), "lead 2 in")[0])
        assert "1 turn of the spindle moves the carriage 50.8 mm" in said(coarse, "scratch")
        assert "once round in 1 turn of the spindle" in dict(coarse.settings).values()

    def test_turns_are_rounded_up(self):
        """40/45: 9/8 turns; at 1.12 the 45 has not been round."""
        lathe = evolve(BARE, gear_set=GearSet((40, 45)))
        card = gc.change_card(lathe, to=gc.setup(lathe, 40, 45))
        assert "(after 1.13)" in said(card, "by hand")
        assert dict(card.settings)["slowest gear, the 45"] == "once round in 1.13 turns of the spindle"

    def test_a_stud_is_named_once(self):
        built = steps(gc.change_card(INCH, to=PAIRS, mounted=gc.setup(BARE, 40, 80).train))["build"].gears
        assert not any("a stud into the slot" in line for line in built)

    def test_only_what_there_is_is_set(self):
        no_reverse = evolve(INCH, spindle_side=SpindleSide(reverse=False))
        assert said(gc.change_card(no_reverse, to=gc.setup(no_reverse, 40, 60, "middle", 35)), "levers").startswith(
            "Set lever. "
        )
        assert said(gc.change_card(INCH, to=THEN), "levers").startswith("Set lever and reverse. ")
        assert said(gc.change_card(BARE, to=gc.setup(BARE, 40, 80)), "levers").startswith("Set reverse. ")

    def test_where_the_reverse_is(self):
        assert "Reverse as the lathe file describes it, where it is: the first driver" in said(
            gc.change_card(INCH, to=THEN, mounted=NOW), "levers"
        )
        assert dict(gc.change_card(INCH, to=THEN, mounted=NOW).settings)["reverse"].endswith(", where it is")
        left = gc.setup(INCH, 40, 60, "middle", 35, wanted="12 tpi LH")
        for other in (NOW.train, gc.setup(INCH, 40, 80, "middle", 35)):  # the one not known, the other not said
            assert "where it is:" not in said(gc.change_card(INCH, to=left, mounted=other), "levers")
        assert "where it is:" not in said(gc.change_card(INCH, to=left, mounted=NOW), "levers")

    def test_nothing_changes(self):
        assert "Nothing has to be changed" in str(gc.change_card(INCH, to=NOW, mounted=NOW))
        assert "Nothing has to be changed" not in str(gc.change_card(INCH, to=NOW, mounted=NOW.train))

    def test_a_second_start(self):
        lathe = gc.demo_lathe("metric")
        card = gc.change_card(lathe, to=gc.find_setups(lathe, "Tr 40x14(P7)", count=1)[0])
        assert "shows the lead of the 2 starts, not the pitch" in said(card, "scratch")
        assert "starts" not in said(gc.change_card(INCH, to=THEN), "scratch")

    def test_a_gear_behind_a_larger_one(self):
        two = gc.setup(BARE, (40, 40), (60, 80))
        told = said(gc.change_card(BARE, to=gc.setup(BARE, (40, 40), (30, 80)), mounted=two), "strip")
        assert "a larger one in front overlaps comes off once that one's stud is slid aside" in told


class TestWarnings:
    def test_no_bracket_in_the_file(self):
        card = gc.change_card(BARE, to=gc.setup(BARE, 40, 80, wanted="16 tpi"))
        assert any("fit is not checked" in warning for warning in card.warnings)
        assert "bracket" not in dict(card.settings)
        assert steps(card)["mesh"].gears == ("80 with 40",)

    def test_a_setup_that_does_not_go_on_says_why(self):
        short = gc.setup(INCH, 20, 80, "middle", 30, wanted="32 tpi")
        assert not short.fit.goes_on
        card = gc.change_card(INCH, to=short)
        assert any("does not go on" in w and "20 on the spindle side" in w for w in card.warnings)

    def test_far_from_what_is_wanted(self):
        """20/127 on 8 tpi is 0.5 mm exactly; 40/80 on it 1.5875 mm, more than three times as much."""
        far = gc.change_card(BARE, to=gc.setup(BARE, 40, 80, wanted="0.5 mm"))
        assert "not good enough for 0.5 mm" in far.title
        assert any("Not good enough for 0.5 mm" in warning for warning in far.warnings)
        near = gc.change_card(INCH, to=PAIRS)
        assert not any("good enough" in words for words in (near.title, *near.warnings))

    def test_a_steep_mesh(self):
        lathe = evolve(BARE, gear_set=GearSet((20, 100)))
        assert any("more than 4:1" in w for w in gc.change_card(lathe, to=gc.setup(lathe, 20, 100)).warnings)


class TestSaving:
    @pytest.mark.parametrize(
        ("ending", "start"), [(".html", b"<!DOCTYPE html>"), (".txt", b"CHANGE-OVER CARD"), (".pdf", b"%PDF-")]
    )
    def test_by_ending(self, tmp_path, ending, start):
        card = gc.change_card(INCH, to=THEN, mounted=NOW)
        path = card.save(tmp_path / f"card{ending}")
        assert path.read_bytes().startswith(start)
        assert [p.name for p in tmp_path.iterdir()] == [f"card{ending}"]

    def test_an_ending_in_capitals(self, tmp_path):
        assert gc.change_card(INCH, to=THEN).save(tmp_path / "card.TXT").is_file()

    def test_another_ending(self, tmp_path):
        with pytest.raises(ValueOutOfRangeError, match=r"\.html, \.pdf, \.txt"):
            gc.change_card(INCH, to=THEN).save(tmp_path / "card.docx")

    def test_a_folder_that_is_not_there(self, tmp_path):
        with pytest.raises(NotPossibleError, match="can't be saved here"):
            gc.change_card(INCH, to=THEN).save(tmp_path / "gone" / "card.txt")

    def test_the_old_file_survives_a_failure(self, tmp_path, monkeypatch):
        path = tmp_path / "card.txt"
        path.write_text("old")
        monkeypatch.setattr("os.fsync", lambda _: (_ for _ in ()).throw(OSError("disk full")))
        with pytest.raises(NotPossibleError):
            gc.change_card(INCH, to=THEN).save(path)
        assert [(p.name, p.read_text()) for p in tmp_path.iterdir()] == [("card.txt", "old")]

    def test_both_sides_of_one_sheet(self):
        metric = gc.demo_lathe("metric")
        two = gc.setup(metric, (56, 50), (60, 80), "fast")
        three = gc.find_setups(metric, "11 1/2 tpi", meshes=3, count=1, mounted=two.as_built)[0]
        assert gc.change_card(INCH, to=PAIRS, mounted=NOW).on_paper().pages == 2
        assert gc.change_card(metric, to=three, mounted=two).on_paper().pages == 2


PAD = 1.4
"""How much wider the paper under a count is than the count itself, mm."""


def labels(marks):
    """The tooth counts on paper: words and the box of paper that each stands on, which is the mark before it."""
    for under, mark in pairwise(marks):
        if isinstance(mark, Words) and mark.align == "middle":
            (left, top), _, (right, bottom), _ = under.points
            yield mark.words, (left, top, right, bottom)


class TestOnPaper:
    def test_the_frames_of_both_pictures_are_whole(self):
        """A frame drawn along the edge of its room must not be cut off there."""
        paper = gc.change_card(INCH, to=THEN, mounted=NOW).on_paper()
        width, height = paper.size_mm
        frames = [
            mark
            for mark in paper._pages[0]
            if isinstance(mark, Shape) and len(mark.points) == 4 and mark.points[2][1] - mark.points[0][1] > 40
        ]
        assert len(frames) == 2
        assert all(12 < x < width - 12 and 12 < y < height - 12 for frame in frames for x, y in frame.points)

    @pytest.mark.parametrize(
        ("lathe", "given", "size"),
        [
            (INCH, None, (210, 297)),
            (INCH.with_show(paper="Letter"), None, (215.9, 279.4)),
            (INCH, "LETTER", (215.9, 279.4)),
            (INCH.with_show(paper="letter"), "a4", (210, 297)),
        ],
    )
    def test_the_paper_is_the_one_named_else_the_owners(self, lathe, given, size, tmp_path):
        """ISO 216 and ANSI/ASME Y14.1, in mm; a PDF counts in points, 72 to the inch."""
        card = gc.change_card(lathe, to=gc.setup(lathe, 40, 80, "low", wanted="32 tpi"))
        assert card.on_paper(given).size_mm == size
        if given:
            printed = card.save(tmp_path / "card.pdf", given).read_bytes()
            box = re.search(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", printed)
            assert box is not None
            assert [float(side) * 25.4 / 72 for side in box.groups()] == pytest.approx(size, abs=0.1)
        html = card.save(tmp_path / "card.html", given).read_text()
        assert f"@page {{ size: {'A4' if size[0] == 210 else 'Letter'}; " in html
        assert '@bottom-left { content: "The manual, local rules and a qualified person come first.' in html

    @pytest.mark.parametrize("size", ["A4", "Letter", "A3"])
    def test_the_foot_stands_on_every_page_and_nothing_beneath_it(self, size):
        """Within the 12.5 mm margin, of which most printers need 4 to 6 mm (common practice, no source)."""
        for lathe, wanted in ((INCH, "M10"), (INCH, "16 tpi"), (gc.demo_lathe("metric"), "lead 2 in")):
            paper = gc.change_card(lathe, to=gc.find_setups(lathe, wanted, count=1)[0]).on_paper(size)
            foot = paper.size_mm[1] - 12.5
            for page in range(1, paper.pages + 1):
                said = {mark.words: mark.y for mark in paper._numbered()[page - 1] if isinstance(mark, Words)}
                at = {words: y for words, y in said.items() if words.startswith(("The manual, local rules", "page "))}
                assert len(at) == (2 if paper.pages > 1 else 1)
                assert all(y == pytest.approx(foot) for y in at.values())
                assert all(y < foot - 2.5 for words, y in said.items() if words not in at)

    @pytest.mark.parametrize("size", ["A4", "letter"])
    def test_each_has_two_pages_however_many_gears(self, size):
        """The two sides of one sheet, on either paper: pictures and type give way, and never below 8.6 points."""
        for lathe, wanted in ((INCH, "module 1"), (INCH, "lead 2 in"), (gc.demo_lathe("metric"), "lead 2 in")):
            paper = gc.change_card(lathe, to=gc.find_setups(lathe, wanted, count=1)[0]).on_paper(size)
            assert paper.pages <= 2
            assert paper.steps_pt >= 8.6

    def test_numbers_of_teeth_and_every_step_are_on_it(self):
        card = gc.change_card(INCH, to=PAIRS, mounted=NOW)
        paper = card.on_paper("letter")
        pages = [[mark for mark in marks if isinstance(mark, Words)] for marks in paper._pages]
        said = " ".join(mark.words for marks in pages for mark in marks)
        for step in card.steps:
            assert f"{step.title}." in said
            assert all(gear in said for gear in step.gears if len(gear) < 60)
        counts = sorted(int(words) for words, _ in labels(paper._pages[0]))
        assert counts == sorted([*NOW.as_built.train.gears, *card.setup.train.gears])


class TestLabelsOnPaper:
    """Each count is read: no label on another, none that hides the gear it names or lies on a gear before it."""

    @in_one(
        ("lathe", "wanted"),
        [
            ("metric", "lead 2 in"),
            ("metric", "lead 100 mm"),
            ("metric", "module 1"),
            ("inch", "1.5 mm"),
            ("inch", "12 tpi"),
            ("inch", "80 tpi"),
            ("metric", "lead 25 mm"),
        ],
    )
    def test_none_lies_on_another(self, lathe, wanted):
        lathe = gc.demo_lathe(lathe)
        for made in gc.find_setups(lathe, wanted, count=4):
            card = gc.change_card(lathe, to=made, mounted=NOW.train if lathe is INCH else None)
            boxes = [place for _, place in labels(card.on_paper()._pages[0])]
            assert len(boxes) >= len(card.setup.train.gears)
            for one, other in combinations(boxes, 2):
                assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]

    def test_a_small_gear_is_seen_beside_its_label(self):
        """A label takes no more than half of the disc that it stands on."""
        lathe = gc.demo_lathe("metric")
        marks = gc.change_card(lathe, to=gc.find_setups(lathe, "lead 2 in", count=1)[0]).on_paper()._pages[0]
        gears = [mark.points for mark in marks if isinstance(mark, Shape) and len(mark.points) > 50]
        extents = [(min(x), min(y), max(x), max(y)) for x, y in (zip(*points, strict=True) for points in gears)]
        told = list(labels(marks))
        assert "127" in [words for words, _ in told]
        assert len(extents) == len(told)
        for _, (left, top, right, bottom) in told:
            x, y = (left + right) / 2, (top + bottom) / 2
            on = [gear for gear in extents if gear[0] < x < gear[2] and gear[1] < y < gear[3]]
            assert all(right - left - PAD < 0.8 * (gear[2] - gear[0]) for gear in on)


class TestWhatAUserTyped:
    def test_is_escaped(self, tmp_path):
        lathe = evolve(
            INCH, name=f"{EVIL} lathe", gearbox=(Lever(EVIL, "1"), *INCH.gearbox)
        )  # the name and the lever are the user's
        card = gc.change_card(lathe, to=gc.setup(lathe, 40, 60, EVIL, 35, wanted="12 tpi"), mounted=NOW.train)
        for page in (card._repr_html_(), card.page):
            assert "<script" not in page
            assert "&lt;script&gt;" in page
        assert "<script" not in card.on_paper().svg(1)
        assert card.save(tmp_path / "card.pdf").stat().st_size > 5000

    @pytest.mark.parametrize("nothing", [None, "40/80", 3])
    def test_no_setup(self, nothing):
        with pytest.raises(ValueOutOfRangeError, match="a setup is wanted here"):
            gc.change_card(INCH, to=nothing)

    def test_no_lathe(self):
        with pytest.raises(ValueOutOfRangeError, match="lathe"):
            gc.change_card("inch", to=THEN)

    def test_what_is_mounted_can_not_be_read(self):
        with pytest.raises(ValueOutOfRangeError):
            gc.change_card(INCH, to=THEN, mounted="a gear or two")
        with pytest.raises(ValueOutOfRangeError, match="mounted"):
            gc.change_card(INCH, to=THEN, mounted=40)

    def test_a_gear_that_is_not_owned(self):
        with pytest.raises(GearNotOwnedError):
            gc.change_card(INCH, to=THEN, mounted="41/80")

    def test_a_setup_of_another_lathe(self):
        with pytest.raises(NotPossibleError, match="made for another lathe"):
            gc.change_card(INCH, to=gc.find_setups(gc.demo_lathe("metric"), "1/4-20")[0])


class TestOddGears:
    """A card for a lathe whose gears are not all loose, of one size and sound."""

    LATHE = gc.Lathe.from_toml(
        'name = "Odd lathe"\nleadscrew.lead = "3 mm"\n[gears]\nteeth = [20, 25, 30, 40, 60, 75, 80]\nmodule_mm = 1.25\n'
        "fixed = { first_driver = 40, last_driven = 60 }\ndamaged = [75]\nclusters = [[42, 54]]\n"
        "[[more_gears]]\nteeth = [30, 48]\nmodule_mm = 1\n"
    )

    def card(self, train, mounted):
        return gc.change_card(self.LATHE, to=gc.setup(self.LATHE, *train), mounted=mounted)

    def test_a_fixed_gear_is_never_taken_off_or_fetched(self):
        card = self.card(((40, 25), (80, 60)), "40/60")
        steps = {step.key: step for step in card.steps}
        assert steps["strip"].title == "Nothing has to come off"
        assert [gear.split()[0] for gear in steps["build"].gears if gear[0].isdigit()] == ["80", "25"]
        assert card.needed[1].startswith("From the box: gears 25, 80.")

    def test_a_cluster_is_fetched_as_one(self):
        card = self.card(((40, 54), (42, 60)), "40/60")
        assert card.needed[1].startswith("From the box: gear 42 and 54 in one piece.")
        built = next(step for step in card.steps if step.key == "build").gears
        assert built[1] == (
            "54 and 42 in one piece on the stud, the 54 in the plane behind the fixed 40, and the 42 in the plane of "
            "the fixed 40: the 54 second driver, in mesh with 60; the 42 first driven, in mesh with 40"
        )
        assert not any("keyed" in gear for gear in built)
        assert card.counted == f"Gears: 0 off, {len(built) - 1} on."  # besides the gears, the stud

    def test_a_cluster_comes_off_as_one(self):
        card = self.card(((40,), (60,)), "(40 42)/(54 60)")
        assert steps(card)["strip"].gears[0] == (
            "42 and 54 in one piece, second driver and first driven, off the stud, the 42 in the plane in front of the "
            "fixed 40, and the 54 in the plane of the fixed 40"
        )
        assert card.counted == "Gears: 1 off, 0 on."

    def test_a_cluster_that_is_on_is_not_fetched_from_the_box(self):
        """As an idler one half of it is in the train, as driven gear and driver both are."""
        card = self.card(((40, 54), (42, 60)), "40/60, idler 54")
        assert card.needed[1] == "No gear from the box: all that is needed is on the lathe."
        assert [gear.split(" on the")[0] for gear in steps(card)["build"].gears] == [
            "54 and 42 in one piece (just taken off)"
        ]

    def test_the_idle_gear_of_an_idler_is_on_the_card_and_in_its_pictures(self):
        card = self.card(((40,), (60,), None, (54,)), "40/60, idler 20")
        assert card.needed[1].startswith("From the box: gear 42 and 54 in one piece.")
        assert card.counted == "Gears: 1 off, 1 on."
        (built,) = steps(card)["build"].gears
        assert built.startswith(
            "54 and 42 in one piece on the stud, the 54 in the plane of the fixed 40, and the 42 in "
        )
        assert built.endswith(": the 54 idler, in mesh with 40 and 60; the 42 idle, in mesh with nothing")
        assert "42 idle goes on" in card.picture.description
        text = " ".join(str(card).split())
        (where,) = re.findall(r"and the 42 in the plane (in front of|behind) the fixed 40", built)
        said = "The idle 42 of the cluster 42–54 is in one piece with the idler 54 and meshes with nothing"
        assert f"{said}, in the plane {where} it." in text
        assert "Broken ring: in one piece with an idler" in card.on_paper().svg()

    def test_a_fixed_gear_is_in_one_plane_before_and_after(self):
        lathe = gc.Lathe.from_toml(self.LATHE.to_toml().replace(", last_driven = 60", ""))
        card = gc.change_card(lathe, to=gc.setup(lathe, (40, 54), (42, 60)), mounted="(40 25)/(80 60)")
        before, after = (
            [gear.plane for gear in drawn.gears if gear.teeth == 40] for drawn in (card.before, card.after)
        )
        assert before == after
        off, on = (" ".join(steps(card)[key].gears) for key in ("strip", "build"))
        assert "25, second driver, off the stud, in the plane in front of the fixed 40" in off
        assert "the 54 in the plane behind the fixed 40" in on
        assert "headstock" not in off + on
        assert not [said for said in card.warnings if "along its shaft" in said]

    @pytest.mark.parametrize(("mounted", "told"), [("(40 25)/(80 60)", False), ("40/60", True), (None, True)])
    def test_two_fixed_gears_stand_so_far_apart_as_they_stand(self, mounted, told):
        """Of 80 and 30 on the stud the smaller is in front, as of 80 and 25; one mesh has both ends in one plane."""
        said = " ".join(self.card(((40, 30), (80, 60)), mounted).warnings)
        assert ("The fixed 60 on the leadscrew must stand in the plane in front of the fixed 40" in said) is told
        assert ("what is mounted has it in the plane of the fixed 40" in said) is (mounted == "40/60")

    def test_what_is_damaged_is_said_and_why_the_fit_is_not_checked(self):
        said = " ".join(self.card(((40,), (60,)), None).warnings)
        assert "Damaged, and never to be used: 75 (module 1.25)." in said

    def test_of_which_gears_a_damaged_one_is_one(self):
        gears = "teeth = [20, 40, 60, 75, 75]\nfixed = { first_driver = 40, last_driven = 60 }\ndamaged = [75]\n"
        lathe = gc.Lathe.from_toml(f'name = "Two of 75"\nleadscrew.lead = "3 mm"\n[gears]\n{gears}')
        said = " ".join(gc.change_card(lathe, to=gc.setup(lathe, (40,), (60,))).warnings)
        assert "Damaged, and never to be used: one of the two 75." in said

    def test_another_size_is_named(self):
        lathe = gc.Lathe.from_toml(
            self.LATHE.to_toml().replace("fixed = { first_driver = 40, last_driven = 60 }\n", "")
        )
        card = gc.change_card(lathe, to=gc.setup(lathe, (20, 30), (40, 48)), mounted="20/40")
        assert card.needed[1].startswith("From the box: gears 30 (module 1), 48 (module 1).")


def test_a_damaged_gear_on_the_lathe_comes_off():
    """It may well be mounted when it breaks; only what goes on must be whole."""
    lathe = gc.Lathe.from_toml(gc.demo_lathe("inch").to_toml().replace("[gears]", "[gears]\ndamaged = [80]"))
    setup = gc.find_setups(lathe, "16 tpi", count=1)[0]
    card = gc.change_card(lathe, setup, mounted="40/80, idler 25")
    assert 80 not in setup.train.gears
    assert any("80" in line for step in card.steps for line in step.gears if "off" in line)
    with pytest.raises(gc.GearcalcError, match="80 teeth is damaged"):
        gc.change_card(lathe, gc.setup(gc.demo_lathe("inch"), 40, 80, "middle"))
