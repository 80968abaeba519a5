"""`wetrun prove`: reads a wet run, judges it, writes the evidence sheet, says what is wrong and what to do."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from pathlib import Path

from wetrun.cli.day_text import plain_day, tell_day
from wetrun.cli.plain_prove import plain_wet_run
from wetrun.cli.prove_text import tell_wet_run
from wetrun.cli.telling import print_json, progress_on_stderr, say
from wetrun.documents.wetrun_file import WetRunFile, read_wetrun
from wetrun.papers.reader import Reader
from wetrun.proving.day_model import DayMachine
from wetrun.proving.dayplan import day_plan
from wetrun.proving.session import WetRun, WetRunResult, changes_since, wet_run_result
from wetrun.quantity import System
from wetrun.spray.definitions import MINUTE_S
from wetrun.spray.pulse import DutySource


@dataclass(frozen=True, slots=True, kw_only=True)
class ProveRequest:
    """What was asked on the command line."""

    wetrun: Path
    since: Path | None = None
    minutes: float | None = None
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
    file = read_wetrun(request.wetrun)
    system = System(request.units) if request.units else file.units
    if request.minutes is not None:
        _day(file, request, system)
        return
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


def _day(file: WetRunFile, request: ProveRequest, system: System) -> None:
    minutes = request.minutes or 0.0
    plan = day_plan(day_machine(file.run), minutes * MINUTE_S)
    if request.as_json:
        print_json(plain_day(plan))
    else:
        tell_day(file.title, plan, minutes, Reader(system))


def day_machine(run: WetRun) -> DayMachine:
    """Return what a day's plan has to know of the machine of a wet run; boom flow is that of a middling pressure."""
    setup, boom = run.machine.setup, run.machine.boom
    usual_pa = run.catch.run.pressure_pa if run.catch is not None else sqrt(setup.low_pa * setup.high_pa)
    pulse = setup.pulse
    return DayMachine(
        loop=setup.loop,
        tips=boom.tips,
        boom_flow_m3s=boom.tips * float(setup.law.flow_m3s(usual_pa)),
        duty_from=DutySource.METER if pulse is None else pulse.duty_from,
        has_meter=setup.meter is not None or run.meter is not None,
    )


def _papers(result: WetRunResult, system: System, request: ProveRequest) -> tuple[Path, ...]:
    if request.out is None:
        return ()
    from wetrun.papers.wet_run_paper import write_wet_run

    paper = request.paper or ("letter" if system is System.US else "a4")
    with progress_on_stderr() as bar:
        bar.add_task("writing the evidence sheet", total=None)
        return tuple(write_wet_run(result, request.out, system=system, paper=paper))
