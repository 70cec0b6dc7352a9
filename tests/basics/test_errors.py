"""The one family of errors: what a message says, and what it never shows."""

from __future__ import annotations

import ast
import copy
import os
import pickle
import re
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest

import gearcalc
from gearcalc.basics import errors
from gearcalc.basics.errors import GearcalcError, quoted, without_controls
from tests.how_much import in_one
from tests.notebooks import notebook

SETUP = gearcalc.setup(gearcalc.demo_lathe("inch"), 40, 80, "low", 25)


class Talkative:
    """An object whose repr is nothing for a message."""

    def __repr__(self) -> str:
        return "two\nlines\x1b[31m"


class Broken:
    def __repr__(self) -> str:
        raise RuntimeError("no words for it")


class TestQuoted:
    @in_one(
        ("value", "shown"),
        [
            ("M8", "'M8'"),
            (5, "5"),
            (-0.5, "-0.5"),
            (True, "True"),
            (Fraction(3, 8), "3/8"),
            (Fraction(4), "4"),
            ([20, "40"], "[20, '40']"),
            (float("nan"), "nan"),
        ],
    )
    def test_everyday_values_as_they_are(self, value, shown):
        assert shown == quoted(value)

    def test_long_text_is_cut_and_its_length_said(self):
        shown = quoted("x" * 5000)
        assert shown.startswith("'xxx")
        assert "(5000 characters)" in shown
        assert len(shown) < 90

    @in_one("text", ["a\nb", "\x00", "\x1b[31mred", "\u202eabc", "\ud800", "a\u2028b", "\ufeff"])
    def test_what_does_not_print_is_escaped(self, text):
        assert quoted(text).isprintable()

    @in_one(
        "value",
        [10**5000, -(10**5000), Fraction(10**5000, 7), Fraction(1, 10**5000), [10**5000], (1, [10**5000]), 1e308],
    )
    def test_huge_numbers_are_short(self, value):
        assert len(quoted(value)) < 90

    @in_one(
        ("value", "shown"),
        [
            (SETUP, "a setup (40/80, idler 25, lever low: lead 32 tpi …)"),
            ([SETUP.train, 3], "[a train (40/80, idler 25), 3]"),
            (gearcalc.Thread.parse("M10"), "a thread (M10x1.5)"),
            (gearcalc.Feed.parse("0.1 mm/rev"), "a feed (0.1 mm/rev)"),
            (SETUP.lathe.gear_set, "a gear set"),
            (gearcalc.PiMultiple(Fraction(3, 2)), "3/2 π"),
            ({"fit": quoted}, "{'fit': a function}"),
            (object(), "an object"),
        ],
    )
    def test_what_is_no_number_and_no_text_is_called_what_it_is(self, value, shown):
        """In words of the trade: no fields of a class, no place in memory."""
        assert quoted(value) == shown

    @in_one("length", range(57, 64))
    def test_sixty_signs_are_shown(self, length):
        several, cut = ["x" * 20, "x" * 20, "x" * (length - 52)], "x" * 60
        assert len(repr(several)) == length
        assert quoted(several) == (repr(several) if length <= 60 else f"{repr(several)[:60]}…")
        assert quoted("x" * length) == (f"'{'x' * length}'" if length <= 60 else f"'{cut}'… ({length} characters)")

    @in_one("length", range(37, 44))
    def test_of_what_is_ours_forty(self, length):
        said = "x" * length if length <= 40 else "x" * 40 + "…"
        assert quoted(gearcalc.Thread("x" * length, Fraction(1))) == f"a thread ({said})"

    @in_one("power", range(60, 80))
    def test_a_number_of_many_digits_is_said_to_have_so_many(self, power):
        for sign in (1, -1):
            whole, part = sign * 2**power, Fraction(sign, 2**power)
            if 2**power < 10**20:
                assert (quoted(whole), quoted(part)) == (str(whole), str(part))
            else:
                digits = quoted(part).split()[-2]
                assert abs(int(digits) - len(str(2**power))) <= 1
                assert quoted(whole) == f"a whole number of about {digits} digits"
                assert quoted(part) == f"a fraction of about {digits} digits"

    def test_twenty_digits_are_still_written_out(self):
        assert quoted(10**19) == str(10**19)
        assert quoted(Fraction(1, 2**70)) == "a fraction of about 22 digits"

    @in_one("power", [21, 40, 100, 1000])
    def test_the_digits_of_a_larger_one_are_counted_out(self, power):
        """A one and so many noughts is a digit longer than that; one less is as many nines."""
        assert quoted(10**power) == f"a whole number of about {power + 1} digits"
        assert f"{power} digits" in quoted(10**power - 1) or f"{power + 1} digits" in quoted(10**power - 1)

    @in_one("value", [Talkative(), [Talkative()], Broken(), {"a": Broken()}, b"\x00\n", object()])
    def test_any_object_gives_one_printable_line(self, value):
        assert quoted(value).isprintable()


