"""A learner at a school's own server: signs in as a browser does, and runs code in a kernel of theirs."""

from __future__ import annotations

import json
import time
import uuid
from contextlib import closing
from typing import Any
from urllib.parse import quote

import requests
import websocket

_PATIENCE_S = 240


class Learner:
    """One who signed in with a name and a password, or tried to: `is_in` says which."""

    def __init__(self, address: str, name: str, password: str) -> None:
        self.address, self.name = address.rstrip("/"), name
        self.home = f"{self.address}/user/{quote(name.lower())}"
        self.session = requests.Session()
        self.session.get(f"{self.address}/hub/login", timeout=60).raise_for_status()
        form = {"username": name, "password": password, "_xsrf": self._xsrf("/hub/")}
        self.answer = self.session.post(
            f"{self.address}/hub/login", data=form, params={"next": "/hub/home"}, timeout=60
        )
        self.is_in = self.answer.ok and self.answer.url.endswith("/hub/home")

    def start(self) -> float:
        """Have the server started, and wait until it answers; gives the seconds that it took."""
        began = time.monotonic()
        page = self.session.get(f"{self.address}/hub/spawn", timeout=_PATIENCE_S)
        while not page.url.startswith(f"{self.home}/") or not page.ok:
            assert time.monotonic() - began < _PATIENCE_S, f"{self.name} still waits at {page.url}: {page.status_code}"
            assert page.status_code not in (404, 500), page.text[-3000:]
            time.sleep(0.5)
            page = self.session.get(f"{self.home}/lab", timeout=_PATIENCE_S)
        return time.monotonic() - began

    def stop(self) -> None:
        """Have the server ended, and wait until it is."""
        hub, path = f"{self.address}/hub/api/users/{quote(self.name.lower())}/server", "/hub/"
        self.session.delete(hub, headers={"X-XSRFToken": self._xsrf(path)}, timeout=60).raise_for_status()
        while self.session.get(f"{self.home}/api/status", timeout=60).ok:
            time.sleep(0.2)

    def ask(self, way: str, method: str = "GET", whose: str = "", **what: Any) -> requests.Response:
        """Ask one's own server, or that of another."""
        home = f"{self.address}/user/{quote(whose)}" if whose else self.home
        path = home.removeprefix(self.address) + "/"
        headers = {"X-XSRFToken": self._xsrf(path)}
        return self.session.request(method, f"{home}/{way}", headers=headers, timeout=60, **what)

    def kernel(self) -> str:
        """Start a kernel; gives its name."""
        begun = self.ask("api/kernels", "POST", json={"name": "python3"})
        begun.raise_for_status()
        return str(begun.json()["id"])

    def run(self, kernel: str, code: str) -> str:
        """Run a cell and give what it says: printed, shown, or the error's last line."""
        where = f"{self.home}/api/kernels/{kernel}/channels".replace("http://", "ws://")
        cookies = "; ".join(f"{cookie.name}={cookie.value}" for cookie in self._cookies())
        with closing(websocket.create_connection(where, cookie=cookies, timeout=_PATIENCE_S)) as wire:
            asked = uuid.uuid4().hex
            header = {"msg_id": asked, "msg_type": "execute_request", "username": "", "session": "s", "version": "5.3"}
            content = {"code": code, "silent": False, "store_history": False, "user_expressions": {}}
            message = {"header": header, "parent_header": {}, "metadata": {}, "content": content, "channel": "shell"}
            wire.send(json.dumps(message))
            said = ""
            while True:
                told = json.loads(wire.recv())
                if told["parent_header"].get("msg_id") != asked:
                    if told["msg_type"] == "status" and told["content"]["execution_state"] in ("restarting", "dead"):
                        return said + "the kernel died"
                    continue
                kind, content = told["msg_type"], told["content"]
                said += content.get("text", "") if kind == "stream" else ""
                said += content["data"].get("text/plain", "") if kind in ("execute_result", "display_data") else ""
                said += f"{content['ename']}: {content['evalue']}" if kind == "error" else ""
                if kind == "status" and content["execution_state"] == "idle":
                    return said

    def _cookies(self) -> Any:
        path = self.home.removeprefix(self.address)
        return [cookie for cookie in self.session.cookies if cookie.path.startswith(path) or cookie.path == "/"]

    def _xsrf(self, path: str) -> str:
        return next((c.value or "" for c in self.session.cookies if c.name == "_xsrf" and c.path == path), "")
