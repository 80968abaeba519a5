"""Writes the evidence sheet of a wet run: one PDF, and the picture of the boom in both unit systems."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from wetrun.papers.folder import write_all
from wetrun.papers.papers import Paper
from wetrun.papers.reader import Reader
from wetrun.papers.typst_paper import render
from wetrun.papers.wet_run_boom import pictures_of
from wetrun.papers.wet_run_data import wet_run_data
from wetrun.proving.session import in_words_of
from wetrun.proving.session_result import WetRunResult
from wetrun.quantity import System

SHEET: Final = re.compile(r"wet-run\.pdf|boom-(us|si)\.svg")
"""Names of an evidence sheet's files: a plan's papers in the same folder are never touched by one."""
_TYPST_NAMES = {Paper.LETTER: "us-letter", Paper.A4: "a4"}


def write_wet_run(
    result: WetRunResult,
    out_dir: Path,
    *,
    system: System,
    paper: Paper | str = Paper.LETTER,
    shop: str = "",
    before: WetRunResult | None = None,
) -> tuple[Path, ...]:
    """Write the evidence sheet of a wet run and return where it is.

    Parameters
    ----------
    result : WetRunResult
        The wet run.
    out_dir : Path
        Folder, made if it is missing.
    system : System
        The reader's units on paper; the picture is written in both systems.
    paper : Paper or str
        Size of the pages: "letter" or "a4".
    shop : str
        Name of the shop.
    before : WetRunResult or None
        An earlier run of the same machine, to tell what changed since.

    Returns
    -------
    tuple of Path
        ``wet-run.pdf``, and ``boom-us.svg`` and ``boom-si.svg`` if tips were caught.

    Raises
    ------
    CannotWrite
        If a file cannot be written; the folder is then as it was.
    NotDefined
        The earlier run is of a machine with another boom.
    """
    pictures = pictures_of(result, tuple(Reader(each) for each in System))
    pdf = wet_run_pdf(result, Reader(system), Paper(paper), shop, before=before)
    return write_all(out_dir, {"wet-run.pdf": pdf} | pictures, replaces=SHEET)


def wet_run_pdf(
    result: WetRunResult, reader: Reader, paper: Paper, shop: str = "", *, before: WetRunResult | None = None
) -> bytes:
    """Return the evidence sheet as PDF; equal results give equal bytes.

    Parameters
    ----------
    result : WetRunResult
        The wet run.
    reader : Reader
        Whose units.
    paper : Paper
        Size of the pages.
    shop : str
        Name of the shop.
    before : WetRunResult or None
        An earlier run of the same machine.

    Returns
    -------
    bytes
        The PDF.
    """
    data = wet_run_data(in_words_of(result, pressure_words=reader.difference), reader, shop, before=before)
    return wet_run_pdf_of(data, paper)


def wet_run_pdf_of(data: Mapping[str, Any], paper: Paper) -> bytes:
    """Return the evidence sheet as PDF, from data of `wetrun.papers.wet_run_data`; equal data give equal bytes."""
    return render("wet_run", {**data, "paper": _TYPST_NAMES[paper]})
