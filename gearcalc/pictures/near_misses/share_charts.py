"""How much of its tolerance the pitch error of each thread uses up, a row a thread."""

from __future__ import annotations

from collections.abc import Sequence
from math import log10

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.pictures import style
from gearcalc.pictures.charts import drawn_line, over_lines, sheet, shortened
from gearcalc.pictures.pictures import Picture, Row
from gearcalc.pictures.svg import Svg, element, text_line
from gearcalc.threads.deviations import Verdict

SHARES_PX = (800, 420)
"""Width and height of the picture."""

_LEFT, _RIGHT, _TOP, _BOTTOM = 176.0, 588.0, 92.0, 356.0
_ERROR_X, _SHARE_X = 686.0, 776.0
_LEAST, _MOST = 0.0001, 10.0  # of the tolerance; what lies beyond stands at the end
_LARGEST_ROW_PX, _MOST_ROWS = 34.0, 16
_DONE, _OVER, _BEYOND = style.tint(style.SKY, 0.16), style.tint(style.ORANGE, 0.32), style.tint(style.VERMILLION, 0.5)


def tolerance_shares(verdicts: Sequence[Verdict]) -> Picture:
    """The share of its tolerance that each thread's pitch error uses up, by factors of ten, with the share allowed.

    >>> from gearcalc.threads.deviations import judge
    >>> print(tolerance_shares([judge("M10", 125), judge("1.25 mm", -50)]).description)  # doctest: +ELLIPSIS
    How much ...: M10x1.5, +125 ppm: 1.6 % of the tolerance, good enough; 1.25 mm, −50 ppm: not judged.

    `verdicts`: 1 to 16, from judge(), with the same share allowed. Raises ValueOutOfRangeError otherwise.
    """
    if not 1 <= len(verdicts) <= _MOST_ROWS or len({verdict.share for verdict in verdicts}) > 1:
        raise ValueOutOfRangeError(
            f"this shows 1 to {_MOST_ROWS} verdicts with the same share allowed", value=len(verdicts)
        )
    allowed = writing.percent(verdicts[0].share)
    caption = f"How much of its tolerance each pitch error uses up, {allowed} being allowed"
    description = f"{caption}: {'; '.join(map(_in_words, verdicts))}."
    return Picture(_drawing(verdicts, caption, description), description, [_row(each) for each in verdicts], caption)


def _in_words(verdict: Verdict) -> str:
    return f"{verdict.thread}, {writing.error(verdict.error_ppm)}: {_share_in_words(verdict)}"


def _share_in_words(verdict: Verdict) -> str:
    if verdict.share_used is None:
        return "nothing to judge" if verdict.error_ppm == 0 else "not judged"
    of = f"{writing.percent(verdict.share_used)} of the tolerance"
    return f"{of}, {'good enough' if verdict.ok else 'too much'}"


def _row(verdict: Verdict) -> Row:
    used = verdict.share_used
    return {
        "thread": str(verdict.thread),
        "error": writing.error(verdict.error_ppm),
        "share of the tolerance used": None if used is None else writing.percent(used),
        "good enough": {True: "yes", False: "no", None: "not judged"}[verdict.ok],
    }


def _x(share: float) -> float:
    inside = min(max(share, _LEAST), _MOST)
    return _LEFT + (_RIGHT - _LEFT) * log10(inside / _LEAST) / log10(_MOST / _LEAST)


def _drawing(verdicts: Sequence[Verdict], caption: str, description: str) -> Svg:
    row_px = min(_LARGEST_ROW_PX, (_BOTTOM - _TOP) / len(verdicts))
    return sheet(
        SHARES_PX,
        caption,
        description,
        text_line(caption, 24, 36, size=15, anchor="start", font_weight="bold"),
        _zones(verdicts[0].share),
        *(_thread(verdict, _TOP + (n + 0.5) * row_px, row_px) for n, verdict in enumerate(verdicts)),
        _key(),
    )


