"""A change of gears, from what is mounted to the setup: what moves and what stays, and one step of it."""

from __future__ import annotations

from attrs import frozen

from gearcalc.cutting.scratch_passes import ScratchCheck
from gearcalc.finding.setups import Setup
from gearcalc.fits import Fit
from gearcalc.fits.by_hand import mesh_states
from gearcalc.lathes import Lathe
from gearcalc.planning.gear_moves import Arranged, Moves


@frozen
class Change:
    """All that the steps are made from: from what is mounted to the setup, and what has to be moved.

    `before`: None where it is not known; `fit`, `fit_before`: how they go on, where the lathe file says it;
    `standing`: the setup that is mounted, None where its lever is not known; `idlers_assumed`: which
    idlers of `before` nobody named, in a sentence: they are what would bridge the gap; empty where that is none.
    """

    lathe: Lathe
    setup: Setup
    before: Arranged | None
    after: Arranged
    moves: Moves
    check: ScratchCheck
    fit: Fit | None = None
    fit_before: Fit | None = None
    standing: Setup | None = None
    idlers_assumed: str = ""

    @property
    def distances_mm(self) -> tuple[float, ...]:
        """For each two gears that mesh, from the spindle side, how far apart their axes stand; empty: not known."""
        if self.fit is None:
            return ()
        return tuple(mesh.right_mm for mesh in mesh_states(self.lathe, self.after.train, self.fit.axes_mm))

    @property
    def opens_the_cover(self) -> bool:
        """Whether any gear has to be touched."""
        return not self.moves.none

    @property
    def lever_stays(self) -> bool:
        """Whether every lever is known to stand where it should."""
        return self.standing is not None and self.standing.lever == self.setup.lever

    @property
    def levers(self) -> tuple[tuple[str, str], ...]:
        """Each lever and where it should stand; whether that is where it is, and of several from where it comes."""
        then, now = self.setup.position, None if self.standing is None else self.standing.position
        was = {stand.lever: stand.at for stand in (now.stands if now else ())}
        said = []
        for stand in then.stands if then else ():
            comes_from = f", from {was[stand.lever]}" if stand.lever and stand.lever in was else ""
            stays = was.get(stand.lever) == stand.at
            said.append((stand.called, f"{stand.at}{', where it is' if stays else comes_from}"))
        return tuple(said)

    @property
    def reverse_stays(self) -> bool:
        """Whether the reverse is known to stand where it should."""
        was, then = self.standing, self.setup
        if was is None or was.wanted is None or not was.way_known or not then.way_known:
            return False
        return was.reverse_over == then.reverse_over

    @property
    def nothing(self) -> bool:
        """Whether all is known to stand as it should."""
        return self.moves.none and self.lever_stays and (self.reverse_stays or not self.setup.reverse_fitted)


@frozen
class Step:
    """One step: `key` names it for good ('isolate', 'cover' ...), `title` says it, `lines` say how.

    `gears`: places to be ticked off one by one, each in words; empty for most steps. `turned_by`: what turns the gears
    in this step, 'hand' or 'power', or '' where nothing does. `only_if`: when it is to be done at all; empty: always.
    """

    key: str
    title: str
    lines: tuple[str, ...]
    gears: tuple[str, ...] = ()
    turned_by: str = ""
    only_if: str = ""

    def __str__(self) -> str:
        return " ".join([f"{self.title}.", *self.lines])
