"""What a thread may be written as: a small grammar of our own, from text to the facts of a thread.

Text is length-capped, digits are ASCII and capped, and nothing is ever evaluated. Each form of the trade
is one pattern and one short reader; the first pattern that matches the whole text decides.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from gearcalc import thread_tables as tables
from gearcalc.errors import GearcalcError, ThreadTextError, quoted
from gearcalc.exact import INCH_MM, Exact, PiMultiple, coefficient, parse_number
from gearcalc.writing import number

__all__ = ["EXAMPLES", "Facts", "normalise", "read_thread"]

_LONGEST_TEXT = 60
_MOST_STARTS = 60
_LONGEST_LEAD_MM = 1000
_SHORTEST_PITCH_MM = Fraction(1, 100)

EXAMPLES = (
    "1.25 mm", "M8", "M8x1", "M10x1.5-6g", "M16xPh3P1.5", "16 tpi", "11 1/2 tpi", "1/4-20", "1/4-20 UNC-2A",
    "#8-32", "1/4 UNF", "1 1/8-7", "1/2 BSW", "3/8 BSF", "G 1/2", "R 1/2", "Rc 1/2", "1/2 BSP", "1/2 NPT",
    "2 BA", "Tr 40x7", "Tr 40x14(P7)", "1/2-10 Acme", "module 1.5", "DP 12", "lead 3/8 in",
    "lead 6 mm 2 starts", "M8 LH", "16 tpi LH", "module 1.5 2 starts", "0.05 in pitch",
)  # fmt: skip
"""One of each form that is understood."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What a designation says: `name` as it is best written, lengths in mm, angles in degrees."""

    name: str
    pitch: Exact
    starts: int = 1
    hand: str = "right"
    thread_angle_deg: Fraction | None = None
    major_mm: Fraction | None = None
    tolerance_class: str | None = None
    standard: str | None = None
    taper: bool = False


_WHOLE_AND_FRACTION = r"\d{1,4}[\x20-]\d{1,4}/\d{1,4}"
_DECIMAL = r"(?:\d{0,6}[.,]\d{1,9}|\d{1,6})"
_NUMBER = rf"(?:{_WHOLE_AND_FRACTION}|\d{{1,6}}/\d{{1,6}}|{_DECIMAL})"
_ISO_CLASS = r"\d{1,2}[a-h](?:\d{1,2}[a-h])?"


def read_thread(text: object) -> Facts:
    """The facts of a thread from its designation or from plain trade speech.

    >>> read_thread("m10 × 1,5-6g").name
    'M10x1.5'
    >>> read_thread("16 tpi LH").hand
    'left'

    `text`: at most 60 characters; EXAMPLES shows every form.
    Raises ThreadTextError, with the nearest form that would have been understood.
    Source of the designations: the standards named in data/SOURCES.md.
    """
    shown = normalise(text)
    rest, hand = _take_hand(shown)
    rest, starts = _take_starts(rest)
    for pattern, reader in _FORMS:
        found = pattern.fullmatch(rest)
        if found is not None:
            try:
                facts = reader(found)
                if starts is not None:
                    facts = _with_starts(facts, starts)
                _check_possible(facts)
            except GearcalcError as problem:
                raise _refused(problem, shown) from None
            return replace(facts, hand=hand)
    raise _not_understood(shown)


def normalise(text: object, *, what: str = "a thread") -> str:
    """Text on one line with single spaces, the trade's signs in ASCII; refused when too long or not text.

    >>> normalise(" M8 ×  1 ")
    'M8 x 1'
    """
    if not isinstance(text, str):
        raise ThreadTextError(f"{what} is given as text", value=repr(text), remedy="Write it like 'M8' or '16 tpi'.")
    if len(text) > _LONGEST_TEXT:
        raise ThreadTextError(
            f"{what} takes at most {_LONGEST_TEXT} characters",
            value=text,
            remedy="Write it like 'M8' or '16 tpi'.",
        )
    for sign, plain in (("×", "x"), ("–", "-"), ("−", "-"), ("″", " in"), ('"', " in"), ("\u00a0", " ")):
        text = text.replace(sign, plain)
    return " ".join(text.split())


def _take_hand(text: str) -> tuple[str, str]:
    found = re.search(r"[ -](LH|RH|left[ -]hand|right[ -]hand)$", text, re.I)
    if found is None:
        return text, "right"
    return text[: found.start()].strip(), "left" if found[1][0] in "lL" else "right"


