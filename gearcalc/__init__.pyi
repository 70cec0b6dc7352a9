# The public names, each loaded on first use: __init__.py reads this list, and so do type checkers.
from .approximations import best_fractions as best_fractions
from .approximations import continued_fraction as continued_fraction
from .approximations import convergents as convergents
from .approximations import factor as factor
from .approximations import near_fractions as near_fractions
from .approximations import stern_brocot as stern_brocot
from .derivations import Derivation as Derivation
from .derivations import derive as derive
from .deviations import judge as judge
from .drawing.train_pictures import train_picture as train_picture
from .errors import GearcalcError as GearcalcError
from .exercises import exercise as exercise
from .exercises import exercise_names as exercise_names
from .feeds import Feed as Feed
from .fits import Fit as Fit
from .fits import clearances as clearances
from .fits import fit as fit
from .lathes import Lathe as Lathe
from .lathes import demo_lathe as demo_lathe
from .missing_gears import SolvedGear as SolvedGear
from .missing_gears import solve_for_gear as solve_for_gear
from .plates import PlateCheck as PlateCheck
from .plates import check_plate as check_plate
from .search import find_setups as find_setups
from .setups import Setup as Setup
from .setups import setup as setup
from .substitutes import make_up as make_up
from .substitutes import stand_ins as stand_ins
from .tables import pitch_error_table as pitch_error_table
from .threads import Thread as Thread
from .threads import nearest_threads as nearest_threads
from .thumb_rules import rule_constant as rule_constant
from .thumb_rules import rule_of_thumb as rule_of_thumb
from .tolerances import pitch_diameter_limits as pitch_diameter_limits
from .trains import Train as Train

__version__: str
