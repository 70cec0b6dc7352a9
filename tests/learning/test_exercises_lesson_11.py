"""The exercises of lesson 11 over many class numbers: each can be solved, and is what it says it is."""

from __future__ import annotations

import re
from fractions import Fraction

from attrs import evolve

from gearcalc import Lathe, demo_lathe
from gearcalc import exercise as pose
from tests.how_much import MANY, exercise, in_one
from tests.learning.exercise_cases.lesson_11 import CASES


@in_one("name", CASES)
def test_every_class_number_has_an_answer(name):
    for number in MANY:
        q = exercise(name, class_number=number)
        for answer in CASES[name].right(q):
            assert q.check(answer).is_right, (number, answer)


class TestFeedFromTheGears:
    """What a learner overlooks on a lathe of one's own, each reckoned from the file alone."""

    OWN = """
name = "Mine"
leadscrew.lead = "6 mm"
feeds.longitudinal = "1/10"
gears.teeth = [20, 23, 37, 48]
[spindle_side]
ratio = "7/5"
"""
    ONE = OWN + "".join(f'[[gearbox]]\nlever = "{name}"\nratio = "3/7"\n' for name in "AB")
    TWO = OWN + "".join(
        f'[[lever]]\nname = "{name}"\npositions = {{ in = "{turns}" }}\n'
        for name, turns in (("range", "3/7"), ("knob", "5/11"), ("plain", "1"))
    )

    def slip(self, q, times):
        said = re.search(r"driver has \*\*(\d+)\*\* teeth, the driven gear\s+\*\*(\d+)\*\*", q.question)
        feed = 6 * Fraction(int(said[1]), int(said[2])) / 10 * times
        return q.check(f"{float(feed):.5f}").slip

    def test_the_lever_or_the_spindle_side_left_out(self):
        for number in MANY:
            q = pose("feed-from-the-gears", number, lathe=Lathe.from_toml(self.ONE))
            assert self.slip(q, Fraction(7, 5)) == "lever overlooked"
            assert self.slip(q, Fraction(3, 7)) == "first driver overlooked"
            assert self.slip(q, Fraction(7, 5) * Fraction(7, 3)) == "lever the wrong way"

    def test_of_two_levers_that_count_one_or_both_left_out(self):
        for number in MANY:
            q = pose("feed-from-the-gears", number, lathe=Lathe.from_toml(self.TWO))
            assert self.slip(q, Fraction(7, 5)) == "lever overlooked"
            for one in (Fraction(3, 7), Fraction(5, 11)):
                assert self.slip(q, Fraction(7, 5) * one) == "one of the levers overlooked"

    def test_by_the_half_nuts_one_of_the_finest_is_asked(self):
        """Of every pair at every lever at most one in six is finer, by brute force; and it is not always the same."""
        for name in ("inch", "metric"):
            lathe, asked = evolve(demo_lathe(name), feeds=None), set()
            screw = lathe.leadscrew_lead_mm
            every = [
                screw * Fraction(a, b) * r for a in lathe.gears for b in lathe.gears for r in lathe.levers.values()
            ]
            for number in range(1, 25):
                feed = CASES["feed-from-the-gears"].right(pose("feed-from-the-gears", number, lathe=lathe))[0]
                assert sum(one < feed for one in every) <= len(every) / 6
                asked.add(feed)
            assert len(asked) > 5

    def test_in_inches(self):
        for number in MANY:
            q = exercise("feed-from-the-gears", class_number=number)
            (feed,) = CASES["feed-from-the-gears"].right(q)[:1]
            assert q.check(f"{float(feed) / 25.4:.5f}").slip == "inches for mm"


class TestHowDeepAreTheGrooves:
    def test_arc_and_formula_are_both_right(self):
        """So that whoever reckons with true arcs is not marked wrong; in lesson_11's own forms the last is that."""
        for number in MANY:
            q = exercise("how-deep-are-the-grooves", class_number=number)
            assert q.check(CASES["how-deep-are-the-grooves"].right(q)[-1]).is_right


class TestCoarsestFeed:
    def test_the_workshop_formula_chooses_the_same_feed(self):
        for number in MANY:
            q = exercise("coarsest-feed-that-will-do", class_number=number)
            most, nose = map(float, re.findall(r"\*\*([\d.]+) [µm]+\*\*", q.question))
            feeds = [float(row[1]) for row in q.task.table.rows]
            assert q.check(max(feed for feed in feeds if 1000 * feed**2 / 8 / nose <= most)).is_right

    def test_a_finish_such_as_turning_leaves(self):
        """Rt of 1.6 to 16 µm: who wants less grinds (common practice, no source)."""
        for number in MANY:
            q = exercise("coarsest-feed-that-will-do", class_number=number)
            assert 1.6 <= float(re.findall(r"\*\*([\d.]+) µm", q.question)[0]) <= 16
            assert exercise("how-deep-are-the-grooves", class_number=number).task.answer.value >= Fraction("1.6")


class TestFastEnough:
    def test_a_slower_and_a_faster_speed_are_there(self):
        for number in MANY:
            q = exercise("fast-enough-and-no-faster", class_number=number)
            speeds = [int(row[1]) for row in q.task.table.rows]
            assert min(speeds) < q.task.answer.value < max(speeds)


class TestLeverForAFeed:
    def test_more_than_one_lever_is_the_answer_for_a_class(self):
        """Not the slowest: whoever forgets the feed drive, which makes all finer, would find that one by luck."""
        found = [exercise("lever-for-a-feed", class_number=number).task.answer.value for number in range(1, 25)]
        assert (found.count("medium"), found.count("fast")) == (12, 12)

    def test_the_feed_drive_forgotten_never_comes_right(self):
        for number in MANY:
            q = exercise("lever-for-a-feed", class_number=number)
            assert dict(CASES["lever-for-a-feed"].slips(q))["feed drive forgotten"] != q.task.answer.value, number

    def test_it_is_told_by_its_name_in_words_that_keep_the_lever_back(self):
        for number in MANY:
            q = exercise("lever-for-a-feed", class_number=number)
            told = q.check(dict(CASES["lever-for-a-feed"].slips(q))["feed drive forgotten"])
            assert (told.slip, q.task.answer.value in told.feedback) == ("feed drive forgotten", False), number
