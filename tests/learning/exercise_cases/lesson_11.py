"""Lesson 11 worked a second time."""

from __future__ import annotations

import re
from fractions import Fraction
from math import cos, radians, sin, sqrt
from typing import Any

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import INCH, Case, beside_the_gears, leadscrew, number, whole, words


def listed(q: Exercise) -> list[Fraction]:
    """The second column of the table."""
    assert q.task.table is not None
    return [Fraction(row[1]) for row in q.task.table.rows]


COARSE = {"6": "1", "8": "1.25", "10": "1.5", "12": "1.75", "20": "2.5"}
"""Pitches of ISO 261, coarse."""


def lead_and_starts(q: Exercise) -> tuple[Fraction, int]:
    """By what the question says of the thread, held against its designation (ISO 965-1, ISO 2904) and ISO 261."""
    said = words(q)
    if found := re.search(r"(\d+) tpi", said):
        return INCH / int(found[1]), 1
    found = re.search(r"\((?:(\d) starts, )?pitch ([\d.]+) mm\)", said)
    assert found, said
    starts, pitch = int(found[1] or 1), Fraction(found[2])
    if named := re.search(r"Tr \d+x(\d+)\(P(\d+)\)|Ph([\d.]+)P([\d.]+)", said):
        assert (Fraction(named[1] or named[3]), Fraction(named[2] or named[4])) == (starts * pitch, pitch)
    else:
        coarse = re.search(r"M(\d+)", said)
        assert coarse
        assert (starts, Fraction(COARSE[coarse[1]])) == (1, pitch)
    return starts * pitch, starts


def feed_from_the_gears() -> Case:
    def parts(q: Exercise) -> tuple[Fraction, Fraction, Fraction]:
        ratio = Fraction(whole(q, r"driver has (\d+) teeth"), whole(q, r"driven gear (\d+)\."))
        share = re.search(r"carriage ([\d/]+) as far", words(q))
        return leadscrew(q) * beside_the_gears(q), ratio, Fraction(share[1] if share else 1)

    def feed(q: Exercise) -> Fraction:
        screw, ratio, share = parts(q)
        return screw * ratio * share

    def right(q: Exercise) -> list[Any]:
        x = feed(q)
        three = f"{float(x):.3f}"
        return [
            x,
            float(x),
            f"{three} mm",
            f"{x.numerator}/{x.denominator}",
            f"{three} mm/rev",
            three.replace(".", ","),
        ]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        screw, ratio, share = parts(q)
        return [
            ("feed drive forgotten", screw * ratio),
            ("feed drive upside down", screw * ratio / share),
            ("gears upside down", screw / ratio * share),
            ("leadscrew forgotten", ratio * share),
            ("turned over", 1 / feed(q)),
        ]

    return Case(right, slips, lambda q: f"{float(feed(q)):.4g}")


def how_deep_are_the_grooves() -> Case:
    def sizes(q: Exercise) -> tuple[Fraction, Fraction]:
        return number(q, r"feed of ([\d.]+) mm"), number(q, r"radius of ([\d.]+) mm")

    def rt(q: Exercise) -> Fraction:
        feed, nose = sizes(q)
        return 1000 * feed**2 / (8 * nose)

    def right(q: Exercise) -> list[Any]:
        feed, nose = map(float, sizes(q))
        true_arc = 1000 * (nose - sqrt(nose**2 - feed**2 / 4))
        return [rt(q), float(rt(q)), f"{float(rt(q)):.1f} µm", true_arc]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        feed, nose = sizes(q)
        return [
            ("no eight", rt(q) * 8),
            ("in millimetres", rt(q) / 1000),
            ("Ra for Rt", rt(q) / 4),
            ("diameter for radius", rt(q) / 2),
            ("feed not squared", 1000 * feed / 8 / nose),
            ("two for eight", 500 * feed**2 / nose),
        ]

    return Case(right, slips, lambda q: f"{float(rt(q)):.1f}")


def coarsest_feed_that_will_do() -> Case:
    def depth(feed: Fraction, nose: Fraction) -> float:
        return 1000 * (float(nose) - sqrt(float(nose) ** 2 - float(feed) ** 2 / 4))

    def does(q: Exercise) -> list[Fraction]:
        most, nose = number(q, r"grooves of ([\d.]+) µm"), number(q, r"radius of ([\d.]+) mm")
        return [feed for feed in listed(q) if depth(feed, nose) <= most]

    def right(q: Exercise) -> list[Any]:
        best = max(does(q))
        return [best, float(best), f"{float(best):g} mm"]

    def by_ra(q: Exercise) -> Fraction:
        """The coarsest whose mean roughness, a quarter of the depth, is no more than allowed."""
        most, nose = number(q, r"grooves of ([\d.]+) µm"), number(q, r"radius of ([\d.]+) mm")
        return max(feed for feed in listed(q) if depth(feed, nose) / 4 <= most)

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        rest = [feed for feed in listed(q) if feed not in does(q) and feed != by_ra(q)]
        between = (max(does(q)) + min(feed for feed in listed(q) if feed not in does(q))) / 2
        most = number(q, r"grooves of ([\d.]+) µm")
        finer = [("too careful", feed) for feed in does(q) if feed != max(does(q))]
        return [
            *(("too coarse", feed) for feed in rest),
            *finer,
            ("Ra for Rt", by_ra(q)),
            ("inches for mm", float(max(does(q))) / 25.4),
            ("not in the table", between),
            ("grooves for feed", most),
            *(("number of a row", row) for row in range(1, 6) if row != most),
        ]

    return Case(right, slips, lambda q: f"{float(max(does(q))):g}")


