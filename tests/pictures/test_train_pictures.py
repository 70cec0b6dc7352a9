"""The picture of a train, read back from its own SVG."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from itertools import combinations, pairwise
from random import Random
from xml.etree import ElementTree

import pytest
from shapely import Polygon, affinity

from gearcalc.basics.errors import GearcalcError
from gearcalc.lathes.pieces import mate_of, piece
from gearcalc.lathes.trains import Train, gears_of
from gearcalc.pictures.gears_in_mesh import row_mm
from gearcalc.pictures.style import LOOKS, PAPER
from gearcalc.pictures.train_pictures import TrainDrawing, arrange, train_picture
from tests.how_much import in_one

SIMPLE = Train((40,), (80,))
COMPOUND = Train((40, 30), (80, 60))
WITH_IDLERS = Train((40, 45), (80, 63), ((50, 33), ()))
LONG = Train((30, 24, 20), (127, 60, 80))
TRAINS = (SIMPLE, COMPOUND, WITH_IDLERS, LONG, Train((12,), (12,)), Train((20,), (127,)), Train((30, 80), (40, 60)))
SPACE = "{http://www.w3.org/2000/svg}"


def train_svg(train: Train, *, spindle_angle_deg: float = 0.0, **how: object) -> str:
    """The drawing alone."""
    return TrainDrawing(train, **how).svg(spindle_angle_deg)


class TestTrainSvg:
    @in_one("train", TRAINS)
    def test_every_gear_is_labelled_with_its_teeth_and_what_it_does(self, train):
        found = " ".join(front_words(train_svg(train)))
        for kind, gears in (("driver", train.drivers), ("driven", train.driven), ("idler", sum(train.idlers, ()))):
            for teeth in set(gears):
                assert len(re.findall(rf"\b{teeth} {kind}\b", found)) == gears.count(teeth)
        assert "spindle side" in found
        assert "leadscrew" in found

    @in_one("train", TRAINS)
    def test_there_is_an_arrow_for_every_shaft(self, train):
        assert len(by_class(train_svg(train), "arrow")) == len(TrainDrawing(train).shafts)

    @in_one("train", TRAINS)
    def test_the_gears_drawn_are_the_outlines_computed(self, train):
        """Rebuilt from path and transforms alone, so nothing is lost on the way to the page."""
        drawing = TrainDrawing(train, module_mm=1.25)
        scale, at = scale_of(drawing, train_svg(train, module_mm=1.25, spindle_angle_deg=33))
        drawn = drawn_gears(train_svg(train, module_mm=1.25, spindle_angle_deg=33))
        by_plane = sorted(zip(drawing.gears, drawing.outlines(33), strict=True), key=lambda pair: pair[0].plane)
        computed = [Polygon(outline) for _, outline in by_plane]
        for page, geometry in zip(drawn, computed, strict=True):
            expected = affinity.affine_transform(geometry, (scale, 0, 0, -scale, *at))
            assert page.symmetric_difference(expected).area < 0.02 * expected.area

    def test_it_says_itself_what_it_shows(self):
        root = ElementTree.fromstring(train_svg(COMPOUND))
        assert root.get("role") == "img"
        assert [child.tag for child in root][:2] == [f"{SPACE}title", f"{SPACE}desc"]
        assert root[0].text == "Train (40 · 30)/(80 · 60)"
        assert root[1].text == train_picture(COMPOUND).description

    def test_drivers_and_driven_differ_by_marks(self):
        svg = train_svg(WITH_IDLERS)
        for gear, kind in zip(by_class(svg, "gear"), kinds_in_drawing_order(WITH_IDLERS), strict=True):
            marks = {part.get("class") for part in gear.iter()} & {"ring", "hatching"}
            assert marks == {"driver": {"ring"}, "driven": {"hatching"}, "idler": set()}[kind]
            fill = next(part.get("fill") for part in gear.iter(f"{SPACE}path"))
            assert fill == LOOKS[kind].fill

    def test_an_idler_runs_free_so_it_has_no_keyway(self):
        """A path for the teeth and one for the bore with its keyway; a plain bore is a circle."""
        for gear, kind in zip(
            by_class(train_svg(WITH_IDLERS), "gear"), kinds_in_drawing_order(WITH_IDLERS), strict=True
        ):
            bores = [part for part in gear.iter(f"{SPACE}path") if part.get("fill") == PAPER]
            assert len(bores) == (kind != "idler")

    def test_a_live_page_can_turn_the_gears_from_their_data(self):
        still, moved = (by_class(train_svg(COMPOUND, spindle_angle_deg=angle), "turning") for angle in (0, 25))
        for before, after in zip(still, moved, strict=True):
            turned = float(before.get("data-rest")) + 25 * float(before.get("data-turns"))
            assert (turned - float(after.get("data-rest")) + 180) % 360 - 180 == pytest.approx(0, abs=0.01)

    def test_turned_the_other_way_the_arrows_point_the_other_way(self):
        assert sweeps(train_svg(COMPOUND)) == [1, 0, 1]
        assert sweeps(train_svg(COMPOUND, clockwise=False)) == [0, 1, 0]
        assert sweeps(train_svg(Train((40,), (80,), ((50,),)))) == [1, 0, 1]

    def test_a_whole_turn_of_the_last_gear_brings_the_picture_back(self):
        assert train_svg(COMPOUND, spindle_angle_deg=4 * 360) == train_svg(COMPOUND)

    def test_names_of_shafts_are_text_whatever_they_hold(self):
        nasty = '</desc><script>alert("&")</script>'
        root = ElementTree.fromstring(train_svg(SIMPLE, last_shaft=nasty))
        assert "script" not in {element.tag.removeprefix(SPACE) for element in root.iter()}
        assert nasty in root[1].text

    @pytest.mark.parametrize("size", [(800, 480), (800, 400), (480, 320), (1200, 900)])
    def test_it_keeps_to_its_sheet(self, size):
        root = ElementTree.fromstring(train_svg(LONG, size_px=size))
        assert (root.get("width"), root.get("height")) == tuple(map(str, size))
        for gear in drawn_gears(train_svg(LONG, size_px=size)):
            left, top, right, bottom = gear.bounds
            assert left >= 0
            assert top >= 0
            assert right <= size[0]
            assert bottom <= size[1]

    @pytest.mark.parametrize("train", [Train((6,) * 6, (1000,) * 6), Train((1000,) * 6, (6,) * 6, ((6, 6),) * 6)])
    def test_absurd_trains_are_drawn_all_the_same(self, train):
        ElementTree.fromstring(train_svg(train))


class TestTrueScale:
    def test_gears_are_drawn_to_one_scale_and_the_bar_says_which(self):
        svg = train_svg(COMPOUND, module_mm=2)
        drawn = sorted(gear.bounds[3] - gear.bounds[1] for gear in drawn_gears(svg))
        scale = drawn[-1] / (2 * 82)
        assert drawn == pytest.approx([scale * 2 * (teeth + 2) for teeth in (30, 40, 60, 80)], rel=0.02)
        root = ElementTree.fromstring(svg)
        length = next(text.text for text in root.iter(f"{SPACE}text") if re.fullmatch(r"[\d.]+ mm", text.text or ""))
        bars = [
            float(line.get("x2")) - float(line.get("x1"))
            for line in root.iter(f"{SPACE}line")
            if line.get("y1") == line.get("y2")
        ]
        assert any(bar == pytest.approx(scale * float(length.split()[0]), rel=0.02) for bar in bars)

    def test_given_axes_are_kept(self):
        axes = [(50.0, 94.0), (10.0, 60.0), (0.0, 0.0)]
        drawing = TrainDrawing(COMPOUND, axes, module_mm=1.0)
        assert [gear.centre_mm for gear in drawing.gears] == [axes[0], axes[1], axes[1], axes[2]]


class TestTrainPicture:
    def test_the_description_is_made_from_the_train(self):
        assert train_picture(WITH_IDLERS, clockwise=False, last_shaft="gearbox input").description == (
            "A compound train: driver 40 on the spindle side turns idler 50 on the first stud, which turns idler 33 on"
            " the second stud, which turns driven 80 on the third stud; driver 45 on the third stud turns driven 63 on"
            " the gearbox input. For one turn of the first driver the gearbox input turns 5/14 turn, the same way. Seen"
            " from the gear end the first driver is taken to turn anticlockwise."
        )

    def test_the_table_has_a_row_for_every_gear(self):
        rows = train_picture(COMPOUND).table
        assert [row["teeth"] for row in rows] == [40, 80, 30, 60]
        assert rows[-1]["turns for one turn of the first driver"] == Fraction(1, 4)
        assert [row["turning, from the gear end"] for row in rows] == [
            "clockwise",
            "anticlockwise",
            "anticlockwise",
            "clockwise",
        ]

    def test_the_caption_is_made_unless_given(self):
        assert train_picture(SIMPLE).caption.startswith("40/80, from the gear end")
        assert train_picture(SIMPLE, caption="The half").caption == "The half"

    def test_the_picture_holds_the_live_drawing(self):
        assert train_picture(LONG, spindle_angle_deg=7).svg == train_svg(LONG, spindle_angle_deg=7)

    @in_one(
        "wrong",
        [
            {"axes_mm": [(0, 0)]},
            {"axes_mm": "nonsense"},
            {"axes_mm": [(0, 0, 0), (1, 1, 1)]},
            {"axes_mm": 7},
            {"axes_mm": []},
            {"planes": (0, 1)},
            {"planes": ()},
            {"planes": 3},
            {"module_mm": 0},
            {"module_mm": "wide"},
            {"module_mm": float("nan")},
            {"pressure_angle_deg": 45},
            {"size_px": (10, 10)},
            {"size_px": 800},
            {"size_px": (800, 480, 1)},
            {"spindle_angle_deg": float("inf")},
            {"spindle_angle_deg": "far"},
        ],
    )
    def test_what_cannot_be_drawn_is_refused(self, wrong):
        with pytest.raises(GearcalcError):
            train_picture(SIMPLE, **wrong)


class TestArrange:
    def test_a_short_train_stands_in_a_row(self):
        axes, planes = arrange(Train((40, 30), (80, 60)))
        assert axes == ((0, 0), (60, 0), (105, 0))
        assert planes == (0, 1)

    def test_the_smaller_gear_of_a_stud_stands_in_front(self):
        for train in (Train((40, 30), (80, 60)), Train((30, 80), (40, 60)), Train((20, 70, 30), (50, 40, 65))):
            _, planes = arrange(train)
            for mesh in range(1, train.meshes):
                driven, driver = train.driven[mesh - 1], train.drivers[mesh]
                assert (planes[mesh] > planes[mesh - 1]) == (driver <= driven)

    def test_a_long_train_is_folded_to_come_out_larger(self):
        train = Train((60, 60), (80, 80), ((50, 50, 50), (50, 50, 50)))
        folded, _ = arrange(train, 2.3)
        row = row_mm(train)
        assert folded[-1][0] < 0.95 * row[-1]
        for (start, end), apart in zip(pairwise(folded), row[1:], strict=True):
            assert math.dist(start, end) == pytest.approx(apart - row[folded.index(start)])

    def test_the_halves_of_a_cluster_are_in_planes_next_to_each_other(self):
        """However the train is made, and still no two gears of one plane touch that do not mesh: 400 at random."""
        random, clusters = Random(7), 0
        for _ in range(400):
            train = a_train_with_clusters(random)
            axes, planes = arrange(train)
            for mesh in range(1, train.meshes):
                if mate_of(train.drivers[mesh]) is not None:
                    assert abs(planes[mesh] - planes[mesh - 1]) == 1, (train, planes)
                    clusters += 1
            for one, other in combinations(gears_of(train.chain()), 2):
                if planes[one.mesh] == planes[other.mesh] and not (
                    one.mesh == other.mesh and abs(one.axis - other.axis) == 1
                ):
                    apart = math.dist(axes[one.axis], axes[other.axis])
                    assert apart > (int(one.teeth) + int(other.teeth)) / 2 + 2, (train, planes)
        assert clusters > 300


def a_train_with_clusters(random: Random) -> Train:
    """Two to five meshes of 18 to 120 teeth; on about half of the studs driven gear and next driver are one piece."""
    meshes = random.randint(2, 5)
    drivers, driven = ([random.randint(18, 120) for _ in range(meshes)] for _ in range(2))
    for mesh in range(1, meshes):
        one, other = driven[mesh - 1], drivers[mesh]
        if random.random() < 0.5:
            driven[mesh - 1], drivers[mesh] = piece(one, mate=other), piece(other, mate=one)
    idlers = [tuple(random.randint(18, 120) for _ in range(random.choice((0, 0, 1)))) for _ in range(meshes)]
    return Train(tuple(drivers), tuple(driven), tuple(idlers))


def by_class(svg: str, name: str) -> list[ElementTree.Element]:
    return [element for element in ElementTree.fromstring(svg).iter() if element.get("class") == name]


def front_words(svg: str) -> list[str]:
    """The words of each group outside the edge view: '40' and 'driver' stand in one group, on two lines."""
    root = ElementTree.fromstring(svg)
    edge = {id(part) for view in by_class_in(root, "edge-view") for part in view.iter()}
    groups = [group for group in root.iter(f"{SPACE}g") if id(group) not in edge]
    return [" ".join(text.text or "" for text in group.findall(f"{SPACE}text")) for group in groups]


def by_class_in(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [element for element in root.iter() if element.get("class") == name]


def kinds_in_drawing_order(train: Train) -> list[str]:
    return [gear.kind for gear in sorted(TrainDrawing(train).gears, key=lambda gear: gear.plane)]


def sweeps(svg: str) -> list[int]:
    """The sweep flag of each arrow's arc: 1 is clockwise on the page."""
    arcs = [next(arrow.iter(f"{SPACE}path")).get("d") for arrow in by_class(svg, "arrow")]
    return [int(re.search(r"A[\d.]+ [\d.]+ 0 0 ([01])", arc)[1]) for arc in arcs]


