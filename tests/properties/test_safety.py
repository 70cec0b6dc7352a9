"""Nobody's hand near gears that could start: whatever changes, it is isolated before anything is turned by hand.

The order of the steps is common practice, no source. What a sheet tells one to do is read from its words alone, line by
line, as somebody at the machine reads it, and held against what the steps say of themselves.
"""

from __future__ import annotations

import ast
import random
import re
from collections.abc import Iterator

import pytest
from attrs import evolve

import gearcalc as gc
from gearcalc.basics.cautions import CAUTIONS
from gearcalc.basics.errors import GearcalcError
from gearcalc.cutting.turning import time_to_shoulder
from gearcalc.lathes import Lathe, SpindleSide
from gearcalc.learning.exercises.lesson_09 import DANGERS, STEPS
from gearcalc.learning.explorers.change_over import change_view
from gearcalc.papers.fault_finder import SYMPTOMS
from gearcalc.papers.steps import states_of
from tests.how_much import in_one
from tests.notebooks import sources

CARDS = 100  # 6000 others were gone through once
BENCHES = (gc.demo_lathe("inch"), gc.demo_lathe("metric"))
THREADS = ("16 tpi", "12 tpi LH", "8 tpi", "32 tpi", "1 mm", "1.5 mm LH", "4 tpi", "6 mm", "module 1", None)
FEEDS = ("0.1 mm/rev", "0.05 mm/rev cross")
KINDS = ("lever only", "reverse only", "nothing", "gears", "another thread", "feed", "nothing known")

TURN_BY_HAND = re.compile(
    r"(?<!one )\b(?:turn|turned|turning|pulled)\b[^.;|]*\bby hand\b|\bby hand\b[^.;|]*\bturn the (?:chuck|spindle)\b",
    re.I,
)
ISOLATE = re.compile(r"\bisolat(?:e|ed|ing)\b", re.I)
FREED = re.compile(r"\b(?:neutral|belt slack|slacken the belt|drive free)\b", re.I)


def random_lathe(rng: random.Random) -> Lathe:
    """A demo lathe with or without bracket, gearbox and reverse."""
    lathe = rng.choice(BENCHES)
    reverse, same_way = rng.random() < 0.6, rng.random() < 0.6
    return evolve(
        lathe,
        bracket=lathe.bracket if rng.random() < 0.4 else None,
        gearbox=lathe.gearbox if rng.random() < 0.6 else (),
        spindle_side=SpindleSide(rng.choice(("1", "1/2")), same_way, reverse),
    )


def some_setup(rng: random.Random, lathe: Lathe, wanted: str | None) -> gc.Setup:
    meshes = rng.choice((1, 1, 2))
    gears = rng.sample(sorted(set(lathe.gears)), 2 * meshes)
    lever = rng.choice(lathe.gearbox).name if lathe.gearbox else None
    return gc.setup(lathe, gears[:meshes], gears[meshes:], lever, wanted=wanted)


def random_card(rng: random.Random, kind: str) -> gc.ChangeCard:
    lathe = random_lathe(rng)
    then = some_setup(rng, lathe, rng.choice(THREADS))
    now: gc.Setup | None = then
    if kind == "lever only" and lathe.gearbox:
        lever = rng.choice(lathe.gearbox).name
        now = gc.setup(lathe, then.train.drivers, then.train.driven, lever, then.train.idlers)
    elif kind == "reverse only":
        then, now = (
            gc.setup(lathe, then.train.drivers, then.train.driven, then.lever, then.train.idlers, wanted=thread)
            for thread in rng.sample(("10 tpi", "10 tpi LH"), 2)
        )
    elif kind in ("gears", "another thread"):
        now = some_setup(rng, lathe, "20 tpi")
    elif kind == "feed":
        then, now = some_setup(rng, lathe, rng.choice(FEEDS)), some_setup(rng, lathe, "20 tpi")
    elif kind == "nothing known":
        now = None
    return gc.change_card(lathe, to=then, mounted=now)


def random_cards(count: int, seed: int = 9) -> Iterator[tuple[str, gc.ChangeCard]]:
    rng = random.Random(seed)
    made = 0
    while made < count:
        kind = KINDS[made % len(KINDS)]
        try:
            card = random_card(rng, kind)
        except GearcalcError:  # a reverse that isn't there, a feed that the lathe lacks
            continue
        made += 1
        yield kind, card


def orders(text: str) -> list[str]:
    """What is told, sentence by sentence."""
    return re.split(r"(?<=[.:;])\s+", " ".join(text.split()))


