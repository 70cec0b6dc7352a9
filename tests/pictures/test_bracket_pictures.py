"""The picture of a train on its bracket, read back from its own SVG and held against geometry done elsewhere."""

from __future__ import annotations

import math
import random
from itertools import combinations
from xml.etree import ElementTree

import pytest
from attrs import evolve
from shapely import LineString, Point, Polygon, affinity
from shapely import box as bounds

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError
from gearcalc.fits import fit
from gearcalc.fits.by_hand import HandSetting, StudPlace
from gearcalc.fits.geometry import layout_of
from gearcalc.lathes import Slot
from gearcalc.lathes.trains import Train
from gearcalc.pictures.bracket_pictures import BracketDrawing, bracket_picture
from gearcalc.pictures.bracket_sheets import BRACKET_PX, plate_outline
from tests.benches import bench
from tests.how_much import in_one
from tests.pictures.svg_texts import SPACE, boxes_off_the_sheet, boxes_on_each_other, words_of
from tests.pictures.test_train_pictures import by_class, drawn_gears, numbers, sweeps

INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
CASES = {
    "one mesh, idler": ("40/80", INCH),
    "two meshes": ("(40 · 30)/(80 · 60)", INCH),
    "steep": ("(20 · 20)/(80 · 80)", INCH),
    "three meshes": ("(20 · 30 · 40)/(60 · 80 · 50)", INCH),
    "a 127": ("(50 · 40)/(127 · 80)", METRIC),
    "a 127 with an idler": ("80/127", METRIC),
    "three meshes, a 127": ("(30 · 80 · 40)/(127 · 60 · 50)", METRIC),
    "no idler is enough": ("127/100", METRIC),
    "too short": (Train((20,), (80,), (30,)), INCH),
}
TRIANGLE = Train((30, 24), (50, 36))  # module 2, right-angled at the stud: see test_fitting.py


def drawing_of(case: str) -> BracketDrawing:
    train, lathe = CASES[case]
    found = BracketDrawing.of_fit(lathe, fit(lathe, train))
    assert found is not None
    return found


def to_mm(svg: str, drawing: BracketDrawing) -> list[float]:
    """The transform from the page back to millimetres: from where two axes are drawn, and nothing else."""
    (x0, y0), (x1, y1) = (_centre(by_class(svg, "shaft")[k]) for k in (0, 1))
    first, last = drawing.axes_mm[0], drawing.axes_mm[-1]
    scale = math.dist(first, last) / math.dist((x0, y0), (x1, y1))
    return [scale, 0, 0, -scale, -scale * x1, scale * y1]


def _centre(circle: ElementTree.Element) -> tuple[float, float]:
    return float(circle.get("cx")), float(circle.get("cy"))


def gears_mm(svg: str, drawing: BracketDrawing) -> list[Polygon]:
    """The outlines as drawn, in mm, in chain order."""
    places = sorted(range(len(drawing.gears)), key=lambda place: drawing.gears[place].plane)
    drawn = dict(zip(places, drawn_gears(svg), strict=True))
    return [affinity.affine_transform(drawn[place], to_mm(svg, drawing)) for place in range(len(places))]


