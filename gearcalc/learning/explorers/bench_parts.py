"""What the bench page says of the setup that is chosen: one small function a part, from a question to HTML.

A part takes a BenchAnswer and the values of the page's controls. Another part is one more function and one more line
in PARTS; a control that only it needs is entered in bench.py.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Any

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import GearcalcError
from gearcalc.cutting.dial_rules import dial
from gearcalc.cutting.wrong_leads import explain_wrong_lead, read_measured
from gearcalc.deriving.derivations import derive
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import Train
from gearcalc.learning.explorers.near_miss_views import verdict_in_words
from gearcalc.learning.explorers.typed import read_train, split_threads
from gearcalc.papers.change_cards import change_card
from gearcalc.pictures.pictures import Row, table_html
from gearcalc.planning.charts import MOST_ROWS, ChartRow, chart_rows
from gearcalc.threads import Thread
from gearcalc.threads.deviations import Verdict, deviation_in_words, judge
from gearcalc.threads.feeds import Feed
from gearcalc.threads.series import threads_listed

_LENGTHS_MM = (25, 100, 300)


@frozen
class BenchAnswer:
    """One setup on one lathe: what every part of the page speaks of. `chosen`: as it goes on, idlers added."""

    lathe: Lathe
    chosen: Setup

    @property
    def verdict(self) -> Verdict | None:
        """Whether its error matters; None for a feed."""
        wanted, error = self.chosen.wanted, self.chosen.error
        return judge(wanted, error) if isinstance(wanted, Thread) and error is not None else None


Part = Callable[[BenchAnswer, Any], str]
Reader = Callable[[Lathe, Mapping[str, object]], Any]


def part_html(name: str, answer: BenchAnswer, values: Mapping[str, object]) -> str:
    """A part by its name; where there is no answer the reason stands in its place, so that the rest of the page stays.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> answer = BenchAnswer(demo_lathe("inch"), setup(demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi"))
    >>> "does it go on" in part_html("will it go on", answer, {}).lower()
    True

    Raises our errors for what was typed into the controls of the part and can't be read.
    """
    given = _READERS[name](answer.lathe, values) if name in _READERS else None
    try:
        return PARTS[name](answer, given)
    except GearcalcError as problem:
        return f"<p><strong>Mind:</strong> {writing.in_html(str(problem))}</p>"


def _why(answer: BenchAnswer, _: None) -> str:
    """From one turn of the spindle to the lead: each step a sentence and a sum, in plain text that needs no MathJax."""
    derivation = derive(answer.chosen, answer.lathe)
    steps = "".join(
        f'<li>{writing.in_html(step.words)}<span class="gearcalc-sum">{writing.in_html(step.equation_text)}</span></li>'
        for step in derivation.steps
    )
    closing = f"<p>{writing.in_html(derivation.closing)}</p>" if derivation.closing else ""
    return f"<h5>{writing.in_html(derivation.title)}</h5><ol>{steps}</ol>{closing}"


def _matters(answer: BenchAnswer, _: None) -> str:
    """How far off over some lengths, and the verdict."""
    if answer.verdict is not None:
        return answer.verdict._repr_html_()
    chosen = answer.chosen
    if not isinstance(chosen.wanted, Feed) or chosen.error is None:
        return "<p>Nothing is wanted, so nothing is off.</p>"
    rows: list[tuple[str, str | writing.Written]] = [("error", writing.error(chosen.error))]
    rows += [(f"over {mm} mm", deviation_in_words(chosen.error, mm)) for mm in _LENGTHS_MM]
    return writing.html_table(f"The feed {chosen.wanted}", rows, note="A feed has no tolerance: near will do.")


def _fit(answer: BenchAnswer, _: None) -> str:
    """Whether it goes on, where everything then stands, and what is tight; or what stops it."""
    if answer.chosen.fit is None:
        return (
            "<p>Not checked: does it go on? The file of this lathe describes no bracket, or not the size of its gears. "
            "Add [bracket] and module_mm to the lathe file, as the demo lathes have them, and this page will say.</p>"
        )
    whose = f"<p><small>Does it go on? Asked of the bracket of: {writing.in_html(answer.lathe.name)}. Measure your own "
    return f"{answer.chosen.fit._repr_html_()}{whose}before you count on it.</small></p>"


def _read_measured(_: Lathe, values: Mapping[str, object]) -> tuple[Fraction, Fraction]:
    return read_measured(values.get("measured"), values.get("limit"))


def _wrong_lead(answer: BenchAnswer, measured: tuple[Fraction, Fraction]) -> str:
    """Which slip gives the lead that was measured."""
    return explain_wrong_lead(answer.lathe, answer.chosen, *measured)._repr_html_()


def _dial(answer: BenchAnswer, _: None) -> str:
    """When the half-nuts may be closed."""
    return dial(answer.lathe, answer.chosen)._repr_html_()


def _read_mounted(lathe: Lathe, values: Mapping[str, object]) -> Train | None:
    text = values.get("mounted")
    if text is None or (isinstance(text, str) and not text.strip()):
        return None
    try:
        mounted = read_train(str(text))
        lathe.check_owned(mounted.gears)
    except GearcalcError as problem:
        raise problem.at("now mounted") from None
    return mounted


def _change_over(answer: BenchAnswer, mounted: Train | None) -> str:
    """The sheet to take to the machine, from what is mounted now, if that is told."""
    return change_card(answer.lathe, to=answer.chosen, mounted=mounted)._repr_html_()


def _read_chart(_: Lathe, values: Mapping[str, object]) -> tuple[Thread, ...]:
    return tuple(threads_listed(split_threads(str(values.get("threads") or "")), MOST_ROWS))


def _chart(answer: BenchAnswer, threads: tuple[Thread, ...]) -> str:
    """Many threads on this lathe."""
    return table_html(_chart_of(answer.lathe, threads), "A chart for this lathe")


@lru_cache(maxsize=8)
def _chart_of(lathe: Lathe, threads: tuple[Thread, ...]) -> tuple[Row, ...]:
    """Kept, since the chart is the same whichever row is chosen."""
    return tuple(_chart_row(lathe, row) for row in chart_rows(lathe, threads))


def _chart_row(lathe: Lathe, row: ChartRow) -> Row:
    found = row.setup
    if found is None:
        return {"thread": str(row.thread), "train": "none"}
    return {
        "thread": str(row.thread),
        "train": found.train.written,
        "lever": found.settings or None,
        "lead": writing.length(found.lead_mm),
        "error": "" if found.error is None else writing.error(found.error),
        "goes on": "not checked" if found.fit is None else "yes" if found.fit.goes_on else "no",
        "good enough": verdict_in_words(BenchAnswer(lathe, found).verdict),
        "gears moved": row.moved,
    }


PARTS: dict[str, Part] = {
    "will it go on": _fit,
    "why this lead": _why,
    "does the error matter": _matters,
    "catch the thread": _dial,
    "change over": _change_over,
    "wrong lead": _wrong_lead,
    "chart": _chart,
}
"""The parts of the page, in their order; the first is shown at first."""
_READERS: dict[str, Reader] = {"change over": _read_mounted, "wrong lead": _read_measured, "chart": _read_chart}
