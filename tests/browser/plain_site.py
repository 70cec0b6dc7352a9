"""A site of plain JupyterLite, with nothing of ours: an empty notebook on it is what ours is measured by."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

from gearcalc.serving.lite import put_together
from gearcalc.serving.parts import CORE, KERNEL, LOCK, all_parts, parts_folder
from gearcalc.serving.wheels import read_lock

PLAIN = "one_cell.ipynb"
_OF_IPYTHON = (
    *("asttokens", "comm", "decorator", "executing", "ipython-pygments-lexers", "jedi", "matplotlib-inline"),
    *("prompt-toolkit", "pure-eval", "pygments", "six", "stack-data", "traitlets", "typing-extensions", "wcwidth"),
)
_PACKAGES = ("micropip", "packaging", "ipython", *_OF_IPYTHON)  # what a kernel for browsers asks of Pyodide


def build_plain_site(folder: Path, ours: Path, work: Path) -> Path:
    """Build it in `folder`, of the Pyodide and the compiled wheels that our site has; the rest is JupyterLite's own."""
    python, lite = ours / "static" / "pyodide", work / "lite"
    theirs = lite / "static" / "pyodide"
    theirs.mkdir(parents=True)
    lock = read_lock(python)
    lock["packages"] = {name: lock["packages"][name] for name in _PACKAGES}
    lock["packages"]["micropip"]["depends"] = ["packaging"]
    lock["packages"]["ipython"]["depends"] = list(_OF_IPYTHON)
    for name in (*CORE, *(each["file_name"] for each in lock["packages"].values())):
        shutil.copy(python / name, theirs)
    _write(theirs / LOCK, lock)
    cell = {"cell_type": "code", "id": "one", "source": "1+1", "metadata": {}, "outputs": [], "execution_count": None}
    about = {"language_info": {"name": "python"}}
    _write(work / "contents" / PLAIN, {"cells": [cell], "metadata": about, "nbformat": 4, "nbformat_minor": 5})
    plugin = {f"{KERNEL}:kernel": {"pyodideUrl": "./static/pyodide/pyodide.mjs", "disablePyPIFallback": True}}
    settings = {"exposeAppInBrowser": True, "litePluginSettings": plugin}
    parts = all_parts(parts_folder(), print)
    replace(parts, wheels=()).unpack_extensions(work / "extensions")
    put_together(lite, work / "contents", folder, work / "extensions", ["notebooks"], settings)
    return folder


def _write(path: Path, content: object) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(content), encoding="utf-8")
