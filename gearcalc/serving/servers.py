"""A server of static files for a class: it hands out what is in one folder, and does nothing else.

Nobody's folder is listed, nothing is taken in, nothing is run. Who reads what is not noted down: how many files went
out, and how many bytes, is all that is counted.
"""

from __future__ import annotations

import errno
import os
import re
import socket
import socketserver
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from io import BytesIO
from pathlib import Path
from typing import Any, cast
from urllib.parse import quote

from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import in_its_words
from gearcalc.basics.markup import HEAD, RUNS_NOTHING
from gearcalc.serving.addresses import ALL_CARDS, THIS_COMPUTER, addresses
from gearcalc.serving.class_page import PAGE_NAME, class_page
from gearcalc.serving.site_files import SiteFile, SiteFolder, name_asked
from gearcalc.serving.sites import files_of_site, how_to_make_one

PORT = 8000
_PORTS_TRIED = 20

_HEAD_BYTES = 16_384
_HEAD_S, _BETWEEN_S, _PIECE_S = 10.0, 15.0, 300.0
"""How long a reader may take to ask, to ask again over the same line, and to take a piece of a file: a slow one that
starts Python takes nothing for half a minute and more."""
_PIECE = 65_536
_MOST_LINES, _MOST_LINES_EACH = 1_000, 256
_MOST_PROBLEMS = 30

_OF_PAGE = (
    "default-src 'self' 'unsafe-inline' 'unsafe-eval' data: blob:; object-src 'none'; base-uri 'self'; "
    "form-action 'self'; frame-ancestors 'self'"
)
"""Nothing of another host. Which scripts may run, each page of a site says itself, wherever it is served."""
_OF_WORKER = "default-src 'none'; script-src 'self' 'unsafe-eval'; connect-src 'self'"
"""A worker's policy comes with its script. It runs Python, which makes code of its own, and fetches what that takes."""
_OF_OTHERS = f"{RUNS_NOTHING}; frame-ancestors 'self'"
_NOTHING = (
    f'<!DOCTYPE html><html lang="en"><head>{HEAD}<title>{{title}}</title>'
    '<meta name="viewport" content="width=device-width, initial-scale=1"></head>'
    '<body><main><h1>{title}</h1><p><a href="/">The lessons begin here.</a></p></main></body></html>'
)


def page_of_nothing(title: str) -> str:
    """The page for who asked for what is not there; `title`: what is the matter, in words of ours.

    >>> "The lessons begin here." in page_of_nothing("There is nothing here")
    True
    """
    return _NOTHING.format(title=title)


