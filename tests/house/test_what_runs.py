"""What could run a text of somebody's: no file of the package calls it, but for those that are named here, with why."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

from tests.house.test_house import PACKAGE, files, parsed
from tests.how_much import in_one

RUNS_A_TEXT = {"eval", "exec", "execfile", "sympify", "parse_expr", "lambdify", "system", "popen", "literal_eval", "S"}
READS_MORE_THAN_DATA = {"pickle", "marshal", "shelve", "yaml", "dill", "joblib", "xmlrpc", "telnetlib"}
UNPACKS_BY_NAME = {"extractall", "unpack_archive"}
MAY = {
    ("teaching/marking.py", "pickle"): "between this process and one that it began itself",
    ("teaching/own_exercises.py", "exec_module"): "a file that the instructor names, as an import does",
}


def called(path: Path) -> Iterator[tuple[str, ast.Call]]:
    for node in ast.walk(parsed(path)):
        if isinstance(node, ast.Call):
            name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            yield name, node


def imported(path: Path) -> Iterator[str]:
    for node in ast.walk(parsed(path)):
        if isinstance(node, ast.Import):
            yield from (name.name.partition(".")[0] for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield (node.module or "").partition(".")[0]


def place(path: Path) -> str:
    return path.relative_to(PACKAGE).as_posix()


@in_one("path", list(files()))
class TestEveryFile:
    def test_runs_no_text(self, path):
        wrong = RUNS_A_TEXT | UNPACKS_BY_NAME | {"exec_module"}
        assert {name for name, _ in called(path)} & wrong <= {name for where, name in MAY if where == place(path)}

    def test_reads_nothing_that_says_what_to_run(self, path):
        assert set(imported(path)) & READS_MORE_THAN_DATA <= {name for where, name in MAY if where == place(path)}

    def test_asks_no_shell(self, path):
        for _, call in called(path):
            shell = [word.value for word in call.keywords if word.arg == "shell"]
            assert not shell

    def test_begins_no_python_that_looks_into_the_folder_that_one_works_in_first(self, path):
        """-P: a file called json.py there, of whoever shares the folder, is not Python's own."""
        for node in ast.walk(parsed(path)):
            if isinstance(node, ast.List) and node.elts and ast.unparse(node.elts[0]) == "sys.executable":
                assert ast.unparse(node.elts[1]) in ("'-P'", "'-I'"), ast.unparse(node)


def test_those_that_may_are_there():
    assert {where for where, _ in MAY} <= {place(path) for path in files()}
