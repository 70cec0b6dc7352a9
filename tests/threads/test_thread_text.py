"""Threads: every form of the trade read right, the rest refused in words that help."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise, product

import pytest
import sympy
from hypothesis import assume, given
from hypothesis import strategies as st

import gearcalc as gc
from gearcalc.basics.errors import (
    GearcalcError,
    NotPossibleError,
    ThreadTextError,
    UnknownNameError,
    ValueOutOfRangeError,
)
from gearcalc.basics.exact import INCH_MM, PiMultiple
from gearcalc.basics.files import read_rows
from gearcalc.threads import Feed, Thread, as_thread, designations, nearest_threads, standard_threads, thread_text
from gearcalc.threads.designations import figure, hyphened
from gearcalc.threads.near_words import put_right
from gearcalc.threads.series import series_names, thread_series, threads_listed, wanted_listed
from gearcalc.threads.thread_text import EXAMPLES, normalise
from gearcalc.threads.tolerances import tolerance_standard
from tests.how_much import in_one
from tests.strategies import thread_texts

INCH = INCH_MM


def per_inch(tpi: int | str) -> Fraction:
    return INCH / Fraction(tpi)


def refusal(text: object) -> str:
    with pytest.raises(ThreadTextError) as caught:
        Thread.parse(text)
    return str(caught.value)


OFFERED = re.compile("nearest form that would be: '(.*)'")


def is_read(text: str) -> bool:
    try:
        return bool(Thread.parse(text))
    except ThreadTextError:
        return False


def slipped(text: str) -> list[str]:
    """The text with one slip of the finger in a word of it."""
    slips = []
    for word in re.findall("[A-Za-z]{2,}", text):
        swapped = [word[:n] + word[n + 1] + word[n] + word[n + 2 :] for n in range(len(word) - 1)]
        twice = [word[:n] + word[n - 1 :] for n in range(1, len(word) + 1)]
        slips += [text.replace(word, wrong) for wrong in {*swapped, *twice} if wrong != word]
    return slips


class TestForms:
    """Pitch and starts of every form, worked out here from the designation itself."""

    @in_one(
        ("text", "name", "pitch", "starts"),
        [
            ("1.25 mm", "1.25 mm", Fraction(5, 4), 1),
            ("1,25mm", "1.25 mm", Fraction(5, 4), 1),
            ("pitch 2 mm", "2 mm", Fraction(2), 1),
            ("2 mm pitch", "2 mm", Fraction(2), 1),
            ("0.05 in pitch", "0.05 in pitch", INCH / 20, 1),
            ('1/16" pitch', "1/16 in pitch", INCH / 16, 1),
            ("16 tpi", "16 tpi", per_inch(16), 1),
            ("16TPI", "16 tpi", per_inch(16), 1),
            ("16 t.p.i.", "16 tpi", per_inch(16), 1),
            ("8 threads per inch", "8 tpi", per_inch(8), 1),
            ("11 1/2 tpi", "11 1/2 tpi", per_inch("23/2"), 1),
            ("11.5 tpi", "11 1/2 tpi", per_inch("23/2"), 1),
            ("lead 3/8 in", "lead 3/8 in", INCH * 3 / 8, 1),
            ('3/8" lead', "lead 3/8 in", INCH * 3 / 8, 1),
            ("lead 6 mm 2 starts", "lead 6 mm 2 starts", Fraction(3), 2),
            ("6 mm lead 2 starts", "lead 6 mm 2 starts", Fraction(3), 2),
            ("2 mm 3 starts", "2 mm 3 starts", Fraction(2), 3),
            ("16 tpi 2-start", "16 tpi 2 starts", per_inch(16), 2),
            ("M8", "M8x1.25", Fraction(5, 4), 1),
            ("m 8 X 1", "M8x1", Fraction(1), 1),
            ("M8×1,25", "M8x1.25", Fraction(5, 4), 1),
            ("M1.6", "M1.6x0.35", Fraction(7, 20), 1),
            ("M16xPh3P1.5", "M16xPh3P1.5", Fraction(3, 2), 2),
            ("M16 x Ph 3 P 1.5", "M16xPh3P1.5", Fraction(3, 2), 2),
            ("M16xPh3P1.5 2 starts", "M16xPh3P1.5", Fraction(3, 2), 2),
            ("1/4-20", "1/4-20 UNC", per_inch(20), 1),
            ("1/4 - 20 unc", "1/4-20 UNC", per_inch(20), 1),
            ('1/2"-13 UNC', "1/2-13 UNC", per_inch(13), 1),
            ("1/2 in-13", "1/2-13 UNC", per_inch(13), 1),
            (".5-13", "1/2-13 UNC", per_inch(13), 1),
            ("1/4 UNF", "1/4-28 UNF", per_inch(28), 1),
            ("1/4 UNEF", "1/4-32 UNEF", per_inch(32), 1),
            ("1-1/8-7", "1-1/8-7 UNC", per_inch(7), 1),
            ("1 1/8-7", "1-1/8-7 UNC", per_inch(7), 1),
            ("2-4.5", "2-4.5 UNC", per_inch("9/2"), 1),
            ("1/4-22", "1/4-22", per_inch(22), 1),
            ("1/4-22 UNS", "1/4-22", per_inch(22), 1),
            ("1/2 BSW", "1/2 BSW", per_inch(12), 1),
            ("1/2-12 Whitworth", "1/2 BSW", per_inch(12), 1),
            ('3/4" bsw', "3/4 BSW", per_inch(10), 1),
            ("3/8 BSF", "3/8 BSF", per_inch(20), 1),
            ("2 BA", "2 BA", Fraction(81, 100), 1),
            ("BA 2", "2 BA", Fraction(81, 100), 1),
            ("G 1/2", "G 1/2", per_inch(14), 1),
            ("G1 1/2", "G 1-1/2", per_inch(11), 1),
            ("1/2 BSP", "G 1/2", per_inch(14), 1),
            ('1/4" BSPP', "G 1/4", per_inch(19), 1),
            ("R 1/2", "R 1/2", per_inch(14), 1),
            ("Rc 1/2", "Rc 1/2", per_inch(14), 1),
            ("1/2 BSPT", "R 1/2", per_inch(14), 1),
            ("1/2 NPT", "1/2 NPT", per_inch(14), 1),
            ("1/2-14 NPT", "1/2 NPT", per_inch(14), 1),
            ("1 NPT", "1 NPT", per_inch("23/2"), 1),
            ("Tr 40x7", "Tr 40x7", Fraction(7), 1),
            ("Tr 40x14(P7)", "Tr 40x14(P7)", Fraction(7), 2),
            ("Tr 40x14 P7", "Tr 40x14(P7)", Fraction(7), 2),
            ("TR40X14P7", "Tr 40x14(P7)", Fraction(7), 2),
            ("1/2-10 Acme", "1/2-10 Acme", per_inch(10), 1),
            ("1/2 acme", "1/2-10 Acme", per_inch(10), 1),
            ("5/8-8 Acme 2 starts", "5/8-8 Acme 2 starts", per_inch(8), 2),
            ("module 1.5", "module 1.5", PiMultiple(Fraction(3, 2)), 1),
            ("1.5 module", "module 1.5", PiMultiple(Fraction(3, 2)), 1),
            ("mod 1,5 2 starts", "module 1.5 2 starts", PiMultiple(Fraction(3, 2)), 2),
            ("DP 12", "DP 12", PiMultiple(INCH / 12), 1),
            ("12DP", "DP 12", PiMultiple(INCH / 12), 1),
        ],
    )
    def test_pitch_starts_and_name(self, text, name, pitch, starts):
        thread = Thread.parse(text)
        assert (str(thread), thread.pitch, thread.starts) == (name, pitch, starts)
        assert thread.lead == pitch * starts
        assert thread.hand == "right"

    @in_one("text", EXAMPLES)
    def test_every_example_in_a_message_is_itself_understood(self, text):
        assert Thread.parse(text).pitch > 0

    def test_every_family_is_shown_by_an_example(self):
        assert {Thread.parse(text).family for text in EXAMPLES} == {None, *thread_text.FAMILIES}


class TestNumberedSizes:
    """'1-64' is a number 1, '1-8' an inch: told apart by the threads per inch (sizes: ASME B1.1)."""

    @in_one(
        ("text", "name", "major_in"),
        [
            ("#8-32", "#8-32 UNC", "0.164"),
            ("8-32", "#8-32 UNC", "0.164"),
            ("0-80", "#0-80 UNF", "0.060"),
            ("1-64 UNC", "#1-64 UNC", "0.073"),
            ("1-8 UNC", "1-8 UNC", "1"),
            ("1-12", "1-12 UNF", "1"),
            ("10-24", "#10-24 UNC", "0.190"),
            ("10-28", "#10-28", "0.190"),
            ("12-28 UNF", "#12-28 UNF", "0.216"),
            ("2-56", "#2-56 UNC", "0.086"),
            ("2-4.5", "2-4.5 UNC", "2"),
            ("4-4", "4-4 UNC", "4"),
            ("4-24", "#4-24", "0.112"),  # listed under neither: the finer are numbered, from 24 on
            ("4-23", "4-23", "4"),
            ("#7-32", "#7-32", "0.151"),  # no table has these sizes: 0.060 and 0.013 for each number
            ("0.177-32", "#9-32", "0.177"),
            ("#11-24", "#11-24", "0.203"),
            ("3-24", "#3-24", "0.099"),
            ("2-24", "2-24", "2"),
            ("0.229-32", "0.229-32", "0.229"),  # would be a number 13
            ("0.047-80", "0.047-80", "0.047"),  # and this one a number below 0
            ('1"-64', "1.0-64", "1"),
            ("1.0-64", "1.0-64", "1"),
        ],
    )
    def test_told_apart(self, text, name, major_in):
        thread = Thread.parse(text)
        assert (str(thread), thread.major_mm) == (name, Fraction(major_in) * INCH)
        assert Thread.parse(str(thread)) == thread

    @pytest.mark.parametrize("text", ["#13-20", "#00-90", "#08-32", "00-90"])
    def test_numbers_that_there_are_not(self, text):
        assert text in refusal(text)

    def test_8_unc_is_asked_back_not_taken_for_eight_inches(self):
        assert "'#8-32 UNC'" in refusal("8 UNC")
        assert refusal("0 UNF").endswith("0 is not listed in UNF. For the numbered size write '#0-80 UNF'.")
        assert "The nearest sizes in it are #1 or #2" in refusal("0 UNC")


class TestFacts:
    """Thread angle, major diameter, class and standard: what each designation says, and no more."""

    @in_one(
        ("text", "angle", "major", "standard"),
        [
            ("1.25 mm", None, None, None),
            ("16 tpi", None, None, None),
            ("lead 3 mm", None, None, None),
            ("M8", 60, 8, "ISO 261"),
            ("M8x1.1", 60, 8, None),
            ("M16xPh3P1.5", 60, 16, "ISO 261"),
            ("1/4-20", 60, Fraction(127, 20), "ASME B1.1"),
            ("1/4-22", 60, Fraction(127, 20), None),
            ("1/2 BSW", 55, Fraction(127, 10), "BS 84"),
            ("3/8 BSF", 55, Fraction(381, 40), "BS 84"),
            ("2 BA", Fraction(95, 2), Fraction(47, 10), "BS 93"),
            ("G 1/2", 55, Fraction("20.955"), "ISO 228-1"),
            ("Rc 1/2", 55, None, "ISO 7-1"),
            ("1/2 NPT", 60, None, "ASME B1.20.1"),
            ("Tr 40x7", 30, 40, "ISO 2904"),
            ("Tr 40x14(P7)", 30, 40, "ISO 2904"),
            ("1/2-10 Acme", 29, Fraction(127, 10), "ASME B1.5"),
            ("1/2-9 Acme", 29, Fraction(127, 10), None),
            ("module 1.5", None, None, None),
            ("DP 12", None, None, None),
        ],
    )
    def test_what_it_says(self, text, angle, major, standard):
        thread = Thread.parse(text)
        assert (thread.thread_angle_deg, thread.major_mm, thread.standard) == (angle, major, standard)
        assert thread.flank_angle_deg == (None if angle is None else Fraction(angle) / 2)

    @pytest.mark.parametrize("text", ["1/2 NPT", "R 1/2", "Rc 1/2", "1/2 BSPT"])
    def test_taper_threads_say_so(self, text):
        thread = Thread.parse(text)
        assert thread.taper
        assert "taper is a set-up of its own" in thread.note
        assert thread.note in thread._repr_html_()

    @pytest.mark.parametrize("text", ["G 1/2", "Rp 1/2", "1/2 BSP", "M8"])
    def test_parallel_threads_do_not(self, text):
        assert (Thread.parse(text).taper, Thread.parse(text).note) == (False, "")


class TestHand:
    @in_one("text", ["M8 LH", "M8-LH", "M8LH", "m8 lh", "M8 left hand", "M8 left-hand", "M8x1.25 - LH", "M8 - LH"])
    def test_left(self, text):
        assert (Thread.parse(text).hand, str(Thread.parse(text))) == ("left", "M8x1.25 LH")

    @pytest.mark.parametrize("text", ["M8", "M8 RH", "M8-rh", "M8 right hand"])
    def test_right(self, text):
        assert Thread.parse(text) == Thread.parse("M8")

    @pytest.mark.parametrize("text", ["lead 6 mm 2 starts LH", "lead 6 mm LH 2 starts", "lead 6mm-LH 2 start"])
    def test_hand_and_starts_in_either_order(self, text):
        assert str(Thread.parse(text)) == "lead 6 mm 2 starts LH"

    @pytest.mark.parametrize("text", ["M8 LH LH", "M8 LH RH", "lead 6 mm 2 starts 3 starts"])
    def test_said_twice_is_refused(self, text):
        assert "twice" in refusal(text)

    @pytest.mark.parametrize("text", ["LH", " LH", "2 starts", "2 starts LH"])
    def test_alone_is_no_thread(self, text):
        refusal(text)


class TestClass:
    @in_one(
        ("text", "grade"),
        [
            ("M8-6H", "6H"),
            ("M8 - 6H", "6H"),
            ("M8 6H", "6H"),
            ("M10x1.5-6g", "6g"),
            ("M10x1.5-6G", "6G"),
            ("M10x1.5 6g", "6g"),
            ("M10x1.5-4g6g", "4g6g"),
            ("M10x1.5-5H6H", "5H6H"),
            ("1/4-20 UNC-2A", "2A"),
            ("1/4-20 UNC 2a", "2A"),
            ("1/4-20-3B", "3B"),
            ("1/4-20 2A", "2A"),
            ("G 1/2A", "A"),
            ("G1/2-B", "B"),
            ("Tr 40x7-7e", "7e"),
            ("Tr 40x7-7H", "7H"),
            ("1/2-10 Acme-2G", "2G"),
            ("1/2-10 ACME 3c", "3C"),
        ],
    )
    def test_is_read(self, text, grade):
        assert Thread.parse(text).tolerance_class == grade

    def test_case_tells_bolt_from_nut_in_iso_classes(self):
        assert Thread.parse("M10-6g") != Thread.parse("M10-6G")

    def test_stands_before_the_hand(self):
        for text in ("M10x1.5-6g-LH", "M10x1.5-6g LH", "M10 6g LH"):
            assert str(Thread.parse(text)) == "M10x1.5-6g LH"
        assert str(Thread.parse("1/4-20 UNC-2A LH")) == "1/4-20 UNC-2A LH"

    @in_one("text", ["M8-6", "M8-10g", "M8-2g", "M8-6z", "M8-6A", "M8-6h6H", "1/4-20-4A", "Tr 40x7-6z"])
    def test_no_such_class(self, text):
        refusal(text)

    def test_a_fit_names_two_threads(self):
        message = refusal("M8-6H/6g")
        assert "'M8-6H' or 'M8-6g'" in message


class TestStarts:
    def test_must_divide_the_lead(self):
        assert "whole number of starts" in refusal("M16xPh3P2")
        assert "whole number of starts" in refusal("Tr 40x10(P7)")

    @in_one("text", ["16 tpi 60 starts", "Tr 400x60(P1)", "M200xPh60P1", "Tr 40x7(P7)"])
    def test_from_one_to_sixty(self, text):
        assert Thread.parse(text).starts == (1 if "P7" in text else 60)
        if "P1" in text:
            assert "whole number of starts, 1 to 60" in refusal(text.replace("60", "61"))

    def test_must_agree_with_the_designation(self):
        assert "already says 2 starts" in refusal("M16xPh3P1.5 3 starts")

    @pytest.mark.parametrize("text", ["16 tpi 0 starts", "16 tpi 61 starts"])
    def test_how_many_there_can_be(self, text):
        assert "1 to 60 starts" in refusal(text)

    def test_one_start_is_the_usual(self):
        for text in ("16 tpi", "M16x1.5", "Tr 40x7", "lead 6 mm"):
            assert Thread.parse(f"{text} 1 start") == Thread.parse(text)

    @pytest.mark.parametrize(
        ("text", "either", "other"),
        [("M16x1.5 2 starts", "M16xPh3P1.5", "M16xPh1.5P0.75"), ("Tr 40x14 2 starts", "Tr 40x28(P14)", "Tr 40x14(P7)")],
    )
    def test_where_lead_or_pitch_can_be_meant_it_asks(self, text, either, other):
        message = refusal(text)
        assert f"'{either}'" in message
        assert f"'{other}'" in message


class TestInchSizes:
    @in_one("below", range(1, 130))
    def test_binary_fractions_down_to_64ths_are_hyphened_and_others_are_as_short_as_they_can_be_read(self, below):
        size = 1 + Fraction(1, below)
        if below == 1:
            assert hyphened(size) == "2"
        elif below in (2, 4, 8, 16, 32, 64):
            assert hyphened(size) == f"1-1/{below}"
        else:
            assert hyphened(size) == figure(size)
            assert "-" not in hyphened(size)
        assert Thread.parse(f"{hyphened(size)}-8").major_mm == size * INCH


class TestRefusals:
    @in_one(
        ("text", "said", "remedy"),
        [
            ("16", "bare number", "'16 mm' or '16 tpi'"),
            ("1.25", "bare number", "'1.25 mm' or '1.25 tpi'"),
            ("1-1/8", "bare number", "tpi"),
            ("1/2 in", "a size or a pitch", "'1/2 in pitch'"),
            ('1/2"', "a size or a pitch", "'1/2 in pitch'"),
            ("Ｍ８", "not understood", "'M8'"),
            ("M8*1", "not understood", "'M8x1'"),
            ("'M8'", "not understood", "'M8'"),
            ("M72", "no coarse pitch in ISO 261", "'M72x6'"),
            ("M1.5", "no coarse pitch", "'M1.5x0.3'"),
            ("M0.32", "no coarse pitch", "'M0.32x0.25'"),  # 0.25 mm is less than 0.8 of 0.32 mm
            ("M0.3125", "no coarse pitch", "'M1x0.25'"),  # and just 0.8 of this
            ("M16xPh0P1", "a whole number of starts, 1 to 60", "'M16xPh3P1.5'"),
            ("M16xPh1P2", "a whole number of starts, 1 to 60", "'M16xPh3P1.5'"),
            ("M16xPh3P0", "a pitch must be more than zero", "'M16xPh3P1.5'"),
            ("M0", "more than zero", "'M"),
            ("M0x1", "more than zero", "'M"),
            ("0-4 UN", "more than zero", "'"),
            ("M8x0", "more than zero", "'M8x1'"),
            ("M8x9", "would cut through a bar of 8 mm", "'M8x1'"),
            ("M8x", "not understood", "'M8x1'"),
            ("17 BA", "our table of BA threads holds the sizes 0 to 16", "'2 BA'"),  # they went on (from memory)
            ("2.5 BA", "not understood", "'2 BA'"),
            ("3/8-24 BSW", "has 16 tpi, not 24", "'3/8 BSW'"),
            ("1/4-28 UNC", "has 20 tpi, not 28", "'1/4-20 UNC' or '1/4-28'"),
            ("#1-20 UNEF", "#1 is not listed in UNEF", "'#1-64 UNC' or '#1-72 UNF'"),
            ("#0 UNC", "not listed in UNC", "'#0-80 UNF'"),
            ("13/32 UNC", "not listed in UNC", "3/8 or 7/16"),
            ("13/32 BSW", "no 13/32 BSW in the table", "3/8 BSW or 7/16 BSW"),
            ("0 tpi", "more than zero", "'16 tpi'"),
            ("DP 0", "diametral pitch must be more than zero", "'DP 12'"),
            ("module 0", "more than zero", "'module 1.5'"),
            ("3/0 tpi", "a number must have more than zero below the line", "3/8"),
            ("0 mm", "more than zero", "'1.25 mm'"),
            ("-3 mm", "not understood", "mm'"),
            ("1001 mm", "at most 1000 mm", "mm'"),
            ("0.009 mm", "at least 0.01 mm", "mm'"),
            ("99999999 mm", "digits", "mm'"),
            ("1e3 mm", "not understood", "mm'"),
            ("1/4-20 UNJ", "not understood", "'1/4-20'"),
            ("LH 40 tpi LH", "the hand is given twice", "'16 tpi LH'"),
            ("LH 40 tpi RH", "the hand is given twice", "'16 tpi LH'"),
            ("2 starts lead 6 mm 2 starts", "the starts are given twice", "'lead 6 mm 2 starts'"),
            ("UNC 3/8-24", "3/8 UNC has 16 tpi, not 24", "'3/8-16 UNC' or '3/8-24'"),
            ("", "nothing is written", "'M8'"),
            (" \n", "nothing is written", "'M8'"),
            ("banana", "not understood", "'M8', '1/4-20', '16 tpi' or '1.25 mm'"),
        ],
    )
    def test_says_what_and_what_would_do(self, text, said, remedy):
        message = refusal(text)
        assert said in message
        assert remedy in message

    @in_one(
        ("text", "near"),
        [
            ("3/16 NPT", "1/8 NPT or 1/4 NPT"),
            ("3/32 BSF", "3/16 BSF or 7/32 BSF"),
            ("G 0", "G 1/16 or G 1/8"),
            ("R 3/16", "R 1/8 or R 1/4"),
            ("1/16 BSW", "1/8 BSW or 3/16 BSW"),
            ("1/8 Acme", "1/4 Acme or 5/16 Acme"),
            ("M2.3", "M2.2 or M2.5"),
            ("M72", "M64 or M68"),
            ("#11 UNC", "#10 or #12"),
        ],
    )
    def test_the_sizes_that_it_offers_are_of_that_kind(self, text, near):
        """Only Unified threads have numbered sizes, and metric ones are written in decimals."""
        assert f"{near}." in refusal(text)
        assert refusal(text).count(" or ") == 1
        for size in near.split(" or ") if "#" not in near else []:
            assert Thread.parse(size).name.startswith(size.split()[0])
            assert size.lstrip("MGR0123456789-/. ") in Thread.parse(size).name

    @pytest.mark.parametrize(
        ("text", "like"),
        [("16 tpi 70 starts", "lead 6 mm 2 starts"), ("0 tpi", "16 tpi"), ("#20-32", "#8-32"), ("Tr 40x0", "Tr 40x7")],
    )
    def test_a_form_with_impossible_numbers_is_shown_with_possible_ones(self, text, like):
        """Nothing is near to seventy starts: there, too, an example of the form is shown, and it reads."""
        assert refusal(text).endswith(f"Write it like '{like}'.")
        assert Thread.parse(like).name

    @in_one("text", ["abc", "NPTF 1/2", "xyz 12", "hello world 7", "8 x 1.25"])
    def test_what_is_like_nothing_gets_general_examples(self, text):
        """No form of another family is called near."""
        assert "Write it like 'M8', '1/4-20', '16 tpi' or '1.25 mm'." in refusal(text)

    @in_one("form", ["Tr 40x7", "1.25 mm", "Rc 1/2"])
    def test_three_fifths_alike_is_like_it_and_less_is_not(self, form):
        """Each has six signs where a figure counts as one; with eight more they are twice 6 of 20, 0.6, alike."""
        assert refusal(form + "%" * 8).endswith(f"would be: '{form}'.")
        assert OFFERED.search(refusal(form + "%" * 9)) is None

    @in_one("meant", ["8 tpi", "1.25 mm", "module 1.5", "lead 6 mm", "0.05 inch pitch", "1/4-20 UNC", "1/2-10 Acme"])
    def test_a_slip_of_the_finger_is_offered_put_right(self, meant):
        """Two letters exchanged, or one struck twice, in each word: what was meant is offered."""
        slips = [slip for slip in slipped(meant) if not is_read(slip)]
        assert slips
        for slip in slips:
            offered = OFFERED.search(refusal(slip))
            assert offered is not None, slip
            assert Thread.parse(offered[1]) == Thread.parse(meant), slip

    @in_one("text", ["1/2 BSX", "1/4 UNG", "1.5 cm", "1/4 NPS", "8 tp"])
    def test_a_word_that_could_be_two_or_is_another_unit_is_not_guessed(self, text):
        assert OFFERED.search(refusal(text)) is None

    @in_one("given", [None, 8, 1.25, b"M8", ["M8"], Thread.parse("M8")])
    def test_what_is_no_text(self, given):
        assert "given as text" in refusal(given)

    def test_too_long(self):
        assert is_read("M8".ljust(60))
        assert "a thread takes at most 60 characters" in refusal("M8".ljust(61))
        assert len(thread_series("UNC".ljust(60))) == len(thread_series("UNC"))
        for ask in (thread_series, lambda name: threads_listed(name, 100)):
            with pytest.raises(UnknownNameError, match="no thread series called"):
                ask("UNC".ljust(61))

    def test_the_same_error_family_as_value_errors(self):
        with pytest.raises(ValueError):
            Thread.parse("banana")
        with pytest.raises(GearcalcError):
            Thread.parse("banana")


class TestNormalise:
    @pytest.mark.parametrize("text", ["M8 x 1", " M8\t×\n1 ", "M8\u00a0x\u20091", "M8\u2003×\u30001"])
    def test_one_line_single_spaces(self, text):
        assert normalise(text) == "M8 x 1"

    def test_minus_signs_dashes_and_inch_marks(self):
        assert normalise("1/2″–13 − x") == "1/2 in-13 - x"


class TestThread:
    def test_pi_goes_to_sympy_only_when_asked(self):
        thread = Thread.parse("module 1.5 2 starts")
        assert thread.pitch == PiMultiple(Fraction(3, 2))
        assert thread.pitch_mm == sympy.Rational(3, 2) * sympy.pi
        assert thread.lead_mm == 3 * sympy.pi

    def test_rational_leads_stay_fractions(self):
        thread = Thread.parse("11 1/2 tpi")
        assert isinstance(thread.pitch_mm, Fraction)
        assert isinstance(thread.lead_mm, Fraction)

    @in_one(
        "wrong",
        [
            {"pitch": 0},
            {"pitch": Fraction(-1)},
            {"pitch": "x"},
            {"pitch": None},
            {"starts": 0},
            {"starts": 1.5},
            {"starts": 61},
            {"hand": "Left"},
            {"thread_angle_deg": 0},
            {"thread_angle_deg": 180},
            {"thread_angle_deg": -60},
            {"thread_angle_deg": "x"},
            {"major_mm": 0},
            {"major_mm": -8},
            {"major_mm": float("nan")},
            {"tolerance_class": 6},
            {"family": ["metric"]},
            {"name": None},
            {"standard": 261},
        ],
    )
    def test_is_validated_when_made_by_hand(self, wrong):
        with pytest.raises(ValueOutOfRangeError):
            Thread(**{"name": "mine", "pitch": Fraction(1)} | wrong)

    @in_one("angle", [Fraction(1, 1000), 1, 179, Fraction(179_999, 1000)])
    def test_an_angle_up_to_its_limits(self, angle):
        assert Thread("mine", Fraction(1), thread_angle_deg=angle).thread_angle_deg == angle

    def test_what_is_left_out_when_made_by_hand(self):
        made = Thread("mine", Fraction(1))
        assert (made.starts, made.hand, made.taper, made.lead) == (1, "right", False, 1)
        others = (made.thread_angle_deg, made.major_mm, made.tolerance_class, made.standard, made.family)
        assert others == (None,) * 5
        assert Thread("mine", Fraction(1), starts=60).lead == 60

    def test_is_frozen_and_hashable(self):
        thread = Thread.parse("M8")
        with pytest.raises(AttributeError):
            thread.pitch = Fraction(1)
        assert {thread: 1}[Thread.parse("M8x1.25")] == 1

    def test_error_is_positive_when_too_long(self):
        assert Thread.parse("M8x1").error_ppm(Fraction(1001, 1000)) == 1000
        assert Thread.parse("M8x1").error_ppm(Fraction(999, 1000)) == -1000

    def test_html_and_latex_show_both_units(self):
        thread = Thread.parse("M8")
        assert "M8x1.25" in thread._repr_html_()
        assert "20.32" in thread._repr_html_()
        assert re.fullmatch(r"\$.*tpi.*\$", thread._repr_latex_())


class TestAsThread:
    def test_takes_text_or_thread(self):
        thread = Thread.parse("M8")
        assert as_thread(thread) is thread
        assert as_thread("M8") == thread


class TestStandardThreads:
    def test_none_twice_and_each_reads_back(self):
        threads = standard_threads()
        assert len({str(thread) for thread in threads}) == len(threads)
        assert all(Thread.parse(str(thread)) == thread for thread in threads)

    def test_each_names_its_standard_but_the_modules(self):
        assert {thread.standard for thread in standard_threads()} == {
            "ISO 261",
            "ASME B1.1",
            "BS 84",
            "BS 93",
            "ISO 228-1",
            "ASME B1.20.1",
            "ISO 2904",
            "ASME B1.5",
            None,
        }
        assert all(thread.name.startswith("module") for thread in standard_threads() if thread.standard is None)


class TestNearestThreads:
    def test_exact_ones_first(self):
        found = nearest_threads(Fraction(127, 80))
        assert {str(thread) for thread in found if thread.pitch == Fraction(127, 80)} >= {"3/8-16 UNC", "3/8 BSW"}
        misses = [abs(thread.error_ppm(Fraction(127, 80))) for thread in found]
        assert misses == sorted(misses)

    def test_is_the_same_as_trying_every_one(self):
        lead = Fraction(5, 4)
        expected = {thread for thread in standard_threads() if abs(float(thread.lead / lead) - 1) * 1e6 < 15_000}
        assert {*nearest_threads(lead, within_ppm=16_000)} >= expected

    def test_the_bound_itself_counts(self):
        lead = Fraction(100_1, 1000)  # 1000 ppm more than 1 mm, exactly
        assert Thread.parse("M8x1") in nearest_threads(lead)
        assert Thread.parse("M8x1") not in nearest_threads(lead + Fraction(1, 10**7))
        assert Thread.parse("M8x1") in nearest_threads(lead, within_ppm=1000)
        assert Thread.parse("M8x1") not in nearest_threads(lead, within_ppm=Fraction(9999, 10))

    def test_a_worm_pitch_is_found_though_it_is_never_exact(self):
        found = nearest_threads(Fraction(355, 113), within_ppm=1)
        assert [str(thread) for thread in found] == ["module 1"]

    def test_nothing_near_is_an_empty_list(self):
        assert nearest_threads(999) == []

    @in_one("lead", [0, -1, "x", None, float("nan"), float("inf"), True, [1]])
    def test_no_lead(self, lead):
        with pytest.raises(ValueOutOfRangeError):
            nearest_threads(lead)

    @pytest.mark.parametrize("within", [-1, "x", float("nan")], ids=repr)
    def test_no_bound(self, within):
        with pytest.raises(ValueOutOfRangeError):
            nearest_threads(1, within_ppm=within)


class TestWrittenInOtherOrders:
    @in_one(
        ("text", "same"),
        [
            ("11½ tpi", "11 1/2 tpi"),
            ("½ BSW", "1/2 BSW"),
            ("1½-6", "1 1/2-6"),
            ("G ¾", "G 3/4"),
            ("⅜-24", "3/8-24"),
            ("BSP 1/2", "1/2 BSP"),
            ("BSPP 3/4", "G 3/4"),
            ("BSPT 3/4", "R 3/4"),
            ("NPT 1/2", "1/2 NPT"),
            ("NPT 1½", "1 1/2 NPT"),
            ("npt 3/8 LH", "3/8 NPT LH"),
            ("NPT 1/2-14", "1/2 NPT"),
            ("BSP 1/2 in", "1/2 BSP"),
            ("BSW 3/8", "3/8 BSW"),
            ("Whitworth ½-12", "1/2 BSW"),
            ("BSF 3/8 LH", "3/8 BSF LH"),
            ("UNC 1/4", "1/4-20 UNC"),
            ("unc 1/4-20-2A", "1/4-20 UNC-2A"),
            ("UNF #8", "#8-36 UNF"),
            ("Acme 1/2-10-2G", "1/2-10 Acme-2G"),
            ("tpi 16", "16 tpi"),
            ("LH 40 tpi", "40 tpi LH"),
            ("LH-11½ tpi", "11 1/2 tpi LH"),
            ("Left-hand M10x1.5-6g", "M10x1.5-6g LH"),
            ("left hand 1/4-20", "1/4-20 LH"),
            ("LH BSP 1/2", "G 1/2 LH"),
            ("L.H. 8 tpi", "8 tpi LH"),
            ("8 tpi L.H.", "8 tpi LH"),
            ("RH 8 tpi", "8 tpi"),
            ("Tr 40x7 LH-7e", "Tr 40x7-7e LH"),
            ("M8 LH 6g", "M8-6g LH"),
            ("1/4-20 LH UNC", "1/4-20 UNC LH"),
            ("2 starts lead 6 mm LH", "lead 6 mm 2 starts LH"),
            ("2-start LH 8 tpi", "8 tpi 2 starts LH"),
            ("⅛ BSP", "G 1/8"),
            ("5⅛ tpi", "5 1/8 tpi"),
        ],
    )
    def test_is_the_same_thread(self, text, same):
        assert Thread.parse(text) == Thread.parse(same)

    @given(thread_texts(), st.sampled_from(["LH {}", "LH-{}", "left-hand {}", "Left Hand {}", "L.H. {}"]))
    def test_the_hand_may_stand_before_what_it_may_stand_behind(self, text, ahead):
        bare = re.sub(r"[ -][LR]H ?$", "", text, flags=re.IGNORECASE).strip()
        assume(len(bare) <= 40)
        read = []
        for written in (f"{bare} LH", ahead.format(bare)):
            try:
                read.append(Thread.parse(written))
            except ThreadTextError:
                read.append(None)
        assert read[0] == read[1]

    @in_one(
        ("name", "same"),
        [
            ("bsp", "G"),
            ("BSPP", "G"),
            ("Whitworth", "BSW"),
            ("unified  fine", "UNF"),
            ("module", "modules"),
            ("Tr", "trapezoidal"),
        ],
    )
    def test_a_series_goes_by_its_other_names_too(self, name, same):
        assert thread_series(name) == thread_series(same)


class TestTheStandardIsNamedForListedSizesOnly:
    @in_one("text", ["Tr 41x7", "Tr 40x5", "7/32 - 16 Acme", "1/2-9 Acme", "M10x0.6", "M35x2"])
    def test_others_claim_none(self, text):
        assert Thread.parse(text).standard is None

    def test_a_size_that_the_table_has_not_is_refused_in_words(self):
        message = refusal("7/32 Acme")
        assert "there is no 7/32 Acme in the table" in message
        assert "'1/4 Acme'" in message or "1/4 Acme" in message


FAMILIES = {
    "M10": "metric",
    "M16xPh3P1.5": "metric",
    "1/4-20": "Unified",
    "#8-32": "Unified",
    "1/2-28": "Unified",
    "1/2 BSW": "Whitworth",
    "3/8 BSF": "Whitworth",
    "G 1/2": "BSP",
    "R 1/2": "BSP",
    "Rc 1/2": "BSP",
    "Rp 1/2": "BSP",
    "1/2 NPT": "NPT",
    "2 BA": "BA",
    "Tr 40x7": "trapezoidal",
    "1/2-10 Acme": "Acme",
    "module 1": "module",
    "DP 12": "diametral pitch",
    "16 tpi": None,
    "1.25 mm": None,
    "lead 6 mm": None,
    "0.05 in pitch": None,
}


@in_one(("text", "family"), FAMILIES.items())
def test_the_family_is_decided_where_it_is_read(text, family):
    assert Thread.parse(text).family == family


def test_every_family_has_a_series_but_one_that_no_standard_lists():
    assert {thread.family for thread in standard_threads()} == set(thread_text.FAMILIES) - {"diametral pitch"}


class TestAFamilyThatNobodyKnows:
    """A form of 60 degrees added to the grammar, as somebody might: it is judged by no other family's tables."""

    @pytest.fixture
    def cycle(self, monkeypatch):
        def read(found):
            per_inch = Fraction(found["tpi"])
            return designations.Facts(
                "M" + found[0], INCH / per_inch, thread_angle_deg=Fraction(60), major_mm=INCH / 4, family="cycle"
            )

        added = designations.form(r"1/4 x (?P<tpi>26) cycle", read)
        monkeypatch.setattr(thread_text, "FORMS", (added, *thread_text.FORMS))
        return Thread.parse("1/4 x 26 cycle")

    def test_no_tolerance(self, cycle):
        assert cycle.thread_angle_deg == 60
        assert tolerance_standard(cycle) is None
        verdict = gc.judge(cycle, 100)
        assert verdict.ok is verdict.tolerance_um is None
        assert "No standard is known here for it" in verdict.why
        for tolerance_class in (None, "6g", "2A"):
            with pytest.raises(NotPossibleError):
                gc.pitch_diameter_limits(cycle, tolerance_class)

    def test_no_depth(self, cycle):
        with pytest.raises(NotPossibleError, match="no form is held here for cycle"):
            gc.thread_depth(cycle)

    def test_nor_one_made_by_hand_without_a_family(self):
        by_hand = Thread("M10x1.5", Fraction(3, 2), thread_angle_deg=Fraction(60), major_mm=Fraction(10))
        assert tolerance_standard(by_hand) is None


