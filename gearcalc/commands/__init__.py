"""The command line: trains found and checked, the papers for the shop, and the proof of the cut.

>>> main(["cuts", "inch", "40/80", "--lever", "middle", "--wanted", "16 tpi"])
40/80, idler 25, lever middle: lead 16 tpi (1.5875 mm), exact
A right-hand thread.
Reverse as the lathe file describes it: the first driver turns with the spindle.
Fit: goes on as 40/80, idler 25, bracket swung to −58.4°; tightest: 7.6 mm between 40 on the spindle side and stud.
This lead would pass for (within 1000 ppm):
  exact       3/8-16 UNC, 3/4-16 UNF, 1/4-16 Acme, 3/8 BSW, 1/2 BSF, 9/16 BSF
0

With --json the same answer comes as one JSON object, floats for reading and exact fractions as text beside them:

* `lead_mm`, `lead_mm_exact`: travel by the half-nuts in one turn of the spindle, 1.5875 and "127/80"; for a standard
  thread its lead ("3/2 π" for a worm).
* `error_ppm`, `error_exact`: (cut − wanted) / wanted, in ppm and as a plain fraction; positive when too long;
  null where nothing is wanted; `error_exact` is null too where π is in it. `is_exact`: it cuts just what is wanted.
* `drivers`, `driven`: tooth counts in mesh order from the spindle side, as they go on where there is a bracket;
  `idlers`: one list a mesh, added where the bracket needs them and none are named.
* `lever`: null without a gearbox. `hand`: "right" or "left". `reverse_over`: that takes the reverse turned over
  (null for a feed drive, of which the lathe file doesn't know which way it turns).
* `good_enough` for what is wanted (null: nothing is), ahead of all else for find and plan, and `shortfall`, why not.
* `fit`: null where it is not checked, else how it stands on the bracket, or comes nearest to going on: `goes_on`,
  `reasons` why not, in words, the gears as arranged (`drivers`, `driven`, `idlers`), `swing_deg`, `axes_mm` from the
  spindle side to the pivot, `planes`, one a mesh, and `clearances_mm`, the tightest first, each `between` two parts.
* `warnings`: what to mind, in words.
* `lathe`, `wanted`: names. find adds `setups`, best first, and `note`, why there are none; cuts adds `passes_for`,
  standard threads each with `thread`, its lead and error; check adds `ok`, `bracket` (what the
  plate says of it, in words) and `plate`, each row with `thread`, `ok`, `problems`, `goes_on` (null: not checked), its
  lead and error (null where they can't be told); lessons gives `folder` and `files`, each with `name`,
  `kept` (yours differs and is kept) and `fresh` (name of the copy written, null when there was none to write).
* chart: `chart`, a row a thread, each a setup with `thread`, `ok` (null: no tolerance known), `moved` and `why` there
  is none (its fields are null then); with --save only `file` and `not_good_enough`, how many rows are not.
* plan adds `setups` in order, each with `moved`, gears to move before it (null when it isn't known what was mounted),
  and `put_reverse`, "over" or "back" where it is to be put so before it (null: it stays); for the whole
  `moved`, `proven` and `why`. add: `gears`, `proven`, `lower_bound`, `meshes` (of trains for which that holds),
  `setups` (null for a thread that can't be cut) and `note`. feeds: `feeds`, each a setup with `feed_mm`, `moved` and
  `why` there is none.
* coverage: `from_mm`, `to_mm`, `meshes`, `leads` (how many there are in that range), `worst_ppm`, `mean_ppm` and
  `gaps`, the leads that are worst off, each with `at_mm`, `at_mm_exact`, its neighbours `below_mm` and `above_mm`, and
  `ppm`.
* bracket: the fields of `fit`, and `file`, the picture (null: none is asked for). lathe new: `file`, and `examples`,
  which of name, leadscrew and gears are still to be put in.
* card adds `cautions`, `needed` (what to lay out), `steps`, each with `step`, `title`, `lines` and `gears`, and
  `settings`; with --save only `file`. faults gives `cautions` and `faults`, a cause each.
* dial: `anywhere`, `keep_closed`, `threads` (of the leadscrew, until a groove returns; null: never), `gear_teeth` of
  the dial (null: none serves), `step` (every step-th line), `lines` and `why`.
* proof: `agrees`, `lead_from_mm`, `lead_to_mm`, `why`, `also_possible` and `slips` (null: no gears are named), each
  with `slip` and the setup that it makes.

Exit codes: 0 done; 1 the answer is no: check found something wrong, find found nothing, proof does not agree, a row of
chart is not good enough, or not all that add and feeds were asked for can be had; 2 what was asked can't be done; 3 the
answer could not be written to where it should go; 4 the program itself failed. With 2 and 3 one line on the error
stream says why, with 4 what to report. Stopped by Ctrl-C: 130; where who reads the answer has had enough: 141.
"""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Sequence
from typing import Any

import gearcalc
from gearcalc.basics.errors import GearcalcError
from gearcalc.commands.console import DONE, NotSaidError, Parser, check_said, complain, forget
from gearcalc.commands.gear_commands import add_gear_commands
from gearcalc.commands.lathe_commands import add_lathe_commands
from gearcalc.commands.options import LATHE_HELP
from gearcalc.commands.shop_commands import add_shop_commands

__all__ = ["main"]

_NOT_POSSIBLE, _NOT_SAID, _INTERRUPTED, _PIPE_CLOSED = 2, 3, 130, 141


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
        return _INTERRUPTED
    except BrokenPipeError:  # whoever read our answer has had enough
        forget(sys.stdout)
        return _PIPE_CLOSED


def _run(arguments: Sequence[str] | None) -> int:
    parser = _parser()
    try:
        options = parser.parse_args(arguments)
    except SystemExit:  # --help and --version have said what they had to say
        return DONE
    if options.run is None:
        parser.print_help()
        return DONE
    try:
        code: int = options.run(options)
    except GearcalcError as problem:
        complain(f"gearcalc: {_in_options(str(problem), options)}")
        return _NOT_POSSIBLE
    return code


def _in_options(said: str, options: argparse.Namespace) -> str:
    """What an error calls by the name of an argument, called by the option of this command that gives it."""
    named = [name if "_" in name else rf"\A{name}(?= must )" for name in vars(options)]
    return re.sub(rf"\b({'|'.join(named)})\b", lambda found: f"--{found[0].replace('_', '-')}", said)


def _parser() -> argparse.ArgumentParser:
    parser = Parser(prog="gearcalc", description="Change gears for small lathes, exactly.")
    parser.add_argument("--version", action="version", version=f"gearcalc {gearcalc.__version__}")
    parser.set_defaults(run=None)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", parser_class=Parser)

    def command(name: str, run: Any, about: str, *, lathe: bool = True) -> argparse.ArgumentParser:
        added = commands.add_parser(name, help=about, description=about)
        if lathe:
            added.add_argument("lathe", metavar="LATHE", help=LATHE_HELP)
        added.add_argument("--json", action="store_true", help="answer in JSON")
        added.set_defaults(run=run)
        return added

    add_lathe_commands(command)
    add_gear_commands(command)
    add_shop_commands(command)
    return parser
