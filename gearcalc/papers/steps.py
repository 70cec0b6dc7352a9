"""The steps of a change of gears, in the order that keeps fingers whole, in words for the machine.

Shop practice here is common practice, no source; what can be reckoned is reckoned: which gears move, how far apart
their axes stand, how many turns by hand bring every tooth round.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from math import ceil, cos, radians
from typing import NamedTuple

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.cautions import DRIVE_FREE
from gearcalc.cutting.measurements import ScratchCheck
from gearcalc.finding.setups import Setup
from gearcalc.fits import Fit
from gearcalc.fits.by_hand import mesh_states
from gearcalc.lathes import Lathe
from gearcalc.lathes.directions import reverse_in_words
from gearcalc.planning.gear_moves import Arranged, Moves, Place, turns_until_round
from gearcalc.threads import Feed

_NEVER_FORCE = "If it goes in hard, turn the chuck a little by hand. Never force it."
_SMALL_THINGS = (
    "A tray, to keep washers, spacers, bushes and keys in their order; a brush and a clean rag.",
    "A strip of thin paper for the meshes; a rule or calliper to measure with; this card, and a pencil.",
)
_ONLY_IF = "lever, reverse or belt is reached only under it"


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


class State(NamedTuple):
    """How the lathe is in a step: cut off from its power, its cover open; `only_if`: when it is open at all."""

    isolated: bool
    cover_open: bool
    only_if: str = ""


SPANS: Mapping[str, tuple[str, str]] = {"isolated": ("isolate", "power"), "cover open": ("cover", "close")}
"""What holds over several steps: the key of the step that begins it, and of the one that ends it."""


@frozen
class Change:
    """All that the steps are made from: from what is mounted to the setup, and what has to be moved.

    `before`: None where it is not known; `fit`, `fit_before`: how they go on, where the lathe file says it;
    `standing`: the setup that is mounted, None where its lever is not known.
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
        """Whether the lever is known to stand where it should."""
        return self.standing is not None and self.standing.lever == self.setup.lever

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


def steps_of(change: Change) -> tuple[Step, ...]:
    """The steps in order; without those at the gears where only the lever or the reverse has to move.

    With a very fast leadscrew the power comes back only when the thread is done.

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("inch")
    >>> card = gc.change_card(lathe, to=gc.setup(lathe, 40, 80, "low", 25), mounted=gc.Train((40,), (80,), (25,)))
    >>> [step.key for step in steps_of(card.change)]
    ['isolate', 'cover', 'levers', 'by hand', 'close', 'power', 'try', 'scratch']
    """
    at_the_gears = (
        (_slacken(change), _strip(change), _build(change), _mesh(change), _snug(change))
        if change.opens_the_cover
        else ()
    )
    begun = (_isolate(change), _cover(change), *at_the_gears, _levers(change), _by_hand(change), _close(change))
    if change.setup.pulled_by_hand:
        return (*begun, _try_by_hand(change), _scratch(change), _drive_back(), _power())
    return (*begun, _power(), _try_it(change), _scratch(change))


def states_of(steps: Sequence[Step]) -> tuple[State, ...]:
    """How the lathe is in each step: it counts as open until it is shut, and as live as soon as the power comes back.

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("inch")
    >>> card = gc.change_card(lathe, to=gc.setup(lathe, 40, 80, "low", 25), mounted=gc.Train((40,), (80,), (25,)))
    >>> [state.isolated for state in states_of(card.steps)], states_of(card.steps)[2].only_if
    ([True, True, True, True, True, False, False, False], 'lever, reverse or belt is reached only under it')
    """
    isolated = cover_open = False
    only_if = ""
    states = []
    for step in steps:
        isolated = (isolated or step.key == SPANS["isolated"][0]) and step.key != SPANS["isolated"][1]
        if step.key == SPANS["cover open"][0]:
            cover_open, only_if = True, step.only_if
        states.append(State(isolated, cover_open, only_if if cover_open else ""))
        cover_open = cover_open and step.key != SPANS["cover open"][1]
    return tuple(states)


