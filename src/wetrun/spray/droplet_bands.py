"""A tip's pressure range cut into bands: in each the droplet class is decided, or undecided between two classes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from wetrun.spray.droplets import SURE_ENOUGH, droplet_finding, pressures_within
from wetrun.spray.pattern import DropletClass, SprayPattern
from wetrun.units import Pa


@dataclass(frozen=True, slots=True)
class ClassBand:
    """A band of pressure [Pa] with one answer: one class, or somewhere from the finest to the coarsest named."""

    low_pa: Pa
    high_pa: Pa
    finest: DropletClass
    coarsest: DropletClass

    @property
    def decided(self) -> bool:
        """Whether one class is likely enough to be named alone."""
        return self.finest is self.coarsest

    @property
    def words(self) -> str:
        """The answer as a reader sees it."""
        if self.decided:
            return f"{self.finest.words} ({self.finest.letters})"
        return f"undecided between {self.finest.letters} and {self.coarsest.letters}"


@lru_cache(maxsize=1024)
def class_bands(pattern: SprayPattern) -> tuple[ClassBand, ...]:
    """Return the bands of a tip's pressure range, in rising order and end to end.

    Parameters
    ----------
    pattern
        The tip.

    Returns
    -------
    tuple of ClassBand
        Decided where one class has the probability that counts as sure; between those, undecided from the finest to
        the coarsest class that the ends of the band name.

    Raises
    ------
    NotDefined
        For a streamer.

    Notes
    -----
    Clean water at the tip's own pressure; not the class of the tank mix.

    References
    ----------
    asabe-s572, sheet-index, droplet-boundary-0.7

    Example
    -------
    >>> from wetrun.spray.pattern import Family
    >>> tip = SprayPattern(3.0, 1.92, Family.FLAT_FAN, 1e5, 5e5)
    >>> [(round(band.low_pa / 1e5, 2), band.words) for band in class_bands(tip)][:2]
    [(1.0, 'undecided between M and C'), (1.15, 'Medium (M)')]
    """
    decided = sorted(_decided(pattern), key=lambda band: band.low_pa)
    found: list[ClassBand] = []
    reached_pa = pattern.low_pa
    for band in decided:
        if band.low_pa > reached_pa:
            found.append(_undecided(pattern, reached_pa, band.low_pa))
        found.append(band)
        reached_pa = band.high_pa
    if reached_pa < pattern.high_pa:
        found.append(_undecided(pattern, reached_pa, pattern.high_pa))
    return tuple(found)


def _decided(pattern: SprayPattern) -> list[ClassBand]:
    return [
        ClassBand(low_pa, high_pa, one, one)
        for one in DropletClass
        for low_pa, high_pa in pressures_within(pattern, frozenset({one}), at_least=SURE_ENOUGH)
    ]


def _undecided(pattern: SprayPattern, low_pa: Pa, high_pa: Pa) -> ClassBand:
    """The band between two sure ones; its classes are those its ends and its middle call likely."""
    findings = [droplet_finding(pattern, pressure) for pressure in (low_pa, 0.5 * (low_pa + high_pa), high_pa)]
    finest, coarsest = min(one.finest for one in findings), max(one.coarsest for one in findings)
    likely = [one.most_likely for one in findings]
    # Where the ends are sure, their spans are single classes: the band lies between them.
    return ClassBand(low_pa, high_pa, min(finest, *likely), max(coarsest, *likely))
