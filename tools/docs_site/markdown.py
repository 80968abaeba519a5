"""Markdown as the reference is written in it: tables whose cells stay cells, and code that nothing in it ends."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def cell(text: object) -> str:
    """Return a text as one cell of a table."""
    return " ".join(str(text).split()).replace("|", "\\|") or "–"


def code(text: str) -> str:
    """Return a text set as typed; empty for none."""
    return f"`{text}`" if text else ""


def table(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a table.

    Parameters
    ----------
    heads : sequence of str
        Of its columns.
    rows : iterable of sequence
        Their cells.

    Returns
    -------
    str
        Lines, a blank one at the end.

    Example
    -------
    >>> print(table(["size", "colour"], [["03", "blue"]]), end="")
    | size | colour |
    |---|---|
    | 03 | blue |
    <BLANKLINE>
    """
    lines = [heads, *rows]
    told = ["| " + " | ".join(map(cell, line)) + " |" for line in lines]
    return "\n".join([told[0], "|" + "---|" * len(heads), *told[1:], "", ""])


def block(text: str, language: str = "text") -> str:
    """Return a text as a block of code, whatever it holds."""
    return f"````{language}\n{text.rstrip()}\n````\n\n"
