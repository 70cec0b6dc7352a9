"""The sections of a lathe file as tables, and how they are read into the parts of a Lathe."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from functools import cache, partial
from typing import Any, TypeVar

import cattrs
from attrs import evolve, field, fields, frozen, has
from attrs.validators import optional
from cattrs.gen import make_dict_structure_fn, override

from gearcalc.basics.arguments import as_teeth, plain_text
from gearcalc.basics.errors import (
    GearcalcError,
    LatheFileError,
    UnknownNameError,
    ValueOutOfRangeError,
    quoted,
    without_controls,
)
from gearcalc.basics.exact import PiMultiple, as_fraction
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.levers import BoxLever, check_names, no_name_twice, positions_of, read_position
from gearcalc.lathes.parts import (
    Bracket,
    Dial,
    Feeds,
    Leadscrew,
    Lever,
    PlateRow,
    Point,
    Show,
    SpindleSide,
    a_part,
    as_tuple,
    key_of,
    name_of_some_length,
    parts_of_one_kind,
    some_words,
)
from gearcalc.lathes.sizes import Cluster, GearTable
from gearcalc.lathes.trains import Train
from gearcalc.threads import Thread

_MOST_ENTRIES = 500
_MOST_GEARS = 300
_PLATE_KEYS = ("drivers", "driven", "idlers", "lever")
_POSITION_KEYS = ("ratio", "same_way")
_CLUSTER_KEYS = ("teeth", "module_mm", "diametral_pitch")


@frozen
class Sections:
    """What a lathe file says, section by section: the fields of a Lathe."""

    name: str = field(converter=plain_text, validator=name_of_some_length)
    leadscrew: Leadscrew = field(validator=a_part(Leadscrew))
    gear_set: GearSet = field(validator=a_part(GearSet), metadata={"key": "gears"})
    note: str = field(default="", converter=plain_text, validator=some_words)
    more_gears: tuple[GearTable, ...] = field(
        default=(), converter=as_tuple, validator=parts_of_one_kind(GearTable), kw_only=True
    )
    spindle_side: SpindleSide = field(factory=SpindleSide, validator=a_part(SpindleSide))
    gearbox: tuple[Lever, ...] = field(
        default=(), converter=as_tuple, validator=[parts_of_one_kind(Lever), no_name_twice]
    )
    box: tuple[BoxLever, ...] = field(
        default=(), converter=as_tuple, validator=parts_of_one_kind(BoxLever), metadata={"key": "lever"}
    )
    bracket: Bracket | None = field(default=None, validator=optional(a_part(Bracket)))
    dial: Dial | None = field(default=None, validator=optional(a_part(Dial)))
    feeds: Feeds | None = field(default=None, validator=optional(a_part(Feeds)))
    show: Show = field(factory=Show, validator=a_part(Show))
    plate: tuple[PlateRow, ...] = field(default=(), converter=as_tuple, validator=parts_of_one_kind(PlateRow))

    @gear_set.validator
    def _not_too_many(self, _: object, value: GearSet) -> None:
        if len(value.teeth) > _MOST_GEARS:
            raise ValueOutOfRangeError(f"at most {_MOST_GEARS} gears are taken here", where="gears")

    @box.validator
    def _levers_go_together(self, _: object, value: tuple[BoxLever, ...]) -> None:
        if value and self.gearbox:
            raise ValueOutOfRangeError(
                "a lathe has [[gearbox]] or [[lever]], not both",
                where="lever",
                remedy="[[lever]] is for a box with several levers whose ratios multiply. Where they don't, write a "
                "[[gearbox]] for each way in which they can stand.",
            )
        try:
            check_names(value)
            positions_of(value)
        except GearcalcError as problem:
            raise problem.at("lever") from None

    @more_gears.validator
    def _go_together(self, _: object, value: tuple[GearTable, ...]) -> None:
        if sum(len(table.teeth) for table in value) > _MOST_GEARS:
            raise ValueOutOfRangeError(f"at most {_MOST_GEARS} gears are taken here", where="more_gears")
        try:
            evolve(self.gear_set, more=value)
        except GearcalcError as problem:
            raise problem.at("more_gears") from None

    def __attrs_post_init__(self) -> None:
        more = self.gear_set.more or self.more_gears
        object.__setattr__(self, "more_gears", more)
        whole = (more, self.spindle_side.takes_bore_mm, self.leadscrew.takes_bore_mm)
        if whole != (self.gear_set.more, self.gear_set.first_bore_mm, self.gear_set.last_bore_mm):
            of_all = evolve(self.gear_set, more=more, first_bore_mm=whole[1], last_bore_mm=whole[2])
            object.__setattr__(self, "gear_set", of_all)  # the one rule knows all of the lathe's gears
        named = [self._as_named(row.lever) for row in self.plate]
        if named != [row.lever for row in self.plate]:
            plate = tuple(evolve(row, lever=lever) for row, lever in zip(self.plate, named, strict=True))
            object.__setattr__(self, "plate", plate)

    def _as_named(self, lever: str | None) -> str | None:
        """A position as the lathe names it; what is none stays as it was written, for whoever checks the plate."""
        every = self.gearbox or positions_of(self.box)
        if lever is None:
            return every[0].name if len(every) == 1 else None
        try:
            return read_position(lever, self.box) if self.box else lever
        except UnknownNameError:
            return lever


_Described = TypeVar("_Described", bound=Sections)
_Entry = TypeVar("_Entry")


class UnknownKeyError(LatheFileError):
    """A key that a plate row, or the position of a lever, doesn't have; `value` names those that it has."""


