"""Grows the tree of a sheet: the right node for what stands at each place of a document."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from wetrun.shop.typed.keys import Key, Pairs, Rows, Table
from wetrun.shop.typed.nodes import Field, Ground, Kept, Node, Place
from wetrun.shop.typed.rows import PairList, RowList
from wetrun.shop.typed.tables import Group, keys_inside
from wetrun.shop.typed.takes import ABSENT, Leaf


def node_of(place: Place) -> Node:
    """Return the node of a place; one that is kept as it is if no box can hold what stands there.

    Parameters
    ----------
    place : Place
        Where it stands.

    Returns
    -------
    Node
        Of the kind its key takes.
    """
    take, raw = place.key.take, place.raw
    if isinstance(take, Table):
        return Kept(place) if keys_inside(take.entry, raw) is None else Group(place, take.entry)
    if isinstance(take, Rows):
        listed = raw is ABSENT or isinstance(raw, list) or (take.bare and isinstance(raw, dict))
        return RowList(place, take) if listed else Kept(place)
    if isinstance(take, Pairs):
        return PairList(place, take) if raw is ABSENT or _is_named(raw, take) else Kept(place)
    if isinstance(take, Leaf) and (raw is ABSENT or take.shown(raw) is not None):
        return Field(place, take)
    return Kept(place)


def _is_named(raw: object, take: Pairs) -> bool:
    return isinstance(raw, dict) and all(take.item.shown(each) is not None for each in raw.values())


def root_of(entry: type[BaseModel], raw: dict[str, Any], prefix: str, ground: Ground) -> Group:
    """Return the tree of a whole document."""
    return Group(Place(prefix, Key("", Table(entry), required=True), raw, None, ground), entry)
