"""The work on one log: the same function in this process, in a pool and on a cluster."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import asdict, dataclass
from json import dumps
from pathlib import Path

from wetrun.errors import CannotWrite, InputProblems, LogRefused
from wetrun.fieldlog.readers.limits import DEFAULT_LIMITS, Limits
from wetrun.fieldlog.readers.mapping import ColumnMapping, mapping_in
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.tallied import TurnQuestion, tallied_in_pieces
from wetrun.fleet.cache import LedgerCache
from wetrun.fleet.entries import Entry, entry_as_bytes
from wetrun.fleet.keys import log_key
from wetrun.fleet.reading import reading_of

FileState = tuple[tuple[str, int, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LogTask:
    """What is to be done with one log.

    Attributes
    ----------
    path : Path
        What a reader is given.
    parts : tuple of Path
        The files whose bytes are the log.
    column_map : Path or None
        Its map of columns.
    questions : tuple of TurnQuestion
        What its turns are asked, for every machine and pass it stands for.
    cache : Path or None
        Folder where tallied logs are kept, if the worker can see it.
    limits : Limits
        How much is still read.
    """

    path: Path
    parts: tuple[Path, ...]
    column_map: Path | None
    questions: tuple[TurnQuestion, ...]
    cache: Path | None
    limits: Limits = DEFAULT_LIMITS


@dataclass(frozen=True, slots=True, kw_only=True)
class LogOutcome:
    """What came of one log.

    Attributes
    ----------
    key : str
        What it is kept under; empty if it was refused.
    state : tuple
        Name, size and time of change of each of its files when they were read.
    known : bool
        Whether it was kept already, so that nothing had to be tallied.
    refused : str
        Why it cannot be used; empty if it can.
    note : str
        What else there is to say, such as a damaged entry that was made anew.
    stored : bytes or None
        The tallied log, where the worker could not keep it itself.
    """

    key: str = ""
    state: FileState = ()
    known: bool = False
    refused: str = ""
    note: str = ""
    stored: bytes | None = None


def outcome_of(task: LogTask) -> LogOutcome:
    """Return what came of one log, whatever is wrong with it.

    Parameters
    ----------
    task : LogTask
        The log.

    Returns
    -------
    LogOutcome
        A log that cannot be used comes back with its sentence.
    """
    try:
        return _outcome(task)
    except (LogRefused, InputProblems) as fault:
        return LogOutcome(refused=str(fault))
    except OSError as fault:
        reason = (fault.strerror or str(fault)).lower()
        return LogOutcome(refused=f"{task.path.name}: it cannot be read ({reason}). Check the file and its folder.")
    except MemoryError:
        remedy = "Split it by day or by field, or use fewer workers"
        return LogOutcome(refused=f"{task.path.name}: there is too little memory to read it. {remedy}.")
    except Exception as fault:  # noqa: BLE001 - one log must not take a thousand others with it
        words = f"{type(fault).__name__}: {fault}"
        return LogOutcome(refused=f"{task.path.name}: Wetrun failed on it ({words}). Send it to whoever keeps Wetrun.")


def file_state(parts: tuple[Path, ...]) -> FileState:
    """Return name, size and time of change of each file.

    Parameters
    ----------
    parts : tuple of Path
        Files.

    Returns
    -------
    tuple
        In the order given.

    Raises
    ------
    OSError
        If one is not there.
    """
    found = ((part, part.stat()) for part in parts)
    return tuple((part.name, told.st_size, told.st_mtime_ns) for part, told in found)


def mapping_words(mapping: ColumnMapping | None) -> str:
    """Return what a column map says, without what it is called; empty for none."""
    if mapping is None:
        return ""
    plain = asdict(mapping)
    plain.pop("file")
    return dumps(plain, sort_keys=True)


def tallied_entry(task: LogTask, mapping: ColumnMapping | None) -> Entry:
    """Return a log read and tallied.

    Parameters
    ----------
    task : LogTask
        The log.
    mapping : ColumnMapping or None
        What its columns mean.

    Returns
    -------
    Entry
        Under the name it has.

    Raises
    ------
    LogRefused
        If nothing in it can be used.
    InputProblems
        If the mapping does not fit it.
    """
    reading = reading_of(task.path, ReadRequest(mapping, task.limits))
    logs = tuple(tallied_in_pieces(pieces, task.questions) for pieces in reading.logs)
    return Entry(task.path.name, logs, reading.aside)


def _outcome(task: LogTask) -> LogOutcome:
    mapping = None if task.column_map is None else mapping_in(task.column_map)
    state = file_state(task.parts)
    key = log_key(task.parts, mapping_words(mapping))
    cache = None if task.cache is None else LedgerCache(task.cache)
    kept, note = (None, "") if cache is None else cache.found(key)
    if kept is not None and kept.answers(task.questions):
        return LogOutcome(key=key, state=state, known=True)
    entry = tallied_entry(task, mapping)
    _check_still(task, state)
    stored = None if cache is not None and _is_put(cache, key, entry) else entry_as_bytes(entry)
    return LogOutcome(key=key, state=state, note=note, stored=stored)


def _is_put(cache: LedgerCache, key: str, entry: Entry) -> bool:
    """Keep an entry if that can be done here. A full disk is not the fault of a log: who asked tries it and is told."""
    with suppress(CannotWrite):
        cache.put(key, entry)
        return True
    return False


def _check_still(task: LogTask, state: FileState) -> None:
    """A file that grows while it is read would be kept under the key of what it was."""
    if file_state(task.parts) != state:
        reason = "it changed while it was read"
        raise LogRefused(task.path.name, place="", reason=reason, remedy="Wait until it is copied, and run again")
