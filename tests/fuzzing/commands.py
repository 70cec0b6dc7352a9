"""The doors of the commands: each through `main([...])`, with its options as its parser lists them."""

from __future__ import annotations

import argparse
import shlex
import sys
from collections.abc import Callable, Iterator
from io import StringIO
from pathlib import Path

from gearcalc.commands import main
from tests.commands.test_options import parsers
from tests.fuzzing.doors import Asked, Door
from tests.fuzzing.functions import what_was_written
from tests.fuzzing.judging import Said, without_isolates
from tests.fuzzing.mutations import Draw, mutated
from tests.fuzzing.readers import a_class_folder
from tests.fuzzing.real_files import a_file
from tests.fuzzing.values import a_name, a_place, a_text, a_thread_text, a_train, some

OUR_CODES = {0, 1, 2, 3, 130, 141}
SECONDS = {"plan": 10, "add": 10, "coverage": 5, "chart": 3, "worksheet": 8, "handout": 10, "marks": 5, "lessons": 3}
SECONDS |= {"faults": 3, "card": 3, "cuts": 5}
"""Searches as their benchmarks; what writes PDF by matplotlib; what copies, runs or marks lessons."""
SHARES = {
    "handout": 0.02,
    "supplies": 0.15,
    "marks": 0.1,
    "lessons": 0.3,
    **dict.fromkeys(("web", "serve", "hub", "worksheet", "plan"), 0.5),
}
MAY = {name: frozenset({"ask"}) for name in ("lessons", "serve", "hub", "web")}
MAY |= {name: frozenset({"start", "local"}) for name in ("marks", "handout")}
"""What serves is stopped where it begins to; marks and handouts are made in processes beside."""


def commands() -> Iterator[Door]:
    for name in parsers():
        yield Door(
            f"command {name}",
            _run(name),
            seconds=SECONDS.get(name, 1),
            share=SHARES.get(name, 1),
            may=MAY.get(name, frozenset()),
        )
    yield Door("command", _no_command, share=0.3)


def _run(name: str) -> Callable[[Draw, int, Path], Asked]:
    def draw(r: Draw, number: int, folder: Path) -> Asked:
        words = _a_right_line(r, name, folder) if r.random() < 0.6 else _arguments(r, parsers()[name], folder)
        return _asked([name, *words], folder)

    return draw


def _no_command(r: Draw, number: int, folder: Path) -> Asked:
    words = [
        r.choice(("--version", "--help", a_text(r), a_name(r), mutated(r, "find"), "inch"))
        for _ in range(r.randint(0, 3))
    ]
    return _asked(words, folder)


def _asked(arguments: list[str], folder: Path) -> Asked:
    def ask() -> Iterator[Said]:
        code = main(arguments)
        assert code in OUR_CODES, f"exit code {code}"
        out, err = sys.stdout, sys.stderr
        assert isinstance(out, StringIO)
        assert isinstance(err, StringIO)
        said, complained = out.getvalue(), err.getvalue()
        assert "Traceback" not in complained, complained[-300:]
        if code == 2:
            assert complained.startswith("gearcalc: "), f"exit code 2 without words: {complained[:100]!r}"
        yield Said("text", without_isolates(said))
        yield Said("refusal" if code == 2 else "text", complained.rstrip("\n"))
        if "--json" in arguments and said.startswith("{"):
            yield Said("json", said)
        yield from what_was_written(folder, ".csv", "csv")
        for ending in (".html", ".htm"):
            yield from what_was_written(folder, ending, "html")
        yield from what_was_written(folder, ".svg", "svg")

    return Asked(f"main({arguments!r:.600})", ask)


