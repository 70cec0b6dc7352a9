"""The panel beside a train on its bracket: the swing, how each mesh stands, and what is tight or fouls, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from gearcalc.basics import writing
from gearcalc.fits.gaps import Gap, Part, part_name
from gearcalc.fits.hand_settings import HandSetting, MeshState
from gearcalc.fits.stances import ROUNDING, Layout
from gearcalc.pictures.brackets.bracket_plates import swing_dial
from gearcalc.pictures.brackets.gap_marks import gap_words
from gearcalc.pictures.labels import Box
from gearcalc.pictures.style import INK, SMALL_PX, SOFT, WORD_PX, text_width_px
from gearcalc.pictures.svg import Svg, element, text_line

ARM_UNCHECKED = "Not checked: the edge of the arm, which no lathe file gives."
"""What a fit leaves to the eye: a lathe file has the slots of the bracket, and not its outline."""

_LINE_PX = SMALL_PX + 4
_MOST_GAPS = 4


def panel(
    box: Box,
    layout: Layout,
    swing_deg: float,
    setting: HandSetting | None,
    meshes: Iterable[MeshState],
    gaps: Iterable[Gap],
    axes: int,
) -> Svg:
    """The dial of the swing, under it as many lines as there is room for, and below what is not checked."""
    dial, y = swing_dial(layout, swing_deg, box)
    parts, y = [dial], y + 22
    width = box[2] - box[0]
    parts.append(text_line(ARM_UNCHECKED, box[2], box[3] + _LINE_PX, size=SMALL_PX, anchor="end", fill=SOFT))
    for bold, words in _paragraphs(layout, setting, meshes, gaps, axes):
        lines = list(_wrapped(words, width, WORD_PX if bold else SMALL_PX))
        if y + len(lines) * _LINE_PX > box[3] + 2:
            break
        for number, line in enumerate(lines):
            size, weight = (WORD_PX, "bold") if bold else (SMALL_PX, None)
            x = box[0] + (10 if number and not bold else 0)
            parts.append(text_line(line, x, y, size=size, anchor="start", fill=INK, font_weight=weight))
            y += _LINE_PX + (2 if bold else 0)
        y += 0 if bold else 3
    top = box[1] - 4
    parts.append(element("line", x1=box[0] - 12, x2=box[0] - 12, y1=top, y2=box[3], stroke=SOFT, stroke_width=0.6))
    return element("g", *parts, class_="panel")


def _paragraphs(
    layout: Layout, setting: HandSetting | None, meshes: Iterable[MeshState], gaps: Iterable[Gap], axes: int
) -> Iterator[tuple[bool, str]]:
    """(bold, words), in the order of use at the machine."""
    studs = stud_words(layout, setting)
    if studs:
        yield True, "Studs, from the spindle side" if len(studs) > 1 else "Stud"
        yield from ((False, words) for words in studs)
    yield True, "Meshes"
    yield from ((False, mesh_words(mesh)) for mesh in meshes)
    gaps = list(gaps)
    least = layout.bracket.running_clearance_mm
    fouls = [gap for gap in gaps if gap.mm < least - ROUNDING]
    yield True, "In the way" if fouls else "Tightest"
    for gap in (fouls or gaps)[:_MOST_GAPS]:
        yield False, gap_sentence(gap, axes, layout)


def stud_words(layout: Layout, setting: HandSetting | None) -> list[str]:
    """Where each stud stands in its slot, in words; none where no slot holds them."""
    if setting is None:
        return []
    words = []
    for place in setting.studs:
        slot = layout.slots[place.slot]
        which = f" {('first', 'second', 'third', 'fourth', 'fifth')[place.slot]}" if 1 < len(layout.slots) < 6 else ""
        along, whole = (writing.decimal(length, 1) for length in (place.along_mm, slot.length))
        words.append(f"{along} mm along the{which} slot of {whole} mm")
    return words


def mesh_words(mesh: MeshState) -> str:
    """The two gears and how they mesh.

    >>> from gearcalc.fits.hand_settings import mesh_states
    >>> from gearcalc.lathes import demo_lathe
    >>> mesh_words(mesh_states("40/80", demo_lathe("inch"), ((75.3, 0), (0, 0)))[0])
    '40 and 80: good, 0.22 mm of backlash'
    """
    return f"{mesh.one.teeth} and {mesh.other.teeth}: {mesh.words.replace(':', ',')}"


def gap_sentence(gap: Gap, axes: int, layout: Layout) -> str:
    """What is between two parts, or by how much one is in the other's way."""

    def name(part: Part) -> str:
        return part_name(part, axes, layout.last_shaft)

    words = gap_words(gap.mm, layout.bracket.running_clearance_mm)
    if gap.mm < 0:
        return f"{name(gap.one)} fouls {name(gap.other)} by {words.removeprefix('fouls ')}"
    return f"{words}: {name(gap.one)} to {name(gap.other)}"


def _wrapped(words: str, width: float, size: float) -> Iterator[str]:
    line = ""
    for word in words.split():
        longer = f"{line} {word}".strip()
        if line and text_width_px(longer, size) > 1.08 * width:  # widths are estimated on the wide side
            yield line
            line = word
        else:
            line = longer
    yield line
