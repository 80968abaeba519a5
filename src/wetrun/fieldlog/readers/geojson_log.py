"""GeoJSON (RFC 7946): a collection of features, or features on lines of their own; points as a log, polygons as a map.

Features are read one by one; of their properties only those are kept that mean something here, decided on the first
`LEARNED` of them. So a file may be far larger than memory, and names of people or farms are let go at once.

References
----------
rfc-7946
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.column_logs import logs_of_table
from wetrun.fieldlog.readers.column_table import ColumnTable, NamedColumn, roles_of
from wetrun.fieldlog.readers.found import FoundLogs
from wetrun.fieldlog.readers.geojson_places import FeaturePlaces, Place, places_in
from wetrun.fieldlog.readers.json_stream import JsonStream, features_in
from wetrun.fieldlog.readers.map_grid import areas_m2, grid_places
from wetrun.fieldlog.readers.mapping import check_columns_exist
from wetrun.fieldlog.readers.patch_map import map_of_table
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.trace import Doubt, FloatArray, Repair

FORMAT: Final = "GeoJSON"
FIRST_BYTES: Final = 1 << 14
BEGINS: Final = re.compile(rb"(\xef\xbb\xbf)?[\s\x1e]*\{")
SAYS_SO: Final = re.compile(rb'"type"\s*:\s*"(FeatureCollection|Feature|Point|LineString|(Multi)?Polygon|MultiPoint)"')
LEARNED: Final = 2000
MOST_NAMES: Final = 1000
LINE_TIME: Final = "time of the point"
# What an old "crs" member may say that is the one system GeoJSON has now.
SAME_CRS: Final = re.compile(r"CRS84|WGS ?84|EPSG:+4326\b", re.IGNORECASE)

Row = tuple[Place, float | None, str, dict[str, object]]


@dataclass(slots=True)
class _Counts:
    """Features that were not as they should be."""

    several: int = 0
    strange: int = 0
    mixed: int = 0
    late: set[str] = field(default_factory=set)


@dataclass(slots=True)
class _Columns:
    """Rows as they are gathered: places, areas, times of points in lines, and cells by property."""

    names: tuple[str, ...]
    x: list[FloatArray] = field(default_factory=list)
    y: list[FloatArray] = field(default_factory=list)
    area: list[FloatArray] = field(default_factory=list)
    times: list[str] = field(default_factory=list)
    cells: dict[str, list[FloatArray | list[str]]] = field(default_factory=dict)
    rows: int = 0

    def add(self, rows: list[Row]) -> None:
        """Put rows behind those that are there."""
        if not rows:
            return
        places = np.array([place for place, _, _, _ in rows], dtype=np.float64)
        self.x.append(places[:, 0])
        self.y.append(places[:, 1])
        self.area.append(np.array([math.inf if area is None else area for _, area, _, _ in rows]))
        self.times += [time for _, _, time, _ in rows]
        for name in self.names:
            self.cells.setdefault(name, []).append(_cells([properties.get(name) for _, _, _, properties in rows]))
        self.rows += len(rows)


def sniff(file: SentFile) -> bool:
    """Return whether a file begins as GeoJSON does."""
    head = file.head(FIRST_BYTES)
    return BEGINS.match(head) is not None and SAYS_SO.search(head) is not None


def read(file: SentFile, request: ReadRequest = PLAIN_REQUEST) -> FoundLogs:
    """Return the log or the map that a GeoJSON file holds.

    Raises
    ------
    LogRefused
        When the file cannot be used: where, why, and what to do.
    InputProblems
        When the mapping names properties the features do not have.
    """
    about: dict[str, object] = {}
    counts = _Counts()
    with file.open_plain(request.progress) as stream:
        columns = _gathered(file, JsonStream(stream, file=file.name), (about, counts), request)
    if not columns.rows:
        raise LogRefused(file.name, place="", reason="there is no feature in it", remedy="Export the log again")
    return _logs(file, columns, (about, counts), request)


def _gathered(
    file: SentFile, stream: JsonStream, notes: tuple[dict[str, object], _Counts], request: ReadRequest
) -> _Columns:
    about, counts = notes
    columns: _Columns | None = None
    waiting: list[Row] = []
    known: set[str] = set()
    for feature in features_in(stream, about):
        rows = _rows(feature, counts)
        waiting += rows
        if columns is None:
            known.update(*(properties for _, _, _, properties in rows[:1]))
        elif rows:
            counts.late.update(rows[0][3].keys() - known)
        _check_counts(file, stream, (columns.rows if columns else 0) + len(waiting), len(known) + len(counts.late))
        if len(waiting) >= LEARNED:
            columns = columns or _Columns(_meaningful(file, known, request))
            columns.add(waiting)
            waiting = []
    columns = columns or _Columns(_meaningful(file, known, request))
    columns.add(waiting)
    return columns


def _check_counts(file: SentFile, stream: JsonStream, rows: int, names: int) -> None:
    if names > MOST_NAMES:
        raise stream.refused(f"its features have over {MOST_NAMES} different properties")
    file.limits.check_held(rows, "records", file=file.name)


def _rows(feature: dict[str, object], counts: _Counts) -> list[Row]:
    """Return the rows of a feature: one, or one for each point of a line in time."""
    held = feature.get("properties")
    properties: dict[str, object] = held if isinstance(held, dict) else {}
    found: FeaturePlaces = places_in(feature.get("geometry"), properties)
    counts.several += found.several
    counts.strange += found.strange
    times = found.times or ("",) * len(found.places)
    plain = {name: value for name, value in properties.items() if not isinstance(value, list | dict)}
    return [(place, found.area, time, plain) for place, time in zip(found.places, times, strict=True)]


def _meaningful(file: SentFile, names: set[str], request: ReadRequest) -> tuple[str, ...]:
    """Return the properties that mean something here; the others are let go unread."""
    header = tuple(sorted(names))
    if request.mapping:
        check_columns_exist(request.mapping, header, log=file.name)
    empty = tuple(NamedColumn(name, np.zeros(0)) for name in header)
    roles = roles_of(ColumnTable(file.name, FORMAT, 0, empty), request.mapping)
    return tuple(sorted({role.column for role in roles.values()}))


def _cells(values: list[object]) -> FloatArray | list[str]:
    """Return cells as numbers where all of them are, else as texts; nothing and missing are nan."""
    if all(value is None or isinstance(value, float) for value in values):
        return np.array([math.nan if value is None else value for value in values], dtype=np.float64)
    return [_text(value) for value in values]


def _text(value: object) -> str:
    if isinstance(value, float):
        return f"{value:.0f}" if value.is_integer() else repr(value)
    return "" if value is None else str(value)


def _joined(parts: list[FloatArray | list[str]]) -> FloatArray | list[str]:
    arrays = [part for part in parts if isinstance(part, np.ndarray)]
    if len(arrays) == len(parts):
        return np.concatenate(arrays)
    texts: list[str] = []
    for part in parts:
        texts += part if isinstance(part, list) else ["" if math.isnan(one) else _text(one) for one in part.tolist()]
    return texts


def _logs(
    file: SentFile, columns: _Columns, notes: tuple[dict[str, object], _Counts], request: ReadRequest
) -> FoundLogs:
    """Return the log of the points; the map of the patches where there are no points."""
    about, counts = notes
    area = np.concatenate(columns.area)
    x, y = np.concatenate(columns.x), np.concatenate(columns.y)
    points = np.isinf(area)
    is_map = not np.isfinite(x[points]).any() and not points.all()
    kept = ~points if is_map else points
    counts.mixed = int((~kept & np.isfinite(x)).sum())
    stated = grid_places(x[kept], y[kept], None, file=file.name)
    doubts = [*_doubts(about, counts), *(() if stated.on_earth else stated.doubts)]
    cells = [NamedColumn(name, _part(_joined(columns.cells[name]), kept)) for name in columns.names]
    if any(columns.times):
        cells.append(NamedColumn(LINE_TIME, _part(columns.times, kept), meaning="time"))
    words = f"{FORMAT} of {'polygons' if is_map else 'points'}"
    table = ColumnTable(file.name, words, int(kept.sum()), (*cells, *stated.columns), _repairs(counts), tuple(doubts))
    return map_of_table(table, areas_m2(area[kept], stated), request) if is_map else logs_of_table(table, request)


def _part(values: FloatArray | list[str], kept: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> FloatArray | list[str]:
    if isinstance(values, np.ndarray):
        return np.asarray(values[kept])
    return values if kept.all() else [cell for cell, is_kept in zip(values, kept.tolist(), strict=True) if is_kept]


def _repairs(counts: _Counts) -> tuple[Repair, ...]:
    repairs = (
        Repair("several points", counts.several, 0.0, "features of several points were told by their middle"),
        Repair(
            "no place",
            counts.strange,
            0.0,
            "features that are neither points, lines with times nor polygons have no position",
        ),
        Repair(
            "patches and points", counts.mixed, 0.0, "features of the other kind, patches among points, were left out"
        ),
    )
    return tuple(one for one in repairs if one.count)


def _doubts(about: dict[str, object], counts: _Counts) -> list[Doubt]:
    doubts = []
    if counts.late:
        names = ", ".join(sorted(counts.late)[:5])
        words = f"Properties that come up only after the first {LEARNED:,} records were not read: {names[:200]}"
        doubts.append(Doubt(words, "Export the log with all properties on every feature"))
    crs = about.get("crs")
    if crs is not None and not SAME_CRS.search(str(crs)):
        words = (
            f"The file names another map system than GeoJSON has ({_crs_name(crs)}); it was read as degrees of WGS 84"
        )
        doubts.append(Doubt(words, "Export it as GeoJSON of today, in longitude and latitude, if the places are wrong"))
    return doubts


def _crs_name(crs: object) -> str:
    inner = crs.get("properties") if isinstance(crs, dict) else None
    name = inner.get("name") if isinstance(inner, dict) else None
    return str(name if isinstance(name, str) else crs)[:80]
