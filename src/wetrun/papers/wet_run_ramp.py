"""The ramp on paper: each step beside the window predicted for it, the ends of the range, and what was seen."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from wetrun.papers.reader import Reader, percent
from wetrun.papers.wet_run_values import decimals
from wetrun.percent import per_cent
from wetrun.proving.ramp import EndsSeen, RampResult
from wetrun.proving.ramp_reading import RampRules, Shown
from wetrun.proving.ramp_step import Measured, StepResult
from wetrun.proving.session_record import WetRun
from wetrun.quantity import Kind
from wetrun.units import Frac, Pa

_KINDS = {
    Shown.RATE: Kind.RATE,
    Shown.METER: Kind.BOOM_FLOW,
    Shown.CAB: Kind.PRESSURE,
    Shown.TIP: Kind.PRESSURE,
    Shown.DUTY: Kind.SHARE,
}


def ramp_data(result: RampResult | None, run: WetRun, reader: Reader) -> dict[str, Any] | None:
    """Return a ramp as plain data; None if none was driven.

    Parameters
    ----------
    result : RampResult or None
        The ramp judged.
    run : WetRun
        For its target and rules.
    reader : Reader
        Whose units.

    Returns
    -------
    dict or None
        Columns, steps, ends, findings.
    """
    if result is None or run.ramp is None:
        return None
    read = [what for what in Shown if any(step.of(what) is not None for step in result.steps)]
    return {
        "verdict": result.verdict.value,
        "target": reader.rate(run.ramp.rate_m3pm2),
        "columns": [f"{what.value}, {reader.unit(_KINDS[what])}" for what in read],
        "steps": [_step(step, read, run.ramp.rules, reader) for step in result.steps],
        "ends": [words for seen in result.ends for words in _ends(seen, reader)],
        "findings": [_finding_words(found.seen.value, found.steps) for found in result.findings],
        "rules": "; ".join(dict.fromkeys(run.ramp.rules.of(what).name for what in read)),
        "method": result.method,
    }


def _step(step: StepResult, read: list[Shown], rules: RampRules, reader: Reader) -> dict[str, Any]:
    expected, made = step.step.expected, step.step
    limit = None if expected is None else expected.limit
    return {
        "name": made.name,
        "speed": reader.speed(made.speed_mps),
        "on": f"{made.tips_on} tips, {made.sections_on} sections{'' if made.agitation_on else ', no agitation'}",
        "cells": [_cell(step, what, rules, reader) for what in read],
        "moved": "; ".join(_moved(step)),
        "limit": "" if limit is None else f"expected: {limit.value}",
        "verdict": step.verdict.value,
    }


def _cell(step: StepResult, what: Shown, rules: RampRules, reader: Reader) -> dict[str, str]:
    """What settled, and the window the plan predicts for it."""
    found, expected = step.of(what), step.step.expected
    kind, rule = _KINDS[what], rules.of(what)
    wanted = None if expected is None else expected.of(what)
    if found is None:
        small = what is Shown.METER and step.step.below_range
        return {"read": "below range" if small else "–", "window": ""}
    value, plus = reader.number(found.settled.value, kind), reader.number(found.budget.expanded(), kind)
    places = min(decimals(plus or 0.01 * value), 3)
    window = ""
    if wanted is not None:
        ends = [reader.number(wanted * (1.0 + off), kind) for off in (rule.low_ratio, rule.high_ratio)]
        window = f"{ends[0]:.{places}f}–{ends[1]:.{places}f}"
    return {"read": f"{value:.{places}f} ± {plus:.{places}f}" if plus else f"{value:.{places}f}", "window": window}


def _moved(step: StepResult) -> Iterator[str]:
    for found in step.measured:
        if found.movement is not None:
            yield f"{found.what.value}: {', '.join(_movement(found))}"


def _movement(found: Measured) -> Iterator[str]:
    moved = found.movement
    if moved is None:
        return
    settled = moved.settling_s is not None
    yield f"settled in {moved.settling_s:.1f} ± {2.0 * moved.settling_standard_s:.1f} s" if settled else "not settled"
    if moved.overshoot_frac > 0.0:
        yield f"overshoot {per_cent(moved.overshoot_frac, places=0)}"
    if moved.hunting is not None:
        yield "swings"


def _ends(seen: EndsSeen, reader: Reader) -> Iterator[str]:
    """Where flow stops following speed, with so many tips on."""
    low, high = seen.ends.floor, seen.ends.ceiling
    if low is not None and seen.floor_mps is not None:
        at = _shown_there(seen.floor_pa, seen.floor_duty_frac, reader)
        yield (
            f"Minimum hold with {seen.tips_on} tips on: {reader.flow(low.flow_m3s)}{at}; "
            f"below {reader.speed(seen.floor_mps)} flow no longer follows speed."
        )
    if high is not None and seen.ceiling_mps is not None:
        at = _shown_there(seen.ceiling_pa, seen.ceiling_duty_frac, reader)
        yield (
            f"Ceiling with {seen.tips_on} tips on: {reader.flow(high.flow_m3s)}{at}; "
            f"above {reader.speed(seen.ceiling_mps)} flow no longer follows speed."
        )


def _shown_there(cab_pa: Pa | None, duty_frac: Frac | None, reader: Reader) -> str:
    cab = "" if cab_pa is None else f", cab {reader.pressure(cab_pa)}"
    return cab if duty_frac is None else f"{cab}, duty {percent(duty_frac)}"


def _finding_words(words: str, steps: tuple[str, ...]) -> str:
    return f"{words} ({', '.join(steps)})" if steps else words
