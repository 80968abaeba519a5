"""The boom as a layout by position: most positions carry the set, a few carry something else on purpose."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from wetrun.units import M


class PositionKind(StrEnum):
    """Why a position does not carry the set."""

    BOOM_END = "boom end"
    WHEEL_TRACK = "wheel track"
    CENTRE_RACK = "centre rack"
    DROP = "drop"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class OddPositions:
    """Positions that carry a tip of their own, whatever the set.

    Attributes
    ----------
    kind : PositionKind
        Why.
    positions : tuple of int
        Position numbers, 1 at the left end.
    tip : str
        Ident in the catalogue.
    """

    kind: PositionKind
    positions: tuple[int, ...]
    tip: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Boom:
    """Positions, spacing and sections.

    Attributes
    ----------
    spacing_m : float
        Distance between positions [m], as measured.
    section_tips : tuple of int
        Positions per section, left to right.
    exceptions : tuple of OddPositions
        Positions with a tip of their own.
    body_positions : int
        Tips one nozzle body holds; sets beyond that mean refitting by hand.
    """

    spacing_m: M
    section_tips: tuple[int, ...]
    exceptions: tuple[OddPositions, ...] = ()
    body_positions: int = 1

    @property
    def tips(self) -> int:
        """Positions on the whole boom."""
        return sum(self.section_tips)

    @property
    def width_m(self) -> M:
        """Working width, positions times spacing [m]."""
        return self.tips * self.spacing_m

    @property
    def excepted(self) -> int:
        """Positions that do not carry the set."""
        return sum(len(exception.positions) for exception in self.exceptions)
