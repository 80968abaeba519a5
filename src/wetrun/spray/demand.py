"""Rate, speed, width and flow: the one identity ``flow = rate * speed * width`` solved for each of them."""

from __future__ import annotations

from typing import Annotated, overload

from wetrun.spray.bounds import FloatArray, check_not_negative, check_positive
from wetrun.spray.carrier import specific_gravity
from wetrun.units import (
    CUBIC_METRE_PER_SECOND,
    CUBIC_METRE_PER_SQUARE_METRE,
    METRE,
    METRE_PER_SECOND,
    Kgpm3,
    M,
    M3pm2,
    M3s,
    Mps,
)

_RATE_REMEDY = "Enter the volume wanted per area."
_SPACING_REMEDY = "Enter the distance between tips (or the band width)."


@overload
def demand_per_tip_m3s(rate_m3pm2: M3pm2, speed_mps: Mps, spacing_m: M) -> M3s: ...
@overload
def demand_per_tip_m3s(
    rate_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE],
    speed_mps: Annotated[float | FloatArray, METRE_PER_SECOND],
    spacing_m: M,
) -> Annotated[FloatArray, CUBIC_METRE_PER_SECOND]: ...
@overload
def demand_per_tip_m3s(
    rate_m3pm2: M3pm2, speed_mps: Annotated[FloatArray, METRE_PER_SECOND], spacing_m: M
) -> Annotated[FloatArray, CUBIC_METRE_PER_SECOND]: ...
def demand_per_tip_m3s(
    rate_m3pm2: Annotated[float | FloatArray, CUBIC_METRE_PER_SQUARE_METRE],
    speed_mps: Annotated[float | FloatArray, METRE_PER_SECOND],
    spacing_m: M,
) -> Annotated[float | FloatArray, CUBIC_METRE_PER_SECOND]:
    """Return the flow one tip must give to hold a rate at a speed.

    Parameters
    ----------
    rate_m3pm2
        Rate, scalar or array [m3/m2].
    speed_mps
        Ground speed, scalar or array [m/s].
    spacing_m
        Width one tip serves [m].

    Returns
    -------
    float or array
        Flow per tip, of the broadcast shape [m3/s].

    Raises
    ------
    OutOfRange
        A negative rate or speed, or a spacing that is not positive.

    Notes
    -----
    For a band the width is the band, and the rate is per treated area; for several tips on one row it is the row
    width divided by the tips of the row.

    References
    ----------
    idaho-band

    Example
    -------
    >>> demand_per_tip_m3s(1e-5, 4.0, 0.5)  # 100 L/ha at 4 m/s on half a metre: 1.2 L/min
    2e-05
    """
    check_not_negative("rate", rate_m3pm2, CUBIC_METRE_PER_SQUARE_METRE, remedy=_RATE_REMEDY)
    check_not_negative("speed", speed_mps, METRE_PER_SECOND, remedy="Enter the ground speed forward.")
    check_positive("spacing", spacing_m, METRE, remedy=_SPACING_REMEDY)
    return rate_m3pm2 * speed_mps * spacing_m


@overload
def rate_at(flow_m3s: M3s, speed_mps: Mps, spacing_m: M) -> M3pm2: ...
@overload
def rate_at(
    flow_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND],
    speed_mps: Annotated[float | FloatArray, METRE_PER_SECOND],
    spacing_m: M,
) -> Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]: ...
@overload
def rate_at(
    flow_m3s: M3s, speed_mps: Annotated[FloatArray, METRE_PER_SECOND], spacing_m: M
) -> Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE]: ...
def rate_at(
    flow_m3s: Annotated[float | FloatArray, CUBIC_METRE_PER_SECOND],
    speed_mps: Annotated[float | FloatArray, METRE_PER_SECOND],
    spacing_m: M,
) -> Annotated[float | FloatArray, CUBIC_METRE_PER_SQUARE_METRE]:
    """Return the rate a flow per tip puts down at a speed.

    Parameters
    ----------
    flow_m3s
        Flow per tip, scalar or array [m3/s].
    speed_mps
        Ground speed, scalar or array [m/s].
    spacing_m
        Width one tip serves [m].

    Returns
    -------
    float or array
        Rate, of the broadcast shape [m3/m2].

    Raises
    ------
    OutOfRange
        A negative flow, or a speed or spacing that is not positive: at a standstill there is no rate.

    References
    ----------
    idaho-band

    Example
    -------
    >>> rate_at(2e-5, 4.0, 0.5)
    1e-05
    """
    check_not_negative("flow of a tip", flow_m3s, CUBIC_METRE_PER_SECOND, remedy="Enter the flow of one tip.")
    check_positive("speed", speed_mps, METRE_PER_SECOND, remedy="At a standstill there is no rate: leave it out.")
    check_positive("spacing", spacing_m, METRE, remedy=_SPACING_REMEDY)
    return flow_m3s / (speed_mps * spacing_m)


