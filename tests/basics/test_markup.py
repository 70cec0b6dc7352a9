"""Words in text, LaTeX and HTML, and nothing the user typed left unescaped."""

from __future__ import annotations

import re
from fractions import Fraction

from gearcalc.basics import markup, writing
from tests.how_much import in_one

NASTY = r'<script>alert("x")</script> $\frac{1}{2}$ & \ _ ^ ~ # % { } '


class TestPlain:
    def test_text_stays_as_it_is(self):
        assert markup.plain(NASTY).text == NASTY

    def test_html_shows_signs_and_runs_nothing(self):
        shown = markup.plain(NASTY).html
        assert "<" not in shown.replace("<span>$</span>", "").replace("<span>\\</span>", "")
        assert '"' not in shown
        assert "&amp;" in shown

    def test_latex_has_no_live_sign_within_its_words(self):
        words = "".join(re.findall(r"\\text\{([^{}]*)\}", markup.plain(NASTY).latex))
        assert "alert" in words
        assert not set(words) & set("\\$&#%_^~{}")

    def test_latex_signs_outside_the_words_are_commands_known_to_latex_and_mathjax_alike(self):
        outside = re.sub(r"\\text\{ \}", " ", markup.plain(" ".join("\\{}$&#%_^~")).latex)
        assert outside.split() == [
            r"{\backslash}",
            r"\{",
            r"\}",
            r"\$",
            r"\&",
            r"\#",
            r"\%",
            r"\_",
            r"{\wedge}",
            r"{\sim}",
        ]

    @in_one("words", ["$", "\\", "a$b$c", "{", "}", "}{", "\\)", "$$", "\\text{", "%"])
    def test_latex_braces_balance_and_no_dollar_is_bare(self, words):
        latex = markup.plain(words).latex
        bare = re.sub(r"\\[^a-zA-Z]", "", latex)
        assert bare.count("{") == bare.count("}")
        assert "$" not in bare
        assert "%" not in bare

    def test_nothing_is_nothing(self):
        assert (markup.plain("").text, markup.plain("").html) == ("", "")


class TestWritten:
    def test_adds_up_in_all_three(self):
        both = writing.number(Fraction(1, 3)) + " < " + writing.number(Fraction(2))
        assert both.text == "1/3 < 2"
        assert both.html == "<sup>1</sup>⁄<sub>3</sub> &lt; 2"
        assert both.latex == r"\frac{1}{3}\text{ < }2"

    def test_shows_itself(self):
        shown = writing.number(Fraction(1, 3))
        assert (str(shown), shown._repr_latex_(), shown._repr_html_()) == ("1/3", f"${shown.latex}$", shown.html)


class TestHtmlTable:
    def test_escapes_caption_names_values_and_note(self):
        table = markup.html_table(NASTY, [(NASTY, NASTY)], note=NASTY)
        assert "<script" not in table
        assert table.count("&lt;script&gt;") == 4

    def test_has_row_headers(self):
        assert '<th scope="row"' in markup.html_table("c", [("n", "v")])

    def test_in_columns_no_line_ends_between_a_number_and_its_sign_or_unit(self):
        """A browser breaks a line at a blank (U+0020), and never at U+00A0."""
        table = markup.html_columns("c", ["lead"], [["≈ 20.317 tpi (≈ 1.2502 mm)"]])
        assert "≈\u00a020.317\u00a0tpi (≈\u00a01.2502\u00a0mm)" in table
