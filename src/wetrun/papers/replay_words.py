"""A settled replay as sentences, beside what the log says came out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from wetrun.fieldlog.replay import ReplayMode, ReplayResult
from wetrun.fieldlog.trace import Trace
from wetrun.papers.reader import Reader, percent
from wetrun.percent import per_cent
from wetrun.planning.replaying import ReplayedPass
from wetrun.quantity import Kind
from wetrun.units import Frac

WHY_UNLIKE: Final = (
    "The two need not agree. The replay is the settled answer of the proposed set at every instant: no lag, no valve "
    "delay, no wear but what the season file states, no wrong meter number. What came out carries all of those, and "
    "the tips that were on that day."
)
WHY_UNLIKE_EXACT: Final = (
    "The two need not agree. Same speeds and same boom flow are settled answers of the proposed set; the exact replay "
    "adds lag, section valves and turns, as far as they are known. Neither knows wear but what the season file states, "
    "nor a wrong meter number. What came out carries all of those, and the tips that were on that day."
)


def replay_lines(trace: Trace, done: ReplayedPass, reader: Reader, *, why: str) -> Iterator[str]:
    """Yield a settled replay at one rate: what the set would have held, and beside it what the log says came out.

    Parameters
    ----------
    trace : Trace
        The log.
    done : ReplayedPass
        The replay.
    reader : Reader
        Whose units.
    why : str
        Why the two need not agree.
    """
    planned, tip = done.trial.planned, done.trial.tip_set.tip
    yield f"== {trace.facts.file}: {tip.ident} in {planned.ident}, {target_words(done, reader)} =="
    for result in done.results:
        yield result_words(result, planned.tolerance_frac)
    if done.rate_m3pm2 is None:
        yield from logged_lines(done, reader, why=why)


def target_words(done: ReplayedPass, reader: Reader) -> str:
    """Return the rate that was replayed."""
    return "the log's own target" if done.rate_m3pm2 is None else reader.rate(done.rate_m3pm2)


def result_words(result: ReplayResult, tolerance_frac: Frac) -> str:
    """Return what a set would have held of a log, in a sentence; a tolerance on the rate [frac] judges it."""
    total = max(result.total_cm2, 1)
    keeps = "speeds" if result.mode is ReplayMode.SAME_SPEED else "boom flow"
    return (
        f"Same {keeps} as driven: {percent(int(result.held_cm2.sum()) / total)} held, "
        f"{percent(int(result.below_cm2.sum()) / total)} below, {percent(int(result.above_cm2.sum()) / total)} above "
        f"what the set holds; rate within ±{per_cent(tolerance_frac, places=0)} on "
        f"{percent(result.within(tolerance_frac))}; "
        f"above the label's maximum on {percent(int(result.over_label_cm2.sum()) / total)}."
    )


def logged_lines(done: ReplayedPass, reader: Reader, *, why: str) -> Iterator[str]:
    """Yield what the log says came out, and why that need not be what the replay says; nothing if it does not say."""
    if done.logged is None or done.flows is None:
        return
    demanded = ", ".join(reader.digits(float(flow), Kind.BOOM_FLOW) for flow in done.flows.demanded_m3s)
    logged = ", ".join(reader.digits(float(flow), Kind.BOOM_FLOW) for flow in done.flows.logged_m3s)
    unit = reader.unit(Kind.BOOM_FLOW)
    yield f"Boom flow at 5, 50, 95 of 100 instants: demanded {demanded}; logged {logged} {unit} ({done.flows.words})."
    yield (
        f"What really came out, read from the applied rate: {per_cent(done.logged.within_frac)} of the area within "
        f"±{per_cent(done.logged.tolerance_frac, places=0)} of the logged target ({done.logged.words})."
    )
    yield why
