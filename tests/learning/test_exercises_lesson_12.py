"""The exercises of lesson 12 over many class numbers: what they ask can be found in good time, and is told rightly."""

from __future__ import annotations

from fractions import Fraction

from gearcalc import Lathe
from gearcalc import exercise as pose
from tests.benches import several_levers
from tests.how_much import MANY, exercise, in_one
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


class TestLineThatDoesNotFollow:
    """On a lathe of one's own: what its file says is asked, and what it could say besides is told."""

    def test_a_ratio_of_one_of_several_levers_is_asked(self):
        for number in MANY:
            rows = pose("line-that-does-not-follow", number, lathe=several_levers(3)).task.table.rows
            written = [row[2] for row in rows if row[2].startswith("lever position")]
            assert len(written) == 1
            ratio = Fraction(written[0].split('"')[1])
            assert {ratio, 1 / ratio} & {Fraction(text) for text in ("1/4", "4", "2/3", "3/4", "1/2")}

    @in_one(
        ("gears", "said"),
        [
            ("teeth = [20, 40]", "(module_mm under [gears] and [bracket] would give more), so this asks"),
            ("teeth = [20, 40]\nmodule_mm = 1", "([bracket] would give more), so this asks"),
        ],
    )
    def test_of_a_short_file_it_is_said_what_is_missing(self, gears, said):
        own = Lathe.from_toml(f'name = "Own"\nleadscrew.lead = "8 tpi"\n[gears]\n{gears}\n')
        assert said in pose("line-that-does-not-follow", 3, lathe=own).question
