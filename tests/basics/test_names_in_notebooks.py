"""A name is shown in a notebook as it was written: no markup, and no mathematics, which a page looks for in texts."""

from __future__ import annotations

from html.parser import HTMLParser

import gearcalc as gc
from gearcalc.papers.tables import captioned, feed_chart
from tests.how_much import in_one

NAME = r"A $x^2$ \(y\) $$z$$ \begin{b} <i> & B"
LEVERS = [r"$l$ $1$", r"\[m\]"]
LATHE = gc.Lathe.from_toml(
    f"""
    name = '{NAME}'
    note = '{NAME}'
    leadscrew.lead = "8 tpi"
    gears = {{ teeth = [20, 40, 45, 50, 60, 80], module_mm = 1 }}
    dial.gears = [{{ teeth = 16, lines = 8 }}]
    feeds = {{ longitudinal = "1/8" }}
    gearbox = [{{ lever = '{LEVERS[0]}', ratio = 1 }}, {{ lever = '{LEVERS[1]}', ratio = "1/2" }}]
    plate = {{ "16 tpi" = {{ drivers = [40], driven = [80], lever = '{LEVERS[0]}' }} }}
    """
)
SETUP = gc.setup(LATHE, 40, 80, LEVERS[0], wanted="16 tpi")
SHOWN = {
    "Lathe": LATHE,
    "Setup": SETUP,
    "SetupList": gc.find_setups(LATHE, "16 tpi", count=3),
    "an empty SetupList": gc.find_setups(LATHE, "16 tpi", within_ppm=0, avoid=(40, 20)),
    "chart": gc.chart(LATHE, ["8 tpi", "16 tpi"]),
    "a column of a chart": gc.chart(LATHE, ["8 tpi", "16 tpi"])[["thread", "lever"]].head(1),
    "chart with a caption": captioned(gc.chart(LATHE, ["16 tpi"]), NAME, note=NAME),
    "feed chart": feed_chart(LATHE, "0.1 mm/rev"),
    "pitch errors": gc.pitch_error_table([SETUP], "16 tpi"),
    "card": gc.change_card(LATHE, SETUP, gc.setup(LATHE, 20, 80, LEVERS[1])),
    "plan": gc.plan_changeover(LATHE, ["8 tpi", "16 tpi"]),
    "add": gc.gears_to_add(LATHE, ["16 tpi", "8 tpi"]),
    "wrong lead": gc.explain_wrong_lead(SETUP, "0.79375", "0.001"),
    "dial": gc.dial(LATHE, SETUP),
    "wall plate": gc.wall_plate(LATHE, ["16 tpi"]),
    "train picture": gc.train_picture(SETUP.train, caption=NAME, first_shaft=NAME),
    "coverage": gc.coverage(LATHE, 1, 2, meshes=1),
}


class _Texts(HTMLParser):
    """The texts of a page, one for each stretch without a tag in it: mathematics is looked for in these."""

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.texts = [""]
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.texts.append("")

    def handle_endtag(self, tag):
        self.texts.append("")

    def handle_data(self, data):
        self.texts[-1] += data


@in_one("name", SHOWN)
class TestNamesAreNoMathematics:
    def test_no_text_holds_two_of_its_marks(self, name):
        texts = _Texts(SHOWN[name]._repr_html_()).texts
        for text in texts:
            assert text.count("$") < 2
            assert "\\" not in text.strip().removesuffix("\\")

    def test_it_reads_as_it_was_written(self, name):
        whole = "".join(_Texts(SHOWN[name]._repr_html_()).texts)
        if name not in ("pitch errors", "coverage", "wall plate", "dial"):  # name neither lathe nor lever
            assert any(written in whole for written in (NAME, *LEVERS))
        assert "<i>" not in SHOWN[name]._repr_html_()


def test_a_chart_is_still_a_dataframe():
    import pandas as pd

    table = SHOWN["chart"]
    assert isinstance(table, pd.DataFrame)
    assert table["lever"].tolist()[0] in LEVERS
