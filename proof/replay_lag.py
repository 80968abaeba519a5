"""How well the fitted lag explains a real sprayer's log: ``python -m proof.replay_lag`` writes its page.

The log is open data and stands beside the project, never in it: ``WETRUN_LOGS`` names the folder of real logs. Without
it the page is left as it is.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import numpy as np

from wetrun.fieldlog.lag_fit import Ends, LagFinding, LagFit, fitted_lag, lag_finding
from wetrun.fieldlog.lag_log import Explained, explained, lag_log_of
from wetrun.fieldlog.readers.formats import traces_in
from wetrun.fieldlog.readers.mapping import mapping_from
from wetrun.fieldlog.readers.request import ReadRequest
from wetrun.fieldlog.steady_clock import ClockGrain, clock_grain
from wetrun.fieldlog.trace import Trace
from wetrun.quantity import Kind, System, to_display

ROOT = Path(__file__).parents[1]
PAGE = ROOT / "docs" / "proof" / "replay-lag.md"
LOG = Path("asapplied-sprayer-uan-2019") / "asapplied_session_A.csv.gz"
MAPPING = """
format_version = 1
[columns]
distance = { column = "DISTANCE", unit = "ft" }
width = { column = "SWATHWIDTH", unit = "ft" }
applied_rate = { column = "AppliedRate", unit = "gal/ac" }
target_rate = { column = "TargetRate", unit = "gal/ac" }
[boom]
full_width = { value = 100, unit = "ft" }
"""
TOLERANCE_FRAC = 0.05
SEED = 1

HEAD = """# A real sprayer's lag, fitted to its own log

Written by `python -m proof.replay_lag` (seeded; needs the real logs, `WETRUN_LOGS`); do not edit by hand.

The log: one sprayer, 32 % UAN, 100 ft boom, seven sections, about five rows a second, with target and applied rate.
Modelled is applied over target: `bias × lag(delay(demand)) / demand`, demand = target × speed, kept between the least
and greatest flow the log shows. Nothing but the log's own speeds, widths and targets goes in. Each half of the log (by
time) is explained by the fit to the *other* half. Variance explained is by area, one less mean squared residual over
the variance of applied over target; a negative figure means worse than the log's own mean.
"""


def main() -> None:
    """Write the page, or say why not."""
    write_page(PAGE, page_of)


def write_page(page: Path, page_of: Callable[[Trace], str]) -> None:
    """Write a page over the real log, or leave it as it is and say why."""
    trace = real_log()
    if trace is None:
        print(f"{page.relative_to(ROOT)} left as it is: the real logs are not here; set WETRUN_LOGS")
        return
    page.write_text(page_of(trace), encoding="utf-8")
    print(f"wrote {page.relative_to(ROOT)}")


def real_log() -> Trace | None:
    """Return the sprayer's log, or None where the real logs are not here."""
    path = Path(os.environ.get("WETRUN_LOGS") or ROOT / ".." / "shared" / "logs") / LOG
    if not path.exists():
        return None
    (trace,) = traces_in(path, ReadRequest(mapping_from(MAPPING, file="map.toml")))
    return trace


def page_of(trace: Trace) -> str:
    """Return the page for a log."""
    finding = lag_finding(trace, np.random.default_rng(SEED), tolerance_frac=TOLERANCE_FRAC)
    grain = clock_grain(trace)
    parts = [HEAD, *_unseen(finding), *_machine(finding, trace), *_clock(trace, grain), READING]
    return "\n".join(parts) + "\n"


def _unseen(finding: LagFinding) -> list[str]:
    rows = [
        "## On ground the fit has not seen",
        "",
        "| explained by | half | variance explained | median residual | within ±5 % of the model | instants |",
        "|---|---|---|---|---|---|",
    ]
    ways = (
        ("a bias only", finding.bias_only),
        ("bias and flow limits, no lag", finding.without_lag),
        ("bias, limits, lag and delay", finding.with_lag),
    )
    for words, halves in ways:
        for half, one in zip(("first", "second"), halves, strict=True):
            rows.append(f"| {words} | {half} | {_figures(one)} | {one.instants:,} |")
    return [*rows, ""]


