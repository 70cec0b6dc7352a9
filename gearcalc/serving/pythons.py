"""The Python of a site: Pyodide's core, the packages that a lesson needs, and a lock that lists no others."""

from __future__ import annotations

import json
import shutil
from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from typing import Any

from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import data_folder, in_its_words
from gearcalc.serving.parts import CORE, LOCK, Parts, pinned
from gearcalc.serving.wheels import empty_wheel, lock_entry, normal_name, own_wheel, read_lock, slim_wheels

_FROM_A_FULL_ONE = ("pandas", "matplotlib")
_OUR_MODULES = ("start.mjs", "kept.mjs")
SIZES = "sizes.json"
"""The file beside them that says how large each is, for the line that says how many have come."""


def put_python(place: Path, work: Path, parts: Parts, full: Path | None, lessons: Collection[str]) -> list[str]:
    """Put Python into a folder of a site, and return the names of its packages.

    `work`: a scratch folder. `full`: a folder with a full distribution of Pyodide, of which pandas and matplotlib are
    taken, with what they need. `lessons`: the file names of those in the site. Raises NotPossibleError.
    """
    core = parts.unpack_core(work / "core") if full is None else full
    theirs = {} if full is None else _of_full_distribution(full)
    made = work / "wheels"
    made.mkdir()
    ours = [*parts.wheels, *parts.unpack_wheels_of_kernel(work / "kernel")]
    ours = [path for path in ours if normal_name(path.name.split("-")[0]) not in theirs]
    slim = slim_wheels([*ours, own_wheel(made, lessons), empty_wheel(made, "jedi")], core, parts.folder / "slim")
    place.mkdir(parents=True)
    lock = read_lock(core) | {"packages": dict(theirs)}
    for name, wheel in sorted(slim.items()):
        entry = lock_entry(name, wheel)
        lock["packages"][entry["name"]] = entry
        shutil.copy(wheel, place / entry["file_name"])
    _copy((entry["file_name"] for entry in theirs.values()), core, place)
    _copy((name for name in CORE if name != LOCK), core, place)
    _copy(_OUR_MODULES, data_folder() / "web", place)
    (place / LOCK).write_text(json.dumps(lock), encoding="utf-8")
    fetched = (path for path in sorted(place.iterdir()) if path.suffix in (".wasm", ".whl", ".zip"))
    (place / SIZES).write_text(json.dumps({path.name: path.stat().st_size for path in fetched}), encoding="utf-8")
    return sorted(lock["packages"])


def _copy(names: Iterable[str], source: Path, place: Path) -> None:
    for name in names:
        shutil.copy(source / name, place / name)


def _of_full_distribution(folder: Path) -> dict[str, Any]:
    """What a full distribution's lock says of pandas and matplotlib, and of all that they need."""
    try:
        missing = [name for name in CORE if not (folder / name).is_file()]
        lock = {} if missing else read_lock(folder)
        needed = {} if missing else with_what_they_need(lock["packages"], _FROM_A_FULL_ONE)
        missing += [entry["file_name"] for entry in needed.values() if not (folder / entry["file_name"]).is_file()]
        version = "" if missing else str(lock["info"]["version"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as problem:
        why = in_its_words(problem) if isinstance(problem, OSError) else "its lock is not as we know it"
        raise NotPossibleError(f"this distribution of Pyodide can't be read ({why})", where=str(folder)) from None
    wanted = pinned()["pyodide"]["version"]
    if missing:
        raise NotPossibleError(
            f"this is no full distribution of Pyodide: {missing[0]} is missing",
            where=str(folder),
            remedy=f"Unpack the file pyodide-{wanted}.tar.bz2, and name the folder in it that has {LOCK}.",
        )
    if version != wanted:
        raise NotPossibleError(f"this Pyodide must be {wanted}", value=version, where=str(folder))
    return needed


def with_what_they_need(packages: Mapping[str, Any], names: Iterable[str]) -> dict[str, Any]:
    """Find packages in a lock, and all that they depend on, each once.

    >>> lock = {"a": {"depends": ["b"]}, "b": {"depends": ["a"]}, "c": {"depends": []}}
    >>> sorted(with_what_they_need(lock, ["a"]))
    ['a', 'b']

    Raises KeyError where the lock has one of them not.
    """
    found: dict[str, Any] = {}
    to_do = [*names]
    while to_do:
        name = normal_name(to_do.pop())
        if name not in found:
            found[name] = packages[name]
            to_do += packages[name]["depends"]
    return found
