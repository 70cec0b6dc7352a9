"""How long a live picture takes, as a ratio within one run: to a matplotlib picture, and to its own first frame."""

from __future__ import annotations

from statistics import median

from gearcalc.lathes.trains import Train
from gearcalc.pictures.train_pictures import TrainDrawing
from tests.benchmarks.pictures import outlines_with_matplotlib
from tests.benchmarks.rivalry import timed
from tests.pictures.test_train_pictures import train_svg

TRAINS = [Train((z, 24, 20), (127, 60, 80)) for z in range(28, 36)]


def test_a_live_picture_is_faster_than_a_matplotlib_picture_of_the_same_outlines():
    def with_matplotlib(train: Train) -> None:
        outlines_with_matplotlib(TrainDrawing(train).outlines(flank_points=4), "png")

    with_matplotlib(TRAINS[0])
    train_svg(TRAINS[0])
    ours = median(timed(train_svg, train) for train in TRAINS[1:])
    theirs = median(timed(with_matplotlib, train) for train in TRAINS[1:])
    assert ours * 3 < theirs


def test_the_next_frame_is_far_faster_than_the_first():
    first, later = [], []
    for train in (Train((z, 25, 21), (127, 61, 81)) for z in range(28, 36)):
        first.append(timed(train_svg, train))
        later += [timed(lambda train, angle: train_svg(train, spindle_angle_deg=angle), train, a) for a in range(1, 9)]
    assert median(later) * 3 < median(first)
