"""How a train may be written: drivers over driven, pair by pair, gear by gear as on a plate, or key by key as in JSON.

A small grammar of our own, length-capped; nothing is ever evaluated.
"""

from __future__ import annotations

import json
import re
from typing import Any

from gearcalc.basics.errors import GearcalcError, ValueOutOfRangeError, quoted

Gears = tuple[int, ...]
"""Tooth counts."""
Read = tuple[Any, Any, Any]
"""Drivers, driven, and the idlers a list a mesh, None where the text names none."""

ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth")
_LONGEST_TEXT = 20_000
_SIDE = r"\(?((?:\d{1,4}(?: ?x ?| )){0,5}\d{1,4})\)?"
_PAIR = r"\(?\d{1,4} ?/ ?\d{1,4}\)?"
_IDLERS = rf"s? (\d{{1,4}}(?: (?:and )?\d{{1,4}}){{0,5}})(?: in the ({'|'.join(ORDINALS)}) mesh)?"
_NEXT_PAIR = r"(?: ?x ?| |(?<=\))(?=\())"
_ARROW = re.compile(r" ?(?:→|->) ?")
_MARK = re.compile(r"(.*\d\)?) ?([a-z]{1,2} ?\))", re.I)
_NAMED = re.compile(r'"train" ?: ?("(?:[^"\\\x00-\x1f]|\\["\\/bfnrt]|\\u[0-9a-f]{4})*")', re.I)
_KEYED = re.compile(r"\b(drivers|driven|idlers)\b[\"']? ?[:=] ?(?=[\[(])")


def read_train(text: object) -> Read:
    """Read a train written in any way in which this package writes one, and as the trade does.

    >>> read_train("(40 · 30)/(80 · 60), idler 50 in the second mesh")
    ([40, 30], [80, 60], [[], [50]])
    >>> read_train("40→80+30→(50)→60") == read_train('{"drivers": [40, 30], "driven": [80, 60], "idlers": [[], [50]]}')
    True

    `text`: at most 20 000 characters. Tooth counts are not judged here. Raises ValueOutOfRangeError for anything else.
    """
    if not isinstance(text, str) or len(text) > _LONGEST_TEXT:
        raise not_a_train(text)
    text = str.__str__(text)  # another's kind of text may do anything
    keyed = [(found[1], found.end()) for found in _KEYED.finditer(text)]
    if keyed:
        return _by_key(text, keyed)
    if _ARROW.search(text):
        return _gear_by_gear(text)
    return _over(text)


def as_written_in(text: object) -> object:
    """The train that JSON or the like has under the key train, where all is said that its tooth counts alone don't
    tell; anything else as it is.

    >>> as_written_in('{"train": "40/80, idler 25", "drivers": [40]}'), as_written_in("40/80")
    ('40/80, idler 25', '40/80')
    """
    found = _NAMED.findall(text) if isinstance(text, str) and len(text) <= _LONGEST_TEXT else []
    return json.loads(found[0]) if len(found) == 1 else text


def _over(text: str) -> Read:
    shown, idle, named = _plain(text).partition(" idler")
    idlers = _idlers_named(named, text) if idle else None
    one_fraction = re.fullmatch(rf"{_SIDE} ?/ ?{_SIDE}", shown, re.A)
    if one_fraction is not None:
        return _counts(one_fraction[1]), _counts(one_fraction[2]), idlers
    if re.fullmatch(rf"{_PAIR}(?:{_NEXT_PAIR}{_PAIR}){{1,5}}", shown, re.A) is None:
        raise not_a_train(text)
    drivers_and_driven = _counts(shown)
    return drivers_and_driven[::2], drivers_and_driven[1::2], idlers


def _plain(text: str) -> str:
    for sign in "·⋅×*X":
        text = text.replace(sign, "x")
    return " ".join(re.sub("[,;]", " ", text.lower()).split())


def _gear_by_gear(text: str) -> Read:
    """As a plate has it: → meshes with, + on one stud; what stands between driver and driven is an idler."""
    marked = _MARK.fullmatch(" ".join(text.split()))
    if marked is not None:
        raise ValueOutOfRangeError(
            f"{quoted(text)} ends with a mark, '{marked[2]}', and what that means stands only below the plate's rows",
            remedy="Leave it out, and write behind a comma what the key below says of it, like "
            f"'{marked[1]}, first mesh of module 1'.",
        )
    meshes = [_ARROW.split(" ".join(mesh.split())) for mesh in text.split("+")]
    gears = [[re.fullmatch(r"\d{1,4}|\( ?\d{1,4} ?\)", gear, re.A) for gear in mesh] for mesh in meshes]
    if len(meshes) > len(ORDINALS) or any(len(mesh) < 2 or None in mesh for mesh in gears):
        raise not_a_train(text)
    if any("(" in end for mesh in meshes for end in (mesh[0], mesh[-1])):
        raise ValueOutOfRangeError("a gear in brackets is an idler, and a mesh begins and ends with none", value=text)
    counts = [[int(gear.strip("( )")) for gear in mesh] for mesh in meshes]
    idlers = [mesh[1:-1] for mesh in counts]
    return [mesh[0] for mesh in counts], [mesh[-1] for mesh in counts], idlers if any(idlers) else None


def _by_key(text: str, keyed: list[tuple[str, int]]) -> Read:
    """As JSON, a lathe file's plate or Python has it; other keys beside these are passed over."""
    said: dict[str, Any] = {}
    for key, start in keyed:
        listed = re.match(r"[\[(][\d\s,()\[\]]*[\])]", text[start : start + 400], re.A)
        if key in said or listed is None:
            raise not_a_train(text)
        said[key] = _list(listed[0])
    if not {"drivers", "driven"} <= said.keys() or None in said.values():
        raise not_a_train(text)
    return said["drivers"], said["driven"], said.get("idlers")


def _list(text: str) -> list[Any] | None:
    """The list that a text begins with, in brackets of either kind, at most one deep in another; None for no list."""
    text = re.sub(r",\s*\]", "]", text.translate(str.maketrans("()", "[]")))
    depth, end = 0, 0
    for end, sign in enumerate(text, 1):  # noqa: B007
        depth += (sign == "[") - (sign == "]")
        if depth == 0 or depth > 2:
            break
    try:
        listed = json.loads(text[:end])
    except ValueError:
        return None
    return listed if isinstance(listed, list) else None


def _idlers_named(named: str, text: str) -> list[list[int]]:
    """Idlers behind the first 'idler', a list a mesh."""
    if re.fullmatch(rf"{_IDLERS}(?: idler{_IDLERS}){{0,5}}", named, re.A) is None:
        remedy = "Write 'idler 40', or 'idler 40 in the second mesh', behind the drivers over the driven."
        raise ValueOutOfRangeError(f"the idlers in {quoted(text)} are not understood", remedy=remedy)
    meshes: list[list[int]] = [[] for _ in ORDINALS]
    for counts, ordinal in re.findall(_IDLERS, named, re.A):
        mesh = meshes[ORDINALS.index(ordinal or "first")]
        if mesh:
            raise ValueOutOfRangeError("the idlers of a mesh are given twice", value=text)
        mesh += _counts(counts)
    while meshes and not meshes[-1]:
        meshes.pop()
    return meshes


def _counts(text: str) -> list[int]:
    return [int(count) for count in re.findall(r"\d+", text, re.A)]


def not_a_train(text: object) -> GearcalcError:
    """The error for what is no train."""
    return ValueOutOfRangeError(
        f"{quoted(text)} is not understood as a train",
        remedy="Write drivers over driven, like '40/80' or '(40 · 30)/(80 · 60)'.",
    )
