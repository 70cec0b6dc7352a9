"""Pages to hand out: formulas, links, exercises, code, and what makes them."""

from __future__ import annotations

import html
import re
import sys
from base64 import b64encode
from types import SimpleNamespace
from unittest.mock import patch
from xml.etree import ElementTree

import pytest
from bs4 import BeautifulSoup
from hypothesis import given
from hypothesis import strategies as st

from gearcalc.basics.errors import NotPossibleError, UnknownNameError
from gearcalc.basics.files import data_folder, notebooks_folder
from gearcalc.lathes import demo_lathe
from gearcalc.learning.exercises import exercise
from gearcalc.learning.live import put_out
from gearcalc.teaching import handouts as module
from gearcalc.teaching import page_printer
from gearcalc.teaching.formulas import with_mathml
from gearcalc.teaching.handouts import as_handout, handouts
from gearcalc.teaching.lesson_runs import all_lessons, lessons_named, run_lessons
from tests.how_much import examples, in_one
from tests.lessons.handed_out import faults_as_handed_out, links_of
from tests.notebooks import LESSONS, WORKBENCH, as_committed, code, notebook, output, words, write

MATHML = "{http://www.w3.org/1998/Math/MathML}"


def math_in(page):
    return [ElementTree.fromstring(found) for found in re.findall(r"<math .*?</math>", page, re.S)]


def shown(element):
    """What a formula says, in the order in which it is read."""
    return "".join(element.itertext()).replace("\xa0", " ")


