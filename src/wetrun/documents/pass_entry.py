"""A planned pass as it is written in a season file: carrier, rate, products with their labels' limits, speeds."""

from __future__ import annotations

from datetime import date
from typing import Literal, Self

from pydantic import Field, ValidationInfo, model_validator

from wetrun.documents.carrier_words import carrier_named
from wetrun.documents.entry import Entry
from wetrun.documents.fields import (
    Area,
    CarrierRate,
    CarryOver,
    Density,
    Gravity,
    Height,
    Pressure,
    ProductRate,
    Speed,
    Temperature,
    Tolerance,
    Wind,
)
from wetrun.documents.load_entry import LoadEntry
from wetrun.documents.mixing_entry import MixingEntry, check_dose, check_label_orders
from wetrun.documents.plain_fields import Day, Droplets, FileName, Fit, Passage, PassNames, Words
from wetrun.documents.refusing import refuse, system_of
from wetrun.documents.shorthand import Shorthand, check_rising
from wetrun.documents.speeds_entry import SpeedsEntry
from wetrun.errors import NotDefined, OutOfRange
from wetrun.quantity import Kind, sentence
from wetrun.spray.carrier import Carrier


class RateEntry(Shorthand):
    """Rate of the tank mix: one value, or a target with the range the customer accepts."""

    target: CarrierRate
    low: CarrierRate | None = None
    high: CarrierRate | None = None

    @model_validator(mode="after")
    def _rises(self) -> Self:
        check_rising(low=self.low, target=self.target)
        check_rising(target=self.target, high=self.high)
        return self


class CarrierEntry(Shorthand):
    """The liquid in the tank: a name that is known, or any name with its density."""

    name: Words
    density: Density | None = None
    specific_gravity: Gravity | None = None
    temperature: Temperature | None = None

    @model_validator(mode="after")
    def _is_known(self, info: ValidationInfo) -> Self:
        if self.density and self.specific_gravity:
            raise refuse(
                "density and specific_gravity say the same thing", "Keep the one that was measured", at="density"
            )
        try:
            self.carrier()
        except NotDefined as error:
            raise refuse(error.reason, error.remedy.rstrip("."), at="name") from error
        except OutOfRange as error:
            raise refuse(sentence(error, system_of(info)).rstrip("."), "Check the number and its unit") from error
        return self

    def carrier(self) -> Carrier:
        """Return the carrier this table describes."""
        return carrier_named(
            self.name, density=self.density, gravity=self.specific_gravity, temperature=self.temperature
        )


class PermittedTipEntry(Shorthand):
    """A tip a label names."""

    tip: Words
    max_pressure: Pressure | None = None


class ProductEntry(MixingEntry):
    """A product with its label's limits, as the user reads the label."""

    name: Words
    rate: ProductRate | None = None
    label_max: ProductRate | None = None
    density: Density | None = None
    droplets: Droplets | None = None
    tips: list[PermittedTipEntry] | None = Field(default=None, min_length=1, max_length=500)
    min_carrier: CarrierRate | None = None
    max_carrier: CarrierRate | None = None
    forbidden_carriers: list[Words] = Field(default=[], max_length=50)
    max_speed: Speed | None = None
    min_wind: Wind | None = None
    max_wind: Wind | None = None
    max_height: Height | None = None
    first: Day | None = None
    last: Day | None = None
    risky_on: list[Words] | None = Field(default=None, max_length=100)
    risky_words: Passage | None = None
    tolerated: CarryOver | None = None
    clean_after: bool = False

    @model_validator(mode="after")
    def _keeps_to_its_label(self) -> Self:
        rate, most = self.rate, self.label_max
        if most is None:
            return self
        if rate is None:
            remedy = "Give the product's rate, or leave label_max out"
            raise refuse("there is no rate to compare it with", remedy, at="label_max")
        if (rate.kind is Kind.DRY_RATE) is not (most.kind is Kind.DRY_RATE):
            limit = f"one of rate ({rate.text}) and label_max ({most.text}) is a weight, the other a volume"
            raise refuse(limit, "Type both as the label does", at="label_max")
        if rate.si_value > most.si_value:
            limit = f"{rate.text} is above label_max ({most.text})"
            raise refuse(limit, "Correct the rate; the label is the law", at="rate")
        return self

    @model_validator(mode="after")
    def _tolerates_on_a_crop(self) -> Self:
        if self.tolerated is not None and not self.risky_on:
            remedy = "Name the crops of that figure in risky_on, or leave tolerated out"
            raise refuse("there is no crop in risky_on that it is tolerated on", remedy, at="tolerated")
        return self

    @model_validator(mode="after")
    def _states_its_amount_once(self) -> Self:
        check_dose(self, self.rate)
        return self

    @model_validator(mode="after")
    def _has_limits_that_rise(self) -> Self:
        check_rising(min_carrier=self.min_carrier, max_carrier=self.max_carrier)
        check_rising(min_wind=self.min_wind, max_wind=self.max_wind)
        _check_days(self.first, self.last)
        return self


class PassEntry(Entry):
    """One planned application; `season_checks` holds its days, tips and logs together."""

    name: Words
    crop: Words
    area: Area
    first: Day
    last: Day
    carrier: CarrierEntry
    rate: RateEntry
    rate_is: Literal["solution", "water equivalent"] = "solution"
    droplets: Droplets | None = None
    fit: Fit = ()
    odd: bool = True
    speeds: SpeedsEntry | None = None
    logs: list[FileName] = Field(default=[], max_length=500)
    log_map: FileName | None = None
    height: Height | None = None
    tolerance: Tolerance | None = None
    product: list[ProductEntry] = Field(default=[], max_length=50)
    after: PassNames = ()
    days: int | None = Field(default=None, ge=1, le=366)
    load: LoadEntry | None = None
    at_once: list[Words] = Field(default=[], max_length=2, examples=[["iso-11003-ff", "iso-11005-ff"]])

    @model_validator(mode="after")
    def _names_two_at_once(self) -> Self:
        if len(self.at_once) == 1:
            raise refuse("one tip alone is no stage", "Name two tips the bodies can spray at once", at="at_once")
        return self

    @model_validator(mode="after")
    def _can_be_mixed(self) -> Self:
        check_label_orders(tuple((each.name, each) for each in self.product))
        for at, each in enumerate(self.product, start=1):
            if self.load is not None and each.rate is None and each.dose() is None:
                remedy = "Add rate, in_spray or in_carrier as the label gives it, or leave [pass.load] out"
                raise refuse(
                    f"“{each.name}” has no rate, so no load can be worked out", remedy, at=f"product[{at}].rate"
                )
        return self


def _check_days(first: date | None, last: date | None) -> None:
    if first is not None and last is not None and first > last:
        raise refuse(f"first ({first}) must not be after last ({last})", "Correct one of the two days", at="first")
