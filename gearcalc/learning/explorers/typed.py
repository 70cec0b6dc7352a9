"""What hands on a page have typed or dragged, read: each says in words what it can't read."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from fractions import Fraction
from itertools import islice
from typing import Any

from gearcalc.basics.arguments import as_number, as_teeth, as_whole, is_several, shown
from gearcalc.basics.errors import GearcalcError, UnknownNameError, ValueOutOfRangeError
from gearcalc.lathes import Lathe
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.gear_words import gear_rows, gears_in_words
from gearcalc.lathes.pieces import kind_of
from gearcalc.lathes.train_lines import train_and_lever
from gearcalc.lathes.trains import Train
from gearcalc.threads import Thread, as_thread

_MOST_THREADS, _MOST_CHARACTERS = 14, 1000
_ENGAGEMENT = re.compile(r"(?P<number>[0-9][0-9 .,/-]*?)[ ]*(?P<unit>mm|d|diameters?|)", re.IGNORECASE | re.ASCII)


def one_of(given: object, what: str, offered: Collection[str]) -> str:
    """One of the words that are offered.

    >>> one_of("two", "pairs", ("one", "two"))
    'two'

    Raises UnknownNameError for anything else.
    """
    if not isinstance(given, str) or given not in offered:
        raise UnknownNameError(f"{what} must be one of {', '.join(map(repr, offered))}", value=shown(given))
    return given


def read_whole(given: object, what: str, most: int, fewest: int = 1) -> int:
    """A whole number, from 1 up if nothing else is said, from a slider or typed into its box.

    >>> read_whole(" 63 ", "the limit", 150), read_whole(0, "the turns", 24, fewest=0)
    (63, 0)

    Raises ValueOutOfRangeError for anything else.
    """
    return as_whole(_as_number(given), what=what, least=fewest, most=most)


def read_place(given: object, what: str, there: int, most: int) -> int:
    """Which one of those that are there; beyond them, up to `most`, the last.

    >>> read_place("4", "the step", 13, most=14), read_place(14, "the step", 13, most=14)
    (4, 13)

    Raises ValueOutOfRangeError, with how many there are, for anything else.
    """
    place = _as_number(given)
    if isinstance(place, int) and there < place <= most:
        return there
    return as_whole(place, what=what, most=there)


def read_number(
    given: object, what: str, low: Fraction | int, high: Fraction | int, unit: str = "", remedy: str = ""
) -> Fraction:
    """A number within bounds, from a slider or typed into its box.

    >>> read_number("12,5", "the length", 1, 100, "mm")
    Fraction(25, 2)

    Raises ValueOutOfRangeError for anything else.
    """
    return as_number(given, what=what, least=low, most=high, unit=unit, remedy=remedy)


def read_teeth(given: object, what: str) -> int:
    """A tooth count, from a slider or typed into its box.

    >>> read_teeth(" 40 ", "the driver")
    40

    Raises ValueOutOfRangeError for anything else.
    """
    return as_teeth(_as_number(given), what=what)


def read_pair(driver: object, driven: object, which: str) -> tuple[int, int]:
    """The tooth counts of a driver and the gear that it drives; `which` of the pairs: 'first' or 'second'."""
    return read_teeth(driver, f"the {which} driver"), read_teeth(driven, f"the {which} driven gear")


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


def gears_text(gear_set: GearSet) -> str:
    """All gears of a lathe for a box, other sizes and what is damaged, fixed or in one piece too.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(gears_text(demo_lathe("odd").gear_set)[46:])
    gears of module 1, bore 12: 32 36 42 56 64 75; first driver fixed: 40; damaged: 54 (module 1.25, bore 14); in \
