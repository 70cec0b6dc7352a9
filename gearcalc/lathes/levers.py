"""A box with several levers: where each can stand, what that comes to, and the text that names it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import product
from math import prod
from typing import Any

from attrs import Attribute, field, frozen

from gearcalc.basics import writing
from gearcalc.basics.arguments import plain_text
from gearcalc.basics.errors import GearcalcError, UnknownNameError, ValueOutOfRangeError, quoted
from gearcalc.lathes.parts import LONGEST_NAME, Lever, LeverAt, as_tuple, name_of_some_length, parts_of_one_kind

SIDES = ("leadscrew", "spindle")
AHEAD, OTHER_WAY = " (ahead of the change gears)", " the other way round"
"""What is said of a lever on the spindle side, and of a position that turns the motion round."""
MOST_POSITIONS = 200
"""Of all levers together; the number is our convention."""


def _in_one_piece(_: object, attribute: Attribute[Any], value: str) -> None:
    if "," in value or value != " ".join(value.split()):
        raise ValueOutOfRangeError(
            "a name has no commas, nor blanks but single ones between words", value=value, where=attribute.name
        )


def _names_in_one_piece(_: object, attribute: Attribute[tuple[Lever, ...]], value: tuple[Lever, ...]) -> None:
    if not 1 <= len(value) <= MOST_POSITIONS:
        raise ValueOutOfRangeError(
            f"a lever has 1 to {MOST_POSITIONS} positions", value=len(value), where=attribute.name
        )
    for position in value:
        _in_one_piece(_, attribute, position.name)


def no_name_twice(_: object, attribute: Attribute[tuple[Lever, ...]], value: tuple[Lever, ...]) -> None:
    """A validator: positions that can be told apart."""
    twice = [name for name, count in Counter(position.name for position in value).items() if count > 1]
    if twice:
        raise ValueOutOfRangeError(f"two positions are called {quoted(twice[0])}", where=attribute.name)


def _a_side(_: object, attribute: Attribute[str], value: str) -> None:
    if value not in SIDES:
        raise ValueOutOfRangeError("must be 'leadscrew' or 'spindle'", value=value, where=attribute.name)


@frozen
class BoxLever:
    """One lever of a box that has several: its positions, whose ratios multiply with those of the other levers.

    `side`: 'leadscrew' behind the change gears, 'spindle' ahead of them; a ratio is turns out for one turn in.

    >>> BoxLever("range", [Lever("slow", "1/2"), Lever("fast", 1)]).side
    'leadscrew'
    """

    name: str = field(validator=[name_of_some_length, _in_one_piece])
    positions: tuple[Lever, ...] = field(
        converter=as_tuple, validator=[parts_of_one_kind(Lever), _names_in_one_piece, no_name_twice]
    )
    side: str = field(default="leadscrew", validator=_a_side)

    @property
    def stands(self) -> tuple[LeverAt, ...]:
        """The lever in each of its positions."""
        return tuple(LeverAt(self.name, at.name, at.ratio, at.same_way, self.side) for at in self.positions)


@frozen
class Position(Lever):
    """Where all levers of a box stand: a Lever whose name says each, and whose ratio and way are the product."""

    stands: tuple[LeverAt, ...] = field(default=(), eq=False, repr=False)


@lru_cache(maxsize=64)
def positions_of(box: tuple[BoxLever, ...]) -> tuple[Position, ...]:
    """Every way in which the levers can stand, the last lever moving first.

    >>> box = BoxLever("range", [Lever("slow", "1/2"), Lever("fast", 1)]), BoxLever("gear", [Lever("A", "3/4")])
    >>> [(position.name, position.ratio) for position in positions_of(box)]
    [('range slow, gear A', Fraction(3, 8)), ('range fast, gear A', Fraction(3, 4))]

    Raises ValueOutOfRangeError for more than 200, or where they come to more than any gearbox does.
    """
    if not box:
        return ()
    count = prod(len(lever.positions) for lever in box)
    if count > MOST_POSITIONS:
        raise ValueOutOfRangeError(
            f"the levers can stand in {count} ways, and at most {MOST_POSITIONS} are taken here",
            remedy="Leave out the positions that you don't use for threads and feeds.",
        )
    return tuple(map(_position, product(*(lever.stands for lever in box))))


def _position(stands: tuple[LeverAt, ...]) -> Position:
    name = ", ".join(_in_full(stand) for stand in stands)
    ratio = prod((stand.ratio for stand in stands), start=Fraction(1))
    try:
        return Position(name, ratio, sum(not stand.same_way for stand in stands) % 2 == 0, stands)
    except GearcalcError as problem:
        raise ValueOutOfRangeError(f"{name}: together the ratio {problem.problem}", value=ratio) from None


def _in_full(stand: LeverAt) -> str:
    return f"{stand.lever} {stand.at}"


def check_names(box: Sequence[BoxLever]) -> None:
    """Raise ValueOutOfRangeError where two levers, or a lever and its position, could be taken for others."""
    longest = ", ".join(max(map(_in_full, lever.stands), key=len) for lever in box)
    if len(longest) > LONGEST_NAME:
        raise ValueOutOfRangeError(
            f"the levers' names, each with its position, take more than {LONGEST_NAME} characters in a row",
            value=longest,
            remedy="Give them shorter ones: every card and plate names them all.",
        )
    for what, names in (
        ("levers are called", [lever.name for lever in box]),
        ("positions can be read as", [_in_full(stand) for lever in box for stand in lever.stands]),
    ):
        for name, count in Counter(names).items():
            if count > 1:
                raise ValueOutOfRangeError(f"two {what} {quoted(name)}", remedy="Give one of them another name.")


def read_position(text: str, box: Sequence[BoxLever]) -> str:
    """The name of the position that a text means: each lever in any order, its own name left out where it can be.

    >>> box = (BoxLever("range", [Lever("slow", "1/2"), Lever("fast", 1)]),
    ...        BoxLever("tumbler", [Lever("on", 1), Lever("back", 1, same_way=False)], side="spindle"))
    >>> read_position("back, range slow", box)
    'range slow, tumbler back'

    Raises UnknownNameError, saying which lever is not said, or twice, and where it can stand.
    """
    text = plain_text(text)
    found: dict[str, LeverAt] = {lever.name: lever.stands[0] for lever in box if len(lever.positions) == 1}
    said: set[str] = set()
    for piece in (" ".join(each.split()) for each in text.split(",")):
        stand = _read_piece(piece, box)
        if stand.lever in said:
            raise UnknownNameError(f"{quoted(text)} names the lever {quoted(stand.lever)} twice")
        said.add(stand.lever)
        found[stand.lever] = stand
    for lever in box:
        if lever.name not in found:
            raise UnknownNameError(
                f"{quoted(text)} does not say where the lever {quoted(lever.name)} stands", remedy=_can_stand(lever)
            )
    return ", ".join(_in_full(found[lever.name]) for lever in box)


def _read_piece(piece: str, box: Sequence[BoxLever]) -> LeverAt:
    stands = [stand for lever in box for stand in lever.stands]
    meant = [stand for stand in stands if _in_full(stand) == piece] or [each for each in stands if each.at == piece]
    if len(meant) == 1:
        return meant[0]
    if meant:
        each = " or ".join(quoted(_in_full(stand)) for stand in meant)
        raise UnknownNameError("more than one lever has this position", value=piece, remedy=f"Write {each}.")
    raise UnknownNameError(
        "no lever has this position", value=piece, remedy=" ".join(_can_stand(lever) for lever in box)
    )


def _can_stand(lever: BoxLever) -> str:
    return f"The lever {lever.name} can stand at {', '.join(quoted(at.name) for at in lever.positions)}."


def how_to_say(box: Sequence[BoxLever]) -> str:
    """An example of the text that names each lever, and where each can stand."""
    example = ", ".join(_in_full(lever.stands[0]) for lever in box)
    return f"{' '.join(_can_stand(lever) for lever in box)} Write it like {quoted(example)}."


def moved_levers(before: Lever | None, after: Lever | None) -> tuple[LeverAt, ...]:
    """The levers that have to be moved, each with where it goes; all of them where it is not known how they stand.

    >>> box = (BoxLever("A", [Lever("1", 1), Lever("2", 2)]), BoxLever("B", [Lever("1", 1), Lever("2", 2)]))
    >>> [(stand.lever, stand.at) for stand in moved_levers(positions_of(box)[0], positions_of(box)[1])]
    [('B', '2')]
    """
    there = before.stands if before else ()
    return tuple(stand for stand in (after.stands if after else ()) if stand not in there)


def levers_the_other_way(here: Lever | None, positions: Iterable[Lever | None]) -> tuple[LeverAt, ...]:
    """The fewest levers that turn the leadscrew the other way, no faster and no slower, each with where it goes.

    >>> on, back = Lever("on", 1), Lever("back", 1, same_way=False)
    >>> [stand.at for stand in levers_the_other_way(on, [on, back])], levers_the_other_way(on, [on, Lever("fast", 2)])
    (['back'], ())
    """
    alike = [each for each in positions if here and each and each.ratio == here.ratio]
    turned = (moved_levers(here, each) for each in alike if here and each.same_way != here.same_way)
    return min(turned, key=len, default=())


def each_in_words(box: Sequence[BoxLever]) -> str:
    """Each lever with its positions and their ratios.

    >>> box = (BoxLever("range", [Lever("slow", "1/2"), Lever("fast", 1)]),
    ...        BoxLever("tumbler", [Lever("on", 1), Lever("back", 1, same_way=False)], side="spindle"))
    >>> each_in_words(box)
    'range: slow 1/2, fast 1; tumbler (ahead of the change gears): on 1, back 1 the other way round'
    """
    return "; ".join(f"{lever.name}{_where(lever)}: {', '.join(_with_ratio(lever))}" for lever in box)


def before_its_ratio(name: str) -> str:
    """A position as it is written before its ratio: a name that might be a number has a colon.

    >>> before_its_ratio("low"), before_its_ratio("2")
    ('low', '2:')
    """
    return name if any(map(str.isalpha, name)) else f"{name}:"


def _where(lever: BoxLever) -> str:
    return AHEAD if lever.side == "spindle" else ""


def _with_ratio(lever: BoxLever) -> Iterator[str]:
    for at in lever.positions:
        yield f"{before_its_ratio(at.name)} {writing.ratio(at.ratio)}{'' if at.same_way else OTHER_WAY}"
