"""Commands for a day in the shop: what to do in which order, the card for the machine, the dial, the proof."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import gearcalc
from gearcalc.basics import markup, writing
from gearcalc.basics.errors import NoSetupError, ValueOutOfRangeError, on_one_line
from gearcalc.commands.console import (
    DONE,
    INTERRUPTED,
    SOMETHING_WRONG,
    AddCommand,
    answer,
    measure,
    setup_fields,
    shown,
)
from gearcalc.commands.named_trains import chosen_setup, named_that_turned
from gearcalc.commands.options import (
    FEEDS_SO,
    LATHE_HELP,
    LENGTH_HELP,
    ONE_EACH,
    add_in_words,
    add_lathe,
    add_setup_options,
    add_shared,
    lathe_asked,
    lathe_shown,
    length,
    mounted_train,
    mounted_with_its_lever,
    read_lathe,
    refuse_for_feeds,
    refuse_for_train,
    to_file,
    train_is_named,
    what_is_assumed,
    without_avoided,
)
from gearcalc.cutting.feed_charts import feed_rows
from gearcalc.finding.mounted import Mounted, as_taken
from gearcalc.finding.search import warnings_by_name
from gearcalc.finding.setups import Setup
from gearcalc.finding.straight_across import fit_not_checked
from gearcalc.lathes import Lathe
from gearcalc.lathes.directions import reverse_over_means
from gearcalc.lathes.gear_words import what_to_mind
from gearcalc.lathes.orders import HOW_MOVED_COUNTS, to_move
from gearcalc.planning.charts import ChartRow, chart_rows
from gearcalc.threads import Feed, Thread
from gearcalc.threads.deviations import GOOD_ENOUGH, MOST_CHOSEN_PPM, limit_ppm
from gearcalc.threads.wanted import NEAR_ENOUGH_PERCENT, as_wanted

_COARSEST_PERCENT = 50  # what feed_rows() takes at most
_CHOOSING = ("first", "meshes", "within_ppm")
_A_SHEET = to_file("a sheet is", ".html", ".pdf", ".txt")
_SAVE_AS = "write it to a file that ends in .html, .pdf or .txt"


def add_shop_commands(command: AddCommand) -> None:
    """Enter chart, plan, card, dial, feeds, proof and faults."""
    about = "every thread that you care about, on one page for the wall or as a table"
    chart = command(
        "chart",
        _chart,
        about,
        sooner="Fewer threads at a time, or fewer --meshes, are quicker.",
        example='chart inch M6 M8 "16 tpi" --save plate.svg',
    )
    chart.add_argument(
        "threads",
        nargs="+",
        metavar="THREAD",
        help="threads or series, quoted where there are spaces: M8 'metric coarse' UNC",
    )
    add_shared(chart, "avoid", "meshes", "within_ppm", "units", "paper", within_ppm=GOOD_ENOUGH)
    is_saved = to_file("a chart is", ".pdf", ".svg", ".csv")
    chart.add_argument(
        "--save", type=is_saved, metavar="FILE", help="write a plate, to .pdf or .svg, or a table, to .csv"
    )

    about = "the order of a day's jobs that moves the fewest gears"
    plan = command(
        "plan",
        _plan,
        about,
        sooner="Fewer jobs at a time, fewer --meshes, or --keep-order, are quicker.",
        example="plan inch 1/4-20 1/2-13 3/8-16 --mounted 40/80",
    )
    plan.add_argument("jobs", nargs="+", metavar="JOB", help=f"{ONE_EACH}; {FEEDS_SO}")
    plan.add_argument("--keep-order", action="store_true", help="the jobs in the order given")
    more = "how much work may go into it, 1 to 1000 times the usual; more takes longer and may find or prove more (1)"
    plan.add_argument("--effort", type=int, default=1, metavar="N", help=more)
    add_shared(plan, "avoid", "meshes", "within_ppm", "mounted", "units", within_ppm=GOOD_ENOUGH)

    card = command(
        "card",
        _card,
        "the card to take to the machine: cautions, steps in order, what to measure",
        example="card inch M8 --save card.html",
    )
    add_in_words(
        card,
        "wanted",
        "THREAD",
        "what is wanted, like M8 or 16 tpi; or a feed, like 0.1 mm/rev: for that the least work within "
        f"{NEAR_ENOUGH_PERCENT} %%, or --within-ppm",
    )
    add_setup_options(card)
    add_shared(card, "first", "avoid", "meshes", "within_ppm", "mounted", "units", "paper")
    card.add_argument("--save", type=_A_SHEET, metavar="FILE", help=_SAVE_AS)

    about = "when the half-nuts may close, for the train that is named, or the one that card takes"
    dial = command("dial", _dial, about, example='dial inch "11 1/2 tpi"')
    add_in_words(dial, "wanted", "THREAD", "what is wanted, like M8 or 16 tpi")
    add_setup_options(dial)
    add_shared(dial, "first", "avoid", "meshes", "within_ppm", "mounted", "units")

    feeds = command(
        "feeds", _feeds, "which gears and which lever give which feed", example='feeds metric "0.1 mm/rev" "0.2 mm/rev"'
    )
    feeds.add_argument("feeds", nargs="*", metavar="FEED", help="feeds, quoted: '0.1 mm/rev' '5 thou cross'")
    add_shared(feeds, "avoid", "within_ppm", "mounted", "units", within_ppm=NEAR_ENOUGH_PERCENT * 10_000)

    proof = command(
        "proof",
        _proof,
        "is it the thread that was wanted? Judge a length measured over several turns",
        lathe=False,
        example='proof "1.25 mm" --turns 26 --length 32.5 --uncertainty 0.2',
    )
    add_in_words(proof, "wanted", "THREAD", "what was wanted, like M8 or 16 tpi")
    proof.add_argument("--turns", required=True, metavar="N", help="how many turns the length is of")
    proof.add_argument(
        "--length", required=True, type=length, metavar="LENGTH", help=f"measured along the axis; {LENGTH_HELP}"
    )
    proof.add_argument(
        "--uncertainty",
        required=True,
        type=length,
        metavar="LENGTH",
        help="how far off that may be either way, likewise",
    )
    add_lathe(proof, "--lathe", f"{LATHE_HELP}; with --train, to look for a slip")
    proof.add_argument("--hand", choices=("right", "left"), help="of the thread that came out")
    add_shared(proof, "units")
    add_setup_options(proof)

    faults = command(
        "faults",
        _faults,
        "what goes wrong after a change of gears, and what to look at",
        lathe=False,
        example="faults noisy",
    )
    add_in_words(faults, "symptom", "SYMPTOM", "noisy, wrong lead, will not start ...", "*")
    faults.add_argument("--save", type=_A_SHEET, metavar="FILE", help=_SAVE_AS)
    add_shared(faults, "paper")


def _chart(options: argparse.Namespace) -> int:
    lathe = lathe_asked(options)
    rows, saved, how = _charted(lathe, options)
    failed = sum(row.ok is False for row in rows)
    chart = [
        {
            **setup_fields(row.setup),
            "good_enough": None if row.setup is None else row.ok,
            "thread": str(row.thread),
            "ok": row.ok,
            "moved": row.moved,
            "why": row.why,
        }
        for row in rows
    ]
    if saved is None:
        lines = [f"{lathe.name}{_not_for_all(failed)}:"]
        for row in rows:
            lines.append(f"  {row.thread}{_row_in_words(row)}")
        lines += _explained(lathe, [row.setup for row in rows if row.fits is not False])
        lines += filter(None, [*_how_counted(row.moved for row in rows), what_to_mind(lathe.gear_set)])
    else:
        threads = writing.counted(len(rows), "thread")
        lines = [f"{lathe.name}: {threads}{how}, in {on_one_line(saved)}{_not_for_all(failed)}."]
    fields = {"lathe": lathe.name, "chart": chart, "not_good_enough": failed, "file": saved}
    answer(options, fields, *lines)
    return SOMETHING_WRONG if failed else DONE


def _charted(lathe: Lathe, options: argparse.Namespace) -> tuple[Sequence[ChartRow], str | None, str]:
    """The rows of a chart, the file in which they were saved, None for none, and how."""
    threads, within = options.threads, options.within_ppm
    ending = "" if options.save is None else Path(options.save).suffix.lower()
    if ending in (".pdf", ".svg"):
        from gearcalc.papers.wall_plates import wall_plate

        plate = wall_plate(lathe, threads, within_ppm=within, meshes=options.meshes)
        return plate.rows, str(plate.save(options.save)), f" in {plate.type_in_words}"
    rows = chart_rows(lathe, threads, within, options.meshes)
    if not ending:
        return rows, None, ""
    from gearcalc.papers.csv_files import save_csv
    from gearcalc.papers.tables import chart_frame

    return rows, str(save_csv(chart_frame(rows), options.save)), ""


def _row_in_words(row: ChartRow) -> str:
    """What is behind the thread in a row: its setup, and what came of it, unless the setup says that itself."""
    if row.setup is None or row.fits is False:
        return f"; {row.in_words}"
    came_of_it = "" if row.setup.shortfall or row.setup.is_exact else row.in_words
    said = ": ".join(filter(None, [came_of_it, row.why.removesuffix(".")]))
    return f": {row.setup}{to_move(row.moved)}{f'; {said}' if said else ''}"


def _not_for_all(failed: int) -> str:
    return f", not good enough for {failed} of them" if failed else ""


def _how_counted(moved: Iterable[int | None]) -> list[str]:
    return [HOW_MOVED_COUNTS] if any(moved) else []


def _explained(lathe: Lathe, setups: Iterable[Setup | None]) -> list[str]:
    """What 'reverse over' means, whether the fit was checked, and which setups load the train hard, each once."""
    there = [setup for setup in setups if setup is not None]
    means = [reverse_over_means(lathe)] if any(setup.reverse_over for setup in there) else []
    return [*means, *fit_not_checked(there), *warnings_by_name(there)]


def _plan(options: argparse.Namespace) -> int:
    lathe = lathe_shown(options)
    plan = gearcalc.plan_changeover(
        without_avoided(options, lathe),
        options.jobs,
        options.within_ppm,
        options.keep_order,
        mounted_train(options, lathe),
        meshes=options.meshes,
        effort=options.effort,
        progress=shown,
    )
    setups = [
        {**setup_fields(setup), "moved": moved, "put_reverse": reverse or None}
        for setup, moved, reverse in zip(plan.setups, plan.moves, plan.reverse_moves, strict=True)
    ]
    good = {setup.good_enough for setup in plan.setups}
    all_are = next((each for each in (False, None) if each in good), True)
    fields: dict[str, Any] = {"good_enough": all_are, "lathe": lathe.name, "setups": setups}
    fields |= {"moved": plan.moved, "proven": plan.proven, "lower_bound": plan.lower_bound, "why": plan.why}
    fields["assumed"] = assumed = what_is_assumed(options, lathe)
    short = ", not good enough for every job" if plan.shortfalls else ""
    answer(options, fields, f"{lathe.name}{short}:", str(plan), *filter(None, [assumed]))
    return INTERRUPTED if plan.interrupted else SOMETHING_WRONG if plan.shortfalls else DONE


def _card(options: argparse.Namespace) -> int:
    from gearcalc.papers.sheets import text_lines

    lathe = lathe_shown(options)
    mounted = mounted_with_its_lever(options, lathe)
    chosen, reason = _setup_to_build(without_avoided(options, lathe), as_taken(lathe, mounted), options)
    card = gearcalc.change_card(lathe, chosen, mounted)
    saved = None if options.save is None else str(card.save(options.save))
    steps = [{"step": step.key, "title": step.title, "lines": step.lines, "gears": step.gears} for step in card.steps]
    settings = [{"name": name, "value": value} for name, value in card.settings]
    fields = {"lathe": lathe.name, **setup_fields(card.setup), "cautions": card.cautions, "needed": card.needed}
    fields |= {"steps": steps, "settings": settings, "file": saved, "reason": reason}
    fields["assumed"] = card.change.idlers_assumed
    why = f"Why these gears: {reason}" if reason else ""
    if saved is None:
        answer(options, fields, str(card), "", *text_lines(why))
    else:
        answer(options, fields, *filter(None, [f"{card.about} The card is in {on_one_line(saved)}.", why]))
    return SOMETHING_WRONG if card.setup.shortfall else DONE


def _setup_to_build(lathe: Lathe, mounted: Mounted | None, options: argparse.Namespace) -> tuple[Setup, str]:
    """The gears that were named, and nothing more to say; else those to choose, and why.

    For a feed the least work that is near enough.
    """
    wanted = as_wanted(" ".join(options.wanted))
    best: Setup | None
    if train_is_named(options):
        refuse_for_train(options, *_CHOOSING)
        best, why, reason = chosen_setup(options, lathe, wanted), "", ""
    elif isinstance(wanted, Feed):
        refuse_for_feeds(options, "first", "meshes")
        percent = _percent(options, NEAR_ENOUGH_PERCENT)
        row = feed_rows(lathe, wanted, mounted, percent)[0]
        best, why = row.setup, row.why
        reason = f"The least work within {writing.number(percent)} per cent of the feed."
    else:
        limit = limit_ppm(options.within_ppm, wanted)
        asked = {"within_ppm": limit, "mounted": mounted, "first": options.first}
        found = gearcalc.find_setups(lathe, wanted, options.meshes, count=1, **asked)
        best, why, reason = (found[0] if found else None), found.why, found.reason
    if best is None:
        raise NoSetupError(f"no train for {wanted}", remedy=why)
    return best.as_built if options.avoid else best, reason  # else another idler could be chosen on the card


def _percent(options: argparse.Namespace, any_error: int) -> Fraction:
    """How far off a feed may be, as feeds are judged."""
    within = options.within_ppm
    if within == GOOD_ENOUGH:
        return Fraction(MOST_CHOSEN_PPM, 10_000)
    return Fraction(any_error) if within is None else Fraction(within, 10_000)


def _dial(options: argparse.Namespace) -> int:
    lathe, wanted = lathe_shown(options), Thread.parse(" ".join(options.wanted))
    chosen, none = _setup_to_catch(lathe, wanted, options)
    rule = gearcalc.dial(lathe, chosen or wanted)
    names = ("only_for", "anywhere", "keep_closed", "threads", "gear_teeth", "step", "lines", "lines_called", "why")
    fields = {"lathe": lathe.name, **setup_fields(chosen), "wanted": str(wanted), "note": none}
    fields |= {name: getattr(rule, name) for name in names}
    answer(options, fields, f"{lathe.name}, for {wanted}:", str(chosen or none), str(rule))
    return DONE


def _setup_to_catch(lathe: Lathe, wanted: Thread, options: argparse.Namespace) -> tuple[Setup | None, str]:
    """The gears that turn, or that 'card' would have turn; where there are none, why not."""
    if train_is_named(options):
        refuse_for_train(options, *_CHOOSING)
        return named_that_turned(options, lathe, wanted), ""
    mounted = as_taken(lathe, mounted_with_its_lever(options, lathe))
    try:
        return _setup_to_build(without_avoided(options, lathe), mounted, options)[0], ""
    except NoSetupError as none:
        return None, markup.sentence(str(none))


def _feeds(options: argparse.Namespace) -> int:
    whole = lathe_shown(options)
    lathe, mounted = without_avoided(options, whole), as_taken(whole, mounted_with_its_lever(options, whole))
    rows = feed_rows(lathe, options.feeds or None, mounted, _percent(options, _COARSEST_PERCENT))
    feeds, lines = [], [f"{lathe.name}:"]
    for row in rows:
        fields = {"wanted": str(row.feed), "moved": row.moved, "why": row.why}
        feeds.append(setup_fields(row.setup) | fields)
        lines.append(f"  {row.feed}: {row.why if row.setup is None else f'{row.setup}{to_move(row.moved)}'}")
    lines += [*_explained(lathe, [row.setup for row in rows]), *_how_counted(row.moved for row in rows)]
    assumed = what_is_assumed(options, whole)
    answer(options, {"lathe": lathe.name, "feeds": feeds, "assumed": assumed}, *lines, *filter(None, [assumed]))
    return DONE if all(row.setup is not None for row in rows) else SOMETHING_WRONG


def _proof(options: argparse.Namespace) -> int:
    wanted = Thread.parse(" ".join(options.wanted))
    units = "mm" if options.lathe is None else read_lathe(options.lathe).units
    meant = _meant(options, wanted)
    judged = gearcalc.judge_measurement(
        wanted, options.turns, options.length, options.uncertainty, options.hand, options.units or units, meant
    )
    slips = None
    if meant is not None:
        slips = gearcalc.explain_wrong_lead(meant, judged.lead_mm, judged.lead_uncertainty_mm, options.hand)
    fields = {
        "wanted": str(wanted),
        "agrees": judged.agrees,
        "as_cut": judged.as_cut,
        "lead_from_mm": float(judged.lead_from_mm),
        "lead_to_mm": float(judged.lead_to_mm),
        "hand": judged.hand,
        "why": judged.why,
        "also_possible": [{"thread": str(thread), **measure(thread.lead, None)} for thread in judged.also_possible],
        "slips": slips if slips is None else [{"slip": one.slip, **setup_fields(one.setup)} for one in slips],
    }
    answer(options, fields, str(judged), *([] if slips is None else ["What may have happened:", str(slips)]))
    will_do = judged.only_as_cut and meant is not None and not meant.shortfall
    return DONE if judged.agrees or will_do else SOMETHING_WRONG


def _meant(options: argparse.Namespace, wanted: Thread) -> Setup | None:
    """The gears that were meant, where they are named."""
    named = train_is_named(options)
    if options.lathe is None and not named:
        return None
    if options.lathe is None or not named:
        raise ValueOutOfRangeError("to look for a slip, name both --lathe and --train")
    return named_that_turned(options, lathe_shown(options), wanted)


def _faults(options: argparse.Namespace) -> int:
    found = gearcalc.fault_finder(" ".join(options.symptom) or None)
    saved = None if options.save is None else str(found.save(options.save, options.paper))
    faults = [{key.removeprefix("likely "): words for key, words in row.items()} for row in found.rows]
    fields = {"cautions": found.cautions, "faults": faults, "file": saved}
    answer(options, fields, str(found) if saved is None else f"The fault-finder is in {on_one_line(saved)}.")
    return DONE
