"""The command line: open the lessons, find a thread, see what a train cuts, check a lathe file.

>>> main(["cuts", "inch", "40/80", "--lever", "middle", "--wanted", "16 tpi"])
40/80, idler 25, lever middle: lead 1.5875 mm (16 tpi), exact
A right-hand thread, with the reverse as the lathe file describes it.
Fit: goes on as 40/80, idler 25, bracket swung to −58.4°; tightest: 7.6 mm between 40 on the spindle side and stud.
This lead would pass for (within 1000 ppm):
  exact       3/8-16 UNC, 3/4-16 UNF, 3/8 BSW, 1/2 BSF, 9/16 BSF, 1/4-16 Acme
0

With --json the same answer comes as one JSON object, floats for reading and exact fractions as text beside them:

* `lead_mm`, `lead_mm_exact`: travel by the half-nuts in one turn of the spindle, 1.5875 and "127/80"; for a standard
  thread its lead ("3/2 π" for a worm).
* `error_ppm`, `error_exact`: (cut − wanted) / wanted, in ppm and as a plain fraction; positive when too long;
  null where nothing is wanted; `error_exact` is null too where π is in it. `is_exact`: it cuts just what is wanted.
* `drivers`, `driven`: tooth counts in mesh order from the spindle side, as they go on where there is a bracket;
  `idlers`: one list a mesh, added where the bracket needs them and none are named.
* `lever`: null without a gearbox. `hand`: "right" or "left". `reverse_over`: the reverse must be turned over for it.
* `fit`: null where it is not checked, else the verdict in words. `warnings`: what to mind, in words.
* `lathe`, `wanted`: names. find adds `setups`, best first, and `note`, why there are none; cuts adds `passes_for`,
  standard threads each with `thread`, its lead and error; check adds `ok` and `plate`, each row with `thread`, `ok`,
  `problems` and, where they can be told, its lead and error; lessons gives `folder` and `files`, each with `name`,
  `kept` (yours differs and is kept) and `fresh` (name of the copy written, null when there was none to write).

Exit codes: 0 done; 1 check found something wrong, or find found nothing; 2 what was asked can't be done, and one
line on the error stream says why.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Sequence
from fractions import Fraction
from itertools import groupby
from pathlib import Path
from typing import Any, NoReturn

import gearcalc
from gearcalc import writing
from gearcalc.errors import GearcalcError, UnknownNameError, ValueOutOfRangeError
from gearcalc.exact import Exact, PiMultiple, RelativeError, coefficient
from gearcalc.feeds import Feed
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.setups import Setup, Wanted
from gearcalc.threads import Thread, nearest_threads
from gearcalc.trains import Train

__all__ = ["main"]

_ASCII_SIGNS = str.maketrans(
    {"−": "-", "·": "*", "×": "x", "≈": "~", "π": "pi", "…": "...", "°": " deg", "\u202f": " "}
)
_DONE, _SOMETHING_WRONG, _NOT_POSSIBLE, _INTERRUPTED, _PIPE_CLOSED = 0, 1, 2, 130, 141


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and give its exit code; every error of ours is one line on the error stream.

    >>> main(["find", "inch", "40 tpi", "--meshes", "1", "--count", "1"])
    Bench lathe with an inch leadscrew, for 40 tpi:
    1. 20/50, idler 55, lever low: lead 0.635 mm (40 tpi), exact
    0

    `arguments`: what follows the program's name; None takes those that Python was started with.
    """
    try:
        code = _run(arguments)
        sys.stdout.flush()  # a closed pipe is to be noticed here, not when Python ends
        return code
    except GearcalcError as problem:
        print("gearcalc: " + _printable(" ".join(str(problem).split()), sys.stderr), file=sys.stderr)
        return _NOT_POSSIBLE
    except KeyboardInterrupt:
        return _INTERRUPTED
    except BrokenPipeError:
        # Whoever read our answer has had enough. Python would complain once more when it closes the stream.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return _PIPE_CLOSED


