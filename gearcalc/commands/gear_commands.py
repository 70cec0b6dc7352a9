"""Commands about the gears: open the lessons, find a thread, what these cut, gears to add, coverage."""

from __future__ import annotations

import argparse
import os
from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby
from pathlib import Path
from typing import Any

import gearcalc
from gearcalc.basics import writing
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError, on_one_line
from gearcalc.basics.exact import RelativeError, as_fraction
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
from gearcalc.commands.named_trains import named_that_turned
from gearcalc.commands.options import (
    ANY_ERROR,
    FEEDS_SO,
    LENGTH_HELP,
    ONE_EACH,
    TRAIN_HELP,
    add_in_words,
    add_lever_and_idlers,
    add_shared,
    as_length,
    avoided,
    folder_name,
    lathe_asked,
    lathe_shown,
    length,
    mounted_train,
    refuse_for_train,
    what_is_assumed,
    without_avoided,
)
from gearcalc.finding.none_found import too_few_studs
from gearcalc.finding.search import warnings_by_name
from gearcalc.finding.setups import Setup
from gearcalc.finding.straight_across import fit_not_checked
from gearcalc.lathes import Lathe
from gearcalc.lathes.directions import reverse_in_words, reverse_over_means
from gearcalc.lathes.gear_words import had_in_words
from gearcalc.planning.charts import ChartRow, threads_cut
from gearcalc.planning.plans import PLANNED_MESHES
from gearcalc.threads import Feed, Thread, nearest_threads
from gearcalc.threads.deviations import GOOD_ENOUGH, MOST_CHOSEN_PPM, Verdict, good_enough_ppm, judge, limit_ppm
from gearcalc.threads.wanted import as_wanted

_FEWER_MESHES = "Fewer --meshes are quicker."
_SIZES_TO_ADD = range(20, 128)  # those of gears_to_add()


_PASSES_PPM = 1000
"""As near as a lead must come to pass for a thread, where nothing else is said."""


def add_gear_commands(command: AddCommand) -> None:
    """Enter lessons, find, cuts, add and coverage."""
    lessons = command(
        "lessons",
        _lessons,
        "put the lessons into a folder, or bring those there up to date, and open them in JupyterLab",
        lathe=False,
        example="lessons my-lessons",
    )
    lessons.add_argument(
        "folder",
        type=folder_name,
        nargs="?",
        default="gearcalc-lessons",
        metavar="DIR",
        help="where they are, or are to be (default: gearcalc-lessons)",
    )
    lessons.add_argument("--port", type=int, metavar="N", help="open them at this port (one that is free)")
    either = lessons.add_mutually_exclusive_group()
    either.add_argument("--no-open", action="store_true", help="only bring them up to date, and start nothing")
    either.add_argument("--as-it-is", action="store_true", help="only open them, and change nothing in the folder")

    find = command(
        "find",
        _find,
        "find the trains that cut a thread or a feed",
        sooner=_FEWER_MESHES,
        example='find inch "1.75 mm" --within-ppm 200',
    )
    add_in_words(find, "wanted", "THREAD", f"what is wanted, like M8, 16 tpi or 0.1 mm/rev: {FEEDS_SO}")
    find.add_argument("--feed", action="store_true", help="THREAD is a feed, whatever it looks like")
    find.add_argument("--count", type=int, default=10, metavar="N", help="how many to show (10)")
    add_shared(find, "first", "avoid", "meshes", "within_ppm", "mounted", "units")

    about = "what does this train cut, and which threads would that pass for; or every thread that the lathe can cut"
    cuts = command("cuts", _cuts, about, sooner=_FEWER_MESHES, example='cuts inch 40/80 --lever low --wanted "32 tpi"')
    add_in_words(cuts, "train", "TRAIN", f"{TRAIN_HELP}; none: every thread of the tables", "*")
    add_lever_and_idlers(cuts)
    meant = "the thread that was meant; its own tolerance says whether this will do for it, not --within-ppm"
    cuts.add_argument("--wanted", metavar="THREAD", help=meant)
    over = f"how long it screws into its counterpart, as in a nut, to be judged over that; {LENGTH_HELP}"
    cuts.add_argument("--engagement", type=length, metavar="LENGTH", help=over)
    add_shared(cuts, "avoid", "meshes", "within_ppm", "units", meshes=None, within_ppm=_PASSES_PPM)

    about = "the fewest gears to add, so that the lathe cuts a list of threads"
    add = command(
        "add",
        _add,
        about,
        sooner="Fewer --meshes, fewer threads or a smaller --most are quicker.",
        example="add inch M6 M8 --most 2",
    )
    add.add_argument("threads", nargs="+", metavar="THREAD", help=ONE_EACH)
    add.add_argument("--most", type=int, default=6, metavar="N", help="add no more gears than this (6)")
    add_shared(add, "avoid", "meshes", "within_ppm", "units", meshes=(1, 2), within_ppm=100)

    about = "how near the gears come to any lead in a range, and where they come least near"
    coverage = command("coverage", _coverage, about, sooner=_FEWER_MESHES, example="coverage inch 1 1.1")
    coverage.add_argument(
        "start", metavar="FROM", help=f"smallest lead: a thread, like '48 tpi', or a length; {LENGTH_HELP}"
    )
    coverage.add_argument("end", metavar="TO", help="largest lead, likewise")
    add_shared(coverage, "avoid", "meshes", "units", meshes=(1, 2))


