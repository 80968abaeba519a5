"""Hardened reading of a task data file's XML: chosen attributes of chosen elements, and nothing else.

Names, addresses and serial numbers are dropped by the parser's own handler, so they never reach an object of ours. A
document type, an entity, more bytes, more elements or a deeper nesting than any terminal writes is refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, NoReturn
from xml.parsers import expat

from wetrun.errors import LogRefused

# Our own choices (no source): the largest task data seen are a few megabytes.
MOST_XML_BYTES: Final = 64 << 20
MOST_ELEMENTS: Final = 2_000_000
DEEPEST: Final = 64
LONGEST_VALUE: Final = 64
HEAD: Final = 64

Wanted = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Tag:
    """One wanted element: its name, wanted attributes as written, and the wanted elements inside it."""

    name: str
    attributes: dict[str, str]
    inside: list[Tag] = field(default_factory=list)

    def all_named(self, name: str) -> list[Tag]:
        """Return the elements of a name anywhere inside this one, in the file's order."""
        found = []
        for tag in self.inside:
            found += [tag] if tag.name == name else []
            found += tag.all_named(name)
        return found


def tags_in(data: bytes, wanted: Wanted, *, file: str) -> Tag:
    """Return the wanted elements of an XML file under a root that stands for the file.

    Parameters
    ----------
    data
        The file's bytes; a byte order mark and UTF-16 are fine.
    wanted
        Attributes to keep, by element name. Elements that are not named are looked through, not kept.
    file
        Its name, for the refusal.

    Raises
    ------
    LogRefused
        When it is not whole, not XML, or carries what no task data needs.

    Example
    -------
    >>> root = tags_in(b'<T><FRM B="A. Name"/><TLG A="TLG00001"/></T>', {"TLG": ("A",)}, file="x")
    >>> [(tag.name, tag.attributes) for tag in root.inside]
    [('TLG', {'A': 'TLG00001'})]
    """
    if len(data) > MOST_XML_BYTES:
        _refuse(file, "", f"it is larger than {MOST_XML_BYTES >> 20} MiB", "Export fewer tasks at once")
    if not data.strip(b"\0 \r\n\t"):
        _refuse(file, "start of the file", "the file is empty", "Copy it from the terminal again")
    sieve = _Sieve(file, wanted)
    parser = expat.ParserCreate()
    parser.StartElementHandler = sieve.opened
    parser.EndElementHandler = sieve.closed
    parser.StartDoctypeDeclHandler = sieve.doctype
    parser.EntityDeclHandler = sieve.doctype
    try:
        parser.Parse(data, True)  # noqa: FBT003 - the parser takes no keywords
    except expat.ExpatError as fault:
        reason = f"the XML is cut off or damaged ({expat.ErrorString(fault.code)}){foreign_beginning(data[:HEAD])}"
        _refuse(file, f"line {fault.lineno}", reason, "Copy the file from the terminal again")
    except (ValueError, LookupError):  # an encoding nobody knows
        _refuse(file, "line 1", "the XML is in an unknown encoding", "Export it as UTF-8")
    return sieve.path[0]


def foreign_beginning(head: bytes) -> str:
    """Return words for what a file begins with, if that is no XML at all; else nothing."""
    first = head.replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \r\n\t")
    return "" if first.startswith(b"<") else f"; it begins {head[:8].hex(' ')}"


class _Sieve:
    """Handlers of the parser: what is wanted goes into a tree, all else is only counted."""

    def __init__(self, file: str, wanted: Wanted) -> None:
        self.file, self.wanted = file, wanted
        self.path: list[Tag] = [Tag("", {})]
        self.kept: list[bool] = []
        self.elements = 0

    def opened(self, name: str, attributes: dict[str, str]) -> None:
        """Take an element in, or look through it."""
        self.elements += 1
        if self.elements > MOST_ELEMENTS or len(self.kept) >= DEEPEST:
            reason = f"it has over {MOST_ELEMENTS} elements or is nested deeper than {DEEPEST}"
            _refuse(self.file, f"element {self.elements}", reason, "Export fewer tasks at once")
        keep = name in self.wanted
        self.kept.append(keep)
        if keep:
            chosen = {key: attributes[key][:LONGEST_VALUE] for key in self.wanted[name] if key in attributes}
            tag = Tag(name, chosen)
            self.path[-1].inside.append(tag)
            self.path.append(tag)

    def closed(self, _name: str) -> None:
        """Leave an element."""
        if self.kept.pop():
            self.path.pop()

    def doctype(self, *_declaration: object) -> None:
        """Refuse a document type: entities can blow up memory or read other files."""
        reason = "it declares a document type or entities, which task data never need"
        _refuse(self.file, "start of the file", reason, "Get the file from the terminal itself")


def _refuse(file: str, place: str, reason: str, remedy: str) -> NoReturn:
    raise LogRefused(file, place=place, reason=reason, remedy=remedy)
