"""The plate on the machine, worked out: does each row cut what it says, with gears and levers that are there?

A maker's plate goes on its machine. Where a row does not go on the bracket of the lathe file, the bracket is most
likely measured wrong, and a few mistakes that are easily made are tried, to say which would explain it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from math import inf

from attrs import evolve, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_number
from gearcalc.basics.errors import UnknownNameError, ValueOutOfRangeError
from gearcalc.basics.exact import NumberLike
from gearcalc.basics.listed import OneALine
from gearcalc.finding.setups import Setup, assemble, fit_if_any
from gearcalc.fits import Fit
from gearcalc.lathes import Lathe, PlateRow, as_lathe
from gearcalc.lathes.parts import Bracket, Point, Slot
from gearcalc.lathes.readings import as_pieces, refusals
from gearcalc.threads import Thread
from gearcalc.threads.deviations import GOOD_ENOUGH, limit_ppm


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
    def fit(self) -> Fit | None:
        """Whether the train goes on the bracket; None where that can't be checked, or gears or lever are missing."""
        return None if self.setup is None else self.setup.fit

    @property
    def ok(self) -> bool:
        """Whether gears and lever are there and cut what the row says; whether they go on is in `fit`."""
        return not self.problems

    @property
    def error_ppm(self) -> float | None:
        """(cut − said) / said in ppm; None where what is cut can't be told."""
        return None if self.setup is None else self.setup.error_ppm

    def __str__(self) -> str:
        said = " ".join(self.problems) if self.problems else "cuts what it says."
        if self.fit is not None and not self.fit.goes_on:
            said += f" It does not go on the bracket of the file. {self.fit.reasons[0]}"
        return f"{self.row.thread}: {said}"

    def _repr_html_(self) -> str:
        verdict = "as it says" if self.ok else " ".join(self.problems)
        rows = [("gears", str(self.row.train)), ("verdict", verdict)]
        if self.row.lever is not None:
            rows.insert(1, ("lever", self.row.lever))
        rows.append(("fit", "not checked" if self.fit is None else str(self.fit)))
        return markup.html_table(f"Plate row {self.row.thread}", rows)


def check_plate(lathe: Lathe, within_ppm: NumberLike | None = 0) -> OneALine[PlateCheck]:
    """Check every row of the lathe's plate: work out what its gears cut.

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
    12 tpi: It cuts a lead of 16 tpi (1.5875 mm), −250\u202f000 ppm off.

    `lathe`: a Lathe. `within_ppm`: how far off still counts as what the row says, 0 (exact) or more; 'good enough':
    each thread's own (deviations.py); None: no limit.
    In the order of the file; an empty list where the lathe has no plate.
    Raises ValueOutOfRangeError for a `within_ppm` that is no number or below zero.
    """
    lathe = as_lathe(lathe)
    if within_ppm is not None and not (isinstance(within_ppm, str) and within_ppm == GOOD_ENOUGH):
        within_ppm = as_number(within_ppm, what="within_ppm")  # refused, though the plate may be empty
    return OneALine(_check_row(lathe, row, within_ppm) for row in lathe.plate)


def _check_row(lathe: Lathe, row: PlateRow, within_ppm: NumberLike | None) -> PlateCheck:
    train = row.train
    problems = [_sentence(refusal.problem) for refusal in refusals(lathe.gear_set, train)]
    try:
        lever = lathe.lever(row.lever)
    except UnknownNameError as problem:
        return PlateCheck(row, None, (*problems, f"{_sentence(problem.problem, row.lever)} {problem.remedy}".rstrip()))
    wanted = Thread.parse(row.thread)
    train = train if problems else as_pieces(lathe.gear_set, train)
    on = None if problems else fit_if_any(lathe, train, lever, wanted)
    found = assemble(lathe, train, lever, wanted, on)
    limit = limit_ppm(within_ppm, wanted)
    problems += _misses(found.as_built, inf if limit is None else float(limit))
    return PlateCheck(row, found, tuple(problems))


def _misses(found: Setup, allowed_ppm: float) -> Iterator[str]:
    if found.error is not None and not found.is_exact and not abs(found.error.ppm) <= allowed_ppm:
        yield f"It cuts a lead of {found.written_lead}, {writing.error(found.error)} off."
    if isinstance(found.wanted, Thread) and found.hand != found.wanted.hand:
        yield f"It cuts a {found.hand}-hand thread, and the lathe has no reverse."


def _sentence(problem: str, given: object = "") -> str:
    words = markup.sentence(problem)
    if given == "":
        return f"{words}."
    return f"{words}; the row says {given!r}." if given is not None else f"{words}; the row names none."


# What the fit of the plate says of the bracket.


