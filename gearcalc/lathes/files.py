"""Lathe files: from TOML to a Lathe, with errors that name file, line, key and what to do; and safely back to disk."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from gearcalc.basics.errors import LatheFileError, quoted
from gearcalc.basics.given import plain_text
from gearcalc.basics.whole_files import put_in_place
from gearcalc.lathes.faults import in_words
from gearcalc.lathes.lathe import Lathe
from gearcalc.lathes.sections import structured, written

_LARGEST_FILE = 40_000
# A key of thousands of parts, a.a.a.a, takes the TOML reader minutes; nobody needs one of twenty. Longer parts than
# these leave room for too few of them to matter, and would have to be looked for anew from each quote.
_KEY_PART = r"""(?:[\w-]{1,200}|"(?:\\.|[^"\\\n]){0,200}"|'[^'\n]{0,200}')"""
_LONG_KEY = re.compile(rf"(?<![\w-])(?:{_KEY_PART}[ \t]*\.[ \t]*){{20}}")


def load(path: str | Path) -> Lathe:
    """The lathe in a file.

    >>> from gearcalc.basics.resources import data_folder
    >>> load(data_folder() / "lathes" / "metric.toml").levers["slow"]
    Fraction(1, 4)

    `path`: of a TOML file of at most 40 kB in UTF-8.
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
            f"the file can't be opened ({getattr(problem, 'strerror', None) or problem})",
            where=source,
            remedy="Check the name and that you may read it.",
        ) from None
    if len(content) > _LARGEST_FILE:
        raise _too_long(source)
    try:
        return read(content.decode("utf-8-sig"), source)
    except UnicodeDecodeError:
        raise LatheFileError(
            "the file is not text in UTF-8", where=source, remedy="Save it as plain text (UTF-8)."
        ) from None


def read(text: str, source: str = "lathe text") -> Lathe:
    """The lathe that a TOML text describes; `source` is what messages call it.

    >>> read('name = "A"\\nleadscrew.lead = "3 mm"\\ngears.teeth = [20, 60]').gears
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
        return structured(table)
    except Exception as problem:
        fault = in_words(problem, source, text)
    raise fault  # out here, since a notebook shows all of what cattrs raised wherever that is the context


def write(lathe: Lathe) -> str:
    """The TOML text of a lathe; reads back as an equal lathe.

    >>> from gearcalc.lathes.lathe import demo_lathe
    >>> write(demo_lathe("inch")).splitlines()[4]
    'lead = "8 tpi"'
    """
    return written(lathe)


def save(lathe: Lathe, path: str | Path) -> None:
    """Write beside the file, then replace it, so that it is never half written.

    >>> from gearcalc.lathes.lathe import demo_lathe
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     save(demo_lathe("inch"), Path(folder) / "mine.toml")
    ...     load(Path(folder) / "mine.toml") == demo_lathe("inch")
    True

    A link is followed: what it points to is replaced, and keeps its permissions. Raises LatheFileError.
    """
    try:
        text = write(lathe).encode()
        put_in_place(plain_text(path), text)
    except (OSError, ValueError, TypeError) as problem:
        raise LatheFileError(
            f"the lathe can't be saved here ({getattr(problem, 'strerror', None) or problem})",
            where=_named(path),
            remedy="Name a file in a folder that you may write to; the old file, if any, is untouched.",
        ) from None


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
    return LatheFileError(
        f"this is not TOML: {said}", where=source, remedy=f"{twice}Put that place right; the README shows a lathe file."
    )
