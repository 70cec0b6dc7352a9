"""What the package rests on: the packages that it wants, and all that a site is put together from, with licences."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from email import message_from_string
from hashlib import sha256
from importlib import metadata
from pathlib import Path
from typing import Any
from zipfile import ZipFile

from attrs import define

from gearcalc.basics.files import data_folder
from gearcalc.serving.parts import pinned
from gearcalc.serving.wheels import normal_name

EVERYONE, SITE = "everyone", "site"
_LONGEST_NAME = 60
_IN_A_TEXT = re.compile(r"(?:Modified |New |3-Clause )?BSD(?: 3-Clause)? License|(?:MIT|Apache|PSF) License")


@define(frozen=True)
class Supply:
    """Something that others made, without which a part of this package does not run.

    `version`: the one that is here; None where it is not installed. `licence`: as it says itself, an SPDX expression
    where it has one; None where that is not known. `wanted_by`: "everyone", or the extras that bring it; "site" for
    what a site has in it. `named`: whether this package names it, and not only what it wants. `sha256`: of a part of a
    site.
    """

    name: str
    version: str | None
    licence: str | None
    wanted_by: tuple[str, ...]
    named: bool = True
    sha256: str | None = None

    def __str__(self) -> str:
        version = self.version or "(not installed here)"
        licence = self.licence or "licence not known here"
        content = f", sha256 {self.sha256}" if self.sha256 else ""
        return f"{self.name} {version}: {licence}; for {', '.join(self.wanted_by)}{content}"


def supplies() -> list[Supply]:
    """List what the package rests on, each once: first what is installed here, by name, then what a site has in it.

    >>> {each.name for each in supplies() if each.named} > {"sympy", "jupyterlab"}
    True

    It is read from what is installed, and from `data/web/parts.toml`; no network is asked.
    """
    return [*_packages(), *_parts()]


def _packages() -> Iterator[Supply]:
    wanted: dict[str, set[str]] = {}
    named = {normal_name(one.name) for one, _ in _wants("gearcalc", None)}
    for one, extra in _wants("gearcalc", None):
        to_do = [(one.name, frozenset(one.extras))]
        done = set()
        while to_do:
            name, extras = to_do.pop()
            if (normal_name(name), extras) in done:
                continue
            done.add((normal_name(name), extras))
            wanted.setdefault(normal_name(name), set()).add(extra or EVERYONE)
            to_do += [(each.name, frozenset(each.extras)) for each, _ in _wants(name, extras)]
    wanted.pop("gearcalc", None)
    for name, by_whom in sorted(wanted.items()):
        by = (EVERYONE,) if EVERYONE in by_whom else tuple(sorted(by_whom))
        version, licence = _installed(name)
        yield Supply(name, version, licence, by, name in named)


def _own_requirements() -> list[str]:
    """What this package asks for: as its pyproject.toml says, where it is a checkout, else as it was installed."""
    checkout = data_folder().parent / "pyproject.toml"
    if not checkout.is_file():
        return metadata.requires("gearcalc") or []
    project = tomllib.loads(checkout.read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"].items()
    return [*project["dependencies"], *(f'{one}; extra == "{extra}"' for extra, those in extras for one in those)]


def _wants(name: str, extras: frozenset[str] | None) -> Iterator[tuple[Any, str]]:
    """What a package asks for, and with which of its extras; `extras`: those that count here, None for any."""
    from packaging.requirements import Requirement

    try:
        lines = _own_requirements() if name == "gearcalc" else metadata.requires(name) or []
    except metadata.PackageNotFoundError:
        return
    for one in map(Requirement, lines):
        said = str(one.marker or "")
        extra = next(iter(re.findall(r'extra == "([^"]+)"', said)), "")
        tried = frozenset({extra}) if extras is None else extras | {""}
        if one.marker is None or any(one.marker.evaluate({"extra": each}) for each in tried):
            yield one, extra


def _installed(name: str) -> tuple[str | None, str | None]:
    try:
        found = metadata.metadata(name)
    except metadata.PackageNotFoundError:
        return None, None
    return str(found["Version"]), licence_of(found) or _in_its_file(name)


def _in_its_file(name: str) -> str | None:
    """The licence by the title of its text, which comes along where the metadata don't name it."""
    for path in metadata.files(name) or ():
        if ".dist-info/" in path.as_posix() and path.name.upper().startswith(("LICENSE", "LICENCE", "COPYING")):
            title = _IN_A_TEXT.search(path.read_text(encoding="utf-8"))
            if title:
                return title[0]
    return None


def licence_of(about: Any) -> str | None:
    """Find the licence that a package's metadata name: an expression, a short name, a classifier, its title in a text.

    >>> licence_of({"License-Expression": "MIT"}), licence_of({"License": "x " * 99 + "Modified BSD License"})
    ('MIT', 'Modified BSD License')
    >>> licence_of({}) is None
    True
    """
    expression, said = about.get("License-Expression"), (about.get("License") or "").strip()
    if expression:
        return str(expression)
    classifiers = about.get_all("Classifier", []) if hasattr(about, "get_all") else []
    kinds = [each.rpartition(" :: ")[2] for each in classifiers if each.startswith("License :: OSI Approved :: ")]
    is_name = said and "\n" not in said and len(said) <= _LONGEST_NAME and not said.startswith("Copyright")
    if is_name and said != "UNKNOWN":
        return str(said)
    if kinds:
        return " AND ".join(kinds)
    found = _IN_A_TEXT.search(said)
    return found[0] if found else None


def _parts() -> Iterator[Supply]:
    wanted: Mapping[str, Any] = pinned()
    pyodide = wanted["pyodide"]
    yield Supply("pyodide", pyodide["version"], pyodide["licence"], (SITE,), sha256=pyodide["sha256"])
    for name, part in (wanted["wheels"] | wanted["kernel"]).items():
        called, version = name.split("-")[:2]
        yield Supply(normal_name(called), version, part["licence"], (SITE,), sha256=part["sha256"])
    yield from _of_jupyterlite()


def _of_jupyterlite() -> Iterator[Supply]:
    """The pages, which come with a package of the extra `web`; none without it."""
    try:
        pages = next(path for path in metadata.files("jupyterlite-core") or () if path.suffix == ".tgz")
    except (metadata.PackageNotFoundError, StopIteration):
        return
    version, licence = _installed("jupyterlite-core")
    content = sha256(Path(str(pages.locate())).read_bytes()).hexdigest()
    yield Supply("jupyterlite-app", version, licence, (SITE,), sha256=content)


def wheel_metadata(wheel: Path) -> Any:
    """Read what a wheel says of itself."""
    with ZipFile(wheel) as opened:
        inside = next(name for name in opened.namelist() if name.endswith(".dist-info/METADATA"))
        return message_from_string(opened.read(inside).decode("utf-8"))