def seconds_to_the_shoulder() -> Case:
    def seconds(q: Exercise) -> Fraction:
        lead, _ = lead_and_starts(q)
        return number(q, r"can go ([\d.]+) mm") / lead * 60 / whole(q, r"at (\d+) rev/min")

    def right(q: Exercise) -> list[Any]:
        x = seconds(q)
        return [x, float(x), f"{float(x):.1f} s", f"{float(x):.2f} seconds"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        x, (lead, starts) = seconds(q), lead_and_starts(q)
        room, rpm = number(q, r"can go ([\d.]+) mm"), whole(q, r"at (\d+) rev/min")
        return [
            ("pitch for lead", x * starts),
            ("turns for seconds", room / lead),
            ("minutes", x / 60),
            ("lead forgotten", 60 * room / rpm),
            ("upside down", 1 / x),
            ("times the lead", 60 * room * lead / rpm),
        ]

    return Case(right, slips, lambda q: f"{float(seconds(q)):.2f}")


def fast_enough_and_no_faster() -> Case:
    def leaves(q: Exercise, rpm: Fraction) -> bool:
        lead, _ = lead_and_starts(q)
        return number(q, r"has ([\d.]+) mm to spare") / lead * 60 / rpm >= number(q, r"want ([\d.]+) seconds")

    def best(q: Exercise) -> Fraction:
        return max(rpm for rpm in listed(q) if leaves(q, rpm))

    def right(q: Exercise) -> list[Any]:
        return [best(q), int(best(q)), f"{best(q)} rpm", f"{best(q)} rev/min"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        lead, starts = lead_and_starts(q)
        turns = number(q, r"has ([\d.]+) mm to spare") / (lead / starts)
        wanted = number(q, r"want ([\d.]+) seconds")
        by_pitch = max(rpm for rpm in listed(q) if turns * 60 / rpm >= wanted)
        by_1_mm = max(rpm for rpm in listed(q) if turns * lead / starts * 60 / rpm >= wanted)
        known = (best(q), by_pitch, by_1_mm)
        others = [rpm for rpm in listed(q) if rpm not in known]
        named = [("too fast" if rpm > best(q) else "slower than it must be", rpm) for rpm in others]
        named += [("pitch for lead", by_pitch)] if starts > 1 else []
        named += [("lead forgotten", by_1_mm)] if by_1_mm not in (best(q), by_pitch) else []
        return [*named, ("not in the table", best(q) + 1), *(("number of a row", step) for step in range(1, 10))]

    return Case(right, slips, lambda q: str(best(q)))


def how_far_in_at_an_angle() -> Case:
    def parts(q: Exercise) -> tuple[float, float]:
        return 0.6134 * float(number(q, r"pitch of ([\d.]+) mm")), radians(float(number(q, r"turned ([\d.]+)°")))

    def infeed(q: Exercise) -> float:
        straight, angle = parts(q)
        return straight / cos(angle)

    def right(q: Exercise) -> list[Any]:
        return [infeed(q), f"{infeed(q):.3f} mm", f"{infeed(q):.3f}"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        straight, angle = parts(q)
        found = [
            ("straight in", straight),
            ("times the cosine", straight * cos(angle)),
            ("sine for cosine", straight / sin(angle)),
        ]
        return [*found, ("lead for pitch" if "Ph" in words(q) else "on the diameter", 2 * infeed(q))]

    return Case(right, slips, lambda q: f"{infeed(q):.2f}")


def lever_for_a_feed() -> Case:
    def feeds(q: Exercise) -> dict[str, Fraction]:
        ratio = Fraction(whole(q, r"(\d+) drives"), whole(q, r"drives (\d+)"))
        levers = re.findall(r"(slow|medium|fast) (1(?:/\d)?)", words(q))
        return {name: 3 * ratio * Fraction(turns) * number(q, r"carriage (1/\d+) as") for name, turns in levers}

    def best(q: Exercise, share: Fraction = Fraction(1)) -> str:
        """The lever that comes nearest; where the feed drive is forgotten, each feeds so many times as much."""
        wanted = number(q, r"about ([\d.]+) mm")
        return min(feeds(q), key=lambda name: abs(feeds(q)[name] / share - wanted))

    def forgotten(q: Exercise) -> str:
        return best(q, number(q, r"carriage (1/\d+) as"))

    def right(q: Exercise) -> list[Any]:
        return [best(q), best(q).upper(), f" {best(q)} "]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        feed, by_nuts = feeds(q), forgotten(q)
        others = [name for name in feed if name not in (best(q), by_nuts)]
        named = [("too coarse" if feed[name] > feed[best(q)] else "too fine", name) for name in others]
        return [("feed drive forgotten", by_nuts), *named]

    return Case(right, slips, lambda q: f"So {best(q)}")


CASES = {
    "feed-from-the-gears": feed_from_the_gears(),
    "how-deep-are-the-grooves": how_deep_are_the_grooves(),
    "coarsest-feed-that-will-do": coarsest_feed_that_will_do(),
    "seconds-to-the-shoulder": seconds_to_the_shoulder(),
    "fast-enough-and-no-faster": fast_enough_and_no_faster(),
    "how-far-in-at-an-angle": how_far_in_at_an_angle(),
    "lever-for-a-feed": lever_for_a_feed(),
}
