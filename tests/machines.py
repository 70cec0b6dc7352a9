"""A lathe that is run by hand in exact fractions: spindle, leadscrew, carriage, half-nuts and dial, each on its own.

It knows no rule about lines: only what turns what. So it can say whether a rule is right.
"""

from __future__ import annotations

from fractions import Fraction


class Machine:
    """The state of a lathe in the middle of cutting a thread; all positions are exact.

    `ratio`: leadscrew turns for one turn of the spindle; `screw`: mm in a turn of the leadscrew; `lead`: of the groove;
    `teeth`, `lines`: of the dial; `way`: 1 or −1, which way the carriage goes.
    """

    def __init__(self, ratio: Fraction, screw: Fraction, lead: Fraction, teeth: int, lines: int, way: int = 1) -> None:
        self.ratio, self.screw, self.lead = ratio, screw, lead
        self.teeth, self.lines, self.way = teeth, lines, way
        self.spindle = self.leadscrew = self.carriage = self.dial = Fraction(0)
        self.closed = True

    def run(self, spindle_turns: Fraction) -> None:
        """The spindle turns; the leadscrew with it; closed half-nuts take the carriage along, else the dial turns."""
        turns = spindle_turns * self.ratio
        self.spindle += spindle_turns
        self.leadscrew += turns
        if self.closed:
            self.carriage += self.way * turns * self.screw
        else:
            self.dial += turns / self.teeth

    def open(self) -> None:
        self.closed = False

    def crank(self, mm: Fraction) -> None:
        """The carriage is moved by hand, half-nuts open: the dial rolls along the leadscrew like a wheel on a rack."""
        assert not self.closed
        self.carriage += mm
        self.dial -= self.way * mm / self.screw / self.teeth

    def wait_for(self, line: int, rounds: int = 0) -> None:
        """Until that line (numbered from 1) stands at the mark, and so many turns of the dial more."""
        ahead = (Fraction(line - 1, self.lines) - self.dial) % 1 + rounds
        self.run(ahead * self.teeth / self.ratio)

    @property
    def can_close(self) -> bool:
        """The half-nuts' thread stands over a groove of the leadscrew."""
        return ((self.carriage / self.screw - self.way * self.leadscrew) % 1) == 0

    @property
    def in_the_groove(self) -> bool:
        """The tool stands where a groove cut from position nought at angle nought would be."""
        return ((self.carriage / self.lead - self.way * self.spindle) % 1) == 0

    @property
    def out_mm(self) -> Fraction:
        """How far it stands behind that groove, in the direction of the cut, to the nearer side."""
        behind = (self.way * self.spindle * self.lead - self.carriage) * self.way % self.lead
        return behind - self.lead if 2 * behind > self.lead else behind
