"""One place for the look of every picture, page and paper: colours, lettering, sizes.

Colours are the Okabe–Ito palette, made for colour-blind readers (Okabe & Ito, "Color Universal Design",
2002; hex values from memory) and tints of it towards white. No meaning rests on colour alone:
drivers are a solid tone with a ring, driven gears are hatched, idlers are plain, idle gears as pale as the paper.
"""

from __future__ import annotations

from dataclasses import dataclass

BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILLION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"

PAPER = "#FFFFFF"
INK = "#1B1F24"
SOFT = "#5A626B"
"""Centre lines, dimension lines and small words: 6:1 on paper."""
FAINT = "#C9CED3"
PALE, STEEL, DARK_STEEL, NIGHT = "#F4F5F6", "#E6E9EC", "#AEB6BE", "#0A2540"
"""A ground for counters and idlers; bars and plates; chucks and centres; what is darker than blue."""

EDGE, RUST = "#858D95", "#9A3D00"
"""Edges of controls, and what warns: vermillion as dark as letters must be."""

FONT = "Helvetica, Arial, 'Liberation Sans', sans-serif"
NUMBER_PX, WORD_PX, SMALL_PX = 18.0, 13.0, 12.0
SIZE_PX = (800, 480)
"""Width and height of a picture: one output cell, without a scroll bar."""
FRAME_PX = 6.0
"""From the edge of the paper to its thin border."""

_EM_SHARE = 0.57  # mean width of a letter or digit of these fonts, a little on the wide side


def tint(colour: str, strength: float) -> str:
    """A colour thinned with white: strength 1 is the colour itself, 0 is white.

    >>> tint("#0072B2", 0.5)
    '#80B9D9'
    """
    channels = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return "#" + "".join(f"{255 - int((255 - channel) * strength):02X}" for channel in channels)


def as_css(selector: str) -> str:
    """The palette of a page as custom properties, for the head of a stylesheet.

    >>> as_css(".page")[:38]
    '.page { --gearcalc-paper: #FFFFFF; --g'
    """
    page = {"paper": PAPER, "ink": INK, "soft": SOFT, "edge": EDGE, "rule": STEEL, "hover": PALE}
    page |= {"accent": BLUE, "chosen": tint(BLUE, 0.1), "alert": RUST}
    return f"{selector} {{ {' '.join(f'--gearcalc-{name}: {colour};' for name, colour in page.items())} }}\n"


def text_width_px(text: str, size_px: float) -> float:
    """About how wide a line of lettering is.

    >>> text_width_px("40 driver", 10) < 60
    True
    """
    return _EM_SHARE * size_px * len(text)


@dataclass(frozen=True, slots=True)
class GearLook:
    """How gears of one kind are told from the others: tone, and a mark that survives black-and-white print."""

    fill: str
    accent: str
    ring: bool = False
    hatched: bool = False
    broken_ring: bool = False


LOOKS = {
    "driver": GearLook(fill=tint(SKY, 0.46), accent=BLUE, ring=True),
    "driven": GearLook(fill=tint(ORANGE, 0.16), accent=VERMILLION, hatched=True),
    "idler": GearLook(fill=PALE, accent=SOFT),
    "idle": GearLook(fill=PAPER, accent=SOFT, broken_ring=True),
}
