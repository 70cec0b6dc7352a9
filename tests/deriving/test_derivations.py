"""Derivations and missing gears: what each step says, and that it is true."""

from __future__ import annotations

import re
import textwrap
from fractions import Fraction
from html.parser import HTMLParser
from itertools import chain, product, repeat
from math import prod

import pytest
import sympy

from gearcalc.basics.errors import GearNotOwnedError, NotPossibleError, UnknownNameError, ValueOutOfRangeError
from gearcalc.deriving.derivations import Derivation, derive
from gearcalc.deriving.missing_gears import solve_for_gear
from gearcalc.deriving.quantities import lead_wanted
from gearcalc.finding.setups import Setup, setup
from gearcalc.lathes import Feeds, GearSet, Leadscrew, Lever, SpindleSide, demo_lathe
from gearcalc.lathes.gear_sets import Fixed
from gearcalc.lathes.levers import BoxLever
from gearcalc.threads import Feed, Thread
from tests.benches import lathe
from tests.how_much import in_one

LOW = Lever("low", 1)
INCH, METRIC = demo_lathe("inch"), demo_lathe("metric")
NASTY = '<script>alert("x")</script> $\\frac{1}{2}$ & \\'


def equation(shown, name: str) -> str:
    """The equation for the thing of that name, on one line."""
    (step,) = [step for step in shown.steps if step.target.words == name]
    return " ".join(step.equation_text.split())


def in_words(made: Setup) -> str:
    return " ".join(step.words for step in derive(made).steps)


