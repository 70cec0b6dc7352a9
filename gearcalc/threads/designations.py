"""The forms a thread is written in: one pattern and one short reader each, from matched text to facts.

Digits are ASCII and capped, and nothing is ever evaluated. The first pattern that matches the whole text decides.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction

from attrs import Factory, frozen

from gearcalc.basics.errors import ThreadTextError
from gearcalc.basics.exact import INCH_MM, Exact, PiMultiple, parse_number
from gearcalc.basics.writing import number
from gearcalc.threads.size_tables import (
    acme_pitches,
    ba_sizes,
    iso_7_sizes,
    metric_has_coarse,
    metric_pitches,
    npt_pitches,
    pipe_pitches,
    size_in_inches,
    trapezoidal_pitches,
    unified_names,
    unified_pitches,
    whitworth_pitches,
)

MOST_STARTS = 60
_UNIFIED_SERIES = ("UNC", "UNF", "UNEF")
_ANGLES_DEG = {
    **dict.fromkeys(("metric", "Unified", "NPT"), Fraction(60)),
    **dict.fromkeys(("Whitworth", "BSP"), Fraction(55)),
    "BA": Fraction(95, 2),
    "trapezoidal": Fraction(30),
    "Acme": Fraction(29),
}


@frozen
class Facts:
    """What a designation says: `name` as it is best written, lengths in mm, angles in degrees.

    `family`: whose thread it is ('metric', 'Unified', 'Whitworth' ...), None for a pitch or lead alone. Tolerances,
    depth and infeed go by it, never by the angle: two families may share that and nothing else.
    """

    name: str
    pitch: Exact
    starts: int = 1
    hand: str = "right"
    major_mm: Fraction | None = None
    tolerance_class: str | None = None
    standard: str | None = None
    taper: bool = False
    family: str | None = None
    thread_angle_deg: Fraction | None = Factory(lambda facts: _ANGLES_DEG.get(facts.family), takes_self=True)


_DECIMAL = r"(?:\d{0,6}[.,]\d{1,6}|\d{1,6})"
NUMBER = rf"(?:\d{{1,4}}[\x20-]\d{{1,4}}/\d{{1,4}}|\d{{1,6}}/\d{{1,6}}|{_DECIMAL})"
"""Pattern of a number: 11 1/2, 3/8, 1.25 or 1,25; at most six digits on either side of a point or slash."""

# In the forms below a space means 'a space or none', \x20 one that must be there.
_SIZE = rf"(?P<size>{NUMBER})(?: in(?:ch)?)?"
_TPI = rf"(?: - (?P<tpi>{NUMBER}))?"
_UNIT = r"(?P<unit>mm|in(?:ch)?)"
_NUMBERED = re.compile(r"\d|1[012]")
_ISO_CLASS = r"(?-i:[3-9][a-h](?:[3-9][a-h])?|[3-9][E-H](?:[3-9][E-H])?)"


def _classed(grade: str) -> str:
    return rf"(?:(?: - |\x20)(?P<grade>{grade}))?"


def _pitch_of(tpi: Fraction, *, what: str = "threads per inch") -> Fraction:
    if tpi <= 0:
        raise ThreadTextError(f"{what} must be more than zero")
    return INCH_MM / tpi


def figure(x: Fraction) -> str:
    """A number so that NUMBER reads it again: a decimal where it ends, else a fraction, in two parts if it is long.

    >>> figure(Fraction(5, 4)), figure(Fraction(5, 3)), figure(999 + Fraction(1, 9999))
    ('1.25', '5/3', '999 1/9999')
    """
    shown = number(x).text
    whole, part = divmod(x, 1)
    return shown if re.fullmatch(NUMBER, shown, re.A) else f"{whole} {part}"


def _mixed(x: Fraction) -> str:
    """11/8 as the trade writes it, 1-3/8; a decimal fraction that is no binary one as a decimal."""
    whole, part = divmod(x, 1)
    if part and x.denominator not in (2, 4, 8, 16, 32, 64):
        return figure(x)
    return str(whole) if not part else f"{whole}-{part}" if whole else str(part)


def _nearest_sizes(
    size: Fraction, sizes: Iterable[Fraction], mark: str, written: Callable[[Fraction], str] = _mixed
) -> str:
    nearest = sorted(set(sizes), key=lambda other: (abs(other - size), other))[:2]
    return " or ".join(mark.format(written(other)) for other in sorted(nearest))


def _grade(found: re.Match[str]) -> str | None:
    grade = found.groupdict().get("grade")
    return grade.upper() if grade else None


# Plain pitch, threads per inch, lead.


def _length(found: re.Match[str]) -> tuple[str, Fraction]:
    """A length as it is best written, in its own unit, and in mm."""
    value = parse_number(found["value"])
    metric = found["unit"].casefold() == "mm"
    return (f"{figure(value)} mm", value) if metric else (f"{_mixed(value)} in", value * INCH_MM)


def _read_pitch(found: re.Match[str]) -> Facts:
    shown, pitch = _length(found)
    if shown.endswith("mm"):
        return Facts(shown, pitch)
    if not (found["before"] or found["after"]):
        raise ThreadTextError(
            "an inch dimension alone could be a size or a pitch",
            remedy=f"Write '{shown} pitch' for a pitch, or size and threads per inch, like '1/2-13'.",
        )
    return Facts(f"{shown} pitch", pitch)


def _read_tpi(found: re.Match[str]) -> Facts:
    per_inch = parse_number(found["value"])
    return Facts(f"{_mixed(per_inch).replace('-', ' ')} tpi", _pitch_of(per_inch))


def _read_lead(found: re.Match[str]) -> Facts:
    shown, lead = _length(found)
    return Facts(f"lead {shown}", lead)


# Metric and trapezoidal.


def _read_metric(found: re.Match[str]) -> Facts:
    major = parse_number(found["major"])
    name, starts = f"M{number(major)}", 1
    if found["fit"]:
        text = found.string[: found.start("grade")]
        either, other = (f"'{text}{grade}'" for grade in (found["grade"], found["fit"]))
        raise ThreadTextError("a fit names two threads", remedy=f"Ask for one of them, {either} or {other}.")
    if found["lead"]:
        lead, pitch = parse_number(found["lead"]), parse_number(found["start_pitch"])
        starts = _starts_from(lead, pitch)
        name += f"xPh{number(lead)}P{number(pitch)}"
    else:
        pitch = parse_number(found["pitch"]) if found["pitch"] else _coarse(major)
        name += f"x{number(pitch)}"
    grade, standard = found["grade"], "ISO 261" if pitch in metric_pitches().get(major, ()) else None
    return Facts(name, pitch, starts, major_mm=major, tolerance_class=grade, standard=standard, family="metric")


def _coarse(major: Fraction) -> Fraction:
    """The coarse pitch of a size; raises ThreadTextError where there is none."""
    sizes, pitches = metric_has_coarse(), metric_pitches()
    if major in sizes:
        return pitches[major][0]
    if major <= 0:
        raise ThreadTextError("a diameter must be more than zero")
    nearest = min(sizes, key=lambda other: abs(other - major))
    pitch = pitches[nearest][0]
    fits = 5 * pitch < 4 * major
    raise ThreadTextError(
        f"M{number(major)} has no coarse pitch in ISO 261",
        remedy=f"Write the pitch, like 'M{number(major if fits else nearest)}x{number(pitch)}'; "
        f"the nearest sizes with one are {_nearest_sizes(major, sizes, 'M{}', figure)}.",
    )


def _starts_from(lead: Fraction, pitch: Fraction) -> int:
    if pitch <= 0:
        raise ThreadTextError("a pitch must be more than zero")
    starts = lead / pitch
    if starts.denominator != 1 or not 1 <= starts <= MOST_STARTS:
        raise ThreadTextError(f"the lead must be the pitch times a whole number of starts, 1 to {MOST_STARTS}")
    return int(starts)


def _read_trapezoidal(found: re.Match[str]) -> Facts:
    major, lead = parse_number(found["major"]), parse_number(found["lead"])
    pitch = parse_number(found["pitch"]) if found["pitch"] else lead
    starts = _starts_from(lead, pitch)
    name = f"Tr {number(major)}x{number(lead)}" + (f"(P{number(pitch)})" if starts > 1 else "")
    grade, standard = found["grade"], "ISO 2904" if pitch in trapezoidal_pitches().get(major, ()) else None
    return Facts(name, pitch, starts, major_mm=major, tolerance_class=grade, standard=standard, family="trapezoidal")


# Unified and Acme.


def _read_unified(found: re.Match[str]) -> Facts:
    tpi = parse_number(found["tpi"]) if found["tpi"] else None
    diameter = _unified_diameter(found, tpi)
    size = _unified_name(diameter)
    pitches = unified_pitches()
    listed = {name: pitches[name, diameter] for name in _UNIFIED_SERIES if (name, diameter) in pitches}
    named = (found["series"] or found["series_alone"] or "").upper()
    if named in _UNIFIED_SERIES:
        tpi = _unified_pitch(found["size"], size, named, listed, tpi)
    assert tpi is not None  # the pattern wants threads per inch or a series
    series = next((name for name, per_inch in listed.items() if per_inch == tpi), "")
    if found["size"][0] != "#" and size[0] != "#" and _read_as_numbered(size, tpi):
        size += ".0"  # so that an inch is not read back as a number 1
    name, major, grade = f"{size}-{figure(tpi)} {series}".rstrip(), diameter * INCH_MM, _grade(found)
    standard, pitch = "ASME B1.1" if series else None, _pitch_of(tpi)
    return Facts(name, pitch, major_mm=major, tolerance_class=grade, standard=standard, family="Unified")


def _unified_diameter(found: re.Match[str], tpi: Fraction | None) -> Fraction:
    size = found["size"]
    if size.startswith("#"):
        if int(size[1:]) > 12 or size != f"#{int(size[1:])}":
            raise ThreadTextError("numbered sizes run from #0 to #12")
        return size_in_inches(size)
    if tpi is not None and not found["inch"] and _read_as_numbered(size, tpi):
        return size_in_inches(f"#{size}")
    diameter = parse_number(size)
    if diameter <= 0:
        raise ThreadTextError("a diameter must be more than zero")
    return diameter


def _read_as_numbered(size: str, tpi: Fraction) -> bool:
    """Whether the bare size means a numbered one: '10-28' is a number 10, '1-28' an inch.

    Listed pitches decide; else three inches and up are hardly ever cut as fine as 24 threads per inch.
    """
    if not _NUMBERED.fullmatch(size):
        return False
    numbered = size_in_inches(f"#{size}")
    listed = any(unified_pitches().get((name, numbered)) == tpi for name in _UNIFIED_SERIES)
    return listed or (int(size) >= 3 and tpi >= 24)


def _unified_name(diameter: Fraction) -> str:
    number_of_it = (diameter * 1000 - 60) / 13
    if number_of_it.denominator == 1 and 0 <= number_of_it <= 12:
        return f"#{number_of_it}"
    return unified_names().get(diameter) or _mixed(diameter)


def _unified_pitch(
    written: str, size: str, series: str, listed: Mapping[str, Fraction], tpi: Fraction | None
) -> Fraction:
    """The threads per inch of a listed size; what the text says must agree with the table."""
    if series in listed and tpi in (None, listed[series]):
        return listed[series]
    if series in listed and tpi is not None:
        raise ThreadTextError(
            f"{size} {series} has {number(listed[series])} tpi, not {number(tpi)}",
            remedy=f"Write '{size}-{number(listed[series])} {series}' or '{size}-{number(tpi)}'.",
        )
    pitches = unified_pitches()
    sizes = [diameter for name, diameter in pitches if name == series]
    if _NUMBERED.fullmatch(written) and size_in_inches(f"#{written}") in sizes:
        tpi = pitches[series, size_in_inches(f"#{written}")]
        remedy = f"For the numbered size write '#{written}-{number(tpi)} {series}'."
    elif listed:
        ways = (f"'{size}-{number(per_inch)} {name}'" for name, per_inch in listed.items())
        remedy = f"Write {' or '.join(ways)}."
    else:
        near = _nearest_sizes(size_in_inches(written), sizes, "{}", _unified_name)
        remedy = f"The nearest sizes in it are {near}."
    raise ThreadTextError(f"{size} is not listed in {series}", remedy=remedy)


def _read_acme(found: re.Match[str]) -> Facts:
    size = parse_number(found["size"])
    listed = acme_pitches().get(size)
    tpi = parse_number(found["tpi"]) if found["tpi"] else listed
    if tpi is None:
        near = _nearest_sizes(size, acme_pitches(), "{} Acme")
        raise ThreadTextError(f"there is no {_mixed(size)} Acme in the table", remedy=f"The nearest: {near}.")
    name, major, grade = f"{_mixed(size)}-{figure(tpi)} Acme", size * INCH_MM, _grade(found)
    standard, pitch = "ASME B1.5" if listed == tpi else None, _pitch_of(tpi)
    return Facts(name, pitch, major_mm=major, tolerance_class=grade, standard=standard, family="Acme")


# Sizes that have one pitch each: Whitworth, BA, pipe.


def _listed_pitch(found: re.Match[str], mark: str, table: Mapping[Fraction, Fraction]) -> tuple[str, Fraction]:
    """Name and pitch of a listed inch size; what the text says must agree with the table."""
    size = parse_number(found["size"])
    name = mark.format(_mixed(size))
    if size not in table:
        near = _nearest_sizes(size, table, mark)
        raise ThreadTextError(f"there is no {name} in the table", remedy=f"The nearest: {near}.")
    said = found.groupdict().get("tpi")
    if said and parse_number(said) != table[size]:
        raise ThreadTextError(f"{name} has {number(table[size])} tpi, not {said}", remedy=f"Write '{name}'.")
    return name, _pitch_of(table[size])


def _read_whitworth(found: re.Match[str]) -> Facts:
    series = "BSF" if found["series"].casefold() == "bsf" else "BSW"
    table = {size: tpi for (name, size), tpi in whitworth_pitches().items() if name == series}
    name, pitch = _listed_pitch(found, f"{{}} {series}", table)
    major = parse_number(found["size"]) * INCH_MM
    return Facts(name, pitch, major_mm=major, standard="BS 84", family="Whitworth")


def _read_ba(found: re.Match[str]) -> Facts:
    size = int(found["before"] or found["after"])
    if size not in ba_sizes():
        sizes = f"{min(ba_sizes())} to {max(ba_sizes())}"
        raise ThreadTextError(f"our table of BA threads holds the sizes {sizes}", remedy="Write it like '2 BA'.")
    major, pitch = ba_sizes()[size]
    return Facts(f"{size} BA", pitch, major_mm=major, standard="BS 93", family="BA")


def _read_parallel_pipe(found: re.Match[str]) -> Facts:
    table = pipe_pitches()
    name, pitch = _listed_pitch(found, "G {}", {size: tpi for size, (tpi, _) in table.items()})
    major, grade = table[parse_number(found["size"])][1], _grade(found)
    return Facts(name, pitch, major_mm=major, tolerance_class=grade, standard="ISO 228-1", family="BSP")


def _read_iso_7_pipe(found: re.Match[str]) -> Facts:
    kind = (found.groupdict().get("kind") or "R").capitalize()
    table = {size: tpi for size, (tpi, _) in pipe_pitches().items()}
    name, pitch = _listed_pitch(found, f"{kind} {{}}", table)
    standard = "ISO 7-1" if parse_number(found["size"]) in iso_7_sizes() else None
    return Facts(name, pitch, standard=standard, taper=kind != "Rp", family="BSP")


def _read_npt(found: re.Match[str]) -> Facts:
    name, pitch = _listed_pitch(found, "{} NPT", npt_pitches())
    return Facts(name, pitch, standard="ASME B1.20.1", taper=True, family="NPT")


# Worms.


def _read_module(found: re.Match[str]) -> Facts:
    module = parse_number(found["before"] or found["after"])
    return Facts(f"module {figure(module)}", PiMultiple(module), family="module")


def _read_diametral_pitch(found: re.Match[str]) -> Facts:
    teeth = parse_number(found["before"] or found["after"])
    pitch = PiMultiple(_pitch_of(teeth, what="a diametral pitch"))
    return Facts(f"DP {figure(teeth)}", pitch, family="diametral pitch")


def _form(
    pattern: str, reader: Callable[[re.Match[str]], Facts]
) -> tuple[re.Pattern[str], Callable[[re.Match[str]], Facts]]:
    return re.compile(pattern.replace(" ", " ?"), re.I | re.A), reader


FORMS = (
    _form(rf"(?P<before>pitch )?(?P<value>{NUMBER}) {_UNIT}(?P<after> pitch)?", _read_pitch),
    _form(rf"(?P<value>{NUMBER}) (?:tpi|t\.p\.i\.|threads? per inch|threads?/in(?:ch)?)", _read_tpi),
    _form(rf"(?:lead (?P<value>{NUMBER}) {_UNIT})", _read_lead),
    _form(rf"(?P<value>{NUMBER}) {_UNIT} lead", _read_lead),
    _form(
        rf"M (?P<major>{_DECIMAL})"
        rf"(?: x (?:Ph (?P<lead>{_DECIMAL}) P (?P<start_pitch>{_DECIMAL})|(?P<pitch>{_DECIMAL})))?"
        rf"(?:(?: - |\x20)(?P<grade>{_ISO_CLASS})(?: / (?P<fit>{_ISO_CLASS}))?)?",
        _read_metric,
    ),
    _form(
        rf"(?P<size>#\d{{1,2}}|{NUMBER})(?P<inch> in(?:ch)?)?"
        rf"(?: - (?P<tpi>{NUMBER}) (?P<series>UNC|UNF|UNEF|UNS|UN)?| (?P<series_alone>UNC|UNF|UNEF))"
        + _classed("[123][AB]"),
        _read_unified,
    ),
    _form(rf"{_SIZE}{_TPI} (?P<series>BSW|Whitworth|BSF)", _read_whitworth),
    _form(r"(?:(?P<before>\d{1,4}) BA|BA (?P<after>\d{1,4}))", _read_ba),
    _form(rf"G {_SIZE}(?:[\x20-]?(?P<grade>[AB]))?", _read_parallel_pipe),
    _form(rf"{_SIZE}{_TPI} BSPP?", _read_parallel_pipe),
    _form(rf"BSPP? {_SIZE}", _read_parallel_pipe),
    _form(rf"(?P<kind>Rc|Rp|R) {_SIZE}", _read_iso_7_pipe),
    _form(rf"{_SIZE}{_TPI} BSPT", _read_iso_7_pipe),
    _form(rf"BSPT {_SIZE}", _read_iso_7_pipe),
    _form(rf"{_SIZE}{_TPI} NPT", _read_npt),
    _form(rf"NPT {_SIZE}", _read_npt),
    _form(
        rf"Tr (?P<major>{_DECIMAL}) x (?P<lead>{_DECIMAL})(?: \(? P (?P<pitch>{_DECIMAL}) \)?)?"
        + _classed(r"(?-i:[6-9][a-h]|[6-9][E-H])"),
        _read_trapezoidal,
    ),
    _form(rf"{_SIZE}{_TPI} Acme{_classed('[2-6][GC]')}", _read_acme),
    _form(rf"(?:mod(?:ule)? (?P<after>{NUMBER})|(?P<before>{NUMBER}) mod(?:ule)?)", _read_module),
    _form(rf"(?:DP (?P<after>{NUMBER})|(?P<before>{NUMBER}) DP)", _read_diametral_pitch),
)
"""Pattern and reader of each form, in the order in which they are tried."""
