"""Fractions closing in on a number, nearer by factors of ten; and the Stern–Brocot walk towards it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from math import ceil, copysign, floor, log10

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import ExactLike, as_exact, as_fraction
from gearcalc.finding.fractions import NearFraction, WalkStep, best_fractions, continued_fraction, stern_brocot
from gearcalc.pictures import style
from gearcalc.pictures.chart_frame import LEFT_PX, Scale, chart, diamond, key, power_of_ten, shortened, swatch_of
from gearcalc.pictures.picture import Picture, Row
from gearcalc.pictures.svg import RIM, Svg, bold, disc, drawn_line, element, note, path_of, rect, shape, text_line

FUNNEL_PX = (800, 480)
"""Width and height of the funnel at its highest."""

# Closing in.

_RIGHT, _MIDDLE = 776.0, 400.0
_AXIS_Y, _FIRST_ROW, _ROW_PX, _FOOT_PX = 108.0, 114.0, 29.0, 54.0
_MOST_ROWS, _LARGEST = 18, 10**9
_TICK_PX = 34.0
_INNER_PX, _OUTER_PX = 26.0, 238.0  # how far from the middle the lines nearest to exact and farthest from it stand
_FUNNEL = style.tint(style.SKY, 0.26)


def closing_in(x: ExactLike, max_denominator: int = 100, *, height_px: int | None = None) -> Picture:
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
    if height_px is not None and (not isinstance(height_px, int) or not 300 <= height_px <= 1000):
        raise ValueOutOfRangeError("the height of this picture is from 300 to 1000 pixels", value=height_px)
    rows_px = _ROW_PX * min(len(shown), 10) + max(len(shown) - 10, 0) * 22
    height = floor(_FIRST_ROW + rows_px + _FOOT_PX) if height_px is None else height_px
    nearest = shown[-1]
    limit = writing.decimal(as_fraction(max_denominator), 0)
    comes = "is exact" if nearest.is_exact else f"is the nearest, {writing.error(nearest.error)}"
    title = f"The best fractions for {wanted} with at most {limit} below the line"
    caption = f"{title}: {writing.ratio(nearest.fraction)} {comes}."
    left_out = "" if len(shown) == len(found) else f" ({len(found) - len(shown)} simpler ones are left out)"
    description = f"{caption} They close in on it{left_out}: {'; '.join(map(_in_words, shown))}."
    drawn = _funnel_drawn(shown, wanted, height)
    return chart((FUNNEL_PX[0], height), caption, description, _funnel_rows(shown), *drawn, title=title)


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


def _funnel_drawn(shown: Sequence[NearFraction], wanted: str, height: int) -> list[Svg]:
    powers = [log10(abs(near.error_ppm)) for near in shown if near.error_ppm] or [3.0]
    inner, outer = min(0, floor(min(powers))), max(4, ceil(max(powers)))
    off = Scale(10.0**inner, 10.0**outer, _INNER_PX, _OUTER_PX, by_factors=True)  # pixels from the middle
    row_px = min(_ROW_PX, (height - _FIRST_ROW - _FOOT_PX) / len(shown))
    bottom = height - _FOOT_PX
    points = [
        (_MIDDLE + copysign(off.at(abs(near.error_ppm)), near.error_ppm) if near.error_ppm else _MIDDLE, y)
        for near, y in zip(shown, (_FIRST_ROW + (n + 0.5) * row_px for n in range(len(shown))), strict=True)
    ]
    # The tone that no simpler fraction reaches into: as wide, either way, as the best so far is off.
    right = [(_MIDDLE + abs(x - _MIDDLE), y) for x, y in points]
    left = [(2 * _MIDDLE - x, y) for x, y in reversed(right)]
    return [
        shape(path_of([*right, *left], closed=True), _FUNNEL),
        _decades(off, range(inner, outer + 1), bottom),
        drawn_line(f"M{_MIDDLE} {_AXIS_Y - 24}V{bottom}", style.VERMILLION, 1.8),
        bold(f"exactly {wanted}", _MIDDLE, _AXIS_Y - 32, size=16, anchor="middle"),
        text_line("← too small, ppm", _MIDDLE - _OUTER_PX, _AXIS_Y - 32, size=14, anchor="start"),
        text_line("too large, ppm →", _MIDDLE + _OUTER_PX, _AXIS_Y - 32, size=14, anchor="end"),
        drawn_line(path_of(points), style.SOFT),
        *(_label(near, *point) for near, point in zip(shown, points, strict=True)),
        *(_mark(near.kind, near.is_exact, *point) for near, point in zip(shown, points, strict=True)),
        key(
            LEFT_PX + 8,
            height - 26,
            (lambda x, y: _mark("convergent", False, x, y), "convergent"),
            (lambda x, y: _mark("intermediate", False, x, y), "between two convergents"),
            (lambda x, y: _mark("convergent", True, x, y), "exact"),
            (swatch_of(_FUNNEL), "no simpler fraction reaches into this"),
            gap_px=48,
        ),
    ]


def _decades(off: Scale, powers: range, bottom: float) -> Svg:
    """A line for each power of ten on either side, and what it stands for."""
    rules, words = [], []
    longest = max(_TICK_PX, *(style.text_width_px(power_of_ten(power), style.SMALL_PX) for power in powers))
    every = ceil(longest / (off.at(10.0) - off.at(1.0)))
    for power in powers:
        for side in (-1, 1):
            x = _MIDDLE + side * off.at(10.0**power)
            rules.append(f"M{x:.2f} {_AXIS_Y}V{bottom}")
            if (powers[-1] - power) % every == 0 and power > powers[0]:
                words.append(note(power_of_ten(power), x, _AXIS_Y - 7, size=style.SMALL_PX, anchor="middle"))
    return element("g", drawn_line("".join(rules), style.FAINT, 0.8), *words)


def _label(near: NearFraction, x: float, y: float) -> Svg:
    """The fraction and its error beside its mark: on the outer side, where no line comes, if there is room."""
    fraction, error = shortened(str(writing.ratio(near.fraction)), 21), str(writing.error(near.error))
    room = style.text_width_px(fraction, 15) + style.text_width_px(error, style.SMALL_PX) + 20
    outwards = -1 if near.error_ppm < 0 else 1
    way = outwards if (x - LEFT_PX if outwards < 0 else _RIGHT - x) > room else -outwards
    name = element("tspan", fraction, font_size=15, font_weight="bold")
    off = element("tspan", error, font_size=style.SMALL_PX, dx=8)
    return element("text", name, off, x=x + 12 * way, y=y + 5, text_anchor="start" if way > 0 else "end", **RIM)


def _mark(kind: str, is_exact: bool, x: float, y: float) -> Svg:
    if is_exact:
        return diamond(x, y, 9, style.VERMILLION)
    if kind == "convergent":
        return disc(x, y, 5.5, style.BLUE, width=1.5)
    return disc(x, y, 5.5, style.PAPER, style.BLUE, 2.2)


# The walk.

_WIDTH = 800
_STEP_ROW_PX, _FIRST_STEP, _WALK_FOOT_PX = 31.0, 112.0, 66.0
_RUN_X, _PATH, _WORDS_X = 126.0, (152.0, 436.0), 458.0
_STEP_PX = 34.0  # a step to the side at its widest
_PILL_PX, _SUM_PX = 21.0, 218.0
_MOST_STEPS, _PLACES = 40, 5
_BEGINNING = "from between 0/1 and 1/0 (beyond every fraction)"


def stern_brocot_walk(x: ExactLike, steps: int = 12) -> Picture:
    """The walk towards a number: how each mediant is made, which way it turns, how often it goes the same way.

    >>> picture = stern_brocot_walk("127/100", steps=9)
    >>> [row["from there"] for row in picture.table][:4]
    ['right', 'left', 'left', 'left']

    A row a step; the runs of equal turns are the terms of the continued fraction, and the mediant that ends a run is
    a convergent. `x` and what is raised: as for stern_brocot(). `steps`: 1 to 40.
    """
    walk = stern_brocot(x, as_whole(steps, what="steps", most=_MOST_STEPS))
    terms = continued_fraction(x, terms=_MOST_STEPS + 2)
    runs = _runs(walk, terms)
    wanted = shortened(str(writing.number(as_exact(x))), 30)
    title = f"Walking towards {wanted}, mediant by mediant"
    caption = f"{title}: {', '.join(map(_run_in_words, runs))}."
    description = (
        f"{caption} The mediants in turn: {'; '.join(map(_step_in_words, walk))}. {_terms_in_words(runs, terms)}"
    )
    ys = [_FIRST_STEP + n * _STEP_ROW_PX for n in range(len(walk))]
    size = _WIDTH, round(ys[-1] + _WALK_FOOT_PX)
    return chart(size, caption, description, _walk_rows(walk, runs), *_walk_drawn(walk, runs, ys, size[1]), title=title)


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


def _walk_drawn(walk: Sequence[WalkStep], runs: Sequence[_Run], ys: Sequence[float], height: int) -> list[Svg]:
    places = list(zip(_places(walk), ys, strict=True))
    ends = {run.last for run in runs if run.is_whole}
    guides = "".join(f"M{x:.2f} {y}H{_WORDS_X - 10}" for x, y in places)
    middle = sum(_PATH) / 2
    return [
        note(_BEGINNING, _WIDTH - LEFT_PX, 36, size=style.SMALL_PX, anchor="end"),
        note("runs", _RUN_X - 6, 72, anchor="end"),
        note("← left, if too large", middle - 12, 72, anchor="end"),
        note("right, if too small →", middle + 12, 72),
        note("tops added over bottoms added", _WORDS_X, 72),
        drawn_line(f"M{LEFT_PX} 84H{_WIDTH - LEFT_PX}", style.FAINT),
        drawn_line(guides, style.FAINT, 1.0, "1.5 4"),
        drawn_line(path_of(places), style.INK, 2.0),
        *(_pill(step, x, y, n in ends) for n, (step, (x, y)) in enumerate(zip(walk, places, strict=True))),
        *(_row_words(step, y) for step, y in zip(walk, ys, strict=True)),
        *(_bracket(run, ys) for run in runs),
        *_foot(height - 26),
    ]


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


def _pill(step: WalkStep, x: float, y: float, ends_run: bool) -> Svg:
    """A mediant on the path: dark where it ends a run, boxed where the walk arrives."""
    words = _fraction(step.mediant.numerator, step.mediant.denominator)
    half, there = style.text_width_px(words, 14) / 2 + 7, step.direction == "arrived"
    x = min(max(x, _RUN_X + 8 + half), _WORDS_X - 14 - half)
    fill = style.VERMILLION if there else style.BLUE if ends_run else style.PAPER
    letters = {"fill": style.PAPER, "font_weight": "bold"} if there or ends_run else {}
    top, bottom = y - _PILL_PX / 2, y + _PILL_PX / 2
    pill = rect(x - half, top, x + half, bottom, fill, style.INK, 1.4, rx=2 if there else _PILL_PX / 2)
    return element("g", pill, text_line(words, x, y + 5, size=14, **letters))


def _row_words(step: WalkStep, y: float) -> Svg:
    sign = "=" if writing.ends(step.mediant, _PLACES) else "≈"
    value = f" {sign} {writing.decimal(step.mediant, _PLACES)}"
    made = _sum(step) if style.text_width_px(_sum(step) + value, style.WORD_PX) < _SUM_PX else ""
    words, weight = f"too {_size(step)}: {step.direction}", None
    if step.direction == "arrived":
        words, weight = "there", "bold"
    verdict = text_line(words, _WIDTH - LEFT_PX, y + 4.5, anchor="end", font_weight=weight)
    return element("g", text_line(made + value, _WORDS_X, y + 4.5, anchor="start"), verdict)


def _bracket(run: _Run, ys: Sequence[float]) -> Svg:
    top, bottom = ys[run.first] - 11, ys[run.last] + 11
    line = f"M{_RUN_X} {top}h-7V{bottom}" + "h7" * (run.is_whole or run.arrives)
    words = f"{run.turns} {run.direction}"
    if run.arrives:
        words = f"{words} + 1" if run.turns else "1"
    elif not run.is_whole:
        words += " …"
    return element("g", drawn_line(line, width=1.2), bold(words, _RUN_X - 16, (top + bottom) / 2 + 5, anchor="end"))


def _foot(y: float) -> list[Svg]:
    parts = []
    for x, words, fill, corner in (
        (24, "mediant", style.PAPER, 8),
        (136, "end of a run: a convergent", style.BLUE, 8),
        (366, "the number itself; arriving counts 1", style.VERMILLION, 2),
    ):
        parts.append(rect(x, y - 13, x + 30, y + 3, fill, style.INK, rx=corner))
        parts.append(text_line(words, x + 38, y, anchor="start"))
    return parts
