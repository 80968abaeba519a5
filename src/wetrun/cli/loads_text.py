"""Tank loads as they read in a terminal: what goes in, in order, load by load; then what to know."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from wetrun.cli.telling import console, say
from wetrun.documents.season_file import SeasonFile

if TYPE_CHECKING:
    from rich.table import Table


def tell_loads(season_file: SeasonFile, sheets: Sequence[dict[str, Any]]) -> None:
    """Print the loads of passes.

    Parameters
    ----------
    season_file : SeasonFile
        Where they come from.
    sheets : sequence of dict
        Load sheets as plain data.
    """
    season = season_file.season
    say(f"{season.title} – {season.customer}, {season.sprayer.name}: tank loads")
    for sheet in sheets:
        say()
        say(f"== {sheet['name']}: {sheet['crop']}, {sheet['rate']} of spray, {sheet['density']} ==")
        say(f"{sheet['summary']}. {sheet['covers']}.")
        for stop in sheet["stops"]:
            say(f"STOP. {stop}")
        console().print(_amounts(sheet))
        console().print(_refills(sheet["refills"]))
        _jar(sheet["jar"])
        if len(sheet["rows"]) > 1:
            say(f"Order: {sheet['order']}.")
        for note in (*sheet["order_notes"], *sheet["notes"]):
            say(f"– {note}")
    if sheets:
        say()
        for caution in sheets[0]["cautions"]:
            say(f"Caution: {caution}")


def _amounts(sheet: dict[str, Any]) -> Table:
    from rich.table import Table

    columns, products = sheet["columns"], [row for row in sheet["rows"] if not row["carrier"]]
    table = Table(box=None, pad_edge=False, show_edge=False)
    table.add_column("goes in", overflow="fold")
    for column in columns:
        table.add_column(column["name"], justify="right", overflow="fold")
    table.add_column("all loads", justify="right", overflow="fold")
    if products:
        table.add_row(f"1 {sheet['carrier']} first", *(column["first"] for column in columns), "")
    for number, row in enumerate(products, start=2):
        table.add_row(f"{number} {row['name']} ({row['form']})", *row["amounts"], row["total"])
    carrier = next(row for row in sheet["rows"] if row["carrier"])
    table.add_row(f"{len(products) + 2 if products else 1} fill up to", *(column["fill"] for column in columns), "")
    table.add_row(f"  {sheet['carrier']} in all", *carrier["amounts"], carrier["total"])
    table.add_row("  weight of the mix aboard", *(column["weighs"] for column in columns), "")
    return table


def _refills(refills: dict[str, Any]) -> Table:
    from rich.table import Table

    table = Table(box=None, pad_edge=False, show_edge=False)
    for heading in (
        "load",
        "does",
        "done by then",
        *(["runs out", "last at the home end"] if refills["swaths"] else []),
    ):
        table.add_column(
            heading, justify="right" if heading in {"load", "does", "done by then"} else "left", overflow="fold"
        )
    for row in refills["rows"]:
        where = [row["where"], row["home"]] if refills["swaths"] else []
        table.add_row(row["load"], row["area"], row["done"], *where)
    return table


def _jar(jar: dict[str, Any]) -> None:
    if not jar["parts"]:
        return
    parts = ", ".join(f"{part['name']} {part['amount']}" for part in jar["parts"])
    say(f"Jar test, {jar['whole']}: {jar['carrier']} {jar['first']}, {parts}, {jar['carrier']} {jar['rest']}.")
    say(jar["how"])
