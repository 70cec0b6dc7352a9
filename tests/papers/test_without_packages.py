"""Where compiled packages can't be had: sheets are still made, and what needs one of them says which."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

import gearcalc as gc

ALONE = """
import importlib.abc, json, sys

class Away(importlib.abc.MetaPathFinder):
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in ("numpy", "pandas", "matplotlib", "scipy"):
            raise ImportError(name)

sys.meta_path.insert(0, Away())
import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.papers.tables import captioned

def refused(ask):
    try:
        ask()
    except GearcalcError as problem:
        return str(problem)

lathe = gc.demo_lathe("inch")
card = gc.change_card(lathe, gc.setup(lathe, 40, 60, "middle", 25, wanted="12 tpi"), mounted="40/80")
plate = gc.wall_plate(lathe, ["UNC", "M6", "lead 15 in"], on="2026-11-25")
made = {
    "card": [card.on_paper().svg(page) for page in (1, 2)],
    "card in a notebook": card._repr_html_(),
    "plate": [plate.paper.svg()],
    "plate in a notebook": plate._repr_html_(),
    "faults": [gc.fault_finder().on_paper("letter").svg(page) for page in (1, 2, 3)],
    "table": captioned([{"thread": "M10", "error_ppm": 12.5}], "Errors")._repr_html_(),
    "tables": [len(gc.chart(lathe, "M8")), len(gc.pitch_error_table(lathe, "M8")), len(gc.feed_chart(lathe, "0.1 mm"))],
    "no table": refused(lambda: gc.save_csv([], "x.csv")),
    "refused": [
        refused(card.on_paper().pdf),
        refused(plate.paper.pdf),
    ],
}
print(json.dumps(made))
"""


@pytest.fixture(scope="module")
def made():
    done = subprocess.run([sys.executable, "-c", ALONE], capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


class TestWithoutPandasAndMatplotlib:
    def test_the_sheets_are_those_that_are_made_with_them(self, made):
        lathe = gc.demo_lathe("inch")
        card = gc.change_card(lathe, gc.setup(lathe, 40, 60, "middle", 25, wanted="12 tpi"), mounted="40/80")
        plate = gc.wall_plate(lathe, ["UNC", "M6", "lead 15 in"], on="2026-11-25")
        assert made["card"] == [card.on_paper().svg(page) for page in (1, 2)]
        assert made["plate"] == [plate.paper.svg()]
        assert made["faults"] == [gc.fault_finder().on_paper("letter").svg(page) for page in (1, 2, 3)]
        assert made["card in a notebook"] == card._repr_html_()
        assert made["plate in a notebook"] == plate._repr_html_()
        assert "<td>+12.5" in made["table"]

    def test_what_needs_one_says_which_and_what_to_do(self, made):
        assert made["tables"] == [1, 1, 1]
        assert "a table is wanted here" in made["no table"]
        for said in made["refused"]:
            assert "written by matplotlib" in said
            assert "ending .html" in said
