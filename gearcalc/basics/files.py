"""Files: where ours are, and how others are written, whole or not at all.

data/ and notebooks/ lie beside the package in a checkout, inside it in a wheel. A file is written beside its place
first, then put there.
"""

from __future__ import annotations

import csv
import errno
import os
import shutil
import stat
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path

from gearcalc.basics.errors import GearcalcError, NotPossibleError, UnknownNameError

_PACKAGE = Path(__file__).resolve().parent.parent


def data_folder() -> Path:
    """The folder with thread tables and demo lathes.

    >>> (data_folder() / "SOURCES.md").is_file()
    True

    Raises UnknownNameError when this installation has none.
    """
    return _find("data")


def notebooks_folder() -> Path:
    """The folder with the lessons.

    >>> notebooks_folder().is_dir()
    True

    Raises UnknownNameError when this installation has none.
    """
    return _find("notebooks")


@cache
def read_rows(name: str) -> tuple[Mapping[str, str], ...]:
    """The rows of a table in data/, each a mapping from column to text.

    >>> read_rows("threads/ba.csv")[2]["pitch_mm"]
    '0.81'

    `name` is a path inside data/. Raises UnknownNameError when there is no such table.
    """
    path = data_folder() / name
    if not path.is_file():
        raise UnknownNameError("there is no such table in data/", value=name)
    with path.open(encoding="utf-8", newline="") as table:
        return tuple(csv.DictReader(table))


def _find(name: str) -> Path:
    inside, beside = _PACKAGE / name, _PACKAGE.parent / name
    if inside.is_dir():
        return inside
    if (_PACKAGE.parent / "pyproject.toml").is_file() and beside.is_dir():
        return beside
    raise UnknownNameError(f"the folder {name} is missing from this installation", remedy="Install gearcalc again.")


NO_TEXT = "this is no text in UTF-8"
_UNFINISHED = ".gearcalc-unfinished"
_ABANDONED_S, _FOLDER_ABANDONED_S = 600, 3600
_PATIENCE_S = 3.0


def save_whole(path: str | os.PathLike[str], content: str | bytes, what: str) -> Path:
    """Write a file, never half of it; returns its path as given.

    >>> with tempfile.TemporaryDirectory() as folder:
    ...     save_whole(Path(folder) / "card.txt", "Isolate first.", "the card").read_text()
    'Isolate first.'

    `content`: text is written as UTF-8. `what`: what it is, for the message. Raises NotPossibleError.
    """
    with said_where(path, f"{what} can't be saved here"):
        put_in_place(path, content.encode("utf-8") if isinstance(content, str) else content)
    return Path(path)


def save_new(path: str | os.PathLike[str], content: str, what: str) -> Path:
    """Write a file that is not there yet, as save_whole() does; of two at once the second is refused.

    >>> with tempfile.TemporaryDirectory() as folder:
    ...     save_new(Path(folder) / "mine.toml", "", "the lathe file").name
    'mine.toml'

    Raises NotPossibleError, also where there is a file of that name, or a link.
    """
    with said_where(path, f"{what} can't be saved here"):
        try:
            put_in_place(path, content.encode("utf-8"), new=True)
        except FileExistsError:
            raise NotPossibleError(
                "there is such a file already, and it is left as it is",
                where=str(path),
                remedy="Name another, and a new one is written beside it; or, if you don't need that one, delete it"
                " first.",
            ) from None
    return Path(path)


def check_place(path: str | os.PathLike[str], what: str) -> None:
    """See, before the work, that a file can be saved; nothing is written.

    >>> with tempfile.TemporaryDirectory() as folder:
    ...     check_place(Path(folder) / "card.txt", "the card")

    `path`, `what`: as save_whole() takes them. Raises NotPossibleError as it does.
    """
    with said_where(path, f"{what} can't be saved here"):
        place = Path(os.path.realpath(path))
        _mode_of(place)
        if not place.parent.is_dir():
            raise OSError(errno.ENOENT, os.strerror(errno.ENOENT))
        if not os.access(place.parent, os.W_OK):
            raise OSError(errno.EACCES, os.strerror(errno.EACCES))