class TextOf(HTMLParser):
    """The tags of a page, and what stands between them."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open, self.tags, self.text = [], set(), ""
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        if tag != "br":
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data


class TestDerive:
    def test_a_simple_train_with_a_lever_on_an_inch_leadscrew(self):
        shown = derive(setup(INCH, 40, 80, "low", wanted="32 tpi"))
        assert shown.lead == sympy.Rational(127, 160)
        assert [step.target.words for step in shown.steps] == [
            "turns of the first driver",
            "train",
            "turns of the leadscrew",
            "lead cut",
            "error",
            "turned round",
        ]
        assert equation(shown, "train") == "train = first driver/first driven = 40/80 = 1/2"
        assert equation(shown, "turns of the leadscrew").endswith("× lever = 1 × 1/2 × 1/2 = 1/4")
        assert equation(shown, "lead cut").endswith(
            "= 1/4 × 25.4/8 mm = 1/4 × 127/40 mm = 127/160 mm = 0.79375 mm (32 tpi)"
        )
        assert equation(shown, "error").endswith("= (0.79375 − 0.79375)/0.79375 = 0")

    def test_a_compound_train_is_the_product_of_its_meshes(self):
        shown = derive(setup(METRIC, (40, 30), (80, 60), "fast"))
        assert equation(shown, "first mesh").endswith("= 40/80 = 1/2")
        assert equation(shown, "second mesh").endswith("= 30/60 = 1/2")
        assert equation(shown, "train").endswith("= 40/80 × 30/60 = (40 · 30)/(80 · 60) = 1/4")
        assert "second driver is keyed on one stud with the first driven" in shown.long.text.replace("\n    ", " ")

    def test_a_symbol_has_the_number_of_its_name(self):
        shown = derive(setup(METRIC, (40, 30, 50), (80, 60, 20), "fast"))
        gears = {gear.symbol.name: gear.words for step in shown.steps for gear in step.known if gear.letter == "z"}
        names = {1: "first", 2: "second", 3: "third"}
        sides = ("driver", "driven")
        assert gears == {f"z_{side}_{place}": f"{names[place]} {side}" for place in names for side in sides}

    def test_the_long_one_ends_with_its_last_step(self):
        long = derive(setup(METRIC, 40, 80, "fast")).long
        assert long.closing == ""
        assert long.latex.endswith(rf"\qquad\displaystyle {long.steps[-1].latex}\end{{array}}")

    def test_two_meshes_take_at_most_eight_steps(self):
        assert len(derive(setup(INCH, (40, 30), (80, 60), "low", (50,), "32 tpi")).steps) == 8

    def test_an_idler_is_shown_to_cancel(self):
        shown = derive(setup(METRIC, 40, 80, "fast", (50,)))
        assert equation(shown, "train") == (
            "train = first driver/idler × idler/first driven = 40/50 × 50/80 = 40/80 = 1/2"
        )

    def test_so_are_several(self):
        shown = derive(setup(METRIC, 40, 80, "fast", (50, 60)))
        assert equation(shown, "train") == (
            "train = first driver/idler 1 × idler 1/idler 2 × idler 2/first driven "
            "= 40/50 × 50/60 × 60/80 = 40/80 = 1/2"
        )

    def test_the_spindle_side_counts(self):
        geared = lathe(spindle_side=SpindleSide("2/3"))
        shown = derive(setup(geared, 20, 40))
        assert equation(shown, "turns of the first driver").endswith("× spindle side = 1 × 2/3 = 2/3")
        assert shown.lead == 1

    def test_a_metric_leadscrew_needs_no_inches(self):
        shown = derive(setup(METRIC, 40, 80, "fast"))
        assert equation(shown, "lead cut").endswith("= 1/2 × 3 mm = 1.5 mm (≈ 16.933 tpi)")
        assert "inch" not in shown.steps[3].words

    def test_a_leadscrew_of_more_than_an_inch_a_turn(self):
        coarse = lathe(leadscrew=Leadscrew(Fraction(127, 5) * Fraction(3, 2)))
        shown = derive(setup(coarse, 20, 40))
        assert "1/2 × (3 · 25.4)/2 mm = 1/2 × 381/10 mm" in equation(shown, "lead cut")
        assert "1 1/2 inch" in " ".join(step.words for step in shown.steps)

    def test_a_worm_keeps_its_pi(self):
        shown = derive(setup(METRIC, (127, 30), (60, 80), "fast", wanted="module 0.75"))
        error = next(step for step in shown.steps if step.target.words == "error")
        assert equation(shown, "error").endswith("= (2.38125 − 0.75 π)/(0.75 π) ≈ +10 634 ppm")
        assert sympy.simplify(error.result - (sympy.Rational(127, 40) / sympy.pi - 1)) == 0

    def test_the_error_is_a_fraction_and_then_ppm(self):
        near = lathe(leadscrew=Leadscrew(Fraction(127, 40)), gear_set=GearSet((30, 63, 50, 80)))
        close = derive(setup(near, (30, 63), (50, 80), wanted="1.5 mm"))
        assert equation(close, "error").endswith("= (1.5001875 − 1.5)/1.5 = 1/8000 = +125 ppm")

    def test_what_is_exact_is_said_to_be_just_that_and_what_is_near_is_not(self):
        exact, near = (in_words(setup(METRIC, 40, 80, "fast", wanted=wanted)) for wanted in ("1.5 mm", "1.6 mm"))
        assert "What is wanted is 1.5 mm, a lead of 1.5 mm. What is cut is just that." in exact
        assert "What is cut is too short" in near

    def test_levers_multiply_where_there_are_two(self):
        said = [in_words(setup(one, 40, 80, one.positions[0].name)) for one in (METRIC, demo_lathe("odd"))]
        assert ["for each turn that comes to it, and they multiply." in words for words in said] == [False, True]

    def test_a_lead_is_a_decimal_where_it_ends_within_nine_places(self):
        wanted = [lead_wanted(METRIC, Thread.parse(text)) for text in ("513/512 mm", "1025/1024 mm")]
        assert [str(each.shown) for each in wanted] == ["1.001953125", "1025/1024"]

    def test_its_steps_are_those_of_the_long_one_and_no_others(self):
        shown = derive(setup(METRIC, 40, 80, "fast"))
        assert shown.steps == shown.long.steps
        with pytest.raises(TypeError, match="steps"):
            Derivation(title="", lines=(), long=shown.long, lead=shown.lead, steps=())

    def test_written_by_python_it_is_short(self):
        shown = derive(setup(METRIC, 40, 80, "fast"))
        assert "long=" not in repr(shown)
        assert "steps=" not in repr(shown) + repr(shown.long)

    @pytest.mark.parametrize(("along", "ratio"), [("longitudinal", "1/6"), ("cross", "1/12")])
    def test_a_feed_ends_with_the_feed_drive(self, along, ratio):
        shown = derive(setup(METRIC, 40, 80, "fast", wanted=Feed.parse(f"0.25 mm/rev {along}")))
        assert equation(shown, "feed").startswith(f"feed = lead cut × feed drive = 1.5 × {ratio} mm = ")
        assert shown.lead == Fraction(3, 2)

    def test_a_feed_by_the_half_nuts_alone(self):
        plain = lathe(feeds=Feeds())
        shown = derive(setup(plain, 20, 40, wanted="1.5 mm/rev"))
        assert "as far as the half-nuts give" in shown.long.text
        assert equation(shown, "error").endswith("= 0")

    @in_one(("along", "slide"), [("longitudinal", "carriage"), ("cross", "cross slide")])
    def test_the_error_of_a_feed_is_that_of_the_slide(self, along, slide):
        shown = derive(setup(METRIC, 40, 80, "fast", wanted=Feed.parse(f"0.3 mm/rev {along}")))
        drive = {"longitudinal": Fraction(1, 6), "cross": Fraction(1, 12)}[along]
        cut = Fraction(3, 2) * drive
        (step,) = [step for step in shown.steps if step.target.words == "error"]
        assert step.result == cut / Fraction(3, 10) - 1
        assert f"/feed wanted = ({float(cut)} − 0.3)/0.3 = " in equation(shown, "error")
        assert f"through the feed drive the {slide} goes {drive} of what the half-nuts would give" in in_words(
            setup(METRIC, 40, 80, "fast", wanted=Feed.parse(f"0.3 mm/rev {along}"))
        )
        (line,) = [line for line in shown.lines if line.name == "Feed"]
        assert [each.words for each in line.says.known] == [
            "turns of the leadscrew",
            "lead of the leadscrew",
            "feed drive",
        ]
        assert line.says.result == cut

    def test_the_lathe_goes_without_saying(self):
        with pytest.raises(ValueOutOfRangeError, match="A setup knows its lathe"):
            derive(INCH)


class TestWhatAStepSays:
    """Against what its equation has in it: words name each thing that counts there, and nothing else."""

    @in_one("ratio", [Fraction(1), Fraction(1, 2), Fraction(2), Fraction(2, 3)])
    @in_one("sides", ["", "s", "l", "ss", "sl", "ls", "ll"])
    def test_of_the_turns_that_come_to_the_gears_and_go_on_from_them(self, ratio, sides):
        turns = {Fraction(1): "1 turn", Fraction(2): "2 turns"}
        each = [
            (f"lever {name}", Fraction(1, number), {"s": "spindle", "l": "leadscrew"}[side])
            for number, (name, side) in enumerate(zip(("range", "cone"), sides, strict=False), 2)
        ]
        box = tuple(BoxLever(name[6:], (Lever("on", part),), side) for name, part, side in each)
        made = lathe(spindle_side=SpindleSide(ratio), box=box)
        shown = derive(setup(made, 20, 40, made.positions[0].name if box else None))
        first, leadscrew = (
            next(step for step in shown.steps if step.target.words == f"turns of the {name}")
            for name in ("first driver", "leadscrew")
        )
        gives = {
            side: [f"the {name} at on gives {part} of a turn" for name, part, on in each if on == side]
            for side in ("spindle", "leadscrew")
        }
        side_words = ["spindle side"] if ratio != 1 else []
        ahead, behind = ([name for name, _, on in each if on == side] for side in ("spindle", "leadscrew"))
        assert [one.words for one in first.known] == ["turns of the spindle", *side_words, *ahead]
        assert [one.words for one in leadscrew.known] == ["turns of the first driver", "train", *behind]
        assert first.result == ratio * prod(part for _, part, on in each if on == "spindle")
        assert leadscrew.result == first.result / 2 * prod(part for _, part, on in each if on == "leadscrew")

        made_of_it = turns.get(ratio, f"{ratio} of a turn")
        if ahead:
            expected = f"The gears on the spindle side make {made_of_it} of it. " if ratio != 1 else ""
            expected += f"Ahead of the first driver {' and '.join(gives['spindle'])}, for each turn that comes to it"
            expected += ", and they multiply." if len(ahead) > 1 else "."
        elif ratio != 1:
            expected = f"The gears between it and the first driver give the first driver {made_of_it}."
        else:
            expected = "The first driver turns once with it."
        assert first.words == f"Turn the spindle once. {expected}"

        if len(behind) > 1:
            expected = f"behind the last driven gear {' and '.join(gives['leadscrew'])}, for each turn that comes to it"
            expected += ", and they multiply."
        elif behind:
            (part,) = [part for _, part, on in each if on == "leadscrew"]
            expected = (
                f"for each turn of the last driven gear the {behind[0]} in position on gives it {part} of a turn."
            )
        else:
            expected = "the last driven gear turns it."
        assert leadscrew.words == f"The leadscrew: {expected}"

    @in_one(
        ("idlers", "said"),
        [
            ((), None),
            ((50,), "The idler between them, 50 teeth, passes on just as many teeth as it takes in, so it cancels:"),
            ((50, 60), "The idlers between them, 50 and 60 teeth, pass on just as many teeth as they take in, so they"),
            ((50, 60, 20), "The idlers between them, 50, 60 and 20 teeth, pass on just as many teeth as they take in"),
        ],
    )
    def test_of_a_mesh_with_its_idlers(self, idlers, said):
        (words,) = [step.words for step in derive(setup(lathe(), 30, 40, None, idlers)).steps if "mesh" in step.words]
        assert ("between them" in words) == bool(idlers)
        assert said is None or said in words

    def test_of_a_mesh_with_its_number(self):
        shown = derive(setup(lathe(), (20, 30, 40), (50, 60, 80)))
        meshes = {step.target.words: step for step in shown.steps if step.target.words.endswith(" mesh")}
        names = ["first", "second", "third"]
        assert [*meshes] == [f"{name} mesh" for name in names]
        for number, (name, mesh) in enumerate(zip(names, meshes.values(), strict=True), 1):
            assert mesh.target.symbol.name == f"r_mesh_{number}"
            assert mesh.target.latex == rf"r_{{\text{{mesh {number}}}}}"
            assert mesh.words.startswith(f"{name.capitalize()} mesh: ")
            before = f"the {name} driver is keyed on one stud with the {names[number - 2]} driven"
            assert (before in mesh.words) == (number > 1)

    def test_of_the_travel(self):
        inch, metric = (derive(setup(one, 40, 80, "low")).steps[3].words for one in (INCH, lathe(gearbox=(LOW,))))
        along = "The carriage: in each turn of the leadscrew the half-nuts carry it along by the leadscrew's lead"
        end = ". What it travels while the spindle turns once is the lead that is cut."
        assert metric == along + end
        assert inch == f"{along}, here 1/8 of an inch, at 25.4 mm an inch{end}"

    @in_one("places", range(1, 9))
    def test_a_lead_is_a_fraction_too_where_its_decimal_is_rounded(self, places):
        lead = 3 + Fraction(1, 10**places)
        said = equation(derive(setup(lathe(leadscrew=Leadscrew(lead)), 20, 20)), "lead cut")
        assert (f" = {lead} mm" in said) == (places > 6)
        assert (f" = {3 + 10**-places} mm (" in said) == (places <= 6)

    @in_one(
        ("ppm", "said"), [("1/2", "= +0.5 ppm"), ("-1/2", "= −0.5 ppm"), ("125", "= +125 ppm"), ("1/3", "≈ +0.333 ppm")]
    )
    def test_of_which_side_an_error_is_however_small(self, ppm, said):
        ppm = Fraction(ppm)
        off = lathe(leadscrew=Leadscrew(3 + 3 * ppm / 10**6))
        shown = derive(setup(off, 20, 20, wanted="3 mm"))
        assert f"What is cut is too {'long' if ppm > 0 else 'short'}, by so many millionths" in shown.long.text.replace(
            "\n    ", " "
        )
        assert equation(shown, "error").endswith(said)

    @in_one("digits", [2, 3, 4, 5])
    def test_an_error_is_about_so_much_unless_it_is_just_that(self, digits):
        off = lathe(leadscrew=Leadscrew(3 + 3 * (125 + Fraction(1, 10**digits)) / 10**6))
        assert equation(derive(setup(off, 20, 20, wanted="3 mm")), "error").endswith(" ≈ +125 ppm")

    @in_one("turning", product([True, False], repeat=2))
    def test_of_what_turns_the_motion_round(self, turning):
        same_way, gearbox = turning
        made = lathe(spindle_side=SpindleSide(same_way=same_way), gearbox=(Lever("only", 1, gearbox),))
        shown = derive(setup(made, 20, 40, "only"))
        others = [name for name, way in (("the spindle side", same_way), ("the gearbox", gearbox)) if not way]
        named = " and ".join(others)
        also, once_more = {
            0: ("", ""),
            1: (f", and so does {named}", f", and {named} once more"),
            2: (f", and so do {named}", f", and {named} once more each"),
        }[len(others)]
        assert shown.steps[-1].words.startswith(
            f"Which way: every place where teeth touch turns the motion round{also}. {1 + len(others)} is "
        )
        assert f"in 1 place, and turn the motion round there{once_more}. {1 + len(others)} is" in shown.lines[-1].says


class TestDirection:
    """The last step, against turning directions followed gear by gear."""

    @in_one("idlers", [(), (50,), (50, 60)])
    @in_one("hand", ["right", "left"])
    @in_one("spindle_side", [True, False])
    @in_one("gearbox", [True, False])
    def test_which_hand_comes_out(self, idlers, hand, spindle_side, gearbox):
        turning = lathe(
            leadscrew=Leadscrew(3, hand),
            spindle_side=SpindleSide(same_way=spindle_side, reverse=False),
            gearbox=(Lever("only", 1, gearbox),),
        )
        forward = 1 if spindle_side else -1
        for _ in range(len(idlers) + 1):
            forward = -forward
        forward = forward if gearbox else -forward
        shown = derive(setup(turning, 20, 40, "only", idlers))
        words = shown.steps[-1].words
        assert ("the same way as the spindle" in words) == (forward == 1)
        came_out = hand if forward == 1 else {"right": "left", "left": "right"}[hand]
        assert f"With a {hand}-hand leadscrew that cuts a {came_out}-hand thread" in words
        assert (shown.steps[-1].result % 2 == 0) == (forward == 1)

    @in_one(
        ("wanted", "reverse", "said"),
        [
            ("1.5 mm", True, "put the reverse over"),
            ("1.5 mm LH", True, "leave the reverse"),
            ("1.5 mm", False, "no reverse, so put an idler more"),
            ("1.5 mm LH", False, "as wanted."),
            (None, True, "the reverse, put over, makes it right-hand"),
            (None, False, "an idler more or less makes it right-hand"),
            (
                "1.5 mm/rev",
                True,
                "away from the headstock while the spindle runs forward; to feed toward it, put the rev",
            ),
            ("1.5 mm/rev", False, "to feed toward it, put an idler more"),
        ],
    )
    def test_what_the_reverse_must_do(self, wanted, reverse, said):
        turning = lathe(spindle_side=SpindleSide(reverse=reverse))
        assert said in derive(setup(turning, 20, 40, wanted=wanted)).steps[-1].words

    def test_a_cross_feed_is_left_to_the_feed_drive(self):
        words = derive(setup(METRIC, 40, 80, "fast", wanted="0.1 mm/rev cross")).steps[-1].words
        assert "up to the feed drive" in words
        assert "headstock" not in words


class TestInShort:
    """What is shown unless more is asked for: ratio, lever, lead, error, way."""

    @pytest.mark.parametrize(
        ("shown", "names"),
        [
            (setup(INCH, (40, 30), (80, 60), "low", (50,), "32 tpi"), "Ratio Lever Lead Error Way"),
            (setup(METRIC, 40, 80, "fast", wanted="0.25 mm/rev"), "Ratio Lever Feed Error Way"),
            (setup(INCH, 40, 80, "low"), "Ratio Lever Lead Way"),
            (setup(lathe(spindle_side=SpindleSide("2/3")), 20, 40), "Ratio Turns Lead Way"),
            (setup(lathe(), 20, 40), "Ratio Lead Way"),
        ],
    )
    def test_five_lines_at_most(self, shown, names):
        assert [line.name for line in derive(shown).lines] == names.split()

    def test_what_each_line_says(self):
        shown = derive(setup(INCH, (40, 30), (80, 60), "low", wanted="1.5 mm"))
        said = {line.name: " ".join(str(line).split()) for line in shown.lines}
        assert said["Ratio"] == "Ratio train = drivers/driven = (40 · 30)/(80 · 60) = 1/4"
        assert said["Lever"] == "Lever turns of the leadscrew = train × lever = 1/4 × 1/2 = 1/8"
        assert said["Lead"].endswith("= 1/8 × 25.4/8 mm = 127/320 mm = 0.396875 mm (64 tpi)")
        assert said["Error"].endswith("= (0.396875 − 1.5)/1.5 = −353/480 ≈ −735 417 ppm")
        assert "2 is even, so the leadscrew turns the same way as the spindle" in said["Way"]
        assert shown.text.splitlines()[2:] == "\n".join(map(str, shown.lines)).splitlines()

    def test_no_error_is_said_in_words(self):
        (error,) = [line for line in derive(setup(INCH, 40, 80, "low", wanted="32 tpi")).lines if line.name == "Error"]
        assert error.says == "None: what is wanted is 32 tpi, a lead of 25.4/32 mm = 0.79375 mm."

    def test_nobody_reads_the_long_one_unasked(self):
        shown = derive(setup(INCH, (40, 30), (80, 60), "low", (50,), "module 1"))
        assert len(shown.text.split()) < 150 < 300 < len(shown.long.text.split())
        open_page = shown._repr_html_().split("<details>")[0]
        assert all(step.words not in open_page for step in shown.steps)
        assert shown.long._repr_html_() in shown._repr_html_()
        assert all(step.words[:30] not in shown.latex for step in shown.steps)

    def test_whatever_else_turns_the_motion_round_is_named(self):
        turning = lathe(spindle_side=SpindleSide(same_way=False), gearbox=(Lever("only", 1, False),))
        words = derive(setup(turning, 20, 40, "only")).lines[-1].says
        assert "1 place, and turn the motion round there, and the spindle side and the gearbox once more each" in words
        assert "3 is odd" in words


class TestInShortInALesson:
    def test_a_sum_too_long_for_the_page_of_a_lesson_goes_on_below(self):
        """491 px are left beside the names in JupyterLab 1366 px wide; on one row this took 549 (measured there)."""
        metric = lathe(gear_set=GearSet((40, 48, 50, 60, 66, 72)))
        shown = derive(setup(metric, (72, 60, 48), (40, 50, 66), wanted="module 1.5"))
        (cut,) = re.findall(r"<dt[^>]*>Lead</dt><dd[^>]*>(.*?)</dd>", shown._repr_html_())
        assert cut.count(r"\\[6pt]") == 2
        (ratio,) = re.findall(r"<dt[^>]*>Ratio</dt><dd[^>]*>(.*?)</dd>", shown._repr_html_())
        assert ratio.count(r"\\[6pt]") == 1


class TestShows:
    SHOWN = (
        derive(setup(INCH, (40, 30), (80, 60), "low", (50,), "module 1")),
        derive(setup(INCH, (40, 30), (80, 60), "low", (50,), "module 1")).long,
    )

    @pytest.mark.parametrize("shown", SHOWN, ids=["short", "long"])
    def test_in_plain_text_without_any_latex(self, shown):
        text = str(shown)
        assert not set("\\{}$_^") & set(text)
        assert max(map(len, text.splitlines()[1:])) <= 100

    def test_in_a_notebook_that_has_latex_alone(self):
        for shown in self.SHOWN:
            assert shown._repr_latex_() == f"$${shown.latex}$$"
            for step in getattr(shown, "steps", ()):
                assert step._repr_latex_() == rf"$\displaystyle {step.latex}$"

    def test_with_its_last_word_in_each_way(self):
        solved = solve_for_gear(METRIC, "1.05 mm", drivers=(None,), driven=(100,), lever="fast")
        assert solved.text.endswith(textwrap.fill(solved.why, 88))
        said = " ".join(re.findall(r"\\text\{([^{}]*)\}", solved.latex))
        assert all(f"{number}. " in said for number in range(1, len(solved.steps) + 1))
        assert "0. " not in said.replace("50. ", "")
        assert said.endswith(solved.why)
        assert f'<p style="max-width:48em">{solved.why}</p>' in solved._repr_html_()

    def test_numbered_in_order(self):
        text = derive(setup(INCH, 40, 80, "low")).long.text
        assert [line.split(".")[0] for line in text.splitlines() if line[:1].isdigit()][1:] == list("12345")

    def test_in_html_with_the_plain_text_folded_below(self):
        shown = derive(setup(INCH, 40, 80, "low")).long
        page = TextOf(shown._repr_html_())
        assert page.open == []
        assert shown.text in page.text
        assert page.text.count(r"\(\displaystyle") == len(shown.steps) == page.text.count(r"\)")

    def test_a_lever_with_a_nasty_name_does_no_harm(self):
        nasty = lathe(gearbox=(Lever(NASTY, "1/2"),))
        shown = derive(setup(nasty, 20, 40, NASTY))
        page = TextOf(shown._repr_html_())
        assert "script" not in page.tags
        assert NASTY in page.text
        assert "script" not in "".join(step.latex for step in shown.steps)
        for each in (shown, shown.long):
            assert r"\frac{1}{2}$" not in each.latex
            assert not re.search(r">[^<]*\$[^<]*\$[^<]*<", each._repr_html_().split("<pre>")[0])

    def test_the_letters_are_explained(self):
        shown = derive(setup(INCH, 40, 80, "low"))
        assert shown.long.legend == {"z": "teeth", "r": "ratio", "n": "turns", "L": "lead", "k": "count"}
        assert "<var>z</var> teeth" in shown.long._repr_html_()
        assert shown.legend == {"r": "ratio", "n": "turns", "L": "lead"}


class TestSolveForGear:
    def test_a_gear_that_serves(self):
        solved = solve_for_gear(INCH, "32 tpi", drivers=(40, None), driven=(80, 60), lever="middle")
        assert (solved.exact, solved.teeth, solved.owned, solved.nearest) == (30, 30, True, 30)
        assert isinstance(solved.exact, Fraction)
        assert solved.nearest_ppm == 0
        assert equation(solved, "second driver").endswith("= ((1/4) · 80 · 60)/40 = 30")
        assert solved.text.endswith(solved.why)

    @pytest.mark.parametrize(
        ("drivers", "driven"), [((None,), (80,)), ((40,), (None,)), ((40, None), (80, 60)), ((40, 30), (80, None))]
    )
    def test_the_step_that_solves_agrees_with_sympys_own_solver(self, drivers, driven):
        *_, train, solution = solve_for_gear(METRIC, "1.5 mm", drivers, driven, "fast").steps
        assert sympy.solve(train.eq, solution.target.symbol) == [solution.formula]

    def test_a_driven_gear(self):
        solved = solve_for_gear(INCH, "32 tpi", drivers=(40, 30), driven=(None, 60), lever="middle")
        assert solved.teeth == 80
        assert equation(solved, "first driven").endswith("= (40 · 30)/((1/4) · 60) = 80")

    def test_no_whole_gear(self):
        solved = solve_for_gear(INCH, "1.5 mm", drivers=None, driven=80, lever="middle")
        assert solved.exact == Fraction(4800, 127)  # 80 × 1.5 / 3.175
        assert (solved.teeth, solved.owned, solved.nearest) == (None, False, 38)
        assert solved.why == (
            "It would need 37 101/127 teeth, and a gear has whole teeth only. "
            "The nearest, 38, gives an error of +5417 ppm."
        )
        assert equation(solved, "first driver").endswith("= 4800/127 ≈ 37.795")
        assert solved.nearest_ppm == pytest.approx((38 / 80 * 3.175 / 1.5 - 1) * 1e6)

    def test_the_nearest_is_not_in_the_set(self):
        solved = solve_for_gear(INCH, "M10x1.5", drivers=(40, None), driven=(80, 60), lever="low")
        assert solved.nearest == 113
        assert (
            "113, gives an error of −3403 ppm, but the set has none. The nearest that the set has to spare, 70"
            in solved.why
        )

    def test_the_nearest_to_spare_of_a_set_in_pieces(self):
        """Of the odd lathe: each of its gears that stands nowhere yet, and is not half of what does, tried by hand."""
        odd = demo_lathe("odd")
        known = [40, 50, 60]
        solved = solve_for_gear(odd, "1 mm", drivers=(40, None), driven=(50, 60), lever="range slow, cone A")
        assert solved.exact == Fraction(225, 2)
        nearest = min(set(odd.gears) - set(known), key=lambda teeth: abs(teeth - Fraction(225, 2)))
        assert f"The nearest that the set has to spare, {nearest}," in solved.why

    @pytest.mark.parametrize(
        ("wanted", "drivers", "driven", "too"),
        [("0.1 mm", (None, 80), (20, 50), "few"), ("90 mm", (None,), (80,), "many")],
    )
    def test_no_gear_at_all(self, wanted, drivers, driven, too):
        solved = solve_for_gear(METRIC, wanted, drivers, driven, "slow")
        assert (solved.teeth, solved.owned, solved.nearest, solved.nearest_ppm) == (None, False, None, None)
        assert f"too {too} to be a gear" in solved.why

    def test_two_teeth_are_no_gear(self):
        two = lathe(leadscrew=Leadscrew(4))
        solved = solve_for_gear(two, "0.1 mm", drivers=(None,), driven=(80,))
        assert solved.exact == 2
        assert solved.teeth is None
        assert solved.why == "It works out at 2 teeth, too few to be a gear: change one of the other gears."

    def test_a_gear_that_the_set_lacks(self):
        lacking = solve_for_gear(METRIC, "1.05 mm", drivers=(None,), driven=(100,), lever="fast")
        assert (lacking.exact, lacking.teeth, lacking.owned) == (35, 35, False)
        assert lacking.why.startswith("A gear of 35 teeth cuts it exactly, but the set has none. The nearest that")

    @pytest.mark.parametrize(("gear", "said"), [(45, "the only one is in the train already"), (40, "both are in the")])
    def test_a_gear_that_is_used_up(self, gear, said):
        others = {45: (40, 45), 40: (40, 40)}[gear]
        solved = solve_for_gear(INCH, "16 tpi", drivers=others, driven=(80, None), lever="middle")
        assert (solved.teeth, solved.owned) == (gear, False)
        assert said in solved.why

    def test_pi_over_the_line(self):
        solved = solve_for_gear(METRIC, "module 1.5", drivers=(None, 30), driven=(40, 60), lever="fast")
        assert solved.exact == 40 * sympy.pi
        assert (solved.teeth, solved.nearest) == (None, 126)
        assert "π is irrational (J. H. Lambert, 1761)" in solved.why
        assert equation(solved, "first driver").endswith("= 40 π ≈ 125.664")

    def test_pi_under_the_line(self):
        solved = solve_for_gear(METRIC, "module 1.5", drivers=(40, 30), driven=(None, 60), lever="fast")
        assert solved.exact == 40 / sympy.pi
        assert equation(solved, "first driven").endswith("= 40/π ≈ 12.732")

    @in_one(
        ("wanted", "drivers", "driven", "shown"),
        [
            ("module 1.5", (40, 30), (None, 60), "40/π ≈ 12.732"),
            ("module 0.75", (127, 30), (None, 80), "(381/2)/π ≈ 60.638"),
            ("module 1.5", (50, 20), (None, 60), "(100/3)/π ≈ 10.61"),
            ("module 1.5", (None, 30), (40, 60), "40 π ≈ 125.664"),
            ("module 0.4", (None, 50), (60, 20), "3.2 π ≈ 10.053"),
        ],
    )
    def test_what_it_would_need_with_pi_in_it_as_it_stands_and_as_a_decimal(self, wanted, drivers, driven, shown):
        sizes = {20, 30, 40, 50, 60, 80, 127}
        own = lathe(gear_set=GearSet(tuple(sorted(sizes))))
        solved = solve_for_gear(own, wanted, drivers, driven)
        assert solved.why.startswith(f"It would need {shown} teeth, and no whole number of teeth is ever exact here")
        assert solved.text.replace("\n", " ").count(shown) == 2

    @in_one(
        ("drivers", "driven", "words"),
        [
            (None, 80, "first driver in ?/80"),
            (40, None, "first driven in 40/?"),
            ((40, None), (80, 60), "second driver in (40 · ?)/(80 · 60)"),
            ((40, 30, 50), (None, 60, 80), "first driven in (40 · 30 · 50)/(? · 60 · 80)"),
        ],
    )
    def test_its_title_says_which_gear_of_which_train(self, drivers, driven, words):
        own = lathe(gear_set=GearSet((30, 40, 50, 60, 80)), gearbox=(LOW,))
        assert solve_for_gear(own, "1 mm", drivers, driven, "low").title == f"The {words} for 1 mm, lever low"
        assert solve_for_gear(lathe(), "1 mm", drivers, driven).title == f"The {words} for 1 mm"

    def test_what_is_no_gear_with_pi_in_it_is_said_too(self):
        why = solve_for_gear(METRIC, "module 20", (None,), (100,), "fast").why
        assert why.startswith("It works out at 2000/3 π ≈ 2094.395 teeth, too many to be a gear")

    @in_one("ratio", [Fraction(1), Fraction(2), Fraction(1, 2)])
    def test_the_lead_is_divided_by_all_but_the_train(self, ratio):
        made = lathe(spindle_side=SpindleSide(ratio), box=(BoxLever("range", (Lever("on", 2),)),))
        (needed,) = [
            step for step in solve_for_gear(made, "3 mm", 40, None, "range on").steps if "divide" in step.words
        ]
        names = ["lead of the leadscrew", *(["spindle side"] if ratio != 1 else []), "lever range"]
        assert [each.words for each in needed.known] == ["lead wanted", *names]
        assert f"What comes out is the {' × '.join(names)} × train, so divide" in needed.words
        assert needed.result == 1 / (2 * ratio)

    @in_one("side", [0, 1])
    @in_one("place", [0, 1])
    def test_a_gear_that_is_fixed_stands_at_its_end_only(self, side, place):
        """20 is fixed as the first driver, or as the last driven gear: no other gear is taken there."""
        fixed = (Fixed(first_driver=20), Fixed(last_driven=20))[side]
        made = lathe(gear_set=GearSet((20, 30, 40, 50, 60, 80), fixed=fixed))
        sides = [[30, 40], [50, 60]]
        sides[side][place] = None
        if (side, place) in ((0, 0), (1, 1)):  # just there a gear is asked for
            assert "The nearest that the set has to spare, 20," in solve_for_gear(made, "1 mm", *sides).why
        else:
            end = ("the first driver", "the last driven gear")[side]
            with pytest.raises(NotPossibleError, match=f"{end} is fixed: 20 teeth, not"):
                solve_for_gear(made, "1 mm", *sides)

    def test_why_a_set_in_pieces_has_none_to_spare(self):
        odd = demo_lathe("odd")
        lacking = solve_for_gear(odd, "1 mm", (40, None), (50, 60), "range slow, cone A")
        assert "The nearest, 112, gives an error of −4444 ppm, but the set has no gear of 112 teeth." in lacking.why

    def test_a_train_has_six_meshes_at_most(self):
        for drivers in ((None, *[20] * 6), (None, *repeat(20, 60)), chain([None], repeat(20))):
            with pytest.raises(ValueOutOfRangeError, match="at most 6 gears"):
                solve_for_gear(METRIC, "1 mm", drivers, (40,) * 7, "fast")

    def test_a_feed(self):
        solved = solve_for_gear(METRIC, "0.1 mm/rev cross", drivers=(20,), driven=(None,), lever="medium")
        assert solved.exact == 25  # 1.2 mm by the half-nuts, half of 3 mm × 20/25
        assert equation(solved, "lead wanted") == "lead wanted = feed wanted/feed drive = 0.1/(1/12) mm = 1.2 mm"

    def test_the_spindle_side_counts(self):
        geared = lathe(spindle_side=SpindleSide("1/2"))
        assert solve_for_gear(geared, "0.75 mm", drivers=(None,), driven=(40,)).exact == 20

    @pytest.mark.parametrize(
        ("drivers", "driven"), [((40, 30), (80, 60)), ((None, 30), (80, None)), ((None, None), (80, 60))]
    )
    def test_just_one_must_be_missing(self, drivers, driven):
        with pytest.raises(ValueOutOfRangeError, match="exactly one"):
            solve_for_gear(INCH, "1 mm", drivers, driven, "low")

    @pytest.mark.parametrize(
        ("drivers", "driven"), [((None, 40), (80,)), ((None, -5), (80, 60)), (("40", None), (80, 60))]
    )
    def test_the_others_must_be_gears(self, drivers, driven):
        with pytest.raises(ValueOutOfRangeError):
            solve_for_gear(INCH, "1 mm", drivers, driven, "low")

    def test_and_owned(self):
        with pytest.raises(GearNotOwnedError):
            solve_for_gear(INCH, "1 mm", (None,), (127,), "low")

    def test_with_a_lever_that_is_there(self):
        with pytest.raises(UnknownNameError):
            solve_for_gear(INCH, "1 mm", (None,), (80,), "reverse")
