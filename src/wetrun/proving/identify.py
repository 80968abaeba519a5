"""What these readings can tell apart: each fault's imprint in the balances, which are parallel and which are none.

Two faults whose imprints are parallel in the metric of the residuals' covariance explain every set of readings equally
well: they are *tied*, and only another reading parts them. That is worked out from the readings taken, before anyone
looks at what they say.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import log
from typing import TypeAlias

import numpy as np
from scipy.linalg import solve_triangular

from wetrun.errors import NotDefined
from wetrun.proving.balances import Quantity, assembled, machine_balances
from wetrun.proving.choice import BoolArray, Residuals, alike_pairs
from wetrun.proving.covariance import FloatArray, lower_factor
from wetrun.proving.fault_group import Group
from wetrun.proving.faults import Fault, possible_faults
from wetrun.proving.instruments import signatures
from wetrun.proving.reconcile import Reconciliation, reconciled
from wetrun.proving.redundant import CauseTable, Reading, Rig, cause_table, log_values
from wetrun.proving.reference import Causes
from wetrun.proving.steady import Point, points_of

UNSEEN = 1e-6
"""An imprint shorter than this share of its signature, both in standard deviations, is none: nothing sees it."""

PARALLEL = 1e-6
"""One less the likeness of two imprints below which they are parallel: a fault of 100 standard deviations would show
0.15 of one between them."""

FAR = log(1e6)
"""Shift of a logarithm, from bar typed as pascal and beyond, with which no machine was read."""


@dataclass(frozen=True)
class Scene:
    """Readings reconciled, and every fault's imprint in what is left of the balances.

    Attributes
    ----------
    rig : Rig
        The machine.
    readings : tuple of Reading
        As taken.
    points : tuple of Point
        Steady pressures.
    quantities : tuple
        What the unmeasured columns stand for.
    found : Reconciliation
        In logarithms.
    table : CauseTable
        Causes of error of the readings.
    faults : tuple of Fault
        Everything that may be wrong.
    signatures : array, (readings, faults)
        Shift of each logarithm per unit of each fault.
    """

    rig: Rig
    readings: tuple[Reading, ...]
    points: tuple[Point, ...]
    quantities: tuple[Quantity, ...]
    found: Reconciliation
    table: CauseTable
    faults: tuple[Fault, ...]
    signatures: FloatArray

    @cached_property
    def _whitener(self) -> FloatArray:
        """Turns shifts of the readings into whitened residuals."""
        found = self.found
        if not found.redundancy:
            return np.zeros((0, len(found.readings)))
        return np.asarray(solve_triangular(lower_factor(found.residual_covariance), found.coefficients, lower=True))

    def whitened(self, shifts: FloatArray) -> FloatArray:
        """Return what shifts of the readings do to the balances, in standard deviations.

        Parameters
        ----------
        shifts : array, (readings, ...)
            Of the logarithms.

        Returns
        -------
        array, (relations, ...)
            In coordinates in which the residuals' covariance is the unit matrix.
        """
        return self._whitener @ shifts

    @cached_property
    def residuals(self) -> FloatArray:
        """What the readings leave of the balances, whitened."""
        # Reconciled readings satisfy the balances, so the adjustments leave the same residuals as the readings.
        return self.whitened(self.found.adjustments)

    @cached_property
    def causes(self) -> Causes:
        """Every cause of error in the same coordinates."""
        return Causes(self.whitened(self.table.effects), self.table.freedoms)

    @cached_property
    def imprints(self) -> FloatArray:
        """Trace of each fault per unit of its size."""
        return self.whitened(self.signatures)

    @cached_property
    def visible(self) -> BoolArray:
        """Whether these readings can see each fault at all."""
        spread = np.sqrt(np.diag(self.found.covariance))
        alone = np.linalg.norm(self.signatures / spread[:, None], axis=0)
        return np.asarray(np.linalg.norm(self.imprints, axis=0) > UNSEEN * np.maximum(alone, 1.0))

    @property
    def unseen(self) -> tuple[Fault, ...]:
        """Faults that leave every balance between these readings as it was."""
        return tuple(fault for fault, seen in zip(self.faults, self.visible, strict=True) if not seen)

    @cached_property
    def groups(self) -> tuple[Group, ...]:
        """The visible faults, tied ones together."""
        places = np.flatnonzero(self.visible)
        lengths = np.linalg.norm(self.imprints[:, places], axis=0)
        units = self.imprints[:, places] / lengths
        likeness = units.T @ units
        left, found = list(range(len(places))), []
        while left:
            alike = [n for n in left if abs(likeness[left[0], n]) > 1.0 - PARALLEL]
            members = tuple(self.faults[places[n]] for n in alike)
            signed = tuple(float(lengths[n] * np.sign(likeness[left[0], n])) for n in alike)
            found.append(Group(members, signed))
            left = [n for n in left if n not in alike]
        return tuple(found)

    @cached_property
    def directions(self) -> FloatArray:
        """Unit imprint of each group."""
        firsts = [self.faults.index(group.faults[0]) for group in self.groups]
        columns = self.imprints[:, firsts]
        return columns / np.linalg.norm(columns, axis=0) if firsts else np.zeros((self.found.redundancy, 0))

    @cached_property
    def ways(self) -> tuple[BoolArray, BoolArray]:
        """Whether any fault of each group can go up along its direction, and down."""
        up, down = (np.array([bool(group.possible(way)) for group in self.groups], dtype=bool) for way in (1.0, -1.0))
        return up, down

    @cached_property
    def as_run(self) -> Residuals:
        """The wet run as one of many."""
        causes = Causes(self.causes.pushes[None], self.causes.freedoms)
        return Residuals(self.residuals[None], self.directions[None], *self.ways, causes)

    def pairs_alike(self, pair: tuple[int, int]) -> tuple[tuple[int, int], ...]:
        """Return the pairs of groups that explain whatever one pair does.

        Parameters
        ----------
        pair : tuple of int
            Places of two groups.

        Returns
        -------
        tuple
            Of pairs of places; empty if these readings can tell.
        """
        return alike_pairs(self.directions, pair, PARALLEL)


Readings: TypeAlias = Sequence[Reading]


def scene_of(rig: Rig, readings: Readings) -> Scene:
    """Return the readings of one wet run reconciled on one machine, with every fault's signature.

    Parameters
    ----------
    rig : Rig
        The machine.
    readings : sequence of Reading
        Any subset of what can be read.

    Returns
    -------
    Scene
        What can be seen and told apart.

    Raises
    ------
    NotDefined
        A reading of a section that the machine has not, or readings too far apart to be of one machine.

    References
    ----------
    narasimhan-mah-1987
    """
    points = points_of(rig, readings)
    balances, quantities = assembled(readings, machine_balances(rig, points))
    table = cause_table(readings)
    _check_near(readings, table.effects)
    found = reconciled(log_values(readings), table.covariance, balances)
    _check_near(readings, found.adjustments)
    faults = possible_faults(rig, readings)
    return Scene(
        rig=rig,
        readings=tuple(readings),
        points=points,
        quantities=quantities,
        found=found,
        table=table,
        faults=faults,
        signatures=signatures(rig, readings, points, faults),
    )


def _check_near(readings: Readings, shifts: FloatArray) -> None:
    """Refuse shifts of logarithms that no unit slip explains: nothing stays straight, or finite, that far out."""
    far = ~(np.abs(shifts).reshape(len(readings), -1).max(axis=1, initial=0.0) < FAR)
    if far.any():
        raise NotDefined(
            "reconciliation of these readings",
            reason=f"{readings[int(np.argmax(far))].words} is more than a million times off, or as unsure",
            remedy="Look at the units of the readings and at their uncertainties.",
        )


def reconciliation_of(rig: Rig, readings: Readings) -> Reconciliation:
    """Return the readings of one wet run reconciled on one machine, without asking what may be wrong.

    Parameters
    ----------
    rig : Rig
        The machine.
    readings : sequence of Reading
        Any subset of what can be read.

    Returns
    -------
    Reconciliation
        In logarithms.
    """
    balances, _ = assembled(readings, machine_balances(rig, points_of(rig, readings)))
    return reconciled(log_values(readings), cause_table(readings).covariance, balances)
