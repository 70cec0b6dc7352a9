"""What added gears open: how far each thread is off today and with them, a row a thread."""

from __future__ import annotations

from math import log10

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.finding.additions import GearsToAdd
from gearcalc.finding.setups import Setup
from gearcalc.pictures import style
from gearcalc.pictures.charts import drawn_line, over_lines, sheet, shortened
from gearcalc.pictures.pictures import Picture, Row
from gearcalc.pictures.svg import Svg, element, number, text_line

OPENS_PX = (800, 480)
"""Width and height of the picture."""

_LEFT, _RIGHT, _TOP, _BOTTOM = 200.0, 536.0, 124.0, 414.0
_NEW_X = _LEFT - 20
_TODAY_X, _WITH_X = 670.0, 776.0
_LEAST, _MOST = 1.0, 1_000_000.0  # ppm; what lies beyond stands at the end
_LARGEST_ROW_PX, _MOST_ROWS = 46.0, 16
_WITHIN = style.tint(style.SKY, 0.3)
_TAG = style.tint(style.SKY, 0.46)


def what_opens(plan: GearsToAdd) -> Picture:
    """How far each thread is off today, and with the gears added; what lies within the tolerance is tinted.

    >>> from gearcalc.finding.additions import gears_to_add
    >>> from gearcalc.lathes import demo_lathe
    >>> print(what_opens(gears_to_add(demo_lathe("inch"), ["1 mm", "16 tpi"], 50)).description)
    Gears worth adding, within 50 ppm: 127. 1 mm: today +125 ppm, then exact, opened; 16 tpi: today exact, then exact.

    `plan`: from gears_to_add(), 1 to 16 threads. Raises ValueOutOfRangeError for more.
    """
    if not 1 <= len(plan.threads) <= _MOST_ROWS:
        raise ValueOutOfRangeError(f"this shows 1 to {_MOST_ROWS} threads", value=len(plan.threads))
    within = f"within {_number(plan.within_ppm)} ppm" if plan.within_ppm else "exact only"
    caption = f"Gears worth adding, {within}: {', '.join(map(str, plan.gears)) or 'none'}"
    rows = [_row(plan, place) for place in range(len(plan.threads))]
    description = f"{caption}. {'; '.join(_in_words(plan, place) for place in range(len(rows)))}."
    return Picture(_drawing(plan, caption, description), description, rows, caption)


def _error(setup: Setup | None) -> str:
    return "none" if setup is None or setup.error is None else str(writing.error(setup.error))


def _in_words(plan: GearsToAdd, place: int) -> str:
    opened = ", opened" if plan.threads[place] in plan.opened else ""
    after = _error(plan.setups[place]) if plan.setups[place] is not None else "none near enough"
    return f"{plan.threads[place]}: today {_error(plan.before[place])}, then {after}{opened}"


def _row(plan: GearsToAdd, place: int) -> Row:
    after = plan.setups[place]
    return {
        "thread": str(plan.threads[place]),
        "today": _error(plan.before[place]),
        "with the gears added": _error(after) if after is not None else "none near enough",
        "train": None if after is None else after.train.written,
        "lever": None if after is None else after.settings or None,
        "opened": plan.threads[place] in plan.opened,
    }


def _x(setup: Setup | None) -> float:
    """Where its error stands: exact at the left end, by factors of ten from there."""
    if setup is None or setup.error is None:
        return _RIGHT
    return _LEFT if setup.is_exact else _at(abs(setup.error_ppm or 0.0))


def _at(ppm: float) -> float:
    inside = min(max(ppm, _LEAST), _MOST)
    return _LEFT + 40 + (_RIGHT - _LEFT - 40) * log10(inside / _LEAST) / log10(_MOST / _LEAST)


def _number(x: object) -> str:
    return writing.decimal(x, 3)  # type: ignore[arg-type]


def _drawing(plan: GearsToAdd, caption: str, description: str) -> Svg:
    row_px = min(_LARGEST_ROW_PX, (_BOTTOM - _TOP) / len(plan.threads))
    return sheet(
        OPENS_PX,
        caption,
        description,
        *_shopping_list(plan),
        _ground(plan, _TOP + len(plan.threads) * row_px),
        *(_thread(plan, place, _TOP + (place + 0.5) * row_px) for place in range(len(plan.threads))),
        _key(),
    )


def _shopping_list(plan: GearsToAdd) -> list[Svg]:
    """The gears to add, each on a tag, and how far that is proved."""
    heading = "Add" if plan.gears else "Nothing to add" if plan.proven and plan.serves_all else "Nothing helps"
    parts = [text_line(heading, 24, 42, size=17, anchor="start", font_weight="bold")]
    x = 24 + style.text_width_px(heading, 19) + 16
    for teeth in plan.gears:
        width = 26 + style.text_width_px(str(teeth), 17)
        parts.append(
            element("rect", x=x, y=20, width=width, height=32, rx=16, fill=_TAG, stroke=style.INK, stroke_width=1.4)
        )
        parts.append(text_line(str(teeth), x + width / 2, 42, size=17, font_weight="bold"))
        x += width + 10
    if plan.gears:
        parts.append(text_line("teeth", x + 2, 42, size=15, anchor="start"))
    parts.append(text_line(_proof(plan), 24, 74, size=style.WORD_PX, anchor="start", fill=style.SOFT))
    return parts


