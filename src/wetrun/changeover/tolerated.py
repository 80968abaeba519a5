"""How much of the old mix the next crop may get: from the label, the user, or published, always with its status."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from wetrun.errors import OutOfRange
from wetrun.sources import Status, source
from wetrun.units import FRACTION, Frac, Ratio


class Basis(StrEnum):
    """What a level is a share of."""

    MIX = "share of the old tank mix, in what leaves the tips"
    DOSE = "share of the old product's dose per area"


class LevelKind(StrEnum):
    """What a published level says about a crop or a law."""

    LAW = "limit in law"
    STANDARD = "requirement of a standard"
    NO_SYMPTOM_BELOW = "lowest dose with symptoms: tolerate less"
    INJURY = "visible injury of 5 %"
    YIELD = "yield loss of 5 %"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerated:
    """A level the next crop may get at most.

    Attributes
    ----------
    level_frac : float
        The level [frac].
    basis : Basis
        What it is a share of.
    words : str
        What it is, in one line.
    source_key : str
        Key of its source; ``user`` for what the user read on the label or decided.
    from_label : bool
        Whether the user entered it as the label's.
    kind : LevelKind or None
        What a published level stands for.
    spread_low_frac, spread_high_frac : float or None
        Least and greatest figure published for the same thing [frac]; None if only one was found.
    """

    level_frac: Frac
    basis: Basis
    words: str
    source_key: str
    from_label: bool = False
    kind: LevelKind | None = None
    spread_low_frac: Frac | None = None
    spread_high_frac: Frac | None = None

    @property
    def status(self) -> Status:
        """How far its source may be trusted."""
        return source(self.source_key).status

    @property
    def harms_at_level(self) -> bool:
        """Whether the level itself is one at which the crop showed something, so that a plan has to stay below it."""
        return self.kind in {LevelKind.NO_SYMPTOM_BELOW, LevelKind.INJURY, LevelKind.YIELD}

    def in_mix_frac(self, dose_ratio: Ratio) -> Frac:
        """Return the level as a share of the old tank mix.

        Parameters
        ----------
        dose_ratio : float
            Next carrier rate over the old one: the old dose that a concentration of 1 would put down [ratio].

        Returns
        -------
        Frac
            The level in what leaves the tips [frac].

        Notes
        -----
        A published dose is a share of the label's rate; here the old mix counts as sprayed at that rate. Where it was
        sprayed at less, the same share of the mix puts down less, so that the level is on the safe side.

        Example
        -------
        >>> PUBLISHED["dicamba-soybean-symptoms"].in_mix_frac(2.0)
        2.5e-05
        """
        return self.level_frac if self.basis is Basis.MIX else self.level_frac / dose_ratio


def label_level(level_frac: Frac, *, basis: Basis) -> Tolerated:
    """Return a level the user read on a label.

    Parameters
    ----------
    level_frac : float
        The level [frac].
    basis : Basis
        What it is a share of.

    Returns
    -------
    Tolerated
        From the label, as the user entered it; see label.

    Raises
    ------
    OutOfRange
        A level that is not between 0 and 1.
    """
    _check_level(level_frac)
    words = "as entered from the label; see label"
    return Tolerated(level_frac=level_frac, basis=basis, words=words, source_key="user", from_label=True)


def user_level(level_frac: Frac, *, basis: Basis) -> Tolerated:
    """Return a level the user decided on.

    Parameters
    ----------
    level_frac : float
        The level [frac].
    basis : Basis
        What it is a share of.

    Returns
    -------
    Tolerated
        The user's own.

    Raises
    ------
    OutOfRange
        A level that is not between 0 and 1.

    Example
    -------
    >>> user_level(0.01, basis=Basis.MIX).status
    'definition'
    """
    _check_level(level_frac)
    return Tolerated(level_frac=level_frac, basis=basis, words="the user's own level", source_key="user")


def one_part_in(label_rate: float, dose: float) -> float:
    """Return how many times a dose goes into the label's rate, both in the same unit.

    Parameters
    ----------
    label_rate, dose : float
        Amount per area.

    Returns
    -------
    float
        N of “one part in N”.

    Raises
    ------
    OutOfRange
        An amount that is not positive.

    Example
    -------
    >>> round(one_part_in(560.0, 0.028))
    20000
    """
    for thing, amount in (("label rate", label_rate), ("dose", dose)):
        if not 0.0 < amount < float("inf"):
            raise OutOfRange(thing, amount, FRACTION, low=0.0, remedy="Enter both in the same unit.")
    return label_rate / dose


def _check_level(level_frac: Frac) -> None:
    if not 0.0 < level_frac < 1.0:
        remedy = "Enter the share of the old mix that the next crop may get; no rinse reaches nothing at all."
        raise OutOfRange("tolerated carry-over", level_frac, FRACTION, low=0.0, high=1.0, remedy=remedy)


# Doses of the soybean study in g acid equivalent per hectare, on a label rate of 560.
_LABEL_RATE: Final = 560.0
_STUDY: Final = "auburn-dicamba-2020"

PUBLISHED: Final[Mapping[str, Tolerated]] = MappingProxyType(
    {
        "nozzle-rinsate-france": Tolerated(
            level_frac=0.01,
            basis=Basis.MIX,
            words="France: at most 1 % of the tank mix in what leaves the tips after rinsing",
            source_key="sprayers101-continuous",
            kind=LevelKind.LAW,
            spread_low_frac=0.01,
            spread_high_frac=0.02,
        ),
        "nozzle-rinsate-denmark": Tolerated(
            level_frac=0.02,
            basis=Basis.MIX,
            words="Denmark: at most 2 % of the tank mix in what leaves the tips after rinsing",
            source_key="sprayers101-continuous",
            kind=LevelKind.LAW,
            spread_low_frac=0.01,
            spread_high_frac=0.02,
        ),
        "rinse-system-factor": Tolerated(
            level_frac=1.0 / 300.0,
            basis=Basis.MIX,
            words="standard for fixed and semi-mobile sprayers: diluted 300 times, or to 2 % by the other test",
            source_key="iso-16119-rinse",
            kind=LevelKind.STANDARD,
            spread_low_frac=1.0 / 300.0,
            spread_high_frac=0.02,
        ),
        "dicamba-soybean-symptoms": Tolerated(
            level_frac=0.028 / _LABEL_RATE,
            basis=Basis.DOSE,
            words="dicamba on soybean without tolerance: symptoms from about 1 part in 20,000 of its label rate",
            source_key=_STUDY,
            kind=LevelKind.NO_SYMPTOM_BELOW,
            spread_low_frac=0.028 / _LABEL_RATE,
            spread_high_frac=0.03 / _LABEL_RATE,
        ),
        "dicamba-soybean-injury": Tolerated(
            level_frac=0.1185 / _LABEL_RATE,
            basis=Basis.DOSE,
            words="dicamba on soybean without tolerance: 5 % injury at 1 part in 4,700 of its label rate",
            source_key=_STUDY,
            kind=LevelKind.INJURY,
        ),
        "dicamba-soybean-yield": Tolerated(
            level_frac=2.8525 / _LABEL_RATE,
            basis=Basis.DOSE,
            words="dicamba on soybean without tolerance: 5 % of yield lost at 1 part in 196 of its label rate",
            source_key=_STUDY,
            kind=LevelKind.YIELD,
        ),
    }
)
"""Published levels by key. A level in law or standard is far above what a sensitive crop shows."""
