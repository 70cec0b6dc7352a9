"""Sheets to print: they stay on the page, go on to the next, carry their text, and are the same each time."""

from __future__ import annotations

import re
from typing import NamedTuple
from xml.etree import ElementTree

import matplotlib
import pytest

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.papers.marks import Shape, width_of_words_mm
from gearcalc.papers.paper import SIZES_MM, Paper, bound
from tests.how_much import in_one

SVG = "{http://www.w3.org/2000/svg}"
PT = 25.4 / 72


class Line(NamedTuple):
    """A line of lettering on a page: where it starts and ends, and its baseline, in mm; its type in points."""

    words: str
    left: float
    right: float
    down: float
    size_pt: float


def lines_on(svg: str) -> list[Line]:
    lines = []
    for text in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        words, x, y = "".join(text.itertext()), float(text.get("x")) * PT, float(text.get("y")) * PT
        size_pt = float(text.get("font-size"))
        wide = width_of_words_mm(words, size_pt, bold=text.get("font-weight") == "bold")
        left = x - wide if text.get("text-anchor") == "end" else x
        lines.append(Line(words, left, left + wide, y, size_pt))
    return lines


def words_on(svg: str) -> list[str]:
    return [line.words for line in lines_on(svg)]


class TestPaper:
    @in_one("size", SIZES_MM)
    @in_one("landscape", [False, True])
    def test_the_page_has_its_size_and_everything_is_on_it(self, size, landscape):
        paper = Paper(
            "A heading that is so long that it can't stand in one line of a page",
            size=size,
            below="b " * 99,
            foot="f " * 200,
            landscape=landscape,
        )
        paper.words("some words " * 250)
        paper.words("cautions " * 60, boxed=True)
        for number in range(1, 13):
            paper.step(number, "Do", "do this and that " * 9, ["and this too " * 20])
        paper.table([{"thread": "M8", "gears": "(40 · 30)/(80 · 60) " * 9, "error": 5}] * 9)
        width, height = sorted(SIZES_MM[size], reverse=landscape)
        assert paper.pages > 1
        for page in range(1, paper.pages + 1):
            root = ElementTree.fromstring(paper.svg(page))
            assert [float(root.get(side).removesuffix("pt")) * PT for side in ("width", "height")] == pytest.approx(
                [width, height], abs=1e-3
            )
            for line in lines_on(paper.svg(page)):
                assert (
                    paper.margin_mm - 0.1 <= line.left < line.right <= width - paper.margin_mm + 0.1 or not line.words
                )
                assert paper.margin_mm < line.down <= height - paper.margin_mm + 0.1

    def test_all_the_words_come_out_in_their_order(self):
        paper = Paper("Heading")
        said = [f"word{n}" for n in range(900)]
        paper.words(" ".join(said))
        assert paper.pages > 1
        shown = " ".join(words for page in range(paper.pages) for words in words_on(paper.svg(page + 1)))
        assert re.findall(r"word\d+", shown) == said

    def test_steps_are_numbered_and_kept_whole(self):
        paper = Paper("Heading")
        for number in range(1, 31):
            paper.step(number, "Do", "one two three four five six seven eight nine ten " * 4, ["tick"])
        pages = [words_on(paper.svg(page + 1)) for page in range(paper.pages)]
        numbers = [words for page in pages for words in page if re.fullmatch(r"\d+\.", words)]
        assert numbers == [f"{n}." for n in range(1, 31)]
        assert len(pages) > 1
        firsts = [next(words for words in page if words and not words.startswith("page")) for page in pages[1:]]
        assert all(re.fullmatch(r"\d+\.", words) for words in firsts)

    def test_a_table_has_its_headings_on_every_page(self):
        paper = Paper("Heading")
        paper.table([{"thread": f"M{n}", "good enough": True, "remark": None} for n in range(100)])
        assert paper.pages > 1
        for page in range(1, paper.pages + 1):
            shown = words_on(paper.svg(page))
            assert shown.count("thread") == shown.count("remark") == 1
            assert "yes" in shown
            assert "–" in shown

    def test_what_a_user_typed_is_no_markup(self):
        paper = Paper("<b>$x_1$</b> & \x00\ud800")
        paper.words("\\frac{1}{2} $\\alpha$ <script>alert(1)</script>")
        shown = words_on(paper.svg())
        assert "<b>$x_1$</b> & \\x00\\ud800" in shown
        assert "\\frac{1}{2} $\\alpha$ <script>alert(1)</script>" in shown
        assert paper.pdf().startswith(b"%PDF-")

    def test_the_same_sheet_gives_the_same_bytes_that_tell_nothing_of_the_machine(self):
        def sheet() -> Paper:
            paper = Paper("Heading", foot="Foot")
            paper.words("Gewinde µ × ≈ ⅓ – ³")
            left, top, right, bottom = paper.drawing(20)
            paper.put(Shape(((left, top), (right, bottom)), closed=False))
            return paper

        one, other = ((paper.pdf(), paper.svg().encode()) for paper in (sheet(), sheet()))
        assert one == other
        for data in one:
            assert not re.search(rb"/home|/root|/usr/|site-packages|CreationDate|Matplotlib", data)

    def test_pdf_carries_its_font_as_text(self):
        printed = Paper("Heading").pdf()
        assert re.search(rb"/BaseFont /[A-Z+]*DejaVuSans-Bold", printed)
        assert b"/FontFile2" in printed

    def test_nobodys_settings_are_used_or_changed(self):
        plain, printed = Paper("Heading").svg(), Paper("Heading").pdf()
        with matplotlib.rc_context(
            {"pdf.fonttype": 3, "font.family": "serif", "text.color": "red", "savefig.bbox": "tight"}
        ):
            before = dict(matplotlib.rcParams)
            assert Paper("Heading").svg() == plain
            assert Paper("Heading").pdf() == printed
            assert dict(matplotlib.rcParams) == before

    def test_files(self, tmp_path):
        paper = Paper("Heading")
        paper.words("words " * 900)
        assert [path.name for path in paper.save(tmp_path / "card.svg")] == ["card.svg"] + [
            f"card-{page}.svg" for page in range(2, paper.pages + 1)
        ]
        assert [path.name for path in paper.save(tmp_path / "card.PDF")] == ["card.PDF"]
        assert len(list(tmp_path.iterdir())) == paper.pages + 1
        with pytest.raises(ValueOutOfRangeError, match="ending"):
            paper.save(tmp_path / "card.png")

    def test_pages_are_numbered_when_there_are_several(self):
        paper = Paper("Heading")
        assert "page 1 of" not in paper.svg()
        paper.next_page()
        assert "page 1 of 2" in paper.svg(1)
        assert "page 2 of 2" in paper.svg(2)


