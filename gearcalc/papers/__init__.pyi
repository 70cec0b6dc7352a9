# What lessons take from here, loaded on first use: __init__.py reads this list, and so do type checkers.
from .tables import captioned as captioned
