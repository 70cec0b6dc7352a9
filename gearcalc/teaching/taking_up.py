"""What a class is to take up again: the slips that it makes, the goals that it has not reached, how the weeks went."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from attrs import frozen

from gearcalc.basics import writing
from gearcalc.learning.exercises.tasks import NOT_RIGHT, RIGHT, recipes
from gearcalc.learning.progress import LessonDone, lessons_with_exercises
from gearcalc.teaching.class_lists import Learner
from gearcalc.teaching.marking import NOT_MARKED, UNREADABLE
from gearcalc.teaching.marks import NOT_ANSWERED, ClassMarks, LearnerMarks, Work

REACHED = Fraction(3, 4)
"""A goal is reached where so many of those who began its lesson have all its exercises right (common practice, no
source)."""
_MOST_NAMED = 6
_MANY_UNREADABLE = Fraction(1, 4)


@frozen
class SlipMade:
    """A slip that shows in the class: at which exercise, its name, what to say, who made it, how many answered."""

    exercise: str
    slip: str
    says: str
    learners: tuple[Learner, ...]
    answered: int

    @property
    def title(self) -> str:
        """The title of the exercise, with the number of its lesson."""
        return titled(self.exercise)

    def __str__(self) -> str:
        return f"'{self.slip}' in the exercise {self.title}: {len(self.learners)} of {self.answered} who answered"


@frozen
class Typed:
    """What was typed at an exercise, and is neither right nor a slip that is known: how it stands, by whom."""

    exercise: str
    typed: str
    state: str
    says: str
    learners: tuple[Learner, ...]


@frozen
class GoalReached:
    """How many reached a goal of a lesson, of those who began the lesson: every exercise of it is right.

    `words`: the goal in the words of its lesson, or the exercise's title where it is entered for no goal; `unanswered`:
    which of its exercises nobody answered, so that they don't count.
    """

    lesson: int
    words: str
    exercises: tuple[str, ...]
    reached: int
    began: int
    unanswered: tuple[str, ...] = ()

    @property
    def is_asked(self) -> bool:
        """Whether somebody answered an exercise of it."""
        return len(self.unanswered) < len(self.exercises)

    @property
    def is_reached(self) -> bool:
        """Whether enough of them did."""
        return self.is_asked and self.reached >= REACHED * self.began

    def __str__(self) -> str:
        said = f"{self.words} (lesson {self.lesson:02}), reached by {self.reached} of {self.began}"
        if not self.unanswered:
            return said
        were = "was" if len(self.unanswered) == 1 else "were"
        titles = writing.listed([f"'{recipes()[name].title}'" for name in self.unanswered], "and")
        return f"{said} ({titles} {were} answered by nobody)"


@frozen
class WeekGone:
    """How the class stood by the end of a week: who handed in by then, how much is right, the slips that show."""

    week: str
    learners: int
    right: int
    slips: Mapping[tuple[str, str], int]

    @property
    def right_each(self) -> str:
        """How many exercises each has right, in the mean."""
        return writing.decimal(Fraction(self.right, max(self.learners, 1)), 1)


def titled(exercise: str) -> str:
    """The title of an exercise, with the number of its lesson.

    >>> titled("lead-of-a-leadscrew")
    "'One turn of the leadscrew' (lesson 01)"
    """
    recipe = recipes()[exercise]
    return f"'{recipe.title}' (lesson {recipe.lesson:02})"


def slips_made(marks: ClassMarks) -> tuple[SlipMade, ...]:
    """List the slips that the class makes, the most frequent first."""
    return tuple(sorted(_slips(marks), key=lambda made: (-len(made.learners), marks.exercises.index(made.exercise))))


def _slips(marks: ClassMarks) -> Iterator[SlipMade]:
    for exercise in marks.exercises:
        works = [(one.learner, work) for one in marks.learners if (work := one.at(exercise)).state != NOT_ANSWERED]
        by_slip: dict[str, list[tuple[Learner, Work]]] = defaultdict(list)
        for learner, work in works:
            if work.state == NOT_RIGHT and work.slip:
                by_slip[work.slip].append((learner, work))
        for slip, made in by_slip.items():
            says = Counter(work.says for _, work in made).most_common(1)[0][0]
            yield SlipMade(exercise, slip, says, tuple(learner for learner, _ in made), len(works))


def typed_otherwise(marks: ClassMarks) -> tuple[Typed, ...]:
    """List what was typed that is not readable, or not right with no slip that shows, the most frequent first.

    What could not be read comes first: there it is the writing that is to be taken up.
    """
    made = [each for name in marks.exercises for each in _typed_at(name, marks)]
    return tuple(sorted(made, key=lambda each: (each.state != UNREADABLE, -len(each.learners))))


def _typed_at(exercise: str, marks: ClassMarks) -> Iterator[Typed]:
    by_words: dict[tuple[str, str], list[tuple[Learner, Work]]] = defaultdict(list)
    for one in marks.learners:
        work = one.at(exercise)
        if work.state in (UNREADABLE, NOT_MARKED) or (work.state == NOT_RIGHT and not work.slip):
            by_words[work.typed, work.state].append((one.learner, work))
    for (typed, state), those in by_words.items():
        yield Typed(exercise, typed, state, those[0][1].says, tuple(learner for learner, _ in those))


def goals_reached(marks: ClassMarks) -> tuple[GoalReached, ...]:
    """List the goals of every lesson that somebody began, in their order; exercises for more practice don't count."""
    begun = {recipes()[name].lesson for name in marks.exercises}
    return tuple(
        goal for lesson in lessons_with_exercises() if lesson.number in begun for goal in _goals(lesson, marks)
    )


