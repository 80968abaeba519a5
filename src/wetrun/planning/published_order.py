"""Mixing orders as publications print them, each with its source and with what it does not name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from wetrun.planning.formulation import Form
from wetrun.units import Frac


class OrderName(StrEnum):
    """The published orders one can choose."""

    AWAMLES = "A-W-A-M-L-E-S"
    APPLES = "A.P.P.L.E.S."
    THIRD_FIRST = "one third first"


@dataclass(frozen=True, slots=True)
class OrderPlace:
    """One place of a mixing order.

    Attributes
    ----------
    words : str
        What goes in here, or what is done.
    forms : tuple of Form
        Formulations it names; empty for something to do.
    """

    words: str
    forms: tuple[Form, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedOrder:
    """A mixing order as one publication prints it.

    Attributes
    ----------
    name : OrderName
        How it is called.
    places : tuple of OrderPlace
        In its order.
    fill_low_frac, fill_high_frac : float or None
        Share of the tank it wants filled before the first product [frac]; None if what was read prints none.
    source_key : str
        Where it is printed.
    """

    name: OrderName
    places: tuple[OrderPlace, ...]
    fill_low_frac: Frac | None
    fill_high_frac: Frac | None
    source_key: str

    def rank(self, form: Form | None) -> int | None:
        """Return the place of a formulation from 0, or None if this order does not name it."""
        found = (at for at, place in enumerate(self.places) if form in place.forms)
        return next(found, None)


_AWAMLES: Final = PublishedOrder(
    name=OrderName.AWAMLES,
    places=(
        OrderPlace("compatibility agent, defoamer", (Form.COMPATIBILITY, Form.DEFOAMER)),
        OrderPlace("ammonium sulfate alone", (Form.AMS,)),
        OrderPlace("water-dispersible dry products, as a slurry", (Form.WP, Form.WG)),
        OrderPlace("agitate until dispersed"),
        OrderPlace("microcapsules and other suspensions", (Form.CS, Form.SC)),
        OrderPlace("soluble liquids", (Form.SL,)),
        OrderPlace("emulsifiable concentrates", (Form.EC,)),
        OrderPlace("surfactants and oils", (Form.NIS, Form.COC, Form.MSO)),
        OrderPlace("ammonium sulfate premixed with a surfactant", (Form.AMS_BLEND,)),
    ),
    fill_low_frac=0.5,
    fill_high_frac=0.75,
    source_key="osu-mixing-order",
)
_APPLES: Final = PublishedOrder(
    name=OrderName.APPLES,
    places=(
        OrderPlace("agitate"),
        OrderPlace("soluble powders, ammonium sulfate among them", (Form.FERTILISER, Form.AMS, Form.SG, Form.SP)),
        OrderPlace("dry powders and granules", (Form.WG, Form.WP)),
        OrderPlace("liquid flowables and suspensions", (Form.SC, Form.CS, Form.SE)),
        OrderPlace("emulsions, oil adjuvants among them", (Form.EC, Form.EW, Form.OD, Form.COC, Form.MSO)),
        OrderPlace("solutions", (Form.SL,)),
    ),
    fill_low_frac=None,
    fill_high_frac=None,
    source_key="nd-weed-guide-apples",
)
_THIRD_FIRST: Final = PublishedOrder(
    name=OrderName.THIRD_FIRST,
    places=(
        OrderPlace("ammonium sulfate", (Form.AMS,)),
        OrderPlace("compatibility agent", (Form.COMPATIBILITY,)),
        OrderPlace("defoamer", (Form.DEFOAMER,)),
        OrderPlace("dry products, as a slurry; packets soak first", (Form.WSB, Form.WP, Form.WG)),
        OrderPlace("agitate, and fill to 80 %"),
        OrderPlace("liquids and flowables", (Form.SC, Form.SL)),
        OrderPlace("emulsifiable concentrates", (Form.EC,)),
        OrderPlace("microcapsules", (Form.CS,)),
        OrderPlace("surfactants and oils", (Form.NIS, Form.COC, Form.MSO)),
        OrderPlace("drift agent", (Form.DRIFT,)),
    ),
    fill_low_frac=1.0 / 3.0,
    fill_high_frac=1.0 / 3.0,
    source_key="sdsu-mixing-order",
)
PUBLISHED_ORDERS: Final[Mapping[OrderName, PublishedOrder]] = MappingProxyType(
    {order.name: order for order in (_AWAMLES, _APPLES, _THIRD_FIRST)}
)
"""Every order kept here, by name. They contradict each other; the label is above them all.

References
----------
osu-mixing-order, nd-weed-guide-apples, sdsu-mixing-order
"""
