"""A learner's folder over the years: files that earlier versions wrote are read, and ten editions lose nothing.

`earlier/` holds files as the first versions that wrote such files left them, to the byte.
"""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError
from gearcalc.learning import lesson_copies, shipped
from gearcalc.learning.answer_book import AnswerBook
from gearcalc.learning.answer_files import Go, read_answers
from gearcalc.learning.lesson_copies import copy_lessons
from tests.how_much import in_one

EARLIER = Path(__file__).with_name("earlier")
LATHES = sorted(path.name for path in EARLIER.glob("*.toml"))


class TestFilesOfEarlierVersions:
    @in_one("name", LATHES)
    def test_a_lathe_is_read_and_finds_its_gears(self, name):
        lathe = gc.Lathe.load(EARLIER / name)
        assert gc.find_setups(lathe, "16 tpi")[0].is_exact
        assert gc.Lathe.from_toml(lathe.to_toml()) == lathe

    def test_one_that_the_first_version_saved_is_the_demo_lathe_of_today(self):
        assert gc.Lathe.load(EARLIER / "saved_by_the_first_version.toml") == gc.demo_lathe("inch")

    def test_a_key_that_no_version_had_is_named_with_the_one_that_is_meant(self):
        text = (EARLIER / "inch.toml").read_text(encoding="utf-8").replace("[leadscrew]\nlead", "[leadscrew]\npitch")
        with pytest.raises(gc.GearcalcError, match=r"leadscrew.*pitch.*lead"):
            gc.Lathe.from_toml(text)

    def test_answers_are_all_read_and_written_on(self, tmp_path):
        shutil.copy(EARLIER / "answers.json", tmp_path)
        book = AnswerBook(tmp_path / "answers.json")
        book.keep_answer("lead-of-a-leadscrew", Go(7, answer="3.175 mm", tries=1))
        assert (book.trouble, book.name, book.class_number) == (None, "Ada of Nowhere", 7)
        assert book.guess("carriage-in-one-turn") == "3.2 mm"
        found = read_answers(tmp_path / "answers.json")
        assert found.left_out == ()
        assert {name: [go.answer for go in goes] for name, goes in found.goes.items()} == {
            "two-pairs": ["40/80", "(40 · 30)/(80 · 60)"],
            "your-own-thread": ["20/40"],
            "lead-of-a-leadscrew": ["3.175 mm"],
        }
        assert gc.Lathe.from_toml(found.goes["your-own-thread"][0].lathe) == gc.demo_lathe("inch")

    def test_answers_of_a_later_version_stay_as_they_are_and_it_is_said_what_to_do(self, tmp_path):
        page = (EARLIER / "answers.json").read_text(encoding="utf-8").replace('"version": 1', '"version": 2')
        place = tmp_path / "answers.json"
        place.write_text(page, encoding="utf-8")
        with pytest.raises(NotPossibleError, match=r"by another version.*Bring gearcalc up to date"):
            read_answers(place)
        AnswerBook(place).keep_name("Ada")
        assert place.read_text(encoding="utf-8") == page

    def test_what_was_shipped_is_known_so_that_who_wrote_nothing_is_asked_nothing(self, tmp_path, monkeypatch):
        shutil.copy(EARLIER / "gearcalc-shipped.json", tmp_path / shipped.FILE_NAME)
        known = shipped.remembered(tmp_path)
        assert known is not None
        name = "01_one_turn.ipynb"
        assert len(known) == 18
        (tmp_path / name).write_text("an older edition")
        monkeypatch.setattr(shipped, "fingerprint", fingerprint_of_older(known[name][0]))
        assert {one.name: one.state for one in copy_lessons(tmp_path)}[name] == "brought up to date"

    def test_what_a_later_version_shipped_is_unknown_and_so_taken_for_somebody_s_work(self, tmp_path):
        copy_lessons(tmp_path)
        record = tmp_path / shipped.FILE_NAME
        record.write_text(record.read_text().replace('"version": 1', '"version": 2'))
        (tmp_path / "01_one_turn.ipynb").write_text(notebook("of a later edition"))
        moved = [one for one in copy_lessons(tmp_path) if one.state == "moved"]
        assert [one.name for one in moved] == ["01_one_turn.ipynb"]
        assert "of a later edition" in (tmp_path / str(moved[0].yours)).read_text()


