"""What is known of the speeds of a pass: a field log, or only what the customer says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from wetrun.fieldlog.ledger import Tally, merged, tally_of
from wetrun.fieldlog.tallied import TalliedLog, each_drive_once
from wetrun.fieldlog.tally import merged_tallies
from wetrun.planning.passes import StatedSpeeds
from wetrun.units import Frac, M, M3pm2, Mps

SAME_RATE_FRAC: Final[Frac] = 0.02
"""A log driven within this of the planned rate needs no second reading at the same boom flow."""
STATED_POINTS: Final = 4096
ASIDE_FRAC: Final[Frac] = 0.025


class EvidenceKind(StrEnum):
    """What a judgement rests on."""

    LOG = "field log"
    STATED = "stated speeds"


@dataclass(frozen=True)
class Evidence:
    """Speeds of one pass, tallied by area.

    Attributes
    ----------
    kind : EvidenceKind
        A log, or the customer's word.
    names : tuple of str
        The logs.
    speed : Tally
        Area by ground speed, jointly with active width.
    flow_per_width : Tally or None
        Area by flow per metre of active boom; None if the log carries no rate.
    full_width_m : float
        Width with every section on [m].
    log_rate_m3pm2 : float or None
        Rate the log was driven at, median by area [m3/m2].
    usual_mps : float
        Median speed by area, or the usual speed as stated [m/s].
    slow_mps, fast_mps : float
        Slow and fast end: as stated, or the speeds that leave 2.5 % of the area of a log on either side [m/s].
    """

    kind: EvidenceKind
    names: tuple[str, ...]
    speed: Tally
    flow_per_width: Tally | None
    full_width_m: M
    log_rate_m3pm2: M3pm2 | None
    usual_mps: Mps
    slow_mps: Mps
    fast_mps: Mps

    def driven_at_other_rate(self, rate_m3pm2: M3pm2) -> bool:
        """Return True if the log's own rate is far enough off that operators would have driven differently.

        Parameters
        ----------
        rate_m3pm2 : float
            Planned rate [m3/m2].

        Returns
        -------
        bool
            True if both readings, same speed and same boom flow, are owed.
        """
        if self.flow_per_width is None or self.log_rate_m3pm2 is None:
            return False
        return abs(rate_m3pm2 / self.log_rate_m3pm2 - 1.0) > SAME_RATE_FRAC


def evidence_of_logs(logs: Sequence[TalliedLog]) -> Evidence:
    """Return the evidence one or several logs of a pass give together.

    Parameters
    ----------
    logs : sequence of TalliedLog
        The logs, at least one; of one machine. A drive that is there twice counts once.

    Returns
    -------
    Evidence
        Speed and, if the logs carry rates, flow per width. The same bits whatever the order of the logs.
    """
    once, _ = each_drive_once(logs)
    ledger = merged([log.ledger for log in once])
    rate_m3pm2 = _middle_rate_m3pm2(merged_tallies([log.rate for log in once]))
    slow, usual, fast = (float(v) for v in ledger.speed.percentiles([ASIDE_FRAC, 0.5, 1.0 - ASIDE_FRAC])[0])
    return Evidence(
        kind=EvidenceKind.LOG,
        names=tuple(sorted(log.facts.file for log in once)),
        speed=ledger.speed,
        flow_per_width=None if rate_m3pm2 is None else ledger.flow_per_width,
        full_width_m=max(log.full_width_m for log in once),
        log_rate_m3pm2=rate_m3pm2,
        usual_mps=usual,
        slow_mps=slow,
        fast_mps=fast,
    )


def _middle_rate_m3pm2(rate: Tally) -> M3pm2 | None:
    """Median by area of the rate driven at, to the middle of its bin; None where no rate is known."""
    if not rate.total_cm2:
        return None
    least, greatest = rate.percentiles([0.5])
    return float(least[0] + greatest[0]) / 2


def evidence_of_stated(speeds: StatedSpeeds, width_m: M) -> Evidence:
    """Return the evidence stated speeds give: a triangle from slow over usual to fast, by area.

    Parameters
    ----------
    speeds : StatedSpeeds
        As the customer says them.
    width_m : float
        Working width of the boom [m].

    Returns
    -------
    Evidence
        Marked as stated; all sections on.

    Notes
    -----
    The triangle is the least that three numbers say. It knows no half booms and no standing; a log does. A kind of
    ground with a share of the area stands in it at its one speed, and the triangle is the rest of the area; one without
    a share is not counted on its own.

    References
    ----------
    gum-triangular
    """
    share = (np.arange(STATED_POINTS) + 0.5) / STATED_POINTS
    slow, usual, fast = speeds.slow_mps, speeds.usual_mps, speeds.fast_mps
    if fast > slow:
        turn = (usual - slow) / (fast - slow)
        rising = slow + np.sqrt(share * (fast - slow) * (usual - slow))
        falling = fast - np.sqrt((1 - share) * (fast - slow) * (fast - usual))
        values = np.where(share < turn, rising, falling)
    else:
        values = np.full(STATED_POINTS, usual)
    counted = [(one.speed_mps, one.share_frac) for one in speeds.grounds if one.share_frac is not None]
    areas = [np.full(STATED_POINTS, 1.0 - sum(part for _, part in counted))]
    areas += [np.array([part * STATED_POINTS]) for _, part in counted]
    every = np.concatenate([values, [speed for speed, _ in counted]])
    tally = tally_of(every, np.full(every.size, width_m), np.concatenate(areas))
    return Evidence(EvidenceKind.STATED, (), tally, None, width_m, None, usual, slow, fast)
