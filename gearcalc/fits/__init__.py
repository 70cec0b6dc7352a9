"""Will it go on? A train on a lathe's bracket: triangles, stances, gaps, and the arrangement that serves.

Within a file of this folder only what stands before it here is used: triangles, stances, arrangements, gaps, misfits,
placings, fitting; thumb_rules and hand_settings ask questions of their own.
"""

from gearcalc.fits.fitting import Fit, arrange, arrange_with, as_train, clearances, fit

__all__ = ["Fit", "arrange", "arrange_with", "as_train", "clearances", "fit"]
