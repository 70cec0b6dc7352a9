"""A school's own server: JupyterHub as it is, with our settings, a folder and an account for each learner."""

from __future__ import annotations

import errno
import importlib.util
import os
import shutil
import socket
import stat
import subprocess
import sys
import time
import warnings
from collections.abc import Callable, Mapping
from contextlib import ExitStack, suppress
from getpass import GetPassWarning, getpass
from importlib.metadata import entry_points
from pathlib import Path
from pkgutil import resolve_name

from attrs import frozen

from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import NO_TEXT, data_folder, in_its_words, said_where
from gearcalc.serving.addresses import ALL_CARDS, THIS_COMPUTER
from gearcalc.serving.extras import install
from gearcalc.serving.hub_words import SECONDS_TO_END
from gearcalc.serving.learner_accounts import OF_NOBODY, SHUT_AWAY, as_learner, each_has_an_account

PROXY = "configurable-http-proxy"
SHARED_PASSWORD = "shared-password"
_PROXY_VERSION = "5.3.0"
_SYSTEM = ("setpriv", "prlimit")
_INNER_PORTS = (1, 81)
_PATIENCE_S: float = SECONDS_TO_END
_CANNOT_LIE = "learners' folders can't lie here"
_BECOMES_JUPYTERHUB = "from gearcalc.serving.hub_words import run_jupyterhub; run_jupyterhub()"
_WHAT_IT_RUNS = "import gearcalc, ipykernel, jupyterhub, jupyterlab; gearcalc.demo_lathe('inch')"


@frozen
class Hub:
    """A hub that can be started: where its learners' folders lie, at which port, and what its settings are told."""

    folder: Path
    port: int
    lan: bool
    told: Mapping[str, str]

    @property
    def address(self) -> str:
        """Where it is found on this computer."""
        return f"http://{THIS_COMPUTER}:{self.port}"

    @property
    def own_folder(self) -> Path:
        """Where the hub keeps what is nobody else's: its database, the secret of its cookies."""
        return self.folder / SHUT_AWAY

    @property
    def has_one_password(self) -> bool:
        """Whether all learners sign in with the password of the class."""
        return self.told["SIGN_IN"] == SHARED_PASSWORD

    def make_folders(self) -> None:
        """Make the folder of the learners, which they may pass and not look into, and that of the hub, shut away."""
        with said_where(self.folder, _CANNOT_LIE, "", OSError):
            before = os.umask(0o022 if each_has_an_account() else 0o077)  # those above it are to be passed too
            self.folder.mkdir(parents=True, exist_ok=True)
            os.umask(before)
            self.folder.chmod(0o711 if each_has_an_account() else 0o700)
            self.own_folder.mkdir(mode=0o700, exist_ok=True)
            self.own_folder.chmod(0o700)

    @property
    def log(self) -> Path:
        """Where all stands that JupyterHub and its programs say."""
        return self.own_folder / "hub.log"

    def start(self, password: str | None) -> None:
        """Become JupyterHub, until Ctrl-C; `password` is the learners', None where they sign in in another way.

        The password goes through a pipe: it stands in no command, no variable and no file. Doesn't return.
        """
        told = {f"GEARCALC_HUB_{name}": value for name, value in {"LOG": str(self.log), **self.told}.items()}
        if password is not None:
            read, write = os.pipe()
            os.write(write, password.encode())
            os.close(write)
            os.set_inheritable(read, True)
            told["GEARCALC_HUB_PASSWORD_FILE"] = f"/dev/fd/{read}"
        programs = os.pathsep.join(filter(None, (str(Path(sys.executable).parent), os.environ.get("PATH"))))
        os.chdir(self.own_folder)
        os.umask(0o077)
        command = [sys.executable, "-P", "-c", _BECOMES_JUPYTERHUB, "-f", str(settings_file())]
        os.execve(command[0], command, {**os.environ, **told, "PATH": programs})


def settings_file() -> Path:
    """Find the settings that JupyterHub is started with.

    >>> settings_file().is_file()
    True
    """
    return data_folder() / "hub" / "jupyterhub_config.py"


