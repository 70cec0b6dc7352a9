"""What a plan for a day's jobs says: the jobs in order, a setup for each, what is to be moved, and how good that is."""

from __future__ import annotations

from itertools import pairwise
from math import dist

from attrs import frozen

from gearcalc.basics import markup, writing
from gearcalc.finding.choosing import may_be_chosen
from gearcalc.finding.setups import Setup
from gearcalc.finding.straight_across import fit_not_checked
from gearcalc.lathes.directions import REVERSE_OVER_NOTE
from gearcalc.lathes.levers import moved_levers
from gearcalc.lathes.orders import HOW_MOVED_COUNTS, gears_moved, to_move
from gearcalc.lathes.trains import Train
from gearcalc.threads.deviations import GOOD_ENOUGH_IN_WORDS
from gearcalc.threads.wanted import Wanted

PLANNED_MESHES = (1, 2, 3)
INTERRUPTED = "Interrupted: this is the best plan that was found by then."

_SAME_MM, _SAME_DEG = 0.05, 0.05  # a stud, or the bracket, that stands so near to where it stood has not moved


@frozen
class Plan:
    """Jobs in the order to do them, and the setup of each. Made by plan_changeover().

    `jobs`, `setups`: one of each a job, in order; jobs that have the same lead, and may be off by as much, follow one
    another with the same setup.
    `mounted`: what stood on the lathe before, or None. `moves`: for each setup how many gears are moved, None for the
    first where it is not known what was mounted.
    `within_ppm`: how far off a job may be, a float; 'good enough', as plan_changeover() says it; or None, no limit.
    `lower_bound`: no plan of those that `why` names can move fewer gears. `meshes`: how many a train may have.
    """

    jobs: tuple[Wanted, ...]
    setups: tuple[Setup, ...]
    mounted: Train | None
    lower_bound: int
    within_ppm: float | str | None
    kept_order: bool = False
    notes: tuple[str, ...] = ()
    meshes: tuple[int, ...] = PLANNED_MESHES

    @property
    def moves(self) -> tuple[int | None, ...]:
        """How many gears are moved, idlers among them, a number for each setup; see orders.HOW_MOVED_COUNTS."""
        return tuple(None if before is None else self._differ(before, after) for before, after in self._pairs)

    @property
    def moved(self) -> int:
        """All those places together: what the plan keeps as low as it can be."""
        return sum(count or 0 for count in self.moves)

    @property
    def proven(self) -> bool:
        """Whether no plan of those that `why` names moves fewer: in this order, or in any where that was left open."""
        return self.moved <= self.lower_bound

    @property
    def interrupted(self) -> bool:
        """Whether it was stopped by hand, and is the best that was found by then."""
        return INTERRUPTED in self.notes

    @property
    def idlers_moved(self) -> int:
        """How many of the places moved are those of idlers."""
        return self.moved - sum(
            self._differ(_without_idlers(before), _without_idlers(after))
            for before, after in self._pairs
            if before is not None
        )

    @property
    def levers_moved(self) -> int:
        """How often a gearbox lever is moved, from the first job on; two levers for one job are two."""
        return sum(len(moved_levers(one.position, other.position)) for one, other in pairwise(self.setups))

    @property
    def reverses_moved(self) -> int:
        """How often the reverse is put over or back, from the first job on."""
        return sum(map(bool, self.reverse_moves))

    @property
    def reverse_moves(self) -> tuple[str, ...]:
        """For each setup 'over' or 'back' where the reverse is put over or back before it, else empty.

        A feed by a feed drive leaves it where it is: which way that turns the lathe file doesn't know.
        """
        moves, was = [], None
        for setup in self.setups:
            now = setup.reverse_over if setup.way_known else was
            moves.append("" if was in (None, now) else "over" if now else "back")
            was = now
        return tuple(moves)

    @property
    def brackets_moved(self) -> int | None:
        """How often the bracket is swung or a stud is shifted, from the first job on; None where it can't be told."""
        alike = [_stands_as(one, other) for one, other in pairwise(self.setups)]
        return None if None in alike else alike.count(False)

    def _differ(self, one: Train, other: Train) -> int:
        return gears_moved(self.setups[0].lathe.gear_set, one, other)

    @property
    def _pairs(self) -> list[tuple[Train | None, Train]]:
        trains = [setup.train for setup in self.setups]
        return list(zip([self.mounted, *trains], trains, strict=False))

    @property
    def shortfalls(self) -> tuple[str, ...]:
        """Why setups of the plan are not good enough for their jobs, a sentence each; said ahead of everything else."""
        return tuple(setup.shortfall for setup in self.setups if setup.shortfall)

    @property
    def why(self) -> str:
        """How good the plan is, in words."""
        order = "in this order" if self.kept_order else "in any order"
        if self.moved == 0:
            return "No gear has to be moved."
        if self.proven:
            return (
                f"Proven: no plan {order} moves fewer, of all setups {self._near} with {self._trains}, with no more "
                f"idlers than they need and none strained that need not be. {HOW_MOVED_COUNTS}"
            )
        return (
            f"The best that was found with so much work; whether fewer will do is not proven. No plan {order} "
            f"can move fewer than {self.lower_bound}, of all setups {self._near} with {self._trains}, with no more "
            "idlers than they need and none strained that need not be. To look further takes longer. "
            f"{HOW_MOVED_COUNTS}"
        )

    @property
    def _near(self) -> str:
        if self.within_ppm is None or isinstance(self.within_ppm, str):
            all_are = all(map(may_be_chosen, self.setups))
            return GOOD_ENOUGH_IN_WORDS + ("" if all_are else ", or the nearest where none is,")
        return f"within {writing.ppm(self.within_ppm, 4)}" if self.within_ppm else "that are exact"

    @property
    def _trains(self) -> str:
        fit = "fit not checked" if any(setup.fit is None for setup in self.setups) else "that go on the bracket"
        comma = "," if fit.startswith("fit") else ""
        return f"trains of {writing.meshes(self.meshes)} from these gears{comma} {fit}"

    @property
    def summary(self) -> str:
        """What has to be moved in all, in words."""
        said = [writing.counted(self.moved, "gear")]
        if self.idlers_moved:
            words = "an idler" if self.idlers_moved == 1 else "idlers"
            of_them = "all of them" if self.idlers_moved == self.moved else f"{self.idlers_moved} of them"
            said.append(words if self.moved == 1 else f"{of_them} {words}")
        gears, said = ", ".join(said), []
        several = f"lever{'s' * any(len(setup.position.stands) > 1 for setup in self.setups if setup.position)}"
        said.append(f"the {several} {_times(self.levers_moved)}")
        if self.reverses_moved:
            said.append(f"the reverse {_times(self.reverses_moved)}")
        brackets = self.brackets_moved
        said.append("the bracket not known" if brackets is None else f"the bracket {_times(brackets)}")
        return f"To move: {gears}{', ' if self.mounted is None else '; from the first job on '}{', '.join(said)}."

    def __str__(self) -> str:
        lines = []
        for place, (job, setup, moved, reverse) in enumerate(self._rows, 1):
            said = f"; put the reverse {reverse}" if reverse else ""
            lines.append(f"{place}. {job}: {setup}{to_move(moved)}{said}")
        return "\n".join((*self.shortfalls, *lines, self.summary, self.why, *self._foot))

    def _repr_html_(self) -> str:
        names = ("place", "job", "lever", "train", "error", "gears to move", "reverse to put")
        rows = ([str(place), *_cells(*row)] for place, row in enumerate(self._rows, 1))
        above = "".join(f"<p><strong>{markup.in_html(said)}</strong></p>" for said in self.shortfalls)
        notes = (self.summary, self.why, *self._foot)
        return above + markup.html_columns("Jobs in order", names, rows, notes=notes)

    @property
    def _rows(self) -> list[tuple[Wanted, Setup, int | None, str]]:
        return list(zip(self.jobs, self.setups, self.moves, self.reverse_moves, strict=True))

    @property
    def _foot(self) -> tuple[str, ...]:
        over = any(setup.reverse_over for setup in self.setups)
        return (*self.notes, *([REVERSE_OVER_NOTE] if over else []), *fit_not_checked(self.setups))


