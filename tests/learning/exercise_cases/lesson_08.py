"""Lesson 08 worked a second time: leads and leadscrew threads laid end to end, gears turned tooth by tooth."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import Case, forms, lead_said, leadscrew, whole, words


def thread(q: Exercise) -> Fraction:
    found = re.search(r"You cut ([\d.]+ (?:tpi|mm))|you cut ([\d.]+ (?:tpi|mm))", words(q))
    assert found, words(q)
    return lead_said(found[1] or found[2])


def back_after(q: Exercise) -> int:
    """Leadscrew threads are laid end to end until whole leads are as long."""
    return next(n for n in range(1, 5000) if (n * leadscrew(q) / thread(q)).denominator == 1)


def when_the_groove_returns() -> Case:
    def right(q: Exercise) -> list[Any]:
        n = back_after(q)
        return [*forms(Fraction(n)), n, str(n), f"{n} threads", f"{n} leadscrew threads"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        n = back_after(q)
        found = [
            ("leads counted", n * leadscrew(q) / thread(q)),
            ("in millimetres", n * leadscrew(q)),
            ("not the first time", 2 * n),
            ("not the first time", 3 * n),
        ]
        return [*found, *([("too soon", 1)] if n * leadscrew(q) != 1 else [])]

    return Case(right, slips, lambda q: str(back_after(q)))


def teeth(q: Exercise) -> int:
    return whole(q, r"dial gear with (\d+) teeth")


def which_lines_serve() -> Case:
    def count(q: Exercise) -> int:
        return whole(q, r"the dial has (\d+) lines")

    def first(q: Exercise) -> int:
        return whole(q, r"closed the half-nuts at line (\d+)")

    def good(q: Exercise, closed: int | None = None) -> list[int]:
        """Each line is let come round many times after the one first used; the groove must be there each time."""

        def caught(threads: Fraction) -> bool:
            return threads.denominator == 1 and (threads * leadscrew(q) / thread(q)).denominator == 1

        start = first(q) if closed is None else closed
        return [
            line
            for line in range(1, count(q) + 1)
            if all(caught(Fraction((line - start) * teeth(q), count(q)) + turn * teeth(q)) for turn in range(8, 60))
        ]

    def right(q: Exercise) -> list[Any]:
        said = [str(line) for line in good(q)]
        if not said:
            return ["none", [], " None "]
        return [
            good(q),
            set(good(q)),
            ", ".join(said),
            " and ".join(said),
            " ".join(said),
            f"lines {' and '.join(said)}",
        ]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        lines = list(range(1, count(q) + 1))
        counted = [line for line in lines if (line - first(q)) % count(q) % back_after(q) == 0]
        found: list[tuple[str, Any]] = [("all of them", lines)]
        if not good(q):
            found.append(("its own line, but not for long", first(q)))
        else:
            found += [("too careful", "none"), ("counted from line 1", good(q, closed=1))]
        if counted not in (good(q), lines, [first(q)]):
            found.append(("a line for a thread", counted))
        if len(good(q)) > 1 and counted != [first(q)]:
            found.append(("not all", first(q)))
        return found

    return Case(right, slips, lambda q: ", ".join(map(str, good(q))) or "none")


def which_dial_gears_serve() -> Case:
    def rows(q: Exercise) -> dict[int, int]:
        assert q.task.table is not None
        return {int(number): int(count) for number, count in q.task.table.rows}

    def good(q: Exercise) -> list[int]:
        return [n for n, count in rows(q).items() if (count * leadscrew(q) / thread(q)).denominator == 1]

    def right(q: Exercise) -> list[Any]:
        said = [str(number) for number in good(q)]
        by_teeth = ", ".join(str(rows(q)[n]) for n in good(q))
        return [good(q), set(good(q)), ", ".join(said), " and ".join(said), *([by_teeth] if len(said) > 1 else [])]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        leads = back_after(q) * leadscrew(q) / thread(q)
        by_leads = [n for n, count in rows(q).items() if count % leads == 0]
        n = back_after(q)
        primes = [p for p in (2, 3, 5, 7, 11) if n % p == 0]
        shares = [k for k, count in rows(q).items() if k not in good(q) and any(count % p == 0 for p in primes)]
        found: list[tuple[str, Any]] = [("leads for leadscrew threads", by_leads)]
        if shares and sorted([*good(q), shares[0]]) != by_leads:
            found.append(("a part in common", [*good(q), shares[0]]))
        return found

    return Case(right, slips, lambda q: ", ".join(map(str, good(q))))


def how_far_out_of_the_groove() -> Case:
    def left_over(q: Exercise, threads: int) -> Fraction:
        """Whole leads are taken off, one by one."""
        rest = threads * leadscrew(q)
        while rest >= thread(q):
            rest -= thread(q)
        return min(rest, thread(q) - rest)

    def out(q: Exercise) -> Fraction:
        return left_over(q, teeth(q))

    def right(q: Exercise) -> list[Any]:
        return [out(q), float(out(q)), f"{float(out(q)):.2f} mm", f"{float(out(q)):.4f}"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        return [
            ("the groove farther off", thread(q) - out(q)),
            ("the groove farther off", out(q) - thread(q)),
            ("not taken off", teeth(q) * leadscrew(q)),
            ("in leads", out(q) / thread(q)),
            ("counted in leads", f"{float(teeth(q) * leadscrew(q) / thread(q)):.3f}"),
            ("one leadscrew thread", left_over(q, 1)),
        ]

    return Case(right, slips, lambda q: f"{float(out(q)):.2f}")


def on_to_the_next_start() -> Case:
    def gears(q: Exercise) -> tuple[int, int, int, int]:
        found = re.search(r"train \((\d+) · (\d+)\)/\((\d+) · (\d+)\)", words(q))
        assert found, words(q)
        return tuple(map(int, found.groups()))  # type: ignore[return-value]

    def starts(q: Exercise) -> int:
        return whole(q, r"thread with (\d+) starts")

    def past(q: Exercise) -> Fraction:
        """Teeth that pass at the first mesh, the turn that they give the first driven, and its stud's other gear."""
        first, second, first_driven, _ = gears(q)
        faster = re.search(r"first driver turns ([\d/]+) times", words(q))
        passed = Fraction(first, starts(q)) * Fraction(faster[1] if faster else 1)
        return passed / first_driven * second

    def right(q: Exercise) -> list[Any]:
        return [past(q), int(past(q)), f"{past(q)} teeth", float(past(q))]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        first, second, first_driven, second_driven = gears(q)
        n = starts(q)
        return [
            ("first mesh forgotten", Fraction(second, n)),
            ("a whole turn", past(q) * n),
            ("first mesh upside down", Fraction(second * first_driven, first * n)),
            ("the first driver", Fraction(first, n)),
            ("second mesh counted", past(q) * second / second_driven),
        ]

    return Case(right, slips, lambda q: str(past(q)))


CASES = {
    "when-the-groove-returns": when_the_groove_returns(),
    "which-lines-serve": which_lines_serve(),
    "which-dial-gears-serve": which_dial_gears_serve(),
    "how-far-out-of-the-groove": how_far_out_of_the_groove(),
    "on-to-the-next-start": on_to_the_next_start(),
}
