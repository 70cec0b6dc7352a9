"""The rules for lessons find the faults that they are there to find."""

from __future__ import annotations

import re

import pytest

from gearcalc.basics.files import data_folder, notebooks_folder
from tests.how_much import in_one
from tests.lessons.lesson_rules import faults_as_committed, faults_as_exported, faults_when_run, raw_python, read, run
from tests.notebooks import KERNEL, LESSONS, code, notebook, output, sources, words

PICTURE = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
SERVED = {"voila": {"template": "gearcalc"}}


def lesson_of(*cells, size=25):
    return notebook([*cells, *(words("Words.") for _ in range(size - len(cells)))], **KERNEL, **SERVED)


def folded(source):
    cell = code(source)
    cell.metadata["jupyter"] = {"source_hidden": True}
    return cell


def shown(html):
    return notebook([code("show", execution_count=1, outputs=[output("display_data", {"text/html": html})])])


def test_the_start_page_lists_every_lesson():
    page = "".join(cell.source for cell in read(LESSONS["00"]).cells)
    _, *lessons = (path.name for path in LESSONS.values())
    assert [name for name in lessons if f"({name})" not in page] == []


@pytest.mark.parametrize("name", LESSONS)
def test_what_the_words_say_to_save_is_what_a_cell_shows(name):
    """A paper of other arguments is another paper: what is explained beside it would not stand there."""
    cells = read(LESSONS[name]).cells
    told = "".join(cell.source for cell in cells if cell.cell_type == "markdown")
    shown = "".join(cell.source for cell in cells if cell.cell_type == "code")
    saved = re.findall(r"`(?:saved = )?(gc\.\w+\([^`]+\))\.save\(", told)
    assert [call for call in saved if call not in shown] == []
    assert saved or name != "12"


class TestWithoutTheSentencesAboutCells:
    """A page of voila leaves them out, as its template says: what stays is read on."""

    TEMPLATE = (data_folder() / "voila" / "index.html.j2").read_text(encoding="utf-8")
    ENDS = re.compile(re.search(r"sentences = /(.*)/;", TEMPLATE)[1])
    ABOUT_CELLS = re.compile(re.search(r"!/(.*)/i\.test", TEMPLATE)[1], re.I)
    POINTS_BACK = re.compile(r"[`*\W]*(from then|then|here that|there|so|it|this|that|those|these|the same)\b", re.I)

    def left_hanging(self, paragraph):
        """What stays, and leans on what doesn't: it points back to it, or announces it."""
        said = self.ENDS.split(paragraph.replace("**", ""))
        gone = [bool(self.ABOUT_CELLS.search(sentence)) for sentence in said]
        for place, sentence in enumerate(said):
            if not gone[place] and (
                (place and gone[place - 1] and self.POINTS_BACK.match(sentence))
                or (sentence.endswith(":") and gone[place + 1 : place + 2] == [True])
            ):
                yield sentence

    @pytest.mark.parametrize(
        ("paragraph", "hanging"),
        [
            ("Now check it: run the cell. Here that of the corner:", ["Now check it:", "Here that of the corner:"]),
            ("Run the cell. From then on it counts.", ["From then on it counts."]),
            ("Put a 3 there. Then run the cell. Once it is there, it counts.", []),
        ],
    )
    def test_what_hangs_is_seen(self, paragraph, hanging):
        assert list(self.left_hanging(paragraph)) == hanging

    @in_one("path", sorted(notebooks_folder().glob("*.ipynb")))
    def test_nothing_is_left_hanging(self, path):
        texts = [text for kind, text in sources(path) if kind == "markdown"]
        paragraphs = [part.strip() for text in texts for part in re.split(r"\n\n|\n(?=- |\d+\. )", text)]
        assert [sentence for paragraph in paragraphs for sentence in self.left_hanging(paragraph)] == []


def test_each_guess_has_a_name_of_its_own_over_all_lessons():
    pages = [read(path) for path in sorted(notebooks_folder().glob("*.ipynb"))]
    sources = (cell.source for page in pages for cell in page.cells if cell.cell_type == "code")
    names = [name for source in sources for name in re.findall(r"\bguess\(\s*[\"']([^\"']+)", source)]
    assert names
    assert sorted(names) == sorted(set(names))


