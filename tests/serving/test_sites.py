"""A site, as far as it is put together without a network: what is refused, kept, named, and written into its pages."""

from __future__ import annotations

import base64
import hashlib
import html.parser
import io
import json
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import zipfile
from collections import Counter
from importlib import metadata

import pytest

import gearcalc
from gearcalc.basics.errors import NotPossibleError, UnknownNameError
from gearcalc.basics.files import data_folder, notebooks_folder
from gearcalc.commands import main
from gearcalc.serving import parts, pythons, sites, wheels
from gearcalc.serving.lessons_in_a_site import SiteLesson, lesson_for_site, print_of
from gearcalc.serving.pages import first_page, with_our_head
from gearcalc.teaching.lesson_runs import all_lessons
from tests.how_much import THOROUGH

PAGE = """<html><head>
    <title>Jupyter</title>
    <meta charset="utf-8">
    <script id="jupyter-config-data" type="application/json">{}</script>
    <script>
      (async () => { await import('../config-utils.js'); })();
    </script></head></html>"""


@pytest.fixture
def no_program(monkeypatch):
    """Nothing may be run: neither npm nor pip, and so no network is asked."""

    def refuse(command, *_, **__):
        pytest.fail(f"was run: {command}")

    monkeypatch.setattr(parts.subprocess, "run", refuse)


def our_site(folder, *files):
    """A folder as a build leaves it."""
    folder.mkdir()
    for name in files:
        (folder / name).write_text("ours")
    (folder / sites.STAMP).write_text(json.dumps({"what": "a site of gearcalc lessons", "files": list(files)}))
    return folder


class TestWhereASiteMayGo:
    def test_where_nothing_is_and_where_a_site_of_ours_is(self, tmp_path):
        (tmp_path / "empty").mkdir()
        for place in (tmp_path / "new", tmp_path / "empty", our_site(tmp_path / "ours", "index.html")):
            sites.check_folder(place)

    def test_never_over_what_somebody_put_there(self, tmp_path):
        mine = our_site(tmp_path / "ours", "index.html") / "essay.txt"
        mine.write_text("mine")
        (tmp_path / "folder").mkdir()
        (tmp_path / "folder" / "essay.txt").write_text("mine")
        (tmp_path / "broken").mkdir()
        (tmp_path / "broken" / sites.STAMP).write_text("{")
        for place, why in {
            mine: "this is a file",
            tmp_path / "folder": "is no site of ours",
            tmp_path / "ours": "like essay.txt",
            tmp_path / "broken": "is no site of ours",
        }.items():
            with pytest.raises(NotPossibleError, match=why):
                sites.build_site(place)
        assert mine.read_text() == "mine"

    def test_never_in_place_of_the_folder_that_somebody_works_in(self, tmp_path, monkeypatch, no_program):
        site = our_site(tmp_path / "ours", "index.html")
        (site / "deeper").mkdir()
        for here, named in ((site, "."), (site / "deeper", ".."), (site / "deeper", str(site))):
            monkeypatch.chdir(here)
            with pytest.raises(NotPossibleError, match="the folder that you work in") as told:
                sites.build_site(named)
            assert f'cd "{tmp_path}". Then: python -m gearcalc web "ours"' in str(told.value)
            monkeypatch.chdir(tmp_path)
            sites.check_folder(site)  # as it says

    def test_of_two_at_once_the_second_is_refused(self, tmp_path, monkeypatch, checkout):
        """The first is in the middle of its work when the second is asked for, in a program of its own."""
        said = []

        def meanwhile(*_):
            asked = [sys.executable, "-m", "gearcalc", "web", tmp_path / "site", "--parts", tmp_path / "parts"]
            there = {**os.environ, "PYTHONPATH": str(checkout)}
            said.append(subprocess.run(asked, capture_output=True, text=True, env=there, check=False))
            raise NotPossibleError("that is enough")

        monkeypatch.setattr(sites, "all_parts", meanwhile)
        with pytest.raises(NotPossibleError, match="that is enough"):
            sites.build_site(tmp_path / "site")
        assert (said[0].returncode, said[0].stdout) == (2, "")
        assert "another command is making a site here. Wait until that is done" in said[0].stderr
        assert os.listdir(tmp_path) == []
        with sites._work_beside(tmp_path / "site"):
            pass  # the first has let go

    def test_what_a_killed_one_left_goes_and_the_old_site_comes_back(self, tmp_path):
        with sites._work_beside(tmp_path / "site") as work:
            left = work.with_name(f"{work.name}-killed")
        our_site(tmp_path / "was", "index.html")
        left.mkdir()
        (tmp_path / "was").rename(left / "before")
        with sites._work_beside(tmp_path / "site"):
            assert not left.exists()
        assert os.listdir(tmp_path) == ["site"]
        assert (tmp_path / "site" / "index.html").read_text() == "ours"

    def test_nor_over_what_was_put_there_meanwhile(self, tmp_path, monkeypatch):
        for name in ("all_parts", "put_python", "put_pages", "_put_contents"):
            monkeypatch.setattr(sites, name, lambda *_: None)

        def build(work, *_):
            (tmp_path / "site").mkdir()
            (tmp_path / "site" / "essay.txt").write_text("mine")
            (work / "python").mkdir()
            (work / "built").mkdir()
            return work / "built"

        monkeypatch.setattr(sites.lite, "build", build)
        with pytest.raises(NotPossibleError, match="is no site of ours"):
            sites.build_site(tmp_path / "site")
        assert os.listdir(tmp_path) == ["site"]
        assert os.listdir(tmp_path / "site") == ["essay.txt"]

    def test_the_old_one_is_back_where_the_new_one_cannot_be_put(self, tmp_path):
        old = our_site(tmp_path / "ours", "index.html")
        with pytest.raises(OSError, match="No such file"):
            sites._put_in_place(tmp_path / "never made", old, tmp_path / "before")
        assert (old / "index.html").read_text() == "ours"


