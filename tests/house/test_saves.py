"""Every kind of save, killed at each step, on a full disk, where nothing may be written, and two at once.

Whatever happens, what stands there afterwards is the old file, whole, or the new one. The table of kinds is held
complete: every place in the package that writes is named here, with the kind that goes through it.
"""

from __future__ import annotations

import ast
import io
import json
import os
import random
import re
import signal
import stat
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.files import save_whole
from gearcalc.commands import main
from gearcalc.learning import lesson_copies
from gearcalc.learning.answer_book import AnswerBook
from gearcalc.learning.answer_files import Go, read_answers
from gearcalc.papers import paper
from gearcalc.papers.csv_files import save_csv
from gearcalc.pictures.picture import Picture
from gearcalc.teaching.handouts import Handout
from gearcalc.teaching.marks import ClassMarks, class_marks
from gearcalc.teaching.marks_page import save_marks
from gearcalc.teaching.page_printer import print_page
from tests.house.test_house import PACKAGE, files, parsed

pytestmark = [
    pytest.mark.skipif(not hasattr(os, "fork"), reason="each save is killed in a process of its own, made by a fork"),
    pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning"),
]

LATHE = gc.demo_lathe("inch")
ASKED = ("lead-of-a-leadscrew",)
ANSWERS, LESSON = "answers.json", "01_one.ipynb"


def in_the_shell(*words: object) -> None:
    """A command, with nothing said; what it complains of is raised."""
    said = io.StringIO()
    with redirect_stdout(said), redirect_stderr(said):
        code = main([str(word) for word in words])
    if code:
        raise GearcalcError(said.getvalue())


def save_answers(place: Path) -> None:
    book = AnswerBook(place)
    book.keep_answer("two-pairs", Go(7, answer="40/80", tries=1))
    if book.trouble is not None:
        raise book.trouble


def bring_lessons(place: Path) -> None:
    """An edition of one lesson, whose first word is new with each process."""
    ours = place.parent.with_name("shipped")
    there = lesson_copies.notebooks_folder
    lesson_copies.notebooks_folder = lambda: ours
    try:
        left = [one for one in lesson_copies.copy_lessons(place.parent) if one.failed]
    finally:
        lesson_copies.notebooks_folder = there
    if left:
        raise GearcalcError(str(left[0]), where=str(place))  # as the command says it


def print_a_page(place: Path) -> None:
    print_page("<title>A page</title>", place, str(place.parent.with_name("printer")))


PRINTER = """#!/bin/sh
for word; do
    case $word in --print-to-pdf=*) printf '%%PDF-1.4 a page' >"${word#*=}" ;; esac
done
"""
"""A program that prints as a browser would, and takes no time."""


@cache
def marks() -> ClassMarks:
    """Of a class of one, marked once: that takes longest, and is done before anything is saved."""
    with tempfile.TemporaryDirectory() as class_folder:
        AnswerBook(Path(class_folder) / "answers-1.json").keep_class_number(1)
        return class_marks(class_folder)


@pytest.fixture(scope="module", autouse=True)
def each_pdf_made_once() -> Iterator[None]:
    """Letters put into a PDF take longest of a worksheet, and are there before anything is saved."""
    made: dict[str, bytes] = {}
    make = paper.pages_pdf

    def kept(*what: Any) -> bytes:
        said = repr(what)
        if said not in made:
            made[said] = make(*what)
        return made[said]

    with pytest.MonkeyPatch.context() as here:
        here.setattr(paper, "pages_pdf", kept)
        yield


Save = Callable[[Path], Any]
KINDS: dict[str, tuple[str, Save]] = {
    "lathe": ("mine.toml", LATHE.save),
    "new lathe": ("new.toml", lambda place: in_the_shell("lathe", "new", place, "--name", "Mine")),
    "answers": (ANSWERS, save_answers),
    "lessons": (LESSON, bring_lessons),
    "picture": ("gear.svg", Picture("<svg/>", "A gear.", [{"teeth": 40}], "Gear").save),
    "table": ("list.csv", lambda place: save_csv(TABLE, place)),
    "card": ("card.txt", lambda place: CARD.save(place)),
    "plate": ("plate.svg", gc.wall_plate(LATHE, ["8 tpi"]).save),
    "worksheet": ("sets.pdf", lambda place: in_the_shell("worksheet", "--class", "1-2", *ASKED, "--save", place)),
    "key": ("key.pdf", lambda place: in_the_shell("worksheet", "--class", "1-2", *ASKED, "--key", place)),
    "handout": ("01.html", Handout("01", "One turn", "<title>One turn</title>").save),
    "printed handout": ("01.pdf", print_a_page),
    "marks": ("marks.csv", lambda place: save_marks(marks(), place)),
    "marks as a page": ("marks.html", lambda place: save_marks(marks(), place)),
}
NEVER_OVER = {"new lathe"}
TABLE = gc.chart(LATHE, ["8 tpi"])
CARD = gc.change_card(LATHE, gc.setup(LATHE, 40, 80, "low", 25))

