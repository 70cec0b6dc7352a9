"""The file to begin with: it loads as it stands, names every key that a lathe file can have, and explains each."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any, get_args, get_type_hints

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.files import data_folder
from gearcalc.lathes.new_files import new_lathe_file
from gearcalc.lathes.parts import PlateRow, key_of
from tests.how_much import in_one

TEXT = new_lathe_file()
INSTEAD = {"module_mm": r"(?m)^module_mm = .*\n", "diametral_pitch": r"(?m)^diametral_pitch = .*\n",
           "gearbox": r"(?ms)^\[\[gearbox\]\].*?\n\n", "lever": r"(?ms)^\[\[lever\]\].*?\n\n"}  # fmt: skip
"""Keys of which a file has one or the other, and where they stand."""
OF_THEIR_OWN = {"plate": ("drivers", "driven", "idlers", "lever"), "lever.positions": ("ratio", "same_way")}
"""Tables whose keys are names, a thread's or a position's, and what stands in each."""


def all_in_use(text: str) -> str:
    """The file with the sign in front of every key and section taken away."""
    return re.sub(r'(?m)^#(?=[\[\w"])', "", text)


def known_to_the_reader(kind: type, front: str = "") -> Iterator[str]:
    hints = get_type_hints(kind)
    for each in attrs.fields(kind):
        if each.metadata.get("elsewhere"):
            continue
        name = f"{front}{key_of(each)}"
        inside = [part for part in kinds_in(hints[each.name]) if attrs.has(part)]
        if name in OF_THEIR_OWN:
            yield from (f"{name}.{key}" for key in OF_THEIR_OWN[name])
        elif inside and each.name != "clusters":
            yield from known_to_the_reader(inside[0], f"{name}.")
        else:
            yield name


def kinds_in(hint: Any) -> Iterator[Any]:
    yield hint
    for inner in get_args(hint):
        yield from kinds_in(inner)


def named_in(table: Any, front: str = "") -> Iterator[str]:
    if isinstance(table, list) and any(isinstance(each, Mapping) for each in table):
        for each in table:
            yield from named_in(each, front)
    elif isinstance(table, Mapping):
        for key, value in table.items():
            named = front.removesuffix(".") in OF_THEIR_OWN and key not in OF_THEIR_OWN[front.removesuffix(".")]
            yield from named_in(value, front if named else f"{front}{key}.")
    else:
        yield front.removesuffix(".")


def test_it_loads_as_it_stands():
    lathe = gc.Lathe.from_toml(TEXT)
    assert (lathe.name, lathe.gearbox, lathe.bracket, lathe.plate) == ("My lathe", (), None, ())


@pytest.mark.parametrize("without", [("module_mm", "gearbox"), ("diametral_pitch", "lever")])
def test_it_loads_with_everything_in_use_of_which_one_excludes_another(without):
    text = all_in_use(TEXT)
    for key in without:
        text, times = re.subn(INSTEAD[key], "", text, count=1)  # [[more_gears]] keeps its own
        assert times == 1
    lathe = gc.Lathe.from_toml(text)
    assert all((lathe.bracket, lathe.dial, lathe.feeds, lathe.plate))
    assert bool(lathe.gearbox) != bool(lathe.box)
    assert gc.fit(lathe, "40/80").goes_on


def test_it_names_every_key_that_there_is_and_no_other():
    assert {each.name for each in attrs.fields(PlateRow)} == {"thread", *OF_THEIR_OWN["plate"]}
    named = set(named_in(tomllib.loads(all_in_use(TEXT)))) - {"lever.positions"}  # a ratio alone will do there
    named = {key for key in named if ".clusters." not in key}
    known = set(known_to_the_reader(gc.Lathe))
    as_in_gears = {key for key in known if key.startswith("more_gears.")}  # the text sends the reader to [gears]
    assert {key.replace("more_gears.", "gears.") for key in as_in_gears} | {
        "gears.fixed.first_driver",
        "gears.fixed.last_driven",
    } == {key for key in known if key.startswith("gears.")}
    assert {key for key in named if key.startswith("more_gears.")} <= as_in_gears
    assert named - as_in_gears == known - as_in_gears


@in_one("line", [line for line in TEXT.splitlines() if re.match(r'#?["\w]+.* = ', line)])
def test_every_key_is_explained(line):
    behind = line.lstrip("#").partition("# ")[2]
    in_braces = re.findall(r"\b[a-z_]+(?= = )", line.partition("{")[2].partition("}")[0])
    assert len(behind) > 10
    assert len(line) <= 120
    before = TEXT[: TEXT.index(line)].rsplit("\n\n", 1)[-1]  # what is said above the section
    told = {
        "from_mm": "end",
        "to_mm": "end",
        "slow": "name",
        "back": "name",
        "first_driver": "first driver",
        "last_driven": "last driven",
    }
    assert all(told.get(key, key) in behind + before for key in in_braces)


def test_what_is_left_out_counts_as_it_stands_there():
    """Every default of a key is what stands behind its #, but where the line says otherwise."""
    text = all_in_use(TEXT).replace("diametral_pitch = 20", "")
    table = tomllib.loads(re.sub(INSTEAD["gearbox"], "", text))
    for name in ("leadscrew", "spindle_side", "gears", "bracket"):
        kind = next(
            part
            for part in kinds_in(get_type_hints(gc.Lathe)["gear_set" if name == "gears" else name])
            if attrs.has(part)
        )
        for each in attrs.fields(kind):
            example = each.default in (attrs.NOTHING, None, ()) or key_of(each) == "fixed"
            if key_of(each) in table[name] and not example:
                said = table[name][key_of(each)]
                assert (Fraction(said) if isinstance(each.default, Fraction) else said) == each.default


class TestWithAnswers:
    def test_what_is_known_stands_there(self):
        text = new_lathe_file(
            {("", "name"): "Ours", ("leadscrew", "lead"): "3 mm", ("gears", "teeth"): [80, 20, 40, 40],
             ("gears", "diametral_pitch"): 20, ("spindle_side", "reverse"): False, ("show", "paper"): "Letter"},
            [("slow", Fraction(1, 3)), ("fast", Fraction(2))],
        )  # fmt: skip
        lathe = gc.Lathe.from_toml(text)
        assert (lathe.name, lathe.leadscrew_lead_mm, lathe.gears) == ("Ours", 3, (20, 40, 40, 80))
        assert (lathe.levers, lathe.module_mm) == ({"slow": Fraction(1, 3), "fast": 2}, 25.4 / 20)
        assert (lathe.spindle_side.reverse, lathe.paper) == (False, "Letter")

    def test_several_levers_stand_there_once_each(self):
        half, one = Fraction(1, 2), Fraction(1)
        text = new_lathe_file(box=[("range", [("slow", half), ("fast", one)]), ("knob", [("A", one)])])
        assert gc.Lathe.from_toml(text).levers == {"range slow, knob A": half, "range fast, knob A": one}

    @given(st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=40))
    def test_any_name(self, name):
        assert gc.Lathe.from_toml(new_lathe_file({("", "name"): name}, [(name, Fraction(1))])).name == name

    def test_the_example_is_the_file_in_data(self):
        assert (data_folder() / "example_lathe.toml").read_text("utf-8") == TEXT
