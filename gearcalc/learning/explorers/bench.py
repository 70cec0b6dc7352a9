"""The bench: one page from a box of gears and a thread to setups, pictures, reasons, error, verdict and fit."""

from __future__ import annotations

from gearcalc.lathes import Lathe
from gearcalc.learning.explorers.bench_lathes import FROM_FILE, LATHES, demo_lathe_once, lathe_texts, settle
from gearcalc.learning.explorers.bench_parts import PARTS
from gearcalc.learning.explorers.bench_views import LISTED, bench_view
from gearcalc.learning.explorers.near_miss_views import PAIRS
from gearcalc.learning.explorers.shell import Explorer, below, choice, folded_text, only_with, row_chooser, text_box
from gearcalc.pictures.brackets.bracket_sheets import BRACKET_PX

_CHARTED = "M4, M5, M6, M8, M10, M12, 1/4-20 UNC, 3/8-16 UNC, 1/2-13 UNC"


def bench(lathe: str | Lathe = "inch", thread: str = "M10", *, part: str = "will it go on") -> Explorer:
    """Type your gears and a thread: which setups cut it, does it matter, does it go on, and why that lead?

    >>> explorer = bench("metric", "16 tpi")
    >>> explorer.set(gears="20 30 40 40 50 60 80 127", levers="")
    >>> str(explorer.shown.chosen.train), explorer.shown.chosen.is_exact
    ('(127 · 20)/(60 · 80)', True)

    `lathe`: 'inch' or 'metric' for a demo lathe, or a Lathe, whose file then stands on the page; `thread`: a thread or
    a feed, as text; `part`: what is shown of the setup chosen at first, a key of bench_parts.PARTS.
    Raises UnknownNameError for another lathe.
    """
    start = demo_lathe_once(lathe) if isinstance(lathe, str) else lathe
    texts = lathe_texts(start)
    controls = [
        choice(
            "lathe",
            "Begin with",
            list(LATHES),
            lathe if isinstance(lathe, str) else FROM_FILE,
            labels=list(LATHES.values()),
            wide=True,
        ),
        text_box("gears", "Your gears", texts["gears"], wide=True),
        text_box("leadscrew", "Leadscrew", texts["leadscrew"]),
        text_box("levers", "Levers", texts["levers"]),
        text_box("thread", "Wanted", thread),
        text_box("train", "Own train", ""),
        choice("pairs", "Pairs", list(PAIRS), "up to three", wide=True),
        choice("listed", "List", list(LISTED), "what goes on", wide=True),
        folded_text(
            "file",
            "A whole lathe file, with its bracket",
            start.to_toml(),
            use="Use this lathe",
            sets=("lathe", FROM_FILE),
        ),
        row_chooser("answer", "Setups, best first", height_px=376),
        *below(choice("part", "Show", list(PARTS), part, wide=True)),
        *below(
            *only_with("part", "wrong lead", text_box("measured", "Measured", "1.5"), text_box("limit", "± mm", "0.02"))
        ),
        *below(*only_with("part", "change over", text_box("mounted", "Now mounted", "", wide=True))),
        *below(*only_with("part", "chart", text_box("threads", "Threads", _CHARTED, wide=True))),
    ]
    aspect = BRACKET_PX[0] / BRACKET_PX[1]
    return Explorer(
        "Bench", controls, bench_view, aspect=aspect, facts_px=380, facts_scroll=True, message_px=66, settle=settle
    )
