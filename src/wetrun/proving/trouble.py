"""Day-of help: what the numbers of a machine in trouble tell, what they cannot, and the one reading to take next.

The method is that of the cross-check, for readings taken in a hurry: what nothing wrong, and each cause alone, would
show is held against what was read. A cause stays suspected while honest readings could leave as much as it does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import exp, log, sqrt
from typing import Final

from wetrun.proving.trouble_fit import Fit, alarmed, fitted, left_limit, limit_of, redundancy
from wetrun.proving.trouble_held import Held
from wetrun.proving.trouble_model import NOISE, Cause, is_numeric, model_of, told
from wetrun.proving.trouble_next import APART, NextLook, next_look, suspected_of, visible
from wetrun.proving.trouble_seen import Look, Seen, Symptom, TroubledMachine
from wetrun.proving.trouble_suspect import Suspect, suspects_of
from wetrun.spray.feedback import DensityFinding, density_findings
from wetrun.units import M3pm2, Ratio

METHOD: Final = "trouble-1"
TELLS_LITTLE: Final[Ratio] = 0.15
"""A rate known no better than this is not told. Our choice."""


NOTICED: Final = 3.84
"""Fall of the misfit that chance makes once in twenty times: a cause that explains less explains nothing."""


class Outcome(StrEnum):
    """What the numbers come to."""

    TOO_FEW = "these readings cannot show what might be wrong"
    AS_EXPECTED = "nothing is wrong with these numbers"
    LIMIT = "a limit of the machine acts"
    NAMED = "one cause explains it"
    OPEN = "several causes would explain it"
    NOT_EXPLAINED = "no single cause known here explains it"


@dataclass(frozen=True, slots=True)
class Evidence:
    """One reading against what it should be with nothing wrong.

    Attributes
    ----------
    look : Look
        Which.
    read, expected : float
        As read and as it should be [SI].
    off_ratio : float
        Read over expected, less one [ratio].
    excess : float
        The same in standard deviations, its own and the expected's.
    """

    look: Look
    read: float
    expected: float
    off_ratio: Ratio
    excess: float


@dataclass(frozen=True, slots=True)
class TrueRate:
    """The rate that is put down, as far as the readings tell.

    Attributes
    ----------
    low_m3pm2, high_m3pm2 : float
        Between these it lies [m3/m2], whichever of the suspects it is.
    """

    low_m3pm2: M3pm2
    high_m3pm2: M3pm2


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """What the numbers tell.

    Attributes
    ----------
    outcome : Outcome
        In a word.
    symptom : Symptom
        What people said is wrong.
    seen : Seen
        What was read.
    held : Held or None
        What the rate set asks of the machine, and the limits.
    suspects : tuple of Suspect
        What would explain it, best first.
    next : NextLook or None
        The reading to take next; None if nothing known here tells more.
    evidence : tuple of Evidence
        Each reading against nothing wrong.
    rate : TrueRate or None
        What is put down; None if the readings do not tell it.
    hidden : tuple of Cause
        What these readings could not show even if it were far off.
    density : tuple of DensityFinding
        What is wrong with the density in the monitor, if somebody looked it up.
    alarm : bool
        Whether something is wrong, beyond what honest readings show once in twenty times.
    misfit, limit : float
        Sum of squares with nothing wrong, and what honest ones pass once in forty times.
    method : str
        Name and number of the method.
    """

    outcome: Outcome
    symptom: Symptom
    seen: Seen
    held: Held | None
    suspects: tuple[Suspect, ...]
    next: NextLook | None
    evidence: tuple[Evidence, ...]
    rate: TrueRate | None
    hidden: tuple[Cause, ...]
    density: tuple[DensityFinding, ...]
    alarm: bool
    misfit: float
    limit: float
    method: str = METHOD


def trouble(machine: TroubledMachine, seen: Seen, symptom: Symptom) -> Trouble:
    """Return what the numbers of a machine in trouble tell.

    Parameters
    ----------
    machine : TroubledMachine
        The machine as its file has it.
    seen : Seen
        What was read; any of it may be missing.
    symptom : Symptom
        What people say is wrong. It never makes a cause out of honest readings: it says what to look for.

    Returns
    -------
    Trouble
        Outcome, suspects with sizes, evidence, the reading to take next.

    Notes
    -----
    One thing wrong at a time; two are told as not explained. A limit of the machine that acts is no fault: the rate
    then is what the limit makes of it, and agrees with that.

    References
    ----------
    narasimhan-mah-1987, rate-identity, orifice-law
    """
    model = model_of(machine, seen, symptom)
    relations, nothing = redundancy(model), fitted(model)
    alone = [fitted(model, cause, near=nothing.point) for cause in model.causes]
    alarm = alarmed(nothing, [fit for fit in alone if fit.can_be], relations)
    suspects = _suspects(nothing, alone, relations) if alarm else ()
    return Trouble(
        outcome=_outcome(nothing, symptom, suspects) if not alarm or suspects else Outcome.NOT_EXPLAINED,
        symptom=symptom,
        seen=seen,
        held=model.held,
        suspects=suspects,
        next=next_look(suspects, nothing, symptom) if len(suspects) != 1 else None,
        evidence=tuple(_evidence(nothing)),
        rate=None if alarm and not suspects else _rate([suspect.fit for suspect in suspects] or [nothing]),
        hidden=tuple(cause for cause in suspected_of(symptom) if cause in model.causes and not visible(nothing, cause)),
        density=_density(machine, seen),
        alarm=alarm,
        misfit=nothing.misfit,
        limit=limit_of(relations),
    )


def _suspects(nothing: Fit, alone: Sequence[Fit], relations: int) -> tuple[Suspect, ...]:
    """Return the causes that leave no more than honest readings might, stand near the best and explain anything."""
    possible = sorted((fit for fit in alone if fit.can_be), key=lambda fit: fit.misfit)
    if not possible or possible[0].misfit > left_limit(relations):
        return ()
    most = min(left_limit(relations), possible[0].misfit + APART**2, nothing.misfit - NOTICED)
    return tuple(suspect for fit in possible if fit.misfit <= most for suspect in suspects_of(fit))


def _outcome(nothing: Fit, symptom: Symptom, suspects: Sequence[Suspect]) -> Outcome:
    if suspects:
        return Outcome.NAMED if len(suspects) == 1 else Outcome.OPEN
    if nothing.model.held is not None and nothing.model.held.limit is not None:
        return Outcome.LIMIT
    # Numbers that agree clear nothing that they could not have shown.
    seen_any = any(visible(nothing, cause) for cause in suspected_of(symptom))
    return Outcome.AS_EXPECTED if seen_any else Outcome.TOO_FEW


def _evidence(nothing: Fit) -> list[Evidence]:
    """Return each reading against what all the others, and nothing wrong, make of it."""
    found = []
    for look, value in nothing.model.seen.readings():
        if not is_numeric(look) or look is Look.ZERO:
            continue
        should, wide = _without(nothing, look)
        off = value / exp(should) - 1.0
        found.append(Evidence(look, value, exp(should), off, abs(off) / sqrt(NOISE[look] ** 2 + wide**2)))
    return found


def _without(nothing: Fit, look: Look) -> tuple[float, float]:
    """Return what a reading should be, worked out of the fit with that reading taken out of it."""
    expected, wide = told(nothing.model, look, nothing.world), nothing.told_by(look)[1]
    value = dict(nothing.model.seen.readings())[look]
    own = min(wide**2 / NOISE[look] ** 2, 1.0)
    if own > 1.0 - 1e-6:
        return expected, wide
    # Leaving one row out of a straight fit: its residual grows by what the row pulled the fit towards itself.
    left = (log(value) - expected) / (1.0 - own)
    return log(value) - left, wide / sqrt(1.0 - own)


def _rate(fits: Sequence[Fit]) -> TrueRate | None:
    rates = [fit.rate() for fit in fits]
    if any(standard > TELLS_LITTLE for _, standard in rates):
        return None
    return TrueRate(
        min(rate * exp(-2.0 * standard) for rate, standard in rates),
        max(rate * exp(2.0 * standard) for rate, standard in rates),
    )


def _density(machine: TroubledMachine, seen: Seen) -> tuple[DensityFinding, ...]:
    if seen.density_set_kgpm3 is None:
        return ()
    return density_findings(machine.setup, setting_kgpm3=seen.density_set_kgpm3, rate_is_water_equivalent=False)