def _figures(one: Explained) -> str:
    return f"{one.variance_ratio:.1%} | {one.median_ratio:.2%} | {one.within_frac:.1%}"


def _machine(finding: LagFinding, trace: Trace) -> list[str]:
    rows = [
        "## The machine found",
        "",
        "| fitted to | lag | delay | together | bias | when a section shuts | least, greatest flow of the whole boom |",
        "|---|---|---|---|---|---|---|",
    ]
    halves = finding.halves
    fits = (("the whole log", finding.fit), ("its first half", halves[0]), ("its second half", halves[1]))
    for words, fit in fits:
        together = fit.response.lag_s + fit.response.delay_s
        times = " | ".join(
            _time(value, ends)
            for value, ends in (
                (fit.response.lag_s, fit.lag_ends),
                (fit.response.delay_s, fit.delay_ends),
                (together, fit.together_ends),
            )
        )
        bias = f"{fit.bias_ratio:.4f} ({fit.bias_ends.low:.4f} to {fit.bias_ends.high:.4f})"
        rows.append(f"| {words} | {times} | {bias} | {fit.response.shut_off} | {_limits(fit, trace)} |")
    return [*rows, "", "Brackets are 95 %, by drawing the log's minutes anew 1000 times (block bootstrap).", ""]


def _time(value: float, ends: Ends) -> str:
    return f"{value:.2f} s ({ends.low:.2f} to {ends.high:.2f})"


def _limits(fit: LagFit, trace: Trace) -> str:
    flows = (fit.span.floor_m2ps * trace.full_width_m, fit.span.ceiling_m2ps * trace.full_width_m)
    return ", ".join(f"{to_display(flow, Kind.BOOM_FLOW, System.SI):.0f} L/min" for flow in flows)


def _clock(trace: Trace, grain: ClockGrain | None) -> list[str]:
    """What the fit would say if the clock's grain were taken for speed."""
    log = lag_log_of(trace)
    fit = fitted_lag(log, np.random.default_rng(SEED))
    raw = explained(log, fit.bias_ratio * log.modelled_ratio(fit.response, fit.span), TOLERANCE_FRAC)
    followed = "not to be told" if grain is None else f"{grain.followed_ratio:.3f} ± {grain.doubt_ratio:.3f}"
    jitter = "" if grain is None else f"{grain.jitter_ratio:.1%}"
    return [
        "## The grain of the clock",
        "",
        f"The log's intervals scatter by {jitter}; its distances follow them by {followed} (1 would be a true clock,",
        "0 a distance written as speed times a fixed step). So speeds are taken over the fixed step before anything is",
        "fitted. With the speeds as they stand the best fit to the whole log would be",
        f"lag {fit.response.lag_s:.2f} s and delay {fit.response.delay_s:.2f} s. With flow limits and bias it explains",
        f"{raw.variance_ratio:.1%} of the variance of the very log it was fitted to, with a median residual of",
        f"{raw.median_ratio:.2%} and {raw.within_frac:.1%} of the area within ±5 %.",
        "",
    ]


READING = """## How to read it

* The lag is real: on both halves it explains more than flow limits alone, which explain more than a bias alone.
* It does not explain everything. What is left is the meter's scatter, hunting of the controller around its dead band,
  and seconds in which the terminal's controller waits after a jump of the target; the model has none of these.
* The share within ±5 % moves by a few points only, as most of the field was driven at steady speed.
* Lag and delay are known better together than apart. Both hold whatever averaging the terminal does before it writes.
* Plausible: the time to settle (delay and three lags) lies inside the 0.1 to 4.2 s published for metered three-way
  section valves (`sharda-boom-valves`, abstract) and the 0.4 to 14.4 s under section control in point rows
  (`section-control-settling`, second-hand). Neither is about this machine.
* One machine, one log. It says nothing about another sprayer's lag."""


if __name__ == "__main__":
    main()
