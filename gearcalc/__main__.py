"""`python -m gearcalc`: see gearcalc.commands."""

import sys

from gearcalc.commands import main

if __name__ == "__main__":
    sys.exit(main())
