"""What is said while a command works for longer than a second: to whoever looks on, never into a pipe or a file."""

from __future__ import annotations

import shutil
import threading
import time
from collections.abc import Iterable, Iterator, Sized
from types import TracebackType
from typing import Any, TextIO

from gearcalc.basics import writing

_SOON_S, _LONG_S = 1.0, 4.0
"""After so long it says that it is at work, and after so long how the answer could be had sooner."""


class Patience:
    """A line on a terminal that says what is being done and for how long; it is gone before anything else is said.

    `stream`: the error stream; nothing is said where that is no terminal. `sooner`: how to be served sooner.
    """

    def __init__(self, stream: TextIO | None, sooner: str = "") -> None:
        self.stream, self.sooner, self.doing = stream, sooner, "at work"
        self._over, self._said = threading.Event(), 0
        self._teller: threading.Thread | None = None

    def __enter__(self) -> Patience:
        if self.stream is not None and self.stream.isatty():
            self._teller = threading.Thread(target=self._tell, args=(time.monotonic(),), daemon=True)
            self._teller.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, problem: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.end()

    def end(self) -> None:
        """Say no more, and take the line away."""
        if self._teller is None:
            return
        self._over.set()
        self._teller.join()
        self._teller = None
        self._write("")

    def shown(self, steps: Iterable[Any], doing: str) -> Iterator[Any]:
        """Hand the steps of a long search on, and say how far it has got.

        >>> list(Patience(None).shown([1, 2], "Counting"))
        [1, 2]
        """
        words = doing[:1].lower() + doing[1:]
        many = f" of {len(steps)}" if isinstance(steps, Sized) else ""
        for number, step in enumerate(steps, 1):
            self.doing = f"{words}, {number}{many}"
            yield step
        self.doing = "at work"

    def _tell(self, since: float) -> None:
        while not self._over.wait(_SOON_S):
            time_s = time.monotonic() - since
            sooner = f" {self.sooner}" if self.sooner and time_s > _LONG_S else ""
            self._write(f"gearcalc: {self.doing}, {writing.decimal(time_s, 0)} s. Ctrl-C stops it.{sooner}")

    def _write(self, line: str) -> None:
        """The line in place of the last one, cut off where the terminal ends."""
        assert self.stream is not None
        line = line[: max(10, shutil.get_terminal_size().columns - 1)]
        try:
            self.stream.write(f"\r{line:{self._said}}" + ("" if line else "\r"))
            self.stream.flush()
        except OSError:  # the terminal is gone; the answer may still have somewhere to go
            self._over.set()
        self._said = len(line)
