"""Formulas of a page as MathML, which a browser shows by itself: nothing is fetched, and no script runs."""

from __future__ import annotations

import html
import re
from functools import cache
from xml.etree.ElementTree import tostring

_TAG = re.compile(r"""(<!--.*?-->|<(?:[^<>"']|"[^"]*"|'[^']*')*>)""", re.S)
_AS_IT_STANDS = {"pre", "code", "script", "style", "svg", "math", "textarea"}
_FORMULA = re.compile(
    r"""\$\$(?P<block>[^$]+)\$\$ | (?<!\\)\$(?![\s$])(?P<inline>[^$]+?)(?<![\s\\])\$
    | \\\[(?P<in_brackets>.+?)\\\] | \\\((?P<in_round>.+?)\\\)""",
    re.X | re.S,
)
_APART = re.compile(r"(\\q?quad(?![a-zA-Z])|\\.|[{}])")
_HELD_TOGETHER = re.compile(r"\\(?:begin|left)(?![a-zA-Z])")
_NOT_TAKEN = {"href", "class", "id", "style"}
"""What a formula could say of the page around it."""
_BLOCKS = {"block", "in_brackets"}
_SAID_OTHERWISE = (  # what the converter reads as something else, in words that it knows
    (re.compile(r"\\\\\[[^\]]*\]"), r"\\\\"),
    (re.compile(r"\\(begin|end)\{aligned\}"), r"\\\1{align*}"),
    (re.compile(r"\\displaystyle(?![a-zA-Z])\s*"), ""),
    (re.compile(r"(\\(?:sin|cos|tan|cot)(?![a-zA-Z]))\s*(?=[\w\\])"), r"\1\\,"),
    (re.compile(r"(?<=\d)\s*(?=\\(?:sin|cos|tan|cot)(?![a-zA-Z]))"), r"\\,"),
    (re.compile(r"\\cfrac(?![a-zA-Z])"), r"\\dfrac"),
    (re.compile(r"\\mathrm\{([\w ]+)\}"), r"\\text{\1}"),
)


def with_mathml(page: str) -> str:
    """Write each formula of a page as MathML.

    >>> with_mathml("<p>So $z = 40$.</p><code>$z$</code>").count("<math ")
    1

    `page`: HTML with LaTeX between dollars or in `\\(` and `\\)`, each formula within one element. What stands in code
    is left as it is; so is a formula that can't be read, as code.
    """
    parts: list[str] = []
    inside: list[str] = []
    for place, part in enumerate(_TAG.split(page)):
        if place % 2:
            inside = _now_inside(part, inside)
        elif not inside:
            part = _FORMULA.sub(_as_mathml, part)
        parts.append(part)
    return "".join(parts)


def _now_inside(tag: str, inside: list[str]) -> list[str]:
    """The elements left as they are that are open after a tag, the outermost first."""
    found = re.match(r"<(/?)([a-zA-Z][a-zA-Z0-9]*)", tag)
    if found is None or tag.endswith("/>"):
        return inside
    name = found[2].lower()
    if found[1]:
        return inside[:-1] if inside and inside[-1] == name else inside
    return [*inside, name] if name in _AS_IT_STANDS else inside


def _as_mathml(found: re.Match[str]) -> str:
    kind = str(found.lastgroup)
    latex = html.unescape(found[kind]).strip()
    if kind not in _BLOCKS:
        return _mathml(latex, "inline")
    parts = _parts(latex)
    if len(parts) == 1:
        return _mathml(latex, "block")
    shown = " ".join(_mathml(rf"\displaystyle {part}", "inline") for part in parts)
    return f'<span class="formula-in-parts">{shown}</span>'


def _parts(latex: str) -> list[str]:
    """What stands apart in a formula, and may stand below each other where the page is narrow."""
    if _HELD_TOGETHER.search(latex):
        return [latex]
    parts, depth = [""], 0
    for token in _APART.split(latex):
        depth += (token == "{") - (token == "}")
        if depth == 0 and token in (r"\quad", r"\qquad"):
            parts.append("")
        else:
            parts[-1] += token
    return [part for part in map(str.strip, parts) if part]


@cache
def _mathml(latex: str, kind: str) -> str:
    from latex2mathml.converter import convert_to_element

    plainer = latex
    for pattern, instead in _SAID_OTHERWISE:
        plainer = pattern.sub(instead, plainer)
    try:
        made = convert_to_element(plainer, display=kind)
    except Exception:  # whatever a formula that is none makes of the converter: the page shows what was written
        return f"<code>{html.escape(latex)}</code>"
    made.set("alttext", latex)
    if latex.startswith(r"\displaystyle"):
        made.set("displaystyle", "true")
    for element in made.iter():
        element.text = html.unescape(element.text or "")  # signs stand there as entities, words as they are
        for name in _NOT_TAKEN & set(element.attrib):
            del element.attrib[name]
        is_letter = element.tag == "mi" and len(element.text) == 1 and element.text.isalpha()
        if is_letter and "mathvariant" not in element.attrib:
            element.set("class", "letter")  # for a page to slant: some computers lack slanted ones
    return tostring(made, encoding="unicode")
