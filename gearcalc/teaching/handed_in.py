"""What a class handed in: files of answers, or notebooks with answers in their cells, found in a folder and read.

A file of answers is one whose name begins with 'answers' and ends in .json. A folder that has none, but notebooks, is
one learner's. A folder named by a date, 2026-11-23, holds what was handed in by then. Nothing found there is trusted.
"""

from __future__ import annotations

import os
import re
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from attrs import evolve, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.errors import GearcalcError, NotPossibleError, quoted, without_controls
from gearcalc.basics.files import in_its_words
from gearcalc.learning.answer_files import AnswersRead, read_answers
from gearcalc.learning.exercises import exercise_names
from gearcalc.teaching.cell_answers import CellAnswers, answers_in_notebook, each_unread
from gearcalc.teaching.class_lists import Learner, without_number
from gearcalc.teaching.names import ALIKE, how_alike, words_of

MOST_FILES = 20_000
_MOST_LOOKED_AT, _DEEPEST, _MOST_ANSWERS = 200_000, 12, 1500
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_ANSWERS = re.compile(r"answers.*\.json", re.IGNORECASE)
_NO_DAY = "there is no such day, so what lies in it is of no week"
_UNKNOWN, _BY = "no such exercise", "--with our_exercises.py"
_LEADING_NUMBER = re.compile(r"(\d{1,7})(?:[ _.-].*)?", re.ASCII)


@frozen
class Answered:
    """One answer: to which exercise and go of it, as typed or as a cell has it, the tries, the lathe file if any."""

    exercise: str
    go: int
    answer: Any
    tries: int = 1
    lathe: str = ""


@frozen
class HandedIn:
    """What one file, or one folder of notebooks, says that one learner answered; `where` inside the folder."""

    where: str
    week: str
    name: str
    class_number: int
    answers: tuple[Answered, ...]

    @property
    def whose(self) -> str:
        """By what two of them are told to be one learner's: the name, else the place."""
        name = " ".join(sorted(words_of(self.name))) or self.name.casefold()
        return f"name {name}" if name else f"place {self.place}"

    @property
    def place(self) -> str:
        """Where it lies, whichever week it is of."""
        return _place(self.where)


@frozen
class NotTaken:
    """Something that was handed in and doesn't count, or not all of it: where, and why.

    `is_all`: all of it; `class_number`: most likely whose it is, where that can be told; `is_empty`: only begun, with
    no answer in it that could count.
    """

    where: str
    why: str
    is_all: bool = True
    class_number: int | None = None
    is_empty: bool = False

    @property
    def how(self) -> str:
        """What is said before it."""
        otherwise = "Not taken" if self.is_all else "Taken, but look at this"
        return "Nothing handed in yet" if self.is_empty else otherwise

    def __str__(self) -> str:
        return markup.ended(f"{self.where}: {self.why}")


def handed_in(
    folder: str | os.PathLike[str], learners: Sequence[Learner] = ()
) -> tuple[tuple[HandedIn, ...], tuple[NotTaken, ...]]:
    """Read what a class handed in, week by week, and say what was not taken.

    `folder`: of the files, or of folders with them; `learners`: the class, where there is a list: then nobody else is
    taken, and nothing under a number whose name, or what it lies in, is another one's of the list. Raises
    NotPossibleError for no folder.
    """
    root = Path(folder)
    if not os.path.isdir(root):
        raise NotPossibleError(
            "this is no folder", where=str(folder), remedy="Name the folder that holds what the class handed in."
        )
    refused: list[NotTaken] = []
    found = [one for each in _places(root, refused) if (one := _read(root, each, learners, refused)) is not None]
    listed = _listed_only(_named_by_place(found), learners, refused)
    taken = tuple(_one_each(_at_its_place(listed, learners, refused), learners, refused))
    return taken, tuple(_unknown_once(_with_whose(refused, found, learners)))


