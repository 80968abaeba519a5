"""How the residuals bend: what an error does beyond its tangent, by the machine run forward along its curves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import exp

import numpy as np

from wetrun.proving.covariance import FloatArray
from wetrun.proving.faults import Fault
from wetrun.proving.identify import Scene, reconciliation_of
from wetrun.proving.instruments import Truth, shown
from wetrun.proving.redundant import Kind

TOLD_BY_FIGURE = (Kind.CHART, Kind.HOSE)
"""Nobody reads these on the day: the figure stays, and it is the machine that differs from it."""


def residual_bends(scene: Scene, truth: Truth, faults: Sequence[tuple[Fault, float]]) -> FloatArray:
    """Return what each cause adds to the residuals with the square of its error.

    Parameters
    ----------
    scene : Scene
        Readings as they would be without noise.
    truth : Truth
        How the machine runs, before any fault.
    faults : sequence of (Fault, float)
        What is wrong, and how much.

    Returns
    -------
    array, (relations, causes)
        Whitened residuals per squared standard deviation of the cause.

    Notes
    -----
    Half of the second difference over one standard deviation to either side. Most errors shift the logarithm of a
    reading and bend nothing; the loss of the hoses, which is added to a pressure, does. Products of two errors are left
    out.
    """
    middle = scene.found.adjustments
    columns = []
    for effects in scene.table.effects.T:
        up, down = (_adjustments(scene, truth, faults, way * effects) for way in (1.0, -1.0))
        columns.append(scene.whitened(0.5 * (up + down) - middle))
    return np.array(columns).reshape(len(columns), scene.found.redundancy).T


def _adjustments(scene: Scene, truth: Truth, faults: Sequence[tuple[Fault, float]], effects: FloatArray) -> FloatArray:
    """What reconciliation changes if the readings are off by some effects on their logarithms."""
    ratios, hose_ratio, shifts = list(truth.section_ratios), truth.hose_ratio, effects.copy()
    for n, reading in enumerate(scene.readings):
        if reading.kind is Kind.CHART:
            ratios[reading.section - 1] *= exp(-effects[n])
        elif reading.kind is Kind.HOSE:
            hose_ratio *= exp(-effects[n])
        if reading.kind in TOLD_BY_FIGURE:
            shifts[n] = 0.0
    moved = replace(truth, section_ratios=tuple(ratios), hose_ratio=hose_ratio)
    values = np.exp(shown(scene.rig, scene.readings, moved, faults) + shifts).tolist()
    readings = [
        replace(reading, value=value, budget=reading.budget.scaled(value / reading.value))
        for reading, value in zip(scene.readings, values, strict=True)
    ]
    return reconciliation_of(scene.rig, readings).adjustments
