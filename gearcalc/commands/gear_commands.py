"""Commands about the gears: open the lessons, find a thread, what these cut, check a lathe file, gears to add."""

from __future__ import annotations

import argparse
from fractions import Fraction
from itertools import groupby
from pathlib import Path
from typing import Any

import gearcalc
from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import RelativeError, as_fraction
from gearcalc.commands.console import (
    DONE,
    LATHE_HELP,
    ONE_EACH,
    SOMETHING_WRONG,
    AddCommand,
    counts,
    idlers_by_mesh,
    measure,
    read_lathe,
    say,
    say_json,
    setup_fields,
)
from gearcalc.finding.coverage import Gap
from gearcalc.finding.setups import Setup
from gearcalc.lathes.directions import reverse_in_words
from gearcalc.lathes.trains import Train
from gearcalc.threads import Feed, Thread, nearest_threads
from gearcalc.threads.wanted import Wanted


def add_gear_commands(command: AddCommand) -> None:
    """Enter lessons, find, cuts, check, add and coverage."""
    lessons = command("lessons", _lessons, "copy the lessons into a folder and open them in JupyterLab")
    lessons.add_argument(
        "folder",
        nargs="?",
        default="gearcalc-lessons",
        metavar="DIR",
        help="where to copy them (default: gearcalc-lessons)",
    )
    lessons.add_argument("--no-open", action="store_true", help="only copy them")

    find = command("find", _find, "find the trains that cut a thread")
    find.add_argument("lathe", metavar="LATHE", help=LATHE_HELP)
    find.add_argument("wanted", nargs="+", metavar="THREAD", help="what is wanted, like M8 or '16 tpi'")
    find.add_argument("--feed", action="store_true", help="THREAD is a feed, like '0.12 mm/rev'")
    find.add_argument("--meshes", type=counts, default=(1, 2, 3), metavar="N,N", help="meshes allowed (1,2,3)")
    find.add_argument("--count", type=int, default=10, metavar="N", help="how many to show (10)")
    find.add_argument("--within-ppm", type=float, metavar="PPM", help="largest error to show")
    find.add_argument("--avoid", type=counts, default=(), metavar="TEETH,TEETH", help="gears not to use")

    cuts = command("cuts", _cuts, "what does this train cut, and which threads would that pass for")
    cuts.add_argument("lathe", metavar="LATHE", help=LATHE_HELP)
    cuts.add_argument("train", nargs="+", metavar="TRAIN", help="drivers over driven: 40/80, or '(40 30)/(80 60)'")
    cuts.add_argument("--lever", metavar="NAME", help="position of the gearbox lever")
    cuts.add_argument(
        "--idlers",
        action="append",
        default=[],
        metavar="[MESH:]TEETH,TEETH",
        help="idlers in the first mesh, or in another: 2:50",
    )
    cuts.add_argument("--wanted", metavar="THREAD", help="the thread that was meant")
    cuts.add_argument("--within-ppm", type=float, default=1000, metavar="PPM", help="how near a thread must be (1000)")

    check = command("check", _check, "check a lathe file, and every row of its plate")
    check.add_argument("lathe", metavar="LATHE", help=LATHE_HELP)
    check.add_argument(
        "--within-ppm", type=float, default=0, metavar="PPM", help="how far off a row may be (0: not at all)"
    )

    add = command("add", _add, "the fewest gears to add, so that the lathe cuts a list of threads")
    add.add_argument("lathe", metavar="LATHE", help=LATHE_HELP)
    add.add_argument("threads", nargs="+", metavar="THREAD", help=ONE_EACH)
    add.add_argument("--within-ppm", type=float, default=100, metavar="PPM", help="how far off a thread may be (100)")
    add.add_argument("--most", type=int, default=6, metavar="N", help="add no more gears than this (6)")
    add.add_argument(
        "--meshes",
        type=counts,
        default=(1, 2),
        metavar="N,N",
        help="meshes allowed (1,2); find allows 1,2,3, which takes longer here",
    )

    coverage = command(
        "coverage", _coverage, "how near the gears come to any lead in a range, and where they come least near"
    )
    coverage.add_argument("lathe", metavar="LATHE", help=LATHE_HELP)
    coverage.add_argument("start", metavar="FROM", help="the smallest lead, in mm or as a thread: 0.5 or '48 tpi'")
    coverage.add_argument("end", metavar="TO", help="the largest lead: 4 or '6 tpi'")
    coverage.add_argument(
        "--meshes",
        type=counts,
        default=(1, 2),
        metavar="N,N",
        help="meshes counted in (1,2); find allows 1,2,3, which takes longer here",
    )


