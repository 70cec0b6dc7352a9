"""One cell puts out what lives and its still twin."""

from __future__ import annotations

import pytest

from gearcalc.basics.errors import NotPossibleError
from gearcalc.learning import explorers, live
from gearcalc.learning.answer_book import AnswerBook
from gearcalc.learning.answer_files import Go
from gearcalc.learning.guesses import guess
from gearcalc.learning.live import TO_WAKE_IT
from gearcalc.teaching.lesson_runs import lessons_named, run_lessons
from gearcalc.teaching.marks import class_marks

ANSWERED = AnswerBook(None)
ANSWERED.keep_class_number(7)
ANSWERED.keep_answer("pitch-and-lead", Go(7, answer="1 mm", tries=1))
LIVE = "application/vnd.jupyter.widget-view+json"


@pytest.fixture
def put_out(monkeypatch):
    """What is put out when a thing is the last value of a cell, one bundle after the other."""
    formatters = pytest.importorskip("IPython.core.formatters")
    bundles = []
    monkeypatch.setattr("IPython.display.display", lambda bundle, raw, display_id=None: bundles.append(bundle))

    def show(thing):
        data, _ = formatters.DisplayFormatter().format(thing)
        assert data == {}  # nothing besides
        return bundles

    return show


class TestOneCellPutsOutBoth:
    def test_a_widget_and_then_its_still(self, put_out):
        pytest.importorskip("ipywidgets")
        from gearcalc.learning.lathe_upload import LatheUpload

        shown = LatheUpload()
        live, still = put_out(shown)
        assert live[LIVE]["model_id"] == shown.model_id
        assert "<p>On the running page a lathe file can be chosen here.</p>" in still["text/html"]
        assert TO_WAKE_IT in still["text/html"]

    def test_an_explorer_and_what_it_shows_then(self, put_out):
        explorer = explorers.limit_on_teeth()
        explorer.set(largest=10, number="pi")
        live, still = put_out(explorer)
        assert live[LIVE]["model_id"] == explorer.model_id
        for part in ("22/7", explorer.shown.picture.description, explorer.shown.facts_html):
            assert part in still["text/html"]

    def test_where_neither_may_live_a_blank_line_and_the_still_are_left(self, put_out):
        live, still = put_out(explorers.limit_on_teeth())
        assert (live["text/plain"], "text/html" in live, LIVE in still) == ("", False, False)

    def test_what_asks_puts_its_still_anew_with_what_was_typed_since(self, put_out, monkeypatch, tmp_path):
        monkeypatch.chdir(tmp_path)
        asks, anew = guess("carriage-in-one-turn", "How far?"), []
        monkeypatch.setattr("IPython.display.update_display", lambda bundle, **which: anew.append((bundle, which)))
        asks.type("guess", "3")
        assert anew == []  # it is nowhere yet
        put_out(asks)
        asks.type("guess", "3")
        assert anew == []  # nothing is new
        asks.type("guess", "4 <b>")
        [(bundle, which)] = anew
        assert "Your guess: 4 &lt;b&gt;" in bundle["text/html"]
        assert which == {"raw": True, "display_id": asks.model_id}


class TestInABrowser:
    def test_what_runs_programs_is_refused_with_where_it_can_be_had(self, monkeypatch, tmp_path):
        monkeypatch.setattr(live, "IN_THE_BROWSER", True)
        (tmp_path / "answers.json").write_bytes(ANSWERED.page)
        for asked in (lambda: list(run_lessons(lessons_named(["01"]))), lambda: class_marks(tmp_path)):
            with pytest.raises(NotPossibleError, match=r"in a browser there are none. Ask for it on a computer"):
                asked()
