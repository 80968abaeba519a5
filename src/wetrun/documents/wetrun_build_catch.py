"""Makes the record of a catch from what was typed: the sheet, its record, swap tests, and low duty."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from wetrun.documents.refusing import refuse
from wetrun.documents.wetrun_build import USUAL_K, si, si_or_none
from wetrun.documents.wetrun_catch_entry import CatchEntry, LowDutyEntry, Readings, SwapEntry
from wetrun.documents.wetrun_ground import Ground
from wetrun.documents.wetrun_readings import dry_tips, tip_readings
from wetrun.proving.catch_pulse import run_at_duty
from wetrun.proving.catch_rules import RULES
from wetrun.proving.catch_run import CatchInstruments, CatchRun, TipReading
from wetrun.proving.session_record import CatchTest
from wetrun.proving.swaps import SwapTest
from wetrun.quantity import Kind, Typed
from wetrun.units import Pa, S


def catch_of(entry: CatchEntry, ground: Ground) -> CatchTest:
    """Return the catch of a boom.

    Parameters
    ----------
    entry : CatchEntry
        As typed.
    ground : Ground
        Machine and tips.

    Returns
    -------
    CatchTest
        The catch, swap tests, and the catch at low duty if there is one.

    Raises
    ------
    PydanticCustomError
        Readings of positions or sections the boom does not have, a duty on a machine that does not pulse, a swap test
        that is not one.
    """
    _check_duty(entry, ground)
    if entry.new_tips is not None and max(entry.new_tips) > ground.sprayer.boom.tips:
        limit = f"position {max(entry.new_tips)} is beyond the {ground.sprayer.boom.tips} tips of the boom"
        raise refuse(limit, "Correct the positions of the new tips", at="new_tips")
    run = CatchRun(
        readings=_tips(entry, ground),
        section_tips=ground.sprayer.boom.section_tips,
        law=ground.tip.law,
        pressure_pa=entry.pressure.si_value,
        time_s=si_or_none(entry.time),
        water_temp_k=si(entry.temperature, USUAL_K),
        instruments=_instruments(entry),
        size=ground.tip.size,
        before_pa=si_or_none(entry.before),
        after_pa=si_or_none(entry.after),
        conditions="; ".join(_conditions(entry)),
        odd_laws=ground.odd_laws,
        new_tips=entry.new_tips or (),
        stands=_dry(entry),
    )
    low = None if entry.low is None else _low(entry.low, run, ground)
    swaps = tuple(_swap(swap, entry, run, f"swap.{place}") for place, swap in enumerate(entry.swap, start=1))
    full = run if entry.duty is None else run_at_duty(run, entry.duty.si_value)
    return CatchTest(run=full, rule=RULES[entry.rule], low=low, swaps=swaps, low_swaps=_low_swaps(entry, low))


def _dry(entry: Readings, *, at: str = "") -> frozenset[str]:
    """Rows of tips that were caught and gave nothing: said so, and not asked about."""
    return frozenset(f"tip {tip}" for tip in dry_tips(entry.readings, at=f"{at}readings"))


def _low_swaps(entry: CatchEntry, low: CatchRun | None) -> tuple[SwapTest, ...]:
    if entry.low is None or low is None:
        return ()
    found = (_swap(swap, entry.low, low, f"low.swap.{place}") for place, swap in enumerate(entry.low.swap, start=1))
    return tuple(replace(swap, part="solenoid") for swap in found)


def _check_duty(entry: CatchEntry, ground: Ground) -> None:
    pulses = ground.sprayer.control.pulse is not None
    for typed, at in ((entry.duty, "duty"), (entry.low, "low")):
        if typed is not None and not pulses:
            limit = "this machine does not pulse its tips, so it has no duty"
            raise refuse(limit, 'Leave it out, or write loop = "pulse width" with its settings', at=at)


def _conditions(entry: CatchEntry) -> Iterator[str]:
    """The record beside the sheet, in words."""
    if entry.mode is not None:
        yield f"{entry.mode} mode"
    if entry.agitation is not None:
        yield "agitation on" if entry.agitation else "agitation off"
    if entry.duty is not None:
        yield f"duty {entry.duty.text}"
    if entry.jugs > 1:
        yield f"{entry.jugs} jugs at once"
    if entry.conditions is not None:
        yield entry.conditions


def _instruments(entry: CatchEntry) -> CatchInstruments:
    return CatchInstruments(
        jug_m3=si(entry.jug),
        scale_kg=si(entry.scale),
        watch_s=si(entry.watch, CatchInstruments().watch_s),
        measure_frac=si(entry.measure),
        gauge_pa=si(entry.gauge),
        wander_pa=si(entry.wander),
        flow_frac=si(entry.instrument),
        jugs=entry.jugs,
    )


def _low(entry: LowDutyEntry, full: CatchRun, ground: Ground) -> CatchRun:
    run = replace(
        full,
        readings=_tips(entry, ground, at="low."),
        pressure_pa=si(entry.pressure, full.pressure_pa),
        time_s=full.time_s if entry.time is None else entry.time.si_value,
        before_pa=si_or_none(entry.before),
        after_pa=si_or_none(entry.after),
        conditions=f"duty {entry.duty.text}",
        stands=_dry(entry, at="low."),
    )
    return run_at_duty(run, entry.duty.si_value)


def _swap(entry: SwapEntry, sheet: Readings, run: CatchRun, at: str) -> SwapTest:
    for position, key in ((entry.odd, "odd"), (entry.good, "with")):
        if position > run.tips:
            limit = f"there is no tip {position}: the boom has {run.tips} tips"
            raise refuse(limit, "Correct the position, or the tips per section", at=f"{at}.{key}")
    if run.new_law(entry.odd) != run.new_law(entry.good):
        limit = f"tips {entry.odd} and {entry.good} are of two kinds on purpose"
        raise refuse(limit, "Swap a tip with one of its own kind", at=f"{at}.with")
    home = () if entry.home is None else _swapped(entry, entry.home, (sheet, run), f"{at}.home")
    after = _swapped(entry, entry.readings, (sheet, run), f"{at}.readings")
    return SwapTest(odd=entry.odd, good=entry.good, after=after, home=home)


def _swapped(entry: SwapEntry, raw: object, caught: tuple[Readings, CatchRun], at: str) -> tuple[TipReading, ...]:
    """What both places gave, by position, read like the catch where nothing else is written."""
    sheet, run = caught
    found = tip_readings(raw, entry.unit or sheet.unit or "", at=at)
    places = (entry.odd, entry.good)
    example = f"{{ {entry.odd} = 39.1, {entry.good} = 11.4 }}"
    if set(found) - set(places) or not isinstance(raw, dict):
        raise refuse("readings of the two places belong here, by position", f"Write {example}", at=at)
    blank = [position for position in places if found.get(position) is None]
    if blank:
        raise refuse(f"what tip {blank[0]} gave is missing", f"Catch both places and write {example}", at=at)
    rows = {row.tip: row for row in run.readings}
    made = [_swapped_row(entry, found[place], rows.get(place), place) for place in places]
    if any(_kind(row) != _kind(first) for row in made for first in run.readings if first.amount is not None):
        limit = "the swap test is read in another kind of unit than the catch"
        raise refuse(limit, "Use the same jug, scale or instrument, or both differ by what those are off", at=at)
    return tuple(made)


def _swapped_row(entry: SwapEntry, typed: Typed | None, first: TipReading | None, place: int) -> TipReading:
    time_s = None if first is None else first.time_s
    pressure_pa = None if first is None else first.pressure_pa
    return _row(place, typed, si_or_none(entry.time) or time_s, si_or_none(entry.pressure) or pressure_pa)


def _kind(row: TipReading) -> tuple[bool, bool]:
    return row.volume_m3 is not None, row.mass_kg is not None


def _tips(entry: Readings, ground: Ground, *, at: str = "") -> tuple[TipReading, ...]:
    boom, sections = ground.sprayer.boom, entry.section_pressures
    if sections and len(sections) != len(boom.section_tips):
        limit = f"there are {len(sections)} pressures for {len(boom.section_tips)} sections"
        raise refuse(limit, "Give one for every section, left to right", at=f"{at}section_pressures")
    found = tip_readings(entry.readings, entry.unit or "")
    strange = next((position for position in found if position > boom.tips), None)
    if strange is not None:
        limit = f"there is a reading for tip {strange}, and the boom has {boom.tips} tips"
        raise refuse(limit, "Correct the readings, or the tips per section", at=f"{at}readings")
    unread = next((key for key in entry.times if not (key.isdigit() and int(key) in found)), None)
    if unread is not None:
        remedy = 'Write times = { 7 = "31 s" } for positions that were caught'
        raise refuse(f"there is a time for “{unread}”, and no reading", remedy, at=f"{at}times")
    times = {key: si_or_none(typed) for key, typed in entry.times.items()}
    pressures = _pressures_pa(sections, boom.section_tips)
    return tuple(_row(n, typed, times.get(str(n)), pressures.get(n)) for n, typed in found.items())


def _pressures_pa(sections: list[Typed], section_tips: tuple[int, ...]) -> dict[int, Pa]:
    """Pressure at each position [Pa], where it was read again section by section."""
    pressures = [typed.si_value for typed, tips in zip(sections, section_tips, strict=False) for _ in range(tips)]
    return dict(enumerate(pressures, start=1))


def _row(tip: int, typed: Typed | None, time_s: S | None, pressure_pa: Pa | None) -> TipReading:
    value, kind = si_or_none(typed), None if typed is None else typed.kind
    return TipReading(
        tip=tip,
        volume_m3=value if kind is Kind.VOLUME else None,
        mass_kg=value if kind is Kind.MASS else None,
        flow_m3s=value if kind is Kind.TIP_FLOW else None,
        time_s=time_s,
        pressure_pa=pressure_pa,
    )
