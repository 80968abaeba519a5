"""Evenness across the boom from a tray of grooves under it.

The standard's measure is the coefficient of variation of the grooves: standard deviation of a sample (n - 1) over the
mean.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Annotated

import numpy as np

from wetrun.errors import NotDefined
from wetrun.proving.uncertainty import Budget, Component, Judged, Verdict, judged
from wetrun.sources import source
from wetrun.spray.bounds import FloatArray, check_not_negative
from wetrun.spray.overlap import EvennessLimit
from wetrun.units import CUBIC_METRE, Frac


def variation_frac(amounts: FloatArray) -> Frac:
    """Return the coefficient of variation: standard deviation of a sample over the mean [frac].

    Parameters
    ----------
    amounts : array
        Two amounts or more of one kind.

    Returns
    -------
    float
        Standard deviation (n - 1) over mean [frac].

    Raises
    ------
    NotDefined
        Fewer than two amounts, or a mean that is not above zero.

    References
    ----------
    coefficient-of-variation

    Example
    -------
    >>> round(variation_frac(np.array([90.0, 100.0, 110.0])), 9)
    0.1
    """
    if amounts.size < 2 or not float(np.mean(amounts)) > 0.0:
        reason = "it takes two amounts or more with a mean above zero"
        raise NotDefined("coefficient of variation", reason=reason, remedy="Enter what each groove or tip gave")
    return float(np.std(amounts, ddof=1) / np.mean(amounts))


@dataclass(frozen=True, slots=True)
class TrayResult:
    """A tray against a rule.

    Attributes
    ----------
    limit : EvennessLimit
        The rule.
    cv : Judged
        Coefficient of variation, as a share.
    grooves : tuple of Judged
        Every groove over the mean; empty if the rule has no limit for it.
    beyond : tuple of int
        Grooves surely beyond, counted from 1.
    verdict : Verdict
        Pass only if all pass, fail if any fails.
    caution : str
        What to say of the rule's source; empty if its number was read there.
    """

    limit: EvennessLimit
    cv: Judged
    grooves: tuple[Judged, ...]
    beyond: tuple[int, ...]
    verdict: Verdict
    caution: str


def tray_result(
    volumes_m3: Annotated[FloatArray, CUBIC_METRE], limit: EvennessLimit, *, reading_frac: Frac
) -> TrayResult:
    """Return the evenness of a tray's grooves against a rule.

    Parameters
    ----------
    volumes_m3 : array
        Volume in each groove, shape (grooves,) [m3].
    limit : EvennessLimit
        The rule.
    reading_frac : float
        Standard uncertainty of reading one groove, as a share of the mean [frac].

    Returns
    -------
    TrayResult
        Each part with its guard band.

    Raises
    ------
    OutOfRange
        A negative volume.
    NotDefined
        Fewer than two grooves, or all dry.

    Notes
    -----
    Grooves are what they are: the doubt of their variation comes from reading them, not from there being so few. The
    variation is stated as it is read; reading noise makes it a little larger than the truth.

    References
    ----------
    coefficient-of-variation, gum-jcgm-100, czech-207-2012
    """
    check_not_negative("volume in a groove", volumes_m3, CUBIC_METRE, remedy="Read it again.")
    cv_frac = variation_frac(volumes_m3)
    noise = Component("reading the grooves", _variation_doubt(cv_frac, volumes_m3.size, reading_frac))
    cv = judged(cv_frac, Budget((noise,)), high=limit.cv_frac)
    grooves = _grooves(volumes_m3 / float(np.mean(volumes_m3)), limit, reading_frac)
    beyond = tuple(n for n, groove in enumerate(grooves, start=1) if groove.verdict is Verdict.FAIL)
    verdicts = {cv.verdict, *(groove.verdict for groove in grooves)}
    verdict = next((v for v in (Verdict.FAIL, Verdict.UNDECIDED) if v in verdicts), Verdict.PASS)
    status = source(limit.source_key).status
    caution = "" if status == "read" else f"the limits of this rule are {status}: check them before you rely on them"
    return TrayResult(limit, cv, grooves, beyond, verdict, caution)


def _variation_doubt(cv_frac: Frac, count: int, reading_frac: Frac) -> float:
    """Return the standard uncertainty of a variation that noise of reading puts there."""
    if cv_frac == 0.0:
        return reading_frac
    square = max(cv_frac**2 - reading_frac**2, 0.0)
    return sqrt((4.0 * square * reading_frac**2 + 2.0 * reading_frac**4) / (count - 1)) / (2.0 * cv_frac)


def _grooves(ratios: FloatArray, limit: EvennessLimit, reading_frac: Frac) -> tuple[Judged, ...]:
    if limit.groove_frac is None:
        return ()
    doubt = Budget((Component("reading a groove", reading_frac),))
    low, high = 1.0 - limit.groove_frac, 1.0 + limit.groove_frac
    return tuple(judged(float(ratio), doubt, low=low, high=high) for ratio in ratios)
