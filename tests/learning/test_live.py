"""One cell puts out what lives and its still twin."""

from __future__ import annotations

import pytest

from gearcalc.learning.live import live_with_still

LIVE = "application/vnd.jupyter.widget-view+json"


class TestLiveWithStill:
    def test_a_cell_puts_out_both(self):
        widgets = pytest.importorskip("ipywidgets")
        formatters = pytest.importorskip("IPython.core.formatters")
        shown = live_with_still(widgets.HTML("live"), "<p>still</p>")
        data, _ = formatters.DisplayFormatter().format(shown)
        assert data["text/html"].startswith("<p>still</p>")
        assert "Run All Cells" in data["text/html"]
        assert data[LIVE]["model_id"] == shown.model_id
