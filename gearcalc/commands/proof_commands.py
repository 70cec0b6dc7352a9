"""Commands for when it is cut: does the scratch pass agree, which slip would explain it, and what else goes wrong."""

from __future__ import annotations

import argparse
from typing import Any

import gearcalc
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.commands.reading import LATHE_HELP, AddCommand, add_setup_options, chosen_setup, read_lathe
from gearcalc.commands.saying import DONE, SOMETHING_WRONG, measure, say, say_json, setup_fields
from gearcalc.threads import Thread


def add_proof_commands(command: AddCommand) -> None:
    """Enter proof and faults."""
    proof = command("proof", _proof, "is it the thread that was wanted? Judge a length measured over several turns")
    proof.add_argument("wanted", nargs="+", metavar="THREAD", help="what was wanted, like M8 or '16 tpi'")
    proof.add_argument("--turns", required=True, metavar="N", help="how many turns the length is of")
    proof.add_argument("--length", required=True, metavar="MM", help="measured along the axis, mm")
    proof.add_argument("--uncertainty", required=True, metavar="MM", help="how far off that may be either way, mm")
    proof.add_argument("--lathe", metavar="LATHE", help=f"{LATHE_HELP}; with --train, to look for a slip")
    proof.add_argument("--hand", choices=("right", "left"), help="of the thread that came out")
    add_setup_options(proof)

    faults = command("faults", _faults, "what goes wrong after a change of gears, and what to look at")
    faults.add_argument("symptom", nargs="*", metavar="SYMPTOM", help="noisy, wrong lead, will not start ...")
    faults.add_argument("--save", metavar="FILE", help="write it to a file that ends in .html, .pdf or .txt")


def _proof(options: argparse.Namespace) -> int:
    wanted = Thread.parse(" ".join(options.wanted))
    judged = gearcalc.judge_measurement(wanted, options.turns, options.length, options.uncertainty, options.hand)
    slips = _slips(options, wanted, judged)
    if options.json:
        said: dict[str, Any] = {
            "wanted": str(wanted),
            "agrees": judged.agrees,
            "lead_from_mm": float(judged.lead_from_mm),
            "lead_to_mm": float(judged.lead_to_mm),
            "hand": judged.hand,
            "why": judged.why,
            "also_possible": [{"thread": str(thread), **measure(thread.lead, None)} for thread in judged.also_possible],
        }
        said["slips"] = slips if slips is None else [{"slip": one.slip, **setup_fields(one.setup)} for one in slips]
        say_json(said)
    else:
        say(str(judged))
        if slips is not None:
            say("What may have happened:")
            say(str(slips))
    return DONE if judged.agrees else SOMETHING_WRONG


def _slips(options: argparse.Namespace, wanted: Thread, judged: Any) -> Any:
    """Slips that would give the measured lead, where it is known which gears were meant."""
    if options.lathe is None and options.train is None:
        return None
    if options.lathe is None or options.train is None:
        raise ValueOutOfRangeError("to look for a slip, name both --lathe and --train")
    lathe = read_lathe(options.lathe)
    meant = chosen_setup(options, lathe, wanted)
    return gearcalc.explain_wrong_lead(lathe, meant, judged.lead_mm, judged.lead_uncertainty_mm, options.hand)


def _faults(options: argparse.Namespace) -> int:
    found = gearcalc.fault_finder(" ".join(options.symptom) or None)
    if options.save is not None:
        saved = str(found.save(options.save))
        if options.json:
            say_json({"file": saved})
        else:
            say(f"The fault-finder is in {saved}.")
    elif options.json:
        say_json({"cautions": found.cautions, "faults": found.rows})
    else:
        say(str(found))
    return DONE
