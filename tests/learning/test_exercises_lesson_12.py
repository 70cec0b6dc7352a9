"""The exercises of lesson 12 over many class numbers: what they ask can be found in good time, and is told rightly."""

from __future__ import annotations

from tests.how_much import MANY, exercise
from tests.learning.exercise_cases.lesson_12 import CASES


class TestOneGearForBoth:
    def test_one_of_the_first_two_to_try_serves(self):
        """Nobody has to go through every multiple of the prime that is lacking, from 20 teeth up."""
        for number in MANY:
            q = exercise("one-gear-for-both", class_number=number)
            serving = [teeth for teeth in CASES["one-gear-for-both"].right(q) if type(teeth) is int]
            tried = [
                [teeth for teeth in range(20, 128) if teeth % prime == 0][:2]
                for prime in (7, 11, 13, 19, 127)
                if all(teeth % prime == 0 for teeth in serving)
            ]
            assert any(set(first) & set(serving) for first in tried), (number, serving)

    def test_whoever_has_the_prime_is_not_asked_for_it_again(self):
        told = set()
        for number in MANY:
            q = exercise("one-gear-for-both", class_number=number)
            for slip, teeth in CASES["one-gear-for-both"].slips(q):
                if slip == "no partner":
                    outcome = q.check(teeth)
                    told.add(outcome.slip)
                    assert "Which prime" not in outcome.feedback
        assert told == {"no partner"}


class TestLeadscrewFromItsTravel:
    def test_a_whole_number_is_asked_for(self):
        q = exercise("leadscrew-from-its-travel", class_number=1)
        assert "decimals" not in q.task.answer.how

    def test_what_was_measured_is_not_said_to_be_what_was_rounded(self):
        for number in MANY:
            q = exercise("leadscrew-from-its-travel", class_number=number)
            for slip, given in CASES["leadscrew-from-its-travel"].slips(q):
                if slip == "as measured" and not q.check(given).is_right:
                    assert "measured, or that rounded" in q.check(given).feedback


class TestRatioOfALever:
    def test_the_spindle_side_is_given(self):
        assert "as often as the spindle" in exercise("ratio-of-a-lever", class_number=1).question
