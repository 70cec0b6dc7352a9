"""What a thread may be written as: from designation or plain trade speech to the facts of a thread.

A small grammar of our own. Text is length-capped and nothing is ever evaluated; what is not understood is
refused with the nearest form that would have been.
"""

from __future__ import annotations

import difflib
import re
import unicodedata
from collections.abc import Mapping, Sequence
from fractions import Fraction
from functools import lru_cache

from attrs import evolve

from gearcalc.basics.arguments import shown
from gearcalc.basics.errors import GearcalcError, ThreadTextError, quoted
from gearcalc.basics.exact import coefficient
from gearcalc.basics.writing import number
from gearcalc.threads import american_threads, british_threads, designations, metric_threads, worms
from gearcalc.threads.designations import MOST_STARTS, NUMBER, Facts, Family, Form
from gearcalc.threads.near_words import put_right

_LONGEST_TEXT = 60
_LONGEST_LEAD_MM = 1000
_SHORTEST_PITCH_MM = Fraction(1, 100)

FAMILY_FILES = (metric_threads, american_threads, british_threads, worms)
"""The files of the families, in the order in which their forms are tried and their series listed."""
FAMILIES: Mapping[str, Family] = {family.name: family for file in FAMILY_FILES for family in file.FAMILIES}
FORMS: Sequence[Form] = (*designations.FORMS, *(form for file in FAMILY_FILES for form in file.FORMS))
EXAMPLES: Sequence[str] = tuple(example for form in FORMS for example in form.examples)
"""At least one of each way to write that is understood."""
_FOR_HOPELESS = ("M8", "1/4-20", "16 tpi", "1.25 mm")
_LIKE_ENOUGH = 0.6
_WORDS = (
    "LH",
    "RH",
    "left",
    "right",
    "hand",
    "pitch",
    "inch",
    "threads",
    "per",
    *re.findall("[A-Za-z]{2,}", " ".join(EXAMPLES)),
)

_HAND = r"(?P<hand>L\.?H\b\.?|R\.?H\b\.?|left[ -]hand|right[ -]hand)"
_STARTS = r"(?P<starts>\d{1,4})[ -]?starts?"
_BEFORE = re.compile(rf"(?:{_HAND}|{_STARTS})(?:[ -]|\b)", re.I | re.A)
_BEHIND = re.compile(rf"[ -]?(?:{_HAND}|(?<= ){_STARTS})$", re.I | re.A)
_BETWEEN = re.compile(rf"[ -]?{_HAND}(?=[ -])", re.I | re.A)  # Tr 40x7 LH-7e, as the standard has it (from memory)
_SIZE_AND_TPI = rf"(?:#\d{{1,2}}|{NUMBER})(?: in(?:ch)?)?(?: ?- ?{NUMBER})?"
_WORD_FIRST = re.compile(rf"([a-z]{{2,10}}) ?({_SIZE_AND_TPI})(.*)", re.I | re.A)


def read_thread(text: object) -> Facts:
    """The facts of a thread from its designation or from plain trade speech.

    >>> read_thread("m10 × 1,5-6g").name
    'M10x1.5'
    >>> read_thread("16 tpi LH").hand
    'left'

    `text`: at most 60 characters; EXAMPLES shows every form.
    Raises ThreadTextError, with the nearest form that would have been understood.
    Source of the designations: the standards named in data/SOURCES.md.
    """
    shown = normalise(text)
    try:
        facts = _facts(shown)
    except GearcalcError as problem:
        proposed = re.findall(r"'([^']+)'", problem.remedy)
        remedy = problem.remedy if all(map(_can_be_read, proposed)) else ""  # it may propose what can't be read either
        if not remedy:
            like = _near_form(shown) or max(EXAMPLES, key=lambda example: _likeness(shown, example))
            remedy = f"Write it like {quoted(like)}."
        raise ThreadTextError(f"in {quoted(shown)}, {problem.problem}", remedy=remedy) from None
    if facts is None:
        raise _not_understood(shown)
    return facts


