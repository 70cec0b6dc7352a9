"""A lathe file chosen on the page becomes my_lathe.toml; none is lost, and a faulty one changes nothing."""

from __future__ import annotations

import re

import pytest

import gearcalc as gc
from gearcalc.learning import explorers, own_lathe
from gearcalc.learning.lathe_upload import LatheUpload
from gearcalc.learning.own_lathe import FILE_NAME, my_lathe

METRIC, ODD = (gc.demo_lathe(name).to_toml() for name in ("metric", "odd"))


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    """The folder of the page."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def box():
    return LatheUpload()


def said(box):
    return re.sub("<[^>]+>", "", box.said.value)


def asks(box):
    return box._asked.children == (box.replace, box.leave)


class TestLatheUpload:
    def test_at_first_it_says_which_lathe_it_is(self, box):
        assert "demo lathe" in said(box)
        assert not asks(box)

    def test_a_file_becomes_the_lathe_of_the_page(self, box, folder):
        text = f"# measured on Monday\n{METRIC}"
        box.take("corner.toml", text.encode())
        assert (folder / FILE_NAME).read_text(encoding="utf-8") == text  # notes and all
        assert my_lathe()[0] == gc.demo_lathe("metric")
        assert "This is your lathe" in said(box)
        assert not asks(box)

    def test_what_a_browser_hands_over_is_taken(self, box):
        box._chosen({"new": ({"name": "corner.toml", "content": memoryview(METRIC.encode())},)})
        assert my_lathe()[0] == gc.demo_lathe("metric")

    @pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"name =", METRIC.replace("lead =", "laed =").encode()])
    def test_a_faulty_file_is_refused_in_words_and_changes_nothing(self, box, folder, content):
        (folder / FILE_NAME).write_text(METRIC, encoding="utf-8")
        box.take("corner.toml", content)
        assert "corner.toml" in said(box)
        assert "Nothing was changed" in said(box)
        assert (folder / FILE_NAME).read_text(encoding="utf-8") == METRIC
        assert not asks(box)

    def test_another_is_replaced_only_after_a_question(self, box, folder):
        (folder / FILE_NAME).write_text(METRIC, encoding="utf-8")
        box.take("odd.toml", ODD.encode())
        assert asks(box)
        assert "Replace it?" in said(box)
        assert (folder / FILE_NAME).read_text(encoding="utf-8") == METRIC
        box.replace.click()
        assert (folder / FILE_NAME).read_text(encoding="utf-8") == ODD
        assert not asks(box)

    def test_or_it_is_left(self, box, folder):
        (folder / FILE_NAME).write_text(METRIC, encoding="utf-8")
        box.take("odd.toml", ODD.encode())
        box.leave.click()
        box.press_replace()  # of a question that is no longer asked
        assert (folder / FILE_NAME).read_text(encoding="utf-8") == METRIC
        assert not asks(box)

    def test_the_same_once_more_asks_nothing(self, box, folder):
        (folder / FILE_NAME).write_text(METRIC, encoding="utf-8")
        box.take("corner.toml", METRIC.encode())
        assert not asks(box)

    def test_names_of_files_are_no_markup(self, box):
        box.take("<b>x</b>.toml", b"name =")
        assert "<b>" not in box.said.value


class TestServedToMany:
    """Visitors of a served page share its folder, and each has a kernel: a lathe of one must be nobody else's."""

    @pytest.fixture(autouse=True)
    def served(self, monkeypatch):
        monkeypatch.setenv("SERVER_SOFTWARE", "voila/0.5.13")
        monkeypatch.setattr(own_lathe, "_of_this_page", [])

    def test_nothing_is_written_and_the_page_says_so(self, box, folder):
        box.take("corner.toml", METRIC.encode())
        assert list(folder.iterdir()) == []
        assert my_lathe()[0] == gc.demo_lathe("metric")
        assert "on this page alone" in said(box)
        assert "not kept" in said(box)
        assert "Cells" not in said(box)  # there are none to run

    def test_the_file_of_all_is_left_and_nothing_is_asked(self, box, folder):
        (folder / FILE_NAME).write_text(METRIC, encoding="utf-8")
        box.take("odd.toml", ODD.encode())
        assert (folder / FILE_NAME).read_text(encoding="utf-8") == METRIC
        assert not asks(box)
        assert my_lathe()[0] == gc.demo_lathe("odd")
        own_lathe._of_this_page.clear()  # another visitor's kernel
        assert my_lathe()[0] == gc.demo_lathe("metric")

    def test_the_bench_takes_it_up_levers_and_all(self, box):
        bench = explorers.bench(my_lathe()[0])
        for name, text in (("metric", METRIC), ("odd", ODD), ("odd", ODD)):
            box.take(f"{name}.toml", text.encode())
            assert bench.shown.lathe == gc.demo_lathe(name)
            assert bench.message == ""

    def test_a_faulty_one_leaves_the_page_as_it_is(self, box):
        bench = explorers.bench("inch")
        box.take("corner.toml", b"name =")
        assert "Nothing was changed" in said(box)
        assert my_lathe()[0] == gc.demo_lathe("inch")
        assert bench.shown.lathe == gc.demo_lathe("inch")
