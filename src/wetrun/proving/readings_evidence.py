"""Every reading beside what it becomes: the evidence under a cross-check's sentence."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from wetrun.proving.gross_error import ALARM_FRAC, measurement_test, sidak_limit
from wetrun.proving.identify import Scene
from wetrun.proving.redundant import Reading
from wetrun.units import Frac, Ratio


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