def normalise(text: object, *, what: str = "a thread") -> str:
    """Text on one line with single spaces, the trade's signs in ASCII; refused when too long or not text.

    >>> normalise(" M8 ×  1 "), normalise("11½ tpi")
    ('M8 x 1', '11 1/2 tpi')

    `what` names the thing in the message. Raises ThreadTextError.
    """
    remedy = "Write it like '0.12 mm/rev'." if what == "a feed" else "Write it like 'M8' or '16 tpi'."
    if not isinstance(text, str):
        raise ThreadTextError(f"{what} is given as text", value=shown(text), remedy=remedy)
    text = str.__str__(text)  # another's kind of text may do anything
    if len(text) > _LONGEST_TEXT:
        raise ThreadTextError(f"{what} takes at most {_LONGEST_TEXT} characters", value=text, remedy=remedy)
    if not text or text.isspace():
        raise ThreadTextError(f"{what} is wanted here, and nothing is written", remedy=remedy)
    for sign, plain in (("×", "x"), ("–", "-"), ("−", "-"), ("″", " in"), ('"', " in")):
        text = text.replace(sign, plain)
    return " ".join("".join(map(_spelled, text)).split())


def _spelled(sign: str) -> str:
    """A fraction in one sign as a figure of its own, ' 1/2'; any other sign as it is."""
    parts = unicodedata.decomposition(sign).split()
    return " " + unicodedata.normalize("NFKC", sign).replace("\u2044", "/") if parts[:1] == ["<fraction>"] else sign


@lru_cache(maxsize=1024)
def _facts(text: str) -> Facts | None:
    """What a normalised text says; None when no form matches. Raises GearcalcError for what can't be."""
    rest, hand, starts = _without_hand_and_starts(text)
    if re.fullmatch(NUMBER, rest, re.A):
        raise ThreadTextError("a bare number is no thread", remedy=f"Say the unit: '{rest} mm' or '{rest} tpi'.")
    found = _form_of(rest) or _form_of(_WORD_FIRST.sub(r"\2 \1\3", rest))  # NPT 1/2, UNC 1/4-20
    if found is None:
        return None
    form, match = found
    facts = form.reader(match)
    if starts is not None:
        facts = _with_starts(facts, starts)
    _check_possible(facts)
    return evolve(facts, hand=hand)


def _form_of(text: str) -> tuple[Form, re.Match[str]] | None:
    found = ((form, form.pattern.fullmatch(text)) for form in FORMS)
    return next(((form, match) for form, match in found if match is not None), None)


def _without_hand_and_starts(text: str) -> tuple[str, str, int | None]:
    """The designation without hand and starts before, behind or within it, and what these say."""
    said: dict[str, str] = {}
    while found := _BEFORE.match(text) or _BEHIND.search(text) or _BETWEEN.search(text):
        kind = str(found.lastgroup)
        if kind in said:
            raise ThreadTextError(f"the {kind} {'is' if kind == 'hand' else 'are'} given twice")
        said[kind] = found[kind]
        text = (text[: found.start()] + text[found.end() :]).strip(" -")
    hand = "left" if said.get("hand", "").casefold().startswith("l") else "right"
    return text, hand, int(said["starts"]) if "starts" in said else None


def _with_starts(facts: Facts, starts: int) -> Facts:
    if facts.starts not in (1, starts):
        raise ThreadTextError(f"the designation already says {facts.starts} starts, not {starts}")
    if not 1 <= starts <= MOST_STARTS:
        raise ThreadTextError(f"a thread has 1 to {MOST_STARTS} starts, not {starts}")
    if facts.name.startswith("lead "):
        return evolve(facts, pitch=facts.pitch * Fraction(1, starts), starts=starts)
    if facts.starts == 1 < starts and facts.family in ("metric", "trapezoidal"):
        raise _lead_or_pitch(facts, starts)
    return evolve(facts, starts=starts)


