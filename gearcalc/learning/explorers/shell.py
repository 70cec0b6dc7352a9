"""The shell that every explorer shares: controls, a message line, a picture, the numbers under it.

The shell carries values in and pictures out, and turns every error into a line of words; the last good picture stays.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol

import anywidget
import traitlets

from gearcalc.basics import markup
from gearcalc.basics.arguments import as_whole
from gearcalc.basics.arguments import shown as shown_value
from gearcalc.basics.errors import GearcalcError, UnknownNameError, quoted
from gearcalc.learning.live import put_out
from gearcalc.pictures import style

_LONGEST_MARK = 40
_VIEW_BOX = re.compile(r'viewBox="0 0 ([0-9.]+) ([0-9.]+)"')
_HERE = Path(__file__).parent
_MODULE = "\n".join((_HERE / name).read_text(encoding="utf-8") for name in ("parts.js", "turning.js", "shell.js"))


class Shown(Protocol):
    """What an explorer's function returns: a picture and the facts beside it."""

    @property
    def svg(self) -> str: ...

    @property
    def facts_html(self) -> str: ...

    def _repr_html_(self) -> str: ...


class Explorer(anywidget.AnyWidget):  # type: ignore[misc]
    """Controls and the picture that follows them.

    `title`: what stands above. `controls`: from the functions of page.py. `show`: takes the control values by
    name and returns the picture and the facts; a GearcalcError it raises is shown on the message line. `settle`:
    takes the values before and after a move and returns what they come to, where one control moves others.
    `room`: what the page keeps free so that nothing jumps, `facts_px` for the facts, `seen_px` for those of them that
    a laptop shows under the picture, and `columns`, the most that the controls stand in; the picture keeps the shape
    of the first. With `turning` it turns on the page, by Play and by single steps: turning.js says what it must hold.
    `idle` says of controls that move nothing now why that is; `said` is what is shown in a sentence, for ears.
    `before` marks what is shown as of before, and says of what, while the message line refuses what the controls say.
    `failure` holds an error of the program itself, which is also said on the message line; tests look there.
    """

    _esm = _MODULE
    _css = style.as_css(".gearcalc-explorer, .gearcalc-restarted") + (_HERE / "shell.css").read_text(encoding="utf-8")

    title = traitlets.Unicode().tag(sync=True)
    controls = traitlets.List().tag(sync=True)
    values = traitlets.Dict().tag(sync=True)
    svg = traitlets.Unicode().tag(sync=True)
    facts = traitlets.Unicode().tag(sync=True)
    message = traitlets.Unicode().tag(sync=True)
    before = traitlets.Unicode().tag(sync=True)
    aspect = traitlets.Float(800 / 480).tag(sync=True)
    facts_px = traitlets.Int(120).tag(sync=True)
    seen_px = traitlets.Int(0).tag(sync=True)
    columns = traitlets.Int(0).tag(sync=True)
    turning = traitlets.Bool(False).tag(sync=True)
    moved = traitlets.Dict().tag(sync=True)
    seen = traitlets.Dict().tag(sync=True)
    tables = traitlets.Dict().tag(sync=True)
    idle = traitlets.Dict().tag(sync=True)
    said = traitlets.Unicode().tag(sync=True)

    def __init__(
        self,
        title: str,
        controls: Sequence[Mapping[str, Any]],
        show: Callable[..., Shown],
        *,
        settle: Callable[[Mapping[str, Any], Mapping[str, Any]], Mapping[str, Any]] | None = None,
        **room: Any,
    ) -> None:
        start = {control["name"]: control["value"] for control in controls}
        super().__init__(title=title, controls=[dict(control) for control in controls], values=start, **room)
        self._show, self._settle = show, settle
        self._settling = False
        self.shown: Shown | None = None
        self._good: Mapping[str, Any] = {}
        self._asked: Mapping[str, Any] = {}
        self.failure: Exception | None = None
        self._follow(start)
        sides = _VIEW_BOX.search(self.svg)
        if sides is not None:
            self.aspect = float(sides[1]) / float(sides[2])
        self.observe(self._on_values, names="values")

    def _ipython_display_(self) -> None:
        if self.shown is not None:
            put_out(self, self.shown._repr_html_())

    def set(self, **values: Any) -> None:
        """Move controls from code, as a hand would."""
        self.values = {**self.values, **values}

    def _on_values(self, change: Mapping[str, Any]) -> None:
        before, after = change["old"], change["new"]
        if self._settling:
            return
        if self._settle is None:
            self._follow(after)
            return
        # The page sends all values, of which some may be older than what was settled here meanwhile.
        with self.hold_sync():
            moves = self._new_moves()
            try:
                settled = dict(self._settle(before, {**before, **moves} if moves else after))
            except GearcalcError as problem:
                self._refuse(after, str(problem))
                return
            if settled != after:
                self._come_to(settled)
        self._follow(settled)

    def _new_moves(self) -> dict[str, Any]:
        """What hands on the page have moved since this was last asked, the latest move last."""
        page, moves = self.moved.get("page", ""), self.moved.get("moves", {})
        seen = self.seen.get(page, 0)
        new = sorted((number, name, value) for name, (number, value) in moves.items() if number > seen)
        if new:
            self.seen = {**self.seen, page: new[-1][0]}
        return {name: value for _, name, value in new}

    def _follow(self, values: Mapping[str, Any]) -> None:
        asked, self._asked = self._asked, values
        try:
            for control in self.controls:
                _check_choice(control, values[control["name"]])
            shown = self._show(**values)
            for control in self.controls:
                if values[control["name"]] != asked.get(control["name"]):
                    _check_typed(control, values[control["name"]], getattr(shown, "settled", {}))
        except Exception as problem:
            said = str(problem)
            if not isinstance(problem, GearcalcError):  # a callback's traceback would vanish: say it where it is seen
                self.failure = problem
                said = f"The program failed here ({type(problem).__name__}: {said}). Please report this."
            self._refuse(values, said)
            return
        with self.hold_sync():
            self.shown, self.svg, self.facts = shown, str(shown.svg), shown.facts_html
            self.message, self.before, self._good = "", "", self._settled(values, shown)
            self.tables, self.idle = getattr(shown, "tables", {}), dict(getattr(shown, "idle", {}))
            self.said = getattr(shown, "said", "")

    def _settled(self, values: Mapping[str, Any], shown: Shown) -> dict[str, Any]:
        """The controls come to what is shown, where they asked for more than there is."""
        come_to = {**values, **getattr(shown, "settled", {})}
        if any(str(come_to[name]) != str(values[name]).strip() for name in come_to):
            self._come_to(come_to)
        return come_to

    def _come_to(self, values: Mapping[str, Any]) -> None:
        """Put the controls there, without following them once more."""
        self._settling = True
        self.values = values
        self._settling = False

    def _refuse(self, values: Mapping[str, Any], said: str) -> None:
        """Say why, and mark what is still shown."""
        with self.hold_sync():
            self.message = markup.sentence(said)
            if self.shown is not None:
                moved = [one for one in self.controls if _differ(values.get(one["name"]), self._good[one["name"]])]
                of = ", ".join(filter(None, (_in_words(one, self._good[one["name"]]) for one in moved)))
                self.before = f"As before: {of}" if of else "As before"


def _check_choice(control: Mapping[str, Any], value: object) -> None:
    if control["kind"] == "choice" and not (isinstance(value, str) and value in control["options"]):
        offered = ", ".join(map(quoted, control["labels"]))
        raise UnknownNameError(f"{control['label']} is one of {offered}", value=shown_value(value))


def _check_typed(control: Mapping[str, Any], value: object, settled: Mapping[str, Any]) -> None:
    """What a hand drags too far comes to the last that there is; a number that was typed is refused instead.

    The box that it was typed into would go on saying it, beside the picture of the last.
    """
    last = settled.get(control["name"])
    if isinstance(last, int) and isinstance(value, str) and value.strip() != str(last):
        as_whole(int(value), what=f"the {control['label'].lower()}", most=last)


def _differ(one: object, other: object) -> bool:
    return type(one) is not type(other) or one != other


def _in_words(control: Mapping[str, Any], value: object) -> str:
    """A control and what it said, as it stands on the page; its name alone where that is more than a few words."""
    label = str(control["label"])
    if control["kind"] == "choice":
        return f"{label} {control['labels'][control['options'].index(value)]}"
    text = " ".join(str(value).split())
    return label if len(text) > _LONGEST_MARK else f"{label} {text or 'empty'}"