class TestSeries:
    """Each series lists what its table has, and nothing else, smallest size first."""

    def belongs(self, series: str | None, of: str | None) -> bool:
        return of is None or (series != "coarse" if of == "fine" else series == of)

    @in_one(
        ("name", "table", "of", "written"),
        [
            ("metric coarse", "iso261", "coarse", "M{d_mm}x{pitch_mm}"),
            ("metric fine", "iso261", "fine", "M{d_mm}x{pitch_mm}"),
            ("trapezoidal", "trapezoidal", None, "Tr {d_mm}x{pitch_mm}"),
            ("UNC", "unified", "UNC", "{size}-{tpi} UNC"),
            ("UNF", "unified", "UNF", "{size}-{tpi} UNF"),
            ("UNEF", "unified", "UNEF", "{size}-{tpi} UNEF"),
            ("BSW", "whitworth", "BSW", "{size} BSW"),
            ("BSF", "whitworth", "BSF", "{size} BSF"),
            ("BA", "ba", None, "{number} BA"),
            ("G", "pipe_parallel", None, "G {size}"),
            ("NPT", "npt", None, "{size} NPT"),
            ("Acme", "acme", None, "{size}-{tpi} Acme"),
            ("modules", "modules", None, "module {module_mm}"),
        ],
    )
    def test_row_by_row(self, name, table, of, written):
        rows = [row for row in read_rows(f"threads/{table}.csv") if self.belongs(row.get("series"), of)]
        found = list(thread_series(name))
        assert len(found) == len(rows) > 5
        assert {Thread.parse(written.format(**row)) for row in rows} == set(found)
        sizes = [thread.major_mm or Fraction(str(thread).split()[-1]) for thread in found if name != "NPT"]
        assert sizes == sorted(sizes, reverse=name == "BA")  # 0 BA is the largest
        for one, other in pairwise(found):
            assert (
                one.major_mm != other.major_mm or one.pitch > other.pitch or name in ("modules", "NPT", "trapezoidal")
            )

    @in_one(("name", "like"), [("metric pitches", "metric"), ("unified pitches", "UN")])
    def test_the_pitches_are_those_of_every_size(self, name, like):
        families = [each for each in series_names() if each.startswith(like) and "pitches" not in each]
        pitches = {thread.pitch for each in families for thread in thread_series(each)}
        found = [thread.pitch for thread in thread_series(name)]
        assert found == sorted(pitches, reverse=like == "UN")


