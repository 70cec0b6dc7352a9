"""The run of mutants on a tiny package: one change that its tests notice, one that they can't, and nothing touched."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from tests.how_much import in_one
from tests.mutants import CORE, EQUIVALENT, Mutant, chosen, equivalents, evenly, main, mutants, nearest_tests

FILES = {
    "tiny/__init__.py": "from tiny.rooms import halve\n",
    "tiny/__init__.pyi": "from .rooms import halve as halve\n",
    "tiny/rooms/__init__.py": "from tiny.rooms.halves import halve\n",
    "tiny/rooms/halves.py": "def halve(teeth):\n    return teeth / 2\n",
    "tiny/sizes.py": "def large(teeth: int) -> bool:\n    return teeth > LIMIT\n\n\nLIMIT = int('60')\n",
    "tests/test_b.py": "import tiny\n\n\ndef test_it():\n    assert tiny.halve(80) == 40\n",
    "tests/test_a.py": "from tiny.sizes import large\n\n\ndef test_it():\n    assert large(80) is not large(20)\n",
}


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    for name, text in FILES.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    return tmp_path


def changes(text: str, folder: Path) -> list[str]:
    (folder / "one.py").write_text(text)
    return [mutant.change for mutant in mutants(Path("one.py"), folder)]


class TestMutants:
    @in_one(
        ("text", "expected"),
        [
            ("x = a < b", ["a < b  →  a <= b"]),
            ("x = a and not b", ["a and (not b)  →  a or not b", "a and (not b)  →  a and b"]),
            ("x = min(a, b) + c", ["min(a, b) + c  →  max(a, b) + c", "min(a, b) + c  →  min(a, b) - c"]),
            ("x = f(7)", ["f(7)  →  f(8)", "f(7)  →  f(6)"]),
            ("f = lambda a=True: a", ["lambda a=True: a  →  lambda a=False: a"]),
            ("def f(a: 3) -> 4:\n    return a", ["return a  →  return None"]),
            ("f(a)\nx += y", ["f(a)  →  pass", "x += y  →  pass"]),
            ("raise ValueError(f'{a + 1}')", ["raise ValueError(f'{a + 1}')  →  pass"]),
            ("_KEPT = 7", []),
            ("for a in zip(b, c, strict=True): pass", []),
            ("__all__ = ['a' + 'b']\n@f(1)\ndef f() -> 3: return None", []),
        ],
    )
    def test_by_hand(self, text, expected, tmp_path):
        assert sorted(changes(text, tmp_path)) == sorted(expected)

    def test_each_differs_from_the_file_and_from_the_others(self, tiny):
        path = Path("tiny/sizes.py")
        sources = [mutant.source(tiny) for mutant in mutants(path, tiny)]
        assert len(set(sources)) == len(sources) == 2
        assert ast.unparse(ast.parse((tiny / path).read_text())) not in sources

    def test_a_sample_is_spread_and_the_seed_decides(self):
        those = [Mutant(Path("a.py"), line, "", "", line, 0) for line in range(100)]
        lines = [mutant.line for mutant in evenly(those, 10, 4)]
        assert [line // 10 for line in lines] == list(range(10))
        assert lines == [mutant.line for mutant in evenly(those, 10, 4)]
        assert len({tuple(evenly(those, 10, seed)) for seed in range(9)}) > 1
        assert evenly(those, 1000, 4) == those


class TestTheRun:
    def test_a_list_tries_nothing(self, tiny, capsys):
        assert main(["--file", "tiny/rooms/halves.py", "--list"], tiny, "tiny") == []
        assert "teeth / 2  →  teeth * 2" in capsys.readouterr().out

    def test_the_nearest_tests_are_found_by_their_imports(self, tiny):
        found = nearest_tests(tiny, "tiny")
        assert found[Path("tiny/rooms/halves.py")] == [Path("tests/test_b.py")]
        assert found[Path("tiny/sizes.py")] == [Path("tests/test_a.py")]

    def test_those_named_for_the_file_and_its_room_come_first(self, tiny):
        (tiny / "tests/rooms").mkdir()
        for name in ("rooms/test_all.py", "rooms/test_halves.py"):
            (tiny / "tests" / name).write_text("from tiny import sizes\nfrom tiny.rooms import halve\n")
        found = nearest_tests(tiny, "tiny")[Path("tiny/rooms/halves.py")]
        assert [path.stem for path in found] == ["test_halves", "test_all", "test_b"]

    def test_one_is_killed_and_one_survives(self, tiny, capsys):
        assert main(["--file", "tiny/sizes.py"], tiny, "tiny") == ["killed", "survived"]
        said = capsys.readouterr()
        assert "killed: tiny/sizes.py:2: large: return teeth > LIMIT  →  return None" in said.err
        assert "tests/test_a.py::test_it" in said.err
        table, _, survivors = said.out.partition("survived:")
        assert table.splitlines()[-2].split() == ["all", "2", "1", "1", "50%"]
        assert survivors.split("\n  ")[1:] == ["tiny/sizes.py:2: large: teeth > LIMIT  →  teeth >= LIMIT\n"]
        assert all((tiny / name).read_text() == text for name, text in FILES.items())

    def test_a_test_that_fails_anyway_kills_nothing(self, tiny):
        (tiny / "tests/test_b.py").write_text("import tiny\n\n\ndef test_it():\n    assert tiny.halve(80) == 41\n")
        assert set(main(["--file", "tiny/rooms/halves.py", "--sample", "1"], tiny, "tiny")) == {"survived"}

    def test_one_that_makes_no_difference_is_not_counted(self, tiny, capsys):
        row = 'tiny/sizes.py,large,teeth > LIMIT  →  teeth >= LIMIT,"nobody has 60, nor 61"\n'
        (tiny / EQUIVALENT).write_text("file,function,change,why\n" + row)
        (tiny / "tiny/sizes.py").write_text("\n\n" + FILES["tiny/sizes.py"])  # lines may move
        assert main(["--file", "tiny/sizes.py"], tiny, "tiny") == ["killed", "changes nothing"]
        said = capsys.readouterr()
        assert "all                                                    2       1         0   100%" in said.out
        assert "nobody has 60, nor 61" in said.err

    def test_one_that_never_ends_is_killed(self, tiny, monkeypatch):
        monkeypatch.setattr("tests.mutants.SECONDS_AT_LEAST", 0)
        (tiny / "tiny/sizes.py").write_text("def large(teeth):\n    while teeth > 0:\n        teeth -= 9\n")
        (tiny / "tests/test_a.py").write_text(
            "from tiny.sizes import large\n\n\ndef test_it():\n    assert large(80) is None\n"
        )
        assert main(["--file", "tiny/sizes.py", "--like", "pass"], tiny, "tiny") == ["killed"]

    def test_one_that_waits_for_ever_is_killed(self, tiny, monkeypatch):
        monkeypatch.setattr("tests.mutants.SECONDS_ASLEEP", 2)
        (tiny / "tiny/sizes.py").write_text(
            "import time\n\n\ndef large(teeth):\n    while teeth > 0:\n        time.sleep(0.01)\n        teeth -= 9\n"
        )
        (tiny / "tests/test_a.py").write_text(
            "from tiny.sizes import large\n\n\ndef test_it():\n    assert large(80) is None\n"
        )
        assert main(["--file", "tiny/sizes.py", "--like", "-= 9  →  pass"], tiny, "tiny") == ["killed"]

    def test_it_is_shown_to_the_tests_that_call_it_however_far_away(self, tiny, capsys):
        (tiny / "tiny/sizes.py").write_text(
            "from functools import cache\n\n\n@cache\ndef size():\n    return 60\n\n\n"
            "class Shop:\n    def large(self, teeth):\n        return [each for each in (teeth,) if each > size()]\n"
        )
        (tiny / "tests/test_a.py").write_text(
            "from tiny.sizes import Shop\n\n\ndef test_none():\n    assert True\n\n\n"
            "def test_one():\n    assert Shop().large(80) == [80]\n\n\n"
            "def test_two():\n    assert Shop().large(60) == []\n"
        )
        assert main(["--file", "tiny/sizes.py", "--like", "60  →  return 59"], tiny, "tiny") == ["killed"]
        assert "tests/test_a.py::test_two" in capsys.readouterr().err  # for which the first had kept the size

    def test_what_tests_call_can_be_kept_for_the_next_run(self, tiny, tmp_path):
        wish = ["--file", "tiny/sizes.py", "--like", "None", "--calls", str(tmp_path / "calls")]
        assert main(wish, tiny, "tiny") == ["killed"]
        assert len(list((tmp_path / "calls").iterdir())) == 2  # of its examples, and of its tests
        (tiny / "tests/test_a.py").write_text("from tiny.sizes import large\n")
        assert main(wish, tiny, "tiny") == ["survived"]

    def test_a_file_that_no_longer_loads_is_noticed(self, tiny):
        (tiny / "tiny/walls.py").write_text("WALL = {'a': 'b'}['a' if True else 'c']\n")
        (tiny / "tests/test_c.py").write_text(
            "from tiny.walls import WALL\n\n\ndef test_it():\n    assert WALL == 'b'\n"
        )
        assert main(["--file", "tiny/walls.py"], tiny, "tiny") == ["killed"]

    def test_a_room_that_is_not_there(self, tiny):
        with pytest.raises(SystemExit, match="attic"):
            main(["--room", "attic"], tiny, "tiny")


def test_what_was_judged_to_change_nothing_still_stands_there(checkout):
    files = {Path(file) for file, _, _ in equivalents(checkout)}
    there = {mutant.row for path in files for mutant in mutants(path, checkout)}
    assert files <= set(chosen(checkout, "gearcalc", CORE, []))
    assert set(equivalents(checkout)) <= there
    assert all(why.strip() for why in equivalents(checkout).values())
