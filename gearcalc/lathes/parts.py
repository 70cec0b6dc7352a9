"""The parts of a lathe, each refusing what no lathe has: leadscrew, levers, bracket, dial, plate; how it is shown."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from itertools import islice
from math import prod
from typing import Any, NamedTuple

from attrs import Attribute, field, fields, frozen
from attrs.converters import optional as convert_optional
from attrs.validators import optional

from gearcalc.basics.arguments import as_one_of, as_teeth, as_units, is_several, shown
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import as_fraction
from gearcalc.basics.writing import decimal
from gearcalc.lathes.trains import Train

_MOST_PARTS = 1000
_MOST_DIGITS = 10**12
_LONGEST_NOTE = 2000
LONGEST_NAME = 100
_FARTHEST_MM = 10_000
_HANDS = ("right", "left")
PAPERS = ("A4", "A3", "Letter")
Point = tuple[float, float]


def key_of(attribute: Attribute[Any]) -> str:
    """What a field is called in the lathe file: by its own name, unless it says another."""
    return str(attribute.metadata.get("key", attribute.name))


ELSEWHERE = {"elsewhere": True}
"""The metadata of a field that stands in another section of the lathe file than its class."""


def keys_of(section: type) -> list[str]:
    """The keys of a section of the lathe file."""
    return [key_of(each) for each in fields(section) if not each.metadata.get("elsewhere")]


def between(low: float, high: float, *, above: bool = False) -> Any:
    """A validator: a number from `low` (left out when `above`) to `high`."""

    def check(_: object, attribute: Attribute[Any], value: Any) -> None:
        is_number = isinstance(value, (int, float, Fraction)) and not isinstance(value, bool)
        if not is_number or not (low < value <= high if above else low <= value <= high):
            limits = (
                f"more than {decimal(low)} and at most {decimal(high)}"
                if above
                else f"from {decimal(low)} to {decimal(high)}"
            )
            raise ValueOutOfRangeError(f"must be {limits}", value=value, where=key_of(attribute))

    return check


def _short_fraction(_: object, attribute: Attribute[Any], value: Fraction | None) -> None:
    """Refuse what could not be written down and read again: 0.333333333333333 for 1/3."""
    if value is not None and max(value.numerator, value.denominator) >= _MOST_DIGITS:
        raise ValueOutOfRangeError(
            "has too many digits", where=key_of(attribute), remedy="Write it as the fraction that it is, like '1/3'."
        )


def _exact(x: object) -> Fraction:
    return as_fraction(x, what="this")


_POSITIVE_RATIO: Any = [between(0, 100, above=True), _short_fraction]
BORE: Any = optional(between(0, 200, above=True))


def _one_to_ten(_: object, attribute: Attribute[Any], value: tuple[Any, ...]) -> None:
    if not 1 <= len(value) <= 10:
        raise ValueOutOfRangeError("takes one to ten entries", value=len(value), where=key_of(attribute))


def _a_hand(_: object, attribute: Attribute[Any], value: str) -> None:
    if value not in _HANDS:
        raise ValueOutOfRangeError("must be 'right' or 'left'", value=value, where=key_of(attribute))


def name_of_some_length(_: object, attribute: Attribute[Any], value: str) -> None:
    if not isinstance(value, str) or not value.strip() or len(value) > LONGEST_NAME or not value.isprintable():
        raise ValueOutOfRangeError(
            f"must be 1 to {LONGEST_NAME} printable characters on one line", value=value, where=key_of(attribute)
        )


def _printable(_: object, attribute: Attribute[Any], value: str) -> None:
    if not isinstance(value, str) or not value.isprintable():
        raise ValueOutOfRangeError("must be printable characters on one line", value=value, where=key_of(attribute))


def some_words(_: object, attribute: Attribute[Any], value: str) -> None:
    printable = isinstance(value, str) and all(map(str.isprintable, value.replace("\t", " ").splitlines()))
    if not printable or len(value) > _LONGEST_NOTE:
        raise ValueOutOfRangeError(
            f"must be printable text of at most {_LONGEST_NOTE} characters", value=value, where=key_of(attribute)
        )


def as_tuple(given: Iterable[Any]) -> tuple[Any, ...]:
    parts = tuple(islice(given, _MOST_PARTS + 1)) if is_several(given) else (given,)
    if len(parts) > _MOST_PARTS:
        raise ValueOutOfRangeError(f"at most {_MOST_PARTS} parts of one kind are taken here")
    return parts


def a_part(kind: type) -> Any:
    """A validator: one part of this kind."""

    def check(_: object, attribute: Attribute[Any], value: object) -> None:
        if not isinstance(value, kind):
            raise ValueOutOfRangeError(
                f"this part of a lathe is a {kind.__name__}", value=shown(value), where=key_of(attribute)
            )

    return check


def parts_of_one_kind(kind: type) -> Any:
    """A validator: any number of parts of this kind."""

    def check(_: object, attribute: Attribute[Any], value: tuple[Any, ...]) -> None:
        for each in value:
            a_part(kind)(_, attribute, each)

    return check


def _as_point(given: Any) -> Point:
    try:
        x, y = (float(number) for number in given)
    except (TypeError, ValueError):
        raise ValueOutOfRangeError("a point is two numbers, like (50, 94)", value=given) from None
    if not (abs(x) <= _FARTHEST_MM and abs(y) <= _FARTHEST_MM):  # no NaN passes this
        raise ValueOutOfRangeError(f"a point lies within {_FARTHEST_MM} mm", value=given)
    return x, y


def _as_points(given: Any) -> tuple[Point, ...] | None:
    return None if given is None else tuple(_as_point(point) for point in given)


@frozen
class Leadscrew:
    """`lead`: mm in one turn of the leadscrew, exact, more than 0 to 100; `hand`: 'right' or 'left'.

    `takes_bore_mm`: the bore of the last driven gear, on the leadscrew or gearbox input; None takes any.

    >>> Leadscrew(3).lead
    Fraction(3, 1)
    """

    lead: Fraction = field(converter=_exact, validator=_POSITIVE_RATIO)
    hand: str = field(default="right", validator=_a_hand)
    takes_bore_mm: float | None = field(default=None, validator=BORE)


@frozen
class SpindleSide:
    """What stands between spindle and first driver.

    `ratio`: turns of the first driver for one turn of the spindle; `same_way`: it turns as the spindle does;
    `reverse`: a tumbler or other reverse is fitted; `takes_bore_mm`: the bore of the first driver, None takes any.

    >>> SpindleSide().reverse
    True
    """

    ratio: Fraction = field(default=Fraction(1), converter=_exact, validator=_POSITIVE_RATIO)
    same_way: bool = True
    reverse: bool = True
    takes_bore_mm: float | None = field(default=None, validator=BORE)


class LeverAt(NamedTuple):
    """One lever in one of its positions: `lever` is its name, empty where a box has only the one; `at` the position's.

    `ratio`: what it makes of the turns that come to it; `side`: 'leadscrew' behind the change gears, 'spindle' ahead.
    """

    lever: str
    at: str
    ratio: Fraction
    same_way: bool
    side: str = "leadscrew"

    @property
    def called(self) -> str:
        """The lever in words, 'lever' alone where there is but one."""
        return f"lever {self.lever}".rstrip()


@frozen
class Lever:
    """A gearbox position: `ratio` is leadscrew turns for one turn of the last driven gear, 1/2 halves the lead.

    >>> Lever("low", "1/2").ratio
    Fraction(1, 2)
    """

    name: str = field(validator=name_of_some_length, metadata={"key": "lever"})
    ratio: Fraction = field(converter=_exact, validator=_POSITIVE_RATIO)
    same_way: bool = True

    @property
    def stands(self) -> tuple[LeverAt, ...]:
        """Each lever of the box and where it stands; here the only one."""
        return (LeverAt("", self.name, self.ratio, self.same_way),)

    @property
    def said(self) -> str:
        """Where the lever stands, as it is said behind a train.

        >>> Lever("low", "1/2").said
        'lever low'
        """
        return f"lever{'s' * (len(self.stands) > 1)} {self.name}"

    @property
    def ahead(self) -> Fraction:
        """What levers ahead of the change gears make of the first driver's turns; 1 where there is none."""
        return prod((stand.ratio for stand in self.stands if stand.side == "spindle"), start=Fraction(1))

    @property
    def ahead_same_way(self) -> bool:
        """Whether the first driver turns as it would without levers ahead of the change gears."""
        return sum(not stand.same_way for stand in self.stands if stand.side == "spindle") % 2 == 0


