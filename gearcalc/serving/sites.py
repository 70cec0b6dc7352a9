"""A site: the lessons, the workbench and a Python that runs in the browser, as a folder of files for any web server."""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from importlib import metadata, util
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from zipfile import ZipFile

import gearcalc
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import data_folder, in_its_words, notebooks_folder
from gearcalc.lathes import Lathe
from gearcalc.learning import own_lathe, shipped
from gearcalc.serving.lessons_in_a_site import SiteLesson, lesson_for_site
from gearcalc.serving.pages import put_pages
from gearcalc.serving.parts import CORE, REINSTALL, Parts, Say, all_parts, parts_folder, run
from gearcalc.serving.wheels import empty_wheel, lock_entry, own_wheel, read_lock, slim_wheels
from gearcalc.teaching.lesson_runs import all_lessons, lessons_named

STAMP = "gearcalc-site.json"
"""The file at the top of a site by which it is known as ours, with the names of all that we put there."""
_WHAT = "a site of gearcalc lessons"
_KERNEL = "@jupyterlite/pyodide-kernel-extension"
_PYTHON = f"{_KERNEL}:kernel"
_NEEDS = ("jupyterlite_core", "jupyterlite_pyodide_kernel", "jupyter_server")
_EXTENSIONS = "share/jupyter/labextensions/"
_OF_THE_KERNEL = ("pyodide_kernel-", "piplite-", "ipykernel-", "widgetsnbextension-4")
_APPS = ("notebooks", "tree")
"""A lesson by itself, and the list of files, where copies of one's own are found."""
_OUR_MODULES = ("start.mjs", "kept.mjs")
# Through it Python would read the files of the page, where there is one: on a plain http address there is none, and a
# lesson would work in another way there. What a lesson writes is kept by kept.mjs instead.
_NOT_WANTED = ("@jupyterlite/application-extension:service-worker-manager",)


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
    lathe: str | Path | None = None,
    pyodide: str | Path | None = None,
    parts: str | Path | None = None,
    say: Say = lambda line: None,
) -> Site:
    """Build a site, beside its place first, then put there whole.

    ```python
    build_site("lessons-for-browsers", lessons=["01-05"], lathe="school.toml")
    ```

    `folder`: missing, empty, or a site of ours, which is replaced. `lessons`: names as lessons_named() takes them; the
    first, 00, and the workbench are always there; none named, all are. `lathe`: a lathe file, which becomes everyone's
    my_lathe.toml. `pyodide`: a folder with a full Pyodide distribution, whose pandas and matplotlib go into the site.
    `parts`: the folder that keeps what is fetched, the user's own cache where it is None. `say` is told what takes
    long. Raises GearcalcError where something is missing, and never touches what is not ours.
    """
    place = Path(os.path.abspath(folder))
    check_folder(place)
    own = None if lathe is None else Lathe.load(lathe)
    chosen = _chosen(lessons)
    _check_extra()
    kept = all_parts(Path(parts) if parts is not None else parts_folder(), say)
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(prefix=".gearcalc-site-", dir=place.parent, ignore_cleanup_errors=True) as scratch:
            work = Path(scratch)
            ready = tuple(lesson_for_site(path, {each.name for each in chosen}) for path in chosen)
            _put_together(work, ready, own, kept, None if pyodide is None else Path(pyodide), say)
            size = _stamp(work / "site", ready)
            _put_in_place(work / "site", place, work / "before")
    except OSError as problem:
        raise NotPossibleError(
            f"the site can't be written here ({in_its_words(problem)})",
            where=str(folder),
            remedy="Name a folder that you may write to; what was there is untouched.",
        ) from None
    return Site(Path(folder), ready, size / 1e6)


def check_folder(place: Path) -> None:
    """See that a site may be put here. Raises NotPossibleError where something else is in the place."""
    if not os.path.lexists(place):
        return
    if not place.is_dir():
        raise NotPossibleError("this is a file", where=str(place), remedy="Name a folder for the site.")
    there = {path.relative_to(place).as_posix() for path in place.rglob("*") if not path.is_dir()}
    if not there:
        return
    ours = files_of_site(place)
    if ours is None:
        raise NotPossibleError(
            "this folder has files in it, and is no site of ours",
            where=str(place),
            remedy="Name a folder that is empty, or not there yet.",
        )
    if strange := sorted(there - ours - {STAMP}):
        raise NotPossibleError(
            f"this site has files in it that we did not put there, like {strange[0]}",
            where=str(place),
            remedy="Take them out, or name another folder: the site is replaced as a whole.",
        )


def files_of_site(place: Path) -> set[str] | None:
    """Read which files a site has, from its stamp; None where this is no site of ours."""
    try:
        stamp = json.loads((place / STAMP).read_text(encoding="utf-8"))
        return set(stamp["files"]) if stamp["what"] == _WHAT else None
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _chosen(names: Sequence[str]) -> tuple[Path, ...]:
    if not names:
        return all_lessons()
    first, *_, bench = all_lessons()
    named = lessons_named(name for text in names for name in text.replace(",", " ").split())
    return tuple(dict.fromkeys((first, *sorted(path for path in named if path != bench), bench)))


def _check_extra() -> None:
    if missing := [name for name in _NEEDS if util.find_spec(name) is None]:
        raise NotPossibleError(
            f"what builds a site is not installed ({missing[0]} is missing)",
            remedy=f"""Install it: {sys.executable} -m pip install "gearcalc[web]".""",
        )