def _lessons(options: argparse.Namespace) -> int:
    from gearcalc.learning.lesson_copies import copy_lessons, open_lessons

    copied = copy_lessons(options.folder)
    if options.json:
        files = [{"name": each.name, "kept": each.kept, "fresh": each.fresh} for each in copied]
        say_json({"folder": str(Path(options.folder).resolve()), "files": files})
    else:
        say(f"The lessons are in {options.folder}:")
        for each in copied:
            say(f"  {each}")
    return DONE if options.no_open else open_lessons(options.folder)


def _find(options: argparse.Namespace) -> int:
    from gearcalc.finding.search import find_setups

    lathe, text = read_lathe(options.lathe), " ".join(options.wanted)
    wanted: Wanted = Feed.parse(text) if options.feed else Thread.parse(text)
    setups = find_setups(
        lathe, wanted, meshes=options.meshes, count=options.count, within_ppm=options.within_ppm, avoid=options.avoid
    )
    if options.json:
        found = [setup_fields(each) for each in setups]
        fine = bool(setups) and not setups.shortfall
        say_json({"good_enough": fine, "lathe": lathe.name, "wanted": str(wanted), "setups": found, "note": setups.why})
    else:
        say(f"{lathe.name}, for {wanted}{', none good enough' if setups.shortfall else ''}:")
        say(str(setups))
    return DONE if setups else SOMETHING_WRONG


def _cuts(options: argparse.Namespace) -> int:
    lathe, train = read_lathe(options.lathe), Train.parse(" ".join(options.train))
    idlers = idlers_by_mesh(options.idlers, train.meshes)
    typed = gearcalc.setup(lathe, train.drivers, train.driven, options.lever, idlers, options.wanted)
    found = typed.as_built
    near = nearest_threads(found.lead_mm, options.within_ppm)
    if options.json:
        passes_for = [{"thread": str(thread), **measure(thread.lead, _miss(found, thread))} for thread in near]
        say_json({"lathe": lathe.name, **setup_fields(found), "passes_for": passes_for})
        return DONE
    say(str(found))
    if found.shortfall:
        say(found.shortfall)
    if not isinstance(found.wanted, Feed):
        say(f"A {found.hand}-hand thread.")
    if found.reverse_fitted and found.way_known:
        say(reverse_in_words(lathe, found.reverse_over))
    for warning in found.warnings:
        say(warning)
    say("Fit not checked." if found.fit is None else f"Fit: {str(found.fit).removesuffix('.')}.")
    say(
        f"This lead would pass for (within {writing.decimal(options.within_ppm)} ppm):"
        if near
        else "It is near no standard thread."
    )
    for error, alike in groupby(near, key=lambda thread: str(writing.error(_miss(found, thread)))):
        say(f"  {error:<10}  {', '.join(map(str, alike))}")
    return DONE


