"""From what is wanted to the trains that cut it, best first; and why there may be none."""

from gearcalc.search.finding import find_setups

__all__ = ["find_setups"]
