"""A solved boom boiled down to two coefficients, so that a plan's tip pressures can use it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.spray.boom_flow import BoomFlow, boom_flows
from wetrun.spray.bounds import FloatArray
from wetrun.spray.carrier import REFERENCE_WATER_KGPM3
from wetrun.spray.definitions import BAR_PA
from wetrun.spray.line_liquid import WATER_IN_LINE, LineLiquid
from wetrun.spray.losses import SensorLoss
from wetrun.spray.plumbing import PlumbedBoom
from wetrun.units import LOSS_COEFFICIENT, M3s, Pa, Ratio

WORKING_PA: Final[tuple[Pa, ...]] = (1.0 * BAR_PA, 2.0 * BAR_PA, 4.0 * BAR_PA)
"""Cab pressures the fit is made at unless others are named."""

_NO_LOSS_PA: Final[Pa] = 1e-9


@dataclass(frozen=True, slots=True)
class LossFit:
    """Two coefficients that stand for a plumbed boom, and how well they do.

    Attributes
    ----------
    loss : SensorLoss
        What hoses and bodies lose, on water; what scales with the flow of one section (its valve, hose, strainer and
        line) stands with the bodies, because it does not fall when other sections close.
    worst_pa : float
        Greatest miss of the mean tip pressure over the cases fitted [Pa].
    worst_tip_pa : float
        Greatest miss of any single tip's pressure over the cases fitted [Pa]: the unevenness a plan cannot see.
    least_ratio, most_ratio : float
        Pressure of the tip that gets least, and of the one that gets most, over the mean of all tips [ratio]; the
        farthest over the cases fitted.
    cases : int
        Solved booms it was fitted to: pressures times sets of open sections.
    parted : bool
        False if the cases cannot tell hoses from bodies (a boom of one section): all but the bodies' own loss is then
        put on the hoses.
    """

    loss: SensorLoss
    worst_pa: Pa
    worst_tip_pa: Pa
    least_ratio: Ratio
    most_ratio: Ratio
    cases: int
    parted: bool


@dataclass(frozen=True, slots=True)
class _Case:
    """One solved boom as a plan sees it."""

    tips: int
    boom_flow_m3s: M3s
    tip_flow_m3s: M3s
    drop_pa: Pa
    solved: BoomFlow


def fitted_loss(
    boom: PlumbedBoom, liquid: LineLiquid = WATER_IN_LINE, *, sensors_pa: Sequence[Pa] = WORKING_PA
) -> LossFit:
    """Return the sensor-to-tip loss of a plumbed boom as the two coefficients a plan uses.

    Parameters
    ----------
    boom : PlumbedBoom
        Sections, pipes, tips, losses.
    liquid : LineLiquid
        Density and viscosity it is solved with.
    sensors_pa : sequence of float
        Pressures at the cab sensor it is fitted at [Pa].

    Returns
    -------
    LossFit
        Coefficients and how far they miss.

    Raises
    ------
    OutOfRange
        A pressure too small for anything to reach the tips.
    NotDefined
        No open section with a tip.

    Notes
    -----
    Solved with all sections open, half of them, and one, from either end; least squares of the relative miss of the
    loss, each case counting by the share of the tips that spray. Friction in the line goes with flow to the power of
    about 1.8, not 2: fit it where it is used. Between the pressures fitted it may miss a little more than `worst_pa`
    (a scan of 60 booms found 1.3 times), outside them more still. Sections that lose unlike amounts leave a miss that
    `worst_pa` shows.

    References
    ----------
    minor-loss-quadratic, darcy-weisbach

    Example
    -------
    >>> from wetrun.spray.friction import Pipe
    >>> from wetrun.spray.orifice import law_of_iso_size
    >>> from wetrun.spray.plumbing import SectionLine
    >>> section = SectionLine(laws=(law_of_iso_size("03"),) * 9, spacing_m=0.5, pipe=Pipe(0.2))
    >>> fit = fitted_loss(PlumbedBoom(sections=(section,) * 4, main_paps2m6=5e9))
    >>> round(fit.loss.boom_paps2m6 / 1e9, 2), fit.parted
    (5.0, True)
    """
    cases = [_case(opened, solved) for opened in _openings(boom) for solved in boom_flows(opened, sensors_pa, liquid)]
    to_water = REFERENCE_WATER_KGPM3 / liquid.density_kgpm3
    flows = np.array([[case.boom_flow_m3s + boom.passing_m3s, case.tip_flow_m3s] for case in cases])
    drops = np.array([case.drop_pa for case in cases]) * to_water
    weights = np.array([float(case.tips) for case in cases]) / np.maximum(drops, 1e-6 * np.max(drops) + _NO_LOSS_PA)
    main, body, parted = _coefficients(flows**2 * weights[:, None], drops * weights, boom.body_paps2m6)
    loss = SensorLoss(main, body, boom.passing_m3s)
    misses, tip_misses = zip(*(_misses_pa(loss, case, liquid) for case in cases), strict=True)
    ratios = [case.solved.pressures_pa / (case.solved.sensor_pa - case.drop_pa) for case in cases]
    least, most = (float(end) for end in (np.nanmin(ratios), np.nanmax(ratios)))
    return LossFit(loss, max(misses), max(tip_misses), least, most, len(cases), parted)


def _openings(boom: PlumbedBoom) -> Iterator[PlumbedBoom]:
    """All sections, half of them and one, from either end; sections without a tip or shut are not tried."""
    usable = sorted({int(boom.section_of[position]) for position in boom.spraying})
    count = len(usable)
    sets = {tuple(part) for n in {count, (count + 1) // 2, 1} for part in (usable[:n], usable[-n:])}
    return (boom.with_open(opened) for opened in sorted(sets))


def _case(boom: PlumbedBoom, solved: BoomFlow) -> _Case:
    """The boom as a plan sees it: one tip flow for all, at their mean pressure."""
    mean_pa = float(np.nanmean(solved.pressures_pa))
    flow_m3s = solved.boom_flow_m3s
    tips = boom.spraying.size
    return _Case(tips, flow_m3s, flow_m3s / tips, solved.sensor_pa - mean_pa, solved)


def _coefficients(
    table: FloatArray, wanted: FloatArray, body_paps2m6: Annotated[float, LOSS_COEFFICIENT]
) -> tuple[float, float, bool]:
    """Coefficients of hoses and bodies, neither negative, and whether the cases tell them apart."""
    if not _tells_apart(table):
        return max(_slope(table[:, 0], wanted - body_paps2m6 * table[:, 1]), 0.0), body_paps2m6, False
    scale = np.max(table, axis=0)
    main, body = (float(value) for value in np.linalg.lstsq(table / scale, wanted, rcond=None)[0] / scale)
    if main < 0.0:
        return 0.0, _slope(table[:, 1], wanted), True
    if body < 0.0:
        return _slope(table[:, 0], wanted), 0.0, True
    return main, body, True


def _tells_apart(table: FloatArray) -> bool:
    """Whether the two columns are more than one and the same thing scaled."""
    ratio = table[:, 0] / table[:, 1]
    return float(np.ptp(ratio)) > 1e-6 * float(np.max(ratio))


def _slope(column: FloatArray, wanted: FloatArray) -> float:
    return float(column @ wanted / (column @ column))


def _misses_pa(loss: SensorLoss, case: _Case, liquid: LineLiquid) -> tuple[Pa, Pa]:
    """How far the coefficients miss the mean tip pressure, and the pressure of the tip they miss most."""
    drop_pa = loss.drop_pa(
        boom_flow_m3s=case.boom_flow_m3s, tip_flow_m3s=case.tip_flow_m3s, density_kgpm3=liquid.density_kgpm3
    )
    tips_pa = case.solved.pressures_pa - (case.solved.sensor_pa - drop_pa)
    return abs(case.drop_pa - drop_pa), float(np.nanmax(np.abs(tips_pa)))
