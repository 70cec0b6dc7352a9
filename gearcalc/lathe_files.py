"""Lathe files: TOML to a Lathe and back, with errors that name file, key and what to do."""

from __future__ import annotations

import difflib
import os
import re
import tempfile
import tomllib
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import attrs
import cattrs
import tomli_w
from cattrs.gen import make_dict_structure_fn, make_dict_unstructure_fn, override

from gearcalc import lathes, writing
from gearcalc.errors import GearcalcError, LatheFileError, quoted
from gearcalc.exact import INCH_MM, PiMultiple, as_fraction, as_teeth
from gearcalc.lathes import Lathe
from gearcalc.threads import Thread
from gearcalc.trains import Train

__all__ = ["load", "read", "save", "write"]

_LARGEST_FILE = 200_000
_MOST_SHOWN = 5
_FILE_NAMES = {"gear_set": "gears"}  # Lathe field -> key in the file, where they differ


def load(path: str | Path) -> Lathe:
    """The lathe in a file.

    >>> from gearcalc.resources import data_folder
    >>> load(data_folder() / "lathes" / "metric.toml").levers["slow"]
    Fraction(1, 4)

    Raises LatheFileError when the file can't be opened, is no TOML, or says something impossible.
    """
    place = Path(path)
    try:
        if place.is_dir():
            raise LatheFileError("this is a folder, not a lathe file", where=str(path), remedy="Name the file in it.")
        with place.open("rb") as file:
            content = file.read(_LARGEST_FILE + 1)
    except OSError as problem:
        raise LatheFileError(
            f"the file can't be opened ({problem.strerror or problem})", where=str(path),
            remedy="Check the name and that you may read it.",
        ) from None  # fmt: skip
    if len(content) > _LARGEST_FILE:
        raise LatheFileError(f"the file is larger than {_LARGEST_FILE // 1000} kB", where=str(path),
                             remedy="This can't be a lathe file; check the name.")  # fmt: skip
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise LatheFileError(
            "the file is not text in UTF-8", where=str(path), remedy="Save it as plain text (UTF-8)."
        ) from None
    return read(text, str(path))


def read(text: str, source: str = "lathe text") -> Lathe:
    """The lathe that a TOML text describes; `source` is what messages call it.

    >>> read('name = "A"\\nleadscrew.lead = "3 mm"\\ngears.teeth = [20, 60]').gears
    (20, 60)

    Raises LatheFileError with every problem found, each with its key.
    """
    if len(text) > _LARGEST_FILE:
        raise LatheFileError(f"the text is longer than {_LARGEST_FILE // 1000} kB", where=source)
    try:
        table = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as problem:
        said = str(problem) if not isinstance(problem, RecursionError) else "nested too deeply"
        raise LatheFileError(
            f"this is not TOML: {said}", where=source, remedy="Mend that place; the README shows a lathe file."
        ) from None
    converter = _converter()
    try:
        return converter.structure(table, Lathe)
    except Exception as problem:
        raise _in_words(problem, source, text) from None


def write(lathe: Lathe) -> str:
    """The TOML text of a lathe; reads back as an equal lathe."""
    table = _converter().unstructure(lathe)
    return tomli_w.dumps(_without_empty(table))


def save(lathe: Lathe, path: str | Path) -> None:
    """Write beside the file, then replace it, so that it is never half written. Raises LatheFileError."""
    place = Path(path)
    text = write(lathe)
    try:
        handle, beside = tempfile.mkstemp(prefix=f".{place.name[:40]}.", dir=place.parent)
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
            # mkstemp makes files private; a lathe file keeps the mode it had, or gets the usual one.
            mode = place.stat().st_mode & 0o777 if place.exists() else 0o666 & ~_umask()
            os.chmod(beside, mode)
            os.replace(beside, place)
        except BaseException:
            Path(beside).unlink(missing_ok=True)
            raise
    except OSError as problem:
        raise LatheFileError(
            f"the lathe can't be saved here ({problem.strerror or problem})", where=str(path),
            remedy="Name a file in a folder that you may write to; the old file is untouched.",
        ) from None  # fmt: skip


def _umask() -> int:
    current = os.umask(0)
    os.umask(current)
    return current


def _without_empty(table: Mapping[str, Any]) -> dict[str, Any]:
    kept = {}
    for key, value in table.items():
        if value is None or (key != "teeth" and value in ((), [], "", {})):
            continue
        kept[key] = _without_empty(value) if isinstance(value, Mapping) else value
    return kept


# Reading and writing of the field types that TOML has no word for.


def _read_lead(value: object) -> Fraction:
    lead = Thread.parse(value if isinstance(value, str) else f"{as_fraction(value)} mm").lead
    if isinstance(lead, PiMultiple):
        raise LatheFileError("a leadscrew has a lead in mm or tpi", value=value, remedy="Write '8 tpi' or '3 mm'.")
    return lead


