"""What to type where an optional part is not installed."""

from __future__ import annotations

import sys


def install(extra: str) -> str:
    """Say how an extra is installed, from the folder that one has and from no index.

    >>> install("web").endswith('-m pip install ".[web]"')
    True
    """
    return f"""In the folder with gearcalc's README: {sys.executable} -m pip install ".[{extra}]\""""
