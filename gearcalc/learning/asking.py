"""What asks on a page: words, boxes or choices, buttons, a line that says how it went; the look is that of explorers.

A thin shell: it carries what was typed in and words out. What is asked, kept and said is settled by whoever makes one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import anywidget
import ipywidgets
import traitlets

from gearcalc.learning.answer_book import AnswerBook
from gearcalc.pictures import style

_EXPLORERS = Path(__file__).parent / "explorers"
_MODULE = "\n".join(
    path.read_text(encoding="utf-8") for path in (_EXPLORERS / "parts.js", Path(__file__).with_name("asking.js"))
)
_LONGEST = 2000


class Asking(anywidget.AnyWidget):  # type: ignore[misc]
    """Something that asks.

    `title`, with `whose` small beside it; `question`, `said`, `foot`: HTML, escaped by whoever made it. `fields`: what
    can be filled in, each a name, a label, options where there are some to choose from, and `said`, what a screen
    reader calls it where label and title are not enough. `values`: what stands in
    them. `buttons`: name, label and whether it is pressed down. `help`: HTML with formulas, below the buttons.
    `typed` is called with a field's name and what it says by then, `pressed` with a button's name. `type` and `press`
    do from code what a hand does.
    """

    _esm = _MODULE
    _css = style.as_css(".gearcalc-explorer") + (_EXPLORERS / "shell.css").read_text(encoding="utf-8")

    title = traitlets.Unicode().tag(sync=True)
    whose = traitlets.Unicode().tag(sync=True)
    question = traitlets.Unicode().tag(sync=True)
    fields = traitlets.List().tag(sync=True)
    values = traitlets.Dict().tag(sync=True)
    buttons = traitlets.List().tag(sync=True)
    said = traitlets.Unicode().tag(sync=True)
    foot = traitlets.Unicode().tag(sync=True)
    formulas = traitlets.Instance(ipywidgets.HTMLMath, allow_none=True).tag(
        sync=True, **ipywidgets.widget_serialization
    )

    def __init__(
        self,
        *,
        typed: Callable[[str, str], None] | None = None,
        pressed: Callable[[str], None] | None = None,
        **shown: Any,
    ) -> None:
        super().__init__(**shown)
        self._typed, self._pressed = typed, pressed
        self._look: Callable[[], None] | None = None
        self.on_msg(lambda _, said, __: self._hear(said))

    def type(self, name: str, text: str) -> None:
        """Fill in a field, as a hand would."""
        text = text[:_LONGEST]
        self.values = {**self.values, name: text}
        if self._typed is not None:
            self._typed(name, text)

    def press(self, name: str) -> None:
        """Press a button, as a hand would."""
        if self._pressed is not None:
            self._pressed(name)

    def follows(self, book: AnswerBook, look: Callable[[], None]) -> None:
        """Show what the book says, now and whenever something is written in it."""
        self._look = look
        book.added(self)
        look()

    def follow(self) -> None:
        """Look again: something was written in the answer book."""
        if self._look is not None:
            self._look()

    def _hear(self, said: Mapping[str, Any]) -> None:
        """What the page sends; anything else is nothing of ours."""
        known = {field["name"] for field in self.fields}, {name for name, *_ in self.buttons}
        if said.get("typed") in known[0] and isinstance(said.get("text"), str):
            self.type(said["typed"], said["text"])
        elif said.get("pressed") in known[1]:
            self.press(said["pressed"])
