"""One grammar for the public names: the lathe first, one name for one thing, typed arguments, a verb that opens."""

from __future__ import annotations

import inspect
import os
import re
import sys
import typing
from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from functools import cache

import pandas as pd
import pytest
import sympy
from attrs import evolve
from matplotlib.figure import Figure

import gearcalc as gc
from gearcalc.basics.exact import PiMultiple
from gearcalc.basics.listed import Primes
from tests.how_much import in_one

PUBLIC = {name: getattr(gc, name) for name in gc.__all__ if not name.startswith("_")}
FUNCTIONS = {name: it for name, it in PUBLIC.items() if inspect.isfunction(it)}
CLASSES = {name: it for name, it in PUBLIC.items() if inspect.isclass(it)}
INSIDE = {"Exercise", "Paper"}
"""Handed out, but not worked with by hand: an answer may be anything, and a page is drawn by the package."""
OUTSIDE = {"Figure": Figure, "pd": pd, "os": os, "sympy": sympy, "date": date}
"""What annotations name and is imported only for type checkers, or where it is used."""

VERBS = {
    "Check", "Count", "Derive", "Draw", "Find", "Give", "Judge", "Lay", "List", "Load", "Make", "Measure", "Raise",
    "Open", "Read", "Reckon", "Say", "Split", "Tabulate", "Walk", "Write",
}  # fmt: skip
OTHER_NAMES = {
    "t": "thread", "one": "thread", "cut": "wanted_or_setup", "given": "what it is", "threads_or_series": "threads",
    "target": "wanted", "machine": "lathe", "tolerance_ppm": "within_ppm", "within": "within_ppm",
}  # fmt: skip
"""Names that were, or might be, used for what has a name already; and that name."""


def methods(kind: type) -> Iterator[tuple[str, object]]:
    """What the package's own part of a class defines for its users: methods, properties, other ways to make one."""
    for base in kind.__mro__:
        if base.__module__.startswith("gearcalc"):
            for name, it in vars(base).items():
                if not name.startswith("_"):
                    yield f"{kind.__name__}.{name}", it


def asked(it: object) -> typing.Any:
    """The function in a property or a classmethod; None for what is neither these nor a function."""
    for part in ("fget", "func", "__func__"):
        it = getattr(it, part, None) or it
    return it if inspect.isfunction(it) else None


METHODS = {
    name: asked(it)
    for kind in CLASSES.values()
    if kind.__name__ not in INSIDE
    for name, it in methods(kind)
    if asked(it) is not None and not isinstance(it, property) and not hasattr(it, "func")
}
PROPERTIES = {
    name: asked(it)
    for kind in CLASSES.values()
    for name, it in methods(kind)
    if isinstance(it, property) or hasattr(it, "func")
}
ASKED = FUNCTIONS | METHODS


@cache
def loaded(many: int) -> dict[str, type]:
    """The classes of the house, of so many modules loaded."""
    return {
        name: kind
        for module in list(sys.modules.values())
        if module is not None and module.__name__.startswith("gearcalc")
        for name, kind in vars(module).items()
        if inspect.isclass(kind)
    }


@cache
def hints(it: typing.Any) -> dict[str, object]:
    """Its annotations, read."""
    return typing.get_type_hints(it, loaded(len(sys.modules)) | OUTSIDE, vars(sys.modules[it.__module__]))


def parts(hint: object) -> Iterator[object]:
    """An annotation and everything in it."""
    yield hint
    for inner in typing.get_args(hint):
        yield from parts(inner)


def says_float(kind: type, field: str) -> bool:
    """Whether a class's docstring calls the field a float, where it names it, or all of its lengths."""
    said = re.split(r"[.;](?=\s|$)", inspect.getdoc(kind) or "")
    named = any(f"`{field}`" in sentence and "float" in sentence for sentence in said)
    return named or any("Lengths are floats" in sentence for sentence in said)


