"""Lesson 09 worked a second time."""

from __future__ import annotations

import re
from fractions import Fraction
from math import ceil, floor
from typing import Any

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import INCH, Case, beside_the_gears, forms, leadscrew, words

# The order of the change-over card, by how each step begins (common practice, no source).
BEGINNINGS = [
    "Isolate",
    "Open the cover",
    "Slacken",
    "Take off",
    "Put the new",
    "Set the meshes",
    "Tighten",
    "Spindle drive",
    "Close the cover",
    "Restore",
    "Lowest speed",
    "Scratch",
]


def rows(q: Exercise) -> list[tuple[str, ...]]:
    assert q.task.table is not None
    return [tuple(row) for row in q.task.table.rows]


def numbers(text: str) -> list[int]:
    return [int(number) for number in re.findall(r"\d+", text)]


def steps_in_order() -> Case:
    def rank(row: tuple[str, ...]) -> int:
        (place,) = [n for n, start in enumerate(BEGINNINGS) if row[1].startswith(start)]
        return place

    def order(q: Exercise) -> list[int]:
        return [int(row[0]) for row in sorted(rows(q), key=rank)]

    def number(q: Exercise, start: str) -> int:
        return next(int(row[0]) for row in rows(q) if row[1].startswith(start))

    def swapped(q: Exercise, one: str, other: str) -> list[int]:
        a, b = number(q, one), number(q, other)
        return [b if n == a else a if n == b else n for n in order(q)]

    def moved_before(q: Exercise, late: str, early: str) -> list[int]:
        a, b = number(q, late), number(q, early)
        rest = [n for n in order(q) if n != a]
        rest.insert(rest.index(b), a)
        return rest

    def right(q: Exercise) -> list[Any]:
        said = [str(n) for n in order(q)]
        return [order(q), tuple(order(q)), " ".join(said), ", ".join(said), "-".join(said), ", then ".join(said)]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        return [
            ("cover before isolating", swapped(q, "Isolate", "Open the cover")),
            ("power before the cover is closed", moved_before(q, "Restore", "Close the cover")),
            ("closed before turned by hand", moved_before(q, "Close the cover", "Spindle drive")),
            ("not all", order(q)[:-1]),
            ("one twice", [*order(q), order(q)[-1]]),
        ]

    return Case(right, slips, lambda q: " ".join(map(str, order(q))))


def what_comes_off() -> Case:
    chain = ["first driver", "first driven", "second driver", "second driven"]

    def places(q: Exercise) -> dict[str, tuple[int, int, str]]:
        """What a gear does -> its row, its teeth, its plane."""
        return {does: (int(n), int(teeth), plane) for n, teeth, does, _, plane in rows(q)}

    def changes(q: Exercise) -> set[int]:
        """Rows whose tooth count is another in the wanted train."""
        found = re.search(r"On the lathe is (.+), and (.+) is wanted", words(q))
        assert found
        now, then = map(numbers, found.groups())
        assert [places(q)[does][1] for does in chain] == now
        return {places(q)[does][0] for does, old, new in zip(chain, now, then, strict=True) if old != new}

    def in_the_way(q: Exercise) -> set[int]:
        """On the stud stand the first driven gear and the second driver."""
        pair = [places(q)[does] for does in chain[1:3]]
        (behind,), (before,) = ([row for row, _, plane in pair if plane == wanted] for wanted in "12")
        return {before} if behind in changes(q) and before not in changes(q) else set()

    def off(q: Exercise) -> list[int]:
        return sorted(changes(q) | in_the_way(q))

    def right(q: Exercise) -> list[Any]:
        said = [str(n) for n in off(q)]
        by_teeth = ", ".join(str(teeth) for row, teeth, _ in places(q).values() if row in off(q))
        return [off(q), set(off(q)), ", ".join(said), " and ".join(said), f"rows {' '.join(said)}", by_teeth]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        assert in_the_way(q), "the lesson's warning: one count changes, and two gears come off"
        return [("everything", [1, 2, 3, 4]), ("in the way", sorted(changes(q)))]

    return Case(right, slips, lambda q: " and ".join(map(str, off(q))))


