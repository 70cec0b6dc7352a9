"""The server of a site hands out the files of one folder, whatever it is asked, and goes on serving.

What a request should come to is said here from RFC 9110 (HTTP semantics) and RFC 9112 (HTTP/1.1).
"""

from __future__ import annotations

import gzip
import http.client
import json
import os
import random
import re
import signal
import socket
import subprocess
import sys
import threading
import time
import traceback
from contextlib import contextmanager

import pytest

from gearcalc.basics.errors import NotPossibleError
from gearcalc.serving import servers
from gearcalc.serving.addresses import Card, addresses, in_order
from gearcalc.serving.servers import SiteServer
from gearcalc.serving.site_files import SiteFolder, name_asked
from gearcalc.serving.sites import STAMP, check_folder
from tests.how_much import THOROUGH, in_one

SECRET = b"nobody's business"
PAGE = b"<!DOCTYPE html><title>Lessons</title><script>start()</script><p>" + b"words " * 400
FILES = {
    STAMP: b'{"what": "a site of gearcalc lessons", "files": []}',
    "index.html": PAGE,
    "lab/index.html": b"<!DOCTYPE html><title>Lab</title>",
    "empty/nothing.txt": b"",
    "lab/start.mjs": b"export const one = 1;\n" * 50,
    "build/963.71d40b5.js": b"let two = 2;\n" * 50,
    "static/python.wasm": b"\0asm" + bytes(5_000),
    "static/gearcalc-0.1.0-py3-none-any.whl": b"PK" + os.urandom(3_000),
    "static/gearcalc-0.1.0-084888b6f-py3-none-any.whl": b"PK" + os.urandom(3_000),
    "files/01_one_turn.ipynb": json.dumps({"cells": [], "metadata": {}}).encode(),
    "files/\N{LATIN SMALL LETTER U WITH DIAERESIS}bung.json": b"[1]",
    ".hidden": SECRET,
    ".git/config": SECRET,
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    top = tmp_path_factory.mktemp("served")
    place = top / "site"
    for name, content in FILES.items():
        (place / name).parent.mkdir(parents=True, exist_ok=True)
        (place / name).write_bytes(content)
    (top / "secret.txt").write_bytes(SECRET)
    (top / "site-of-another").mkdir()
    (top / "site-of-another" / "secret.txt").write_bytes(SECRET)
    if os.name == "posix":
        (place / "out.txt").symlink_to(top / "secret.txt")
        (place / "up").symlink_to(top)
        os.mkfifo(place / "pipe")
    return place


@contextmanager
def serving(folder, **settings):
    said = []
    with SiteServer(folder, 0, say=said.append, **settings) as server:
        running = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
        running.start()
        server.said = said
        try:
            yield server
        finally:
            server.shutdown()
            running.join()


@pytest.fixture(scope="module")
def server(folder):
    with serving(folder) as one:
        yield one


@pytest.fixture
def get(server):
    def ask(path, method="GET", **headers):
        asked = http.client.HTTPConnection("127.0.0.1", server.server_port, timeout=10)
        asked.request(method, path, headers={name.replace("_", "-"): value for name, value in headers.items()})
        answer = asked.getresponse()
        answer.content = answer.read()
        asked.close()
        return answer

    return ask


def said_to(port, request, seconds=30.0):
    """What comes back for these bytes, until the server ends the line."""
    got = b""
    with socket.create_connection(("127.0.0.1", port), timeout=seconds) as line:
        try:
            line.sendall(request)
            line.shutdown(socket.SHUT_WR)
            while more := line.recv(65_536):
                got += more
        except OSError as problem:  # the server may have ended the line before all was said
            if isinstance(problem, TimeoutError):
                raise AssertionError(
                    f"nothing more came in {seconds} s after {request[:80]!r}: {got[:200]!r}"
                ) from None
    return got


class TestWhatIsHandedOut:
    @in_one("name", [name for name in FILES if not name.startswith(".")])
    def test_each_file_as_it_is(self, get, name):
        path = "/" + name.replace("\N{LATIN SMALL LETTER U WITH DIAERESIS}", "%C3%BC")
        plain, small = get(path), get(path, Accept_Encoding="br, gzip")
        assert (plain.status, plain.content) == (200, FILES[name])
        is_small = small.getheader("Content-Encoding") == "gzip"
        assert (gzip.decompress(small.content) if is_small else small.content) == FILES[name]
        assert plain.getheader("Content-Encoding") is None
        assert int(small.getheader("Content-Length")) == len(small.content)

    def test_head_tells_of_it_and_sends_nothing(self, get):
        full, head = get("/lab/start.mjs"), get("/lab/start.mjs", "HEAD")
        assert head.content == b""
        assert {**dict(head.getheaders()), "Date": ""} == {**dict(full.getheaders()), "Date": ""}

    def test_a_folder_is_its_first_page_and_is_never_listed(self, get):
        assert get("/").content == PAGE
        assert get("/lab/").content == FILES["lab/index.html"]
        assert get("/lab?path=a%20b&x=//y").getheader("Location") == "/lab/?path=a%20b&x=//y"
        assert [get(path).status for path in ("/empty", "/empty/", "/files/", "/build")] == [404] * 4

    @in_one(
        "path", ["/.hidden", "/.git/config", "/out.txt", "/up/secret.txt", "/up/site/index.html", "/pipe", "/nothing"]
    )
    def test_what_is_hidden_linked_or_no_file_is_not_there(self, get, path):
        answer = get(path)
        assert (answer.status, SECRET in answer.content) == (404, False)

    @in_one(
        "path",
        [
            "/../secret.txt", "/%2e%2e/secret.txt", "/lab/..%2f..%2fsecret.txt", "/..%5csecret.txt",
            "/%252e%252e/secret.txt", "//../secret.txt", "/lab/../../secret.txt", "/%c0%ae%c0%ae/secret.txt",
            "/../site-of-another/secret.txt", "/C:/Windows/win.ini", "/C%3a%5cWindows%5cwin.ini", "/index.html%00.txt",
            "/index.html::$DATA", "/index.html.", "/INDEX.HTML", "/lab%2findex.html%00", "//etc/passwd",
            "/%2fetc/passwd", "/file:///etc/passwd", "/~root/", "/lab/./start.mjs", "/nul", "/con",
            "http://other.example/../secret.txt", "*", "secret.txt", "/%ff%fe", "/%",
        ],
    )  # fmt: skip
    def test_no_way_of_writing_it_leads_out(self, server, path):
        got = said_to(server.server_port, f"GET {path} HTTP/1.1\r\nHost: x\r\n\r\n".encode("latin-1"))
        assert SECRET not in got
        assert re.match(rb"HTTP/1.1 (404|400) ", got), got[:80]

    def test_types_are_ours_whatever_the_system_says(self, get, monkeypatch):
        monkeypatch.setattr("mimetypes.guess_type", lambda *_, **__: ("text/plain", None))
        types = {
            "/lab/start.mjs": "text/javascript; charset=utf-8",
            "/build/963.71d40b5.js": "text/javascript; charset=utf-8",
            "/static/python.wasm": "application/wasm",
            "/static/gearcalc-0.1.0-py3-none-any.whl": "application/zip",
            "/files/01_one_turn.ipynb": "application/json",
            "/": "text/html; charset=utf-8",
        }
        assert {path: get(path).getheader("Content-Type") for path in types} == types


class TestWhatABrowserKeeps:
    @in_one("path", ["/build/963.71d40b5.js", "/static/gearcalc-0.1.0-084888b6f-py3-none-any.whl"])
    def test_a_name_with_a_hash_is_kept_for_good(self, get, path):
        assert "immutable" in get(path).getheader("Cache-Control")

    @in_one("path", ["/", "/lab/start.mjs", "/static/python.wasm", "/static/gearcalc-0.1.0-py3-none-any.whl"])
    def test_else_it_is_asked_for_and_not_sent_again(self, get, path):
        for wish in ("identity", "gzip"):
            first = get(path, Accept_Encoding=wish)
            assert first.getheader("Cache-Control") == "no-cache"
            again = get(path, Accept_Encoding=wish, If_None_Match=f'"old", W/{first.getheader("ETag")}')
            assert (again.status, again.content, again.getheader("ETag")) == (304, b"", first.getheader("ETag"))

    def test_what_is_made_small_has_a_mark_of_its_own(self, get):
        plain, small = get("/"), get("/", Accept_Encoding="gzip;q=0.5")
        assert plain.getheader("ETag") != small.getheader("ETag")
        assert plain.getheader("Vary") == small.getheader("Vary") == "Accept-Encoding"
        assert len(small.content) < len(plain.content) / 5
        assert get("/", Accept_Encoding="gzip;q=0").getheader("Content-Encoding") is None

    def test_a_site_made_anew_is_seen_at_once(self, folder, get):
        page, wheel = folder / "lab" / "changed.json", folder / "static" / "same.whl"
        page.write_bytes(b"old!")
        wheel.write_bytes(b"PK same")
        time.sleep(1.1)  # a new file is looked for once a second
        before, kept = get("/lab/changed.json"), get("/static/same.whl")
        page.write_bytes(b"new!")
        os.utime(page, ns=(1, 1))
        wheel.unlink()
        wheel.write_bytes(b"PK same")
        after = get("/lab/changed.json", If_None_Match=before.getheader("ETag"))
        assert (before.content, after.status, after.content) == (b"old!", 200, b"new!")
        assert get("/static/same.whl", If_None_Match=kept.getheader("ETag")).status == 304
        page.unlink()
        assert get("/lab/changed.json").status == 404


class TestWhatAPageMayDo:
    @in_one("path", ["/", "/lab/", "/lab/start.mjs", "/files/01_one_turn.ipynb", "/nothing"])
    def test_no_other_host_is_named(self, get, path):
        policy = get(path).getheader("Content-Security-Policy")
        assert re.match("default-src '(self|none)'", policy)
        assert not {"http", "*", ":/"} & set(re.findall(r"http|\*|:/", policy))
        assert "frame-ancestors 'self'" in policy or path.endswith(".mjs"), "no page of another's can hold it"

    def test_others_can_neither_read_it_from_their_pages_nor_guess_at_types(self, get):
        for path in ("/", "/nothing", "/static/python.wasm", "/lab"):
            headers = {name.lower(): value for name, value in get(path, Origin="http://other.example").getheaders()}
            assert not [name for name in headers if name.startswith("access-control")]
            assert headers["x-content-type-options"] == "nosniff"
            assert headers["referrer-policy"] == "no-referrer"
            assert "python" not in headers["server"].lower()


class TestHostileRequests:
    @in_one("method", ["POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE", "CONNECT", "PROPFIND", "GETS", "G"])
    def test_nothing_but_reading(self, server, method):
        got = said_to(server.server_port, f"{method} / HTTP/1.1\r\nHost: x\r\n\r\n".encode())
        assert got.startswith(b"HTTP/1.1 405 ")
        assert b"\r\nAllow: GET, HEAD\r\n" in got

    def test_nothing_is_taken_in(self, server):
        for more in (b"Content-Length: 5\r\n", b"Transfer-Encoding: chunked\r\n", b"Content-Length: -1\r\n"):
            got = said_to(
                server.server_port, b"GET / HTTP/1.1\r\nHost: x\r\n" + more + b"\r\nGET /lab/ HTTP/1.1\r\n\r\n"
            )
            assert got.startswith(b"HTTP/1.1 400 ")
            assert got.count(b"HTTP/1.1 ") == 1, "what it sent with it was taken for a request"

    def test_several_requests_over_one_line_are_answered_in_order(self, server):
        asked = b"GET /lab/ HTTP/1.1\r\nHost: x\r\n\r\n" * 2 + b"GET /nothing HTTP/1.1\r\nConnection: close\r\n\r\n"
        got = said_to(server.server_port, asked)
        assert re.findall(rb"HTTP/1.1 (\d+)", got) == [b"200", b"200", b"404"]

    def test_thousands_of_odd_requests(self, server, get, capfd):
        draw = random.Random(1)
        whole = [b"GET /lab/start.mjs HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"]
        signs = (
            b"GET ",
            b"HEAD ",
            b"/",
            b"..",
            b"%2e",
            b"%2f",
            b"%00",
            b"\\",
            b"\0",
            b"\r\n",
            b"\n",
            b"\r",
            b" ",
            b"?",
        )
        more = (
            b"HTTP/1.1",
            b"HTTP/9.9",
            b"HTTP/1.",
            b"Host: x",
            b": ",
            b"Range: bytes=0-1,5-",
            b"a" * 300,
            b"C:",
            b"#",
        )
        names = (
            b"secret.txt",
            b"/lab",
            b"http://",
            b"If-None-Match: *",
            b"Expect: 100-continue",
            b"\xff\xfe",
            b"\xc3\xbc",
        )
        others = (b"Content-Length: 99999999999999999999", b"Accept-Encoding: gzip;q=", b"\x16\x03\x01\x02\x00\x01")
        pieces = [*signs, *more, *names, *others]

        def odd():
            if draw.random() < 0.5:  # a good one with something wrong in it
                good = bytearray(draw.choice(whole))
                for _ in range(draw.randint(1, 4)):
                    at = draw.randrange(len(good))
                    good[at : at + draw.randint(0, 9)] = draw.choice(pieces)
                return bytes(good)
            return b"".join(draw.choice(pieces) for _ in range(draw.randint(1, 30))) + draw.choice([b"", b"\r\n\r\n"])

        for _ in range(20_000 if THOROUGH else 2_000):
            asked = odd()
            got = said_to(server.server_port, asked)
            assert SECRET not in got
            assert not got or got.startswith((b"HTTP/1.1 ", b"<!DOCTYPE", FILES["lab/start.mjs"][:20])), (
                asked,
                got[:80],
            )
        for long in (
            b"GET /" + b"a" * 10**6,
            b"GET / HTTP/1.1\r\n" + b"a: b\r\n" * 10**5,
            b"GET / HTTP/1.1\r\nX: " + b"a" * 10**6,
        ):
            assert said_to(server.server_port, long + b" HTTP/1.1\r\n\r\n")[9:12] in (b"414", b"431", b"")
        assert get("/").status == 200
        assert server.said == []
        assert capfd.readouterr().err == ""

    def test_who_asks_slowly_or_takes_nothing_is_let_go_and_holds_up_nobody(self, folder, monkeypatch):
        monkeypatch.setattr(servers, "_HEAD_S", 0.6)
        monkeypatch.setattr(servers, "_BETWEEN_S", 0.6)
        monkeypatch.setattr(servers, "_PIECE_S", 0.6)
        large = folder / "static" / "large.zip"
        large.write_bytes(bytes(30_000_000))
        with serving(folder) as server:
            stuck = [socket.create_connection(("127.0.0.1", server.server_port)) for _ in range(60)]
            for line in stuck[20:40]:
                line.sendall(b"GET / HT")
            for line in stuck[40:]:
                line.sendall(b"GET /static/large.zip HTTP/1.1\r\n\r\n")
            begun = time.monotonic()
            assert said_to(server.server_port, b"GET /lab/ HTTP/1.1\r\nConnection: close\r\n\r\n").startswith(
                b"HTTP/1.1 200"
            )
            assert time.monotonic() - begun < 12, "it waited for those: sixty times 0.6 s"
            for _ in range(50):  # a byte now and then does not keep a line
                with_a_byte = [line for line in stuck[20:40] if not _fails(line, b"a")]
                if not server._open and not with_a_byte:
                    break
                time.sleep(0.2)
            assert server._open == {}
            assert not with_a_byte
            for line in stuck:
                line.close()
            assert server.said == []
        large.unlink()

    def test_one_computer_takes_not_all_the_room(self, folder, monkeypatch):
        monkeypatch.setattr(servers, "_MOST_LINES_EACH", 5)
        with serving(folder) as server:
            lines = [socket.create_connection(("127.0.0.1", server.server_port), timeout=5) for _ in range(9)]
            time.sleep(0.5)
            assert len(server._open) == 5
            refused = [line for line in lines if _waiting(line)]
            assert [line.recv(99)[:12] for line in refused] == [b"HTTP/1.1 503"] * 4
            assert server.said == ["More readers ask at once than there is room for; some are asked to wait."]
            for line in lines:
                line.close()
            time.sleep(0.3)
            assert said_to(server.server_port, b"GET / HTTP/1.1\r\nConnection: close\r\n\r\n").startswith(
                b"HTTP/1.1 200"
            )

    def test_what_goes_wrong_is_a_line_and_no_traceback(self, folder, monkeypatch, capfd):
        monkeypatch.setattr(traceback, "print_exc", lambda *_: pytest.fail("a traceback"))
        with serving(folder) as server:
            monkeypatch.setattr(server.site, "find", lambda name: 1 / 0)
            for _ in range(3):
                said_to(server.server_port, b"GET / HTTP/1.1\r\n\r\n")
            assert server.said == ["A request came to nothing (ZeroDivisionError: division by zero)."]
        with serving(folder) as server:
            found = server.site.find("index.html")
            monkeypatch.setattr(type(found), "mark", property(lambda file: file.path.open("x")))
            got = said_to(server.server_port, b"GET / HTTP/1.1\r\n\r\n")
            assert got.startswith(b"HTTP/1.1 500 ")
            assert [line.endswith("this can't be read (File exists).") for line in server.said] == [True]
        assert capfd.readouterr().err == ""


def _fails(line, sent):
    try:
        line.sendall(sent)
    except OSError:
        return True
    return False


def _waiting(line):
    line.settimeout(0.05)
    try:
        return bool(line.recv(1, socket.MSG_PEEK))
    except TimeoutError:
        return False


class TestWhereItListens:
    def test_this_computer_alone_unless_it_is_asked(self, folder, server, monkeypatch):
        assert server.server_address[0] == "127.0.0.1"
        assert (server.addresses, server.class_page_address) == ((), None)
        monkeypatch.setattr(servers, "addresses", lambda: ("192.168.77.1", "10.0.0.9"))
        with serving(folder, lan=True) as open_to_all:
            port = open_to_all.server_port
            assert open_to_all.server_address[0] == "0.0.0.0"
            assert open_to_all.addresses == (f"http://192.168.77.1:{port}/", f"http://10.0.0.9:{port}/")

    def test_a_taken_port_is_left_to_whoever_has_it(self, folder, monkeypatch):
        with socket.socket() as holder:
            holder.bind(("127.0.0.1", 0))
            holder.listen()
            taken = holder.getsockname()[1]
            with pytest.raises(NotPossibleError, match=f"port {taken} is taken. It may be serve itself"):
                SiteServer(folder, taken)
            monkeypatch.setattr(servers, "PORT", taken)
            with SiteServer(folder) as next_one:
                assert taken < next_one.server_port < taken + 20
            monkeypatch.setattr(servers, "_PORTS_TRIED", 1)
            with pytest.raises(NotPossibleError, match="all taken"):
                SiteServer(folder)

    def test_the_name_of_the_computer_is_asked_of_nobody(self, folder, monkeypatch):
        monkeypatch.setattr(socket, "getfqdn", lambda *_: pytest.fail("asked the network"))
        with SiteServer(folder, 0):
            pass

    def test_another_folder_is_refused(self, tmp_path, folder):
        (tmp_path / "essay.txt").write_text("mine")
        (tmp_path / "empty").mkdir()
        for other in (tmp_path, tmp_path / "nothing", tmp_path / "empty", folder / "index.html"):
            with pytest.raises(NotPossibleError, match=r"no site of lessons\. Make one") as told:
                SiteServer(other, 0)
            (advised,) = re.findall(r'python -m gearcalc web "(.+)"', str(told.value))
            check_folder(tmp_path / advised)  # as it says
            assert (tmp_path / advised == other) == (other.name in ("nothing", "empty"))


class TestAddresses:
    def test_the_way_out_first_then_as_they_come_and_guests_only_where_there_is_nothing_else(self):
        cards = [
            Card("lo", "127.0.0.1"),
            Card("docker0", "172.17.0.1"),
            Card("wlan0", "192.168.1.20"),
            Card("eth0", "10.1.1.5"),
        ]
        assert in_order(cards, "10.1.1.5") == ("10.1.1.5", "192.168.1.20")
        assert in_order(cards) == ("192.168.1.20", "10.1.1.5")
        assert in_order(cards[:2]) == ("172.17.0.1",)
        assert in_order(cards[:1]) == ()
        assert in_order([Card("Ethernet", "169.254.3.4")]) == ("169.254.3.4",)

    def test_those_of_this_computer_answer(self, folder):
        try:
            mine = addresses()
        except NotPossibleError:
            pytest.skip("this computer is in no network")
        with serving(folder, lan=True) as server:
            for address in mine:
                with socket.create_connection((address, server.server_port), timeout=5):
                    pass

    def test_without_a_network_it_says_so(self, monkeypatch):
        monkeypatch.setattr("gearcalc.serving.addresses._cards", lambda: [Card("lo", "127.0.0.1")])
        with pytest.raises(NotPossibleError, match=r"in no network\. Connect it"):
            addresses()


class TestTheAddressToType:
    ADDRESS = "http://192.168.77.1:8000/"

    @pytest.fixture
    def scan(self):
        read_barcodes = pytest.importorskip("zxingcpp").read_barcodes  # another program than the one that drew it
        np = pytest.importorskip("numpy")

        def scanned(rows):
            large = np.kron(np.array(rows, dtype=np.uint8) * 255, np.ones((8, 8), dtype=np.uint8))
            return [found.text for found in read_barcodes(large)]

        return scanned

    def test_the_code_in_the_terminal_is_scanned_as_the_address(self, scan):
        from gearcalc.serving.class_page import code_in_signs

        lines = code_in_signs(self.ADDRESS)
        light = {" ": (1, 1), "▀": (0, 1), "▄": (1, 0), "█": (0, 0)}
        rows = []
        for line in lines:
            black_on_white, signs, back = re.fullmatch(r"(\x1b\[30;107m)([ ▀▄█]+)(\x1b\[0m)", line).groups()
            assert black_on_white
            assert back
            rows += [[light[sign][half] for sign in signs] for half in (0, 1)]
        assert scan(rows) == [self.ADDRESS]
        assert all(all(row[:4]) and all(row[-4:]) for row in rows)
        assert all(all(row) for row in rows[:4] + rows[-4:])

    def test_the_page_for_the_board_has_all_addresses_and_runs_nothing(self, folder, monkeypatch):
        monkeypatch.setattr(servers, "addresses", lambda: ("192.168.77.1", "10.0.0.9"))
        with serving(folder, lan=True) as server:
            got = said_to(server.server_port, b"GET /class.html HTTP/1.1\r\nConnection: close\r\n\r\n").decode()
            assert all(address in got for address in server.addresses)
            assert "default-src 'none'" in got
            assert "<script" not in got
            assert '<svg role="img"' in got

    def test_without_lan_there_is_no_such_page(self, get):
        assert get("/class.html").status == 404

    def test_without_segno_there_is_the_address(self, monkeypatch):
        from gearcalc.serving.class_page import class_page, code_in_signs

        monkeypatch.setitem(sys.modules, "segno", None)
        assert code_in_signs(self.ADDRESS) == []
        assert self.ADDRESS in class_page([self.ADDRESS])


@pytest.mark.skipif(os.name != "posix", reason="Ctrl-C is sent otherwise there")
class TestTheCommand:
    def run(self, folder, checkout, *arguments):
        command = [sys.executable, "-m", "gearcalc", "serve", str(folder), *arguments]
        return subprocess.Popen(
            command,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "PYTHONPATH": str(checkout)},
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        )

    def test_it_tells_the_address_serves_and_ends_by_ctrl_c(self, folder, checkout):
        process = self.run(folder, checkout, "--json")
        try:
            said = ""
            while not said.endswith("}\n"):
                said += process.stdout.readline()
            fields = json.loads(said)
            port = fields["port"]
            assert (fields["address"], fields["addresses"]) == (f"http://127.0.0.1:{port}/", [])
            assert said_to(port, b"GET / HTTP/1.1\r\nConnection: close\r\n\r\n").endswith(PAGE)
            process.send_signal(signal.SIGINT)
            out, err = process.communicate(timeout=20)
        finally:
            process.kill()
        assert (process.returncode, out) == (130, "")
        assert re.fullmatch(r"gearcalc: stopped\. Sent: 1 file, \S+ MB\.\n", err)

    def test_what_is_said_is_no_drawing_where_nobody_looks(self, folder, ask, monkeypatch):
        monkeypatch.setattr(servers, "addresses", lambda: ("192.168.77.1", "10.0.0.9"))
        monkeypatch.setattr(SiteServer, "serve_forever", lambda server: None)
        code, out, err = ask("serve", folder, "--lan", "--port", "18644")
        assert (code, err) == (0, "")
        assert out.splitlines()[2] == "    http://192.168.77.1:18644/"
        assert "If that does not open: http://10.0.0.9:18644/" in out
        assert not {"\x1b", "█"} & set(out)

    def test_a_folder_that_is_no_site_is_refused_in_a_line(self, ask, tmp_path):
        code, out, err = ask("serve", tmp_path, "--port", "0")
        assert (code, out) == (2, "")
        code, out, err = ask("serve", tmp_path)
        assert (code, out) == (2, "")
        assert "no site of lessons. Make one: python -m gearcalc web" in err
        (tmp_path / "essay.txt").write_text("mine")
        code, out, err = ask("serve", tmp_path)
        assert 'Make one, in a folder of its own: python -m gearcalc web "lessons-site".' in err


class TestNames:
    def test_a_folder_that_goes_is_an_empty_one(self, tmp_path):
        (tmp_path / "a").write_bytes(b"1")
        site = SiteFolder(tmp_path)
        assert site.find("a") is not None
        (tmp_path / "a").unlink()
        tmp_path.rmdir()
        assert site.find("a") is None

    def test_a_name_is_looked_up_as_it_is_written_in_any_normal_form(self, folder):
        site = SiteFolder(folder)
        assert (
            site.find(name_asked("/files/u%CC%88bung.json"))
            is site.find(name_asked("/files/%C3%BCbung.json"))
            is not None
        )