def _take_starts(text: str) -> tuple[str, int | None]:
    found = re.search(r" (\d{1,4})[ -]?starts?$", text, re.I | re.A)
    if found is None:
        return text, None
    return text[: found.start()].strip(), int(found[1])


def _with_starts(facts: Facts, starts: int) -> Facts:
    if facts.starts not in (1, starts):
        raise ThreadTextError(f"the designation already says {facts.starts} starts", value=f"{starts} starts")
    if not 1 <= starts <= _MOST_STARTS:
        raise ThreadTextError(f"a thread has 1 to {_MOST_STARTS} starts", value=starts)
    if facts.name.startswith("lead "):
        return replace(facts, pitch=facts.pitch * Fraction(1, starts), starts=starts)
    return replace(facts, starts=starts)


def _check_possible(facts: Facts) -> None:
    size = float(facts.pitch)
    if coefficient(facts.pitch) <= 0:
        raise ThreadTextError("a pitch must be more than zero")
    if size < _SHORTEST_PITCH_MM or size * facts.starts > _LONGEST_LEAD_MM:
        raise ThreadTextError(
            f"a pitch is at least {float(_SHORTEST_PITCH_MM)} mm and a lead at most {_LONGEST_LEAD_MM} mm here"
        )
    if facts.major_mm is not None and size >= 0.8 * float(facts.major_mm):
        raise ThreadTextError(
            f"a pitch of {number(facts.pitch)} mm would cut through a bar of {number(facts.major_mm)} mm"
        )


def _refused(problem: GearcalcError, text: str) -> ThreadTextError:
    remedy = problem.remedy or f"Write it like {quoted(_nearest_example(text))}."
    said = problem.problem + (f" ({quoted(problem.value)})" if problem.value is not None else "")
    return ThreadTextError(f"in {quoted(text)}, {said}", remedy=remedy)


def _not_understood(text: str) -> ThreadTextError:
    if re.fullmatch(_NUMBER, text):
        return ThreadTextError(
            "a bare number is no thread", value=text, remedy=f"Say the unit: '{text} mm' or '{text} tpi'."
        )
    return ThreadTextError(
        f"{quoted(text)} is not understood as a thread",
        remedy=f"The nearest form that would be: {quoted(_nearest_example(text))}.",
    )


def _nearest_example(text: str) -> str:
    def shape(written: str) -> str:
        return re.sub(r"[0-9]+", "0", written.casefold())

    ours = shape(text)
    return max(EXAMPLES, key=lambda example: difflib.SequenceMatcher(None, ours, shape(example)).ratio())


def _inches(text: str) -> Fraction:
    return parse_number(text) * INCH_MM


def _pitch_of(tpi: Fraction) -> Fraction:
    if tpi <= 0:
        raise ThreadTextError("threads per inch must be more than zero")
    return INCH_MM / tpi


def _mixed(x: Fraction) -> str:
    """11/8 as the trade writes it, 1-3/8; a decimal fraction that is no binary one as a decimal."""
    whole, part = divmod(x, 1)
    if part and x.denominator not in (2, 4, 8, 16, 32, 64):
        return number(x, 9).text
    return str(whole) if not part else f"{whole}-{part}" if whole else str(part)


def _nearest_sizes(size: Fraction, sizes: object, mark: str) -> str:
    listed = sorted(set(sizes), key=lambda other: abs(other - size))[:2]  # type: ignore[call-overload]
    return " or ".join(mark.format(_mixed(other)) for other in sorted(listed))


# One reader a form. Each takes the match and returns the facts.


def _read_pitch(found: re.Match[str]) -> Facts:
    value = parse_number(found["value"])
    if found["unit"].casefold() == "mm":
        return Facts(f"{number(value, 9)} mm", value)
    return Facts(f"{_mixed(value)} in pitch", value * INCH_MM)


def _read_tpi(found: re.Match[str]) -> Facts:
    per_inch = parse_number(found["value"])
    return Facts(f"{_mixed(per_inch).replace('-', ' ')} tpi", _pitch_of(per_inch))


