"""Any train on any lathe: its derivation is true step by step, readable, and gives each gear back."""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction
from html.parser import HTMLParser
from itertools import pairwise

import sympy
from attrs import evolve
from hypothesis import assume, given
from hypothesis import strategies as st

from gearcalc.basics.exact import to_sympy
from gearcalc.deriving.derivations import derive
from gearcalc.deriving.missing_gears import solve_for_gear
from gearcalc.finding.setups import setup
from gearcalc.lathes import Feeds, GearSet, Lathe, Leadscrew, Lever, SpindleSide
from gearcalc.threads import Feed, Thread
from tests.how_much import examples
from tests.strategies import hands, screws, trains

ratios = st.fractions(Fraction(1, 8), 8, max_denominator=12)
names = st.text(st.characters(min_codepoint=32, max_codepoint=126), min_size=1, max_size=12).filter(str.strip)
wanted = st.sampled_from(
    [
        None,
        "1.5 mm",
        "M10x1.5 LH",
        "11 1/2 tpi",
        "1/4-20",
        "module 1.25",
        "DP 12",
        "M16xPh3P1.5",
        "lead 3/8 in",
        "0.1 mm/rev",
        "5 thou cross",
    ]
)


@st.composite
def lathes_and_trains(draw):
    """A lathe that owns just the gears of a train, the train, and a lever position."""
    train = draw(trains())
    drivers, driven, idlers = train.drivers, train.driven, train.idlers
    levers = draw(st.lists(st.builds(Lever, names, ratios, st.booleans()), max_size=2, unique_by=lambda one: one.name))
    lathe = Lathe(
        name="Any",
        leadscrew=Leadscrew(draw(screws), draw(hands)),
        gear_set=GearSet((*drivers, *driven, *(teeth for mesh in idlers for teeth in mesh))),
        spindle_side=SpindleSide(draw(ratios), draw(st.booleans()), draw(st.booleans())),
        gearbox=tuple(levers),
        feeds=Feeds(draw(ratios), draw(ratios)),
    )
    return lathe, (drivers, driven, idlers), levers[0].name if levers else None


def derived(case, wanted=None):
    lathe, (drivers, driven, idlers), lever = case
    cut = setup(lathe, drivers, driven, lever, idlers, wanted)
    return cut, derive(cut)


