"""Options that several commands have: each is defined once, so that it means the same wherever it stands."""

from __future__ import annotations

import argparse
import os
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from fractions import Fraction
from functools import wraps
from glob import escape, glob
from typing import Any, TypeVar, get_args

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.arguments import UNITS, as_number, as_one_of, as_path, as_teeth
from gearcalc.basics.errors import GearcalcError, NoSetupError, UnknownNameError, ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, below_zero, parse_number
from gearcalc.basics.files import can_be_a_name, data_folder
from gearcalc.finding.choosing import First
from gearcalc.finding.mounted import idlers_assumed, train_mounted, with_the_damaged
from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.lathes.parts import PAPERS
from gearcalc.lathes.train_lines import train_and_lever
from gearcalc.lathes.trains import Train
from gearcalc.planning.gear_moves import as_it_stands
from gearcalc.threads.deviations import GOOD_ENOUGH, MOST_CHOSEN_PPM
from gearcalc.threads.thread_text import normalise
from gearcalc.threads.wanted import NEAR_ENOUGH_PERCENT

_Value = TypeVar("_Value")
ANY_ERROR = "any"
DEMO_LATHES = sorted(path.stem for path in (data_folder() / "lathes").glob("*.toml"))
LATHE_HELP = f"a lathe file, or a demo lathe: {writing.listed(DEMO_LATHES, 'or')}"
LENGTH_HELP = "a number is in mm; or with its unit: '25.4 mm', '1 in', '40 thou'"
TRAIN_HELP = "drivers over driven, like 40/80 or '(40 30)/(80 60)', or as a plate, a card or JSON has it"
ONE_EACH = "threads or feeds, quoted where there are spaces: M8 '16 tpi' '0.1 mm/rev'"
FEEDS_SO = (
    f"good enough for a feed is {MOST_CHOSEN_PPM} ppm here; card and feeds take the least work within "
    f"{NEAR_ENOUGH_PERCENT} %%"
)
_LENGTH_UNITS_MM = {"mm": Fraction(1), "cm": Fraction(10), "in": INCH_MM, "inch": INCH_MM, "thou": INCH_MM / 1000}
_LENGTH = re.compile(rf"(?P<number>.*[\d.,]) ?(?P<unit>{'|'.join(_LENGTH_UNITS_MM)}|inches)\.?", re.I | re.A)


def counts(text: str) -> tuple[int, ...]:
    """Whole numbers, one or more, with commas or spaces between them.

    >>> counts("20,40"), counts("1 2")
    ((20, 40), (1, 2))
    """
    with suppress(ValueError):
        if parts := text.replace(",", " ").split():
            return tuple(int(part) for part in parts)
    raise argparse.ArgumentTypeError(f"{text!r:.60} is no list of whole numbers like 20,40")


def argument(read: Callable[[str], _Value]) -> Callable[[str], _Value]:
    """What reads an option's value, with what it says of a wrong one said by argparse in our words."""

    @wraps(read)
    def reading(text: str) -> _Value:
        try:
            return read(text)
        except GearcalcError as problem:
            raise argparse.ArgumentTypeError(str(problem).removesuffix(".")) from None

    return reading


def to_file(what: str, *endings: str) -> Callable[[str], str]:
    """What reads the name of a file to be written, so that a wrong ending is said before the work, not after it.

    >>> to_file("a table is", ".csv")("rows.CSV")
    'rows.CSV'

    `what`: with its verb, for the message; `endings`: one or more, in lower case.
    """

    @argument
    def reading(text: str) -> str:
        if as_path(text).suffix.lower() not in endings:
            raise ValueOutOfRangeError(f"{what} saved as a file ending {writing.listed(endings, 'or')}", value=text)
        return text

    return reading


@argument
def folder_name(text: str) -> str:
    """The name of a folder: an empty one would be the folder that one happens to work in.

    >>> folder_name("my-lessons")
    'my-lessons'
    """
    if not text.strip():
        raise ValueOutOfRangeError("a folder needs a name", value=text, remedy="The one that you work in is called .")
    if not can_be_a_name(text):
        raise ValueOutOfRangeError("no folder can be called so", value=text)
    return text


@argument
def gears(text: str) -> tuple[int, ...]:
    """Tooth counts.

    >>> gears("20,40 127")
    (20, 40, 127)
    """
    return tuple(as_teeth(teeth, what="each", fewest=1) for teeth in counts(text))


@argument
def within_ppm(text: str) -> Fraction | str | None:
    """An error that is allowed, in ppm: a number, 'good enough' for each thread's own, None for 'any'.

    >>> within_ppm("12.5"), within_ppm("good  enough"), within_ppm("any")
    (Fraction(25, 2), 'good enough', None)
    """
    said = " ".join(text.split()).casefold()
    if said == ANY_ERROR:
        return None
    if said == GOOD_ENOUGH:
        return GOOD_ENOUGH
    try:
        return as_number(text, what="it")
    except ValueOutOfRangeError as problem:
        words = f"'{ANY_ERROR}' or '{GOOD_ENOUGH}'"
        remedy = f"{problem.remedy} Or write {words}." if problem.remedy else f"Write a number, {words}."
        raise ValueOutOfRangeError(problem.problem, value=problem.value, remedy=remedy) from None


