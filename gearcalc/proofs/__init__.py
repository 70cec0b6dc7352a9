"""Did it work? What to measure, what that proves, and which slip would explain a wrong lead."""

from gearcalc.proofs.measurements import Judgement, judge_measurement, lead_band, turns_to_tell

__all__ = ["Judgement", "judge_measurement", "lead_band", "turns_to_tell"]