def _check(options: argparse.Namespace) -> int:
    from gearcalc.finding.plates import check_plate, fit_of_plate

    lathe = read_lathe(options.lathe)
    rows = check_plate(lathe, options.within_ppm)
    wrong = [row for row in rows if not row.ok]
    off = [row for row in rows if row.fit is not None and not row.fit.goes_on]
    fit_said = fit_of_plate(lathe, rows)
    if options.json:
        plate = [
            {
                "thread": row.row.thread,
                "ok": row.ok,
                "problems": row.problems,
                "goes_on": None if row.fit is None else row.fit.goes_on,
                **(measure(row.setup.lead_mm, row.setup.error) if row.setup else measure(None, None)),
            }
            for row in rows
        ]
        say_json({"lathe": lathe.name, "ok": not wrong and not off, "plate": plate, "fit": fit_said})
    else:
        say(str(lathe))
        for row in rows:
            if row in wrong or row in off:
                say(f"  {row}")
        if not rows:
            say("The file is in order; it has no plate to check.")
        elif wrong:
            some = "The one row" if len(rows) == 1 else f"{len(wrong)} of the {len(rows)} rows"
            say(f"{some} of the plate {'is' if len(wrong) == 1 else 'are'} wrong.")
        elif len(rows) == 1:
            say("The file is in order, and the one row of the plate cuts what it says.")
        else:
            say(f"The file is in order, and all {len(rows)} rows of the plate cut what they say.")
        for said in fit_said:
            say(said)
    return SOMETHING_WRONG if wrong or off else DONE


def _add(options: argparse.Namespace) -> int:
    lathe = read_lathe(options.lathe)
    added = gearcalc.gears_to_add(lathe, options.threads, options.within_ppm, options.most, meshes=options.meshes)
    if options.json:
        setups = [None if setup is None else setup_fields(setup) for setup in added.setups]
        say_json(
            {
                "lathe": lathe.name,
                "gears": added.gears,
                "proven": added.proven,
                "lower_bound": added.lower_bound,
                "meshes": added.meshes,
                "setups": setups,
                "note": added.verdict,
            }
        )
    else:
        say(f"{lathe.name}:")
        say(str(added))
    return DONE if added.serves_all else SOMETHING_WRONG


def _coverage(options: argparse.Namespace) -> int:
    lathe = read_lathe(options.lathe)
    covered = gearcalc.coverage(lathe, _lead_mm(options.start), _lead_mm(options.end), options.meshes)
    if options.json:
        say_json(
            {
                "lathe": lathe.name,
                "from_mm": float(covered.from_mm),
                "to_mm": float(covered.to_mm),
                "meshes": covered.meshes,
                "leads": covered.inside,
                "worst_ppm": covered.worst_ppm,
                "mean_ppm": covered.mean_ppm,
                "gaps": [_gap_fields(gap) for gap in covered.widest()],
            }
        )
    else:
        say(str(covered))
        say("The leads that are worst off:")
        for gap in covered.widest():
            sides = " and ".join(str(writing.length(lead)) for lead in (gap.below_mm, gap.above_mm) if lead is not None)
            say(f"  {writing.lead(gap.at_mm)}: {writing.decimal(gap.ppm, 1)} ppm from {sides}")
        say("Fit not checked.")
    return DONE


def _lead_mm(text: str) -> Fraction:
    """A lead as typed: a number of mm, or a thread."""
    try:
        return as_fraction(text.strip().removesuffix("mm").strip(), what="a lead")
    except ValueOutOfRangeError:
        lead = Thread.parse(text).lead
    if not isinstance(lead, Fraction):
        raise ValueOutOfRangeError(
            "a range runs between leads without π", value=text, remedy="Give it in mm, like 3.2."
        )
    return lead


def _gap_fields(gap: Gap) -> dict[str, Any]:
    sides = {"below_mm": gap.below_mm, "at_mm": gap.at_mm, "above_mm": gap.above_mm}
    return {
        **{name: None if lead is None else float(lead) for name, lead in sides.items()},
        "at_mm_exact": str(gap.at_mm),
        "ppm": gap.ppm,
    }


def _miss(found: Setup, thread: Thread) -> RelativeError:
    return RelativeError(found.lead_mm, thread.lead)
