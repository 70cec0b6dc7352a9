"""What the package rests on, with licences: packages, the lettering, the proxy of a hub, all that a site is made of."""

from __future__ import annotations

import json
import re
import shutil
import tomllib
from collections.abc import Iterator, Mapping
from hashlib import sha256
from importlib import metadata
from pathlib import Path
from typing import Any

from attrs import frozen

from gearcalc.basics.files import data_folder
from gearcalc.serving.hubs import PROXY
from gearcalc.serving.parts import pinned
from gearcalc.serving.wheels import normal_name

EVERYONE, SITE, HUB = "everyone", "site", "hub"
FROM_NPM = "npm:"
"""What the name of a package of npm begins with."""
LETTERING = "dejavu-sans"
_LONGEST_NAME = 60
_IN_A_TEXT = re.compile(r"(?:Modified |New |3-Clause )?BSD(?: 3-Clause)? License|(?:MIT|Apache|PSF) License")


@frozen
class Supply:
    """Something that others made, without which a part of this package does not run.

    `version`: the one that is here; None where it is not installed. `licence`: as it says itself, an SPDX expression
    where it has one; None where that is not known. `wanted_by`: "everyone", or the extras that bring it; "site" for
    what a site has in it. A name that begins with "npm:" is a package of npm's. `named`: whether this package names it,
    and not only what it wants. `sha256`: of a part of a site.
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


_LETTERING = Supply(LETTERING, "2.37", "Bitstream-Vera", (EVERYONE,))
"""How wide its signs are is in `data/lettering/`, its licence beside it; the font itself comes with matplotlib."""


def supplies() -> list[Supply]:
    """List what the package rests on, each once: first what is installed here, by name, then the lettering, the proxy
    of a hub with what that needs, and what a site has in it.

    >>> {each.name for each in supplies() if each.named} > {"sympy", "jupyterlab"}
    True

    It is read from what is installed, and from `data/web/parts.toml`; no network is asked.
    """
    return [*_packages(), _LETTERING, *_proxy(), *_parts()]


def _packages() -> Iterator[Supply]:
    wanted: dict[str, set[str]] = {}
    ours = list(_wants("gearcalc", None))
    named = {normal_name(one.name) for one, _ in ours}
    for one, extra in ours:
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


def _proxy() -> Iterator[Supply]:
    """The proxy that a hub starts, and what it needs, as npm laid them out; one row where it is not found."""
    here = _folder_of_proxy()
    about = {} if here is None else _about(here)
    if here is None or about.get("name") != PROXY:
        yield Supply(f"{FROM_NPM}{PROXY}", None, None, (HUB,))
        return
    yield _of_npm(about, named=True)
    found, to_do = {here}, [here]
    while to_do:
        for folder in set(_needed(to_do.pop())) - found:
            found.add(folder)
            to_do.append(folder)
    rows = {_of_npm(_about(folder), named=False) for folder in found - {here}}
    yield from sorted(rows, key=lambda row: (row.name, row.version or ""))


def _folder_of_proxy() -> Path | None:
    program = shutil.which(PROXY)
    up = [] if program is None else [*Path(program).resolve().parents, *Path(program).absolute().parents]
    likely = (folder for each in up for folder in (each, each / "node_modules" / PROXY))
    return next((folder for folder in likely if _about(folder).get("name") == PROXY), None)


def _about(folder: Path) -> dict[str, Any]:
    """What a package of npm says of itself; nothing where there is none, or none that can be read."""
    try:
        said = json.loads((folder / "package.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return said if isinstance(said, dict) else {}


def _needed(folder: Path) -> Iterator[Path]:
    """The folders of the packages that one asks for: each in the nearest node_modules, as node looks for it."""
    wanted = _about(folder).get("dependencies")
    for name in wanted if isinstance(wanted, dict) else ():
        places = (each / "node_modules" / name for each in (folder, *folder.parents))
        yield from (next(([place] for place in places if _about(place)), []))


def _of_npm(about: Mapping[str, Any], *, named: bool) -> Supply:
    said = about.get("license") or about.get("licenses")
    each = [one.get("type") if isinstance(one, dict) else one for one in (said if isinstance(said, list) else [said])]
    licence = " OR ".join(str(one).strip("()") for one in each if one)
    version = about.get("version")
    return Supply(
        f"{FROM_NPM}{about.get('name')}", None if version is None else str(version), licence or None, (HUB,), named
    )


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
