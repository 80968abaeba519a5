"""The numbers of a machine's monitor over time, and what they are against what the latest wet run proved."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from pydantic import ValidationError

from wetrun.documents.wetrun_build_monitor import profile_of, snapshot_of
from wetrun.documents.wetrun_monitor_entry import MonitorEntry
from wetrun.errors import WetrunError
from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_monitor import setting_rows
from wetrun.proving.monitor import Change, Moment, changes
from wetrun.proving.rate_effect import steering_of
from wetrun.proving.session_record import MonitorTest
from wetrun.proving.session_result import Findings, WetRunResult
from wetrun.proving.session_rows import positions
from wetrun.proving.session_wanted import wanted_of
from wetrun.proving.settings import Compared, compared
from wetrun.quantity import System
from wetrun.shop.answers.handovers import left_numbers
from wetrun.shop.answers.wet_runs import judged
from wetrun.shop.records.models import Machine, MonitorSettings, WetRun


@dataclass(frozen=True, slots=True)
class SettingsLine:
    """One line of a monitor's history.

    Attributes
    ----------
    settings : MonitorSettings
        The record.
    changed : tuple of str
        What was left otherwise than it was found, in words.
    readable : bool
        Whether its document can still be read.
    """

    settings: MonitorSettings
    changed: tuple[str, ...]
    readable: bool = True


def history_line(settings: MonitorSettings) -> SettingsLine:
    """Return a record of a monitor with what was changed then."""
    entry = entry_of(settings)
    if entry is None:
        return SettingsLine(settings, (), readable=False)
    if entry.as_left is None:
        return SettingsLine(settings, ())
    found = snapshot_of(entry, entry.as_found, Moment.AS_FOUND)
    left = snapshot_of(entry, entry.as_left, Moment.AS_LEFT)
    return SettingsLine(settings, tuple(_words(one) for one in changes(found, left)))


def entry_of(settings: MonitorSettings) -> MonitorEntry | None:
    """Return what a record of a monitor says; None if its document cannot be read any more."""
    try:
        return MonitorEntry.model_validate(settings.document, context={"system": System(settings.units)})
    except ValidationError:
        return None


def numbers_told(settings: MonitorSettings) -> list[dict[str, str]]:
    """Return the numbers a monitor was left with, for reading: sections that are alike in one.

    Parameters
    ----------
    settings : MonitorSettings
        The record.

    Returns
    -------
    list of dict
        ``name``, ``text``, ``form``; empty if it cannot be read any more.
    """
    alike: dict[tuple[str, str, str], list[int]] = {}
    for one in left_numbers(settings):
        key = (one.setting.value, one.text, one.form.words)
        alike.setdefault(key, []).extend([] if one.section is None else [one.section])
    return [
        {"name": f"{name}{_sections(sections)}", "text": text, "form": form}
        for (name, text, form), sections in alike.items()
    ]


def _sections(numbers: list[int]) -> str:
    return f", section{'s' if len(numbers) > 1 else ''} {positions(numbers)}" if numbers else ""


def run_to_stand_by(machine: Machine) -> WetRun | None:
    """Return the wet run whose numbers a monitor should hold: the latest that is proven and stands, else None."""
    runs = WetRun.objects.filter(machine=machine, superseded_by=None, proven_at__isnull=False)
    return runs.select_related("branch", "machine__customer", "season").order_by("-on", "-pk").first()


def against_run(settings: MonitorSettings, wet_run: WetRun, reader: Reader) -> list[dict[str, Any]]:
    """Return every number of a monitor against what a wet run and the plan say it should be.

    Parameters
    ----------
    settings : MonitorSettings
        The monitor.
    wet_run : WetRun
        A proven one of the same machine.
    reader : Reader
        Whose units.

    Returns
    -------
    list of dict
        Rows as the paper prints them, with what each difference does to the rate; empty if one of both cannot be read.
    """
    if settings.wet_run_id == wet_run.pk:
        data = wet_run.in_us if reader.system is System.US else wet_run.in_si
        return list((data or {}).get("settings", []))
    entry = entry_of(settings)
    try:
        result = None if entry is None else judged(wet_run).result
    except WetrunError:
        result = None
    return [] if result is None or entry is None else setting_rows(_compared(entry, result))


def _compared(entry: MonitorEntry, result: WetRunResult) -> Findings:
    found, profile = result.findings, profile_of(entry)
    as_found = snapshot_of(entry, entry.as_found, Moment.AS_FOUND)
    test = result.run.monitor or MonitorTest(profile=profile, as_found=as_found)
    wanted = wanted_of(test, found.course, found.meter)
    scales = entry.scales_meter_by_density
    steering = steering_of(result.run.machine.setup, scales_meter_by_density=scales)

    def against(moment: Moment) -> tuple[Compared, ...]:
        snapshot = entry.as_found if moment is Moment.AS_FOUND else entry.as_left
        return () if snapshot is None else compared(snapshot_of(entry, snapshot, moment), wanted, profile, steering)

    return replace(found, settings_found=against(Moment.AS_FOUND), settings_left=against(Moment.AS_LEFT))


def _words(change: Change) -> str:
    section = "" if change.section is None else f", section {change.section}"
    before, after = ("–" if one is None else one.text for one in (change.found, change.left))
    return f"{change.setting.value}{section}: {before} → {after}"
