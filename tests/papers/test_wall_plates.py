"""The plate for the wall: on one page, legible, complete, with its date and cautions, and what can't be cut."""

from __future__ import annotations

from datetime import date
from functools import cache
from xml.etree import ElementTree

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.cautions import CAUTIONS
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.lathes.pieces import piece
from gearcalc.lathes.trains import Train
from gearcalc.papers.marks import width_of_words_mm
from gearcalc.papers.paper import SIZES_MM
from gearcalc.papers.wall_plates import SMALLEST_PT, WallPlate, wall_plate
from gearcalc.planning.charts import chart_rows
from gearcalc.threads.series import thread_series
from tests.how_much import THOROUGH, in_one

INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
TWENTY = ["M3", "M4", "M5", "M6", "M8", "M10", "M12", "M16", "1/4-20", "5/16-18", "3/8-16", "1/2-13", "1.5 mm",
          "11 1/2 tpi", "module 1", "2 BA", "1/2 NPT", "G 1/2", "Tr 40x7", "DP 12"]  # fmt: skip
SIXTY = [*thread_series("metric coarse"), *thread_series("UNC")][:60]
SVG = "{http://www.w3.org/2000/svg}"
PT = 25.4 / 72
CAP = 0.729
"""Height of a capital letter of DejaVu Sans, in sizes of the type (measured from the font)."""


def lettering(svg: str) -> list[tuple[str, float, float, float, bool]]:
    """Words, x and y in mm, size in points, and whether bold."""
    found = []
    for text in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        x, y = (float(text.get(axis)) * PT for axis in "xy")
        bold = text.get("font-weight") == "bold"
        found.append(("".join(text.itertext()), x, y, float(text.get("font-size")), bold))
    return [each for each in found if each[0]]


def plate_type(plate: WallPlate) -> float:
    """The size of the rows' type, as it stands on the page."""
    return min(size for words, _, _, size, heavy in lettering(plate.paper.svg()) if "→" in words)


def along_the_chain(train: Train) -> str:
    return "+".join(
        "→".join([str(driver), *(f"({idler})" for idler in idlers), str(driven)])
        for driver, *idlers, driven in train.chain()
    )


@cache
def plate_and_svg(lathe: str, count: int, size: str = "A4") -> tuple[WallPlate, str]:
    """One of the plates for the demo lathes that several tests look at."""
    if size == "A4":
        plate = wall_plate(gc.demo_lathe(lathe), TWENTY if count == 20 else SIXTY, on="2026-11-25", size=size)
    else:
        plate = evolve(plate_and_svg(lathe, count)[0], size=size)
    return plate, plate.paper.svg()