class TestFormulasAsBrowsersShowThem:
    """MathML Core (W3C): a fraction is mfrac of two parts, a letter below is msub, words are mtext."""

    def test_a_fraction_has_its_top_and_its_bottom(self):
        (formula,) = math_in(with_mathml(r"<p>$$ L = \frac{25.4}{8} $$</p>"))
        top, bottom = formula.find(f".//{MATHML}mfrac")
        assert (shown(top), shown(bottom), formula.get("display")) == ("25.4", "8", "block")

    def test_a_letter_is_marked_as_one_and_a_name_is_not(self):
        """The page slants it by itself: not every computer has the slanted letters of mathematics."""
        (formula,) = math_in(with_mathml(r"<p>$L = \delta \cdot \cot z$</p>"))
        said = [each.text for each in formula.iter() if each.text]
        assert {"L", "=", "δ", "cot", "z"} <= set(said)
        assert [each.text for each in formula.iter() if each.get("class") == "letter"] == ["L", "δ", "z"]
        style = (data_folder() / "handout" / "handout.css").read_text(encoding="utf-8")
        assert "math mi.letter { text-transform: none; font-style: italic; }" in style

    def test_a_continued_fraction_does_not_shrink(self):
        (formula,) = math_in(with_mathml(r"<p>$$ 1 + \cfrac{1}{3 + \cfrac{1}{2}} $$</p>"))
        inner = formula.find(f".//{MATHML}mfrac//{MATHML}mfrac/..")
        assert (inner.get("displaystyle"), inner.get("scriptlevel")) == ("true", "0")

    @in_one(("latex", "parts"), [
        (r"2\cos 30°", ["2", " ", "cos", " ", "30", "°"]), (r"\tan\alpha", ["tan", " ", "α"]),
        (r"\tan(x)", ["tan", "(", "x", ")"]), (r"\cosh x", ["cosh", "x"]),
    ])  # fmt: skip
    def test_a_function_stands_apart_from_numbers(self, latex, parts):
        (formula,) = math_in(with_mathml(f"<p>${latex}$</p>"))
        leaves = [each for each in formula.iter() if not len(each)]
        assert [" " if each.tag == f"{MATHML}mspace" else each.text for each in leaves] == parts

    @in_one(("latex", "parts"), [
        (r"a = 1 \qquad\text{here}\qquad \frac{1}{2 \quad 3}", ["a=1", "here", "123"]),
        (r"a \quadrant", None), (r"\left( a \quad b \right)", None),
        (r"\begin{array}{l} a \quad b \end{array}", None), (r"\text{a \quad b}", None),
    ])  # fmt: skip
    def test_what_stands_apart_may_stand_below_each_other(self, latex, parts):
        found = math_in(with_mathml(f"<p>$$ {latex} $$</p>"))
        assert [formula.get("display") for formula in found] == (["inline"] * len(parts) if parts else ["block"])
        assert parts is None or [shown(formula) for formula in found] == parts

    def test_what_stands_below_is_words(self):
        (formula,) = math_in(with_mathml(r"<p>With $z_\text{first driver}$.</p>"))
        letter, below = formula.find(f".//{MATHML}msub")
        assert (shown(letter), shown(below), formula.get("display")) == ("z", "first driver", "inline")

    def test_rows_stand_below_each_other(self):
        page = r"<p>\(\displaystyle \begin{aligned}a &amp; = 1 \\[6pt] &amp; = 2\,\mathrm{mm}\end{aligned}\)</p>"
        (formula,) = math_in(with_mathml(page))
        rows = formula.findall(f".//{MATHML}mtr")
        assert [shown(row) for row in rows] == ["a=1", "=2mm"]
        assert formula.get("displaystyle") == "true"

    @in_one("page", [
        "<p>It costs $ 5, or 6 $.</p>", "<pre>$x$</pre>", "<code>a $x$ b</code>", "<span>$</span>x<span>$</span>",
        "<p title='$x$'>a</p>", "<style>a { b: '$x$' }</style>", "<p>a</p><!-- $x$ -->",
    ])  # fmt: skip
    def test_what_is_no_formula_stays(self, page):
        assert with_mathml(page) == page

    def test_a_name_with_markup_stays_words(self):
        made = with_mathml(rf"<p>$r_\text{{{html.escape('<img src=x onerror=y>')}}}$</p>")
        assert "<img" not in made
        assert "<img src=x onerror=y>" in shown(math_in(made)[0])

    @in_one("latex", [r"\href{javascript:x}{y}", r"\class{a}{y}", r"\style{color:red}{y}"])
    def test_a_formula_says_nothing_of_the_page(self, latex):
        made = with_mathml(f"<p>${latex}$</p>")
        assert not re.search(r"\b(?:href|class|style)=", made.replace(' class="letter"', ""))

    @examples(200)
    @given(st.text(alphabet="ab<>&\"'${}\\_^[]()/ 1", max_size=40))
    def test_any_text_stays_text(self, text):
        made = with_mathml(f"<p>{html.escape(text)}</p>")
        assert not re.search(r"<(?!/?(?:p|code|math|m[a-z]+)[ >/])", made)
        ElementTree.fromstring(made)


class TestWhichLessons:
    def test_by_number_by_range_and_by_name(self):
        assert lessons_named(["1", "03-05", "03", "workbench"]) == (
            LESSONS["01"], LESSONS["03"], LESSONS["04"], LESSONS["05"], WORKBENCH,
        )  # fmt: skip
        assert all_lessons() == (*LESSONS.values(), WORKBENCH)

    @in_one("name", ["77", "5-3", "", "one", "../01_one_turn", "01_one_turn.html", "1-2-3"])
    def test_what_there_is_not_is_said(self, name):
        with pytest.raises(UnknownNameError, match=r"00, 01, .* workbench"):
            lessons_named([name])


def still(page):
    """What a cell puts out whose last line shows something that lives on a page."""
    with patch("IPython.display.display") as display:
        put_out(SimpleNamespace(model_id="1"), page)
    return [output("display_data", call.args[0]) for call in display.call_args_list]


