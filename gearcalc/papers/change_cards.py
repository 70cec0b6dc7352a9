"""The card to take to the machine: from what is mounted to what is wanted, cautions first, one step after another."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress

from attrs import evolve, field, frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.cautions import CAUTIONS, FOOT, WHERE_FROM
from gearcalc.basics.errors import NotPossibleError
from gearcalc.cutting.catching import dial, how_to_pass
from gearcalc.cutting.helix import helix_angle
from gearcalc.cutting.scratch_passes import scratch_check
from gearcalc.finding.mounted import Mounted, idlers_assumed, own_setup, train_and_fit, with_the_damaged
from gearcalc.finding.setups import Setup, refitted
from gearcalc.fits import Fit
from gearcalc.fits.geometry import lacking
from gearcalc.lathes import Lathe, as_lathe
from gearcalc.lathes.gear_words import damaged_in_words, gears_to_fetch
from gearcalc.lathes.trains import Train
from gearcalc.papers.change_pictures import KEY, KEY_IDLE, change_picture, drawings, trains_on_paper
from gearcalc.papers.changes import Change, Step
from gearcalc.papers.paper import SMALL_PT, Paper
from gearcalc.papers.sheets import Sheet, html_first, html_list, text_lines, text_list
from gearcalc.papers.steps import steps_of, swing_in_words, turns_in_words
from gearcalc.pictures.picture import Picture
from gearcalc.pictures.train_pictures import TrainDrawing, arrange, other_sizes
from gearcalc.planning.gear_moves import Arranged, in_fixed_planes, moves_between, pieces, turns_until_round
from gearcalc.threads import Feed, Thread
from gearcalc.threads.deviations import SHORT_MM, deviation_in_words, judge

_TIGHTER = ((9.2, 51.0), (9.0, 44.0), (8.8, 40.0), (8.6, 36.0))
"""Type of the steps in points, and height of the pictures in mm: the first that two pages hold."""


@frozen
class ChangeCard(Sheet):
    """The sheet to take to the machine. Made by change_card().

    `lathe`; `setup`: what is to be set up, as it goes on; `cautions`, `needed` (to lay out before you begin),
    `steps`, `settings` (name, value), `warnings`: in words. `before`, `after`: drawings of the trains, `before` None
    where it is not known what is mounted. `change`: what all that was made from.
    Shows itself in a notebook, as text, and saves itself as HTML, PDF or text.
    """

    lathe: Lathe
    setup: Setup
    needed: tuple[str, ...]
    steps: tuple[Step, ...]
    settings: tuple[tuple[str, str], ...]
    warnings: tuple[str, ...]
    after: TrainDrawing
    before: TrainDrawing | None
    change: Change = field(repr=False)
    cautions: tuple[str, ...] = CAUTIONS

    @property
    def title(self) -> str:
        """What the card is for, and whether it is good enough for that."""
        train, short = self.setup.train, "not good enough for " if self.setup.shortfall else ""
        return f"Change-over card: {short}{self.setup.wanted or writing.train(train.drivers, train.driven)}"

    @property
    def about(self) -> str:
        """Which lathe, from what, to what."""
        known = f"From {self.before.train}" if self.before is not None else "From whatever is mounted"
        assumed = f" {self.change.idlers_assumed}" if self.change.idlers_assumed else ""
        return f"{self.lathe.name}. {known} to {self.setup}.{assumed}"

    @property
    def counted(self) -> str:
        """How many gears have to be moved."""
        if self.change.nothing:
            return "Nothing has to be changed: see that all is as the card says, and try it."
        if self.change.moves.none:
            return "No gear has to be moved."
        if self.before is None:
            return f"{self.gears_on} gears in place at the end."
        in_the_way = len(pieces(self.change.moves.in_the_way))
        only = f", of which {in_the_way} only in the way" if in_the_way else ""
        return f"Gears: {self.gears_off} off, {self.gears_on} on{only}."

    @property
    def before_you_begin(self) -> str:
        """Over the things to lay out: before what they have to lie there."""
        return f"Before {'the cover is opened' if self.change.opens_the_cover else 'you begin'}, lay out"

    @property
    def gears_off(self) -> int:
        """How many gears come off, those in the way included; two in one piece count once."""
        return len(pieces(self.change.moves.off))

    @property
    def gears_on(self) -> int:
        """How many gears go on, those that were in the way included; two in one piece count once."""
        return len(pieces(self.change.moves.on))

    @property
    def picture(self) -> Picture:
        """Both trains with what becomes of each gear, over the row of the steps."""
        return change_picture(self.change)

    @property
    def size(self) -> str:
        """The paper of the lathe's owner."""
        return self.lathe.paper

    def on_paper(self, size: str | None = None) -> Paper:
        """Make the card ready for paper, sheet by sheet, the two sides of one wherever that can be read.

        `size`: 'A4', 'A3' or 'Letter', None for the lathe's own. Raises ValueOutOfRangeError for another.
        """
        papers = (self._laid_out(self.size if size is None else size, *tight) for tight in _TIGHTER)
        first = next(papers)
        return first if first.pages <= 2 else next((paper for paper in papers if paper.pages <= 2), first)

    def _laid_out(self, size: str, steps_pt: float, pictures_mm: float) -> Paper:
        paper = Paper(
            self.title, below=f"{self.about} {self.counted}", foot=FOOT, size=size, margin_mm=12.5, steps_pt=steps_pt
        )
        paper.cautions(self.cautions)
        for warning in self.warnings:
            paper.words(f"Mind: {warning}", size_pt=steps_pt, bold=True)
        paper.title(self.before_you_begin, size_pt=11.5)
        for needed in self.needed:
            paper.ticked(needed)
        paper.space(1.5)
        paper.put(*trains_on_paper(self.change, paper.drawing(pictures_mm)))
        paper.space(-1.5)
        idle = any(
            place.role == "idle" for one in (self.change.before, self.change.after) if one for place in one.places
        )
        paper.words(f"{KEY} {KEY_IDLE}" if idle else KEY, size_pt=7.5)
        paper.title("Steps", size_pt=11.5)
        for number, step in enumerate(self.steps, 1):
            paper.step(number, step.title, " ".join(step.lines), step.gears)
        paper.space(1)
        paper.table([{"setting": name, "value": value} for name, value in self.settings], size_pt=8.6)
        paper.words(WHERE_FROM, size_pt=SMALL_PT)
        return paper

    def _html_parts(self, head: str, part: str) -> Iterator[str]:
        about = markup.in_html(f"{self.about} {self.counted}")
        yield f"<{head}>{markup.in_html(self.title)}</{head}><p>{about}</p>{html_first(self.cautions)}"
        if self.warnings:
            yield f"<{part}>Mind with this setup</{part}>{html_list(self.warnings)}"
        folded = part != "h2"  # in a notebook it is one screen, with the rest to unfold; a page of its own is for paper
        yield _section(part, self.before_you_begin, html_list(self.needed, tick=True), folded)
        yield self.picture._repr_html_()
        yield f"<{part}>Steps</{part}><ol>"
        for step in self.steps:
            gears = html_list(step.gears, tick=True) if step.gears else ""
            title, lines = f"<strong>{markup.in_html(step.title)}.</strong>", " ".join(map(markup.in_html, step.lines))
            yield f"<li>{_unfolding(title, lines) if folded else f'{title} {lines}'}{gears}</li>"
        yield "</ol>"
        yield _section("", "Settings", markup.html_table("Settings", self.settings), folded)
        yield _section("", "Where this comes from", f"<p><small>{markup.in_html(WHERE_FROM)}</small></p>", folded)

    def _text_parts(self) -> Iterator[str]:
        yield self.title.upper()
        yield from text_lines(f"{self.about} {self.counted}")
        yield from text_list("FIRST", self.cautions, "! ")
        if self.warnings:
            yield from text_list("MIND WITH THIS SETUP", self.warnings, "! ")
        yield from text_list(self.before_you_begin.upper(), self.needed, "[ ] ")
        yield from ("", "STEPS")
        for number, step in enumerate(self.steps, 1):
            yield from text_lines(str(step), f"[ ] {number:2}. ")
            for gear in step.gears:
                yield from text_lines(gear, " " * 8 + "[ ] ")
        yield from text_list("SETTINGS", [f"{name}: {value}" for name, value in self.settings], "  ")
        yield from text_list("AFTER", [self.after.description], "  ")
        if self.before is not None:
            yield from text_list("BEFORE", [self.before.description], "  ")
        yield from ("", *text_lines(WHERE_FROM))


