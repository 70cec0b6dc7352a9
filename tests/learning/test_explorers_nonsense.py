"""What holds for every explorer: it opens well, and nonsense in any control is said, what was shown marked."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from functools import partial
from xml.etree import ElementTree

import pytest

import gearcalc as gc
from gearcalc.learning import explorers
from tests.how_much import in_one
from tests.notebooks import WORKBENCH, sources

INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
OPENED = {  # those that want more than a lathe, or less
    "ask": lambda: explorers.ask(METRIC),
    "bench": lambda: explorers.bench("inch", "16 tpi"),
    "feed_and_finish": lambda: explorers.feed_and_finish(METRIC),
    "gears_worth_adding": lambda: explorers.gears_worth_adding(INCH, threads=("1 mm", "16 tpi"), most="one gear"),
    "limit_on_teeth": explorers.limit_on_teeth,
    "prove_the_cut": lambda: explorers.prove_the_cut(INCH, gc.setup(INCH, 40, 50, "low", wanted="20 tpi"), length=12.7),
    "time_to_the_shoulder": explorers.time_to_the_shoulder,
    "turning_train": lambda: explorers.turning_train(INCH, lever="middle", thread="16 tpi"),
    "two_pairs": lambda: explorers.two_pairs(INCH, lever="middle"),
}
EXPLORERS = {
    name: OPENED.get(name, partial(it, INCH))
    for name, it in sorted(vars(explorers).items())
    if callable(it) and not name.endswith("_view")
}
SVG = "{http://www.w3.org/2000/svg}"
IN_PYTHON = re.compile(r"\w=\S|\b[a-z]+_[a-z_]+\b|\b[a-z_]+\(|\b(True|False|lathe\.)\b")
NO_NUMBER = ["abc", "", " ", None, "-2", -2, "1e5", 1e5, "½", "<b>3</b>", float("nan"), float("inf"), "9" * 400, [], {}]
NO_NUMBER += ["1/0", "\x00", "1000000000", [1]]
NO_TEXT = ["abc!", "", " ", None, "0", "-2", "2 1e5", "<b>3</b>", "½", "40 40 40 40", "x" * 2000, 5.5, [], {}]
NONSENSE = {
    "slider": NO_NUMBER,
    "table": [*NO_NUMBER, 0, 2.5],
    "choice": ["abc", "", None, 3, -2, 2.5, "<b>", [], {}],
    "text": [*NO_TEXT, "1/0", "\x00", "1e9", "9" * 300, "<script>"],
    "area": ["abc", "", " ", None, "[gears]\nteeth = [-1]", 7, []],
}
MAY_BE_EMPTY = {
    ("bench", "levers"),
    ("bench", "train"),
    ("bench", "mounted"),
    ("two_pairs", "thread"),
    ("turning_train", "thread"),
}
NOTHING = ["", " ", None]
ALL_RIGHT = {  # what is nonsense in most boxes, and none in this
    ("bench", "gears"): ["40 40 40 40", None],
    ("bench", "leadscrew"): [None],
    ("one_turn", "idler"): [None],
    ("fit_bench", "swing"): ["-2", -2],
    ("edit_the_set", "gears"): ["40 40 40 40"],
    ("gears_worth_adding", "gears"): ["40 40 40 40"],
    ("gears_worth_adding", "sizes"): ["40 40 40 40"],
    ("gears_worth_adding", "within"): [5.5, "0"],
    ("edit_the_set", "engagement"): [],
    ("bench", "measured"): [5.5],
    ("bench", "limit"): [5.5, "0"],
    ("limit_on_teeth", "number"): [5.5],
    ("turning_train", "second_driver"): NOTHING,
    ("turning_train", "second_driven"): NOTHING,
    ("turning_train", "first_idler"): NOTHING,
    ("turning_train", "second_idler"): NOTHING,
}


def shown(explorer):
    return explorer.svg, explorer.facts, explorer.tables, explorer.shown


def controls():
    return [(name, control["name"]) for name, make in EXPLORERS.items() for control in make().controls]


def test_every_explorer_stands_on_the_workbench():
    code = "\n".join(text for kind, text in sources(WORKBENCH) if kind == "code")
    assert set(EXPLORERS) <= set(re.findall(r"^explorers\.(\w+)\(", code, re.M))
    assert set(OPENED) <= set(EXPLORERS)


@in_one("name", EXPLORERS)
class TestEveryExplorer:
    def test_it_begins_with_a_picture_of_its_shape_and_no_message(self, name):
        explorer = EXPLORERS[name]()
        assert (explorer.message, explorer.before, explorer.failure) == ("", "", None)
        assert "<table>" in explorer.facts
        root = ElementTree.fromstring(explorer.svg)
        assert float(root.get("width")) / float(root.get("height")) == pytest.approx(explorer.aspect)
        sheets = [rect for rect in root.iter(f"{SVG}rect") if rect.get("fill") == "#FFFFFF"]
        assert any(
            all(float(rect.get(side)) >= float(root.get(side)) - 12 for side in ("width", "height")) for rect in sheets
        ), "no paper under all of it: letters are lost in a dark theme"

    def test_what_is_heard_ends_each_sentence_once(self, name):
        explorer = EXPLORERS[name]()
        assert not re.search(r"[.?!…:]\.(?!\.)", f"{explorer.shown.said} {explorer.shown.picture.description}")

    def test_every_control_has_a_label_and_a_name_of_its_own(self, name):
        its_own = EXPLORERS[name]().controls
        for key in ("name", "label"):
            assert len({control[key] for control in its_own}) == len(its_own)
        assert all(control["label"].strip() for control in its_own)


@in_one(("name", "control_name"), controls)
class TestNonsenseInAnyControl:
    def test_is_said_and_what_was_shown_stays_and_is_marked(self, name, control_name):
        explorer = EXPLORERS[name]()
        control = next(each for each in explorer.controls if each["name"] == control_name)
        if "only" in control:  # it is on the page with another control's value alone
            explorer.set(**dict([control["only"]]))
        assert (explorer.message, explorer.before, explorer.failure) == ("", "", None)
        good, values = shown(explorer), dict(explorer.values)
        right = ALL_RIGHT.get((name, control_name), [])
        if (name, control_name) in MAY_BE_EMPTY:
            right = [*right, *NOTHING]
        for nonsense in NONSENSE[control["kind"]]:
            if any(type(nonsense) is type(each) and nonsense == each for each in right):
                continue
            explorer.set(**{control_name: nonsense})
            assert explorer.failure is None
            assert explorer.message, f"{nonsense!r} is taken in silence"
            assert len(explorer.message) < 900
            assert control["kind"] == "area" or "\n" not in explorer.message
            assert not IN_PYTHON.search(explorer.message), explorer.message
            assert shown(explorer) == good
            assert explorer.before.startswith("As before"), f"{nonsense!r} leaves no mark"
        explorer.set(**values)
        assert (explorer.message, explorer.before) == ("", "")

    def test_the_mark_says_what_the_picture_is_of(self, name, control_name):
        explorer = EXPLORERS[name]()
        control = next(each for each in explorer.controls if each["name"] == control_name)
        if "only" in control:
            explorer.set(**dict([control["only"]]))
        explorer.set(**{control_name: "-no-"})
        if control["kind"] in ("slider", "choice", "text"):
            assert control["label"] in explorer.before
        good = explorer.values | {control_name: control["value"]}
        if control["kind"] == "slider":
            assert str(control["value"]) in explorer.before
        explorer.set(**good)
        assert explorer.before == ""


def others(control):
    """Other values of a control than it has at first, some of them."""
    if control["kind"] == "choice":
        return control["options"]
    if control["kind"] == "slider" and "options" in control:
        return control["options"][:12]
    low, high = (control["min"], control["max"]) if control["kind"] == "slider" else (2, 2)
    return [low, high, (low + high) // 2]


def can_be_moved():
    """What is typed is another matter, and what can't be chosen is shown as words."""
    return [
        (name, control["name"])
        for name, make in EXPLORERS.items()
        for control in make().controls
        if control["kind"] in ("slider", "choice", "table") and len(control.get("options", "12")) > 1
    ]