def fit_of_plate(lathe: Lathe, rows: Sequence[PlateCheck]) -> tuple[str, ...]:
    """Say whether the fit of the plate was checked, how many rows do not go on, and what that suggests.

    >>> from gearcalc.lathes import demo_lathe
    >>> lathe = demo_lathe("inch")
    >>> fit_of_plate(lathe, check_plate(lathe))
    ('All 17 rows of the plate go on the bracket of the file.',)
    >>> x, y = lathe.bracket.spindle_side_at_mm
    >>> mirrored = evolve(lathe, bracket=evolve(lathe.bracket, spindle_side_at_mm=(-x, y)))
    >>> print(fit_of_plate(mirrored, check_plate(mirrored))[0])
    5 of the 17 rows of the plate do not go on the bracket of the file. The maker's own trains go on, so the bracket \
is likely measured wrong.
    """
    if lathe.bracket is None:
        return ("The fit is not checked: the file describes no [bracket].",)
    if lathe.module_mm is None:
        return ("The fit is not checked: the file gives no size of tooth ([gears] module_mm or diametral_pitch).",)
    asked = [row for row in rows if row.fit is not None]
    if not asked:
        no_row = "no row of its plate" if lathe.plate else "has no plate whose rows"
        return (f"The file describes a bracket, but {no_row} could be tried on it.",)
    off = [row for row in asked if row.fit is not None and not row.fit.goes_on]
    if not off:
        said = "The one row of the plate goes" if len(asked) == 1 else f"All {len(asked)} rows of the plate go"
        return (f"{said} on the bracket of the file.",)
    some = "The one row" if len(asked) == 1 else f"{len(off)} of the {len(asked)} rows"
    rows_ = f"{some} of the plate {'does' if len(off) == 1 else 'do'} not go on"
    return (
        f"{rows_} the bracket of the file. The maker's own trains go on, so the bracket is likely measured wrong.",
        _what_would_explain(lathe, asked, len(asked) - len(off)),
    )


def _spindle_moved(bracket: Bracket, point: Callable[[Point], Point]) -> Bracket:
    return evolve(bracket, spindle_side_at_mm=point(bracket.spindle_side_at_mm))


def _slots_moved(bracket: Bracket, point: Callable[[Point], Point]) -> Bracket:
    return evolve(bracket, slots=[Slot(point(slot.from_mm), point(slot.to_mm)) for slot in bracket.slots])


def _moved(bracket: Bracket, point: Callable[[Point], Point]) -> Bracket:
    """The bracket with the points of the file somewhere else."""
    return _slots_moved(_spindle_moved(bracket, point), point)


def _across_negated(at: Point) -> Point:
    return -at[0], at[1]


def _half_a_turn_on(bracket: Bracket) -> Bracket:
    """The same angles whichever way round; that which the file takes, up to 360 either way."""
    low, high = bracket.swing_deg
    on = 180 if high <= 180 else -180
    return evolve(bracket, swing_deg=(low + on, high + on))


_EASILY_WRONG: Mapping[str, Callable[[Bracket], Bracket]] = {
    "with the spindle side on the other side of the pivot (the first number of spindle_side_at_mm negated): it is seen "
    "from the gear side": lambda bracket: _spindle_moved(bracket, _across_negated),
    "with the slots on the other side of the pivot (the first numbers of from_mm and to_mm negated): they are seen "
    "from the gear side": lambda bracket: _slots_moved(bracket, _across_negated),
    "with the two numbers of spindle_side_at_mm changed round: across comes first, then up": lambda bracket: (
        _spindle_moved(bracket, lambda at: (at[1], at[0]))
    ),
    "with spindle_side_at_mm and slots ten times as large: they are in mm, not in cm": lambda bracket: _moved(
        bracket, lambda at: (at[0] * 10, at[1] * 10)
    ),
    "with spindle_side_at_mm and slots 25.4 times as large: they are in mm, not in inches": lambda bracket: _moved(
        bracket, lambda at: (at[0] * 25.4, at[1] * 25.4)
    ),
    "with swing_deg turned round (both signs, and their order): it counts anticlockwise, seen from the gear "
    "side": lambda bracket: evolve(bracket, swing_deg=(-bracket.swing_deg[1], -bracket.swing_deg[0])),
    "with swing_deg half a turn on (180 added to both, or taken away): swing 0 is how the bracket stood when the slots "
    "were measured": _half_a_turn_on,
}
"""Mistakes that are easily made in measuring a bracket, in words that say how it would be right, and their mending."""


def _what_would_explain(lathe: Lathe, rows: Sequence[PlateCheck], go_on: int) -> str:
    """Which easily made mistake in measuring the bracket would explain most of the rows that do not go on."""
    serve = {words: _rows_that_go_on(lathe, mended, rows) for words, mended in _EASILY_WRONG.items()}
    most = max(serve.values())
    if most <= go_on:
        return "Measure again: spindle_side_at_mm, swing_deg, both ends of each slot, the radii, and the size of tooth."
    best = "; or ".join(words for words, count in serve.items() if count == most)
    would = "It" if len(rows) == 1 else f"{most} of the {len(rows)}"
    return f"{would} would go on {best}. Measure again before you change the file."


def _rows_that_go_on(lathe: Lathe, mended: Callable[[Bracket], Bracket], rows: Sequence[PlateCheck]) -> int:
    assert lathe.bracket is not None
    try:
        tried = evolve(lathe, bracket=mended(lathe.bracket))
    except ValueOutOfRangeError:  # larger than any bracket
        return 0
    fits = [fit_if_any(tried, row.row.train, tried.lever(row.row.lever), Thread.parse(row.row.thread)) for row in rows]
    return sum(fit is not None and fit.goes_on for fit in fits)
