"""Fractions closing in on a number, nearer by factors of ten; and the Stern–Brocot walk towards it."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import groupby
from math import ceil, floor, log10

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import as_exact, as_fraction
from gearcalc.finding.fractions import NearFraction, WalkStep, best_fractions, continued_fraction, stern_brocot
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import RIM, drawn_line, sheet, shortened
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import Svg, element, text_line

FUNNEL_PX = (800, 480)
"""Width and height of the picture at its highest."""

_LEFT, _RIGHT, _MIDDLE = 24.0, 776.0, 400.0
_AXIS_Y, _FIRST_ROW, _ROW_PX, _FOOT_PX = 108.0, 114.0, 29.0, 54.0
_MOST_ROWS, _LARGEST = 18, 10**9
_TICK_PX = 34.0
_INNER_PX, _OUTER_PX = 26.0, 238.0  # how far from the middle the lines nearest to exact and farthest from it stand


def closing_in(x: object, max_denominator: object = 100, *, height_px: int | None = None) -> Picture:
    """The best fractions for a number, simplest first, each as far from the middle as it is off, on its own side.

    >>> picture = closing_in("127/100", max_denominator=63)
    >>> picture.caption
    'The best fractions for 1.27 with at most 63 below the line: 80/63 is the nearest, −125 ppm.'

    Distance from the middle goes by factors of ten, so that a funnel closes on the number wanted.
    `x`, `max_denominator` (at most 10^9) and what is raised: as for best_fractions(); of more than 18 fractions the
    last 18 are shown. `height_px`: of the picture, 300 to 1000; None: as high as its rows.
    """
    if as_fraction(max_denominator, what="max_denominator") > _LARGEST:
        raise ValueOutOfRangeError(f"this picture goes up to {_LARGEST} below the line", value=max_denominator)
    found = best_fractions(x, max_denominator=max_denominator)
    wanted = shortened(str(writing.number(as_exact(x))), 30)
    shown = found[-_MOST_ROWS:]
    height = _height(height_px, len(shown))
    nearest = shown[-1]
    limit = writing.decimal(as_fraction(max_denominator), 0)
    comes = "is exact" if nearest.is_exact else f"is the nearest, {writing.error(nearest.error)}"
    title = f"The best fractions for {wanted} with at most {limit} below the line"
    caption = f"{title}: {writing.ratio(nearest.fraction)} {comes}."
    left_out = "" if len(shown) == len(found) else f" ({len(found) - len(shown)} simpler ones are left out)"
    description = f"{caption} They close in on it{left_out}: {'; '.join(map(_in_words, shown))}."
    return Picture(_funnel_drawn(shown, wanted, height, title, description), description, _funnel_rows(shown), caption)


def _height(given: int | None, rows: int) -> int:
    if given is None:
        return floor(_FIRST_ROW + _ROW_PX * min(rows, 10) + max(rows - 10, 0) * 22 + _FOOT_PX)
    if not isinstance(given, int) or not 300 <= given <= 1000:
        raise ValueOutOfRangeError("the height of this picture is from 300 to 1000 pixels", value=given)
    return given


def _in_words(near: NearFraction) -> str:
    if near.is_exact:
        return f"{writing.ratio(near.fraction)}, exact"
    return f"{writing.ratio(near.fraction)}, {writing.ppm(near.error_ppm)} too {_side(near)}"


def _side(near: NearFraction) -> str:
    return "large" if near.error_ppm > 0 else "small"


def _funnel_rows(shown: Sequence[NearFraction]) -> list[Row]:
    return [
        {
            "fraction": writing.ratio(near.fraction),
            "as a decimal": writing.decimal(near.fraction, 7),
            "error": writing.error(near.error),
            "it is": "exact" if near.is_exact else f"too {_side(near)}",
            "kind": near.kind,
        }
        for near in shown
    ]


@frozen
class _Axis:
    """Where an error stands: from `inner` to `outer`, powers of ten of ppm, on either side of the middle."""

    inner: int
    outer: int

    @classmethod
    def of(cls, shown: Sequence[NearFraction]) -> _Axis:
        sizes = [abs(near.error_ppm) for near in shown if near.error_ppm]
        powers = [log10(size) for size in sizes] or [3.0]
        return cls(min(0, floor(min(powers))), max(4, ceil(max(powers))))

    def off(self, ppm: float) -> float:
        """Pixels from the middle, for an error of that size."""
        if ppm == 0:
            return 0.0
        share = (log10(abs(ppm)) - self.inner) / (self.outer - self.inner)
        return _INNER_PX + share * (_OUTER_PX - _INNER_PX)

    def x(self, ppm: float) -> float:
        return _MIDDLE + (self.off(ppm) if ppm > 0 else -self.off(ppm))


def _funnel_drawn(shown: Sequence[NearFraction], wanted: str, height: int, title: str, description: str) -> Svg:
    axis = _Axis.of(shown)
    row_px = min(_ROW_PX, (height - _FIRST_ROW - _FOOT_PX) / len(shown))
    ys = [_FIRST_ROW + (n + 0.5) * row_px for n in range(len(shown))]
    bottom = height - _FOOT_PX
    points = [(axis.x(near.error_ppm), y) for near, y in zip(shown, ys, strict=True)]
    return sheet(
        (FUNNEL_PX[0], height),
        title,
        description,
        text_line(title, _LEFT, 36, size=15, anchor="start", font_weight="bold"),
        _funnel(axis, shown, ys),
        _decades(axis, bottom),
        _middle(wanted, bottom),
        drawn_line("M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points), style.SOFT, 1.0),
        *(_label(near, *point) for near, point in zip(shown, points, strict=True)),
        *(_mark(near.kind, near.is_exact, *point) for near, point in zip(shown, points, strict=True)),
        _key(height),
    )


def _funnel(axis: _Axis, shown: Sequence[NearFraction], ys: Sequence[float]) -> Svg:
    """The tone that no simpler fraction reaches into: as wide, either way, as the best so far is off."""
    right = [(_MIDDLE + axis.off(near.error_ppm), y) for near, y in zip(shown, ys, strict=True)]
    left = [(2 * _MIDDLE - x, y) for x, y in reversed(right)]
    path = "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in [*right, *left]) + "Z"
    return element("path", d=Svg(path), fill=style.tint(style.SKY, 0.26))


def _decades(axis: _Axis, bottom: float) -> Svg:
    """A line for each power of ten on either side, and what it stands for."""
    rules, words = [], []
    powers = range(axis.inner, axis.outer + 1)
    longest = max(_TICK_PX, style.text_width_px(_power(axis.inner), style.SMALL_PX))
    every = ceil(longest / (axis.off(10.0) - axis.off(1.0)))
    for power in powers:
        for side in (-1, 1):
            x = _MIDDLE + side * axis.off(10.0**power)
            rules.append(f"M{x:.2f} {_AXIS_Y}V{bottom}")
            if (axis.outer - power) % every == 0 and power > axis.inner:
                words.append(text_line(_power(power), x, _AXIS_Y - 7, size=style.SMALL_PX, fill=style.SOFT))
    return element("g", drawn_line("".join(rules), style.FAINT, 0.8), *words)


def _power(power: int) -> str:
    """A power of ten of ppm as short as can be: per cent from 1 % on."""
    if power >= 4:
        return f"{10 ** (power - 4)} %"
    return writing.decimal(Fraction(10) ** power, 30)


def _middle(wanted: str, bottom: float) -> Svg:
    return element(
        "g",
        drawn_line(f"M{_MIDDLE} {_AXIS_Y - 24}V{bottom}", style.VERMILLION, 1.8),
        text_line(f"exactly {wanted}", _MIDDLE, _AXIS_Y - 32, size=16, font_weight="bold"),
        text_line("← too small, ppm", _MIDDLE - _OUTER_PX, _AXIS_Y - 32, size=14, anchor="start"),
        text_line("too large, ppm →", _MIDDLE + _OUTER_PX, _AXIS_Y - 32, size=14, anchor="end"),
    )


def _label(near: NearFraction, x: float, y: float) -> Svg:
    """The fraction and its error beside its mark: on the outer side, where no line comes, if there is room."""
    fraction, error = shortened(str(writing.ratio(near.fraction)), 21), str(writing.error(near.error))
    room = style.text_width_px(fraction, 15) + style.text_width_px(error, style.SMALL_PX) + 20
    outwards = -1 if near.error_ppm < 0 else 1
    way = outwards if (x - _LEFT if outwards < 0 else _RIGHT - x) > room else -outwards
    name = element("tspan", fraction, font_size=15, font_weight="bold")
    off = element("tspan", error, font_size=style.SMALL_PX, dx=8)
    return element("text", name, off, x=x + 12 * way, y=y + 5, text_anchor="start" if way > 0 else "end", **RIM)


def _mark(kind: str, is_exact: bool, x: float, y: float) -> Svg:
    if is_exact:
        path = f"M{x:.2f} {y - 9:.2f}l9 9l-9 9l-9 -9Z"
        return element("path", d=Svg(path), fill=style.VERMILLION, stroke=style.INK, stroke_width=1.5)
    full = kind == "convergent"
    return element(
        "circle",
        cx=x,
        cy=y,
        r=5.5,
        fill=style.BLUE if full else style.PAPER,
        stroke=style.INK if full else style.BLUE,
        stroke_width=1.5 if full else 2.2,
    )


def _key(height: int) -> Svg:
    y = height - 26
    entries = (
        ("convergent", False, "convergent"),
        ("intermediate", False, "between two convergents"),
        ("convergent", True, "exact"),
    )
    parts, x = [], _LEFT + 8
    for kind, is_exact, words in entries:
        parts.append(_mark(kind, is_exact, x, y - 4.5))
        parts.append(text_line(words, x + 14, y, size=style.WORD_PX, anchor="start"))
        x += style.text_width_px(words, style.WORD_PX) + 48
    tone = element("rect", x=x, y=y - 14, width=26, height=16, fill=style.tint(style.SKY, 0.26), stroke=style.FAINT)
    said = text_line("no simpler fraction reaches into this", x + 34, y, size=style.WORD_PX, anchor="start")
    return element("g", *parts, tone, said)


# The Stern–Brocot walk: from mediant to mediant towards a number, a row a step, the turns counted.


_WIDTH = 800
_STEP_ROW_PX, _FIRST_STEP, _WALK_FOOT_PX = 31.0, 112.0, 66.0
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
    return Picture(_walk_drawn(walk, runs, terms, title, description), description, _walk_rows(walk, runs), caption)


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


def _walk_rows(walk: Sequence[WalkStep], runs: Sequence[_Run]) -> list[Row]:
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


def _walk_drawn(walk: Sequence[WalkStep], runs: Sequence[_Run], terms: Sequence[int], title: str, words: str) -> Svg:
    xs = _places(walk)
    ys = [_FIRST_STEP + n * _STEP_ROW_PX for n in range(len(walk))]
    height = round(ys[-1] + _WALK_FOOT_PX)
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
