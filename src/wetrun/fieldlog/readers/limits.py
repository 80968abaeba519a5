"""How much a log may hold before it is refused. All are our own choices (no source), and a user can raise them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from wetrun.errors import LogRefused
from wetrun.units import Ratio

GIB: Final = 1 << 30
BYTES: Final = "--most-gib"
RECORDS: Final = "--most-records"


@dataclass(frozen=True, slots=True)
class Limits:
    """What is still read: bytes of one file unpacked, of one archive unpacked, records of one file, files sent.

    ``most_held`` is for formats whose records are held in memory all at once; text tables, time logs and working files
    are read in pieces. ``most_ratio`` is how many times its size an entry of an archive may unpack to.
    """

    most_file_bytes: int = 4 * GIB
    most_unpacked_bytes: int = 8 * GIB
    most_records: int = 200_000_000
    most_held: int = 2_000_000
    most_files: int = 20_000
    most_ratio: Ratio = 200

    def raised(self, *, gib: float | None = None, records: int | None = None) -> Limits:
        """Return these limits with room for files of so many GiB, and for so many records."""
        room = self.most_file_bytes if gib is None else int(gib * GIB)
        return replace(
            self,
            most_file_bytes=room,
            most_unpacked_bytes=max(self.most_unpacked_bytes, 2 * room),
            most_records=self.most_records if records is None else records,
            most_held=self.most_held if records is None else records,
        )

    def check_held(self, count: int, things: str, *, file: str) -> None:
        """Refuse a file of more records than are held in memory at once.

        Raises
        ------
        LogRefused
            When there are more of these things than that.
        """
        most = min(self.most_held, self.most_records)
        if count > most:
            reason = f"it has more than {most:,} {things}, and a file of this kind is held in memory whole"
            raise LogRefused(file, place="", reason=reason, remedy=remedy_of(RECORDS, " if there is memory for it"))


def remedy_of(option: str, condition: str = "") -> str:
    """Return what to do about a limit that an option raises, naming the commands that have it.

    Example
    -------
    >>> remedy_of("--most-gib")[:60]
    'Split it by day or by field, or raise the limit with --most-'
    """
    return (
        f"Split it by day or by field, or raise the limit with {option}{condition} (wetrun log inspect, wetrun log "
        "convert and wetrun fleet have it; for a plan or a replay, convert the log first)"
    )


DEFAULT_LIMITS: Final = Limits()
