"""The rules for lessons find the faults that they are there to find."""

from __future__ import annotations

import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output

from gearcalc.basics.files import notebooks_folder
from tests.lessons.lesson_rules import faults_as_committed, faults_as_exported, faults_when_run, read, run

PICTURE = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="


KERNEL = {"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}}


def lesson_of(*cells, size=25):
    filled = [*cells, *(new_markdown_cell("Words.") for _ in range(size - len(cells)))]
    return new_notebook(cells=filled, metadata=KERNEL)


def shown(html):
    cell = new_code_cell("show", execution_count=1, outputs=[new_output("display_data", {"text/html": html})])
    return new_notebook(cells=[cell])


def test_the_start_page_lists_every_lesson():
    page = "".join(cell.source for cell in read(notebooks_folder() / "00_start_here.ipynb").cells)
    lessons = sorted(path.name for path in notebooks_folder().glob("[0-9][0-9]_*.ipynb"))
    assert [name for name in lessons[1:] if f"({name})" not in page] == []


class TestFaultsAsCommitted:
    def test_a_clean_lesson_has_none(self, tmp_path):
        assert faults_as_committed(lesson_of(new_code_cell("1 + 1")), tmp_path / "01.ipynb") == []

    @pytest.mark.parametrize(
        ("notebook", "word"),
        [
            (lesson_of(new_code_cell("1", execution_count=1)), "outputs"),
            (lesson_of(new_code_cell("1", outputs=[new_output("stream", text="1")])), "outputs"),
            (lesson_of(new_code_cell("\n".join("1" * 16))), "16 lines"),
            (lesson_of(new_code_cell("from gearcalc.threads.worms import FORMS")), "from gearcalc.threads.worms"),
            (lesson_of(new_code_cell("if True:\n    import gearcalc.learning as x")), "from gearcalc.learning,"),
            (lesson_of(size=24), "24 cells"),
            (lesson_of(size=46), "46 cells"),
            (lesson_of(new_markdown_cell("[next](99_gone.ipynb)")), "99_gone"),
            (lesson_of(new_markdown_cell("![](images/x.png)")), "description"),
            (lesson_of(new_markdown_cell("<img src='x.png'>")), "description"),
            (new_notebook(cells=lesson_of().cells, metadata={**KERNEL, "widgets": {}}), "widget state"),
            (new_notebook(cells=lesson_of().cells), "kernel"),
        ],
    )
    def test_a_fault_is_named(self, notebook, word, tmp_path):
        assert word in " ".join(faults_as_committed(notebook, tmp_path / "01.ipynb"))

    def test_what_a_lesson_may_import(self, tmp_path):
        code = "import gearcalc as gc\nfrom gearcalc.learning import explorers\nfrom gearcalc.pictures import dial_face"
        assert faults_as_committed(lesson_of(new_code_cell(code)), tmp_path / "01.ipynb") == []

    def test_start_here_may_be_short(self, tmp_path):
        assert faults_as_committed(lesson_of(size=5), tmp_path / "00_start_here.ipynb") == []

    def test_a_page_that_is_no_lesson_may_be_short(self, tmp_path):
        assert faults_as_committed(lesson_of(size=5), tmp_path / "workbench.ipynb") == []

    def test_a_link_to_a_lesson_that_is_there(self, tmp_path):
        (tmp_path / "02 two.ipynb").touch()
        notebook = lesson_of(new_markdown_cell("[next](02%20two.ipynb#part) and [this](#top)"))
        assert faults_as_committed(notebook, tmp_path / "01.ipynb") == []


class TestFaultsWhenRun:
    @pytest.mark.parametrize(
        ("code", "word"),
        [
            ("1 / 0", "ZeroDivisionError"),
            ("import warnings\nwarnings.warn('in gearcalc something is old')", "error stream"),
            (f"import base64\nfrom IPython.display import Image\nImage(base64.b64decode('{PICTURE}'))", "bare picture"),
            ("from ipywidgets import HTML\nHTML('<svg></svg>')", "in a widget"),
        ],
    )
    def test_a_fault_is_named(self, code, word, tmp_path):
        executed = run(new_notebook(cells=[new_code_cell(code), new_code_cell("'after'")]), tmp_path)
        assert word in " ".join(faults_when_run(executed))

    def test_a_clean_run_has_none(self, tmp_path):
        code = "from IPython.display import HTML\nprint('words')\nHTML('<img alt=\"a train\" src=\"data:,\">')"
        executed = run(new_notebook(cells=[new_code_cell(code)]), tmp_path)
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


class TestFaultsAsExported:
    def test_an_undescribed_picture_shows_up(self):
        output = new_output("display_data", {"image/png": PICTURE})
        notebook = new_notebook(cells=[new_code_cell("show", execution_count=1, outputs=[output])])
        assert faults_as_exported(notebook)
