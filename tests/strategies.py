"""What every property test may draw from: numbers, threads, trains, gear sets, lathes, anything a person may type.

Each has one name here; a test file keeps to itself only what makes sense beside its own checks.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import cache, partial
from typing import Any

from attrs import evolve
from hypothesis import strategies as st

from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.exact import INCH_MM, PiMultiple
from gearcalc.lathes import (
    BoxLever,
    Bracket,
    Dial,
    DialGear,
    Feeds,
    GearSet,
    Lathe,
    Leadscrew,
    Lever,
    PlateRow,
    Show,
    Slot,
    SpindleSide,
    demo_lathe,
)
from gearcalc.lathes.trains import Train
from gearcalc.planning.gear_moves import Arranged
from gearcalc.threads import american_threads, british_threads, standard_threads
from tests.benches import bench
from tests.fuzzing.mutations import SIGNS
from tests.odd_lathes import odd_lathes

# Numbers.

fractions = st.fractions(max_denominator=10**6)
positive_fractions = st.fractions(Fraction(1, 1000), 1000, max_denominator=10**6)
pi_multiples = st.fractions(Fraction(1, 1000), 1000, max_denominator=10**4).map(PiMultiple)
exact_numbers = st.one_of(positive_fractions, pi_multiples)


def with_pi(numbers: st.SearchStrategy[Fraction]) -> st.SearchStrategy[Fraction | PiMultiple]:
    """These numbers, and these numbers times π."""
    return st.one_of(numbers, numbers.map(PiMultiple))


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
            f"{whole}",
            f"{whole}.{decimals}",
            f"{whole},{decimals}",
            f".{decimals}1"[:7],
            f"{top}/{bottom}",
            f"{whole} {top}/{bottom}",
            f"{whole}-{top}/{bottom}",
        )
    )


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
            f"{draw(_sizes({d for _, d in british_threads.whitworth_pitches()}))} "
            + draw(st.sampled_from(["BSW", "BSF"]))
        ),
        "ba": lambda: f"{draw(st.integers(0, 16))} BA",
        "pipe": lambda: (
            f"{draw(st.sampled_from(['G', 'R', 'Rc', 'Rp']))} {draw(_sizes(british_threads.pipe_pitches()))}"
        ),
        "npt": lambda: f"{draw(_sizes(american_threads.npt_pitches()))} NPT",
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


# Leads, in mm.

leads = st.one_of(
    st.sampled_from([Fraction(n, 20) for n in (7, 8, 10, 15, 16, 20, 25, 30, 35, 40, 50, 60, 70, 80, 90, 120, 160)]),
    st.integers(2, 60).map(lambda tpi: INCH_MM / tpi),
    st.fractions(Fraction(1, 10), 20, max_denominator=60),
)
usual_screws = st.one_of(
    st.sampled_from([INCH_MM / tpi for tpi in (4, 5, 6, 8, 10, 12, 16, 20)]),
    st.sampled_from([Fraction(3, 2), Fraction(2), Fraction(3), Fraction(4), Fraction(6)]),
)
screws = st.one_of(
    st.fractions(Fraction(1, 4), 12, max_denominator=20),
    st.integers(1, 24).map(lambda tpi: INCH_MM / tpi),
    st.fractions(Fraction(1, 8), 2, max_denominator=8).map(lambda inches: inches * INCH_MM),
)
hands = st.sampled_from(["right", "left"])


# Gears and trains.

teeth = st.integers(12, 127)
plain_teeth = st.sampled_from([10, 12, 15, 20, 24, 30, 33, 36, 40, 60])
few_teeth = st.sampled_from([20, 30, 40])  # so that a set of them owns most of them twice
gear_sets = st.lists(teeth, max_size=24).map(tuple)
mesh_counts = st.sets(st.integers(1, 3), min_size=1)


def small_sets(
    sizes: st.SearchStrategy[int], few: st.SearchStrategy[int] = few_teeth, least: int = 0, most: int = 7
) -> st.SearchStrategy[list[int]]:
    """Gears few enough for brute force: of any of the sizes, or of few sizes, most of them owned twice."""
    return st.one_of(st.lists(sizes, min_size=least, max_size=most), st.lists(few, min_size=least, max_size=most))


@st.composite
def trains(draw: st.DrawFn, most_meshes: int = 6, gears: st.SearchStrategy[int] = teeth, most_idlers: int = 3) -> Train:
    """A train of one mesh or more, idlers in some of them."""
    side, idlers = _sides_and_idlers(draw(_from_one_to(most_meshes)), gears, most_idlers)
    return Train(draw(side), draw(side), draw(idlers))


_from_one_to = cache(partial(st.integers, 1))


@cache
def _sides_and_idlers(meshes: int, gears: st.SearchStrategy[int], most: int) -> tuple[st.SearchStrategy[Any], ...]:
    """What trains are drawn from, made once: that takes longer than to draw one."""
    idlers = st.lists(gears, max_size=most).map(tuple)
    return tuple(st.lists(each, min_size=meshes, max_size=meshes) for each in (gears, idlers))


@st.composite
def arrangements(draw: st.DrawFn) -> Arranged:
    """One to three meshes, up to one idler each, neighbours in different planes."""
    train = draw(trains(3, st.sampled_from((20, 30, 40, 50, 60)), 1))
    planes = [0]
    for _ in range(train.meshes - 1):
        planes.append(draw(st.sampled_from([plane for plane in (0, 1, 2) if plane != planes[-1]])))
    return Arranged(train, tuple(planes))


# Lathes.

_names = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=30)
_ratios = st.fractions(Fraction(1, 20), 20, max_denominator=100)
_ratios_of_levers = st.sampled_from([Fraction(1, 2), Fraction(2, 3), Fraction(1), Fraction(5, 4), Fraction(2)])
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
    _plate_threads,
    trains(3),
    st.none() | _names,
)


_lever_names = st.text(st.sampled_from("abcAB12-"), min_size=1, max_size=6)
_lever_positions = st.lists(
    st.builds(Lever, _lever_names, _ratios_of_levers, st.booleans()),
    min_size=1,
    max_size=3,
    unique_by=lambda lever: lever.name,
).map(tuple)
lever_boxes = st.lists(
    st.builds(BoxLever, _lever_names, _lever_positions, st.sampled_from(["leadscrew", "spindle"])),
    min_size=1,
    max_size=3,
    unique_by=lambda lever: lever.name,
).map(tuple)
"""One to three levers of one to three positions; names may be alike from lever to lever."""


def _dial_gears(teeth: st.SearchStrategy[int], most_lines: int) -> st.SearchStrategy[DialGear]:
    """Gears of a dial on which every line bears a number, or every second, third ..."""

    def with_lines(lines: int) -> st.SearchStrategy[DialGear]:
        evenly = [count for count in range(1, lines + 1) if lines % count == 0]
        return st.builds(DialGear, teeth, st.just(lines), st.none() | st.sampled_from(evenly))

    return st.integers(1, most_lines).flatmap(with_lines)


@st.composite
def lathes(draw: st.DrawFn) -> Lathe:
    """A lathe with any of the sections that a lathe file may have, each filled at random."""
    from gearcalc.threads import Thread

    lead = draw(st.sampled_from(_lead_texts).map(lambda text: Thread.parse(text).lead) | _ratios)
    box = draw(st.just(()) | lever_boxes)
    positions = st.lists(
        st.builds(Lever, _names, _ratios, st.booleans()), max_size=4, unique_by=lambda lever: lever.name
    )
    return Lathe(
        name=draw(_names),
        leadscrew=Leadscrew(lead, draw(hands)),
        gear_set=draw(_sets),
        note=draw(st.just("") | st.lists(_names, max_size=3).map("\n".join)),
        spindle_side=draw(st.builds(SpindleSide, _ratios, st.booleans(), st.booleans())),
        gearbox=() if box else draw(positions),
        box=box,
        bracket=draw(st.none() | _brackets),
        dial=draw(st.none() | st.lists(_dial_gears(teeth, 100), min_size=1, max_size=4).map(lambda gears: Dial(gears))),
        feeds=draw(st.none() | st.builds(Feeds, _ratios, st.none() | _ratios)),
        show=draw(st.builds(Show, st.sampled_from([None, "inch", "mm"]), st.sampled_from([None, "A4", "Letter"]))),
        plate=draw(st.lists(_plate_rows, max_size=4, unique_by=lambda row: row.thread)),
    )


# Lathes small enough for every train to be tried, each for another question.

dial_gears = _dial_gears(st.integers(6, 64), 16)
_positions = st.builds(
    Lever, st.just("low"), st.sampled_from([Fraction(1, 2), Fraction(1), Fraction(2)]), st.booleans()
)
_gearboxes = st.lists(_positions, max_size=2, unique_by=lambda lever: lever.ratio).map(
    lambda levers: tuple(Lever(f"position {n}", each.ratio, each.same_way) for n, each in enumerate(levers))
)
_low_and_high = st.sampled_from([(), (Lever("low", Fraction(1, 2)), Lever("high", Fraction(1), same_way=False))])
_plain_sets = st.one_of(
    st.lists(plain_teeth, max_size=3),
    st.lists(plain_teeth, min_size=4, max_size=7),
    st.lists(few_teeth, min_size=2, max_size=7),
)


@st.composite
def plain_lathes(draw: st.DrawFn, gears: st.SearchStrategy[list[int]] = _plain_sets) -> Lathe:
    """A lathe with feeds and a plate of its own, and no bracket: whatever turns out right is a train for it."""
    owned, gearbox = draw(gears), draw(_gearboxes)
    names = [lever.name for lever in gearbox] or [None]
    rows = []
    for number in range(draw(st.integers(0, 3))):
        shuffled = draw(st.permutations(owned))
        meshes = draw(st.integers(1, 3))
        if len(shuffled) >= 2 * meshes:
            drivers, driven = tuple(shuffled[:meshes]), tuple(shuffled[meshes : 2 * meshes])
            rows.append(PlateRow(f"{number + 4} tpi", drivers, driven, lever=draw(st.sampled_from(names))))
    return Lathe(
        name="Lathe for tests",
        leadscrew=Leadscrew(draw(st.sampled_from([Fraction(127, 40), Fraction(3), Fraction(1)])), draw(hands)),
        gear_set=GearSet(tuple(owned)),
        spindle_side=SpindleSide(
            draw(st.sampled_from([Fraction(1), Fraction(2, 3)])), draw(st.booleans()), draw(st.booleans())
        ),
        gearbox=gearbox,
        feeds=Feeds(Fraction(1, 8), Fraction(1, 16)),
        plate=tuple(rows),
    )


_inch = demo_lathe("inch")
_inch_brackets = st.builds(
    lambda place, studs, high: evolve(_inch.bracket, spindle_side_at_mm=place, studs=studs, swing_deg=(-20.0, high)),
    st.sampled_from([(50.0, 94.0), (20.0, 60.0), (90.0, 120.0)]),
    st.integers(1, 3),
    st.sampled_from([20.0, 75.0]),
)
_inch_sets = small_sets(
    st.sampled_from([20, 24, 25, 30, 40, 50, 60, 75, 80, 96, 100]), st.sampled_from([20, 40, 50, 60]), least=4
)


@st.composite
def bracket_lathes(draw: st.DrawFn) -> Lathe:
    """The inch demo lathe with few gears and a bracket on which some trains go on and some don't."""
    owned, gearbox = draw(_inch_sets), draw(_low_and_high)
    shuffled, rows = draw(st.permutations(owned)), ()
    if draw(st.booleans()):
        lever = draw(st.sampled_from(gearbox)).name if gearbox else None
        rows = (PlateRow("5 tpi", tuple(shuffled[:2]), tuple(shuffled[2:4]), lever=lever),)
    return evolve(
        _inch,
        gear_set=evolve(_inch.gear_set, teeth=tuple(owned)),
        gearbox=gearbox,
        bracket=draw(_inch_brackets),
        spindle_side=SpindleSide(reverse=draw(st.booleans())),
        plate=rows,
    )