WRITERS = {
    "__main__.py": "to nobody",
    "basics/files.py": "put_in_place, by which all of these are written",
    "commands/class_commands.py": "worksheet, key",
    "commands/lathe_commands.py": "new lathe",
    "lathes/files.py": "lathe",
    "learning/answer_book.py": "answers",
    "learning/lathe_upload.py": "by save_whole, as a lathe that is new",
    "learning/lesson_copies.py": "lessons",
    "learning/shipped.py": "lessons",
    "papers/csv_files.py": "table",
    "papers/marks.py": "into memory",
    "papers/paper.py": "plate",
    "papers/sheets.py": "card",
    "pictures/picture.py": "picture",
    "teaching/handouts.py": "handout",
    "teaching/lesson_runs.py": "in a folder for what is temporary",
    "teaching/marks_page.py": "marks, marks as a page",
    "teaching/marking.py": "to nobody",
    "teaching/page_printer.py": "printed handout",
    "serving/hub_words.py": "the log of a hub, which grows",
    "serving/hubs.py": "folders of a hub, and a pipe",
    "serving/learner_accounts.py": "by save_whole, and the home of a learner",
    "serving/lite.py": "a site, in a folder for what is temporary",
    "serving/pages.py": "a site, in a folder for what is temporary",
    "serving/parts.py": "the cache of parts: each beside its place, then put there",
    "serving/pythons.py": "a site, in a folder for what is temporary",
    "serving/sites.py": "a site, put in its place as a whole",
    "serving/wheels.py": "the cache of parts",
    "commands/console.py": "to nobody",
}
WRITE = {
    *("write_text", "write_bytes", "mkstemp", "savefig", "copytree", "copyfile", "copy2", "extractall", "PdfPages"),
    *("symlink", "symlink_to", "hardlink_to", "touch", "save_whole", "save_new", "put_in_place", "print_page"),
    *("to_csv", "dump"),
}


class TestTheTable:
    def test_every_place_that_writes_is_in_it(self):
        found = {
            path.relative_to(PACKAGE).as_posix()
            for path in files()
            if any(writes(node) for node in ast.walk(parsed(path)))
        }
        assert found == WRITERS.keys()

    def test_every_kind_that_it_names_is_tried(self):
        named = {kind for said in WRITERS.values() for kind in said.split(", ")} & KINDS.keys()
        assert named == KINDS.keys()


def writes(node: ast.AST) -> bool:
    """Whether this calls, or hands on, something that makes a file or changes one."""
    if not isinstance(node, ast.Call):
        return False
    name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
    if name in WRITE:
        return True
    if name not in ("open", "replace", "rename", "link", "write", "copy", "move"):
        return False
    said = ast.unparse(node)
    if name == "open":
        return bool(re.search(r"""['"](w|a|x|r\+)b?['"]|O_CREAT|O_WRONLY|O_RDWR""", said))
    return said.startswith(("os.replace", "os.rename", "os.link", "os.write", "shutil."))


@contextmanager
def watched(folder: Path, tell: Callable[[str, str], None]) -> Iterator[None]:
    """Tell of each step by which the system changes something in a folder, before it is done."""
    WATCHED[:] = [os.path.realpath(folder), tell]
    if not HOOKED:
        HOOKED.append(sys.addaudithook(on_audit))
    try:
        yield
    finally:
        WATCHED.clear()


WATCHED: list[Any] = []
HOOKED: list[None] = []
TO_WRITE = os.O_WRONLY | os.O_RDWR | os.O_CREAT
STEPS = {"open", "os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.chmod", "os.link", "os.symlink", "os.truncate"}


def on_audit(event: str, arguments: tuple[Any, ...]) -> None:
    if not WATCHED or event not in STEPS:
        return
    those = arguments[: 1 if event == "open" else 2]
    places = [os.fspath(each) for each in those if isinstance(each, str | os.PathLike)]
    folder, tell = WATCHED
    if event == "open" and (str(arguments[1]).startswith("r") or not (arguments[2] or 0) & TO_WRITE):
        return  # r+: only whether it may be written
    if any(os.path.realpath(place).startswith(folder) for place in places):
        tell(event, places[-1])


@pytest.fixture
def folder(tmp_path):
    """An empty folder of a learner, with an edition of the lessons and a printer beside."""
    ship(tmp_path, "the old edition")
    (tmp_path / "mine").mkdir()
    return tmp_path / "mine"


