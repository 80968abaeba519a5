"""How a product goes into the tank: its formulation, its place by its own label, its amount in the spray."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from wetrun.planning.formulation import Form
from wetrun.units import Frac, Kgpm3


class LabelPlace(StrEnum):
    """A place in the mixing order that a label gives without naming what stands beside it."""

    FIRST = "first"
    LAST = "last"


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelOrder:
    """What a product's label says of its place in the mixing order, as the user typed it.

    Attributes
    ----------
    place : LabelPlace or None
        First or last of all.
    after, before : tuple of str or Form
        Products of the same tank by name, or formulations, that go in earlier or later.
    """

    place: LabelPlace | None = None
    after: tuple[str | Form, ...] = ()
    before: tuple[str | Form, ...] = ()


class DoseBase(StrEnum):
    """What a dose per volume refers to."""

    SPRAY = "finished spray"
    CARRIER = "carrier"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose:
    """An amount per volume in the tank, such as 0.25 % v/v or 8.5 lb per 100 gal.

    Attributes
    ----------
    base : DoseBase
        Per volume of finished spray, or of the carrier alone.
    volume_frac : float or None
        Liquid product per volume [frac].
    mass_kgpm3 : float or None
        Dry product per volume [kg/m3].
    low_kgpm3, high_kgpm3 : float or None
        What the label allows of a dry product [kg/m3].
    low_frac, high_frac : float or None
        What the label allows of a liquid product [frac].
    """

    base: DoseBase
    volume_frac: Frac | None = None
    mass_kgpm3: Kgpm3 | None = None
    low_frac: Frac | None = None
    high_frac: Frac | None = None
    low_kgpm3: Kgpm3 | None = None
    high_kgpm3: Kgpm3 | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Mixing:
    """What loads have to know of a product besides its rate.

    Attributes
    ----------
    form : Form or None
        Its formulation; None if it was not typed.
    dose : Dose or None
        Its amount per volume, if it has no rate per area.
    label : LabelOrder
        Its label's word on the order.
    density_kgpm3 : float or None
        Density of a liquid product [kg/m3]; None takes the carrier's.
    """

    form: Form | None = None
    dose: Dose | None = None
    label: LabelOrder = LabelOrder()
    density_kgpm3: Kgpm3 | None = None
