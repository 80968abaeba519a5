"""Traces moved to another place on Earth, so that a log can be handed on without saying where it was driven.

Positions of a trace count from its first fix, so nothing in them but the origin is bound to a place. All origins of a
run are moved by one secret offset in metres: the fields of one run keep their distances and bearings from one another.
"""

from __future__ import annotations

import secrets
from dataclasses import replace
from math import cos, pi, radians
from typing import Final

from wetrun.fieldlog.trace import Doubt, Origin, Trace

# Our own choice (no source): far from the poles, where metres east would be many degrees.
FARTHEST_NORTH_RAD: Final = radians(50)
NO_MAP_RAD: Final = radians(80)
WORDS: Final = "Positions are not where it was driven: all logs of one conversion were moved by the same secret offset"
MOVED: Final = Doubt(WORDS, "Nothing to do")


class Shift:
    """One secret offset for all traces of a run."""

    def __init__(self) -> None:
        chance = secrets.SystemRandom()
        self._place = Origin(chance.uniform(-pi, pi), chance.uniform(-FARTHEST_NORTH_RAD, FARTHEST_NORTH_RAD))
        self._first: Origin | None = None

    def moved(self, trace: Trace, name: str) -> Trace:
        """Return a trace elsewhere and under another name, for the name of a file tells of places and people too."""
        if trace.origin is None:
            return replace(trace, facts=replace(trace.facts, file=name))
        said = trace.facts.doubts
        facts = replace(trace.facts, file=name, doubts=said if MOVED in said else (*said, MOVED))
        self._first = self._first or trace.origin
        return replace(trace, facts=facts, origin=self._origin(trace.origin, self._first))

    def _origin(self, origin: Origin, first: Origin) -> Origin | None:
        """Return the moved origin; none where the logs lie so far apart that no one map could hold them."""
        latitude_rad = self._place.latitude_rad + origin.latitude_rad - first.latitude_rad
        if abs(latitude_rad) > NO_MAP_RAD:
            return None
        narrower = cos(first.latitude_rad) / cos(self._place.latitude_rad)
        longitude_rad = self._place.longitude_rad + (origin.longitude_rad - first.longitude_rad) * narrower
        return Origin((longitude_rad + pi) % (2 * pi) - pi, latitude_rad)
