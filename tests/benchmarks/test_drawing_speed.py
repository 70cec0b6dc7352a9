"""How long a live picture takes, as a ratio within one run: to a matplotlib picture, and to its own first frame."""

from __future__ import annotations

import io
from statistics import median
from time import process_time

import pytest

from gearcalc.lathes.trains import Train
from gearcalc.pictures.train_pictures import TrainDrawing
from tests.pictures.test_train_pictures import train_svg

TRAINS = [Train((z, 24, 20), (127, 60, 80)) for z in range(28, 36)]


def seconds(call, *arguments) -> float:
    start = process_time()
    call(*arguments)
    return process_time() - start


def test_a_live_picture_is_faster_than_a_matplotlib_picture_of_the_same_outlines():
    pyplot = pytest.importorskip("matplotlib.figure")

    def with_matplotlib(train: Train) -> None:
        axes = pyplot.Figure(figsize=(8, 4.8)).add_subplot(aspect="equal")
        for outline in TrainDrawing(train).outlines(flank_points=4):
            axes.fill(*zip(*outline, strict=True), edgecolor="k")
        axes.figure.savefig(io.BytesIO(), format="png", dpi=100)

    with_matplotlib(TRAINS[0])
    train_svg(TRAINS[0])
    ours = median(seconds(train_svg, train) for train in TRAINS[1:])
    theirs = median(seconds(with_matplotlib, train) for train in TRAINS[1:])
    assert ours * 3 < theirs


def test_the_next_frame_is_far_faster_than_the_first():
    first, later = [], []
    for train in (Train((z, 25, 21), (127, 61, 81)) for z in range(28, 36)):
        first.append(seconds(train_svg, train))
        later += [seconds(lambda angle, train=train: train_svg(train, spindle_angle_deg=angle), a) for a in range(1, 9)]
    assert median(later) * 3 < median(first)
