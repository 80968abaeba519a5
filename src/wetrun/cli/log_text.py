"""What a log holds, as lines for a person and as plain data for JSON, whatever its format."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import asdict
from typing import Any

from wetrun.errors import InputProblems, LogRefused
from wetrun.fieldlog.inspect import (
    PERCENTILES,
    LogInspection,
    RatePercentiles,
    SpeedPercentiles,
    inspection,
    speed_percentiles,
)
from wetrun.fieldlog.readers.found import FoundLog, FoundLogs
from wetrun.fieldlog.readers.patches import Patches
from wetrun.fieldlog.readers.record_facts import RecordFacts
from wetrun.fieldlog.trace import ColumnUse, LogFacts, RawColumn
from wetrun.papers.reader import Reader
from wetrun.quantity import Kind, sentence


def set_lines(found: FoundLogs, reader: Reader, section: str | None = None) -> Iterator[str]:
    """Yield the lines on a file or set of files and each of its logs.

    Parameters
    ----------
    found : FoundLogs
        The file or set.
    reader : Reader
        Whose units.
    section : str or None
        Speeds of this section's rows only.
    """
    yield f"== {found.name} =="
    yield f"{found.format}{_machines(found)}."
    for doubt in found.doubts:
        yield f"Doubt: {doubt.words}. {doubt.remedy}"
    for refused in found.refused:
        yield f"Left out: {sentence(refused, reader.system)}"
    for log in found.logs:
        if found.machines or len(found.logs) > 1:
            yield ""
            yield f"-- {log.name}: {log.kind} --"
        yield from _log_lines(log, reader, section)
    yield ""


def _machines(found: FoundLogs) -> str:
    if not found.machines:
        return "" if len(found.logs) == 1 else f"; logs: {len(found.logs)}"
    kinds = ", ".join(f"{count} x {kind}" if count > 1 else kind for kind, count in Counter(found.machines).items())
    return f"; machines described: {kinds}; time logs: {len(found.logs)} read, {len(found.refused)} not"


def _log_lines(log: FoundLog, reader: Reader, section: str | None) -> Iterator[str]:
    seen = inspection(log.trace) if log.trace else None
    yield from _patch_lines(log.patches, log.facts, reader) if log.patches else [_clock_line(log)]
    if seen:
        yield from _driven_lines(seen, reader)
    yield from _column_lines(seen.facts.columns if seen else log.columns, _raw_columns(log, seen))
    if log.holds and not seen:  # what is driven again says so with its clock
        yield f"{log.holds[:1].upper()}{log.holds[1:]}."
    yield from _rate_lines(_rates_of(log, seen), reader)
    yield from _speed_lines(log.facts.speeds, reader, "all records, road and standing too")
    if log.trace and seen:
        speeds = seen.speeds if section is None else speed_percentiles(log.trace, section=section)
        yield from _speed_lines(speeds, reader, "sprayed instants" if section is None else f"rows of section {section}")
    for repair in seen.facts.repairs if seen else log.repairs:
        yield f"Repair: {repair.words} ({repair.count:,})"
    for left_out in seen.facts.left_out if seen else ():
        yield f"Left out: {left_out.why} ({left_out.count:,} instants, {reader.area(left_out.area_m2)})"
    for doubt in seen.facts.doubts if seen else log.doubts:
        yield f"Doubt: {doubt.words}. {doubt.remedy}"
    yield from _last_lines(log, seen)


def _last_lines(log: FoundLog, seen: LogInspection | None) -> Iterator[str]:
    for line in log.proposed:
        yield f"  {line}"
    if seen and seen.disagreement:
        yield f"Finding: {seen.disagreement}; a speed source may need calibrating."
    if log.pieces is not None:
        yield "Too long to be held at once: plans, fleets and conversion take all of it, in pieces."
    elif log.lacks:
        yield f"Left out of plans and replays: {log.lacks.reason}. {log.lacks.remedy}."


def _clock_line(log: FoundLog) -> str:
    facts = log.facts
    of = f" of section {log.of_section}" if log.of_section else ""
    if facts.records and facts.untimed == facts.records:
        return f"{facts.records:,} records{of} without times"
    values = "" if facts.values is None else f" with {facts.values:,} values"
    back = f", {_counted(facts.backward_steps, 'step')} of the clock backward" if facts.backward_steps else ""
    return (
        f"{_counted(facts.records, 'record')}{of} over {_lasting(facts.span_s)}{values}; {_counted(facts.gaps, 'gap')} "
        f"({_lasting(facts.gap_total_s)}), {facts.same_time:,} records at the clock reading of the one before{back}"
    )


def _lasting(time_s: float) -> str:
    """A time as people say it: minutes, or hours where it is more than three, or days where it is more than two."""
    for unit_s, unit, most_s in ((60.0, "min", 3 * 3600.0), (3600.0, "h", 48 * 3600.0)):
        if time_s <= most_s:
            return f"{time_s / unit_s:.1f} {unit}"
    return f"{time_s / 86400:.1f} days"


def _patch_lines(patches: Patches, facts: RecordFacts, reader: Reader) -> Iterator[str]:
    reach = " by ".join(reader.text(one, Kind.LENGTH) for one in (patches.east_m, patches.north_m))
    timed = facts.records - facts.untimed
    yield (
        f"{patches.count:,} patches, "
        + (f"{timed:,} of them with a time, over {facts.span_s / 60:.1f} min" if timed else "without times")
    )
    yield (
        f"Patches cover {reader.area(patches.area_m2)}, ground under two of them counted twice; "
        f"their middles reach over {reach}, east by north."
    )
    if patches.put_down_m3 is not None:
        yield f"Put down by the applied rate of each: {reader.text(patches.put_down_m3, Kind.VOLUME)}."


def _driven_lines(seen: LogInspection, reader: Reader) -> Iterator[str]:
    facts = seen.facts
    yield (
        f"To drive again: {facts.rows:,} rows, {facts.instants:,} instants, {_counted(facts.recordings, 'recording')}, "
        f"{_counted(facts.backward_steps, 'backward clock step')}, {_counted(facts.gaps, 'gap')} "
        f"({_lasting(facts.gap_total_s)})"
    )
    yield _boom_line(facts, reader.text(seen.full_width_m, Kind.WIDTH))
    hours = seen.span_s / 3600
    yield f"Sprayed: {reader.area(seen.area_m2)}; the log runs over {hours:.1f} h with every pause in it."


def _boom_line(facts: LogFacts, width: str) -> str:
    ids = sum(len(group) for group in facts.section_groups)
    if not ids:
        return f"Sections are not told apart; full width {width}."
    groups = "; ".join(", ".join(group) for group in facts.section_groups)
    return f"Sections: {ids} ids in {_counted(len(facts.section_groups), 'group')} ({groups}); full width {width}."


def _raw_columns(log: FoundLog, seen: LogInspection | None) -> tuple[RawColumn, ...]:
    return seen.facts.raw_columns if seen else log.raw_columns


def _column_lines(columns: Sequence[ColumnUse], raw_columns: Sequence[RawColumn]) -> Iterator[str]:
    for use in columns:
        unit = f", {use.unit} ({'stated' if use.stated else 'inferred'})" if use.unit else ""
        yield f"{_column(use.column)}: {_plain_words(use.meaning)}{unit}; {use.evidence}".rstrip("; ")
    for raw in raw_columns:
        values = f"{raw.p5:g}, {raw.p50:g}, {raw.p95:g}"
        yield f"{_column(raw.column)}: {_plain_words(raw.meaning)}, no unit; at 5, 50, 95 of 100: {values}"


def _rates_of(log: FoundLog, seen: LogInspection | None) -> Sequence[RatePercentiles]:
    if seen:
        return seen.rates
    return log.patches.rates if log.patches else ()


def _rate_lines(rates: Sequence[RatePercentiles], reader: Reader) -> Iterator[str]:
    for rate in rates:
        values = ", ".join(reader.digits(float(value), Kind.RATE) for value in rate.percentiles_m3pm2[1:-1])
        words = _plain_words(rate.meaning).capitalize()
        yield f"{words} at 5, 25, 50, 75, 95 of 100: {values} {reader.unit(Kind.RATE)}"


def _speed_lines(speeds: tuple[SpeedPercentiles, ...], reader: Reader, of: str) -> Iterator[str]:
    if not speeds:
        yield "Speed: no source tells one."
        return
    yield f"Speed at {', '.join(str(level) for level in PERCENTILES)} of 100 ({of}):"
    for speed in speeds:
        values = ", ".join(reader.digits(float(value), Kind.SPEED) for value in speed.percentiles_mps)
        yield f"  {speed.source}: {values} {reader.unit(Kind.SPEED)} ({speed.words}; {speed.instants:,})"


def _column(name: str) -> str:
    return name.capitalize() if name.startswith("column ") else f"Column {name}"


def _plain_words(meaning: str) -> str:
    return meaning.replace("_", " ")


def _counted(count: int, thing: str) -> str:
    return f"{count:,} {thing}{'' if count == 1 else 's'}"


def set_as_data(found: FoundLogs, reader: Reader, section: str | None = None) -> dict[str, Any]:
    """Return a file or set of files as plain data, SI numbers.

    Parameters
    ----------
    found : FoundLogs
        The file or set.
    reader : Reader
        Whose units the sentences speak.
    section : str or None
        Speeds of this section's rows only.

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
        "logs": [_log_as_data(log, section) for log in found.logs],
        "refused": [refused_as_data(refused, reader) for refused in found.refused],
    }


