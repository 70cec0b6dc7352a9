"""The fault-finder: the symptoms asked for, a source with every cause, the arithmetic in it, and its forms."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

import gearcalc as gc
from gearcalc.basics.cautions import CAUTIONS
from gearcalc.basics.errors import UnknownNameError
from gearcalc.papers.fault_finder import SYMPTOMS
from tests.how_much import in_one

NAMES = [
    "will not start",
    "noisy",
    "wrong lead",
    "does not move",
    "runs backwards",
    "will not mesh",
    "one flank torn",
    "second groove",
]


class TestFaultFinder:
    def test_the_symptoms(self):
        assert [symptom.name for symptom in gc.fault_finder().symptoms] == NAMES

    @in_one(
        ("asked", "found"),
        [
            ("Noisy", "noisy"),
            ("won't mesh", "will not mesh"),
            ("won’t start", "will not start"),
            ("wrong  lead ", "wrong lead"),
            ("running backwards", "runs backwards"),
        ],
    )
    def test_near_enough(self, asked, found):
        assert [symptom.name for symptom in gc.fault_finder(asked).symptoms] == [found]

    @in_one("asked", ["on fire", "", 3, "<b>", "x" * 10_000])
    def test_no_such_symptom(self, asked):
        with pytest.raises(UnknownNameError, match="Known are: will not start"):
            gc.fault_finder(asked)

    def test_the_interlock_comes_first_of_what_keeps_it_from_starting(self):
        assert "interlock" in gc.fault_finder("will not start").symptoms[0].causes[0].cause

    def test_no_word_of_python_stands_in_it(self):
        said = " ".join(word for row in gc.fault_finder().rows for word in map(str, row.values()))
        assert not re.search(r"\bgc\.|\w\(|\w_\w|\b(None|True|False)\b", said)

    def test_every_cause_says_where_it_is_from(self):
        assert {cause.source for symptom in SYMPTOMS for cause in symptom.causes} == {
            "common practice, no source",
            "computed",
        }

    @in_one("name", NAMES)
    def test_every_page_shows_the_cautions_and_gives_way(self, name):
        found = gc.fault_finder(name)
        for shown in (" ".join(str(found).replace("! ", "").split()), found.page, found._repr_html_()):
            assert all(caution in shown for caution in CAUTIONS)
            assert "Never bridge" in shown

    @pytest.mark.parametrize(("ending", "start"), [(".html", b"<!DOC"), (".txt", b"FAULT-FINDER"), (".pdf", b"%PDF")])
    def test_saving(self, tmp_path, ending, start):
        assert gc.fault_finder().save(tmp_path / f"faults{ending}").read_bytes().startswith(start)

    def test_a_carriage_that_stands_still(self):
        """Shear pin, key, a lever in neutral, a mesh forgotten: each is looked for isolated, never under power."""
        (symptom,) = gc.fault_finder("does not move").symptoms
        told = " ".join(f"{cause.cause} {cause.look} {cause.then}" for cause in symptom.causes)
        assert all(
            words in told for words in ("shear pin", "key", "neutral", "clamp", "mesh was forgotten", "half-nuts")
        )
        assert all("solat" in cause.look + cause.then or "Stop" in cause.then for cause in symptom.causes)

    @pytest.mark.parametrize(
        ("symptom", "cause"), [("wrong lead", "the lever or the gearbox"), ("runs backwards", "the reverse")]
    )
    def test_what_the_card_isolates_for_is_isolated_here(self, symptom, cause):
        """A lever or the reverse is moved isolated, the drive free, and the chuck turned by hand after it."""
        (then,) = [each.then for each in gc.fault_finder(symptom).symptoms[0].causes if each.cause.startswith(cause)]
        assert then.startswith("Isolate, drive free; ")
        assert "turn the chuck by hand" in then

    def test_a_leadscrew_with_end_play(self):
        told = [cause.cause for cause in gc.fault_finder("second groove").symptoms[0].causes]
        assert any("leadscrew shifts" in cause for cause in told)

    def test_pages(self):
        assert gc.fault_finder().on_paper().pages == 3

    def test_rows(self):
        assert len(gc.fault_finder().rows) == sum(len(symptom.causes) for symptom in SYMPTOMS)


class TestItsArithmetic:
    """What is marked 'computed' is so."""

    def test_upside_down_gives_the_square_of_driven_over_driver(self):
        lathe = gc.demo_lathe("inch")
        right, wrong = gc.setup(lathe, 40, 60, "middle"), gc.setup(lathe, 60, 40, "middle")
        assert wrong.lead_mm / right.lead_mm == Fraction(60, 40) ** 2

    def test_forty_for_thirty_eight(self):
        assert round((40 / 38 - 1) * 100) == 5

    def test_twenty_tpi_for_one_and_a_quarter(self):
        assert round((25.4 / 20 / 1.25 - 1) * 100, 1) == 1.6

    def test_two_drivers_exchanged_change_nothing(self):
        assert gc.Train((40, 30), (80, 60)).ratio == gc.Train((30, 40), (80, 60)).ratio
        assert gc.Train((40, 30), (80, 60)).ratio != gc.Train((80, 30), (40, 60)).ratio

    def test_an_idler_changes_the_direction_only(self):
        one, other = gc.Train((40,), (80,)), gc.Train((40,), (80,), (25,))
        assert one.ratio == other.ratio
        assert one.turns_the_same_way != other.turns_the_same_way
