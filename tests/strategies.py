"""Strategies that every property test may draw from: numbers, thread texts, trains, gear sets, lathes, junk."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from gearcalc.exact import PiMultiple
from gearcalc.lathes import (
    Bracket,
    Dial,
    DialGear,
    Feeds,
    GearSet,
    Lathe,
    Leadscrew,
    Lever,
    PlateRow,
    Slot,
    SpindleSide,
)
from gearcalc.threads import standard_threads, tables
from gearcalc.trains import Train

__all__ = [
    "feed_texts",
    "fractions",
    "gear_sets",
    "junk",
    "lathes",
    "number_texts",
    "pi_multiples",
    "positive_fractions",
    "teeth",
    "thread_texts",
    "trains",
    "typed_texts",
]

# Numbers.

fractions = st.fractions(max_denominator=10**6)
positive_fractions = st.fractions(Fraction(1, 1000), 1000, max_denominator=10**6)
pi_multiples = st.fractions(Fraction(1, 1000), 1000, max_denominator=10**4).map(PiMultiple)


def _one_of_each(*texts: str) -> st.SearchStrategy[str]:
    return st.sampled_from(texts)


@st.composite
def number_texts(draw: st.DrawFn, most: int = 999) -> str:
    """A number above zero as people write it: 12, 1.25, 1,25, .5, 3/8, 11 1/2, 1-1/8."""
    whole, bottom = draw(st.integers(1, most)), draw(st.integers(2, 64))
    top = draw(st.integers(1, bottom - 1))
    decimals = draw(st.text("0123456789", min_size=1, max_size=6))
    return draw(
        _one_of_each(
            f"{whole}", f"{whole}.{decimals}", f"{whole},{decimals}", f".{decimals}1"[:7], f"{top}/{bottom}",
            f"{whole} {top}/{bottom}", f"{whole}-{top}/{bottom}",
        )
    )  # fmt: skip


# Threads and feeds, as text.


def _sizes(table: object) -> st.SearchStrategy[str]:
    def shown(size: Fraction) -> str:
        whole, part = divmod(size, 1)
        return " ".join(str(each) for each in (whole, part) if each) or "0"

    return st.sampled_from(sorted(table)).map(shown)  # type: ignore[call-overload,no-any-return]


@st.composite
def thread_texts(draw: st.DrawFn) -> str:
    """A thread in any of the forms that are understood, in any of the ways to space and write it.

    Most are possible threads; a few are not (a pitch that would cut through the bar), and are refused.
    """
    number = number_texts
    major, pitch = draw(st.integers(1, 300)), draw(st.sampled_from(["0.2", "0,75", "1", "1.5", "2.5", "6", "0.123456"]))
    starts, tpi = draw(st.integers(1, 8)), draw(st.integers(1, 80))
    numbered = draw(st.integers(0, 12))
    form = draw(
        st.sampled_from(
            ["mm", "in", "tpi", "lead", "M", "M class", "Ph", "standard", "unified", "numbered", "inch", "whitworth",
             "ba", "pipe", "npt", "tr", "acme", "module", "dp"]
        )
    )  # fmt: skip
    text = {
        "mm": lambda: f"{draw(number())} mm",
        "in": lambda: f"{draw(number(30))} in pitch",
        "tpi": lambda: f"{draw(number())} tpi",
        "lead": lambda: f"lead {draw(number(30))} {draw(st.sampled_from(['mm', 'in']))}",
        "M": lambda: f"M{major}x{pitch}",
        "M class": lambda: f"M{major} x {pitch}-{draw(st.sampled_from(['6g', '6H', '4g6g', '5H', '6G', '8g']))}",
        "Ph": lambda: f"M{major + 20}xPh{starts}.5P{(starts + 0.5) / draw(st.sampled_from([1, 2, 5])):g}",
        "standard": lambda: str(draw(st.sampled_from(standard_threads()))),
        "unified": lambda: f"{major}/64-{tpi}" + draw(st.sampled_from(["", " UN", " UNS", "-2A", " UNS-3B"])),
        "numbered": lambda: f"{draw(st.sampled_from(['', '#']))}{numbered}-{tpi}",
        "inch": lambda: f"{draw(number(12))}{draw(st.sampled_from(['', ' in', chr(34)]))}-{tpi}",
        "whitworth": lambda: (
            f"{draw(_sizes({d for _, d in tables.whitworth_pitches()}))} {draw(st.sampled_from(['BSW', 'BSF']))}"
        ),
        "ba": lambda: f"{draw(st.integers(0, 16))} BA",
        "pipe": lambda: f"{draw(st.sampled_from(['G', 'R', 'Rc', 'Rp']))} {draw(_sizes(tables.pipe_pitches()))}",
        "npt": lambda: f"{draw(_sizes(tables.npt_pitches()))} NPT",
        "tr": lambda: f"Tr {major + 10}x{starts * 2}(P2)" if starts > 1 else f"Tr {major + 10}x2",
        "acme": lambda: f"{draw(number(5))}-{tpi} Acme" + draw(st.sampled_from(["", "-2G", " 3C"])),
        "module": lambda: f"module {draw(number(20))}",
        "dp": lambda: f"DP {draw(number(60))}",
    }[form]()
    if form in ("mm", "in", "tpi", "lead", "acme", "module", "dp") and draw(st.booleans()):
        text += f" {draw(st.integers(1, 12))} starts"
    text += draw(st.sampled_from(["", "", " LH", "-LH", " RH"]))
    return draw(st.sampled_from([str, str.lower, _spread, _crossed]))(text) if "-" not in text[-4:] else text


def _spread(text: str) -> str:
    return f" {text} ".replace("x", "  x ")


def _crossed(text: str) -> str:
    return text.replace("x", "×").replace("-", "–")


@st.composite
def feed_texts(draw: st.DrawFn) -> str:
    """A feed in any of the forms that are understood."""
    per = draw(st.sampled_from(["/rev", " / rev", " per rev", "/r", " per turn", ""]))
    along = draw(st.sampled_from(["", " cross", " longitudinal", " CROSS"]))
    return f"{draw(number_texts(2))} {draw(st.sampled_from(['mm', 'in', 'thou', 'inch']))}{per}{along}"


# Gears and trains.

teeth = st.integers(12, 127)
gear_sets = st.lists(teeth, max_size=24).map(tuple)


@st.composite
def trains(draw: st.DrawFn, most_meshes: int = 6) -> Train:
    """A train of one mesh or more, idlers in some of them."""
    meshes = draw(st.integers(1, most_meshes))
    side = st.lists(teeth, min_size=meshes, max_size=meshes)
    idlers = st.lists(st.lists(teeth, max_size=3).map(tuple), min_size=meshes, max_size=meshes).map(tuple)
    return Train(draw(side), draw(side), draw(idlers))


# Lathes.

_names = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=30)
_ratios = st.fractions(Fraction(1, 20), 20, max_denominator=100)
_sizes_mm = st.floats(-500, 500)
_points = st.tuples(_sizes_mm, _sizes_mm)
_lead_texts = ("8 tpi", "11 1/2 tpi", "6 mm", "2,5 mm", "1/3 in lead", "7 tpi", "0.123457 in pitch")
_plate_threads = st.sampled_from(["16 tpi", "1.75 mm", "M8", "1/4-20 UNC-2A LH", "module 1", "G 1/2", "2 BA"])

_brackets = st.builds(
    Bracket,
    spindle_side_at_mm=_points.filter(any),  # anywhere but on the pivot
    swing_deg=st.tuples(st.floats(-180, 0), st.floats(0, 180)),
    slots=st.lists(
        st.builds(Slot, _points, _points.map(lambda point: (point[0] + 1001.0, point[1]))), min_size=1, max_size=3
    ),
    studs=st.integers(1, 6),
    stud_radius_mm=st.floats(0.5, 50),
    shaft_radius_mm=st.floats(0.5, 50),
    running_clearance_mm=st.floats(0, 5),
    backlash_mm=st.floats(0, 1),
    cover_mm=st.none() | st.lists(_points, min_size=3, max_size=6).map(tuple),
)
_sets = st.one_of(
    st.builds(GearSet, gear_sets, module_mm=st.none() | st.floats(0.1, 20), pressure_angle_deg=st.floats(10, 30)),
    st.builds(GearSet, gear_sets, diametral_pitch=st.integers(4, 64).map(float)),
)
_plate_rows = st.builds(
    lambda thread, train, lever: PlateRow(thread, train.drivers, train.driven, train.idlers, lever),
    _plate_threads, trains(3), st.none() | _names,
)  # fmt: skip


@st.composite
def lathes(draw: st.DrawFn) -> Lathe:
    """A lathe with any of the sections that a lathe file may have, each filled at random."""
    from gearcalc.threads import Thread

    lead = draw(st.sampled_from(_lead_texts).map(lambda text: Thread.parse(text).lead) | _ratios)
    return Lathe(
        name=draw(_names),
        leadscrew=Leadscrew(lead, draw(st.sampled_from(["right", "left"]))),
        gear_set=draw(_sets),
        note=draw(st.just("") | st.lists(_names, max_size=3).map("\n".join)),
        spindle_side=draw(st.builds(SpindleSide, _ratios, st.booleans(), st.booleans())),
        gearbox=draw(
            st.lists(st.builds(Lever, _names, _ratios, st.booleans()), max_size=4, unique_by=lambda lever: lever.lever)
        ),
        bracket=draw(st.none() | _brackets),
        dial=draw(
            st.none()
            | st.lists(st.builds(DialGear, teeth, st.integers(1, 100)), min_size=1, max_size=4).map(
                lambda gears: Dial(gears)
            )
        ),
        feeds=draw(st.none() | st.builds(Feeds, _ratios, st.none() | _ratios)),
        plate=draw(st.lists(_plate_rows, max_size=4, unique_by=lambda row: row.thread)),
    )


# What nobody should type, but somebody will.


def _mutated(text: str, place: int, other: str, how: int) -> str:
    place %= len(text) + 1
    before, after = text[:place], text[place:]
    return (before + other + after, before + other + after[1:], before + after[1:])[how]


_odd = st.sampled_from(
    [
        "\x00",
        "\x1b[31m",
        "\u202e",
        "\u200b",
        "\ufeff",
        "\ud800",
        "½",
        "１",
        "٣",
        "🔧",
        "e",
        "−",
        "'",
        '"',
        "\\",
        "<b>",
        "$",
        "\n",
        "\r",
        "\t",
        "(",
        ")",
        "/",
        "//",
        "..",
        ",",
        ",,",
        " ",
        "9" * 20,
        "x",
        "P",
        "%",
        "{",
        "}",
        "\u2028",
        "İ",
        "ſ",
        "K",
    ]
)
_pathological = st.sampled_from(
    [
        "9" * 10**5,
        "1/" * 5000,
        "(" * 5000,
        "[" * 5000,
        "1 " * 30,
        "1-1/" * 14,
        "x" * 59,
        "M8" * 29,
        "LH " * 19,
        "2 starts " * 6,
        '"' * 60,
        "½" * 60,
        "\ufdfa" * 60,
        "M" + "9" * 57,
        "0." + "0" * 57,
        "." * 60,
        "-" * 60,
        "Tr " * 20,
        "M8x1-" + "6g" * 27,
        "1/4-20 " + "UN" * 26,
        "(" * 30 + ")" * 30,
        "\n" * 60,
        "\x00" * 60,
        "a." * 10_000,
        "a=" + "[" * 5000,
        "a=" + "{a=" * 5000,
        'a = "' + "\\u0041" * 5000,
        "\n".join(f"a{n}=1" for n in range(4000)),
        "\n".join(f"[a{n}]" for n in range(4000)),
        "a=" + "1" * 39_000,
        "a=[" + "{}," * 13_000 + "]",
        "a=[" + "1," * 19_000 + "]",
        "'a'." * 9000 + "a=1",
        '"\\"".' * 7000 + "a=1",
        "#" * 39_000,
        "[[gearbox]]\n" * 3000,
        'name="A"\nleadscrew.lead="3 mm"\ngears.teeth=[' + "20," * 12_000 + "]",
        'name="A"\nleadscrew.lead="3 mm"\ngears.teeth=[20]\ndial.gears=[' + "{}," * 12_000 + "]",
        'name="A"\nleadscrew.lead="3 mm"\ngears.teeth=[20]\n[plate]\n' + "\n".join(f'"{n} tpi"=1' for n in range(2000)),
    ]
)
junk = st.one_of(st.text(max_size=80), st.text(st.sampled_from('0123456789/.,- xMTrGPhABmintpdcul()"#'), max_size=60))


def typed_texts(right: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    """Anything at all: junk, right texts with a slip in them, and texts made to choke a parser."""
    slipped = st.builds(_mutated, right, st.integers(0, 10**4), _odd, st.integers(0, 2))
    return st.one_of(
        junk,
        slipped,
        slipped.flatmap(
            lambda text: st.builds(_mutated, st.just(text), st.integers(0, 10**4), _odd, st.integers(0, 2))
        ),
        _pathological,
    )