class TestFaultsAsCommitted:
    def test_a_clean_lesson_has_none(self, tmp_path):
        assert faults_as_committed(lesson_of(code("1 + 1")), tmp_path / "01.ipynb") == []
        kept = [folded('# What you guessed\ntaken_up("a", "b")') for _ in range(5)]
        assert faults_as_committed(lesson_of(*kept, size=50), tmp_path / "01.ipynb") == []

    @in_one(
        ("faulty", "word"),
        [
            (lambda: lesson_of(code("1", execution_count=1)), "outputs"),
            (lambda: lesson_of(code("1", outputs=[output("stream", text="1")])), "outputs"),
            (lambda: lesson_of(code("\n".join("1" * 16))), "16 lines"),
            (lambda: lesson_of(code("1" * 101)), "a line of 101 letters"),
            (lambda: lesson_of(code("from gearcalc.threads.worms import FORMS")), "from gearcalc.threads.worms"),
            (lambda: lesson_of(code("if True:\n    import gearcalc.learning as x")), "from gearcalc.learning,"),
            (lambda: lesson_of(size=24), "24 cells"),
            (lambda: lesson_of(size=46), "46 cells"),
            (lambda: lesson_of(words('Run `main(["check"])` in a cell.')), "wrong ="),
            (lambda: lesson_of(code('# main(["check"])')), "wrong ="),
            (lambda: lesson_of(words('Run `gc.wall_plate(own, wish).save("plate.pdf")`.')), "saved ="),
            (lambda: lesson_of(folded('taken_up("a", "3.175 mm")')), "begin what is folded with a comment"),
            (lambda: lesson_of(folded('taken_up(\n    "a", "3.175 mm")')), "begin what is folded with a comment"),
            (lambda: lesson_of(words("<details>\n\nSo.\n\n</details>\n\nGo on.")), "put <br>"),
            (lambda: lesson_of(words("[next](99_gone.ipynb)")), "99_gone"),
            (lambda: lesson_of(words("![](images/x.png)")), "description"),
            (lambda: lesson_of(words("<img src='x.png'>")), "description"),
            (lambda: notebook(lesson_of().cells, **KERNEL, **SERVED, widgets={}), "widget state"),
            (lambda: notebook(lesson_of().cells, **KERNEL), "voila"),
            (lambda: notebook(lesson_of().cells), "kernel"),
        ],
    )
    def test_a_fault_is_named(self, faulty, word, tmp_path):
        assert word in " ".join(faults_as_committed(faulty(), tmp_path / "01.ipynb"))

    def test_what_a_lesson_may_import(self, tmp_path):
        source = (
            "import gearcalc as gc\nfrom gearcalc.learning import explorers\nfrom gearcalc.pictures import dial_face"
        )
        assert faults_as_committed(lesson_of(code(source)), tmp_path / "01.ipynb") == []

    def test_start_here_may_be_short(self, tmp_path):
        assert faults_as_committed(lesson_of(size=5), tmp_path / "00_start_here.ipynb") == []

    def test_a_page_that_is_no_lesson_may_be_short(self, tmp_path):
        assert faults_as_committed(lesson_of(size=5), tmp_path / "workbench.ipynb") == []

    def test_a_link_to_a_lesson_that_is_there(self, tmp_path):
        (tmp_path / "02 two.ipynb").touch()
        lesson = lesson_of(words("[next](02%20two.ipynb#part) and [this](#top)"))
        assert faults_as_committed(lesson, tmp_path / "01.ipynb") == []


class TestFaultsWhenRun:
    @pytest.mark.parametrize(
        "faulty",
        [
            {
                "error stream": "import warnings\nwarnings.warn('in gearcalc something is old')",
                "bare picture": f"import IPython, base64\nIPython.display.Image(base64.b64decode('{PICTURE}'))",
                "in a widget": "from ipywidgets import HTML\nHTML('<svg></svg>')",
            },
            {"ZeroDivisionError": "1 / 0"},  # the rest is not run after it
        ],
        ids=["run to the end", "stopped"],
    )
    def test_each_fault_is_named(self, faulty, tmp_path):
        named = " ".join(faults_when_run(run(notebook([*faulty.values(), "'after'"]), tmp_path)))
        assert [word for word in faulty if word not in named] == []

    def test_a_clean_run_has_none(self, tmp_path):
        source = "from IPython.display import HTML\nprint('words')\nHTML('<img alt=\"a train\" src=\"data:,\">')"
        executed = run(notebook([source]), tmp_path)
        assert faults_when_run(executed) == []
        assert faults_as_exported(executed) == []
        assert executed.cells[0].outputs

    @pytest.mark.parametrize(
        "html", ["<img src='x'>", "<img alt=' ' src='x'>", "<p><svg><g></g></svg></p>", "<svg><svg></svg></svg>"]
    )
    def test_pictures_need_words(self, html):
        assert "description" in " ".join(faults_when_run(shown(html)))

    @pytest.mark.parametrize(
        "html",
        [
            "<svg aria-label='a gear'></svg>",
            "<svg><title>a gear</title></svg>",
            "<svg aria-hidden='true'></svg>",
            "<svg><title>a train</title><svg></svg></svg>",
        ],
    )
    def test_pictures_with_words(self, html):
        assert faults_when_run(shown(html)) == []


class TestRawPython:
    @pytest.mark.parametrize(
        "text",
        [
            "(Fraction(127, 40), 3.175)",
            "{12: {2: 2, 3: 1}}",
            "['M12x1.75']",
            "(75.0, 75.0)",
            "'40/80'",
            "212.81123643328368",
            "keep closed: True",
            "lines (34,)",
            "a table: {2: 2}",
        ],
    )
    def test_it_is_named(self, text):
        for shown in (output("stream", text=text), output("execute_result", {"text/plain": text})):
            assert raw_python(notebook([code("show", outputs=[shown])])), text

    @pytest.mark.parametrize(
        "text",
        [
            "32760",
            "−47.9 mm",
            "(40 · 30)/(80 · 60), lever low: lead 1.27 mm (20 tpi), exact",
            "60/127",
            "3 · 5 (twice), 2.5 mm",
            "Keep them closed: no line serves, none at all.",
        ],
    )
    def test_words_are_not(self, text):
        for shown in (output("stream", text=text), output("execute_result", {"text/plain": text})):
            assert raw_python(notebook([code("show", outputs=[shown])])) == []


class TestFaultsAsExported:
    def test_an_undescribed_picture_shows_up(self):
        picture = output("display_data", {"image/png": PICTURE})
        assert faults_as_exported(notebook([code("show", execution_count=1, outputs=[picture])]))
