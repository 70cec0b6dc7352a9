"""What the package rests on: nothing left out, each with its licence, none that forbids use in what is under BSD."""

from __future__ import annotations

import json
import re
import shutil
import tomllib
from collections import Counter
from email import message_from_string
from importlib import metadata
from pathlib import Path
from zipfile import ZipFile

import pytest

from gearcalc.basics.files import data_folder
from gearcalc.serving import parts
from gearcalc.serving.hubs import PROXY
from gearcalc.serving.supplies import EVERYONE, FROM_NPM, LETTERING, SITE, licence_of, supplies
from gearcalc.serving.wheels import normal_name
from tests.how_much import in_one

ALLOWED = re.compile(
    r"(?:New |Modified |3-Clause )?BSD(?:-[23]-Clause|[- ]3-Clause)?(?: License)?|0BSD|MIT(?:-0|-CMU)?(?: license)?"
    r"|Apache(?: Software License|(?: License, Version)?[- ]2\.0)|ISC(?: License)?(?: \(ISCL\))?"
    r"|MPL-2\.0|Mozilla Public License 2\.0 \(MPL 2\.0\)|PSF(?:-2\.0|L)|Python Software Foundation License"
    r"|Bitstream-Vera|Zlib|CC0-1\.0|Unlicense|The Unlicense \(Unlicense\)",
    re.I,
)
"""Under which one may use, change and hand on a thing beside code under BSD; MPL asks for its own files alone."""


@pytest.fixture(scope="module")
def found():
    return supplies()


@pytest.fixture(scope="module")
def project(checkout):
    return tomllib.loads((checkout / "pyproject.toml").read_text("utf-8"))["project"]


def is_package(supply):
    return SITE not in supply.wanted_by and supply.name != LETTERING and not supply.name.startswith(FROM_NPM)


def said_of_itself(wheel):
    with ZipFile(wheel) as opened:
        inside = next(name for name in opened.namelist() if name.endswith(".dist-info/METADATA"))
        return message_from_string(opened.read(inside).decode("utf-8"))


def name_in(requirement):
    return normal_name(re.match(r"[\w.-]+", requirement)[0])


class TestNothingIsLeftOut:
    def test_every_dependency_once_with_the_extras_that_want_it(self, found, project):
        wanted: dict[str, set[str]] = {name_in(one): {EVERYONE} for one in project["dependencies"]}
        for extra, those in project["optional-dependencies"].items():
            for one in those:
                wanted.setdefault(name_in(one), set()).add(extra)
        named = {each.name: each for each in found if each.named and is_package(each)}
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

    def test_each_once_among_packages(self, found):
        packages = [each for each in found if SITE not in each.wanted_by]
        once = {(each.name, each.version if each.name.startswith(FROM_NPM) else "") for each in packages}
        assert len(once) == len(packages)

    def test_what_is_wanted_by_what_is_wanted_is_there_too(self, found):
        installed = {each.name for each in found}
        assert {"tornado", "traitlets", "mpmath"} <= installed

    def test_versions_are_those_that_are_installed(self, found):
        for each in found:
            if is_package(each) and each.version:
                assert each.version == metadata.version(each.name)


class TestTheProxyOfAHub:
    """Programs as npm lays them out: what a package needs lies in its own node_modules, or in one further up."""

    @pytest.fixture
    def program(self, tmp_path, monkeypatch):
        up = tmp_path / "lib" / "node_modules"
        here = up / PROXY
        laid_out = {
            here: {"name": PROXY, "version": "5.3.0", "license": "BSD-3-Clause",
                   "dependencies": {"one": "1", "@a/b": "*"}},
            here / "node_modules" / "one": {"name": "one", "version": "1.2.3", "license": {"type": "MIT"}},
            up / "one": {"name": "one", "version": "9.9.9", "license": "ISC"},  # not the one that it finds first
            up / "@a" / "b": {"name": "@a/b", "version": "2.0.0", "dependencies": {"one": "9", PROXY: "*"},
                              "licenses": [{"type": "MIT"}, {"type": "Apache-2.0"}]},
            up / "stranger": {"name": "stranger", "version": "1.0.0", "license": "SSPL"},
        }  # fmt: skip
        for folder, about in laid_out.items():
            folder.mkdir(parents=True, exist_ok=True)
            (folder / "package.json").write_text(json.dumps(about), "utf-8")
        program = here / "bin" / PROXY
        program.parent.mkdir()
        program.write_text("#!/usr/bin/env node\n")
        program.chmod(0o755)
        link = tmp_path / "bin" / PROXY
        link.parent.mkdir()
        link.symlink_to(program)
        monkeypatch.setenv("PATH", str(link.parent))
        return here

    def rows(self):
        return [each for each in supplies() if each.name.startswith(FROM_NPM)]

    def test_is_there_with_what_it_needs_and_nothing_else(self, program):
        assert [(each.name, each.version, each.licence, each.named) for each in self.rows()] == [
            (f"npm:{PROXY}", "5.3.0", "BSD-3-Clause", True),
            ("npm:@a/b", "2.0.0", "MIT OR Apache-2.0", False),
            ("npm:one", "1.2.3", "MIT", False),
            ("npm:one", "9.9.9", "ISC", False),
        ]
        assert {each.wanted_by for each in self.rows()} == {("hub",)}

    @pytest.mark.parametrize("spoiled", ["{", "[]", '{"name": "configurable-http-proxy", "dependencies": 3}'])
    def test_a_file_that_says_nothing_stops_nothing(self, program, spoiled):
        (program / "package.json").write_text(spoiled, "utf-8")
        assert [each.version for each in self.rows()] == [None]

    def test_one_row_says_that_it_is_not_installed(self, monkeypatch, tmp_path):
        monkeypatch.setenv("PATH", str(tmp_path))
        assert list(map(str, self.rows())) == [f"npm:{PROXY} (not installed here): licence not known here; for hub"]

    @pytest.mark.skipif(shutil.which(PROXY) is None, reason=f"{PROXY} is not installed")
    def test_the_one_that_is_installed(self):
        assert len(self.rows()) > 5
        assert all(each.version and each.licence for each in self.rows())


def test_the_lettering_is_there_with_the_licence_that_lies_beside_it(found):
    (one,) = (each for each in found if each.name == LETTERING)
    assert (one.version, one.licence, one.wanted_by) == ("2.37", "Bitstream-Vera", (EVERYONE,))
    matplotlib = pytest.importorskip("matplotlib")  # which brings the font that was measured
    theirs = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "LICENSE_DEJAVU"
    assert (data_folder() / "lettering" / "LICENSE").read_text("utf-8") == theirs.read_text("utf-8")
    assert f"DejaVu Sans {one.version}" in (data_folder() / "SOURCES.md").read_text("utf-8")


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
            name: licence_of(said_of_itself(parts.parts_folder() / name))
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
