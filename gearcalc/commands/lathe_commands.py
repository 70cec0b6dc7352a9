"""Commands about the lathe itself: a file to begin with, whether it is right, and what goes on its bracket."""

from __future__ import annotations

import argparse
from fractions import Fraction
from typing import Any

from attrs import evolve

import gearcalc
from gearcalc.basics import writing
from gearcalc.basics.arguments import within
from gearcalc.basics.errors import ValueOutOfRangeError, on_one_line, quoted
from gearcalc.basics.exact import RelativeError, as_fraction
from gearcalc.basics.files import save_new
from gearcalc.commands.console import DONE, SOMETHING_WRONG, AddCommand, answer, fit_fields, measure
from gearcalc.commands.named_trains import named_train
from gearcalc.commands.options import (
    TRAIN_HELP,
    add_in_words,
    add_lever_and_idlers,
    add_shared,
    argument,
    as_length,
    counts,
    lathe_asked,
    lathe_shown,
    mounted_train,
    to_file,
    without_avoided,
)
from gearcalc.fits.fitting import Fit
from gearcalc.fits.gaps import idle_name
from gearcalc.lathes import Lathe
from gearcalc.lathes.new_files import new_lathe_file
from gearcalc.lathes.pieces import other_half
from gearcalc.lathes.trains import shaft_names
from gearcalc.learning.live import IN_THE_BROWSER

_SIMPLE = 12  # of a ratio that is meant the line below, at most: 5/12, not 17/51


def add_lathe_commands(command: AddCommand) -> None:
    """Enter lathe, check and bracket."""
    new = command(
        "lathe",
        _new,
        "write a lathe file to begin with, in which every key is explained",
        lathe=False,
        example='lathe new my_lathe.toml --name "Our lathe" --leadscrew "8 tpi" --gears 20,30,40,50,80',
    )
    new.add_argument("do", choices=["new"], metavar="new", help="write a new file; none is ever overwritten")
    new.add_argument("file", nargs="?", default="my_lathe.toml", metavar="FILE", help="where to (my_lathe.toml)")
    new.add_argument("--name", metavar="NAME", help="what it is called on cards and plates")
    new.add_argument("--leadscrew", metavar="LEAD", help="how far the carriage goes in one turn: '8 tpi' or '3 mm'")
    new.add_argument("--hand", choices=("right", "left"), help="of the leadscrew's own thread")
    new.add_argument("--gears", type=counts, metavar="TEETH,TEETH", help="of all gears; one that is there twice, twice")
    new.add_argument("--module", type=_number, metavar="MM", help="size of the teeth: outside diameter over teeth + 2")
    new.add_argument("--diametral-pitch", type=_number, metavar="DP", help="the same in inches, the other way up")
    turns = "a place of the gearbox lever, and turns of the leadscrew for one of the last gear; once for each place"
    new.add_argument("--lever", action="append", default=[], type=_lever, metavar="NAME=RATIO", help=turns)
    each = (
        "one of several levers whose ratios multiply, and each of its places: 'range: slow=1/3, fast=1'; once for each."
        ' For one ahead of the change gears write side = "spindle" into the file'
    )
    new.add_argument("--levers", action="append", default=[], type=_one_of_several, metavar="NAME:PLACES", help=each)
    new.add_argument("--no-reverse", action="store_true", help="no tumbler or other reverse is fitted")
    add_shared(new, "units", "paper")

    check = command(
        "check",
        _check,
        "check a lathe file, every row of its plate, and its bracket by them",
        example="check my_lathe.toml",
    )
    add_shared(check, "within_ppm", "units", within_ppm=0)

    bracket = command(
        "bracket",
        _bracket,
        "does this train go on the bracket, and how does it stand there",
        example="bracket inch 40/80 --idlers 50 --save bracket.svg",
    )
    add_in_words(bracket, "train", "TRAIN", TRAIN_HELP)
    add_lever_and_idlers(bracket)
    bracket.add_argument("--hand", choices=("right", "left"), help="that must come out, on a lathe without a reverse")
    bracket.add_argument("--keep-order", action="store_true", help="only in the order given")
    is_saved = to_file("a drawing is", ".svg")
    bracket.add_argument("--save", type=is_saved, metavar="FILE", help="draw it to scale in a file that ends in .svg")
    add_shared(bracket, "avoid", "mounted")


