"""Commands for a day in the shop: what to do in which order, the card for the machine, the dial, the proof."""

from __future__ import annotations

import argparse
from typing import Any

import gearcalc
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.commands.console import (
    DONE,
    LATHE_HELP,
    ONE_EACH,
    SOMETHING_WRONG,
    AddCommand,
    add_setup_options,
    chosen_setup,
    measure,
    read_lathe,
    say,
    say_json,
    setup_fields,
)
from gearcalc.cutting.feed_charts import FeedRow, feed_rows
from gearcalc.finding.setups import Setup, warnings_by_name
from gearcalc.lathes import Lathe
from gearcalc.lathes.directions import reverse_over_means
from gearcalc.planning.charts import ChartRow, chart_rows
from gearcalc.threads import Feed, Thread
from gearcalc.threads.wanted import as_wanted

_SAVE_AS = "write it to a file that ends in .html, .pdf or .txt"


def add_shop_commands(command: AddCommand) -> None:
    """Enter chart, plan, card, dial, feeds, proof and faults."""
    chart = command("chart", _chart, "every thread that you care about, on one page for the wall or as a table")
    chart.add_argument("lathe", metavar="LATHE", help=LATHE_HELP)
    chart.add_argument(
        "threads",
        nargs="+",
        metavar="THREAD",
        help="threads or series, quoted where there are spaces: M8 'metric coarse' UNC",
    )
    chart.add_argument("--within-ppm", type=float, metavar="PPM", help="errors up to this count as equally good")
    chart.add_argument("--save", metavar="FILE", help="write a plate that ends in .pdf or .svg, or a table in .csv")
    chart.add_argument("--paper", choices=("A4", "A3", "letter"), default="A4", help="size of the plate (A4)")

    plan = command("plan", _plan, "the order of a day's jobs that moves the fewest gears")
    plan.add_argument("lathe", metavar="LATHE", help=LATHE_HELP)
    plan.add_argument("jobs", nargs="+", metavar="JOB", help=ONE_EACH)
    plan.add_argument("--within-ppm", type=float, default=200, metavar="PPM", help="how far off a job may be (200)")
    plan.add_argument("--keep-order", action="store_true", help="the jobs in the order given")
    plan.add_argument("--mounted", metavar="TRAIN", help="what is on the lathe now")

    card = command("card", _card, "the card to take to the machine: cautions, steps in order, what to measure")
    card.add_argument("lathe", metavar="LATHE", help=LATHE_HELP)
    card.add_argument("wanted", nargs="+", metavar="THREAD", help="what is wanted, like M8, '16 tpi' or '0.1 mm/rev'")
    add_setup_options(card)
    card.add_argument("--mounted", metavar="TRAIN", help="what is on the lathe now")
    card.add_argument("--save", metavar="FILE", help=_SAVE_AS)

    dial = command("dial", _dial, "when the half-nuts may close")
    dial.add_argument("lathe", metavar="LATHE", help=LATHE_HELP)
    dial.add_argument("wanted", nargs="+", metavar="THREAD", help="what is wanted, like M8 or '16 tpi'")
    add_setup_options(dial)

    feeds = command("feeds", _feeds, "which gears and which lever give which feed")
    feeds.add_argument("lathe", metavar="LATHE", help=LATHE_HELP)
    feeds.add_argument("feeds", nargs="*", metavar="FEED", help="feeds, quoted: '0.1 mm/rev' '5 thou cross'")
    feeds.add_argument("--mounted", metavar="TRAIN", help="what is on the lathe now")

    proof = command("proof", _proof, "is it the thread that was wanted? Judge a length measured over several turns")
    proof.add_argument("wanted", nargs="+", metavar="THREAD", help="what was wanted, like M8 or '16 tpi'")
    proof.add_argument("--turns", required=True, metavar="N", help="how many turns the length is of")
    proof.add_argument("--length", required=True, metavar="MM", help="measured along the axis, mm")
    proof.add_argument("--uncertainty", required=True, metavar="MM", help="how far off that may be either way, mm")
    proof.add_argument("--lathe", metavar="LATHE", help=f"{LATHE_HELP}; with --train, to look for a slip")
    proof.add_argument("--hand", choices=("right", "left"), help="of the thread that came out")
    add_setup_options(proof)

    faults = command("faults", _faults, "what goes wrong after a change of gears, and what to look at")
    faults.add_argument("symptom", nargs="*", metavar="SYMPTOM", help="noisy, wrong lead, will not start ...")
    faults.add_argument("--save", metavar="FILE", help="write it to a file that ends in .html, .pdf or .txt")


