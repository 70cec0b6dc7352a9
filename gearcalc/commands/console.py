"""What is answered at the command line, said in lines that any console can carry, or as JSON."""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from fractions import Fraction
from typing import Any, NoReturn, Protocol

from gearcalc.basics.errors import GearcalcError, without_controls
from gearcalc.basics.exact import Exact, PiMultiple, RelativeError, coefficient
from gearcalc.basics.files import in_its_words
from gearcalc.commands.json_keys import SETUP, in_words
from gearcalc.commands.patience import Patience
from gearcalc.finding.setups import Setup
from gearcalc.fits.fitting import Fit

DONE, SOMETHING_WRONG, INTERRUPTED = 0, 1, 130
_ASCII_SIGNS = str.maketrans(
    {"−": "-", "·": "*", "×": "x", "≈": "~", "π": "pi", "…": "...", "°": " deg", "\u202f": " "}
)
_LONGEST_COMPLAINT = 600
_LEAD_KEYS = ("lead_mm", "lead_mm_exact", "error_ppm", "error_exact")
_SETUP_KEYS = [key for key in SETUP if "." not in key]


class AddCommand(Protocol):
    """Adds a command of that name, which `run` carries out, and gives its parser.

    `example`: what could be typed after the program's name, for its help; on any system, so in double quotes.
    `lathe`: it is told one first. `sooner`: how its answer can be had sooner, where it takes long.
    """

    def __call__(
        self, name: str, run: Any, about: str, *, example: str, lathe: bool = True, sooner: str = ""
    ) -> argparse.ArgumentParser: ...


_EXAMPLE = "For example: python -m gearcalc "


class _Help(argparse.HelpFormatter):
    """Shows what is one thing in several words, as add_in_words() enters it, as one thing; an example as typed."""

    def _fill_text(self, text: str, width: int, indent: str) -> str:
        return text if text.startswith(_EXAMPLE) else super()._fill_text(text, width, indent)

    def _format_args(self, action: argparse.Action, default_metavar: str) -> str:
        if not getattr(action, "in_words", False):
            return super()._format_args(action, default_metavar)
        return f"[{action.metavar}]" if action.nargs == "*" else str(action.metavar)


class Parser(argparse.ArgumentParser):
    """A parser whose complaints are errors of ours, and whose help is said as any answer is.

    What begins with a minus and a figure is a value, never the name of an option: -5/8, as well as the -5 that
    argparse knows.
    """

    def __init__(self, **settings: Any) -> None:
        super().__init__(allow_abbrev=False, formatter_class=_Help, **settings)
        self._negative_number_matcher = re.compile(r"-[.,]?\d")

    def for_example(self, typed: str) -> None:
        """Let a command's help end with an example of it."""
        self.epilog = f"{_EXAMPLE}{typed}"

    def for_json(self, command: str) -> None:
        """Let a command answer in JSON, and tell its keys."""
        self.add_argument("--json", action="store_true", help="answer in JSON")
        self.add_argument(
            "--help-json", action=_KeysInJson, nargs=0, const=command, help="say what each key there means"
        )

    def error(self, message: str) -> NoReturn:
        if len(message) > _LONGEST_COMPLAINT:  # argparse says a value whole
            message = f"{message[:_LONGEST_COMPLAINT]}…"
        raise GearcalcError(message.rstrip("."), remedy=f"'{self.prog} --help' shows how to ask.")

    def _print_message(self, message: str, file: Any = None) -> None:
        say(message.rstrip("\n"))


def shown(steps: Iterable[Any], doing: str) -> Iterator[Any]:
    """How far a long search has got, as the command says it."""
    return _patience[0].shown(steps, doing)


def setup_fields(found: Setup | None) -> dict[str, Any]:
    """A setup's fields; the same ones, each null, where there is none."""
    if found is None:
        return dict.fromkeys(_SETUP_KEYS)
    return {
        "good_enough": found.good_enough,
        "shortfall": found.shortfall,
        "train": str(found.train),
        "drivers": found.train.drivers,
        "driven": found.train.driven,
        "idlers": found.train.idlers,
        "lever": found.lever,
        "wanted": None if found.wanted is None else str(found.wanted),
        **measure(found.lead_mm, found.error),
        "feed_mm": None if found.feed_mm is None else float(found.feed_mm),
        "is_exact": None if found.wanted is None else found.is_exact,
        "hand": found.hand,
        "reverse_over": found.reverse_over if found.way_known else None,
        "fit": None if found.fit is None else fit_fields(found.fit),
        "warnings": found.warnings,
    }


