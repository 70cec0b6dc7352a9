"""The plate on the machine, worked out: does each row cut what it says, with gears and levers that are there?"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from gearcalc import writing
from gearcalc.errors import GearNotOwnedError, UnknownNameError, ValueOutOfRangeError
from gearcalc.exact import as_fraction
from gearcalc.lathes import Lathe, PlateRow, as_lathe
from gearcalc.setups import Setup, assemble
from gearcalc.threads import Thread
from gearcalc.trains import Train

__all__ = ["PlateCheck", "check_plate"]


@frozen
class PlateCheck:
    """One row of the plate and what came of working it out.

    `row`: the row as the file gives it; `setup`: what its gears cut, None where the lever does not exist;
    `problems`: what is wrong with the row, in words, each a sentence; empty when nothing is.
    """

    row: PlateRow
    setup: Setup | None
    problems: tuple[str, ...]

    @property
    def ok(self) -> bool:
        """Whether the row can be set up as it stands and cuts what it says."""
        return not self.problems

    @property
    def error_ppm(self) -> float | None:
        """(cut − said) / said in ppm; None where what is cut can't be told."""
        return None if self.setup is None else self.setup.error_ppm

    def __str__(self) -> str:
        said = " ".join(self.problems) if self.problems else "cuts what it says."
        return f"{self.row.thread}: {said}"

    def _repr_html_(self) -> str:
        verdict = "as it says" if self.ok else " ".join(self.problems)
        rows = [("gears", str(Train(self.row.drivers, self.row.driven, self.row.idlers))), ("verdict", verdict)]
        if self.row.lever is not None:
            rows.insert(1, ("lever", self.row.lever))
        return writing.html_table(f"Plate row {self.row.thread}", rows)


def check_plate(lathe: Lathe, within_ppm: float = 0) -> list[PlateCheck]:
    """Work out every row of the lathe's plate.

    >>> from gearcalc.lathes import demo_lathe
    >>> all(row.ok for row in check_plate(demo_lathe("inch")))
    True
    >>> lathe = Lathe.from_toml('''
    ... name = "A misprinted plate"
    ... leadscrew.lead = "8 tpi"
    ... gears.teeth = [40, 60, 80]
    ... [plate]
    ... "12 tpi" = { drivers = [40], driven = [80], idlers = [[60]] }
    ... ''')
    >>> print(check_plate(lathe)[0])
    12 tpi: It cuts a lead of 1.5875 mm (16 tpi), −250000 ppm off.

    `within_ppm`: how far off still counts as what the row says, 0 or more; 0 means exactly.
    In the order of the file; an empty list where the lathe has no plate.
    Raises ValueOutOfRangeError for a `within_ppm` that is no number or below zero.
    """
    lathe, allowed = as_lathe(lathe), as_fraction(within_ppm, what="within_ppm")
    if allowed < 0:
        raise ValueOutOfRangeError("within_ppm must be 0 or more", value=within_ppm)
    return [_check_row(lathe, row, float(allowed)) for row in lathe.plate]


def _check_row(lathe: Lathe, row: PlateRow, allowed_ppm: float) -> PlateCheck:
    train = Train(row.drivers, row.driven, row.idlers)
    problems = list(_missing_gears(lathe, train))
    try:
        lever = lathe.lever(row.lever)
    except UnknownNameError as problem:
        return PlateCheck(row, None, (*problems, _sentence(problem.problem, row.lever)))
    found = assemble(lathe, train, lever, Thread.parse(row.thread))
    problems += _misses(found, allowed_ppm)
    return PlateCheck(row, found, tuple(problems))


def _missing_gears(lathe: Lathe, train: Train) -> Iterator[str]:
    for teeth in dict.fromkeys(train.gears):
        try:
            lathe.check_owned([teeth] * train.gears.count(teeth))
        except GearNotOwnedError as problem:
            yield _sentence(problem.problem)


def _misses(found: Setup, allowed_ppm: float) -> Iterator[str]:
    if found.error is not None and not found.is_exact and not abs(found.error.ppm) <= allowed_ppm:
        yield f"It cuts a lead of {found.written_lead}, {writing.error(found.error)} off."
    if isinstance(found.wanted, Thread) and found.hand != found.wanted.hand:
        yield f"It cuts a {found.hand}-hand thread, and the lathe has no reverse."


def _sentence(problem: str, given: object = "") -> str:
    words = problem[:1].upper() + problem[1:]
    if given == "":
        return f"{words}."
    return f"{words}; the row says {given!r}." if given is not None else f"{words}; the row names none."