def turns_by_hand() -> Case:
    def gears(q: Exercise) -> list[int]:
        found = re.search(r"(\d+) on the spindle side drives (\d+) on the stud, and (\d+) .+ drives (\d+) on", words(q))
        assert found
        return [int(teeth) for teeth in found.groups()]

    def each(q: Exercise) -> list[Fraction]:
        """Turns of the chuck for one turn of the stud, and of the leadscrew's gear."""
        a, b, c, d = gears(q)
        return [Fraction(b, a), Fraction(b * d, a * c)]

    def right(q: Exercise) -> list[Any]:
        turns = max(each(q))
        return [*forms(turns), f"{float(turns):.2f}", f"{float(turns):.2f} turns", round(float(turns), 4)]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        a, b, _, d = gears(q)
        wrong = [
            ("turns of the slowest", 1 / max(each(q))),
            ("not the slowest", min(each(q))),
            ("one turn", 1),
            ("whole turns", ceil(max(each(q)))),
        ]
        most, other = max(each(q)), min(each(q))
        if most > 2 and abs(other - floor(most)) > Fraction(1, 10):
            wrong.append(("a tooth is missed", floor(most)))
        largest = Fraction(max(b, d), a)
        return wrong if largest in each(q) else [*wrong, ("largest over first driver", largest)]

    return Case(right, slips, lambda q: f"{float(max(each(q))):.2f}")


def fewest_to_move() -> Case:
    def mounted(q: Exercise) -> list[int]:
        found = re.search(r"has (\d+/\d+ then \d+/\d+) on", words(q))
        assert found
        return numbers(found[1])

    def moved(q: Exercise) -> dict[str, int]:
        return {
            row[0]: sum(new != old for new, old in zip(numbers(" ".join(row[1:])), mounted(q), strict=True))
            for row in rows(q)
        }

    def best(q: Exercise) -> str:
        (found,) = [n for n, count in moved(q).items() if count == min(moved(q).values())]
        return found

    def shared(row: tuple[str, ...], q: Exercise) -> int:
        left, count = mounted(q), 0
        for teeth in numbers(" ".join(row[1:])):
            if teeth in left:
                left.remove(teeth)
                count += 1
        return count

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        most = max(shared(row, q) for row in rows(q))
        return [
            ("same gears, other places" if shared(row, q) == most else "more than needed", row[0])
            for row in rows(q)
            if row[0] != best(q)
        ]

    return Case(lambda q: [best(q), int(best(q)), f" {best(q)} "], slips, best)


def what_should_it_measure() -> Case:
    def parts(q: Exercise) -> tuple[Fraction, Fraction, int]:
        """Leadscrew, ratio of the train, turns."""
        found = re.search(r"has (\d+/\d+(?: then \d+/\d+)?) on.* to groove number (\d+)", words(q))
        assert found
        a, b, c, d = (*numbers(found[1]), 1, 1)[:4]
        return leadscrew(q) * beside_the_gears(q), Fraction(a * c, b * d), int(found[2])

    def right(q: Exercise) -> list[Any]:
        screw, gears, turns = parts(q)
        length = screw * gears * turns
        exactly = forms(length) if length.denominator < 10**6 else []  # nobody writes a longer one
        return [*exactly, f"{float(length):.2f} mm", f"{float(length / INCH):.6f} in"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        screw, gears, turns = parts(q)
        return [
            ("upside down", turns * screw / gears),
            ("one lead", screw * gears),
            ("one too few", (turns - 1) * screw * gears),
            ("one too many", (turns + 1) * screw * gears),
            ("leadscrew alone", turns * screw),
        ]

    return Case(right, slips, lambda q: f"{float(parts(q)[0] * parts(q)[1] * parts(q)[2]):g}")


CASES = {
    "steps-in-order": steps_in_order(),
    "what-comes-off": what_comes_off(),
    "turns-by-hand": turns_by_hand(),
    "fewest-to-move": fewest_to_move(),
    "what-should-it-measure": what_should_it_measure(),
}
