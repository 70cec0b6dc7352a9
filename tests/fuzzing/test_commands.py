"""Every command with its options: an answer or a line of ours, soon, and nothing else happens."""

from __future__ import annotations

import pytest

from tests.fuzzing.asking import no_faults


@pytest.mark.timeout(900)
def test_whatever_a_command_is_told():
    no_faults("commands", 450)
