"""JSON read value by value as it comes in, so that a file of any size needs the memory of its largest value only.

Lengths and depths are bounded: a value longer than `MOST_CHARACTERS` or nested too deep is refused with its place.
"""

from __future__ import annotations

import codecs
import json
import re
from collections.abc import Iterator
from typing import BinaryIO, Final

from wetrun.errors import LogRefused

BLOCK: Final = 1 << 18
MOST_CHARACTERS: Final = 1 << 24
BLANK: Final = re.compile(r"[ \t\n\r\x1e]*")
# Where a value may end: a number or word at the edge of a block could go on in the next.
ENDS_ITSELF: Final = ("}", "]", '"')


class JsonStream:
    """Text of JSON values that comes in blocks; `value` takes the next one off, `taken` a mark such as a comma."""

    def __init__(self, stream: BinaryIO, *, file: str) -> None:
        self._stream = stream
        self._file = file
        self._decoder = json.JSONDecoder(parse_int=float)
        self._utf8 = codecs.getincrementaldecoder("utf-8-sig")()
        self._text = ""
        self._at = 0
        self._done = 0
        self._ended = False

    @property
    def place(self) -> str:
        """Where reading has come to, in words."""
        return f"after character {self._done + self._at:,}"

    def peek(self) -> str:
        """Return the next character that is no blank, "" at the end."""
        while True:
            match = BLANK.match(self._text, self._at)
            self._at = match.end() if match else self._at
            if self._at < len(self._text):
                return self._text[self._at]
            if not self._more():
                return ""

    def taken(self, mark: str) -> bool:
        """Return whether the next character is this one, and go past it if so."""
        if self.peek() != mark:
            return False
        self._at += 1
        return True

    def expect(self, mark: str) -> None:
        """Go past a character that must come next.

        Raises
        ------
        LogRefused
            When another one comes.
        """
        if not self.taken(mark):
            found = self.peek()
            raise self.refused(f"“{mark}” must come here, not “{found}”" if found else "the file breaks off")

    def value(self) -> object:
        """Return the next value and go past it; every number is a float.

        Raises
        ------
        LogRefused
            When there is none, or it is too long or too deep.
        """
        self.peek()
        while True:
            try:
                value, end = self._decoder.raw_decode(self._text, self._at)
            except RecursionError as fault:
                raise self.refused("it is nested too deep") from fault
            except ValueError as fault:
                self._go_on(fault)
                continue
            if end < len(self._text) or self._text[end - 1] in ENDS_ITSELF:
                self._at = end
                return value
            if not self._more():
                self._at = len(self._text)
                return value

    def refused(self, reason: str) -> LogRefused:
        """Return the refusal of what stands at this place."""
        return LogRefused(self._file, place=self.place, reason=reason, remedy="Export the log again as GeoJSON")

    def _go_on(self, fault: ValueError) -> None:
        """Take in as much again as there is, so that a long value is not tried over and over; refuse where none is."""
        begun = len(self._text) - self._at
        if begun > MOST_CHARACTERS:
            raise self.refused(f"one value is longer than {MOST_CHARACTERS >> 20} million characters") from fault
        grown = False
        while len(self._text) - self._at < 2 * begun and self._more():
            grown = True
        if not grown and not self._more():
            raise self.refused("it is cut off or no JSON") from fault

    def _more(self) -> bool:
        """Take in the next block and let go of what was read; return whether there was one."""
        if self._ended:
            return False
        data = self._stream.read(BLOCK)
        self._ended = not data
        try:
            text = self._utf8.decode(data, final=self._ended)
        except UnicodeDecodeError as fault:
            raise self.refused("it is not UTF-8 text") from fault
        self._done += self._at
        self._text = self._text[self._at :] + text
        self._at = 0
        return bool(data)


def features_in(stream: JsonStream, about: dict[str, object]) -> Iterator[dict[str, object]]:
    """Yield the features of a collection, or of values one after another; what stands beside them goes to ``about``.

    Raises
    ------
    LogRefused
        When the text is no such JSON.
    """
    while stream.peek():
        members: dict[str, object] = {}
        stream.expect("{")
        while not stream.taken("}"):
            name = stream.value()
            if not isinstance(name, str):
                raise stream.refused("a name must come here")
            stream.expect(":")
            if name == "features" and stream.taken("["):
                yield from _elements(stream)
            else:
                members[name] = stream.value()
            if not stream.taken(",") and stream.peek() != "}":
                raise stream.refused("a comma or the end of the object must come here")
        if members.get("type") == "Feature":
            yield members
        elif "coordinates" in members:
            yield {"geometry": members, "properties": None}
        else:
            about.update(members)
        stream.taken(",")  # some write one between values on lines of their own


def _elements(stream: JsonStream) -> Iterator[dict[str, object]]:
    while not stream.taken("]"):
        feature = stream.value()
        yield feature if isinstance(feature, dict) else {}
        if not stream.taken(",") and stream.peek() != "]":
            raise stream.refused("a comma or the end of the features must come here")
