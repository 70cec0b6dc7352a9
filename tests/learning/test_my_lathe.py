"""The learner's own lathe is the one of my_lathe.toml; what stands in for it is never taken for it."""

from __future__ import annotations

from fractions import Fraction

import pytest

import gearcalc as gc
from gearcalc.basics.errors import UnknownNameError
from gearcalc.lathes.new_files import new_lathe_file
from gearcalc.learning.own_lathe import FILE_NAME, my_lathe


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    """The folder of the lesson."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


class TestMyLathe:
    def test_it_is_that_of_the_file(self, folder):
        gc.demo_lathe("odd").save(folder / FILE_NAME)
        lathe, said = my_lathe()
        assert lathe == gc.demo_lathe("odd")
        assert "your lathe" in said
        assert lathe.name in said

    @pytest.mark.parametrize("demo", ["inch", "metric"])
    def test_without_a_file_it_is_a_demo_lathe_and_says_so(self, demo):
        lathe, said = my_lathe(demo)
        assert lathe == gc.demo_lathe(demo)
        assert "demo lathe" in said
        assert "no my_lathe.toml" in said

    @pytest.mark.parametrize("text", ["name = ", "", "name = 'x'\n[leadscrew]\nlead = '8 tip'\n"])
    def test_a_file_that_is_wrong_says_what_is_wrong(self, folder, text):
        (folder / FILE_NAME).write_text(text, encoding="utf-8")
        lathe, said = my_lathe()
        assert lathe == gc.demo_lathe("inch")
        assert "can't be read" in said
        assert FILE_NAME in said

    def test_what_is_still_the_example_is_not_passed_off_as_theirs(self, folder):
        text = new_lathe_file()
        (folder / FILE_NAME).write_text(text, encoding="utf-8")
        assert "still the example: put in your own" in my_lathe()[1]
        (folder / FILE_NAME).write_text(text.replace('"8 tpi"', '"12 tpi"'), encoding="utf-8")
        assert my_lathe()[0].leadscrew.lead == Fraction(127, 60)
        assert "example" not in my_lathe()[1]

    def test_a_folder_of_that_name_is_no_file(self, folder):
        (folder / FILE_NAME).mkdir()
        assert "demo lathe" in my_lathe()[1]

    def test_another_demo_lathe_is_refused(self):
        with pytest.raises(UnknownNameError):
            my_lathe("banana")
