"""The marks of a class as files: a page for the instructor's browser, complete in itself, and a table as csv."""

from __future__ import annotations

import html
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import groupby
from pathlib import Path

from gearcalc.basics import markup, writing
from gearcalc.basics.arguments import as_path
from gearcalc.basics.errors import ValueOutOfRangeError
from gearcalc.basics.files import save_whole
from gearcalc.basics.markup import Written
from gearcalc.learning.exercises.notes import as_html
from gearcalc.learning.exercises.tasks import NOT_RIGHT, RIGHT, recipes
from gearcalc.learning.progress import lessons_in_words, lessons_with_exercises
from gearcalc.papers.csv_files import save_csv
from gearcalc.pictures import style
from gearcalc.pictures.class_pictures import MOST_BARS, ExerciseBar, class_picture
from gearcalc.teaching.class_lists import Learner
from gearcalc.teaching.handed_in import NotTaken
from gearcalc.teaching.marking import NOT_MARKED, UNREADABLE
from gearcalc.teaching.marks import NOT_ANSWERED, ClassMarks, LearnerMarks, Work
from gearcalc.teaching.taking_up import (
    GoalReached,
    SlipMade,
    Typed,
    goals_reached,
    in_a_row,
    slips_made,
    titled,
    tomorrow,
    typed_otherwise,
    weeks_gone,
)

_MOST_SLIPS, _MOST_NAMED, _MOST_TYPED, _BARS_ON_A_SHEET = 30, 8, 3, 18
_SIGNS = {UNREADABLE: "?", NOT_MARKED: "!", NOT_ANSWERED: "·"}
_SIGNS_ARE = (
    f"{markup.drawn(True)} right; {markup.drawn(False)} not right, with the slip where one shows; ? not readable; "
    "! not marked; · not answered."
)
_PRIVATE = "Names and marks are in this file: it belongs where you keep such papers, and nowhere else."
_STYLE = (
    style.as_css(":root")
    + """
body { font: 1rem/1.45 Helvetica, Arial, 'Liberation Sans', sans-serif; color: var(--gearcalc-ink);
       max-width: 76rem; margin: 0 auto; padding: 1rem; }
h1 { font-size: 1.6rem; margin: 0 0 0.4rem; } h2 { font-size: 1.25rem; margin: 1.6rem 0 0.4rem; }
h2, h3, caption, thead { break-after: avoid; } h3 { font-size: 1.05rem; margin: 1rem 0 0.3rem; }
ol.tomorrow { font-size: 1.15rem; } ol.tomorrow li { margin: 0.4rem 0; } ol p { margin: 0; display: inline; }
figure { margin: 0.6rem 0; break-inside: avoid; } figure img { max-width: 100%; height: auto; }
table { border-collapse: collapse; } caption { text-align: left; font-weight: bold; }
th, td { text-align: left; vertical-align: top; padding: 0.2rem 0.6rem 0.2rem 0;
         border-bottom: 1px solid var(--gearcalc-edge); }
td p { margin: 0; } tr { break-inside: avoid; }
tbody tr:first-child, tbody tr:nth-child(2), tr:last-child:not(:first-child) { break-before: avoid; }
.grid { width: 100%; table-layout: fixed; margin-top: 1rem; } .grid th, .grid td { font-size: 0.9rem; }
.grid th:first-child { width: 18%; } .grid th:nth-child(2) { width: 5rem; }
time { white-space: nowrap; } .who, .grid th, .grid td, li { overflow-wrap: anywhere; }
small { font-size: 0.9rem; color: var(--gearcalc-soft); }
@page { size: A4; margin: 12mm; } @page learners { size: A4 landscape; }
@media print { body { font-size: 9.5pt; max-width: none; padding: 0; } figure img { max-height: 200mm; }
               .learners { page: learners; } .learners > h2, .learners > p { margin: 0; }
               .grid { margin-top: 3mm; }
               .grid th, .grid td { font-size: 8pt; line-height: 1.2; padding: 0.4mm 1.5mm 0.4mm 0; }
               details { display: none; } }
"""
)


def save_marks(marks: ClassMarks, path: str | os.PathLike[str]) -> Path:
    """Write the marks to a file: .csv for a table, learner by exercise; .html for a page on what to take up tomorrow.

    `marks`: from class_marks(). Written whole or not at all; in the csv, text that a spreadsheet would take for a
    formula gets an apostrophe in front. Raises ValueOutOfRangeError for another ending, NotPossibleError where it can't
    be written.
    """
    place = as_path(path)
    makers: dict[str, Callable[[], Path]] = {
        ".csv": lambda: save_csv(marks.table, place),
        ".html": lambda: save_whole(place, marks_page(marks), "the page"),
    }
    make = makers.get(place.suffix.lower())
    if make is None:
        raise ValueOutOfRangeError(
            "marks are saved as a file ending .csv or .html",
            value=place.name,
            remedy="A table for a spreadsheet is .csv, a page for the browser .html.",
        )
    return make()