def _goals(lesson: LessonDone, marks: ClassMarks) -> Iterator[GoalReached]:
    own = [name for name in marks.exercises if recipes()[name].lesson == lesson.number and name not in lesson.exercises]
    asked = [name for name in own if any(name in one.works for one in marks.learners)]  # by an instructor of theirs
    began = [one for one in marks.learners if any(name in one.works for name in (*lesson.exercises, *asked))]
    by_goal: dict[str, list[str]] = {words: [] for words in lesson.goals}
    for name in (*lesson.exercises[: lesson.asked], *asked):
        by_goal.setdefault(_goal_of(name, lesson), []).append(name)
    for words, names in by_goal.items():
        if names:
            nobody = tuple(name for name in names if not any(name in one.works for one in began))
            answered = [name for name in names if name not in nobody]
            reached = sum(bool(answered) and all(one.at(name).state == RIGHT for name in answered) for one in began)
            yield GoalReached(lesson.number, words.replace("*", ""), tuple(names), reached, len(began), nobody)


def _goal_of(name: str, lesson: LessonDone) -> str:
    """The goal that an exercise is entered for, in words; else its title."""
    goal = recipes()[name].goal
    if goal is None or goal > len(lesson.goals):  # an exercise of a school's own may ask none of the lesson's
        return f"to do '{recipes()[name].title}'"
    return lesson.goals[goal - 1]


def weeks_gone(marks: ClassMarks) -> tuple[WeekGone, ...]:
    """List how the class stood by each week."""
    return tuple(_week(week, [one.by_week[week] for one in marks.learners]) for week in marks.weeks)


def _week(week: str, stood: Sequence[Mapping[str, Work]]) -> WeekGone:
    works = [(name, work) for works in stood for name, work in works.items()]
    slips = Counter((name, work.slip) for name, work in works if work.state == NOT_RIGHT and work.slip)
    right = sum(work.state == RIGHT for _, work in works)
    return WeekGone(week, sum(map(bool, stood)), right, {(name, slip or ""): n for (name, slip), n in slips.items()})


def tomorrow(marks: ClassMarks) -> tuple[str, ...]:
    """Say in a few sentences what to take up tomorrow: a slip, a goal, who needs it.

    Before them stands how many files were not taken, if any; after the slip the answer that many wrote so that it could
    not be read.
    """
    said = [_to_settle(marks), _slip_to_take_up(slips_made(marks)), _writing_to_take_up(marks)]
    goals = goals_reached(marks)
    if any(goal.is_asked for goal in goals):
        said.append(_goal_to_take_up(goals))
    return *filter(None, said), _whom_to_see(marks)


