"""What to lay out before the cover is opened, so that nobody goes looking for a spanner with the gears open."""

from __future__ import annotations

from collections import Counter

from gearcalc.papers.steps import Change

_SMALL_THINGS = (
    "A tray, to keep washers, spacers, bushes and keys in their order; a brush and a clean rag.",
    "A strip of thin paper for the meshes; a rule or calliper to measure with; this card, and a pencil.",
)


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