@frozen
class Slot:
    """A straight slot for studs: its centre line from end to end, mm, with the bracket at swing 0."""

    from_mm: Point = field(converter=_as_point)
    to_mm: Point = field(converter=_as_point)

    @to_mm.validator
    def _has_length(self, _: object, value: Point) -> None:
        if value == self.from_mm:
            raise ValueOutOfRangeError("a slot must end elsewhere than it starts", where="to_mm")


@frozen
class Bracket:
    """The bracket (banjo, quadrant), seen from the gear side; origin: the axis that it swings about.

    `spindle_side_at_mm`: axis of the first driver; `swing_deg`: from, to; `slots`: one to ten; `studs`: how many
    there are, 1 to 6; radii, clearance and backlash in mm; `cover_mm`: outline of the room under the cover, three
    points or more, or None.

    >>> Bracket((50, 94), (-20, 75), [Slot((30, 0), (150, 0))]).studs
    2
    """

    spindle_side_at_mm: Point = field(converter=_as_point)
    swing_deg: Point = field(converter=_as_point)
    slots: tuple[Slot, ...] = field(converter=as_tuple, validator=[_one_to_ten, parts_of_one_kind(Slot)])
    studs: int = field(default=2, validator=between(1, 6))
    stud_radius_mm: float = field(default=6.0, validator=between(0, 100, above=True))
    shaft_radius_mm: float = field(default=6.0, validator=between(0, 100, above=True))
    running_clearance_mm: float = field(default=0.5, validator=between(0, 20))
    backlash_mm: float = field(default=0.2, validator=between(0, 2))
    cover_mm: tuple[Point, ...] | None = field(default=None, converter=_as_points)

    @property
    def thickest_mm(self) -> float:
        """The radius of the thickest thing that a gear of a train may have to clear: of two studs, their collars too.

        A gear on a single stud stands between the two shafts alone.
        """
        return max(self.shaft_radius_mm, self.stud_radius_mm) if self.studs > 1 else self.shaft_radius_mm

    @spindle_side_at_mm.validator
    def _off_the_pivot(self, _: object, value: Point) -> None:
        if value == (0, 0):
            raise ValueOutOfRangeError(
                "the spindle side can't stand on the pivot",
                where="spindle_side_at_mm",
                remedy="Measure it from the axis of the last driven gear.",
            )

    @swing_deg.validator
    def _some_swing(self, _: object, value: Point) -> None:
        if not -360 <= value[0] <= value[1] <= 360:
            raise ValueOutOfRangeError(
                "must run from a smaller to a larger angle, within −360 to 360", value=list(value), where="swing_deg"
            )

    @cover_mm.validator
    def _has_area(self, _: object, value: tuple[Point, ...] | None) -> None:
        if value is not None and not 3 <= len(value) <= 500:
            raise ValueOutOfRangeError("an outline has 3 to 500 corners", value=len(value), where="cover_mm")


