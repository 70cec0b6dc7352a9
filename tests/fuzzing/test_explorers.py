"""Every control of every explorer, and its view: an answer or a line of ours, soon, and nothing else happens."""

from __future__ import annotations

import pytest

from tests.fuzzing.asking import no_faults


@pytest.mark.timeout(900)
def test_whatever_a_control_is_set_to():
    no_faults("explorers", 700)
