"""Pictures of the dial and of the passes, read back from their own SVG and set against arithmetic of this file."""

from __future__ import annotations

import re
from fractions import Fraction
from xml.etree import ElementTree

import pytest
from attrs import evolve

from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.cutting.catching import dial
from gearcalc.cutting.dial_rules import MISSES, NO_CLOSING, SERVES, THIS_TIME, dial_gear, dial_lines
from gearcalc.lathes import Leadscrew, demo_lathe
from gearcalc.pictures.dial_pictures import caught_or_split, dial_face
from gearcalc.pictures.dial_turns import dial_turns
from gearcalc.threads import Thread
from tests.how_much import in_one
from tests.learning.exercise_cases.reading import lead_said
from tests.pictures.kinds import BARE, INCH, METRIC, all_of, with_dial
from tests.pictures.svg_texts import SPACE, words_of


@pytest.fixture(scope="module")
def drawn():
    return all_of("dials")


class TestDialFace:
    def test_the_key_stands_clear_of_the_frame(self, drawn):
        svg = drawn["translated"].svg
        frame = float(ElementTree.fromstring(svg).get("height", ""))
        assert max(words.box[3] for words in words_of(svg)) + 12 < frame

    def test_the_lines_that_serve_are_full_discs_and_the_others_are_not(self, drawn):
        root = ElementTree.fromstring(drawn["two lines"].svg)
        discs = [one for one in root.iter(f"{SPACE}circle") if one.get("r") == "10.5"]
        numbers = [words.text for words in words_of(drawn["two lines"].svg) if words.text in "12345678"]
        assert len(discs) == 2 + 3 + 1  # on the face, over the ruler (line 1 at both ends), in the key
        assert numbers.count("5") == 3
        assert numbers.count("2") == 3

    def test_a_bar_wherever_both_rulers_have_a_line(self, drawn):
        # 45 mm of 3 mm and of 1.25 mm: together at 0, 15, 30 and 45 mm.
        bars = re.findall(r"M([\d.]+) 114\.0v48", drawn["one line"].svg)
        places = [(float(x) - 282) / (766 - 282) * 45 for x in bars]
        assert places == pytest.approx([0, 15, 30, 45], abs=0.05)

    def test_the_table_has_each_line_once(self, drawn):
        rows = drawn["every other"].table
        assert sorted(row["line"] for row in rows) == [1, 2, 3, 4, 5, 6, 7, 8]
        assert {row["line"]: row["closed there"] for row in rows}[2] == "0.05 in out"

    def test_without_a_dial(self):
        with pytest.raises(ValueOutOfRangeError, match="no dial"):
            dial_face(dial(BARE, "11 tpi"))

    def test_a_gear_that_is_not_there(self):
        with pytest.raises(ValueOutOfRangeError, match="14, 15, 16"):
            dial_face(dial(METRIC, "11 tpi"), 17)


class TestDialTurns:
    def test_a_bar_and_its_count_wherever_both_rulers_have_a_line(self, drawn):
        # 48 threads of 8 tpi are 6 inches; a groove of 11 tpi is there with each whole inch, 8 threads.
        svg = drawn["three turns"].svg
        bars = [float(x) for x in re.findall(r"M([\d.]+) 126\.0v48", svg)]
        assert [(x - 156) / (776 - 156) * 48 for x in bars] == pytest.approx([0, 8, 16, 24, 32, 40, 48], abs=0.02)
        assert [words.text for words in words_of(svg) if words.text in ("8", "16", "24", "32", "40", "48")].count(
            "24"
        ) == 1

    @in_one(
        "thread, screw, gear",
        [("14 tpi", "6 tpi", 24), ("12 tpi", "8 tpi", 16), ("16 tpi", "8 tpi", 16), ("16 tpi", "8 tpi", 60)],
    )
    def test_a_triangle_wherever_a_groove_is_back_even_where_numbers_have_no_room(self, thread, screw, gear):
        svg = dial_turns(dial(evolve(with_dial((gear, 4)), leadscrew=Leadscrew(lead_said(screw))), thread)).svg
        per_inch, of_screw = (int(each.split()[0]) for each in (thread, screw))
        back = [n for n in range(3 * gear + 1) if n * per_inch % of_screw == 0]  # whole leads in n leadscrew threads
        triangles = [
            one.get("d")
            for one in ElementTree.fromstring(svg).iter(f"{SPACE}path")
            if " 177.0l" in (one.get("d") or "")
        ]
        assert len(triangles) == len(back)
        texts = [words.text for words in words_of(svg)]
        each_is_numbered = all(str(n) in texts for n in back)
        assert ("in the groove after" in texts) is each_is_numbered
        assert ("some are after" in texts) is not each_is_numbered
        if thread == "14 tpi":
            assert each_is_numbered

    def test_a_line_that_serves_once_is_told_from_one_that_serves_each_time(self, drawn):
        # 16 teeth, 8 lines, p = 5: in the groove 10, 20, 30 and 40 threads on, each time at another line.
        rows = drawn["three turns, this time only"].table
        there = [(row["turn of the dial"], row["line"]) for row in rows if "this time" in row["closed there"]]
        assert there == [(1, 6), (2, 3), (2, 8), (3, 5)]
        assert not [row for row in rows if row["closed there"] == "in the groove"]

    def test_it_says_how_line_1_comes_round(self, drawn):
        # 16, 32, 48 threads of 3 mm are 38.4, 76.8 and 115.2 leads of 1.25 mm: 0.4, 0.2 and 0.2 of a lead out.
        said = drawn["three turns, this time only"].description
        assert "16 leadscrew threads, 0.5 mm out; after 32 leadscrew threads, 0.25 mm out; after 48" in said

    @pytest.mark.parametrize("turns", [0, 5, 1.5, True])
    def test_other_turns_are_refused(self, turns):
        with pytest.raises(ValueOutOfRangeError, match="turns of the dial"):
            dial_turns(dial(INCH, "11 tpi"), turns=turns)

    def test_without_a_dial(self):
        with pytest.raises(ValueOutOfRangeError, match="no dial"):
            dial_turns(dial(BARE, "11 tpi"))


