"""The reading clock counts what is there to read and to do, and says of a lesson's stated minutes if they are so."""

from __future__ import annotations

import pytest

from tests.lessons.reading_time import MOST_MINUTES, Reading, count_words, faults_of_time, open_text, reading_of
from tests.notebooks import code, notebook, output, words

SHOWN = {"text/html": "<p>Three more words</p><svg><text>none of these</text></svg><details>nor <b>these</b></details>"}


class TestReadingOf:
    def test_words_of_prose_and_of_outputs_that_stand_open(self):
        lesson = notebook(
            [
                words("Four words stand here."),
                words("<details><summary>See why</summary>\n\nIt is so.\n\n</details>"),
                words("<details><summary>The code way</summary>\n\nNot counted at all.\n\n</details>"),
                code("show", outputs=[output("display_data", SHOWN), output("stream", text="two words")]),
            ]
        )
        assert reading_of(lesson) == Reading(4 + 2 + 3 + 3 + 2, 0, 0, 0)

    def test_an_exercise_counts_once_and_its_question_in_its_own_rate(self):
        asked = code('gc.exercise("two-pairs")', outputs=[output("display_data", SHOWN)])
        lesson = notebook([asked, 'gc.exercise("two-pairs").check("40/80")', 'gc.exercise("split-a-ratio")'])
        assert reading_of(lesson) == Reading(0, 2, 0, 0)

    def test_more_practice_is_beyond_the_minutes(self):
        more = words("## More practice\n\nSome 7 minutes each.")
        assert reading_of(notebook(['gc.exercise("two-pairs")', more, 'gc.exercise("split-a-ratio")'])).exercises == 1

    def test_an_explorer_counts_and_its_still_view_does_not(self):
        imports = "from gearcalc.learning.explorers import one_turn, one_turn_view"
        assert reading_of(notebook([imports, "one_turn(lathe)", "one_turn_view(lathe)"])).explorers == 1

    def test_a_guess_is_a_prediction_and_what_it_says_is_read(self):
        cells = ['guess("how-far", "How far in mm?")', 'taken_up("how-far", "3 mm", "Since it is so.")']
        assert reading_of(notebook([words("**Predict.**"), *cells])) == Reading(1 + 4 + 2 + 4, 0, 0, 1)


class TestOpenText:
    @pytest.mark.parametrize(
        ("page", "count"),
        [
            ("<p>one <em>two</em></p>three", 3),
            ("<details><summary>one</summary>none <p>none</p></details>two", 2),
            ("<style>p {none: none}</style>one<br>two", 2),
            ('<div class="gearcalc-still"><p>none</p><img alt="none"></div>one', 1),
            ("one &middot; 40/80 − + two", 3),
        ],
    )
    def test_counts(self, page, count):
        assert count_words(open_text(page)) == count


class TestFaultsOfTime:
    @pytest.mark.parametrize(
        ("stated", "spoken", "faults"),
        [(20, 20, 0), (20, 15, 0), (20, 14, 1), (20, 26, 1), (None, 20, 1), (75, 75, 1), (60, 75, 2)],
    )
    def test_within_a_tenth_or_five_minutes_and_an_hour(self, stated, spoken, faults):
        time = f"**Time:** about {stated} minutes" if stated else "No time"
        lesson = notebook([words(time), words("word " * (122 * spoken - 4))])
        assert abs(reading_of(lesson).minutes - spoken) < 0.1
        assert len(faults_of_time(lesson)) == faults, MOST_MINUTES
