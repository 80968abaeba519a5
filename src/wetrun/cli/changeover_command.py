"""`wetrun changeover`: gets one product out before the next crop: rinses, what is left where, and the yard's list."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from wetrun.changeover.answer import ChangeoverAnswer, changeover_answer
from wetrun.cli.changeover_text import tell_changeover
from wetrun.cli.plain_changeover import plain_changeover
from wetrun.cli.shown_units import paper_shown, system_shown
from wetrun.cli.telling import print_json, progress_on_stderr, say
from wetrun.documents.changeover_file import ChangeoverFile, read_changeover
from wetrun.papers.changeover_data import changeover_data
from wetrun.papers.reader import Reader
from wetrun.quantity import System


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeoverRequest:
    """What was asked on the command line."""

    changeover: Path
    units: str | None = None
    out: Path | None = None
    paper: str | None = None
    as_json: bool = False


def run_changeover(request: ChangeoverRequest) -> None:
    """Plan a clean-out and tell the answer.

    Parameters
    ----------
    request : ChangeoverRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with the files or the output folder. A level out of reach is a result, not an error.
    """
    file = read_changeover(request.changeover)
    system = system_shown(request.units, file.units)
    reader, answer = Reader(system), answered(file)
    sheet = changeover_data(answer, reader)
    papers = _papers(answer, system, request)
    if request.as_json:
        print_json(plain_changeover(file, answer, sheet, papers))
        return
    tell_changeover(file, answer, sheet, reader)
    for path in papers:
        say(f"Written: {path}")


def answered(file: ChangeoverFile) -> ChangeoverAnswer:
    """Return the answer to a clean-out, telling on standard error what is being worked out.

    Parameters
    ----------
    file : ChangeoverFile
        The clean-out.

    Returns
    -------
    ChangeoverAnswer
        The answer.
    """
    with progress_on_stderr() as bar:
        task = bar.add_task("reading", total=None)
        return changeover_answer(file.question, progress=lambda words: bar.update(task, description=words))


def _papers(answer: ChangeoverAnswer, system: System, request: ChangeoverRequest) -> tuple[Path, ...]:
    if request.out is None:
        return ()
    from wetrun.papers.changeover_paper import write_changeover

    paper = paper_shown(request.paper, system)
    with progress_on_stderr() as bar:
        bar.add_task("writing the changeover sheet", total=None)
        return write_changeover(answer, request.out, system=system, paper=paper)
