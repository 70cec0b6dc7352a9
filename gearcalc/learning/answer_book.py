"""A learner's own answers: answers.json beside the lessons, the one home of name, class number, guesses and answers.

Every lesson that is open writes there, each from a kernel of its own: a change is made to what the file says by then,
under its lock. Nothing is read from it but what was typed: whether an answer is right is worked out again each time.
"""

from __future__ import annotations

import json
import os
import re
import stat
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any, Protocol
from weakref import WeakSet

from attrs import frozen

from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import GearcalcError, NotPossibleError, UnknownNameError, quoted, without_controls
from gearcalc.basics.files import alone_with, in_its_words, put_in_place
from gearcalc.learning.live import is_served_alone

FILE_NAME = "answers.json"
_WHAT, _VERSION = "answers to the lessons of gearcalc", 1
_LARGEST_FILE = 2_000_000
MOST_CLASS_NUMBER = 1_000_000  # and the most of any other number in it
_LONGEST_TEXT, _LONGEST_LATHE = 400, 40_000
_MOST_GOES_READ = 100
_KEYS = {"what", "version", "name", "class_number", "guesses", "exercises"}
_KEYS_OF_A_GO = {"class_number", "go", "answer", "tries", "lathe"}
_NAME = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*", re.ASCII)
_LONGEST_NAME = 60
_IN_MEMORY = "What you type stands for as long as this page is open, and is not kept."


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


class Follower(Protocol):
    """Something on the page that shows what the book says."""

    def follow(self) -> None:
        """Look again: something was written."""


class AnswerBook:
    """What one learner has typed, in a file or, with no path, for as long as the program runs.

    >>> book = AnswerBook(None)
    >>> book.keep_class_number(7)
    >>> book.keep_answer("two-pairs", Go(7, answer="40/80", tries=1))
    >>> book.class_number, book.goes("two-pairs")[0].answer
    (7, '40/80')

    What can't be kept in the file stays here, and goes in as soon as it can be; `notice` says so.
    """

    def __init__(self, path: Path | None, why_not: str = "") -> None:
        self._path, self._why_not = path, why_not
        self._waiting: dict[tuple[object, ...], Callable[[dict[str, Any]], None]] = {}
        self._content: dict[str, Any] = _empty()
        self._seen: object = None
        self._told: set[str] = set()
        self._followers: WeakSet[Any] = WeakSet()
        self.trouble: GearcalcError | None = None

    @property
    def keeps(self) -> bool:
        """Whether what is typed is kept in a file, if it can be."""
        return self._path is not None

    @property
    def name(self) -> str:
        """The learner's name; empty where none was given."""
        name = self._read().get("name")
        return _tidy(name) if isinstance(name, str) else ""

    @property
    def class_number(self) -> int | None:
        """The learner's class number; None as long as there is none."""
        return _whole(self._read().get("class_number"))

    def guess(self, name: str) -> str:
        """The guess of that name, as typed; empty where none was made."""
        kept = self._read()["guesses"].get(name)
        return _tidy(kept) if isinstance(kept, str) else ""

    def goes(self, exercise: str) -> tuple[Go, ...]:
        """Every go at an exercise, in the order in which they were begun."""
        return tuple(filter(None, map(_as_go, _list(self._read()["exercises"].get(exercise)))))

    def keep_name(self, name: str) -> None:
        """Keep the learner's name."""
        self._keep(("name",), lambda content: content.update(name=_tidy(name)))

    def keep_class_number(self, class_number: int) -> None:
        """Keep the learner's class number. What was answered with another stays with that one."""
        self._keep(("class number",), lambda content: content.update(class_number=class_number))

    def keep_guess(self, name: str, text: str) -> None:
        """Keep a guess. Raises UnknownNameError for a name that is none."""
        check_name(name, "a guess")
        self._keep(("guess", name), lambda content: content["guesses"].update({name: _tidy(text)}))

    def keep_answer(self, exercise: str, go: Go) -> None:
        """Keep a go at an exercise in the place of what stood there for the same numbers."""
        made = {"class_number": go.class_number, "go": go.go, "answer": _tidy(go.answer), "tries": go.tries}
        if go.lathe:
            made["lathe"] = go.lathe[:_LONGEST_LATHE]

        def put(content: dict[str, Any]) -> None:
            goes = _list(content["exercises"].get(exercise))
            at = next((n for n, kept in enumerate(goes) if _place_of(kept) == go.place), len(goes))
            content["exercises"][exercise] = [*goes[:at], made, *goes[at + 1 :]]

        self._keep(("answer", exercise, *go.place), put)

    def added(self, follower: Follower) -> None:
        """Have something on the page look again whenever something is written."""
        self._followers.add(follower)

    def notice(self) -> str:
        """Why nothing is kept, the first time that it is asked for; empty after that, and where all is well."""
        said = str(self.trouble) if self.trouble is not None else self._why_not
        if not said or said in self._told:
            return ""
        self._told.add(said)
        return said

    def _keep(self, place: tuple[object, ...], change: Callable[[dict[str, Any]], None]) -> None:
        self._waiting[place] = change
        if self._path is None:
            self._change(self._content)
        else:
            self._write(self._path)
        for follower in list(self._followers):
            follower.follow()

    def _write(self, path: Path) -> None:
        try:
            with alone_with(path):
                content = _from_file(path)
                self._change(content)
                page = json.dumps(content, ensure_ascii=False, indent=1).encode("utf-8", "replace") + b"\n"
                if len(page) > _LARGEST_FILE:
                    raise _trouble(path, "the file is full", "Keep a copy elsewhere, and begin a new one.")
                put_in_place(path, page)
                self._seen, self._content = _signature(path), content
            self._waiting.clear()
            self.trouble = None
        except (OSError, ValueError) as problem:
            self._remember(path, problem)

    def _read(self) -> dict[str, Any]:
        path = self._path
        if path is not None and self._seen != (found := _signature(path)):
            self._seen = found
            try:
                self._content = _from_file(path)
                self._change(self._content)
                self.trouble = self.trouble if self._waiting else None
            except (OSError, ValueError) as problem:
                self._remember(path, problem)
        return self._content

    def _remember(self, path: Path, problem: Exception) -> None:
        """Go on with what is known; the file stays as it is."""
        self._change(self._content)
        if not isinstance(problem, GearcalcError):
            problem = _trouble(path, f"nothing can be kept here ({in_its_words(problem)})")
        self.trouble = problem

    def _change(self, content: dict[str, Any]) -> None:
        for change in self._waiting.values():
            change(content)


