"""On paper. What lessons take from here stands in __init__.pyi, by names that stay."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
