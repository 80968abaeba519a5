"""The boom as it is plumbed: sections of line with their tips, behind valve, hose and strainer; and its description.

`wetrun.spray.boom_flow` solves it; `wetrun.spray.boom_loss` boils it down to what a plan needs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Annotated, Final, TypeVar

import numpy as np

from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.bounds import FloatArray, check_not_negative, check_positive
from wetrun.spray.friction import Pipe
from wetrun.spray.orifice import FlowLaw
from wetrun.spray.pipe_tree import IndexArray, PipeTree
from wetrun.units import CUBIC_METRE_PER_SECOND, LOSS_COEFFICIENT, METRE, M, M3s, Paps2m6

Thing = TypeVar("Thing", Pipe, FlowLaw)

_HAIR: Final = 1e-9
_LOSS_REMEDY: Final = "Work it out from two gauges read at one flow; a loss is never negative."


@dataclass(frozen=True, slots=True)
class Hose:
    """A hose of one bore.

    Attributes
    ----------
    pipe : Pipe
        Bore and roughness.
    length_m : float
        Length [m].
    """

    pipe: Pipe
    length_m: M

    def __post_init__(self) -> None:
        check_not_negative("length of the hose", self.length_m, METRE, remedy="Enter its length by tape.")


class Feed(StrEnum):
    """Where the hose meets the line of a section."""

    LEFT = "left end"
    MIDDLE = "middle"
    RIGHT = "right end"


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionLine:
    """One section: a straight line of pipe with evenly spaced positions, and what feeds it.

    Attributes
    ----------
    laws : tuple of FlowLaw or None
        The tip at each position, left to right; None where there is none, or it is shut.
    spacing_m : float
        Distance between positions [m].
    pipe : Pipe
        Bore and roughness of the line.
    feed : Feed
        Where the hose meets the line.
    at_m : float or None
        Where the hose meets the line, from the first position to the right [m], if it is none of the feeds named.
    lead_m : float
        Pipe from the feed to the first position, if fed at an end [m].
    hose : Hose or None
        The hose that leads to the section; None if it is part of the loss at the inlet, or costs nothing.
    inlet_paps2m6 : float
        Loss of section valve and strainer (and of the hose, if it is not given) per section flow squared, on water
        [Pa s2/m6].
    is_open : bool
        Whether its valve is open.
    """

    laws: tuple[FlowLaw | None, ...]
    spacing_m: M
    pipe: Pipe
    feed: Feed = Feed.MIDDLE
    at_m: M | None = None
    lead_m: M = 0.0
    hose: Hose | None = None
    inlet_paps2m6: Paps2m6 = 0.0
    is_open: bool = True

    def __post_init__(self) -> None:
        if not self.laws:
            raise NotDefined("section line", reason="it has no position", remedy="Enter the positions per section.")
        check_positive("spacing", self.spacing_m, METRE, remedy="Enter the distance between positions.")
        check_not_negative("pipe from the feed", self.lead_m, METRE, remedy="Enter 0 for a feed at the first tip.")
        check_not_negative("loss into the section", self.inlet_paps2m6, LOSS_COEFFICIENT, remedy=_LOSS_REMEDY)
        if self.at_m is not None and not 0.0 <= self.at_m <= self.length_m * (1.0 + _HAIR):
            remedy = "Measure from the section's first tip to where the hose meets the line."
            raise OutOfRange("place of the feed", self.at_m, METRE, low=0.0, high=self.length_m, remedy=remedy)

    @property
    def length_m(self) -> M:
        """From its first to its last position [m]."""
        return (len(self.laws) - 1) * self.spacing_m

    @property
    def feed_m(self) -> M:
        """Where it is fed, from its first position and positive to the right [m]."""
        if self.at_m is not None:
            return self.at_m
        ends = {Feed.LEFT: -self.lead_m, Feed.MIDDLE: self.length_m / 2.0, Feed.RIGHT: self.length_m + self.lead_m}
        return ends[self.feed]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlumbedBoom:
    """All sections behind one cab sensor.

    Attributes
    ----------
    sections : tuple of SectionLine
        Left to right.
    main_hose : Hose or None
        From the sensor to where the sections part; None if it is part of the loss there, or costs nothing.
    main_paps2m6 : float
        Loss of the boom valve (and of the main hose, if it is not given) per boom flow squared, on water [Pa s2/m6].
    body_paps2m6 : float
        Loss of one nozzle body (strainer, check valve, solenoid) per tip flow squared, on water [Pa s2/m6].
    passing_m3s : float
        Flow that passes the sensor and the main hose and returns to the tank [m3/s].

    Notes
    -----
    A section fed at both ends at once, or a line that returns from its far end to the tank, is no tree and is left
    out; so are height and the pressure regained as flow slows along a line (`boom_flow` says how much that is).
    """

    sections: tuple[SectionLine, ...]
    main_hose: Hose | None = None
    main_paps2m6: Paps2m6 = 0.0
    body_paps2m6: Paps2m6 = 0.0
    passing_m3s: M3s = 0.0

    def __post_init__(self) -> None:
        check_not_negative("loss of the main hose", self.main_paps2m6, LOSS_COEFFICIENT, remedy=_LOSS_REMEDY)
        check_not_negative("loss of a nozzle body", self.body_paps2m6, LOSS_COEFFICIENT, remedy=_LOSS_REMEDY)
        remedy = "Enter what returns to the tank as an amount."
        check_not_negative("flow that returns", self.passing_m3s, CUBIC_METRE_PER_SECOND, remedy=remedy)

    @property
    def positions(self) -> int:
        """Positions on the whole boom, with and without tips."""
        return sum(len(section.laws) for section in self.sections)

    @property
    def section_of(self) -> IndexArray:
        """Section of each position, 0 at the left; shape (positions,)."""
        return np.repeat(np.arange(len(self.sections)), [len(section.laws) for section in self.sections])

    @property
    def spraying(self) -> IndexArray:
        """Positions that spray, 0 at the left: a tip in an open section."""
        sprays = [law is not None and section.is_open for section in self.sections for law in section.laws]
        return np.flatnonzero(sprays)

    def with_open(self, sections: Sequence[int]) -> PlumbedBoom:
        """Return the boom with just some sections open.

        Parameters
        ----------
        sections : sequence of int
            Sections to open, 0 at the left; all others are shut.

        Returns
        -------
        PlumbedBoom
            A copy.
        """
        switched = (replace(section, is_open=n in sections) for n, section in enumerate(self.sections))
        return replace(self, sections=tuple(switched))


def pipe_tree(boom: PlumbedBoom) -> PipeTree:
    """Return the boom as a tree: the main hose, an inlet for each section, and a stretch of line for each position.

    Parameters
    ----------
    boom : PlumbedBoom
        Sections and losses.

    Returns
    -------
    PipeTree
        Its stretches in that order, its tips the spraying positions left to right.

    References
    ----------
    darcy-weisbach, minor-loss-quadratic
    """
    count, sections, spraying = boom.positions, boom.sections, boom.spraying
    inlets = (boom.section_of == np.arange(len(sections))[:, None]).astype(np.float64)
    lines = np.zeros((count, count))
    for n in range(len(sections)):
        members = np.flatnonzero(boom.section_of == n)
        lines[np.ix_(members, members)] = _beyond(sections[n])
    reach = np.vstack([np.ones((1, count)), inlets, lines])[:, spraying]
    hoses = (boom.main_hose, *(section.hose for section in sections))
    coefs = [boom.main_paps2m6, *(section.inlet_paps2m6 for section in sections)]
    line_pipes = [section.pipe for section in sections for _ in section.laws]
    return PipeTree(
        reach,
        np.concatenate([[0.0 if hose is None else hose.length_m for hose in hoses], *map(stretch_lengths_m, sections)]),
        np.concatenate([coefs, np.zeros(count)]),
        np.concatenate([[boom.passing_m3s], np.zeros(len(reach) - 1)]),
        _grouped([*(None if hose is None else hose.pipe for hose in hoses), *line_pipes]),
        _grouped(_laws(boom)),
        boom.body_paps2m6,
    )


def stretch_lengths_m(section: SectionLine) -> Annotated[FloatArray, METRE]:
    """Return the pipe that leads to each position from its neighbour on the side of the feed, or from the feed.

    Parameters
    ----------
    section : SectionLine
        One section.

    Returns
    -------
    ndarray
        Lengths [m], shape (positions,).

    Example
    -------
    >>> from wetrun.spray.orifice import law_of_iso_size
    >>> section = SectionLine(laws=(law_of_iso_size("03"),) * 4, spacing_m=0.5, pipe=Pipe(0.0191))
    >>> stretch_lengths_m(section).tolist()
    [0.5, 0.25, 0.25, 0.5]
    """
    places, feed_m = _places(section)
    right_of = np.concatenate([[-np.inf], places[:-1]])
    left_of = np.concatenate([places[1:], [np.inf]])
    from_left = places - np.maximum(right_of, feed_m)
    from_right = np.minimum(left_of, feed_m) - places
    lengths: FloatArray = np.where(places >= feed_m, from_left, from_right)
    return lengths


def _places(section: SectionLine) -> tuple[FloatArray, M]:
    places: FloatArray = np.arange(len(section.laws), dtype=np.float64) * section.spacing_m
    return places, section.feed_m


def _beyond(section: SectionLine) -> FloatArray:
    """1 where the stretch of a position (row) lies on the way from the feed to another (column)."""
    places, feed_m = _places(section)
    to_the_right = (places[:, None] >= feed_m) & (places >= places[:, None])
    to_the_left = (places[:, None] < feed_m) & (places <= places[:, None])
    beyond: FloatArray = (to_the_right | to_the_left).astype(np.float64)
    return beyond


def _laws(boom: PlumbedBoom) -> list[FlowLaw | None]:
    laws = [law for section in boom.sections for law in section.laws]
    return [laws[position] for position in boom.spraying]


def _grouped(things: Sequence[Thing | None]) -> tuple[tuple[Thing, IndexArray], ...]:
    """Equal things once, each with where it stands; None stands nowhere."""
    found: dict[Thing, list[int]] = {}
    for place, thing in enumerate(things):
        if thing is not None:
            found.setdefault(thing, []).append(place)
    return tuple((thing, np.array(places)) for thing, places in found.items())