@in_one("case", CASES)
class TestToScale:
    def test_every_gear_is_drawn_where_it_stands_as_large_as_it_is(self, case):
        drawing = drawing_of(case)
        for outline, gear in zip(gears_mm(drawing.svg(), drawing), drawing.gears, strict=True):
            assert outline.centroid.distance(Point(drawing.axes_mm[gear.shaft])) < 0.1
            left, _, right, _ = outline.bounds
            assert right - left == pytest.approx(drawing.layout.module_mm * (gear.teeth + 2), rel=0.01)

    def test_teeth_that_mesh_are_in_phase(self, case):
        """Where the mesh is good the drawn outlines don't overlap, and come nearer than the play at that distance."""
        drawing = drawing_of(case)
        outlines = gears_mm(drawing.svg(), drawing)
        for mesh, (one, other) in zip(drawing.meshes, mates(drawing), strict=True):
            if mesh.state == "good":
                overlap = outlines[one].intersection(outlines[other]).area
                assert overlap < 0.02 * drawing.layout.module_mm**2  # what rounding to 0.01 px and few points can do
                assert outlines[one].distance(outlines[other]) < 0.3

    def test_what_is_marked_as_fouling_does_and_nothing_else(self, case):
        """Discs as large as gears, shafts and studs; every two in one plane that must not touch."""
        drawing = drawing_of(case)
        fouls = sum(gap < drawing.layout.bracket.running_clearance_mm - 1e-6 for gap in gaps_with_shapely(drawing))
        assert len(drawing.fouls) == fouls
        assert len(by_class(drawing.svg(), "foul")) == min(sum(gap.mm < 0 for gap in drawing.fouls), 5)

    def test_the_smallest_gap_is_the_one_shapely_finds(self, case):
        drawing = drawing_of(case)
        assert drawing.gaps[0].mm == pytest.approx(min(gaps_with_shapely(drawing)), abs=1e-6)

    def test_every_gear_is_named_in_both_views(self, case):
        drawing = drawing_of(case)
        said = " ".join(words.text for words in words_of(drawing.svg()))
        for gear in drawing.gears:
            assert str(gear.teeth) in said
        assert len(by_class(drawing.svg(), "arrow")) == len(drawing.axes_mm)

    def test_all_gears_and_the_whole_bracket_are_in_view(self, case):
        drawing = drawing_of(case)
        svg = drawing.svg()
        shapes = [*drawn_gears(svg), Polygon(_points(by_class(svg, "bracket")[0][0].get("d")))]
        for shape in shapes:
            left, top, right, bottom = shape.bounds
            assert left > 6
            assert top > 6
            assert right < BRACKET_PX[0] - 6
            assert bottom < BRACKET_PX[1] - 6


def mates(drawing: BracketDrawing) -> list[tuple[int, int]]:
    """Places in the chain of the gears that mesh."""
    found, place = [], 0
    for mesh in drawing.train.chain():
        found += [(place + k, place + k + 1) for k in range(len(mesh) - 1)]
        place += len(mesh)
    return found


def gaps_with_shapely(drawing: BracketDrawing) -> list[float]:
    """Every gap that must not close, between discs; an overlap as it says how far one reaches into the other."""
    bracket, module = drawing.layout.bracket, drawing.layout.module_mm
    last, meshing = len(drawing.axes_mm) - 1, set(mates(drawing))
    bars = [
        (axis, bracket.shaft_radius_mm if axis in (0, last) else bracket.stud_radius_mm) for axis in range(last + 1)
    ]
    gears = [(gear.shaft, module * (gear.teeth / 2 + 1)) for gear in drawing.gears]
    pairs = [(gear, bar) for gear in gears for bar in bars if gear[0] != bar[0]]
    pairs += [(one, other) for one, other in combinations(bars, 2) if (one[0], other[0]) != (0, last)]
    pairs += [
        (gears[i], gears[j])
        for i, j in combinations(range(len(gears)), 2)
        if drawing.gears[i].plane == drawing.gears[j].plane and (i, j) not in meshing and gears[i][0] != gears[j][0]
    ]
    return [
        Point(drawing.axes_mm[one]).distance(Point(drawing.axes_mm[other])) - radius - other_radius
        for (one, radius), (other, other_radius) in pairs
    ]


def _points(path: str) -> list[tuple[float, float]]:
    found = numbers(path)
    return list(zip(found[::2], found[1::2], strict=True))


