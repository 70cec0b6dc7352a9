"""What a site is put together from, beside this package: fetched once from PyPI and npm, checked, and kept."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tarfile
import tomllib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any
from zipfile import ZipFile

from gearcalc.basics import writing
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import data_folder, said_where, scratch_in
from gearcalc.serving.extras import install

SCRATCH = ".gearcalc-parts-"
LOCK = "pyodide-lock.json"
CORE = ("pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm", "python_stdlib.zip", LOCK)
"""The files of Pyodide that every site needs."""
KERNEL, EXTENSIONS = "@jupyterlite/pyodide-kernel-extension", ".data/data/share/jupyter/labextensions/"
"""The kernel for browsers, by its front end, and where front ends lie in a wheel."""
_OF_THE_KERNEL = ("pyodide_kernel-", "piplite-", "ipykernel-", "widgetsnbextension-4")
REINSTALL = f"Install once more what builds a site. {install('web')} --force-reinstall"
_LONGEST_SAID = 300
_SOON_FROM_PIP = ("--retries", "1", "--timeout", "10")
SOON_FROM_NPM = ("--fetch-retries=1", "--fetch-retry-mintimeout=1000", "--fetch-timeout=15000", "--loglevel=error")
"""Left to themselves they try for minutes where there is no network. The times are of silence, not of the whole."""
_CAUSE = re.compile(r"failed, reason: (.+)|(network timeout at: \S+)|\[Errno -?\d+\] ([^'\"()]+)|([Rr]ead timed out)")

Say = Callable[[str], object]


@dataclass(frozen=True, slots=True)
class Parts:
    """The parts of a site, in a folder that keeps them: `wheels`, that of the kernel, what npm packed of Pyodide."""

    folder: Path
    wheels: tuple[Path, ...]
    kernel: Path
    packed_core: Path

    def unpack_core(self, place: Path) -> Path:
        """Put Pyodide's core into a folder, and return that."""
        place.mkdir(parents=True, exist_ok=True)
        with tarfile.open(self.packed_core) as packed:
            for name in CORE:
                member = packed.extractfile(f"package/{name}")
                assert member is not None
                (place / name).write_bytes(member.read())
        return place

    def unpack_extensions(self, place: Path) -> None:
        """Put the front ends into a folder: the kernel's, and those of the widgets, of the very wheels that run."""
        for wheel in (self.kernel, *self.wheels):
            with ZipFile(wheel) as opened:
                for name in opened.namelist():
                    _, there, inside = name.partition(EXTENSIONS)
                    if there and inside and not inside.endswith(("/", ".map")):
                        target = place / inside
                        target.parent.mkdir(parents=True, exist_ok=True)
                        target.write_bytes(opened.read(name))

    def unpack_wheels_of_kernel(self, place: Path) -> list[Path]:
        """Put what the kernel has in it for Python into a folder, and return where each lies."""
        place.mkdir(parents=True, exist_ok=True)
        with ZipFile(self.kernel) as opened:
            found = {name.rpartition("/")[2]: name for name in opened.namelist() if "/static/pypi/" in name}
            ours = [name for name in sorted(found) if name.startswith(_OF_THE_KERNEL)]
            for name in ours:
                (place / name).write_bytes(opened.read(found[name]))
        return [place / name for name in ours]


def parts_folder() -> Path:
    """Find where the parts are kept between builds, if no other folder is named: among the user's caches.

    >>> parts_folder().name
    'gearcalc-web'

    Raises NotPossibleError for who has no home.
    """
    remedy = "--parts names a folder that keeps them."
    with said_where("gearcalc-web", "there is no home to keep the parts of a site in", remedy, RuntimeError):
        if sys.platform == "win32":
            caches = os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local"
        elif sys.platform == "darwin":
            caches = Path.home() / "Library" / "Caches"
        else:
            caches = os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache"
    return Path(caches) / "gearcalc-web"


def pinned() -> Mapping[str, Any]:
    """Read which parts there are to be, and what each contains.

    >>> sorted(pinned())
    ['kernel', 'pyodide', 'wheels']
    """
    return tomllib.loads((data_folder() / "web" / "parts.toml").read_text(encoding="utf-8"))


