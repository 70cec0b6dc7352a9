"""What is right for a public name is answered, and what is nonsense for a method is refused in our words, soon.

Nonsense for the public names themselves: tests/fuzzing.
"""

from __future__ import annotations

import re
from fractions import Fraction
from time import process_time

import pytest

import gearcalc as gc
from gearcalc.learning.explorers import cut_view
from tests.fuzzing.functions import RIGHT
from tests.fuzzing.values import LATHE, SETUP, nonsense
from tests.how_much import in_one


@in_one("name", RIGHT)
def test_what_is_right_is_answered(name):
    getattr(gc, name)(**RIGHT[name])


@in_one("name", [name for name, right in RIGHT.items() if len(right) > 1 and next(iter(right)) == "lathe"])
def test_a_call_in_the_wrong_order_is_told_that_the_lathe_goes_first(name):
    lathe, asked, *_ = RIGHT[name].items()
    rest = dict([*RIGHT[name].items()][2:])
    with pytest.raises(gc.GearcalcError) as refused:
        getattr(gc, name)(asked[1], lathe[1], **rest)
    assert "a lathe is wanted here" in str(refused.value)
    assert "It goes first" in str(refused.value)


DIAL, COVERAGE = gc.dial(LATHE, "20 tpi"), gc.coverage(LATHE, 1, 2, meshes=1)
METHODS = {
    "check_owned": LATHE.check_owned,
    "with_gears": LATHE.with_gears,
    "lever": LATHE.lever,
    "several levers": gc.demo_lathe("odd").lever,
    "widest": COVERAGE.widest,
    "off_ppm": COVERAGE.off_ppm,
    "said": COVERAGE.said,
    "one_way": gc.finish("0.1 mm/rev", 0.4).one_way,
    "page": gc.fault_finder().on_paper().svg,
    "turns": lambda given: cut_view(LATHE, SETUP, given),
    "source": lambda given: gc.Lathe.from_toml("", source=given),
    "along": lambda given: gc.Feed(Fraction(1), given),
    "catches": DIAL.catches,
    "catches_another_start": DIAL.catches_another_start,
    "out_mm": DIAL.out_mm,
    "load": gc.Lathe.load,
    "exercise_names": gc.exercise_names,
    "from_toml": gc.Lathe.from_toml,
    "thread": gc.Thread.parse,
    "feed": gc.Feed,
    "feed text": gc.Feed.parse,
    "train": gc.Train.parse,
}


@in_one("name", METHODS)
def test_methods_and_readers_refuse_in_our_words(name):
    for given in nonsense():
        said = ""
        try:
            METHODS[name](given)
        except gc.GearcalcError as problem:
            said = str(problem)
        assert len(said) < 900


PLAN = gc.plan_changeover(LATHE, ["20 tpi"])
MADE = [
    LATHE,
    SETUP,
    SETUP.train,
    gc.fit(LATHE, SETUP.train),
    PLAN,
    gc.Thread.parse("M6"),
    DIAL,
    [SETUP],
    [LATHE.gear_set],
]
"""What the package hands out, and somebody hands to the wrong function."""


@in_one("name", RIGHT)
def test_what_is_of_the_wrong_kind_is_called_by_its_name(name):
    for argument in RIGHT[name]:
        for given in MADE:
            try:
                getattr(gc, name)(**{**RIGHT[name], argument: given})
            except gc.GearcalcError as problem:
                said = str(problem)
                assert len(said) < 300, said
                assert not re.search(r"[A-Z]\w+\(\w+=| object at |<", said), said


class TestSoon:
    """What would keep a search, a reader or a message busy is refused at once."""

    def test_quotes_without_an_end(self):
        started = process_time()
        with pytest.raises(gc.GearcalcError):
            gc.Lathe.from_toml('"' + '\\"' * 19_000)
        assert process_time() - started < 2

    def test_a_long_list_for_a_file_makes_a_short_message(self):
        for name in ([1] * 100_000, "x" * 100_000):
            for ask in (gc.Lathe.load, LATHE.save):
                with pytest.raises(gc.GearcalcError) as refused:
                    ask(name)
                assert len(str(refused.value)) < 900
