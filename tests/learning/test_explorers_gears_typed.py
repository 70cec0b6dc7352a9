"""A box of gears shows all of an odd lathe's, in the words of its gear set, and takes them back as they stand."""

from __future__ import annotations

import pytest

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.lathes.gear_words import gears_in_words
from gearcalc.learning import explorers
from gearcalc.learning.explorers.typed_lathe import lathe_texts, read_bench_lathe

ODD = gc.demo_lathe("odd")
BOXES = {
    "bench": lambda: explorers.bench("odd", "3 mm"),
    "edit_the_set": lambda: explorers.edit_the_set(ODD, ("3 mm",)),
    "gears_worth_adding": lambda: explorers.gears_worth_adding(ODD, ("3 mm",), most="one gear"),
}


@pytest.mark.parametrize("name", BOXES)
def test_every_size_stands_there_and_what_is_damaged_is_not_taken_for_good(name):
    explorer = BOXES[name]()
    text = explorer.values["gears"]
    assert text == gears_in_words(ODD.gear_set)
    explorer.set(gears=text.replace(" 55 ", " 54 55 "))
    assert "The gear of 54 teeth is damaged" in explorer.message
    explorer.set(gears=text.replace(" 40 ", " "))
    assert "40 is fixed as the first driver" in explorer.message
    explorer.set(gears=text)
    assert explorer.message == ""


def test_what_was_typed_is_what_is_had():
    text = lathe_texts(ODD)["gears"]
    assert read_bench_lathe(ODD, gears=text) == ODD
    fewer = read_bench_lathe(ODD, gears=text.replace("32 36 42", "32").replace("20 24 28", "20 28 28")).gear_set
    assert fewer.usable[:4] == (20, 28, 28, 30)
    assert [int(gear) for gear in fewer.loose if str(gear) in ("32", "36", "42")] == [32]
    assert (fewer.damaged, fewer.pairs) == (ODD.gear_set.damaged, ODD.gear_set.pairs)
    alone = read_bench_lathe(ODD, gears="20 40 80").gear_set
    assert (alone.usable, len(alone.more)) == ((20, 40, 80), 1)


@pytest.mark.parametrize("more", ["damaged: 55", "gears of module 2: 30 40", "in one piece: 20 and 30", "gears of: 3"])
def test_what_the_lathe_file_does_not_say_is_refused(more):
    with pytest.raises(GearcalcError):
        read_bench_lathe(ODD, gears=f"20 40 80; {more}")


@pytest.mark.parametrize("name", BOXES)
def test_letters_are_named_and_not_taken_for_no_gears(name):
    explorer = BOXES[name]()
    explorer.set(gears="letters")
    assert "not 'letters'" in explorer.message