def read_as_somebody_does(card: gc.ChangeCard) -> None:
    """Go through the steps as printed: what is on, open, free and turned then, from the words alone."""
    printed = re.split(r"\n(?=\[ \] +\d+\. )", str(card).partition("\nSTEPS\n")[2].partition("\nSETTINGS\n")[0])
    isolated = cover = freed = False
    turned_by_hand = 0
    for text in printed:
        step = " ".join(re.sub(r"^\s*\[ \] +\d+\.", "", text).split())
        for told in orders(step):
            if "isolate at the plug or isolator" in told:
                isolated = True
            cover = cover or told.startswith("Open the cover")
            freed = freed or bool(FREED.search(told))
            if TURN_BY_HAND.search(told):
                assert isolated, f"by hand, and it could start: {told}"
                assert freed, f"by hand against the drive: {told}"
                turned_by_hand += 1
            if re.search(r"drive back|belt tight again", told):
                freed = False
            if told in ("Close the cover.", "Cover shut."):
                cover = False
            if told == "Restore the power.":
                assert isolated, "power comes back that was never cut"
                assert not cover, "power, and the cover open"
                assert not freed, "power, and the drive forgotten in neutral"
                isolated = False
            if told.startswith(("Lowest speed", "Close the half-nuts", "Engage the feed")):  # under power
                assert not isolated
                assert turned_by_hand, "under power before it was turned by hand"
    assert not isolated


@pytest.fixture(scope="module")
def cards() -> list[tuple[str, gc.ChangeCard]]:
    return list(random_cards(CARDS))


class TestEveryCard:
    def test_every_kind_of_change_is_among_them(self, cards):
        assert {kind for kind, _ in cards} == set(KINDS)
        assert sum(card.change.moves.none for _, card in cards) > CARDS // 4

    def test_whatever_is_turned_by_hand_is_isolated_and_free(self, cards):
        for _, card in cards:
            read_as_somebody_does(card)

    def test_the_steps_say_so_themselves(self, cards):
        for _, card in cards:
            for step, state in zip(card.steps, states_of(card.steps), strict=True):
                assert state.isolated or not (state.cover_open or step.turned_by == "hand")
                assert step.turned_by != "power" or not (state.isolated or state.cover_open)

    def test_words_and_steps_agree_on_what_is_turned_by_hand(self, cards):
        for _, card in cards:
            told = {step.key for step in card.steps if any(map(TURN_BY_HAND.search, orders(str(step))))}
            assert told - {"isolate"} == {step.key for step in card.steps if step.turned_by == "hand"}

    def test_isolating_comes_first_of_all(self, cards):
        assert {card.steps[0].key for _, card in cards} == {"isolate"}


COARSE = ("lead 2 in", "lead 100 mm", "lead 25 mm", "lead 50 mm LH")
UNDER_POWER = re.compile(r"\b(?:at|at the) lowest speed\b|^Lowest speed|\bspindle running\b|\bunder power\b", re.I)


class TestWhatIsUnderTheCover:
    """Lever, reverse or belt may be reached only there, so no card may forbid or forget the cover."""

    def test_every_card_opens_and_shuts_it_while_isolated(self, cards):
        for _, card in cards:
            states = dict(zip((step.key for step in card.steps), states_of(card.steps), strict=True))
            assert states["cover"].cover_open
            assert states["close"].cover_open
            assert states["levers"].cover_open
            assert not states["power"].cover_open
            assert bool(states["levers"].only_if) == card.change.moves.none
            assert not any(word in str(card) for word in ("leave the cover shut", "cover stays shut"))

    def test_the_picture_says_only_if_where_the_words_do(self, cards):
        for _, card in cards[:60]:
            told = " ".join(map(str, card.steps))
            assert ("Only if lever, reverse or belt is reached only under it" in told) == card.change.moves.none
            assert ("only if lever, reverse or belt" in card.picture.description) == card.change.moves.none

    def test_nothing_is_turned_by_hand_before_the_chuck_key_is_out(self, cards):
        for _, card in cards:
            told = [line for step in card.steps for line in orders(" ".join(step.lines)) if step.key != "isolate"]
            first = next(n for n, line in enumerate(told) if TURN_BY_HAND.search(line))
            assert any("Chuck key out" in line for line in told[:first])
            if not card.change.moves.none:
                assert any("paper out of the gears" in line for line in told[:first])


