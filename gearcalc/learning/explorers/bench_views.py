"""What the bench page shows: ranked setups to choose from, and all about the one that is chosen."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.basics.errors import GearcalcError, NotPossibleError, UnknownNameError
from gearcalc.finding.finding import find_setups
from gearcalc.finding.setup_lists import SetupList
from gearcalc.finding.setups import Setup, setup
from gearcalc.lathes import Lathe
from gearcalc.learning.explorers.bench_lathes import FROM_FILE, demo_lathe_once, lathe_texts, read_bench_lathe
from gearcalc.learning.explorers.bench_parts import PARTS, BenchAnswer, part_html
from gearcalc.learning.explorers.near_miss_views import PAIRS, verdict_in_words
from gearcalc.learning.explorers.typed import read_train, read_whole
from gearcalc.learning.explorers.views import cut_view
from gearcalc.pictures.brackets.bracket_pictures import bracket_picture
from gearcalc.pictures.pictures import Picture, table_html

MOST_ANSWERS = 6
LISTED = {"what goes on": (True, False), "one of each ratio": (True, True), "all": (False, False)}
"""Which setups are listed, in words: whether they must go on, and whether equal ratios are left out."""

_HEAD = ("answer", "train", "lever", "error", "goes on", "good enough", "lead", "tpi")


@frozen
class BenchView:
    """The setups found, the one chosen drawn, and a part about it; shows itself as all three."""

    answers: tuple[Setup, ...]
    answer: int
    own_train: bool
    lathe: Lathe
    picture: Picture
    facts_html: str
    note: str = ""

    @property
    def svg(self) -> str:
        return self.picture.svg

    @property
    def chosen(self) -> Setup:
        """The setup that picture and part speak of, as it goes on."""
        return self.answers[self.answer - 1]

    @property
    def settled(self) -> dict[str, object]:
        """The row chosen, where there are fewer than was asked for."""
        return {"answer": self.answer}

    @property
    def tables(self) -> dict[str, Any]:
        """The rows to choose from, as text, for the shell."""
        rows = [list(self._row(place, one).values()) for place, one in enumerate(self.answers)]
        return {"answer": {"head": list(_HEAD), "rows": rows, "note": self.note}}

    def _row(self, place: int, one: Setup) -> dict[str, str]:
        number = place if self.own_train else place + 1
        lead = one.feed_mm if one.feed_mm is not None else one.lead_mm
        shown = (
            "yours" if number == 0 else str(number),
            _unbroken(str(one.train)),
            one.settings or "–",
            "–" if one.error is None else str(writing.error(one.error)),
            "not checked" if one.fit is None else "yes" if one.fit.goes_on else "no",
            verdict_in_words(BenchAnswer(self.lathe, one).verdict),
            str(writing.length(lead)),
            writing.tpi(lead, starts=one.starts),
        )
        return dict(zip(_HEAD, shown, strict=True))

    def _repr_html_(self) -> str:
        rows = [self._row(place, one) for place, one in enumerate(self.answers)]
        note = f"<p>{writing.plain(self.note).html}</p>" if self.note else ""
        return self.picture._repr_html_() + table_html(rows, f"Setups on: {self.lathe.name}") + note + self.facts_html

    def __str__(self) -> str:
        return str(self.picture)


def bench_view(
    *,
    lathe: str | Lathe = "inch",
    file: str = "",
    gears: str | None = None,
    leadscrew: str | None = None,
    levers: str | None = None,
    thread: str = "M10",
    train: str = "",
    pairs: str = "up to three",
    listed: str = "what goes on",
    answer: object = 1,
    part: str = "will it go on",
    **more: object,
) -> BenchView:
    """The best setups for a thread (or a feed) on a lathe, one of them drawn, and a part about that one.

    >>> view = bench_view(lathe="metric", thread="M10")
    >>> print(view.chosen)
    40/80, idler 48, lever fast: lead 1.5 mm (≈ 16.933 tpi), exact
    >>> bench_view(lathe="inch", thread="16 tpi", train="30/60").tables["answer"]["rows"][0][4]
    'yes'

    `lathe`: 'inch', 'metric', 'file' with the text in `file`, or a Lathe; `gears`, `leadscrew`, `levers`: what was
    typed, None for the lathe's own; `train`: one to look at besides, or nothing; `pairs`: a key of PAIRS; `listed`: of
    LISTED; `answer`: which of the rows, 1 the first; `part`: a key of PARTS; `more`: what parts have controls for.
    Raises our errors for what can't be read, NotPossibleError when nothing is found and no train is given.
    """
    own = _a_lathe(lathe, file, gears, leadscrew, levers)
    for name, given, known in (("pairs", pairs, PAIRS), ("list", listed, LISTED), ("part", part, PARTS)):
        if not isinstance(given, str) or given not in known:
            raise UnknownNameError(f"{name} must be one of {', '.join(map(repr, known))}", value=given)
    mine = _own_train(own, str(train), thread)
    found, why = _found(own, str(thread), PAIRS[pairs], *LISTED[listed])
    answers = (*mine, *found)
    if not answers:
        raise NotPossibleError("there is no train for this", remedy=why)
    place = min(read_whole(answer, "the answer", 100), len(answers))
    chosen = answers[place - 1]
    shown = part_html(part, BenchAnswer(own, chosen), more)
    return BenchView(answers, place, bool(mine), own, _picture(own, chosen), shown, "" if found else why)


def _a_lathe(lathe: str | Lathe, file: str, gears: str | None, leadscrew: str | None, levers: str | None) -> Lathe:
    if isinstance(lathe, Lathe):
        file = lathe.to_toml()
        lathe = FROM_FILE
    if gears is None or leadscrew is None or levers is None:
        start = Lathe.from_toml(file, source="lathe file") if lathe == FROM_FILE else demo_lathe_once(lathe)
        texts = lathe_texts(start)
        gears, leadscrew, levers = (
            texts[name] if given is None else given
            for name, given in (("gears", gears), ("leadscrew", leadscrew), ("levers", levers))
        )
    return read_bench_lathe(lathe, file, gears, leadscrew, levers)


@lru_cache(maxsize=32)
def _found(
    lathe: Lathe, thread: str, meshes: tuple[int, ...], must_fit: bool, one_per_ratio: bool
) -> tuple[tuple[Setup, ...], str]:
    """The best setups as they go on; kept, since a hand moves from row to row."""

    def ask(must_fit: bool) -> SetupList:
        return find_setups(lathe, thread, meshes, MOST_ANSWERS, must_fit=must_fit, one_per_ratio=one_per_ratio)

    found = ask(must_fit)
    why = found.why
    if not found and must_fit and ask(False):
        why += " Choose 'all' under List to see what stops those that there are."
    return tuple(one.as_built for one in found), why


def _own_train(lathe: Lathe, text: str, thread: str) -> tuple[Setup, ...]:
    """The train that someone typed, with the lever that brings it nearest to what is wanted; none for no text."""
    if not text.strip():
        return ()
    try:
        train = read_train(text)
        lathe.check_owned(train.gears)
    except GearcalcError as problem:
        raise problem.at("own train") from None
    levers: list[str | None] = [*lathe.levers] or [None]
    made = [setup(lathe, train.drivers, train.driven, lever, train.idlers, wanted=thread) for lever in levers]
    return (min(made, key=lambda one: abs(one.error_ppm or 0.0)).as_built,)


def _unbroken(train: str) -> str:
    """The train for a narrow column: it may break before its idlers, and nowhere else."""
    gears, comma, idlers = train.partition(", ")
    return gears.replace(" ", "\u00a0") + comma + idlers


def _picture(lathe: Lathe, chosen: Setup) -> Picture:
    if chosen.fit is None:
        return cut_view(lathe, chosen, tall=True).picture
    return bracket_picture(chosen, lathe)
