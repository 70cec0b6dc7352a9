"""What people type into the boxes of an explorer, or move its sliders to, read with one meaning or refused in words."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from itertools import islice
from typing import Any

from gearcalc.basics.arguments import shown
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import as_fraction, as_teeth
from gearcalc.lathes.trains import ORDINALS, Train
from gearcalc.threads import Thread, as_thread

_MOST_THREADS, _MOST_CHARACTERS = 14, 1000
_SHORTEST_MM = Fraction(1, 10)
_COUNT = r"[0-9]{1,4}"
_IDLERS = re.compile(
    rf"(?P<teeth>{_COUNT}(?:(?:[ ,]+| *and *){_COUNT}){{0,5}})(?: +in +the +(?P<mesh>{'|'.join(ORDINALS)}) +mesh)?",
    re.IGNORECASE | re.ASCII,
)
_ENGAGEMENT = re.compile(r"(?P<number>[0-9][0-9 .,/-]*?)[ ]*(?P<unit>mm|d|diameters?|)", re.IGNORECASE | re.ASCII)


def read_gears(text: str | Iterable[int]) -> tuple[int, ...]:
    """The tooth counts that someone typed, in a row with blanks or commas between.

    >>> read_gears("20 24, 30; 40 40")
    (20, 24, 30, 40, 40)

    Raises ValueOutOfRangeError for what is no tooth count, and for no gear at all.
    """
    counts = tuple(read_teeth(piece, "a gear") for piece in _pieces(text, r"[\s,;]+", "the gears"))
    if not counts:
        raise ValueOutOfRangeError("the set has no gears", value=text, remedy="Write tooth counts like 20 30 40 40.")
    return counts


def read_threads(text: str | Iterable[str | Thread]) -> tuple[Thread, ...]:
    """The threads that someone typed, with commas or semicolons between; a comma between digits is a decimal comma.

    >>> [str(thread) for thread in read_threads("M6, 1,25 mm; 1/4-20 UNC")]
    ['M6x1', '1.25 mm', '1/4-20 UNC']

    Raises ThreadTextError for text that is no thread, ValueOutOfRangeError for none, or more than 14.
    """
    given = split_threads(text)
    if not 1 <= len(given) <= _MOST_THREADS:
        raise ValueOutOfRangeError(f"this takes 1 to {_MOST_THREADS} threads", value=len(given))
    return tuple(dict.fromkeys(as_thread(piece) for piece in given))


def split_threads(text: str | Iterable[str | Thread]) -> list[Any]:
    """The pieces of a list of threads, not read yet: names of series may be among them.

    >>> split_threads("M6, 1,25 mm; UNC")
    ['M6', '1,25 mm', 'UNC']

    Raises ValueOutOfRangeError for more than 1000 characters.
    """
    return _pieces(text, r"[;\n]|,(?!\d)|(?<!\d),", "the threads")


def read_whole(given: object, what: str, most: int, fewest: int = 1) -> int:
    """A whole number, from 1 up if nothing else is said, from a slider or typed into its box.

    >>> read_whole(" 63 ", "the limit", 150), read_whole(0, "the turns", 24, fewest=0)
    (63, 0)

    Raises ValueOutOfRangeError for anything else.
    """
    number = _as_number(given)
    if isinstance(number, bool) or not isinstance(number, int) or not fewest <= number <= most:
        raise ValueOutOfRangeError(f"{what} must be a whole number from {fewest} to {most}", value=shown(given))
    return number


def read_length(given: object, what: str, longest_mm: int) -> Fraction:
    """A length in mm, from 0.1 mm, from a slider or typed into its box.

    >>> read_length("12,5", "the length", 100)
    Fraction(25, 2)

    Raises ValueOutOfRangeError for anything else.
    """
    length = as_fraction(given, what=what)
    if not _SHORTEST_MM <= length <= longest_mm:
        raise ValueOutOfRangeError(f"{what} must be from 0.1 to {longest_mm} mm", value=given)
    return length


def read_wanted(given: object) -> Any:
    """What is wanted, not read yet; None for an empty box.

    >>> read_wanted(" "), read_wanted("16 tpi")
    (None, '16 tpi')
    """
    return None if isinstance(given, str) and not given.strip() else given


def read_engagement(text: str) -> tuple[Fraction | None, Fraction | None]:
    """A length of engagement: (diameters, None) or (None, millimetres).

    >>> read_engagement("1.5 diameters"), read_engagement("25 mm"), read_engagement("25")
    ((Fraction(3, 2), None), (None, Fraction(25, 1)), (None, Fraction(25, 1)))

    Raises ValueOutOfRangeError for anything else.
    """
    found = _ENGAGEMENT.fullmatch(text.strip()) if isinstance(text, str) and len(text) <= 40 else None
    if found is None:
        raise ValueOutOfRangeError(
            "the engagement must be a length or a number of diameters",
            value=text,
            remedy="Write it like '25 mm' or '1 diameter'.",
        )
    number = as_fraction(found["number"], what="the engagement")
    if not 0 < number <= 1000:
        raise ValueOutOfRangeError("the engagement must be more than zero, up to 1000", value=text)
    return (None, number) if found["unit"].lower() in ("mm", "") else (number, None)


def read_train(text: str) -> Train:
    """A train as this package writes it, idlers behind; an idler of which no mesh is named stands in the first.

    >>> read_train("(20 · 30)/(127 · 80), idler 40 in the second mesh").idlers
    ((), (40,))

    Raises ValueOutOfRangeError for anything else.
    """
    gears, *behind = re.split(r"[ ,;]*\bidlers?\b", text if isinstance(text, str) else repr(text))
    idlers: list[list[int]] = [[] for _ in ORDINALS]
    for piece in behind[: len(ORDINALS)]:
        found = _IDLERS.fullmatch(piece.strip(" ,;"))
        if found is None:
            raise ValueOutOfRangeError(
                "these idlers are not understood",
                value=piece.strip(),
                remedy="Write 'idler 40', or 'idler 40 in the second mesh'.",
            )
        idlers[ORDINALS.index((found["mesh"] or ORDINALS[0]).lower())] += map(int, re.findall("[0-9]+", found["teeth"]))
    named = max((mesh for mesh, teeth in enumerate(idlers, 1) if teeth), default=0)
    return Train.parse(gears, [tuple(teeth) for teeth in idlers[:named]])


def read_teeth(given: object, what: str) -> int:
    """A tooth count, from a slider or typed into its box.

    >>> read_teeth(" 40 ", "the driver")
    40

    Raises ValueOutOfRangeError for anything else.
    """
    return as_teeth(_as_number(given), what=what)


def _pieces(given: object, between: str, what: str) -> list[Any]:
    """Text in pieces; a list as it is."""
    if isinstance(given, str) and len(given) <= _MOST_CHARACTERS:
        return [piece.strip() for piece in re.split(between, given) if piece.strip()]
    if isinstance(given, str) or not isinstance(given, Iterable):
        raise ValueOutOfRangeError(f"{what} are a text of at most {_MOST_CHARACTERS} characters", value=given)
    return list(islice(given, _MOST_CHARACTERS))


def _as_number(given: object) -> object:
    """What a slider sends is a number already; what was typed may be one."""
    text = given.strip() if isinstance(given, str) else ""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else given
