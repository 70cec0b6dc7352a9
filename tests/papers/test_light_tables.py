"""The light table beside pandas: the same expressions asked of both."""

from __future__ import annotations

import re

import pandas as pd
import pytest

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.papers import frames
from gearcalc.papers.csv_files import save_csv
from gearcalc.papers.light_tables import Column, LightTable
from gearcalc.papers.tables import captioned, feed_chart, pitch_error_table
from tests.how_much import in_one

INCH, METRIC = gc.demo_lathe("inch"), gc.demo_lathe("metric")
BARE = gc.Lathe.from_toml('name = "Bare"\nleadscrew.lead = "8 tpi"\ngears.teeth = [40, 80]')
CHARTS = {
    "chart": lambda: gc.chart(INCH, ["UNC", "M6", "8 tpi", "lead 15 in"]),
    "a lathe with few gears": lambda: gc.chart(BARE, ["M8", "16 tpi", "M10"]),
    "feeds": lambda: feed_chart(METRIC, ["0.1 mm/rev", "100 mm/rev", "1.9 mm/rev"], nose_radius_mm=0.4),
    "errors": lambda: pitch_error_table(INCH, ["16 tpi", "M10", "1/2 BSW", "M8"], units="inch"),
    "errors of no setup": lambda: pitch_error_table(BARE, ["M10", "16 tpi"]),
    "no rows": lambda: pitch_error_table(INCH, []),
}


def plain(found):
    """What was found, as lists and dicts, whichever of the two it came from; nothing is None."""
    if isinstance(found, (pd.DataFrame, LightTable)):
        columns = [(name, plain(found[name])) for name in found.columns]
        return {"columns": columns, "labels": list(found.index)}
    if isinstance(found, (pd.Series, Column)):
        return [plain(each) for each in found]
    if isinstance(found, dict):
        return {name: plain(each) for name, each in found.items()}
    if isinstance(found, (list, pd.Index)) or (isinstance(found, tuple) and hasattr(found, "_fields")):
        return [plain(each) for each in found]
    if not isinstance(found, (tuple, str)) and pd.isna(found):
        return None
    return found.item() if hasattr(found, "item") else found


ASKED = {
    "columns": lambda t: list(t.columns),
    "names": lambda t: list(t),
    "rows": len,
    "shape": lambda t: tuple(t.shape),
    "empty": lambda t: bool(t.empty),
    "a column is there": lambda t: ("ok" in t, "no such" in t, "is_exact" in t.columns),
    "labels": lambda t: list(t.index),
    "each column": lambda t: [t[name] for name in t.columns],
    "a column by its dot": lambda t: list(getattr(t, t.columns[0])),
    "some columns": lambda t: t[list(t.columns[:3])],
    "the first": lambda t: t.head(2),
    "the last": lambda t: t.tail(2),
    "none of them": lambda t: t.head(0),
    "a slice": lambda t: t[1:3],
    "tuples": lambda t: [tuple(map(plain, row)) for row in t.itertuples(index=False, name=None)],
    "tuples with their labels": lambda t: [row.Index for row in t.itertuples()],
    "rows one by one": lambda t: [(label, plain(row[t.columns[0]])) for label, row in t.iterrows()],
    "records": lambda t: [plain(row) for row in t.to_dict("records")],
    "by place": lambda t: t.iloc[1:3],
    "by places": lambda t: t.iloc[:, [0, 1]],
    "the ends": lambda t: t.loc[1:2],
    "where there is something": lambda t: t[t[t.columns[-1]].notna()],
    "where there is nothing": lambda t: t[t[t.columns[-1]].isna()],
    "one kind": lambda t: t[t[t.columns[0]] == "M10"],
    "another": lambda t: t[t[t.columns[0]] != "M10"][t.columns[0]],
    "among some": lambda t: t[t[t.columns[0]].isin(["M10", "8 tpi", "16 tpi"])],
    "chosen by label": lambda t: t.loc[t[t.columns[0]] == "M10", t.columns[0]],
}
OF_THE_CHART = {
    "a cell": lambda t: t.loc[1, "driven"],
    "a cell by place": lambda t: t.iloc[0, 0],
    "a row": lambda t: dict(t.loc[1]),
    "the last row": lambda t: dict(t.iloc[-1]),
    "a row by place": lambda t: t.iloc[0]["lead_mm"],
    "several rows": lambda t: t.loc[[2, 0], ["thread", "lever"]],
    "columns from to": lambda t: t.loc[:, "thread":"driven"],
    "a column's value": lambda t: t["lever"][2],
    "off by much": lambda t: t[t["error_ppm"].abs() > 100],
    "exact and good": lambda t: t[t["is_exact"] & t["ok"]]["thread"],
    "either": lambda t: t[(t["moved"] == 0) | (t["error_ppm"] < 0)],
    "not exact": lambda t: t[~t["is_exact"]],
    "not exact and few moves": lambda t: t[~t["is_exact"] & (t["moved"] <= 1)].to_dict("records"),
    "asked twice": lambda t: t[t["ok"] == True].head(3)[["thread", "ok"]].iloc[0]["thread"],  # noqa: E712
    "in all": lambda t: int(t["moved"].sum()),
    "all and any": lambda t: (bool(t["is_exact"].all()), bool(t["is_exact"].any()), int(t["is_exact"].sum())),
    "least and most": lambda t: (float(t["lead_mm"].min()), float(t["lead_mm"].max())),
    "as a list": lambda t: t["thread"].tolist(),
    "labels after a choice": lambda t: list(t[t["is_exact"]].index),
    "a label after a choice": lambda t: t[t["thread"] == "8 tpi"]["lever"].tolist(),
}
CELL = re.compile(r"<td>(.*?)</td>")
TEXT = {
    "text": lambda t: t.to_string(index=False),
    "text with labels": lambda t: t.to_string(),
    "some of it": lambda t: t[list(t.columns[:4])].to_string(index=False),
}


