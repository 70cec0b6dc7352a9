"""The command that opens a school's own server."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

from gearcalc.basics.errors import on_one_line
from gearcalc.commands.console import DONE, AddCommand, answer, check_said
from gearcalc.commands.options import folder_name
from gearcalc.serving.addresses import addresses
from gearcalc.serving.hub_words import SECONDS_TO_END

if TYPE_CHECKING:
    from gearcalc.serving.hubs import Hub


def add_hub(command: AddCommand) -> None:
    """Enter hub."""
    about = "a school's own server: accounts for learners, and JupyterLab for each, by JupyterHub on one machine"
    hub = command("hub", _hub, about, lathe=False, example="hub /srv/lessons --lan")
    hub.add_argument(
        "folder", type=folder_name, metavar="FOLDER", help="where the learners' folders lie, or are to lie"
    )
    hub.add_argument("--lan", action="store_true", help="for others on the network too; left out, for this computer")
    hub.add_argument("--port", type=int, default=8000, metavar="N", help="the port (8000); N+1 and N+81 are for itself")
    file = "the password of the class is its first line; only you may be able to read it. Left out, it is asked for"
    hub.add_argument("--password-file", metavar="FILE", help=file)
    own = "in place of the one password: the school's, an authenticator of JupyterHub by name or class, like pam"
    hub.add_argument("--sign-in", metavar="CLASS", help=own)
    more = "a file of JupyterHub's settings, read after ours: what the school's sign-in asks for, a certificate"
    hub.add_argument("--settings", metavar="FILE.py", help=more)
    hub.add_argument("--learners", type=int, default=30, metavar="N", help="how many at once (30)")
    memory = "the most memory for each program of a learner; a lesson in use takes half of the usual (1024)"
    hub.add_argument("--memory-mb", type=int, default=1024, metavar="N", help=memory)
    idle = "a learner's server that nobody uses for so long is ended, and their files stay (60)"
    hub.add_argument("--idle-minutes", type=int, default=60, metavar="N", help=idle)
    weak = "without sudo: learners' code can see, change and delete what the others and you have in this account"
    hub.add_argument("--one-account", action="store_true", help=weak)


def _hub(options: argparse.Namespace) -> int:
    from gearcalc.serving.hubs import SHARED_PASSWORD, class_password, prepare_hub

    hub = prepare_hub(
        options.folder,
        port=options.port,
        learners=options.learners,
        memory_mb=options.memory_mb,
        idle_minutes=options.idle_minutes,
        sign_in=options.sign_in or SHARED_PASSWORD,
        settings=options.settings,
        lan=options.lan,
        one_account=options.one_account,
        tell=partial(print, file=sys.stderr, flush=True),
    )
    own = [f"http://{each}:{hub.port}" for each in addresses()] if hub.lan else []
    password = class_password(options.password_file) if hub.has_one_password else None
    hub.make_folders()
    fields = {"folder": str(hub.folder), "port": hub.port, "address": hub.address, "addresses": own}
    answer(options, fields, *_of_the_hub(hub, own, options))
    check_said()
    hub.start(password)
    return DONE


def _of_the_hub(hub: Hub, own: list[str], options: argparse.Namespace) -> Iterator[str]:
    if own:
        yield f"The hub is for everyone on this network. The address to type, once it is open: {own[0]}"
        if own[1:]:
            yield f"If that does not open: {' or '.join(own[1:])}"
        if not options.settings:
            yield "It is plain http: who is on the network can read along, and the page to sign in warns of that. A"
            yield "certificate, which changes it, goes into --settings."
    else:
        yield f"The hub is for this computer alone, at {hub.address} once it is open; --lan serves the network too."
    if hub.has_one_password:
        yield "Learners sign in with a name, such as 7 Ada, and the password of the class."
        yield "Who knows it can sign in under any name: where that matters, give each an own one (--sign-in)."
    if options.one_account:
        yield "All run in your own account: a learner's code can see, change and delete what it holds, of all of them."
    sudo, folder = "" if options.one_account else ", with sudo as well", on_one_line(hub.folder)
    yield f'The work of each lies in {folder}. For the marks{sudo}: python -m gearcalc marks "{folder}"'
    yield f"What happens is written into {on_one_line(hub.log)}: look there when something goes wrong."
    yield f"Ctrl-C stops it, and the servers of all learners, in up to {SECONDS_TO_END} seconds."