def _read_lead(found: re.Match[str]) -> Facts:
    value, unit = parse_number(found["value"]), "mm" if found["unit"].casefold() == "mm" else "in"
    shown = number(value, 9).text if unit == "mm" else _mixed(value)
    return Facts(f"lead {shown} {unit}", value if unit == "mm" else value * INCH_MM)


def _read_metric(found: re.Match[str]) -> Facts:
    major = parse_number(found["major"])
    name, starts = f"M{number(major, 9)}", 1
    if found["fit"]:
        raise ThreadTextError("a fit names two threads", remedy="Ask for one of them, like 'M10x1.5-6g'.")
    if found["lead"]:
        lead, pitch = parse_number(found["lead"]), parse_number(found["start_pitch"])
        starts = _starts_from(lead, pitch)
        name += f"xPh{number(lead, 9)}P{number(pitch, 9)}"
    elif found["pitch"]:
        pitch = parse_number(found["pitch"])
        name += f"x{number(pitch, 9)}"
    elif major in tables.metric_has_coarse():
        pitch = tables.metric_pitches()[major][0]
        name += f"x{number(pitch, 9)}"
    else:
        near = _nearest_sizes(major, tables.metric_has_coarse(), "M{}")
        raise ThreadTextError(
            f"{name} has no coarse pitch in ISO 261",
            remedy=f"Write the pitch, like '{name}x1.5'; the nearest sizes with one are {near}.",
        )
    listed = starts == 1 and pitch in tables.metric_pitches().get(major, ())
    return Facts(
        name, pitch, starts, thread_angle_deg=Fraction(60), major_mm=major, tolerance_class=found["grade"],
        standard="ISO 261" if listed else None,
    )  # fmt: skip


def _starts_from(lead: Fraction, pitch: Fraction) -> int:
    if pitch <= 0:
        raise ThreadTextError("a pitch must be more than zero")
    starts = lead / pitch
    if starts.denominator != 1 or not 1 <= starts <= _MOST_STARTS:
        raise ThreadTextError(f"the lead must be the pitch times a whole number of starts, 1 to {_MOST_STARTS}")
    return int(starts)


def _read_unified(found: re.Match[str]) -> Facts:
    series = (found["series"] or found["series_alone"] or "").upper()
    tpi = parse_number(found["tpi"]) if found["tpi"] else None
    diameter = _unified_diameter(found["size"], tpi)
    size = tables.unified_names().get(diameter) or (
        f"#{int(found['size'].lstrip('#'))}" if found["size"].startswith("#") else _mixed(diameter)
    )
    pitches = tables.unified_pitches()
    listed = {name: pitches[name, diameter] for name in ("UNC", "UNF", "UNEF") if (name, diameter) in pitches}
    if tpi is None:
        tpi = listed.get(series)
        if tpi is None:
            raise ThreadTextError(
                f"{size} is not listed in {series or 'a series'}",
                remedy=f"Write the threads per inch: '{size}-20'.",
            )
    elif series in listed and listed[series] != tpi:
        said = f"{size} {series} has {number(listed[series])} tpi" if listed[series] else f"{size} is not in {series}"
        raise ThreadTextError(f"{said}, so it can't have {number(tpi)}", remedy=f"Write '{size}-{_mixed(tpi)}'.")
    series = next((name for name, per_inch in listed.items() if per_inch == tpi), "")
    return Facts(
        f"{size}-{number(tpi, 9)}" + (f" {series}" if series else ""), _pitch_of(tpi),
        thread_angle_deg=Fraction(60), major_mm=diameter * INCH_MM,
        tolerance_class=found["grade"].upper() if found["grade"] else None,
        standard="ASME B1.1" if series else None,
    )  # fmt: skip


def _unified_diameter(size: str, tpi: Fraction | None) -> Fraction:
    if size.startswith("#"):
        if int(size[1:]) > 12:
            raise ThreadTextError("numbered sizes run from #0 to #12", value=size)
        return tables.size_in_inches(size)
    if re.fullmatch(r"\d{1,2}", size) and int(size) <= 12 and tpi is not None:
        numbered = tables.size_in_inches(f"#{size}")
        listed = any(tables.unified_pitches().get((name, numbered)) == tpi for name in ("UNC", "UNF", "UNEF"))
        # '10-28' is a number 10 and '1-28' an inch: nobody cuts so fine a thread on three inches and up.
        if listed or (int(size) >= 3 and tpi >= 24):
            return numbered
    return parse_number(size)


