"""When may the half-nuts close, so that the tool falls into its groove again? The answer in sentences with numbers."""

from __future__ import annotations

from fractions import Fraction
from math import gcd

from attrs import evolve

from gearcalc.basics import writing
from gearcalc.basics.cautions import DRIVE_FREE
from gearcalc.basics.errors import NotPossibleError, ValueOutOfRangeError
from gearcalc.basics.exact import INCH_MM, Exact, PiMultiple
from gearcalc.cutting.dial_rules import DialGearChoice, DialRule, best_gear, off_in_words, ordinal, weigh_gears
from gearcalc.finding.setups import PULLED_BY_HAND, Setup
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.threads import Feed, Thread, as_thread

_MOST_LISTED = 8
_TRANSLATION = INCH_MM.numerator  # 127, a prime
_KEEP_CLOSED = (
    "At the end of each pass draw the tool out (in a bore: towards the axis) and stop; only then run back at the "
    "lowest speed, half-nuts closed. If the chuck screws onto the spindle, do not reverse under power, since it can "
    f"unscrew: isolate, {DRIVE_FREE}, turn back by hand; ask a qualified person (common practice, no source)."
)
_BY_HAND = (
    f"The leadscrew turns more than {PULLED_BY_HAND} times for one turn of the spindle, so nothing is run: isolated, "
    f"{DRIVE_FREE}, every pass is pulled round by hand; then draw the tool out (in a bore: towards the axis), and turn "
    "the chuck back by hand (common practice, no source; the number is our convention)."
)


def dial(lathe: Lathe, thread_or_setup: Thread | Setup | str) -> DialRule:
    """When may the half-nuts close, so that the tool falls into the groove that it cut?

    >>> import gearcalc as gc
    >>> rule = dial(gc.demo_lathe("inch"), "11 tpi")
    >>> rule.threads, rule.gear_teeth, rule.step, rule.lines
    (8, 16, 4, (1, 5))
    >>> rule.verdict
    'With the 16-tooth dial gear close at every 4th line of the 8: 1 and 5, counted from the first used.'
    >>> dial(gc.demo_lathe("inch"), "16 tpi").anywhere, dial(gc.demo_lathe("inch"), "1.5 mm").keep_closed
    (True, True)

    `thread_or_setup`: a Thread or the text of one, for a train that cuts it exactly; or a Setup, whose cut lead counts.
    Of several dial gears the one with the least step is chosen, then the one that comes round soonest, then the first
    in the lathe file. A lathe without a dial is no error: `why` says what to do.
    Raises NotPossibleError for a feed, or for a setup that is another lathe's; ThreadTextError for text that is no
    thread; ValueOutOfRangeError for anything else.
    Formula: leadscrew turns for one turn of the spindle = lead ÷ leadscrew lead = p/q in lowest terms; a groove returns
    every p leadscrew threads; a dial gear of G teeth serves where p divides G.
    Source: F. D. Jones, Turning and Boring (Industrial Press 1914), pp. 140–142; the rest is arithmetic.
    """
    lathe = as_lathe(lathe)
    thread, lead = cut_lead(lathe, thread_or_setup)
    screw = lathe.leadscrew.lead
    threads = None if isinstance(lead, PiMultiple) else (lead / screw).numerator
    gears = weigh_gears(lathe.dial.gears if lathe.dial is not None else (), lead, screw)
    named = str(thread) if thread is not None else str(writing.lead(lead))
    starts = thread.starts if thread is not None else 1
    rule = DialRule(named, lead, screw, starts, threads, gears, best_gear(gears))
    why = _why(rule, lathe, thread, from_setup=isinstance(thread_or_setup, Setup))
    return evolve(rule, verdict=_verdict(rule), when=_when_a_groove_returns(rule), why=why)


