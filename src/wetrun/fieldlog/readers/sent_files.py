"""What a customer sends: one file, a folder with sub-folders, or a zip of either, names in any case, junk beside.

Nothing is ever read from outside what was sent. Archives with names that lead out, with a password, or that unpack to
more than a season of logs, are refused before anything is unpacked.
"""

from __future__ import annotations

import gzip
import io
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path, PurePosixPath
from typing import BinaryIO, Final

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.limits import BYTES, DEFAULT_LIMITS, Limits, remedy_of
from wetrun.fieldlog.readers.request import Progress

JUNK: Final = "__macosx"
GZIP_MARK: Final = b"\x1f\x8b"
GZIP_ENDING: Final = ".gz"
ZIP_MARKS: Final = (b"PK\x03\x04", b"PK\x05\x06")
OFFICE_MARKS: Final = (b"[Content_Types].xml", b"_rels/", b"mimetypeapplication/")
HEAD: Final = 100
ENCRYPTED: Final = 0x1
KEPT_IN_MEMORY: Final = 16 << 20
BLOCK: Final = 1 << 20
FAULTS: Final = (OSError, EOFError, zipfile.BadZipFile, zlib.error, RuntimeError, NotImplementedError)


class SentFile:
    """One file on disk, or one entry of a zip.

    Attributes
    ----------
    name
        As told to people: what was sent, and the way to the file in it.
    base
        Last part of the name, in lower case, without ``.gz``.
    folder
        Where it stands in what was sent.
    size
        Bytes, packed if it is a gzip [byte].
    """

    __slots__ = ("_entry", "_kin", "_place", "base", "folder", "limits", "name", "size")

    def __init__(self, name: str, place: Path, *, entry: str | None, size: int, limits: Limits) -> None:
        self.name = name
        own = (entry or place.as_posix()).replace("\\", "/")
        self.folder, _, base = own.rpartition("/")
        self.base = base.lower().removesuffix(GZIP_ENDING)
        self.size = size
        self.limits = limits
        self._place = place
        self._entry = entry
        self._kin: dict[str, SentFile] | None = None

    def __repr__(self) -> str:
        return f"SentFile({self.name!r})"

    @property
    def stem(self) -> str:
        """The base without its last ending."""
        return self.base.rpartition(".")[0] or self.base

    @property
    def kin(self) -> dict[str, SentFile]:
        """The files of the same folder by their base; of a file that was named itself, listed when first asked for."""
        if self._kin is None:
            self._kin = {}
            if self._entry is None:
                _relate_to_those_beside(self, self._place)
        return self._kin

    def beside(self, ending: str) -> SentFile | None:
        """Return the file of the same folder and stem with another ending such as ``.dbf``, whatever its case."""
        return self.kin.get(self.stem + ending)

    def head(self, count: int) -> bytes:
        """Return the first bytes, a gzip's unpacked; fewer where there are fewer, none where it cannot be read."""
        try:
            with self.open_plain() as stream:
                return stream.read(count)
        except LogRefused:
            return b""

    def open(self) -> BinaryIO:
        """Return the bytes as they stand, to be read from any place.

        Raises
        ------
        LogRefused
            When the file cannot be read or is too large.
        """
        if self._entry is None:
            self._check_size(self.size)
            try:
                return self._place.open("rb")
            except OSError as fault:
                raise self._unreadable(fault.strerror or "it cannot be read") from fault
        return self._entry_unpacked(self._entry)

    def open_plain(self, progress: Progress | None = None) -> BinaryIO:
        """Return the bytes in order, a gzip's unpacked on the way; what breaks off while reading is `LogRefused`."""
        raw = self.open()
        packed = raw.read(2) == GZIP_MARK
        raw.seek(0)
        return io.BufferedReader(_Checked(self, raw, packed=packed, progress=progress), buffer_size=BLOCK)

    def content(self) -> bytes:
        """Return all bytes, a gzip's unpacked.

        Raises
        ------
        LogRefused
            When the file cannot be read or is too large.
        """
        with self.open_plain() as stream:
            return stream.read()

    def _entry_unpacked(self, entry: str) -> BinaryIO:
        spool = tempfile.SpooledTemporaryFile(max_size=KEPT_IN_MEMORY)  # noqa: SIM115 - handed to the caller open
        try:
            with zipfile.ZipFile(self._place) as archive, archive.open(entry) as packed:
                while block := packed.read(BLOCK):
                    spool.write(block)
                    self._check_size(spool.tell())
        except LogRefused:
            spool.close()
            raise
        except FAULTS as fault:
            spool.close()
            raise self._unreadable("it cannot be unpacked") from fault
        spool.seek(0)
        return spool  # type: ignore[return-value]  # a file in all but its type

    def _check_size(self, size: int) -> None:
        if size > self.limits.most_file_bytes:
            reason = f"it is larger than {self.limits.most_file_bytes / (1 << 30):g} GiB"
            raise LogRefused(self.name, place="", reason=reason, remedy=remedy_of(BYTES))

    def _unreadable(self, reason: str) -> LogRefused:
        return LogRefused(self.name, place="", reason=reason, remedy="Copy it again")


