"""What the package rests on: nothing left out, each with its licence, none that forbids use in what is under BSD."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from importlib import metadata

import pytest

from gearcalc.serving import parts
from gearcalc.serving.supplies import EVERYONE, SITE, licence_of, supplies, wheel_metadata
from gearcalc.serving.wheels import normal_name
from tests.how_much import in_one

ALLOWED = re.compile(
    r"(?:New |Modified |3-Clause )?BSD(?:-[23]-Clause|[- ]3-Clause)?(?: License)?|0BSD|MIT(?:-0|-CMU)?(?: license)?"
    r"|Apache(?: Software License|(?: License, Version)?[- ]2\.0)|ISC(?: License)?(?: \(ISCL\))?"
    r"|MPL-2\.0|Mozilla Public License 2\.0 \(MPL 2\.0\)|PSF(?:-2\.0|L)|Python Software Foundation License"
    r"|Zlib|CC0-1\.0|Unlicense|The Unlicense \(Unlicense\)",
    re.I,
)
"""Under which one may use, change and hand on a thing beside code under BSD; MPL asks for its own files alone."""


@pytest.fixture(scope="module")
def found():
    return supplies()


@pytest.fixture(scope="module")
def project(checkout):
    return tomllib.loads((checkout / "pyproject.toml").read_text("utf-8"))["project"]


def name_in(requirement):
    return normal_name(re.match(r"[\w.-]+", requirement)[0])


class TestNothingIsLeftOut:
    def test_every_dependency_once_with_the_extras_that_want_it(self, found, project):
        wanted: dict[str, set[str]] = {name_in(one): {EVERYONE} for one in project["dependencies"]}
        for extra, those in project["optional-dependencies"].items():
            for one in those:
                wanted.setdefault(name_in(one), set()).add(extra)
        named = {each.name: each for each in found if each.named and SITE not in each.wanted_by}
        assert set(named) == set(wanted)
        for name, extras in wanted.items():
            assert extras <= set(named[name].wanted_by) or named[name].wanted_by == (EVERYONE,), name

    def test_every_part_of_a_site_once_with_its_content(self, found):
        pinned = parts.pinned()
        prints = Counter(each.sha256 for each in found if SITE in each.wanted_by)
        assert set(prints.values()) == {1}
        wheels = (pinned["wheels"] | pinned["kernel"]).values()
        assert set(prints) >= {part["sha256"] for part in (pinned["pyodide"], *wheels)}
        names = {each.name for each in found if SITE in each.wanted_by}
        assert names >= {"pyodide", "jupyterlite-app", "jupyterlite-pyodide-kernel"}

    def test_each_name_once_among_packages(self, found):
        assert max(Counter(each.name for each in found if SITE not in each.wanted_by).values()) == 1

    def test_what_is_wanted_by_what_is_wanted_is_there_too(self, found):
        installed = {each.name for each in found}
        assert {"tornado", "traitlets", "mpmath"} <= installed

    def test_versions_are_those_that_are_installed(self, found):
        for each in found:
            if SITE not in each.wanted_by and each.version:
                assert each.version == metadata.version(each.name)


class TestLicences:
    def test_each_has_one(self, found):
        assert [each.name for each in found if each.version and not each.licence] == []

    def test_none_forbids_use_beside_bsd(self, found):
        refused = [
            (each.name, each.licence)
            for each in found
            if each.licence and not all(ALLOWED.fullmatch(one) for one in re.split(r" (?:AND|OR) ", each.licence))
        ]
        assert refused == []

    @in_one("licence", ["GPL-3.0-only", "AGPL-3.0", "CC-BY-NC-4.0", "GNU General Public License v3", "SSPL"])
    def test_such_a_one_would_be_seen(self, licence):
        assert not ALLOWED.fullmatch(licence)

    def test_a_part_that_is_kept_here_says_what_we_say_of_it(self):
        pinned = parts.pinned()["wheels"] | parts.pinned()["kernel"]
        said = {
            name: licence_of(wheel_metadata(parts.parts_folder() / name))
            for name, part in pinned.items()
            if parts.is_kept(parts.parts_folder() / name, part["sha256"])
        }
        assert said == {name: pinned[name]["licence"] for name in said}

    def test_one_that_is_not_known_is_said_so(self, monkeypatch):
        def nothing(name):
            raise metadata.PackageNotFoundError(name)

        monkeypatch.setattr(metadata, "metadata", nothing)
        line = next(str(each) for each in supplies() if each.name == "sympy")
        assert line == "sympy (not installed here): licence not known here; for everyone"


def test_the_table_has_a_row_for_each(ask, found, tmp_path):
    code, said, err = ask("supplies", "--save", tmp_path / "supplies.csv")
    assert (code, err) == (0, "")
    lines = (tmp_path / "supplies.csv").read_text("utf-8-sig").splitlines()
    assert len(lines) == len(found) + 1
    assert len(said.splitlines()) == len(found) + 1
    assert all(each.name in said for each in found)
