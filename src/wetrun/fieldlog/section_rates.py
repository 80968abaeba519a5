"""The rate under every section of the boom: turns and slow valves come in here.

Sections x instants are never held at once: they come in chunks. Areas are whole square centimetres that add up to the
instant's own, so sums have the same bits in any order.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.fieldlog.boom_sections import BoomSections, Mask, swing_ratios, wet_shares
from wetrun.fieldlog.exact_records import ExactResult
from wetrun.fieldlog.trace import CM2_PER_M2, FloatArray, IntArray
from wetrun.spray.response import Response
from wetrun.spray.turn_across import TurnCompensation
from wetrun.units import RATIO, SQUARE_CENTIMETRE

ROWS_PER_CHUNK: Final = 1 << 15
MOST_RATIO: Final = 1000.0


@dataclass(frozen=True, slots=True)
class SectionChunk:
    """Some instants by section; arrays are [rows, sections].

    ``ratio`` is delivered over wanted where the section was wet, ``area_cm2`` what it covered, ``dry_cm2`` the part of
    it that got nothing. ``turn_ratio`` is what the turn alone makes of its rate, after what compensates it [ratio].
    """

    rows: slice
    on: Mask
    ratio: FloatArray
    area_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    dry_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    over_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    turn_ratio: Annotated[FloatArray, RATIO]


def section_chunks(result: ExactResult, boom: BoomSections, response: Response) -> Iterator[SectionChunk]:
    """Yield the rate under every section, some instants at a time.

    Parameters
    ----------
    result
        The replay at the machine's centre.
    boom
        Its sections; one piece leaves turns out.
    response
        How long the sections' valves take.

    Notes
    -----
    Every section passes the same flow per metre, unless the machine compensates turns: then what its own speed asks
    for, as far as the duty reaches. What each got is its flow over its own ground speed. Areas are what the section
    sweeps. A section is one piece: within it nothing differs, also where a machine compensates tip by tip.

    References
    ----------
    turn-geometry
    """
    trace = result.driven
    wet = wet_shares(trace, boom, response)
    for start in range(0, trace.time_s.size, ROWS_PER_CHUNK):
        rows = slice(start, min(start + ROWS_PER_CHUNK, trace.time_s.size))
        on, swing = boom.on(trace, rows), swing_ratios(trace, boom, rows)
        counted = result.instant_cm2[rows] > 0
        area = _areas(np.where(counted, trace.area_m2[rows], 0.0), on * boom.width_m, swing)
        dry, over = np.zeros_like(area), np.zeros_like(area)
        if wet is not None:
            dry = np.where(on, np.rint(area * (1.0 - wet[rows])), 0.0).astype(np.int64)
            way_m = np.where(counted, trace.distance_m[rows], 0.0)[:, np.newaxis]
            over = np.where(on, 0.0, np.rint(way_m * swing * boom.width_m * wet[rows] * CM2_PER_M2)).astype(np.int64)
        flow = _flow_ratios(result, rows, swing)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            ratio = result.ratio[rows][:, np.newaxis] * flow / swing
            turn = flow / swing
        yield SectionChunk(rows, on, ratio, area, dry, over, turn)


def _flow_ratios(result: ExactResult, rows: slice, swing: FloatArray) -> Annotated[float | FloatArray, RATIO]:
    """Return each section's flow over that of the middle."""
    if result.turns is TurnCompensation.NONE:
        return 1.0
    if result.reach_ratio is None:
        return swing
    low, high = (end[rows][:, np.newaxis] for end in result.reach_ratio)
    return np.fmin(np.fmax(swing, low), high)


def _areas(area_m2: FloatArray, width_m: FloatArray, swing: FloatArray) -> IntArray:
    """Share out each instant's area by what its sections sweep, in whole square centimetres that add up."""
    total_m = np.cumsum(width_m, axis=1)
    swept_m = np.cumsum(width_m * swing, axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        reached = np.where(total_m[:, -1:] > 0, swept_m / total_m[:, -1:], 0.0)
    upto = np.rint(area_m2[:, np.newaxis] * reached * CM2_PER_M2).astype(np.int64)
    return np.diff(upto, axis=1, prepend=0)
