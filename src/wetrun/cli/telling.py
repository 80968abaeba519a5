"""How the command line speaks: results on standard output, progress and errors on standard error."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rich.console import Console
    from rich.progress import Progress

    from wetrun.errors import WetrunError


@cache
def console(*, to_error: bool = False) -> Console:
    """Return the console for results, or for everything else."""
    from rich.console import Console

    return Console(stderr=to_error, highlight=False, markup=False, soft_wrap=False, emoji=False)


def say(text: str = "") -> None:
    """Print one paragraph of a result, wrapped to the terminal."""
    console().print(text, overflow="fold")


def say_table(headings: Sequence[str], rows: Iterable[Sequence[str]], *, left: frozenset[int] = frozenset()) -> None:
    """Print a plain table of a result, its columns to the right but for those named."""
    from rich.table import Table

    table = Table(box=None, pad_edge=False, show_edge=False)
    for place, heading in enumerate(headings):
        table.add_column(heading, no_wrap=True, justify="left" if place in left else "right")
    for row in rows:
        table.add_row(*row)
    console().print(table)


def say_aside(text: str) -> None:
    """Print a remark on standard error, where it does not disturb a result."""
    print(text, file=sys.stderr)  # noqa: T201  plain, so that a long path is never wrapped


def tell_error(error: WetrunError, system: str = "us") -> int:
    """Print the sentences of an error on standard error and return its exit code."""
    from wetrun.quantity import System, sentence

    for line in sentence(error, System(system)).splitlines():
        print(line, file=sys.stderr)  # noqa: T201  plain, so that a long path is never wrapped
    return error.exit_code


def print_json(result: dict[str, Any]) -> None:
    """Print a result as JSON; see `json_text`."""
    print(json_text(result))  # noqa: T201


def json_text(result: dict[str, Any]) -> str:
    """Return a result as JSON; what JSON cannot carry (infinite, not a number) becomes null."""
    return json.dumps(_finite(result), ensure_ascii=False, indent=2, allow_nan=False)


@contextmanager
def progress_on_stderr() -> Iterator[Progress]:
    """Show progress bars on standard error while the block runs; silent where it is no terminal."""
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TextColumn("{task.percentage:>3.0f} %"))
    shown = console(to_error=True)
    bar = Progress(*columns, TimeRemainingColumn(), console=shown, transient=True, disable=not shown.is_terminal)
    with bar:
        yield bar


def _finite(value: object) -> object:
    if isinstance(value, dict):
        return {str(key): _finite(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(part) for part in value]
    if isinstance(value, float) and not (float("-inf") < value < float("inf")):
        return None
    return value
