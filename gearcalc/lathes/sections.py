"""The sections of a lathe file as tables: into the parts of a Lathe, and from them to TOML text."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cache
from typing import Any

import cattrs
from cattrs.gen import make_dict_structure_fn, override

from gearcalc.basics.arguments import as_teeth
from gearcalc.basics.errors import GearcalcError, LatheFileError, quoted, without_controls
from gearcalc.basics.exact import INCH_MM, PiMultiple, as_fraction
from gearcalc.basics.writing import number
from gearcalc.lathes import parts
from gearcalc.lathes.lathe import Lathe
from gearcalc.lathes.trains import Train
from gearcalc.threads import Thread

FILE_NAMES = {"gear_set": "gears"}
"""Field of a Lathe -> key in the file, where they differ."""
_MOST_ENTRIES = 500
PLATE_KEYS = ("drivers", "driven", "idlers", "lever")


class UnknownKeyError(LatheFileError):
    """A key that a plate row doesn't have."""


def structured(table: Mapping[str, object]) -> Lathe:
    """The lathe that a table from TOML describes.

    >>> structured({"name": "A", "leadscrew": {"lead": "3 mm"}, "gears": {"teeth": [20, 60]}}).gears
    (20, 60)

    Raises what cattrs raises: a tree of exceptions, those of this package among them.
    """
    _check_sizes(table, "")
    return _converter().structure(table, Lathe)


def _check_sizes(value: object, where: str) -> None:
    """Refuse what is far longer than any lathe's, before time is spent on each entry."""
    if not isinstance(value, (Mapping, list)):
        return
    if len(value) > _MOST_ENTRIES:
        raise LatheFileError(f"takes at most {_MOST_ENTRIES} entries", value=len(value), where=where)
    named = value.items() if isinstance(value, Mapping) else ((where, each) for each in value)
    for key, each in named:
        _check_sizes(each, where or str(key))


# Values that TOML has no word for.


def _read_lead(value: object, _: object = None) -> Fraction:
    if not isinstance(value, str):
        raise LatheFileError("must be text with its unit", value=value, remedy="Write '8 tpi' or '3 mm'.")
    in_mm = re.fullmatch(r"\s*(\d+/\d+)\s*mm\s*", value, re.A)
    if in_mm:  # an odd lead may have more digits than a thread's text takes
        return as_fraction(in_mm[1])
    thread = Thread.parse(value)
    if isinstance(thread.lead, PiMultiple):
        raise LatheFileError("must be a lead in mm or tpi", value=value, remedy="Write '8 tpi' or '3 mm'.")
    if thread.hand == "left":
        raise LatheFileError("must not say the hand", value=value, remedy='Write hand = "left" below it.')
    return thread.lead


def _lead_text(lead: Fraction) -> str:
    per_inch = INCH_MM / lead
    if (per_inch * 2).denominator == 1:
        return f"{number(per_inch)} tpi"
    return f"{number(lead)} mm"


def _strict(kind: type, words: str) -> Any:
    def check(value: object, _: object = None) -> Any:
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            raise LatheFileError(f"must be {words}", value=value)
        return value

    return check


def _as_float(value: object, _: object = None) -> float:
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        raise LatheFileError("must be a number", value=value)
    if not abs(value) <= 1e6:  # so nan is refused too
        raise LatheFileError("must be a number of ordinary size", value=value)
    return float(value)


def _read_counts(value: object, _: object = None) -> tuple[int, ...]:
    if not isinstance(value, list):
        raise LatheFileError("must be a list of tooth counts, like [40, 80]", value=value)
    counts = []
    for place, teeth in enumerate(value, 1):
        try:
            counts.append(as_teeth(teeth, what="this"))
        except GearcalcError as problem:
            raise problem.at(f"entry {place}") from None
    return tuple(counts)


def _read_point(value: object, _: object = None) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise LatheFileError("must be two numbers, like [50, 94]", value=value)
    return _as_float(value[0]), _as_float(value[1])


# The plate: its keys are threads, so it is read by hand.


def _read_plate(value: object, _: object = None) -> tuple[parts.PlateRow, ...]:
    if not isinstance(value, Mapping):
        raise LatheFileError('must be a table of threads, like "16 tpi" = { drivers = [40], driven = [80] }')
    return tuple(_read_plate_row(thread, row) for thread, row in value.items())


def _read_plate_row(thread: str, row: object) -> parts.PlateRow:
    try:
        if without_controls(thread) != thread or "\n" in thread:
            raise LatheFileError("a thread is written in printable signs, on one line")
        Thread.parse(thread)
        if not isinstance(row, Mapping):
            raise LatheFileError("must be a table like { drivers = [40], driven = [80] }", value=row)
        for key in row:
            if key not in PLATE_KEYS:
                raise UnknownKeyError(key)
        for key in ("drivers", "driven"):
            if key not in row:
                raise LatheFileError(f"the key {key} is missing", remedy=f"Add {key} = [ ... ].")
        idlers = row.get("idlers", [])
        if not isinstance(idlers, list):
            raise LatheFileError("idlers must be a list, one list a mesh, like [[60]]", value=idlers)
        lever = row.get("lever")
        if lever is not None and not isinstance(lever, str):
            raise LatheFileError("lever must be the name of a position", value=lever)
        sides = []
        for key in ("drivers", "driven"):
            try:
                sides.append(_read_counts(row[key]))
            except GearcalcError as problem:
                raise problem.at(key) from None
        train = Train(sides[0], sides[1], idlers)
    except GearcalcError as problem:
        raise problem.at(quoted(thread)) from None
    return parts.PlateRow(thread, train.drivers, train.driven, train.idlers, lever)


