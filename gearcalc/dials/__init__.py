"""Catching the thread: when the half-nuts may close, and how to get from one start to the next."""

from gearcalc.dials.rules import DialRule, cut_lead, dial

__all__ = ["DialRule", "cut_lead", "dial"]
