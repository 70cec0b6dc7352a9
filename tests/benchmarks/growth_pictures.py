"""The picture of a run: a panel for each job, how long each way takes against the size, both on logarithmic scales.

A way is told by its name at the end of its line, by the mark on it, by how the line is broken, and by its colour (Okabe
and Ito's, as in all our pictures). The last panel shows how far we are from what no way could do without.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import log10
from pathlib import Path
from textwrap import fill
from typing import Any

from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, LogLocator, MaxNLocator, NullLocator

from tests.benchmarks.rivalry import LIMITS, MACHINE, NO_ANSWER, NOT_RUN, Rivalry, Row, times_ours, writing_seconds

STYLES = (  # colour, line, mark; ours first
    ("#0072B2", "-", "o"),
    ("#56B4E9", (0, (6, 1.5)), "s"),
    ("#004C7A", (0, (4, 1.5, 1, 1.5)), "D"),
    ("#D55E00", (0, (3, 2)), "^"),
    ("#CC79A7", (0, (1, 1.2)), "v"),
    ("#E69F00", (0, (5, 1, 1, 1, 1, 1)), "P"),
    ("#009E73", (0, (8, 2, 2, 2)), "X"),
)
OURS, RIVALS = slice(0, 3), slice(3, 7)
COLUMNS, FEWEST_SIZES, DOTS_PER_INCH = 4, 2, 90


def draw(found: Sequence[tuple[Rivalry, Sequence[Row]]], path: Path) -> str:
    """Save the picture, and describe it in words."""
    figure, description = drawn(found)
    figure.savefig(path, dpi=DOTS_PER_INCH, metadata={"Description": description})
    return description


def drawn(found: Sequence[tuple[Rivalry, Sequence[Row]]]) -> tuple[Figure, str]:
    """Draw the panels; with them what they show, in words."""
    grown = [each for each in found if len({row.size for row in each[1]}) >= FEWEST_SIZES]
    bars = [each for each in found if each not in grown]
    panels = len(grown) + len(bars) + 1
    columns = min(COLUMNS, panels)
    lines = -(-panels // columns)
    wide, high = 7.2 * columns, 1 + 4.7 * lines
    figure = Figure(figsize=(wide, high), dpi=DOTS_PER_INCH)
    title = "The same job by our way (blue) and by its rivals: processor time, in one run"
    figure.suptitle(title, fontsize=20, x=0.9 / wide, y=1 - 0.35 / high, ha="left")
    every = figure.subplots(lines, columns, squeeze=False).ravel()
    figure.subplots_adjust(
        left=0.95 / wide, right=1 - 3.25 / wide, wspace=1.18, hspace=0.5, bottom=0.75 / high, top=1 - 1.5 / high
    )
    said = [
        *(_growth(axes, *each) for axes, each in zip(every, grown, strict=False)),
        *(_bars(axes, *each) for axes, each in zip(every[len(grown) :], bars, strict=False)),
        _limits(every[panels - 1], found),
    ]
    for axes in every[panels:]:
        axes.axis("off")
    return figure, "Processor time against size, both logarithmic, a panel a job. " + " ".join(said)


def _styles(rows: Sequence[Row]) -> dict[str, tuple[str, Any, str]]:
    """A look for each way: blues for ours."""
    names = dict.fromkeys(row.way for row in rows if row.way not in LIMITS)
    ours = [name for name in names if any(row.way == name and row.ours for row in rows)]
    rivals = [name for name in names if name not in ours]
    return {
        **dict(zip(ours, STYLES[OURS], strict=False)),
        **dict(zip(rivals, (*STYLES[RIVALS], STYLES[-1]), strict=False)),
    }


def _growth(axes: Any, rivalry: Rivalry, rows: Sequence[Row]) -> str:
    """Lines that grow, each with its name at the right, where a thin line leads to it."""
    ends = []
    for name, (colour, line, mark) in _styles(rows).items():
        points = [(row.size, row.seconds) for row in rows if row.way == name and row.seconds is not None]
        if not points:
            continue
        ours = any(row.ours for row in rows if row.way == name)
        axes.plot(
            *zip(*points, strict=True),
            color=colour,
            linestyle=line,
            marker=mark,
            ms=6.5,
            lw=2.8 if ours else 2,
            mec="w",
        )
        ends.append((points[-1], name, colour, _why_it_ends(rows, name)))
    sizes = sorted({row.size for row in rows})
    axes.set_xscale("log")
    axes.set_yscale("log")
    axes.set_xlim(sizes[0] / 1.08, sizes[-1] * (sizes[-1] / sizes[0]) ** 0.02)
    _name_lines(axes, ends)
    axes.set_title(fill(rivalry.question, 52), loc="left", fontsize=13, fontweight="bold")
    axes.set_xlabel(rivalry.unit, fontsize=12)
    axes.xaxis.set_major_locator(FixedLocator(_apart(sizes)))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_major_formatter(FuncFormatter(lambda size, _: f"{size:,.0f}"))
    axes.yaxis.set_major_locator(LogLocator(numticks=8))
    axes.yaxis.set_minor_locator(NullLocator())
    axes.yaxis.set_major_formatter(FuncFormatter(lambda taken, _: writing_seconds(taken).replace(".0 ", " ")))
    axes.set_ylabel("time", fontsize=12)
    axes.tick_params(labelsize=11)
    axes.grid(color="#dddddd", lw=0.7)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    return (
        f"{rivalry.question}: "
        + "; ".join(f"{name} {writing_seconds(taken)} at {size:,} {rivalry.unit}" for (size, taken), name, _, _ in ends)
        + "."
    )


def _why_it_ends(rows: Sequence[Row], name: str) -> str:
    """In brackets behind the name of a way that was not run to the end."""
    last = [row for row in rows if row.way == name][-1]
    if last.seconds is not None:
        return ""
    first = next(row for row in rows if row.way == name and row.seconds is None)
    return f" ({NOT_RUN if first.said.startswith(NOT_RUN) else NO_ANSWER} from {first.size:,})"


def _name_lines(axes: Any, ends: Sequence[tuple[tuple[int, float], str, str, str]]) -> None:
    """The names beside the panel, as high as the lines end but never upon each other."""
    low, high = (log10(limit) for limit in axes.get_ylim())
    wanted = sorted(ends, key=lambda end: end[0][1])
    texts = [fill(name + why, 32) for _, name, _, why in wanted]
    half = [0.034 * (1 + text.count("\n")) for text in texts]
    at = [(log10(taken) - low) / (high - low) for (_, taken), *_ in wanted]
    for _ in range(300):  # push apart what overlaps, a little at a time
        for n in range(len(at) - 1):
            lacking = half[n] + half[n + 1] - (at[n + 1] - at[n])
            if lacking > 0:
                at[n], at[n + 1] = at[n] - lacking / 2, at[n + 1] + lacking / 2
        at = [min(max(place, half[n] - 0.12), 1.03 - half[n]) for n, place in enumerate(at)]
    for place, text, ((size, taken), _, colour, _) in zip(at, texts, wanted, strict=True):
        axes.annotate(
            text,
            xy=(size, taken),
            xycoords="data",
            xytext=(1.05, place),
            textcoords="axes fraction",
            va="center",
            fontsize=11,
            color=colour if colour not in ("#E69F00", "#56B4E9") else _darker(colour),
            arrowprops={"arrowstyle": "-", "color": colour, "lw": 0.8, "alpha": 0.7, "shrinkB": 4},
            annotation_clip=False,
        )


def _darker(colour: str) -> str:
    """The same for letters, which must be told from white."""
    return "#" + "".join(f"{int(int(colour[at : at + 2], 16) * 0.65):02x}" for at in (1, 3, 5))


def _apart(sizes: Sequence[int]) -> list[int]:
    """Those of the sizes whose figures do not touch."""
    kept = [sizes[0]]
    for size in sizes[1:]:
        if log10(size / kept[-1]) >= 0.022 * (2 + len(f"{size:,}")) * log10(sizes[-1] / sizes[0]):
            kept.append(size)
    return kept


def _bars(axes: Any, rivalry: Rivalry, rows: Sequence[Row]) -> str:
    """What has one size only: a bar each, with its name and time."""
    listed = [row for row in rows if row.way not in LIMITS and row.seconds is not None]
    longest = max(row.seconds or 0 for row in listed)
    for place, row in enumerate(reversed(listed)):
        taken, times = row.seconds or 0.0, "" if row.ratio in (None, 1) else f", {times_ours(row.ratio or 0)}"
        axes.barh(
            place,
            taken,
            color=STYLES[0][0] if row.ours else "#c4c4c4",
            hatch="" if row.ours else "//",
            edgecolor="w",
            height=0.7,
        )
        axes.text(
            taken + longest / 60, place, f"{row.way}: {writing_seconds(taken)}{times}", va="center", fontsize=11.5
        )
    axes.set_yticks([])
    _bare(axes, rivalry.question)
    axes.set_xlim(0, 1.35 * longest)
    axes.xaxis.set_major_locator(MaxNLocator(4))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda taken, _: writing_seconds(taken) if taken else "0"))
    axes.set_xlabel("time", fontsize=12)
    return f"{rivalry.question}: " + "; ".join(f"{row.way} {writing_seconds(row.seconds or 0)}" for row in listed) + "."


def _limits(axes: Any, found: Sequence[tuple[Rivalry, Sequence[Row]]]) -> str:
    """How many times as long ours takes as the two limits, at the largest size of each job."""
    said, names = [], []
    for place, (rivalry, rows) in enumerate(reversed(found)):
        last = max((row.size for row in rows if row.way == MACHINE), default=0)
        ratios = {row.way: 1 / row.ratio for row in rows if row.size == last and row.way in LIMITS and row.ratio}
        if not ratios:
            continue
        machine, python = (ratios[way] for way in LIMITS)
        axes.plot([python, machine], [place, place], color="#bbbbbb", lw=2, zorder=1)
        axes.plot(python, place, "o", color=STYLES[0][0], ms=9)
        axes.plot(machine, place, "D", color=STYLES[3][0], ms=8)
        size = f", {rivalry.unit} {last:,}" if len({row.size for row in rows}) > 1 else ""
        names.append((place, f"{rivalry.job}{size}"))
        said.append(f"{names[-1][1]}: {python:,.0f} passes in plain Python, {machine:,.0f} readings of memory")
    axes.yaxis.tick_right()
    axes.set_yticks([place for place, _ in names], [name for _, name in names], fontsize=11)
    axes.tick_params(axis="y", length=0)
    axes.set_xscale("log")
    axes.set_ylim(-0.7, 0.5 + 1.22 * len(found))
    for row, (text, style) in enumerate((("● one pass in plain Python", STYLES[0]), ("◆ memory read once", STYLES[3]))):
        axes.text(0.02, 0.985 - 0.065 * row, text, color=style[0], transform=axes.transAxes, va="top", fontsize=11.5)
    _bare(axes, "How far we are from what no way can do without")
    axes.set_xlabel("our time, times the limit (left is better)", fontsize=12)
    axes.grid(axis="x", color="#dddddd", lw=0.7)
    return "Our time against the limits: " + "; ".join(said) + "."


def _bare(axes: Any, title: str) -> None:
    axes.set_title(fill(title, 52), loc="left", fontsize=13, fontweight="bold")
    axes.tick_params(axis="x", labelsize=11)
    axes.spines[["top", "right"]].set_visible(False)
