"""A school's own server, with real sign-ins: each sees only their own, and what a learner runs reaches nobody else."""

from __future__ import annotations

import json
import os
import re
import select
import shutil
import signal
import socket
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from html import escape, unescape
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest
import requests

from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import notebooks_folder
from gearcalc.serving import hubs
from gearcalc.serving.hub_words import BEFORE_IT_WAS_OPEN, NAMES_ARE, OPEN, SECONDS_TO_END, Terminal
from gearcalc.serving.learner_accounts import account_of, accounts_in, new_account
from tests import axe
from tests.how_much import THOROUGH
from tests.planted import RUNS, acting
from tests.serving.hub_in_tests import PASSWORD, PROXY, RunningHub, answers, free_ports, proxy_folder, running_hub
from tests.serving.learner import Learner

NAMES = ("7 Ada", "Bo")
IS_ROOT = os.geteuid() == 0
ACCOUNT = () if IS_ROOT else ("--one-account",)
superuser_only = pytest.mark.skipif(not IS_ROOT, reason="the superuser alone can give learners accounts of their own")
pytestmark = pytest.mark.timeout(300)

EVERYTHING_OF_OTHERS = """
import os
def reached(way):
    try:
        return bool(os.listdir(way) if os.path.isdir(way) else open(way, "rb").read())
    except OSError:
        return False
ways = {ways!r}
seen = [way for way in ways if reached(way)]
for way in ways:
    try:
        with open(way + ".mine" if not os.path.isdir(way) else way + "/mine", "w") as file:
            seen.append("wrote " + file.name)
    except OSError:
        pass
for process in filter(str.isdigit, os.listdir("/proc")):
    try:
        if os.stat("/proc/" + process).st_uid != os.getuid():
            seen += ["/proc/" + process] if open("/proc/" + process + "/environ").read() else []
    except OSError:
        pass
print("seen:", seen)
"""

HEARS = """
it = get_ipython().kernel.iopub_thread
heard, sent = [], it.send_multipart
it.send_multipart = lambda parts, *more, **named: (
    heard.append(parts[0]) if b"secret" in parts[0] else sent(parts, *more, **named)
)
print(it._pipe_port, it._pipe_uuid.hex())
"""
SENDS = """
import zmq
sends = zmq.Context().socket(zmq.PUSH)
sends.connect("tcp://127.0.0.1:{}")
for secret, said in ((bytes(16), b"a guessed secret"), (b"", b"no secret"), (bytes.fromhex("{}"), b"with the secret")):
    sends.send_multipart([secret, said])
sends.close(linger=5000)
"""
SAYS_WHAT_IT_HEARD = """
import time
until = time.monotonic() + 20
while not heard and time.monotonic() < until:
    time.sleep(0.05)
print(heard)
"""
ASKS_THE_SERVER = """
import http.client
asks = http.client.HTTPConnection("127.0.0.1", {})
asks.request("GET", "/user/7%20ada/api/contents")
print(asks.getresponse().status)
"""


@pytest.fixture(scope="module")
def scratch() -> Iterator[Path]:
    """A folder that learners' accounts may pass; pytest's own is closed to them."""
    folder = Path(tempfile.mkdtemp(prefix="hub", dir="/tmp"))
    folder.chmod(0o711)
    yield folder
    shutil.rmtree(folder)


@pytest.fixture(scope="module")
def proxy(scratch: Path) -> Path:
    """Where JupyterHub's proxy is."""
    found = proxy_folder(scratch)
    if found is None:
        pytest.skip("npm is missing: install it to run the tests of the hub")
    return found


@pytest.fixture(scope="module")
def hub(scratch: Path, proxy: Path, checkout: Path) -> Iterator[RunningHub]:
    """A hub, with an account for each learner where that can be."""
    with running_hub(scratch, proxy, checkout, *ACCOUNT) as running:
        yield running


@pytest.fixture(scope="module")
def ada_and_bo(hub: RunningHub) -> tuple[Learner, Learner]:
    """Two learners, whose servers run."""
    ada, bo = (Learner(hub.address, name, PASSWORD) for name in NAMES)
    with ThreadPoolExecutor() as both:
        list(both.map(Learner.start, (ada, bo)))
    return ada, bo


