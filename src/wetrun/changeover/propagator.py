"""Where old mix goes while liquid flows: one matrix from before to after, exact where volumes stand still.

Between two moments at which something changes (a line is full, the tank is down), the amounts of old mix follow linear
equations. With volumes that stand still their solution is one matrix exponential. While the tank's volume moves, the
time is cut into slices even in the logarithm of that volume; each slice is one exponential with the mean of 1/volume,
and slices are halved until nothing moves any more. Every slice keeps the sum of old mix and makes nothing negative.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.linalg import expm

from wetrun.errors import NotDefined
from wetrun.spray.bounds import FloatArray
from wetrun.units import M3, M3s, S

_SETTLED: Final = 1e-7
"""Greatest change of any share of old mix between two cuttings that counts as none; what is left is far smaller."""
_MOST_SLICES: Final = 4096
_FIRST_SLICES: Final = 4
_ROUNDING: Final = 1e-12
_ROMBERG: Final = 3


def steady_map(rates: FloatArray, seconds_s: S) -> FloatArray:
    """Return the shares of old mix that go from each cell to each, volumes standing still.

    Parameters
    ----------
    rates : array
        Rates from column to row, shape (cells, cells).
    seconds_s : float
        How long it flows [s].

    Returns
    -------
    array
        Shape (cells, cells); columns add up to 1.

    References
    ----------
    ideal-mixing-dilution

    Example
    -------
    One volume rinsed by as much clean water as it holds keeps 1/e:

    >>> import numpy as np
    >>> steady_map(np.array([[-1.0, 0.0], [1.0, 0.0]]), 1.0).round(4).tolist()
    [[0.3679, 0.0], [0.6321, 1.0]]
    """
    return _embedded(rates, lambda inner, _: _exponential(inner * seconds_s), None)


def falling_map(fixed: FloatArray, per_tank: FloatArray, *, tank_m3: M3, rate_m3s: M3s, seconds_s: S) -> FloatArray:
    """Return the shares of old mix that go from each cell to each while the volume in the tank falls or rises.

    Parameters
    ----------
    fixed, per_tank : array
        Rates from column to row, and those per volume in the tank, shape (cells, cells).
    tank_m3 : float
        Volume in the tank at the start [m3].
    rate_m3s : float
        How fast it grows; negative when it falls [m3/s].
    seconds_s : float
        How long it flows [s].

    Returns
    -------
    array
        Shape (cells, cells); columns add up to 1.

    Raises
    ------
    NotDefined
        Slices did not settle.

    Notes
    -----
    A slice's error goes with the square of its width and in even powers only, so cuttings into 4, 8, 16 … slices are
    extrapolated (Romberg). What is extrapolated below zero by more than rounding is not taken: slices are halved again.

    References
    ----------
    magnus-exponential, ideal-mixing-dilution
    """

    def settled(inner: FloatArray, inner_per: FloatArray | None) -> FloatArray:
        assert inner_per is not None
        slices = _FIRST_SLICES
        table = [_sliced(inner, inner_per, (tank_m3, rate_m3s, seconds_s), slices)]
        while slices < _MOST_SLICES:
            slices *= 2
            before, table = table[-1], _refined(table, _sliced(inner, inner_per, (tank_m3, rate_m3s, seconds_s), slices))
            if np.abs(table[-1] - before).max() <= _SETTLED and table[-1].min() > -_ROUNDING:
                return _summed_to_one(table[-1])
        raise NotDefined(
            "flow while the tank falls",
            reason=f"it did not settle in {_MOST_SLICES} slices",
            remedy="Look for a volume or flow that is far too small or too large.",
        )

    return _embedded(fixed, settled, per_tank)


def _sliced(fixed: FloatArray, per_tank: FloatArray, course: tuple[M3, M3s, S], slices: int) -> FloatArray:
    """Product of the slices' exponentials, the latest leftmost."""
    tank_m3, rate_m3s, seconds_s = course
    cuts = np.geomspace(tank_m3, tank_m3 + rate_m3s * seconds_s, slices + 1)
    steps = np.diff(cuts) / rate_m3s
    logs = np.diff(np.log(cuts)) / rate_m3s
    exponents = fixed * steps[:, None, None] + per_tank * logs[:, None, None]
    product = np.eye(len(fixed))
    for exponent in exponents:
        product = _exponential(exponent) @ product
    return product


def _refined(table: list[FloatArray], finer: FloatArray) -> list[FloatArray]:
    """Next row of Romberg's table: a slice's error has even powers of its width only, and each entry drops one more."""
    row = [finer]
    for n, coarse in enumerate(table[:_ROMBERG], start=1):
        row.append(row[-1] + (row[-1] - coarse) / (4.0**n - 1.0))
    return row


def _exponential(exponent: FloatArray) -> FloatArray:
    """Exponential of rates whose columns add up to zero."""
    return _summed_to_one(expm(exponent))


def _summed_to_one(shares: FloatArray) -> FloatArray:
    """Shares without what rounding put below zero, each column adding up to 1."""
    clipped: FloatArray = np.maximum(shares, 0.0)
    return clipped / clipped.sum(axis=0)


def _embedded(rates: FloatArray, solve, per_tank: FloatArray | None) -> FloatArray:  # type: ignore[no-untyped-def]
    """Solve only for the cells that take part; the others keep what they hold."""
    moving = rates if per_tank is None else np.abs(rates) + np.abs(per_tank)
    part = np.flatnonzero((moving != 0.0).any(axis=0) | (moving != 0.0).any(axis=1))
    whole = np.eye(len(rates))
    if part.size:
        inner = np.ix_(part, part)
        whole[inner] = solve(rates[inner], None if per_tank is None else per_tank[inner])
    return whole
