"""The mixing order of one tank: the labels first, then a published order, and every contradiction shown."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from wetrun.planning.formulation import Form
from wetrun.planning.mixing import LabelPlace, Mixing
from wetrun.planning.passes import Product
from wetrun.planning.published_order import PUBLISHED_ORDERS, OrderName, PublishedOrder

METHOD: Final = "mixing order"
METHOD_NUMBER: Final = 1


@dataclass(frozen=True, slots=True)
class Said:
    """Who wants one product before another.

    Attributes
    ----------
    first, second : str
        Products by name, in the order wanted.
    by : str
        Whose label, or which published order, says so.
    """

    first: str
    second: str
    by: str


@dataclass(frozen=True, slots=True)
class OrderConflict:
    """Two products that are wanted in both orders.

    Attributes
    ----------
    one, other : Said
        What each side says; the order follows `one` unless the labels themselves disagree.
    among_labels : bool
        True if both sides are labels: then no order obeys them all.
    """

    one: Said
    other: Said
    among_labels: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MixOrder:
    """The order in which products go in.

    Attributes
    ----------
    published : PublishedOrder
        What stands in where the labels say nothing.
    names : tuple of str
        Products, in order.
    by_label : frozenset of str
        Products whose own label was typed with a word on the order.
    not_placed : tuple of str
        Products the published order does not name, or whose formulation was not typed; they go in last.
    conflicts : tuple of OrderConflict
        Label against label, label against published order, published orders against each other.
    """

    published: PublishedOrder
    names: tuple[str, ...]
    by_label: frozenset[str]
    not_placed: tuple[str, ...]
    conflicts: tuple[OrderConflict, ...]
    method: str = METHOD
    method_number: int = METHOD_NUMBER

    @property
    def labels_agree(self) -> bool:
        """False if no order obeys every label: then this must not be mixed as it stands."""
        return not any(conflict.among_labels for conflict in self.conflicts)


def mix_order(products: Sequence[Product], chosen: OrderName = OrderName.AWAMLES) -> MixOrder:
    """Return the order in which the products of a tank go in.

    Parameters
    ----------
    products : sequence of Product
        Everything in the tank.
    chosen : OrderName
        The published order for what the labels leave open.

    Returns
    -------
    MixOrder
        Order and contradictions.

    Notes
    -----
    What a label says of its own product holds before any published order; among what the labels leave open, the next
    product is always the one earliest in the published order, then in the list as typed. Labels that contradict each
    other are told, and the order then follows the published one only so that something can be shown.

    References
    ----------
    osu-mixing-order, nd-weed-guide-apples, sdsu-mixing-order

    Example
    -------
    >>> tank = [
    ...     Product(name="Oil", mixing=Mixing(form=Form.COC)),
    ...     Product(name="Granules", mixing=Mixing(form=Form.WG)),
    ... ]
    >>> mix_order(tank).names
    ('Granules', 'Oil')
    """
    published = PUBLISHED_ORDERS[chosen]
    said = tuple(_said_by_labels(products))
    order = _sorted_by(products, {(each.first, each.second) for each in said}, published)
    conflicts = [
        *_among_labels(said),
        *_against(order, products, said, published),
        *_among_published(order, products, published),
    ]
    return MixOrder(
        published=published,
        names=order,
        by_label=frozenset(each.name for each in products if _has_word(each)),
        not_placed=tuple(each.name for each in products if published.rank(_form(each)) is None and not _has_word(each)),
        conflicts=tuple(dict.fromkeys(conflicts)),
    )


def _mixing(product: Product) -> Mixing:
    return product.mixing or Mixing()


def _form(product: Product) -> Form | None:
    return _mixing(product).form


def _has_word(product: Product) -> bool:
    label = _mixing(product).label
    return bool(label.place or label.after or label.before)


def _said_by_labels(products: Sequence[Product]) -> Iterator[Said]:
    for product in products:
        label, by = _mixing(product).label, f"label of {product.name}"
        for other in products:
            if other.name == product.name:
                continue
            if label.place is LabelPlace.FIRST or _names(label.before, other):
                yield Said(product.name, other.name, by)
            if label.place is LabelPlace.LAST or _names(label.after, other):
                yield Said(other.name, product.name, by)


def _names(listed: Sequence[str | Form], product: Product) -> bool:
    return any(each is _form(product) if isinstance(each, Form) else each == product.name for each in listed)


def _sorted_by(products: Sequence[Product], before: set[tuple[str, str]], published: PublishedOrder) -> tuple[str, ...]:
    """Sort so that every pair is kept; a circle of pairs is broken by the published order."""
    last = len(published.places)
    ranks = {each.name: published.rank(_form(each)) for each in products}
    waiting = sorted(ranks, key=lambda name: last if ranks[name] is None else ranks[name] or 0)
    order: list[str] = []
    while waiting:
        free = [name for name in waiting if not any((other, name) in before for other in waiting)]
        order.append((free or waiting)[0])
        waiting.remove(order[-1])
    return tuple(order)


def _among_labels(said: Sequence[Said]) -> Iterator[OrderConflict]:
    """Links of a circle, each with the one that goes on from it; two that contradict outright are one circle."""
    circle = [each for each in said if each.first in _later_than(each.second, said)]
    for one, other in combinations(circle, 2):
        if one.second == other.first or other.second == one.first:
            yield OrderConflict(one, other, among_labels=True)


def _later_than(name: str, said: Sequence[Said]) -> set[str]:
    """Everything the labels want after a product, by way of others too; the product itself if they run in a circle."""
    found: set[str] = set()
    ahead = {name}
    while ahead:
        ahead = {each.second for each in said if each.first in ahead} - found
        found |= ahead
    return found


def _against(
    order: Sequence[str], products: Sequence[Product], said: Sequence[Said], published: PublishedOrder
) -> Iterator[OrderConflict]:
    """Where a label moves two products out of the published order."""
    ranks = {each.name: published.rank(_form(each)) for each in products}
    for each in said:
        first, second = ranks[each.first], ranks[each.second]
        kept = order.index(each.first) < order.index(each.second)
        if kept and first is not None and second is not None and first > second:
            yield OrderConflict(each, Said(each.second, each.first, published.name.value), among_labels=False)


def _among_published(
    order: Sequence[str], products: Sequence[Product], chosen: PublishedOrder
) -> Iterator[OrderConflict]:
    """Where another published order wants two of these products the other way round than the chosen one."""
    placed = sorted(products, key=lambda each: order.index(each.name))
    for first, second in combinations(placed, 2):
        here = chosen.rank(_form(first)), chosen.rank(_form(second))
        if here[0] is None or here[1] is None or here[0] >= here[1]:
            continue
        for rival in PUBLISHED_ORDERS.values():
            early, late = rival.rank(_form(second)), rival.rank(_form(first))
            if early is not None and late is not None and early < late:
                ours = Said(first.name, second.name, chosen.name.value)
                yield OrderConflict(ours, Said(second.name, first.name, rival.name.value), among_labels=False)
