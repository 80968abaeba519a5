"""The tip as an orifice: flow from size, from rows, from catches; and the flow a rate demands of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

from wetrun.errors import NotDefined
from wetrun.spray.carrier import REFERENCE_WATER_KGPM3
from wetrun.spray.catch_fit import OrificeFit, fitted_law
from wetrun.spray.definitions import BAR_PA, LITRE_M3, MINUTE_S, POUND_PER_SQUARE_INCH_PA, US_GALLON_M3
from wetrun.spray.demand import demand_per_tip_m3s, rate_at, speed_at, water_equivalent
from wetrun.spray.flow_law import FlowLaw, worn
from wetrun.spray.flow_rows import FlowRows
from wetrun.spray.square_root import OrificeLaw
from wetrun.units import M3s, Pa

__all__ = [
    "ISO_SIZES",
    "REFERENCE_WATER_KGPM3",
    "FlowLaw",
    "FlowRows",
    "IsoSize",
    "OrificeFit",
    "OrificeLaw",
    "demand_per_tip_m3s",
    "fitted_law",
    "law_of_iso_size",
    "law_of_us_size",
    "rate_at",
    "size_number",
    "speed_at",
    "water_equivalent",
    "worn",
]

# The two definitions of one size unit. They differ by 1.3 %, a quarter of a 5 % limit: a law keeps which it is.
ISO_FLOW_M3S: Final[M3s] = 0.4 * LITRE_M3 / MINUTE_S
ISO_PRESSURE_PA: Final[Pa] = 3.0 * BAR_PA
US_FLOW_M3S: Final[M3s] = 0.1 * US_GALLON_M3 / MINUTE_S
US_PRESSURE_PA: Final[Pa] = 40.0 * POUND_PER_SQUARE_INCH_PA

Status = Literal["from memory, sure", "from memory, fairly sure", "from memory, unsure"]


@dataclass(frozen=True, slots=True)
class IsoSize:
    """A size of ISO 10625 with its colour; ``status`` says how well the colour is known."""

    size: str
    colour: str
    status: Status


ISO_SIZES: Final[Mapping[str, IsoSize]] = {
    entry.size: entry
    for entry in (
        IsoSize("01", "orange", "from memory, sure"),
        IsoSize("015", "green", "from memory, sure"),
        IsoSize("02", "yellow", "from memory, sure"),
        IsoSize("025", "lilac", "from memory, sure"),
        IsoSize("03", "blue", "from memory, sure"),
        IsoSize("035", "red-brown", "from memory, unsure"),
        IsoSize("04", "red", "from memory, sure"),
        IsoSize("05", "brown", "from memory, sure"),
        IsoSize("06", "grey", "from memory, sure"),
        IsoSize("08", "white", "from memory, sure"),
        IsoSize("10", "light blue", "from memory, sure"),
        IsoSize("15", "light green", "from memory, fairly sure"),
        IsoSize("20", "black", "from memory, fairly sure"),
    )
}


def size_number(size: str) -> float:
    """Return the number a size stands for: a decimal point belongs after its second digit.

    Parameters
    ----------
    size
        Size as stamped on the tip: two digits or more.

    Returns
    -------
    float
        Tenths of a US gallon per minute at 40 psi; the same number times 0.4 L/min at 3 bar in the ISO series.

    Raises
    ------
    NotDefined
        Anything but two to four digits, or all zeros.

    References
    ----------
    iso-10625

    Example
    -------
    >>> size_number("015"), size_number("03"), size_number("10")
    (1.5, 3.0, 10.0)
    """
    if not (size.isascii() and size.isdigit() and 2 <= len(size) <= 4 and int(size) > 0):
        raise NotDefined(
            f"tip size “{size}”",
            reason="a size is two to four digits as stamped on the tip, such as 03 or 015",
            remedy="Type the size without the angle and without a point, or enter the tip's flow and pressure.",
        )
    return float(f"{size[:2]}.{size[2:] or '0'}")


def law_of_iso_size(size: str) -> OrificeLaw:
    """Return the nominal law of a size in the ISO series: 0.4 L/min per size unit of water at 3 bar.

    Parameters
    ----------
    size
        Size as stamped on the tip.

    Returns
    -------
    OrificeLaw
        The law; its origin names the definition.

    Raises
    ------
    NotDefined
        A size that cannot be read.

    Notes
    -----
    A new tip may be 5 % off its nominal flow (second-hand statement of the standard's tolerance).

    References
    ----------
    iso-10625, uk-nozzle-chart

    Example
    -------
    >>> round(law_of_iso_size("03").flow_m3s(3e5) * 60_000, 6)  # L/min
    1.2
    """
    coefficient = size_number(size) * ISO_FLOW_M3S / ISO_PRESSURE_PA**0.5
    return OrificeLaw(coefficient, f"size {size}, ISO nominal flow (0.4 L/min per size unit at 3 bar)")


def law_of_us_size(size: str) -> OrificeLaw:
    """Return the law of a size by its US definition: a tenth of a US gallon per minute per size unit at 40 psi.

    Parameters
    ----------
    size
        Size as stamped on the tip.

    Returns
    -------
    OrificeLaw
        The law; its origin names the definition. It is 1.3 % below the ISO nominal.

    Raises
    ------
    NotDefined
        A size that cannot be read.

    References
    ----------
    us-size-definition

    Example
    -------
    >>> round(law_of_us_size("03").flow_m3s(3e5) * 60_000, 3)  # L/min
    1.184
    """
    coefficient = size_number(size) * US_FLOW_M3S / US_PRESSURE_PA**0.5
    return OrificeLaw(coefficient, f"size {size}, US definition (0.1 US gal/min per size unit at 40 psi)")
