"""The track points of a GPX file, read as a stream: memory holds numbers only, however long the file.

Hardened as task data are: no document type, no entity, no endless piece, no deep nesting. A file that breaks off keeps
the points before the break, and says so.
"""

from __future__ import annotations

from array import array
from typing import Annotated, Final, NoReturn
from xml.parsers import expat

import numpy as np

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.clock import Clock, clock_of
from wetrun.fieldlog.readers.column_table import CLOCK_SAMPLE
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.readers.sent_files import SentFile
from wetrun.fieldlog.readers.xml_tags import DEEPEST, HEAD, LONGEST_VALUE, foreign_beginning
from wetrun.fieldlog.trace import Doubt, FloatArray
from wetrun.units import SECOND

BLOCK: Final = 1 << 16
LONGEST_PIECE: Final = 1 << 20
TIMES_PER_BLOCK: Final = 1 << 16
LEAST_POINTS: Final = 2
LEAVES: Final = ("time", "speed", "course")
NOWHERE: Final = float("nan")


class GpxPoints:
    """The points of all tracks in file order: columns of numbers, and the segments they stand in.

    Attributes
    ----------
    columns
        ``lon``, ``lat`` and ``course`` in degrees, ``speed`` and ``extension speed`` as written [points].
    tracks, lengths
        Of each segment, the number of its track and how many points it has.
    """

    def __init__(self) -> None:
        self.columns = {name: array("d") for name in ("lon", "lat", "speed", "extension speed", "course")}
        self.tracks: list[int] = []
        self.lengths: list[int] = []
        self.waypoints = self.route_points = 0
        self.odd_time = ""
        self.doubts: list[Doubt] = []
        self._seconds = array("d")
        self._texts: list[str] = []
        self._clock: Clock | None = None

    @property
    def count(self) -> int:
        """Points read."""
        return len(self.columns["lon"])

    @property
    def clock(self) -> str:
        """How the times are written, empty where none can be read."""
        return self._clock.words if self._clock else ""

    @property
    def times(self) -> Annotated[FloatArray, SECOND]:
        """Clock of each point [points] [s], nan where it has none."""
        return np.frombuffer(self._seconds, dtype=np.float64)

    def add_time(self, text: str) -> None:
        """Take in the time of the next point as written, empty if it has none."""
        self._texts.append(text)
        if len(self._texts) >= TIMES_PER_BLOCK:
            self.read_times()

    def read_times(self) -> None:
        """Turn the times gathered so far into seconds."""
        sample = [text for text in self._texts if text][:CLOCK_SAMPLE]
        self._clock = self._clock or (clock_of(sample, unit="", format_="") if sample else None)
        if sample and not self._clock:
            self.odd_time = self.odd_time or sample[0]
        none = np.full(len(self._texts), np.nan)
        self._seconds.frombytes((self._clock.seconds(self._texts) if self._clock else none).tobytes())
        self._texts.clear()


def points_in(file: SentFile, request: ReadRequest) -> GpxPoints:
    """Return the track points of a GPX file.

    Raises
    ------
    LogRefused
        When it is no XML, holds what no track needs or more than the limits allow, or breaks off before a second point.
    """
    points = GpxPoints()
    walk = _Walk(points, file)
    try:
        with file.open_plain(request.progress) as stream:
            while block := stream.read(BLOCK):
                walk.parser.Parse(block, False)  # noqa: FBT003 - the parser takes no keywords
                walk.check_piece(len(block))
        walk.parser.Parse(b"", True)  # noqa: FBT003
    except expat.ExpatError as fault:
        walk.broken(f"the XML is cut off or damaged ({expat.ErrorString(fault.code)})", f"line {fault.lineno}")
    except (ValueError, LookupError):  # an encoding nobody knows
        walk.broken("the XML is in an unknown encoding", "line 1")
    points.read_times()
    return points


