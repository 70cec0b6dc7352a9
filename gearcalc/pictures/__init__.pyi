# The pictures that lessons show, each loaded on first use: __init__.py reads this list, and so do type checkers.
from .bracket_marks import mesh_closeups as mesh_closeups
from .dial_pictures import dial_face as dial_face
from .dial_pictures import over_one_another as over_one_another
from .dial_returns import there_and_back as there_and_back
from .dial_turns import dial_turns as dial_turns
from .errors_over_length import error_against_length as error_against_length
from .errors_over_length import side_by_side as side_by_side
from .feed_pictures import shoulder_picture as shoulder_picture
from .feed_pictures import turned_profile as turned_profile
from .fraction_charts import closing_in as closing_in
from .fraction_charts import stern_brocot_walk as stern_brocot_walk
from .gear_set_charts import coverage_chart as coverage_chart
from .gear_set_charts import what_opens as what_opens
from .helix_pictures import tool_in_groove as tool_in_groove
from .measurement_charts import measured_band as measured_band
from .measurement_charts import two_leads_apart as two_leads_apart
from .near_miss_charts import error_map as error_map