class TestDialLines:
    def test_by_hand(self):
        # 18 teeth, 9 lines, 3 mm leadscrew, 4 mm thread: back every 12 mm. Line 3 has seen 12 mm go by, line 1 54 mm.
        rule = dial(with_dial((18, 9)), "4 mm")
        lines = {line.number: line for line in dial_lines(rule, rule.gears[0])}
        assert lines[3].kind == lines[5].kind == THIS_TIME
        assert (lines[1].kind, abs(lines[1].out_mm)) == (MISSES, 2)
        assert (lines[2].kind, abs(lines[2].out_mm)) == (MISSES, 2)

    def test_between_teeth(self):
        rule = dial(with_dial((15, 6)), "1.25 mm")
        kinds = {line.number: line.kind for line in dial_lines(rule, dial_gear(rule))}
        assert kinds == {1: SERVES, 2: NO_CLOSING, 3: SERVES, 4: NO_CLOSING, 5: SERVES, 6: NO_CLOSING}


class TestCaughtOrSplit:
    def test_grooves_stand_where_the_tool_lands(self, drawn):
        # 16 threads of 3.175 mm are 50.8 mm: 34 leads of 1.5 mm, and 0.2 mm too few. 188 px are one lead.
        starts = re.findall(r'<path d="M([-\d.]+) 0l([\d.]+)', drawn["split twice"].svg)
        middles = [float(x) + float(half) for x, half in starts[3:]]  # the first three are what is gone
        first, second, third = middles[:3]
        assert second - first == pytest.approx(-0.2 / 1.5 * 188, abs=0.05)
        assert third - first == pytest.approx(-0.4 / 1.5 * 188, abs=0.05)

    def test_passes_that_fall_together_share_a_number(self, drawn):
        assert "pass 1, 2, 3" in [words.text for words in words_of(drawn["caught twice"].svg)]
        assert {"pass 1", "pass 2", "pass 3"} <= {words.text for words in words_of(drawn["split twice"].svg)}

    def test_the_table_counts_leads(self, drawn):
        rows = drawn["split twice"].table
        assert [row["leads"] for row in rows] == ["0", "≈ 33.8667", "≈ 67.7333"]

    @pytest.mark.parametrize("wrong", [[], [1, 2, 3], [-1], [Fraction(1, 2)]])
    def test_passes_that_are_none(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            caught_or_split(dial(INCH, "11 tpi"), wrong)

    def test_a_name_from_anywhere_is_escaped(self):
        thread = Thread('<script>alert("1")</script>', Fraction(3, 2))
        assert "<script" not in caught_or_split(dial(INCH, thread), [2]).svg


class TestADialGearThatDoesNotServe:
    """A leadscrew of 4 mm and 1.5 mm: 3 threads of it are 12 mm, 8 leads. 15 is 5 times 3; 14 and 16 are not."""

    ODD = demo_lathe("odd")

    def said(self, teeth):
        rule = dial(self.ODD, "1.5 mm")
        return " ".join(words.text for words in words_of(caught_or_split(rule, [14, 28], teeth=teeth).svg))

    def test_it_says_so_and_not_the_rule_of_another(self):
        for teeth in (14, 16):
            assert f"The dial gear of {teeth} teeth does not serve here. Mount the one of 15 teeth." in self.said(teeth)
            assert "close at" not in self.said(teeth)
        assert "does not serve" not in self.said(15)

    def test_figures_are_spoken_of_only_where_they_stand(self):
        assert "the figures say" not in self.said(14)  # 14 lines leave no room for them
        assert "the figures say" in self.said(16)