def cut_lead(lathe: Lathe, thread_or_setup: Thread | Setup | str) -> tuple[Thread | None, Exact]:
    """The thread that is meant, if any, and the lead that is cut on this lathe: a setup's own, else the thread's.

    >>> from gearcalc.lathes import demo_lathe
    >>> cut_lead(demo_lathe("inch"), "16 tpi")[1]
    Fraction(127, 80)

    Raises as dial() does.
    """
    if isinstance(thread_or_setup, Setup):
        setup = thread_or_setup
        if setup.lead_mm != lathe.leadscrew.lead * setup.leadscrew_turns:
            raise NotPossibleError(
                f"this setup was not made for {lathe.name}", remedy="Ask with the lathe that it was made for."
            )
        if isinstance(setup.wanted, Feed):
            raise NotPossibleError("a feed leaves no groove to come back to", remedy="Close the half-nuts anywhere.")
        return setup.wanted, setup.lead_mm
    if isinstance(thread_or_setup, (Thread, str)):
        thread = as_thread(thread_or_setup)
        return thread, thread.lead
    raise ValueOutOfRangeError(
        "a thread, its text, or a setup is wanted here", value=thread_or_setup, remedy="Like '16 tpi' or 'M8'."
    )


# The words.


def how_to_pass(rule: DialRule) -> str:
    """How to come back for the next pass where no dial helps, or nothing may be run; else empty.

    >>> import gearcalc as gc
    >>> how_to_pass(gc.dial(gc.demo_lathe("inch"), "16 tpi"))
    ''
    """
    if rule.pulled_by_hand:
        return _BY_HAND
    return _KEEP_CLOSED if rule.keep_closed else ""


def _verdict(rule: DialRule) -> str:
    """What to do, in a sentence."""
    if rule.pulled_by_hand:
        return "Close the half-nuts at standstill, isolated, and keep them closed until the thread is done."
    if rule.anywhere:
        return "Close the half-nuts anywhere."
    gear = rule.chosen
    if gear is None:
        return "Keep the half-nuts closed until the thread is done."
    start = f"With the {gear.teeth}-tooth dial gear close at"
    if gear.lines == 1:
        return f"{start} its one line."
    if gear.step == gear.closing:
        return f"{start} any line."
    if len(gear.serving) == 1:
        return f"With the {gear.teeth}-tooth dial gear close only at the line first used, one of {gear.lines}."
    start += f" every {ordinal(gear.step or 0)} line of the {gear.lines}"
    if len(gear.serving) > _MOST_LISTED:
        return f"{start}, counted from the first used."
    return f"{start}: {listed(gear.serving)}, counted from the first used."


def _why(rule: DialRule, lathe: Lathe, thread: Thread | None, *, from_setup: bool) -> str:
    """Why, in sentences with numbers."""
    said = [_when_a_groove_returns(rule)]
    if from_setup and thread is not None and rule.lead != thread.lead:
        said.append(
            f"What counts is the lead that is cut, {writing.lead(rule.lead, rule.starts)}, not the {thread} that it "
            "stands in for."
        )
    said += [_about_the_gears(rule, lathe), *_about_the_starts(rule)]
    if rule.keep_closed and not from_setup:
        said.append(_ask_with_the_setup(rule))
    said.append(how_to_pass(rule))
    return " ".join(filter(None, said))


def _when_a_groove_returns(rule: DialRule) -> str:
    """When a groove comes back under the tool, in a sentence or two."""
    screw = writing.lead(rule.leadscrew_mm)
    if rule.threads is None or isinstance(rule.lead, PiMultiple):
        return (
            f"π is in the lead, {writing.number(rule.lead)} mm, so no number of leads ever makes up a whole number of "
            f"leadscrew threads of {screw}: the groove never comes back under the tool."
        )
    turns = rule.lead / rule.leadscrew_mm
    start = f"The leadscrew turns {writing.ratio(turns)} of a turn" if turns < 1 else _turns(turns)
    start += f" for one turn of the spindle (lead {writing.lead(rule.lead, rule.starts)}, leadscrew {screw})"
    if rule.anywhere:
        return f"{start}: each leadscrew thread holds {_leads(turns.denominator)}, so every one of them serves."
    note = ""
    if _TRANSLATION in (turns.numerator, turns.denominator) or turns.numerator % _TRANSLATION == 0:
        note = " The 127 between inches and millimetres is in that, and it is a prime."
    return (
        f"{start}, so a groove returns every {rule.threads} leadscrew threads, {_travel(rule)}: that is "
        f"{_leads(turns.denominator)}, the least common multiple.{note}"
    )


