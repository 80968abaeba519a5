"""Rows of tables, and values by name: added, moved and taken away by buttons, blank ones left out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from wetrun.shop.typed.faces import Say, Text, say_by_itself
from wetrun.shop.typed.keys import Key, Pairs, Rows
from wetrun.shop.typed.nodes import Field, Node, Place
from wetrun.shop.typed.sent import new_key
from wetrun.shop.typed.tables import Group
from wetrun.shop.typed.takes import ABSENT, Leaf


class Listing(Node):
    """A list of rows that buttons change.

    Attributes
    ----------
    keys : list of str
        Keys of the rows in the form, in the order they will be kept.
    is_too_long : bool
        Whether more rows were sent than it can hold.
    is_moved : bool
        Whether other rows were sent than stand in the document, or in another order.
    """

    def __init__(self, place: Place, old_count: int, most: int) -> None:
        super().__init__(place)
        sent, self.old_count = place.ground.sent, old_count
        keys, self.is_too_long = sent.row_keys(self.name, old_count, most)
        if not keys and place.key.required and not sent:
            keys = ["n0"]
        self.keys = sent.acted_on(self.name, keys)
        self.is_moved = bool(sent) and self.keys != [str(at) for at in range(old_count)]

    @property
    def next_ident(self) -> str:
        """The id on the page of the row that would be added."""
        return f"{self.ident}-{new_key(self.keys)}"

    def _focus(self, boxes: list[Field]) -> None:
        """Begin the page at the row that was added, or behind the one that was taken away."""
        action = self.place.ground.sent.action
        if action is None:
            return
        if action.what == "add" and action.target == self.name:
            for box in boxes[:1]:
                box.is_focused = True
        self.is_focused = action.what == "drop" and action.target.rpartition(".")[0] == self.name


class RowList(Listing):
    """A list of tables.

    Attributes
    ----------
    rows : list of Group or Kept
        In the order they will be kept.
    """

    template = "typed/rows.html"

    def __init__(self, place: Place, take: Rows) -> None:
        self._take = take
        self._old = place.raw if isinstance(place.raw, list) else [] if place.raw is ABSENT else [place.raw]
        super().__init__(place, len(self._old), take.most)
        self.rows = [self._row(key) for key in self.keys]
        self._standing = list(self.rows)
        self._focus([box for row in self.rows[-1:] for box in row.inside() if isinstance(box, Field)])
        self.touched = self.is_moved or (bool(place.ground.sent) and any(row.touched for row in self.rows))
        if self.touched:
            self.value = self._made()

    def _row(self, key: str) -> Node:
        raw = self._old[int(key)] if key.isdigit() and int(key) < len(self._old) else ABSENT
        row_key = Key(self.place.key.name, self._take.table, required=False)
        return self.place.ground.node_of(Place(f"{self.name}.{key}", row_key, raw, self, self.place.ground))

    def _made(self) -> Any:  # noqa: ANN401 - a document
        self._standing = [row for row in self.rows if not self._is_blank(row)]
        values = [row.value for row in self._standing]
        if not values:
            return self.place.raw if self.place.raw in (ABSENT, []) else [] if self.place.key.required else ABSENT
        alone = self._take.bare and len(values) == 1 and not isinstance(self.place.raw, list)
        return values[0] if alone else values

    @staticmethod
    def _is_blank(row: Node) -> bool:
        return row.value is ABSENT or (row.value == {} and row.touched)

    def say_of(self, key: Key) -> Say:
        """Return the words of a row."""
        del key
        return replace(self.say, tick="")

    def title_of(self, node: Node) -> Text:
        """Return what a row is called: number and name."""
        at = next(at for at, each in enumerate(self.rows, start=1) if each is node)
        words = f"{self.say.one or self.say.label} {at}"
        named = node.named if isinstance(node, Group) else ""
        return f"{words}: {named}" if named else words

    def inside(self) -> Iterator[Node]:
        """Yield its rows."""
        yield from self.rows

    def put_into(self, index: dict[str, Node], place: str) -> None:
        """Tell where its rows stand in the new document, blank ones left out."""
        index[place] = self
        for at, row in enumerate(self._standing, start=1):
            row.put_into(index, f"{place}[{at}]")


@dataclass(frozen=True, slots=True)
class Pair:
    """A value with its name.

    Attributes
    ----------
    name, key : str
        Of the row in the form.
    named, valued : Field
        The two boxes.
    title : str
        What the row is called.
    """

    name: str
    key: str
    named: Field
    valued: Field
    title: Text


class PairList(Listing):
    """Values by name.

    Attributes
    ----------
    pairs : list of Pair
        In the order they will be kept.
    twice, nameless : list of Field
        Names that stand there already, and those that are missing.
    """

    template = "typed/pairs.html"

    def __init__(self, place: Place, take: Pairs) -> None:
        self._take = take
        self._old = list(place.raw.items()) if isinstance(place.raw, dict) else []
        super().__init__(place, len(self._old), take.most)
        self.pairs = [self._pair(at, key) for at, key in enumerate(self.keys, start=1)]
        self.twice: list[Field] = []
        self.nameless: list[Field] = []
        self._focus([each.named for each in self.pairs[-1:]])
        self.touched = self.is_moved or (bool(place.ground.sent) and any(each.touched for each in self.inside()))
        if self.touched:
            self.value = self._made()

    def _pair(self, at_row: int, key: str) -> Pair:
        at = int(key) if key.isdigit() else len(self._old)
        name, raw = self._old[at] if at < len(self._old) else (ABSENT, ABSENT)
        base, ground = f"{self.name}.{key}", self.place.ground
        named = Field(Place(f"{base}.name", Key("name", Leaf(), required=False), name, self, ground), Leaf())
        value_key = Key("value", self._take.item, required=False)
        valued = Field(Place(f"{base}.value", value_key, raw, self, ground), self._take.item)
        return Pair(base, key, named, valued, f"{self.say.one or self.say.label} {at_row}")

    def _made(self) -> Any:  # noqa: ANN401 - a document
        found: dict[str, Any] = {}
        for each in self.pairs:
            name, value = "" if each.named.value is ABSENT else each.named.value, each.valued.value
            if name in found:
                self.twice.append(each.named)
            elif name:
                found[name] = "" if value is ABSENT else value
            elif each.named.touched or value not in (ABSENT, ""):
                self.nameless.append(each.named)
        return found or (self.place.raw if self.place.raw == {} else ABSENT)

    def say_of(self, key: Key) -> Say:
        """Return the words of a name, or of a value."""
        return self.say if key.name == "value" else Say(self.say.one) if self.say.one else say_by_itself("name")

    def inside(self) -> Iterator[Node]:
        """Yield names and values."""
        for each in self.pairs:
            yield each.named
            yield each.valued

    def put_into(self, index: dict[str, Node], place: str) -> None:
        """Tell where its values stand."""
        index[place] = self
        for each in self.pairs:
            index[f"{place}.{each.named.text.strip()}"] = each.valued
