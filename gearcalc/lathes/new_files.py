"""A lathe file to begin with: every key there is, each with a word on what it means, and what is known filled in."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from typing import TypeAlias

from gearcalc.basics.files import data_folder
from gearcalc.lathes.toml_text import inline

_HEADER = re.compile(r"#?(?P<header>\[+(?P<section>\w+)\]+.*)")
_KEY = re.compile(r"#?(?P<key>\w+) = .*?(?P<words> +# .*)?")
Position: TypeAlias = tuple[str, Fraction]
"""Where a lever can stand, and the ratio there."""
_WORDS_AT = 29  # where the words on a short line begin


def new_lathe_file(
    known: Mapping[tuple[str, str], object] | None = None,
    levers: Iterable[Position] = (),
    box: Iterable[tuple[str, Iterable[Position]]] = (),
) -> str:
    """Write the text of a lathe file in which every key is explained; what is not known yet is an example.

    >>> text = new_lathe_file({("", "name"): "Mine", ("leadscrew", "hand"): "left"}, [("slow", Fraction(1, 2))])
    >>> for line in text.splitlines():
    ...     if line.startswith(("name", "hand", "lever", "ratio")):
    ...         print(line)
    name = "Mine"                # what it is called on cards and plates
    hand = "left"                # "right" or "left": which way the leadscrew's own thread winds
    lever = "slow"
    ratio = "1/2"

    `known`: (section, key) -> value, the section "" for what stands in none; `levers`: name and ratio, for [[gearbox]];
    `box`: of each of several levers its name, and name and ratio of each place where it can stand, for [[lever]].
    The text is not judged here: Lathe.from_toml() does that.
    """
    known, section = known or {}, ""
    lines: list[str] = []
    for line in (data_folder() / "example_lathe.toml").read_text(encoding="utf-8").splitlines():
        header, key = _HEADER.fullmatch(line), _KEY.fullmatch(line)
        if header is not None:
            section = header["section"]
            lines += _gearbox(levers) if section == "gearbox" else _levers(box) if section == "lever" else []
            line = header["header"] if any(of == section for of, _ in known) else line
        elif key is not None and (section, key["key"]) in known:
            said = f"{key['key']} = {inline(known[section, key['key']])}"
            line = f"{said:{_WORDS_AT - 1}} {(key['words'] or '').strip()}".rstrip()
        lines.append(line)
    return "\n".join(lines) + "\n"


def _levers(box: Iterable[tuple[str, Iterable[Position]]]) -> Iterator[str]:
    for name, positions in box:
        yield from ("[[lever]]", f"name = {inline(name)}", f"positions = {inline(dict(positions))}", "")


def _gearbox(levers: Iterable[Position]) -> Iterator[str]:
    for name, ratio in levers:
        yield from ("[[gearbox]]", f"lever = {inline(name)}", f"ratio = {inline(ratio)}", "")