def refused_as_data(refused: LogRefused | InputProblems, reader: Reader) -> dict[str, str]:
    """Return a refusal as plain data.

    Parameters
    ----------
    refused : LogRefused or InputProblems
        Why a log was refused.
    reader : Reader
        Whose units the sentence speaks.

    Returns
    -------
    dict
        File and sentence.
    """
    file = refused.file if isinstance(refused, LogRefused) else refused.problems[0].file
    return {"file": file, "refused": sentence(refused, reader.system)}


def _log_as_data(log: FoundLog, section: str | None) -> dict[str, Any]:
    seen = inspection(log.trace) if log.trace else None
    records = asdict(log.facts) | {"speeds": _speeds_as_data(log.facts.speeds)}
    return {
        "name": log.name,
        "kind": log.kind,
        "records": records,
        "speed_levels": list(PERCENTILES),
        "holds": log.holds,
        "of_section": log.of_section,
        "proposed": list(log.proposed),
        "patches": None if log.patches is None else _patches_as_data(log.patches),
        "columns": [asdict(one) for one in (seen.facts.columns if seen else log.columns)],
        "raw_columns": [asdict(one) for one in _raw_columns(log, seen)],
        "repairs": [asdict(one) for one in (seen.facts.repairs if seen else log.repairs)],
        "doubts": [asdict(one) for one in (seen.facts.doubts if seen else log.doubts)],
        "missing": log.missing,
        "driven": None if log.trace is None or seen is None else _driven_as_data(log, seen, section),
    }


