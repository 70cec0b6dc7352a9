"""Lathe files: from TOML to a Lathe, with errors that name file, line, key and what to do; and safely back to disk."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any, TypeVar

import attrs
import cattrs

from gearcalc.basics.arguments import plain_text
from gearcalc.basics.errors import GearcalcError, LatheFileError, quoted
from gearcalc.basics.files import in_its_words, put_in_place, way_out
from gearcalc.lathes.parts import key_of, keys_of
from gearcalc.lathes.sections import Sections, UnknownKeyError, structured
from gearcalc.lathes.toml_text import written

_Described = TypeVar("_Described", bound=Sections)
_LARGEST_FILE = 40_000
_SHOWN = "The command 'lathe new' writes a file that shows every key"
# A key of thousands of parts, a.a.a.a, takes the TOML reader minutes; nobody needs one of twenty. Longer parts than
# these leave room for too few of them to matter, and would have to be looked for anew from each quote.
_KEY_PART = r"""(?:[\w-]{1,200}|"(?:\\.|[^"\\\n]){0,200}"|'[^'\n]{0,200}')"""
_LONG_KEY = re.compile(rf"(?<![\w-])(?:{_KEY_PART}[ \t]*\.[ \t]*){{20}}")


def load(path: str | Path, kind: type[_Described]) -> _Described:
    """The lathe in a file; see Lathe.load.

    >>> from gearcalc.basics.files import data_folder
    >>> load(data_folder() / "lathes" / "metric.toml", Sections).gearbox[0].ratio
    Fraction(1, 4)

    `path`: of a TOML file of at most 40 kB in UTF-8; `kind`: the class that holds what it says.
    Raises LatheFileError when the file can't be opened, is no TOML, or says something impossible.
    """
    source = _named(path)
    try:
        place = Path(plain_text(path))
        if place.is_dir():
            raise LatheFileError("this is a folder, not a lathe file", where=source, remedy="Name the file in it.")
        with place.open("rb") as file:
            content = file.read(_LARGEST_FILE + 1)
    except (OSError, ValueError, TypeError) as problem:  # ValueError: a name that no file can have
        if isinstance(problem, LatheFileError):
            raise
        raise LatheFileError(
            f"the file can't be opened ({in_its_words(problem)})",
            where=source,
            remedy="Check the name and that you may read it.",
        ) from None
    if len(content) > _LARGEST_FILE:
        raise _too_long(source)
    try:
        return read(content.decode("utf-8-sig"), source, kind)
    except UnicodeDecodeError:
        raise LatheFileError(
            "the file is not text in UTF-8", where=source, remedy="Save it as plain text (UTF-8)."
        ) from None


def read(text: str, source: str, kind: type[_Described]) -> _Described:
    """The lathe that a TOML text describes; `source` is what messages call it.

    >>> read('name = "A"\\nleadscrew.lead = "3 mm"\\ngears.teeth = [20, 60]', "lathe text", Sections).gear_set.teeth
    (20, 60)

    `text`: at most 40 000 characters. Raises LatheFileError with every problem found, each with its key.
    """
    if not isinstance(text, str):
        raise LatheFileError("a lathe is described in text", value=text, where=source)
    text = plain_text(text)
    if len(text) > _LARGEST_FILE:
        raise _too_long(source)
    text = text.removeprefix("\ufeff")
    table = _toml(text, source)
    try:
        return structured(table, kind)
    except Exception as problem:
        fault = in_words(problem, source, text)
    raise fault  # out here, since a notebook shows all of what cattrs raised wherever that is the context