def can_be_a_name(text: str) -> bool:
    """Whether the system can have a file or a folder of that name: not with a NUL, nor a sign that it can't write.

    >>> can_be_a_name("my lathe.toml"), can_be_a_name("my\\0lathe.toml")
    (True, False)
    """
    try:
        return b"\0" not in os.fsencode(text)
    except UnicodeEncodeError:
        return False


@contextmanager
def said_where(
    path: str | os.PathLike[str],
    cannot: str,
    remedy: str = "Name a file in a folder that you may write to; what was there is untouched.",
    kinds: type[Exception] | tuple[type[Exception], ...] = (OSError, ValueError),
) -> Iterator[None]:
    """Word what the system refuses meanwhile: what can't be, why, and where. Raises NotPossibleError.

    >>> with said_where("x.txt", "the card can't be saved here", "Make room."):
    ...     raise OSError("the disk is full")
    Traceback (most recent call last):
    gearcalc.basics.errors.NotPossibleError: x.txt: the card can't be saved here (the disk is full). Make room.

    `remedy`: what to do, unless the disk is full. `kinds`: what is so said; a ValueError may be a name that no file can
    have.
    """
    try:
        yield
    except GearcalcError:  # says itself what and where; some are ValueErrors too
        raise
    except kinds as problem:
        said = f"{cannot} ({in_its_words(problem)})"
        raise NotPossibleError(said, where=str(path), remedy=way_out(problem, remedy)) from None


def way_out(problem: Exception, remedy: str) -> str:
    """What to do next: make room where a disk is full, else what `remedy` says.

    >>> way_out(OSError(errno.ENOSPC, "No space left on device"), "Name another folder.")
    'Make room on that disk; what was there is untouched.'
    """
    full = errno.errorcode.get(getattr(problem, "errno", None) or 0) in ("ENOSPC", "EDQUOT", "EFBIG")
    return "Make room on that disk; what was there is untouched." if full else remedy


def in_its_words(problem: Exception) -> str:
    """Why a file can't be read or written, as the system says it.

    >>> in_its_words(FileNotFoundError(2, "No such file or directory", "x.toml"))
    'No such file or directory'
    """
    if isinstance(problem, UnicodeDecodeError):
        return NO_TEXT
    if isinstance(problem, TypeError):
        return "this names no file"
    return str(getattr(problem, "strerror", None) or problem)