class _Walk:
    """Handlers of the parser: what a track point holds goes into columns, all else is looked through."""

    def __init__(self, points: GpxPoints, file: SentFile) -> None:
        self.points, self.file = points, file
        self.parser = expat.ParserCreate()
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self.opened
        self.parser.EndElementHandler = self.closed
        self.parser.StartDoctypeDeclHandler = self.doctype
        self.parser.EntityDeclHandler = self.doctype
        self.fed = self.depth = self.tracks = 0
        self.point_depth = 0
        self.leaf, self.text = "", ""
        self.told: dict[str, str] = {}

    def opened(self, tag: str, attributes: dict[str, str]) -> None:
        """Enter an element."""
        self.depth += 1
        if self.depth > DEEPEST:
            self.refuse(f"it is nested deeper than {DEEPEST}", "Export the track again")
        name = tag.rpartition(":")[2]
        if self.point_depth:
            if name in LEAVES:
                self.leaf = f"extension {name}" if name == "speed" and self.depth > self.point_depth + 1 else name
                self.text = ""
                self.parser.CharacterDataHandler = self.written
        elif name == "trkpt":
            self.begin_point(attributes)
        elif name in ("trk", "trkseg"):
            self.begin_part(name)
        elif name in ("wpt", "rtept"):
            self.points.waypoints += name == "wpt"
            self.points.route_points += name == "rtept"

    def begin_part(self, name: str) -> None:
        """Begin a track or a segment."""
        if name == "trk":
            self.tracks += 1
            return
        self.file.limits.check_held(len(self.points.lengths) + 1, "segments", file=self.file.name)
        self.points.tracks.append(max(self.tracks, 1))
        self.points.lengths.append(0)

    def begin_point(self, attributes: dict[str, str]) -> None:
        """Begin a track point."""
        self.file.limits.check_held(self.points.count + 1, "points", file=self.file.name)
        if not self.points.lengths:
            self.begin_part("trkseg")
        self.point_depth = self.depth
        east, north = _number(attributes.get("lon", "")), _number(attributes.get("lat", ""))
        self.points.columns["lon"].append(east)
        self.points.columns["lat"].append(north)
        self.points.lengths[-1] += 1
        self.told = {}

    def written(self, text: str) -> None:
        """Take in the text of a time, speed or course."""
        self.text = (self.text + text[:LONGEST_VALUE])[:LONGEST_VALUE]

    def closed(self, _tag: str) -> None:
        """Leave an element."""
        if self.leaf:
            self.told.setdefault(self.leaf, self.text.strip())
            self.leaf = ""
            self.parser.CharacterDataHandler = None
        elif self.depth == self.point_depth:
            self.end_point()
        self.depth -= 1

    def end_point(self) -> None:
        """Put in what a point told besides its place."""
        self.point_depth = 0
        self.points.add_time(self.told.get("time", ""))
        for name in ("speed", "extension speed", "course"):
            self.points.columns[name].append(_number(self.told.get(name, "")))

    def check_piece(self, fed: int) -> None:
        """Refuse a piece that has no end, before it fills the memory."""
        self.fed += fed
        if self.fed - max(self.parser.CurrentByteIndex, 0) > LONGEST_PIECE:
            self.refuse(f"a piece of it is longer than {LONGEST_PIECE >> 20} MiB without an end", "Export it again")

    def doctype(self, *_declaration: object) -> None:
        """Refuse a document type: entities can blow up memory or read other files."""
        self.refuse("it declares a document type or entities, which no track needs", "Get the track from the receiver")

    def broken(self, reason: str, place: str) -> None:
        """Keep the points before a break, or refuse a file that has none."""
        if self.point_depth:
            self.end_point()
        remedy = "Copy the file from the receiver again"
        if self.points.count < LEAST_POINTS:
            reason += foreign_beginning(self.file.head(HEAD))
            raise LogRefused(self.file.name, place=place, reason=reason, remedy=remedy)
        reason = f"{reason[:1].upper()}{reason[1:]}, {place}: only the {self.points.count:,} points before it are read"
        self.points.doubts.append(Doubt(reason, remedy))

    def refuse(self, reason: str, remedy: str) -> NoReturn:
        """Refuse the file at the line the parser has come to."""
        raise LogRefused(self.file.name, place=f"line {self.parser.CurrentLineNumber}", reason=reason, remedy=remedy)


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        return NOWHERE
    return value if abs(value) < float("inf") else NOWHERE
