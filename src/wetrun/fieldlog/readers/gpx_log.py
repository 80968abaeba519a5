"""GPX 1.0 and 1.1: the tracks of satellite receivers, one log for each segment, read as a stream.

Only time, place, speed and course of track points are read; names, descriptions, heights and links never reach an
object of ours. Routes and waypoints have no way in them and are passed over, which is told.

References
----------
gpx-1.1
"""

from __future__ import annotations

import re
from typing import Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.column_table import NamedColumn
from wetrun.fieldlog.readers.found import FoundLogs
from wetrun.fieldlog.readers.gpx_points import GpxPoints, points_in
from wetrun.fieldlog.readers.receiver_track import ReceiverTrack, logs_of_receiver
from wetrun.fieldlog.readers.record_facts import gap_over_ms
from wetrun.fieldlog.readers.request import PLAIN_REQUEST, ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.trace import Doubt, FloatArray, IntArray, Repair

FORMAT: Final = "GPX track"
FIRST_BYTES: Final = 4096
ROOT: Final = re.compile(rb"<(?:[\w.-]+:)?gpx[\s>/]")
MOST_PARTS: Final = 200


def sniff(file: SentFile) -> bool:
    """Return whether a file begins as GPX does, whatever its namespace and encoding."""
    head = file.head(FIRST_BYTES).replace(b"\0", b"")
    return ROOT.search(head) is not None


def read(file: SentFile, request: ReadRequest = PLAIN_REQUEST) -> FoundLogs:
    """Return one log for each segment of each track.

    Raises
    ------
    LogRefused
        When there is no track in it, or what there is cannot be read.
    InputProblems
        When the mapping names columns a track does not have.
    """
    points = points_in(file, request)
    if not points.count:
        raise _no_track(file, points)
    kept, part, names, repairs = _parts(points)
    columns = {name: np.frombuffer(values, dtype=np.float64)[kept] for name, values in points.columns.items()}
    time_s = points.times[kept]
    track = ReceiverTrack(
        file=file.name, format=FORMAT, time_s=time_s, clock=points.clock, columns=_named(columns),
        part=part, part_names=names, repairs=repairs,
        of_file=(*_passed_over(points), *points.doubts), no_time=_why_no_time(points),
    )  # fmt: skip
    return logs_of_receiver(track, request)


def _named(columns: dict[str, FloatArray]) -> tuple[NamedColumn, ...]:
    """Return the columns of a track: GPX 1.0 itself states the speed in m/s, an extension may be in any unit."""
    named = [
        NamedColumn("lon", columns["lon"], "deg", "longitude"),
        NamedColumn("lat", columns["lat"], "deg", "latitude"),
    ]
    stated, extended = columns["speed"], columns["extension speed"]
    if np.isfinite(stated).any():
        named.append(NamedColumn("speed", stated, "m/s", "speed"))
    elif np.isfinite(extended).any():
        named.append(NamedColumn("speed", extended, "", "speed"))
    if np.isfinite(columns["course"]).any():
        named.append(NamedColumn("course", columns["course"], "deg", "heading"))
    return tuple(named)


def _parts(points: GpxPoints) -> tuple[IntArray, IntArray, tuple[str, ...], tuple[Repair, ...]]:
    """Return which points are kept, the part of each, the parts' names, and what was left out.

    Segments are never joined. Those of one track that lie a gap of the clock apart are cut there in any case, so they
    stay in one log; each of the others is a part of its own. A receiver that lost its fix over and over writes
    thousands of them: the longest are kept.
    """
    lengths = np.array(points.lengths, dtype=np.int64)
    filled = np.flatnonzero(lengths)
    first = np.cumsum(lengths[filled]) - lengths[filled]
    fresh = _begins_part(points, np.array(points.tracks, dtype=np.int64)[filled], first)
    part = np.repeat(np.cumsum(fresh) - 1, lengths[filled])
    sizes = np.bincount(part)
    longest = np.sort(np.argsort(-sizes, kind="stable")[:MOST_PARTS])
    kept = np.flatnonzero(np.isin(part, longest))
    words = f"points of short segments were left out: over {MOST_PARTS} segments, the longest are read"
    repairs = (Repair("short segment", part.size - kept.size, 0.0, words),) if kept.size < part.size else ()
    tracks = [points.tracks[segment] for segment in filled[fresh]]
    return kept, np.searchsorted(longest, part[kept]), _part_names(tracks, longest), repairs


def _begins_part(points: GpxPoints, tracks: IntArray, first: IntArray) -> npt.NDArray[np.bool_]:
    """Return which segments begin a part: a new track, or no gap of the clock since the segment before."""
    time_ms = np.where(np.isfinite(points.times), np.rint(points.times * 1000), 0.0)
    step_ms = time_ms[first[1:]] - time_ms[first[1:] - 1]
    timed = np.isfinite(points.times[first[1:]]) & np.isfinite(points.times[first[1:] - 1])
    parted = timed & (step_ms > gap_over_ms(time_ms[np.isfinite(points.times)]))
    return np.concatenate([[True], (np.diff(tracks) != 0) | ~parted])


def _part_names(tracks: list[int], kept: IntArray) -> tuple[str, ...]:
    """Return the names of the kept parts: the track's number, and the part's within it where there are several."""
    within: dict[int, list[int]] = {}
    for part, track in enumerate(tracks):
        within.setdefault(track, []).append(part)
    names = {
        part: str(track) if len(parts) == 1 else f"{track}.{nth}"
        for track, parts in within.items()
        for nth, part in enumerate(parts, start=1)
    }
    return tuple(names[part] for part in kept.tolist())


def _passed_over(points: GpxPoints) -> tuple[Doubt, ...]:
    told = {
        "waypoints are passed over: they have no way": points.waypoints,
        "points of routes are passed over: they are planned, not driven": points.route_points,
    }
    return tuple(Doubt(f"{count:,} {words}", "Nothing to do") for words, count in told.items() if count)


def _why_no_time(points: GpxPoints) -> str:
    if points.odd_time:
        return f"its times, such as “{points.odd_time[:40]}”, are no dates known here, so there is no speed"
    return "its points tell no time, so there is no speed"


def _no_track(file: SentFile, points: GpxPoints) -> LogRefused:
    holds = f"{points.waypoints} waypoints and {points.route_points} points of routes, and no track"
    remedy = "Export the track: the way that was recorded"
    return LogRefused(file.name, place="", reason=f"it holds {holds}", remedy=remedy)
