"""Lathes as they stand in the shop: parts validated when made, gears owned, levers, conveniences."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from attrs import evolve

from gearcalc.basics.errors import GearNotOwnedError, NotPossibleError, UnknownNameError, ValueOutOfRangeError
from gearcalc.finding.setups import setup
from gearcalc.lathes import (
    BoxLever,
    Bracket,
    Dial,
    DialGear,
    Feeds,
    GearSet,
    Lathe,
    Leadscrew,
    Lever,
    PlateRow,
    Show,
    Slot,
    SpindleSide,
    demo_lathe,
    differences,
)
from gearcalc.lathes.lathe import as_lathe, lead_to_cut
from gearcalc.lathes.sizes import Cluster, Fixed, GearTable
from gearcalc.lathes.trains import Train
from gearcalc.threads.wanted import as_wanted
from tests.how_much import in_one

NASTY = '<script>alert("x")</script> $\\frac{1}{2}$ & \\'


A_SLOT = Slot((30, 0), (150, 0))


def a_bracket(**changes) -> Bracket:
    return Bracket(**{"spindle_side_at_mm": (50, 94), "swing_deg": (-20, 75), "slots": [A_SLOT]} | changes)


def of_other_sizes(tables: int, gears: int = 1) -> list[GearTable]:
    return [GearTable((30,) * gears, module_mm=2 + n) for n in range(tables)]


def lathe(**changes) -> Lathe:
    return Lathe(**{"name": "A", "leadscrew": Leadscrew(3), "gear_set": GearSet((20, 40, 40))} | changes)


class TestParts:
    @in_one(
        "make",
        [
            lambda: Leadscrew(0),
            lambda: Leadscrew(-3),
            lambda: Leadscrew(101),
            lambda: Leadscrew("8 tpi"),
            lambda: Leadscrew(None),
            lambda: Leadscrew(math.nan),
            lambda: Leadscrew(3, hand="both"),
            lambda: Leadscrew(Fraction(1, 10**12)),
            lambda: SpindleSide(0),
            lambda: SpindleSide(0.333333333333333),
            lambda: Lever("low", 0),
            lambda: Lever("low", "half"),
            lambda: Lever("", 1),
            lambda: Lever("a\nb", 1),
            lambda: Lever("x" * 101, 1),
            lambda: Lever(None, 1),
            lambda: GearSet((0,)),
            lambda: GearSet((20.5,)),
            lambda: GearSet("20"),
            lambda: GearSet(None),
            lambda: GearSet((20,) * 1001),
            lambda: GearSet((20,), module_mm=0),
            lambda: GearSet((20,), module_mm=math.nan),
            lambda: GearSet((20,), module_mm="1"),
            lambda: GearSet((20,), module_mm=True),
            lambda: GearSet((20,), diametral_pitch=-20),
            lambda: GearSet((20,), module_mm=1, diametral_pitch=25.4),
            lambda: GearSet((20,), pressure_angle_deg=45),
            lambda: GearSet((20,), pressure_angle_deg=None),
            lambda: Slot((1, 2), (1, 2)),
            lambda: Slot((1,), (1, 2)),
            lambda: Slot((1, 2, 3), (1, 2)),
            lambda: Slot(("a", "b"), (1, 2)),
            lambda: Slot(5, (1, 2)),
            lambda: Bracket((50, 94), (75, -20), [Slot((30, 0), (150, 0))]),
            lambda: Bracket((50, 94), (0, 361), [Slot((30, 0), (150, 0))]),
            lambda: Bracket((50, 94), (math.nan, 75), [Slot((30, 0), (150, 0))]),
            lambda: Bracket((50, 94), (-20, 75), []),
            lambda: Bracket((50, 94), (-20, 75), [Slot((30, 0), (150, 0))], studs=0),
            lambda: Bracket((50, 94), (-20, 75), [Slot((30, 0), (150, 0))], backlash_mm=-0.1),
            lambda: Bracket((50, 94), (-20, 75), [Slot((30, 0), (150, 0))], cover_mm=((0, 0), (1, 1))),
            lambda: DialGear(0, 8),
            lambda: DialGear(-16, 8),
            lambda: DialGear(16, 0),
            lambda: Dial([]),
            lambda: Feeds(0),
            lambda: Feeds(cross=0),
            lambda: Feeds(cross="x"),
            lambda: lathe(name=""),
            lambda: lathe(name=None),
            lambda: lathe(name="x\u202e"),
            lambda: lathe(note="\ud800"),
            lambda: lathe(note="\x00"),
            lambda: lathe(note="x" * 2001),
            lambda: lathe(gearbox=(Lever("low", 1), Lever("low", 2))),
            lambda: lathe(leadscrew=3),
            lambda: lathe(gear_set=[20]),
            lambda: lathe(more_gears=[20]),
            lambda: lathe(spindle_side=1),
            lambda: lathe(gearbox=["low"]),
            lambda: lathe(box=[Lever("low", 1)]),
            lambda: lathe(bracket=5),
            lambda: lathe(dial=16),
            lambda: lathe(feeds="1/8"),
            lambda: lathe(show="mm"),
            lambda: lathe(plate=["1 mm"]),
            lambda: a_bracket(slots=[(30, 0)]),
            lambda: Dial([16]),
            lambda: BoxLever("a", ["low"]),
            lambda: GearSet([20], fixed=20),
            lambda: GearSet([20], more=[30]),
        ],
    )
    def test_what_can_not_be_is_refused(self, make):
        with pytest.raises(ValueOutOfRangeError) as caught:
            make()
        assert str(caught.value).isprintable()

    @in_one(
        ("make", "allowed", "beyond"),
        [
            (Leadscrew, (100, Fraction(1, 10**12 - 1)), (Fraction(10_001, 100), Fraction(1, 10**12))),
            (lambda mm: Leadscrew(3, takes_bore_mm=mm), (200, 0.1), (200.1, 0)),
            (lambda mm: SpindleSide(takes_bore_mm=mm), (200, 0.1), (200.1, 0)),
            (lambda ratio: Feeds(ratio, ratio), (100, Fraction(1, 99)), (Fraction(10_001, 100), 0)),
            *(
                (lambda mm, at=at: Slot(at(mm), (1, 2)), (10_000, -10_000), (10_001, -10_001, math.inf))
                for at in (lambda mm: (mm, 0), lambda mm: (0, mm))
            ),
            (lambda swing: a_bracket(swing_deg=swing), ((-360, 360), (5, 5)), ((-361, 0), (0, 361), (6, 5))),
            (lambda count: a_bracket(slots=[A_SLOT] * count), (1, 10), (0, 11)),
            (lambda count: a_bracket(cover_mm=[(0, n) for n in range(count)]), (3, 500), (2, 501)),
            (lambda count: Dial([DialGear(16, 8)] * count), (1, 10), (0, 11)),
            (lambda count: BoxLever("a", [Lever(str(n), 1) for n in range(count)]), (1, 200), (0, 201)),
            (lambda count: lathe(plate=[PlateRow("1 mm", 20, 40)] * count), (0, 1000), (1001,)),
            (lambda count: lathe(gear_set=GearSet((20,) * count)), (300,), (301,)),
            (lambda count: lathe(more_gears=of_other_sizes(2, count)), (150,), (151,)),
            (lambda count: GearSet((20,), module_mm=1, more=of_other_sizes(count)), (0, 5), (6,)),
            (lambda count: GearSet((20,), clusters=[(30, 40)] * count), (0, 10), (11,)),
            (lambda teeth: GearSet((teeth,)), (6, 1000), (5, 1001)),
            (lambda mm: Cluster((20, 30), module_mm=(mm, 1)), (20, 0.001), (20.1, 0)),
            (lambda pitch: Cluster((20, 30), diametral_pitch=(24, pitch)), (200,), (200.1, 0)),
            (lambda said: PlateRow("1 mm", 20, 40, lever=said), ("low", "", None), ("a\nb", "\x00", 5)),
            (SpindleSide, (100,), (Fraction(10_001, 100),)),
            (lambda ratio: Lever("low", ratio), (100,), (Fraction(10_001, 100),)),
            (lambda name: Lever(name, 1), ("x" * 100,), ("x" * 101,)),
            (lambda note: lathe(note=note), ("x" * 2000,), ("x" * 2001,)),
            (lambda mm: GearSet((20,), module_mm=mm), (20, 0.001), (20.1, 0)),
            (lambda dp: GearSet((20,), diametral_pitch=dp), (200,), (200.1, 0)),
            (lambda degrees: GearSet((20,), pressure_angle_deg=degrees), (10, 30), (9.9, 30.1)),
            (lambda bore: GearSet((20,), bore_mm=bore), (200, 0.1), (200.1, 0)),
            (lambda count: GearSet((20,) * count), (1000,), (1001,)),
            (lambda lines: DialGear(16, lines), (1, 100), (0, 101)),
            (lambda numbered: DialGear(16, 100, numbered), (1, 50, 100), (0, 3, 101, 200)),
            *(
                (lambda size, key=key: a_bracket(**{key: size}), good, bad)
                for key, good, bad in (
                    ("studs", (1, 6), (0, 7)),
                    ("stud_radius_mm", (100, 0.1), (100.1, 0)),
                    ("shaft_radius_mm", (100, 0.1), (100.1, 0)),
                    ("running_clearance_mm", (0, 20), (-0.1, 20.1)),
                    ("backlash_mm", (0, 2), (-0.1, 2.1)),
                )
            ),
        ],
    )
    def test_a_bound_is_allowed_and_what_is_beyond_it_is_not(self, make, allowed, beyond):
        for size in allowed:
            make(size)
        for size in beyond:
            with pytest.raises(ValueOutOfRangeError):
                make(size)

    @in_one(
        ("made", "left_out"),
        [
            (Leadscrew(3), {"hand": "right", "takes_bore_mm": None}),
            (SpindleSide(), {"ratio": 1, "same_way": True, "reverse": True, "takes_bore_mm": None}),
            (Lever("low", 1), {"same_way": True, "ahead": 1, "ahead_same_way": True}),
            (BoxLever("a", [Lever("low", 1)]), {"side": "leadscrew"}),
            (
                a_bracket(),
                {"studs": 2, "stud_radius_mm": 6, "shaft_radius_mm": 6, "running_clearance_mm": 0.5,
                 "backlash_mm": 0.2, "cover_mm": None},
            ),
            (DialGear(16, 8), {"numbered": None}),
            (Feeds(), {"longitudinal": 1, "cross": None}),
            (Show(), {"units": None, "paper": None}),
            (PlateRow("1 mm", 20, 40), {"idlers": (), "lever": None}),
            (
                GearSet([20]),
                {"module_mm": None, "diametral_pitch": None, "pressure_angle_deg": 20, "bore_mm": None, "damaged": (),
                 "clusters": (), "fixed": Fixed(None, None), "more": (), "first_bore_mm": None, "last_bore_mm": None},
            ),
            (Cluster([20, 30]), {"module_mm": None, "diametral_pitch": None}),
            (
                lathe(),
                {"note": "", "more_gears": (), "spindle_side": SpindleSide(), "gearbox": (), "box": (), "bracket": None,
                 "dial": None, "feeds": None, "show": Show(), "plate": ()},
            ),
        ],
    )  # fmt: skip
    def test_what_is_left_out_is_what_most_lathes_have(self, made, left_out):
        assert {name: getattr(made, name) for name in left_out} == left_out

    def test_parts_are_given_in_the_order_of_the_file(self):
        made = Lathe("A", Leadscrew(3), GearSet([20]), "a note", SpindleSide("3/4"), [Lever("low", 2)])
        assert (made.note, made.spindle_side.ratio, dict(made.levers)) == ("a note", Fraction(3, 4), {"low": 2})

    def test_more_numbered_lines_than_a_dial_has_are_refused_with_what_can_be(self):
        with pytest.raises(ValueOutOfRangeError, match=r"must divide the 8 lines.* not 3\. It can be 1, 2, 4, 8: "):
            DialGear(16, 8, 3)
        with pytest.raises(ValueOutOfRangeError, match="from 1 to 100, not 101"):
            DialGear(16, 8, 101)

    def test_numbers_are_made_exact_and_lists_are_frozen(self):
        assert Leadscrew(0.1).lead == Fraction(1, 10)
        assert SpindleSide("3/4").ratio == Fraction(3, 4)
        made = lathe(gearbox=[Lever("low", "1/2")], gear_set=GearSet([40, 20, 40]))
        assert made.gear_set.teeth == (20, 40, 40)
        assert hash(made) == hash(lathe(gearbox=(Lever("low", Fraction(1, 2)),)))

    def test_a_note_may_have_lines(self):
        assert lathe(note="one\ntwo").note == "one\ntwo"


class TestBracket:
    def test_the_spindle_side_cannot_stand_on_the_pivot(self):
        with pytest.raises(ValueOutOfRangeError, match="can't stand on the pivot"):
            Bracket((0, 0), (-20, 75), [Slot((30, 0), (150, 0))])

    @in_one(
        ("studs", "shaft_mm", "stud_mm", "thickest_mm"),
        [(1, 5, 8, 5), (1, 8, 5, 8), (2, 5, 8, 8), (2, 8, 5, 8), (3, 5, 8, 8), (6, 8, 5, 8)],
    )
    def test_a_gear_on_the_only_stud_clears_no_other_stud(self, studs, shaft_mm, stud_mm, thickest_mm):
        made = a_bracket(studs=studs, shaft_radius_mm=shaft_mm, stud_radius_mm=stud_mm)
        assert made.thickest_mm == thickest_mm


class TestLathe:
    def test_gears_sorted_owned_twice_listed_twice(self):
        assert lathe(gear_set=GearSet((40, 20, 40))).gears == (20, 40, 40)

    def test_levers_in_the_order_of_the_file(self):
        levers = lathe(gearbox=(Lever("low", "1/2"), Lever("high", 2))).levers
        assert list(levers.items()) == [("low", Fraction(1, 2)), ("high", Fraction(2))]

    def test_module_from_diametral_pitch(self):
        assert lathe(gear_set=GearSet((20,), diametral_pitch=20)).module_mm == pytest.approx(1.27)
        assert lathe(gear_set=GearSet((20,), module_mm=1.25)).module_mm == 1.25
        assert lathe().module_mm is None

    def test_shows_lead_both_ways(self):
        assert "3 mm (≈ 8.467 tpi)" in str(lathe())

    def test_html_runs_nothing(self):
        shown = lathe(name=NASTY, note=NASTY, gearbox=(Lever(NASTY, 1),))._repr_html_()
        assert "<script" not in shown
        assert shown.count("&lt;script&gt;") == 3


class TestLever:
    def test_by_name(self):
        low = Lever("low", "1/2")
        assert lathe(gearbox=(low, Lever("high", 2))).lever("low") is low

    def test_none_where_there_is_no_choice(self):
        assert lathe().lever(None) is None
        only = Lever("only", 1)
        assert lathe(gearbox=(only,)).lever(None) is only

    def test_left_out_where_there_is_one(self):
        with pytest.raises(UnknownNameError, match=r"say where the lever stands.*'low', 'high'"):
            lathe(gearbox=(Lever("low", "1/2"), Lever("high", 2))).lever(None)

    def test_a_name_that_there_is_not_gives_those_that_there_are(self):
        with pytest.raises(UnknownNameError, match=r"'low'.*'high'.*not 'hihg'"):
            lathe(gearbox=(Lever("low", "1/2"), Lever("high", 2))).lever("hihg")

    def test_no_gearbox(self):
        with pytest.raises(UnknownNameError, match=r"A has no lever. Leave 'low' out"):
            lathe().lever("low")


class TestCheckOwned:
    def test_owned_is_fine(self):
        lathe().check_owned((40, 40, 20))

    def test_not_owned_names_the_nearest(self):
        with pytest.raises(GearNotOwnedError, match=r"no gear of 127 teeth. The nearest it has: 20, 40"):
            lathe().check_owned((127,))

    def test_owned_once_needed_twice(self):
        with pytest.raises(GearNotOwnedError, match=r"1 gear of 20 teeth, and this takes 2.*add one of 20 teeth"):
            lathe().check_owned((20, 20))
        with pytest.raises(GearNotOwnedError, match="2 gears of 40 teeth, and this takes 3"):
            lathe().check_owned((40, 40, 40))

    def test_an_empty_set(self):
        with pytest.raises(GearNotOwnedError, match="none at all"):
            lathe(gear_set=GearSet(())).check_owned((40,))

    def test_of_a_train_the_gears_must_be_able_to_stand_so(self):
        clustered = lathe(gear_set=GearSet((20, 30), clusters=[(40, 50)]))
        clustered.check_owned((20, 40))
        clustered.check_owned(Train((20, 50), (40, 30)))
        with pytest.raises(NotPossibleError, match="40 is in one piece with 50"):
            clustered.check_owned(Train((20,), (40,)))


class TestWithGears:
    def test_adds_and_takes_away_without_touching_the_first(self):
        first = lathe()
        assert first.with_gears(add=(127, 20), remove=(40,)).gears == (20, 20, 40, 127)
        assert first.gears == (20, 40, 40)

    def test_one_gear_may_be_given_bare(self):
        assert lathe().with_gears(add=127).with_gears(remove=127) == lathe()

    def test_all_else_is_kept(self):
        demo = demo_lathe("inch")
        assert evolve(demo.with_gears(add=127), gear_set=demo.gear_set) == demo
        assert demo.with_gears(add=127).module_mm == demo.module_mm

    @pytest.mark.parametrize("remove", [(30,), (20, 20), (40, 40, 40)])
    def test_what_is_not_there_can_not_be_taken_away(self, remove):
        with pytest.raises(GearNotOwnedError):
            lathe().with_gears(remove=remove)

    @in_one("add", [0, -5, 20.5, "40", None, (20,) * 300])
    def test_no_gears(self, add):
        with pytest.raises(ValueOutOfRangeError):
            lathe().with_gears(add=add)


class TestShow:
    """What is shown first, and on which paper: as the file says, else as the leadscrew, and on A4."""

    @in_one(
        ("lead", "units"),
        [("8 tpi", "inch"), ("11 1/2 tpi", "inch"), ("lead 2 in", "inch"), ("3 mm", "mm"), ("1.5 mm", "mm")],
    )
    def test_as_the_leadscrew_where_the_file_does_not_say(self, lead, units):
        plain = Lathe.from_toml(f'name = "A"\nleadscrew.lead = "{lead}"\ngears.teeth = [20, 40]')
        assert (plain.units, plain.paper) == (units, "A4")
        for said in ("inch", "mm", "Inch", "MM"):
            assert plain.with_show(units=said).units == said.lower()

    def test_an_inch_lathe_reads_inch_first_and_the_other_unit_stands_behind(self):
        inch = demo_lathe("inch")
        assert "leadscrew 8 tpi (3.175 mm), right-hand" in str(inch)
        assert "8 tpi (3.175 mm), right-hand" in inch._repr_html_()
        assert "leadscrew 3.175 mm (8 tpi), right-hand" in str(inch.with_show(units="mm"))
        assert "leadscrew 3 mm (≈ 8.467 tpi), right-hand" in str(demo_lathe("metric"))

    def test_any_case_and_what_is_left_out_stays(self):
        shown = demo_lathe("inch").with_show("mm", "a3").with_show(paper=" LETTER ").with_show()
        assert (shown.units, shown.paper) == ("mm", "Letter")

    def test_it_is_never_what_is_computed(self):
        inch = demo_lathe("inch")
        other = inch.with_show(units="mm", paper="Letter")
        assert differences(inch, other) == ()
        one, same = (setup(lathe, 40, 80, "low", wanted="M6") for lathe in (inch, other))
        assert one == same
        assert (one.lead_mm, one.error) == (same.lead_mm, same.error)

    @pytest.mark.parametrize("said", [{"units": "furlong"}, {"units": 5}, {"paper": "A5"}, {"paper": b"A4"}])
    def test_anything_else_is_refused(self, said):
        with pytest.raises(ValueOutOfRangeError, match=r"must be 'inch' or 'mm'|must be 'A4', 'A3' or 'Letter'"):
            demo_lathe("inch").with_show(**said)


class TestAsLathe:
    @in_one("given", ["inch", None, 5, Leadscrew(3), GearSet([20])])
    def test_what_is_no_lathe_is_told_how_to_get_one(self, given):
        mine = lathe()
        assert as_lathe(mine) is mine
        with pytest.raises(ValueOutOfRangeError, match=r"a lathe is wanted here.*demo_lathe\('inch'\)"):
            as_lathe(given)


class TestDifferences:
    """What a setup hangs on is named, each part by itself; all else may differ."""

    @in_one(
        ("changes", "named"),
        [
            ({}, ()),
            ({"name": "B", "note": "other", "dial": Dial([DialGear(16, 8)])}, ()),
            ({"plate": [PlateRow("1 mm", 20, 40)]}, ()),
            ({"gear_set": GearSet((20, 30))}, ()),
            ({"leadscrew": Leadscrew(4)}, ("leadscrew",)),
            ({"spindle_side": SpindleSide(2)}, ("spindle side",)),
            ({"gearbox": [Lever("low", 1)]}, ("gearbox",)),
            ({"box": [BoxLever("a", [Lever("low", 1)])]}, ("gearbox",)),
            ({"feeds": Feeds(2)}, ("feed drive",)),
            ({"bracket": a_bracket()}, ("bracket",)),
            ({"gear_set": GearSet((20, 40, 40), module_mm=1)}, ("size of tooth",)),
            ({"gear_set": GearSet((20, 40, 40), pressure_angle_deg=14.5)}, ("size of tooth",)),
            ({"leadscrew": Leadscrew(3, takes_bore_mm=12)}, ("leadscrew", "size of tooth")),
            ({"spindle_side": SpindleSide(takes_bore_mm=12)}, ("spindle side", "size of tooth")),
            ({"gear_set": GearSet((20, 40, 40), fixed=Fixed(20))}, ("fixed gears",)),
            ({"leadscrew": Leadscrew(4), "bracket": a_bracket()}, ("leadscrew", "bracket")),
        ],
    )
    def test_each_part_by_its_name(self, changes, named):
        one, other = lathe(), lathe(**changes)
        assert differences(one, other) == differences(other, one) == named
        assert differences(other, other) == ()


class TestLeadToCut:
    """What the half-nuts would have to do: the feed over what the feed drive makes of it."""

    @in_one(
        ("feeds", "wanted", "lead"),
        [
            (None, "0.1 mm/rev", Fraction(1, 10)),
            (Feeds("1/8"), "0.1 mm/rev", Fraction(8, 10)),
            (Feeds("1/8", "1/16"), "0.1 mm/rev cross", Fraction(16, 10)),
            (Feeds("1/8", "1/16"), "0.1 mm/rev", Fraction(8, 10)),
            (Feeds("1/8", "1/16"), "2 mm 3 starts", Fraction(6)),
        ],
    )
    def test_of_a_thread_and_of_either_feed(self, feeds, wanted, lead):
        assert lead_to_cut(lathe(feeds=feeds), as_wanted(wanted)) == lead

    @in_one("feeds", [Feeds("1/8"), None])
    def test_a_cross_feed_that_is_not_there(self, feeds):
        said = r"^A has no cross feed in its file. Add cross = ... under \[feeds\]"
        with pytest.raises(NotPossibleError, match=said):
            lead_to_cut(lathe(feeds=feeds), as_wanted("0.1 mm/rev cross"))


class TestDemoLathe:
    def test_the_two_that_the_lessons_speak_of(self):
        inch, metric = demo_lathe("inch"), demo_lathe("metric")
        assert inch.leadscrew_lead_mm == Fraction(127, 40)
        assert metric.leadscrew_lead_mm == 3
        assert 127 not in inch.gears
        assert 127 in metric.gears
        for each in (inch, metric):
            assert 14 <= len(each.gears) <= 18
            assert len(each.levers) == 3
            assert "Invented" in each.note

    @in_one("name", ["imperial", "", None, "../inch", 5])
    def test_another_name_gives_those_that_there_are(self, name):
        with pytest.raises(UnknownNameError, match="'inch', 'metric' and 'odd'"):
            demo_lathe(name)


class TestPlateRow:
    @in_one(
        ("gearbox", "named"), [((), None), ((Lever("low", 1),), "low"), ((Lever("low", 1), Lever("high", 2)), None)]
    )
    def test_where_the_lever_stands_goes_without_saying_where_there_is_one_place(self, gearbox, named):
        (row,) = lathe(gearbox=gearbox, plate=(PlateRow("1 mm", (20,), (40,)),)).plate
        assert row.lever == named

    def test_the_demo_plates_are_read(self):
        assert demo_lathe("inch").plate[0] == PlateRow("4 tpi", (40,), (40,), ((),), "high")
