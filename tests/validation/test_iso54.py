"""Against ISO 54 (modules), from memory; the axial pitch of a worm is π times its module (computed with mpmath)."""

from __future__ import annotations

from fractions import Fraction

import mpmath
import sympy

from gearcalc.basics import writing
from gearcalc.threads import Thread, worms
from tests.how_much import in_one
from tests.validation.cases import cases
from tests.validation.published import rows


class TestISO54FromMemory:
    @in_one("row", cases("modules", "m_mm"))
    def test_axial_pitch_is_pi_times_the_module(self, row):
        thread = Thread.parse(f"module {row['m_mm']}")
        assert thread.pitch_mm == sympy.pi * sympy.Rational(row["m_mm"])
        with mpmath.workdps(50):
            assert abs(mpmath.mpf(row["axial_pitch_pi_m_mm"]) - mpmath.pi * mpmath.mpf(row["m_mm"])) < 1e-6
            computed = mpmath.nstr(mpmath.pi * mpmath.mpf(row["m_mm"]), 25)
        shown = writing.decimal(thread.pitch, 25 - computed.index("."))
        assert shown.rstrip("0") == computed.rstrip("0")

    @in_one("row", cases("modules", "m_mm"))
    def test_the_same_worm_by_diametral_pitch(self, row):
        teeth = Fraction(127, 5) / Fraction(row["m_mm"])
        assert f"{float(teeth):.5f}" == row["equiv_DP"]
        assert Thread.parse(f"DP {teeth}").pitch == Thread.parse(f"module {row['m_mm']}").pitch

    def test_all_are_listed(self):
        assert {Fraction(row["m_mm"]) for row in rows("modules")} == set(worms.modules())
