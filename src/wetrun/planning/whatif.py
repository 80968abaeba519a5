"""What if: the least change of rate or of speed that lets one set do a pass, or the whole season."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import inf, log
from typing import Final, TypeVar

import numpy as np

from wetrun.planning.label_limits import combined_limits
from wetrun.planning.passes import Pass
from wetrun.planning.table import JudgedSets, PassTable
from wetrun.planning.tip_set import TipSet
from wetrun.planning.window import Trial, speed_window
from wetrun.units import Frac, M3pm2, Mps, Ratio

GOAL_FRAC: Final[Frac] = 0.95
"""Share of a pass's area that counts as *does the pass* in a what-if."""
GRID: Final = np.exp(np.linspace(-np.log(2.0), np.log(2.0), 139))
"""Rate ratios tried, from half to double in steps of one per cent."""
REFINED: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class RateChange:
    """A rate at which a set does a pass.

    Attributes
    ----------
    planned : Pass
        The pass.
    rate_m3pm2 : float
        The nearest such rate [m3/m2].
    held_frac : float
        Share held there, lower end of the bracket [frac].
    """

    planned: Pass
    rate_m3pm2: M3pm2
    held_frac: Frac

    @property
    def size(self) -> float:
        """How large the change is: logarithm of the ratio, without sign."""
        return abs(log(self.rate_m3pm2 / self.planned.rate_m3pm2))


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedChange:
    """Speeds within which a set does a pass.

    Attributes
    ----------
    planned : Pass
        The pass.
    slow_mps, fast_mps : float
        Slow and fast end as driven: between them lies the share asked for [m/s].
    slow_to_mps, fast_to_mps : float
        Where they would have to be [m/s].
    """

    planned: Pass
    slow_mps: Mps
    fast_mps: Mps
    slow_to_mps: Mps
    fast_to_mps: Mps

    @property
    def size(self) -> float:
        """How large the change is: the larger logarithm of the two ratios."""
        return max(abs(log(self.slow_to_mps / self.slow_mps)), abs(log(self.fast_to_mps / self.fast_mps)))


Change = TypeVar("Change", RateChange, SpeedChange)


@dataclass(frozen=True, slots=True, kw_only=True)
class OneSet:
    """One set for every pass, and what would have to change for it.

    Attributes
    ----------
    tip_set : TipSet
        The set.
    rates : tuple of RateChange
        Passes whose rate would change; empty if speeds change instead.
    speeds : tuple of SpeedChange
        Passes whose speeds would change; empty if rates change instead.
    largest_ratio : float
        Largest change, as a ratio above 1 [ratio].
    """

    tip_set: TipSet
    rates: tuple[RateChange, ...] = ()
    speeds: tuple[SpeedChange, ...] = ()
    largest_ratio: Ratio = 1.0


def nearest_rates(table: PassTable, numbers: Sequence[int], off_below_mps: Mps) -> tuple[RateChange | None, ...]:
    """Return for each set the rate nearest to the plan at which it does the pass, within the labels.

    Parameters
    ----------
    table : PassTable
        The pass against every set.
    numbers : sequence of int
        Sets to look at.
    off_below_mps : float
        Speed below which the machine shuts off [m/s].

    Returns
    -------
    tuple of RateChange or None
        None where no rate from half to double does, within what the products' labels allow as carrier.

    Notes
    -----
    The customer's own range is set aside: it is what the question is about. Logs are read at the same speed and, as the
    rate moves away from theirs, at the same boom flow too; the worse reading counts.
    """
    judged = JudgedSets([table.trials[number] for number in numbers], table.evidence, off_below_mps)
    target = table.planned.rate_m3pm2
    labels = combined_limits(replace(table.planned, rate_low_m3pm2=0.0, rate_high_m3pm2=inf))
    ratios = [r for r in GRID.tolist() if labels.rate_low_m3pm2 <= r * target <= labels.rate_high_m3pm2]
    found: list[RateChange | None] = [None] * len(numbers)
    for ratio in sorted([1.0, *ratios], key=lambda r: abs(log(r))):
        lower, _ = judged.held_at(ratio * target)
        for at, held in enumerate(lower.tolist()):
            if found[at] is None and held >= GOAL_FRAC:
                found[at] = _refined(judged, at, table.planned, ratio)
    return tuple(found)


