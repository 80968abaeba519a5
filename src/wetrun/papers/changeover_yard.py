"""The yard's list on paper: what to confirm before, boxes to tick valve by valve, and what was written down."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import timedelta
from itertools import groupby
from typing import Any, Final

from wetrun.changeover.answer import ChangeoverAnswer, YardAnswer
from wetrun.changeover.yard_record import StepEntry
from wetrun.changeover.yard_step import Signing, StepKind, YardStep
from wetrun.machine.circuits import Layout
from wetrun.machine.flushing import FlushSetting
from wetrun.papers.reader import Reader, day
from wetrun.papers.small_amounts import water_text

FLOW: Final = "Let it flow, and move each valve to and fro while it does: every time."


def yard_data(answer: ChangeoverAnswer | YardAnswer, reader: Reader) -> dict[str, Any]:
    """Return the yard's list as plain data.

    Parameters
    ----------
    answer : ChangeoverAnswer or YardAnswer
        The clean-out, or only what the yard works by.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        ``before`` (to confirm first), ``steps`` (to tick), ``valves`` (where each stands), ``by_hand``, ``gaps``,
        ``record``, ``winter`` and ``spring``.
    """
    written = _entries(answer)
    before = [step for step in answer.yard.steps if step.signing is Signing.BEFORE]
    after = [step for step in answer.yard.steps if step.signing is not Signing.BEFORE]
    by_hand = answer.yard.job.circuits[len(answer.flush_settings) :]
    return {
        "before": [_ticked(step, written, reader) for step in before],
        "steps": list(_steps(after, answer, written, reader)),
        "valves": valve_data(answer),
        "by_hand": [f"{flush.circuit}: {flush.valves}" for flush in by_hand],
        "gaps": list(answer.yard.gaps),
        "record": _record(answer, reader),
        "winter": [_ticked(step, {}, reader) for step in answer.winter],
        "spring": [_ticked(step, {}, reader) for step in answer.spring],
    }


def step_rows(answer: ChangeoverAnswer | YardAnswer, reader: Reader) -> list[dict[str, Any]]:
    """Return every step of the yard's list by itself, under the name it has in the record.

    Parameters
    ----------
    answer : ChangeoverAnswer or YardAnswer
        The clean-out, or only what the yard works by.
    reader : Reader
        Whose units.

    Returns
    -------
    list of dict
        ``step`` (its name in the record), ``do``, ``why``, ``kind``, ``signing``, ``binding``, ``water`` (asked for),
        ``stands`` and what was written down: ``used``, ``done``.
    """
    written = _entries(answer)
    return [
        {
            **_ticked(step, written, reader),
            "step": step.ident,
            "kind": step.kind.value,
            "signing": step.signing.value,
            "binding": step.binding,
        }
        for step in answer.yard.steps
    ]


def valve_data(answer: ChangeoverAnswer | YardAnswer) -> dict[str, Any]:
    """Return where every valve stands in each setting of a rinse.

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out.

    Returns
    -------
    dict
        ``names`` of the valves that move, ``rows`` with ``letter``, ``what`` the setting is for, ``positions`` and
        ``flushes``; ``still``, the valves that never move, in words.
    """
    layout, settings = answer.question.layout, answer.flush_settings
    moving = [
        valve.name for valve in layout.valves if len({dict(s.setting.positions)[valve.name] for s in settings}) > 1
    ]
    still = {name: place for name, place in settings[0].setting.positions if name not in moving}
    rows = [
        {
            "letter": letter,
            "what": flush.circuit,
            "positions": [dict(entry.setting.positions)[name] for name in moving],
            "flushes": ", ".join(_drawn_together(entry, layout)),
        }
        for letter, flush, entry in _lettered(answer)
    ]
    return {"names": moving, "rows": rows, "still": ", ".join(f"{name}: {place}" for name, place in still.items())}


def _lettered(answer: ChangeoverAnswer | YardAnswer) -> Iterator[tuple[str, Any, FlushSetting]]:
    """Settings in their order, which is that of the yard's circuits, each with its letter."""
    yield from zip("abcdefghijklmnop", answer.yard.job.circuits, answer.flush_settings, strict=False)