class TestWhichLessons:
    def test_all_or_those_named_between_the_first_and_the_workbench(self):
        assert sites._chosen([]) == all_lessons()
        named = [path.stem[:2] for path in sites._chosen(["02,05", "01"])]
        assert named == ["00", "01", "02", "05", "wo"]
        for asked, none in {"44": "44", "": "", ",": ","}.items():
            with pytest.raises(UnknownNameError, match=f"there is no lesson '{none}'"):
                sites._chosen([asked])


class TestWhatIsMissing:
    def test_the_extra_is_named(self, tmp_path, monkeypatch):
        monkeypatch.setattr(sites.util, "find_spec", lambda name: None if name == "jupyterlite_core" else name)
        with pytest.raises(NotPossibleError, match=r"pip install \"\.\[web\]\""):
            sites.build_site(tmp_path / "site")

    def test_npm_is_named_and_what_it_is_for_before_anything_is_fetched(self, tmp_path, monkeypatch, no_program):
        monkeypatch.setattr(parts.shutil, "which", lambda name: None)
        with pytest.raises(NotPossibleError, match=r"npm is missing, which fetches Pyodide, once.*Install Node\.js"):
            parts.all_parts(tmp_path, lambda line: None)

    def test_a_lathe_that_is_none_stops_it_before_anything_is_fetched(self, tmp_path, no_program, ask):
        (tmp_path / "school.toml").write_text("leadscrew = 3")
        code, out, err = ask("web", tmp_path / "site", "--lathe", tmp_path / "school.toml", "--parts", tmp_path)
        assert (code, out) == (2, "")
        assert "leadscrew" in err
        assert not (tmp_path / "site").exists()


