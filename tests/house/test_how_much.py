"""Many values asked of in one test: each that fails is named, and none is forgotten."""

from __future__ import annotations

from inspect import signature

import pytest

from tests.how_much import in_one


def is_even(self, number, parity):
    assert number % 2 == parity, "odd one"
    10 // number


class TestInOne:
    def test_all_that_fail_are_named_with_why(self):
        with pytest.raises(AssertionError) as failed:
            in_one("number", [2, 3, 4, 5, 0])(is_even)(None, parity=0)
        lines = [line for line in str(failed.value).splitlines() if line[:1].isdigit()]
        assert [line[:10] for line in lines] == ["3: odd one", "5: odd one", "0: ZeroDiv"]

    def test_what_is_asked_is_no_fixture_and_the_rest_is(self):
        asked = in_one("number", [2, 4])(is_even)
        assert list(signature(asked).parameters) == ["self", "parity"]
        asked(None, parity=0)

    def test_nothing_to_ask_of_is_a_failure(self):
        with pytest.raises(AssertionError, match="nothing to ask"):
            in_one("number", [])(is_even)(None, parity=0)

    def test_where_nothing_was_raised_the_value_is_named_too(self):
        def is_refused(self, number):
            with pytest.raises(ValueError, match=r"invalid literal"):
                int(number)

        with pytest.raises(AssertionError, match=r"^7: DID NOT RAISE"):
            in_one("number", ["x", "7"])(is_refused)(None)

    def test_values_may_be_several_and_come_from_a_function(self):
        in_one(("number", "parity"), lambda: iter([(2, 0), (3, 1)]))(is_even)(None)
        with pytest.raises(AssertionError, match=r"^\(3, 0\): odd one"):
            in_one("number, parity", lambda: iter([(2, 0), (3, 0)]))(is_even)(None)

    def test_over_a_class_it_is_each_of_its_tests(self):
        seen = []

        @in_one("number", [1, 2])
        class Both:
            def test_one(self, number):
                seen.append(number)

            def test_other(self, number):
                seen.append(-number)

        Both().test_one()
        Both().test_other()
        assert seen == [1, 2, -1, -2]
