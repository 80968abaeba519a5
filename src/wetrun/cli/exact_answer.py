"""What `wetrun replay --exact` works out for one log: whose lag, what came of it, where it was worst, and the map."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Final

import numpy as np

from wetrun.cli.exact_request import ExactRequest
from wetrun.cli.telling import progress_on_stderr
from wetrun.documents.season_file import SeasonFile
from wetrun.errors import CannotWrite, NotDefined
from wetrun.fieldlog.boom_sections import BoomSections, boom_sections, whole_boom
from wetrun.fieldlog.exact_records import ExactResult, ExactSetup
from wetrun.fieldlog.exact_replay import exact_replay
from wetrun.fieldlog.lag_fit import LagFinding, lag_finding
from wetrun.fieldlog.map_cells import map_cells
from wetrun.fieldlog.replay import ReplayMode, replay
from wetrun.fieldlog.section_tally import SectionTally, section_tally
from wetrun.fieldlog.steady_clock import with_even_clock
from wetrun.fieldlog.trace import Trace
from wetrun.fieldlog.worst_places import OffPlace, worst_places
from wetrun.planning.exact_replaying import exact_setup
from wetrun.planning.report import section_edges_m
from wetrun.planning.window import Trial
from wetrun.spray.response import AT_ONCE, Response
from wetrun.units import Cm2, Frac, M3pm2, S

MapFacts = Mapping[str, str | float | None]

SEED: Final = 1
"""The doubt of a fit is drawn; the same log gives the same doubt."""
LONGEST_PUBLISHED_S: Final[S] = 34.3  # section-control-settling: two-way section valves
LONGEST_LAG_S: Final[S] = 60.0
"""A longer lag or delay is doubted: nearly twice the longest settling published; our own choice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExactAnswer:
    """The exact replay of one set over one log at one rate.

    ``settled_frac`` and ``lagging_frac`` are the shares of area within the tolerance once settled, and with the lag but
    without turns and valves.
    """

    trace: Trace
    setup: ExactSetup
    boom: BoomSections
    result: ExactResult
    tally: SectionTally
    settled_frac: Frac
    lagging_frac: Frac
    tolerance_frac: Frac
    places: tuple[OffPlace, ...]
    lag_from: str


@dataclass(frozen=True, slots=True)
class WrittenMap:
    """A map that was asked for: where it is, the replayed ground that is not on it since its place is not known.

    ``refused`` says why there is no such file after all.
    """

    path: Path
    left_out_cm2: Cm2
    refused: NotDefined | CannotWrite | None = None


def fitted(trace: Trace, request: ExactRequest, tolerance_frac: Frac) -> LagFinding | None:
    """Return what the log says about its own machine's lag, None where it was not asked; a tolerance [frac] judges it.

    Raises
    ------
    LogRefused, NotDefined
        When the log cannot say.
    """
    if not request.fit:
        return None
    with progress_on_stderr() as bar:
        bar.add_task(f"fitting the lag of {trace.facts.file}", total=None)
        return lag_finding(trace, np.random.default_rng(SEED), tolerance_frac=tolerance_frac)


def response_for(request: ExactRequest, season_file: SeasonFile, finding: LagFinding | None) -> tuple[Response, str]:
    """Return the response to replay with and where it is from: typed, fitted, from the season, or none.

    Raises
    ------
    InputProblems
        For a time that cannot be read.
    """
    known = season_file.season.sprayer.control.response
    base, source = (AT_ONCE, "no lag is known") if known is None else (known, "from the season file")
    if finding is not None and finding.helps:
        own = finding.fit.response
        base, source = replace(base, lag_s=own.lag_s, delay_s=own.delay_s, shut_off=own.shut_off), "fitted to this log"
    typed = {"lag_s": request.lag_s, "delay_s": request.delay_s}
    given = {name: value for name, value in typed.items() if value is not None}
    if not given:
        return base, source
    return (
        replace(base, lag_s=given.get("lag_s", base.lag_s), delay_s=given.get("delay_s", base.delay_s)),
        "as typed",
    )


