"""What users read is written in the words of the trade: package, lessons, README."""

from __future__ import annotations

import ast
import re

import pytest

from tests.how_much import in_one
from tests.notebooks import sources

# Said here, and what the trade says.
OTHERWISE = {
    r"turns (?:a|per) minute": "rev/min",
    r"\bretired\b": "scrapped",
    r"\b[Mm]end (?:it|that)\b": "put it right",
    r"[Cc]ompound slide": "top slide, in America compound rest",
    r"thread splits": "a second groove is cut",
    r"\bsteep mesh|\bmesh is steeper": "a high ratio in one mesh",
}
READ_TOO = {"turns a minute", "turns per minute"}  # as an answer may be typed


def texts_of_python(path):
    """Every piece of text in a module, with the line where it starts; what the parts of an f-string say, too."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value not in READ_TOO:
            yield f"{path.name}:{node.lineno}", " ".join(node.value.split())


def texts(root):
    for path in sorted((root / "gearcalc").rglob("*.py")):
        yield from texts_of_python(path)
    for path in sorted((root / "notebooks").glob("*.ipynb")):
        for place, (_, text) in enumerate(sources(path)):
            yield f"{path.name}, cell {place}", " ".join(text.split())
    yield "README.md", " ".join((root / "README.md").read_text(encoding="utf-8").split())


@pytest.fixture(scope="module")
def read(request):
    return list(texts(request.config.rootpath))


class TestTradeWords:
    @in_one("pattern", OTHERWISE)
    def test_nothing_else_is_said(self, pattern, read):
        found = [f"{where}: {re.search(pattern, text).group()!r}" for where, text in read if re.search(pattern, text)]
        assert found == [], f"the trade says {OTHERWISE[pattern]!r}"


# What a drawing is made of: places along a path and attributes that a script reads. Nobody reads those.
DRAWING = re.compile(r"translate|rotate|scale|^\s*pt$")
WORDS = re.compile(r"[a-z]{2}|[°µ%]")


def numbers_with_a_format_of_their_own(path):
    """Where a number that someone reads is written by a format and not by basics/writing.py."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.JoinedStr):
            words = " ".join(part.value for part in node.values if isinstance(part, ast.Constant))
            formats = [
                "".join(part.value for part in value.format_spec.values if isinstance(part, ast.Constant))
                for value in node.values
                if isinstance(value, ast.FormattedValue) and isinstance(value.format_spec, ast.JoinedStr)
            ]
            if any(kind.endswith(("f", "g", "e")) for kind in formats) and WORDS.search(DRAWING.sub("", words)):
                yield f"{path.name}:{node.lineno}: {ast.unparse(node)}"


def test_a_number_that_is_read_is_written_in_one_place(request):
    package = request.config.rootpath / "gearcalc"
    found = [where for path in sorted(package.rglob("*.py")) for where in numbers_with_a_format_of_their_own(path)]
    assert found == []


def test_a_format_of_its_own_would_be_seen(tmp_path):
    written = tmp_path / "x.py"
    written.write_text('a = f"{x:.2f} mm off"; b = f"M{x:.2f} 3V{y:g}"; c = f"rotate({x:.1f})"; d = f"{x:g}°"')
    assert len(list(numbers_with_a_format_of_their_own(written))) == 2
