"""All doors there are."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from gearcalc import fault_finder
from tests.fuzzing.commands import commands
from tests.fuzzing.doors import Door
from tests.fuzzing.exercises import exercises
from tests.fuzzing.explorers import explorers
from tests.fuzzing.functions import classes, functions
from tests.fuzzing.readers import files, parsers
from tests.fuzzing.values import KINDS, some

GROUPS = {
    "functions": functions,
    "classes": classes,
    "parsers": parsers,
    "files": files,
    "exercises": exercises,
    "explorers": explorers,
    "commands": commands,
}


@cache
def all_doors() -> dict[str, Door]:
    return {door.name: door for group in GROUPS for door in doors_of(group)}


def doors_of(group: str) -> Iterator[Door]:
    yield from GROUPS[group]()


def warmed() -> None:
    """What is loaded, drawn or looked for once in a process is no input's affair: fonts, examples of the strategies."""
    fault_finder().on_paper().pdf()
    for kind in KINDS:
        some(kind)
