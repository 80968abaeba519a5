"""What a log's tallies are kept under: its bytes, its column map, and everything that decides what is made of them."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from hashlib import blake2b
from pathlib import Path
from typing import Final

import wetrun
from wetrun.fieldlog import ledger, tallied

KEY_BYTES: Final = 20
BLOCK_BYTES: Final = 1 << 20
DECIDING: Final = ("fieldlog/**/*.py", "spray/turning.py", "units.py")
"""Source files that decide which numbers come out of a log."""


@cache
def method_words() -> str:
    """Return the methods that make tallies, with their numbers, and the version of the source they stand in.

    Returns
    -------
    str
        The same on every computer that would make the same tallies.

    Notes
    -----
    Readers and cleaning have many small rules, and a number that nobody remembered to raise would let an old tally
    speak for a new rule. So the source itself is part of the key: after an update logs are tallied once more.
    """
    return (
        f"{ledger.METHOD} {ledger.METHOD_NUMBER}; {tallied.METHOD} {tallied.METHOD_NUMBER}; "
        f"readers and cleaning {source_digest(Path(wetrun.__file__).parent)}"
    )


def source_digest(root: Path) -> str:
    """Return a hash of the source files that decide what is made of a log.

    Parameters
    ----------
    root : Path
        Folder of the package.

    Returns
    -------
    str
        Hexadecimal digits.
    """
    found = blake2b(digest_size=KEY_BYTES)
    for file in sorted({file for pattern in DECIDING for file in root.glob(pattern)}):
        found.update(file.relative_to(root).as_posix().encode())
        # Line ends differ where a checkout turned them into those of another system.
        found.update(file.read_bytes().replace(b"\r\n", b"\n"))
    return found.hexdigest()


def log_key(parts: Iterable[Path], column_map: str) -> str:
    """Return the key of a log.

    Parameters
    ----------
    parts : iterable of Path
        The files whose bytes are the log.
    column_map : str
        What its columns are said to mean; empty where nothing is said.

    Returns
    -------
    str
        Hexadecimal digits. A log of one file has the same key whatever it is called; among the files of a set the
        names count, since they say which is which.

    Raises
    ------
    OSError
        If a file cannot be read.
    """
    files = sorted(parts, key=lambda file: file.name.lower())
    found = blake2b(digest_size=KEY_BYTES)
    for words in (method_words(), column_map, *(file.name.lower() for file in files if len(files) > 1)):
        found.update(f"{len(words)} {words}".encode())
    for file in files:
        found.update(_bytes_digest(file))
    return found.hexdigest()


def _bytes_digest(file: Path) -> bytes:
    found = blake2b(digest_size=KEY_BYTES)
    with file.open("rb") as opened:
        while block := opened.read(BLOCK_BYTES):
            found.update(block)
    return found.digest()