def marks_page(marks: ClassMarks) -> str:
    """Make the page of a class: what to take up tomorrow, a picture, slips, goals, weeks, every learner, what is left.

    Nothing is fetched from anywhere, and all that a learner typed is escaped.
    """
    title = _title(marks)
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head>{markup.HEAD}<title>{html.escape(title)}</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<style>{_STYLE}</style></head><body><main><h1>{html.escape(title)}</h1><p><small>{_PRIVATE}</small></p>"
        f"{''.join(_parts(marks))}</main></body></html>\n"
    )


def _title(marks: ClassMarks) -> str:
    until = f", until {marks.weeks[-1]}" if marks.weeks[-1] else ""
    return f"Marks of a class of {len(marks.learners)}{until}"


def _parts(marks: ClassMarks) -> Iterator[str]:
    says = "".join(f"<li>{as_html(sentence)}</li>" for sentence in tomorrow(marks))
    yield f'<h2>To take up tomorrow</h2><ol class="tomorrow">{says}</ol>'
    if marks.not_taken:
        yield _left_out(marks)
    if marks.exercises:
        pictures = (class_picture(bars, _lessons_of(bars))._repr_html_() for bars in _in_pictures(_bars(marks)))
        yield f"<h2>How the class stands</h2>{''.join(pictures)}{_without(marks)}"
    yield f"<h2>Slips</h2>{_slips(slips_made(marks))}"
    if typed := typed_otherwise(marks):
        yield f"<h2>What else was typed</h2>{_typed(typed)}"
    yield f"<h2>Goals</h2>{_goals(marks)}"
    if len(marks.weeks) > 1:
        yield f"<h2>Week by week</h2>{_weeks(marks)}"
    yield f'<section class="learners"><h2>Learners</h2>{"".join(_grids(marks))}</section>'


def _left_out(marks: ClassMarks) -> str:
    """What does not count, near the top where files are missing because of it."""
    empty = [one for one in marks.not_taken if one.is_empty]
    rest = [one for one in marks.not_taken if not one.is_empty]
    rest.sort(key=lambda one: not one.is_all)
    said = "".join(f"<p>{how}:</p>{_in_a_list(several)}" for how, several in groupby(rest, lambda one: one.how))
    refused = f"<h2>What was not taken</h2>{said}" if rest else ""
    return refused + (f"<h2>{empty[0].how}</h2>{_in_a_list(empty)}" if empty else "")


def _in_a_list(those: Iterable[NotTaken]) -> str:
    return f"<ul>{''.join(f'<li>{markup.in_html(str(one))}</li>' for one in those)}</ul>"


def _without(marks: ClassMarks) -> str:
    """Who stands there without all of their files."""
    those = [str(one.learner) for one in marks.learners if one.refused]
    said = f"Files were not taken, and are not in here, of: {in_a_row(those, len(those))}." if those else ""
    return f"<p><small>{markup.in_html(said)}</small></p>" if those else ""


def _bars(marks: ClassMarks) -> list[ExerciseBar]:
    made: dict[str, SlipMade] = {}
    for slip in slips_made(marks):
        made.setdefault(slip.exercise, slip)
    return [_bar(name, [one.at(name) for one in marks.learners], made.get(name)) for name in marks.exercises]


def _in_pictures(bars: Sequence[ExerciseBar]) -> Iterator[list[ExerciseBar]]:
    """As many lessons in one picture as stand on a sheet of paper."""
    some: list[ExerciseBar] = []
    for _, lesson in groupby(bars, lambda bar: bar.group):
        more = list(lesson)[:MOST_BARS]
        if some and len(some) + len(more) > _BARS_ON_A_SHEET:
            yield some
            some = []
        some = some + more
    yield some


def _lessons_of(bars: Sequence[ExerciseBar]) -> str:
    return f"How the class stands: {lessons_in_words(int(bar.group.rpartition(' ')[2]) for bar in bars)}"


def _bar(name: str, works: Sequence[Work], made: SlipMade | None) -> ExerciseBar:
    right = sum(work.state == RIGHT for work in works)
    slips = sum(work.state == NOT_RIGHT and bool(work.slip) for work in works)
    others = sum(work.state == NOT_RIGHT and not work.slip for work in works)
    unanswered = sum(work.state == NOT_ANSWERED for work in works)
    most = f"{made.slip} ({len(made.learners)})" if made is not None else ""
    unread, recipe = len(works) - right - slips - others - unanswered, recipes()[name]
    return ExerciseBar(recipe.title, f"Lesson {recipe.lesson:02}", right, slips, others, unread, unanswered, most)


def _slips(slips: Sequence[SlipMade]) -> str:
    if not slips:
        return "<p>No slip that is known shows.</p>"
    rows = [
        (made.slip, made.title, f"{len(made.learners)} of {made.answered}", _says(made), _who(made.learners))
        for made in slips[:_MOST_SLIPS]
    ]
    notes = [f"And {len(slips) - _MOST_SLIPS} more, made by fewer."] if len(slips) > _MOST_SLIPS else []
    heads = ("slip", "exercise", "of those who answered", "what to say", "who")
    return markup.html_columns("Which slips the class makes, the most frequent first", heads, rows, notes=notes)


