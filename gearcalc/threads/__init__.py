"""Threads: what is wanted, as the trade writes it; the standards' tables, and series by name."""

from gearcalc.threads.series import nearest_threads, standard_threads
from gearcalc.threads.wanted import Feed, FeedLike, Thread, ThreadLike, Wanted, WantedLike, as_thread

__all__ = [
    "Feed",
    "FeedLike",
    "Thread",
    "ThreadLike",
    "Wanted",
    "WantedLike",
    "as_thread",
    "nearest_threads",
    "standard_threads",
]
