"""Cab against gauges at the tips: what the sensor is off, and what is lost on the way, told apart by two flows.

What a sensor is off stays the same at every flow; what valve, hose and strainer take goes with the square of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import ndtri

from wetrun.errors import NotDefined
from wetrun.proving.uncertainty import Budget, Component, Judged, judged, rectangular
from wetrun.sources import source
from wetrun.spray.bounds import FloatArray, check_positive
from wetrun.spray.definitions import BAR_PA
from wetrun.units import CUBIC_METRE_PER_SECOND, PASCAL, Frac, M3s, Pa, Paps2m6, Ratio

GAUGE_STEP_PA: Final[Pa] = 2.0 * BAR_PA
GAUGE_LOW_PA: Final[Pa] = 0.2 * BAR_PA
GAUGE_HIGH_FRAC: Final[Frac] = 0.1
_CHANCE_FRAC: Final[Frac] = 0.01
_LEAST_FLOW_CHANGE: Final = 1.1


@dataclass(frozen=True, slots=True)
class PressurePair:
    """Cab and tip read at the same moment.

    Attributes
    ----------
    section : int
        Section the gauge stood in, counted from 1.
    flow_m3s : float
        Boom flow [m3/s].
    cab_pa : float
        What the cab shows [Pa].
    tip_pa : float
        What the gauge at a tip shows [Pa].
    """

    section: int
    flow_m3s: M3s
    cab_pa: Pa
    tip_pa: Pa


@dataclass(frozen=True, slots=True)
class SectionLoss:
    """What is lost from the sensor to the tips of one section.

    Attributes
    ----------
    section : int
        Counted from 1.
    loss_paps2m6, standard_paps2m6 : float
        Loss per boom flow squared and its standard uncertainty [Pa s2/m6].
    drop_pa : float
        Loss at the greatest flow read [Pa].
    over_rest_pa : float
        How much more than the middle of the other sections that is [Pa].
    unlike : bool
        Whether that is more than chance.
    """

    section: int
    loss_paps2m6: Paps2m6
    standard_paps2m6: Paps2m6
    drop_pa: Pa
    over_rest_pa: Pa
    unlike: bool


@dataclass(frozen=True, slots=True)
class PressureResult:
    """Cab and tips reconciled.

    Attributes
    ----------
    offset_pa : float
        What the cab shows above the true pressure at the sensor [Pa].
    offset_doubt : Budget
        Its doubt, in pascal.
    sections : tuple of SectionLoss
        Section by section.
    misfit_ratio : float or None
        Scatter left over that of the readings [ratio]; None if nothing is left to judge it by.
    """

    offset_pa: Pa
    offset_doubt: Budget
    sections: tuple[SectionLoss, ...]
    misfit_ratio: Ratio | None


def pressure_result(pairs: Sequence[PressurePair], *, reading_pa: Pa, gauge_pa: Pa = 0.0) -> PressureResult:
    """Return what the cab sensor is off and what each section loses, by least squares.

    Parameters
    ----------
    pairs : sequence of PressurePair
        Readings of cab and tip gauge; two flows or more in one section at least.
    reading_pa : float
        Standard uncertainty of one difference, cab less gauge [Pa].
    gauge_pa : float
        Half width of what the one gauge may be off throughout [Pa]; it enters the offset alone.

    Returns
    -------
    PressureResult
        Offset, losses and their doubts; one loss for each section, one offset for all.

    Raises
    ------
    NotDefined
        Flows that differ by less than a tenth: offset and loss cannot be told apart.
    OutOfRange
        A flow or reading uncertainty that is not positive.

    Notes
    -----
    The same gauge is carried from section to section. Height between sensor and tip is in the offset.

    References
    ----------
    minor-loss-quadratic, gum-jcgm-100
    """
    check_positive("doubt of a pressure reading", reading_pa, PASCAL, remedy="Half a division of the gauge, or more.")
    flows = np.array([pair.flow_m3s for pair in pairs])
    check_positive("boom flow", flows, CUBIC_METRE_PER_SECOND, remedy="Enter the flow at which both were read.")
    numbers = sorted({pair.section for pair in pairs})
    _check_two_flows(pairs)
    greatest = float(flows.max())
    squares = (flows / greatest) ** 2  # in drops at the greatest flow: well scaled
    design = np.zeros((flows.size, 1 + len(numbers)))
    design[:, 0] = 1.0
    design[np.arange(flows.size), [1 + numbers.index(pair.section) for pair in pairs]] = squares
    apart = np.array([pair.cab_pa - pair.tip_pa for pair in pairs])
    found: FloatArray = np.linalg.lstsq(design, apart, rcond=None)[0].astype(np.float64)
    spread: FloatArray = np.linalg.inv(design.T @ design).astype(np.float64) * reading_pa**2
    doubt = Budget(
        (
            Component("reading cab and gauge", float(np.sqrt(spread[0, 0]))),
            Component("gauge throughout", rectangular(gauge_pa), cause="gauge at the tips"),
        )
    )
    sections = _sections(numbers, found[1:], spread[1:, 1:], greatest)
    misfit = _misfit(apart - design @ found, design.shape[1], reading_pa)
    return PressureResult(float(found[0]), doubt, sections, misfit)


def _check_two_flows(pairs: Sequence[PressurePair]) -> None:
    by_section: dict[int, list[float]] = {}
    for pair in pairs:
        by_section.setdefault(pair.section, []).append(pair.flow_m3s)
    if not any(max(flows) >= _LEAST_FLOW_CHANGE * min(flows) for flows in by_section.values()):
        reason = "cab and tip were read at one flow only, so offset and loss cannot be told apart"
        raise NotDefined("loss from cab to tip", reason=reason, remedy="Read one section again at half the flow")


def _sections(
    numbers: Sequence[int], drops: FloatArray, spread: FloatArray, greatest_m3s: M3s
) -> tuple[SectionLoss, ...]:
    limit = float(ndtri(1.0 - _CHANCE_FRAC / (2.0 * len(numbers))))
    return tuple(_section(n, section, (drops, spread), (greatest_m3s, limit)) for n, section in enumerate(numbers))


def _section(n: int, section: int, fitted: tuple[FloatArray, FloatArray], scale: tuple[M3s, float]) -> SectionLoss:
    (drops, spread), (greatest_m3s, limit) = fitted, scale
    others = np.delete(drops, n)
    middle = int(np.argsort(others)[(others.size - 1) // 2]) if others.size else 0
    over = float(drops[n] - others[middle]) if others.size else 0.0
    k = middle if middle < n else middle + 1
    square = float(spread[n, n] + spread[k, k] - 2.0 * spread[n, k]) if others.size else 1.0
    unlike = abs(over) > limit * float(np.sqrt(square)) if others.size else False
    drop = float(drops[n])
    return SectionLoss(
        section,
        drop / greatest_m3s**2,
        float(np.sqrt(spread[n, n])) / greatest_m3s**2,
        drop,
        over,
        unlike,
    )


def _misfit(left: FloatArray, fitted: int, reading_pa: Pa) -> float | None:
    freedom = left.size - fitted
    return None if freedom < 1 else float(np.sqrt(left @ left / freedom)) / reading_pa


def gauge_judged(shown_pa: Pa, true_pa: Pa, doubt: Budget) -> tuple[Judged, str]:
    """Return whether a gauge is good enough for a sprayer in use, with what to say of the rule.

    Parameters
    ----------
    shown_pa : float
        What the gauge shows [Pa].
    true_pa : float
        What a reference shows at the same place [Pa].
    doubt : Budget
        Doubt of the difference, in pascal.

    Returns
    -------
    tuple of Judged and str
        The difference against 0.2 bar up to 2 bar and 10 % of the reading above; a caution, as the rule is from memory.

    References
    ----------
    iso-16122-2

    Example
    -------
    >>> gauge_judged(2.5e5, 2.4e5, Budget((Component("reference", 1e3),)))[0].verdict.value
    'pass'
    """
    check_positive("true pressure", true_pa, PASCAL, remedy="Read the reference gauge again.")
    room = GAUGE_LOW_PA if true_pa <= GAUGE_STEP_PA else GAUGE_HIGH_FRAC * true_pa
    found = judged(shown_pa - true_pa, doubt, low=-room, high=room)
    status = source("iso-16122-2").status
    return found, f"the limits of this rule are {status}: check them before you rely on them"
