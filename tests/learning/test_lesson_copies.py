"""The lessons are put into a folder and brought up to date there, and never over someone's work."""

from __future__ import annotations

import json
import os
import re
import shutil
import socket
import subprocess
import sys
import textwrap
import urllib.request
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest.mock import patch

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import GearcalcError, NotPossibleError
from gearcalc.basics.files import notebooks_folder
from gearcalc.learning import lesson_copies, shipped
from gearcalc.learning.lesson_copies import copy_lessons, open_lessons
from tests.browser.lab_server import end, environment, free_port
from tests.how_much import examples, in_one

FIRST, PICTURE = "01_one.ipynb", "images/bench.png"


def notebook(*texts):
    """A lesson with these cells, as it is shipped."""
    cells = [{"cell_type": "code", "source": [text], "outputs": [], "execution_count": None} for text in texts]
    return json.dumps({"cells": cells})


def ran(text):
    """The same after it was run and saved by a program that writes sources in one piece."""
    page = json.loads(text)
    for cell in page["cells"]:
        outputs = [{"output_type": "stream", "text": "2"}]
        cell |= {"source": "".join(cell["source"]), "outputs": outputs, "execution_count": 1}
    return json.dumps(page)


def with_cell(text, words):
    page = json.loads(text)
    page["cells"].append({"cell_type": "markdown", "source": words})
    return json.dumps(page)


@pytest.fixture
def ours(tmp_path, monkeypatch):
    """A package with one lesson and one picture; `ship` makes another edition of it."""
    folder = tmp_path / "shipped"
    (folder / "images").mkdir(parents=True)
    (folder / FIRST).write_text(notebook("1 + 1"))
    (folder / PICTURE).write_bytes(b"a picture")
    monkeypatch.setattr(lesson_copies, "notebooks_folder", lambda: folder)
    return folder


@pytest.fixture
def mine(tmp_path):
    return tmp_path / "mine"


@pytest.fixture
def today(monkeypatch):
    class Day(lesson_copies.date):
        @classmethod
        def today(cls):
            return cls(2026, 11, 30)

    monkeypatch.setattr(lesson_copies, "date", Day)


def contents(folder):
    """Every file but the hidden ones: the one that remembers, and its lock."""
    files = {path.relative_to(folder).as_posix(): path for path in folder.rglob("*") if path.is_file()}
    return {name: path.read_bytes() for name, path in files.items() if not name.startswith(".")}


def everything(folder):
    """Every name there, each with its content and the time of its last change."""
    return {path: (path.stat().st_mtime_ns, path.is_file() and path.read_bytes()) for path in folder.rglob("*")}


def states(folder):
    return {each.name: each.state for each in copy_lessons(folder)}


class TestFirstTime:
    def test_all_is_copied_into_a_new_folder(self, ours, mine):
        assert states(mine / "deep") == {FIRST: "new", PICTURE: "new"}
        assert contents(mine / "deep") == contents(ours)

    def test_nobodys_answers_or_lathe_go_to_others(self, ours, mine):
        for own in ("answers.json", "my_lathe.toml", ".gearcalc-shipped.json", ".hidden"):
            (ours / own).write_text("mine")
        (ours / ".ipynb_checkpoints").mkdir()
        (ours / ".ipynb_checkpoints" / "01_one-checkpoint.ipynb").touch()
        assert list(states(mine)) == [FIRST, PICTURE]
        assert sorted(contents(mine)) == [FIRST, PICTURE]

    @pytest.mark.parametrize("place", ["taken", "taken/below", "nul\0l"])
    def test_a_place_that_is_no_folder(self, ours, tmp_path, place):
        (tmp_path / "taken").write_text("a file")
        with pytest.raises(GearcalcError, match=r"can't be copied|this is a file"):
            copy_lessons(tmp_path / place)
        assert (tmp_path / "taken").read_text() == "a file"

    @pytest.mark.skipif(sys.platform == "win32", reason="Windows lets few people make links")
    def test_a_link_planted_where_a_copy_is_written_first_is_not_followed(self, ours, mine, tmp_path):
        mine.mkdir()
        (tmp_path / "other.txt").write_text("not a lesson")
        for name in (".01_one.ipynb.unfinished", ".01_one.ipynb.gearcalc-unfinished"):
            (mine / name).symlink_to(tmp_path / "other.txt")
        copy_lessons(mine)
        assert (tmp_path / "other.txt").read_text() == "not a lesson"
        assert (mine / FIRST).read_bytes() == (ours / FIRST).read_bytes()

    def test_a_file_of_ones_own_that_is_no_lesson_stays_where_it_is(self, ours, mine):
        mine.mkdir()
        (ours / "LICENSE").write_text("ours")
        (mine / "LICENSE").write_text("of my own work")
        for number in range(3):
            (ours / "LICENSE").write_text(f"ours {number}")
            assert states(mine)["LICENSE"] == "left"
            assert sorted(contents(mine)) == [FIRST, "LICENSE", PICTURE]
            assert (mine / "LICENSE").read_text() == "of my own work"
        before = everything(mine)
        copy_lessons(mine)
        assert everything(mine) == before
        (mine / "LICENSE").unlink()
        assert states(mine)["LICENSE"] == "new"
        (ours / "LICENSE").write_text("ours once more")
        assert states(mine)["LICENSE"] == "brought up to date"

    def test_the_lessons_themselves_are_left_alone(self, ours):
        before = everything(ours)
        assert set(states(ours).values()) == {"unchanged"}
        assert everything(ours) == before


