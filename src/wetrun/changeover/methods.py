"""Name and number of each method of a changeover; the number goes up when its results would change."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from wetrun.changeover.dilution import METHOD as DILUTION_METHOD
from wetrun.changeover.search import METHOD as PLAN_METHOD


class ChangeoverPart(StrEnum):
    """A part of a changeover's reckoning."""

    DILUTION = "dilution"
    FIRST_ACRES = "first acres"
    RINSE_PLAN = "rinse plan"
    PRIMING = "priming"


METHODS: Final[Mapping[ChangeoverPart, str]] = MappingProxyType(
    {
        ChangeoverPart.DILUTION: DILUTION_METHOD,
        ChangeoverPart.FIRST_ACRES: "first-acres-1",
        ChangeoverPart.RINSE_PLAN: PLAN_METHOD,
        ChangeoverPart.PRIMING: "priming-1",
    }
)
