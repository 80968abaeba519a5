"""The error budgets of a wet run: every measured thing with each input's uncertainty, its share and its source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from wetrun.papers.reader import Reader, percent
from wetrun.papers.wet_run_values import degrees_of_freedom, measured
from wetrun.percent import off_per_cent, per_cent
from wetrun.proving.budget import Budget, Component
from wetrun.proving.catch import CatchResult
from wetrun.proving.crosscheck import CrossCheck
from wetrun.proving.readings_evidence import ReadingEvidence, readings_evidence
from wetrun.proving.redundant import Kind
from wetrun.proving.session_result import WetRunResult
from wetrun.sources import source
from wetrun.units import CUBIC_METRE_PER_SECOND, METRE, METRE_PER_SECOND, PASCAL, RATIO, Unit

_UNITS = {
    Kind.COURSE: METRE_PER_SECOND,
    Kind.SPEED: METRE_PER_SECOND,
    Kind.METER: CUBIC_METRE_PER_SECOND,
    Kind.CATCH: CUBIC_METRE_PER_SECOND,
    Kind.TANK: CUBIC_METRE_PER_SECOND,
    Kind.CAB: PASCAL,
    Kind.GAUGE: PASCAL,
}


@dataclass(frozen=True, slots=True)
class Budgeted:
    """One result with its budget; both in the unit."""

    thing: str
    value: float
    budget: Budget
    unit: Unit
    note: str = ""


def budgets_of(result: WetRunResult) -> Iterator[Budgeted]:
    """Yield every result of a wet run that has a budget of its own.

    Parameters
    ----------
    result : WetRunResult
        The wet run.

    Yields
    ------
    Budgeted
        In the order of the report.
    """
    found = result.findings
    if found.course is not None:
        speed_mps = found.course.speed_mps
        yield Budgeted("true speed of the course", speed_mps, found.course.budget.scaled(speed_mps), METRE_PER_SECOND)
        for each in found.course.sources:
            yield Budgeted(f"error of {each.source.name}", each.error_ratio, each.budget, RATIO)
    if found.meter is not None:
        yield Budgeted("error of the flow meter", found.meter.error_ratio, found.meter.budget, RATIO)
    if found.catch is not None:
        yield from _one_tip(found.catch)
    if found.reference is not None:
        yield Budgeted("set against new tips", found.reference.wear_ratio - 1.0, found.reference.doubt, RATIO)
    if found.pressure is not None:
        yield Budgeted("cab sensor, no flow", found.pressure.offset_pa, found.pressure.offset_doubt, PASCAL)
    for name, edge in found.edges:
        yield Budgeted(f"sections {name}, past the line", edge.late_m, edge.budget, METRE)


def budget_rows(result: WetRunResult, reader: Reader) -> list[dict[str, Any]]:
    """Return the error budgets as plain data.

    Parameters
    ----------
    result : WetRunResult
        The wet run.
    reader : Reader
        Whose units.

    Returns
    -------
    list of dict
        One per result, with its inputs.
    """
    return [_as_data(each, reader) for each in budgets_of(result) if each.budget.components]


def reading_rows(check: CrossCheck | None, reader: Reader) -> list[dict[str, str | bool]]:
    """Return every reading of the cross-check beside what it becomes when all balances hold.

    Parameters
    ----------
    check : CrossCheck or None
        The cross-check; None gives no rows.
    reader : Reader
        Whose units.

    Returns
    -------
    list of dict
        In the order they were taken.
    """
    if check is None or check.scene.found.redundancy == 0:
        return []
    return [_reading(each, reader) for each in readings_evidence(check.scene)]


def _one_tip(catch: CatchResult) -> Iterator[Budgeted]:
    """One tip stands for all: the one whose catch is as sure as most."""
    judged = [tip for tip in catch.tips if tip.beyond is not None and tip.caught.flow_m3s > 0.0]
    if not judged:
        return
    middle = sorted(judged, key=lambda tip: tip.caught.own.combined)[len(judged) // 2]
    sure = [tip.beyond.expanded for tip in judged if tip.beyond is not None]
    value = 1.0 if middle.beyond is None else middle.beyond.value
    budget = middle.caught.own.joined(catch.base.doubt).scaled(value)
    note = f"stands for {len(judged)} tips: their ± lies between {per_cent(min(sure))} and {per_cent(max(sure))}"
    yield Budgeted(f"tip {middle.caught.tip} against {catch.base.rule.base.value}", value - 1.0, budget, RATIO, note)


def _as_data(each: Budgeted, reader: Reader) -> dict[str, Any]:
    budget = each.budget
    shown = measured(each.value, budget.expanded(), each.unit, reader)
    return {
        "thing": each.thing,
        "value": shown.text,
        "note": each.note,
        "factor": f"{budget.coverage_factor():.2f}",
        "freedom": degrees_of_freedom(budget.freedom),
        "unit": shown.unit,
        "parts": list(_parts(each, reader)),
    }


def _parts(each: Budgeted, reader: Reader) -> Iterator[dict[str, str]]:
    """Inputs, the greatest share first; a shared cause once, its signs summed."""
    shares = each.budget.shares
    for part in sorted(each.budget.independent, key=lambda part: -abs(part.standard)):
        standard = measured(abs(part.standard), abs(part.standard), each.unit, reader)
        share = shares[part.name]
        yield {
            "name": part.name,
            "kind": part.kind,
            "standard": standard.plus,
            "freedom": degrees_of_freedom(part.freedom),
            "share": percent(share) if part.standard else "none",
            "source": _source_words(part),
        }


def _source_words(part: Component) -> str:
    if part.standard == 0.0:
        return "not used, or exact"
    return "as entered" if part.source_key == "user" else source(part.source_key).status


def _reading(each: ReadingEvidence, reader: Reader) -> dict[str, str | bool]:
    reading = each.reading
    unit, less = (_UNITS[reading.kind], 0.0) if reading.kind in _UNITS else (RATIO, 1.0)
    shown = measured(reading.value - less, reading.budget.expanded(), unit, reader)
    becomes = measured(each.reconciled - less, reading.budget.expanded(), unit, reader)
    checked = each.adjustability_frac > 0.0
    return {
        "words": reading.words,
        "value": shown.text,
        "becomes": f"{becomes.value} {becomes.unit}".rstrip() if checked else "nothing checks it",
        "off": off_per_cent(each.off_ratio, places=2) if checked else "",
        "deviate": f"{each.deviate:.1f}" if checked else "",
        "out": each.stands_out,
    }