def ship(beside: Path, words: str) -> None:
    (beside / "shipped").mkdir(exist_ok=True)
    cells = [{"cell_type": "markdown", "source": [words]}]
    (beside / "shipped" / LESSON).write_text(json.dumps({"cells": cells}))
    (beside / "printer").write_text(PRINTER)
    (beside / "printer").chmod(0o755)


def before(folder: Path, kind: str) -> bytes | None:
    """Something older that stands there, unless the kind is to be new; what it says."""
    name, save = KINDS[kind]
    place = folder / name
    if kind == "answers":
        AnswerBook(place).keep_name("Ada of Nowhere")
    elif kind == "lessons":
        save(place)
        ship(folder.parent, "the new edition")
    elif kind not in NEVER_OVER:
        place.write_bytes(b"as it was")
    return content(place)


def content(place: Path) -> bytes | None:
    return place.read_bytes() if place.exists() else None


def is_hidden(name: str) -> bool:
    return name.startswith(".") and name.endswith((".gearcalc-unfinished", ".lock"))


every_kind = pytest.mark.parametrize("kind", KINDS)
where_nothing = [
    (kind, which) for kind in KINDS for which in ("folder", "file") if which == "folder" or kind not in NEVER_OVER
]


class TestEachIsWrittenBesideItsPlace:
    @every_kind
    def test_nothing_is_opened_under_the_name_that_it_gets(self, folder, kind):
        name, save = KINDS[kind]
        steps: list[tuple[str, str]] = []
        with watched(folder, lambda event, place: steps.append((event, os.path.relpath(place, folder)))):
            save(folder / name)
        assert {("os.rename", name), ("os.link", name)} & set(steps), steps
        opened = {place for event, place in steps if event == "open"}
        for place in opened:
            assert is_hidden(place) or place.startswith("gearcalc-print-"), steps
        assert [it for it in os.listdir(folder) if is_hidden(it)] == [], "left over"


class TestKilled:
    @every_kind
    def test_at_every_step_the_old_file_stands_or_the_new_one(self, folder, kind):
        name, save = KINDS[kind]
        old, new, steps = before(folder, kind), self.made_in_full(folder, kind), 0
        while self.killed_at(steps, folder, save, folder / name):
            assert content(folder / name) in (old, new), steps
            for lock in folder.glob(".*.lock"):  # it would be taken from the dead after seconds
                lock.unlink()
            steps += 1
        assert steps >= 4, "opened, synced, its mode set, put in place"
        assert (folder / name).read_bytes() == new
        for left in filter(is_hidden, os.listdir(folder)):
            os.utime(folder / left, (0, 0))  # long ago
        save_whole(folder / "any.csv", "of any kind", "the list")
        assert [it for it in os.listdir(folder) if it.endswith("-unfinished")] == []

    def made_in_full(self, folder, kind):
        """What the save would leave, made in a copy of the folder."""
        copy = folder.with_name("copy")
        copy.mkdir()
        for path in folder.iterdir():
            (copy / path.name).write_bytes(path.read_bytes())
        name, save = KINDS[kind]
        save(copy / name)
        return (copy / name).read_bytes()

    def killed_at(self, step, folder, save, place):
        """Whether it was killed before the step of that number, in a process of its own."""

        def killed() -> None:
            done = iter(range(10_000))

            def perhaps(*_):
                if next(done) == step:
                    os.kill(os.getpid(), signal.SIGKILL)

            synced = os.fsync
            os.fsync = lambda handle: (perhaps(), synced(handle), perhaps())  # type: ignore[assignment, return-value]
            with watched(folder, perhaps):
                save(place)

        return os.WIFSIGNALED(in_another_process(killed)[0])

    def test_at_any_moment_too(self, tmp_path):
        place, draw = tmp_path / "list.csv", random.Random(4)
        both = [letter * 300_000 for letter in "ab"]
        save_whole(place, both[0], "the list")

        def again_and_again() -> None:
            while True:
                for text in both:
                    save_whole(place, text, "the list")

        for _ in range(12):
            child = started(again_and_again)
            time.sleep(draw.uniform(0, 0.04))
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            assert place.read_text() in both


class TestFullDisk:
    @every_kind
    def test_the_old_file_stands_and_it_is_said_what_to_do(self, folder, kind):
        """A disk that is full, as far as a process can see: no file may grow beyond a few bytes."""
        name, save = KINDS[kind]
        old = before(folder, kind)

        def full() -> None:
            import resource

            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (3, 3))
            save(folder / name)

        _, said = in_another_process(full)
        assert said.startswith("GearcalcError"), said
        assert str(folder) in said
        assert "room" in said, said
        assert content(folder / name) == old
        assert [it for it in os.listdir(folder) if is_hidden(it)] == [], "left over"


