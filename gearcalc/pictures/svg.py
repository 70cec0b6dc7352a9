"""A tiny SVG builder: every attribute and every text is escaped, and only harmless elements exist."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from math import dist

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.pictures.style import FONT, FRAME_PX, INK, PAPER, SMALL_PX, SOFT, WORD_PX

_ELEMENTS = frozenset(["svg", "g", "path", "circle", "line", "rect", "text", "tspan", "title", "desc"])
_NAME = re.compile(r"[a-zA-Z][a-zA-Z_]*[12]?")
_KEPT_OUT = re.compile("[^\t\n\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]|[\x7f-\x9f\u202a-\u202e\u2066\u2067]")
"""What XML can't hold, and what a terminal obeys or what turns the reading round."""


class Svg(str):
    """Markup that this module made, so it goes in as it is; any other text is escaped."""

    __slots__ = ()

    def _repr_svg_(self) -> str:
        return str(self)


def element(name: str, /, *children: str, **attributes: object) -> Svg:
    """One element; `stroke_width=2` becomes stroke-width="2", `class_` class; None leaves an attribute out.

    >>> print(element("text", "<40> & \\"80\\"", x=1.50001, font_weight="bold"))
    <text x="1.5" font-weight="bold">&lt;40&gt; &amp; &quot;80&quot;</text>

    Svg, as child or value, goes in as it is; plain text is escaped. Numbers are rounded to 0.01.
    Raises ValueOutOfRangeError for an element or attribute that no drawing needs, such as script or onclick.
    """
    if name not in _ELEMENTS:
        raise ValueOutOfRangeError("no drawing needs this element", value=name)
    opening = name + "".join(
        f' {_attribute(key)}="{_value(value)}"' for key, value in attributes.items() if value is not None
    )
    if not children:
        return Svg(f"<{opening}/>")
    inside = "".join(child if isinstance(child, Svg) else _escaped(child) for child in children)
    return Svg(f"<{opening}>{inside}</{name}>")


def document(size_px: tuple[float, float], title: str, description: str, *parts: Svg, **more: object) -> Svg:
    """A whole SVG document that says itself what it shows, as large as it is or as wide as its page lets it be.

    >>> document((800, 480), "Fractions", "Ten fractions.")[:4]
    '<svg'
    """
    width, height = size_px
    return element(
        "svg",
        element("title", title),
        element("desc", description),
        *parts,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width:g} {height:g}",
        width=width,
        height=height,
        role="img",
        aria_label=description,
        font_family=FONT,
        fill=INK,
        style="max-width:100%;height:auto",
        **more,
    )


def paper(size_px: tuple[float, float]) -> Svg:
    """White paper with a thin border."""
    width, height = size_px
    border = rect(FRAME_PX, FRAME_PX, width - FRAME_PX, height - FRAME_PX, "none", INK)
    return element("g", rect(0, 0, width, height), border)


def window(left: float, top: float, right: float, bottom: float, *parts: Svg, at: tuple[float, float] = (0, 0)) -> Svg:
    """A drawing in the drawing, which cuts off what reaches over its edges; `at`: what its corner stands at inside."""
    width, height = right - left, bottom - top
    return element(
        "svg",
        *parts,
        x=left,
        y=top,
        width=width,
        height=height,
        viewBox=Svg(f"{number(at[0])} {number(at[1])} {number(width)} {number(height)}"),
    )


def text_line(words: str, x: float, y: float, *, size: float = WORD_PX, anchor: str = "middle", **more: object) -> Svg:
    """A line of lettering; x, y is where its baseline starts, or its middle or end (`anchor`).

    >>> print(text_line("leadscrew", 10, 20, size=12))
    <text x="10" y="20" font-size="12" text-anchor="middle">leadscrew</text>
    """
    return element("text", words, x=x, y=y, font_size=size, text_anchor=anchor, **more)


def bold(words: str, x: float, y: float, *, size: float = 15, anchor: str = "start", **more: object) -> Svg:
    """A line of bold lettering, as for names and headings."""
    return text_line(words, x, y, size=size, anchor=anchor, font_weight="bold", **more)


def note(words: str, x: float, y: float, *, size: float = WORD_PX, anchor: str = "start", **more: object) -> Svg:
    """A line of lettering in a softer tone, for what explains."""
    return text_line(words, x, y, size=size, anchor=anchor, fill=SOFT, **more)


RIM = {"stroke": PAPER, "stroke_width": 4, "stroke_linejoin": "round", "paint_order": "stroke"}
"""What gives lettering a rim of paper, so that it reads over whatever it crosses."""