class _Checked(io.RawIOBase):
    """Bytes in order whose end is watched: a damaged gzip and one that unpacks to too much are refused by name."""

    def __init__(self, file: SentFile, raw: BinaryIO, *, packed: bool, progress: Progress | None) -> None:
        self._file = file
        self._raw = raw
        self._plain: BinaryIO | gzip.GzipFile = gzip.GzipFile(fileobj=raw, mode="rb") if packed else raw
        self._progress = progress
        self._done = 0

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]  # the one buffer it is given
        try:
            block = self._plain.read(len(buffer))
        except FAULTS as fault:
            raise LogRefused(
                self._file.name,
                place=f"after byte {self._done}",
                reason="it breaks off or is damaged",
                remedy="Copy it from the terminal again",
            ) from fault
        buffer[: len(block)] = block
        self._done += len(block)
        self._file._check_size(self._done)  # noqa: SLF001 - one piece of work in two classes
        if self._progress:
            self._progress(min(self._raw.tell() / max(self._file.size, 1), 1.0))
        return len(block)

    def close(self) -> None:
        self._raw.close()
        super().close()


def sent_files(path: Path, limits: Limits = DEFAULT_LIMITS) -> Iterator[SentFile | LogRefused]:
    """Yield what was sent, file by file; an archive among others that cannot be used is yielded as its refusal.

    Raises
    ------
    LogRefused
        When what was named itself is not there, cannot be used, or holds too many files.
    """
    if path.is_dir():
        yield from _in_folder(path, limits)
    elif not path.is_file():  # asked before anything is opened: a pipe would keep its reader waiting for ever
        reason = "it is a pipe or a device, not a file" if path.exists() else "there is no such file"
        raise LogRefused(path.name, place="", reason=reason, remedy="Check the name and the folder")
    elif is_archive(path):
        yield from _related(_entries(path, path.name, limits))
    else:
        place = path.resolve()
        yield _on_disk(place, place.name, limits)


def is_archive(path: Path) -> bool:
    """Return whether a file is a zip of files, by its first bytes; an office document is one in name only."""
    try:
        with path.open("rb") as stream:
            head = stream.read(HEAD)
    except OSError:
        return False
    return head.startswith(ZIP_MARKS) and not is_office_document(head)


def is_office_document(head: bytes) -> bool:
    """Return whether the first bytes of a file are those of a spreadsheet or other office document."""
    return head.startswith(ZIP_MARKS) and any(mark in head[:HEAD] for mark in OFFICE_MARKS)


def _relate_to_those_beside(file: SentFile, place: Path) -> None:
    """Tell a file that was named itself of the files beside it, which may be part of the same log."""
    beside = {place: file}
    with suppress(LogRefused, OSError):  # in a folder of everything, or one that is locked, it is read alone
        others = _files_under(place.parent, file.limits, deep=False)
        beside |= {one: _on_disk(one, one.name, file.limits) for one in others if one != place}
    _related(list(beside.values()))


