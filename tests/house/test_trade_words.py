"""What users read is written in the words of the trade: package, lessons, README."""

from __future__ import annotations

import ast
import json
import re

import pytest

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
        for place, cell in enumerate(json.loads(path.read_text(encoding="utf-8"))["cells"]):
            yield f"{path.name}, cell {place}", " ".join("".join(cell["source"]).split())
    yield "README.md", " ".join((root / "README.md").read_text(encoding="utf-8").split())


@pytest.fixture(scope="module")
def read(request):
    return list(texts(request.config.rootpath))


class TestTradeWords:
    @pytest.mark.parametrize("pattern", OTHERWISE)
    def test_nothing_else_is_said(self, pattern, read):
        found = [f"{where}: {re.search(pattern, text).group()!r}" for where, text in read if re.search(pattern, text)]
        assert found == [], f"the trade says {OTHERWISE[pattern]!r}"
