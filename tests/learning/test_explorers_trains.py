"""Every box of an explorer that takes a train takes one as an answer writes it, and tables write it in short."""

from __future__ import annotations

import re

import pytest

import gearcalc as gc
from gearcalc.learning import explorers
from gearcalc.learning.explorers.bench import bench_view

ODD, INCH = gc.demo_lathe("odd"), gc.demo_lathe("inch")
BOXES = {  # explorer, and what has to be set for its box to be there
    ("bench", "train"): (lambda lathe: explorers.bench(lathe, "3 mm"), {}),
    ("bench", "mounted"): (lambda lathe: explorers.bench(lathe, "3 mm"), {"part": "change over"}),
    ("fit_bench", "train"): (explorers.fit_bench, {"placed": "for me"}),
    ("change_over", "mounted"): (lambda lathe: explorers.change_over(lathe, "3 mm"), {}),
    ("prove_the_cut", "gears"): (
        lambda lathe: explorers.prove_the_cut(lathe, gc.find_setups(lathe, "3 mm", count=1)[0]),
        {"show": "which slip"},
    ),
}
ANSWERS = [one.as_built for one in gc.find_setups(ODD, "3 mm", count=2, within_ppm=None)]


@pytest.mark.parametrize("box", BOXES, ids=" ".join)
def test_an_answer_goes_into_the_box_as_it_is_written(box):
    make, there = BOXES[box]
    explorer = make(ODD)
    for one in ANSWERS:
        short = bench_view(lathe=ODD, thread="3 mm", train=str(one.train)).tables["answer"]["rows"][0][1]
        for text in (f"1. {one}", f"{one.train}, lever {one.lever}", short.replace("\u00a0", " ")):
            explorer.set(**there, **{box[1]: text})
            assert explorer.message == "", (text, explorer.message)


def test_a_box_says_which_it_is_where_what_stands_in_it_is_no_train_or_no_lever():
    for box, (make, there) in BOXES.items():
        explorer = make(ODD)
        for text in ("banana", "40/80, lever sideways", "40/80q"):
            explorer.set(**there, **{box[1]: text})
            assert explorer.message or "sideways" in explorer.facts or "80q" in explorer.facts, (box, text)


def test_the_lever_of_an_own_train_is_the_one_that_was_typed():
    rows = [bench_view(lathe=INCH, train=f"40/80, lever {lever}", thread="16 tpi") for lever in INCH.levers]
    assert [view.chosen.lever for view in rows] == list(INCH.levers)


def test_the_lever_buttons_come_to_what_was_typed():
    explorer = explorers.prove_the_cut(INCH, gc.setup(INCH, 40, 80, "low", wanted="32 tpi"), show="which slip")
    explorer.set(gears="40/80, lever high: lead 8 tpi")
    assert (explorer.values["gears"], explorer.values["lever"]) == ("40/80", "high")
    explorer.set(lever="middle")
    assert explorer.values["lever"] == "middle"


def test_no_table_on_an_odd_lathe_says_of_a_gear_what_a_letter_says():
    seen = bench_view(lathe="odd", thread="3 mm", part="chart", threads="3 mm, 1.5 mm")
    change = explorers.change_view(ODD, mounted="40/80", wanted="3 mm", answer=6)
    asked = explorers.ask_view(ODD, thread="3 mm")
    odd = next(one for one in seen.answers if "module" in str(one.train))
    for view in (seen, change, asked, explorers.bench_view(lathe="odd", thread="3 mm", train=str(odd.train))):
        assert not any("module" in str(cell) for row in view.facts for cell in row.values())
        letters = set(re.findall(r"\d([a-z])\b", " ".join(str(row["train"]) for row in view.facts)))
        assert all(f"{letter}: " in view.note for letter in letters)


def test_the_title_of_a_card_without_a_thread_is_one_line():
    made = next(one for one in ANSWERS if "module" in str(one.train))
    bare = gc.setup(ODD, made.train.drivers, made.train.driven, made.lever, made.train.idlers)
    assert gc.change_card(ODD, bare).title == "Change-over card: (40 · 30)/(50 · 32)"
