"""Does an installed gearcalc do its job by itself? Run by hand or by CI, with the Python it is installed in:

    python -I tests/smoke_wheel.py CHECKOUT

from a folder away from the checkout, which is only looked at to see that nothing of it is missing or in use.
"""

from __future__ import annotations

import json
import subprocess
import sys
import sysconfig
import tempfile
from importlib.metadata import distribution
from pathlib import Path

__all__: list[str] = []


def check(fact: object, words: str) -> None:
    """Say what holds, or stop."""
    if not fact:
        sys.exit(f"smoke: failed: {words}")
    print(f"smoke: {words}")


def comes_from_the_installation(checkout: Path) -> None:
    import gearcalc
    from gearcalc.basics.files import data_folder, notebooks_folder

    for place in (Path(gearcalc.__file__), data_folder(), notebooks_folder()):
        check(checkout not in place.resolve().parents, f"{place.name} comes from the installation")
    for ours, theirs in ((data_folder(), checkout / "data"), (notebooks_folder(), checkout / "notebooks")):
        listed = [
            sorted(
                file.relative_to(folder).as_posix()
                for file in folder.rglob("*")
                if file.is_file() and ".ipynb_checkpoints" not in file.parts and "__pycache__" not in file.parts
            )
            for folder in (ours, theirs)
        ]
        check(listed[0] == listed[1], f"{theirs.name}/ is whole ({len(listed[0])} files)")
    names = {Path(str(file)).as_posix() for file in distribution("gearcalc").files or ()}
    check("gearcalc/py.typed" in names, "the types are marked as such")
    licences = [name for name in names if ".dist-info/licenses/" in name]
    check(len(licences) == 2, "both licences are in the metadata")


def finds_a_thread() -> None:
    import gearcalc as gc

    lathe = gc.demo_lathe("inch")
    best = gc.find_setups(lathe, "16 tpi")[0]
    check(best.is_exact and best.lead_mm * 16 * 5 == 127, f"16 tpi on the demo lathe: {best}")
    check(gc.derive(best).lead == best.lead_mm, "and the derivation gives the same lead")
    check(all(row.ok for row in gc.check_plate(lathe)), "its plate is right")


def answers_from_the_shell() -> None:
    script = Path(sysconfig.get_path("scripts")) / "gearcalc"
    for command in ([str(script)], [sys.executable, "-I", "-m", "gearcalc"]):
        asked = subprocess.run([*command, "find", "metric", "M8", "--json"], capture_output=True, check=True)
        check(json.loads(asked.stdout)["setups"], f"{Path(command[0]).name} finds M8")


def runs_a_lesson(folder: Path) -> None:
    subprocess.run([sys.executable, "-I", "-m", "gearcalc", "lessons", str(folder), "--no-open"], check=True)
    lessons = sorted(folder.glob("*.ipynb"))
    if not lessons:
        print("smoke: there are no lessons yet")
        return
    import nbformat
    from nbclient import NotebookClient

    first = nbformat.read(lessons[0], as_version=4)
    NotebookClient(first, timeout=120, kernel_name="python3", resources={"metadata": {"path": str(folder)}}).execute()
    check(True, f"{lessons[0].name} runs from clean")


def main() -> None:
    checkout = Path(sys.argv[1]).resolve()
    comes_from_the_installation(checkout)
    finds_a_thread()
    answers_from_the_shell()
    with tempfile.TemporaryDirectory() as folder:
        runs_a_lesson(Path(folder) / "lessons")
    print("smoke: the installed package works")


if __name__ == "__main__":
    main()
