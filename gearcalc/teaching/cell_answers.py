"""Answers that stand in the code cells of a notebook, read by a small grammar of ours: nothing of theirs is run.

Numbers, fractions, sums, text, lists and trains, under a name or where `exercise("its name").check(...)` is called.
"""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from operator import add, mul, sub, truediv
from pathlib import Path
from typing import Any

from attrs import define, field, frozen

from gearcalc.basics.errors import GearcalcError, NotPossibleError, ValueOutOfRangeError, quoted
from gearcalc.basics.exact import PiMultiple
from gearcalc.lathes.trains import Train
from gearcalc.learning.exercises.arithmetic import from_float

LARGEST_NOTEBOOK = 20_000_000
_LONGEST_CELL, _MOST_CELLS, _DEEPEST, _MOST_ENTRIES, _LONGEST_TEXT = 10_000, 500, 20, 60, 400
_LARGEST, _LARGEST_POWER = 10**30, 20
_WORK: Mapping[type, Any] = {ast.Add: add, ast.Sub: sub, ast.Mult: mul, ast.Div: truediv}
_NUMBER_NAMES = ("class", "class_number")
_OPENING, _CLOSING = "([{", ")]}"
_FOR_THE_NOTEBOOK = re.compile(
    r"(?P<indent>\s*)(?:(?P<sets>\w[\w, ]*=\s*)?(?:!|%(?!%)|%%(?:time|timeit|capture|prun)\b).*"
    r"|\?+[\w.]+\s*|[\w.]+\?+\s*)"
)
_MOST_LINES_FOR_IT = 50


@frozen
class CellAnswer:
    """An answer as a cell has it: which exercise, the class number and go if the call says them, the value."""

    exercise: str
    class_number: int | None
    go: int
    value: Any


@define
class CellAnswers:
    """What the cells of one learner say: the answers, the class number that they set, what can't be read."""

    answers: list[CellAnswer] = field(factory=list)
    class_number: int | None = None
    unread: list[str] = field(factory=list)


@frozen
class _Asked:
    exercise: str
    class_number: int | None
    go: int


class _NotOursError(Exception):
    """What the grammar has no rule for."""


def answers_in_notebook(path: Path, found: CellAnswers) -> None:
    """Add what the code cells of a notebook answer. Raises NotPossibleError for what is no notebook, OSError."""
    with path.open("rb") as file:
        page = file.read(LARGEST_NOTEBOOK + 1)
    if len(page) > LARGEST_NOTEBOOK:
        raise NotPossibleError(f"the notebook is larger than {LARGEST_NOTEBOOK // 1_000_000} MB")
    try:
        cells = json.loads(page.decode("utf-8-sig"))["cells"]
        sources = [_source(cell) for cell in cells[:_MOST_CELLS] if cell.get("cell_type") == "code"]
    except (ValueError, RecursionError, KeyError, TypeError, AttributeError):
        raise NotPossibleError("this is no notebook, or a broken one") from None
    answers_in(sources, found)


def answers_in(sources: Iterable[str], found: CellAnswers) -> None:
    """Add what these cells answer, one after the other.

    >>> found = CellAnswers()
    >>> answers_in(['CLASS = 7', 'a = Fraction(127, 40)', 'exercise("lead-of-a-leadscrew", CLASS).check(a)'], found)
    >>> found.class_number, found.answers[0].exercise, found.answers[0].value
    (7, 'lead-of-a-leadscrew', Fraction(127, 40))
    """
    names: dict[str, Any] = {}
    for source in sources:
        if "check" in source or "=" in source:
            _read_cell(source, names, found)


def _source(cell: Mapping[str, Any]) -> str:
    source = cell["source"]
    return source if isinstance(source, str) else "".join(source)