class TestBracket:
    @pytest.mark.parametrize("swing", [-75.0, -20.0, 0.0, 20.0])
    def test_the_plate_is_the_tightest_outline_round_pivot_and_slots(self, swing):
        layout = layout_of(METRIC)
        slots = [LineString([slot.from_mm, slot.to_mm]).buffer(6 + 6, quad_segs=64) for slot in METRIC.bracket.slots]
        whole = slots[0].union(slots[1]).union(Point(0, 0).buffer(6 + 6, quad_segs=64)).convex_hull
        expected = affinity.rotate(whole, swing, origin=(0, 0))
        plate = Polygon(plate_outline(layout, swing))
        assert plate.is_valid
        assert plate.symmetric_difference(expected).area < 0.01 * expected.area

    def test_slots_are_drawn_along_their_centre_lines_and_the_stud_stands_in_one(self):
        drawing = drawing_of("two meshes")
        svg = drawing.svg()
        slot = affinity.affine_transform(Polygon(_corners(by_class(svg, "slot")[0])), to_mm(svg, drawing))
        angle = math.radians(drawing.swing_deg)
        ends = [(r * math.cos(angle), r * math.sin(angle)) for r in (-30, -150)]
        line = LineString(ends)
        assert slot.symmetric_difference(line.buffer(0.75 * 7, cap_style="flat")).area < 0.01 * slot.area
        assert line.distance(Point(drawing.axes_mm[1])) < 1e-6
        stud = by_class(svg, "stud")[0]
        assert float(stud.get("r")) * to_mm(svg, drawing)[0] == pytest.approx(7, rel=0.01)

    def test_the_needle_stands_as_the_slot_does(self):
        drawing = BracketDrawing.by_hand(bench(), TRIANGLE, HandSetting(36.0, (StudPlace(0, 40.0),)))
        needle = by_class(drawing.svg(), "needle")[0]
        x1, y1, x2, y2 = (float(needle.get(key)) for key in ("x1", "y1", "x2", "y2"))
        assert math.degrees(math.atan2(y1 - y2, x2 - x1)) == pytest.approx(36, abs=0.1)
        assert "Bracket swung to 36°" in [words.text for words in words_of(drawing.svg())]

    def test_a_cover_is_drawn_where_there_is_one(self):
        room = ((-60.0, -60.0), (120.0, -60.0), (120.0, 150.0), (-60.0, 150.0))
        inside = BracketDrawing.by_hand(bench(cover_mm=room), TRIANGLE, HandSetting(36.0, (StudPlace(0, 40.0),)))
        svg = inside.svg()
        drawn = affinity.affine_transform(Polygon(_points(by_class(svg, "cover")[0].get("d"))), to_mm(svg, inside))
        assert drawn.symmetric_difference(Polygon(room)).area < 0.01 * Polygon(room).area
        assert "cover" in [words.text for words in words_of(svg)]
        assert boxes_on_each_other(svg) == []
        assert by_class(drawing_of("two meshes").svg(), "cover") == []


def _corners(slot: ElementTree.Element) -> list[tuple[float, float]]:
    a, b, rest = slot.get("d").removeprefix("M").removesuffix("Z").replace("A", "L").split("L")[:3]
    found = [tuple(numbers(a)), tuple(numbers(b)), tuple(numbers(rest)[-2:])]
    return [*found, tuple(numbers(slot.get("d").split("L")[2].split("A")[0]))]


class TestWrongMeshesAndFouls:
    def test_every_mesh_that_is_not_right_is_marked_with_its_millimetres(self):
        """On the triangle's lathe: the stud 10 mm further out, so both meshes are off; the angle 90° is gone."""
        drawing = BracketDrawing.by_hand(bench(), TRIANGLE, HandSetting(36.0, (StudPlace(0, 50.0),)))
        tags = [words.text for words in words_of(drawing.svg())]
        assert "tips 6 mm apart" in tags  # 24 on 36: 70 mm where the tips pass at 64
        x, y = 70 * math.cos(math.radians(36)), 70 * math.sin(math.radians(36))
        assert f"open {math.hypot(x, 100 - y) - 80:.1f} mm" in tags
        assert len(by_class(drawing.svg(), "tag wrong")) == len(drawing.fouls) + 2

    def test_what_overlaps_is_drawn_as_the_overlap_of_two_discs(self):
        drawing = BracketDrawing.by_hand(bench(), TRIANGLE, HandSetting(72.0, (StudPlace(0, 40.0),)))
        svg = drawing.svg()
        lenses = [
            affinity.affine_transform(Polygon(_points(part.get("d"))), to_mm(svg, drawing))
            for part in by_class(svg, "foul")
        ]
        stud = (60 * math.cos(math.radians(72)), 60 * math.sin(math.radians(72)))
        expected = Point(stud).buffer(52, quad_segs=64).intersection(Point(0, 100).buffer(5, quad_segs=64))
        assert expected.area > 0
        assert min(lens.symmetric_difference(expected).area for lens in lenses) < 0.05 * expected.area
        assert any(f"fouls {57 - Point(stud).distance(Point(0, 100)):.1f} mm" == w.text for w in words_of(svg))

    def test_beyond_the_cover_is_said(self):
        room = ((-20.0, -60.0), (120.0, -60.0), (120.0, 150.0), (-20.0, 150.0))  # the 30 reaches 32 mm, 12 beyond
        drawing = BracketDrawing.by_hand(bench(cover_mm=room), TRIANGLE, HandSetting(36.8, (StudPlace(0, 40.0),)))
        assert "30 on the spindle side fouls cover by 12 mm" in drawing.description

    def test_no_mark_rests_on_colour(self):
        svg = BracketDrawing.by_hand(bench(), TRIANGLE, HandSetting(60.0, (StudPlace(0, 40.0),))).svg()
        for part in by_class(svg, "tag wrong"):
            assert next(part.iter(f"{SPACE}rect")).get("fill") == "#1B1F24"
        assert all(part.get("stroke") == "#1B1F24" for part in by_class(svg, "foul"))


