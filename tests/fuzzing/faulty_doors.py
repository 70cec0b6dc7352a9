"""Doors with a fault planted behind each, to see that it is told: a fuzzer that can't fail is worth nothing."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from gearcalc.basics.errors import GearcalcError
from tests.fuzzing.doors import Asked, Door
from tests.fuzzing.judging import Said
from tests.fuzzing.mutations import Draw


def _busy(seconds: float) -> None:
    began = time.process_time()
    while time.process_time() - began < seconds:
        pass


def _raises() -> Iterator[Said]:
    raise ValueError("not one of ours")


def _refuses() -> Iterator[Said]:
    raise GearcalcError("this is no thread", remedy="Write it like 'M6'.")


def _refuses_at_length() -> Iterator[Said]:
    raise GearcalcError("x" * 3000)


def _says(kind: str, text: str) -> Callable[[], Iterator[Said]]:
    return lambda: iter([Said(kind, text)])


def _does(what: Callable[[], object]) -> Callable[[], Iterator[Said]]:
    def ask() -> Iterator[Said]:
        what()
        yield Said("text", "done")

    return ask


def _writes_outside() -> None:
    Path(__file__).with_name("written_outside.txt").write_text("x")


def _writes_through_a_link() -> None:
    Path("link.txt").symlink_to(Path(__file__).with_name("written_outside.txt"))
    Path("link.txt").write_text("x")


def _asks_the_network() -> None:
    with socket.socket() as asked:
        asked.connect(("127.0.0.1", 9))


def _busy_beside() -> None:
    subprocess.run([sys.executable, "-c", "import time\nwhile time.process_time() < 0.5: pass"], check=True)


FAULTS: dict[str, tuple[Callable[[], Iterator[Said]], str]] = {
    "answers": (_says("html", "<b>&lt;zq&gt;</b>"), ""),
    "refuses": (_refuses, ""),
    "writes inside": (_does(lambda: Path("mine.txt").write_text("x")), ""),
    "raises": (_raises, "ValueError: not one of ours"),
    "refuses at length": (_refuses_at_length, "a refusal of"),
    "is slow": (_does(lambda: _busy(0.4)), "it takes"),
    "is slow beside": (_does(_busy_beside), "it takes"),
    "hangs": (_does(lambda: _busy(3600)), "it hangs"),
    "is large": (_does(lambda: bytearray(b"x") * (80 << 20)), "it takes"),
    "is too large": (_does(lambda: bytearray(b"x") * (4 << 30)), "MemoryError"),
    "dies": (_does(lambda: os.abort()), "the process was ended"),
    "script": (_says("html", "<p><script>zq()</script></p>"), "script with 'zq()'"),
    "tag": (_says("html", "<p title='x'><zq></p>"), "a tag of somebody's own"),
    "handler": (_says("svg", '<svg><rect fill="" onmouseover="zq()"/></svg>'), "onmouseover"),
    "broken picture": (_says("svg", "<svg><rect></svg>"), "SVG that is no XML"),
    "mathematics": (_says("html", "<p>$zq$</p>"), "mathematics"),
    "terminal": (_says("text", "a\x1b[31mzq"), "text that a terminal obeys"),
    "right to left": (_says("text", "a\u202ezq"), "text that a terminal obeys"),
    "formula": (_says("csv", "thread,note\nM6,=zq()\n"), "a formula in csv"),
    "no json": (_says("json", "{'a': 1}"), "JSON that can't be read"),
    "writes outside": (_does(_writes_outside), "it would open"),
    "writes through a link": (_does(_writes_through_a_link), "it would open"),
    "removes": (_does(lambda: os.remove(Path(__file__).with_name("not_there.txt"))), "it would os.remove"),
    "network": (_does(_asks_the_network), "it would socket.connect"),
    "starts": (_does(lambda: os.system("true")), "it would os.system"),
}
"""What is planted, and what is to be told; nothing, where nothing is wrong."""


def _door(name: str) -> Door:
    def draw(r: Draw, number: int, folder: Path) -> Asked:
        return Asked(name, FAULTS[name][0])

    may = frozenset({"start"}) if name == "is slow beside" else frozenset[str]()
    return Door(name, draw, seconds=0.1, megabytes=50, may=may)


DOORS = [_door(name) for name in FAULTS]