class TestDrawing:
    def test_is_in_millimetres(self):
        paper = Paper("Heading")
        before = paper.left_mm
        left, top, right, bottom = paper.drawing(60)
        assert (left, right, bottom - top) == (15, 195, 60)
        assert top == pytest.approx(297 - 15 - paper._foot_mm - before)
        assert before - paper.left_mm > 60
        paper.put(Shape(((left, top), (right, top), (right, bottom)), fill="#FF0000"))
        path = next(
            each.get("d")
            for each in ElementTree.fromstring(paper.svg()).iter(f"{SVG}path")
            if each.get("fill") == "#FF0000"
        )
        drawn = [[float(place) * PT for place in point.split()] for point in path.strip("MZ").split("L")]
        assert drawn == [pytest.approx(point, abs=0.01) for point in ([left, top], [right, top], [right, bottom])]

    def test_goes_to_the_next_page_when_there_is_no_room(self):
        paper = Paper("Heading")
        paper.drawing(200)
        assert paper.pages == 1
        paper.drawing(60)
        assert paper.pages == 2

    @pytest.mark.parametrize("height_mm", [0, 300, -1, float("nan")])
    def test_refuses_what_has_no_room(self, height_mm):
        with pytest.raises(ValueOutOfRangeError, match="room"):
            Paper("Heading").drawing(height_mm)


