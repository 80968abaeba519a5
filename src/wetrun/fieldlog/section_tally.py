"""Area under the sections by rate error and droplet class, and per instant what was off and why."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Final

import numpy as np
import numpy.typing as npt

from wetrun.fieldlog.boom_sections import BoomSections
from wetrun.fieldlog.exact_records import ExactResult
from wetrun.fieldlog.section_rates import MOST_RATIO, SectionChunk, section_chunks
from wetrun.fieldlog.trace import FloatArray, IntArray
from wetrun.spray.response import Response
from wetrun.units import FRACTION, SQUARE_CENTIMETRE, Cm2, Frac, Ratio

# A bin is centred on zero: nobody's rate is exactly right, and an edge there would split what is good.
ERROR_EDGES: Final[Annotated[tuple[float, ...], FRACTION]] = (0.025, 0.05, 0.1, 0.2)
BINS: Final = 2 * len(ERROR_EDGES) + 1
CENTRE: Final = len(ERROR_EDGES)


class Cause(StrEnum):
    """Why the rate was off, by what moved it most."""

    SLOW = "slower than the set can go down to"
    FAST = "faster than the set can follow"
    GAIN = "flow worked out from pressure is off"
    LAG = "the flow lagged behind a change"
    TURN = "turn"
    SWITCH = "section opened late"


CAUSES: Final = tuple(Cause)


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionTally:
    """Area of every section by rate error, and per instant what was off and why.

    Attributes
    ----------
    error_cm2 : ndarray
        Area by rate error [cm2], shape (9,): the middle one is within ±2.5 %, then to ±5, ±10, ±20 % and beyond.
    within_cm2, off_cm2 : int
        Area within the tolerance, and not [cm2].
    over_label_cm2 : int
        Area above the label's greatest rate [cm2].
    dry_cm2, over_spray_cm2 : int
        Ground that got nothing as a section opened late, and ground sprayed again as one shut late [cm2].
    straight_cm2 : int
        Area taken as straight since its curvature is not known [cm2].
    droplets_cm2 : ndarray
        Wet area by droplet band, then below the tip's range, above it, and not known [cm2], shape (bands + 3,).
    instant_off_cm2 : ndarray
        Area off target of each instant [cm2].
    instant_error, instant_size : ndarray
        Sum of error times area over what was off, signed and by size [instants]; error is a ratio less 1.
    cause : ndarray
        Index into `CAUSES` for instants with anything off, -1 else [instants].
    """

    error_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    within_cm2: Cm2
    off_cm2: Cm2
    over_label_cm2: Cm2
    dry_cm2: Cm2
    over_spray_cm2: Cm2
    straight_cm2: Cm2
    droplets_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    instant_off_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    instant_error: FloatArray
    instant_size: FloatArray
    cause: npt.NDArray[np.int8]

    @property
    def total_cm2(self) -> Cm2:
        """Area told for [cm2]."""
        return int(self.error_cm2.sum())


def error_bins(error: FloatArray) -> IntArray:
    """Return the bin of each rate error (ratio less 1), 0 far too little to 8 far too much; edges belong inward.

    Example
    -------
    >>> error_bins(np.array([-1.0, -0.03, 0.0, 0.05, 0.3])).tolist()
    [0, 3, 4, 5, 8]
    """
    steps = sum((np.abs(error) > edge).astype(np.int64) for edge in ERROR_EDGES)
    return np.asarray(CENTRE + np.where(error < 0, -steps, steps))


def section_tally(
    result: ExactResult,
    boom: BoomSections,
    response: Response,
    *,
    tolerance_frac: Frac,
    label_ratio: Ratio | None = None,
    bands: int = 0,
) -> SectionTally:
    """Return the area of every section by rate error, and what was off where and why.

    Parameters
    ----------
    result
        The replay at the machine's centre.
    boom
        Its sections.
    response
        How long the sections' valves take.
    tolerance_frac
        How far the rate may be off [frac].
    label_ratio
        The label's greatest rate over the one wanted [ratio], or None.
    bands
        How many droplet bands the set-up has.
    """
    counts = _Counts(result, tolerance_frac, float("inf") if label_ratio is None else label_ratio, bands)
    for chunk in section_chunks(result, boom, response):
        counts.add(chunk)
    return counts.tally()


class _Counts:
    """The sums behind a tally."""

    def __init__(self, result: ExactResult, tolerance_frac: Frac, label_ratio: Ratio, bands: int) -> None:
        self.result, self.tolerance, self.label = result, tolerance_frac, label_ratio
        rows = result.ratio.size
        self.errors, self.droplets = np.zeros(BINS, dtype=np.int64), np.zeros(bands + 3, dtype=np.int64)
        self.sums = dict.fromkeys(("within", "off", "label", "dry", "over", "straight"), 0)
        self.off = np.zeros(rows, dtype=np.int64)
        self.error, self.size, self.cause = np.zeros(rows), np.zeros(rows), np.full(rows, -1, dtype=np.int8)

    def add(self, chunk: SectionChunk) -> None:
        """Count some instants."""
        rows, wet_cm2 = chunk.rows, chunk.area_cm2 - chunk.dry_cm2
        # Where a section stands still its ratio has no value, or no end.
        error = np.where(wet_cm2 > 0, np.minimum(chunk.ratio, MOST_RATIO) - 1.0, 0.0)
        self.errors += _summed(error_bins(error), wet_cm2, BINS)
        self.errors[0] += chunk.dry_cm2.sum()
        bad = np.abs(error) > self.tolerance
        off_cm2 = np.where(bad, wet_cm2, 0) + chunk.dry_cm2
        self.off[rows] = off_cm2.sum(axis=1)
        self.error[rows] = (np.where(bad, error, 0.0) * wet_cm2 - chunk.dry_cm2).sum(axis=1)
        self.size[rows] = (np.where(bad, np.abs(error), 0.0) * wet_cm2 + chunk.dry_cm2).sum(axis=1)
        self._cause(chunk, np.where(bad, wet_cm2, 0))
        unknown = ~np.isfinite(self.result.driven.curvature_radpm[rows])
        for name, area in (
            ("within", wet_cm2.sum() - np.where(bad, wet_cm2, 0).sum()),
            ("off", off_cm2.sum()),
            ("label", wet_cm2[error + 1.0 > self.label].sum()),
            ("dry", chunk.dry_cm2.sum()),
            ("over", chunk.over_cm2.sum()),
            ("straight", chunk.area_cm2[unknown].sum()),
        ):
            self.sums[name] += int(area)
        # Negative codes count from the end: not known, above, below.
        places = self.result.droplets[rows].astype(np.int64) % self.droplets.size
        self.droplets += _summed(places, wet_cm2.sum(axis=1), self.droplets.size)

    def _cause(self, chunk: SectionChunk, off_cm2: IntArray) -> None:
        """Note what moved the rate of each instant most, over the ground that was off."""
        rows, result = chunk.rows, self.result
        area = off_cm2.sum(axis=1)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            limit = result.settled_m2ps[rows] / result.demand_m2ps[rows] - 1.0
            lag = result.delivered_m2ps[rows] / result.settled_m2ps[rows] - 1.0
            turn = np.minimum(np.abs(chunk.turn_ratio - 1.0), MOST_RATIO)
        limit, lag = (np.nan_to_num(np.minimum(one, MOST_RATIO)) for one in (limit, lag))
        bound = result.bound[rows] >= 0
        moved = {
            Cause.SLOW: np.where(bound & (limit > 0), limit, 0.0) * area,
            Cause.FAST: np.where(bound & (limit < 0), -limit, 0.0) * area,
            Cause.GAIN: np.where(bound, 0.0, np.abs(limit)) * area,
            Cause.LAG: np.abs(lag) * area,
            Cause.TURN: (turn * off_cm2).sum(axis=1),
            Cause.SWITCH: chunk.dry_cm2.sum(axis=1).astype(np.float64),
        }
        most = np.argmax(np.stack([moved[cause] for cause in CAUSES]), axis=0)
        self.cause[rows] = np.where(self.off[rows] > 0, most, -1)

    def tally(self) -> SectionTally:
        """Return what was counted."""
        below, above, unknown = self.droplets[-1], self.droplets[-2], self.droplets[-3]
        droplets = np.concatenate([self.droplets[:-3], [below, above, unknown]])
        return SectionTally(
            error_cm2=self.errors,
            within_cm2=self.sums["within"],
            off_cm2=self.sums["off"],
            over_label_cm2=self.sums["label"],
            dry_cm2=self.sums["dry"],
            over_spray_cm2=self.sums["over"],
            straight_cm2=self.sums["straight"],
            droplets_cm2=droplets,
            instant_off_cm2=self.off,
            instant_error=self.error,
            instant_size=self.size,
            cause=self.cause,
        )


def _summed(place: IntArray, area_cm2: IntArray, places: int) -> Annotated[IntArray, SQUARE_CENTIMETRE]:
    """Return the area by place [cm2]; whole numbers, exact in a double by far."""
    areas = np.bincount(place.ravel(), weights=area_cm2.ravel().astype(np.float64), minlength=places)
    return np.rint(areas).astype(np.int64)
