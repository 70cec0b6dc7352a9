"""gearcalc: change gears for small lathes, exactly, and the lessons that teach them.

>>> import gearcalc as gc
>>> print(gc.setup(gc.demo_lathe("inch"), drivers=(40,), driven=(80,), lever="middle"))
40/80, lever middle: lead 16 tpi (1.5875 mm)

The public names stand in __init__.pyi. Each is loaded on first use, so that `import gearcalc` costs next to nothing.
"""

import lazy_loader

__version__ = "0.1.0"

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
