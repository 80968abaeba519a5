"""All products of a tank mix together: what their labels leave, and where they contradict each other."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from wetrun.planning.passes import Pass, Product
from wetrun.spray.droplets import DropletClass
from wetrun.units import CUBIC_METRE_PER_SQUARE_METRE, METRE, METRE_PER_SECOND, M, M3pm2, Mps, Pa, Ratio, Unit

WISH = "the customer's own wish"


class LimitThing(StrEnum):
    """What products can disagree about."""

    RATE = "carrier rate"
    CLASSES = "droplet classes"
    TIPS = "permitted tips"
    WIND = "wind"
    HEIGHT = "boom height"
    DATES = "dates"
    CARRIER = "carrier"


@dataclass(frozen=True, slots=True)
class LimitPart:
    """What one product (or the customer) says about one thing.

    Attributes
    ----------
    owner : str
        Whose limit.
    low, high : float or None
        A range, in ``unit``.
    unit : Unit or None
        Unit of the range; None for names.
    names : tuple of str
        Classes, tips or dates by name.
    """

    owner: str
    low: float | None = None
    high: float | None = None
    unit: Unit | None = None
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Conflict:
    """Limits that leave nothing, product by product.

    Attributes
    ----------
    thing : LimitThing
        What they disagree about.
    parts : tuple of LimitPart
        Each owner's say.
    """

    thing: LimitThing
    parts: tuple[LimitPart, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PassLimits:
    """What all products of a pass, and the customer, leave open.

    Attributes
    ----------
    rate_low_m3pm2, rate_high_m3pm2 : float
        Carrier rate [m3/m2].
    label_low_m3pm2, label_high_m3pm2 : float or None
        The labels' own least and most carrier, without the customer's wish [m3/m2].
    classes : frozenset of DropletClass or None
        Droplet classes; None if nobody asks for one.
    permitted : mapping of str to float or None, or None
        Tips every label with a list names, each with its lowest maximum pressure [Pa]; None if no label has a list.
    speed_high_mps, wind_low_mps, wind_high_mps : float or None
        Speed and wind [m/s].
    height_high_m : float or None
        Boom height [m].
    first_day, last_day : date
        Dates.
    label_ratio : float or None
        How far the delivered rate may rise over target before a label maximum is passed [ratio].
    label_owner : str
        The product that gives the label ratio.
    conflicts : tuple of Conflict
        Where nothing is left.
    """

    rate_low_m3pm2: M3pm2
    rate_high_m3pm2: M3pm2
    label_low_m3pm2: M3pm2 | None
    label_high_m3pm2: M3pm2 | None
    classes: frozenset[DropletClass] | None
    permitted: Mapping[str, Pa | None] | None
    speed_high_mps: Mps | None
    wind_low_mps: Mps | None
    wind_high_mps: Mps | None
    height_high_m: M | None
    first_day: date
    last_day: date
    label_ratio: Ratio | None
    label_owner: str = ""
    conflicts: tuple[Conflict, ...] = field(default=())


def combined_limits(planned: Pass) -> PassLimits:
    """Return the limits of a pass: every product's label and the customer's wish together.

    Parameters
    ----------
    planned : Pass
        The pass with its products.

    Returns
    -------
    PassLimits
        With a conflict, and each product's part in it, wherever the intersection is empty.

    Notes
    -----
    Labels as the user typed them; the label itself stays the law. Buffer zones, intervals and totals per season are
    left out.
    """
    products = planned.products
    rate = _rate(planned)
    wind = _range_parts(products, lambda p: (p.wind_low_mps, p.wind_high_mps), METRE_PER_SECOND)
    wind_low, wind_high = _meet(wind)
    classes, class_parts = _classes(planned)
    permitted = _permitted(products)
    first_day = max([planned.first_day, *(p.first_day for p in products if p.first_day)])
    last_day = min([planned.last_day, *(p.last_day for p in products if p.last_day)])
    ratio, owner = min(((p.label_ratio, p.name) for p in products if p.label_ratio is not None), default=(None, ""))
    rate_low, rate_high = _meet(rate)
    label_low, label_high = _meet(rate[1:])
    conflicts = (
        *_crossed(LimitThing.RATE, rate),
        *_crossed(LimitThing.WIND, wind),
        *(() if classes is None or classes else (Conflict(LimitThing.CLASSES, class_parts),)),
        *_crossed(LimitThing.HEIGHT, _height(planned)),
        *_tip_conflicts(products, permitted),
        *_date_conflicts(planned, first_day, last_day),
        *_carrier_conflicts(planned),
    )
    return PassLimits(
        rate_low_m3pm2=planned.rate_low_m3pm2 if rate_low is None else rate_low,
        rate_high_m3pm2=planned.rate_high_m3pm2 if rate_high is None else rate_high,
        label_low_m3pm2=label_low,
        label_high_m3pm2=label_high,
        classes=classes,
        permitted=permitted,
        speed_high_mps=_least(p.speed_high_mps for p in products),
        wind_low_mps=wind_low,
        wind_high_mps=wind_high,
        height_high_m=_least(p.height_high_m for p in products),
        first_day=first_day,
        last_day=last_day,
        label_ratio=ratio,
        label_owner=owner,
        conflicts=conflicts,
    )


def _least(values: Iterable[float | None]) -> float | None:
    return min((value for value in values if value is not None), default=None)


def _rate(planned: Pass) -> tuple[LimitPart, ...]:
    own = LimitPart(WISH, planned.rate_low_m3pm2, planned.rate_high_m3pm2, CUBIC_METRE_PER_SQUARE_METRE)
    pick: Callable[[Product], tuple[float | None, float | None]] = lambda p: (p.carrier_low_m3pm2, p.carrier_high_m3pm2)  # noqa: E731
    return (own, *_range_parts(planned.products, pick, CUBIC_METRE_PER_SQUARE_METRE))


def _height(planned: Pass) -> tuple[LimitPart, ...]:
    own = () if planned.height_m is None else (LimitPart(WISH, planned.height_m, planned.height_m, METRE),)
    return (*own, *_range_parts(planned.products, lambda p: (None, p.height_high_m), METRE))


def _range_parts(
    products: Iterable[Product], pick: Callable[[Product], tuple[float | None, float | None]], unit: Unit
) -> tuple[LimitPart, ...]:
    parts = (LimitPart(product.name, *pick(product), unit) for product in products)
    return tuple(part for part in parts if part.low is not None or part.high is not None)


def _meet(parts: Iterable[LimitPart]) -> tuple[float | None, float | None]:
    kept = tuple(parts)
    low = max((part.low for part in kept if part.low is not None), default=None)
    return low, _least(part.high for part in kept)


def _crossed(thing: LimitThing, parts: tuple[LimitPart, ...]) -> tuple[Conflict, ...]:
    low, high = _meet(parts)
    return (Conflict(thing, parts),) if low is not None and high is not None and low > high else ()


def _classes(planned: Pass) -> tuple[frozenset[DropletClass] | None, tuple[LimitPart, ...]]:
    said = [(product.name, product.classes) for product in planned.products]
    asked = [(owner, classes) for owner, classes in [(WISH, planned.classes), *said] if classes is not None]
    if not asked:
        return None, ()
    parts = tuple(LimitPart(owner, names=tuple(c.letters for c in sorted(classes))) for owner, classes in asked)
    return frozenset.intersection(*(classes for _, classes in asked)), parts


def _permitted(products: tuple[Product, ...]) -> dict[str, Pa | None] | None:
    lists = [{entry.tip: entry.high_pa for entry in p.permitted_tips} for p in products if p.permitted_tips is not None]
    if not lists:
        return None
    common = set.intersection(*(set(one) for one in lists))
    return {tip: _least(one[tip] for one in lists) for tip in sorted(common)}


def _tip_conflicts(products: tuple[Product, ...], permitted: Mapping[str, Pa | None] | None) -> tuple[Conflict, ...]:
    if permitted is None or permitted:
        return ()
    lists = [(p.name, p.permitted_tips) for p in products if p.permitted_tips is not None]
    parts = tuple(LimitPart(owner, names=tuple(entry.tip for entry in tips)) for owner, tips in lists)
    return (Conflict(LimitThing.TIPS, parts),)


def _date_conflicts(planned: Pass, first_day: date, last_day: date) -> tuple[Conflict, ...]:
    if first_day <= last_day:
        return ()
    said = [(WISH, planned.first_day, planned.last_day), *((p.name, p.first_day, p.last_day) for p in planned.products)]
    parts = tuple(
        LimitPart(owner, names=(str(first or "any day"), str(last or "any day")))
        for owner, first, last in said
        if first or last
    )
    return (Conflict(LimitThing.DATES, parts),)


def _carrier_conflicts(planned: Pass) -> tuple[Conflict, ...]:
    wanted = planned.carrier.name.casefold()
    against = [p for p in planned.products if wanted in {name.casefold() for name in p.forbidden_carriers}]
    if not against:
        return ()
    parts = tuple(LimitPart(p.name, names=tuple(f"not in {name}" for name in p.forbidden_carriers)) for p in against)
    return (Conflict(LimitThing.CARRIER, (LimitPart(WISH, names=(planned.carrier.name,)), *parts)),)
