"""Writes the load sheets of a season: one PDF, a page a pass, to hang at the nurse truck."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from wetrun.papers.folder import write_all
from wetrun.papers.papers import Paper, pass_names
from wetrun.papers.typst_paper import render

SHEET: Final = re.compile(r"load-sheet-[a-z0-9-]+\.pdf")
"""Names of load sheets: other papers in the same folder are never touched by them."""
_TYPST_NAMES: Final = {Paper.LETTER: "us-letter", Paper.A4: "a4"}


def write_load_sheets(sheets: Sequence[Mapping[str, Any]], out_dir: Path, paper: Paper | str) -> tuple[Path, ...]:
    """Write one sheet for each pass and return where they are.

    Parameters
    ----------
    sheets : sequence of mapping
        As `wetrun.papers.load_sheet_data` makes them.
    out_dir : Path
        Folder, made if it is missing; older load sheets in it are replaced or taken away.
    paper : Paper or str
        Size of the pages: "letter" or "a4".

    Returns
    -------
    tuple of Path
        ``load-sheet-<pass>.pdf``.

    Raises
    ------
    CannotWrite
        If a file cannot be written; the folder is then as it was.
    """
    size = Paper(paper)
    names = pass_names(str(sheet["name"]) for sheet in sheets)
    documents = {
        f"load-sheet-{name}.pdf": load_sheet_pdf(sheet, size) for name, sheet in zip(names, sheets, strict=True)
    }
    return write_all(out_dir, documents, replaces=SHEET)


def load_sheet_pdf(sheet: Mapping[str, Any], paper: Paper) -> bytes:
    """Return one load sheet as PDF; equal data give equal bytes."""
    return render("load_sheet", {**sheet, "paper": _TYPST_NAMES[paper]})
