"""What a person typed comes out as they typed it, and nothing obeys it: ways in, planted texts, ways out.

A way out is read by what reads it in earnest: a page by html.parser, a drawing by xml.etree, a table by csv. Where such
a text isn't taken, what says so goes the ways of all that is said. Pages in a real browser: tests/browser.
"""

from __future__ import annotations

import csv
import importlib
import inspect
import io
import json
import pkgutil
import re
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, get_args, get_type_hints
from xml.etree import ElementTree

import attrs
import pytest

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.basics.files import can_be_a_name
from gearcalc.lathes import Lathe
from gearcalc.lathes.parts import key_of
from gearcalc.learning import explorers
from gearcalc.learning.answer_book import AnswerBook, answer_book
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import Task
from gearcalc.learning.guesses import guess, taken_up
from gearcalc.learning.in_browser import offered
from gearcalc.learning.own_lathe import CALLED, my_lathe
from gearcalc.papers.csv_files import save_csv
from gearcalc.papers.frames import frame_of
from gearcalc.papers.light_tables import LightTable
from gearcalc.serving import hubs
from gearcalc.serving.lessons_in_a_site import SiteLesson
from gearcalc.serving.pages import first_page
from gearcalc.serving.sites import how_to_make_one
from gearcalc.teaching.class_lists import class_list
from gearcalc.teaching.handouts import as_handout
from gearcalc.teaching.marks import class_marks
from gearcalc.teaching.marks_page import save_marks
from gearcalc.teaching.own_exercises import read_own_exercises
from gearcalc.teaching.page_printer import NAMED_BY, find_printer
from gearcalc.teaching.worksheet_papers import key_paper, set_papers
from gearcalc.teaching.worksheets import worksheet
from tests.how_much import in_one
from tests.notebooks import code, notebook, output, words
from tests.planted import PLANTED, PRINTABLE, acting, obeyed_by_a_terminal
from tests.teaching.invented_class import answers, go, write

SHOWN_BY = ("_repr_html_", "_repr_latex_", "_repr_svg_", "_repr_markdown_", "_repr_javascript_", "_repr_mimebundle_")
A_FILE = """
name = "A lathe"
note = "Belt on 2"
[leadscrew]
lead = "8 tpi"
hand = "right"
[spindle_side]
ratio = "1"
[[gearbox]]
lever = "low"
ratio = "1/2"
[[gearbox]]
lever = "high"
ratio = "1"
[gears]
teeth = [20, 25, 30, 40, 40, 50, 60, 80]
module_mm = 1.25
[bracket]
spindle_side_at_mm = [-50.0, 94.0]
swing_deg = [-75, 20]
slots = [{ from_mm = [-30, 0], to_mm = [-150, 0] }]
studs = 2
stud_radius_mm = 7
shaft_radius_mm = 7
[dial]
gears = [{ teeth = 16, lines = 8 }]
[feeds]
longitudinal = "1/8"
[show]
units = "inch"
paper = "A4"
[plate]
"16 tpi" = { drivers = [40], driven = [80], lever = "high" }
"""
BOX = A_FILE.replace('[[gearbox]]\nlever = "low"\nratio = "1/2"\n', "").replace(
    '[[gearbox]]\nlever = "high"\nratio = "1"\n',
    '[[lever]]\nname = "range"\nside = "leadscrew"\npositions = { low = "1/2", high = "1" }\n',
)
TEXTS_OF_A_FILE: dict[str, tuple[str, str]] = {
    "Lathe.name": (A_FILE, '"A lathe"'),
    "Lathe.note": (A_FILE, '"Belt on 2"'),
    "Leadscrew.hand": (A_FILE, '"right"'),
    "Lever.lever": (A_FILE, '"low"'),
    "Show.units": (A_FILE, '"inch"'),
    "Show.paper": (A_FILE, '"A4"'),
    "PlateRow.thread": (A_FILE, '"16 tpi"'),
    "PlateRow.lever": (A_FILE, 'lever = "high" }'),
    "BoxLever.name": (BOX, '"range"'),
    "BoxLever.side": (BOX, '"leadscrew"'),
    "LeverAt.lever": (BOX, '"range"'),
    "LeverAt.at": (BOX, "low ="),
    "LeverAt.side": (BOX, '"leadscrew"'),
}
"""Each field of a Lathe, or of a part of one, that is text: in which file it stands, and where."""
NUMBERS_OF_A_FILE = ('lead = "8 tpi"', 'ratio = "1/2"', 'longitudinal = "1/8"', "module_mm = 1.25", "studs = 2")


