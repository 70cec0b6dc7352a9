"""Every rivalry at its smallest: it runs, the answers agree, and table, file and picture have all of it."""

from __future__ import annotations

import csv
import math
from fractions import Fraction
from functools import cache

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from gearcalc.threads import Thread
from tests.benchmarks import __main__ as command
from tests.benchmarks import approximations, coverage, growth_pictures, plans, purchases
from tests.benchmarks.integer_programs import Program
from tests.benchmarks.rivalry import (
    ALLOWED,
    LIMITS,
    NOT_RUN,
    Bench,
    Limit,
    OutOfTimeError,
    Rivalry,
    Row,
    Way,
    growth,
    same,
    two_figures,
    writing_seconds,
)
from tests.how_much import in_one

SMALLEST = {rivalry: rivalry.quick[0] for rivalry in command.RIVALRIES}


@cache
def smallest(rivalry):
    """Each rivalry at its smallest size, run once; an answer that differs would have ended it."""
    return list(Bench(patience=0).rows(rivalry, SMALLEST[rivalry]))


class TestEveryRivalry:
    @pytest.mark.parametrize("rivalry", command.RIVALRIES, ids=lambda rivalry: f"{rivalry.job}, {rivalry.case}")
    def test_runs_all_of_its_ways_and_they_agree(self, rivalry):
        rows = smallest(rivalry)
        ways = [way.name for way in rivalry.ways(SMALLEST[rivalry])]
        assert [row.way for row in rows] == [*ways, *LIMITS]
        assert all(row.seconds is not None and row.seconds > 0 for row in rows)
        assert rows[0].ours
        assert rows[0].ratio is None
        assert all(row.ratio is not None and row.said for row in rows[1:])
        assert not any("worse" in row.said or ", not proven" in row.said for row in rows if "greed" not in row.way)

    def test_none_beats_the_limits(self):
        limits = [row for rivalry in command.RIVALRIES for row in smallest(rivalry) if row.way in LIMITS]
        assert all(row.ratio < 1 for row in limits)

    def test_each_job_that_was_promised_is_there(self):
        promised = ["search", "chart", "plan", "purchases", "coverage", "approximation", "pictures", "import"]
        assert list(command.JOBS) == promised


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """What the command leaves of all that, each at its smallest."""
    folder = tmp_path_factory.mktemp("rivals")
    command.write(folder, [(rivalry, smallest(rivalry)) for rivalry in command.RIVALRIES])
    return folder