class TestOpenedAgain:
    def test_ten_times_nothing_is_written(self, ours, mine):
        copy_lessons(mine)
        (mine / FIRST).write_text(ran(with_cell(notebook("1 + 1"), "my words")))
        before = everything(mine)
        for _ in range(10):
            assert states(mine) == {FIRST: "written in", PICTURE: "unchanged"}
        assert everything(mine) == before

    def test_what_was_deleted_comes_back(self, ours, mine):
        copy_lessons(mine)
        (mine / FIRST).unlink()
        assert states(mine) == {FIRST: "new", PICTURE: "unchanged"}
        assert contents(mine) == contents(ours)

    def test_files_of_the_learners_own_stay(self, ours, mine):
        copy_lessons(mine)
        own = {"answers.json": "{}", "my_lathe.toml": "name =", "notes.txt": "mine", "14_mine.ipynb": notebook("mine")}
        for name, text in own.items():
            (mine / name).write_text(text)
        (ours / FIRST).write_text(notebook("2 + 2"))
        copy_lessons(mine)
        assert {name: (mine / name).read_text() for name in own} == own


class TestNewEdition:
    def test_a_lesson_only_run_is_brought_up_to_date_where_it_is(self, ours, mine):
        copy_lessons(mine)
        (mine / FIRST).write_text(ran(notebook("1 + 1")))
        (ours / FIRST).write_text(notebook("2 + 2"))
        (ours / PICTURE).write_bytes(b"a better one")
        assert states(mine) == dict.fromkeys((FIRST, PICTURE), "brought up to date")
        assert contents(mine) == contents(ours)

    def test_one_that_was_written_in_makes_room_for_the_new_one(self, ours, mine, today):
        copy_lessons(mine)
        written = with_cell(notebook("1 + 1"), "my words")
        (mine / FIRST).write_text(written)
        (ours / FIRST).write_text(notebook("2 + 2"))
        moved, _ = copy_lessons(mine)
        assert moved.yours == "01_one (yours, 2026-11-30).ipynb"
        assert "there is a new edition; yours is now 01_one (yours" in str(moved)
        assert (mine / moved.yours).read_text() == written
        assert (mine / FIRST).read_bytes() == (ours / FIRST).read_bytes()
        before = everything(mine)
        assert set(states(mine).values()) == {"unchanged"}
        assert everything(mine) == before

    def test_twice_on_one_day(self, ours, mine, today):
        copy_lessons(mine)
        for number in range(3):
            (mine / FIRST).write_text(notebook(f"mine {number}"))
            (ours / FIRST).write_text(notebook(f"edition {number}"))
            copy_lessons(mine)
        kept = [f"01_one (yours, 2026-11-30{more}).ipynb" for more in ("", ", 2", ", 3")]
        assert not set('<>:"\\|?*') & set("".join(kept))  # no system refuses them
        assert [(mine / name).read_text() for name in kept] == [notebook(f"mine {number}") for number in range(3)]

    def test_a_picture_pasted_into_a_cell_is_work_too(self, ours, mine):
        (ours / FIRST).write_text(notebook("1"))
        copy_lessons(mine)
        page = json.loads(notebook("1"))
        page["cells"][0]["attachments"] = {"image.png": {"image/png": "aGk="}}
        (mine / FIRST).write_text(json.dumps(page))
        assert states(mine)[FIRST] == "written in"

    @in_one("text", ["", "[]", "{}", '{"cells": [1]}', '{"cells": [{"cell_type": 1}]}', "[" * 9999])
    def test_a_broken_notebook_is_someones_work_too(self, ours, mine, text):
        copy_lessons(mine)
        (mine / FIRST).write_text(text)
        (ours / FIRST).write_text(notebook(f"for {text}"))
        moved, _ = copy_lessons(mine)
        assert (mine / moved.yours).read_text() == text

    def test_what_is_a_lesson_no_more_goes_unless_someone_wrote_in_it(self, ours, mine):
        (ours / "02_two.ipynb").write_text(notebook("2"))
        copy_lessons(mine)
        (mine / "02_two.ipynb").write_text(notebook("mine"))
        for name in ("02_two.ipynb", PICTURE):
            (ours / name).unlink()
        assert states(mine) == {FIRST: "unchanged", "02_two.ipynb": "moved", PICTURE: "taken away"}
        assert not (mine / "images").exists()
        assert {name[:13]: text for name, text in contents(mine).items() if name != FIRST} == {
            "02_two (yours": notebook("mine").encode()
        }
        assert states(mine) == {FIRST: "unchanged"}

    @pytest.mark.skipif(sys.platform == "win32", reason="Windows lets few people make links")
    def test_links_are_never_written_through(self, ours, mine, tmp_path):
        copy_lessons(mine)
        shutil.copytree(mine, tmp_path / "elsewhere")
        (mine / FIRST).unlink()
        (mine / FIRST).symlink_to(tmp_path / "elsewhere" / FIRST)
        shutil.rmtree(mine / "images")
        (mine / "images").symlink_to(tmp_path / "elsewhere" / "images")
        before = everything(tmp_path / "elsewhere")
        (ours / FIRST).write_text(notebook("2 + 2"))
        (ours / PICTURE).write_bytes(b"a better one")
        assert states(mine) == {FIRST: "moved", PICTURE: "left"}
        assert everything(tmp_path / "elsewhere") == before
        assert (mine / FIRST).read_text() == notebook("2 + 2")

    def test_a_folder_in_the_way_is_moved_with_what_is_in_it(self, ours, mine):
        (mine / FIRST).mkdir(parents=True)
        (mine / FIRST / "notes.txt").write_text("mine")
        moved, _ = copy_lessons(mine)
        assert (mine / moved.yours / "notes.txt").read_text() == "mine"

    def test_a_link_that_leads_nowhere_is_kept_and_the_lesson_is_there(self, ours, mine):
        mine.mkdir()
        (mine / FIRST).symlink_to("gone.ipynb")
        moved, _ = copy_lessons(mine)
        assert (mine / moved.yours).is_symlink()
        assert (mine / FIRST).read_text() == notebook("1 + 1")