class TestBracketPicture:
    def test_it_takes_a_fit_a_setup_a_train_or_its_text(self):
        train = Train((40, 30), (80, 60))
        made = gc.setup(INCH, (40, 30), (80, 60), "middle")
        pictures = {bracket_picture(INCH, given).svg for given in (train, str(train), fit(INCH, train))}
        assert len(pictures) == 1
        assert bracket_picture(INCH, made).svg in pictures  # two meshes: right-hand as the lathe file describes it

    def test_the_first_driver_turns_as_the_reverse_makes_it(self):
        """40/80 takes an idler: the leadscrew then turns as the spindle does, so left-hand takes the reverse."""
        right = gc.setup(INCH, 40, 80, "middle", wanted="16 tpi")
        left = gc.setup(INCH, 40, 80, "middle", wanted="16 tpi LH")
        assert sweeps(bracket_picture(INCH, right).svg)[0] == 1
        assert sweeps(bracket_picture(INCH, left).svg)[0] == 0

    def test_the_table_has_a_row_a_gear_with_what_it_comes_nearest_to(self):
        drawing = BracketDrawing.of_fit(bench(), fit(bench(), TRIANGLE, keep_order=True))
        rows = {row["place"]: row for row in drawing.picture().table}
        assert rows["first driven"]["mm across from the pivot"] == "48"
        assert rows["first driven"]["mm up from it"] == "36"
        # 52 reaches from the stud towards the leadscrew shaft 60 mm away, 5 thick
        assert (rows["first driven"]["comes nearest to"], rows["first driven"]["mm between"]) == (
            "leadscrew shaft",
            "3",
        )

    def test_the_description_says_swing_studs_meshes_and_gaps(self):
        said = BracketDrawing.of_fit(bench(), fit(bench(), TRIANGLE, keep_order=True)).description
        for words in (
            "driver 30 on the spindle side turns driven 50 on the stud",
            "It is swung to 36.9°, anticlockwise counted as plus.",
            "Its stops are at −20° and 75°.",
            "The stud stands 40 mm along the slot of 130 mm.",
            "Mesh of 30 and 50: good, 0 mm of backlash.",
            "3 mm: 50 on the stud to leadscrew shaft.",
        ):
            assert words in said

    def test_what_fouls_is_said_once(self):
        train = Train((40, 30), (80, 60))
        alone = INCH.with_gears(add=train.gears, remove=INCH.gears)
        said = bracket_picture(INCH, fit(alone, train, keep_order=True)).description
        assert said.count("fouls") == 1
        assert said.endswith("The 80 on the stud fouls the gearbox input shaft by 1.7 mm.")

    def test_a_misfit_says_why(self):
        picture = bracket_picture(INCH, Train((20,), (80,), (30,)))
        assert "does not go on" in picture.caption
        assert "stays 5.9 mm short" in picture.caption
        assert "stays 5.9 mm short" in picture.description
        assert "apart, 3.7 mm between the tips" in picture.description

    def test_beyond_its_stop_the_needle_is_dashed(self):
        lathe = bench(swing_deg=(-20.0, 30.0))
        picture = bracket_picture(lathe, fit(lathe, TRIANGLE, keep_order=True))
        assert "it stops at 30°" in picture.caption
        assert by_class(picture.svg, "needle")[0].get("stroke-dasharray")

    def test_more_studs_than_the_bracket_has_are_drawn_in_a_row(self):
        picture = bracket_picture(INCH, Train((20,) * 4, (40,) * 4))
        assert "It takes 3 studs, and the bracket has 2." in picture.caption
        assert by_class(picture.svg, "bracket") == []

    def test_without_a_bracket_it_says_what_to_add(self):
        with pytest.raises(NotPossibleError, match="no bracket"):
            bracket_picture(evolve(INCH, bracket=None), "40/80")

    def test_brackets_of_any_shape_are_drawn(self):
        draw = random.Random(3)
        for _ in range(25):
            slots = [
                Slot((draw.uniform(-150, 150), draw.uniform(-150, 150)), (draw.uniform(-150, 150), draw.uniform(0, 99)))
                for _ in range(draw.choice((1, 2, 4)))
            ]
            lathe = bench(
                gears=(20, 30, 40, 50, 60),
                slots=tuple(slots),
                swing_deg=(-180, 180),
                studs=3,
                spindle_side_at_mm=(draw.uniform(-120, 120), draw.uniform(20, 120)),
            )
            picture = bracket_picture(lathe, fit(lathe, Train((20, 30), (50, 60))))
            ElementTree.fromstring(picture.svg)
            assert boxes_off_the_sheet(picture.svg) == []