def put_in_place(path: str | os.PathLike[str], content: bytes, *, new: bool = False) -> None:
    """Write beside the file, then replace it. A link is followed: what it points to is replaced, and keeps its mode.

    Only an ordinary file that could be written is replaced; nothing is where it is to be `new`. Raises OSError or
    ValueError as the system says.
    """
    place = Path(os.path.realpath(path))
    if new and os.path.lexists(path):
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST))
    mode = _mode_of(place)
    _clear_unfinished(place.parent)
    handle, beside = tempfile.mkstemp(prefix=f".{place.name[:40]}.", suffix=_UNFINISHED, dir=place.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(beside, mode)  # mkstemp makes files private
        (_put_as_new if new else os.replace)(beside, place)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def _put_as_new(beside: str, place: Path) -> None:
    """Give it its name unless another has that, even if that came there this moment."""
    try:
        os.link(beside, place)
    except FileExistsError:
        raise
    except (OSError, AttributeError):  # a disk, or a system, that knows no links: the name is taken first
        os.close(os.open(place, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        os.replace(beside, place)
    else:
        os.unlink(beside)


@contextmanager
def alone_with(path: str | os.PathLike[str], patience_s: float = _PATIENCE_S) -> Iterator[None]:
    """Hold a file's lock, so that of all who ask for it one at a time reads, changes and writes the file.

    >>> with tempfile.TemporaryDirectory() as folder, alone_with(Path(folder) / "answers.json"):
    ...     sorted(os.listdir(folder))
    ['.answers.json.lock']

    A lock that the same holder has had for `patience_s` seconds is taken from it: a program that was killed leaves one.
    Raises OSError where the folder can't be written to.
    """
    place = Path(os.path.realpath(path))
    lock = place.with_name(f".{place.name[:40]}.lock")
    holder, since = None, time.monotonic()
    while True:
        try:
            handle = os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY)
            break
        except FileExistsError:
            found = _holder(lock)
            if found != holder:
                holder, since = found, time.monotonic()
            elif time.monotonic() - since > patience_s:  # by this clock: the one of a shared folder may be wrong
                lock.unlink(missing_ok=True)
            time.sleep(0.005)
    try:
        mine = _holder(lock)
        os.close(handle)
        yield
    finally:
        if _holder(lock) == mine:
            lock.unlink(missing_ok=True)


@contextmanager
def held(path: str | os.PathLike[str]) -> Iterator[bool]:
    """Keep others out of a folder for as long as the work takes; whether that could be had is said at once.

    >>> with tempfile.TemporaryDirectory() as folder, held(Path(folder) / "site") as mine:
    ...     with held(Path(folder) / "site") as again:
    ...         mine, again
    (True, False)

    The system holds the lock, beside the folder, and lets go of it with the program, however that ends. Raises OSError
    where the folder that it lies in can't be written to.
    """
    place = Path(os.path.realpath(path))
    lock = place.with_name(f".{place.name[:40]}.lock")
    handle, mine = os.open(lock, os.O_CREAT | os.O_RDWR), False
    try:
        mine = _locked(handle) and _holder(lock) == _seen(os.fstat(handle))  # else its last holder has just gone
        yield mine
    finally:
        if mine:
            with suppress(OSError):  # Windows keeps what is open
                lock.unlink()
        os.close(handle)


def _locked(handle: int) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    return True


def _holder(lock: Path) -> tuple[int, int] | None:
    try:
        return _seen(lock.stat())
    except OSError:
        return None


def _seen(found: os.stat_result) -> tuple[int, int]:
    return found.st_ino, found.st_mtime_ns


def _mode_of(place: Path) -> int:
    """The mode that a file keeps, or the usual one for a new file.

    A folder alone decides what may be replaced in it, so the file itself is asked whether it may be written.
    """
    try:
        mode = place.stat().st_mode
    except FileNotFoundError:
        return 0o666 & ~_umask()
    if stat.S_ISDIR(mode):
        raise IsADirectoryError("this is a folder")
    if not stat.S_ISREG(mode):
        raise OSError("this is no ordinary file, but a device or a pipe")
    if not mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH):
        raise PermissionError("this file is marked read only")  # which root could write all the same
    with place.open("r+b"):
        return stat.S_IMODE(mode) & 0o777


def _clear_unfinished(folder: Path) -> None:
    """Take away what saves that were killed half-way left here; younger ones may be another's, still being written."""
    for left in folder.glob(f".*{_UNFINISHED}"):
        try:
            found = left.lstat()
            if stat.S_ISREG(found.st_mode) and time.time() - found.st_mtime > _ABANDONED_S:
                left.unlink()
        except OSError:  # gone meanwhile, or not ours to clear: no reason not to save
            continue


@contextmanager
def scratch_in(folder: str | os.PathLike[str], prefix: str) -> Iterator[Path]:
    """Work in a folder of its own, below another, that is gone afterwards; so are those of programs that were killed.

    >>> with tempfile.TemporaryDirectory() as folder, scratch_in(folder, ".gearcalc-work-") as scratch:
    ...     scratch.name.startswith(".gearcalc-work-"), os.listdir(folder) == [scratch.name]
    (True, True)

    `prefix`: begins its name, and nobody else's; what is older than an hour is taken away. Raises OSError.
    """
    for left in Path(folder).glob(f"{prefix}*"):
        with suppress(OSError):
            found = left.lstat()
            if stat.S_ISDIR(found.st_mode) and time.time() - found.st_mtime > _FOLDER_ABANDONED_S:
                shutil.rmtree(left, ignore_errors=True)
    with tempfile.TemporaryDirectory(prefix=prefix, dir=folder, ignore_cleanup_errors=True) as scratch:
        yield Path(scratch)


def _umask() -> int:
    current = os.umask(0)
    os.umask(current)
    return current
