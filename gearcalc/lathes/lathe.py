"""A lathe as it stands in the shop, made of its parts: what it has, what it lacks, and one to teach with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import cache, cached_property, lru_cache
from pathlib import Path

from attrs import evolve, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_words, shown
from gearcalc.basics.errors import NotPossibleError, UnknownNameError, ValueOutOfRangeError, quoted
from gearcalc.basics.exact import Exact, is_inch
from gearcalc.basics.files import data_folder
from gearcalc.basics.writing import Units
from gearcalc.lathes.files import load, read, save
from gearcalc.lathes.gear_sets import GearSet
from gearcalc.lathes.gear_words import gear_rows, gears_in_words
from gearcalc.lathes.levers import each_in_words, how_to_say, positions_of, read_position
from gearcalc.lathes.parts import Lever
from gearcalc.lathes.readings import as_pieces
from gearcalc.lathes.sections import Sections
from gearcalc.lathes.toml_text import written
from gearcalc.lathes.trains import Gears, Train
from gearcalc.threads.wanted import Thread, Wanted


@frozen(slots=False)
class Lathe(Sections):
    """A lathe and its gears; load one with Lathe.load, or describe it in TOML for Lathe.from_toml.

    >>> lathe = Lathe.from_toml('name = "Bench lathe"\\nleadscrew.lead = "8 tpi"\\ngears.teeth = [40, 80]')
    >>> lathe.leadscrew_lead_mm, lathe.gears
    (Fraction(127, 40), (40, 80))
    """

    @classmethod
    def load(cls, path: str | Path) -> Lathe:
        """Read a lathe file (TOML).

        >>> Lathe.load(data_folder() / "lathes" / "inch.toml").leadscrew.hand
        'right'

        Raises LatheFileError, naming file and key, when it can't be read or says something impossible.
        """
        return load(path, cls)

    @classmethod
    def from_toml(cls, text: str, *, source: str = "lathe text") -> Lathe:
        """Read the text of a lathe file; `source` is what messages call it. Raises LatheFileError."""
        return read(text, as_words(source, what="source"), cls)

    def to_toml(self) -> str:
        """Write the text of a lathe file that reads back as this lathe.

        >>> lathe = demo_lathe("inch")
        >>> Lathe.from_toml(lathe.to_toml()) == lathe
        True
        """
        return written(self)

    def save(self, path: str | Path) -> None:
        """Write the lathe file; what was there is replaced whole or not at all. Raises LatheFileError."""
        save(self, path)

    @property
    def leadscrew_lead_mm(self) -> Fraction:
        """Travel of the carriage in one turn of the leadscrew, mm, exact."""
        return self.leadscrew.lead

    @property
    def gears(self) -> tuple[int, ...]:
        """The loose gears that may be used, by their tooth counts, sorted; owned twice, listed twice.

        A gear of another size is a whole number too, and unlike the plain one (lathes/pieces.py). What is damaged
        stands in `damaged`, what is in one piece with another gear in `gear_set.pairs`.
        """
        return self.gear_set.loose

    @property
    def damaged(self) -> tuple[int, ...]:
        """The gears that are owned and never used, sorted; as often as one is damaged.

        >>> demo_lathe("inch").damaged
        ()
        """
        return self.gear_set.out_of_use

    @property
    def levers(self) -> Mapping[str, Fraction]:
        """Lever name -> leadscrew turns for one turn of the last driven gear; empty without a gearbox.

        With several levers a name says each, 'range slow, tumbler back', and what they make of the turns multiplies.
        """
        return {position.name: position.ratio for position in self._positions}

    @property
    def positions(self) -> tuple[Lever | None, ...]:
        """Where the lever of the gearbox, or all of them, can stand; None alone without a gearbox.

        >>> [position.name for position in demo_lathe("inch").positions]
        ['low', 'middle', 'high']
        """
        return self._positions or (None,)

    @cached_property
    def _positions(self) -> tuple[Lever, ...]:
        return self.gearbox or positions_of(self.box)

    @cached_property
    def _by_name(self) -> Mapping[str | None, Lever]:
        return {position.name: position for position in self._positions}

    @property
    def spindle_ratio(self) -> Fraction:
        """Turns of the first driver for one turn of the spindle; levers ahead of the change gears come on top."""
        return self.spindle_side.ratio

    @property
    def last_shaft(self) -> str:
        """What the shaft of the last driven gear is called: with a gearbox its input, else the leadscrew.

        >>> demo_lathe("inch").last_shaft
        'gearbox input'
        """
        behind = self.gearbox or any(lever.side == "leadscrew" for lever in self.box)
        return "gearbox input" if behind else "leadscrew"

    @property
    def units(self) -> Units:
        """What is read first, 'inch' or 'mm', as [show] says; where it doesn't, as the leadscrew: inch for a tpi one.

        >>> demo_lathe("inch").units, demo_lathe("metric").units, demo_lathe("metric").with_show(units="inch").units
        ('inch', 'mm', 'inch')
        """
        if self.show.units is None:
            return "inch" if is_inch(self.leadscrew.lead) else "mm"
        return "inch" if self.show.units == "inch" else "mm"

    @property
    def paper(self) -> str:
        """What is printed on, 'A4', 'A3' or 'Letter', as [show] says; else A4."""
        return self.show.paper or "A4"

    @property
    def module_mm(self) -> float | None:
        """Module of the change gears in mm (25.4 ÷ diametral pitch), a float; None where the file doesn't say."""
        return self.gear_set.size.module_mm

    def lever(self, name: str | None) -> Lever | None:
        """Give the gearbox position of that name; None for None where there is no gearbox.

        >>> demo_lathe("inch").lever("low").ratio
        Fraction(1, 2)

        With one position only, None means that one. Where there are several levers, each is named, in any order:
        'range slow, tumbler back', or 'slow, back' where no other lever has such a position.
        Raises UnknownNameError with the names there are.
        """
        every = self._positions
        if name is None and len(every) <= 1:
            return every[0] if every else None
        if isinstance(name, str) and name in self._by_name:
            return self._by_name[name]
        if not every:
            raise UnknownNameError(f"{self.name} has no lever", remedy=f"Leave {quoted(name)} out.")
        if self.box:
            if not isinstance(name, str):
                raise UnknownNameError("say where the levers stand", remedy=how_to_say(self.box))
            return self._by_name[read_position(name, self.box)]
        names = ", ".join(quoted(position.name) for position in every)
        if name is None:
            raise UnknownNameError("say where the lever stands", remedy=f"It can stand at {names}.")
        raise UnknownNameError(f"lever must be one of {names}", value=name)

    def check_owned(self, wanted: Iterable[int] | Train) -> None:
        """Raise GearNotOwnedError when the set lacks one of these gears, or has it once and needs it twice.

        Of a train, raise NotPossibleError too where its gears can't stand so: the first driver is another than the
        fixed one, a cluster is taken apart, teeth of two sizes mesh.
        """
        if isinstance(wanted, Train):
            as_pieces(self.gear_set, wanted)
        else:
            self.gear_set.check(wanted)

    def with_gears(self, add: Iterable[int] | int = (), remove: Iterable[int] | int = ()) -> Lathe:
        """Give the same lathe with gears bought or lent: one tooth count, or several.

        >>> 127 in demo_lathe("inch").with_gears(add=127).gears
        True

        Raises GearNotOwnedError for a gear to remove that is not there, ValueOutOfRangeError for no tooth count.
        """
        return evolve(self, gear_set=self.gear_set.with_gears(add, remove))

    def with_show(self, units: str | None = None, paper: str | None = None) -> Lathe:
        """Give the same lathe shown otherwise: the other unit first, or made for another paper.

        >>> print(demo_lathe("inch").with_show(units="mm", paper="letter").paper)
        Letter

        `units`: 'inch' or 'mm'; `paper`: 'A4', 'A3' or 'Letter', in any case; None leaves it as it is.
        Raises ValueOutOfRangeError for another.
        """
        said = {"units": units, "paper": paper}
        return evolve(self, show=evolve(self.show, **{key: value for key, value in said.items() if value is not None}))

    @property
    def _written_leadscrew(self) -> str:
        return f"{writing.lead(self.leadscrew.lead, first=self.units)}, {self.leadscrew.hand}-hand"

    def __str__(self) -> str:
        return (
            f"{self.name}: leadscrew {self._written_leadscrew}; "
            f"levers: {levers_in_words(self) or 'none'}; gears: {gears_in_words(self.gear_set)}"
        )

    def _repr_html_(self) -> str:
        rows = (
            ("Leadscrew", self._written_leadscrew),
            ("Spindle side", f"first driver turns {writing.ratio(self.spindle_ratio)} × spindle"),
            ("Levers", levers_in_words(self) or "none"),
            *gear_rows(self.gear_set),
        )
        return markup.html_table(self.name, rows, note=self.note)