@in_one("case", [*CASES, "a 127 above"])
def test_the_name_of_an_end_shaft_stands_by_its_own_gear_or_points_to_it(case):
    train, lathe = CASES.get(case, ("(40 · 127)/(60 · 80)", METRIC))
    drawing = BracketDrawing.of_fit(lathe, fit(lathe, train))
    svg = str(drawing.picture().svg)
    scale, _, _, _, left, down = to_mm(svg, drawing)
    module_mm = lathe.module_mm
    radii = [module_mm * (drawing.train.chain()[end][end] / 2 + 1) for end in (0, -1)]
    leaders = [
        ((float(line.get("x1")), float(line.get("y1"))), (float(line.get("x2")), float(line.get("y2"))))
        for line in ElementTree.fromstring(svg).iter(f"{SPACE}line")
        if line.get("stroke-width") == "0.9"
    ]
    for name, end, radius in (("spindle side", 0, radii[0]), ("gearbox input", -1, radii[1])):
        box = next(words.box for words in words_of(svg) if words.text.startswith(name))
        middle = Point(scale * (box[0] + box[2]) / 2 + left, -scale * (box[1] + box[3]) / 2 + down)
        own = Point(drawing.axes_mm[end])
        others = [
            middle.distance(Point(axis)) - module_mm * (teeth / 2 + 1)
            for axis, teeth in _largest_on_each(drawing)
            if axis != drawing.axes_mm[end]
        ]
        if middle.distance(own) - radius > min(others):
            room = bounds(*box).buffer(24)  # the drawing estimates the widths of words on the safe side
            ends = [to for start, to in leaders if room.contains(Point(start))]
            assert any(Point(scale * x + left, -scale * y + down).distance(own) <= radius for x, y in ends)


def _largest_on_each(drawing: BracketDrawing) -> list[tuple[tuple[float, float], int]]:
    largest: dict[tuple[float, float], int] = {}
    for gear in drawing.gears:
        largest[gear.centre_mm] = max(gear.teeth, largest.get(gear.centre_mm, 0))
    return list(largest.items())


class TestWhatIsNotChecked:
    """A lathe file has the slots, not the edge of the arm, which may lie over a shaft in a train that 'goes on'."""

    @in_one("case", CASES)
    def test_the_arm_is_said_to_be_unchecked_in_the_picture_and_in_its_words(self, case):
        drawing = drawing_of(case)
        panel = " ".join("".join(text.itertext()) for text in by_class(drawing.svg(), "panel")[0].iter(f"{SPACE}text"))
        for words in (panel, drawing.description):
            assert "Not checked: the edge of the arm" in words

    @in_one("case", CASES)
    def test_room_is_left_for_what_is_tight_or_in_the_way(self, case):
        drawing = drawing_of(case)
        lines = ["".join(text.itertext()) for text in by_class(drawing.svg(), "panel")[0].iter(f"{SPACE}text")]
        heading = "In the way" if drawing.fouls else "Tightest"
        assert heading in lines
        assert any(("foul" in line or "mm" in line) for line in lines[lines.index(heading) + 1 :])
