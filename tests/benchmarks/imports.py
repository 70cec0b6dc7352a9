"""What it takes to have gearcalc in a fresh Python, against sympy, pandas and others: processor time of the process."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage

from tests.benchmarks.rivalry import Limit, Rivalry, Way

ROOT = Path(__file__).parents[2]
ASKED = "import gearcalc; gearcalc.find_setups(gearcalc.demo_lathe('inch'), 'M8')"
LOADED = """
import sys
before = set(sys.modules)
import gearcalc
files = [getattr(sys.modules[name], "__spec__", None) for name in set(sys.modules) - before]
files = [spec.origin for spec in files if spec is not None and spec.has_location]
print(len(files), sum(__import__("os").path.getsize(file) for file in files))
"""


def childrens_seconds() -> float:
    """Processor time of the processes that were started and have ended."""
    used = getrusage(RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def fresh(code: str) -> str:
    """What a fresh Python says to this."""
    return subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True, capture_output=True, text=True).stdout


def a_way(name: str, code: str, ours: bool = False) -> Way:
    return Way(
        name, lambda: fresh(code), lambda *_: "loaded", ready=lambda: fresh(code), ours=ours, clock=childrens_seconds
    )


def ways(_: int) -> list[Way]:
    return [
        a_way("import gearcalc", "import gearcalc", ours=True),
        a_way("gearcalc, and a first search", ASKED, ours=True),
        a_way("Python alone", ""),
        *(a_way(f"import {name}", f"import {name}") for name in ("numpy", "sympy", "pandas", "matplotlib.pyplot")),
    ]


def limit(_: int, answer: object) -> Limit:
    """The files that are loaded are read once."""
    files, size = map(int, fresh(LOADED).split())
    return Limit(f"{files} files of {size:,} bytes read; Python alone is a limit too", size, files)


RIVALRIES = (
    Rivalry("import", "fresh process", "A fresh Python that has imported it", "import", (1,), (1,), ways, limit),
)
