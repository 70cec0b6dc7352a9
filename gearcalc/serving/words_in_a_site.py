"""What lessons say otherwise where they run in the browser alone: there is no folder, no terminal, and no PDF."""

from __future__ import annotations

import re

_OTHERWISE = {
    "stands beside the lessons": "is kept in this browser",
    "my_lathe.toml, beside the lessons": "my_lathe.toml, in this browser",
    "beside the lessons": "kept in this browser",
    "What you type stays where the lessons run: on your computer, or on your school's if they run there.": (
        "What you type stays in this browser."
    ),
    "In JupyterLab, *Run → Run All Cells*": "*Run → Run All Cells*",
    "In a terminal (*File → New → Terminal*, in the folder of the lessons) type ": "",
    "`python -m gearcalc lathe new`. Or ": "",
    "open a cell of your own": "Open a cell of your own",
    "with its explanation. *": "with its explanation, and offers it below the cell. *",
    "delete it in the list on the left (right-click)": 'run `Path("my_lathe.toml").unlink()` in a cell',
    "Double-click the file there, put in what you measured, and save it (**Ctrl + S**).": (
        "Click its name below the cell, and it is among your downloads. Open it in an editor of plain text, put in "
        "what you measured, save it, and choose it in the [workbench](workbench.ipynb), under *Your own lathe*."
    ),
    '.save("card.pdf")': '.save("card.html")',
    '.save("faults.pdf")': '.save("faults.html")',
    '.save("plate.pdf")': '.save("plate.html")',
    "prints it whole": "saves it whole, for the browser to print",
}
_IN_A_TERMINAL = re.compile(r", or `python -m gearcalc [^`]*` in a terminal")


def in_a_site(words: str) -> str:
    """Say what a cell of a lesson says, but as it is in the browser alone.

    >>> in_a_site("Run `main([\\"check\\"])` in a cell, or `python -m gearcalc check my_lathe.toml` in a terminal.")
    'Run `main(["check"])` in a cell.'
    """
    for here, there in _OTHERWISE.items():
        words = words.replace(here, there)
    return _IN_A_TERMINAL.sub("", words)