def _in_folder(path: Path, limits: Limits) -> Iterator[SentFile | LogRefused]:
    root = path.resolve()
    plain = []
    for file in _files_under(path, limits, deep=True):
        name = f"{path.name}/{file.relative_to(root).as_posix()}"
        if not is_archive(file):
            plain.append(_on_disk(file, name, limits))
            continue
        try:
            yield from _related(_entries(file, name, limits))
        except LogRefused as refused:
            yield refused
    yield from _related(plain)


def _on_disk(file: Path, name: str, limits: Limits) -> SentFile:
    try:
        size = file.stat().st_size
    except OSError:
        size = 0
    return SentFile(name, file, entry=None, size=size, limits=limits)


def _related(files: list[SentFile]) -> list[SentFile]:
    """Return the files without junk, each told of those in its folder."""
    kept = [one for one in files if not _is_junk(f"{one.folder}/{one.base}" if one._entry else one.base)]  # noqa: SLF001
    folders: dict[str, dict[str, SentFile]] = {}
    for one in kept:
        folders.setdefault(one.folder, {}).setdefault(one.base, one)
        one._kin = folders[one.folder]  # noqa: SLF001
    return kept


def _files_under(folder: Path, limits: Limits, *, deep: bool) -> list[Path]:
    """Return the files under a folder whose real place is under it: a link that leads out is left alone."""
    root = folder.resolve()
    found: list[Path] = []
    for file in sorted(root.rglob("*") if deep else root.iterdir()):
        if file.is_file() and file.resolve().is_relative_to(root):
            found.append(file)
        if len(found) > limits.most_files:
            reason = f"it holds over {limits.most_files} files"
            raise LogRefused(folder.name, place="", reason=reason, remedy="Name the folder of one machine's logs")
    return found


def _entries(path: Path, name: str, limits: Limits) -> list[SentFile]:
    try:
        with zipfile.ZipFile(path) as archive:
            entries = [entry for entry in archive.infolist() if entry.filename and not entry.is_dir()]
    except (OSError, zipfile.BadZipFile, ValueError, NotImplementedError) as fault:
        raise LogRefused(name, place="end of the file", reason="the zip is damaged", remedy="Send it again") from fault
    for entry in entries:
        _check_entry(name, entry, limits)
    unpacked = sum(entry.file_size for entry in entries)
    if unpacked > limits.most_unpacked_bytes or len(entries) > limits.most_files:
        reason = f"it unpacks to {unpacked >> 20} MiB in {len(entries)} files"
        remedy = (
            f"Send at most {limits.most_unpacked_bytes >> 30} GiB and {limits.most_files} files in one zip. "
            + remedy_of(BYTES)
        )
        raise LogRefused(name, place="", reason=reason, remedy=remedy)
    return [
        SentFile(f"{name}/{entry.filename}", path, entry=entry.filename, size=entry.file_size, limits=limits)
        for entry in entries
    ]


def _check_entry(name: str, entry: zipfile.ZipInfo, limits: Limits) -> None:
    parts = PurePosixPath(entry.filename.replace("\\", "/")).parts
    reason = ""
    if ".." in parts or entry.filename.startswith(("/", "\\")) or any(":" in part for part in parts[:1]):
        reason = "this name leads out of the zip"
    elif entry.file_size > limits.most_ratio * max(entry.compress_size, 1024):
        reason = f"it unpacks to over {limits.most_ratio:g} times its size"
    elif entry.flag_bits & ENCRYPTED:
        reason = "it is locked with a password"
    if reason:
        remedy = "Zip the folder of the logs again, as it is and without a password"
        raise LogRefused(name, place=f"entry {entry.filename[:80]!r}", reason=reason, remedy=remedy)


def _is_junk(file: str) -> bool:
    parts = file.lower().split("/")
    return JUNK in parts or parts[-1].startswith(".")
