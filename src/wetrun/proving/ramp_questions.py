"""Ramp readings that cannot be as typed: repeats against one another, then flow, rate and pressure step by step."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from statistics import median
from typing import Final

from wetrun.proving.ramp_reading import Reading, Shown
from wetrun.proving.ramp_record import Ramp, RampStep
from wetrun.proving.slips import FLOW_SLIPS, PRESSURE_SLIPS, RATE_SLIPS, SPEED_SLIPS, Question, UnitSlip
from wetrun.proving.typed_slips import Cell, cell_questions

SPEED: Final = "speed"
_SLIPS: Final[Mapping[Shown, tuple[UnitSlip, ...]]] = {
    Shown.RATE: RATE_SLIPS,
    Shown.METER: FLOW_SLIPS,
    Shown.CAB: PRESSURE_SLIPS,
    Shown.TIP: PRESSURE_SLIPS,
}
_LEAST_STEPS: Final = 3


def ramp_questions(ramp: Ramp) -> tuple[Question, ...]:
    """Return every question the ramp's readings raise.

    Parameters
    ----------
    ramp : Ramp
        As typed.

    Returns
    -------
    tuple of Question
        Rows are the steps by name. A log over time is left alone: on its way it may show anything.

    Notes
    -----
    Only a slip that explains a reading is asked about: a machine at its floor or ceiling may be far from its target,
    and that is a finding. Flow is held against the rate shown, the speed and the tips on; a pressure over the square of
    the flow against the other steps. Where flow and pressure agree, but not with rate and speed, the speed is asked
    about.

    References
    ----------
    rate-identity, orifice-law
    """
    inside = tuple(question for step in ramp.steps for question in _repeats(step))
    done = {question.row for question in inside}
    levels = {step.name: _levels(step) for step in ramp.steps if step.name not in done}
    steps = [step for step in ramp.steps if step.name in levels]
    flows = _first_of_each(cell_questions(list(_rates(ramp, steps, levels)), odd=False))
    # A slipped flow would make its own pressures look slipped.
    told = {question.row for question in flows}
    pressures = cell_questions([cell for cell in _pressures(steps, levels) if cell.row not in told], odd=False)
    return (*inside, *flows, *pressures)


def _first_of_each(questions: Sequence[Question]) -> tuple[Question, ...]:
    """One question for each step: a slipped rate would make its speed look slipped."""
    return tuple({question.row: question for question in reversed(questions)}.values())[::-1]


def sound_ramp(ramp: Ramp, asked: Sequence[Question]) -> Ramp | None:
    """Return the ramp without what is asked about.

    Parameters
    ----------
    ramp : Ramp
        As typed.
    asked : sequence of Question
        Of `ramp_questions`.

    Returns
    -------
    Ramp or None
        A reading in question is left out, a step whose speed is in question as a whole; None if no step is left.
    """
    out = {(question.row, question.column) for question in asked}
    kept = tuple(
        replace(step, readings=tuple(r for r in step.readings if (step.name, r.what.value) not in out))
        for step in ramp.steps
        if (step.name, SPEED) not in out
    )
    return replace(ramp, steps=kept) if kept else None


def _repeats(step: RampStep) -> Iterator[Question]:
    """Settled repeats of one instrument, each against the median of them all."""
    for reading in step.readings:
        values = reading.values
        if reading.times_s or not values:
            continue
        centre = median(values)
        if centre <= 0.0:
            yield from cell_questions([Cell(step.name, reading.what.value, centre, 1.0)])
        elif len(values) > 1:
            cells = [Cell(step.name, reading.what.value, value, centre, _SLIPS[reading.what]) for value in values]
            yield from cell_questions(cells, odd=False)[:1]


def _levels(step: RampStep) -> Mapping[Shown, float]:
    """Settled readings of a step, one of a kind."""
    return {reading.what: median(reading.values) for reading in step.readings if _settled(reading)}


def _settled(reading: Reading) -> bool:
    return not reading.times_s and median(reading.values) > 0.0


def _rates(ramp: Ramp, steps: Sequence[RampStep], levels: Mapping[str, Mapping[Shown, float]]) -> Iterator[Cell]:
    for step in steps:
        shown = levels[step.name]
        rate_m3pm2, flow_m3s = shown.get(Shown.RATE), shown.get(Shown.METER)
        if rate_m3pm2 is not None:
            yield Cell(step.name, Shown.RATE.value, rate_m3pm2, ramp.rate_m3pm2, RATE_SLIPS)
        if flow_m3s is None:
            continue
        demand_m3s = ramp.demand_m3s(step)
        tip_pa, per_flow = shown.get(Shown.TIP), _per_flow(steps, levels, Shown.TIP)
        by_pressure_m3s = None if tip_pa is None or per_flow is None else step.tips_on * (tip_pa / per_flow) ** 0.5
        agrees = by_pressure_m3s is not None and 0.8 < flow_m3s / by_pressure_m3s < 1.25
        if agrees and rate_m3pm2 is not None:
            meant_mps = flow_m3s / (rate_m3pm2 * ramp.spacing_m * step.tips_on)
            yield Cell(step.name, SPEED, step.speed_mps, meant_mps, SPEED_SLIPS)
        else:
            yield Cell(step.name, Shown.METER.value, flow_m3s, demand_m3s, FLOW_SLIPS)


def _pressures(steps: Sequence[RampStep], levels: Mapping[str, Mapping[Shown, float]]) -> Iterator[Cell]:
    for what in (Shown.CAB, Shown.TIP):
        per_flow = _per_flow(steps, levels, what)
        for step in steps:
            if step.expected is None or step.expected.tip_pa is None:
                continue  # pulsed tips: their pressure does not follow the flow
            pressure_pa, flow_m3s = levels[step.name].get(what), levels[step.name].get(Shown.METER)
            if per_flow is not None and pressure_pa is not None and flow_m3s is not None:
                expected_pa = per_flow * (flow_m3s / step.tips_on) ** 2
                yield Cell(step.name, what.value, pressure_pa, expected_pa, PRESSURE_SLIPS)


def _per_flow(steps: Sequence[RampStep], levels: Mapping[str, Mapping[Shown, float]], what: Shown) -> float | None:
    """Return pressure over the square of a tip's flow, the median of the steps; None from too few to tell."""
    found = [
        shown[what] / (shown[Shown.METER] / step.tips_on) ** 2
        for step in steps
        if {what, Shown.METER} <= set(shown := levels[step.name])
    ]
    return median(found) if len(found) >= _LEAST_STEPS else None
