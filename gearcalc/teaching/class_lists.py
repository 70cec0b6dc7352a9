"""Who is in the class: class numbers, and the names that go with them where a list gives them."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from unicodedata import bidirectional, normalize

from attrs import frozen

from gearcalc.basics.errors import GearcalcError, NotPossibleError, ValueOutOfRangeError, quoted, without_controls
from gearcalc.basics.files import NO_TEXT, said_where
from gearcalc.learning.answer_files import read_class_number

MOST_LEARNERS = 2000
_LARGEST_FILE = 1_000_000
_LONGEST_NAME = 200
_APART, _TOGETHER = "\N{FIRST STRONG ISOLATE}", "\N{POP DIRECTIONAL ISOLATE}"
_HEADS_OF_NUMBERS = {"number", "class number", "class no", "no", "nr", "#"}
_GIVEN_NAMES = {"first", "given", "middle", "firstname", "forename", "vorname", "prénom"}
_OF_NAMES = {"name", "names", "full", "last", "family", "surname", "lastname", "learner", "apprentice", "student"}
_WRITE_IT_SO = "Write numbers like '1-24' or '1-8, 12, 15', or name a file that ends in .csv."
_ROWS_LOOK_SO = "Give each learner a row: the class number, then the name."


@frozen
class Learner:
    """One of the class: the class number, and the name, which is empty where no list gave one."""

    number: int
    name: str = ""

    def __str__(self) -> str:
        return f"{_kept_apart(self.name)} ({self.number})" if self.name else f"class number {self.number}"


def class_list(given: str | Path) -> tuple[Learner, ...]:
    """Read who is in the class, in the order given.

    >>> [str(learner) for learner in class_list("1-3, 8")]
    ['class number 1', 'class number 2', 'class number 3', 'class number 8']

    `given`: class numbers, 0 to a million, with ranges; or the name of a file ending .csv, a row for each learner with
    the class number and the name, parted by commas, semicolons or tabs; a first row of heads says which is which. A
    name in several columns is put together, first name before surname where the heads say so; without heads all columns
    but the number are the name. At most 2,000 learners. Raises ValueOutOfRangeError for what can't be read or a number
    that stands twice, and NotPossibleError for a file that can't be opened.
    """
    path = Path(given)
    learners = (
        tuple(_from_file(path))
        if path.suffix.lower() == ".csv"
        else tuple(map(Learner, _each_once(_spread(str(given)))))
    )
    if not learners:
        raise ValueOutOfRangeError("there is nobody in this list", where=str(given), remedy=_WRITE_IT_SO)
    return learners


def without_number(called: str) -> str:
    """Leave out the class number with which the name of a folder or a file begins.

    >>> without_number("7 Ada")
    'Ada'
    """
    return called.lstrip("0123456789 _.-")


def _kept_apart(name: str) -> str:
    """A name that runs leftwards between the signs that keep what stands beside it where it is (Unicode, UAX #9)."""
    leftwards = any(bidirectional(sign) in ("R", "AL") for sign in name)
    return f"{_APART}{name}{_TOGETHER}" if leftwards else name


def _spread(text: str) -> Iterator[tuple[int, str]]:
    """Each number with the words that gave it."""
    count = 0
    for part in filter(None, map(str.strip, text.replace("–", "-").split(","))):
        first, *last = part.split("-")
        if len(last) > 1:
            raise ValueOutOfRangeError("this gives no class numbers", value=part, remedy=_WRITE_IT_SO)
        try:
            begins, ends = (read_class_number(end) for end in (first, last[0] if last else first))
        except GearcalcError as problem:
            raise ValueOutOfRangeError(str(problem), where=part, remedy=_WRITE_IT_SO) from None
        if ends < begins:
            raise ValueOutOfRangeError("these class numbers run backwards", value=part, remedy=_WRITE_IT_SO)
        count += ends - begins + 1
        _few_enough(count, text)
        yield from ((number, part) for number in range(begins, ends + 1))


def _each_once(found: Iterable[tuple[int, str]]) -> Iterator[int]:
    had: dict[int, str] = {}
    for number, where in found:
        if number in had:
            raise ValueOutOfRangeError(
                f"class number {number} stands twice, the first time in {had[number]}",
                where=where,
                remedy="Each learner has a number of their own: it makes their questions.",
            )
        had[number] = where
        yield number


def _from_file(path: Path) -> Iterator[Learner]:
    rows = _rows(path)
    heads: list[str] = []
    number = 0
    if rows and not any(_is_number(cell) for cell in rows[0][1]):
        heads = [cell.casefold().replace("_", " ").rstrip(".") for cell in rows.pop(0)[1]]
        number = next((column for column, head in enumerate(heads) if head in _HEADS_OF_NUMBERS), 0)
    elif rows and len(rows[0][1]) > 1:
        number = int(not _is_number(rows[0][1][0]))
    _few_enough(len(rows), str(path))
    names = [_name_in(cells, _columns_of_names(heads, number, len(cells))) for _, cells in rows]
    numbers = ((_number_in(cells, number, where), where) for where, cells in rows)
    return map(Learner, _each_once(numbers), names)


def _columns_of_names(heads: Sequence[str], number: int, count: int) -> list[int]:
    """The columns that make up a name, first names before the others; all but the number where no head tells."""
    others = [column for column in range(count) if column != number]
    if not heads:
        return others
    said = {column: set(heads[column].split()) if column < len(heads) else set() for column in others}
    named = [column for column in others if said[column] <= _OF_NAMES | _GIVEN_NAMES]
    given = [column for column in named if said[column] & _GIVEN_NAMES]
    return [*given, *(column for column in named if column not in given)] or others[:1]


def _rows(path: Path) -> list[tuple[str, list[str]]]:
    """Each row that is not empty, with where it stands."""
    with said_where(path, "the class list can't be read", "Name a file that is there and can be read."):
        content = _start_of(path)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise NotPossibleError(NO_TEXT, where=str(path), remedy="Save it as csv in UTF-8.") from None
    if len(content) > _LARGEST_FILE:
        raise NotPossibleError("this is too long for a class list", where=str(path), remedy=_ROWS_LOOK_SO)
    first = text.lstrip().partition("\n")[0]
    parting = max(",;\t", key=first.count)
    try:
        cut = [[cell.strip() for cell in row] for row in csv.reader(text.splitlines(), delimiter=parting)]
    except csv.Error as problem:
        raise ValueOutOfRangeError(f"this is no csv ({problem})", where=str(path), remedy=_ROWS_LOOK_SO) from None
    return [(f"{path}, row {n}", cells) for n, cells in enumerate(cut, 1) if any(cells)]


def _start_of(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(_LARGEST_FILE + 1)


def _is_number(cell: str) -> bool:
    return cell.isascii() and cell.isdigit()


def _number_in(cells: list[str], column: int, where: str) -> int:
    if column >= len(cells):
        raise ValueOutOfRangeError("this row has no class number", where=where, remedy=_ROWS_LOOK_SO)
    try:
        return read_class_number(cells[column])
    except GearcalcError:
        raise ValueOutOfRangeError(
            f"{quoted(cells[column])} is no class number from 0 to a million", where=where, remedy=_ROWS_LOOK_SO
        ) from None


def _name_in(cells: list[str], columns: Iterable[int]) -> str:
    name = " ".join(normalize("NFC", without_controls(" ".join(cells[column] for column in columns))).split())
    return name if len(name) <= _LONGEST_NAME else f"{name[: _LONGEST_NAME - 1]}…"


def _few_enough(count: int, where: str) -> None:
    if count > MOST_LEARNERS:
        raise ValueOutOfRangeError(
            f"a class has at most {MOST_LEARNERS} learners", value=count, where=where[:60], remedy="Give them in parts."
        )