def summary(it: object) -> str:
    return (inspect.getdoc(it) or "").split("\n")[0]


class TestOrder:
    @in_one("name", [name for name, it in FUNCTIONS.items() if "lathe" in hints(it) and name != "exercise"])
    def test_the_lathe_comes_first(self, name):
        """An exercise is the exception: its name comes first, and few take a lathe."""
        assert next(iter(inspect.signature(FUNCTIONS[name]).parameters)) == "lathe"

    @in_one("name", FUNCTIONS)
    def test_a_setup_knows_its_lathe(self, name):
        """Where nothing but a setup is asked about, no lathe is asked for: it is said twice nowhere."""
        arguments = inspect.signature(FUNCTIONS[name]).parameters
        assert not {"setup", "lathe"} <= set(arguments)


class TestNames:
    @in_one("name", ASKED)
    def test_one_name_for_one_thing(self, name):
        assert set(inspect.signature(ASKED[name]).parameters) & set(OTHER_NAMES) == set()

    @in_one("name", FUNCTIONS)
    def test_a_thread_is_called_thread_and_what_may_be_a_feed_wanted(self, name):
        for argument, hint in hints(FUNCTIONS[name]).items():
            if argument == "return":
                continue
            kinds = set(typing.get_args(hint))
            if gc.Thread in kinds and gc.Setup not in kinds:
                right = {"wanted", "jobs", "threads"} if gc.Feed in kinds else {"thread", "threads", "other"}
                assert argument in right

    @in_one("name", [name for name, it in FUNCTIONS.items() if "within_ppm" in hints(it) and name != "gears_to_add"])
    def test_none_for_within_ppm_is_allowed_wherever_it_is_asked_for(self, name):
        """Gears to add are the exception: without a limit nothing need be bought."""
        assert type(None) in set(parts(hints(FUNCTIONS[name])["within_ppm"]))


class TestMillimetres:
    """What ends _mm is exact, a Fraction or a number with π; where it is a float its docstring says so."""

    EXACT = frozenset({Fraction, PiMultiple, sympy.Expr})

    def test_a_class_says_so_field_by_field(self):
        loose = []
        for name, kind in CLASSES.items():
            for base in kind.__mro__:
                if not base.__module__.startswith("gearcalc"):
                    continue
                fields = [
                    field for field in getattr(base, "__annotations__", {}) if field.endswith("_mm") and field[0] != "_"
                ]
                loose += [
                    f"{name}.{field}"
                    for field in fields
                    if float in set(parts(hints(base)[field])) and not says_float(base, field)
                ]
        assert loose == []

    @in_one("name", [name for name in PROPERTIES | METHODS if name.endswith("_mm")])
    def test_a_property_says_so_itself(self, name):
        it = (PROPERTIES | METHODS)[name]
        said = "float" in (inspect.getdoc(it) or "") or says_float(CLASSES[name.split(".")[0]], name.split(".")[1])
        assert said or float not in set(parts(hints(it)["return"]))

    @in_one("name", ASKED)
    def test_an_argument_takes_an_exact_number_or_says_float(self, name):
        for argument, hint in hints(ASKED[name]).items():
            if argument.endswith("_mm"):
                assert self.EXACT & set(parts(hint)) or "float" in (inspect.getdoc(ASKED[name]) or ""), argument


class TestTypes:
    @in_one("name", ASKED)
    def test_every_argument_says_what_it_takes(self, name):
        known = hints(ASKED[name])
        for argument in inspect.signature(ASKED[name]).parameters:
            if argument not in ("self", "cls"):
                assert {object, typing.Any} & set(parts(known[argument])) == set(), argument

    @in_one("name", [it for it in [*FUNCTIONS, *PROPERTIES, *CLASSES] if it.partition(".")[0] not in INSIDE])
    def test_what_is_handed_back_is_public(self, name):
        if name in CLASSES:  # a list of ours: what it is a list of
            back = getattr(CLASSES[name], "__orig_bases__", ())
        else:
            back = (hints((FUNCTIONS | PROPERTIES)[name]).get("return"),)
        ours = {
            kind
            for hint in back
            for kind in parts(hint)
            if inspect.isclass(kind) and kind.__module__.startswith("gearcalc") and not kind.__name__.startswith("_")
        }
        assert ours <= {*CLASSES.values(), Primes}, "Primes: a dict that shows itself"