class TestRefusals:
    @in_one(
        "made",
        [
            lambda: Paper(""),
            lambda: Paper("x", size="A2"),
            lambda: Paper("x", margin_mm=2),
            lambda: Paper("x").table([]),
            lambda: Paper("x").svg(2),
        ],
    )
    def test_says_so(self, made):
        with pytest.raises(ValueOutOfRangeError):
            made()


class TestSignsThatTheLetteringHasNot:
    NAME = "旋盤 Drehbank Ø ½ Станок 选 ✓ π"

    @pytest.mark.filterwarnings("error")  # 'Glyph missing' is said by a warning
    def test_are_a_mark_that_is_seen_and_no_warning(self):
        paper = Paper(self.NAME, below=self.NAME, foot=self.NAME)
        paper.words(self.NAME)
        paper.table([{self.NAME: self.NAME}])
        page = paper.svg()
        assert paper.pdf().startswith(b"%PDF-")
        said = page if isinstance(page, str) else page.decode()
        assert "旋" not in said
        assert "\ufffd\ufffd Drehbank Ø ½ Станок" in said

    @pytest.mark.filterwarnings("error")
    def test_a_plate_of_a_lathe_so_named(self, tmp_path):
        import gearcalc as gc

        lathe = gc.Lathe.from_toml(
            'name = "旋盤"\nleadscrew.lead = "3 mm"\ngears.teeth = [20, 40]\n[[gearbox]]\nlever = "低"\nratio = 1'
        )
        gc.wall_plate(lathe, ["1.5 mm"]).save(tmp_path / "plate.pdf")
        gc.change_card(lathe, gc.setup(lathe, 20, 40)).save(tmp_path / "card.pdf")


class TestKeptWhole:
    def text(self, lines):
        paper = Paper("Kept")

        def put():
            for number in range(lines):
                paper.words(f"part {number}")

        paper.words("before")
        paper.kept_whole(put)
        return [[each for each in words_on(paper.svg(page)) if "part" in each] for page in range(1, paper.pages + 1)]

    def test_where_a_page_holds_it_it_is_on_one(self):
        fits = max(n for n in range(1, 60) if len(self.text(n)) == 1)
        assert 20 < fits < 50
        assert self.text(fits + 1) == [[], [f"part {number}" for number in range(fits + 1)]]

    def test_what_no_page_holds_begins_on_the_next_and_goes_on(self):
        first, *others = self.text(90)
        assert not first
        assert [each for page in others for each in page] == [f"part {number}" for number in range(90)]


class TestChoices:
    @in_one("words", [["clockwise", "anticlockwise"], [f"{n} tpi" for n in range(15)], ["a long choice " * 20, "b"]])
    def test_each_has_a_square_and_stands_on_the_paper(self, words):
        paper = Paper("Choices")
        before = len(paper._pages[0])
        paper.choices(words)
        marks = paper._pages[0][before:]
        assert sum(isinstance(mark, Shape) for mark in marks) == len(words)
        assert " ".join(mark.words for mark in marks if not isinstance(mark, Shape)).split() == " ".join(words).split()
        assert all(line.right <= 195 for line in lines_on(paper.svg()))
        places = [(line.left, line.down) for line in lines_on(paper.svg())]
        assert len(set(places)) == len(places)


class TestBound:
    def test_each_counts_its_own_pages_and_the_pages_are_all_there(self):
        papers = [Paper("One"), Paper("Two"), Paper("Three")]
        papers[1].next_page()
        pdf = bound(papers, "All three")
        assert pdf.count(b"/Type /Page\n") + pdf.count(b"/Type /Page ") == 4
        assert b"All three" in pdf
        assert bound(papers, "All three") == pdf
        assert [words_on(paper.svg())[-1] for paper in papers] == ["One", "page 1 of 2", "Three"]