@overload
def speed_at(flow_m3s: M3s, rate_m3pm2: M3pm2, spacing_m: M) -> Mps: ...
@overload
def speed_at(
    flow_m3s: Annotated[FloatArray, CUBIC_METRE_PER_SECOND],
    rate_m3pm2: Annotated[float | FloatArray, CUBIC_METRE_PER_SQUARE_METRE],
    spacing_m: M,
) -> Annotated[FloatArray, METRE_PER_SECOND]: ...
@overload
def speed_at(
    flow_m3s: M3s, rate_m3pm2: Annotated[FloatArray, CUBIC_METRE_PER_SQUARE_METRE], spacing_m: M
) -> Annotated[FloatArray, METRE_PER_SECOND]: ...
def speed_at(
    flow_m3s: Annotated[float | FloatArray, CUBIC_METRE_PER_SECOND],
    rate_m3pm2: Annotated[float | FloatArray, CUBIC_METRE_PER_SQUARE_METRE],
    spacing_m: M,
) -> Annotated[float | FloatArray, METRE_PER_SECOND]:
    """Return the speed at which a flow per tip is exactly the rate.

    Parameters
    ----------
    flow_m3s
        Flow per tip, scalar or array [m3/s].
    rate_m3pm2
        Rate, scalar or array [m3/m2].
    spacing_m
        Width one tip serves [m].

    Returns
    -------
    float or array
        Ground speed, of the broadcast shape [m/s].

    Raises
    ------
    OutOfRange
        A negative flow, or a rate or spacing that is not positive.

    References
    ----------
    idaho-band

    Example
    -------
    >>> speed_at(2e-5, 1e-5, 0.5)
    4.0
    """
    check_not_negative("flow of a tip", flow_m3s, CUBIC_METRE_PER_SECOND, remedy="Enter the flow of one tip.")
    check_positive("rate", rate_m3pm2, CUBIC_METRE_PER_SQUARE_METRE, remedy=_RATE_REMEDY)
    check_positive("spacing", spacing_m, METRE, remedy=_SPACING_REMEDY)
    return flow_m3s / (rate_m3pm2 * spacing_m)


def water_equivalent(rate_m3pm2: M3pm2, density_kgpm3: Kgpm3) -> M3pm2:
    """Return the rate of water that needs the same tip at the same pressure as a rate of a heavier liquid.

    Parameters
    ----------
    rate_m3pm2
        Rate wanted of the liquid [m3/m2].
    density_kgpm3
        Density of the liquid [kg/m3].

    Returns
    -------
    M3pm2
        Rate of water to choose the tip for, or to catch with water [m3/m2].

    Raises
    ------
    OutOfRange
        A negative rate or a density that is not positive.

    Notes
    -----
    Corrects tip flow for density only. A volumetric meter needs no such correction for the rate.

    References
    ----------
    unl-cropwatch-2016, uga-nonwater

    Example
    -------
    >>> round(water_equivalent(20.0, 1276.1), 1)  # 20 gal/ac of 28 % UAN
    22.6
    """
    check_not_negative("rate", rate_m3pm2, CUBIC_METRE_PER_SQUARE_METRE, remedy=_RATE_REMEDY)
    return float(rate_m3pm2 * specific_gravity(density_kgpm3) ** 0.5)