class TestDocstrings:
    @in_one("name", ASKED)
    def test_opens_with_a_verb_that_says_what_comes_back(self, name):
        first = summary(ASKED[name]).split()
        assert first[0] in VERBS
        assert summary(ASKED[name]).endswith(".")

    @in_one("name", FUNCTIONS)
    def test_gives_an_example_and_then_names_every_argument(self, name):
        _, example, said = (inspect.getdoc(FUNCTIONS[name]) or "").partition(">>> ")
        assert example
        assert [it for it in inspect.signature(FUNCTIONS[name]).parameters if f"`{it}`" not in said] == []


LATHE, OTHER = gc.demo_lathe("inch"), gc.demo_lathe("metric")
SETUP = gc.setup(LATHE, drivers=40, driven=80, lever="middle", wanted="16 tpi")
WITH_BOTH = {
    "bracket_picture": lambda lathe, made: gc.bracket_picture(lathe, made),
    "change_card": lambda lathe, made: gc.change_card(lathe, to=made),
    "change_card, mounted": lambda lathe, made: gc.change_card(lathe, gc.find_setups(lathe, "1 mm")[0], mounted=made),
    "change_to_feed": lambda lathe, made: gc.change_to_feed(lathe, made, "0.1 mm/rev"),
    "dial": lambda lathe, made: gc.dial(lathe, made),
    "feed_chart": lambda lathe, made: gc.feed_chart(lathe, "0.1 mm/rev", mounted=made),
    "find_setups": lambda lathe, made: gc.find_setups(lathe, "16 tpi", meshes=1, count=1, mounted=made),
    "index_starts": lambda lathe, made: gc.index_starts(lathe, made, starts=2),
    "plan_changeover": lambda lathe, made: gc.plan_changeover(lathe, "16 tpi", mounted=made),
}
"""Every public function that takes a lathe and may be handed a setup."""
UNLIKE = {
    "leadscrew": evolve(LATHE, leadscrew=evolve(LATHE.leadscrew, lead=4)),
    "spindle side": evolve(LATHE, spindle_side=evolve(LATHE.spindle_side, same_way=False)),
    "gearbox": evolve(LATHE, gearbox=LATHE.gearbox[:-1]),
    "bracket": evolve(LATHE, bracket=evolve(LATHE.bracket, studs=1)),
    "size of tooth": evolve(LATHE, gear_set=evolve(LATHE.gear_set, pressure_angle_deg=14.5)),
}
ALIKE = {
    "the same file read again": gc.Lathe.from_toml(LATHE.to_toml()),
    "called otherwise": evolve(LATHE, name="Shed lathe", note="Moved."),
    "a gear bought": LATHE.with_gears(add=127),
    "no dial, no plate": evolve(LATHE, dial=None, plate=()),
}


class TestASetupKnowsItsLathe:
    def test_the_one_that_it_was_made_for(self):
        assert SETUP.lathe == LATHE
        assert gc.find_setups(OTHER, "M8", count=1)[0].as_built.lathe == OTHER

    def test_with_the_gears_that_it_needs(self):
        added = gc.gears_to_add(LATHE, "1 mm", within_ppm=0)
        assert added.gears
        for made in added.setups:
            made.lathe.check_owned(made.train.gears)

    @in_one("name", WITH_BOTH)
    def test_another_lathes_setup_is_refused(self, name):
        with pytest.raises(gc.GearcalcError, match="made for another lathe"):
            WITH_BOTH[name](OTHER, SETUP)

    @in_one("part", UNLIKE)
    def test_what_differs_is_named(self, part):
        with pytest.raises(gc.GearcalcError, match=f"unlike it in {part}"):
            gc.dial(UNLIKE[part], SETUP)

    @in_one("name", WITH_BOTH)
    @in_one("like", ALIKE)
    def test_a_lathe_with_the_same_content_is_the_same(self, name, like):
        WITH_BOTH[name](ALIKE[like], SETUP)


