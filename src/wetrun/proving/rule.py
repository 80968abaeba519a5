"""The rules a reading is judged by, each with its name and source."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from wetrun.units import Ratio


@dataclass(frozen=True, slots=True)
class Rule:
    """A limit on an error that was chosen and is named wherever a verdict is shown.

    Attributes
    ----------
    name : str
        As the report prints it.
    low_ratio, high_ratio : float
        The error allowed, as a ratio less one [ratio].
    source_key : str
        Where the limit is from.
    """

    name: str
    low_ratio: Ratio
    high_ratio: Ratio
    source_key: str


INSTRUMENT_5 = Rule("meter or speed sensor within ±5 % of the true value", -0.05, 0.05, "iso-16122-2")
"""In-use inspection, edition of 2015; the edition of 2024 changed it and was not read."""
WHOLE_RATE_5 = Rule("finished rate within ±5 % of the intended rate", -0.05, 0.05, "osu-5-percent")


METER_REPEATS_1 = Rule("catches at one flow scatter by 1 % or less", 0.0, 0.01, "own-choice-meter")
METER_SPAN_2 = Rule("error changes by 2 % or less between the flows", -0.02, 0.02, "own-choice-meter")
METER_TAG_5 = Rule("new number within ±5 % of the meter's tag", -0.05, 0.05, "own-choice-meter")


class NextStep(StrEnum):
    """What to do after a test of an instrument."""

    KEEP = "leave the number as it is"
    ENTER_NEW = "enter the new number"
    REPEAT = "repeat the reading"
    LOOK_FIRST = "look for the cause before changing any number"
    ANSWER_FIRST = "answer the questions about the readings first"
    CHECK_SOURCE = "it has no number to set: have the instrument looked at"
