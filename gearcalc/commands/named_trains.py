"""A train that is named at the command line: its gears, its lever, and the setup that they make."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Sequence

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.commands.options import counts, without_avoided
from gearcalc.finding.mounted import setup_that_turned, with_the_damaged
from gearcalc.finding.setups import Setup, setup
from gearcalc.lathes import Lathe
from gearcalc.lathes.pieces import plain
from gearcalc.lathes.train_lines import train_and_lever
from gearcalc.lathes.trains import Train
from gearcalc.threads.wanted import Wanted


def named_train(options: argparse.Namespace, lathe: Lathe, text: str) -> tuple[Train, str | None]:
    """A train that is named, with --idlers, and its lever: that of --lever, else what the text goes on with.

    `lathe`: without the gears that are to be avoided.

    Raises ValueOutOfRangeError where both name idlers, or a lever, and where a gear of it is to be avoided.
    """
    train, lever = train_and_lever(text)
    if options.lever is not None and lever is not None:
        raise ValueOutOfRangeError("the train names its lever already", value=text, remedy="Leave out --lever.")
    if options.idlers and train.idler_count:
        raise ValueOutOfRangeError("the train names its idlers already", value=text, remedy="Leave out --idlers.")
    if options.idlers:
        train = evolve(train, idlers=idlers_by_mesh(options.idlers, train.meshes))
    _refuse_avoided(options, lathe, train)
    return train, lever or options.lever


def _refuse_avoided(options: argparse.Namespace, lathe: Lathe, train: Train) -> None:
    """A count that is to be avoided may still be there, in a cluster or of another size."""
    short = Counter(map(plain, train.gears)) - Counter(map(plain, lathe.gear_set.pieces))
    gone = {*short} & {*getattr(options, "avoid", ())}
    if gone:
        them, are = ("it", "is") if len(gone) == 1 else ("them", "are")
        raise ValueOutOfRangeError(
            f"{writing.listed(map(str, sorted(gone)))} {are} to be avoided, and the train that is named has {them}",
            remedy=f"Leave {them} out of --avoid, or name another train.",
        )


def chosen_setup(options: argparse.Namespace, lathe: Lathe, wanted: Wanted | None, text: str | None = None) -> Setup:
    """The setup of a train that is named (`text`, else --train), with --lever and --idlers. Raises as setup() does."""
    train, lever = named_train(options, lathe, options.train if text is None else text)
    return setup(lathe, train.drivers, train.driven, lever, train.idlers, wanted)


def named_that_turned(
    options: argparse.Namespace, lathe: Lathe, wanted: Wanted | None, text: str | None = None
) -> Setup:
    """The same of gears that turned already, damaged ones among them. Raises as setup_that_turned() does.

    `lathe`: whole, with the gears that are to be avoided.
    """
    there = without_avoided(options, with_the_damaged(lathe))
    train, lever = named_train(options, there, options.train if text is None else text)
    return setup_that_turned(without_avoided(options, lathe), train, lever, wanted)


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
