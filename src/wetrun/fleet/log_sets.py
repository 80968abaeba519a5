"""Logs as they lie on a disk: a file, an archive, or the files that are one log together."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from wetrun.fieldlog.readers.log_bundle import MAIN_FILE, PART_OF_SET

SHAPE_PARTS: Final = (".shp", ".shx", ".dbf", ".prj", ".cpg")
COLUMN_MAP: Final = "map.toml"
NO_LOGS: Final = (".toml", ".pdf", ".md")
"""Endings of what people keep beside their logs; anything else goes to the readers, and is listed if none takes it."""


@dataclass(frozen=True, slots=True, order=True)
class LogSet:
    """One log on disk.

    Attributes
    ----------
    path : Path
        What a reader is given: a file, the main one where several belong together.
    parts : tuple of Path
        The files whose bytes are the log.
    """

    path: Path
    parts: tuple[Path, ...]


def told_name(path: Path) -> str:
    """Return what a log is called: its file; for task data its folder, since every main file is called the same.

    Example
    -------
    >>> told_name(Path("north/2031-05/TASKDATA.XML")), told_name(Path("north/may.csv"))
    ('2031-05', 'may.csv')
    """
    return path.parent.name if path.name.lower() == MAIN_FILE and path.parent.name else path.name


def log_set_of(path: Path) -> LogSet:
    """Return the log a path names, with everything that belongs to it.

    Parameters
    ----------
    path : Path
        A file; it need not be there.

    Returns
    -------
    LogSet
        A file that is not there is its own only part.
    """
    beside = [file for file in path.parent.iterdir() if file.is_file()] if path.parent.is_dir() else []
    found = [one for one in _sets_among(beside) if path in one.parts]
    return LogSet(path, found[0].parts) if found else LogSet(path, (path,))


def log_sets_in(folder: Path) -> tuple[LogSet, ...]:
    """Return every log in a folder and its sub-folders.

    Parameters
    ----------
    folder : Path
        Where to look.

    Returns
    -------
    tuple of LogSet
        Sorted by path. Hidden files, what a computer leaves beside them, and papers are passed over.
    """
    found: list[LogSet] = []
    for place, folders, names in os.walk(folder):
        folders[:] = sorted(name for name in folders if not _is_junk(name))
        files = [Path(place) / name for name in names if not _is_junk(name)]
        found += _sets_among(files)
    return tuple(sorted(found))


def _sets_among(files: Iterable[Path]) -> Iterator[LogSet]:
    """The logs among the files of one folder."""
    left = {file for file in files if not file.name.lower().endswith(NO_LOGS)}
    mains = sorted(file for file in left if file.name.lower() == MAIN_FILE)
    if mains:
        task = tuple(sorted(file for file in left if PART_OF_SET.fullmatch(file.name.lower())))
        left -= set(task)
        yield LogSet(mains[0], task)
    for shape in sorted(file for file in left if file.suffix.lower() == SHAPE_PARTS[0]):
        parts = _of_endings({file for file in left if file.stem.lower() == shape.stem.lower()}, SHAPE_PARTS)
        left -= set(parts)
        yield LogSet(shape, parts)
    yield from (LogSet(file, (file,)) for file in sorted(left))


def _of_endings(files: Iterable[Path], endings: tuple[str, ...]) -> tuple[Path, ...]:
    return tuple(sorted(file for file in files if file.name.lower().endswith(endings)))


def _is_junk(name: str) -> bool:
    return name.startswith(".") or name.lower() == "__macosx"