class TestAVeryCoarseLead:
    """Above six turns of the leadscrew for one of the spindle nothing goes under power: our convention."""

    @in_one("wanted", COARSE)
    @in_one("known", [False, True])
    def test_no_power_before_the_thread_is_done(self, wanted, known):
        lathe = BENCHES[1]
        made = gc.find_setups(lathe, wanted, count=1)[0]
        assert made.lead_mm / lathe.leadscrew.lead > 6
        card = gc.change_card(lathe, to=made, mounted=made if known else None)
        keys = [step.key for step in card.steps]
        assert keys.index("close") < keys.index("try") < keys.index("scratch") < keys.index("drive")
        assert keys.index("drive") < keys.index("power") == len(keys) - 1
        by_key = dict(zip(keys, zip(card.steps, states_of(card.steps), strict=True), strict=True))
        for key in ("by hand", "try", "scratch"):
            step, state = by_key[key]
            assert step.turned_by == "hand"
            assert state.isolated
            assert not UNDER_POWER.search(str(step))
            assert TURN_BY_HAND.search(str(step))
        assert not any(step.turned_by == "power" for step in card.steps)
        assert "at standstill" in str(by_key["try"][0])
        assert "goes hard" in str(by_key["by hand"][0])
        read_as_somebody_does(card)

    @pytest.mark.parametrize("wanted", COARSE)
    def test_no_word_of_running_on_the_whole_card(self, wanted):
        card = gc.change_card(BENCHES[1], to=gc.find_setups(BENCHES[1], wanted, count=1)[0])
        said = [*card.warnings, *(value for _, value in card.settings)]
        assert not [words for words in said if re.search(r"lowest speed|run back|light cuts", words)]
        assert any("more than 6 times" in words and isolates_first(words) for words in card.warnings)
        rule = dict(card.settings)["half-nuts"]
        assert "standstill" in rule
        assert TURN_BY_HAND.search(rule)
        assert isolates_first(rule)

    def test_of_random_cards_none_above_the_limit_runs(self):
        lathe, rng, above = BENCHES[1], random.Random(4), 0
        gears = sorted(set(lathe.gears))
        for _ in range(60):
            big, small = rng.choice(gears[-6:]), rng.choice(gears[:6])
            other = rng.sample(sorted(set(gears) - {big, small}), 2)
            made = gc.setup(lathe, (big, max(other)), (small, min(other)), rng.choice(lathe.gearbox).name)
            card = gc.change_card(lathe, to=made)
            under_power = any(step.turned_by == "power" for step in card.steps)
            assert under_power == (made.lead_mm / lathe.leadscrew.lead <= 6)
            above += not under_power
            read_as_somebody_does(card)
        assert 3 <= above <= 57

    @pytest.mark.parametrize("wanted", ["lead 2 in", "lead 25 mm", "lead 50 mm LH"])
    def test_the_card_stays_on_both_sides_of_one_sheet(self, wanted):
        made = gc.find_setups(BENCHES[1], wanted, count=1)[0]
        assert gc.change_card(BENCHES[1], to=made, mounted="127/60").on_paper().pages == 2

    def test_between_three_and_six_it_runs_slowly(self):
        """Tr 40x14(P7) on a leadscrew with a lead of 3 mm: 14/3 turns."""
        made = gc.find_setups(BENCHES[1], "Tr 40x14(P7)", count=1)[0]
        card = gc.change_card(BENCHES[1], to=made)
        assert any("more than 3 times" in words and "light cuts" in words for words in card.warnings)
        assert {step.key: step.turned_by for step in card.steps}["scratch"] == "power"

    def test_the_dial_says_so_too(self):
        for lathe, lead in ((BENCHES[0], "lead 2 in"), (BENCHES[1], "lead 25 mm")):
            why = gc.dial(lathe, lead).why
            assert "lowest speed" not in why
            assert TURN_BY_HAND.search(why)
            assert isolates_first(why)

    def test_the_plate_for_the_wall_names_the_leadscrew(self):
        plate = gc.wall_plate(BENCHES[1], ["Tr 40x14(P7)", "lead 25 mm", "1 mm"])
        assert [row["over 25 mm"].endswith(sign) for row, sign in zip(plate.table(), ("!", "!!", ""), strict=True)]
        assert not plate.table()[0]["over 25 mm"].endswith("!!")
        drawn = " ".join(re.sub("<[^>]*>", " ", plate.paper.svg()).split())
        assert "leadscrew turns more than 3 times" in drawn
        key = drawn[drawn.index("!! leadscrew turns more than 6 times") :].split("!!")[1]
        assert TURN_BY_HAND.search(key)
        assert isolates_first(key)
        assert "never under power" in key


class TestEveryStepOfTheExplorer:
    @in_one("lathe", BENCHES)
    @in_one("wanted", ["8 tpi", "16 tpi LH", "32 tpi", "12 tpi", "1.75 mm", "0.1 mm/rev"])
    def test_isolated_wherever_it_is_turned_by_hand(self, lathe, wanted):
        for answer in (1, 6):
            rows = change_view(lathe, mounted="40/80", wanted=wanted, answer=answer).picture.table
            assert any(row["gears turn by"] == "hand" for row in rows)
            for row in rows:
                seen = change_view(lathe, mounted="40/80", wanted=wanted, answer=answer, step=row["step"])
                if row["gears turn by"] == "hand" or TURN_BY_HAND.search(seen.note):
                    assert row["isolated"]
                    assert "The lathe is isolated" in seen.picture.description