def answer_book() -> AnswerBook:
    """The book of the folder that the program works in, which for a lesson is the lesson's own; one for each folder.

    Where many share one folder, as visitors of a page served by voila do, nothing is kept.
    """
    if is_served_alone():
        return _nothing_kept()
    try:
        return _book_at(Path.cwd() / FILE_NAME)
    except OSError:  # the folder is gone
        return _nothing_kept()


def read_answers(path: Path) -> AnswersRead:
    """Read a file of answers that somebody handed in, as it stands; nothing of it is kept or changed.

    `left_out` of what is read says what was changed by hand so that it means nothing, as a mark is that stands there.
    Raises NotPossibleError for what is no such file, OSError where it can't be read.
    """
    content = _from_file(path)
    name, number = content.get("name"), content.get("class_number")
    added, broken, goes = set(content) - _KEYS, 0, {}
    for exercise, kept in content["exercises"].items():
        listed = _list(kept)[:_MOST_GOES_READ]
        read = list(filter(None, map(_as_go, listed)))
        goes[exercise] = tuple(go for go in read if len(go.lathe) <= _LONGEST_LATHE)
        broken += (len(kept) if isinstance(kept, list) else 1) - len(goes[exercise])
        added |= {key for go in listed if isinstance(go, Mapping) for key in go} - _KEYS_OF_A_GO
    said = []
    if number is not None and _whole(number) is None:
        said.append(f"its class number is none: {quoted(number)}")
    if added:
        some = ", ".join(map(quoted, sorted(added)[:3]))
        said.append(f"it says {some}, which nobody asked: marks are worked out from the answers alone")
    if broken:
        said.append(f"entries that are no answers, or too many at one exercise, were left out: {broken}")
    return AnswersRead(_tidy(name) if isinstance(name, str) else "", _whole(number), goes, tuple(said))


