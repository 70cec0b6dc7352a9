"""The fit bench: swing the bracket, move the studs, and feel each mesh open and close."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache, partial
from math import isfinite
from typing import Any

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.exact import as_fraction, below_zero
from gearcalc.fits import Fit, fit
from gearcalc.fits.arrangements import axes_of
from gearcalc.fits.by_hand import HandSetting, MeshState, StudPlace, axes_by_hand, nearest_setting, setting_of
from gearcalc.fits.gaps import Gap, part_name
from gearcalc.fits.geometry import ROUNDING, layout_of
from gearcalc.lathes import Lathe
from gearcalc.lathes.directions import turning
from gearcalc.lathes.gear_words import had_in_words
from gearcalc.lathes.readings import as_if_had
from gearcalc.lathes.trains import ORDINALS, Train
from gearcalc.learning.explorers import page, typed
from gearcalc.learning.explorers.handed import as_handed
from gearcalc.pictures.bracket_marks import gap_words
from gearcalc.pictures.bracket_pictures import BracketDrawing
from gearcalc.pictures.picture import Row

BY_HAND, FOR_ME = "by hand", "for me"
_SHOWN_GAPS = 3
_STEP = 0.1  # degrees and mm: as fine as a mesh wants it


@as_handed
def fit_bench_view(
    lathe: Lathe, *, train: Train | str, swing: object = 0, placed: object = BY_HAND, **studs: object
) -> page.View:
    """A train with the bracket swung and the studs set by hand: how each mesh is then, and what is in the way.

    >>> from gearcalc.lathes import demo_lathe
    >>> view = fit_bench_view(demo_lathe("inch"), train="(30 · 40)/(60 · 80)", swing=-31.5, first_stud=45.3)
    >>> [row["it is"] for row in view.facts[:2]]
    ['good: 0.16 mm of backlash', 'good: 0.22 mm of backlash']
    >>> view.note
    'It goes on like this. The second stud stands empty.'

    `train`: a Train, or its text with idlers behind, like '40/80, idler 50'. `swing`: degrees, anticlockwise.
    `first_stud`, `second_stud` ...: mm along its slot, a number or its text; `first_slot` ...: the slot that it stands
    in, 'first', 'second' ... `placed`: 'for me' shows it where fit() puts it instead.
    Raises ValueOutOfRangeError for what is no train or no number, or beyond the swing or a slot's end;
    NotPossibleError as fit() does.
    """
    chosen, found = typed.read_train(lathe, train, "the train")[0], None
    turns = turning(lathe, chosen.turns_the_same_way, None)
    if isinstance(placed, str) and placed == FOR_ME:  # an array is neither like it nor unlike it
        found = _fitted(lathe, chosen)
        not_owned = found.not_owned
        drawing = BracketDrawing.of_fit(
            lathe, found, clockwise=turns.first_driver, provided=turns.provided, steady=True
        )
        if drawing is None:
            raise ValueOutOfRangeError(f"{found.train} does not go on", remedy=" ".join(found.reasons))
    else:
        chosen, not_owned = as_if_had(lathe.gear_set, chosen, keep_order=True)
        drawing = BracketDrawing.by_hand(
            lathe, chosen, _setting(lathe, chosen, swing, studs), clockwise=turns.first_driver, provided=turns.provided
        )
    rows = [_mesh_row(mesh) for mesh in drawing.meshes]
    shown = (*drawing.fouls, *[gap for gap in drawing.gaps if gap not in drawing.fouls])[:_SHOWN_GAPS]
    rows += [_gap_row(drawing, gap) for gap in shown]
    otherwise = _otherwise_than(chosen, found.train) if found is not None else ""
    note = f"{otherwise}{_verdict(drawing, found)} {had_in_words(lathe.gear_set, not_owned)}".rstrip()
    empty = ORDINALS[len(drawing.axes_mm) - 2 : drawing.layout.bracket.studs]
    idle = {f"{which}_{what}": "stands empty" for which in empty for what in ("stud", "slot")}
    return page.View(drawing.picture(), tuple(rows), note, idle=idle)


def _setting(lathe: Lathe, train: Train, swing: object, studs: Mapping[str, object]) -> HandSetting:
    """The places of as many studs as the train has."""
    layout = layout_of(lathe)
    needed = axes_of(train.chain()) - 2
    if needed > layout.bracket.studs:
        raise ValueOutOfRangeError(
            f"this train takes {needed} studs, and the bracket has {layout.bracket.studs}", value=str(train)
        )
    names = [*ORDINALS, *(f"slot {number}" for number in range(len(ORDINALS) + 1, len(layout.slots) + 1))]
    names = names[: len(layout.slots)]
    places = []
    for which in ORDINALS[: layout.bracket.studs]:  # those that stand empty too, since a hand may move them
        slot = studs.get(f"{which}_slot", names[0])
        if not isinstance(slot, str) or slot not in names:
            raise ValueOutOfRangeError(f"the slot of the {which} stud is one of {', '.join(names)}", value=slot)
        along = _number(studs.get(f"{which}_stud", 0), f"the {which} stud's place")
        places.append(StudPlace(names.index(slot), along))
    setting = HandSetting(_number(swing, "the swing"), tuple(places))
    axes_by_hand(lathe, setting)
    return setting._replace(studs=setting.studs[:needed])


def _number(given: object, what: str) -> float:
    """A number that may be below zero, from a slider or typed into its box."""
    if (number := below_zero(given)) is not None:
        return float(number)
    return float(as_fraction(Fraction(given) if isinstance(given, float) and isfinite(given) else given, what=what))


@lru_cache(maxsize=64)
def _fitted(lathe: Lathe, train: Train) -> Fit:
    """Where a train goes on: in the order given, unless another one needs fewer idlers."""
    best, in_order = fit(lathe, train), fit(lathe, train, keep_order=True)
    return in_order if in_order.goes_on and _idlers(in_order.train) <= _idlers(best.train) else best


def _idlers(train: Train) -> int:
    return sum(map(len, train.idlers))


def _otherwise_than(given: Train, placed: Train) -> str:
    """What is not as it was typed, said first."""
    if (placed.drivers, placed.driven) != (given.drivers, given.driven):
        return f"In another order: {placed}. "
    return f"With {'an idler' if _idlers(placed) == 1 else 'idlers'}: {placed}. " if placed != given else ""


def placed_for_me(lathe: Lathe, given: Train | str) -> dict[str, Any]:
    """The values that the controls have where fit() puts a train, or where it comes nearest to going on.

    >>> from gearcalc.lathes import demo_lathe
    >>> placed_for_me(demo_lathe("inch"), "(40 · 30)/(80 · 60)")
    {'train': '(30 · 40)/(60 · 80)', 'swing': -31.46, 'first_stud': 45.27}
    """
    found, layout = _fitted(lathe, typed.read_train(lathe, given, "the train")[0]), layout_of(lathe)
    setting = setting_of(lathe, found) or nearest_setting(lathe, found.train)
    values: dict[str, Any] = {"train": str(found.train), "swing": round(setting.swing_deg, 2)}
    for which, place in zip(ORDINALS, setting.studs, strict=False):
        values[f"{which}_stud"] = round(place.along_mm, 2)
        if len(layout.slots) > 1:
            values[f"{which}_slot"] = ORDINALS[place.slot]
    return values


def settle(lathe: Lathe, before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, Any]:
    """What the controls come to: placed for me, they stand where fit() has them; moved since, they are by hand.

    The train stays as it was typed while it is placed for me; by hand it goes on as it stood in the picture.

    >>> from gearcalc.lathes import demo_lathe
    >>> values = {"train": "(40 · 30)/(80 · 60)", "swing": 0, "first_stud": 0, "placed": "for me"}
    >>> placed = settle(demo_lathe("inch"), {**values, "placed": "by hand"}, values)
    >>> placed["swing"], placed["train"]
    (-31.46, '(40 · 30)/(80 · 60)')
    >>> by_hand = settle(demo_lathe("inch"), placed, {**placed, "swing": 5})
    >>> by_hand["placed"], by_hand["train"]
    ('by hand', '(30 · 40)/(60 · 80)')
    """
    was_placed = before.get("placed") == FOR_ME
    if after.get("placed") != FOR_ME:
        if was_placed and after.get("train") == before["train"]:
            return {**after, "train": placed_for_me(lathe, after["train"])["train"]}
        return dict(after)
    moved = any(before[name] != after[name] for name in after if name not in ("train", "placed"))
    placed = placed_for_me(lathe, after["train"])
    stands = {name: value for name, value in placed.items() if name != "train"}
    if moved and was_placed and any(after[name] != value for name, value in stands.items()):
        return {**after, "placed": BY_HAND, "train": placed["train"]}
    return {**after, **stands}


def _mesh_row(mesh: MeshState) -> Row:
    return {
        "what": f"mesh of {mesh.one.teeth} and {mesh.other.teeth}",
        "now": f"{writing.decimal(mesh.apart_mm, 2)} mm apart",
        "should be": f"{writing.decimal(mesh.right_mm, 2)} mm apart",
        "it is": mesh.words,
    }


def _gap_row(drawing: BracketDrawing, gap: Gap) -> Row:
    least, axes = drawing.layout.bracket.running_clearance_mm, len(drawing.axes_mm)
    one, other = (part_name(part, axes, drawing.layout.last_shaft) for part in (gap.one, gap.other))
    clear = gap.mm >= least - ROUNDING
    return {
        "what": f"{one} to {other}",
        "now": f"{writing.decimal(gap.mm, 1 if abs(gap.mm) >= 0.095 else 3)} mm",
        "should be": f"{writing.decimal(least, 2)} mm or more",
        "it is": "clear" if clear else gap_words(gap.mm, least) if gap.mm < 0 else "too near",
    }


def _verdict(drawing: BracketDrawing, found: Fit | None) -> str:
    wrong = sum(mesh.state != "good" for mesh in drawing.meshes)
    fouls = len(drawing.fouls)
    said = [f"{writing.counted(wrong, 'mesh', 'meshes')} to set right"] if wrong else []
    said += [f"{writing.counted(fouls, 'gap')} too small"] if fouls else []
    words = f"Not yet: {writing.listed(said)}." if said else "It goes on like this."
    if found is not None and not found.goes_on:
        words = f"It does not go on; this is as near as it comes. {' '.join(found.reasons)}"
    empty = ORDINALS[len(drawing.axes_mm) - 2 : drawing.layout.bracket.studs]
    if not empty:
        return words
    return f"{words} The {' and the '.join(empty)} stud {'stands' if len(empty) == 1 else 'stand'} empty."


@as_handed
def fit_bench(lathe: Lathe, train: Train | str = "(40 · 30)/(80 · 60)", *, placed: bool = False) -> page.Explorer:
    """Move the bracket and each stud by hand; see meshes open and close and clearances change, or have it placed.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = fit_bench(demo_lathe("inch"))
    >>> explorer.shown.note
    'Not yet: 2 meshes to set right. The second stud stands empty.'
    >>> explorer.set(placed="for me")
    >>> explorer.shown.facts[0]["it is"], explorer.values["swing"]
    ('good: 0.2 mm of backlash', -31.46)
    >>> explorer.shown.note
    'In another order: (30 · 40)/(60 · 80). It goes on like this. The second stud stands empty.'

    `train`: what stands in the box at first, a Train or its text; `placed`: start where fit() puts it.
    Raises NotPossibleError, saying what to add, when the lathe has no bracket or no size of gear in its file;
    ValueOutOfRangeError for what is no train, or one that takes more studs than the bracket has.
    """
    layout, chosen = layout_of(lathe), typed.read_train(lathe, train, "the train")[0]
    low, high = layout.bracket.swing_deg
    longest = int(max(slot.length for slot in layout.slots) / _STEP + 1e-6) * _STEP  # the slider's end: no farther
    starts: dict[str, Any] = {**(placed_for_me(lathe, chosen) if placed else {}), "train": str(chosen)}
    controls = [
        page.text_box("train", "Train", starts["train"], wide=True),
        page.choice("placed", "Placed", (BY_HAND, FOR_ME), FOR_ME if placed else BY_HAND),
        page.number_slider("swing", "Swing", low, high, starts.get("swing", round((low + high) / 2)), "°", step=_STEP),
    ]
    slots = ORDINALS[: len(layout.slots)]
    for number, which in enumerate(ORDINALS[: layout.bracket.studs]):
        share = (layout.bracket.studs - number) / (layout.bracket.studs + 1)
        along = starts.get(f"{which}_stud", round(share * layout.slots[0].length))
        controls.append(
            page.number_slider(f"{which}_stud", f"{which.capitalize()} stud", 0, longest, along, "mm", step=_STEP)
        )
        if len(slots) > 1:
            in_slot = starts.get(f"{which}_slot", slots[0])
            labels = [f"{slot} slot" for slot in slots]
            controls.append(page.choice(f"{which}_slot", f"{which.capitalize()} stud in", slots, in_slot, labels))
    return page.explorer(
        "Fit bench", controls, partial(fit_bench_view, lathe), facts_px=330, settle=partial(settle, lathe)
    )
