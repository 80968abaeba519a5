"""Puts a backup back: read to the last byte before anything is touched; what stood there is moved aside, not lost."""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from django.conf import settings
from django.db import connection

from wetrun.errors import CannotWrite, InputProblems, Problem
from wetrun.shop.backups.archive import opened_backup, read_part
from wetrun.shop.backups.databases import check_known, check_sqlite, is_in_use, put_back_postgresql, sqlite_file
from wetrun.shop.backups.making import files_of, make_backup, place_of
from wetrun.shop.backups.manifest import DATABASE, FOLDERS, Manifest
from wetrun.shop.folder import UNFINISHED_FILE, held, open_folder

_BESIDE = ("", "-wal", "-shm")
"""What SQLite keeps beside its file belongs to it: left there, it would be taken for the new one's."""


@dataclass(frozen=True, slots=True)
class Restored:
    """What a restore did.

    Attributes
    ----------
    manifest : Manifest
        Of the backup.
    aside : Path or None
        Where that is now which stood there before.
    """

    manifest: Manifest
    aside: Path | None


def restore(file: Path, *, force: bool = False) -> Restored:
    """Put a backup back into the data folder and the database that the settings name.

    Parameters
    ----------
    file : Path
        The backup.
    force : bool
        Whether a shop that has people in it may be replaced.

    Returns
    -------
    Restored
        Done.

    Raises
    ------
    WetrunError
        Before the first change, everything is as it was. Broken off later, the shop does not start until the same
        restore has been run to its end.
    """
    data = open_folder(Path(settings.DATA))
    with held(data):
        staged = data / f".restore-{os.getpid()}"
        try:
            manifest = _staged(file, staged)
            broken_off = (data / UNFINISHED_FILE).exists()
            if not force and not broken_off:
                _check_empty()
            return _exchange(manifest, data, staged)
        except OSError as trouble:
            reason = (trouble.strerror or str(trouble)).lower()
            raise CannotWrite(str(data), reason=reason, remedy="Make room there, then run the same again") from trouble
        finally:
            shutil.rmtree(staged, ignore_errors=True)


def _staged(file: Path, staged: Path) -> Manifest:
    """Take a backup apart beside its place, and look at all of it."""
    with opened_backup(file) as (backup, manifest):
        if manifest.database != connection.vendor:
            limit = f"it is of a shop on {manifest.database}, and this one is on {connection.vendor}"
            raise InputProblems([Problem(str(file), "", "", limit, "Set or leave out DATABASE_URL accordingly")])
        check_known(manifest.migrations, str(file))
        for part in manifest.parts:
            target = staged / part.name
            target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            with os.fdopen(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as opened:
                read_part(backup, part, opened.write, str(file))
                opened.flush()
                os.fsync(opened.fileno())
    if manifest.database == "sqlite":
        check_sqlite(staged / DATABASE["sqlite"], str(file))
    return manifest


def _check_empty() -> None:
    there = next(files_of(FOLDERS), None)
    if there is not None or is_in_use():
        what = "the database has people in it" if there is None else f"{there[1]} is there"
        remedy = "Name an empty folder in WETRUN_DATA, or say --force: what stands there is then moved aside"
        raise InputProblems([Problem(str(settings.DATA), "", "", f"a shop is kept there already ({what})", remedy)])


def _exchange(manifest: Manifest, data: Path, staged: Path) -> Restored:
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%fZ")
    aside = data / f"replaced-{stamp}"
    unfinished = data / UNFINISHED_FILE
    if manifest.database == "postgresql" and is_in_use():
        aside.mkdir(mode=0o700)
        make_backup(aside / "database.wetrun", leave_out=FOLDERS)
    connection.close()
    unfinished.touch()
    if manifest.database == "sqlite":
        for ending in _BESIDE:
            _move_aside(sqlite_file().with_name(sqlite_file().name + ending), aside)
        _move(staged / DATABASE["sqlite"], sqlite_file())
    else:
        put_back_postgresql(staged / DATABASE["postgresql"])
    for folder in FOLDERS:
        if folder not in manifest.left_out:
            _move_aside(place_of(folder), aside)
            _move(staged / folder, place_of(folder))
    unfinished.unlink()
    return Restored(manifest, aside if aside.exists() else None)


def _move_aside(place: Path, aside: Path) -> None:
    if place.exists():
        aside.mkdir(exist_ok=True, mode=0o700)
        shutil.move(place, aside / place.name)


def _move(staged: Path, place: Path) -> None:
    if staged.exists():
        place.parent.mkdir(parents=True, exist_ok=True)
        shutil.move(staged, place)