def levers_in_words(lathe: Lathe) -> str:
    """Where the lever can stand, and how often the leadscrew then turns for one turn of the last driven gear.

    >>> levers_in_words(demo_lathe("inch"))
    'low 1/2, middle 1, high 2'

    With several levers, each and where that can stand.
    """
    if lathe.box:
        return each_in_words(lathe.box)
    return ", ".join(f"{name} {writing.ratio(turns)}" for name, turns in lathe.levers.items())


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
        value=shown(given),
        remedy="It goes first, and what is asked of it behind it. Take demo_lathe('inch'), or your own with "
        "Lathe.load('my_lathe.toml').",
    )


_HANGS_ON = {
    "leadscrew": "leadscrew", "spindle_side": "spindle side", "gearbox": "gearbox", "box": "gearbox",
    "feeds": "feed drive", "bracket": "bracket",
}  # fmt: skip


def differences(one: Lathe, other: Lathe) -> tuple[str, ...]:
    """Name the parts in which two lathes differ, of those that a setup hangs on; none where it stands on both alike.

    >>> differences(demo_lathe("inch"), demo_lathe("inch").with_gears(add=127))
    ()

    Name, note, dial and plate are no matter, nor are gears that one has and the other has not.
    """
    if one is other:
        return ()
    differ = [words for part, words in _HANGS_ON.items() if getattr(one, part) != getattr(other, part)]
    parts = dict.fromkeys(differ)
    mine, others = one.gear_set, other.gear_set
    if (mine.size, mine.first_bore_mm, mine.last_bore_mm) != (others.size, others.first_bore_mm, others.last_bore_mm):
        parts["size of tooth"] = None
    if mine.fixed != others.fixed:
        parts["fixed gears"] = None
    return tuple(parts)


