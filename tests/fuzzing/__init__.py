"""Hostile input for everything that takes input: each is answered, or refused in our words, soon and harmlessly.

What may be handed over is one vocabulary: `values.py` (numbers, names, texts, threads, trains, lathes, lists, places)
and `mutations.py` (slips in a text, and in the real files of `real_files.py`). Where it may be handed in is a *door*:
every public name, what it hands back, parsers and files, exercises, commands, explorers. `guard.py` watches over one
input, `judging.py` reads what comes back, `runs.py` has a process of its own do it, which may hang or die.

    python -m tests.fuzzing --inputs 100000 --seed 1
    python -m tests.fuzzing --only "function find_setups" --seed 1 --number 7

An input is drawn by a plain Random, seeded with door, seed and number. That takes microseconds, where hypothesis takes
milliseconds, and any input is had again by itself, in another process too. Of hypothesis we take what
`tests/strategies.py` knows: some hundred examples of each, the same ones each time, from which a Random picks. What
hypothesis does better, to make a failing input smaller, is seldom missed: an input is one call, and its words are told.
"""
