"""Every lesson, as committed and executed from clean."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from gearcalc.basics.files import notebooks_folder
from tests.lessons import lesson_rules

LESSONS = sorted(notebooks_folder().glob("*.ipynb"))

pytestmark = pytest.mark.lesson
each_lesson = pytest.mark.parametrize("path", LESSONS, ids=[path.stem for path in LESSONS])


@each_lesson
def test_as_committed(path: Path) -> None:
    faults = lesson_rules.faults_as_committed(lesson_rules.read(path), path)
    assert not faults, "\n".join(faults)


@each_lesson
@pytest.mark.usefixtures("kernel_sees_checkout")
def test_runs_from_clean(path: Path, tmp_path: Path) -> None:
    folder = shutil.copytree(path.parent, tmp_path / "lessons")
    executed = lesson_rules.run(lesson_rules.read(folder / path.name), folder)
    faults = lesson_rules.faults_when_run(executed) + lesson_rules.faults_as_exported(executed)
    assert not faults, "\n".join(faults)
