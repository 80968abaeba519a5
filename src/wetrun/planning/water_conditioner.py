"""Ammonium sulfate against hard water, from a water test; the label's own range wins."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.planning.formulation import Form
from wetrun.planning.recipe import Component, Recipe
from wetrun.planning.water_test import WaterTest
from wetrun.spray.definitions import LITRE_M3, pounds_per_gallon_kgpm3
from wetrun.units import Kgpm3

METHOD: Final = "water conditioner"
METHOD_NUMBER: Final = 1
_PPM_KGPM3: Final[Kgpm3] = 1e-6 / LITRE_M3
"""A milligram in a litre."""


class ConditionerAdvice(StrEnum):
    """What a water test says of the ammonium sulfate in a tank."""

    COVERED = "covered"
    BELOW_TEST = "below what the water test asks for"
    LABEL_CAPS = "the label allows less than the water test asks for"
    NONE_IN_TANK = "none in the tank"


@dataclass(frozen=True, slots=True, kw_only=True)
class ConditionerFinding:
    """The ammonium sulfate a water asks for beside what the tank gets.

    Attributes
    ----------
    needed_kgpm3 : float
        By the water test, per volume of spray [kg/m3].
    planned_kgpm3 : float or None
        What was typed for this tank, per volume of spray or carrier as typed [kg/m3]; None if there is none.
    low_kgpm3, high_kgpm3 : float or None
        The label's range, as typed [kg/m3].
    advice : ConditionerAdvice
        How they stand to each other. The label's range wins over the test.
    """

    needed_kgpm3: Kgpm3
    planned_kgpm3: Kgpm3 | None
    low_kgpm3: Kgpm3 | None
    high_kgpm3: Kgpm3 | None
    advice: ConditionerAdvice
    method: str = METHOD
    method_number: int = METHOD_NUMBER


def ammonium_sulfate_kgpm3(water: WaterTest) -> Kgpm3:
    """Return the ammonium sulfate that answers the ions of a water.

    Parameters
    ----------
    water : WaterTest
        The water.

    Returns
    -------
    float
        Per volume of spray [kg/m3].

    Notes
    -----
    The published sum is in lb per 100 gal for ions in ppm: 0.002 K + 0.005 Na + 0.009 Ca + 0.014 Mg + 0.042 Fe. It is
    for herbicides that ions bind, such as weak acids; pH, bicarbonate and other metals are left out.

    References
    ----------
    ndsu-ams-2015

    Example
    -------
    >>> hard = WaterTest(calcium_kgpm3=0.3, magnesium_kgpm3=0.1)  # 300 ppm and 100 ppm: 2.7 + 1.4 lb/100 gal
    >>> round(ammonium_sulfate_kgpm3(hard) / pounds_per_gallon_kgpm3(0.01), 2)
    4.1
    """
    ions = (
        (0.002, water.potassium_kgpm3),
        (0.005, water.sodium_kgpm3),
        (0.009, water.calcium_kgpm3),
        (0.014, water.magnesium_kgpm3),
        (0.042, water.iron_kgpm3),
    )
    pounds_per_hundred = sum(factor * ion / _PPM_KGPM3 for factor, ion in ions)
    return pounds_per_gallon_kgpm3(pounds_per_hundred / 100.0)


def conditioner_finding(water: WaterTest, recipe: Recipe) -> ConditionerFinding:
    """Return how a tank's ammonium sulfate stands to its water and its label.

    Parameters
    ----------
    water : WaterTest
        The water.
    recipe : Recipe
        The mix.

    Returns
    -------
    ConditionerFinding
        Of several such products their sum, and the range of the first that has one typed.

    Notes
    -----
    Of a liquid conditioner, or one premixed with a surfactant, the amount of ammonium sulfate is not known here: it
    counts as none, and the label's rate holds.

    References
    ----------
    ndsu-ams-2015
    """
    salts = [each for each in recipe.components if _is_salt(each)]
    planned_kgpm3 = sum(_typed_kgpm3(each) for each in salts) if salts else None
    doses = [each.product.mixing.dose for each in salts if each.product.mixing and each.product.mixing.dose]
    low_kgpm3 = next((dose.low_kgpm3 for dose in doses if dose.low_kgpm3 is not None), None)
    high_kgpm3 = next((dose.high_kgpm3 for dose in doses if dose.high_kgpm3 is not None), None)
    needed_kgpm3 = ammonium_sulfate_kgpm3(water)
    return ConditionerFinding(
        needed_kgpm3=needed_kgpm3,
        planned_kgpm3=planned_kgpm3,
        low_kgpm3=low_kgpm3,
        high_kgpm3=high_kgpm3,
        advice=_advice(needed_kgpm3, planned_kgpm3, high_kgpm3),
    )


def _is_salt(component: Component) -> bool:
    mixing = component.product.mixing
    return mixing is not None and mixing.form is Form.AMS and component.mass_kgpm3 is not None


def _typed_kgpm3(component: Component) -> Kgpm3:
    """As it was typed: a label's range is per the same volume, whether spray or carrier."""
    dose = None if component.product.mixing is None else component.product.mixing.dose
    return (component.mass_kgpm3 if dose is None else dose.mass_kgpm3) or 0.0


def _advice(needed_kgpm3: Kgpm3, planned_kgpm3: Kgpm3 | None, high_kgpm3: Kgpm3 | None) -> ConditionerAdvice:
    if planned_kgpm3 is None:
        return ConditionerAdvice.NONE_IN_TANK if needed_kgpm3 > 0.0 else ConditionerAdvice.COVERED
    if planned_kgpm3 >= needed_kgpm3:
        return ConditionerAdvice.COVERED
    capped = high_kgpm3 is not None and needed_kgpm3 > high_kgpm3
    return ConditionerAdvice.LABEL_CAPS if capped else ConditionerAdvice.BELOW_TEST