def over_lines(
    words: str, x: float, y: float, *, size: float = SMALL_PX, anchor: str = "middle", **more: object
) -> Svg:
    """A line of lettering with a rim of paper, so that it reads over whatever it crosses.

    >>> "paint-order" in over_lines("+12.5 µm", 10, 20)
    True
    """
    return text_line(words, x, y, size=size, anchor=anchor, **{**RIM, **more})


def drawn_line(path: str, colour: str = INK, width: float = 1.0, dash: str | None = None, **more: object) -> Svg:
    """A line along a path of numbers and path letters.

    >>> print(drawn_line("M0 0H9", "none"))
    <path d="M0 0H9" fill="none" stroke="none" stroke-width="1"/>
    """
    return element("path", d=Svg(path), fill="none", stroke=colour, stroke_width=width, stroke_dasharray=dash, **more)


def shape(path: str, fill: str, edge: str | None = None, width: float = 1.2, **more: object) -> Svg:
    """A filled shape along a path, with an edge or without."""
    look = {} if edge is None else {"stroke": edge, "stroke_width": width, "stroke_linejoin": "round"}
    return element("path", d=Svg(path), fill=fill, **{**look, **more})


def rect(
    left: float,
    top: float,
    right: float,
    bottom: float,
    fill: str = PAPER,
    edge: str | None = None,
    width: float = 1.2,
    **more: object,
) -> Svg:
    """A rectangle from its two corners, with an edge or without.

    >>> print(rect(2, 3, 10, 20, "none"))
    <rect x="2" y="3" width="8" height="17" fill="none"/>
    """
    look = {} if edge is None else {"stroke": edge, "stroke_width": width}
    return element("rect", x=left, y=top, width=right - left, height=bottom - top, fill=fill, **look, **more)


def disc(
    x: float, y: float, radius: float, fill: str = PAPER, edge: str | None = INK, width: float = 1.2, **more: object
) -> Svg:
    """A disc about x, y, with an edge or without; a ring where `fill` is "none"."""
    look = {} if edge is None else {"stroke": edge, "stroke_width": width}
    return element("circle", cx=x, cy=y, r=radius, fill=fill, **look, **more)


def path_of(points: Iterable[tuple[float, float]], *, closed: bool = False) -> Svg:
    """The path from point to point, and back to the first where it is closed.

    >>> path_of([(0, 0), (10, 2.5)]), path_of([(0, 0), (1, 0), (0, 1)], closed=True)
    ('M0.00 0.00L10.00 2.50', 'M0.00 0.00L1.00 0.00L0.00 1.00Z')
    """
    return Svg("M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points) + "Z" * closed)


def arrow(start: tuple[float, float], end: tuple[float, float], *, both_ways: bool = False, tip_px: float = 7.0) -> Svg:
    """The path of an arrow: a line with an open tip at its end, or at both ends.

    >>> print(arrow((10, 5), (30, 5)))
    M10.00 5.00L30.00 5.00M23.00 1.50L30.00 5.00L23.00 8.50

    `tip_px`: how long a tip is; it is as wide. The ends lie apart.
    """
    along, down = ((there - here) / dist(start, end) * tip_px for here, there in zip(start, end, strict=True))
    path: str = path_of([start, end])
    for (x, y), way in ((end, 1), (start, -1))[: 1 + both_ways]:
        back_x, back_y = x - way * along, y - way * down
        path += path_of([(back_x + down / 2, back_y - along / 2), (x, y), (back_x - down / 2, back_y + along / 2)])
    return Svg(path)


def number(x: float) -> str:
    """A number as SVG wants it, to 0.01, as short as can be.

    >>> number(2.0), number(-0.004), number(1 / 3)
    ('2', '0', '0.33')
    """
    shown = f"{x:.2f}".rstrip("0").rstrip(".")
    return "0" if shown in ("-0", "") else shown


@cache
def _attribute(key: str) -> str:
    if not _NAME.fullmatch(key) or key.lower().startswith("on") or "href" in key.lower():
        raise ValueOutOfRangeError("no drawing needs this attribute", value=key)
    return key.rstrip("_").replace("_", "-")


def _value(value: object) -> str:
    if isinstance(value, (int, float)):
        return number(value)
    return value if isinstance(value, Svg) else _escaped(str(value))


def _escaped(text: str) -> str:
    text = str.__str__(text)
    for sign, entity in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;")):
        text = text.replace(sign, entity)
    return _KEPT_OUT.sub("\ufffd", text)
