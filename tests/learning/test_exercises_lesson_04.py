"""The exercises of lesson 04 over many class numbers: each task can be solved, and is what it says it is."""

from __future__ import annotations

from fractions import Fraction

from tests.how_much import MANY, exercise, in_one
from tests.learning.exercise_cases.lesson_04 import CASES, near_trains
from tests.learning.exercise_cases.reading import box


@in_one("name", CASES)
def test_every_class_number_has_an_answer(name):
    for number in MANY if name != "what-would-make-it-exact" else range(60):  # brute force takes its time there
        q = exercise(name, class_number=number)
        assert q.check(CASES[name].right(q)[0]).is_right, number


class TestPpmOfANearMiss:
    def test_both_signs_are_met_and_none_is_tiny(self):
        errors = [exercise("ppm-of-a-near-miss", class_number=number).task.answer.value for number in MANY]
        assert min(errors) < 0 < max(errors)
        assert all(1100 < abs(error) < 4000 for error in errors)

    def test_check_values_of_the_table_of_stand_ins(self):
        """Pitch errors of a metric thread on an inch leadscrew; computed, data/ of the near-miss tables (status C)."""
        known = {(52, 41): 1346.15, (71, 56): 1690.14}
        met = set()
        for number in MANY:
            q = exercise("ppm-of-a-near-miss", class_number=number)
            for (top, bottom), ppm in known.items():
                if f"**{bottom} driving {top}**" in q.question:
                    assert q.check(ppm).is_right
                    met.add((top, bottom))
        assert met == set(known)


class TestNextConvergent:
    def test_who_walks_to_the_number_itself_is_not_sent_further(self):
        q = exercise("next-convergent", class_number=1)
        outcome = q.check(q.question.split("**")[1])
        assert outcome.slip == "the number itself"
        assert "further" not in outcome.feedback
        assert f"Only run {int(q.question.split('does run ')[1].split()[0])} is asked" in outcome.feedback

    def test_no_fraction_with_a_smaller_bottom_is_nearer(self):
        for number in range(100):
            q = exercise("next-convergent", class_number=number)
            wanted, answer = Fraction(q.question.split("**")[1]), q.task.answer.value
            off = abs(answer - wanted)
            assert answer != wanted
            for bottom in range(1, answer.denominator):
                below = wanted.numerator * bottom // wanted.denominator
                assert min(abs(Fraction(top, bottom) - wanted) for top in (below, below + 1)) > off


class TestBeat200Ppm:
    def test_no_train_of_the_box_is_exact(self):
        for number in range(100):
            q = exercise("beat-200-ppm", class_number=number)
            assert not near_trains(box(q), 1.27, 1e-9)

    def test_three_pairs_count_too(self):
        q = exercise("beat-200-ppm")
        drivers, driven = near_trains(box(q), 1.27, 199)[0]
        spare = [teeth for teeth in box(q) if teeth not in (*drivers, *driven)]
        worse = q.check(((*drivers, spare[0]), (*driven, spare[1])))
        assert worse.slip == "one pair forgotten" or not worse.is_right

    def test_the_feedback_says_how_far_off(self):
        q = exercise("beat-200-ppm")
        gears = box(q)
        outcome = q.check(((gears[0],), (gears[1],)))
        assert "ppm" in outcome.feedback
        assert outcome.slip is None


class TestWhatWouldMakeItExact:
    def test_the_solution_names_only_gears_that_serve(self):
        for number in range(40):
            q = exercise("what-would-make-it-exact", class_number=number)
            *_, last = q.solution().parts
            named = last.split("**")[1].split(", ")
            assert named
            assert all(q.check(f"{teeth} teeth").is_right for teeth in named)


class TestTheBetterStandIn:
    def test_one_is_clearly_best_and_both_signs_are_there(self):
        for number in MANY:
            q = exercise("the-better-stand-in", class_number=number)
            errors = sorted((Fraction(pair) / Fraction(127, 100) - 1 for pair in q.task.answer.options), key=abs)
            assert abs(errors[0]) < 0.8 * abs(errors[1])
            assert min(errors) < 0 < max(errors)