def prepare_hub(
    folder: str | os.PathLike[str],
    *,
    port: int = 8000,
    learners: int = 30,
    memory_mb: int = 1024,
    idle_minutes: int = 60,
    sign_in: str = SHARED_PASSWORD,
    settings: str | None = None,
    lan: bool = False,
    one_account: bool = False,
    tell: Callable[[str], object] = print,
) -> Hub:
    """See that a hub can be started here; nothing is made yet.

    `folder`: of the learners' folders, which need not be there. `learners`: how many at once, 1 to 500. `memory_mb`:
    for each program of theirs, 256 to 65536 MB. `idle_minutes`: a server that nobody uses for so long is ended, 1 to
    1440. `sign_in`: an authenticator of JupyterHub, by its short name or its class. `settings`: a file of JupyterHub's
    settings, read after ours. `lan`: for the network too. `one_account`: all code runs in the account of who starts it.
    `tell`: is told what is waited for.
    Raises NotPossibleError, with what to install or to change.
    """
    _check_installed()
    _check_account(one_account)
    whole = as_whole(port, what="port", least=1, most=65_535 - max(_INNER_PORTS))
    limits = {
        "LEARNERS": as_whole(learners, what="learners", least=1, most=500),
        "MEMORY_MB": as_whole(memory_mb, what="memory_mb", least=256, most=65_536),
        "IDLE_MINUTES": as_whole(idle_minutes, what="idle_minutes", least=1, most=1440),
        "PORT": whole,
    }
    _check_sign_in(sign_in)
    given = {} if settings is None else {"SETTINGS": str(_own_settings(settings))}
    root = _checked_folder(Path(folder))
    _check_no_other(root / SHUT_AWAY, tell)
    _check_ports(whole)
    if each_has_an_account():
        _check_reach(root)
    texts = {"SIGN_IN": sign_in, "ADDRESS": ALL_CARDS if lan else THIS_COMPUTER, **given}
    return Hub(root, whole, lan, texts | {name: str(value) for name, value in limits.items()})


def class_password(file: str | None) -> str:
    """Read the password of the class from a file that its owner alone can read, or ask for it.

    `file`: its first line counts; None asks. Raises NotPossibleError where it is too short, or others can read it.
    """
    if file is not None:
        text = _read_secret(Path(file))
    else:
        text = _typed_unseen("A password for the class, which is not shown: ")
        if _typed_unseen("Once more: ") != text:
            remedy = "Start it again, and type the same both times."
            raise NotPossibleError("the second password is not the first", remedy=remedy)
    password = text.strip()
    if not password:
        raise NotPossibleError("the password is empty", remedy="A sentence that the class can remember is a good one.")
    from jupyterhub.authenticators.shared import SharedPasswordAuthenticator

    try:
        SharedPasswordAuthenticator(user_password=password)
    except ValueError as problem:  # which tells lengths, never the password
        least = next((word for word in str(problem).split() if word.isdigit()), "8")
        raise NotPossibleError(f"the password is too short: JupyterHub asks for {least} signs or more") from None
    return password


def _typed_unseen(question: str) -> str:
    """Ask for it where nobody sees what is typed; Python would warn that it is shown, and go on."""
    try:
        with warnings.catch_warnings(action="error", category=GetPassWarning):
            return getpass(question)
    except (EOFError, GetPassWarning):
        remedy = "Name a file that only you can read: --password-file."
        raise NotPossibleError("there is no terminal to type the password at unseen", remedy=remedy) from None


def _read_secret(path: Path) -> str:
    remedy = "The password is its first line, in plain text (UTF-8)."
    with said_where(path, "the password can't be read", remedy), path.open(encoding="utf-8-sig") as file:
        mode = os.fstat(file.fileno()).st_mode
        if stat.S_ISREG(mode) and mode & 0o077:
            remedy = f"Close it: 'chmod 600 {path}'; and since it was open, take another password."
            raise NotPossibleError("others can read this file", where=str(path), remedy=remedy)
        line = file.readline(1000)
        if "\0" in line:  # UTF-16, which nobody marked as such
            raise ValueError(NO_TEXT)
        return line


def _check_installed() -> None:
    if not sys.platform.startswith("linux"):
        raise NotPossibleError(
            "a hub needs Linux", remedy="For this computer alone there is 'python -m gearcalc lessons'."
        )
    for name in ("jupyterhub", "jupyterhub_idle_culler"):
        if importlib.util.find_spec(name) is None:
            why = f"{name.replace('_', '-')} is not installed in this Python"
            raise NotPossibleError(why, remedy=install("hub"))
    if shutil.which(PROXY) is None:
        remedy = f"It comes from npm, which comes with Node.js: 'npm install -g {PROXY}@{_PROXY_VERSION}'."
        raise NotPossibleError(f"the program {PROXY}, which JupyterHub needs, is not found", remedy=remedy)
    for program in _SYSTEM:
        if shutil.which(program) is None:
            raise NotPossibleError(
                f"the program {program} is not found", remedy="It is one of util-linux: install that."
            )


def _check_account(one_account: bool) -> None:
    if each_has_an_account():
        if one_account:
            remedy = "Leave --one-account out: as the superuser this gives each learner an account of their own."
            raise NotPossibleError("learners' code is never run as the superuser", remedy=remedy)
    elif not one_account:
        remedy = (
            "Start it with sudo; or, for learners who may see all of each other's work, ask for --one-account: then "
            "what a learner runs can read, change and delete what the others keep, sign in as anybody, and reach all "
            "that your own account reaches."
        )
        raise NotPossibleError("only the superuser can give each learner an account of their own", remedy=remedy)