class TestWhatIsKept:
    WHEEL = "six-1.17.0-py2.py3-none-any.whl"
    ALL = ("pyodide-1.0.tgz", "kernel-1.0-py3-none-any.whl", WHEEL)

    @pytest.fixture
    def wanted(self, monkeypatch):
        said = {name: hashlib.sha256(name.encode()).hexdigest() for name in self.ALL}
        pyodide = {"version": "1.0", "sha256": said["pyodide-1.0.tgz"]}
        kernel, wheels = ({name: {"sha256": said[name]}} for name in self.ALL[1:])
        monkeypatch.setattr(parts, "pinned", lambda: {"pyodide": pyodide, "kernel": kernel, "wheels": wheels})

    def test_with_all_of_it_there_no_network_is_asked(self, tmp_path, wanted, no_program):
        for name in self.ALL:
            (tmp_path / name).write_text(name)
        said = []
        found = parts.all_parts(tmp_path, said.append)
        assert (found.packed_core, found.kernel, *found.wheels) == tuple(tmp_path / name for name in self.ALL)
        assert said == []

    def test_what_is_fetched_is_said_first_and_another_content_is_not_taken(self, tmp_path, wanted, monkeypatch):
        for name in self.ALL[:2]:
            (tmp_path / name).write_text(name)
        (tmp_path / self.WHEEL).write_text("cut off half-way")
        asked, said = [], []

        def fetch(command, *_, **__):
            asked.append(command)
            place = command[command.index("--dest") + 1]
            assert said, "it is said before"
            with open(f"{place}/{self.WHEEL}", "w") as file:
                file.write("somebody else's")

        monkeypatch.setattr(parts, "run", fetch)
        with pytest.raises(NotPossibleError, match="is not what it should be"):
            parts.all_parts(tmp_path, said.append)
        assert "1 Python package from PyPI" in said[0]
        assert str(tmp_path) in said[0]
        assert "npm" not in said[0]
        assert {"--require-hashes", "--no-deps", "--only-binary=:all:"} <= set(asked[0])

    def test_every_part_is_pinned_by_version_and_content(self):
        wanted = parts.pinned()
        prints = [part["sha256"] for part in (wanted["pyodide"], *(wanted["kernel"] | wanted["wheels"]).values())]
        assert all(re.fullmatch("[0-9a-f]{64}", each) for each in prints)
        assert max(Counter(prints).values()) == 1
        assert all(re.fullmatch(r"\w+-[\d.]+-\S+-none-any\.whl", name) for name in wanted["kernel"] | wanted["wheels"])

    def test_nothing_of_a_site_is_installed_where_jupyterlab_would_open_it_too(self):
        """A front end for browsers alone, in share/jupyter, is asked for by JupyterLab, and finds no JupyterLite."""
        extras = metadata.requires("gearcalc") if not (data_folder().parent / "pyproject.toml").is_file() else None
        said = str(extras or (data_folder().parent / "pyproject.toml").read_text(encoding="utf-8"))
        assert "jupyterlite-core" in said
        assert not re.search("jupyterlite[-_]pyodide", said)


