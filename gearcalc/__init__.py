"""gearcalc: change gears for small lathes, exactly, and the lessons that teach them."""