@pytest.fixture(scope="module")
def page():
    """A page of one cell of each kind."""
    cells = [
        words("# 77 · A lesson *of* tests\n\nSee [one](01_one_turn.ipynb#why), [two](02_two_pairs.ipynb), "
              "[a file](my_lathe.toml), [out](https://example.org/a?b=1&c=2), [below](#here)."),
        words("<details><summary>See why</summary>\n\n$$ \\frac{1}{2} $$\n\n</details>"),
        code("print('<b>' * 3)", outputs=[output("stream", name="stdout", text="<b><b><b>\n")]),
        code("guess('turns', 'How many turns?')", outputs=still("<p>How many turns?</p>")),
        code("# Taken up\ntaken_up('turns', 'seventeen')", metadata={"jupyter": {"source_hidden": True}},
             outputs=still("<details><summary>Taken up</summary>It is seventeen.</details>")),
        code("import gearcalc as gc"),
        code("from gearcalc.learning.words import word_list\n\nword_list(2)"),
        code('gc.exercise("two-pairs")', outputs=still("<p>You need 99/77 (class number 1).</p>")),
        code("1 / 0", outputs=[output("execute_result", {"text/plain": "an $x$ and <i>"}, execution_count=1)]),
    ]  # fmt: skip
    return notebook(cells)


