"""A number, a thread or a fraction as an answer: read exactly, with its unit; right as rounded as the question says."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress
from fractions import Fraction

from attrs import field, frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import ThreadTextError, ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, Exact, PiMultiple, RelativeError, as_exact, as_fraction, half_up
from gearcalc.finding.setups import Setup
from gearcalc.learning.exercises.answers import Answer, SlipTable, UnreadableError, about, as_meant, at_most_apart
from gearcalc.learning.exercises.arithmetic import from_float, is_long, is_simple, worked_out
from gearcalc.threads import Thread, as_thread

_LONGEST_TEXT = 100
_ROUGHLY = Fraction(1, 20)
"""So near, as a share, a number is that was rounded as it is written: 29 for 28.8."""
_TO_TENS = 100
"""From here on a number may have been rounded to tens as it was written."""

_IN = dict.fromkeys(("in", "inch", "inches", '"'), INCH_MM)
_MILLIMETRES = ("mm", *(f"millimet{end}" for end in ("re", "er", "res", "ers")))
_MM = {**dict.fromkeys((*_MILLIMETRES, "mm/rev", "mm per turn", "mm a turn"), Fraction(1)), **_IN}
_MICROMETRES = ("μm", "um", "micron", "microns", *(f"micromet{end}" for end in ("re", "er", "res", "ers")))
_UM = dict.fromkeys(_MICROMETRES, Fraction(1))  # μ as casefold() writes it
_WAYS_OUT = {"too long": Fraction(1), "too short": Fraction(-1)}
_TPI = dict.fromkeys(
    ("tpi", "t.p.i", "threads per inch", "threads an inch", "threads/inch", "per inch", "threads"), Fraction(1)
)
_UNITS: Mapping[str, tuple[str, Mapping[str, Fraction]]] = {
    "mm": ("in millimetres", _MM),
    "tpi": ("in threads per inch", _TPI),
    "teeth": ("with a number of teeth", dict.fromkeys(("teeth", "tooth", "t"), Fraction(1))),
    "ppm": ("in ppm", {"ppm": Fraction(1), **_WAYS_OUT, **{f"ppm {way}": sign for way, sign in _WAYS_OUT.items()}}),
    "µm": (
        "in micrometres",
        {**_UM, "mm": Fraction(1000), **_WAYS_OUT, **{f"μm {way}": sign for way, sign in _WAYS_OUT.items()}},
    ),
    "s": ("in seconds", dict.fromkeys(("s", "sec", "seconds", "second"), Fraction(1))),
    "rpm": ("in rev/min", dict.fromkeys(("rpm", "rev/min", "turns a minute", "turns per minute"), Fraction(1))),
    "turns": ("with a number of turns", dict.fromkeys(("turns", "turn"), Fraction(1))),
    "threads": ("with a number of threads", dict.fromkeys(("threads", "thread", "leadscrew threads"), Fraction(1))),
    "°": ("in degrees", dict.fromkeys(("°", "deg", "degree", "degrees"), Fraction(1))),
    "%": ("in per cent", dict.fromkeys(("%", "per cent", "percent"), Fraction(1))),
    "": ("with a number", {}),
}
_SAID = frozenset(unit for _, units in _UNITS.values() for unit in units)
_FINE_TAIL = re.compile(r"([.,]\d{4})\d+", re.A)
"""Decimals that a float prints and nobody means: past the fourth of a thread."""
_PARTED = re.compile(r"[^\d(]*\d{1,3}(?:,\d{3})+(?:[^\d,(].*)?", re.A)
_DECIMAL = re.compile(r"\d+\.\d+", re.A)
_ONE_NUMBER = re.compile(r"\D*?(\d+(?:\.\d+)?)\D*", re.A)
_HALF_A_HUNDREDTH = Fraction(1, 200)
_NO_COMMA = "A comma is read as the decimal sign: leave out the one that parts the thousands."
_RIGHT_BUT_FOR_ITS_UNIT = "The number is right, but in another unit."


@frozen
class Number(Answer):
    """A number in a unit: int, Fraction, float, sympy number, or text such as '3/8', '11 1/2', '3,175 mm', '1.5 π'.

    >>> lead = Number(Fraction(127, 40), "mm", places=3)
    >>> [lead.is_right(lead.read(given)) for given in (3.175, "127/40", "25.4/8", "1/8 in", 3.2)]
    [True, True, True, True, False]
    >>> ratio = Number(Fraction(30, 127))
    >>> [ratio.is_right(ratio.read(given)) for given in (30 / 127, "30:127", "Fraction(30, 127)", 0.236)]
    [True, True, True, False]

    `value`: exact, or a float, which stands for the number that it was worked out from; `unit`: 'mm', 'tpi', 'teeth',
    'turns', 'threads', 'ppm', 'µm', 's', 'rpm', '°', '%' or ''; `places`: decimals to which it may be rounded (−1: to
    tens), None for not. `unrounded`: right too, what comes of a figure that the question gives rounded where somebody
    works it out anew; None where it gives all figures as they are. Raises ValueOutOfRangeError for another unit, and
    for a float that nobody can give exactly.
    """

    value: Exact = field(converter=as_meant)
    unit: str = field(default="")
    places: int | None = None
    unrounded: Exact | None = field(default=None, converter=as_meant)

    def __attrs_pre_init__(
        self, value: Exact | float, unit: str = "", places: int | None = None, unrounded: Exact | float | None = None
    ) -> None:
        """Refuse what nobody could answer: a float that comes from no simple fraction, and is wanted exactly."""
        if isinstance(value, float) and from_float(value) and not is_simple(value) and places is None:
            remedy = "Say to which decimals, as in places=2, or make it of fractions: Fraction(1, 3), not 1 / 3."
            raise ValueOutOfRangeError("nobody can give this number exactly", value=value, remedy=remedy)

    @unit.validator
    def _known(self, _: object, unit: str) -> None:
        if unit not in _UNITS:
            raise ValueOutOfRangeError(f"unit must be one of {sorted(_UNITS)}", value=unit)

    @property
    def how(self) -> str:
        """How to write the number."""
        if self.places is None and not self.unit:
            return "Answer with the exact fraction, such as '22/7'."
        if self.places is None:
            return f"Answer {_UNITS[self.unit][0]}."
        return f"Answer {_UNITS[self.unit][0]}, rounded {_rounded(self.places)}, or more exactly."

    def read(self, given: object) -> Exact:
        """The number, in the unit asked for. Raises an error for what is no number, or right but for a comma in it."""
        if not isinstance(given, str):
            return _number(given)
        read = self._read(given)
        if _PARTED.fullmatch(given) and not self.is_right(read) and self.is_right(self._read(given.replace(",", ""))):
            raise UnreadableError("a comma is the decimal sign", remedy=_NO_COMMA)
        return read

    def _read(self, given: str) -> Exact:
        value, unit = worked_out(given)
        units = _UNITS[self.unit][1]
        if unit and unit not in units:
            raise _another_unit(unit)
        return value * units.get(unit, Fraction(1))

    def is_right(self, read: Exact) -> bool:
        """Whether it is the number, from rounded figures or from those behind them."""
        return self.same(read, self.value) or (self.unrounded is not None and self.same(read, self.unrounded))

    def same(self, read: Exact, value: Exact) -> bool:
        """Equal, or within half a unit of the last place; whoever keeps the π of the answer took nothing for it."""
        if isinstance(read, PiMultiple) and isinstance(self.value, PiMultiple) and isinstance(value, Fraction):
            return False
        return at_most_apart(read, value, Fraction(0) if self.places is None else Fraction(10) ** -self.places / 2)

    def as_told(self, value: Exact) -> Exact:
        """The number rounded to the places asked for."""
        unit = Fraction(10) ** -(self.places or 0)
        return value if self.places is None else half_up(as_fraction(float(value)) / unit) * unit

    def rounded(self, read: Exact, value: Exact) -> bool:
        """Whether the number is this one, rounded to the decimals that it has, or to those asked for."""
        if _rounded_as_written(read, value):
            return True
        return read not in (0, value) and read == self.as_told(read) and self.same(read, value)

    def on_a_key(self, text: str) -> str:
        """The number as it is wanted, where a float was written out in full: 100/9 for 11.11111111111111."""
        places = self.places or 0

        def short(found: re.Match[str]) -> str:
            if not is_long(found[0]) and (places > 0 or not found[0].endswith(".0")):
                return found[0]
            meant = from_float(float(found[0]))
            return str(meant) if self.places is None else writing.decimal(meant, max(places, 0))

        return self._half_way_up(_DECIMAL.sub(short, text))

    def _half_way_up(self, text: str) -> str:
        """Half-way is rounded up here as it is everywhere, though a float was rounded down: 28.58 for 28.57."""
        found, value = _ONE_NUMBER.fullmatch(text), self.value
        if found is None or self.places is None or isinstance(value, PiMultiple):
            return text
        said, step = Fraction(found[1]), Fraction(10) ** -self.places
        if abs(value) - said != step / 2:
            return text
        rounded = writing.decimal(said + step, max(self.places, 0))
        return text[: found.start(1)] + rounded + text[found.end(1) :]

    def common_slips(self) -> SlipTable:
        """Rounded too soon, or at all where the number is wanted exactly; the right number with another unit."""
        says = (
            "Very near, but it is wanted exactly. A fraction, or a sum with one in it, does that."
            if self.places is None
            else f"Very near. Round only at the end, {_rounded(self.places)}, or give it exactly."
        )
        in_words, units = _UNITS[self.unit]
        times = sorted(set(map(abs, units.values())) - {1})
        others = [about(value) for each in times for value in (self.value * each, self.value / each)]
        return {**_rounding(self, says), f"another unit: {_RIGHT_BUT_FOR_ITS_UNIT} Answer {in_words}.": others}


@frozen
class ThreadCut(Answer):
    """A thread, by any designation that has this lead; `value`: the lead in mm.

    >>> sixteen = ThreadCut(Fraction(127, 80))
    >>> [sixteen.is_right(sixteen.read(given)) for given in ("16 tpi", "3/8-16 UNC", "1.5875 mm", 16, "8 tpi")]
    [True, True, True, True, False]

    `names_unit`: whether a whole number and its unit are asked, so that a number without one is no answer yet.
    """

    value: Fraction = field(converter=as_meant)
    places: int = 3
    names_unit: bool = False

    @property
    def how(self) -> str:
        """How to write the thread; where the unit is asked for as well, it is a whole number of it."""
        if self.names_unit:
            return "Answer with a whole number and its unit, such as '20 tpi' or '7 mm'."
        exactly = "to two decimals of tpi or three of mm, or more exactly"
        return f"Answer with a thread and its unit, such as '20 tpi' or '1.25 mm', {exactly}."

    def read(self, given: object) -> Exact:
        """The lead of the thread named, or of a Setup. Raises an error for what names no thread.

        A bare number is taken for threads per inch, unless it is the lead in mm, or the unit is what is asked.
        """
        if isinstance(given, Setup):
            return given.lead_mm
        if isinstance(given, Thread):
            return given.lead
        if not isinstance(given, str):
            return self._lead(_number(given), "")
        try:
            value, unit = worked_out(given)
        except ValueOutOfRangeError:
            return _lead_named(given)
        if value > 0 and (not unit or unit in _MM or unit in _TPI):
            return self._lead(value, unit)
        if unit in _SAID.difference(_MM, _TPI):
            raise _another_unit(unit)
        return _lead_named(given)

    def _lead(self, value: Exact, unit: str) -> Exact:
        """The lead in mm; threads per inch that are right to two decimals are the right ones.

        Without a unit, the lead in mm is that too where it was rounded too far: 2.82 for 2.8222.
        """
        if not unit and self.names_unit:
            raise UnreadableError("a thread's number needs its unit", remedy="In which unit?")
        if unit in _MM:
            return value * _MM[unit]
        if not unit and self.same(value, self.value):
            return value
        if not isinstance(value, Fraction) or value <= 0:
            raise ThreadTextError("the answer must be a thread")
        if abs(value - INCH_MM / self.value) <= _HALF_A_HUNDREDTH:
            return self.value
        return value if not unit and _rounded_as_written(value, self.value) else INCH_MM / value

    def same(self, read: Exact, value: Exact) -> bool:
        """The same lead, to half a unit of the last place."""
        return at_most_apart(read, value, Fraction(10) ** -self.places / 2)

    def rounded(self, read: Exact, value: Exact) -> bool:
        """Whether the thread is this one, rounded in millimetres or in threads per inch."""
        if isinstance(read, PiMultiple) or isinstance(value, PiMultiple) or not read > 0:
            return False
        return _rounded_as_written(read, value) or _rounded_as_written(INCH_MM / read, INCH_MM / value)

    def common_slips(self) -> SlipTable:
        """Rounded too soon; threads per inch called millimetres, or the other way round."""
        says = "Very near. Round only at the end: tpi to two decimals, mm to three, or give it exactly."
        other = f"another unit: {_RIGHT_BUT_FOR_ITS_UNIT} Is it threads per inch, or millimetres?"
        inches = [about(self.value * INCH_MM), about(self.value / INCH_MM)]
        return {**_rounding(self, says), other: [about(float(INCH_MM) / float(self.value)), *inches]}


@frozen
class NearerFraction(Answer):
    """Any fraction that is nearer to `value` than another is, without a number above `most` in it.

    >>> from gearcalc.basics.exact import PiMultiple
    >>> nearer = NearerFraction(PiMultiple(Fraction(1)), than=Fraction(22, 7), most=250)
    >>> [nearer.is_right(nearer.read(given)) for given in ("179/57", Fraction(245, 78), "44/14", "355/113", 3.14)]
    [True, True, False, False, False]
    """

    value: Exact = field(converter=as_meant)
    than: Fraction = field(converter=as_meant)
    most: int
    how = "Answer with a fraction, such as '22/7'."

    def read(self, given: object) -> Fraction:
        """The fraction. Raises an error for what is none."""
        read = Number(Fraction(1)).read(given)
        if not isinstance(read, Fraction):
            raise ValueOutOfRangeError("the answer must be a fraction")
        return read

    def is_right(self, read: Fraction) -> bool:
        """Whether it is nearer, and short enough."""
        return not self._too_long(read) and self._miss(read) < self._miss(self.than)

    def common_slips(self) -> SlipTable:
        """Too large numbers, the same fraction again, upside down, not nearer."""
        return {
            f"""too large numbers: In lowest terms that has a number above {self.most} in it. (A decimal is a fraction
            over 10, 100, 1000 ...)""": self._too_long,
            "the same again: That is the same fraction once more. Find one that is nearer.": self.than,
            """upside down: That is upside down: what is wanted is the other way
            round.""": lambda read: read != 0 and self._miss(1 / read) <= self._miss(self.than),
            "not nearer": (lambda read: True, self._compared),
        }

    def _compared(self, read: Fraction) -> str:
        given, known = (writing.error(self._miss(x)) for x in (read, self.than))
        return f"{read} is {given} off, and {self.than} is {known} off. Find one that is nearer."

    def _too_long(self, read: Fraction) -> bool:
        return max(abs(read.numerator), read.denominator) > self.most

    def _miss(self, read: Fraction) -> RelativeError:
        return RelativeError(read, self.value)


def _lead_named(designation: str) -> Exact:
    return as_thread(_FINE_TAIL.sub(r"\1", designation[:_LONGEST_TEXT])).lead


def ways_to_write(unit: str) -> Mapping[str, Fraction]:
    """Give what each unit that may be written for this one comes to in it, in lower case; none for an unknown one.

    >>> ways_to_write("mm")["inch"], ways_to_write("teeth")["t"], ways_to_write("geese")
    (Fraction(127, 5), Fraction(1, 1), {})
    """
    return {key.casefold(): ways for key, (_, ways) in _UNITS.items()}.get(unit, {})


def _another_unit(unit: str) -> ValueOutOfRangeError:
    """What to raise of a unit that is not asked for, and of what is none."""
    if unit in _SAID:
        return UnreadableError("another unit was asked for", remedy=f"'{unit}' is not the unit asked for.")
    return ValueOutOfRangeError("the answer must be a number in the unit asked for")


def _rounded(places: int) -> str:
    return {-1: "to tens", 0: "to a whole number", 1: "to one decimal"}.get(places, f"to {places} decimals")


def _rounding(answer: Number | ThreadCut, says: str) -> SlipTable:
    near = about(answer.value)
    return {f"rounding: {says}": lambda read: near(read) or answer.rounded(read, answer.value)}


def _rounded_as_written(read: Exact, value: Exact) -> bool:
    """Whether a decimal is this value to its own last place (29 for 28.8), and within a twentieth of it.

    Nobody rounds to tens what is below a hundred: 20 for 21 is another number.
    """
    if isinstance(read, PiMultiple):
        return False
    exact = as_fraction(float(value))
    steps = (Fraction(10) ** -places for places in range(-2 if abs(exact) >= _TO_TENS else 0, 7))
    step = next((step for step in steps if (read / step).denominator == 1), Fraction(0))
    return abs(read - exact) <= min(step / 2, abs(exact) * _ROUGHLY)


def _number(given: object) -> Exact:
    if isinstance(given, bool):
        raise ValueOutOfRangeError("the answer must be a number")
    if isinstance(given, (int, Fraction, PiMultiple)):
        return as_exact(given)
    if hasattr(given, "free_symbols"):  # a sympy number: exact where it can be
        with suppress(ValueOutOfRangeError):
            return as_exact(given)
    return from_float(float(given))  # type: ignore[arg-type]
