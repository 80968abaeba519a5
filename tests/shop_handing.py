"""Machines to be handed over by link, for the tests."""

from __future__ import annotations

from datetime import date
from typing import Final

from tests.shop_cases import demo

from wetrun.machine.walk_round import WALK
from wetrun.shop.answers.handovers import left_numbers
from wetrun.shop.records.models import Machine, MonitorSettings

WALKED: Final = {f"look-{look.key}": "right" for look in WALK}


def make_settings(machine: Machine) -> MonitorSettings:
    """The numbers the monitor of the demo's machine was left with."""
    monitor = demo("wetrun.toml")["monitor"]
    return MonitorSettings.objects.create(
        branch=machine.branch, machine=machine, document=monitor, on=date(2027, 3, 12), by="A. Reed"
    )


def shown(settings: MonitorSettings, **other: str) -> dict[str, str]:
    """What the fields of a monitor that shows what it was left with hold, but for some."""
    read = {one.key: one.text for one in left_numbers(settings)} | other
    return {f"number-{key}": text for key, text in read.items()}
