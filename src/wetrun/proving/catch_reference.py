"""Two or three new tips on the same boom: wear without pressure, scale or water entering at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log

from wetrun.percent import more_or_less, per_cent
from wetrun.proving.catch_flow import CaughtTip
from wetrun.proving.uncertainty import Budget, Component, repeated
from wetrun.units import Ratio


@dataclass(frozen=True, slots=True)
class ReferenceWear:
    """The set against new tips caught in the same run.

    Attributes
    ----------
    wear_ratio : float
        Flow of the set over that of the new tips [ratio].
    doubt : Budget
        Its doubt, as a share of new.
    words : str
        What it says, with the ± of 95 %.
    """

    wear_ratio: Ratio
    doubt: Budget
    words: str


def reference_wear(worn: Sequence[CaughtTip], new: Sequence[CaughtTip]) -> ReferenceWear:
    """Return the wear of a set by new tips of its own kind on the same boom.

    Parameters
    ----------
    worn : sequence of CaughtTip
        Ordinary tips of the set, two or more; odd ones left out.
    new : sequence of CaughtTip
        The new tips, two or more, in places whose pressure is that of the rest.

    Returns
    -------
    ReferenceWear
        Ratio of the geometric means. What all catches share – gauge, scale, water – is in both and falls out.

    Raises
    ------
    NotDefined
        Fewer than two of either.

    Notes
    -----
    New tips scatter too and two of them are few: Student's t at one degree of freedom makes the ± wide. A whole batch
    may sit off its size; the wear is against these tips.

    References
    ----------
    gum-jcgm-100, iso-10625
    """
    old = repeated([log(tip.to_new_ratio) for tip in worn])
    fresh = repeated([log(tip.to_new_ratio) for tip in new])
    ratio = exp(old.mean - fresh.mean)
    doubt = Budget(
        (
            Component("tips of the set", old.standard * ratio, "A", old.freedom, readings=len(worn)),
            Component("new tips", fresh.standard * ratio, "A", fresh.freedom, readings=len(new)),
        )
    )
    off, plus = more_or_less(ratio - 1.0), per_cent(doubt.expanded())
    words = f"The set gives {off} (± {plus}) than {len(new)} new tips on the same boom."
    return ReferenceWear(ratio, doubt, words)
