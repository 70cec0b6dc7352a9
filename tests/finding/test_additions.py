"""Gears worth adding: against trying every purchase, and against an integer programme solved by scipy."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from itertools import combinations_with_replacement
from math import inf, pi, prod

import pytest

import gearcalc as gc
from gearcalc.basics.errors import NotPossibleError, ThreadTextError, UnknownNameError, ValueOutOfRangeError
from gearcalc.finding import least_purchase as purchase_search
from gearcalc.finding import nearest as known
from gearcalc.finding.rankings import Query, ranked
from gearcalc.pictures.gear_set_charts import what_opens
from gearcalc.threads.wanted import as_wanted
from tests.benches import bench
from tests.benchmarks.purchases import by_program
from tests.how_much import in_one

LEVERS = '[[gearbox]]\nlever = "a"\nratio = "1"\n[[gearbox]]\nlever = "b"\nratio = "1/2"\n'
NO_REVERSE = "[spindle_side]\nreverse = false\n"


def small_lathe(gears: list[int] | tuple[int, ...], more: str = "", lead: str = "3 mm") -> gc.Lathe:
    return gc.Lathe.from_toml(
        f'name = "Invented for tests"\nleadscrew.lead = "{lead}"\n{more}\n[gears]\nteeth = {list(gears)}'
    )


def purchases(candidates: list[int], most: int) -> Iterator[tuple[int, ...]]:
    for size in range(most + 1):
        yield from combinations_with_replacement(candidates, size)


def fewest_by_trying(
    lathe: gc.Lathe, threads: list[str], ppm: int, candidates: list[int], most: int, meshes: tuple[int, ...] = (1, 2)
) -> int | None:
    """The size of the smallest purchase with which the search for setups has an answer for every thread."""
    wanted = [as_wanted(text) for text in threads]
    for bought in purchases(candidates, most):
        richer = lathe.with_gears(add=bought)
        queries = (Query(richer, each, meshes, Fraction(ppm, 10**6)) for each in wanted)
        if all(next(ranked(query), None) is not None for query in queries):
            return len(bought)
    return None


def written_out(owned: list[int], wanted: float, within: float, candidates: list[int], levers: list[float]) -> set:
    """What each train of one or two meshes that is near enough wants bought, every train written out."""
    usable = sorted(set(owned) | set(candidates))
    found = set()
    for meshes in (1, 2):
        sides = list(combinations_with_replacement(usable, meshes))
        for drivers in sides:
            for driven in sides:
                if set(drivers) & set(driven):
                    continue
                ratio = prod(drivers) / prod(driven)
                if any(abs(ratio * lever / wanted - 1) <= within * (1 + 1e-9) for lever in levers):
                    bought = Counter(drivers + driven) - Counter(owned)
                    if set(bought) <= set(candidates):
                        found.add(tuple(sorted(bought.elements())))
    return found


HANDY = [20, 25, 28, 30, 32, 35, 36, 40, 42, 45, 48, 50, 54, 56, 60, 63, 65, 70, 72, 75, 80, 127]
TEXTS = ["1 mm", "1.25 mm", "1.75 mm", "0.75 mm", "2 mm", "0.7 mm", "16 tpi", "20 tpi", "module 1", "0.5 mm"]


def cases(seed: str, count: int) -> Iterator[tuple[list[int], list[int], list[str]]]:
    """Gears owned, candidates, threads: small enough to try everything."""
    draw = random.Random(seed)
    for _ in range(count):
        owned, candidates = draw.choices(HANDY, k=draw.randint(2, 5)), sorted(draw.sample(HANDY, draw.randint(3, 6)))
        yield owned, candidates, draw.sample(TEXTS, draw.randint(1, 2))


class TestAgainstTryingEveryPurchase:
    @in_one("more", ["", LEVERS, NO_REVERSE, NO_REVERSE + LEVERS])
    @in_one("ppm", [0, 500, 5000])
    def test_without_a_bracket(self, more, ppm):
        settled = Counter()
        for owned, candidates, threads in cases(f"{more}{ppm}", 10):
            lathe = small_lathe(owned, more)
            found = gc.gears_to_add(lathe, threads, ppm, most=3, candidates=candidates)
            fewest = fewest_by_trying(lathe, threads, ppm, candidates, 3)
            settled[fewest] += 1
            if fewest is None:
                assert not found.serves_all
                assert found.lower_bound > 3 or found.left_out
            else:
                assert found.serves_all
                assert found.proven
                assert len(found.gears) == fewest == found.lower_bound
        assert len(settled) > 1

    @pytest.mark.parametrize("reverse", [True, False])
    def test_with_a_bracket_that_stops_some(self, reverse):
        settled = Counter()
        for owned, candidates, threads in cases(f"bracket {reverse}", 8):
            gears = tuple(teeth // 2 + 10 for teeth in owned)
            lathe = bench(gears, reverse=reverse, module_mm=1.5)
            candidates = [teeth // 2 + 11 for teeth in candidates[:4]]
            found = gc.gears_to_add(lathe, threads, 20_000, most=2, candidates=candidates)
            fewest = fewest_by_trying(lathe, threads, 20_000, candidates, 2)
            settled[fewest] += 1
            assert found.serves_all == (fewest is not None)
            if fewest is not None:
                assert len(found.gears) == fewest
                assert found.proven
                assert all(setup.fit.goes_on for setup in found.setups)
        assert len(settled) > 1

    def test_three_meshes(self):
        for owned, candidates, threads in cases("three", 3):
            lathe = small_lathe(owned)
            found = gc.gears_to_add(lathe, threads[:2], 300, most=2, candidates=candidates[:4], meshes=3)
            fewest = fewest_by_trying(lathe, threads[:2], 300, candidates[:4], 2, meshes=(3,))
            assert found.serves_all == (fewest is not None)
            if fewest is not None:
                assert len(found.gears) == fewest


CANDIDATES = list(range(21, 80, 3))
LEADS = {"1 mm": 1, "1.25 mm": 1.25, "19 tpi": 25.4 / 19, "module 1": pi, "0.7 mm": 0.7, "1.75 mm": 1.75}


@cache
def planned_and_programmed(seed: int) -> tuple[gc.GearsToAdd, int]:
    draw = random.Random(seed)
    owned, texts = sorted(draw.choices(range(20, 81, 5), k=5)), draw.sample(sorted(LEADS), 3)
    found = gc.gears_to_add(small_lathe(owned, LEVERS), texts, 150, most=6, candidates=CANDIDATES)
    families = [written_out(owned, LEADS[text], 150e-6, CANDIDATES, [3.0, 1.5]) for text in texts]
    return found, by_program(families)


class TestAgainstAnIntegerProgramme:
    @in_one("seed", range(5))
    def test_the_least_is_the_same(self, seed):
        found, fewest = planned_and_programmed(seed)
        assert found.serves_all
        assert found.proven
        assert len(found.gears) == fewest

    def test_they_are_not_all_easy(self):
        assert {planned_and_programmed(seed)[1] for seed in range(5)} >= {2, 3}


class TestWhatComesBack:
    METRIC = ("0.5 mm", "0.7 mm", "0.8 mm", "1 mm", "1.25 mm", "1.5 mm", "1.75 mm", "2 mm", "2.5 mm", "3 mm")

    def test_an_inch_lathe_wants_a_127_for_exact_metric_threads(self):
        # 127 is a prime, and an inch is 127/5 mm: without a multiple of it no train is exact.
        found = gc.gears_to_add(gc.demo_lathe("inch"), self.METRIC, 0)
        assert found.gears == (127,)
        assert all(setup.is_exact for setup in found.setups)
        assert found.opened == found.threads
        assert found.lathe_with_them.gears == tuple(sorted((*gc.demo_lathe("inch").gears, 127)))

    def test_setups_are_within_the_tolerance_owned_and_go_on(self):
        lathe, threads = gc.demo_lathe("metric"), [f"{n} tpi" for n in (9, 13, 19, 28)]
        found = gc.gears_to_add(lathe, threads, 50)
        assert found.proven
        owned = Counter((*lathe.gears, *found.gears))
        for thread, setup in zip(found.threads, found.setups, strict=True):
            assert setup.wanted == thread
            assert abs(setup.error_ppm) <= 50
            assert Counter(setup.train.gears) <= owned
            assert setup.fit.goes_on

    def test_nothing_to_add(self):
        found = gc.gears_to_add(gc.demo_lathe("inch"), ["16 tpi", "8 tpi"], 0)
        assert (found.gears, found.proven, found.lower_bound, found.opened) == ((), True, 0, ())
        assert "Nothing to add" in found.verdict

    def test_the_same_purchase_each_time(self):
        once, again = (gc.gears_to_add(gc.demo_lathe("metric"), ["19 tpi", "11 tpi"], 100).gears for _ in range(2))
        assert once == again

    def test_among_equals_the_smallest_largest_error(self):
        # 47, 61, 94, 111 and 127 each open 1 mm within 50 ppm; 127 alone exactly.
        assert gc.gears_to_add(gc.demo_lathe("inch"), "1 mm", 50).gears == (127,)

    def test_two_of_a_size_where_two_are_needed(self):
        # 40 · 40 over 30 · 60 is 8/9: of these candidates only two 40s make it.
        found = gc.gears_to_add(small_lathe([30, 60]), f"lead {Fraction(8, 3)} mm", 0, candidates=[40, 50])
        assert found.gears == (40, 40)
        assert found.proven

    def test_pi_is_never_exact(self):
        found = gc.gears_to_add(gc.demo_lathe("metric"), "module 1", 0)
        assert not found.serves_all
        assert "none of these can be had" in found.verdict

    def test_an_added_gear_may_be_an_idler(self):
        lathe = small_lathe([40, 80], NO_REVERSE)  # one mesh turns it round, and there is nothing to turn it back
        found = gc.gears_to_add(lathe, "1.5 mm", 0, candidates=[25])
        assert found.gears == (25,)
        assert found.setups[0].train.idlers == ((25,),)

    def test_the_bracket_decides(self):
        lathe = gc.demo_lathe("inch")
        loose = gc.gears_to_add(lathe, ["1 mm", "13 tpi"], 20, must_fit=False)
        tight = gc.gears_to_add(lathe, ["1 mm", "13 tpi"], 20)
        assert len(tight.gears) >= len(loose.gears)
        assert all(setup.fit.goes_on for setup in tight.setups)

    def test_what_was_listed_twice_counts_once(self):
        found = gc.gears_to_add(gc.demo_lathe("inch"), ["1 mm", "M6", "1 mm"], 0)
        assert len(found.threads) == len(found.setups) == 2
        assert "Listed more than once, counted once: 1 mm." in found.notes

    def test_one_that_cannot_be_had_is_said_and_the_others_are_planned_for(self):
        found = gc.gears_to_add(gc.demo_lathe("inch"), ["lead 500 mm", "1 mm"], 0)
        assert found.gears == (127,)
        assert found.setups[0] is None
        assert [str(thread) for thread, _ in found.left_out] == ["lead 500 mm"]
        assert any("lead 500 mm can't be had" in note for note in found.notes)
        assert "1 of 2 threads, all that can be had" in found.verdict

    def test_more_than_allowed(self):
        found = gc.gears_to_add(small_lathe([24, 30, 40, 48, 60, 80]), [*self.METRIC, "11 tpi", "13 tpi"], 0, most=1)
        assert not found.proven
        assert found.lower_bound == 2
        assert len(found.gears) <= 1
        assert "takes more than 1 gear" in " ".join(found.notes)
        assert "2 gears or more" in found.verdict

    def test_nothing_allowed(self):
        found = gc.gears_to_add(gc.demo_lathe("inch"), ["1 mm", "16 tpi"], 0, most=0)
        assert found.gears == ()
        assert found.setups[1] is not None

    def test_too_few_allowed_is_no_fault_of_the_candidates(self):
        lathe = small_lathe([20, 40], lead="8 tpi")  # 40/127 cuts 1 mm
        assert gc.gears_to_add(lathe, "1 mm", 0, most=1).gears == (127,)
        found = gc.gears_to_add(lathe, "1 mm", 0, most=0)
        assert "takes more than 0 gears" in " ".join(found.notes)
        assert "candidates" not in found.verdict

    def test_a_bracket_that_lets_nothing_on(self):
        lathe = bench((20, 30, 40), slots=(gc.demo_lathe("inch").bracket.slots[0],), spindle_side_at_mm=(500.0, 500.0))
        found = gc.gears_to_add(lathe, "16 tpi", 0, most=1, candidates=[50, 60])
        assert not found.serves_all
        assert "bracket" in found.notes[0]

    def test_no_gears_at_all(self):
        found = gc.gears_to_add(small_lathe([]), "1.5 mm", 0)
        assert len(found.gears) == 2
        assert found.setups[0].is_exact

    def test_in_words_and_as_a_table(self):
        found = gc.gears_to_add(gc.demo_lathe("inch"), ["1 mm", "16 tpi"], 0)
        assert "1 mm: " in str(found)
        assert "(new)" in str(found)
        page = found._repr_html_()
        assert page.count('scope="row"') == 2
        assert "<caption" in page

    def test_what_it_opens_is_what_the_gears_of_today_miss(self):
        lathe, threads = gc.demo_lathe("inch"), [*self.METRIC, "16 tpi", "27 tpi", "module 1"]
        found = gc.gears_to_add(lathe, threads, 100)
        missed = [str(each) for each in found.threads if not gc.find_setups(lathe, each, (1, 2), 1, within_ppm=100)]
        assert [str(each) for each in found.opened] == missed
        assert 0 < len(missed) < len(found.threads)
        for before, thread in zip(found.before, found.threads, strict=True):
            assert before == gc.find_setups(lathe, thread, (1, 2), 1)[0]

    def test_threads_of_the_same_lead_are_one_question(self):
        found = gc.gears_to_add(gc.demo_lathe("inch"), ["M6", "1 mm", "M8x1", "M6 LH"], 0)
        assert [str(setup.wanted) for setup in found.setups] == ["M6x1", "1 mm", "M8x1", "M6x1 LH"]
        assert len({setup.train for setup in found.setups}) == 1
        assert [str(setup.wanted) for setup in found.before] == [str(thread) for thread in found.threads]

    def test_a_series_by_its_name(self):
        found = gc.gears_to_add(gc.demo_lathe("inch"), ["metric  Coarse", "1/4-20"], 0)
        assert len(found.threads) > 20
        assert found.gears == (127,)

    def test_feeds_too(self):
        found = gc.gears_to_add(gc.demo_lathe("metric"), ["0.1 mm/rev", "0.05 mm/rev cross"], 1000)
        assert found.serves_all


class TestAskedAgain:
    """What is nearest stays so whatever the tolerance, and is looked for once."""

    ASKED = ("M3", "M6", "1.25 mm", "16 tpi", "module 1")

    @pytest.fixture
    def looked(self, monkeypatch):
        found = []
        plain = known.ranked
        monkeypatch.setattr(known, "ranked", lambda query: found.append(query) or plain(query))
        known._known.cache_clear()
        return found

    def test_the_answer_is_that_of_a_first_time(self, looked):
        lathe = gc.demo_lathe("metric")
        for ppm in (500, 20, 0, 21, 400):
            again = gc.gears_to_add(lathe, self.ASKED, ppm)
            known._known.cache_clear()
            assert again == gc.gears_to_add(lathe, self.ASKED, ppm)

    def test_little_is_left_to_look_for(self, looked):
        lathe = gc.demo_lathe("inch")
        gc.gears_to_add(lathe, self.ASKED, 50)
        first = len(looked)
        gc.gears_to_add(lathe, self.ASKED, 51)
        assert len(looked) - first < first / 2


class TestOddSizes:
    """Only gears of the first size are tried; one of another may do with fewer, so the words name the size."""

    MORE = "\n[[more_gears]]\nteeth = [32, 48]\nmodule_mm = 1\n"

    def odd(self, size: str = "module_mm = 1.25", more: str = MORE) -> gc.Lathe:
        gears = f"[gears]\nteeth = [40, 50, 60, 80]\n{size}\n"
        return gc.Lathe.from_toml(f'name = "Odd lathe"\nleadscrew.lead = "3 mm"\n{gears}{more}')

    @pytest.mark.parametrize(
        ("size", "named"),
        [("module_mm = 1.25", "module 1.25"), ("diametral_pitch = 16", "DP 16"), ("", "the first size")],
    )
    def test_the_verdict_names_the_size_that_was_tried(self, size, named):
        found = gc.gears_to_add(self.odd(size), "2.1 mm", 0)
        assert found.verdict.startswith(f"Add {found.gears[0]} ({named}): then")
        assert f"added ones of 20 to 127 teeth ({named})." in found.verdict
        seen = what_opens(found)
        assert f" exact only: {found.gears[0]} ({named}). " in seen.description
        assert f">teeth, {named}</text>" in seen.svg
        assert f"a new gear it can't be done ({named})" in seen.svg.replace("&#x27;", "'").replace("&#39;", "'")

    def test_of_one_size_nothing_is_said_of_it(self):
        found = gc.gears_to_add(self.odd(more=""), "2.1 mm", 0)
        assert "module" not in found.verdict + what_opens(found).svg

    def test_what_is_left_out_is_left_out_for_that_size(self):
        (note,) = gc.gears_to_add(self.odd(), "2.1 mm", 0, most=0).notes
        assert note.endswith("it takes more than 0 gears (module 1.25).")
        note, *_ = gc.gears_to_add(self.odd(), "module 1", 0).notes
        assert note.endswith("comes near enough, whatever gears (module 1.25) are added.")


class TestBeyondWhatIsProved:
    def test_the_bound_is_never_more_than_what_is_found(self):
        threads = [f"{n} BA" for n in range(6)]
        found = gc.gears_to_add(gc.demo_lathe("inch"), threads, 50)
        assert found.serves_all
        assert found.lower_bound <= len(found.gears)
        assert len(found.gears) > 3

    def test_little_effort_is_owned_up_to(self, monkeypatch):
        monkeypatch.setattr(purchase_search, "_MOST_BRANCHES", 0)
        monkeypatch.setattr(purchase_search, "_PROVED_FULLY", 1)
        found = gc.gears_to_add(gc.demo_lathe("inch"), [f"{n} BA" for n in range(5)], 50)
        assert not found.proven
        assert found.lower_bound == 2 < len(found.gears)
        assert "best found, not proved" in found.verdict
        assert "2 gears or more" in found.verdict


class TestABracketThatIsTooMuch:
    def test_only_what_ratios_prove_is_called_proved(self, monkeypatch):
        lathe, threads = gc.demo_lathe("inch"), ["M6", "M8", "M10", "M12"]
        by_ratios = gc.gears_to_add(lathe, threads, 60, must_fit=False)
        monkeypatch.setattr("gearcalc.finding.rankings._STEPS_A_TRAIN", inf)  # given up at the first misfit
        assert by_ratios.proven
        known._known.cache_clear()
        for must_fit in (True, False):
            found = gc.gears_to_add(lathe, threads, 60, must_fit=must_fit)
            assert not found.proven
            assert 0 < found.lower_bound <= len(by_ratios.gears)


class TestStopping:
    def test_by_hand_in_the_middle(self):
        code = """
