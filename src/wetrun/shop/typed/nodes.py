"""The sheet's tree: each place of a document with what stands there, what was typed, and what goes back.

A place nobody touched gives back the very value it had, whatever that was: nothing typed is ever rewritten.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.utils.safestring import SafeString

from wetrun.documents.refusals import shown_value
from wetrun.quantity import System
from wetrun.shop.typed.choices import Several
from wetrun.shop.typed.faces import Layout, Say, Text, say_by_itself
from wetrun.shop.typed.keys import Key
from wetrun.shop.typed.listed import Listed
from wetrun.shop.typed.markup import Spoken, field_html
from wetrun.shop.typed.printed_units import in_other_units, printed_unit
from wetrun.shop.typed.sent import Sent, seen
from wetrun.shop.typed.takes import ABSENT, Amount, Leaf


@dataclass(frozen=True, slots=True)
class Ground:
    """What every node of a sheet is told.

    Attributes
    ----------
    sent : Sent
        What the browser sent.
    layout : Layout
        Words and order.
    system : System
        The reader's unit system.
    offers : mapping of str
        Ids of the lists of suggestions on the page, by name.
    spoken : Spoken
        Words in the reader's language.
    node_of : callable
        Makes the node of a place.
    """

    sent: Sent
    layout: Layout
    system: System
    offers: Mapping[str, str]
    spoken: Spoken
    node_of: Callable[[Place], Node]


@dataclass(frozen=True, slots=True)
class Place:
    """Where a node stands.

    Attributes
    ----------
    name : str
        Its name in the form.
    key : Key
        Its key in the document, with what it takes.
    raw : object
        What the document holds there.
    parent : Node or None
        What it stands in.
    ground : Ground
        What every node is told.
    """

    name: str
    key: Key
    raw: Any
    parent: Node | None
    ground: Ground


class Node:
    """One place of a sheet.

    Attributes
    ----------
    place : Place
        Where it stands.
    say : Say
        Its words.
    touched : bool
        Whether something else was sent than was shown.
    value : object
        What goes into the new document.
    problems : list of str
        What is wrong here.
    is_focused : bool
        Whether the page begins here, as behind a button that changed rows.
    """

    template = ""
    is_field = is_kept = False

    def __init__(self, place: Place) -> None:
        self.place = place
        self.name = place.name
        self.say = Say("") if place.parent is None else place.parent.say_of(place.key)
        self.touched = False
        self.value: Any = place.raw
        self.problems: list[Text] = []
        self.is_focused = False

    @property
    def ident(self) -> str:
        """Its id on the page."""
        return self.name.replace(".", "-")

    @property
    def row_key(self) -> str:
        """The end of its name, which tells a row of a list in the form."""
        return self.name.rpartition(".")[2]

    @property
    def one(self) -> Text:
        """What one row of it is called."""
        return self.say.one or self.say.label

    @property
    def is_needed(self) -> bool:
        """Whether the document is not complete without it."""
        return self.place.key.required

    def say_of(self, key: Key) -> Say:
        """Return the words of a key inside."""
        return say_by_itself(key.name)

    def title_of(self, node: Node) -> Text:
        """Return what a node inside is called."""
        return node.say.label

    def inside(self) -> Iterator[Node]:
        """Yield what stands inside."""
        yield from ()

    def put_into(self, index: dict[str, Node], place: str) -> None:
        """Tell where this node and those inside stand in the new document, as problems name places."""
        index[place] = self

    @cached_property
    def wants_eye(self) -> bool:
        """Whether something is wrong here or inside, or the page begins there; asked only once problems are laid."""
        return bool(self.problems) or self.is_focused or any(each.wants_eye for each in self.inside())

    @property
    def is_filled(self) -> bool:
        """Whether the document says something here."""
        return self.value is not ABSENT

    @property
    def title(self) -> Text:
        """What a reader calls it."""
        return self.say.label if self.place.parent is None else self.place.parent.title_of(self)

    @property
    def trail(self) -> list[Text]:
        """Names of what it stands in, the outermost first, and its own."""
        above = [] if self.place.parent is None else self.place.parent.trail
        return [*above, self.title] if self.title else above


class Field(Node):
    """One box.

    Attributes
    ----------
    take : Leaf
        What it takes.
    stands : str
        What the document holds, as text.
    text : str
        What stands in the box: as sent, else as the document has it.
    unit : str
        The unit printed at it; empty for none.
    """

    is_field = True

    def __init__(self, place: Place, take: Leaf) -> None:
        super().__init__(place)
        self.take = take
        self.unit = self._unit()
        self.stands = take.usual if place.raw is ABSENT else seen(take.shown(place.raw) or "")
        sent = self._sent(place.ground.sent)
        self.text = self.stands if sent is None else sent
        self.touched = sent is not None and self._compared(sent) != self._compared(self.stands)
        if self.touched:
            typed = (self.text if take.has_lines else self.text.replace("\n", " ")).strip()
            self.value = take.value(typed, place.raw, self.unit) if typed else take.blank(place.raw)

    def _sent(self, sent: Sent) -> str | None:
        if isinstance(self.take, Several):
            several = sent.several(self.name)
            return None if several is None else "\n".join(each for each in self.take.options if each in several)
        return sent.text(self.name)

    def _compared(self, text: str) -> str:
        """A browser sends a box of one line without its line ends."""
        plain = text.replace("\r", "\n")
        return (plain if self.take.is_long else plain.replace("\n", "")).strip()

    def _amount(self) -> Amount | None:
        take = self.take.item if isinstance(self.take, Listed) else self.take
        return take if isinstance(take, Amount) else None

    def _unit(self) -> str:
        amount = self._amount()
        return "" if amount is None else printed_unit(amount.quantity, self.place.ground.system, self.say.units)

    @property
    def in_other_units(self) -> str:
        """The value in the reader's units if it was typed in others; empty otherwise."""
        if not isinstance(self.take, Amount) or not self.text.strip():
            return ""
        return in_other_units(self.text, self.take.quantity, self.place.ground.system)

    @property
    def offer(self) -> str:
        """Id of the list of suggestions that goes with it; empty for none."""
        return self.place.ground.offers.get(self.say.offer or self.take.offer, "")

    @property
    def html(self) -> SafeString:
        """The box with its label and all that belongs to it."""
        return field_html(self)


class Kept(Node):
    """What no box can hold: it stays as it is, or is left out as a whole."""

    template = "typed/kept.html"
    is_kept = True

    def __init__(self, place: Place) -> None:
        super().__init__(place)
        self.touched = self.is_left_out = place.ground.sent.text(self.name) == "leave out"
        if self.is_left_out:
            self.value = ABSENT

    @property
    def text(self) -> str:
        """What stands there, shortened."""
        return shown_value(self.place.raw)
