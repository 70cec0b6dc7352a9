"""A lathe as it stands in the shop, made of its parts: what it has, what it lacks, and one to teach with."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cached_property
from pathlib import Path

from attrs import define, evolve, field
from attrs.validators import optional

from gearcalc.basics import writing
from gearcalc.basics.arguments import plain_text
from gearcalc.basics.errors import GearNotOwnedError, UnknownNameError, ValueOutOfRangeError, quoted
from gearcalc.basics.files import data_folder
from gearcalc.lathes.parts import (
    MOST_GEARS,
    Bracket,
    Dial,
    Feeds,
    GearSet,
    Leadscrew,
    Lever,
    PlateRow,
    SpindleSide,
    a_part,
    as_tuple,
    name_of_some_length,
    parts_of_one_kind,
    some_words,
)
from gearcalc.lathes.trains import as_gears


@define(frozen=True, slots=False)
class Lathe:
    """A lathe and its gears; load one with Lathe.load, or describe it in TOML for Lathe.from_toml.

    >>> lathe = Lathe.from_toml('name = "Bench lathe"\\nleadscrew.lead = "8 tpi"\\ngears.teeth = [40, 80]')
    >>> lathe.leadscrew_lead_mm, lathe.gears
    (Fraction(127, 40), (40, 80))
    """

    name: str = field(converter=plain_text, validator=name_of_some_length)
    leadscrew: Leadscrew = field(validator=a_part(Leadscrew))
    gear_set: GearSet = field(validator=a_part(GearSet))
    note: str = field(default="", converter=plain_text, validator=some_words)
    spindle_side: SpindleSide = field(factory=SpindleSide, validator=a_part(SpindleSide))
    gearbox: tuple[Lever, ...] = field(default=(), converter=as_tuple, validator=parts_of_one_kind(Lever))
    bracket: Bracket | None = field(default=None, validator=optional(a_part(Bracket)))
    dial: Dial | None = field(default=None, validator=optional(a_part(Dial)))
    feeds: Feeds | None = field(default=None, validator=optional(a_part(Feeds)))
    plate: tuple[PlateRow, ...] = field(default=(), converter=as_tuple, validator=parts_of_one_kind(PlateRow))

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
    def last_shaft(self) -> str:
        """What the shaft of the last driven gear is called: with a gearbox its input, else the leadscrew.

        >>> demo_lathe("inch").last_shaft
        'gearbox input'
        """
        return "gearbox input" if self.gearbox else "leadscrew"

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
        for teeth, times in Counter(as_gears(wanted, most=MOST_GEARS)).items():
            if owned[teeth] >= times:
                continue
            if owned[teeth]:
                raise GearNotOwnedError(
                    f"the set has {owned[teeth]} gear{'s' * (owned[teeth] > 1)} of {teeth} teeth, "
                    f"and this takes {times}",
                    remedy=f"Choose another gear, or add one of {teeth} teeth to the set.",
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
        for teeth in as_gears(remove, most=MOST_GEARS):
            if teeth not in gears:
                self.check_owned((teeth,))
                raise GearNotOwnedError(f"the set has no more gears of {teeth} teeth to take away")
            gears.remove(teeth)
        gears += as_gears(add, most=MOST_GEARS)
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
        "a lathe is wanted here",
        value="nothing" if given is None else given,
        remedy="It goes first, and what is asked of it behind it. Take demo_lathe('inch'), or your own with "
        "Lathe.load('my_lathe.toml').",
    )


def demo_lathe(name: str = "inch") -> Lathe:
    """A lathe invented for teaching: 'inch' (8 tpi leadscrew, no 127) or 'metric' (3 mm leadscrew, a 127).

    >>> demo_lathe("metric").leadscrew_lead_mm
    Fraction(3, 1)

    Raises UnknownNameError for any other name.
    """
    folder = data_folder() / "lathes"
    names = sorted(path.stem for path in folder.glob("*.toml"))
    if not isinstance(name, str) or name not in names:
        raise UnknownNameError(f"the demo lathes are {' and '.join(map(repr, names))}", value=name)
    return Lathe.load(folder / f"{name}.toml")
