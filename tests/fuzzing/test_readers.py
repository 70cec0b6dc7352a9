"""Every parser, reader of a file, thing handed back: an answer or an error of ours, soon, and nothing else happens."""

from __future__ import annotations

import pytest

from tests.fuzzing.asking import no_faults


@pytest.mark.timeout(900)
def test_whatever_a_parser_reads():
    no_faults("parsers", 2400)


@pytest.mark.timeout(900)
def test_whatever_stands_in_a_file():
    no_faults("files", 700)


@pytest.mark.timeout(900)
def test_whatever_is_asked_of_what_is_handed_back():
    no_faults("classes", 900)
