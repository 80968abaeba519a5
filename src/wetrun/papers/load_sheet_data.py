"""A load sheet as plain data: everything its template and the command line print, in the reader's units."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import Any, Final

from wetrun.papers.label_words import dose_words
from wetrun.papers.load_words import CAUTIONS, note_words, order_words, stop_words
from wetrun.papers.measured_amount import MarkedMeasures, area_text, counted, shared_areas, whole_text
from wetrun.papers.reader import THOUSANDS, Reader, day
from wetrun.planning.jar_test import JarPart
from wetrun.planning.load_parts import LoadPart
from wetrun.planning.load_wish import Split
from wetrun.planning.loads import Load, LoadPlan
from wetrun.planning.passes import Product
from wetrun.planning.refill import RefillPoint
from wetrun.planning.shares import steps_within, whole_steps
from wetrun.quantity import Kind, System, read, show
from wetrun.sources import source
from wetrun.units import M3

_ALWAYS_CITED: Final = ("msu-calibration", "largest-remainder", "grdc-7-5", "usu-jar-test", "bleach-and-ammonia")
_JAR_STEP: Final = "0.1 mL"
_SPOON_AT_LEAST: Final = 0.25
_JAR_WORDS: Final = (
    "Same water and same order as the tank. Shake after each, stand 15 minutes, shake again. Layers, clumps, gel, "
    "sludge, foam that stays or heat: do not mix it."
)


def load_sheet_data(
    plan: LoadPlan, marked: MarkedMeasures, reader: Reader, *, machine: str, title: str
) -> dict[str, Any]:
    """Return the load sheet of a pass as plain data.

    Parameters
    ----------
    plan : LoadPlan
        The loads.
    marked : MarkedMeasures
        Steps of gauge, jug and scale.
    reader : Reader
        Whose units.
    machine, title : str
        Names of the machine and of the season.

    Returns
    -------
    dict
        Strings, numbers, lists and dicts only.
    """
    planned = plan.planned
    return {
        "title": title,
        "machine": machine,
        "name": planned.ident,
        "crop": planned.crop,
        "dates": f"{day(planned.first_day)} to {day(planned.last_day)}",
        "carrier": planned.carrier.name,
        "rate": reader.rate(plan.recipe.rate_m3pm2),
        "density": reader.density(plan.recipe.density_kgpm3),
        "summary": _summary(plan, marked, reader),
        "covers": _covers(plan, reader),
        "stops": stop_words(plan, reader),
        "columns": _columns(plan, marked, reader),
        "rows": _rows(plan, marked, reader),
        "order": _order_name(plan),
        "order_notes": order_words(plan),
        "refills": _refills(plan, reader),
        "jar": _jar(plan, reader),
        "notes": note_words(plan, reader, marked),
        "steps": f"in steps of {marked.jug.text} and {marked.scale.text}, the tank's gauge in {marked.gauge.text}",
        "cautions": list(CAUTIONS),
        "method": f"{plan.method}, method {plan.method_number}; {plan.order.method}, method {plan.order.method_number}",
        "sources": _sources(plan, reader),
    }


def _summary(plan: LoadPlan, marked: MarkedMeasures, reader: Reader) -> str:
    fills = [counted(fill, marked.gauge, reader) for fill in plan.split.fills]
    count, total = len(fills), counted(sum(plan.split.fills), marked.gauge, reader)
    if count == 1:
        return f"1 load of {fills[0]}"
    if plan.planned.load.split is Split.EQUAL:
        return f"{count} equal loads of {' or '.join(dict.fromkeys(reversed(fills)))}, {total} in all"
    runs = [(len(list(run)), text) for text, run in groupby(fills)]
    if len(runs) == 1:
        return f"{count} loads of {fills[0]}; {total} in all"
    said = ", then ".join(f"{n} of {text}" for n, text in runs)
    return f"{count} loads: {said}; {total} in all"


def _covers(plan: LoadPlan, reader: Reader) -> str:
    """The whole field, and what the fullest load does of it: the first also fills lines and boom."""
    whole = reader.area(plan.planned.area_m2)
    most = max(load.field_m2 for load in plan.loads)
    return (
        whole
        if len(plan.loads) == 1
        else f"{whole}; a full load does {reader.number(most, Kind.AREA):.1f} " + reader.unit(Kind.AREA)
    )


def _groups(plan: LoadPlan) -> list[tuple[int, int]]:
    """Runs of loads that get the very same amounts, as first and last place."""
    keys = [(fill, *(part.steps[at] for part in plan.parts)) for at, fill in enumerate(plan.split.fills)]
    runs, start = [], 0
    for _, run in groupby(keys):
        length = len(list(run))
        runs.append((start, start + length - 1))
        start += length
    return runs


def _columns(plan: LoadPlan, marked: MarkedMeasures, reader: Reader) -> list[dict[str, str]]:
    columns = []
    for first, last in _groups(plan):
        name = f"load {first + 1}" if first == last else f"loads {first + 1}–{last + 1}"
        columns.append(
            {
                "name": name,
                "count": str(last - first + 1),
                "fill": counted(plan.split.fills[first], marked.gauge, reader),
                "first": _first(plan.loads[first], marked, reader),
                "weighs": whole_text(max(load.contents_kg for load in plan.loads[first : last + 1]), Kind.MASS, reader),
            }
        )
    return columns


def _first(load: Load, marked: MarkedMeasures, reader: Reader) -> str:
    by_gauge = steps_within(load.first_m3, marked.gauge.si_value()) > 0
    graduation = marked.gauge if by_gauge else marked.jug
    return counted(whole_steps(load.first_m3, graduation.si_value()), graduation, reader)


def _rows(plan: LoadPlan, marked: MarkedMeasures, reader: Reader) -> list[dict[str, Any]]:
    return [_row(part, plan, marked, reader) for part in plan.parts]


def _row(part: LoadPart, plan: LoadPlan, marked: MarkedMeasures, reader: Reader) -> dict[str, Any]:
    graduation = marked.of_part(part)
    return {
        "name": part.name,
        "form": "" if part.product is None else _form(part.product),
        "rate": "" if part.product is None else dose_words(part.product, reader),
        "label": _label_words(part.product),
        "carrier": part.product is None,
        "amounts": [counted(part.steps[first], graduation, reader) for first, _ in _groups(plan)],
        "total": counted(part.total_steps, graduation, reader),
    }


def _form(product: Product) -> str:
    form = None if product.mixing is None else product.mixing.form
    return "formulation not typed" if form is None else form.value


def _label_words(product: Product | None) -> str:
    label = None if product is None or product.mixing is None else product.mixing.label
    if label is None:
        return ""
    said = [f"goes in {label.place.value}"] if label.place is not None else []
    said += [f"after {', '.join(label.after)}"] if label.after else []
    said += [f"before {', '.join(label.before)}"] if label.before else []
    return f"label: {'; '.join(said)}" if said else ""


def _order_name(plan: LoadPlan) -> str:
    published = plan.order.published
    where = source(published.source_key)
    return f"labels as typed first, then {published.name.value} ({where.citation}; {where.status})"


def _refills(plan: LoadPlan, reader: Reader) -> dict[str, Any]:
    total, parts, decimals = shared_areas(plan.planned.area_m2, [load.field_m2 for load in plan.loads], reader)
    done, rows = 0, []
    for load, part in zip(plan.loads, parts, strict=True):
        done += part
        rows.append(
            {
                "load": str(load.number),
                "area": area_text(part, decimals, reader),
                "done": area_text(done, decimals, reader),
                **_where(load.refill, reader),
            }
        )
    return {
        "rows": rows,
        "total": area_text(total, decimals, reader),
        "swaths": plan.loads[0].refill.swaths is not None,
    }


def _where(point: RefillPoint, reader: Reader) -> dict[str, str]:
    if point.swaths is None or point.into_m is None:
        return {"where": "", "home": ""}
    into = whole_text(point.into_m, Kind.WIDTH, reader)
    home = f"after swath {point.home_swaths}" if point.home_swaths else "at the start"
    return {"where": f"{into} into swath {point.swaths + 1}", "home": home}


def _jar(plan: LoadPlan, reader: Reader) -> dict[str, Any]:
    jar, step_m3 = plan.jar, read(_JAR_STEP, Kind.JAR_VOLUME).si_value
    first, whole = (whole_steps(volume, step_m3) for volume in (jar.first_m3, jar.jar_m3))
    liquids = [whole_steps(part.volume_m3, step_m3) for part in jar.parts if part.volume_m3 is not None]
    rest = whole - first - sum(liquids)
    return {
        "whole": _millilitres(whole, reader),
        "carrier": plan.planned.carrier.name,
        "first": _millilitres(first, reader),
        "rest": _millilitres(rest, reader),
        "parts": [{"name": part.name, "amount": _jar_amount(part, step_m3, reader)} for part in jar.parts],
        "how": _JAR_WORDS,
    }


def _millilitres(steps: int, reader: Reader) -> str:
    return f"{steps / 10:,.1f}".removesuffix(".0").replace(",", THOUSANDS[reader.system]) + " mL"


def _jar_amount(part: JarPart, step_m3: M3, reader: Reader) -> str:
    if part.volume_m3 is None:
        grams = read("0.1 g", Kind.JAR_MASS).si_value
        return f"{whole_steps(part.mass_kg or 0.0, grams) / 10:.1f} g"
    shown = _millilitres(whole_steps(part.volume_m3, step_m3), reader)
    # The teaspoon is the US kitchen's; who reads metric has a syringe in mL.
    if reader.system is not System.US or reader.number(part.volume_m3, Kind.JAR_SPOONS) < _SPOON_AT_LEAST:
        return shown
    return f"{shown} ({show(part.volume_m3, Kind.JAR_SPOONS, reader.system)})"


def _sources(plan: LoadPlan, reader: Reader) -> list[dict[str, str]]:
    keys: Iterable[str] = (plan.order.published.source_key, *_ALWAYS_CITED)
    if plan.conditioner is not None:
        keys = (*keys, "ndsu-ams-2015")
    if plan.planned.load.band is not None:
        keys = (*keys, "idaho-band")
    if plan.agitation is not None:
        keys = (*keys, "grdc-pump-video", "vt-442-452")
    if reader.system is System.US and any(part.volume_m3 is not None for part in plan.jar.parts):
        keys = (*keys, "unl-applicator-math")
    found = [source(key) for key in dict.fromkeys(keys)]
    return [{"citation": each.citation, "status": each.status} for each in found]