def _driven_as_data(log: FoundLog, seen: LogInspection, section: str | None) -> dict[str, Any]:
    assert log.trace is not None  # noqa: S101 - a log that was inspected has a trace
    speeds = seen.speeds if section is None else speed_percentiles(log.trace, section=section)
    facts = seen.facts
    return {
        "rows": facts.rows,
        "instants": facts.instants,
        "recordings": facts.recordings,
        "section_groups": [list(group) for group in facts.section_groups],
        "sections": [asdict(one) for one in seen.sections],
        "backward_steps": facts.backward_steps,
        "gaps": facts.gaps,
        "gap_total_s": facts.gap_total_s,
        "full_width_m": seen.full_width_m,
        "span_s": seen.span_s,
        "area_m2": seen.area_m2,
        "speeds": _speeds_as_data(speeds),
        "rates": _rates_as_data(seen.rates),
        "left_out": [asdict(one) for one in facts.left_out],
        "disagreement": seen.disagreement,
    }


def _patches_as_data(patches: Patches) -> dict[str, Any]:
    return {
        "count": patches.count,
        "without_area": patches.without_area,
        "area_m2": patches.area_m2,
        "east_m": patches.east_m,
        "north_m": patches.north_m,
        "rates": _rates_as_data(patches.rates),
        "put_down_m3": patches.put_down_m3,
    }


def _rates_as_data(rates: Sequence[RatePercentiles]) -> list[dict[str, Any]]:
    return [
        {"meaning": one.meaning, "instants": one.instants, "percentiles_m3pm2": one.percentiles_m3pm2.tolist()}
        for one in rates
    ]


def _speeds_as_data(speeds: Sequence[SpeedPercentiles]) -> list[dict[str, Any]]:
    return [
        {"source": one.source, "instants": one.instants, "percentiles_mps": one.percentiles_mps.tolist()}
        for one in speeds
    ]