def _run(arguments: Sequence[str] | None) -> int:
    parser = _parser()
    try:
        options = parser.parse_args(arguments)
    except SystemExit:  # --help and --version have said what they had to say
        return _DONE
    if options.run is None:
        parser.print_help()
        return _DONE
    code: int = options.run(options)
    return code


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise GearcalcError(message.rstrip("."), remedy=f"'{self.prog} --help' shows how to ask.")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="gearcalc", description="Change gears for small lathes, exactly.", allow_abbrev=False)
    parser.add_argument("--version", action="version", version=f"gearcalc {gearcalc.__version__}")
    parser.set_defaults(run=None)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", parser_class=_Parser)

    def command(name: str, run: Any, about: str) -> argparse.ArgumentParser:
        added = commands.add_parser(name, help=about, description=about, allow_abbrev=False)
        added.add_argument("--json", action="store_true", help="answer in JSON")
        added.set_defaults(run=run)
        return added

    lessons = command("lessons", _lessons, "copy the lessons into a folder and open them in JupyterLab")
    lessons.add_argument("folder", nargs="?", default="gearcalc-lessons", metavar="DIR",
                         help="where to copy them (default: gearcalc-lessons)")  # fmt: skip
    lessons.add_argument("--no-open", action="store_true", help="only copy them")

    lathe_help = "a lathe file, or a demo lathe: inch or metric"
    find = command("find", _find, "find the trains that cut a thread")
    find.add_argument("lathe", metavar="LATHE", help=lathe_help)
    find.add_argument("wanted", nargs="+", metavar="THREAD", help="what is wanted, like M8 or '16 tpi'")
    find.add_argument("--feed", action="store_true", help="THREAD is a feed, like '0.12 mm/rev'")
    find.add_argument("--meshes", type=_counts, default=(1, 2, 3), metavar="N,N", help="meshes allowed (1,2,3)")
    find.add_argument("--count", type=int, default=10, metavar="N", help="how many to show (10)")
    find.add_argument("--within-ppm", type=float, metavar="PPM", help="largest error to show")
    find.add_argument("--avoid", type=_counts, default=(), metavar="TEETH,TEETH", help="gears not to use")

    cuts = command("cuts", _cuts, "what does this train cut, and which threads would that pass for")
    cuts.add_argument("lathe", metavar="LATHE", help=lathe_help)
    cuts.add_argument("train", nargs="+", metavar="TRAIN", help="drivers over driven: 40/80, or '(40 30)/(80 60)'")
    cuts.add_argument("--lever", metavar="NAME", help="position of the gearbox lever")
    cuts.add_argument("--idlers", action="append", default=[], metavar="[MESH:]TEETH,TEETH",
                      help="idlers in the first mesh, or in another: 2:50")  # fmt: skip
    cuts.add_argument("--wanted", metavar="THREAD", help="the thread that was meant")
    cuts.add_argument("--within-ppm", type=float, default=1000, metavar="PPM", help="how near a thread must be (1000)")

    check = command("check", _check, "check a lathe file, and every row of its plate")
    check.add_argument("lathe", metavar="LATHE", help=lathe_help)
    check.add_argument("--within-ppm", type=float, default=0, metavar="PPM",
                       help="how far off a row may be (0: not at all)")  # fmt: skip
    return parser


# What is typed, read.


def _counts(text: str) -> tuple[int, ...]:
    try:
        return tuple(int(part) for part in text.split(",") if part.strip())
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r:.60} is no list of whole numbers like 20,40") from None


def _lathe(name: str) -> Lathe:
    try:
        return demo_lathe(name)
    except UnknownNameError as unknown:
        if os.path.lexists(name):
            return Lathe.load(name)
        raise UnknownNameError(f"there is no such file, and {unknown.problem}", value=name) from None


def _idlers(given: Sequence[str], meshes: int) -> list[tuple[int, ...]]:
    idlers: list[tuple[int, ...]] = [()] * meshes
    for text in given:
        mesh, _, teeth = text.rpartition(":")
        try:
            place = int(mesh or 1) - 1
            counts = _counts(teeth)
        except (ValueError, argparse.ArgumentTypeError):
            raise ValueOutOfRangeError("idlers are written like 50, 50,60 or 2:50", value=text) from None
        if not 0 <= place < meshes:
            raise ValueOutOfRangeError(f"the mesh of an idler is 1 to {meshes} here", value=text)
        idlers[place] += counts
    return idlers


# The commands.


def _lessons(options: argparse.Namespace) -> int:
    from gearcalc.lesson_copies import copy_lessons, open_lessons

    copied = copy_lessons(options.folder)
    if options.json:
        files = [{"name": each.name, "kept": each.kept, "fresh": each.fresh} for each in copied]
        _say_json({"folder": str(Path(options.folder).resolve()), "files": files})
    else:
        _say(f"The lessons are in {options.folder}:")
        for each in copied:
            _say(f"  {each}")
    return _DONE if options.no_open else open_lessons(options.folder)


