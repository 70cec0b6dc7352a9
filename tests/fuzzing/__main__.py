"""`python -m tests.fuzzing`: many inputs through all doors, or one again; see tests/fuzzing/__init__.py."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Iterator
from importlib import import_module

from tests.fuzzing.doors import Door
from tests.fuzzing.runs import Outcome, again, in_lines, outcomes, outcomes_of_many, table, tasks_of, work


def main() -> int:
    """Ask, and say door by door what it came to; 1 where a fault was found."""
    asked = _options()
    if asked.work is not None:
        told = json.load(sys.stdin)
        doors = import_module(told["doors"]).DOORS if told["doors"] else _all_doors().values()
        with os.fdopen(asked.work, "w", encoding="utf-8") as tell:
            work(told["seed"], doors, map(tuple, told["tasks"]), tell)
        return 0
    doors = [
        door
        for name, door in _all_doors().items()
        if name == asked.only or (asked.number is None and name.startswith(asked.only))
    ]
    if not doors:
        print(f"No door is called {asked.only!r}. There are:", *_all_doors(), sep="\n  ")
        return 2
    if asked.number is not None:
        (found,) = outcomes(asked.seed, [(doors[0].name, asked.number)])
        print(found)
        return int(found.came_to == "fault")
    found_all = list(
        _told_as_they_come(outcomes_of_many(asked.seed, tasks_of(doors, asked.inputs), asked.processes), asked.seed)
    )
    for line in in_lines(table(found_all)):
        print(line)
    return int(any(each.came_to == "fault" for each in found_all))


def _all_doors() -> dict[str, Door]:
    from tests.fuzzing.all_doors import all_doors, warmed  # all the package is behind them; planted faults do without

    warmed()
    return all_doors()


def _told_as_they_come(found: Iterator[Outcome], seed: int) -> Iterator[Outcome]:
    for each in found:
        if each.came_to == "fault":
            print(again(each, seed), flush=True)
        yield each


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzzing", description="Hostile input through every door.")
    parser.add_argument(
        "--inputs", type=int, default=20_000, help="so many, dealt to the doors by their shares (20000)"
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="a door, or how the names of several begin")
    parser.add_argument("--number", type=int, help="one input of that door again")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--work", type=int, help=argparse.SUPPRESS)
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
