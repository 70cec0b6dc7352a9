"""How a test asks the doors of a group: in one process beside, and tells each fault by the line that asks it again."""

from __future__ import annotations

import os
import random
from functools import cache

from tests.fuzzing.all_doors import doors_of
from tests.fuzzing.runs import Outcome, again, outcomes, tasks_of
from tests.how_much import THOROUGH

SEED = 1 if os.environ.get("CI") else random.randrange(1, 10**6)
"""The same inputs each run where a red build must mean a change; new ones at the bench."""


@cache
def asked(group: str, inputs: int) -> tuple[Outcome, ...]:
    """What so many inputs of chance, and all that are listed, come to."""
    return tuple(outcomes(SEED, tasks_of(doors_of(group), inputs * (20 if THOROUGH else 1))))


def no_faults(group: str, inputs: int) -> None:
    found = asked(group, inputs)
    faults = [again(each, SEED) for each in found if each.came_to == "fault"]
    assert not faults, "\n".join(faults)
    assert len(found) > 0.9 * inputs  # each door has a whole number of them
    assert {each.came_to for each in found} == {"answered", "refused"}
