"""The loss to each section as gauges show it, against what the boom's plumbing predicts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Final

import numpy as np

from wetrun.proving.pressure import PressureResult, SectionLoss
from wetrun.proving.uncertainty import rectangular
from wetrun.units import Frac, Pa, Paps2m6

MODEL_STANDARD_FRAC: Final[Frac] = 0.10
"""Doubt of a predicted loss: a printed bore is good to 2 or 3 %, and friction goes with its fifth power; our choice."""
_COVERS: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LossAgainst:
    """One section's loss against its plumbing.

    Attributes
    ----------
    section : int
        Counted from 1.
    loss_paps2m6, predicted_paps2m6 : float
        Loss per boom flow squared, read and predicted [Pa s2/m6].
    over_pa, expanded_pa : float
        Read less predicted at the greatest flow, and the expanded uncertainty of that [Pa].
    over_rest_pa : float
        The same less the middle of the other sections: what is the section's own [Pa].
    beyond : bool
        Whether the section's own share (or all of it, with one section read) is more than the doubt.
    words : str
        What it means, and what to look at.
    """

    section: int
    loss_paps2m6: Paps2m6
    predicted_paps2m6: Paps2m6
    over_pa: Pa
    expanded_pa: Pa
    over_rest_pa: Pa
    beyond: bool
    words: str


def losses_against(found: PressureResult, predicted: Mapping[int, tuple[Pa, Pa]]) -> tuple[LossAgainst, ...]:
    """Return each section's loss against what its plumbing predicts.

    Parameters
    ----------
    found : PressureResult
        Cab against gauges.
    predicted : mapping of int to tuple of float
        By section: mean loss at the greatest flow read, and half its span along the section [Pa].

    Returns
    -------
    tuple of LossAgainst
        Sections as read; empty where nothing is predicted.

    Notes
    -----
    What all sections lose more than predicted lies before they part (boom valve, main strainer, or no valve typed); a
    section's own is over the middle of the others. The doubt is the reading's, the model's (a tenth of the loss) and
    the place of the gauge along the section; two standard uncertainties.

    References
    ----------
    minor-loss-quadratic, darcy-weisbach, gum-jcgm-100
    """
    known = [loss for loss in found.sections if loss.section in predicted]
    overs = [loss.drop_pa - predicted[loss.section][0] for loss in known]
    return tuple(_against(n, known, overs, predicted[loss.section]) for n, loss in enumerate(known))


def _against(n: int, known: Sequence[SectionLoss], overs: Sequence[Pa], predicted: tuple[Pa, Pa]) -> LossAgainst:
    loss, (predicted_pa, half_pa) = known[n], predicted
    others = [over for k, over in enumerate(overs) if k != n]
    own_pa = overs[n] - (float(np.median(others)) if others else 0.0)
    per_square = loss.drop_pa / loss.loss_paps2m6 if loss.loss_paps2m6 else 0.0
    read_pa = loss.standard_paps2m6 * per_square
    standard_pa = hypot(read_pa, hypot(MODEL_STANDARD_FRAC * predicted_pa, rectangular(half_pa)))
    beyond = own_pa > _COVERS * standard_pa
    return LossAgainst(
        section=loss.section,
        loss_paps2m6=loss.loss_paps2m6,
        predicted_paps2m6=predicted_pa / per_square if per_square else 0.0,
        over_pa=overs[n],
        expanded_pa=_COVERS * standard_pa,
        over_rest_pa=own_pa,
        beyond=beyond,
        words=_words(loss, predicted_pa, beyond=beyond, alone=not others, over=overs[n] > _COVERS * standard_pa),
    )


def _words(loss: SectionLoss, predicted_pa: Pa, *, beyond: bool, alone: bool, over: bool) -> str:
    times = f"{loss.drop_pa / predicted_pa:.1f} times" if predicted_pa > 0.0 else "more than"
    head = f"Section {loss.section} loses {times} what its plumbing predicts"
    if beyond and alone:
        return f"{head}: look at boom valve and main strainer, then at its own strainer, valve and hose."
    if beyond:
        return f"{head}, and the others do not: look at its strainer, valve and hose."
    if over:
        return f"{head}, as the others do: look before the sections part, at boom valve and main strainer."
    return f"Section {loss.section} loses what its plumbing predicts, within the doubt of both."
