"""The ledger cache: what was made of a log is kept under its content, and the same log is not tallied again.

One file a log, written beside its place and moved there when it is whole, so that several runs and several computers
may use one folder. What is damaged is dropped and made anew. The folder may be deleted at any time.
"""

from __future__ import annotations

import os
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final
from uuid import uuid4

from wetrun.errors import CannotWrite
from wetrun.fleet.entries import Entry, entry_as_bytes, entry_from_bytes, joined_turns

SUFFIX: Final = ".tallied"
PART: Final = ".part"
STALE_S: Final = 86_400.0


def default_folder() -> Path:
    """Return where ledgers are kept if nobody says otherwise: the user's own cache folder.

    Returns
    -------
    Path
        ``$XDG_CACHE_HOME/wetrun/ledgers``, else ``~/.cache/wetrun/ledgers``.
    """
    named = os.environ.get("XDG_CACHE_HOME", "")
    base = Path(named) if named and Path(named).is_absolute() else Path.home() / ".cache"
    return base / "wetrun" / "ledgers"


@dataclass(frozen=True, slots=True)
class LedgerCache:
    """A folder of tallied logs.

    Attributes
    ----------
    folder : Path
        Made when the first log is put in.
    """

    folder: Path

    def found(self, key: str) -> tuple[Entry | None, str]:
        """Return what is kept under a key, and what was wrong with it if it had to be dropped.

        Parameters
        ----------
        key : str
            As `wetrun.fleet.keys.log_key` gives it.

        Returns
        -------
        tuple
            None and nothing for a key that is not there.
        """
        try:
            return entry_from_bytes(self._place(key).read_bytes()), ""
        except OSError:
            return None, ""
        except (ValueError, KeyError, TypeError) as wrong:
            with suppress(OSError):
                self._place(key).unlink()
            return None, f"what was kept of it could not be used ({wrong}) and was made anew"

    def holds(self, key: str) -> bool:
        """Return whether something is kept under a key; it may turn out to be damaged."""
        return self._place(key).is_file()

    def put(self, key: str, entry: Entry) -> None:
        """Keep an entry, with what an earlier one was asked besides.

        Parameters
        ----------
        key : str
            As `wetrun.fleet.keys.log_key` gives it.
        entry : Entry
            What was made of the log.

        Raises
        ------
        CannotWrite
            If it cannot be kept; nothing half-written is left.
        """
        older, _ = self.found(key)
        place = self._place(key)
        part = place.with_name(f".{key}.{uuid4().hex}{PART}")
        try:
            place.parent.mkdir(parents=True, exist_ok=True)
            with part.open("xb") as opened:
                opened.write(entry_as_bytes(joined_turns(entry, older)))
                opened.flush()
                os.fsync(opened.fileno())
            part.replace(place)
        except OSError as trouble:
            remedy = "Free the place, or name another folder with --cache."
            raise CannotWrite(str(place), reason=(trouble.strerror or str(trouble)).lower(), remedy=remedy) from trouble
        finally:
            with suppress(OSError):
                part.unlink(missing_ok=True)

    def sweep(self) -> None:
        """Take away what killed runs left half-written, once it is a day old; younger ones may still be at work."""
        oldest = time.time() - STALE_S
        for part in self.folder.glob(f"??/.*{PART}"):
            with suppress(OSError):
                if part.stat().st_mtime < oldest:
                    part.unlink()

    def _place(self, key: str) -> Path:
        return self.folder / key[:2] / f"{key}{SUFFIX}"