class SiteServer(ThreadingHTTPServer):
    """Serves a folder until it is shut down.

    `port`: None for the first one that is free from 8000 on. `lan`: for others on the network too, else for this
    computer alone. `say`: told a line about each kind of problem.
    Raises NotPossibleError for a folder that is no site, a port that is taken, and where there is no network.
    """

    daemon_threads, block_on_close = True, False  # whoever still reads does not hold up the end
    request_queue_size = 256
    allow_reuse_address = os.name == "posix"  # on Windows that would share a port that is taken

    def __init__(
        self,
        folder: Path,
        port: int | None = None,
        *,
        lan: bool = False,
        say: Callable[[str], None] = lambda line: None,
    ) -> None:
        if files_of_site(folder) is None:
            why = "this folder is no site of lessons"
            raise NotPossibleError(why, where=str(folder), remedy=how_to_make_one(folder))
        others = addresses() if lan else ()
        self.site, self.say = SiteFolder(folder), say
        self.files_sent = self.bytes_sent = 0
        self._counting = threading.Lock()
        self._open: dict[socket.socket, str] = {}
        self._said: set[str] = set()
        self._most_lines = _room_for_lines()
        self._listen(ALL_CARDS if lan else THIS_COMPUTER, port)
        self.address = f"http://{THIS_COMPUTER}:{self.server_port}/"
        self.addresses = tuple(f"http://{each}:{self.server_port}/" for each in others)
        self.class_page = class_page(self.addresses).encode() if lan else None
        self.class_page_address = f"{self.address}{PAGE_NAME}" if lan else None

    def _listen(self, host: str, port: int | None) -> None:
        tried = range(PORT, PORT + _PORTS_TRIED) if port is None else (port,)
        for each in tried:
            try:
                super().__init__((host, each), _Reader)
                return
            except OSError as problem:
                if each != tried[-1] and problem.errno in (errno.EADDRINUSE, errno.EACCES):
                    continue
                if problem.errno == errno.EADDRINUSE:
                    which = f"port {port} is taken" if port is not None else f"ports {PORT} to {each} are all taken"
                else:
                    which = f"port {each} can't be had ({in_its_words(problem)})"
                remedy = (
                    "It may be serve itself, started before: then this one is not needed. Else name another, like "
                    "--port 8765, where answers that readers gave under this one don't show."
                )
                raise NotPossibleError(which, remedy=remedy) from None

    def server_bind(self) -> None:
        """Take the port, without asking the network for this computer's name: that can take long where it has none."""
        if hasattr(socket, "SO_EXCLUSIVEADDRUSE"):
            self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        socketserver.TCPServer.server_bind(self)
        self.server_name, self.server_port = self.server_address[:2]  # type: ignore[assignment]

    def verify_request(self, request: Any, client_address: Any) -> bool:
        """Whether there is room for one more line; a computer that takes hundreds must not take them from others."""
        with self._counting:
            of_this = Counter(self._open.values())[client_address[0]]
            if len(self._open) < self._most_lines and of_this < _MOST_LINES_EACH:
                self._open[request] = client_address[0]
                return True
        self.problem("More readers ask at once than there is room for; some are asked to wait")
        with suppress(OSError):
            request.setblocking(False)
            request.send(b"HTTP/1.1 503 Service Unavailable\r\nRetry-After: 5\r\nContent-Length: 0\r\n\r\n")
        return False

    def shutdown_request(self, request: Any) -> None:
        """The end of a line to a reader."""
        with self._counting:
            self._open.pop(request, None)
        super().shutdown_request(request)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A line on the screen in place of a traceback; that a reader has gone is no problem."""
        problem = sys.exc_info()[1]
        if not isinstance(problem, (ConnectionError, TimeoutError)):
            self.problem(f"A request came to nothing ({type(problem).__name__}: {problem})")

    def problem(self, line: str) -> None:
        """Say what went wrong, each thing once."""
        with self._counting:
            if line in self._said or len(self._said) >= _MOST_PROBLEMS:
                return
            self._said.add(line)
        self.say(f"{line}.")

    def count(self, files: int, sent: int) -> None:
        """Count what went out."""
        with self._counting:
            self.files_sent += files
            self.bytes_sent += sent


def _room_for_lines() -> int:
    """How many readers' lines there is room for: each takes two of the files that a process may have open."""
    try:
        import resource
    except ImportError:  # Windows, which has no such limit
        return _MOST_LINES
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = 2 * _MOST_LINES + 100
    if soft != resource.RLIM_INFINITY and soft < wanted:
        more = wanted if hard == resource.RLIM_INFINITY else min(wanted, hard)
        with suppress(OSError, ValueError):
            resource.setrlimit(resource.RLIMIT_NOFILE, (more, hard))
            soft = more
        return max(8, min(_MOST_LINES, (soft - 100) // 2))
    return _MOST_LINES


class _Reader(BaseHTTPRequestHandler):
    """One line to a reader's browser, and what is asked over it, one request after another."""

    protocol_version = "HTTP/1.1"
    disable_nagle_algorithm = True
    _behind = b""

    @property
    def _server(self) -> SiteServer:
        return cast(SiteServer, self.server)

    def handle(self) -> None:
        """Answer until one side has had enough."""
        wait_s = _HEAD_S
        with suppress(ConnectionError, TimeoutError):
            while self._answer_one(wait_s):
                wait_s = _BETWEEN_S

    def _answer_one(self, wait_s: float) -> bool:
        self.command, self.requestline, self.request_version = "", "", self.protocol_version
        self.close_connection = True
        try:
            head = self._head(wait_s)
        except _RefusedError as refused:
            self._refuse(refused.status)
            return False
        if not head:
            return False
        self.rfile = BytesIO(head)
        self.raw_requestline = self.rfile.readline()
        if not self.parse_request():  # which has said why
            return False
        if self.command not in ("GET", "HEAD"):
            self._refuse(HTTPStatus.METHOD_NOT_ALLOWED)
        elif self.headers.get("Content-Length", "0").strip() != "0" or "Transfer-Encoding" in self.headers:
            self._refuse(HTTPStatus.BAD_REQUEST)  # nothing is taken in
        else:
            self._answer(self.path)
        return not self.close_connection

    def _head(self, wait_s: float) -> bytes:
        """What stands before the empty line; empty where nothing came."""
        got, self._behind = self._behind, b""
        until = time.monotonic() + (_HEAD_S if got else wait_s)
        while True:
            got = got.lstrip(b"\r\n")
            if got and not got[:1].isupper():  # as where a browser begins to encrypt
                raise _RefusedError(HTTPStatus.BAD_REQUEST)
            end = re.search(rb"\r?\n\r?\n", got)
            if end is not None and end.end() <= _HEAD_BYTES:
                self._behind = got[end.end() :]
                return got[: end.end()]
            if len(got) > _HEAD_BYTES:
                raise _RefusedError(HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE)
            left = until - time.monotonic()
            if left <= 0:
                raise _RefusedError(HTTPStatus.REQUEST_TIMEOUT)
            self.connection.settimeout(left)
            try:
                more = self.connection.recv(8_192)
            except TimeoutError:
                if not got:
                    return b""
                raise _RefusedError(HTTPStatus.REQUEST_TIMEOUT) from None
            if not more:
                return b""
            if not got:
                until = time.monotonic() + _HEAD_S
            got += more

    def _answer(self, target: str) -> None:
        server, name = self._server, name_asked(target)
        if name == PAGE_NAME and server.class_page is not None:
            self._send(HTTPStatus.OK, server.class_page)
            return
        found = None if name is None else server.site.find(name)
        if found is not None:
            self._answer_file(found)
        elif name is not None and server.site.has_folder(name):
            query = re.sub(r"[^!-~]", "", target.partition("?")[2])
            to = f"/{quote(name)}/" + (f"?{query}" if query else "")
            self._send(HTTPStatus.MOVED_PERMANENTLY, b"", headers={"Location": to, "Cache-Control": "no-cache"})
        else:
            self._refuse(HTTPStatus.NOT_FOUND, close=False)

    def _answer_file(self, file: SiteFile) -> None:
        try:
            is_small = file.may_be_small and self._takes_gzip()
            mark = f'"{file.mark}{"-gzip" if is_small else ""}"'
            headers = {
                "Content-Type": file.type,
                "ETag": mark,
                "Cache-Control": "public, max-age=31536000, immutable" if file.is_kept else "no-cache",
                "Content-Security-Policy": _policy(file),
            }
            if file.may_be_small:
                headers["Vary"] = "Accept-Encoding"
            if self._has_it(mark):
                self._begin(HTTPStatus.NOT_MODIFIED, headers)
                self._server.count(1, 0)
                return
            if is_small:
                content = file.small()
                self._begin(HTTPStatus.OK, headers | {"Content-Encoding": "gzip", "Content-Length": str(len(content))})
                self._hand_out(content[at : at + _PIECE] for at in range(0, len(content), _PIECE))
            else:
                with file.path.open("rb") as opened:
                    self._begin(HTTPStatus.OK, headers | {"Content-Length": str(file.size)})
                    self._hand_out(_pieces(opened, file.size))
        except FileNotFoundError:  # the site is being made anew
            self._refuse(HTTPStatus.NOT_FOUND)
        except (ConnectionError, TimeoutError):
            raise
        except OSError as problem:
            self._server.problem(f"{file.path}: this can't be read ({in_its_words(problem)})")
            self._refuse(HTTPStatus.INTERNAL_SERVER_ERROR)

    def _takes_gzip(self) -> bool:
        said = ",".join(self.headers.get_all("Accept-Encoding", []))
        return any(
            re.fullmatch(r"\s*gzip\s*(;\s*q\s*=\s*(1|0?\.\d*[1-9]\d*|1\.0*)\s*)?", one) for one in said.split(",")
        )

    def _has_it(self, mark: str) -> bool:
        said = ",".join(self.headers.get_all("If-None-Match", []))
        return any(one.strip().removeprefix("W/") in (mark, "*") for one in said.split(",")) if said else False

    def _hand_out(self, pieces: Iterator[bytes]) -> None:
        """Send a file piece by piece, so that one who stops taking is let go, and one who takes slowly is not."""
        if self.command == "HEAD":
            return
        sent = 0
        try:
            for piece in pieces:
                self.connection.settimeout(_PIECE_S)
                self.connection.sendall(piece)
                sent += len(piece)
        except OSError:
            self.close_connection = True  # half a file went out; only the end of the line can say so now
        finally:
            self._server.count(1, sent)

    def _begin(self, status: HTTPStatus, headers: dict[str, str]) -> None:
        self.connection.settimeout(_PIECE_S)
        self.send_response(status)
        always = {"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer"}
        for name, value in (always | headers).items():
            self.send_header(name, value)
        if self.close_connection:
            self.send_header("Connection", "close")
        self.end_headers()

    def _send(self, status: HTTPStatus, content: bytes, headers: dict[str, str] | None = None) -> None:
        self._begin(
            status,
            {
                "Content-Type": "text/html; charset=utf-8",
                "Cache-Control": "no-store",
                "Content-Length": str(len(content)),
                "Content-Security-Policy": _OF_OTHERS,
                **(headers or {}),
            },
        )
        self._hand_out(iter([content]))

    def _refuse(self, status: HTTPStatus, close: bool = True) -> None:
        self.close_connection = self.close_connection or close
        allow = {"Allow": "GET, HEAD"} if status is HTTPStatus.METHOD_NOT_ALLOWED else {}
        title = "There is nothing here" if status is HTTPStatus.NOT_FOUND else status.phrase
        self._send(status, page_of_nothing(title).encode(), headers=allow)

    def send_error(self, code: int, message: str | None = None, explain: str | None = None) -> None:
        """What parse_request() says of a request that is none."""
        self._refuse(HTTPStatus(code))

    def handle_expect_100(self) -> bool:
        """Nothing is taken in, so nobody is asked to go on."""
        return True

    def version_string(self) -> str:
        """Who answers, and not by which edition of Python."""
        return "gearcalc"

    def log_message(self, format: str, *args: Any) -> None:
        """Who reads what is nobody's business."""


class _RefusedError(Exception):
    """A request that can't be read to its end."""

    def __init__(self, status: HTTPStatus) -> None:
        self.status = status


def _policy(file: SiteFile) -> str:
    """What a page, or a script that runs in a worker, may load and run; anything else may do nothing."""
    if file.type.startswith("text/html"):
        return _OF_PAGE
    return _OF_WORKER if file.type.startswith("text/javascript") else _OF_OTHERS


def _pieces(file: Any, size: int) -> Iterator[bytes]:
    """A file's content in pieces, as many bytes as were told; an error where it has fewer now."""
    left = size
    while left:
        piece = file.read(min(_PIECE, left))
        if not piece:
            raise ConnectionAbortedError("the file has become shorter")
        left -= len(piece)
        yield piece