def _listed_inch_size(found: re.Match[str], series: str, listed: Fraction | None, sizes: object, mark: str) -> Fraction:
    """The threads per inch of a listed size; what the text says must agree with the table."""
    if listed is None:
        size = parse_number(found["size"])
        near = _nearest_sizes(size, sizes, mark)
        raise ThreadTextError(f"there is no {mark.format(_mixed(size))} in the table", remedy=f"The nearest: {near}.")
    if found.groupdict().get("tpi") and parse_number(found["tpi"]) != listed:
        raise ThreadTextError(f"{mark.format(found['size'])} has {number(listed)} tpi, not {found['tpi']}")
    return listed


def _read_whitworth(found: re.Match[str]) -> Facts:
    size = parse_number(found["size"])
    series = "BSF" if found["series"].casefold() == "bsf" else "BSW"
    table = tables.whitworth_pitches()
    sizes = [diameter for name, diameter in table if name == series]
    tpi = _listed_inch_size(found, series, table.get((series, size)), sizes, f"{{}} {series}")
    return Facts(
        f"{_mixed(size)} {series}", _pitch_of(tpi), thread_angle_deg=Fraction(55), major_mm=size * INCH_MM,
        standard="BS 84",
    )  # fmt: skip


def _read_ba(found: re.Match[str]) -> Facts:
    size = int(found["before"] or found["after"])
    if size not in tables.ba_sizes():
        raise ThreadTextError("BA sizes run from 0 to 16", value=size, remedy="Write it like '2 BA'.")
    major, pitch = tables.ba_sizes()[size]
    return Facts(f"{size} BA", pitch, thread_angle_deg=Fraction(95, 2), major_mm=major, standard="BS 93")


def _read_parallel_pipe(found: re.Match[str]) -> Facts:
    size = parse_number(found["size"])
    tpi, major = tables.pipe_pitches().get(size, (None, None))
    tpi = _listed_inch_size(found, "G", tpi, tables.pipe_pitches(), "G {}")
    grade = found.groupdict().get("grade")
    return Facts(
        f"G {_mixed(size)}", _pitch_of(tpi), thread_angle_deg=Fraction(55), major_mm=major,
        tolerance_class=grade.upper() if grade else None, standard="ISO 228-1",
    )  # fmt: skip


def _read_taper_pipe(found: re.Match[str]) -> Facts:
    size, kind = parse_number(found["size"]), (found.groupdict().get("kind") or "R").capitalize()
    tpi = _listed_inch_size(
        found, kind, tables.pipe_pitches().get(size, (None, None))[0], tables.pipe_pitches(), f"{kind} {{}}"
    )
    return Facts(
        f"{kind} {_mixed(size)}", _pitch_of(tpi), thread_angle_deg=Fraction(55), standard="ISO 7-1",
        taper=kind != "Rp",
    )  # fmt: skip


def _read_npt(found: re.Match[str]) -> Facts:
    size = parse_number(found["size"])
    tpi = _listed_inch_size(found, "NPT", tables.npt_pitches().get(size), tables.npt_pitches(), "{} NPT")
    return Facts(
        f"{_mixed(size)} NPT",
        _pitch_of(tpi),
        thread_angle_deg=Fraction(60),
        standard="ASME B1.20.1",
        taper=True,
    )


def _read_trapezoidal(found: re.Match[str]) -> Facts:
    major, lead = parse_number(found["major"]), parse_number(found["lead"])
    pitch = parse_number(found["pitch"]) if found["pitch"] else lead
    starts = _starts_from(lead, pitch)
    listed = pitch in tables.trapezoidal_pitches().get(major, ())
    return Facts(
        f"Tr {number(major, 9)}x{number(lead, 9)}" + (f"(P{number(pitch, 9)})" if starts > 1 else ""), pitch, starts,
        thread_angle_deg=Fraction(30), major_mm=major, tolerance_class=found["grade"],
        standard="ISO 2904" if listed else None,
    )  # fmt: skip


