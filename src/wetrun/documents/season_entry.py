"""The whole of a season file as it is written."""

from __future__ import annotations

from typing import Final, Literal

from pydantic import Field

from wetrun.documents.fields import Tolerance
from wetrun.documents.machine_entry import Entry, MachineEntry
from wetrun.documents.pass_entry import PassEntry
from wetrun.documents.plain_fields import FileName, Money, Words

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


class SeasonEntry(Entry):
    """A season: customer, machine, plan, passes."""

    format_version: Literal[1]
    title: Words
    units: Literal["us", "si"] = "us"
    customer: CustomerEntry
    machine: MachineEntry
    plan: PlanEntry = PlanEntry()
    passes: list[PassEntry] = Field(alias="pass", min_length=1, max_length=200)
