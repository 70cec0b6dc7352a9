"""What lives in a page, and its still twin: one cell puts out both.

A page with a kernel shows what lives; an export, a print, a lesson reopened without its kernel show the still.
"""

from __future__ import annotations

from typing import Any, TypeVar

W = TypeVar("W")
TO_WAKE_IT = "This stands still. To use it here, open the page in JupyterLab and choose Run, then Run All Cells."
"""Said below each still twin."""


def live_with_still(widget: W, still_html: str) -> W:
    """Have a widget carry its still twin, so that the cell which shows it puts out both; hand the widget back.

    >>> class Dot:
    ...     def _repr_mimebundle_(self, **how):
    ...         return {"text/plain": "a dot"}
    >>> live_with_still(Dot(), "<p>A dot.</p>")._repr_mimebundle_()[0]["text/html"]
    '<p>A dot.</p><p><em>This stands still. To use it here, open the page in JupyterLab and ...

    `widget`: whatever shows itself by a bundle of kinds, as every widget does. `still_html`: escaped already; the line
    on how to wake it is added.
    """
    still = f"{still_html}<p><em>{TO_WAKE_IT}</em></p>"
    alone: Any = widget._repr_mimebundle_  # type: ignore[attr-defined]

    def with_still(**how: Any) -> tuple[dict[str, Any], dict[str, Any]]:
        bundle = alone(**how) or {}
        data, about = bundle if isinstance(bundle, tuple) else (bundle, {})
        return {**data, "text/html": still}, about

    widget._repr_mimebundle_ = with_still  # type: ignore[attr-defined]
    return widget
