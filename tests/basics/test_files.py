"""Files: where data/ and notebooks/ are, tables read once; and files written whole or not at all.

Only a file that could be written is replaced, and what a kill left is cleared.
"""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

import gearcalc as gc
from gearcalc.basics import files
from gearcalc.basics.errors import GearcalcError, UnknownNameError
from gearcalc.basics.exact import parse_number
from gearcalc.basics.files import save_whole, scratch_in
from gearcalc.papers.csv_files import save_csv
from gearcalc.pictures.picture import Picture
from gearcalc.threads import american_threads
from tests.how_much import in_one

TABLES = [f"{path.parent.name}/{path.name}" for path in sorted(files.data_folder().glob("t*/*.csv"))]


class TestFolders:
    def test_both_are_there(self):
        assert (files.data_folder() / "threads").is_dir()
        assert files.notebooks_folder().is_dir()

    def test_inside_the_package_comes_first(self, tmp_path, monkeypatch):
        (tmp_path / "gearcalc" / "data").mkdir(parents=True)
        (tmp_path / "data").mkdir()
        (tmp_path / "pyproject.toml").touch()
        monkeypatch.setattr(files, "_PACKAGE", tmp_path / "gearcalc")
        assert files.data_folder() == tmp_path / "gearcalc" / "data"

    def test_beside_it_only_in_a_checkout(self, tmp_path, monkeypatch):
        (tmp_path / "data").mkdir()
        monkeypatch.setattr(files, "_PACKAGE", tmp_path / "gearcalc")
        with pytest.raises(UnknownNameError, match="Install gearcalc again"):
            files.data_folder()
        (tmp_path / "pyproject.toml").touch()
        assert files.data_folder() == tmp_path / "data"


class TestReadRows:
    @pytest.mark.parametrize("name", ["threads/none.csv", "", "threads", "\x00"])
    def test_no_such_table(self, name):
        with pytest.raises(UnknownNameError, match="no such table"):
            files.read_rows(name)

    @in_one("name", TABLES)
    def test_every_row_says_its_status_and_source(self, name):
        rows = files.read_rows(name)
        assert rows
        assert all(row["status"] in ("S", "T", "M") and row["source"] for row in rows)
        assert len({tuple(row.items()) for row in rows}) == len(rows)


class TestSizeInInches:
    @pytest.mark.parametrize(
        ("size", "inches"), [("#0", "0.060"), ("#12", "0.216"), ("1-1/8", "1.125"), ("3/8", "0.375")]
    )
    def test_numbered_and_others(self, size, inches):
        assert american_threads.size_in_inches(size) == parse_number(inches)

    def test_table_agrees_with_the_rule(self):
        for diameter, name in american_threads.unified_names().items():
            assert american_threads.size_in_inches(name) == diameter


LATHE = gc.demo_lathe("inch")
SETUP = gc.setup(LATHE, 40, 80, "low", 25)
SAVES = {
    "lathe": ("toml", LATHE.save),
    "picture": ("svg", Picture("<svg/>", "A gear.", [{"teeth": 40}], "Gear").save),
    "table": ("csv", lambda path: save_csv(gc.chart(LATHE, ["8 tpi"]), path)),
    "card": ("html", gc.change_card(LATHE, SETUP).save),
    "plate": ("pdf", gc.wall_plate(LATHE, ["8 tpi"]).save),
    "fault-finder": ("txt", gc.fault_finder().save),
}
every_save = pytest.mark.parametrize(("ending", "save"), SAVES.values(), ids=SAVES)
as_root = pytest.mark.skipif(
    getattr(os, "geteuid", lambda: 1)() != 0, reason="only root may make devices, or be another"
)
posix_only = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such files")


class TestOnlyAFileThatCouldBeWrittenIsReplaced:
    @posix_only
    @every_save
    def test_a_pipe_is_refused(self, tmp_path, ending, save):
        pipe = tmp_path / f"pipe.{ending}"
        os.mkfifo(pipe)
        with pytest.raises(GearcalcError, match="no ordinary file"):
            save(pipe)
        assert stat.S_ISFIFO(pipe.lstat().st_mode)
        assert os.listdir(tmp_path) == [pipe.name]

    @as_root
    @every_save
    def test_a_device_is_refused_through_a_link_too(self, tmp_path, ending, save):
        device, link = tmp_path / "null", tmp_path / f"link.{ending}"
        os.mknod(device, 0o666 | stat.S_IFCHR, os.makedev(1, 3))  # one of its own: a fault here must not cost the real
        link.symlink_to(device)
        with pytest.raises(GearcalcError, match="no ordinary file"):
            save(link)
        assert stat.S_ISCHR(device.stat().st_mode)

    @every_save
    def test_a_file_marked_read_only_is_refused(self, tmp_path, ending, save):
        kept = tmp_path / f"kept.{ending}"
        kept.write_bytes(b"as it was")
        kept.chmod(0o444)
        with pytest.raises(GearcalcError, match="read only"):
            save(kept)
        assert kept.read_bytes() == b"as it was"

    @as_root
    def test_a_file_of_another_in_a_folder_that_all_may_write_is_refused(self):
        """The folder lets anyone replace it; the file itself lets only its owner write."""
        with tempfile.TemporaryDirectory() as folder:
            Path(folder).chmod(0o777)
            place = Path(folder) / "theirs.csv"
            place.write_bytes(b"as it was")
            place.chmod(0o644)
            os.seteuid(65534)
            try:
                with pytest.raises(GearcalcError, match="Permission denied"):
                    save_whole(place, "mine now", "the table")
            finally:
                os.seteuid(0)
            assert place.read_bytes() == b"as it was"
            assert os.listdir(folder) == ["theirs.csv"]

    @every_save
    def test_a_file_that_can_be_written_is_replaced_and_keeps_its_mode(self, tmp_path, ending, save):
        mine = tmp_path / f"mine.{ending}"
        mine.write_bytes(b"old")
        mine.chmod(0o600)
        save(mine)
        assert mine.read_bytes() != b"old"
        assert mine.stat().st_mode & 0o777 == 0o600
        assert os.listdir(tmp_path) == [mine.name]