RIGHT_LINES: dict[str, tuple[str, ...]] = {
    "lathe": (
        "new mine.toml", "new", "--name 'Shed lathe' --leadscrew '8 tpi' --gears '20 30 40 60 80'",
        "--module 1", "--lever 'low 1/2' --lever 'high 1'", "--no-reverse", "--units inch", "--paper A3", "--hand left",
    ),
    "check": ("LATHE", "--within-ppm any", "--units mm"),
    "bracket": (
        "inch 40/80 --lever middle", "inch '(40 30)/(80 60)' --lever low", "--save SVG", "--keep-order", "--avoid 20",
        "--mounted 40/80",
    ),
    "lessons": ("mine --no-open", "mine --as-it-is"),
    "find": (
        "LATHE THREAD", "LATHE FEED --feed", "--count 3", "--first nearest", "--meshes 1,2", "--within-ppm any",
        "--mounted 40/80", "--units mm", "--avoid 20",
    ),
    "cuts": (
        "inch 40/80 --lever middle", "inch '(40 30)/(80 60)'", "inch 40/80 --lever low --idlers 60",
        "inch 40/80 --wanted THREAD", "LATHE", "--within-ppm any", "--units mm",
        "inch 40/80 --wanted THREAD --engagement 12",
    ),
    "add": ("LATHE THREAD --most 1 --meshes 1", "LATHE M6 --most 1 --meshes 1", "--within-ppm 500", "--units inch"),
    "coverage": ("LATHE 1 2 --meshes 1", "LATHE '24 tpi' '20 tpi'", "--units mm", "--avoid 20"),
    "chart": (
        "LATHE THREAD THREAD", "LATHE UNC", "--within-ppm any", "--meshes 1,2", "--save CSV", "--units inch",
        "--save PDF --paper A3", "--save SVG",
    ),
    "plan": ("LATHE THREAD THREAD", "inch M6 '16 tpi' --mounted 40/80", "--keep-order", "--effort 1", "--units mm"),
    "card": (
        "LATHE THREAD", "inch '16 tpi' --train 40/80 --lever middle", "LATHE FEED", "--mounted 40/80", "--save HTML",
        "--save TXT", "--save PDF --paper Letter", "--units mm",
    ),
    "dial": ("LATHE THREAD", "inch '16 tpi' --train 40/80 --lever middle", "metric '1.5 mm'", "--units mm"),
    "feeds": ("LATHE FEED", "LATHE", "inch FEED --mounted 40/80", "--within-ppm any", "--units inch", "--avoid 20"),
    "proof": (
        "THREAD --turns 10 --length 12.6 --uncertainty 0.25",
        "'20 tpi' --turns 10 --length 19.8 --uncertainty 0.1 --lathe inch --train 40/50 --lever low",
        "--hand left", "--units inch",
    ),
    "faults": ("noisy", "wrong lead", "chatter", "--save HTML", "--save TXT", "--save PDF --paper A3"),
    "exercises": ("3", "", "12"),
    "worksheet": (
        "01 --class 1 --save PDF", "lead-of-a-leadscrew --class LIST --key KEY",
        "lead-of-a-leadscrew --class 7 --count 2",
        "--test spring", "--points 2", "--space 20", "--two-sided", "--title Gears", "--key-by problem",
    ),
    "handout": ("01 --save HTML", "OWN --save HTML", "--class 7", "--without-code"),
    "marks": ("FOLDER", "FOLDER --class LIST", "FOLDER --class 1-8", "--save CSV", "--save HTML"),
    "web": ("new", "new --lessons 01-02", "--lathe inch"),
    "serve": ("FOLDER", "FOLDER --lan", "--port 8123"),
    "hub": ("FOLDER", "FOLDER --one-account", "--learners 5", "--memory-mb 512", "--port 8123"),
    "supplies": ("", "--save CSV"),
}  # fmt: skip
"""Of each command lines that it can answer, and what may stand behind most of them; a word in capitals is drawn."""