def _lead_or_pitch(facts: Facts, starts: int) -> ThreadTextError:
    """ISO designations of several starts name lead and pitch; one figure alone could be either."""
    size, given = facts.name.split("x")[0], coefficient(facts.pitch)
    mark = "{}xPh{}P{}" if facts.family == "metric" else "{}x{}(P{})"
    remedy = f"Write '{mark.format(size, number(given * starts), number(given))}' where it is the pitch"
    as_lead = mark.format(size, number(given), number(given / starts))
    remedy += f", '{as_lead}' where it is the lead." if _can_be_read(as_lead) else "."
    return ThreadTextError(f"{number(given)} mm could be the pitch or the lead of {starts} starts", remedy=remedy)


def _check_possible(facts: Facts) -> None:
    size = float(facts.pitch)
    if coefficient(facts.pitch) <= 0:
        raise ThreadTextError("a pitch must be more than zero")
    if facts.major_mm is not None and facts.major_mm <= 0:
        raise ThreadTextError("a diameter must be more than zero")
    if size < _SHORTEST_PITCH_MM or size * facts.starts > _LONGEST_LEAD_MM:
        raise ThreadTextError(
            f"a pitch is at least {float(_SHORTEST_PITCH_MM)} mm and a lead at most {_LONGEST_LEAD_MM} mm here"
        )
    if facts.major_mm is not None and size >= 0.8 * float(facts.major_mm):
        raise ThreadTextError(
            f"a pitch of {number(facts.pitch)} mm would cut through a bar of {number(facts.major_mm)} mm"
        )


# What to say about text that is no thread.


def _not_understood(text: str) -> ThreadTextError:
    long = " (its numbers have more than six digits)" if re.search(r"\d{7}", text, re.A) else ""
    near = _near_form(text)
    examples = ", ".join(map(repr, _FOR_HOPELESS[:-1]))
    remedy = f"Write it like {examples} or {_FOR_HOPELESS[-1]!r}."
    return ThreadTextError(
        f"{quoted(text)} is not understood as a thread{long}",
        remedy=remedy if near is None else f"The nearest form that would be: {quoted(near)}.",
    )


def _near_form(text: str) -> str | None:
    """The text put right, or an example much like it that has no word of its own; None for text like nothing."""
    for repaired in _repaired(text):
        if repaired != text and _can_be_read(repaired):
            return repaired
    spelled = put_right(_repaired(text)[0], _WORDS, _meaning)
    if spelled is not None:
        return spelled
    ours = _words(text)
    near = [example for example in EXAMPLES if _words(example) <= ours and _likeness(text, example) >= _LIKE_ENOUGH]
    return max(near, key=lambda example: _likeness(text, example)) if near and re.search("[0-9]", text) else None


def _can_be_read(text: str) -> bool:
    return _meaning(text) is not None


def _meaning(text: str) -> Facts | None:
    """What a text says; None for what can't be read."""
    try:
        return _facts(normalise(text))
    except GearcalcError:
        return None


def _repaired(text: str) -> tuple[str, str]:
    """The text in plain signs (full-width letters, * for ×), and so with what stands in front put last."""
    plain = unicodedata.normalize("NFKC", text).replace("\u2044", "/").replace("*", "x")
    plain = " ".join(plain.split()).strip(" '.;:")
    first, _, rest = plain.partition(" ")
    return plain, f"{rest} {first}"


def _words(text: str) -> set[str]:
    return set(re.findall("[a-z]+", text.casefold()))


def _likeness(text: str, example: str) -> float:
    """How much alike two texts are but for their figures, 0 to 1."""

    def shape(written: str) -> str:
        return re.sub(r"[0-9]+", "0", written.casefold())

    return difflib.SequenceMatcher(None, shape(text), shape(example)).ratio()
