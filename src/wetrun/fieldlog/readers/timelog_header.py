"""The header of a time log: which fields each of its binary records carries, and which values it may list.

An attribute left empty in the header is in every record; one with a value holds for all of them; one that is missing
is nowhere. The order of the fields is the order of their letters.

References
----------
iso-11783-10
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.data_dictionary import PGN_WRAPPED
from wetrun.fieldlog.readers.task_data import whole
from wetrun.fieldlog.readers.xml_tags import Tag, tags_in

WANTED: Final = {
    "TIM": ("A", "B", "D"),
    "PTN": ("A", "B", "C", "D", "E", "F", "G", "H", "I"),
    "DLV": ("A", "B", "C", "D", "E", "F"),
}
MOST_VALUES: Final = 255
# NumPy types of the position's fields: north, east, up, status, two dilutions, satellites, GPS time and day.
POSITION_FIELDS: Final = (
    ("A", "north", "<i4"), ("B", "east", "<i4"), ("C", "up", "<i4"), ("D", "status", "u1"), ("E", "pdop", "<u2"),
    ("F", "hdop", "<u2"), ("G", "satellites", "u1"), ("H", "gps_ms", "<u4"), ("I", "gps_day", "<u2"),
)  # fmt: skip
BYTES_OF: Final = {"u1": 1, "<u2": 2, "<u4": 4, "<i4": 4}
COUNT_BYTES: Final = 1
VALUE_BYTES: Final = 5


@dataclass(frozen=True, slots=True)
class LoggedValue:
    """One value a record may list: its number, its element, and for a wrapped network message which bits of which."""

    number: int
    element: str
    message: int = 0
    first_bit: int = 0
    last_bit: int = 0


@dataclass(frozen=True, slots=True)
class TimeLogHeader:
    """Fields of a record as ``(name, NumPy type, offset)``, its bytes before the values, and the values by index."""

    fields: tuple[tuple[str, str, int], ...]
    fixed_bytes: int
    values: tuple[LoggedValue, ...]

    def offset(self, name: str) -> int:
        """Return where a field stands in a record, -1 where records do not have it."""
        return next((offset for field, _, offset in self.fields if field == name), -1)


def header_in(data: bytes, *, file: str) -> TimeLogHeader:
    """Return the header of a time log.

    Raises
    ------
    LogRefused
        When it is cut off, has no record, no clock in its records, or more values than an index byte can name.

    Example
    -------
    >>> data = b'<TIM A="" D="4"><PTN A="" B="" D=""/><DLV A="018D" B="" C="DET-1"/></TIM>'
    >>> header = header_in(data, file="TLG00001.xml")
    >>> header.fixed_bytes, header.values[0].number
    (16, 397)
    """
    root = tags_in(data, WANTED, file=file)
    record = root.inside[0] if root.inside and root.inside[0].name == "TIM" else None
    if record is None or record.attributes.get("A") != "":
        reason = "there is no record layout, or its records have no clock"
        raise LogRefused(file, place="line 1", reason=reason, remedy="Copy the file from the terminal again")
    listed = record.all_named("DLV")
    if len(listed) > MOST_VALUES:
        reason = f"it lists {len(listed)} values, and a record can name {MOST_VALUES}"
        raise LogRefused(file, place=f"value {MOST_VALUES + 1}", reason=reason, remedy="Export the log again")
    fields = _fields(record.all_named("PTN"))
    last, kind, offset = fields[-1]
    del last
    values = tuple(_value(tag, file) for tag in listed)
    return TimeLogHeader(fields, offset + BYTES_OF[kind] + COUNT_BYTES, values)


def _fields(positions: list[Tag]) -> tuple[tuple[str, str, int], ...]:
    present = positions[0].attributes if positions else {}
    layout = [("ms", "<u4"), ("day", "<u2")]
    layout += [(name, kind) for letter, name, kind in POSITION_FIELDS if present.get(letter) == ""]
    fields, offset = [], 0
    for name, kind in layout:
        fields.append((name, kind, offset))
        offset += BYTES_OF[kind]
    return tuple(fields)


def _value(tag: Tag, file: str) -> LoggedValue:
    try:
        number = int(tag.attributes.get("A", ""), 16)
    except ValueError as fault:
        reason = f"a value's number “{tag.attributes.get('A', '')}” is not hexadecimal"
        raise LogRefused(file, place="DLV", reason=reason, remedy="Copy the file from the terminal again") from fault
    element = tag.attributes.get("C", "")
    if number != PGN_WRAPPED:
        return LoggedValue(number, element)
    message, first, last = (whole(tag.attributes.get(letter, "")) or 0 for letter in "DEF")
    return LoggedValue(number, element, message, first, last)
