"""A plate for the wall: every thread on this lathe on one page, to be read at arm's length, in black and white."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import cached_property
from itertools import count, groupby, product
from pathlib import Path
from string import ascii_lowercase
from typing import NamedTuple

from attrs import field, frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_words
from gearcalc.basics.cautions import CAUTIONS, DRIVE_FREE
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import NumberLike
from gearcalc.finding.setups import Setup
from gearcalc.finding.straight_across import fit_not_checked
from gearcalc.finding.strain import FASTEST_LEADSCREW, PULLED_BY_HAND
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.directions import reverse_over_means
from gearcalc.lathes.gear_words import what_to_mind
from gearcalc.lathes.levers import moved_levers
from gearcalc.lathes.orders import gears_that_stay
from gearcalc.lathes.trains import STEEPEST_MESH, Train, gears_of
from gearcalc.papers.marks import MM_PER_PT, Mark, Shape, Words, box, width_of_words_mm
from gearcalc.papers.paper import Paper
from gearcalc.pictures import style
from gearcalc.pictures.picture import Picture, Row
from gearcalc.planning.charts import ChartRow, chart_rows
from gearcalc.planning.plans import PLANNED_MESHES
from gearcalc.threads import ThreadLike
from gearcalc.threads.deviations import GOOD_ENOUGH, SHORT_MM, deviation_um

SMALLEST_PT = 7.0
"""No plate is set in smaller type than this; it takes fewer threads then."""

_LARGEST_PT = 18.0
_MARGIN_MM = 10.0
_CAUTIONS_PT = (12.0, *(7.5 + 0.5 * step for step in range(9)))  # large where the rows are, else as large as they
_ARM_PT = 11.0  # what is set smaller is read at arm's length, and no further
_LINE, _WIDEST_LINE = 1.3, 1.8  # from row to row, in sizes of the type: at least, and where there is room
_HEAD = 0.85  # the heads, in sizes of the type
_GAP = 1.1  # between the columns of a block, in sizes of the type
_BETWEEN_BLOCKS_MM = 6.0
_KEY = (
    "Gears in the order of the train, from the spindle side to the {last}: → meshes with, + on one stud, "
    "(in brackets) idler. Bold: not as in the row above; a gear: not on that shaft."
)
_NOT_JUDGED = "? no tolerance is known here for this thread: see whether the error matters to it."
_STRAINED = (
    f"! hard on the teeth (one mesh of more than {STEEPEST_MESH}:1, or the leadscrew turns more than "
    f"{FASTEST_LEADSCREW} times to one of the spindle): lowest speed, light cuts; first isolate, {DRIVE_FREE}, and "
    "turn it by hand."
)
_BY_HAND = (
    f"!! leadscrew turns more than {PULLED_BY_HAND} times to one of the spindle: never under power; isolated, "
    f"{DRIVE_FREE}, the chuck is pulled round by hand."
)
_TAPER = "NPT, R and Rc: the pitch along the axis; the taper is a set-up of its own."


class _Piece(NamedTuple):
    """Words in one row, bold or not."""

    words: str
    bold: bool = False


class _Line(NamedTuple):
    """A row of the plate: thread, lever, reverse, gears, error; `cut` is whether it can be cut; `moved`: gears from the
    last row above that can; `apart`: what the tooth counts don't tell."""

    thread: str
    levers: tuple[_Piece, ...]
    reverse: _Piece
    gears: tuple[_Piece, ...]
    error: str
    cut: bool
    moved: int | None = None
    apart: str = ""

    @property
    def lever(self) -> str:
        """Where each lever stands, in words."""
        return _words(self.levers)


class _Layout(NamedTuple):
    """How the rows go on a page: type, mm from row to row, blocks side by side, rows in each, widths in mm."""

    paper: Paper
    size_pt: float
    step_mm: float
    blocks: int
    rows: int
    widths: tuple[float, ...]


