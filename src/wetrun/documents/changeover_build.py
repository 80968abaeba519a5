"""Makes the question of a clean-out from a changeover file: every quantity by its SI value."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from wetrun.changeover.question import ChangeoverQuestion, WinterWish, Written
from wetrun.changeover.rinse import Way
from wetrun.changeover.rinse_task import WaterSupply, check_supply
from wetrun.changeover.tolerated import PUBLISHED, Basis, Tolerated, label_level, user_level
from wetrun.changeover.yard_job import Cleaner, LabelStep, YardJob, check_cleaners
from wetrun.changeover.yard_record import StepEntry
from wetrun.documents.changeover_entry import (
    ChangeoverEntry,
    ExtraEntry,
    PlumbingOfEntry,
    RecordEntry,
    ToleratedEntry,
    WaterEntry,
)
from wetrun.documents.changeover_tanks import Tanks
from wetrun.documents.refusing import refuse
from wetrun.documents.wetrun_build import si_or_none
from wetrun.documents.wetrun_ground import Building
from wetrun.machine.circuits import CircuitKind, Exit, Layout, Line, Start
from wetrun.machine.typical_plumbing import Measured, layout_with_extra, layout_with_measured, typical_layout
from wetrun.machine.typical_volumes import MachineClass
from wetrun.quantity import Kind, System, read
from wetrun.units import M3

WAYS: Final[Mapping[str, Way]] = MappingProxyType({"batch": Way.BATCH, "continuous": Way.CONTINUOUS, "boom": Way.BOOM})
_BASES: Final = MappingProxyType({"tank mix": Basis.MIX, "dose": Basis.DOSE})
_USUAL_STEP: Final = MappingProxyType({System.US: "5 gal", System.SI: "20 L"})
MOST_STEPS: Final = 120
"""Most steps of water: each has to be worked out on the machine before the search."""


def question_of(entry: ChangeoverEntry, tanks: Tanks, building: Building) -> ChangeoverQuestion | None:
    """Return what a file asks.

    Parameters
    ----------
    entry : ChangeoverEntry
        The file as typed.
    tanks : Tanks
        The two tanks and the machine.
    building : Building
        Keeps what is wrong.

    Returns
    -------
    ChangeoverQuestion or None
        None if the layout, the water or the level cannot be made out; the problems say why.
    """
    layout = _layout(entry.plumbing, tanks, building)
    tolerated = building.made("tolerated", lambda: _tolerated(entry.tolerated, tanks))
    supply = None if layout is None else building.made("water", lambda: _supply(entry.water, layout, building.system))
    building.made("cleaner", lambda: check_cleaners(_poured_together(entry, tanks)))
    if layout is None or tolerated is None or supply is None or building.problems:
        return None
    return ChangeoverQuestion(
        machine=tanks.sprayer.name,
        earlier=tanks.earlier,
        later=tanks.later,
        layout=layout,
        section_tips=tanks.sprayer.boom.section_tips,
        tolerated=tolerated,
        supply=supply,
        load_m3=tanks.load_m3,
        out_m3s=tanks.out_m3s,
        speed_mps=tanks.speed_mps,
        drains=entry.plumbing.drains,
        fed_in_middle=entry.plumbing.fed == "in the middle",
        ways=tuple(dict.fromkeys(WAYS[way] for way in entry.water.ways)),
        most_rinses=entry.water.most_rinses,
        label_steps=_label_steps(entry),
        cleaners=_cleaners(entry),
        first_flush_m3=si_or_none(entry.water.first_flush),
        rinsate=entry.rinsate or "",
        nurse=entry.nurse,
        on=entry.on,
        written=None if entry.record is None else _written(entry.record),
        winter=_winter(entry),
    )


def _layout(entry: PlumbingOfEntry, tanks: Tanks, building: Building) -> Layout | None:
    layout = building.made(
        "plumbing",
        lambda: typical_layout(
            MachineClass(entry.machine_class),
            tanks.sprayer.boom,
            tank_m3=tanks.tank_m3,
            rinse_tank_m3=si_or_none(entry.rinse_tank),
            ends_open=entry.ends_open,
            recirculating=entry.recirculating,
        ),
    )
    for number, extra in enumerate(entry.extra, start=1):
        layout = _with_extra(layout, extra, f"plumbing.extra.{number}", building)
    for number, each in enumerate(entry.measured, start=1):
        given = {each.circuit: Measured(volume_m3=si_or_none(each.volume), residue_m3=si_or_none(each.residue))}
        layout = _with_measured(layout, given, f"plumbing.measured.{number}", building)
    return layout


def _with_extra(layout: Layout | None, extra: ExtraEntry, key: str, building: Building) -> Layout | None:
    if layout is None:
        return None
    return building.made(key, lambda: layout_with_extra(layout, CircuitKind(extra.kind), *_flushing(layout, extra)))


def _with_measured(
    layout: Layout | None, measured: Mapping[str, Measured], key: str, building: Building
) -> Layout | None:
    if layout is None:
        return None
    return building.made(key, lambda: layout_with_measured(layout, measured))


def _flushing(layout: Layout, extra: ExtraEntry) -> tuple[Line, ...]:
    """The line an extra circuit hangs on, led through it on the way back to the tank."""
    if extra.flushed_with is None:
        return ()
    back = {line.name: line for line in layout.lines if line.exit is Exit.TANK and line.start is Start.TANK}
    line = back.get(extra.flushed_with)
    if line is None:
        limit = f"no line back to the tank is called “{extra.flushed_with}”"
        raise refuse(limit, f"Write one of {', '.join(back)}, or leave it out if nothing flushes it", at="flushed_with")
    return (Line(name=f"{line.name} through {extra.kind}", through=(*line.through, extra.kind), needs=line.needs),)


def _tolerated(entry: ToleratedEntry | None, tanks: Tanks) -> Tolerated:
    if entry is None:
        if tanks.tolerated_frac is None:
            remedy = (
                "Read the label of what was in the tank, and write a table [tolerated] with label, own or published"
            )
            raise refuse("how much the next crop may get is not known: no label's figure is typed", remedy)
        return label_level(tanks.tolerated_frac, basis=Basis.DOSE)
    if entry.published is not None:
        if entry.published not in PUBLISHED:
            raise refuse("no published figure has this name", f"Write one of {', '.join(PUBLISHED)}", at="published")
        return PUBLISHED[entry.published]
    basis = _BASES[str(entry.of)]
    if entry.label is not None:
        return label_level(entry.label.si_value, basis=basis)
    return user_level(si_or_none(entry.own) or 0.0, basis=basis)


def _supply(entry: WaterEntry, layout: Layout, system: System) -> WaterSupply:
    if not layout.rinse_tank_m3 > 0.0:
        remedy = "Type rinse_tank in [plumbing]: the rinse tank, or the clean water a nurse tank brings at a time"
        raise refuse("there is no clean water to rinse with", remedy)
    usual_m3: M3 = read(_USUAL_STEP[system], Kind.VOLUME).si_value
    supply = WaterSupply(
        rinse_tank_m3=layout.rinse_tank_m3,
        refills=entry.refills,
        step_m3=usual_m3 if entry.step is None else entry.step.si_value,
    )
    check_supply(supply, entry.most_rinses)
    if supply.steps > MOST_STEPS:
        limit = f"this makes {supply.steps} steps of water, more than the {MOST_STEPS} that can be searched"
        raise refuse(limit, "Write a larger step, or fewer refills", at="step")
    return supply


def _poured_together(entry: ChangeoverEntry, tanks: Tanks) -> YardJob:
    return YardJob(
        machine=tanks.sprayer.name,
        crop_to=tanks.later.crop,
        products_from=tanks.earlier.contents,
        products_to=tanks.later.contents,
        cleaners=_cleaners(entry),
    )


def _label_steps(entry: ChangeoverEntry) -> tuple[LabelStep, ...]:
    return tuple(
        LabelStep(
            product=each.product, words=each.words, water_m3=si_or_none(each.water), stand_s=si_or_none(each.stand)
        )
        for each in entry.label
    )


def _cleaners(entry: ChangeoverEntry) -> tuple[Cleaner, ...]:
    return tuple(
        Cleaner(name=each.name, words=each.words or "", stand_s=si_or_none(each.stand)) for each in entry.cleaner
    )


def _written(entry: RecordEntry) -> Written:
    return Written(
        entries=tuple(
            StepEntry(
                step=each.step,
                done_by=each.by or "",
                begun_at=each.begun,
                done_at=each.done,
                water_m3=si_or_none(each.water),
                skipped_because=each.skipped_because or "",
            )
            for each in entry.step
        ),
        signed_by=entry.signed_by or "",
        signed_at=entry.signed_at,
    )


def _winter(entry: ChangeoverEntry) -> WinterWish | None:
    winter = entry.winter
    if winter is None:
        return None
    return WinterWish(antifreeze=winter.antifreeze or "", where_it_goes=winter.where_it_goes or "")
