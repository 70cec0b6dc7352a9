"""Will it go on? A train on a lathe's bracket: geometry, arrangements and their gaps, and the one that serves.

Within a file of this folder only what stands before it here is used: geometry, stud_places, arrangements, gaps,
growing, misfits, fitting; by_hand asks questions of its own.
"""

from gearcalc.fits.fitting import Fit, arrange, arrange_with, as_train, clearances, fit

__all__ = ["Fit", "arrange", "arrange_with", "as_train", "clearances", "fit"]
