"""The exact steady replay of one set-up over a log: what every instant would have got.

A controller in steady state delivers ``clip(demand, floor, ceiling)``, all per metre of active boom [m2/s]. Held means
the demand lies in the set-up's window ``[held_low, held_high]``, which may be narrower than floor to ceiling (a droplet
class ends before the pump does). Two readings of "the same field again":

* `ReplayMode.SAME_SPEED`: the operator drives the logged speeds; demand = rate x speed.
* `ReplayMode.SAME_FLOW`: the operator holds the logged boom flow; the speed becomes demand / rate.

Nothing here remembers the instant before (controller lag, valve delay), so shares equal those of the ledger's bracket.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Any, Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import OutOfRange
from wetrun.fieldlog.tally import FEW_ROWS
from wetrun.fieldlog.trace import CM_PER_M, FloatArray, IntArray, Trace, usable, whole_cm, whole_cm2
from wetrun.units import (
    METRE,
    METRE_PER_SECOND,
    SQUARE_CENTIMETRE,
    SQUARE_METRE_PER_SECOND,
    Cm2,
    Frac,
    M3pm2,
    Mps,
    Ratio,
)

METHOD: Final = "steady replay"
METHOD_NUMBER: Final = 1

BELOW: Final = -1
HELD: Final = 0
ABOVE: Final = 1
LEFT_OUT: Final = 2


class ReplayMode(StrEnum):
    """What the operator keeps when the same field is driven again."""

    SAME_SPEED = "same speed"
    SAME_FLOW = "same boom flow"


@dataclass(frozen=True, slots=True)
class SteadySetup:
    """What a set-up can deliver at each active width, per metre of that width; arrays are [levels].

    ``rate_m3pm2`` replaces the log's own target; None keeps it. ``label_ratio`` is the label's greatest rate over the
    one wanted, ``gain_ratio`` delivered over demanded flow between floor and ceiling (1 where flow is metered). Outside
    ``speed_low_mps`` to ``speed_high_mps`` (shut-off, a label's highest speed) nothing counts as held.
    """

    levels_m: Annotated[FloatArray, METRE]
    floor_m2ps: Annotated[FloatArray, SQUARE_METRE_PER_SECOND]
    ceiling_m2ps: Annotated[FloatArray, SQUARE_METRE_PER_SECOND]
    held_low_m2ps: Annotated[FloatArray, SQUARE_METRE_PER_SECOND]
    held_high_m2ps: Annotated[FloatArray, SQUARE_METRE_PER_SECOND]
    rate_m3pm2: M3pm2 | None = None
    label_ratio: Ratio | None = None
    gain_ratio: Ratio = 1.0
    speed_low_mps: Mps = 0.0
    speed_high_mps: Mps = float("inf")

    @property
    def any_speed(self) -> bool:
        """Whether no speed is ruled out as such."""
        return self.speed_low_mps <= 0.0 and self.speed_high_mps == float("inf")


@dataclass(frozen=True, slots=True)
class ReplayResult:
    """What every instant got, and the areas by active width level [cm2].

    ``ratio`` [instants] is delivered / wanted (nan where left out), ``code`` BELOW, HELD, ABOVE or LEFT_OUT.
    """

    mode: ReplayMode
    ratio: FloatArray
    code: npt.NDArray[np.int8]
    instant_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    levels_m: Annotated[FloatArray, METRE]
    held_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    below_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    above_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    over_label_cm2: Annotated[IntArray, SQUARE_CENTIMETRE]
    left_out_cm2: Cm2
    method: str = METHOD
    method_number: int = METHOD_NUMBER

    @property
    def total_cm2(self) -> Cm2:
        """Area replayed [cm2]."""
        return int(self.held_cm2.sum() + self.below_cm2.sum() + self.above_cm2.sum())

    def within(self, tolerance_frac: Frac) -> Frac:
        """Return the share of area [frac] that got the wanted rate within the tolerance [ratio]; nan for no area."""
        good = np.abs(self.ratio - 1) <= tolerance_frac
        return int(self.instant_cm2[good].sum()) / self.total_cm2 if self.total_cm2 else float("nan")


def replay(trace: Trace, setup: SteadySetup, mode: ReplayMode) -> ReplayResult:
    """Return what the set-up would have delivered over the log.

    Raises
    ------
    OutOfRange
        When the log has an active width the set-up says nothing about.
    """
    wanted, demand, counted = demands(trace, setup, mode)
    area_cm2 = whole_cm2(trace.area_m2)
    level = levels_of(trace.width_m[counted], setup.levels_m)
    asked = demand[counted]
    speed_mps = None if setup.any_speed else asked / wanted[counted]
    ratio, code = _delivered(asked, level, setup, speed_mps)
    areas = replay_areas(asked, area_cm2[counted], level, setup, speed_mps=speed_mps)
    return ReplayResult(
        mode=mode,
        ratio=_spread(counted, ratio, np.nan),
        code=_spread(counted, code, LEFT_OUT).astype(np.int8),
        instant_cm2=np.where(counted, area_cm2, 0),
        levels_m=setup.levels_m,
        below_cm2=areas[:, 0],
        held_cm2=areas[:, 1],
        above_cm2=areas[:, 2],
        over_label_cm2=areas[:, 3],
        left_out_cm2=int(area_cm2[~counted].sum()),
    )


def demands(
    trace: Trace, setup: SteadySetup, mode: ReplayMode
) -> tuple[FloatArray, Annotated[FloatArray, SQUARE_METRE_PER_SECOND], npt.NDArray[np.bool_]]:
    """Return the wanted rate of every instant, the flow per metre of active boom it asks [m2/s], and which count."""
    wanted = _wanted_rate(trace, setup)
    demand = trace.speed_mps * wanted if mode is ReplayMode.SAME_SPEED else _logged_flow(trace)
    return wanted, demand, usable(trace) & np.isfinite(demand) & (demand > 0)


def width_levels(trace: Trace) -> Annotated[FloatArray, METRE]:
    """Return the distinct active widths [levels] [m] a replay of this trace will ask about, in whole centimetres."""
    return np.unique(whole_cm(trace.width_m[usable(trace)])) / CM_PER_M


def levels_of(width_m: Annotated[FloatArray, METRE], levels_m: Annotated[FloatArray, METRE]) -> IntArray:
    """Return the index of each active width [m] in the ascending levels [m], compared in whole centimetres.

    Raises
    ------
    OutOfRange
        When a width is not among the levels.
    """
    width_cm, levels_cm = whole_cm(width_m), whole_cm(levels_m)
    level = np.minimum(np.searchsorted(levels_cm, width_cm), max(levels_cm.size - 1, 0)).astype(np.int64)
    strange = np.ones(width_cm.shape, dtype=bool) if not levels_cm.size else levels_cm[level] != width_cm
    if strange.any():
        raise OutOfRange(
            "The log's active width",
            float(width_cm[strange][0]) / CM_PER_M,
            METRE,
            remedy="The set-up must be worked out for every active width of the log (`width_levels`).",
        )
    return level


def replay_areas(
    demand_m2ps: Annotated[FloatArray, SQUARE_METRE_PER_SECOND],
    area_cm2: Annotated[IntArray, SQUARE_CENTIMETRE],
    level: IntArray,
    setup: SteadySetup,
    *,
    speed_mps: Annotated[FloatArray, METRE_PER_SECOND] | None = None,
) -> Annotated[IntArray, SQUARE_CENTIMETRE]:
    """Return areas [levels, 4]: below the window, held, above it, and over the label's greatest rate [cm2].

    Millions of rows go through the compiled kernel, fewer through NumPy; both give the same bits. Speeds are asked for
    only where the set-up rules some out.

    Parameters
    ----------
    demand_m2ps
        Flow wanted per metre of active width at each instant [instants] [m2/s].
    area_cm2
        Area of each instant [instants] [cm2].
    level
        Width level of each instant [instants].
    setup
        What can be delivered and what counts as held.
    speed_mps
        Ground speed at each instant [instants] [m/s], or None.
    """
    if demand_m2ps.size > FEW_ROWS and speed_mps is None:
        from wetrun.fieldlog.kernels import replayed_areas

        return replayed_areas(demand_m2ps, area_cm2, level, setup)
    ratio, code = _delivered(demand_m2ps, level, setup, speed_mps)
    chosen = (code == BELOW, code == HELD, code == ABOVE, ratio > label_limit(setup))
    areas = np.zeros((setup.levels_m.size, len(chosen)), dtype=np.int64)
    for column, mask in enumerate(chosen):
        np.add.at(areas[:, column], level[mask], area_cm2[mask])
    return areas


def label_limit(setup: SteadySetup) -> float:
    """Return the label's greatest rate over the wanted one, inf where the set-up states none."""
    return float("inf") if setup.label_ratio is None else setup.label_ratio


def _wanted_rate(trace: Trace, setup: SteadySetup) -> FloatArray:
    if setup.rate_m3pm2 is None:
        return trace.target_m3pm2
    return np.full(trace.time_s.shape, setup.rate_m3pm2)


def _logged_flow(trace: Trace) -> FloatArray:
    """Flow per metre of active width that was put out; the target stands in where no applied rate was logged."""
    applied = trace.applied_m3pm2
    rate: FloatArray = np.where(np.isfinite(applied), applied, trace.target_m3pm2)
    return rate * trace.speed_mps


def _delivered(
    demand: FloatArray, level: IntArray, setup: SteadySetup, speed: FloatArray | None
) -> tuple[FloatArray, IntArray]:
    delivered = np.clip(setup.gain_ratio * demand, setup.floor_m2ps[level], setup.ceiling_m2ps[level])
    below, above = demand < setup.held_low_m2ps[level], demand > setup.held_high_m2ps[level]
    if speed is not None:
        below, above = below | (speed < setup.speed_low_mps), above | (speed > setup.speed_high_mps)
    code = np.where(below, BELOW, np.where(above, ABOVE, HELD))
    with np.errstate(over="ignore"):  # next to standing still the floor is infinitely much
        return delivered / demand, code.astype(np.int64)


def _spread(counted: npt.NDArray[np.bool_], values: npt.NDArray[Any], fill: float) -> npt.NDArray[Any]:
    """Return the values back at their instants, with ``fill`` where an instant was left out."""
    spread = np.full(counted.shape, fill, dtype=values.dtype)
    spread[counted] = values
    return spread
