"""The explorer of the change-over: say what is mounted and what is wanted, and go through the card step by step."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache, partial
from typing import Any

from gearcalc.finding.setups import Setup
from gearcalc.lathes import Lathe
from gearcalc.lathes.train_lines import in_short
from gearcalc.lathes.trains import Train
from gearcalc.learning.explorers import page, typed
from gearcalc.learning.explorers.handed import as_handed
from gearcalc.papers.change_cards import ChangeCard, as_mounted, change_card
from gearcalc.papers.change_pictures import change_picture
from gearcalc.planning.gear_moves import as_it_stands, pieces, turns_until_round
from gearcalc.threads.wanted import Wanted, as_wanted

MOST_ANSWERS, MOST_STEPS = 6, 14


@as_handed
def change_view(
    lathe: Lathe,
    *,
    mounted: str | Train = "40/80",
    wanted: str | Wanted = "12 tpi",
    answer: object = 1,
    step: object = 1,
) -> page.View:
    """From what is mounted to what is wanted: what becomes of each gear, the step in words, and what it all costs.

    >>> from gearcalc.lathes import demo_lathe
    >>> seen = change_view(demo_lathe("inch"), mounted="40/80", wanted="12 tpi", step=9)
    >>> seen.facts[0]["gears off"], seen.facts[0]["turns by hand"]
    ('2', '2, for the 60')

    `mounted`: a train or its text, taken as it goes on; `wanted`: a thread or a feed; `answer`: which of the setups,
    what is mounted where that is good enough, then the simplest that is, of those as simple the one that moves the
    fewest gears, 1 to 6 (the last, where there are fewer); `step`: of the card, 1 to 14 (the last, where there are
    fewer).
    Raises ValueOutOfRangeError, GearNotOwnedError, ThreadTextError for what can't be read, NotPossibleError when there
    is no setup.
    """
    standing = as_it_stands(lathe, *typed.read_train(lathe, mounted, "mounted"))
    cards = _cards(lathe, standing, as_wanted(wanted))
    place = typed.read_place(answer, "the setup", len(cards), MOST_ANSWERS)
    card = cards[place - 1]
    at = typed.read_place(step, "the step", len(card.steps), MOST_STEPS)
    facts, settled = _facts(card, f"{place} of {len(cards)}"), {"answer": place, "step": at}
    return page.View(change_picture(card.change, at), (facts,), _note(card, at), settled, note_first=True)


@lru_cache(maxsize=32)
def _cards(lathe: Lathe, mounted: Setup | Train, wanted: Wanted) -> tuple[ChangeCard, ...]:
    """A card for each of the best setups; kept, since a hand on the slider asks again and again."""
    standing = as_mounted(lathe, mounted)
    found = page.best_setups(lathe, wanted, MOST_ANSWERS, mounted=standing[0] if standing else None)
    return tuple(change_card(lathe, to=one, mounted=mounted) for one in found)


def _facts(card: ChangeCard, place: str) -> dict[str, object]:
    turns, slowest = turns_until_round(card.setup.train, card.setup.first_driver_turns)
    return {
        "setup": place,
        "train": page.train_of(card.setup),
        "lever": card.setup.settings or "none",
        "error": page.error_of(card.setup),
        "gears off": str(card.gears_off),
        "gears on": str(card.gears_on),
        "only in the way": str(len(pieces(card.change.moves.in_the_way))),
        "turns by hand": f"{-(-turns.numerator // turns.denominator)}, for the {slowest}",
    }


def _note(card: ChangeCard, at: int) -> str:
    step = card.steps[at - 1]
    gears = f" {'; '.join(step.gears)}." if step.gears else ""
    letters = page.letters_of([card.setup])
    return f"Step {at}. {step}{gears}{f' In the table {letters}' if letters else ''}"


@as_handed
def change_over(lathe: Lathe, wanted: str = "12 tpi", *, mounted: str | None = None, step: int = 1) -> page.Explorer:
    """Type what is mounted and what is wanted, choose a setup, and go through the steps: what moves, and in what state.

    >>> from gearcalc.lathes import demo_lathe
    >>> explorer = change_over(demo_lathe("inch"))
    >>> explorer.set(wanted="32 tpi", step=2)
    >>> explorer.shown.facts[0]["gears off"]
    '0'
    >>> explorer.set(wanted="16 tpi")
    >>> explorer.values["step"]
    1

    `wanted`: a thread or a feed that stands in the box at first; `mounted`: a train, drivers over driven, None for
    40/80, or another where the lathe can't have that; `step`: of the card, 1 to 14. On paper, change_view with the same
    values says the same.
    """
    if mounted is None:
        mounted = in_short(lathe.gear_set, page.to_begin_with(lathe, Train(40, 80), thread=wanted, meshes=(1, 2))[0])
    controls = [
        page.text_box("mounted", "Mounted", mounted),
        page.text_box("wanted", "Wanted", wanted),
        page.number_slider("answer", "Setup", 1, MOST_ANSWERS, 1),
        page.number_slider("step", "Step", 1, MOST_STEPS, step),
    ]
    return page.explorer(
        "Change over", controls, partial(change_view, lathe), facts_px=210, seen_px=128, settle=_settle
    )


def _settle(before: Mapping[str, Any], after: Mapping[str, Any]) -> dict[str, Any]:
    """Another card is read from its first step on."""
    another = any(before[name] != after[name] for name in ("mounted", "wanted", "answer"))
    return {**after, "step": 1} if another and after["step"] == before["step"] else dict(after)
