"""A lathe as it stands in the shop: leadscrew, spindle side, levers, gears, bracket, dial, feeds, plate."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cached_property
from pathlib import Path
from typing import Any

from attrs import Attribute, define, evolve, field, frozen
from attrs.converters import optional as convert_optional
from attrs.validators import optional

from gearcalc import writing
from gearcalc.errors import GearNotOwnedError, UnknownNameError, ValueOutOfRangeError, quoted
from gearcalc.exact import as_fraction, as_teeth
from gearcalc.resources import data_folder
from gearcalc.trains import as_gears

__all__ = [
    "Bracket",
    "Dial",
    "DialGear",
    "Feeds",
    "GearSet",
    "Lathe",
    "Leadscrew",
    "Lever",
    "PlateRow",
    "Slot",
    "SpindleSide",
    "as_lathe",
    "demo_lathe",
]

_MOST_GEARS = 300
_MOST_DIGITS = 10**12
_LONGEST_NOTE = 2000
_FARTHEST_MM = 10_000
_HANDS = ("right", "left")
Point = tuple[float, float]


def _between(low: float, high: float, *, above: bool = False) -> Any:
    """A validator: a number from `low` (left out when `above`) to `high`."""

    def check(_: object, attribute: Attribute[Any], value: Any) -> None:
        is_number = isinstance(value, (int, float, Fraction)) and not isinstance(value, bool)
        if not is_number or not (low < value <= high if above else low <= value <= high):
            limits = f"more than {low:g} and at most {high:g}" if above else f"from {low:g} to {high:g}"
            raise ValueOutOfRangeError(f"must be {limits}", value=value, where=attribute.name)

    return check


def _short_fraction(_: object, attribute: Attribute[Any], value: Fraction | None) -> None:
    """Refuse what could not be written down and read again: 0.333333333333333 for 1/3."""
    if value is not None and max(value.numerator, value.denominator) >= _MOST_DIGITS:
        raise ValueOutOfRangeError(
            "has too many digits", where=attribute.name, remedy="Write it as the fraction that it is, like '1/3'."
        )


def _exact(x: object) -> Fraction:
    return as_fraction(x, what="this")


_POSITIVE_RATIO: Any = [_between(0, 100, above=True), _short_fraction]


def _one_to_ten(_: object, attribute: Attribute[Any], value: tuple[Any, ...]) -> None:
    if not 1 <= len(value) <= 10:
        raise ValueOutOfRangeError("takes one to ten entries", value=len(value), where=attribute.name)


def _a_hand(_: object, attribute: Attribute[Any], value: str) -> None:
    if value not in _HANDS:
        raise ValueOutOfRangeError("must be 'right' or 'left'", value=value, where=attribute.name)


def _name_of_some_length(_: object, attribute: Attribute[Any], value: str) -> None:
    if not isinstance(value, str) or not value.strip() or len(value) > 100 or not value.isprintable():
        raise ValueOutOfRangeError(
            "must be 1 to 100 printable characters on one line", value=value, where=attribute.name
        )


def _some_words(_: object, attribute: Attribute[Any], value: str) -> None:
    printable = isinstance(value, str) and all(map(str.isprintable, value.replace("\t", " ").splitlines()))
    if not printable or len(value) > _LONGEST_NOTE:
        raise ValueOutOfRangeError(
            f"must be printable text of at most {_LONGEST_NOTE} characters", value=value, where=attribute.name
        )


def _as_tuple(given: Iterable[Any]) -> tuple[Any, ...]:
    return tuple(given)


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


def _counted(given: object) -> tuple[int, ...]:
    return tuple(sorted(as_gears(given, most=_MOST_GEARS)))


@frozen
class Leadscrew:
    """`lead`: mm in one turn of the leadscrew, exact, more than 0 to 100; `hand`: 'right' or 'left'.

    >>> Leadscrew(3).lead
    Fraction(3, 1)
    """

    lead: Fraction = field(converter=_exact, validator=_POSITIVE_RATIO)
    hand: str = field(default="right", validator=_a_hand)


@frozen
class SpindleSide:
    """What stands between spindle and first driver.

    `ratio`: turns of the first driver for one turn of the spindle; `same_way`: it turns as the spindle does;
    `reverse`: a tumbler or other reverse is fitted.

    >>> SpindleSide().reverse
    True
    """

    ratio: Fraction = field(default=Fraction(1), converter=_exact, validator=_POSITIVE_RATIO)
    same_way: bool = True
    reverse: bool = True


@frozen
class Lever:
    """A gearbox position: `ratio` is leadscrew turns for one turn of the last driven gear, 1/2 halves the lead.

    >>> Lever("low", "1/2").ratio
    Fraction(1, 2)
    """

    lever: str = field(validator=_name_of_some_length)
    ratio: Fraction = field(converter=_exact, validator=_POSITIVE_RATIO)
    same_way: bool = True


@frozen
class GearSet:
    """The change gears owned: `teeth` as counted, owned twice listed twice; their size where it is known.

    >>> GearSet([80, 40, 40]).teeth
    (40, 40, 80)

    At most 300 gears of 6 to 1000 teeth; `module_mm` to 20 or `diametral_pitch` to 200; pressure angle 10 to 30.
    """

    teeth: tuple[int, ...] = field(converter=_counted)
    module_mm: float | None = field(default=None, validator=optional(_between(0, 20, above=True)))
    diametral_pitch: float | None = field(default=None, validator=optional(_between(0, 200, above=True)))
    pressure_angle_deg: float = field(default=20, validator=_between(10, 30))

    def __attrs_post_init__(self) -> None:
        if self.module_mm is not None and self.diametral_pitch is not None:
            raise ValueOutOfRangeError("give module_mm or diametral_pitch, not both")


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
    slots: tuple[Slot, ...] = field(converter=_as_tuple, validator=_one_to_ten)
    studs: int = field(default=2, validator=_between(1, 6))
    stud_radius_mm: float = field(default=6.0, validator=_between(0, 100, above=True))
    shaft_radius_mm: float = field(default=6.0, validator=_between(0, 100, above=True))
    running_clearance_mm: float = field(default=0.5, validator=_between(0, 20))
    backlash_mm: float = field(default=0.2, validator=_between(0, 2))
    cover_mm: tuple[Point, ...] | None = field(default=None, converter=_as_points)

    @spindle_side_at_mm.validator
    def _off_the_pivot(self, _: object, value: Point) -> None:
        if value == (0, 0):
            raise ValueOutOfRangeError(
                "the spindle side can't stand on the pivot", where="spindle_side_at_mm",
                remedy="Measure it from the axis of the last driven gear.",
            )  # fmt: skip

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
    """

    teeth: int = field(converter=as_teeth)
    lines: int = field(validator=_between(1, 100))