def _drawn_together(entry: FlushSetting, layout: Layout) -> Iterator[str]:
    """Circuits a setting flushes first, those of one kind and more than two drawn together."""
    for kind, alike in groupby(entry.first_flushes, key=lambda name: _kind_of(layout, name)):
        names = list(alike)
        yield f"{kind}s, all {len(names)}" if len(names) > 2 else ", ".join(names)


def _kind_of(layout: Layout, name: str) -> str:
    known = {circuit.name: circuit.kind.value for circuit in layout.circuits}
    return known.get(name, "row of tips")


def _steps(
    steps: Iterable[YardStep], answer: ChangeoverAnswer | YardAnswer, written: Mapping[str, StepEntry], reader: Reader
) -> Iterator[dict[str, Any]]:
    """Steps in order; circuits that follow each other share a row of boxes, and a reason is told once."""
    told: set[str] = set()
    letters = {flush.circuit: letter for letter, flush, _ in _lettered(answer)}
    for circuits, run in groupby(steps, key=lambda step: step.kind is StepKind.CIRCUIT):
        rows = list(run)
        if circuits:
            known = rows[0].why in told
            said = {"do": "", "why": ""} if known else {"do": FLOW, "why": rows[0].why}
            yield {**_circuits(rows, letters, written), **said}
            told.add(rows[0].why)
            continue
        for step in rows:
            yield {**_ticked(step, written, reader), "why": "" if step.why in told else step.why}
            told.add(step.why)


def _circuits(steps: list[YardStep], letters: Mapping[str, str], written: Mapping[str, StepEntry]) -> dict[str, Any]:
    boxes = []
    for step in steps:
        name = step.do.partition(": ")[0]
        boxes.append({"letter": letters.get(name, ""), "name": name, "done": _said(written.get(step.ident))})
    told = "; ".join(f"{box['name']}: {box['done']}" for box in boxes if box["done"])
    return {
        "boxes": boxes,
        "label": False,
        "water": "",
        "used": "",
        "stands": False,
        "done": told,
    }


def _ticked(step: YardStep, written: Mapping[str, StepEntry], reader: Reader) -> dict[str, Any]:
    entry = written.get(step.ident)
    used = None if entry is None else entry.water_m3
    return {
        "do": f"{step.do.rstrip(' .')}.{_standing(step)}",
        "why": step.why,
        "boxes": [],
        "label": step.kind is StepKind.LABEL,
        "water": "" if step.water_m3 is None else water_text(step.water_m3, reader),
        "used": "" if used is None else water_text(used, reader),
        "stands": step.signing is Signing.STANDING,
        "done": _said(entry),
    }


def _standing(step: YardStep) -> str:
    if step.stand_s is None:
        return ""
    minutes = timedelta(seconds=step.stand_s) / timedelta(minutes=1)
    return f" Standing time: {minutes:g} min."


def _said(entry: StepEntry | None) -> str:
    """Who did it and when, or why it was left out."""
    if entry is None:
        return ""
    if entry.skipped_because:
        return f"left out: {entry.skipped_because}"
    when = "" if entry.done_at is None else f"{day(entry.done_at.date())} {entry.done_at:%H:%M}"
    return ", ".join(part for part in (entry.done_by, when) if part)


def _entries(answer: ChangeoverAnswer | YardAnswer) -> dict[str, StepEntry]:
    written = answer.question.written
    return {} if written is None else {entry.step: entry for entry in written.entries}


def _record(answer: ChangeoverAnswer | YardAnswer, reader: Reader) -> dict[str, Any] | None:
    state, written = answer.record, answer.question.written
    if state is None or written is None:
        return None
    signed = "" if written.signed_at is None else f"{day(written.signed_at.date())} {written.signed_at:%H:%M}"
    return {
        "complete": state.complete,
        "result": state.result,
        "lacking": list(state.lacking),
        "notes": [note for note in state.notes if note not in answer.yard.gaps],
        "water": water_text(state.water_m3, reader),
        "signed_by": written.signed_by,
        "signed_at": signed,
    }


def step_sources(answer: ChangeoverAnswer) -> tuple[str, ...]:
    """Return the keys of what the yard's steps rest on, in their order."""
    steps = (*answer.yard.steps, *answer.winter, *answer.spring)
    keys = dict.fromkeys(key for step in steps for key in step.source_keys)
    return tuple(key for key in keys if key != "user")