def as_length(text: str) -> Fraction | str:
    """A length with its unit, in mm; one without is left as it was typed, and means mm.

    >>> as_length("1.0 in"), as_length('1/2"'), as_length("40thou"), as_length("12.5")
    (Fraction(127, 5), Fraction(127, 10), Fraction(127, 125), '12.5')
    """
    found = _LENGTH.fullmatch(normalise(text, what="a length"))
    if found is None:
        return text
    below = below_zero(found["number"])
    unit = _LENGTH_UNITS_MM.get(found["unit"].casefold(), INCH_MM)
    return (parse_number(found["number"], what="a length") if below is None else below) * unit


length = argument(as_length)


def one_of(allowed: Sequence[str]) -> Callable[[str], str]:
    """What reads one of several words, in any case.

    >>> one_of(("inch", "mm"))("INCH"), one_of(PAPERS)("letter")
    ('inch', 'Letter')
    """
    return argument(lambda text: as_one_of(text, allowed, where=""))


_SHARED: Mapping[str, Mapping[str, Any]] = {
    "first": {
        "type": one_of(get_args(First)),
        "default": "simplest",
        "metavar": "ORDER",
        "help": "what comes first: simplest, of what is good enough to choose, or nearest, the least error",
    },
    "avoid": {"type": gears, "default": (), "metavar": "TEETH,TEETH", "help": "gears not to use, not even as idlers"},
    "meshes": {"type": counts, "default": (1, 2, 3), "metavar": "N,N", "help": "pairs of gears that a train may have"},
    "within_ppm": {
        "type": within_ppm,
        "metavar": "PPM",
        "help": f"largest error allowed; '{ANY_ERROR}' for no limit, '{GOOD_ENOUGH}' for each thread's own",
    },
    "mounted": {"metavar": "TRAIN", "help": "what is on the lathe now; the fewer gears have to move the better"},
    "units": {"type": one_of(UNITS), "metavar": "UNIT", "help": "read first: inch or mm; else as the lathe file says"},
    "paper": {"type": one_of(PAPERS), "metavar": "SIZE", "help": "A4, A3 or Letter; else as the lathe file says"},
}
"""What each is by the name of its attribute; a command may have another default."""


def add_lathe(parser: argparse.ArgumentParser, name: str, about: str) -> None:
    """Let a command be told a lathe, and a shell complete its name: a demo lathe, or a file."""
    told: Any = parser.add_argument(name, metavar="LATHE", help=about)
    told.completer = lathes_called


def lathes_called(prefix: str, **_: Any) -> list[str]:
    """Demo lathes, folders and lathe files whose names begin so.

    >>> lathes_called("met")
    ['metric']
    """
    demos = [name for name in DEMO_LATHES if name.startswith(prefix)]
    there = [f"{path}/" if os.path.isdir(path) else path for path in glob(f"{escape(prefix)}*")]
    return demos + sorted(path for path in there if path.endswith((".toml", "/")))


def add_in_words(parser: argparse.ArgumentParser, name: str, metavar: str, about: str, nargs: str = "+") -> None:
    """Let a command be told one thing in as many words as it takes, like 16 tpi; `nargs` '*' where it need not be."""
    told: Any = parser.add_argument(name, nargs=nargs, metavar=metavar, help=about)
    told.in_words = True


def add_shared(parser: argparse.ArgumentParser, *names: str, **defaults: Any) -> None:
    """Give a command some of the options that are shared.

    `names`: as in _SHARED; `defaults`: those that differ, by name.
    """
    for name in names:
        settings = dict(_SHARED[name])
        settings["default"] = default = defaults.get(name, settings.get("default"))
        if isinstance(default, tuple) and default:
            default = ",".join(map(str, default))
        shown = ANY_ERROR if name == "within_ppm" and default is None else default
        settings["help"] += "" if shown is None or shown == () else f" (here: {shown})"
        parser.add_argument(f"--{name.replace('_', '-')}", **settings)


def refuse_for_feeds(options: argparse.Namespace, *names: str) -> None:
    """Where trains for feeds are chosen otherwise: raises ValueOutOfRangeError for a shared option that says how.

    >>> refuse_for_feeds(argparse.Namespace(first="simplest", meshes=(1, 2, 3)), "first", "meshes")
    """
    for option in _given(options, names):
        raise ValueOutOfRangeError(
            f"{option} chooses among trains for a thread; a feed takes the least work that is near enough",
            remedy=f"Leave {option} out, or name the train: --train.",
        )


