"""An extension of Jupyter's server: it says where the lessons are open, in one line, once they are."""

from __future__ import annotations

import sys
from typing import Any


def _load_jupyter_server_extension(server: Any) -> None:
    """Jupyter's server calls this while it gets ready; what is added here runs behind what it has added itself."""
    server.io_loop.add_callback(server.io_loop.add_callback, _say, server)


def _say(server: Any) -> None:
    print(f"Ctrl-C twice closes them. The lessons are open at {server.public_url}", file=sys.stderr, flush=True)
