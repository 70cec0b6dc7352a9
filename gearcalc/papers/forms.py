"""The change-over card as HTML and as plain text, part by part; everything that a user typed is escaped."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from gearcalc.basics import writing
from gearcalc.basics.cautions import WHERE_FROM
from gearcalc.papers.sheet_files import html_list, text_lines

if TYPE_CHECKING:
    from gearcalc.papers.change_cards import ChangeCard


def html_parts(card: ChangeCard, head: str, part: str) -> Iterator[str]:
    """The card as HTML; `head` and `part`: the elements of its headings, 'h1' and 'h2' on a page of its own."""

    def title(words: str) -> str:
        return f"<{part}>{words}</{part}>"

    about = writing.in_html(f"{card.about} {card.counted}")
    yield f"<{head}>{writing.in_html(card.title)}</{head}><p>{about}</p>"
    yield f'<div style="border:2px solid;padding:0.3em 0.8em"><strong>First</strong>{html_list(card.cautions)}</div>'
    if card.warnings:
        yield title("Mind with this setup") + html_list(card.warnings)
    yield title(card.before_you_begin) + html_list(card.needed, tick=True)
    yield card.picture._repr_html_()
    yield title("Steps") + "<ol>"
    for step in card.steps:
        gears = html_list(step.gears, tick=True) if step.gears else ""
        lines = " ".join(map(writing.in_html, step.lines))
        yield f"<li><strong>{writing.in_html(step.title)}.</strong> {lines}{gears}</li>"
    yield "</ol>" + writing.html_table("Settings", card.settings)
    yield f"<p><small>{writing.in_html(WHERE_FROM)}</small></p>"


def text_parts(card: ChangeCard) -> Iterator[str]:
    """The card as lines of plain text."""
    yield card.title.upper()
    yield from text_lines(f"{card.about} {card.counted}")
    yield from ("", "FIRST", *(line for caution in card.cautions for line in text_lines(caution, "! ")))
    if card.warnings:
        yield from ("", "MIND WITH THIS SETUP", *(line for words in card.warnings for line in text_lines(words, "! ")))
    yield from ("", card.before_you_begin.upper())
    for needed in card.needed:
        yield from text_lines(needed, "[ ] ")
    yield from ("", "STEPS")
    for number, step in enumerate(card.steps, 1):
        yield from text_lines(str(step), f"[ ] {number:2}. ")
        for gear in step.gears:
            yield from text_lines(gear, " " * 8 + "[ ] ")
    yield from (
        "",
        "SETTINGS",
        *(line for name, value in card.settings for line in text_lines(f"{name}: {value}", "  ")),
    )
    yield from ("", "AFTER", *text_lines(card.after.description, "  "))
    if card.before is not None:
        yield from ("", "BEFORE", *text_lines(card.before.description, "  "))
    yield from ("", *text_lines(WHERE_FROM))
