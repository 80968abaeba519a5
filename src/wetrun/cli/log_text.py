"""What a log holds as plain data for JSON, whatever its format."""

from __future__ import annotations

from collections.abc import Sequence
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
from wetrun.papers.log_words import raw_columns_of
from wetrun.papers.reader import Reader
from wetrun.quantity import sentence


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
        "raw_columns": [asdict(one) for one in raw_columns_of(log, seen)],
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