def _cells(job: Wanted, setup: Setup, moved: int | None, reverse: str) -> list[str | markup.Written]:
    return [
        str(job),
        setup.settings or "none",
        setup.train.written,
        writing.error(setup.error) if setup.error is not None else "",
        "not known" if moved is None else str(moved),
        reverse or "–",
    ]


def _times(count: int) -> str:
    return {0: "never", 1: "once", 2: "twice"}.get(count, f"{count} times")


def _without_idlers(train: Train) -> Train:
    return Train(train.drivers, train.driven)


def _stance(setup: Setup) -> tuple[float, tuple[tuple[float, float], ...]] | None:
    """How far the bracket is swung, and where the studs stand; None where it can't be told."""
    if setup.fit is None or setup.fit.swing_deg is None:
        return None
    return setup.fit.swing_deg, setup.fit.axes_mm[1:-1]


def _stands_as(one: Setup, other: Setup) -> bool | None:
    """Whether bracket and studs stand alike in two setups; None where it can't be told."""
    before, after = _stance(one), _stance(other)
    if before is None or after is None:
        return None
    studs = list(zip(before[1], after[1], strict=False))
    return (
        len(before[1]) == len(after[1])
        and abs(before[0] - after[0]) <= _SAME_DEG
        and all(dist(here, there) <= _SAME_MM for here, there in studs)
    )
