"""One set of task data: the main file and what lies beside it, names in any case."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.sent_files import SentFile

MAIN_FILE: Final = "taskdata.xml"
PART_OF_SET: Final = re.compile(r"[a-z]{3}\d{1,8}\.(xml|bin)|linklist\.xml|taskdata\.xml")


@dataclass(frozen=True, slots=True)
class LogBundle:
    """One set of task data, by the names of its files in lower case."""

    name: str
    files: dict[str, SentFile]

    def has(self, name: str) -> bool:
        """Return whether a file lies beside the main file, whatever the case of its name."""
        return name.lower() in self.files

    def file(self, name: str) -> SentFile:
        """Return a file that lies beside the main file.

        Raises
        ------
        LogRefused
            When it is absent.
        """
        if not self.has(name):
            remedy = "Send the whole folder the terminal wrote"
            raise LogRefused(name, place="", reason=f"it is named in {self.name} but not there", remedy=remedy)
        return self.files[name.lower()]

    def content(self, name: str) -> bytes:
        """Return the bytes of a file.

        Raises
        ------
        LogRefused
            When it is absent, unreadable or too large.
        """
        return self.file(name).content()


def bundle_around(main: SentFile) -> LogBundle:
    """Return the set of task data that a main file belongs to."""
    parts = {base: file for base, file in main.kin.items() if PART_OF_SET.fullmatch(base)}
    return LogBundle(main.name.rpartition("/")[0] or main.name, {MAIN_FILE: main, **parts})