class TestWhatAKillLeaves:
    # Killed when all is written and nothing is put in its place yet.
    PROGRAM = (
        "import os, sys; import gearcalc.basics.files as whole\n"
        "os.replace = lambda *_: os._exit(9)\n"
        "whole.put_in_place(sys.argv[1], b'half')"
    )

    def test_is_cleared_by_a_later_save_into_that_folder(self, tmp_path):
        subprocess.run([sys.executable, "-c", self.PROGRAM, str(tmp_path / "one.csv")], check=False)
        (left,) = tmp_path.iterdir()
        assert left.name.startswith(".one.csv.")
        save_whole(tmp_path / "two.csv", "whole", "the table")
        assert left.exists()  # someone may be writing it this moment
        an_hour_ago = time.time() - 3600
        os.utime(left, (an_hour_ago, an_hour_ago))
        save_whole(tmp_path / "two.csv", "whole", "the table")
        assert os.listdir(tmp_path) == ["two.csv"]

    def test_no_other_file_is_touched(self, tmp_path):
        mine = [".one.csv.abcdefgh", ".unfinished", "one.gearcalc-unfinished", ".one.gearcalc-unfinished.txt"]
        for name in mine:
            (tmp_path / name).write_text("mine")
            os.utime(tmp_path / name, (0, 0))
        (tmp_path / ".folder.gearcalc-unfinished").mkdir()
        os.utime(tmp_path / ".folder.gearcalc-unfinished", (0, 0))
        save_whole(tmp_path / "two.csv", "whole", "the table")
        assert sorted(os.listdir(tmp_path)) == sorted([*mine, ".folder.gearcalc-unfinished", "two.csv"])

    def test_a_folder_for_what_is_temporary_goes_after_an_hour_and_no_other(self, tmp_path):
        old, young, mine = (tmp_path / name for name in ("gearcalc-print-old", "gearcalc-print-young", "mine"))
        for folder in (old, young, mine):
            folder.mkdir()
            (folder / "page.html").write_text("half")
        for folder in (old, mine):
            os.utime(folder, (0, 0))
        with scratch_in(tmp_path, "gearcalc-print-") as scratch:
            assert sorted(tmp_path.iterdir()) == sorted([scratch, young, mine])
        assert sorted(tmp_path.iterdir()) == [young, mine]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such modes")
@pytest.mark.parametrize("mask", [0o022, 0o077, 0o002])
def test_a_new_file_may_be_read_and_written_by_whom_the_system_lets(tmp_path, mask):
    before = os.umask(mask)
    try:
        save_whole(tmp_path / "new.txt", b"", "the card")
        (tmp_path / "plain.txt").write_text("")  # as the system makes one
        modes = {stat.S_IMODE(path.stat().st_mode) for path in tmp_path.iterdir()}
    finally:
        os.umask(before)
    assert modes == {0o666 & ~mask}


class TestOneAtATime:
    def test_nothing_is_lost_where_several_add_to_a_file(self, tmp_path):
        place = tmp_path / "counted.txt"
        place.write_text("0")

        def add_five() -> None:
            for _ in range(5):
                with files.alone_with(place):
                    before = int(place.read_text())
                    time.sleep(0.001)
                    place.write_text(str(before + 1))

        with ThreadPoolExecutor(4) as pool:
            for done in [pool.submit(add_five) for _ in range(4)]:
                done.result()
        assert place.read_text() == "20"
        assert list(tmp_path.iterdir()) == [place]  # no lock is left

    def test_a_lock_that_a_killed_program_left_is_taken_from_it_in_time(self, tmp_path):
        (tmp_path / ".answers.json.lock").touch()
        start = time.monotonic()
        with files.alone_with(tmp_path / "answers.json", patience_s=0.1):
            assert time.monotonic() - start > 0.1
        assert not list(tmp_path.iterdir())


class TestSaidWhere:
    def test_one_of_our_errors_comes_out_as_it_is(self):
        ours = UnknownNameError("no such table", value="x")
        with pytest.raises(UnknownNameError) as caught, files.said_where("x.csv", "it can't be saved"):
            raise ours
        assert caught.value is ours

    @in_one("problem", [OSError(13, "Permission denied"), ValueError("embedded null byte")])
    def test_what_the_system_says_is_said_in_our_words(self, problem):
        said = r"^x.csv: it can't be saved \(.*\)\. Name a file in a folder"
        with pytest.raises(GearcalcError, match=said), files.said_where("x.csv", "it can't be saved"):
            raise problem

    def test_anything_else_is_a_fault_and_not_worded(self):
        with pytest.raises(ZeroDivisionError), files.said_where("x.csv", "it can't be saved"):
            raise ZeroDivisionError