def _turns(turns: Fraction) -> str:
    return "The leadscrew turns once" if turns == 1 else f"The leadscrew turns {writing.ratio(turns)} times"


def _leads(count: int) -> str:
    return "one lead" if count == 1 else f"{count} leads"


def _travel(rule: DialRule) -> str:
    assert rule.travel_mm is not None
    metres = "" if rule.travel_mm < 1000 else " (more than a metre)"
    return f"{writing.length(rule.travel_mm, places=3)}{metres}"


def _about_the_gears(rule: DialRule, lathe: Lathe) -> str:
    if rule.anywhere:
        return "" if rule.gears else "No dial is needed."
    if lathe.dial is None:
        return f"The lathe file has no [dial], so nothing shows when that is. {_one_thread_on(rule)}"
    if rule.chosen is None:
        return _none_serves(rule)
    gear = rule.chosen
    per_line = Fraction(gear.teeth, gear.lines)
    said = f"{rule.threads} divides the {gear.teeth} teeth of the dial gear"
    if gear.lines == 1:
        return f"{said}.{_others(rule, gear)}"
    said += (
        f", and from one line to the next {writing.number(per_line)} "
        f"leadscrew thread{'s' * (per_line != 1)} go{'es' * (per_line == 1)} by"
    )
    if gear.step == 1:
        said += ", so every line serves."
    elif gear.step == gear.closing:
        said += ", so every line at which the half-nuts close serves."
    else:
        said += f", so {writing.number(gear.wait or Fraction(0))} go by over {gear.step} lines."
    return said + _others(rule, gear)


def _others(rule: DialRule, chosen: DialGearChoice) -> str:
    others = [gear for gear in rule.gears if gear is not chosen]
    no = [gear for gear in others if not gear.serves]
    if not no:
        return ""
    words = "do not serve" if len(no) > 1 else "does not serve"
    return f" The dial gear{'s' * (len(no) > 1)} of {listed([gear.teeth for gear in no])} teeth {words}."


def _none_serves(rule: DialRule) -> str:
    teeth = listed([gear.teeth for gear in rule.gears])
    gear = rule.gears[0]
    if rule.threads is None:
        start = "No dial gear helps."
    elif len(rule.gears) == 1:
        start = f"{rule.threads} does not divide the {teeth} teeth of the dial gear."
    else:
        start = f"{rule.threads} divides none of the dial gears ({teeth} teeth)."
    return (
        f"{start} With {gear.teeth} teeth, the same line comes round after {gear.teeth} leadscrew threads, and the "
        f"tool would be {off_in_words(gear.out_mm)} out of its groove, {_share(rule, gear.out_mm)} of the lead."
        f"{_lands_in_another(rule)}"
    )


def _share(rule: DialRule, out_mm: Fraction) -> str:
    return writing.percent(float(abs(out_mm)) / float(rule.lead))


def _lands_in_another(rule: DialRule) -> str:
    if rule.gears and rule.catches_another_start(rule.gears[0].teeth):
        return " It would be in the groove of another start."
    return ""


def _one_thread_on(rule: DialRule) -> str:
    out = rule.out_mm(1)
    return (
        f"Closed one leadscrew thread further on, the tool would be {off_in_words(out)} out of its groove, "
        f"{_share(rule, out)} of the lead."
    )


def _about_the_starts(rule: DialRule) -> list[str]:
    if rule.threads is None or (common := gcd(rule.threads, rule.starts)) == 1:
        return []
    every = rule.threads // common
    threads = "leadscrew thread" if every == 1 else f"{every} leadscrew threads"
    words = f"The thread has {rule.starts} starts, and every {threads} the groove of another start comes under the tool"
    return [f"{words}: it looks right and is wrong."]


def _ask_with_the_setup(rule: DialRule) -> str:
    if rule.threads is None:
        return "Gears that stand in for it cut a lead without π, and have a rule of their own: ask with the setup."
    return "That is for gears that cut it exactly; a stand-in train has a rule of its own: ask with the setup."


def listed(items: tuple[int, ...] | list[int]) -> str:
    """Numbers as one says them: 1, 3 and 5.

    >>> listed([1, 3, 5])
    '1, 3 and 5'
    """
    shown = [str(item) for item in items]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"
