"""A web form made of one of the documents' own entries: what was typed stays typed, and goes back as a document."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any, Final

from django.utils.datastructures import MultiValueDict
from django.utils.translation import gettext as _
from pydantic import BaseModel, ValidationError

from wetrun.documents.refusals import Document, problems_of
from wetrun.errors import Problem
from wetrun.quantity import System
from wetrun.shop.typed.faces import Layout, Text
from wetrun.shop.typed.layouts import LAYOUT
from wetrun.shop.typed.markup import Spoken
from wetrun.shop.typed.nodes import Field, Ground, Node
from wetrun.shop.typed.offers import usual_offers
from wetrun.shop.typed.page_words import page_words
from wetrun.shop.typed.rows import Listing, PairList
from wetrun.shop.typed.sent import Sent
from wetrun.shop.typed.tree import node_of, root_of

_NAME_OF_PASS: Final = re.compile(r" \(“.*”\)$", re.DOTALL)
_POSITION: Final = re.compile(r"\[(\d+)\]")


@dataclass(frozen=True, slots=True)
class Wrong:
    """One thing that is not right yet, for the list at the top.

    Attributes
    ----------
    at : str
        Id of where it stands; empty for what has no place on the sheet.
    where : str
        Names on the way to it.
    words : str
        What is wrong, and what to do.
    """

    at: str
    where: str
    words: Text


class Sheet:
    """A form of a document.

    Parameters
    ----------
    entry : type of BaseModel
        What the document is.
    raw : dict
        The document, as `tomllib` would give it; it is not changed.
    layout : Layout
        Words and order; every entry known to the shop has its own by default.
    system : System
        The reader's unit system: the units printed at the fields.
    written_in : System or None
        The unit system the document was begun in; where it is the other one, the sheet says so.
    posted : QueryDict or None
        What the browser sent.
    prefix : str
        Begins the names of all fields.
    file : str
        What problems call the document.
    beside : mapping or None
        What belongs to the document and is kept elsewhere, such as the machine of a season: checked with it, not shown.
    offers : mapping or None
        More lists of suggestions by name, such as tips.

    Attributes
    ----------
    document : dict
        The new document: the raw one with what was typed laid over it.
    problems : list of str
        What is wrong and has no place on the sheet.
    wants_more : bool
        Whether a button for rows was pressed: show the sheet again, keep nothing.
    """

    def __init__(  # noqa: PLR0913 - a form has the options its page needs
        self,
        entry: type[BaseModel],
        *,
        raw: Mapping[str, Any],
        layout: Layout = LAYOUT,
        system: System = System.US,
        written_in: System | None = None,
        posted: MultiValueDict[str, str] | None = None,
        prefix: str = "sheet",
        file: str = "",
        beside: Mapping[str, Any] | None = None,
        offers: Mapping[str, Sequence[str]] | None = None,
    ) -> None:
        self.entry, self.prefix, self.file, self.system = entry, prefix, file, system
        self.is_of_other_units = written_in is not None and written_in is not system
        self._beside = dict(beside or {})
        self._sent = Sent(posted)
        named = {**usual_offers(), **(offers or {})}
        ids = {name: f"{prefix}-offer-{at}" for at, name in enumerate(named)}
        self._offers = {ids[name]: words for name, words in named.items()}
        self.root = root_of(entry, dict(raw), prefix, Ground(self._sent, layout, system, ids, Spoken(), node_of))
        self.document: dict[str, Any] = self.root.value
        self.problems: list[Text] = []
        self.wants_more = self._sent.action is not None
        self._lay_own()

    def is_ok(self) -> bool:
        """Return whether something was sent that can be kept; otherwise problems stand at their fields."""
        if not self._sent or self.wants_more:
            return False
        self.check()
        return not self.wrong

    def check(self) -> None:
        """Hold the document against its entry, and put what is refused at its fields."""
        document = {**self.document, **self._beside}
        try:
            self.entry.model_validate(document, context={"system": self.system})
        except ValidationError as refused:
            self.lay(problems_of(refused, Document(self.file, document, self.entry)))

    def lay(self, problems: Iterable[Problem], *, at: str = "") -> None:
        """Put problems at the fields their keys name.

        Parameters
        ----------
        problems : iterable of Problem
            As a loader or an entry gives them.
        at : str
            The key at which this sheet's document stands in theirs, such as ``machine``; theirs if empty.
        """
        for problem in problems:
            self._lay_one(problem, at)

    def say(self, key: str, words: Text) -> None:
        """Put words of a page's own at the field of a key, such as a name that is taken."""
        node, _rest = self._found(key)
        (self.problems if node is self.root else node.problems).append(words)

    def show_what_stands(self) -> None:
        """Say at every field that was sent otherwise what the document holds, when somebody else was quicker."""
        for node in _all(self.root):
            if isinstance(node, Field) and node.touched:
                stands = node.stands or _("nothing")
                node.problems.append(_("Now stands there: %(value)s") % {"value": stands})
            elif isinstance(node, Listing) and node.is_moved:
                node.problems.append(_("Rows that stand there now: %(count)s") % {"count": node.old_count})

    def _lay_one(self, problem: Problem, at: str) -> None:
        key = _NAME_OF_PASS.sub("", problem.key)
        inside = not at or key == at or key.startswith((f"{at}.", f"{at}["))
        node, rest = self._found(key[len(at) :].lstrip(".") if at else key) if inside else (self.root, "")
        words = page_words(problem.limit, problem.remedy, partial(_label_near, node))
        if match := _POSITION.fullmatch(rest):
            words = _("Value %(number)s: %(words)s") % {"number": match[1], "words": words}
        told = self.problems if node is self.root else node.problems
        if words not in told:  # a loader tells again what the entry has refused
            told.append(words)

    def _found(self, key: str) -> tuple[Node, str]:
        """The nearest node of a key, and what of the key lies inside it."""
        end = len(key)
        while end > 0 and key[:end] not in self._index:
            end = max(key.rfind(".", 0, end), key.rfind("[", 0, end), 0)
        return self._index.get(key[:end], self.root), key[end:]

    @cached_property
    def _index(self) -> dict[str, Node]:
        index: dict[str, Node] = {}
        self.root.put_into(index, "")
        return index

    def _lay_own(self) -> None:
        """What the sheet itself cannot take: rows beyond what a list holds, one name twice."""
        for node in _all(self.root):
            if isinstance(node, Listing) and node.is_too_long:
                node.problems.append(_("More rows were sent than it can hold; the last ones are left out."))
            if isinstance(node, PairList):
                for named in node.twice:
                    named.problems.append(_("This name stands there twice. Give each its own."))
                for named in node.nameless:
                    named.problems.append(_("Its name is missing. Type it, or take the row away."))

    def fields(self) -> Iterator[Field]:
        """Yield every box, in the order of the page."""
        return (node for node in _all(self.root) if isinstance(node, Field))

    @property
    def offers(self) -> dict[str, Sequence[str]]:
        """The lists of suggestions that some box on the sheet uses, by their ids on the page."""
        used = dict.fromkeys(node.offer for node in _all(self.root) if isinstance(node, Field) and node.offer)
        return {ident: self._offers[ident] for ident in used}

    @property
    def wrong(self) -> list[Wrong]:
        """Everything that is not right yet, in the order of the page."""
        own = [Wrong("", "", words) for words in self.problems]
        placed = [
            Wrong(node.ident, " – ".join(str(each) for each in node.trail), words)
            for node in _all(self.root)
            for words in node.problems
        ]
        return own + placed


def _label_near(node: Node, key: str) -> str:
    """What a key is called beside a node, further out, or anywhere."""
    place: Node | None = node
    while place is not None:
        for each in place.inside():
            if each.place.key.name == key:
                return str(each.say.label)
        place = place.place.parent
    return str(node.place.ground.layout.label(key))


def _all(node: Node) -> Iterable[Node]:
    yield node
    for each in node.inside():
        yield from _all(each)