def _read_cell(source: str, names: dict[str, Any], found: CellAnswers) -> None:
    answers = ".check(" in source
    try:
        if len(source) > _LONGEST_CELL or _depth(source) > _DEEPEST:
            raise _NotOursError("too long or too deep")
        statements = _parsed(source, found).body
    except (SyntaxError, ValueError, RecursionError, MemoryError, _NotOursError):
        found.unread += [_shown(source)] * answers
        return
    for statement in statements:
        if isinstance(statement, (ast.Assign, ast.Expr)):
            _read_answers(statement.value, source, names, found)
            if isinstance(statement, ast.Assign):
                _learn(statement, names, found)
        elif answers and any(map(_is_check, ast.walk(statement))):
            found.unread.append(_shown(_line(source, statement)))


def _parsed(source: str, found: CellAnswers) -> ast.Module:
    """The cell as Python; a line that is for the notebook itself, like %matplotlib or !ls, is passed over."""
    lines = source.split("\n")
    for _ in range(_MOST_LINES_FOR_IT):
        try:
            return ast.parse("\n".join(lines))
        except SyntaxError as problem:
            place = (problem.lineno or 0) - 1
            line = lines[place] if 0 <= place < len(lines) else ""
            own = _FOR_THE_NOTEBOOK.fullmatch(line)
            if own is None:
                raise
            found.unread += [_shown(line)] * (".check(" in line)
            lines[place] = own["indent"] + (f"{own['sets']}_()" if own["sets"] else "pass")  # of which nothing is known
    raise _NotOursError("too many lines that are for the notebook")


def _depth(source: str) -> int:
    """How deep brackets lie in one another, and how many signs stand in a row: Python's own parser has a bottom."""
    deep = deepest = row = 0
    for sign in source:
        deep += (sign in _OPENING) - (sign in _CLOSING)
        row = row + 1 if sign in "-+~" else row if sign == " " else 0
        deepest = max(deepest, deep, row)
    return deepest


def _shown(source: str) -> str:
    return quoted(" ".join(source[:_LONGEST_TEXT].split()))


def _line(source: str, node: ast.stmt | ast.expr) -> str:
    return source.splitlines()[node.lineno - 1]


def _is_check(node: ast.AST) -> bool:
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "check"


def _read_answers(value: ast.expr, source: str, names: Mapping[str, Any], found: CellAnswers) -> None:
    for call in filter(_is_check, ast.walk(value)):
        assert isinstance(call, ast.Call)
        assert isinstance(call.func, ast.Attribute)
        try:
            asked = _value(call.func.value, names, 0)
            given = [*call.args, *(word.value for word in call.keywords if word.arg == "answer")]
            if not isinstance(asked, _Asked):
                continue
            answer = _value(given[0], names, 0) if len(given) == 1 else None
        except (_NotOursError, GearcalcError, ArithmeticError, ValueError, TypeError):
            found.unread.append(_shown(_line(source, call)))
            continue
        if answer is not None and answer is not ...:
            found.answers.append(CellAnswer(asked.exercise, asked.class_number, asked.go, answer))


def _learn(statement: ast.Assign, names: dict[str, Any], found: CellAnswers) -> None:
    """What a name stands for from here on; what can't be read is no longer known under it."""
    targets = [target.id for target in statement.targets if isinstance(target, ast.Name)]
    try:
        value = _value(statement.value, names, 0)
    except (_NotOursError, GearcalcError, ArithmeticError, ValueError, TypeError):
        for name in targets:
            names.pop(name, None)
        return
    names.update(dict.fromkeys(targets, value))
    if type(value) is int and any(name.casefold() in _NUMBER_NAMES for name in targets):
        found.class_number = value


