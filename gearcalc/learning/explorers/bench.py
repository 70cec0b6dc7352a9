"""The bench: one page from a box of gears and a thread to setups, pictures, reasons, error, verdict and fit."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Any

from attrs import frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.errors import GearcalcError, NotPossibleError
from gearcalc.basics.exact import INCH_MM
from gearcalc.cutting.catching import dial
from gearcalc.cutting.wrong_leads import explain_wrong_lead, read_measured
from gearcalc.finding.choosing import First
from gearcalc.finding.search import SetupList, find_setups
from gearcalc.finding.setups import Setup, setup
from gearcalc.finding.straight_across import fit_not_checked, straight_across
from gearcalc.fits.geometry import lacking
from gearcalc.lathes import Lathe, as_lathe, demo_lathe
from gearcalc.lathes.orders import HOW_MOVED_COUNTS
from gearcalc.lathes.trains import Train
from gearcalc.learning import own_lathe
from gearcalc.learning.explorers import page, typed
from gearcalc.learning.explorers.first_lessons import cut_view
from gearcalc.learning.explorers.handed import as_handed, as_text
from gearcalc.learning.explorers.near_misses import PAIRS, verdict_in_words
from gearcalc.learning.explorers.typed_lathe import FROM_FILE, LATHES, lathe_texts, read_bench_lathe, settle
from gearcalc.papers.change_cards import change_card
from gearcalc.pictures.bracket_pictures import bracket_picture
from gearcalc.pictures.picture import Picture, Row, table_html
from gearcalc.planning.charts import MOST_ROWS, ChartRow, chart_rows
from gearcalc.planning.gear_moves import as_it_stands
from gearcalc.threads import Feed, Thread
from gearcalc.threads.deviations import LENGTHS_MM, Verdict, deviation_in_words, judge
from gearcalc.threads.series import threads_listed

Part = Callable[[Setup, Any], str]
Reader = Callable[[Lathe, Mapping[str, object]], Any]


def part_html(name: str, chosen: Setup, values: Mapping[str, object]) -> str:
    """A part by its name; where there is no answer the reason stands in its place, so that the rest of the page stays.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> chosen = setup(demo_lathe("inch"), 40, 80, "middle", wanted="16 tpi")
    >>> "does it go on" in part_html("will it go on", chosen, {}).lower()
    True

    `chosen`: as it goes on, idlers added; `values`: of the page's controls. Another part is one more function and one
    more line in PARTS; a control that only it needs is entered in bench().
    Raises our errors for what was typed into the controls of the part and can't be read.
    """
    given = _READERS[name](chosen.lathe, values) if name in _READERS else None
    try:
        return PARTS[name](chosen, given)
    except GearcalcError as problem:
        return f"<p><strong>Mind:</strong> {markup.in_html(str(problem))}</p>"


def _why(chosen: Setup, _: None) -> str:
    """From one turn of the spindle to the lead in short, all steps folded below: plain text that needs no MathJax."""
    from gearcalc.deriving.derivations import derive  # loads sympy, which takes as long as all the rest of a page

    derivation = derive(chosen)
    lines = [
        (line.name, line.says if isinstance(line.says, str) else line.says.equation_text) for line in derivation.lines
    ]
    steps = "".join(
        f'<li>{markup.in_html(step.words)}<span class="gearcalc-sum">{markup.in_html(step.equation_text)}</span></li>'
        for step in derivation.steps
    )
    all_steps = f"<details><summary>All steps, one at a time</summary><ol>{steps}</ol></details>"
    return markup.html_table(derivation.title, lines) + all_steps


def _matters(chosen: Setup, _: None) -> str:
    """How far off over some lengths, and the verdict."""
    verdict = _verdict(chosen)
    if verdict is not None:
        return verdict._repr_html_()
    if not isinstance(chosen.wanted, Feed) or chosen.error is None:
        return "<p>Nothing is wanted, so nothing is off.</p>"
    rows: list[tuple[str, str | markup.Written]] = [("error", writing.error(chosen.error))]
    units = chosen.lathe.units
    rows += [
        (f"over {writing.cut(mm, units)}", deviation_in_words(chosen.error, mm, units)) for mm in LENGTHS_MM[units]
    ]
    return markup.html_table(f"The feed {chosen.wanted}", rows, note="A feed has no tolerance: near will do.")


def _fit(chosen: Setup, _: None) -> str:
    """Whether it goes on, where everything then stands, and what is tight; or what stops it."""
    if chosen.fit is None:
        what, remedy = lacking(chosen.lathe)
        said = f"Not checked: does it go on? The file of this lathe has {what}. {remedy} Then this page will say. "
        said += straight_across([chosen])
        return f"<p>{markup.in_html(said)}</p>"
    whose = f"<p><small>Does it go on? Asked of the bracket of: {markup.in_html(chosen.lathe.name)}. Measure your own "
    return f"{chosen.fit._repr_html_()}{whose}before you count on it.</small></p>"


def _read_measured(_: Lathe, values: Mapping[str, object]) -> tuple[Fraction, Fraction]:
    return read_measured(values.get("measured"), values.get("limit"))


def _read_mounted(lathe: Lathe, values: Mapping[str, object]) -> Setup | Train | None:
    text = values.get("mounted")
    text = "" if text is None else as_text(text, "now mounted")
    return as_it_stands(lathe, *_read_own_train(lathe, text, "now mounted")) if text.strip() else None


def _read_chart(_: Lathe, values: Mapping[str, object]) -> tuple[Thread, ...]:
    return tuple(threads_listed(typed.split_threads(as_text(values.get("threads", ""), "the threads")), MOST_ROWS))


@lru_cache(maxsize=8)
def _chart(lathe: Lathe, threads: tuple[Thread, ...]) -> str:
    """Kept, since the chart is the same whichever row is chosen."""
    rows = chart_rows(lathe, threads)
    letters = page.letters_of([row.setup for row in rows if row.setup is not None])
    counted = HOW_MOVED_COUNTS if any(row.moved for row in rows) else ""
    unchecked = fit_not_checked(row.setup for row in rows)
    below = "".join(f"<p>{markup.in_html(words)}</p>" for words in (letters, counted, *unchecked) if words)
    return table_html([_chart_row(row) for row in rows], "A chart for this lathe") + below


def _chart_row(row: ChartRow) -> Row:
    found = row.setup
    if found is None:
        return {"thread": str(row.thread), "train": "none"}
    return {
        "thread": str(row.thread),
        "train": page.train_of(found),
        "lever": found.settings or None,
        "lead": found.written_lead,
        "error": page.error_of(found),
        "goes on": _goes_on(found),
        "good enough": verdict_in_words(_verdict(found)),
        "gears moved": row.moved,
    }


PARTS: dict[str, Part] = {
    "will it go on": _fit,
    "why this lead": _why,
    "does the error matter": _matters,
    "catch the thread": lambda chosen, _: dial(chosen.lathe, chosen)._repr_html_(),
    "change over": lambda chosen, mounted: change_card(chosen.lathe, to=chosen, mounted=mounted)._repr_html_(),
    "wrong lead": lambda chosen, measured: explain_wrong_lead(chosen, *measured)._repr_html_(),
    "chart": lambda chosen, threads: _chart(chosen.lathe, threads),
}
"""The parts of the page, in their order; the first is shown at first."""
_READERS: dict[str, Reader] = {"change over": _read_mounted, "wrong lead": _read_measured, "chart": _read_chart}


MOST_ANSWERS = 6
LISTED = {"what goes on": (True, False), "one of each ratio": (True, True), "all": (False, False)}
"""Which setups are listed, in words: whether they must go on, and whether equal ratios are left out."""


FIRST: dict[str, First] = {"the simplest": "simplest", "the nearest": "nearest"}
"""Which setup comes first, in words: the simplest that is good enough to choose, or the nearest."""


@frozen(kw_only=True)
class BenchView(page.View):
    """The setups found as facts, the one chosen drawn, and a part about it; shows itself as all three."""

    lathe: Lathe
    answers: tuple[Setup, ...]
    chosen: Setup
    part_html: str

    @property
    def said(self) -> str:
        return str(self.chosen)

    @property
    def facts_html(self) -> str:
        return self.part_html

    @property
    def tables(self) -> dict[str, Any]:
        """The rows to choose from, as text, for the shell."""
        rows = [list(row.values()) for row in self.facts]
        return {"answer": {"head": list(self.facts[0]), "rows": rows, "note": self.note}}

    def _repr_html_(self) -> str:
        note = f"<p>{markup.held_together(markup.in_html(self.note))}</p>" if self.note else ""
        rows = table_html(self.facts, f"Setups on: {self.lathe.name}")
        return self.picture._repr_html_() + rows + note + self.part_html


@as_handed
def bench_view(
    *,
    lathe: str | Lathe = "inch",
    file: str = "",
    gears: str | None = None,
    leadscrew: str | None = None,
    levers: str | None = None,
    thread: str = "M10",
    train: str = "",
    pairs: str = "up to three",
    listed: str = "what goes on",
    first: str = "the simplest",
    answer: object = 1,
    part: str = "will it go on",
    **more: object,
) -> BenchView:
    """The best setups for a thread (or a feed) on a lathe, one of them drawn, and a part about that one.

    >>> view = bench_view(lathe="metric", thread="M10")
    >>> print(view.chosen)
    40/80, idler 48, lever fast: lead 1.5 mm (≈ 16.933 tpi), exact
    >>> bench_view(lathe="inch", thread="16 tpi", train="30/60").tables["answer"]["rows"][0][4]
    'yes'

    `lathe`: 'inch', 'metric', 'file' with the text in `file`, or a Lathe; `gears`, `leadscrew`, `levers`: what was
    typed, None for the lathe's own; `train`: one to look at besides, or nothing; `pairs`: a key of PAIRS; `listed`: of
    LISTED; `first`: of FIRST; `answer`: which of the rows, 1 the first; `part`: a key of PARTS; `more`: what parts
    have controls for.
    Raises our errors for what can't be read, NotPossibleError when nothing is found and no train is given.
    """
    own = read_bench_lathe(lathe, file, gears, leadscrew, levers)
    for name, given, known in (
        ("pairs", pairs, PAIRS),
        ("list", listed, LISTED),
        ("first", first, FIRST),
        ("part", part, PARTS),
    ):
        typed.one_of(given, name, known)
    mine = _own_train(own, train, thread)
    found, why, rows = _found(own, thread, PAIRS[pairs], *LISTED[listed], FIRST[first])
    answers = (*mine, *found)
    if not answers:
        raise NotPossibleError("there is no train for this", remedy=why)
    place = typed.read_place(answer, "the answer", len(answers), 100)
    chosen = answers[place - 1]
    return BenchView(
        picture=_drawn(own, chosen),
        facts=(*(_row(0, one) for one in mine), *rows),
        note=" ".join(filter(None, (why, page.letters_of(answers)))),
        settled={"answer": place},
        lathe=own,
        answers=answers,
        chosen=chosen,
        part_html=part_html(part, chosen, more),
    )


@lru_cache(maxsize=32)
def _drawn(lathe: Lathe, one: Setup) -> Picture:
    """Kept, since a hand goes to and fro between rows."""
    return bracket_picture(lathe, one) if one.fit else cut_view(lathe, one, tall=True).picture


def _row(number: int, one: Setup) -> Row:
    lead = one.feed_mm if one.feed_mm is not None else one.lead_mm
    travel = {"lead": str(writing.length(lead)), "tpi": writing.tpi(lead, starts=one.starts)}
    if one.lathe.units == "inch":
        inches = {} if one.feed_mm is None else {"in/rev": str(writing.rounded(lead / INCH_MM, 5))}
        both = both_units.travel(lead, "inch") if one.feed_mm is None else travel["lead"]
        travel = inches | {"tpi": travel["tpi"], "lead": str(both)}
    return {
        "answer": str(number) if number else "yours",
        "train": _unbroken(page.train_of(one)),
        "lever": one.settings or "–",
        "error": page.error_of(one),
        "goes on": _goes_on(one),
        "good enough": verdict_in_words(_verdict(one)),
        **travel,
    }


@lru_cache(maxsize=32)
def _found(
    lathe: Lathe, thread: str, meshes: tuple[int, ...], must_fit: bool, one_per_ratio: bool, first: First
) -> tuple[tuple[Setup, ...], str, tuple[Row, ...]]:
    """The best setups as they go on, and why the first is that, or why there is none, and their rows; kept, since a
    hand moves from row to row."""

    def ask(must_fit: bool) -> SetupList:
        return find_setups(
            lathe, thread, meshes, MOST_ANSWERS, must_fit=must_fit, one_per_ratio=one_per_ratio, first=first
        )

    found = ask(must_fit)
    why = found.reason or found.why
    if not found and must_fit and ask(False):
        why += " Choose 'all' under List to see what stops those that there are."
    built = tuple(one.as_built for one in found)
    return built, why, tuple(_row(number, one) for number, one in enumerate(built, 1))


def _own_train(lathe: Lathe, text: str, thread: str) -> tuple[Setup, ...]:
    """The train that someone typed, with the lever that brings it nearest to what is wanted; none for no text."""
    if not text.strip():
        return ()
    train, lever = _read_own_train(lathe, text, "own train")
    levers: list[str | None] = [lever] if lever else [*lathe.levers] or [None]
    made = [setup(lathe, train.drivers, train.driven, lever, train.idlers, wanted=thread) for lever in levers]
    return (min(made, key=lambda one: abs(one.error_ppm or 0.0)).as_built,)


def _read_own_train(lathe: Lathe, text: str, box: str) -> tuple[Train, str | None]:
    train, lever = typed.read_train(lathe, text, box)
    try:
        lathe.check_owned(train)
    except GearcalcError as problem:
        raise problem.at(box) from None
    return train, lever


def _verdict(one: Setup) -> Verdict | None:
    """Whether its error matters; None for a feed."""
    if not isinstance(one.wanted, Thread) or one.error is None:
        return None
    return judge(one.wanted, one.error, units=one.lathe.units)


def _goes_on(one: Setup) -> str:
    return "not checked" if one.fit is None else "yes" if one.fit.goes_on else "no"


def _unbroken(train: str) -> str:
    """The train for a narrow column: it may break before its idlers, and nowhere else."""
    gears, comma, idlers = train.partition(", ")
    return gears.replace(" ", "\u00a0") + comma + idlers


def _begin_with(lathe: Lathe) -> str:
    """Which of the lathes to begin with it is: a demo lathe by its name, any other from its file."""
    return next((name for name in LATHES if name != FROM_FILE and demo_lathe(name) == lathe), FROM_FILE)


_CHARTED = "M4, M5, M6, M8, M10, M12, 1/4-20 UNC, 3/8-16 UNC, 1/2-13 UNC"


@as_handed
def bench(lathe: str | Lathe = "inch", thread: str = "M10", *, part: str = "will it go on") -> page.Explorer:
    """Type your gears and a thread: which setups cut it, does it matter, does it go on, and why that lead?

    >>> explorer = bench("metric", "16 tpi")
    >>> explorer.set(gears="20 30 40 40 50 60 80 127", levers="")
    >>> str(explorer.shown.chosen.train), explorer.shown.chosen.is_exact
    ('(127 · 20)/(60 · 80)', True)

    `lathe`: 'inch', 'metric' or 'odd' for a demo lathe, or a Lathe, whose file then stands on the page; `thread`: a
    thread or a feed, as text; `part`: what is shown of the setup chosen at first, a key of PARTS. A lathe that comes
    to stand for the page is taken up.
    Raises UnknownNameError for another lathe.
    """
    start = demo_lathe(lathe) if isinstance(lathe, str) else as_lathe(lathe)
    begin = lathe if isinstance(lathe, str) else _begin_with(start)
    texts = lathe_texts(start)
    measured = page.text_box("measured", "Measured", "1.5"), page.text_box("limit", "± mm", "0.02")
    controls = [
        page.choice("lathe", "Begin with", LATHES, begin, LATHES.values(), wide=True),
        page.text_box("gears", "Your gears", texts["gears"], wide=True),
        page.text_box("leadscrew", "Leadscrew", texts["leadscrew"]),
        page.text_box("levers", "Levers", texts["levers"], wide=bool(start.box)),
        page.text_box("thread", "Wanted", thread),
        page.text_box("train", "Own train", ""),
        page.choice("pairs", "Pairs", PAIRS, "up to three", wide=True),
        page.choice("listed", "List", LISTED, "what goes on", wide=True),
        page.choice("first", "First", FIRST, "the simplest", wide=True),
        page.folded_text(
            "file", "A whole lathe file, with its bracket", start.to_toml(), "Use this lathe", ("lathe", FROM_FILE)
        ),
        page.row_chooser("answer", "Setups, best first", height_px=300),
        *page.below(
            page.choice("part", "Show", PARTS, part, wide=True),
            *page.only_with("part", "wrong lead", *measured),
            *page.only_with("part", "change over", page.text_box("mounted", "Now mounted", "", wide=True)),
            *page.only_with("part", "chart", page.text_box("threads", "Threads", _CHARTED, wide=True)),
        ),
    ]
    made = page.explorer("Bench", controls, bench_view, settle=settle, facts_px=380)
    own_lathe.follow(made, lambda one, lathe: one.set(lathe=FROM_FILE, file=lathe.to_toml()))
    return made
