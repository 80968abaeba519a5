"""The sheet of what lies along a boom: the picture of the page, what it says in sentences, and its table, as PDF."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, Final

from wetrun.papers.even_picture import even_svg
from wetrun.papers.even_view import even_sentences, position_csv, position_rows
from wetrun.papers.folder import write_all
from wetrun.papers.papers import Paper
from wetrun.papers.reader import Reader
from wetrun.papers.typst_paper import render
from wetrun.planning.boom_even import BoomEven

HAND_OUT: Final = re.compile(r"evenness\.(svg|csv|pdf)")
HEADINGS: Final = ("position", "section", "from the middle", "least", "most")
_TYPST_NAMES: Final = {Paper.LETTER: "us-letter", Paper.A4: "a4"}


def write_evenness(
    even: BoomEven, out_dir: Path, reader: Reader, *, machine: str, tips: str, paper: Paper | str
) -> tuple[Path, ...]:
    """Write picture, table and sheet of a boom's evenness.

    Parameters
    ----------
    even : BoomEven
        What they show.
    out_dir : Path
        Folder, made if it is missing.
    reader : Reader
        Whose units.
    machine, tips : str
        What they are called.
    paper : Paper or str
        Size of the page: "letter" or "a4".

    Returns
    -------
    tuple of Path
        ``evenness.svg``, ``evenness.csv`` and ``evenness.pdf``.

    Raises
    ------
    CannotWrite
        If a file cannot be written; the folder is then as it was.
    """
    data = even_data(even, reader, machine=machine, tips=tips)
    files = {
        "evenness.svg": str(data["picture_svg"]).encode(),
        "evenness.csv": position_csv(even, reader),
        "evenness.pdf": render("evenness", {**data, "paper": _TYPST_NAMES[Paper(paper)]}),
    }
    return write_all(out_dir, files, replaces=HAND_OUT)


def even_data(even: BoomEven, reader: Reader, *, machine: str, tips: str) -> dict[str, Any]:
    """Return the sheet as plain data: strings and lists, and the picture that a page shows too."""
    title, sentences = f"Along the boom of {machine}", even_sentences(even, reader)
    return {
        "title": title,
        "tips": tips,
        "picture_svg": even_svg(even, reader, title=title),
        "picture_words": sentences[1],
        "sentences": sentences,
        "headings": list(HEADINGS),
        "positions": [list(row) for row in position_rows(even, reader)],
    }
