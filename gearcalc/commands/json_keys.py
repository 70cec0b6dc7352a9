"""The keys of the answers in JSON: the same whatever the answer is, null where there is nothing to say."""

from __future__ import annotations

from collections.abc import Mapping

from gearcalc.lathes.orders import HOW_MOVED_COUNTS

Keys = Mapping[str, str]
"""Path -> what stands there: 'setups[].lead_mm' is the lead_mm of each of the setups."""


def _in(front: str, about: str, keys: Keys) -> Keys:
    """An object, or a list of objects where `front` ends in []: what it is, and its keys."""
    return {front.removesuffix("[]"): about, **{f"{front}.{key}": words for key, words in keys.items()}}


_LEAD: Keys = {
    "lead_mm": "travel by the half-nuts in one turn of the spindle, mm; null where it can't be told",
    "lead_mm_exact": "the same as text, '127/80', or '3/2 π'",
    "error_ppm": "(cut - wanted) / wanted, in ppm, positive when too long; null where nothing is wanted",
    "error_exact": "the same as a plain fraction, as text; null too where π is in it",
}
_GEARS: Keys = {
    "drivers": "tooth counts of the drivers, in mesh order from the spindle side",
    "driven": "tooth counts of the driven gears, likewise",
    "idlers": "a list of tooth counts for each mesh",
}
_FIT: Keys = {
    "goes_on": "whether it goes on the bracket",
    "reasons": "why not, a sentence each; none where it goes on",
    "not_owned": "teeth of gears taken as had that the lathe lacks or has damaged",
    **{key: f"{words}, as arranged" for key, words in _GEARS.items()},
    "swing_deg": "how far the bracket is swung, anticlockwise seen from the gear side; null where it can't be placed",
    "axes_mm": "across and up from the pivot, spindle side first, pivot last; none where it can't be placed",
    "planes": "a plane for each mesh, from 0, next to the headstock",
    **_in(
        "idle_gears[]",
        "gears of clusters that mesh with nothing",
        {"teeth": "its teeth", "axis": "its axis, counted as in axes_mm from 0", "plane": "the plane it turns in"},
    ),
    **_in(
        "clearances_mm[]",
        "gaps between parts that must not touch, the tightest first",
        {"between": "the two parts", "mm": "the gap, below zero where they overlap"},
    ),
}
SETUP: Keys = {
    "good_enough": "whether it is exact, or off by no more than half the thread's tolerance, or a tenth of a feed; "
    "null where no tolerance is known, up to 1000 ppm, and where nothing is wanted",
    "shortfall": "why not, in words; empty where it is, or is not known",
    "train": "the train as it is written; it says too which gears are in one piece, or of another size",
    **_GEARS,
    "lever": "where the lever stands, or each of several, as in 'range slow, gear A'; null without a gearbox",
    "wanted": "what is wanted; null where nothing is",
    **_LEAD,
    "feed_mm": "travel of the tool for one turn, mm, where a feed is wanted; else null",
    "is_exact": "whether it cuts just what is wanted; null where nothing is",
    "hand": "'right' or 'left', that it cuts",
    "reverse_over": "whether that takes the reverse turned over; null for a feed drive, whose way the file doesn't say",
    **_in("fit", "how it stands on the bracket, or comes nearest to going on; null where it is not checked", _FIT),
    "warnings": "what to mind, a sentence each",
}
_LATHE: Keys = {"lathe": "name of the lathe"}
_ASSUMED: Keys = {"assumed": "which idlers of what is mounted nobody named, in words; empty where that is none"}
_FILE: Keys = {"file": "the file written by --save; null without it"}
_MOVED: Keys = {"moved": f"gears to move; null where it isn't known what was there. {HOW_MOVED_COUNTS}"}
_WHY: Keys = {"why": "why there is none; then all other fields of the row but what is wanted are null"}

_SERVED: Keys = {
    "port": "the port",
    "address": "the address on this computer",
    "addresses": "those for others on the network, the likeliest first; none without --lan",
}

