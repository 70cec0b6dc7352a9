"""Many jobs on one lathe: what a change moves, the order that moves least, and the chart of all threads."""

from gearcalc.plans.changeovers import USUAL_PPM, plan_changeover

__all__ = ["USUAL_PPM", "plan_changeover"]
