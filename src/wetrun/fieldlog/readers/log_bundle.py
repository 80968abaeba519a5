"""Task data as customers send them: a folder, a zip, or the main file; names in any case, sub-folders, junk beside.

Only files that lie beside the main file are ever read. Names that lead elsewhere, and archives that unpack to more
than a season of logs, are refused before anything is unpacked.
"""

from __future__ import annotations

import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Final

from wetrun.errors import LogRefused

MAIN_FILE: Final = "taskdata.xml"
JUNK: Final = "__macosx"
# Our own choices (no source).
MOST_FILE_BYTES: Final = 256 << 20
MOST_UNPACKED_BYTES: Final = 2 << 30
MOST_RATIO: Final = 200
MOST_ENTRIES: Final = 20_000
ENCRYPTED: Final = 0x1


@dataclass(frozen=True, slots=True)
class LogBundle:
    """One set of task data. ``entries`` holds its files by name in lower case; ``archive`` is None for a folder."""

    name: str
    folder: str
    entries: dict[str, str]
    archive: Path | None

    def has(self, name: str) -> bool:
        """Return whether a file lies beside the main file, whatever the case of its name."""
        return name.lower() in self.entries

    def content(self, name: str) -> bytes:
        """Return the bytes of a file.

        Raises
        ------
        LogRefused
            When it is absent, unreadable or too large.
        """
        if not self.has(name):
            remedy = "Send the whole folder the terminal wrote"
            raise LogRefused(name, place="", reason=f"it is named in {self.name} but not there", remedy=remedy)
        try:
            data = self._bytes(self.entries[name.lower()])
        except (OSError, EOFError, zipfile.BadZipFile, zlib.error, RuntimeError, NotImplementedError) as fault:
            raise LogRefused(name, place="", reason="it cannot be read", remedy="Copy it again") from fault
        if len(data) > MOST_FILE_BYTES:
            reason = f"it is larger than {MOST_FILE_BYTES >> 20} MiB"
            raise LogRefused(name, place="", reason=reason, remedy="Split the log by day or field")
        return data

    def _bytes(self, entry: str) -> bytes:
        if self.archive is None:
            with Path(entry).open("rb") as stream:
                return stream.read(MOST_FILE_BYTES + 1)
        with zipfile.ZipFile(self.archive) as archive, archive.open(entry) as packed:
            return packed.read(MOST_FILE_BYTES + 1)


def bundles_in(path: Path) -> tuple[LogBundle, ...]:
    """Return the sets of task data in a folder, a zip, or beside a main file; none where there is no main file.

    Raises
    ------
    LogRefused
        When an archive is damaged, holds paths that lead out of it, or unpacks to too much.
    """
    if path.is_dir():
        return _sets(path.name, _files_under(path), None)
    if path.name.lower() == MAIN_FILE:
        beside = [file for file in _files_under(path.parent) if PurePosixPath(file).parent == _posix(path).parent]
        return _sets(path.name, beside, None)
    if is_zip(path):
        return _sets(path.name, _checked_entries(path), path)
    return ()


def is_zip(path: Path) -> bool:
    """Return whether a file is a zip archive, by its content."""
    try:
        return path.is_file() and zipfile.is_zipfile(path)
    except OSError:
        return False


def _posix(path: Path) -> PurePosixPath:
    return PurePosixPath(path.resolve().as_posix())


def _files_under(folder: Path) -> list[str]:
    """Return the files under a folder whose real place is under it: a link that leads out is left alone."""
    root = folder.resolve()
    found = []
    for file in sorted(root.rglob("*")):
        if file.is_file() and file.resolve().is_relative_to(root):
            found.append(file.as_posix())
        if len(found) > MOST_ENTRIES:
            reason = f"it holds over {MOST_ENTRIES} files"
            raise LogRefused(folder.name, place="", reason=reason, remedy="Name the folder of one machine's task data")
    return found


def _checked_entries(path: Path) -> list[str]:
    try:
        with zipfile.ZipFile(path) as archive:
            entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    except (OSError, zipfile.BadZipFile, ValueError, NotImplementedError) as fault:
        raise LogRefused(path.name, place="", reason="the zip is damaged", remedy="Send it again") from fault
    for entry in entries:
        _check_entry(path, entry)
    unpacked = sum(entry.file_size for entry in entries)
    if unpacked > MOST_UNPACKED_BYTES or len(entries) > MOST_ENTRIES:
        reason = f"it unpacks to {unpacked >> 20} MiB in {len(entries)} files"
        remedy = f"Send at most {MOST_UNPACKED_BYTES >> 30} GiB and {MOST_ENTRIES} files in one zip"
        raise LogRefused(path.name, place="", reason=reason, remedy=remedy)
    return [entry.filename for entry in entries]


def _check_entry(path: Path, entry: zipfile.ZipInfo) -> None:
    parts = PurePosixPath(entry.filename.replace("\\", "/")).parts
    reason = ""
    if ".." in parts or entry.filename.startswith(("/", "\\")) or any(":" in part for part in parts):
        reason = "this name leads out of the zip"
    elif entry.file_size > MOST_RATIO * max(entry.compress_size, 1024):
        reason = f"it unpacks to over {MOST_RATIO} times its size"
    elif entry.flag_bits & ENCRYPTED:
        reason = "it is locked with a password"
    if reason:
        remedy = "Zip the folder of the task data again, as it is and without a password"
        raise LogRefused(path.name, place=f"entry {entry.filename[:80]!r}", reason=reason, remedy=remedy)


def _sets(name: str, files: list[str], archive: Path | None) -> tuple[LogBundle, ...]:
    kept = [file for file in files if not _is_junk(file)]
    folders: dict[str, dict[str, str]] = {}
    for file in kept:
        parent, _, base = file.rpartition("/")
        folders.setdefault(parent, {}).setdefault(base.lower(), file)
    mains = [parent for parent in sorted(folders) if MAIN_FILE in folders[parent]]
    names = _told_apart(mains)
    return tuple(
        LogBundle(f"{name}/{own}" if own else name, parent, folders[parent], archive)
        for parent, own in zip(mains, names, strict=True)
    )


def _told_apart(folders: list[str]) -> list[str]:
    """Return the part of each folder's path in which several differ; nothing where there is only one."""
    parts = [PurePosixPath(folder).parts for folder in folders]
    alike = 0
    while len(parts) > 1 and all(len(one) > alike for one in parts) and len({one[alike] for one in parts}) == 1:
        alike += 1
    return ["/".join(one[alike:]) if len(parts) > 1 else "" for one in parts]


def _is_junk(file: str) -> bool:
    parts = file.lower().split("/")
    return JUNK in parts or parts[-1].startswith("._")
