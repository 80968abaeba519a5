"""What a page needs to mark tips as they are typed, before the shop has them: the limits of the shop's own rule."""

from __future__ import annotations

from functools import cache
from typing import Any, Final

from wetrun.proving.catch_odd import LEAST_TIPS, MOST_ODD_FRAC, critical_deviates
from wetrun.units import Frac

READING_FRAC: Final[Frac] = 0.005
"""Least scatter that is believed of typed readings: half a figure of the usual jug. Common practice, no source."""


@cache
def odd_limits(tips: int) -> dict[str, Any]:
    """Return the limits of the outlier test for every count of readings a boom can have so far.

    Parameters
    ----------
    tips : int
        Tips on the boom.

    Returns
    -------
    dict
        ``by_count``, by number of readings the deviates of the first, second … most extreme one; ``reading``, the
        least scatter.

    References
    ----------
    rosner-1983
    """
    counts = range(LEAST_TIPS, tips + 1)
    by_count = {count: _limits(count) for count in counts}
    return {"by_count": by_count, "reading": READING_FRAC}


def _limits(count: int) -> list[float]:
    most = max(3, int(MOST_ODD_FRAC * count))
    return [round(float(limit), 6) for limit in critical_deviates(count, most)]
