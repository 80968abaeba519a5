"""What a suspicion explains: how great the fault would be, how sure, and what it leaves unexplained."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp

import numpy as np

from wetrun.proving.budget import COVERAGE_FRAC
from wetrun.proving.faults import Fault, FaultKind
from wetrun.proving.identify import FAR, Scene
from wetrun.proving.instruments import Truth, shown, truth_told
from wetrun.proving.redundant import Kind
from wetrun.proving.reference import (
    Causes,
    coverage_factor,
    direction_chance,
    direction_freedom,
    matched_freedom,
    statistic_chance,
)
from wetrun.units import Frac

NOTHING = 1e-3
"""Standard deviations that nobody would notice."""

ALL: Frac = 0.999
"""As good as all of it."""


@dataclass(frozen=True, slots=True)
class SizedFault:
    """A fault and how great it would have to be.

    Attributes
    ----------
    fault : Fault
        What.
    size : float
        How much, in `fault.unit`.
    expanded : float
        Half width that covers it with 95 %, in the same unit.
    """

    fault: Fault
    size: float
    expanded: float


@dataclass(frozen=True, slots=True)
class Explanation:
    """Faults that explain the misfit equally well; several if these readings cannot tell them apart.

    Attributes
    ----------
    faults : tuple of SizedFault
        One, or several that are tied.
    gain : float
        What the global statistic loses if it is let in.
    chance_frac : float
        How often honest readings would offer as much [frac].
    left_frac : float
        How often honest readings would leave as much as is left with it [frac]: below the false-alarm rate it is not
        enough.
    """

    faults: tuple[SizedFault, ...]
    gain: float
    chance_frac: Frac
    left_frac: Frac

    @property
    def tied(self) -> bool:
        """Whether these readings cannot tell which."""
        return len(self.faults) > 1


def explained(scene: Scene, names: Sequence[int]) -> list[Explanation]:
    """Return some groups, let in together, surest first; without those that would have to go a way they cannot.

    Parameters
    ----------
    scene : Scene
        Reconciled readings.
    names : sequence of int
        Places of the groups.

    Returns
    -------
    list of Explanation
        With sizes that hold if all of them are let in.
    """
    if not names:
        return []
    directions = scene.directions[:, list(names)]
    inverse = np.linalg.inv(directions.T @ directions)
    amounts = inverse @ (directions.T @ scene.residuals)
    left = left_chance(scene, names)
    spreads = np.sqrt(np.diag(inverse))
    gains = (amounts / spreads) ** 2
    found = [
        _explanation(scene, name, float(amounts[n]), (float(gains[n]), float(spreads[n]), left))
        for n, name in enumerate(names)
    ]
    return sorted((e for e in found if e.faults), key=lambda explanation: -explanation.gain)


def alone(scene: Scene) -> list[Explanation]:
    """Return each group as the only thing wrong, best first.

    Parameters
    ----------
    scene : Scene
        Reconciled readings.

    Returns
    -------
    list of Explanation
        Those that can go the way they would have to.
    """
    each = [explained(scene, [n]) for n in range(len(scene.groups))]
    return sorted((e for found in each for e in found), key=lambda explanation: -explanation.gain)


def _explanation(scene: Scene, place: int, amount: float, how: tuple[float, float, Frac]) -> Explanation:
    gain, spread, left_frac = how
    freedom = float(direction_freedom(scene.causes, scene.directions[:, place : place + 1])[0])
    factor = float(coverage_factor(freedom, COVERAGE_FRAC)) * spread
    return Explanation(
        faults=tuple(
            SizedFault(fault, _size(scene, fault, amount / length), factor / abs(length))
            for fault, length in scene.groups[place].possible(amount)
        ),
        gain=gain,
        chance_frac=float(direction_chance(gain, freedom)),
        left_frac=left_frac,
    )


def _size(scene: Scene, fault: Fault, size: float) -> float:
    """Take a size along the tangent and find the one that the machine's own curve gives for the same imprint."""
    truth = truth_told(scene.rig, scene.readings, scene.points)
    tangent = size * scene.imprints[:, scene.faults.index(fault)]
    wanted = float(tangent @ tangent)
    if wanted < NOTHING**2:
        return size  # too short a step for the curve to differ from its tangent
    gauged = any(reading.kind is Kind.GAUGE for reading in scene.readings)
    least, most = _ends(truth, fault, gauged=gauged)
    # The tangent is that of a logarithm, so the curve of a mere factor is known.
    found = size if fault.kind is FaultKind.SENSOR else exp(min(size, FAR)) - 1.0
    for _ in range(4):
        found = min(max(found, least), most)
        base = truth
        if fault.kind is FaultKind.SENSOR and not gauged:
            # The pressures first taken for true came from the sensor under suspicion.
            base = truth.shifted(-found)
        moved = shown(scene.rig, scene.readings, base, [(fault, found)]) - shown(scene.rig, scene.readings, base)
        along = float(tangent @ scene.whitened(moved))
        if along <= 0.0:
            break  # so far out that the curve has turned: the size at the end of what can be
        found *= wanted / along
    return min(max(found, least), most)


def _ends(truth: Truth, fault: Fault, *, gauged: bool) -> tuple[float, float]:
    """Least and greatest size that leaves something to read."""
    if fault.kind is not FaultKind.SENSOR:
        return -ALL, exp(FAR)
    lowest, highest = min(truth.tip_pa.values()), max(truth.tip_pa.values())
    return (-ALL * lowest if gauged else -exp(FAR) * highest), exp(FAR) * highest


def left_chance(scene: Scene, names: Sequence[int]) -> Frac:
    """Return how often honest readings would leave as much [frac] as is left once some groups are let in.

    Parameters
    ----------
    scene : Scene
        Reconciled readings.
    names : sequence of int
        Places of the groups.

    Returns
    -------
    float
        Between 0 and 1 [frac]; 1 if nothing is left to disagree.
    """
    relations = scene.found.redundancy - len(names)
    if relations < 1:
        return 1.0
    directions = np.linalg.qr(scene.directions[:, list(names)])[0]
    left = scene.residuals - directions @ (directions.T @ scene.residuals)
    pushes = scene.causes.pushes - directions @ (directions.T @ scene.causes.pushes)
    shares = Causes(pushes, scene.causes.freedoms).shares
    return statistic_chance(float(left @ left), relations, matched_freedom(shares, scene.causes.freedoms, relations))
