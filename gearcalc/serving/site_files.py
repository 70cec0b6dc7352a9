"""The files of a folder that a reader may have, and each as it is sent: its type, its mark, itself made small.

What can be asked for is what a walk through the folder found. A request is only looked up among those names, so nothing
that stands in it, however it is written, leads to another file.
"""

from __future__ import annotations

import gzip
import hashlib
import os
import re
import stat
import threading
import time
import unicodedata
from collections.abc import Iterator, Mapping
from contextlib import suppress
from functools import cached_property
from pathlib import Path, PurePosixPath
from urllib.parse import unquote

from attrs import define, field

FIRST_PAGE = "index.html"
_LOOK_AGAIN_S = 1.0
_MOST_MADE_SMALL = 64_000_000  # bytes; a file that is larger is sent as it is, and never held in memory
_HASH_IN_NAME = re.compile(r"[.-][0-9a-f]{7,64}\.(?:js|mjs|css|wasm|woff2?)\Z|-0[0-9a-f]{8}-py3-none-any\.whl\Z")

_TEXT, _JSON = "text/plain; charset=utf-8", "application/json"
_TYPES = {
    ".css": "text/css; charset=utf-8",
    ".csv": _TEXT,
    ".eot": "application/vnd.ms-fontobject",
    ".gif": "image/gif",
    ".htm": "text/html; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".ico": "image/x-icon",
    ".ipynb": _JSON,
    ".jpg": "image/jpeg",
    ".js": "text/javascript; charset=utf-8",
    ".json": _JSON,
    ".map": _JSON,
    ".md": _TEXT,
    ".mjs": "text/javascript; charset=utf-8",
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".py": _TEXT,
    ".svg": "image/svg+xml",
    ".toml": _TEXT,
    ".ttf": "font/ttf",
    ".txt": _TEXT,
    ".wasm": "application/wasm",
    ".webmanifest": "application/manifest+json",
    ".whl": "application/zip",
    ".woff": "font/woff",
    ".woff2": "font/woff2",
    ".zip": "application/zip",
}
"""Ours, since a system's own list may lack .mjs or call .js plain text; a browser then runs neither."""
_UNKNOWN = "application/octet-stream"
_SMALL_ALREADY = re.compile("application/(?:octet-stream|pdf|zip)|font/woff|image/(?:gif|jpeg|png)")


@define(eq=False, slots=False)
class SiteFile:
    """A file as it stood when the folder was last walked through.

    `name`: its place in the folder, with '/' between. `seen`: when it was written, its bytes, and which it is there.
    """

    name: str
    path: Path
    seen: tuple[int, int, int]
    _lock: threading.Lock = field(factory=threading.Lock, repr=False)

    @property
    def size(self) -> int:
        """Bytes."""
        return self.seen[1]

    @property
    def is_as_seen(self) -> bool:
        """Whether it is still the one that was found."""
        try:
            found = self.path.lstat()
        except (OSError, ValueError):
            return False
        return stat.S_ISREG(found.st_mode) and _seen(found) == self.seen

    @cached_property
    def type(self) -> str:
        """What a browser is told that it is.

        >>> SiteFile("pyodide.mjs", Path("pyodide.mjs"), (0, 0, 0)).type
        'text/javascript; charset=utf-8'
        """
        return _TYPES.get(PurePosixPath(self.name).suffix.lower(), _UNKNOWN)

    @property
    def is_kept(self) -> bool:
        """Whether its name says what is in it, so that a browser need never ask for it again.

        >>> names = ("build/963.71d40b5.js", "gearcalc-0.1.0-084888b6f-py3-none-any.whl", "gearcalc-0.1.0.whl")
        >>> [SiteFile(name, Path(name), (0, 0, 0)).is_kept for name in names]
        [True, True, False]
        """
        return _HASH_IN_NAME.search(self.name) is not None

    @cached_property
    def mark(self) -> str:
        """What tells this content from any other; the same again for the same content in a site that is made anew."""
        with self._lock, self.path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()[:32]

    @property
    def may_be_small(self) -> bool:
        """Whether it pays to send it made small."""
        return _SMALL_ALREADY.match(self.type) is None and self.size <= _MOST_MADE_SMALL

    def small(self) -> bytes:
        """Its content as gzip makes it small: once, then from memory. Raises OSError."""
        with self._lock:  # of many who ask at once, one has the work
            return self._small

    @cached_property
    def _small(self) -> bytes:
        return gzip.compress(self.path.read_bytes(), 6, mtime=0)


class SiteFolder:
    """A folder whose files are served: a file that changes is seen at once, a new one within a second."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        self._files: Mapping[str, SiteFile] = {}
        self._looking = threading.Lock()
        self._look_again = 0.0
        self._look()

    def find(self, name: str) -> SiteFile | None:
        """The file of that name, or None; of a folder's name with '/' behind it, or of none, its first page."""
        wanted = f"{name}{FIRST_PAGE}" if name.endswith("/") or not name else name
        found = self._files.get(wanted)
        if found is not None and found.is_as_seen:
            return found
        with self._looking:
            if found is not None or time.monotonic() >= self._look_again:
                self._look()
        return self._files.get(wanted)

    def has_folder(self, name: str) -> bool:
        """Whether that is the name of a folder that has a first page."""
        return f"{name}/{FIRST_PAGE}" in self._files

    def _look(self) -> None:
        files = {}
        for name, entry in _walk(self.folder, ""):
            seen, known = _seen(os.lstat(entry.path)), self._files.get(name)
            files[name] = known if known is not None and known.seen == seen else SiteFile(name, Path(entry.path), seen)
        self._files = files
        self._look_again = time.monotonic() + _LOOK_AGAIN_S


def _seen(found: os.stat_result) -> tuple[int, int, int]:
    return found.st_mtime_ns, found.st_size, found.st_ino


def _walk(folder: str | Path, front: str) -> Iterator[tuple[str, os.DirEntry[str]]]:
    """Ordinary files, each with its name from the top; no links, nothing hidden."""
    try:
        entries = [entry for entry in os.scandir(folder) if not entry.name.startswith(".")]
    except OSError:  # gone meanwhile, or not ours to read
        return
    for entry in entries:
        name = front + unicodedata.normalize("NFC", entry.name)
        with suppress(OSError):
            if entry.is_file(follow_symlinks=False):
                yield name, entry
            elif entry.is_dir(follow_symlinks=False) and not _is_junction(entry):
                yield from _walk(entry.path, f"{name}/")


def _is_junction(entry: os.DirEntry[str]) -> bool:
    """Whether it is what Windows has in place of a link to a folder."""
    tag = getattr(entry.stat(follow_symlinks=False), "st_reparse_tag", 0)
    return tag != 0 and tag == getattr(stat, "IO_REPARSE_TAG_MOUNT_POINT", None)


def name_asked(target: str) -> str | None:
    """The name that a request asks for, to be looked up; None where it is none.

    >>> name_asked("/notebooks/?path=00_start_here.ipynb"), name_asked("/lab/%C3%BCbung.json"), name_asked("/%ff")
    ('notebooks/', 'lab/übung.json', None)
    """
    path = re.sub(r"\Ahttps?://[^/?#]*", "", target, flags=re.I)
    path = re.split(r"[?#]", path, maxsplit=1)[0]
    if not path.startswith("/"):
        return None
    try:
        return unicodedata.normalize("NFC", unquote(path[1:], errors="strict"))
    except UnicodeDecodeError:
        return None
