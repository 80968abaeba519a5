"""Damage to the bytes of a file: what terminals, sticks, mail and wrong programs do to logs, and what malice adds."""

from __future__ import annotations

import random
import re
import struct
from collections.abc import Callable
from typing import Final

NASTY: Final = (
    b"\xff" * 4, b"\0" * 4, b"\x7f\xff\xff\xff", b"\xff\xff\xff\x7f", b"\x80\0\0\0", b"\0\0\0\x80",
    struct.pack("<d", float("nan")), struct.pack("<d", float("inf")), struct.pack("<d", -1e308),
    struct.pack(">d", 1e308), b"1e999", b"-1e999", b"NaN", b"inf", b"-", b"9" * 30, b"0." + b"3" * 400, b"1e-320",
    b"0x10", b"1_0", b'"', b"'", b",", b";", b"\t", b"\n", b"\r", b"\r\n", b"\0", b" ", b"*", b"$", b"!",
    b"\xff\xfe", b"\xef\xbb\xbf", b"\xc3", b"\xed\xa0\x80", b"\xe2\x80\xa8", b"\xd9\xa1\xd9\xa2",
    b"<!--", b"]]>", b"<![CDATA[", b"</", b"<x>", b'A=""', b"&x;", b"&#0;", b"<!DOCTYPE x [<!ENTITY y 'z'>]>",
    b"{", b"}", b"[", b"null", b"true", b'{"a":', b"[" * 3000, b"<a>" * 300,
    b"$GPRMC,", b"*00", b"24:61:61", b"2031-02-31T25:00:00Z", b"0000-00-00", b"9999-12-31T23:59:60Z",
    b"PK\x03\x04", b"\x1f\x8b", b"PAR1",
)  # fmt: skip
DIGITS: Final = re.compile(rb"\d+(\.\d+)?")
NUMBERS: Final = (
    b"0", b"-0", b"-1", b"181", b"91", b"360.5", b"65535", b"2147483648", b"18446744073709551616", b"1e300", b"-1e300",
    b"1e-300", b"1" * 60, b"99999999999999", b"0.0000000001", b"nan",
)  # fmt: skip
EDGE: Final = 256
MOST_CHANGES: Final = 6
MOST_BYTES: Final = 1 << 20

Change = Callable[[bytearray, bytes, random.Random], None]


def damaged(content: bytes, donor: bytes, chance: random.Random) -> bytes:
    """Return content with one to a few kinds of damage; ``donor`` is a file from which pieces may come."""
    changed = bytearray(content)
    for _ in range(chance.randint(1, MOST_CHANGES)):
        chance.choice(CHANGES)(changed, donor, chance)
    return bytes(changed[:MOST_BYTES])


def place_in(content: bytearray, chance: random.Random) -> int:
    """Return a place anywhere, more often near the ends: there stand headers, counts and directories."""
    size = len(content)
    if not size:
        return 0
    near = min(size, EDGE)
    return chance.choice([chance.randrange(size), chance.randrange(near), size - 1 - chance.randrange(near)])


def _piece_of(source: bytes | bytearray, chance: random.Random) -> bytes:
    at = chance.randrange(max(len(source), 1))
    return bytes(source[at : at + chance.choice([1, 4, 20, 60, 200, 1000])])


def _flip(content: bytearray, _donor: bytes, chance: random.Random) -> None:
    for _ in range(chance.choice([1, 1, 1, 8])):
        if content:
            content[place_in(content, chance)] ^= 1 << chance.randrange(8)


def _overwrite(content: bytearray, _donor: bytes, chance: random.Random) -> None:
    at, nasty = place_in(content, chance), chance.choice(NASTY)
    content[at : at + len(nasty)] = nasty


def _insert(content: bytearray, _donor: bytes, chance: random.Random) -> None:
    at = place_in(content, chance)
    content[at:at] = chance.choice(NASTY)


def _noise(content: bytearray, _donor: bytes, chance: random.Random) -> None:
    at, length = place_in(content, chance), chance.choice([1, 8, 64])
    content[at : at + length] = chance.randbytes(length)


def _cut_out(content: bytearray, _donor: bytes, chance: random.Random) -> None:
    at = place_in(content, chance)
    del content[at : at + chance.choice([1, 4, 20, 60, 200, 1000])]


def _cut_off(content: bytearray, _donor: bytes, chance: random.Random) -> None:
    at = place_in(content, chance)
    if chance.random() < 0.5:
        del content[at:]
    else:
        del content[:at]


def _write_again(content: bytearray, _donor: bytes, chance: random.Random) -> None:
    at = place_in(content, chance)
    content[at:at] = _piece_of(content, chance) * chance.choice([1, 1, 2, 30])


def _splice(content: bytearray, donor: bytes, chance: random.Random) -> None:
    at = place_in(content, chance)
    content[at : at + chance.choice([0, 0, 20, 200])] = _piece_of(donor, chance)


def _stretch_number(content: bytearray, _donor: bytes, chance: random.Random) -> None:
    found = DIGITS.search(content, place_in(content, chance))
    if found:
        content[found.start() : found.end()] = chance.choice(NUMBERS)


def _join_lines(content: bytearray, _donor: bytes, chance: random.Random) -> None:
    at = content.find(b"\n", place_in(content, chance))
    if at >= 0:
        del content[at]


CHANGES: Final[tuple[Change, ...]] = (
    _flip, _overwrite, _insert, _noise, _cut_out, _cut_off, _write_again, _splice, _stretch_number, _stretch_number,
    _join_lines,
)  # fmt: skip