def refuse_for_train(options: argparse.Namespace, *names: str, **defaults: Any) -> None:
    """Where the train is named: raises ValueOutOfRangeError for a shared option that says how one is chosen.

    >>> refuse_for_train(argparse.Namespace(first="simplest", within_ppm=None), "first", "within_ppm")

    `defaults`: as for add_shared().
    """
    for option in _given(options, names, **defaults):
        raise ValueOutOfRangeError(
            f"{option} chooses among trains, and here the train is named", remedy=f"Leave {option} out."
        )


def _given(options: argparse.Namespace, names: Sequence[str], **defaults: Any) -> Iterator[str]:
    """Which of these shared options were given, as they are typed."""
    usual = {name: _SHARED[name].get("default") for name in names} | defaults
    return (f"--{name.replace('_', '-')}" for name in names if getattr(options, name) != usual[name])


def add_setup_options(parser: argparse.ArgumentParser) -> None:
    """Options that name gears chosen by hand, for chosen_setup()."""
    parser.add_argument("--train", metavar="TRAIN", help=f"gears chosen by hand: {TRAIN_HELP}")
    add_lever_and_idlers(parser)


def add_lever_and_idlers(parser: argparse.ArgumentParser) -> None:
    """What goes with a train that is named."""
    parser.add_argument("--lever", metavar="NAME", help="position of the gearbox lever, or of each, with the train")
    parser.add_argument(
        "--idlers",
        action="append",
        default=[],
        metavar="[MESH:]TEETH,TEETH",
        help="idlers in the first mesh, or in another: 2:50",
    )


def train_is_named(options: argparse.Namespace) -> bool:
    """Whether --train names one. Raises ValueOutOfRangeError where none is, and --lever or --idlers would belong to it.

    >>> train_is_named(argparse.Namespace(train="40/80", lever="low", idlers=[]))
    True
    """
    if options.train is None and (options.lever is not None or options.idlers):
        raise ValueOutOfRangeError("--lever and --idlers belong to a train", remedy="Name it too: --train.")
    return options.train is not None


def read_lathe(name: str) -> Lathe:
    """A demo lathe by its name, else the lathe file of that name. Raises UnknownNameError, LatheFileError."""
    try:
        return demo_lathe(name)
    except UnknownNameError as unknown:
        if os.path.lexists(name):
            return Lathe.load(name)
        raise UnknownNameError(f"there is no such file, and {unknown.problem}", value=name) from None


def lathe_shown(options: argparse.Namespace) -> Lathe:
    """The lathe of a command, shown in the unit and on the paper asked for. Raises as read_lathe() does."""
    return read_lathe(options.lathe).with_show(getattr(options, "units", None), getattr(options, "paper", None))


def lathe_asked(options: argparse.Namespace) -> Lathe:
    """The same without the gears that are to be avoided."""
    return without_avoided(options, lathe_shown(options))


def without_avoided(options: argparse.Namespace, lathe: Lathe, may_buy: bool = False) -> Lathe:
    """A lathe that has been read already, without the gears that are to be avoided.

    `may_buy`: with no gear left too, and without those that are not to be bought. Raises NoSetupError where one of them
    is fixed, or else none is left, and as avoided() does.
    """
    avoid = options.avoid if may_buy else avoided(options, lathe)
    left = lathe.gear_set.without(avoid)
    if avoid and not left.pieces and not may_buy:
        raise NoSetupError("there are no gears to choose from")
    return evolve(lathe, gear_set=left)


def avoided(options: argparse.Namespace, lathe: Lathe) -> tuple[int, ...]:
    """The gears that are to be avoided. Raises GearNotOwnedError for one that the lathe lacks, damaged ones aside."""
    avoid: tuple[int, ...] = getattr(options, "avoid", ())
    with_the_damaged(lathe).gear_set.check({*avoid})
    return avoid


def mounted_train(options: argparse.Namespace, lathe: Lathe) -> Train | None:
    """What is on the lathe now, as --mounted says, with the idlers that it needs; gears to be avoided may be on it.

    `lathe`: whole, with the gears that are to be avoided.

    Raises as Train.parse() does, GearNotOwnedError for a gear that the lathe lacks, UnknownNameError for its lever.
    """
    return train_mounted(lathe, mounted_with_its_lever(options, lathe))


def mounted_with_its_lever(options: argparse.Namespace, lathe: Lathe) -> Setup | Train | None:
    """The same as a setup where --mounted says where the lever stands, so that one knows whether that has to move."""
    if options.mounted is None:
        return None
    train, lever = train_and_lever(options.mounted)
    with_the_damaged(lathe).check_owned(train)
    return as_it_stands(lathe, train, lever)


def what_is_assumed(options: argparse.Namespace, lathe: Lathe) -> str:
    """The idlers of --mounted that nobody named, in a sentence; empty where that is none."""
    return idlers_assumed(lathe, mounted_with_its_lever(options, lathe))
