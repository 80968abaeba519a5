"""What single tips gave, typed along the boom: the sheet as it stands, and keeping what was changed on it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Any, Final

from pydantic import ValidationError

from wetrun.documents.machine_entry import BoomEntry
from wetrun.quantity import System
from wetrun.shop.answers.run_document import caught, table_of
from wetrun.shop.answers.wet_run_pieces import PIECES
from wetrun.shop.answers.wet_run_tests import YardTest
from wetrun.shop.records.models import Reading, WetRun
from wetrun.shop.records.reading_sheet import last_number, standing_readings

USUAL_UNITS: Final = {System.US: "fl oz", System.SI: "mL"}
LONGEST: Final = 40
_POSITIONS: Final = re.compile(r"[1-9][0-9]{0,2}")


@dataclass(frozen=True, slots=True, kw_only=True)
class TipRow:
    """One tip of the sheet.

    Attributes
    ----------
    tip : int
        Its position, 1 at the left end.
    place : str
        Where its reading stands in the wet-run file.
    typed : str
        What stands there, or what was typed and is not kept yet.
    carries : str
        The tip it carries on purpose, if not the set's.
    found : str
        What the judged catch says of it; empty for an ordinary tip.
    asked : str
        What is asked about its reading.
    wrong : str
        Why what was typed was not kept.
    theirs : Reading or None
        What somebody else typed there meanwhile.
    entry : str
        Of the reading that stands there; empty for none.
    """

    tip: int
    place: str
    typed: str = ""
    carries: str = ""
    found: str = ""
    asked: str = ""
    wrong: str = ""
    theirs: Reading | None = None
    entry: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class TipSection:
    """The tips of one section, left to right."""

    section: int
    rows: tuple[TipRow, ...]

    @property
    def first(self) -> int:
        """Its first position."""
        return self.rows[0].tip

    @property
    def last(self) -> int:
        """Its last position."""
        return self.rows[-1].tip


@dataclass(frozen=True, slots=True, kw_only=True)
class CatchSheet:
    """A boom's sheet.

    Attributes
    ----------
    test : YardTest
        The catch, or the one at low duty.
    sections : tuple of TipSection
        The boom; empty if the machine does not say what it is.
    unit : str
        Printed at every tip.
    number : int
        The last reading that is on it.
    """

    test: YardTest
    sections: tuple[TipSection, ...]
    unit: str
    number: int

    @property
    def rows(self) -> tuple[TipRow, ...]:
        """Every tip."""
        return tuple(row for section in self.sections for row in section.rows)

    @property
    def count(self) -> int:
        """How many tips have a reading."""
        return sum(bool(row.typed) for row in self.rows)

    @property
    def is_refused(self) -> bool:
        """Whether something that was typed was not kept."""
        return any(row.wrong or row.theirs for row in self.rows)


def catch_sheet(told: Mapping[str, Any], test: YardTest, system: System) -> CatchSheet:
    """Return the sheet of a boom as it stands.

    Parameters
    ----------
    told : mapping
        ``wet_run``; ``document``, its readings laid in; ``data``, its result as plain data or None: what stands out is
        marked.
    test : YardTest
        The catch, or the one at low duty.
    system : System
        The reader's, for the unit of a sheet that has none yet.

    Returns
    -------
    CatchSheet
        Three queries, however long the boom.
    """
    wet_run, data = told["wet_run"], told["data"] or {}
    readings = standing_readings(wet_run, prefix_of(test))
    stands = base_of(wet_run, test) | {place: reading.typed for place, reading in readings.items()}
    found, asked = _found(data, test), _asked(data, test)
    boom = _boom(wet_run)
    carries = {tip: odd.tip for odd in (boom.odd if boom else ()) for tip in odd.positions}

    def row(tip: int) -> TipRow:
        place, key = f"{prefix_of(test)}{tip}", str(tip)
        typed, odd = stands.get(place, ""), carries.get(tip, "")
        entry = str(readings[place].entry) if place in readings else ""
        says, asks = found.get(key, ""), asked.get(key, "")
        return TipRow(tip=tip, place=place, typed=typed, carries=odd, found=says, asked=asks, entry=entry)

    ends = pairwise((0, *accumulate(boom.sections if boom else ())))
    sections = tuple(
        TipSection(section=section, rows=tuple(map(row, range(first + 1, last + 1))))
        for section, (first, last) in enumerate(ends, start=1)
    )
    return CatchSheet(
        test=test, sections=sections, unit=_unit(told["document"], test, system), number=last_number(wet_run)
    )


def _unit(document: Mapping[str, Any], test: YardTest, system: System) -> str:
    """The unit of the sheet: its own, else that of the catch, else the reader's usual one."""
    own, first = (table_of(document, *at).get("unit") for at in (PIECES[test.key].at, ("catch",)))
    return str(own or first or USUAL_UNITS[system])


def base_of(wet_run: WetRun, test: YardTest) -> dict[str, str]:
    """Return the readings that stand in the run's document itself, by place."""
    readings = table_of(wet_run.document, *PIECES[test.key].at).get("readings")
    return {f"{prefix_of(test)}{tip}": text for tip, text in caught(readings).items()}


def prefix_of(test: YardTest) -> str:
    """Return how the places of a sheet's readings begin."""
    return f"{'.'.join(PIECES[test.key].at)}.readings."


def _boom(wet_run: WetRun) -> BoomEntry | None:
    machine = wet_run.machine_then or wet_run.machine.document
    try:
        return BoomEntry.model_validate(machine.get("boom"), context={"system": System(wet_run.machine.units)})
    except ValidationError:
        return None


def _found(data: Mapping[str, Any], test: YardTest) -> dict[str, str]:
    """What stands out on the boom, by position; a catch at low duty is told in sentences and marks no tip."""
    boom = data.get("boom")
    if not isinstance(boom, Mapping) or test.key != "catch":
        return {}
    return {row["tip"]: _found_words(row) for row in boom["rows"] if not row["plain"] and row["flow"] != "–"}


def _found_words(row: Mapping[str, str]) -> str:
    off = f"{row['off']} %"
    unlike = "≠ " if row["boom"].endswith("≠") else ""
    return f"{unlike}{off}, {row['state']}"


def _asked(data: Mapping[str, Any], test: YardTest) -> dict[str, str]:
    parts = {part.value for part in test.parts}
    asked: Iterable[Mapping[str, str]] = (one for one in data.get("questions", []) if one["part"] in parts)
    return {one["row"].removeprefix("tip "): one["words"] for one in asked if one["row"].startswith("tip ")}
