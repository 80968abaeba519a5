"""Amounts in whole steps of gauge, jug and scale as a reader reads them, and shares that add up as printed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from wetrun.machine.fill import Measures
from wetrun.papers.reader import THOUSANDS, Reader
from wetrun.planning.load_parts import LoadPart
from wetrun.planning.shares import shares_of_steps, whole_steps
from wetrun.quantity import Kind, System
from wetrun.quantity.graduation import USUAL_GAUGE, USUAL_JUG, USUAL_SCALE, Graduation, graduation_of_text
from wetrun.units import M2

_KEYS: Final = {"gauge": Kind.VOLUME, "jug": Kind.VOLUME, "scale": Kind.MASS}
_USUAL: Final = {"gauge": USUAL_GAUGE, "jug": USUAL_JUG, "scale": USUAL_SCALE}
SMALL_AREA: Final = 10.0
"""Below this many acres or hectares a second decimal of area is printed."""


@dataclass(frozen=True, slots=True)
class MarkedMeasures:
    """What gauge, jug and scale are marked in for one reader.

    Attributes
    ----------
    gauge, jug, scale : Graduation
        Their steps.
    """

    gauge: Graduation
    jug: Graduation
    scale: Graduation

    @property
    def measures(self) -> Measures:
        """The same steps in SI."""
        return Measures(gauge_m3=self.gauge.si_value(), jug_m3=self.jug.si_value(), scale_kg=self.scale.si_value())

    def of_part(self, part: LoadPart) -> Graduation:
        """Return what a part of a load is measured with."""
        return self.jug if part.step_m3 is not None else self.scale


def marked_measures(typed: Mapping[str, str], system: System) -> MarkedMeasures:
    """Return the measures a reader uses: those typed, if marked in the reader's units, else the usual ones.

    Parameters
    ----------
    typed : mapping of str to str
        Texts by key of the season file, such as ``machine.fill.jug``.
    system : System
        The reader's unit system.

    Returns
    -------
    MarkedMeasures
        1 gal, 1 fl oz and 1 oz, or 1 L, 10 mL and 10 g, unless typed.

    Example
    -------
    >>> marked_measures({"machine.fill.jug": "2 fl oz"}, System.US).jug.text
    '2 fl oz'
    """
    found = {}
    for key, kind in _KEYS.items():
        text = typed.get(f"machine.fill.{key}")
        own = None if text is None else graduation_of_text(text, kind, system)
        found[key] = own or _USUAL[key][system]
    return MarkedMeasures(**found)


def counted(count: int, graduation: Graduation, reader: Reader) -> str:
    """Return a count of steps with its units, thousands parted.

    Example
    -------
    >>> counted(2400, USUAL_JUG[System.US], Reader(System.US)), counted(7052, USUAL_JUG[System.SI], Reader(System.SI))
    ('18 gal 96 fl oz', '70.52 L')
    """
    shown = [
        f"{amount:,f}".replace(",", THOUSANDS[reader.system]) + f" {unit}" for amount, unit in graduation.parts(count)
    ]
    return " ".join(shown)


def shared_areas(total_m2: M2, areas_m2: Sequence[M2], reader: Reader) -> tuple[int, tuple[int, ...], int]:
    """Return areas as printed, so that they add up: the total and each part in steps, and the decimals of a step.

    Parameters
    ----------
    total_m2 : float
        All of it [m2].
    areas_m2 : sequence of float
        Its parts [m2].
    reader : Reader
        Whose units.

    Returns
    -------
    tuple
        Total in steps, parts in steps, decimals of one step.

    Example
    -------
    >>> shared_areas(1e6, [6e5, 4e5], Reader(System.SI))
    (1000, (600, 400), 1)
    """
    shown = reader.number(total_m2, Kind.AREA)
    decimals = 2 if shown < SMALL_AREA else 1
    total = whole_steps(shown, 10.0**-decimals)
    return total, shares_of_steps(total, areas_m2), decimals


def area_text(steps: int, decimals: int, reader: Reader) -> str:
    """Return a count of steps of area with its unit.

    Example
    -------
    >>> area_text(14800, 1, Reader(System.US))
    '1,480.0 ac'
    """
    digits = f"{steps / 10**decimals:,.{decimals}f}".replace(",", THOUSANDS[reader.system])
    return f"{digits} {reader.unit(Kind.AREA)}"


def whole_text(value: float, kind: Kind, reader: Reader) -> str:
    """Return an SI value in whole units with its unit, thousands parted.

    Example
    -------
    >>> whole_text(5806.0, Kind.MASS, Reader(System.US))
    '12,800 lb'
    """
    return f"{reader.number(value, kind):,.0f}".replace(",", THOUSANDS[reader.system]) + f" {reader.unit(kind)}"
