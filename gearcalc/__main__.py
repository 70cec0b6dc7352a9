"""`python -m gearcalc`, and the command that pip installs: see gearcalc.commands."""

import os
import signal
import sys
from contextlib import suppress
from typing import NoReturn

_FAILED, _INTERRUPTED = 4, 130


def run() -> None:
    """Run the command that Python was started with, and end with its exit code.

    Ctrl-C is answered in a line from the start, while the package is read too. An error that is not ours keeps its
    traceback, for a report, and an exit code that is no answer's.
    """
    heard = signal.getsignal(signal.SIGINT)
    if heard is signal.default_int_handler:  # else it is ignored, as by what a shell runs in the background
        signal.signal(signal.SIGINT, _stop)
    try:
        from gearcalc.commands import main

        signal.signal(signal.SIGINT, heard)
        code = main()
    except Exception:
        sys.excepthook(*sys.exc_info())
        code = _FAILED
    if heard is signal.default_int_handler:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # all is said: while Python ends there is nothing to stop
    sys.exit(code)


def _stop(*_: object) -> NoReturn:
    """End at once: an exception in the middle of reading a module may be taken for another, or for none."""
    with suppress(OSError):
        os.write(2, b"gearcalc: stopped, before there was an answer.\n")
    os._exit(_INTERRUPTED)


if __name__ == "__main__":
    run()
