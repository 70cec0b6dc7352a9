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
from gearcalc.learning.answer_files import LARGEST_FILE
from gearcalc.learning.live import put_anew, put_out
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
    reader calls it where label and title are not enough. `values`: what stands in them. `buttons`: name, label and
    whether it is pressed down; with the ending of a file behind that, it has such a file chosen. `help`: HTML with
    formulas, below the buttons.
    `typed` is called with a field's name and what it says by then, `pressed` with a button's name, `brought` with what
    the file says that was chosen. `type`, `press` and `bring` do from code what a hand does; `hand_out` saves a file
    from the browser to the computer. `still` is how it stands where it does not live, as of then: HTML, escaped.
    """

    _esm = _MODULE
    _css = style.as_css(".gearcalc-explorer, .gearcalc-restarted") + (_EXPLORERS / "shell.css").read_text(
        encoding="utf-8"
    )

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
        brought: Callable[[str], None] | None = None,
        **shown: Any,
    ) -> None:
        super().__init__(**shown)
        self._typed, self._pressed, self._brought = typed, pressed, brought
        self._look: Callable[[], None] | None = None
        self.still: Callable[[], str] = str
        self._stands_as: str | None = None
        self.on_msg(lambda _, said, __: self._hear(said))

    def _ipython_display_(self) -> None:
        self._stands_as = self.still()
        put_out(self, self._stands_as)

    def _stand_anew(self) -> None:
        """A page that is opened again without its kernel shows what was said last, not what it began with."""
        if self._stands_as is not None and (page := self.still()) != self._stands_as:
            self._stands_as = page
            put_anew(self, page)

    def type(self, name: str, text: str) -> None:
        """Fill in a field, as a hand would."""
        text = text[:_LONGEST]
        self.values = {**self.values, name: text}
        if self._typed is not None:
            self._typed(name, text)
        self._stand_anew()

    def press(self, name: str) -> None:
        """Press a button, as a hand would."""
        if self._pressed is not None:
            self._pressed(name)
        self._stand_anew()

    def bring(self, text: str) -> None:
        """Choose a file with this in it, as a hand would."""
        if self._brought is not None:
            self._brought(text)

    def hand_out(self, name: str, text: str) -> None:
        """Save a file from the browser to the computer, under that name or one near to it."""
        self.send({"save": name, "text": text})

    def follows(self, book: AnswerBook, look: Callable[[], None]) -> None:
        """Show what the book says, now and whenever something is written in it."""
        self._look = look
        book.added(self)
        look()

    def follow(self) -> None:
        """Look again: something was written in the answer book."""
        if self._look is not None:
            self._look()
        self._stand_anew()

    def _hear(self, said: Mapping[str, Any]) -> None:
        """What the page sends; anything else is nothing of ours."""
        known = {field["name"] for field in self.fields}, {name for name, *_ in self.buttons}
        file = said.get("file")
        if said.get("typed") in known[0] and isinstance(said.get("text"), str):
            self.type(said["typed"], said["text"])
        elif said.get("pressed") in known[1]:
            self.press(said["pressed"])
        elif isinstance(file, str) and len(file) <= LARGEST_FILE:
            self.bring(file)
