"""`python -m gearcalc`, and the command that pip installs: see gearcalc.commands."""

import signal
import sys

_FAILED = 4


def run() -> None:
    """Run the command that Python was started with, and end with its exit code.

    Ctrl-C is quiet from the start: while the package is read, the system's own way of ending is best. An error that
    is not ours keeps its traceback, for a report, and an exit code that is no answer's.
    """
    heard = signal.getsignal(signal.SIGINT)
    if heard is signal.default_int_handler:  # else it is ignored, as by what a shell runs in the background
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    try:
        from gearcalc.commands import main

        signal.signal(signal.SIGINT, heard)
        code = main()
    except Exception:
        sys.excepthook(*sys.exc_info())
        code = _FAILED
    sys.exit(code)


if __name__ == "__main__":
    run()