def _proof(plan: GearsToAdd) -> str:
    served = sum(setup is not None for setup in plan.setups)
    near = f"within {_number(plan.within_ppm)} ppm" if plan.within_ppm else "exact"
    said = f"{served} of {len(plan.threads)} threads {near}, {len(plan.opened)} of them new."
    if plan.proven and plan.gears:
        return f"{said} Fewer don't do: proved for {writing.meshes(plan.meshes)}."
    return said if plan.proven else f"{said} Best found; proved is only that it takes {plan.lower_bound} or more."


def _ground(plan: GearsToAdd, bottom: float) -> Svg:
    """The tolerance as a tinted zone, and the lines of the powers of ten."""
    limit = _at(float(plan.within_ppm)) if plan.within_ppm else _LEFT + 14
    ticks = [(_LEFT, "exact"), *((_at(10.0**power), f"{10**power:,}".replace(",", " ")) for power in (0, 2, 4, 6))]
    every = [_LEFT, *(_at(10.0**power) for power in range(7))]
    rules = "".join(f"M{number(x)} {_TOP}V{bottom}" for x in every)
    heads = [(24.0, "thread", "start"), (_TODAY_X, "today", "end"), (_WITH_X, "with them", "end")]
    return element(
        "g",
        element("rect", x=_LEFT - 14, y=_TOP, width=limit - _LEFT + 14, height=bottom - _TOP, fill=_WITHIN),
        drawn_line(rules, style.FAINT, 0.8),
        drawn_line(f"M{number(limit)} {_TOP - 6}V{bottom}", style.INK, 1.6, "6 3"),
        over_lines("near enough", max(limit - 4, _LEFT + 62), _TOP - 11, size=style.SMALL_PX, anchor="end"),
        *(text_line(label, x, bottom + 17, size=style.SMALL_PX) for x, label in ticks),
        text_line("ppm off", 24, bottom + 17, size=style.SMALL_PX, anchor="start", fill=style.SOFT),
        *(text_line(head, x, _TOP - 11, size=style.WORD_PX, anchor=end, fill=style.SOFT) for x, head, end in heads),
    )


def _thread(plan: GearsToAdd, place: int, y: float) -> Svg:
    thread, before, after = plan.threads[place], plan.before[place], plan.setups[place]
    new = thread in plan.opened
    name = shortened(str(thread), 15)
    parts = [text_line(name, 24, y + 5, size=15, anchor="start", font_weight="bold" if new else "normal")]
    if new:
        parts.append(text_line("new", _NEW_X, y + 4.5, size=style.SMALL_PX, anchor="end", fill=style.BLUE))
        parts.append(_arrow(_x(before), _x(after), y))
    parts.append(_ring(_x(before), y))
    if after is not None:
        parts.append(_spot(_x(after), y))
    then = _error(after) if after is not None else "too far off"
    parts.append(text_line(_error(before), _TODAY_X, y + 4.5, size=style.WORD_PX, anchor="end"))
    parts.append(
        text_line(then, _WITH_X, y + 4.5, size=style.WORD_PX, anchor="end", font_weight="bold" if new else "normal")
    )
    return element("g", *parts)


def _arrow(start: float, end: float, y: float) -> Svg:
    """From the ring to the spot, where there is room for one."""
    if start - end < 26:
        return element("g")
    head = f"M{number(end + 18)} {number(y - 5)}l-8 5l8 5"
    return element(
        "g",
        drawn_line(f"M{number(start - 7)} {number(y)}H{number(end + 10)}", style.INK, 1.4),
        drawn_line(head, style.INK, 1.4),
    )


def _ring(x: float, y: float) -> Svg:
    return element("circle", cx=x, cy=y, r=6.5, fill=style.PAPER, stroke=style.INK, stroke_width=1.8)


def _spot(x: float, y: float) -> Svg:
    return element("circle", cx=x, cy=y, r=4.2, fill=style.BLUE, stroke=style.INK, stroke_width=1.0)


def _key() -> Svg:
    y = OPENS_PX[1] - 20.0
    return element(
        "g",
        _ring(32, y - 4.5),
        text_line("with the gears of today", 46, y, size=style.WORD_PX, anchor="start"),
        _spot(226, y - 4.5),
        text_line("with the gears added", 240, y, size=style.WORD_PX, anchor="start"),
        element("rect", x=394, y=y - 13, width=24, height=15, fill=_WITHIN, stroke=style.FAINT),
        text_line("within the tolerance", 424, y, size=style.WORD_PX, anchor="start"),
    )