_bench_sets = small_sets(
    st.sampled_from([20, 24, 30, 36, 40, 45, 60, 80]), st.sampled_from([20, 30, 40, 60]), least=3, most=6
)
_bench_brackets = st.sampled_from(
    [
        None,
        {"spindle_side_at_mm": (0.0, 100.0), "studs": 1},
        {"spindle_side_at_mm": (30.0, 75.0), "studs": 2, "swing_deg": (-180.0, 180.0)},
        {"spindle_side_at_mm": (0.0, 150.0), "studs": 2, "slots": (Slot((20.0, 0.0), (200.0, 0.0)),)},
    ]
)


@st.composite
def bench_lathes(draw: st.DrawFn, with_bracket: bool = True) -> Lathe:
    """The bench of `tests.benches` with three to six gears, and a bracket of few sorts or none."""
    bracket = draw(_bench_brackets) if with_bracket else None
    lathe = bench(tuple(draw(_bench_sets)), gearbox=draw(_low_and_high), **(bracket or {}))
    lathe = evolve(lathe, spindle_side=SpindleSide(reverse=draw(st.booleans())))
    return lathe if bracket else evolve(lathe, bracket=None)


# What nobody should type, but somebody will.

any_lathes = st.one_of(
    lathes(), bench_lathes(), plain_lathes(), odd_lathes(most=6).map(lambda odd: Lathe.from_toml(odd.text))
)
"""What somebody may keep as a lathe of his own: small and odd, with a bracket or without."""

anything = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=30), st.lists(st.integers())
)


def said_in_our_words(view: Callable[..., Any], *given: object, **arguments: object) -> bool:
    """Whether it is shown, or refused with an error of ours that says something; any other error goes through."""
    try:
        return bool(view(*given, **arguments).svg)
    except GearcalcError as refusal:
        return bool(str(refusal))


def _mutated(text: str, place: int, other: str, how: int) -> str:
    place %= len(text) + 1
    before, after = text[:place], text[place:]
    return (before + other + after, before + other + after[1:], before + after[1:])[how]


_odd = st.sampled_from(SIGNS)
choking = st.sampled_from(
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
"""Made to keep a parser busy."""
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
        choking,
    )
