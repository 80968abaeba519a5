"""Finds readings that cannot be as typed: blanks, zeros, ten times, another unit, two rows swapped.

Rows of one test obey a law – speed times time is the length, pulses over volume is the meter's number – so a row that
breaks it shows itself. A slip that is recognised is offered as a question; nothing is changed without an answer.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import expm1, isfinite, log
from statistics import median

from wetrun.proving.slips import DECIMAL_SLIPS, Column, Offer, Question, SlipKind

ODD_BEYOND = 0.10
"""Rows further than this from the others (natural logarithm) are asked about: our own choice, far above any scatter."""
SLIP_WITHIN = 0.05
"""A slip explains a row if what is left is below this: half of `ODD_BEYOND`."""
EVERY_ROW = "every row"
"""Stands for the row where all of them seem to share one slip; the value offered is that of the first."""


@dataclass(frozen=True, slots=True)
class _Table:
    """Rows whose product of readings should be one and the same."""

    rows: tuple[str, ...]
    columns: tuple[Column, ...]

    def blanks(self) -> Iterator[tuple[int, Question]]:
        """Rows with a reading that is missing or not above zero."""
        for n, row in enumerate(self.rows):
            for column in self.columns:
                value = column.values[n]
                if value is None:
                    yield n, Question(row, column.name, SlipKind.BLANK, None, (), 0.0)
                elif not (isfinite(value) and value > 0.0):
                    yield n, Question(row, column.name, SlipKind.NOT_POSITIVE, value, (), 0.0)

    def value(self, column: Column, row: int) -> float:
        """A reading of a row that is whole."""
        return column.values[row] or 1.0

    def product(self, row: int) -> float:
        """Logarithm of what should be the same for every row."""
        return sum(c.exponent * log(self.value(c, row)) for c in self.columns)


def questions_of(
    rows: tuple[str, ...],
    columns: tuple[Column, ...],
    *,
    expected: float | None = None,
    common: Column | None = None,
) -> tuple[Question, ...]:
    """Return every question a table of readings raises, in the order of its rows.

    Parameters
    ----------
    rows : tuple of str
        Names of the runs or catches.
    columns : tuple of Column
        Readings whose product, each to its exponent, is the same for every row.
    expected : float or None
        That product as it should be, if it is known: decides between two rows, and shows a slip that all rows share.
    common : Column or None
        One reading that all rows share and that what is expected was worked out from, such as the length of a course;
        its exponent is that it has once brought to the side of the rows.

    Returns
    -------
    tuple of Question
        Empty if nothing looks wrong.

    Notes
    -----
    From three rows on the median is the measure, so fewer than half of the rows may be wrong. Of two rows that
    disagree with nothing to hold them against, both are asked about. A slip that every row shares shows only against
    what is expected.

    Example
    -------
    >>> times, speeds = Column("time", (20.0, 2.0, 20.2), 1), Column("speed", (5.0, 5.0, 4.95), 1)
    >>> asked = questions_of(("run 1", "run 2", "run 3"), (times, speeds))
    >>> [(q.row, q.kind.value, q.offers[0].value) for q in asked]
    [('run 2', 'decimal point slipped', 20.0)]
    """
    table = _Table(rows, columns)
    found = list(table.blanks())
    broken = {n for n, _ in found}
    products = {n: table.product(n) for n in range(len(rows)) if n not in broken}
    centre, alone = _centre(products, expected)
    off = {n: product - centre for n, product in products.items() if abs(product - centre) > ODD_BEYOND}
    # Two rows that disagree have only each other: a slip of either is the whole of the distance between them.
    found += [(n, _question(table, n, off, 2.0 if alone else 1.0)) for n in off]
    shared = _shared_slip(table, products, centre - log(expected), common) if expected and not off else ()
    return (*shared, *(question for _, question in sorted(found, key=lambda item: item[0])))


def _centre(products: Mapping[int, float], expected: float | None) -> tuple[float, bool]:
    """Return what the rows are held against, in logarithms, and if it is no more than the other of two rows."""
    if not products:
        return 0.0, False
    rows = sorted(products.values())
    disagree = len(rows) == 2 and rows[1] - rows[0] > ODD_BEYOND
    if disagree and expected is not None:
        return log(expected), False
    return median(rows), disagree


def _shared_slip(
    table: _Table, products: Mapping[int, float], off_by: float, common: Column | None
) -> Iterator[Question]:
    """The slip that every row seems to share: rows that agree with each other, but not with what is expected."""
    if not products or abs(off_by) <= ODD_BEYOND:
        return
    first = min(products)
    once = () if common is None else sorted(_slips(_Table((EVERY_ROW,), (common,)), 0, off_by))
    offers = tuple(offer for _, _, offer in (*once, *sorted(_slips(table, first, off_by))))
    if offers:
        row = table.rows[first] if len(products) == 1 and not once else EVERY_ROW
        yield Question(row, offers[0].column, offers[0].kind, None, offers, expm1(off_by))


def _question(table: _Table, row: int, off: Mapping[int, float], whole: float) -> Question:
    """Return the question about one row that is off."""
    swaps = sorted(_swaps(table, row, off))
    slips = sorted(_slips(table, row, whole * off[row]))
    offers = tuple(offer for _, _, offer in [*swaps, *slips])
    if not offers:
        return Question(table.rows[row], "", SlipKind.ODD, None, (), expm1(off[row]))
    column = next(c for c in table.columns if c.name == offers[0].column)
    entered = table.value(column, row)
    return Question(table.rows[row], column.name, offers[0].kind, entered, offers, expm1(off[row]))


def _swaps(table: _Table, row: int, off: Mapping[int, float]) -> Iterator[tuple[float, int, Offer]]:
    """Other rows whose reading would put both right, with what would be left."""
    for other in off:
        for place, column in enumerate(table.columns):
            mine, theirs = table.value(column, row), table.value(column, other)
            moved = column.exponent * (log(theirs) - log(mine))
            left = max(abs(off[row] + moved), abs(off[other] - moved))
            if other != row and left <= SLIP_WITHIN:
                words = f"the {column.name} of {table.rows[other]}, the two rows swapped"
                yield left, place, Offer(SlipKind.SWAPPED, column.name, theirs, words, table.rows[other])


def _slips(table: _Table, row: int, off_by: float) -> Iterator[tuple[float, int, Offer]]:
    """Slips of the decimal point or unit that explain a row, with what would be left."""
    for place, column in enumerate(table.columns):
        known = [(SlipKind.DECIMAL, slip) for slip in DECIMAL_SLIPS] + [(SlipKind.UNIT, s) for s in column.slips]
        for n, (kind, slip) in enumerate(known):
            left = abs(off_by - column.exponent * log(slip.factor))
            if left <= SLIP_WITHIN:
                value = table.value(column, row) / slip.factor
                yield left, 100 * place + n, Offer(kind, column.name, value, f"the {column.name} {slip.words}")
