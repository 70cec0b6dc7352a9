"""Commands for a class: what is written, what is said, and what is refused before anything is written."""

from __future__ import annotations

import json
import shlex
import sys

import pytest

import gearcalc as gc
from gearcalc.learning.exercises.tasks import _RECIPES
from gearcalc.learning.progress import lessons_with_exercises
from tests.how_much import in_one
from tests.teaching.invented_class import NAMES, RIGHT, answers, go, hand_in, planted, write


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


class TestWorksheet:
    def test_sets_and_key_are_written(self, ask, folder):
        code, out, err = ask(
            "worksheet", "01", "--class", "1-3", "--points", 2, "--save", "set.pdf", "--key", "key.pdf"
        )
        assert (code, err) == (0, "")
        assert out.splitlines() == [
            "Exercises: 01 · One turn of the spindle: 4 problems for each of 3 learners, in set.pdf.",
            "To print: 3 pages, 1 for each learner.",
            "The key is page 1 of key.pdf; the worked solutions are pages 2 to 3.",
        ]
        pages = [(folder / name).read_bytes().count(b"/Type /Page ") for name in ("set.pdf", "key.pdf")]
        assert pages == [3, 3]

    def test_how_much_there_is_to_print(self, ask, folder):
        out = ask("worksheet", "1-2", "--class", "1-2", "--space", "40", "--two-sided", "--save", "set.pdf")[1]
        pages = (folder / "set.pdf").read_bytes().count(b"/Type /Page ")
        assert out.splitlines()[1] == f"To print: {pages} pages, {pages // 2} for each learner, on {pages // 2} sheets."
        asked = ["worksheet", "two-pairs", "--class", "1-2", "--save", "a.pdf", "--key", "k.pdf", "--json"]
        told = json.loads(ask(*asked)[1])
        written = [(folder / name).read_bytes().count(b"/Type /Page ") for name in ("a.pdf", "k.pdf")]
        assert [told["pages"], told["key_pages"]] == written

    def test_the_same_command_writes_the_same_bytes(self, ask, folder):
        asked = ["worksheet", "two-pairs", "--class", "5", "--test", "autumn", "--save", "set.pdf", "--key", "key.pdf"]
        written = []
        for _ in range(2):
            assert ask(*asked)[0] == 0
            written.append([(folder / name).read_bytes() for name in ("set.pdf", "key.pdf")])
        assert written[0] == written[1]

    def test_without_a_file_the_key_is_said(self, ask, folder):
        out = ask("worksheet", "lead-of-a-leadscrew", "--class", "12", "--count", "2")[1]
        keys = [gc.exercise("lead-of-a-leadscrew", 12, go=go).key for go in (1, 2)]
        title = gc.exercise("lead-of-a-leadscrew", 12).title
        assert out.splitlines()[1:] == ["class number 12:", f"  1. {title}: {keys[0]}", f"  2. {title}: {keys[1]}"]
        assert not list(folder.iterdir())

    def test_names_of_a_list_and_one_that_can_not_be_printed(self, ask, folder):
        (folder / "class list.csv").write_text("number,name\n3,Ada Invented\n4,李小龙\n", encoding="utf-8")
        asked = ["worksheet", "two-pairs", "--class", "class list.csv", "--save", "s.pdf"]
        out = ask(*asked)[1]
        assert "The lettering has not all signs of the name of class number 4: there is a line to write it on." in out
        told = json.loads(ask(*asked, "--json")[1])
        assert [(each["number"], each["name"]) for each in told["learners"]] == [(3, "Ada Invented"), (4, "李小龙")]

    def test_the_foot_of_the_key_makes_the_same_again(self, ask, folder, monkeypatch):
        from gearcalc.teaching import worksheet_papers

        feet = []
        as_it_is = worksheet_papers.key_paper
        monkeypatch.setattr(
            worksheet_papers, "key_paper", lambda *a, foot, **b: feet.append(foot) or as_it_is(*a, foot=foot, **b)
        )
        asked = ["worksheet", "02", "two-pairs", "--class", "3, 5", "--count", "2", "--test", "Spring 2027"]
        told = json.loads(ask(*asked, "--key", "key.pdf", "--json")[1])
        begins = f"gearcalc {gc.__version__} makes the same numbers again with: python -m gearcalc "
        assert feet[0].startswith(begins)
        again = json.loads(ask(*shlex.split(feet[0].removeprefix(begins)), "--json")[1])
        assert again["learners"] == told["learners"]
        assert told["test"] == "spring 2027"

    @in_one(
        "asked, said",
        [
            ("01", "--class"),
            ("01 --class 1-3 --save set.docx", "sets and key are saved as a file ending .pdf"),
            ("01 --class 1-3 --save a.pdf --key ./a.pdf", "the key can't be in the file of the sets"),
            ("01 --class 1-3 --save no/a.pdf", "the answer can't be saved here"),
            ("01 --class 1-3 --save a.pdf --key no/k.pdf", "the answer can't be saved here"),
            ("01 --class 1-3 --test= --save a.pdf", "this is no word for a test"),
            ("01 --class 1-3 --test=-. --save a.pdf", "this is no word for a test"),
            ("1-99 --class 1-3 --save a.pdf", "no such lesson has exercises"),
            ("99 --class 1-3 --save a.pdf", f"Lessons 1 to {max(each.number for each in lessons_with_exercises())}"),
            ("tow-pairs --class 1-3 --save a.pdf", "two-pairs"),
            ("01 --class 3-1 --save a.pdf", "backwards"),
            ("01 --class 1 --points 1,2 --save a.pdf", "there are 4 problems, and points for 2"),
            ("01 --class 1 --space 900 --save a.pdf", "the space"),
            ("01 --class 1 --count 0 --save a.pdf", "--count must"),
            ("01 --class 1 --lathe nowhere --save a.pdf", "nowhere"),
            ("03 --class 1 --paper A5 --save a.pdf", "A5"),
        ],
    )
    def test_what_can_not_be_done_is_said_and_nothing_is_written(self, ask, folder, asked, said):
        code, out, err = ask("worksheet", *asked.split())
        assert (code, out) == (2, "")
        assert said in err
        assert not list(folder.iterdir())


