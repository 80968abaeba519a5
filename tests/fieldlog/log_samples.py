"""Small valid logs of every format, written by the tests themselves: `SAMPLES` by the format's own name.

Each writer puts its files into a folder and returns them; what else the files hold is up to chance, so that a reader
is damaged in more places than one.
"""

from __future__ import annotations

import gzip
import json
import random
import struct
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from bench.made_time_log import MadeRecord, driven, header_text, log_bytes, write_task_data
from tests.fieldlog.map_samples import geojson_file, shapefile_set
from tests.fieldlog.receiver_samples import gpx_sample, json_sample, nmea_sample

from wetrun.fieldlog.readers import (
    csv_log,
    geojson_log,
    gpx_log,
    iso_log,
    nmea_log,
    parquet_log,
    receiver_json_log,
    shapefile_log,
)
from wetrun.fieldlog.readers.formats import traces_in
from wetrun.fieldlog.readers.working_writer import TraceWriter

Writer = Callable[[Path, random.Random], list[Path]]

STATES: Final = (-43, -44, -48)  # three sections: all on, the left one off, the two right ones off
LOGGED_BY_FLOW: Final = ('A="0025" B="" C="DET-2"', 'A="00A1" B="" C="DET-2"', 'A="018D" B="" C="DET-1"')
LOGGED_IN_MESSAGES: Final = (
    'A="024D" B="" C="DET-2"', 'A="008D" B="" C="DET-2"', 'A="DFFE" B="" C="DET-1" D="65096" E="0" F="15"',
)  # fmt: skip
LOGGED: Final = ('A="0002" B="" C="DET-2"', 'A="00A1" B="" C="DET-2"', 'A="018D" B="" C="DET-1"')
NORTH_DEG: Final = 1 / 111_194.93  # one metre northward


def task_data(folder: Path, chance: random.Random) -> list[Path]:
    """A sprayer's task data with one or two time logs, its machine sometimes in a file of its own."""
    logs = {}
    for nth in range(chance.randint(1, 2)):
        letters = chance.choice(["ABD", "ABCDEFGHI", "AB"])
        listed = chance.choice([LOGGED, LOGGED_BY_FLOW, LOGGED_IN_MESSAGES])
        logs[f"TLG0000{nth + 1}"] = header_text(letters, listed), log_bytes(_sprayed(letters, chance), letters)
    written = write_task_data(folder / "TASKDATA", logs, main=chance.choice(["TASKDATA.XML", "TaskData.xml"]))
    if chance.random() < 0.3:
        _set_machine_apart(next(file for file in written.iterdir() if file.name.lower() == "taskdata.xml"))
    return sorted(written.iterdir())


def _sprayed(letters: str, chance: random.Random) -> list[MadeRecord]:
    """A drive that writes rate, states and speed on each record, or only when they change."""
    sparse, count = chance.random() < 0.5, chance.randint(20, 80)
    records = []
    for nth, one in enumerate(driven(count, letters=letters, values=0)):
        values = ((0, 1_870_000), (1, chance.choice(STATES)), (2, 5000 + nth % 7))
        written = values if nth == 0 or not sparse else tuple(value for value in values if chance.random() < 0.1)
        records.append(MadeRecord(one.ms, one.day, one.position, written))
    return records


def _set_machine_apart(main: Path) -> None:
    text = main.read_text(encoding="utf-8-sig")
    start, end = text.index("<DVC"), text.index("</DVC>") + len("</DVC>")
    (main.parent / "DVC00001.xml").write_text(f"<XFC>{text[start:end]}</XFC>", encoding="utf-8")
    main.write_text(f'{text[:start]}<XFR A="DVC00001" B="1"/>{text[end:]}', encoding="utf-8")


def csv_table(folder: Path, chance: random.Random) -> list[Path]:
    """A text table: one row per section or per reading, some clock, some delimiter."""
    delimiter = chance.choice([",", ";", "\t"])
    clock = chance.choice([_iso_clock, _us_clock, _seconds])
    sections = chance.choice([(), ("1", "2", "3")])
    head = ["time (s)" if clock is _seconds else "iso time", *(["section"] if sections else [])]
    head += ["distance (m)", "width (m)", "applied rate (L/ha)", "target rate (L/ha)", "lon", "lat"]
    lines = [delimiter.join(head)]
    for nth in range(chance.randint(20, 60)):
        for section in sections or ("",):
            cells = [clock(nth), *([section] if sections else []), "1.0", "24.0", str(100 + nth % 3), "100", "10.0"]
            lines.append(delimiter.join([*cells, f"{50 + nth * NORTH_DEG:.9f}"]))
    file = folder / "log.csv"
    file.write_text(chance.choice(["\n", "\r\n"]).join(lines) + "\n", encoding=chance.choice(["utf-8", "utf-8-sig"]))
    return [file]


