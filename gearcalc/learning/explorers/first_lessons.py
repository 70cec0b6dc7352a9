"""The explorers of the first lessons: one turn of the spindle, two pairs, ask for a thread."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

from attrs import evolve

from gearcalc.basics import both_units, writing
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import GearNotOwnedError
from gearcalc.finding.setups import Setup, setup, turning_of
from gearcalc.lathes import Lathe
from gearcalc.lathes.directions import REVERSE_OVER
from gearcalc.lathes.orders import plus_idler
from gearcalc.lathes.pieces import plain
from gearcalc.lathes.readings import as_pieces
from gearcalc.lathes.trains import Train
from gearcalc.learning.explorers import page, typed
from gearcalc.learning.explorers.handed import as_handed
from gearcalc.pictures.cutting_strips import THREAD_STRIP_PX, thread_strip
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, document, element, rect
from gearcalc.pictures.thread_profiles import flanks_deg
from gearcalc.pictures.train_pictures import TrainDrawing, other_sizes
from gearcalc.threads import Thread
from gearcalc.threads.wanted import as_wanted

_IDLERS = ("none", "one", "two")
_IN_A_ROW_PX, _ON_THE_BRACKET_PX = 350, 480
WIDTH_PX = THREAD_STRIP_PX[0]


@as_handed
def one_turn_view(
    lathe: Lathe,
    *,
    driver: object,
    driven: object,
    idlers: object = "none",
    idler: object = None,
    lever: str | None = None,
    turns: object = 1,
) -> page.View:
    """A simple train, with the thread that it cuts and where so many turns of the spindle bring the tool.

    >>> from gearcalc.lathes import demo_lathe
    >>> one_turn_view(demo_lathe("inch"), driver=40, driven=80, lever="middle").facts[0]["threads per inch"]
    '16'

    `idlers`: 'none', 'one' or 'two'; `idler`: the teeth of the first (a second is taken from the gears left over);
    `turns`: whole turns of the spindle, 0 to 24. Raises our errors for gears not owned and what is no number.
    """
    count = _IDLERS.index(typed.one_of(idlers, "idlers", _IDLERS))
    chosen = [_an_idler(lathe, idler)] if idler is not None or count else []
    taken = (typed.read_teeth(driver, "the driver"), typed.read_teeth(driven, "the driven gear"), *chosen[:count])
    if count == 2:
        chosen.append(_spare(lathe, taken))
    made = setup(lathe, taken[0], taken[1], lever, [chosen[:count]])
    view = cut_view(lathe, made, typed.read_whole(turns, "turns", 24, fewest=0), tall=False)
    return view if count else evolve(view, idle={"idler": "no idler"})


@as_handed
def two_pairs_view(
    lathe: Lathe,
    *,
    first_driver: object,
    first_driven: object,
    second_driver: object,
    second_driven: object,
    lever: str | None = None,
    thread: str | Thread | None = None,
    turns: object = 1,
) -> page.View:
    """A compound train of two meshes, the thread that it cuts, and how far off the wanted one it is.

    >>> from gearcalc.lathes import demo_lathe
    >>> two_pairs_view(demo_lathe("inch"), first_driver=30, first_driven=50, second_driver=63, second_driven=80,
    ...                lever="middle", thread="1.5 mm").facts[0]["error"]
    '+125 ppm'

    `thread`: what is wanted, or nothing. Raises our errors for gears not owned, threads not understood.
    """
    pairs = (
        typed.read_pair(first_driver, first_driven, "first"),
        typed.read_pair(second_driver, second_driven, "second"),
    )
    drivers, driven = zip(*pairs, strict=True)
    made = setup(lathe, drivers, driven, lever, wanted=typed.read_wanted(thread))
    return cut_view(lathe, made, typed.read_whole(turns, "turns", 24, fewest=0), tall=False)


@as_handed
def ask_view(lathe: Lathe, *, thread: str | Thread = "M10", answer: object = 1, count: int = 6) -> page.View:
    """The best setups for a thread as facts, and one of them drawn with the thread that it cuts.

    >>> from gearcalc.lathes import demo_lathe
    >>> ask_view(demo_lathe("metric"), thread="M10").facts[0]["error"]
    'exact'

    `answer`: which of the setups to draw, 1 the best; `count`: how many are listed, 1 to 20.
    Raises ThreadTextError for text that is no thread, NotPossibleError when nothing is found.
    """
    found = page.best_setups(lathe, as_wanted(thread), typed.read_whole(count, "how many", 20))
    chosen = typed.read_place(answer, "the answer", len(found), 20)
    rows = tuple(_answer_row(place, one, place == chosen) for place, one in enumerate(found, 1))
    picture = cut_view(lathe, found[chosen - 1], tall=True).picture
    return page.View(picture, rows, page.letters_of(found), settled={"answer": chosen})


def _answer_row(place: int, one: Setup, drawn: bool) -> Row:
    row: dict[str, object] = {"answer": f"{place}{', drawn' if drawn else ''}", "train": page.train_of(one)}
    if one.lever is not None or one.reverse_fitted:
        row["reverse" if one.lever is None else "lever"] = one.settings or "as described"
    return row | {**page.lead_both_ways(one), "error": page.error_of(one)}


@as_handed
def cut_view(lathe: Lathe, made: Setup, turns: int = 1, *, tall: bool | None = None) -> page.View:
    """A setup's train to scale, the thread that it cuts beneath it, and the facts of both.

    `turns`: whole turns of the spindle, 0 to 1000, marked on the strip. A train that was fitted to the bracket is
    drawn as it stands there, in a taller picture; any other in a row. `tall` keeps to one of the two sizes; False
    draws a row whatever is known of the bracket.
    """
    turns = as_whole(turns, what="turns", least=0, most=1000)
    placed = made.fit if tall is not False and made.fit and made.fit.goes_on and made.train == made.fit.train else None
    train_px = _ON_THE_BRACKET_PX if (placed if tall is None else tall) else _IN_A_ROW_PX
    on_bracket = {"axes_mm": placed.axes_mm, "planes": placed.planes, "idle": placed.idle_gears} if placed else {}
    still = drawing_of(lathe, made, train_px, **on_bracket).picture(360.0 * turns * float(made.first_driver_turns))
    angle = flanks_deg(made.wanted)
    words = (
        f"{still.description} The thread cut has a lead of {made.written_lead} and is {made.hand}-hand. It is drawn"
        f" with flanks of {writing.decimal(angle, 1)}°, pitch and depth to scale."
    )
    units = lathe.units
    thread = thread_strip(made.lead_mm, starts=made.starts, turns=turns, hand=made.hand, angle_deg=angle, units=units)
    table = [*still.table, {"place": "thread", "teeth": made.written_lead}]
    beneath = element("g", thread, transform=f"translate(0 {train_px})")
    picture = with_more_beneath(still, made, words, table, train_px + THREAD_STRIP_PX[1], beneath)
    return page.View(picture, (cut_facts(made, turns),), page.letters_of([made]))


def drawing_of(lathe: Lathe, made: Setup, height_px: int, **more: Any) -> TrainDrawing:
    """The train of a setup on its lathe, ready to draw; `more` as for TrainDrawing."""
    way = turning_of(made)
    return TrainDrawing(
        made.train,
        module_mm=lathe.module_mm or 1.0,
        pressure_angle_deg=lathe.gear_set.pressure_angle_deg,
        sizes=other_sizes(lathe),
        size_px=(WIDTH_PX, height_px),
        last_shaft=lathe.last_shaft,
        clockwise=way.first_driver,
        provided=way.provided,
        **more,
    )


def with_more_beneath(
    still: Picture, made: Setup, words: str, table: Sequence[Row], height_px: int, *more: Svg, **data: object
) -> Picture:
    """The picture of a train with more drawn beneath it, as one picture with one description and one table.

    `data`: what the root says to the page that turns it.
    """
    paper = rect(0, 0, WIDTH_PX, height_px)  # else what is beneath has none in a dark theme
    svg = document((WIDTH_PX, height_px), still.caption, words, paper, Svg(still.svg), *more, **data)
    return Picture(svg, words, table, f"{made.gears_and_lever}: {made.written_lead}")


def cut_facts(made: Setup, turns: int | None = None) -> Row:
    """What a setup cuts, as one row of facts; with `turns`, how far the carriage goes in so many too.

    >>> from gearcalc.lathes import demo_lathe
    >>> str(cut_facts(setup(demo_lathe("inch"), 40, 80, "middle"))["lead"])
    '0.0625 in (1.5875 mm)'
    """
    facts: dict[str, object] = {} if made.error is None else {"error": page.error_of(made)}
    facts |= page.lead_both_ways(made)
    facts |= {"train": page.train_of(made), "leadscrew turns": writing.number(made.leadscrew_turns)}
    facts["hand"] = _hand_words(made)
    if turns is not None:
        facts[f"travel in {writing.turns(turns)}"] = both_units.travel(made.lead_mm * turns, made.lathe.units)
    return facts


def _hand_words(made: Setup) -> str:
    if not made.way_known:
        return "up to the feed drive"
    if made.reverse_fitted:
        return f"{made.hand}, {REVERSE_OVER if made.reverse_over else 'reverse as described'}"
    return made.hand


def _an_idler(lathe: Lathe, given: object) -> int:
    """The idler that is chosen, one of the set even where the train has none."""
    teeth = typed.read_teeth(given, "the idler")
    lathe.check_owned((teeth,))
    return teeth


def _spare(lathe: Lathe, taken: Sequence[int]) -> int:
    """A gear for a second idler: of those left over, the one nearest the middle of the pair."""
    train = as_pieces(lathe.gear_set, Train(taken[:1], taken[1:2], taken[2:]))
    more = plus_idler(lathe.gear_set, train, mounted=None)
    if more is None:
        raise GearNotOwnedError("no gear is left over for a second idler", remedy="Take one idler.")
    return plain(more.idlers[0][0])


@as_handed
def ask(lathe: Lathe, *, thread: str = "M10") -> page.Explorer:
    """Type a thread; see the best trains for it, and one of them drawn.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = ask(demo_lathe("metric"), thread="1.5 mm")
    >>> explorer.set(thread="banana")
    >>> explorer.message
    "'banana' is not understood as a thread. Write it like 'M8', '1/4-20', '16 tpi' or '1.25 mm'."

    `lathe`: whose gears and levers are searched; `thread`: what stands in the box at first.
    """
    controls = [page.text_box("thread", "Thread", thread), page.number_slider("answer", "Answer", 1, 6, 1)]
    return page.explorer("Ask for a thread", controls, partial(ask_view, lathe), facts_px=250)


@as_handed
def one_turn(
    lathe: Lathe, *, driver: int | None = None, driven: int | None = None, lever: str | None = None
) -> page.Explorer:
    """Choose a driver, a driven gear, idlers and the lever; see what one turn of the spindle does.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = one_turn(demo_lathe("inch"), lever="middle")
    >>> explorer.set(driven=60)
    >>> explorer.shown.facts[0]["threads per inch"]
    '12'

    `lathe`: whose gears and levers are offered. `driver`, `driven`: those to begin with; without them 40 and 80, or
    others where the lathe can't have these. Raises GearNotOwnedError when it lacks the first gears.
    """
    lathe.check_owned([gear for gear in (driver, driven) if gear is not None])
    if driver is None or driven is None:
        begin, lever = page.to_begin_with(lathe, Train(driver or 40, driven or 80), lever)
        driver, driven = begin.counts.drivers[0], begin.counts.driven[0]
    idler = next((teeth for teeth in lathe.gear_set.counts if teeth not in (driver, driven)), driver)
    controls = [
        page.gear_slider("driver", "Driver", lathe.gear_set.counts, driver),
        page.gear_slider("driven", "Driven", lathe.gear_set.counts, driven),
        page.choice("idlers", "Idlers", ("none", "one", "two"), "none"),
        page.gear_slider("idler", "Idler", lathe.gear_set.counts, idler),
        *page.lever_buttons(lathe, lever),
        page.number_slider("turns", "Spindle", 0, 24, 1, "turns"),
    ]
    return page.explorer("One turn of the spindle", controls, page.with_levers(lathe, one_turn_view), facts_px=76)


@as_handed
def two_pairs(
    lathe: Lathe,
    *,
    drivers: tuple[int, int] | None = None,
    driven: tuple[int, int] | None = None,
    lever: str | None = None,
    thread: str = "1.5 mm",
) -> page.Explorer:
    """Choose two pairs of gears and the lever, say what is wanted, and see how far off the thread is.

    >>> from gearcalc.lathes import demo_lathe
    >>> two_pairs(demo_lathe("inch"), lever="middle").shown.facts[0]["error"]
    '+125 ppm'

    `drivers`, `driven`: those to begin with; without them (30 · 63)/(50 · 80), or what comes nearest to `thread` where
    the lathe can't have these. Raises GearNotOwnedError when the lathe lacks the first gears.
    """
    if drivers is None or driven is None:
        begin, lever = page.to_begin_with(lathe, Train((30, 63), (50, 80)), lever, thread)
    else:
        begin = Train(drivers, driven)
        lathe.check_owned(begin)
    counts, fixed = lathe.gear_set.counts, lathe.gear_set.fixed
    first, last = ((gear,) if gear else counts for gear in (fixed.first_driver, fixed.last_driven))
    (one, other), (under, beneath) = begin.counts.drivers, begin.counts.driven
    controls = [
        page.gear_slider("first_driver", "First driver", first, one),
        page.gear_slider("first_driven", "First driven", counts, under),
        page.gear_slider("second_driver", "Second driver", counts, other),
        page.gear_slider("second_driven", "Second driven", last, beneath),
        *page.lever_buttons(lathe, lever),
        page.text_box("thread", "Wanted", thread),
    ]
    show = page.with_levers(lathe, two_pairs_view)
    return page.explorer("Two pairs of gears", controls, show, facts_px=76, seen_px=110, columns=2)