class TestAPage:
    def test_is_without_fault(self, page):
        assert faults_as_handed_out(as_handout("a", page, {"01_one_turn"}).html) == []

    def test_has_its_title(self, page):
        made = as_handout("a", page, ())
        assert made.title == "77 · A lesson of tests"
        assert f"<title>{made.title}</title>" in made.html

    def test_only_a_lesson_of_ours_is_said_to_be_one(self, page, tmp_path):
        ours, theirs = as_handout("a", page, ()).html, as_handout("a", page, (), beside=tmp_path).html
        assert "A lesson of gearcalc, under the licence CC BY 4.0." in ours
        assert "licence" not in theirs
        assert "What turns on the screen stands still here." in theirs

    def test_links_lead_to_the_pages_that_go_with_it(self, page):
        made = as_handout("a", page, {"01_one_turn"}).html
        assert links_of(made) == {"01_one_turn.html"}
        assert 'href="01_one_turn.html#why"' in made
        assert 'href="#here"' in made
        assert "out (https://example.org/a?b=1&amp;c=2)" in made

    def test_an_exercise_waits_for_numbers_of_ones_own(self, page):
        made = as_handout("a", page, ()).html
        assert "99/77" not in made
        assert f"<strong>{exercise('two-pairs', 1).title}</strong>" in made
        assert "99/77" in as_handout("a", page, (), numbered=True).html

    @in_one("given", ["class_number=7", "7", "class_number=7, go=2"])
    def test_an_exercise_with_a_number_in_its_cell_shows_that_one_s(self, given):
        source = f'gc.exercise("two-pairs", {given})'
        made = as_handout("a", notebook([code(source, outputs=still("<p>You need 99/77.</p>"))]), ()).html
        assert "99/77" in made
        assert "numbers of your own" not in made

    def test_code_is_folded_or_left_out(self, page):
        folded, without = (as_handout("a", page, (), with_code=code).html for code in (True, False))
        assert folded.count('<details class="code">') == 3  # neither what only asks nor what holds an answer
        assert 'class="code"' not in without
        assert "&lt;b&gt;&lt;b&gt;" in without
        assert folded.count("seventeen") == 2  # folded where it is taken up, and in the last part, on paper

    def test_on_paper_a_guess_is_taken_up_at_the_end_alone(self, page):
        made = as_handout("a", page, ()).html
        on_screen, where = re.search(
            '<div class="on-screen">(.*?)</div>\\s*<p class="on-paper">(.*?)</p>', made, re.S
        ).groups()
        assert "It is seventeen." in on_screen
        assert where == "Your guess, taken up: at the end, number 1."
        (last,) = re.findall('<section class="on-paper at-the-end">(.*?)</section>', made, re.S)
        assert re.findall("<li>(.*?)</li>", last) == ["<p><strong>How many turns?</strong></p>It is seventeen."]
        assert "on-paper at-the-end" not in as_handout("a", notebook([words("# A")]), ()).html
        assert not re.search(r"seventeen", made.replace(on_screen, "").replace(last, ""))

    @pytest.mark.parametrize("with_code", [True, False])
    def test_on_paper_nothing_right_below_a_guess_gives_it_away(self, with_code):
        """What comes out of cells before it is taken up, and the fold right after; a picture, which one asks, stays."""
        cells = [
            code("guess('turns', 'How many turns?')", outputs=still("<p>How many turns?</p>")),
            words("**Try.**"),
            code("print(8.5 * 2)", outputs=[output("stream", name="stdout", text="17.0\n")]),
            code("table", outputs=[output("execute_result", {"text/html": "<table><tr><td>17 turns</td></tr></table>"},
                                          execution_count=1)]),
            code("picture", outputs=still("<figure><img alt='A bar' src='data:image/png;base64,AA'></figure>")),
            code("taken_up('turns', 'seventeen')",
                 outputs=still("<details><summary>Taken up</summary>It is seventeen.</details>")),
            words("<details><summary>See why</summary>\n\n*Two* times $8.5$ is 17.\n\n</details>\n<br>\n\nGo on: 18."),
            code("print(18)", outputs=[output("stream", name="stdout", text="18\n")]),
        ]  # fmt: skip
        made = as_handout("a", notebook([words("# A"), *cells]), (), with_code=with_code).html
        main, last = made.split('<section class="on-paper at-the-end">')
        on_paper = BeautifulSoup(main.partition("<main>")[2], "html.parser")
        for one in on_paper.select(".on-screen"):
            one.decompose()
        assert not re.search("17|seventeen", on_paper.get_text())
        assert "What comes out, and your guess taken up: at the end, number 1." in on_paper.get_text()
        assert "A bar" in str(on_paper)
        assert re.search(r"Go on: 18\..*<pre>18", str(on_paper), re.S)
        end = "How many turns.*<pre>17\\.0.*<td>17 turns</td>.*It is seventeen.*<em>Two</em> times.*<math.*is 17"
        assert re.search(end, last, re.S)
        assert "See why" in main
        assert (main.count("17 turns"), "<!--" in made) == (1, False)
        assert faults_as_handed_out(made) == []

    def test_a_table_can_be_pushed_aside_by_itself(self):
        made = as_handout("a", notebook([words("# A\n\n| a | b |\n|---|---|\n| 1 | 2 |")]), ()).html
        assert re.search(
            r'<div class="wide" tabindex="0" role="group" aria-label="Table"><table>.*</table></div>', made, re.S
        )

    def test_a_picture_beside_the_lessons_is_part_of_the_page(self):
        cell = words("# A\n\n![A bracket](images/bracket.svg) ![Not ours](../README.md) ![Away](https://a.org/b.png)")
        made = as_handout("a", notebook([cell]), ())
        kept = b64encode((notebooks_folder() / "images" / "bracket.svg").read_bytes()).decode()
        assert re.findall('src="(.*?)"', made.html) == [f"data:image/svg+xml;base64,{kept}"]
        assert "(A picture is missing: Not ours)" in made.html
        assert made.left_out == (
            "a picture that is not there (../README.md)",
            "a picture from a host (https://a.org/b.png)",
        )

    @in_one(("put_in", "named"), [
        ('<script src="https://a.org/x.js"></script>', "a script (https://a.org/x.js)"),
        ("<script>alert(1)</script>", "a script"),
        ('<iframe src="https://a.org"></iframe>', "a frame (https://a.org)"),
        ('<object data="https://a.org/o"><embed src="https://a.org/e"></object>', "what stands as <object> (https://a.org/o)"),
        ('<link rel="stylesheet" href="https://a.org/x.css">', "a link to a file (https://a.org/x.css)"),
        ('<video src="https://a.org/v.mp4" controls></video>', "what stands as <video> (https://a.org/v.mp4)"),
        ('<p onclick="go()">So</p>', "a script (onclick of <p>)"),
        ('<div style="background: url(https://a.org/i.png)">So</div>', "what a style would fetch (https://a.org/i.png)"),
        ("<style>@import 'https://a.org/a.css'; p { color: red }</style>", "what a style would fetch (https://a.org/a.css)"),
        ('<svg viewBox="0 0 1 1"><image href="https://a.org/i.png"/></svg>', "what <image> would fetch (https://a.org/i.png)"),
        ("<img alt='A gear' src='https://a.org/i.png'>", "a picture from a host (https://a.org/i.png)"),
        ("<img alt='A gear' src='gear.png'>", "a picture that is not there (gear.png)"),
    ])  # fmt: skip
    def test_what_it_would_fetch_or_run_is_left_out_and_named(self, put_in, named, tmp_path):
        shows = code(
            "shows", outputs=[output("execute_result", {"text/html": f"<div>{put_in}</div>"}, execution_count=1)]
        )
        for cells in ([words("# A"), shows], [words(f"# A\n\n{put_in}")]):
            made = as_handout("a", notebook(cells), (), beside=tmp_path)
            assert made.left_out == (named,)
            assert faults_as_handed_out(made.html) == []
            assert "a.org" not in made.html

    def test_the_lessons_have_all_of_it(self):
        for lesson in (*LESSONS.values(), WORKBENCH):
            assert as_handout(lesson.stem, as_committed(lesson), ()).left_out == ()

    def test_the_notebook_stays_as_it_was(self, page):
        before = str(page)
        as_handout("a", page, ())
        assert str(page) == before

    def test_says_which_paper(self, page):
        assert "size: Letter;" in as_handout("a", page, (), paper="Letter").html