def _lessons(options: argparse.Namespace) -> int:
    from gearcalc.learning.lesson_copies import copy_lessons, open_lessons

    port = None if options.port is None else as_whole(options.port, what="a port", least=1, most=65_535)
    if options.no_open and port is not None:
        why = "with --no-open nothing is started, so there is no port to name"
        raise ValueOutOfRangeError(why, value=port, remedy="Leave --port out, or --no-open.")
    if options.as_it_is and not os.path.isdir(options.folder):
        raise NotPossibleError("there is no such folder to open", where=options.folder, remedy="Leave --as-it-is out.")
    copied = [] if options.as_it_is else copy_lessons(options.folder)
    files = [{"name": it.name, "state": it.state, "yours": it.yours, "why": it.why} for it in copied]
    states = Counter(it.state for it in copied)
    many = [f"{number} {state}" for state, number in states.items()]
    fields = {"folder": str(Path(options.folder).resolve()), "files": files}
    told = [f"  {it}" for it in copied if it.yours or it.why]
    answer(
        options,
        fields,
        f"The lessons are in {on_one_line(options.folder)}: {writing.listed(many) if many else 'as they are'}.",
        *told,
    )
    if not options.no_open:
        return open_lessons(options.folder, port)
    return SOMETHING_WRONG if any(it.failed for it in copied) else DONE


def _find(options: argparse.Namespace) -> int:
    lathe, text = lathe_shown(options), " ".join(options.wanted)
    wanted = Feed.parse(text) if options.feed else as_wanted(text)
    setups = gearcalc.find_setups(
        lathe,
        wanted,
        meshes=options.meshes,
        count=options.count,
        within_ppm=limit_ppm(options.within_ppm, wanted),
        mounted=mounted_train(options, lathe),
        avoid=avoided(options, lathe),
        first=options.first,
    )
    good = setups[0].good_enough if setups else False
    fields: dict[str, Any] = {"good_enough": good, "lathe": lathe.name, "wanted": str(wanted)}
    found = [{**setup_fields(each), "moved": moved} for each, moved in zip(setups, setups.moves, strict=True)]
    assumed = what_is_assumed(options, lathe)
    fields |= {"setups": found, "reason": setups.reason, "note": setups.why, "assumed": assumed}
    none_good = ", none good enough" if setups.shortfall else ""
    answer(options, fields, f"{lathe.name}, for {wanted}{none_good}:", str(setups), *filter(None, [assumed]))
    return DONE if setups and not setups.shortfall else SOMETHING_WRONG