def all_parts(folder: Path, say: Say) -> Parts:
    """Look into a folder for the parts, and fetch what is missing there; with all of them there no network is asked.

    `folder`: made where it is missing. `say`: is told what is fetched, from where, and where it is kept. Raises
    NotPossibleError where a part can't be had.
    """
    wanted = pinned()
    with said_where(folder, "what a site is made of can't be kept here", "--parts names another folder.", OSError):
        folder.mkdir(parents=True, exist_ok=True)
        packed = f"pyodide-{wanted['pyodide']['version']}.tgz"
        core_is_missing = not is_kept(folder / packed, wanted["pyodide"]["sha256"])
        prints = {name: part["sha256"] for kind in ("kernel", "wheels") for name, part in wanted[kind].items()}
        missing = {name: said for name, said in prints.items() if not is_kept(folder / name, said)}
        npm = tool("npm", "fetches Pyodide, once") if core_is_missing else ""
        if missing or core_is_missing:
            say(_what_is_fetched(missing, core_is_missing, wanted, folder))
        if missing:  # first, since pip knows sooner than npm that a firewall lets nothing through
            _fetch_wheels(folder, missing)
        if core_is_missing:
            _fetch_core(npm, folder, packed, wanted["pyodide"])
    (kernel,) = wanted["kernel"]
    return Parts(folder, tuple(folder / name for name in wanted["wheels"]), folder / kernel, folder / packed)


def _what_is_fetched(missing: Mapping[str, str], core: bool, wanted: Mapping[str, Any], folder: Path) -> str:
    wheels = f"{writing.counted(len(missing), 'Python package')} from PyPI" if missing else ""
    pyodide = wanted["pyodide"]
    both = " and ".join(filter(None, (f"Pyodide {pyodide['version']}, Python for browsers, from npm" * core, wheels)))
    return f"Fetching {both}, once, 20 MB at the most. They are kept in {folder}: the next site asks no network."


def is_kept(path: Path, print_of_it: str) -> bool:
    """Whether a file is there, with the content that it is to have (sha256)."""
    return path.is_file() and sha256(path.read_bytes()).hexdigest() == print_of_it


def tool(name: str, what_for: str) -> str:
    """Find a program. Raises NotPossibleError, which says what to install, where there is none."""
    found = shutil.which(name)
    if found is None:
        raise NotPossibleError(
            f"the program {name} is missing, which {what_for}",
            remedy="Install Node.js 20 or newer (nodejs.org, or your system's packages nodejs and npm).",
        )
    return found


def run(command: Sequence[str | Path], doing: str, remedy: str, **settings: Any) -> None:
    """Run a program to its end. Raises NotPossibleError with the last that it said where it fails."""
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True, errors="replace", **settings)
    if done.returncode:
        why = _why(f"{done.stderr}\n{done.stdout}")
        raise NotPossibleError(f"{doing} failed ({why[:_LONGEST_SAID]})", remedy=remedy)


def _why(said: str) -> str:
    """What the system or the network refused, where a program says that at all; else the last error that it tells."""
    if causes := [cause for found in _CAUSE.finditer(said) for cause in found.groups() if cause]:
        return causes[-1].strip()
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    return ([line for line in lines if "error" in line.casefold()] or lines or ["it said nothing"])[-1]


_NO_NETWORK = (
    "See that there is a network, or copy the folder of parts from a machine that has one, and name it: --parts."
)


def _fetch_core(npm: str, folder: Path, name: str, pyodide: Mapping[str, Any]) -> None:
    with scratch_in(folder, SCRATCH) as scratch:
        command = [npm, "pack", *SOON_FROM_NPM, f"pyodide@{pyodide['version']}"]
        run(command, "fetching Pyodide with npm", _NO_NETWORK, cwd=scratch)
        _keep(scratch / name, folder, pyodide["sha256"])


def _fetch_wheels(folder: Path, missing: Mapping[str, str]) -> None:
    with scratch_in(folder, SCRATCH) as scratch:
        asked = scratch / "asked.txt"
        lines = (f"{'=='.join(name.split('-')[:2])} --hash=sha256:{said}\n" for name, said in missing.items())
        asked.write_text("".join(lines), encoding="utf-8")
        any_python = ["--platform", "any", "--python-version", "3.14", "--abi", "none", "--only-binary=:all:"]
        command = [sys.executable, "-P", "-m", "pip", "download", "--quiet", "--disable-pip-version-check", "--no-deps"]
        command += _SOON_FROM_PIP
        command += [*any_python, "--require-hashes", "--dest", str(scratch), "-r", str(asked)]
        run(command, "fetching Python packages with pip", _NO_NETWORK)
        for name, said in missing.items():
            _keep(scratch / name, folder, said)


def _keep(file: Path, folder: Path, print_of_it: str) -> None:
    if not is_kept(file, print_of_it):
        raise NotPossibleError(
            f"what was fetched as {file.name} is not what it should be",
            remedy="Try again, or from another network; the file was thrown away.",
        )
    os.replace(file, folder / file.name)