def _check_sign_in(sign_in: str) -> None:
    """See that there is such an authenticator, as JupyterHub will look for it."""
    known = {each.name.lower(): each for each in entry_points(group="jupyterhub.authenticators")}
    try:
        found = known[sign_in.lower()].load() if sign_in.lower() in known else resolve_name(sign_in)
        if not isinstance(found, type):
            raise TypeError("that is no class")
    except Exception as problem:  # it is others' code, which may fail in any way
        remedy = f"Name a class, or one of {', '.join(sorted(known))}; what it is in must be installed in this Python."
        why = f"a way to sign in is wanted that is installed here ({problem})"
        raise NotPossibleError(why, value=sign_in, where="--sign-in", remedy=remedy) from None


def _own_settings(path: str) -> Path:
    none = "there is no such file of settings"
    with said_where(path, none, ""):
        place = Path(path).resolve()
        if not place.is_file():
            raise NotPossibleError(none, where=path)
    if each_has_an_account() and place.stat().st_mode & 0o022:
        remedy = f"It is run as the superuser: 'chmod go-w {place}'."
        raise NotPossibleError("others can write this file", where=path, remedy=remedy)
    with said_where(path, "these settings can't be read", "They are a file of Python, read after ours.", OSError):
        text = place.read_bytes()
    try:
        compile(text, path, "exec")
    except (SyntaxError, ValueError) as problem:
        line, why = getattr(problem, "lineno", None) or 1, getattr(problem, "msg", None) or str(problem)
        raise NotPossibleError(f"this is no Python, in line {line} ({why})", where=path) from None
    return place


def _check_no_other(own_folder: Path, tell: Callable[[str], object]) -> None:
    """See that no hub over the same folder runs; one that is just ending is waited for."""
    until, told = time.monotonic() + _PATIENCE_S, False
    while (number := _still_runs(own_folder)) is not None:
        if time.monotonic() > until:
            remedy = f"End it first: Ctrl-C where it was started, or 'kill {number}'."
            raise NotPossibleError(f"a hub over this folder still runs (process {number})", remedy=remedy)
        if not told:
            told = True
            tell(f"A hub over this folder still runs, or is just ending (process {number}): waiting for that ...")
        time.sleep(0.2)


def _still_runs(own_folder: Path) -> int | None:
    """The number of a process of a hub that has its folder there, while one runs."""
    for name in ("jupyterhub.pid", "jupyterhub-proxy.pid"):
        with suppress(OSError, ValueError):
            number = int((own_folder / name).read_text(encoding="ascii"))
            command = Path(f"/proc/{number}/cmdline").read_bytes()
            if any(word in command for word in (b"jupyterhub", PROXY.encode())):  # and not another by now
                return number
    return None


def _check_ports(port: int) -> None:
    with ExitStack() as tried:
        for each in (port, *(port + more for more in _INNER_PORTS)):
            probe = tried.enter_context(socket.socket())
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((THIS_COMPUTER, each))
            except OSError as problem:
                need = " and ".join(str(port + more) for more in _INNER_PORTS)
                remedy = f"Name another with --port: it takes that one and, for itself, {need}."
                why = in_its_words(problem)
                raise NotPossibleError(f"port {each} can't be had ({why})", remedy=remedy) from None


def _checked_folder(folder: Path) -> Path:
    """See that the learners' folders can lie here, in one that nobody else could exchange."""
    with said_where(folder, _CANNOT_LIE, "", (OSError, RuntimeError, ValueError)):
        root = folder.resolve()
        nearest = next(each for each in (root, *root.parents) if os.path.lexists(each))
        if not nearest.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR))
        if not os.access(nearest, os.W_OK | os.X_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    if nearest == root and root.stat().st_uid != os.geteuid():
        if each_has_an_account():
            remedy = f"They could be exchanged for others: 'chown root {root}', or name another."
            raise NotPossibleError("folders of learners lie in one of the superuser", where=str(folder), remedy=remedy)
        raise NotPossibleError("this folder is another account's", where=str(folder), remedy="Name one of your own.")
    return root


def _check_reach(root: Path) -> None:
    """See that an account that owns nothing reaches the folder, and this Python with all that a lesson needs."""
    ours = (Path(sys.prefix), Path(sys.base_prefix), data_folder())
    for place in (root.parent, *ours):
        for folder in (*reversed(place.resolve().parents), place.resolve()):
            if folder.exists() and not folder.stat().st_mode & stat.S_IXOTH:
                remedy = (
                    "Learners' accounts must get through: install Python and gearcalc, and let FOLDER lie, where all "
                    "may read, as under /opt and /srv."
                )
                raise NotPossibleError(
                    f"the way to {root if place == root.parent else place} is closed to others here",
                    where=str(folder),
                    remedy=remedy,
                )
    start = [*as_learner(OF_NOBODY), sys.executable, "-P", "-c", _WHAT_IT_RUNS]
    tried = subprocess.run(start, cwd="/", capture_output=True, text=True, check=False)
    if tried.returncode:
        last = (tried.stderr.strip().splitlines() or ["it does not say why"])[-1]
        remedy = "Install it where all may read, as under /opt."
        raise NotPossibleError(f"in a learner's account this Python does not run the lessons ({last})", remedy=remedy)
