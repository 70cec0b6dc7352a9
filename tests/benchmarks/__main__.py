"""Rivals side by side, in one run: the same jobs by our way and by others, how long each takes, and how the cost grows.

    python -m tests.benchmarks                                 # everything: some 20 minutes
    python -m tests.benchmarks --only search --only plan       # some of the jobs
    python -m tests.benchmarks --quick                         # the smallest sizes only: a minute
    python -m tests.benchmarks --seconds 10                    # a rival may take so long, not a minute
    python -m tests.benchmarks --to FOLDER                     # where the table (rivals.md, rivals.csv) and picture go

Each job is done at several sizes by us and by its rivals; a file a job beside this one says which, and how they go
about it. The answers are held against each other: they are the same, or it is said by how much a rival's is worse or
ours does more; anything else ends the run. What would need more than a minute or a gigabyte, as its own growth
foretells, is 'not run'. Under each job stands what no way could do without, measured in the same run: memory read
once, and one pass in plain Python over as many things.
"""

from __future__ import annotations

import argparse
import csv
import sys
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.benchmarks import approximations, charts, coverage, imports, pictures, plans, purchases, search
from tests.benchmarks.growth_pictures import draw
from tests.benchmarks.rivalry import (
    ALLOWED,
    Bench,
    Rivalry,
    Row,
    bytes_a_second,
    growth,
    seconds_a_thing,
    times_ours,
    writing_bytes,
)
from tests.benchmarks.rivalry import writing_seconds as in_words

MODULES = (search, charts, plans, purchases, coverage, approximations, pictures, imports)
RIVALRIES: tuple[Rivalry, ...] = tuple(rivalry for module in MODULES for rivalry in module.RIVALRIES)
JOBS = tuple(dict.fromkeys(rivalry.job for rivalry in RIVALRIES))


def measured(rivalries: Sequence[Rivalry], bench: Bench, quick: bool = False) -> Iterator[tuple[Rivalry, list[Row]]]:
    """The rows of one rivalry after the other, its small sizes first so that they foretell the large ones."""
    for rivalry in rivalries:
        sizes = rivalry.quick if quick else rivalry.sizes
        yield rivalry, [row for size in sizes for row in bench.rows(rivalry, size)]


def table(rivalry: Rivalry, rows: Sequence[Row]) -> str:
    """What was measured of a rivalry, as plain text (Markdown): a line for each way, a column for each size."""
    sizes, names = list(dict.fromkeys(row.size for row in rows)), list(dict.fromkeys(row.way for row in rows))
    lines = [[f"{rivalry.unit}:", *(f"{size:,}" for size in sizes), "grows", "answer"]]
    for name in names:
        here = {row.size: row for row in rows if row.way == name}
        power = growth([(size, row.seconds) for size, row in here.items() if row.seconds is not None])
        grows = "" if power is None else f"n^{power:.1f}"
        lines.append([name, *(_cell(here.get(size)) for size in sizes), grows, _answers(list(here.values()))])
    widths = [max(len(line[column]) for line in lines) for column in range(len(lines[0]))]
    shown = ["| " + " | ".join(map(str.ljust, line, widths)) + " |" for line in lines]
    shown.insert(1, "|" + "|".join("-" * (width + 2) for width in widths) + "|")
    return "\n".join((f"## {rivalry.job}: {rivalry.question}", "", *shown))


def _cell(row: Row | None) -> str:
    """The time, and how many times ours it is; or why there is none."""
    if row is None or row.seconds is None:
        return "" if row is None else row.said
    return in_words(row.seconds) + ("" if row.ratio in (None, 1) else f" ({times_ours(row.ratio or 0)})")


def _answers(rows: Sequence[Row]) -> str:
    """What was said of the answers: once where it is always the same, the last and largest where it differs."""
    said = [row.said for row in rows if row.seconds is not None]
    if not said:
        return ""
    worse = [each for each in said if "worse" in each or ", not " in each]
    return said[-1] if len(set(said)) == 1 or not worse else worse[-1]


def heading() -> str:
    """What it was measured with."""
    version = ".".join(map(str, sys.version_info[:3]))
    return (
        f"Python {version}; one core reads {bytes_a_second() / 1e9:.1f} GB of memory a second, and plain Python looks "
        f"at a thing in {in_words(seconds_a_thing())}. Processor time; in brackets how many times ours. What needs "
        f"more than {in_words(ALLOWED.seconds)} or {writing_bytes(ALLOWED.bytes_at_once)} is not run; what was "
        "foretold stands there. n^2: with twice the size four times as long, over the last four sizes."
    )


def write(folder: Path, found: Sequence[tuple[Rivalry, Sequence[Row]]]) -> list[Path]:
    """Put table, rows and picture in a folder, and say where."""
    folder.mkdir(parents=True, exist_ok=True)
    text, rows, picture = (folder / f"rivals.{suffix}" for suffix in ("md", "csv", "png"))
    text.write_text(
        "\n\n".join(("# Rivals side by side", heading(), *(table(*each) for each in found))) + "\n", "utf-8"
    )
    with rows.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(Row.__dataclass_fields__)
        writer.writerows([*vars(row).values()] for _, each in found for row in each)
    (folder / "rivals.txt").write_text(draw(found, picture) + "\n", "utf-8")
    return [text, rows, picture, folder / "rivals.txt"]


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__.splitlines()[0])
    parser.add_argument("--only", action="append", choices=JOBS, metavar="JOB", help=f"of {', '.join(JOBS)}")
    parser.add_argument("--quick", action="store_true", help="the smallest sizes only")
    parser.add_argument("--seconds", type=float, default=ALLOWED.seconds, help="that a rival may take (%(default)s)")
    parser.add_argument("--to", type=Path, metavar="FOLDER", help="where table and picture go")
    given = parser.parse_args(arguments)
    rivalries = [rivalry for rivalry in RIVALRIES if not given.only or rivalry.job in given.only]
    ALLOWED.seconds = given.seconds
    print(heading(), flush=True)
    found = []
    folder = given.to or Path(tempfile.mkdtemp(prefix="rivals-"))
    try:
        for rivalry, rows in measured(rivalries, Bench(0.05 if given.quick else 0.2), given.quick):
            print("\n" + table(rivalry, rows), flush=True)
            found.append((rivalry, rows))
    finally:  # what was measured is kept, however the run ends
        if found:
            print("\nWritten:", *write(folder, found), sep="\n")


if __name__ == "__main__":
    main()