def structured(table: Mapping[str, object], kind: type[_Described]) -> _Described:
    """The lathe, of that kind, that a table from TOML describes.

    >>> structured({"name": "A", "leadscrew": {"lead": "3 mm"}, "gears": {"teeth": [20, 60]}}, Sections).gear_set.teeth
    (20, 60)

    Raises what cattrs raises: a tree of exceptions, those of this package among them.
    """
    _check_sizes(table, "")
    return _converter().structure(table, kind)


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


def read_lead(value: object) -> Fraction:
    """Read a leadscrew's lead as a lathe file or a box gives it, mm.

    >>> read_lead("8 tpi"), read_lead("1001/3000 mm")
    (Fraction(127, 40), Fraction(1001, 3000))

    Raises LatheFileError or ThreadTextError for what is no lead in mm or tpi, and where a hand is said too: the lead
    has no place for it, so it would be lost.
    """
    if not isinstance(value, str):
        raise LatheFileError("must be text with its unit", value=value, remedy="Write '8 tpi' or '3 mm'.")
    in_mm = re.fullmatch(r"\s*(\d+/\d+)\s*mm\s*", value, re.A)
    if in_mm:  # an odd lead may have more digits than a thread's text takes
        return as_fraction(in_mm[1])
    lead = Thread.parse(value).lead
    if isinstance(lead, PiMultiple):
        raise LatheFileError("must be a lead in mm or tpi", value=value, remedy="Write '8 tpi' or '3 mm'.")
    if re.search(r"\b[LR]H|hand", value, re.I):
        raise LatheFileError(
            "must not say the hand", value=value, remedy='The lathe file has a line for it: hand = "left".'
        )
    return lead


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
    return _read_each(value, "tooth counts, like [40, 80]", partial(as_teeth, what="this"))


def _read_each(value: object, of: str, read: Callable[[object], _Entry]) -> tuple[_Entry, ...]:
    """What a list holds, entry by entry."""
    if not isinstance(value, list):
        raise LatheFileError(f"must be a list of {of}", value=value)
    found = []
    for place, given in enumerate(value, 1):
        try:
            found.append(read(given))
        except GearcalcError as problem:
            raise problem.at(f"entry {place}") from None
    return tuple(found)


def _read_point(value: object, _: object = None) -> tuple[float, float]:
    if not isinstance(value, list) or len(value) != 2:
        raise LatheFileError("must be two numbers, like [50, 94]", value=value)
    return _as_float(value[0]), _as_float(value[1])


# The plate: its keys are threads, so it is read by hand.


def _read_plate(value: object, _: object = None) -> tuple[PlateRow, ...]:
    if not isinstance(value, Mapping):
        raise LatheFileError('must be a table of threads, like "16 tpi" = { drivers = [40], driven = [80] }')
    return tuple(_read_plate_row(thread, row) for thread, row in value.items())


def _read_plate_row(thread: str, row: object) -> PlateRow:
    try:
        if without_controls(thread) != thread or "\n" in thread:
            raise LatheFileError("a thread is written in printable signs, on one line")
        Thread.parse(thread)
        if not isinstance(row, Mapping):
            raise LatheFileError("must be a table like { drivers = [40], driven = [80] }", value=row)
        for key in row:
            if key not in _PLATE_KEYS:
                raise UnknownKeyError(key, value=_PLATE_KEYS)
        for key in ("drivers", "driven"):
            if key not in row:
                raise LatheFileError(f"the key {key} is missing", remedy=f"Add {key} = [ ... ].")
        idlers = row.get("idlers", [])
        if not isinstance(idlers, list):
            raise LatheFileError("idlers must be a list, one list a mesh, like [[60]]", value=idlers)
        lever = row.get("lever")
        if lever is not None and not isinstance(lever, str):
            remedy = 'Write lever = "slow"; with several levers each in one text, lever = "range slow, knob C".'
            raise LatheFileError("lever must be the name of a position, in quotes", value=lever, remedy=remedy)
        sides = []
        for key in ("drivers", "driven"):
            try:
                sides.append(_read_counts(row[key]))
            except GearcalcError as problem:
                raise problem.at(key) from None
        train = Train(sides[0], sides[1], idlers)
    except GearcalcError as problem:
        raise problem.at(quoted(thread)) from None
    return PlateRow(thread, train.drivers, train.driven, train.idlers, lever)


