"""A calculation as a textbook shows it: a sentence, then formula = numbers put in = result.

A formula is an unevaluated sympy expression, built by constructors and never read from text. One walk writes it,
once with the symbols and once with the numbers, so that the two can't disagree.
"""

from __future__ import annotations

import html
import re
import textwrap
from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction
from functools import reduce

import sympy
from attrs import evolve, field, frozen

from gearcalc.basics import markup, writing
from gearcalc.basics.exact import Exact, as_exact, to_sympy
from gearcalc.basics.markup import Written

LETTERS = {"z": "teeth", "r": "ratio", "n": "turns", "L": "lead", "f": "feed", "e": "error", "k": "count"}
"""What each letter of a formula stands for; its subscript says of what."""

LINE = 76
_LATEX_LINE = 60
_EQUALS = Written("= ", "= ", "= ")


@frozen
class Quantity:
    """Something with a value: a letter with its place behind it, words for plain text, and the exact value.

    >>> first = Quantity("z", "driver 1", "first driver", Fraction(40))
    >>> first.symbol, first.latex
    (z_driver_1, 'z_{\\\\text{driver 1}}')

    `letter`: one of LETTERS, or none for what is written in words; `value`: None while unknown; `shown`: how the value
    is written (a fraction if left out);
    `spelled`: how the value comes about, such as 25.4/8, where that is worth a look.
    """

    letter: str
    place: str
    words: str
    value: Exact | None = None
    shown: Written | None = None
    spelled: Written | None = None

    @property
    def symbol(self) -> sympy.Symbol:
        name = f"{self.letter}_{self.place}".strip("_").replace(" ", "_")
        return sympy.Symbol(name, real=True) if self.letter == "e" else sympy.Symbol(name, positive=True)

    @property
    def latex(self) -> str:
        place = markup.plain(self.place).latex
        return f"{self.letter}_{{{place}}}" if self.letter and self.place else self.letter or place

    @property
    def named(self) -> Written:
        return Written(self.words, self.latex, markup.in_html(self.words))

    @property
    def number(self) -> Written:
        """The value as it is put into a formula; the name while it is unknown."""
        if self.value is None:
            return self.named
        if self.shown is not None:
            return self.shown
        return writing.ratio(self.value) if isinstance(self.value, Fraction) else writing.number(self.value)


def product(*factors: sympy.Expr) -> sympy.Expr:
    """The product, left as it stands.

    >>> a, b = sympy.symbols("a b")
    >>> product(over(a, b), over(b, a)).args
    (a/b, b/a)
    """
    return sympy.Mul(*factors, evaluate=False)


def over(top: sympy.Expr, bottom: sympy.Expr) -> sympy.Expr:
    """The quotient, left as it stands."""
    return sympy.Mul(top, sympy.Pow(bottom, -1, evaluate=False), evaluate=False)


def total(*terms: sympy.Expr) -> sympy.Expr:
    """The sum, left as it stands."""
    return sympy.Add(*terms, evaluate=False)


