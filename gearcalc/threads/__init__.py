"""Threads: what is wanted, as the trade writes it; the standards' tables, and series by name."""

from gearcalc.threads.thread import Thread, as_thread, nearest_threads, standard_threads

__all__ = ["Thread", "as_thread", "nearest_threads", "standard_threads"]
