"""How much a log may hold before it is refused. All are our own choices (no source), and a user can raise them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from wetrun.units import Ratio

GIB: Final = 1 << 30


@dataclass(frozen=True, slots=True)
class Limits:
    """What is still read: bytes of one file unpacked, of one archive unpacked, records of one file, files sent.

    ``most_ratio`` is how many times its size an entry of an archive may unpack to.
    """

    most_file_bytes: int = 4 * GIB
    most_unpacked_bytes: int = 8 * GIB
    most_records: int = 200_000_000
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
        )


DEFAULT_LIMITS: Final = Limits()
