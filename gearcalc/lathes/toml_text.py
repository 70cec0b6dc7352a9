"""The TOML text of a lathe, from its parts."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from attrs import fields

from gearcalc.lathes.levers import BoxLever
from gearcalc.lathes.parts import PlateRow, Show, key_of, keys_of
from gearcalc.lathes.sections import Sections
from gearcalc.lathes.sizes import Fixed, GearTable
from gearcalc.threads.designations import lead_name


def written(lathe: Sections) -> str:
    """The TOML text of a lathe, section by section, a line for each key."""
    feeds, dial, bracket = lathe.feeds, lathe.dial, lathe.bracket
    parts = [_lines({"name": lathe.name, "note": lathe.note or None})]
    parts.append(_section("[leadscrew]", _fields(lathe.leadscrew) | {"lead": lead_name(lathe.leadscrew.lead)}))
    parts.append(_section("[spindle_side]", _fields(lathe.spindle_side)))
    parts += [_section("[[gearbox]]", _fields(lever)) for lever in lathe.gearbox]
    parts += [_section("[[lever]]", _box_lever(lever)) for lever in lathe.box]
    parts.append(_section("[gears]", _gears(lathe.gear_set)))
    parts += [_section("[[more_gears]]", _gears(table)) for table in lathe.more_gears]
    parts += [_section("[bracket]", _fields(bracket))] if bracket else []
    parts += [_section("[dial]", {"gears": [_fields(gear) for gear in dial.gears]})] if dial else []
    parts += [_section("[feeds]", _fields(feeds))] if feeds else []
    parts += [_section("[show]", _fields(lathe.show))] if lathe.show != Show() else []
    parts += [_section("[plate]", {row.thread: _plate_row(row) for row in lathe.plate})] if lathe.plate else []
    return "\n".join(parts)


def _fields(part: Any) -> dict[str, Any]:
    return {key_of(each): getattr(part, each.name) for each in fields(type(part))}


def _gears(table: GearTable) -> dict[str, Any]:
    """The keys of a table of gears, None for what there is not."""
    written_so = {key: getattr(table, key) for key in keys_of(type(table))}
    fixed = written_so.get("fixed")
    clusters = [each if each.module_mm or each.diametral_pitch else each.teeth for each in table.clusters]
    return written_so | {
        "fixed": fixed if fixed is not None and fixed != Fixed() else None,
        "damaged": table.damaged or None,
        "clusters": clusters or None,
    }


def _box_lever(lever: BoxLever) -> dict[str, Any]:
    positions = {at.name: at.ratio if at.same_way else {"ratio": at.ratio, "same_way": False} for at in lever.positions}
    return {"name": lever.name, "side": lever.side, "positions": positions}


def _plate_row(row: PlateRow) -> dict[str, Any]:
    shown = _fields(row)
    del shown["thread"]
    return shown | {"idlers": row.idlers if any(row.idlers) else None}


def _section(header: str, table: Mapping[str, Any]) -> str:
    return f"{header}\n{_lines(table)}"


def _lines(table: Mapping[str, Any]) -> str:
    return "".join(f"{_key(key)} = {inline(value)}\n" for key, value in table.items() if value is not None)


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else inline(key)


def inline(value: Any) -> str:
    """A value as TOML has it, on one line.

    >>> inline(Fraction(1, 2)), inline(True), inline(["low", 3])
    ('"1/2"', 'true', '["low", 3]')
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Fraction):
        return f'"{value}"'
    if isinstance(value, str):  # a TOML string is a JSON string in which DEL is escaped too
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(map(inline, value))}]"
    if isinstance(value, (int, float)):
        return repr(value)
    table = value if isinstance(value, Mapping) else _fields(value)
    pairs = (f"{_key(key)} = {inline(each)}" for key, each in table.items() if each is not None)
    return f"{{ {', '.join(pairs)} }}"