class TestFoldersOfEarlierVersions:
    """They remember nothing, and have fresh copies beside what somebody had written in."""

    @pytest.fixture(autouse=True)
    def made_before(self, ours, mine):
        (mine / "images").mkdir(parents=True)
        (mine / FIRST).write_text(with_cell(notebook("1 + 0"), "my words"))
        (mine / PICTURE).write_bytes(b"a picture")
        for name in ("01_one.fresh.ipynb", "01_one.fresh2.ipynb", "a.fresh.start.txt"):
            (mine / name).write_text(notebook("1 + 1"))

    def test_what_is_not_as_it_is_now_is_taken_for_someones_work(self, ours, mine):
        assert states(mine) == {
            FIRST: "moved",
            PICTURE: "unchanged",
            "01_one.fresh.ipynb": "left",
            "01_one.fresh2.ipynb": "left",
        }
        assert (mine / FIRST).read_text() == notebook("1 + 1")
        assert sum(b"my words" in content for content in contents(mine).values()) == 1

    def test_and_said_once_without_litter(self, ours, mine):
        copy_lessons(mine)
        before = everything(mine)
        assert states(mine) == {FIRST: "unchanged", PICTURE: "unchanged"}
        assert everything(mine) == before


class TestWhatIsRemembered:
    @in_one(
        "text",
        [
            "",
            "[]",
            "null",
            '{"files": 3}',
            '{"version": 1, "files": {"01_one.ipynb": 3}}',
            "[" * 9999,
            "\xff",
            "x" * 2**21,
        ],
        say=lambda text: text[:40],
    )
    def test_one_that_is_broken_is_as_none_at_all(self, ours, mine, text):
        (ours / FIRST).write_text(notebook("1 + 1"))
        copy_lessons(mine)
        written = f"mine, before {text[:9]}"
        (mine / FIRST).write_text(written)
        (mine / shipped.FILE_NAME).write_text(text, encoding="latin-1")
        assert states(mine)[FIRST] == "moved"
        assert written.encode() in contents(mine).values()
        assert set(states(mine).values()) == {"unchanged"}

    def test_none_leads_to_a_file_that_is_not_ours(self, ours, mine, tmp_path):
        copy_lessons(mine)
        names = ("answers.json", "my_lathe.toml", "../other.txt", str(tmp_path / "other.txt"), "images/../../other.txt")
        (tmp_path / "other.txt").write_text("mine")
        for own in names[:2]:
            (mine / own).write_text("mine")
        page = json.loads((mine / shipped.FILE_NAME).read_text())
        page["files"] |= {name: [shipped.fingerprint(b"mine")] for name in names}
        (mine / shipped.FILE_NAME).write_text(json.dumps(page))
        assert set(states(mine)) == {FIRST, PICTURE}
        assert [(mine / name).read_text() for name in names] == ["mine"] * len(names)