def _section(part: str, words: str, body: str, folded: bool) -> str:
    """A part of the card under its heading (none where `part` is empty), or folded away under its name."""
    if folded:
        return _unfolding(f"<strong>{markup.in_html(words)}</strong>", body)
    return f"<{part}>{markup.in_html(words)}</{part}>{body}" if part else body


def _unfolding(summary: str, body: str) -> str:
    return f"<details><summary>{summary}</summary>{body}</details>"


def change_card(lathe: Lathe, to: Setup, mounted: Mounted | None = None) -> ChangeCard:
    """Make the sheet to take to the machine: cautions, spanners, steps in order, settings, pictures, what to measure.

    >>> from gearcalc.lathes import demo_lathe
    >>> from gearcalc.finding.setups import setup
    >>> lathe = demo_lathe("inch")
    >>> now, then = setup(lathe, 40, 80, "middle", 25), setup(lathe, 40, 60, "middle", 25, wanted="12 tpi")
    >>> card = change_card(lathe, to=then, mounted=now)
    >>> [step.key for step in card.steps][:5]
    ['isolate', 'cover', 'slacken', 'strip', 'build']
    >>> card.steps[3].gears
    ('80, driven, off the gearbox input',)
    >>> card.needed[1]
    'From the box: gear 60. Count the teeth, or read the stamp.'

    `lathe`: a Lathe. `to`: from setup() or find_setups(); a setup that goes on with idlers is shown with them.
    `mounted`: what is on the lathe now, a Setup, or a Train or its text where the lever doesn't matter; None: not
    known, and the card then says to take off what doesn't belong.
    Where the lathe file has no bracket, planes and distances are left to the hand at the machine.
    Raises ValueOutOfRangeError for what is no lathe, setup or train, GearNotOwnedError for gears that this lathe lacks,
    NotPossibleError for a setup of another lathe.
    """
    lathe = as_lathe(lathe)
    standing = as_mounted(lathe, mounted)
    wanted = _as_it_goes_on(lathe, to, standing[0] if standing else None)
    fit = wanted.fit if wanted.fit is not None and wanted.fit.goes_on else None
    after = _arranged(lathe, wanted.train, fit)
    before = _arranged(lathe, *standing) if standing else None
    if before is not None:
        before, after = in_fixed_planes(before, after, lathe.gear_set.fixed)
    change = Change(
        lathe,
        wanted,
        before,
        after,
        moves_between(before, after, lathe.gear_set.fixed),
        scratch_check(wanted),
        fit,
        standing[1] if standing else None,
        evolve(mounted, train=standing[0]) if standing and isinstance(mounted, Setup) else None,
        idlers_assumed(lathe, mounted),
    )
    drawn = drawings(change)
    return ChangeCard(
        lathe,
        wanted,
        _needed(change),
        steps_of(change),
        tuple(_settings(change)),
        (*_warnings(wanted), *_fixed_apart(change)),
        drawn[-1],
        drawn[0] if before else None,
        change,
    )