import signal, gearcalc as gc
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background jobs ignore it
lathe = gc.Lathe.from_toml('name = "a"\\nleadscrew.lead = "3 mm"\\ngears.teeth = [24, 30, 40, 48, 60, 80]')
threads = ["unified pitches", "modules", "metric pitches"]
gc.gears_to_add(lathe, threads, 100_000)  # what is loaded and read the first time is no search yet
print("ready", flush=True)
found = gc.gears_to_add(lathe, threads, 5, most=12)
print(found.interrupted, found.proven, all(abs(one.error_ppm) <= 5 for one in found.setups if one is not None))
"""
        running = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
        assert running.stdout.readline() == "ready\n"
        time.sleep(0.3)
        running.send_signal(signal.SIGINT)
        assert running.communicate(timeout=60)[0] == "True False True\n"
        assert running.returncode == 0

    def test_the_best_so_far_is_kept(self, monkeypatch):
        buy_by_gain = purchase_search.PurchaseSearch._buy_by_gain

        def stopped(search: purchase_search.PurchaseSearch) -> None:
            buy_by_gain(search)
            raise KeyboardInterrupt

        monkeypatch.setattr(purchase_search.PurchaseSearch, "_buy_by_gain", stopped)
        threads = ["9 tpi", "13 tpi", "19 tpi", "27 tpi", "28 tpi", "module 1"]
        found = gc.gears_to_add(gc.demo_lathe("metric"), threads, 20)
        assert found.interrupted
        assert found.gears
        assert not found.proven
        assert "stopped" in found.verdict
        assert found.opened

    def test_stopped_at_once(self, monkeypatch):
        def stopped(*_: object) -> None:
            raise KeyboardInterrupt

        monkeypatch.setattr(purchase_search.PurchaseSearch, "_leave_out_the_hopeless", stopped)
        found = gc.gears_to_add(gc.demo_lathe("inch"), ["1 mm", "16 tpi"], 0)
        assert (found.gears, found.interrupted, found.proven, found.lower_bound) == ((), True, False, 0)
        assert [setup is not None for setup in found.setups] == [False, True]


class TestProgress:
    def test_is_shown_where_asked_for(self, capsys):
        gc.gears_to_add(gc.demo_lathe("inch"), ["1 mm", "11 tpi"], 0, progress=True)
        assert "each thread alone" in capsys.readouterr().err

    def test_and_not_even_loaded_where_not(self, capsys):
        ask = "gc.gears_to_add(gc.demo_lathe('inch'), '1 mm', 0)"
        code = f"import gearcalc as gc, sys; {ask}; print('tqdm' in sys.modules)"
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        assert done.stdout.strip() == "False"
        assert done.stderr == ""


class TestPurePython:
    def test_nothing_heavy_is_loaded(self):
        ask = "gc.gears_to_add(gc.demo_lathe('inch'), '1 mm', 0); gc.coverage(gc.demo_lathe('inch'), 1, 2).mean_ppm"
        heavy = "{'numpy', 'pandas', 'scipy', 'sympy', 'matplotlib', 'ipywidgets', 'tqdm'}"
        code = f"import gearcalc as gc, sys; {ask}; print({heavy} & set(sys.modules))"
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
        assert done.stdout.strip() == "set()"


class TestRefusals:
    @in_one("ppm", [-1, "x", None, 10**6, float("nan")])
    def test_tolerances(self, ppm):
        with pytest.raises(ValueOutOfRangeError):
            gc.gears_to_add(gc.demo_lathe("inch"), "1 mm", ppm)

    @in_one("most", [-1, 13, 2.5, None, True])
    def test_how_many(self, most):
        with pytest.raises(ValueOutOfRangeError, match="most"):
            gc.gears_to_add(gc.demo_lathe("inch"), "1 mm", most=most)

    @in_one("candidates", [[], [0], [5], "40", range(20, 2000), [2.5], None])
    def test_candidates(self, candidates):
        with pytest.raises(ValueOutOfRangeError, match="candidate"):
            gc.gears_to_add(gc.demo_lathe("inch"), "1 mm", candidates=candidates)

    def test_an_empty_list(self):
        with pytest.raises(ValueOutOfRangeError, match="1 to 300 threads, not 'none'"):
            gc.gears_to_add(gc.demo_lathe("inch"), [])

    def test_a_list_without_an_end(self):
        with pytest.raises(ValueOutOfRangeError, match="more than 300"):
            gc.gears_to_add(gc.demo_lathe("inch"), iter(lambda: "1 mm", None))

    def test_text_that_is_no_thread(self):
        with pytest.raises(ThreadTextError):
            gc.gears_to_add(gc.demo_lathe("inch"), ["1 mm", "M8x"])

    @pytest.mark.parametrize("ask", [gc.gears_to_add, gc.plan_changeover, gc.wall_plate, gc.chart])
    def test_a_series_that_is_none_is_called_so_wherever_threads_are_listed(self, ask):
        with pytest.raises(UnknownNameError, match=r"no thread series called 'UNX'\. There are metric coarse"):
            ask(gc.demo_lathe("inch"), ["1 mm", "UNX"])

    @pytest.mark.parametrize("meshes", [0, 4, (), "2"])
    def test_meshes(self, meshes):
        with pytest.raises(ValueOutOfRangeError, match="meshes"):
            gc.gears_to_add(gc.demo_lathe("inch"), "1 mm", meshes=meshes)

    def test_yes_or_no(self):
        with pytest.raises(ValueOutOfRangeError, match="must_fit"):
            gc.gears_to_add(gc.demo_lathe("inch"), "1 mm", must_fit=1)  # type: ignore[arg-type]

    def test_a_feed_that_the_lathe_has_not(self):
        with pytest.raises(NotPossibleError, match="cross feed"):
            gc.gears_to_add(small_lathe([20, 40]), "0.1 mm/rev cross")

    def test_what_is_no_lathe(self):
        with pytest.raises(ValueOutOfRangeError, match="a lathe is wanted"):
            gc.gears_to_add("inch", "1 mm")  # type: ignore[arg-type]
