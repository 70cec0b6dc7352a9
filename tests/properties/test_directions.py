"""Every arrow, and every word on which way a shaft turns, against the places where teeth touch, counted here.

Seen from the gear end a spindle that runs forward turns clockwise. On the way to the leadscrew the motion is turned
round by a spindle side that says so, by a reverse turned over, at each place where teeth touch, and by a lever that
says so. A leadscrew that turns as the spindle does cuts a thread of its own hand (common knowledge of screws).
"""

from __future__ import annotations

import re
from itertools import pairwise
from random import Random

import pytest
from attrs import evolve

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.deriving.derivations import derive
from gearcalc.finding.setups import Setup, setup
from gearcalc.lathes import Lathe, Lever, SpindleSide, demo_lathe
from gearcalc.lathes.directions import check_hand, reverse_over_means
from gearcalc.lathes.trains import Train
from gearcalc.learning.explorers.first_lessons import cut_view
from gearcalc.learning.explorers.fit_bench import fit_bench_view
from gearcalc.learning.explorers.turning import turning_view
from gearcalc.papers.change_cards import change_card
from gearcalc.pictures.bracket_pictures import bracket_picture
from gearcalc.pictures.picture import Picture
from tests.benches import several_levers
from tests.pictures.svg_texts import words_of

CLOCKWISE = {True: "clockwise", False: "anticlockwise"}
OTHER = {"right": "left", "left": "right"}
_ARC = re.compile(
    r'class="arrow"><path d="M(\S+) (\S+)A(\S+) \S+ 0 0 ([01]) (\S+) (\S+)".*?<path d="M(\S+) (\S+)L', re.S
)


def a_lathe(draw: Random) -> Lathe:
    """A demo lathe that turns motion round in other places; in three of four a gearbox, in two of three a bracket."""
    whole = demo_lathe(draw.choice(["inch", "metric"]))
    side = SpindleSide(draw.choice(["1", "1/2", "3/2"]), draw.random() < 0.5, draw.random() < 0.7)
    levers = tuple(Lever(name, ratio, draw.random() < 0.5) for name, ratio in (("a", "1/2"), ("b", "1"), ("c", "2")))
    return evolve(
        whole,
        spindle_side=side,
        leadscrew=evolve(whole.leadscrew, hand=draw.choice(["right", "left"])),
        gearbox=levers if draw.random() < 0.75 else (),
        bracket=draw.choice([None, whole.bracket, whole.bracket]),
        plate=(),
    )


def a_train(draw: Random, lathe: Lathe) -> Train:
    """One to three meshes and up to two idlers, wherever they come, each gear owned."""
    meshes, idlers = draw.choice([1, 1, 2, 2, 3]), draw.choice([0, 0, 1, 2])
    gears = draw.sample(lathe.gears, 2 * meshes + idlers)
    filled: list[list[int]] = [[] for _ in range(meshes)]
    for teeth in gears[2 * meshes :]:
        draw.choice(filled).append(teeth)
    return Train(gears[:meshes], gears[meshes : 2 * meshes], filled)


def a_setup(draw: Random) -> tuple[Lathe, Setup]:
    lathe = a_lathe(draw)
    train, lever = a_train(draw, lathe), draw.choice("abc") if lathe.gearbox else None
    wanted = draw.choice(["16 tpi", "16 tpi LH", "1.5 mm", "M10 LH", None])
    return lathe, setup(lathe, train.drivers, train.driven, lever, train.idlers, wanted)


def shafts_turning(train: Train, first: bool) -> list[bool]:
    """Which way each shaft turns, from the spindle side: turned round wherever two gears touch."""
    turning = [first]
    for driver, idlers, driven in zip(train.drivers, train.idlers, train.driven, strict=True):
        for _touching in pairwise([driver, *idlers, driven]):
            turning.append(not turning[-1])
    return turning


def hand_cut(lathe: Lathe, train: Train, lever: str | None, over: bool) -> str:
    way = True
    way = way if lathe.spindle_side.same_way else not way
    way = not way if over else way
    way = shafts_turning(train, way)[-1]
    for position in lathe.gearbox:
        if position.name == lever and not position.same_way:
            way = not way
    return lathe.leadscrew.hand if way else OTHER[lathe.leadscrew.hand]


def wanted_hand(made: Setup) -> str:
    return "left" if made.wanted is not None and str(made.wanted).endswith("LH") else "right"


def must_be_over(lathe: Lathe, made: Setup, train: Train) -> bool:
    """Whether only the reverse turned over gives the hand that is wanted."""
    return lathe.spindle_side.reverse and hand_cut(lathe, train, made.lever, False) != wanted_hand(made)


