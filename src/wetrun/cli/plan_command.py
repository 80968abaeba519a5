"""`wetrun plan`: reads season and logs, plans, writes the papers, says the answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from wetrun.cli.log_files import logs_by_pass, tallied_logs
from wetrun.cli.plain_plan import plain_report
from wetrun.cli.plan_text import tell_plan
from wetrun.cli.shown_units import paper_shown, system_shown
from wetrun.cli.telling import print_json, progress_on_stderr, say
from wetrun.documents.season_file import SeasonFile, read_season
from wetrun.fieldlog.tallied import TalliedLog
from wetrun.papers.extras import Extras
from wetrun.papers.log_notes import log_notes
from wetrun.planning.over_logs import report_over_logs
from wetrun.planning.report import PlanReport
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
    system = system_shown(request.units, season_file.units)
    logs = tallied_logs(logs_by_pass(season_file, request.logs), season_file, request.log_map)
    report = report_for(season_file, logs, sets=request.sets)
    papers = _papers(report, _extras(season_file, logs), system, request)
    if request.as_json:
        print_json(plain_report(report, papers))
        return
    tell_plan(report, system)
    for path in papers:
        say(f"Written: {path}")


def report_for(
    season_file: SeasonFile, logs: Mapping[str, Sequence[TalliedLog]], *, sets: int | None = None
) -> PlanReport:
    """Return the plan of a season file over its logs, with everything said about it.

    Parameters
    ----------
    season_file : SeasonFile
        The season.
    logs : mapping of str to sequence of TalliedLog
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
    with progress_on_stderr() as bar:
        bar.add_task("choosing tips", total=None)
        return report_over_logs(
            season_file.season, season_file.catalogue, logs, file=season_file.path.name, most_sets=sets
        )


def _extras(season_file: SeasonFile, logs: Mapping[str, Sequence[TalliedLog]]) -> Extras:
    return Extras(
        typed=season_file.typed,
        log_notes={ident: tuple(note for log in of_pass for note in log_notes(log)) for ident, of_pass in logs.items()},
    )


def _papers(report: PlanReport, extras: Extras, system: System, request: PlanRequest) -> tuple[Path, ...]:
    if request.out is None:
        return ()
    from wetrun.papers.papers import write_papers

    paper = paper_shown(request.paper, system)
    with progress_on_stderr() as bar:
        bar.add_task("writing papers", total=None)
        return write_papers(report, request.out, system=system, paper=paper, extras=extras)