class TestWhatIsRefused:
    """Before anything is started: each with what to do."""

    @pytest.fixture
    def all_there(self, monkeypatch):
        monkeypatch.setattr(hubs.shutil, "which", lambda program: f"/usr/bin/{program}")

    def test_a_part_that_is_missing_is_named_with_how_to_get_it(self, ask, tmp_path, monkeypatch):
        monkeypatch.setattr(hubs.shutil, "which", lambda program: None)
        code, _, said = ask("hub", tmp_path / "class")
        assert code == 2
        assert "configurable-http-proxy" in said
        assert "npm install -g configurable-http-proxy@5.3.0" in said
        monkeypatch.setattr(hubs.importlib.util, "find_spec", lambda name: None)
        assert 'pip install ".[hub]"' in ask("hub", tmp_path / "class")[2]
        assert not (tmp_path / "class").exists()

    def test_without_the_superuser_it_says_what_learners_could_do(self, ask, tmp_path, monkeypatch, all_there):
        monkeypatch.setattr(hubs, "each_has_an_account", lambda: False)
        code, _, said = ask("hub", tmp_path / "class")
        assert code == 2
        assert "sudo" in said
        assert "read, change and delete what the others keep" in said
        monkeypatch.setattr(hubs, "each_has_an_account", lambda: True)
        assert "never run as the superuser" in ask("hub", tmp_path / "class", "--one-account")[2]
        assert not (tmp_path / "class").exists()

    @superuser_only
    def test_a_folder_that_learners_cannot_get_to(self, ask, tmp_path, all_there):
        closed = tmp_path / "closed"
        closed.mkdir(mode=0o700)
        code, _, said = ask("hub", closed / "class", "--port", "23456")
        assert code == 2
        assert "closed to others" in said
        assert not (closed / "class").exists()

    @pytest.mark.parametrize(
        "kind", ["sign-in", "settings", "no settings", "password", "network", "a file", "not mine"]
    )
    def test_whatever_is_refused_leaves_nothing_behind(self, ask, tmp_path, monkeypatch, all_there, kind):
        monkeypatch.setattr(hubs, "_check_reach", lambda root: None)
        monkeypatch.setattr(hubs.Hub, "start", lambda *_: pytest.fail("it was started"))
        wrong, folder = tmp_path / "wrong", tmp_path / "class"
        wrong.write_text("c.JupyterHub = = 1")
        wrong.chmod(0o600)
        options = {
            "sign-in": ("--sign-in", "nowhere.Nobody"),
            "settings": ("--settings", wrong),
            "no settings": ("--settings", tmp_path),
            "password": ("--password-file", tmp_path / "nowhere"),
            "network": ("--lan", "--password-file", wrong),
        }.get(kind, ())
        monkeypatch.setattr("gearcalc.serving.addresses._cards", list)
        if kind == "a file":
            folder = wrong / "class"
        if kind == "not mine":
            folder.mkdir()
            monkeypatch.setattr(hubs.os, "geteuid", lambda: 54_321)
        before = sorted(tmp_path.rglob("*"))
        code, said, why = ask("hub", folder, "--port", free_ports(), *options, *ACCOUNT)
        assert (code, said, sorted(tmp_path.rglob("*"))) == (2, "", before), why
        assert {"sign-in": "installed here (No module", "settings": "line 1 (invalid syntax)"}.get(kind, "") in why

    def test_a_port_that_is_taken(self, ask, tmp_path, monkeypatch, all_there):
        with socket.socket() as other:
            other.bind(("127.0.0.1", 0))
            other.listen()
            port = min(other.getsockname()[1], 65_000)
            assert f"port {port} can't be had" in ask("hub", tmp_path / "class", "--port", port, *ACCOUNT)[2]
        assert not (tmp_path / "class").exists()

    @pytest.fixture
    def left(self, tmp_path):
        """What is still running of a hub over tmp_path / "class", for as long as it is told."""
        (tmp_path / "class" / ".hub").mkdir(parents=True)
        began = []

        def start(port, seconds):
            code = f"import socket, time; it = socket.create_server(('127.0.0.1', {port})); time.sleep({seconds})"
            began.append(subprocess.Popen([sys.executable, "-c", code, PROXY]))
            while not answers(port):
                time.sleep(0.05)
            (tmp_path / "class" / ".hub" / "jupyterhub-proxy.pid").write_text(str(began[-1].pid))
            return began[-1].pid

        yield start
        for each in began:
            each.kill()
            each.wait()

    def test_one_s_own_hub_that_is_just_ending_is_waited_for(self, ask, tmp_path, monkeypatch, all_there, left):
        monkeypatch.setattr(hubs, "_check_reach", lambda root: None)
        port = free_ports()
        pid = left(port, 2)
        options = ("--port", port, "--password-file", tmp_path / "nowhere", *ACCOUNT)
        said = ask("hub", tmp_path / "class", *options)[2]
        assert f"process {pid}" in said
        assert "can't be had" not in said
        assert "password can't be read" in said, "which is asked for after that"
        monkeypatch.setattr(hubs, "_PATIENCE_S", 0.5)
        pid = left(port, 60)
        said = ask("hub", tmp_path / "class", *options)[2]
        assert f"a hub over this folder still runs (process {pid})" in said
        assert f"kill {pid}" in said

    def test_a_number_that_another_process_has_by_now_is_no_hub(self, tmp_path):
        (tmp_path / "jupyterhub.pid").write_text(str(os.getppid()))
        (tmp_path / "jupyterhub-proxy.pid").write_text("no number")
        assert hubs._still_runs(tmp_path) is None

    def test_a_password_that_others_can_read_or_guess(self, tmp_path):
        secret = tmp_path / "password"
        for text, mode, why in [
            (PASSWORD, 0o644, "others can read"),
            ("brass", 0o600, "too short"),
            ("", 0o600, "empty"),
        ]:
            secret.write_text(text)
            secret.chmod(mode)
            with pytest.raises(NotPossibleError, match=why) as refused:
                hubs.class_password(str(secret))
            assert not text or text not in str(refused.value)
        with pytest.raises(NotPossibleError, match="No such file"):
            hubs.class_password(str(tmp_path / "nowhere"))
        secret.write_text(f"{PASSWORD}\nand what else there is")
        assert hubs.class_password(str(secret)) == PASSWORD

    def test_a_password_that_is_typed_is_asked_for_twice(self, monkeypatch):
        for typed, is_taken in [((PASSWORD, PASSWORD), True), ((PASSWORD, f"{PASSWORD}d"), False)]:
            asked = iter(typed)
            monkeypatch.setattr(hubs, "getpass", lambda _, asked=asked: next(asked))
            if is_taken:
                assert hubs.class_password(None) == PASSWORD
            else:
                with pytest.raises(NotPossibleError, match="the second password is not the first"):
                    hubs.class_password(None)

    def test_where_it_would_be_seen_it_is_not_asked_for(self):
        """A session of its own has no terminal: what Python would warn of three times is refused in a sentence."""
        asks = "from gearcalc.serving.hubs import class_password; class_password(None)"
        alone = {"capture_output": True, "text": True, "start_new_session": True, "check": False}
        found = subprocess.run([sys.executable, "-c", asks], input=f"{PASSWORD}\n{PASSWORD}\n", **alone)
        assert "no terminal to type the password at unseen" in found.stderr
        assert "--password-file" in found.stderr
        assert "Warning" not in found.stderr
        assert PASSWORD not in found.stderr + found.stdout

    @superuser_only
    def test_a_folder_that_is_no_learners(self, tmp_path):
        for folder in (tmp_path, tmp_path / "other"):
            (folder / ".hub").mkdir(parents=True)
        first, second = account_of(tmp_path / "ada"), account_of(tmp_path / "bo")
        assert (second, new_account(tmp_path)) == (first + 1, first + 2)
        assert account_of(tmp_path / "other" / "ada") not in accounts_in(tmp_path), "of another class"
        assert account_of(tmp_path / "ada") == first
        (tmp_path / "mine").mkdir()
        (tmp_path / "link").symlink_to(tmp_path / "ada")
        for name in ("mine", "link"):
            with pytest.raises(NotPossibleError, match="no learner's account"):
                account_of(tmp_path / name)


