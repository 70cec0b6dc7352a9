"""Files: where data/ and notebooks/ are, tables read once; and files written whole or not at all.

Only a file that could be written is replaced, and what a kill left is cleared.
"""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import SimpleNamespace

import pytest

import gearcalc as gc
from gearcalc.basics import files
from gearcalc.basics.errors import GearcalcError, NotPossibleError, UnknownNameError
from gearcalc.basics.exact import parse_number
from gearcalc.basics.files import save_new, save_whole, scratch_in
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


class TestWrittenWhole:
    def test_all_of_it_is_on_the_disk_before_it_gets_its_name(self, tmp_path, monkeypatch):
        done, fsync, replace = [], os.fsync, os.replace

        def watched_fsync(handle: int) -> None:
            done.append(os.fstat(handle).st_size)
            fsync(handle)

        def watched_replace(old: str, new: Path) -> None:
            done.append("named")
            replace(old, new)

        monkeypatch.setattr(files.os, "fsync", watched_fsync)
        monkeypatch.setattr(files.os, "replace", watched_replace)
        save_whole(tmp_path / "card.txt", b"x" * 5000, "the card")
        assert done == [5000, "named"]

    @pytest.mark.parametrize("gone", [False, True])
    def test_where_that_fails_the_system_says_why_and_nothing_is_left(self, tmp_path, monkeypatch, gone):
        def no_room(beside: str, _: int) -> None:
            if gone:
                os.unlink(beside)
            raise OSError(errno.ENOSPC, "No space left on device")

        monkeypatch.setattr(files.os, "chmod", no_room)
        with pytest.raises(NotPossibleError, match=r"\(No space left on device\)\. Make room on that disk"):
            save_whole(tmp_path / "card.txt", "x", "the card")
        assert os.listdir(tmp_path) == []

    def test_a_name_as_long_as_a_name_can_be(self, tmp_path):
        place = tmp_path / ("n" * 251 + ".txt")
        assert save_whole(place, "x", "the card") == place
        assert os.listdir(tmp_path) == [place.name]

    @posix_only
    @in_one("mode", [0o600, 0o644, 0o666, 0o755, 0o777, 0o601])
    def test_it_keeps_each_part_of_its_mode(self, mode):
        with tempfile.TemporaryDirectory() as folder:
            place = Path(folder) / "card.txt"
            place.touch()
            place.chmod(mode)
            save_whole(place, "x", "the card")
            assert stat.S_IMODE(place.stat().st_mode) == mode

    @pytest.mark.skipif(not Path("/proc/self/fd").is_dir(), reason="only Linux tells what is open")
    def test_nothing_stays_open(self, tmp_path, monkeypatch):
        before = len(os.listdir("/proc/self/fd"))
        for number in range(5):
            save_whole(tmp_path / "card.txt", "x", "the card")
            save_new(tmp_path / f"{number}.toml", "x", "the lathe file")
            with files.alone_with(tmp_path / "answers.json"), files.held(tmp_path / "site"):
                pass
        monkeypatch.delattr(files.os, "link")
        save_new(tmp_path / "last.toml", "x", "the lathe file")
        assert len(os.listdir("/proc/self/fd")) == before


class TestSaveNew:
    def test_a_new_one_is_written_and_its_path_comes_back(self, tmp_path):
        place = tmp_path / "mine.toml"
        assert save_new(str(place), "Ø 8", "the lathe file") == place
        assert place.read_bytes() == "Ø 8".encode()
        assert os.listdir(tmp_path) == ["mine.toml"]

    def test_one_that_is_there_is_left_as_it_is(self, tmp_path):
        place = tmp_path / "mine.toml"
        place.write_bytes(b"as it was")
        with pytest.raises(NotPossibleError, match=r"mine.toml: there is such a file already, and it is left"):
            save_new(place, "new", "the lathe file")
        assert place.read_bytes() == b"as it was"
        assert os.listdir(tmp_path) == ["mine.toml"]

    @posix_only
    def test_so_is_a_link_that_leads_nowhere(self, tmp_path):
        (tmp_path / "mine.toml").symlink_to(tmp_path / "gone.toml")
        with pytest.raises(NotPossibleError, match="there is such a file already"):
            save_new(tmp_path / "mine.toml", "new", "the lathe file")
        assert os.listdir(tmp_path) == ["mine.toml"]

    @pytest.mark.parametrize("error", [OSError(1, "no links here"), AttributeError("link")])
    def test_a_disk_without_links_will_do(self, tmp_path, monkeypatch, error):
        def no_link(*_: object) -> None:
            raise error

        monkeypatch.setattr(files.os, "link", no_link)
        save_new(tmp_path / "mine.toml", "new", "the lathe file")
        assert os.listdir(tmp_path) == ["mine.toml"]
        assert (tmp_path / "mine.toml").read_bytes() == b"new"
        with pytest.raises(NotPossibleError, match="there is such a file already"):
            save_new(tmp_path / "mine.toml", "newer", "the lathe file")

    def test_one_that_comes_there_this_moment_is_left_too(self, tmp_path, monkeypatch):
        monkeypatch.setattr(files.os.path, "lexists", lambda _: False)
        (tmp_path / "mine.toml").write_bytes(b"as it was")
        with pytest.raises(NotPossibleError, match="there is such a file already"):
            save_new(tmp_path / "mine.toml", "new", "the lathe file")
        assert (tmp_path / "mine.toml").read_bytes() == b"as it was"
        assert os.listdir(tmp_path) == ["mine.toml"]