class TestCutShort:
    """At each write, the moment before it is made and the moment after."""

    class Killed(BaseException):
        pass

    @pytest.fixture(autouse=True)
    def no_waiting(self, monkeypatch):
        """For the lock that one who was killed has left."""
        monkeypatch.setattr(lesson_copies, "_PATIENCE_S", 0.1)

    @pytest.mark.parametrize("remembers", [True, False])
    def test_nothing_is_lost_and_the_next_time_all_is_as_if_it_had_not_been(self, ours, tmp_path, today, remembers):
        (ours / "02_two.ipynb").write_text(notebook("2"))
        (ours / "03_three.ipynb").write_text(notebook("3"))
        start = tmp_path / "start"
        copy_lessons(start)
        if not remembers:
            (start / shipped.FILE_NAME).unlink()
        (start / FIRST).write_text(with_cell(notebook("1 + 1"), "my words"))
        (start / "02_two.ipynb").write_text("other words")
        (ours / FIRST).write_text(notebook("2 + 2"))
        (ours / "02_two.ipynb").unlink()
        (ours / "03_three.ipynb").write_text(notebook("4"))
        whole = shutil.copytree(start, tmp_path / "whole")
        copy_lessons(whole)
        cut = 0
        while self.killed_at(cut, mine := shutil.copytree(start, tmp_path / f"cut{cut}")):
            words = b" ".join(contents(mine).values())
            assert b"my words" in words
            assert b"other words" in words
            later = shutil.copytree(mine, tmp_path / f"later{cut}")
            copy_lessons(mine)
            assert contents(mine) == contents(whole), f"cut at {cut}"
            assert set(states(mine).values()) == {"unchanged"}
            if remembers:
                self.nothing_of_ours_is_called_theirs(ours, later)
            cut += 1
        assert cut > 10

    def nothing_of_ours_is_called_theirs(self, ours, later):
        """Not even where one more edition comes before the one that was cut short is finished."""
        second = contents(ours)
        for name in second:
            (ours / name).write_text(notebook("of the third edition"))
        copy_lessons(later)
        assert all(b"words" in text for name, text in contents(later).items() if "yours" in name)
        for name, text in second.items():
            (ours / name).write_bytes(text)

    def killed_at(self, cut, folder):
        """Whether the program came as far as that step, at which it is killed."""
        steps = iter(range(1000))

        def step(name):
            does = getattr(os, name)

            def killed(*arguments, **others):
                if next(steps) == cut:
                    raise self.Killed
                done = does(*arguments, **others)
                if next(steps) == cut:
                    raise self.Killed
                return done

            return killed

        with patch.multiple(os, **{name: step(name) for name in ("replace", "rename", "unlink")}):
            try:
                copy_lessons(folder)
            except self.Killed:
                return True
        return False


