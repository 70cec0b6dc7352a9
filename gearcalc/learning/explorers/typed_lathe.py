"""The lathe of the bench page: a demo lathe or a file, with the gears, leadscrew and levers that someone typed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Any

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.arguments import shown
from gearcalc.basics.errors import GearcalcError, LatheFileError, ValueOutOfRangeError
from gearcalc.basics.exact import as_fraction
from gearcalc.lathes import Lathe, Lever, demo_lathe
from gearcalc.lathes.levers import AHEAD, OTHER_WAY, BoxLever, before_its_ratio, each_in_words
from gearcalc.lathes.sections import read_lead
from gearcalc.learning.explorers import typed
from gearcalc.threads.designations import lead_name

FROM_FILE = "file"
"""The lathe that the lathe file on the page describes."""
LATHES = {"inch": "inch demo", "metric": "metric demo", "odd": "odd demo", FROM_FILE: "lathe file below"}
"""The lathes to begin with, and what their buttons say."""

_MOST_LEVERS, _MOST_CHARACTERS = 12, 400
_RATIO = re.compile(r"[0-9]+(?:[./][0-9]+)?", re.ASCII)
_LEVER = re.compile(rf"(?:(?P<name>.*?[^-+−\s=:×])(?P<sign>[ =:×]+))?(?P<ratio>{_RATIO.pattern})", re.ASCII)
_ONE_OF_SEVERAL = re.compile(
    rf"(?P<name>[^:,]{{1,100}}?)(?P<ahead>{re.escape(AHEAD)})?\s*:(?P<positions>.*)", re.DOTALL
)
_BEGINS_AGAIN = ("gears", "leadscrew", "levers", "thread", "train", "pairs", "listed")


def read_bench_lathe(
    lathe: str | Lathe,
    file: str = "",
    gears: str | None = None,
    leadscrew: str | None = None,
    levers: str | None = None,
) -> Lathe:
    """The lathe to begin with, and on it what was typed.

    >>> mine = read_bench_lathe("inch", "", "20 40 40 127", "3 mm", "")
    >>> mine.gears, mine.leadscrew_lead_mm, mine.levers
    ((20, 40, 40, 127), Fraction(3, 1), {})

    `lathe`: a key of LATHES, or a Lathe; `file`: the text of a lathe file; `leadscrew`: like '8 tpi' or '3 mm';
    `levers`: like 'low 1/2, high 1' or '1: 1/2, 2: 1', or of several 'range: slow 1/2, fast 1; gear: A 2/3, B 3/4';
    nothing where there is no gearbox; None for the lathe's own.
    What the lathe's plate lists stays with it only while gears, leadscrew and levers do.
    Raises our errors, each saying which box it speaks of.
    """
    start = lathe if isinstance(lathe, Lathe) else _begin_with(lathe, file)
    texts = lathe_texts(start)
    lead, gearbox, box = start.leadscrew.lead, start.gearbox, start.box
    owned = start.gear_set if gears is None else typed.read_gear_set(start.gear_set, gears)
    if leadscrew not in (None, texts["leadscrew"]):
        lead = _read_leadscrew(leadscrew)
    if levers not in (None, texts["levers"]):
        box = _read_several(levers)
        gearbox = () if box else _read_levers(levers)
        if not box and {lever.name: lever.ratio for lever in gearbox} == start.levers:
            gearbox = start.gearbox  # what stands there knows how each turns
    own = evolve(
        start, gear_set=owned, leadscrew=evolve(start.leadscrew, lead=lead), gearbox=gearbox, box=box, plate=()
    )
    as_it_was = (own.gears, lead, own.levers, box) == (start.gears, start.leadscrew.lead, start.levers, start.box)
    return start if as_it_was else own


def lathe_texts(lathe: Lathe) -> dict[str, str]:
    """What stands in the boxes for a lathe.

    >>> lathe_texts(demo_lathe("inch"))["levers"]
    'low 1/2, middle 1, high 2'
    """
    return {
        "gears": typed.gears_text(lathe.gear_set),
        "leadscrew": lead_name(lathe.leadscrew.lead),
        "levers": each_in_words(lathe.box)
        or ", ".join(f"{before_its_ratio(lever.name)} {writing.ratio(lever.ratio)}" for lever in lathe.gearbox),
    }


def _has_a_letter(name: str) -> bool:
    return any(map(str.isalpha, name))


def settle(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, Any]:
    """What the boxes come to after a move: another lathe brings its own texts, another question the first answer.

    >>> old = {"lathe": "inch", "file": "", "gears": "20 30", "answer": 3}
    >>> settle(old, old | {"lathe": "metric"})["leadscrew"]
    '3 mm'

    Raises LatheFileError for a lathe file that can't be read.
    """
    now = dict(after)
    if now.get("file") != before.get("file"):
        now |= {"lathe": FROM_FILE, **lathe_texts(_begin_with(FROM_FILE, now["file"]))}
    elif now["lathe"] != before["lathe"]:
        start = _begin_with(now["lathe"], now["file"])
        now |= lathe_texts(start)
        if now["lathe"] != FROM_FILE:
            now["file"] = start.to_toml()
    if any(now.get(name) != before.get(name) for name in _BEGINS_AGAIN):
        now["answer"] = 1
    return now


def _begin_with(lathe: str, file: str) -> Lathe:
    if typed.one_of(lathe, "the lathe", LATHES) == FROM_FILE and not isinstance(file, str):
        raise LatheFileError("a lathe is described in text", value=shown(file), where="lathe file")
    return _from_file(file) if lathe == FROM_FILE else demo_lathe(lathe)


@lru_cache(maxsize=8)
def _from_file(text: str) -> Lathe:
    return Lathe.from_toml(text, source="lathe file")


def _read_leadscrew(text: object) -> Fraction:
    if isinstance(text, str) and not text.strip():
        raise ValueOutOfRangeError("leadscrew: nothing is written", remedy="Write '8 tpi' or '3 mm'.")
    try:
        return read_lead(text)
    except GearcalcError as problem:
        raise problem.at("leadscrew") from None


def _read_several(text: object) -> tuple[BoxLever, ...]:
    """The levers of a box with several, each with its name before its positions; none for any other text."""
    if not isinstance(text, str) or len(text) > _MOST_CHARACTERS:
        return ()
    found = [_ONE_OF_SEVERAL.fullmatch(each.strip()) for each in text.split(";") if each.strip()]
    box = []
    for match in found:
        if match is None or _RATIO.fullmatch(match["positions"].split(",")[0].strip()):  # a position: '1: 1/2'
            return ()
        try:
            side = "spindle" if match["ahead"] else "leadscrew"
            box.append(BoxLever(match["name"].strip(), _read_levers(match["positions"]), side))
        except GearcalcError as problem:
            raise problem if problem.problem.startswith("levers: ") else problem.at("levers") from None
    return tuple(box)


def _read_levers(text: object) -> tuple[Lever, ...]:
    if not isinstance(text, str) or len(text) > _MOST_CHARACTERS:
        raise ValueOutOfRangeError(f"levers: this takes a text of at most {_MOST_CHARACTERS} characters", value=text)
    pieces = [piece.strip() for piece in re.split(r"[,;]", text) if piece.strip()]
    if len(pieces) > _MOST_LEVERS:
        raise ValueOutOfRangeError(f"levers: this takes at most {_MOST_LEVERS} positions", value=len(pieces))
    return tuple(_read_lever(piece) for piece in pieces)


def _read_lever(piece: str) -> Lever:
    same_way = not piece.endswith(OTHER_WAY)
    found = _LEVER.fullmatch(piece.removesuffix(OTHER_WAY))
    if found is None or (found["name"] and not _has_a_letter(found["name"]) and not found["sign"].strip()):
        raise ValueOutOfRangeError(
            "levers: a position is a name and a ratio",
            value=piece,
            remedy="Write 'low 1/2, high 1' or '1: 1/2, 2: 1': leadscrew turns for one turn of the last driven gear.",
        )
    try:
        return Lever((found["name"] or found["ratio"]).strip(), as_fraction(found["ratio"], what="a ratio"), same_way)
    except GearcalcError as problem:
        raise problem.at("levers") from None