def _a_right_line(r: Draw, name: str, folder: Path) -> list[str]:
    """Options that belong together, with a slip in one word where this input goes wrong."""
    lines = RIGHT_LINES[name]
    more = [line for line in lines if line.startswith("--")]
    chosen = r.choice([line for line in lines if line not in more])
    chosen += "".join(f" {line}" for line in r.sample(more, min(len(more), r.choice((0, 0, 1, 1, 2)))))
    words = [_DRAWN[word](r, folder) if word in _DRAWN else word for word in shlex.split(chosen)]
    if words and r.goes_wrong:
        at = r.randrange(len(words))
        words[at] = r.choice((mutated(r, words[at]), _a_text(r))).lstrip("/")
    return [*words, "--json"] if r.random() < 0.3 else words


def _arguments(r: Draw, parser: argparse.ArgumentParser, folder: Path) -> list[str]:
    words: list[str] = []
    for action in parser._actions:
        if action.dest in ("help", "help_json") and r.random() > 0.01:
            continue
        values = _values(r, action, folder)
        if not action.option_strings:
            words += values if r.random() < 0.98 else []
        elif action.required or r.random() < (0.25 if action.dest != "json" else 0.4):
            option = action.option_strings[0]
            if r.goes_wrong and r.random() < 0.1:
                option = mutated(r, option)
            words += [option, *values] if r.random() < 0.9 or not values else [f"{option}={values[0]}"]
    if r.goes_wrong and r.random() < 0.2:
        words.insert(r.randint(0, len(words)), _a_text(r))
        r.shuffle(words)
    return words


def _values(r: Draw, action: argparse.Action, folder: Path) -> list[str]:
    if action.nargs == 0:
        return []
    several = {"+": r.choice((1, 1, 2, 4, 0)), "*": r.choice((0, 1, 1, 3)), "?": r.choice((0, 1, 1))}.get(
        str(action.nargs), 1
    )
    return [_value(r, action, folder) for _ in range(several)]


def _value(r: Draw, action: argparse.Action, folder: Path) -> str:
    wrong = r.goes_wrong
    if wrong and r.random() < 0.3:
        return _a_text(r)
    right = (
        _RIGHT_WORDS.get(action.dest, ("1", "2", "7", "12", "0.5"))
        if action.choices is None
        else tuple(map(str, action.choices))
    )
    draw = _BY_NAME.get(action.dest)
    if draw is not None:
        return draw(r, folder)
    word = r.choice(right)
    return r.choice((a_name(r), mutated(r, word), str(r.choice(some("numbers"))))) if wrong else word


def _a_text(r: Draw) -> str:
    """What may be typed, but for a place at the top of the disk: what is told to go there goes there."""
    return a_text(r).lstrip("/")


def _a_lathe(r: Draw, folder: Path) -> str:
    if r.random() < 0.5:
        return mutated(r, "metric") if r.goes_wrong else r.choice(("inch", "metric", "odd"))
    if r.goes_wrong and r.random() < 0.2:
        return _as_word(a_place(r, folder, ".toml"))
    (folder / "lathe.toml").write_bytes(a_file(r, r.choice(("lathe", "lathe of ours"))))
    return r.choice(("lathe.toml", str(folder / "lathe.toml")))


def _threads(r: Draw, folder: Path) -> str:
    return a_thread_text(r)


def _train(r: Draw, folder: Path) -> str:
    return (
        _as_word(a_train(r))
        if r.random() < 0.5
        else r.choice(("40/80", "(40 30)/(80 60)", "24/48", mutated(r, "40/80")))
    )


def _out(*endings: str) -> Callable[[Draw, Path], str]:
    return lambda r, folder: _as_word(a_place(r, folder, r.choice(endings)))


def _learners(r: Draw, folder: Path) -> str:
    if r.random() < 0.5:
        return mutated(r, "1-3") if r.goes_wrong else r.choice(("1", "1-2", "7, 8"))
    (folder / "list.csv").write_bytes(a_file(r, "class"))
    return "list.csv"


def _own(r: Draw, folder: Path) -> str:
    """A file of one's own is run, so what stands in it is harmless whatever is lost of it."""
    name = f"own_{r.randint(0, 10**9)}.py"
    (folder / name).write_text(
        r.choice(("", "raise ValueError('<zq>\\x1b[31m')", "1 +", "import no_such_module", "\x00", "x = [1, 2]\n")),
        encoding="utf-8",
    )
    return name if r.random() < 0.7 else _as_word(a_place(r, folder, ".py"))


