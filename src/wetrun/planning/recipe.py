"""What a volume of spray is made of: carrier and every product, per volume, with the weight of the mix."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt

from wetrun.errors import NotDefined, OutOfRange
from wetrun.planning.mixing import DoseBase, Mixing
from wetrun.planning.passes import Pass, Product, RateMeaning
from wetrun.spray.carrier import specific_gravity
from wetrun.spray.load import product_in_spray_ratio
from wetrun.units import FRACTION, Frac, Kgpm3, M3pm2


@dataclass(frozen=True, slots=True, kw_only=True)
class Component:
    """One product in the mix; exactly one of the two amounts is given.

    Attributes
    ----------
    product : Product
        The product.
    volume_frac : float or None
        Liquid product in each volume of spray [frac].
    mass_kgpm3 : float or None
        Dry product in each volume of spray [kg/m3].
    """

    product: Product
    volume_frac: Frac | None = None
    mass_kgpm3: Kgpm3 | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """The tank mix of a pass.

    Attributes
    ----------
    rate_m3pm2 : float
        Spray per treated area [m3/m2].
    carrier_frac : float
        Carrier in each volume of spray [frac].
    components : tuple of Component
        Every product, as typed.
    density_kgpm3 : float
        Weight of the mix [kg/m3].
    """

    rate_m3pm2: M3pm2
    carrier_frac: Frac
    components: tuple[Component, ...]
    density_kgpm3: Kgpm3


def recipe_of_pass(planned: Pass) -> Recipe:
    """Return what a volume of a pass's spray is made of.

    Parameters
    ----------
    planned : Pass
        The pass with its products.

    Returns
    -------
    Recipe
        Carrier and liquid products make up the whole volume.

    Raises
    ------
    NotDefined
        If a product has no rate, or two have the same name.
    OutOfRange
        If the liquid products leave no room for carrier.

    Notes
    -----
    The rate of the pass is that of the finished spray, so liquid products take their part of it. Dry products are taken
    to add weight and no volume: what they displace is well under what a tank's gauge shows. A liquid product without a
    typed density weighs what the carrier weighs.

    References
    ----------
    msu-calibration, missouri-recipe

    Example
    -------
    32 fl oz/ac of a liquid in 20 gal/ac of spray: 1.25 % of the spray is product, 98.75 % carrier.
    """
    _check_names(planned)
    rate_m3pm2 = _solution_rate_m3pm2(planned)
    of_spray_frac = sum(_spray_frac(each, rate_m3pm2) for each in planned.products)
    of_carrier_frac = sum(_carrier_frac(each) for each in planned.products)
    carrier_frac = (1.0 - of_spray_frac) / (1.0 + of_carrier_frac)
    if carrier_frac <= 0.0:
        remedy = "Check the products' rates and the rate of the pass, and the units of both."
        raise OutOfRange(
            f"liquid products in the spray of {planned.ident}", of_spray_frac, FRACTION, high=1.0, remedy=remedy
        )
    components = tuple(_component(each, rate_m3pm2, carrier_frac) for each in planned.products)
    return Recipe(
        rate_m3pm2=rate_m3pm2,
        carrier_frac=carrier_frac,
        components=components,
        density_kgpm3=carrier_frac * planned.carrier.density_kgpm3
        + sum(_weights_kgpm3(components, planned.carrier.density_kgpm3)),
    )


def _check_names(planned: Pass) -> None:
    names = [each.name for each in planned.products]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        reason = "two products of this pass have that name, and a load sheet could not tell them apart"
        raise NotDefined(f"product “{twice}”", reason=reason, remedy="Give each product a name of its own.")


def _solution_rate_m3pm2(planned: Pass) -> M3pm2:
    """What really lands on the field; a rate corrected for density beforehand is put back."""
    if planned.rate_meaning is RateMeaning.SOLUTION:
        return planned.rate_m3pm2
    return planned.rate_m3pm2 / sqrt(specific_gravity(planned.carrier.density_kgpm3))


def _spray_frac(product: Product, rate_m3pm2: M3pm2) -> Frac:
    dose = (product.mixing or Mixing()).dose
    if product.rate_m3pm2 is not None:
        return product_in_spray_ratio(product.rate_m3pm2, rate_m3pm2)
    return dose.volume_frac or 0.0 if dose is not None and dose.base is DoseBase.SPRAY else 0.0


def _carrier_frac(product: Product) -> Frac:
    dose = (product.mixing or Mixing()).dose
    return dose.volume_frac or 0.0 if dose is not None and dose.base is DoseBase.CARRIER else 0.0


def _component(product: Product, rate_m3pm2: M3pm2, carrier_frac: Frac) -> Component:
    dose = (product.mixing or Mixing()).dose
    if product.rate_kgpm2 is not None:
        return Component(product=product, mass_kgpm3=product.rate_kgpm2 / rate_m3pm2)
    if dose is not None and dose.mass_kgpm3 is not None:
        share = carrier_frac if dose.base is DoseBase.CARRIER else 1.0
        return Component(product=product, mass_kgpm3=dose.mass_kgpm3 * share)
    liquid_frac = _spray_frac(product, rate_m3pm2) + _carrier_frac(product) * carrier_frac
    if liquid_frac <= 0.0:
        remedy = "Give its rate as the label does: rate, in_spray or in_carrier."
        raise NotDefined(
            f"product “{product.name}”", reason="it has no rate, so no load can be worked out", remedy=remedy
        )
    return Component(product=product, volume_frac=liquid_frac)


def _weights_kgpm3(components: Iterable[Component], carrier_kgpm3: Kgpm3) -> Iterable[Kgpm3]:
    for each in components:
        own_kgpm3 = (each.product.mixing or Mixing()).density_kgpm3 or carrier_kgpm3
        yield each.mass_kgpm3 if each.mass_kgpm3 is not None else (each.volume_frac or 0.0) * own_kgpm3