@lru_cache(maxsize=128)
def lent(own: GearSet, gears: Gears) -> GearSet:
    """The set with gears lent; kept, since it knows what it was asked before, and thread after thread is asked of it.

    >>> lent(GearSet([40, 60]), (20,)).teeth
    (20, 40, 60)
    """
    return own.with_gears(gears)


def lead_to_cut(lathe: Lathe, wanted: Wanted) -> Exact:
    """The lead by the half-nuts, mm, exact, that gives what is wanted on this lathe.

    >>> from gearcalc.threads import Feed
    >>> lead_to_cut(demo_lathe("inch"), Feed.parse("0.1 mm/rev"))
    Fraction(4, 5)

    For a thread it is the thread's lead; for a feed, the feed over what the feed drive makes of it.
    Without [feeds] in the lathe file a longitudinal feed goes through the half-nuts.
    Raises NotPossibleError for a cross feed on a lathe whose file gives none.
    """
    if isinstance(wanted, Thread):
        return wanted.lead
    if wanted.along == "longitudinal":
        return wanted.travel_mm / (lathe.feeds.longitudinal if lathe.feeds is not None else 1)
    if lathe.feeds is None or lathe.feeds.cross is None:
        raise NotPossibleError(
            f"{lathe.name} has no cross feed in its file", remedy="Add cross = ... under [feeds] if it has one."
        )
    return wanted.travel_mm / lathe.feeds.cross


def demo_lathe(name: str = "inch") -> Lathe:
    """Load a lathe invented for teaching: 'inch' (8 tpi leadscrew, no 127), 'metric' (3 mm leadscrew, a 127) or 'odd'.

    >>> demo_lathe("metric").leadscrew_lead_mm
    Fraction(3, 1)

    `name`: 'inch', 'metric' or 'odd': one with two levers, a first driver that stays, a damaged gear, two gears in one
    piece and two sizes of tooth. Raises UnknownNameError for any other.
    """
    files = _demo_files()
    if not isinstance(name, str) or name not in files:
        raise UnknownNameError(f"the demo lathes are {writing.listed(map(repr, files))}", value=name)
    return _read_once(files[name])


@cache
def _demo_files() -> dict[str, Path]:
    return {path.stem: path for path in sorted((data_folder() / "lathes").glob("*.toml"))}


@cache
def _read_once(path: Path) -> Lathe:
    return Lathe.load(path)
