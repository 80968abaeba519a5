"""What a load sheet says besides its amounts: what stops the work, what to know, in the reader's units."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from wetrun.errors import ended
from wetrun.papers.label_words import conflict_rows
from wetrun.papers.measured_amount import MarkedMeasures, counted, whole_text
from wetrun.papers.reader import Reader, listed
from wetrun.percent import more_or_less
from wetrun.planning.label_limits import LimitThing
from wetrun.planning.load_parts import LoadPart
from wetrun.planning.load_wish import Split
from wetrun.planning.loads import LoadPlan
from wetrun.planning.mix_order import OrderConflict
from wetrun.planning.passes import RateMeaning
from wetrun.planning.water_conditioner import ConditionerAdvice
from wetrun.quantity import Kind
from wetrun.spray.definitions import MINUTE_S
from wetrun.units import M3, Frac, Ratio

ROUNDING_RATIO: Final[Ratio] = 0.01
"""Rounding to the step of a jug or scale that puts a load further off than this is told; our own choice."""
SMALL_LAST_FRAC: Final[Frac] = 0.25
"""A last load smaller than this share of a full one is worth spreading over the others; our own choice."""
CAUTIONS: Final = (
    "The label is the law. Read every label before mixing: it may rule out a partner, a carrier, an order or a rate.",
    "Wear what the labels ask for when mixing and loading; it may be more than for spraying. Have clean water at hand.",
    "Run each product in with agitation on, wait until it is fully dispersed, rinse the inductor, then the next.",
    "Never let chlorine bleach meet ammonia or an ammonium product: toxic gas. Rinse cleaners out before loading.",
    "Fill with an air gap or a check valve, never unwatched, away from wells, ditches and drains.",
)


def stop_words(plan: LoadPlan, reader: Reader) -> list[str]:
    """Return why this must not be mixed as it stands; empty if nothing speaks against it.

    Parameters
    ----------
    plan : LoadPlan
        The loads.
    reader : Reader
        Whose units.

    Returns
    -------
    list of str
        Labels that leave no order, limits that contradict each other or the rate of the pass.
    """
    stops = []
    contradictions = [conflict_words(each) for each in plan.order.conflicts if each.among_labels]
    if contradictions:
        what = "Do not mix this until the makers or an adviser have said how."
        stops.append(f"The labels leave no order: {'; '.join(contradictions)}. {what}")
    for conflict in plan.limits.conflicts:
        if conflict.thing in {LimitThing.RATE, LimitThing.CARRIER}:
            row = conflict_rows(conflict, reader)
            said = "; ".join(f"{part['owner']}: {part['says']}" for part in row["parts"])
            stops.append(f"Labels against each other on {row['thing']}: {said}. {row['remedy']}")
    low = plan.limits.label_low_m3pm2
    if low is not None and plan.recipe.rate_m3pm2 < low * (1.0 - 1e-9) and not stops:
        rates = f"{reader.rate(plan.recipe.rate_m3pm2)} of spray is less than the {reader.rate(low)} a label asks for"
        stops.append(f"{rates}. Raise the rate of the pass.")
    return stops


def conflict_words(conflict: OrderConflict) -> str:
    """Return one contradiction on the mixing order in words."""
    one, other = conflict.one, conflict.other
    if conflict.among_labels:
        return f"{one.first} before {one.second} ({one.by}), yet {other.first} before {other.second} ({other.by})"
    if one.by.startswith("label"):
        return f"{one.first} before {one.second}: {one.by}, which holds. {other.by} has it the other way round"
    return f"{one.first} before {one.second} by {one.by}, the other way round by {other.by}"


def order_words(plan: LoadPlan) -> list[str]:
    """Return what has to be known of the mixing order: contradictions, and what has no place in it."""
    said = [ended(conflict_words(each)) for each in plan.order.conflicts if not each.among_labels]
    if plan.order.not_placed:
        names = listed(list(plan.order.not_placed))
        said.append(f"{plan.order.published.name.value} has no place for {names}: see the label; shown last here.")
    return said


def note_words(plan: LoadPlan, reader: Reader, marked: MarkedMeasures) -> list[str]:
    """Return what an operator has to know of these loads, the weightiest first.

    Parameters
    ----------
    plan : LoadPlan
        The loads.
    reader : Reader
        Whose units.
    marked : MarkedMeasures
        Steps of gauge, jug and scale.

    Returns
    -------
    list of str
        Sentences.
    """
    return [
        *_weight(plan, reader),
        *_band(plan, reader),
        *_rate(plan, reader),
        *_ends(plan, reader),
        *_last(plan, reader),
        *_rounding(plan, marked, reader),
        *_conditioner(plan, reader),
        *_agitation(plan, reader),
    ]


def _weight(plan: LoadPlan, reader: Reader) -> Iterator[str]:
    tank = plan.room.rooms[0]
    full = f"{_volume(tank.contents_m3, reader)} of this mix weigh {whole_text(tank.contents_kg, Kind.MASS, reader)}"
    if plan.binding.by_weight:
        most = _volume(plan.binding.contents_m3 - plan.room.undrainable_m3, reader)
        yield f"Weight sets the load, not the tank: at most {most} for the {plan.binding.limit}. {full}."
    elif len(plan.room.rooms) == 1:
        yield f"{full}. No weight limit was typed: check axles, tyres and road law (machine.fill.axle)."
    for name, weight_kg, high_kg in plan.axle_weights():
        carried, limit = (whole_text(kg, Kind.MASS, reader) for kg in (weight_kg, high_kg))
        yield f"With the fullest load the {name} carries {carried} of {limit}."


def _volume(volume_m3: M3, reader: Reader) -> str:
    return whole_text(volume_m3, Kind.VOLUME, reader)


def _band(plan: LoadPlan, reader: Reader) -> Iterator[str]:
    band = plan.planned.load.band
    if band is not None:
        widths = [reader.text(width, Kind.SPACING) for width in (band.band_m, band.row_m)]
        yield (
            f"Bands of {widths[0]} on rows of {widths[1]}: {reader.area(plan.treated_m2)} are treated of "
            f"{reader.area(plan.planned.area_m2)} of field. Every amount is for treated area."
        )


def _rate(plan: LoadPlan, reader: Reader) -> Iterator[str]:
    if plan.planned.rate_meaning is RateMeaning.WATER_EQUIVALENT:
        typed, real = (reader.rate(rate) for rate in (plan.planned.rate_m3pm2, plan.recipe.rate_m3pm2))
        yield f"The rate was typed as water equivalent: {typed} of water is {real} of {plan.planned.carrier.name}."


def _ends(plan: LoadPlan, reader: Reader) -> Iterator[str]:
    split = plan.split
    if split.carry_in_m3 > 0.0:
        yield f"{_volume(split.carry_in_m3, reader)} of this mix is aboard already and counts for the field."
    if not plan.room.undrainable_known:
        yield (
            "What stays in sump, hoses and boom was not typed (machine.fill.undrainable): the first load has to fill "
            "them, and as much is left at the end. Neither is counted."
        )
        return
    left = _volume(split.left_over_m3, reader)
    area = reader.text(split.left_over_m3 / plan.recipe.rate_m3pm2, Kind.AREA)
    area += " treated" if plan.planned.load.band is not None else ""
    yield (
        f"When the field is done {left} of mix is still in sump, hoses and boom, enough for {area}: it is in the "
        "totals, and the last load leaves no more. Rinse it out over the field just sprayed if the labels allow, or "
        "carry it into the next field of the same mix (carry_in)."
    )


def _last(plan: LoadPlan, reader: Reader) -> Iterator[str]:
    fills = plan.split.fills
    if len(fills) > 1:
        yield "Before mixing the last load, read from the monitor the area still to do, and mix for that."
    if plan.planned.load.split is Split.FULL and len(fills) > 1 and fills[-1] < SMALL_LAST_FRAC * max(fills):
        even = _volume(plan.split.made_m3 / len(fills), reader)
        yield f'The last load is small. {len(fills)} equal loads of about {even} do the same field (split = "equal").'


def _rounding(plan: LoadPlan, marked: MarkedMeasures, reader: Reader) -> Iterator[str]:
    made = sum(plan.split.fills)
    shares = tuple(fill / made for fill in plan.split.fills)
    for part in plan.parts:
        if part.product is None or part.exact_steps <= 0.0:
            continue
        off, fill = max(zip(part.off_ratios(shares), plan.split.fills, strict=True), key=lambda each: abs(each[0]))
        if abs(off) > ROUNDING_RATIO:
            load = f"a load of {counted(fill, marked.gauge, reader)}"
            gives = f"steps of {marked.of_part(part).text} give {load} {more_or_less(off)} than it should get"
            yield f"{part.name}: {gives}. Measure finer{_or_by_total(plan, part)}."
        elif part.at_label:
            yield f"{part.name}: rounded down in every load, as its rate is the label's maximum."


def _or_by_total(plan: LoadPlan, part: LoadPart) -> str:
    """The other way of rounding, where the same amount in every load puts the total off by a step or more."""
    helps = plan.planned.load.alike and not part.at_label and abs(part.total_steps - part.exact_steps) >= 1.0
    return ", or let loads differ by a step so that the total is right (alike = false)" if helps else ""


def _conditioner(plan: LoadPlan, reader: Reader) -> Iterator[str]:
    found = plan.conditioner
    if found is None:
        return
    needed = reader.text(found.needed_kgpm3, Kind.DRY_IN_SPRAY)
    label = _label_range(found.low_kgpm3, found.high_kgpm3, reader)
    says = {
        ConditionerAdvice.COVERED: "what is in the tank covers it",
        ConditionerAdvice.BELOW_TEST: "the tank gets less: raise it within the label's range",
        ConditionerAdvice.LABEL_CAPS: "the label allows less, and the label holds: find better water",
        ConditionerAdvice.NONE_IN_TANK: "none is in this tank: the labels say whether it belongs there",
    }[found.advice]
    planned = "" if found.planned_kgpm3 is None else f", planned {reader.text(found.planned_kgpm3, Kind.DRY_IN_SPRAY)}"
    yield f"Ammonium sulfate by the water test: {needed}{planned}{label}; {says}."


def _label_range(low: float | None, high: float | None, reader: Reader) -> str:
    ends = [reader.text(end, Kind.DRY_IN_SPRAY) for end in (low, high) if end is not None]
    return f", label {' to '.join(ends)}" if ends else ""


def _agitation(plan: LoadPlan, reader: Reader) -> Iterator[str]:
    found = plan.agitation
    settling = [
        each.name for each in plan.planned.products if each.mixing and each.mixing.form and each.mixing.form.settles
    ]
    if found is None or not settling:
        return
    kept = f"{listed(settling)}: kept mixed by agitation only"
    if found.turnover_s is None:
        yield f"{kept}, and no agitation flow was typed (machine.pump.agitation)."
    else:
        takes, low, high = (reader.flow(flow) for flow in (found.flow_m3s, found.low_m3s, found.high_m3s))
        short = ", which is less" if found.flow_m3s < found.low_m3s else ""
        yield (
            f"{kept}. It gets {takes}{short}; published shares, 2 to 3 % of a full tank a minute, are {low} to {high}. "
            f"A full tank turns over in {found.turnover_s / MINUTE_S:.0f} minutes. Keep it on at every stop."
        )
    if found.needed_m3s is not None and found.needed_m3s > found.pump_m3s:
        needed, gives = (reader.flow(flow) for flow in (found.needed_m3s, found.pump_m3s))
        yield f"Boom at the fastest stated speed, agitation and 20 % reserve need {needed}; the pump gives {gives}."
