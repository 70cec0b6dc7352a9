"""Rows of a published table as test cases that say in their names how far each is to be trusted."""

from __future__ import annotations

from tests.validation.published import rows

STATUS = {"S": "read", "T": "second-hand", "M": "from memory", "C": "computed"}


class Case(dict[str, str]):
    """A row; `str` names it by a column and its status."""

    named = "?"

    def __str__(self) -> str:
        return f"{self[self.named]} ({STATUS[self['status']]})"


def cases(name: str, column: str, *statuses: str) -> list[Case]:
    """The rows of a file, each named by a column and its status."""
    found = [Case(row) for row in rows(name, *(statuses or STATUS))]
    assert found, f"{name} has no such rows"
    for case in found:
        case.named = column
    return found
