"""What every explorer is made of: controls, what is read from them, and the view that follows them.

An explorer is a list of controls and one pure function from their values to a view; the shell carries the values in
and the view out. All but the shell is plain data, so that views are had and tested where there are no widgets. Each
view also stands still: shown as the last value of a cell it is the picture with its table, so the same call is the
static twin of the live explorer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from functools import lru_cache
from math import ceil, floor
from typing import TYPE_CHECKING, Any

from attrs import field, frozen

from gearcalc.basics import both_units, markup, writing
from gearcalc.basics.arguments import as_number
from gearcalc.basics.errors import GearcalcError, GearNotOwnedError, NotPossibleError
from gearcalc.basics.exact import INCH_MM
from gearcalc.basics.writing import Units
from gearcalc.finding.search import find_setups
from gearcalc.finding.setups import Setup, setup
from gearcalc.lathes import Lathe, train_lines
from gearcalc.lathes.levers import before_its_ratio
from gearcalc.lathes.parts import LeverAt
from gearcalc.lathes.train_lines import in_short
from gearcalc.lathes.trains import Train
from gearcalc.learning.explorers.handed import in_words
from gearcalc.pictures.picture import Picture, Row, table_html
from gearcalc.threads.wanted import Wanted

if TYPE_CHECKING:
    from gearcalc.learning.explorers.shell import Explorer as Explorer
else:
    Explorer = Any  # widgets begin where one is made

Control = dict[str, Any]


def explorer(title: str, controls: Sequence[Control], show: Callable[..., Any], **room: Any) -> Explorer:
    """The shell with these controls and what they show; `room` and the rest as for Explorer, where widgets begin."""
    from gearcalc.learning.explorers.shell import Explorer

    return Explorer(title, controls, show, **room)


def gear_slider(name: str, label: str, teeth: Iterable[int], value: int | str, or_else: Iterable[str] = ()) -> Control:
    """A slider over tooth counts, with a number box beside it; `or_else`: words that stand before them, like 'none'.

    >>> gear_slider("driver", "Driver", (20, 40, 40), 40, or_else=["none"])["options"]
    ['none', 20, 40]
    """
    return _control("slider", name, label, value, options=[*or_else, *sorted(set(teeth))], unit="teeth")


def word_slider(name: str, label: str, options: Iterable[int | str], value: int | str, unit: str = "") -> Control:
    """A slider over numbers and words in their order, with a box beside it to type one.

    >>> word_slider("line", "Line", (1, "1–2", 2), 1)["options"]
    [1, '1–2', 2]
    """
    return _control("slider", name, label, value, options=list(options), unit=unit)


def number_slider(
    name: str, label: str, low: float, high: float, value: float, unit: str = "", *, step: float = 1
) -> Control:
    """A slider over whole numbers, or in steps of a part of one, with a number box beside it.

    >>> number_slider("turns", "Spindle", 0, 24, 4, "turns")["max"]
    24
    """
    return _control("slider", name, label, value, min=low, max=high, unit=unit, step=step)


def length_slider(
    units: Units, name: str, label: str, low_mm: float, high_mm: float, value_mm: float, step_mm: float = 1
) -> Control:
    """A slider over lengths in the owner's unit; what is asked in mm is had by showing through in_owners_unit().

    >>> slider = length_slider("inch", "length", "Length", 0.5, 100, 12.7, 0.05)
    >>> [slider[key] for key in ("min", "max", "value", "step")]
    [0.02, 3.936, 0.5, 0.002]
    """
    exact = as_number(value_mm, what=label.lower())
    value_mm = int(exact) if exact.denominator == 1 else float(exact)
    if units == "mm":
        return number_slider(name, label, low_mm, high_mm, value_mm, "mm", step=step_mm)
    step = float(f"{step_mm / 25.4:.1g}")
    least, most = ceil(low_mm / 25.4 / step), floor(high_mm / 25.4 / step)
    low, high, value = (round(steps * step, 4) for steps in (least, most, round(value_mm / 25.4 / step)))
    return number_slider(name, label, low, high, value, "in", step=step)


def in_owners_unit(
    units: Units, show: Callable[..., Any], **limits_mm: tuple[Fraction | int, Fraction | int]
) -> Callable[..., Any]:
    """A view that takes these lengths in mm, asked in the owner's unit: where that is the inch, in inches.

    >>> in_owners_unit("inch", lambda length: length, length=(1, 100))(length="0.5")
    Fraction(127, 10)

    `limits_mm`: of each length the least and the most that the view takes, so that both are said in inches too.
    """

    def told(**values: Any) -> Any:
        for name, (least, most) in limits_mm.items():
            if values.get(name) is not None:
                limits = {"least": least / INCH_MM, "most": most / INCH_MM}
                values[name] = as_number(values[name], what=f"the {name}", unit="in", **limits) * INCH_MM
        return show(**values)

    return show if units == "mm" else told


def choice(
    name: str, label: str, options: Iterable[str], value: str, labels: Iterable[str] = (), *, wide: bool = False
) -> Control:
    """Buttons of which one is down; `labels` are what stands on them, when that differs; `wide` as for text_box.

    >>> choice("lever", "Lever", ("low", "high"), "low")["labels"]
    ['low', 'high']
    """
    options = list(options)
    return _control("choice", name, label, value, options=options, labels=list(labels) or options, wide=wide)


def lever_buttons(lathe: Lathe, lever: str | None) -> list[Control]:
    """The lever as buttons, where the lathe has one, or each of several; down is `lever`, or the one in the middle.

    >>> from gearcalc.lathes import demo_lathe
    >>> lever_buttons(demo_lathe("inch"), None)[0]["labels"]
    ['low × 1/2', 'middle × 1', 'high × 2']

    The view is then to be shown through with_levers().
    """
    there = None if lever is None or lever == "" else lathe.lever(lever)
    if lathe.gearbox:
        names = list(lathe.levers)
        labels = [_on_a_button(one) for position in lathe.gearbox for one in position.stands]
        return [choice("lever", "Lever", names, there.name if there else names[len(names) // 2], labels)]
    controls = []
    for number, one in enumerate(lathe.box):
        options = [f"{one.name} {at.name}" for at in one.positions]
        down = one.stands.index(there.stands[number]) if there else len(options) // 2
        labels = [_on_a_button(stand) for stand in one.stands]
        controls.append(choice(f"lever_{number + 1}", f"Lever {one.name}", options, options[down], labels, wide=True))
    return controls


def lever_values(lathe: Lathe, lever: str) -> dict[str, str]:
    """What the buttons of lever_buttons() come to where a lever stands so.

    >>> from gearcalc.lathes import demo_lathe
    >>> lever_values(demo_lathe("inch"), "low"), lever_values(demo_lathe("odd"), "range slow, cone B")
    ({'lever': 'low'}, {'lever_1': 'range slow', 'lever_2': 'cone B'})
    """
    return {control["name"]: control["value"] for control in lever_buttons(lathe, lever)}


def _on_a_button(stand: LeverAt) -> str:
    """A position and its ratio; that a lever turns the motion round is said of the levers of a box that has several."""
    round_about = ", turned round" if stand.lever and not stand.same_way else ""
    return f"{before_its_ratio(stand.at)} × {writing.ratio(stand.ratio)}{round_about}"


def with_levers(lathe: Lathe, show: Callable[..., Any]) -> Callable[..., Any]:
    """The view of a lathe, told in one text where its levers stand, each of which has a control of its own."""
    names = [f"lever_{number}" for number in range(1, len(lathe.box) + 1)]

    def told(**values: Any) -> Any:
        each = [str(values.pop(name)) for name in names]
        return show(lathe, **values, **({"lever": ", ".join(each)} if each else {}))

    return told


def text_box(name: str, label: str, value: object, *, wide: bool = False, between: str = ", ") -> Control:
    """A line to type in; it counts when Enter is pressed or the box is left. `wide`: as wide as the explorer.

    >>> text_box("threads", "Threads", ("M6", "16 tpi"))["value"]
    'M6, 16 tpi'

    `between`: what stands between several values.
    """
    return _control("text", name, label, in_words(value, label, between), wide=wide)


def folded_text(
    name: str, summary: str, value: str, use: str = "Use this", sets: tuple[str, str] | None = None
) -> Control:
    """Many lines to type or paste, folded away under `summary`; they count when the box is left or `use` pressed.

    >>> folded_text("file", "Lathe file", "", sets=("lathe", "file"))["sets"]
    ['file', 'lathe']

    `sets`: another control and the value that it gets when `use` is pressed.
    """
    return _control("area", name, summary, value, use=use, sets=[sets[1], sets[0]] if sets else None)


def row_chooser(name: str, label: str, value: int = 1, *, height_px: int = 300) -> Control:
    """A table of which one row is chosen, by arrow keys or a touch; its value is the row's number, from 1.

    >>> row_chooser("answer", "Setups")["value"]
    1

    The rows come from what `show` returns: `.tables[name]`, a mapping of 'head' and 'rows', and a 'note' below
    them where one is needed, all of them text.
    `height_px`: room that is kept, so that nothing jumps.
    """
    return _control("table", name, label, value, height=height_px)


def only_with(name: str, value: object, *controls: Control) -> list[Control]:
    """Controls that are there only while another one has this value.

    >>> only_with("part", "chart", text_box("threads", "Threads", "M6"))[0]["only"]
    ['part', 'chart']
    """
    return [{**control, "only": [name, value]} for control in controls]


def below(*controls: Control) -> list[Control]:
    """Controls that stand under the picture, by what they change.

    >>> below(choice("part", "Show", ("one", "other"), "one"))[0]["below"]
    True
    """
    return [{**control, "below": True} for control in controls]


def _control(kind: str, name: str, label: str, value: object, **more: object) -> Control:
    return {"kind": kind, "name": name, "label": label, "value": value, **more}


@frozen
class View:
    """A picture, the facts beside it, and a line of words where facts need one; shows itself as all three.

    `settled`: what a control comes to that asked for more than there is, as for the sixth of four answers.
    `note_first`: the words stand right under the picture, and the numbers after them. `idle`: controls that move
    nothing now, by their names, and why.
    """

    picture: Picture
    facts: tuple[Row, ...]
    note: str = ""
    settled: Mapping[str, object] = field(factory=dict, repr=False)
    note_first: bool = field(default=False, repr=False)
    idle: Mapping[str, str] = field(factory=dict, repr=False)

    @property
    def said(self) -> str:
        """What is shown, in a line or two, for those who hear the page: the caption, and how the words beside it begin.

        >>> limit = View(Picture("<svg/>", "A walk.", [{"n": 1}], "The nearest: 22/7"), (), "It is. It stays so.")
        >>> limit.said
        'The nearest: 22/7. It is.'
        """
        return " ".join(markup.ended(words) for words in (self.picture.caption, self.note.split(". ")[0]) if words)

    @property
    def svg(self) -> str:
        return self.picture.svg

    @property
    def facts_html(self) -> str:
        words = f"<p>{markup.held_together(markup.in_html(self.note))}</p>" if self.note else ""
        table = table_html(self.facts)
        return words + table if self.note_first else table + words

    def _repr_html_(self) -> str:
        return self.picture._repr_html_() + self.facts_html

    def __str__(self) -> str:
        return str(self.picture)


@lru_cache(maxsize=128)
def best_setups(lathe: Lathe, wanted: Wanted, count: int, **more: Any) -> tuple[Setup, ...]:
    """The best setups as find_setups() lists them, the simplest that is good enough first, one or more.

    They are kept, since a hand on a slider asks again and again. `more`: as for find_setups().
    Raises NotPossibleError, with what to do next, when there is none.
    """
    found = find_setups(lathe, wanted, count=count, **{"first": "simplest", **more})
    if not found:
        raise NotPossibleError("there is no train for this", remedy=found.why)
    return tuple(found)


def to_begin_with(
    lathe: Lathe, usual: Train, lever: str | None = None, thread: str = "", meshes: Sequence[int] = ()
) -> tuple[Train, str | None]:
    """A train that can stand on the lathe, for an explorer that is given none, and its lever.

    >>> from gearcalc.lathes import demo_lathe
    >>> print(*to_begin_with(demo_lathe("odd"), Train((30, 63), (50, 80)), thread="1.5 mm"), sep=", lever ")
    (40 · 45)/(48 · 50), lever range fast, cone A

    `usual`: what most lathes begin with; where it can't stand, what comes nearest to `thread`, or to a pitch of 1 mm,
    with as many meshes (or `meshes`). Where no such train can, gears of the set, which the view then refuses.
    Raises GearNotOwnedError where the set has none.
    """
    try:
        setup(lathe, usual.drivers, usual.driven, lever or next(iter(lathe.levers), None))
    except GearcalcError:
        for wanted in (thread.strip() or "1 mm", "1 mm LH"):  # some lathes cut one hand only
            for found in find_setups(lathe, wanted, meshes or (usual.meshes,), count=1, must_fit=False):
                return found.train, lever or found.lever
        counts = lathe.gear_set.counts
        if not counts:
            raise GearNotOwnedError(
                f"{lathe.name} has no gear that can be used", remedy="List its gears under [gears]."
            ) from None
        return Train(counts[:1] * usual.meshes, counts[-1:] * usual.meshes), lever
    return usual, lever


def train_of(made: Setup) -> str:
    """The train for a table, its gears with the letters that letters_of() explains."""
    return in_short(made.lathe.gear_set, made.train)


def lead_both_ways(made: Setup) -> Row:
    """The lead and the threads per inch of a setup, for a table: what the lathe's owner reads first in front.

    >>> from gearcalc.lathes import demo_lathe
    >>> {name: str(said) for name, said in lead_both_ways(setup(demo_lathe("inch"), 40, 80, "low")).items()}
    {'threads per inch': '32', 'lead': '0.03125 in (0.79375 mm)'}
    """
    units = made.lathe.units
    lead, tpi = both_units.travel(made.lead_mm, units), writing.tpi(made.lead_mm, starts=made.starts)
    return {"lead": lead, "threads per inch": tpi} if units == "mm" else {"threads per inch": tpi, "lead": lead}


def letters_of(setups: Sequence[Setup]) -> str:
    """What the letters stand for in a table of trains; empty for plain gears."""
    return train_lines.in_words(setups[0].lathe.gear_set, [one.train for one in setups]) if setups else ""


def error_of(made: Setup) -> str:
    """How far off a setup is, for a table."""
    return "–" if made.error is None else str(writing.error(made.error))
