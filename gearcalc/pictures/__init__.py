"""Show me: gears, trains, brackets, threads and charts, our own SVG, each with its description and its table.

Those that lessons show stand in __init__.pyi, by names that stay wherever they are drawn.
"""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
