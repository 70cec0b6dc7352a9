"""A pleasing schematic arrangement for a train whose axes are not given: a row, folded when it gets long.

Meshing pairs stand at their true centre distance. On each stud the smaller gear comes in front, so that
both can be seen. Whether a train goes on a bracket is another question.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import combinations, pairwise

from gearcalc.lathes.trains import Train
from gearcalc.pictures.trains.outlines import Point

_FOLDS_DEG = (0, 20, 35, 50)
_WORTH_FOLDING = 1.12  # a straight row reads best, so a fold must enlarge the picture by this much


@lru_cache(maxsize=256)
def arrange(train: Train, aspect: float = 2.3) -> tuple[tuple[Point, ...], tuple[int, ...]]:
    """Axes, in modules, spindle side first, and a plane for each mesh.

    >>> arrange(Train((40, 30), (80, 60)))
    (((0.0, 0.0), (60.0, 0.0), (105.0, 0.0)), (0, 1))

    `aspect`: width over height of the room for the picture; the row is folded up and down where that makes
    the gears larger and no two gears of one plane touch that do not mesh.
    """
    row = row_mm(train)
    planes = _planes(train, [(x, 0.0) for x in row])
    best: tuple[Point, ...] = tuple((x, 0.0) for x in row)
    best_size = _size(train, best, aspect)
    for fold in _FOLDS_DEG[1:]:
        axes = _folded(row, fold)
        size = _size(train, axes, aspect)
        if size > best_size * _WORTH_FOLDING and not _touching(train, axes, planes):
            best, best_size = axes, size
    return best, planes


def row_mm(train: Train, module_mm: float = 1.0) -> tuple[float, ...]:
    """Where the shafts stand when the train is unfolded into one straight row, the first at 0.

    >>> row_mm(Train((40,), (80,), ((50,),)))
    (0.0, 45.0, 110.0)
    """
    row = [0.0]
    for chain in train.chain():
        for teeth, mate in pairwise(chain):
            row.append(row[-1] + module_mm * (teeth + mate) / 2)
    return tuple(row)


def _folded(row: Sequence[float], fold_deg: float) -> tuple[Point, ...]:
    axes, x, y = [(0.0, 0.0)], 0.0, 0.0
    for k, (start, end) in enumerate(pairwise(row)):
        turn = math.radians(fold_deg if k % 2 else -fold_deg)
        x, y = x + (end - start) * math.cos(turn), y + (end - start) * math.sin(turn)
        axes.append((x, y))
    return tuple(axes)


def _gears(train: Train) -> Iterator[tuple[int, int, int]]:
    """(mesh, shaft, teeth) along the chain."""
    shaft = 0
    for mesh, chain in enumerate(train.chain()):
        for position, teeth in enumerate(chain):
            shaft += position > 0
            yield mesh, shaft, teeth


def _planes(train: Train, axes: Sequence[Point]) -> tuple[int, ...]:
    """Mesh by mesh: in front when its driver is the smaller gear of the stud, behind when the larger."""
    planes = [0]
    for mesh in range(1, train.meshes):
        step = 1 if train.drivers[mesh] <= train.driven[mesh - 1] else -1
        plane = planes[-1] + step
        while _touching(train, axes, (*planes, plane)):
            plane += step
        planes.append(plane)
    return tuple(plane - min(planes) for plane in planes)


def _touching(train: Train, axes: Sequence[Point], planes: Sequence[int]) -> bool:
    """Whether two gears of one plane meet that do not mesh; only meshes with a plane count."""
    placed = [gear for gear in _gears(train) if gear[0] < len(planes)]
    for (mesh, shaft, teeth), (other_mesh, other_shaft, other) in combinations(placed, 2):
        if planes[mesh] != planes[other_mesh] or (mesh == other_mesh and abs(shaft - other_shaft) == 1):
            continue
        if math.dist(axes[shaft], axes[other_shaft]) < (teeth + other) / 2 + 3:
            return True
    return False


def _size(train: Train, axes: Sequence[Point], aspect: float) -> float:
    """How large a module comes out in a room of height 1."""
    gears = [(axes[shaft], teeth / 2 + 1) for _, shaft, teeth in _gears(train)]
    width = max(x + r for (x, _), r in gears) - min(x - r for (x, _), r in gears)
    height = max(y + r for (_, y), r in gears) - min(y - r for (_, y), r in gears)
    return min(aspect / width, 1 / height)
