"""The command line: trains found and checked, the papers for the shop, and the proof of the cut.

>>> main(["cuts", "inch", "40/80", "--lever", "middle", "--wanted", "16 tpi"])
40/80, idler 25, lever middle: lead 16 tpi (1.5875 mm), exact
A right-hand thread.
Reverse as the lathe file describes it: the first driver turns with the spindle.
Fit: goes on as 40/80, idler 25, bracket swung to −58.4°; tightest: 7.6 mm between 40 on the spindle side and stud.
This lead would pass for (within 1000 ppm):
  exact       3/8-16 UNC, 3/4-16 UNF, 1/4-16 Acme, 3/8 BSW, 1/2 BSF, 9/16 BSF
0

With --json the same answer comes as one JSON object, floats for reading and exact fractions as text beside them. Its
keys are the same whatever the answer is, null where there is nothing to say; json_keys.py has them, and a command's
--help-json says them.

Exit codes: 0 done; 1 the question was understood, and the answer is no: nothing was found, or nothing good enough to
cut by find, cuts, card and plan; check found something wrong, a train does not go on, proof does not agree, a row of
chart is not good enough, not all that add and feeds were asked for can be had, or marks could not take all that was
handed in; 2 what was asked can't be done; 3 the answer could not be written to where it should go; 4 the program itself
failed. With 2 and 3 one line on the error stream says why, with 4 what to report. Stopped by Ctrl-C: 130; where who
reads the answer has had enough: 141.
"""

from __future__ import annotations

import argparse
import os
import re
import sys
from collections.abc import Sequence
from contextlib import nullcontext, suppress
from importlib import import_module
from typing import Any

import gearcalc
from gearcalc.basics.errors import GearcalcError, NoSetupError
from gearcalc.basics.files import check_place
from gearcalc.commands.class_commands import add_class_commands
from gearcalc.commands.console import (
    DONE,
    INTERRUPTED,
    SOMETHING_WRONG,
    NotSaidError,
    Parser,
    begin,
    check_said,
    complain,
    forget,
)
from gearcalc.commands.gear_commands import add_gear_commands
from gearcalc.commands.lathe_commands import add_lathe_commands
from gearcalc.commands.options import LATHE_HELP, add_lathe
from gearcalc.commands.serving_commands import add_serving_commands
from gearcalc.commands.shop_commands import add_shop_commands

__all__ = ["main"]

_SAVED_AT = ("save", "key")  # options that name a file to be written, looked at before the work
_NOT_POSSIBLE, _NOT_SAID, _PIPE_CLOSED = 2, 3, 141


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and give its exit code; every error of ours is one line on the error stream.

    >>> main(["find", "inch", "40 tpi", "--meshes", "1", "--count", "1"])
    Bench lathe with an inch leadscrew, for 40 tpi:
    1. 20/50, idler 55, lever low: lead 40 tpi (0.635 mm), exact
    0

    `arguments`: what follows the program's name; None takes those that Python was started with.
    """
    try:
        code = _run(arguments)
        check_said()  # a closed pipe or a full disk is to be noticed here, not when Python ends
        return code
    except GearcalcError as problem:
        complain(f"gearcalc: {problem}")
        return _NOT_POSSIBLE
    except NotSaidError as problem:
        complain(f"gearcalc: the answer can't be written ({problem}). Send it to where there is room, and ask again.")
        forget(sys.stdout)
        return _NOT_SAID
    except KeyboardInterrupt:
        complain("gearcalc: stopped, before there was an answer.")
        return INTERRUPTED
    except BrokenPipeError:  # whoever read our answer has had enough
        forget(sys.stdout)
        return _PIPE_CLOSED
    except FileNotFoundError:
        if _folder_is_there():
            raise
        complain("gearcalc: the folder that you work in is no longer there. Go to another (cd), and ask again.")
        return _NOT_POSSIBLE


def _folder_is_there() -> bool:
    try:
        return bool(os.getcwd())
    except FileNotFoundError:
        return False


def _run(arguments: Sequence[str] | None) -> int:
    parser = _parser()
    if "_ARGCOMPLETE" in os.environ:  # a shell asks what can come next; nothing else loads what answers that
        with suppress(ImportError):
            import_module("argcomplete").autocomplete(parser)
    try:
        options = parser.parse_args(arguments)
    except SystemExit:  # --help and --version have said what they had to say
        return DONE
    if options.run is None:
        parser.print_help()
        return DONE
    try:
        for path in filter(None, (getattr(options, name, None) for name in _SAVED_AT)):
            check_place(path, "the answer")
        with begin(options.sooner) if "lathe" in options or options.sooner else nullcontext():
            code: int = options.run(options)
    except GearcalcError as problem:
        complain(f"gearcalc: {_in_options(str(problem), options)}")
        return SOMETHING_WRONG if isinstance(problem, NoSetupError) else _NOT_POSSIBLE
    return code


def _in_options(said: str, options: argparse.Namespace) -> str:
    """What an error calls by the name of an argument, called by the option of this command that gives it."""
    named = [name if "_" in name else rf"\A{name}(?= must )" for name in vars(options)]
    said = re.sub(r"\blead_(from|to)_mm(?= must )", lambda found: found[1].upper(), said)  # of coverage, in no option
    return re.sub(rf"\b({'|'.join(named)})\b", lambda found: f"--{found[0].replace('_', '-')}", said)


def _parser() -> argparse.ArgumentParser:
    parser = Parser(prog="gearcalc", description="Change gears for small lathes, exactly.")
    parser.add_argument("--version", action="version", version=f"gearcalc {gearcalc.__version__}")
    parser.set_defaults(run=None)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", parser_class=Parser)

    def command(
        name: str, run: Any, about: str, *, example: str, lathe: bool = True, sooner: str = ""
    ) -> argparse.ArgumentParser:
        added: Parser = commands.add_parser(name, help=about, description=about)
        added.for_example(example)
        if lathe:
            add_lathe(added, "lathe", LATHE_HELP)
        added.for_json(name)
        added.set_defaults(run=run, sooner=sooner)
        return added

    add_lathe_commands(command)
    add_gear_commands(command)
    add_shop_commands(command)
    add_class_commands(command)
    add_serving_commands(command)
    return parser