class TestTheCheckOfAPage:
    @in_one(("fault", "part"), [
        ("LaTeX", r"<p>\frac{1}{2}</p>"), ("LaTeX", "<p>so $x$ is</p>"), ("LaTeX", r"<p>\(x\)</p>"),
        ("LaTeX", r"<p><code>\frac{1}</code></p>"),
        ("img src", "<img alt='a' src='https://example.org/a.png'>"), ("a picture", "<img src='data:,'>"),
        ("a href", "<a href='https://example.org'>a</a>"), ("a href", "<a href='01.ipynb'>a</a>"),
        ("in a style", "<style>p { background: url(//example.org/a) }</style>"),
        ("in a style", "<style>@import 'a.css';</style>"), ("in a style", "<p style='background:url(a.png)'>a</p>"),
        ("a link", "<link rel='stylesheet' href='a.css'>"), ("a script", "<script>1</script>"),
        ("a fold", "<details><summary>Why</summary> </details><p>So.</p>"),
        ("p onclick", "<p onclick='a()'>a</p>"), ("an id", "<p id='a'></p><p id='a'></p>"),
    ])  # fmt: skip
    def test_finds_the_fault_that_is_there(self, fault, part):
        frame = "<title>a</title><main><h1>a</h1>{}</main>"
        assert faults_as_handed_out(frame.format("")) == []
        assert any(found.startswith(fault) for found in faults_as_handed_out(frame.format(part)))