@frozen(slots=False)
class WallPlate:
    """A plate for the wall. Made by wall_plate(); `save` it as PDF or SVG, or show it in a notebook.

    `rows`: see charts.ChartRow. `on`: the date on it. `size`: 'A4', 'A3' or 'Letter'.
    """

    lathe: Lathe = field(repr=False)
    rows: tuple[ChartRow, ...] = field(repr=False)
    on: str
    size: str = "A4"

    @property
    def not_cut(self) -> tuple[ChartRow, ...]:
        """The rows of threads that can't be cut, or not near enough."""
        return tuple(row for row in self.rows if row.ok is False)

    @cached_property
    def _laid_out(self) -> tuple[Paper, float]:
        return _page(self)

    @property
    def paper(self) -> Paper:
        """The page itself. Raises ValueOutOfRangeError where the threads are too many to be read."""
        return self._laid_out[0]

    @property
    def type_in_words(self) -> str:
        """How large the type of the rows is, and how to have it larger. Raises as `paper` does."""
        size = self._laid_out[1]
        larger = " for arm's length; larger on A3" if size < _ARM_PT and self.size != "A3" else ""
        return f"type of {writing.decimal(size, 1)} pt{larger}"

    def save(self, path: str | os.PathLike[str]) -> Path:
        """Write it as a file ending .pdf, .html or .svg; never half a file."""
        return self.paper.save(path)[0]

    @property
    def description(self) -> str:
        """What the plate says, in words."""
        threads = writing.counted(len(self.rows), "thread")
        said = [f"{self.lathe.name}, {self.on}: {threads}, each with lever, gears and error."]
        exact = sum(row.setup is not None and row.setup.is_exact and row.ok is True for row in self.rows)
        said.append(f"{exact} of them exact.")
        over = sum(row.setup is not None and row.setup.reverse_over and row.ok is not False for row in self.rows)
        said += [f"The reverse is over for {over} of them."] if over else []
        if self.not_cut:
            said.append(f"Can't be cut near enough: {', '.join(str(row.thread) for row in self.not_cut)}.")
        unknown = sum(row.ok is None for row in self.rows)
        if unknown:
            said.append(f"Not judged, since no tolerance is known: {unknown}.")
        return " ".join(said)

    def table(self) -> list[Row]:
        """List the same as rows for a table."""
        return [
            {
                "thread": line.thread,
                "lever": row.setup.lever if line.cut and row.setup is not None else None,
                "reverse": line.reverse.words or None,
                "gears in order": ", ".join(filter(None, (_words(line.gears), line.apart))) if line.cut else None,
                f"over {_length_in_words(self.lathe)}": line.error,
                "gears to move, by place in the train": line.moved,
                "remark": row.in_words,
            }
            for row, line in zip(self.rows, _lines(self.rows), strict=True)
        ]

    @property
    def picture(self) -> Picture:
        """The page as a picture for a notebook, with its description and table."""
        caption = f"Plate for the wall: {self.lathe.name}, {self.size}, {self.type_in_words}"
        return Picture(self.paper.svg(), self.description, self.table(), caption)

    def __str__(self) -> str:
        return self.description

    def _repr_html_(self) -> str:
        return self.picture._repr_html_()


def wall_plate(
    lathe: Lathe,
    threads: ThreadLike | Iterable[ThreadLike],
    *,
    on: date | str | None = None,
    within_ppm: NumberLike | None = GOOD_ENOUGH,
    size: str | None = None,
    meshes: int | Iterable[int] = PLANNED_MESHES,
) -> WallPlate:
    """Make a plate for the wall: every thread on this lathe, on one page to print.

    >>> from gearcalc.lathes import demo_lathe
    >>> plate = wall_plate(demo_lathe("inch"), ["UNC", "M6", "lead 15 in"], on="2026-11-25")
    >>> print(plate)
    Bench lathe with an inch leadscrew, 2026-11-25: 35 threads, each with lever, gears and error. 33 of them exact. \
Can't be cut near enough: lead 15 in.
    >>> plate.table()[9]["gears in order"], plate.table()[-1]["remark"]
    ('20→(63)→25', 'not good enough')

    `lathe`, `threads`, `within_ppm`, `meshes`: as for chart(). `on`: the date on it, a date or text; None: today.
    `size`: 'A4', 'A3' or 'Letter', None for the lathe's own paper. The type is as large as the page allows, up to
    18 pt; saving it says so when that would be less than 7 pt.
    Raises what chart_rows() raises, and ValueOutOfRangeError for another size of paper.
    """
    named = as_lathe(lathe).with_show(paper=size).paper
    day = date.today() if on is None else on
    said = day.isoformat() if isinstance(day, date) else markup.one_line(as_words(day, what="on"))
    rows = tuple(chart_rows(lathe, threads, within_ppm, meshes))
    return WallPlate(lathe, rows, said, named)


