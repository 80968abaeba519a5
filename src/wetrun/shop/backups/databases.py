"""The database as one file, taken while people write to it, and put back as a whole: SQLite's and PostgreSQL's ways."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
from collections.abc import Mapping
from contextlib import closing
from pathlib import Path
from typing import Any, Final

from django.db import DatabaseError, connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.recorder import MigrationRecorder

from wetrun.errors import InputProblems, NotServed, Problem

_WAIT_S: Final = 60.0
_EMPTIED: Final = 'DROP SCHEMA "{schema}" CASCADE; CREATE SCHEMA "{schema}";'
_DAMAGED: Final = "Nothing was changed; take another backup"


def sqlite_file() -> Path:
    """Return SQLite's file."""
    return Path(str(connection.settings_dict["NAME"]))


def migrations_done() -> tuple[tuple[str, str], ...]:
    """Return the changes of the tables that were done in this database, sorted."""
    return tuple(sorted(MigrationRecorder(connection).applied_migrations()))


def is_in_use() -> bool:
    """Return whether the database has an account in it, or cannot tell: then it is not written over unasked."""
    if connection.vendor == "sqlite" and not sqlite_file().exists():
        return False
    try:
        with connection.cursor() as cursor:
            if "accounts_user" not in connection.introspection.table_names(cursor):
                return False
            cursor.execute("SELECT 1 FROM accounts_user LIMIT 1")
            return cursor.fetchone() is not None
    except DatabaseError:
        if connection.vendor == "sqlite":
            return True  # a damaged file is one reason to restore; it is moved aside all the same
        raise


def check_known(migrations: tuple[tuple[str, str], ...], file: str) -> None:
    """Refuse tables that this Wetrun does not know.

    Parameters
    ----------
    migrations : tuple of pairs of str
        What was done to the tables of a backup.
    file : str
        Name of the backup, for errors.

    Raises
    ------
    InputProblems
        If a newer Wetrun made it.
    """
    known = MigrationLoader(None, ignore_no_migrations=True).disk_migrations
    strange = [f"{app} {name}" for app, name in migrations if (app, name) not in known]
    if strange:
        limit = f"its tables are of a newer Wetrun ({', '.join(strange)})"
        raise InputProblems([Problem(file, "", "", limit, "Install the Wetrun that made it, or a newer one")])


def take(into: Path) -> None:
    """Write the database into a file: one moment of it, while people go on writing.

    Parameters
    ----------
    into : Path
        A file that is not there yet.

    Raises
    ------
    NotServed
        If PostgreSQL's own program for it is missing or fails.
    """
    if connection.vendor == "sqlite":
        _take_sqlite(into)
    else:
        words = ["--no-owner", "--no-privileges", "--format=plain", f"--file={into}"]
        _run("pg_dump", words, "Install PostgreSQL's client programs of the server's version")


def _take_sqlite(into: Path) -> None:
    live = sqlite3.connect(f"{sqlite_file().absolute().as_uri()}?mode=rw", uri=True, timeout=_WAIT_S)
    with closing(live), closing(sqlite3.connect(into)) as copy:
        live.backup(copy)  # in one step: it sees one moment, and in WAL mode keeps nobody from writing
        copy.execute("PRAGMA journal_mode=DELETE")


def check_sqlite(file: Path, backup: str) -> None:
    """Look through a SQLite file for damage.

    Parameters
    ----------
    file : Path
        Taken out of a backup.
    backup : str
        Name of the backup, for errors.

    Raises
    ------
    InputProblems
        If a page is damaged, or a row points nowhere.
    """
    try:
        with closing(sqlite3.connect(file)) as opened:
            verdict = opened.execute("PRAGMA integrity_check").fetchone()[0]
            astray = opened.execute("PRAGMA foreign_key_check").fetchone()
    except sqlite3.DatabaseError as trouble:
        verdict, astray = str(trouble), None
    if verdict != "ok":
        raise InputProblems([Problem(backup, file.name, "", f"the database in it is damaged ({verdict})", _DAMAGED)])
    if astray is not None:
        limit = f"a row of {astray[0]} in it points to one that is not there"
        raise InputProblems([Problem(backup, file.name, "", limit, _DAMAGED)])


def put_back_postgresql(file: Path) -> None:
    """Put a dump in the place of everything in the database, all or nothing.

    Parameters
    ----------
    file : Path
        What `take` wrote.

    Raises
    ------
    NotServed
        If that failed; the database is as it was.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_schema()")
        schema = str(cursor.fetchone()[0])
    connection.close()
    emptied = _EMPTIED.format(schema=schema.replace('"', '""'))
    words = ["--no-psqlrc", "--quiet", "--single-transaction", "--set=ON_ERROR_STOP=1", f"--command={emptied}"]
    _run("psql", [*words, f"--file={file}"], "The database is as it was")


def _run(program: str, words: list[str], remedy: str) -> None:
    found = shutil.which(program)
    if found is None:
        remedy = "Install PostgreSQL's client programs (Debian and Ubuntu: apt install postgresql-client)"
        raise NotServed(program, reason="it is not installed here, and PostgreSQL is backed up by it", remedy=remedy)
    done = subprocess.run(  # noqa: S603 - PostgreSQL's own program
        [found, *words],
        env={**os.environ, **_surroundings(connection.settings_dict)},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )
    if done.returncode:
        told = " ".join(done.stderr.split()) or f"code {done.returncode}"
        raise NotServed(program, reason=f"it failed ({told})", remedy=remedy)


def _surroundings(settings: Mapping[str, Any]) -> dict[str, str]:
    """What PostgreSQL's programs read from the environment, where no list of processes shows it."""
    names = {"NAME": "PGDATABASE", "USER": "PGUSER", "PASSWORD": "PGPASSWORD", "HOST": "PGHOST", "PORT": "PGPORT"}
    told = {variable: str(settings[name]) for name, variable in names.items() if settings.get(name)}
    options = {f"PG{name.upper()}": str(value) for name, value in settings.get("OPTIONS", {}).items()}
    return {**options, **told}