def read_class_number(text: str) -> int:
    """A class number as it was typed.

    >>> read_class_number(" 12 ")
    12

    Raises ValueOutOfRangeError for what is no whole number from 0 to a million.
    """
    digits = text.strip().isascii() and text.strip().isdigit() and len(text.strip()) <= len(str(MOST_CLASS_NUMBER))
    return as_whole(int(text) if digits else text, what="a class number", least=0, most=MOST_CLASS_NUMBER)


def check_name(name: str, what: str) -> None:
    """Refuse a name that can't be one: lower case with hyphens. Raises UnknownNameError."""
    if not (isinstance(name, str) and len(name) <= _LONGEST_NAME and _NAME.fullmatch(name)):
        raise UnknownNameError(
            f"{what} is named in lower case with hyphens, at most {_LONGEST_NAME} signs",
            value=name,
            remedy="Such as 'carriage-in-one-turn'.",
        )


@cache
def _book_at(path: Path) -> AnswerBook:
    return AnswerBook(path)


@cache
def _nothing_kept() -> AnswerBook:
    return AnswerBook(None, why_not=_IN_MEMORY)


def _empty() -> dict[str, Any]:
    return {"what": _WHAT, "version": _VERSION, "guesses": {}, "exercises": {}}


def _from_file(path: Path) -> dict[str, Any]:
    """What the file says; what is not ours, or not readable, is refused and so never written over."""
    if not os.path.lexists(path):
        return _empty()
    if not stat.S_ISREG(os.stat(path).st_mode):
        raise _trouble(path, "this is no ordinary file")
    with path.open("rb") as file:
        page = file.read(_LARGEST_FILE + 1)
    if len(page) > _LARGEST_FILE:
        raise _trouble(path, f"the file is larger than {_LARGEST_FILE // 1_000_000} MB, and no file of answers is")
    try:
        content = json.loads(page.decode("utf-8-sig"))
    except (ValueError, RecursionError) as problem:
        where = f" (line {problem.lineno})" if isinstance(problem, json.JSONDecodeError) else ""
        raise _trouble(path, f"the file can't be read: it is broken, or no JSON{where}") from None
    if not isinstance(content, dict) or content.get("what") != _WHAT:
        raise _trouble(path, f"the file is not ours: nowhere does it say what: {quoted(_WHAT)}")
    if content.get("version") != _VERSION:
        raise _trouble(path, "the file was written by another version", "Bring gearcalc up to date.")
    for part in ("guesses", "exercises"):
        if not isinstance(content.setdefault(part, {}), dict):
            raise _trouble(path, f"{part} is no list of names")
    return content


def _trouble(path: Path, problem: str, remedy: str = "") -> NotPossibleError:
    way_out = remedy or f"Move {path.name} elsewhere, or make the folder one that you may write to."
    return NotPossibleError(problem, where=str(path), remedy=f"It is left as it is. {_IN_MEMORY} {way_out}")


def _signature(path: Path) -> object:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_ino, found.st_mtime_ns, found.st_size


def _tidy(text: str) -> str:
    """A text on one line, of a length that somebody types, with nothing that a page or a file could stumble over."""
    return " ".join(without_controls(text[:_LONGEST_TEXT]).encode("utf-8", "replace").decode().split())


def _list(kept: object) -> list[Any]:
    return kept[:] if isinstance(kept, list) else []


def _whole(kept: object, least: int = 0) -> int | None:
    whole = isinstance(kept, int) and not isinstance(kept, bool) and least <= kept <= MOST_CLASS_NUMBER
    return kept if whole and isinstance(kept, int) else None


def _as_go(kept: object) -> Go | None:
    """A go as it stands in the file; None where somebody changed it so that it is none."""
    if not isinstance(kept, Mapping):
        return None
    number, go = _whole(kept.get("class_number")), _whole(kept.get("go"), least=1)
    answer, lathe = kept.get("answer"), kept.get("lathe", "")
    if number is None or go is None or not isinstance(answer, str) or not isinstance(lathe, str):
        return None
    return Go(number, go, _tidy(answer), _whole(kept.get("tries")) or 0, lathe)


def _place_of(kept: object) -> tuple[int, int, str] | None:
    go = _as_go(kept)
    return go.place if go is not None else None