class TestPage:
    def test_the_paper_is_the_one_named_else_the_owners(self):
        lathe = gc.demo_lathe("inch").with_show(paper="letter")
        sizes = [wall_plate(lathe, "8 tpi", size=size).paper.size_mm for size in (None, "a4", "A3")]
        assert [sorted(size) for size in sizes] == [[215.9, 279.4], [210, 297], [297, 420]]

    @in_one(
        ("lathe", "count", "size"),
        [
            ("inch", 20, "A4"),
            ("metric", 60, "A4"),
            ("inch", 60, "Letter"),
            *([("metric", 20, "A4"), ("inch", 60, "A4"), ("inch", 60, "A3")] if THOROUGH else []),
        ],
    )
    def test_one_page_with_everything_on_it_and_nothing_over_anything(self, lathe, count, size):
        plate, svg = plate_and_svg(lathe, count, size)
        assert plate.paper.pages == 1
        width, height = plate.paper.size_mm
        assert sorted((width, height)) == sorted(SIZES_MM[size])
        words = lettering(svg)
        boxes = [
            (x, y, x + width_of_words_mm(text, size_pt, bold=bold), y - CAP * size_pt * PT)
            for text, x, y, size_pt, bold in words
        ]
        for left, bottom, right, top in boxes:
            assert left >= 9.9
            assert right <= width - 9.9
            assert 9.9 <= top < bottom <= height - 9.9
        for n, (left, bottom, right, top) in enumerate(boxes):
            for other_left, other_bottom, other_right, other_top in boxes[n + 1 :]:
                across = min(right, other_right) - max(left, other_left)
                assert across < 0.3 or min(bottom, other_bottom) - max(top, other_top) < 0.1

    @pytest.mark.parametrize("lathe", ["inch", "metric"])
    @pytest.mark.parametrize(("count", "cap_mm"), [(20, 3.3), (60, 2.3)])
    def test_capitals_are_tall_enough_for_arms_length(self, lathe, count, cap_mm):
        # Common practice, no source: letters of a three-hundredth of the distance can be read; an arm is 0.7 m.
        sizes = {size for words, *_, size, _ in lettering(plate_and_svg(lathe, count)[1]) if words.startswith("M1")}
        assert min(sizes) * CAP * PT >= cap_mm

    @pytest.mark.parametrize("lathe", ["inch", "metric"])
    @pytest.mark.parametrize("count", [20, 60])
    def test_cautions_are_set_as_large_as_the_rows_or_in_12_point(self, lathe, count):
        shown = lettering(plate_and_svg(lathe, count)[1])
        row = min(size for words, *_, size, _ in shown if words.startswith("M1"))
        cautions = {size for words, *_, size, _ in shown if "Never bridge" in words or "does not know" in words}
        assert min(cautions) >= min(row, 12) - 0.001

    def test_a_sign_that_warns_is_explained_among_the_cautions(self):
        steep = gc.Lathe.from_toml('name = "Steep"\nleadscrew.lead = "8 tpi"\ngears.teeth = [20, 100]')
        shown = lettering(wall_plate(steep, ["40 tpi"], on="x").paper.svg())
        sizes = [size for words, *_, size, _ in shown if "hard on the teeth" in words or "does not know" in words]
        assert sizes == [12, 12]

    @pytest.mark.parametrize("count", [20, 60])
    def test_what_over_means_is_set_as_large_as_the_cautions(self, count):
        shown = lettering(plate_and_svg("inch", count)[1])
        (over,) = {size for words, *_, size, _ in shown if "Reverse over:" in words}
        assert over == min(size for words, *_, size, _ in shown if "does not know" in words)

    def test_on_larger_paper_the_type_is_larger(self):
        small, large = (
            min(size for words, *_, size, _ in lettering(plate_and_svg("inch", 60, paper)[1]) if words.startswith("M1"))
            for paper in ("A4", "A3")
        )
        assert large > 1.4 * small
        assert plate_and_svg("inch", 60)[0].type_in_words == f"type of {small:.1f} pt for arm's length; larger on A3"
        assert plate_and_svg("inch", 60, "A3")[0].type_in_words == f"type of {large:.1f} pt"

    def test_says_lathe_date_cautions_and_every_row(self):
        plate, svg = plate_and_svg("metric", 20)
        shown = " ".join(words for words, *_ in lettering(svg))
        assert METRIC.name in shown
        assert "2026-11-25" in shown
        for caution in CAUTIONS:
            assert caution in shown
        for row in plate.rows:
            assert str(row.thread) in shown or str(row.thread) in shown

    def test_today_unless_another_day_is_given(self):
        assert wall_plate(INCH, "M8").on == str(date.today())
        assert wall_plate(INCH, "M8", on=date(2026, 11, 25)).on == "2026-11-25"

    def test_the_rows_read_as_the_chart_says(self):
        plate, svg = plate_and_svg("inch", 20)
        shown = lettering(svg)
        for row in plate.rows:
            name = str(row.thread)
            y = next(y for words, _, y, _, bold in shown if words == name and bold)
            line = [words for words, x, at, *_ in sorted(shown, key=lambda each: each[1]) if abs(at - y) < 0.1]
            assert row.setup.lever in line
            assert along_the_chain(row.setup.train) in "".join(line)
            assert ("exact" in line) == row.setup.is_exact

    def test_each_row_says_where_the_reverse_stands(self):
        """Counted by hand: teeth touch once at each →. As the file has it the first driver turns with the spindle, and
        nothing else turns round, so an even number cuts right-hand."""
        threads = ["8 tpi", "8 tpi LH", "16 tpi LH", "M10", "M10 LH", "1/4-20", "13 tpi", "module 1 LH"]
        plate = wall_plate(INCH, threads, on="x")
        assert INCH.spindle_side.same_way
        assert all(lever.same_way for lever in INCH.gearbox)
        shown, seen = lettering(plate.paper.svg()), set()
        for row, written in zip(plate.table(), threads, strict=True):
            y = next(y for words, _, y, _, bold in shown if words == row["thread"] and bold)
            line = [words for words, _, at, *_ in shown if abs(at - y) < 0.1]
            over = (row["gears in order"].count("→") % 2 == 0) == written.endswith("LH")
            assert [words for words in line if words in ("over", "–")] == ["over" if over else "–"]
            assert row["reverse"] == ("over" if over else "–")
            seen.add(over)
        assert seen == {True, False}
        said = " ".join(words for words, *_ in shown)
        assert "Reverse over: the first driver turns against the spindle; elsewhere with it." in said
        assert "from the spindle side to the gearbox input:" in said

    def test_a_lathe_without_a_reverse_has_no_column_for_it(self):
        plate = wall_plate(evolve(INCH, spindle_side=evolve(INCH.spindle_side, reverse=False)), ["8 tpi"], on="x")
        assert not [words for words, *_ in lettering(plate.paper.svg()) if "reverse" in words.lower()]

    def test_nothing_is_said_of_the_reverse_where_no_row_turns_it_over(self):
        rows = [row for row in chart_rows(INCH, ["8 tpi", "9 tpi", "8 tpi LH"]) if not row.setup.reverse_over]
        assert len(rows) == 2
        plate = WallPlate(INCH, tuple(rows), "x")
        assert not [words for words, *_ in lettering(plate.paper.svg()) if "reverse" in words.lower()]

    def test_without_a_gearbox_the_train_ends_at_the_leadscrew(self):
        plate = wall_plate(evolve(INCH, gearbox=(), plate=()), ["8 tpi"], on="x")
        assert "from the spindle side to the leadscrew:" in " ".join(
            words for words, *_ in lettering(plate.paper.svg())
        )

    def test_bold_is_what_changed(self):
        plate = wall_plate(INCH, ["4 tpi", "9 tpi"], on="x")
        first, second = (row.setup.train for row in plate.rows)
        bold = [words for words, _, _, size, heavy in lettering(plate.paper.svg()) if heavy and size == 18]
        assert bold == ["4 tpi", "9 tpi", plate.rows[1].setup.lever, str(second.driven[0])]
        assert plate.rows[0].setup.lever != plate.rows[1].setup.lever
        assert (first.drivers, first.idlers) == (second.drivers, second.idlers)

    def test_too_many_threads_are_refused_with_a_remedy(self):
        plate, _ = plate_and_svg("inch", 60)
        plate = evolve(plate, rows=3 * plate.rows)
        with pytest.raises(ValueOutOfRangeError, match=f"List fewer, so that it is {SMALLEST_PT:g} pt or more"):
            plate.paper.svg()

    def test_files(self, tmp_path):
        plate = wall_plate(INCH, TWENTY[:3], on="x")
        assert plate.save(tmp_path / "plate.pdf").read_bytes().startswith(b"%PDF-")
        assert plate.save(tmp_path / "plate.svg").read_text("utf-8").startswith("<?xml")
        page = plate.save(tmp_path / "plate.html").read_text("utf-8")
        assert page.count("</svg>") == plate.paper.pages
        assert "http:" not in page.replace("http://www.w3.org/2000/svg", "")
        again = wall_plate(INCH, TWENTY[:3], on="x")
        assert again.paper.pdf() == (tmp_path / "plate.pdf").read_bytes()
        with pytest.raises(ValueOutOfRangeError):
            plate.save(tmp_path / "plate.txt")

    def test_names_are_no_markup(self):
        plate = wall_plate(evolve(INCH, name="<b>$x$</b> & more"), "M8", on="<i>")
        shown = [words for words, *_ in lettering(plate.paper.svg())]
        assert "<b>$x$</b> & more" in shown
        assert "<b>" not in plate._repr_html_()


