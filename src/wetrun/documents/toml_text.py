"""Parses TOML; a slip of syntax is shown with its line and what usually causes it."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from wetrun.documents.refusals import shortened
from wetrun.errors import InputProblems, Problem


def parsed_toml(path: Path, text: str) -> dict[str, Any]:
    """Return the tables of a TOML text.

    Parameters
    ----------
    path : Path
        Where it was read, for the sentence.
    text : str
        The text.

    Returns
    -------
    dict
        As parsed.

    Raises
    ------
    InputProblems
        With line, column, the line itself and a remedy.
    """
    try:
        return tomllib.loads(text)
    except RecursionError:
        limit = "brackets are nested too deeply to be a season"
        raise InputProblems([Problem(path.name, "", "", limit, "Name the file that was meant.")]) from None
    except ValueError as trouble:
        raise InputProblems([_syntax_problem(path, text, str(trouble))]) from None


def _syntax_problem(path: Path, text: str, message: str) -> Problem:
    match = re.search(r"\(at line (\d+), column (\d+)\)", message)
    lines = text.splitlines()
    number = int(match[1]) if match else len(lines)
    column = match[2] if match else "1"
    line = lines[number - 1] if 0 < number <= len(lines) else ""
    what = message.partition(" (at ")[0]
    limit = f"the line cannot be read ({what[:1].lower()}{what[1:]})"
    return Problem(path.name, f"line {number}, column {column}", f"“{shortened(line)}”", limit, _remedy(line, what))


def _remedy(line: str, what: str) -> str:
    if "overwrite" in what.casefold() or "twice" in what.casefold():
        return "A key or table stands there twice; keep one, or write [[pass]] for one more pass."
    value = line.partition("=")[2].partition("#")[0].strip()
    if value and value[0] not in "\"'[{" and not re.fullmatch(r"[-+0-9._:TZ]+|true|false", value):
        return f'Put text and quantities in quotes: "{shortened(value)}".'
    return "Check quotes, brackets and commas in this line and the one above it."
