"""The files of the demo, wherever Wetrun is installed, moved to the days around today."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from datetime import date, timedelta
from pathlib import Path
from typing import Any, Final

from wetrun.errors import InputProblems, Problem

HERE: Final = Path(__file__).resolve().parent
PLACES: Final = (HERE / "files", HERE.parents[3] / "demo")
"""In an installed Wetrun, and in the project's own folder."""
NAMES: Final = ("season.toml", "wetrun.toml", "changeover.toml", "tips.csv", "log_map.toml", "make_logs.py")
FIRST_DAY: Final = date(2027, 4, 15)
"""First spray day of the demo as it is written; all its days move with it."""

Document = dict[str, Any]


def demo_folder() -> Path:
    """Return the folder of the demo's files.

    Returns
    -------
    Path
        The first place where all of them are.

    Raises
    ------
    InputProblems
        If some are missing.
    """
    for place in PLACES:
        if all((place / name).is_file() for name in NAMES):
            return place
    missing = sorted({name for name in NAMES if not any((place / name).is_file() for place in PLACES)})
    limit = f"the demo's files are not all there; missing: {', '.join(missing or NAMES)}"
    remedy = "Install Wetrun anew, or start without --demo"
    raise InputProblems([Problem(str(PLACES[-1]), "", "", limit, remedy)])


def text_of(name: str) -> str:
    """Return one of the demo's files."""
    return (demo_folder() / name).read_text(encoding="utf-8")


def document_of(name: str, first_day: date) -> Document:
    """Return one of the demo's documents with its days moved.

    Parameters
    ----------
    name : str
        Such as ``season.toml``.
    first_day : date
        The first spray day as it should be.

    Returns
    -------
    dict
        As ``tomllib`` gives it; every day is as far from the first one as it was.
    """
    moved: Document = _moved(tomllib.loads(text_of(name)), first_day - FIRST_DAY)
    return moved


def write_logs(folder: Path) -> list[Path]:
    """Write the demo's field logs, the same bytes every time, and return their paths."""
    words = [sys.executable, str(demo_folder() / "make_logs.py"), "--out", str(folder)]
    subprocess.run(words, check=True, stdout=subprocess.DEVNULL)  # noqa: S603 - our own program
    return sorted(folder.glob("*.csv"))


def _moved(value: object, by: timedelta) -> Any:  # noqa: ANN401 - whatever a document holds
    if isinstance(value, dict):
        return {key: _moved(each, by) for key, each in value.items()}
    if isinstance(value, list):
        return [_moved(each, by) for each in value]
    return value + by if type(value) is date else value
