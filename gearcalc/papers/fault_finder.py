"""The fault-finder: from what one notices at the machine to the likely causes, and what to look at.

Shop practice throughout is common practice, no source; where a cause follows from the arithmetic of these pages it
says 'computed'.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from typing import NamedTuple

from attrs import field, frozen

from gearcalc.basics import markup
from gearcalc.basics.cautions import CAUTIONS, COMMON_PRACTICE, DRIVE_FREE, FOOT, WHERE_FROM
from gearcalc.basics.errors import UnknownNameError, quoted
from gearcalc.papers.paper import SMALL_PT, Paper
from gearcalc.papers.sheets import Sheet, html_first, text_lines, text_list

COMPUTED = "computed"
_FAULTS_PT = 8.8
_START_OF_A_TABLE_MM = 42.0


class Cause(NamedTuple):
    """A likely cause, what to look at, what to do then, and where that comes from."""

    cause: str
    look: str
    then: str
    source: str = COMMON_PRACTICE


class Symptom(NamedTuple):
    """What one notices: a short name, what it is like, and the causes, the likeliest first."""

    name: str
    like: str
    causes: tuple[Cause, ...]


SYMPTOMS = (
    Symptom(
        "will not start",
        "The gears are changed, the power is back, and nothing happens when start is pressed.",
        (
            Cause("the cover's interlock holds it back", "Is the cover home, its catch engaged, no rag or gear in the "
                  "way of it?", "Close it properly. Never bridge the switch."),
            Cause("still isolated, or an emergency stop is latched", "Plug, isolator, lock, red button.",
                  "Make sure that nobody is at the gears, then restore it."),
            Cause("a lever stands between two positions", "Speed lever, gearbox lever, reverse.",
                  "Isolate, drive free; turn the chuck by hand until it drops in."),
            Cause("the train is locked", "Isolated, drive free: does the chuck turn by hand?",
                  "Look under 'will not mesh' and 'noisy': a mesh too deep, or a gear against a shaft or the cover."),
            Cause("none of these", "Has the motor's overload tripped?", "A qualified person looks at it, and nobody "
                  "else opens the electrics."),
        ),
    ),
    Symptom(
        "noisy",
        "The train growls, ticks or howls.",
        (
            Cause("a mesh too deep", "Isolated: rock each gear. Is there play in every mesh, all the way round?",
                  "Set it again with a strip of paper between the teeth."),
            Cause("a mesh too open", "Isolated: how far can each gear be rocked?", "Set it again; look whether the "
                  "bracket has slipped."),
            Cause("a chip or a burr in a tooth", "A tick once in a turn of one gear. Isolated, drive "
                  "free: turn by hand and find which.",
                  "Brush it out; dress a burr; a damaged gear is scrapped."),
            Cause("a gear that runs out, or a worn bush", "Isolated, drive free, turned by hand: "
                  "does the play come and go once a turn?",
                  "Clean bore and bush, turn the gear on its key, or take another."),
            Cause("gears not in one plane", "From the side: do the two of each mesh stand face to face?",
                  "Put the spacers back in their order."),
            Cause("a high ratio in one mesh, or a fast leadscrew", "Does the card warn of it?",
                  "As it says: lowest speed, light cuts, or isolated, drive free, pulled round by hand; or another "
                  "setup."),
            Cause("dry studs", "When were they last oiled?", "Isolate; oil as the machine's manual says."),
        ),
    ),
    Symptom(
        "wrong lead",
        "The scratch pass does not measure what the card says.",
        (
            Cause("the lever or the gearbox stands elsewhere", "Off by a factor of a lever ratio, often 2?",
                  "Isolate, drive free; set the lever, turn the chuck by hand as the card says, scratch again.",
                  COMPUTED),
            Cause("a pair is upside down", "Coarse for fine, or the other way? Measured over wanted is then the square "
                  "of driven over driver.", "Isolate. Compare each place with the picture.", COMPUTED),
            Cause("a gear of nearly the same count", "Off by a few per cent? 40 for 38 is 5 %.",
                  "Isolate. Count the teeth, twice, with a mark on the first.", COMPUTED),
            Cause("two gears exchanged", "Two drivers exchanged change nothing; a driver and a driven gear do.",
                  "Isolate. Follow the chain from the spindle.", COMPUTED),
            Cause("the idler is counted in", "Was the chart read with the idler as a driver or a driven gear?",
                  "An idler changes the direction, never the lead.", COMPUTED),
            Cause("inch and metric mixed up", "Off by 1.6 %, as 20 tpi for 1.25 mm?", "Read the drawing again.",
                  COMPUTED),
            Cause("miscounted on the work", "Was the first groove counted as one? n grooves are n − 1 pitches.",
                  "Count from nought; measure over more turns.", COMPUTED),
            Cause("the half-nuts slipped, or the feed was in", "Did the carriage go steadily all the way?",
                  "Half-nuts fully closed, gibs adjusted, feed out."),
        ),
    ),
    Symptom(
        "does not move",
        "The spindle runs, and the carriage stands still.",
        (
            Cause("the half-nuts are open, or the feed is out", "Is the lever all the way home? Is something in its "
                  "way that keeps feed and half-nuts apart?", "Stop first; then close it, without force."),
            Cause("the carriage is clamped to the bed", "Is its clamp tight?", "Stop first; then slacken it."),
            Cause("a lever stands in neutral", "Gearbox lever, reverse, lever between feed and thread.",
                  "Isolate, drive free; turn the chuck a little by hand until it drops in."),
            Cause("a mesh was forgotten", "Isolated: do all gears touch, from the spindle side to the last? Has the "
                  "bracket dropped?", "Set that mesh again, nuts snug."),
            Cause("a shear pin or a key has gone", "Isolated, half-nuts closed, drive free, the chuck "
                  "turned by hand: which is the first shaft that stands still?", "A new one of the maker's kind: "
                  "it is there to break first. Look for what broke it."),
            Cause("a bush without its key", "Isolated: does a gear turn on its shaft, or one of a pair "
                  "without the other?",
                  "Key and bush back in; an idler alone runs free."),
        ),
    ),
    Symptom(
        "runs backwards",
        "The spindle runs forward, and the carriage goes the wrong way.",
        (
            Cause("the reverse stands in its other position", "What does the card say of the reverse?",
                  "Isolate, drive free; move it, and turn the chuck by hand until all has gone round once."),
            Cause("one idler too many or too few", "Count the places where teeth touch: even, and the last gear turns "
                  "as the first driver does.", "Isolate. Put in or take out one idler; the lead stays.", COMPUTED),
            Cause("a left-hand leadscrew, or a lever position that turns round", "Which way does its thread lean? Does "
                  "the other lever position go right?", "Say so in the lathe file; the cards then allow for it.",
                  COMPUTED),
            Cause("the spindle runs in reverse", "Which way does the chuck turn?", "Switch forward, from standstill. "
                  "A chuck that screws on can unscrew in reverse."),
        ),
    ),
    Symptom(
        "will not mesh",
        "Two gears won't come together, or the bracket won't close.",
        (
            Cause("gears of two sizes of tooth", "Module, or diametral pitch, of both: ten teeth side by side.",
                  "Only one size of tooth (and one pressure angle) runs together."),
            Cause("the gears are too small to reach, or too large", "What does the change-over card say of the fit?",
                  "Another order of the same gears, or an idler of another size.", COMPUTED),
            Cause("a gear meets a stud, a shaft, or the cover", "Which part is it? The card names the tightest place.",
                  "Another arrangement: large gears on the outside.", COMPUTED),
            Cause("not in one plane", "From the side: face to face?", "Spacers in their order."),
            Cause("tooth on tooth", "Do they touch tip on tip?", "Isolated, drive free: turn the chuck a little "
                  "by hand."),
            Cause("stud or bracket at the end of its slot", "Is there slot left?", "Use the other slot, or swing the "
                  "bracket and start again from the leadscrew."),
            Cause("a burr, a key proud, a bush not home", "Does the gear sit flat?",
                  "Isolate. Clean it; press the bush home on a block, never with a lever."),
        ),
    ),
    Symptom(
        "one flank torn",
        "One side of the thread is rough or shiny, the other clean.",
        (
            Cause("the side of the tool rubs, in a steep thread", "Does the groove lean more than the tool is ground "
                  "for? Its tangent is the lead over π times the pitch diameter.",
                  "Grind the side that leads by that angle and some 3° more, the other by so much less.", COMPUTED),
            Cause("the top slide is set too steep, or to the wrong side", "More than half the angle between the "
                  "flanks? Left-hand or in a bore: is it swung over?", "Isolate; set it again, then, drive free, pick "
                  "the groove up by hand."),
            Cause("a blunt tool, or too deep a cut", "Stop the spindle; look at the edge.", "Grind it; light cuts."),
        ),
    ),
    Symptom(
        "second groove",
        "The second pass does not fall into the groove of the first.",
        (
            Cause("the half-nuts closed on the wrong line of the dial", "Which lines serve this lead? The least common "
                  "multiple of lead and leadscrew says.", "Use only those lines, or keep the half-nuts closed.",
                  COMPUTED),
            Cause("a lead that the dial can't catch", "A metric thread from an inch screw, a stand-in, a worm?",
                  "Keep the half-nuts closed to the end: tool out, stop, then back in reverse. Where the chuck "
                  "screws on: isolated, drive free, turned back by hand.", COMPUTED),
            Cause("something was moved between passes", "Top slide turned? Work slipped in chuck or carrier? A gear "
                  "taken out?", "Pick the groove up again: isolated, drive free, spindle turned by hand, the "
                  "play taken up."),
            Cause("slack on the way back", "Does the tool start its pass well before the work?",
                  "Start at least a few pitches away, so that the slack is taken up."),
            Cause("the leadscrew shifts in its bearings", "Isolated, half-nuts closed: push and pull the "
                  "carriage. Does the screw move along itself?", "Its end play is "
                  "taken up at the collar, as the machine's manual says."),
            Cause("a stud or the bracket slipped", "Is there more play in a mesh than there was?",
                  "Isolate. Set and snug it again, then pick the groove up."),
            Cause("a key has sheared, or a gear slips on its bush", "Isolated, chuck held: does the leadscrew still "
                  "give?", "A new key or bush of the maker's kind: it is there to break first."),
        ),
    ),
)  # fmt: skip
"""What goes wrong after a change of gears, and why."""

_FIRST = f"Stop the spindle and isolate before you look; turn by hand only with the drive free: {DRIVE_FREE}."


@frozen
class FaultFinder(Sheet):
    """Symptoms with their causes, to be read on a screen or at the machine. Made by fault_finder().

    `symptoms`: each with `name`, `like`, `causes`; a cause has `cause`, `look`, `then`, `source`.
    Shows itself in a notebook, as text, and saves itself as HTML, PDF or text.
    """

    symptoms: tuple[Symptom, ...]
    cautions: tuple[str, ...] = field(default=(_FIRST, *CAUTIONS))

    @property
    def title(self) -> str:
        """What the page is."""
        return "Fault-finder" if len(self.symptoms) > 1 else f"Fault-finder: {self.symptoms[0].name}"

    @property
    def rows(self) -> tuple[dict[str, str], ...]:
        """A row a cause, for tables."""
        return tuple(
            {
                "symptom": symptom.name,
                "likely cause": cause.cause,
                "look": cause.look,
                "then": cause.then,
                "source": cause.source,
            }
            for symptom in self.symptoms
            for cause in symptom.causes
        )

    def on_paper(self, size: str | None = None) -> Paper:
        """Make the fault-finder ready for paper, sheet by sheet, a table a symptom.

        `size`: 'A4', 'A3' or 'Letter', None for A4. Raises ValueOutOfRangeError for another.
        """
        below = "After a change of gears: what to look at."
        paper = Paper(self.title, below=below, foot=FOOT, size=self.size if size is None else size, margin_mm=12)
        paper.cautions(self.cautions)
        for symptom in self.symptoms:
            paper.keep_together(_START_OF_A_TABLE_MM)
            paper.title(f"{symptom.name.capitalize()}: {symptom.like[0].lower()}{symptom.like[1:]}", size_pt=10)
            rows = [
                {
                    "likely cause": cause.cause + ("" if cause.source == COMMON_PRACTICE else f" ({cause.source})"),
                    "look": cause.look,
                    "then": cause.then,
                }
                for cause in symptom.causes
            ]
            paper.table(rows, size_pt=_FAULTS_PT)
        said = f"Where nothing stands beside a cause it is {COMMON_PRACTICE}. {WHERE_FROM}"
        paper.words(said, size_pt=SMALL_PT)
        return paper

    def _html_parts(self, head: str, part: str) -> Iterator[str]:
        yield f"<{head}>{markup.in_html(self.title)}</{head}>{html_first(self.cautions)}"
        for symptom in self.symptoms:
            yield f"<{part}>{markup.in_html(symptom.name.capitalize())}</{part}><p>{markup.in_html(symptom.like)}</p>"
            heads = "".join(
                f'<th scope="col" style="text-align:left">{name}</th>'
                for name in ("likely cause", "look", "then", "source")
            )
            yield f"<table><thead><tr>{heads}</tr></thead><tbody>"
            for cause in symptom.causes:
                cells = "".join(f'<td style="text-align:left">{markup.in_html(cell)}</td>' for cell in cause[1:])
                yield f'<tr><th scope="row" style="text-align:left">{markup.in_html(cause.cause)}</th>{cells}</tr>'
            yield "</tbody></table>"
        yield f"<p><small>{markup.in_html(WHERE_FROM)}</small></p>"

    def _text_parts(self) -> Iterator[str]:
        yield self.title.upper()
        yield from text_list("FIRST", self.cautions, "! ")
        for symptom in self.symptoms:
            yield from text_list(symptom.name.upper(), [symptom.like], "")
            for number, cause in enumerate(symptom.causes, 1):
                yield from text_lines(f"{cause.cause} ({cause.source})", f"{number:2}. ")
                yield from text_lines(f"Look: {cause.look}", "      ")
                yield from text_lines(f"Then: {cause.then}", "      ")
        yield from ("", *text_lines(WHERE_FROM))


def fault_finder(symptom: str | None = None) -> FaultFinder:
    """Say what goes wrong after a change of gears: symptoms, likely causes, what to look at.

    >>> found = fault_finder("will not start")
    >>> print(found.symptoms[0].causes[0].cause)
    the cover's interlock holds it back

    `symptom`: 'will not start', 'noisy', 'wrong lead', 'does not move', 'runs backwards', 'will not mesh' or 'second
    groove', or near to it ("won't mesh"); None: all of them. Raises UnknownNameError for anything else.
    """
    if symptom is None:
        return FaultFinder(SYMPTOMS)
    names = [known.name for known in SYMPTOMS]
    asked = " ".join(
        (symptom if isinstance(symptom, str) else "")[:60]
        .casefold()
        .replace("’", "'")
        .replace("won't", "will not")
        .split()
    )
    near = difflib.get_close_matches(asked, names, n=1, cutoff=0.6)
    if not isinstance(symptom, str) or not near:
        raise UnknownNameError(f"there is no symptom {quoted(symptom)}", remedy=f"Known are: {', '.join(names)}.")
    return FaultFinder(tuple(known for known in SYMPTOMS if known.name == near[0]))
