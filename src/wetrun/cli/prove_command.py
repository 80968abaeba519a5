"""`wetrun prove`: reads a wet run, judges it, writes the evidence sheet, says what is wrong and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from wetrun.cli.day_command import DayRequest, run_day
from wetrun.cli.plain_prove import plain_wet_run
from wetrun.cli.prove_text import tell_wet_run
from wetrun.cli.shown_units import paper_shown, system_shown
from wetrun.cli.telling import print_json, progress_on_stderr, say
from wetrun.documents.wetrun_file import WetRunFile, read_wetrun
from wetrun.papers.reader import Reader
from wetrun.proving.session import WetRunResult, changes_since, wet_run_result
from wetrun.quantity import System


@dataclass(frozen=True, slots=True, kw_only=True)
class ProveRequest:
    """What was asked on the command line."""

    wetrun: Path
    since: Path | None = None
    minutes: float | None = None
    jugs: int = 8
    units: str | None = None
    out: Path | None = None
    paper: str | None = None
    as_json: bool = False


def run_prove(request: ProveRequest) -> None:
    """Judge a wet run and tell the answer, or plan its day.

    Parameters
    ----------
    request : ProveRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with the files or the output folder. A machine that fails is a result, not an error.
    """
    if request.minutes is not None:
        run_day(DayRequest(request.wetrun, request.minutes, request.jugs, request.units, request.as_json))
        return
    file = read_wetrun(request.wetrun)
    system = system_shown(request.units, file.units)
    result = judged(file, system)
    earlier = None if request.since is None else judged(read_wetrun(request.since), system)
    moved = () if earlier is None else changes_since(earlier, result)
    papers = _papers(result, system, request)
    if request.as_json:
        print_json(plain_wet_run(file, result, moved, papers, system=system))
        return
    tell_wet_run(file, result, moved, Reader(system))
    for path in papers:
        say(f"Written: {path}")


def judged(file: WetRunFile, system: System) -> WetRunResult:
    """Return what a wet run says, its pressures in words of the reader's units.

    Parameters
    ----------
    file : WetRunFile
        The wet run.
    system : System
        The reader's unit system.

    Returns
    -------
    WetRunResult
        The result.
    """
    reader = Reader(system)
    with progress_on_stderr() as bar:
        bar.add_task("weighing the readings", total=None)
        return wet_run_result(file.run, pressure_words=reader.difference)


def _papers(result: WetRunResult, system: System, request: ProveRequest) -> tuple[Path, ...]:
    if request.out is None:
        return ()
    from wetrun.papers.wet_run_paper import write_wet_run

    paper = paper_shown(request.paper, system)
    with progress_on_stderr() as bar:
        bar.add_task("writing the evidence sheet", total=None)
        return tuple(write_wet_run(result, request.out, system=system, paper=paper))