@frozen
class DialGear:
    """A gear of the thread-chasing dial: its teeth, and the lines on the dial face that go with it.

    >>> DialGear(16, lines=8).lines
    8

    `numbered`: how many of the lines bear a number, evenly spread, one of them 1; None: all.
    """

    teeth: int = field(converter=as_teeth)
    lines: int = field(validator=between(1, 100))
    numbered: int | None = field(default=None, validator=optional(between(1, 100)))

    @numbered.validator
    def _evenly_spread(self, _: object, value: int | None) -> None:
        if value is not None and (not isinstance(value, int) or self.lines % value):
            possible = [str(count) for count in range(1, self.lines + 1) if self.lines % count == 0]
            raise ValueOutOfRangeError(
                f"must divide the {self.lines} lines, since the numbered ones stand evenly round the dial",
                value=value,
                where="numbered",
                remedy=f"It can be {', '.join(possible)}: count them again.",
            )


@frozen
class Dial:
    """The thread-chasing dial and the gears that can be put on it."""

    gears: tuple[DialGear, ...] = field(converter=as_tuple, validator=[_one_to_ten, parts_of_one_kind(DialGear)])


@frozen
class Feeds:
    """Travel by the feed drive ÷ travel by the half-nuts, same gears and lever; `cross` is that of the cross slide.

    >>> Feeds("1/8").longitudinal
    Fraction(1, 8)
    """

    longitudinal: Fraction = field(default=Fraction(1), converter=_exact, validator=_POSITIVE_RATIO)
    cross: Fraction | None = field(
        default=None, converter=convert_optional(_exact), validator=optional(_POSITIVE_RATIO)
    )


def as_paper(given: object) -> str:
    """The name of a paper, typed in any case.

    >>> as_paper("letter")
    'Letter'

    Raises ValueOutOfRangeError for another.
    """
    return as_one_of(given, PAPERS, where="paper")


@frozen
class Show:
    """How this lathe's owner reads: what is shown first, never what is computed.

    >>> Show(units="Inch", paper="letter")
    Show(units='inch', paper='Letter')

    `units`: 'inch' or 'mm', None as the leadscrew is written; `paper`: 'A4', 'A3' or 'Letter', None for A4; both in any
    case.
    """

    units: str | None = field(default=None, converter=convert_optional(as_units))
    paper: str | None = field(default=None, converter=convert_optional(as_paper))


@frozen
class PlateRow:
    """A row of the plate on the machine: the thread as it is written there, and the gears it names.

    `lever`: as the row names it; in a lathe with one lever position only, that one where the row names none.
    """

    thread: str
    drivers: tuple[int, ...]
    driven: tuple[int, ...]
    idlers: tuple[tuple[int, ...], ...] = ()
    lever: str | None = field(default=None, validator=optional(_printable))

    @property
    def train(self) -> Train:
        """Its gears as a train, each count as it stands there."""
        return Train(self.drivers, self.driven, self.idlers)