class TestWithoutALimit:
    """within_ppm=None leaves nothing out, and 0 all that is not exact."""

    MISPRINT = """
    name = "A misprinted plate"
    leadscrew.lead = "8 tpi"
    gears.teeth = [40, 60, 80]
    plate."12 tpi" = { drivers = [40], driven = [80] }
    """

    def test_nearest_threads(self):
        every = gc.nearest_threads(1, within_ppm=None)
        assert set(gc.nearest_threads(1, within_ppm=10**9)) == set(every)
        misses = [abs(thread.error_ppm(1)) for thread in every]
        assert misses == sorted(misses)
        assert {thread.lead_mm for thread in gc.nearest_threads(1, within_ppm=0)} == {1}

    def test_check_plate(self):
        lathe = gc.Lathe.from_toml(self.MISPRINT)
        assert [gc.check_plate(lathe, ppm)[0].ok for ppm in (0, 249_999, 250_000, None)] == [False, False, True, True]

    @pytest.mark.parametrize("name", ["chart", "wall_plate", "plan_changeover"])
    def test_left_alone_each_thread_has_its_own(self, name):
        assert inspect.signature(FUNCTIONS[name]).parameters["within_ppm"].default == "good enough"

    def test_chart(self):
        lathe = gc.Lathe.from_toml(self.MISPRINT)
        jobs = ["8 tpi", "12 tpi", "100 tpi"]
        free = gc.chart(lathe, jobs, None)
        assert list(free["error_ppm"]) == [self.first_of(lathe, job).error_ppm for job in jobs]
        assert list(free["ok"]) == [False, True, False]
        assert gc.chart(lathe, jobs, 10**9)["moved"].sum() < gc.chart(lathe, jobs, 0)["moved"].sum()
        assert list(gc.chart(lathe, jobs, 0)["is_exact"]) == [False, True, False]

    def test_plan_changeover(self):
        lathe = gc.Lathe.from_toml(self.MISPRINT)
        jobs = ["8 tpi", "12 tpi", "100 tpi"]
        free = gc.plan_changeover(lathe, jobs, None)
        assert {str(job) for job in free.jobs} == set(jobs)
        for job, setup in zip(free.jobs, free.setups, strict=True):
            assert setup.error == self.first_of(lathe, job).error
        assert gc.plan_changeover(lathe, jobs, 10**9).moved == 0
        assert str(free).startswith("Not good enough for ")
        assert free.within_ppm is None
        with pytest.raises(gc.GearcalcError, match="within 0 ppm"):
            gc.plan_changeover(lathe, jobs, 0)

    def first_of(self, lathe, job):
        return gc.find_setups(lathe, job, count=1, within_ppm=None, first="simplest")[0]

    def test_find_setups(self):
        lathe = gc.Lathe.from_toml(self.MISPRINT)
        assert gc.find_setups(lathe, "100 tpi", within_ppm=None)
        assert gc.find_setups(lathe, "100 tpi", within_ppm=0) == []


def test_what_is_handed_back_shows_itself_in_words():
    """No list, tuple or dict of Python's own: in a notebook it would show its brackets. Two hand on bare numbers."""
    raw = re.compile(r"(?:list|tuple|dict)\[")
    shown_raw = {name for name, it in FUNCTIONS.items() if raw.match(str(inspect.signature(it).return_annotation))}
    assert shown_raw == {"clearances", "stern_brocot"}