def _put_together(
    work: Path, lessons: Sequence[SiteLesson], lathe: Lathe | None, parts: Parts, pyodide: Path | None, say: Say
) -> None:
    lite = work / "lite"
    names = _put_python(lite / "static" / "pyodide", work, parts, pyodide, say)
    _put_extensions(work / "extensions", parts)
    _put_contents(work / "contents", lessons)
    (lite / "jupyter-lite.json").write_text(json.dumps(_settings(names, lathe)), encoding="utf-8")
    told = {"FederatedExtensionAddon": {"extra_labextensions_path": [str(work / "extensions")]}}
    (lite / "jupyter_lite_config.json").write_text(json.dumps(told), encoding="utf-8")
    say("Putting the site together ...")
    command: list[str | Path] = [sys.executable, "-m", "jupyterlite_core", "build", "--ignore-sys-prefix"]
    command += ["--lite-dir", lite, "--contents", work / "contents", "--output-dir", work / "site"]
    command += [word for app in _APPS for word in ("--apps", app)]
    command += ["--no-sourcemaps", "--no-unused-shared-packages"]
    clean = {name: value for name, value in os.environ.items() if not name.startswith("JUPYTERLITE_")}
    run(command, "JupyterLite's build", REINSTALL, cwd=lite, env=clean)
    _start_by_our_module(work / "site" / "jupyter-lite.json")
    _leave_out(work / "site")
    put_pages(work / "site", _APPS, lessons)


def _settings(packages: list[str], lathe: Lathe | None) -> dict[str, Any]:
    """What JupyterLite is told: one load of all packages, never another host, and the files beside the lessons."""
    beside = {} if lathe is None else {own_lathe.FILE_NAME: lathe.to_toml()}
    python = {"disablePyPIFallback": True, "loadPyodideOptions": {"packages": packages, "beside": beside}}
    data = {
        "appName": "gearcalc lessons",
        "exposeAppInBrowser": True,
        "disabledExtensions": list(_NOT_WANTED),
        "litePluginSettings": {_PYTHON: python},
    }
    return {"jupyter-lite-schema-version": 0, "jupyter-config-data": data}


def _start_by_our_module(settings: Path) -> None:
    """Have Python started by start.mjs: the build names Pyodide's own module, wherever it finds one."""
    told = json.loads(settings.read_text(encoding="utf-8"))
    told["jupyter-config-data"]["litePluginSettings"][_PYTHON]["pyodideUrl"] = "./static/pyodide/start.mjs"
    settings.write_text(json.dumps(told, indent=1), encoding="utf-8")


def _put_python(place: Path, work: Path, parts: Parts, pyodide: Path | None, say: Say) -> list[str]:
    """Pyodide's core, the wheels and a lock that lists only those; returns the names of all packages."""
    core = parts.unpack_core(work / "core")
    made = work / "wheels"
    made.mkdir()
    of_kernel = [
        path for path in (_kernel_folder() / "static" / "pypi").iterdir() if path.name.startswith(_OF_THE_KERNEL)
    ]
    wheels = [*parts.wheels, *of_kernel, own_wheel(made), empty_wheel(made, "jedi")]
    say("Compiling packages for the browser, those that are new ...")
    slim = slim_wheels(wheels, core, parts.folder / "slim")
    place.mkdir(parents=True)
    lock = read_lock(core)
    lock["packages"] = {}
    for name, wheel in sorted(slim.items()):
        entry = lock_entry(name, wheel)
        lock["packages"][entry["name"]] = entry
        shutil.copy(wheel, place / entry["file_name"])
    for name in CORE:
        shutil.copy(core / name, place)
    (place / "pyodide-lock.json").write_text(json.dumps(lock), encoding="utf-8")
    fetched = [path for path in place.iterdir() if path.suffix in (".wasm", ".whl", ".zip")]
    sizes = {path.name: path.stat().st_size for path in sorted(fetched)}
    (place / "sizes.json").write_text(json.dumps(sizes), encoding="utf-8")
    for name in _OUR_MODULES:
        shutil.copy(data_folder() / "web" / name, place)
    return sorted(lock["packages"])


def _kernel_folder() -> Path:
    """Where the installed kernel for browsers has its front end and its wheels."""
    found = metadata.distribution("jupyterlite-pyodide-kernel")
    inside = next(
        path for path in found.files or () if path.as_posix().endswith(f"{_EXTENSIONS}{_KERNEL}/package.json")
    )
    return Path(str(found.locate_file(inside))).resolve().parent


def _put_extensions(place: Path, parts: Parts) -> None:
    """The front ends: the kernel's, and those of the widgets, from the very wheels that the browser's Python has."""
    shutil.copytree(_kernel_folder(), place / _KERNEL)
    for wheel in parts.wheels:
        with ZipFile(wheel) as opened:
            for name in opened.namelist():
                _, there, inside = name.partition(f".data/data/{_EXTENSIONS}")
                if there and inside and not inside.endswith(("/", ".map")):
                    target = place / inside
                    target.parent.mkdir(parents=True, exist_ok=True)
                    target.write_bytes(opened.read(name))


def _put_contents(place: Path, lessons: Iterable[SiteLesson]) -> None:
    place.mkdir()
    for path in notebooks_folder().rglob("*"):
        inside = path.relative_to(notebooks_folder())
        if path.is_file() and path.suffix != ".ipynb" and not shipped.is_never_ours(inside.parts):
            (place / inside).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(path, place / inside)
    for lesson in lessons:
        (place / lesson.name).write_text(lesson.content, encoding="utf-8")


def _leave_out(site: Path) -> None:
    """Take away what serves building, and letters for browsers that are too old for Python."""
    for path in [*site.glob("rspack.config*"), site / "package.json"]:
        path.unlink(missing_ok=True)
    for path in (site / "build").iterdir():
        if path.suffix == ".eot" or (path.suffix == ".svg" and path.name.startswith("fa-")):
            path.unlink()


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