class TestWhatCanNotBeCut:
    def test_is_said_without_gears(self):
        plate = wall_plate(INCH, ["8 tpi", "lead 15 in"], on="x")
        shown = [words for words, *_ in lettering(plate.paper.svg())]
        assert "NOT GOOD ENOUGH" in shown
        assert "lead 15 in" in plate.description.split("Can't be cut near enough:")[1]
        assert plate.table()[1]["gears in order"] is None
        assert [str(row.thread) for row in plate.not_cut] == ["lead 15 in"]

    def test_gears_are_moved_from_the_last_row_that_shows_some(self):
        """From 20, idler 63, to 80, idler 20: three places, though the row between has a train of its own."""
        plate = wall_plate(INCH, ["10 tpi", "lead 15 in", "13 tpi"], on="x")
        moved = "gears to move, by place in the train"
        assert [(row["gears in order"], row[moved]) for row in plate.table()] == [
            ("20→(63)→25", None),
            (None, None),
            ("80→(20)→65", 3),
        ]

    def test_no_train_at_all(self):
        bare = gc.Lathe.from_toml('name = "Bare"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40]')
        plate = wall_plate(bare, ["16 tpi", "M8"], on="x")
        shown = [words for words, *_ in lettering(plate.paper.svg())]
        assert shown.count("CAN'T BE CUT: NO TRAIN") == 2

    def test_signs_are_explained_when_they_are_there(self):
        def foot(lathe, *threads):
            return " ".join(words for words, *_ in lettering(wall_plate(lathe, threads, on="x").paper.svg()))

        assert "no tolerance is known" in foot(INCH, "1.5 mm")
        assert "no tolerance is known" not in foot(INCH, "8 tpi")
        assert "the taper is" in foot(INCH, "1/2 NPT")
        assert "Fit not checked" in foot(evolve(INCH, bracket=None), "8 tpi")
        assert "Fit not checked" not in foot(INCH, "8 tpi")
        steep = gc.Lathe.from_toml('name = "Steep"\nleadscrew.lead = "8 tpi"\ngears.teeth = [20, 100]')
        assert "lowest speed" in foot(steep, "40 tpi")
        assert "lever" not in foot(steep, "40 tpi").split()