def _chart(options: argparse.Namespace) -> int:
    lathe = read_lathe(options.lathe)
    if options.save is not None:
        return _save_chart(lathe, options)
    chart = chart_rows(lathe, options.threads, options.within_ppm)
    if options.json:
        say_json({"lathe": lathe.name, "chart": [_chart_fields(row) for row in chart]})
    else:
        say(f"{lathe.name}{_not_for_all(sum(row.ok is False for row in chart))}:")
        for row in chart:
            moved = "" if row.moved is None else f"; {_gears(row.moved)} to move"
            cut = "" if row.setup is None or row.fits is False else f": {row.setup}{moved}"
            say(f"  {row.thread}{cut}; {row.in_words}")
        _explain(lathe, [row.setup for row in chart])
    return DONE if all(row.ok is not False for row in chart) else SOMETHING_WRONG


def _save_chart(lathe: Lathe, options: argparse.Namespace) -> int:
    if not options.save.lower().endswith((".csv", ".pdf", ".svg")):  # said before the work, not after it
        raise ValueOutOfRangeError(
            "a chart is saved as a file ending .pdf, .svg or .csv",
            value=options.save,
            remedy="The first two are a plate for the wall, the last a table.",
        )
    if options.save.lower().endswith(".csv"):
        from gearcalc.papers.tables import chart, save_csv

        table, how = chart(lathe, options.threads, options.within_ppm), ""
        rows, failed, saved = len(table), int((~table["ok"].fillna(True)).sum()), str(save_csv(table, options.save))
    else:
        from gearcalc.papers.wall_plates import wall_plate

        plate = wall_plate(lathe, options.threads, within_ppm=options.within_ppm, size=options.paper)
        rows, failed, saved = len(plate.rows), len(plate.not_cut), str(plate.save(options.save))
        how = f" in {plate.type_in_words}"
    if options.json:
        say_json({"lathe": lathe.name, "file": saved, "not_good_enough": failed})
    else:
        say(f"{lathe.name}: {rows} thread{'s' * (rows != 1)}{how}, in {saved}{_not_for_all(failed)}.")
    return SOMETHING_WRONG if failed else DONE


def _not_for_all(failed: int) -> str:
    return f", not good enough for {failed} of them" if failed else ""


def _chart_fields(row: ChartRow) -> dict[str, Any]:
    return {**setup_fields(row.setup), "thread": str(row.thread), "ok": row.ok, "moved": row.moved, "why": row.why}


def _explain(lathe: Lathe, setups: list[Setup | None]) -> None:
    """What 'reverse over' means, and which setups load the train hard, each once."""
    there = [setup for setup in setups if setup is not None]
    if any(setup.reverse_over for setup in there):
        say(reverse_over_means(lathe))
    for said in warnings_by_name(there):
        say(said)


def _gears(count: int) -> str:
    return f"{count} gear{'s' * (count != 1)}"


def _plan(options: argparse.Namespace) -> int:
    lathe = read_lathe(options.lathe)
    plan = gearcalc.plan_changeover(lathe, options.jobs, options.within_ppm, options.keep_order, options.mounted)
    if options.json:
        setups = [
            {**setup_fields(setup), "moved": moved, "put_reverse": reverse or None}
            for setup, moved, reverse in zip(plan.setups, plan.moves, plan.reverse_moves, strict=True)
        ]
        say_json(
            {
                "good_enough": not plan.shortfalls,
                "lathe": lathe.name,
                "setups": setups,
                "moved": plan.moved,
                "proven": plan.proven,
                "why": plan.why,
            }
        )
    else:
        say(f"{lathe.name}{', not good enough for every job' if plan.shortfalls else ''}:")
        say(str(plan))
    return DONE


def _card(options: argparse.Namespace) -> int:
    lathe = read_lathe(options.lathe)
    card = gearcalc.change_card(lathe, _setup_to_build(options), options.mounted)
    if options.save is not None:
        saved = str(card.save(options.save))
        if options.json:
            say_json({"lathe": lathe.name, **setup_fields(card.setup), "file": saved})
        else:
            say(f"{card.about} The card is in {saved}.")
    elif options.json:
        say_json(
            {
                "lathe": lathe.name,
                **setup_fields(card.setup),
                "cautions": card.cautions,
                "needed": card.needed,
                "steps": [_step_fields(step) for step in card.steps],
                "settings": dict(card.settings),
            }
        )
    else:
        say(str(card))
    return DONE


