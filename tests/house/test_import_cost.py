"""`import gearcalc` loads nothing heavy, and every public name is there when it is asked for."""

from __future__ import annotations

import importlib
import json
import subprocess
import sys

import pytest

import gearcalc
from tests.how_much import in_one

HEAVY = (
    "sympy",
    "mpmath",
    "pandas",
    "numpy",
    "scipy",
    "matplotlib",
    "ipywidgets",
    "anywidget",
    "IPython",
    "jupyterlab",
)
CORE = [
    "basics.errors",
    "basics.exact",
    "basics.files",
    "basics.writing",
    "threads.metric_threads",
    "threads.designations",
    "threads.thread_text",
    "threads",
    "threads.wanted",
    "lathes.trains",
    "lathes",
    "lathes.files",
    "finding.setups",
]
PROMISED = [
    "Thread",
    "Feed",
    "Lathe",
    "demo_lathe",
    "Train",
    "Setup",
    "setup",
    "find_setups",
    "nearest_threads",
    "derive",
    "solve_for_gear",
    "GearcalcError",
]


def loaded_after(code: str) -> set[str]:
    """The modules that a fresh interpreter has loaded after running some code."""
    report = f"import json, sys; {code}; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", report], capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout.splitlines()[-1]))


class TestImport:
    def test_loads_nothing_heavy(self):
        assert loaded_after("import gearcalc").isdisjoint(HEAVY)

    def test_not_even_its_own_modules(self):
        assert not [name for name in loaded_after("import gearcalc") if name.startswith("gearcalc.")]

    @in_one(
        "code",
        [
            "from gearcalc import Thread; Thread.parse('M8').lead_mm",
            "import gearcalc as gc; gc.setup(gc.demo_lathe('inch'), 40, 80, 'low', wanted='1.75 mm').error_ppm",
            "import gearcalc as gc; gc.Thread.parse('module 1').error_ppm(3)",
            *(f"import gearcalc.{module}" for module in CORE),
        ],
    )
    def test_the_core_stays_pure_python(self, code):
        assert loaded_after(code).isdisjoint(HEAVY)


class TestPublicNames:
    @in_one("name", gearcalc.__all__)
    def test_each_is_importable_and_documented(self, name):
        found = getattr(gearcalc, name)
        assert found.__doc__
        assert getattr(importlib.import_module("gearcalc"), name) is found

    @in_one("name", PROMISED)
    def test_those_that_people_call_are_among_them(self, name):
        assert name in gearcalc.__all__
        assert name in dir(gearcalc)

    def test_a_name_that_there_is_not(self):
        with pytest.raises(AttributeError):
            gearcalc.no_such_name  # noqa: B018

    def test_star_brings_the_public_names(self):
        names: dict[str, object] = {}
        exec("from gearcalc import *", names)
        assert set(gearcalc.__all__) <= set(names)
