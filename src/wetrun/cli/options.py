"""Options that more than one group of commands takes."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer


class Units(StrEnum):
    """Unit systems on the command line."""

    US = "us"
    SI = "si"


class PaperSize(StrEnum):
    """Page sizes on the command line."""

    LETTER = "letter"
    A4 = "a4"


UnitsOption = Annotated[Units | None, typer.Option("--units", help="Unit system; default: the season file's own.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the result as JSON on standard output.")]