@pytest.mark.lesson
class TestRun:
    """A kernel is started for each, with lessons that a test has written."""

    def lesson(self, folder, *cells):
        path = folder / "20_a_test.ipynb"
        write(cells, path)
        return path

    def test_from_clean_on_the_school_s_own_lathe_with_this_package(self, tmp_path, monkeypatch):
        monkeypatch.chdir(tmp_path)
        (tmp_path / "answers.json").write_text('{"class_number": 3}')
        asks = (
            "import gearcalc, sys, os\nfrom gearcalc.learning.own_lathe import my_lathe",
            "from gearcalc.learning.answer_book import answer_book\nprint(answer_book().class_number)",
            "print(my_lathe()[0].name)\nprint(my_lathe()[1])",
            "print(gearcalc.__file__)\nprint(sys.executable)",
        )
        (ran,) = run_lessons([self.lesson(tmp_path, *asks)], demo_lathe("odd"), 17, "our school.toml")
        said = "".join(each.text for cell in ran.cells for each in cell.outputs).splitlines()
        import gearcalc

        name = demo_lathe("odd").name
        assert said == [
            "17",
            name,
            f"This is your lathe, {name}, from our school.toml.",
            gearcalc.__file__,
            sys.executable,
        ]

    def test_a_lesson_of_ones_own_finds_what_lies_beside_it(self, ask, tmp_path):
        own = self.lesson(tmp_path, words("# Our own\n\n![A dot](dot.svg)"), "from ours import said\nprint(said)")
        (tmp_path / "ours.py").write_text("said = 6 * 7")
        (tmp_path / "dot.svg").write_text("<svg/>")
        code, _, err = ask("handout", own, "--save", tmp_path / "a.html")
        page = (tmp_path / "a.html").read_text("utf-8")
        assert (code, err) == (0, "")
        assert "<pre>42" in page
        assert b64encode(b"<svg/>").decode() in page

    @pytest.mark.parametrize("lathe", ["odd", None])
    def test_a_lesson_of_ones_own_goes_on_on_the_school_s_own_lathe(self, ask, tmp_path, lathe):
        own = self.lesson(
            tmp_path,
            "from gearcalc.learning.own_lathe import my_lathe\nmine, which = my_lathe()\nprint(which)",
            "import gearcalc as gc\nprint(gc.find_setups(mine, '2 mm', count=1)[0].lathe.name)",
        )
        given = () if lathe is None else ("--lathe", tmp_path / "our school.toml")
        if lathe is not None:
            demo_lathe(lathe).save(given[1])
        assert ask("handout", own, "--save", tmp_path / "a.html", *given)[0] == 0
        page = (tmp_path / "a.html").read_text("utf-8")
        name = demo_lathe(lathe or "inch").name
        said = f"This is your lathe, {name}, from our school.toml." if lathe else f"This is the demo lathe, {name}:"
        assert said in page
        assert f"<pre>{name}" in page

    def test_what_is_no_notebook_is_said(self, tmp_path):
        (tmp_path / "a.ipynb").write_text("{")
        with pytest.raises(NotPossibleError, match=r"a\.ipynb.*no notebook"):
            list(run_lessons(lessons_named([str(tmp_path / "a.ipynb")])))

    def test_what_fails_is_said(self, tmp_path):
        with pytest.raises(NotPossibleError, match=r"20_a_test.*ZeroDivisionError: division by zero"):
            list(run_lessons([self.lesson(tmp_path, "1 / 0")]))


class TestThePrinter:
    def test_none_is_said_with_what_to_do(self, monkeypatch):
        monkeypatch.delenv(page_printer.NAMED_BY, raising=False)
        monkeypatch.setattr(page_printer.shutil, "which", lambda name: None)
        with pytest.raises(NotPossibleError, match=r"Chromium.*GEARCALC_CHROMIUM.*\.html"):
            page_printer.find_printer()

    def test_the_one_that_is_named_goes_first(self, monkeypatch):
        monkeypatch.setenv(page_printer.NAMED_BY, sys.executable)
        assert page_printer.find_printer() == sys.executable
        monkeypatch.setenv(page_printer.NAMED_BY, "/no/such/browser")
        with pytest.raises(NotPossibleError, match="GEARCALC_CHROMIUM names no program"):
            page_printer.find_printer()

    def test_one_that_prints_nothing_is_said_and_leaves_what_was_there(self, tmp_path):
        there = tmp_path / "a.pdf"
        there.write_text("mine")
        with pytest.raises(NotPossibleError, match=r"^[^(]*the browser printed no PDF"):  # and not a word of the place
            page_printer.print_page("<p>a</p>", there, sys.executable)
        assert (there.read_text(), list(tmp_path.iterdir())) == ("mine", [there])

    def test_a_folder_that_is_not_there_is_said(self, tmp_path):
        with pytest.raises(NotPossibleError, match="can't be printed here"):
            page_printer.print_page("<p>a</p>", tmp_path / "no" / "a.pdf", sys.executable)


@pytest.fixture
def not_run(monkeypatch):
    """Lessons as they are committed, in place of run ones; what they were to be run with."""
    asked = []

    def read(lessons, *how):
        asked.append((tuple(lessons), *how))
        return map(as_committed, lessons)

    monkeypatch.setattr(module, "run_lessons", read)
    return asked


