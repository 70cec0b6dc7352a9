"""The exercises of lesson 06 over many class numbers: each task can be solved, and is what it says it is."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from math import pi

import pytest

from gearcalc import Train
from tests.how_much import MANY, exercise
from tests.learning.exercise_cases.lesson_04 import near_trains
from tests.learning.exercise_cases.lesson_06 import CASES
from tests.learning.exercise_cases.reading import box, leadscrew


@pytest.mark.parametrize("name", CASES)
def test_every_class_number_has_an_answer(name):
    for number in MANY:
        q = exercise(name, class_number=number)
        assert q.check(CASES[name].right(q)[0]).is_right, number


class TestLeadOfAWorm:
    def test_check_values_of_published_modules(self):
        """Axial pitch π·m of ISO 54 modules (series I from memory, status M; the pitch computed)."""
        published = {"1": 3.141593, "1.25": 3.926991, "1.5": 4.712389, "2": 6.283185, "2.5": 7.853982, "3": 9.424778}
        met = set()
        for number in MANY:
            q = exercise("lead-of-a-worm", class_number=number)
            module = re.search(r"\*\*module ([\d.]+)\*\* and \*\*one start", q.question)
            if module and module[1] in published:
                assert q.check(published[module[1]]).is_right
                assert q.check(f"{module[1]} π mm").is_right
                met.add(module[1])
        assert met == set(published)

    def test_diametral_pitch_as_a_multiple_of_pi(self):
        for number in MANY:
            q = exercise("lead-of-a-worm", class_number=number)
            size = re.search(r"diametral pitch (\d+)", q.question)
            if size and "one start" in q.question:
                assert q.check(f"25.4 π / {size[1]} mm").is_right
                assert q.check(f"π/{size[1]} in").is_right
                assert q.check(f"π/{size[1]}").slip == "left in inches"

    @pytest.mark.parametrize(
        ("class_number", "right", "near"), [(1, "1.8143 pi", "1.814 π"), (2, "1.5876π", "1.588 pi")]
    )
    def test_a_multiple_of_pi_may_be_rounded_and_is_no_stand_in_for_pi(self, class_number, right, near):
        q = exercise("lead-of-a-worm", class_number=class_number)  # DP 14 and DP 16: 25.4/14 and 25.4/16 times π
        assert q.check(right).is_right
        assert q.check(near).slip == "rounding"


class TestFractionForPi:
    def test_the_classic_is_not_enough_and_something_is(self):
        for number in MANY:
            q = exercise("fraction-for-pi", class_number=number)
            answer = q.task.answer
            assert not q.check(answer.than).is_right
            assert answer.most % 20 == 0
            needed = float(answer.value)
            nearest = (Fraction(round(needed * bottom), bottom) for bottom in range(1, answer.most + 1))
            best = min((x for x in nearest if x.numerator <= answer.most), key=lambda x: abs(x - needed))
            assert q.check(best).is_right


class TestATrainForTheWorm:
    def needed(self, q):
        module = re.search(r"module ([\d.]+)", q.question)
        assert module
        return Fraction(module[1]) / leadscrew(q)

    def test_the_leadscrew_is_not_driven_too_fast(self):
        for number in MANY:
            assert float(self.needed(exercise("a-train-for-the-worm", class_number=number))) * pi < 3

    def test_at_least_two_trains_serve(self):
        for number in range(100):
            q = exercise("a-train-for-the-worm", class_number=number)
            assert len(near_trains(box(q), float(self.needed(q)) * pi, 200)) >= 2

    def test_22_over_7_is_told_from_a_better_train(self):
        for number in range(60):
            q = exercise("a-train-for-the-worm", class_number=number)
            top, bottom = (Fraction(22, 7) * self.needed(q)).as_integer_ratio()
            if 6 <= top <= 1000 and 6 <= bottom <= 1000:
                assert q.check(Train((top,), (bottom,))).slip == "22/7 taken for exact"

    def test_pi_forgotten(self):
        for number in range(60):
            q = exercise("a-train-for-the-worm", class_number=number)
            assert q.check(pair(self.needed(q))).slip == "without π"


def pair(ratio):
    """A pair of gears of that ratio, whether anybody has them or not."""
    top, bottom = ratio.as_integer_ratio()
    times = -(-6 // min(top, bottom))
    return Train((times * top,), (times * bottom,))


class TestModuleOrDiametralPitch:
    def test_ten_threads_tell_them_apart(self):
        for number in MANY:
            q = exercise("module-or-diametral-pitch", class_number=number)
            *_, table_part, _ = q.solution().parts
            lengths = sorted(float(length.split()[0]) for _, length in table_part.rows)
            assert len(lengths) == 4
            assert min(b - a for a, b in pairwise(lengths)) > 0.05
            measured = float(re.search(r"measures \*\*([\d.]+) mm", q.question)[1])
            assert sum(abs(length - measured) <= 0.1 for length in lengths) == 1