class TestPicture:
    def test_has_a_description_and_a_table(self):
        plate = wall_plate(INCH, ["8 tpi", "M8"], on="2026-11-25")
        picture = plate.picture
        assert picture.svg.startswith("<?xml")
        assert picture.description == plate.description == str(plate)
        assert [row["thread"] for row in picture.table] == ["8 tpi", "M8x1.25"]
        assert "<table>" in plate._repr_html_()
        assert INCH.name in picture.caption


class TestGearsInOrder:
    @pytest.mark.parametrize(
        ("above", "train", "bold"),
        [
            ("63→50+70→80", "63→(35)→50", "(35) 50"),  # from the stud to the leadscrew, the first driven in both
            ("63→(35)→50", "63→50+70→80", "50 70 80"),
            ("20→40+30→60", "25→60", "25"),  # on the leadscrew in both, the second driven and then the first
            ("20→40+30→60", "20→(50)→40+30→60", "(50)"),  # the stud with two gears makes room for another
            ("20→(40)→60", "20→40+30→60", "30"),  # on its stud in both, first an idler
            ("20→40+30→60", "20→30+40→60", ""),
            ("20→(35)→(40)→60", "20→(40)→60", ""),
            ("20→(35)→(40)→60", "20→(40)→(35)→60", "(35)"),
        ],
    )
    def test_a_gear_is_bold_that_was_not_on_that_shaft_in_the_row_above(self, above, train, bold):
        row = wall_plate(INCH, "8 tpi", on="x").rows[0]
        rows = tuple(evolve(row, setup=evolve(row.setup, train=Train.parse(each))) for each in (above, train))
        shown = lettering(WallPlate(INCH, rows, "x").paper.svg())
        gears = [words for words, *_, size, heavy in shown if heavy and size == 18 and words[0] in "(0123456789"]
        assert " ".join(words for words in gears if words != "8 tpi") == bold

    @pytest.mark.parametrize(
        ("train", "shown"),
        [
            (Train((40,), (80,)), "40→80"),
            (Train((40,), (80,), ((50,),)), "40→(50)→80"),
            (Train((40, 30), (80, 60)), "40→80+30→60"),
            (Train((40, 30), (80, 60), ((), (24, 25))), "40→80+30→(24)→(25)→60"),
        ],
    )
    def test_reads_along_the_chain(self, train, shown):
        plate = wall_plate(INCH, "8 tpi", on="2026-11-25")
        row = evolve(plate.rows[0], setup=evolve(plate.rows[0].setup, train=train))
        assert along_the_chain(train) == shown
        assert shown in [words for words, *_ in lettering(evolve(plate, rows=(row,)).paper.svg())]