def _words(pieces: Iterable[_Piece]) -> str:
    return "".join(piece.words for piece in pieces)


def _chain(train: Train, above: Train | None) -> tuple[_Piece, ...]:
    """A train along the chain, in pieces, bold where a gear was not on that shaft in the row above.

    → meshes with, + on one stud, an idler in brackets.
    """
    stay = [list(gears) for gears in gears_that_stay(train if above is None else above, train)]
    pieces: list[_Piece] = []
    for gear in gears_of(train.chain()):
        stays = gear.teeth in stay[gear.axis]
        if stays:
            stay[gear.axis].remove(gear.teeth)
        pieces.append(_Piece("+" if gear.role == "driver" else "→") if pieces else _Piece(""))
        pieces.append(_Piece(f"({gear.teeth})" if gear.idler else str(gear.teeth), not stays))
    runs = groupby(pieces, key=lambda piece: piece.bold)
    return tuple(_Piece("".join(piece.words for piece in run), bold) for bold, run in runs)


def _lines(rows: Sequence[ChartRow]) -> list[_Line]:
    lines: list[_Line] = []
    above: Setup | None = None
    turned = any(row.ok is not False and row.setup is not None and row.setup.reverse_over for row in rows)
    for row in rows:
        name = str(row.thread)
        if row.ok is False or row.setup is None:
            lines.append(_Line(name, (), _Piece(""), (_Piece(row.in_words.upper()),), _off(row), False))
            continue
        error = _off(row) + (" ?" if row.ok is None else "") + _sign(row.setup)
        chain = _chain(row.setup.train, above.train if above else None)
        reverse = _reverse(row.setup, above) if turned else _Piece("")
        moved, apart = row.setup.cost(above) if above else None, ", ".join(row.setup.train.apart)
        lines.append(_Line(name, _levers(row.setup, above), reverse, chain, error, True, moved, apart))
        above = row.setup
    return lines


def _marks(lines: Iterable[_Line]) -> dict[str, str]:
    """A short mark for each set of words that the tooth counts don't tell: a row has no room for them."""
    return {
        words: f"{letter})"
        for words, letter in zip(dict.fromkeys(filter(None, (line.apart for line in lines))), _letters(), strict=False)
    }


def _letters() -> Iterator[str]:
    """a, b ... z, aa, ab ..."""
    for length in count(1):
        yield from map("".join, product(ascii_lowercase, repeat=length))


def _levers(setup: Setup, above: Setup | None) -> tuple[_Piece, ...]:
    """Where each lever stands, those that have moved bold; which is which the head says."""
    moved = () if above is None else moved_levers(above.position, setup.position)
    pieces: list[_Piece] = []
    for stand in setup.position.stands if setup.position else ():
        pieces += [_Piece(", ")] if pieces else []
        pieces.append(_Piece(stand.at, stand in moved))
    return tuple(pieces)


def _reverse(setup: Setup, above: Setup | None) -> _Piece:
    """Where the reverse stands."""
    changed = above is not None and above.reverse_over != setup.reverse_over
    return _Piece("over" if setup.reverse_over else "–", changed)