class TestNoControlIsDead:
    @in_one(("name", "control_name"), can_be_moved)
    def test_it_moves_something_or_says_why_not(self, name, control_name):
        explorer = EXPLORERS[name]()
        control = next(each for each in explorer.controls if each["name"] == control_name)
        if "only" in control:
            explorer.set(**dict([control["only"]]))
        if name == "gears_worth_adding":
            explorer.set(
                threads="29 tpi, 31 tpi", within="0"
            )  # primes that no gear of the set has: one more gear won't do
        good, values, said = shown(explorer), dict(explorer.values), explorer.idle.get(control_name, "")
        moves = False
        for value in others(control):
            explorer.set(**{control_name: value})
            if explorer.message == "" and shown(explorer) != good:
                moves = True
                break
            explorer.set(**values)
        assert moves != bool(said), f"it says: {said!r}"


def test_what_is_heard_says_what_has_changed():
    explorer = EXPLORERS["one_turn"]()
    explorer.set(driver=20, driven=40, lever="middle")
    assert explorer.said == "20/40, lever middle: 16 tpi (1.5875 mm)."
    explorer.set(driven=50)
    assert explorer.said == "20/50, lever middle: 20 tpi (1.27 mm)."


TWO_GEARS = gc.Lathe.from_toml('name = "Two"\nleadscrew.lead = "3 mm"\ngears.teeth = [40, 80]')


