"""What happened on the demo's machines between wet runs: a meter that was changed, and last season's loads."""

from __future__ import annotations

import tomllib
from datetime import date, timedelta

from wetrun.documents.fills_example import example_fills
from wetrun.machine.proofs import Event
from wetrun.shop.accounts.desk import Desk
from wetrun.shop.answers.filled_loads import book_from
from wetrun.shop.answers.laid_out import toml_text
from wetrun.shop.records.keeping import kept
from wetrun.shop.records.models import FillBook, Machine, MachineEvent


def change_meter(machine: Machine, desk: Desk, today: date) -> MachineEvent:
    """Enter that a machine got a new flow meter yesterday."""
    event = MachineEvent(machine=machine, kind=Event.NEW_METER.name, on=today - timedelta(days=1), who=desk.user.name)
    event.note = "the old one dripped"
    return kept(event, desk, "entered")


def take_loads(machine: Machine, desk: Desk, today: date) -> FillBook:
    """Keep the example's loads as those of a machine, the last of them three weeks ago."""
    raw = tomllib.loads(example_fills())
    by = today - timedelta(days=21) - raw["load"][-1]["on"]
    loads = [{**load, "on": load["on"] + by} for load in raw["load"]]
    document = {**raw, "title": "Loads of the fall", "machine": machine.name, "load": loads}
    return book_from(toml_text(document), desk, machine)
