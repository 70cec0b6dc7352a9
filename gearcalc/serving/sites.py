"""A site: the lessons, the workbench and a Python that runs in the browser, as a folder of files for any web server."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from glob import escape
from importlib import util
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import gearcalc
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import held, notebooks_folder, said_where
from gearcalc.lathes import Lathe
from gearcalc.learning import own_lathe, shipped
from gearcalc.serving import lite
from gearcalc.serving.extras import install
from gearcalc.serving.lessons_in_a_site import SiteLesson, lesson_for_site
from gearcalc.serving.pages import put_pages
from gearcalc.serving.parts import Say, all_parts, parts_folder
from gearcalc.serving.pythons import put_python
from gearcalc.teaching.lesson_runs import all_lessons, lessons_named

STAMP = "gearcalc-site.json"
"""The file at the top of a site by which it is known as ours, with the names of all that we put there."""
_WHAT = "a site of gearcalc lessons"
_BEFORE = "before"  # the old site in the scratch folder, until the new one is in its place
_LONGEST_TO_TYPE = 300  # what a person can read off and type: Linux would take 4096
_NEEDS = ("jupyterlite_core", "jupyter_server")


@dataclass(frozen=True, slots=True)
class Site:
    """A site that was built: its `folder`, its lessons, and how large it is, a float."""

    folder: Path
    lessons: tuple[SiteLesson, ...]
    megabytes: float


def build_site(
    folder: str | Path,
    *,
    lessons: Sequence[str] = (),
    lathe: Lathe | None = None,
    pyodide: str | Path | None = None,
    parts: str | Path | None = None,
    say: Say = lambda line: None,
) -> Site:
    """Build a site, beside its place first, then put there whole.

    ```python
    build_site("lessons-for-browsers", lessons=["01-05"], lathe=Lathe.load("school.toml"))
    ```

    `folder`: missing, empty, or a site of ours, which is replaced. `lessons`: names as lessons_named() takes them; the
    first, 00, and the workbench are always there; none named, all are. `lathe`: becomes everyone's my_lathe.toml.
    `pyodide`: a folder with a full Pyodide distribution, whose pandas and matplotlib go into the site. `parts`: the
    folder that keeps what is fetched, the user's own cache where it is None. `say` is told what takes long.
    Raises GearcalcError where something is missing, and never touches what is not ours.
    """
    place = Path(os.path.realpath(folder))
    check_folder(place)
    chosen = _chosen(lessons)
    _check_extra()
    remedy = "Name a folder that you may write to; what was there is untouched."
    with said_where(folder, "the site can't be written here", remedy, OSError), _work_beside(place) as work:
        kept = all_parts(Path(parts) if parts is not None else parts_folder(), say)
        together = {path.name for path in chosen}
        ready = tuple(lesson_for_site(path, together) for path in chosen)
        beside = {} if lathe is None else {own_lathe.FILE_NAME: lathe.to_toml()}
        _put_contents(work / "contents", ready)
        say("Compiling packages for the browser, those that are new ...")
        names = put_python(work / "python", work, kept, None if pyodide is None else Path(pyodide), together)
        say("Putting the site together ...")
        site = lite.build(work, work / "contents", kept, names, beside)
        (site / "static").mkdir(exist_ok=True)
        os.rename(work / "python", site / "static" / "pyodide")
        put_pages(site, lite.APPS, ready)
        size = _stamp(site, ready)
        check_folder(place)  # once more: somebody may have put something there meanwhile
        _put_in_place(site, place, work / _BEFORE)
    return Site(Path(folder), ready, size / 1e6)


def check_folder(place: Path) -> None:
    """See that a site may be put here. Raises NotPossibleError where something else is in the place."""
    if not os.path.lexists(place):
        return
    if not place.is_dir():
        raise NotPossibleError("this is a file", where=str(place), remedy="Name a folder for the site.")
    there = {path.relative_to(place).as_posix() for path in place.rglob("*") if not path.is_dir()}
    ours = files_of_site(place)
    if there and ours is None:
        raise NotPossibleError(
            "this folder has files in it, and is no site of ours",
            where=str(place),
            remedy="Name a folder that is empty, or not there yet.",
        )
    if strange := sorted(there - (ours or set()) - {STAMP}):
        raise NotPossibleError(
            f"this site has files in it that we did not put there, like {strange[0]}",
            where=str(place),
            remedy="Take them out, or name another folder: the site is replaced as a whole.",
        )
    here = Path(os.path.realpath(os.getcwd()))
    if place in (here, *here.parents):
        remedy = f'Go out of it: cd "{place.parent}". Then: {_make(place.name)}.'
        raise NotPossibleError("this is the folder that you work in, or above it", where=str(place), remedy=remedy)


def how_to_make_one(folder: Path) -> str:
    """Say how a site is had where a folder is none: here if it may be put here, else in a folder of its own.

    >>> how_to_make_one(Path("no-such-folder"))
    'Make one: python -m gearcalc web "no-such-folder".'
    """
    may_be_here = len(str(folder)) <= _LONGEST_TO_TYPE
    try:
        check_folder(Path(os.path.realpath(folder)))
    except (NotPossibleError, ValueError):  # the second for a name that no folder can have
        may_be_here = False
    if may_be_here:
        return f"Make one: {_make(folder)}."
    return f"Make one, in a folder of its own: {_make('lessons-site')}."


def _make(folder: str | Path) -> str:
    return f'python -m gearcalc web "{folder}"'


def files_of_site(place: Path) -> set[str] | None:
    """Read which files a site has, from its stamp; None where this is no site of ours."""
    try:
        stamp = json.loads((place / STAMP).read_text(encoding="utf-8"))
        return set(stamp["files"]) if stamp["what"] == _WHAT else None
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None


def _chosen(names: Sequence[str]) -> tuple[Path, ...]:
    if not names:
        return all_lessons()
    first, *_, bench = all_lessons()
    named = lessons_named(name for text in names for name in text.replace(",", " ").split() or [text])
    each_once = dict.fromkeys((first, *named, bench))
    return tuple(sorted(each_once, key=lambda path: (path != first, path == bench, path.name)))


def _check_extra() -> None:
    if missing := [name for name in _NEEDS if util.find_spec(name) is None]:
        raise NotPossibleError(f"what builds a site is not installed ({missing[0]} is missing)", remedy=install("web"))


@contextmanager
def _work_beside(place: Path) -> Iterator[Path]:
    """A scratch folder beside a site, for one program at a time; what one that was killed has left there goes."""
    place.parent.mkdir(parents=True, exist_ok=True)
    with held(place) as is_ours:
        if not is_ours:
            remedy = "Wait until that is done, or name another folder."
            raise NotPossibleError("another command is making a site here", where=str(place), remedy=remedy)
        front = f".{place.name[:40]}.gearcalc-site-"
        for left in place.parent.glob(f"{escape(front)}*"):
            if (left / _BEFORE).is_dir() and not os.path.lexists(place):
                os.rename(left / _BEFORE, place)
            shutil.rmtree(left, ignore_errors=True)
        with TemporaryDirectory(prefix=front, dir=place.parent, ignore_cleanup_errors=True) as scratch:
            yield Path(scratch)


def _put_contents(place: Path, lessons: Iterable[SiteLesson]) -> None:
    place.mkdir()
    for name in shipped.ours_in(notebooks_folder()):
        if name.suffix != ".ipynb":
            (place / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(notebooks_folder() / name, place / name)
    for lesson in lessons:
        (place / lesson.name).write_text(lesson.content, encoding="utf-8")


def _stamp(site: Path, lessons: Iterable[SiteLesson]) -> int:
    """Write what the site has in it, and return its size in bytes."""
    files = {path.relative_to(site).as_posix(): path.stat().st_size for path in site.rglob("*") if path.is_file()}
    stamp: dict[str, Any] = {
        "what": _WHAT,
        "version": gearcalc.__version__,
        "lessons": {lesson.name: lesson.print for lesson in lessons},
        "files": sorted(files),
    }
    (site / STAMP).write_text(json.dumps(stamp, indent=1), encoding="utf-8")
    return sum(files.values())


def _put_in_place(made: Path, place: Path, before: Path) -> None:
    """Put the new site where the old one was; that goes only when the new one is there."""
    there = os.path.lexists(place)
    if there:
        os.rename(place, before)
    try:
        os.rename(made, place)
    except OSError:
        if there:
            os.rename(before, place)
        raise