@pytest.fixture
def registry(request, tmp_path, monkeypatch):
    """PyPI and npm where nobody answers: at a port that is closed, or at one that takes a question and is mute."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        if request.param == "mute":
            taken.listen()
        address = f"http://127.0.0.1:{taken.getsockname()[1]}/"
        for name in [name for name in os.environ if name.lower().startswith(("pip_", "npm_config_"))]:
            monkeypatch.delenv(name)
        for name, value in {
            "pip_config_file": os.devnull,
            "PIP_INDEX_URL": address,
            "npm_config_registry": address,
            "npm_config_cache": str(tmp_path / "npm"),
            "no_proxy": "127.0.0.1",
        }.items():
            monkeypatch.setenv(name.upper() if name.startswith("pip") else name, value)
        yield address


class TestWithoutANetwork:
    @pytest.mark.skipif(shutil.which("npm") is None, reason="npm is missing")
    @pytest.mark.parametrize("registry", ["refuses", *(["mute"] * THOROUGH)], indirect=True)
    @pytest.mark.parametrize("there", ["nothing", "the wheels"])
    def test_it_is_said_soon_what_is_fetched_and_why_it_failed(self, tmp_path, monkeypatch, registry, there):
        wheel = "six-1.17.0-py2.py3-none-any.whl"
        pinned = {wheel: {"sha256": hashlib.sha256(b"six").hexdigest()}}
        pyodide = {"version": "314.0.7", "sha256": "0"}
        monkeypatch.setattr(parts, "pinned", lambda: {"pyodide": pyodide, "kernel": pinned, "wheels": {}})
        if there == "the wheels":
            (tmp_path / wheel).write_bytes(b"six")
        said, began = [], time.monotonic()
        with pytest.raises(NotPossibleError) as told:
            parts.all_parts(tmp_path, lambda line: said.append((line, time.monotonic())))
        ((words, when),) = said
        assert "Pyodide 314.0.7" in words
        assert when - began < 1
        assert re.search("refused|ECONNREFUSED|timed out|timeout", told.value.problem)
        assert "copy the folder of parts from a machine that has one" in str(told.value)
        assert time.monotonic() - began < 50  # left to itself npm tries for 70 s where it is refused

    def test_the_first_line_goes_at_once_into_a_pipe_too(self, tmp_path, monkeypatch, capsys):
        """A pipe's buffer is only sent when it is full, or when it is asked."""
        sent = []
        monkeypatch.setattr(sites, "_check_extra", lambda: None)
        monkeypatch.setattr(sites, "all_parts", lambda folder, say: say("Fetching") or pytest.fail(str(sent)))
        monkeypatch.setattr("sys.stdout", io.StringIO())
        monkeypatch.setattr("sys.stdout.flush", lambda: sent.append(sys.stdout.getvalue()))
        with pytest.raises(pytest.fail.Exception, match="Fetching"):
            main(["web", str(tmp_path / "site")])


class TestOurWheel:
    def test_has_the_package_its_data_and_the_lessons_and_nobodys_answers(self, tmp_path):
        made = wheels.own_wheel(tmp_path)
        with zipfile.ZipFile(made) as wheel:
            names = wheel.namelist()
            assert wheel.testzip() is None
            assert f"Version: {gearcalc.__version__}" in wheel.read(names[-3]).decode()
        there = {
            "gearcalc/__init__.py",
            "gearcalc/commands/__init__.py",
            "gearcalc/data/threads/ba.csv",
            "gearcalc/notebooks/01_one_turn.ipynb",
        }
        assert there <= set(names)
        assert not [name for name in names if "__pycache__" in name or "answers.json" in name or "/data/web" in name]
        assert max(Counter(names).values()) == 1

    def test_knows_of_no_lesson_that_the_site_has_not(self, tmp_path):
        made = wheels.own_wheel(tmp_path, {"00_start_here.ipynb", "workbench.ipynb"})
        names = [name for name in zipfile.ZipFile(made).namelist() if name.endswith(".ipynb")]
        assert names == ["gearcalc/notebooks/00_start_here.ipynb", "gearcalc/notebooks/workbench.ipynb"]

    def test_is_the_same_for_the_same_files(self, tmp_path):
        (tmp_path / "again").mkdir()
        assert wheels.own_wheel(tmp_path).read_bytes() == wheels.own_wheel(tmp_path / "again").read_bytes()

    def test_is_named_in_the_lock_by_what_is_in_it(self, tmp_path):
        made = wheels.own_wheel(tmp_path)
        entry = wheels.lock_entry(made.name, made)
        content = hashlib.sha256(made.read_bytes()).hexdigest()
        assert entry["sha256"] == content
        assert content[:8] in entry["file_name"]
        assert re.fullmatch(r"gearcalc-[^-]+-\d\w*-py3-none-any\.whl", entry["file_name"])
        assert (entry["name"], entry["imports"], entry["depends"]) == ("gearcalc", ["gearcalc"], [])