def _to_settle(marks: ClassMarks) -> str:
    count = len({one.where for one in marks.not_taken if one.is_all})
    if not count:
        return ""
    are, these = ("was", "this") if count == 1 else ("were", "these")
    whose = [one for one in marks.learners if one.refused]
    those = f" It is about {_named(whose)}." if whose else ""
    return f"{writing.counted(count, 'file')} handed in {are} not taken: settle {these} first.{those}"


def _writing_to_take_up(marks: ClassMarks) -> str:
    by_exercise: dict[str, list[Typed]] = defaultdict(list)
    for each in typed_otherwise(marks):
        if each.state == UNREADABLE:
            by_exercise[each.exercise].append(each)
    most = max(by_exercise.values(), key=_how_many, default=[])
    if not most or _how_many(most) < 2:
        return ""
    exercise, count = most[0].exercise, _how_many(most)
    answered = sum(one.at(exercise).state != NOT_ANSWERED for one in marks.learners)
    if count < _MANY_UNREADABLE * answered:
        return ""
    says = Counter(each.says for each in most for _ in each.learners).most_common(1)[0][0]
    return f"Show how an answer to {titled(exercise)} is written: {count} of {answered} can't be read. Say: {says}"


def _how_many(typed: Iterable[Typed]) -> int:
    return sum(len(each.learners) for each in typed)


def _slip_to_take_up(slips: Sequence[SlipMade]) -> str:
    if not slips or len(slips[0].learners) < 2:
        return "No slip is made by two or more: there is none to take up with all of them."
    return f"Begin with the slip {slips[0]}. Say: {slips[0].says}"


def _goal_to_take_up(goals: Sequence[GoalReached]) -> str:
    left = [goal for goal in goals if goal.is_asked and not goal.is_reached]
    not_asked = sum(not goal.is_asked for goal in goals)
    were = "was" if not_asked == 1 else "were"
    end = f"; {writing.counted(not_asked, 'goal')} {were} not asked yet." if not_asked else "."
    if not left:
        which = "that was asked" if not_asked else "of the lessons begun"
        return f"Every goal {which} is reached by three in four or more{end}"
    least = min(left, key=lambda goal: (Fraction(goal.reached, goal.began), goal.lesson))
    more = f", and {writing.counted(len(left) - 1, 'goal')} more {'is' if len(left) == 2 else 'are'} not reached"
    return f"Then go back to a goal: {least}{more if len(left) > 1 else ''}{end}"


def _whom_to_see(marks: ClassMarks) -> str:
    nothing = [one for one in marks.learners if not one.works and not one.refused]
    refused = [one for one in marks.learners if not one.works and one.refused]
    not_taken = f"Handed in, but not taken: {_named(refused)}." if refused else ""
    if nothing:
        return f"Ask after {_named(nothing)}: there is no answer of theirs yet. {not_taken}".strip()
    if refused:
        return not_taken
    least = min((one.right for one in marks.learners), default=0)
    those = [one for one in marks.learners if one.right == least]
    if len(those) == len(marks.learners):
        return f"All have as many right, {least} of {len(marks.exercises)}."
    return f"See how {_named(those)} can be helped: {least} of {len(marks.exercises)} right, the fewest."


def _named(those: Iterable[LearnerMarks]) -> str:
    names = [str(one.learner) for one in those]
    return in_a_row(names, _MOST_NAMED)


def in_a_row(names: Sequence[str], most: int) -> str:
    """Names, which may have commas of their own, in a row, and how many more there are.

    >>> in_a_row(["Thorn, Ada (1)", "Bo Reed (2)", "Cleo Marsh (3)"], 2)
    'Thorn, Ada (1); Bo Reed (2); 1 more'
    """
    more = [f"{len(names) - most} more"] if len(names) > most else []
    return "; ".join([*names[:most], *more])
