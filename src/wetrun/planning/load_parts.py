"""Carrier and products of every load in whole steps of jug and scale, so that what is printed adds up."""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.errors import NotDefined
from wetrun.machine.fill import Measures
from wetrun.planning.load_split import LoadSplit
from wetrun.planning.mixing import Dose, DoseBase
from wetrun.planning.passes import Product
from wetrun.planning.recipe import Component, Recipe
from wetrun.planning.shares import HAIR, shares_of_steps, steps_within, whole_steps
from wetrun.units import M3, Frac, Kg, Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadPart:
    """What goes into each load of one thing, in whole steps; a step is a volume or a weight.

    Attributes
    ----------
    name : str
        The carrier or the product.
    product : Product or None
        None for the carrier.
    steps : tuple of int
        Steps, load by load; their sum is the total.
    step_m3 : float or None
        Step of the jug [m3], for a liquid.
    step_kg : float or None
        Step of the scale [kg], for a dry product.
    exact_steps : float
        The total before it was made whole.
    at_label : bool
        Whether steps were held back so that no load passes the label's maximum.
    """

    name: str
    product: Product | None
    steps: tuple[int, ...]
    step_m3: M3 | None = None
    step_kg: Kg | None = None
    exact_steps: float
    at_label: bool = False

    @property
    def total_steps(self) -> int:
        """Steps of all loads together."""
        return sum(self.steps)

    @property
    def total_m3(self) -> M3:
        """Of a liquid, all loads together [m3]; 0 of a dry product."""
        return self.total_steps * (self.step_m3 or 0.0)

    @property
    def total_kg(self) -> Kg:
        """Of a dry product, all loads together [kg]; 0 of a liquid."""
        return self.total_steps * (self.step_kg or 0.0)

    def off_ratios(self, shares_frac: tuple[Frac, ...]) -> tuple[Ratio, ...]:
        """Return how far rounding puts each load off, up or down [ratio].

        Parameters
        ----------
        shares_frac : tuple of float
            What part of all that is made each load is [frac].

        Returns
        -------
        tuple of float
            Rounded amount over exact amount, less one, load by load [ratio].
        """
        exact = [self.exact_steps * share for share in shares_frac]
        return tuple(count / due - 1.0 for count, due in zip(self.steps, exact, strict=True))


def load_parts(
    recipe: Recipe, split: LoadSplit, measures: Measures, carrier: str, *, alike: bool = True
) -> tuple[LoadPart, ...]:
    """Return the carrier and every product, load by load.

    Parameters
    ----------
    recipe : Recipe
        The mix.
    split : LoadSplit
        The loads.
    measures : Measures
        What gauge, jug and scale show at least.
    carrier : str
        Name of the carrier.
    alike : bool
        True gives loads of one size the very same amounts, each to the nearest step, and the total is their sum. False
        takes the nearest total, and shares it out by the largest remainders: loads of one size then differ by a step.

    Returns
    -------
    tuple of LoadPart
        The carrier first. Over each load, carrier and liquids add up to the fill; over all loads, each part to
        its total.

    Raises
    ------
    NotDefined
        If the gauge's step is not a whole number of the jug's.

    Notes
    -----
    Alike, a load is off by half a step at most and the total by half a step a load; by the nearest total, a load is off
    by a step at most and the total by half a step in all. A product whose rate is its label's maximum is rounded down
    in every load, so that no load is above the label by rounding.

    References
    ----------
    largest-remainder
    """
    jugs_per_gauge = _jugs_per_gauge(measures)
    products = tuple(_product_part(each, recipe, split, measures, alike=alike) for each in recipe.components)
    liquids = [part for part in products if part.step_m3 is not None]
    fills = [fill * jugs_per_gauge for fill in split.fills]
    left = tuple(fill - sum(part.steps[at] for part in liquids) for at, fill in enumerate(fills))
    exact = recipe.carrier_frac * split.made_m3 / measures.jug_m3
    return (LoadPart(name=carrier, product=None, steps=left, step_m3=measures.jug_m3, exact_steps=exact), *products)


def _jugs_per_gauge(measures: Measures) -> int:
    exact = measures.gauge_m3 / measures.jug_m3
    if abs(exact - round(exact)) > HAIR * exact or round(exact) < 1:
        reason = "it is no whole number of steps of the jug, so that amounts could not add up"
        remedy = "Choose gauge and jug so that one is a whole number of the other."
        raise NotDefined("step of the tank's gauge", reason=reason, remedy=remedy)
    return round(exact)


def _product_part(each: Component, recipe: Recipe, split: LoadSplit, measures: Measures, *, alike: bool) -> LoadPart:
    step = measures.jug_m3 if each.mass_kgpm3 is None else measures.scale_kg
    per_volume = each.volume_frac if each.mass_kgpm3 is None else each.mass_kgpm3
    exact = (per_volume or 0.0) * split.made_m3 / step
    if alike:
        steps = tuple(whole_steps(exact * fill / sum(split.fills), 1.0) for fill in split.fills)
    else:
        steps = shares_of_steps(whole_steps(exact, 1.0), split.fills)
    caps = _label_caps(each.product, recipe, split, step)
    held = tuple(min(count, cap) for count, cap in zip(steps, caps, strict=True)) if caps else steps
    return LoadPart(
        name=each.product.name,
        product=each.product,
        steps=held,
        step_m3=measures.jug_m3 if each.mass_kgpm3 is None else None,
        step_kg=None if each.mass_kgpm3 is None else measures.scale_kg,
        exact_steps=exact,
        at_label=held != steps,
    )


def _label_caps(product: Product, recipe: Recipe, split: LoadSplit, step: float) -> tuple[int, ...]:
    """Steps in each load at the label's maximum, rounded down; empty if no maximum per volume or area was typed."""
    dose = None if product.mixing is None else product.mixing.dose
    per_area = product.label_high_m3pm2 if product.label_high_m3pm2 is not None else product.label_high_kgpm2
    if per_area is not None:
        per_volume: float | None = per_area / recipe.rate_m3pm2
    else:
        per_volume = None if dose is None else _dose_cap(dose, recipe.carrier_frac)
    if per_volume is None:
        return ()
    return tuple(steps_within(per_volume * fill * split.gauge_m3, step) for fill in split.fills)


def _dose_cap(dose: Dose, carrier_frac: Frac) -> float | None:
    """The label's maximum per volume of finished spray."""
    high = dose.high_kgpm3 if dose.high_kgpm3 is not None else dose.high_frac
    return high if high is None or dose.base is DoseBase.SPRAY else high * carrier_frac