def things_needed(change: Change) -> tuple[str, ...]:
    """What to lay out before the cover is opened: spanners, gears, and the small things.

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("inch")
    >>> card = gc.change_card(lathe, to=gc.setup(lathe, 40, 60, "middle", 35), mounted="40/80")
    >>> things_needed(card.change)[1]
    'From the box: gears 35, 60. Count the teeth, or read the stamp.'
    """
    if not change.opens_the_cover:
        return ("Rule or calliper to measure with.",)
    return (_spanners(change), _gears_to_lay_out(change), *_SMALL_THINGS)


def _spanners(change: Change) -> str:
    touched = {change.after.shaft_name(place.shaft) for place in change.moves.on}
    if change.before is not None:
        touched |= {change.before.shaft_name(place.shaft) for place in change.moves.off}
    studs = change.after.shafts - 2
    fits = [] if not studs else ["the nut of the stud" if studs == 1 else f"the nuts of the {studs} studs"]
    fits += ["the clamp of the bracket", "the cover, if it has screws"]
    fits += [f"the gear on the {end}" for end in ("spindle side", change.after.last_shaft) if end in touched]
    return f"Spanners or keys (write the sizes in) for {' ____, '.join(fits)} ____."


def _gears_to_lay_out(change: Change) -> str:
    freed = Counter(place.teeth for place in change.moves.off)
    from_box = Counter(place.teeth for place in change.moves.on) - freed
    if not from_box:
        return "No gear from the box: all that is needed is on the lathe."
    teeth = ", ".join(map(str, sorted(from_box.elements())))
    return f"From the box: {'gear' if from_box.total() == 1 else 'gears'} {teeth}. Count the teeth, or read the stamp."


# The steps, one function each.


def _isolate(change: Change) -> Step:
    return Step(
        "isolate",
        "Isolate",
        (
            *(
                ()
                if change.opens_the_cover
                else ("No gear has to be touched, but the chuck has: nobody may be able to start it.",)
            ),
            "Spindle stopped, half-nuts open, feed out, tool clear of the work.",
            "Switch off, then isolate at the plug or isolator. Lock it, or keep the plug where you can see it.",
            "Wait until everything stands still. Press start: nothing may move. Put the switch back to off.",
            "Spindle drive in neutral; where it has none, slacken the belt as soon as it can be reached.",
        ),
    )


def _cover(change: Change) -> Step:
    if not change.opens_the_cover:
        lines = (f"Only if {_ONLY_IF}: isolated as it is, open it now. Else it stays shut.",)
        return Step("cover", "Open the cover only if you must", lines, only_if=_ONLY_IF)
    known = "Is what is mounted what the picture 'before' shows? If not, go by what you find, and draw it first."
    unknown = "Draw or photograph what is mounted before you touch it, spacers and all."
    return Step("cover", "Open the cover", ("Only now.", unknown if change.before is None else known))


def _slacken(change: Change) -> Step:
    lines = ["Hold the bracket, since it can drop. Slacken its clamp, and swing it until the gears are out of mesh."]
    if change.after.shafts > 2:
        lines.append("Slacken the studs that have to move along their slots.")
    return Step("slacken", "Slacken the bracket", tuple(lines))


def _strip(change: Change) -> Step:
    before, moves = change.before, change.moves
    lines = [
        "Lay washers, spacers, bushes and keys down in the order in which they come off.",
        "A bush that sits tight in its gear is pressed or tapped out on a block, never pried: many are made to shear.",
    ]
    if before is not None and len(set(before.planes)) > 1:
        lines.append("A gear that a larger one in front overlaps comes off once that one's stud is slid aside.")
    if before is None:
        lines.insert(0, "Take off, front first, whatever doesn't stand where the picture 'after' has it. No more.")
        return Step("strip", "Strip what has to come off", tuple(lines))
    gears = [_off(before, place, place in moves.in_the_way) for place in moves.off]
    gears += [f"the {before.shaft_name(shaft)} itself: out of its slot, it is not needed" for shaft in moves.studs_out]
    if not gears:
        return Step("strip", "Nothing has to come off", ("Leave the gears that are on where they are.",))
    if moves.stay:
        stays = ", ".join(f"{place.teeth} ({change.after.role_name(place)})" for place in moves.stay)
        lines.insert(0, f"{'These stay' if len(moves.stay) > 1 else 'This stays'}: {stays}.")
    return Step("strip", "Strip, front first", tuple(lines), tuple(gears))


