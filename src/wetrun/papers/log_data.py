"""What a log holds as plain data for a page: what it is, columns, speeds, rates, repairs, doubts, in a reader's units.

Of the readers only the records of what was found are known here; nothing is opened.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from wetrun.fieldlog.inspect import PERCENTILES, LogInspection, RatePercentiles, SpeedPercentiles, inspection
from wetrun.fieldlog.readers.found import FoundLog, FoundLogs
from wetrun.papers.log_words import (
    column_words,
    fact_lines,
    last_lines,
    machines_words,
    plain_words,
    rates_of,
    raw_columns_of,
)
from wetrun.papers.reader import Reader
from wetrun.quantity import Kind, sentence

Data = dict[str, Any]


def set_data(found: FoundLogs, reader: Reader) -> Data:
    """Return a file or set of files as plain data.

    Parameters
    ----------
    found : FoundLogs
        The file or set.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        Strings, lists, dicts and truth values only.
    """
    return {
        "name": found.name,
        "format": f"{found.format}{machines_words(found)}.",
        "doubts": [{"words": one.words, "remedy": one.remedy} for one in found.doubts],
        "refused": [sentence(one, reader.system) for one in found.refused],
        "logs": [_log(one, reader) for one in found.logs],
    }


def _log(log: FoundLog, reader: Reader) -> Data:
    seen = inspection(log.trace) if log.trace else None
    facts = log if seen is None else seen.facts
    return {
        "name": log.name,
        "kind": log.kind,
        "driven": seen is not None or log.pieces is not None,
        "facts": list(fact_lines(log, seen, reader)),
        "holds": log.holds,
        "columns": [
            {
                "column": column_words(use.column),
                "means": plain_words(use.meaning),
                "unit": use.unit,
                "stated": use.stated,
                "evidence": use.evidence,
            }
            for use in facts.columns
        ],
        "without_unit": _raw(log, seen),
        "rates": _rates(rates_of(log, seen), reader),
        "speeds": _speeds(log.facts.speeds, reader, "all records, road and standing too"),
        "sprayed_speeds": _speeds(seen.speeds if seen else (), reader, "sprayed instants"),
        "repairs": [{"words": one.words, "count": f"{one.count:,}"} for one in facts.repairs],
        "left_out": _left_out(seen, reader),
        "doubts": [{"words": one.words, "remedy": one.remedy} for one in facts.doubts],
        "last": [line.strip() for line in last_lines(log, seen)],
    }


def _raw(log: FoundLog, seen: LogInspection | None) -> list[Data]:
    return [
        {
            "column": column_words(raw.column),
            "means": plain_words(raw.meaning),
            "values": [f"{value:g}" for value in (raw.p5, raw.p50, raw.p95)],
        }
        for raw in raw_columns_of(log, seen)
    ]


def _rates(rates: Sequence[RatePercentiles], reader: Reader) -> Data | None:
    if not rates:
        return None
    rows = [
        {
            "means": plain_words(one.meaning),
            "values": [reader.digits(float(value), Kind.RATE) for value in one.percentiles_m3pm2],
        }
        for one in rates
    ]
    return {"levels": [str(level) for level in PERCENTILES], "unit": reader.unit(Kind.RATE), "rows": rows}


def _speeds(speeds: Sequence[SpeedPercentiles], reader: Reader, of: str) -> Data | None:
    if not speeds:
        return None
    rows = [
        {
            "source": one.source,
            "words": one.words,
            "instants": f"{one.instants:,}",
            "values": [reader.digits(float(value), Kind.SPEED) for value in one.percentiles_mps],
        }
        for one in speeds
    ]
    return {"of": of, "levels": [str(level) for level in PERCENTILES], "unit": reader.unit(Kind.SPEED), "rows": rows}


def _left_out(seen: LogInspection | None, reader: Reader) -> list[Data]:
    if seen is None:
        return []
    return [
        {"why": one.why, "instants": f"{one.count:,}", "area": reader.area(one.area_m2)} for one in seen.facts.left_out
    ]