class TestExercises:
    def test_each_is_named_once_with_lesson_and_title(self, ask):
        lines = ask("exercises")[1].splitlines()
        assert [line.split()[1] for line in lines] == list(gc.exercise_names())
        for line, name in zip(lines, gc.exercise_names(), strict=True):
            posed = gc.exercise(name, 1)
            assert line.startswith(f"{posed.lesson:02}  {name} ")
            assert posed.title in line

    def test_of_one_lesson(self, ask):
        lines = ask("exercises", 3)[1].splitlines()
        assert [line.split()[1] for line in lines] == list(gc.exercise_names(3))
        code, _, err = ask("exercises", 77)
        assert (code, "no such lesson" in err) == (2, True)

    def test_where_a_name_is_wrong_it_is_said_where_the_names_are(self, ask):
        assert "'gearcalc exercises' lists them all" in ask("worksheet", "three-pears", "--class", "1")[2]


class TestWhereItIsSaved:
    @in_one(
        "asked",
        [
            "card inch M8 --save {}",
            "chart inch M8 --save {}",
            "bracket inch 40/80 --save {}",
            "faults --save {}",
            "marks . --save {}",
            "worksheet 01 --class 1 --save {}",
            "worksheet 01 --class 1 --key {}",
        ],
    )
    def test_is_looked_at_before_the_work(self, ask, folder, monkeypatch, asked):
        def worked(options):
            raise AssertionError("it went to work")

        name = asked.split()[0]
        place = {"card": "shop", "chart": "shop", "faults": "shop", "bracket": "lathe"}.get(name, "class")
        monkeypatch.setattr(f"gearcalc.commands.{place}_commands._{name}", worked)
        ending = {"bracket": "svg", "marks": "html"}.get(name, "pdf")
        (folder / f"there.{ending}").mkdir(exist_ok=True)
        for path in (f"no/a.{ending}", f"there.{ending}"):
            code, out, err = ask(*asked.format(path).split())
            assert (code, out) == (2, ""), path
            assert "can't be saved here" in err