class TestALesson:
    def test_stands_there_without_kernel_and_with_links_to_those_that_are_there(self):
        path = notebooks_folder() / "01_one_turn.ipynb"
        ready = json.loads(lesson_for_site(path, {"00_start_here.ipynb"}).content)
        was = json.loads(path.read_text(encoding="utf-8"))
        assert "kernelspec" in was["metadata"]
        assert "kernelspec" not in ready["metadata"]
        text = "".join(cell["source"] for cell in ready["cells"])
        assert "[00 Start here](00_start_here.ipynb)" in text
        assert "12_your_own_lathe.ipynb" not in text
        assert "lesson 12" in text
        for before, now in zip(was["cells"], ready["cells"], strict=True):
            if before["cell_type"] == "code":
                assert "".join(before["source"]) == now["source"]

    def test_no_row_of_a_table_leads_to_what_is_not_there(self):
        there = {"01_one_turn.ipynb", "workbench.ipynb"}
        ready = json.loads(lesson_for_site(notebooks_folder() / "00_start_here.ipynb", there).content)
        lines = "\n".join(cell["source"] for cell in ready["cells"]).split("\n")
        rows = [line for line in lines if line.startswith("|") and not line.startswith(("| lesson", "|:", "|-", "| -"))]
        assert [re.search(r"\w+\.ipynb", row)[0] for row in rows if ".ipynb" in row] == sorted(there)
        assert not any("instructors" in row or "Change over" in row for row in rows)

    def test_its_print_is_of_what_it_says_and_no_more(self):
        cell = {"cell_type": "code", "source": "1 + 1", "outputs": [], "execution_count": None}
        run = cell | {"outputs": [{"output_type": "stream"}], "execution_count": 3, "source": ["1 +", " 1"]}
        assert print_of([cell]) == print_of([run])
        others = [[cell | {"source": "1 + 2"}], [cell | {"cell_type": "markdown"}], [cell, cell], []]
        assert len({print_of(each) for each in [[cell], *others]}) == 5


class Heads(html.parser.HTMLParser):
    """What stands in a page, in order: tags with attributes, and the text within scripts."""

    def __init__(self, page):
        super().__init__()
        self.tags, self.scripts = [], {}
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        if self.tags and self.tags[-1][0] == "script":
            self.scripts[len(self.tags) - 1] = data


class TestThePages:
    def test_the_policy_comes_first_and_names_just_the_scripts_that_run(self):
        page = with_our_head(PAGE, "../")
        found = Heads(page)
        ((at, policy),) = [
            (number, each["content"]) for number, (tag, each) in enumerate(found.tags) if "http-equiv" in each
        ]
        assert at < min(number for number, (tag, _) in enumerate(found.tags) if tag in ("script", "link"))
        allowed = dict(part.strip().split(" ", 1) for part in policy.split(";"))
        code = found.scripts[max(found.scripts)]
        assert code.index("await window.gearcalcMoved") < code.index("await import(")
        digest = base64.b64encode(hashlib.sha256(code.encode()).digest()).decode()
        assert re.findall("'sha256-([^']+)'", allowed["script-src"]) == [digest]
        assert "'unsafe-inline'" not in allowed["script-src"]
        assert (allowed["worker-src"], allowed["connect-src"]) == ("'self'", "'self'")
        assert not re.search(r"https?:|\*", policy)

    def test_a_page_of_another_kind_is_not_half_changed(self):
        with pytest.raises(NotPossibleError, match="not as we know it"):
            with_our_head(PAGE.replace("await import", "load"), "../")

    def test_the_first_page_leads_to_each_lesson_with_titles_escaped(self):
        titles = {"01_a.ipynb": "01 · One & <b>two</b>", "own (b).ipynb": "Ours"}
        lessons = [SiteLesson(name, title, "about 60 minutes", "", "") for name, title in titles.items()]
        page = first_page(lessons, 28.6)
        assert "One &amp; &lt;b&gt;two&lt;/b&gt;" in page
        links = [each["href"] for tag, each in Heads(page).tags if tag == "a"]
        assert {"notebooks/index.html?path=01_a.ipynb", "notebooks/index.html?path=own%20%28b%29.ipynb"} <= set(links)
        assert not [link for link in links if ":" in link]
        assert "29 MB" in page
        for word in ("private window", "Download my answers", "Isolate", "qualified person"):
            assert word in page

    def test_no_file_of_theirs_names_another_host(self):
        for path in (data_folder() / "web").iterdir():
            assert not re.search(r"https?://", path.read_text(encoding="utf-8")), path.name