@argument
def _number(text: str) -> float | int:
    typed = as_length(text)
    number = typed if isinstance(typed, Fraction) else as_fraction(typed, what="it")
    return int(number) if number.denominator == 1 else float(number)


@argument
def _lever(text: str) -> tuple[str, Fraction]:
    name, equals, ratio = text.rpartition("=")
    if not equals:
        raise argparse.ArgumentTypeError(f"{text!r:.60} is not written like slow=1/2")
    size = as_fraction(ratio.strip().removeprefix("-"), what="a ratio")
    turns = -size if ratio.strip().startswith("-") else size
    return name.strip(), within(turns, what="a ratio", most=100, above=True, given=ratio.strip())


@argument
def _one_of_several(text: str) -> tuple[str, list[tuple[str, Fraction]]]:
    name, colon, places = text.partition(":")
    if not colon:
        raise argparse.ArgumentTypeError(f"{text!r:.60} is not written like 'range: slow=1/3, fast=1'")
    read = [_lever(place) for place in places.split(",")]
    if len(dict(read)) < len(read):
        raise argparse.ArgumentTypeError(f"{text!r:.60} names a place twice")
    return name.strip(), read


def _new(options: argparse.Namespace) -> int:
    said: dict[tuple[str, str], Any] = {
        ("", "name"): options.name,
        ("leadscrew", "lead"): options.leadscrew,
        ("leadscrew", "hand"): options.hand,
        ("spindle_side", "reverse"): False if options.no_reverse else None,
        ("gears", "teeth"): options.gears,
        ("gears", "module_mm"): options.module,
        ("gears", "diametral_pitch"): options.diametral_pitch,
        ("show", "units"): options.units,
        ("show", "paper"): options.paper,
    }
    several = {"positions of --lever": options.lever, "levers of --levers": options.levers}
    for what, answers in several.items():
        names = [name for name, _ in answers]
        twice = next((name for name in names if names.count(name) > 1), None)
        if twice is not None:
            raise ValueOutOfRangeError(f"two {what} are called {quoted(twice)}", remedy="Give one another name.")
    text = new_lathe_file(
        {key: value for key, value in said.items() if value is not None}, options.lever, options.levers
    )
    lathe = Lathe.from_toml(text, source="what was answered")
    saved = str(save_new(options.file, text, "the lathe file"))
    needed = {"name": options.name, "leadscrew": options.leadscrew, "gears": options.gears}
    examples = [key for key, value in needed.items() if value is None]
    to_do = f" Examples still stand there for {writing.listed(examples)}: put in your own." if examples else ""
    answer(
        options,
        {"file": saved, "lathe": lathe.name, "examples": examples},
        f"A lathe file with every key there is, each explained, is in {on_one_line(saved)}.{to_do}",
        f"Then, in a cell: main({['check', saved]})"
        if IN_THE_BROWSER
        else f"Then: python -m gearcalc check {on_one_line(saved)}",
    )
    return DONE


def _check(options: argparse.Namespace) -> int:
    from gearcalc.finding.plates import check_plate, fit_of_plate

    lathe = lathe_asked(options)
    rows = check_plate(lathe, options.within_ppm)
    wrong = [row for row in rows if not row.ok]
    off = [row for row in rows if row.fit is not None and not row.fit.goes_on]
    fit_said = fit_of_plate(lathe, rows)
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
    fields = {"lathe": lathe.name, "ok": not wrong and not off, "plate": plate, "bracket": fit_said}
    answer(
        options,
        fields,
        str(lathe),
        *(f"  {row}" for row in rows if row in wrong or row in off),
        _verdict(len(rows), len(wrong)),
        *fit_said,
        *_perhaps_rounded(lathe),
        *_still_examples(lathe),
        *_left_out(lathe),
    )
    return SOMETHING_WRONG if wrong or off else DONE


def _verdict(rows: int, wrong: int) -> str:
    if not rows:
        return "The file is in order; it has no plate to check."
    if wrong:
        some = "The one row" if rows == 1 else f"{wrong} of the {rows} rows"
        return f"{some} of the plate {'is' if wrong == 1 else 'are'} wrong."
    if rows == 1:
        return "The file is in order, and the one row of the plate cuts what it says."
    return f"The file is in order, and all {rows} rows of the plate cut what they say."