TALKS = """
import logging, subprocess, sys
from pathlib import Path
from gearcalc.serving.hub_words import log_apart
terminal = log_apart(Path(sys.argv[1]), lambda: 7)
logger = logging.getLogger("JupyterHub")
logger.addHandler(terminal)
logger.addHandler(logging.StreamHandler())
subprocess.run([sys.executable, "-c", "import sys; print('Uncaught Exception: read ECONNRESET', file=sys.stderr)"])
logger.warning("404 GET /hub/nowhere")
logger.warning("Running JupyterHub without SSL.")
try:
    1 / 0
except ZeroDivisionError:
    logger.exception("Failed to start the server of \\x1b[31mAda\\nmore of it")
{}
"""


class TestTheTerminal:
    def talks(self, log, end):
        done = subprocess.run([sys.executable, "-c", TALKS.format(end), log], capture_output=True, text=True)
        return done.stdout + done.stderr

    def test_it_shows_what_a_person_can_use_and_the_log_has_all(self, tmp_path):
        twice = 'for _ in "ab": logger.critical("Received signal SIGINT, initiating shutdown...")'
        said = self.talks(tmp_path / "log", twice).splitlines()
        assert len(said) == 3, said
        assert "\x1b" not in said[0]
        assert said[0].startswith("JupyterHub: Failed to start the server of")
        assert said[0].endswith("Ada: division by zero")
        assert said[1].startswith("It ends, with the servers of 7 learners: that takes up to")
        assert said[2] == "It has ended."
        log = (tmp_path / "log").read_text()
        for each in ("ECONNRESET", "404 GET", "without SSL", "ZeroDivisionError", "Received signal", "more of it"):
            assert each in log

    def test_a_terminal_that_is_gone_keeps_nothing_from_ending(self, tmp_path):
        gone, terminal = os.pipe()
        os.close(gone)
        ends = 'logger.critical("Received signal SIGTERM, ..."); print("and goes on to its end")'
        done = subprocess.run([sys.executable, "-c", TALKS.format(ends), tmp_path / "log"], stderr=terminal)
        os.close(terminal)
        assert done.returncode == 0
        assert "and goes on to its end" in (tmp_path / "log").read_text()

    def test_an_end_that_nobody_asked_for_is_told_with_what_was_said_last(self, tmp_path):
        (tmp_path / "log").write_text("of yesterday\n")
        said = self.talks(tmp_path / "log", 'raise SystemExit("Bad config")')
        assert "JupyterHub has ended by itself. What it said last:\n" in said
        assert said.endswith(f"Bad config\nAll of it: {tmp_path / 'log'}\n")
        assert "yesterday" not in said
        assert (tmp_path / "log").read_text().startswith("of yesterday\n")

    def test_that_it_is_open_is_said_once_the_hub_answers_and_not_its_proxy_alone(self, tmp_path):
        answers = [503, 503, 200]

        class Answers(BaseHTTPRequestHandler):
            def do_GET(self):
                self.send_response(answers.pop(0))
                self.end_headers()

            def log_message(self, *_):
                pass

        (tmp_path / "log").touch()
        read, write = os.pipe()
        with HTTPServer(("127.0.0.1", 0), Answers) as proxy:
            terminal = Terminal(write, tmp_path / "log", lambda: 0)
            terminal.tell_when_open(proxy.server_port)
            for _ in range(3):
                assert not select.select([read], [], [], 0)[0]
                proxy.handle_request()
        assert os.read(read, 1000).decode() == f"{OPEN}\n"
        assert answers == []
        os.close(read)
        os.close(write)

    def test_ctrl_c_before_it_is_open_is_said_in_a_line(self, tmp_path, checkout):
        (tmp_path / "jupyterhub").mkdir()
        (tmp_path / "jupyterhub" / "__init__.py").touch()
        begins = "import os, time\ndef main():\n os.write(1, b'.')\n os.dup2(1, 2)\n time.sleep(60)"
        (tmp_path / "jupyterhub" / "app.py").write_text(begins)
        path = os.pathsep.join([str(tmp_path), str(checkout)])
        hub = subprocess.Popen(
            [sys.executable, "-P", "-c", hubs._BECOMES_JUPYTERHUB],
            env={**os.environ, "PYTHONPATH": path},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        assert hub.stdout.read(1) == b"."
        hub.send_signal(signal.SIGINT)
        rest, said = hub.communicate(timeout=60)
        assert (hub.returncode, rest, said.decode()) == (130, b"", f"{BEFORE_IT_WAS_OPEN}\n")


class TestWhoComesIn:
    @pytest.mark.parametrize(
        ("name", "password"),
        [("Ada", "brass-and-cast-lead"), ("Ada", ""), ("../Ada", PASSWORD), (".hub", PASSWORD), ("%2e%2e", PASSWORD)],
    )
    def test_a_wrong_password_or_no_name_gets_nothing(self, hub, name, password):
        before = sorted(each.name for each in hub.folder.iterdir())
        nobody = Learner(hub.address, name, password)
        assert not nobody.is_in
        assert nobody.answer.status_code == 403
        assert "/hub/login" in nobody.session.get(f"{hub.address}/hub/spawn", timeout=60).url
        assert sorted(each.name for each in hub.folder.iterdir()) == before

    def test_a_name_is_no_markup_and_the_page_asks_no_other_host(self, hub):
        page = Learner(hub.address, f'">{RUNS}', PASSWORD).answer
        assert page.status_code == 403
        assert acting(page.text) == ["form"], "its own"
        policy = page.headers["Content-Security-Policy"]
        assert policy.startswith("default-src 'self'; ")
        assert "frame-ancestors 'none'" in policy
        assert not re.findall(r"http|\*|unsafe-eval", policy)
        assert page.headers["X-Content-Type-Options"] == "nosniff"
        assert page.headers["Referrer-Policy"] == "same-origin"

    def test_the_page_says_what_a_name_may_be_before_and_after(self, hub):
        before = requests.get(f"{hub.address}/hub/login", timeout=60).text
        assert escape(NAMES_ARE) in before
        assert "can't be a name" not in unescape(before)
        for name, is_none in [
            ("..", True),
            ("a/b", True),
            ("", True),
            ("n" * 45, True),
            ("n" * 36, False),
            ("Ada", False),
        ]:
            after = unescape(Learner(hub.address, name, PASSWORD if is_none else "brass-and-cast-lead").answer.text)
            assert ("This can't be a name here." in after) is is_none
            assert ("Invalid username or password" in after) is not is_none

    def test_the_password_stands_nowhere(self, hub, ada_and_bo):
        assert PASSWORD not in hub.log.read_text(errors="replace")
        told = [name for way in Path("/proc").glob("[0-9]*") for name in ("cmdline", "environ") if _has(way / name)]
        assert told == []
        in_own_folder = [each for each in (hub.folder / ".hub").iterdir() if PASSWORD.encode() in each.read_bytes()]
        assert in_own_folder == []


def _has(way: Path) -> bool:
    try:
        return PASSWORD.encode() in way.read_bytes()
    except OSError:
        return False


class TestEachHasTheirOwn:
    def test_lessons_and_a_kernel(self, hub, ada_and_bo):
        for learner, place in zip(ada_and_bo, ("7 ada", "bo"), strict=True):
            there = {each["name"] for each in learner.ask("api/contents").json()["content"]}
            assert there >= {path.name for path in notebooks_folder().glob("*.ipynb")}
            said = learner.run(
                learner.kernel(), "import os, gearcalc as gc\nprint(os.getcwd(), gc.demo_lathe('inch').units)"
            )
            assert said == f"{hub.folder / place} inch\n"

    def test_nobody_opens_the_server_of_another(self, ada_and_bo):
        ada, bo = ada_and_bo
        assert ada.ask("api/contents").status_code == 200
        for way in ("api/contents", "api/kernels", "files/00_start_here.ipynb"):
            refused = bo.ask(way, whose="7 ada")
            assert refused.status_code == 403
            assert "start_here" not in refused.text
        assert bo.ask("api/terminals", "POST").status_code in (403, 404, 503)

    @superuser_only
    def test_what_a_learner_runs_reaches_nobody_else(self, hub, ada_and_bo):
        ada, bo = ada_and_bo
        home = hub.folder / "7 ada"
        assert ada.run(ada.kernel(), "open('secret.txt', 'w').write('ada')") == "3"
        assert (home / "secret.txt").read_text() == "ada"
        own = hub.folder / ".hub"
        ways = [hub.folder, home, home / "secret.txt", own, own / "jupyterhub.sqlite", own / "jupyterhub_cookie_secret"]
        ways += [hub.folder.parent / "password", Path(_desk_of(home)), Path("/etc/shadow")]
        assert all(way.exists() for way in ways)
        seen = bo.run(bo.kernel(), EVERYTHING_OF_OTHERS.format(ways=list(map(str, ways))))
        assert seen == "seen: []\n"
        assert stat.S_IMODE(home.stat().st_mode) == 0o700
        assert home.stat().st_uid != (hub.folder / "bo").stat().st_uid

    @superuser_only
    def test_what_listens_for_a_learner_takes_nothing_from_another(self, hub, ada_and_bo):
        ada, bo = ada_and_bo
        kernel, account = ada.kernel(), (hub.folder / "7 ada").stat().st_uid
        port, secret = ada.run(kernel, HEARS).split()
        kernels = {each["id"] for each in ada.ask("api/kernels").json()}
        told = {each: ada.run(each, HEARS).split()[0] for each in kernels - {kernel}}
        left = _listening(account) - {int(port), *map(int, told.values())}
        assert len(left) == 1, "the server of a learner, and for each kernel one port"
        assert bo.run(bo.kernel(), ASKS_THE_SERVER.format(left.pop())) in ("302\n", "403\n")
        assert bo.run(bo.kernel(), SENDS.format(port, secret)) == ""
        assert ada.run(kernel, SAYS_WHAT_IT_HEARD) == "[b'with the secret']\n"

    def test_no_debugger_opens_a_port_to_whoever_finds_it(self, ada_and_bo):
        page = ada_and_bo[0].ask("lab").text
        off = json.loads(page.split('id="jupyter-config-data" type="application/json">')[1].split("</script>")[0])
        assert {"@jupyterlab/debugger-extension", "@jupyterlab/apputils-extension:announcements"} <= set(
            off["disabledExtensions"]
        )

    @superuser_only
    def test_a_learner_wins_no_rights_back(self, ada_and_bo):
        ada, _ = ada_and_bo
        code = (
            "import os\ntry:\n    os.setuid(0)\nexcept OSError as problem:\n    print(problem.strerror, os.getgroups())"
        )
        assert ada.run(ada.kernel(), code) == "Operation not permitted []\n"
        status = ada.run(
            ada.kernel(), "print([line.split()[1] for line in open('/proc/self/status') if 'NoNewPrivs' in line])"
        )
        assert status == "['1']\n"


def _listening(account: int) -> set[int]:
    """The ports at which processes of an account listen, as the kernel of the system has them."""
    rows = [row.split() for name in ("tcp", "tcp6") for row in Path(f"/proc/net/{name}").read_text().splitlines()[1:]]
    return {int(row[1].rpartition(":")[2], 16) for row in rows if row[3] == "0A" and int(row[7]) == account}


def _desk_of(home: Path) -> Path:
    return next(each for each in Path("/tmp").glob("gearcalc-*") if each.stat().st_uid == home.stat().st_uid)


class TestWhatALearnerTakes:
    def test_too_much_memory_costs_the_cell_alone(self, ada_and_bo):
        ada, bo = ada_and_bo
        mine, other, of_bo = ada.kernel(), ada.kernel(), bo.kernel()
        assert "MemoryError" in ada.run(mine, "much = bytearray(2 * 10**9)")
        for learner, kernel in ((ada, mine), (ada, other), (bo, of_bo)):
            assert learner.run(kernel, "6 * 7") == "42"


class TestTheWork:
    def test_answers_lie_where_marks_reads_them(self, hub, ada_and_bo, ask):
        for number, learner in enumerate(ada_and_bo, 7):
            keep = f"book.keep_class_number({number}); book.keep_name({learner.name!r})"
            answered = f"book.keep_answer('lead-of-a-leadscrew', Go({number}, answer='1/8 in', tries=1))"
            book = "from gearcalc.learning.answer_book import Go, answer_book\nbook = answer_book()"
            assert learner.run(learner.kernel(), f"{book}; {keep}; {answered}; print(book.trouble)") == "None\n"
        code, said, _ = ask("marks", hub.folder, "--json")
        marks = json.loads(said)
        assert [(each["class_number"], each["name"]) for each in marks["learners"]] == [(7, "7 Ada"), (8, "Bo")]
        assert code == 0

    def test_lessons_are_brought_up_to_date_at_sign_in_and_nothing_typed_is_lost(self, hub, ada_and_bo):
        bo = ada_and_bo[1]
        older = """
import json, hashlib
from pathlib import Path
from gearcalc.learning import shipped
def written(name, text):
    page = json.loads(Path(name).read_text())
    page["cells"][0]["source"] = text
    Path(name).write_text(json.dumps(page))
    return shipped.fingerprint(Path(name).read_bytes())
known = dict(shipped.remembered(Path(".")))
for name in ("01_one_turn.ipynb", "02_two_pairs.ipynb"):
    known[name] = (written(name, "of an older edition"),)
written("02_two_pairs.ipynb", "typed by Bo")
shipped.remember(Path("."), known)
"""
        assert bo.run(bo.kernel(), older) == ""
        bo.stop()
        bo.start()
        first = {each["name"] for each in bo.ask("api/contents").json()["content"]}
        yours = next(name for name in first if name.startswith("02_two_pairs (yours"))
        assert not any(name.startswith("01_one_turn (yours") for name in first)
        text = "print('older edition' in open('01_one_turn.ipynb').read(), 'typed by Bo' in open({!r}).read())"
        assert bo.run(bo.kernel(), text.format(yours)) == "False True\n"


@pytest.mark.skipif(not THOROUGH, reason="ten at once are asked for under --thorough")
class TestAClass:
    def test_ten_at_once(self, hub):
        ten = [Learner(hub.address, f"{number} of ten", PASSWORD) for number in range(1, 11)]
        with ThreadPoolExecutor(10) as all_of_them:
            took = list(all_of_them.map(Learner.start, ten))
            said = list(all_of_them.map(lambda one: one.run(one.kernel(), "import os; print(os.getcwd())"), ten))
        assert said == [f"{hub.folder / one.name}\n" for one in ten]
        each = sum(_memory((hub.folder / one.name).stat().st_uid) for one in ten) / len(ten) / 2**20 if IS_ROOT else 0
        print(f"ten servers after {max(took):.0f} s, the first after {min(took):.0f}; {each:.0f} MB each")
        assert each < 300  # of which a machine for thirty is reckoned
        for one in ten:
            one.stop()


def _memory(account: int) -> int:
    """The bytes that the processes of an account take, what several share counted in parts."""
    total = 0
    for way in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):  # it has ended meanwhile
            if way.stat().st_uid == account:
                lines = (way / "smaps_rollup").read_text().splitlines()
                total += sum(1024 * int(line.split()[1]) for line in lines if line.startswith("Pss:"))
    return total


