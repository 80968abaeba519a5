"""The sentences of an NMEA 0183 log, found wherever they stand: between binary junk, glued to one another, cut off.

A sentence whose checksum is wrong is counted and left out. One without a checksum counts only in a file that writes
none: elsewhere it has lost its end, and half a number is a wrong number.

References
----------
nmea-0183
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.trace import Repair

# A line has at most 82 characters by the standard; receivers write some more.
SENTENCE: Final = re.compile(rb"[$!]([A-Z][A-Z0-9]{2,7}),([^$!*\r\n\0]{0,200})(?:\*([0-9A-Fa-f]{2}))?")
BLOCK: Final = 1 << 20
LONGEST_LINE: Final = 1 << 10
FIRST_BYTES: Final = 1 << 16
USED: Final = (b"RMC", b"GGA", b"GLL", b"VTG", b"ZDA")
THROUGH_WATER: Final = ("VHW", "VBW")
MOST_KINDS: Final = 200
KINDS_TOLD: Final = 12

Fields = list[bytes]


@dataclass(slots=True)
class Found:
    """What was found in a log so far: sentences by kind that are not used, and those that cannot be."""

    passed_over: Counter[str] = field(default_factory=Counter)
    used: int = 0
    wrong: int = 0
    without: int = 0
    unchecked: int = 0

    def repairs(self) -> tuple[Repair, ...]:
        """Return what was left out and passed over, with counts."""
        told = {
            "sentences whose checksum is wrong were left out": self.wrong,
            "sentences that lost their end were left out": self.without,
            "sentences without a checksum were taken as they stand: none has one": self.unchecked,
            self._others(): self.passed_over.total(),
        }
        return tuple(Repair("sentence", count, 0.0, words) for words, count in told.items() if count)

    def _others(self) -> str:
        kinds = ", ".join(f"{kind} {count:,}" for kind, count in sorted(self.passed_over.items())[:KINDS_TOLD])
        more = len(self.passed_over) - KINDS_TOLD
        water = ""
        if any(kind in self.passed_over for kind in THROUGH_WATER):
            water = "; speed through water is no speed over ground"
        return f"other sentences were passed over: {kinds}{f' and {more} more kinds' if more > 0 else ''}{water}"


def sentences_in(file: SentFile, request: ReadRequest, found: Found) -> Iterator[tuple[bytes, Fields]]:
    """Yield kind (three letters) and fields of each sentence that tells time, place or speed; the rest is counted.

    Raises
    ------
    LogRefused
        When the file breaks off or is too large.
    """
    strict = writes_checksums(file.head(FIRST_BYTES))
    carried = b""
    with file.open_plain(request.progress) as stream:
        while block := stream.read(BLOCK):
            carried += block
            end = carried.rfind(b"\n") + 1
            if not end or len(carried) - end > LONGEST_LINE:
                end = len(carried)
            yield from _in_block(carried[:end], found, strict=strict)
            carried = carried[end:]
        yield from _in_block(carried, found, strict=strict)


def writes_checksums(head: bytes) -> bool:
    """Return whether most sentences in the first bytes of a log carry a checksum."""
    with_one = [match[3] is not None for match in SENTENCE.finditer(head)]
    return 2 * sum(with_one) >= len(with_one)


def checksum(body: bytes) -> int:
    """Return the checksum of what stands between the mark and the asterisk.

    Example
    -------
    >>> f"{checksum(b'GPGLL,5057.970,N,00146.110,E,142451,A'):02X}"
    '27'
    """
    result = 0
    for byte in body:
        result ^= byte
    return result


def _in_block(block: bytes, found: Found, *, strict: bool) -> Iterator[tuple[bytes, Fields]]:
    if not block:
        return
    sums = np.bitwise_xor.accumulate(np.frombuffer(block, dtype=np.uint8)).tolist()
    for match in SENTENCE.finditer(block):
        address, body, told = match.groups()
        if told is None:
            if strict:
                found.without += 1
                continue
            found.unchecked += 1
        elif sums[match.end(2) - 1] ^ sums[match.start()] != int(told, 16):
            found.wrong += 1
            continue
        kind = address[2:] if len(address) == 5 and not address.startswith(b"P") else address
        if kind in USED:
            found.used += 1
            yield kind, body.split(b",")
        elif len(found.passed_over) < MOST_KINDS or kind.decode() in found.passed_over:
            found.passed_over[kind.decode()] += 1
        else:
            found.passed_over["others"] += 1
