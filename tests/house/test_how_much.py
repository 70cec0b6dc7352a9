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
