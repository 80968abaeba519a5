"""Name and number of the method behind each part of a wet run; the number goes up when its results would change."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from wetrun.proving.ramp import METHOD as RAMP_METHOD
from wetrun.proving.session_result import Part

METHODS: Final[Mapping[Part, str]] = MappingProxyType(
    {
        Part.GATES: "gates-1",
        Part.COURSE: "course-1",
        Part.METER: "meter-1",
        Part.CATCH: "catch-1",
        Part.LOW_DUTY: "low-duty-1",
        Part.PRESSURE: "pressure-1",
        Part.EVENNESS: "evenness-1",
        Part.RAMP: RAMP_METHOD,
        Part.SECTIONS: "sections-1",
        Part.SETTINGS: "settings-1",
        Part.CROSSCHECK: "cross-check-1",
    }
)