def _sign(setup: Setup) -> str:
    return " !!" if setup.pulled_by_hand else " !" if setup.strained else ""


def _length_in_words(lathe: Lathe) -> str:
    """The length over which the error is said, as the owner reads it: 25 mm, or an inch."""
    return writing.cut(SHORT_MM[lathe.units], lathe.units)


def _off(row: ChartRow) -> str:
    """The error over a length, in plain words."""
    if row.setup is None or row.setup.error is None:
        return "–"
    if row.setup.is_exact:
        return "exact"
    units = row.setup.lathe.units
    off = deviation_um(row.setup.error, SHORT_MM[units])
    size = both_units.off_size(off, units)
    if units == "mm" and abs(off) >= 1000:
        size = f"{writing.decimal(abs(off) / 1000, 1)} mm"
    return f"{size} {'long' if off > 0 else 'short'}"


def _blank(plate: WallPlate, marks: Mapping[str, str], landscape: bool, cautions_pt: float) -> Paper:
    """The page with everything on it but the rows.

    In one box and one size of type the usual cautions, what a row's sign warns of, and what 'over' means; at the foot
    what the other signs mean, those that are on the plate.
    """
    lathe, rows = plate.lathe, plate.rows
    setups = [row.setup for row in rows if row.setup is not None and row.ok is not False]
    signs = {_sign(setup) for setup in setups}
    cautions = [*CAUTIONS, *([_STRAINED] if " !" in signs else []), *([_BY_HAND] if " !!" in signs else [])]
    cautions += [reverse_over_means(lathe)] if any(setup.reverse_over for setup in setups) else []
    key = [_KEY.format(last=lathe.last_shaft)]
    key += [_NOT_JUDGED] if any(row.ok is None for row in rows) else []
    key += [_TAPER] if any(row.thread.taper for row in rows) else []
    key += [f"{mark} {words}." for words, mark in marks.items()]
    key += filter(None, [what_to_mind(lathe.gear_set)])
    key += fit_not_checked(setups)
    below, foot = f"Threads and their change gears · {plate.on}", " ".join(key)
    paper = Paper(lathe.name, below=below, foot=foot, size=plate.size, landscape=landscape, margin_mm=_MARGIN_MM)
    paper.words(" ".join(cautions), size_pt=cautions_pt, boxed=True)
    return paper


def _page(plate: WallPlate) -> tuple[Paper, float]:
    """The page, and the size of the type of its rows; no caution is set smaller than they are, or than 12 pt."""
    lines, heads = _lines(plate.rows), _heads(plate.lathe)
    marks = _marks(lines)
    lines = [
        line._replace(gears=(*line.gears, _Piece(f" {marks[line.apart]}"))) if line.apart else line for line in lines
    ]
    enough = max(_CAUTIONS_PT)
    for cautions_pt in _CAUTIONS_PT:
        papers = [_blank(plate, marks, landscape, cautions_pt) for landscape in (False, True)]
        layouts = (layout for paper in papers for layout in _layouts(lines, paper, heads))
        layout = max(layouts, key=lambda layout: (layout.size_pt, -layout.blocks))
        if layout.size_pt >= enough if cautions_pt == enough else cautions_pt >= layout.size_pt:
            break
    if layout.size_pt < SMALLEST_PT:
        raise ValueOutOfRangeError(
            f"{writing.counted(len(lines), 'thread')} are too many for one page: the type would be "
            f"{writing.decimal(layout.size_pt, 1)} pt",
            remedy=f"List fewer, so that it is {writing.decimal(SMALLEST_PT)} pt or more; "
            "two plates are easier to read than one.",
        )
    left, top, *_ = layout.paper.drawing(layout.paper.left_mm - 0.5)
    for start in range(0, len(lines), layout.rows):
        layout.paper.put(*_block(lines[start : start + layout.rows], layout, left, top, heads))
        left += sum(layout.widths) + _BETWEEN_BLOCKS_MM
    return layout.paper, layout.size_pt