def _off(before: Arranged, place: Place, in_the_way: bool) -> str:
    said = f"{place.teeth}, {before.role_name(place)}, off the {before.shaft_name(place.shaft)}"
    said += _plane(before, place)
    return f"{said}; it is only in the way, and goes back" if in_the_way else said


def _build(change: Change) -> Step:
    after, moves = change.after, change.moves
    freed = Counter(place.teeth for place in moves.off)
    gears = []
    for shaft in range(1, after.shafts - 1):
        if change.before is not None and shaft not in moves.studs:
            gears.append(f"the {after.shaft_name(shaft)} into its slot")
    for place in moves.on:
        again = " (just taken off)" if freed[place.teeth] > 0 else ""
        freed[place.teeth] -= 1
        gears.append(_on(after, place, again))
    lines = [
        "Bores, studs and teeth clean, a drop of oil on each stud and bush.",
        "Washers, spacers and bushes: on each shaft what came off last goes on first.",
    ]
    if any(place.role == "idler" for place in moves.on):
        lines.append("An idler runs free on its bush; the two gears of a pair are keyed together.")
    return Step("build", "Build, back first", tuple(lines), tuple(gears))


def _on(after: Arranged, place: Place, again: str) -> str:
    where = (
        f"{place.teeth}{again} on the {after.shaft_name(place.shaft)}{_plane(after, place)}: {after.role_name(place)}"
    )
    mates = [str(other.teeth) for other in _mates(after, place)]
    with_it = [other for other in after.stack(place.shaft) if other != place]
    keyed = f", keyed to the {with_it[0].teeth}" if with_it else ""
    return f"{where}, in mesh with {' and '.join(mates)}{keyed}"


def _mates(after: Arranged, place: Place) -> list[Place]:
    return [other for other in after.places if other.mesh == place.mesh and abs(other.shaft - place.shaft) == 1]


def _plane(arranged: Arranged, place: Place) -> str:
    planes = 1 + max(arranged.planes)
    if planes == 1:
        return ""
    beside = ", next to the headstock" if place.plane == 0 else ", in front" if place.plane == planes - 1 else ""
    return f", plane {place.plane + 1}{beside}"


def _mesh(change: Change) -> Step:
    pairs = [pair for chain in change.after.train.chain() for pair in pairwise(chain)]
    distances, meshes = change.distances_mm, []
    for number, (one, other) in reversed(list(enumerate(pairs))):
        apart = f": centres {writing.decimal(distances[number], 1)} mm apart" if distances else ""
        how = "swing the bracket in" if number == 0 and len(pairs) > 1 else "slide the stud"
        meshes.append(f"{other} with {one}{apart}; {how}" if len(pairs) > 1 else f"{other} with {one}{apart}")
    lines = [f"Work from the {change.after.last_shaft} towards the spindle. {_strip_of_paper(change.lathe)}"]
    if change.fit is not None and change.fit.swing_deg is not None:
        lines.append(f"The bracket ends up {swing_in_words(change.fit.swing_deg)}.")
    return Step("mesh", "Set the meshes", tuple(lines), tuple(meshes))


def swing_in_words(swing_deg: float) -> str:
    """How far the bracket is swung.

    >>> swing_in_words(-6.04)
    'swung 6° clockwise, seen from the gear side, from swing 0 of the lathe file'
    """
    way = "anticlockwise" if swing_deg >= 0 else "clockwise"
    return f"swung {writing.decimal(abs(swing_deg), 1)}° {way}, seen from the gear side, from swing 0 of the lathe file"


def _strip_of_paper(lathe: Lathe) -> str:
    """How much play, and which paper leaves it: pinched on both flanks it leaves 2·t/cos α along the pitch circle."""
    if lathe.bracket is None or not lathe.bracket.backlash_mm:
        return "Pinch a strip of thin paper, about 0.1 mm, between the teeth, press the gears together, nip up."
    play = lathe.bracket.backlash_mm
    paper = play * cos(radians(lathe.gear_set.pressure_angle_deg)) / 2
    return (
        f"Pinch a strip of paper about {writing.decimal(paper, 2)} mm thick between the teeth, press the gears "
        f"together, nip up: taken out it leaves the {writing.decimal(play, 2)} mm of play that the lathe file asks for."
    )