def _write_lead(lead: Fraction) -> str:
    per_inch = INCH_MM / lead
    if (per_inch * 2).denominator == 1:
        return f"{writing.decimal(per_inch)} tpi"
    return f"{writing.number(lead, 9)} mm"


def _write_ratio(ratio: Fraction) -> str:
    return f"{ratio.numerator}/{ratio.denominator}" if ratio.denominator != 1 else str(ratio)


def _strict(kind: type, words: str) -> Any:
    def check(value: object, _: type) -> Any:
        if kind is float and isinstance(value, int) and not isinstance(value, bool):
            value = float(value)
        if not isinstance(value, kind) or (kind is int and isinstance(value, bool)):
            raise LatheFileError(f"must be {words}", value=value if value != "" else "empty text")
        if isinstance(value, float) and (value != value or abs(value) > 1e6):
            raise LatheFileError("must be a number of ordinary size", value=repr(value))
        return value

    return check


def _read_counts(value: object, _: object = None) -> tuple[int, ...]:
    if not isinstance(value, list):
        raise LatheFileError("must be a list of tooth counts, like [40, 80]", value=value)
    counts = []
    for place, teeth in enumerate(value):
        try:
            counts.append(as_teeth(teeth))
        except GearcalcError as problem:
            raise problem.at(f"[{place}]") from None
    return tuple(counts)


def _read_plate(value: object, _: object = None) -> tuple[lathes.PlateRow, ...]:
    if not isinstance(value, Mapping):
        raise LatheFileError('must be a table of threads, like "16 tpi" = { drivers = [40], driven = [80] }')
    return tuple(_read_plate_row(thread, row) for thread, row in value.items())


def _read_plate_row(thread: str, row: object) -> lathes.PlateRow:
    where = f"{quoted(thread)}"
    try:
        Thread.parse(thread)
        if not isinstance(row, Mapping):
            raise LatheFileError("must be a table like { drivers = [40], driven = [80] }", value=row)
        unknown = [key for key in row if key not in ("drivers", "driven", "idlers", "lever")]
        if unknown:
            raise _unknown_key(unknown[0], ("drivers", "driven", "idlers", "lever"))
        for key in ("drivers", "driven"):
            if key not in row:
                raise LatheFileError(f"the key {key} is missing", remedy=f"Add {key} = [ ... ].")
        idlers = row.get("idlers", [])
        if not isinstance(idlers, list):
            raise LatheFileError("idlers must be a list, one list a mesh, like [[60]]", value=idlers)
        lever = row.get("lever")
        if lever is not None and not isinstance(lever, str):
            raise LatheFileError("lever must be the name of a position", value=lever)
        train = Train(_read_counts(row["drivers"]), _read_counts(row["driven"]), idlers)
    except GearcalcError as problem:
        raise problem.at(where) from None
    return lathes.PlateRow(thread, train.drivers, train.driven, train.idlers, lever)


def _write_plate(rows: tuple[lathes.PlateRow, ...]) -> dict[str, Any]:
    return {row.thread: _write_plate_row(row) for row in rows}


def _write_plate_row(row: lathes.PlateRow) -> dict[str, Any]:
    table: dict[str, Any] = {"drivers": list(row.drivers), "driven": list(row.driven)}
    if any(row.idlers):
        table["idlers"] = [list(mesh) for mesh in row.idlers]
    if row.lever is not None:
        table["lever"] = row.lever
    return table


@cache
def _converter() -> cattrs.Converter:
    converter = cattrs.Converter(forbid_extra_keys=True, detailed_validation=True)
    for kind, words in ((str, "text in quotes"), (bool, "true or false"), (int, "a whole number"), (float, "a number")):
        converter.register_structure_hook(kind, _strict(kind, words))
    converter.register_structure_hook(Fraction, lambda value, _: as_fraction(value, what="a ratio"))
    converter.register_unstructure_hook(Fraction, _write_ratio)
    converter.register_structure_hook_func(lambda kind: kind == lathes.Point, _read_point)
    special: dict[tuple[type, str], tuple[Any, Any]] = {
        (lathes.Leadscrew, "lead"): (lambda value, _: _read_lead(value), _write_lead),
        (lathes.GearSet, "teeth"): (_read_counts, list),
        (Lathe, "plate"): (_read_plate, _write_plate),
        (Lathe, "gear_set"): (None, None),
    }
    for section in _section_types():
        reads: dict[str, Any] = {}
        writes: dict[str, Any] = {}
        for (owner, name), (reader, writer) in special.items():
            if owner is section:
                renamed = _FILE_NAMES.get(name)
                reads[name] = override(struct_hook=reader, rename=renamed)
                writes[name] = override(unstruct_hook=writer, rename=renamed)
        converter.register_structure_hook(
            section, _table_only(make_dict_structure_fn(section, converter, _cattrs_forbid_extra_keys=True, **reads))
        )
        converter.register_unstructure_hook(section, make_dict_unstructure_fn(section, converter, **writes))
    return converter


