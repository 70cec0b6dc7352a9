"""The package's own files, and files as a class and a learner make them: what slips are put into."""

from __future__ import annotations

import json
from functools import cache

from gearcalc import demo_lathe, exercise_names
from gearcalc.basics.files import data_folder, notebooks_folder
from tests.fuzzing.mutations import Draw, mutated_bytes
from tests.fuzzing.values import a_name, a_text, some
from tests.teaching.invented_class import NAMES, answers, go


@cache
def lathe_files() -> tuple[bytes, ...]:
    """The demo lathes as they lie there, the example, some lathes out of the strategies."""
    ours = [*sorted((data_folder() / "lathes").glob("*.toml")), data_folder() / "example_lathe.toml"]
    return (*(path.read_bytes() for path in ours), *(lathe.to_toml().encode() for lathe in some("lathes")[:20]))


@cache
def notebooks() -> tuple[bytes, ...]:
    """A lesson, and a notebook with answers in its cells."""
    cells = [
        "CLASS = 7",
        "a = Fraction(127, 40)",
        'exercise("lead-of-a-leadscrew", CLASS).check(a)',
        "%matplotlib inline",
    ]
    own = {
        "cells": [
            {"cell_type": "markdown", "id": "a", "metadata": {}, "source": ["# Own lesson\n", "A *word* of $x$."]},
            *({"cell_type": "code", "id": f"b{n}", "metadata": {}, "execution_count": None, "outputs": [],
            "source": cell} for n, cell in enumerate(cells)),
        ],
        "metadata": {"kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"}},
        "nbformat": 4, "nbformat_minor": 5,
    }  # fmt: skip
    small = json.dumps(own).encode()
    return small, small, small, min((path.read_bytes() for path in notebooks_folder().glob("*.ipynb")), key=len)


def an_answers_file(r: Draw) -> bytes:
    """What a learner has typed, some of it hostile, before slips are put into the file."""
    number = r.choice((7, 1, 24) if not r.goes_wrong else (0, 10**6, -1, "7", None))
    typed = {
        r.choice((*exercise_names(r.randint(1, 12)), "no-such-exercise", a_name(r))): [
            go(7, a_text(r)[:500], r.choice((1, 3, 0, -1, 10**7))) for _ in range(r.choice((1, 1, 2)))
        ]
        for _ in range(r.randint(0, 4))
    }
    name = a_name(r) if r.goes_wrong else r.choice(NAMES)
    return json.dumps(answers(number, name, typed)).encode()  # type: ignore[arg-type]


def a_class_list(r: Draw) -> bytes:
    head = r.choice(("number,name\n", "", "Nr;Vorname;Name\n", "name\tnumber\n"))
    parting = ";" if ";" in head else "\t" if "\t" in head else ","
    rows = [
        f"{r.randint(0, 9) if r.goes_wrong else n}{parting}{a_name(r) if r.goes_wrong else r.choice(NAMES)}"
        for n in range(1, r.randint(1, 7))
    ]
    return (head + "\n".join(rows)).encode("utf-8", "surrogatepass")


def a_file(r: Draw, kind: str) -> bytes:
    """A file of that kind, mostly with slips in it."""
    content = {
        "lathe": lambda: r.choice(lathe_files()),
        "notebook": lambda: r.choice(notebooks()),
        "answers": lambda: an_answers_file(r),
        "class": lambda: a_class_list(r),
        "lathe of ours": lambda: demo_lathe("inch").to_toml().encode(),
    }[kind]()
    return mutated_bytes(r, content) if r.goes_wrong or r.goes_wrong else content
