"""A backup as a file: a zip of parts and their manifest, written beside its place and put there when it is whole."""

from __future__ import annotations

import hashlib
import os
import stat
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Final

from wetrun.errors import CannotWrite, InputProblems, Problem
from wetrun.shop.backups.manifest import MEMBER, Manifest, Part, manifest_of

_CHUNK: Final = 1 << 20
_MOST_MANIFEST: Final = 1 << 28
_QUICK: Final = 1
"""Of deflate: a backup is made while people work."""


class PartsWriter:
    """Puts parts into a backup, one after another."""

    def __init__(self, into: zipfile.ZipFile) -> None:
        self._into = into
        self.parts: list[Part] = []

    def add(self, name: str, source: Path) -> None:
        """Add a file as it is while it is read; one that is gone by now is passed over.

        Parameters
        ----------
        name : str
            What it is called in the backup.
        source : Path
            The file.
        """
        try:
            opened = source.open("rb")
        except FileNotFoundError:
            return
        with opened, self._into.open(_info(name), "w", force_zip64=True) as target:
            size, digest = _copied(opened, target.write)
        self.parts.append(Part(name=name, size=size, sha256=digest))


def write_backup(file: Path, fill: Callable[[PartsWriter, Path], Manifest], *, force: bool) -> Manifest:
    """Write a backup, read it back, and only then give it its name.

    Parameters
    ----------
    file : Path
        Where to.
    fill : callable
        Adds the parts and returns the manifest; gets a scratch file on the same disk, which it may leave behind.
    force : bool
        Whether a file that is there is written over.

    Returns
    -------
    Manifest
        As it stands in the file.

    Raises
    ------
    CannotWrite
        If it cannot be written. A file that was there is as it was, and nothing half-written is left.
    """
    if file.exists() and not force:
        raise CannotWrite(str(file), reason="there is a file of this name", remedy="Name another, or say --force")
    part = file.with_name(f".{file.name}.{os.getpid()}.part")
    scratch = file.with_name(f".{file.name}.{os.getpid()}.scratch")
    try:
        with os.fdopen(os.open(part, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600), "w+b") as opened:
            with zipfile.ZipFile(opened, "w", zipfile.ZIP_DEFLATED, compresslevel=_QUICK) as into:
                manifest = fill(PartsWriter(into), scratch)
                into.writestr(_info(MEMBER), manifest.model_dump_json(indent=1))
            opened.flush()
            os.fsync(opened.fileno())
        checked(part)
        part.replace(file)
        _sync_folder(file.parent)
    except OSError as trouble:
        reason = (trouble.strerror or str(trouble)).lower()
        raise CannotWrite(str(file), reason=reason, remedy="Name another place") from trouble
    finally:
        part.unlink(missing_ok=True)
        for left in file.parent.glob(f"{scratch.name}*"):
            left.unlink()
    return manifest


def checked(file: Path) -> Manifest:
    """Read a backup to the last byte.

    Parameters
    ----------
    file : Path
        The backup.

    Returns
    -------
    Manifest
        Everything it names is there, with the content it had.

    Raises
    ------
    InputProblems
        If it is none, or damaged.
    """
    with opened_backup(file) as (backup, manifest):
        for part in manifest.parts:
            read_part(backup, part, lambda _: None, str(file))
    return manifest


@contextmanager
def opened_backup(file: Path) -> Iterator[tuple[zipfile.ZipFile, Manifest]]:
    """Open a backup and read what should be in it.

    Parameters
    ----------
    file : Path
        The backup.

    Yields
    ------
    tuple of ZipFile and Manifest
        To read the parts from.

    Raises
    ------
    InputProblems
        If it is no backup, or what it holds is not what it names.
    """
    try:
        with zipfile.ZipFile(file) as backup:
            names = sorted(backup.namelist())
            if MEMBER not in names or backup.getinfo(MEMBER).file_size > _MOST_MANIFEST:
                raise _damaged(str(file), MEMBER, "this is no backup of a shop")
            manifest = manifest_of(backup.read(MEMBER), str(file))
            if names != sorted([MEMBER, *(part.name for part in manifest.parts)]):
                raise _damaged(str(file), "", "it holds other files than it names")
            yield backup, manifest
    except FileNotFoundError as trouble:
        raise InputProblems([Problem(str(file), "", "", "there is no such file", "Check the name")]) from trouble
    except (zipfile.BadZipFile, OSError, EOFError, NotImplementedError) as trouble:
        raise _damaged(str(file), "", f"it cannot be read ({str(trouble).lower()})") from trouble


def read_part(backup: zipfile.ZipFile, part: Part, write: Callable[[bytes], object], file: str) -> None:
    """Read a part, giving each piece away, and compare it with what the manifest says of it.

    Parameters
    ----------
    backup : ZipFile
        Where it is.
    part : Part
        What is said of it.
    write : callable
        Takes each piece.
    file : str
        Name of the backup, for errors.

    Raises
    ------
    InputProblems
        If it is not what was written.
    """
    info = backup.getinfo(part.name)
    if info.file_size != part.size:
        raise _damaged(file, part.name, f"it is {info.file_size} bytes long instead of {part.size}")
    try:
        with backup.open(info) as source:
            _, digest = _copied(source, write)
    except (zipfile.BadZipFile, zlib.error, EOFError) as trouble:
        raise _damaged(file, part.name, f"it cannot be read ({str(trouble).lower()})") from trouble
    if digest != part.sha256:
        raise _damaged(file, part.name, "its content is not what was written (SHA-256 differs)")


def _copied(source: IO[bytes], write: Callable[[bytes], object]) -> tuple[int, str]:
    digest, size = hashlib.sha256(), 0
    while piece := source.read(_CHUNK):
        digest.update(piece)
        size += len(piece)
        write(piece)
    return size, digest.hexdigest()


def _info(name: str) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(name)
    info.compress_type = zipfile.ZIP_DEFLATED
    info.external_attr = (stat.S_IFREG | 0o600) << 16
    return info


def _damaged(file: str, key: str, limit: str) -> InputProblems:
    return InputProblems([Problem(file, key, "", limit, "Nothing was changed; take another backup")])


def _sync_folder(folder: Path) -> None:
    if os.name == "posix":
        number = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)
