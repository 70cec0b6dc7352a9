"""What is typed at the command line, read."""

from __future__ import annotations

import argparse
import os
from collections.abc import Sequence
from typing import Any, NoReturn, Protocol

from gearcalc.basics.errors import GearcalcError, UnknownNameError, ValueOutOfRangeError
from gearcalc.commands.saying import say
from gearcalc.finding.setups import Setup, Wanted, setup
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.lathes.trains import Train

LATHE_HELP = "a lathe file, or a demo lathe: inch or metric"


class AddCommand(Protocol):
    """Adds a command of that name, which `run` carries out, and gives its parser."""

    def __call__(self, name: str, run: Any, about: str) -> argparse.ArgumentParser: ...


class Parser(argparse.ArgumentParser):
    """A parser whose complaints are errors of ours, and whose help is said as any answer is."""

    def error(self, message: str) -> NoReturn:
        raise GearcalcError(message.rstrip("."), remedy=f"'{self.prog} --help' shows how to ask.")

    def _print_message(self, message: str, file: Any = None) -> None:
        say(message.rstrip("\n"))


def counts(text: str) -> tuple[int, ...]:
    """Whole numbers with commas between them.

    >>> counts("20,40")
    (20, 40)
    """
    try:
        return tuple(int(part) for part in text.split(",") if part.strip())
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r:.60} is no list of whole numbers like 20,40") from None


def read_lathe(name: str) -> Lathe:
    """A demo lathe by its name, else the lathe file of that name. Raises UnknownNameError, LatheFileError."""
    try:
        return demo_lathe(name)
    except UnknownNameError as unknown:
        if os.path.lexists(name):
            return Lathe.load(name)
        raise UnknownNameError(f"there is no such file, and {unknown.problem}", value=name) from None


def idlers_by_mesh(given: Sequence[str], meshes: int) -> list[tuple[int, ...]]:
    """Idlers as typed, a tuple a mesh; without the number of a mesh they stand in the first.

    >>> idlers_by_mesh(["50", "2:60,65"], meshes=2)
    [(50,), (60, 65)]

    Raises ValueOutOfRangeError for anything else, or a mesh that isn't there.
    """
    idlers: list[tuple[int, ...]] = [()] * meshes
    for text in given:
        mesh, _, listed = text.rpartition(":")
        try:
            place = int(mesh or 1) - 1
            teeth = counts(listed)
        except (ValueError, argparse.ArgumentTypeError):
            raise ValueOutOfRangeError("idlers are written like 50, 50,60 or 2:50", value=text) from None
        if not 0 <= place < meshes:
            raise ValueOutOfRangeError(f"the mesh of an idler is 1 to {meshes} here", value=text)
        idlers[place] += teeth
    return idlers


def add_setup_options(parser: argparse.ArgumentParser) -> None:
    """Options that name gears chosen by hand, for chosen_setup()."""
    parser.add_argument("--train", metavar="TRAIN", help="gears chosen by hand: 40/80, or '(40 30)/(80 60)'")
    parser.add_argument("--lever", metavar="NAME", help="position of the gearbox lever, with --train")
    parser.add_argument(
        "--idlers",
        action="append",
        default=[],
        metavar="[MESH:]TEETH,TEETH",
        help="idlers in the first mesh, or in another: 2:50; with --train",
    )


def chosen_setup(options: argparse.Namespace, lathe: Lathe, wanted: Wanted) -> Setup:
    """The setup of --train, --lever and --idlers. Raises as setup() does."""
    train = Train.parse(options.train)
    idlers = idlers_by_mesh(options.idlers, train.meshes) if options.idlers else train.idlers
    return setup(lathe, train.drivers, train.driven, options.lever, idlers, wanted)
