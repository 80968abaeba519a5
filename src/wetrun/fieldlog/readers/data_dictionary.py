"""The numbered values of ISO 11783-11 that a sprayer's log may carry, with unit and resolution.

References
----------
iso-11783-11, iso-11783-pgn
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from wetrun.fieldlog.trace import FloatArray, IntArray

MM3_M3: Final = 1e-9
ML_M3: Final = 1e-6
LITRE_M3: Final = 1e-3
MM_M: Final = 1e-3
MG_L_KGPM3: Final = 1e-3
HUNDREDTH_OF_A_PER_CENT: Final = 1e-4

SECTIONS_PER_WORD: Final = 16
STATE_OFF, STATE_ON, STATE_ERROR, STATE_ABSENT = 0, 1, 2, 3
CONDENSED: Final = range(161, 177)
CONDENSED_SETPOINT: Final = range(290, 306)
CONDENSED_OVERRIDE: Final = range(367, 383)
WORK_STATE: Final = 141
TARGET_RATE, APPLIED_RATE, FINE_TARGET_RATE, FINE_APPLIED_RATE = 1, 2, 588, 589
SET_FLOW, SPRAYED_FLOW = 36, 37
# Rates of one meaning, the one that is taken first in front, and their raw unit in words.
RATES_BY_MEANING: Final = {
    "target_rate": (TARGET_RATE, FINE_TARGET_RATE),
    "applied_rate": (APPLIED_RATE, FINE_APPLIED_RATE),
}
RATE_UNITS: Final = {
    TARGET_RATE: "0.01 mm3/m2", APPLIED_RATE: "0.01 mm3/m2",
    FINE_TARGET_RATE: "0.1 ml/m2", FINE_APPLIED_RATE: "0.1 ml/m2",
}  # fmt: skip
WORKING_WIDTH, LARGEST_WIDTH, OFFSET_Y = 67, 70, 135
SPEED, SPEED_SOURCE = 397, 400
PGN_WRAPPED: Final = 57342


@dataclass(frozen=True, slots=True)
class Entry:
    """One numbered value: what it is, the SI unit it comes to, and that unit per raw step."""

    words: str
    unit: str
    per_raw: float


@dataclass(frozen=True, slots=True)
class SpeedSignal:
    """A speed carried inside a wrapped network message: which bits, and [m/s] per raw step."""

    source: str
    words: str
    first_bit: int
    last_bit: int
    per_raw: float


_RATE = 0.01 * MM3_M3
_FINE_RATE = 0.1 * ML_M3

DICTIONARY: Final[dict[int, Entry]] = {
    1: Entry("set volume per area", "m3/m2", _RATE),
    2: Entry("actual volume per area", "m3/m2", _RATE),
    3: Entry("default volume per area", "m3/m2", _RATE),
    4: Entry("least volume per area", "m3/m2", _RATE),
    5: Entry("greatest volume per area", "m3/m2", _RATE),
    # The step of 21 to 25 is from memory.
    21: Entry("set volume per volume", "m3/m3", MM3_M3),
    22: Entry("actual volume per volume", "m3/m3", MM3_M3),
    23: Entry("default volume per volume", "m3/m3", MM3_M3),
    24: Entry("least volume per volume", "m3/m3", MM3_M3),
    25: Entry("greatest volume per volume", "m3/m3", MM3_M3),
    36: Entry("set volume per time", "m3/s", MM3_M3),
    37: Entry("actual volume per time", "m3/s", MM3_M3),
    61: Entry("set working height", "m", MM_M),
    62: Entry("actual working height", "m", MM_M),
    66: Entry("set working width", "m", MM_M),
    67: Entry("actual working width", "m", MM_M),
    70: Entry("greatest working width", "m", MM_M),
    71: Entry("set volume content", "m3", ML_M3),
    72: Entry("actual volume content", "m3", ML_M3),
    73: Entry("greatest volume content", "m3", ML_M3),
    80: Entry("application total volume", "m3", LITRE_M3),
    116: Entry("total area", "m2", 1.0),
    117: Entry("effective total distance", "m", MM_M),
    118: Entry("ineffective total distance", "m", MM_M),
    119: Entry("effective total time", "s", 1.0),
    120: Entry("ineffective total time", "s", 1.0),
    121: Entry("product density", "kg/m3", MG_L_KGPM3),
    134: Entry("element offset, forward", "m", MM_M),
    135: Entry("element offset, sideways", "m", MM_M),
    136: Entry("element offset, up", "m", MM_M),
    141: Entry("actual work state", "", 1.0),
    142: Entry("set time latency", "s", 1e-3),
    143: Entry("actual time latency", "s", 1e-3),
    157: Entry("connector type", "", 1.0),
    158: Entry("prescription control state", "", 1.0),
    160: Entry("section control state", "", 1.0),
    192: Entry("ambient temperature", "K", 1e-3),
    193: Entry("set product pressure", "Pa", 0.1),
    194: Entry("actual product pressure", "Pa", 0.1),
    197: Entry("set pump output pressure", "Pa", 0.1),
    198: Entry("actual pump output pressure", "Pa", 0.1),
    201: Entry("set agitation pressure", "Pa", 0.1),
    202: Entry("actual agitation pressure", "Pa", 0.1),
    205: Entry("section on time", "s", 1e-3),
    206: Entry("section off time", "s", 1e-3),
    207: Entry("wind speed", "m/s", 1e-3),
    208: Entry("wind direction", "deg", 1.0),
    289: Entry("set work state", "", 1.0),
    325: Entry("lifetime application total volume", "m3", LITRE_M3),
    351: Entry("application total volume", "m3", ML_M3),
    396: Entry("set speed", "m/s", 1e-3),
    397: Entry("actual speed", "m/s", 1e-3),
    400: Entry("speed source", "", 1.0),
    467: Entry("content", "", HUNDREDTH_OF_A_PER_CENT),
    588: Entry("set volume per area, fine", "m3/m2", _FINE_RATE),
    589: Entry("actual volume per area, fine", "m3/m2", _FINE_RATE),
    590: Entry("default volume per area, fine", "m3/m2", _FINE_RATE),
    591: Entry("least volume per area, fine", "m3/m2", _FINE_RATE),
    592: Entry("greatest volume per area, fine", "m3/m2", _FINE_RATE),
    597: Entry("total distance", "m", MM_M),
    **{number: Entry("actual section states", "", 1.0) for number in CONDENSED},
    **{number: Entry("set section states", "", 1.0) for number in CONDENSED_SETPOINT},
    **{number: Entry("section states set by hand", "", 1.0) for number in CONDENSED_OVERRIDE},
}

# What number 400 can say, from memory.
SPEED_SOURCES: Final = {
    1: "wheel", 2: "ground", 3: "navigation", 4: "blended", 5: "simulated", 6: "chosen by the machine",
}  # fmt: skip

SPEED_SIGNALS: Final[dict[int, SpeedSignal]] = {
    65096: SpeedSignal("wheel", "wheel speed of the tractor's network", 0, 15, 1e-3),
    65097: SpeedSignal("radar", "speed over ground of the tractor's network, by radar", 0, 15, 1e-3),
    129026: SpeedSignal("GNSS", "speed over ground of the satellite receiver", 32, 47, 1e-2),
}


def si_of(number: int, raw: FloatArray) -> FloatArray:
    """Return raw values of a numbered value in SI.

    Example
    -------
    187 L/ha is 1 870 000 raw, and 1e-7 m3/m2 each:

    >>> round(float(si_of(2, np.array([1870000.0]))[0]) / 1e-7, 9)
    187.0
    """
    return raw * DICTIONARY[number].per_raw


def section_states(word: IntArray) -> IntArray:
    """Return the states [values, 16] of 16 sections packed into each value, leftmost section first.

    Example
    -------
    Sections 1 to 6 on, 7 and 8 off, the rest not there:

    >>> section_states(np.array([4294903125]))[0].tolist()
    [1, 1, 1, 1, 1, 1, 0, 0, 3, 3, 3, 3, 3, 3, 3, 3]
    """
    unsigned = np.asarray(word, dtype=np.int64) & 0xFFFFFFFF
    states: IntArray = (unsigned[..., np.newaxis] >> (2 * np.arange(SECTIONS_PER_WORD))) & 3
    return states
