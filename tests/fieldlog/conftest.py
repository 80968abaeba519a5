"""Logs the tests write themselves, and the real one where it is at hand."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from wetrun.fieldlog.readers.formats import traces_in
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.trace import Trace

REAL_MAPPING = """
format_version = 1

[columns]
distance     = { column = "DISTANCE", unit = "ft" }
width        = { column = "SWATHWIDTH", unit = "ft" }
applied_rate = { column = "AppliedRate", unit = "gal/ac" }
target_rate  = { column = "TargetRate", unit = "gal/ac" }

[boom]
full_width   = { value = 100, unit = "ft" }
"""

Cells = Mapping[str, object]


@pytest.fixture(scope="session")
def real_trace(real_log_path: Path) -> Trace:
    (trace,) = traces_in(real_log_path, ReadRequest(mapping_from(REAL_MAPPING, file="real.toml")))
    return trace


@pytest.fixture
def write_rows(tmp_path: Path) -> Callable[..., Path]:
    """Write rows of cells as a CSV log; the columns are the keys of the first row."""

    def write(rows: list[Cells], *, name: str = "log.csv", delimiter: str = ",", encoding: str = "utf-8") -> Path:
        lines = [delimiter.join(rows[0]), *(delimiter.join(str(cell) for cell in row.values()) for row in rows)]
        path = tmp_path / name
        path.write_text("\n".join(lines) + "\n", encoding=encoding)
        return path

    return write


@pytest.fixture
def plain_rows() -> Callable[..., list[dict[str, object]]]:
    """Rows of a steady straight drive: 5 m/s northward, 0.2 s apart, a 24 m boom, every unit in its header."""

    def rows(count: int = 60) -> list[dict[str, object]]:
        return [
            {
                "time (s)": f"{0.2 * i:.1f}",
                "distance (m)": 1.0,
                "swath width (m)": 24.0,
                "applied rate (L/ha)": 100 + (i % 3),
                "target rate (L/ha)": 100,
                "lon": 10.0,
                "lat": f"{50 + i * 8.99322e-6:.9f}",
            }
            for i in range(count)
        ]

    return rows


@pytest.fixture
def section_rows() -> Callable[..., list[dict[str, object]]]:
    """The same drive as one row per section: three sections of 6, 12 and 6 m."""

    def rows(count: int = 60, names: tuple[str, ...] = ("1", "2", "3")) -> list[dict[str, object]]:
        return [
            {
                "iso time": f"2031-05-01T10:00:{0.2 * i:06.3f}Z",
                "section": name,
                "distance (ft)": "3.28084",
                "width (m)": width,
                "applied rate (gal/ac)": 10,
                "target rate (gal/ac)": 10,
            }
            for i in range(count)
            for name, width in zip(names, (6, 12, 6), strict=True)
        ]

    return rows
