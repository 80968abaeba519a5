"""What becomes of a known fault in many cross-checks: seen, named, named among equals, or missed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from wetrun.proving.choice import NOBODY, BoolArray, Choice, IndexArray, Residuals
from wetrun.proving.covariance import FloatArray
from wetrun.proving.faults import Fault
from wetrun.proving.identify import Scene
from wetrun.proving.reference import Causes, direction_chance, direction_freedom
from wetrun.units import Frac

NEVER = 2.0
"""A chance that sorts behind every other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Power:
    """What becomes of a fault, or a pair, in a planned cross-check.

    Attributes
    ----------
    detected_frac : float
        Share of runs with an alarm [frac].
    first_frac : float
        Share in which it is named first and alone [frac]; of a pair, both before anything else.
    tied_frac : float
        Share in which it is named first among faults or pairs that these readings cannot tell apart [frac].
    wrong_frac : float
        Share with an alarm that names something else [frac].
    tied_with : tuple of Fault
        What it cannot be told from with these readings.
    """

    detected_frac: Frac
    first_frac: Frac
    tied_frac: Frac
    wrong_frac: Frac
    tied_with: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class Screens:
    """What the identity check finds in many runs.

    Attributes
    ----------
    chances : array, (runs,)
        How often an honest screen stands as far off.
    alarm_frac : float
        False alarms allowed [frac].
    wrong_width : bool
        Whether the width in the monitor really is wrong.
    """

    chances: FloatArray
    alarm_frac: Frac
    wrong_width: bool

    @property
    def alarms(self) -> BoolArray:
        """Whether the identity fails."""
        return self.chances < self.alarm_frac


def counted(scene: Scene, runs: Residuals, choice: Choice, *, screens: Screens, faults: Sequence[Fault]) -> Power:
    """Return how many runs name what is really wrong.

    Parameters
    ----------
    scene : Scene
        The readings without noise.
    runs : Residuals
        Many runs.
    choice : Choice
        What explains each.
    screens : Screens
        The identity check of each.
    faults : sequence of Fault
        What is really wrong, the width aside.

    Returns
    -------
    Power
        Shares of runs.
    """
    groups = [next((n for n, group in enumerate(scene.groups) if fault in group.faults), NOBODY) for fault in faults]
    detected = choice.alarm | screens.alarms
    right = detected & _right(scene, _surest_first(scene, runs, choice, screens), sorted(set(groups)), screens)
    ties = tied_faults(scene, groups, faults)
    named = float(right.mean())
    return Power(
        detected_frac=float(detected.mean()),
        first_frac=0.0 if ties else named,
        tied_frac=named if ties else 0.0,
        wrong_frac=float((detected & ~right).mean()),
        tied_with=ties,
    )


def mean_power(parts: Sequence[Power]) -> Power:
    """Return the shares over several equally many runs taken together.

    Parameters
    ----------
    parts : sequence of Power
        Of the same plan and faults.

    Returns
    -------
    Power
        Mean shares.
    """
    return Power(
        detected_frac=float(np.mean([part.detected_frac for part in parts])),
        first_frac=float(np.mean([part.first_frac for part in parts])),
        tied_frac=float(np.mean([part.tied_frac for part in parts])),
        wrong_frac=float(np.mean([part.wrong_frac for part in parts])),
        tied_with=parts[0].tied_with,
    )


def tied_faults(scene: Scene, groups: Sequence[int], faults: Sequence[Fault]) -> tuple[Fault, ...]:
    """Return what some faults cannot be told from with these readings, for the way they really go.

    Parameters
    ----------
    scene : Scene
        The readings without noise.
    groups : sequence of int
        Place of each fault's group; -1 for one that is not seen.
    faults : sequence of Fault
        The faults.

    Returns
    -------
    tuple of Fault
        By name; empty if the faults stand alone.
    """
    seen = sorted({n for n in groups if n != NOBODY})
    amounts = np.linalg.lstsq(scene.directions[:, seen], scene.residuals, rcond=None)[0]
    ties = {f for n, way in zip(seen, amounts, strict=True) for f, _ in scene.groups[n].possible(way)} - set(faults)
    if len(seen) < len([n for n in groups if n != NOBODY]):
        ties |= set(faults)  # two faults in one group: either would do alone
    if len(seen) == 2:
        others = scene.pairs_alike((seen[0], seen[1]))
        ties |= {fault for pair in others for n in pair if n not in seen for fault in scene.groups[n].faults}
    return tuple(sorted(ties, key=lambda fault: fault.words))


def _right(scene: Scene, names: IndexArray, wanted: Sequence[int], screens: Screens) -> BoolArray:
    """Whether each run names what is wanted before anything else."""
    width = len(scene.groups)
    if NOBODY in wanted or not (wanted or screens.wrong_width):
        return np.zeros(len(names), dtype=bool)
    sets = [{*wanted, width} if screens.wrong_width else set(wanted)]
    if len(wanted) == 2 and not screens.wrong_width:
        sets += [set(pair) for pair in scene.pairs_alike((wanted[0], wanted[1]))]
    top = names[:, : len(sets[0])]
    named = [np.all([np.any(top == n, axis=1) for n in group], axis=0) for group in sets]
    return np.asarray(np.any(named, axis=0), dtype=bool)


def _surest_first(scene: Scene, runs: Residuals, choice: Choice, screens: Screens) -> IndexArray:
    """Names of each run, surest first: groups by their place, the width after the last of them."""
    chances = [
        _chances(runs, choice.first, choice.first_gain),
        _chances(runs, choice.second, choice.second_gain),
        np.where(screens.alarms, screens.chances, NEVER),
    ]
    width = np.where(screens.alarms, len(scene.groups), NOBODY)
    order = np.argsort(np.stack(chances, axis=1), axis=1, kind="stable")
    return np.take_along_axis(np.stack([choice.first, choice.second, width], axis=1), order, axis=1)


def _chances(runs: Residuals, names: IndexArray, gains: FloatArray) -> FloatArray:
    found = np.full(len(names), NEVER)
    rows = np.flatnonzero(names != NOBODY)
    if len(rows):
        directions = runs.directions[rows, :, names[rows]][:, :, None]
        causes = Causes(runs.causes.pushes[rows], runs.causes.freedoms)
        found[rows] = direction_chance(gains[rows], direction_freedom(causes, directions)[:, 0])
    return found
