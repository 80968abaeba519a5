"""The one reading to take next: each that could be taken is tried on what is still suspected."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from math import exp, hypot, log1p, sqrt
from types import MappingProxyType
from typing import Final

from wetrun.proving.trouble_fit import Fit, fitted
from wetrun.proving.trouble_model import NOISE, Cause, is_numeric
from wetrun.proving.trouble_seen import Look, Symptom
from wetrun.proving.trouble_suspect import Suspect, Why
from wetrun.units import Ratio

APART: Final = 3.0
"""Standard deviations between two causes that count as told apart."""
EARNEST: Final[Ratio] = 0.15
"""Size of a fault that readings must show to be said to show it. Our choice: what troubles a day is no small fault."""
FIRST: Final = MappingProxyType(
    {Symptom.RATE: Look.FLOW, Symptom.PRESSURE: Look.CAB, Symptom.SECTION: Look.SECTION_TIP}
)
"""Where no look alone would tell anything: the one that the next is held against."""

WORTH_A_LOOK: Final = 0.3
"""Standard deviations by which what might be has to stand out more for a look to be worth its work. Our choice."""

NEARLY: Final[Ratio] = 0.7
"""A look that does so much of what the best would do is as good if it is less work. Our choice."""

EFFORT: Final = (
    Look.DENSITY_SET,
    Look.HOLD_SET,
    Look.TARGET,
    Look.SPEED,
    Look.RATE,
    Look.CAB,
    Look.FLOW,
    Look.WIDTH,
    Look.DUTY,
    Look.OTHER_SPEED,
    Look.HIGHEST,
    Look.ZERO,
    Look.WEIGHED,
    Look.CATCH,
    Look.ANOTHER_CATCH,
    Look.SECTION_CATCH,
    Look.TIP,
    Look.SECTION_TIP,
    Look.BESIDE,
)
"""Least work first: what the screen shows, what the cab tells, then clean water and gloves (common practice, no
source)."""

_LOOKED_UP: Final = MappingProxyType({Look.DENSITY_SET: Why.MONITOR_DENSITY, Look.HOLD_SET: Why.HOLD})
"""What is settled against everything else by looking it up."""


@dataclass(frozen=True, slots=True)
class NextLook:
    """The reading to take next.

    Attributes
    ----------
    look : Look
        Which.
    apart, pairs : int
        Pairs of suspects that it would tell apart, of so many.
    would_read : tuple of tuple
        Each suspect with the value it would make the look show [SI]; empty for what is looked up or tried by hand.
    shows : tuple of Cause
        Where nothing is suspected yet: what it would show if it were there.
    """

    look: Look
    apart: int
    pairs: int
    would_read: tuple[tuple[Why, float], ...] = ()
    shows: tuple[Cause, ...] = ()


def next_look(suspects: Sequence[Suspect], nothing: Fit, symptom: Symptom) -> NextLook | None:
    """Return the reading that tells most of the suspects apart; the least work of those that tell as many.

    Parameters
    ----------
    suspects : sequence of Suspect
        What is still possible; one or none if nothing is left to part.
    nothing : Fit
        The machine with nothing wrong.
    symptom : Symptom
        What people say is wrong.

    Returns
    -------
    NextLook or None
        None if no reading known here would tell more.
    """
    open_looks = list(_open(nothing, symptom))
    if len(suspects) > 1:
        tried = [_apart(look, suspects) for look in open_looks]
        return max((one for one in tried if one.apart), key=lambda one: one.apart, default=None)
    before = _told_of(nothing, symptom)
    tried_out = [_with(look, nothing, symptom) for look in open_looks if is_numeric(look)]
    most = max((told - before for told, _ in tried_out), default=0.0)
    enough = (one for told, one in tried_out if told - before >= NEARLY * most)
    if most > WORTH_A_LOOK:
        return next(enough, None)
    first = FIRST[symptom]
    return NextLook(first, 0, 0) if first in open_looks and not nothing.model.seen.value(first) else None


def _open(nothing: Fit, symptom: Symptom) -> Iterator[Look]:
    model, taken = nothing.model, {look for look, _ in nothing.model.seen.readings()}
    low = Cause.FEED in model.causes
    out = {Look.SECTION_TIP, Look.SECTION_CATCH} if not low else set()
    out |= {Look.WEIGHED} if model.machine.is_water else set()
    out |= {Look.DUTY} if model.machine.setup.pulse is None else set()
    out |= {Look.HIGHEST} if symptom is not Symptom.RATE and model.held is None else set()
    out |= {Look.ANOTHER_CATCH} if Look.CATCH not in taken else set()
    yield from (look for look in EFFORT if look not in taken | out)


def _apart(look: Look, suspects: Sequence[Suspect]) -> NextLook:
    pairs = list(combinations(suspects, 2))
    if not is_numeric(look):
        return NextLook(look, sum(_settles(look, {one.why, two.why}) for one, two in pairs), len(pairs))
    told = {suspect.why: suspect.fit.told_by(look) for suspect in suspects}
    noise = NOISE[look]
    apart = 0
    for one, two in pairs:
        (first, wide), (second, width) = told[one.why], told[two.why]
        apart += int(abs(first - second) >= APART * hypot(min(wide, width), noise))
    would = tuple((why, _si(look, value, suspects)) for why, (value, _) in told.items())
    return NextLook(look, apart, len(pairs), would)


def _settles(look: Look, pair: set[Why]) -> bool:
    """Whether what is looked up, or tried by hand, tells two reasons apart."""
    if look is Look.HIGHEST:
        return pair == {Why.SUPPLY, Why.CONTROL}
    return _LOOKED_UP.get(look) in pair


def _si(look: Look, value: float, suspects: Sequence[Suspect]) -> float:
    return max(value, 0.0) * suspects[0].fit.world.tip_pa if look is Look.ZERO else exp(value)


def _with(look: Look, nothing: Fit, symptom: Symptom) -> tuple[float, NextLook]:
    """What a look would do where nothing is suspected yet: how far what might be would stand out, and what it shows."""
    value, _ = nothing.told_by(look)
    read = max(value, 0.0) * nothing.world.tip_pa if look is Look.ZERO else exp(value)
    more = replace(nothing.model, seen=nothing.model.seen.also(look, read))
    again = fitted(more, near=nothing.point)
    shows = (cause for cause in suspected_of(symptom) if visible(again, cause) and not visible(nothing, cause))
    return _told_of(again, symptom), NextLook(look, 0, 0, (), tuple(shows))


def _told_of(fit: Fit, symptom: Symptom) -> float:
    return sum(min(standing_out(fit, cause), APART) for cause in suspected_of(symptom))


def suspected_of(symptom: Symptom) -> tuple[Cause, ...]:
    """Return what a symptom makes one think of (common practice, no source)."""
    if symptom is Symptom.SECTION:
        return (Cause.FEED, Cause.SECTION_TIPS)
    if symptom is Symptom.PRESSURE:
        return (Cause.TIPS, Cause.PLUMBING, Cause.SENSOR, Cause.METER, Cause.CHART)
    return (Cause.CONTROL, Cause.METER, Cause.SPEED, Cause.WIDTH, Cause.TIPS, Cause.CHART)


def visible(fit: Fit, cause: Cause) -> bool:
    """Return whether what was read would give away a cause of an earnest size: honest readings would hardly hide it."""
    return standing_out(fit, cause) >= APART


def standing_out(fit: Fit, cause: Cause) -> float:
    """Return how far a cause of an earnest size would stand out of what was read.

    Parameters
    ----------
    fit : Fit
        The machine with nothing wrong.
    cause : Cause
        What might be.

    Returns
    -------
    float
        In standard deviations; 0 where this machine has no such cause.

    References
    ----------
    narasimhan-mah-1987
    """
    if cause not in fit.model.causes:
        return 0.0
    standard = fit.model.usual[cause][1]
    at = 3 + fit.model.causes.index(cause)
    kept = max(1.0 - float(fit.covariance[at, at]) / standard**2, 0.0)
    return log1p(EARNEST) / standard * sqrt(kept)
