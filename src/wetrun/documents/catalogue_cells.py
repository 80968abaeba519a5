"""The cells of one catalogue row, read: each refusal names its row and column, and the rest goes on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Final, TypeVar

from pydantic_core import PydanticCustomError

from wetrun.documents.catalogue_table import Row, Table
from wetrun.documents.droplet_words import droplet_classes
from wetrun.documents.family_words import FAMILY_WORDS, family_named
from wetrun.documents.plain_fields import cents_of
from wetrun.errors import Problem, QuantityRefused
from wetrun.quantity import Kind, System, Typed, read, show
from wetrun.spray.droplets import DropletClass, Family

Read = TypeVar("Read")

_BOUNDS: Final[dict[str, tuple[Kind, str, str]]] = {
    "pressure": (Kind.PRESSURE, "1 psi", "400 psi"),
    "min_pressure": (Kind.PRESSURE, "1 psi", "400 psi"),
    "max_pressure": (Kind.PRESSURE, "1 psi", "400 psi"),
    "flow": (Kind.TIP_FLOW, "0.01 gal/min", "20 gal/min"),
    "angle": (Kind.ANGLE, "15 °", "160 °"),
}
_YES_NO: Final = {"yes": True, "no": False, "true": True, "false": False}


@dataclass(frozen=True, slots=True, kw_only=True)
class TipRow:
    """One row of a maker's table; None where the cell is empty or was refused."""

    number: int
    ident: str
    name: str | None
    size: str | None
    family: Family | None
    angle: Typed | None
    pressure: Typed | None
    flow: Typed | None
    droplet_class: DropletClass | None
    min_pressure: Typed | None
    max_pressure: Typed | None
    price: int | None
    pulse: bool | None
    height_rule: str | None


def tip_row(table: Table, row: Row) -> tuple[TipRow | None, tuple[Problem, ...]]:
    """Return a row with its cells read, and everything wrong with them.

    Parameters
    ----------
    table : Table
        Where it stands.
    row : Row
        Its text.

    Returns
    -------
    tuple of TipRow or None, and of Problem
        None for a row without ident, which belongs to no tip.
    """
    cells = _Cells(table, row, [])
    ident = row.cells.get("ident")
    if ident is None:
        return None, (cells.problem("ident", "every row needs the ident of its tip", "Write it in every row."),)
    found = TipRow(
        number=row.number,
        ident=ident,
        name=row.cells.get("name"),
        size=row.cells.get("size"),
        family=cells.read("family", _family),
        angle=cells.quantity("angle"),
        pressure=cells.quantity("pressure"),
        flow=cells.quantity("flow"),
        droplet_class=cells.read("class", _class),
        min_pressure=cells.quantity("min_pressure"),
        max_pressure=cells.quantity("max_pressure"),
        price=cells.read("price", cents_of),
        pulse=cells.read("pulse", _yes_no),
        height_rule=row.cells.get("height_rule"),
    )
    if "pressure" not in row.cells:
        cells.found.append(cells.problem("pressure", "every row needs its pressure", "Write one row per pressure."))
    return found, tuple(cells.found)


@dataclass(frozen=True, slots=True)
class _Cells:
    table: Table
    row: Row
    found: list[Problem]

    def problem(self, column: str, limit: str, remedy: str) -> Problem:
        text = self.row.cells.get(column, "")
        key = f"row {self.row.number}, {column}"
        return Problem(self.table.file, key, f"“{text}”" if text else "", limit, remedy)

    def read(self, column: str, reader: Callable[[str], Read]) -> Read | None:
        text = self.row.cells.get(column)
        if text is None:
            return None
        try:
            return reader(text)
        except PydanticCustomError as refused:
            context = refused.context or {}
            self.found.append(self.problem(column, str(context["limit"]), f"{context['remedy']}."))
        except ValueError as refused:
            self.found.append(self.problem(column, str(refused), "Correct the cell, or leave it empty if not known."))
        return None

    def quantity(self, column: str) -> Typed | None:
        text = self.row.cells.get(column)
        if text is None:
            return None
        kind = _BOUNDS[column][0]
        printed = self.table.units.get(column, "°" if kind is Kind.ANGLE else None)
        try:
            typed = _typed(text, kind, printed)
        except QuantityRefused as refused:
            accepted = f"it {refused.reason}; accepted here: {', '.join(refused.accepted)}"
            remedy = f"Write the unit in the cell or in the header, like {column} ({kind.value.us})."
            self.found.append(self.problem(column, accepted, remedy))
            return None
        least, most = _bounds(column)
        if not least <= typed.si_value <= most:
            shown = " or ".join(
                f"from {show(least, kind, system)} to {show(most, kind, system)}" for system in dict.fromkeys(System)
            )
            self.found.append(self.problem(column, f"it must be {shown}", "Check the number and its unit."))
            return None
        return typed


@cache
def _bounds(column: str) -> tuple[float, float]:
    kind, low, high = _BOUNDS[column]
    return read(low, kind).si_value, read(high, kind).si_value


@lru_cache(maxsize=4096)
def _typed(text: str, kind: Kind, printed: str | None) -> Typed:
    """Read a cell; the same few pressures stand in a maker's table again and again."""
    return read(text, kind, default_unit=printed)


def _family(text: str) -> Family:
    family = family_named(text)
    if family is None:
        raise ValueError(f"no family is called that; the families are {', '.join(FAMILY_WORDS)}")
    return family


def _class(text: str) -> DropletClass:
    classes = droplet_classes(text)
    if len(classes) != 1:
        raise ValueError("a row of a maker's table has one class, at its own pressure")
    return next(iter(classes))


def _yes_no(text: str) -> bool:
    if text.casefold() not in _YES_NO:
        raise ValueError("yes or no belongs here: may the tip be pulsed")
    return _YES_NO[text.casefold()]