class TestGearcalcError:
    def test_message_has_place_problem_value_and_remedy_in_that_order(self):
        error = GearcalcError("teeth must be whole", value=2.5, where="gears", remedy="Count again.")
        assert str(error) == "gears: teeth must be whole, not 2.5. Count again."

    def test_parts_stay_readable(self):
        error = GearcalcError("p", value=0, where="w", remedy="r")
        assert (error.problem, error.value, error.where, error.remedy) == ("p", 0, "w", "r")

    def test_zero_is_a_value_and_none_is_not(self):
        assert str(GearcalcError("p", value=0)) == "p, not 0."
        assert str(GearcalcError("p", value=None)) == "p."

    def test_only_what_a_terminal_obeys_is_written_out(self):
        assert without_controls("Ø 8 mm\n20\u202f000\x1b[2J\u202e") == "Ø 8 mm\n20\u202f000\\x1b[2J\\u202e"
        assert str(GearcalcError("p", where="\x1b[31m\nØ\x07")) == "\\x1b[31m\\n\\xd8\\x07: p."

    @in_one("length", range(197, 204))
    def test_a_place_is_said_as_far_as_two_hundred_signs(self, length):
        assert str(GearcalcError("p", where="x" * length)) == f"{'x' * min(200, length)}{'…' * (length > 200)}: p."

    def test_python_keeps_the_sentence_as_it_does_of_any_error(self):
        assert GearcalcError("p", value=3).args == ("p, not 3.",)

    def test_the_line_of_the_cell_is_the_last_that_stands_in_no_function(self):
        def refuse() -> None:
            raise GearcalcError("p")

        def called_from(text: str, **names: object) -> list[str]:
            with pytest.raises(GearcalcError) as refused:
                exec(compile(text, "a cell", "exec"), {"refuse": refuse, **names})
            return refused.value._render_traceback_()

        assert called_from("\n\nrefuse()") == ["Mind (called in line 3 of the cell): p."]
        within = compile("\n\n\nrefuse()", "a cell", "exec")
        assert called_from("exec(within)", within=within) == ["Mind (called in line 4 of the cell): p."]
        assert GearcalcError("p")._render_traceback_() == ["Mind: p."]

    def test_place_with_control_characters_is_made_printable(self):
        assert str(GearcalcError("p", where="odd\x1b[31m\nname.toml")).isprintable()

    @in_one("part", ["problem", "where", "remedy"])
    @in_one("control", ["\x1b[31m", "\r", "\x0b", "\x1c", "\x85", "\u2028", "\u202e", "\u2066", "\x7f"])
    def test_nothing_that_a_terminal_obeys_stands_in_a_message(self, part, control):
        assert str(GearcalcError(**{"problem": "p", part: f"a{control}b"})).isprintable()

    def test_a_place_of_any_length_leaves_the_message_short(self):
        assert len(str(GearcalcError("p", where="x" * 100_000))) < 300

    @in_one("error", [kind for name, kind in vars(errors).items() if name.endswith("Error")])
    def test_every_one_is_caught_as_gearcalc_error_and_survives_copying(self, error):
        made = error("problem", value="v", where="w", remedy="r")
        assert isinstance(made, GearcalcError)
        for again in (copy.copy(made), pickle.loads(pickle.dumps(made))):
            assert (type(made), str(made), made.value) == (type(again), str(again), again.value)

    def test_builtin_parents_let_ordinary_code_catch_them(self):
        assert issubclass(errors.ThreadTextError, ValueError)
        assert issubclass(errors.GearNotOwnedError, LookupError)


NOTEBOOK = [
    "import gearcalc as gc\nlathe = gc.demo_lathe('inch')\n\ngc.setup(lathe, 41, 80, 'low')",
    "def own(text):\n    return gc.find_setups(lathe, text)\n\nown('<img src=x onerror=f()> \\x1b[31m')",
    "gc.Lathe.from_toml('name = 3')",
    "1 / 0",
]


@pytest.fixture(scope="module")
def run(checkout):
    import nbclient

    with pytest.MonkeyPatch.context() as patched:
        patched.setenv("PYTHONPATH", str(checkout))
        return nbclient.NotebookClient(notebook(NOTEBOOK), allow_errors=True, timeout=120).execute()


