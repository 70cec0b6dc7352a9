"""What lives on a page, and its still twin: one cell puts out both.

What lives needs its kernel. A notebook opened again without one, an export and a print have none: they show the still.
While the other lives the page folds the still away, so that it is neither seen nor read out twice.
"""

from __future__ import annotations

import os
import sys
from typing import Any

from gearcalc.basics.errors import NotPossibleError

IN_THE_BROWSER = sys.platform == "emscripten"
"""Whether Python runs in the browser alone: no folder on a disk, no other programs, no shell."""
_OPEN_IT = "" if IN_THE_BROWSER else "open the page in JupyterLab and "
TO_WAKE_IT = f"This stands still. To wake it, {_OPEN_IT}run the cells from the top (Run → Run All Cells)."
"""Said above each still twin."""
_CALL = f"<p><em>{TO_WAKE_IT}</em></p>"

_LIVES = ".jp-OutputArea-child:has(> .jp-OutputArea-output > .lm-Widget)"
_STILL = ".jp-OutputArea-child:has(> .jp-OutputArea-output > .gearcalc-still)"
# What doesn't live says 'model not found'. A page that isn't trusted has neither style nor widget, but a blank line.
# And JupyterLab tells a link from the words around it by its colour alone.
_ONE_OF_THEM = f"""<style>
{_LIVES} + {_STILL}, .jp-OutputArea-child:not({_LIVES}):has(+ .jp-OutputArea-child > * > .gearcalc-still) {{
  display: none;
}}
.jp-RenderedHTMLCommon :is(p, li, td) a:any-link {{ text-decoration: underline; }}
@media print {{
  .gearcalc-still details::details-content {{ content-visibility: visible; block-size: auto; }}
  .jp-InputArea-editor pre {{ white-space: pre-wrap !important; overflow-wrap: anywhere; }}
}}
</style>"""


def is_served_alone() -> bool:
    """Whether the page is served by voila: without cells, and to many who share one folder.

    >>> is_served_alone()
    False
    """
    return any(name.startswith("VOILA_") for name in os.environ) or "voila" in os.environ.get("SERVER_SOFTWARE", "")


def check_on_a_computer(what: str) -> None:
    """See that programs can be run here beside this one. Raises NotPossibleError in a browser.

    >>> check_on_a_computer("a lesson is run")
    """
    if IN_THE_BROWSER:
        raise NotPossibleError(
            f"{what} by programs of their own, and in a browser there are none",
            remedy="Ask for it on a computer, where gearcalc is installed as its README says.",
        )


def put_out(widget: Any, still_html: str) -> None:
    """Put out a widget, and after it its still twin: what a widget's `_ipython_display_` does.

    >>> put_out.__name__
    'put_out'

    `still_html`: the same to look at as it is now, escaped already; how to wake it is said above it.
    """
    from IPython.display import display

    view = {"version_major": 2, "version_minor": 0, "model_id": widget.model_id}
    display({"application/vnd.jupyter.widget-view+json": view, "text/plain": ""}, raw=True)
    display(_still(still_html), raw=True, display_id=widget.model_id)


def put_anew(widget: Any, still_html: str) -> None:
    """Put another still twin where put_out() put one: the page is saved with it, and opens again so.

    >>> put_anew.__name__
    'put_anew'
    """
    from IPython.display import update_display

    update_display(_still(still_html), raw=True, display_id=widget.model_id)


def _still(page: str) -> dict[str, str]:
    return {"text/html": f'{_ONE_OF_THEM}<div class="gearcalc-still">{_CALL}{page}</div>', "text/plain": ""}


def still_alone(page: str) -> str:
    """Take from a still twin what only a page with a kernel needs: how to wake it, and how the two share the cell.

    >>> still_alone(f"{_ONE_OF_THEM}<div>{_CALL}<p>A dot.</p></div>")
    '<div><p>A dot.</p></div>'
    """
    return page.replace(_ONE_OF_THEM, "").replace(_CALL, "")
