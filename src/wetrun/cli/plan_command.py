"""`wetrun plan`: reads season and logs, plans, writes the papers, says the answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from wetrun.cli.log_files import logs_by_pass, traces_by_pass
from wetrun.cli.plain_plan import plain_report
from wetrun.cli.plan_text import tell_plan
from wetrun.cli.telling import print_json, progress_on_stderr, say
from wetrun.documents.season_file import SeasonFile, read_season
from wetrun.errors import InputProblems, Problem
from wetrun.fieldlog.trace import Trace
from wetrun.papers.extras import Extras
from wetrun.planning.evidence import Evidence, evidence_of_stated, evidence_of_traces
from wetrun.planning.report import PlanReport, plan_report
from wetrun.planning.season import season_plan
from wetrun.quantity import System


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRequest:
    """What was asked on the command line."""

    season: Path
    logs: tuple[str, ...] = ()
    log_map: Path | None = None
    units: str | None = None
    out: Path | None = None
    sets: int | None = None
    paper: str | None = None
    as_json: bool = False


def run_plan(request: PlanRequest) -> None:
    """Plan a season and tell the answer.

    Parameters
    ----------
    request : PlanRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with the season, the logs or the output folder.
    """
    season_file = read_season(request.season)
    system = System(request.units) if request.units else season_file.units
    traces = traces_by_pass(logs_by_pass(season_file, request.logs), season_file, request.log_map)
    report = report_for(season_file, traces, sets=request.sets)
    papers = _papers(report, _extras(season_file, traces), system, request)
    if request.as_json:
        print_json(plain_report(report, papers))
        return
    tell_plan(report, system)
    for path in papers:
        say(f"Written: {path}")


def report_for(
    season_file: SeasonFile, traces: Mapping[str, Sequence[Trace]], *, sets: int | None = None
) -> PlanReport:
    """Return the plan of a season file over its logs, with everything said about it.

    Parameters
    ----------
    season_file : SeasonFile
        The season.
    traces : mapping of str to sequence of Trace
        Its logs, by pass.
    sets : int or None
        Most tip sets.

    Returns
    -------
    PlanReport
        Passes without a log rest on their stated speeds.

    Raises
    ------
    InputProblems
        If a pass has neither.
    """
    season = season_file.season
    evidence: dict[str, Evidence] = {}
    for planned in season.passes:
        if planned.ident in traces:
            evidence[planned.ident] = evidence_of_traces(traces[planned.ident])
        elif planned.speeds is not None:
            evidence[planned.ident] = evidence_of_stated(planned.speeds, season.sprayer.boom.width_m)
        else:
            remedy = f'Give speeds or logs in the season file, or --log "{planned.ident}=FILE".'
            limit = "neither speeds nor a log say how fast it is driven"
            raise InputProblems([Problem(season_file.path.name, f"pass {planned.ident}", "", limit, remedy)])
    with progress_on_stderr() as bar:
        bar.add_task("choosing tips", total=None)
        plan = season_plan(season, season_file.catalogue, evidence, most_sets=sets)
        return plan_report(plan, traces)


def _extras(season_file: SeasonFile, traces: Mapping[str, Sequence[Trace]]) -> Extras:
    return Extras(
        typed=season_file.typed,
        log_notes={ident: tuple(note for trace in logs for note in log_notes(trace)) for ident, logs in traces.items()},
    )


def log_notes(trace: Trace) -> tuple[str, ...]:
    """Return what was done to a log, and what it leaves open, as sentences.

    Parameters
    ----------
    trace : Trace
        The log.

    Returns
    -------
    tuple of str
        Repairs, what was left out, doubts.
    """
    facts = trace.facts
    repairs = [f"{facts.file}: {repair.words} ({repair.count:,})." for repair in facts.repairs]
    left_out = [f"{facts.file}: left out, {part.why} ({part.count:,} instants)." for part in facts.left_out]
    return (*repairs, *left_out, *(f"{facts.file}: {doubt.words}. {doubt.remedy}" for doubt in facts.doubts))


def _papers(report: PlanReport, extras: Extras, system: System, request: PlanRequest) -> tuple[Path, ...]:
    if request.out is None:
        return ()
    from wetrun.papers.papers import write_papers

    paper = request.paper or ("letter" if system is System.US else "a4")
    with progress_on_stderr() as bar:
        bar.add_task("writing papers", total=None)
        return write_papers(report, request.out, system=system, paper=paper, extras=extras)