def _snug(change: Change) -> Step:
    return Step(
        "snug",
        "Snug the nuts",
        (
            f"{'Studs, bracket' if change.after.shafts > 2 else 'Bracket'}, then the shafts: snug, not over-tight.",
            "Rock each gear: a little play in every mesh, and end play on the studs. Tightening may have moved them.",
        ),
    )


def _levers(change: Change) -> Step:
    setup, lines = change.setup, []
    if setup.lever is not None:
        lines.append(f"Lever: {setup.lever}{', where it is' if change.lever_stays else ''}.")
    if setup.reverse_fitted:
        lines.append(_reverse(change))
    if not lines:
        return Step("levers", "Levers", ("This lathe has neither gearbox lever nor reverse in its file.",))
    what = [*(["lever"] if setup.lever is not None else []), *(["reverse"] if setup.reverse_fitted else [])]
    return Step("levers", f"Set {' and '.join(what)}", (_clear(change), *lines, _NEVER_FORCE), turned_by="hand")


def _reverse(change: Change) -> str:
    if not change.setup.way_known:
        return "Reverse: as the feed is to go; which way that is the lathe file does not know."
    said = reverse_in_words(change.lathe, change.setup.reverse_over)
    return said.replace(":", ", where it is:", 1) if change.reverse_stays else said


def _clear(change: Change) -> str:
    """What has to be out of the way before anything is turned by hand."""
    clear = " Spanners, rags and paper out of the gears and off the headstock." if change.opens_the_cover else ""
    return f"Chuck key out, {DRIVE_FREE}.{clear}"


def turns_in_words(turns: Fraction) -> str:
    """So many turns, no fewer: rounded up where they are rounded.

    >>> turns_in_words(Fraction(1)), turns_in_words(Fraction(9, 8))
    ('1 turn', '1.13 turns')
    """
    return f"{writing.decimal(Fraction(ceil(turns * 100), 100), 2)} turn{'s' * (turns != 1)}"


def _by_hand(change: Change) -> Step:
    turns, slowest = turns_until_round(change.after.train, change.lathe.spindle_ratio)
    whole = ceil(turns)
    said = f"{whole} turn{'s' * (whole > 1)}"
    after = turns_in_words(turns).partition(" ")[0]
    exactly = "" if after == str(whole) else f" (after {after})"
    then = _goes_hard(change) if change.setup.pulled_by_hand else _DRIVE_BACK
    return Step(
        "by hand",
        "Turn by hand",
        (
            _clear(change) if not _levers(change).turned_by else _STILL_CLEAR,
            f"Turn the chuck by hand, {said}: by then the slowest gear, the {slowest}, has gone round once{exactly}.",
            "A tight spot, a click, a scrape: stop, find it, put it right. Fingers stay out of the mesh.",
            then,
        ),
        turned_by="hand",
    )


_STILL_CLEAR = "As before: chuck key out, drive free, nothing left in the gears."
_DRIVE_BACK = "Then the spindle drive back in, at lowest speed, or its belt tight again."


def _goes_hard(change: Change) -> str:
    turns = writing.decimal(change.setup.leadscrew_turns, 2)
    return f"It goes hard: the leadscrew turns {turns} times for one turn of the chuck. The drive stays free."


def _close(change: Change) -> Step:
    all_the_way = "All the way, so that its catch holds and the interlock makes. Nothing may touch it from inside."
    if change.opens_the_cover:
        return Step("close", "Close the cover", (all_the_way,))
    return Step(
        "close", "Cover shut", ("If it was opened, close it. Look that it is shut, opened or not.", all_the_way)
    )


def _power() -> Step:
    said = "Only now: cover closed, chuck key out, spindle drive back in or its belt tight."
    return Step("power", "Restore the power", (said,))


