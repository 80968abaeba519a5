"""Task data of ISO 11783-10, versions 2 to 4: the machines described, and the time logs listed.

Of a machine only its kind, its elements and their measures are kept. Names of people, farms, fields and products,
addresses and serial numbers are never read.

References
----------
iso-11783-10, iso-11783-1-name
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from wetrun.errors import LogRefused
from wetrun.fieldlog.readers.log_bundle import MAIN_FILE, LogBundle
from wetrun.fieldlog.readers.xml_tags import Tag, tags_in
from wetrun.fieldlog.trace import Doubt

WANTED: Final = {
    "ISO11783_TaskData": ("VersionMajor", "VersionMinor"),
    "XFR": ("A",),
    "DVC": ("A", "D"),
    "DET": ("A", "B", "C", "E", "F"),
    "DOR": ("A",),
    "DPD": ("A", "B"),
    "DPT": ("A", "B", "C"),
    "TLG": ("A",),
}
FILE_NAME: Final = re.compile(r"[A-Za-z]{3}\d{1,8}")
MACHINES: Final = {
    1: "tractor", 2: "primary tillage", 3: "secondary tillage", 4: "planter or seeder", 5: "fertilizer spreader",
    6: "sprayer", 7: "harvester", 8: "root harvester", 9: "forage machine", 10: "irrigation", 11: "trailer",
}  # fmt: skip
UNKNOWN_KIND: Final = "machine of unknown kind"
VERSIONS: Final = range(2, 5)
SECTION_ELEMENT: Final = 4
MOST_EXTERNAL: Final = 1000


@dataclass(frozen=True, slots=True)
class Element:
    """One part of a machine: its kind (1 machine, 2 function, 4 section, …), parent, and fixed values by number."""

    ident: str
    number: str
    kind: int
    order: int
    parent: str
    values: dict[int, int]


@dataclass(frozen=True, slots=True)
class Machine:
    """One machine as it describes itself, with its elements."""

    ident: str
    kind: str
    elements: tuple[Element, ...]

    def under(self, element: Element) -> list[Element]:
        """Return the elements below one, however deep."""
        below, ring = [], [element.number]
        while ring:
            fresh = [one for one in self.elements if one.parent in ring and one not in below and one is not element]
            below += fresh
            ring = [one.number for one in fresh]
        return below


@dataclass(frozen=True, slots=True)
class TaskData:
    """What a set of task data says: its version as words, its machines, the time logs it lists, and doubts."""

    version: str
    machines: tuple[Machine, ...]
    logs: tuple[str, ...]
    doubts: tuple[Doubt, ...]


def task_data_in(bundle: LogBundle) -> TaskData:
    """Return the task data of a set, with the files it names as outside parts.

    Raises
    ------
    LogRefused
        When the main file is unusable, is not task data, or names a file by anything but a plain name.
    """
    root = tags_in(bundle.content(MAIN_FILE), WANTED, file=bundle.name)
    mains = [tag for tag in root.inside if tag.name == "ISO11783_TaskData"]
    if not mains:
        remedy = "Give the TASKDATA.XML the terminal wrote, or its folder"
        raise LogRefused(bundle.name, place="line 1", reason="it is not ISO 11783-10 task data", remedy=remedy)
    outside, doubts = _outside_parts(bundle, mains[0])
    parts = [mains[0], *outside]
    version, version_doubts = _version(mains[0])
    logs = dict.fromkeys(checked_name(tag.attributes.get("A", ""), bundle) for p in parts for tag in p.all_named("TLG"))
    machines = tuple(_machine(tag) for part in parts for tag in part.all_named("DVC"))
    return TaskData(version, machines, tuple(logs), (*version_doubts, *doubts))


def checked_name(name: str, bundle: LogBundle) -> str:
    """Return a file's name if it is three letters and digits, as the standard has it."""
    if not FILE_NAME.fullmatch(name):
        reason = f"it names a file {name[:40]!r}, and only names such as TLG00001 are read"
        raise LogRefused(bundle.name, place="", reason=reason, remedy="Get the task data from the terminal itself")
    return name


def _outside_parts(bundle: LogBundle, main: Tag) -> tuple[list[Tag], list[Doubt]]:
    parts, doubts = [], []
    for tag in main.all_named("XFR")[:MOST_EXTERNAL]:
        name = checked_name(tag.attributes.get("A", ""), bundle)
        try:
            parts.append(tags_in(bundle.content(f"{name}.xml"), WANTED, file=f"{name}.xml"))
        except LogRefused as refused:
            doubts.append(Doubt(f"The part {name}.xml was left out: {refused.reason}", refused.remedy))
    return parts, doubts


def _version(main: Tag) -> tuple[str, list[Doubt]]:
    major, minor = (main.attributes.get(name, "") for name in ("VersionMajor", "VersionMinor"))
    if major.isdecimal() and int(major) in VERSIONS:
        return f"version {int(major)}.{int(minor) if minor.isdecimal() else 0}", []
    words = f"The version number “{major[:8]}.{minor[:8]}” is none of 2 to 4; read as if it were"
    return "no usable version number", [Doubt(words, "Look whether machine, sections and speeds are believable")]


def _machine(tag: Tag) -> Machine:
    fixed = {one.attributes.get("A", ""): one.attributes for one in tag.all_named("DPT")}
    elements = tuple(_element(one, fixed) for one in tag.all_named("DET"))
    return Machine(tag.attributes.get("A", ""), _kind(tag.attributes.get("D", "")), elements)


def _kind(name: str) -> str:
    """Return the kind of machine: seven bits of its network name, the only part of it that is looked at."""
    try:
        return MACHINES.get(int(name[2:4], 16) >> 1, "machine of another kind")
    except ValueError:
        return UNKNOWN_KIND


def _element(tag: Tag, fixed: dict[str, dict[str, str]]) -> Element:
    values = {}
    for reference in tag.all_named("DOR"):
        attributes = fixed.get(reference.attributes.get("A", ""), {})
        number, value = _hex(attributes.get("B", "")), whole(attributes.get("C", ""))
        if number is not None and value is not None:
            values[number] = value
    return Element(
        ident=tag.attributes.get("A", ""),
        number=tag.attributes.get("B", ""),
        kind=whole(tag.attributes.get("C", "")) or 0,
        order=whole(tag.attributes.get("E", "")) or 0,
        parent=tag.attributes.get("F", ""),
        values=values,
    )


def _hex(text: str) -> int | None:
    try:
        return int(text, 16)
    except ValueError:
        return None


def whole(text: str) -> int | None:
    """Return a text as a whole number, None where it is none."""
    try:
        return int(text)
    except ValueError:
        return None
