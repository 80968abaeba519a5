"""Prints that are measurements of their authors: kept as printed, and not passed off as answered."""

import tomllib
from decimal import Decimal
from pathlib import Path

from wetrun.quantity.registry import unit_of_expression
from wetrun.sources import source

DATA = Path(__file__).parent / "data"


def rows_of(table):
    return tomllib.loads((DATA / table).read_text(encoding="utf-8"))["check"]


def test_a_report_has_its_print_its_unit_its_source_and_the_reason_nothing_answers_it():
    for row in rows_of("reported.toml"):
        assert Decimal(row["printed"]) > 0
        assert unit_of_expression(row["unit"]) is not None
        assert source(row["source"]).status == "read"
        assert len(row["unanswered"].split()) > 5
        assert not {"worked", "tolerance", "off"} & set(row)


def test_no_report_stands_in_a_table_that_is_answered():
    answered = {
        (row["source"], row["quantity"], row.get("printed"))
        for path in DATA.glob("*.toml")
        if path.name != "reported.toml"
        for row in rows_of(path.name)
    }
    assert not [row for row in rows_of("reported.toml") if (row["source"], row["quantity"], row["printed"]) in answered]


def test_what_the_sources_entry_says_of_a_report_is_what_is_printed():
    for row in rows_of("reported.toml"):
        assert row["printed"] in source(row["source"]).note
