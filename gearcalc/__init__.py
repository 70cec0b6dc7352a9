"""gearcalc: change gears for small lathes, exactly, and the lessons that teach them.

>>> import gearcalc as gc
>>> print(gc.setup(gc.demo_lathe("inch"), drivers=(40,), driven=(80,), lever="middle"))
40/80, lever middle: lead 1.5875 mm (16 tpi)

Each name is loaded on first use, so that `import gearcalc` costs next to nothing.
"""

from typing import TYPE_CHECKING

import lazy_loader

__version__ = "0.1.0"

_NAMES = {
    "approximations": [
        "best_fractions",
        "continued_fraction",
        "convergents",
        "factor",
        "near_fractions",
        "stern_brocot",
    ],
    "deviations": ["judge"],
    "errors": ["GearcalcError"],
    "feeds": ["Feed"],
    "lathes": ["Lathe", "demo_lathe"],
    "setups": ["Setup", "setup"],
    "substitutes": ["make_up", "stand_ins"],
    "tables": ["pitch_error_table"],
    "threads": ["Thread", "nearest_threads"],
    "tolerances": ["pitch_diameter_limits"],
    "trains": ["Train"],
}

if TYPE_CHECKING:
    from gearcalc.approximations import best_fractions as best_fractions
    from gearcalc.approximations import continued_fraction as continued_fraction
    from gearcalc.approximations import convergents as convergents
    from gearcalc.approximations import factor as factor
    from gearcalc.approximations import near_fractions as near_fractions
    from gearcalc.approximations import stern_brocot as stern_brocot
    from gearcalc.deviations import judge as judge
    from gearcalc.errors import GearcalcError as GearcalcError
    from gearcalc.feeds import Feed as Feed
    from gearcalc.lathes import Lathe as Lathe
    from gearcalc.lathes import demo_lathe as demo_lathe
    from gearcalc.setups import Setup as Setup
    from gearcalc.setups import setup as setup
    from gearcalc.substitutes import make_up as make_up
    from gearcalc.substitutes import stand_ins as stand_ins
    from gearcalc.tables import pitch_error_table as pitch_error_table
    from gearcalc.threads import Thread as Thread
    from gearcalc.threads import nearest_threads as nearest_threads
    from gearcalc.tolerances import pitch_diameter_limits as pitch_diameter_limits
    from gearcalc.trains import Train as Train

__getattr__, __dir__, __all__ = lazy_loader.attach(__name__, submod_attrs=_NAMES)