def _with_whose(
    refused: Sequence[NotTaken], found: Iterable[HandedIn], learners: Sequence[Learner]
) -> Iterator[NotTaken]:
    """Each with whose it is, as another week's from the same place or its own name tells; none both whole and part."""
    numbers = {one.place: one.class_number for one in found}
    whole = {one.where for one in refused if one.is_all}
    for one in refused:
        number = one.class_number
        if number is None and (one.is_empty or one.where in whole):
            place = _place(one.where)
            number = numbers.get(place, numbers.get(place.rpartition("/")[0]))
            number = _by_place(_called(place), learners)[1] if number is None else number
        yield evolve(one, is_all=one.where in whole, class_number=number)


def _place(where: str) -> str:
    return "/".join(part for part in where.split("/") if not _DATE.fullmatch(part))


def _called(place: str) -> str:
    """What names a learner in a place: the folder, or what follows on 'answers' in the name of a file."""
    folders, own = _parts(place)
    return own or (folders[-1] if folders else "")


def _parts(place: str) -> tuple[list[str], str]:
    """The folders of a place, and what follows on 'answers' in the name of the file, if it is one."""
    *folders, name = place.split("/")
    if not _ANSWERS.fullmatch(name):
        return [*folders, name], ""
    return folders, name.rpartition(".")[0][len("answers") :].strip(" -_.")


def _unknown_once(refused: Iterable[NotTaken]) -> Iterator[NotTaken]:
    """Answers to exercises that nobody knows here, told once for the whole class: most likely they are the school's."""
    unknown: dict[str, list[NotTaken]] = defaultdict(list)
    for one in refused:
        if one.why.startswith(_UNKNOWN) and not one.is_all:
            unknown[one.why].append(one)
        else:
            yield one
    for why, several in unknown.items():
        more = f" and {len(several) - 1} more" if len(several) > 1 else ""
        yield NotTaken(f"{several[0].where}{more}", f"{why}. If they are of your own, name their file: {_BY}", False)


def _places(root: Path, refused: list[NotTaken]) -> Iterator[tuple[Path, ...]]:
    """Each file of answers, alone, or else the notebooks of a folder; nothing that a link leads to outside."""
    looked_at = files = 0
    no_days: set[str] = set()
    for here, folders, names in os.walk(root, onerror=lambda problem: refused.append(_unseen(root, problem))):
        at = Path(here)
        looked_at += len(folders) + len(names)
        if looked_at > _MOST_LOOKED_AT or files > MOST_FILES:
            refused.append(NotTaken(_where(root, at), "too many files: nothing from here on was looked at"))
            return
        for link in [name for name in folders if (at / name).is_symlink()]:
            refused.append(NotTaken(_where(root, at / link), "a link to a folder: it was not followed"))
        deeper = len(at.relative_to(root).parts) < _DEEPEST
        if folders and not deeper:
            refused.append(NotTaken(_where(root, at), "folders too deep in one another: no deeper one was looked at"))
        for day in sorted(name for name in {*folders} - no_days if _DATE.fullmatch(name) and not _is_date(name)):
            refused.append(NotTaken(_where(root, at / day), _NO_DAY, is_all=False))
            no_days.add(day)
        folders[:] = sorted(n for n in folders if deeper and not n.startswith(".") and not (at / n).is_symlink())
        inside = [at / name for name in sorted(names) if _is_inside(root, at / name, refused)]
        answers: list[tuple[Path, ...]] = [(path,) for path in inside if _ANSWERS.fullmatch(path.name)]
        notebooks = tuple(path for path in inside if path.suffix == ".ipynb")
        several = answers or ([notebooks] if notebooks else [])
        files += len(several)
        yield from several


def _unseen(root: Path, problem: OSError) -> NotTaken:
    return NotTaken(_where(root, Path(problem.filename or root)), f"the folder can't be read ({in_its_words(problem)})")