def text_table(folder: Path, chance: random.Random) -> list[Path]:
    """A text table with a header line, or one of numbers alone."""
    return csv_table(folder, chance) if chance.random() < 0.6 else _numbers_table(folder, chance)


def _numbers_table(folder: Path, chance: random.Random) -> list[Path]:
    """Longitude, latitude, a clock or a count, a distance in inches and more, without a header line; maybe packed."""
    delimiter, first = chance.choice([",", ";", "\t", " "]), chance.choice([1, 24_538_654, 971_213_672, 37_195.5])
    comma, step = delimiter != "," and chance.random() < 0.3, 1 if first != 37_195.5 else 1e-5
    lines = []
    for nth in range(chance.randint(30, 80)):
        north = 39 + nth * 2 * NORTH_DEG
        cells = [f"{-93 - nth * 1e-6:.6f}", f"{north:.6f}", f"{first + nth * step + (nth > 20) * 3 * step:.5f}", "79"]
        cells += ["360", f"{chance.uniform(1, 9):.2f}", *(["5"] if chance.random() < 0.1 else [])]
        lines.append(delimiter.join(cell.replace(".", ",") if comma else cell for cell in cells))
    content = (chance.choice(["\n", "\r\n"]).join(lines) + "\n").encode()
    packed = chance.random() < 0.3
    file = folder / ("log.txt.gz" if packed else "log.txt")
    file.write_bytes(gzip.compress(content, mtime=0) if packed else content)
    return [file]


def parquet_file(folder: Path, chance: random.Random) -> list[Path]:
    """A working file, a table with units in its fields, or places as a geometry column; packed in some way."""
    return [_working_file(folder, chance) if chance.random() < 0.5 else _foreign_file(folder / "log.parquet", chance)]


def _working_file(folder: Path, chance: random.Random) -> Path:
    (table,) = csv_table(folder, chance)
    (trace,) = traces_in(table)
    table.unlink()
    if trace.sections and chance.random() < 0.5:
        swing = np.full((trace.time_s.size, len(trace.sections)), chance.uniform(0.8, 1.2), dtype=np.float32)
        trace = replace(trace, swing_ratio=swing)
    file = folder / "log.parquet"
    with TraceWriter(file, instants_per_group=chance.choice([7, 1000])) as writer:
        writer.add(trace)
    return file


def _foreign_file(file: Path, chance: random.Random) -> Path:
    rows = np.arange(chance.randint(20, 300))
    moments = pa.array(rows * 200, pa.timestamp("ms", "UTC"))
    columns = {"time": moments if chance.random() < 0.5 else pa.array(rows * 0.2), "width": pa.array(rows * 0 + 24.0)}
    columns["speed"] = pa.array(rows * 0.0 + 5.0, mask=rows % 9 == 3)
    columns["section"] = pa.array(["left"] * rows.size).dictionary_encode()
    units = {"time": "s", "width": "m", "speed": "m/s"}
    metadata = {}
    if chance.random() < 0.5:
        columns |= {"lon": pa.array(rows * 0 + 10.0), "lat": pa.array(50 + rows * NORTH_DEG)}
    else:
        points = [struct.pack("<BIdd", 1, 1, 10.0, 50 + nth * NORTH_DEG) for nth in rows.tolist()]
        columns["geometry"] = pa.array(points)
        metadata["geo"] = json.dumps(
            {"version": "1.1.0", "primary_column": "geometry", "columns": {"geometry": {"encoding": "WKB"}}}
        )
    fields = [pa.field(name, of.type, metadata={"unit": units.get(name, "")}) for name, of in columns.items()]
    table = pa.table(list(columns.values()), schema=pa.schema(fields, metadata=metadata))
    pq.write_table(
        table,
        file,
        compression=chance.choice(["none", "snappy", "zstd", "lz4", "gzip", "brotli"]),
        use_dictionary=chance.random() < 0.5,
        write_page_checksum=chance.random() < 0.5,
        row_group_size=16,
    )
    return file


def _seconds(nth: int) -> str:
    return f"{0.2 * nth:.1f}"


def _iso_clock(nth: int) -> str:
    return f"2031-05-01T10:00:{0.2 * nth:06.3f}Z"


def _us_clock(nth: int) -> str:
    return f"5/13/2031 1:{nth // 60:02}:{nth % 60:02} PM"


# A reader without an entry here fails tests/fieldlog/test_fuzz_readers.py.
SAMPLES: Final[dict[str, Writer]] = {
    iso_log.FORMAT: task_data,
    gpx_log.FORMAT: gpx_sample,
    nmea_log.FORMAT: nmea_sample,
    receiver_json_log.FORMAT: json_sample,
    shapefile_log.FORMAT: shapefile_set,
    geojson_log.FORMAT: geojson_file,
    csv_log.FORMAT: text_table,
    parquet_log.FORMAT: parquet_file,
}
