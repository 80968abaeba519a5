"""What a set of task data holds, as lines for a person and as plain data for JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from wetrun.errors import LogRefused
from wetrun.fieldlog.inspect import PERCENTILES, LogInspection, SpeedPercentiles, inspection
from wetrun.fieldlog.readers.iso_log import TaskLogs, TimeLog
from wetrun.fieldlog.readers.timelog_facts import TimeLogFacts
from wetrun.papers.reader import Reader
from wetrun.quantity import Kind, sentence


def set_lines(found: TaskLogs, reader: Reader) -> Iterator[str]:
    """Yield the lines on a set of task data and each of its time logs.

    Parameters
    ----------
    found : TaskLogs
        The set.
    reader : Reader
        Whose units.
    """
    yield f"== {found.name} =="
    kinds = ", ".join(f"{count} x {kind}" if count > 1 else kind for kind, count in Counter(found.machines).items())
    counts = f"time logs: {len(found.logs)} read, {len(found.refused)} not"
    yield f"{found.format}; machines described: {kinds or 'none'}; {counts}."
    for doubt in found.doubts:
        yield f"Doubt: {doubt.words}. {doubt.remedy}"
    for refused in found.refused:
        yield f"Left out: {sentence(refused, reader.system)}"
    for log in found.logs:
        yield ""
        yield from _log_lines(log, reader)
    yield ""


def _log_lines(log: TimeLog, reader: Reader) -> Iterator[str]:
    yield f"-- {log.name}: {log.kind} --"
    yield _clock_line(log.facts)
    seen = inspection(log.trace) if log.trace else None
    yield from _speed_lines(log.facts.speeds, reader)
    if seen:
        yield from _boom_lines(seen, reader)
    for repair in seen.facts.repairs if seen else log.repairs:
        yield f"Repair: {repair.words} ({repair.count:,})"
    for doubt in seen.facts.doubts if seen else log.doubts:
        yield f"Doubt: {doubt.words}. {doubt.remedy}"
    if log.missing:
        yield f"Left out of plans and replays: {log.missing}."


def _clock_line(facts: TimeLogFacts) -> str:
    return (
        f"{facts.records:,} records over {facts.span_s / 60:.1f} min with {facts.values:,} values; {facts.gaps} gaps "
        f"({facts.gap_total_s / 60:.1f} min), {facts.same_time:,} records at the clock reading of the one before"
    )


def _speed_lines(speeds: tuple[SpeedPercentiles, ...], reader: Reader) -> Iterator[str]:
    if not speeds:
        yield "Speed: no source tells one."
        return
    yield f"Speed at {', '.join(str(level) for level in PERCENTILES)} of 100, all records, road and standing too:"
    for speed in speeds:
        values = ", ".join(reader.digits(float(value), Kind.SPEED) for value in speed.percentiles_mps)
        yield f"  {speed.source}: {values} {reader.unit(Kind.SPEED)} ({speed.words}; {speed.instants:,})"


def _boom_lines(seen: LogInspection, reader: Reader) -> Iterator[str]:
    width = reader.text(seen.full_width_m, Kind.WIDTH)
    sections = f"{len(seen.sections)} sections" if seen.sections else "one section"
    worked = f"worked {reader.area(seen.area_m2)} in {seen.facts.instants:,} instants"
    yield f"Boom: {sections}, full width {width}; {worked}."
    for rate in seen.rates:
        values = ", ".join(reader.digits(float(value), Kind.RATE) for value in rate.percentiles_m3pm2[1:-1])
        words = rate.meaning.replace("_", " ").capitalize()
        yield f"{words} at 5, 25, 50, 75, 95 of 100: {values} {reader.unit(Kind.RATE)}"
    for left_out in seen.facts.left_out:
        yield f"Left out: {left_out.why} ({left_out.count:,} instants, {reader.area(left_out.area_m2)})"


def set_as_data(found: TaskLogs, reader: Reader) -> dict[str, Any]:
    """Return a set of task data as plain data, SI numbers.

    Parameters
    ----------
    found : TaskLogs
        The set.
    reader : Reader
        Whose units the sentences speak.

    Returns
    -------
    dict
        Ready for JSON.
    """
    return {
        "file": found.name,
        "format": found.format,
        "machines": list(found.machines),
        "doubts": [asdict(doubt) for doubt in found.doubts],
        "time_logs": [_log_as_data(log) for log in found.logs],
        "refused": [_refused_as_data(refused, reader) for refused in found.refused],
    }


def _refused_as_data(refused: LogRefused, reader: Reader) -> dict[str, str]:
    return {"file": refused.file, "refused": sentence(refused, reader.system)}


def _log_as_data(log: TimeLog) -> dict[str, Any]:
    seen = inspection(log.trace) if log.trace else None
    facts = asdict(log.facts)
    facts["speeds"] = [
        {"source": one.source, "instants": one.instants, "percentiles_mps": one.percentiles_mps.tolist()}
        for one in log.facts.speeds
    ]
    return {
        "name": log.name,
        "kind": log.kind,
        **facts,
        "speed_levels": list(PERCENTILES),
        "repairs": [asdict(repair) for repair in (seen.facts.repairs if seen else log.repairs)],
        "doubts": [asdict(doubt) for doubt in (seen.facts.doubts if seen else log.doubts)],
        "left_out": [asdict(one) for one in seen.facts.left_out] if seen else [],
        "missing": log.missing,
        "sections": [asdict(one) for one in seen.sections] if seen else [],
        "full_width_m": seen.full_width_m if seen else None,
        "area_m2": seen.area_m2 if seen else None,
        "rates": [
            {"meaning": one.meaning, "instants": one.instants, "percentiles_m3pm2": one.percentiles_m3pm2.tolist()}
            for one in (seen.rates if seen else ())
        ],
    }
