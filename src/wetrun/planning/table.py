"""Every tip set tried on one pass: share held, best rate, distance from the middle of the window, refusals."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import isfinite, log, sqrt
from types import MappingProxyType
from typing import Annotated, Final

import numpy as np
from numpy.typing import NDArray

from wetrun.machine.sprayer import Sprayer
from wetrun.planning.evidence import Evidence
from wetrun.planning.judging import Reading, held_shares, readings_owed, speed_cap, tally_for, thresholds
from wetrun.planning.label_limits import PassLimits, combined_limits
from wetrun.planning.passes import Pass
from wetrun.planning.reasons import Ends
from wetrun.planning.tip_set import Refusal, TipSet, hydraulics, refusal
from wetrun.planning.window import Trial, limit_curves
from wetrun.spray.flow_window import Extremes, edges_of, extremes, flow_edges
from wetrun.units import CUBIC_METRE_PER_SQUARE_METRE, FRACTION, Frac, M3pm2, Mps

RATE_STEPS: Final = 9
MIDDLE_STEPS: Final = 1000
FAR_OFF: Final = 5000
"""Distance from the middle, in thousandths of a logarithm, of a window that is empty or a thousandfold away."""

WORTH_MOVING_FRAC: Final[Frac] = 0.01
"""Share of area a rate other than the target must gain to be chosen."""

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class PassTable:
    """One pass against every tip set.

    Attributes
    ----------
    planned : Pass
        The pass.
    limits : PassLimits
        What its products leave.
    evidence : Evidence
        Its speeds.
    trials : tuple of Trial
        One per set.
    refused : tuple of Refusal or None
        One per set; None if it may be used.
    rates_m3pm2 : ndarray
        Best rate of the accepted range for each set [m3/m2], shape (sets,).
    lower_frac, upper_frac : ndarray
        Bracket of the share held [frac], shape (sets,); 0 for refused sets.
    off_middle : ndarray of int
        How far the usual speed lies from the middle of the window, shape (sets,).
    """

    planned: Pass
    limits: PassLimits
    evidence: Evidence
    trials: tuple[Trial, ...]
    refused: tuple[Refusal | None, ...]
    rates_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]
    lower_frac: Annotated[FloatArray, FRACTION]
    upper_frac: Annotated[FloatArray, FRACTION]
    off_middle: IntArray


def pass_table(
    planned: Pass,
    sprayer: Sprayer,
    sets: Sequence[TipSet],
    evidence: Evidence,
    *,
    barred: Mapping[tuple[str, bool], Refusal] = MappingProxyType({}),
) -> PassTable:
    """Return one pass against every tip set.

    Parameters
    ----------
    planned : Pass
        The pass.
    sprayer : Sprayer
        The machine.
    sets : sequence of TipSet
        Candidates.
    evidence : Evidence
        Speeds of the pass.
    barred : mapping of (str, bool) to Refusal
        Sets the season as a whole rules out, by key.

    Returns
    -------
    PassTable
        Where two readings are owed, the share is that of the worse one; of equal rates the one nearest the target.
    """
    limits, usual_mps = combined_limits(planned), evidence.usual_mps
    trials = tuple(Trial(hydraulics(one, sprayer, planned.carrier), one, planned, limits, usual_mps) for one in sets)
    refused = tuple(barred.get(one.key) or refusal(one, planned, limits, sprayer.control.loop) for one in sets)
    tried = np.array([number for number, reason in enumerate(refused) if reason is None], dtype=np.int64)
    rates = np.full(len(sets), planned.rate_m3pm2)
    lower, upper = np.zeros(len(sets)), np.zeros(len(sets))
    off_middle = np.full(len(sets), FAR_OFF, dtype=np.int64)
    if tried.size:
        judged = JudgedSets([trials[number] for number in tried], evidence, sprayer.control.off_below_mps or 0.0)
        best = judged.best(rates_to_try(planned, limits))
        rates[tried], lower[tried], upper[tried], off_middle[tried] = best
    return PassTable(
        planned=planned,
        limits=limits,
        evidence=evidence,
        trials=trials,
        refused=refused,
        rates_m3pm2=rates,
        lower_frac=lower,
        upper_frac=upper,
        off_middle=off_middle,
    )


def rates_to_try(planned: Pass, limits: PassLimits) -> tuple[M3pm2, ...]:
    """Return the rates of the accepted range that are tried, the target first, then nearest to it.

    Parameters
    ----------
    planned : Pass
        The pass.
    limits : PassLimits
        What its products leave.

    Returns
    -------
    tuple of float
        Rates [m3/m2]; only the target where a single rate was typed.
    """
    low, high = limits.rate_low_m3pm2, limits.rate_high_m3pm2
    target = min(max(planned.rate_m3pm2, low), high)
    if not low < high:
        return (target,)
    grid = np.geomspace(low, high, RATE_STEPS).tolist()
    return (target, *sorted(grid, key=lambda rate: abs(log(rate / target))))


class JudgedSets:
    """Windows of many tip sets on one pass, worked out once per reading that is owed, judged at any rate."""

    def __init__(self, trials: Sequence[Trial], evidence: Evidence, off_below_mps: Mps) -> None:
        self._trials, self._evidence, self._off_below_mps = tuple(trials), evidence, off_below_mps
        self._spacing = np.array([[trial.tip_set.spacing_m] for trial in trials])
        self._gain = np.array([[trial.setup.gain_ratio] for trial in trials])
        self._limits: dict[Reading, Extremes] = {}
        whole = [flow_edges(limit_curves(trial, np.ones(1)), 1) for trial in trials]
        self._whole = [(float(edges.low_m3s[0]), float(edges.high_m3s[0])) for edges in whole]

    def held_at(self, rate_m3pm2: M3pm2) -> tuple[FloatArray, FloatArray]:
        """Return the bracket of the share each set holds at a rate; of the readings owed the worse one.

        Parameters
        ----------
        rate_m3pm2 : float
            Target rate [m3/m2].

        Returns
        -------
        tuple of ndarray
            Lower and upper share, shape (sets,).
        """
        shares = [self._shares(rate_m3pm2, reading) for reading in readings_owed(self._evidence, rate_m3pm2)]
        return np.min([share[0] for share in shares], axis=0), np.min([share[1] for share in shares], axis=0)

    def best(self, rates_m3pm2: Sequence[M3pm2]) -> tuple[FloatArray, FloatArray, FloatArray, IntArray]:
        """Return the best of some rates for each set, the bracket held there, and the distance from the middle.

        Parameters
        ----------
        rates_m3pm2 : sequence of float
            Rates, the preferred one first [m3/m2].

        Returns
        -------
        tuple of ndarray
            Rate, lower share, upper share, distance; each of shape (sets,).
        """
        sets = len(self._whole)
        chosen, lower, upper = np.full(sets, rates_m3pm2[0]), np.full(sets, -1.0), np.zeros(sets)
        for rate_m3pm2 in rates_m3pm2:
            least, most = self.held_at(rate_m3pm2)
            better = least > lower + WORTH_MOVING_FRAC
            chosen[better], lower[better], upper[better] = rate_m3pm2, least[better], most[better]
        off = [self._from_middle(at, rate) for at, rate in enumerate(chosen)]
        return chosen, lower, upper, np.array(off, dtype=np.int64)

    def _tightest(self, reading: Reading) -> Extremes:
        """Limits of every set under one reading, worked out when it is first owed."""
        if reading not in self._limits:
            self._limits[reading] = self._worked_out(reading)
        return self._limits[reading]

    def _worked_out(self, reading: Reading) -> Extremes:
        on_fracs = tally_for(self._evidence, reading).levels_m / self._evidence.full_width_m
        found = [extremes(limit_curves(trial, on_fracs), on_fracs.size) for trial in self._trials]
        return Extremes(
            floor_m3s=np.array([one.floor_m3s for one in found]),
            ceiling_m3s=np.array([one.ceiling_m3s for one in found]),
            judged_low_m3s=np.array([one.judged_low_m3s for one in found]),
            judged_high_m3s=np.array([one.judged_high_m3s for one in found]),
        )

    def _shares(self, rate_m3pm2: M3pm2, reading: Reading) -> tuple[FloatArray, FloatArray]:
        trial = self._trials[0]
        edges = edges_of(self._tightest(reading), trial.tolerance(rate_m3pm2), self._gain)
        ends = Ends(
            low=thresholds(edges.low_m3s, self._spacing, rate_m3pm2, reading),
            high=thresholds(edges.high_m3s, self._spacing, rate_m3pm2, reading),
            cap=speed_cap(trial.limits, rate_m3pm2, reading),
            off_below=self._off_below_mps * (rate_m3pm2 if reading is Reading.SAME_FLOW else 1.0),
        )
        return held_shares(tally_for(self._evidence, reading), ends)

    def _from_middle(self, at: int, rate_m3pm2: M3pm2) -> int:
        """Thousandths of a logarithm between the usual speed and the middle of the window, all sections on."""
        low, high = self._whole[at]
        if not (0.0 < low <= high and isfinite(high)):
            return FAR_OFF
        middle_mps = sqrt(low * high) / (rate_m3pm2 * float(self._spacing[at, 0]))
        return min(round(MIDDLE_STEPS * abs(log(self._evidence.usual_mps / middle_mps))), FAR_OFF)
