"""The lowest versions of packages that pyproject.toml allows are those that `.ci/run` tests with, all at once."""

from __future__ import annotations

import tomllib

from packaging.requirements import Requirement
from packaging.version import Version


def asked(checkout):
    """Every package that is asked for, with the versions that are written there."""
    project = tomllib.loads((checkout / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lists = [project["dependencies"], *project["optional-dependencies"].values()]
    return [Requirement(text) for texts in lists for text in texts]


def in_ci(checkout):
    lines = (checkout / ".ci" / "oldest.txt").read_text(encoding="utf-8").splitlines()
    pairs = (line.partition("==") for line in lines if line and not line.startswith("#"))
    return {name: Version(version) for name, _, version in pairs}


class TestOldest:
    def test_each_lowest_version_is_the_one_that_is_tested(self, checkout):
        lowest = {
            (each.name, Version(said.version))
            for each in asked(checkout)
            for said in each.specifier
            if said.operator in (">=", "==")
        }
        assert lowest == set(in_ci(checkout).items())

    def test_none_is_asked_for_without_one(self, checkout):
        for each in asked(checkout):
            assert sum(said.operator in (">=", "==") for said in each.specifier) == 1, each.name
