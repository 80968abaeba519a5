"""What a handover compares: the numbers a monitor was left with, and what it shows now."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import TypeAdapter, ValidationError

from wetrun.documents.season_build import LOOPS
from wetrun.documents.wetrun_fields import Number
from wetrun.documents.wetrun_monitor_entry import SETTINGS, MonitorEntry, SnapshotEntry, form_named
from wetrun.papers.wet_run_monitor import effect_words
from wetrun.proving.monitor import Entry, Moment, Profile, Setting, Snapshot
from wetrun.proving.number_form import NumberForm, TypedNumber
from wetrun.proving.rate_effect import Steering
from wetrun.proving.settings import Agreement, Compared, Wanted, compared
from wetrun.quantity import System
from wetrun.shop.records.models import Machine, MonitorSettings
from wetrun.spray.controller import Loop


@dataclass(frozen=True, slots=True)
class LeftNumber:
    """One number a monitor was left with.

    Attributes
    ----------
    key : str
        Its place in a form: ``meter_number``, ``section_width-3``.
    setting : Setting
        What it is.
    section : int or None
        For widths, counted from 1.
    form : NumberForm
        How the monitor writes it.
    text : str
        As it was written down, to the last zero.
    """

    key: str
    setting: Setting
    section: int | None
    form: NumberForm
    text: str

    @property
    def name(self) -> str:
        """What it is called."""
        return self.setting.value if self.section is None else f"{self.setting.value}, section {self.section}"


def left_numbers(settings: MonitorSettings) -> tuple[LeftNumber, ...]:
    """Return the numbers a monitor was left with; those it was found with where nobody wrote down what was left.

    Parameters
    ----------
    settings : MonitorSettings
        The record.

    Returns
    -------
    tuple of LeftNumber
        In the order of the settings; empty if its document cannot be read any more.
    """
    try:
        entry = MonitorEntry.model_validate(settings.document, context={"system": System(settings.units)})
    except ValidationError:
        return ()
    return tuple(_numbers(entry, entry.as_left or entry.as_found))


def _numbers(entry: MonitorEntry, snapshot: SnapshotEntry) -> Iterator[LeftNumber]:
    for key, setting in SETTINGS.items():
        kept, typed = getattr(entry.profile, key), getattr(snapshot, key)
        if kept is None or not typed:
            continue
        form = form_named(setting, kept.form)
        if isinstance(typed, list):
            yield from (LeftNumber(f"{key}-{n}", setting, n, form, text) for n, text in enumerate(typed, start=1))
        else:
            yield LeftNumber(key, setting, None, form, typed)


def steering_of_machine(machine: Machine, *, scales_meter_by_density: bool | None = None) -> Steering:
    """Return what a machine steers by, as far as its document tells."""
    control: dict[str, Any] = machine.document.get("control") or {}
    loop = LOOPS.get(str(control.get("loop")), Loop.FIXED)
    pulse = control.get("pulse") or {}
    metered = loop is Loop.METER or (loop is Loop.PULSE and pulse.get("duty_from") == "flow meter")
    return Steering(metered, loop is not Loop.FIXED, scales_meter_by_density)


def number_problem(text: str) -> str:
    """Return what is wrong with a typed number, as a sentence; empty if nothing is."""
    try:
        _NUMBER.validate_python(text.strip())
    except ValidationError:
        return "A number above zero belongs here, exactly as the monitor shows it, to the last zero."
    return ""


def compared_numbers(
    left: tuple[LeftNumber, ...], shown: Mapping[str, str], steering: Steering
) -> tuple[dict[str, Any], ...]:
    """Return every number a monitor was left with, against what it shows now.

    Parameters
    ----------
    left : tuple of LeftNumber
        As it was left.
    shown : mapping of str to str
        What it shows now, by key; nothing for a number nobody looked at.
    steering : Steering
        What the machine steers by.

    Returns
    -------
    tuple of dict
        ``key``, ``name``, ``form``, ``wanted``, ``shown``, ``same`` (None if not looked at or no number), ``words``
        on what the difference does to the rate.
    """
    good = {one.key: TypedNumber(shown[one.key].strip(), one.form) for one in left if _is_good(shown.get(one.key))}
    wanted = [
        Wanted(setting=o.setting, quantity=TypedNumber(o.text, o.form).quantity, why="as left", section=o.section)
        for o in left
    ]
    entries = tuple(Entry(o.setting, good[o.key], o.section) for o in left if o.key in good)
    found = compared(Snapshot(Moment.AS_FOUND, entries), wanted, Profile("", (), None), steering)
    return tuple(_row(one, each, shown.get(one.key, "")) for one, each in zip(left, found, strict=True))


def _is_good(text: str | None) -> bool:
    return bool(text) and not number_problem(text or "")


def _row(one: LeftNumber, each: Compared, shown: str) -> dict[str, Any]:
    same = None if each.shown is None else each.agreement is not Agreement.DIFFERS
    return {
        "key": one.key,
        "name": one.name,
        "form": one.form.words,
        "wanted": one.text,
        "shown": shown.strip(),
        "same": same,
        "words": effect_words(each) if same is False else "",
    }


_NUMBER: TypeAdapter[str] = TypeAdapter(Number)
