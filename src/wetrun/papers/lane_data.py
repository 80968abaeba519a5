"""What a speed lane shows, as plain numbers in the reader's unit, and the same as a table."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from wetrun.papers.segments import Segment


class ZoneKind(StrEnum):
    """What a stretch of a lane is, besides held."""

    SLOW = "too slow"
    FAST = "too fast"
    NEAR = "within tolerance"
    UNDECIDED = "undecided"
    UNUSABLE = "not usable"


@dataclass(frozen=True, slots=True)
class Zone:
    """A stretch of a lane that is not held.

    Attributes
    ----------
    kind : ZoneKind
        Why.
    start, end : float
        Speeds in the reader's unit.
    words : str
        The limit that closes the window there.
    """

    kind: ZoneKind
    start: float
    end: float
    words: str


@dataclass(frozen=True, slots=True)
class Mark:
    """A speed that matters to the operator.

    Attributes
    ----------
    sign : str
        One letter, drawn on the lane.
    at : float
        Speed in the reader's unit.
    words, short : str
        What happens below it, in full and for the picture.
    """

    sign: str
    at: float
    words: str
    short: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """One tip set over ground speed.

    Attributes
    ----------
    name, size : str
        The tip's words, and its size for the swatch.
    segments : tuple of Segment
        The window by droplet class.
    zones : tuple of Zone
        Everything beside it.
    marks : tuple of Mark
        Minimum hold, label's maximum.
    captions : tuple of str
        Both ends in words.
    chosen : bool
        Whether this set is the plan's.
    """

    name: str
    size: str
    segments: tuple[Segment, ...]
    zones: tuple[Zone, ...]
    marks: tuple[Mark, ...]
    captions: tuple[str, ...]
    chosen: bool


@dataclass(frozen=True, slots=True)
class Bar:
    """Share of the pass's area driven from one speed to another, in the reader's unit."""

    start: float
    end: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """Everything one speed-lane picture shows.

    Attributes
    ----------
    ident, title : str
        Pass, and a title that says what is seen.
    unit : str
        Unit of the speed axis.
    top, step : float
        End of the axis and distance of its ticks.
    lanes : tuple of Lane
        The plan's set first.
    bars : tuple of Bar
        The field's own tally.
    tally_words : str
        Where the tally comes from.
    """

    ident: str
    title: str
    unit: str
    top: float
    step: float
    lanes: tuple[Lane, ...]
    bars: tuple[Bar, ...]
    tally_words: str


def lane_rows(picture: Picture) -> tuple[tuple[str, str, str, str], ...]:
    """Return the picture as a table: tip set, from, to, what – for readers who do not see it.

    Parameters
    ----------
    picture : Picture
        The picture.

    Returns
    -------
    tuple of rows
        Every stretch and mark of every lane, speeds in the picture's unit.
    """
    rows: list[tuple[str, str, str, str]] = []
    for lane in picture.lanes:
        stretches = [(zone.start, zone.end, f"{zone.kind}: {zone.words}".rstrip(": ")) for zone in lane.zones]
        stretches += [(part.start, part.end, f"held, droplets {part.letters}") for part in lane.segments]
        rows += [(lane.name, f"{start:.1f}", f"{end:.1f}", what) for start, end, what in sorted(stretches)]
        rows += [(lane.name, "0.0", f"{mark.at:.1f}", f"{mark.sign}: {mark.words}") for mark in lane.marks]
    return tuple(rows)
