"""What a reader found in what was sent: each log with its facts, and its trace or the reason why there is none."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.patches import Patches
from wetrun.fieldlog.readers.record_facts import RecordFacts
from wetrun.fieldlog.trace import ColumnUse, Doubt, RawColumn, Repair, Trace


@dataclass(frozen=True, slots=True)
class FoundLog:
    """One log: a time log, or one track of a file.

    ``kind`` says what machine wrote it, as far as the format tells. Repairs, doubts and column uses are those of
    reading; a trace has its own list, which holds them too. ``lacks`` says why there is no trace, None if there is
    one. ``holds`` says how long values are carried on in a log that writes them only when they change. ``of_section``
    is the boom section whose records the facts are of, empty where they are of all; ``proposed`` are lines for a
    mapping file that say what a table without a header line seems to hold. ``pieces`` reads a log that is too long to
    be held at once; it has no trace then, and ``lacks`` says so. ``patches`` is what a map covers, None for a log of
    points.
    """

    name: str
    kind: str
    facts: RecordFacts
    columns: tuple[ColumnUse, ...] = ()
    raw_columns: tuple[RawColumn, ...] = ()
    repairs: tuple[Repair, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    trace: Trace | None = None
    lacks: LogRefused | None = None
    holds: str = ""
    of_section: str = ""
    proposed: tuple[str, ...] = ()
    pieces: Callable[[], Iterator[Trace]] | None = None
    patches: Patches | None = None

    @property
    def missing(self) -> str:
        """Why there is no trace, in words; empty if there is one."""
        return "" if self.lacks is None else self.lacks.reason


@dataclass(frozen=True, slots=True)
class FoundLogs:
    """One file, or one set of files that belong together: what it says of itself, its logs, and those refused."""

    name: str
    format: str
    logs: tuple[FoundLog, ...]
    machines: tuple[str, ...] = ()
    refused: tuple[LogRefused, ...] = ()
    doubts: tuple[Doubt, ...] = ()


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A file among others that no reader here knows: its name, and what it begins with."""

    name: str
    reason: str


def too_long(file: str, rows: int) -> LogRefused:
    """Return why a long log has no trace at once."""
    reason = f"the log has more than {rows:,} records, so it is not driven in one go"
    remedy = "Planning, replaying and converting take it in pieces"
    return LogRefused(file, place=f"row {rows}", reason=reason, remedy=remedy)
