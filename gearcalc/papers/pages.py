"""The change-over card and the fault-finder on paper: steps to tick off one by one, gears drawn in millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, hypot, radians, sin
from typing import TYPE_CHECKING, NamedTuple

from gearcalc.basics import writing
from gearcalc.basics.cautions import COMMON_PRACTICE, FOOT, WHERE_FROM
from gearcalc.papers.paper import Paper, width_of_words_mm, wrapped
from gearcalc.pictures.style import INK, LOOKS, PAPER, SOFT
from gearcalc.pictures.train_pictures import TrainDrawing

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from gearcalc.papers.change_cards import ChangeCard
    from gearcalc.papers.fault_finder import FaultFinder

_PICTURES_MM, _GAP_MM, _ABOVE_MM, _BELOW_MM = 51.0, 6.0, 7.0, 3.0
_START_OF_A_TABLE_MM = 42.0
_TEXT_PT, _SMALL_PT, _FAULTS_PT = 9.2, 8.0, 8.8
_LABEL_PT = 9.0
_INDENT_MM, _TICK_MM = 12.0, 2.6
_LINE_MM = _TEXT_PT * 1.38 * 25.4 / 72
_KEY = "Seen from the gear end. Ring: driver. Hatched: driven. Plain: idler. Dashed: behind another gear."
_HATCH = {"driver": "", "driven": "////", "idler": ""}


class StepsPaper(Paper):
    """A sheet on which a step has its title in bold and, under it, lines to be ticked off one by one.

    >>> paper = StepsPaper("Change-over card")
    >>> paper.step(1, "Isolate", "At the plug or isolator.", ["switch off", "plug out"])
    >>> paper.pages
    1
    """

    def step(self, number: int, title: str, text: str, ticks: Sequence[str] = ()) -> None:
        """A numbered step, kept whole with the first of its ticks."""
        head = f"{title}. "
        indent = width_of_words_mm(head, _TEXT_PT, bold=True) + 1.2
        first, rest = _first_line(text, self.width_mm - _INDENT_MM - indent)
        lines = wrapped(rest, self.width_mm - _INDENT_MM, _TEXT_PT) if rest else []
        self.keep_together((1 + len(lines) + bool(ticks)) * _LINE_MM)
        self._tick(0.0)
        for words, left, bold in ((f"{number}.", 5.0, True), (head, _INDENT_MM, True)):
            self._flow([words], _TEXT_PT, bold=bold, left=left)
            self._down -= _LINE_MM
        self._flow([first, *lines], _TEXT_PT, left=_INDENT_MM + indent) if not lines else self._two_parts(
            first, lines, indent
        )
        self.space(0.6 if ticks else 0.0)
        for words in ticks:
            self.ticked(words, left_mm=_INDENT_MM)
        self.space(1.4)

    def _two_parts(self, first: str, lines: Sequence[str], indent: float) -> None:
        self._flow([first], _TEXT_PT, left=_INDENT_MM + indent)
        self._flow(lines, _TEXT_PT, left=_INDENT_MM)

    def ticked(self, words: str, *, left_mm: float = 0.0) -> None:
        """A line with a square before it, wrapped beside it."""
        lines = wrapped(words, self.width_mm - left_mm - 5, _TEXT_PT)
        self.keep_together(len(lines) * _LINE_MM)
        self._tick(left_mm)
        self._flow(lines, _TEXT_PT, left=left_mm + 5)
        self.space(0.5)

    def _tick(self, left_mm: float) -> None:
        top = self._down + 1.02 * _TEXT_PT * 25.4 / 72 - _TICK_MM
        self._box(self.margin_mm + left_mm, top, _TICK_MM, _TICK_MM, edge=INK, fill="none", line_pt=0.8)


def _first_line(text: str, room_mm: float) -> tuple[str, str]:
    """As many words as there is room for behind the title, and the rest."""
    words = text.split()
    count = 0
    while count < len(words) and width_of_words_mm(" ".join(words[: count + 1]), _TEXT_PT) <= room_mm:
        count += 1
    return " ".join(words[:count]), " ".join(words[count:])


def card_paper(card: ChangeCard, *, size: str = "A4") -> StepsPaper:
    """The card laid out on sheets of paper; the two sides of one as a rule.

    `size`: 'A4', 'A3' or 'letter'. Raises ValueOutOfRangeError for another.
    """
    paper = StepsPaper(card.title, below=f"{card.about} {card.counted}", foot=FOOT, size=size, margin_mm=12.5)
    paper.words("  ".join(f"{n}. {caution}" for n, caution in enumerate(card.cautions, 1)), size_pt=9, boxed=True)
    for warning in card.warnings:
        paper.words(f"Mind: {warning}", size_pt=_TEXT_PT, bold=True)
    paper.title(card.before_you_begin, size_pt=11.5)
    for needed in card.needed:
        paper.ticked(needed)
    paper.space(1.5)
    _pictures(paper, card)
    paper.title("Steps", size_pt=11.5)
    for number, step in enumerate(card.steps, 1):
        paper.step(number, step.title, " ".join(step.lines), step.gears)
    paper.space(1)
    paper.table([{"setting": name, "value": value} for name, value in card.settings], size_pt=8.6)
    paper.words(WHERE_FROM, size_pt=_SMALL_PT)
    return paper


def faults_paper(found: FaultFinder, *, size: str = "A4") -> Paper:
    """The fault-finder laid out on sheets of paper, a table a symptom.

    `size`: 'A4', 'A3' or 'letter'. Raises ValueOutOfRangeError for another.
    """
    paper = Paper(found.title, below="After a change of gears: what to look at.", foot=FOOT, size=size, margin_mm=12)
    paper.words("  ".join(f"{n}. {caution}" for n, caution in enumerate(found.cautions, 1)), size_pt=9, boxed=True)
    for symptom in found.symptoms:
        paper.keep_together(_START_OF_A_TABLE_MM)
        paper.title(f"{symptom.name.capitalize()}: {symptom.like[0].lower()}{symptom.like[1:]}", size_pt=10)
        rows = [
            {
                "likely cause": cause.cause + ("" if cause.source == COMMON_PRACTICE else f" ({cause.source})"),
                "look": cause.look,
                "then": cause.then,
            }
            for cause in symptom.causes
        ]
        paper.table(rows, size_pt=_FAULTS_PT)
    paper.words(f"Where nothing stands beside a cause it is {COMMON_PRACTICE}. {WHERE_FROM}", size_pt=_SMALL_PT)
    return paper


def _pictures(paper: Paper, card: ChangeCard) -> None:
    drawings = [("Before", card.before), ("After", card.after)]
    known = [(words, drawing) for words, drawing in drawings if drawing is not None]
    axes = paper.drawing(_PICTURES_MM)
    width = (paper.width_mm - _GAP_MM * (len(known) - 1)) / len(known)
    for place, (words, drawing) in enumerate(known):
        box = Box(place * (width + _GAP_MM), 0.0, width, _PICTURES_MM)
        draw_train(axes, drawing, box, f"{words}: {writing.train(drawing.train.drivers, drawing.train.driven)}")
    paper.space(-1.5)
    paper.words(_KEY, size_pt=7.5)


Disc = tuple[float, float, float]
"""A gear on a sheet: its middle and its radius, mm."""


class Box(NamedTuple):
    """A box on a sheet, mm from its lower left corner."""

    left: float
    bottom: float
    width: float
    height: float

    def within(self, other: Box) -> bool:
        """Whether it lies inside another, clear of its frame and of the words at its top."""
        across = other.left + 1 < self.left and self.left + self.width < other.left + other.width - 1
        return across and other.bottom + 1 < self.bottom and self.bottom + self.height < other.height - _ABOVE_MM

    def meets(self, disc: Disc) -> bool:
        """Whether a disc touches it."""
        x, y = disc[0] - self.left, disc[1] - self.bottom
        return hypot(x - min(max(x, 0.0), self.width), y - min(max(y, 0.0), self.height)) < disc[2] + 0.3


def draw_train(axes: Axes, drawing: TrainDrawing, box: Box, heading: str) -> None:
    """The train as seen from the gear end, in a box on a sheet that is measured in mm.

    Drivers carry a ring, driven gears are hatched, idlers are plain, so that print without colour tells them apart.
    """
    from matplotlib.patches import Circle, Polygon, Rectangle

    axes.add_patch(Rectangle(box[:2], box.width, box.height, fill=False, edgecolor=SOFT, linewidth=0.6, clip_on=False))
    axes.text(box.left + 2, box.bottom + box.height - 4.5, heading, size=8, weight="bold", color=INK, parse_math=False)
    outlines = drawing.outlines(0.0, 4)
    scale, shift_x, shift_y = _to_the_sheet([point for outline in outlines for point in outline], box)
    discs: list[Disc] = []
    for gear, outline in zip(drawing.gears, outlines, strict=True):
        x, y = shift_x + scale * gear.centre_mm[0], shift_y + scale * gear.centre_mm[1]
        radius = scale * drawing.module_mm * (gear.teeth / 2 + 1)
        discs.append((x, y, radius))
        look, above = LOOKS[gear.kind], 2 + gear.plane
        placed = [(shift_x + scale * a, shift_y + scale * b) for a, b in outline]
        axes.add_patch(
            Polygon(
                placed,
                closed=True,
                hatch=_HATCH[gear.kind],
                facecolor=look.fill,
                edgecolor=INK,
                linewidth=0.5,
                zorder=above,
            )
        )
        if look.ring:
            axes.add_patch(Circle((x, y), 0.8 * radius, fill=False, edgecolor=look.accent, linewidth=1.2, zorder=above))
    taken: list[Box] = []
    for gear, disc in sorted(zip(drawing.gears, discs, strict=True), key=lambda each: -each[0].plane):
        hidden = any(other.shaft == gear.shaft and other.plane > gear.plane for other in drawing.gears)
        if hidden:  # its rim dashed over what stands before it, as hidden edges are drawn
            axes.add_patch(
                Circle(disc[:2], disc[2], fill=False, edgecolor=INK, linewidth=0.7, linestyle=(0, (4, 2)), zorder=18)
            )
        before = [other for one, other in zip(drawing.gears, discs, strict=True) if one.plane > gear.plane]
        words = str(gear.teeth)
        label = None if hidden else _on_the_face(words, disc, before, taken)
        spot = None if label is not None else _free_spot(words, disc, discs, taken, box)
        taken.append(label or _around(words, spot or disc[:2]))
        _label(axes, words, disc, spot)


def _to_the_sheet(points: Sequence[tuple[float, float]], box: Box) -> tuple[float, float, float]:
    """Scale and shift that put these points into the middle of the box."""
    low_x, high_x = min(x for x, _ in points), max(x for x, _ in points)
    low_y, high_y = min(y for _, y in points), max(y for _, y in points)
    room_x, room_y = box.width - 22, box.height - _ABOVE_MM - _BELOW_MM
    scale = min(room_x / (high_x - low_x), room_y / (high_y - low_y))
    middle_x, middle_y = box.left + box.width / 2, box.bottom + _BELOW_MM + room_y / 2
    return scale, middle_x - scale * (low_x + high_x) / 2, middle_y - scale * (low_y + high_y) / 2


def _label(axes: Axes, words: str, disc: Disc, beside: tuple[float, float] | None) -> None:
    """A tooth count in the middle of a gear, or beside one that another hides, with a line to its rim."""
    x, y, radius = disc
    if beside is not None:
        away = hypot(beside[0] - x, beside[1] - y)
        rim = x + (radius - 0.8) * (beside[0] - x) / away, y + (radius - 0.8) * (beside[1] - y) / away
        axes.plot([rim[0], beside[0]], [rim[1], beside[1]], color=INK, linewidth=0.7, zorder=19)
        x, y = beside
    axes.text(
        x,
        y,
        words,
        size=_LABEL_PT,
        weight="bold",
        color=INK,
        ha="center",
        va="center",
        zorder=20,
        parse_math=False,
        bbox={"boxstyle": "round,pad=0.15", "facecolor": PAPER, "edgecolor": "none"},
    )


def _around(words: str, middle: tuple[float, float]) -> Box:
    """What a tooth count takes there, its paper included."""
    width, height = width_of_words_mm(words, _LABEL_PT, bold=True) + 1.4, 1.25 * _LABEL_PT * 25.4 / 72
    return Box(middle[0] - width / 2, middle[1] - height / 2, width, height)


def _on_the_face(words: str, disc: Disc, before: Sequence[Disc], taken: Sequence[Box]) -> Box | None:
    """The middle of the face, where the gear is seen round its label and nothing stands before it; else None."""
    label = _around(words, disc[:2])
    seen = hypot(label.width, label.height) <= 1.5 * disc[2]
    return label if seen and not any(label.meets(other) for other in before) and not _meets(label, taken) else None


def _free_spot(words: str, disc: Disc, discs: Sequence[Disc], taken: Sequence[Box], box: Box) -> tuple[float, float]:
    """A place near a gear's rim, off every gear and label and within the box; the nearest that serves."""
    x, y, radius = disc
    for further in range(4, 60, 3):
        for bearing in (180, 0, 150, 30, 210, 330, 240, 300, 120, 60, 90, 270):
            spot = (x + (radius + further) * cos(radians(bearing)), y + (radius + further) * sin(radians(bearing)))
            label = _around(words, spot)
            if label.within(box) and not any(map(label.meets, discs)) and not _meets(label, taken):
                return spot
    return x, y + radius / 2


def _meets(label: Box, taken: Sequence[Box]) -> bool:
    return any(
        label.left < other.left + other.width
        and other.left < label.left + label.width
        and label.bottom < other.bottom + other.height
        and other.bottom < label.bottom + label.height
        for other in taken
    )
