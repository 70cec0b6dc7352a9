"""An answer that stands before its question is found, in prose, in tables and in pictures, and nothing else is."""

from __future__ import annotations

import base64

import pytest

from gearcalc.learning.exercises import exercise
from tests.lessons.given_away import faults_of_order
from tests.notebooks import code, notebook, output, words

KEPT = code('taken_up("how-far", "3.175 mm", "Since 25.4/8 is that.")')
ASKED = code('guess("how-far", "How far with 40/80?")')
LEAD = float(exercise("lead-of-a-leadscrew", class_number=1).task.answer.value)


def shows(page):
    return code("show", outputs=[output("display_data", {"text/html": page})])


def drawn(svg):
    return shows(f'<img alt="A strip" src="data:image/svg+xml;base64,{base64.b64encode(svg.encode()).decode()}">')


class TestGuesses:
    @pytest.mark.parametrize(
        "early",
        [
            words("It is 3.175 mm."),
            shows("<td>3.175</td>"),
            shows('<div class="gearcalc-still"><p>3.175</p></div>'),
            shows('<img alt="3.175 mm">'),
            drawn("<svg><text>3.175</text></svg>"),
            code("show", outputs=[output("stream", text="3.175")]),
        ],
    )
    def test_what_is_told_before_is_named(self, early):
        for cells in ([early, words("## Round 1"), ASKED, KEPT], [words("## Round 1"), early, ASKED, KEPT]):
            assert faults_of_order(notebook(cells)) == [
                f"cell {cells.index(ASKED)}: 3.175 is what how-far asks for, and stands before"
            ]

    @pytest.mark.parametrize(
        "cells",
        [
            [words("## Round 1"), ASKED, KEPT, words("3.175")],
            [words("## Round 0"), words("3.175"), words("## Round 1"), ASKED, KEPT],
            [words("13.175 mm, 3.1755 mm, 40/80"), ASKED, KEPT],
            [shows("<details><summary>Data</summary>3.175</details>"), ASKED, KEPT],
            [words("**Predict.** With 3.175 mm given?"), ASKED, KEPT],
        ],
    )
    def test_nothing_else_is(self, cells):
        assert faults_of_order(notebook(cells)) == []

    def test_a_guess_is_taken_up_and_a_prediction_kept(self):
        assert faults_of_order(notebook([ASKED])) == ["how-far is never taken up"]
        assert faults_of_order(notebook([words("**Predict.** How far?")])) == ["1 predictions, and guess() keeps 0"]

    def test_an_answer_that_is_reckoned_is_read_where_it_is_shown(self):
        kept = code(
            'taken_up("how-far", f"{x} mm")',
            outputs=[output("display_data", {"text/html": "The answer is <strong>3.175 mm</strong>."})],
        )
        assert len(faults_of_order(notebook([words("3.175"), ASKED, kept]))) == 1


class TestExercises:
    @pytest.mark.parametrize("early", [f"{LEAD:g} mm", f"{LEAD:.3f}"])
    def test_a_number_that_is_marked_right(self, early):
        found = faults_of_order(notebook([words(early), 'gc.exercise("lead-of-a-leadscrew")']))
        assert any("answers lead-of-a-leadscrew, class number 1," in fault for fault in found)

    def test_a_train_that_is_marked_right(self):
        right = exercise("one-pair-for-a-thread", class_number=1)
        pairs = [f"{driver}/{driven}" for driver in range(20, 81, 5) for driven in range(20, 81, 5)]
        early = next(pair for pair in pairs if right.check(pair).is_right)
        found = faults_of_order(notebook([words(f"Such as {early}."), 'gc.exercise("one-pair-for-a-thread")']))
        assert any(f"{early} answers one-pair-for-a-thread, class number 1," in fault for fault in found)

    def test_others_are_not(self):
        assert faults_of_order(notebook([words("987.65, 21/79"), 'gc.exercise("lead-of-a-leadscrew")'])) == []
