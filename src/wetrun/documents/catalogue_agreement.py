"""Holds the rows of one tip against each other: what must be the same, what must be there, what the size says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from wetrun.documents.catalogue_cells import TipRow
from wetrun.errors import NotDefined, Problem
from wetrun.spray.droplets import Family
from wetrun.spray.orifice import law_of_iso_size

_SAME_IN_ALL_ROWS = ("name", "size", "family", "angle", "min_pressure", "max_pressure", "price", "pulse", "height_rule")
_FARTHEST_FROM_SIZE = 0.25
"""A flow this far from what the size gives is a slip of unit or size, not a maker's tolerance."""


@dataclass(frozen=True, slots=True)
class TipRows:
    """All rows of one tip.

    Attributes
    ----------
    file : str
        Where they stand.
    rows : tuple of TipRow
        In the order of the file; at least one.
    """

    file: str
    rows: tuple[TipRow, ...]

    @property
    def ident(self) -> str:
        """The tip's ident."""
        return self.rows[0].ident

    @property
    def family(self) -> Family | None:
        """The tip's family, from the first row that says it."""
        return next((row.family for row in self.rows if row.family is not None), None)

    def said(self, column: str) -> object:
        """Return what the first row that fills a column says."""
        return next((value for row in self.rows if (value := getattr(row, column)) is not None), None)

    def problem(self, row: TipRow, column: str, limit: str, remedy: str) -> Problem:
        """Return a problem of this tip in one of its rows."""
        text = "" if getattr(row, column) is None else f"“{_text(row, column)}”"
        return Problem(self.file, f"row {row.number}, {column}", text, f"tip “{self.ident}” – {limit}", remedy)


def check_agreement(tip_rows: TipRows) -> Iterator[Problem]:
    """Yield what is wrong with the rows of one tip together.

    Parameters
    ----------
    tip_rows : TipRows
        All rows of one ident, every cell already readable.

    Yields
    ------
    Problem
        With its row and column.
    """
    yield from _contradictions(tip_rows)
    yield from _repeated_pressures(tip_rows)
    yield from _missing(tip_rows)
    yield from _unlike_its_size(tip_rows)


def _contradictions(tip_rows: TipRows) -> Iterator[Problem]:
    for column in _SAME_IN_ALL_ROWS:
        filled = [row for row in tip_rows.rows if getattr(row, column) is not None]
        for row in filled[1:]:
            if _plain(getattr(row, column)) != _plain(getattr(filled[0], column)):
                limit = f"it is “{_text(row, column)}” here and “{_text(filled[0], column)}” in row {filled[0].number}"
                yield tip_rows.problem(
                    row, column, limit, "A tip has one; correct one row, or give the tip another ident."
                )


def _repeated_pressures(tip_rows: TipRows) -> Iterator[Problem]:
    seen: dict[float, int] = {}
    for row in tip_rows.rows:
        if row.pressure is None:
            continue
        before = seen.setdefault(round(row.pressure.si_value, 3), row.number)
        if before != row.number:
            limit = f"{row.pressure.text} stands in row {before} already"
            yield tip_rows.problem(row, "pressure", limit, "Keep one row per pressure.")


def _missing(tip_rows: TipRows) -> Iterator[Problem]:
    first, family = tip_rows.rows[0], tip_rows.family
    for column in ("size", "family"):
        if tip_rows.said(column) is None:
            yield tip_rows.problem(first, column, "it is missing", f"Write the tip's {column} in its first row.")
    if family is not None and family is not Family.STREAMER and tip_rows.said("angle") is None:
        yield tip_rows.problem(first, "angle", "a fan needs its angle", "Write it, such as 110.")
    if family is Family.STREAMER and sum(row.flow is not None for row in tip_rows.rows) < 2:
        remedy = "Add the maker's flows at two pressures or more, or catch them."
        yield tip_rows.problem(first, "flow", "a streamer's flow is known only by its rows", remedy)
    for column in ("min_pressure", "max_pressure"):
        if tip_rows.said(column) is None and len(tip_rows.rows) < 2:
            remedy = "Write the maker's pressure range, or rows at its least and greatest pressure."
            yield tip_rows.problem(first, column, "it is missing", remedy)


def _unlike_its_size(tip_rows: TipRows) -> Iterator[Problem]:
    size = tip_rows.said("size")
    filled = [row for row in tip_rows.rows if row.flow is not None]
    try:
        nominal = law_of_iso_size(str(size))
    except NotDefined as unknown:
        if not filled and size is not None:
            remedy = (
                "Write it as stamped, with its zero (04), or give the flows; a spreadsheet drops the zero of a number."
            )
            yield tip_rows.problem(tip_rows.rows[0], "size", f"“{size}” {unknown.reason}", remedy)
        return
    for row in filled:
        if row.flow is None or row.pressure is None or tip_rows.family is Family.STREAMER:
            continue
        expected = nominal.flow_m3s(row.pressure.si_value)
        if abs(row.flow.si_value / expected - 1.0) > _FARTHEST_FROM_SIZE:
            times = f"{row.flow.si_value / expected:.2f} times"
            limit = f"{row.flow.text} at {row.pressure.text} is {times} what size {size} gives"
            yield tip_rows.problem(row, "flow", limit, "Check size (with its zero), flow, pressure and their units.")


def _plain(value: object) -> object:
    return round(value.si_value, 9) if hasattr(value, "si_value") else value


def _text(row: TipRow, column: str) -> str:
    value = getattr(row, column)
    return str(getattr(value, "text", value))
