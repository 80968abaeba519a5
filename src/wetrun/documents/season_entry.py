"""The whole of a season file as it is written."""

from __future__ import annotations

from typing import Final, Literal, Self

from pydantic import Field, model_validator

from wetrun.documents.entry import Entry
from wetrun.documents.fields import Tolerance
from wetrun.documents.load_entry import FilledMachineEntry, WaterEntry
from wetrun.documents.pass_entry import PassEntry
from wetrun.documents.plain_fields import FileName, Money, Words
from wetrun.documents.refusing import refuse

FORMAT_VERSION: Final = 1


class CustomerEntry(Entry):
    """Whose season it is."""

    name: Words


class PlanEntry(Entry):
    """What the plan may use."""

    most_sets: int | None = Field(default=None, ge=1, le=50)
    budget: Money | None = None
    catalogue: FileName | None = None
    tolerance: Tolerance | None = None
    generic: bool = True


class SeasonEntry(Entry):
    """A season: customer, machine, plan, passes."""

    format_version: Literal[1]
    title: Words
    units: Literal["us", "si"] = "us"
    customer: CustomerEntry
    machine: FilledMachineEntry
    water: WaterEntry | None = None
    plan: PlanEntry = PlanEntry()
    passes: list[PassEntry] = Field(alias="pass", min_length=1, max_length=200)

    @model_validator(mode="after")
    def _leaves_tips_to_choose_from(self) -> Self:
        plan = self.plan
        if not plan.generic and plan.catalogue is None and not self.machine.owned:
            remedy = "Name the shop's own tips in plan.catalogue, list a set the customer owns, or leave generic out"
            raise refuse("without the built-in tips there is none left to propose", remedy, at="plan.generic")
        return self