@cache
def _converter() -> cattrs.Converter:
    converter = cattrs.Converter(forbid_extra_keys=True, detailed_validation=True)
    for kind, words in ((str, "text in quotes"), (bool, "true or false"), (int, "a whole number")):
        converter.register_structure_hook(kind, _strict(kind, words))
    converter.register_structure_hook(float, _as_float)
    converter.register_structure_hook(Fraction, lambda value, _: as_fraction(value, what="this"))
    converter.register_structure_hook_func(lambda kind: kind == parts.Point, _read_point)
    readers: dict[tuple[type, str], Callable[..., Any]] = {
        (parts.Leadscrew, "lead"): _read_lead,
        (parts.GearSet, "teeth"): _read_counts,
        (Lathe, "plate"): _read_plate,
    }
    for section in _PARTS:
        special = {name: override(struct_hook=reader) for (owner, name), reader in readers.items() if owner is section}
        if section is Lathe:
            special |= {field: override(rename=key) for field, key in FILE_NAMES.items()}
        read = make_dict_structure_fn(section, converter, _cattrs_forbid_extra_keys=True, **special)  # type: ignore[arg-type]
        converter.register_structure_hook(section, _tables_only(section, read))
    return converter


# Every attrs class of a lathe file, the innermost first, so that each finds its parts registered.
_PARTS = (
    parts.Leadscrew,
    parts.SpindleSide,
    parts.Lever,
    parts.GearSet,
    parts.Slot,
    parts.Bracket,
    parts.DialGear,
    parts.Dial,
    parts.Feeds,
    Lathe,
)


_LISTS: dict[type, dict[str, str]] = {
    Lathe: {"gearbox": "Write it in double brackets, [[gearbox]], once for each position of the lever."},
    parts.Bracket: {
        "slots": "Write [{ from_mm = [...], to_mm = [...] }].",
        "cover_mm": "Write [[0, 0], [100, 0], ...].",
    },
    parts.Dial: {"gears": "Write [{ teeth = 16, lines = 8 }]."},
}


def _tables_only(section: type, structure: Callable[..., Any]) -> Callable[..., Any]:
    def check(value: object, kind: type) -> Any:
        if isinstance(value, list):
            raise LatheFileError(
                "must be one table", remedy="Write its name in single brackets, or its keys in braces."
            )
        if not isinstance(value, Mapping):
            raise LatheFileError("must be a table of keys", value=value)
        for key, remedy in _LISTS.get(section, {}).items():
            if key in value and not isinstance(value[key], list):
                raise LatheFileError("must be a list", where=key, remedy=remedy)
        return structure(value, kind)

    return check


# Writing.


def written(lathe: Lathe) -> str:
    """The TOML text of a lathe, section by section, a line for each key."""
    feeds, dial, bracket = lathe.feeds, lathe.dial, lathe.bracket
    parts = [_lines({"name": lathe.name, "note": lathe.note or None})]
    parts.append(_section("[leadscrew]", {"lead": _lead_text(lathe.leadscrew.lead), "hand": lathe.leadscrew.hand}))
    parts.append(_section("[spindle_side]", _fields(lathe.spindle_side)))
    parts += [_section("[[gearbox]]", _fields(lever)) for lever in lathe.gearbox]
    parts.append(_section("[gears]", _fields(lathe.gear_set)))
    parts += [_section("[bracket]", _fields(bracket))] if bracket else []
    parts += [_section("[dial]", {"gears": [_fields(gear) for gear in dial.gears]})] if dial else []
    parts += [_section("[feeds]", _fields(feeds))] if feeds else []
    parts += [_section("[plate]", {row.thread: _plate_row(row) for row in lathe.plate})] if lathe.plate else []
    return "\n".join(parts)


def _fields(part: Any) -> dict[str, Any]:
    return {field.name: getattr(part, field.name) for field in type(part).__attrs_attrs__}


def _plate_row(row: parts.PlateRow) -> dict[str, Any]:
    shown = _fields(row)
    del shown["thread"]
    return shown | {"idlers": row.idlers if any(row.idlers) else None}


def _section(header: str, table: Mapping[str, Any]) -> str:
    return f"{header}\n{_lines(table)}"


def _lines(table: Mapping[str, Any]) -> str:
    return "".join(f"{_key(key)} = {_inline(value)}\n" for key, value in table.items() if value is not None)


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else _inline(key)


def _inline(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Fraction):
        return f'"{value}"'
    if isinstance(value, str):  # a TOML string is a JSON string in which DEL is escaped too
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(map(_inline, value))}]"
    if isinstance(value, (int, float)):
        return repr(value)
    table = value if isinstance(value, Mapping) else _fields(value)
    pairs = (f"{_key(key)} = {_inline(each)}" for key, each in table.items() if each is not None)
    return f"{{ {', '.join(pairs)} }}"
