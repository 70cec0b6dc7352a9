"""The steps of a change of gears, in the order that keeps fingers whole, in words for the machine.

Shop practice here is common practice, no source; what can be reckoned is reckoned: which gears move, how far apart
their axes stand, how many turns by hand bring every tooth round.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from math import ceil, cos, radians
from typing import Any, NamedTuple

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.cautions import DRIVE_FREE
from gearcalc.finding.setups import Setup
from gearcalc.finding.straight_across import straight_across, with_an_idler
from gearcalc.lathes import Lathe
from gearcalc.lathes.directions import reverse_in_words
from gearcalc.lathes.gear_words import cluster_in_words
from gearcalc.lathes.pieces import gear_in_words, in_one_piece
from gearcalc.papers.changes import Change, Step
from gearcalc.planning.gear_moves import Arranged, Place, pieces, turns_until_round
from gearcalc.threads import Feed

_ONLY_IF = "lever, reverse or belt is reached only under it"


class State(NamedTuple):
    """How the lathe is in a step: cut off from its power, its cover open; `only_if`: when it is open at all."""

    isolated: bool
    cover_open: bool
    only_if: str = ""


SPANS: Mapping[str, tuple[str, str]] = {"isolated": ("isolate", "power"), "cover open": ("cover", "close")}
"""What holds over several steps: the key of the step that begins it, and of the one that ends it."""


def steps_of(change: Change) -> tuple[Step, ...]:
    """The steps in order; without those at the gears where only the lever or the reverse has to move.

    With a very fast leadscrew the power comes back only when the thread is done.

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("inch")
    >>> card = gc.change_card(lathe, to=gc.setup(lathe, 40, 80, "low", 25), mounted=gc.Train((40,), (80,), (25,)))
    >>> [step.key for step in steps_of(card.change)]
    ['isolate', 'cover', 'levers', 'by hand', 'close', 'power', 'try', 'scratch']
    """
    at_the_gears = (_slacken, _strip, _build, _mesh, _snug) if change.opens_the_cover else ()
    to_the_end: tuple[Callable[[Change], Step], ...] = (_power, _try_it, _scratch)
    if change.setup.pulled_by_hand:
        to_the_end = (_try_by_hand, _scratch, _drive_back, _power)
    return tuple(step(change) for step in (_isolate, _cover, *at_the_gears, _levers, _by_hand, _close, *to_the_end))


def states_of(steps: Sequence[Step]) -> tuple[State, ...]:
    """How the lathe is in each step: it counts as open until it is shut, and as live as soon as the power comes back.

    >>> import gearcalc as gc
    >>> lathe = gc.demo_lathe("inch")
    >>> card = gc.change_card(lathe, to=gc.setup(lathe, 40, 80, "low", 25), mounted=gc.Train((40,), (80,), (25,)))
    >>> [state.isolated for state in states_of(card.steps)], states_of(card.steps)[2].only_if
    ([True, True, True, True, True, False, False, False], 'lever, reverse or belt is reached only under it')
    """
    at = {step.key: place for place, step in enumerate(steps)}
    isolated, power, cover, close = (at[key] for key in (*SPANS["isolated"], *SPANS["cover open"]))
    cut_off, opened = range(isolated, power), range(cover, close + 1)
    return tuple(
        State(place in cut_off, place in opened, steps[cover].only_if if place in opened else "")
        for place in range(len(steps))
    )


# The steps, one function each.

_STILL_CLEAR = "As before: chuck key out, drive free, nothing left in the gears."
_DRIVE_BACK = "Then the spindle drive back in, at lowest speed, or its belt tight again."


def _step(key: str, title: str, *lines: str, **more: Any) -> Step:
    """A step with the lines that there are, the empty ones left out."""
    return Step(key, title, tuple(filter(None, lines)), **more)


def _isolate(change: Change) -> Step:
    only_the_chuck = "No gear has to be touched, but the chuck has: nobody may be able to start it."
    return _step(
        "isolate",
        "Isolate",
        "" if change.opens_the_cover else only_the_chuck,
        "Spindle stopped, half-nuts open, feed out, tool clear of the work.",
        "Switch off, then isolate at the plug or isolator. Lock it, or keep the plug where you can see it.",
        "Wait until everything stands still. Press start: nothing may move. Put the switch back to off.",
        "Spindle drive in neutral; where it has none, slacken the belt as soon as it can be reached.",
    )


def _cover(change: Change) -> Step:
    if not change.opens_the_cover:
        said = f"Only if {_ONLY_IF}: isolated as it is, open it now. Else it stays shut."
        return _step("cover", "Open the cover only if you must", said, only_if=_ONLY_IF)
    known = "Is what is mounted what the picture 'before' shows? If not, go by what you find, and draw it first."
    unknown = "Draw or photograph what is mounted before you touch it, spacers and all."
    return _step("cover", "Open the cover", "Only now.", unknown if change.before is None else known)


def _slacken(change: Change) -> Step:
    return _step(
        "slacken",
        "Slacken the bracket",
        "Hold the bracket, since it can drop. Slacken its clamp, and swing it until the gears are out of mesh.",
        "Slacken the studs that have to move along their slots." if change.after.shafts > 2 else "",
    )


def _strip(change: Change) -> Step:
    before, moves = change.before, change.moves
    laid_down = (
        "Lay washers, spacers, bushes and keys down in the order in which they come off.",
        "A bush that sits tight in its gear is pressed or tapped out on a block, never pried: many are made to shear.",
    )
    if before is None:
        first = "Take off, front first, whatever doesn't stand where the picture 'after' has it. No more."
        return _step("strip", "Strip what has to come off", first, *laid_down)
    gears = []
    for piece in pieces(moves.off):
        roles = " and ".join(map(before.role_name, piece))
        where = f"off the {before.shaft_name(piece[0].shaft)}{_planes(change, before, piece)}"
        back = "; it is only in the way, and goes back" if piece[0] in moves.in_the_way else ""
        gears.append(f"{_piece_in_words(piece)}, {roles}, {where}{back}")
    gears += [f"the {before.shaft_name(shaft)} itself: out of its slot, it is not needed" for shaft in moves.studs_out]
    if not gears:
        return _step("strip", "Nothing has to come off", "Leave the gears that are on where they are.")
    stays = ", ".join(f"{place.teeth} ({change.after.role_name(place)})" for place in moves.stay)
    aside = "A gear that a larger one in front overlaps comes off once that one's stud is slid aside."
    return _step(
        "strip",
        "Strip, front first",
        f"{'These stay' if len(moves.stay) > 1 else 'This stays'}: {stays}." if stays else "",
        *laid_down,
        aside if len(set(before.planes)) > 1 else "",
        gears=tuple(gears),
    )


def _build(change: Change) -> Step:
    after, moves = change.after, change.moves
    new_studs = [] if change.before is None else [s for s in range(1, after.shafts - 1) if s not in moves.studs]
    gears = [f"the {after.shaft_name(shaft)} into its slot" for shaft in new_studs]
    for piece in pieces(moves.on):
        again = "" if piece[0] in moves.from_box else " (just taken off)"
        does = [_does(after, place) for place in piece]
        if len(piece) > 1:
            does = [f"the {place.teeth} {said}" for place, said in zip(piece, does, strict=True)]
        where = f"on the {after.shaft_name(piece[0].shaft)}{_planes(change, after, piece)}"
        gears.append(f"{_piece_in_words(piece)}{again} {where}: {'; '.join(does)}")
    runs_free = "An idler runs free on its bush; the two gears of a pair are keyed together."
    return _step(
        "build",
        "Build, back first",
        "Bores, studs and teeth clean, a drop of oil on each stud and bush.",
        "Washers, spacers and bushes: on each shaft what came off last goes on first.",
        runs_free if any(place.role == "idler" for place in moves.on) else "",
        gears=tuple(gears),
    )


def _piece_in_words(piece: tuple[Place, ...]) -> str:
    """A gear, or both of a cluster in the order in which they stand here."""
    one, *others = (place.teeth for place in piece)
    return f"{cluster_in_words(one, *others)} in one piece" if others else gear_in_words(one)


def _does(after: Arranged, place: Place) -> str:
    """What a gear that goes on does, and with which it does it."""
    if place.role == "idle":
        return "idle, in mesh with nothing"
    mates = [str(one.teeth) for one in after.places if one.mesh == place.mesh and abs(one.shaft - place.shaft) == 1]
    others = [one for one in after.stack(place.shaft) if one != place and not in_one_piece(place.teeth, one.teeth)]
    keyed = "".join(f", keyed to the {one.teeth}" for one in others)
    return f"{after.role_name(place)}, in mesh with {' and '.join(mates)}{keyed}"


def _planes(change: Change, arranged: Arranged, piece: tuple[Place, ...]) -> str:
    """In which plane each gear of a piece stands; nothing where all stand in one."""
    if len(set(arranged.planes)) == 1:
        return ""
    said = [arranged.plane_name(place.plane, change.lathe.gear_set.fixed) for place in piece]
    if len(piece) == 1:
        return f", in {said[0]}"
    return f", {', and '.join(f'the {place.teeth} in {where}' for place, where in zip(piece, said, strict=True))}"


def _mesh(change: Change) -> Step:
    pairs = [pair for chain in change.after.train.chain() for pair in pairwise(chain)]
    distances, meshes = change.distances_mm, []
    for number, (one, other) in reversed(list(enumerate(pairs))):
        apart = f": centres {writing.decimal(distances[number], 1)} mm apart" if distances else ""
        how = "; swing the bracket in" if number == 0 else "; slide the stud"
        meshes.append(f"{other} with {one}{apart}{how if len(pairs) > 1 else ''}")
    swing_deg = change.fit.swing_deg if change.fit is not None else None
    return _step(
        "mesh",
        "Set the meshes",
        f"Work from the {change.after.last_shaft} towards the spindle. {_strip_of_paper(change.lathe)}",
        "" if swing_deg is None else f"The bracket ends up {swing_in_words(swing_deg)}.",
        straight_across([change.setup]),
        gears=tuple(meshes),
    )


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
        thin = _thin(0.1, lathe)
        return f"Pinch a strip of thin paper, about {thin}, between the teeth, press the gears together, nip up."
    play = lathe.bracket.backlash_mm
    paper = play * cos(radians(lathe.gear_set.pressure_angle_deg)) / 2
    return (
        f"Pinch a strip of paper about {_thin(paper, lathe)} thick between the teeth, press the gears "
        f"together, nip up: taken out it leaves the {_thin(play, lathe)} of play that the lathe file asks for."
    )


def _thin(mm: float, lathe: Lathe) -> str:
    """How thin something is, as the owner reads it."""
    in_mm = f"{writing.decimal(mm, 2)} mm"
    return in_mm if lathe.units == "mm" else f"{writing.cut(mm, lathe.units)} ({in_mm})"


def _snug(change: Change) -> Step:
    return _step(
        "snug",
        "Snug the nuts",
        f"{'Studs, bracket' if change.after.shafts > 2 else 'Bracket'}, then the shafts: snug, not over-tight.",
        "Rock each gear: a little play in every mesh, and end play on the studs. Tightening may have moved them.",
    )


def _levers(change: Change) -> Step:
    setup, lines = change.setup, {}
    for called, stands in change.levers:
        lines[called] = f"{markup.sentence(called)}: {stands}."
    if setup.reverse_fitted and not setup.way_known:
        lines["reverse"] = "Reverse: as the feed is to go; which way that is the lathe file does not know."
    elif setup.reverse_fitted:
        said = reverse_in_words(change.lathe, setup.reverse_over, setup.position)
        lines["reverse"] = said.replace(":", ", where it is:", 1) if change.reverse_stays else said
        if turned := with_an_idler(change.setup):
            lines["idler"] = f"{markup.sentence(turned)}."
    if not lines:
        return _step("levers", "Levers", "This lathe has neither gearbox lever nor reverse in its file.")
    never_force = "If it goes in hard, turn the chuck a little by hand. Never force it."
    levers = [f"lever{'s' * (len(change.levers) > 1)}"] if change.levers else []
    title = f"Set {' and '.join((*levers, *(['reverse'] if 'reverse' in lines else [])))}"
    return _step("levers", title, _clear(change), *lines.values(), never_force, turned_by="hand")


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
    turns, slowest = turns_until_round(change.after.train, change.setup.first_driver_turns)
    after, whole = turns_in_words(turns).partition(" ")[0], ceil(turns)
    exactly = "" if after == str(whole) else f" (after {after})"
    leadscrew = writing.decimal(change.setup.leadscrew_turns, 2)
    goes_hard = f"It goes hard: the leadscrew turns {leadscrew} times for one turn of the chuck. The drive stays free."
    return _step(
        "by hand",
        "Turn by hand",
        _STILL_CLEAR if _levers(change).turned_by else _clear(change),
        f"Turn the chuck by hand, {whole} turn{'s' * (whole > 1)}: by then the slowest gear, the {slowest}, has gone "
        f"round once{exactly}.",
        "A tight spot, a click, a scrape: stop, find it, put it right. Fingers stay out of the mesh.",
        goes_hard if change.setup.pulled_by_hand else _DRIVE_BACK,
        turned_by="hand",
    )


def _close(change: Change) -> Step:
    all_the_way = (
        "All the way, so that its catch holds and its interlock lets the lathe start. Nothing may touch it from inside."
    )
    if change.opens_the_cover:
        return _step("close", "Close the cover", all_the_way)
    return _step("close", "Cover shut", "If it was opened, close it. Look that it is shut, opened or not.", all_the_way)


def _power(_: Change) -> Step:
    said = "Only now: cover closed, chuck key out, spindle drive back in or its belt tight."
    return _step("power", "Restore the power", said)


def _try_it(change: Change) -> Step:
    engage = _engage(change.setup)
    return _step(
        "try",
        "Try it, tool clear",
        "Lowest speed, tool well clear of work and chuck, a hand at the stop.",
        f"{markup.sentence(engage)}: with the spindle running forward {_goes(change.setup)}.",
        f"{_wrong_way(change.setup, 'noise, or nothing moves')}: stop and isolate before you look for the reason.",
        turned_by="power",
    )


def _try_by_hand(change: Change) -> Step:
    setup = change.setup
    moved_mm = setup.lead_mm if setup.feed_mm is None else setup.feed_mm
    in_one_turn = both_units.travel(moved_mm, setup.lathe.units, places=1)
    return _step(
        "try",
        "Try it by hand, tool clear",
        "Still isolated, drive free, chuck key out; tool well clear of work and chuck.",
        f"With all at standstill {_engage(setup)}. Then turn the chuck forward by hand, a little: {_goes(setup)}.",
        f"One whole turn moves it {in_one_turn}: see that there is room.",
        f"{_wrong_way(setup, 'or it locks')}: stop and look for the reason. Never force it.",
        turned_by="hand",
    )


def _drive_back(_: Change) -> Step:
    return _step(
        "drive",
        "Put the drive back, when all is done",
        "Half-nuts open, feed out, tool clear of the work.",
        _DRIVE_BACK,
        "A belt under the cover: isolated as it is, open it, tighten the belt, and close it.",
    )


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
    return markup.sentence(said)


def _scratch(change: Change) -> Step:
    setup, how_to = change.setup, _SCRATCH_BY_HAND if change.setup.pulled_by_hand else _SCRATCH_SLOWLY
    left_hand, further_starts, title = "", "", "Scratch pass"
    if isinstance(setup.wanted, Feed):
        how = "count turns of the spindle at lowest speed, stop"
        if setup.pulled_by_hand:
            how = "still isolated, drive free, turn the chuck by hand and count"
        title, how_to = "Measure the feed", (f"Mark where the slide stands, {how}, measure how far it is.",)
    elif setup.hand == "left":
        left_hand = (
            "Left-hand: start from a groove at the chuck end, top slide swung over; the tool runs out to the tailstock."
        )
    if setup.starts > 1:
        further_starts = (
            f"One scratch shows the lead of the {setup.starts} starts, not the pitch: each further start follows "
            "between its grooves."
        )
    expected = f"Expect this: {change.check.words} {change.check.told_apart}".strip()
    turned_by = "hand" if setup.pulled_by_hand else "power"
    return _step("scratch", title, left_hand, *how_to, expected, further_starts, turned_by=turned_by)


_SCRATCH_SLOWLY: tuple[str, ...] = (
    "Lowest speed, the tool just touching: a scratch along the work, no more.",
    "Out with the tool (in a bore: towards the axis), then stop.",
    "Measure with the spindle stopped. Count the groove that you start from as nought.",
)
_SCRATCH_BY_HAND: tuple[str, ...] = (
    "Still isolated, drive free, half-nuts closed: the tool just touching, turn the chuck forward by hand.",
    "Out with the tool (in a bore: towards the axis). Count the groove that you start from as nought.",
    "Each pass after it goes the same way, and back, by hand.",
)
