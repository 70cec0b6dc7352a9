"""A lathe file chosen on the page: it is read, and put beside the lessons as my_lathe.toml.

Where nothing is kept, since many share the folder, it would be everyone's: there it stands for that page alone.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import ipywidgets

from gearcalc.basics import markup
from gearcalc.basics.errors import GearcalcError, LatheFileError
from gearcalc.basics.files import save_whole
from gearcalc.lathes import Lathe
from gearcalc.learning.answer_book import answer_book
from gearcalc.learning.live import put_out
from gearcalc.learning.own_lathe import FILE_NAME, my_lathe, stand_for_this_page

_AFRESH = "Start the page afresh (Run → Run All Cells): all on it is then about that lathe."
_ON_THIS_PAGE = "The bench below is about it now; what stands under the bench stays as it is."
_STILL = "<p>On the running page a lathe file can be chosen here.</p>"


class LatheUpload(ipywidgets.VBox):  # type: ignore[misc]
    """A button to choose a file, a line that says how it went, and a question before another file is replaced.

    `take` and `press_replace` do from code what a hand does.
    """

    def __init__(self) -> None:
        self.file = ipywidgets.FileUpload(
            accept=".toml,.txt", description="Choose your lathe file", layout=ipywidgets.Layout(width="auto")
        )
        self.said = ipywidgets.HTML()
        self.replace = ipywidgets.Button(description=f"Replace {FILE_NAME}", layout=ipywidgets.Layout(width="auto"))
        self.leave = ipywidgets.Button(description="Leave it as it is", layout=ipywidgets.Layout(width="auto"))
        self._asked = ipywidgets.HBox()
        self._waiting: str | None = None
        super().__init__([self.file, self.said, self._asked], layout=ipywidgets.Layout(align_items="flex-start"))
        self.file.observe(self._chosen, names="value")
        self.replace.on_click(lambda _: self.press_replace())
        self.leave.on_click(lambda _: self._say(my_lathe()[1]))
        self._say(my_lathe()[1])

    def _ipython_display_(self) -> None:
        put_out(self, _STILL)

    def take(self, name: str, content: bytes) -> None:
        """Read a file; put it beside the lessons, or ask first where another stands there.

        Where nothing is kept, it stands for this page alone.
        """
        try:
            text = _text_of(name, content)
            lathe = Lathe.from_toml(text, source=name)
            if not answer_book().keeps:
                stand_for_this_page(lathe)
                self._say(f"{my_lathe()[1]} {_ON_THIS_PAGE}")
            elif _stands_there() not in (None, text):
                self._say(f"{name} is in order: {lathe.name}. But another {FILE_NAME} stands there. Replace it?", text)
            else:
                self._put(text)
        except GearcalcError as problem:
            self._say(f"{markup.sentence(str(problem))} Nothing was changed.")

    def press_replace(self) -> None:
        """Put the file that was read in place of the other."""
        if self._waiting is not None:
            try:
                self._put(self._waiting)
            except GearcalcError as problem:
                self._say(markup.sentence(str(problem)))

    def _put(self, text: str) -> None:
        save_whole(FILE_NAME, text, "the lathe file")
        self._say(f"{my_lathe()[1]} {_AFRESH}")

    def _say(self, words: str, waiting: str | None = None) -> None:
        self._waiting = waiting
        self._asked.children = () if waiting is None else (self.replace, self.leave)
        self.said.value = f'<p role="status" style="max-width:46em;line-height:1.4">{markup.in_html(words)}</p>'

    def _chosen(self, change: Mapping[str, Any]) -> None:
        for one in change["new"]:
            self.take(str(one["name"]), bytes(one["content"]))


def _text_of(name: str, content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise LatheFileError("this is no plain text in UTF-8", where=name, remedy="Choose a lathe file.") from None


def _stands_there() -> str | None:
    """What my_lathe.toml says now; None where there is none."""
    try:
        return Path(FILE_NAME).read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return None
    except (OSError, ValueError):
        return ""  # something else of that name, which is not to be replaced unasked
