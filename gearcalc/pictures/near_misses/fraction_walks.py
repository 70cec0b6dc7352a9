"""The Stern–Brocot walk: from mediant to mediant towards a number, a row a step, the turns counted."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import as_exact
from gearcalc.finding.fractions import WalkStep, continued_fraction, stern_brocot
from gearcalc.pictures import style
from gearcalc.pictures.charts import drawn_line, sheet, shortened
from gearcalc.pictures.pictures import Picture, Row
from gearcalc.pictures.svg import Svg, element, text_line

_WIDTH = 800
_ROW_PX, _FIRST_ROW, _FOOT_PX = 31.0, 112.0, 66.0
_RUN_X, _PATH, _WORDS_X = 112.0, (150.0, 452.0), 486.0
_STEP_PX = 34.0  # a step to the side at its widest
_PILL_PX, _SUM_PX = 21.0, 240.0
_MOST_STEPS, _PLACES = 40, 5
_START = "from between 0/1 and 1/0 (beyond every fraction)"


def stern_brocot_walk(x: object, steps: int = 12) -> Picture:
    """The walk towards a number: how each mediant is made, which way it turns, how often it goes the same way.

    >>> picture = stern_brocot_walk("127/100", steps=9)
    >>> [row["from there"] for row in picture.table][:4]
    ['right', 'left', 'left', 'left']

    A row a step; the runs of equal turns are the terms of the continued fraction, and the mediant that ends a run is
    a convergent. `x` and what is raised: as for stern_brocot(). `steps`: 1 to 40.
    """
    if isinstance(steps, bool) or not isinstance(steps, int) or not 1 <= steps <= _MOST_STEPS:
        raise ValueOutOfRangeError(f"steps must be a whole number from 1 to {_MOST_STEPS}", value=steps)
    walk = stern_brocot(x, steps)
    terms = continued_fraction(x, terms=_MOST_STEPS + 2)
    runs = _runs(walk, terms)
    wanted = shortened(str(writing.number(as_exact(x))), 30)
    title = f"Walking towards {wanted}, mediant by mediant"
    caption = f"{title}: {', '.join(map(_run_in_words, runs))}."
    description = (
        f"{caption} The mediants in turn: {'; '.join(map(_step_in_words, walk))}. {_terms_in_words(runs, terms)}"
    )
    return Picture(_drawing(walk, runs, terms, title, description), description, _rows(walk, runs), caption)


@frozen
class _Run:
    """Steps that go the same way: from row `first` to row `last`; `term` is what the continued fraction says."""

    direction: str
    first: int
    last: int
    term: int
    arrives: bool = False

    @property
    def turns(self) -> int:
        return self.last - self.first + 1 - self.arrives

    @property
    def is_whole(self) -> bool:
        """Whether the walk goes to the end of this run."""
        return self.last - self.first + 1 == self.term


def _runs(walk: Sequence[WalkStep], terms: Sequence[int]) -> list[_Run]:
    """The walk in runs; arriving counts as a step of the last one."""
    turns = [step.direction for step in walk]
    if turns[-1] == "arrived":
        turns[-1] = turns[-2] if len(turns) > 1 else "right"
    sized = [(way, len(list(run))) for way, run in groupby(turns)]
    named = list(terms if terms[0] else terms[1:])
    runs, first = [], 0
    for (way, size), term in zip(sized, named, strict=False):
        runs.append(_Run(way, first, first + size - 1, term))
        first += size
    if walk[-1].direction == "arrived":
        last = runs.pop()
        runs.append(_Run(last.direction, last.first, last.last, last.term, arrives=True))
    return runs


def _run_in_words(run: _Run) -> str:
    turns = f"{run.turns} {run.direction}" if run.turns else ""
    if run.arrives:
        return f"{turns} and there" if turns else "there at once"
    return turns if run.is_whole else f"{turns} so far"


def _step_in_words(step: WalkStep) -> str:
    mediant = _fraction(step.mediant.numerator, step.mediant.denominator)
    if step.direction == "arrived":
        return f"{mediant}, there"
    return f"{mediant}, too {_size(step)}, go {step.direction}"


def _size(step: WalkStep) -> str:
    return "small" if step.direction == "right" else "large"


def _fraction(above: int, below: int) -> str:
    return f"{above}/{below}"


def _sum(step: WalkStep) -> str:
    (a, b), (c, d) = step.below, step.above
    return f"({a} + {c})/({b} + {d})"


def _terms_in_words(runs: Sequence[_Run], terms: Sequence[int]) -> str:
    shown = len(runs) + (1 if terms[0] == 0 else 0)
    rest = " …" if shown < len(terms) else ""
    nothing = " It begins with 0, since the walk does not begin to the right." if terms[0] == 0 else ""
    arrival = " Arriving counts as a step of the last run." if runs[-1].arrives else ""
    listed = ", ".join(map(str, terms[:shown]))
    return f"The lengths of the runs are the continued fraction: {listed}{rest}.{nothing}{arrival}"


def _rows(walk: Sequence[WalkStep], runs: Sequence[_Run]) -> list[Row]:
    ends = {run.last for run in runs if run.is_whole}
    return [
        {
            "step": n + 1,
            "mediant": _fraction(step.mediant.numerator, step.mediant.denominator),
            "made of": _sum(step),
            "as a decimal": writing.decimal(step.mediant, 6),
            "it is": "exact" if step.direction == "arrived" else f"too {_size(step)}",
            "from there": step.direction,
            "convergent": n in ends,
        }
        for n, step in enumerate(walk)
    ]


def _drawing(walk: Sequence[WalkStep], runs: Sequence[_Run], terms: Sequence[int], title: str, words: str) -> Svg:
    xs = _places(walk)
    ys = [_FIRST_ROW + n * _ROW_PX for n in range(len(walk))]
    height = round(ys[-1] + _FOOT_PX)
    ends = {run.last for run in runs if run.is_whole}
    guides = "".join(f"M{x:.2f} {y}H{_WORDS_X - 10}" for x, y in zip(xs, ys, strict=True))
    path = "M" + "L".join(f"{x:.2f} {y}" for x, y in zip(xs, ys, strict=True))
    return sheet(
        (_WIDTH, height),
        title,
        words,
        text_line(title, 24, 36, size=15, anchor="start", font_weight="bold"),
        text_line(_START, _WIDTH - 24, 36, size=style.SMALL_PX, anchor="end", fill=style.SOFT),
        _headings(),
        drawn_line(guides, style.FAINT, 1.0, "1.5 4"),
        drawn_line(path, style.INK, 2.0),
        *(_pill(step, x, y, n in ends) for n, (step, x, y) in enumerate(zip(walk, xs, ys, strict=True))),
        *(_row_words(step, y) for step, y in zip(walk, ys, strict=True)),
        *(_bracket(run, ys) for run in runs),
        _foot(height),
    )


def _places(walk: Sequence[WalkStep]) -> list[float]:
    """Where each mediant stands from side to side: a step right or left of the one before."""
    at, places = 0, []
    for step in walk:
        places.append(at)
        at += {"right": 1, "left": -1}.get(step.direction, 0)
    low, high = min(places), max(places)
    left, right = _PATH[0] + 34, _PATH[1] - 34
    step_px = min(_STEP_PX, (right - left) / max(high - low, 1))
    start = (left + right - (high - low) * step_px) / 2
    return [start + (place - low) * step_px for place in places]


def _headings() -> Svg:
    left, right = _PATH
    y, size = 72, style.WORD_PX
    return element(
        "g",
        text_line("runs", _RUN_X - 6, y, size=size, anchor="end"),
        text_line("← left, if too large", (left + right) / 2 - 12, y, size=size, anchor="end"),
        text_line("right, if too small →", (left + right) / 2 + 12, y, size=size, anchor="start"),
        text_line("tops added over bottoms added", _WORDS_X, y, size=size, anchor="start"),
        drawn_line(f"M24 {y + 12}H{_WIDTH - 24}", style.FAINT, 1.0),
        fill=style.SOFT,
    )


def _pill(step: WalkStep, x: float, y: float, ends_run: bool) -> Svg:
    """A mediant on the path: dark where it ends a run, boxed where the walk arrives."""
    words = _fraction(step.mediant.numerator, step.mediant.denominator)
    width, there = style.text_width_px(words, 14) + 14, step.direction == "arrived"
    x = min(max(x, _RUN_X + 8 + width / 2), _WORDS_X - 14 - width / 2)
    fill = style.VERMILLION if there else style.BLUE if ends_run else style.PAPER
    dark = there or ends_run
    return element(
        "g",
        element(
            "rect",
            x=x - width / 2,
            y=y - _PILL_PX / 2,
            width=width,
            height=_PILL_PX,
            rx=2 if there else _PILL_PX / 2,
            fill=fill,
            stroke=style.INK,
            stroke_width=1.4,
        ),
        text_line(
            words, x, y + 5, size=14, fill=style.PAPER if dark else style.INK, font_weight="bold" if dark else None
        ),
    )


def _row_words(step: WalkStep, y: float) -> Svg:
    sign = "=" if (step.mediant * 10**_PLACES).denominator == 1 else "≈"
    verdict = "there" if step.direction == "arrived" else f"too {_size(step)}: {step.direction}"
    value = f" {sign} {writing.decimal(step.mediant, _PLACES)}"
    made = _sum(step) if style.text_width_px(_sum(step) + value, style.WORD_PX) < _SUM_PX else ""
    return element(
        "g",
        text_line(made + value, _WORDS_X, y + 4.5, size=style.WORD_PX, anchor="start"),
        text_line(
            verdict,
            _WIDTH - 24,
            y + 4.5,
            size=style.WORD_PX,
            anchor="end",
            font_weight="bold" if step.direction == "arrived" else None,
        ),
    )


def _bracket(run: _Run, ys: Sequence[float]) -> Svg:
    top, bottom = ys[run.first] - 11, ys[run.last] + 11
    line = f"M{_RUN_X} {top}h-7V{bottom}h7" if run.is_whole or run.arrives else f"M{_RUN_X} {top}h-7V{bottom}"
    middle = (top + bottom) / 2
    if run.arrives:
        words = f"{run.turns} {run.direction} + 1" if run.turns else "1"
    else:
        words = f"{run.turns} {run.direction}" + ("" if run.is_whole else " …")
    return element(
        "g",
        drawn_line(line, style.INK, 1.2),
        text_line(words, _RUN_X - 16, middle + 5, size=15, anchor="end", font_weight="bold"),
    )


def _foot(height: int) -> Svg:
    y = height - 26
    parts: list[Svg] = []
    for x, words, fill, corner in (
        (24, "mediant", style.PAPER, 8),
        (136, "end of a run: a convergent", style.BLUE, 8),
        (366, "the number itself; arriving counts 1", style.VERMILLION, 2),
    ):
        parts.append(
            element(
                "rect", x=x, y=y - 13, width=30, height=16, rx=corner, fill=fill, stroke=style.INK, stroke_width=1.2
            )
        )
        parts.append(text_line(words, x + 38, y, size=style.WORD_PX, anchor="start"))
    return element("g", *parts)
