"""Every lesson, as committed and executed from clean, once for all that is asked of it."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest

from gearcalc.basics.files import notebooks_folder
from gearcalc.teaching.handouts import as_handout
from tests import axe
from tests.chromium import UNFOLD
from tests.lessons import lesson_rules
from tests.lessons.given_away import faults_of_order
from tests.lessons.handed_out import faults_as_handed_out, links_of
from tests.lessons.reading_time import faults_of_time
from tests.notebooks import LESSONS

PAGES = sorted(notebooks_folder().glob("*.ipynb"))

pytestmark = pytest.mark.lesson


@pytest.mark.parametrize("path", PAGES, ids=[path.stem for path in PAGES])
def test_as_committed(path: Path) -> None:
    faults = lesson_rules.faults_as_committed(lesson_rules.read(path), path)
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize("path", PAGES, ids=[path.stem for path in PAGES])
def test_runs_from_clean(path: Path) -> None:
    executed = lesson_rules.executed(path)
    faults = lesson_rules.faults_when_run(executed) + lesson_rules.faults_as_exported(executed)
    assert not faults, "\n".join(faults)


@cache
def handed_out(path: Path) -> str:
    """The page to hand out, with numbers in its exercises and the code of its cells."""
    return as_handout(path.stem, lesson_rules.executed(path), {other.stem for other in PAGES}, numbered=True).html


@pytest.mark.parametrize("path", PAGES, ids=[path.stem for path in PAGES])
def test_stands_alone_as_a_page_to_hand_out(path: Path) -> None:
    page = handed_out(path)
    faults = faults_as_handed_out(page)
    assert not faults, "\n".join(faults)
    assert links_of(page) <= {f"{other.stem}.html" for other in PAGES}


@pytest.mark.parametrize("path", PAGES, ids=[path.stem for path in PAGES])
def test_axe_finds_nothing_on_the_page_to_hand_out(chromium: Any, path: Path) -> None:
    with chromium.new_page(viewport={"width": 1366, "height": 768}) as page:
        page.set_content(handed_out(path))
        page.evaluate(UNFOLD, "body")
        faults = axe.found_on(page)
        assert not faults, "\n".join(faults)


@pytest.mark.parametrize("path", LESSONS.values(), ids=[path.stem for path in LESSONS.values()])
def test_takes_as_long_as_it_says_and_no_more_than_an_hour(path: Path) -> None:
    faults = faults_of_time(lesson_rules.executed(path))
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize("path", LESSONS.values(), ids=[path.stem for path in LESSONS.values()])
def test_asks_before_it_shows(path: Path) -> None:
    faults = faults_of_order(lesson_rules.executed(path))
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize("path", LESSONS.values(), ids=[path.stem for path in LESSONS.values()])
def test_shows_words_and_no_structures_of_python(path: Path) -> None:
    faults = lesson_rules.raw_python(lesson_rules.executed(path))
    assert not faults, "\n".join(faults)
