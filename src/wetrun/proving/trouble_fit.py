"""Holds what was read against nothing wrong, and against each cause alone: least squares in standard deviations."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import exp, log, sqrt
from typing import Final

import numpy as np
from scipy.special import chdtri

from wetrun.proving.covariance import FloatArray
from wetrun.proving.gross_error import ALARM_FRAC, global_limit, sidak_limit
from wetrun.proving.trouble_model import NOISE, Cause, Model, World, as_read, is_numeric, start_of, told
from wetrun.proving.trouble_seen import Look

FREED: Final = 30.0
"""Standard deviation, as a logarithm, of a cause that is let go: any size will do."""
TIED: Final = 1e-3
"""Standard deviation of what the machine's own arithmetic ties together."""
NO_PULSE: Final = 1e-5
ROUNDS: Final = 40
STEP: Final = 1e-6
SETTLED: Final = 1e-4
"""Fall of the misfit after which another round would change nothing that is told."""
LONGEST: Final = 0.7
"""Longest step of one round, as a logarithm, so that a far cause does not throw the search out of the machine."""

ONLY_UP: Final = frozenset({Cause.PLUMBING})
ONLY_DOWN: Final = frozenset({Cause.FEED})


@dataclass(frozen=True)
class Fit:
    """The machine as it would stand with one cause, or none.

    Attributes
    ----------
    model : Model
        Machine and readings.
    cause : Cause or None
        What was let go.
    point : array
        The parameters.
    misfit : float
        Sum of squares in standard deviations.
    """

    model: Model
    cause: Cause | None
    point: FloatArray
    misfit: float

    @property
    def world(self) -> World:
        """Where the machine would stand."""
        return self.model.world(self.point)

    @property
    def size(self) -> float:
        """How far off the cause's number would be, less its usual; a ratio less one, or a share of a pressure."""
        if self.cause is None:
            return 0.0
        off = self.world.off[self.cause] - self.model.usual[self.cause][0]
        return off if self.cause in {Cause.PLUMBING, Cause.SENSOR} else exp(off) - 1.0

    @property
    def expanded(self) -> float:
        """Half width that covers the size with 95 %, in its own terms."""
        if self.cause is None:
            return 0.0
        at = 3 + self.model.causes.index(self.cause)
        slope = 1.0 if self.cause in {Cause.PLUMBING, Cause.SENSOR} else 1.0 + self.size
        return 2.0 * slope * sqrt(float(self.covariance[at, at]))

    @property
    def can_be(self) -> bool:
        """Whether the cause would go a way that it can go: hoses lose more, a feed gives less."""
        return not ((self.cause in ONLY_UP and self.size <= 0.0) or (self.cause in ONLY_DOWN and self.size >= 0.0))

    @cached_property
    def jacobian(self) -> FloatArray:
        """Slopes of every row, readings first."""
        return _jacobian(lambda point: rows(self.model, point, self.cause), self.point)

    @cached_property
    def covariance(self) -> FloatArray:
        """Covariance of the parameters; great where nothing tells one."""
        information = self.jacobian.T @ self.jacobian
        return np.asarray(np.linalg.pinv(information + np.eye(len(self.point)) / FREED**2, hermitian=True))

    def told_by(self, look: Look) -> tuple[float, float]:
        """Return what a look would read, and the standard uncertainty of that before it is taken.

        Parameters
        ----------
        look : Look
            One that the model works out.

        Returns
        -------
        tuple of float
            As `told`, and its standard uncertainty.
        """
        slope = _jacobian(lambda point: np.array([told(self.model, look, self.model.world(point))]), self.point)[0]
        return told(self.model, look, self.world), sqrt(float(slope @ self.covariance @ slope))

    def rate(self) -> tuple[float, float]:
        """Return the rate put down [m3/m2] and its relative standard uncertainty."""
        slope = _jacobian(lambda point: np.array([self.model.true_rate(self.model.world(point))]), self.point)[0]
        return exp(self.model.true_rate(self.world)), sqrt(float(slope @ self.covariance @ slope))


