"""Commands that bring the lessons to others: static files, a server of them, a school's own; and what all rests on."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from gearcalc.basics import writing
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.errors import on_one_line
from gearcalc.commands.console import DONE, INTERRUPTED, AddCommand, answer, can_draw, check_said, complain, draw, say
from gearcalc.commands.hub_commands import add_hub
from gearcalc.commands.options import LATHE_HELP, add_lathe, folder_name, read_lathe, to_file
from gearcalc.serving.extras import install

if TYPE_CHECKING:
    from gearcalc.serving.servers import SiteServer


def add_serving_commands(command: AddCommand) -> None:
    """Enter web, serve, hub and supplies."""
    web = command(
        "web",
        _web,
        "the lessons as a folder that any web server can serve: they run in the browser, with nothing to install",
        lathe=False,
        example="web lessons-for-browsers",
        sooner="The first site takes longest.",
    )
    web.add_argument(
        "folder", type=folder_name, metavar="FOLDER", help="missing, empty, or a site that was built before"
    )
    chosen = "like 01-05 or 01,03; 00 and the workbench are always there; left out, all"
    web.add_argument("--lessons", action="append", default=[], metavar="LESSONS", help=chosen)
    own = f"the school's own, everyone's lathe until a learner chooses another: {LATHE_HELP}"
    add_lathe(web, "--lathe", own)
    full = "a folder with a full Pyodide distribution, whose pandas and matplotlib go into the site"
    web.add_argument("--pyodide", type=folder_name, metavar="FOLDER", help=full)
    kept = (
        "where what is fetched once is kept, to be carried to a machine without a network; left out, your cache folder"
    )
    web.add_argument("--parts", type=folder_name, metavar="FOLDER", help=kept)

    about = "hand a folder of lessons that web made to browsers: here, or with --lan to everyone on the network"
    serve = command("serve", _serve, about, lathe=False, example="serve lessons-site --lan")
    serve.add_argument("folder", type=folder_name, metavar="FOLDER", help="the folder that web made")
    serve.add_argument("--lan", action="store_true", help="for others on the network too; left out, for this computer")
    port = "the port, the number at the end of the address (8000, or the next that is free)"
    serve.add_argument("--port", type=int, metavar="N", help=port)
    add_hub(command)
    rests = "what gearcalc rests on: each package that is installed for it and each part of a site, with its licence"
    rested = command("supplies", _supplies, rests, lathe=False, example="supplies --save supplies.csv")
    is_saved = to_file("the list is", ".csv")
    rested.add_argument("--save", type=is_saved, metavar="FILE", help="write it as a table, to a file ending .csv")


def _web(options: argparse.Namespace) -> int:
    from gearcalc.serving.sites import build_site

    site = build_site(
        options.folder,
        lessons=options.lessons,
        lathe=None if options.lathe is None else read_lathe(options.lathe),
        pyodide=options.pyodide,
        parts=options.parts,
        say=(lambda line: None) if options.json else _say_at_once,
    )
    folder = on_one_line(site.folder)
    lines = [
        f"{writing.counted(len(site.lessons), 'lesson')} in {folder}, {writing.decimal(site.megabytes, 0)} MB.",
        f'To open it: python -m gearcalc serve "{folder}"',
    ]
    names = [lesson.name for lesson in site.lessons]
    answer(options, {"folder": str(site.folder), "lessons": names, "megabytes": round(site.megabytes, 1)}, *lines)
    return DONE


def _say_at_once(line: str) -> None:
    """To whoever waits, into a pipe too."""
    say(line)
    check_said()


def _serve(options: argparse.Namespace) -> int:
    from gearcalc.serving.servers import SiteServer

    port = None if options.port is None else as_whole(options.port, what="port", least=1, most=65_535)
    with SiteServer(Path(options.folder), port, lan=options.lan, say=_complain_of) as server:
        fields = {
            "folder": str(server.site.folder),
            "port": server.server_port,
            "address": server.address,
            "addresses": server.addresses,
            "class_page": server.class_page_address,
        }
        answer(options, fields, *_where_to_read(server))
        if not options.json:
            _show_code(server)
            for line in _what_to_know(server, port):
                say(line)
        check_said()  # it is to be read now, not when the server ends
        try:
            server.serve_forever()
        except KeyboardInterrupt:
            sent = f"{writing.counted(server.files_sent, 'file')}, {writing.decimal(server.bytes_sent / 1e6, 1)} MB"
            complain(f"gearcalc: stopped. Sent: {sent}.")
            return INTERRUPTED
    return DONE


def _complain_of(problem: str) -> None:
    complain(f"gearcalc: {problem}")


def _where_to_read(server: SiteServer) -> Iterator[str]:
    if not server.addresses:
        yield f"The lessons are at {server.address} for this computer alone; --lan serves the network too."
        return
    first, *others = server.addresses
    yield "The lessons are served to everyone on this network. The address to type:"
    yield from ("", f"    {first}", "")
    if others:
        yield f"If that does not open: {' or '.join(others)}"


def _show_code(server: SiteServer) -> None:
    from gearcalc.serving.class_page import code_in_signs

    if not server.addresses or not can_draw():
        return
    code = code_in_signs(server.addresses[0])
    if code:
        draw(code)
    else:
        say(f"Where segno is installed a code to scan stands here. {install('web')}")


def _what_to_know(server: SiteServer, port: int | None) -> Iterator[str]:
    from gearcalc.serving.servers import PORT

    if server.addresses:
        yield f"To show it on the board, open here: {server.class_page_address}"
        yield "Others can read the lessons, and nothing else: nothing of theirs is run or kept on this computer."
        yield "Where nothing opens for them, the firewall of this computer wants to be told to let Python in."
    if port is None and server.server_port != PORT:
        yield f"Port {PORT} is taken; this is {server.server_port}, and answers given under {PORT} do not show here."
    else:
        yield "Answers stay in each reader's browser, under this address and port: keep both, and they are found again."
    yield "Ctrl-C stops it."


def _supplies(options: argparse.Namespace) -> int:
    from attrs import asdict

    from gearcalc.papers.csv_files import save_csv
    from gearcalc.papers.frames import frame_of
    from gearcalc.serving.supplies import supplies

    found = supplies()
    rows = [{**asdict(each), "wanted_by": ", ".join(each.wanted_by)} for each in found]
    saved = None if options.save is None else str(save_csv(frame_of(rows), options.save))
    written = [] if saved is None else [f"Written: {on_one_line(saved)}"]
    answer(options, {"supplies": rows, "file": saved}, *map(str, found), *written)
    return DONE