def _says(made: SlipMade) -> Written:
    return Written(made.says, "", as_html(made.says))


def _who(learners: Sequence[Learner], most: int = _MOST_NAMED) -> Written:
    """Names in a cell, which may break anywhere where one of them is a single long word."""
    said = in_a_row(list(map(str, learners)), most)
    return Written(said, "", f'<span class="who">{markup.in_html(said)}</span>')


def _typed(typed: Sequence[Typed]) -> str:
    """A few of what was typed at each exercise, as it was typed."""
    at: dict[str, list[Typed]] = {}
    for each in typed:
        at.setdefault(each.exercise, []).append(each)
    rows = [
        (each.typed, each.state, recipe.title, f"{recipe.lesson:02}", _who(each.learners, 4))
        for exercise, those in at.items()
        for recipe in [recipes()[exercise]]
        for each in those[:_MOST_TYPED]
    ]
    left = len(typed) - len(rows[:_MOST_SLIPS])
    notes = [f"And {left} more."] if left else []
    heads = ("typed", "it is", "exercise", "lesson", "who")
    caption = "Not readable, or not right with no slip that is known: at most three of an exercise"
    return markup.html_columns(caption, heads, rows[:_MOST_SLIPS], notes=notes)


def _goals(marks: ClassMarks) -> str:
    goals = goals_reached(marks)
    rows = [
        (
            goal.words,
            f"{goal.lesson:02}",
            "; ".join(_asked(name, goal) for name in goal.exercises),
            f"{goal.reached} of {goal.began}" if goal.is_asked else "",
            ("reached" if goal.is_reached else "not reached") if goal.is_asked else "not asked yet",
        )
        for goal in sorted(goals, key=lambda goal: (not goal.is_asked, goal.is_reached))
    ]
    note = (
        "A goal is reached by who has all its exercises right, and by the class where three in four of those who began "
        "the lesson have. Exercises for more practice don't count, nor those that nobody answered."
    )
    heads = ("goal", "lesson", "exercises", "reached by", "the class")
    return markup.html_columns("Which goals are reached, those that are not first", heads, rows, notes=[note])


def _asked(name: str, goal: GoalReached) -> str:
    title = recipes()[name].title
    return f"{title} (answered by nobody)" if goal.is_asked and name in goal.unanswered else title


def _weeks(marks: ClassMarks) -> str:
    gone, stubborn = weeks_gone(marks), slips_made(marks)[:3]
    heads = ["by", "learners with answers", "right, each in the mean", "slips that show"]
    heads += [f"{made.slip}: {titled(made.exercise)}" for made in stubborn]
    rows = [
        [
            Written(week.week, "", f"<time>{week.week}</time>") if week.week else "no date",
            str(week.learners),
            week.right_each,
            str(sum(week.slips.values())),
            *(str(week.slips.get((made.exercise, made.slip), 0)) for made in stubborn),
        ]
        for week in gone
    ]
    return markup.html_columns("How it went on; the last columns are the slips that show most now", heads, rows)


def _grids(marks: ClassMarks) -> Iterator[str]:
    """A table a lesson: a row for each learner, a column for each exercise."""
    yield f"<p><small>{_SIGNS_ARE} With the tries where there were several.</small></p>"
    titles = {lesson.number: lesson.title for lesson in lessons_with_exercises()}
    for number, names in groupby(marks.exercises, lambda name: recipes()[name].lesson):
        yield _grid(marks, titles.get(number, f"Lesson {number:02}"), list(names))


def _grid(marks: ClassMarks, title: str, names: Sequence[str]) -> str:
    heads = ("learner", "right", *(recipes()[name].title for name in names))
    head = "".join(f'<th scope="col">{markup.in_html(words)}</th>' for words in heads)
    body = "".join(_grid_row(one, names) for one in marks.learners)
    return (
        f'<table class="grid"><caption>{markup.in_html(title)}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
    )


def _grid_row(one: LearnerMarks, names: Sequence[str]) -> str:
    works = [one.at(name) for name in names]
    right = f"<td>{sum(work.state == RIGHT for work in works)} of {len(works)}</td>"
    without = f"<br><small>{writing.counted(len(one.refused), 'file')} not taken</small>" if one.refused else ""
    return (
        f'<tr><th scope="row">{markup.in_html(str(one.learner))}{without}</th>{right}{"".join(map(_cell, works))}</tr>'
    )


def _cell(work: Work) -> str:
    if work.state == NOT_ANSWERED:
        return "<td>·</td>"
    sign = _SIGNS.get(work.state) or markup.drawn(work.state == RIGHT, work.state)
    said = str(work) if work.state in _SIGNS else str(work).removeprefix(work.state)
    return f"<td>{sign} {markup.in_html(said.strip())}</td>"
