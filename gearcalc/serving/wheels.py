"""Wheels as a browser takes them: our own made from the files of this package, each compiled for Pyodide's Python."""

from __future__ import annotations

import json
import os
import re
import time
import zipfile
from collections.abc import Collection, Iterable, Iterator
from hashlib import sha256
from pathlib import Path, PurePosixPath
from typing import Any

import gearcalc
from gearcalc.basics.files import data_folder, notebooks_folder, scratch_in
from gearcalc.learning import shipped
from gearcalc.serving.parts import LOCK, SCRATCH, run, tool

_NOT_IN_A_BROWSER = ("data/web", "data/hub", "data/jupyter", "data/voila", "notebooks/images")
_LEFT_ALONE_S = 24 * 3600
_TOP = re.compile(r"([^/]+?)(\.pyc?|/.*)")


def own_wheel(folder: Path, lessons: Collection[str] | None = None) -> Path:
    """Make a wheel of this package from its own files, wherever it is installed; needs no build tool.

    `lessons`: the file names of those that it knows of, so that it speaks of no other; None: of all.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as scratch:
    ...     own_wheel(Path(scratch)).name == f"gearcalc-{gearcalc.__version__}-py3-none-any.whl"
    True
    """
    return _wheel(folder, "gearcalc", gearcalc.__version__, sorted(_own_files(lessons)))


def _own_files(lessons: Collection[str] | None) -> Iterator[tuple[str, Path]]:
    package = Path(gearcalc.__file__).parent
    for top, front in ((package, ""), (data_folder(), "data/"), (notebooks_folder(), "notebooks/")):
        for name in shipped.ours_in(top):
            inside = f"{front}{name}"
            again = not front and name.parts[0] in ("data", "notebooks")  # of an installed wheel
            away = (
                front == "notebooks/" and lessons is not None and name.suffix == ".ipynb" and name.name not in lessons
            )
            if name.suffix != ".pyc" and not away and not again and not inside.startswith(_NOT_IN_A_BROWSER):
                yield f"gearcalc/{inside}", top / name


def empty_wheel(folder: Path, name: str) -> Path:
    """Make a wheel with nothing in it, for a name that is asked for and not needed."""
    return _wheel(folder, name, "0.0.0")


def _wheel(folder: Path, name: str, version: str, files: Iterable[tuple[str, Path]] = ()) -> Path:
    about = f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n"
    kind = "Wheel-Version: 1.0\nGenerator: gearcalc\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
    made = folder / f"{name}-{version}-py3-none-any.whl"
    with zipfile.ZipFile(made, "w") as wheel:

        def put(inside: str, content: bytes) -> None:  # of no date: the same files, the same wheel
            wheel.writestr(zipfile.ZipInfo(inside), content, zipfile.ZIP_DEFLATED)

        for inside, path in files:
            put(inside, path.read_bytes())
        for inside, text in {"METADATA": about, "WHEEL": kind, "RECORD": ""}.items():
            put(f"{name}-{version}.dist-info/{inside}", text.encode())
    return made


def slim_wheels(wheels: Iterable[Path], core: Path, kept: Path) -> dict[str, Path]:
    """Compile wheels by Pyodide's own Python in node, and leave out what no browser needs.

    `core`: Pyodide's files. `kept`: where slim wheels are kept; one that is there is not made again. Returns, by the
    name of each wheel, where the slim one is. Raises NotPossibleError.
    """
    script = data_folder() / "web" / "slim.mjs"
    by_what = sha256(script.read_bytes() + json.dumps(read_lock(core)["info"]).encode()).digest()
    kept.mkdir(parents=True, exist_ok=True)
    places = {
        wheel.name: (wheel, kept / f"{sha256(by_what + wheel.read_bytes()).hexdigest()[:16]}-{wheel.name}")
        for wheel in wheels
    }
    missing = {name: wheel for name, (wheel, place) in places.items() if not place.is_file()}
    if missing:
        node = tool("node", "compiles the packages for the browser")
        with scratch_in(kept, SCRATCH) as scratch:
            remedy = "Node.js is to be 20 or newer."
            run([node, script, core, scratch, *missing.values()], "compiling the packages", remedy)
            for name in missing:
                os.replace(scratch / name, places[name][1])
    _clear_older(kept, {place for _, place in places.values()})
    return {name: place for name, (_, place) in places.items()}


def _clear_older(kept: Path, used: set[Path]) -> None:
    """Take away slim wheels of ours that were made of earlier versions; one of today may be of a build that runs."""
    for path in kept.glob("*-gearcalc-*.whl"):
        if path not in used and time.time() - path.stat().st_mtime > _LEFT_ALONE_S:
            path.unlink(missing_ok=True)


def lock_entry(name: str, wheel: Path) -> dict[str, Any]:
    """What Pyodide's lock says of a slim wheel.

    `name`: the wheel's usual file name. Its name in the site tells its content, so that none is ever taken for another.
    """
    content = wheel.read_bytes()
    called, version = name.split("-")[:2]
    print_of_it = sha256(content).hexdigest()
    with zipfile.ZipFile(wheel) as opened:
        tops = {
            found[1]
            for path in opened.namelist()
            if ".dist-info/" not in path
            and PurePosixPath(path).suffix in (".py", ".pyc")
            and (found := _TOP.fullmatch(path))
        }
    return {
        "name": normal_name(called),
        "version": version,
        "file_name": f"{called}-{version}-0{print_of_it[:8]}-py3-none-any.whl",  # 0...: a build
        "install_dir": "site",
        "package_type": "package",
        "depends": [],
        "imports": sorted(tops),
        "sha256": print_of_it,
        "unvendored_tests": False,
    }


def normal_name(name: str) -> str:
    """A package's name as a lock writes it.

    >>> normal_name("ipython_pygments_lexers")
    'ipython-pygments-lexers'
    """
    return re.sub(r"[-_.]+", "-", name).lower()


def read_lock(core: Path) -> dict[str, Any]:
    """Read the lock beside Pyodide's core."""
    lock: dict[str, Any] = json.loads((core / LOCK).read_text(encoding="utf-8"))
    return lock