def _read_acme(found: re.Match[str]) -> Facts:
    size = parse_number(found["size"])
    tpi = parse_number(found["tpi"]) if found["tpi"] else tables.acme_pitches().get(size)
    if tpi is None:
        near = _nearest_sizes(size, tables.acme_pitches(), "{} Acme")
        raise ThreadTextError(f"there is no {_mixed(size)} Acme in the table", remedy=f"The nearest: {near}.")
    return Facts(
        f"{_mixed(size)}-{number(tpi, 9)} Acme", _pitch_of(tpi), thread_angle_deg=Fraction(29),
        major_mm=size * INCH_MM, tolerance_class=found["grade"].upper() if found["grade"] else None,
        standard="ASME B1.5" if tables.acme_pitches().get(size) == tpi else None,
    )  # fmt: skip


def _read_module(found: re.Match[str]) -> Facts:
    module = parse_number(found["value"])
    return Facts(f"module {number(module, 9)}", PiMultiple(module))


def _read_diametral_pitch(found: re.Match[str]) -> Facts:
    teeth = parse_number(found["before"] or found["after"])
    return Facts(f"DP {number(teeth, 9)}", PiMultiple(_pitch_of(teeth)))


def _form(
    pattern: str, reader: Callable[[re.Match[str]], Facts]
) -> tuple[re.Pattern[str], Callable[[re.Match[str]], Facts]]:
    return re.compile(pattern.replace(" ", " ?"), re.I | re.A), reader


# In these patterns a space means 'a space or none'; \x20 is a space that must be there.
_FORMS = (
    _form(rf"(?:pitch )?(?P<value>{_NUMBER}) (?P<unit>mm|in(?:ch)?)(?: pitch)?", _read_pitch),
    _form(rf"(?P<value>{_NUMBER}) (?:tpi|t\.p\.i\.|threads? per inch|threads?/in(?:ch)?)", _read_tpi),
    _form(rf"lead (?P<value>{_NUMBER}) (?P<unit>mm|in(?:ch)?)", _read_lead),
    _form(
        rf"M (?P<major>{_DECIMAL})"
        rf"(?: x (?:Ph (?P<lead>{_DECIMAL}) P (?P<start_pitch>{_DECIMAL})|(?P<pitch>{_DECIMAL})))?"
        rf"(?: - (?P<grade>{_ISO_CLASS})(?P<fit> / {_ISO_CLASS})?)?",
        _read_metric,
    ),
    _form(
        rf"(?P<size>#\d{{1,2}}|{_NUMBER})(?: - (?P<tpi>{_NUMBER}) (?P<series>UNC|UNF|UNEF|UNS|UN)?"
        r"| (?P<series_alone>UNC|UNF|UNEF))(?: - (?P<grade>[123][AB]))?",
        _read_unified,
    ),
    _form(rf"(?P<size>{_NUMBER})(?: - (?P<tpi>{_NUMBER}))? (?P<series>BSW|Whitworth|BSF)", _read_whitworth),
    _form(r"(?:(?P<before>\d{1,4}) BA|BA (?P<after>\d{1,4}))", _read_ba),
    _form(rf"G (?P<size>{_NUMBER})(?:[\x20-]?(?P<grade>[AB]))?", _read_parallel_pipe),
    _form(rf"(?P<size>{_NUMBER})(?: - (?P<tpi>{_NUMBER}))? BSPP?", _read_parallel_pipe),
    _form(rf"(?P<kind>Rc|Rp|R) (?P<size>{_NUMBER})", _read_taper_pipe),
    _form(rf"(?P<size>{_NUMBER})(?: - (?P<tpi>{_NUMBER}))? BSPT", _read_taper_pipe),
    _form(rf"(?P<size>{_NUMBER})(?: - (?P<tpi>{_NUMBER}))? NPT", _read_npt),
    _form(
        rf"Tr (?P<major>{_DECIMAL}) x (?P<lead>{_DECIMAL})(?: \(? P (?P<pitch>{_DECIMAL}) \)?)?"
        r"(?: - (?P<grade>\d{1,2}[a-h]))?",
        _read_trapezoidal,
    ),
    _form(
        rf"(?P<size>{_NUMBER})(?: - (?P<tpi>{_NUMBER}))? Acme(?: - (?P<grade>[2-6][GC]))?", _read_acme
    ),
    _form(rf"mod(?:ule)? (?P<value>{_NUMBER})", _read_module),
    _form(rf"(?:DP (?P<after>{_NUMBER})|(?P<before>{_NUMBER}) DP)", _read_diametral_pitch),
)  # fmt: skip