one piece: 30 (module 1) and 50
    """
    return gears_in_words(gear_set) if gear_set.pieces else ""


def read_gear_set(gear_set: GearSet, text: str | Iterable[int]) -> GearSet:
    """The gears that someone typed, in place of those of the set; of what is not said at all the set's own stay.

    >>> own = read_gear_set(GearSet([20, 40, 54], damaged=[54]), "20 30; damaged: 54")
    >>> own.usable, own.damaged
    ((20, 30), (54,))

    What is damaged, fixed or in one piece is the lathe file's to say: it stays as it is.
    Raises ValueOutOfRangeError for what is no tooth count, a damaged gear, and where a fixed one is left out.
    """
    if not isinstance(text, str):
        return gear_set.instead(read_gears(text))
    if len(text) > _MOST_CHARACTERS:
        raise ValueOutOfRangeError(f"the gears are a text of at most {_MOST_CHARACTERS} characters", value=text)
    parts = [part.strip() for part in text.split(";")]
    said = [part for part in parts if part[:1].isalpha() and ":" in part]
    counts = read_gears(" ".join(part for part in parts if part not in said))
    written = {f"{heading}: {words}".lower() for heading, words in gear_rows(gear_set)[1:]}
    kinds = {f"gears of {kind}".lower(): kind for kind in map(kind_of, gear_set.loose) if kind}
    own = gear_set
    for part in said:
        heading, _, words = part.partition(":")
        kind = kinds.get(" ".join(heading.lower().split()))
        if kind is not None:
            own = own.instead(read_gears(words), kind)
        elif " ".join(part.lower().split()) not in written:
            raise ValueOutOfRangeError(
                "that is not so in the lathe file", value=part, remedy="Change it there, or leave it out here."
            )
    for teeth in counts:
        if teeth in gear_set.damaged and teeth not in gear_set.usable:
            raise ValueOutOfRangeError(
                f"the gear of {teeth} teeth is damaged, so it is not to be used",
                remedy="Leave it out; or, if there is a sound one now, take it out of 'damaged' in the lathe file.",
            )
    fixed = {"first driver": gear_set.fixed.first_driver, "last driven gear": gear_set.fixed.last_driven}
    for place, gear in fixed.items():
        if gear is not None and gear not in counts:
            raise ValueOutOfRangeError(f"{gear} is fixed as the {place}, so it stays", remedy="Write it too.")
    return own.instead(counts)


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


def read_train(lathe: Lathe, given: object, box: str) -> tuple[Train, str | None]:
    """The train that someone typed or took from an answer, and its lever where it stands behind it.

    >>> from gearcalc.lathes import demo_lathe
    >>> train, lever = read_train(demo_lathe("inch"), "40/80, idler 48, lever low: lead 32 tpi, exact", "mounted")
    >>> print(train, "|", lever)
    40/80, idler 48 | low

    Raises ValueOutOfRangeError for what is no train, UnknownNameError for a lever that the lathe has not; each says
    which `box` it speaks of.
    """
    if isinstance(given, Train):
        return given, None
    try:
        train, lever = train_and_lever(given, lathe.gear_set)  # type: ignore[arg-type]
        position = None if lever is None else lathe.lever(lever)
    except GearcalcError as problem:
        raise problem.at(box) from None
    return train, None if position is None else position.name


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
    number = as_number(found["number"], what="the engagement", most=1000, above=True)
    return (None, number) if found["unit"].lower() in ("mm", "") else (number, None)


def _pieces(given: object, between: str, what: str) -> list[Any]:
    """Text in pieces; a list as it is."""
    if isinstance(given, str) and len(given) <= _MOST_CHARACTERS:
        return [piece.strip() for piece in re.split(between, given) if piece.strip()]
    if not is_several(given):
        raise ValueOutOfRangeError(f"{what} are a text of at most {_MOST_CHARACTERS} characters", value=given)
    return list(islice(given, _MOST_CHARACTERS))


def _as_number(given: object) -> object:
    """What a slider sends is a number already; what was typed may be one."""
    text = given.strip() if isinstance(given, str) else ""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else given