KEYS: Mapping[str, Keys] = {
    "lessons": {
        "folder": "where the lessons are",
        **_in(
            "files[]",
            "each file",
            {
                "name": "its name",
                "state": "'new', 'unchanged', 'brought up to date', 'written in' (of this edition), 'moved', "
                "'taken away' or 'left'",
                "yours": "where it was moved: the name that what you wrote in has now; null where it was not",
                "why": "why it was moved or left; empty where that is plain",
            },
        ),
    },
    "lathe": {
        "file": "the file written",
        **_LATHE,
        "examples": "which of name, leadscrew and gears are examples still",
    },
    "marks": {
        "weeks": "dates of the folders, in order; one empty text where there are none",
        "exercises": "names of the exercises of every lesson that somebody began",
        **_in(
            "learners[]",
            "each learner, by class number",
            {
                "class_number": "the class number",
                "name": "from the list, or from the answers; empty where there is none",
                "right": "how many exercises are right",
                **_in(
                    "marks[]",
                    "each exercise",
                    {
                        "exercise": "its name",
                        "state": "'right', 'not right', 'not readable', 'not marked' or 'not answered'",
                        "slip": "the slip that shows in the answer; null where none does",
                        "tries": "how many, in all goes",
                    },
                ),
            },
        ),
        **_in(
            "slips[]",
            "each slip that the class makes, the most frequent first",
            {
                "exercise": "name of the exercise",
                "slip": "name of the slip",
                "says": "what to say of it",
                "class_numbers": "who made it",
                "answered": "how many answered the exercise",
            },
        ),
        **_in(
            "goals[]",
            "each goal of the lessons begun",
            {
                "lesson": "number of the lesson",
                "goal": "the goal in words",
                "exercises": "names of its exercises",
                "unanswered": "those of them that nobody answered; where it is all, the goal is not asked yet",
                "reached": "how many have all the others right",
                "began": "how many began the lesson",
            },
        ),
        **_in(
            "by_week[]",
            "how the class stood by each week",
            {
                "week": "its date; empty where there is none",
                "learners": "how many had answered something by then",
                "right": "exercises right, of all of them together",
                "slips": "slips that showed",
            },
        ),
        "tomorrow": "what to take up, a sentence each",
        **_in(
            "not_taken[]",
            "what does not count of what was handed in",
            {
                "where": "file or folder",
                "why": "why not",
                "is_all": "whether all of it; else a part",
                "class_number": "most likely whose it is; null where that can't be told",
                "is_empty": "whether it is only begun, so that nothing is handed in there yet",
            },
        ),
        **_FILE,
    },
    "check": {
        **_LATHE,
        "ok": "whether nothing is wrong",
        **_in(
            "plate[]",
            "each row of the plate",
            {
                "thread": "what the row says it cuts",
                "ok": "whether it does",
                "problems": "what is wrong, a sentence each",
                "goes_on": "whether it goes on the bracket; null where it is not checked",
                **_LEAD,
            },
        ),
        "bracket": "what the plate says of the bracket, a sentence each",
    },
    "bracket": {**_LATHE, "train": "the train that was named", **_FIT, **_FILE},
    "find": {
        "good_enough": "that of the first; false where there is none",
        **_LATHE,
        "wanted": "what is wanted",
        **_in("setups[]", "what was found, best first", {**SETUP, **_MOVED}),
        "reason": "why the first comes first; empty for a nearest that is not mounted, or where none is good enough",
        "note": "why there is none, or no more; empty else",
        **_ASSUMED,
    },
    "cuts": {
        **_LATHE,
        **SETUP,
        **_in(
            "passes_for[]",
            "standard threads that it would pass for, nearest first; null where no train is named",
            {"thread": "its name", **_LEAD},
        ),
        **_in(
            "threads[]",
            "where no train is named, each thread of the tables that is cut near enough, with its setup; else null",
            {"thread": "its name", "share_used": "of its tolerance, 1 is all of it; null where none is known", **SETUP},
        ),
        "engagement": "what the error comes to over that of --engagement, in words; else null",
        "exact": "how many of those are cut exactly; null where a train is named, as what follows",
        "near": "how many near enough, and not exactly",
        "not_cut": "how many threads of the tables are not cut near enough",
        "not_known": "for how many the search gave up before it could tell",
    },
    "add": {
        **_LATHE,
        "gears": "what to add",
        "proven": "whether no fewer serve",
        "lower_bound": "how many are proved to be needed",
        "meshes": "of trains of so many meshes that is proved",
        **_in("setups[]", "one for each thread, null where it can't be cut", SETUP),
        "note": "the same in words",
    },
    "coverage": {
        **_LATHE,
        "from_mm": "the smallest lead of the range",
        "to_mm": "the largest",
        "meshes": "trains of so many meshes were counted",
        "leads": "how many different leads there are in the range",
        "worst_ppm": "how far off the worst lead is",
        "mean_ppm": "how far off a lead is on average",
        **_in(
            "gaps[]",
            "the leads that are worst off",
            {
                "below_mm": "the lead below it that the gears cut; null where there is none",
                "at_mm": "the lead",
                "above_mm": "the lead above it; null where there is none",
                "at_mm_exact": "the lead as text",
                "ppm": "how far off",
            },
        ),
    },
    "chart": {
        **_LATHE,
        **_in(
            "chart[]",
            "a row for each thread",
            {
                **SETUP,
                "thread": "its name",
                "ok": "whether it is good enough to cut, within what was asked; null where no tolerance is known",
                **_MOVED,
                "why": "why there is no setup that serves; empty else",
            },
        ),
        "not_good_enough": "how many rows are not",
        **_FILE,
    },
    "plan": {
        "good_enough": "whether all are; null where that is not known of some, and none is not",
        **_LATHE,
        **_in(
            "setups[]",
            "in the order in which to cut",
            {**SETUP, **_MOVED, "put_reverse": "'over' or 'back', as the reverse is put before it; null: it stays"},
        ),
        "moved": "gears to move in all",
        "proven": "whether no plan moves fewer",
        "lower_bound": "how many gears each plan is proved to move at least",
        "why": "the same in words",
        **_ASSUMED,
    },
    "card": {
        **_LATHE,
        **SETUP,
        "cautions": "what to read first, a sentence each",
        "needed": "what to lay out",
        **_in(
            "steps[]",
            "what to do, in order",
            {
                "step": "its key",
                "title": "its title",
                "lines": "its sentences",
                "gears": "what to do with each gear, to tick off",
            },
        ),
        **_in("settings[]", "what the machine is set to", {"name": "of what", "value": "how"}),
        **_FILE,
        "reason": "why these gears; empty where they were named",
        **_ASSUMED,
    },
    "dial": {
        **_LATHE,
        **SETUP,
        "note": "why no train is there to go by; empty else",
        "only_for": "for which gears the answer holds where there is none, in words; empty else",
        "anywhere": "whether the half-nuts may close anywhere",
        "keep_closed": "whether they stay closed until the thread is done",
        "threads": "threads of the leadscrew until a groove returns; null: never",
        "gear_teeth": "the gear of the dial; null: none serves",
        "step": "every step-th line; null: none",
        "lines": "the lines, counted round the dial from the one first used",
        "lines_called": "what is printed there where that was line 1, or between which numbers they stand",
        "why": "the same in words",
    },
    "feeds": {**_LATHE, **_in("feeds[]", "a row for each feed", {**SETUP, **_MOVED, **_WHY}), **_ASSUMED},
    "proof": {
        "wanted": "the thread",
        "agrees": "whether what was measured agrees with it",
        "as_cut": "whether it agrees with what the gears cut; null where none are named",
        "lead_from_mm": "the smallest lead that it can be",
        "lead_to_mm": "the largest",
        "hand": "'right' or 'left', that was seen; null where it wasn't looked at",
        "why": "the same in words",
        **_in("also_possible[]", "standard threads that it could be as well", {"thread": "its name", **_LEAD}),
        **_in(
            "slips[]",
            "what may have happened, likeliest first; null where no gears are named",
            {"slip": "in words", **SETUP},
        ),
    },
    "faults": {
        "cautions": "what to read first, a sentence each",
        **_in(
            "faults[]",
            "a cause each",
            {
                "symptom": "what goes wrong",
                "cause": "why",
                "look": "what to look at",
                "then": "what to do",
                "source": "where that is from",
            },
        ),
        **_FILE,
    },
    "exercises": _in(
        "exercises[]",
        "one for each, in the order of the lessons",
        {
            "lesson": "the number of its lesson",
            "exercise": "its name",
            "title": "its title",
            "any_lathe": "whether it can be asked about any lathe",
        },
    ),
    "handout": _in(
        "handouts[]",
        "a page for each lesson",
        {
            "lesson": "the name of its notebook",
            "title": "its title",
            "page": "the page written; null where only a PDF was asked for",
            "pdf": "the PDF written; null where none was asked for",
            "left_out": "what the lesson has and the page can't have, in words",
        },
    ),
    "web": {
        "folder": "where the site is",
        "lessons": "the files of its lessons, in order",
        "megabytes": "how large it is",
    },
    "serve": {
        "folder": "the folder that is served",
        **_SERVED,
        "class_page": "the page for the board, opened on this computer; null without --lan",
    },
    "hub": {"folder": "where the learners' folders lie", **_SERVED},
    "supplies": {
        **_in(
            "supplies[]",
            "each package, the lettering, the proxy of a hub, and each part of a site",
            {
                "name": "its name; that of a package of npm begins with npm:",
                "version": "which is here; null where it is not installed",
                "licence": "as it says itself; null where that is not known",
                "wanted_by": "'everyone', the extras that bring it, or 'site' for what a site has in it",
                "named": "whether gearcalc names it; else it comes with one of those",
                "sha256": "the content of a part of a site; null for a package",
            },
        ),
        **_FILE,
    },
    "worksheet": {
        "title": "what stands on top",
        "test": "the word of the test; null on a worksheet",
        **_in(
            "learners[]",
            "one for each learner",
            {
                "number": "the class number",
                "name": "the name, empty where no list gave one",
                **_in(
                    "problems[]",
                    "what is asked, in order",
                    {
                        "exercise": "name of the exercise",
                        "title": "its title",
                        "time": "1 where it is in the set for the first time, and so on; on a worksheet it is the go",
                        "points": "what it is worth; null where no points are given",
                        "question": "the question as text, with its table and how to write the answer",
                        "key": "an answer that is right, short",
                    },
                ),
            },
        ),
        **_FILE,
        "pages": "how many pages it has; null without it",
        "key_file": "the key written by --key; null without it",
        "key_pages": "how many pages it has; null without it",
    },
}


def in_words(command: str) -> list[str]:
    """The table of a command's keys, a line for each.

    >>> in_words("lathe")[0]
    'file      the file written'
    """
    keys = KEYS[command]
    wide = max(map(len, keys))
    return [f"{key:{wide}}  {words}" for key, words in keys.items()]
