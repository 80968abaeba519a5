"""What the cab card says of the controller: minimum hold, pulse width, highest pressure, shutting off."""

from __future__ import annotations

from typing import Final

from wetrun.machine.sprayer import Control, Sprayer
from wetrun.papers.entered import Entered
from wetrun.quantity import Kind
from wetrun.spray.controller import Loop
from wetrun.spray.pulse import PulseSetting
from wetrun.spray.supply import Hold

Monitor = list[tuple[str, str, str]]
KEY: Final = "machine.control"
_NO_HOLD: Final = {
    Loop.METER: "the rate follows down to the lowest flow",
    Loop.PRESSURE: "the rate follows down to the lowest pressure",
    Loop.PULSE: "the least duty is the floor",
    Loop.FIXED: "the pressure stays as set",
}


def limit_rows(sprayer: Sprayer, entered: Entered) -> Monitor:
    """Return what the controller is told about its own limits.

    Parameters
    ----------
    sprayer : Sprayer
        The machine.
    entered : Entered
        What the user typed, and whose units.

    Returns
    -------
    list of tuple
        Name, value and note.
    """
    control = sprayer.control
    return [
        *([] if control.pulse is None else _pulse_rows(control.pulse, entered)),
        ("Minimum hold", *_hold(control, entered)),
        ("Highest pressure", *_high(control, entered)),
        ("Shut off below", *_off_below(control, entered)),
    ]


def _pulse_rows(pulse: PulseSetting, entered: Entered) -> Monitor:
    source = f"at the cab sensor; duty from the {pulse.duty_from.value}"
    rows = [
        ("Frequency", entered.text(f"{KEY}.pulse.frequency", pulse.frequency_hz, Kind.FREQUENCY), ""),
        ("Set pressure", entered.text(f"{KEY}.pulse.set_pressure", pulse.set_pressure_pa, Kind.PRESSURE), source),
    ]
    duties = {"least": pulse.least_frac, "greatest": pulse.greatest_frac}
    for name, duty_frac in duties.items():
        key = f"{KEY}.pulse.{name}_duty"
        note = "" if entered.said(key) or not entered.texts else "usual value, not typed: look it up in the monitor"
        rows.append((f"{name.capitalize()} duty", entered.text(key, duty_frac, Kind.SHARE), note))
    return rows


def _hold(control: Control, entered: Entered) -> tuple[str, str]:
    hold = control.hold
    if hold is None:
        return "none", _NO_HOLD[control.loop]
    (value,) = (text for text in _hold_texts(hold, entered) if text)
    return value, f"typed as {hold.kind.value}"


def _hold_texts(hold: Hold, entered: Entered) -> list[str]:
    parts = (
        ("pressure", hold.cab_pressure_pa, Kind.PRESSURE),
        ("boom_flow", hold.boom_flow_m3s, Kind.BOOM_FLOW),
        ("duty", hold.duty_frac, Kind.SHARE),
    )
    return ["" if value is None else entered.text(f"{KEY}.hold.{name}", value, kind) for name, value, kind in parts]


def _high(control: Control, entered: Entered) -> tuple[str, str]:
    if control.cab_high_pa is None:
        return "none", ""
    value = entered.text(f"{KEY}.max_pressure", control.cab_high_pa, Kind.PRESSURE)
    return value, "typed as pressure at the cab sensor"


def _off_below(control: Control, entered: Entered) -> tuple[str, str]:
    if not control.off_below_mps:
        return "not set", "the machine sprays down to standing"
    return entered.text(f"{KEY}.off_below", control.off_below_mps, Kind.SPEED), ""