class TestThreadsListed:
    def test_a_thread_its_text_and_a_series_side_by_side(self):
        found = threads_listed([Thread.parse("M8"), "M6", "BA"], 100)
        assert found == [Thread.parse("M8"), Thread.parse("M6"), *thread_series("BA")]
        assert threads_listed(Thread.parse("M8"), 1) == [Thread.parse("M8")]
        assert wanted_listed(["M8", Feed(1), "1 mm/rev"], 3) == [Thread.parse("M8"), Feed(1), Feed(1)]
        for wrong in (5, [5], [None], [["M8"]]):
            with pytest.raises(ValueOutOfRangeError, match="a thread is wanted here"):
                threads_listed(wrong, 5)

    def test_as_many_as_there_may_be_and_not_one_more(self):
        assert [str(each) for each in threads_listed(["M8", "M6"], 2)] == ["M8x1.25", "M6x1"]
        assert len(threads_listed("BSW", len(thread_series("BSW")))) == len(thread_series("BSW"))
        for many, most in ((["M8", "M6"], 1), ("BSW", len(thread_series("BSW")) - 1), ([], 2)):
            with pytest.raises(ValueOutOfRangeError, match=f"1 to {most} threads"):
                threads_listed(many, most)


class TestHowFineAndHowCoarse:
    """A pitch from 1/100 mm, a lead up to 1000 mm: a bound itself may be cut, and nothing beyond it."""

    @in_one("text", ["1000 mm", "500 mm 2 starts", "0.01 mm", "2540 tpi"])
    def test_the_bound_itself(self, text):
        assert is_read(text)

    @in_one("text", ["1000.1 mm", "500.1 mm 2 starts", "0.0099 mm", "2541 tpi", "0.019 mm lead 2 starts"])
    def test_beyond_it(self, text):
        assert not is_read(text)

    def test_through_a_bar(self):
        # common practice, no source: a pitch of four fifths of the diameter and more leaves no core to speak of
        assert is_read("M10x7.9")
        assert not is_read("M10x8")


