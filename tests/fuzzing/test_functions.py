"""Every public name with each of its arguments: an answer or an error of ours, soon, and nothing else happens."""

from __future__ import annotations

import pytest

from tests.fuzzing.asking import no_faults


@pytest.mark.timeout(900)
def test_whatever_a_function_is_handed():
    no_faults("functions", 1500)
