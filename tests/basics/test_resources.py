"""Where data/ and notebooks/ are, in a checkout and in a wheel; tables read once."""

from __future__ import annotations

import pytest

from gearcalc.basics import resources
from gearcalc.basics.errors import UnknownNameError
from gearcalc.basics.exact import parse_number
from gearcalc.threads import size_tables as thread_tables


class TestFolders:
    def test_both_are_there(self):
        assert (resources.data_folder() / "threads").is_dir()
        assert resources.notebooks_folder().is_dir()

    def test_inside_the_package_comes_first(self, tmp_path, monkeypatch):
        (tmp_path / "gearcalc" / "data").mkdir(parents=True)
        (tmp_path / "data").mkdir()
        (tmp_path / "pyproject.toml").touch()
        monkeypatch.setattr(resources, "_PACKAGE", tmp_path / "gearcalc")
        assert resources.data_folder() == tmp_path / "gearcalc" / "data"

    def test_beside_it_only_in_a_checkout(self, tmp_path, monkeypatch):
        (tmp_path / "data").mkdir()
        monkeypatch.setattr(resources, "_PACKAGE", tmp_path / "gearcalc")
        with pytest.raises(UnknownNameError, match="Install gearcalc again"):
            resources.data_folder()
        (tmp_path / "pyproject.toml").touch()
        assert resources.data_folder() == tmp_path / "data"


class TestReadRows:
    @pytest.mark.parametrize("name", ["threads/none.csv", "", "threads", "\x00"])
    def test_no_such_table(self, name):
        with pytest.raises(UnknownNameError, match="no such table"):
            resources.read_rows(name)

    @pytest.mark.parametrize(
        "name", ["iso261", "unified", "whitworth", "ba", "pipe_parallel", "npt", "trapezoidal", "acme", "modules"]
    )
    def test_every_row_says_its_status_and_source(self, name):
        rows = resources.read_rows(f"threads/{name}.csv")
        assert rows
        assert all(row["status"] in ("S", "T", "M") and row["source"] for row in rows)
        assert len({tuple(row.items()) for row in rows}) == len(rows)


class TestSizeInInches:
    @pytest.mark.parametrize(
        ("size", "inches"), [("#0", "0.060"), ("#12", "0.216"), ("1-1/8", "1.125"), ("3/8", "0.375")]
    )
    def test_numbered_and_others(self, size, inches):
        assert thread_tables.size_in_inches(size) == parse_number(inches)

    def test_table_agrees_with_the_rule(self):
        for diameter, name in thread_tables.unified_names().items():
            assert thread_tables.size_in_inches(name) == diameter