def cells_of(table):
    page = table._repr_html_().replace("\xa0", " ").replace("\u202f", " ")
    return ["" if said == "–" else said for said in CELL.findall(page)]


@pytest.fixture
def both(monkeypatch):
    """A DataFrame, and what stands in for it where there is no pandas."""
    made = {name: make() for name, make in CHARTS.items()}

    monkeypatch.setattr(frames, "_frame_class", lambda: None)
    return {name: (made[name], make()) for name, make in CHARTS.items()}


class TestBesidePandas:
    def test_they_are_what_they_are_said_to_be(self, both):
        assert all(isinstance(frame, pd.DataFrame) and isinstance(light, LightTable) for frame, light in both.values())

    def test_what_is_asked_of_every_table(self, both):
        for name, (frame, light) in both.items():
            for asked, ask in ASKED.items():
                assert plain(ask(light)) == plain(ask(frame)), (name, asked)

    def test_what_is_asked_of_a_chart(self, both):
        frame, light = both["chart"]
        for asked, ask in OF_THE_CHART.items():
            assert plain(ask(light)) == plain(ask(frame)), asked

    def test_as_text_word_for_word(self, both):
        for name, (frame, light) in both.items():
            for asked, ask in TEXT.items():
                if len(frame):
                    assert ask(light).split() == ask(frame).split(), (name, asked)

    def test_in_a_notebook_cell_for_cell(self, both):
        for name, (frame, light) in both.items():
            if len(frame):
                for ours, theirs in zip(cells_of(light), cells_of(frame), strict=True):
                    assert ours.startswith(theirs.removesuffix("...")), name  # pandas cuts long texts off

    def test_as_csv_byte_for_byte(self, both, tmp_path):
        for name, (frame, light) in both.items():
            one, other = (save_csv(table, tmp_path / "x.csv").read_bytes() for table in (frame, light))
            assert one == other, name

    def test_with_a_caption(self, both):
        for name, (frame, light) in both.items():
            assert captioned(light, "Of it").rows == captioned(frame, "Of it").rows, name


class TestWhatItIsNot:
    LIGHT = LightTable([{"thread": "<b>", "n": 1}, {"thread": "M8", "n": 2}])

    def test_what_only_pandas_has_is_said_with_what_to_install(self):
        for ask in (
            lambda t: t.groupby("thread"),
            lambda t: t["n"].rolling(2),
            lambda t: t.to_dict("list"),
            lambda t: t.plot(),
        ):
            with pytest.raises(GearcalcError, match=r"part of pandas, which can't be had.*as its README says"):
                ask(self.LIGHT)
        assert not hasattr(self.LIGHT, "_repr_png_")

    def test_what_is_not_there_is_refused_as_pandas_refuses_it(self):
        frame = pd.DataFrame([{"thread": "<b>", "n": 1}, {"thread": "M8", "n": 2}])
        for table in (frame, self.LIGHT):
            for ask in (lambda t: t["x"], lambda t: t[["thread", "x"]], lambda t: t.loc[7], lambda t: t.loc[0, "x"]):
                with pytest.raises(KeyError):
                    ask(table)
            with pytest.raises(IndexError):
                table.iloc[7]
            with pytest.raises(ValueError):
                bool(table["n"] == 1)

    def test_nothing_in_it_is_markup(self):
        assert "<b>" not in self.LIGHT._repr_html_()

    def test_a_long_one_shows_both_ends(self):
        page = LightTable([{"n": n} for n in range(100)])._repr_html_()
        assert (page.count("<tr>"), "100 rows" in page, ">99<" in page) == (12, True, True)


FLOATS = [1.0, 2.5], [1 / 3, 1e3], [1e-9, 1.0], [1e7, 0.1], [123456789.123, 1.0], [float("nan"), 2.0], [0.0], [-0.5, 12]


@in_one("values", FLOATS)
def test_floats_are_written_as_pandas_writes_them(values):
    frame, light = pd.DataFrame({"x": values}), LightTable([{"x": x} for x in values], {"x": "float64"})
    assert light.to_string(index=False).split() == frame.to_string(index=False).split()