def _try_it(change: Change) -> Step:
    return Step(
        "try",
        "Try it, tool clear",
        (
            "Lowest speed, tool well clear of work and chuck, a hand at the stop.",
            _which_way(change.setup),
            f"{_wrong_way(change.setup, 'noise, or nothing moves')}: stop and isolate before you look for the reason.",
        ),
        turned_by="power",
    )


def _try_by_hand(change: Change) -> Step:
    engage = _engage(change.setup)
    return Step(
        "try",
        "Try it by hand, tool clear",
        (
            "Still isolated, drive free, chuck key out; tool well clear of work and chuck.",
            f"With all at standstill {engage}. Then turn the chuck forward by hand, a little: {_goes(change.setup)}.",
            f"One whole turn moves it {_in_one_turn(change.setup)}: see that there is room.",
            f"{_wrong_way(change.setup, 'or it locks')}: stop and look for the reason. Never force it.",
        ),
        turned_by="hand",
    )


def _drive_back() -> Step:
    return Step(
        "drive",
        "Put the drive back, when all is done",
        (
            "Half-nuts open, feed out, tool clear of the work.",
            _DRIVE_BACK,
            "A belt under the cover: isolated as it is, open it, tighten the belt, and close it.",
        ),
    )


def _which_way(setup: Setup) -> str:
    engage = _engage(setup)
    return f"{engage[0].upper()}{engage[1:]}: with the spindle running forward {_goes(setup)}."


def _engage(setup: Setup) -> str:
    return "engage the feed" if isinstance(setup.wanted, Feed) and not setup.by_half_nuts else "close the half-nuts"


def _goes(setup: Setup) -> str:
    if isinstance(setup.wanted, Feed) and not setup.way_known:
        slide = "cross slide" if setup.wanted.along == "cross" else "carriage"
        over = "the reverse, or the one in the apron," if setup.reverse_fitted else "the reverse in the apron"
        back = "" if setup.pulled_by_hand else ", isolate, go back to the levers"
        return f"the {slide} must go the way that you want; else stop{back}, and put {over} over"
    return f"the carriage must go {'towards' if setup.hand == 'right' else 'away from'} the headstock"


def _wrong_way(setup: Setup, or_else: str) -> str:
    """What stops a trial; the way is none of it where it is up to the feed drive."""
    said = f"wrong way, {or_else}" if setup.way_known else or_else.removeprefix("or ")
    return said[0].upper() + said[1:]


def _in_one_turn(setup: Setup) -> str:
    return str(writing.length(setup.lead_mm if setup.feed_mm is None else setup.feed_mm, places=1))


def _scratch(change: Change) -> Step:
    by_hand = change.setup.pulled_by_hand
    if isinstance(change.setup.wanted, Feed):
        title, lines = "Measure the feed", _measure_the_feed(change.setup)
    else:
        title, lines = "Scratch pass", _scratch_by_hand() if by_hand else _scratch_slowly()
        if change.setup.hand == "left":
            lines.insert(0, "Left-hand: start from a groove at the chuck end; the tool runs out to the tailstock.")
    lines.append(f"Expect this: {change.check.words} {change.check.told_apart}".strip())
    if change.setup.starts > 1:
        lines.append(
            f"One scratch shows the lead of the {change.setup.starts} starts, not the pitch: each further start "
            "follows between its grooves."
        )
    return Step("scratch", title, tuple(lines), turned_by="hand" if by_hand else "power")


def _measure_the_feed(setup: Setup) -> list[str]:
    how = "count turns of the spindle at lowest speed, stop"
    if setup.pulled_by_hand:
        how = "still isolated, drive free, turn the chuck by hand and count"
    return [f"Mark where the slide stands, {how}, measure how far it is."]


def _scratch_slowly() -> list[str]:
    return [
        "Lowest speed, the tool just touching: a scratch along the work, no more.",
        "Out with the tool (in a bore: towards the axis), then stop.",
        "Measure with the spindle stopped. Count the groove that you start from as nought.",
    ]


def _scratch_by_hand() -> list[str]:
    return [
        "Still isolated, drive free, half-nuts closed: the tool just touching, turn the chuck forward by hand.",
        "Out with the tool (in a bore: towards the axis). Count the groove that you start from as nought.",
        "Each pass after it goes the same way, and back, by hand.",
    ]
