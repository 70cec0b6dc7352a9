"""Lessons in a site say what is true there: no folder, no terminal, no PDF, and where things are kept."""

from __future__ import annotations

import json
import re

import pytest

from gearcalc.serving import words_in_a_site
from gearcalc.serving.lessons_in_a_site import lesson_for_site
from gearcalc.serving.words_in_a_site import in_a_site
from gearcalc.teaching.lesson_runs import all_lessons

NOT_TRUE_THERE = re.compile(
    r"beside (the|your|their) lessons|terminal|on the left \(|right-click|Double-click|save\(\"\w+\.pdf|JupyterLab"
)
LESSONS = {path.name: path.read_text(encoding="utf-8") for path in all_lessons()}


def cells(page):
    return ["".join(cell["source"]) for cell in json.loads(page)["cells"]]


def test_nothing_is_said_that_is_not_true_there():
    names = {path.name for path in all_lessons()}
    for path in all_lessons():
        said = cells(lesson_for_site(path, names).content)
        wrong = [found[0] for cell in said for found in NOT_TRUE_THERE.finditer(cell)]
        assert not wrong, path.name


def test_every_word_that_is_changed_stands_in_a_lesson():
    page = "\n".join(cell for page in LESSONS.values() for cell in cells(page))
    for here, there in words_in_a_site._OTHERWISE.items():
        assert here in page, here
        page = page.replace(here, there)
    assert words_in_a_site._IN_A_TERMINAL.search(page)


@pytest.mark.parametrize("name", ["01_one_turn.ipynb", "02_two_pairs.ipynb"])
def test_nothing_else_is_changed(name):
    before = cells(LESSONS[name])
    after = [in_a_site(cell) for cell in before]
    assert sum(one != other for one, other in zip(before, after, strict=True)) == 1