def _section_types() -> tuple[type, ...]:
    """Every attrs class of a lathe file, the innermost first, so that each finds its parts registered."""
    return (
        lathes.Leadscrew, lathes.SpindleSide, lathes.Lever, lathes.GearSet, lathes.Slot, lathes.Bracket,
        lathes.DialGear, lathes.Dial, lathes.Feeds, Lathe,
    )  # fmt: skip


def _read_point(value: object, _: object = None) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise LatheFileError("must be two numbers, like [50, 94]", value=value)
    read_float = _strict(float, "a number")
    return read_float(value[0], float), read_float(value[1], float)


def _table_only(structure: Any) -> Any:
    def check(value: object, kind: type) -> Any:
        if not isinstance(value, Mapping):
            raise LatheFileError("must be a table of keys", value=value)
        return structure(value, kind)

    return check


# From cattrs' tree of exceptions to our words.


def _in_words(problem: Exception, source: str, text: str) -> LatheFileError:
    said = list(dict.fromkeys(_problems(problem, "")))
    lines = [_located(where, words, text) for where, words in said[:_MOST_SHOWN]]
    more = f"\n(and {len(said) - _MOST_SHOWN} more)" if len(said) > _MOST_SHOWN else ""
    joined = lines[0] if len(lines) == 1 else "".join(f"\n- {line.removesuffix('.')}." for line in lines) + more
    return LatheFileError(joined.removesuffix("."), where=source)


def _located(where: str, words: str, text: str) -> str:
    line, where = _line_of(where, text), where.strip()
    place = f"{where} (line {line})" if line else where
    return f"{place}: {words}" if where else words


def _line_of(where: str, text: str) -> int | None:
    """The line that a key stands on; None where it can't be told for sure."""
    section, _, key = where.partition("] ")
    key = re.split(r"[\[.]", key)[0]
    header = re.escape(section.strip("["))
    current, found = not section.startswith("["), []
    for number, line in enumerate(text.splitlines(), 1):
        if re.match(r"\s*\[", line):
            current = re.match(rf"\s*\[\[?\s*{header}\s*\]", line) is not None
        elif current and key and re.match(rf"\s*{re.escape(key)}\s*=", line):
            found.append(number)
    return found[0] if len(found) == 1 else None


def _problems(problem: BaseException, where: str) -> list[tuple[str, str]]:
    if isinstance(problem, (cattrs.ClassValidationError, cattrs.IterableValidationError)):
        noted, plain = problem.group_exceptions()
        inner = [found for each, note in noted for found in _problems(each, where + _step(note, where))]
        return inner + [found for each in plain for found in _problems(each, where)]
    if isinstance(problem, cattrs.ForbiddenExtraKeysError):
        known = [_FILE_NAMES.get(f.name, f.name) for f in attrs.fields(problem.cl)]
        return [(where, str(_unknown_key(key, known))) for key in sorted(problem.extra_fields)]
    if isinstance(problem, GearcalcError):
        inside = (where + problem.where.replace(": [", "[")).removesuffix(": ")
        return [(inside, str(type(problem)(problem.problem, value=problem.value, remedy=problem.remedy)))]
    if isinstance(problem, KeyError):
        key = _FILE_NAMES.get(problem.args[0], problem.args[0])
        return [(where.strip().removesuffix(f"[{key}]").removesuffix(key), f"the key {key} is missing. Add it")]
    return [(where, "this is of another kind than a lathe file takes here. The README shows a lathe file")]


def _step(note: object, where: str) -> str:
    if isinstance(note, cattrs.IterableValidationNote):
        return f"[{note.index}]"
    name = _FILE_NAMES.get(getattr(note, "name", ""), getattr(note, "name", ""))
    if not where:
        kind = getattr(note, "type", None)
        scalar = kind in (str, "str") or name in ("name", "note")
        return name if scalar else f"[{name}] "
    return name if where.endswith("] ") else f".{name}" if not where.endswith("]") else f" {name}"


def _unknown_key(key: str, known: object) -> LatheFileError:
    names = list(known)  # type: ignore[call-overload]
    near = difflib.get_close_matches(key, names, n=1, cutoff=0)
    return LatheFileError(f"the key {quoted(key)} is unknown", remedy=f"The nearest known one is {near[0]!r}.")
