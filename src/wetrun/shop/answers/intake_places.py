"""Places in a pass: what stands at one, putting something there, and which product of a record is the same one."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Final

from wetrun.shop.answers.intake_entries import GROUNDS

Place = tuple[str | int, ...]
BARE: Final = {"rate": "target", "carrier": "name", **dict.fromkeys(GROUNDS, "speed")}
"""Tables that may be written as the one value under this key."""


def text_at(one: Mapping[str, Any], place: Place | None) -> str:
    """Return what stands at a place of a pass, as text; empty for nothing.

    Example
    -------
    >>> text_at({"rate": "15 gal/ac"}, ("rate", "target"))
    '15 gal/ac'
    """
    here: Any = one if place is not None else None
    for key in place or ():
        here = _inside(here, key)
    if here is None:
        return ""
    if isinstance(here, date):
        return here.isoformat()
    return "\n".join(map(str, here)) if isinstance(here, list) else str(here)


def _inside(here: Any, key: str | int) -> Any:  # noqa: ANN401 - a document
    if isinstance(key, int):
        return here[key] if isinstance(here, list) and key < len(here) else None
    if not isinstance(here, dict):
        return None
    found = here.get(key)
    short = BARE.get(key)
    return {short: found} if short is not None and found is not None and not isinstance(found, dict) else found


def twin_of(place: Place, typed: Mapping[str, Any], target: Mapping[str, Any]) -> Place | None:
    """Return the place in the record's pass that means the same; None for a product the record does not have.

    Example
    -------
    >>> draft, record = {"product": [{"name": "B"}]}, {"product": [{"name": "A"}, {"name": "b"}]}
    >>> twin_of(("product", 0, "rate"), draft, record)
    ('product', 1, 'rate')
    """
    if place[-1] in GROUNDS:
        return (*place, "speed")  # in a season a kind of ground may have a share of the area beside it
    if place[0] != "product" or not isinstance(place[1], int):
        return place
    name = _plain(text_at(typed, (*place[:2], "name")))
    products = target.get("product")
    named = [_plain(str(each.get("name", ""))) for each in products] if isinstance(products, list) else []
    return ("product", named.index(name), *place[2:]) if name in named else None


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()


def put(one: dict[str, Any], place: Place, value: object) -> dict[str, Any]:
    """Return a pass with a value at a place; a table written as its one value stays so where it can.

    Example
    -------
    >>> put({"rate": "15 gal/ac"}, ("rate", "low"), "12 gal/ac")
    {'rate': {'target': '15 gal/ac', 'low': '12 gal/ac'}}
    >>> put({}, ("carrier", "name"), "water")
    {'carrier': 'water'}
    """
    key, *rest = place
    if not rest:
        return {**one, str(key): value}
    return {**one, str(key): _put_into(one.get(str(key)), str(key), tuple(rest), value)}


def _put_into(there: object, key: str, rest: Place, value: object) -> object:
    if isinstance(rest[0], int):
        rows = list(there) if isinstance(there, list) else []
        rows += [{} for _ in range(rest[0] + 1 - len(rows))]
        rows[rest[0]] = put(rows[rest[0]], rest[1:], value)
        return rows
    short = BARE.get(key, "")
    table = there if isinstance(there, dict) else {} if there is None else {short: there}
    new = put(table, rest, value)
    return new[short] if set(new) == {short} and not isinstance(there, dict) else new
