"""The droplet class of a tip at a pressure: how sure, on whose word, and at which pressures a class is held.

Authority: the maker's class rows, then a scale read from this tip's own rows, then the family's default. A class is
for clean water at the tip's own pressure; it is not the class of the tank mix.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wetrun.errors import OutOfRange
from wetrun.percent import per_cent
from wetrun.spray.droplet_scale import FAMILY_SCALES
from wetrun.spray.droplet_windows import PressureSpans, pressures_undecided, pressures_within
from wetrun.spray.droplet_zones import Authority, Zone, zone_at, zones
from wetrun.spray.pattern import ClassRow, DropletClass, Family, SprayPattern
from wetrun.units import PASCAL, Frac, M, Pa

__all__ = [
    "Authority",
    "ClassRow",
    "DropletClass",
    "DropletFinding",
    "Family",
    "PressureSpans",
    "SprayPattern",
    "droplet_finding",
    "pressures_undecided",
    "pressures_within",
    "probability_within",
]

SURE_ENOUGH: Frac = 0.7
"""Below this probability of its likeliest class a tip stands on a boundary."""
_CLEAN_WATER = "on clean water – not the class of the tank mix"


@dataclass(frozen=True, slots=True)
class DropletFinding:
    """The class of a tip at a pressure, with its probability and the span that should be stated.

    ``dv50_m`` is the expected volume median diameter [m], None where only classes are known. It compares with other
    values of this model, never with a diameter from a laboratory.
    """

    probabilities: tuple[tuple[DropletClass, float], ...]
    most_likely: DropletClass
    finest: DropletClass
    coarsest: DropletClass
    authority: Authority
    on_boundary: bool
    dv50_m: M | None
    words: str


def droplet_finding(pattern: SprayPattern, pressure_pa: Pa) -> DropletFinding:
    """Return the droplet class of a tip at a pressure, how likely it is, and on whose word.

    Parameters
    ----------
    pattern
        The tip.
    pressure_pa
        Pressure at the tip, after strainer, check valve and solenoid [Pa].

    Returns
    -------
    DropletFinding
        Probabilities of every class that can occur, the likeliest (the finer on a tie) and the span to state.

    Raises
    ------
    NotDefined
        For a streamer.
    OutOfRange
        Outside the tip's pressure range.

    Notes
    -----
    Valid for flat fans on clean water at the tip's own pressure. Air speed, pulsing below about 40 % duty and tank
    mixes are left out. Extremely fine is never claimed: very fine means "very fine or finer". The pressures and codes
    of the reference sprays are from memory, their diameters second-hand.

    References
    ----------
    asabe-s572, reference-sprays, sheet-index, guler-2007, ai-three-designs

    Example
    -------
    >>> tip = SprayPattern(3.0, 1.92, Family.FLAT_FAN, 1e5, 5e5)
    >>> finding = droplet_finding(tip, 2e5)
    >>> finding.most_likely.words, finding.on_boundary
    ('Medium', False)
    """
    zone = _zone_in_range(pattern, pressure_pa)
    probabilities = zone.class_fracs(pressure_pa)
    likeliest, frac = max(probabilities, key=lambda pair: (pair[1], -pair[0]))
    finest, coarsest = _span(pattern, zone, probabilities)
    return DropletFinding(
        probabilities=probabilities,
        most_likely=likeliest,
        finest=finest,
        coarsest=coarsest,
        authority=zone.authority,
        on_boundary=frac < SURE_ENOUGH,
        dv50_m=zone.dv50_m(pressure_pa),
        words=_words(pattern, zone, (finest, coarsest), (likeliest, frac)),
    )


def probability_within(pattern: SprayPattern, pressure_pa: Pa, allowed: frozenset[DropletClass]) -> Frac:
    """Return the probability that a tip's class at a pressure is one of those allowed.

    Parameters
    ----------
    pattern
        The tip.
    pressure_pa
        Pressure at the tip [Pa].
    allowed
        The classes the label (or the user) allows.

    Returns
    -------
    Frac
        Probability [frac]. Between two rows of the maker that differ it is 1 if every class from one row to the
        other is allowed, 0 if none is, and 0.5 – undecided – otherwise.

    Raises
    ------
    NotDefined
        For a streamer.
    OutOfRange
        Outside the tip's pressure range.

    References
    ----------
    asabe-s572, sheet-index

    Example
    -------
    >>> tip = SprayPattern(3.0, 1.92, Family.FLAT_FAN, 1e5, 5e5)
    >>> round(probability_within(tip, 3e5, frozenset({DropletClass.F})), 2)  # 110-03 at 3 bar: the limit itself
    0.5
    """
    return _zone_in_range(pattern, pressure_pa).frac_within(pressure_pa, allowed)


def _zone_in_range(pattern: SprayPattern, pressure_pa: Pa) -> Zone:
    zones(pattern)  # a streamer is refused before its pressure is looked at
    if not pattern.low_pa <= pressure_pa <= pattern.high_pa:
        raise OutOfRange(
            "pressure at the tip",
            pressure_pa,
            PASCAL,
            low=pattern.low_pa,
            high=pattern.high_pa,
            remedy="Outside its range a fan collapses or fines: change pressure or take another size.",
        )
    return zone_at(pattern, pressure_pa)


def _span(
    pattern: SprayPattern, zone: Zone, probabilities: Sequence[tuple[DropletClass, Frac]]
) -> tuple[DropletClass, DropletClass]:
    """Return the ends of the shortest run of classes that is likely enough to be stated."""
    if zone.model is None:
        return zone.possible[0], zone.possible[-1]
    scale = FAMILY_SCALES[pattern.family if zone.authority is Authority.FAMILY else Family.FLAT_FAN]
    for length in range(min(scale.least_classes, len(probabilities)), len(probabilities)):
        runs = [probabilities[start : start + length] for start in range(len(probabilities) - length + 1)]
        best = max(runs, key=lambda run: sum(frac for _, frac in run))
        if sum(frac for _, frac in best) >= scale.coverage:
            return best[0][0], best[-1][0]
    return probabilities[0][0], probabilities[-1][0]


def _words(
    pattern: SprayPattern, zone: Zone, span: tuple[DropletClass, DropletClass], likeliest: tuple[DropletClass, Frac]
) -> str:
    finest, coarsest = span
    named = finest.words if finest is coarsest else _range_words(finest, coarsest)
    if zone.model is None:
        doubt = "" if finest is coarsest else ", not told apart by the rows"
        return f"{named}{doubt}; {zone.authority.value} {_CLEAN_WATER}"
    droplet_class, frac = likeliest
    share = per_cent(frac, places=0)
    sure = f", likely ({share})" if finest is coarsest else f" ({droplet_class.words} likeliest, {share})"
    if frac < SURE_ENOUGH and pattern.family is Family.FLAT_FAN:
        sure = f", on the boundary ({droplet_class.words} {share})"
    basis = "family estimate" if zone.authority is Authority.FAMILY else zone.authority.value
    ask = ""
    if zone.authority is Authority.FAMILY and pattern.family is Family.AIR_INDUCTION:
        ask = "; designs differ widely, ask for the maker's class rows"
    return f"{named}{sure}; {basis} {_CLEAN_WATER}{ask}"


def _range_words(finest: DropletClass, coarsest: DropletClass) -> str:
    joint = "or" if coarsest - finest == 1 else "to"
    return f"{finest.words} {joint} {coarsest.words}"