def texts_of(section: type, seen: set[type]) -> Iterator[str]:
    """Fields of a class that are text, and of the classes of its fields."""
    if section in seen:
        return
    seen.add(section)
    for name, kind in get_type_hints(section).items():
        if name in {each.name for each in attrs.fields(section)}:
            inside = set(kinds_in(kind))
            if str in inside:
                yield f"{section.__name__}.{key_of(getattr(attrs.fields(section), name))}"
            for other in inside:
                if isinstance(other, type) and attrs.has(other):
                    yield from texts_of(other, seen)


def kinds_in(kind: Any) -> Iterator[Any]:
    yield kind
    for each in get_args(kind):
        yield from kinds_in(each)


def with_planted(name: str, text: str) -> str:
    page, there = TEXTS_OF_A_FILE[name]
    quoted = json.dumps(text)
    new = {'lever = "high" }': f"lever = {quoted} }}", "low =": f"{quoted} ="}.get(there, quoted)
    return page.replace(there, new)


class TestALatheFile:
    def test_every_text_of_one_is_in_the_table(self):
        assert set(texts_of(Lathe, set())) <= set(TEXTS_OF_A_FILE)

    @in_one("name", TEXTS_OF_A_FILE)
    @in_one("kind", PLANTED)
    def test_a_text_is_kept_as_it_is_or_refused_in_words_that_nothing_obeys(self, name, kind):
        text = PLANTED[kind]
        try:
            lathe = Lathe.from_toml(with_planted(name, text))
        except GearcalcError as refused:
            is_said_safely(refused)
            return
        assert kind in PRINTABLE or name == "Lathe.note"
        assert Lathe.from_toml(lathe.to_toml()) == lathe
        is_shown_safely(lathe)

    @in_one("there", NUMBERS_OF_A_FILE)
    @in_one("kind", PLANTED)
    def test_so_is_one_in_place_of_a_number(self, there, kind):
        key = there.partition(" = ")[0]
        with pytest.raises(GearcalcError) as refused:
            Lathe.from_toml(A_FILE.replace(there, f"{key} = {json.dumps(PLANTED[kind])}"))
        is_said_safely(refused.value)


# The ways out.


