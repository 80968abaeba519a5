"""Task data made in memory, and a decoder of their time logs that is slow on purpose: one field after another."""

from __future__ import annotations

import io
import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

FORMATS = {"A": "i", "B": "i", "C": "i", "D": "B", "E": "H", "F": "H", "G": "B", "H": "I", "I": "H"}
DAY = 18_628  # days since 1980: the first day of 2031
NOON_MS = 43_200_000


@dataclass(frozen=True)
class MadeRecord:
    """One record as written: clock, position fields by letter, and raw values by index."""

    ms: int
    day: int
    position: Mapping[str, int]
    values: Sequence[tuple[int, int]] = field(default_factory=tuple)


def log_bytes(records: Sequence[MadeRecord], letters: str) -> bytes:
    """Return a binary time log whose records carry these position fields."""
    layout = struct.Struct("<IH" + "".join(FORMATS[letter] for letter in letters) + "B")
    parts = []
    for one in records:
        fields = (one.position[letter] for letter in letters)
        parts.append(layout.pack(one.ms, one.day, *fields, len(one.values)))
        parts += [struct.pack("<Bi", index, raw) for index, raw in one.values]
    return b"".join(parts)


def header_text(letters: str, values: Sequence[str]) -> str:
    """Return a header for position fields and values, each value as the attributes of its element."""
    position = " ".join(f'{letter}=""' for letter in letters)
    listed = "".join(f"<DLV {value}/>" for value in values)
    return f'<TIM A="" D="4">{f"<PTN {position}/>" if letters else ""}{listed}</TIM>'


def slowly_decoded(data: bytes, letters: str) -> list[MadeRecord]:
    """Return the records of an undamaged log by a plain loop, written apart from the reader it is held against."""
    formats, found, at = {letter: "<" + FORMATS[letter] for letter in letters}, [], 0
    while at < len(data):
        ms, day = struct.unpack_from("<IH", data, at)
        at += 6
        position = {}
        for letter, text in formats.items():
            (position[letter],) = struct.unpack_from(text, data, at)
            at += struct.calcsize(text)
        count, values = data[at], []
        at += 1
        for _ in range(count):
            values.append(struct.unpack_from("<Bi", data, at))
            at += 5
        found.append(MadeRecord(ms, day, position, tuple(values)))
    return found


def plainly_decoded(data: bytes, letters: str) -> tuple[list[tuple[int, ...]], list[tuple[int, int]]]:
    """Return the fields of every record, with its count of values, and all values: as quick as a plain loop can be."""
    fields = struct.Struct("<IH" + "".join(FORMATS[letter] for letter in letters) + "B")
    value = struct.Struct("<Bi")
    records: list[tuple[int, ...]] = []
    values: list[tuple[int, int]] = []
    at = 0
    while at < len(data):
        record = fields.unpack_from(data, at)
        records.append(record)
        at += fields.size
        for _ in range(record[-1]):
            values.append(value.unpack_from(data, at))
            at += value.size
    return records, values


class Repeated(io.RawIOBase):
    """A file as long as one likes that takes no room: some bytes over and over."""

    def __init__(self, data: bytes, times: int) -> None:
        self._data = data
        self._left = len(data) * times
        self._at = 0

    def readable(self) -> bool:
        """Return that it can be read."""
        return True

    def readinto(self, buffer: memoryview) -> int:  # type: ignore[override]  # the one buffer it is given
        """Fill a buffer as far as the bytes at hand go."""
        part = self._data[self._at : self._at + min(len(buffer), self._left)]
        buffer[: len(part)] = part
        self._at = (self._at + len(part)) % len(self._data)
        self._left -= len(part)
        return len(part)


def driven(count: int, *, letters: str = "ABD", values: int = 3, step_ms: int = 200) -> list[MadeRecord]:
    """Return a straight drive northward at 5 m/s, all values written on every record."""
    return [
        MadeRecord(
            (NOON_MS + nth * step_ms) % 86_400_000,
            DAY + (NOON_MS + nth * step_ms) // 86_400_000,
            {letter: _place(nth * step_ms).get(letter, 0) for letter in letters},
            tuple((index, 1000 * index + nth % 7) for index in range(values)),
        )
        for nth in range(count)
    ]


def _place(after_ms: int) -> dict[str, int]:
    """Return position fields after some milliseconds at 5 m/s northward, in 1e-7 degrees."""
    return {"A": 500_000_000 + round(after_ms * 0.44966), "B": 100_000_000, "D": 4}


MACHINE = """<DVC A="DVC-1" B="A. Name" D="A00C800046A31C2C" E="SERIAL-99">
<DET A="DET-1" B="1" C="1" D="A. Name" E="0" F="0"/><DET A="DET-2" B="2" C="2" E="1" F="1"/>
<DET A="DET-3" B="3" C="4" E="2" F="2"><DOR A="10"/><DOR A="11"/></DET>
<DET A="DET-4" B="4" C="4" E="3" F="2"><DOR A="12"/><DOR A="13"/></DET>
<DET A="DET-5" B="5" C="4" E="4" F="2"><DOR A="14"/><DOR A="15"/></DET>
<DPT A="10" B="0087" C="9000"/><DPT A="11" B="0043" C="6000"/><DPT A="12" B="0087" C="0"/>
<DPT A="13" B="0043" C="12000"/><DPT A="14" B="0087" C="-9000"/><DPT A="15" B="0043" C="5000"/></DVC>"""


def write_task_data(folder: Path, logs: Mapping[str, tuple[str, bytes]], *, main: str = "TASKDATA.XML") -> Path:
    """Write a set of task data: a sprayer with sections of 5, 12 and 6 m from the left, and its time logs."""
    folder.mkdir(parents=True, exist_ok=True)
    listed = "".join(f'<TLG A="{name}" C="1"/>' for name in logs)
    worker = '<WKR A="WKR1" B="A. Name" C="Street 1"/>'
    body = f'<ISO11783_TaskData VersionMajor="4" VersionMinor="1">{worker}{MACHINE}<TSK A="TSK1">{listed}</TSK>'
    (folder / main).write_text(f"\N{ZERO WIDTH NO-BREAK SPACE}{body}</ISO11783_TaskData>", encoding="utf-8")
    for name, (header, data) in logs.items():
        (folder / f"{name}.xml").write_text(header, encoding="utf-8")
        (folder / f"{name}.bin").write_bytes(data)
    return folder
