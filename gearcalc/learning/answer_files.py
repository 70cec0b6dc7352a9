"""What stands in a file of answers, and only that: read, checked, written; where it lies is answer_book.py's affair."""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from attrs import frozen

from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import NotPossibleError, quoted, without_controls

FILE_NAME = "answers.json"
_WHAT, _VERSION = "answers to the lessons of gearcalc", 1
LARGEST_FILE = 2_000_000
MOST_CLASS_NUMBER = 1_000_000  # and the most of any other number in it
_LONGEST_TEXT, LONGEST_LATHE = 400, 40_000
_MOST_GOES_READ = 100
_KEYS = {"what", "version", "name", "class_number", "guesses", "exercises"}
_KEYS_OF_A_GO = {"class_number", "go", "answer", "tries", "lathe"}
IN_MEMORY = "What you type stands for as long as this page is open, and is not kept."


@frozen
class Go:
    """One go at an exercise: whose numbers, which go, the lathe file if it has one, the answer as typed, the tries."""

    class_number: int
    go: int = 1
    answer: str = ""
    tries: int = 0
    lathe: str = ""

    @property
    def place(self) -> tuple[int, int, str]:
        """What tells it from the other goes at its exercise."""
        return self.class_number, self.go, self.lathe


@frozen
class AnswersRead:
    """What a file of answers says: name, class number, goes by exercise, and in words what in it is none of that."""

    name: str
    class_number: int | None
    goes: Mapping[str, tuple[Go, ...]]
    left_out: tuple[str, ...] = ()


def read_answers(path: Path) -> AnswersRead:
    """Read a file of answers that somebody handed in, as it stands; nothing of it is kept or changed.

    `left_out` of what is read says what was changed by hand so that it means nothing, as a mark is that stands there.
    Raises NotPossibleError for what is no such file, OSError where it can't be read.
    """
    content = from_file(path)
    name, number = content.get("name"), content.get("class_number")
    added, broken, goes = set(content) - _KEYS, 0, {}
    for exercise, kept in content["exercises"].items():
        listed = as_list(kept)[:_MOST_GOES_READ]
        read = list(filter(None, map(as_go, listed)))
        goes[exercise] = tuple(go for go in read if len(go.lathe) <= LONGEST_LATHE)
        broken += (len(kept) if isinstance(kept, list) else 1) - len(goes[exercise])
        added |= {key for go in listed if isinstance(go, Mapping) for key in go} - _KEYS_OF_A_GO
    said = []
    if number is not None and as_number(number) is None:
        said.append(f"its class number is none: {quoted(number)}")
    if added:
        some = ", ".join(map(quoted, sorted(added)[:3]))
        said.append(f"it says {some}, which nobody asked: marks are worked out from the answers alone")
    if broken:
        said.append(f"entries that are no answers, or too many at one exercise, were left out: {broken}")
    return AnswersRead(tidy(name) if isinstance(name, str) else "", as_number(number), goes, tuple(said))


def read_class_number(text: str) -> int:
    """A class number as it was typed.

    >>> read_class_number(" 12 ")
    12

    Raises ValueOutOfRangeError for what is no whole number from 0 to a million.
    """
    digits = text.strip().isascii() and text.strip().isdigit() and len(text.strip()) <= len(str(MOST_CLASS_NUMBER))
    return as_whole(int(text) if digits else text, what="a class number", least=0, most=MOST_CLASS_NUMBER)


def nothing_yet() -> dict[str, Any]:
    return {"what": _WHAT, "version": _VERSION, "guesses": {}, "exercises": {}}


def from_file(path: Path) -> dict[str, Any]:
    """What the file says; what is not ours, or not readable, is refused and so never written over."""
    if not os.path.lexists(path):
        return nothing_yet()
    if not stat.S_ISREG(os.stat(path).st_mode):
        raise trouble_with(path, "this is no ordinary file")
    with path.open("rb") as file:
        page = file.read(LARGEST_FILE + 1)
    return from_page(page, path)


def from_page(page: bytes, path: Path) -> dict[str, Any]:
    if len(page) > LARGEST_FILE:
        raise trouble_with(path, f"the file is larger than {LARGEST_FILE // 1_000_000} MB, and no file of answers is")
    try:
        content = json.loads(page.decode("utf-8-sig"))
    except (ValueError, RecursionError) as problem:
        where = f" (line {problem.lineno})" if isinstance(problem, json.JSONDecodeError) else ""
        raise trouble_with(path, f"the file can't be read: it is broken, or no JSON{where}") from None
    if not isinstance(content, dict) or content.get("what") != _WHAT:
        raise trouble_with(path, f"the file is not ours: nowhere does it say what: {quoted(_WHAT)}")
    if content.get("version") != _VERSION:
        raise trouble_with(path, "the file was written by another version", "Bring gearcalc up to date.")
    for part in ("guesses", "exercises"):
        if not isinstance(content.setdefault(part, {}), dict):
            raise trouble_with(path, f"{part} is no list of names")
    return content


def as_page(content: Mapping[str, Any]) -> bytes:
    return json.dumps(content, ensure_ascii=False, indent=1).encode("utf-8", "replace") + b"\n"


def put_into(content: dict[str, Any], brought: Mapping[str, Any]) -> None:
    for word in ("name", "class_number"):
        if word in brought:
            content.setdefault(word, brought[word])
    content["guesses"] = {**brought["guesses"], **content["guesses"]}
    for exercise, kept in brought["exercises"].items():
        goes = [go for go in as_list(content["exercises"].get(exercise)) if as_go(go) is not None]
        places = {place_of(go): at for at, go in enumerate(goes)}
        for go in filter(as_go, as_list(kept)[:_MOST_GOES_READ]):
            at = places.get(place_of(go))
            if at is None:
                goes.append(go)
            elif (goes[at].get("tries") or 0) <= (go.get("tries") or 0):
                goes[at] = go
        content["exercises"][exercise] = goes


def trouble_with(path: Path, problem: str, remedy: str = "") -> NotPossibleError:
    way_out = remedy or f"Move {path.name} elsewhere, or make the folder one that you may write to."
    return NotPossibleError(problem, where=str(path), remedy=f"It is left as it is. {IN_MEMORY} {way_out}")


def tidy(text: str) -> str:
    """A text on one line, of a length that somebody types, with nothing that a page or a file could stumble over."""
    return " ".join(without_controls(text[:_LONGEST_TEXT]).encode("utf-8", "replace").decode().split())


def as_list(kept: object) -> list[Any]:
    return kept[:] if isinstance(kept, list) else []


def as_number(kept: object, least: int = 0) -> int | None:
    whole = isinstance(kept, int) and not isinstance(kept, bool) and least <= kept <= MOST_CLASS_NUMBER
    return kept if whole and isinstance(kept, int) else None


def as_go(kept: object) -> Go | None:
    """A go as it stands in the file; None where somebody changed it so that it is none."""
    if not isinstance(kept, Mapping):
        return None
    number, go = as_number(kept.get("class_number")), as_number(kept.get("go"), least=1)
    answer, lathe = kept.get("answer"), kept.get("lathe", "")
    if number is None or go is None or not isinstance(answer, str) or not isinstance(lathe, str):
        return None
    return Go(number, go, tidy(answer), as_number(kept.get("tries")) or 0, lathe)


def place_of(kept: object) -> tuple[int, int, str] | None:
    go = as_go(kept)
    return go.place if go is not None else None
