"""Files written whole or not at all: beside the place first, then put there."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from gearcalc.errors import NotPossibleError

__all__ = ["put_in_place", "save_whole"]


def save_whole(path: str | os.PathLike[str], content: str | bytes, what: str) -> Path:
    """Write a file, never half of it; returns its path as given.

    >>> with tempfile.TemporaryDirectory() as folder:
    ...     save_whole(Path(folder) / "card.txt", "Isolate first.", "the card").read_text()
    'Isolate first.'

    `content`: text is written as UTF-8. `what`: what it is, for the message. Raises NotPossibleError.
    """
    try:
        put_in_place(path, content.encode("utf-8") if isinstance(content, str) else content)
    except (OSError, ValueError) as problem:  # ValueError: a name that no file can have
        raise NotPossibleError(
            f"{what} can't be saved here ({getattr(problem, 'strerror', None) or problem})", where=str(path),
            remedy="Name a file in a folder that you may write to; what was there is untouched.",
        ) from None  # fmt: skip
    return Path(path)


def put_in_place(path: str | os.PathLike[str], content: bytes) -> None:
    """Write beside the file, then replace it. A link is followed: what it points to is replaced, and keeps its mode.

    Raises OSError or ValueError as the system says.
    """
    place = Path(os.path.realpath(path))
    if place.is_dir():
        raise IsADirectoryError("this is a folder")
    handle, beside = tempfile.mkstemp(prefix=f".{place.name[:40]}.", dir=place.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        # mkstemp makes files private; a file keeps the mode it had, or gets the usual one.
        os.chmod(beside, place.stat().st_mode & 0o777 if place.exists() else 0o666 & ~_umask())
        os.replace(beside, place)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def _umask() -> int:
    current = os.umask(0)
    os.umask(current)
    return current
