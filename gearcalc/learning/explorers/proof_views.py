"""What the explorer of the proof shows: pure functions from a measurement to what it leaves possible, and to slips."""

from __future__ import annotations

from fractions import Fraction

from gearcalc.basics import writing
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.cutting.measurements import Judgement, judge_measurement
from gearcalc.cutting.wrong_leads import CAUTION, WrongLead, WrongLeads, explain_wrong_lead
from gearcalc.finding.setups import Setup, setup
from gearcalc.lathes import Lathe
from gearcalc.lathes.trains import Train
from gearcalc.learning.explorers.typed import read_train
from gearcalc.learning.explorers.views import View
from gearcalc.pictures.shop.measurement_charts import leads_of_slips, measured_band
from gearcalc.threads import Thread, as_thread

SHOWN = ("what is possible", "which slip")
"""The two sides of the explorer."""
HANDS = ("not looked at", "right", "left")
"""What was seen of the hand of the thread."""

_MOST_SLIPS, _LONGEST_MM = 5, 1000


def proof_view(
    lathe: Lathe,
    *,
    show: str = SHOWN[0],
    thread: str | Thread = "1.25 mm",
    turns: object = 10,
    length: object = 12.6,
    limit: object = 0.25,
    gears: str | Train = "",
    lever: str | None = None,
    hand: str = HANDS[0],
) -> View:
    """A measurement as a band of leads, or the slips that would explain it.

    >>> from gearcalc.lathes import demo_lathe
    >>> proof_view(demo_lathe("inch"), thread="20 tpi", turns=26, length=33, limit="0.25").facts[0]["agrees"]
    'yes'

    `show`: one of SHOWN; the rest as for measurement_view() and detective_view().
    Raises ThreadTextError, ValueOutOfRangeError and their like for what can't be read.
    """
    if show not in SHOWN:
        raise ValueOutOfRangeError(f"show must be one of {', '.join(map(repr, SHOWN))}", value=show)
    if show == SHOWN[0]:
        return measurement_view(thread, turns, length, limit, hand)
    train = gears if isinstance(gears, Train) else read_train(gears)
    meant = setup(lathe, train.drivers, train.driven, lever, train.idlers, wanted=as_thread(thread))
    return detective_view(lathe, meant, turns, length, limit, hand)


def measurement_view(thread: str | Thread, turns: object, length: object, limit: object, hand: str = HANDS[0]) -> View:
    """What a length over several turns leaves possible: the band, the pitches around, and how sure it is.

    >>> measurement_view("1.25 mm", 10, 12.6, 0.25).facts[0]["turns to be sure"]
    '26'

    `hand`: one of HANDS. Numbers as numbers or text; errors as of judge_measurement().
    """
    judged = _judged(thread, turns, length, limit, hand)
    facts: dict[str, object] = {
        "lead as measured": str(writing.length(judged.lead_mm)),
        "agrees": "yes" if judged.agrees else "no",
        "turns to be sure": str(judged.turns_to_be_sure) if judged.agrees and judged.turns_to_be_sure else "–",
        "how sure": judged.how_sure,
    }
    return View(measured_band(judged), (facts,), judged.why)


def detective_view(
    lathe: Lathe, meant: Setup, turns: object, length: object, limit: object, hand: str = HANDS[0]
) -> View:
    """The slips that would explain a measurement, likeliest first, beside what was meant.

    >>> from gearcalc.lathes import demo_lathe
    >>> meant = setup(demo_lathe("inch"), 40, 50, "low", wanted="20 tpi")
    >>> detective_view(demo_lathe("inch"), meant, 10, 19.8, "0.1").facts[0]["what may have happened"]
    'The pair is upside down: 50 drives 40.'

    `hand`: one of HANDS. Numbers as numbers or text; errors as of judge_measurement() and explain_wrong_lead().
    """
    wanted = meant.wanted if isinstance(meant.wanted, Thread) else f"{meant.lead_mm} mm"
    judged = _judged(wanted, turns, length, limit, hand)
    found = explain_wrong_lead(lathe, meant, judged.lead_mm, judged.lead_uncertainty_mm, hand=judged.hand)
    picture = leads_of_slips(found, meant, judged.lead_mm, judged.lead_uncertainty_mm, most=_MOST_SLIPS)
    rows = tuple(_row(place, slip) for place, slip in enumerate(found[:_MOST_SLIPS], 1))
    return View(picture, rows or ({"place": "–", "what may have happened": "nothing here"},), _note(found))


def _judged(thread: str | Thread, turns: object, length: object, limit: object, hand: str) -> Judgement:
    if hand not in HANDS:
        raise ValueOutOfRangeError(f"hand must be one of {', '.join(map(repr, HANDS))}", value=hand)
    seen = None if hand == HANDS[0] else hand
    judged = judge_measurement(thread, _as_given(turns), _as_given(length), _as_given(limit), seen)
    if judged.length_mm > _LONGEST_MM:
        raise ValueOutOfRangeError(f"the length must be at most {_LONGEST_MM} mm", value=length)
    if not judged.uncertainty_mm:
        raise ValueOutOfRangeError("no instrument is good to ± 0", remedy="Give what yours is good to, in mm.")
    return judged


def _as_given(number: object) -> int | float | Fraction | str:
    """What a slider sends is a number, what was typed is text; anything else is refused as that text would be."""
    return number if isinstance(number, (int, float, Fraction, str)) else repr(number)


def _row(place: int, slip: WrongLead) -> dict[str, object]:
    train = writing.train(slip.setup.train.drivers, slip.setup.train.driven)
    return {
        "place": str(place),
        "gears and lever": str(train) + (f", {slip.setup.lever}" if slip.setup.lever is not None else ""),
        "lead": str(writing.length(slip.lead_mm)),
        "what may have happened": slip.slip,
    }


def _note(found: WrongLeads) -> str:
    more = len(found) - _MOST_SLIPS
    said = f"{more} more would fit. Measure over more turns. " if more > 0 else ""
    return f"{said}{found.why} {CAUTION}"
