"""What becomes of an answer that is handed to its kind alone, without an exercise."""

from __future__ import annotations

from gearcalc.basics.errors import GearcalcError
from gearcalc.learning.exercises.answers import slips_of


def marked(kind, given):
    """Right or not; 'unreadable' where it can't be read."""
    try:
        return kind.is_right(kind.read(given))
    except (GearcalcError, TypeError, ValueError):
        return "unreadable"


def slip_of(kind, given):
    """The name of the first slip that shows in a wrong answer."""
    read = kind.read(given)
    assert not kind.is_right(read)
    for slip in slips_of(kind.common_slips()):
        if slip.wrong(read) if callable(slip.wrong) else kind.same(read, slip.wrong):
            assert isinstance(slip.says, str) or slip.says(read)
            return slip.name
    return None