def drawn_gears(svg: str) -> list[Polygon]:
    """Each gear's outline in page pixels, from its path and the transforms of the groups it stands in."""
    gears = []
    for gear in by_class(svg, "gear"):
        turning = next(part for part in gear.iter() if part.get("class") == "turning")
        body = next(turning.iter(f"{SPACE}path"))
        scale, angle = numbers(body.get("transform"))[0], numbers(turning.get("transform"))[0]
        outline = affinity.scale(Polygon(path_points(body.get("d"))), scale, scale, origin=(0, 0))
        turned = affinity.rotate(outline, angle, origin=(0, 0))  # y down, so this turns clockwise on the page
        gears.append(affinity.translate(turned, *numbers(gear.get("transform"))))
    return gears


def path_points(path: str) -> list[tuple[float, float]]:
    start, rest = path.removeprefix("M").removesuffix("z").split("l")
    (x, y), steps = numbers(start), numbers(rest)
    points = [(x, y)]
    for dx, dy in zip(steps[::2], steps[1::2], strict=True):
        x, y = x + dx, y + dy
        points.append((x, y))
    return points


def numbers(text: str) -> list[float]:
    return [float(found) for found in re.findall(r"-?\d+\.?\d*(?:e-?\d+)?", text)]


def scale_of(drawing: TrainDrawing, svg: str) -> tuple[float, tuple[float, float]]:
    """Pixels to a millimetre, and where (0, 0) mm lies: from the first gear of the lowest plane."""
    first = min(drawing.gears, key=lambda gear: gear.plane)
    group = by_class(svg, "gear")[0]
    x, y = numbers(group.get("transform"))
    body = next(part for part in group.iter(f"{SPACE}path"))
    points = path_points(body.get("d"))
    radius = max((px * px + py * py) ** 0.5 for px, py in points) * numbers(body.get("transform"))[0]
    scale = radius / (drawing.module_mm * (first.teeth / 2 + 1))
    return scale, (x - scale * first.centre_mm[0], y + scale * first.centre_mm[1])
