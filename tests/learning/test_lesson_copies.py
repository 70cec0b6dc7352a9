"""The lessons are copied out, and never over someone's work."""

from __future__ import annotations

import json
import os
import shutil
import sys
from pathlib import Path

import pytest

from gearcalc.basics.errors import GearcalcError
from gearcalc.learning import lesson_copies
from gearcalc.learning.lesson_copies import copy_lessons, open_lessons
from tests.how_much import in_one

LESSON = {"cells": [{"cell_type": "code", "source": ["1 + 1"], "outputs": [], "execution_count": None}]}


@pytest.fixture
def shipped(tmp_path, monkeypatch):
    """A package with one lesson and one picture."""
    folder = tmp_path / "shipped"
    (folder / "images").mkdir(parents=True)
    (folder / "01_one.ipynb").write_text(json.dumps(LESSON))
    (folder / "images" / "bench.png").write_bytes(b"a picture")
    monkeypatch.setattr(lesson_copies, "notebooks_folder", lambda: folder)
    return folder


@pytest.fixture
def mine(tmp_path):
    return tmp_path / "mine"


def contents(folder):
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


class TestCopyLessons:
    def test_copies_all_into_a_new_folder(self, shipped, mine):
        copied = copy_lessons(mine / "deep")
        assert contents(mine / "deep") == contents(shipped)
        assert [str(each) for each in copied] == ["01_one.ipynb: copied", "images/bench.png: copied"]

    def test_nobodys_answers_or_lathe_go_to_others(self, shipped, mine):
        for own in ("answers.json", "my_lathe.toml"):
            (shipped / own).write_text("mine")
        copy_lessons(mine)
        assert sorted(contents(mine)) == ["01_one.ipynb", "images/bench.png"]

    def test_twice_writes_nothing_more(self, shipped, mine):
        copy_lessons(mine)
        assert [each.fresh for each in copy_lessons(mine)] == [None, None]
        assert contents(mine) == contents(shipped)

    def test_a_changed_file_is_kept(self, shipped, mine):
        copy_lessons(mine)
        (mine / "01_one.ipynb").write_text("my answers")
        copied = copy_lessons(mine)[0]
        assert copied.kept
        assert copied.fresh == "01_one.fresh.ipynb"
        assert "yours differs and is kept" in str(copied)
        assert (mine / "01_one.ipynb").read_text() == "my answers"
        assert (mine / "01_one.fresh.ipynb").read_bytes() == (shipped / "01_one.ipynb").read_bytes()

    def test_the_fresh_copy_is_written_once_and_kept_too(self, shipped, mine):
        copy_lessons(mine)
        (mine / "images" / "bench.png").write_bytes(b"mine")
        assert [copy_lessons(mine)[1].fresh for _ in range(2)] == ["images/bench.fresh.png"] * 2
        assert len(contents(mine)) == 3
        (mine / "images" / "bench.fresh.png").write_bytes(b"mine too")
        assert copy_lessons(mine)[1].fresh == "images/bench.fresh2.png"
        assert (mine / "images" / "bench.fresh.png").read_bytes() == b"mine too"

    def test_a_lesson_only_run_is_not_changed(self, shipped, mine):
        copy_lessons(mine)
        ran = json.loads(json.dumps(LESSON))
        ran["cells"][0] |= {"outputs": [{"output_type": "stream", "text": "2"}], "execution_count": 1}
        ran["cells"][0]["source"] = "1 + 1"
        (mine / "01_one.ipynb").write_text(json.dumps(ran))
        assert copy_lessons(mine)[0].fresh is None
        assert json.loads((mine / "01_one.ipynb").read_text()) == ran

    @in_one("text", ["", "[]", "{}", '{"cells": [1]}', '{"cells": [{"cell_type": 1}]}', "[" * 9999])
    def test_a_broken_notebook_is_someones_work_too(self, shipped, mine, text):
        copy_lessons(mine)
        (mine / "01_one.ipynb").write_text(text)
        assert copy_lessons(mine)[0].kept
        assert (mine / "01_one.ipynb").read_text() == text

    @pytest.mark.skipif(sys.platform == "win32", reason="Windows lets few people make links")
    def test_a_link_planted_where_a_copy_is_written_first_is_not_followed(self, shipped, mine, tmp_path):
        mine.mkdir()
        (tmp_path / "other.txt").write_text("not a lesson")
        for name in (".01_one.ipynb.unfinished", ".01_one.ipynb.gearcalc-unfinished"):
            (mine / name).symlink_to(tmp_path / "other.txt")
        copy_lessons(mine)
        assert (tmp_path / "other.txt").read_text() == "not a lesson"
        assert (mine / "01_one.ipynb").read_bytes() == (shipped / "01_one.ipynb").read_bytes()

    def test_a_link_that_leads_nowhere_is_kept(self, shipped, mine):
        mine.mkdir()
        (mine / "01_one.ipynb").symlink_to("gone.ipynb")
        assert copy_lessons(mine)[0].kept
        assert (mine / "01_one.ipynb").is_symlink()

    def test_a_folder_in_the_way(self, shipped, mine):
        (mine / "01_one.ipynb").mkdir(parents=True)
        assert copy_lessons(mine)[0].fresh == "01_one.fresh.ipynb"

    def test_onto_the_lessons_themselves(self, shipped):
        before = contents(shipped)
        assert {each.fresh for each in copy_lessons(shipped)} == {None}
        assert contents(shipped) == before

    def test_checkpoints_stay_behind(self, shipped, mine):
        (shipped / ".ipynb_checkpoints").mkdir()
        (shipped / ".ipynb_checkpoints" / "01_one-checkpoint.ipynb").touch()
        assert len(copy_lessons(mine)) == 2

    @pytest.mark.parametrize("place", ["taken", "taken/below", "nul\0l"])
    def test_a_place_that_is_no_folder(self, shipped, tmp_path, place):
        (tmp_path / "taken").write_text("a file")
        with pytest.raises(GearcalcError, match="can't be copied"):
            copy_lessons(tmp_path / place)
        assert (tmp_path / "taken").read_text() == "a file"


class TestOpenLessons:
    @pytest.mark.skipif(os.name != "posix", reason="elsewhere a process can't become another one")
    def test_becomes_jupyterlab_at_the_first_lesson(self, shipped, monkeypatch):
        class BecameError(Exception):
            pass

        def become(program, command, environment):
            raise BecameError(program, command, environment)

        monkeypatch.setattr(lesson_copies.os, "execve", become)
        with pytest.raises(BecameError) as became:
            open_lessons(shipped)
        program, command, environment = became.value.args
        assert program == sys.executable
        assert Path(shutil.which("python", path=environment["PATH"]) or "").parent == Path(sys.executable).parent
        assert command[:3] == [sys.executable, "-m", "jupyterlab"]
        assert f"--ServerApp.root_dir={shipped}" in command
        assert "--LabApp.default_url=/lab/tree/01_one.ipynb" in command

    def test_without_jupyterlab(self, shipped, monkeypatch):
        monkeypatch.setattr(lesson_copies.importlib.util, "find_spec", lambda name: None)
        with pytest.raises(GearcalcError, match="JupyterLab is not installed"):
            open_lessons(shipped)
