"""What a learner's code may reach on a school's own server: an account of the system for each, and limits.

JupyterHub calls begin() before it starts a learner's server, and end() after that has stopped; its settings are in
data/hub/.
"""

from __future__ import annotations

import os
import secrets
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from gearcalc.basics.errors import NotPossibleError
from gearcalc.basics.files import data_folder, save_whole

SHUT_AWAY = ".hub"
"""The folder of the hub itself, inside that of the learners."""
_NUMBERS = range(2_001_000_000, 2_147_000_001)  # beyond those of people, services, containers and directories
_FOR_A_FOLDER = 1000
OF_NOBODY = _NUMBERS[-1]
"""The number of an account that no folder's learners have."""
_BRINGS_UP_TO_DATE = 'umask 077; "$0" -P -m gearcalc lessons . --no-open; exec "$0" -P -m jupyterhub.singleuser "$@"'
_ENDS_ALL = """
import contextlib, os, shutil, sys
with contextlib.suppress(ProcessLookupError):
    os.kill(-1, 9)  # all that this account runs, but for this
shutil.rmtree(sys.argv[1], ignore_errors=True)
"""


def each_has_an_account() -> bool:
    """Whether learners' code runs in accounts of the system, one for each, which only the superuser can arrange."""
    return os.geteuid() == 0


def as_learner(number: int) -> list[str]:
    """Begin a command that runs in the account of a number: of no group, without rights that it could win back.

    >>> as_learner(2_001_000_007)[:2]
    ['setpriv', '--reuid=2001000007']
    """
    given_up = ["--clear-groups", "--no-new-privs", "--bounding-set=-all", "--inh-caps=-all"]
    return ["setpriv", f"--reuid={number}", f"--regid={number}", *given_up, "--"]


def accounts_in(folder: Path) -> range:
    """Tell which numbers are for the accounts of a folder's learners: drawn once, so that no other folder has the same.

    `folder`: one in which the superuser alone writes. Raises NotPossibleError where what was drawn can't be read.
    """
    place = folder / SHUT_AWAY / "accounts-from"
    if not place.exists():
        drawn = _NUMBERS[secrets.randbelow(len(_NUMBERS) // _FOR_A_FOLDER) * _FOR_A_FOLDER]
        save_whole(place, f"{drawn}\n", "the number of the first account")
    text = place.read_text(encoding="ascii", errors="replace").strip()
    if not (text.isascii() and text.isdigit() and int(text) in _NUMBERS):
        remedy = f"It is the least owner of the folders beside: 'ls -ln {folder}' shows these."
        raise NotPossibleError("this is no number of an account", value=text, where=str(place), remedy=remedy)
    return range(int(text), int(text) + _FOR_A_FOLDER)


def new_account(folder: Path) -> int:
    """Find a number that no folder beside has: the account of a learner who comes for the first time.

    Raises NotPossibleError when there are no more.
    """
    accounts = accounts_in(folder)
    taken = [owner for each in folder.iterdir() if (owner := each.lstat().st_uid) in accounts]
    number = max(taken, default=accounts[0] - 1) + 1
    if number not in accounts:
        raise NotPossibleError("there are no more accounts for learners", where=str(folder))
    return number


def account_of(home: Path) -> int:
    """Give the number of a learner's account, which is the owner of their folder; that is made where there is none.

    `home`: in a folder in which the superuser alone writes. Raises NotPossibleError for a folder that is no learner's.
    """
    if not os.path.lexists(home):
        number = new_account(home.parent)
        home.mkdir(mode=0o700)
        os.chown(home, number, number)
    there = home.lstat()
    if home.is_symlink() or there.st_uid not in accounts_in(home.parent):
        free = new_account(home.parent)
        remedy = f"Move it away, or give it to a learner's account, with all that is in it: 'chown -R {free}:{free}'."
        raise NotPossibleError("this folder belongs to no learner's account", where=str(home), remedy=remedy)
    return there.st_uid


def begin(spawner: Any, limits: Sequence[str] = ()) -> None:
    """Let a learner's server start in their own folder and account, lessons brought up to date by that account first.

    `spawner`: JupyterHub's, of its simple kind. `limits`: a command that runs what follows with limits.
    """
    home = Path(spawner.home_dir)
    desk = tempfile.mkdtemp(prefix="gearcalc-", dir="/tmp")  # sockets of kernels lie there: their paths must be short
    account: list[str] = []
    if each_has_an_account():
        number = account_of(home)
        os.chown(desk, number, number)
        account = as_learner(number)
    home.mkdir(mode=0o700, exist_ok=True)
    ours = {
        "JUPYTER_RUNTIME_DIR": f"{desk}/jupyter",
        "TMPDIR": desk,
        "JUPYTER_CONFIG_PATH": os.pathsep.join(str(data_folder() / each) for each in ("hub/jupyter", "jupyter")),
    }
    spawner.environment = {**spawner.environment, **ours}
    spawner.cmd = [*account, *limits, "sh", "-c", _BRINGS_UP_TO_DATE, sys.executable]


def end(spawner: Any) -> None:
    """End whatever a learner's code has left running, and clear their desk."""
    desk = spawner.environment.get("TMPDIR", "")
    if each_has_an_account():
        python = [sys.executable, "-I", "-c", _ENDS_ALL, desk]
        subprocess.run([*as_learner(account_of(Path(spawner.home_dir))), *python], check=False)
    else:
        shutil.rmtree(desk, ignore_errors=True)
