"""Put the lessons where they can be worked on, bring them up to date, never over someone's work, and open them."""

from __future__ import annotations

import errno
import importlib.util
import os
import re
import socket
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from itertools import count
from pathlib import Path
from typing import Literal
from urllib.parse import quote

from gearcalc.basics.errors import GearcalcError, NotPossibleError
from gearcalc.basics.files import alone_with, data_folder, in_its_words, notebooks_folder, put_in_place, way_out
from gearcalc.learning import shipped, where_open

_PATIENCE_S = 10.0
_UNKNOWN = ("",)
_OLD_TWIN = re.compile(r"(.+)\.fresh\d{0,2}")

State = Literal["new", "unchanged", "brought up to date", "written in", "moved", "taken away", "left"]


@dataclass(frozen=True, slots=True)
class CopiedFile:
    """What became of one file of the lessons, by its `name` in the folder.

    `state`: 'new'; 'unchanged'; 'brought up to date', since nobody had written in it; 'written in', of this edition;
    'moved', written in and of an older edition, to the name `yours`, so that the new one has its place; 'taken away',
    since the lessons have it no more and nobody wrote in it; 'left', for the reason `why`. `failed`: left because it
    can't be read or written.
    """

    name: str
    state: State
    yours: str | None = None
    why: str = ""
    failed: bool = False

    def __str__(self) -> str:
        if self.yours is not None:
            return f"{self.name}: {self.why or 'there is a new edition'}; yours is now {self.yours}"
        return f"{self.name}: {self.state}{f', {self.why}' if self.why else ''}"


def copy_lessons(folder: str | Path) -> list[CopiedFile]:
    """Bring a folder of lessons, with their pictures, up to date, and say what became of each file.

    `folder`: made where it is missing. What somebody wrote in is never written over, and a plain name, which is what
    links lead to, is always of this edition. A lesson that has only been run is not written in. What can't be written
    is left as it is. Raises GearcalcError where there are no lessons and none can be put there.
    """
    target = Path(folder)
    if os.path.isfile(folder):
        raise GearcalcError(
            "this is a file", where=str(folder), remedy="Name the folder that the lessons are to be in."
        )
    try:
        target.mkdir(parents=True, exist_ok=True)
        ours = notebooks_folder()
        fresh = {str(name): (ours / name).read_bytes() for name in shipped.ours_in(ours)}
        if target.samefile(ours):
            return [CopiedFile(name, "unchanged") for name in fresh]
        return _brought_up_to_date(target, fresh)
    except (OSError, ValueError) as problem:  # a ValueError for a path that no system takes
        raise GearcalcError(
            f"the lessons can't be copied here ({in_its_words(problem)})",
            where=str(folder),
            remedy=way_out(problem, "Name a folder that you may write to; nothing that was there is lost."),
        ) from None


def open_lessons(folder: str | Path, port: int | None = None) -> int:
    """Open the first lesson of a folder in JupyterLab, run by this same Python, until it is closed.

    `folder`: where copy_lessons put them. `port`: that and no other, 1 to 65535; None for one that is free. Returns
    JupyterLab's exit code; on POSIX it does not return, since this process becomes JupyterLab. Where they are open it
    says itself, in one line.
    Raises GearcalcError when JupyterLab is not installed in this Python, NotPossibleError for a port that is taken.
    """
    if importlib.util.find_spec("jupyterlab") is None:
        raise GearcalcError(
            "JupyterLab is not installed in this Python",
            remedy=f"Install it: '{sys.executable} -m pip install jupyterlab'.",
        )
    if port is not None:
        _look_for(port)
    root = Path(folder).resolve()
    ours = (path.name for path in sorted(notebooks_folder().glob("*.ipynb")))
    first = next((name for name in ours if (root / name).is_file()), "")
    command = [sys.executable, "-P", "-m", "jupyterlab"]  # nothing is imported from the folder that one works in
    command += [f"--ServerApp.root_dir={root}", f"--LabApp.default_url=/lab/tree/{quote(first)}"]
    command += ["--Application.log_level=ERROR", f"--ServerApp.jpserver_extensions={where_open.__name__}=True"]
    if port is not None:
        command += [f"--ServerApp.port={port}", "--ServerApp.port_retries=0"]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        command.append("--allow-root")  # in a container there is nobody else to be
    sys.stdout.flush()
    if os.name == "posix":
        os.execve(command[0], command, _environment())  # this process becomes JupyterLab: Ctrl-C and kill reach it
    return subprocess.run(command, env=_environment(), check=False).returncode


def _look_for(port: int) -> None:
    """See that a port can be had, while it can be said in words of ours."""
    try:
        socket.create_server(("127.0.0.1", port)).close()
    except OSError as problem:
        taken = problem.errno == errno.EADDRINUSE
        raise NotPossibleError(
            f"port {port} is taken" if taken else f"port {port} can't be had ({in_its_words(problem)})",
            remedy="Perhaps by lessons that are open already: look in the browser. Else name another port, or leave "
            "--port out, and one that is free is found.",
        ) from None


def _environment() -> dict[str, str]:
    """This Python first, for kernels and in a terminal; no news and no look for newer versions: nothing is fetched."""
    ours = str(data_folder() / "jupyter")
    paths = os.pathsep.join(filter(None, (os.environ.get("JUPYTER_CONFIG_PATH"), ours)))
    programs = os.pathsep.join(filter(None, (str(Path(sys.executable).parent), os.environ.get("PATH"))))
    return {**os.environ, "PATH": programs, "JUPYTER_PREFER_ENV_PATH": "1", "JUPYTER_CONFIG_PATH": paths}