# Two gears in one piece.


def _read_clusters(value: object, _: object = None) -> tuple[Cluster, ...]:
    return _read_each(value, "pairs, like [[40, 50]]", _read_cluster)


def _read_cluster(given: object) -> Cluster:
    table = given if isinstance(given, Mapping) else {"teeth": given}
    for key in table:
        if key not in _CLUSTER_KEYS:
            raise UnknownKeyError(key, value=_CLUSTER_KEYS)
    if "teeth" not in table:
        raise LatheFileError("the key teeth is missing", remedy="Add teeth = [ ... ], two tooth counts")
    sizes = {key: _read_numbers(key, table[key]) for key in _CLUSTER_KEYS[1:] if key in table}
    return Cluster(_read_counts(table["teeth"]), **sizes)


def _read_numbers(key: str, value: object) -> tuple[float, ...]:
    if not isinstance(value, list):
        raise LatheFileError("must be two numbers, one for each gear, like [1.25, 1]", value=value, where=key)
    return tuple(_as_float(each) for each in value)


# The positions of a lever: their keys are names.


def _read_positions(value: object, _: object = None) -> tuple[Lever, ...]:
    if not isinstance(value, Mapping):
        raise LatheFileError(
            "must be a table of names and ratios", value=value, remedy='Write it like { slow = "1/2", fast = "1" }.'
        )
    return tuple(_read_position(name, given) for name, given in value.items())


def _read_position(name: str, given: object) -> Lever:
    table = given if isinstance(given, Mapping) else {"ratio": given}
    try:
        for key in table:
            if key not in _POSITION_KEYS:
                raise UnknownKeyError(key, value=_POSITION_KEYS)
        if "ratio" not in table:
            raise LatheFileError("the key ratio is missing", remedy="Add it")
        same_way = _strict(bool, "true or false")(table.get("same_way", True))
        return Lever(name, as_fraction(table["ratio"], what="this"), same_way)
    except GearcalcError as problem:
        raise problem.at(quoted(name)) from None


@cache
def _converter() -> cattrs.Converter:
    converter = cattrs.Converter(detailed_validation=True)
    for kind, words in ((str, "text in quotes"), (bool, "true or false"), (int, "a whole number")):
        converter.register_structure_hook(kind, _strict(kind, words))
    converter.register_structure_hook(float, _as_float)
    converter.register_structure_hook(Fraction, lambda value, _: as_fraction(value, what="this"))
    converter.register_structure_hook_func(lambda kind: kind == Point, _read_point)
    converter.register_structure_hook_factory(has, lambda section: _read_section(section, converter))
    return converter


def _read_section(section: type, converter: cattrs.Converter) -> Callable[..., Any]:
    """What reads a table of the file into its class: some keys in a way of their own, or under another name."""
    whole = issubclass(section, Sections)
    keys = {each.name: override(rename=key_of(each)) for each in fields(section) if key_of(each) != each.name}
    keys |= {each.name: override(omit=True) for each in fields(section) if each.metadata.get("elsewhere")}
    keys |= {name: override(struct_hook=reader) for name, reader in _READERS.get(Sections if whole else section, ())}
    structure: Any = make_dict_structure_fn(section, converter, _cattrs_forbid_extra_keys=True, **keys)  # type: ignore[arg-type]
    lists = _LISTS.get(Sections if whole else section, {})

    def read(value: object, kind: type) -> Any:
        if isinstance(value, list):
            raise LatheFileError(
                "must be one table", remedy="Write its name in single brackets, or its keys in braces."
            )
        if not isinstance(value, Mapping):
            raise LatheFileError("must be a table of keys", value=value)
        for key, remedy in lists.items():
            if key in value and not isinstance(value[key], list):
                raise LatheFileError("must be a list", where=key, remedy=remedy)
        return structure(value, kind)

    return read


_GEAR_LISTS = [("teeth", _read_counts), ("damaged", _read_counts), ("clusters", _read_clusters)]
_READERS: Mapping[type, Sequence[tuple[str, Callable[..., Any]]]] = {
    Leadscrew: [("lead", lambda value, _: read_lead(value))],
    GearSet: _GEAR_LISTS,
    GearTable: _GEAR_LISTS,
    BoxLever: [("positions", _read_positions)],
    Sections: [("plate", _read_plate)],
}
_LISTS: Mapping[type, Mapping[str, str]] = {
    Sections: {
        "gearbox": "Write it in double brackets, [[gearbox]], once for each position of the lever.",
        "lever": "Write it in double brackets, [[lever]], once for each lever of the box.",
        "more_gears": "Write it in double brackets, [[more_gears]], once for each other size of tooth.",
    },
    Bracket: {"slots": "Write [{ from_mm = [...], to_mm = [...] }].", "cover_mm": "Write [[0, 0], [100, 0], ...]."},
    Dial: {"gears": "Write [{ teeth = 16, lines = 8 }]."},
}