class TestRemediesSpeakOfTheScreen:
    @in_one(
        ("name", "values"),
        [
            ("one_turn", {"driven": 81}),
            ("two_pairs", {"first_driver": 63}),
            ("turning_train", {"second_driver": 40, "second_driven": 40}),
            ("bench", {"gears": "20 40", "thread": "M6"}),
            ("bench", {"train": "60/60"}),
            ("bench", {"pairs": "one", "gears": "20", "listed": "all"}),
            ("bench", {"part": "change over", "mounted": "41/80"}),
            ("bench", {"part": "wrong lead", "measured": "0.1", "limit": "0.2"}),
            ("fit_bench", {"train": "20/6000"}),
            ("bench", {"file": "x" * 40_001}),
            ("limit_on_teeth", {"number": "0"}),
            ("prove_the_cut", {"show": "which slip", "gears": "40/81"}),
            ("edit_the_set", {"gears": "20"}),
            ("gears_worth_adding", {"sizes": "127 to 20"}),
        ],
    )
    def test_what_can_not_be_is_refused_in_words_of_the_page(self, name, values):
        explorer = EXPLORERS[name]()
        explorer.set(**values)
        assert explorer.message
        assert not IN_PYTHON.search(explorer.message.replace("module_mm", "")), explorer.message


class TestAControlStandsWhereThePictureIs:
    @pytest.mark.parametrize(
        ("name", "control", "asked"),
        [("ask", "answer", 6), ("bench", "answer", 90), ("change_over", "answer", 6), ("change_over", "step", 13)],
    )
    def test_asked_for_one_more_than_there_is_it_comes_to_the_last(self, name, control, asked):
        explorer = (
            getattr(explorers, name)(TWO_GEARS, "1.5 mm")
            if name != "ask"
            else explorers.ask(TWO_GEARS, thread="1.5 mm")
        )
        explorer.set(**{control: asked})
        there = explorer.values[control]
        assert explorer.message == ""
        assert 1 <= there < asked
        last = explorer.svg
        explorer.set(**{control: there})
        assert explorer.svg == last
        if there > 1:
            explorer.set(**{control: there - 1})
            assert explorer.svg != last


class TestBoxesOfTheBench:
    def test_an_emptied_leadscrew_is_not_the_demo_lathes(self):
        explorer = explorers.bench("metric", "16 tpi")
        explorer.set(leadscrew="")
        assert explorer.message.startswith("leadscrew: nothing is written")

    @pytest.mark.parametrize("levers", ["40 40 40 40", "40 40", "1 1/2", "20, 30 40"])
    def test_tooth_counts_make_no_lever(self, levers):
        explorer = explorers.bench("inch", "16 tpi")
        explorer.set(levers=levers)
        assert "a position is a name and a ratio" in explorer.message

    @pytest.mark.parametrize("names", [("1", "2"), ("A, B", "C"), ("3/4", "x 2"), ("40 40", "l")])
    def test_levers_of_a_file_may_have_any_names(self, names):
        boxes = "".join(f'[[gearbox]]\nlever = "{name}"\nratio = "1/{n}"\n' for n, name in enumerate(names, 1))
        lathe = gc.Lathe.from_toml(f'name = "A"\nleadscrew.lead = "3 mm"\ngears.teeth = [40, 50, 80]\n{boxes}')
        explorer = explorers.bench(lathe, "1.5 mm")
        assert (explorer.message, explorer.failure) == ("", None)
        explorer.set(gears="40 50 60 80")
        assert explorer.message == ""
        assert tuple(explorer.shown.lathe.levers) == names

    def test_a_position_of_a_figure_alone_has_a_colon(self):
        explorer = explorers.bench("inch", "16 tpi")
        explorer.set(levers="1: 1/2, 2: 1")
        assert {name: str(ratio) for name, ratio in explorer.shown.lathe.levers.items()} == {"1": "1/2", "2": "1"}


class TestTheFaceOfTheExplorers:
    def test_every_explorer_and_every_view_is_taken_from_one_place(self):
        kinds = ("page.Explorer", "page.View", "BenchView")
        made = {
            name
            for module in pkgutil.iter_modules(explorers.__path__, f"{explorers.__name__}.")
            for name, it in vars(importlib.import_module(module.name)).items()
            if inspect.isfunction(it) and it.__annotations__.get("return") in kinds
        }
        assert made == {name for name, it in vars(explorers).items() if callable(it)}
