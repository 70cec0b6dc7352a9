"""The one family of errors: what a message says, and what it never shows."""

from __future__ import annotations

import copy
import pickle
from fractions import Fraction

import pytest

from gearcalc import errors
from gearcalc.errors import GearcalcError, quoted


class Talkative:
    """An object whose repr is nothing for a message."""

    def __repr__(self) -> str:
        return "two\nlines\x1b[31m"


class Broken:
    def __repr__(self) -> str:
        raise RuntimeError("no words for it")


class TestQuoted:
    @pytest.mark.parametrize(
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

    @pytest.mark.parametrize("text", ["a\nb", "\x00", "\x1b[31mred", "\u202eabc", "\ud800", "a\u2028b", "\ufeff"])
    def test_what_does_not_print_is_escaped(self, text):
        assert quoted(text).isprintable()

    @pytest.mark.parametrize(
        "value",
        [10**5000, -(10**5000), Fraction(10**5000, 7), Fraction(1, 10**5000), [10**5000], (1, [10**5000]), 1e308],
        ids=["whole", "negative", "over", "under", "in a list", "deeper", "float"],
    )
    def test_huge_numbers_are_short(self, value):
        assert len(quoted(value)) < 90

    @pytest.mark.parametrize(
        "value", [Talkative(), [Talkative()], Broken(), {"a": Broken()}, b"\x00\n", object()], ids=type
    )
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

    def test_place_with_control_characters_is_made_printable(self):
        assert str(GearcalcError("p", where="odd\x1b[31m\nname.toml")).isprintable()

    @pytest.mark.parametrize("part", ["problem", "where", "remedy"])
    @pytest.mark.parametrize(
        "control", ["\x1b[31m", "\r", "\x0b", "\x1c", "\x85", "\u2028", "\u202e", "\u2066", "\x7f"]
    )
    def test_nothing_that_a_terminal_obeys_stands_in_a_message(self, part, control):
        assert str(GearcalcError(**{"problem": "p", part: f"a{control}b"})).isprintable()

    def test_a_place_of_any_length_leaves_the_message_short(self):
        assert len(str(GearcalcError("p", where="x" * 100_000))) < 300

    @pytest.mark.parametrize("error", [getattr(errors, name) for name in errors.__all__ if name.endswith("Error")])
    def test_every_one_is_caught_as_gearcalc_error_and_survives_copying(self, error):
        made = error("problem", value="v", where="w", remedy="r")
        assert isinstance(made, GearcalcError)
        for again in (copy.copy(made), pickle.loads(pickle.dumps(made))):
            assert (type(made), str(made), made.value) == (type(again), str(again), again.value)

    def test_builtin_parents_let_ordinary_code_catch_them(self):
        assert issubclass(errors.ThreadTextError, ValueError)
        assert issubclass(errors.GearNotOwnedError, LookupError)


class TestAt:
    def test_puts_the_place_in_front_and_keeps_the_rest(self):
        error = errors.LatheFileError("no", value=1, where="[gears]", remedy="Mend it.").at("a.toml")
        assert str(error) == "a.toml: [gears]: no, not 1. Mend it."
        assert isinstance(error, errors.LatheFileError)
