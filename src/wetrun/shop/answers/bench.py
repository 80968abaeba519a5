"""Lays a record's files out in a folder of their own, as the command line would find them, and clears it away again."""

from __future__ import annotations

import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from django.conf import settings

from wetrun.shop.answers.laid_out import LaidOut
from wetrun.shop.records.models import FieldLog

LEFT_BEHIND_S: Final = 24 * 3600.0
"""Nothing is worked on for so long."""


@dataclass(frozen=True, slots=True)
class Bench:
    """Files on a disk.

    Attributes
    ----------
    folder : Path
        Where they lie; gone when the work is done.
    laid_out : LaidOut
        What lies there.
    """

    folder: Path
    laid_out: LaidOut

    @property
    def file(self) -> Path:
        """The record's own file."""
        return self.folder / self.laid_out.main


@contextmanager
def bench(laid_out: LaidOut) -> Iterator[Bench]:
    """Lay files out for as long as they are worked on.

    Parameters
    ----------
    laid_out : LaidOut
        Whose names all stay in one folder.

    Yields
    ------
    Bench
        Field logs are links to what was handed in: nothing of a large file is copied.
    """
    # Beside the uploads, so that a log can be a second name of the same file: readers follow other links, and would
    # tell of it by the name it is stored under.
    room = Path(settings.UPLOADS).parent / "bench"
    room.mkdir(parents=True, exist_ok=True, mode=0o700)
    _clear(room)
    with tempfile.TemporaryDirectory(prefix="wetrun-bench-", dir=room) as place:
        folder = Path(place).resolve()
        for name, text in laid_out.texts.items():
            _inside(folder, name).write_text(text, encoding="utf-8", errors="replace", newline="\n")
        for name in laid_out.logs.keys() - laid_out.texts.keys():
            _link(_inside(folder, name), stored_file(laid_out.logs[name]))
        yield Bench(folder, laid_out)


def stored_file(log: FieldLog) -> Path:
    """Return where the file of a field log is kept."""
    return Path(settings.UPLOADS).resolve() / log.stored


def _clear(room: Path) -> None:
    """Take away what processes left that were killed at work."""
    oldest = time.time() - LEFT_BEHIND_S
    for left in room.iterdir():
        with suppress(OSError):
            if left.stat().st_mtime < oldest:
                shutil.rmtree(left)


def _link(path: Path, stored: Path) -> None:
    try:
        path.hardlink_to(stored)
    except OSError:  # not there, or a disk without second names: then a link, and a reader that says what is wrong
        path.symlink_to(stored)


def _inside(folder: Path, name: str) -> Path:
    path = folder / name
    if not path.resolve().is_relative_to(folder):
        raise ValueError(f"{name} leads out of {folder}")  # names were looked at before; this is the last wall
    path.parent.mkdir(parents=True, exist_ok=True)
    return path