def _heads(lathe: Lathe) -> tuple[str, ...]:
    """What stands over the columns: thread, lever, reverse, gears, error; over several levers what each is called."""
    levers = ", ".join(lever.name for lever in lathe.box) or "lever"
    return "thread", levers, "reverse", "gears", f"error in {_length_in_words(lathe)}"


def _layouts(lines: Sequence[_Line], paper: Paper, heads: Sequence[str]) -> Iterator[_Layout]:
    """Ways to lay the rows out on this page, each with the largest type that it allows."""
    wants = _widths_at_1_pt(lines, heads)
    for blocks in range(1, 5):
        rows = -(-len(lines) // blocks)
        tall = (paper.left_mm - 1.0) / (rows + 1.2)
        room = (paper.width_mm - (blocks - 1) * _BETWEEN_BLOCKS_MM) / blocks
        size = min(tall / (_LINE * MM_PER_PT), room / sum(wants), _LARGEST_PT)
        spare = (room - size * sum(wants)) / len(wants)
        widths = tuple(size * want + min(spare, 8.0) for want in wants)
        yield _Layout(paper, size, min(size * _WIDEST_LINE * MM_PER_PT, tall), blocks, rows, widths)


def _widths_at_1_pt(lines: Sequence[_Line], heads: Sequence[str]) -> tuple[float, ...]:
    """What each column takes, in mm, set in type of 1 pt: thread, lever, reverse, gears, error."""

    def widest(head: str, texts: Sequence[str], bold: bool = True) -> float:
        words = max([width_of_words_mm(text, 10, bold=bold) for text in texts if text], default=0.0)
        return max(words, width_of_words_mm(head, 10 * _HEAD)) / 10 + _GAP * MM_PER_PT if words else 0.0

    chains = [(_words(line.gears), line.cut) for line in lines]
    lever = widest(heads[1], [line.lever for line in lines])
    reverse = widest("reverse", [line.reverse.words for line in lines])
    said = widest("", [words for words, cut in chains if not cut], bold=False)
    gears = max(widest("gears", [words for words, cut in chains if cut]), said - lever - reverse)
    thread = widest("thread", [line.thread for line in lines])
    error = widest(heads[-1], [line.error for line in lines], bold=False)
    return thread, lever, reverse, gears, error


def _in_a_row(pieces: Sequence[_Piece], x: float, y: float, size: float) -> Iterator[Mark]:
    for piece in pieces:
        yield Words(piece.words, x, y, size, piece.bold)
        x += width_of_words_mm(piece.words, size, bold=piece.bold)


def _block(lines: Sequence[_Line], layout: _Layout, left: float, top: float, heads: Sequence[str]) -> Iterator[Mark]:
    """Rows under their heads, from their upper left corner."""
    size, step, wide = layout.size_pt, layout.step_mm, sum(layout.widths)
    base_line = (step + 0.72 * size * MM_PER_PT) / 2  # capitals in the middle of the row
    starts = [left + sum(layout.widths[:column]) for column in range(5)]
    shown = (True, any(line.lever for line in lines), any(line.reverse.words for line in lines), True, True)
    yield from (
        Words(head, x, top + base_line, _HEAD * size) for x, head, is_ in zip(starts, heads, shown, strict=True) if is_
    )
    for number, line in enumerate(lines, 1):
        y = top + number * step
        if number % 2 == 0:
            yield box(left, y, wide, step, edge="", fill=style.STEEL)
        yield Words(line.thread, starts[0] + 0.3, y + base_line, size, bold=True)
        yield from _in_a_row(line.levers, starts[1], y + base_line, size)
        yield Words(line.reverse.words, starts[2], y + base_line, size, line.reverse.bold)
        yield from _in_a_row(line.gears, starts[3] if line.cut else starts[1], y + base_line, size)
        yield Words(line.error, starts[4], y + base_line, size)
    for y in (top + step, top + (len(lines) + 1) * step):
        yield Shape(((left, y), (left + wide, y)), line_pt=1.0, closed=False)
