"""A wet run as plain data: everything its evidence sheet prints, already in the reader's units."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_agreement import agreement_data
from wetrun.papers.wet_run_boom import boom_data, tip_rows
from wetrun.papers.wet_run_budget import budget_rows, budgets_of
from wetrun.papers.wet_run_changes import changed_data
from wetrun.papers.wet_run_monitor import density_rows, number_rows, other_changes, setting_rows
from wetrun.papers.wet_run_pressure import loss_rows
from wetrun.papers.wet_run_ramp import ramp_data
from wetrun.papers.wet_run_values import limits, measured
from wetrun.percent import per_cent
from wetrun.proving.gates import Gate, GateAnswer, Start
from wetrun.proving.methods import METHODS
from wetrun.proving.session_result import Asked, Evidence, Findings, Part, Untested, WetRunResult
from wetrun.proving.verdict import Verdict
from wetrun.quantity import Kind, sentence
from wetrun.sources import source

METHOD = "wet-run-sheet-1"
_ALWAYS_CITED = ("gum-jcgm-100", "guard-band-106", "orifice-law")
_SURE = ("read", "derived", "definition")
_SAID = {
    Verdict.PASS: "everything that was tested passes",
    Verdict.FAIL: "something that was tested fails",
    Verdict.UNDECIDED: "not decided by these readings",
}


def wet_run_data(
    result: WetRunResult, reader: Reader, shop: str = "", *, before: WetRunResult | None = None
) -> dict[str, Any]:
    """Return a wet run as plain data for its template.

    Parameters
    ----------
    result : WetRunResult
        The wet run, its words in the reader's units.
    reader : Reader
        Whose units.
    shop : str
        Name of the shop; empty if it wants none.
    before : WetRunResult or None
        An earlier run of the same machine, to tell what changed since.

    Returns
    -------
    dict
        Strings, lists, dicts and truth values only; parts that were not done are empty.
    """
    run, found = result.run, result.findings
    return {
        "machine": run.machine.name,
        "customer": run.customer,
        "on": run.on,
        "by": run.by,
        "shop": shop,
        "sentence": result.sentence,
        "verdict": result.verdict.value,
        "verdict_words": _SAID[result.verdict],
        "tally": _tally(result.evidence),
        **_explained(result),
        "started": found.start.started,
        "start": found.start.words,
        "gates": list(_gates(found.start)),
        "tests": [_test(line, result.next_steps, reader) for line in result.evidence if not _told_below(line)],
        **changed_data(before, result, reader),
        "boom": boom_data(result, reader),
        "numbers": number_rows(result),
        "tips": tip_rows(result, reader),
        "steps": list(result.next_steps),
        "questions": [_question(one) for one in result.questions],
        "answers": [answer.words for answer in result.answers],
        "untested": [_untested(one, reader) for one in result.untested],
        "ramp": ramp_data(found.ramp, run, reader),
        "settings": setting_rows(found),
        "changes": other_changes(result),
        "density": density_rows(result, reader),
        "losses": loss_rows(found.pressure, reader),
        "remarks": list(_remarks(found, reader)),
        **agreement_data(found.check, found.answer, reader),
        "budgets": budget_rows(result, reader),
        "cautions": list(result.cautions),
        "statement": result.statement,
        "methods": ", ".join([METHOD, *(METHODS[part] for part in _done(result))]),
        "sources": _sources(result),
    }


def _tally(evidence: tuple[Evidence, ...]) -> list[dict[str, str]]:
    """How many lines that count have each verdict."""
    count = Counter(line.verdict for line in evidence if line.counts and line.verdict is not None)
    return [{"verdict": verdict.value, "count": str(count[verdict])} for verdict in Verdict]


def _explained(result: WetRunResult) -> dict[str, Any]:
    """What else would explain it, best first, and the one reading that would tell."""
    answer = result.findings.answer
    if answer is None:
        return {"agreement": "", "alternatives": [], "further": ""}
    return {
        "agreement": answer.sentence if answer.sentence.rstrip(".").lower() not in result.sentence.lower() else "",
        "alternatives": list(answer.alternatives),
        "further": "" if answer.further is None else answer.further.words,
    }


def _gates(start: Start) -> Iterator[dict[str, str | bool]]:
    given = {answer.gate: answer for answer in start.answers}
    shut = {one.gate for one in start.shut}
    for gate in Gate:
        yield {"gate": gate.value, "open": gate not in shut, **_answered(given.get(gate))}


def _answered(answer: GateAnswer | None) -> dict[str, str]:
    if answer is None:
        return {"answer": "nobody has confirmed it", "by": "", "remark": ""}
    who = ", ".join(part for part in (answer.confirmed.by, answer.confirmed.at) if part)
    return {"answer": answer.answer.value, "by": who, "remark": answer.confirmed.remark}


def _told_below(line: Evidence) -> bool:
    """Whether a line stands in a table of its own: what was found in the monitor, beside what was left."""
    return line.part is Part.SETTINGS and not line.counts


def _test(line: Evidence, steps: tuple[str, ...], reader: Reader) -> dict[str, str | bool]:
    exact = line.low == line.high == 0.0
    status = source(line.source_key).status if line.rule else ""
    told = any(line.next_step.lower() in step.lower() for step in steps)
    return {
        "part": line.part.value,
        "thing": line.thing,
        "value": measured(line.value, line.expanded, line.unit, reader).text,
        "limit": "none off" if exact else limits(line.low, line.high, line.unit, reader),
        "rule": line.rule,
        "status": status,
        "sure": status in _SURE,
        "caution": "" if line.caution == f"the limit is {status}" else line.caution,
        "verdict": "" if line.verdict is None else line.verdict.value,
        "counts": line.counts,
        "next": "" if told else line.next_step,
    }


def _question(one: Asked) -> dict[str, Any]:
    """A question, with the names an answer gives if all of it stands as typed."""
    return {"part": one.part.value, "row": one.row, "words": one.words, "first": one.first, "names": list(one.names)}


def _untested(one: Untested, reader: Reader) -> dict[str, str]:
    why = "not tested" if one.error is None else sentence(one.error, reader.system)
    return {"part": one.part.value, "unproven": one.unproven, "why": why}


def _remarks(found: Findings, reader: Reader) -> Iterator[str]:
    """Where a test falls short of good practice, and readings that are shown and do not count."""
    for advice in () if found.course is None else found.course.advice:
        cost = "" if advice.speed_ratio is None else f" (up to {per_cent(advice.speed_ratio)} of speed)"
        least = "" if advice.least_m is None else f" (at least {reader.text(advice.least_m, Kind.WIDTH)})"
        yield f"Speed course: {advice.flaw.value}{cost}{least}."
    for catch in () if found.meter is None else found.meter.outside_range:
        yield f"Catch {catch.name} lies outside the flows the meter is made for and does not count."
    if found.meter is not None and found.meter.beside:
        yield "Never bend the meter's number to agree with tank marks."


def _done(result: WetRunResult) -> tuple[Part, ...]:
    told = {line.part for line in result.evidence}
    return tuple(part for part in Part if part in told or part is Part.GATES)


def _sources(result: WetRunResult) -> list[dict[str, str]]:
    """Every source a verdict or an uncertainty rests on, each with how far it was read."""
    keys = [*_ALWAYS_CITED, *(line.source_key for line in result.evidence)]
    keys += [part.source_key for each in budgets_of(result) for part in each.budget.components]
    found = [source(key) for key in dict.fromkeys(keys) if key != "user"]
    return [{"citation": one.citation, "status": one.status} for one in found]
