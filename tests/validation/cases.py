"""Rows of a published table as test cases that say in their names how far each is to be trusted."""

from __future__ import annotations

from typing import Any

import pytest

from tests.validation.published import rows

STATUS = {"S": "read", "T": "second-hand", "M": "from memory", "C": "computed"}


def cases(name: str, column: str, *statuses: str) -> list[Any]:
    """The rows of a file as parameters, each named by a column and its status."""
    found = rows(name, *(statuses or STATUS))
    assert found, f"{name} has no such rows"
    return [pytest.param(row, id=f"{row[column]} ({STATUS[row['status']]})") for row in found]
