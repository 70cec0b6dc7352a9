"""What is wrong with a lathe file, in words: from a tree of exceptions to lines that name key, line and remedy."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any

import attrs
import cattrs

from gearcalc.basics.errors import GearcalcError, LatheFileError, quoted
from gearcalc.lathes.lathe import Lathe
from gearcalc.lathes.sections import FILE_NAMES, PLATE_KEYS, UnknownKeyError

_MOST_SHOWN = 5
_PLAIN_KEYS = ("name", "note")  # those of a lathe file that stand in no section


@dataclass(frozen=True, slots=True)
class _Fault:
    """`path`: section, key, and 'entry 2' for the second of several; `words`: a sentence without its stop."""

    path: tuple[str, ...]
    words: str


def in_words(problem: Exception, source: str, text: str) -> LatheFileError:
    """One error that says everything found wrong, each with its place in the text.

    `problem`: what structuring the text raised; `source`: what to call it.
    """
    faults = list(dict.fromkeys(islice(_faults(problem, ()), 2 * _MOST_SHOWN)))
    lines = [_located(fault, text) for fault in faults[:_MOST_SHOWN]]
    if len(lines) == 1:
        return LatheFileError(lines[0], where=source)
    if len(faults) > _MOST_SHOWN:
        lines.append("and more")
    return LatheFileError("".join(f"\n- {line}." for line in lines).removesuffix("."), where=source)


def _faults(problem: BaseException, path: tuple[str, ...]) -> Iterator[_Fault]:
    if isinstance(problem, (cattrs.ClassValidationError, cattrs.IterableValidationError)):
        noted, plain = problem.group_exceptions()
        for each, note in noted:
            yield from _faults(each, (*path, _step(note)))
        for bare in plain:
            yield from _faults(bare, path)
    elif isinstance(problem, cattrs.ForbiddenExtraKeysError):
        known = [FILE_NAMES.get(field.name, field.name) for field in attrs.fields(problem.cl)]
        for key in sorted(problem.extra_fields):
            misplaced = key in _PLAIN_KEYS and problem.cl is not Lathe
            yield _unknown(path, key, known, misplaced=misplaced)
    elif isinstance(problem, UnknownKeyError):
        yield _unknown((*path, *_steps(problem.where)), problem.problem, PLATE_KEYS)
    elif isinstance(problem, GearcalcError):
        said = type(problem)(problem.problem, value=problem.value, remedy=problem.remedy)
        yield _Fault((*path, *_steps(problem.where)), str(said).removesuffix("."))
    elif isinstance(problem, KeyError):
        key = str(problem.args[0])
        path = path[:-1] if path and path[-1] == key else path
        yield _Fault(path, f"the key {key} is missing. Add it")
    else:
        yield _Fault(path, "this is of another kind than a lathe file takes here. The README shows a lathe file")


def _step(note: Any) -> str:
    if isinstance(note, cattrs.IterableValidationNote):
        return f"entry {int(note.index) + 1}"
    name = str(note.name)
    return FILE_NAMES.get(name, name)


def _steps(where: str) -> tuple[str, ...]:
    return tuple(where.split(": ")) if where else ()


def _unknown(path: tuple[str, ...], key: str, known: Iterable[str], *, misplaced: bool = False) -> _Fault:
    names = list(known)
    near = difflib.get_close_matches(key, names, n=1, cutoff=0.5)
    if misplaced:
        remedy = "It belongs at the top of the file, before the first [section]"
    elif near:
        remedy = f"The nearest known one is {near[0]}"
    else:
        remedy = f"Known here: {', '.join(names)}"
    return _Fault(
        (*path, key if re.fullmatch(r"[A-Za-z0-9_-]{1,40}", key) else quoted(key)), f"this key is unknown. {remedy}"
    )


def _located(fault: _Fault, text: str) -> str:
    """The fault with its place in front: [gears] teeth, entry 2 (line 15): ..."""
    place = ", ".join(fault.path)
    if fault.path and _is_section(fault.path[0]):
        place = " ".join(filter(None, (f"[{fault.path[0]}]", ", ".join(fault.path[1:]))))
    line = _line_of(fault.path, text)
    place += f" (line {line})" if line else ""
    return f"{place}: {fault.words}" if place else fault.words


def _is_section(name: str) -> bool:
    names = (FILE_NAMES.get(field.name, field.name) for field in attrs.fields(Lathe))
    return name in names and name not in _PLAIN_KEYS


def _line_of(path: tuple[str, ...], text: str) -> int | None:
    """The line that a key, or the header of a section, stands on; None where it can't be told for sure."""
    section = path[0] if path and _is_section(path[0]) else None
    rest = list(path[1:] if section else path)
    wanted = int(rest.pop(0).removeprefix("entry ")) if rest and rest[0].startswith("entry ") else 1
    key = rest[0].strip("'\"") if rest else ""
    headers, keys, seen, inside = [], [], 0, section is None
    for number, line in enumerate(text.split("\n"), 1):
        if not section and key and re.match(rf"\s*\[\[?\s*{re.escape(key)}\s*\]", line):
            keys.append(number)  # a section that there is not
        if re.match(r"\s*\[", line):
            here = section is not None and re.match(rf"\s*\[\[?\s*{section}\s*\]", line) is not None
            seen += here
            inside = here and seen == wanted
            headers += [number] if inside else []
        elif key and re.match(rf"\s*['\"]?{re.escape(key)}['\"]?\s*=", line) and inside:
            keys.append(number)
    found = keys if key else headers
    return found[0] if len(found) == 1 else None