def as_mounted(lathe: Lathe, given: object) -> tuple[Train, Fit | None] | None:
    """What is mounted, as it goes on, and how it goes on, where that is known; None for None.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(as_mounted(demo_lathe("inch"), "40/80")[0])
    40/80, idler 25

    `given`: a Setup, a Train or its text. Raises ValueOutOfRangeError, GearNotOwnedError for anything else.
    """
    train, fit = train_and_fit(lathe, given)
    if train is None:
        return None
    with_the_damaged(lathe).check_owned(train)
    return train, fit if fit is not None and fit.goes_on else None


def _as_it_goes_on(lathe: Lathe, to: object, mounted: Train | None) -> Setup:
    """The setup with the idlers that it needs; where they are still to be chosen, so that few gears are moved."""
    made = own_setup(lathe, to)
    lathe.check_owned(made.train)
    if mounted is not None and made.as_built.train != made.train:
        return refitted(lathe, made, mounted)
    return made.as_built


def _arranged(lathe: Lathe, train: Train, fit: Fit | None) -> Arranged:
    if fit is None:
        planes = arrange(train, sizes=other_sizes(lathe), module_mm=lathe.module_mm or 1.0)[1]
        return Arranged(train, planes, lathe.last_shaft)
    return Arranged(train, (*fit.planes, *(plane for *_, plane in fit.idle_gears)), lathe.last_shaft)


def _needed(change: Change) -> tuple[str, ...]:
    """What to lay out before the cover is opened, so that nobody goes looking for a spanner with the gears open."""
    if not change.opens_the_cover:
        return ("Rule or calliper to measure with.",)
    after, studs = change.after, change.after.shafts - 2
    touched = {after.shaft_name(place.shaft) for place in change.moves.on}
    if change.before is not None:
        touched |= {change.before.shaft_name(place.shaft) for place in change.moves.off}
    fits = [] if not studs else ["the nut of the stud" if studs == 1 else f"the nuts of the {studs} studs"]
    fits += ["the clamp of the bracket", "the cover, if it has screws"]
    fits += [f"the gear on the {end}" for end in ("spindle side", after.last_shaft) if end in touched]
    from_box = gears_to_fetch(place.teeth for place in change.moves.from_box)
    gears = f"{'gear' if len(from_box) == 1 else 'gears'} {', '.join(from_box)}"
    return (
        f"Spanners or keys (write the sizes in) for {' ____, '.join(fits)} ____.",
        f"From the box: {gears}. Count the teeth, or read the stamp."
        if from_box
        else "No gear from the box: all that is needed is on the lathe.",
        "A tray, to keep washers, spacers, bushes and keys in their order; a brush and a clean rag.",
        "A strip of thin paper for the meshes; a rule or calliper to measure with; this card, and a pencil.",
    )