def fingerprint_of_older(known: str):
    """Tell files apart as ever, and know the older edition, of which only the fingerprint is left."""
    usual = shipped.fingerprint
    return lambda content: known if content == b"an older edition" else usual(content)


def notebook(*texts: str) -> str:
    return json.dumps({"cells": [{"cell_type": "markdown", "source": [text]} for text in texts]})


def edition(number: int) -> dict[str, str]:
    """Invented lessons: some change with each edition, some stay; one comes, one goes and is back, one is renamed."""
    pi = "03_pi.ipynb" if number < 6 else "03_about_pi.ipynb"
    names = ["00_start.ipynb", "01_turn.ipynb", pi, "workbench.ipynb"]
    names += ["02_pairs.ipynb"] if number not in (4, 5, 6) else []
    names += ["04_more.ipynb"] if number >= 2 else []
    links = " ".join(f"[{name}]({name})" for name in names)
    lessons = {}
    for place, name in enumerate(names):
        of = number // (1 + place % 3)  # the second changes with every second edition, the third with every third
        lessons[name] = notebook(f"edition {of} of {name}", links)
    return lessons | {"images/bench.svg": f"<svg>{number // 3}</svg>"}


class Learner:
    """Writes in one lesson of each edition, runs the others, answers, and has files of their own."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.words, self.answers = folder, [], {}
        self.own = {"my_lathe.toml": "name =", "notes.ipynb": notebook("mine"), "images/photo.png": "mine too"}

    def works(self, number: int, lessons: dict[str, str]) -> None:
        if number == 3:
            for name, text in self.own.items():
                (self.folder / name).write_text(text)
        notebooks = sorted(name for name in lessons if name.endswith(".ipynb"))
        written = notebooks[number % len(notebooks)]
        for name in notebooks:
            page = json.loads((self.folder / name).read_text())
            if name == written:
                self.words.append(f"my words {number};")
                page["cells"].append({"cell_type": "markdown", "source": self.words[-1]})
            page["cells"][0] |= {"outputs": ["2"], "execution_count": number}
            (self.folder / name).write_text(json.dumps(page))
        book = AnswerBook(self.folder / "answers.json")
        book.keep_answer(f"exercise-{number}", Go(7, answer=str(number), tries=1))
        self.answers[f"exercise-{number}"] = str(number)


class TestTenEditions:
    def test_nothing_of_a_learner_is_lost_links_lead_to_the_newest_and_left_overs_are_few(self, tmp_path, monkeypatch):
        ours, mine = tmp_path / "ours", tmp_path / "mine"
        monkeypatch.setattr(lesson_copies, "notebooks_folder", lambda: ours)
        learner = Learner(mine)
        for number in range(10):
            lessons = edition(number)
            shutil.rmtree(ours, ignore_errors=True)
            for name, text in lessons.items():
                (ours / name).parent.mkdir(parents=True, exist_ok=True)
                (ours / name).write_text(text)
            copy_lessons(mine)
            self.is_all_well(learner, lessons, number)
            learner.works(number, lessons)
            copy_lessons(mine)
            self.is_all_well(learner, lessons, number)
        assert len(list(mine.glob("*(yours, *"))) >= 3, "and editions did come over what was written in"

    def is_all_well(self, learner: Learner, lessons: dict[str, str], number: int) -> None:
        files = {path.relative_to(learner.folder).as_posix(): path for path in learner.folder.rglob("*")}
        texts = {name: path.read_text() for name, path in files.items() if path.is_file()}
        everything = "".join(texts.values())
        assert [word for word in learner.words if everything.count(word) != 1] == [], "lost, or there twice"
        goes = read_answers(learner.folder / "answers.json").goes
        assert {name: went[0].answer for name, went in goes.items()} == learner.answers
        assert {name: texts[name] for name in learner.own if number > 3} == (learner.own if number > 3 else {})
        linked = {link for text in texts.values() for link in re.findall(r"\]\(([\w.]+)\)", text)}
        for name in linked & lessons.keys():
            assert json.loads(lessons[name])["cells"][0]["source"][0] in texts[name], f"{name} is not the newest"
        hidden = {name for name in texts if name.startswith(".")}
        assert hidden == {shipped.FILE_NAME}
        most = len(lessons) + len(learner.words) + len(learner.own) + len({"answers.json"})
        assert len(texts) - len(hidden) <= most
