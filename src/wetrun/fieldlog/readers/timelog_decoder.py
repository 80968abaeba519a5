"""Which of the two decoders works on a log; both give the same bits.

Loading the compiled loops takes half a second, and over a second the first time after an install (docs/bench); a short
log is decoded by NumPy in less. Once they are loaded they are quicker on any log.
"""

from __future__ import annotations

import sys
from typing import Final, Protocol

from wetrun.fieldlog.readers import timelog_plain
from wetrun.fieldlog.readers.timelog_chunk import Chunk
from wetrun.fieldlog.readers.timelog_sync import Plausibility

KERNELS: Final = "wetrun.fieldlog.readers.timelog_kernels"
LONG_LOG_BYTES: Final = 64 << 20


class Decoder(Protocol):
    """What both decoders can do."""

    def sound_chain(self, rules: Plausibility, place: int, limit: int, most: int) -> tuple[Chunk, int, bool]:
        """Return believable records that follow each other, where they end, and whether damage ended them."""

    def next_record(self, rules: Plausibility, place: int, limit: int) -> int:
        """Return where the next believable record starts before a limit, `NONE` if there is none."""


def decoder_for(octets: int) -> Decoder:
    """Return the decoder for a log of at least so many bytes."""
    if octets < LONG_LOG_BYTES and KERNELS not in sys.modules:
        return timelog_plain
    from wetrun.fieldlog.readers import timelog_kernels

    return timelog_kernels
