"""The shop's data folder: its owner's alone, one shop in it at a time, with the secret that signs sessions."""

from __future__ import annotations

import os
import secrets
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Final

from wetrun.errors import CannotWrite, NotServed

KEY_FILE: Final = "secret-key"
LOCK_FILE: Final = "in-use.lock"
SIGN_INS_FILE: Final = "demo-sign-ins.txt"
"""Where the demo leaves the people it made and their passwords."""
UNFINISHED_FILE: Final = "restore-unfinished"
"""Stands there from the first change a restore makes to the last."""
_KEY_BYTES: Final = 48
_OTHERS: Final = 0o077


def open_folder(folder: Path) -> Path:
    """Return the folder by its full path, made if it was missing and open to its owner alone.

    Parameters
    ----------
    folder : Path
        As named.

    Returns
    -------
    Path
        Absolute.

    Raises
    ------
    CannotWrite
        If it cannot be made, or nothing can be written in it.
    """
    place = folder.expanduser().absolute()
    try:
        if not place.exists():
            place.mkdir(parents=True)
            place.chmod(0o700)
        with tempfile.TemporaryFile(dir=place):
            return place
    except OSError as trouble:
        remedy = "Name a folder of your own with --data, or allow writing there"
        raise CannotWrite(str(place), reason=(trouble.strerror or str(trouble)).lower(), remedy=remedy) from trouble


def key_in(folder: Path) -> tuple[str, bool]:
    """Return the secret of a data folder, made at the first call, and whether others could have read it till now.

    Parameters
    ----------
    folder : Path
        The data folder.

    Returns
    -------
    tuple of str and bool
        A file that was open to others is closed to them.
    """
    file = folder / KEY_FILE
    if not file.exists():
        write_private(file, secrets.token_urlsafe(_KEY_BYTES) + "\n")
    was_open = os.name == "posix" and bool(file.stat().st_mode & _OTHERS)
    if was_open:
        file.chmod(0o600)
    return file.read_text(encoding="ascii").strip(), was_open


def write_private(file: Path, text: str) -> None:
    """Write a file that nobody else may read: whole or not at all, and on the disk before it has its name."""
    part = file.with_name(f".{file.name}.{os.getpid()}.part")
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as opened:
        opened.write(text)
        opened.flush()
        os.fsync(opened.fileno())
    part.replace(file)


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold a data folder while the block runs; the hold ends with this process, however that ends.

    Parameters
    ----------
    folder : Path
        The data folder.

    Raises
    ------
    NotServed
        If another process holds it.
    """
    with (folder / LOCK_FILE).open("a+b") as opened:
        if not _is_locked(opened):
            remedy = "Stop the shop that runs on it first, or name another folder"
            raise NotServed(str(folder), reason="a running shop is using this data folder", remedy=remedy)
        yield


def check_whole(folder: Path) -> None:
    """Refuse a data folder in which a restore was broken off.

    Parameters
    ----------
    folder : Path
        The data folder.

    Raises
    ------
    NotServed
        With what to do.
    """
    if (folder / UNFINISHED_FILE).exists():
        remedy = "Run the same `restore` again; what stood here before is beside it in a folder named replaced-…"
        raise NotServed(str(folder), reason="a restore into this data folder was broken off", remedy=remedy)


if os.name == "nt":  # pragma: no cover - the other family of systems
    import msvcrt

    def _is_locked(opened: IO[bytes]) -> bool:
        try:
            opened.seek(0)
            msvcrt.locking(opened.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined,unused-ignore]
        except OSError:
            return False
        return True

else:
    import fcntl

    def _is_locked(opened: IO[bytes]) -> bool:
        try:
            fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            return False
        return True
