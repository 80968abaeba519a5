"""Loads in season as they read in a terminal."""

from __future__ import annotations

from typing import Any

from wetrun.cli.telling import console, say


def tell_fills(data: dict[str, Any]) -> None:
    """Print what a season's loads say.

    Parameters
    ----------
    data : dict
        As `wetrun.papers.fills_data.fills_data`.
    """
    say(f"{data['title']}{', ' if data['machine'] else ''}{data['machine']}")
    say()
    console().print(_table(data["rows"]))
    say()
    for key in ("sentence", "drift", "rate"):
        if data[key]:
            say(data[key])
    say(f"Between them: {data['suspect']}.")
    if data["number"]:
        say(f"Meter number: {data['number']}.")
    say(f"Next: {data['next']}")
    say("The doubt comes from: " + ", ".join(f"{name} {share}" for name, share in data["shares"]) + ".")
    if data["usual_tools"]:
        say("Some ± of the tools are common practice, no source: write your own under [tools].")
    say()
    for caution in data["cautions"]:
        say(f"Caution: {caution}")


def _table(rows: list[dict[str, str]]) -> Any:  # noqa: ANN401 - a table of rich
    from rich.table import Table

    table = Table(box=None, pad_edge=False, show_edge=False)
    headings = ("load", "day", "put out", "counted", "off", "area × rate off", "verdict")
    for heading in headings:
        table.add_column(heading, justify="left" if heading in {"load", "day", "verdict"} else "right", overflow="fold")
    for row in rows:
        table.add_row(*(row[key] for key in ("name", "on", "out", "counted", "error", "rate", "verdict")))
    return table