class TestOneSlipOfTheFinger:
    """Every word of three letters and more, with each slip that there is: by brute force."""

    WORDS = ("tpi", "mm", "module", "starts")

    @in_one("meant", ["tpi", "module", "starts"])
    def test_each_is_put_right(self, meant):
        places = range(len(meant))
        swapped = {meant[:n] + meant[n + 1 : n + 2] + meant[n] + meant[n + 2 :] for n in places}
        wrong = {meant[:n] + "q" + meant[n + 1 :] for n in places}
        short, long = {meant[:n] + meant[n + 1 :] for n in places}, {meant[:n] + "q" + meant[n:] for n in (*places, 9)}
        for typed in (swapped | wrong | short | long) - {meant}:
            assert put_right(f"8 {typed}", self.WORDS, self.read) == f"8 {meant}", typed

    @in_one("typed", ["tqq", "mqdqle", "sta", "startsqq", "q"])
    def test_two_slips_are_not(self, typed):
        assert put_right(f"8 {typed}", self.WORDS, self.read) is None

    def test_one_letter_alone_is_no_slip_of_another(self):
        assert put_right("8 n", ["m"], {"8 m": 1}.get) is None

    def test_of_two_ways_that_mean_the_same_the_first_is_offered(self):
        meanings = {"ab": 1, "ac": 1, "bd": 2}
        assert put_right("ad", ["ac", "ab"], meanings.get) == "ac"
        assert put_right("ad", ["ab", "ac"], meanings.get) == "ab"
        for words in (["ab", "ac", "bd"], ["bd", "ab"], ["ab", "bd"]):
            assert put_right("ad", words, meanings.get) is None  # it could mean two things
        assert put_right("ad", [], meanings.get) is None

    def test_of_many_ways_to_put_it_right_the_first_64_are_tried(self):
        """Seven words, each one letter off two: the last changes first."""
        typed, known = " ".join(["ad"] * 7), ("ab", "ac")
        ways = [" ".join(way) for way in product(known, repeat=7)]
        found = [put_right(typed, known, lambda text, way=way: way if text == way else None) for way in ways]
        assert found == [*ways[:64], *[None] * 64]

    def read(self, text: str) -> str | None:
        return text if text.partition(" ")[2] in self.WORDS else None
