"""The address to show to a class: on a page for the board, and as a code to scan, there and in the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from gearcalc.basics.markup import HEAD, in_html
from gearcalc.pictures import style

PAGE_NAME = "class.html"
_EDGE = 4  # modules of white round the code, which ISO/IEC 18004 asks for
_SCANNED = style.PAPER, style.BLACK
_BLACK_ON_WHITE, _AS_BEFORE = "\x1b[30;107m", "\x1b[0m"
_STYLE = f"""
body {{ margin: 0; padding: 3vmin; background: {style.PAPER}; color: {style.INK}; text-align: center }}
body {{ font-family: {style.FONT} }}
h1 {{ font-size: max(1.4rem, 5vmin); font-weight: 600; margin: 0 0 2vmin }}
p {{ font-size: max(1rem, 3.2vmin); margin: 1.5vmin auto; max-width: 50em; text-wrap: balance }}
p.address {{ font: 700 min(5.4vw, 11vmin) ui-monospace, Consolas, monospace; max-width: none; white-space: nowrap }}
.code svg {{ width: min(54vmin, 90vw); height: auto }}
"""


def class_page(addresses: Sequence[str]) -> str:
    """The page for the board, on which the first of the addresses stands large; it runs nothing and fetches nothing.

    >>> class_page(["http://192.168.1.20:8000/"]).count("<h1>The lessons are here</h1>")
    1
    """
    first, *others = addresses
    drawn = code_drawing(first)
    code = f'<div class="code">{drawn}</div>' if drawn else ""
    scan = ", or scan the code" if drawn else ""
    more = f"<p>If that does not open: {in_html(', '.join(others))}</p>" if others else ""
    return (
        f'<!DOCTYPE html><html lang="en"><head>{HEAD}<title>The lessons are here</title>'
        f'<meta name="viewport" content="width=device-width, initial-scale=1"><style>{_STYLE}</style></head>'
        f'<body><main><h1>The lessons are here</h1><p class="address">{in_html(first)}</p>{code}'
        f"<p>Type all of it into your browser, http:// too{scan}.</p>{more}"
        "<p>What you answer stays in your browser, under this address. "
        "Use the same browser and the same address next time.</p></main></body></html>"
    )


def code_drawing(address: str) -> str:
    """The code as SVG; empty where segno, which works it out, is not installed."""
    made = _code(address)
    if made is None:
        return ""
    light, dark = _SCANNED
    title = f"A code to scan: {address}"
    drawn: str = made.svg_inline(scale=10, border=_EDGE, dark=dark, light=light, omitsize=True, title=title)
    return drawn.replace("<svg ", '<svg role="img" ', 1)


def code_in_signs(address: str) -> list[str]:
    """The code in lines for a terminal, two rows of it in each; none where segno is not installed.

    It is black on white whatever colours the terminal has: a scanner wants it so.
    """
    made = _code(address)
    if made is None:
        return []
    rows = [[bool(module) for module in row] for row in made.matrix_iter(border=_EDGE)]
    rows += [[False] * len(rows[0])] * (len(rows) % 2)
    signs = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
    pairs = zip(rows[::2], rows[1::2], strict=True)
    return [
        f"{_BLACK_ON_WHITE}{''.join(signs[pair] for pair in zip(upper, lower, strict=True))}{_AS_BEFORE}"
        for upper, lower in pairs
    ]


def _code(address: str) -> Any:
    try:
        import segno
    except ImportError:
        return None
    return segno.make(address, micro=False, error="m")
