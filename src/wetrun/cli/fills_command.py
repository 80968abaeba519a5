"""`wetrun fills`: what a season's loads say of the meter's number in the real product."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

from wetrun.cli.fills_text import tell_fills
from wetrun.cli.shown_units import system_shown
from wetrun.cli.telling import print_json, say
from wetrun.documents.fills_file import read_fills
from wetrun.papers.fills_data import fills_data
from wetrun.papers.folder import write_all
from wetrun.papers.reader import Reader
from wetrun.proving.load_trend import Common, LoadTrend, load_trend

FORMAT_VERSION: Final = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class FillsRequest:
    """What was asked on the command line."""

    fills: Path
    units: str | None = None
    out: Path | None = None
    as_json: bool = False


def run_fills(request: FillsRequest) -> None:
    """Hold a season's loads together and tell what they say.

    Parameters
    ----------
    request : FillsRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with the file or the output folder. A meter that is off is a result, not an error.
    """
    file = read_fills(request.fills)
    trend = load_trend(file.loads, file.number, file.tools)
    reader = Reader(system_shown(request.units, file.units))
    data = fills_data(file, trend, reader)
    papers = () if request.out is None else write_all(request.out, {"loads-trend.svg": data["chart_svg"].encode()})
    if request.as_json:
        print_json(plain_fills(trend, data))
        return
    tell_fills(data)
    for path in papers:
        say(f"Written: {path}")


def plain_fills(trend: LoadTrend, data: dict[str, Any]) -> dict[str, Any]:
    """Return loads in season as plain data for ``--json``: names end in their SI unit.

    Parameters
    ----------
    trend : LoadTrend
        What they say.
    data : dict
        The same as printed.

    Returns
    -------
    dict
        Ready for JSON.
    """
    return {
        "format_version": FORMAT_VERSION,
        "method": trend.method,
        "counted": _common(trend.counted),
        "rate": None if trend.rate is None else _common(trend.rate),
        "drift": None
        if trend.drift is None
        else {"error_ratio": trend.drift.error_ratio, "expanded_ratio": trend.drift.judged.expanded},
        "suspect": trend.suspect.name,
        "new_number": trend.new_number,
        "new_number_expanded": trend.number_expanded,
        "next_step": trend.next_step.name,
        "loads": [
            {
                **asdict(one.load),
                "on": one.load.on.isoformat(),
                "error_ratio": one.error_ratio,
                "expanded_ratio": found.expanded,
                "verdict": found.verdict,
            }
            for one, found in zip(trend.loads, trend.verdicts, strict=True)
        ],
        "shown": {key: value for key, value in data.items() if key != "chart_svg"},
    }


def _common(common: Common) -> dict[str, Any]:
    return {
        "error_ratio": common.error_ratio,
        "expanded_ratio": common.judged.expanded,
        "verdict": common.judged.verdict,
        "agree": common.agree,
        "chance_frac": common.chance_frac,
        "odd": list(common.odd),
    }
