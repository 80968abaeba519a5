"""The jar test: the field's own rates scaled to a jar, with the same water and the same first fill."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from wetrun.planning.recipe import Component, Recipe
from wetrun.units import M2, M3, Frac, Kg

METHOD: Final = "jar test"
METHOD_NUMBER: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class JarPart:
    """One product in the jar.

    Attributes
    ----------
    name : str
        The product.
    volume_m3 : float or None
        Of a liquid product [m3].
    mass_kg : float or None
        Of a dry product [kg].
    """

    name: str
    volume_m3: M3 | None = None
    mass_kg: Kg | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JarTest:
    """Amounts for a jar, in the mixing order.

    Attributes
    ----------
    jar_m3 : float
        Spray in the jar when everything is in [m3].
    area_m2 : float
        Treated area that stands for [m2].
    first_m3 : float
        Carrier before the first product [m3].
    rest_m3 : float
        Carrier to fill up with [m3].
    parts : tuple of JarPart
        Products, in the order they go in.
    """

    jar_m3: M3
    area_m2: M2
    first_m3: M3
    rest_m3: M3
    parts: tuple[JarPart, ...]
    method: str = METHOD
    method_number: int = METHOD_NUMBER


def jar_test(recipe: Recipe, order: tuple[str, ...], *, jar_m3: M3, first_fill_frac: Frac) -> JarTest:
    """Return the amounts that make a jar of the very mix a tank gets.

    Parameters
    ----------
    recipe : Recipe
        The mix.
    order : tuple of str
        Products by name, as they go in.
    jar_m3 : float
        Spray wanted in the jar [m3].
    first_fill_frac : float
        Share of the carrier that is in before the first product [frac].

    Returns
    -------
    JarTest
        Carrier and liquid products make up the jar.

    Notes
    -----
    It shows whether a mix stays a mix (layers, clumps, gel, heat), not whether it works or is allowed. The same water
    and the same first fill as in the field belong to it.

    References
    ----------
    grdc-7-5, usu-jar-test

    Example
    -------
    70 L/ha with 2 L/ha of a product, divided by 100: 700 mL in the jar, 20 mL of it product.
    """
    by_name = {each.product.name: each for each in recipe.components}
    carrier_m3 = recipe.carrier_frac * jar_m3
    first_m3 = first_fill_frac * carrier_m3
    return JarTest(
        jar_m3=jar_m3,
        area_m2=jar_m3 / recipe.rate_m3pm2,
        first_m3=first_m3,
        rest_m3=carrier_m3 - first_m3,
        parts=tuple(_part(by_name[name], jar_m3) for name in order),
    )


def _part(component: Component, jar_m3: M3) -> JarPart:
    name = component.product.name
    if component.mass_kgpm3 is not None:
        return JarPart(name=name, mass_kg=component.mass_kgpm3 * jar_m3)
    return JarPart(name=name, volume_m3=(component.volume_frac or 0.0) * jar_m3)