def _why(problem: GearcalcError | OSError) -> str:
    return problem.problem if isinstance(problem, GearcalcError) else in_its_words(problem)


def _is_inside(root: Path, path: Path, refused: list[NotTaken]) -> bool:
    """Whether a file that counts lies in the folder itself."""
    if not (_ANSWERS.fullmatch(path.name) or path.suffix == ".ipynb") or path.name.startswith("."):
        return False
    if path.is_symlink():
        refused.append(NotTaken(_where(root, path), "a link: only files that lie in the folder themselves are read"))
        return False
    return True


def _where(root: Path, path: Path) -> str:
    inside = path.relative_to(root).as_posix() if path.is_relative_to(root) else path.name
    return without_controls(inside.encode("utf-8", "replace").decode())[:200].replace("\n", " ")


def _is_date(name: str) -> bool:
    """Whether it is a day of the calendar, and not only written like one."""
    try:
        return bool(_DATE.fullmatch(name) and date.fromisoformat(name))
    except ValueError:
        return False


def _read(root: Path, paths: tuple[Path, ...], learners: Sequence[Learner], refused: list[NotTaken]) -> HandedIn | None:
    is_file_of_answers = paths[0].suffix != ".ipynb"
    place = paths[0] if is_file_of_answers else paths[0].parent
    where = _where(root, place) if place != root else "."
    week = next((part for part in reversed(place.relative_to(root).parts) if _is_date(part)), "")
    try:
        if not is_file_of_answers:
            return _from_cells(where, week, paths, learners, refused)
        read = read_answers(paths[0])
    except (GearcalcError, OSError) as problem:
        refused.append(NotTaken(where, _why(problem)))
        return None
    refused += [NotTaken(where, why, is_all=False) for why in read.left_out]
    if read.class_number is None and not (read.goes or read.left_out):
        refused.append(NotTaken(where, "no class number is in it yet, and no answer", is_all=False, is_empty=True))
        return None
    if read.class_number is None:
        refused.append(NotTaken(where, "there is no class number in it, and without one there are no questions"))
        return None
    return HandedIn(where, week, read.name, read.class_number, tuple(_own(where, read, refused)))


def _own(where: str, read: AnswersRead, refused: list[NotTaken]) -> Iterator[Answered]:
    """The answers to the questions of one's own class number, to exercises that there are."""
    known = set(exercise_names())
    unknown = [name for name in read.goes if name not in known]
    given = [(name, go) for name in read.goes if name in known for go in read.goes[name] if go.answer]
    mine = [(name, go) for name, go in given if go.class_number == read.class_number]
    others = Counter(go.class_number for _, go in given if go.class_number != read.class_number)
    refused += [NotTaken(where, why, is_all=False) for why in _said_of(unknown, others, len(mine))]
    for name, go in mine[:_MOST_ANSWERS]:
        yield Answered(name, go.go, go.answer, go.tries, go.lathe)


def _said_of(unknown: Sequence[str], others: Mapping[int, int], count: int) -> Iterator[str]:
    """What there is to say: exercises that there are not, answers to other numbers' questions, of its own too many."""
    if unknown:
        more = f" (and {len(unknown) - 3} more)" if len(unknown) > 3 else ""
        yield f"{_UNKNOWN}: {', '.join(map(quoted, unknown[:3]))}{more}"
    for number, times in sorted(others.items())[:3]:
        yield f"answers to the questions of class number {number}, not of its own, do not count: {times}"
    if count > _MOST_ANSWERS:
        yield f"more than {_MOST_ANSWERS} answers: the rest was left out"