@frozen
class Dial:
    """The thread-chasing dial and the gears that can be put on it."""

    gears: tuple[DialGear, ...] = field(converter=_as_tuple, validator=_one_to_ten)


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


@frozen
class PlateRow:
    """A row of the plate on the machine: the thread as it is written there, and the gears it names.

    `lever`: as the row names it; in a lathe with one lever position only, that one where the row names none.
    """

    thread: str
    drivers: tuple[int, ...]
    driven: tuple[int, ...]
    idlers: tuple[tuple[int, ...], ...] = ()
    lever: str | None = None


@define(frozen=True, slots=False)
class Lathe:
    """A lathe and its gears; load one with Lathe.load, or describe it in TOML for Lathe.from_toml.

    >>> lathe = Lathe.from_toml('name = "Bench lathe"\\nleadscrew.lead = "8 tpi"\\ngears.teeth = [40, 80]')
    >>> lathe.leadscrew_lead_mm, lathe.gears
    (Fraction(127, 40), (40, 80))
    """

    name: str = field(validator=_name_of_some_length)
    leadscrew: Leadscrew
    gear_set: GearSet
    note: str = field(default="", validator=_some_words)
    spindle_side: SpindleSide = SpindleSide()
    gearbox: tuple[Lever, ...] = field(default=(), converter=_as_tuple)
    bracket: Bracket | None = None
    dial: Dial | None = None
    feeds: Feeds | None = None
    plate: tuple[PlateRow, ...] = field(default=(), converter=_as_tuple)

    @gearbox.validator
    def _levers_differ(self, _: object, value: tuple[Lever, ...]) -> None:
        twice = [name for name, count in Counter(lever.lever for lever in value).items() if count > 1]
        if twice:
            raise ValueOutOfRangeError(f"two positions are called {quoted(twice[0])}", where="gearbox")

    def __attrs_post_init__(self) -> None:
        if len(self.gearbox) == 1 and any(row.lever is None for row in self.plate):
            only = self.gearbox[0].lever
            named = tuple(row if row.lever is not None else evolve(row, lever=only) for row in self.plate)
            object.__setattr__(self, "plate", named)

    @classmethod
    def load(cls, path: str | Path) -> Lathe:
        """Read a lathe file (TOML).

        >>> Lathe.load(data_folder() / "lathes" / "inch.toml").leadscrew.hand
        'right'

        Raises LatheFileError, naming file and key, when it can't be read or says something impossible.
        """
        from gearcalc.lathes.files import load

        return load(path)

    @classmethod
    def from_toml(cls, text: str, *, source: str = "lathe text") -> Lathe:
        """Read the text of a lathe file; `source` is what messages call it. Raises LatheFileError."""
        from gearcalc.lathes.files import read

        return read(text, source)

    def to_toml(self) -> str:
        """The text of a lathe file that reads back as this lathe.

        >>> lathe = demo_lathe("inch")
        >>> Lathe.from_toml(lathe.to_toml()) == lathe
        True
        """
        from gearcalc.lathes.files import write

        return write(self)

    def save(self, path: str | Path) -> None:
        """Write the lathe file; what was there is replaced whole or not at all. Raises LatheFileError."""
        from gearcalc.lathes.files import save

        save(self, path)

    @property
    def leadscrew_lead_mm(self) -> Fraction:
        """Travel of the carriage in one turn of the leadscrew, mm, exact."""
        return self.leadscrew.lead

    @cached_property
    def gears(self) -> tuple[int, ...]:
        """The tooth counts owned, sorted; owned twice, listed twice."""
        return tuple(sorted(self.gear_set.teeth))

    @property
    def levers(self) -> Mapping[str, Fraction]:
        """Lever name -> leadscrew turns for one turn of the last driven gear; empty without a gearbox."""
        return {lever.lever: lever.ratio for lever in self.gearbox}

    @property
    def spindle_ratio(self) -> Fraction:
        """Turns of the first driver for one turn of the spindle."""
        return self.spindle_side.ratio

    @property
    def module_mm(self) -> float | None:
        """Module of the change gears in mm (25.4 ÷ diametral pitch); None where the file doesn't say."""
        if self.gear_set.diametral_pitch is not None:
            return 25.4 / self.gear_set.diametral_pitch
        return self.gear_set.module_mm

    def lever(self, name: str | None) -> Lever | None:
        """The gearbox position of that name; None for None where there is no gearbox.

        >>> demo_lathe("inch").lever("low").ratio
        Fraction(1, 2)

        With one position only, None means that one. Raises UnknownNameError with the names there are.
        """
        if name is None and len(self.gearbox) <= 1:
            return self.gearbox[0] if self.gearbox else None
        for position in self.gearbox:
            if position.lever == name:
                return position
        if not self.gearbox:
            raise UnknownNameError(f"{self.name} has no lever", remedy=f"Leave {quoted(name)} out.")
        names = ", ".join(quoted(position.lever) for position in self.gearbox)
        if name is None:
            raise UnknownNameError("say where the lever stands", remedy=f"It can stand at {names}.")
        raise UnknownNameError(f"lever must be one of {names}", value=name)

    def check_owned(self, wanted: Iterable[int]) -> None:
        """Raise GearNotOwnedError when the set lacks one of these gears, or has it once and needs it twice."""
        owned = Counter(self.gears)
        for teeth, times in Counter(wanted).items():
            if owned[teeth] >= times:
                continue
            if owned[teeth]:
                raise GearNotOwnedError(
                    f"the set has {owned[teeth]} gear{'s' * (owned[teeth] > 1)} of {teeth} teeth, "
                    f"and this takes {times}",
                    remedy=f"Choose another gear, or add one with lathe.with_gears(add={teeth}).",
                )
            near = sorted(sorted(owned, key=lambda other: (abs(other - teeth), other))[:3])
            have = f"The nearest it has: {', '.join(map(str, near))}." if near else "It has none at all."
            raise GearNotOwnedError(f"the set has no gear of {teeth} teeth", remedy=have)

    def with_gears(self, add: Iterable[int] | int = (), remove: Iterable[int] | int = ()) -> Lathe:
        """The same lathe with gears bought or lent: one tooth count, or several.

        >>> 127 in demo_lathe("inch").with_gears(add=127).gears
        True

        Raises GearNotOwnedError for a gear to remove that is not there, ValueOutOfRangeError for no tooth count.
        """
        gears = list(self.gears)
        for teeth in as_gears(remove, most=_MOST_GEARS):
            if teeth not in gears:
                self.check_owned((teeth,))
                raise GearNotOwnedError(f"the set has no more gears of {teeth} teeth to take away")
            gears.remove(teeth)
        gears += as_gears(add, most=_MOST_GEARS)
        return evolve(self, gear_set=evolve(self.gear_set, teeth=gears))

    def __str__(self) -> str:
        levers = ", ".join(f"{lever.lever} {writing.ratio(lever.ratio)}" for lever in self.gearbox) or "none"
        return (
            f"{self.name}: leadscrew {writing.lead(self.leadscrew.lead)}, {self.leadscrew.hand}-hand; "
            f"levers: {levers}; gears: {' '.join(map(str, self.gears))}"
        )

    def _repr_html_(self) -> str:
        levers = ", ".join(f"{lever.lever} {writing.ratio(lever.ratio)}" for lever in self.gearbox) or "none"
        rows = (
            ("Leadscrew", f"{writing.lead(self.leadscrew.lead)}, {self.leadscrew.hand}-hand"),
            ("Spindle side", f"first driver turns {writing.ratio(self.spindle_ratio)} × spindle"),
            ("Levers", levers),
            ("Gears", " ".join(map(str, self.gears)) or "none"),
        )
        return writing.html_table(self.name, rows, note=self.note)


def as_lathe(given: object) -> Lathe:
    """The lathe itself; anything else is refused with a word on how to get one.

    >>> as_lathe(demo_lathe("inch")).name
    'Bench lathe with an inch leadscrew'

    Raises ValueOutOfRangeError.
    """
    if isinstance(given, Lathe):
        return given
    raise ValueOutOfRangeError(
        "a lathe is wanted here", value="nothing" if given is None else given,
        remedy="Take demo_lathe('inch'), or your own with Lathe.load('my_lathe.toml').",
    )  # fmt: skip


def demo_lathe(name: str = "inch") -> Lathe:
    """A lathe invented for teaching: 'inch' (8 tpi leadscrew, no 127) or 'metric' (3 mm leadscrew, a 127).

    >>> demo_lathe("metric").leadscrew_lead_mm
    Fraction(3, 1)

    Raises UnknownNameError for any other name.
    """
    folder = data_folder() / "lathes"
    names = sorted(path.stem for path in folder.glob("*.toml"))
    if name not in names:
        raise UnknownNameError(f"the demo lathes are {' and '.join(map(repr, names))}", value=name)
    return Lathe.load(folder / f"{name}.toml")
