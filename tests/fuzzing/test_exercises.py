"""Every exercise, whatever is answered: an outcome, soon, and nothing else happens."""

from __future__ import annotations

import pytest

from tests.fuzzing.asking import no_faults


@pytest.mark.timeout(900)
def test_whatever_is_answered():
    no_faults("exercises", 1000)
