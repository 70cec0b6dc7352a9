"""One way to write each kind of number, so that it reads the same everywhere."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from math import ceil, floor, isfinite, isnan
from typing import Literal

from gearcalc.basics.exact import INCH_MM, Exact, PiMultiple, RelativeError, coefficient, half_up, pi_bounds
from gearcalc.basics.markup import Written, in_html, plain

MINUS = "−"
THIN = "\u202f"
Rounding = Literal["nearest", "down", "up"]
Units = Literal["mm", "inch"]
"""The unit that is read first; the other stands behind."""
_ROUNDED: Mapping[Rounding, Callable[[Fraction], int]] = {"nearest": half_up, "down": floor, "up": ceil}
_RAISED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")


def decimal(x: Exact | float, places: int = 4, toward: Rounding = "nearest") -> str:
    """A decimal, rounded at `places` as at school, half up, without trailing zeros, with a true minus sign.

    >>> decimal(Fraction(33, 26)), decimal(Fraction(-5, 4)), decimal(PiMultiple(Fraction(1)), 2)
    ('1.2692', '−1.25', '3.14')
    >>> decimal(Fraction(33, 8), 2), decimal(Fraction(-33, 8), 2)
    ('4.13', '−4.13')
    >>> decimal(Fraction(63, 5), 0, toward="down"), decimal(Fraction(61, 5), 0, toward="up")
    ('12', '13')

    `places`: 0 to 30. `toward`: "down" for the most that something may be, "up" for the least that it must, so that
    a limit is never said on the wrong side. What is no finite number is shown as '∞' or 'not a number'.
    """
    if isinstance(x, float) and not isfinite(x):
        return "not a number" if isnan(x) else "∞" if x > 0 else f"{MINUS}∞"
    exact = x.coefficient * pi_bounds(60)[0] if isinstance(x, PiMultiple) else Fraction(x)
    rounded = _ROUNDED[toward](exact * 10**places)
    whole, part = divmod(abs(rounded), 10**places)
    tail = f"{part:0{places}d}".rstrip("0") if places else ""
    return (MINUS if rounded < 0 else "") + str(whole) + (f".{tail}" if tail else "")


def grouped(shown: str) -> str:
    """A number as decimal() or signed() writes it, its whole part in threes of figures from 10 000 on.

    >>> [grouped(each).split(THIN) for each in ("+10601", "−1234567.25", "1204")]
    [['+10', '601'], ['−1', '234', '567.25'], ['1204']]
    """
    return re.sub(r"(?<![.\d])\d{5,}", lambda whole: f"{int(whole[0]):,}".replace(",", THIN), shown)


def ends(x: Exact | float, places: int) -> bool:
    """Whether a number is exactly what decimal() shows of it; a float is never known to be.

    >>> ends(Fraction(5, 4), 2), ends(Fraction(5, 4), 1)
    (True, False)
    """
    return isinstance(x, (int, Fraction)) and (x * 10**places).denominator == 1


def rounded(x: Exact | float, places: int = 4) -> Written:
    """A decimal; '≈' before it where it is rounded.

    >>> print(rounded(Fraction(5, 4)), "|", rounded(Fraction(80, 63)))
    1.25 | ≈ 1.2698
    """
    sign, shown = "" if ends(x, places) else "≈ ", decimal(x, places)
    return Written(sign + shown, sign.replace("≈", r"\approx") + shown.replace(MINUS, "-"), sign + shown)


def number(x: Exact, places: int = 6) -> Written:
    """An exact number: a decimal where it ends within `places`, else a fraction, times π if π is in it.

    >>> print(number(Fraction(5, 4)), number(Fraction(80, 63)), number(PiMultiple(Fraction(3, 2))))
    1.25 80/63 1.5 π
    >>> number(Fraction(80, 63)).latex
    '\\\\frac{80}{63}'
    """
    if isinstance(x, PiMultiple) and x.coefficient:
        if x.coefficient == 1:
            return Written("π", r"\pi", "π")
        front = number(x.coefficient, places)
        return Written(f"{front.text} π", rf"{front.latex}\,\pi", f"{front.html}{THIN}π")
    x = coefficient(x)
    return rounded(x, places) if ends(x, places) else ratio(x)


def ratio(x: Fraction) -> Written:
    """A fraction as a fraction; a whole number as itself.

    >>> print(ratio(Fraction(1, 2)), ratio(Fraction(3)))
    1/2 3
    """
    sign, top, bottom = (MINUS if x < 0 else ""), abs(x.numerator), x.denominator
    if bottom == 1:
        return Written(f"{sign}{top}", f"{'-' if sign else ''}{top}", f"{sign}{top}")
    return Written(
        f"{sign}{top}/{bottom}",
        rf"{'-' if sign else ''}\frac{{{top}}}{{{bottom}}}",
        f"{sign}<sup>{top}</sup>⁄<sub>{bottom}</sub>",
    )


def primes(factors: Mapping[int, int]) -> Written:
    """A whole number as a product of primes, from prime -> how often it occurs.

    >>> print(primes({2: 3, 5: 1, 127: 1}), "|", primes({}))
    2³ · 5 · 127 | 1
    """
    shown: Written | None = None
    for prime, times in factors.items():
        power = str(times) if times > 1 else ""
        latex, raised = (f"{prime}^{{{power}}}", f"<sup>{power}</sup>") if power else (str(prime), "")
        part = Written(f"{prime}{power.translate(_RAISED)}", latex, f"{prime}{raised}")
        shown = part if shown is None else shown + Written(" · ", r" \cdot ", " · ") + part
    return shown if shown is not None else plain("1")


def tpi(lead_mm: Exact, places: int = 3, starts: int = 1) -> str:
    """Threads per inch for a lead in mm: exact where it is short, else rounded.

    >>> tpi(Fraction(127, 40)), tpi(Fraction(3, 2)), tpi(Fraction(3), starts=2)
    ('8', '16.933', '16.933')

    Counted as a thread gauge does, from groove to groove: of several starts the pitch, lead ÷ `starts`.
    """
    pi = pi_bounds(60)[0] if isinstance(lead_mm, PiMultiple) else 1
    return decimal(starts * INCH_MM / coefficient(lead_mm) / pi, places)


def length(x: Exact, unit: str = "mm", places: int = 4) -> Written:
    """A length with its unit; rounded to `places` only where it does not end within 6 ('≈' says so).

    >>> print(length(Fraction(7, 4)), "|", length(Fraction(127, 60)))
    1.75 mm | ≈ 2.1167 mm
    """
    most = max(places, 6)
    behind = Written(f" {unit}", rf"\,\mathrm{{{unit}}}", f"{THIN}{in_html(unit)}")
    return rounded(x, most if ends(x, most) else places) + behind


def lead(lead_mm: Exact, starts: int = 1, first: Units = "mm") -> Written:
    """A lead both ways: millimetres, and threads per inch, which of several starts are those of the pitch.

    >>> print(lead(Fraction(127, 40)), "|", lead(Fraction(3, 2)), "|", lead(Fraction(3), starts=2))
    3.175 mm (8 tpi) | 1.5 mm (≈ 16.933 tpi) | 3 mm (2 starts, ≈ 16.933 tpi)
    >>> print(lead(Fraction(127, 40), first="inch"), "|", lead(Fraction(3), starts=2, first="inch"))
    8 tpi (3.175 mm) | ≈ 16.933 tpi, 2 starts (3 mm)

    `first`: the unit that is read first.
    """
    in_mm, per_inch = length(lead_mm), tpi(lead_mm, starts=starts)
    if isinstance(lead_mm, PiMultiple):
        in_mm = number(lead_mm) + Written(" mm ", r"\,\mathrm{mm}\;", f"{THIN}mm ") + in_mm
    sign = "" if not isinstance(lead_mm, PiMultiple) and ends(starts * INCH_MM / lead_mm, 3) else "≈ "
    about = sign.replace("≈", r"\approx")
    in_tpi = Written(f"{sign}{per_inch} tpi", rf"{about}{per_inch}\,\mathrm{{tpi}}", f"{sign}{per_inch}{THIN}tpi")
    if first == "inch":
        return said_twice(in_tpi + (f", {starts} starts" if starts > 1 else ""), in_mm)
    return said_twice(in_mm, plain(f"{starts} starts, ") + in_tpi if starts > 1 else in_tpi)


def said_twice(one: Written, other: Written) -> Written:
    """The same said twice, the second time in brackets.

    >>> print(said_twice(plain("1 in"), plain("25.4 mm")))
    1 in (25.4 mm)
    """
    return one + Written(" (", r"\;(", " (") + other + Written(")", ")", ")")


def signed(x: float | Fraction, places: int = 1) -> str:
    """A number with its sign always shown; zero has none.

    >>> signed(125.0), signed(-0.04), signed(-212.77)
    ('+125', '0', '−212.8')
    """
    shown = decimal(x, places)
    return shown if shown.startswith(MINUS) or shown == "0" else f"+{shown}"


def places_apart(x: float, limit: float, places: int) -> int:
    """How many places it takes, `places` at least, for a number not to read like the limit that it is held against.

    >>> places_apart(50.004, 50, 0), places_apart(51, 50, 0), places_apart(50, 50, 0)
    (3, 0, 0)
    """
    finest = 9
    return next((n for n in range(places, finest) if x == limit or decimal(x, n) != decimal(limit, n)), places)


def error(miss: RelativeError | float, beside: float | None = None) -> Written:
    """A pitch error in ppm with its sign, or 'exact'.

    >>> print(error(125.0), "|", error(RelativeError(Fraction(1), Fraction(1))), "|", error(-1000.2, beside=1000))
    +125 ppm | exact | −1000.2 ppm

    `beside`: a limit, either way, that it must not read like.
    """
    ppm, exact = (miss.ppm, miss.is_exact) if isinstance(miss, RelativeError) else (miss, miss == 0)
    return plain("exact") if exact else with_sign(ppm, "ppm", coarse_from=1000, beside=beside)


def ppm(size: float | Fraction, places: int | None = None) -> str:
    """How large an error is, whichever way it goes, in ppm; never called nothing unless it is.

    >>> ppm(-125.0), ppm(0.31234), ppm(1204.4), ppm(0), ppm(Fraction(1, 3), 4)
    ('125 ppm', '0.312 ppm', '1204 ppm', '0 ppm', '0.3333 ppm')

    `places`: to so many decimals, as what was asked for is said.
    """
    if places is not None:
        return f"{grouped(decimal(max(size, -size), places))} ppm"
    return with_sign(abs(float(size)), "ppm", coarse_from=1000).text.lstrip("+")


def micrometres(um: float, beside: float | None = None) -> Written:
    """A small length with its sign, in µm, as fine as one reckons on with it; never called nothing unless it is.

    >>> print(micrometres(-12.4984), "|", micrometres(1.25), "|", micrometres(1e-9), "|", micrometres(0))
    −12.5 µm | +1.25 µm | +less than 0.001 µm | 0 µm

    `beside`: as for error().
    """
    return with_sign(um, "µm", coarse_from=10_000, places_from_one=2, beside=beside)


def distance(mm: float, beside: float | None = None) -> str:
    """A distance between parts, as finely as a feeler or a caliper tells: below a millimetre ever finer.

    >>> distance(93.64), distance(0.3274), distance(0.0312), distance(0.0042), distance(0.0001), distance(0)
    ('93.6 mm', '0.33 mm', '0.03 mm', '0.004 mm', 'less than 0.001 mm', '0 mm')
    >>> distance(0.4998, beside=0.5)
    '0.4998 mm'

    `beside`: a limit that it must not read like.
    """
    size = abs(mm)
    if size < 1e-9:  # what floats leave of nothing
        return "0 mm"
    if size < 0.0005:
        return "less than 0.001 mm"
    places = 1 if size >= 0.995 else 2 if size >= 0.0095 else 3
    return f"{decimal(mm, places if beside is None else places_apart(mm, beside, places))} mm"


def out_by(mm: Fraction, first: Units = "mm") -> str:
    """How far something is out of its place, whichever way; never called nothing unless it is.

    >>> out_by(Fraction(-1, 2)), out_by(Fraction(1, 3)), out_by(Fraction(1, 10**5))
    ('0.5 mm', '≈ 0.333 mm', 'less than 0.001 mm')
    >>> out_by(Fraction(127, 50), "inch"), out_by(Fraction(1, 3), "inch"), out_by(Fraction(1, 10**5), "inch")
    ('0.1 in', '≈ 0.0131 in', 'less than 0.0001 in')
    """
    size, unit, places = (abs(mm), "mm", 3) if first == "mm" else (abs(mm) / INCH_MM, "in", 4)
    least = Fraction(1, 10**places)
    return f"less than {decimal(least, places)} {unit}" if 0 < size < least / 2 else f"{rounded(size, places)} {unit}"


def cut(mm: float | Fraction, first: Units = "mm") -> str:
    """A length as it is turned and measured: to a micrometre, or to a tenth of a thou.

    >>> cut(0.61343), cut(Fraction(7, 4)), cut(0.61343, "inch")
    ('0.613 mm', '1.75 mm', '0.0242 in')
    """
    if first == "mm":
        return f"{decimal(mm, 3)} mm"
    return f"{decimal(in_inches(mm), 4)} in"


def in_inches(mm: float | Fraction) -> float | Fraction:
    """A length in inches: exact as it was exact.

    >>> in_inches(Fraction(127, 2)), in_inches(25.4)
    (Fraction(5, 2), 1.0)
    """
    return mm / INCH_MM if isinstance(mm, Fraction) else mm / float(INCH_MM)


def mixed(x: Fraction) -> str:
    """A fraction as the shop says it.

    >>> mixed(Fraction(567, 16)), mixed(Fraction(3, 4)), mixed(Fraction(40)), mixed(Fraction(0))
    ('35 7/16', '3/4', '40', '0')
    """
    whole, part = divmod(x, 1)
    return " ".join(filter(None, (str(whole) if whole or not part else "", str(part) if part else "")))


def turns(count: Fraction | int | float) -> str:
    """So many turns: parts of one as the shop says them, those finer than 64ths as a decimal where it ends.

    >>> turns(1), turns(Fraction(5, 2)), turns(Fraction(3, 4)), turns(Fraction(22, 7)), turns(7.4999)
    ('1 turn', '2 1/2 turns', '3/4 of a turn', '3 1/7 turns', '7.5 turns')
    """
    if isinstance(count, float):
        said, as_decimal = decimal(count, 2), True
    else:
        as_decimal = count.denominator > 64 and ends(count, 4)
        said = decimal(count, 4) if as_decimal else mixed(Fraction(count))
    if said == "1":
        return "1 turn"
    return f"{said} of a turn" if 0 < count < 1 and not as_decimal else f"{said} turns"


def seconds(time_s: float) -> str:
    """A short time, as finely as a hand can use it.

    >>> seconds(12.345), seconds(2.345)
    ('12.3 s', '2.35 s')
    """
    return f"{decimal(time_s, 1 if time_s >= 10 else 2)} s"


def counted(count: int, one: str, more: str = "") -> str:
    """So many of something.

    >>> counted(0, "gear"), counted(1, "gear"), counted(3, "gear"), counted(2, "mesh", "meshes")
    ('no gear', '1 gear', '3 gears', '2 meshes')
    """
    return f"{count or 'no'} {one if count < 2 else more or f'{one}s'}"


def in_words(count: int) -> str:
    """A small number in words, a larger one in figures.

    >>> in_words(2), in_words(12)
    ('two', '12')
    """
    return dict(enumerate(("one", "two", "three", "four", "five", "six"), 1)).get(count, str(count))


def pairs(meshes: int) -> str:
    """So many pairs of gears, in words as the shop says it.

    >>> pairs(1), pairs(3), pairs(12)
    ('one pair', 'three pairs', '12 pairs')
    """
    return f"{in_words(meshes)} {'pair' if meshes == 1 else 'pairs'}"


def listed(words: Iterable[object], link: str = "and") -> str:
    """Words in a row, as a sentence lists them.

    >>> listed(["40"]), listed([40, 50]), listed(["40", "50", "60"], "or")
    ('40', '40 and 50', '40, 50 or 60')
    """
    *front, last = map(str, words)
    return f"{', '.join(front)} {link} {last}" if front else last


def percent(share: float, beside: float | None = None) -> str:
    """A share as a percentage, 1 being all of it; never called nothing unless it is, nor all.

    >>> percent(0.0279), percent(0.281), percent(0.0001), percent(0), percent(0.998)
    ('2.8 %', '28 %', 'less than 0.1 %', '0 %', '99.8 %')
    >>> percent(0.50004, beside=0.5), percent(0.5, beside=0.50004)
    ('50.004 %', '50 %')

    `beside`: another share that it must not read like.
    """
    hundredths, other = 100 * share, 100 * (share if beside is None else beside)
    places = 1 if min(hundredths, other) < 10 else 0
    places = max(places_apart(hundredths, limit, places) for limit in (other, 100))
    return "less than 0.1 %" if 0 < hundredths < 0.05 and places == 1 else f"{decimal(hundredths, places)} %"


def with_sign(
    x: float, unit: str, *, coarse_from: float, places_from_one: int = 1, beside: float | None = None
) -> Written:
    """A small number with its sign and unit, ever finer the smaller it is; never called nothing unless it is.

    >>> print(with_sign(-0.4921, "thou", coarse_from=1000))
    −0.492 thou

    `coarse_from`: from here without decimals; `places_from_one`: from 1 to 10; `beside`: a limit not to read like.
    """
    size = abs(x)
    places = 0 if size >= coarse_from else 1 if size >= 10 else places_from_one if size >= 1 else 3
    places = places_apart(size, size if beside is None else beside, places)
    shown = signed(x, places)
    if shown == "0" and x != 0:  # not exact, so never call it nothing
        shown = ("+" if x > 0 else MINUS) + "less than 0.001"
    shown = grouped(shown)
    latex = shown.replace(MINUS, "-").replace(THIN, r"\,").replace("less than", r"\text{less than}")
    return Written(f"{shown} {unit}", rf"{latex}\,\mathrm{{{unit}}}", f"{shown}{THIN}{unit}")


def train(drivers: Sequence[int], driven: Sequence[int]) -> Written:
    """A train as the trade writes it, drivers over driven.

    >>> print(train((40, 30), (80, 60)), "|", train((40,), (80,)))
    (40 · 30)/(80 · 60) | 40/80
    """
    over, under = (" · ".join(map(str, side)) for side in (drivers, driven))
    brackets = len(drivers) > 1
    text = f"({over})/({under})" if brackets else f"{over}/{under}"
    latex = rf"\frac{{{over}}}{{{under}}}".replace("·", r"\cdot")
    return Written(text, latex, text)


def meshes(numbers: Iterable[int]) -> str:
    """Numbers of meshes that a train may have.

    >>> meshes([1]), meshes([1, 2]), meshes([1, 2, 3])
    ('1 mesh', '1 or 2 meshes', '1, 2 or 3 meshes')
    """
    said = listed(sorted(numbers), "or")
    return f"{said} {'mesh' if said == '1' else 'meshes'}"