def _setup_to_build(options: argparse.Namespace) -> Setup:
    """The gears that were named; else for a thread the nearest, and for a feed the least work that is near enough."""
    lathe, wanted = read_lathe(options.lathe), as_wanted(" ".join(options.wanted))
    if options.train is not None:
        return chosen_setup(options, lathe, wanted)
    if isinstance(wanted, Feed):
        row = feed_rows(lathe, wanted, options.mounted)[0]
        best, why = row.setup, row.why
    else:
        found = gearcalc.find_setups(lathe, wanted, count=1, mounted=options.mounted)
        best, why = (found[0] if found else None), found.why
    if best is None:
        raise NotPossibleError(f"no train for {wanted}", remedy=why)
    return best


def _step_fields(step: Any) -> dict[str, Any]:
    return {"step": step.key, "title": step.title, "lines": step.lines, "gears": step.gears}


def _dial(options: argparse.Namespace) -> int:
    lathe, wanted = read_lathe(options.lathe), Thread.parse(" ".join(options.wanted))
    rule = gearcalc.dial(lathe, wanted if options.train is None else chosen_setup(options, lathe, wanted))
    if options.json:
        names = ("anywhere", "keep_closed", "threads", "gear_teeth", "step", "lines", "why")
        say_json({"lathe": lathe.name, "wanted": str(wanted), **{name: getattr(rule, name) for name in names}})
    else:
        say(f"{lathe.name}, for {wanted}:")
        say(str(rule))
    return DONE


def _feeds(options: argparse.Namespace) -> int:
    lathe = read_lathe(options.lathe)
    rows = feed_rows(lathe, options.feeds or None, options.mounted)
    if options.json:
        say_json({"lathe": lathe.name, "feeds": [_feed_fields(row) for row in rows]})
    else:
        say(f"{lathe.name}:")
        for row in rows:
            moved = "" if row.moved is None else f"; {_gears(row.moved)} to move"
            say(f"  {row.feed}: {row.why if row.setup is None else f'{row.setup}{moved}'}")
        _explain(lathe, [row.setup for row in rows])
    return DONE if all(row.setup is not None for row in rows) else SOMETHING_WRONG


def _feed_fields(row: FeedRow) -> dict[str, Any]:
    feed_mm = None if row.setup is None or row.setup.feed_mm is None else float(row.setup.feed_mm)
    return {**setup_fields(row.setup), "wanted": str(row.feed), "feed_mm": feed_mm, "moved": row.moved, "why": row.why}


def _proof(options: argparse.Namespace) -> int:
    wanted = Thread.parse(" ".join(options.wanted))
    judged = gearcalc.judge_measurement(wanted, options.turns, options.length, options.uncertainty, options.hand)
    slips = _slips(options, wanted, judged)
    if options.json:
        said: dict[str, Any] = {
            "wanted": str(wanted),
            "agrees": judged.agrees,
            "lead_from_mm": float(judged.lead_from_mm),
            "lead_to_mm": float(judged.lead_to_mm),
            "hand": judged.hand,
            "why": judged.why,
            "also_possible": [{"thread": str(thread), **measure(thread.lead, None)} for thread in judged.also_possible],
        }
        said["slips"] = slips if slips is None else [{"slip": one.slip, **setup_fields(one.setup)} for one in slips]
        say_json(said)
    else:
        say(str(judged))
        if slips is not None:
            say("What may have happened:")
            say(str(slips))
    return DONE if judged.agrees else SOMETHING_WRONG


def _slips(options: argparse.Namespace, wanted: Thread, judged: Any) -> Any:
    """Slips that would give the measured lead, where it is known which gears were meant."""
    if options.lathe is None and options.train is None:
        return None
    if options.lathe is None or options.train is None:
        raise ValueOutOfRangeError("to look for a slip, name both --lathe and --train")
    lathe = read_lathe(options.lathe)
    meant = chosen_setup(options, lathe, wanted)
    return gearcalc.explain_wrong_lead(meant, judged.lead_mm, judged.lead_uncertainty_mm, options.hand)


def _faults(options: argparse.Namespace) -> int:
    found = gearcalc.fault_finder(" ".join(options.symptom) or None)
    if options.save is not None:
        saved = str(found.save(options.save))
        if options.json:
            say_json({"file": saved})
        else:
            say(f"The fault-finder is in {saved}.")
    elif options.json:
        say_json({"cautions": found.cautions, "faults": found.rows})
    else:
        say(str(found))
    return DONE
