"""How much of a pass a tip set holds, why the rest is lost, and what is put down above a label's maximum."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

import numpy as np
from numpy.typing import NDArray

from wetrun.fieldlog.ledger import Tally
from wetrun.planning.evidence import Evidence
from wetrun.planning.label_limits import PassLimits
from wetrun.planning.reasons import Ends, Lost, lost_by_limit
from wetrun.planning.window import Trial, limit_curves, over_label_below_m3s
from wetrun.spray.flow_window import flow_edges, rate_is_off
from wetrun.spray.limits import FlowArray
from wetrun.units import METRE, Frac, M, M3pm2, Mps

FloatArray = NDArray[np.float64]
LengthArray = Annotated[FloatArray, METRE]


class Reading(StrEnum):
    """What the operator is taken to keep when the same field is driven again."""

    SAME_SPEED = "same speed"
    SAME_FLOW = "same boom flow"


@dataclass(frozen=True, slots=True)
class Share:
    """A share of area, as a bracket that contains the exact steady replay's.

    Attributes
    ----------
    lower_frac, upper_frac : float
        The bracket [frac].
    """

    lower_frac: Frac
    upper_frac: Frac


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """What one tip set does for one pass under one reading.

    Attributes
    ----------
    reading : Reading
        Same speed or same boom flow.
    rate_m3pm2 : float
        Target rate judged [m3/m2].
    held : Share
        Area on target, in pressure range and droplet class.
    lost : tuple of Lost
        The rest, by limit, largest first.
    over_label : Share or None
        Area above a label's maximum because of the controller's floor; None if no maximum was typed.
    """

    reading: Reading
    rate_m3pm2: M3pm2
    held: Share
    lost: tuple[Lost, ...]
    over_label: Share | None


def readings_owed(evidence: Evidence, rate_m3pm2: M3pm2) -> tuple[Reading, ...]:
    """Return the readings a plan must show: one, or two for a log driven at another rate.

    Parameters
    ----------
    evidence : Evidence
        Speeds of the pass.
    rate_m3pm2 : float
        Planned rate [m3/m2].

    Returns
    -------
    tuple of Reading
        Same speed always; same boom flow where the log's rate differs.
    """
    both = evidence.driven_at_other_rate(rate_m3pm2)
    return (Reading.SAME_SPEED, Reading.SAME_FLOW) if both else (Reading.SAME_SPEED,)


def tally_for(evidence: Evidence, reading: Reading) -> Tally:
    """Return the tally a reading is judged on.

    Parameters
    ----------
    evidence : Evidence
        Speeds of the pass.
    reading : Reading
        Same speed or same boom flow.

    Returns
    -------
    Tally
        Of ground speed, or of flow per metre of active boom.
    """
    if reading is Reading.SAME_FLOW and evidence.flow_per_width is not None:
        return evidence.flow_per_width
    return evidence.speed


def thresholds(flows_m3s: FlowArray, spacing_m: M | LengthArray, rate_m3pm2: M3pm2, reading: Reading) -> FloatArray:
    """Return flows of one tip in the variable a reading is tallied in: speed, or flow per metre of boom.

    Parameters
    ----------
    flows_m3s : ndarray
        Flow of one tip [m3/s].
    spacing_m : float or ndarray
        Width one tip answers for [m].
    rate_m3pm2 : float
        Target rate [m3/m2].
    reading : Reading
        Same speed or same boom flow.

    Returns
    -------
    ndarray
        Same shape as the flows.
    """
    per_width = flows_m3s / spacing_m
    return per_width if reading is Reading.SAME_FLOW else per_width / rate_m3pm2


def speed_cap(limits: PassLimits, rate_m3pm2: M3pm2, reading: Reading) -> float:
    """Return the label's highest speed in the variable a reading is tallied in; infinite if there is none.

    Parameters
    ----------
    limits : PassLimits
        What the products leave.
    rate_m3pm2 : float
        Target rate [m3/m2].
    reading : Reading
        Same speed or same boom flow.

    Returns
    -------
    float
        Threshold.
    """
    if limits.speed_high_mps is None:
        return float("inf")
    return limits.speed_high_mps * (rate_m3pm2 if reading is Reading.SAME_FLOW else 1.0)


def held_shares(tally: Tally, ends: Ends) -> tuple[FloatArray, FloatArray]:
    """Return the bracket of the share held, by one tip set or by many at once.

    Parameters
    ----------
    tally : Tally
        What the reading is tallied in.
    ends : Ends
        Thresholds in the tally's variable.

    Returns
    -------
    tuple of ndarray
        Lower and upper share, shape () or (sets,).
    """
    lower, upper = tally.area_within(np.maximum(ends.low, ends.off_below), np.minimum(ends.high, ends.cap))
    total = max(tally.total_cm2, 1)
    return lower / total, upper / total


def judge(trial: Trial, evidence: Evidence, *, rate_m3pm2: M3pm2, reading: Reading, off_below_mps: Mps) -> Judgement:
    """Return what one tip set does for one pass under one reading, with the reasons.

    Parameters
    ----------
    trial : Trial
        The tip set and the pass.
    evidence : Evidence
        Speeds of the pass.
    rate_m3pm2 : float
        Target rate [m3/m2].
    reading : Reading
        Same speed or same boom flow.
    off_below_mps : float
        Speed below which the machine shuts off [m/s]; 0 if it does not.

    Returns
    -------
    Judgement
        Shares of the area of the evidence.
    """
    tally = tally_for(evidence, reading)
    on_fracs = tally.levels_m / evidence.full_width_m
    curves = limit_curves(trial, on_fracs)
    edges = flow_edges(curves, on_fracs.size, trial.tolerance(rate_m3pm2), trial.setup.gain_ratio)

    def turned(flows_m3s: FloatArray) -> FloatArray:
        return thresholds(flows_m3s, trial.tip_set.spacing_m, rate_m3pm2, reading)

    ends = Ends(
        low=turned(edges.low_m3s),
        high=turned(edges.high_m3s),
        cap=speed_cap(trial.limits, rate_m3pm2, reading),
        off_below=off_below_mps * (rate_m3pm2 if reading is Reading.SAME_FLOW else 1.0),
    )
    lower, upper = held_shares(tally, ends)
    over = None
    if trial.limits.label_ratio is not None:
        below = over_label_below_m3s(edges.floor_m3s, edges.ceiling_m3s, trial)
        over = _over_label(tally, turned(below), ends.off_below)
    held = Share(float(lower), float(upper))
    off = bool(rate_is_off(trial.setup.gain_ratio, trial.tolerance(rate_m3pm2)))
    return Judgement(
        reading=reading,
        rate_m3pm2=rate_m3pm2,
        held=held,
        lost=lost_by_limit(tally, curves, ends, off=off),
        over_label=over,
    )


def _over_label(tally: Tally, below: FloatArray, off_below: float) -> Share:
    just_below = np.where(np.isinf(below), np.inf, np.nextafter(below, 0.0))
    lower, upper = tally.area_within(np.full_like(below, off_below), just_below)
    total = max(tally.total_cm2, 1)
    return Share(float(lower) / total, float(upper) / total)