class TestCheckPlace:
    """What a save would be refused for is said before, and nothing is written."""

    def test_where_it_can_be_saved_nothing_is_said_or_written(self, tmp_path):
        (tmp_path / "there.txt").write_bytes(b"as it was")
        for name in ("there.txt", "new.txt"):
            files.check_place(tmp_path / name, "the card")
        assert os.listdir(tmp_path) == ["there.txt"]
        assert (tmp_path / "there.txt").read_bytes() == b"as it was"

    def test_a_folder_that_is_not_there(self, tmp_path):
        with pytest.raises(NotPossibleError, match=r"card.txt: the card can't be saved here \(No such file"):
            files.check_place(tmp_path / "none" / "card.txt", "the card")

    def test_a_folder_that_may_not_be_written_to(self, tmp_path, monkeypatch):
        monkeypatch.setattr(files.os, "access", lambda path, mode: (path, mode) != (tmp_path, os.W_OK))
        with pytest.raises(NotPossibleError, match=r"the card can't be saved here \(Permission denied\)"):
            files.check_place(tmp_path / "card.txt", "the card")

    def test_a_folder_of_that_name(self, tmp_path):
        with pytest.raises(NotPossibleError, match="this is a folder"):
            files.check_place(tmp_path, "the card")

    def test_a_file_marked_read_only(self, tmp_path):
        (tmp_path / "card.txt").touch(mode=0o444)
        with pytest.raises(NotPossibleError, match="read only"):
            files.check_place(tmp_path / "card.txt", "the card")


class TestInTheSystemsWords:
    @in_one(("name", "can"), [("my lathe.toml", True), ("Ø8", True), ("", True), ("a\0b", False), ("\ud800", False)])
    def test_what_can_be_a_name(self, name, can):
        assert files.can_be_a_name(name) is can

    @in_one("code", [None, errno.EACCES, errno.ENOENT, errno.ENOSPC, errno.EDQUOT, errno.EFBIG])
    def test_room_is_made_where_a_disk_is_full(self, code):
        full = code in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
        problem = OSError("x") if code is None else OSError(code, "x")
        said = "Make room on that disk; what was there is untouched." if full else "Name another."
        assert files.way_out(problem, "Name another.") == said

    def test_why_it_can_not_be(self):
        assert files.in_its_words(OSError(13, "Permission denied", "x")) == "Permission denied"
        assert files.in_its_words(ValueError("embedded null byte")) == "embedded null byte"
        assert files.in_its_words(TypeError("expected str")) == "this names no file"
        with pytest.raises(UnicodeDecodeError) as no_text:
            b"\xff".decode("utf-8")
        assert files.in_its_words(no_text.value) == files.NO_TEXT


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

    def test_a_lock_is_taken_only_from_one_holder_that_has_had_it_so_long(self, tmp_path, monkeypatch):
        """By a clock of the test's own: every 2 s another has it, up to the 20th; 3 s are waited for each."""
        seconds, left = [0], tmp_path / ".answers.json.lock"
        left.touch()
        clock = SimpleNamespace(monotonic=lambda: seconds[0], sleep=lambda _: seconds.append(seconds.pop() + 1))
        monkeypatch.setattr(files, "time", clock)
        monkeypatch.setattr(files, "_holder", lambda _: min(seconds[0], 20) // 2)
        with files.alone_with(tmp_path / "answers.json", patience_s=3):
            assert seconds == [25]  # since the 20th, more than 3 s, and once more round
            assert left.exists()
        assert not left.exists()

    def test_a_lock_that_another_has_taken_meanwhile_is_left_to_it(self, tmp_path):
        lock = tmp_path / ".answers.json.lock"
        with files.alone_with(tmp_path / "answers.json"):
            lock.unlink()
            lock.write_bytes(b"another's")
            os.utime(lock, (1, 1))
        assert lock.read_bytes() == b"another's"

    def test_it_is_let_go_of_where_the_work_fails(self, tmp_path):
        with pytest.raises(ZeroDivisionError), files.alone_with(tmp_path / "answers.json"):
            raise ZeroDivisionError
        with pytest.raises(ZeroDivisionError), files.held(tmp_path / "site"):
            raise ZeroDivisionError
        assert os.listdir(tmp_path) == []

    def test_a_folder_that_is_held_is_not_had_and_stays_held(self, tmp_path):
        with files.held(tmp_path / "site") as mine:
            for _ in range(2):
                with files.held(tmp_path / "site") as again:
                    assert (mine, again) == (True, False)
                assert os.listdir(tmp_path) == [".site.lock"]
        assert os.listdir(tmp_path) == []

    def test_a_lock_that_the_system_does_not_know_is_let_be(self, tmp_path, monkeypatch):
        def no_locks(_: int) -> bool:
            raise OSError(errno.ENOLCK, "No locks available")

        monkeypatch.setattr(files, "_locked", no_locks)
        with pytest.raises(OSError, match="No locks available"), files.held(tmp_path / "site"):
            pass
        assert os.listdir(tmp_path) == [".site.lock"]  # another's, for all that is known

    @pytest.mark.skipif(os.name == "nt", reason="Windows keeps what is open")
    def test_a_lock_whose_file_has_just_gone_is_none(self, tmp_path, monkeypatch):
        monkeypatch.setattr(files, "_holder", lambda _: None)
        with files.held(tmp_path / "site") as mine:
            assert mine is False


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
