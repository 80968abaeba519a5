"""The journal of a run: which logs are done, so that a run that was killed goes on from there.

One line of JSON a log, written to the disk before the next is begun. A line says what the log looked like from outside
(name, size, time of change), what was asked of it and by which methods, and the key its tallies are kept under. While
all of that is as it was, the log is not opened again.
"""

from __future__ import annotations

import json
import os
from contextlib import suppress
from hashlib import blake2b
from pathlib import Path
from typing import Final

from wetrun.errors import CannotWrite, InputProblems
from wetrun.fieldlog.readers.mapping import mapping_in
from wetrun.fleet.keys import method_words
from wetrun.fleet.tally_task import FileState, LogTask, file_state, mapping_words

FORMAT_VERSION: Final = 1
NAME: Final = "fleet-journal.jsonl"


def claim_of(task: LogTask, state: FileState | None = None) -> str | None:
    """Return what identifies a log and all that is asked of it, from outside.

    Parameters
    ----------
    task : LogTask
        The log.
    state : tuple or None
        Names, sizes and times of change; looked up if not given.

    Returns
    -------
    str or None
        None where a file is not there or its map cannot be read.
    """
    try:
        words = mapping_words(None if task.column_map is None else mapping_in(task.column_map))
        seen = file_state(task.parts) if state is None else state
    except (OSError, InputProblems):
        return None
    asked = sorted((question.edges_m, question.label_ratio) for question in task.questions)
    whole = (method_words(), str(task.path.resolve()), words, seen, asked)
    return blake2b(repr(whole).encode(errors="surrogateescape"), digest_size=20).hexdigest()


class Journal:
    """The journal in a folder.

    Parameters
    ----------
    folder : Path
        Where the results go; made if it is missing.

    Raises
    ------
    CannotWrite
        If the folder cannot be made.
    """

    def __init__(self, folder: Path) -> None:
        self._path = folder / NAME
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as trouble:
            raise _cannot_write(self._path, trouble) from trouble
        self._keys = dict(_lines(self._path))

    def key_of(self, claim: str | None) -> str:
        """Return the key a log's tallies are kept under, empty if it is not known to be done."""
        return "" if claim is None else self._keys.get(claim, "")

    def add(self, task: LogTask, claim: str | None, key: str) -> None:
        """Write down that a log is done.

        Parameters
        ----------
        task : LogTask
            The log.
        claim : str or None
            As `claim_of` gives it; None writes nothing.
        key : str
            What its tallies are kept under.

        Raises
        ------
        CannotWrite
            If the line does not reach the disk.
        """
        if claim is None or self._keys.get(claim) == key:
            return
        self._keys[claim] = key
        line = {"format_version": FORMAT_VERSION, "log": str(task.path), "claim": claim, "key": key}
        try:
            with self._path.open("ab") as opened:
                # A run that was killed may have left half a line: a new one begins on a line of its own.
                opened.write(b"\n" * _cut_off(self._path) + json.dumps(line).encode() + b"\n")
                opened.flush()
                os.fsync(opened.fileno())
        except OSError as trouble:
            raise _cannot_write(self._path, trouble) from trouble


def _lines(path: Path) -> list[tuple[str, str]]:
    """Every whole line of this version; anything else is as if it were not there, and its log is looked at again."""
    found = []
    with suppress(FileNotFoundError):
        for text in path.read_bytes().splitlines():
            with suppress(ValueError, KeyError, TypeError):
                line = json.loads(text)
                if line["format_version"] == FORMAT_VERSION:
                    found.append((str(line["claim"]), str(line["key"])))
    return found


def _cut_off(path: Path) -> bool:
    with path.open("rb") as opened:
        if not opened.seek(0, os.SEEK_END):
            return False
        opened.seek(-1, os.SEEK_END)
        return opened.read(1) != b"\n"


def _cannot_write(path: Path, trouble: OSError) -> CannotWrite:
    remedy = "Choose another folder with --out, or free the place."
    return CannotWrite(str(path), reason=(trouble.strerror or str(trouble)).lower(), remedy=remedy)