class TestSavedMeanwhile:
    def test_what_is_saved_while_the_lessons_are_brought_up_to_date_is_not_written_over(self, ours, mine, monkeypatch):
        copy_lessons(mine)
        (ours / FIRST).write_text(notebook("2 + 2"))
        remember = shipped.remember

        def saved_first(*told):
            if b"my words" not in b"".join(contents(mine).values()):
                (mine / FIRST).write_text(with_cell(notebook("1 + 1"), "my words"))
            remember(*told)

        monkeypatch.setattr(shipped, "remember", saved_first)
        assert states(mine)[FIRST] == "moved"
        assert (mine / FIRST).read_text() == notebook("2 + 2")
        assert b"my words" in b"".join(contents(mine).values())

    def test_nor_is_one_that_was_moved_aside_and_is_saved_again_under_its_old_name(self, ours, mine, monkeypatch):
        """By a page on which it still is open; the lesson comes the next time."""
        copy_lessons(mine)
        (ours / FIRST).write_text(notebook("2 + 2"))
        words = with_cell(notebook("1 + 1"), "my words")
        (mine / FIRST).write_text(words)
        move = lesson_copies._moved_aside

        def saved_again(place):
            aside = move(place)
            place.write_text(words)
            return aside

        with monkeypatch.context() as meanwhile:
            meanwhile.setattr(lesson_copies, "_moved_aside", saved_again)
            (left,) = (each for each in copy_lessons(mine) if each.name == FIRST)
        assert (left.state, left.failed, left.why) == ("left", True, "File exists")
        assert (mine / FIRST).read_text() == words
        assert states(mine)[FIRST] == "moved"
        assert (mine / FIRST).read_text() == notebook("2 + 2")


class TestTwoAtOnce:
    def test_each_does_it_or_finds_it_done(self, ours, mine, tmp_path):
        copy_lessons(mine)
        for number in range(20):
            name = f"{number:02}_more.ipynb"
            (ours / name).write_text(notebook(f"edition 2 of {number}"))
            (mine / name).write_text(with_cell(notebook(f"edition 1 of {number}"), f"words {number} of mine"))
        program = f"""
            from pathlib import Path
            from gearcalc.learning import lesson_copies
            lesson_copies.notebooks_folder = lambda: Path({str(ours)!r})
            print(lesson_copies.copy_lessons({str(mine)!r})[0].name)
        """
        command = [sys.executable, "-c", textwrap.dedent(program)]
        both = [subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(2)]
        assert [one.communicate(timeout=60)[1] for one in both] == [b"", b""]
        found = contents(mine)
        assert {name: text for name, text in found.items() if "yours" not in name} == contents(ours)
        assert Counter(re.findall(rb"words \d+ of mine", b"".join(found.values()))) == {
            f"words {number} of mine".encode(): 1 for number in range(20)
        }


class TestReadOnly:
    @pytest.fixture
    def refuse(self, monkeypatch):
        """From now on nothing can be written, whoever runs this."""

        def denied(*_):
            raise PermissionError(13, "Permission denied")

        return lambda: monkeypatch.setattr(os, "open", denied)

    def test_lessons_that_are_there_are_left_and_it_is_said_why(self, ours, mine, refuse):
        mine.mkdir()
        (mine / FIRST).write_text(notebook("1 + 0"))
        before = contents(mine)
        refuse()
        said = [f"{name}: left, Permission denied" for name in (FIRST, PICTURE)]
        assert [str(each) for each in copy_lessons(mine)] == said
        assert contents(mine) == before

    def test_where_there_are_none_none_can_be_opened(self, ours, mine, refuse):
        refuse()
        with pytest.raises(GearcalcError, match="Permission denied"):
            copy_lessons(mine)

    def test_one_that_is_up_to_date_needs_no_writing(self, ours, mine, refuse):
        copy_lessons(mine)
        refuse()
        assert set(states(mine).values()) == {"unchanged"}

    def test_a_file_marked_read_only_is_left_and_the_others_are_not(self, ours, mine):
        copy_lessons(mine)
        (mine / FIRST).chmod(0o444)
        (ours / FIRST).write_text(notebook("2 + 2"))
        (ours / PICTURE).write_bytes(b"a better one")
        assert states(mine) == {FIRST: "left", PICTURE: "brought up to date"}
        (mine / FIRST).chmod(0o644)
        assert states(mine) == {FIRST: "brought up to date", PICTURE: "unchanged"}