def _value(node: ast.expr, names: Mapping[str, Any], deep: int) -> Any:
    """What an expression stands for. Raises _NotOursError for whatever the grammar has no rule for."""
    if deep > _DEEPEST:
        raise _NotOursError
    match node:
        case ast.Constant(value=bool() | bytes() | complex()):
            raise _NotOursError
        case ast.Constant(value=float() as x):
            return from_float(x)
        case ast.Constant(value=value):
            return _bounded(value)
        case ast.Name(id=name) if name in names:
            return names[name]
        case ast.Name(id="pi") | ast.Attribute(attr="pi"):
            return PiMultiple(Fraction(1))
        case ast.UnaryOp(op=ast.USub() | ast.UAdd() as sign, operand=inner):
            number = _number(inner, names, deep)
            return _worked(ast.Mult, number, -1) if isinstance(sign, ast.USub) else number
        case ast.BinOp(left=left, op=ast.Pow(), right=right):
            return _power(_number(left, names, deep), _number(right, names, deep))
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _WORK:
            return _worked(type(op), _number(left, names, deep), _number(right, names, deep))
        case ast.Tuple(elts=entries) | ast.List(elts=entries) if len(entries) <= _MOST_ENTRIES:
            return tuple(_value(entry, names, deep + 1) for entry in entries)
        case ast.Call():
            return _called(node, names, deep)
    raise _NotOursError


def _number(node: ast.expr, names: Mapping[str, Any], deep: int) -> Any:
    value = _value(node, names, deep + 1)
    if not isinstance(value, (int, Fraction, PiMultiple)):
        raise _NotOursError
    return value


def _worked(op: type, left: Any, right: Any) -> Any:
    if op is ast.Div and isinstance(left, int):
        left = Fraction(left)
    return _bounded(_WORK[op](left, right))


def _power(base: Any, power: Any) -> Any:
    if isinstance(base, PiMultiple) or not isinstance(power, int) or abs(power) > _LARGEST_POWER:
        raise _NotOursError
    return _bounded(base**power if power >= 0 else Fraction(base) ** power)


def _bounded(value: Any) -> Any:
    """A value of a size that somebody means."""
    if isinstance(value, str) and len(value) > _LONGEST_TEXT:
        raise _NotOursError
    number = value.coefficient if isinstance(value, PiMultiple) else value
    if isinstance(number, (int, Fraction)) and max(abs(number.numerator), number.denominator) > _LARGEST:
        raise _NotOursError
    return value


def _called(call: ast.Call, names: Mapping[str, Any], deep: int) -> Any:
    """The few calls that stand for something: an exercise, a fraction, a train."""
    name = ast.unparse(call.func) if isinstance(call.func, (ast.Name, ast.Attribute)) and _is_short(call.func) else ""
    last = name.rpartition(".")[2]
    given = [_value(each, names, deep + 1) for each in call.args]
    named = {word.arg or "": _value(word.value, names, deep + 1) for word in call.keywords}
    if last == "exercise":
        return _asked(*given, **named)
    if last in ("Fraction", "Rational") and not named and 1 <= len(given) <= 2:
        return _bounded(Fraction(*given))
    if last == "Train":
        return Train(*given, **named)
    if name.endswith(("Train.parse", "Thread.parse", "Feed.parse")) and len(given) == 1 and isinstance(given[0], str):
        return Train.parse(given[0]) if "Train" in name else given[0]
    raise _NotOursError


def _is_short(func: ast.expr) -> bool:
    """Whether it is a name, or a name with one or two behind it."""
    for _ in range(3):
        if isinstance(func, ast.Name):
            return True
        func = func.value if isinstance(func, ast.Attribute) else func
    return False


def _asked(name: Any = None, class_number: Any = None, lathe: Any = None, go: Any = 1, **_: Any) -> _Asked:
    if not isinstance(name, str) or lathe is not None:
        raise ValueOutOfRangeError("an exercise is called by its name, and its lathe can't be read from a cell")
    number = class_number if type(class_number) is int else None
    return _Asked(name, number, go if type(go) is int else 1)


def each_unread(found: CellAnswers) -> Iterator[str]:
    """What can't be read, in words, the first few."""
    for shown in found.unread[:3]:
        yield f"{shown} can't be read without running it: ask for the answer as a number, a fraction, text or a train"
    if len(found.unread) > 3:
        yield f"and {len(found.unread) - 3} more like it"