class _Texts(HTMLParser):
    """The text of each element by itself, as a page's search for mathematics finds it."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = [""]

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.texts.append("")
        self.as_it_stands = tag in ("pre", "code", "style", "textarea")

    def handle_endtag(self, tag: str) -> None:
        self.texts.append("")
        self.as_it_stands = False

    def handle_data(self, data: str) -> None:
        self.texts[-1] += "" if self.as_it_stands else data

    as_it_stands = False


def is_safe_html(page: str) -> None:
    assert acting(page) == []
    reader = _Texts()
    reader.feed(page)
    reader.close()
    assert [text for text in reader.texts if "planted" in text and re.search(r"\$.*\$|\\[(\[]", text)] == []


def is_safe_latex(formula: str) -> None:
    inside = formula.strip("$")
    bare = re.sub(r"\\[\\{}$&#%_^~]", "", inside)
    assert "$" not in bare
    assert "%" not in bare
    assert "#" not in bare
    assert r"\input" not in inside
    assert bare.count("{") == bare.count("}")


DRAWN = {"svg", "g", "path", "circle", "line", "rect", "text", "tspan", "title", "desc"}


def is_safe_svg(drawing: str) -> None:
    root = ElementTree.fromstring(drawing)
    for each in root.iter():
        assert each.tag.rpartition("}")[2] in DRAWN
        assert not [key for key in each.attrib if key.startswith("on") or key.endswith("href")]


def is_safe_in_a_terminal(text: str) -> None:
    assert obeyed_by_a_terminal(text) == []


def is_safe_csv(page: str) -> None:
    for row in csv.reader(io.StringIO(page)):
        for cell in row:
            begins = cell.lstrip()[:1]
            assert begins not in ("=", "@")
            assert begins not in ("+", "-") or re.fullmatch(r"\s*[+-][\d.]+(e[+-]?\d+)?|-", cell, re.I), cell


def is_said_safely(error: GearcalcError) -> None:
    is_safe_in_a_terminal(str(error))
    is_safe_in_a_terminal("\n".join(error._render_traceback_()))


def is_shown_safely(thing: Any) -> None:
    """Every way in which a notebook, or Python, shows a thing."""
    is_safe_in_a_terminal(str(thing))
    is_safe_in_a_terminal(repr(thing))
    for name, check in (("_repr_html_", is_safe_html), ("_repr_latex_", is_safe_latex), ("_repr_svg_", is_safe_svg)):
        shown = getattr(thing, name, lambda: None)()
        if shown is not None:
            check(shown)
    if hasattr(thing, "svg"):
        is_safe_svg(thing.svg() if callable(thing.svg) else thing.svg)


SETUP: dict[str, Callable[[gc.Setup], Any]] = {
    "setup": lambda made: made,
    "card": lambda made: gc.change_card(made.lathe, to=made, mounted="40/80"),
    "derivation": gc.derive,
    "all steps": lambda made: gc.derive(made).long,
    "a line": lambda made: gc.derive(made).lines[0],
    "a step": lambda made: gc.derive(made).long.steps[0],
    "fit": lambda made: made.fit,
    "scratch pass": gc.scratch_check,
    "wrong leads": lambda made: gc.explain_wrong_lead(made, made.lead_mm * 2, "0.01"),
    "bracket": lambda made: gc.bracket_picture(made.lathe, made),
}
LATHE: dict[str, Callable[[Lathe], Any]] = {
    "lathe": lambda lathe: lathe,
    "setups": lambda lathe: gc.find_setups(lathe, "16 tpi", count=3),
    "none": lambda lathe: gc.find_setups(lathe, "M8x0.05", meshes=1),
    "plate on the machine": gc.check_plate,
    "plate on the wall": lambda lathe: gc.wall_plate(lathe, ["16 tpi", "20 tpi"], meshes=1),
    "plate, printed": lambda lathe: gc.wall_plate(lathe, ["16 tpi", "20 tpi"], meshes=1).paper,
    "chart": lambda lathe: gc.chart(lathe, ["16 tpi", "1 mm"], meshes=1),
    "feeds": lambda lathe: gc.feed_chart(lathe, ["0.1 mm/rev"]),
    "errors": lambda lathe: gc.pitch_error_table(lathe, ["16 tpi"]),
    "plan": lambda lathe: gc.plan_changeover(lathe, ["16 tpi", "20 tpi"], meshes=1),
    "gears to add": lambda lathe: gc.gears_to_add(lathe, ["19 tpi"], meshes=1, candidates=range(20, 60)),
    "coverage": lambda lathe: gc.coverage(lathe, 1, 2, meshes=1),
    "dial": lambda lathe: gc.dial(lathe, "16 tpi"),
    "starts": lambda lathe: gc.index_starts(lathe, gc.find_setups(lathe, "lead 1/4 in 2 starts", count=1)[0]),
    "feed change": lambda lathe: gc.change_to_feed(lathe, gc.find_setups(lathe, "16 tpi", count=1)[0], "0.1 mm/rev"),
}


def lathe_full_of(text: str) -> Lathe:
    """A lathe whose every name is that text."""
    page = A_FILE
    for there in ('"A lathe"', '"Belt on 2"', '"low"'):
        page = page.replace(there, json.dumps(text))
    return Lathe.from_toml(page.replace('"high"', json.dumps(f"{text} too")))


@pytest.fixture(scope="module", params=PRINTABLE)
def full(request) -> Lathe:
    return lathe_full_of(PRINTABLE[request.param])


class TestNamesOfALathe:
    @pytest.mark.parametrize("made", LATHE)
    def test_in_all_that_is_made_of_a_lathe(self, full, made):
        is_shown_safely(LATHE[made](full))

    def test_in_all_that_is_made_of_a_setup(self, full):
        found = gc.find_setups(full, "16 tpi", count=1)[0]
        for make in SETUP.values():
            is_shown_safely(make(found))

    def test_on_sheets_and_in_tables(self, full, tmp_path):
        found = gc.find_setups(full, "16 tpi", count=1)[0]
        card, plate = gc.change_card(full, to=found, mounted="40/80"), gc.wall_plate(full, ["16 tpi"], meshes=1)
        assert acting(card.page) == []
        for paper in (card.on_paper(), plate.paper):
            is_safe_svg(paper.svg())
            assert acting(paper.html()) == []
        assert not re.search(rb"/(JS|JavaScript|URI|Launch|OpenAction|EmbeddedFile)\b", plate.paper.pdf())
        for table in (gc.chart(full, ["16 tpi"], meshes=1), gc.feed_chart(full, ["0.1 mm/rev"])):
            is_safe_csv(gc.save_csv(table, tmp_path / "table.csv").read_text("utf-8-sig"))

    def test_on_an_explorer(self, full):
        open_on = [it for name, it in list(vars(explorers).items()) if callable(it) and not name.endswith("_view")]
        takes_one = [it for it in open_on if "lathe" in inspect.signature(it).parameters]
        assert len(takes_one) > 10
        for it in takes_one:
            if it is not explorers.prove_the_cut:  # takes a setup, whose names the others show
                explorer = it(full)
                is_safe_svg(explorer.svg)
                is_safe_html(explorer.facts)
                is_safe_html(explorer.shown._repr_html_())
                is_safe_in_a_terminal(f"{explorer.title}{explorer.said}{explorer.message}")

    def test_in_a_handout(self, full):
        """No formula stands there that the same page of a lathe of other names has not."""
        pages = []
        for lathe in (full, lathe_full_of("plain words")):
            derived = gc.derive(gc.find_setups(lathe, "16 tpi", count=1)[0])
            cells = [code("1", outputs=[output("display_data", {"text/html": shown})]) for shown in
                     (derived._repr_html_(), derived.long._repr_html_(), lathe._repr_html_())]  # fmt: skip
            pages.append(as_handout("a", notebook([words("# A"), *cells]), (), with_code=False).html)
        assert acting(pages[0]) == []
        assert [page.count("<math") for page in pages] == [pages[1].count("<math")] * 2


SAID_TO: dict[str, Callable[[str], Any]] = {
    "a thread": lambda text: gc.find_setups(INCH, text),
    "a lever": lambda text: gc.setup(INCH, 40, 80, text),
    "a train": lambda text: gc.setup(INCH, text, 80, "low"),
    "gears": lambda text: gc.fit(INCH, text),
    "a demo lathe": gc.demo_lathe,
    "a file": gc.Lathe.load,
    "what a text is called": lambda text: gc.Lathe.from_toml("name = 1", source=text),
    "a file of no TOML": gc.Lathe.from_toml,
    "an exercise": lambda text: gc.exercise(text, 1),
    "an answer": lambda text: gc.exercise("lead-of-a-leadscrew", 3).check(text),
    "an answer with gears": lambda text: gc.exercise("one-pair-for-a-thread", 3).check(text),
    "a symptom": gc.fault_finder,
    "a series": gc.thread_series,
    "a caption": lambda text: gc.bracket_picture(INCH, MADE, caption=text),
    "a caption of a train": lambda text: gc.train_picture(MADE.train, caption=text),
    "a shaft": lambda text: gc.train_picture(MADE.train, last_shaft=text),
    "a date": lambda text: gc.wall_plate(INCH, ["16 tpi"], meshes=1, on=text),
    "a size of paper": lambda text: gc.wall_plate(INCH, ["16 tpi"], meshes=1, size=text),
    "a class": class_list,
    "a title": lambda text: worksheet(["lead-of-a-leadscrew"], class_list("1"), title=text).title,
    "the word of a test": lambda text: worksheet(["lead-of-a-leadscrew"], class_list("1"), test=text).test,
    "a file of exercises": read_own_exercises,
    "a hub's settings": hubs._own_settings,
    "a folder that is no site": lambda text: len(how_to_make_one(Path(text))),
}
INCH = gc.demo_lathe("inch")
MADE = gc.setup(INCH, 40, 80, "low")


@in_one("way_in", SAID_TO)
@in_one("kind", PLANTED)
def test_whatever_is_said_to_it_is_shown_or_refused_and_obeyed_by_nothing(way_in, kind):
    try:
        made = SAID_TO[way_in](PLANTED[kind])
    except GearcalcError as refused:
        is_said_safely(refused)
    else:
        is_shown_safely(made)


class TestALearner:
    """Names, guesses and answers, as they stand in what is handed in and in what a page asks."""

    @staticmethod
    def handed_in(folder):
        for number, text in enumerate(PLANTED.values(), 1):
            typed = {"lead-of-a-leadscrew": [go(number, text)]}
            kept = answers(number, text, typed, guesses={"a": text}, added={text: text})
            called = "".join("_" if sign in "/\0\ud800" else sign for sign in text)
            write(folder / f"{number} {called}" / "answers.json", kept)
            write(folder / f"answers-{number + 500}.json", answers(number + 500, text, typed))
        return class_marks(folder)

    def test_marks(self, tmp_path):
        marks = self.handed_in(tmp_path / "class")
        assert len(marks.learners) == 2 * len(PLANTED)
        is_safe_in_a_terminal(str(marks))
        for one in marks.not_taken:
            is_safe_in_a_terminal(str(one))
        is_safe_html(save_marks(marks, tmp_path / "m.html").read_text("utf-8"))
        is_safe_csv(save_marks(marks, tmp_path / "m.csv").read_text("utf-8-sig"))
        is_safe_html(marks.table._repr_html_())

    @pytest.mark.parametrize("kind", PLANTED)
    def test_worksheets_and_their_key(self, kind, tmp_path):
        quoted = PLANTED[kind].replace('"', '""')
        (tmp_path / "list.csv").write_bytes(f'1,"{quoted}"\n'.encode("utf-8", "surrogatepass"))
        try:
            learners = class_list(tmp_path / "list.csv")
        except GearcalcError as refused:
            is_said_safely(refused)
            return
        is_safe_in_a_terminal(str(learners[0]))
        sheet = worksheet(["lead-of-a-leadscrew"], learners)
        for paper in (*set_papers(sheet), key_paper(sheet).paper):
            is_safe_svg(paper.svg())
            assert acting(paper.html()) == []

    @in_one("kind", PLANTED)
    def test_guesses_and_what_an_author_asks(self, kind, tmp_path, monkeypatch):
        monkeypatch.chdir(tmp_path)
        text = PLANTED[kind]
        answer_book().keep_guess("a-guess", text)
        for asked in (guess("a-guess", text), guess("a-guess", "What?", (text, "b")), taken_up("a-guess", text, text)):
            for page in (asked.question, asked.said, asked.foot):
                is_safe_html(page)

    @in_one("kind", PLANTED)
    def test_an_exercise_of_a_school_s_own(self, kind):
        text = PLANTED[kind]
        task = Task(question=text, answer=Number(3), hints=text, right=text, otherwise=text, solution=f"{text} **3**")
        for shown in (task, task.hint(), task.solved(), task.check("3"), task.check(text)):
            is_shown_safely(shown)


@in_one("kind", PLANTED)
class TestWhatIsNamedAfterIt:
    """Files, links and pages that bear a name that somebody gave, and what the environment says."""

    def test_a_file_to_hand_in(self, kind):
        book = AnswerBook(None)
        try:
            book.keep_name(PLANTED[kind])
        except GearcalcError as refused:
            is_said_safely(refused)
        assert re.fullmatch(r"answers[\w-]*\.json", book.name_to_hand_in)

    def test_a_file_to_take_from_a_page(self, kind):
        shown = offered(PLANTED[kind], b"x")
        is_safe_html(shown)
        assert shown.count("<a ") == 1

    def test_the_first_page_of_a_site(self, kind):
        text = PLANTED[kind]
        name = text.encode("utf-8", "replace").decode()
        page = first_page([SiteLesson(f"{name}.ipynb", text, text, "", "")], 20)
        assert set(acting(page)) <= {"a href"}
        assert not re.search(r'href="(?!notebooks/index.html\?path=|tree/|icon)', page)

    def test_what_the_environment_names(self, kind, monkeypatch, tmp_path):
        if not can_be_a_name(PLANTED[kind]):  # nor anything in the environment
            with pytest.raises(ValueError, match=r"null|surrogates"):
                monkeypatch.setenv(CALLED, PLANTED[kind])
            return
        for name in (NAMED_BY, CALLED):
            monkeypatch.setenv(name, PLANTED[kind])
        monkeypatch.chdir(tmp_path)
        (tmp_path / "my_lathe.toml").write_text(A_FILE, "utf-8")
        is_safe_in_a_terminal(my_lathe()[1])
        with pytest.raises(GearcalcError) as refused:
            find_printer()
        is_said_safely(refused.value)


NO_TEXT_OF_A_PERSON = {
    "gearcalc.basics.listed": "numbers in a row",
    "gearcalc.basics.markup": "looked at in tests/basics/test_markup.py",
    "gearcalc.cutting.depths": "figures of a thread",
    "gearcalc.cutting.helix": "figures of a thread",
    "gearcalc.cutting.measurements": "figures that were measured",
    "gearcalc.cutting.turning": "figures",
    "gearcalc.finding.stand_ins": "fractions",
    "gearcalc.finding.fractions": "fractions",
    "gearcalc.fits.by_hand": "a train, and figures",
    "gearcalc.learning.asking": "escaped by its makers: guesses and forms, looked at in tests/learning/",
    "gearcalc.learning.lathe_upload": "escaped where it is said, looked at in tests/learning/test_lathe_upload.py",
    "gearcalc.learning.progress": "names of our lessons, and how many",
    "gearcalc.learning.words": "our words",
    "gearcalc.teaching.lesson_plans": "our lessons",
    "gearcalc.threads.tolerances": "a thread as we write it",
}
"""Files whose things show themselves, and hold nothing that somebody typed."""
SHOWN_ABOVE = {
    "gearcalc.cutting.catching",
    "gearcalc.cutting.dial_rules",
    "gearcalc.cutting.feed_changes",
    "gearcalc.cutting.wrong_leads",
    "gearcalc.deriving.derivations",
    "gearcalc.deriving.formulas",
    "gearcalc.deriving.in_short",
    "gearcalc.finding.additions",
    "gearcalc.finding.coverage",
    "gearcalc.finding.plates",
    "gearcalc.finding.search",
    "gearcalc.finding.setups",
    "gearcalc.fits.fitting",
    "gearcalc.lathes.lathe",
    "gearcalc.lathes.trains",
    "gearcalc.learning.exercises",
    "gearcalc.learning.exercises.form",
    "gearcalc.learning.exercises.notes",
    "gearcalc.learning.exercises.tasks",
    "gearcalc.learning.explorers.bench",
    "gearcalc.learning.explorers.page",
    "gearcalc.learning.explorers.shell",
    "gearcalc.papers.frames",
    "gearcalc.papers.light_tables",
    "gearcalc.papers.sheets",
    "gearcalc.papers.tables",
    "gearcalc.papers.wall_plates",
    "gearcalc.pictures.picture",
    "gearcalc.pictures.svg",
    "gearcalc.planning.plans",
    "gearcalc.threads.deviations",
    "gearcalc.threads.wanted",
}
"""Files whose things the tests of this file have looked at, full of planted texts."""


def test_whatever_shows_itself_is_in_one_of_the_tables():
    """What shows itself by a method of its own, or by way of Written; a new one is to be looked at first."""
    found = set()
    for info in pkgutil.walk_packages(gc.__path__, "gearcalc."):
        if "__main__" in info.name:
            continue
        source = inspect.getsource(importlib.import_module(info.name))
        if re.search(r"def _repr_\w+_\(|def _ipython_display_\(|class \w+\(.*ShownAsWritten", source):
            found.add(info.name)
    assert found == SHOWN_ABOVE | set(NO_TEXT_OF_A_PERSON)
    assert not SHOWN_ABOVE & set(NO_TEXT_OF_A_PERSON)


class TestATable:
    def test_numbers_stay_numbers_and_texts_are_no_formulas(self, tmp_path):
        texts = ["-1", "+1", "=1", "@x", "\t=1", "\r=1", " =1", "＝1", "\x1b[2J", "\ud800", "\0", "\u200b=1"]
        for made in (frame_of, LightTable):
            table = made([{"a": -1.5, "=b": text, "n": -2} for text in texts])
            page = save_csv(table, tmp_path / "a.csv").read_text("utf-8-sig")
            head, *rows = list(csv.reader(io.StringIO(page)))
            assert head == ["a", "'=b", "n"]
            assert {(float(row[0]), int(row[2])) for row in rows} == {(-1.5, -2)}
            assert all(row[1].startswith(("'", "\\")) for row in rows)
            is_safe_in_a_terminal(page)