NAMES = ("00_a.ipynb", "01_b.ipynb", "02_c.ipynb", "images/d.svg", "LICENSE")
EDITIONS = st.lists(st.sets(st.sampled_from(NAMES), min_size=1), min_size=10, max_size=10)
DEEDS = st.tuples(st.sampled_from(["writes", "runs", "deletes", "makes", "opens"]), st.sampled_from(NAMES))


EDITION = re.compile(r"edition \d+ of [\w./]+")


def words_of(name, number):
    """What an edition says under a name; every other file is the same in two editions that follow each other."""
    return f"edition {number // (1 + NAMES.index(name) % 2) if name in NAMES else number} of {name}"


def edition(name, number):
    """What an edition ships under a name."""
    words = words_of(name, number)
    return notebook(words) if name.endswith(".ipynb") else words


class TestTenEditions:
    @examples(15)
    @given(EDITIONS, st.lists(st.lists(DEEDS, max_size=4), min_size=10, max_size=10))
    def test_no_word_is_lost_and_plain_names_are_of_the_newest(self, editions, deeds):
        with TemporaryDirectory() as scratch:
            ours, mine = Path(scratch) / "ours", Path(scratch) / "mine"
            words: set[str] = set()
            with patch.object(lesson_copies, "notebooks_folder", lambda: ours), patch.object(os, "fsync"):
                for number, (names, done) in enumerate(zip(editions, deeds, strict=True)):
                    shutil.rmtree(ours, ignore_errors=True)
                    for name in names:
                        (ours / name).parent.mkdir(parents=True, exist_ok=True)
                        (ours / name).write_text(edition(name, number))
                    self.opened(mine, names, number, words)
                    for place, (deed, name) in enumerate(done):
                        if deed == "opens":
                            self.opened(mine, names, number, words)
                        else:
                            self.does(mine / name, deed, f"word {number}.{place};", words)
                    self.opened(mine, names, number, words)

    def opened(self, mine, names, number, words):
        copy_lessons(mine)
        found = {name: content.decode() for name, content in contents(mine).items()}
        assert {word for word in words if not any(word in text for text in found.values())} == set()
        for name in names:
            assert words_of(name, number) in found[name] or "mine" in found[name], name  # or one that was made anew
        for name, text in found.items():
            plain = "(yours, " not in name
            assert not plain or set(EDITION.findall(text)) <= {words_of(name, number)}, (
                f"an old edition is called {name}"
            )
        before = everything(mine)
        copy_lessons(mine)
        assert everything(mine) == before, "litter"

    def does(self, place, deed, word, words):
        there = place.read_text() if place.is_file() else None
        if deed == "deletes" and there is not None:
            place.unlink()
            words -= {it for it in words if it in there}
        elif deed == "runs" and there is not None and place.suffix == ".ipynb":
            place.write_text(ran(there))
        elif deed in ("writes", "makes") and (there is None) == (deed == "makes"):
            place.parent.mkdir(parents=True, exist_ok=True)
            is_lesson = place.suffix == ".ipynb"
            place.write_text(with_cell(there or notebook("mine"), word) if is_lesson else f"{there or 'mine'} {word}")
            words.add(word)


class TestLinks:
    def test_from_one_that_was_written_in_they_lead_to_the_newest_too(self, tmp_path):
        lessons = {path.name: path.read_text(encoding="utf-8") for path in notebooks_folder().glob("*.ipynb")}
        for name, text in lessons.items():  # of an edition that is no longer known, and written in
            (tmp_path / name).write_text(with_cell(text, "my words"), encoding="utf-8")
        assert [each.state for each in copy_lessons(tmp_path)].count("moved") == len(lessons)
        written_in = list(tmp_path.glob("*(yours, *.ipynb"))
        assert len(written_in) == len(lessons)
        linked = {
            name for path in written_in for name in re.findall(r"\]\(([\w./]+)\)", path.read_text(encoding="utf-8"))
        }
        assert {name for name in linked if name.endswith(".ipynb")} >= {"01_one_turn.ipynb", "workbench.ipynb"}
        for name in linked:
            assert (tmp_path / name).read_bytes() == (notebooks_folder() / name).read_bytes(), name


