"""A tiny SVG builder: every attribute and every text is escaped, and only harmless elements exist."""

from __future__ import annotations

import re
from functools import cache

from gearcalc.basics.errors import ValueOutOfRangeError

_ELEMENTS = frozenset(["svg", "g", "path", "circle", "line", "rect", "text", "tspan", "title", "desc"])
_NAME = re.compile(r"[a-zA-Z][a-zA-Z_]*[12]?")
_NOT_IN_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


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


def text_line(words: str, x: float, y: float, *, size: float, anchor: str = "middle", **more: object) -> Svg:
    """A line of lettering; x, y is where its baseline starts, or its middle or end (`anchor`).

    >>> print(text_line("leadscrew", 10, 20, size=12))
    <text x="10" y="20" font-size="12" text-anchor="middle">leadscrew</text>
    """
    return element("text", words, x=x, y=y, font_size=size, text_anchor=anchor, **more)


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
    return _NOT_IN_XML.sub("\ufffd", text)
