"""A learner's own answers: answers.json beside the lessons, the one home of name, class number, guesses and answers.

Every lesson that is open writes there, each from a kernel of its own: a change is made to what the file says by then,
under its lock. Nothing is read from it but what was typed: whether an answer is right is worked out again each time.
Lessons that run in the browser alone have a file each, in memory: there a change goes on to what the browser keeps, and
comes back to all of them.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache, partial
from pathlib import Path
from typing import Any, Protocol
from weakref import WeakSet

from gearcalc.basics.errors import GearcalcError, NotPossibleError, UnknownNameError
from gearcalc.basics.files import alone_with, in_its_words, put_in_place, way_out
from gearcalc.learning.answer_files import (
    FILE_NAME,
    IN_MEMORY,
    LARGEST_FILE,
    LONGEST_LATHE,
    Go,
    as_go,
    as_list,
    as_number,
    as_page,
    from_file,
    from_page,
    nothing_yet,
    place_of,
    put_into,
    tidy,
    trouble_with,
)
from gearcalc.learning.in_browser import Storage, storage
from gearcalc.learning.live import is_served_alone

_NAME = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*", re.ASCII)
_LONGEST_NAME = 60
_IN_FILE = f"Kept for all lessons, in the file {FILE_NAME} beside them. It stays on this machine."
_IN_BROWSER = (
    "Kept for all lessons in this browser, on this device. A private window forgets it when it is closed, and so does "
    "a browser whose data are cleared: *Download my answers*, in lesson 00, saves you a copy."
)


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

    What can't be kept in the file stays here, and goes in as soon as it can be; `notice` says so. `beyond`: where a
    browser keeps it, if the file itself is only in memory.
    """

    def __init__(self, path: Path | None, why_not: str = "", beyond: Storage | None = None) -> None:
        self._path, self._why_not, self._beyond = path, why_not, beyond
        self._waiting: dict[tuple[object, ...], Callable[[dict[str, Any]], None]] = {}
        self._content: dict[str, Any] = nothing_yet()
        self._seen: object = None
        self._told: set[str] = set()
        self._followers: WeakSet[Any] = WeakSet()
        self.trouble: GearcalcError | None = None
        if beyond is not None and path is not None:
            beyond.listen(path.name, self._told_of_it)

    @property
    def keeps(self) -> bool:
        """Whether what is typed is kept in a file, if it can be."""
        return self._path is not None

    @property
    def where(self) -> str:
        """Where it is kept, in words; empty where it isn't."""
        if self._path is None or self.trouble is not None:
            return ""
        return _IN_FILE if self._beyond is None else _IN_BROWSER

    @property
    def page(self) -> bytes:
        """All that it says, as the file has it."""
        return as_page(self._read())

    @property
    def name_to_hand_in(self) -> str:
        """What a copy of the file is called, so that a folder of a whole class tells whose it is.

        >>> book = AnswerBook(None)
        >>> book.keep_class_number(7)
        >>> book.keep_name("Ada  of Nowhere")
        >>> book.name_to_hand_in
        'answers-7-Ada-of-Nowhere.json'
        """
        number = "" if self.class_number is None else str(self.class_number)
        words = re.findall(r"\w+", self.name)
        return "-".join(filter(None, ["answers", number, *words]))[:_LONGEST_NAME] + ".json"

    @property
    def name(self) -> str:
        """The learner's name; empty where none was given."""
        name = self._read().get("name")
        return tidy(name) if isinstance(name, str) else ""

    @property
    def class_number(self) -> int | None:
        """The learner's class number; None as long as there is none."""
        return as_number(self._read().get("class_number"))

    def guess(self, name: str) -> str:
        """The guess of that name, as typed; empty where none was made."""
        kept = self._read()["guesses"].get(name)
        return tidy(kept) if isinstance(kept, str) else ""

    def goes(self, exercise: str) -> tuple[Go, ...]:
        """Every go at an exercise, in the order in which they were begun."""
        return tuple(filter(None, map(as_go, as_list(self._read()["exercises"].get(exercise)))))

    def keep_name(self, name: str) -> None:
        """Keep the learner's name."""
        self._keep(("name",), lambda content: content.update(name=tidy(name)))

    def keep_class_number(self, class_number: int) -> None:
        """Keep the learner's class number. What was answered with another stays with that one."""
        self._keep(("class number",), lambda content: content.update(class_number=class_number))

    def keep_guess(self, name: str, text: str) -> None:
        """Keep a guess. Raises UnknownNameError for a name that is none."""
        check_name(name, "a guess")
        self._keep(("guess", name), lambda content: content["guesses"].update({name: tidy(text)}))

    def keep_answer(self, exercise: str, go: Go) -> None:
        """Keep a go at an exercise in the place of what stood there for the same numbers."""
        made = {"class_number": go.class_number, "go": go.go, "answer": tidy(go.answer), "tries": go.tries}
        if go.lathe:
            made["lathe"] = go.lathe[:LONGEST_LATHE]

        def put(content: dict[str, Any]) -> None:
            goes = as_list(content["exercises"].get(exercise))
            at = next((n for n, kept in enumerate(goes) if place_of(kept) == go.place), len(goes))
            content["exercises"][exercise] = [*goes[:at], made, *goes[at + 1 :]]

        self._keep(("answer", exercise, *go.place), put)

    def bring_in(self, page: bytes) -> None:
        """Put in what a file of answers says, such as a copy from another computer; nothing that is here is lost.

        An answer goes in the place of another to the same question unless that had more tries. Raises NotPossibleError
        for what is no file of answers, or another learner's: then nothing is changed.
        """
        try:
            brought = from_page(page, Path(FILE_NAME))
        except NotPossibleError as refused:
            remedy = "Choose one that *Download my answers* saved, such as answers-7-Ada.json."
            raise NotPossibleError(refused.problem, where="the file that you chose", remedy=remedy) from None
        theirs, mine = as_number(brought.get("class_number")), self.class_number
        if None not in (theirs, mine) and theirs != mine:
            raise NotPossibleError(
                f"this file is of class number {theirs}, and here it is {mine}",
                remedy=f"If it is yours, type {theirs} as your class number first.",
            )
        self._keep(("brought in",), lambda content: put_into(content, brought))

    def added(self, follower: Follower) -> None:
        """Have something on the page look again whenever something is written."""
        self._followers.add(follower)

    def notice(self) -> str:
        """What is to be known of it, the first time that it is asked for: why nothing is kept, or that a browser does.

        Empty after that, and where all is well in a file.
        """
        at_first = _IN_BROWSER if self._beyond is not None else self._why_not
        said = str(self.trouble) if self.trouble is not None else at_first
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
            if self._beyond is not None:
                self._beyond.change(self._path.name, partial(_changed, change), self._refused)
        self._have_all_follow()

    def _have_all_follow(self) -> None:
        for follower in list(self._followers):
            follower.follow()

    def _told_of_it(self) -> None:
        """Another lesson has written, or what we wrote has been kept."""
        had = self._content
        if self._read() != had:
            self._have_all_follow()

    def _refused(self, why: str) -> None:
        """The browser keeps nothing (more)."""
        self.trouble = NotPossibleError(f"this browser can't keep it ({why})", remedy=IN_MEMORY)
        self._have_all_follow()

    def _write(self, path: Path) -> None:
        try:
            with alone_with(path):
                content = from_file(path)
                self._change(content)
                page = as_page(content)
                if len(page) > LARGEST_FILE:
                    raise trouble_with(path, "the file is full", "Keep a copy elsewhere, and begin a new one.")
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
                self._content = from_file(path)
                self._change(self._content)
                self.trouble = self.trouble if self._waiting else None
            except (OSError, ValueError) as problem:
                self._remember(path, problem)
        return self._content

    def _remember(self, path: Path, problem: Exception) -> None:
        """Go on with what is known; the file stays as it is."""
        self._change(self._content)
        if not isinstance(problem, GearcalcError):
            problem = trouble_with(path, f"nothing can be kept here ({in_its_words(problem)})", way_out(problem, ""))
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
    if storage() is not None:
        return _book_of_browser()
    try:
        return _book_at(Path.cwd() / FILE_NAME)
    except OSError:  # the folder is gone
        return _nothing_kept()


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
def _book_of_browser() -> AnswerBook:
    beyond = storage()
    assert beyond is not None
    if beyond.why_not:
        return AnswerBook(None, why_not=f"This browser keeps nothing ({beyond.why_not}). {IN_MEMORY}")
    return AnswerBook(beyond.folder / FILE_NAME, beyond=beyond)


@cache
def _nothing_kept() -> AnswerBook:
    return AnswerBook(None, why_not=IN_MEMORY)


def _changed(change: Callable[[dict[str, Any]], None], page: str | None) -> str:
    """What the browser has kept by now, and this change made to it."""
    content = nothing_yet() if page is None else from_page(page.encode(), Path(FILE_NAME))
    change(content)
    return as_page(content).decode()


def _signature(path: Path) -> object:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_ino, found.st_mtime_ns, found.st_size
