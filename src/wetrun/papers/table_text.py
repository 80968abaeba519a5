"""A table as a text file for spreadsheets. What a person typed stays words there, whatever it looks like."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Final

from wetrun.units import Cents

Cell = str | int | Decimal | None

FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""A spreadsheet takes a cell that begins so for a formula and works it out; names come from other people's files."""


def is_formula(text: str) -> bool:
    """Return whether a spreadsheet would take a text for a formula.

    Example
    -------
    >>> is_formula("=2+2"), is_formula("Number 7")
    (True, False)
    """
    return text.startswith(FORMULA_STARTS)


def amount(money_cents: Cents | None) -> Decimal | None:
    """Return an amount of money [cents] as an exact number of whole units; None stays None.

    Example
    -------
    >>> amount(65800)
    Decimal('658.00')
    """
    return None if money_cents is None else Decimal(money_cents).scaleb(-2)


def table_csv(
    header: Sequence[str], rows: Iterable[Sequence[Cell]], *, mark: bool = True, decimal_comma: bool = False
) -> bytes:
    """Return a table as CSV.

    Parameters
    ----------
    header : sequence of str
        Names of the columns.
    rows : iterable of sequence
        Their cells; numbers are written as numbers, None as nothing, a text that looks like a formula behind an
        apostrophe.
    mark : bool
        Whether a byte order mark stands in front, by which most spreadsheets know UTF-8.
    decimal_comma : bool
        Decimals after a comma and cells parted by semicolons, for spreadsheets that read it so.

    Returns
    -------
    bytes
        UTF-8, lines ended as RFC 4180 has them.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=";" if decimal_comma else ",")
    writer.writerow(header)
    writer.writerows([_cell(cell, decimal_comma=decimal_comma) for cell in row] for row in rows)
    return text.getvalue().encode("utf-8-sig" if mark else "utf-8", errors="replace")


def _cell(cell: Cell, *, decimal_comma: bool) -> str | int | None:
    if isinstance(cell, Decimal):
        return str(cell).replace(".", ",") if decimal_comma else str(cell)
    return f"'{cell}" if isinstance(cell, str) and is_formula(cell) else cell
