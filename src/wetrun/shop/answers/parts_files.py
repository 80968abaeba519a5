"""The parts list as files for a spreadsheet: CSV and XLSX, with the numbers of the page."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, Final

from django.utils import timezone

from wetrun.fleet.parts import parts_list
from wetrun.papers.table_text import Cell, amount, is_formula, table_csv
from wetrun.shop.answers.parts import PlanParts

FORMAT_VERSION: Final = 1
HEADER: Final = (
    "family",
    "size",
    "tip",
    "words",
    "count",
    "cost",
    "machine",
    "customer",
    "season",
    "first_day",
    "state",
    "since",
    "by",
    "format_version",
)
"""The first eight as in the parts list of `wetrun fleet`."""
TIPS_HEADER: Final = ("family", "size", "tip", "words", "count", "cost", "machines", "format_version")
WIDEST: Final = 60


def parts_csv(parts: Sequence[PlanParts], *, mark: bool, decimal_comma: bool) -> bytes:
    """Return a parts list as CSV, one row per tip and machine.

    Parameters
    ----------
    parts : sequence of PlanParts
        What is on the list.
    mark : bool
        Whether a byte order mark stands in front.
    decimal_comma : bool
        Decimals after a comma, cells parted by semicolons.

    Returns
    -------
    bytes
        UTF-8.
    """
    rows = ([one.isoformat() if isinstance(one, date) else one for one in row] for row in machine_rows(parts))
    return table_csv(HEADER, rows, mark=mark, decimal_comma=decimal_comma)


def parts_xlsx(parts: Sequence[PlanParts]) -> bytes:
    """Return a parts list as a workbook: a sheet by tip, and one by tip and machine.

    Parameters
    ----------
    parts : sequence of PlanParts
        What is on the list.

    Returns
    -------
    bytes
        XLSX; numbers and days are numbers and days, and whatever looks like a formula is text.
    """
    from openpyxl import Workbook

    book = Workbook()
    book.properties.creator = "Wetrun"
    first = book.active
    first.title = "tips"
    _fill(first, TIPS_HEADER, tip_rows(parts))
    _fill(book.create_sheet("machines"), HEADER, machine_rows(parts))
    written = io.BytesIO()
    book.save(written)
    return written.getvalue()


def tip_rows(parts: Sequence[PlanParts]) -> Iterator[tuple[Cell, ...]]:
    """Yield a row for each tip over all machines; no cost where a price is not known."""
    for line in parts_list(order for one in parts for order in one.orders):
        tip = (line.family.value, line.size, line.ident, line.words)
        yield (*tip, line.count, amount(line.cost_cents), len(line.orders), FORMAT_VERSION)


def machine_rows(parts: Sequence[PlanParts]) -> Iterator[tuple[Cell | date, ...]]:
    """Yield a row for each tip of each machine, in the order of the page."""
    for one in parts:
        plan = one.plan
        since = None if plan.parts_at is None else timezone.localdate(plan.parts_at)
        by = "" if plan.parts_by is None else plan.parts_by.name
        whose = (one.machine.name, one.machine.customer.name, plan.season.title, plan.season.first_day)
        how_far = (str(plan.get_parts_state_display()), since, by, FORMAT_VERSION)
        for line in one.lines:
            tip = (line.family.value, line.size, line.ident, line.words)
            yield (*tip, line.count, amount(line.cost_cents), *whose, *how_far)


def _fill(sheet: Any, header: Sequence[str], rows: Iterable[Sequence[Cell | date]]) -> None:  # noqa: ANN401
    from openpyxl.styles import Font

    widths = [len(name) for name in header]
    for number, row in enumerate([header, *rows], start=1):
        for column, value in enumerate(row, start=1):
            _write(sheet.cell(number, column), value)
            widths[column - 1] = max(widths[column - 1], len(str(value or "")))
    for cell in sheet[1]:
        cell.font = Font(bold=True)
        sheet.column_dimensions[cell.column_letter].width = min(widths[cell.column - 1], WIDEST) + 2
    sheet.freeze_panes = "A2"
    sheet.auto_filter.ref = sheet.dimensions


def _write(cell: Any, value: Cell | date) -> None:  # noqa: ANN401 - openpyxl has no types
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    if isinstance(value, str):
        # A text is one whatever it begins with, also after somebody has edited it.
        cell.value = ILLEGAL_CHARACTERS_RE.sub("\ufffd", value)
        cell.data_type = "s"
        cell.quotePrefix = is_formula(value)
        return
    cell.value = value
    if isinstance(value, Decimal):
        cell.number_format = "#,##0.00"
    elif isinstance(value, date):
        cell.number_format = "yyyy-mm-dd"
