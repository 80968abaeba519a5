"""Writes the paper of a clean-out: one PDF, and the picture of the first acres in both unit systems."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from wetrun.changeover.answer import ChangeoverAnswer
from wetrun.papers.carry_picture import carry_svg
from wetrun.papers.carry_view import carry_view
from wetrun.papers.changeover_data import changeover_data
from wetrun.papers.folder import write_all
from wetrun.papers.papers import Paper
from wetrun.papers.reader import Reader
from wetrun.papers.typst_paper import render
from wetrun.quantity import System

SHEET: Final = re.compile(r"changeover\.pdf|first-acres-(us|si)\.svg")
"""Names of a changeover's files: other papers in the same folder are never touched by one."""
_TYPST_NAMES: Final = {Paper.LETTER: "us-letter", Paper.A4: "a4"}


def write_changeover(
    answer: ChangeoverAnswer,
    out_dir: Path,
    *,
    system: System,
    paper: Paper | str = Paper.LETTER,
    shop: str = "",
) -> tuple[Path, ...]:
    """Write the paper of a clean-out and return where it is.

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out.
    out_dir : Path
        Folder, made if it is missing.
    system : System
        The reader's units on paper; the picture is written in both systems.
    paper : Paper or str
        Size of the pages: "letter" or "a4".
    shop : str
        Name of the shop.

    Returns
    -------
    tuple of Path
        ``changeover.pdf``, and ``first-acres-us.svg`` and ``first-acres-si.svg`` if there are ways to compare.

    Raises
    ------
    CannotWrite
        If a file cannot be written; the folder is then as it was.
    """
    pdf = changeover_pdf(answer, Reader(system), Paper(paper), shop)
    return write_all(out_dir, {"changeover.pdf": pdf} | _pictures(answer), replaces=SHEET)


def changeover_pdf(answer: ChangeoverAnswer, reader: Reader, paper: Paper, shop: str = "") -> bytes:
    """Return the paper of a clean-out as PDF; equal answers give equal bytes.

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out.
    reader : Reader
        Whose units.
    paper : Paper
        Size of the pages.
    shop : str
        Name of the shop.

    Returns
    -------
    bytes
        The PDF.
    """
    return changeover_pdf_of(changeover_data(answer, reader, shop), paper)


def changeover_pdf_of(data: Mapping[str, Any], paper: Paper) -> bytes:
    """Return the paper of a clean-out as PDF, from data of `wetrun.papers.changeover_data`; equal data, equal bytes."""
    return render("changeover", {**data, "paper": _TYPST_NAMES[paper]})


def _pictures(answer: ChangeoverAnswer) -> dict[str, bytes]:
    views = {system: carry_view(answer, Reader(system)) for system in System}
    return {
        f"first-acres-{system.value}.svg": carry_svg(view, Reader(system)).encode()
        for system, view in views.items()
        if view is not None
    }
