"""What the README says holds: its example, its commands, its lathe file, its pictures and links."""

from __future__ import annotations

import doctest
import re
import shlex

import pytest

from gearcalc.commands import main
from gearcalc.finding.plates import check_plate
from gearcalc.lathes import Lathe
from gearcalc.teaching.guide import ways_table


@pytest.fixture(scope="module")
def readme(request):
    return (request.config.rootpath / "README.md").read_text(encoding="utf-8")


def blocks(text, language):
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.M | re.S)


class TestReadme:
    def test_the_job_stands_at_the_top(self, readme):
        title, job, answer, *_ = readme.split("\n\n")
        assert title.startswith("# gearcalc")
        who = ("small lathe", "teach", "quick-change gearbox")
        to_do = ("gears", "isolate", "cover", "bracket", "studs", "mesh", "interlock", "cut")
        goes_wrong = ("plate", "missing", "near miss", "does not go on", "wrong lead", "fingers")
        assert [words for words in (*who, *to_do, *goes_wrong) if words not in " ".join(job.split())] == []
        assert "gearcalc" not in job, "first the job, then what the package does for it"
        assert answer.startswith("gearcalc ")

    def test_three_commands_one_line_each(self, readme):
        commands = blocks(readme, "sh")
        assert [command.count("\n") for command in commands] == [1, 1, 1]
        assert all(" -m venv .venv && .venv/bin/python -m pip install -q " in command for command in commands)
        assert commands[0].endswith("-m gearcalc lessons\n")
        assert '".[voila]"' in commands[1]
        assert commands[1].endswith("voila notebooks/workbench.ipynb\n")
        assert '".[test]"' in commands[2]
        assert commands[2].endswith("-m pytest -n 2\n")

    def test_five_lines_that_run(self, readme):
        (example,) = blocks(readme, "python")
        parsed = doctest.DocTestParser().get_doctest(example, {}, "README.md", "README.md", 0)
        assert len(parsed.examples) == 5
        told = []
        outcome = doctest.DocTestRunner().run(parsed, out=told.append)
        assert outcome.failed == 0, "".join(told)

    def test_the_shell_commands_run(self, readme, capsys):
        (listed,) = blocks(readme, "console")
        for line in listed.splitlines():
            prompt, python, module, package, *arguments = shlex.split(line)
            assert (prompt, python, module, package) == ("$", "python", "-m", "gearcalc")
            assert main(arguments) == 0, line
        assert "exact" in capsys.readouterr().out

    def test_the_lathe_file_is_one(self, readme):
        (text,) = blocks(readme, "toml")
        lathe = Lathe.from_toml(text)
        assert set(lathe.levers) == {"slow", "fast"}
        assert [row.problems for row in check_plate(lathe)] == [()]

    def test_what_is_left_out_counts_as_it_says(self, readme):
        (text,) = blocks(readme, "toml")
        bare = Lathe.from_toml(text.split("[[gearbox]]")[0] + "[gears]\nteeth = [20, 40]\n")
        assert "a right-hand leadscrew, a reverse" in readme
        assert (bare.leadscrew.hand, bare.spindle_side.reverse, bare.spindle_ratio) == ("right", True, 1)
        assert (bare.gearbox, bare.bracket) == ((), None)
        assert not Lathe.from_toml(bare.to_toml().replace("reverse = true", "reverse = false")).spindle_side.reverse

    def test_its_files_are_there(self, readme, request):
        linked = re.findall(r"\]\((?!https?:)([^)#]+)\)", readme) + re.findall(
            r"`((?:data|gearcalc|notebooks)/\S*)`", readme
        )
        assert {"gearcalc/LICENSE", "notebooks/LICENSE", "DEVELOPERS.md"} <= set(linked)
        assert [name for name in linked if not (request.config.rootpath / name).exists()] == []

    def test_folders_that_it_makes_in_the_checkout_are_no_news_to_git(self, readme, request):
        made = re.findall(
            r"(?:-m venv|gearcalc web|wheel -q -w|--all --save|Your copies .+ in) `?([\w.][\w.-]*)", readme
        )
        hidden = (request.config.rootpath / ".gitignore").read_text(encoding="utf-8").split()
        assert len(set(made)) == 6, made
        assert {f"{name}/" for name in made} <= set(hidden)

    def test_the_ways_to_the_lessons_are_those_that_instructors_read(self, readme):
        after = readme.partition("### How the lessons reach your learners")[2].strip()
        lines = [line.strip("| ").replace("`", "") for line in after.partition("\n\n")[0].splitlines()]
        table = ways_table()
        assert [lines[0], *lines[2:]] == [table.heads, *map(" | ".join, table.rows)]
        assert {"lessons", "web", "serve", "hub", "marks"} <= set(re.findall(r"\w+", str(table)))

    def test_pictures_are_described(self, readme):
        described = re.findall(r"!\[(.*?)\]\(", readme, re.S)
        assert described
        assert min(map(len, described)) > 40


def test_every_file_that_developers_are_sent_to_is_there(request):
    root = request.config.rootpath
    text = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = {name for name in re.findall(r"`([\w./]+\.(?:py|md|toml|ipynb|csv|css))`", text) if "NN" not in name}
    named -= {"my_lathe.toml"}  # its reader's own
    kept = [path for folder in ("gearcalc", "tests", "data", "notebooks") for path in (root / folder).rglob("*.*")]
    there = [f"/{path.relative_to(root).as_posix()}" for path in (*kept, *root.glob("*.*"))]
    assert len(named) > 10
    assert [name for name in sorted(named) if not any(path.endswith(f"/{name}") for path in there)] == []
