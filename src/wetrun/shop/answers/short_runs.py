"""The shortest useful wet run of a machine, from its record: no wet run need be begun for it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from wetrun.documents.season_build import LOOPS
from wetrun.machine.proof_standing import ProofStanding, held
from wetrun.percent import per_cent
from wetrun.proving.day_model import DayMachine, DayTest
from wetrun.proving.short_run import USUAL_TIMES, ShortRun, TimeTaken, Yard, short_run
from wetrun.shop.records.models import Machine, YardRules
from wetrun.spray.controller import Loop
from wetrun.spray.definitions import MINUTE_S, US_GALLON_M3
from wetrun.spray.pulse import DutySource
from wetrun.units import M3s

TIP_FLOW_M3S: Final[M3s] = 0.4 * US_GALLON_M3 / MINUTE_S
"""Of a tip of size 04: only the water needed hangs on it, and that is not told here."""


def sections_of(machine: Machine) -> list[int]:
    """Return the tips of each section as a machine's record has them; empty if it has none that can be read."""
    boom = machine.document.get("boom")
    sections = boom.get("sections") if isinstance(boom, dict) else None
    found = sections if isinstance(sections, list) else []
    return [int(one) for one in found if isinstance(one, int) and not isinstance(one, bool) and one > 0]


def day_machine_of(machine: Machine, jugs: int) -> DayMachine | None:
    """Return what the choice of tests has to know of a machine; None if its boom is not typed yet."""
    tips = sum(sections_of(machine))
    if not tips:
        return None
    control = machine.document.get("control")
    control = control if isinstance(control, dict) else {}
    loop = LOOPS.get(str(control.get("loop")), Loop.FIXED)
    pulse = control.get("pulse")
    by_meter = not isinstance(pulse, dict) or pulse.get("duty_from") != "pressure"
    return DayMachine(
        loop=loop,
        tips=tips,
        boom_flow_m3s=tips * TIP_FLOW_M3S,
        duty_from=DutySource.METER if by_meter else DutySource.PRESSURE,
        has_meter=loop is Loop.METER or "meter" in control or (loop is Loop.PULSE and by_meter),
        jugs=jugs,
    )


def times_of(rules: YardRules | None) -> dict[DayTest, TimeTaken]:
    """Return what each test takes in a branch; the usual where it typed nothing."""
    typed: Mapping[str, Any] = {} if rules is None else rules.minutes
    return {test: _time(typed.get(test.name), usual) for test, usual in USUAL_TIMES.items()}


def _time(typed: Mapping[str, Any] | None, usual: TimeTaken) -> TimeTaken:
    if typed is None:
        return usual
    return TimeTaken(*(float(typed.get(key) or 0.0) * MINUTE_S for key in ("setup", "each")))


def short_run_of(
    machine: Machine, minutes: float, jugs: int, *, proofs: Iterable[ProofStanding], rules: YardRules | None
) -> ShortRun | None:
    """Return the shortest useful wet run of a machine; None if its boom is not typed yet.

    Parameters
    ----------
    machine : Machine
        The machine.
    minutes : float
        What there is.
    jugs : int
        Jugs that can be held under at once.
    proofs : iterable of ProofStanding
        How its proofs stand.
    rules : YardRules or None
        What the branch reckons with.

    Returns
    -------
    ShortRun or None
        Tests in order, what stays unproven, what is to be booked.
    """
    known = day_machine_of(machine, jugs)
    if known is None:
        return None
    yard = Yard(available_s=minutes * MINUTE_S, sections=len(sections_of(machine)), times=times_of(rules))
    return short_run(known, yard, held(proofs))


def told_of_run(found: ShortRun) -> dict[str, Any]:
    """Return a short wet run in words and whole minutes, for its page."""
    return {
        "steps": [
            {"words": step.test.value, "minutes": _minutes(step.time_s), "after": per_cent(step.after_frac)}
            for step in found.steps
        ],
        "minutes": _minutes(found.time_s),
        "before": per_cent(found.before_frac),
        "after": per_cent(found.after_frac),
        "unproven": list(found.unproven),
        "later": [test.value for test in found.later],
        "method": found.method,
    }


def _minutes(time_s: float) -> str:
    return f"{time_s / MINUTE_S:.0f}"
