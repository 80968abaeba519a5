"""Friction in a straight pipe: Darcy–Weisbach with Swamee and Jain's factor, laminar flow, and the way between."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Final

import numpy as np

from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.bounds import Amount, FloatArray, check_not_negative, check_positive
from wetrun.spray.line_liquid import WATER_IN_LINE, LineLiquid
from wetrun.units import CUBIC_METRE_PER_SECOND, M2, METRE, PASCAL, RATIO, M, Ratio

LAMINAR_BELOW: Final = 2000.0
TURBULENT_ABOVE: Final = 4000.0
"""Between these Reynolds numbers the factor follows a straight line in the logarithms, so that it has no step."""
ROUGHEST_RATIO: Final[Ratio] = 0.05
SMOOTH_WALL_M: Final[M] = 1.5e-6
"""Drawn tube, plastic and new rubber hose; a handbook value, from memory."""
STEEL_WALL_M: Final[M] = 4.5e-5
"""Plain steel pipe; a handbook value, from memory."""
_STILL = 1e-9
"""A Reynolds number that stands for no flow: deep in laminar flow, where the loss is straight in the flow."""


@dataclass(frozen=True, slots=True)
class Pipe:
    """A round pipe or hose.

    Attributes
    ----------
    bore_m : float
        Inner diameter [m].
    roughness_m : float
        Height of the wall's roughness [m].
    """

    bore_m: M
    roughness_m: M = SMOOTH_WALL_M

    def __post_init__(self) -> None:
        check_positive("bore of the pipe", self.bore_m, METRE, remedy="Enter the inner diameter of the boom pipe.")
        check_not_negative("roughness", self.roughness_m, METRE, remedy="Enter 0 for a perfectly smooth wall.")
        _check_roughness(self.roughness_ratio)

    @property
    def roughness_ratio(self) -> Ratio:
        """Roughness over bore [ratio]."""
        return self.roughness_m / self.bore_m

    @property
    def section_m2(self) -> M2:
        """Cross-section of the bore [m2]."""
        return math.pi / 4.0 * self.bore_m**2


def reynolds_number(flow_m3s: Annotated[Amount, CUBIC_METRE_PER_SECOND], pipe: Pipe, liquid: LineLiquid) -> Amount:
    """Return the Reynolds number of a flow in a pipe.

    Parameters
    ----------
    flow_m3s : float or ndarray
        Flow, any shape [m3/s].
    pipe : Pipe
        Bore and roughness.
    liquid : LineLiquid
        Density and viscosity.

    Returns
    -------
    float or ndarray
        Reynolds number, the shape of the flow; it has no unit.

    References
    ----------
    darcy-weisbach

    Example
    -------
    >>> round(reynolds_number(3.6e-4, Pipe(0.0191), WATER_IN_LINE), -2)  # 18 tips of 1.2 L/min in 19.1 mm
    23900.0
    """
    per_flow = liquid.density_kgpm3 * pipe.bore_m / (pipe.section_m2 * liquid.viscosity_pas)
    return flow_m3s * per_flow


def friction_factor(reynolds: Amount, roughness_ratio: Ratio) -> Amount:
    """Return the Darcy friction factor.

    Parameters
    ----------
    reynolds : float or ndarray
        Reynolds number, any shape, above zero.
    roughness_ratio : float
        Roughness over bore [ratio], 0 to 0.05.

    Returns
    -------
    float or ndarray
        Darcy's factor (four times Fanning's), the shape of the Reynolds number; it has no unit.

    Raises
    ------
    OutOfRange
        A roughness above a twentieth of the bore, or a negative one.
    NotDefined
        A Reynolds number that is not above zero.

    Notes
    -----
    64/Re below 2000; above 4000 Swamee and Jain, within 3 % of Colebrook's curve, 2 % above 1e4 and 1.2 % above 1e5
    (checked against the fluids package); a straight line in the logarithms between the two. In a real pipe the flow
    from 2000 to 4000 is unsteady and either law may hold: this is at the far end of a section, where hardly any loss
    is left to be wrong about.

    References
    ----------
    swamee-jain-1976, darcy-weisbach

    Example
    -------
    >>> round(friction_factor(1e5, 1e-4), 4), friction_factor(640.0, 1e-4)
    (0.0185, 0.1)
    """
    _check_roughness(roughness_ratio)
    numbers = np.asarray(reynolds, dtype=np.float64)
    if not np.all(numbers > 0.0):
        remedy = "Where nothing flows nothing is lost: leave it out."
        raise NotDefined("friction factor", reason="the Reynolds number is not above zero", remedy=remedy)
    between = 64.0 / LAMINAR_BELOW * (numbers / LAMINAR_BELOW) ** _transition_slope(roughness_ratio)
    turbulent = _swamee_jain(np.maximum(numbers, TURBULENT_ABOVE), roughness_ratio)
    factor = _by_regime(numbers, (64.0 / numbers, between, turbulent))
    return _as_given(reynolds, factor)


def loss_exponent(reynolds: Amount, roughness_ratio: Ratio) -> Amount:
    """Return the power of the flow that the loss goes with at a Reynolds number: 1 laminar, towards 2 rough.

    Parameters
    ----------
    reynolds : float or ndarray
        Reynolds number, any shape, above zero.
    roughness_ratio : float
        Roughness over bore [ratio].

    Returns
    -------
    float or ndarray
        Exponent, the shape of the Reynolds number; it has no unit.

    Notes
    -----
    The slope of the logarithm of the loss, by differentiating `friction_factor`; inside the transition it is above 2.

    References
    ----------
    swamee-jain-1976, darcy-weisbach

    Example
    -------
    >>> round(loss_exponent(23_917.0, 1.5e-6 / 0.0191), 2), loss_exponent(1000.0, 0.0)
    (1.76, 1.0)
    """
    numbers = np.asarray(reynolds, dtype=np.float64)
    smooth = 5.74 / np.maximum(numbers, TURBULENT_ABOVE) ** 0.9
    inside = roughness_ratio / 3.7 + smooth
    turbulent = 2.0 + 1.8 * smooth / (inside * np.log(inside))
    between = np.full(numbers.shape, 2.0 + _transition_slope(roughness_ratio))
    exponent = _by_regime(numbers, (np.ones(numbers.shape), between, turbulent))
    return _as_given(reynolds, exponent)


def pipe_loss_pa(
    flow_m3s: Annotated[Amount, CUBIC_METRE_PER_SECOND],
    length_m: Annotated[float | FloatArray, METRE],
    pipe: Pipe,
    liquid: LineLiquid = WATER_IN_LINE,
) -> Annotated[Amount, PASCAL]:
    """Return the pressure lost along a straight pipe.

    Parameters
    ----------
    flow_m3s : float or ndarray
        Flow, any shape, not negative [m3/s].
    length_m : float or ndarray
        Length, a shape that broadcasts [m].
    pipe : Pipe
        Bore and roughness.
    liquid : LineLiquid
        Density and viscosity.

    Returns
    -------
    float or ndarray
        Pressure lost, the shape of the flow [Pa].

    Raises
    ------
    OutOfRange
        A negative flow.

    Notes
    -----
    A straight round pipe running full: bends, tees and nozzle bodies in the bore are left out, and so is height.

    References
    ----------
    darcy-weisbach, swamee-jain-1976

    Example
    -------
    >>> round(pipe_loss_pa(3.6e-4, 9.0, Pipe(0.0191)) / 1e3, 2)  # the whole flow of the section, the whole 9 m
    9.25
    """
    check_not_negative("flow in the pipe", flow_m3s, CUBIC_METRE_PER_SECOND, remedy="Enter the flow as an amount.")
    numbers = np.maximum(np.asarray(reynolds_number(flow_m3s, pipe, liquid), dtype=np.float64), _STILL)
    speed = np.asarray(flow_m3s, dtype=np.float64) / pipe.section_m2
    dynamic = liquid.density_kgpm3 * speed**2 / 2.0
    loss = friction_factor(np.atleast_1d(numbers), pipe.roughness_ratio).reshape(numbers.shape) * dynamic
    return _as_given(flow_m3s, loss * length_m / pipe.bore_m)


def equal_outlets_ratio(outlets: int, exponent: float) -> Ratio:
    """Return the loss of a line with equal outlets over the loss if its whole flow ran the whole length.

    Parameters
    ----------
    outlets : int
        Outlets, all giving the same, evenly spaced, the first one spacing from the inlet.
    exponent : float
        Power of the flow the loss goes with, from `loss_exponent`.

    Returns
    -------
    float
        Share of the loss that is left [ratio].

    Raises
    ------
    NotDefined
        No outlet.

    Notes
    -----
    For checking a solved line by hand. The sum itself, ``(1/N) Σ (k/N)^m``; Christiansen's three terms approximate it.

    References
    ----------
    christiansen-1942

    Example
    -------
    >>> equal_outlets_ratio(2, 2.0)  # half the length at full flow, half of it at half the flow
    0.625
    """
    if outlets < 1:
        remedy = "Count the outlets of the line."
        raise NotDefined("loss of a line with outlets", reason=f"it has {outlets} outlets", remedy=remedy)
    shares = np.arange(1, outlets + 1, dtype=np.float64) / outlets
    return float(np.mean(shares**exponent))


def _as_given(given: Amount, result: FloatArray) -> Amount:
    if isinstance(given, np.ndarray):
        return result
    return float(result)


def _swamee_jain(numbers: FloatArray, roughness_ratio: Ratio) -> FloatArray:
    factor: FloatArray = 0.25 / np.log10(roughness_ratio / 3.7 + 5.74 / numbers**0.9) ** 2
    return factor


def _transition_slope(roughness_ratio: Ratio) -> float:
    """Slope of the factor between the laminar and the turbulent end, in the logarithms."""
    turbulent = float(_swamee_jain(np.array([TURBULENT_ABOVE]), roughness_ratio)[0])
    return math.log(turbulent * LAMINAR_BELOW / 64.0) / math.log(TURBULENT_ABOVE / LAMINAR_BELOW)


def _by_regime(numbers: FloatArray, parts: tuple[FloatArray, FloatArray, FloatArray]) -> FloatArray:
    laminar, between, turbulent = parts
    chosen: FloatArray = np.where(numbers <= LAMINAR_BELOW, laminar, between)
    return np.where(numbers >= TURBULENT_ABOVE, turbulent, chosen)


def _check_roughness(roughness_ratio: Ratio) -> None:
    if not 0.0 <= roughness_ratio <= ROUGHEST_RATIO:
        remedy = "Check the unit of the roughness: plastic and rubber are some thousandths of a millimetre."
        raise OutOfRange("roughness over bore", roughness_ratio, RATIO, low=0.0, high=ROUGHEST_RATIO, remedy=remedy)