def _brought_up_to_date(target: Path, fresh: Mapping[str, bytes]) -> list[CopiedFile]:
    prints = {name: shipped.fingerprint(content) for name, content in fresh.items()}
    known = shipped.remembered(target)
    files = list(_looked_at(target, prints, known))
    settled = {it.name: (prints[it.name],) for it in files if it.name in prints and it.state != "left"}
    if known == settled and not any(map(_is_to_do, files)):
        return files
    try:
        with alone_with(target / shipped.FILE_NAME, _PATIENCE_S):
            return _written(target, fresh, prints)
    except OSError as problem:
        if all(file.state == "new" for file in files):
            raise
        return [replace(it, state="left", why=_why(problem), failed=True) if _is_to_do(it) else it for it in files]


def _written(target: Path, fresh: Mapping[str, bytes], prints: Mapping[str, str]) -> list[CopiedFile]:
    """Whatever is to be done. Cut short anywhere it goes on from there the next time, and has called nothing ours that
    somebody wrote: what may be ours is written down before, what is, afterwards."""
    known = shipped.remembered(target)
    before = known or {}
    own = {file.name for file in _looked_at(target, prints, known) if file.state == "left"} - before.keys()
    may_be = {
        name: tuple(dict.fromkeys((*before.get(name, _UNKNOWN), made)))
        for name, made in prints.items()
        if name not in own
    }
    shipped.remember(target, {**before, **may_be})
    done = [_done(target, file, fresh.get(file.name)) for file in _looked_at(target, prints, known)]
    left = {file.name for file in done if file.state == "left"}
    is_ours = {name: may_be[name] if name in left else (prints[name],) for name in may_be}
    shipped.remember(target, {**{name: before[name] for name in left & before.keys()}, **is_ours})
    return [*done, *(_old_twins(target, prints) if known is None else ())]


def _looked_at(target: Path, prints: Mapping[str, str], known: shipped.Fingerprints | None) -> Iterator[CopiedFile]:
    """What is to become of each file that is shipped, or was and is still there, as it stands when it is its turn."""
    before = known or {}
    lessons_there = any(os.path.lexists(target / name) for name in prints if name.endswith(".ipynb"))
    unknown = _UNKNOWN if known is None and lessons_there else ()
    once = sorted(name for name in before.keys() - prints.keys() if os.path.lexists(target / name))
    return (_looked_at_one(target, name, prints.get(name), before.get(name, unknown)) for name in (*prints, *once))


def _looked_at_one(target: Path, name: str, fresh: str | None, known: tuple[str, ...]) -> CopiedFile:
    place = target / name
    try:
        if not place.parent.resolve().is_relative_to(target.resolve()):
            return CopiedFile(name, "left", why="its folder is a link that leads elsewhere")
        if not os.path.lexists(place):
            return CopiedFile(name, "new")
        there = shipped.fingerprint(place.read_bytes()) if place.is_file() else None
    except OSError as problem:
        return CopiedFile(name, "left", why=_why(problem), failed=True)
    if there is not None and there == fresh:
        return CopiedFile(name, "unchanged")
    if not known and place.suffix != ".ipynb":
        return CopiedFile(name, "left", why="a file of your own has this name")
    if there in known and not place.is_symlink():
        return CopiedFile(name, "taken away" if fresh is None else "brought up to date")
    if not known:
        return CopiedFile(name, "moved", why="a file of yours had the name of one of ours")
    return CopiedFile(name, "written in" if there is not None and (fresh,) == known[:1] else "moved")


def _is_to_do(file: CopiedFile) -> bool:
    return file.state in ("new", "brought up to date", "moved", "taken away")


def _done(target: Path, file: CopiedFile, content: bytes | None) -> CopiedFile:
    place = target / file.name
    try:
        if file.state == "moved":
            why = file.why if content is not None else "the lessons have it no more"
            file = replace(file, yours=_moved_aside(place).relative_to(target).as_posix(), why=why)
        if file.state == "taken away":
            place.unlink()
            with suppress(OSError):  # while something else is in it
                place.parent.rmdir()
        elif content is not None and _is_to_do(file):
            place.parent.mkdir(parents=True, exist_ok=True)
            put_in_place(place, content, new=file.state != "brought up to date")  # somebody may save there meanwhile
    except OSError as problem:
        return replace(file, state="left", why=_why(problem), failed=True)
    return file


def _why(problem: OSError) -> str:
    return ". ".join(filter(None, (in_its_words(problem), way_out(problem, ""))))


def _moved_aside(place: Path) -> Path:
    """Give a file that somebody wrote in a name of its own, which any system takes."""
    today = date.today().isoformat()
    names = (f"{place.stem} (yours, {today}{f', {number}' if number > 1 else ''})" for number in count(1))
    yours = next(path for name in names if not os.path.lexists(path := place.with_name(name + place.suffix)))
    place.rename(yours)
    return yours


def _old_twins(target: Path, prints: Mapping[str, str]) -> Iterator[CopiedFile]:
    """Copies named .fresh, which earlier versions put beside what somebody had written in."""
    for path in sorted(target.rglob("*.fresh*")):
        found, name = _OLD_TWIN.fullmatch(path.stem), path.relative_to(target)
        if found is not None and name.with_name(found[1] + path.suffix).as_posix() in prints:
            why = "a copy that an earlier version put there; delete it if you don't need it"
            yield CopiedFile(name.as_posix(), "left", why=why)
