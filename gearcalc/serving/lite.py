"""JupyterLite's own build: what it is told, the front ends that it takes in, and what of its work is left out."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from gearcalc.serving.parts import KERNEL, REINSTALL, Parts, run

APPS = ("notebooks", "tree")
"""A lesson by itself, and the list of files, where copies of one's own are found."""
_PYTHON = f"{KERNEL}:kernel"
# Through it Python would read the files of the page, where there is one: on a plain http address there is none, and a
# lesson would work in another way there. What a lesson writes is kept by kept.mjs instead.
_NOT_WANTED = ("@jupyterlite/application-extension:service-worker-manager",)


def build(work: Path, contents: Path, parts: Parts, packages: Sequence[str], beside: Mapping[str, str]) -> Path:
    """Have JupyterLite put a site together, and return its folder.

    `work`: a scratch folder. `contents`: the files that a learner sees. `packages`: names of what Python loads when it
    starts; `beside`: the files that it finds beside its lessons, by name. Raises NotPossibleError.
    """
    lite, site = work / "lite", work / "site"
    lite.mkdir()
    parts.unpack_extensions(work / "extensions")
    put_together(lite, contents, site, work / "extensions", APPS, _settings(packages, beside))
    _leave_out(site)
    return site


def put_together(
    lite: Path, contents: Path, site: Path, extensions: Path, apps: Sequence[str], settings: Mapping[str, Any]
) -> None:
    """Run JupyterLite's build, with these front ends and settings of its pages and no others.

    `lite`: the folder in which it works; what else is there comes into the site as it is. Raises NotPossibleError.
    """
    page = {"jupyter-lite-schema-version": 0, "jupyter-config-data": settings}
    (lite / "jupyter-lite.json").write_text(json.dumps(page), encoding="utf-8")
    told = {"FederatedExtensionAddon": {"extra_labextensions_path": [str(extensions)]}}
    (lite / "jupyter_lite_config.json").write_text(json.dumps(told), encoding="utf-8")
    command: list[str | Path] = [sys.executable, "-P", "-m", "jupyterlite_core", "build", "--ignore-sys-prefix"]
    command += ["--lite-dir", lite, "--contents", contents, "--output-dir", site]
    command += [word for app in apps for word in ("--apps", app)]
    command += ["--no-sourcemaps", "--no-unused-shared-packages"]
    clean = {name: value for name, value in os.environ.items() if not name.startswith("JUPYTERLITE_")}
    run(command, "JupyterLite's build", REINSTALL, cwd=lite, env=clean)


def _settings(packages: Sequence[str], beside: Mapping[str, str]) -> dict[str, Any]:
    """What JupyterLite is told: one load of all packages, never another host, and the files beside the lessons."""
    python = {
        "pyodideUrl": "./static/pyodide/start.mjs",
        "disablePyPIFallback": True,
        "loadPyodideOptions": {"packages": list(packages), "beside": dict(beside)},
    }
    return {
        "appName": "gearcalc lessons",
        "exposeAppInBrowser": True,
        "disabledExtensions": list(_NOT_WANTED),
        "litePluginSettings": {_PYTHON: python},
    }


def _leave_out(site: Path) -> None:
    """Take away what serves building, and letters for browsers that are too old for Python."""
    for path in [*site.glob("rspack.config*"), site / "package.json"]:
        path.unlink(missing_ok=True)
    for path in (site / "build").iterdir():
        if path.suffix == ".eot" or (path.suffix == ".svg" and path.name.startswith("fa-")):
            path.unlink()
