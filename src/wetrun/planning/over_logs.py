"""A season planned over its logs: each pass by the logs that stand for it, or else by the speeds stated."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from wetrun.errors import InputProblems, Problem
from wetrun.fieldlog.tallied import TalliedLog, TurnQuestion, tallied
from wetrun.fieldlog.trace import Trace
from wetrun.machine.tip import Tip
from wetrun.planning.evidence import Evidence, evidence_of_logs, evidence_of_stated
from wetrun.planning.label_limits import combined_limits
from wetrun.planning.passes import Season
from wetrun.planning.report import PlanReport, plan_report, turn_question
from wetrun.planning.season import season_plan
from wetrun.planning.stages import staged_pass


def turn_questions(season: Season) -> dict[str, TurnQuestion]:
    """Return what the logs of each pass are asked about their turns.

    Parameters
    ----------
    season : Season
        Machine and passes.

    Returns
    -------
    dict of str to TurnQuestion
        By ident of pass; passes whose labels leave the same room share one.
    """
    boom = season.sprayer.boom
    return {one.ident: turn_question(boom, combined_limits(one).label_ratio) for one in season.passes}


def tallied_by_pass(season: Season, traces: Mapping[str, Sequence[Trace]]) -> dict[str, tuple[TalliedLog, ...]]:
    """Return the logs of every pass tallied, each log once however many passes it stands for.

    Parameters
    ----------
    season : Season
        Machine and passes.
    traces : mapping of str to sequence of Trace
        Logs by ident of pass.

    Returns
    -------
    dict of str to tuple of TalliedLog
        Same keys, same order.
    """
    questions = turn_questions(season)
    asked: dict[int, dict[TurnQuestion, None]] = {}
    for ident, logs in traces.items():
        for trace in logs:
            asked.setdefault(id(trace), {})[questions[ident]] = None
    by_trace = {id(trace): trace for logs in traces.values() for trace in logs}
    done = {key: tallied(trace, asked[key]) for key, trace in by_trace.items()}
    return {ident: tuple(done[id(trace)] for trace in logs) for ident, logs in traces.items()}


def report_over_logs(
    season: Season,
    catalogue: Sequence[Tip],
    logs: Mapping[str, Sequence[TalliedLog]],
    *,
    file: str,
    most_sets: int | None = None,
) -> PlanReport:
    """Return the plan of a season over its logs, with everything said about it.

    Parameters
    ----------
    season : Season
        Machine and passes.
    catalogue : sequence of Tip
        Tips that can be had.
    logs : mapping of str to sequence of TalliedLog
        Logs by ident of pass, their turns asked as `turn_questions` says. Passes without one rest on their speeds.
    file : str
        The season file, as told to people.
    most_sets : int or None
        Most different sets; overrides the season's own.

    Returns
    -------
    PlanReport
        The same whatever order and place the logs were tallied in, as long as they are given in the same order.

    Raises
    ------
    InputProblems
        If a pass has neither speeds nor a log.
    """
    evidence = {planned.ident: _evidence(season, planned.ident, logs, file) for planned in season.passes}
    plan = season_plan(season, catalogue, evidence, most_sets=most_sets)
    staged = {
        planned.ident: found
        for planned in season.passes
        if (found := staged_pass(planned, evidence[planned.ident].speed, season.sprayer, catalogue)) is not None
    }
    return replace(plan_report(plan, logs), staged=staged)


def _evidence(season: Season, ident: str, logs: Mapping[str, Sequence[TalliedLog]], file: str) -> Evidence:
    planned = next(one for one in season.passes if one.ident == ident)
    if logs.get(ident):
        return evidence_of_logs(logs[ident])
    if planned.speeds is not None:
        return evidence_of_stated(planned.speeds, season.sprayer.boom.width_m)
    remedy = f'Give speeds or logs in the season file, or --log "{ident}=FILE".'
    limit = "neither speeds nor a log say how fast it is driven"
    raise InputProblems([Problem(file, f"pass {ident}", "", limit, remedy)])
