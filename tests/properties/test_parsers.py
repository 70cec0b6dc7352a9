"""Whatever is typed gives a value or one of our errors, soon, in one printable line; and what is written reads back."""

from __future__ import annotations

import json
import re
import time
from collections.abc import Callable
from contextlib import suppress
from fractions import Fraction
from functools import cache

import pytest
from attrs import evolve
from hypothesis import assume, given
from hypothesis import strategies as st

from gearcalc.basics.errors import GearcalcError, LatheFileError, ThreadTextError
from gearcalc.basics.exact import PiMultiple, parse_number
from gearcalc.lathes import Lathe, demo_lathe
from gearcalc.lathes.parts import PlateRow
from gearcalc.lathes.trains import Train
from gearcalc.papers.wall_plates import _chain
from gearcalc.threads import Feed, Thread, standard_threads
from gearcalc.threads.wanted import as_wanted
from tests.how_much import in_one
from tests.strategies import feed_texts, junk, lathes, number_texts, thread_texts, trains, typed_texts


@cache
def soon() -> float:
    """How long counting to a million and a half takes here, about 0.1 s on an ordinary machine, in this process's time.

    So a text is answered 'soon' on a slow machine and on a busy one alike.
    """
    started = time.process_time()
    total = 0
    for number in range(1_500_000):
        total += number * number
    return time.process_time() - started


def tried(parser: Callable[[str], object], text: str) -> object | GearcalcError:
    """What the parser makes of a text; fails on any other error, on a slow answer and on a message that misbehaves."""
    started = time.process_time()
    try:
        outcome: object | GearcalcError = parser(text)
    except GearcalcError as problem:
        outcome = problem
    took = time.process_time() - started
    if took > soon():  # once more, in case something was loaded for the first time
        started = time.process_time()
        with suppress(GearcalcError):
            parser(text)
        took = time.process_time() - started
    assert took < soon()
    if isinstance(outcome, GearcalcError):
        message = str(outcome)
        lines = message.split("\n- ") if isinstance(outcome, LatheFileError) else [message]
        assert all(line.isprintable() for line in lines)
        assert len(message) < 2000
    return outcome


class TestAnyText:
    @given(typed_texts(thread_texts()))
    def test_thread(self, text):
        outcome = tried(Thread.parse, text)
        if isinstance(outcome, ThreadTextError):
            for proposed in re.findall(r"'([^']*)'", outcome.remedy):
                assert isinstance(tried(Thread.parse, proposed), Thread)
        else:
            assert Thread.parse(str(outcome)) == outcome

    @given(typed_texts(feed_texts()))
    def test_feed(self, text):
        outcome = tried(Feed.parse, text)
        if isinstance(outcome, Feed):
            assert Feed.parse(str(outcome)) == outcome

    @given(typed_texts(st.one_of(thread_texts(), feed_texts())))
    def test_thread_or_feed(self, text):
        tried(as_wanted, text)

    @given(typed_texts(trains().map(str)))
    def test_train(self, text):
        tried(Train.parse, text)

    @given(typed_texts(number_texts()))
    def test_number(self, text):
        outcome = tried(parse_number, text)
        if isinstance(outcome, Fraction):
            assert outcome >= 0

    @given(typed_texts(lathes().map(Lathe.to_toml)))
    def test_lathe_file(self, text):
        tried(Lathe.from_toml, text)

    @given(junk)
    def test_lever_and_demo_lathe(self, text):
        tried(demo_lathe("inch").lever, text)
        tried(demo_lathe, text)


class TestThreadParse:
    @given(thread_texts())
    def test_reads_back_what_it_writes(self, text):
        thread = tried(Thread.parse, text)
        assume(isinstance(thread, Thread))
        again = Thread.parse(str(thread))
        assert again == thread
        assert str(again) == str(thread)
        assert thread.lead == thread.pitch * thread.starts

    @in_one("thread", standard_threads())
    def test_every_row_of_the_tables_reads_back_in_every_way_of_writing(self, thread):
        text = str(thread)
        for written in (text, text.lower(), text.upper(), f"  {text.replace('x', ' × ')} ", f"{text} RH"):
            assert Thread.parse(written) == thread
        left = Thread.parse(f"{text} LH")
        assert (left.hand, Thread.parse(str(left))) == ("left", left)

    @given(number_texts(400), st.integers(1, 9))
    def test_pitch_and_lead_against_plain_arithmetic(self, number, starts):
        value = self.worked_out(number)
        # Each in its own range only; the reference is float arithmetic done on the text.
        for text, pitch in ((f"{number} mm", value), (f"{number} tpi", 25.4 / value if value else 0)):
            if pitch > 0.01 and pitch * starts < 1000:
                thread = Thread.parse(f"{text} {starts} starts")
                assert float(thread.pitch) == pytest.approx(pitch, rel=1e-12)
                assert float(thread.lead) == pytest.approx(pitch * starts, rel=1e-12)
        if value / starts > 0.01:
            assert float(Thread.parse(f"lead {number} mm {starts} starts").pitch) == pytest.approx(value / starts)
        if 0.01 < value < 300 / starts:
            module = Thread.parse(f"module {number} {starts} starts")
            assert isinstance(module.lead, PiMultiple)
            assert float(module.lead) == pytest.approx(3.141592653589793 * value * starts)

    @staticmethod
    def worked_out(number: str) -> float:
        parts = [part for part in re.split("[ -]", number) if part]
        total = 0.0
        for part in parts:
            top, _, bottom = part.replace(",", ".").partition("/")
            total += float(top) / float(bottom or 1)
        return total


class TestFeedParse:
    @given(feed_texts())
    def test_reads_back_what_it_writes(self, text):
        feed = Feed.parse(text)
        assert Feed.parse(str(feed)) == feed
        assert feed.along == ("cross" if "cross" in text.lower() else "longitudinal")


class TestTrainParse:
    @given(trains())
    def test_reads_back_what_it_writes(self, train):
        written = Train(train.drivers, train.driven).written.text
        assert Train.parse(written, idlers=train.idlers) == train

    @given(trains())
    def test_every_way_in_which_it_is_written_is_read(self, train):
        """As a sentence, as on a plate for the wall, in JSON, in a lathe file, and as Python shows it."""
        by_gear = "".join(piece.words for piece in _chain(train, None))
        fields = {"lever": "low", "drivers": train.drivers, "driven": train.driven, "idlers": train.idlers, "fit": None}
        row = PlateRow("16 tpi", train.drivers, train.driven, train.idlers, "low")
        *_, in_a_file = evolve(demo_lathe("inch"), plate=[row]).to_toml().splitlines()
        ways = (str(train), by_gear, by_gear.replace("→", " -> "), json.dumps(fields, indent=2), in_a_file, repr(train))
        assert [Train.parse(text) for text in ways] == [train] * len(ways)

    @given(trains())
    def test_pairs_are_the_same_train(self, train):
        pairs = [f"{a}/{b}" for a, b in zip(train.drivers, train.driven, strict=True)]
        for text in (
            " ".join(pairs),
            " × ".join(f"({pair})" for pair in pairs),
            "".join(f"({pair})" for pair in pairs),
        ):
            assert Train.parse(text) == Train(train.drivers, train.driven)


class TestLatheToml:
    @given(lathes())
    def test_reads_back_what_it_writes(self, lathe):
        assert Lathe.from_toml(lathe.to_toml()) == lathe