class TestOpenLessons:
    @pytest.fixture
    def command(self, monkeypatch):
        """What JupyterLab is asked, and with which environment."""

        class BecameError(Exception):
            pass

        def become(program, command, environment):
            raise BecameError(program, command, environment)

        def asked(*arguments):
            with pytest.raises(BecameError) as became:
                open_lessons(*arguments)
            return became.value.args

        monkeypatch.setattr(lesson_copies.os, "execve", become)
        return asked

    @pytest.mark.skipif(os.name != "posix", reason="elsewhere a process can't become another one")
    def test_becomes_jupyterlab_at_the_first_lesson(self, ours, command):
        program, said, environment = command(ours)
        assert program == sys.executable
        assert Path(shutil.which("python", path=environment["PATH"]) or "").parent == Path(sys.executable).parent
        assert said[:4] == [sys.executable, "-P", "-m", "jupyterlab"]
        assert f"--ServerApp.root_dir={ours}" in said
        assert "--LabApp.default_url=/lab/tree/01_one.ipynb" in said
        assert not any("port" in word for word in said)

    @pytest.mark.skipif(os.name != "posix", reason="elsewhere a process can't become another one")
    def test_at_the_port_that_is_named_and_no_other(self, ours, command):
        port = free_port()
        assert {f"--ServerApp.port={port}", "--ServerApp.port_retries=0"} <= set(command(ours, port)[1])

    def test_a_port_that_is_taken_is_said_before_anything_is_started(self, ours):
        with socket.create_server(("127.0.0.1", 0)) as other:
            port = other.getsockname()[1]
            with pytest.raises(NotPossibleError, match=rf"port {port} is taken.+look in the browser.+another port"):
                open_lessons(ours, port)

    def test_says_where_they_are_open_in_a_line_of_its_own(self, tmp_path, checkout):
        surroundings = {**environment(tmp_path, checkout), "BROWSER": "true"}
        command = [sys.executable, "-m", "gearcalc", "lessons", tmp_path / "mine"]
        opened = subprocess.Popen(
            command,
            env=surroundings,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,
        )
        try:
            where = next(said.split()[-1] for said in opened.stderr if "The lessons are open at" in said)
            with urllib.request.urlopen(where, timeout=30) as page:
                assert page.url == where  # and not where one signs in
            assert "/lab/tree/00_start_here.ipynb?token=" in where
        finally:
            end(opened)
            opened.stderr.close()

    @pytest.mark.skipif(os.name != "posix", reason="elsewhere a process can't become another one")
    def test_the_first_lesson_is_ours_whatever_else_is_there(self, ours, mine, command):
        copy_lessons(mine)
        for name in ("00_mine.ipynb", "01_one (yours, 2026-11-30).ipynb"):
            (mine / name).write_text(notebook("mine"))
        assert "--LabApp.default_url=/lab/tree/01_one.ipynb" in command(mine)[1]

    def test_without_jupyterlab(self, ours, monkeypatch):
        monkeypatch.setattr(lesson_copies.importlib.util, "find_spec", lambda name: None)
        with pytest.raises(GearcalcError, match="JupyterLab is not installed"):
            open_lessons(ours)


class TestNamesThatAreTaken:
    def test_a_file_is_called_a_file(self, tmp_path):
        (tmp_path / "mine").write_text("x")
        with pytest.raises(GearcalcError, match="this is a file"):
            copy_lessons(tmp_path / "mine")

    def test_a_notebook_of_one_s_own_under_a_name_of_ours_is_called_so(self, tmp_path):
        copy_lessons(tmp_path)
        record = tmp_path / ".gearcalc-shipped.json"
        known = json.loads(record.read_text())
        del known["files"]["workbench.ipynb"]
        record.write_text(json.dumps(known))
        (tmp_path / "workbench.ipynb").write_text('{"cells": [{"cell_type": "code", "source": "mine"}]}')
        (moved,) = (str(file) for file in copy_lessons(tmp_path) if file.state == "moved")
        assert "a file of yours had the name of one of ours; yours is now" in moved