def doubts_of(response: Response) -> tuple[str, ...]:
    """Return what is doubted of a machine's response.

    Example
    -------
    >>> doubts_of(Response(lag_s=80.0))[0]
    'A lag of 80 s is longer than any that was published (34.3 s): was another unit meant?'
    """
    times = {"lag": response.lag_s, "delay": response.delay_s}
    return tuple(
        f"A {name} of {time_s:g} s is longer than any that was published ({LONGEST_PUBLISHED_S:g} s): was another unit "
        "meant?"
        for name, time_s in times.items()
        if time_s > LONGEST_LAG_S
    )


def exact_answer(
    trial: Trial,
    trace: Trace,
    rate_m3pm2: M3pm2 | None,
    *,
    season_file: SeasonFile,
    lag: tuple[Response, str],
    worst: int,
) -> ExactAnswer:
    """Return the exact replay of a set over a log at the logged speeds, at a rate [m3/m2] or at the log's target."""
    even, response = with_even_clock(trace), lag[0]
    sprayer, tolerance = season_file.season.sprayer, trial.planned.tolerance_frac
    off_below_mps = sprayer.control.off_below_mps or 0.0
    setup = exact_setup(trial, even, rate_m3pm2, off_below_mps=off_below_mps, response=response)
    result = exact_replay(even, setup, ReplayMode.SAME_SPEED)
    boom = boom_sections(even, section_edges_m(sprayer.boom))
    lagging = section_tally(result, whole_boom(even), AT_ONCE, tolerance_frac=tolerance)
    tally = section_tally(
        result,
        boom,
        response,
        tolerance_frac=tolerance,
        label_ratio=trial.limits.label_ratio,
        bands=len(setup.bands),
    )
    return ExactAnswer(
        trace=even,
        setup=setup,
        boom=boom,
        result=result,
        tally=tally,
        settled_frac=replay(even, setup.steady, ReplayMode.SAME_SPEED).within(tolerance),
        lagging_frac=share(lagging.within_cm2, lagging.total_cm2),
        tolerance_frac=tolerance,
        places=worst_places(result, tally, most=worst),
        lag_from=lag[1],
    )


def written_map(answer: ExactAnswer, request: ExactRequest, *, number: int, facts: MapFacts) -> WrittenMap | None:
    """Write the map that was asked for, and return where it is and what is not on it; None if none was.

    Parameters
    ----------
    answer
        The replay.
    request
        With the file's name.
    number
        Which log it is, from 0; the second and later ones get their number into the name.
    facts
        What the map is of; lag, delay and where they are from are put beside.

    Returns
    -------
    WrittenMap or None
        Of a map that cannot be made or written it says why: the replay stands without it.
    """
    from wetrun.papers.field_map import write_map

    path = request.map_out
    if path is None:
        return None
    if number:
        path = path.with_name(f"{path.stem}-{number + 1}{path.suffix}")
    setup = answer.setup
    told = {**facts, **asdict(setup.response), "lag_from": answer.lag_from, "method": answer.result.method}
    try:
        cells = map_cells(answer.result, answer.boom, setup.response, bands=setup.bands, cell_m=request.cell_m)
        write_map(path, cells, answer.trace.origin, told)
    except NotDefined as none:
        thing = f"the map of {answer.trace.facts.file}"
        return WrittenMap(path, 0, NotDefined(thing, reason=none.reason, remedy=none.remedy))
    except CannotWrite as refused:
        return WrittenMap(path, 0, refused)
    return WrittenMap(path, cells.left_out_cm2)


def share(part_cm2: Cm2, whole_cm2: Cm2) -> Frac:
    """Return the share [frac] of a part in an area [cm2]; 0 of none.

    Example
    -------
    >>> share(1, 4), share(0, 0)
    (0.25, 0.0)
    """
    return part_cm2 / whole_cm2 if whole_cm2 else 0.0
