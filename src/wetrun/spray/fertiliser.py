"""Liquid fertilisers by grade: the printed weights, and straight lines through them."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from wetrun.errors import NotDefined, OutOfRange
from wetrun.spray.definitions import fahrenheit_k, pounds_per_gallon_kgpm3
from wetrun.units import KELVIN, K, Kgpm3

EXTRAPOLATION_K: Final[K] = fahrenheit_k(30.0) - fahrenheit_k(0.0)
"""How far beyond a grade's printed temperatures its line is trusted (30 °F)."""


@dataclass(frozen=True, slots=True)
class Grade:
    """A fertiliser grade as printed: (°F, lb per US gallon) pairs, and what to be careful of."""

    printed: tuple[tuple[float, float], ...]
    source_key: str
    salts_out_f: float | None
    note: str


_AT_60_F: Final = "the source prints the typical weight without a temperature; it is taken at 60 °F"
GRADES: Final[Mapping[str, Grade]] = {
    "UAN 28": Grade(
        ((20.0, 10.78), (30.0, 10.76), (40.0, 10.74), (60.0, 10.67), (80.0, 10.60)),
        "fluid-fertiliser-characteristics",
        -1.0,
        f"{_AT_60_F}; the 80 °F weight is printed as about 10.6; another source prints 10.65 lb/gal",
    ),
    "UAN 30": Grade(
        ((20.0, 10.98), (30.0, 10.95), (60.0, (10.67 + 11.06) / 2.0)),
        "fluid-fertiliser-characteristics",
        None,
        "the 60 °F weight is midway between 28 % and 32 % (derived, not printed)",
    ),
    "UAN 32": Grade(
        ((20.0, 11.17), (30.0, 11.14), (60.0, 11.06)),
        "fluid-fertiliser-characteristics",
        28.0,
        _AT_60_F,
    ),
    "10-34-0": Grade(
        ((20.0, 11.76), (30.0, 11.74), (60.0, 11.65)),
        "fluid-fertiliser-characteristics",
        -10.0,
        f"{_AT_60_F}; suppliers differ: another source prints 11.4 lb/gal, 2 % lighter",
    ),
}
CARRIER_GRADES: Final[tuple[str, ...]] = tuple(GRADES)


def grade_of(name: str) -> Grade:
    """Return what is printed of a grade.

    Raises
    ------
    NotDefined
        A grade without printed weights.

    Example
    -------
    >>> grade_of("UAN 32").salts_out_f
    28.0
    """
    if name not in GRADES:
        raise NotDefined(
            f"carrier “{name}”",
            reason="no printed weights are kept for this grade",
            remedy=f"Use one of {', '.join(CARRIER_GRADES)}, or enter the density the supplier states or you weighed.",
        )
    return GRADES[name]


def grade_density_kgpm3(name: str, temp_k: K) -> Kgpm3:
    """Return the density of a grade by straight lines through its printed weights.

    Parameters
    ----------
    name
        Name of the grade.
    temp_k
        Temperature of the product [K].

    Returns
    -------
    Kgpm3
        Density [kg/m3].

    Raises
    ------
    NotDefined
        A grade without printed weights.
    OutOfRange
        More than 30 °F outside the printed temperatures.

    References
    ----------
    fluid-fertiliser-characteristics

    Example
    -------
    >>> round(grade_density_kgpm3("UAN 28", fahrenheit_k(60.0)) / pounds_per_gallon_kgpm3(1.0), 2)
    10.67
    """
    printed = grade_of(name).printed
    temps = [fahrenheit_k(degrees) for degrees, _ in printed]
    weights = [pounds_per_gallon_kgpm3(pounds) for _, pounds in printed]
    _check_near_print(name, temp_k, low_k=temps[0], high_k=temps[-1])
    # Beyond an end the line through the end's two points goes on.
    segment = min(max(bisect_left(temps, temp_k) - 1, 0), len(temps) - 2)
    share = (temp_k - temps[segment]) / (temps[segment + 1] - temps[segment])
    return weights[segment] + share * (weights[segment + 1] - weights[segment])


def grade_note(name: str, temp_k: K) -> str:
    """Return what a grade's number rests on, and when salts come out at a temperature [K].

    Example
    -------
    >>> grade_note("UAN 32", fahrenheit_k(20.0)).split("; ")[-2]
    'CAUTION: at or below the 28 °F where salts come out'
    """
    grade = grade_of(name)
    if grade.salts_out_f is None:
        return f"{grade.note}; no salting-out temperature is printed"
    caution = f"salts come out near {grade.salts_out_f:g} °F"
    if temp_k <= fahrenheit_k(grade.salts_out_f):
        caution = f"CAUTION: at or below the {grade.salts_out_f:g} °F where salts come out; do not spray"
    return f"{grade.note}; {caution}"


def _check_near_print(name: str, temp_k: K, *, low_k: K, high_k: K) -> None:
    if not low_k - EXTRAPOLATION_K <= temp_k <= high_k + EXTRAPOLATION_K:
        raise OutOfRange(
            f"temperature of {name}",
            temp_k,
            KELVIN,
            low=round(low_k - EXTRAPOLATION_K, 2),
            high=round(high_k + EXTRAPOLATION_K, 2),
            remedy="No weights are printed near it: weigh the product and enter its density.",
        )
