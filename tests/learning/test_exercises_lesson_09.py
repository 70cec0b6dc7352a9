"""Lesson 09's exercises: the trains offered cut what is said, and an order is read in many forms."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import permutations

import pytest

import gearcalc as gc
from gearcalc.learning.exercises import exercise
from gearcalc.learning.exercises.answers import InOrder
from gearcalc.learning.exercises.lesson_09 import STEPS
from gearcalc.papers.steps import steps_of
from tests.how_much import in_one
from tests.learning.exercise_cases.reading import lead_said


class TestStepsInOrder:
    def test_the_steps_are_those_of_the_card_in_its_order(self):
        lathe = gc.demo_lathe("inch")
        card = gc.change_card(lathe, to=gc.find_setups(lathe, "12 tpi", count=1)[0])
        keys = [step.key for step in steps_of(card.change)]
        assert [key for key in keys if key in STEPS] == list(STEPS)

    @in_one("given", ["3 1 2", "3, 1, 2", "3-1-2", "3 → 1 → 2", "3 then 1 then 2", [3, 1, 2], (3, 1, 2)])
    def test_an_order_in_many_forms(self, given):
        order = InOrder((3, 1, 2))
        assert order.is_right(order.read(given))

    @in_one("given", ["", "4 1 2", "one two", [True, 1, 2], None, object(), "0", "1.5"])
    def test_what_is_no_order(self, given):
        with pytest.raises((ValueError, TypeError)):
            InOrder((3, 1, 2)).read(given)

    def test_turned_round(self):
        q = exercise("steps-in-order", class_number=4)
        assert q.check(q.task.answer.value[::-1]).slip == "cover before isolating"


# What each step is, by how its words begin.
KEYS = {
    "Isolate": "isolate",
    "Open": "cover",
    "Slacken": "slacken",
    "Take off": "strip",
    "Put the new": "build",
    "Set the meshes": "mesh",
    "Tighten": "snug",
    "Spindle drive": "by hand",
    "Close": "close",
    "Restore": "power",
    "Lowest": "try",
    "Scratch": "scratch",
}
AT_THE_GEARS = {"slacken", "strip", "build", "mesh", "snug"}

# What a reply must speak of where an order leads to that.
COULD_START = re.compile("could (?:still )?start|There is power|lathe can run there|can also start")
OPEN_UNDER_POWER = re.compile("gears lie open|could (?:still )?start|There is power")


def key_of(words):
    (key,) = [key for start, key in KEYS.items() if words.startswith(start)]
    return key


def gone_through(order):
    """What happens at a lathe that is worked on in this order, step by step."""
    live, is_open, happened = True, False, set()
    for step in order:
        if live and (step in AT_THE_GEARS or step in ("cover", "by hand")):
            happened.add("hands near gears that could start")
        if live and is_open and step in ("try", "scratch"):
            happened.add("runs with the cover open")
        live = (live or step == "power") and step != "isolate"
        is_open = (is_open or step == "cover") and step != "close"
        if live and is_open:
            happened.add("power and the cover open")
    return happened


def wrong_orders(q, kind):
    """The right order with two steps swapped, or with one step moved to another place."""
    right = list(q.task.answer.value)
    for i, j in permutations(range(len(right)), 2):
        wrong = list(right)
        if kind == "swapped":
            wrong[i], wrong[j] = wrong[j], wrong[i]
        else:
            wrong.insert(j, wrong.pop(i))
        yield wrong


@in_one("kind", ["swapped", "moved"])
class TestEveryDangerousOrder:
    @in_one("number", range(1, 25))
    def test_is_told_its_danger(self, kind, number):
        q = exercise("steps-in-order", class_number=number)
        keys = {int(row[0]): key_of(row[1]) for row in q.task.table.rows}
        for wrong in wrong_orders(q, kind):
            reply = q.check(wrong)
            assert not reply.is_right
            assert reply.slip not in (None, "turned round", "not all"), [keys[n] for n in wrong]
            happened = gone_through([keys[n] for n in wrong])
            if "hands near gears that could start" in happened:
                assert COULD_START.search(reply.feedback), ([keys[n] for n in wrong], reply)
            elif "power and the cover open" in happened or "runs with the cover open" in happened:
                assert OPEN_UNDER_POWER.search(reply.feedback), ([keys[n] for n in wrong], reply)

    def test_the_danger_told_is_there(self, kind):
        """Each reply names two steps that are in the wrong order in the answer given."""
        seen = set()
        for number in range(1, 60):
            q = exercise("steps-in-order", class_number=number)
            keys = {int(row[0]): key_of(row[1]) for row in q.task.table.rows}
            for wrong in wrong_orders(q, kind):
                order = [keys[n] for n in wrong]
                reply = q.check(wrong)
                done, first = IN_WORDS[reply.slip]
                inverted = [
                    (a, b) for a in done & set(order) for b in first & set(order) if order.index(a) < order.index(b)
                ]
                assert inverted, (order, reply)
                seen.add(reply.slip)
        assert len(seen) >= 17


# The steps of which each danger speaks: done too early, and what should have come first.
IN_WORDS = {
    "cover before isolating": ({"cover"}, {"isolate"}),
    "gears before isolating": (AT_THE_GEARS, {"isolate"}),
    "by hand before isolating": ({"by hand"}, {"isolate"}),
    "power before the cover is closed": ({"power"}, {"cover", "close"}),
    "power before the gears are done": ({"power"}, AT_THE_GEARS),
    "power before turned by hand": ({"power"}, {"by hand"}),
    "run before the power is back": ({"try", "scratch"}, {"power"}),
    "gears after the cover is closed": ({"close"}, AT_THE_GEARS),
    "closed before it is opened": ({"close"}, {"cover"}),
    "closed before turned by hand": ({"close"}, {"by hand"}),
    "gears before the cover is open": (AT_THE_GEARS, {"cover"}),
    "by hand before the nuts are tight": ({"by hand"}, {"snug"}),
    "by hand too early": ({"by hand"}, AT_THE_GEARS | {"cover"}),
    "stripped in mesh": ({"strip"}, {"slacken"}),
    "slack at the end": ({"build", "mesh", "snug"}, {"slacken"}),
    "on before off": ({"build"}, {"strip"}),
    "nuts before gears": ({"snug"}, {"strip", "build"}),
    "meshes before gears": ({"mesh"}, {"strip", "build"}),
    "nuts before meshes": ({"snug"}, {"mesh"}),
    "scratched before tried": ({"scratch"}, {"try"}),
}


class TestFewestToMove:
    @in_one("number", range(0, 60, 3))
    def test_all_four_cut_the_thread_from_the_set(self, number):
        q = exercise("fewest-to-move", class_number=number)
        lathe = gc.demo_lathe("inch")
        wanted = lead_said(re.search(r"next job is \*\*(.+?)\*\*", q.question)[1])
        for row in q.task.table.rows:
            (a, b), (c, d) = (map(int, cell.split("/")) for cell in row[1:])
            assert Fraction(127, 40) * Fraction(a * c, b * d) == wanted
            lathe.check_owned((a, b, c, d))