class TestMarks:
    def test_a_class_in_one_command(self, ask, tmp_path):
        sown = hand_in(tmp_path / "in", range(1, 9), gc.exercise_names(1)[:4])
        (tmp_path / "list.csv").write_text("".join(f"{n},{name}\n" for n, name in enumerate(NAMES, 1)), "utf-8")
        page = tmp_path / "marks.html"
        code, out, err = ask("marks", tmp_path / "in", "--class", tmp_path / "list.csv", "--save", page)
        assert (code, err, page.is_file()) == (0, "", True)
        lines = out.splitlines()
        for number, name in enumerate(NAMES, 1):
            right = sum(kind == RIGHT for (whose, _), (kind, *_) in sown.items() if whose == number)
            assert lines[number - 1].startswith(f"{name} ({number}): {right} of 7 right, ")
        assert lines[-1] == f"Written: {page}"
        code, out, err = ask("marks", tmp_path / "in", "--json")
        assert [one["name"] for one in json.loads(out)["learners"]] == list(NAMES)

    def test_what_was_not_taken_is_said_and_seen_in_the_exit_code(self, ask, tmp_path):
        (name,) = gc.exercise_names(1)[:1]
        write(tmp_path / "answers-ada.json", answers(1, NAMES[0], {name: [go(1, planted(name, 1, RIGHT)[0])]}))
        assert ask("marks", tmp_path)[0] == 0
        (tmp_path / "answers-x.json").write_text("{")
        code, out, err = ask("marks", tmp_path)
        assert (code, err) == (1, "")
        assert "Not taken: answers-x.json: the file can't be read" in out

    def test_what_can_t_be_done(self, ask, tmp_path):
        for arguments in ([tmp_path / "away"], [tmp_path], [tmp_path, "--class", "x"], []):
            code, out, err = ask("marks", *arguments)
            assert (code, out, len(err.splitlines())) == (2, "", 1), arguments


OWN = """from fractions import Fraction
from gearcalc.learning.exercises.number_answers import Number
from gearcalc.learning.exercises.tasks import Task, poses

@poses("our-invented-bar", lesson=1, goal=1, title="Our bar")
def our_invented_bar(draw):
    n = draw.choice((12, 14, 18))
    return Task(question=f"Of {n}, a third?", answer=Number(n / 3), hints="One.\\nTwo.", solution=f"**{n / 3}**",
                right="")
"""


@in_one(
    "asked",
    [
        ("marks", "FOLDER"),
        ("lessons", "FOLDER", "--as-it-is"),
        ("serve", "FOLDER"),
        ("handout", "FOLDER.ipynb", "--save", "page.html"),
        ("handout", "01", "--save", "FOLDER/page.html"),
    ],
)
def test_a_name_longer_than_any_folders_is_refused_in_a_few_words(ask, folder, asked):
    code, _, said = ask(*(word.replace("FOLDER", "x" * 3000) for word in asked))
    assert (code, said[:10]) == (2, "gearcalc: ")
    assert len(said) < 600