def _cuts(options: argparse.Namespace) -> int:
    lathe, wanted = lathe_shown(options), None if options.wanted is None else as_wanted(options.wanted)
    if not options.train:
        return _threads_cut(options, without_avoided(options, lathe))
    refuse_for_train(options, "meshes", meshes=None)
    found = named_that_turned(options, lathe, wanted, " ".join(options.train)).as_built
    damaged = had_in_words(lathe.gear_set, lathe.gear_set.missing(found.train))
    verdict = _over_the_engagement(options, found)
    near = _near(found.lead_mm, options.within_ppm)
    passes_for = [{"thread": str(thread), **measure(thread.lead, miss)} for thread, miss in near.items()]
    lines = [str(found), found.shortfall, verdict.why if verdict else ""]
    lines += [] if isinstance(found.wanted, Feed) else [f"A {found.hand}-hand thread."]
    if found.reverse_fitted and found.way_known:
        lines.append(reverse_in_words(lathe, found.reverse_over, found.position))
    lines += found.warnings
    unchecked = [*fit_not_checked([found]), damaged]
    lines += unchecked if found.fit is None else [f"Fit: {str(found.fit).removesuffix('.')}."]
    lines += [
        f"This lead would pass for ({_how_near(options.within_ppm)}):" if near else "It is near no standard thread."
    ]
    for error, alike in groupby(near, key=lambda thread: str(writing.error(near[thread]))):
        lines.append(f"  {error:<10}  {', '.join(map(str, alike))}")
    fields = {"lathe": lathe.name, **setup_fields(found), "passes_for": passes_for, **dict.fromkeys(_COUNTS)}
    fields["warnings"] = [*found.warnings, *filter(None, [damaged])]
    fields["engagement"] = verdict and verdict.why
    answer(options, fields, *filter(None, lines))
    return SOMETHING_WRONG if found.shortfall or (verdict and verdict.fails) else DONE


def _over_the_engagement(options: argparse.Namespace, found: Setup) -> Verdict | None:
    """Whether the error matters over the length that was named; None where none was."""
    if options.engagement is None:
        return None
    if not isinstance(found.wanted, Thread) or found.error is None:
        raise ValueOutOfRangeError("--engagement goes with the thread that was meant", remedy="Name it too: --wanted.")
    return judge(found.wanted, found.error, options.engagement, units=found.lathe.units)


_COUNTS = ("threads", "engagement", "exact", "near", "not_cut", "not_known")


def _threads_cut(options: argparse.Namespace, lathe: Lathe) -> int:
    """Every thread of the tables that the lathe cuts, exactly or near enough; without a train to ask about."""
    if options.wanted or options.lever or options.idlers or options.engagement is not None:
        what = "a lever, idlers, a thread that was meant or its engagement go with a train"
        raise ValueOutOfRangeError(what, remedy="Name it too.")
    within = GOOD_ENOUGH if options.within_ppm is _PASSES_PPM else options.within_ppm  # as it stands, if none is named
    meshes = PLANNED_MESHES if options.meshes is None else options.meshes
    rows = threads_cut(lathe, within, meshes, progress=shown)
    cut = [(row, row.setup) for row in rows if row.setup is not None]
    exact, near = ([(row, one) for row, one in cut if one.is_exact is it_is] for it_is in (True, False))
    not_known = sum(bool(row.why) for row in rows)
    counts = (len(exact), len(near), len(rows) - len(cut) - not_known, not_known)
    listed = [{"thread": str(row.thread), "share_used": _share(row), **setup_fields(one)} for row, one in cut]
    fields = {"lathe": lathe.name, **setup_fields(None), "passes_for": None}
    fields |= dict(zip(_COUNTS, (listed, None, *counts), strict=True))
    within_words = _how_near(within)
    lines = [f"{lathe.name}: of the {len(rows)} threads of the tables it cuts"]
    lines += [f"{counts[0]} exactly:", *_by_train(exact), f"{counts[1]} more {within_words}:", *_by_train(near)]
    lines += filter(None, [too_few_studs(lathe, meshes)])
    lines += [f"{counts[2]} not {within_words}; find says how near it comes."] if counts[2] else []
    lines += [f"{not_known} of which that can't be told: the search gave up."] if not_known else []
    lines += [reverse_over_means(lathe)] if any(one.reverse_over for _, one in cut) else []
    lines += fit_not_checked(one for _, one in cut)
    answer(options, fields, *lines, *warnings_by_name(one for _, one in cut))
    return DONE if cut else SOMETHING_WRONG