def sentences_in(path) -> Iterator[str]:
    """Every piece of text in a module but docstrings; the words of an f-string in one."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skipped = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            parts = [part for part in node.values if isinstance(part, ast.Constant)]
            skipped |= set(map(id, parts))
            yield " ".join(str(part.value) for part in parts)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in skipped:
            yield node.value


def strings_of_notebook(path) -> Iterator[tuple[int, str]]:
    return ((number, text) for number, (kind, text) in enumerate(sources(path)) if kind == "markdown")


def isolates_first(text: str) -> bool:
    """Whether each order to turn by hand has 'isolate' before it, and the drive freed somewhere in the same words."""
    text = " ".join(text.split())
    return all(ISOLATE.search(text[: found.end()]) and FREED.search(text) for found in TURN_BY_HAND.finditer(text))


class TestWordsOnSheetsAndWarnings:
    def test_cautions(self):
        assert TURN_BY_HAND.search(" ".join(CAUTIONS))
        assert isolates_first(" ".join(CAUTIONS))

    @in_one("cause", [cause for symptom in SYMPTOMS for cause in symptom.causes])
    def test_fault_finder(self, cause):
        assert isolates_first(f"{cause.look} {cause.then}")

    def test_the_first_words_of_the_fault_finder(self):
        assert isolates_first(gc.fault_finder().cautions[0])

    def test_a_fast_leadscrew(self):
        """80/20 on a leadscrew of 8 tpi: four turns of it for one of the spindle."""
        warning = next(w for w in gc.setup(BENCHES[0], 80, 20, "middle").warnings if "leadscrew turns" in w)
        assert TURN_BY_HAND.search(warning)
        assert isolates_first(warning)
        assert "light cuts" in warning

    def test_the_plate_for_the_wall(self):
        plate = gc.wall_plate(BENCHES[0], ["lead 1/2 in"])
        drawn = " ".join(re.sub("<[^>]*>", " ", plate.paper.svg()).split())
        key = drawn[drawn.index("! hard on the teeth") :]
        assert TURN_BY_HAND.search(key)
        assert isolates_first(key)

    def test_half_nuts_that_stay_closed(self):
        rule = dict(gc.change_card(BENCHES[0], to=gc.find_setups(BENCHES[0], "1.5 mm")[0]).settings)["half-nuts"]
        assert TURN_BY_HAND.search(rule)
        assert isolates_first(rule)

    def test_a_groove_narrower_than_a_turn(self):
        note = time_to_shoulder("3 mm", 10, 2.9).notes[-1]
        assert TURN_BY_HAND.search(note)
        assert isolates_first(note)

    def test_exercises(self):
        told = 0
        for name in gc.exercise_names():
            for number in (1, 2, 3):
                task = gc.exercise(name, class_number=number).task
                rows = [cell for row in (task.table.rows if task.table else ()) for cell in row]
                if name == "steps-in-order":  # out of order, on purpose; the right order has isolating first
                    rows = [cell for cell in rows if not cell.startswith("Isolate")]
                    rows.insert(0, "Isolated already:")
                text = " ".join([task.question, *rows])
                told += bool(TURN_BY_HAND.search(text))
                assert isolates_first(text), (name, text)
        assert told >= 9

    def test_whatever_else_the_package_says(self, checkout):
        """Any other sentence in its modules; where isolating stands in an earlier one, a test above reads both."""
        read_above = {"steps.py", "cautions.py"}
        steps = {*STEPS.values(), *(text for danger in DANGERS for text in (danger.name, danger.words))}
        told = 0
        for path in sorted((checkout / "gearcalc").rglob("*.py")):
            for text in set() if path.name in read_above else sentences_in(path):
                if TURN_BY_HAND.search(text) and text not in steps:
                    told += 1
                    assert ISOLATE.search(text), f"{path.name}: {text}"
        assert told >= 12

    def test_lessons_and_readme(self, checkout):
        told = 0
        for path in sorted((checkout / "notebooks").glob("*.ipynb")):
            for number, text in strings_of_notebook(path):
                told += bool(TURN_BY_HAND.search(text))
                assert isolates_first(text), f"{path.name}, cell {number}: {TURN_BY_HAND.findall(text)}"
        assert told >= 10
        assert isolates_first((checkout / "README.md").read_text())
