"""A box with several levers, as a lathe file writes it and as a text names where each of them stands."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError, LatheFileError, UnknownNameError, ValueOutOfRangeError
from gearcalc.lathes import BoxLever, Lathe, Lever
from gearcalc.lathes.levers import before_its_ratio, check_names, levers_the_other_way, moved_levers, positions_of
from gearcalc.lathes.new_files import new_lathe_file
from tests.benches import several_levers
from tests.how_much import in_one

TWO, THREE = several_levers(2), several_levers(3)
TEXT = """name = "Two levers"
leadscrew.lead = "8 tpi"
gears.teeth = [40, 80]

[[lever]]
name = "range"
positions = { slow = "1/2", fast = "1" }

[[lever]]
name = "tumbler"
side = "spindle"
[lever.positions]
on = 1
back = { ratio = "1", same_way = false }
"""


class TestTheFile:
    def test_each_lever_has_its_table(self):
        box = Lathe.from_toml(TEXT).box
        assert [(lever.name, lever.side) for lever in box] == [("range", "leadscrew"), ("tumbler", "spindle")]
        assert box[0].positions == (Lever("slow", "1/2"), Lever("fast", 1))
        assert box[1].positions == (Lever("on", 1), Lever("back", 1, same_way=False))

    def test_it_is_written_as_it_is_read(self):
        for lathe in (Lathe.from_toml(TEXT), TWO, THREE):
            assert Lathe.from_toml(lathe.to_toml()) == lathe

    def test_a_file_with_one_lever_only_names_it(self):
        lathe = Lathe.from_toml(TEXT[: TEXT.index('[[lever]]\nname = "tumbler"')])
        assert dict(lathe.levers) == {"range slow": Fraction(1, 2), "range fast": 1}
        assert lathe.lever("slow").name == "range slow"

    @in_one(
        ("old", "new", "said"),
        [
            (
                '[[lever]]\nname = "tumbler"',
                '[[gearbox]]\nlever = "low"\nratio = 1\n[[lever]]\nname = "tumbler"',
                ["a lathe has [[gearbox]] or [[lever]], not both"],
            ),
            ('side = "spindle"', 'side = "front"', ["[lever] entry 2, side (line 11)", "'leadscrew' or 'spindle'"]),
            ('slow = "1/2"', 'slow = "x"', ["[lever] entry 1, positions, 'slow' (line 7)", "not 'x'"]),
            ("on = 1", "on = 0", ["[lever] entry 2, positions, 'on'", "(line 12)", "more than 0"]),
            ("same_way = false", "same = false", ["'back', same", "The nearest known one is same_way"]),
            ("same_way = false", "same_way = 0", ["'back'", "true or false"]),
            ('ratio = "1", ', "", ["'back'", "the key ratio is missing"]),
            ('positions = { slow = "1/2", fast = "1" }', "positions = {}", ["[lever] entry 1", "1 to 200 positions"]),
            ('positions = { slow = "1/2", fast = "1" }', "positions = 3", ["[lever] entry 1", "a table of names"]),
            ('positions = { slow = "1/2", fast = "1" }', "", ["[lever] entry 1", "the key positions is missing"]),
            ('name = "tumbler"', 'name = "range"', ["[lever]", "two levers are called 'range'"]),
            ('name = "tumbler"', 'name = "a, b"', ["[lever] entry 2, name (line 10)", "no commas"]),
            ('name = "tumbler"', 'name = " a"', ["[lever] entry 2, name (line 10)", "blanks"]),
            ('name = "tumbler"', 'names = "a"', ["[lever] entry 2", "The nearest known one is name"]),
            ("on = 1", '"on, off" = 1', ["[lever] entry 2, positions", "no commas"]),
            ('slow = "1/2"', 'slow = "60"', None),
            ("on = 1", "on = 60", None),
        ],
    )
    def test_what_is_wrong_is_named_with_its_place(self, old, new, said):
        changed = TEXT.replace(old, new, 1)
        assert changed != TEXT
        if said is None:
            assert Lathe.from_toml(changed)
            return
        with pytest.raises(LatheFileError) as refused:
            Lathe.from_toml(changed)
        assert [words for words in said if words not in str(refused.value)] == []

    def test_single_brackets_are_refused_with_the_double_ones(self):
        with pytest.raises(LatheFileError, match=r"double brackets, \[\[lever\]\]"):
            Lathe.from_toml(TEXT[: TEXT.index("[[lever]]")] + '[lever]\nname = "x"\npositions = { a = 1 }\n')

    def test_what_all_come_to_is_refused_where_no_gearbox_comes_to_it(self):
        with pytest.raises(LatheFileError, match=r"range slow, tumbler on: together the ratio must be more than 0"):
            Lathe.from_toml(TEXT.replace('"1/2"', '"60"').replace("on = 1", "on = 60"))

    def test_more_than_200_positions_in_all_are_refused(self):
        six = [Lever(str(number), 1) for number in range(6)]
        assert len(positions_of((BoxLever("a", six), BoxLever("b", six)))) == 36
        assert len(positions_of((BoxLever("a", six), BoxLever("b", six), BoxLever("c", six[:5])))) == 180
        twenty = [Lever(str(number), 1) for number in range(20)]
        assert len(positions_of((BoxLever("a", twenty[:10]), BoxLever("b", twenty)))) == 200
        with pytest.raises(ValueOutOfRangeError, match="216 ways, and at most 200"):
            positions_of(tuple(BoxLever(name, six) for name in "abc"))

    def test_names_that_read_alike_are_refused(self):
        box = BoxLever("a", [Lever("b c", 1)]), BoxLever("a b", [Lever("c", 1)])
        with pytest.raises(ValueOutOfRangeError, match="two positions can be read as 'a b c'"):
            check_names(box)

    def test_names_too_long_for_a_card_are_refused(self):
        def box(letters: int) -> list[BoxLever]:
            return [BoxLever("a", [Lever("x", 1)]), BoxLever("b" * letters, [Lever("y" * 47, 1), Lever("y", 1)])]

        check_names(box(47))
        with pytest.raises(ValueOutOfRangeError, match="more than 100 characters in a row"):
            check_names(box(48))


class TestWhereTheyStand:
    def test_every_pair_has_one_name_in_the_order_of_the_file(self):
        assert list(TWO.levers) == [
            "range slow, tumbler on",
            "range slow, tumbler back",
            "range fast, tumbler on",
            "range fast, tumbler back",
        ]
        assert len(THREE.levers) == 27
        assert THREE.levers["range coarse, cone B, gear 2"] == Fraction(4) * Fraction(3, 4) * Fraction(1, 2)

    @in_one(
        "said",
        [
            "range slow, tumbler back",
            "tumbler back, range slow",
            "slow, back",
            "back,slow",
            "  tumbler   back ,  slow ",
        ],
    )
    def test_a_text_is_read_in_any_order_and_without_names_where_it_can_be(self, said):
        assert TWO.lever(said).name == "range slow, tumbler back"
        assert gc.setup(TWO, 40, 80, said).lever == "range slow, tumbler back"

    @in_one(
        ("said", "words"),
        [
            ("slow", ["'slow' does not say where the lever 'tumbler' stands", "'on', 'back'"]),
            ("slow, fast", ["names the lever 'range' twice"]),
            ("slow, forward", ["no lever has this position, not 'forward'", "The lever range can stand at"]),
            ("", ["no lever has this position"]),
            (None, ["say where the levers stand", "Write it like 'range slow, tumbler on'"]),
            (7, ["say where the levers stand"]),
        ],
    )
    def test_what_is_no_position_is_refused_with_what_there_is(self, said, words):
        with pytest.raises(UnknownNameError) as refused:
            TWO.lever(said)
        assert [each for each in words if each not in str(refused.value)] == []

    def test_a_position_that_two_levers_have_needs_the_name_of_one(self):
        lathe = evolve(
            TWO, box=(BoxLever("A", [Lever("1", 1), Lever("2", 2)]), BoxLever("B", [Lever("1", 1)])), plate=()
        )
        with pytest.raises(UnknownNameError, match="Write 'A 1' or 'B 1'"):
            lathe.lever("1")
        assert lathe.lever("2").name == "A 2, B 1"  # B has one position only

    def test_the_plate_names_them_as_the_lathe_does(self):
        assert TWO.plate[0].lever == "range fast, tumbler on"
        assert gc.check_plate(TWO)[0].ok

    def test_of_a_table_for_the_levers_it_is_said_how_they_are_written(self):
        plate = '[plate]\n"4 tpi" = { drivers = [40], driven = [40], lever = { range = "fast", tumbler = "on" } }\n'
        with pytest.raises(
            LatheFileError, match=r"'4 tpi'.* in quotes.* Write .*each in one text, lever = \"range slow"
        ):
            Lathe.from_toml(f"{TEXT}{plate}")

    def test_the_file_to_begin_with_says_how_several_are_written_in_a_row(self):
        said = re.search(r'several levers .*: lever = "((\w+) (\w+), (\w+) (\w+))"', new_lathe_file())
        assert said
        text = 'name = "x"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40, 40]\n' + "".join(
            f'[[lever]]\nname = "{name}"\npositions = {{ {at} = 1, other = 2 }}\n'
            for name, at in (said.groups()[1:3], said.groups()[3:])
        )
        row = f'"8 tpi" = {{ drivers = [40], driven = [40], lever = "{said[1]}" }}'
        assert gc.check_plate(Lathe.from_toml(f"{text}[plate]\n{row}\n"))[0].ok

    def test_a_plate_row_with_no_such_lever_is_kept_for_whoever_checks_it(self):
        row = evolve(TWO.plate[0], lever="reverse gear")
        lathe = evolve(TWO, plate=(row,))
        assert lathe.plate[0].lever == "reverse gear"
        assert "No lever has this position; the row says 'reverse gear'" in str(gc.check_plate(lathe)[0])

    def test_only_those_that_stand_elsewhere_are_moved(self):
        one, other = THREE.lever("slow, A, 1"), THREE.lever("slow, C, 2")
        assert [stand.called for stand in moved_levers(one, other)] == ["lever cone", "lever gear"]
        assert moved_levers(one, one) == ()
        assert len(moved_levers(None, one)) == 3

    def test_a_position_is_what_it_comes_to_and_says_so(self):
        ahead = TWO.box[1]
        (one, *_), (other, *_) = (positions_of((evolve(ahead, side=side),)) for side in ("spindle", "leadscrew"))
        assert one == other
        assert repr(one) == "Position(name='tumbler on', ratio=Fraction(1, 1), same_way=True)"
        assert (one.ahead, one.said) == (1, "lever tumbler on")
        assert TWO.lever("slow, on").said == "levers range slow, tumbler on"

    def test_the_lathe_says_them_one_by_one(self):
        said = str(TWO)
        assert "range: slow 1/2, fast 1; tumbler (ahead of the change gears): on 1, back 1 the other way round" in said

    def test_names_are_no_markup(self):
        evil = evolve(TWO, box=(BoxLever("<b>$x$", [Lever("<i>", 1), Lever("\\u", 2)]),), plate=())
        made = gc.setup(evil, 40, 80, "<i>")
        for shown in (evil._repr_html_(), made._repr_html_(), gc.derive(made)._repr_html_()):
            assert "<b>$" not in shown
            assert "<i>" not in shown


class TestWhatTurns:
    """A lever ahead of the change gears turns the first driver; one behind them only the leadscrew."""

    def test_the_first_driver(self):
        assert gc.setup(THREE, 40, 80, "slow, C, 1").first_driver_turns == Fraction(1, 4)
        assert gc.setup(THREE, 40, 80, "fast, A, 2").first_driver_turns == 1

    def test_the_last_shaft_is_a_gearbox_only_with_a_lever_behind_the_gears(self):
        ahead = evolve(TWO, box=TWO.box[1:], plate=())
        assert (TWO.last_shaft, ahead.last_shaft) == ("gearbox input", "leadscrew")

    def test_a_tumbler_ahead_of_the_gears_turns_the_first_driver_round(self):
        from gearcalc.finding.setups import turning_of

        ways = {at: turning_of(gc.setup(TWO, 40, 80, f"slow, {at}")) for at in ("on", "back")}
        assert (ways["on"].first_driver, ways["on"].leadscrew) == (True, False)  # one mesh turns it round
        assert (ways["back"].first_driver, ways["back"].leadscrew) == (False, True)

    def test_a_lever_behind_the_gears_leaves_the_first_driver_alone(self):
        from gearcalc.finding.setups import turning_of

        way = turning_of(gc.setup(THREE, 40, 80, "fast, C, back"))
        assert (way.first_driver, way.leadscrew) == (True, True)

    def test_what_goes_the_wrong_way_is_told_which_lever_turns_it_round(self):
        wrong = gc.setup(TWO, 40, 80, "slow, on", wanted="32 tpi")
        if wrong.as_built.natural_hand == "right":  # with an idler it goes the right way
            wrong = evolve(wrong, fit=None)
        assert "put the lever tumbler at back" in " ".join(wrong.warnings)


class TestTheOtherWay:
    """The fewest levers that turn the leadscrew the other way, no faster and no slower."""

    ON, BACK, FAST_BACK = Lever("on", 1), Lever("back", 1, same_way=False), Lever("fast back", 2, same_way=False)

    @in_one(
        ("here", "positions", "at"),
        [
            (ON, [ON, BACK], ["back"]),
            (BACK, [ON, BACK], ["on"]),
            (ON, [ON, FAST_BACK], []),
            (ON, [FAST_BACK, BACK, ON], ["back"]),
            (ON, [], []),
            (None, [None], []),
            (None, [ON, BACK], []),
        ],
    )
    def test_of_one_lever(self, here, positions, at):
        assert [stand.at for stand in levers_the_other_way(here, positions)] == at

    def test_two_levers_ahead_that_turn_round_turn_the_first_driver_as_none_does(self):
        two = [BoxLever(name, [self.ON, self.BACK], side="spindle") for name in "ab"]
        behind = BoxLever("c", [self.ON, self.BACK])
        for position in positions_of((*two, behind)):
            turned = [stand.at for stand in position.stands if stand.side == "spindle"].count("back")
            assert position.ahead_same_way == (turned != 1)

    def test_one_of_several_where_one_is_enough(self):
        box = tuple(BoxLever(name, [self.ON, self.BACK]) for name in "abc")
        every = positions_of(box)
        for here in every:
            moved = levers_the_other_way(here, every)
            assert len(moved) == 1
            assert moved[0] not in here.stands

    @in_one(("name", "said"), [("low", "low"), ("A1", "A1"), ("1", "1:"), ("1/2", "1/2:"), ("½", "½:"), ("1 B", "1 B")])
    def test_a_name_that_might_be_a_number_has_a_colon(self, name, said):
        assert before_its_ratio(name) == said


class TestErrorsAreOurs:
    @in_one("given", [b"slow, back", ["slow", "back"], object(), "x" * 10_000, "," * 5000])
    def test_whatever_is_handed_over(self, given):
        with pytest.raises(GearcalcError):
            TWO.lever(given)
