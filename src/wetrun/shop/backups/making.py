"""Makes a backup: the database as it is at one moment, then the files its rows name."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from django.conf import settings
from django.db import connection

from wetrun import __version__
from wetrun.errors import InputProblems, Problem
from wetrun.shop.backups.archive import PartsWriter, write_backup
from wetrun.shop.backups.databases import check_sqlite, migrations_done, sqlite_file, take
from wetrun.shop.backups.manifest import DATABASE, FOLDERS, Manifest

INCOMING: Final = "incoming"
"""Below the uploads: what is still on its way."""


def make_backup(file: Path, *, leave_out: tuple[str, ...] = (), force: bool = False) -> Manifest:
    """Write a backup of the shop that the settings name.

    Parameters
    ----------
    file : Path
        Where to.
    leave_out : tuple of str
        Folders that are backed up otherwise: ``uploads``, ``ledgers``.
    force : bool
        Whether a file that is there is written over.

    Returns
    -------
    Manifest
        What is in it.

    Raises
    ------
    WetrunError
        If it cannot be made. Nothing half-written is left then.
    """
    engine = connection.vendor
    if engine == "sqlite" and not sqlite_file().exists():
        limit = "there is no database to back up"
        raise InputProblems([Problem(str(sqlite_file()), "", "", limit, "Name the data folder in WETRUN_DATA")])

    def fill(parts: PartsWriter, scratch: Path) -> Manifest:
        made_at = datetime.now(UTC)
        migrations = migrations_done()
        # The database first: the file of every row it has was there before the row.
        take(scratch)
        if engine == "sqlite":
            check_sqlite(scratch, str(sqlite_file()))
        parts.add(DATABASE[engine], scratch)
        for name, place in files_of(tuple(folder for folder in FOLDERS if folder not in leave_out)):
            parts.add(name, place)
        return Manifest(
            made_at=made_at,
            wetrun=__version__,
            database=engine,
            migrations=migrations,
            left_out=leave_out,
            parts=tuple(parts.parts),
        )

    return write_backup(file, fill, force=force)


def place_of(folder: str) -> Path:
    """Return where one of the folders of a backup lies."""
    return Path({"uploads": settings.UPLOADS, "ledgers": settings.LEDGERS}[folder])


def files_of(folders: tuple[str, ...]) -> Iterator[tuple[str, Path]]:
    """Yield every file below some folders with its name in a backup, sorted.

    Parameters
    ----------
    folders : tuple of str
        Of ``uploads`` and ``ledgers``.

    Yields
    ------
    tuple of str and Path
        Links are not followed.
    """
    for folder in folders:
        root = place_of(folder)
        for place in sorted(root.rglob("*")):
            # A file that is still coming in belongs to no record yet.
            if place.is_file() and not place.is_symlink() and place.relative_to(root).parts[0] != INCOMING:
                yield f"{folder}/{place.relative_to(root).as_posix()}", place