class Balance(HTMLParser):
    """Counts the tags left open, and collects the text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.left, self.names, self.text = Counter(), set(), ""
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.names.add(tag)
        if tag != "br":
            self.left[tag] += 1

    def handle_endtag(self, tag):
        self.left[tag] -= 1

    def handle_data(self, data):
        self.text += data


def balanced(latex: str) -> bool:
    bare = re.sub(r"\\[\\{}]", "", latex)  # a line end, or a brace that is shown
    depth = 0
    for sign in bare:
        depth += {"{": 1, "}": -1}.get(sign, 0)
        if depth < 0:
            return False
    return depth == 0 and latex.count(r"\begin{") == latex.count(r"\end{")


class TestDerive:
    @examples(20)
    @given(lathes_and_trains(), wanted)
    def test_the_ratios_multiply_to_the_lead(self, case, wanted):
        lathe, _, lever = case
        cut, shown = derived(case, wanted)
        ratios = [step.result for step in shown.steps if step.target.words.endswith("mesh")]
        ratios = ratios or [step.result for step in shown.steps if step.target.words == "train"]
        assert len(ratios) == cut.train.meshes
        product = sympy.Integer(1)
        for ratio in ratios:
            product *= ratio
        fixed = lathe.leadscrew_lead_mm * lathe.spindle_ratio * (lathe.levers[lever] if lever else 1)
        assert product * to_sympy(fixed) == shown.lead == to_sympy(cut.lead_mm)

    @given(lathes_and_trains(), wanted)
    def test_each_step_is_true_and_uses_what_went_before(self, case, wanted):
        _, shown = derived(case, wanted)
        found = {}
        for step in shown.steps:
            assert step.eq.rhs.subs(step.numbers) == step.result
            assert step.eq.rhs.free_symbols <= set(step.numbers)
            for symbol, value in step.numbers.items():
                assert found.get(symbol, value) == value
            found[step.target.symbol] = step.result

    @given(lathes_and_trains(), wanted)
    def test_the_error_is_that_of_the_setup(self, case, wanted):
        cut, shown = derived(case, wanted)
        errors = [step.result for step in shown.steps if step.target.words == "error"]
        assert len(errors) == (wanted is not None)
        for error in errors:
            assert abs(float(error) * 1e6 - cut.error_ppm) <= 1e-6 * max(1, abs(cut.error_ppm))
            assert (error == 0) == cut.is_exact

    @given(lathes_and_trains())
    def test_the_hand_is_that_of_the_setup(self, case):
        cut, shown = derived(case)
        assert f"leadscrew that cuts a {cut.natural_hand}-hand thread" in shown.steps[-1].words

    @given(lathes_and_trains(), wanted)
    def test_the_last_stage_is_the_result(self, case, wanted):
        _, shown = derived(case, wanted)
        for step in shown.steps:
            stages = [stage.text for stage in step.stages]
            assert all(one != other for one, other in pairwise(stages))
            if step.target.letter in "rnk":
                assert Fraction(stages[-1]) == step.found.value

    @given(lathes_and_trains(), wanted)
    def test_readable_everywhere(self, case, wanted):
        _, shown = derived(case, wanted)
        assert all("\\" not in step.equation_text and balanced(step.latex) for step in shown.steps)
        assert balanced(shown.latex)
        assert balanced(shown.long.latex)
        page = Balance(shown._repr_html_())
        assert not any(page.left.values())
        few = {"div", "p", "strong", "br", "small", "var", "ol", "li", "details", "summary", "pre", "dl", "dt", "dd"}
        assert page.names <= {*few, "span"}
        assert shown.long.text in page.text

    @examples(40)
    @given(lathes_and_trains(), wanted)
    def test_the_five_lines_are_as_true_as_the_steps(self, case, wanted):
        cut, shown = derived(case, wanted)
        assert 3 <= len(shown.lines) <= 5
        sums = {line.name: line.says for line in shown.lines if not isinstance(line.says, str)}
        train = cut.train.ratio
        assert sums["Ratio"].result == to_sympy(train)
        turns = to_sympy(cut.lead_mm / cut.lathe.leadscrew_lead_mm)
        assert (sums.get("Turns") or sums.get("Lever") or sums["Ratio"]).result == turns
        long = {step.target.words: step for step in shown.steps}
        travelled = "Feed" if "Feed" in sums else "Lead"
        assert sums[travelled].result == long["feed" if travelled == "Feed" else "lead cut"].result
        assert sums[travelled].stages[-1] == long["feed" if travelled == "Feed" else "lead cut"].stages[-1]
        assert ("Error" in sums) == (wanted is not None and not cut.is_exact)
        for step in sums.values():
            assert step.formula.free_symbols <= set(step.numbers)

    @given(lathes_and_trains(), names)
    def test_what_a_lever_is_called_never_reaches_a_formula(self, case, name):
        lathe, train, lever = case
        assume(lever is not None)
        renamed = evolve(lathe, gearbox=(evolve(lathe.lever(lever), name=name),))
        (_, one), (_, other) = derived(case), derived((renamed, train, name))
        assert [step.latex for step in one.steps] == [step.latex for step in other.steps]
        assert [step.equation_text for step in one.steps] == [step.equation_text for step in other.steps]


class TestSolveForGear:
    @examples(20)
    @given(lathes_and_trains(), st.data())
    def test_a_gear_taken_out_is_found_back(self, case, data):
        lathe, (drivers, driven, _), lever = case
        cut = setup(lathe, drivers, driven, lever)
        place = data.draw(st.integers(0, 2 * len(drivers) - 1))
        sides = [*drivers, *driven]
        gone, sides[place] = sides[place], None
        wanted = Thread("what it cuts", cut.lead_mm)
        solved = solve_for_gear(lathe, wanted, tuple(sides[: len(drivers)]), tuple(sides[len(drivers) :]), lever)
        assert solved.exact == solved.teeth == solved.nearest == gone
        assert solved.owned
        assert solved.nearest_ppm == 0

    @examples(20)
    @given(lathes_and_trains(), wanted.filter(bool), st.data())
    def test_the_answer_solves_the_equation_and_no_whole_gear_comes_nearer(self, case, wanted, data):
        lathe, (drivers, driven, _), lever = case
        sides = [*drivers, *driven]
        sides[data.draw(st.integers(0, len(sides) - 1))] = None
        half = len(drivers)
        solved = solve_for_gear(lathe, wanted, tuple(sides[:half]), tuple(sides[half:]), lever)
        exact = sympy.sympify(solved.exact) if not isinstance(solved.exact, Fraction) else to_sympy(solved.exact)
        with_it = [exact if teeth is None else sympy.Integer(teeth) for teeth in sides]
        ratio = sympy.prod(with_it[:half]) / sympy.prod(with_it[half:])
        fixed = lathe.leadscrew_lead_mm * lathe.spindle_ratio * (lathe.levers[lever] if lever else 1)
        if "rev" in wanted or "thou" in wanted:
            feed = Feed.parse(wanted)
            drive = lathe.feeds.cross if feed.along == "cross" else lathe.feeds.longitudinal
            target = to_sympy(feed.travel_mm / drive)
        else:
            target = sympy.sympify(Thread.parse(wanted).lead_mm)
        assert sympy.simplify(to_sympy(fixed) * ratio - target) == 0
        assert solved.why
        assume(solved.nearest is not None)

        def miss(teeth: int) -> float:
            factor = Fraction(teeth) / Fraction(float(exact))
            return abs(float(factor if None in sides[:half] else 1 / factor) - 1)

        assert all(miss(solved.nearest) <= miss(other) + 1e-12 for other in range(6, 300))

    @examples(15)
    @given(lathes_and_trains(), wanted.filter(bool))
    def test_readable_everywhere(self, case, wanted):
        lathe, (drivers, driven, _), lever = case
        solved = solve_for_gear(lathe, wanted, (*drivers[:-1], None), driven, lever)
        assert all("\\" not in step.equation_text and balanced(step.latex) for step in solved.steps)
        assert balanced(solved.latex)
        page = Balance(solved._repr_html_())
        assert not any(page.left.values())
        assert solved.text in page.text