def arrows(svg: str) -> list[bool]:
    """Each arrow drawn, in the order of the shafts: whether it goes clockwise on the sheet."""
    found = []
    for x, y, _radius, sweep, neck_x, neck_y, tip_x, tip_y in _ARC.findall(svg):
        start, neck, tip = (complex(float(a), float(b)) for a, b in ((x, y), (neck_x, neck_y), (tip_x, tip_y)))
        assert abs(tip - start) > abs(neck - start)  # the head stands at the end of the arc
        bend = ((neck - start).conjugate() * (tip - neck)).imag  # y runs down, so a turn to the right is above 0
        assert (bend > 0) == (sweep == "1")
        found.append(bend > 0)
    return found


def says(picture: Picture, lathe: Lathe, train: Train, over: bool) -> None:
    """Arrows, table and description of a picture agree with the shafts of that train."""
    shafts = shafts_turning(train, lathe.spindle_side.same_way != over)
    assert arrows(picture.svg) == shafts
    turning = [row["turning, from the gear end"] for row in picture.table if "turning, from the gear end" in row]
    gears = [way for way, (left, right) in zip(shafts, gears_on(train), strict=True) for _ in range(left + right)]
    assert turning == [CLOCKWISE[way] for way in gears]
    stands = "" if not lathe.spindle_side.reverse else "; reverse over" if over else "; reverse as described"
    seen = f"Seen from the gear end (spindle forward: clockwise{stands})"
    assert f"{seen} the first driver turns {CLOCKWISE[shafts[0]]}." in picture.description
    assert seen in " ".join(line.text for line in words_of(picture.svg))  # on a narrow sheet in two lines
    last = "gearbox input" if lathe.gearbox else "leadscrew"
    assert f"For one turn of the first driver the {last} turns" in picture.description
    assert f">{last}<" in picture.svg


def gears_on(train: Train) -> list[tuple[int, int]]:
    """Gears on each shaft: one driven (or idler) and one driver, save at the ends and on an idler's stud."""
    on = [(0, 1)]
    for number, idlers in enumerate(train.idlers):
        on += [(1, 0)] * len(idlers)
        on.append((1, int(number + 1 < train.meshes)))
    return on