class _KeysInJson(argparse.Action):
    """Says the keys of a command's answer, as --help says its options."""

    def __call__(self, parser: argparse.ArgumentParser, *_: Any) -> NoReturn:
        for line in in_words(str(self.const)):
            say(line)
        parser.exit()


def fit_fields(fit: Fit) -> dict[str, Any]:
    """How a train stands on the bracket, or comes nearest to going on; lengths in mm, angles in degrees, floats."""
    train = fit.train
    return {
        "goes_on": fit.goes_on,
        "reasons": fit.reasons,
        "not_owned": list(fit.not_owned),
        "drivers": train.drivers,
        "driven": train.driven,
        "idlers": train.idlers,
        "swing_deg": fit.swing_deg,
        "axes_mm": fit.axes_mm,
        "planes": fit.planes,
        "idle_gears": [{"teeth": int(gear), "axis": axis, "plane": plane} for gear, axis, plane in fit.idle_gears],
        "clearances_mm": [{"between": (one, other), "mm": mm} for one, other, mm in fit.clearances_mm],
    }


def measure(lead: Exact | None, error: RelativeError | None) -> dict[str, Any]:
    if lead is None:
        return dict.fromkeys(_LEAD_KEYS)
    return {
        "lead_mm": float(lead),
        "lead_mm_exact": f"{coefficient(lead)} π" if isinstance(lead, PiMultiple) else str(lead),
        "error_ppm": None if error is None else error.ppm,
        "error_exact": _fraction_text(None if error is None else error.exact),
    }


def _fraction_text(fraction: Fraction | None) -> str | None:
    return None if fraction is None else str(fraction)


_patience = [Patience(None)]


def begin(sooner: str) -> Patience:
    """Say from now on that the command is at work, where somebody looks on, until something is said."""
    _patience[0] = Patience(sys.stderr, sooner)
    return _patience[0]


def say(line: str) -> None:
    _write(printable(line, sys.stdout))


def can_draw() -> bool:
    """Whether what is said goes to a terminal that shows colours and every sign."""
    stream = sys.stdout
    if stream is None or not stream.isatty() or os.environ.get("TERM") == "dumb":
        return False
    return (stream.encoding or "").lower().replace("-", "") == "utf8" and (
        os.name != "nt" or "WT_SESSION" in os.environ
    )


def draw(lines: Sequence[str]) -> None:
    """A drawing of ours in lines of one width, colours and all, where it is no wider than the terminal."""
    if shown_width(lines[0]) < shutil.get_terminal_size().columns:
        for line in lines:
            _write(line)


def shown_width(line: str) -> int:
    """How many columns a line takes, without what sets its colours.

    >>> shown_width("\\x1b[30;107m▀▄\\x1b[0m")
    2
    """
    return len(re.sub(r"\x1b\[[\d;]*m", "", line))


def answer(options: argparse.Namespace, fields: Mapping[str, Any], *lines: str) -> None:
    """The answer as one JSON object where that is asked for, else in lines."""
    if options.json:
        _write(json.dumps(fields, indent=2).replace("\x7f", "\\u007f"))  # which JSON lets stand, and a terminal obeys
    else:
        for line in lines:
            say(line)


def complain(line: str) -> None:
    """One line on the error stream; where that is closed there is nobody to tell."""
    if sys.stderr is None:
        return
    _patience[0].end()
    try:
        print(printable(" ".join(line.split()), sys.stderr), file=sys.stderr, flush=True)
    except OSError:
        forget(sys.stderr)


def forget(stream: Any) -> None:
    """Let a stream that can't be written to lead nowhere: Python would complain once more when it closes it, and end
    with a code of its own."""
    with suppress(AttributeError, OSError):  # closed from the start, or no file
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def check_said() -> None:
    """See that all that was said went out, not only into a buffer. Raises NotSaidError, BrokenPipeError."""
    _write(None)


class NotSaidError(Exception):
    """The answer is known, and can't be written to where it should go."""


def _write(line: str | None) -> None:
    _patience[0].end()
    if sys.stdout is None:  # closed from the start
        raise NotSaidError("the standard output is closed")
    try:
        if line is not None:
            print(line)
        else:
            sys.stdout.flush()
    except BrokenPipeError:
        raise
    except OSError as problem:
        raise NotSaidError(in_its_words(problem)) from None


def printable(line: str, stream: Any) -> str:
    """The line in signs that the stream can carry, and none that a terminal would obey rather than show."""
    line = without_controls(line)
    encoding = getattr(stream, "encoding", None) or "utf-8"
    try:
        line.encode(encoding)
        return line
    except UnicodeEncodeError:  # a console of another encoding is no reason to fail
        return line.translate(_ASCII_SIGNS).encode(encoding, "replace").decode(encoding)
