"""Whatever is typed behind a command is said again so that no terminal obeys it, in lines and in JSON."""

from __future__ import annotations

import json
import shlex
from collections.abc import Iterator
from typing import Any

import pytest

from gearcalc.basics.files import data_folder
from gearcalc.serving import hubs
from tests.commands.test_options import parsers
from tests.how_much import in_one
from tests.planted import obeyed_by_a_terminal
from tests.teaching.invented_class import answers, write

OBEYED = "x\x1b[2J\x1b]0;planted\x07\x9b2J\r\x0b\x0c\x1c\x85\u2028\u202e\u2066\u200b\ufeff\x7f\ud800y"


def planted_in(command: str) -> Iterator[tuple[str, list[str]]]:
    """The example of a command's help with that text in place of each of its words, and behind each option."""
    example = shlex.split((parsers()[command].epilog or "").partition(" -m gearcalc ")[2].replace("1-24", "1-2"))
    for place in range(1, len(example)):
        yield example[place], [*example[:place], OBEYED, *example[place + 1 :]]
        yield f"{example[place]}, in JSON", [*example[:place], OBEYED, *example[place + 1 :], "--json"]
    for action in parsers()[command]._actions:
        if action.option_strings and action.nargs != 0:
            yield action.option_strings[-1], [*example, action.option_strings[-1], OBEYED]


@pytest.fixture
def here(tmp_path, monkeypatch, nothing_runs) -> None:
    """A folder in which each example could be asked, with nothing that builds, serves, prints or runs a lesson."""
    (tmp_path / "my_lathe.toml").write_text((data_folder() / "example_lathe.toml").read_text("utf-8"), "utf-8")
    write(tmp_path / "handed_in" / "answers-ada.json", answers(1, "Ada Thorn", {}))
    (tmp_path / "list.csv").write_text("1,Ada Thorn", "utf-8")
    monkeypatch.setattr("gearcalc.learning.lesson_copies.open_lessons", lambda *_, **__: 0)
    monkeypatch.setattr(hubs.Hub, "make_folders", lambda hub: None)


@in_one("command", parsers())
def test_no_terminal_obeys_what_is_said_again(ask: Any, here: None, command: str) -> None:
    for where, words in planted_in(command):
        code, out, err = ask(*words)
        assert code in (0, 1, 2), (where, err)
        assert obeyed_by_a_terminal(out + err) == [], where
        assert "Traceback" not in err
        if words[-1] == "--json" and out:
            json.loads(out)
