"""Slips in a text or a file: a sign, a line, a word; doubled, nested, cut off; in another encoding."""

from __future__ import annotations

import re
from collections.abc import Callable
from random import Random

from tests.planted import OBEYED

PLANTED = (
    "<zq>", "<script>zq()</script>", '"><zq>', "'><zq>", '" onmouseover="zq()', "' onload='zq()", "</svg><zq>",
    "</title><zq>", "</script><zq>", "</textarea><zq>", "<!--<zq>", "]]><zq>", "&lt;zq&gt;", "<b>zq</b>",
    "<img src=x onerror=zq()>",
    "javascript:zq()", "$zq$", "$$zq$$", "\\(zq\\)", "=zq()", "+zq", "-zq", "@zq", "\t=zq()", "%zq", "`zq`", "$(zq)",
    ";zq", *OBEYED.values(),
)  # fmt: skip
"""What must not come out as it went in: markup, mathematics, formulas, which all say zq; and orders to a terminal."""

SIGNS = (
    "\x00", "\x1b[31m", "\u202e", "\u200b", "\ufeff", "\ud800", "½", "１", "٣", "🔧", "e", "−", "'", '"', "\\", "<b>",
    "$",
    "\n", "\r", "\t", "(", ")", "/", "//", "..", ",", ",,", " ", "9" * 20, "x", "P", "%", "{", "}", "[", "]", "\u2028",
    "İ",
    "ſ", "K", "=", "#", ":", ";", "-", "0", "nan", "inf", "null", "true", "1e999", "é", "e\u0301", "漢", "\x7f", "\x85",
)  # fmt: skip
"""What is put into a text, in place of a sign or beside it."""

_WORD = re.compile(r"\w+|[^\w\s]+|\s+")


class Draw(Random):
    """What an input is drawn by. How wild it is differs from one to the next: most are right but for one thing."""

    def __init__(self, seed: str) -> None:
        super().__init__(seed)
        self.wild = self.choice((0.05, 0.15, 0.15, 0.4, 0.9))

    @property
    def goes_wrong(self) -> bool:
        return self.random() < self.wild


def mutated(r: Draw, text: str) -> str:
    """A text with a slip in it, or some."""
    for _ in range(r.choice((1, 1, 1, 2, 4))):
        text = r.choice(_SLIPS)(r, text)
        if len(text) > 60_000:
            break
    return text


def slipped(r: Draw, text: str) -> str:
    """A right text, with a slip in it where this input goes wrong."""
    return mutated(r, text) if r.goes_wrong else text


def mutated_bytes(r: Draw, content: bytes) -> bytes:
    """A file with slips in its text, or in its bytes, or written otherwise."""
    if r.random() < 0.7:
        text = mutated(r, content.decode("utf-8", "replace"))
        return r.choice(_WAYS_TO_WRITE)(text)
    return r.choice(_BYTE_SLIPS)(r, content)


def _place(r: Draw, text: str | bytes) -> int:
    return r.randint(0, len(text))


def _sign_put(r: Draw, text: str) -> str:
    at = _place(r, text)
    return text[:at] + r.choice(SIGNS) + text[at + r.randint(0, 1) :]


def _planted(r: Draw, text: str) -> str:
    at = _place(r, text)
    return text[:at] + r.choice(PLANTED) + text[at:]


def _planted_in_quotes(r: Draw, text: str) -> str:
    """Where it stays a text for whatever reads the file."""
    quotes = [found.end() - 1 for found in re.finditer(r'[\w.]"', text)]
    if not quotes:
        return _planted(r, text)
    at = r.choice(quotes)
    return text[:at] + r.choice(PLANTED).replace("\\", "").replace('"', "'") + text[at:]


def _sign_lost(r: Draw, text: str) -> str:
    at = _place(r, text)
    return text[:at] + text[at + r.choice((1, 1, 3)) :]


def _cut_off(r: Draw, text: str) -> str:
    return text[: _place(r, text)]


def _words(change: Callable[[Draw, list[str]], list[str]], parting: re.Pattern[str]) -> Callable[[Draw, str], str]:
    def slip(r: Draw, text: str) -> str:
        parts = parting.findall(text)
        return "".join(change(r, parts)) if parts else text

    return slip


def _one_doubled(r: Draw, parts: list[str]) -> list[str]:
    at = r.randrange(len(parts))
    return [*parts[:at], *[parts[at]] * r.choice((2, 2, 3, 50)), *parts[at + 1 :]]


def _one_lost(r: Draw, parts: list[str]) -> list[str]:
    at = r.randrange(len(parts))
    return [*parts[:at], *parts[at + 1 :]]


def _two_swapped(r: Draw, parts: list[str]) -> list[str]:
    one, other = r.randrange(len(parts)), r.randrange(len(parts))
    parts[one], parts[other] = parts[other], parts[one]
    return parts


def _number_changed(r: Draw, text: str) -> str:
    numbers = list(re.finditer(r"\d+(\.\d+)?", text))
    if not numbers:
        return text
    found = r.choice(numbers)
    other = r.choice(
        ("0", "-1", "1", "0.0001", "1e308", "9" * 30, "1/0", "nan", "true", '"x"', "[]", "{}", str(r.randint(2, 200)))
    )
    return text[: found.start()] + other + text[found.end() :]


def _nested(r: Draw, text: str) -> str:
    at, deep = _place(r, text), r.choice((1, 3, 100, 3000))
    return text[:at] + r.choice('([{"') * deep + text[at:] + r.choice(("", ")", "]", "}")) * deep


def _doubled(r: Draw, text: str) -> str:
    return text * r.choice((2, 3)) if len(text) < 20_000 else text


_LINE = re.compile(r"[^\n]*\n|[^\n]+")
_SLIPS = (
    _sign_put, _sign_put, _sign_put, _planted, _planted_in_quotes, _planted_in_quotes, _sign_lost, _cut_off,
    _number_changed,
    _number_changed, _nested, _doubled, *(_words(how, by) for how in (_one_doubled, _one_lost,
    _two_swapped) for by in (_WORD, _LINE)),
)  # fmt: skip


def _utf_8(text: str) -> bytes:
    return text.encode("utf-8", "surrogatepass")


_WAYS_TO_WRITE = (
    _utf_8,
    _utf_8,
    _utf_8,
    lambda text: _utf_8(text).replace(b"\n", b"\r\n"),
    lambda text: _utf_8(text).replace(b"\n", b"\r"),
    lambda text: b"\xef\xbb\xbf" + _utf_8(text),
    lambda text: text.encode("utf-16", "surrogatepass"),
    lambda text: text.encode("latin-1", "replace"),
)


def _byte_changed(r: Draw, content: bytes) -> bytes:
    at = _place(r, content)
    return content[:at] + bytes([r.randrange(256)]) + content[at + r.randint(0, 1) :]


def _bit_turned(r: Draw, content: bytes) -> bytes:
    if not content:
        return b"\xff"
    at = r.randrange(len(content))
    return content[:at] + bytes([content[at] ^ 1 << r.randrange(8)]) + content[at + 1 :]


def _bytes_lost(r: Draw, content: bytes) -> bytes:
    one, other = sorted((_place(r, content), _place(r, content)))
    return content[:one] + content[other:]


def _nothing_written(r: Draw, content: bytes) -> bytes:
    return content[: _place(r, content)] + b"\x00" * r.choice((1, 512, 4096))


_BYTE_SLIPS = (_byte_changed, _byte_changed, _bit_turned, _bit_turned, _bytes_lost, _nothing_written)
