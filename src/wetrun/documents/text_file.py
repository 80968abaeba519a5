"""Reads a text file that somebody hands over: whatever it really is, the answer is its text or a sentence."""

from __future__ import annotations

import stat
from pathlib import Path
from typing import Final

from wetrun.errors import InputProblems, Problem

LARGEST_BYTES: Final = 5_000_000
"""No season or catalogue is larger; a file that is was named by mistake."""

_UTF16_MARKS: Final = (b"\xff\xfe", b"\xfe\xff")


def text_of_file(path: Path, *, fallback_encoding: str | None = None) -> str:
    """Return the text of a file in UTF-8, with or without a byte order mark.

    Parameters
    ----------
    path : Path
        The file.
    fallback_encoding : str or None
        Tried when it is not UTF-8; None refuses instead.

    Returns
    -------
    str
        Its text.

    Raises
    ------
    InputProblems
        If it is missing, no plain file, unreadable, too large, binary, empty or in another encoding. No more than
        `LARGEST_BYTES` are ever read.
    """
    raw = _bytes_of(path)
    if not raw.strip():
        raise refused(path, "", "the file is empty", "Write it first; `wetrun new` makes an example to start from.")
    if raw.startswith(_UTF16_MARKS):
        raise refused(path, "", "the file is in UTF-16", "Save it again as UTF-8.")
    if b"\0" in raw:
        at = raw.index(b"\0")
        raise refused(path, "", f"the file is binary: byte {at + 1} is zero", "Name the text file that was meant.")
    return _decoded(path, raw, fallback_encoding)


def refused(path: Path, value: str, limit: str, remedy: str) -> InputProblems:
    """Return the one problem a whole file has.

    Parameters
    ----------
    path : Path
        The file.
    value, limit, remedy : str
        What was found, what is wrong with it, and what to do.

    Returns
    -------
    InputProblems
        Ready to raise.
    """
    return InputProblems([Problem(path.name, "", value, limit, remedy)])


def _bytes_of(path: Path) -> bytes:
    try:
        facts = path.stat()
        if not stat.S_ISREG(facts.st_mode):
            what = "a folder" if stat.S_ISDIR(facts.st_mode) else "no plain file"
            raise refused(path, what, "a file is needed", "Name the file itself.")
        with path.open("rb") as opened:
            raw = b"" if facts.st_size > LARGEST_BYTES else opened.read(LARGEST_BYTES + 1)
    except (FileNotFoundError, NotADirectoryError):
        raise refused(path, "", "there is no such file", "Check its name and folder.") from None
    except (OSError, ValueError) as trouble:
        reason = trouble.strerror if isinstance(trouble, OSError) else None
        remedy = "Check its permissions and name."
        raise refused(path, "", f"the file cannot be read: {reason or 'its name is not usable'}", remedy) from trouble
    if facts.st_size > LARGEST_BYTES or len(raw) > LARGEST_BYTES:
        limit = f"the file may hold {LARGEST_BYTES // 1_000_000} MB at most"
        raise refused(path, f"{facts.st_size} bytes", limit, "Name the text file that was meant.")
    return raw


def _decoded(path: Path, raw: bytes, fallback_encoding: str | None) -> str:
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as trouble:
        if fallback_encoding is not None:
            return raw.decode(fallback_encoding, errors="replace")
        line = raw.count(b"\n", 0, trouble.start) + 1
        limit = f"line {line} holds a byte that is not UTF-8"
        raise refused(path, f"byte {trouble.start + 1}", limit, "Save the file again as UTF-8.") from None
