"""A table of an entry's keys: what is seen at once, what stands under More, and the table that goes back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, Final

from pydantic import BaseModel

from wetrun.documents.refusals import shortened
from wetrun.documents.wetrun_yard_entry import GateEntry
from wetrun.shop.typed.annotated import keys_of, shorthand_of
from wetrun.shop.typed.faces import Face, Say, say_by_itself
from wetrun.shop.typed.keys import Key, Unknown
from wetrun.shop.typed.nodes import Field, Node, Place
from wetrun.shop.typed.takes import ABSENT, Leaf

IS_THERE: Final = "__is"
_FEW: Final = 3
_MOST_TITLES: Final = 5


def keys_inside(entry: type[BaseModel], raw: object) -> dict[str, Any] | None:
    """Return the keys of a table; those a bare value stands for; None for a value that is no such table."""
    if raw is ABSENT or (raw is True and issubclass(entry, GateEntry)):
        return {}
    if isinstance(raw, dict):
        return raw
    short = shorthand_of(entry)
    take = next((key.take for key in keys_of(entry) if key.name == short), Unknown())
    return {short: raw} if isinstance(take, Leaf) and take.shown(raw) is not None else None


class Group(Node):
    """A table.

    Attributes
    ----------
    entry : type of BaseModel
        Its class.
    first, more : list of Node
        What is seen at once, and what stands under More.
    is_there : bool or None
        Whether its box is ticked; None if it has none.
    """

    template = "typed/table.html"

    def __init__(self, place: Place, entry: type[BaseModel]) -> None:
        super().__init__(place)
        self.entry = entry
        self.face: Face = place.ground.layout.face(entry)
        self._old = keys_inside(entry, place.raw) or {}
        self.first, self.more = self._nodes()
        self.is_there = self._ticked() if self.say.tick else None
        was_there = place.raw is not ABSENT
        self._changed_tick = self.is_there is not None and self.is_there is not was_there
        self.touched = self._changed_tick or any(each.touched for each in self.inside())
        if self.touched:
            self.value = self._made()

    def _nodes(self) -> tuple[list[Node], list[Node]]:
        keys = {key.name: key for key in keys_of(self.entry) if key.name not in self.face.left_out}
        first = [keys.pop(name) for name in self.face.first if name in keys]
        more = [keys.pop(name) for name in self.face.more if name in keys]
        rest = [key for key in keys.values() if key.name != "format_version"]
        unknown = [Key(name, Unknown(), required=False) for name in self._unknown()]
        behind = (*more, *(rest if first else ()), *unknown)
        return self._boxes_first(first or rest), self._boxes_first(behind)

    def _boxes_first(self, keys: Iterable[Key]) -> list[Node]:
        """Boxes stand before tables: behind one, a box would look like a part of it."""
        return sorted(map(self._node, keys), key=lambda node: not node.is_field)

    def _unknown(self) -> Iterator[str]:
        known = {key.name for key in keys_of(self.entry)}
        return (name for name in self._old if name not in known)

    def _node(self, key: Key) -> Node:
        name = f"{self.name}.{key.name}"
        return self.place.ground.node_of(Place(name, key, self._old.get(key.name, ABSENT), self, self.place.ground))

    def _ticked(self) -> bool:
        sent = self.place.ground.sent.text(f"{self.name}.{IS_THERE}")
        return self.place.raw is not ABSENT if sent is None else sent == "yes"

    def _made(self) -> Any:  # noqa: ANN401 - a document
        if self._changed_tick and not self.is_there and not any(each.touched for each in self.inside()):
            return ABSENT
        nodes = {each.place.key.name: each for each in self.inside()}
        names = dict.fromkeys((*self._old, *nodes))
        found = {name: nodes[name].value if name in nodes else self._old[name] for name in names}
        found = {name: value for name, value in found.items() if value is not ABSENT}
        short = shorthand_of(self.entry)
        if short in found and len(found) == 1 and not isinstance(self.place.raw, dict):
            return found[short]
        return found or self._empty()

    def _empty(self) -> Any:  # noqa: ANN401 - a document
        if self.is_there:
            return True if issubclass(self.entry, GateEntry) else {}
        return {} if self.place.key.required else ABSENT

    def say_of(self, key: Key) -> Say:
        """Return the words of a key."""
        return self.face.say(key.name) or say_by_itself(key.name)

    def inside(self) -> Iterator[Node]:
        """Yield its keys."""
        yield from self.first
        yield from self.more

    def put_into(self, index: dict[str, Node], place: str) -> None:
        """Tell where its keys stand; a bare value stands at the table's own place."""
        index[place] = self
        short = "" if isinstance(self.value, dict) else shorthand_of(self.entry)
        for each in self.inside():
            each.put_into(index, f"{place}.{each.place.key.name}" if place else each.place.key.name)
            if each.place.key.name == short:
                index[place] = each

    @property
    def shows_more(self) -> bool:
        """Whether More is open: something stands there, or is wrong."""
        return any(each.is_filled or each.wants_eye for each in self.more)

    @property
    def first_titles(self) -> str:
        """What is seen at once, in a few words."""
        return _titles(self.first)

    @property
    def more_titles(self) -> str:
        """What stands under More, in a few words."""
        return _titles(self.more)

    @property
    def hides_first(self) -> bool:
        """Whether its many boxes are folded away, as long as its own box is not ticked."""
        return self.is_there is False and len(self.first) > _FEW and not (self.is_filled or self.wants_eye)

    @property
    def is_folded(self) -> bool:
        """Whether it may be folded away: a table that need not be there and has no box to tick for it."""
        return not self.place.key.required and self.is_there is None

    @property
    def is_open(self) -> bool:
        """Whether it is seen at once: something stands there or was typed, or is wrong."""
        return self.is_filled or self.touched or self.wants_eye

    @property
    def named(self) -> str:
        """What tells it from other rows, as typed."""
        found = next((each for each in self.inside() if each.place.key.name == self.face.named_by), None)
        return shortened(found.text) if isinstance(found, Field) else ""


def _titles(nodes: list[Node]) -> str:
    titles = [str(each.title) for each in nodes[:_MOST_TITLES]]
    return ", ".join([*titles, "…"] if len(nodes) > _MOST_TITLES else titles)
