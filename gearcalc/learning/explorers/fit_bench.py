"""The fit bench: swing the bracket, move the studs, and feel each mesh open and close."""

from __future__ import annotations

from functools import partial
from typing import Any

from gearcalc.fits import as_train
from gearcalc.fits.stances import layout_of
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.trains import ORDINALS, Train
from gearcalc.learning.explorers.fit_bench_views import BY_HAND, FOR_ME, fit_bench_view, placed_for_me, settle
from gearcalc.learning.explorers.shell import Explorer, choice, number_slider, text_box
from gearcalc.pictures.brackets.bracket_sheets import BRACKET_PX

_STEP = 0.1  # degrees and mm: as fine as a mesh wants it


def fit_bench(lathe: Lathe, train: Train | str = "(40 · 30)/(80 · 60)", *, placed: bool = False) -> Explorer:
    """Move the bracket and each stud by hand; see meshes open and close and clearances change, or have it placed.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = fit_bench(demo_lathe("inch"))
    >>> explorer.shown.note
    'Not yet: 2 meshes to set right. The second stud stands empty.'
    >>> explorer.set(placed="for me")
    >>> explorer.shown.facts[0]["it is"], explorer.values["train"], explorer.values["swing"]
    ('good: 0.2 mm of backlash', '(30 · 40)/(60 · 80)', -31.46)

    `train`: what stands in the box at first, a Train or its text; `placed`: start where fit() puts it.
    Raises NotPossibleError, saying what to add, when the lathe has no bracket or no size of gear in its file;
    ValueOutOfRangeError for what is no train, or one that takes more studs than the bracket has.
    """
    lathe = as_lathe(lathe)
    layout, chosen = layout_of(lathe), as_train(train)
    low, high = layout.bracket.swing_deg
    longest = max(slot.length for slot in layout.slots)
    starts: dict[str, Any] = {"train": str(chosen), **(placed_for_me(lathe, chosen) if placed else {})}
    controls = [
        text_box("train", "Train", starts["train"], wide=True),
        choice("placed", "Placed", (BY_HAND, FOR_ME), FOR_ME if placed else BY_HAND),
        number_slider("swing", "Swing", low, high, starts.get("swing", _middle(low, high)), "°", step=_STEP),
    ]
    slots = ORDINALS[: len(layout.slots)]
    for number, which in enumerate(ORDINALS[: layout.bracket.studs]):
        share = (layout.bracket.studs - number) / (layout.bracket.studs + 1)
        along = starts.get(f"{which}_stud", round(share * layout.slots[0].length))
        controls.append(
            number_slider(f"{which}_stud", f"{which.capitalize()} stud", 0, _tenths(longest), along, "mm", step=_STEP)
        )
        if len(slots) > 1:
            in_slot = starts.get(f"{which}_slot", slots[0])
            labels = [f"{slot} slot" for slot in slots]
            controls.append(choice(f"{which}_slot", f"{which.capitalize()} stud in", slots, in_slot, labels))
    return Explorer(
        "Fit bench",
        controls,
        partial(fit_bench_view, lathe),
        aspect=BRACKET_PX[0] / BRACKET_PX[1],
        facts_px=330,
        settle=partial(settle, lathe),
    )


def _middle(low: float, high: float) -> float:
    return round((low + high) / 2)


def _tenths(length: float) -> float:
    """The slider's end: no farther than the slot's."""
    return int(length / _STEP + 1e-6) * _STEP
