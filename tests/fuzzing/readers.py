"""The doors of whatever reads a text or a file: parsers, lathe files, answers, class lists, notebooks, folders."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import gearcalc as gc
from gearcalc.basics.exact import parse_number
from gearcalc.learning.answer_book import AnswerBook
from gearcalc.learning.answer_files import Go, read_answers, read_class_number
from gearcalc.learning.guesses import guess, taken_up
from gearcalc.learning.lathe_upload import LatheUpload
from gearcalc.learning.lesson_copies import copy_lessons
from gearcalc.learning.own_lathe import my_lathe
from gearcalc.learning.progress import name_and_number, what_is_done
from gearcalc.learning.words import word_list
from gearcalc.teaching.cell_answers import CellAnswers, answers_in, answers_in_notebook
from gearcalc.teaching.class_lists import class_list
from gearcalc.teaching.handed_in import handed_in
from gearcalc.teaching.worksheets import chosen_exercises, worksheet
from gearcalc.threads.wanted import as_wanted
from tests.fuzzing.doors import Asked, Door, in_words, shown, walked
from tests.fuzzing.judging import Said, without_isolates
from tests.fuzzing.mutations import Draw, mutated_bytes, slipped
from tests.fuzzing.real_files import a_file
from tests.fuzzing.values import a_name, a_nonsense, a_number, a_place, a_text, a_thread_text, a_train, like, some

_ODD = gc.demo_lathe("odd")
PARSERS: dict[str, tuple[Callable[[Any], Any], Callable[[Draw], object]]] = {
    "Thread.parse": (gc.Thread.parse, a_thread_text),
    "Feed.parse": (gc.Feed.parse, lambda r: slipped(r, r.choice(some("feeds")))),
    "as_wanted": (as_wanted, a_thread_text),
    "Train.parse": (gc.Train.parse, a_train),
    "parse_number": (parse_number, a_number),
    "Lathe.from_toml": (gc.Lathe.from_toml, lambda r: a_file(r, "lathe").decode("utf-8", "replace")),
    "lever": (_ODD.lever, lambda r: slipped(r, "range fast, cone A")),
    "demo_lathe": (gc.demo_lathe, lambda r: slipped(r, "inch")),
    "class numbers": (read_class_number, lambda r: slipped(r, "12")),
    "a class in words": (class_list, lambda r: slipped(r, "1-8, 12, 15")),
    "exercises in words": (lambda text: chosen_exercises([text]), lambda r: slipped(r, r.choice(("01", "1-3",
    "lead-of-a-leadscrew")))),
    "answers in cells": (lambda text: answers_in([text], CellAnswers()), lambda r: slipped(r,
    'exercise("lead-of-a-leadscrew", 7).check(Fraction(127, 40) + 2**3)')),
}  # fmt: skip
_TEXT_ALONE = {
    "parse_number",
    "as_wanted",
    "class numbers",
    "a class in words",
    "exercises in words",
    "answers in cells",
}
"""Not public: they are told text, whatever it says."""


def parsers() -> Iterator[Door]:
    for name, (parse, right) in PARSERS.items():
        yield Door(f"parser {name}", _parses(name, parse, right), share=2)


def _parses(
    name: str, parse: Callable[[Any], Any], right: Callable[[Draw], object]
) -> Callable[[Draw, int, Path], Asked]:
    def draw(r: Draw, number: int, folder: Path) -> Asked:
        kind = r.choice((right, a_text, a_nonsense)) if r.goes_wrong else right
        given = kind(r)
        if name in _TEXT_ALONE and type(given) is not str:
            given = a_text(r)

        def ask() -> Iterator[Said]:
            answer = parse(given)
            yield from shown(answer)
            yield from walked(r, answer, folder)

        return Asked(f"{name}({in_words(given)})", ask)

    return draw


def files() -> Iterator[Door]:
    yield Door("file lathe", _lathe_file)
    yield Door("file class list", _class_file)
    yield Door("file answers", _answers_file)
    yield Door("file answers, as a book", _book)
    yield Door("file notebook", _notebook)
    yield Door("folder handed in", _handed_in)
    yield Door("folder of lessons", _lessons_folder, share=0.1)
    yield Door("page my lathe", _my_lathe)
    yield Door("page lathe chosen", _upload, share=0.5)
    yield Door("page progress", _progress, share=0.3)
    yield Door("page guesses", _guesses, share=0.5)
    yield Door("page word list", lambda r, n, f: _one_call("word_list", word_list, like(r, 3)), share=0.2)
    yield Door("worksheet", _worksheet, share=0.3)


def _one_call(name: str, call: Callable[[Any], Any], given: object) -> Asked:
    return Asked(f"{name}({in_words(given)})", lambda: shown(call(given)))


def _written(r: Draw, folder: Path, kind: str, name: str) -> tuple[Any, bytes]:
    """A file of that kind with slips, or another place altogether."""
    content = a_file(r, kind)
    if r.goes_wrong and r.random() < 0.2:
        return a_place(r, folder, Path(name).suffix), b""
    (folder / name).write_bytes(content)
    return folder / name, content


def _lathe_file(r: Draw, number: int, folder: Path) -> Asked:
    place, content = _written(r, folder, "lathe", "lathe.toml")

    def ask() -> Iterator[Said]:
        lathe = gc.Lathe.load(place)
        yield from shown(lathe)
        yield from walked(r, lathe, folder)
        yield from shown(gc.find_setups(lathe, "1.5 mm", meshes=(1, 2), count=3))

    return Asked(f"Lathe.load of {in_words(content or place)}", ask)


def _class_file(r: Draw, number: int, folder: Path) -> Asked:
    place, content = _written(r, folder, "class", "list.csv")
    given = str(place) if isinstance(place, Path) else place if isinstance(place, str) else "none.csv"
    return Asked(f"class_list of {in_words(content or given)}", lambda: _each(class_list(given)))


def _each(learners: Any) -> Iterator[Said]:
    for learner in learners[:20]:
        yield Said("text", without_isolates(str(learner)))


def _answers_file(r: Draw, number: int, folder: Path) -> Asked:
    (folder / "answers.json").write_bytes(a_file(r, "answers"))

    def ask() -> Iterator[Said]:
        read = read_answers(folder / "answers.json")
        yield from shown(read)
        for said in read.left_out:
            yield Said("text", said)
        for name, goes in read.goes.items():
            for go in goes:
                yield Said("text", go.answer)
                if name in gc.exercise_names():
                    yield from shown(gc.exercise(name, go.class_number).check(go.answer))

    return Asked("read_answers", ask)


def _book(r: Draw, number: int, folder: Path) -> Asked:
    path, other = folder / "answers.json", a_file(r, "answers")
    if r.random() < 0.8:
        path.write_bytes(a_file(r, "answers"))
    name, text = a_name(r), a_text(r)[:2000]

    def ask() -> Iterator[Said]:
        before = path.read_bytes() if path.exists() else b""
        book = AnswerBook(path)
        yield from (
            Said("text", said) for said in (book.where, str(book.class_number), book.notice(), book.name_to_hand_in)
        )
        book.keep_name(name)
        book.keep_answer("lead-of-a-leadscrew", Go(7, answer=text, tries=1))
        yield Said("json", book.page.decode())
        if book.trouble is not None:
            assert (path.read_bytes() if path.exists() else b"") == before, "what could not be read was written over"
        else:
            yield Said("json", path.read_text(encoding="utf-8"))
        book.bring_in(other)

    return Asked(f"AnswerBook, {in_words(name)}, {in_words(text)}", ask)


def _notebook(r: Draw, number: int, folder: Path) -> Asked:
    (folder / "own.ipynb").write_bytes(a_file(r, "notebook"))

    def ask() -> Iterator[Said]:
        found = CellAnswers()
        answers_in_notebook(folder / "own.ipynb", found)
        yield from (Said("text", each) for each in found.unread)

    return Asked("answers_in_notebook", ask)


def a_class_folder(r: Draw, folder: Path) -> Path:
    """What a class handed in, under names as learners have them, and as nobody should."""
    root = folder / "handed_in"
    root.mkdir(exist_ok=True)
    for _ in range(r.randint(0, 4)):
        where = root / r.choice(("2026-11-23", "2026-99-99", ".", "7 Ada", "x")) / _file_name(r)
        try:
            where.mkdir(parents=True, exist_ok=True)
            if r.random() < 0.7:
                (where / r.choice(("answers.json", "answers-ada.json", "Answers (1).JSON"))).write_bytes(
                    a_file(r, "answers")
                )
            else:
                (where / "05_lesson.ipynb").write_bytes(a_file(r, "notebook"))
        except (OSError, ValueError):  # what can't be a name here
            continue
    for name, target in (("answers-link.json", Path("/etc/passwd")), ("round", root)):
        if r.random() < 0.1 and not (root / name).is_symlink():  # a command may be told of this folder twice
            (root / name).symlink_to(target)
    return root


def _file_name(r: Draw) -> str:
    return a_name(r).replace("/", "_")[:80].encode("utf-8", "replace").decode() or "_"


def _handed_in(r: Draw, number: int, folder: Path) -> Asked:
    root = a_class_folder(r, folder)
    learners = class_list("1-8") if r.random() < 0.5 else ()

    def ask() -> Iterator[Said]:
        taken, refused = handed_in(root, learners)
        yield from (Said("text", f"{each.name} {each.week}") for each in taken)
        yield from (Said("text", each.why) for each in refused)

    return Asked(f"handed_in of {sorted(str(path)[-60:] for path in root.rglob('*'))[:6]}", ask)


def _lessons_folder(r: Draw, number: int, folder: Path) -> Asked:
    target = folder / "lessons"
    target.mkdir()
    if r.random() < 0.7:
        copy_lessons(target)
        for path in r.sample(sorted(target.iterdir()), 3):
            if path.is_file():
                path.write_bytes(a_file(r, "notebook") if path.suffix == ".ipynb" else a_file(r, "answers"))
        remembered = target / ".gearcalc-shipped.json"
        if remembered.exists() and r.random() < 0.5:
            remembered.write_bytes(mutated_bytes(r, remembered.read_bytes()))
    if r.random() < 0.3:
        (target / "answers.json").write_bytes(a_file(r, "answers"))

    return Asked(
        "copy_lessons into a folder that was tampered with",
        lambda: (Said("text", str(each)) for each in copy_lessons(target)),
    )


def _my_lathe(r: Draw, number: int, folder: Path) -> Asked:
    (folder / "my_lathe.toml").write_bytes(a_file(r, "lathe"))

    def ask() -> Iterator[Said]:
        lathe, said = my_lathe()
        yield Said("text", said)
        yield from shown(lathe)

    return Asked("my_lathe", ask)


def _upload(r: Draw, number: int, folder: Path) -> Asked:
    name, content = a_name(r), a_file(r, "lathe")
    if r.random() < 0.4:
        (folder / "my_lathe.toml").write_bytes(a_file(r, "lathe"))

    def ask() -> Iterator[Said]:
        chosen = LatheUpload()
        chosen.take(name, content)
        yield Said("html", chosen.said.value)
        chosen.press_replace()
        yield Said("html", chosen.said.value)

    return Asked(f"LatheUpload.take({in_words(name)}, {in_words(content)})", ask)


def _progress(r: Draw, number: int, folder: Path) -> Asked:
    (folder / "answers.json").write_bytes(a_file(r, "answers"))
    name, text = a_name(r), a_text(r)[:600]

    def ask() -> Iterator[Said]:
        yield from shown(what_is_done())
        asking = name_and_number()
        for field in ("name", "class_number"):
            asking.type(field, r.choice((name, text)))
        asking.bring(a_file(r, "answers").decode("utf-8", "replace"))

    return Asked(f"what_is_done, name_and_number, {in_words(name)}, {in_words(text)}", ask)


def _guesses(r: Draw, number: int, folder: Path) -> Asked:
    (folder / "answers.json").write_bytes(a_file(r, "answers"))
    name = r.choice(("carriage-in-one-turn", "carriage-in-one-turn", a_name(r)))
    question, why, text = a_text(r), a_text(r), a_text(r)

    def ask() -> Iterator[Said]:
        asked = guess(name, question, r.choice(((), ("coarser", "finer"), (a_name(r), a_name(r)))))
        asked.type("guess", text)
        told = taken_up(name, r.choice(("3.175 mm", text)), why)
        for one in (asked, told):
            one.press("guess")
            yield from (Said("text", str(one.comm is None)),)

    return Asked(f"guess({in_words(name)}, {in_words(question)}), {in_words(text)}", ask)


def _worksheet(r: Draw, number: int, folder: Path) -> Asked:
    given = {
        "count": like(r, 2), "title": a_name(r), "points": [like(r, "2") for _ in range(r.randint(0, 2))],
        "test": a_name(r) if r.random() < 0.5 else None,
    }  # fmt: skip
    names = [r.choice((gc.exercise_names(r.randint(1, 12))[0], "01", a_name(r)))]

    def ask() -> Iterator[Said]:
        sheet = worksheet(names, class_list("1-2"), **given)  # type: ignore[arg-type]
        yield from shown(sheet)
        yield from (Said("text", problem.key) for mine in sheet.sets for problem in mine.problems)

    return Asked(f"worksheet({names}, {in_words(given)})", ask)
