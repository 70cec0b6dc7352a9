"""The doors of the exercises: whatever is answered, there is an outcome, and nothing is ever raised or refused."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import gearcalc as gc
from gearcalc.basics.errors import GearcalcError
from gearcalc.learning.exercises import recipe_of
from gearcalc.learning.exercises.tasks import NOT_RIGHT, NOT_YET, RIGHT
from tests.fuzzing.doors import Asked, Door, in_words, shown
from tests.fuzzing.judging import Said
from tests.fuzzing.mutations import Draw, mutated
from tests.fuzzing.values import a_lathe, a_list, a_nonsense, a_number, a_text, a_thread_text, a_train, like
from tests.learning.exercise_cases import CASES


def exercises() -> Iterator[Door]:
    for name in gc.exercise_names():
        yield Door(f"exercise {name}", _asks(name), seconds=10 if recipe_of(name).any_lathe else 1)


def _asks(name: str) -> Callable[[Draw, int, Path], Asked]:
    def draw(r: Draw, number: int, folder: Path) -> Asked:
        class_number: Any = like(r, 7) if r.goes_wrong else r.choice((1, 7, r.randint(0, 10**6)))
        lathe: Any = a_lathe(r) if recipe_of(name).any_lathe and r.random() < 0.4 else None
        posed = gc.exercise(name, class_number if type(class_number) is int and 0 <= class_number <= 10**6 else 7)
        answers = [_an_answer(r, posed) for _ in range(2)]
        go: Any = like(r, 2) if r.goes_wrong else r.choice((None, 2))
        step: Any = like(r, 1) if r.goes_wrong else 1

        def ask() -> Iterator[Said]:
            q = gc.exercise(name, class_number, lathe, go)
            yield from _states(q, answers)
            yield from shown(q)
            yield from shown(q.solution())
            for one in (q.fresh(), q.anew()):
                yield from _states(one, answers[:1])
            yield from shown(q.hint(step))

        return Asked(f"{name}, {in_words(class_number)}: {in_words(answers)}", ask)

    return draw


def _states(q: gc.Exercise, answers: list[Any]) -> Iterator[Said]:
    for answer in answers:
        try:
            outcome = q.check(answer)
        except GearcalcError as problem:
            raise AssertionError(f"check({in_words(answer)}) raises {problem}") from None
        assert outcome.state in (NOT_YET, NOT_RIGHT, RIGHT)
        assert outcome.feedback
        assert outcome._repr_html_().startswith("<div")
        yield from shown(outcome)


def _an_answer(r: Draw, posed: gc.Exercise) -> object:
    right = CASES[posed.name].right(posed)
    return r.choice((
        lambda: r.choice(right), lambda: like(r, r.choice(right)), lambda: mutated(r, str(r.choice(right))),
        lambda: mutated(r, str(r.choice(right))), lambda: a_nonsense(r), lambda: a_text(r), lambda: a_number(r),
        lambda: a_train(r), lambda: a_list(r, a_number), lambda: a_thread_text(r), lambda: 1j, lambda: b"40/80",
        lambda: {a_text(r)[:9]: a_number(r)},
    ))()  # fmt: skip
