"""Lesson 13 worked a second time."""

from __future__ import annotations

from fractions import Fraction
from math import atan2, cos, degrees, pi, radians, sin
from typing import Any

from gearcalc.learning.exercises import Exercise
from tests.learning.exercise_cases.reading import Case, lead_said, leadscrew, number, said, whole


def named(q: Exercise, pattern: str) -> Fraction:
    return lead_said(said(q, pattern + r" ([\d.]+ (?:tpi|mm))"))


def once_round_the_dial() -> Case:
    def numbers(q: Exercise) -> tuple[int, Fraction, Fraction]:
        return whole(q, r"gear with (\d+) teeth"), leadscrew(q), named(q, "You cut")

    def turns(q: Exercise) -> Fraction:
        """The carriage stands; after so many turns the leadscrew has sent one thread past for each tooth."""
        teeth, screw, lead = numbers(q)
        return Fraction(teeth) / (lead / screw)

    def left_out(teeth: int, screw: Fraction, lead: Fraction) -> list[tuple[str, Any]]:
        return [("lead of the thread forgotten", teeth * screw)] if lead != 1 else []

    def right(q: Exercise) -> list[Any]:
        x = turns(q)
        return [x, float(x), f"{float(x):.1f}", f"{float(x):.2f} turns", f"{x.numerator}/{x.denominator}"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        teeth, screw, lead = numbers(q)
        return [
            ("upside down", teeth * lead / screw),
            ("one tooth", screw / lead),
            ("turns of the leadscrew", teeth),
            *left_out(teeth, screw, lead),
        ]

    return Case(right, slips, lambda q: f"{float(turns(q)):.1f}")


def which_way_to_wind() -> Case:
    """By two coordinates: along the work, +1 to the chuck, and across it, +1 towards whoever stands at the lathe."""

    def wound(across: int, along: int) -> str:
        """The top slide's handle is on the near side: what moves the tool towards oneself is wound out."""
        return f"{'out' if across > 0 else 'in'}, towards the {'chuck' if along > 0 else 'tailstock'}"

    def deeper(q: Exercise) -> int:
        """The tool cuts on the near side of the axis, and the metal lies beyond its point."""
        way = {"at": 1, "away from": -1}[said(q, r"tool points (at|away from) you")]
        assert (way > 0) is ("inside a bore" in q.question)
        return way

    def carriage(q: Exercise) -> int:
        return {"right": 1, "left": -1}[said(q, r"(right|left)-hand")]

    def right(q: Exercise) -> list[Any]:
        answer = wound(deeper(q), carriage(q))
        return [answer, answer.upper(), answer.replace(",", "")]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        elsewhere = "as outside" if deeper(q) > 0 else "as inside a bore"
        return [
            (elsewhere, wound(-deeper(q), carriage(q))),
            ("the other hand", wound(deeper(q), -carriage(q))),
            (f"{elsewhere} and the other hand", wound(-deeper(q), -carriage(q))),
        ]

    return Case(right, slips, lambda q: wound(deeper(q), carriage(q)))


def play_at_the_carriage() -> Case:
    def numbers(q: Exercise) -> tuple[Fraction, float, Fraction]:
        across = whole(q, r"has (\d+) teeth") * number(q, r"module ([\d.]+) mm")
        return number(q, r"has ([\d.]+) mm of backlash"), float(across), leadscrew(q)

    def module(q: Exercise) -> float:
        return float(number(q, r"module ([\d.]+) mm"))

    def moved(q: Exercise) -> float:
        """By the angle: an arc over its radius, a share of the whole circle, of a lead."""
        play, across, lead = numbers(q)
        angle = float(play) / (across / 2)
        return angle / (2 * pi) * float(lead) * 1000

    def right(q: Exercise) -> list[Any]:
        return [moved(q), f"{moved(q):.1f}", f"{moved(q):.2f} µm", f"{moved(q) / 1000:.5f} mm"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        play, across, lead = numbers(q)
        return [
            ("the play itself", play * 1000),
            ("π forgotten", float(play) / across * float(lead) * 1000),
            ("lead forgotten", float(play) / (pi * across) * 1000),
            ("millimetres for micrometres", moved(q) / 1000),
            ("half a circle", 2 * moved(q)),
            *([("module forgotten", moved(q) * module(q))] if module(q) != 1 else []),
        ]

    return Case(right, slips, lambda q: f"{moved(q):.1f}")


def lean_of_the_groove() -> Case:
    def numbers(q: Exercise) -> tuple[int, float, float]:
        starts, pitch = whole(q, r"has (\d+) starts"), number(q, r"pitch of ([\d.]+) mm")
        return starts, float(pitch), float(number(q, r"pitch diameter of ([\d.]+) mm"))

    def angle(q: Exercise) -> float:
        """By walking along the helix: a millionth of a turn round, and as much of a lead along."""
        starts, pitch, across = numbers(q)
        step = 2 * pi / 10**6
        x, y = across / 2 * (cos(step) - 1), across / 2 * sin(step)
        return degrees(atan2(starts * pitch / 10**6, (x * x + y * y) ** 0.5))

    def right(q: Exercise) -> list[Any]:
        return [angle(q), f"{angle(q):.1f}", f"{angle(q):.2f}°", f"{angle(q):.1f} degrees"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        starts, pitch, across = numbers(q)
        lead = starts * pitch
        return [
            ("pitch for lead", degrees(atan2(pitch, pi * across))),
            ("π forgotten", degrees(atan2(lead, across))),
            ("upside down", 90 - angle(q)),
            ("the tangent", lead / (pi * across)),
            ("half the circle", degrees(atan2(lead, pi * across / 2))),
        ]

    return Case(right, slips, lambda q: f"{angle(q):.1f}")


def over_the_wires() -> Case:
    def numbers(q: Exercise) -> tuple[float, float, float, float]:
        across, wire = number(q, r"diameter of ([\d.]+) mm"), number(q, r"wires of ([\d.]+) mm")
        return whole(q, r"screw M(\d+)"), float(number(q, r"pitch ([\d.]+) mm")), float(across), float(wire)

    def off(pitch: float) -> float:
        return pitch / 2 / (sin(radians(30)) / cos(radians(30)))

    def over(q: Exercise) -> float:
        """By the general rule: a wire touches both flanks at its radius, over the sharp bottom of the groove."""
        _, pitch, across, wire = numbers(q)
        sharp_bottom = across - off(pitch)  # twice half the sharp height below the pitch line
        return sharp_bottom + 2 * (wire / 2 / sin(radians(30)) + wire / 2)

    def right(q: Exercise) -> list[Any]:
        return [over(q), f"{over(q):.2f}", f"{over(q):.3f} mm"]

    def slips(q: Exercise) -> list[tuple[str, Any]]:
        full, pitch, across, wire = numbers(q)
        return [
            ("one wire", across + wire - off(pitch)),
            ("two wires", across + 2 * wire - off(pitch)),
            ("nothing taken off", across + 3 * wire),
            ("the whole pitch", across + 3 * wire - pitch),
            ("added on", over(q) + 2 * off(pitch)),
            ("the full diameter", full + 3 * wire - off(pitch)),
        ]

    return Case(right, slips, lambda q: f"{over(q):.2f}")


CASES = {
    "once-round-the-dial": once_round_the_dial(),
    "which-way-to-wind": which_way_to_wind(),
    "play-at-the-carriage": play_at_the_carriage(),
    "lean-of-the-groove": lean_of_the_groove(),
    "over-the-wires": over_the_wires(),
}