def _from_cells(
    where: str, week: str, paths: Iterable[Path], learners: Sequence[Learner], refused: list[NotTaken]
) -> HandedIn | None:
    found, all_read = CellAnswers(), True
    for path in paths:
        try:
            answers_in_notebook(path, found)
        except (GearcalcError, OSError) as problem:
            all_read = False
            refused.append(NotTaken(f"{where}/{path.name}", _why(problem)))
    refused += [NotTaken(where, why, is_all=False) for why in each_unread(found)]
    if not found.answers:
        is_empty = all_read and not found.unread
        why = f"no file of answers, and no answer in the notebooks{'' if is_empty else ' that can be read'}"
        refused.append(NotTaken(where, why, is_all=not is_empty, is_empty=is_empty))
        return None
    named, by_place = _by_place(_place(where).rpartition("/")[2], learners)
    number = next(filter(lambda n: n is not None, (found.class_number, by_place)), None)
    number = number if number is not None else next((a.class_number for a in found.answers if a.class_number), None)
    if number is None or not 0 <= number <= 1_000_000:
        refused.append(NotTaken(where, "no class number: begin the folder's name with it, as in '7 Ada'"))
        return None
    known = set(exercise_names())
    unknown = sorted({each.exercise for each in found.answers} - known)
    others = Counter(a.class_number for a in found.answers if a.class_number not in (None, number))
    mine = [a for a in found.answers if a.class_number in (None, number) and a.exercise in known]
    refused += [NotTaken(where, why, is_all=False) for why in _said_of(unknown, others, len(mine))]
    answers = tuple(Answered(each.exercise, each.go, each.value) for each in mine[:_MOST_ANSWERS])
    return HandedIn(where, week, named, number, answers)


def _by_place(name: str, learners: Sequence[Learner]) -> tuple[str, int | None]:
    """Name and class number of a learner as the name of the folder tells them."""
    number, called = _told_by(name, learners)
    if number is not None:
        return called.name if called is not None and called.number == number else "", number
    return (called.name, called.number) if called is not None else ("", _leading_number(name))


def _leading_number(name: str) -> int | None:
    """The class number with which the name of a folder or a file begins; a day is nobody's."""
    leading = None if _DATE.match(name) else _LEADING_NUMBER.fullmatch(name)
    return int(leading[1]) if leading else None


def _told_by(name: str, learners: Sequence[Learner]) -> tuple[int | None, Learner | None]:
    """The class number with which the name of a folder or a file begins, and the one of the list who is called so."""
    number = _leading_number(name)
    alike = {learner: how_alike(learner.name, without_number(name)) for learner in learners}
    most = max(alike.values(), default=0)
    called = [learner for learner in learners if most and alike[learner] == most]
    listed = not learners or number in {learner.number for learner in learners}
    return number if listed else None, called[0] if len(called) == 1 else None


def _at_its_place(
    found: Iterable[HandedIn], learners: Sequence[Learner], refused: list[NotTaken]
) -> Iterator[HandedIn]:
    """None that lies at another one's place on the list; without a list it is taken, and said."""
    found = tuple(found)
    groups = _groups(found)
    listed = {learner.number: learner for learner in learners}
    for one in found:
        by, told = _told_by_place(one, learners, groups)
        others = [each.number for each in told if each.number != one.class_number]
        if not others:
            yield one
            continue
        owners = writing.listed([f"{listed.get(each.number, each)}'s" for each in told], "or")
        whose = listed.get(one.class_number, Learner(one.class_number, one.name))
        why = f"it {'would count' if learners else 'counts'} as {whose}'s, and its {by} is {owners}: whose is it?"
        if learners:
            refused.append(NotTaken(one.where, f"{why} Ask, and put it right", class_number=others[0]))
            continue
        refused.append(NotTaken(one.where, why, is_all=False, class_number=one.class_number))
        yield one


