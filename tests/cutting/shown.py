"""What is read of the tables that are shown."""

from __future__ import annotations

import re


def second_column(shown: str) -> list[str]:
    """What stands beside the names of the rows, as the page has it."""
    return re.findall(r"</th><td[^>]*>(.*?)</td></tr>", shown)