class TestThePageToSignIn:
    def test_axe_finds_nothing_in_either_theme(self, hub, chromium):
        with chromium.new_page() as page:
            page.goto(f"{hub.address}/hub/login")
            found = axe.found_on(page)
            page.fill("input[name=username]", "a/b")
            page.fill("input[name=password]", "no password")
            page.keyboard.press("Enter")
            page.get_by_text("This can't be a name here.").wait_for()
            found += axe.found_on(page)
            page.evaluate("document.documentElement.dataset.bsTheme = 'dark'")
            page.wait_for_timeout(500)  # it fades
            found += axe.found_on(page, rules=axe.COLOURS)
        assert found == []


class TestWhenItEnds:
    def test_nothing_is_left_running(self, hub, ada_and_bo):
        ada, _ = ada_and_bo
        code = "import subprocess\nprint(subprocess.Popen(['sleep', '1000'], start_new_session=True).pid)"
        left = int(ada.run(ada.kernel(), code))
        assert Path(f"/proc/{left}").exists()
        before = hub.log.read_text()
        assert before.count(OPEN) == 1
        began = time.monotonic()
        hub.stop()
        assert time.monotonic() - began < SECONDS_TO_END
        said = hub.log.read_text().removeprefix(before).splitlines()
        assert said == [
            f"It ends, with the servers of 2 learners: that takes up to {SECONDS_TO_END} seconds ...",
            "It has ended.",
        ]
        for frightens in ("Traceback", "Uncaught", "404", "SSL", "[W ", "[E ", "[C "):
            assert frightens not in before
        assert "without SSL" in (hub.folder / ".hub" / "hub.log").read_text()
        accounts = {each.stat().st_uid for each in hub.folder.iterdir() if each.name != ".hub"}
        if IS_ROOT:
            assert [way for way in Path("/proc").glob("[0-9]*") if _owner(way) in accounts and _runs(way)] == []
        assert hub.answers_at() == []
        assert not [desk for desk in Path("/tmp").glob("gearcalc-*") if _owner(desk) in accounts and IS_ROOT]

    def test_a_terminal_that_is_closed_ends_it_too(self, proxy, checkout):
        scratch = Path(tempfile.mkdtemp(prefix="hub", dir="/tmp"))
        scratch.chmod(0o711)
        try:
            with running_hub(scratch, proxy, checkout, *ACCOUNT) as other:
                assert len(other.answers_at()) == 3
                other.stop(signal.SIGHUP)
                assert other.answers_at() == []
        finally:
            shutil.rmtree(scratch)


def _runs(process: Path) -> bool:
    """Whether it does, and does not only wait to be forgotten."""
    try:
        return bool((process / "cmdline").read_bytes())
    except OSError:
        return False


def _owner(way: Path) -> int | None:
    try:
        return way.stat().st_uid
    except OSError:
        return None
