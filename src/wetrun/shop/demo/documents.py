"""Documents of the demo's other machines, made from those of its own: another boom, fewer passes, sound readings."""

from __future__ import annotations

from copy import deepcopy
from datetime import date
from typing import Final

from wetrun.shop.demo.farms import Farm
from wetrun.shop.demo.files import Document, document_of

SECTIONS: Final = 9
"""Of the demo's own boom."""
TIPS: Final = 8
"""Of a section."""
PROVED_FOR: Final = "Post herbicide"
"""The pass the demo's wet runs are made for: the one whose label leaves no other tip at the boom ends."""
STATED: Final = {"slow": "9 mph", "usual": "12 mph", "fast": "15 mph"}
_READS_HIGH: Final = 1.041
"""What the demo's own flow meter shows too much."""
_LEFT_OUT: Final = ("ramp", "pressure", "timing")
"""Tests the demo's other wet runs do without."""


def machine_document(farm: Farm, first_day: date) -> Document:
    """Return the [machine] of a farm."""
    machine: Document = deepcopy(document_of("season.toml", first_day)["machine"])
    tips = farm.sections * TIPS
    machine |= {"name": farm.machine, "tank": farm.tank}
    machine.pop("fill")
    machine["boom"]["sections"] = [TIPS] * farm.sections
    machine["boom"]["odd"][0]["positions"] = f"1,{tips}"
    machine["owned"][0]["count"] = tips
    machine["control"].pop("density_setting")
    machine["loss"]["boom_flow"] = _scaled(machine["loss"]["boom_flow"], farm.sections / SECTIONS)
    return machine


def season_document(farm: Farm, first_day: date) -> Document:
    """Return the season file of a farm: some passes of the demo's season, driven at stated speeds."""
    season = document_of("season.toml", first_day)
    by_name = {one["name"]: one for one in season["pass"]}
    passes = [_stated(by_name[name], area) for name, area in farm.passes]
    _begin_at(passes, first_day)
    for key in farm.slips:
        passes[0].pop(key)
    whole = {**season, "title": f"Season {first_day.year}", "customer": {"name": farm.customer}}
    return {**whole, "machine": machine_document(farm, first_day), "pass": passes}


def wet_run_document(farm: Farm, first_day: date) -> Document:
    """Return a wet run of a farm's machine on which nothing is found."""
    run = {key: value for key, value in document_of("wetrun.toml", first_day).items() if key not in _LEFT_OUT}
    share, tips = farm.sections / SECTIONS, farm.sections * TIPS
    run["pass"] = PROVED_FOR
    run["course"]["source"][0]["number"] = "322"
    for caught in run["meter"]["catch"]:
        caught["pulses"] = round(caught["pulses"] / _READS_HIGH)
    run["catch"]["readings"] = [_sound(one) for one in run["catch"]["readings"]][:tips]
    run["catch"].pop("swap")
    for steady in run["steady"]:
        steady.pop("tank", None), steady.pop("tank_time", None)
        steady["meter"] = _scaled(steady["meter"], share / _READS_HIGH)
    run["section"] = run["section"][: farm.sections]
    run["screen"]["flow"] = _scaled(run["screen"]["flow"], share)
    run["screen"]["width"] = f"{farm.sections * 160 / 12:.1f} ft"
    for moment in ("as_found", "as_left"):
        numbers = run["monitor"][moment]
        numbers |= {"section_width": ["160"] * farm.sections, "meter_number": "720", "speed_number": "322"}
        numbers["density"] = "8.33"
    return run


def _stated(one: Document, area: str) -> Document:
    found = {key: value for key, value in deepcopy(one).items() if key not in {"logs", "log_map", "days"}}
    return {**found, "area": area, "speeds": found.get("speeds", dict(STATED))}


def _begin_at(passes: list[Document], first_day: date) -> None:
    """Move the passes so that the first of them begins on the first day."""
    by = first_day - min(one["first"] for one in passes)
    for one in passes:
        one |= {"first": one["first"] + by, "last": one["last"] + by}
        for product in one.get("product", []):
            if "last" in product:
                product["last"] += by


def _sound(reading: float) -> float:
    return reading if 38 < reading < 41 else 39.3


def _scaled(text: str, by: float) -> str:
    number, _, unit = text.partition(" ")
    return f"{float(number) * by:.1f} {unit}"
