"""The monitor's numbers, steady readings and stated uncertainties in words."""

from __future__ import annotations

from typing import Final

from django.utils.translation import gettext_lazy as _

from wetrun.documents.wetrun_monitor_entry import FormEntry, MonitorEntry, ProfileEntry, SnapshotEntry
from wetrun.documents.wetrun_steady_entry import DoubtsEntry, ScreenEntry, SteadyEntry
from wetrun.shop.typed.faces import Face, Layout, Say

_MONITOR: Final = Face(
    first={
        "name": Say(_("Name")),
        "profile": Say(_("How it keeps its numbers"), _("Form, smallest step and range of each it has.")),
        "as_found": Say(_("As found"), _("Each number exactly as shown, to its last zero.")),
        "as_left": Say(_("As left")),
        "water_density": Say(_("Density during the run"), _("As it stood in the monitor: that of water.")),
        "product_density": Say(_("Density to be sprayed"), _("Left empty, the pass says it.")),
        "density_signed_by": Say(_("Density put back by")),
    },
    more={
        "scales_meter_by_density": Say(
            _("Scales the meter by the density"), _("Say it only once somebody has proved it.")
        )
    },
)
_SETTINGS: Final = {
    "target_rate": Say(_("Target rate")),
    "section_width": Say(_("Section widths"), _("From the left.")),
    "meter_number": Say(_("Meter number")),
    "speed_number": Say(_("Speed number")),
    "density": Say(_("Density")),
    "hold_pressure": Say(_("Hold by pressure")),
}
_RARE_SETTINGS: Final = {
    "hold_flow": Say(_("Hold by flow")),
    "hold_duty": Say(_("Hold by duty")),
    "low_pressure": Say(_("Low pressure alarm")),
    "high_pressure": Say(_("High pressure alarm")),
    "tip_size": Say(_("Tip size")),
}
_FORM: Final = Face(
    first={
        "form": Say(
            _("Form"),
            _("A unit such as gal/ac, in or psi; for meter and speed what the number counts, such as pulses per m."),
        ),
        "step": Say(_("Smallest step")),
        "low": Say(_("From")),
        "high": Say(_("To")),
    }
)
_STEADY: Final = Face(
    first={
        "caught": Say(_("The tips were caught at this pressure")),
        "meter": Say(_("Meter shows")),
        "cab": Say(_("Cab shows")),
        "gauge": Say(_("Gauge at a tip shows")),
        "tank": Say(_("Left the tank")),
        "tank_time": Say(_("In a time of"), units=("min", "min")),
    },
    more={"name": Say(_("Name"))},
)
_SCREEN: Final = Face(
    first={
        "rate": Say(_("Rate")),
        "speed": Say(_("Speed")),
        "flow": Say(_("Flow")),
        "width": Say(_("Width by tape")),
    },
    more={"tape": Say(_("Tape may be off by"), units=("in", "cm"))},
)
_DOUBTS: Final = Face(
    first={
        "meter_number": Say(_("Meter's number")),
        "meter_reading": Say(_("One reading of the meter")),
        "speed_number": Say(_("Number of a speed source")),
        "cab_sensor": Say(_("Cab sensor throughout")),
        "cab_reading": Say(_("One reading of the cab")),
        "gauge": Say(_("Gauge throughout")),
        "gauge_reading": Say(_("One reading of the gauge")),
        "catch_pressure": Say(_("Pressure moved during a catch")),
        "tips": Say(_("Mean of the set against its chart")),
        "tip_to_tip": Say(_("One tip against the next")),
        "hose": Say(_("Loss from cab to tip")),
        "tank": Say(_("What left the tank")),
    }
)

MONITOR_WORDS: Final = Layout(
    {
        MonitorEntry: _MONITOR,
        ProfileEntry: Face(first=_SETTINGS, more=_RARE_SETTINGS),
        SnapshotEntry: Face(first=_SETTINGS, more=_RARE_SETTINGS),
        FormEntry: _FORM,
        SteadyEntry: _STEADY,
        ScreenEntry: _SCREEN,
        DoubtsEntry: _DOUBTS,
    }
)