class TestTheCommand:
    def test_the_table_has_a_line_for_each_way_and_limit(self, folder):
        text = (folder / "rivals.md").read_text("utf-8")
        assert text.count("\n## ") == len(command.RIVALRIES)
        for rivalry in command.RIVALRIES:
            lines = command.table(rivalry, smallest(rivalry)).splitlines()
            assert "\n".join(lines) in text
            assert len(lines) == 4 + len(smallest(rivalry))
            assert len({line.count("|") for line in lines[2:]}) == 1

    def test_the_file_has_every_row(self, folder):
        with (folder / "rivals.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        assert len(rows) == sum(len(smallest(rivalry)) for rivalry in command.RIVALRIES)
        assert {row["job"] for row in rows} == set(command.JOBS)
        assert all(float(row["seconds"]) > 0 for row in rows)

    def test_the_picture_is_there_and_described(self, folder):
        assert (folder / "rivals.png").read_bytes().startswith(b"\x89PNG")
        assert b"Processor time against size" in (folder / "rivals.png").read_bytes()
        said = (folder / "rivals.txt").read_text("utf-8")
        assert all(rivalry.question in said for rivalry in command.RIVALRIES)

    def test_no_words_of_the_picture_lie_outside_it(self):
        """With the sizes of a whole run, whose figures are the longest; how long each took is made up here."""

        def rows(rivalry, size):
            ours = {way.name: way.ours for way in rivalry.ways(SMALLEST[rivalry])}
            front = rivalry.job, rivalry.case, rivalry.unit, size
            for place, way in enumerate([*ours, *LIMITS], 1):
                yield Row(*front, way, size / 1000 * place, 0.001 / place, "", ours.get(way, False))

        found = [(each, [row for size in each.sizes for row in rows(each, size)]) for each in command.RIVALRIES]
        figure, _ = growth_pictures.drawn(found)
        FigureCanvasAgg(figure).draw()
        paper = figure.bbox
        taken = {axes.get_title(loc="left"): axes.get_tightbbox() for axes in figure.axes if axes.axison}
        assert len(taken) == len(found) + 1
        assert not [
            title
            for title, at in taken.items()
            if at.x0 < paper.x0 or at.y0 < paper.y0 or at.x1 > paper.x1 or at.y1 > paper.y1
        ]

    def test_only_some_of_the_jobs(self, capsys, tmp_path):
        command.main(["--only", "coverage", "--quick", "--to", str(tmp_path / "new")])
        said = capsys.readouterr().out
        assert said.count("\n## ") == 1
        assert "every train written out" in said
        assert {path.name for path in (tmp_path / "new").iterdir()} == {
            f"rivals.{end}" for end in ("md", "csv", "png", "txt")
        }

    def test_what_was_measured_is_kept_where_the_run_ends_early(self, monkeypatch, tmp_path):
        def one_and_no_more(rivalries, *_):
            yield rivalries[0], smallest(rivalries[0])
            raise KeyboardInterrupt

        monkeypatch.setattr(command, "measured", one_and_no_more)
        with pytest.raises(KeyboardInterrupt):
            command.main(["--to", str(tmp_path)])
        rows = list(csv.DictReader((tmp_path / "rivals.csv").open(encoding="utf-8")))
        assert [row["way"] for row in rows] == [row.way for row in smallest(command.RIVALRIES[0])]

    def test_an_unknown_job_is_refused(self, capsys):
        with pytest.raises(SystemExit):
            command.main(["--only", "weaving"])
        assert "search" in capsys.readouterr().err


def a_job(*ways: Way, sizes=(1, 2, 4)) -> Rivalry:
    return Rivalry("job", "", "A job", "things", sizes, (1,), lambda size: ways, lambda *_: Limit("", 8, 1))


class TestBench:
    def test_an_answer_that_differs_ends_the_run(self):
        job = a_job(Way("ours", lambda: 1, ours=True), Way("theirs", lambda: 2))
        with pytest.raises(AssertionError, match="differ"):
            list(Bench(0).rows(job, 1))

    def test_what_takes_more_than_a_minute_or_a_gigabyte_is_not_run(self):
        def fails() -> None:
            raise AssertionError("not to be run")

        bench, key = Bench(0), ("job", "", "theirs")
        bench.known[key] = [(1e6, 1.0)]
        for steps, size in ((1e8, 0), (1, 2e9), (math.inf, 0)):
            job = a_job(Way("ours", lambda: 1, ours=True), Way("theirs", fails, steps=steps, bytes_needed=size))
            row = next(row for row in bench.rows(job, 1) if row.way == "theirs")
            assert row.said.startswith(NOT_RUN)
            assert (row.seconds, row.ratio) == (None, None)
        assert bench.foretold(key, 5e7) == pytest.approx(50)  # in proportion
        bench.known[key] = [(10, 1.0), (20, 8.0)]  # with the cube
        assert bench.foretold(key, 40) == pytest.approx(64)
        assert bench.foretold(("job", "", "another"), 1e9) == 0
        bench.known[key] = [(10, 1e-6), (20, 8.0)]  # a jump, of which no more than the fourth power is believed
        assert bench.foretold(key, 40) == pytest.approx(128)

    @pytest.mark.parametrize(
        ("problem", "said"),
        [
            (OutOfTimeError("20 s"), "no answer in 20 s"),
            (RecursionError("maximum depth"), "no answer: it calls itself too deep"),
        ],
    )
    def test_a_rival_that_gives_up_is_not_asked_for_more(self, problem, said):
        def gives_up() -> None:
            raise problem

        job, bench = a_job(Way("ours", lambda: 1, ours=True), Way("theirs", gives_up)), Bench(0)
        assert [row.said for row in bench.rows(job, 1)][1] == said
        assert [row.said for row in bench.rows(job, 2)][1] == NOT_RUN
        with pytest.raises(type(problem)):
            list(Bench(0).rows(a_job(Way("ours", gives_up, ours=True)), 1))

    def test_what_gearcalc_keeps_is_dropped_where_that_is_asked(self):
        from gearcalc.finding.tables import tables_of
        from gearcalc.lathes import GearSet

        def ask() -> None:
            tables_of(GearSet([20, 30]), 1)
            kept.append(tables_of.cache_info().currsize)

        kept: list[int] = []
        tables_of(GearSet([20, 30, 40]), 1)
        list(Bench(0).rows(a_job(Way("ours", ask, cold=True, ours=True)), 1))
        assert kept == [1]

    def test_the_growth_is_the_power_of_the_size(self):
        assert growth([(size, 3e-9 * size**2.5) for size in (5, 10, 20, 40)]) == pytest.approx(2.5)
        assert growth([(5, 1.0), (10, 2.0)]) is None

    @in_one(
        ("taken", "said"), [(0.0123, "12 ms"), (4.26e-6, "4.3 µs"), (60, "60 s"), (7.2e3, "2.0 h"), (6.4e8, "20 years")]
    )
    def test_times_are_written_with_two_figures(self, taken, said):
        assert writing_seconds(taken) == said

    def test_numbers_are_written_with_two_figures(self):
        assert [two_figures(each) for each in (0.12345, 1.26, 45.6, 123456)] == ["0.12", "1.3", "46", "120,000"]


class TestOracles:
    """What the rivals find, on problems small enough for a head."""

    def test_an_integer_program(self):
        program = Program()  # a knapsack: 3 and 4 and 5 kg, worth 4, 5, 6; 7 kg at most
        taken = [program.whole(0, 1, costs=-worth) for worth in (4, 5, 6)]
        program.holds(dict(zip(taken, (3, 4, 5), strict=True)), 0, 7)
        assert [round(each) for each in program.least()] == [1, 1, 0]

    def test_out_of_time(self, monkeypatch):
        monkeypatch.setattr(ALLOWED, "seconds", 1e-9)
        program = Program()
        taken = [program.whole(0, 9, costs=-(7 + n % 5)) for n in range(60)]
        program.holds({each: 11 + 7 * n % 13 for n, each in enumerate(taken)}, 0, 517)
        with pytest.raises(OutOfTimeError):
            program.least()

    def test_plans(self):
        # 30/60 to 40/60: one gear; to 40/50: another. In the other order the first two differ in both.
        jobs = [[(30, 60)], [(40, 50)], [(40, 60), (50, 60)]]
        assert plans.by_every_order(jobs) == plans.by_every_set(jobs) == plans.by_program(jobs) == 2

    def test_every_train_as_it_stands(self):
        # 16 tpi by 8 tpi is 1 to 2: 30/60, 40/80; of two pairs (30 · 40)/(60 · 40) would be one, but for the 40 twice.
        found = plans.every_train((30, 40, 60, 80), Thread.parse("16 tpi"), (1, 2))
        assert sorted(found) == [(30, 60, 0, 0), (40, 80, 0, 0)]
        # With 75 and 100 for 60 and 80: 30 · 50 over 40 · 75, each side in both orders.
        found = plans.every_train((30, 40, 50, 75), Thread.parse("16 tpi"), (2,))
        assert sorted(found) == [(30, 40, 50, 75), (30, 75, 50, 40), (50, 40, 30, 75), (50, 75, 30, 40)]

    def test_purchases(self):
        # Two threads share the 127; greed takes what serves two first, and then needs two more.
        open_to = [{(127,)}, {(127,), (63,)}, {(21, 22)}]
        assert purchases.by_program(open_to) == purchases.by_greed(open_to) == 3
        trap = [{(1,), (2,)}, {(1,), (2,)}, {(1,), (3,)}, {(1,), (3,)}, {(2,)}, {(3,)}]
        assert (purchases.by_program(trap), purchases.by_greed(trap)) == (2, 3)

    def test_coverage(self):
        gears = range(20, 26)
        assert coverage.by_writing_out(gears) == coverage.by_numpy(gears)

    def test_fractions(self):
        # 3, 13/4, 16/5, 19/6, 22/7: Hardy and Wright, ch. X (from memory).
        first = [Fraction(3), Fraction(13, 4), Fraction(16, 5), Fraction(19, 6), Fraction(22, 7)]
        assert approximations.by_trying(7) == approximations.by_limit_denominator(7) == first
        assert approximations.by_sympy(4) == [3, Fraction(22, 7), Fraction(333, 106), Fraction(355, 113)]
        assert same(first, first) == "same"
