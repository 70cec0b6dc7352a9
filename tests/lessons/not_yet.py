"""Lessons that do not keep a rule yet. The lists only shrink: a lesson that keeps its rule is taken off."""

from __future__ import annotations

from collections.abc import Collection, Sequence

TIME: set[str] = set()
"""Its minutes are not those that it takes, or above an hour."""

ORDER: set[str] = set()
"""A prediction is not kept by guess() and taken up, or an answer stands before its question."""

RAW: set[str] = set()
"""An output is a list, a tuple, True or False as Python writes them."""

WORDS: set[str] = set()
"""It uses a word that it explains later, or that a later lesson explains."""

LETTERS: set[str] = set()
"""A letter of its formulas is not in the table of DEVELOPERS.md."""


def compare(faults: Sequence[str], lesson: str, listed: Collection[str]) -> None:
    """Hold a lesson to a rule, or, while it is listed, hold the list to the lesson."""
    if lesson in listed:
        assert faults, f"lesson {lesson} keeps the rule now: take it off its list in tests/lessons/not_yet.py"
    else:
        assert not faults, "\n".join(faults)