@frozen
class Step:
    """One step: a sentence, and an equation with symbols, numbers and result.

    >>> gears = (Quantity("z", "driver 1", "first driver", Fraction(40)),
    ...          Quantity("z", "driven 1", "first driven", Fraction(80)))
    >>> formula = over(gears[0].symbol, gears[1].symbol)
    >>> step = Step("Drivers over driven.", Quantity("r", "train", "train"), formula, gears)
    >>> print(step)
    Drivers over driven.
        train = first driver/first driven = 40/80 = 1/2
    >>> step.found.value
    Fraction(1, 2)

    `words`: the sentence; `target`: what is worked out; `formula`: in symbols; `known`: what is put in;
    `via`: more stages between numbers and result; `ends`: how the result is written, if not as `target` says;
    `unit`: of the result.
    """

    words: str
    target: Quantity
    formula: sympy.Expr
    known: tuple[Quantity, ...]
    via: tuple[Written, ...] = ()
    ends: tuple[Written, ...] | None = None
    unit: str = ""

    @property
    def eq(self) -> sympy.Eq:
        """The equation in symbols, unevaluated."""
        return sympy.Eq(self.target.symbol, self.formula, evaluate=False)

    @property
    def symbols(self) -> dict[sympy.Symbol, str]:
        """Each symbol of the equation and what it stands for."""
        return {quantity.symbol: quantity.words for quantity in (self.target, *self.known)}

    @property
    def numbers(self) -> dict[sympy.Symbol, sympy.Expr]:
        """The numbers that are put in."""
        return {quantity.symbol: to_sympy(quantity.value) for quantity in self.known if quantity.value is not None}

    @property
    def result(self) -> sympy.Expr:
        """The right-hand side with the numbers put in, exact."""
        return self.formula.xreplace(self.numbers)

    @property
    def found(self) -> Quantity:
        """What is worked out, with its value."""
        return evolve(self.target, value=as_exact(self.result))

    @property
    def stages(self) -> tuple[Written, ...]:
        """Left-hand side, formula, numbers, result; a stage that repeats the one before it is left out."""
        of = {quantity.symbol: quantity for quantity in self.known}
        unit = self.unit
        stages = [
            self.target.named,
            _write(self.formula, lambda symbol: of[symbol].named),
            _with_unit(_write(self.formula, lambda symbol: of[symbol].spelled or of[symbol].number), unit),
            _with_unit(_write(self.formula, lambda symbol: of[symbol].number), unit),
            *self.via,
        ]
        if self.ends is not None:
            stages += self.ends
        elif not self.result.free_symbols:
            stages.append(_with_unit(self.found.number, unit))
        return tuple(
            stage
            for before, stage in zip([None, *stages], stages, strict=False)
            if before is None or before.text != stage.text
        )

    @property
    def text(self) -> str:
        """The sentence and the equation in plain text."""
        return f"{textwrap.fill(self.words, LINE + 12)}\n{textwrap.indent(self.equation_text, '    ')}"

    @property
    def equation_text(self) -> str:
        """The equation in plain text, on more than one line where it is long."""
        return "\n  ".join(" ".join(stage.text for stage in row) for row in self._rows(LINE, _text_width))

    @property
    def latex(self) -> str:
        """The equation in LaTeX (maths mode, no dollars), aligned at its signs where it is long."""
        return self.latex_within(_LATEX_LINE)

    def latex_within(self, limit: int) -> str:
        """The same, no longer on a line than about so many signs."""
        (first, *formula), *more = [[stage.latex for stage in row] for row in self._rows(limit, _latex_width)]
        if not more:
            return " ".join((first, *formula))
        rows = r" \\[6pt] ".join("& " + " ".join(row) for row in (formula, *more))
        return rf"\begin{{aligned}}{first} {rows}\end{{aligned}}"

    def _rows(self, limit: int, width: Callable[[list[Written]], int]) -> list[list[Written]]:
        """The stages on one row, or, where that is too long, the formula on the first and the rest below it."""
        first, *others = self.stages
        signed = [stage if stage.text.startswith("≈") else _EQUALS + stage for stage in others]
        if width([first, *signed]) <= limit:
            return [[first, *signed]]
        rows = [[first, signed[0]], []]
        for stage in signed[1:]:
            if width([*rows[-1], stage]) > limit:
                rows.append([])
            rows[-1].append(stage)
        return [row for row in rows if row]

    def __str__(self) -> str:
        return self.text

    def _repr_latex_(self) -> str:
        return rf"$\displaystyle {self.latex}$"

    def _repr_html_(self) -> str:
        return (
            f'<div style="max-width:46em">{markup.in_html(self.words)}</div>'
            '<div style="margin:0.2em 0 0.4em 1.5em;padding:0.3em 0 0.5em;overflow-x:auto;overflow-y:hidden">'
            rf"\(\displaystyle {html.escape(self.latex)}\)</div>"
        )


@frozen(kw_only=True)
class Worked:
    """Steps under a title, with a last word: shows itself in plain text, LaTeX and HTML."""

    title: str
    steps: tuple[Step, ...] = field(repr=False)
    closing: str = ""

    @property
    def legend(self) -> dict[str, str]:
        """The letters that occur, and what they stand for."""
        return letters_of(self.steps)

    @property
    def text(self) -> str:
        """All of it in plain text, steps numbered."""
        numbered = [
            f"{f'{number}.':<4}" + textwrap.indent(step.text, "    ").lstrip()
            for number, step in enumerate(self.steps, 1)
        ]
        closing = [textwrap.fill(self.closing, LINE + 12)] if self.closing else []
        return "\n\n".join((self.title, *numbered, *closing))

    @property
    def latex(self) -> str:
        """All of it as one block of LaTeX (maths mode, no dollars)."""
        rows = [*in_lines(self.title), ""]
        for number, step in enumerate(self.steps, 1):
            rows += [*in_lines(f"{number}. {step.words}"), rf"\qquad\displaystyle {step.latex}", ""]
        rows += in_lines(self.closing)
        while rows and not rows[-1]:
            rows.pop()
        return r"\begin{array}{l}" + r" \\[6pt] ".join(row or r"{}" for row in rows) + r"\end{array}"

    def __str__(self) -> str:
        return self.text

    def _repr_latex_(self) -> str:
        return f"$${self.latex}$$"

    def _repr_html_(self) -> str:
        steps = "".join(f'<li style="margin:0.7em 0">{step._repr_html_()}</li>' for step in self.steps)
        closing = f'<p style="max-width:48em">{markup.in_html(self.closing)}</p>' if self.closing else ""
        again = f"<summary>The same in plain text</summary><pre>{html.escape(self.text)}</pre>"
        return (
            f"<div>{titled(self.title, self.legend)}"
            f'<ol style="padding-left:1.6em">{steps}</ol>{closing}'
            f'<details class="gearcalc-again">{again}</details></div>'
        )


