"""The readings of a machine in trouble for whoever takes them: what each is typed as, and how it is taken safely."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from wetrun.proving.trouble_seen import Look
from wetrun.quantity import Kind

KIND_OF: Final[Mapping[Look, Kind]] = MappingProxyType(
    {
        Look.TARGET: Kind.RATE,
        Look.RATE: Kind.RATE,
        Look.SPEED: Kind.SPEED,
        Look.OTHER_SPEED: Kind.SPEED,
        Look.CAB: Kind.PRESSURE,
        Look.FLOW: Kind.BOOM_FLOW,
        Look.WIDTH: Kind.WIDTH,
        Look.DUTY: Kind.SHARE,
        Look.TIP: Kind.PRESSURE,
        Look.CATCH: Kind.TIP_FLOW,
        Look.ANOTHER_CATCH: Kind.TIP_FLOW,
        Look.SECTION_TIP: Kind.PRESSURE,
        Look.SECTION_CATCH: Kind.TIP_FLOW,
        Look.ZERO: Kind.PRESSURE,
        Look.BESIDE: Kind.PRESSURE,
        Look.WEIGHED: Kind.DENSITY,
        Look.DENSITY_SET: Kind.DENSITY,
        Look.HOLD_SET: Kind.PRESSURE,
        Look.HIGHEST: Kind.PRESSURE,
    }
)
"""What each is typed as."""

ON_WATER: Final = (
    "Clean water in the tank, machine stopped, brake on, boom unfolded and down, gloves and what the label asks for."
)
FITTED: Final = (
    "Fit the gauge with the pump stopped and the pressure let off: never loosen anything that is under pressure."
)

HOW: Final[Mapping[Look, str]] = MappingProxyType(
    {
        Look.TARGET: "Read the rate set off the monitor's screen.",
        Look.RATE: "Read the rate shown once it stands still; the mean of a few looks if it moves a little.",
        Look.SPEED: "Read the speed shown at a steady speed; a second person reads, not the driver.",
        Look.OTHER_SPEED: "Drive a steady stretch while a second person reads the speed of a phone, or times a "
        "measured distance both ways.",
        Look.CAB: "Read the pressure in the cab once it stands still.",
        Look.FLOW: "Read the flow of the whole boom off the monitor's screen.",
        Look.WIDTH: "Look up the width that the monitor reckons with, for the sections that are on.",
        Look.DUTY: "Read the duty off the monitor's screen.",
        Look.TIP: f"Put a gauge on the body of a tip of a section that sprays well. {FITTED} {ON_WATER}",
        Look.CATCH: f"Catch one tip of a good section for a minute at the same pressure. {ON_WATER}",
        Look.ANOTHER_CATCH: f"Catch another tip of a good section, with the same jug and watch. {ON_WATER}",
        Look.SECTION_TIP: f"Put a gauge on the body of a tip of the low section. {FITTED} {ON_WATER}",
        Look.SECTION_CATCH: f"Catch one tip of the low section for a minute at the same pressure. {ON_WATER}",
        Look.ZERO: "Stop the pump, let the pressure off and read what the cab still shows.",
        Look.BESIDE: f"Put a test gauge beside the sensor that the cab reads. {FITTED} {ON_WATER}",
        Look.WEIGHED: "Weigh a measured volume of what is in the tank, in the gloves and goggles its label asks for.",
        Look.DENSITY_SET: "Look up the density that stands in the monitor. Change nothing before it is written down.",
        Look.HOLD_SET: "Look up the minimum hold that stands in the monitor. Change nothing before it is written down.",
        Look.HIGHEST: "With the boom on, standing, raise the pressure by hand as far as the rate needs and no further "
        f"than the tips' range; read the highest that comes. {ON_WATER}",
    }
)
"""How each is taken. Common practice, no source."""

CAUTIONS: Final = (
    "Stop first: in a safe place, brake on, boom down, nobody near it. Whoever drives does not read.",
    "The label is the law, and local rules with it: what is outside them is not sprayed, whatever a number here says.",
    "Never open, loosen or reach into a line under pressure: pump off, pressure let off, gauge at zero.",
    "Tests on clean water only; a used sprayer's plumbing is contaminated: gloves, goggles, what the label asks for.",
)
