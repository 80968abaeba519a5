"""Loads in season as plain data: the table of loads, the verdict with its doubt, the number it would mean."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from wetrun.documents.fills_file import FillsFile
from wetrun.papers.fills_picture import trend_svg
from wetrun.papers.reader import Reader, day
from wetrun.percent import per_cent
from wetrun.proving.filled_load import FilledBy
from wetrun.proving.load_trend import Common, Drift, LoadTrend, Suspect
from wetrun.proving.rule import INSTRUMENT_5, METER_SPAN_2, WHOLE_RATE_5, NextStep
from wetrun.quantity import Kind
from wetrun.units import Ratio

CAUTIONS: Final = (
    "Never set by itself: a number is entered by who answers for the machine, and written down with the settings.",
    "It is the number in this product, at its density and viscosity; clean water may want another.",
    "The label is the law; wear what it asks for when a load is measured.",
)


def fills_data(file: FillsFile, trend: LoadTrend, reader: Reader) -> dict[str, Any]:
    """Return loads in season as plain data.

    Parameters
    ----------
    file : FillsFile
        Where they come from.
    trend : LoadTrend
        What they say.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        Strings, lists and dicts only.
    """
    return {
        "title": file.title,
        "machine": file.machine,
        "verdict": trend.counted.judged.verdict.value,
        "sentence": _sentence(trend.counted),
        "number": _number(file, trend),
        "drift": "" if trend.drift is None else _drift(trend.drift),
        "rate": "" if trend.rate is None else _rate(trend.rate),
        "suspect": trend.suspect.value,
        "odd": list(trend.counted.odd),
        "next": _next(trend),
        "rows": list(_rows(file, trend, reader)),
        "shares": [[name, per_cent(share)] for name, share in trend.counted.budget.shares.items()],
        "usual_tools": file.usual_tools,
        "chart_svg": trend_svg(trend),
        "cautions": list(CAUTIONS),
        "method": trend.method,
        "rules": [INSTRUMENT_5.name, METER_SPAN_2.name, WHOLE_RATE_5.name],
    }


def error_words(error_ratio: Ratio, expanded: float) -> str:
    """Return an error [ratio] with its doubt, in per cent.

    Example
    -------
    >>> error_words(0.0312, 0.0113)
    '+3.1 ± 1.1 %'
    """
    # Half a zero below zero is read as a zero.
    return f"{round(100.0 * error_ratio, 1) + 0.0:+.1f} ± {100.0 * expanded:.1f} %"


def _sentence(counted: Common) -> str:
    told = error_words(counted.error_ratio, counted.judged.expanded)
    found = f"Over all loads the monitor counts {told} against what was put out: {counted.judged.verdict.value}"
    words = f"{found} ({INSTRUMENT_5.name})."
    if not counted.agree:
        words += " The loads differ more than their tools explain."
    return words


def _number(file: FillsFile, trend: LoadTrend) -> str:
    if file.number is None or trend.new_number is None or trend.number_expanded is None:
        return ""
    was, form = file.number.text, file.number.form.words
    return f"{was} would become {trend.new_number:.1f} ± {trend.number_expanded:.1f} {form}"


def _drift(drift: Drift) -> str:
    told = error_words(drift.error_ratio, drift.judged.expanded)
    return f"From the first load's day to the last the error moved by {told}: {drift.judged.verdict.value}."


def _rate(rate: Common) -> str:
    told = error_words(rate.error_ratio, rate.judged.expanded)
    return f"The monitor's area times the rate asked for is {told} off what was put out: {rate.judged.verdict.value}."


def _next(trend: LoadTrend) -> str:
    words = {
        NextStep.ENTER_NEW: "The number is off beyond doubt. Hold it against a wet run before it is entered.",
        NextStep.REPEAT: "Write down more loads: these do not decide.",
        NextStep.KEEP: "Leave the number as it is.",
    }
    if trend.next_step is not NextStep.LOOK_FIRST:
        return words[trend.next_step]
    if trend.counted.odd:
        return f"Look again at load {', '.join(trend.counted.odd)} before changing any number."
    if trend.suspect in {Suspect.COUNTED, Suspect.SEVERAL}:
        return "Find out first why the totals disagree: see above. The meter's number alone would not put it right."
    return "The error moves: look at the meter before changing any number (wear, trash, air, another product)."


def _rows(file: FillsFile, trend: LoadTrend, reader: Reader) -> Iterator[dict[str, str]]:
    passes = {load.name: name for load, name in zip(file.loads, file.passes, strict=True)}
    rates = {one.load.name: one for one in trend.rates}
    for one, found in zip(trend.loads, trend.verdicts, strict=True):
        load, rate = one.load, rates.get(one.load.name)
        yield {
            "name": load.name,
            "on": day(load.on),
            "pass": passes[load.name],
            "by": FilledBy(load.by).value,
            "out": reader.text(load.put_out_m3, Kind.VOLUME),
            "counted": reader.text(load.counted_m3, Kind.VOLUME),
            "area": "" if load.area_m2 is None else reader.text(load.area_m2, Kind.AREA),
            "error": error_words(one.error_ratio, found.expanded),
            "rate": "" if rate is None else error_words(rate.error_ratio, rate.budget.expanded()),
            "verdict": found.verdict.value,
        }