class TestOddGears:
    """Rows with gears in one piece or of another size are read again as the trains that they are."""

    LATHE = gc.Lathe.from_toml(
        'name = "Odd lathe"\nleadscrew.lead = "3 mm"\n[gears]\nteeth = [20, 25, 40, 60, 75, 80]\nmodule_mm = 1.25\n'
        "damaged = [75]\nclusters = [[42, 54]]\n[[more_gears]]\nteeth = [30, 48]\nmodule_mm = 1\n"
    )

    def test_as_they_are_written(self):
        plate = gc.wall_plate(self.LATHE, ["lead 75/64 mm", "lead 18/7 mm", "1.5 mm"], within_ppm=0, on="today")
        rows = {row["thread"]: row["gears in order"] for row in plate.table()}
        assert any(", second mesh of module 1" in row or ", first mesh of module 1" in row for row in rows.values())
        for row, line in zip(plate.rows, rows.values(), strict=True):
            assert gc.Train.parse(line) == row.setup.train
        assert "Damaged: 75 (module 1.25). In one piece: 42 and 54." in plate.paper.svg()

    def test_a_short_mark_in_the_row_and_the_words_below(self):
        plate = gc.wall_plate(self.LATHE, ["lead 75/64 mm", "lead 18/7 mm", "1.5 mm"], within_ppm=0, on="today")
        shown = lettering(plate.paper.svg())
        lines = {y: "".join(words for words, _, at, *_ in sorted(shown, key=lambda each: each[1]) if at == y)
                 for _, _, y, *_ in shown}  # fmt: skip
        below = " ".join(words for words, *_ in shown)
        marked = 0
        for row in plate.rows:
            line = next(line for line in lines.values() if line.startswith(str(row.thread)))
            mark = line.partition(along_the_chain(row.setup.train))[2].partition(")")[0].strip()
            words = ", ".join(row.setup.train.apart)
            assert (mark in ("a", "b", "c")) == bool(words)
            assert not words or f" {mark}) {words}." in below
            marked += bool(words)
        assert marked >= 2

    @pytest.mark.parametrize("mark", [" a)", "  b )", "ab)"])
    def test_a_row_with_its_mark_is_told_what_to_write_for_it(self, mark):
        with pytest.raises(ValueOutOfRangeError, match=r"mark.*Leave it out.*what the key below") as refused:
            Train.parse(f"30→84+22→75{mark}")
        instead = str(refused.value).split("'")[-2]
        assert Train.parse(instead).apart == ("first mesh of module 1",)

    @pytest.mark.parametrize("size", ["A4", "Letter"])
    def test_two_sizes_of_tooth_leave_seventy_three_threads_legible(self, size):
        row = gc.wall_plate(self.LATHE, ["lead 75/64 mm"], on="today").rows[0]
        half, other = piece(42, mate=54), piece(54, mate=42)
        trains = [Train((20, half), (other, 80)), Train((20, other, 60), (half, 80, 25)),
                  Train((20, piece(48, "module 1")), (25, piece(30, "module 1")), ((75,), ()))]  # fmt: skip
        rows = [evolve(row, setup=evolve(row.setup, train=trains[n % 3])) for n in range(73)]
        assert plate_type(WallPlate(self.LATHE, tuple(rows), "today", size)) >= SMALLEST_PT

    def test_a_fixed_gear_is_never_bold(self):
        lathe = gc.Lathe.from_toml(
            self.LATHE.to_toml().replace("teeth = [20,", "fixed = { last_driven = 80 }\nteeth = [20,")
        )
        row = gc.wall_plate(self.LATHE, ["lead 75/64 mm"], on="today").rows[0]
        trains = ["20/80", "20x60/40x80", "20x60x25/40x75x80", "60/80"]
        rows = tuple(evolve(row, setup=evolve(row.setup, lathe=lathe, train=Train.parse(train))) for train in trains)
        svg = WallPlate(lathe, rows, "today").paper.svg()
        bold = " ".join(words for words, *_, heavy in lettering(svg) if heavy and words[0] in "2467")
        assert bold.split() == ["40", "60", "75", "25", "60"]
