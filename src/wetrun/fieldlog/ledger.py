"""The ledger: what a log demanded, tallied by area, so that hundreds of tips are judged without reading it again.

Two joint tallies, each by active width: ground ``speed`` [m/s], and ``flow_per_width`` [m2/s], the boom flow per
metre of active boom that was really put out. Times the tip spacing it is the demand per tip, times the width the flow
of the boom. Areas are whole square centimetres in int64, so sums are exact and any order, thread count or engine
gives the same bits.

How a tally answers, and why its bracket holds the exact area, stands in `wetrun.fieldlog.tally`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Final

import numpy as np

from wetrun.fieldlog.tally import Tally, compiled_tallies, merged_tallies, stored_entries, tally_from, tally_of
from wetrun.fieldlog.trace import FloatArray, Trace, usable, whole_cm2
from wetrun.units import METRE, METRE_PER_SECOND, SQUARE_METRE, SQUARE_METRE_PER_SECOND, Cm2

METHOD: Final = "ledger by area, log bins with exact ends"
METHOD_NUMBER: Final = 1
FORMAT_VERSION: Final = 1

__all__ = [
    "Ledger",
    "Tally",
    "demand_tallies",
    "ledger_as_arrays",
    "ledger_from_arrays",
    "ledger_of",
    "merged",
    "tally_of",
]


@dataclass(frozen=True)
class Ledger:
    """The two tallies of one or many logs.

    ``flow_per_width`` counts the instants with a known applied rate, and else those with a known target;
    ``flow_applied_cm2`` says for how much area the applied rate was known.
    ``left_out_cm2`` is area without a speed (first instant after a cut, faulty rows), in neither tally.
    """

    speed: Tally
    flow_per_width: Tally
    flow_applied_cm2: Cm2
    left_out_cm2: Cm2
    instants: int
    logs: int
    method: str = METHOD
    method_number: int = METHOD_NUMBER
    format_version: int = FORMAT_VERSION

    @property
    def total_cm2(self) -> Cm2:
        """Area that has a speed [cm2]."""
        return self.speed.total_cm2


def ledger_of(trace: Trace) -> Ledger:
    """Return the ledger of a trace."""
    counted = usable(trace)
    speed_mps = trace.speed_mps[counted]
    width_m, area_m2 = trace.width_m[counted], trace.area_m2[counted]
    applied = trace.applied_m3pm2[counted]
    rate = np.where(np.isfinite(applied), applied, trace.target_m3pm2[counted])
    with np.errstate(invalid="ignore", over="ignore"):  # an endless rate while standing: no known flow
        flow_m2ps = rate * speed_mps
    speed, flow = demand_tallies(speed_mps, flow_m2ps, width_m, area_m2)
    return Ledger(
        speed=speed,
        flow_per_width=flow,
        flow_applied_cm2=int(whole_cm2(area_m2[np.isfinite(applied)]).sum()),
        left_out_cm2=int(whole_cm2(trace.area_m2[~counted]).sum()),
        instants=int(counted.sum()),
        logs=1,
    )


def demand_tallies(
    speed_mps: Annotated[FloatArray, METRE_PER_SECOND],
    flow_m2ps: Annotated[FloatArray, SQUARE_METRE_PER_SECOND],
    width_m: Annotated[FloatArray, METRE],
    area_m2: Annotated[FloatArray, SQUARE_METRE],
) -> tuple[Tally, Tally]:
    """Return the tallies of speed [m/s] and flow per width [m2/s] of instants; a flow may be unknown (nan).

    Each instant has its active width [m] and area [m2]. Millions of rows go through the compiled kernel, both tallies
    in one pass; fewer through NumPy. The bits are the
    same.
    """
    together = compiled_tallies((speed_mps, flow_m2ps), width_m, area_m2)
    if together is not None:
        return together[0], together[1]
    known = np.isfinite(flow_m2ps)
    return tally_of(speed_mps, width_m, area_m2), tally_of(flow_m2ps[known], width_m[known], area_m2[known])


def merged(ledgers: Sequence[Ledger]) -> Ledger:
    """Return one ledger of several logs: the same bits whatever their order."""
    return Ledger(
        speed=merged_tallies([ledger.speed for ledger in ledgers]),
        flow_per_width=merged_tallies([ledger.flow_per_width for ledger in ledgers]),
        flow_applied_cm2=sum(ledger.flow_applied_cm2 for ledger in ledgers),
        left_out_cm2=sum(ledger.left_out_cm2 for ledger in ledgers),
        instants=sum(ledger.instants for ledger in ledgers),
        logs=sum(ledger.logs for ledger in ledgers),
    )


def ledger_as_arrays(ledger: Ledger) -> dict[str, Any]:
    """Return the ledger as plain numbers and arrays under fixed names, for a cache or a wire."""
    plain: dict[str, Any] = {
        "format_version": FORMAT_VERSION,
        "method": ledger.method,
        "method_number": ledger.method_number,
    }
    for name in ("flow_applied_cm2", "left_out_cm2", "instants", "logs"):
        plain[name] = getattr(ledger, name)
    for name in ("speed", "flow_per_width"):
        width_cm, least, greatest, area_cm2 = stored_entries(getattr(ledger, name))
        plain |= {f"{name}.width_cm": width_cm, f"{name}.least": least}
        plain |= {f"{name}.greatest": greatest, f"{name}.area_cm2": area_cm2}
    return plain


def ledger_from_arrays(plain: Mapping[str, Any]) -> Ledger:
    """Return the ledger that `ledger_as_arrays` took apart.

    Raises
    ------
    ValueError
        When it was written by a later version, whose numbers may mean something else.
    """
    if int(plain["format_version"]) > FORMAT_VERSION:
        raise ValueError(
            f"this ledger has format_version {plain['format_version']}, known here up to {FORMAT_VERSION}: "
            "tally the log again, or use the newer Wetrun that wrote it"
        )

    def tally(name: str) -> Tally:
        return tally_from(
            *(np.asarray(plain[f"{name}.{part}"]) for part in ("width_cm", "least", "greatest", "area_cm2"))
        )

    counts = {name: int(plain[name]) for name in ("flow_applied_cm2", "left_out_cm2", "instants", "logs")}
    return Ledger(
        speed=tally("speed"),
        flow_per_width=tally("flow_per_width"),
        method=str(plain["method"]),
        method_number=int(plain["method_number"]),
        **counts,
    )