class TestWhatIsDrawnCutsTheHandThatIsSaid:
    @pytest.mark.parametrize("seed", range(4))
    def test_of_a_thousand_setups_the_hand_and_the_reverse(self, seed):
        draw = Random(seed)
        for _ in range(250):
            lathe, made = a_setup(draw)
            over = must_be_over(lathe, made, made.train)
            assert made.reverse_over == over
            assert made.hand == hand_cut(lathe, made.train, made.lever, over)
            told = over and made.wanted is not None  # where nothing is wanted, no hand is
            assert ("reverse over" in str(made)) == told
            assert ("reverse over" in made._repr_latex_()) == told

    def test_of_the_picture_of_a_train_with_the_thread_that_it_cuts(self):
        draw = Random(1)
        for _ in range(120):
            lathe, made = a_setup(draw)
            over = must_be_over(lathe, made, made.train)
            view = cut_view(lathe, made, tall=draw.choice([None, False]))
            says(view.picture, lathe, made.train, over)
            hand = hand_cut(lathe, made.train, made.lever, over)
            stands = "" if not lathe.spindle_side.reverse else ", reverse over" if over else ", reverse as described"
            assert view.facts[0]["hand"] == f"{hand}{stands}"
            assert f"and is {hand}-hand." in view.picture.description

    def test_of_the_picture_of_a_train_on_its_bracket(self):
        draw, drawn = Random(2), 0
        while drawn < 40:
            lathe, made = a_setup(draw)
            if made.fit is not None:
                train, drawn = made.fit.train, drawn + 1
                says(bracket_picture(lathe, made), lathe, train, must_be_over(lathe, made, train))
                says(bracket_picture(lathe, made.train), lathe, bracket_train(lathe, made.train), False)

    def test_of_both_pictures_on_a_card(self):
        draw, before = Random(3), None
        for _ in range(40):
            lathe, made = a_setup(draw)
            train = a_train(draw, lathe)
            lever = draw.choice("abc") if lathe.gearbox else None
            before = setup(lathe, train.drivers, train.driven, lever, train.idlers, draw.choice(["1 mm LH", "1 mm"]))
            card = change_card(lathe, made, before if draw.random() < 0.5 else before.train)
            built = card.setup
            over = must_be_over(lathe, built, built.train)
            says(card.after.picture(), lathe, built.train, over)
            known = isinstance(card.change.standing, Setup)
            says(
                card.before.picture(),
                lathe,
                card.before.train,
                known and must_be_over(lathe, before, card.before.train),
            )
            words = " ".join(line for step in card.steps for line in step.lines)
            if lathe.spindle_side.reverse:
                assert bool(re.search(r"Reverse over(, where it is)?: the first driver turns ", words)) == over
                turns_with = lathe.spindle_side.same_way != over
                assert f"the first driver turns {'with' if turns_with else 'against'} the spindle." in words
            hand = hand_cut(lathe, built.train, built.lever, over)
            assert dict(card.settings)["hand of the thread"] == hand
            assert f"the carriage must go {'towards' if hand == 'right' else 'away from'} the headstock" in words

    def test_of_the_turning_train_with_its_dials(self):
        draw = Random(4)
        for _ in range(60):
            lathe = a_lathe(draw)
            gears = draw.sample(lathe.gears, 6)
            lever, meshes = draw.choice("abc") if lathe.gearbox else None, draw.choice([1, 2])
            idlers = gears[4 : 4 + draw.choice([0, 1, 2])]
            train = Train(gears[:meshes], gears[meshes : 2 * meshes], [idlers])
            chosen = dict(zip(("first_driver", "second_driver"), train.drivers, strict=False))
            chosen |= dict(zip(("first_driven", "second_driven"), train.driven, strict=False))
            chosen |= dict(zip(("first_idler", "second_idler"), idlers, strict=False))
            thread = draw.choice(["2 mm", "2 mm LH"])
            view = turning_view(lathe, **chosen, lever=lever, thread=thread, turns="1/16")
            made = setup(lathe, train.drivers, train.driven, lever, train.idlers, thread)
            over = must_be_over(lathe, made, train)
            says(view.picture, lathe, train, over)
            svg, hand = view.svg, hand_cut(lathe, train, lever, over)
            first = float(re.search(r'data-first-driver="([^"]+)"', svg)[1])
            assert (first > 0) == (lathe.spindle_side.same_way != over)
            spindle, leadscrew = [
                first * float(turns)
                for turns in re.findall(r'data-rest="[^"]+" data-turns="([^"]+)"><path d="M0 -15', svg)
            ]
            assert spindle == pytest.approx(1)
            as_spindle = hand == lathe.leadscrew.hand
            assert leadscrew == pytest.approx(float(made.leadscrew_turns) * (1 if as_spindle else -1))
            assert f"cuts a {hand}-hand thread" in view.picture.description

    def test_of_the_bench_where_a_train_is_set_by_hand(self):
        draw, drawn = Random(5), 0
        while drawn < 15:
            lathe = a_lathe(draw)
            train = a_train(draw, lathe)
            if lathe.bracket is not None and len(shafts_turning(train, True)) - 2 <= lathe.bracket.studs:
                drawn += 1
                view = fit_bench_view(lathe, train=train, first_stud=70, second_stud=30)
                says(view.picture, lathe, train, False)

    def test_of_the_derivation(self):
        draw = Random(6)
        for _ in range(60):
            lathe, made = a_setup(draw)
            words = (
                derive(made).steps[-1].words
                if made.wanted is None
                else " ".join(step.words for step in derive(made).steps)
            )
            natural = hand_cut(lathe, made.train, made.lever, False)
            assert f"that cuts a {natural}-hand thread" in words


class TestWords:
    @pytest.mark.parametrize(
        ("lathe", "words"),
        [
            (evolve(demo_lathe("inch"), gearbox=()), "Reverse over: the first driver turns against the spindle; els"),
            (
                evolve(demo_lathe("inch"), spindle_side=SpindleSide(same_way=False)),
                "Reverse over: the first driver turns with the spindle; elsewhere against it.",
            ),
            (several_levers(2), "Reverse over: turned over from how the lathe file describes it."),
        ],
        ids=["no lever", "turned round before", "a lever ahead that turns it round"],
    )
    def test_what_reverse_over_means_on_every_lathe(self, lathe, words):
        assert reverse_over_means(lathe).startswith(words)

    @pytest.mark.parametrize("hand", ["up", "Right", "", 5, b"left", ["right"]])
    def test_what_is_no_hand_is_refused(self, hand):
        for fine in ("right", "left", None):
            check_hand(fine, "for either")
        with pytest.raises(ValueOutOfRangeError, match="must be 'right' or 'left', or None for either, not "):
            check_hand(hand, "for either")


def bracket_train(lathe: Lathe, train: Train) -> Train:
    from gearcalc.fits import fit

    return fit(lathe, train).train