def rows(model: Model, point: FloatArray, cause: Cause | None) -> FloatArray:
    """Return what a point leaves over, in standard deviations: readings, what the rate set asks for, usual spreads.

    Parameters
    ----------
    model : Model
        Machine and readings.
    point : array
        Parameters.
    cause : Cause or None
        Let go.

    Returns
    -------
    array
        One for each reading and each parameter with a spread.
    """
    world = model.world(point)
    found = [
        (told(model, look, world) - as_read(look, value, world.tip_pa)) / NOISE[look]
        for look, value in model.seen.readings()
        if is_numeric(look)
    ]
    if model.held is not None:
        asked = log(model.held.expected_m3pm2) + world.off[Cause.CONTROL]
        found.append((model.rate_shown(world) - asked) / TIED)
    if model.machine.setup.pulse is None:
        found.append(world.duty / NO_PULSE)
    for each in model.causes:
        middle, standard = model.usual[each]
        found.append((world.off[each] - middle) / (FREED if each is cause else standard))
    return np.array(found)


def fitted(model: Model, cause: Cause | None = None, *, near: FloatArray | None = None) -> Fit:
    """Return the machine as it would stand with a cause alone.

    Parameters
    ----------
    model : Model
        Machine and readings.
    cause : Cause or None
        What is let go; None for nothing wrong.
    near : array or None
        Where to begin; None for what was read.

    Returns
    -------
    Fit
        At the least sum of squares; what nothing tells stays near where it began.

    Notes
    -----
    Gauss and Newton's steps, cut short where they would leave the machine; the misfit never grows.

    References
    ----------
    narasimhan-mah-1987
    """
    point = start_of(model) if near is None else near
    left = rows(model, point, cause)
    for _ in range(ROUNDS):
        slopes = _jacobian(lambda at: rows(model, at, cause), point)
        step: FloatArray = np.linalg.lstsq(slopes, -left, rcond=1e-9)[0].astype(np.float64)
        step *= min(1.0, LONGEST / max(float(np.max(np.abs(step))), 1e-300))
        moved, left_there = _shortened(model, (point, left), step, cause)
        done = float(left @ left) - float(left_there @ left_there) < SETTLED
        point, left = moved, left_there
        if done:
            break
    return Fit(model, cause, point, float(left @ left))


def _shortened(
    model: Model, here: tuple[FloatArray, FloatArray], step: FloatArray, cause: Cause | None
) -> tuple[FloatArray, FloatArray]:
    point, left = here
    for _ in range(12):
        there = rows(model, point + step, cause)
        if float(there @ there) <= float(left @ left):
            return point + step, there
        step = step / 2.0
    return here


def _jacobian(function: Callable[[FloatArray], FloatArray], point: FloatArray) -> FloatArray:
    here = function(point)
    return np.array([(function(point + STEP * way) - here) / STEP for way in np.eye(len(point))]).T


def redundancy(model: Model) -> int:
    """Return how many relations stand between the readings: as many as could disagree.

    Parameters
    ----------
    model : Model
        Machine and readings.

    Returns
    -------
    int
        Readings, less the free numbers that they tell.
    """
    count = sum(is_numeric(look) for look, _ in model.seen.readings()) + (model.held is not None)
    point = start_of(model)
    slopes = _jacobian(lambda at: rows(model, at, None), point)[:count, :3]
    if model.machine.setup.pulse is None:
        slopes = slopes[:, :2]
    return count - int(np.linalg.matrix_rank(slopes, tol=1e-6)) if count else 0


def alarmed(nothing: Fit, alone: Sequence[Fit], relations: int) -> bool:
    """Return whether something is wrong: the readings disagree as a whole, or one cause would explain a great deal.

    Parameters
    ----------
    nothing : Fit
        With nothing wrong.
    alone : sequence of Fit
        With each cause alone.
    relations : int
        As `redundancy` has it.

    Returns
    -------
    bool
        False alarms are shared out in halves between both tests, and cried once in twenty honest machines at most.

    References
    ----------
    narasimhan-mah-1987, mah-tamhane-1982
    """
    if not relations:
        return False
    greatest = max((nothing.misfit - fit.misfit for fit in alone), default=0.0)
    one = sidak_limit(max(len(alone), 1), ALARM_FRAC / 2.0)
    return nothing.misfit > limit_of(relations) or greatest > one**2


def limit_of(relations: int) -> float:
    """Return the misfit that honest readings pass once in forty times; infinite where nothing can disagree."""
    return global_limit(relations, ALARM_FRAC / 2.0) if relations else float("inf")


def left_limit(relations: int) -> float:
    """Return the misfit that a cause may leave: honest readings leave more once in a hundred times."""
    return float(chdtri(relations - 1, 0.01)) if relations > 1 else 1.0
