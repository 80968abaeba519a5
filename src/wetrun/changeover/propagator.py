"""Where old mix goes while liquid flows: one matrix from before to after, exact where volumes stand still.

Between two moments at which something changes (a line is full, the tank is down), the amounts of old mix follow linear
equations. With volumes that stand still their solution is one matrix exponential. While the tank's volume moves, the
time is cut into slices even in the logarithm of that volume; each slice is one exponential with the mean of 1/volume,
and slices are halved until nothing moves any more. Every slice keeps the sum of old mix and makes nothing negative.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

import numpy as np
import numpy.typing as npt

from wetrun.errors import NotDefined
from wetrun.spray.bounds import FloatArray
from wetrun.units import M3, M3s, S

_SETTLED: Final = 1e-7
"""Greatest change of any share of old mix between two cuttings that counts as none; what is left is far smaller."""
_MOST_SLICES: Final = 4096
_FIRST_SLICES: Final = 4
_ROUNDING: Final = 1e-12
_ROMBERG: Final = 3
_TERMS: Final = 16
_KEPT: Final = 1024
"""Maps kept at most, some 12 kB each: plans of one clean-out go through the same moments again and again."""


def exponential(rates: FloatArray) -> FloatArray:
    """Return the exponential of rates whose columns add up to zero, or of a stack of them.

    Parameters
    ----------
    rates : array
        From column to row, nothing off the diagonal negative, shape (…, cells, cells).

    Returns
    -------
    array
        Same shape; nothing negative, columns add up to 1.

    Notes
    -----
    Uniformised: with q the greatest loss on any diagonal, exp(A) is exp(-q) times the series of A + q, all of whose
    terms are positive, so that nothing cancels and nothing can turn negative. Halved until q is at most 1, sixteen
    terms, then squared back. Many small matrices at once, and no solver whose threads fight over a busy machine.

    References
    ----------
    uniformisation

    Example
    -------
    >>> import numpy as np
    >>> exponential(np.array([[-2.0, 0.0], [2.0, 0.0]])).round(4).tolist()
    [[0.1353, 0.0], [0.8647, 1.0]]
    """
    if not rates.size:
        return rates
    most = float(-np.diagonal(rates, axis1=-2, axis2=-1).min())
    halvings = max(0, math.ceil(math.log2(most))) if most > 1.0 else 0
    q, eye = most / 2.0**halvings, np.eye(rates.shape[-1])
    powers = [eye, rates / 2.0**halvings + q * eye]
    powers += [powers[1] @ powers[1]]
    powers += [powers[2] @ powers[1], powers[2] @ powers[2]]
    shares: FloatArray = powers[4] / math.factorial(_TERMS)
    spare = np.empty_like(shares)
    for first in range(_TERMS - 4, -1, -4):
        block = np.zeros_like(shares)
        for k in range(4):
            block += np.divide(powers[k], math.factorial(first + k), out=spare)
        shares = block + (shares if first == _TERMS - 4 else powers[4] @ shares)
    shares = _summed_to_one(shares * math.exp(-q))
    for _ in range(halvings):
        shares = shares @ shares
    return _summed_to_one(shares)


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
    part = _taking_part(rates)
    return _whole(exponential(rates[np.ix_(part, part)] * seconds_s), part, len(rates))


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
    part = _taking_part(np.abs(fixed) + np.abs(per_tank))
    inner = (rates[np.ix_(part, part)].tobytes() for rates in (fixed, per_tank))
    shares = np.frombuffer(_settled(*inner, len(part), (tank_m3, rate_m3s, seconds_s))).reshape(len(part), len(part))
    return _whole(shares, part, len(fixed))


@lru_cache(maxsize=_KEPT)
def _settled(fixed: bytes, per_tank: bytes, cells: int, course: tuple[M3, M3s, S]) -> bytes:
    """Shares between the cells that take part; as bytes, so that the same question is answered from memory."""
    inner, inner_per = (np.frombuffer(rates).reshape(cells, cells) for rates in (fixed, per_tank))
    slices = _FIRST_SLICES
    table = [_sliced(inner, inner_per, course, slices)]
    while slices < _MOST_SLICES:
        slices *= 2
        before, table = table[-1], _refined(table, _sliced(inner, inner_per, course, slices))
        if np.abs(table[-1] - before).max(initial=0.0) <= _SETTLED and table[-1].min(initial=0.0) > -_ROUNDING:
            return _summed_to_one(table[-1]).tobytes()
    raise NotDefined(
        "flow while the tank falls",
        reason=f"it did not settle in {_MOST_SLICES} slices",
        remedy="Look for a volume or flow that is far too small or too large.",
    )


def _sliced(fixed: FloatArray, per_tank: FloatArray, course: tuple[M3, M3s, S], slices: int) -> FloatArray:
    """Product of the slices' exponentials, later ones to the left; neighbours are multiplied pair by pair."""
    tank_m3, rate_m3s, seconds_s = course
    cuts = np.geomspace(tank_m3, tank_m3 + rate_m3s * seconds_s, slices + 1)
    steps = np.diff(cuts) / rate_m3s
    logs = np.diff(np.log(cuts)) / rate_m3s
    shares = exponential(fixed * steps[:, None, None] + per_tank * logs[:, None, None])
    while len(shares) > 1:
        shares = shares[1::2] @ shares[0::2]
    product: FloatArray = shares[0]
    return product


def _refined(table: list[FloatArray], finer: FloatArray) -> list[FloatArray]:
    """Next row of Romberg's table: a slice's error has even powers of its width only, and each entry drops one more."""
    row = [finer]
    for n, coarse in enumerate(table[:_ROMBERG], start=1):
        row.append(row[-1] + (row[-1] - coarse) / (4.0**n - 1.0))
    return row


def _summed_to_one(shares: FloatArray) -> FloatArray:
    """Shares without what rounding put below zero, each column adding up to 1."""
    clipped: FloatArray = np.maximum(shares, 0.0)
    summed: FloatArray = clipped / clipped.sum(axis=-2, keepdims=True)
    return summed


def _taking_part(rates: FloatArray) -> npt.NDArray[np.intp]:
    """Cells that give or take; the others keep what they hold and need no reckoning."""
    moving = rates != 0.0
    return np.flatnonzero(moving.any(axis=0) | moving.any(axis=1))


def _whole(inner: FloatArray, part: npt.NDArray[np.intp], size: int) -> FloatArray:
    shares = np.eye(size)
    shares[np.ix_(part, part)] = inner
    return shares