def _find(options: argparse.Namespace) -> int:
    from gearcalc.search import find_setups

    lathe, text = _lathe(options.lathe), " ".join(options.wanted)
    wanted: Wanted = Feed.parse(text) if options.feed else Thread.parse(text)
    setups = find_setups(
        lathe, wanted, meshes=options.meshes, count=options.count, within_ppm=options.within_ppm, avoid=options.avoid
    )
    if options.json:
        found = [_setup_fields(each) for each in setups]
        _say_json({"lathe": lathe.name, "wanted": str(wanted), "setups": found, "note": setups.why})
    else:
        _say(f"{lathe.name}, for {wanted}:")
        _say(str(setups))
    return _DONE if setups else _SOMETHING_WRONG


def _cuts(options: argparse.Namespace) -> int:
    lathe, train = _lathe(options.lathe), Train.parse(" ".join(options.train))
    idlers = _idlers(options.idlers, train.meshes)
    typed = gearcalc.setup(lathe, train.drivers, train.driven, options.lever, idlers, options.wanted)
    found = typed.as_built
    near = nearest_threads(found.lead_mm, options.within_ppm)
    if options.json:
        passes_for = [{"thread": str(thread), **_measure(thread.lead, _miss(found, thread))} for thread in near]
        _say_json({"lathe": lathe.name, **_setup_fields(found), "passes_for": passes_for})
        return _DONE
    _say(str(found))
    turned = "turned over" if found.reverse_over else "as the lathe file describes it"
    _say(f"A {found.hand}-hand thread" + (f", with the reverse {turned}." if found.reverse_fitted else "."))
    for warning in found.warnings:
        _say(warning)
    _say("Fit not checked." if found.fit is None else f"Fit: {str(found.fit).removesuffix('.')}.")
    _say(f"This lead would pass for (within {options.within_ppm:g} ppm):" if near else "It is near no standard thread.")
    for error, alike in groupby(near, key=lambda thread: str(writing.error(_miss(found, thread)))):
        _say(f"  {error:<10}  {', '.join(map(str, alike))}")
    return _DONE


def _check(options: argparse.Namespace) -> int:
    from gearcalc.plates import check_plate

    lathe = _lathe(options.lathe)
    rows = check_plate(lathe, options.within_ppm)
    wrong = [row for row in rows if not row.ok]
    if options.json:
        plate = [{"thread": row.row.thread, "ok": row.ok, "problems": row.problems,
                  **(_measure(row.setup.lead_mm, row.setup.error) if row.setup else {})} for row in rows]  # fmt: skip
        _say_json({"lathe": lathe.name, "ok": not wrong, "plate": plate})
    else:
        _say(str(lathe))
        for row in wrong:
            _say(f"  {row}")
        if not rows:
            _say("The file is in order; it has no plate to check.")
        elif wrong:
            _say(f"{len(wrong)} of the {len(rows)} rows of the plate {'is' if len(wrong) == 1 else 'are'} wrong.")
        else:
            _say(f"The file is in order, and all {len(rows)} rows of the plate cut what they say.")
    return _SOMETHING_WRONG if wrong else _DONE


# What is said.


def _miss(found: Setup, thread: Thread) -> RelativeError:
    return RelativeError(found.lead_mm, thread.lead)


def _setup_fields(found: Setup) -> dict[str, Any]:
    return {
        "drivers": found.train.drivers, "driven": found.train.driven, "idlers": found.train.idlers,
        "lever": found.lever, "wanted": None if found.wanted is None else str(found.wanted),
        **_measure(found.lead_mm, found.error), "is_exact": found.is_exact,
        "hand": found.hand, "reverse_over": found.reverse_over,
        "fit": None if found.fit is None else str(found.fit), "warnings": found.warnings,
    }  # fmt: skip


def _measure(lead: Exact, error: RelativeError | None) -> dict[str, Any]:
    return {
        "lead_mm": float(lead),
        "lead_mm_exact": f"{coefficient(lead)} π" if isinstance(lead, PiMultiple) else str(lead),
        "error_ppm": None if error is None else error.ppm,
        "error_exact": _fraction_text(None if error is None else error.exact),
    }


def _fraction_text(fraction: Fraction | None) -> str | None:
    return None if fraction is None else str(fraction)


def _say(line: str) -> None:
    print(_printable(line, sys.stdout))


def _say_json(fields: dict[str, Any]) -> None:
    print(json.dumps(fields, indent=2))


def _printable(line: str, stream: Any) -> str:
    """The line in signs that the stream can carry: a console of another encoding is no reason to fail."""
    encoding = getattr(stream, "encoding", None) or "utf-8"
    try:
        line.encode(encoding)
        return line
    except UnicodeEncodeError:
        return line.translate(_ASCII_SIGNS).encode(encoding, "replace").decode(encoding)
