"""What loads need in a season file: how a machine may be filled, how a pass is parted, what is in the water."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, model_validator

from wetrun.documents.entry import Entry
from wetrun.documents.fields import (
    Duty,
    FirstFill,
    GaugeStep,
    HeldUp,
    Ion,
    Jar,
    JugStep,
    ScaleStep,
    Spacing,
    SwathLength,
    Volume,
    Weight,
)
from wetrun.documents.machine_entry import MachineEntry
from wetrun.documents.plain_fields import Words
from wetrun.documents.refusing import refuse
from wetrun.machine.fill import Axle, FillLimits
from wetrun.planning.load_wish import USUAL_FIRST_FILL_FRAC, USUAL_JAR_M3, Band, LoadWish, Split
from wetrun.planning.published_order import OrderName
from wetrun.planning.water_test import WaterTest
from wetrun.quantity import Typed


class AxleEntry(Entry):
    """An axle with what it may carry."""

    name: Words
    limit: Weight
    empty: Weight
    load_share: Duty

    @model_validator(mode="after")
    def _carries_the_empty_machine(self) -> Self:
        if self.empty.si_value >= self.limit.si_value:
            limit = f"it leaves nothing for a load: empty it carries {self.empty.text}, its limit is {self.limit.text}"
            raise refuse(
                limit, "Weigh the empty machine again, and read the limit from axle, tyres and road law", at="empty"
            )
        return self


class FillEntry(Entry):
    """How full and how heavy a load may be, and what gauge, jug and scale show."""

    usable: Volume | None = None
    undrainable: HeldUp | None = None
    tank_weight: Weight | None = None
    axle: list[AxleEntry] = Field(default=[], max_length=10)
    gauge: GaugeStep | None = None
    jug: JugStep | None = None
    scale: ScaleStep | None = None

    @model_validator(mode="after")
    def _has_measures_that_add_up(self) -> Self:
        if self.gauge is not None and self.jug is not None:
            jugs = self.gauge.si_value / self.jug.si_value
            if round(jugs) < 1 or abs(jugs - round(jugs)) > 1e-9 * jugs:
                limit = f"a step of {self.gauge.text} is no whole number of the jug's {self.jug.text}"
                raise refuse(limit, "Choose both so that amounts add up, as 5 gal and 1 fl oz do", at="gauge")
        return self


class FilledMachineEntry(MachineEntry):
    """The machine of a season: the machine, and how it may be filled."""

    fill: FillEntry = FillEntry()

    @model_validator(mode="after")
    def _holds_its_fill(self) -> Self:
        usable, tank, held = self.fill.usable, self.tank, self.fill.undrainable
        if usable and tank and usable.si_value > tank.si_value:
            limit = f"{usable.text} is more than the tank holds ({tank.text})"
            raise refuse(limit, "Correct one of the two; leave room for foam and slopes", at="fill.usable")
        full = usable or tank
        if held and full and held.si_value >= full.si_value:
            limit = f"{held.text} cannot stay behind of a tank filled with {full.text}"
            raise refuse(
                limit, "Type what is left in sump, hoses and boom when the spray gives out", at="fill.undrainable"
            )
        return self


class BandEntry(Entry):
    """A band over every row."""

    width: Spacing
    row: Spacing

    @model_validator(mode="after")
    def _fits_its_row(self) -> Self:
        if self.width.si_value > self.row.si_value:
            limit = f"a band of {self.width.text} is wider than its row of {self.row.text}"
            raise refuse(limit, "Correct the two, or leave band out for broadcast", at="width")
        return self


class LoadEntry(Entry):
    """How the loads of a pass are wanted."""

    split: Literal["full", "equal"] = "full"
    alike: bool = True
    band: BandEntry | None = None
    carry_in: HeldUp | None = None
    field_length: SwathLength | None = None
    order: Literal["A-W-A-M-L-E-S", "A.P.P.L.E.S.", "one third first"] = "A-W-A-M-L-E-S"
    first_fill: FirstFill | None = None
    jar: Jar | None = None


class WaterEntry(Entry):
    """A water test, ion by ion."""

    potassium: Ion | None = None
    sodium: Ion | None = None
    calcium: Ion | None = None
    magnesium: Ion | None = None
    iron: Ion | None = None


def fill_of_entry(entry: FillEntry) -> FillLimits:
    """Return the record of how a machine may be filled.

    Parameters
    ----------
    entry : FillEntry
        As typed and accepted.

    Returns
    -------
    FillLimits
        In SI.
    """
    return FillLimits(
        usable_m3=_si(entry.usable),
        undrainable_m3=_si(entry.undrainable),
        tank_high_kg=_si(entry.tank_weight),
        axles=tuple(
            Axle(
                name=each.name,
                high_kg=each.limit.si_value,
                empty_kg=each.empty.si_value,
                load_frac=each.load_share.si_value,
            )
            for each in entry.axle
        ),
    )


def wish_of_entry(entry: LoadEntry) -> LoadWish:
    """Return the record of how loads are wanted.

    Parameters
    ----------
    entry : LoadEntry
        As typed and accepted.

    Returns
    -------
    LoadWish
        In SI.
    """
    band = entry.band
    first_fill, jar = _si(entry.first_fill), _si(entry.jar)
    return LoadWish(
        split=Split(entry.split),
        alike=entry.alike,
        band=None if band is None else Band(band.width.si_value, band.row.si_value),
        carry_in_m3=_si(entry.carry_in) or 0.0,
        field_length_m=_si(entry.field_length),
        order=OrderName(entry.order),
        first_fill_frac=USUAL_FIRST_FILL_FRAC if first_fill is None else first_fill,
        jar_m3=USUAL_JAR_M3 if jar is None else jar,
    )


def water_of_entry(entry: WaterEntry | None) -> WaterTest | None:
    """Return the record of a water test, if there is one.

    Parameters
    ----------
    entry : WaterEntry or None
        As typed and accepted.

    Returns
    -------
    WaterTest or None
        In SI; an ion that was left out counts as none.
    """
    if entry is None:
        return None
    return WaterTest(
        potassium_kgpm3=_si(entry.potassium) or 0.0,
        sodium_kgpm3=_si(entry.sodium) or 0.0,
        calcium_kgpm3=_si(entry.calcium) or 0.0,
        magnesium_kgpm3=_si(entry.magnesium) or 0.0,
        iron_kgpm3=_si(entry.iron) or 0.0,
    )


def _si(typed: Typed | None) -> float | None:
    return None if typed is None else typed.si_value
