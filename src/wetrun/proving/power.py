"""Expected power of a cross-check, worked out before any water runs: how often a fault would be seen, and named.

The residuals that a fault leaves are worked out without noise, and how they bend with each error. Errors are normal
with the planned uncertainties, and what the run would know of those is an estimate with each cause's degrees of
freedom. Both are spread evenly (Sobol points, scrambled once and for all), and the very lines that judge one wet run
judge all of them. Two runs give the same figure to the last digit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import exp, log

import numpy as np
from scipy.special import chdtri, ndtri
from scipy.stats.qmc import Sobol

from wetrun.proving.choice import Residuals, chosen
from wetrun.proving.covariance import FloatArray
from wetrun.proving.crosscheck import alarm_shares
from wetrun.proving.curvature import residual_bends
from wetrun.proving.faults import Fault
from wetrun.proving.gross_error import ALARM_FRAC
from wetrun.proving.identify import Scene, scene_of
from wetrun.proving.identity import Screen
from wetrun.proving.instruments import Truth, shown
from wetrun.proving.outcome import Power, Screens, counted, mean_power
from wetrun.proving.redundant import Reading, Rig
from wetrun.proving.reference import Causes, direction_chance
from wetrun.units import Frac

POINTS_LOG2 = 14
"""Two to this power are the points; the figures then stand within about half a point. Twelve do for a first look."""

BLOCK = 4096
"""Runs judged at once: bounds the memory, changes no figure."""


SCRAMBLE = 1
"""Always the same: plain Sobol points lie too regularly in a hundred dimensions."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What is going to be read, and how sure.

    Attributes
    ----------
    rig : Rig
        The machine.
    readings : tuple of Reading
        Values are not looked at; budgets are relative to them.
    truth : Truth
        How the machine is going to run.
    screen : Screen or None
        What a right monitor would show, if it is going to be read.
    """

    rig: Rig
    readings: tuple[Reading, ...]
    truth: Truth
    screen: Screen | None = None


def readings_shown(plan: Plan, faults: Sequence[tuple[Fault, float]]) -> tuple[Reading, ...]:
    """Return the planned readings as they would come out without any noise.

    Parameters
    ----------
    plan : Plan
        What is read.
    faults : sequence of (Fault, float)
        What is wrong, and how much.

    Returns
    -------
    tuple of Reading
        With budgets in proportion.
    """
    logs = shown(plan.rig, plan.readings, plan.truth, faults)
    return tuple(
        replace(reading, value=exp(value), budget=reading.budget.scaled(exp(value) / reading.value))
        for reading, value in zip(plan.readings, logs, strict=True)
    )


def expected_power(
    plan: Plan,
    faults: Sequence[tuple[Fault, float]],
    *,
    width_off: float = 0.0,
    alarm_frac: Frac = ALARM_FRAC,
    points_log2: int = POINTS_LOG2,
) -> Power:
    """Return how often a fault, or a pair, would be seen and named.

    Parameters
    ----------
    plan : Plan
        What is going to be read.
    faults : sequence of (Fault, float)
        Faults of instruments and of the machine, with their sizes.
    width_off : float
        Relative error of the width in the monitor.
    alarm_frac : float
        False alarms allowed in all [frac].
    points_log2 : int
        Two to this power are the points.

    Returns
    -------
    Power
        Shares of runs.

    References
    ----------
    sobol-points
    """
    scene = scene_of(plan.rig, readings_shown(plan, faults))
    bends = residual_bends(scene, plan.truth, faults)
    share, own = alarm_shares(alarm_frac, screen=plan.screen is not None)
    even = _even_points(2 * len(scene.causes.freedoms) + 5, points_log2)
    named = [fault for fault, _ in faults]
    found = []
    for block in np.array_split(even, max(len(even) // BLOCK, 1)):
        runs = _runs(scene, bends, block)
        chances = np.ones(len(block)) if plan.screen is None else _screen_chances(plan.screen, width_off, block[:, -5:])
        screens = Screens(chances, own, width_off != 0.0)
        found.append(counted(scene, runs, chosen(runs, share), screens=screens, faults=named))
    return mean_power(found)


@lru_cache(maxsize=4)
def _even_points(columns: int, points_log2: int) -> FloatArray:
    """Points spread evenly inside the unit cube."""
    return np.asarray(Sobol(columns, rng=SCRAMBLE).random_base2(points_log2))


def _told(freedoms: FloatArray, even: FloatArray) -> FloatArray:
    """Variance that a run would estimate over the true one, of each cause: chi-square over its degrees of freedom."""
    told = np.ones_like(even)
    finite = np.isfinite(freedoms)
    told[:, finite] = chdtri(freedoms[finite], 1.0 - even[:, finite]) / freedoms[finite]
    return told


def _runs(scene: Scene, bends: FloatArray, even: FloatArray) -> Residuals:
    """Many runs, each in the coordinates that its own estimate of the covariance makes white."""
    relations, groups = scene.directions.shape
    count = len(scene.causes.freedoms)
    errors, told = ndtri(even[:, :count]), _told(scene.causes.freedoms, even[:, count : 2 * count])
    pushes = scene.causes.pushes[None] * np.sqrt(told)[:, None, :]
    residuals = scene.residuals + errors @ scene.causes.pushes.T + errors**2 @ bends.T
    factor = np.linalg.cholesky(np.einsum("nrc,nsc->nrs", pushes, pushes, optimize=True))
    directions = np.broadcast_to(scene.directions, (len(errors), relations, groups))
    white = np.linalg.solve(factor, np.concatenate((residuals[:, :, None], directions, pushes), axis=2))
    imprints = white[:, :, 1 : groups + 1]
    imprints = imprints / np.linalg.norm(imprints, axis=1, keepdims=True)
    return Residuals(white[:, :, 0], imprints, *scene.ways, Causes(white[:, :, groups + 1 :], scene.causes.freedoms))


def _screen_chances(screen: Screen, width_off: float, even: FloatArray) -> FloatArray:
    """Chance that an honest screen would stand so far off, in many runs, the last digits falling anywhere."""
    halves = [
        log(1.0 + 0.5 * step / value)
        for step, value in (
            (screen.rate_step_m3pm2, screen.rate_m3pm2),
            (screen.speed_step_mps, screen.speed_mps),
            (screen.flow_step_m3s, screen.flow_m3s),
        )
    ]
    tape, freedom = screen.tape.combined / screen.width_m, screen.tape.freedom
    shift = (2.0 * even[:, 2:] - 1.0) @ np.array(halves) + tape * ndtri(even[:, 0])
    known = tape * np.sqrt(_told(np.array([freedom]), even[:, 1:2])[:, 0])
    outside = np.maximum(np.abs(log(1.0 + width_off) + shift) - sum(halves), 0.0)
    return np.asarray(direction_chance((outside / known) ** 2, freedom))