def _told_by_place(one: HandedIn, learners: Sequence[Learner], groups: Collection[str]) -> tuple[str, list[Learner]]:
    """By what its place tells whose it is, and who that is: by a name of the list if it can, else by numbers."""
    folders, own = _parts(one.place)
    for name, by in (*((folder, "folder") for folder in reversed(folders)), (own, "name")):
        number, called = _told_by(name, learners)
        if called is not None:
            return by, [Learner(each) for each in dict.fromkeys((number, called.number)) if each is not None]
    alone = [name for n, name in enumerate(folders, 1) if "/".join(folders[:n]) not in groups]
    places = ((own, "name"), *((n, "folder") for n in alone[-1:]))
    told = [(by, Learner(n, without_number(at))) for at, by in places if (n := _told_by(at, learners)[0]) is not None]
    if not told or one.class_number in [each.number for _, each in told]:
        return "", []
    return told[0][0], [told[0][1]]


def _groups(found: Iterable[HandedIn]) -> Collection[str]:
    """The folders below which files of more lie than of one and another: of a day, or of a group."""
    numbers: dict[str, set[int]] = defaultdict(set)
    for one in found:
        folders, _ = _parts(one.place)
        for n in range(1, len(folders) + 1):
            numbers["/".join(folders[:n])].add(one.class_number)
    return {folder for folder, those in numbers.items() if len(those) > 2}


def _named_by_place(found: Sequence[HandedIn]) -> list[HandedIn]:
    """One without a name has the name that another of the same place and number has, of another week."""
    names = {(one.place, one.class_number): one.name for one in found if one.name}
    return [evolve(one, name=one.name or names.get((one.place, one.class_number), "")) for one in found]


def _listed_only(found: Iterable[HandedIn], learners: Sequence[Learner], refused: list[NotTaken]) -> Iterator[HandedIn]:
    """Those whose number is on the list, but for those whose name is another one's there."""
    names = {learner.number: learner.name for learner in learners}
    for one in found:
        other = _another_one(one, names.get(one.class_number, ""), learners)
        if learners and one.class_number not in names:
            why = f"class number {one.class_number} is not on the list"
        elif other is not None:
            is_whose = f"class number {one.class_number} is {names[one.class_number] or 'not ' + other.name}'s"
            why = f"it says {quoted(one.name)}, and {is_whose}"
        else:
            yield one
            continue
        why = f"{why}: ask whose it is, and put it right in the file or on the list"
        refused.append(NotTaken(one.where, why, class_number=None if other is None else other.number))


def _another_one(one: HandedIn, listed: str, learners: Sequence[Learner]) -> Learner | None:
    """Who else on the list is called so, more than the one whose number it has."""
    own = how_alike(one.name, listed)
    if not one.name or own == ALIKE:
        return None
    others = (learner for learner in learners if learner.number != one.class_number)
    most = max(others, key=lambda learner: how_alike(one.name, learner.name), default=None)
    return most if most is not None and how_alike(one.name, most.name) > own else None


def _one_each(found: Iterable[HandedIn], learners: Sequence[Learner], refused: list[NotTaken]) -> Iterator[HandedIn]:
    """Nobody's whose class number another one has too, unless the list names one of them."""
    by_number: dict[int, list[HandedIn]] = defaultdict(list)
    for one in found:
        by_number[one.class_number].append(one)
    names = {learner.number: learner.name for learner in learners}
    for number, several in sorted(by_number.items()):
        listed = names.get(number, "")
        named = [one for one in several if how_alike(one.name, listed)]
        taken = named or (several if len({one.whose for one in several}) == 1 else [])
        yield from taken
        for one in (one for one in taken if listed and one.name and not named):
            why = (
                f"it says {quoted(one.name)}, and class number {number} is {listed}'s on the list: it counts as theirs"
            )
            refused.append(NotTaken(one.where, why, is_all=False, class_number=number))
        for one in (one for one in several if one not in taken):
            other = next(each for each in several if each.whose != one.whose)
            same = ", with the same answers word for word" if other.answers == one.answers else ""
            why = f"class number {number} is also that of {other.where}{same}: ask whose it is, and put it right"
            refused.append(NotTaken(one.where, why, class_number=number))