class TestInANotebook:
    """Executed by IPython's own kernel: an error of ours is one sentence, another's keeps its traceback."""

    def test_one_sentence_with_the_line_of_the_cell(self, run):
        (output,) = run.cells[0].outputs
        assert (output.ename, output.traceback) == (
            "GearNotOwnedError",
            ["Mind (called in line 4 of the cell): the set has no gear of 41 teeth. The nearest it has: 38, 40, 45."],
        )

    def test_what_was_typed_is_one_printable_line_and_no_markup_once_exported(self, run):
        (output,) = run.cells[1].outputs
        (line,) = output.traceback
        assert line.startswith("Mind (called in line 4 of the cell): ")
        assert line.isprintable()
        nbconvert = pytest.importorskip("nbconvert")
        page, _ = nbconvert.HTMLExporter().from_notebook_node(run)
        assert "<img src=x" not in page
        assert "&lt;img src=x" in page

    def test_several_faults_of_a_file_each_have_a_line(self, run):
        assert run.cells[2].outputs[0].traceback[0].startswith("Mind (called in line 1 of the cell): lathe text: ")

    def test_any_other_error_keeps_its_traceback(self, run):
        assert len(run.cells[3].outputs[0].traceback) > 1

    def test_plain_python_keeps_its_traceback(self, checkout):
        said = subprocess.run(
            [sys.executable, "-c", "import gearcalc as gc\ngc.demo_lathe('x')"],
            capture_output=True,
            text=True,
            env={**os.environ, "PYTHONPATH": str(checkout)},
            check=False,
        ).stderr
        assert said.startswith("Traceback (most recent call last):")
        assert said.endswith("errors.UnknownNameError: the demo lathes are 'inch', 'metric' and 'odd', not 'x'.\n")

    def test_a_terminal_of_ipython_shows_the_same_sentence(self, checkout):
        ask = "import gearcalc as gc; gc.demo_lathe('x')"
        run = subprocess.run(
            [sys.executable, "-m", "IPython", "--colors=nocolor", "--no-banner", "-c", ask],
            capture_output=True,
            text=True,
            env={**os.environ, "PYTHONPATH": str(checkout)},
            check=False,
        )
        assert (
            "Mind (called in line 1 of the cell): the demo lathes are 'inch', 'metric' and 'odd', not 'x'."
            in run.stdout
        )
        assert "Traceback" not in run.stdout + run.stderr


def said_by(module):
    """Every text of a module that is no docstring: where it may stand, and the text."""
    tree = ast.parse(module.read_text(encoding="utf-8"))
    told = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, (ast.Module, ast.ClassDef, ast.FunctionDef)) and isinstance(node.body[0], ast.Expr)
    }
    for call in ast.walk(tree):
        if isinstance(call, ast.Call):
            for text in ast.walk(call):
                if isinstance(text, ast.Constant) and isinstance(text.value, str) and id(text) not in told:
                    yield ast.unparse(call.func), text.value


class TestWordsOfMessages:
    """What explorers and shell pass on speaks of gears, files and lists, not of Python's names and brackets."""

    ONLY_PYTHON_ASKS = frozenset(
        {  # these refuse objects that nobody can type at a page or in a shell
            "cutting/depths.py",
            "cutting/feed_changes.py",
            "deriving/missing_gears.py",
            "finding/additions.py",
            "finding/stand_ins.py",
            "lathes/lathe.py",
            "learning/exercises/__init__.py",
            "learning/explorers/catch_and_prove.py",
            "papers/csv_files.py",
            "pictures/near_miss_charts.py",
        }
    )
    A_LATHE_FILE = frozenset({"lathes/sections.py", "lathes/files.py"})  # speak of TOML
    AN_OPTION = frozenset(  # so a shell has it
        ("commands/lathe_commands.py", f" is not written like {so}") for so in ("slow=1/2", "'range: slow=1/3, fast=1'")
    )

    def test_no_message_asks_for_python(self):
        package, found = Path(gearcalc.__file__).parent, {}
        for module in sorted(package.rglob("*.py")):
            for function, text in said_by(module):
                name = module.relative_to(package).as_posix()
                asks = function.endswith("Error") and re.search(r"\w=\S|\w=$|\b[a-z_]+\(|\['", text)
                if asks and (name, text) not in self.AN_OPTION:
                    found.setdefault(name, set()).add(text)
        unexpected = {
            name: texts for name, texts in found.items() if name not in self.ONLY_PYTHON_ASKS | self.A_LATHE_FILE
        }
        assert unexpected == {}
        assert set(found) >= self.ONLY_PYTHON_ASKS  # else the list is out of date


class TestAt:
    def test_puts_the_place_in_front_and_keeps_the_rest(self):
        error = errors.LatheFileError("no", value=1, where="[gears]", remedy="Mend it.").at("a.toml")
        assert str(error) == "a.toml: [gears]: no, not 1. Mend it."
        assert isinstance(error, errors.LatheFileError)
