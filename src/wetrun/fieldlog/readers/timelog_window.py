"""A stretch of a long file that moves on, so that a log of any length is read in little memory.

Places are counted from the start of the file [bytes], whatever the stretch.
"""

from __future__ import annotations

from typing import BinaryIO, Final

import numpy as np

# Large enough that moving on costs nothing, small enough that what is decoded from it at once stays small (our own).
WINDOW_BYTES: Final = 16 << 20


class ByteWindow:
    """Bytes from a place on.

    Attributes
    ----------
    octets
        The bytes at hand.
    base
        Where they begin in the file [bytes].
    ended
        Whether they reach the end of the file.
    """

    def __init__(self, stream: BinaryIO, *, size: int = WINDOW_BYTES) -> None:
        self.base = 0
        self.ended = False
        self._stream = stream
        self._buffer = np.empty(size, dtype=np.uint8)
        self.octets = self._buffer[:0]
        self.slide(0)

    @classmethod
    def over(cls, data: bytes) -> ByteWindow:
        """Return the window over a whole file."""
        window = cls.__new__(cls)
        window.base, window.ended = 0, True
        window.octets = np.frombuffer(data, dtype=np.uint8)
        return window

    @property
    def end(self) -> int:
        """Where the bytes at hand end [bytes]."""
        return self.base + int(self.octets.size)

    def slide(self, place: int) -> None:
        """Drop what stands before a place [bytes] and read on."""
        kept = self.octets[place - self.base :].copy()
        self._buffer[: kept.size] = kept
        filled = int(kept.size)
        room: memoryview = self._buffer.data
        while filled < self._buffer.size and not self.ended:
            count = self._stream.readinto(room[filled:])  # type: ignore[attr-defined]  # every stream of bytes has it
            self.ended = not count
            filled += count or 0
        self.base, self.octets = place, self._buffer[:filled]