class TestExercisesOfOnesOwn:
    @pytest.fixture(autouse=True)
    def own(self, folder):
        (folder / "our bars.py").write_text(OWN, encoding="utf-8")
        yield
        _RECIPES.pop("our-invented-bar", None)
        sys.modules.pop("our bars", None)

    def test_the_foot_of_a_key_names_the_file(self, ask, folder, monkeypatch):
        from gearcalc.teaching import worksheet_papers

        feet, as_it_is = [], worksheet_papers.key_paper
        monkeypatch.setattr(
            worksheet_papers, "key_paper", lambda *a, foot, **b: feet.append(foot) or as_it_is(*a, foot=foot, **b)
        )
        asked = ["worksheet", "our-invented-bar", "--with", "our bars.py", "--class", "3", "--key", "key.pdf"]
        assert ask("worksheet", "our-invented-bar", "--class", "3")[0] == 2
        assert ask(*asked)[0] == 0
        (again,) = (shlex.split(foot.partition("python -m gearcalc ")[2]) for foot in feet)
        assert again == asked[:-2]
        assert ask(*again)[0] == 0

    def test_a_lesson_of_ones_own_is_called_by_its_number_and_none_between_is(self, ask, folder):
        (folder / "our bars.py").write_text(OWN.replace("lesson=1, goal=1", "lesson=99"), encoding="utf-8")
        for named, title in (
            (["our-invented-bar"], "lesson 99"),
            (["01", "02", "our-invented-bar"], "lessons 01, 02 and 99"),
        ):
            said = ask("worksheet", *named, "--with", "our bars.py", "--class", "3", "--json")[1]
            assert json.loads(said)["title"] == f"Exercises: {title}"

    def test_marks_say_once_for_the_class_what_is_missing_and_count_it_with_the_file(self, ask, folder):
        for number in (1, 2, 3):
            write(folder / f"in/{number}/answers.json", answers(number, "", {"our-invented-bar": [go(number, "9")]}))
        out = ask("marks", "in")[1]
        assert out.count("no such exercise") == 1
        assert "and 2 more" in out
        assert "--with our_exercises.py" in out
        told = json.loads(ask("marks", "in", "--with", "our bars.py", "--json")[1])
        states = {m["state"] for one in told["learners"] for m in one["marks"] if m["exercise"] == "our-invented-bar"}
        assert states == {"not right"}
        assert told["not_taken"] == []

    @pytest.mark.parametrize(
        ("name", "text"), [("gone.py", None), ("a.txt", ""), ("b.py", "1 / 0"), ("c.py", "raise SystemExit(0)")]
    )
    def test_a_file_that_is_none_or_stops_is_told(self, ask, folder, name, text):
        if text is not None:
            (folder / name).write_text(text)
        code, out, err = ask("worksheet", "01", "--with", name, "--class", "3")
        assert (code, out) == (2, "")
        assert name in err

    @pytest.mark.parametrize(
        ("pose", "why"),
        [
            ("    1 / 0", "ZeroDivisionError: division by zero"),
            ("    return None", "None"),
            ("    return Task(question=1)", "TypeError"),
            ("    return Task(**RIGHT | dict(solution=lambda: [1 / 0]))", "ZeroDivisionError: division by zero"),
            ("    return Task(**RIGHT | dict(solution=lambda: None))", "TypeError"),
            ("    return Task(**RIGHT | dict(slips={'a: b': 'c'}, apart=True))", "c"),
        ],
    )
    def test_an_exercise_that_stops_when_it_is_asked_is_named_with_its_error(self, ask, folder, pose, why):
        right = "RIGHT = dict(question='?', answer=Number(8), hints='a\\nb', solution='**8**', right='')\n\n"
        head = '@poses("our-invented-bar", lesson=1, title="Our bar")\ndef stops(draw):\n'
        (folder / "our bars.py").write_text(f"{OWN.partition('@')[0]}{right}{head}{pose}\n", encoding="utf-8")
        asked = ["worksheet", "our-invented-bar", "--with", "our bars.py", "--class", "3", "--save", "set.pdf"]
        code, out, err = ask(*asked, "--key", "key.pdf")
        assert (code, out, len(err.splitlines())) == (2, "", 1), err
        assert "exercise our-invented-bar: " in err
        assert err.count("our-invented-bar") == 1
        assert why in err
        assert not (folder / "set.pdf").exists()