class TestAFullDistribution:
    """An invented one: a lock with packages that need each other, and files of those names."""

    VERSION = parts.pinned()["pyodide"]["version"]

    @pytest.fixture
    def full(self, tmp_path):
        needs = {"pandas": ["numpy", "six"], "matplotlib": ["numpy", "Pillow"], "numpy": [], "six": [], "pillow": []}
        lock = {"info": {"version": self.VERSION}, "packages": {}}
        for name, depends in (needs | {"scipy": ["numpy"]}).items():
            lock["packages"][name] = {"name": name, "file_name": f"{name}-9.whl", "depends": depends}
            (tmp_path / f"{name}-9.whl").write_text(name)
        for name in parts.CORE:
            (tmp_path / name).write_text(json.dumps(lock) if name == parts.LOCK else "core")
        return tmp_path

    def test_gives_pandas_and_matplotlib_with_all_that_they_need(self, full):
        assert set(pythons._of_full_distribution(full)) == {"pandas", "matplotlib", "numpy", "six", "pillow"}

    def test_comes_in_place_of_the_light_ones(self, full, tmp_path, monkeypatch):
        asked = []

        def slim(given, core, kept):
            asked[:] = [path.name.split("-")[0] for path in given]
            assert core == full
            return {}

        monkeypatch.setattr(pythons, "slim_wheels", slim)
        (tmp_path / "work").mkdir()
        with zipfile.ZipFile(tmp_path / "kernel.whl", "w") as kernel:
            for name in ("piplite-1-py3-none-any.whl", "widgetsnbextension-3-py3-none-any.whl", "all.json"):
                kernel.writestr(f"kernel.data/data/share/jupyter/labextensions/@theirs/kernel/static/pypi/{name}", "")
        two = tuple(tmp_path / f"{name}-1-py3-none-any.whl" for name in ("six", "attrs"))
        light = parts.Parts(tmp_path, two, tmp_path / "kernel.whl", full)
        names = pythons.put_python(tmp_path / "python", tmp_path / "work", light, full, {"00_start_here.ipynb"})
        assert asked == ["attrs", "piplite", "gearcalc", "jedi"]
        assert names == sorted(["pandas", "matplotlib", "numpy", "six", "pillow"])
        assert (tmp_path / "python" / "pandas-9.whl").read_text() == "pandas"
        assert not (tmp_path / "python" / "scipy-9.whl").exists()
        assert json.loads((tmp_path / "python" / "sizes.json").read_text())["six-9.whl"] == 3

    def test_what_is_none_is_named(self, full):
        (full / "pillow-9.whl").unlink()
        with pytest.raises(NotPossibleError, match=r"pillow-9\.whl is missing"):
            pythons._of_full_distribution(full)
        lock = json.loads((full / parts.LOCK).read_text())
        (full / "pillow-9.whl").write_text("")
        (full / parts.LOCK).write_text(json.dumps(lock | {"info": {"version": "0.1"}}))
        with pytest.raises(NotPossibleError, match=re.escape(f"must be {self.VERSION}, not '0.1'")):
            pythons._of_full_distribution(full)
        (full / parts.LOCK).write_text("[]")
        with pytest.raises(NotPossibleError, match="its lock is not as we know it"):
            pythons._of_full_distribution(full)