def _perhaps_rounded(lathe: Lathe) -> list[str]:
    """Ratios in decimals that are a simple fraction, rounded: all that is cut would be as far off, unsaid."""
    stands = {stand for position in lathe.positions if position is not None for stand in position.stands}
    each = [(f"The {stand.called} at {stand.at}", stand.ratio) for stand in sorted(stands)]
    each.append(("The spindle side", lathe.spindle_ratio))
    if lathe.feeds is not None:
        each.append(("The longitudinal feed", lathe.feeds.longitudinal))
        each += [("The cross feed", lathe.feeds.cross)] if lathe.feeds.cross is not None else []
    asked = []
    for what, ratio in each:
        meant = _rounded_from(ratio)
        if meant is not None:
            off = writing.error(RelativeError(ratio, meant))
            asked.append(
                f'{what} is {writing.decimal(ratio, 9)}. If that is {meant}, rounded, write "{meant}": '
                f"as it stands, all that is cut with it is {off} off."
            )
    return asked


def _rounded_from(ratio: Fraction) -> Fraction | None:
    """The simple fraction of which a decimal of three places or more is the rounding; None where there is none.

    >>> _rounded_from(Fraction("0.333")), _rounded_from(Fraction("0.375")), _rounded_from(Fraction("0.33"))
    (Fraction(1, 3), None, None)
    """
    places = next((n for n in range(10) if writing.ends(ratio, n)), 0)
    simple = ratio.limit_denominator(_SIMPLE)
    return simple if places >= 3 and 0 < abs(simple - ratio) <= Fraction(1, 2 * 10**places) else None


def _still_examples(lathe: Lathe) -> list[str]:
    """What still stands there as in a new file; nobody has just these gears."""
    example = Lathe.from_toml(new_lathe_file())
    if lathe.gears != example.gears:
        return []
    what = "Leadscrew and" if lathe.leadscrew_lead_mm == example.leadscrew_lead_mm else "The"
    return [f"{what} gears are still those of the example: put in your own."]


def _left_out(lathe: Lathe) -> list[str]:
    """Which sections a file could have and has not, where that costs an answer."""
    missing = {"[bracket]": lathe.bracket, "[dial]": lathe.dial, "[feeds]": lathe.feeds, "[plate]": lathe.plate}
    named = [section for section, there in missing.items() if not there]
    if not named:
        return []
    return [f"Not in the file: {', '.join(named)}. 'lathe new' writes one in which every key is explained."]


def _bracket(options: argparse.Namespace) -> int:
    whole = lathe_shown(options)
    lathe = without_avoided(options, whole)
    train, lever = named_train(options, lathe, " ".join(options.train))
    found = gearcalc.fit(
        lathe,
        train,
        hand=options.hand,
        lever=lever,
        mounted=mounted_train(options, whole),
        keep_order=options.keep_order,
    )
    found = evolve(found, not_owned=lathe.gear_set.missing(found.train))
    lines = [f"{lathe.name}: {train} {found}", *_places(lathe, found)]
    saved = None
    if options.save is not None:
        saved = str(gearcalc.bracket_picture(lathe, found).save(options.save))
        lines.append(f"Drawn to scale in {on_one_line(saved)}.")
    answer(options, {"lathe": lathe.name, "train": str(train), **fit_fields(found), "file": saved}, *lines)
    return DONE if found.goes_on else SOMETHING_WRONG


def _places(lathe: Lathe, found: Fit) -> list[str]:
    """Where each stud stands, and which mesh lies in which plane."""
    names = shaft_names(len(found.axes_mm), last=lathe.last_shaft)[1:-1] if found.axes_mm else ()
    lines = [
        f"  {name}: {writing.decimal(x, 1)} mm across, {writing.decimal(y, 1)} mm up from the {lathe.last_shaft}"
        for name, (x, y) in zip(names, found.axes_mm[1:-1], strict=True)
    ]
    for gear, _, plane in found.idle_gears:
        idler = other_half(gear)
        mesh = next(mesh for mesh, idlers in enumerate(found.train.idlers) if idler in idlers)
        side = "in front of" if plane > found.planes[mesh] else "behind"
        lines.append(f"  {idle_name(gear)}: in the plane {side} the idler {idler}, meshes with nothing")
    if found.train.meshes > 1:
        lines.append(f"  planes of the meshes, from the headstock: {', '.join(str(n + 1) for n in found.planes)}")
    return lines
