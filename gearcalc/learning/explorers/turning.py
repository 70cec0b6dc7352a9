"""The turning train: choose gears and lever, and see them turn while the carriage cuts the thread.

The picture carries all that a page needs to turn it: see turning.js.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import partial

from attrs import evolve

from gearcalc.basics import both_units, writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM
from gearcalc.finding.setups import Setup, setup, turning_of
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import ORDINALS, Train, as_gears
from gearcalc.learning.explorers import page, typed
from gearcalc.learning.explorers.first_lessons import WIDTH_PX, cut_facts, drawing_of, with_more_beneath
from gearcalc.learning.explorers.handed import as_handed
from gearcalc.pictures import style
from gearcalc.pictures.counter_rows import ROW_PX, Dial, Readout, readout_row
from gearcalc.pictures.cutting_strips import CARRIAGE_STRIP_PX, carriage_strip, last_turn
from gearcalc.pictures.picture import Picture
from gearcalc.pictures.style import FRAME_PX
from gearcalc.pictures.svg import Svg, element
from gearcalc.pictures.thread_profiles import flanks_deg
from gearcalc.threads import Thread

AS_NEEDED, AS_IT_IS = "as needed", "as it is"
NONE = "none"
"""What stands in place of a tooth count where there is no gear."""

_TRAIN_PX = 352
_COUNTERS_Y = _TRAIN_PX - FRAME_PX
_CARRIAGE_Y = _COUNTERS_Y + ROW_PX
_HEIGHT_PX = round(_CARRIAGE_Y + CARRIAGE_STRIP_PX[1] + FRAME_PX)
_MOST_TURNS = 10_000
_PLACES = ("first_driver", "first_driven", "second_driver", "second_driven", "first_idler", "second_idler")
_HALF_A_PAIR = "The second pair of gears counts once it has both a driver and a driven gear."


@as_handed
def turning_view(
    lathe: Lathe,
    *,
    first_driver: object,
    first_driven: object,
    second_driver: object = NONE,
    second_driven: object = NONE,
    first_idler: object = NONE,
    second_idler: object = NONE,
    lever: str | None = None,
    thread: str | Thread | None = None,
    turns: object = 0,
    reverse: str = AS_NEEDED,
) -> page.View:
    """A train, counters of all that turns, and the carriage on its way, after so many turns of the spindle.

    >>> from gearcalc.lathes import demo_lathe
    >>> view = turning_view(demo_lathe("metric"), first_driver=40, first_driven=80, lever="fast", turns=4)
    >>> view.picture.table[-1]
    {'place': 'carriage', 'after 4 turns of the spindle': '6 mm'}

    Gears are tooth counts, or 'none' for those that a train can do without; a second pair counts once it has both
    its gears, and idlers stand in the first mesh. `thread`: what is wanted, or nothing. `turns`: 0 to 10 000.
    `reverse`: 'as needed' puts it over where the thread asks for that; 'as it is' leaves it, so that an idler more or
    less shows at the leadscrew. Raises our errors for gears not owned, text that is no thread, and what is no number.
    """
    left_alone = typed.one_of(reverse, "reverse", (AS_NEEDED, AS_IT_IS)) == AS_IT_IS
    if left_alone:  # nobody reaches for it: the train alone settles the way
        lathe = evolve(lathe, spindle_side=evolve(lathe.spindle_side, reverse=False))
    pairs = [typed.read_pair(first_driver, first_driven, "first")]
    driver, mate = _gear(second_driver, "the second driver"), _gear(second_driven, "the second driven gear")
    if driver and mate:
        pairs.append((driver, mate))
    idlers = [*filter(None, (_gear(first_idler, "the first idler"), _gear(second_idler, "the second idler")))]
    drivers, driven = zip(*pairs, strict=True)
    made = setup(lathe, drivers, driven, lever, [idlers], wanted=typed.read_wanted(thread))
    gone_by = typed.read_number(turns, "turns", 0, _MOST_TURNS)
    note = _HALF_A_PAIR if bool(driver) != bool(mate) else ""
    row = {
        **cut_facts(made),
        **({"hand": f"{made.hand}, reverse as it is"} if left_alone else {}),
        "train": writing.train(made.train.drivers, made.train.driven),
    }
    return page.View(_picture(lathe, made, gone_by), (row,), note)


def _gear(given: object, what: str) -> int | None:
    is_none = given is None or (isinstance(given, str) and given.strip().lower() in ("", NONE))
    return None if is_none else typed.read_teeth(given, what)


def _picture(lathe: Lathe, made: Setup, turns: Fraction) -> Picture:
    counters = _counters(lathe, made, turns)
    drawing = drawing_of(lathe, made, _TRAIN_PX, edge_view=False, marked=True)
    still = drawing.picture(360.0 * float(turns * made.first_driver_turns))
    head = f"after {writing.turns(turns)} of the spindle"
    angle = flanks_deg(made.wanted)
    strip = carriage_strip(
        made.lead_mm, starts=made.starts, hand=made.hand, turns=turns, angle_deg=angle, units=lathe.units
    )
    inside = {"width": WIDTH_PX - 2 * FRAME_PX, "height": CARRIAGE_STRIP_PX[1]}
    edge = element("rect", x=FRAME_PX, y=0, fill=style.PAPER, stroke=style.INK, stroke_width=1.2, **inside)
    first = float(made.first_driver_turns) * (1 if drawing.clockwise else -1)
    teeth = [float(counter.per_turn) for counter in counters if counter.unit == "teeth"]
    return with_more_beneath(
        still,
        made,
        f"{still.description} {_carriage_in_words(made, head, turns, counters)}",
        [*still.table, *({"place": each.name, head: _counted(each, turns)} for each in counters)],
        _HEIGHT_PX,
        element("g", edge, strip, transform=f"translate(0 {_CARRIAGE_Y})"),
        element("g", readout_row(counters, turns), transform=f"translate(0 {_COUNTERS_Y})"),
        data_first_driver=Svg(f"{first:.15g}"),
        data_last_turn=last_turn(made.lead_mm, turns),
        data_tooth=Svg(f"{1 / teeth[0]:.15g}"),
        data_most_teeth=Svg(f"{max(teeth):.15g}"),
    )


def _counters(lathe: Lathe, made: Setup, turns: Fraction) -> list[Readout]:
    """The spindle, the teeth that pass each mesh, the leadscrew and the carriage."""
    first, train, way = made.first_driver_turns, made.train, turning_of(made)
    sign = 1 if way.first_driver else -1  # a dial turns as the first driver does, times what it is given
    screw = made.leadscrew_turns * (1 if way.leadscrew else -1)
    counters = [Readout("spindle", "turns", Fraction(1), dial=Dial(sign / first, 360 * turns))]
    shaft = Fraction(1)  # turns for one turn of the first driver
    for ordinal, driver, driven in zip(ORDINALS, train.drivers, train.driven, strict=False):
        name = f"{ordinal} mesh" if train.meshes > 1 else "mesh"
        counters.append(Readout(name, "teeth", first * shaft * driver, places=0, ringed=True))
        shaft *= Fraction(driver, driven)
    dial = Dial(sign * screw / first, 360 * screw * turns)
    counters.append(Readout("leadscrew", "turns", made.leadscrew_turns, dial=dial))
    if lathe.units == "inch":
        return [*counters, Readout("carriage", "in", made.lead_mm / INCH_MM, places=4, also=("mm", 1 / INCH_MM, 3))]
    return [*counters, Readout("carriage", "mm", made.lead_mm, places=3, also=("in", INCH_MM, 4))]


def _counted(counter: Readout, turns: Fraction) -> str:
    if counter.unit == "mm":
        return str(writing.length(counter.per_turn * turns))
    if counter.unit == "in":
        return str(both_units.travel(counter.per_turn * turns * INCH_MM, "inch"))
    return f"{counter.at(turns)} {counter.unit}"


def _carriage_in_words(made: Setup, head: str, turns: Fraction, counters: list[Readout]) -> str:
    way = "towards" if made.hand == "right" else "away from"
    counted = ", ".join(f"{each.name} {_counted(each, turns)}" for each in counters[1:])
    return (
        f"The carriage goes {way} the headstock and cuts a {made.hand}-hand thread with a lead of"
        f" {made.written_lead}. {head.capitalize()}: {counted}."
    )


@as_handed
def turning_train(
    lathe: Lathe,
    drivers: int | Sequence[int] | None = None,
    driven: int | Sequence[int] | None = None,
    *,
    idlers: int | Sequence[int] = (),
    lever: str | None = None,
    thread: str = "",
    reverse: str = AS_NEEDED,
) -> page.Explorer:
    """Choose gears and lever; turn the spindle, by hand or under power, and watch gears, counters and carriage.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = turning_train(demo_lathe("inch"), lever="middle", thread="16 tpi")
    >>> explorer.shown.facts[0]["error"]
    'exact'
    >>> explorer.set(second_driver=50)
    >>> explorer.shown.note
    'The second pair of gears counts once it has both a driver and a driven gear.'

    `lathe`: whose gears and levers are offered. `drivers`, `driven`: one tooth count each, or two for a compound
    train; without them 40 and 80, or others where the lathe can't have these; `idlers`: none to two, in the first mesh;
    `thread`: what is wanted, or nothing; `reverse`: put over 'as needed', or left 'as it is'. The page turns it with no
    word to the kernel, and never starts on its own. On paper, turning_view with `turns` says the same.
    Raises GearNotOwnedError when the lathe lacks the first gears, ValueOutOfRangeError for more gears than that.
    """
    between = as_gears(idlers, most=2)
    if drivers is None or driven is None:
        begin, lever = page.to_begin_with(lathe, Train(40, 80), lever, thread, meshes=(1, 2))
        pairs = begin.counts.drivers, begin.counts.driven
    else:
        pairs = as_gears(drivers, most=2), as_gears(driven, most=2)
        if not pairs[0] or len(pairs[0]) != len(pairs[1]):
            raise ValueOutOfRangeError("a train has as many drivers as driven gears, one or two of each", value=pairs)
        lathe.check_owned((*pairs[0], *pairs[1], *between))
    chosen: list[int | str] = [teeth for pair in zip(*pairs, strict=True) for teeth in pair]
    chosen += [NONE] * (4 - len(chosen))
    chosen += [*between, *[NONE] * (2 - len(between))]
    controls = [
        page.gear_slider(
            place, place.replace("_", " ").capitalize(), lathe.gear_set.counts, teeth, [NONE] if n > 1 else []
        )
        for n, (place, teeth) in enumerate(zip(_PLACES, chosen, strict=True))
    ]
    controls += [*page.lever_buttons(lathe, lever), page.text_box("thread", "Wanted", thread)]
    view = page.with_levers(lathe, partial(turning_view, reverse=reverse))
    return page.explorer("Turning train", controls, view, facts_px=106, turning=True)
