"""Exercises of a school's own, from a file that its instructor names: it is run, as any import runs a file."""

from __future__ import annotations

import sys
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

from gearcalc.basics.errors import GearcalcError, NotPossibleError
from gearcalc.basics.files import said_where

_READ: dict[Path, None] = {}


def own_files_read() -> tuple[Path, ...]:
    """List the files of one's own that were read, so that another process can read them too.

    >>> all(path.suffix == ".py" for path in own_files_read())
    True
    """
    return tuple(_READ)


def read_own_exercises(path: str | Path) -> None:
    """Run a file of one's own, so that the exercises under @poses in it are known from then on.

    ```python
    read_own_exercises("our_exercises.py")
    ```

    `path`: ends in .py; only ever a file of one's own. Run once, also where a notebook has imported it. Raises
    NotPossibleError where it isn't there or stops, GearcalcError where a name in it is one of ours.
    """
    none = "there is no such file of exercises"
    remedy = "Name the file of your own that ends in .py and holds your exercises."
    with said_where(path, none, remedy):
        place = Path(path).resolve()
        if place.suffix != ".py" or not place.is_file():
            raise NotPossibleError(none, where=str(path), remedy=remedy)
    there = sys.modules.get(place.stem)
    if there is not None and Path(getattr(there, "__file__", None) or "/").resolve() == place:
        _READ[place] = None
        return
    name = place.stem if there is None else f"own_{place.stem}"  # a file called random.py must not become Python's own
    spec = spec_from_file_location(name, place)
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    sys.path.append(str(place.parent))  # what lies beside it comes last: it hides nothing
    sys.modules[name] = module
    try:
        spec.loader.exec_module(module)
        _READ[place] = None
    except BaseException as problem:
        del sys.modules[name]
        if isinstance(problem, (GearcalcError, KeyboardInterrupt)):
            raise
        why = f"{type(problem).__name__}: {problem}".rstrip(".")[:200]
        remedy = "Run it by itself in Python, and put it right."
        raise NotPossibleError(f"the file of exercises stops ({why})", where=str(path), remedy=remedy) from None
    finally:
        sys.path.remove(str(place.parent))
