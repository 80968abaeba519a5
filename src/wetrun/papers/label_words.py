"""The label's limits as the user typed them, product by product, and where products contradict each other."""

from __future__ import annotations

from datetime import date
from typing import Any, Final

from wetrun.papers.reader import Reader, day, listed
from wetrun.papers.words import thing_words
from wetrun.planning.label_limits import Conflict, LimitPart, LimitThing
from wetrun.planning.passes import Product
from wetrun.quantity import Kind
from wetrun.spray.droplets import DropletClass
from wetrun.units import METRE, METRE_PER_SECOND, Frac

DRIFT_THINGS: Final = ("wind", "boom height", "droplets")
LEAST_SHARE_FRAC: Final[Frac] = 1e-3
"""Below this a dose by volume is told per 100 gal or 100 L: nobody measures hundredths of a per cent."""


def label_rows(products: tuple[Product, ...], reader: Reader) -> list[dict[str, str]]:
    """Return every label limit that was typed, as rows of product, thing and limit.

    Parameters
    ----------
    products : tuple of Product
        Everything in the tank.
    reader : Reader
        Whose units.

    Returns
    -------
    list of rows
        Empty if no limit was typed.
    """
    rows = []
    for product in products:
        for thing, limit in _limits(product, reader):
            rows.append({"product": product.name, "thing": thing, "limit": limit})
    return rows


def limit_rows_to_see(products: tuple[Product, ...], reader: Reader) -> list[dict[str, str]]:
    """Return a row for what decides drift and was not typed for a product: it is to be looked up.

    Parameters
    ----------
    products : tuple of Product
        Everything in the tank.
    reader : Reader
        Whose units.

    Returns
    -------
    list of rows
        Wind, boom height and droplets, where not typed, per product; nobody may take silence for leave.
    """
    typed = {(row["product"], row["thing"]) for row in label_rows(products, reader)}
    return [
        {"product": product.name, "thing": listed(left), "limit": "nothing typed: see label"}
        for product in products
        if (left := [thing for thing in DRIFT_THINGS if (product.name, thing) not in typed])
    ]


def label_lines(products: tuple[Product, ...], reader: Reader) -> list[dict[str, str]]:
    """Return the same limits as one line per product."""
    lines: dict[str, list[str]] = {}
    for row in label_rows(products, reader):
        lines.setdefault(row["product"], []).append(f"{row['thing']} {row['limit']}")
    return [{"product": product, "limits": "; ".join(limits)} for product, limits in lines.items()]


def product_words(product: Product, reader: Reader) -> str:
    """Return a product with its planned rate, if one was typed."""
    rate = dose_words(product, reader)
    return f"{product.name}, {rate}" if rate else product.name


def dose_words(product: Product, reader: Reader) -> str:
    """Return a product's amount as it was typed: per area, or per volume of spray or carrier."""
    per_area = _amount(product.rate_m3pm2, product.rate_kgpm2, reader)
    dose = None if product.mixing is None else product.mixing.dose
    if per_area or dose is None:
        return per_area
    if dose.mass_kgpm3 is not None:
        return f"{reader.text(dose.mass_kgpm3, Kind.DRY_IN_SPRAY)} of {dose.base.value}"
    kind = Kind.VOLUME_SHARE if (dose.volume_frac or 0.0) >= LEAST_SHARE_FRAC else Kind.LIQUID_IN_SPRAY
    return f"{reader.text(dose.volume_frac or 0.0, kind)} of {dose.base.value}"


def class_words(classes: frozenset[DropletClass]) -> str:
    """Return droplet classes by their letters; a run to the coarse or fine end in words.

    Example
    -------
    >>> class_words(frozenset({DropletClass.M, DropletClass.C}))
    'M or C'
    """
    ordered = sorted(classes)
    if len(ordered) > 2 and ordered == list(DropletClass)[ordered[0] :]:
        return f"{ordered[0].letters} or coarser"
    if len(ordered) > 2 and ordered == list(DropletClass)[: ordered[-1] + 1]:
        return f"{ordered[-1].letters} or finer"
    return listed([one.letters for one in ordered], joint="or")


def conflict_rows(conflict: Conflict, reader: Reader) -> dict[str, Any]:
    """Return a conflict with each owner's say, in the reader's units."""
    parts = [{"owner": part.owner, "says": _says(part, reader)} for part in conflict.parts]
    return {"thing": thing_words(conflict.thing), "parts": parts, "remedy": _REMEDIES[conflict.thing]}


_REMEDIES = {
    LimitThing.RATE: "Agree on a carrier rate every label allows, or spray the products apart.",
    LimitThing.CLASSES: "No droplet class suits them all: spray them apart, or choose another product.",
    LimitThing.TIPS: "No tip stands on every list: spray the products apart.",
    LimitThing.WIND: "Their wind limits leave nothing: spray the products apart.",
    LimitThing.HEIGHT: "Carry the boom no higher than the lowest label allows, or leave that product out.",
    LimitThing.DATES: "Their dates do not meet: move the pass, or spray the products apart.",
    LimitThing.CARRIER: "Choose another carrier, or leave the product out.",
}


def _limits(product: Product, reader: Reader) -> list[tuple[str, str]]:
    tips = product.permitted_tips or ()
    most = _amount(product.label_high_m3pm2, product.label_high_kgpm2, reader)
    said = [
        ("most product", most),
        ("carrier", _range([_text(v, Kind.RATE, reader) for v in _carrier(product)])),
        ("droplets", class_words(product.classes) if product.classes else ""),
        ("tips", listed([_tip(t.tip, t.high_pa, reader) for t in tips])),
        ("never in", listed(list(product.forbidden_carriers), joint="or")),
        ("ground speed", _range([None, _text(product.speed_high_mps, Kind.SPEED, reader)])),
        ("wind", _range([_text(v, Kind.SPEED, reader) for v in (product.wind_low_mps, product.wind_high_mps)])),
        ("boom height", _range([None, _text(product.height_high_m, Kind.HEIGHT, reader)])),
        ("dates", _days(product.first_day, product.last_day)),
    ]
    return [(thing, limit) for thing, limit in said if limit]


def _days(first: date | None, last: date | None) -> str:
    if first is None:
        return f"until {day(last)}" if last is not None else ""
    return f"from {day(first)}" if last is None else f"{day(first)} to {day(last)}"


def _carrier(product: Product) -> tuple[float | None, float | None]:
    return product.carrier_low_m3pm2, product.carrier_high_m3pm2


def _tip(ident: str, high_pa: float | None, reader: Reader) -> str:
    return ident if high_pa is None else f"{ident} up to {reader.pressure(high_pa)}"


def _amount(volume: float | None, mass: float | None, reader: Reader) -> str:
    if volume is not None:
        return reader.text(volume, Kind.PRODUCT_RATE)
    return "" if mass is None else reader.text(mass, Kind.DRY_RATE)


def _text(value: float | None, kind: Kind, reader: Reader) -> str | None:
    return None if value is None else reader.text(value, kind)


def _range(ends: list[str | None]) -> str:
    low, high = ends
    if low is None:
        return f"at most {high}" if high is not None else ""
    return f"at least {low}" if high is None else f"{low} to {high}"


def _says(part: LimitPart, reader: Reader) -> str:
    if part.names:
        return listed(list(part.names), joint="or")
    kind = {METRE_PER_SECOND: Kind.SPEED, METRE: Kind.HEIGHT}.get(part.unit, Kind.RATE) if part.unit else Kind.RATE
    low, high = (_text(value, kind, reader) for value in (part.low, part.high))
    return low if low == high and low is not None else _range([low, high])