def _folder(r: Draw, folder: Path) -> str:
    if not r.goes_wrong:
        return str(a_class_folder(r, folder))
    return r.choice((lambda: ".", lambda: "new", lambda: a_name(r), lambda: _as_word(a_place(r, folder, ""))))()


def _lesson(r: Draw, folder: Path) -> str:
    if r.random() < 0.2:
        return _a_notebook(r, folder)
    return r.choice((mutated(r, "01"), "99", "03-01", a_name(r), "1", "none.ipynb", mutated(r, "1-3")))


def _some_exercises(r: Draw, folder: Path) -> str:
    return r.choice(
        ("01", "lead-of-a-leadscrew", mutated(r, "lead-of-a-leadscrew"), "13", a_name(r), mutated(r, "1-2"))
    )


def _as_word(given: object) -> str:
    return given if type(given) is str else str(given) if isinstance(given, Path) else "24/48"


def _a_notebook(r: Draw, folder: Path) -> str:
    (folder / "own.ipynb").write_bytes(a_file(r, "notebook"))
    return "own.ipynb"


def _a_class_list(r: Draw, folder: Path) -> str:
    (folder / "list.csv").write_text("number,name\n1,Ada\n2,漢字\n", encoding="utf-8")
    return "list.csv"


_DRAWN: dict[str, Callable[[Draw, Path], str]] = {
    "LATHE": lambda r, folder: r.choice(("inch", "metric", "odd", "inch", _a_lathe(r, folder))),
    "THREAD": lambda r, folder: str(r.choice(some("threads"))),
    "FEED": lambda r, folder: r.choice(("0.1 mm/rev", "5 thou cross", str(r.choice(some("feeds"))))),
    "OWN": _a_notebook,
    "FOLDER": lambda r, folder: str(a_class_folder(r, folder)),
    "LIST": _a_class_list,
    **{kind.upper(): lambda r, folder, kind=kind: f"new.{kind}" for kind in ("svg", "csv", "pdf", "html", "txt")},
    "KEY": lambda r, folder: "there.pdf",
}

_BY_NAME: dict[str, Callable[[Draw, Path], str]] = {
    "lathe": _a_lathe,
    **dict.fromkeys(("wanted", "threads", "jobs", "feeds", "leadscrew"), _threads),
    **dict.fromkeys(("train", "mounted"), _train),
    "save": _out(".csv", ".html", ".pdf", ".svg", ".txt", ".toml"),
    "key": _out(".pdf"),
    "where": _out(".html", ".pdf", ""),
    "file": _out(".toml"),
    "learners": _learners,
    "own": _own,
    "folder": _folder,
    "lessons": _lesson,
    "exercises": _some_exercises,
    "password_file": _out(".txt"),
    "settings": _own,
    "parts": lambda r, folder: "parts",
    "pyodide": _folder,
}
_RIGHT_WORDS = {
    "lever": ("low", "middle", "high", "range fast, cone A"), "name": ("Shed lathe", "漢字"), "title": ("Gears",
    "漢字"),
    "symptom": ("noisy", "chatter"), "units": ("inch", "mm"), "paper": ("A4", "A3", "Letter"), "first": ("simplest",
    "nearest"),
    "gears": ("20 30 40 60", "20,40,127"), "avoid": ("20", "20,40"), "meshes": ("1", "2", "1,2"), "idlers": ("60",
    "25"),
    "within_ppm": ("any", "good enough", "0", "200"), "most": ("1",), "length": ("25.4", "1 in", "12.7 mm"),
    "points": ("2", "1,2"),
    "start": ("0.5", "1"), "end": ("1.5", "2"), "lesson": ("3",), "count": ("1", "2"), "space": ("0", "20"),
    "levers": ("low 1/2 high 1",),
}  # fmt: skip
"""What each is by the name of its attribute; all others are numbers."""