def _settings(change: Change) -> Iterator[tuple[str, str]]:
    setup, after, fit, units = change.setup, change.after, change.fit, change.lathe.units
    yield "train", str(setup.train)
    yield from change.levers
    if setup.reverse_fitted:
        yield "reverse", f"{setup.reverse_stands}{', where it is' if change.reverse_stays else ''}"
    if isinstance(setup.wanted, Feed) and setup.feed_mm is not None:
        yield "feed", str(both_units.feed(setup.feed_mm, units))
        if setup.by_half_nuts:
            yield "half-nuts", _half_nuts_of_a_feed(setup)
    else:
        yield "lead", str(setup.written_lead)
        yield "hand of the thread", setup.hand
        rule = dial(change.lathe, setup)
        yield "half-nuts", f"{rule.verdict} {how_to_pass(rule)}".strip()
    if setup.error is not None:
        yield "error", str(writing.error(setup.error))
        if isinstance(setup.wanted, Thread) and not setup.error.is_exact:
            verdict = judge(setup.wanted, setup.error, units=units)
            over = deviation_in_words(setup.error, SHORT_MM[units], units)
            yield "does it matter", verdict.why if verdict.ok is not None else over
    turns, slowest = turns_until_round(setup.train, setup.first_driver_turns)
    yield f"slowest gear, the {slowest}", f"once round in {turns_in_words(turns)} of the spindle"
    if fit is not None and fit.swing_deg is not None:
        yield "bracket", swing_in_words(fit.swing_deg)
        for shaft, (x, y) in enumerate(fit.axes_mm[1:-1], 1):
            yield (
                after.shaft_name(shaft),
                f"{writing.decimal(x, 1)} mm across, {writing.decimal(y, 1)} mm up from the {after.last_shaft}",
            )
        one, other, room = fit.clearances_mm[0]
        yield "tightest", f"{writing.distance(room)} between {one} and {other}"


def _fixed_apart(change: Change) -> Iterator[str]:
    """Where both end gears are fixed: in which plane the last must stand, unless it is known to."""
    fixed, after, before = change.lathe.gear_set.fixed, change.after, change.before
    if fixed.first_driver is None or fixed.last_driven is None:
        return
    plane, was = (None if one is None else one.planes[one.train.meshes - 1] for one in (after, before))
    if plane is None or plane == was:
        return
    now = "" if was is None or before is None else f", and what is mounted has it in {before.plane_name(was, fixed)}"
    yield (
        f"The fixed {fixed.last_driven} on the {after.last_shaft} must stand in {after.plane_name(plane, fixed)}{now}. "
        "A fixed gear can't move along its shaft: see how they stand, before anything comes off."
    )


def _half_nuts_of_a_feed(setup: Setup) -> str:
    said = "Close them anywhere: a feed leaves no groove to come back to."
    return f"At standstill, isolated. {said}" if setup.pulled_by_hand else said


def _warnings(setup: Setup) -> Iterator[str]:
    if setup.fit is not None and not setup.fit.goes_on:
        yield f"By the lathe file this does not go on: {' '.join(setup.fit.reasons)}"
    elif setup.fit is None:
        what, _ = lacking(setup.lathe)
        yield f"The fit is not checked: the lathe file has {what}." if what else "The fit is not checked."
    if setup.lathe.damaged:
        yield f"Damaged, and never to be used: {damaged_in_words(setup.lathe.gear_set)}."
    if setup.wanted is None:
        yield "No thread was named: check that this lead is the one that the job wants."
    elif setup.shortfall:
        yield f"{setup.shortfall} Is it the setup that you mean?"
    if isinstance(setup.wanted, Thread):
        yield from _steep(setup.wanted)
    yield from setup.warnings


def _steep(thread: Thread) -> Iterator[str]:
    """How the tool is ground, where its usual clearance does not do."""
    with suppress(NotPossibleError):  # nothing is known of its diameter or form
        helix = helix_angle(thread)
        if helix.is_steep:
            lean, lead, other = (
                f"{writing.decimal(angle, 1)}°" for angle in (helix.angle_deg, helix.leading_deg, helix.trailing_deg)
            )
            yield (
                f"The groove leans by {lean}: side clearance of the tool {lead} on its {helix.leading_side} "
                f"side, which leads, and {other} on the other (seen from behind it)."
            )