def save(lathe: Sections, path: str | Path) -> None:
    """Write beside the file, then replace it, so that it is never half written.

    >>> from gearcalc.lathes import Lathe, demo_lathe
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     save(demo_lathe("inch"), Path(folder) / "mine.toml")
    ...     load(Path(folder) / "mine.toml", Lathe) == demo_lathe("inch")
    True

    A link is followed: what it points to is replaced, and keeps its permissions. Raises LatheFileError.
    """
    try:
        text = written(lathe).encode()
        put_in_place(plain_text(path), text)
    except (OSError, ValueError, TypeError) as problem:
        usual = "Name a file in a folder that you may write to; the old file, if any, is untouched."
        said = f"the lathe can't be saved here ({in_its_words(problem)})"
        raise LatheFileError(said, where=_named(path), remedy=way_out(problem, usual)) from None


def _named(path: object) -> str:
    return plain_text(path) if isinstance(path, str) else str(path) if isinstance(path, Path) else quoted(path)


def _too_long(source: str) -> LatheFileError:
    return LatheFileError(
        f"this is longer than {_LARGEST_FILE // 1000} kB",
        where=source,
        remedy="It can't be a lathe file; check the name.",
    )


def _toml(text: str, source: str) -> dict[str, object]:
    if _LONG_KEY.search(text):
        raise _not_toml("a key has too many parts", source)
    try:
        return tomllib.loads(text)
    except RecursionError:
        said = "nested too deeply"
    except tomllib.TOMLDecodeError as problem:
        said = str(problem)
        line = re.search(r"\(at line (\d+)", said)
        if line:
            said += f", in {quoted(text.split(chr(10))[int(line[1]) - 1].strip())}"
    except ValueError:  # from int(), which takes no thousands of digits
        said = "a number is too long"
    raise _not_toml(said, source)


def _not_toml(said: str, source: str) -> LatheFileError:
    twice = "Each key and section may stand only once. " if "overwrite" in said or "twice" in said else ""
    said = said if len(said) < 300 else f"{said[:200]}…"
    return LatheFileError(f"this is not TOML: {said}", where=source, remedy=f"{twice}Put that place right. {_SHOWN}.")


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
            yield from _faults(each, (*path, _step(note, getattr(problem, "cl", None))))
        for bare in plain:
            yield from _faults(bare, path)
    elif isinstance(problem, cattrs.ForbiddenExtraKeysError):
        known = keys_of(problem.cl)
        for key in sorted(problem.extra_fields):
            misplaced = key in _PLAIN_KEYS and not issubclass(problem.cl, Sections)
            yield _unknown(path, key, known, misplaced=misplaced)
    elif isinstance(problem, UnknownKeyError):
        keys = problem.value if isinstance(problem.value, tuple) else ()
        yield _unknown((*path, *_steps(problem.where)), problem.problem, map(str, keys))
    elif isinstance(problem, GearcalcError):
        said = type(problem)(problem.problem, value=problem.value, remedy=problem.remedy)
        yield _Fault((*path, *_steps(problem.where)), str(said).removesuffix("."))
    elif isinstance(problem, KeyError):
        key = str(problem.args[0])
        yield _Fault(path[:-1], f"the key {key} is missing. Add it")
    else:
        yield _Fault(path, f"this is of another kind than a lathe file takes here. {_SHOWN}")


def _step(note: Any, section: type | None) -> str:
    if isinstance(note, cattrs.IterableValidationNote):
        return f"entry {int(note.index) + 1}"
    return key_of(attrs.fields_dict(section)[note.name]) if section else str(note.name)


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
    return name in [key_of(field) for field in attrs.fields(Sections)] and name not in _PLAIN_KEYS


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
        if key and inside and re.match(rf"\s*\[\s*{section}\s*\.\s*{re.escape(key)}\s*\]", line):
            keys.append(number)  # a table of its own within the section
        elif re.match(r"\s*\[", line):
            here = section is not None and re.match(rf"\s*\[\[?\s*{section}\s*\]", line) is not None
            seen += here
            inside = here and seen == wanted
            headers += [number] if inside else []
        elif key and re.match(rf"\s*['\"]?{re.escape(key)}['\"]?\s*=", line) and inside:
            keys.append(number)
    found = keys if key else headers
    return found[0] if len(found) == 1 else None
