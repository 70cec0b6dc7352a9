"""No table of check values lies there unread."""

from __future__ import annotations

import re
from pathlib import Path

HERE = Path(__file__).parent


def test_every_table_is_asked_by_a_test():
    tests = "".join(path.read_text(encoding="utf-8") for path in sorted(HERE.parent.rglob("*.py")))
    assert [
        table.stem
        for table in sorted((HERE / "data").glob("*.csv"))
        if not re.search(rf'"{table.stem}(\.csv)?"', tests)
    ] == []