def _zones(allowed: float) -> Svg:
    """Allowed, over the share, beyond the tolerance; and the lines of the powers of ten."""
    edges = [(_LEFT, _x(allowed), _DONE), (_x(allowed), _x(1), _OVER), (_x(1), _RIGHT, _BEYOND)]
    tones = [element("rect", x=a, y=_TOP, width=b - a, height=_BOTTOM - _TOP, fill=tone) for a, b, tone in edges]
    ticks = [(0.0001, "0.01 %"), (0.001, "0.1 %"), (0.01, "1 %"), (0.1, "10 %"), (1.0, "100 %"), (10.0, "1000 %")]
    rules = "".join(f"M{_x(share):.2f} {_TOP}V{_BOTTOM}" for share, _ in ticks)
    words = [text_line(label, _x(share), _BOTTOM + 18, size=style.SMALL_PX) for share, label in ticks]
    heads = [(24.0, "thread", "start"), (_ERROR_X, "error", "end"), (_SHARE_X, "share used", "end")]
    return element(
        "g",
        *tones,
        drawn_line(rules, style.FAINT, 0.8),
        drawn_line(f"M{_x(allowed):.2f} {_TOP - 8}V{_BOTTOM}", style.INK, 1.8, "6 3"),
        drawn_line(f"M{_x(1):.2f} {_TOP}V{_BOTTOM}", style.INK, 1.4),
        over_lines(f"{writing.percent(allowed)} allowed", _x(allowed), _TOP - 14, size=style.WORD_PX, anchor="middle"),
        *words,
        *(text_line(head, x, _TOP - 14, size=style.WORD_PX, anchor=end, fill=style.SOFT) for x, head, end in heads),
    )


def _thread(verdict: Verdict, y: float, row_px: float) -> Svg:
    used = verdict.share_used
    name = text_line(shortened(str(verdict.thread), 17), 24, y + 5, size=15, anchor="start", font_weight="bold")
    error = text_line(str(writing.error(verdict.error_ppm)), _ERROR_X, y + 4.5, size=style.WORD_PX, anchor="end")
    if used is None:
        return element("g", name, error, _not_judged(verdict, y, row_px))
    percent = writing.percent(used).replace("less than", "<")
    share = text_line(percent, _SHARE_X, y + 4.5, size=style.WORD_PX, anchor="end")
    guide = drawn_line(f"M{_LEFT} {y}H{_x(used):.2f}", style.INK, 1.6)
    return element("g", name, error, share, guide, _mark(bool(verdict.ok), verdict.error_ppm == 0, _x(used), y))


def _not_judged(verdict: Verdict, y: float, row_px: float) -> Svg:
    """A blank row, so that it stands in no zone."""
    width, words = _RIGHT - _LEFT, "not judged: no tolerance is held here"
    if verdict.error_ppm == 0:
        words = "exact, so there is nothing to judge"
    return element(
        "g",
        element("rect", x=_LEFT, y=y - row_px / 2, width=width, height=row_px, fill=style.PAPER),
        text_line(words, _LEFT + 10, y + 4.5, size=style.WORD_PX, anchor="start"),
    )


def _mark(ok: bool, exact: bool, x: float, y: float) -> Svg:
    if exact:
        path = f"M{x:.2f} {y - 8:.2f}l8 8l-8 8l-8 -8Z"
        return element("path", d=Svg(path), fill=style.BLUE, stroke=style.INK, stroke_width=1.4)
    if ok:
        return element("circle", cx=x, cy=y, r=6.5, fill=style.BLUE, stroke=style.INK, stroke_width=1.4)
    cross = f"M{x - 6:.2f} {y - 6:.2f}l12 12m0 -12l-12 12"
    return element("g", drawn_line(cross, style.PAPER, 7), drawn_line(cross, style.INK, 3.2))


def _key() -> Svg:
    parts, x, y = [], 32.0, SHARES_PX[1] - 19.0
    for ok, exact, words in ((True, True, "exact"), (True, False, "good enough"), (False, False, "too much")):
        parts.append(_mark(ok, exact, x, y - 4.5))
        parts.append(text_line(words, x + 14, y, size=style.WORD_PX, anchor="start"))
        x += style.text_width_px(words, style.WORD_PX) + 36
    for tone, words in ((_DONE, "allowed"), (_OVER, "over the share allowed"), (_BEYOND, "beyond the tolerance")):
        parts.append(element("rect", x=x - 8, y=y - 13, width=24, height=15, fill=tone, stroke=style.FAINT))
        parts.append(text_line(words, x + 22, y, size=style.WORD_PX, anchor="start"))
        x += style.text_width_px(words, style.WORD_PX) + 36
    return element("g", *parts)
