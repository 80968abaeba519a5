"""The error budgets of a wet run: every measured thing with each input's uncertainty, its share and its source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from wetrun.papers.reader import Reader, percent
from wetrun.papers.wet_run_values import HAIR, degrees_of_freedom, measured
from wetrun.percent import per_cent
from wetrun.proving.budget import Budget, Component
from wetrun.proving.catch import CatchResult
from wetrun.proving.session_result import Evidence, Part, WetRunResult
from wetrun.proving.session_rows import SET_THING
from wetrun.sources import source
from wetrun.units import METRE, METRE_PER_SECOND, RATIO, Unit


@dataclass(frozen=True, slots=True)
class Budgeted:
    """One result with its budget, both in the unit; or the words and the half width of a margin that is no budget."""

    thing: str
    value: float
    budget: Budget
    unit: Unit
    note: str = ""
    margin: tuple[str, float] | None = None


def budgets_of(result: WetRunResult) -> Iterator[Budgeted]:
    """Yield every result of a wet run that has a budget of its own.

    Parameters
    ----------
    result : WetRunResult
        The wet run.

    Yields
    ------
    Budgeted
        Every line of evidence that has a ±, in the order of the report; one tip stands for all. A setting has the
        doubt of what proved it, and no row of its own.
    """
    found = result.findings
    if found.course is not None:
        speed_mps = found.course.speed_mps
        yield Budgeted("true speed of the course", speed_mps, found.course.budget.scaled(speed_mps), METRE_PER_SECOND)
    for alike in _made_alike(result.evidence):
        yield _of_lines(alike)
        if found.catch is not None and alike[0].thing == SET_THING:
            yield from _one_tip(found.catch)
    if found.reference is not None:
        yield Budgeted("set against new tips", found.reference.wear_ratio - 1.0, found.reference.doubt, RATIO)
    for name, edge in found.edges:
        if edge.judged is None:
            yield Budgeted(f"sections {name}, past the line", edge.late_m, edge.budget, METRE)


def _made_alike(evidence: tuple[Evidence, ...]) -> Iterator[list[Evidence]]:
    """Lines whose ± is made of the very same, together; single tips have one that stands for all."""
    found: dict[tuple[Part, Budget, str], list[Evidence]] = {}
    for line in evidence:
        doubted = line.expanded is not None and line.expanded > HAIR and (line.budget.components or line.margin)
        if doubted and (line.part is not Part.CATCH or line.thing == SET_THING):
            found.setdefault((line.part, used(line.budget), line.margin), []).append(line)
    yield from found.values()


def used(budget: Budget) -> Budget:
    """Return a budget without the inputs that are exact or were not used: they make no ± another one."""
    return Budget(tuple(part for part in budget.components if part.standard))


def _of_lines(alike: list[Evidence]) -> Budgeted:
    first = alike[0]
    note = f"stands for {len(alike)} lines" if len(alike) > 1 else ""
    margin = (first.margin, first.expanded or 0.0) if first.margin else None
    return Budgeted(first.thing, first.value, first.budget, first.unit or RATIO, note, margin)


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
    return [_as_data(each, reader) for each in budgets_of(result) if each.margin or each.budget.components]


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
    if each.margin is not None:
        return _as_margin(each, each.margin, reader)
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
        "exact": "; ".join(dict.fromkeys(part.name for part in budget.independent if not part.standard)),
    }


def _as_margin(each: Budgeted, margin: tuple[str, float], reader: Reader) -> dict[str, Any]:
    """A ± that no reading stands behind: its one input says so."""
    words, half = margin
    shown = measured(each.value, half, each.unit, reader)
    part = {"name": words, "kind": "–", "standard": "none", "freedom": "–", "share": "all", "source": "our own choice"}
    return {
        "thing": each.thing,
        "value": shown.text,
        "note": "; ".join(said for said in (each.note, "a margin, not an uncertainty") if said),
        "factor": "",
        "freedom": "",
        "unit": shown.unit,
        "parts": [part],
        "exact": "",
    }


def _parts(each: Budgeted, reader: Reader) -> Iterator[dict[str, str]]:
    """Inputs, the greatest share first; what enters by more than one reading once, with all that it does."""
    by_name: dict[str, list[Component]] = {}
    for part in used(Budget(each.budget.independent)).components:
        by_name.setdefault(part.name, []).append(part)
    together = {name: Budget(tuple(replace(part, cause="") for part in parts)) for name, parts in by_name.items()}
    shares = each.budget.shares
    for name, own in sorted(together.items(), key=lambda item: -item[1].combined):
        yield {
            "name": name,
            "kind": by_name[name][0].kind,
            "standard": measured(own.combined, own.combined, each.unit, reader).plus,
            "freedom": degrees_of_freedom(own.freedom),
            "share": percent(shares[name]),
            "source": _source_words(by_name[name][0]),
        }


def _source_words(part: Component) -> str:
    """Whether an input was measured here, stated by who read it, or is from somewhere, and how far that was read."""
    if part.kind == "A":
        return "measured"
    if part.source_key == "user":
        return "stated with the readings"
    status = source(part.source_key).status
    return f"published, {status}" if status in ("read", "second-hand") else status