def speed_change(trial: Trial, table: PassTable, rate_m3pm2: M3pm2) -> SpeedChange | None:
    """Return the speeds an operator would have to keep to, for a set to do a pass at a rate.

    Parameters
    ----------
    trial : Trial
        The set on the machine.
    table : PassTable
        The pass.
    rate_m3pm2 : float
        Target rate [m3/m2].

    Returns
    -------
    SpeedChange or None
        None if no speed is held.

    Notes
    -----
    Slow and fast end are those of the evidence. Sections that are off are left out: keeping to the speeds helps nothing
    there.
    """
    window = speed_window(trial, rate_m3pm2)
    if window.near_low_mps > window.near_high_mps:
        return None
    slow_mps, fast_mps = table.evidence.slow_mps, table.evidence.fast_mps
    slow_to = min(max(slow_mps, window.near_low_mps), window.near_high_mps)
    fast_to = max(min(fast_mps, window.near_high_mps), window.near_low_mps)
    return SpeedChange(
        planned=table.planned, slow_mps=slow_mps, fast_mps=fast_mps, slow_to_mps=slow_to, fast_to_mps=fast_to
    )


def one_set_by_rate(tables: Sequence[PassTable], off_below_mps: Mps) -> OneSet | None:
    """Return the set that does every pass with the smallest largest change of rate, or None.

    Parameters
    ----------
    tables : sequence of PassTable
        Every pass against every set.
    off_below_mps : float
        Speed below which the machine shuts off [m/s].

    Returns
    -------
    OneSet or None
        None if no set does every pass at any rate tried.
    """
    numbers = _everywhere(tables)
    if not numbers:
        return None
    by_pass = [nearest_rates(table, numbers, off_below_mps) for table in tables]
    least = _least_moved((number, [column[at] for column in by_pass]) for at, number in enumerate(numbers))
    if least is None:
        return None
    size, number, moved = least
    return OneSet(tip_set=tables[0].trials[number].tip_set, rates=moved, largest_ratio=float(np.exp(size)))


def one_set_by_speed(tables: Sequence[PassTable]) -> OneSet | None:
    """Return the set that does every pass with the smallest largest change of slow or fast speed, or None.

    Parameters
    ----------
    tables : sequence of PassTable
        Every pass against every set.

    Returns
    -------
    OneSet or None
        None if every set has a pass it holds at no speed.
    """
    least = _least_moved(
        (number, [speed_change(table.trials[number], table, table.planned.rate_m3pm2) for table in tables])
        for number in _everywhere(tables)
    )
    if least is None:
        return None
    size, number, moved = least
    return OneSet(tip_set=tables[0].trials[number].tip_set, speeds=moved, largest_ratio=float(np.exp(size)))


def _least_moved(by_set: Iterable[tuple[int, Sequence[Change | None]]]) -> tuple[float, int, tuple[Change, ...]] | None:
    """Of sets with a change for every pass, the one whose largest is smallest: its size, the set, what does move."""
    options = []
    for number, changes in by_set:
        kept = tuple(change for change in changes if change is not None)
        if len(kept) == len(changes):
            options.append((max(change.size for change in kept), number, kept))
    if not options:
        return None
    size, number, kept = min(options, key=lambda option: option[:2])
    return size, number, tuple(change for change in kept if change.size > 0)


def _everywhere(tables: Sequence[PassTable]) -> list[int]:
    """Sets that no pass refuses outright."""
    sets = range(len(tables[0].trials)) if tables else range(0)
    return [number for number in sets if all(table.refused[number] is None for table in tables)]


def _refined(judged: JudgedSets, at: int, planned: Pass, ratio: Ratio) -> RateChange:
    """Move from a ratio that does towards no change, as far as it still does."""

    def held(tried: Ratio) -> Frac:
        return float(judged.held_at(tried * planned.rate_m3pm2)[0][at])

    good, bad = log(ratio), log(ratio) - np.sign(log(ratio)) * float(np.log(GRID[1] / GRID[0]))
    for _ in range(REFINED if ratio != 1.0 else 0):
        middle = (good + bad) / 2.0
        good, bad = (middle, bad) if held(float(np.exp(middle))) >= GOAL_FRAC else (good, middle)
    kept = float(np.exp(good))
    return RateChange(planned=planned, rate_m3pm2=kept * planned.rate_m3pm2, held_frac=held(kept))
