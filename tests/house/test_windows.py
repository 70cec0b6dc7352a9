"""What comes from Windows is read, or refused in words; and what we name ourselves, Windows can have.

Tried on any system: line ends, byte order marks, UTF-16; names by the rules that Microsoft publishes for files ("Naming
Files, Paths, and Namespaces"), written out here from memory.
"""

from __future__ import annotations

import json
import os
import re
from pathlib import Path, PureWindowsPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.files import data_folder, notebooks_folder
from gearcalc.learning import shipped
from gearcalc.learning.answer_book import AnswerBook
from gearcalc.learning.answer_files import Go, read_answers
from gearcalc.learning.lesson_copies import _moved_aside
from gearcalc.serving.hubs import _read_secret
from gearcalc.teaching.cell_answers import CellAnswers, answers_in_notebook
from gearcalc.teaching.class_lists import class_list
from tests.how_much import examples, in_one

LATHE = gc.demo_lathe("inch").to_toml()
CLASS = "number,name\n1,Ada of Nowhere\n2,Zoë\n"
CELLS = {"cells": [{"cell_type": "code", "source": 'exercise("two-pairs", 7).check("40/80")\nx = 1'}]}
NOTEBOOK = json.dumps(CELLS, indent=1) + "\n"


def answers() -> str:
    book = AnswerBook(None)
    book.keep_name("Zoë of Nowhere")
    book.keep_answer("two-pairs", Go(7, answer="40/80", tries=1))
    return book.page.decode()


def in_cells(path: Path) -> list[str]:
    found = CellAnswers()
    answers_in_notebook(path, found)
    return [one.exercise for one in found.answers]


def password(path: Path) -> str:
    path.chmod(0o600)
    return _read_secret(path).strip()


KINDS = {
    "lathe": ("mine.toml", LATHE, gc.Lathe.load),
    "class list": ("class.csv", CLASS, class_list),
    "answers": ("answers.json", answers(), read_answers),
    "notebook": ("01.ipynb", NOTEBOOK, in_cells),
    "password": ("secret", "gears and more gears\n", password),
}
"""Every kind of file that a person hands over: its name, what stands in it, who reads it."""
WAYS = {
    "CRLF": lambda text: text.replace("\n", "\r\n").encode(),
    "a mark": lambda text: text.encode("utf-8-sig"),
    "both": lambda text: text.replace("\n", "\r\n").encode("utf-8-sig"),
}
CASES = [(kind, way) for kind in KINDS for way in WAYS]


class TestWhatWindowsWrites:
    @in_one(("kind", "way"), CASES)
    def test_is_read_as_what_others_write(self, tmp_path, kind, way):
        name, text, read = KINDS[kind]
        for folder, content in {"plain": text.encode(), "windows": WAYS[way](text)}.items():
            (tmp_path / kind / way / folder).mkdir(parents=True)
            (tmp_path / kind / way / folder / name).write_bytes(content)
        plain, windows = (read(tmp_path / kind / way / folder / name) for folder in ("plain", "windows"))
        assert plain == windows
        assert plain

    @in_one(("kind", "code"), [(kind, code) for kind in KINDS for code in ("utf-16", "utf-16-le", "utf-16-be")])
    def test_utf_16_is_refused_with_the_file_and_what_to_do(self, tmp_path, kind, code):
        name, text, read = KINDS[kind]
        place = tmp_path / name
        place.write_bytes(text.encode(code))
        with pytest.raises(GearcalcError) as refused:
            read(place)
        assert "codec" not in str(refused.value), refused.value
        assert "0xff" not in str(refused.value), refused.value
        assert place.read_bytes() == text.encode(code)

    def test_a_lesson_whose_lines_end_otherwise_counts_as_not_written_in(self):
        for way in WAYS.values():
            assert shipped.fingerprint(way(NOTEBOOK)) == shipped.fingerprint(NOTEBOOK.encode())

    def test_a_record_with_paths_of_windows_leads_nowhere(self, tmp_path):
        names = ["..\\out.ipynb", "C:\\out.ipynb", "images\\a.svg", "C:out.ipynb", "\\\\host\\out.ipynb", "01.ipynb"]
        page = {"what": "x", "version": 1, "files": {name: ["0"] for name in names}}
        (tmp_path / shipped.FILE_NAME).write_text(json.dumps(page))
        assert list(shipped.remembered(tmp_path) or ()) == ["01.ipynb"]


RESERVED = {"CON", "PRN", "AUX", "NUL", *(f"{port}{n}" for port in ("COM", "LPT") for n in "0123456789¹²³")}


def is_for_windows(name: str) -> bool:
    """Whether a file can have this name there."""
    return (
        0 < len(name) <= 255
        and not re.search(r'[<>:"/\\|?*\x00-\x1f]', name)
        and name[-1] not in ". "
        and name.split(".")[0].rstrip(" ").upper() not in RESERVED
        and PureWindowsPath(name).name == name
        and not any("\ud800" <= sign <= "\udfff" for sign in name)
    )


ODD_NAMES = ["CON", "a:b", "NUL.", "x ", "../..", "C:\\x", "Zoë\n?"]


class TestNamesThatWeGive:
    @examples(200)
    @given(st.text(max_size=80) | st.sampled_from(ODD_NAMES), st.booleans())
    def test_a_copy_of_the_answers_to_hand_in(self, name, has_number):
        book = AnswerBook(None)
        if has_number:
            book.keep_class_number(7)
        book.keep_name(name)
        assert is_for_windows(book.name_to_hand_in), book.name_to_hand_in

    def test_what_was_written_in_and_makes_room(self, tmp_path):
        for name in ["01_one_turn.ipynb", "LICENSE", "bench.svg"]:
            for _ in range(3):
                (tmp_path / name).touch()
                assert is_for_windows(_moved_aside(tmp_path / name).name)

    def test_all_that_is_shipped(self, checkout):
        for folder in (notebooks_folder(), data_folder(), checkout / "gearcalc"):
            names = [path.relative_to(folder) for path in folder.rglob("*") if "__pycache__" not in path.parts]
            assert all(is_for_windows(part) for name in names for part in name.parts), folder
            told_apart = {os.fspath(name).casefold() for name in names}
            assert len(told_apart) == len(names), "two names that Windows takes for one"

    def test_the_rule_knows_what_windows_refuses(self):
        refused = ["CON", "con.svg", "nul", "COM1.csv", "a:b", "a?", "x.", "x ", "", "a/b", "a\\b", "tab\t", "NUL .txt"]
        assert [name for name in refused if is_for_windows(name)] == []
        assert all(map(is_for_windows, ["console.svg", "a.b.c", ".gearcalc-shipped.json", "Zoë.json"]))
