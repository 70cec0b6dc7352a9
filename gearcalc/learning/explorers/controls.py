"""What every explorer is made of: controls, one pure function from their values to a view, and the shell around both.

All but the shell is plain data, so that an explorer is read, and its views are tested, where no widgets can be had.
Each view also stands still: shown as the last value of a cell it is the picture with its table, so the same call
is the static twin of the live explorer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from attrs import field, frozen

from gearcalc.basics import writing
from gearcalc.pictures.picture import Picture, Row, table_html

if TYPE_CHECKING:
    from gearcalc.learning.explorers.shell import Explorer


@frozen
class View:
    """A picture, the facts beside it, and a line of words where facts need one; shows itself as all three.

    `settled`: what a control comes to that asked for more than there is, as for the sixth of four answers.
    """

    picture: Picture
    facts: tuple[Row, ...]
    note: str = ""
    settled: Mapping[str, object] = field(factory=dict, repr=False)

    @property
    def svg(self) -> str:
        return self.picture.svg

    @property
    def facts_html(self) -> str:
        below = f"<p>{writing.plain(self.note).html}</p>" if self.note else ""
        return table_html(self.facts) + below

    def _repr_html_(self) -> str:
        return self.picture._repr_html_() + self.facts_html

    def __str__(self) -> str:
        return str(self.picture)


def explorer(title: str, controls: Sequence[Mapping[str, Any]], show: Callable[..., Any], **room: Any) -> Explorer:
    """The shell with these controls and what they show; `room` and the rest as for Explorer, where widgets begin."""
    from gearcalc.learning.explorers.shell import Explorer

    return Explorer(title, controls, show, **room)


def gear_slider(
    name: str, label: str, teeth: Sequence[int], value: int | str, *, or_else: Sequence[str] = ()
) -> dict[str, Any]:
    """A slider over tooth counts, with a number box beside it; `or_else`: words that stand before them, like 'none'.

    >>> gear_slider("driver", "Driver", (20, 40, 40), 40, or_else=["none"])["options"]
    ['none', 20, 40]
    """
    return {
        "kind": "slider",
        "name": name,
        "label": label,
        "options": [*or_else, *sorted(set(teeth))],
        "value": value,
        "unit": "teeth",
    }


def number_slider(
    name: str, label: str, low: float, high: float, value: float, unit: str = "", *, step: float = 1
) -> dict[str, Any]:
    """A slider over whole numbers, or in steps of a part of one, with a number box beside it.

    >>> number_slider("turns", "Spindle", 0, 24, 4, "turns")["max"]
    24
    """
    return {
        "kind": "slider",
        "name": name,
        "label": label,
        "min": low,
        "max": high,
        "value": value,
        "unit": unit,
        "step": step,
    }


def choice(
    name: str, label: str, options: Sequence[str], value: str, labels: Sequence[str] = (), *, wide: bool = False
) -> dict[str, Any]:
    """Buttons of which one is down; `labels` are what stands on them, when that differs; `wide` as for text_box.

    >>> choice("lever", "Lever", ("low", "high"), "low")["labels"]
    ['low', 'high']
    """
    return {
        "kind": "choice",
        "name": name,
        "label": label,
        "options": list(options),
        "value": value,
        "labels": list(labels or options),
        "wide": wide,
    }


def text_box(name: str, label: str, value: str, *, wide: bool = False) -> dict[str, Any]:
    """A line to type in; it counts when Enter is pressed or the box is left. `wide`: as wide as the explorer.

    >>> text_box("thread", "Thread", "16 tpi")["kind"]
    'text'
    """
    return {"kind": "text", "name": name, "label": label, "value": value, "wide": wide}


def folded_text(
    name: str, summary: str, value: str, *, use: str = "Use this", sets: tuple[str, str] | None = None
) -> dict[str, Any]:
    """Many lines to type or paste, folded away under `summary`; they count when the box is left or `use` pressed.

    >>> folded_text("file", "Lathe file", "", sets=("lathe", "file"))["sets"]
    ['file', 'lathe']

    `sets`: another control and the value that it gets when `use` is pressed.
    """
    return {
        "kind": "area",
        "name": name,
        "label": summary,
        "summary": summary,
        "value": value,
        "use": use,
        "sets": [sets[1], sets[0]] if sets else None,
    }


def row_chooser(name: str, label: str, value: int = 1, *, height_px: int = 300) -> dict[str, Any]:
    """A table of which one row is chosen, by arrow keys or a touch; its value is the row's number, from 1.

    >>> row_chooser("answer", "Setups")["value"]
    1

    The rows come from what `show` returns: `.tables[name]`, a mapping of 'head' and 'rows', and a 'note' below
    them where one is needed, all of them text.
    `height_px`: room that is kept, so that nothing jumps.
    """
    return {"kind": "table", "name": name, "label": label, "value": value, "height": height_px}


def only_with(name: str, value: object, *controls: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Controls that are there only while another one has this value.

    >>> only_with("part", "chart", text_box("threads", "Threads", "M6"))[0]["only"]
    ['part', 'chart']
    """
    return [{**control, "only": [name, value]} for control in controls]


def below(*controls: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Controls that stand under the picture, by what they change.

    >>> below(choice("part", "Show", ("one", "other"), "one"))[0]["below"]
    True
    """
    return [{**control, "below": True} for control in controls]
