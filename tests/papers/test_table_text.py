"""A table for spreadsheets: numbers stay numbers, and a name that looks like a formula is never worked out."""

from __future__ import annotations

import csv
import io
from decimal import Decimal

import pytest

from wetrun.papers.table_text import FORMULA_STARTS, amount, is_formula, table_csv

HEADER = ("machine", "count", "cost")


def read(raw, delimiter=","):
    return list(csv.reader(io.StringIO(raw.decode("utf-8-sig"), newline=""), delimiter=delimiter))


@pytest.mark.parametrize("start", FORMULA_STARTS)
def test_a_name_that_looks_like_a_formula_is_written_as_words(start):
    name = f"{start}HYPERLINK(1)"
    assert is_formula(name)
    assert read(table_csv(HEADER, [(name, 1, None)]))[1] == [f"'{name}", "1", ""]


def test_a_formula_in_the_middle_is_only_a_name():
    assert not is_formula("Number 7 =2+2")
    assert not is_formula("")


def test_numbers_are_written_as_numbers_and_the_unknown_as_nothing():
    rows = read(table_csv(HEADER, [("Number 7", -72, amount(65850)), ("Number 8", 3, amount(None))]))
    assert rows == [list(HEADER), ["Number 7", "-72", "658.50"], ["Number 8", "3", ""]]


def test_decimals_after_a_comma_part_cells_by_semicolons():
    raw = table_csv(HEADER, [("Low Fork, east; 2", 72, Decimal("658.50"))], decimal_comma=True)
    assert read(raw, ";")[1] == ["Low Fork, east; 2", "72", "658,50"]


def test_the_mark_of_utf_8_stands_in_front_only_if_it_is_wanted():
    assert table_csv(HEADER, []).startswith(b"\xef\xbb\xbf")
    assert table_csv(HEADER, [], mark=False) == b"machine,count,cost\r\n"


def test_money_is_exact():
    assert amount(1) == Decimal("0.01")
    assert str(amount(0)) == "0.00"
    assert amount(999_999_999) == Decimal("9999999.99")