def letters_of(steps: Iterable[Step]) -> dict[str, str]:
    """The letters that occur in these steps, and what they stand for."""
    used = {quantity.letter for step in steps for quantity in (step.target, *step.known)}
    return {letter: words for letter, words in LETTERS.items() if letter in used}


def titled(title: str, legend: Mapping[str, str]) -> str:
    """A title as HTML, the letters below it."""
    letters = " · ".join(f"<var>{letter}</var> {markup.in_html(words)}" for letter, words in legend.items())
    return f"<p><strong>{markup.in_html(title)}</strong><br><small>{letters}</small></p>"


def _write(expression: sympy.Expr, leaf: Callable[[sympy.Symbol], Written], *, inside: bool = False) -> Written:
    """Walk a formula made of products, quotients, sums and differences; `leaf` writes each symbol."""
    if expression.is_Symbol:
        return _on_one_line(leaf(expression)) if inside else leaf(expression)
    if expression.is_Add:
        return _write_sum(expression, leaf, inside)
    bottoms = [factor.base for factor in expression.args if factor.is_Pow]
    tops = [factor for factor in expression.args if not factor.is_Pow]
    if not bottoms and not inside:
        return _joined((_write(factor, leaf) for factor in tops), Written(" × ", r" \times ", " × "))
    if not bottoms:
        factors = (_bracketed_fraction(_write(factor, leaf, inside=True)) for factor in tops)
        return _joined(factors, Written(" · ", r" \cdot ", " · "))
    top, bottom = (_write(product(*side), leaf, inside=True) for side in (tops, bottoms))
    return Written(
        f"{_bracketed(top.text)}/{_bracketed(bottom.text)}",
        rf"\frac{{{top.latex}}}{{{bottom.latex}}}",
        f"{_bracketed(top.html)}/{_bracketed(bottom.html)}",
    )


def _write_sum(expression: sympy.Expr, leaf: Callable[[sympy.Symbol], Written], inside: bool) -> Written:
    first, *others = expression.args
    written = _write(first, leaf, inside=inside)
    for term in others:
        taken_away = term.is_Mul and term.args[0] == -1
        sign = Written(" − ", " - ", " − ") if taken_away else Written(" + ", " + ", " + ")
        written = written + sign + _write(product(*term.args[1:]) if taken_away else term, leaf, inside=inside)
    return written


def _text_width(row: list[Written]) -> int:
    return sum(len(stage.text) + 1 for stage in row)


def _latex_width(row: list[Written]) -> int:
    """About how many letters wide it is set: a fraction is as wide as its wider side, a command one letter."""
    latex = " ".join(stage.latex for stage in row)
    latex = re.sub(r"_\{\\text\{([^{}]*)\}\}|\\mathrm\{([^{}]*)\}", lambda found: found[1] or found[2], latex)
    while (
        flat := re.sub(r"\\frac\{([^{}]*)\}\{([^{}]*)\}", lambda found: max(found.groups(), key=len), latex)
    ) != latex:
        latex = flat
    return len(re.sub(r"\\[a-z]+", "x", latex))


def _joined(parts: Iterable[Written], sign: Written) -> Written:
    return reduce(lambda one, other: one + sign + other, parts)


def _bracketed(text: str) -> str:
    return f"({text})" if any(sign in text for sign in "/·×+−π") else text


def _bracketed_fraction(shown: Written) -> Written:
    return Written(*(f"({part})" for part in (shown.text, shown.latex, shown.html))) if "/" in shown.text else shown


def _on_one_line(shown: Written) -> Written:
    """A number that stands inside a fraction: 127/60 rather than a fraction in a fraction."""
    if r"\frac" not in shown.latex:
        return shown
    return Written(shown.text, shown.text.replace("π", r"\pi").replace(writing.MINUS, "-"), shown.html)


def _with_unit(shown: Written, unit: str) -> Written:
    return shown + Written(f" {unit}", rf"\,\mathrm{{{unit}}}", f" {unit}") if unit else shown


def in_lines(words: str) -> list[str]:
    """Words as rows of LaTeX."""
    return [markup.plain(line).latex for line in textwrap.wrap(words, 96)]
