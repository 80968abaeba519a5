"""Every reading beside what it becomes, and every balance between them: the evidence under a cross-check's sentence."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, expm1

import numpy as np

from wetrun.proving.covariance import FloatArray, lower_factor
from wetrun.proving.gross_error import ALARM_FRAC, measurement_test, nodal_test, sidak_limit
from wetrun.proving.identify import FAR, Scene
from wetrun.proving.redundant import Kind, Reading
from wetrun.units import Frac, Ratio

WEIGHTY = 0.01
"""Weight in a balance from which a reading can be told as checked by the others."""

IN_BALANCE = 1e-6
"""Weight in a balance below which a reading has no part in it."""


@dataclass(frozen=True, slots=True)
class ReadingEvidence:
    """One reading against all others.

    Attributes
    ----------
    reading : Reading
        As taken.
    reconciled : float
        What it becomes when all balances hold, in SI.
    off_ratio : float
        Reading over reconciled, less one [ratio].
    deviate : float
        Its change in its own standard deviations; 0 if nothing checks it.
    limit : float
        Two-sided limit of the deviate, false alarms counted over all readings that are checked.
    adjustability_frac : float
        How much of its uncertainty the other readings take away [frac]; 0 if nothing checks it.
    """

    reading: Reading
    reconciled: float
    off_ratio: Ratio
    deviate: float
    limit: float
    adjustability_frac: Frac

    @property
    def stands_out(self) -> bool:
        """Whether its change alone is beyond the limit; a wrong reading pulls others along, so this accuses nobody."""
        return self.deviate > self.limit


def readings_evidence(scene: Scene, alarm_frac: Frac = ALARM_FRAC) -> tuple[ReadingEvidence, ...]:
    """Return every reading against all others, in the order they were taken.

    Parameters
    ----------
    scene : Scene
        Reconciled readings.
    alarm_frac : float
        False alarms allowed over all readings [frac].

    Returns
    -------
    tuple of ReadingEvidence
        One per reading.

    Notes
    -----
    The limit is that of the normal law; the alarm of a cross-check is its global test, which accounts for uncertainties
    that are themselves estimates.

    References
    ----------
    mah-tamhane-1982
    """
    found = scene.found
    limit = sidak_limit(max(int(found.redundant.sum()), 1), alarm_frac)
    columns = zip(
        scene.readings, found.reconciled, measurement_test(found), found.adjustability, found.redundant, strict=True
    )
    return tuple(
        ReadingEvidence(
            reading=reading,
            reconciled=exp(log),
            off_ratio=reading.value / exp(log) - 1.0,
            deviate=float(deviate),
            limit=limit,
            adjustability_frac=float(share) if checked else 0.0,
        )
        for reading, log, deviate, share, checked in columns
    )


@dataclass(frozen=True, slots=True)
class BalanceEvidence:
    """One way to check a reading by others.

    Attributes
    ----------
    reading : Reading
        What is checked.
    others : tuple of Reading
        What it is checked by.
    off_ratio : float
        The reading over what the others make it, less one [ratio].
    deviate : float
        The misfit in its own standard deviations.
    limit : float
        Two-sided limit of the deviate, false alarms counted over all balances.
    """

    reading: Reading
    others: tuple[Reading, ...]
    off_ratio: Ratio
    deviate: float
    limit: float

    @property
    def stands_out(self) -> bool:
        """Whether the misfit alone is beyond the limit."""
        return self.deviate > self.limit


CHECKED_FIRST = (
    Kind.SPEED,
    Kind.TANK,
    Kind.METER,
    Kind.CHART,
    Kind.CAB,
    Kind.HOSE,
    Kind.GAUGE,
    Kind.CATCH,
    Kind.COURSE,
)
"""Which reading of a balance is told as checked by the others: instruments before what was collected and timed."""


def balances_evidence(scene: Scene, alarm_frac: Frac = ALARM_FRAC) -> tuple[BalanceEvidence, ...]:
    """Return every independent balance between the readings, each as one reading checked by others.

    Parameters
    ----------
    scene : Scene
        Reconciled readings.
    alarm_frac : float
        False alarms allowed over all balances [frac].

    Returns
    -------
    tuple of BalanceEvidence
        As many as the readings have ways to disagree.

    Notes
    -----
    The balances are combined so that each holds one reading that stands in no other. The same set of balances can be
    written in other ways, so a single one accuses nobody; the limit is that of the normal law.

    References
    ----------
    narasimhan-jordache-2000, mah-tamhane-1982
    """
    found = scene.found
    if not found.redundancy:
        return ()
    order = sorted(range(len(scene.readings)), key=lambda n: CHECKED_FIRST.index(scene.readings[n].kind))
    mix, checked = _one_each(found.coefficients, order)
    rows, residuals = mix @ found.coefficients, mix @ found.residuals
    factor = mix @ lower_factor(found.residual_covariance)
    spread = factor @ factor.T
    deviates = nodal_test(replace(found, coefficients=rows, residuals=residuals, residual_covariance=spread))
    limit = sidak_limit(found.redundancy, alarm_frac)
    return tuple(
        BalanceEvidence(
            reading=scene.readings[own],
            others=tuple(
                other for n, other in enumerate(scene.readings) if n != own and abs(rows[place, n]) > IN_BALANCE
            ),
            off_ratio=expm1(min(float(residuals[place]), FAR)),
            deviate=float(deviates[place]),
            limit=limit,
        )
        for place, own in sorted(enumerate(checked), key=lambda pair: pair[1])
    )


def _one_each(rows: FloatArray, order: Sequence[int]) -> tuple[FloatArray, list[int]]:
    """Combine rows until each has a column of its own, the columns tried in an order; Gauss and Jordan's way."""
    rows, mix, checked = rows.copy(), np.eye(len(rows)), list[int]()
    # First every reading that weighs something; only then, if rows are left, those of little weight.
    for column, least in ((column, least) for least in (WEIGHTY, IN_BALANCE) for column in order):
        place = len(checked)
        if place == len(rows):
            break
        best = place + int(np.argmax(np.abs(rows[place:, column])))
        if column in checked or abs(rows[best, column]) < least:
            continue
        swap = [place, best]
        rows[swap], mix[swap] = rows[swap[::-1]], mix[swap[::-1]]
        mix[place], rows[place] = mix[place] / rows[place, column], rows[place] / rows[place, column]
        factors = rows[:, column].copy()
        factors[place] = 0.0
        mix, rows = mix - np.outer(factors, mix[place]), rows - np.outer(factors, rows[place])
        checked.append(column)
    return mix, checked