class TestTheCommand:
    def test_one_page(self, ask, not_run, tmp_path):
        code, out, err = ask("handout", "07", "--save", tmp_path / "seven.html")
        assert (code, err) == (0, "")
        assert "seven.html" in out
        assert "<h1" in (tmp_path / "seven.html").read_text("utf-8")
        assert not_run == [((LESSONS["07"],), None, None, "my_lathe.toml")]

    def test_what_was_left_out_is_said_on_the_screen(self, ask, tmp_path, monkeypatch):
        write([words("# Ours\n\n![A gear](gear.png) <script src='a.js'></script>")], tmp_path / "ours.ipynb")
        monkeypatch.setattr(module, "run_lessons", lambda lessons, *how: map(as_committed, lessons))
        for option in ((), ("--json",)):
            code, out, err = ask("handout", tmp_path / "ours.ipynb", "--save", tmp_path / "a.html", *option)
            assert (code, err) == (0, "")
            assert "a script (a.js)" in out
            assert "a picture that is not there (gear.png)" in out

    def test_a_file_that_is_not_there_is_said(self, ask, not_run):
        code, out, err = ask("handout", "our_nothing.ipynb", "--save", "a.html")
        assert (code, out, not_run) == (2, "", [])
        assert "there is no such file 'our_nothing.ipynb'" in err

    def test_several_lead_to_each_other_and_to_no_other(self, ask, not_run, tmp_path):
        assert ask("handout", "00-02", "--save", tmp_path / "new" / "pages", "--class", "5", "--lathe", "odd")[0] == 0
        pages = {path.name: path.read_text("utf-8") for path in (tmp_path / "new" / "pages").iterdir()}
        assert set(pages) == {"00_start_here.html", "01_one_turn.html", "02_two_pairs.html"}
        assert set.union(*map(links_of, pages.values())) == set(pages)
        assert not_run[0][1:] == (demo_lathe("odd"), 5, "the demo lathes (odd)")

    def test_all(self, ask, not_run, tmp_path):
        assert ask("handout", "--all", "--without-code", "--save", tmp_path)[0] == 0
        assert {path.stem for path in tmp_path.iterdir()} == {path.stem for path in all_lessons()}

    @in_one(("asked", "said"), [
        ("--save a.html", "no lesson is named"), ("77 --save a.html", "there is no lesson '77'"),
        ("01 02 --save a.html", "several lessons"), ("01 --save a.html --class 1-24", "--class"),
        ("01 --save a.html --paper A9", "--paper"), ("01 --save a.html --lathe nobody", "nobody"),
        ("01", "--save"), ("01 --save a.docx", "a page or a PDF"), ("01-02 --save a.txt", "a page or a PDF"),
        ("0-99 --save pages", "there is no lesson '0-99'"), ("12-77 --save pages", "there is no lesson"),
        ("01 --save not/there/a.html", "no such folder"),
    ])  # fmt: skip
    def test_what_can_t_be_is_refused_before_the_work(self, ask, not_run, asked, said):
        code, out, err = ask("handout", *asked.split())
        assert (code, out, not_run) == (2, "", [])
        assert said in err

    def test_no_printer_is_said_before_the_work(self, ask, not_run, tmp_path, monkeypatch):
        monkeypatch.setenv(page_printer.NAMED_BY, str(tmp_path / "none"))
        code, out, err = ask("handout", "01", "--save", tmp_path / "a.pdf")
        assert (code, out, not_run, list(tmp_path.iterdir())) == (2, "", [], [])
        assert "GEARCALC_CHROMIUM" in err

    def test_where_nothing_can_be_written(self, ask, not_run, tmp_path):
        (tmp_path / "a").write_text("a file")
        code, _, err = ask("handout", "01", "--save", tmp_path / "a")
        assert (code, not_run) == (2, [])
        assert "there can't be a folder here" in err


def test_a_lathe_goes_with_the_lessons(not_run):
    lathe = demo_lathe("metric")
    list(handouts(lessons_named(["01"]), lathe, 4))
    assert not_run == [((LESSONS["01"],), lathe, 4, "my_lathe.toml")]
