"""The exact replay of one set over one log: whose lag, what came of it settled and lagging, where it was worst."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from wetrun.fieldlog.boom_sections import BoomSections, boom_sections, whole_boom
from wetrun.fieldlog.exact_records import ExactResult, ExactSetup
from wetrun.fieldlog.exact_replay import exact_replay
from wetrun.fieldlog.lag_fit import LagFinding
from wetrun.fieldlog.replay import ReplayMode, replay
from wetrun.fieldlog.section_tally import SectionTally, section_tally
from wetrun.fieldlog.steady_clock import with_even_clock
from wetrun.fieldlog.trace import Trace
from wetrun.fieldlog.turn_areas import TurnAreas, turn_areas
from wetrun.fieldlog.worst_places import OffPlace, worst_places
from wetrun.machine.sprayer import Sprayer
from wetrun.planning.exact_replaying import exact_setup
from wetrun.planning.report import section_edges_m
from wetrun.planning.window import Trial
from wetrun.spray.response import AT_ONCE, Response
from wetrun.spray.turn_across import TurnCompensation
from wetrun.units import Cm2, Frac, M3pm2, S

LONGEST_PUBLISHED_S: Final[S] = 34.3  # section-control-settling: two-way section valves
LONGEST_LAG_S: Final[S] = 60.0
"""A longer lag or delay is doubted: nearly twice the longest settling published; our own choice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ExactAnswer:
    """The exact replay of one set over one log at one rate.

    ``settled_frac`` and ``lagging_frac`` are the shares of area within the tolerance once settled, and with the lag but
    without turns and valves. ``turning`` is what turns alone do, without compensation first.
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
    turning: tuple[TurnAreas, ...]


def response_for(
    known: Response | None, finding: LagFinding | None, *, lag_s: S | None = None, delay_s: S | None = None
) -> tuple[Response, str]:
    """Return the response to replay with and where it is from: typed, fitted, from the season, or none.

    Parameters
    ----------
    known : Response or None
        As the season file says it.
    finding : LagFinding or None
        What the log says about its own machine, if it was asked.
    lag_s, delay_s : float or None
        As typed [s]; what is not typed stays as it is known.

    Returns
    -------
    tuple of Response and str
        The response, and where it is from in words.
    """
    base, source = (AT_ONCE, "no lag is known") if known is None else (known, "from the season file")
    if finding is not None and finding.helps:
        own = finding.fit.response
        base, source = replace(base, lag_s=own.lag_s, delay_s=own.delay_s, shut_off=own.shut_off), "fitted to this log"
    given = {name: value for name, value in (("lag_s", lag_s), ("delay_s", delay_s)) if value is not None}
    if not given:
        return base, source
    typed = replace(base, lag_s=given.get("lag_s", base.lag_s), delay_s=given.get("delay_s", base.delay_s))
    return typed, "as typed"


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
    sprayer: Sprayer,
    lag: tuple[Response, str],
    worst: int,
) -> ExactAnswer:
    """Return the exact replay of a set over a log at the logged speeds.

    Parameters
    ----------
    trial : Trial
        The set and the pass.
    trace : Trace
        The log.
    rate_m3pm2 : float or None
        Rate to replay [m3/m2]; None for the log's own target.
    sprayer : Sprayer
        The machine.
    lag : tuple of Response and str
        As `response_for` gives it.
    worst : int
        How many of the worst places are told.

    Returns
    -------
    ExactAnswer
        With what the set would have done settled, and with the lag alone, for comparison.
    """
    even, response = with_even_clock(trace), lag[0]
    tolerance = trial.planned.tolerance_frac
    off_below_mps = sprayer.control.off_below_mps or 0.0
    setup = exact_setup(
        trial, even, rate_m3pm2, off_below_mps=off_below_mps, response=response, turns=sprayer.control.turns
    )
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
        turning=_turning(result, boom),
    )


def _turning(result: ExactResult, boom: BoomSections) -> tuple[TurnAreas, ...]:
    """What turning alone does: as it is, and on a pulse-width machine with flows set anew by section and by tip."""
    ways = tuple(TurnCompensation) if result.duty_frac is not None else (TurnCompensation.NONE,)
    return tuple(turn_areas(result.driven, boom, way, reach_ratio=result.reach_ratio) for way in ways)


def share(part_cm2: Cm2, whole_cm2: Cm2) -> Frac:
    """Return the share [frac] of a part in an area [cm2]; 0 of none.

    Example
    -------
    >>> share(1, 4), share(0, 0)
    (0.25, 0.0)
    """
    return part_cm2 / whole_cm2 if whole_cm2 else 0.0