@pytest.mark.skipif(getattr(os, "geteuid", lambda: 1)() != 0, reason="only root may be another")
class TestWhereNothingMayBeWritten:
    @pytest.mark.parametrize(("kind", "which"), where_nothing)
    def test_the_old_file_stands_and_it_is_said_what_to_do(self, kind, which):
        name, save = KINDS[kind]
        with tempfile.TemporaryDirectory() as scratch:  # pytest's own folders are for nobody else
            Path(scratch).chmod(0o755)
            folder = Path(scratch) / "mine"
            folder.mkdir()
            ship(folder.parent, "the old edition")
            old = before(folder, kind)
            folder.chmod(0o755 if which == "folder" else 0o777)
            for path in folder.iterdir():
                path.chmod(0o444 if which == "file" and path.name == name else 0o644)
                os.chown(path, 65534, 65534)

            def as_another() -> None:
                os.setgroups([])
                os.setgid(65534)
                os.setuid(65534)
                save(folder / name)

            _, said = in_another_process(as_another)
            assert said.startswith("GearcalcError"), said
            assert str(folder) in said or name in said
            assert content(folder / name) == old
            assert [it for it in os.listdir(folder) if it.endswith("-unfinished")] == [], "left over"


class TestTwoAtOnce:
    def test_who_reads_meanwhile_reads_the_one_or_the_other(self, tmp_path):
        place = tmp_path / "list.csv"
        both = [letter * 200_000 for letter in "ab"]
        save_whole(place, both[0], "the list")
        children = [
            started(lambda text=text: [save_whole(place, text, "the list") for _ in range(40)]) for text in both
        ]
        torn = [text[:1] for text in (place.read_text() for _ in range(200)) if text not in both]
        assert [os.waitpid(child, 0)[1] for child in children] == [0, 0]
        assert torn == []
        assert os.listdir(tmp_path) == [place.name]

    def test_of_several_new_lathes_of_one_name_one_is_written(self, tmp_path):
        def begins(name: str) -> int:
            return started(lambda: in_the_shell("lathe", "new", tmp_path / "new.toml", "--name", name))

        in_the_shell("lathe", "new", tmp_path / "another.toml")  # all is imported
        children = {begins(name): name for name in ("Ada's", "Ben's", "Cleo's", "Dan's")}
        wrote = [name for child, name in children.items() if os.waitpid(child, 0)[1] == 0]
        assert wrote == [gc.Lathe.load(tmp_path / "new.toml").name]
        assert sorted(os.listdir(tmp_path)) == ["another.toml", "new.toml"]

    def test_of_two_lessons_that_answer_at_once_every_answer_is_kept(self, tmp_path):
        def answers(exercise: str) -> None:
            book = AnswerBook(tmp_path / ANSWERS)
            for number in range(15):
                book.keep_answer(f"{exercise}-{number}", Go(7, answer=str(number), tries=1))

        children = [started(lambda name=name: answers(name)) for name in ("one", "other")]
        assert [os.waitpid(child, 0)[1] for child in children] == [0, 0]
        kept = read_answers(tmp_path / ANSWERS).goes
        assert {name: goes[0].answer for name, goes in kept.items()} == {
            f"{name}-{number}": str(number) for name in ("one", "other") for number in range(15)
        }


def started(does: Callable[[], object]) -> int:
    child = os.fork()
    if child:
        return child
    try:
        does()
    except BaseException:
        os._exit(1)
    os._exit(0)


def in_another_process(does: Callable[[], object]) -> tuple[int, str]:
    """How it ended, and the error that it ended with, in words; empty where it ended well."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        try:
            does()
        except BaseException as problem:
            kind = "GearcalcError" if isinstance(problem, GearcalcError) else type(problem).__name__
            os.write(write, f"{kind}: {problem}".encode())
        os._exit(0)
    os.close(write)
    with os.fdopen(read, "rb") as said:
        words = said.read().decode()
    return os.waitpid(child, 0)[1], words


def test_a_mode_is_kept(tmp_path):
    """A file that only its owner may read stays so, whatever is saved there."""
    for kind in KINDS.keys() - NEVER_OVER:
        name, save = KINDS[kind]
        folder = tmp_path / kind / "mine"
        folder.mkdir(parents=True)
        ship(folder.parent, "the old edition")
        before(folder, kind)
        (folder / name).chmod(0o600)
        save(folder / name)
        assert stat.S_IMODE((folder / name).stat().st_mode) == 0o600, kind
