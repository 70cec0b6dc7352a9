"""What every sheet for the machine says first: the usual cautions, and to whom it gives way."""

from __future__ import annotations

COMMON_PRACTICE = "common practice, no source"
"""How shop practice is marked for which nothing could be cited."""

DRIVE_FREE = "spindle drive in neutral or its belt slack"
"""How the drive is, besides isolated, before anything is turned by hand."""

GIVES_WAY = (
    "This sheet does not know your machine. Its manual, your local rules and a qualified person come first; where they "
    "say otherwise, they are right."
)
"""Said before anything else."""

CAUTIONS = (
    GIVES_WAY,
    "Gears draw in fingers, sleeves, hair. Isolate at the plug or isolator before you open the cover or turn by hand.",
    f"While the cover is open, turn by hand only, at the chuck, {DRIVE_FREE}, fingers and cloth out of the mesh.",
    "No gloves, rings or loose sleeves; long hair tied back; eyes protected. Chips never by hand.",
    "The chuck key comes out of the chuck each time that you let go of it.",
    "Power only with the cover closed by its own catch. Never bridge, tie down or bypass an interlock.",
)
"""The usual cautions (common practice, no source), the manual and the rules before them all."""

POINTERS = (
    "Isolation before set-up with guards off: 29 CFR 1910.147(a)(2)(ii) and its note",
    "guarding of nip points and of gears: 29 CFR 1910.212(a)(1) and 1910.219(f)(1), both from memory",
    "HSE guide HSG129, section on turning",
    "turning machines: ISO 23125:2015, of which the scope was read",
)
"""Where to look further."""

WHERE_FROM = f"Pointers, not a reading of the law: {'; '.join(POINTERS)}. All else here: {COMMON_PRACTICE}."
"""The same in one line, to stand small at the foot of a sheet."""

FOOT = "The manual, local rules and a qualified person come first. Isolate before you open the cover or turn by hand."
"""One line for the foot of every page."""
