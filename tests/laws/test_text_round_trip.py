"""Numbers written into a text log of any shape come back as the numbers, as plain `float` reads each cell."""

from __future__ import annotations

import gzip
import math
import random
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from tests.log_reading import sent

from wetrun.fieldlog.readers import text_table
from wetrun.fieldlog.readers.column_table import MISSING
from wetrun.fieldlog.readers.csv_log import parsed_in
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest

UNITS = {
    "time": "s",
    "distance": "m",
    "width": "m",
    "applied_rate": "L/ha",
    "target_rate": "L/ha",
    "speed": "m/s",
    "heading": "deg",
    "longitude": "deg",
    "latitude": "deg",
}
NOTE = "note"
CHUNK = 500  # bytes: longer than any header line here, shorter than most tables


@dataclass(frozen=True)
class Shape:
    """How a table is written down."""

    delimiter: str
    comma: bool
    headed: bool
    quoted: float  # share of the cells
    end: str
    last_end: bool
    bom: bool
    packed: bool


@st.composite
def shapes(draw: st.DrawFn) -> Shape:
    """Every shape that tells its own delimiter: blanks have no header line, and no decimal comma."""
    headed = draw(st.booleans())
    delimiter = draw(st.sampled_from([",", ";", "\t"] if headed else [",", ";", "\t", " "]))
    return Shape(
        delimiter,
        comma=delimiter != " " and draw(st.booleans()),
        headed=headed,
        quoted=draw(st.sampled_from([0.0, 0.0, 0.3, 1.0])),
        end=draw(st.sampled_from(["\n", "\r\n", "\r"])),
        last_end=draw(st.booleans()),
        bom=draw(st.booleans()),
        packed=draw(st.booleans()),
    )


FINITE = st.floats(allow_nan=False, allow_infinity=False)
USUAL = st.floats(-1e6, 1e6).map(lambda number: round(number, 6))
SPELT = (repr, "{:.17g}".format, "{:+.3e}".format, "{:.2f}".format, "{:.0f}".format)


@st.composite
def numbers(draw: st.DrawFn) -> str:
    """A finite number as somebody writes it."""
    number = draw(st.one_of(USUAL, FINITE))
    cell = draw(st.sampled_from(SPELT))(number)
    return cell if len(cell) < 60 and math.isfinite(float(cell)) else repr(number)


@st.composite
def tables(draw: st.DrawFn) -> tuple[list[str], list[list[str]]]:
    """Meanings in any order, a column of notes among them, and their cells; the first row holds numbers only."""
    others = draw(st.sets(st.sampled_from([*UNITS][2:])))
    meanings = draw(st.permutations(["time", "distance", *sorted(others), NOTE]))
    cell = {meaning: st.one_of(numbers(), numbers(), numbers(), st.sampled_from(MISSING[1:])) for meaning in UNITS}
    cell[NOTE] = st.text("ab1 ,;'\"\t\n", max_size=8)
    first = [draw(numbers()) for _ in meanings]
    count = draw(st.integers(1, 25))
    return list(meanings), [first, *([draw(cell[one]) for one in meanings] for _ in range(count))]


def line(cells: list[str], shape: Shape, chance: random.Random) -> str:
    """One row as written; what would not come through plain is quoted in any case."""
    return shape.delimiter.join(_cell(cell, shape, quoted=chance.random() < shape.quoted) for cell in cells)


def _cell(cell: str, shape: Shape, *, quoted: bool) -> str:
    if quoted or any(letter in cell for letter in (shape.delimiter, '"', "\n", "\r")) or (cell != cell.strip()):
        return '"' + cell.replace('"', '""') + '"'
    return cell or '""' if shape.delimiter == " " else cell


def written(folder: Path, table: tuple[list[str], list[list[str]]], shape: Shape) -> Path:
    """The table as a file."""
    meanings, rows = table
    chance = random.Random(len(rows))  # noqa: S311 - which cells are quoted
    lines = []
    if shape.headed:
        names = [f"{one.replace('_', ' ')} ({UNITS[one]})" if one in UNITS else one for one in meanings]
        lines.append(line(names, shape, chance))
    for row in rows:
        cells = [
            cell.replace(".", ",") if shape.comma and one != NOTE else cell
            for one, cell in zip(meanings, row, strict=True)
        ]
        lines.append(line(cells, shape, chance))
    text = shape.end.join(lines) + (shape.end if shape.last_end else "")
    content = text.encode("utf-8-sig" if shape.bom else "utf-8")
    path = folder / ("log.csv.gz" if shape.packed else "log.csv")
    path.write_bytes(gzip.compress(content) if shape.packed else content)
    return path


def request_for(meanings: list[str], shape: Shape) -> ReadRequest:
    """Without a header line the columns are named by their place."""
    if shape.headed:
        return PLAIN_REQUEST
    named = "\n".join(
        f'{one} = {{ column = "{place}", unit = "{UNITS[one]}" }}'
        for place, one in enumerate(meanings, start=1)
        if one in UNITS
    )
    return ReadRequest(mapping_from(f"format_version = 1\n[columns]\n{named}\n", file="map.toml"))


def read_plainly(cell: str) -> float:
    return float("nan") if cell in MISSING else float(cell)


PLAIN_NUMBERS = Shape(",", comma=False, headed=False, quoted=0.0, end="\n", last_end=True, bom=False, packed=False)
FAR_OFF = [["0.0"] * 4, *([["1.5", "2.5", "1.6e308", "1.0"]] * 25)]


@settings(max_examples=100)
@example(
    table=(["time", "distance"], [["1.5e3", "2.5E-3"]] * 3),
    shape=replace(PLAIN_NUMBERS, delimiter=";", comma=True, headed=True),
)
@example(table=(["time", "distance", "longitude", "latitude"], FAR_OFF), shape=PLAIN_NUMBERS)
@example(
    table=(["time", "distance", "longitude", "latitude"], [["1"] * 4, *([["1", "2", "3", "na"]] * 25)]),
    shape=PLAIN_NUMBERS,
)
@given(table=tables(), shape=shapes())
def test_numbers_written_in_any_shape_come_back_as_the_numbers(
    table: tuple[list[str], list[list[str]]], shape: Shape
) -> None:
    meanings, rows = table
    with TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.setattr(text_table, "CHUNK_BYTES", CHUNK)
        path = written(Path(folder), table, shape)
        columns = parsed_in(sent(path), request_for(meanings, shape))
    assert columns.rows == len(rows)
    for place, meaning in enumerate(meanings):
        if meaning == NOTE:
            continue
        plainly = [read_plainly(row[place]) for row in rows]
        read = columns.time_s if meaning == "time" else columns.numbers[meaning]
        np.testing.assert_array_equal(read, plainly, err_msg=meaning)
    assert not [one for one in columns.repairs if one.kind != "uneven row"]