def _by_train(cut: Sequence[tuple[ChartRow, Setup]]) -> Iterator[str]:
    """A line for each train, with the threads that it cuts, and how much of its tolerance each error uses up."""
    by_train: dict[str, list[str]] = {}
    for row, one in cut:
        share = _share(row)
        by_train.setdefault(str(one), []).append(
            f"{row.thread} ({writing.percent(share)})" if share else str(row.thread)
        )
    for train, threads in by_train.items():
        yield f"  {train}: {', '.join(threads)}"


def _share(row: ChartRow) -> float | None:
    """How much of its tolerance the error uses up, 1 being all of it; None where none is known."""
    return None if row.verdict is None else row.verdict.share_used


def _near(lead_mm: Fraction, within_ppm: Fraction | str | None) -> dict[Thread, RelativeError]:
    """The standard threads that a lead is near enough to, the nearest first, each with how far it is off."""
    each_its_own = within_ppm == GOOD_ENOUGH
    near = nearest_threads(lead_mm, MOST_CHOSEN_PPM if each_its_own else within_ppm)
    misses = {thread: RelativeError(lead_mm, thread.lead) for thread in near}
    if not each_its_own:
        return misses
    return {thread: miss for thread, miss in misses.items() if miss <= RelativeError.of_ppm(good_enough_ppm(thread))}


def _how_near(within_ppm: Fraction | str | None) -> str:
    if isinstance(within_ppm, str):
        return "well enough to choose it"
    return "however far off" if within_ppm is None else f"within {writing.ppm(within_ppm, 4)}"


def _add(options: argparse.Namespace) -> int:
    lathe = without_avoided(options, lathe_shown(options), may_buy=True)
    if not isinstance(options.within_ppm, (int, Fraction)):
        raise ValueOutOfRangeError(
            "within_ppm is a number here, the same for all threads", value=options.within_ppm or ANY_ERROR
        )
    sizes = [teeth for teeth in _SIZES_TO_ADD if teeth not in options.avoid]
    added = gearcalc.gears_to_add(
        lathe, options.threads, options.within_ppm, options.most, sizes, meshes=options.meshes, progress=shown
    )
    fields = {
        "lathe": lathe.name,
        **{name: getattr(added, name) for name in ("gears", "proven", "lower_bound", "meshes")},
        "setups": [None if setup is None else setup_fields(setup) for setup in added.setups],
        "note": added.verdict,
    }
    answer(options, fields, f"{lathe.name}:", str(added))
    return INTERRUPTED if added.interrupted else DONE if added.serves_all else SOMETHING_WRONG


def _coverage(options: argparse.Namespace) -> int:
    lathe = lathe_asked(options)
    covered = gearcalc.coverage(lathe, _lead_mm(options.start), _lead_mm(options.end), options.meshes)
    gaps, lines = [], [str(covered), "The leads that are worst off:"]
    for gap in covered.widest():
        sides = {"below_mm": gap.below_mm, "at_mm": gap.at_mm, "above_mm": gap.above_mm}
        floats = {name: None if lead is None else float(lead) for name, lead in sides.items()}
        gaps.append({**floats, "at_mm_exact": str(gap.at_mm), "ppm": gap.ppm})
        beside = " and ".join(str(covered.said(lead)) for lead in (gap.below_mm, gap.above_mm) if lead is not None)
        lines.append(f"  {writing.lead(gap.at_mm, first=lathe.units)}: {writing.ppm(gap.ppm)} from {beside}")
    fields = {
        "lathe": lathe.name,
        "from_mm": float(covered.from_mm),
        "to_mm": float(covered.to_mm),
        "meshes": covered.meshes,
        "leads": covered.inside,
        "worst_ppm": covered.worst_ppm,
        "mean_ppm": covered.mean_ppm,
        "gaps": gaps,
    }
    answer(options, fields, *lines, covered.note)
    return DONE


def _lead_mm(text: str) -> Fraction:
    """A lead as typed: a length, or a thread."""
    typed = as_length(text)
    try:
        return typed if isinstance(typed, Fraction) else as_fraction(typed, what="a lead")
    except ValueOutOfRangeError:
        lead = Thread.parse(text).lead
    if not isinstance(lead, Fraction):
        raise ValueOutOfRangeError(
            "a range runs between leads without π", value=text, remedy="Give it in mm, like 3.2."
        )
    return lead
